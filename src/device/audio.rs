//! Calls on the audio clock.
//!
//! A schedule is a list of calls with their instants; it is laid onto the audio clock at once,
//! through one gain node of its own, so that all of it can be taken back with one short ramp.
//! The browser's timers have no part in when a call sounds.

use web_sys::{AudioContext, AudioContextState, GainNode};

use super::clock::Clock;
use super::tones::play;
use crate::cue::Call;
use crate::run::Sounding;

/// A call that is later than this is not heard at all: a late go is worse than none.
const LATEST_MS: f64 = 20.0;
/// How long a cancelled schedule takes to fall silent, in seconds.
const CANCEL_S: f64 = 0.01;

/// Whether sound can be heard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SoundState {
    /// Not asked for yet.
    #[default]
    Untried,
    /// The browser plays it.
    On,
    /// The browser holds it back until the page is touched, or another app has the speaker.
    Waiting,
    /// The browser has none.
    Missing,
}

/// The page's sound. Without an audio context every call of it does nothing.
#[derive(Default)]
pub struct Audio {
    context: Option<AudioContext>,
    missing: bool,
    schedules: Vec<GainNode>,
}

impl Audio {
    /// Makes the sound ready. Browsers want a touch for this: call it in the handler of one.
    pub fn unlock(&mut self) {
        if self.context.is_none() && !self.missing {
            self.context = AudioContext::new().ok();
            self.missing = self.context.is_none();
        }
        if let Some(context) = &self.context
            && context.state() != AudioContextState::Running
        {
            // Comes true when the browser pleases; the state tells.
            let _ = context.resume();
        }
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

    /// Lays calls onto the audio clock, beside what is there already.
    pub fn schedule(&mut self, calls: &[Sounding], clock: &Clock) {
        let Some(context) = &self.context else { return };
        let Ok(bus) = context.create_gain() else {
            return;
        };
        if bus.connect_with_audio_node(&context.destination()).is_err() {
            return;
        }
        // Adjacent readings of both clocks make the map between them.
        let (now_audio, now) = (context.current_time(), clock.now_exact());
        for call in calls {
            let ahead_ms = call.at as f64 - now;
            if ahead_ms < -LATEST_MS {
                continue;
            }
            let at = now_audio + ahead_ms.max(0.0) / 1000.0;
            // A call that can't be made is missed; the next one may still be heard.
            let _ = play(context, &bus, call.call, at);
        }
        self.schedules.push(bus);
    }

    /// Takes back all that is scheduled, also what sounds right now.
    pub fn cancel(&mut self) {
        for bus in self.schedules.drain(..) {
            let Some(context) = &self.context else { return };
            let now = context.current_time();
            let gain = bus.gain();
            let _ = gain.set_value_at_time(1.0, now);
            let _ = gain.linear_ramp_to_value_at_time(0.0, now + CANCEL_S);
            // Nodes that are still to sound stay connected to a gain of 0, and end on their own.
        }
    }

    /// Plays a count and a go at once, for the ear to check. Returns how long it takes, in ms.
    pub fn check(&mut self, clock: &Clock) -> f64 {
        self.unlock();
        let now = clock.now() + 100;
        let calls = [
            (0, Call::Count(3)),
            (600, Call::Count(2)),
            (1_200, Call::Count(1)),
            (1_800, Call::Go),
        ]
        .map(|(after, call)| Sounding {
            at: now + after,
            call,
            segment: None,
        });
        self.schedule(&calls, clock);
        1_900.0 + tone_ms(Call::Go)
    }
}
