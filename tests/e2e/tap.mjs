// A tap on what reaches the speaker in real Chromium: what sounded is found in the samples, put on the page's
// clock and matched one to one with what the class has to sound. tools/sound.mjs makes figures of it, and
// tests/e2e/sound.test.mjs tests the tap itself. Real time passes here, since the audio clock is what is measured.
//
// What the figures are good for:
// - An onset after silence is found to the sample; one that touches the note before, 0.2 ms too late (a go
//   steps up after 110 ms, where the first note has just faded out). `known` measures it on sounds of its own.
// - Audio time is put on the page's clock by readings of both. What is read of currentTime is what has been
//   rendered, so that it lags by up to a buffer (10 ms here) and never leads: the line below all readings is
//   when a sample was rendered. The readings come with a message of the tap; the fastest of some hundreds
//   takes 0.1 to 0.3 ms, and every sound seems late by it, the same all along to 0.05 ms where the machine is
//   quiet: over a minute that is 3 ms an hour. Within 3 s of a hiccup of the device it may be a few ms.
// - When a sample is heard is the browser's own word, getOutputTimestamp (Web Audio API, AudioContext): the
//   distance from the line above is its latency, of which the median around a time counts. What the browser
//   does not know of, like a wireless speaker, is in no figure.
// - The app's clock is read as the app reads it, to the 0.1 ms that performance.now() has.
import assert from "node:assert/strict";
import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";
import { addressOf, at, link, segments } from "./app.mjs";
import { DIST, assertQuiet, openPage, serve, webdriverArgs } from "./lib.mjs";

const here = (path) => fileURLToPath(new URL(path, import.meta.url));

/** The plan that sounds. */
export const PLAN = "tap";
/** A sound so far from its time is another sound. Notes of one call are 80 ms apart and more. */
const WITHIN = 60;
/** A call that is later than this is dropped (DEVELOPERS.md, "What always holds"). */
const LATEST = 20;
/** One frame of a screen at 60 Hz. */
export const FRAME = 17;
/** The count-in after a pause. */
const COUNT_IN = 3000;

const CUES = here("../../target/e2e-cues.json");

/** The calls of a plan with the starts of their notes, as tests/links.rs wrote them. */
export function cues(name) {
  assert.ok(existsSync(CUES), `${CUES} is missing: run make unit first`);
  const found = JSON.parse(readFileSync(CUES, "utf8"))[name];
  assert.ok(found?.length, `no cues of ${name} in ${CUES}: run make unit first`);
  return found;
}

// ---- the browser and the site

const endpoints = new WeakMap();

/**
 * Chromium as members have it: Playwright's own start switches off what a browser does to a hidden page.
 * No flag lets sound out without a touch.
 */
export async function soundBrowser() {
  const port = await new Promise((resolve, reject) => {
    const probe = createServer().once("error", reject).listen(0, "127.0.0.1", () => {
      const { port } = probe.address();
      probe.close(() => resolve(port));
    });
  });
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: [...webdriverArgs, `--remote-debugging-port=${port}`],
    ignoreDefaultArgs: [
      "--disable-background-timer-throttling", "--disable-backgrounding-occluded-windows", "--disable-renderer-backgrounding",
    ],
  });
  endpoints.set(browser, `http://127.0.0.1:${port}`);
  return browser;
}

/** Serves the build with the tap's worklet beside it: the page's policy takes scripts of its own host alone. */
export async function soundSite(dir = DIST) {
  // Says that nothing is built.
  if (!existsSync(`${dir}/index.html`)) return serve(dir);
  const copy = mkdtempSync(join(tmpdir(), "rungbook-tap-"));
  try {
    cpSync(dir, copy, { recursive: true });
    writeFileSync(join(copy, "tap-worklet.js"), `(${worklet})();\n`);
    const site = await serve(copy);
    // The server reads its files when they are asked for, so the copy stays until then.
    return { url: site.url, close: async () => (await site.close(), rmSync(copy, { recursive: true })) };
  } catch (error) {
    rmSync(copy, { recursive: true });
    throw error;
  }
}

// ---- what runs in the page

/** Runs in the audio thread: posts what is not silent, with the number of its first frame. */
function worklet() {
  /* global AudioWorkletProcessor, registerProcessor, currentFrame */
  const QUANTA = 8;
  registerProcessor("tap", class extends AudioWorkletProcessor {
    runs = [];
    quanta = 0;

    process([[samples]]) {
      if (samples?.some((sample) => sample !== 0)) this.runs.push([currentFrame, samples.slice()]);
      this.quanta += 1;
      if (this.quanta % QUANTA === 0) {
        this.port.postMessage({ quanta: this.quanta, to: currentFrame + 128, runs: this.runs });
        this.runs = [];
      }
      return true;
    }
  });
}

/**
 * Runs in the page before the app: taps every audio context, and notes all else that is measured.
 * `rate`: how fast the page's clock goes; `block`: the main thread is busy `lasts` ms every `every` ms, first
 * `first` ms after the touch.
 */
function ears({ rate = 1, block }) {
  const real = performance.now.bind(performance);
  const now = () => real() * rate;
  // The app's clock is the monotonic one, and what Date.now was ahead of it when the page was loaded. Both
  // readings are noted, so that the test knows its instants as exactly as the app does.
  const realDate = Date.now;
  let wall = null;
  Date.now = () => {
    wall = rate === 1 ? realDate() : Math.floor(performance.timeOrigin + now());
    return wall;
  };
  performance.now = () => {
    const ms = now();
    if (wall !== null) seen.origins.push(wall - ms);
    wall = null;
    return ms;
  };

  // It is the same clock by which a context says when it is heard.
  const stamp = AudioContext.prototype.getOutputTimestamp;
  AudioContext.prototype.getOutputTimestamp = function () {
    const { contextTime, performanceTime } = stamp.call(this);
    return { contextTime, performanceTime: performanceTime * rate };
  };

  const seen = {
    origins: [], contexts: [], touches: [], logs: [], states: [], visible: [], blocks: [],
    seconds: [], chained: [], interval: [], throttle: [], pairs: [], runs: [], heard: { quanta: 0, from: null, to: 0 }, output: [],
  };
  globalThis[Symbol.for("rungbook.ears")] = seen;

  const tap = (context, speaker) => {
    const gate = new GainNode(context);
    gate.connect(speaker);
    seen.contexts.push(context);
    seen.sampleRate = context.sampleRate;
    context.addEventListener("statechange", () => seen.states.push([now(), context.state, context.currentTime]));
    context.audioWorklet.addModule(new URL("tap-worklet.js", document.baseURI)).then(() => {
      const node = new AudioWorkletNode(context, "tap", { channelCount: 1, channelCountMode: "explicit" });
      node.port.onmessage = ({ data }) => {
        const pair = [context.currentTime, now(), seen.states.length];
        seen.pairs.push(pair);
        const { contextTime, performanceTime } = context.getOutputTimestamp();
        if (contextTime > 0) seen.output.push([contextTime, performanceTime, seen.states.length]);
        seen.heard.from ??= data.to - data.quanta * 128;
        Object.assign(seen.heard, { quanta: data.quanta, to: data.to });
        seen.runs.push(...data.runs);
      };
      gate.connect(node);
      // Its output is silence; a node that leads nowhere might not be asked for any.
      node.connect(speaker);
    });
    return gate;
  };
  const gates = new WeakMap();
  const { get } = Object.getOwnPropertyDescriptor(BaseAudioContext.prototype, "destination");
  Object.defineProperty(BaseAudioContext.prototype, "destination", {
    configurable: true,
    get() {
      const speaker = get.call(this);
      if (!(this instanceof AudioContext)) return speaker;
      if (!gates.has(this)) gates.set(this, tap(this, speaker));
      return gates.get(this);
    },
  });

  // Measured are the tones; without a voice every call is one, as the cues of the plan have it.
  Object.defineProperty(globalThis, "speechSynthesis", { value: undefined });

  const setItem = Storage.prototype.setItem;
  Storage.prototype.setItem = function (key, value) {
    if (key === "rungbook/1/run") seen.logs.push(value);
    return setItem.call(this, key, value);
  };
  document.addEventListener("visibilitychange", () => seen.visible.push([now(), document.visibilityState]));
  addEventListener("click", (event) => {
    const id = event.target.closest?.("[data-testid]")?.dataset.testid;
    seen.touches.push([now(), id]);
    if (id === "start") begin(now());
  }, { capture: true });

  function begin(touch) {
    if (block) {
      const busy = (due) => {
        const from = now();
        while (now() - from < block.lasts);
        seen.blocks.push([from, now()]);
        setTimeout(busy, due + block.every - now(), due + block.every);
      };
      setTimeout(busy, block.first, touch + block.first);
    }
    // The two plain countdowns of one second that stand beside the app's.
    const chain = () => {
      seen.chained.push(now());
      setTimeout(chain, 1000);
    };
    seen.begun = now();
    setTimeout(chain, 1000);
    setInterval(() => seen.interval.push(now()), 1000);
    setInterval(() => seen.throttle.push(now()), 100);
    let shown = null;
    const look = () => {
      const text = document.querySelector("[data-testid=seconds]")?.textContent.trim();
      if (text === undefined || text === shown) return;
      shown = text;
      const change = [now(), Number(text), null];
      seen.seconds.push(change);
      requestAnimationFrame(() => { change[2] = now(); });
    };
    new MutationObserver(look).observe(document, { subtree: true, childList: true, characterData: true });
  }
}

/** Runs in the page: all that was noted, in a form that goes through the debugger. */
function tell() {
  const { contexts, runs, ...rest } = globalThis[Symbol.for("rungbook.ears")];
  const whole = new Float32Array(runs.length * 128);
  runs.forEach(([, samples], n) => whole.set(samples, n * 128));
  return {
    ...rest, frames: runs.map(([frame]) => frame), samples: new Uint8Array(whole.buffer).toBase64(),
    contexts: contexts.length,
  };
}

// ---- what was heard

/** Samples that are rendered at once: a render quantum of the Web Audio API. */
const BLOCK = 128;
/** So many seconds to either side say where the clocks stand to each other. */
const AROUND = 3;
/** More blocks than this are not lost in a row; it is 20 ms. */
const HOLE = 7;

/** The greatest magnitude of the `width` samples that end at each sample. */
function greatest(samples, width) {
  const out = new Float32Array(samples.length);
  // The places that may still be the greatest, their magnitudes falling.
  const places = new Int32Array(samples.length);
  let [first, last] = [0, 0];
  for (let i = 0; i < samples.length; i += 1) {
    const size = Math.abs(samples[i]);
    while (last > first && Math.abs(samples[places[last - 1]]) <= size) last -= 1;
    places[last] = i;
    last += 1;
    if (places[first] <= i - width) first += 1;
    out[i] = Math.abs(samples[places[first]]);
  }
  return out;
}

/**
 * The starts of notes in stretches of samples: `[frame, samples]`, in order, silence between. Returns their
 * times in seconds of the audio clock, with the peak of each.
 *
 * A note starts where the next 2 ms are at least four times as loud as the last 2 ms: so it does not take
 * silence before it, but a release of 20 ms that has faded out, which is what our notes leave each other.
 * 2 ms hold a peak of any tone above 250 Hz, so that a wave's own zeros are no starts; -50 dB is heard.
 *
 * A browser leaves blocks silent while the page is at work on what they sound from. A note that goes on after
 * such a hole, cut off and on again at the borders of blocks, has not started: `hole` says so.
 */
export function onsets(stretches, sampleRate) {
  const width = Math.round(sampleRate * 0.002);
  const [RISE, SILENCE, HEARD] = [4, 0.0005, 0.003];
  const merged = [];
  for (const [frame, samples] of stretches) {
    const before = merged.at(-1);
    if (before && frame - before.to <= Math.max(2 * width, HOLE * BLOCK)) before.parts.push([frame, samples]);
    else merged.push({ frame, parts: [[frame, samples]] });
    merged.at(-1).to = frame + samples.length;
  }
  const found = [];
  for (const { frame, to, parts } of merged) {
    const samples = new Float32Array(to - frame + 2 * width);
    for (const [start, part] of parts) samples.set(part, start - frame + width);
    const back = greatest(samples, width);
    let best = null;
    for (let i = width; i + width < samples.length; i += 1) {
      // Before sample i there is back[i - 1]; it and what follows are back[i - 1 + width].
      const [was, is] = [back[i - 1], back[i - 1 + width]];
      const rise = is / (was + SILENCE);
      const starts = is >= HEARD && rise >= RISE;
      if (starts && (!best || rise >= best.rise)) best = { i, rise };
      if (best && (!starts || i - best.i > width)) {
        found.push({ frame: frame + best.i - width, stretch: samples, i: best.i, hole: isHole(samples, best.i, frame - width) });
        best = null;
        // The windows of one start are over where the next can begin.
        i += width;
      }
    }
  }
  return found.map(({ frame, stretch, i, hole }, n) => {
    const next = found[n + 1]?.stretch === stretch ? found[n + 1].i : stretch.length;
    let peak = 0;
    for (let j = i; j < next; j += 1) peak = Math.max(peak, Math.abs(stretch[j]));
    return { at: frame / sampleRate, peak, hole };
  });
}

/** Whether silence of a few whole blocks ends at sample `i`, in the midst of a note. */
function isHole(samples, i, firstFrame) {
  let last = i - 1;
  while (last >= 0 && samples[last] === 0) last -= 1;
  const blocks = (i - 1 - last) / BLOCK;
  if (last < 0 || blocks > HOLE || !Number.isInteger(blocks) || (firstFrame + i) % BLOCK !== 0) return false;
  // A note that ended has faded out before.
  const loud = (from, to) => samples.subarray(Math.max(0, from), to).reduce((most, one) => Math.max(most, Math.abs(one)), 0);
  return loud(last - 40, last + 1) > 0.3 * loud(i, i + 40);
}

/**
 * The stretches in which a context ran, by its changes of state `[ms, state, s]`: the audio clock stands
 * between them. A stretch's number is how many changes there had been.
 */
function running(states) {
  const first = states.findIndex(([, state]) => state === "running");
  const list = [{ number: first + 1, from: 0 }];
  for (const [n, [ms, state]] of states.entries()) {
    const [stood, before, s] = states[n - 1] ?? [];
    if (n > first && state === "running" && before !== "running") list.push({ number: n + 1, from: s, stood, ms });
  }
  return list;
}

/**
 * The line below the points `[x, y]` that is nearest to them: their lower hull's edge at their middle.
 * Returns y at any x.
 */
function lineBelow(points) {
  const middle = points.reduce((sum, [x]) => sum + x, 0) / points.length;
  const hull = [];
  for (const [cx, cy] of points.toSorted((a, b) => a[0] - b[0] || b[1] - a[1])) {
    // Of two readings of one block the lower comes last.
    if (hull.at(-1)?.[0] === cx) hull.pop();
    while (hull.length > 1) {
      const [[ax, ay], [bx, by]] = hull.slice(-2);
      if ((bx - ax) * (cy - ay) > (by - ay) * (cx - ax)) break;
      hull.pop();
    }
    hull.push([cx, cy]);
  }
  if (hull.length < 2) return () => NaN;
  const right = Math.max(1, hull.findIndex(([x]) => x >= middle));
  const [[ax, ay], [bx, by]] = [hull[right - 1], hull[right]];
  return (x) => ay + ((by - ay) / (bx - ax)) * (x - ax);
}

/**
 * The maps from audio time (s) to the page's clock (ms): when a sample was rendered, and when it was heard.
 * `pairs` and `output` are readings `[s, ms, changes of state before]`.
 */
export function maps(pairs, output, stretches) {
  const of = (s) => stretches.findLast(({ from }) => s >= from);
  // Before the first change the page has not heard yet that the context runs. A device that hiccups moves
  // both: so only what lies around a time says where the clocks stood.
  const near = (list, s) => {
    const { number } = of(s);
    const same = (n) => n === number || (number === stretches[0].number && n < number);
    return list.filter(([x, , n]) => Math.abs(x - s) <= AROUND && same(n)).map(([x, ms]) => [x, ms - x * 1000]);
  };
  const latencies = (s) => {
    const line = lineBelow(near(pairs, s));
    return near(output, s).map(([x, y]) => y - line(x)).sort((a, b) => a - b);
  };
  const rendered = (s) => s * 1000 + lineBelow(near(pairs, s))(s);
  return { rendered, latencies, heard: (s) => rendered(s) + rank(latencies(s), 0.5) };
}

/** Matches what was heard with what had to be, one to one, the nearest first. */
export function match(exact, heard, within = WITHIN) {
  const near = exact.flatMap((note, e) => heard.map((onset, h) => ({ e, h, late: onset.ms - note.ms })));
  const [ofExact, ofHeard] = [new Map(), new Map()];
  for (const pair of near.filter(({ late }) => Math.abs(late) <= within).sort((a, b) => Math.abs(a.late) - Math.abs(b.late))) {
    if (ofExact.has(pair.e) || ofHeard.has(pair.h)) continue;
    ofExact.set(pair.e, pair);
    ofHeard.set(pair.h, pair);
  }
  return {
    matched: [...ofExact.values()].sort((a, b) => a.e - b.e).map(({ e, h, late }) => ({ ...exact[e], late, peak: heard[h].peak })),
    missing: exact.filter((note, e) => !ofExact.has(e)),
    extra: heard.filter((onset, h) => !ofHeard.has(h)),
  };
}

// ---- what had to be heard

/** What is called from a class time on, as if nothing else were done, by instants. */
const laid = (all, anchor, classMs) =>
  all.filter((cue) => cue.at_ms >= classMs).map((cue) => ({ ms: anchor + cue.at_ms - classMs, call: cue.call, onsets: cue.onsets_ms }));

/**
 * The calls of a run, from the cues of its plan and its log of inputs `[ms, input]`: skip goes to the start of
 * the next segment; a pause takes all back; going on counts 3 s in and calls the go of work.
 */
export function calls(all, table, inputs) {
  const like = (call) => all.find((cue) => cue.call === call).onsets_ms;
  let stand = null;
  let sounding = [];
  for (const [ms, input] of inputs) {
    const said = sounding.filter((one) => one.ms < ms);
    // Class time stands in a pause and in a count-in.
    if (stand && !stand.paused) stand = { since: ms, classMs: stand.classMs + Math.max(0, ms - stand.since) };
    if (input === "start") {
      stand = { since: ms, classMs: 0 };
      sounding = laid(all, ms, 0);
    } else if (input === "skip") {
      stand = { since: ms, classMs: table.find(({ end }) => end > stand.classMs).end };
      sounding = [...said, ...laid(all, ms, stand.classMs)];
    } else if (input === "pause") {
      stand = { ...stand, paused: true };
      sounding = said;
    } else if (input === "resume") {
      const on = ms + COUNT_IN;
      stand = { since: on, classMs: stand.classMs };
      const works = table.find(({ end }) => end > stand.classMs).kind === "work";
      const count = [3, 2, 1].map((n) => ({ ms: on - n * 1000, call: `count(${n})`, onsets: like(`count(${n})`) }));
      const go = works ? [{ ms: on, call: "go", onsets: like("go") }] : [];
      sounding = [...said, ...count, ...go, ...laid(all, on, stand.classMs)];
    } else assert.fail(`the test knows no input “${input}”`);
  }
  return sounding;
}

/** What an app may need from an event to having laid a call that falls on it, in ms. */
const REACTS = 5;

/**
 * No sound leaves sooner than the browser's latency after it was laid: what falls right on an input, or on
 * the context's return, sounds at once. A call that lies before the return by up to 20 ms does so too, an
 * earlier one is dropped from where the context stood; around that limit either is right.
 */
function atOnce(all, inputs, stretches, latency) {
  return all.flatMap((one) => {
    const stood = stretches.find(({ stood, ms }) => one.ms >= stood && one.ms < ms + latency + REACTS);
    if (stood) {
      const late = stood.ms - one.ms;
      if (late > LATEST + REACTS) return [];
      return [{ ...one, ms: Math.max(one.ms, stood.ms + latency), once: one.ms, either: late > LATEST - REACTS }];
    }
    const input = inputs.find(([ms, what]) => what !== "pause" && one.ms >= ms && one.ms < ms + latency + REACTS);
    return [input ? { ...one, ms: Math.max(one.ms, input[0] + latency), once: one.ms } : one];
  });
}

export const notes = (all) => all.flatMap(({ onsets, ...one }) => onsets.map((after, n) => ({ ...one, ms: one.ms + after, note: n + 1 })));

// ---- figures

/** Nearest rank. */
const rank = (sorted, part) => sorted[Math.max(0, Math.ceil(sorted.length * part) - 1)];

/** p50, p99 and the worst of some figures, without their signs. */
export function spread(figures) {
  const sorted = figures.map(Math.abs).sort((a, b) => a - b);
  return { count: sorted.length, p50: rank(sorted, 0.5), p99: rank(sorted, 0.99), worst: sorted.at(-1) };
}

/** The slope of `late` over `ms` by least squares, in ms an hour. */
export function drift(points) {
  const mean = (of) => points.reduce((sum, one) => sum + of(one), 0) / points.length;
  const [x, y] = [mean(({ ms }) => ms), mean(({ late }) => late)];
  const above = points.reduce((sum, { ms, late }) => sum + (ms - x) * (late - y), 0);
  return (above / points.reduce((sum, { ms }) => sum + (ms - x) ** 2, 0)) * 3_600_000;
}

// ---- one run

const sleep = (ms) => new Promise((resolve) => {
  setTimeout(resolve, ms);
});

/**
 * Runs the class of PLAN for so many seconds, and puts what was heard beside what had to be.
 * `during` gets the page and `until`, which waits for so many ms after the touch; `within` makes the page.
 */
export async function listen(browser, site, seconds, { within, during, ...options } = {}) {
  const page = await (within ?? ((browser) => openPage(browser, { hasTouch: true })))(browser);
  try {
    page.setDefaultTimeout(10_000);
    await page.addInitScript(ears, options);
    await page.goto(addressOf(site.url, link(PLAN)));
    await page.waitForSelector(at("brief"));
    const start = page.locator(at("start"));
    // The members' page is touched; a desktop's is clicked. Both are the browser's own input.
    await (within ? start.click() : start.tap());
    const touched = performance.now();
    const until = (ms) => sleep(ms - (performance.now() - touched));
    await page.waitForSelector(at("class"));
    await during?.(page, until);
    await until(seconds * 1000);
    // What sounds at this moment is cut: no call may be under way.
    const told = await page.evaluate(tell);
    assertQuiet(page);
    return judge(told);
  } finally {
    await (within ? page.leave() : page.context().close());
  }
}

/** What the page's notes say of a run. */
function judge(told) {
  const { origins: [origin], sampleRate, heard: taped } = told;
  assert.equal(told.contexts, 1, "the app made another number of audio contexts than one");
  // The browser may skip the tap too. What starts in a block that is lost seems 3 ms late.
  const lost = (taped.to - taped.from) / BLOCK - taped.quanta;
  assert.ok(lost < taped.quanta / 200, `the tap missed ${lost} of ${taped.quanta} blocks`);
  const stretches = running(told.states);
  const clock = maps(told.pairs, told.output, stretches);
  const starts = onsets(taken(told), sampleRate);
  const found = starts.filter(({ hole }) => !hole).map((onset) => ({ ...onset, ms: clock.heard(onset.at) }));

  // The run is kept as lines: when it was seen, the plan's link, the log's head, then the inputs.
  const lines = told.logs.at(-1).trim().split("\n").slice(3).map((line) => line.split(" "));
  const inputs = lines.map(([ms, input]) => [Number(ms) - origin, input]);
  // The app's instants have to be what the test takes them for. They are whole ms, rounded down.
  const steered = told.touches.filter(([, id]) => ["start", "pause", "resume", "skip"].includes(id));
  assert.equal(steered.length, inputs.length, "a touch is not in the app's log");
  for (const [n, [ms]] of inputs.entries()) {
    const after = ms + 1 - steered[n][0];
    assert.ok(after > 0 && after < 150, `the app's clock is not the page's: input ${n} came ${after} ms after its touch`);
  }

  const end = clock.heard(taped.to / sampleRate);
  // One figure in each second of the run.
  const seconds = Array.from({ length: Math.floor((taped.to - taped.from) / sampleRate) }, (_, n) => taped.from / sampleRate + n);
  const latency = seconds.map((s) => rank(clock.latencies(s), 0.5)).sort((a, b) => a - b);
  assert.ok(latency[0] > 0, "the browser does not say when its sound is heard");
  const due = calls(cues(PLAN), segments(PLAN), inputs).filter(({ ms }) => ms < end);
  const all = atOnce(due, inputs, stretches, rank(latency, 0.5));
  const { matched, missing, extra } = match(notes(all), found);
  const ahead = matched.filter(({ once }) => once === undefined);
  return {
    told, stretches, inputs, calls: all, matched, extra, missing: missing.filter(({ either }) => !either),
    ...spread(ahead.map(({ late }) => late)), drift: drift(ahead),
    dropped: due.length - all.length, holes: starts.length - found.length, lost,
    once: matched.filter(({ once, note }) => once !== undefined && note === 1).map(({ call, ms, late, once }) => ({ call, late: ms + late - once })),
    latency: { least: latency[0], p50: rank(latency, 0.5), most: latency.at(-1) },
    seconds: shown(told, inputs), plain: plain(told),
  };
}

/** The stretches of samples that were not silent. */
function taken({ frames, samples }) {
  const whole = new Float32Array(Uint8Array.from(Buffer.from(samples, "base64")).buffer);
  return frames.map((frame, n) => [frame, whole.subarray(n * BLOCK, (n + 1) * BLOCK)]);
}

/**
 * The seconds that were shown, each with how late it came: after its exact time, or after the block that held
 * it. The first stands at the touch. Only a run without other inputs is a plain countdown.
 */
function shown({ seconds, blocks }, inputs) {
  if (inputs.length > 1) return undefined;
  const table = segments(PLAN);
  return seconds.map(([ms, value, frame], n) => {
    const classMs = n * 1000;
    const exact = inputs[0][0] + classMs;
    const due = blocks.find(([from, to]) => from <= exact && exact <= to)?.[1] ?? exact;
    const wanted = Math.ceil((table.find(({ end }) => end > classMs).end - classMs) / 1000);
    return { value, wanted, late: ms - due, frame: frame && frame - due, early: ms < exact - 0.2 };
  });
}

/** How late the plain countdowns' callbacks came. */
function plain({ chained, interval, begun }) {
  const steps = chained.map((ms, n) => ms - (chained[n - 1] ?? begun) - 1000);
  return {
    chained: { ...spread(steps), accumulated: chained.at(-1) - begun - chained.length * 1000, seconds: chained.length },
    interval: spread(interval.map((ms, n) => ms - begun - (n + 1) * 1000)),
  };
}

// ---- the conditions

/** Nothing disturbs; one skip and one pause. */
export const idle = (browser, site, seconds) =>
  listen(browser, site, seconds, {
    async during(page, until) {
      await until(2_300);
      await page.tap(at("skip"));
      await until(5_300);
      await page.tap(at("pause"));
      await until(6_500);
      await page.tap(at("resume"));
    },
  });

/** The main thread is busy for 300 ms every 2 s, around each second second of the class. */
export const blocked = (browser, site, seconds) =>
  listen(browser, site, seconds, { block: { every: 2000, lasts: 300, first: 850 } });

/** The page's clock goes faster than the audio clock, so that they part. */
export const skewed = (browser, site, seconds, rate) => listen(browser, site, seconds, { rate });

/** The tab is behind another one from 2.5 s on to 3 s before the end. */
export async function hidden(browser, site, seconds) {
  assert.ok(endpoints.has(browser), "the hidden page takes a browser of soundBrowser()");
  // Playwright makes its pages believe that they are in front. One of the browser's own context is left alone.
  const own = await chromium.connectOverCDP(endpoints.get(browser), { noDefaults: true });
  const [context] = own.contexts();
  let other;
  const result = await listen(browser, site, seconds, {
    async within() {
      const page = await context.newPage();
      other = await context.newPage();
      await page.bringToFront();
      page.on("pageerror", (error) => page.pageErrors.push(String(error)));
      return Object.assign(page, {
        consoleErrors: [], pageErrors: [], outside: [],
        // The browser's own context is no fresh one: the next run must not find this one's class.
        leave: async () => {
          await page.evaluate(() => localStorage.clear());
          await page.close();
          await other.close();
          await own.close();
        },
      });
    },
    async during(page, until) {
      await until(2_500);
      await other.bringToFront();
      await until((seconds - 3) * 1000);
      await page.bringToFront();
    },
  });
  const { visible, throttle } = result.told;
  assert.deepEqual(visible.map(([, state]) => state), ["hidden", "visible"], "the page was not hidden and shown once");
  const [[from], [to]] = visible;
  const inside = throttle.filter((ms) => ms > from + 1000 && ms < to);
  return { ...result, hidden: to - from, timer: (inside.at(-1) - inside[0]) / (inside.length - 1) };
}

/** Runs in the page: suspends its context and resumes it at class times in ms. Returns how long it takes to resume. */
async function suspend([from, to]) {
  const seen = globalThis[Symbol.for("rungbook.ears")];
  const [context] = seen.contexts;
  const wait = (ms) => new Promise((resolve) => {
    setTimeout(resolve, ms - (performance.now() - seen.touches.find(([, id]) => id === "start")[0]));
  });
  await wait(from);
  await context.suspend();
  await wait(to);
  const asked = performance.now();
  await context.resume();
  return performance.now() - asked;
}

/**
 * The context is suspended and resumed from outside, twice in each 36 s (a round of the plan): once over a
 * count and a go, and once so that it comes back about at a half: a few ms before it or after, as the browser
 * pleases. What has to be heard of that half follows from when it did.
 */
export const suspended = (browser, site, seconds) =>
  listen(browser, site, seconds, {
    async during(page) {
      for (let first = 0; first + 12_000 < seconds * 1000; first += 36_000) {
        const took = await page.evaluate(suspend, [first + 4_400, first + 6_700]);
        await page.evaluate(suspend, [first + 9_000, first + 10_000 - took]);
      }
    },
  });

/** Whether a class gets out at all, and a pause takes back what is laid down: in the browser's own time, however slow. */
export async function reach(browser, site) {
  const page = await openPage(browser, { hasTouch: true });
  try {
    await page.addInitScript(ears, {});
    await page.goto(addressOf(site.url, link(PLAN)));
    await page.tap(at("start"));
    const sounds = () => page.evaluate(() => globalThis[Symbol.for("rungbook.ears")].runs.map(([frame]) => frame));
    await page.waitForFunction(() => globalThis[Symbol.for("rungbook.ears")].runs.length > 0);
    await page.tap(at("pause"));
    await page.waitForSelector(at("resume"));
    const rate = await page.evaluate(() => globalThis[Symbol.for("rungbook.ears")].sampleRate);
    // What sounds fades out within this; the rest of the count would sound within the seconds after.
    const [silent, long] = [0.5 * rate, 4 * rate];
    const from = silent + (await page.evaluate(() => globalThis[Symbol.for("rungbook.ears")].heard.to));
    await page.waitForFunction((to) => globalThis[Symbol.for("rungbook.ears")].heard.to > to, from + long);
    const frames = await sounds();
    assertQuiet(page);
    return { sounded: frames.length, after: frames.filter((frame) => frame > from).length };
  } finally {
    await page.context().close();
  }
}

/** Sounds of our own at known times, through the tap: how well onsets are found, in ms by their kind. */
export async function known(browser, site) {
  const page = await openPage(browser);
  try {
    await page.addInitScript(ears, {});
    await page.goto(site.url);
    // The first use of its destination puts the tap in.
    await page.evaluate(() => addEventListener("click", () => new AudioContext().destination, { once: true }));
    await page.mouse.click(5, 5);
    await page.waitForFunction(() => globalThis[Symbol.for("rungbook.ears")].heard.from !== null);
    const times = await page.evaluate(() => {
      const [context] = globalThis[Symbol.for("rungbook.ears")].contexts;
      const note = (at, lasts, hertz) => {
        const shape = new GainNode(context, { gain: 0 });
        shape.gain.setValueAtTime(0, at);
        shape.gain.linearRampToValueAtTime(0.8, at + 0.002);
        shape.gain.setValueAtTime(0.8, at + lasts - 0.02);
        shape.gain.linearRampToValueAtTime(0, at + lasts);
        const tone = new OscillatorNode(context, { type: "triangle", frequency: hertz });
        tone.connect(shape).connect(context.destination);
        tone.start(at);
        tone.stop(at + lasts + 0.01);
        return at;
      };
      const from = context.currentTime + 0.1;
      const [free, touching] = [[], []];
      for (let n = 0; n < 8; n += 1) {
        // At odd times, so that not every onset lies on a block.
        free.push(note(from + n * 0.2017, 0.06, 440 + 110 * n));
        touching.push(note(from + n * 0.2017 + 0.06, 0.06, 660 + 110 * n));
      }
      return { free, touching };
    });
    await page.waitForFunction((end) => globalThis[Symbol.for("rungbook.ears")].contexts[0].currentTime > end, times.touching.at(-1) + 0.3);
    const told = await page.evaluate(tell);
    const found = onsets(taken(told), told.sampleRate).filter(({ hole }) => !hole).map(({ at }) => ({ ms: at * 1000 }));
    const compare = (list) => match(list.map((s) => ({ ms: s * 1000 })), found, 5).matched.map(({ late }) => late);
    return { count: found.length, wanted: times.free.length + times.touching.length, free: compare(times.free), touching: compare(times.touching) };
  } finally {
    await page.context().close();
  }
}
