// What is read in class: of the right exercise, by eye and by ear, in letters that can be read, on small screens, at
// the text sizes that a browser is really set to, from right to left, in forced colours and in the dark.
import assert from "node:assert/strict";
import { test } from "node:test";
import { at, brief, house, openFile, read, start } from "./app.mjs";
import { box, contrast, covered, cut, faint, outside, tiny } from "./layout.mjs";
import { runFor } from "./lib.mjs";

const usual = house();
/** Chromium's own settings: a default font size of 32 px, of 24 px, and a smallest one of 24 px. */
const font32 = house(["--blink-settings=defaultFontSize=32"]);
const font24 = house(["--blink-settings=defaultFontSize=24"]);
const least24 = house(["--blink-settings=minimumFontSize=24"]);

/** Invented: a ladder of two rungs, each with a demo, water, a window and work that changes at half time. */
const QUAY = {
  title: "Steps of the quay", ready: 5,
  kit: [{ id: "mat", name: "mat" }],
  moves: [
    {
      id: "march", name: "High march", demo: 6, how: "Lift one knee, then the other.", notes: ["Stand tall"],
      caution: "Lift no higher than is easy. Stop if a hip hurts.",
      options: [{ id: "low", name: "Low knees on the spot", level: "easier" }, { id: "arms", name: "Arms above the head", level: "harder" }],
    },
    {
      id: "dip", name: "Half dip", demo: 6, how: "Bend both knees a little, then stand up.", notes: ["Heels stay down"],
      caution: "Bend as far as the knees allow. Hold on to a chair if you sway.",
      options: [{ id: "less", name: "A smaller dip with a chair", level: "easier" }, { id: "slow", name: "Down in four counts", level: "harder" }],
    },
    { id: "lean", name: "Side lean", sided: true, kit: ["mat"], how: "Lean to the {side}.", notes: ["Reach over the {side} hip"] },
  ],
  blocks: [
    { name: "Steps", kind: "ladder", rungs: [["march"], ["dip"]], work: 20, rest: 5, break: 10, after: 8 },
    { name: "Water", kind: "interlude", lasts: 10, say: "Sip some water." },
    { name: "Lean", kind: "flow", steps: ["lean"], work: 20, sides: "half", after: 8 },
    { name: "Own pace", kind: "window", times: 1, work: 120, tasks: [{ move: "march", reps: 12 }, { move: "dip", reps: 8 }] },
  ],
};

/** Starts the class and skips until what is shown pleases. */
async function begin(page, app, pleases, file = QUAY) {
  await openFile(page, app.url, file);
  await page.click(at("start"));
  await page.waitForSelector(at("class"));
  return on(page, pleases);
}

async function on(page, pleases) {
  for (let n = 0; n < 40; n += 1) {
    const shown = await read(page);
    if (pleases(shown)) return shown;
    await page.click(at("skip"));
    await page.clock.runFor(50);
  }
  return assert.fail("no segment of the class pleases");
}

const working = (name) => ({ phase, move }) => phase === "work" && move === name;
const demo = (name) => ({ phase, move }) => phase === "demo" && move === name;
const fontOf = (page, selector) => page.$eval(selector, (one) => parseFloat(getComputedStyle(one).fontSize));

test("a demo shows the exercise that is demonstrated large, with its own words and options; what comes first is small", () =>
  usual.visit({}, async (page) => {
    await begin(page, usual, demo("Half dip"));
    assert.equal(await page.textContent(at("demo-then")), "then: High march");
    assert.ok((await fontOf(page, at("move"))) >= 1.5 * (await fontOf(page, at("demo-then"))));
    assert.equal(await page.textContent(at("how")), QUAY.moves[1].how);
    assert.equal(await page.textContent(at("caution")), QUAY.moves[1].caution);
    assert.match(await page.innerText(at("ways")), /A smaller dip with a chair/);
    assert.doesNotMatch(await page.innerText(at("ways")), /Low knees/);
    assert.deepEqual([await cut(page), await covered(page), await outside(page)], [[], [], []]);
  }));

test("a caution is told in full the first time, and later as its first sentence", () =>
  usual.visit({}, async (page) => {
    await begin(page, usual, working("High march"));
    assert.equal(await page.textContent(at("caution")), QUAY.moves[0].caution);
    await runFor(page, 21_000, 1_000);
    await on(page, working("High march"));
    assert.equal(await page.textContent(at("caution")), "Lift no higher than is easy.");
  }));

for (const [app, size, setting] of [
  [font32, { width: 844, height: 390 }, "a default font of 32 px"],
  [font24, { width: 568, height: 320 }, "a default font of 24 px"],
  [least24, { width: 390, height: 844 }, "no letter below 24 px"],
  [least24, { width: 568, height: 320 }, "no letter below 24 px"],
  [font32, { width: 195, height: 422 }, "a default font of 32 px"],
]) {
  test(`${size.width} x ${size.height}, ${setting}: the help opens at its top, its text scrolls, its buttons stay`, () =>
    app.visit(size, async (page) => {
      await begin(page, app, working("High march"));
      await page.click(at("unwell"));
      const look = () => page.evaluate(() => {
        const dialog = document.querySelector("[data-testid=unwell-help]");
        const within = (one) => {
          const { top, bottom, left, right } = one.getBoundingClientRect();
          return top >= 0 && left >= 0 && bottom <= innerHeight && right <= innerWidth;
        };
        const text = dialog.querySelector(".asks-text");
        return {
          top: text.scrollTop, dialog: dialog.scrollTop, heading: within(dialog.querySelector("h2")),
          buttons: [...dialog.querySelectorAll("button")].map(within), lines: text.clientHeight >= 40,
        };
      });
      assert.deepEqual(await look(), { top: 0, dialog: 0, heading: true, buttons: [true, true], lines: true });
      await page.locator(".asks-text p").last().evaluate((one) => one.scrollIntoView());
      const { heading, buttons } = await look();
      assert.deepEqual([heading, buttons], [true, [true, true]]);
    }));
}

test("the help is larger on a tablet and on a television", () =>
  usual.visit({ width: 1920, height: 1080 }, async (page) => {
    await begin(page, usual, working("High march"));
    await page.click(at("unwell"));
    assert.ok((await fontOf(page, ".asks-text p")) >= 24);
    await page.setViewportSize({ width: 820, height: 1180 });
    assert.ok((await fontOf(page, ".asks-text p")) >= 19);
  }));

for (const [app, size, setting] of [
  ...[[280, 653], [568, 320], [260, 563], [195, 422]].map(([width, height]) => [usual, { width, height }, "usual text"]),
  [least24, { width: 390, height: 844 }, "no letter below 24 px"],
  [font32, { width: 390, height: 844 }, "a default font of 32 px"],
]) {
  test(`${size.width} x ${size.height}, ${setting}: nothing is cut, lost or below 12 px, and each option can be met`, () =>
    app.visit({ ...size, reducedMotion: "reduce" }, async (page) => {
      const found = [];
      const look = async (where) => {
        for (const check of [cut, outside, tiny]) found.push(...(await check(page)).map((one) => `${where}: ${one}`));
      };
      await begin(page, app, demo("High march"));
      await look("demo");
      for (const name of ["High march", "Half dip"]) {
        await on(page, working(name));
        await look(name);
        if (!(await page.locator(at("option")).first().isVisible())) await page.click(at("open-ways"));
        const names = await page.locator(at("option")).allInnerTexts();
        assert.match(names.join(), /Easier[\s\S]*As written[\s\S]*Harder/);
        for (const one of await page.locator(at("option")).all()) {
          await one.evaluate((one) => one.scrollIntoView({ block: "nearest" }));
          const { x, y, width, height } = await one.boundingBox();
          if (width < 44 || height < 44 || x < 0 || y < 0 || x + width > size.width || y + height > size.height) {
            found.push(`${name}: an option at ${[x, y, width, height]}`);
          }
        }
        await page.locator(at("option")).last().click();
        await page.locator(at("option")).last().click({ timeout: 500 }).catch(() => {});
        // What has no room stands behind a touch on the name.
        await page.click(at("show-how"));
        assert.match(await page.textContent(at("more")), new RegExp(name));
        await page.click(at("more-close"));
        await page.click(at("pause"));
        await look(`${name}, paused`);
        assert.ok((await box(page, "stands")).width > 0);
        await page.click(at("resume"));
        await page.clock.runFor(3_000);
      }
      assert.deepEqual(found, []);
    }));
}

test("a larger default font makes the buttons of Class larger", async () => {
  const sizes = [];
  for (const app of [usual, font32]) {
    for (const size of [{ width: 390, height: 844 }, { width: 844, height: 390 }]) {
      await app.visit(size, async (page) => {
        await begin(page, app, working("High march"));
        sizes.push([await fontOf(page, at("pause")), await fontOf(page, at("unwell"))]);
      });
    }
  }
  const [tall, wide, tallLarge, wideLarge] = sizes;
  assert.ok(tallLarge[0] > 1.15 * tall[0] && tallLarge[1] > 1.3 * tall[1], JSON.stringify(sizes));
  assert.ok(wideLarge[0] > 1.15 * wide[0], JSON.stringify(sizes));
});

test("notes from right to left, and a caution beside them, are as large as others", () =>
  usual.visit({}, async (page) => {
    const file = structuredClone(QUAY);
    file.moves[0].name = "צעידה";
    file.moves[0].notes = ["לעמוד זקוף", "לנשום לאט"];
    await begin(page, usual, working("צעידה"), file);
    assert.ok((await fontOf(page, at("note"))) >= 16);
    assert.ok((await fontOf(page, at("caution"))) >= 16);
    assert.deepEqual((await cut(page)).filter((found) => found.startsWith("words")), []);
  }));

test("forced colours tell the chosen option from the others, and leave the phase in sight", () =>
  usual.visit({ forcedColors: "active" }, async (page) => {
    await begin(page, usual, working("High march"));
    await page.locator(at("option")).first().click();
    const grounds = await page.locator(at("option")).evaluateAll((all) => all.map((one) => getComputedStyle(one).backgroundColor));
    assert.notEqual(grounds[0], grounds[1]);
    assert.equal(grounds[1], grounds[2]);
    // The ground that the browser puts behind each text would lie over the line above.
    for (const pleases of [working("Half dip"), ({ phase }) => phase === "interlude"]) {
      await on(page, pleases);
      assert.equal(await page.$eval(at("seconds"), (one) => getComputedStyle(one).forcedColorAdjust), "none");
    }
  }));

test("a screen reader is told of demos, kit, interludes, tasks and the change at half time", () =>
  usual.visit({}, async (page) => {
    const told = () => page.textContent(".class > p.sr");
    await begin(page, usual, demo("Half dip"));
    assert.match(await told(), /^Demo, Half dip, 6 s, then High march, .*Bend as far as the knees allow/);
    await on(page, ({ phase }) => phase === "interlude");
    assert.equal(await told(), "Interlude, Water, 10 s, Sip some water.");
    await page.click(at("back"));
    await page.click(at("back"));
    await on(page, ({ phase, side }) => phase === "work" && side !== "");
    await runFor(page, 11_000, 1_000);
    assert.match(await told(), /^Change sides, left$/);
    await on(page, ({ phase }) => phase === "break");
    assert.match(await told(), /then 12 × High march, 8 × Half dip/);
    await on(page, ({ phase, notes }) => phase === "work" && notes.length === 2);
    assert.equal(await told(), "Work, 12 × High march, 8 × Half dip, 2 min");
  }));

for (const size of [{ width: 390, height: 844 }, { width: 320, height: 568 }]) {
  test(`${size.width} x ${size.height}: on Brief no focus is left behind the Start bar`, () =>
    usual.visit(size, async (page) => {
      await openFile(page, usual.url, QUAY);
      await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
      const hidden = [];
      for (let n = 0; n < 40; n += 1) {
        await page.keyboard.press("Tab");
        const found = await page.evaluate(() => {
          const [focused, bar] = [document.activeElement, document.querySelector(".start-bar")];
          if (focused === document.body || bar.contains(focused)) return "";
          const over = focused.getBoundingClientRect().bottom - bar.getBoundingClientRect().top;
          return over > 1 ? `${focused.dataset.testid ?? focused.textContent.slice(0, 20)}: ${over}` : "";
        });
        if (found) hidden.push(found);
      }
      assert.deepEqual(hidden, []);
    }));
}

test("work of more than 99 s counts in minutes and seconds, and the number of seconds stays for who asks", () =>
  usual.visit({}, async (page) => {
    await begin(page, usual, ({ phase, notes }) => phase === "work" && notes.length === 2);
    const seen = () => page.$eval(at("seconds"), (one) => getComputedStyle(one, "::before").content);
    const look = async () => [await seen(), (await read(page)).seconds];
    assert.deepEqual(await look(), ['"2:00"', 120]);
    await runFor(page, 59_500, 1_000);
    assert.deepEqual(await look(), ['"1:01"', 61]);
    const place = await box(page, "move");
    await runFor(page, 3_000, 1_000);
    assert.deepEqual(await look(), ["none", 58]);
    assert.deepEqual(await box(page, "move"), place);
  }));

test("half seconds that are touched four times come to 2.0 s, and the sum begins anew after an undo", () =>
  usual.visit({}, async (page) => {
    await begin(page, usual, working("High march"));
    await runFor(page, 5_000);
    await page.click(at("with-coach"));
    for (let n = 0; n < 4; n += 1) await page.click(at("nudge-back"));
    assert.match(await page.textContent(at("shifted")), /^2\.0 s back/);
    await page.click(at("nudge-on"));
    assert.match(await page.textContent(at("shifted")), /^1\.5 s back/);
  }));

for (const colorScheme of ["light", "dark"]) {
  test(`${colorScheme}: contrast is 7:1 in class and 4.5:1 elsewhere, and work stands on a bright ground, gaps on a dark one`, () =>
    usual.visit({ colorScheme, reducedMotion: "reduce" }, async (page) => {
      const found = [];
      const look = async (where, least) => found.push(...(await faint(page, least)).map((one) => `${where}: ${one}`));
      const light = (selector) => page.$eval(selector, (one) => getComputedStyle(one).backgroundColor.match(/\d+/g).map(Number));
      await page.goto(usual.url);
      await page.waitForSelector(at("classes"));
      await look("Classes", 4.5);
      const page_ = contrast(await light("body"), [0, 0, 0]);
      assert.ok(colorScheme === "dark" ? page_ < 2 : page_ > 10, `the page's ground: ${page_}`);
      await openFile(page, usual.url, QUAY);
      await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
      await look("Brief", 4.5);
      await page.click(at("start"));
      await page.waitForSelector(at("class"));
      for (const pleases of [demo("High march"), working("High march"), ({ phase }) => phase === "rest", ({ phase }) => phase === "interlude"]) {
        const { phase } = await on(page, pleases);
        await look(phase, 7);
        const ground = contrast(await light("[aria-label=Now]"), [0, 0, 0]);
        assert.ok(phase === "work" ? ground > 12 : ground < 1.5, `${phase}: ${ground}`);
      }
      await page.click(at("pause"));
      await look("paused", 7);
      await page.click(at("unwell"));
      await look("help", 7);
      await page.click(at("end"));
      await page.waitForSelector(at("done"));
      await look("Done", 4.5);
      await brief(page, usual.address("two-minutes"));
      await page.click(at("to-hand-out"));
      await page.waitForSelector(".hand-out");
      await look("Share", 4.5);
      assert.deepEqual(found, []);
    }));
}

test("the how-to stands below the cues where there is room, else a touch on the name shows it until the segment ends", () =>
  usual.visit({ width: 820, height: 1180 }, async (page) => {
    await begin(page, usual, working("High march"));
    const how = page.locator(`.words ${at("how")}`);
    assert.ok(await how.isVisible());
    assert.deepEqual(await cut(page), []);
    await page.setViewportSize({ width: 320, height: 568 });
    await page.clock.runFor(50);
    assert.ok(!(await how.isVisible()));
    await page.click(at("show-how"));
    assert.match(await page.textContent(at("more")), /Lift one knee, then the other\./);
    assert.equal(await page.getAttribute(at("show-how"), "aria-expanded"), "true");
    await runFor(page, 21_000, 1_000);
    assert.equal(await page.locator(at("more")).count(), 0);
  }));

test("the exercises on Brief look as if they can be opened", () =>
  usual.visit({}, async (page) => {
    await openFile(page, usual.url, QUAY);
    const arrow = () => page.$eval("details.move summary", (one) => getComputedStyle(one, "::after").transform);
    const closed = await arrow();
    assert.notEqual(closed, "none");
    await page.locator("details.move summary").first().click();
    assert.notEqual(await arrow(), closed);
  }));
