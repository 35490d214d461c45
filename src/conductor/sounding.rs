//! What a class sounds, says and makes felt, with the page in sight and behind it.

use std::sync::Arc;

use super::event::{Effect, SoundState};
use super::session::{Conductor, Session};
use super::speaker::{Check, TAIL_MS};
use crate::cue::{Call, CallLevel, Calling, speech_ms, tone_ms};
use crate::run::{Phase, Sounding};

/// Sound is laid onto the audio clock this far ahead, in milliseconds...
pub const SOUND_AHEAD_MS: i64 = 600_000;
/// ...but not all at once: a browser that makes hundreds of nodes leaves holes in what sounds. So
/// much at first, and as much again with each second.
pub const SOUND_STEP_MS: i64 = 45_000;
/// Steps are no closer to each other than this.
const STEP_EVERY_MS: i64 = 500;
/// A call that came due while the loudspeaker was away is still heard when it is this late.
const LATE_CALL_MS: i64 = 20;
/// A call that begins within this is left as it is laid.
const BEGUN_MS: i64 = 20;
/// How long after a change a touch may follow, before the track for the screen off is made.
const TRACK_AFTER_MS: i64 = 1_500;
/// Words that come later than this are said only where they still end in time.
const LATE_WORDS_MS: i64 = 250;
/// Words that are still being said this long after their time are cut: a count follows.
const CUT_AFTER_MS: i64 = 500;
/// A buzz that is later than this tells the wrong time.
const LATE_BUZZ_MS: i64 = 150;
/// A sound check counts and goes: after so many milliseconds each.
const CHECK: [(i64, Call); 4] = [
    (0, Call::Count(3)),
    (600, Call::Count(2)),
    (1_200, Call::Count(1)),
    (1_800, Call::Go),
];
/// A sound check begins this long after the touch, or after the browser lets sound out.
const CHECK_AFTER_MS: i64 = 100;
/// The words of a sound check follow so long after its beginning.
const CHECK_WORDS_MS: i64 = 2_400;
/// A sound check whose sound the browser holds back for longer is off.
const CHECK_FOR_MS: i64 = 5_000;

impl Conductor {
    /// The calls as they can be made: without a voice they are tones.
    pub(super) fn calling(&self) -> Calling {
        let chosen = self.settings.calling;
        if self.speaker.speaks {
            chosen
        } else {
            Calling {
                level: CallLevel::Tones,
                ..chosen
            }
        }
    }

    /// Whether calls may sound at all.
    fn sounds(&self) -> bool {
        let speaks = |session: &Session| !session.over && !session.hushed;
        self.session.as_ref().is_some_and(speaks)
            && self.speaker.state == SoundState::On
            && !self.speaker.track_plays
    }

    /// Takes back all that is laid, and lays what sounds from an instant on.
    pub(super) fn lay_anew(&mut self, from: i64) {
        self.push(Effect::CancelSound);
        self.speaker.laid.clear();
        self.speaker.relay_at = None;
        self.speaker.laid_until = from;
        self.lay_on(from);
    }

    /// Lays anew what has not begun to sound.
    pub(super) fn lay_what_comes(&mut self, now: i64) {
        // What begins within the next moment may be on its way to the loudspeaker already.
        let after = now + BEGUN_MS;
        self.push(Effect::CancelComing { after });
        self.speaker.laid.retain(|one| one.at <= after);
        self.speaker.laid_until = after + 1;
        self.lay_on(now);
    }

    /// Lays the next step of what sounds, beside what is laid.
    fn lay_on(&mut self, now: i64) {
        if !self.sounds() {
            return;
        }
        let Some(session) = &self.session else { return };
        let from = self.speaker.laid_until;
        let until = (now + SOUND_AHEAD_MS).min(from + SOUND_STEP_MS);
        let calls = session.run.sound(from, until);
        self.speaker.laid_until = until.max(from);
        self.speaker.laid_at = now;
        self.speaker.laid.extend(&calls);
        if !calls.is_empty() {
            self.push(Effect::Schedule(calls));
        }
    }

    /// Lays another step while less is laid than is wanted.
    pub(super) fn top_up(&mut self, now: i64) {
        if self.speaker.relay_at.is_some_and(|at| at <= now) {
            self.lay_anew(now);
        }
        let laid = &mut self.speaker.laid;
        laid.retain(|one| one.at + tone_ms(one.call) + TAIL_MS >= now);
        if self.speaker.track_at.is_some_and(|at| at <= now) {
            self.make_track(now);
        }
        let wanted = self.speaker.laid_until - now < SOUND_AHEAD_MS - SOUND_STEP_MS;
        if wanted && now - self.speaker.laid_at >= STEP_EVERY_MS {
            self.lay_on(now);
        }
    }

    /// Says what is due, and lets what is due be felt. Returns the instant of the next words, where
    /// they come before the next second.
    pub(super) fn call(&mut self, now: i64) -> Option<i64> {
        self.let_tones_back(now);
        self.go_on_with_check(now);
        let session = self.session.as_ref().filter(|session| !session.over)?;
        let (from, felt_from) = (self.speaker.said_until, self.speaker.felt_until);
        let hushed = session.hushed;
        let mut due = session.run.say(from, now + 1);
        due.retain(|saying| !hushed && (saying.fits(now) || now - saying.at <= LATE_WORDS_MS));
        let mut felt = Vec::new();
        if self.settings.vibrate && !hushed {
            felt = session.run.sound(felt_from, now + 1);
            felt.retain(|one| now - one.at <= LATE_BUZZ_MS);
        }
        let coming = session.run.say(now + 1, now + 1_001);
        for saying in due {
            self.say(now, &saying.text);
            self.speaker.cut_at = Some(saying.until + CUT_AFTER_MS);
        }
        for one in felt {
            self.push(Effect::Vibrate(one.call));
        }
        self.speaker.said_until = from.max(now + 1);
        self.speaker.felt_until = felt_from.max(now + 1);
        coming.first().map(|next| next.at)
    }

    fn say(&mut self, now: i64, text: &Arc<str>) {
        let for_ms = speech_ms(text);
        self.push(Effect::Say {
            text: text.clone(),
            language: self.settings.calling.tongue,
            volume: self.settings.loudness(),
        });
        self.push(Effect::Duck(for_ms));
        self.speaker.ducked_until = Some(now + for_ms);
    }

    /// Cuts words that are late, and lets tones be loud again after words.
    fn let_tones_back(&mut self, now: i64) {
        if self.speaker.cut_at.is_some_and(|at| at <= now) {
            self.hush(now);
        }
        if self.speaker.ducked_until.is_some_and(|until| until <= now) {
            self.speaker.ducked_until = None;
        }
    }

    /// Nothing more is heard of what is being said, and tones no longer make room for it.
    pub(super) fn hush(&mut self, now: i64) {
        self.push(Effect::Hush);
        self.speaker.cut_at = None;
        if self
            .speaker
            .ducked_until
            .take()
            .is_some_and(|until| now < until)
        {
            self.push(Effect::Unduck);
        }
    }

    /// Class time is elsewhere from this millisecond on: what is called there is called, also what
    /// falls on the millisecond itself.
    pub(super) fn steered(&mut self, now: i64) {
        self.hush(now);
        self.speaker.said_until = self.speaker.said_until.min(now);
        self.speaker.felt_until = self.speaker.felt_until.min(now);
        self.lay_anew(now);
    }

    /// What is called has changed, and how: what is laid is laid anew where it has not begun.
    pub(super) fn recall(&mut self, now: i64) {
        let calling = self.calling();
        if let Some(session) = self.on() {
            session.run.call(calling);
            self.lay_what_comes(now);
        }
    }

    // ---- What the browser says of sound ----

    pub(super) fn sound_is(&mut self, now: i64, state: SoundState) {
        if self.speaker.state == state {
            return;
        }
        self.speaker.state = state;
        // What was laid on a clock that stood is late.
        self.lay_anew(now - LATE_CALL_MS);
        if self.on().is_some() {
            // And its clock is read anew at once: the first map is a rough one.
            self.push(Effect::FollowAudioClock(true));
        }
        self.begin_check(now);
    }

    pub(super) fn sound_moved(&mut self, now: i64) {
        let quiet = self.speaker.quiet_from(now);
        if quiet == now {
            self.lay_anew(now);
        } else {
            self.speaker.relay_at = Some(quiet);
        }
    }

    pub(super) fn voice_is(&mut self, now: i64, speaks: bool) {
        if self.speaker.speaks != speaks {
            self.speaker.speaks = speaks;
            self.recall(now);
        }
    }

    pub(super) fn voice_ended(&mut self) {
        self.speaker.cut_at = None;
        if self.speaker.ducked_until.take().is_some() {
            self.push(Effect::Unduck);
        }
    }

    /// Words that fail are tones from here on, until the browser's voices change.
    pub(super) fn voice_failed(&mut self, now: i64) {
        self.voice_ended();
        self.voice_is(now, false);
    }

    // ---- The sound check ----

    pub(super) fn check_sound(&mut self, now: i64, words: Option<Arc<str>>) {
        self.push(Effect::UnlockSound);
        self.push(Effect::UnlockVoice);
        self.speaker.check = Some(Check {
            words,
            words_at: None,
            off_at: now + CHECK_FOR_MS,
        });
        self.begin_check(now);
    }

    /// Makes the tones of a check, as soon as sound can be heard.
    fn begin_check(&mut self, now: i64) {
        if self.speaker.state != SoundState::On {
            return;
        }
        let waits = |check: &&mut Check| check.words_at.is_none();
        let Some(check) = self.speaker.check.as_mut().filter(waits) else {
            return;
        };
        let from = now + CHECK_AFTER_MS;
        check.words_at = Some(from + CHECK_WORDS_MS);
        let calls = CHECK.map(|(after, call)| Sounding {
            at: from + after,
            call,
            segment: None,
        });
        self.push(Effect::Schedule(calls.to_vec()));
    }

    fn go_on_with_check(&mut self, now: i64) {
        let Some(check) = &self.speaker.check else {
            return;
        };
        let (due, words) = match check.words_at {
            Some(at) => (at <= now, check.words.clone()),
            None => (check.off_at <= now, None),
        };
        if due {
            self.speaker.check = None;
            if let Some(words) = words {
                self.say(now, &words);
            }
        }
    }

    // ---- The track for the screen off ----

    /// Whether a track has to sound while the page is hidden.
    pub(super) fn wants_track(&self) -> bool {
        self.settings.screen_off && !self.speaker.lock_screen_sound
    }

    /// The track no longer tells the class as it runs: another one is made in a moment.
    pub(super) fn remake_track(&mut self, now: i64) {
        if self.wants_track() && self.on().is_some() {
            self.pause_track();
            self.speaker.track_made = false;
            let wait = if self.hidden { 0 } else { TRACK_AFTER_MS };
            self.speaker.track_at = Some(now + wait);
        }
    }

    fn make_track(&mut self, now: i64) {
        self.speaker.track_at = None;
        let wanted = self.wants_track();
        let Some(session) = self.session.as_ref().filter(|session| !session.over) else {
            return;
        };
        let moment = session.run.show(now);
        if !wanted || session.hushed || !matches!(moment.phase, Phase::Running | Phase::Before) {
            return self.push(Effect::DropTrack);
        }
        // Before a set instant class time is below 0, and the wait belongs to the track.
        let until = now + session.run.timeline().total_ms() - moment.class_ms + 1_000;
        let calls = session.run.sound(now, until);
        self.push(Effect::MakeTrack {
            calls,
            from: now,
            until,
        });
    }

    pub(super) fn track_made(&mut self) {
        self.speaker.track_made = true;
        self.play_track();
    }

    /// Plays the track, if the page is hidden.
    pub(super) fn play_track(&mut self) {
        let speaks = |session: &mut Session| !session.hushed;
        let plays = self.hidden
            && self.speaker.track_made
            && self.wants_track()
            && self.on().is_some_and(speaks);
        if plays && !self.speaker.track_plays {
            self.speaker.track_plays = true;
            self.push(Effect::CancelSound);
            self.speaker.laid.clear();
            self.push(Effect::PlayTrack);
        }
    }

    pub(super) fn pause_track(&mut self) {
        if self.speaker.track_plays {
            self.speaker.track_plays = false;
            self.push(Effect::PauseTrack);
        }
    }

    pub(super) fn track_refused(&mut self, now: i64) {
        if self.speaker.track_plays {
            self.speaker.track_plays = false;
            self.lay_anew(now);
        }
    }

    /// Tells the lock screen what is on, when that changes.
    pub(super) fn tell_lock_screen(&mut self, now: i64) {
        let Some(session) = &self.session else { return };
        let moment = session.run.show(now);
        let on = (!session.over).then_some((moment.segment, moment.phase == Phase::Running));
        if self.speaker.told != on {
            self.speaker.told = on;
            self.push(Effect::Media(on));
        }
    }
}
