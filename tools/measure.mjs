// Puts what the app costs beside the goals of the design: `make bench` runs it after the core's benches.
// It judges dist as it stands. A figure is never a failed check: it depends on the machine, so that each
// time stands beside a goal or as a ratio, and the table names the machine. kB are 1,000 bytes.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, readdirSync, statSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { cpus, loadavg } from "node:os";
import { extname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { brotliCompressSync, gzipSync } from "node:zlib";
import { DIST, browser as launch, fakeClock, openPage, runFor } from "../tests/e2e/lib.mjs";
import { soundBrowser } from "../tests/e2e/tap.mjs";
import { sound } from "./sound.mjs";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));
const at = (id) => `[data-testid=${id}]`;

/** Real seconds for which a class is watched. */
const WATCHED = 60;
/** Times that a start is measured; the table has the median. */
const STARTS = 5;
const DEMOS = ["harbour-lunch", "quay-pyramid", "chair-class"];
const TYPES = {
  ".css": "text/css", ".html": "text/html", ".js": "text/javascript", ".png": "image/png",
  ".svg": "image/svg+xml", ".wasm": "application/wasm", ".webmanifest": "application/manifest+json",
};

const median = (numbers) => numbers.toSorted((a, b) => a - b)[Math.floor(numbers.length / 2)];
const sum = (numbers) => numbers.reduce((all, one) => all + one, 0);
const kB = (bytes) => `${(bytes / 1000).toFixed(1)} kB`;
const MiB = (bytes) => `${(bytes / 2 ** 20).toFixed(2)} MiB`;
const ms = (milliseconds) => `${Math.round(milliseconds)} ms`;
const µs = (ns) => `${(ns / 1000).toFixed(1)} µs`;

// ---- the table

const rows = [];
/** `goal` and `met` are left out where the design names none. */
const row = (what, figure, goal, met) => rows.push([what, figure, goal ?? "", met === undefined ? "" : met ? "met" : "NOT MET"]);
const heading = (text) => {
  rows.push([text]);
  console.error(`${Math.round(performance.now() / 1000)} s: ${text}`);
};

function table() {
  const lines = [];
  const columns = ["what", "figure", "goal", ""];
  for (const cells of rows) {
    if (cells.length === 1) lines.push("", `## ${cells[0]}`, "", columns, columns.map(() => "---"));
    else lines.push(cells);
  }
  const widths = columns.map((_, i) => Math.max(...lines.filter(Array.isArray).map((cells) => cells[i].length)));
  return lines
    .map((line) => (Array.isArray(line) ? `| ${line.map((cell, i) => cell.padEnd(widths[i])).join(" | ")} |` : line))
    .join("\n");
}

// ---- the core, as criterion measured it

function medians() {
  const folder = join(process.env.CARGO_TARGET_DIR ?? here("../target"), "criterion");
  const found = new Map();
  for (const path of readdirSync(folder, { recursive: true })) {
    if (!path.endsWith(join("new", "benchmark.json"))) continue;
    const { full_id } = JSON.parse(readFileSync(join(folder, path), "utf8"));
    const estimates = JSON.parse(readFileSync(join(folder, path, "../estimates.json"), "utf8"));
    found.set(full_id, estimates.median.point_estimate);
  }
  return (id) => {
    if (!found.has(id)) throw new Error(`no measure of "${id}" in ${folder}: run make bench`);
    return found.get(id);
  };
}

function core() {
  heading("The core, on this machine (criterion, medians)");
  const of = medians();
  const lookup = (id) => of(`1024 lookups/${id}`) / 1024;
  for (const how of ["of circuits", "written out"]) {
    const time = of(`compile 5000 ${how}`);
    row(`compile 5,000 segments, ${how}`, µs(time), "1 ms", time <= 1e6);
  }
  row("compile the 30-minute demo", µs(of("compile the demo")));
  const [few, many, scan] = [lookup("at in 50"), lookup("at in 5000"), lookup("linear in 5000")];
  row("where am I, in 5,000 segments", `${many.toFixed(1)} ns`);
  // Halving takes 12.3 steps against 5.6. Between that ratio and a hundredfold the middle is 15.
  row("... over the same in 50", `x ${(many / few).toFixed(1)}`, "log n: about x 2, not x 100", many / few < 15);
  row("... a linear scan over it, in 5,000", `x ${(scan / many).toFixed(0)}`);
  row("link of the 30-minute demo: encode", µs(of("encode the demo")));
  row("link of the 30-minute demo: decode", µs(of("decode the demo")));
}

/** Runs in the page: the shortest times in which the open app turns from either class to the other, in ms. */
async function openInTurn([few, many]) {
  const brief = () => document.querySelector("[data-testid=brief]").textContent;
  const once = async (link) => {
    const { promise, resolve } = Promise.withResolvers();
    const observer = new MutationObserver(() => resolve(performance.now()));
    observer.observe(document.body, { childList: true, subtree: true, characterData: true });
    history.replaceState(null, "", `#plan=${link}`);
    const begun = performance.now();
    dispatchEvent(new HashChangeEvent("hashchange"));
    const took = (await promise) - begun;
    observer.disconnect();
    await new Promise((resolve) => {
      setTimeout(resolve, 20);
    });
    return { took, shown: brief() };
  };
  const best = [Infinity, Infinity];
  for (let n = 0; n < 40; n += 1) {
    const [one, other] = [await once(few), await once(many)];
    if (one.shown === other.shown) throw new Error("the app did not open the other class");
    best[0] = Math.min(best[0], one.took);
    best[1] = Math.min(best[1], other.took);
  }
  return best;
}

/** Reading a plan unrolls it once for its limits, and compiling it a second time: this is both, from outside. */
async function coreInBrowser(chromium, files) {
  heading("The core, in the browser");
  const site = await host(files);
  const page = await openPage(chromium);
  // The one that is not opened first: an address that says what is open changes nothing.
  await page.goto(`${site.url}#plan=${benchLink("5,000 segments")}`);
  await page.waitForSelector(at("brief"));
  const [few, many] = await page.evaluate(openInTurn, [benchLink("200 segments"), benchLink("5,000 segments")]);
  await page.context().close();
  await site.stop();
  row("open a class of 5,000 segments in the open app", `${many.toFixed(1)} ms`);
  row("... more than the same with 200: read, judge, compile", `${(many - few).toFixed(1)} ms`, "2 ms", many - few <= 2);
}

/** How long "Fit to the slot" thinks: from another slot to its proposal in the page. */
async function fitInBrowser(chromium, files) {
  heading("Fit, in the browser");
  const site = await host(files);
  const page = await openPage(chromium);
  await page.goto(linked(site));
  await page.click(at("to-hand-out"));
  await page.click(at("write-on"));
  await page.waitForSelector(at("write"));
  await page.click(at("fit"));
  for (const kind of ["work", "rounds", "demos"]) await page.check(at(`may-${kind}`));
  const took = await page.evaluate(async () => {
    const panel = document.querySelector("[data-testid=fit-panel]");
    const slot = document.querySelector("[data-testid=slot]");
    let best = Infinity;
    for (let n = 0; n < 20; n += 1) {
      const { promise, resolve } = Promise.withResolvers();
      const observer = new MutationObserver(() => resolve(performance.now()));
      observer.observe(panel, { childList: true, subtree: true, characterData: true });
      slot.value = n % 2 ? "33:25" : "26:40";
      const begun = performance.now();
      slot.dispatchEvent(new Event("change", { bubbles: true }));
      best = Math.min(best, (await promise) - begun);
      observer.disconnect();
      await new Promise((resolve) => { setTimeout(resolve, 20); });
    }
    return best;
  });
  await page.context().close();
  await site.stop();
  row("the 30-minute demo to another slot, everything may move", `${took.toFixed(1)} ms`, "50 ms", took <= 50);
}

// ---- links

const linkOf = (name) => readFileSync(here(`../src/demos/${name}.link`), "utf8").trim();
const benchLink = (name) => JSON.parse(readFileSync(here("../target/bench-links.json"), "utf8"))[name];

function links() {
  heading("Link texts");
  // The limit is what messengers pass on as a link, as far as is known.
  for (const name of DEMOS) row(name, `${linkOf(name).length} characters`, "2,000", linkOf(name).length <= 2000);
}

// ---- what was built

function built() {
  const files = readdirSync(DIST, { recursive: true }).filter((path) => statSync(join(DIST, path)).isFile());
  return new Map(
    files.sort().map((path) => {
      const raw = readFileSync(join(DIST, path));
      return [path, { raw, gzip: gzipSync(raw, { level: 9 }).length, brotli: brotliCompressSync(raw) }];
    }),
  );
}

function sizes(files) {
  heading("Built files: raw / gzip 9 / brotli 11");
  const line = (list) =>
    [sum(list.map((file) => file.raw.length)), sum(list.map((file) => file.gzip)), sum(list.map((file) => file.brotli.length))]
      .map(kB)
      .join(" / ");
  const shots = (path) => path.startsWith("install/screen-");
  for (const [path, file] of files) if (!path.startsWith("install/")) row(path, line([file]));
  row("install/: icons", line([...files].filter(([path]) => path.startsWith("install/") && !shots(path)).map(([, file]) => file)));
  row("install/: screenshots", line([...files].filter(([path]) => shots(path)).map(([, file]) => file)));
  row("all", line([...files.values()]));
}

// ---- a host that sends what a good static host sends: brotli, and 304 for what has not changed

async function host(files) {
  const log = [];
  const server = createServer((request, response) => {
    const path = decodeURIComponent(new URL(request.url, "http://localhost").pathname).slice(1) || "index.html";
    const file = files.get(path);
    const etag = file && `"${createHash("sha256").update(file.raw).digest("hex").slice(0, 16)}"`;
    // What brotli can't make smaller is sent as it is.
    const packed = file && file.brotli.length < file.raw.length;
    const body = packed ? file.brotli : file?.raw;
    const status = !file ? 404 : request.headers["if-none-match"] === etag ? 304 : 200;
    if (packed && !/\bbr\b/.test(request.headers["accept-encoding"])) throw new Error("the browser does not take brotli");
    log.push({ path, status, bytes: status === 200 ? body.length : 0 });
    response.writeHead(status, {
      "Cache-Control": "no-cache",
      ...(file && { ETag: etag, "Content-Type": TYPES[extname(path)] ?? "application/octet-stream" }),
      ...(packed && { "Content-Encoding": "br", Vary: "Accept-Encoding" }),
    });
    response.end(status === 200 ? body : undefined);
  });
  await new Promise((resolve) => {
    server.listen(0, "127.0.0.1", resolve);
  });
  return {
    url: `http://127.0.0.1:${server.address().port}/`,
    log,
    stop: () =>
      new Promise((resolve) => {
        server.close(resolve);
        server.closeAllConnections();
      }),
  };
}

const linked = (site, name = DEMOS[0]) => `${site.url}#plan=${linkOf(name)}`;

/** Resolves when the service worker has saved all that it saves. */
const saved = (page) => page.evaluate(() => navigator.serviceWorker.ready.then(() => true));

async function download(chromium, files) {
  heading("A member's first visit: plan link, Brief, Class");
  const site = await host(files);
  const page = await openPage(chromium);
  const cdp = await page.context().newCDPSession(page);
  await cdp.send("Network.enable");
  // The page's own requests; the service worker's are in another target, and only in the host's log.
  const asked = [];
  cdp.on("Network.requestWillBeSent", ({ request }) => asked.push(new URL(request.url).pathname.slice(1) || "index.html"));
  await page.goto(linked(site));
  await page.click(at("start"));
  await page.waitForSelector(at("class"));
  const ofPage = new Set(asked);
  await saved(page);
  await page.context().close();
  await site.stop();

  // What the page asked for first is the page's, what is sent beyond is what the worker adds.
  const added = [...site.log];
  const first = [...ofPage].map((path) => {
    const place = added.findIndex((one) => one.path === path);
    if (place < 0) throw new Error(`${path} never reached the host`);
    return added.splice(place, 1)[0];
  });
  for (const { path, bytes } of first) row(path, kB(bytes));
  const total = sum(first.map((one) => one.bytes));
  row("downloaded, brotli", kB(total), "120 kB", total <= 120_000);
  const more = sum(added.map((one) => one.bytes));
  const sent = added.filter((one) => one.status === 200).map((one) => one.path);
  row("the service worker adds", kB(more));
  row("... files sent, files only asked after", `${sent.length}, ${added.length - sent.length}`);
  const twice = sent.filter((path) => ofPage.has(path));
  row("... sent a second time", twice.join(", ") || "none", "none", twice.length === 0);
  row("all that is kept on the phone, brotli", kB(total + more), "220 kB", total + more <= 220_000);
}

// ---- the first Class screen

/** Runs in the page: notes when a screen stands in the first frame that shows it, and when start was touched. */
function watch() {
  const seen = {};
  globalThis[Symbol.for("rungbook.seen")] = seen;
  const look = () => {
    for (const id of ["brief", "class"]) {
      if (id in seen || !document.querySelector(`[data-testid=${id}]`)) continue;
      seen[id] = null;
      // A message that is posted in a frame's callback comes after the frame was drawn.
      requestAnimationFrame(() => {
        const { port1, port2 } = new MessageChannel();
        port1.onmessage = () => { seen[id] = performance.now(); };
        port2.postMessage(0);
      });
    }
  };
  new MutationObserver(look).observe(document, { childList: true, subtree: true });
  addEventListener("click", (event) => { seen.touch ??= event.timeStamp; }, { capture: true });
}

const seen = (page, id) =>
  page
    .waitForFunction((id) => globalThis[Symbol.for("rungbook.seen")]?.[id], id, { polling: 20 })
    .then((handle) => handle.jsonValue());

/** From the navigation to Brief, and from the touch to Class, in ms. */
async function startOnce(page, address, slower) {
  const cdp = await page.context().newCDPSession(page);
  await cdp.send("Emulation.setCPUThrottlingRate", { rate: slower });
  await page.goto(address);
  const brief = await seen(page, "brief");
  await page.click(at("start"));
  const shown = await seen(page, "class");
  return { brief, shown: shown - (await seen(page, "touch")) };
}

async function fresh(chromium, site, slower) {
  const page = await openPage(chromium);
  await page.addInitScript(watch);
  const times = await startOnce(page, linked(site), slower);
  await page.context().close();
  return times;
}

/** The same with the host stopped and the worker asleep; the copy was saved in a visit before. */
async function offline(chromium, files, slower) {
  const site = await host(files);
  const first = await openPage(chromium);
  await first.goto(linked(site));
  await first.waitForSelector(at("brief"));
  await saved(first);
  const context = first.context();
  const cdp = await context.newCDPSession(first);
  await cdp.send("ServiceWorker.enable");
  await cdp.send("ServiceWorker.stopAllWorkers");
  await site.stop();
  const page = await context.newPage();
  await first.close();
  await page.addInitScript(watch);
  const times = await startOnce(page, linked(site), slower);
  await context.close();
  return times;
}

async function starts(chromium, files) {
  heading(`The first Class screen: link to Brief + touch to Class (median of ${STARTS})`);
  const site = await host(files);
  const several = async (what, goal, once) => {
    const times = [];
    for (let n = 0; n < STARTS; n += 1) times.push(await once());
    const all = median(times.map((one) => one.brief + one.shown));
    const parts = `${ms(median(times.map((one) => one.brief)))} + ${ms(median(times.map((one) => one.shown)))}`;
    row(what, `${ms(all)} (${parts})`, goal && ms(goal), goal && all <= goal);
  };
  await several("from the host, 4x slower CPU", 2_000, () => fresh(chromium, site, 4));
  await several("from the host", undefined, () => fresh(chromium, site, 1));
  await several("from the offline copy, host stopped", 600, () => offline(chromium, files, 1));
  await several("from the offline copy, 4x slower CPU", undefined, () => offline(chromium, files, 4));
  await site.stop();
}

// ---- the main thread in a class

/**
 * Runs in the page: how long a fixed piece of work takes, to see what the browser's slowing down does.
 * The shortest of several, which a busy machine disturbs least.
 */
function work() {
  const times = [];
  let x = 1;
  for (let n = 0; n < 8; n += 1) {
    const begun = performance.now();
    for (let i = 0; i < 1e7; i += 1) x = (Math.imul(x, 48271) + i) | 0;
    times.push(performance.now() - begun);
  }
  globalThis[Symbol.for("rungbook.sink")] = x;
  return Math.min(...times);
}

async function share(chromium, site, slower, goal) {
  const page = await openPage(chromium);
  // Two sessions, since each has one clock: the wall's, and the thread's, which stands still while the
  // machine does something else.
  const [wall, cpu] = await Promise.all([1, 2].map(() => page.context().newCDPSession(page)));
  await wall.send("Performance.enable", { timeDomain: "timeTicks" });
  await cpu.send("Performance.enable", { timeDomain: "threadTicks" });
  await page.goto(linked(site));
  await page.click(at("start"));
  await page.waitForSelector(at("class"));
  await saved(page);
  const plain = await page.evaluate(work);
  await wall.send("Emulation.setCPUThrottlingRate", { rate: slower });
  const slowed = await page.evaluate(work);
  const read = async () => {
    const both = await Promise.all([wall, cpu].map((session) => session.send("Performance.getMetrics")));
    return both.map(({ metrics }) => Object.fromEntries(metrics.map(({ name, value }) => [name, value])));
  };
  const before = await read();
  await new Promise((resolve) => {
    setTimeout(resolve, WATCHED * 1000);
  });
  const after = await read();
  await page.context().close();
  const lasted = after[0].Timestamp - before[0].Timestamp;
  const of = (clock, name) => ((after[clock][name] - before[clock][name]) / lasted) * 100;
  const percent = (number) => `${number.toFixed(2)} %`;
  const busy = of(1, "TaskDuration");
  const name = slower === 1 ? "busy" : `busy, ${slower}x slower CPU (as measured: x ${(slowed / plain).toFixed(1)})`;
  row(name, percent(busy), `${goal} %`, busy <= goal);
  row("... scripts, styles, layout in it", ["ScriptDuration", "RecalcStyleDuration", "LayoutDuration"].map((part) => percent(of(1, part))).join(", "));
  row("... by the wall clock, waits for a busy machine included", percent(of(0, "TaskDuration")));
  // The class changes once a second: much more would be waste, much less a page that was not running.
  row("... times that it worked out styles", `${((after[0].RecalcStyleCount - before[0].RecalcStyleCount) / lasted).toFixed(2)} a second`);
}

// ---- memory

/** Runs in the page: keeps the memory that the app's wasm exports. */
function keepMemory() {
  const kept = [];
  globalThis[Symbol.for("rungbook.memory")] = kept;
  for (const name of ["instantiate", "instantiateStreaming"]) {
    const real = WebAssembly[name];
    WebAssembly[name] = async (...given) => {
      const result = await real.apply(WebAssembly, given);
      const { exports } = result.instance ?? result;
      kept.push(...Object.values(exports).filter((one) => one instanceof WebAssembly.Memory));
      return result;
    };
  }
}

async function memory(chromium, site) {
  heading("Memory in a class of over an hour (the page's clock moved in steps of 1 s)");
  const page = await openPage(chromium);
  await page.addInitScript(keepMemory);
  await fakeClock(page, "2026-11-25T12:00:00Z");
  await page.goto(`${site.url}#plan=${benchLink("over-an-hour")}`);
  await page.click(at("start"));
  await page.waitForSelector(at("class"));
  const cdp = await page.context().newCDPSession(page);
  const read = async () => {
    await cdp.send("HeapProfiler.collectGarbage");
    const { usedSize } = await cdp.send("Runtime.getHeapUsage");
    const wasm = await page.evaluate(() => globalThis[Symbol.for("rungbook.memory")].map((one) => one.buffer.byteLength));
    if (wasm.length !== 1) throw new Error(`${wasm.length} wasm memories were found, not one`);
    return { wasm: wasm[0], js: usedSize };
  };
  await runFor(page, 60_000, 1_000);
  const minute = await read();
  await runFor(page, 3_540_000, 1_000);
  if ((await page.locator(at("class")).count()) !== 1) throw new Error("the class did not last an hour");
  const hour = await read();
  await page.context().close();
  const limit = 4 * 2 ** 20;
  row("wasm memory after a minute", MiB(minute.wasm), "4 MiB", minute.wasm <= limit);
  row("wasm memory after an hour", MiB(hour.wasm), "4 MiB, no growth", hour.wasm <= limit && hour.wasm === minute.wasm);
  row("JS heap in use after a minute", MiB(minute.js));
  row("JS heap in use after an hour", MiB(hour.js));
}

// ---- all of it

const git = (...words) => execFileSync("git", words, { cwd: here(".."), encoding: "utf8" }).trim();
const load = loadavg()[0].toFixed(1);
core();
links();
const files = built();
sizes(files);
const chromium = await launch();
try {
  await coreInBrowser(chromium, files);
  await download(chromium, files);
  await fitInBrowser(chromium, files);
  await starts(chromium, files);
  const site = await host(files);
  heading(`The main thread in a class: CPU time of its tasks in ${WATCHED} s of real time`);
  await share(chromium, site, 1, 0.5);
  await share(chromium, site, 4, 2);
  await memory(chromium, site);
  await site.stop();
} finally {
  await chromium.close();
}
heading("The calls, as they reach the loudspeaker: how far from their exact time");
const loud = await soundBrowser();
try {
  for (const cells of await sound(loud)) row(...cells);
} finally {
  await loud.close();
}
const head = `# Rungbook measured

Commit ${git("rev-parse", "--short", "HEAD")}${git("status", "--porcelain") && " with changes"}; built ${statSync(join(DIST, "index.html")).mtime.toISOString()}.
${cpus().length} cores of ${cpus()[0].model}, load ${load} before and ${loadavg()[0].toFixed(1)} after (a busy machine makes times longer);
Chromium ${chromium.version()}, headless, host on the same machine: no time of a network is in here.`;
const text = `${head}\n${table()}\n`;
mkdirSync(here("../target"), { recursive: true });
writeFileSync(here("../target/bench.md"), text);
console.log(text);
