//! Calls on the audio clock.
//!
//! A schedule is a list of calls with their instants; it is laid onto the audio clock at once,
//! through one gain node of its own, so that all of it can be taken back with one short ramp.
//! The browser's timers have no part in when a call sounds.

use std::rc::Rc;

use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast as _, JsValue};
use web_sys::{AudioContext, AudioContextState, GainNode, OscillatorNode};

use super::audio_map::{AudioMap, BURST_TOLD};
use super::clock::Clock;
use super::js;
use super::tones::play;
use crate::conductor::SoundState;
use crate::cue::tone_ms;
use crate::run::Sounding;

/// A call that is later than this is not heard at all: a late go is worse than none.
const LATEST_MS: f64 = 20.0;
/// How long a cancelled schedule takes to fall silent, in seconds.
const CANCEL_S: f64 = 0.01;
/// Tones under speech, against tones alone.
const DUCKED: f32 = 0.35;
/// How long tones take to get out of the way of speech, in seconds.
const DUCK_S: f64 = 0.05;
/// For how long a clock that does not step is read at once.
const SETTLE_MS: f64 = 15.0;
/// More readings than fit into that.
const SETTLE_READS: u32 = 20_000;
/// An audio clock that says it runs and has stood for so long is dead.
const DEAD_MS: f64 = 1_500.0;
/// One that stood for so much of a burst may be. No buffer is as long.
const STANDS_MS: f64 = 60.0;
/// It is looked at again after this.
pub const LOOK_AGAIN_MS: i64 = 1_600;

/// The loudspeaker. Where there is none, all of it does nothing.
#[derive(Default)]
pub struct Audio {
    context: Option<AudioContext>,
    /// All that sounds goes through it: the volume, and the way out of speech's way.
    out: Option<GainNode>,
    missing: bool,
    volume: f32,
    schedules: Vec<Schedule>,
    map: AudioMap,
    /// When the audio clock was last seen to move: the page's clock, and its own.
    moved: (f64, f64),
    /// It moved between two readings of this burst.
    runs: bool,
    changed: Option<Rc<dyn Fn()>>,
}

/// What was laid down at once.
struct Schedule {
    bus: GainNode,
    /// With the instant of the call that each belongs to.
    tones: Vec<(i64, OscillatorNode)>,
    /// When the last call ends, in seconds of the context.
    until: f64,
}

impl Audio {
    /// Calls back when the browser lets sound out, or holds it back.
    pub fn on_change(&mut self, changed: impl Fn() + 'static) {
        self.changed = Some(Rc::new(changed));
    }

    /// Makes the sound ready. Browsers want a touch for this: call it in the handler of one.
    pub fn unlock(&mut self) {
        if self.context.is_none() && !self.missing {
            self.open();
        }
        if let Some(context) = &self.context
            && context.state() != AudioContextState::Running
        {
            // Comes true when the browser pleases; the state tells.
            let _ = context.resume();
        }
    }

    fn open(&mut self) {
        self.context = AudioContext::new().ok();
        self.missing = self.context.is_none();
        self.map = AudioMap::default();
        let Some(context) = &self.context else { return };
        self.out = context.create_gain().ok();
        if let Some(out) = &self.out {
            out.gain().set_value(self.volume);
            // A context that can't be heard has no state that says so.
            let _ = out.connect_with_audio_node(&context.destination());
        }
        if let Some(changed) = self.changed.clone() {
            let hears = Closure::<dyn Fn()>::new(move || changed());
            context.set_onstatechange(Some(hears.as_ref().unchecked_ref()));
            // It is called for as long as the context lives, which is as long as the page.
            hears.forget();
        }
    }

    /// How loud, from 0 to 1.
    pub fn set_volume(&mut self, volume: f32) {
        self.volume = volume.clamp(0.0, 1.0);
        if let (Some(context), Some(out)) = (&self.context, &self.out) {
            let _ = out.gain().cancel_scheduled_values(context.current_time());
            out.gain().set_value(self.volume);
        }
    }

    /// Tones get out of the way of speech for so long.
    pub fn duck(&self, for_ms: i64) {
        let (Some(context), Some(out)) = (&self.context, &self.out) else {
            return;
        };
        let now = context.current_time();
        let gain = out.gain();
        let _ = gain.cancel_scheduled_values(now);
        let back = now + for_ms as f64 / 1000.0;
        // What can't be ducked is heard over the words.
        let _ = gain.set_target_at_time(self.volume * DUCKED, now, DUCK_S / 3.0);
        let _ = gain.set_target_at_time(self.volume, back, DUCK_S / 3.0);
    }

    /// Tones are as loud as they were.
    pub fn unduck(&self) {
        let (Some(context), Some(out)) = (&self.context, &self.out) else {
            return;
        };
        let now = context.current_time();
        let gain = out.gain();
        // What was planned of the way back is off.
        let _ = gain.cancel_scheduled_values(now);
        let _ = gain.set_target_at_time(self.volume, now, DUCK_S / 3.0);
    }

    /// Whether sound can be heard now.
    #[must_use]
    pub fn state(&self) -> SoundState {
        match &self.context {
            None if self.missing => SoundState::Missing,
            None => SoundState::Untried,
            Some(context) if context.state() == AudioContextState::Running => SoundState::On,
            Some(_) => SoundState::Waiting,
        }
    }

    /// One reading of both clocks, of a burst.
    pub fn read(&mut self, clock: &Clock) {
        let Some(context) = &self.context else { return };
        if context.state() != AudioContextState::Running {
            return;
        }
        let (now, audio) = (clock.now_exact(), context.current_time() * 1000.0);
        let first = self.map.is_whole();
        self.map.read(now, audio, heard(context, clock));
        let moved = self.moved.1 != audio;
        if moved {
            self.moved = (now, audio);
        }
        self.runs = !first && (moved || self.runs);
    }

    /// How many more readings the burst takes at most.
    #[must_use]
    pub fn burst_left(&self, left: u32, clock: &Clock) -> u32 {
        // Whether the clock runs is what a burst has to find out besides.
        if self.map.is_told() && (self.runs || self.stands(clock)) {
            left.min(BURST_TOLD)
        } else {
            left
        }
    }

    /// Reads the clocks at once, for a context that has just begun to run: within a few milliseconds
    /// its clock takes its next step, and right behind that it is read truly.
    pub fn settle(&mut self, clock: &Clock) {
        let begun = clock.now_exact();
        let mut steps = 0;
        // Counted too: under a test's stopped clock no time passes.
        for _ in 0..SETTLE_READS {
            if steps == 2 || clock.now_exact() - begun > SETTLE_MS {
                break;
            }
            let before = self.moved.1;
            self.read(clock);
            if self.moved.1 != before {
                steps += 1;
            }
        }
        let _ = self.close_burst(clock);
    }

    /// The burst is whole. Returns whether calls have to be laid anew.
    #[must_use]
    pub fn close_burst(&mut self, clock: &Clock) -> bool {
        let Some(context) = &self.context else {
            return false;
        };
        let seconds = |name| {
            js::part(context, name)
                .and_then(|s| s.as_f64())
                .unwrap_or(0.0)
        };
        let latency = seconds("baseLatency") + seconds("outputLatency");
        self.map.close_burst(latency * 1000.0);
        let running = context.state() == AudioContextState::Running;
        if running && clock.now_exact() - self.moved.0 > DEAD_MS && self.moved.0 > 0.0 {
            // Some browsers leave a context for dead after a call or a sleep: it says that it runs.
            let _ = context.close();
            self.schedules.clear();
            self.open();
            self.moved = (0.0, 0.0);
            return true;
        }
        self.map.strays()
    }

    /// Whether the audio clock stands in this burst, though it says that it runs.
    #[must_use]
    pub fn stands(&self, clock: &Clock) -> bool {
        self.state() == SoundState::On && clock.now_exact() - self.moved.0 > STANDS_MS
    }

    /// Lays calls onto the audio clock, beside what is there already.
    pub fn schedule(&mut self, calls: &[Sounding], clock: &Clock) {
        if !self.map.is_known() {
            self.read(clock);
        }
        let (Some(context), Some(out)) = (&self.context, &self.out) else {
            return;
        };
        if context.state() != AudioContextState::Running {
            // Its clock stands: when it runs again the calls are laid anew.
            return;
        }
        let Ok(bus) = context.create_gain() else {
            return;
        };
        if bus.connect_with_audio_node(out).is_err() {
            return;
        }
        let (now_audio, now) = (context.current_time(), clock.now_exact());
        let mut laid = Schedule {
            bus,
            tones: Vec::new(),
            until: 0.0,
        };
        for call in calls {
            let instant = call.at as f64;
            let Some(at) = self.map.audio_at(instant) else {
                return;
            };
            if instant - now < -LATEST_MS {
                continue;
            }
            // Never in the past: a start there would cut the attack.
            let at = at.max(now_audio);
            // A call that can't be made is missed; the next one may still be heard.
            let _ = play(context, &laid.bus, call.call, at, &mut |_, tone| {
                laid.tones.push((call.at, tone));
            });
            laid.until = laid.until.max(at + tone_ms(call.call) as f64 / 1000.0);
        }
        self.schedules.retain(|old| old.until >= now_audio);
        self.schedules.push(laid);
    }

    /// Takes back all that is scheduled, also what sounds right now.
    pub fn cancel(&mut self) {
        self.map.lay_anew();
        for laid in self.schedules.drain(..) {
            let Some(context) = &self.context else { return };
            let now = context.current_time();
            if context.state() == AudioContextState::Running {
                let gain = laid.bus.gain();
                let _ = gain.set_value_at_time(1.0, now);
                let _ = gain.linear_ramp_to_value_at_time(0.0, now + CANCEL_S);
            } else {
                // Its clock stands: a ramp would be heard when it goes on.
                let _ = laid.bus.disconnect();
            }
            for (_, tone) in laid.tones {
                // What has not begun never will; what sounds has its ramp. Refused where it is over.
                #[allow(deprecated)]
                let _ = tone.stop_with_when(now + CANCEL_S);
            }
        }
    }

    /// Takes back the calls of after an instant. A call of several notes stays whole or goes whole.
    pub fn cancel_coming(&mut self, after: i64) {
        let Some(context) = &self.context else { return };
        if context.state() != AudioContextState::Running {
            return self.cancel();
        }
        for laid in &mut self.schedules {
            for (at, tone) in &laid.tones {
                if *at > after {
                    // Refused where it is over.
                    #[allow(deprecated)]
                    let _ = tone.stop();
                }
            }
            laid.tones.retain(|(at, _)| *at <= after);
        }
        // What is laid now is laid by the map as it is.
        self.map.lay_anew();
    }

    /// The context's clock stood, or the page was away: what was read of it is worth nothing.
    pub fn forget_map(&mut self) {
        self.map.forget();
    }
}

/// The shift of the browser's own pair of a context's time and the instant at which it is heard.
fn heard(context: &AudioContext, clock: &Clock) -> Option<f64> {
    let pair = js::call(context, "getOutputTimestamp", &[])?;
    let audio = js::part(&pair, "contextTime")?.as_f64()? * 1000.0;
    let instant = clock.at_monotonic(js::part(&pair, "performanceTime")?.as_f64()?);
    // Before the first sound both are 0.
    (audio > 0.0).then_some(instant - audio)
}

/// Lets sound go on with the page hidden or the phone locked, where the browser has a word for it.
/// It may stop the person's own music.
pub fn keep_sounding(on: bool) {
    let Some(session) = js::of_navigator("audioSession") else {
        return;
    };
    let kind = if on { "playback" } else { "transient" };
    js::set(&session, "type", &JsValue::from_str(kind));
}

/// Whether the browser has a word for what sound is for.
#[must_use]
pub fn has_audio_session() -> bool {
    js::of_navigator("audioSession").is_some()
}
