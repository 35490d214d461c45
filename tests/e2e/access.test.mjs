// axe-core, which is not ours, finds nothing wrong on any screen; and what it can't see.
import assert from "node:assert/strict";
import { test } from "node:test";
import { addressOf, at, brief, house, read, segments, start } from "./app.mjs";
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
      await page.click(at("unwell"));
      assert.deepEqual(await axe(page, inClass), [], "Stop, I feel unwell");
      await page.click(at("end"));
      await page.waitForSelector(at("done"));
      assert.deepEqual(await axe(page), [], "Done");
    }));
}

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
