// How the end-to-end tests drive Rungbook and read its screens. Nothing here computes a class: what is
// expected comes from tests/plans/reference.py, which knows the text of the format and none of our code.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, readFileSync } from "node:fs";
import { after, before } from "node:test";
import { fileURLToPath } from "node:url";
import { assertQuiet, browser, fakeClock, openPage, serve } from "./lib.mjs";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));

/** A morning of the test; nothing depends on which. */
export const NOON = "2026-11-25T12:00:00Z";

/** Two touches that are closer than this are one, in ms. */
export const DOUBLE_TAP = 700;

const LINKS = here("../../target/e2e-links.json");

/** The link text of a plan in src/demos or tests/e2e/plans, as tests/links.rs wrote it. */
export function link(name) {
  assert.ok(existsSync(LINKS), `${LINKS} is missing: run make unit first`);
  const text = JSON.parse(readFileSync(LINKS, "utf8"))[name];
  assert.ok(text, `no link of ${name} in ${LINKS}: run make unit first`);
  return text;
}

const planFile = (name) =>
  [here(`../../src/demos/${name}.json`), here(`plans/${name}.json`)].find((path) => existsSync(path));

/** A plan as its file says it. */
export const plan = (name) => JSON.parse(readFileSync(planFile(name), "utf8"));

/** The segments of a plan, by the reference. Times are ms of class time. */
export function segments(name) {
  const moves = new Map(plan(name).moves.map((move) => [move.id, move]));
  const script = here("../plans/reference.py");
  const rows = execFileSync("python3", [script, planFile(name)], { encoding: "utf8" }).trim().split("\n");
  return rows.map((row) => {
    const [at, kind, start, end, block, round, rounds, entry, entries, move, side] = row.split("\t");
    const number = (cell) => (cell === "-" ? 0 : Number(cell));
    const known = moves.get(move);
    return {
      at: number(at), kind, start: number(start), end: number(end), block: number(block), round: number(round),
      rounds: number(rounds), entry: number(entry), entries: number(entries), id: move, name: known?.name ?? "", side,
    };
  });
}

/** The time of day of an instant, in the page's own zone and language. */
export const timeOfDay = (page, ms) =>
  page.evaluate((ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }), ms);

/** The selector of a test handle. */
export const at = (id) => `[data-testid=${id}]`;

/**
 * A browser and a site for the tests of one file, and `visit`, which runs one scenario on a page of its own
 * and then checks that the page was quiet: no error, and no request to anyone but us. `flags` are more of Chromium's.
 */
export function house(flags = []) {
  const shared = {};
  before(async () => Object.assign(shared, { site: await serve(), browser: await browser(flags) }));
  after(async () => {
    await shared.browser?.close();
    await shared.site?.close();
  });
  return {
    address: (name) => addressOf(shared.site.url, link(name)),
    get url() {
      return shared.site.url;
    },
    async visit(options, scenario) {
      const page = await openPage(shared.browser, options);
      page.setDefaultTimeout(10_000);
      page.on("dialog", (dialog) => {
        page.pageErrors.push(`a dialog opened: ${dialog.message()}`);
        dialog.dismiss();
      });
      try {
        await fakeClock(page, NOON);
        await scenario(page);
        // A panic brings its stack along; its first lines say enough.
        page.consoleErrors = page.consoleErrors.map((text) => text.slice(0, 250));
        assertQuiet(page);
      } finally {
        await page.context().close();
      }
    },
  };
}

/** The address that opens a link text. */
export const addressOf = (url, text) => `${url}#plan=${text}`;

/** Opens a plan by its link: shows Brief. */
export async function brief(page, address) {
  await page.goto(address);
  await page.waitForSelector(at("brief"));
}

/** Opens a plan by its link and starts it. The class then stands at its first millisecond. */
export async function start(page, address) {
  await brief(page, address);
  await page.click(at("start"));
  await page.waitForSelector(at("class"));
}

/** Opens a plan by its file: shows Brief. */
export async function openFile(page, url, file) {
  await page.goto("about:blank");
  await page.goto(url);
  const buffer = Buffer.from(JSON.stringify({ format: "rungbook-plan", version: 1, ...file }));
  await page.setInputFiles(at("file-field"), { name: "plan.json", mimeType: "application/json", buffer });
  await page.waitForSelector(at("brief"));
}

/** What the Class screen says, or which other screen is there. */
export function read(page) {
  return page.evaluate(() => {
    const all = (id) => [...document.querySelectorAll(`[data-testid=${id}]`)];
    const text = (id) => all(id)[0]?.textContent.replace(/\s+/g, " ").trim();
    const screen = ["classes", "brief", "class", "done"].find((id) => all(id).length > 0);
    if (screen !== "class") return { screen };
    return {
      screen, phase: all("phase")[0]?.dataset.phase, seconds: Number(text("seconds")), move: text("move"),
      side: text("side"), round: text("round"), stands: text("stands"), minutes: Number(text("minutes-left")?.match(/\d+/)),
      next: all("next").map((rung) => rung.querySelector(".name").textContent.trim()),
      notes: all("note").map((note) => note.textContent.trim()), caution: text("caution"),
      undo: all("undo").length > 0, options: all("option").length, help: all("unwell-help")[0]?.open ?? false,
    };
  });
}

/** The seconds that are shown. */
export const seconds = async (page) => Number(await page.textContent(at("seconds")));

/** Lets a class that was just started run to so many ms after the start of a segment, without a look on the way. */
export const passTo = (page, segment, after = 0) => page.clock.fastForward(segment.start + after);

/** Presses skip until what is shown pleases. */
export async function skipUntil(page, pleases, most = 150) {
  for (let n = 0; n < most; n += 1) {
    const shown = await read(page);
    if (pleases(shown)) return shown;
    await page.click(at("skip"));
  }
  return assert.fail("no segment of the class pleases");
}

/**
 * The rungs to come after a segment, as the design words them: work moves in order, the same one twice in a
 * row as one with a count; an interlude and a new block end a rung, gaps do not.
 */
export function rungsAfter(all, index) {
  const rungs = [];
  let open = null;
  for (const segment of all.slice(index + 1)) {
    if (segment.kind === "interlude") open = null;
    if (segment.kind !== "work") continue;
    if (open && open.id === segment.id && open.block === segment.block) continue;
    open = { id: segment.id, block: segment.block, name: segment.name };
    rungs.push(open);
  }
  return rungs.map((rung) => rung.name);
}

/** The demo of a title on Classes, as it is before anything is kept on the phone. */
export const demo = (page, title) =>
  page.locator("section", { hasText: "Classes to try" }).getByRole("button", { name: title });

/** Makes the page believe that it is hidden, or shown again; a headless window can be neither. */
export const setHidden = (page, hidden) =>
  page.evaluate((hidden) => {
    Object.defineProperty(document, "visibilityState", { configurable: true, get: () => (hidden ? "hidden" : "visible") });
    Object.defineProperty(document, "hidden", { configurable: true, get: () => hidden });
    document.dispatchEvent(new Event("visibilitychange"));
  }, hidden);
