// axe-core, which is not ours, finds nothing wrong on any screen; and what it can't see.
import assert from "node:assert/strict";
import { test } from "node:test";
import { readFileSync, writeFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { DOUBLE_TAP, NOON, addressOf, at, brief, house, plan, read, segments, skipUntil, start } from "./app.mjs";
import { axe, runFor } from "./lib.mjs";

const app = house();
const { address, visit } = app;

const SIZES = [{ width: 390, height: 844 }, { width: 844, height: 390 }];

/** The rules of WCAG 2.2 up to AA, AAA's contrast where the class is followed by eye, and axe-core's best practice. */
const inClass = { rules: { "color-contrast-enhanced": { enabled: true } } };

for (const size of SIZES) {
  const named = `${size.width} x ${size.height}`;

  test(`${named}: Classes, an error, and Brief with all its details open`, () =>
    visit(size, async (page) => {
      await page.goto(app.url);
      await page.waitForSelector(at("classes"));
      assert.deepEqual(await axe(page), [], "Classes");
      await page.goto(addressOf(app.url, "damaged"));
      await page.waitForSelector(at("error"));
      assert.deepEqual(await axe(page), [], "an error");
      await brief(page, address("harbour-lunch"));
      assert.deepEqual(await axe(page), [], "Brief");
      await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
      assert.deepEqual(await axe(page), [], "Brief, open");
    }));

  test(`${named}: Class in each phase, its help, and Done`, () =>
    visit({ ...size, reducedMotion: "reduce" }, async (page) => {
      await start(page, address("two-minutes"));
      const seen = new Set();
      let now = 0;
      for (const { kind, start: begins } of segments("two-minutes")) {
        await page.clock.fastForward(begins + 300 - now);
        now = begins + 300;
        if (seen.has(kind)) continue;
        seen.add(kind);
        assert.equal((await read(page)).phase, kind);
        assert.deepEqual(await axe(page, inClass), [], kind);
      }
      assert.equal(seen.size, 7);
      await page.click(at("back"));
      await page.click(at("pause"));
      assert.deepEqual(await axe(page, inClass), [], "paused, with a way back");
      await page.click(at("resume"));
      assert.deepEqual(await axe(page, inClass), [], "counting in");
      await page.click(at("with-coach"));
      assert.deepEqual(await axe(page, inClass), [], "in step with a coach");
      await page.click(at("coach-close"));
      await page.evaluate(() => history.back());
      await page.waitForSelector(`${at("leave-class")}[open]`);
      assert.deepEqual(await axe(page, inClass), [], "Leave the class?");
      await page.click(at("stay"));
      await page.click(at("unwell"));
      assert.deepEqual(await axe(page, inClass), [], "Stop, I feel unwell");
      await page.click(at("end"));
      await page.waitForSelector(at("done"));
      assert.deepEqual(await axe(page), [], "Done");
      await page.click(at("rate-4"));
      assert.deepEqual(await axe(page), [], "Done, rated");
      await page.click(at("to-history"));
      await page.waitForSelector(at("past"));
      assert.deepEqual(await axe(page), [], "Done so far");
    }));
}

for (const size of SIZES) {
  test(`${size.width} x ${size.height}: Class before its start, and with many ways`, () =>
    visit({ ...size, reducedMotion: "reduce" }, async (page) => {
      await start(page, `${address("harbour-lunch")}&at=${new Date(Date.parse(NOON) + 600_000).toISOString()}`);
      assert.deepEqual(await axe(page, inClass), [], "before the start");
      await page.click(at("end-class"));
      await page.clock.runFor(DOUBLE_TAP);
      await page.click(at("end-class"));
      await page.waitForSelector(at("done"));
      await start(page, address("compounds"));
      await page.clock.fastForward(25_000);
      assert.deepEqual(await axe(page, inClass), [], "many ways");
    }));

  test(`${size.width} x ${size.height}: Class with the ways to do a move, as written and another`, () =>
    visit({ ...size, reducedMotion: "reduce" }, async (page) => {
      await start(page, address("harbour-lunch"));
      await skipUntil(page, (shown) => shown.options > 2 && shown.phase === "work");
      assert.deepEqual(await axe(page, inClass), [], "as written");
      await page.locator(at("option")).first().click();
      assert.deepEqual(await axe(page, inClass), [], "another way");
    }));
}

/** The accessibility tree of a part of the page, without what changes by itself. */
const tree = async (page) => `${await page.locator("main").ariaSnapshot()}\n`;

for (const [name, sel] of [["work", "work"], ["gap", "break"]]) {
  test(`what a screen reader finds in class, in ${name}, was read and found right`, () =>
    visit({ reducedMotion: "reduce" }, async (page) => {
      await start(page, address("harbour-lunch"));
      const all = segments("harbour-lunch").filter(({ kind }) => kind === sel);
      await page.clock.fastForward(all[sel === "work" ? 9 : 2].start + 2_000);
      const path = fileURLToPath(new URL(`plans/class-${name}.aria.txt`, import.meta.url));
      const now = await tree(page);
      // RUNGBOOK_WRITE_TREES=1 writes them anew: read the change.
      if (process.env.RUNGBOOK_WRITE_TREES) writeFileSync(path, now);
      assert.equal(now, readFileSync(path, "utf8"));
    }));
}

test("text from right to left stands on its own side", () =>
  visit({}, async (page) => {
    await page.goto(app.url);
    const file = plan("two-minutes");
    file.title = "שיעור הרציף";
    file.moves[0].name = "כריעה";
    file.moves[0].notes = ["ברכיים מעל הבהונות"];
    await page.setInputFiles(at("file-field"), { name: "x.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(file)) });
    await page.waitForSelector(at("brief"));
    const direction = (selector) => page.$eval(selector, (one) => getComputedStyle(one).direction);
    assert.equal(await direction("h1"), "rtl");
    await page.click(at("start"));
    await skipUntil(page, (shown) => shown.move === "כריעה" && shown.phase === "work");
    assert.equal(await direction(at("move")), "rtl");
    assert.equal(await direction(at("note")), "rtl");
    assert.equal(await direction(".controls"), "ltr");
  }));

test("the kit of a block that comes is shown while there is time to fetch it", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    assert.match(await page.textContent(at("fetch")), /mat/);
    const sets = segments("harbour-lunch").find(({ kind, block }) => kind === "work" && block === 1);
    const gap = segments("harbour-lunch").find(({ kind, end }) => kind !== "work" && end === sets.start);
    await page.clock.fastForward(gap.start + 500);
    assert.match(await page.textContent(at("fetch")), /two dumbbells/);
    await page.clock.fastForward(gap.end - gap.start);
    assert.equal(await page.locator(at("fetch")).count(), 0);
  }));

test("axe-core sees what is wrong: a check of the check", () =>
  visit({}, async (page) => {
    await brief(page, address("two-minutes"));
    await page.evaluate(() => {
      document.querySelector("h1").style.color = "#9fb0b6";
      document.querySelector("[data-testid=start]").textContent = "";
    });
    const found = (await axe(page)).map(({ id }) => id);
    assert.ok(found.includes("color-contrast") && found.includes("button-name"), found.join());
  }));

test("a screen reader hears each change of the class once, and not each second", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.evaluate(() => {
      window.heard = [];
      const live = [...document.querySelectorAll("[aria-live=polite], [aria-live=assertive], [role=status], [role=alert]")];
      for (const region of live) {
        new MutationObserver(() => window.heard.push(region.textContent)).observe(region, { childList: true, characterData: true, subtree: true });
      }
    });
    await runFor(page, 50_000, 500);
    const heard = await page.evaluate(() => window.heard);
    const changes = segments("two-minutes").filter(({ start: begins }) => begins > 0 && begins < 50_000);
    assert.equal(heard.length, changes.length, heard.join(" | "));
    for (const [n, { kind, name, side }] of changes.entries()) {
      if (kind !== "work") continue;
      assert.ok(heard[n].includes(name), heard[n]);
      if (side !== "none") assert.ok(heard[n].includes(side), heard[n]);
    }
  }));

test("the keyboard reaches everything, and the focus stays when the middle button changes", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    const reached = [];
    for (let n = 0; n < 12; n += 1) {
      await page.keyboard.press("Tab");
      reached.push(await page.evaluate(() => document.activeElement.dataset.testid ?? ""));
    }
    for (const id of ["strip", "back", "pause", "skip", "unwell"]) assert.ok(reached.includes(id), `${id}: ${reached}`);
    await page.focus(at("pause"));
    await page.keyboard.press("Enter");
    const focused = await page.evaluate(() => document.activeElement.dataset.testid ?? document.activeElement.tagName);
    assert.equal(focused, "resume");
    await page.keyboard.press("Enter");
    assert.equal((await read(page)).stands, "On in 3");
  }));

test("each screen says in the window's title what it is", () =>
  visit({}, async (page) => {
    await page.goto(app.url);
    await page.waitForSelector(at("classes"));
    assert.match(await page.title(), /Rungbook/);
    await brief(page, address("two-minutes"));
    assert.match(await page.title(), /Two minutes at the quay/);
    await page.getByRole("button", { name: "All classes" }).click();
    assert.match(await page.title(), /Classes/);
    assert.equal(await page.getAttribute("html", "lang"), "en");
  }));

test("forced colours keep work and gap apart", () =>
  visit({ forcedColors: "active" }, async (page) => {
    await start(page, address("two-minutes"));
    const ground = () => page.$eval("[aria-label=Now]", (panel) => getComputedStyle(panel).backgroundColor);
    const ready = await ground();
    await page.click(at("skip"));
    await page.click(at("skip"));
    assert.equal((await read(page)).phase, "work");
    assert.notEqual(await ground(), ready);
  }));
