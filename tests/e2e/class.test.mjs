// The main job: a link is opened, the class is followed to its end, and it is steered on the way.
import assert from "node:assert/strict";
import { test } from "node:test";
import { at, brief, house, passTo, plan, read, rungsAfter, seconds, segments, skipUntil, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const { address, visit } = house();

/** One frame of a screen at 60 Hz, in ms: what is shown may be so late. */
const FRAME = 17;

/** What Class has to show at a class time, by the reference's segments. */
function expected(all, blocks, ms) {
  const index = all.findIndex((segment) => segment.end > ms);
  const segment = all[index];
  const { kind, start, end, block, round, rounds, entry, entries, side, name } = segment;
  const work = kind === "work";
  const first = side.replace("half:", "");
  const second = { right: "left", left: "right" }[first];
  const hand = side.startsWith("half:") && ms >= start + (end - start) / 2 ? second : first;
  const ofRounds = { sets: "exercise", window: null }[blocks[block].kind] ?? "round";
  const ofEntries = { sets: "set", window: "time" }[blocks[block].kind] ?? "exercise";
  const places = [];
  if (work && rounds > 1) places.push(`${ofRounds} ${round} of ${rounds}`);
  if (work && entries > 1) places.push(`${ofEntries} ${entry} of ${entries}`);
  return {
    phase: kind,
    seconds: Math.ceil((end - ms) / 1000),
    side: work && side !== "none" ? hand : "",
    round: places.join(", "),
    next: rungsAfter(all, index).slice(0, 3),
    minutes: Math.ceil((all.at(-1).end - ms) / 60_000),
    ...(["work", "demo"].includes(kind) ? { move: name } : {}),
  };
}

/** The class times at which to look: around each change, at each half time, and once in each second. */
function moments(all) {
  const times = new Set();
  for (const { start, end, side } of all) {
    for (let ms = start; ms < end; ms += 1000) times.add(ms + FRAME);
    times.add(end - 1);
    const half = (start + end) / 2;
    if (side.startsWith("half")) [half - 1, half + FRAME].forEach((ms) => times.add(Math.floor(ms)));
  }
  return [...times].sort((a, b) => a - b);
}

/** Follows a class that was just started to its last millisecond, and compares all that is shown. */
async function follow(page, name) {
  const all = segments(name);
  const { blocks } = plan(name);
  let now = 0;
  for (const ms of moments(all)) {
    await page.clock.runFor(ms - now);
    now = ms;
    const shown = await read(page);
    const wanted = expected(all, blocks, ms);
    const compared = Object.fromEntries(Object.keys(wanted).map((key) => [key, shown[key]]));
    assert.deepEqual(compared, wanted, `at ${ms} ms of the class`);
  }
  assert.equal(now, all.at(-1).end - 1);
  return all;
}

/** The rows of Done's table, by their heading. */
const figures = (page) =>
  page.$$eval(`${at("done")} tr`, (rows) =>
    Object.fromEntries(rows.map((row) => [row.querySelector("th").textContent, row.querySelector("td").textContent])));

const clock = (ms) => `${Math.floor(ms / 60_000)}:${String((ms / 1000) % 60).padStart(2, "0")}`;

async function doneAfterAll(page, all) {
  await page.clock.runFor(1 + FRAME);
  assert.equal((await read(page)).screen, "done");
  const work = all.filter((segment) => segment.kind === "work");
  const worked = work.reduce((sum, { start, end }) => sum + end - start, 0);
  assert.deepEqual(await figures(page), { Worked: clock(worked), "Class time": clock(all.at(-1).end) });
  assert.match(await page.innerText(at("done")), new RegExp(`^${work.length} of ${work.length} work intervals in full`, "m"));
  assert.equal(await page.locator(at("skipped")).count(), 0);
  assert.match(await page.textContent("h1"), /^Done$/);
}

test("a member opens the link, reads what to bring and what to mind, and starts with one touch", () =>
  visit({}, async (page) => {
    await brief(page, address("harbour-lunch"));
    const text = await page.innerText(at("brief"));
    assert.match(text, /^Harbour lunch class$/m);
    assert.match(text, /\b26 min\b/);
    for (const { name, instead } of plan("harbour-lunch").kit) {
      assert.ok(text.includes(name), name);
      instead.forEach((other) => assert.ok(text.includes(other), other));
    }
    for (const caution of [/own risk/, /pain, dizziness/, /chest/, /emergency number/, /doctor/, /heart condition/, /pregnant/]) {
      assert.match(text, caution);
    }
    const filled = (text) => text.replaceAll("{side}", "working").replaceAll("{other}", "other");
    for (const move of plan("harbour-lunch").moves) {
      const details = page.locator("details.move", { has: page.locator("summary strong", { hasText: new RegExp(`^${move.name}$`) }) }).first();
      await details.locator("summary").click();
      const told = await details.innerText();
      assert.ok(told.includes(filled(move.how)), `${move.name}: ${told}`);
      for (const option of move.options ?? []) assert.ok(told.includes(option.name), `${move.name}: ${option.name}`);
      if (move.caution) assert.ok(told.includes(filled(move.caution)), `${move.name}: ${move.caution}`);
    }
    await page.click(at("start"));
    const { screen, phase, seconds: left } = await read(page);
    assert.deepEqual({ screen, phase, left }, { screen: "class", phase: "ready", left: 10 });
  }));

test("a whole class is right in every second, and done at its last", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await doneAfterAll(page, await follow(page, "harbour-lunch"));
  }));

test("a class with each phase is right in every second", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    const all = await follow(page, "two-minutes");
    assert.equal(all.at(-1).end, 120_000);
    const kinds = new Set(all.map((segment) => segment.kind));
    assert.deepEqual([...kinds].sort(), ["break", "change", "demo", "interlude", "ready", "rest", "work"]);
    await doneAfterAll(page, all);
  }));

test("every kind of block is right in every second", () =>
  visit({}, async (page) => {
    await start(page, address("every-kind"));
    await doneAfterAll(page, await follow(page, "every-kind"));
  }));

test("a window shows all its tasks with the counts of the round", () =>
  visit({}, async (page) => {
    const own = plan("every-kind").blocks.findIndex(({ kind }) => kind === "window");
    const [first, , second] = segments("every-kind").filter(({ block, kind }) => block === own && kind !== "break");
    await start(page, address("every-kind"));
    await passTo(page, first, FRAME);
    assert.deepEqual((await read(page)).notes, ["10 × Half squat", "30 × March"]);
    await page.clock.fastForward(second.start - first.start);
    assert.deepEqual((await read(page)).notes, ["8 × Half squat", "30 × March"]);
  }));

test("notes name the side that works, and change over at half time", () =>
  visit({}, async (page) => {
    const plank = segments("every-kind").find(({ kind, name }) => kind === "work" && name === "Side plank");
    await start(page, address("every-kind"));
    await passTo(page, plank);
    const { side, notes } = await read(page);
    assert.deepEqual({ side, notes }, { side: "right", notes: ["right elbow under the shoulder"] });
    await runFor(page, 10_499);
    assert.equal((await read(page)).side, "right");
    await runFor(page, 1 + FRAME);
    const later = await read(page);
    assert.deepEqual([later.side, later.notes], ["left", ["left elbow under the shoulder"]]);
  }));

test("seconds of four and of three digits count down", () =>
  visit({}, async (page) => {
    await start(page, address("long-segments"));
    await skipUntil(page, ({ seconds: left }) => left === 1001);
    const shown = [];
    for (const ms of [1 + FRAME, 999, 1000, 899_000, 1000, 1000]) {
      await page.clock.runFor(ms);
      shown.push(await seconds(page));
    }
    assert.deepEqual(shown, [1001, 1000, 999, 100, 99, 98]);
  }));

test("a pause stands still; going on counts three in and goes on to the millisecond", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 3_400); // The demo's second of 5: 1.6 s are left.
    await page.click(at("pause"));
    const paused = await read(page);
    assert.deepEqual([paused.phase, paused.seconds, paused.stands], ["demo", 2, "Paused"]);
    await runFor(page, 60_000, 1000);
    assert.deepEqual(await read(page), paused);
    await page.click(at("resume"));
    const counted = [];
    for (const ms of [FRAME, 1000, 1000, 999 - FRAME]) {
      await page.clock.runFor(ms);
      const { stands, seconds: left } = await read(page);
      counted.push([stands, left]);
    }
    assert.deepEqual(counted, [["On in 3", 2], ["On in 2", 2], ["On in 1", 2], ["On in 1", 2]]);
    // 3 s of count-in are over in 1 ms; the second changes 600 ms later.
    await page.clock.runFor(1 + 599);
    assert.deepEqual([(await read(page)).stands, await seconds(page)], ["", 2]);
    await page.clock.runFor(1 + FRAME);
    assert.equal(await seconds(page), 1);
  }));

test("a pause within the count-in calls it off", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 1_000);
    await page.click(at("pause"));
    await page.click(at("resume"));
    await runFor(page, 1_500);
    await page.click(at("pause"));
    await runFor(page, 20_000, 1000);
    const { seconds: left, stands } = await read(page);
    assert.deepEqual([left, stands], [4, "Paused"]);
  }));

test("a pause is no work and no class time on Done", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 20_000, 1000);
    await page.click(at("pause"));
    await runFor(page, 30_000, 1000);
    await page.click(at("resume"));
    await runFor(page, 103_000 - FRAME, 1000);
    assert.equal((await read(page)).screen, "class");
    await runFor(page, 2 * FRAME);
    // Two minutes of class, 70 s of them work; the pause of 30 s and its count-in stand beside.
    assert.deepEqual(await figures(page), { Worked: "1:10", "Class time": "2:00", Paused: "0:33" });
  }));

test("skip goes to the next start; undo takes class time back to where it would be", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 2_000);
    await page.click(at("skip"));
    const { phase, seconds: left, undo } = await read(page);
    assert.deepEqual([phase, left, undo], ["ready", 10, true]);
    await runFor(page, 1_500);
    await page.click(at("undo"));
    // 3.5 s into the demo of 5 s.
    const back = await read(page);
    assert.deepEqual([back.phase, back.seconds, back.undo], ["demo", 2, false]);
    await page.clock.runFor(499);
    assert.equal(await seconds(page), 2);
    await page.clock.runFor(1 + FRAME);
    assert.equal(await seconds(page), 1);
  }));

test("the way back from a skip is offered for a while and then goes away", () =>
  visit({}, async (page) => {
    await start(page, address("harbour-lunch"));
    await page.click(at("skip"));
    await runFor(page, 15_000, 1000);
    assert.equal((await read(page)).undo, true);
    await runFor(page, 10_000, 1000);
    assert.equal((await read(page)).undo, false);
  }));

test("back goes to the start of this one, and within its first three seconds to the one before", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await runFor(page, 15_000 + 3_100); // Work on the first move, 3.1 s in.
    await page.click(at("back"));
    const first = await read(page);
    assert.deepEqual([first.phase, first.seconds], ["work", 10]);
    await runFor(page, 2_900);
    await page.click(at("back"));
    const second = await read(page);
    assert.deepEqual([second.phase, second.seconds], ["ready", 10]);
    await page.click(at("back"));
    await page.click(at("back"));
    const start0 = await read(page);
    assert.deepEqual([start0.phase, start0.seconds], ["demo", 5]);
  }));

test("skip and back keep a pause", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.click(at("pause"));
    await page.click(at("skip"));
    await page.click(at("skip"));
    await page.click(at("back"));
    await runFor(page, 30_000, 1000);
    const { phase, seconds: left, stands } = await read(page);
    assert.deepEqual([phase, left, stands], ["ready", 10, "Paused"]);
  }));

test("skipping past the last segment ends the class, and Done names what was skipped", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    const all = segments("two-minutes");
    for (let n = 0; n < all.length; n += 1) await page.click(at("skip"));
    await page.waitForSelector(at("done"));
    assert.match(await page.innerText(at("skipped")), /Half squat 2 ×\s+Back lunge 2 × each side\s+Tall breathing 1 ×/);
    assert.match(await page.innerText(at("done")), /\b0 of 7 work intervals in full/);
  }));

/** The middle of a class time on the strip, in CSS pixels. */
async function onStrip(page, all, ms) {
  const { x, y, width, height } = await page.locator(at("strip")).boundingBox();
  return [x + width / 2, y + height * (1 - ms / all.at(-1).end)];
}

test("after the last move there is the end to come", () =>
  visit({}, async (page) => {
    const all = segments("two-minutes");
    const works = all.filter(({ kind }) => kind === "work");
    await start(page, address("two-minutes"));
    const heading = () => page.locator(".ahead h2").innerText();
    await passTo(page, works.at(-1), -500);
    assert.equal(await heading(), "Then");
    await page.clock.fastForward(1_000);
    assert.equal(await heading(), "Then the end");
  }));

test("who holds the strip sees where it would jump, letting go jumps there, and undo returns", () =>
  visit({}, async (page) => {
    const all = segments("harbour-lunch");
    const target = all.find(({ kind, side }) => kind === "work" && side === "half:right");
    const [first] = all.filter(({ kind }) => kind === "work");
    await start(page, address("harbour-lunch"));
    await runFor(page, 12_000, 1000);
    await page.mouse.move(...(await onStrip(page, all, (target.start + target.end) / 2)));
    await page.mouse.down();
    await page.clock.runFor(550);
    assert.equal((await read(page)).move, first.name);
    assert.match(await page.textContent(at("jump-offer")), /^Hold: /);
    await page.clock.runFor(150);
    // Nothing moves before the finger leaves.
    const offer = await page.textContent(at("jump-offer"));
    assert.ok(offer.startsWith("Let go to jump to ") && offer.includes(target.name), offer);
    await runFor(page, 2_000);
    assert.equal((await read(page)).move, first.name);
    await page.mouse.up();
    const there = await read(page);
    assert.deepEqual([there.move, there.side, there.seconds], [target.name, "right", (target.end - target.start) / 1000]);
    await page.click(at("undo"));
    const back = await read(page);
    // 14.7 s into the class: 4.7 s into the first work of 30 s.
    assert.deepEqual([back.move, back.seconds], [first.name, 26]);
  }));

test("a short press and a press that slides off the strip do not jump", () =>
  visit({}, async (page) => {
    const all = segments("harbour-lunch");
    await start(page, address("harbour-lunch"));
    const [x, y] = await onStrip(page, all, 900_000);
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.clock.runFor(300);
    await page.mouse.up();
    await runFor(page, 1_000);
    assert.equal((await read(page)).phase, "ready");
    await page.mouse.down();
    await page.clock.runFor(700);
    await page.mouse.move(x + 200, y);
    await page.clock.runFor(600);
    await page.mouse.up();
    const { phase, seconds: left, undo } = await read(page);
    assert.deepEqual([phase, left, undo], ["ready", 8, false]);
  }));

test("keys of a keyboard and of a presenter's remote steer the class", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    const shown = async (key) => {
      await page.keyboard.press(key);
      const { phase, seconds: left, stands } = await read(page);
      return [phase, left, stands];
    };
    assert.deepEqual(await shown("PageDown"), ["ready", 10, ""]);
    assert.deepEqual(await shown("PageDown"), ["work", 10, ""]);
    assert.deepEqual(await shown("PageUp"), ["ready", 10, ""]);
    assert.deepEqual(await shown(" "), ["ready", 10, "Paused"]);
    assert.deepEqual(await shown(" "), ["ready", 10, "On in 3"]);
    assert.deepEqual(await shown(" "), ["ready", 10, "Paused"]);
    assert.deepEqual(await shown("ArrowRight"), ["work", 10, "Paused"]);
    assert.deepEqual(await shown("ArrowLeft"), ["ready", 10, "Paused"]);
  }));

test("the space bar on a focused button presses that button once", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.focus(at("skip"));
    await page.keyboard.press(" ");
    const { phase, seconds: left, stands } = await read(page);
    assert.deepEqual([phase, left, stands], ["ready", 10, ""]);
  }));

test("with the arrow keys a place on the strip is chosen, and Enter jumps there", () =>
  visit({}, async (page) => {
    await start(page, address("two-minutes"));
    await page.focus(at("strip"));
    await page.keyboard.press("ArrowUp");
    await page.keyboard.press("ArrowUp");
    assert.match(await page.getAttribute(at("strip"), "aria-valuetext"), /Back lunge, right/);
    assert.equal((await read(page)).phase, "demo");
    await page.keyboard.press("Enter");
    const there = await read(page);
    assert.deepEqual([there.phase, there.move, there.side, there.seconds], ["work", "Back lunge", "right", 10]);
    await page.keyboard.press("ArrowUp");
    await page.keyboard.press("Escape");
    await page.keyboard.press("Enter");
    assert.deepEqual((await read(page)).side, "right");
  }));

/** Touches Stop, I feel unwell in the work on the first move, 4 s in. */
async function unwell(page) {
  await start(page, address("two-minutes"));
  await runFor(page, 19_000, 1000);
  await page.click(at("unwell"));
}

test("Stop, I feel unwell: the class stands, and says to call the local emergency number", () =>
  visit({}, async (page) => {
    await unwell(page);
    const help = page.locator(at("unwell-help"));
    assert.equal(await help.evaluate((dialog) => dialog.matches(":modal")), true);
    assert.match(await help.innerText(), /call your local emergency number/i);
    const { seconds: left } = await read(page);
    assert.equal(left, 6);
    await runFor(page, 120_000, 1000);
    assert.equal(await seconds(page), 6);
    // Modal: a touch behind it reaches nothing.
    const box = await page.locator(at("skip")).boundingBox();
    await page.mouse.click(box.x + 5, box.y + 5);
    assert.equal(await seconds(page), 6);
    await page.keyboard.press("PageDown");
    assert.equal(await seconds(page), 6);
  }));

test("from Stop, I am well goes on after a count of three", () =>
  visit({}, async (page) => {
    await unwell(page);
    await page.click(at("go-on"));
    assert.equal(await page.locator(`${at("unwell-help")}[open]`).count(), 0);
    await runFor(page, 2_990);
    assert.equal(await seconds(page), 6);
    await runFor(page, 10 + 2_000 + FRAME);
    const { seconds: left, stands } = await read(page);
    assert.deepEqual([left, stands], [4, ""]);
  }));

test("from Stop, the class is ended early", () =>
  visit({}, async (page) => {
    await unwell(page);
    await page.click(at("end"));
    await page.waitForSelector(at("done"));
    assert.equal(await page.textContent("h1"), "Ended early");
    assert.equal((await figures(page)).Worked, "0:04");
  }));

test("Escape closes the help and leaves the class paused", () =>
  visit({}, async (page) => {
    await unwell(page);
    await page.keyboard.press("Escape");
    await runFor(page, 10_000, 1000);
    const { seconds: left, stands, help } = await read(page);
    assert.deepEqual([left, stands, help], [6, "Paused", false]);
    await page.click(at("unwell"));
    assert.equal((await read(page)).help, true);
  }));
