// What the end-to-end tests share: a static host, Chromium, a clock that a test moves, and checks of a page.
import assert from "node:assert/strict";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { serve as serveFolder } from "../../tools/serve.mjs";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const webdriver = JSON.parse(readFileSync(here("../../webdriver.json"), "utf8"));
const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Chromium's flags. */
export const webdriverArgs = webdriver["goog:chromeOptions"].args;

/** The release build that the tests drive. */
export const DIST = here("../../dist");

/** The origins that are ours; a request to any other is one that an offline app must not make. */
const ours = new Set();

/** Serves `dir` on a free port of 127.0.0.1. */
export async function serve(dir = DIST) {
  assert.ok(existsSync(`${dir}/index.html`), `nothing is built in ${dir}: run make build first`);
  const site = await serveFolder(dir);
  const origin = new URL(site.url).origin;
  ours.add(origin);
  return { url: site.url, close: () => (ours.delete(origin), site.close()) };
}

/** Starts Chromium with the flags of webdriver.json, the same as Rust's browser tests have, and with more. */
export function browser(flags = []) {
  return chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: [...webdriverArgs, ...flags],
  });
}

/**
 * Opens a page in a context of its own. `options` are Playwright's, beside the window's size.
 * The page collects `consoleErrors`, `pageErrors` and `outside`, the addresses that are not ours.
 * `page.context().close()` ends it.
 */
export async function openPage(browser, { width = 390, height = 844, ...options } = {}) {
  const context = await browser.newContext({ viewport: { width, height }, ...options });
  // Kept before any fake clock comes: axe-core has to go on while the page's clock stands still.
  await context.addInitScript(() => {
    const timers = { setTimeout: setTimeout.bind(window), clearTimeout: clearTimeout.bind(window) };
    Object.defineProperty(window, Symbol.for("rungbook.realTimers"), { value: timers });
  });
  const page = await context.newPage();
  Object.assign(page, { consoleErrors: [], pageErrors: [], outside: [] });
  const note = (address) => {
    const { protocol, origin, host } = new URL(address);
    if (["data:", "blob:", "about:"].includes(protocol)) return;
    if (!ours.has(origin) && !ours.has(`http://${host}`)) page.outside.push(address);
  };
  // On the context, not the page: it hears a service worker's requests too.
  context.on("request", (request) => note(request.url()));
  page.on("websocket", (socket) => note(socket.url()));
  page.on("console", (message) => {
    if (message.type() === "error") page.consoleErrors.push(message.text());
  });
  page.on("pageerror", (error) => page.pageErrors.push(String(error)));
  return page;
}

/** Fails if the page logged an error, threw one, or asked anyone but us for anything. */
export function assertQuiet(page) {
  const { consoleErrors, pageErrors, outside } = page;
  assert.deepEqual({ consoleErrors, pageErrors, outside }, { consoleErrors: [], pageErrors: [], outside: [] });
}

/**
 * Stops the page's clock at `isoTime`. Call it before the first `goto`: Playwright replays it, with every
 * `runFor` since, in each document that the page loads later, so a reload goes on at the same instant
 * (performance.now goes on too, where a real reload starts it at 0).
 * It covers Date, performance.now, timers and animation frames, but no AudioContext, no event.timeStamp
 * and no CSS animation.
 */
export async function fakeClock(page, isoTime) {
  const at = Date.parse(isoTime);
  assert.ok(Number.isFinite(at), `not a time: ${isoTime}`);
  // An installed clock runs until it is paused, and it can't be paused in its past: hence the minute.
  await page.clock.install({ time: at - 60_000 });
  await page.clock.pauseAt(at);
  // The pause moves Date by that minute but not performance.now: without this they would disagree.
  await page.context().addInitScript(() => {
    Object.defineProperty(performance, "timeOrigin", { get: () => Date.now() - performance.now() });
  });
}

/** Lets `ms` pass on the page's clock, in steps small enough for the app to act between them. */
export async function runFor(page, ms, step = 250) {
  for (let left = ms; left > 0; left -= step) await page.clock.runFor(Math.min(step, left));
}

/** Writes tests/e2e/shots/NAME.png and returns its path. */
export async function shot(page, name) {
  mkdirSync(here("shots"), { recursive: true });
  const path = here(`shots/${name}.png`);
  await page.screenshot({ path });
  return path;
}

/**
 * Runs axe-core on the page and returns its violations, short enough to read in a failed assertion.
 * The source goes in through the debugger, which the page's content security policy does not stop.
 */
export async function axe(page, options = {}) {
  await page.evaluate(`(({ setTimeout, clearTimeout }) => { ${axeSource}
  })(globalThis[Symbol.for("rungbook.realTimers")])`);
  const { violations } = await page.evaluate((options) => globalThis.axe.run(document, options), options);
  return violations.map(({ id, impact, help, nodes }) => ({
    id,
    impact,
    help,
    nodes: nodes.map(({ html, failureSummary }) => ({ html, failureSummary })),
  }));
}
