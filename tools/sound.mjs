// How exactly a class sounds, beside the goals: `make bench` has these rows, and by hand
// `tools/env.sh node tools/sound.mjs` prints them. Seven minutes of real time, since the audio clock is what
// is measured. It judges dist as it stands. tests/e2e/tap.mjs says how, and how far the figures are good.
import { fileURLToPath } from "node:url";
import { FRAME, blocked, hidden, idle, known, skewed, soundBrowser, soundSite, spread, suspended } from "../tests/e2e/tap.mjs";

/** Sounds may be so far from their time, 99 of 100. */
const GOAL = 5;
/** What a run's first and last sounds may be apart by, in ms: more than the map's error, less than is heard. */
const PARTS = 1;
/** Seconds of a run; it ends in silence. */
const RUN = 60.5;
/** The pause and the skip of the idle run move its silence. */
const IDLE_RUN = 61;
/** Two minutes hidden. */
const HIDDEN_RUN = 126.5;
/** 50 ppm, what quartz clocks part by, is 180 ms an hour. Ten times that is seen in a minute: 30 ms. */
const FAST = 1.0005;

const ms = (number) => `${number.toFixed(1)} ms`;
const three = ({ p50, p99, worst }) => `${[p50, p99, worst].map((number) => number.toFixed(1)).join(" / ")} ms`;

/** The rows of one condition. `goal` is of what: p99, or the worst. */
function rowsOf(what, run, { of = "p99" } = {}) {
  const { calls, matched, missing, extra, once, holes, lost } = run;
  const wrong = missing.length + extra.length;
  const minutes = (matched.at(-1).ms - matched[0].ms) / 60_000;
  const drifted = (run.drift / 60) * minutes;
  const rows = [
    [what, `${calls.length} calls, ${missing.length} sounds missing, ${extra.length} too many`, "none, none", wrong === 0],
    ["... p50 / p99 / worst", three(run), `${of} ${GOAL} ms`, run[of] <= GOAL],
    ["... drift", `${run.drift.toFixed(0)} ms/h (${ms(drifted)} in the run)`, `none: under ${ms(PARTS)} in the run`, Math.abs(drifted) < PARTS],
  ];
  if (holes + lost > 0) rows.push(["... notes with a hole, blocks that the tap missed", `${holes}, ${lost}`]);
  if (once.length > 0) {
    const late = once.map((one) => one.late).sort((a, b) => a - b);
    rows.push(["... what was due at once, heard after", `${ms(late[0])} to ${ms(late.at(-1))} (latency ${ms(run.latency.p50)})`]);
  }
  return rows;
}

/**
 * Measures, in the browser of `soundBrowser()`: another one does not hide its pages. Returns rows of what, figure
 * and, where there is one, goal and whether it is met.
 */
export async function sound(browser) {
  const site = await soundSite();
  const said = (what) => console.error(`${Math.round(performance.now() / 1000)} s: sound, ${what}`);
  try {
    const rows = [];
    said("the tap");
    const { free, touching } = await known(browser, site);
    rows.push(["the tap's own error, after silence / touching", `${spread(free).worst.toFixed(2)} / ${spread(touching).worst.toFixed(2)} ms`]);

    said("idle");
    const quiet = await idle(browser, site, IDLE_RUN);
    rows.push(...rowsOf("idle, a skip and a pause", quiet));
    rows.push(["... latency by the browser: least / p50 / most", Object.values(quiet.latency).map((number) => number.toFixed(1)).join(" / ") + " ms"]);

    said("blocked");
    const busy = await blocked(browser, site, RUN);
    rows.push(...rowsOf("main thread blocked 300 ms every 2 s", busy));
    const seconds = busy.seconds.slice(1);
    const late = spread(seconds.map((one) => one.late));
    const wrong = seconds.filter(({ value, wanted, early }) => value !== wanted || early).length;
    rows.push(["... seconds shown: p50 / p99 / worst after their time or the block", three(late), `worst ${FRAME} ms`, late.worst <= FRAME && wrong === 0]);
    rows.push(["... and the frame that shows them", three(spread(seconds.map(({ frame }) => frame).filter((frame) => frame !== null)))]);
    const { chained, interval } = busy.plain;
    rows.push(["... baseline, a chained setTimeout: p50 / p99 / worst", three(chained)]);
    rows.push([`... ... late in all after ${chained.count} s`, ms(chained.accumulated)]);
    rows.push(["... baseline, a setInterval: p50 / p99 / worst", three(interval)]);

    said("hidden");
    const behind = await hidden(browser, site, HIDDEN_RUN);
    rows.push(...rowsOf(`behind another tab for ${Math.round(behind.hidden / 1000)} s`, behind));
    rows.push(["... a timer of 100 ms came every", ms(behind.timer)]);

    said("suspended");
    const stood = await suspended(browser, site, RUN);
    rows.push(...rowsOf(`the context suspended ${stood.stretches.length - 1} times, ${stood.dropped} calls too late`, stood));

    said("drift");
    const fast = await skewed(browser, site, RUN, FAST);
    rows.push(...rowsOf(`the page's clock ${Math.round((FAST - 1) * 1e6)} ppm fast`, fast, { of: "worst" }));
    return rows;
  } finally {
    await site.close();
  }
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const browser = await soundBrowser();
  try {
    const cells = (await sound(browser)).map(([what, figure, goal, met]) => [what, figure, goal ?? "", met === undefined ? "" : met ? "met" : "NOT MET"]);
    const table = [["what", "figure", "goal", ""], ["---", "---", "---", "---"], ...cells];
    const widths = table[0].map((_, i) => Math.max(...table.map((row) => row[i].length)));
    for (const row of table) console.log(`| ${row.map((cell, i) => cell.padEnd(widths[i])).join(" | ")} |`);
  } finally {
    await browser.close();
  }
}
