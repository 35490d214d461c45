// The coach's desk: a class is written from nothing, fitted, handed out, and followed by somebody else.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { at, house, read } from "./app.mjs";
import { axe } from "./lib.mjs";

const app = house();
const { visit } = app;
const REFERENCE = fileURLToPath(new URL("../plans/reference.py", import.meta.url));

/** Opens the desk. */
async function desk(page) {
  await page.goto(app.url);
  await page.click(at("to-desk"));
  await page.waitForSelector(at("desk"));
}

/** Opens the editor on a new class. */
async function fresh(page) {
  await desk(page);
  await page.click(at("new-class"));
  await page.waitForSelector(at("write"));
}

/** Takes a text as the class. */
async function type(page, text) {
  await page.click(at("face-text"));
  await page.fill(at("plain-text"), text);
  assert.equal(await page.locator(at("text-problem")).count(), 0, await page.locator(at("text-problem")).allTextContents());
}

/** Takes a text as the class, and opens one of its blocks in the form. */
async function byForm(page, text, block) {
  await fresh(page);
  await type(page, text);
  await page.click(at("face-form"));
  if (block !== undefined) await page.click(at(`block-${block}`));
}

const text = (page, id) => page.locator(at(id)).first().innerText();
const against = (page) => text(page, "against-slot");

async function saved(page, id) {
  const coming = page.waitForEvent("download");
  await page.click(at(id));
  return readFileSync(await (await coming).path(), "utf8");
}

/** The segments of a plan file, by the reference that knows none of our code. */
function reference(file) {
  const dir = mkdtempSync(join(tmpdir(), "rungbook-"));
  try {
    writeFileSync(join(dir, "plan.json"), file);
    const rows = execFileSync("python3", [REFERENCE, join(dir, "plan.json")], { encoding: "utf8" }).trim().split("\n");
    const names = new Map(JSON.parse(file).moves.map((move) => [move.id, move.name]));
    return rows.map((row) => {
      const [, kind, start, end, , , , , , move, side] = row.split("\t");
      return { kind, start: Number(start), end: Number(end), name: names.get(move) ?? "", side };
    });
  } finally {
    rmSync(dir, { recursive: true });
  }
}

/** The class of the README, as it is chosen; "Fit to the slot" does the rest. */
const TWENTY = [
  ["warm-up", ["march", "half-squat", "hip-hinge", "step-back-and-reach", "overhead-reach"]],
  ["ladder", ["goblet-squat", "back-lunge", "romanian-deadlift"]],
  ["rounds", ["push-up", "one-arm-row"]],
  ["cool-down", ["standing-hip-flexor-stretch", "standing-hamstring-stretch", "shoulder-stretch"]],
];

test("who never wrote one writes a 20-minute class, fits it and hands it out, and somebody else follows it", async () => {
  let link, file;
  let touches = 0;
  await visit({}, async (page) => {
    const touch = async (id) => {
      touches += 1;
      await page.locator(at(id)).first().click();
    };
    await page.goto(app.url);
    await touch("to-desk");
    await touch("new-class");
    await touch("title");
    await page.fill(at("title"), "Quay twenty");
    await touch("slot-20");
    for (const [start, moves] of TWENTY) {
      await touch(`add-${start}`);
      for (const move of moves) await touch(`pick-${move}`);
      await touch("add-chosen");
    }
    await touch("add-water");
    assert.match(await against(page), /^\d+:\d\d of 20:00/);
    await touch("fit");
    await touch("take-fit");
    assert.equal(await against(page), "20:00: exactly the slot");
    assert.match(await text(page, "look-over"), /Nothing stands out/);
    // It is the README's class, line by line; what names moves of the library is left out there.
    await page.click(at("face-text"));
    const lines = (text) => text.split("\n").map((line) => line.trim()).filter((line) => line && !/^(kit|move|id) /.test(line));
    const readme = readFileSync(new URL("../../README.md", import.meta.url), "utf8").split("```text\n")[1].split("```")[0];
    const whole = readme.replace(/- (.*)/g, (_, moves) => moves.split(", ").map((move) => `- ${move}`).join("\n"));
    assert.deepEqual(lines(await page.inputValue(at("plain-text"))), lines(whole));
    await touch("to-hand-out");
    await page.waitForSelector(at("hand-out"));
    link = page.url();
    file = await saved(page, "save-plan");
  });
  console.log(`a 20-minute class is written, fitted and handed out with ${touches} touches`);
  assert.ok(touches <= 60, `${touches} touches`);
  assert.ok(link.split("#")[1].length < 500, "library moves make a short link");

  const segments = reference(file);
  assert.equal(segments.at(-1).end, 1_200_000);
  await visit({}, async (page) => {
    await page.goto(link);
    await page.waitForSelector(at("brief"));
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    let now = 0;
    for (const segment of segments) {
      await page.clock.fastForward(segment.start + 500 - now);
      now = segment.start + 500;
      const shown = await read(page);
      assert.equal(shown.phase, segment.kind, `at ${now}`);
      assert.equal(Number(shown.seconds), Math.ceil((segment.end - now) / 1000), `at ${now}`);
      if (segment.kind === "work") assert.equal(shown.move, segment.name, `at ${now}`);
    }
    await page.clock.fastForward(1_200_100 - now);
    await page.waitForSelector(at("done"));
  });
});

const SMALL = `class Harbour test
slot 10:00

flow Warm-up
  part warm-up
  work 30
  rest 10
  after 20
  - march, half-squat

rounds Main
  times 3
  work 40
  rest 20
  break 30
  - squat
  - push-up
`;

test("the class as text is the class as form, and a wrong line is pointed at", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    assert.match(await against(page), /^\d+:\d\d of 10:00/);
    await page.click(at("face-form"));
    assert.deepEqual(await page.locator(at("write-block")).count(), 2);
    assert.equal(await page.inputValue(at("title")), "Harbour test");
    await page.click(at("block-1"));
    await page.click(at("times-1-more"));
    assert.equal(await page.inputValue(at("times-1")), "4");
    await page.click(at("face-text"));
    const after = await page.inputValue(at("plain-text"));
    assert.match(after, /\n {2}times 4\n/);
    // Each line is as it was typed, but for the moves that were taken along.
    for (const line of SMALL.split("\n").filter((line) => line.trim() && !/times|- /.test(line))) {
      assert.ok(after.includes(line.trim()), line);
    }
    await page.fill(at("plain-text"), after.replace("- push-up", "- push-upp"));
    assert.match(await text(page, "text-problem"), /Line \d+: there is no move “push-upp”/);
    // In reach of the thumb too, and what is shown is told to be of before.
    assert.match(await text(page, "told"), /Line \d+: there is no move “push-upp”/);
    assert.match(await against(page), /^As last read: \d/);
    assert.match(await text(page, "look-over"), /as the text could last be read/);
    await page.click(at("go-to-line"));
    const picked = await page.evaluate(() => {
      const field = document.activeElement;
      return field.value.slice(field.selectionStart, field.selectionEnd);
    });
    assert.equal(picked.trim(), "- push-upp");
    // What can't be read changes nothing, is kept as it was typed, and stands in the way of what would lose it.
    for (const id of ["face-form", "to-hand-out", "undo"]) {
      await page.click(at(id));
      assert.match(await text(page, "told"), /can't be read yet/, id);
    }
    await page.reload();
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.locator(`${at("draft")} button`).first().click();
    assert.match(await page.inputValue(at("plain-text")), /- push-upp/);
    assert.match(await text(page, "text-problem"), /no move “push-upp”/);
    await page.fill(at("plain-text"), after);
    // What changes the class from elsewhere changes the text.
    await page.click(at("fit"));
    await page.click(at("take-fit"));
    assert.equal(await against(page), "10:00: exactly the slot");
    const fitted = await page.inputValue(at("plain-text"));
    assert.notEqual(fitted, after);
    await page.locator(at("plain-text")).press("End");
    await page.locator(at("plain-text")).pressSequentially(" ");
    assert.equal(await against(page), "10:00: exactly the slot");
    await page.click(at("undo"));
    assert.equal(await page.inputValue(at("plain-text")), after);
    await page.click(at("face-form"));
    await page.click(at("block-1"));
    assert.equal(await page.locator(at("entry")).count(), 2);
    assert.deepEqual(await axe(page), []);
  }));

test("going back from a text that can't be read can be taken back too", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    const typed = `${SMALL.replace("times 3", "tims 3")}\nflow More\n  work 20\n  - march\n`;
    await page.fill(at("plain-text"), typed);
    await page.click(at("drop-text"));
    assert.doesNotMatch(await page.inputValue(at("plain-text")), /flow More/);
    await page.click(at("bring-back"));
    assert.equal(await page.inputValue(at("plain-text")), typed);
    assert.match(await text(page, "text-problem"), /tims/);
    await page.fill(at("plain-text"), typed.replace("tims", "times"));
    assert.match(await page.inputValue(at("plain-text")), /flow More/);
    assert.equal(await page.locator(at("text-problem")).count(), 0);
  }));

test("a slot is one time, and a correction keeps the start that was handed out", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL);
    for (const wrong of ["12,5", "20 30"]) {
      await page.fill(at("slot"), wrong);
      await page.locator(at("slot")).press("Tab");
      assert.match(await text(page, "told"), /is no time. Write minutes/);
      assert.equal(await page.inputValue(at("slot")), "10:00");
    }
    await page.click(at("to-hand-out"));
    await page.fill(at("hand-out-at"), "2026-11-26T18:30");
    await page.locator(at("hand-out-at")).blur();
    await page.click(at("to-write"));
    await page.fill(at("title"), "Harbour test, corrected");
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("hand-out"));
    assert.equal(await page.inputValue(at("hand-out-at")), "2026-11-26T18:30");
  }));

test("every step is taken back and done again, and what is typed is kept", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    const lengths = [await against(page)];
    for (const id of ["work-1-more", "rest-1-less", "break-1-more", "block-copy", "block-split"]) {
      await page.click(at(id));
      // The same number again joins the step before.
      lengths.push(await against(page));
    }
    assert.equal(new Set(lengths.slice(0, 5)).size, 5, lengths.join("; "));
    for (const before of lengths.slice(0, -1).reverse()) {
      await page.click(at("undo"));
      assert.equal(await against(page), before);
    }
    for (const again of lengths.slice(1)) {
      await page.click(at("redo"));
      assert.equal(await against(page), again);
    }
    await page.fill(at("title"), "Kept as it is typed");
    await page.reload();
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.locator(at("draft")).getByText("Kept as it is typed").click();
    assert.equal(await against(page), lengths.at(-1));
  }));

test("findings are put right at one touch, and a class that is not finished says why", () =>
  visit({}, async (page) => {
    await fresh(page);
    await page.click(at("add-rounds"));
    await page.click(at("leave-pick"));
    assert.match(await text(page, "unfinished"), /no blocks|no moves/);
    await page.click(at("to-hand-out"));
    assert.match(await text(page, "told"), /Not yet: .*no moves/);
    await type(page, `class Hard\nslot 8:00\nrounds\ntimes 5\nwork 60\nbreak 20\n- jump-squat\n`);
    await page.click(at("face-form"));
    const findings = async () => (await page.locator(at("finding")).allInnerTexts()).map((text) => text.split("\n")[0]);
    const before = await findings();
    assert.ok(before.some((one) => /^Safety: There is no warm-up/.test(one)), before.join("; "));
    assert.ok(before.some((one) => /no cool-down/.test(one)), before.join("; "));
    for (let n = 0; n < 8; n += 1) {
      const remedies = page.locator(at("remedy")).filter({ hasNotText: "Fit it" });
      if ((await remedies.count()) === 0) break;
      await remedies.first().click();
      // Who works by keyboard goes on with what is left.
      if ((await page.locator(at("remedy")).count()) > 0) {
        await page.locator(`${at("remedy")}:focus`).waitFor();
      }
    }
    const after = await findings();
    assert.ok(after.every((one) => /slot/.test(one)), after.join("; "));
    assert.deepEqual(await axe(page), []);
  }));

test("a class that can't be fitted says by how much, and what would have to give", () =>
  visit({}, async (page) => {
    await byForm(page, `class Tight\nslot 5:00\nrounds\ntimes 3\nwork 60\nbreak 10\n- march\n`);
    await page.click(at("fit"));
    // 10 + 3 x 60 + 2 x 10 = 210 s; a break moves by 30 s: 270 s at most.
    assert.match(await text(page, "misses"), /nearest below is 0:30 short/);
    assert.match(await text(page, "misses"), /may move too: work/);
    // What does not do it says that it does not.
    assert.match(await text(page, "proposal"), /3:30 becomes 4:30: the nearest that can be reached, not the slot\. 1 value changes\./);
    assert.doesNotMatch(await text(page, "fit-panel"), /do it/);
    await page.click(at("allow-would"));
    assert.match(await text(page, "proposal"), /3:30 becomes 5:00: 1 value changes, the fewest that do it/);
    // The class before and after on one scale: before it ends at 210 of 300 s, which is 700 thousandths.
    assert.match(await text(page, "before-after"), /Before, 3:30\s+After, 5:00/);
    const drawn = await page.locator(`${at("before-after")} svg`).evaluateAll((all) => all.map((svg) => {
      const boxes = [...svg.querySelectorAll("path")].filter((path) => path.getAttribute("d")).map((path) => path.getBBox());
      return Math.round(Math.max(...boxes.map(({ x, width }) => x + width)) / 10);
    }));
    assert.deepEqual(drawn, [70, 100]);
    await page.click(at("take-fit"));
    assert.equal(await against(page), "5:00: exactly the slot");
    await page.click(at("undo"));
    assert.match(await against(page), /^3:30 of 5:00/);
    // A locked block stays.
    await page.click(at("fit"));
    await page.locator(`${at("fit-panel")} summary`).click();
    await page.check(at("lock-0"));
    assert.match(await text(page, "misses"), /1:30 short/);
    assert.deepEqual(await axe(page), []);
  }));

test("a block is tried at once, and is not put to what was done", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    await page.click(at("try-block"));
    await page.waitForSelector(at("class"));
    await page.clock.fastForward(5_500);
    const shown = await read(page);
    assert.equal(shown.phase, "work");
    await page.clock.fastForward(600_000);
    await page.waitForSelector(at("done"));
    await page.click(at("to-write"));
    await page.waitForSelector(at("write"));
    assert.match(await against(page), /of 10:00/);
    assert.deepEqual(
      await page.evaluate(() => Object.keys(localStorage).filter((key) => /\/(done|run)/.test(key))),
      [],
    );
    // Undo goes on from where it was, and so does the block.
    assert.equal(await page.locator(at("entry")).count(), 2);
    await page.click(at("undo"));
    assert.doesNotMatch(await against(page), /of 10:00/);
  }));

test("a class gets another title in the list, and undo in the editor takes it back", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.click(at("to-desk"));
    await page.click(at("rename-draft"));
    await page.clock.runFor(10);
    assert.equal(await page.evaluate(() => document.activeElement.dataset.testid), "new-title");
    await page.fill(at("new-title"), "Evening quay");
    await page.click(at("renamed"));
    assert.equal(await page.locator(at("new-title")).count(), 0);
    assert.deepEqual(await page.locator(`${at("draft")} strong`).allInnerTexts(), ["Evening quay"]);
    await page.locator(`${at("draft")} .card`).click();
    assert.equal(await page.inputValue(at("title")), "Evening quay");
    await page.click(at("undo"));
    assert.equal(await page.inputValue(at("title")), "Harbour test");
  }));

test("the focus goes with a move that changes its place", () =>
  visit({}, async (page) => {
    await byForm(page, "class Steps\nladder\nwork 20\n- march, half-squat\n- hip-hinge\n- overhead-reach\n", 0);
    const focused = async () => {
      await page.clock.runFor(10);
      return page.evaluate(() => [document.activeElement.dataset.testid, document.activeElement.getAttribute("aria-label")]);
    };
    // A rung of two goes by one of one.
    await page.click(at("entry-down-0-1"));
    assert.deepEqual(await focused(), ["entry-down-0-2", "Down: Half squat"]);
    await page.keyboard.press("Enter");
    assert.deepEqual(await focused(), ["entry-down-0-3", "Down: Half squat"]);
    await page.click(at("entry-remove-0-3"));
    assert.deepEqual(await focused(), ["entry-remove-0-2", "Remove: March"]);
  }));

test("a number that can't be is told, and nothing is made of it", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    for (const [id, typed, kept] of [["times-1", "0", "3"], ["times-1", "500", "3"], ["times-1", "many", "3"], ["work-1", "1:75", "40"], ["work-1", "-5", "40"]]) {
      await page.fill(at(id), typed);
      await page.locator(at(id)).blur();
      assert.match(await text(page, "told"), new RegExp(`“${typed}” is no (number|time)`), typed);
      assert.equal(await page.inputValue(at(id)), kept, typed);
    }
  }));

test("a block that becomes an interlude says that its moves are gone, and undo brings them back", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    await page.locator("summary", { hasText: "More about this block" }).click();
    await page.selectOption(at("kind-1"), "interlude");
    await page.locator(at("told"), { hasText: "An interlude has no moves" }).waitFor();
    await page.click(at("undo"));
    await page.click(at("face-text"));
    assert.match(await page.inputValue(at("plain-text")), /- squat\s+- push-up/);
  }));

test("moves are found by one of several words, names first, and first of all what suits the part", () =>
  visit({}, async (page) => {
    await fresh(page);
    const names = async (count) => (await page.locator(`${at("picks")} strong`).allInnerTexts()).slice(0, count);
    const facts = async (count) => (await page.locator(`${at("picks")} .small:nth-child(2)`).allInnerTexts()).slice(0, count);
    await page.click(at("add-cool-down"));
    for (const fact of await facts(5)) assert.match(fact, /stretch|mobility/);
    await page.click(at("leave-pick"));
    await page.click(at("add-warm-up"));
    for (const fact of await facts(5)) assert.match(fact, /light/);
    await page.fill(at("find"), "squats");
    for (const name of await names(4)) assert.match(name, /squat/i);
    await page.fill(at("find"), "push up");
    assert.match((await names(1))[0], /^Push-up/);
  }));

test("an extra call that can't be read yet stays as it was typed, and changes nothing", () =>
  visit({}, async (page) => {
    await byForm(page, "class Calls\nflow\nwork 40\n- march\n", 0);
    await page.locator(`${at("entry")} summary`).click();
    const calls = page.locator(at("entry-marks-0-0"));
    await calls.fill("20 Halfway\nthirty Arms up");
    await page.locator(at("name-0")).focus();
    assert.equal(await calls.inputValue(), "20 Halfway\nthirty Arms up");
    assert.equal(await calls.getAttribute("aria-invalid"), "true");
    assert.match(await text(page, "told"), /Not kept yet/);
    await calls.fill("20 Halfway\n30 Arms up");
    assert.equal(await calls.getAttribute("aria-invalid"), "false");
    await page.click(at("face-text"));
    assert.match(await page.inputValue(at("plain-text")), /20 Halfway[^]*30 Arms up/);
  }));

test("classes are copied, removed and brought back, saved all together and brought to another phone", async () => {
  let file;
  await visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.click(at("copy-draft"));
    await page.waitForSelector(at("write"));
    await page.fill(at("title"), "Second one");
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    assert.equal(await page.locator(at("draft")).count(), 2);
    await page.locator(at("remove-draft")).first().click();
    assert.equal(await page.locator(at("draft")).count(), 1);
    await page.click(at("undo-remove-draft"));
    assert.equal(await page.locator(at("draft")).count(), 2);
    file = await saved(page, "export-drafts");
    assert.deepEqual(await axe(page), []);
  });
  await visit({}, async (page) => {
    await desk(page);
    await page.setInputFiles(at("import-drafts"), { name: "all.txt", mimeType: "text/plain", buffer: Buffer.from(file) });
    await page.waitForSelector(at("draft"));
    assert.deepEqual((await page.locator(`${at("draft")} strong`).allInnerTexts()).sort(), ["Harbour test", "Second one"]);
    assert.equal(await text(page, "brought-in"), "Brought in: 2.");
    // What is there already, just as it is, does not come twice.
    await page.setInputFiles(at("import-drafts"), { name: "all.txt", mimeType: "text/plain", buffer: Buffer.from(file) });
    await page.getByText("Here already, just as in the file: 2.").waitFor();
    assert.equal(await page.locator(at("draft")).count(), 2);
    await page.setInputFiles(at("import-drafts"), { name: "bad.txt", mimeType: "text/plain", buffer: Buffer.from("nonsense") });
    await page.locator(at("fault"), { hasText: "could not" }).waitFor();
    assert.match(await text(page, "fault"), /^This file could not be read as a class\. Line 1/);
    assert.equal(await text(page, "brought-in"), "");
    assert.equal(await page.locator(at("draft")).count(), 2);
    // A file that goes well takes the words about the one before with it.
    await page.setInputFiles(at("import-drafts"), { name: "all.txt", mimeType: "text/plain", buffer: Buffer.from(file) });
    await page.getByText("Here already, just as in the file: 2.").waitFor();
    assert.equal(await page.locator(at("fault")).count(), 0);
  });
});

test("a move is replaced everywhere, and one's own moves are there in the next class", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL);
    await page.locator(at("write-move")).filter({ hasText: "Push-up" }).locator("button").first().click();
    await page.click(at("replace-move"));
    await page.fill(at("find"), "one-arm row");
    await page.click(at("pick-one-arm-row"));
    await page.click(at("block-1"));
    assert.match((await page.locator(at("entry")).allInnerTexts()).join(" "), /One-arm row/);
    assert.equal(await page.locator(at("write-move")).filter({ hasText: "Push-up" }).count(), 0);
    await page.click(at("new-move-here"));
    const own = page.locator(at("write-move")).last();
    await own.getByLabel("Name", { exact: true }).fill("Quay crawl");
    await own.getByLabel("Cues, one on each line").fill("Slow hands\n\nQuiet feet");
    await own.locator(at("add-easier")).click();
    await own.getByLabel("Name of the way").fill("Knees down");
    await own.locator(at("keep-own")).click();
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.click(at("new-class"));
    await page.click(at("add-rounds"));
    await page.fill(at("find"), "quay");
    assert.match(await text(page, "picks"), /Quay crawl[^]*your own/);
    assert.deepEqual(await axe(page), []);
    await page.locator(`${at("picks")} button`).first().click();
    await page.click(at("add-chosen"));
    await page.click(at("face-text"));
    const written = await page.inputValue(at("plain-text"));
    assert.match(written, /= Quay crawl\n/);
    assert.match(written, /note Slow hands\n {2}note Quiet feet\n/);
    assert.match(written, /easier .* = Knees down\n/);
    // Removed from one's own moves, it stays in the classes.
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.locator(at("own-move")).getByRole("button").click();
    assert.equal(await page.locator(at("own-move")).count(), 0);
    await page.click(at("undo-own"));
    assert.equal(await page.locator(at("own-move")).count(), 1);
  }));

test("two windows that write on one class both keep what they wrote", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL);
    const other = await page.context().newPage();
    await desk(other);
    await other.locator(`${at("draft")} button`).first().click();
    await other.fill(at("title"), "From the other window");
    await page.click(at("add-water"));
    assert.match(await text(page, "told"), /another window/);
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    assert.deepEqual((await page.locator(`${at("draft")} strong`).allInnerTexts()).sort(), ["From the other window", "Harbour test"]);
    await other.close();
  }));

test("what is stored and can't be read is left as it is until it is mended", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.evaluate(() => {
      const key = Object.keys(localStorage).find((key) => key.includes("/draft/"));
      localStorage.setItem(key, localStorage.getItem(key).replace("- squat", "- of-a-newer-library"));
    });
    await page.reload();
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    assert.match(await text(page, "draft"), /Harbour test[^]*can't be read/);
    await page.locator(`${at("draft")} button`).first().click();
    assert.match(await text(page, "text-problem"), /of-a-newer-library/);
    const kept = await page.inputValue(at("plain-text"));
    await page.fill(at("plain-text"), kept.replace("- of-a-newer-library", "- squat"));
    assert.match(await against(page), /of 10:00/);
  }));

test("a later revision from another phone leaves a text here that can't be read yet beside it", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.click(at("to-hand-out"));
    await page.waitForSelector(at("hand-out"));
    const file = JSON.parse(await saved(page, "save-plan"));
    await desk(page);
    await page.locator(`${at("draft")} .card`).click();
    await page.click(at("face-text"));
    const broken = (await page.inputValue(at("plain-text"))).replace("- push-up", "- push-up, and then");
    await page.fill(at("plain-text"), broken);
    await page.waitForSelector(at("text-problem"));
    await page.goto(app.url);
    const later = { ...file, title: "Harbour test, mended", revision: (file.revision ?? 0) + 1 };
    await page.setInputFiles(at("file-field"), { name: "later.json", mimeType: "application/json", buffer: Buffer.from(JSON.stringify(later)) });
    await page.waitForSelector(at("brief"));
    await page.click(at("to-hand-out"));
    await page.click(at("write-on"));
    assert.equal(await page.inputValue(at("title")), "Harbour test, mended");
    await page.click(at("to-desk"));
    const titles = (await page.locator(at("draft")).allInnerTexts()).join("\n");
    assert.match(titles, /Harbour test, mended/);
    assert.match(titles, /Harbour test\n[^]*can't be read/);
    // As it was typed.
    await page.locator(at("draft")).filter({ hasText: "can't be read" }).locator(".card").click();
    assert.equal(await page.inputValue(at("plain-text")), broken);
  }));

test("a full storage loses nothing, and says what to do", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.click(at("to-desk"));
    await page.waitForSelector(at("desk"));
    await page.locator(at("remove-draft")).first().click();
    await page.evaluate(() => {
      Storage.prototype.setItem = () => { throw new DOMException("full", "QuotaExceededError"); };
    });
    await page.click(at("undo-remove-draft"));
    assert.match(await text(page, "fault"), /no room left/);
    assert.equal(await page.locator(at("undo-remove-draft")).count(), 1, "it can be tried again");
  }));

test("a correction that is handed out is a revision of the same class", async () => {
  const plans = [];
  await visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    for (const title of ["Harbour test", "Harbour test", "Harbour test, corrected"]) {
      await page.click(at("face-form"));
      await page.fill(at("title"), title);
      await page.click(at("to-hand-out"));
      plans.push(JSON.parse(await saved(page, "save-plan")));
      await page.click(at("to-write"));
      await page.waitForSelector(at("write"));
    }
  });
  assert.deepEqual(plans.map((plan) => plan.revision ?? 0), [0, 0, 1]);
  assert.equal(new Set(plans.map((plan) => plan.id)).size, 1);
});

/** Which handle has the focus. */
const focused = (page) => page.evaluate(() => document.activeElement.dataset.testid);
const has = (page, id) => page.waitForFunction((id) => document.activeElement.dataset.testid === id, id);

test("a block that is added comes into view with the focus in it, and Ctrl+Z takes it back", () =>
  visit({}, async (page) => {
    await byForm(page, `${SMALL}\nflow\npart cool-down\nwork 30\n- march\n`, 1);
    const blocks = () => page.locator(at("write-block")).count();
    const before = await blocks();
    await page.locator(at("add-water")).scrollIntoViewIfNeeded();
    await page.click(at("add-water"));
    await page.clock.runFor(50);
    const [added, open] = [await blocks(), page.locator(`${at("write-block")}:has(${at("inside")})`)];
    assert.equal(added, before + 1);
    assert.equal(await open.locator(":focus").count(), 1, await focused(page));
    const { y } = await open.boundingBox();
    assert.ok(y >= 0 && y < 200, `the block begins at ${y} of 844`);
    // Nothing was typed: it is the step that is taken back.
    await page.keyboard.press("Control+z");
    assert.equal(await blocks(), before);
    await page.keyboard.press("Control+Shift+z");
    assert.equal(await blocks(), before + 1);
    await page.keyboard.press("Control+z");
    // While a text is typed the browser takes back what was typed, and no block.
    await page.click(at("add-water"));
    await page.focus(at("title"));
    await page.keyboard.type("x");
    await page.keyboard.press("Control+z");
    assert.equal(await blocks(), before + 1);
    assert.equal(await page.inputValue(at("title")), "Harbour test");
  }));

test("the list of moves opens with the focus in Find, and Enter adds the first that is found", () =>
  visit({}, async (page) => {
    await fresh(page);
    await page.click(at("add-rounds"));
    await page.clock.runFor(50);
    await has(page, "find");
    assert.equal(await page.evaluate(() => scrollY), 0);
    await page.keyboard.press("Enter");
    assert.equal(await page.locator(at("picks")).count(), 1, "without a word it adds nothing");
    await page.keyboard.type("push up");
    const first = (await page.locator(`${at("picks")} strong`).first().innerText()).trim();
    await page.keyboard.press("Enter");
    await page.waitForSelector(at("entry"));
    assert.deepEqual(await page.locator(`${at("entry")} strong`).allInnerTexts(), [first]);
    await page.clock.runFor(50);
    await has(page, "add-moves");
    await page.keyboard.press("Control+z");
    assert.equal(await page.locator(at("entry")).count(), 0);
    // What was chosen by touch comes along, in its order.
    await page.click(at("add-moves"));
    await page.click(at("pick-glute-bridge"));
    await page.fill(at("find"), "no such move");
    await page.keyboard.press("Enter");
    assert.equal(await page.locator(at("entry")).count(), 1);
  }));

test("the desk is by keyboard too", () =>
  visit({ width: 1280, height: 800 }, async (page) => {
    await fresh(page);
    await page.focus(at("title"));
    await page.keyboard.press("ControlOrMeta+a");
    await page.keyboard.type("By keyboard");
    await page.keyboard.press("Tab");
    assert.equal(await page.evaluate(() => document.activeElement.dataset.testid), "slot");
    await page.keyboard.press("ControlOrMeta+a");
    await page.keyboard.type("12:30");
    await page.keyboard.press("Tab");
    assert.equal(await page.evaluate(() => document.activeElement.dataset.testid), "slot-less");
    assert.match(await against(page), /of 12:30/);
    await page.focus(at("add-flow"));
    await page.keyboard.press("Enter");
    await page.focus(at("find"));
    await page.keyboard.type("glute");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Tab");
    await page.keyboard.press("Space");
    await page.focus(at("add-chosen"));
    await page.keyboard.press("Enter");
    assert.equal(await page.locator(at("entry")).count(), 1);
  }));

for (const [width, height] of [[320, 568], [390, 844], [844, 390]]) {
  test(`${width} x ${height}: nothing of the desk leaves the window, at 200 % text too`, () =>
    visit({ width, height }, async (page) => {
      await fresh(page);
      await type(page, SMALL);
      const wide = async (what) => {
        const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.ok(over <= 0, `${what} is ${over} px too wide`);
      };
      for (const size of ["100%", "200%"]) {
        await page.evaluate((size) => { document.documentElement.style.fontSize = size; }, size);
        await wide(`text ${size}`);
        await page.click(at("face-form"));
        await page.click(at("block-1"));
        await page.evaluate(() => document.querySelectorAll("details").forEach((details) => { details.open = true; }));
        await page.click(at("fit"));
        await wide(`form ${size}`);
        assert.deepEqual(await axe(page), [], `form ${size}`);
        await page.click(at("fit"));
        await page.click(at("add-moves"));
        await wide(`choosing ${size}`);
        await page.click(at("leave-pick"));
        await page.click(at("block-1"));
        await page.click(at("face-text"));
      }
    }));
}

test("how hard a class is, by talk, beats and energy, each with its source", () =>
  visit({}, async (page) => {
    await page.goto(app.address("harbour-lunch"));
    await page.click(at("how-hard"));
    await page.waitForSelector(at("effort"));
    assert.match((await page.locator(at("effort-row")).allInnerTexts()).join("\n"), /moderate: you can talk, and not sing/);
    await page.fill(at("age"), "30");
    await page.fill(at("resting"), "70");
    await page.selectOption(at("formula"), { label: await page.locator(`${at("formula")} option`).first().innerText() });
    await page.fill(at("mass"), "68");
    await page.locator(at("mass")).blur();
    // Karvonen's worked example: 190 at most, 70 at rest: 40 % is 118; moderate ends below 60 %, 142.
    assert.match(await page.locator(at("effort-row")).filter({ hasText: "moderate" }).innerText(), /118 to 141 beats/);
    const [low, high] = (await text(page, "kcal")).match(/\d+/g).map(Number);
    assert.ok(low > 60 && low < high && high < 357, `${low} to ${high} kcal`);
    assert.match(await text(page, "rate-source"), /estimate/i);
    assert.deepEqual(await axe(page), []);
    await page.reload();
    await page.click(at("how-hard"));
    assert.equal(await page.inputValue(at("age")), "30");
  }));

test("a title that is taken away in the list leaves one to touch, and undo brings it back", () =>
  visit({}, async (page) => {
    await fresh(page);
    await type(page, SMALL);
    await page.click(at("to-desk"));
    await page.click(at("rename-draft"));
    await page.fill(at("new-title"), "   ");
    await page.click(at("renamed"));
    assert.deepEqual(await page.locator(`${at("draft")} strong`).allInnerTexts(), ["Untitled class"]);
    await page.locator(`${at("draft")} .card`).click();
    await page.click(at("undo"));
    assert.equal(await page.inputValue(at("title")), "Harbour test");
  }));

test("the notation stands on one page, in plain words, and its class is one", () =>
  visit({}, async (page) => {
    await fresh(page);
    await page.click(at("face-text"));
    await page.locator("summary", { hasText: "The notation on one page" }).click();
    const told = await page.innerText(".notation");
    assert.doesNotMatch(told, /`|\*\*|^#/m);
    for (const word of ["ladder", "sides", "lasts", "From the library"]) assert.ok(told.includes(word), word);
    const lines = told.split("\n");
    const first = lines.findIndex((line) => /^class /.test(line));
    const last = lines.findIndex((line, at) => at > first && /^- /.test(line));
    await page.fill(at("plain-text"), lines.slice(first, last).join("\n"));
    assert.equal(await page.locator(at("text-problem")).count(), 0, await page.locator(at("text-problem")).allTextContents());
  }));

test("a slot in bare minutes is asked about, and no class of twenty seconds", () =>
  visit({}, async (page) => {
    await fresh(page);
    await page.click(at("face-text"));
    await page.fill(at("plain-text"), "class Quick\nslot 20\nflow\nwork 30\n- march");
    assert.match(await text(page, "text-problem"), /line 2: “slot 20” would be 20 seconds\. Write minutes as 20:00, seconds as 0:20\./i);
  }));

test("what a fit would bring that stands out is told before it is taken", () =>
  visit({}, async (page) => {
    // 10 + 30 + 30 + 30 = 100 s of 120, and nothing but work may give: 40 s of all-out work, where
    // published intervals are 30 s at most.
    await byForm(page, "class Long\nslot 2:00\nrounds Hard\ntimes 2\nwork 30\nbreak 30\n- jump-squat effort all-out");
    const before = await page.locator(`${at("look-over")} ${at("finding")}`).allInnerTexts();
    await page.click(at("fit"));
    await page.uncheck(at("may-breaks"));
    await page.check(at("may-work"));
    assert.match(await text(page, "fit-change"), /work: 30 to 40 s/);
    const brought = await page.locator(`${at("fit-findings")} ${at("finding")}`).allInnerTexts();
    assert.equal(brought.length, 1);
    assert.match(brought[0], /^Safety: All-out work goes on for 40 s/);
    assert.ok(!before.some((one) => one.includes("goes on for")));
    // What gives breaks instead brings nothing, and nothing is said.
    await page.check(at("may-breaks"));
    await page.uncheck(at("may-work"));
    assert.match(await text(page, "fit-change"), /30 to 50 s/);
    assert.equal(await page.locator(at("fit-findings")).count(), 0);
  }));

test("a number about the body that is not used is told until it is one, half kilos are used", () =>
  visit({}, async (page) => {
    await page.goto(app.address("harbour-lunch"));
    await page.click(at("how-hard"));
    const put = async (id, value) => {
      await page.fill(at(id), value);
      await page.locator(at(id)).blur();
    };
    await put("age", "7");
    assert.match(await text(page, "body-told"), /age takes whole years from 10 to 100/);
    await put("mass", "67,5");
    assert.match(await text(page, "kcal"), /at 67\.5 kg/);
    assert.match(await text(page, "body-told"), /age takes/);
    assert.equal(await page.getAttribute(at("age"), "aria-invalid"), "true");
    await put("age", "47");
    assert.equal(await text(page, "body-told"), "");
    assert.equal(await page.getAttribute(at("age"), "aria-invalid"), "false");
    await put("mass", "NaN");
    assert.match(await text(page, "body-told"), /mass/);
    assert.equal(await page.locator(at("kcal")).count(), 0);
  }));

test("a correction that is handed out days later keeps the start, here and for who has the class", async () => {
  const links = [];
  await visit({ permissions: ["clipboard-read", "clipboard-write"] }, async (page) => {
    const hand = async () => {
      await page.click(at("to-hand-out"));
      await page.waitForSelector(at("hand-out"));
    };
    await fresh(page);
    await type(page, SMALL);
    await hand();
    await page.fill(at("hand-out-at"), "2026-12-01T18:30");
    await page.locator(at("hand-out-at")).blur();
    links.push(page.url());
    // Another day, another page.
    await page.goto("about:blank");
    await desk(page);
    await page.locator(`${at("draft")} .card`).click();
    await page.fill(at("title"), "Harbour test, corrected");
    await hand();
    assert.equal(await page.inputValue(at("hand-out-at")), "2026-12-01T18:30");
    links.push(page.url());
    assert.match(links[1], /&at=2026-12-01T/);
  });
  await visit({}, async (page) => {
    await page.goto(links[0]);
    await page.waitForSelector(at("brief"));
    // Someone copied the correction without its start.
    await page.goto(links[1].replace(/&at=.*/, ""));
    await page.waitForSelector(at("revision"));
    // Who stays with what they have loses its start no more than who takes the correction.
    await page.locator(at("revision")).locator("button").last().click();
    assert.match(await text(page, "start"), /Wait for the start/);
    await page.goto(links[1].replace(/&at=.*/, ""));
    await page.waitForSelector(at("revision"));
    await page.locator(at("revision")).locator("button").first().click();
    assert.match(await text(page, "start"), /Wait for the start/);
    await page.click("text=All classes");
    assert.match(await page.innerText(at("kept-class")), /starts Tue/);
  });
});

test("what is chosen is not lost on the way, and what is removed is told", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    const entries = page.locator(at("entry"));
    const before = await entries.count();
    await page.click(at("add-moves"));
    await page.click(at("pick-march"));
    await page.click(at("leave-pick"));
    assert.match(await text(page, "told"), /1 chosen move was not added/);
    assert.equal(await entries.count(), before);
    await page.click(at("add-moves"));
    await page.click(at("pick-march"));
    await page.click(at("new-move"));
    assert.equal(await entries.count(), before + 2);
    const name = await page.inputValue(at("name-1"));
    await page.click(at("block-remove"));
    assert.equal(await text(page, "told"), `${name} is removed. Undo brings it back.`);
    await page.clock.runFor(10);
    assert.match(await page.evaluate(() => document.activeElement.dataset.testid), /^block-\d$/);
    await page.click(at("undo"));
  }));

test("one touch leads back from a block that is tried", () =>
  visit({}, async (page) => {
    await byForm(page, SMALL, 1);
    await page.click(at("try-block"));
    await page.waitForSelector(at("class"));
    await page.clock.runFor(7_000);
    await page.click(at("stop-trying"));
    await page.waitForSelector(at("write"));
    assert.equal(await page.locator(at("done")).count(), 0);
    await page.clock.runFor(60_000);
    assert.equal(await page.locator(at("write")).count(), 1);
  }));
