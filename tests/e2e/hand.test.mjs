// What a coach hands out: each form read by a decoder that is not ours (the code itself: tests/exports.rs).
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import ICAL from "ical.js";
import webvtt from "webvtt-parser";
import { at, brief, house, plan, segments } from "./app.mjs";
import { axe } from "./lib.mjs";

const { address, visit } = house();
const PLAN = "harbour-lunch";
const all = segments(PLAN);
const total = all.at(-1).end;
const slug = plan(PLAN).title.toLowerCase().replace(/[^a-z0-9]+/g, "-");

async function open(page) {
  await brief(page, address(PLAN));
  await page.click(at("to-hand-out"));
  await page.waitForSelector(at("hand-out"));
}

async function download(page, id) {
  const coming = page.waitForEvent("download");
  await page.click(at(id));
  const file = await coming;
  return [file.suggestedFilename(), readFileSync(await file.path(), "utf8")];
}

test("the calendar entry is right on both sides of a clock change, and replaces itself", () =>
  visit({ timezoneId: "Europe/Berlin" }, async (page) => {
    await open(page);
    assert.equal(await page.locator(at("save-calendar")).count(), 0, "without a time there is no entry");
    const uids = new Set();
    // Clocks go forward in Berlin on 28 March 2027: 09:00 is 08:00 UTC the day before, 07:00 UTC on the day.
    for (const [local, utc] of [["2027-03-27T09:00", "2027-03-27T08:00:00Z"], ["2027-03-28T09:00", "2027-03-28T07:00:00Z"]]) {
      await page.fill(at("hand-out-at"), local);
      await page.locator(at("hand-out-at")).blur();
      const [name, text] = await download(page, "save-calendar");
      assert.equal(name, `${slug}.ics`);
      // RFC 5545: CRLF, lines of at most 75 octets.
      for (const line of text.split("\r\n")) assert.ok(Buffer.byteLength(line) <= 75 && !/[\r\n]/.test(line), line);
      const event = new ICAL.Event(new ICAL.Component(ICAL.parse(text)).getFirstSubcomponent("vevent"));
      assert.equal(event.startDate.toJSDate().getTime(), Date.parse(utc));
      assert.equal(event.endDate.toJSDate().getTime(), Date.parse(utc) + total);
      assert.equal(event.summary, plan(PLAN).title);
      assert.match(event.description, /#plan=/);
      const kit = plan(PLAN).kit.map((kit) => kit.name ?? kit.id);
      assert.ok(event.description.includes(`\nKit: ${kit.join(", ")}\n`), event.description);
      assert.equal(event.component.getFirstPropertyValue("duration"), null);
      assert.ok(event.component.getFirstPropertyValue("dtstamp"));
      uids.add(event.uid);
      assert.equal((await download(page, "save-calendar"))[1], text);
    }
    assert.equal(uids.size, 2);
  }));

test("captions and chapters are WebVTT with the class's own times", () =>
  visit({}, async (page) => {
    await open(page);
    const read = (text) => {
      const { cues, errors } = new webvtt.WebVTTParser().parse(text, "metadata");
      assert.deepEqual(errors, []);
      return cues.map(({ startTime, endTime, text: words }) => [startTime * 1000, endTime * 1000, words]);
    };
    const captions = read((await download(page, "save-captions"))[1]);
    assert.deepEqual(captions.map(([from, to]) => [Math.round(from), Math.round(to)]), all.map(({ start, end }) => [start, end]));
    for (const [n, { kind, name }] of all.entries()) if (kind === "work") assert.ok(captions[n][2].includes(name));
    const chapters = read((await download(page, "save-chapters"))[1]);
    assert.equal(chapters[0][0], 0);
    assert.equal(Math.round(chapters.at(-1)[1]), total);
    chapters.slice(1).forEach(([from], n) => assert.equal(from, chapters[n][1]));
  }));

test("the table of times is read by Python's csv in strict mode", () =>
  visit({}, async (page) => {
    await open(page);
    const [, text] = await download(page, "save-segments");
    const rows = JSON.parse(execFileSync("python3", ["-c",
      "import csv,io,json,sys; print(json.dumps(list(csv.reader(io.StringIO(sys.stdin.read(), newline=''), strict=True))))",
    ], { input: text, encoding: "utf8" }));
    const [columns, ...table] = rows;
    const cell = (row, name) => row[columns.indexOf(name)];
    assert.deepEqual(table.map((row) => [cell(row, "start_s"), cell(row, "end_s"), cell(row, "kind")]),
      all.map(({ start, end, kind }) => [String(start / 1000), String(end / 1000), kind]));
  }));

test("the plan file is the plan, and the code is there", () =>
  visit({}, async (page) => {
    await open(page);
    const [name, text] = await download(page, "save-plan");
    assert.equal(name, `${slug}.rungbook.json`);
    assert.equal(JSON.parse(text).title, plan(PLAN).title);
    assert.equal(await page.locator(`${at("code")} path`).count(), 1);
    assert.deepEqual(await axe(page), []);
  }));

test("a class is looked over: nothing in the demo, and each finding with its reason and source", () =>
  visit({}, async (page) => {
    await open(page);
    assert.equal(await page.locator(at("no-findings")).count(), 1);
    assert.match(await page.textContent(at("shape")), /Work by pattern: .*squat \d+:\d\d/);
    const file = { ...plan(PLAN), slot: all.at(-1).end / 1_000 - 300 };
    await page.getByRole("button", { name: "Back to the class" }).click();
    await page.getByRole("button", { name: "All classes" }).click();
    await page.setInputFiles(at("file-field"), { name: "x.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(file)) });
    await page.waitForSelector(at("brief"));
    await page.click(at("to-hand-out"));
    assert.match(await page.textContent(at("finding")), /Class: The class is 5 min longer than its slot.*common practice/);
    assert.deepEqual(await axe(page), []);
  }));

for (const format of ["A4", "Letter"]) {
  test(`the run sheet of the class is one page of ${format}`, () =>
    visit({}, async (page) => {
      await open(page);
      const pdf = await page.pdf({ format, preferCSSPageSize: false });
      const pages = pdf.toString("latin1").match(/\/Type\s*\/Page\b/g) ?? [];
      assert.equal(pages.length, 1);
      assert.equal(await page.locator(`${at("run-sheet")} tr.work`).count(), all.filter(({ kind }) => kind === "work").length);
    }));
}

test("what the sheet tells by pattern is drawn: paper leaves backgrounds out", () =>
  visit({}, async (page) => {
    await open(page);
    await page.emulateMedia({ media: "print" });
    const { backgrounds, swatches } = await page.evaluate(() => {
      const sheet = document.querySelector("[data-testid=run-sheet]");
      const styles = [...sheet.querySelectorAll("*")].map((one) => getComputedStyle(one));
      return {
        backgrounds: styles.filter((style) => style.backgroundImage !== "none").length,
        swatches: [...sheet.querySelectorAll(".key path")].map((path) => [getComputedStyle(path).fill, path.getBoundingClientRect().width > 10]),
      };
    });
    assert.equal(backgrounds, 0);
    assert.equal(swatches.length, 5);
    assert.equal(new Set(swatches.map(([fill]) => fill)).size, 5, "each in a pattern of its own");
    assert.ok(swatches.every(([fill, wide]) => fill !== "none" && wide));
  }));

test("the start that is handed out stands in the address, and stays when the page is loaded again", () =>
  visit({ timezoneId: "Europe/Berlin" }, async (page) => {
    await brief(page, address(PLAN));
    await page.click(at("to-hand-out"));
    await page.fill(at("hand-out-at"), "2026-11-27T18:30");
    await page.locator(at("hand-out-at")).blur();
    assert.match(page.url(), /&at=2026-11-27T17:30:00(.000)?Z$/);
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.match(await page.innerText(at("set-time")), /Starts Fri/);
    await page.click(at("to-hand-out"));
    assert.equal(await page.inputValue(at("hand-out-at")), "2026-11-27T18:30");
    await page.fill(at("hand-out-at"), "");
    await page.locator(at("hand-out-at")).blur();
    assert.match(page.url(), /#plan=[^&]*$/);
  }));
