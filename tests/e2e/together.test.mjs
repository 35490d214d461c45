// A class at a set instant: many phones, one clock, no server.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { test } from "node:test";
import { NOON, at, brief, house, passTo, plan, read, rungsAfter, segments, start, timeOfDay } from "./app.mjs";
import { runFor } from "./lib.mjs";

const { address, visit } = house();
const PLAN = "harbour-lunch";
const all = segments(PLAN);
const total = all.at(-1).end;

/** The address of the class with time 0 so many ms after the test's now. */
const atSet = (ms) => `${address(PLAN)}&at=${new Date(Date.parse(NOON) + ms).toISOString()}`;
/** The segment of a class time, by the reference. */
const segmentAt = (ms) => all.find((segment) => segment.start <= ms && ms < segment.end);
const efforts = new Map(plan(PLAN).moves.map((move) => [move.id, move.effort]));
/** Hard work that comes when the warm-up is over. */
const hard = all.find((s) => s.kind === "work" && ["vigorous", "all-out"].includes(efforts.get(s.id)) && s.start > 240_000);
/** How long the late warm-up lasts from a class time on: about two minutes, to where all others get ready. */
const warms = (ms) => all.find((s) => !["work", "change"].includes(s.kind) && s.start >= ms + 90_000).start - ms;
const minutes = (ms) => `${Math.floor(ms / 60_000)}:${String(Math.ceil((ms % 60_000) / 1000)).padStart(2, "0")}`;
const setTime = (page) => page.textContent(at("set-time"));

test("a phone that is early waits, and starts on the instant", () =>
  visit({}, async (page) => {
    await brief(page, atSet(600_000));
    assert.match(await setTime(page), /It starts in 10 min/);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    // By the phone's own zone and words; what to have at hand, and nothing to steer yet.
    const shown = await read(page);
    const time = await timeOfDay(page, Date.parse(NOON) + 600_000);
    assert.equal(shown.stands, `Starts at ${time}`);
    assert.equal(await page.textContent(at("seconds")), "10:00");
    const bells = plan("harbour-lunch").kit.map(({ name }) => name);
    assert.equal(await page.textContent(at("at-hand")), `Have at hand: ${[...bells, "water"].join(", ")}`);
    assert.equal(await page.textContent(at("comes-first")), `First: ${all.find(({ kind }) => kind === "work").name}`);
    for (const id of ["back", "pause", "skip"]) assert.equal(await page.locator(at(id)).count(), 0, id);
    await page.clock.fastForward(540_000);
    assert.deepEqual([(await read(page)).stands, await page.textContent(at("seconds"))], ["Starts soon", "60"]);
    await page.clock.fastForward(59_999);
    assert.equal((await read(page)).seconds, 1);
    await runFor(page, 1, 1);
    const first = await read(page);
    assert.deepEqual([first.stands, first.phase, first.seconds], ["", all[0].kind, (all[0].end - all[0].start) / 1000]);
  }));

test("a phone that is late lands in the right second, and is told what it missed", () =>
  visit({}, async (page) => {
    const late = 412_300;
    await brief(page, atSet(-late));
    assert.match(await setTime(page), /It runs now, in minute 7/);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    const there = segmentAt(late);
    const shown = await read(page);
    assert.deepEqual([shown.phase, shown.seconds], [there.kind, Math.ceil((there.end - late) / 1000)]);
    await page.clock.fastForward(total - late + 1_000);
    await page.waitForSelector(at("done"));
    const missed = await page.locator(`${at("missed")} li`).count();
    const ids = new Set(all.filter((s) => s.kind === "work" && s.end <= late).map((s) => s.id));
    assert.ok(ids.size > 0);
    assert.equal(missed, ids.size);
    assert.equal(await page.locator(at("skipped")).count(), 0);
  }));

test("a pause leaves the shared clock, and one touch is the way back", () =>
  visit({}, async (page) => {
    await start(page, atSet(-30_000));
    assert.equal(await page.locator(at("rejoin")).count(), 0);
    await page.click(at("pause"));
    await page.clock.fastForward(95_000);
    await page.click(at("rejoin"));
    const there = segmentAt(125_000);
    const shown = await read(page);
    assert.deepEqual([shown.phase, shown.stands, shown.seconds], [there.kind, "", Math.ceil((there.end - 125_000) / 1000)]);
    assert.equal(await page.locator(at("rejoin")).count(), 0);
    await page.click(at("skip"));
    await page.click(at("rejoin"));
    assert.equal((await read(page)).seconds, Math.ceil((there.end - 125_000) / 1000));
  }));

test("who closed the page finds the class where it is by now", () =>
  visit({}, async (page) => {
    await start(page, atSet(0));
    await passTo(page, all[0], 100_000);
    await page.reload();
    await page.clock.fastForward(60_000);
    await page.waitForSelector(at("brief"));
    assert.match(await page.textContent(at("left-off")), /goes on without you/);
    await page.click(`${at("left-off")} .strong`);
    await page.waitForSelector(at("class"));
    const there = segmentAt(160_000);
    const shown = await read(page);
    assert.deepEqual([shown.phase, shown.seconds], [there.kind, Math.ceil((there.end - 160_000) / 1000)]);
  }));

test("a class that is over is done alone, from its start", () =>
  visit({}, async (page) => {
    await brief(page, atSet(-total));
    assert.match(await setTime(page), /It is over/);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    assert.equal((await read(page)).seconds, (all[0].end - all[0].start) / 1000);
    await page.click(at("pause"));
    assert.equal(await page.locator(at("rejoin")).count(), 0);
  }));

test("a start time that is none is said, not passed over", () =>
  visit({}, async (page) => {
    await page.goto(`${address(PLAN)}&at=tomorrow`);
    await page.waitForSelector(at("brief"));
    assert.match(await page.textContent(at("fault")), /start time in this link can't be read: tomorrow/);
    await page.click(at("start"));
    assert.equal((await read(page)).seconds, (all[0].end - all[0].start) / 1000);
  }));

test("the start time stays in the address, and is handed on", () =>
  visit({ permissions: ["clipboard-read", "clipboard-write"], timezoneId: "Asia/Kolkata" }, async (page) => {
    await brief(page, atSet(600_000));
    await page.reload();
    assert.match(await setTime(page), /It starts in 10 min/);
    // 18:00 in India is 12:30 UTC the whole year.
    await page.click(at("to-hand-out"));
    await page.fill(at("hand-out-at"), "2026-11-25T18:00");
    await page.locator(at("hand-out-at")).blur();
    assert.match(await page.textContent(at("hand-out-starts")), /start it on/);
    await page.evaluate(() => Object.defineProperty(navigator, "share", { value: undefined }));
    await page.click(at("hand-out-link"));
    await page.getByText("The link is copied").waitFor();
    const link = await page.evaluate(() => navigator.clipboard.readText());
    assert.equal(Date.parse(new URL(link.replace("#", "?")).searchParams.get("at")), Date.parse("2026-11-25T12:30:00Z"));
  }));

// Python's zoneinfo reads the time zone database by itself; the hour is one that the clock change makes of note.
for (const [zone, instant] of [
  ["Europe/Berlin", "2027-03-28T00:59:00Z"],
  ["Europe/Berlin", "2027-03-28T01:00:00Z"],
  ["America/New_York", "2026-11-01T05:30:00Z"],
  ["America/New_York", "2026-11-01T06:30:00Z"],
  ["Australia/Lord_Howe", "2027-04-03T15:30:00Z"],
]) {
  test(`the start in ${zone} at ${instant} is what the time zone database says`, () =>
    visit({ timezoneId: zone, locale: "en-GB" }, async (page) => {
      const script = `import datetime as d, zoneinfo as z
print(d.datetime.fromisoformat("${instant}".replace("Z","+00:00")).astimezone(z.ZoneInfo("${zone}")).strftime("%a|%d|%b|%H:%M"))`;
      const [weekday, day, month, time] = execFileSync("python3", ["-c", script], { encoding: "utf8" }).trim().split("|");
      await brief(page, `${address(PLAN)}&at=${instant}`);
      const text = await setTime(page);
      for (const part of [weekday, String(Number(day)), month, time]) assert.ok(text.includes(part), `${part} is not in: ${text}`);
    }));
}

// ---- a coach elsewhere ----

test("the coach's go moves the phone to the start of the work that it names, and can be undone", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    const work = all.filter((segment) => segment.kind === "work");
    // 2 s late: the nearest go is that of the work under way.
    await passTo(page, work[2], 2_000);
    await page.click(at("with-coach"));
    assert.match(await page.textContent(at("align")), new RegExp(work[2].name));
    await page.click(at("align"));
    const length = (segment) => (segment.end - segment.start) / 1000;
    assert.equal((await read(page)).seconds, length(work[2]));
    assert.match(await page.textContent(at("shifted")), /2\.0 s back/);
    await page.click(at("undo"));
    assert.equal((await read(page)).seconds, length(work[2]) - 2);
    // A rung on, and another one: the target is named each time; far away it asks.
    await page.click(at("align-after"));
    await page.click(at("align-after"));
    assert.match(await page.textContent(at("align")), new RegExp(work[4].name));
    await page.click(at("align"));
    assert.match(await page.textContent(at("align")), /Again/);
    await page.click(at("align"));
    const there = await read(page);
    assert.deepEqual([there.move, there.seconds], [work[4].name, length(work[4])]);
    await page.click(at("coach-close"));
    assert.equal(await page.locator(at("coach")).count(), 0);
  }));

test("a delayed stream is followed by half seconds", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await page.clock.fastForward(12_250);
    const before = await read(page);
    await page.click(at("with-coach"));
    await page.click(at("nudge-back"));
    assert.equal((await read(page)).seconds, before.seconds + 1);
    await page.click(at("nudge-on"));
    await page.click(at("nudge-on"));
    assert.equal((await read(page)).seconds, before.seconds);
    await page.clock.fastForward(250);
    assert.equal((await read(page)).seconds, before.seconds - 1);
  }));

/** Opens the class as a recording from 1:35 of a video on, starts it, and opens what follows the coach. */
async function recorded(page) {
  const file = { ...plan(PLAN), recording: 95 };
  await page.goto(address(PLAN).split("#")[0]);
  await page.setInputFiles(at("file-field"), { name: "x.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(file)) });
  await page.click(at("start"));
  await page.click(at("with-coach"));
  return async (clock) => {
    await page.fill(at("video-clock"), clock);
    await page.click(at("video-go"));
  };
}

const stands = (shown) => [shown.phase, shown.seconds];
const standsAt = (ms) => [segmentAt(ms).kind, Math.ceil((segmentAt(ms).end - ms) / 1000)];

test("with a recording the phone goes to where the video's clock is, and asks where that is far", () =>
  visit({}, async (page) => {
    const go = await recorded(page);
    await go("soon");
    assert.match(await page.textContent(at("video-told")), /12:05/);
    const there = (12 * 60 + 35 - 95) * 1000;
    await go("12:35");
    // More than 30 s away: once more, as the coach's go asks.
    assert.deepEqual(stands(await read(page)), standsAt(0));
    assert.match(await page.textContent(at("video-told")), /^11:00 on\? Go there again$/);
    await page.click(at("video-go"));
    assert.deepEqual(stands(await read(page)), standsAt(there));
    assert.equal(await page.textContent(at("video-told")), "");
    // A second within those 30 goes at once.
    await go("12:45");
    assert.deepEqual(stands(await read(page)), standsAt(there + 10_000));
    // A question is about the clock that was typed, and for a moment only.
    await go("20:00");
    await page.fill(at("video-clock"), "20:01");
    await page.click(at("video-go"));
    assert.deepEqual(stands(await read(page)), standsAt(there + 10_000));
    await page.clock.runFor(7_000);
    assert.equal(await page.textContent(at("video-told")), "");
    // Each shift is taken off by one touch.
    await page.click(at("undo"));
    await page.click(at("undo"));
    assert.deepEqual(stands(await read(page)), standsAt(7_000));
  }));

test("a video's clock never ends the class, and is told where the class ends", () =>
  visit({}, async (page) => {
    const go = await recorded(page);
    await page.clock.fastForward(5_000);
    const end = 95 + total / 1000;
    const words = `${Math.floor(end / 60)}:${String(end % 60).padStart(2, "0")}`;
    for (const clock of [words, "45:00", "2:00:00"]) {
      await go(clock);
      await page.click(at("video-go"));
      assert.equal(await page.textContent(at("video-told")), `The class ends at ${words} on this recording.`);
      assert.deepEqual(stands(await read(page)), standsAt(5_000));
    }
  }));

test("where the video has not come to the class, the phone counts down to it", () =>
  visit({}, async (page) => {
    const go = await recorded(page);
    await go("0:30");
    await page.click(at("video-go"));
    assert.equal(await page.textContent(at("seconds")), "65"); // to 1:35
    await page.clock.fastForward(64_500);
    assert.equal(await page.textContent(at("seconds")), "1");
    await page.clock.fastForward(2_500);
    assert.deepEqual(stands(await read(page)), standsAt(2_000));
  }));

test("who would land in hard work is offered two minutes of warm-up, or the easier way", () =>
  visit({}, async (page) => {
    const warm = plan(PLAN).blocks.findIndex((block) => block.part === "warm-up");
    const hard = all.find((s) => s.kind === "work" && ["vigorous", "all-out"].includes(efforts.get(s.id)) && s.block > warm);
    await brief(page, atSet(-hard.start - 1_000));
    assert.equal(await page.locator(at("join-easier")).count(), 1);
    await page.click(at("warm-up-first"));
    const first = all.find((s) => s.kind === "work" && s.block === warm);
    const begins = await read(page);
    const lasts = warms(hard.start + 1_000);
    assert.ok(lasts >= 90_000 && lasts <= 210_000);
    assert.deepEqual([begins.move, begins.stands], [first.name, `Joins in ${minutes(lasts)}`]);
    assert.equal(begins.minutes, Math.ceil((total - hard.start - 1_000) / 60_000), "the class ends when it does for all");
    assert.equal(await page.locator(at("rejoin")).count(), 1);
    await runFor(page, 60_000, 1_000);
    assert.equal((await read(page)).stands, `Joins in ${minutes(lasts - 60_000)}`);
    await runFor(page, lasts - 60_000, 1_000);
    const there = hard.start + 1_000 + lasts;
    assert.notEqual(segmentAt(there).kind, "work", "they join where all others get ready");
    const shown = await read(page);
    assert.deepEqual([shown.phase, shown.seconds], [segmentAt(there).kind, Math.ceil((segmentAt(there).end - there) / 1000)]);
    assert.equal(await page.locator(at("rejoin")).count(), 0);
  }));

for (const [away, words] of [[30_000, "You left"], [150_000, "goes on without you"]]) {
  test(`a reload of ${away / 1000} s within the late warm-up still joins by itself`, () =>
    visit({}, async (page) => {
      await brief(page, atSet(-hard.start - 1_000));
      await page.click(at("warm-up-first"));
      await runFor(page, 20_000, 1_000);
      await page.reload();
      await page.waitForSelector(at("brief"));
      const before = away < 60_000 ? 24_000 : 20_000;
      if (before > 20_000) {
        // Once more, and on.
        await page.locator(at("left-off")).locator("button").first().click();
        await page.waitForSelector(at("class"));
        await runFor(page, 4_000, 1_000);
        assert.equal((await read(page)).stands, `Joins in ${minutes(warms(hard.start + 1_000) - 24_000)}`);
        await page.reload();
        await page.waitForSelector(at("brief"));
      }
      await page.clock.runFor(away);
      await page.reload();
      const notice = page.locator(at("left-off"));
      assert.match(await notice.innerText(), new RegExp(words));
      await notice.locator("button").first().click();
      await page.waitForSelector(at("class"));
      const left = Math.max(0, warms(hard.start + 1_000) - before - away);
      await runFor(page, left + 1_000, 1_000);
      const there = hard.start + 1_000 + before + away + left + 1_000;
      const shown = await read(page);
      assert.deepEqual([shown.phase, shown.seconds], [segmentAt(there).kind, Math.ceil((segmentAt(there).end - there) / 1000)]);
      assert.equal(await page.locator(at("rejoin")).count(), 0);
    }));
}

test("two phones at one set time show the same second; one whose clock is wrong is aligned", () =>
  visit({}, (one) =>
    visit({}, async (other) => {
      const work = all.filter((segment) => segment.kind === "work");
      await start(one, atSet(0));
      // This phone's clock is 2 s fast.
      await other.clock.fastForward(2_000);
      await start(other, atSet(0));
      for (const page of [one, other]) await page.clock.fastForward(work[1].start);
      const [right, wrong] = [await read(one), await read(other)];
      assert.equal(right.seconds - wrong.seconds, 2);
      // The coach's go is heard by both in the same moment.
      await other.click(at("with-coach"));
      await other.click(at("align"));
      assert.deepEqual((await read(other)).seconds, right.seconds);
      for (const page of [one, other]) await page.clock.fastForward(61_700);
      const [a, b] = [await read(one), await read(other)];
      assert.deepEqual([a.phase, a.move, a.seconds], [b.phase, b.move, b.seconds]);
    })));

test("who faces the coach sees the sides as in a mirror", () =>
  visit({}, async (page) => {
    await brief(page, address(PLAN));
    await page.check(at("mirror"));
    await page.click(at("start"));
    const right = all.find((segment) => segment.kind === "work" && segment.side === "right");
    await passTo(page, right, 500);
    assert.equal((await read(page)).side, "right");
    assert.equal(await page.getAttribute(".panel", "data-lean"), "left");
  }));

test("a pause within the late warm-up holds: nothing starts by itself", () =>
  visit({}, async (page) => {
    await brief(page, atSet(-hard.start - 1_000));
    await page.click(at("warm-up-first"));
    await page.clock.runFor(10_000);
    await page.click(at("pause"));
    await page.clock.runFor(180_000);
    assert.equal((await read(page)).stands, "Paused");
  }));

for (const [width, height] of [[844, 390], [667, 375], [568, 320], [390, 844], [320, 568]]) {
  test(`${width}x${height}: stop is whole and in reach beside every way back`, () =>
    visit({ width, height }, async (page) => {
      await start(page, atSet(-30_000));
      await page.click(at("skip"));
      assert.equal(await page.locator(at("undo")).count() + await page.locator(at("rejoin")).count(), 2);
      for (const id of ["unwell", "undo", "rejoin", "pause"]) {
        const box = await page.locator(at(id)).boundingBox();
        assert.ok(box.y >= 0 && box.y + box.height <= height && box.x + box.width <= width, `${id}: ${JSON.stringify(box)}`);
        assert.ok(box.height >= 40, `${id}: ${box.height}`);
      }
    }));
}

test("a finger that slides along the strip chooses, and jumps where it lets go", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    const bar = await page.locator(at("strip")).boundingBox();
    const x = bar.x + bar.width / 2;
    await page.mouse.move(x, bar.y + bar.height * 0.8);
    await page.mouse.down();
    for (let n = 0; n < 8; n += 1) {
      await page.mouse.move(x, bar.y + bar.height * (0.75 - n * 0.07));
      await page.clock.runFor(200);
      assert.equal((await read(page)).phase, all[0].kind, "it jumped in mid-slide");
    }
    await page.clock.runFor(700);
    assert.equal((await read(page)).phase, all[0].kind, "it jumped before it was let go");
    await page.mouse.up();
    assert.notEqual((await read(page)).phase, all[0].kind);
  }));

test("the late warm-up lists what it will join, and a pause by hand holds over a reload", () =>
  visit({}, async (page) => {
    await brief(page, atSet(-hard.start - 1_000));
    await page.click(at("warm-up-first"));
    // Two of the warm-up's own, then what is joined.
    const own = all.findIndex((s) => s.kind === "work");
    const there = all.findIndex((s) => s.end > hard.start + 1_000 + warms(hard.start + 1_000));
    const joined = rungsAfter(all, there)[0];
    assert.deepEqual((await read(page)).next, [...rungsAfter(all, own).slice(0, 2), joined]);
    assert.match(await page.locator(at("next")).nth(2).innerText(), new RegExp(`^Then join: ${joined}`));
    assert.equal(await page.locator(at("next"), { hasText: "Then join" }).count(), 1);
    await page.clock.runFor(10_000);
    await page.click(at("pause"));
    await page.clock.runFor(1_000);
    await page.reload();
    await page.clock.fastForward(180_000);
    await page.reload();
    const notice = page.locator(at("left-off"));
    assert.match(await notice.innerText(), /You left/);
    await notice.locator("button").first().click();
    await page.waitForSelector(at("class"));
    await page.clock.runFor(5_000);
    const shown = await read(page);
    assert.equal(shown.stands, "");
    assert.equal(await page.locator(at("rejoin")).count(), 1, "it joined by itself");
  }));

test("a start in another year is told with its year", () =>
  visit({}, async (page) => {
    await brief(page, `${address(PLAN)}&at=2026-12-31T12:00:00Z`);
    assert.doesNotMatch(await setTime(page), /2026/);
    await page.goto(`${address(PLAN)}&at=2027-01-01T12:00:00Z`);
    await page.click(at("take-start"));
    await page.locator(at("set-time"), { hasText: "2027" }).waitFor();
  }));

test("who was in a class at a set time goes on by either button, with what they did", () =>
  visit({}, async (page) => {
    await brief(page, atSet(0));
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(hard.start + 1_000);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.match(await setTime(page), /Started /);
    // They came at its start: nothing is offered to who comes late.
    for (const id of ["warm-up-first", "join-easier"]) assert.equal(await page.locator(at(id)).count(), 0, id);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(total);
    await page.waitForSelector(at("done"));
    const worked = await page.locator("tr", { hasText: "Worked" }).innerText();
    const whole = all.filter((s) => s.kind === "work").reduce((sum, s) => sum + s.end - s.start, 0) / 1000;
    const [m, s] = worked.match(/(\d+):(\d+)/).slice(1).map(Number);
    assert.ok(m * 60 + s > whole - 10, `${worked} of ${whole} s`);
    assert.equal(await page.locator(at("missed")).count(), 0);
  }));

const FRIDAY = "2026-11-27T12:30:00Z";
const SATURDAY = "2026-11-28T09:00:00Z";
const words = (page, id) => page.locator(at(id)).innerText();
const addressSays = (page) => new URL(page.url().replace("#", "?")).searchParams.get("at");

/** Opens the class with its start on Friday, then by a link that says another one, or none. */
async function twice(page, then) {
  await brief(page, `${address(PLAN)}&at=${FRIDAY}`);
  await page.goto(address(PLAN) + then);
  await page.waitForSelector(at("two-starts"));
}

test("two starts of one class are told, and one is chosen", () =>
  visit({ locale: "en-GB", timezoneId: "UTC" }, async (page) => {
    await twice(page, `&at=${SATURDAY}`);
    assert.match(await words(page, "two-starts"),
      /On this phone this class starts Fri,? 27 Nov.* 12:30.*\. This link says Sat,? 28 Nov.* 09:00.*\./);
    assert.deepEqual([await words(page, "keep-start"), await words(page, "take-start")], ["Keep 12:30", "Take 09:00"]);
    // Until then it is the phone's own that holds, over a reload too.
    assert.match(await setTime(page), /Starts Fri/);
    assert.equal(Date.parse(addressSays(page)), Date.parse(FRIDAY));
    await page.reload();
    assert.match(await setTime(page), /Starts Fri/);
    await twice(page, `&at=${SATURDAY}`);
    await page.click(at("keep-start"));
    assert.equal(await page.locator(at("two-starts")).count(), 0);
    assert.match(await setTime(page), /Starts Fri/);
    await twice(page, `&at=${SATURDAY}`);
    await page.click(at("take-start"));
    assert.equal(await page.locator(at("two-starts")).count(), 0);
    assert.match(await setTime(page), /Starts Sat/);
    assert.equal(Date.parse(addressSays(page)), Date.parse(SATURDAY));
    await page.click("text=All classes");
    assert.match(await words(page, "kept-class"), /starts Sat/);
  }));

test("a link without a start does not take the one on the phone in silence", () =>
  visit({ locale: "en-GB", timezoneId: "UTC" }, async (page) => {
    await twice(page, "");
    assert.match(await words(page, "two-starts"),
      /^This link has no start time\. On this phone the class starts Fri,? 27 Nov.* 12:30/);
    await page.click("text=All classes");
    assert.match(await words(page, "kept-class"), /starts Fri/);
    await twice(page, "");
    assert.match(await words(page, "start"), /Wait for the start/);
    await page.click(at("take-start"));
    assert.equal(await page.locator(at("set-time")).count(), 0);
    assert.equal(await words(page, "start"), "Start");
    assert.equal(addressSays(page), null);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.locator(at("set-time")).count(), 0);
  }));

test("a wait for a recording says when it starts, and is taken up after a reload", () =>
  visit({}, async (page) => {
    const go = await recorded(page);
    await go("0:30");
    // A second touch at once is of the first one.
    await page.clock.runFor(1_000);
    await page.click(at("video-go"));
    assert.equal((await read(page)).stands, "Starts at 1:35 of the video");
    await runFor(page, 5_000, 1_000);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.match(await page.textContent(at("left-off")), /You left .* before it began/);
    await page.clock.fastForward(60_000);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(3_000);
    assert.equal(await page.textContent(at("seconds")), "60");
    await page.clock.fastForward(60_000);
    assert.deepEqual(stands(await read(page)), standsAt(0));
  }));
