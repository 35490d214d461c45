// What was really done: the record of a class, its rating and load, the history and its way out and back.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { DOUBLE_TAP, at, house, passTo, plan, segments, start, timeOfDay } from "./app.mjs";

const { address, visit } = house();
const PLAN = "two-minutes";
const all = segments(PLAN);
const total = all.at(-1).end;
const work = all.filter((segment) => segment.kind === "work");

/** Follows a class to its end, by a pause of 10 s and a skip of the second work. */
async function follow(page) {
  await start(page, address(PLAN));
  await passTo(page, work[1], 1_000);
  await page.click(at("pause"));
  await page.clock.fastForward(7_000);
  await page.click(at("resume"));
  await page.clock.fastForward(3_000);
  await page.click(at("skip"));
  await page.clock.fastForward(total);
  await page.waitForSelector(at("done"));
}

async function download(page, id) {
  const coming = page.waitForEvent("download");
  await page.click(at(id));
  return readFileSync(await (await coming).path(), "utf8");
}

/** A table as Python's csv module reads it, in strict mode. */
const table = (text) => JSON.parse(execFileSync("python3", ["-c",
  "import csv,io,json,sys; print(json.dumps(list(csv.reader(io.StringIO(sys.stdin.read(), newline=''), strict=True))))",
], { input: text, encoding: "utf8" }));

const skipped = work[1].end - work[1].start - 1_000;
const running = total - skipped;

test("a class is rated, its load is rating times minutes, and both are kept", () =>
  visit({}, async (page) => {
    await follow(page);
    await page.click(at("rate-5"));
    // Foster et al. 2001: the load is the rating times the minutes.
    const load = 5 * Math.round(running / 60_000);
    assert.match(await page.textContent(at("load")), new RegExp(`: ${load} .*Foster and others 2001`));
    await page.fill(at("own-note"), "knee fine, \"again\", =1+1");
    await page.locator(at("own-note")).blur();
    await page.reload();
    await page.waitForSelector(at("brief"));
    await page.getByRole("button", { name: "All classes" }).click();
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    const past = await page.textContent(at("past"));
    assert.match(past, new RegExp(`effort 5, load ${load}`));
    assert.match(past, /knee fine/);
    assert.equal(await page.textContent(at("week-load")), `1 class, ${Math.round(running / 60_000)} min, load ${load}`);
    assert.match(await page.textContent(at("history")), /Foster and others 2001/);
    assert.match(await page.getAttribute(`${at("past")} svg`, "aria-label"), new RegExp(`of ${work.length} work intervals`));
    const [columns, row, ...more] = table(await download(page, "export-csv"));
    assert.deepEqual(more, []);
    const cell = (name) => row[columns.indexOf(name)];
    assert.deepEqual(["class_s", "paused_s", "rating", "load", "note"].map(cell),
      [String(Math.floor(running / 1000)), "10", "5", String(load), "knee fine, \"again\", =1+1"]);
    const worked = work.reduce((sum, { start: from, end }) => sum + end - from, 0) - skipped;
    assert.equal(cell("worked_s"), String(Math.floor(worked / 1000)));
    assert.equal(Number(cell("full")) + Number(cell("part")) + Number(cell("skipped")), work.length);
  }));

test("a class in the history opens its Brief, as it was done", () =>
  visit({}, async (page) => {
    await follow(page);
    await page.click(at("to-history"));
    await page.click(at("open-past"));
    await page.waitForSelector(at("brief"));
    assert.equal(await page.textContent("h1"), plan(PLAN).title);
    assert.match(page.url(), /#plan=/);
    // It can be done again from there.
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
  }));

test("what was done is saved, deleted, and brought back", () =>
  visit({}, async (page) => {
    await follow(page);
    await page.click(at("rate-7"));
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    const before = await page.textContent(at("past"));
    const saved = await download(page, "export-json");
    await page.click(at("delete-all"));
    assert.equal(await page.locator(at("past")).count(), 1);
    await page.click(at("delete-all"));
    assert.equal(await page.locator(at("past")).count(), 0);
    const file = (text) => ({ name: "done.json", mimeType: "application/json", buffer: Buffer.from(text) });
    for (const wrong of ["", "[]", "{}", '{"format":"rungbook-done","done":[{"start":1,"end":2,"plan":"x","log":"y"}]}']) {
      await page.setInputFiles(at("import-history"), file(wrong));
      await page.waitForSelector(at("fault"));
      assert.equal(await page.locator(at("past")).count(), 0);
    }
    await page.setInputFiles(at("import-history"), file(saved));
    await page.waitForSelector(at("past"));
    assert.equal(await page.textContent(at("past")), before);
    // That it went well is said, and what was told of the file before is gone.
    assert.equal(await page.locator(at("fault")).count(), 0);
    assert.match(await page.textContent(at("brought-back")), /Brought back: 1/);
    // A second time changes nothing.
    await page.setInputFiles(at("import-history"), file(saved));
    await page.getByText("Here already, just as in the file: 1.").waitFor();
    assert.equal(await page.locator(at("past")).count(), 1);
    // What was changed since it was saved is not lost to it.
    await page.clock.runFor(1_000);
    await page.click(at("rate-past"));
    await page.click(at("rate-9"));
    await page.click(at("rate-past"));
    const rated = await page.textContent(at("past"));
    assert.match(rated, /effort 9/);
    await page.setInputFiles(at("import-history"), file(saved));
    await page.getByText("Changed later on this phone, and kept as it is here: 1.").waitFor();
    assert.equal(await page.textContent(at("past")), rated);
    await page.setInputFiles(at("import-history"), file("{}"));
    await page.waitForSelector(at("fault"));
    assert.equal(await page.textContent(at("brought-back")), "");
    await page.click(at("remove-past"));
    assert.equal(await page.locator(at("past")).count(), 0);
  }));

test("a class that was left at once is not counted as done", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    assert.equal(await page.locator(at("past")).count(), 0);
  }));

test("a full storage loses no history, and says so", () =>
  visit({}, async (page) => {
    await follow(page);
    await page.evaluate(() => {
      const setItem = Storage.prototype.setItem;
      Storage.prototype.setItem = function (key, value) {
        if (key.startsWith("rungbook/1/done/")) throw new DOMException("full", "QuotaExceededError");
        return setItem.call(this, key, value);
      };
    });
    await page.click(at("rate-9"));
    assert.match(await page.textContent(at("fault")), /no room left/);
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    assert.equal(await page.locator(at("past")).count(), 1);
  }));

test("weeks begin on Monday, also where the clocks change", () =>
  visit({ timezoneId: "Europe/Berlin", locale: "en-GB" }, async (page) => {
    await follow(page);
    const key = await page.evaluate(() => Object.keys(localStorage).find((key) => key.startsWith("rungbook/1/done/")));
    // Sunday 25 October 2026 has 25 hours in Berlin; Monday is the 19th. Half an hour after its midnight,
    // and half an hour before that of Monday 26.
    const instants = ["2026-10-24T22:30:00Z", "2026-10-25T22:30:00Z", "2026-10-25T23:30:00Z"];
    await page.evaluate(([key, instants]) => {
      const text = localStorage.getItem(key);
      localStorage.removeItem(key);
      for (const instant of instants) localStorage.setItem(`rungbook/1/done/${Date.parse(instant)}`, text);
    }, [key, instants]);
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    const weeks = await page.locator(at("week")).evaluateAll((all) =>
      all.map((week) => [week.querySelector("h2 span").textContent, week.querySelectorAll("[data-testid=past]").length]));
    assert.deepEqual(weeks, [["Week of 26/10/2026", 1], ["Week of 19/10/2026", 2]]);
    const sums = await page.locator(at("week-load")).allTextContents();
    assert.deepEqual(sums, [1, 2].map((n) => `${n} ${n > 1 ? "classes" : "class"}, ${Math.round((n * running) / 60_000)} min, load 0`));
  }));

// ---- nothing that was done is lost, and nothing else is counted ----

const history = async (page) => {
  await page.getByRole("button", { name: "All classes" }).first().click();
  await page.click(at("to-history"));
  await page.waitForSelector(at("history"));
};

test("what was let go, and what was begun anew, is in the history as far as it was done", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await passTo(page, work[2], 5_000);
    await page.reload();
    await page.waitForSelector(at("left-off"));
    await page.click(at("discard-left"));
    await history(page);
    assert.equal(await page.locator(at("past")).count(), 1);
    // Begun, left, and begun anew in place of going on.
    await page.getByRole("button", { name: "All classes" }).click();
    await start(page, address(PLAN));
    await page.clock.fastForward(work[1].end);
    await page.reload();
    await page.waitForSelector(at("left-off"));
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.clock.runFor(1_000);
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.click(at("to-history"));
    await page.waitForSelector(at("history"));
    assert.equal(await page.locator(at("past")).count(), 2);
  }));

test("a class at a set time that ended while nobody looked is in the history, and time away is not worked", () =>
  visit({}, async (page) => {
    const set = `${address(PLAN)}&at=${new Date(Date.parse("2026-11-25T12:00:00Z")).toISOString()}`;
    await start(page, set);
    await passTo(page, work[1], 5_000);
    await page.reload();
    await page.clock.fastForward(total);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.locator(at("left-off")).count(), 0);
    await history(page);
    assert.equal(await page.locator(at("past")).count(), 1);
  }));

test("time away from a class at a set time is a pause", () =>
  visit({}, async (page) => {
    const set = `${address(PLAN)}&at=2026-11-25T12:00:00Z`;
    await start(page, set);
    await page.clock.runFor(20_000);
    await page.reload();
    await page.clock.fastForward(60_000);
    await page.click(`${at("left-off")} .strong`);
    await page.clock.fastForward(total);
    await page.waitForSelector(at("done"));
    const paused = await page.locator("tr", { hasText: "Paused" }).textContent();
    assert.match(paused, /1:0\d/);
  }));

test("a class that stands can be ended without being unwell", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    await passTo(page, work[0], 5_000);
    await page.click(at("pause"));
    await page.click(at("end-class"));
    await page.clock.runFor(DOUBLE_TAP);
    await page.click(at("end-class"));
    await page.waitForSelector(at("done"));
    await history(page);
    assert.match(await page.textContent(at("past")), /ended early/);
  }));

test("of an exercise of which one side was skipped, right and left are told by themselves", () =>
  visit({}, async (page) => {
    await start(page, address(PLAN));
    // Right of the first lunge, and not its left; neither side of the second.
    const [first, second] = ["right", "left"].map((side) => work.filter((one) => one.side === side));
    await passTo(page, second[0], 0);
    await page.click(at("skip"));
    await page.clock.fastForward(first[1].start - second[0].end);
    await page.click(at("skip"));
    await page.click(at("skip"));
    await page.click(at("skip"));
    await page.clock.fastForward(total);
    await page.waitForSelector(at("done"));
    const { name } = first[0];
    const row = (id) => page.locator(`${at(id)} li`, { hasText: name }).allInnerTexts();
    assert.deepEqual(await row("worked"), [`${name} 1 × right`]);
    assert.deepEqual(await row("skipped"), [`${name} 1 × right, 2 × left`]);
  }));

test("who waited for a set start finds it in the history at that time", () =>
  visit({}, async (page) => {
    await start(page, `${address(PLAN)}&at=2026-11-25T13:10:00Z`);
    await page.clock.fastForward(70 * 60_000 + total);
    await page.waitForSelector(at("done"));
    await history(page);
    const [columns, row] = table(await download(page, "export-csv"));
    assert.equal(row[columns.indexOf("start")], "2026-11-25T13:10:00.000Z");
    const told = await timeOfDay(page, Date.parse("2026-11-25T13:10:00Z"));
    assert.ok((await page.textContent(at("past"))).includes(told));
  }));
