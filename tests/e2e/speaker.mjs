// A loudspeaker on the fake clock, in place of the browser's: it notes what is laid on its clock and taken back,
// and says what of it is heard, and when. So the app's part in a call's exactness is tested to the millisecond on
// whatever machine; what the browser and the device add is measured by tools/sound.mjs.
//
// Its clock is what the Web Audio API and browsers say of real ones: it begins late, is read in steps of the
// device's buffer, goes a little faster or slower than the page's, stands while it is suspended or stutters, and
// what is rendered is heard a latency later. Nothing here is taken from src/device.

/**
 * Runs in the page before the app. `ppm`: how much faster than the page's clock the audio clock goes; `latency`
 * and `step` in ms; `pair`: whether the browser has a word for when its sound is heard; `wakes`: ms from the
 * touch until it runs; `deaf`: nothing that is taken back is heard of.
 */
export function speaker({ ppm = 0, latency = 40, step = 10, pair = true, wakes = 25, deaf = false }) {
  const rate = 1 + ppm / 1e6;
  const contexts = [];

  // Of what a parameter is told only that counts here which makes a note silent before it starts.
  class Param {
    value = 1;
    /** Seconds from which it is 0 for good. */
    zero = Infinity;
    setValueAtTime() {
      return this;
    }
    linearRampToValueAtTime(value, when) {
      this.zero = value === 0 && !deaf ? Math.min(this.zero, when) : Infinity;
      return this;
    }
    setTargetAtTime() {
      return this;
    }
  }

  class Node {
    to = null;
    cut = Infinity;
    constructor(context) {
      this.context = context;
    }
    connect(node) {
      this.to = node;
      return node;
    }
    disconnect() {
      if (!deaf) this.cut = this.context.rendered();
    }
  }

  class Gain extends Node {
    gain = new Param();
  }

  class Oscillator extends Node {
    type = "sine";
    frequency = new Param();
    ends = Infinity;
    start(when) {
      // What is in the past begins at once.
      this.from = Math.max(when, this.context.rendered());
      this.context.tones.push(this);
    }
    stop(when) {
      // The first one is the note's own end.
      if (this.ends === Infinity || !deaf) this.ends = Math.min(this.ends, when);
    }
    /** Whether its start gets through all that it is led through. */
    sounds() {
      if (this.ends <= this.from) return false;
      for (let node = this; node; node = node.to) {
        if (node === this.context.destination) return this.from < this.context.closed;
        // A note's own shape starts at 0 and ends there, after its start.
        if (node.cut <= this.from || (node.gain && node.gain.zero <= this.from)) return false;
      }
      return false;
    }
  }

  class Context {
    state = "suspended";
    onstatechange = null;
    baseLatency = 0.01;
    closed = Infinity;
    tones = [];
    /** Where its clock stood at which of the page's, and whether it went on from there: seconds, ms, bool. */
    stretches = [[0, performance.now(), false]];
    destination = new Node(this);
    get outputLatency() {
      return latency / 1000 - this.baseLatency;
    }
    constructor() {
      contexts.push(this);
      setTimeout(() => this.turn("running"), wakes);
    }
    /** Seconds that have been rendered. */
    rendered(now = performance.now()) {
      const [s, since, goes] = this.stretches.at(-1);
      return goes ? s + ((now - since) / 1000) * rate : s;
    }
    get currentTime() {
      // A device's buffers follow each other from its start.
      return Math.max(this.stretches.at(-1)[0], Math.floor((this.rendered() * 1000) / step) * (step / 1000));
    }
    go(on) {
      this.stretches.push([this.rendered(), performance.now(), on]);
    }
    /** Stands still without a word, or goes on. */
    stutter() {
      this.go(!this.stretches.at(-1)[2]);
    }
    turn(state) {
      if (this.state === state || this.state === "closed") return;
      this.state = state;
      this.go(state === "running");
      this.onstatechange?.();
    }
    resume() {
      return Promise.resolve();
    }
    close() {
      this.closed = this.rendered();
      this.turn("closed");
      return Promise.resolve();
    }
    createGain() {
      return new Gain(this);
    }
    createOscillator() {
      return new Oscillator(this);
    }
    /** When a second of its clock is heard, in ms of the page's clock; never for what it did not reach. */
    heard(s) {
      const [from, since, goes] = this.stretches.findLast(([start, , on]) => on && start <= s) ?? [];
      return goes ? since + ((s - from) * 1000) / rate + latency : Infinity;
    }
  }
  if (pair) {
    Context.prototype.getOutputTimestamp = function () {
      const now = performance.now();
      const contextTime = this.rendered(now - latency);
      return contextTime > 0 ? { contextTime, performanceTime: now } : { contextTime: 0, performanceTime: 0 };
    };
  }
  window.AudioContext = Context;
  // Measured are the tones; without a voice every call is one, as the cues of the plan have it.
  Object.defineProperty(window, "speechSynthesis", { value: undefined });
  window.speaker = {
    contexts,
    /** When what was heard until now began, in ms of the page's clock. */
    heard: () => contexts.flatMap((context) => context.tones.filter((tone) => tone.sounds()).map((tone) => context.heard(tone.from)))
      .filter((ms) => ms <= performance.now()).sort((a, b) => a - b),
  };
}
