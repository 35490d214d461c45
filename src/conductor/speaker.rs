//! What is laid, what is being said, and what is known of the loudspeaker.

use std::sync::Arc;

use super::event::SoundState;
use crate::cue::tone_ms;
use crate::run::Sounding;

/// Calls are laid anew unheard where none sounds now or within the next moment.
pub(super) const QUIET_MS: i64 = 100;
/// A tone that has ended may still be in the loudspeaker.
pub(super) const TAIL_MS: i64 = 20;

/// What is laid, what is being said, and what is known of the loudspeaker.
#[derive(Debug, Default)]
pub(super) struct Speaker {
    pub state: SoundState,
    /// The browser lets laid sound go on behind the screen, where the member wants that.
    pub lock_screen_sound: bool,
    pub speaks: bool,
    /// What is laid and may still sound.
    pub laid: Vec<Sounding>,
    pub laid_until: i64,
    /// When a step was laid last.
    pub laid_at: i64,
    /// All is laid anew at this instant, when nothing sounds.
    pub relay_at: Option<i64>,
    /// Up to here everything was said, or came too late.
    pub said_until: i64,
    /// Up to here everything was felt.
    pub felt_until: i64,
    /// Until when tones are out of the way of speech.
    pub ducked_until: Option<i64>,
    /// When what is being said is cut.
    pub cut_at: Option<i64>,
    /// When the track is made.
    pub track_at: Option<i64>,
    pub track_made: bool,
    pub track_plays: bool,
    pub check: Option<Check>,
    /// What the lock screen was told last.
    pub told: Option<(Option<usize>, bool)>,
}

/// A sound check.
#[derive(Debug)]
pub(super) struct Check {
    pub words: Option<Arc<str>>,
    /// When the words come; until then it waits for sound.
    pub words_at: Option<i64>,
    pub off_at: i64,
}

impl Speaker {
    pub fn new(lock_screen_sound: bool) -> Speaker {
        Speaker {
            lock_screen_sound,
            ..Speaker::default()
        }
    }

    pub fn state(&self) -> SoundState {
        self.state
    }

    /// A class begins, or goes on: what came before is not made up for.
    pub fn begin(&mut self, now: i64) {
        (self.said_until, self.felt_until) = (now, now);
        self.track_made = false;
        self.track_plays = false;
        self.track_at = None;
        self.relay_at = None;
        self.check = None;
        self.told = None;
    }

    /// Everything was taken back.
    pub fn silence(&mut self, now: i64) {
        self.laid.clear();
        self.laid_until = now;
        self.over();
    }

    /// The class is over; what sounds goes on to its end.
    pub fn over(&mut self) {
        self.track_made = false;
        self.track_plays = false;
        self.track_at = None;
        self.relay_at = None;
    }

    /// The next instant at which it has something to do.
    pub fn wake(&self) -> Option<i64> {
        let check = self.check.as_ref();
        let check = check.map(|check| check.words_at.unwrap_or(check.off_at));
        [self.relay_at, self.cut_at, self.track_at, check]
            .into_iter()
            .flatten()
            .min()
    }

    /// When nothing sounds that is laid, from an instant on.
    pub fn quiet_from(&self, now: i64) -> i64 {
        let mut quiet = now;
        for one in &self.laid {
            let end = one.at + tone_ms(one.call) + TAIL_MS;
            if one.at - QUIET_MS <= quiet && quiet <= end {
                quiet = end + 1;
            }
        }
        quiet
    }
}
