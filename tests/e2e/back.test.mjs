// The phone's own Back: one step up, as the screens' own ways back are, and never out of a class unasked.
import assert from "node:assert/strict";
import { test } from "node:test";
import { at, brief, house, plan, read, seconds, segments, start, timeOfDay } from "./app.mjs";

const app = house();
const { address, visit } = app;

const LUNCH = "harbour-lunch";

/** Where the page is now, of the screens that there are. */
const shown = (page) =>
  page.evaluate(() => {
    const all = ["classes", "brief", "class", "done", "history", "hand-out", "desk", "write"];
    const pick = document.querySelector("[data-testid=leave-pick]") ? ", choosing" : "";
    return (all.find((id) => document.querySelector(`[data-testid=${id}]`)) ?? "nothing") + pick;
  });

/** Waits for a screen; says which one is there if it does not come. */
async function on(page, screen) {
  try {
    await page.waitForSelector(at(screen), { timeout: 3_000 });
  } catch {
    assert.fail(`${screen} does not come: ${await shown(page)}`);
  }
}

/** Waits until a class is open, by its title. */
const titled = (page, name) => page.locator("h1", { hasText: plan(name).title }).waitFor();

/** The phone's Back: it may stay within the page. */
const back = (page) => page.evaluate(() => history.back());

/** Back in class: waits until it is asked whether to leave. */
async function asked(page) {
  await back(page);
  await page.waitForSelector(`${at("leave-class")}[open]`);
}

/** Leaves a class by Back. */
async function leave(page) {
  await asked(page);
  await page.click(at("leave"));
  await on(page, "done");
}

/** Goes up by Back, one screen after the other. */
async function up(page, ...screens) {
  for (const screen of screens) {
    await back(page);
    await on(page, screen);
  }
}

/** Writes a class of one move: shows the editor. */
async function write(page) {
  await page.click(at("to-desk"));
  await page.click(at("new-class"));
  await page.click(at("add-warm-up"));
  await page.click(at("pick-march"));
  await page.click(at("add-chosen"));
}

/** Opens the app as from another page, which is where Back leads out to. */
async function from(page, url) {
  await page.goto("about:blank");
  await page.goto(url);
}

/** Back leads out of the app. */
async function out(page) {
  await page.evaluate(() => setTimeout(() => history.back()));
  await page.clock.runFor(10);
  await page.waitForURL("about:blank");
}

test("back goes up one screen at a time, and out from the list of classes", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await page.click(`${at("classes")} .card`);
    await on(page, "brief");
    await page.click(at("to-hand-out"));
    await on(page, "hand-out");
    await up(page, "brief");
    assert.match(page.url(), /#plan=/);
    await up(page, "classes");
    assert.equal(page.url(), app.url);
    await page.click(at("to-history"));
    await on(page, "history");
    await up(page, "classes");
    await out(page);
  }));

test("who came by a link goes back to where they came from", () =>
  visit({}, async (page) => {
    await from(page, address(LUNCH));
    await on(page, "brief");
    await out(page);
    await page.goto(address(LUNCH));
    await on(page, "brief");
    await page.click(at("start"));
    await on(page, "class");
    await leave(page);
    await up(page, "brief");
    await out(page);
  }));

test("back in class asks first, and the class goes on behind the question", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.clock.runFor(1_000);
    const before = await seconds(page);
    await asked(page);
    await page.clock.runFor(2_000);
    assert.equal(await seconds(page), before - 2);
    // A key of a remote steers nothing meanwhile.
    await page.keyboard.press("PageDown");
    assert.equal(await seconds(page), before - 2);
    await page.click(at("stay"));
    assert.equal((await read(page)).screen, "class");
    assert.equal((await read(page)).stands, "");
    // It asks each time.
    await asked(page);
    await page.keyboard.press("Escape");
    assert.equal(await page.locator(`${at("leave-class")}[open]`).count(), 0);
    await page.clock.runFor(10_000);
    await leave(page);
    await page.click("text=Back to this class");
    await on(page, "brief");
    await page.click(at("start"));
    assert.equal(await page.locator(`${at("leave-class")}[open]`).count(), 0);
  }));

test("the ways back on the screens leave no step behind that does nothing", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    for (let i = 0; i < 3; i += 1) {
      await page.click(`${at("classes")} .card`);
      await on(page, "brief");
      await page.click(at("to-hand-out"));
      await on(page, "hand-out");
      await page.click(at("to-brief"));
      await on(page, "brief");
      await page.click("text=All classes");
      await on(page, "classes");
    }
    await page.waitForURL(app.url);
    await out(page);
  }));

test("who came by a link and looked at all classes goes out from there", () =>
  visit({}, async (page) => {
    await from(page, address(LUNCH));
    await on(page, "brief");
    await page.click("text=All classes");
    await on(page, "classes");
    await page.click(at("to-desk"));
    await on(page, "desk");
    await up(page, "classes");
    await out(page);
  }));

test("in the editor back closes the list of moves, then the class, and nothing of it is lost", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await write(page);
    await page.fill(at("title"), "Evening at the hall");
    await page.click(at("add-moves"));
    await page.waitForSelector(at("leave-pick"));
    await back(page);
    await page.waitForSelector(at("leave-pick"), { state: "detached" });
    assert.equal(await shown(page), "write");
    await page.click(at("add-moves"));
    await page.click(at("leave-pick"));
    assert.equal(await shown(page), "write");
    await up(page, "desk");
    assert.match(await page.innerText(at("desk")), /Evening at the hall/);
    await up(page, "classes");
    await out(page);
  }));

test("after a reload back goes on as before", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await page.click(`${at("classes")} .card`);
    await page.click(at("to-hand-out"));
    await on(page, "hand-out");
    await page.reload();
    await on(page, "brief");
    await up(page, "classes");
    await out(page);
  }));

test("forward leads nowhere, and a link that is typed in beside a class opens it", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await page.click(`${at("classes")} .card`);
    await on(page, "brief");
    await up(page, "classes");
    // One step forward, and the app's own step back.
    await page.evaluate(() => new Promise((done) => {
      let steps = 0;
      addEventListener("popstate", () => { if ((steps += 1) === 2) done(); });
      history.forward();
    }));
    assert.equal(await shown(page), "classes");
    await page.goto(address("two-minutes"));
    await on(page, "brief");
    assert.equal(await page.textContent("h1"), plan("two-minutes").title);
    await page.goto(address(LUNCH));
    await titled(page, LUNCH);
    await back(page);
    await titled(page, "two-minutes");
  }));

test("a class that is only tried leads back to where it is written", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await write(page);
    await page.click(at("try"));
    await on(page, "class");
    await leave(page);
    await up(page, "write", "desk", "classes");
    await out(page);
  }));

test("from a class that was gone on with, back leads through what lies above it", () =>
  visit({}, async (page) => {
    await from(page, address("two-minutes"));
    await page.click(at("start"));
    await on(page, "class");
    await page.clock.runFor(15_000);
    await page.goto("about:blank");
    await page.goto(app.url);
    await on(page, "classes");
    await page.locator(`${at("left-off")} button`).first().click();
    await on(page, "class");
    await leave(page);
    await up(page, "brief");
    assert.equal(await page.textContent("h1"), plan("two-minutes").title);
    await up(page, "classes");
    await out(page);
  }));

test("back covers no advice for who is unwell, says what is so, and the advice stays after the end", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.clock.runFor(15_000);
    await page.click(at("unwell"));
    await back(page);
    await page.clock.runFor(500);
    assert.equal(await page.locator(`${at("leave-class")}[open]`).count(), 0);
    await page.click(at("go-on"));
    await page.clock.runFor(5_000);
    await page.click(at("pause"));
    await asked(page);
    assert.match(await page.innerText(at("leave-class")), /The class is paused/);
    await page.click(at("leave"));
    await on(page, "done");
    assert.equal(await page.locator(at("advice")).count(), 0);
    await page.click("text=Back to this class");
    await page.click(at("start"));
    await page.clock.runFor(15_000);
    await page.click(at("unwell"));
    await page.click(at("end"));
    await on(page, "done");
    assert.match(await page.innerText(at("advice")), /local emergency number/);
  }));

test("who looks at what was done after a link goes back to the list, and from a class handed out to its writing", () =>
  visit({}, async (page) => {
    await from(page, address("two-minutes"));
    await page.click(at("start"));
    await page.clock.runFor(30_000);
    await leave(page);
    await page.click(at("to-history"));
    await on(page, "history");
    await up(page, "classes");
    await write(page);
    await page.click(at("to-hand-out"));
    await on(page, "hand-out");
    await up(page, "write");
    await page.click(at("to-hand-out"));
    await page.click(at("to-write"));
    await on(page, "write");
    await up(page, "desk", "classes");
    await out(page);
  }));

test("a screen is read from its top, and the end that was asked for once is not asked for ever", () =>
  visit({ width: 320, height: 568 }, async (page) => {
    await page.goto(app.url);
    await on(page, "classes");
    const scrolled = () => page.evaluate(() => { scrollTo(0, 200); return scrollY; });
    assert.equal(await scrolled(), 200);
    await page.locator(`${at("classes")} .card`).last().click();
    await on(page, "brief");
    assert.equal(await page.evaluate(() => scrollY), 0);
    // A link that is opened over another class is, too.
    assert.equal(await scrolled(), 200);
    await page.goto(address("two-minutes"));
    await titled(page, "two-minutes");
    assert.equal(await page.evaluate(() => scrollY), 0);
    await page.click(at("start"));
    await page.clock.runFor(1_000);
    await page.click(at("pause"));
    await page.click(at("end-class"));
    assert.equal(await page.innerText(at("end-class")), "Really end?");
    await page.clock.runFor(7_000);
    assert.equal(await page.innerText(at("end-class")), "End");
  }));

test("a class at a set time keeps it on this phone, until it is over", () =>
  visit({}, async (page) => {
    await page.goto(`${address(LUNCH)}&at=2026-11-25T13:00:00Z`);
    await on(page, "brief");
    await page.click("text=All classes");
    await on(page, "classes");
    assert.match(await page.innerText(at("kept-class")), /starts Wed/);
    await page.locator(`${at("kept-class")} .card`).click();
    await on(page, "brief");
    assert.match(await page.innerText(at("start")), /Wait for the start/);
    await page.click("text=All classes");
    await page.clock.fastForward(3 * 3_600_000);
    await page.reload();
    assert.match(await page.innerText(at("kept-class")), /last opened/);
    // Files that are no plan are told to be none.
    for (const [name, bytes] of [["empty.json", ""], ["class.txt", "class A\nflow\n- march"]]) {
      await page.setInputFiles(at("file-field"), { name, mimeType: "text/plain", buffer: Buffer.from(bytes) });
      await page.locator(at("error"), { hasText: "no plan file" }).waitFor();
    }
  }));

test("a class at a set time that runs is told as running in the list", () =>
  visit({}, async (page) => {
    await page.goto(`${address(LUNCH)}&at=2026-11-25T11:50:00Z`);
    await on(page, "brief");
    await page.click("text=All classes");
    await on(page, "classes");
    const until = await timeOfDay(page, Date.parse("2026-11-25T11:50:00Z") + segments(LUNCH).at(-1).end);
    assert.ok((await page.innerText(at("kept-class"))).includes(`runs now, until ${until}`));
  }));

test("a link that is typed in mid-class changes nothing, and leaves no step behind", () =>
  visit({}, async (page) => {
    await from(page, app.url);
    await page.click(`${at("classes")} .card`);
    await on(page, "brief");
    const before = page.url();
    await page.click(at("start"));
    await on(page, "class");
    await page.evaluate((address) => { location.href = address; }, address("two-minutes"));
    await page.waitForFunction((before) => location.href === before, before);
    assert.equal(await shown(page), "class");
    // The class's own address is no new step either.
    await page.evaluate((address) => { location.href = address; }, before);
    assert.equal(await shown(page), "class");
    await leave(page);
    await up(page, "brief", "classes");
    await out(page);
  }));
