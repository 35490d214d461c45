// What is spoken, felt, shown on a lock screen and sounded behind it; each device by a stand-in that is
// there, missing, late or refuses.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { at, brief, house, passTo, read, segments, setHidden, start } from "./app.mjs";
import { runFor } from "./lib.mjs";

const { address, visit } = house();
const PLAN = "harbour-lunch";
const PHONE = { isMobile: true, hasTouch: true };
const all = segments(PLAN);

/** What the reviewed calls of a demo say is spoken, as [ms of class time, words]. */
function reviewed(name) {
  const path = fileURLToPath(new URL(`../plans/calls/${name}.txt`, import.meta.url));
  const line = /^ *(\d+):(\d+)\.(\d+) {2}“(.*)”$/;
  return readFileSync(path, "utf8").split("\n").map((text) => line.exec(text)).filter(Boolean)
    .map(([, m, s, ms, words]) => [Number(m) * 60_000 + Number(s) * 1_000 + Number(ms), words]);
}

/** Runs in the page: a voice that notes what it is given, and is done with it after a while. */
function voice({ langs, local, late }) {
  const heard = [];
  const voices = langs.map((lang, n) => ({ lang, localService: local, default: n === 0, name: lang, voiceURI: lang }));
  let saying = 0;
  const synthesis = new EventTarget();
  Object.assign(synthesis, {
    come: !late,
    getVoices: () => (synthesis.come ? voices : []),
    speak(words) {
      if (!words.text) return;
      heard.push({ at: Date.now(), text: words.text, lang: words.lang, volume: words.volume });
      saying += 1;
      setTimeout(() => { saying = Math.max(0, saying - 1); }, words.text.split(/\s+/).length * 400);
    },
    cancel() {
      heard.push({ at: Date.now(), cancel: true });
      saying = 0;
    },
  });
  Object.defineProperties(synthesis, {
    speaking: { get: () => saying > 0 }, pending: { get: () => saying > 1 },
  });
  Object.defineProperty(window, "speechSynthesis", { value: synthesis });
  window.SpeechSynthesisUtterance = class { constructor(text) { Object.assign(this, { text, volume: 1 }); } };
  window.heard = heard;
}

const withVoice = (page, options = {}) =>
  page.addInitScript(voice, { langs: ["en-GB"], local: true, late: false, ...options });
const heard = (page) => page.evaluate(() => window.heard);
/** What was said since the class began, as [ms of class time, words]; sentences of one instant are one. */
async function said(page, from) {
  const list = (await heard(page)).filter((one) => !one.cancel && one.at >= from);
  const phrases = new Map();
  for (const { at: instant, text } of list) phrases.set(instant, [...(phrases.get(instant) ?? []), text]);
  return [...phrases].map(([instant, texts]) => [instant - from, texts.join(" ")]);
}
const now = (page) => page.evaluate(() => Date.now());

for (const level of ["short", "full"]) {
  test(`at the level ${level} the class is spoken as it was reviewed`, () =>
    visit({}, async (page) => {
      await withVoice(page);
      await brief(page, address(PLAN));
      await page.click(at(`calls-${level}`));
      const from = await now(page);
      await page.click(at("start"));
      await page.waitForSelector(at("class"));
      await page.clock.runFor(300_000);
      const expected = reviewed(`${PLAN}.${level}`).filter(([ms]) => ms < 300_000);
      const got = await said(page, from);
      assert.ok(expected.length > 15);
      assert.deepEqual(got.map(([, words]) => words), expected.map(([, words]) => words));
      // A timer comes up to a few ms late; never early.
      got.forEach(([ms], n) => assert.ok(ms >= expected[n][0] && ms <= expected[n][0] + 20, `${ms}: ${expected[n]}`));
    }));
}

test("calls in Spanish are spoken by a Spanish voice", () =>
  visit({}, async (page) => {
    await withVoice(page, { langs: ["en-US", "es-MX"] });
    await brief(page, address(PLAN));
    await page.selectOption(at("tongue"), "es");
    const from = await now(page);
    await page.click(at("start"));
    await page.clock.runFor(100_000);
    const expected = reviewed(`${PLAN}.short.es`).filter(([ms]) => ms <= 100_000);
    assert.deepEqual((await said(page, from)).map(([, words]) => words), expected.map(([, words]) => words));
    assert.ok((await heard(page)).filter((one) => one.text).every((one) => one.lang === "es-MX"));
  }));

test("without a voice Brief says so, and calls are tones", () =>
  visit({}, async (page) => {
    await withVoice(page, { langs: ["fr-FR"] });
    await brief(page, address(PLAN));
    assert.match(await page.textContent(at("voice-line")), /no voice for English/);
    await page.click(at("calls-tones"));
    assert.equal(await page.locator(at("voice-line")).count(), 0);
    await page.click(at("calls-full"));
    await page.click(at("start"));
    await page.clock.runFor(60_000);
    assert.deepEqual((await heard(page)).filter((one) => one.text), []);
  }));

test("a voice that comes late is used from then on", () =>
  visit({}, async (page) => {
    await withVoice(page, { late: true });
    await start(page, address(PLAN));
    await page.clock.runFor(20_000);
    assert.equal((await heard(page)).length, 0);
    await page.evaluate(() => {
      speechSynthesis.come = true;
      speechSynthesis.dispatchEvent(new Event("voiceschanged"));
    });
    await page.clock.runFor(60_000);
    assert.ok((await heard(page)).some((one) => one.text === "Ten to go"));
  }));

test("a voice that needs the network is told, and is silent without one", () =>
  visit({}, async (page) => {
    await withVoice(page, { local: false });
    await page.addInitScript(() => Object.defineProperty(Navigator.prototype, "onLine", { get: () => false }));
    await brief(page, address(PLAN));
    assert.match(await page.textContent(at("voice-line")), /needs the network/);
    await page.click(at("start"));
    await page.clock.runFor(60_000);
    assert.deepEqual((await heard(page)).filter((one) => one.text), []);
  }));

test("words that come too late for their time are not said, and a pause stops them in mid-word", () =>
  visit({}, async (page) => {
    await withVoice(page);
    const from = await (async () => { await start(page, address(PLAN)); return now(page); })();
    // Asleep from before the words on the next move until after the go.
    await page.clock.fastForward(11_000);
    assert.deepEqual((await said(page, from)).filter(([ms]) => ms > 10_000), []);
    const [, ten] = reviewed(`${PLAN}.short`).map(([ms]) => ms).filter((ms) => ms > 11_000);
    await page.clock.runFor(ten - 11_000 + 100);
    const before = await heard(page);
    assert.ok(!before.at(-1).cancel);
    await page.click(at("pause"));
    assert.ok((await heard(page)).at(-1).cancel);
    await page.clock.runFor(60_000);
    assert.equal((await heard(page)).length, before.length + 1);
  }));

test("what a member chose is remembered", () =>
  visit(PHONE, async (page) => {
    await withVoice(page, { langs: ["en-US", "es-ES"] });
    await brief(page, address(PLAN));
    await page.click(at("calls-full"));
    await page.selectOption(at("tongue"), "es");
    await page.fill(at("volume"), "40");
    await page.uncheck(at("vibrate"));
    await page.check(at("screen-off"));
    await page.reload();
    await page.waitForSelector(at("brief"));
    assert.equal(await page.getAttribute(at("calls-full"), "aria-pressed"), "true");
    assert.equal(await page.inputValue(at("tongue")), "es");
    assert.equal(await page.inputValue(at("volume")), "40");
    assert.equal(await page.isChecked(at("vibrate")), false);
    assert.equal(await page.isChecked(at("screen-off")), true);
    await page.click(at("start"));
    await page.clock.runFor(10_000);
    assert.ok((await heard(page)).filter((one) => one.text).every((one) => Math.abs(one.volume - 0.4) < 1e-6));
  }));

test("calls are felt in their rhythm, and not when they are not wanted", () =>
  visit(PHONE, async (page) => {
    await page.addInitScript(() => {
      window.felt = [];
      Navigator.prototype.vibrate = (pattern) => window.felt.push([Date.now(), [...pattern]]) > 0;
    });
    await start(page, address(PLAN));
    const from = await now(page);
    await page.clock.runFor(10_500);
    const felt = await page.evaluate(() => window.felt);
    const go = felt.at(-1);
    assert.deepEqual(felt.slice(-4, -1).map(([, pattern]) => pattern), [[90], [90], [90]]);
    assert.deepEqual(go[1], [110, 0, 380]);
    assert.ok(Math.abs(go[0] - from - 10_000) <= 30, String(go[0] - from));
    await page.evaluate(() => localStorage.setItem("rungbook/1/settings", "vibrate=no"));
    await page.reload();
    await page.waitForSelector(at("brief"));
    await page.click(at("start"));
    await page.clock.runFor(15_000);
    assert.deepEqual(await page.evaluate(() => window.felt), []);
  }));

for (const [how, lock, expected] of [
  ["refused", { request: "refuse" }, 1],
  ["granted", { request: "grant" }, 0],
]) {
  test(`a wake lock that is ${how}`, () =>
    visit(PHONE, async (page) => {
      await page.addInitScript(({ request }) => {
        window.asked = 0;
        const lock = { request: async () => {
          window.asked += 1;
          if (request === "refuse") throw new DOMException("low battery", "NotAllowedError");
          return Object.assign(new EventTarget(), { release: async () => {} });
        } };
        Object.defineProperty(Navigator.prototype, "wakeLock", { value: lock });
      }, lock);
      await start(page, address(PLAN));
      await page.clock.runFor(2_000);
      assert.equal(await page.locator(at("dark")).count(), expected);
      if (expected > 0) {
        await page.click(at("dark"));
        assert.equal(await page.locator(at("dark")).count(), 0);
      }
      // The browser lets go of it when the page is hidden: it is asked for again.
      const asked = await page.evaluate(() => window.asked);
      await page.evaluate(() => document.dispatchEvent(new Event("visibilitychange")));
      assert.equal(await page.evaluate(() => window.asked), asked + 1);
    }));
}

test("a browser without a wake lock is told of on Brief", () =>
  visit(PHONE, async (page) => {
    await page.addInitScript(() => Object.defineProperty(Navigator.prototype, "wakeLock", { value: undefined }));
    await brief(page, address(PLAN));
    assert.equal(await page.getByText("can't keep the screen on").count(), 1);
  }));

test("media keys steer the class, and the lock screen says what is on", () =>
  visit({}, async (page) => {
    await page.addInitScript(() => {
      const session = { keys: {}, setActionHandler(name, handler) {
        if (name === "previoustrack") throw new TypeError("not known here");
        session.keys[name] = handler;
      } };
      Object.defineProperty(Navigator.prototype, "mediaSession", { value: session });
    });
    const key = (name) => page.evaluate((name) => navigator.mediaSession.keys[name](), name);
    const shown = () => page.evaluate(() => {
      const { playbackState, metadata } = navigator.mediaSession;
      return [playbackState, metadata?.title, metadata?.artist];
    });
    await brief(page, address(PLAN));
    // Before the class a key does nothing.
    await key("nexttrack");
    assert.equal((await read(page)).screen, "brief");
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    assert.deepEqual(await shown(), ["playing", "Get ready", "Harbour lunch class"]);
    await key("nexttrack");
    const work = all.find((segment) => segment.kind === "work");
    assert.deepEqual(await shown(), ["playing", work.name, "Harbour lunch class"]);
    await key("pause");
    assert.equal((await read(page)).stands, "Paused");
    assert.equal((await shown())[0], "paused");
    await key("play");
    assert.equal((await read(page)).stands, "On in 3");
    await page.clock.runFor(3_000);
    assert.equal((await shown())[0], "playing");
    await page.click(at("unwell"));
    await page.click(at("end"));
    await page.waitForSelector(at("done"));
    assert.equal((await shown())[0], "none");
  }));

test("with the screen off the rest of the class is one track, with every call in its place", () =>
  visit(PHONE, async (page) => {
    await page.addInitScript(() => {
      window.played = [];
      // The page may not fetch what it made: the blob is kept where it is given its address.
      const [address, blobs] = [URL.createObjectURL, new Map()];
      URL.createObjectURL = (blob) => {
        const url = address.call(URL, blob);
        blobs.set(url, blob);
        window.made = true;
        return url;
      };
      window.bytes = async (url) => [...new Uint8Array(await blobs.get(url).arrayBuffer())];
      HTMLMediaElement.prototype.play = async function () {
        Object.defineProperty(this, "paused", { configurable: true, get: () => false });
        window.played.push({ at: Date.now(), from: this.currentTime, src: this.src });
      };
      HTMLMediaElement.prototype.pause = function () {
        Object.defineProperty(this, "paused", { configurable: true, get: () => true });
        window.paused = Date.now();
      };
      // An element that loads nothing has no place to seek to.
      Object.defineProperty(HTMLMediaElement.prototype, "currentTime", {
        get() { return this.place ?? 0; }, set(place) { this.place = place; },
      });
    });
    await brief(page, address("two-minutes"));
    await page.check(at("screen-off"));
    const from = await now(page);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.clock.runFor(2_000);
    // The tones are rendered in the browser's own time.
    while (!(await page.evaluate(() => window.made))) await page.waitForTimeout(50);
    await page.clock.runFor(20_000);
    await setHidden(page, true);
    const [track] = await page.evaluate(() => window.played);
    assert.ok(track, "nothing plays");
    const wav = Buffer.from(await page.evaluate((src) => window.bytes(src), track.src));
    assert.equal(wav.toString("latin1", 0, 4) + wav.toString("latin1", 8, 16), "RIFFWAVEfmt ");
    const rate = wav.readUInt32LE(24);
    const loud = (ms) => {
      const i = 44 + 2 * Math.round((ms * rate) / 1000);
      let most = 0;
      for (let k = i; k < Math.min(i + 2 * rate * 0.02, wav.length - 1); k += 2) most = Math.max(most, Math.abs(wav.readInt16LE(k)));
      return most;
    };
    // The track's own start, as the class's time: from what it was told to play from.
    const zero = track.at - from - track.from * 1000;
    const cues = JSON.parse(readFileSync(fileURLToPath(new URL("../../target/e2e-cues.json", import.meta.url)), "utf8"))["two-minutes"];
    const inside = cues.filter((cue) => cue.at_ms > zero + 50);
    assert.ok(inside.length > 20);
    for (const { at_ms: ms, call } of inside) {
      assert.ok(loud(ms - zero + 3) > 5_000, `${call} at ${ms} is not there`);
      assert.ok(loud(ms - zero - 40) < 200 || cues.some((other) => other.at_ms < ms && ms - other.at_ms < 700), `before ${call} at ${ms} it is not silent`);
    }
    await setHidden(page, false);
    assert.ok(await page.evaluate(() => window.paused > 0));
    assert.equal((await read(page)).screen, "class");
  }));

test("a class that is hidden without that choice plays no track", () =>
  visit(PHONE, async (page) => {
    await page.addInitScript(() => {
      window.played = 0;
      HTMLMediaElement.prototype.play = async () => { window.played += 1; };
    });
    await start(page, address(PLAN));
    await passTo(page, all[0], 5_000);
    await setHidden(page, true);
    assert.equal(await page.evaluate(() => window.played), 0);
  }));

test("who is unwell hears nothing more, whatever keys are pressed and whatever begins", () =>
  visit({}, async (page) => {
    await withVoice(page);
    await page.addInitScript(() => {
      const session = { keys: {}, setActionHandler(name, handler) { session.keys[name] = handler; } };
      Object.defineProperty(Navigator.prototype, "mediaSession", { value: session });
    });
    // Before a set start nothing can be paused: silence is all.
    await brief(page, `${address(PLAN)}&at=2026-11-25T12:03:00Z`);
    await page.click(at("start"));
    await page.waitForSelector(at("class"));
    await page.click(at("unwell"));
    await page.clock.runFor(240_000);
    assert.deepEqual((await heard(page)).filter((one) => one.text), []);
    await page.evaluate(() => navigator.mediaSession.keys.nexttrack());
    await page.click(at("go-on"));
    assert.equal((await read(page)).help, false);
    await page.clock.runFor(60_000);
    assert.ok((await heard(page)).some((one) => one.text));
  }));
