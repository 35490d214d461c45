// A class at a set instant: many phones, one clock, no server.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { test } from "node:test";
import { NOON, at, brief, house, passTo, read, segments, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const { address, visit } = house();
const PLAN = "harbour-lunch";
const all = segments(PLAN);
const total = all.at(-1).end;

/** The address of the class with time 0 so many ms after the test's now. */
const atSet = (ms) => `${address(PLAN)}&at=${new Date(Date.parse(NOON) + ms).toISOString()}`;
/** The segment of a class time, by the reference. */
const segmentAt = (ms) => all.find((segment) => segment.start <= ms && ms < segment.end);
const setTime = (page) => page.textContent(at("set-time"));

test("a phone that is early waits, and starts on the instant", () =>
  visit({}, async (page) => {
    await brief(page, atSet(600_000));
    assert.match(await setTime(page), /It starts in 10 min/);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    const shown = await read(page);
    assert.deepEqual([shown.stands, shown.seconds], ["Starts soon", 600]);
    await page.clock.fastForward(599_999);
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
    assert.match(await page.textContent(at("error")), /start time in this link can't be read: tomorrow/);
  }));

test("the start time stays in the address, and is handed on", () =>
  visit({ permissions: ["clipboard-read", "clipboard-write"], timezoneId: "Asia/Kolkata" }, async (page) => {
    await brief(page, atSet(600_000));
    await page.reload();
    assert.match(await setTime(page), /It starts in 10 min/);
    // 18:00 in India is 12:30 UTC the whole year.
    await page.fill(at("starts-at"), "2026-11-25T18:00");
    await page.evaluate(() => Object.defineProperty(navigator, "share", { value: undefined }));
    await page.click(at("pass-on"));
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
