// What stays on the phone: classes, the ways in and out, storage that fails, two tabs, a browser that dies.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { chromium } from "playwright-core";
import { addressOf, at, brief, house, link, plan, read, seconds, start } from "./app.mjs";
import { axe, runFor, serve, webdriverArgs } from "./lib.mjs";

const app = house();
const { address, visit } = app;

const classes = async (page) => {
  await page.goto(app.url);
  await page.waitForSelector(at("classes"));
};

/** Puts a file into the file field, as choosing it would. */
const choose = (page, text, name = "class.json") =>
  page.setInputFiles(at("file-field"), { name, mimeType: "application/json", buffer: Buffer.from(text) });

/** A plan file of the test's, changed. */
const file = (change) => JSON.stringify({ ...plan("two-minutes"), id: "quay", ...change });

const kept = (page) => page.locator(at("kept-class"));

test("an opened class is kept, the last one first, and a removal can be undone", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.clock.runFor(1000);
    await brief(page, address("every-kind"));
    await classes(page);
    assert.equal(await kept(page).count(), 2);
    const first = plan("every-kind").title;
    assert.match(await kept(page).first().textContent(), new RegExp(first));
    await kept(page).first().locator(at("remove")).click();
    assert.equal(await kept(page).count(), 1);
    await page.click(at("undo-remove"));
    assert.match(await kept(page).first().textContent(), new RegExp(first));
    await page.reload();
    await page.waitForSelector(at("classes"));
    assert.equal(await kept(page).count(), 2);
    await kept(page).last().locator(".card").click();
    await page.waitForSelector(at("brief"));
    assert.match(await page.textContent("h1"), new RegExp(plan("two-minutes").title));
  }));

test("a corrected revision is offered, and replaces what is kept only on consent", () =>
  visit({}, async (page) => {
    await classes(page);
    await choose(page, file({ revision: 1, title: "Quay, first" }));
    await page.waitForSelector(at("brief"));
    await page.getByText("All classes").click();
    await page.waitForSelector(at("classes"));
    await choose(page, file({ revision: 2, title: "Quay, corrected" }));
    assert.match(await page.textContent(at("revision")), /corrected version \(revision 2\).*\(revision 1\)/);
    await page.click(at("keep-revision"));
    assert.match(await page.textContent("h1"), /Quay, first/);
    await page.getByText("All classes").click();
    await page.waitForSelector(at("classes"));
    assert.match(await kept(page).textContent(), /Quay, first/);
    await choose(page, file({ revision: 2, title: "Quay, corrected" }));
    await page.click(at("take-revision"));
    assert.equal(await page.locator(at("revision")).count(), 0);
    await page.getByText("All classes").click();
    await page.waitForSelector(at("classes"));
    assert.equal(await kept(page).count(), 1);
    assert.match(await kept(page).textContent(), /Quay, corrected/);
    // An older link comes late: what is kept stays.
    await choose(page, file({ revision: 1, title: "Quay, first" }));
    assert.match(await page.textContent(at("revision")), /You have revision 2/);
    await page.getByText("All classes").click();
    await page.waitForSelector(at("classes"));
    assert.match(await kept(page).textContent(), /Quay, corrected/);
  }));

test("a link is pasted in, whole or within its address, and a wrong one says what it is", () =>
  visit({}, async (page) => {
    const good = link("two-minutes");
    const open = async (text) => {
      await classes(page);
      await page.fill(at("link-field"), text);
      await page.click(at("open-link"));
    };
    for (const text of [good, addressOf("https://example.org/hall/", good), `Friday (${addressOf("https://example.org/hall/", good)}). Bring water!`, `  ${good}\n`]) {
      await open(text);
      await page.waitForSelector(at("brief"));
    }
    for (const [text, says] of [
      ["", /no class in this link/],
      [good.slice(0, -9), /was cut on the way/],
      [good.replace(/.(.{20})$/, (tail, end) => (tail[0] === "A" ? "B" : "A") + end), /changed on the way/],
      ["https://example.org/", /not the link of a class/],
      ["A".repeat(100_000), /longer than any class/],
    ]) {
      await open(text);
      assert.match(await page.textContent(at("error")), says);
      assert.equal(await kept(page).count(), 1);
    }
  }));

test("a plan file is chosen or dropped in, and a wrong one says what is wrong where", () =>
  visit({}, async (page) => {
    await classes(page);
    for (const [text, says] of [
      ["\u0089PNG\r\n", /no plan file/],
      ['{"format":"rungbook-plan"', /not complete JSON/],
      ['{"format":"another","version":1}', /not a Rungbook plan/],
      [file({ version: 2 }), /newer version/],
      [file({ blocks: [{ kind: "flow", steps: ["nowhere"], work: 20 }] }), /blocks\[0\]\.steps\[0\]: there is no move “nowhere”/],
      [" ".repeat(300_000), /larger than any class/],
    ]) {
      await choose(page, text);
      await page.waitForFunction((id) => document.querySelector(id), at("error"));
      assert.match(await page.textContent(at("error")), says);
      await page.reload();
    }
    const dropped = await page.evaluateHandle((text) => {
      const moved = new DataTransfer();
      moved.items.add(new File([text], "class.json", { type: "application/json" }));
      return moved;
    }, file({}));
    await page.dispatchEvent(at("classes"), "drop", { dataTransfer: dropped });
    await page.waitForSelector(at("brief"));
  }));

test("a class is saved as a file, which opens as the same class", () =>
  visit({}, async (page) => {
    await brief(page, address("every-kind"));
    await classes(page);
    const [download] = await Promise.all([
      page.waitForEvent("download"),
      page.getByRole("button", { name: /^Save as a file/ }).click(),
    ]);
    assert.match(download.suggestedFilename(), /\.rungbook\.json$/);
    const text = readFileSync(await download.path(), "utf8");
    assert.equal(JSON.parse(text).title, plan("every-kind").title);
    await kept(page).locator(at("remove")).click();
    await choose(page, text);
    await page.waitForSelector(at("brief"));
    // The same plan makes the same link.
    assert.equal(new URL(page.url()).hash, `#plan=${link("every-kind")}`);
  }));

const faults = {
  full: [() => { Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); }; }, /no room left/],
  forbidden: [() => { Object.defineProperty(window, "localStorage", { get() { throw new DOMException("no", "SecurityError"); } }); }, /keeps nothing here/],
  newer: [() => { localStorage.setItem("rungbook/2/class/x", "?"); }, /newer Rungbook/],
};
for (const [what, [break_, says]] of Object.entries(faults)) {
  test(`with a storage that is ${what} a class is followed all the same, and it is said`, () =>
    visit({}, async (page) => {
      await page.addInitScript(break_);
      await brief(page, address("two-minutes"));
      assert.match(await page.textContent(at("fault")), says);
      assert.deepEqual(await axe(page), []);
      await page.click(at("start"));
      await runFor(page, 21_500, 500);
      assert.equal((await read(page)).move, "Half squat");
      await page.click(at("skip"));
      if (what === "newer") {
        assert.deepEqual(await page.evaluate(() => Object.keys(localStorage)), ["rungbook/2/class/x"]);
      }
    }));
}

test("damaged entries are shown as such, lose nothing else, and can be removed", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.evaluate(() => {
      localStorage.setItem("rungbook/1/class/broken", "1\nAQAQ");
      localStorage.setItem("rungbook/1/run", "{");
    });
    await classes(page);
    assert.equal(await kept(page).count(), 1);
    const damaged = page.getByText("was damaged on this phone");
    assert.equal(await damaged.count(), 1);
    assert.deepEqual(await axe(page), []);
    await page.getByRole("button", { name: "Remove", exact: true }).first().click();
    assert.equal(await damaged.count(), 0);
    assert.equal(await kept(page).count(), 1);
  }));

test("of two tabs one leads, and the other can take the class over at the same second", () =>
  visit({}, async (one) => {
    await start(one, address("two-minutes"));
    await runFor(one, 21_500, 500);
    const two = await one.context().newPage();
    await brief(two, address("two-minutes"));
    await two.click(at("start"));
    await two.waitForSelector(at("elsewhere"));
    assert.equal((await read(two)).screen, "brief");
    assert.equal((await read(one)).move, "Half squat");
    const left = await seconds(one);
    await two.click(at("take-over"));
    await two.waitForSelector(at("class"));
    assert.equal(await seconds(two), left);
    await one.waitForSelector(at("elsewhere"));
    assert.equal((await read(one)).screen, "brief");
    // The one that lost it wrote nothing since: a reload of the other goes on with its own run.
    await two.click(at("pause"));
    await two.reload();
    await two.waitForSelector(at("left-off"));
    await two.close();
  }));

test("a tab that is opened beside a class says where it runs, and one that closed without a word is gone on with", () =>
  visit({}, async (one) => {
    await start(one, address("two-minutes"));
    await runFor(one, 21_500, 500);
    const two = await one.context().newPage();
    await brief(two, address("two-minutes"));
    await two.waitForSelector(at("elsewhere"));
    assert.equal(await two.locator(at("left-off")).count(), 0);
    const left = await seconds(one);
    await one.close();
    await two.clock.fastForward(120_000);
    await two.click(at("take-over"));
    await two.waitForSelector(at("class"));
    // The two minutes are a pause: it counts in, and goes on at the second where it was.
    assert.match((await read(two)).stands, /On in 3/);
    await two.clock.fastForward(3_000);
    assert.equal(await seconds(two), left);
    await two.close();
  }));

test("a browser that is killed in mid-class offers to go on when it is opened again", async () => {
  const site = await serve();
  const profile = mkdtempSync(join(tmpdir(), "rungbook-profile-"));
  const launch = () =>
    chromium.launchPersistentContext(profile, {
      executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
      args: webdriverArgs,
      viewport: { width: 390, height: 844 },
    });
  const onDisk = () => {
    const folder = join(profile, "Default", "Local Storage", "leveldb");
    return readdirSync(folder).some((name) => readFileSync(join(folder, name)).includes("rungbook/1/run"));
  };
  try {
    let context = await launch();
    let page = await context.newPage();
    await start(page, addressOf(site.url, link("two-minutes")));
    await page.click(at("skip"));
    // The browser writes storage to the disk some seconds later; before that nothing could survive.
    for (let n = 0; n < 300 && !onDisk(); n += 1) await new Promise((done) => setTimeout(done, 100));
    assert.ok(onDisk(), "the run never came to the disk");
    const client = await context.browser()?.newBrowserCDPSession?.();
    const { processInfo } = client ? await client.send("SystemInfo.getProcessInfo") : { processInfo: [] };
    const main = processInfo.find(({ type }) => type === "browser");
    assert.ok(main, "the browser does not tell its process");
    const gone = new Promise((done) => context.once("close", done));
    process.kill(main.id, "SIGKILL");
    await gone;
    context = await launch();
    page = await context.newPage();
    await page.goto(site.url);
    await page.waitForSelector(at("left-off"));
    await page.click(at("resume-left"));
    await page.waitForSelector(at("class"));
    assert.match((await read(page)).stands, /On in [123]/);
    await context.close();
  } finally {
    await site.close();
    rmSync(profile, { recursive: true, force: true });
  }
});
