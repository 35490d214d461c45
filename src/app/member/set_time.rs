//! A class at a set instant: when that is here, and where the class stands.

use leptos::prelude::*;

use crate::app::parts::live::{Part, button, follow, live, nothing, part};
use crate::app::parts::{Opened, shell, text};
use crate::conductor::{Event, Left};
use crate::device::Timer;
use crate::plan::Level;
use crate::run::{Input, Moment, Phase};
use crate::timeline::all_at;

/// Where a class at a set instant stands, brought up to date while it is looked at.
#[derive(Clone, Copy)]
pub(super) struct SetTime {
    at: Option<i64>,
    opened: StoredValue<Opened>,
    moment: RwSignal<Option<Moment>>,
}

/// Time until the start is told by the second from here on.
const BY_SECOND_MS: i64 = 90_000;

impl SetTime {
    pub fn of(opened: &Opened) -> SetTime {
        let session = shell().session;
        let run = session.joined(opened);
        let stands = move || run.as_ref().map(|run| run.show(session.now()));
        let moment = RwSignal::new(stands());
        let timer = StoredValue::new_local(Timer::default());
        let kept = StoredValue::new(opened.clone());
        let at = opened.at;
        follow(move || {
            let Some(now) = moment.get() else { return };
            let left = -now.class_ms;
            let wait = match now.phase {
                Phase::Before if left <= BY_SECOND_MS => (left - 1).rem_euclid(1_000) + 1,
                Phase::Before => (left - 1).rem_euclid(60_000) + 1,
                Phase::Running => 60_000 - now.class_ms.rem_euclid(60_000),
                _ => return,
            };
            let stands = stands.clone();
            timer.update_value(|timer| {
                timer.set(wait, move || {
                    moment.try_set(stands());
                });
            });
        });
        SetTime {
            at,
            opened: kept,
            moment,
        }
    }

    /// Whether it was left before its end, so that the button resumes it.
    pub fn resumes(self) -> bool {
        self.left().is_some()
    }

    fn left(self) -> Option<Left> {
        self.opened
            .with_value(|opened| shell().session.left_of(opened))
    }

    /// What the button that starts the class says.
    pub fn start_words(self) -> String {
        let now = shell().session.now();
        match (self.moment.get().map(|moment| moment.phase), self.left()) {
            (Some(Phase::Before), _) => "Wait for the start".to_owned(),
            (_, Some(left)) if !left.in_step(now) => text::resume(left.at(now).class_ms),
            (Some(Phase::Running), _) => "Join it now".to_owned(),
            _ => "Start".to_owned(),
        }
    }

    /// Begins, waits or joins; whoever was in it already resumes with what they did.
    pub fn start(self) {
        let session = shell().session;
        if self.resumes() {
            session.feed(Event::ResumeLeft);
        } else {
            self.start_anew();
        }
    }

    /// Begins, waits or joins, whatever was done before.
    pub fn start_anew(self) {
        shell().session.start(&self.opened.get_value());
    }

    /// The start in the phone's own zone, and how far it is.
    pub fn line(self) -> AnyView {
        let Some(at) = self.at else { return nothing() };
        let when = text::instant(at);
        let word = live(move || match self.moment.get().map(|now| now.phase) {
            Some(Phase::Before) => "Starts ".to_owned(),
            _ => "Started ".to_owned(),
        });
        let stands = live(move || match self.moment.get() {
            Some(now) if now.phase == Phase::Before => {
                let left = -now.class_ms;
                let left = if left > BY_SECOND_MS {
                    text::length((left + 59_999) / 60_000 * 60_000)
                } else {
                    text::length((left + 999) / 1_000 * 1_000)
                };
                format!("It starts in {left}, on every phone at once.")
            }
            Some(now) if now.phase == Phase::Running => {
                let minute = now.class_ms / 60_000 + 1;
                format!("It runs now, in minute {minute}.")
            }
            _ => "It is over. Start begins it anew, for you alone.".to_owned(),
        });
        view! {
            <section class="notice" data-testid="set-time">
                <p><strong>{word} {when}</strong></p>
                <p>{stands}</p>
                {self.gently()}
            </section>
        }
        .into_any()
    }
}

impl SetTime {
    /// The gentler ways in, for who would land in hard work without the warm-up.
    fn gently(self) -> Part {
        let first = Memo::new(move |_| {
            let now = self
                .moment
                .get()
                .filter(|now| now.phase == Phase::Running && !self.resumes())?;
            self.opened
                .with_value(|opened| opened.timeline.missed_warm_up(now.class_ms))
        });
        part(move || {
            let Some(first) = first.get() else {
                return nothing();
            };
            let session = shell().session;
            let warm = move || session.warm_up(&self.opened.get_value(), first);
            let easier = move || {
                let opened = self.opened.get_value();
                session.ways.set(all_at(opened.plan(), Level::Easier));
                session.start(&opened);
            };
            view! {
                <p>"The warm-up is over, and it is hard work now."</p>
                <div class="row">
                    {button("strong", "warm-up-first", "Warm up first, joins in about 2 min", warm)}
                    {button("", "join-easier", "Join the easier way", easier)}
                </div>
            }
            .into_any()
        })
    }
}

/// The way back to the shared clock, for who paused or skipped.
pub(super) fn rejoin() -> Part {
    let session = shell().session;
    let left = Memo::new(move |_| session.moment.get().shared == Some(false));
    part(move || {
        if !left.get() {
            return nothing();
        }
        button("rejoin", "rejoin", "Rejoin the class", move || {
            session.act(Input::Rejoin)
        })
    })
}
