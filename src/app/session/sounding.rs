//! What a class sounds, says and makes felt, with the page in sight and behind it.

use leptos::prelude::*;

use super::super::{Opened, Screen, text};
use super::{Inner, Session};
use crate::cue::{CallLevel, Calling, Topic, calls, speech_ms};
use crate::device::{
    BURST, BURST_EVERY_MS, BURSTS_EVERY_MS, LOOK_AGAIN_MS, MediaKey, Settings, SoundState,
    has_audio_session, is_hidden, keep_sounding, show_media, vibrate,
};
use crate::run::{Input, Moment, Phase};
use crate::timeline::Ways;

/// Sound is laid onto the audio clock this far ahead...
const SOUND_AHEAD_MS: i64 = 600_000;
/// ...but not all at once: a browser that makes hundreds of nodes leaves holes in what sounds. So
/// much at first, and as much again with each second.
const SOUND_STEP_MS: i64 = 45_000;
/// A call that came due while the loudspeaker was away is still heard when it is this late.
const LATE_CALL_MS: i64 = 20;
/// How long after a change a touch may follow, before the track for the screen's being off is made.
const TRACK_AFTER_MS: i64 = 1_500;
/// Words that come later than this are said only where they still end in time.
const LATE_WORDS_MS: i64 = 250;
/// Words that are still being said this long after their time are cut: a count follows.
const CUT_AFTER_MS: i64 = 500;
/// A buzz that is later than this tells the wrong time.
const LATE_BUZZ_MS: i64 = 150;
/// How long the tones of a sound check take.
const CHECK_MS: i64 = 2_500;

impl Inner {
    /// Lays down what will sound from an instant on. Anything that was laid down before is taken back.
    pub(super) fn resound(&mut self, from: i64) {
        self.audio.cancel();
        self.relay(from);
    }

    /// Lays down what will sound from an instant on, beside what sounds already.
    pub(super) fn relay(&mut self, from: i64) {
        self.sounded_until = from;
        self.sound_on();
    }

    /// Lays down what sounds next, beside what is laid down.
    pub(super) fn sound_on(&mut self) {
        let Some(run) = &self.run else { return };
        if self.hushed || self.track.plays() {
            return;
        }
        let ahead = self.clock.now() + SOUND_AHEAD_MS;
        let until = ahead.min(self.sounded_until + SOUND_STEP_MS);
        let calls = run.sound(self.sounded_until, until);
        self.audio.schedule(&calls, &self.clock);
        self.sounded_until = until;
    }

    /// Lays down another step of what will sound, while there is less than what is wanted.
    pub(super) fn top_up(&mut self, now: i64) {
        if self.sounded_until - now < SOUND_AHEAD_MS - SOUND_STEP_MS {
            self.sound_on();
        }
    }

    /// The calls as they can be made: without a voice they are tones.
    pub(super) fn calling(&self) -> Calling {
        let chosen = self.settings.calling;
        if self.voice.state(chosen.tongue.tag()).speaks() {
            chosen
        } else {
            Calling {
                level: CallLevel::Tones,
                ..chosen
            }
        }
    }

    /// Says what is due, and lets what is due be felt. Returns the instant of the next words,
    /// where they come before the next second.
    pub(super) fn call(&mut self, now: i64) -> Option<i64> {
        let run = self.run.as_ref()?;
        let volume = self.settings.loudness();
        let tag = self.settings.calling.tongue.tag();
        for saying in run.say(self.said_until, now + 1) {
            if self.hushed {
                break;
            }
            if saying.fits(now) || now - saying.at <= LATE_WORDS_MS {
                self.voice.say(&saying.text, tag, volume);
                self.audio.duck(speech_ms(&saying.text));
                let voice = self.voice.clone();
                let cut = saying.until - now + CUT_AFTER_MS;
                self.cut.set(cut, move || voice.hush());
            }
        }
        self.said_until = now + 1;
        if self.settings.vibrate && !self.hushed {
            for felt in run.sound(self.felt_until, now + 1) {
                if now - felt.at <= LATE_BUZZ_MS {
                    vibrate(felt.call);
                }
            }
        }
        self.felt_until = now + 1;
        run.say(now + 1, now + 1_001).first().map(|next| next.at)
    }

    /// Nothing more is heard of what was to come before this.
    pub(super) fn hush(&mut self) {
        self.voice.hush();
        self.cut.clear();
    }

    /// Whether a track has to sound while the page is hidden.
    pub(super) fn wants_track(&self) -> bool {
        self.settings.screen_off && !has_audio_session()
    }

    /// Tells the lock screen what is on, when that changes.
    pub(super) fn tell(&mut self, moment: &Moment) {
        let told = Some((moment.segment, moment.phase == Phase::Running));
        if self.told == told {
            return;
        }
        self.told = told;
        let Some(run) = &self.run else { return };
        let line = moment.segment.map_or_else(String::new, |i| {
            let timeline = run.timeline();
            let segment = &timeline.segments()[i];
            let name = timeline.move_of(segment).map(text::move_name);
            name.unwrap_or_else(|| text::phase(segment.kind).to_owned())
        });
        let title = if moment.phase == Phase::Done {
            ""
        } else {
            &self.title
        };
        show_media(title, &line, moment.phase == Phase::Running);
    }
}

impl Session {
    /// Takes what the member chose, and keeps it.
    pub fn set(self, settings: Settings) {
        self.inner
            .with_value(|inner| inner.store.keep_settings(&settings));
        self.choose(settings);
    }

    pub(super) fn choose(self, settings: Settings) {
        self.inner.update_value(|inner| {
            inner.settings = settings;
            inner.audio.set_volume(settings.loudness());
            // Where a browser has a word for it, it says whether sound may go on behind the screen.
            keep_sounding(settings.screen_off);
        });
        self.settings.set(settings);
        self.voices_changed();
    }

    pub(super) fn voices_changed(self) {
        let state = self.inner.with_value(|inner| {
            let tag = inner.settings.calling.tongue.tag();
            inner.voice.state(tag)
        });
        self.inner.update_value(|inner| {
            let calling = inner.calling();
            if let Some(run) = &mut inner.run {
                run.call(calling);
                let now = inner.clock.now();
                inner.audio.cancel_to_come();
                inner.relay(now);
            }
        });
        self.voice.set(state);
    }

    /// The browser lets sound out, or holds it back: what was laid on a clock that stood is late.
    pub(super) fn sound_changed(self) {
        self.inner.update_value(|inner| {
            // What is due while the clocks are read is late by that, and still heard.
            let now = inner.clock.now();
            inner.audio.forget_map();
            inner.audio.settle(&inner.clock);
            inner.resound(now - LATE_CALL_MS);
        });
        self.burst(BURST);
        self.tick();
    }

    /// Reads the clocks in bursts for as long as a class runs; lays its calls anew where the clocks
    /// have parted, at a moment when nothing sounds.
    pub(super) fn burst(self, left: u32) {
        self.inner.update_value(|inner| {
            if inner.run.is_none() {
                return inner.probe.clear();
            }
            inner.audio.read(&inner.clock);
            let left = inner.audio.burst_left(left, &inner.clock);
            if left > 0 {
                let again = move || self.burst(left - 1);
                return inner.probe.set(BURST_EVERY_MS, again);
            }
            let strays = inner.audio.close_burst(&inner.clock);
            let quiet = inner.audio.is_quiet();
            if strays && quiet {
                let now = inner.clock.now();
                inner.resound(now);
            }
            let wait = if strays && !quiet {
                BURSTS_EVERY_MS / 20
            } else if inner.audio.stands(&inner.clock) {
                LOOK_AGAIN_MS
            } else {
                BURSTS_EVERY_MS
            };
            inner.probe.set(wait, move || self.burst(BURST));
        });
    }

    /// A key of a headset, of a watch or of the lock screen.
    pub(super) fn press(self, key: MediaKey) {
        let hushed = self.inner.with_value(|inner| inner.hushed);
        if hushed || self.screen.get_untracked() != Screen::Class {
            return;
        }
        self.act(match key {
            MediaKey::Play => Input::Resume,
            MediaKey::Pause => Input::Pause,
            MediaKey::Next => Input::Skip,
            MediaKey::Previous => Input::Back,
        });
    }

    /// Makes the track of the rest of the class, and plays it if the page is hidden by then.
    pub(super) fn track(self) {
        self.inner.update_value(|inner| {
            inner.track.drop_track();
            let Some(run) = inner.run.as_ref().filter(|_| inner.wants_track()) else {
                return;
            };
            let now = inner.clock.now();
            let moment = run.show(now);
            if !matches!(moment.phase, Phase::Running | Phase::Before) {
                return;
            }
            // Before a set instant `class_ms` is below 0, and the wait belongs to the track.
            let until = now + run.timeline().total_ms() - moment.class_ms + 1_000;
            let calls = run.sound(now, until);
            inner
                .track
                .make(calls, now, until, move || self.play_hidden());
        });
    }

    pub(super) fn play_hidden(self) {
        self.inner.update_value(|inner| {
            if is_hidden() && inner.wants_track() && !inner.hushed {
                inner.audio.cancel();
                let volume = inner.settings.loudness();
                inner.track.play(inner.clock.now_exact(), volume);
            }
        });
    }

    pub(super) fn retrack(self) {
        self.inner.update_value(|inner| {
            let wanted = inner.wants_track();
            let wait = if is_hidden() { 0 } else { TRACK_AFTER_MS };
            if wanted {
                inner.track.pause();
                inner.retrack.set(wait, move || self.track());
            }
        });
    }

    /// Asks the browser for sound again, in the handler of a touch.
    pub fn wake_sound(self) {
        self.inner.update_value(|inner| {
            inner.audio.unlock();
            let now = inner.clock.now();
            inner.resound(now);
        });
        self.tick();
    }

    /// Takes all sound back at once, whatever the run says.
    pub fn silence(self) {
        self.inner.update_value(|inner| {
            inner.hushed = true;
            inner.audio.cancel();
            inner.track.drop_track();
            inner.hush();
        });
    }

    /// Lets sound out again.
    pub fn speak_up(self) {
        if !self.inner.with_value(|inner| inner.hushed) {
            return;
        }
        self.inner.update_value(|inner| {
            inner.hushed = false;
            let now = inner.clock.now();
            inner.resound(now);
        });
        self.retrack();
    }

    /// Makes the calls once, for the ear to check: tones, then the first words of the class.
    pub fn check_sound(self, opened: &Opened) -> SoundState {
        self.inner.update_value(|inner| {
            inner.audio.check(&inner.clock);
            inner.voice.unlock();
            let all = calls(&opened.timeline, &Ways::new(), inner.calling());
            let first = all.phrases.into_iter().find(|one| one.topic == Topic::Next);
            let Some(first) = first else { return };
            let (voice, settings) = (inner.voice.clone(), inner.settings);
            inner.cut.set(CHECK_MS, move || {
                let volume = settings.loudness();
                voice.say(&first.text, settings.calling.tongue.tag(), volume);
            });
        });
        self.inner.with_value(|inner| inner.audio.state())
    }
}
