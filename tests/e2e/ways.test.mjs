// Easier and harder ways, before the class and in the middle of it: one touch, and never another second.
import assert from "node:assert/strict";
import { test } from "node:test";
import { at, brief, house, link, passTo, plan, read, segments, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const app = house();
const { address, visit } = app;
const PLAN = "harbour-lunch";
const all = segments(PLAN);
const moves = new Map(plan(PLAN).moves.map((move) => [move.id, move]));
const work = all.filter((segment) => segment.kind === "work");
const options = (id) => moves.get(id).options ?? [];
/** The first work on a move with an easier way that comes again later. */
const first = work.find(({ id, end }) =>
  options(id).some(({ level }) => level === "easier") && work.some((other) => other.id === id && other.start > end + 60_000));
const easier = options(first.id).find(({ level }) => level === "easier");
const asEasier = `${first.name}: ${easier.name}`;
const option = (page, words) => page.locator(at("option"), { hasText: words });

test("a way is changed with one touch, on the same second, and holds when the move comes again", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await passTo(page, first, 3_300);
    const before = await read(page);
    assert.equal(before.move, first.name);
    assert.equal(await option(page, "As written").getAttribute("aria-pressed"), "true");
    await option(page, easier.name).click();
    const after = await read(page);
    assert.deepEqual([after.move, after.seconds, after.phase], [asEasier, before.seconds, "work"]);
    assert.equal(await option(page, easier.name).getAttribute("aria-pressed"), "true");
    assert.match(await page.textContent(`${at("ways")} .when`), /Kept from now on/);
    for (const note of easier.notes ?? []) assert.ok(after.notes.includes(note), note);
    // Every later second is that of the class as written.
    const again = work.find((segment) => segment.id === first.id && segment.start > first.end + 60_000);
    await page.clock.fastForward(again.start - first.start - 3_300 + 2_000);
    const later = await read(page);
    assert.deepEqual([later.move, later.seconds], [asEasier, Math.ceil((again.end - again.start - 2_000) / 1000)]);
    // A touch on what is chosen takes it back.
    await option(page, easier.name).click();
    assert.equal((await read(page)).move, first.name);
  }));

test("in a gap the ways of the next move stand ready, in work they are one touch away", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    const n = work.findIndex((segment, i) => {
      const next = work[i + 1];
      return next && segment.id !== next.id && options(segment.id).length > 0 && options(next.id).length > 0 &&
        all.some((gap) => gap.kind !== "work" && gap.start === segment.end);
    });
    const [now, next] = [work[n], work[n + 1]];
    await passTo(page, now, 2_000);
    assert.equal(await page.textContent(at("turn-ways")), "This moveNext move →");
    await page.click(at("turn-ways"));
    assert.equal(await page.textContent(at("turn-ways")), `Next move${next.name}← This move`);
    const way = options(next.id)[0];
    await option(page, way.name).click();
    assert.equal((await read(page)).move, now.name);
    await runFor(page, now.end - now.start - 1_500);
    assert.notEqual((await read(page)).phase, "work");
    assert.equal(await option(page, way.name).getAttribute("aria-pressed"), "true");
    await page.clock.fastForward(next.start - now.end);
    assert.equal((await read(page)).move, `${next.name}: ${way.name}`);
  }));

test("a choice survives a reload, and the record is that of the class", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await passTo(page, first, 3_000);
    await option(page, easier.name).click();
    await page.reload();
    await page.waitForSelector(at("brief"));
    await page.click(`${at("left-off")} .strong`);
    await page.clock.runFor(3_000);
    const shown = await read(page);
    assert.deepEqual([shown.move, shown.seconds], [asEasier, Math.ceil((first.end - first.start - 3_000) / 1000)]);
  }));

test("the whole class is made easier on Brief, and the kit that falls away is told", () =>
  visit({}, async (page) => {
    await brief(page, address(PLAN));
    await page.click(at("all-easier"));
    assert.equal(await page.getAttribute(at("all-easier"), "aria-pressed"), "true");
    const needed = (ways) => new Set([...moves.values()].flatMap((move) => {
      const way = ways && (move.options ?? []).find(({ level }) => level === "easier");
      return (way ? way.kit : move.kit) ?? [];
    }));
    const away = [...needed(false)].filter((id) => !needed(true).has(id));
    const told = (await page.locator(at("spare")).allTextContents()).filter(Boolean);
    assert.equal(told.length, away.length);
    await page.click(at("start"));
    await passTo(page, first, 1_000);
    assert.equal((await read(page)).move, asEasier);
    // The other one of the two without an easier way is as written.
    const plain = work.find(({ id, start }) => start > first.end && !options(id).some(({ level }) => level === "easier"));
    if (plain) {
      await page.clock.fastForward(plain.start - first.start);
      assert.equal((await read(page)).move, plain.name);
    }
  }));

test("one move is chosen on Brief, and taken back", () =>
  visit({}, async (page) => {
    await brief(page, address(PLAN));
    const details = page.locator("details.move", { has: page.locator("summary strong", { hasText: new RegExp(`^${first.name}$`) }) }).first();
    await details.locator("summary").click();
    const way = details.locator(at("brief-option"), { hasText: easier.name });
    await way.click();
    assert.equal(await way.getAttribute("aria-pressed"), "true");
    await way.click();
    assert.equal(await way.getAttribute("aria-pressed"), "false");
    await way.click();
    await page.click(at("start"));
    await passTo(page, first, 1_000);
    assert.equal((await read(page)).move, asEasier);
    // Another class starts as written.
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.goto(`${address(PLAN).split("#")[0]}#plan=${link("quay-pyramid")}`);
    await page.waitForSelector(at("brief"));
    assert.equal(await page.getAttribute(at("all-as-written"), "aria-pressed"), "true");
  }));

test("a way that is done one side at a time says so until half time", () =>
  visit({}, async (page) => {
    const found = work.find(({ id, side }) => side === "none" && options(id).some((one) => one.switch_at_half));
    assert.ok(found, "no demo has such a way");
    await start(page, address(PLAN));
    await passTo(page, found, 1_000);
    const way = options(found.id).find((one) => one.switch_at_half);
    await option(page, way.name).click();
    const half = (found.end - found.start) / 2;
    const told = () => page.textContent(".panel .half");
    assert.equal(await told(), `change sides in ${Math.ceil((half - 1_000) / 1_000)} s`);
    await runFor(page, half - 1_000);
    assert.equal(await told(), "");
  }));

for (const [width, height] of [[390, 844], [320, 568], [844, 390], [1920, 1080]]) {
  test(`the ways can be met from the floor at ${width}x${height}`, () =>
    visit({ width, height }, async (page) => {
      await start(page, address(PLAN));
      for (const segment of work.filter(({ id }) => options(id).length > 0).slice(0, 6)) {
        await page.clock.fastForward(Math.max(1, segment.start + 1_000 - (await page.evaluate(() => Date.now())) + Date.parse("2026-11-25T12:00:00Z")));
        const boxes = await page.locator(at("option")).evaluateAll((all) => all.map((one) => {
          const box = one.getBoundingClientRect();
          return [box.width, box.height, one.scrollHeight - one.clientHeight, one.scrollWidth - one.clientWidth];
        }));
        assert.ok(boxes.length >= 2);
        for (const [w, h, over, wide] of boxes) {
          assert.ok(w >= 64 && h >= 64, `${w}x${h}`);
          // Over its padding at most: as wide as its border.
          assert.ok(over <= 2 && wide <= 2, `cut by ${over} and ${wide}`);
        }
      }
    }));
}

for (const [width, height] of [[390, 844], [320, 568], [844, 390], [568, 320]]) {
  test(`${width} x ${height}: each of many ways can be met`, () =>
    visit({ width, height }, async (page) => {
      const file = (ways) => JSON.stringify({
        format: "rungbook-plan", version: 1, title: "Many ways at the quay",
        moves: [
          { id: "push", name: "Push-up", options: Array.from({ length: ways }, (_, n) => ({ id: `w${n}`, name: `Hands on bench ${n + 1}`, level: "easier" })) },
          { id: "squat", name: "Squat" },
        ],
        blocks: [{ kind: "flow", work: 40, steps: ["push", "squat", "push"] }],
      });
      for (const ways of [3, 5, 8, 11, 20]) {
        await page.goto("about:blank");
        await page.goto(app.url);
        await page.setInputFiles(at("file-field"), { name: "many.json", mimeType: "application/json", buffer: Buffer.from(file(ways)) });
        await page.click(at("start"));
        await page.waitForSelector(at("class"));
        await page.clock.fastForward(15_000);
        const all = page.locator(at("option"));
        assert.equal(await all.count(), ways + 1);
        for (let n = 0; n <= ways; n += 1) {
          const one = all.nth(n);
          await one.scrollIntoViewIfNeeded();
          const box = await one.boundingBox();
          // WCAG 2.5.8 asks for 24 px; a hand in mid-move for more.
          assert.ok(box.width >= 44 && box.height >= 44, `${ways}, ${n}: ${JSON.stringify(box)}`);
          assert.ok(box.x >= 0 && box.y >= 0 && box.x + box.width <= width && box.y + box.height <= height, `${ways}, ${n}: ${JSON.stringify(box)}`);
        }
        await all.nth(ways).click();
        assert.equal(await all.nth(ways).getAttribute("aria-pressed"), "true");
      }
    }));
}
