//! One run of one class: inputs with their instants go in; what to show, what to sound and when
//! to wake come out.
//!
//! A run never reads a clock. Feed it with [`Run::input`]; ask [`Run::show`] on every frame,
//! [`Run::sound`] whenever the log has grown or the scheduled sound runs out, and sleep until
//! [`Run::wake`]. Asking early, late or twice changes nothing: a run is a function of its
//! timeline, its log and now.
//!
//! ```
//! use rungbook::plan::Plan;
//! use rungbook::run::{Input, Phase, Run};
//! use rungbook::timeline::Timeline;
//!
//! let plan = Plan::from_json(r#"{
//!     "format": "rungbook-plan", "version": 1, "title": "One",
//!     "moves": [ { "id": "squat", "name": "Squat" } ],
//!     "blocks": [ { "kind": "flow", "steps": ["squat"], "work": 20 } ]
//! }"#)?;
//! let mut run = Run::new(Timeline::new(&plan));
//! let t = 1_700_000_000_000;
//! run.input(t, Input::Start { set: None, lead: false });
//! assert_eq!(run.show(t + 1).seconds, 10); // 9.999 s of the ready time, rounded up
//! assert_eq!(run.wake(t + 1), Some(t + 1_000)); // when a 9 is shown
//! run.input(t + 12_000, Input::Pause); // 2 s into the work
//! run.input(t + 60_000, Input::Resume); // counts 3 s in
//! assert_eq!(run.show(t + 64_000).seconds, 17);
//! assert_eq!(run.show(t + 90_000).phase, Phase::Done);
//! # Ok::<(), rungbook::plan::PlanError>(())
//! ```

mod log;
mod met;
mod record;
mod recording;
mod state;
mod tally;

pub use log::{Input, Log, LogError, Logged, MOST_INPUTS};
pub use record::{Did, RATINGS, Record, load};
pub use recording::{ClockError, ClockOffer, at_clock};
pub use state::{Away, BACK_MS, COUNT_IN_MS, Phase, Shift, Span};
pub use tally::{Tally, Times, tally};

use std::sync::{Arc, OnceLock};

use crate::cue::{Call, Calling, Calls, Topic, calls, speech_ms};
use crate::plan::Hand;
use crate::timeline::{Timeline, Ways};
use state::{Stand, State};

/// Beyond this an align, or a recording's clock, asks first, in milliseconds.
pub const ALIGN_ASKS_MS: i64 = 30_000;

/// One run of one class.
#[derive(Clone, Debug)]
pub struct Run {
    timeline: Arc<Timeline>,
    log: Log,
    state: State,
    calling: Calling,
    /// Worked out when they are first asked for: whoever only asks where a run stands pays nothing.
    calls: OnceLock<Calls>,
}

/// What to show at an instant.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Moment {
    /// Where the run stands.
    pub phase: Phase,
    /// Class time in milliseconds; below 0 before the class.
    pub class_ms: i64,
    /// The present segment; none before and after the class.
    pub segment: Option<usize>,
    /// Seconds left in the segment, or until the class starts, rounded up.
    pub seconds: i64,
    /// Seconds left of a count-in, rounded up.
    pub count_in: Option<i64>,
    /// The side that works now.
    pub hand: Option<Hand>,
    /// Milliseconds left of the class.
    pub class_left_ms: i64,
    /// Whether a class at a set instant is in step with its shared clock; `None` for others.
    pub shared: Option<bool>,
    /// What undo would take off.
    pub undo: Option<Shift>,
}

/// A cue with its instant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sounding {
    /// Milliseconds of the device's clock.
    pub at: i64,
    /// What is called.
    pub call: Call,
    /// The segment that it belongs to; none for the count after a pause.
    pub segment: Option<usize>,
}

/// A phrase with its instant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Saying {
    /// Milliseconds of the device's clock at which the first word begins.
    pub at: i64,
    /// By when the last word has to have ended: before a countdown, mostly.
    pub until: i64,
    /// What about.
    pub topic: Topic,
    /// The words.
    pub text: Arc<str>,
}

impl Saying {
    /// Whether it would still end in time if it began now.
    #[must_use]
    pub fn fits(&self, now: i64) -> bool {
        now + speech_ms(&self.text) <= self.until
    }
}

/// An align as it is offered: which start of work it would make of now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AlignOffer {
    /// The work segment.
    pub to: usize,
    /// By how much class time would move, in milliseconds.
    pub by_ms: i64,
    /// Whether it is far enough to ask first.
    pub asks: bool,
}

fn seconds_up(ms: i64) -> i64 {
    ms.max(0).saturating_add(999) / 1000
}

impl Run {
    /// A run that has not started.
    #[must_use]
    pub fn new(timeline: impl Into<Arc<Timeline>>) -> Run {
        let timeline = timeline.into();
        let log = Log::new(timeline.plan().digest());
        Run::fresh(timeline, log)
    }

    fn fresh(timeline: Arc<Timeline>, log: Log) -> Run {
        let state = State::default();
        let calling = Calling::default();
        Run {
            timeline,
            log,
            state,
            calling,
            calls: OnceLock::new(),
        }
    }

    /// Sets how much is called, and in which language. It is the listener's choice and no input
    /// of the class: the log has nothing of it.
    pub fn call(&mut self, calling: Calling) {
        if self.calling != calling {
            self.calling = calling;
            self.recall();
        }
    }

    fn recall(&mut self) {
        self.calls.take();
    }

    fn calls(&self) -> &Calls {
        self.calls
            .get_or_init(|| calls(&self.timeline, &self.state.ways, self.calling))
    }

    /// The run that a stored log tells of.
    ///
    /// # Errors
    /// [`LogError::OtherPlan`] where the log belongs to another plan or revision.
    pub fn replay(timeline: impl Into<Arc<Timeline>>, log: &Log) -> Result<Run, LogError> {
        let timeline = timeline.into();
        let digest = timeline.plan().digest();
        if !log.is_for(digest) {
            return Err(LogError::OtherPlan);
        }
        let mut run = Run::fresh(timeline, Log::new(digest));
        for Logged(at, input) in log.inputs() {
            run.take(*at, *input);
        }
        Ok(run)
    }

    fn take(&mut self, at: i64, input: Input) {
        let (at, input) = (log::sane_instant(at), input.sane());
        self.state.apply(&self.timeline, at, input);
        // Beyond what can be read back nobody touches a phone; what comes then is done all the same.
        if self.log.inputs().len() < MOST_INPUTS {
            self.log.push(Logged(at, input));
        }
    }

    /// Adds an input. One that makes no sense where the run stands is logged and does nothing;
    /// one that is timed before the last is taken at the last one's instant.
    pub fn input(&mut self, at: i64, input: Input) {
        self.take(at, input);
        if matches!(input, Input::Choose { .. }) {
            self.recall();
        }
    }

    /// The class.
    #[must_use]
    pub fn timeline(&self) -> &Timeline {
        &self.timeline
    }

    /// All inputs so far: store them, and [`Run::replay`] brings the run back.
    #[must_use]
    pub fn log(&self) -> &Log {
        &self.log
    }

    /// The instant of class time 0, of a class at a set instant.
    #[must_use]
    pub fn set(&self) -> Option<i64> {
        self.state.stand.set
    }

    /// The options in force.
    #[must_use]
    pub fn ways(&self) -> &Ways {
        &self.state.ways
    }

    /// Where the run stands at an instant. `now` before the last input counts as that instant.
    fn stand(&self, now: i64, spans: &mut dyn FnMut(Span)) -> (Stand, i64) {
        let now = self.state.last.map_or(now, |last| now.max(last));
        let mut stand = self.state.stand;
        stand.settle(&self.timeline, now, spans);
        (stand, now)
    }

    /// What to show. Until the next input it changes at [`Run::wake`] and not before.
    #[must_use]
    pub fn show(&self, now: i64) -> Moment {
        let (stand, now) = self.stand(now, &mut |_| {});
        let class_ms = stand.class_at(now);
        let over = matches!(stand.phase, Phase::Idle | Phase::Done);
        let segment = stand.segment(&self.timeline, now).filter(|_| !over);
        let left_ms = match segment {
            Some(i) => self.timeline.segments()[i].end_ms - class_ms,
            None => -class_ms,
        };
        Moment {
            phase: stand.phase,
            class_ms,
            segment,
            seconds: seconds_up(left_ms),
            count_in: stand.resume_at.map(|at| seconds_up(at - now)),
            hand: segment.and_then(|i| self.timeline.segments()[i].hand_at(class_ms)),
            class_left_ms: self.timeline.total_ms() - class_ms.max(0),
            shared: stand.shared_at(now).map(|shared| {
                matches!(stand.phase, Phase::Before | Phase::Running) && shared == class_ms
            }),
            undo: self.state.undoable().filter(|_| !over),
        }
    }

    /// The next instant at which what is shown changes by itself; `None` while it stands.
    #[must_use]
    pub fn wake(&self, now: i64) -> Option<i64> {
        let (stand, now) = self.stand(now, &mut |_| {});
        let class_ms = stand.class_at(now);
        match stand.phase {
            Phase::Before => Some(now + next_step(-class_ms)),
            Phase::Running => {
                let segment = &self.timeline.segments()[stand.segment(&self.timeline, now)?];
                let second = next_step(segment.end_ms - class_ms);
                // Half time may lie between two seconds.
                let half = segment.half_ms() - class_ms;
                let step = if half > 0 { second.min(half) } else { second };
                Some(now + step)
            }
            Phase::Paused => stand.resume_at.map(|at| now + next_step(at - now)),
            Phase::Idle | Phase::Held | Phase::Done => None,
        }
    }

    /// What sounds from an instant on and before another, in order, if nothing else is done.
    #[must_use]
    pub fn sound(&self, from: i64, until: i64) -> Vec<Sounding> {
        let now = self.state.last.map_or(from, |last| from.max(last));
        // What falls on the very instant belongs to it: so one looks from just before.
        let (mut stand, _) = self.stand(from.saturating_sub(1), &mut |_| {});
        let mut sounding = Vec::new();
        if let Some(at) = stand.resume_at.filter(|_| stand.phase == Phase::Paused) {
            for n in [3, 2, 1] {
                sounding.push(Sounding {
                    at: at - i64::from(n) * 1000,
                    call: Call::Count(n),
                    segment: None,
                });
            }
            stand.settle(&self.timeline, at, &mut |_| {});
            // Only work goes; a hold and a gap are merely gone on with.
            let goes = stand.phase == Phase::Running
                && self
                    .timeline
                    .at(stand.class_ms)
                    .is_some_and(|segment| segment.is_work());
            if goes {
                sounding.push(Sounding {
                    at,
                    call: Call::Go,
                    segment: None,
                });
            }
        }
        if matches!(stand.phase, Phase::Running | Phase::Before) {
            let (stop_ms, held) = stand.stop(&self.timeline);
            let instant = |class_ms: i64| stand.anchor + (class_ms - stand.class_ms);
            let cues = &self.calls().cues;
            let first = cues.partition_point(|cue| cue.at_ms < stand.class_ms.max(0));
            let resumed = sounding.last().map(|go| go.at);
            sounding.extend(
                cues[first..]
                    .iter()
                    .take_while(|cue| cue.at_ms <= stop_ms && instant(cue.at_ms) < until)
                    // A held gap ends when the coach says so: what lies on its end waits for that.
                    .filter(|cue| {
                        let waits = held.is_some()
                            && self.timeline.segments()[cue.segment].start_ms >= stop_ms;
                        !waits && (cue.at_ms < stop_ms || cue.call == Call::End)
                    })
                    .map(|cue| Sounding {
                        at: instant(cue.at_ms),
                        call: cue.call,
                        segment: Some(cue.segment),
                    })
                    // A pause on the very go: the count-in has called it already.
                    .filter(|one| {
                        Some(one.at) != resumed || !matches!(one.call, Call::Go | Call::Over)
                    }),
            );
        }
        let mut heard: Vec<Sounding> = Vec::with_capacity(sounding.len());
        for one in sounding {
            if !(now..until).contains(&one.at) {
                continue;
            }
            // Of two in one millisecond the more urgent one is heard.
            match heard.last_mut().filter(|last| last.at == one.at) {
                Some(last) if one.call.urgency() < last.call.urgency() => *last = one,
                Some(_) => {}
                None => heard.push(one),
            }
        }
        heard
    }

    /// What is spoken from an instant on and before another, in order, if nothing else is done.
    /// While class time stands nothing is.
    #[must_use]
    pub fn say(&self, from: i64, until: i64) -> Vec<Saying> {
        let now = self.state.last.map_or(from, |last| from.max(last));
        let (mut stand, _) = self.stand(from.saturating_sub(1), &mut |_| {});
        if let Some(at) = stand.resume_at.filter(|_| stand.phase == Phase::Paused) {
            stand.settle(&self.timeline, at, &mut |_| {});
        }
        if !matches!(stand.phase, Phase::Running | Phase::Before) {
            return Vec::new();
        }
        let (stop_ms, _) = stand.stop(&self.timeline);
        let instant = |class_ms: i64| stand.anchor + (class_ms - stand.class_ms);
        let phrases = &self.calls().phrases;
        let first = phrases.partition_point(|phrase| phrase.at_ms < stand.class_ms);
        phrases[first..]
            .iter()
            .take_while(|phrase| phrase.at_ms < stop_ms && instant(phrase.at_ms) < until)
            .filter(|phrase| instant(phrase.at_ms) >= now)
            .map(|phrase| Saying {
                at: instant(phrase.at_ms),
                until: instant(phrase.until_ms),
                topic: phrase.topic,
                text: phrase.text.clone(),
            })
            .collect()
    }

    /// The start of work that the coach's go most likely is: the nearest, the later one on a tie;
    /// the next one while class time stands.
    #[must_use]
    pub fn align_offer(&self, now: i64) -> Option<AlignOffer> {
        let (stand, now) = self.stand(now, &mut |_| {});
        let class_ms = stand.class_at(now);
        let segments = self.timeline.segments();
        let after = segments.partition_point(|s| s.start_ms < class_ms);
        let later = self.timeline.next_work(after);
        let earlier = (0..after).rev().find(|i| segments[*i].is_work());
        let standing = matches!(stand.phase, Phase::Paused | Phase::Held);
        let to = match (earlier, later) {
            _ if matches!(stand.phase, Phase::Idle | Phase::Done) => return None,
            (Some(e), Some(l)) if !standing => {
                let behind = class_ms - segments[e].start_ms;
                let ahead = segments[l].start_ms - class_ms;
                if behind < ahead { e } else { l }
            }
            (earlier, later) => later.or(earlier)?,
        };
        self.align_to(now, to)
    }

    /// The offer for a given start of work: what the touch that moves the target by a rung asks.
    #[must_use]
    pub fn align_to(&self, now: i64, to: usize) -> Option<AlignOffer> {
        let target = self.timeline.segments().get(to).filter(|s| s.is_work())?;
        let by_ms = target.start_ms - self.show(now).class_ms;
        Some(AlignOffer {
            to,
            by_ms,
            asks: by_ms.abs() > ALIGN_ASKS_MS,
        })
    }

    /// The stretches of the run up to an instant. They touch, from its start on.
    #[must_use]
    pub fn spans(&self, now: i64) -> Vec<Span> {
        let mut spans = self.state.spans.clone();
        let (stand, now) = self.stand(now, &mut |span| spans.push(span));
        if !matches!(stand.phase, Phase::Idle | Phase::Done) && now > stand.anchor {
            spans.push(Span {
                phase: stand.phase,
                from: stand.anchor,
                to: now,
                class_from: stand.class_ms,
                class_to: stand.class_at(now),
            });
        }
        spans
    }

    /// Milliseconds since the run left [`Phase::Before`] for the first time, without what was
    /// waited since: by the clock, not by adding spans up.
    #[must_use]
    pub fn elapsed_ms(&self, now: i64) -> i64 {
        let Some(started) = self.state.started else {
            return 0;
        };
        let (stand, now) = self.stand(now, &mut |_| {});
        let end = if stand.phase == Phase::Done {
            stand.anchor
        } else {
            now
        };
        let waited: i64 = self
            .spans(now)
            .iter()
            .filter(|span| span.phase == Phase::Before)
            .map(|span| span.to - span.from)
            .sum();
        end - started - waited
    }

    /// The first stretch in which the phone was away, as long as the member has not said whether
    /// they kept going; with several it reaches to the end of the last.
    #[must_use]
    pub fn away(&self) -> Option<Away> {
        let mut open = self.state.away.iter().filter(|away| !away.answered);
        let first = *open.next()?;
        let to = open.next_back().map_or(first.to, |last| last.to);
        Some(Away { to, ..first })
    }

    /// The instant at which the run was over, once it is.
    #[must_use]
    pub fn ended_at(&self, now: i64) -> Option<i64> {
        let (stand, _) = self.stand(now, &mut |_| {});
        (stand.phase == Phase::Done).then_some(stand.anchor)
    }

    /// What was really done up to an instant.
    #[must_use]
    pub fn record(&self, now: i64) -> Record {
        let (stand, _) = self.stand(now, &mut |_| {});
        let reached_end = stand.phase == Phase::Done && !self.state.stopped;
        {
            let joined_ms = match (self.state.started, stand.set) {
                (Some(started), Some(set)) => (started - set).max(0),
                _ => 0,
            };
            Record::new(
                &self.timeline,
                &self.spans(now),
                &self.state.away,
                reached_end,
                joined_ms,
            )
        }
    }
}

/// From what is left to the next whole second left.
fn next_step(left_ms: i64) -> i64 {
    match left_ms.rem_euclid(1000) {
        0 => 1000,
        part => part,
    }
}
