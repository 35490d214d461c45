//! The fold: where a run stands after each input, and how it moves on by itself in between.

use super::log::Input;
use crate::timeline::{Timeline, Ways};

/// Going on after a pause counts this long in; it belongs to the pause.
pub const COUNT_IN_MS: i64 = 3_000;
/// Within this long of a segment's start, back goes to the segment before.
pub const BACK_MS: i64 = 3_000;

/// Where a run stands.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Phase {
    /// Not started.
    #[default]
    Idle,
    /// Started, class time below 0: waiting for the set instant, or for the class to begin on a
    /// recording.
    Before,
    /// Class time runs.
    Running,
    /// Class time stands until the member goes on.
    Paused,
    /// Class time stands at the end of a held gap until the coach says go.
    Held,
    /// Over.
    Done,
}

/// A stretch of a run in one phase. Spans touch, from the start of the run to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// [`Phase::Before`], [`Phase::Running`], [`Phase::Paused`] or [`Phase::Held`].
    pub phase: Phase,
    /// The instant at which it began.
    pub from: i64,
    /// The instant at which it ended.
    pub to: i64,
    /// Class time at its beginning.
    pub class_from: i64,
    /// Class time at its end.
    pub class_to: i64,
}

/// What the last shift was: undo takes it off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shift {
    /// A skip to the next segment.
    Skip,
    /// A step back.
    Back,
    /// A jump along the strip.
    Jump,
    /// The coach's go.
    Align,
    /// A nudge.
    Nudge,
}

/// A shift that can be taken off: by how much it moved this run, and the shared clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Undo {
    shift: Shift,
    run_ms: i64,
    shared_ms: i64,
}

/// Where a run stands, with no history.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Stand {
    pub phase: Phase,
    /// The instant at which the present stretch began.
    pub anchor: i64,
    /// Class time at the anchor.
    pub class_ms: i64,
    /// When a count-in ends.
    pub resume_at: Option<i64>,
    /// The held gap at whose end class time stands, in pauses too.
    pub held: Option<usize>,
    /// The instant of class time 0, of a class at a set instant.
    pub set: Option<i64>,
    /// What aligns and nudges moved the shared clock by.
    pub shift_ms: i64,
    pub lead: bool,
}

impl Stand {
    /// Class time at an instant within the present stretch.
    pub fn class_at(&self, now: i64) -> i64 {
        match self.phase {
            Phase::Running | Phase::Before => self.class_ms + (now - self.anchor),
            _ => self.class_ms,
        }
    }

    /// Class time by the shared clock.
    pub fn shared_at(&self, now: i64) -> Option<i64> {
        Some(now - self.set? + self.shift_ms)
    }

    /// Where class time stops next: its value, and the held gap that stops it (none: the end).
    pub fn stop(&self, timeline: &Timeline) -> (i64, Option<usize>) {
        let segments = timeline.segments();
        let held = self.lead.then(|| {
            let from = segments.partition_point(|s| s.end_ms <= self.class_ms);
            (from..segments.len()).find(|i| segments[*i].held)
        });
        match held.flatten() {
            Some(i) => (segments[i].end_ms, Some(i)),
            None => (timeline.total_ms(), None),
        }
    }

    /// Ends the present stretch and begins another in the same phase.
    fn cut(&mut self, at: i64, spans: &mut dyn FnMut(Span)) {
        let class_to = self.class_at(at);
        if at > self.anchor && !matches!(self.phase, Phase::Idle | Phase::Done) {
            spans(Span {
                phase: self.phase,
                from: self.anchor,
                to: at,
                class_from: self.class_ms,
                class_to,
            });
        }
        self.class_ms = class_to;
        self.anchor = at;
    }

    /// Moves on by itself up to an instant. Each change happens at its own millisecond, so that
    /// it is all the same how often and how late this is asked.
    pub fn settle(&mut self, timeline: &Timeline, now: i64, spans: &mut dyn FnMut(Span)) {
        loop {
            match self.phase {
                Phase::Before => {
                    let zero = self.anchor - self.class_ms;
                    if now < zero {
                        return;
                    }
                    self.cut(zero, spans);
                    self.phase = Phase::Running;
                }
                Phase::Running => {
                    let (stop_ms, held) = self.stop(timeline);
                    let at = self.anchor + (stop_ms - self.class_ms).max(0);
                    if now < at {
                        return;
                    }
                    self.cut(at, spans);
                    self.held = held;
                    self.phase = if held.is_some() {
                        Phase::Held
                    } else {
                        Phase::Done
                    };
                }
                Phase::Paused => match self.resume_at {
                    Some(at) if at <= now => {
                        self.cut(at, spans);
                        self.resume_at = None;
                        self.phase = match self.held {
                            Some(_) => Phase::Held,
                            // A shift within the pause may have led to before the class.
                            None if self.class_ms < 0 => Phase::Before,
                            None => Phase::Running,
                        };
                    }
                    _ => return,
                },
                Phase::Idle | Phase::Held | Phase::Done => return,
            }
        }
    }

    /// Takes class time elsewhere, from an instant on. A pause stays one; a hold is left.
    fn move_to(&mut self, class_ms: i64, timeline: &Timeline) {
        self.class_ms = class_ms;
        self.held = None;
        if self.class_ms >= timeline.total_ms() {
            self.class_ms = timeline.total_ms();
            self.resume_at = None;
            self.phase = Phase::Done;
        } else if self.phase != Phase::Paused {
            self.phase = if self.class_ms < 0 {
                Phase::Before
            } else {
                Phase::Running
            };
        }
    }

    /// The segment that is shown: a held gap is, to its very end and beyond.
    pub fn segment(&self, timeline: &Timeline, now: i64) -> Option<usize> {
        self.held.or_else(|| timeline.index_at(self.class_at(now)))
    }
}

/// A stretch in which the phone was asleep, frozen or closed while the class went on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Away {
    /// The last instant at which the class was seen to run.
    pub from: i64,
    /// The instant at which the phone was back.
    pub to: i64,
    /// Class time at `from`.
    pub class_ms: i64,
    /// The member took part all the same.
    pub kept_going: bool,
    /// The member has said whether they did.
    pub answered: bool,
}

/// Where a run stands, with all that inputs leave behind.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct State {
    pub stand: Stand,
    pub ways: Ways,
    pub spans: Vec<Span>,
    /// The instant of the start.
    pub started: Option<i64>,
    /// The run was ended before the class was.
    pub stopped: bool,
    /// When the phone was away, in order.
    pub away: Vec<Away>,
    undo: Vec<Undo>,
    /// The instant of the last input: none comes before it.
    pub last: Option<i64>,
}

impl State {
    /// What undo would take off.
    pub fn undoable(&self) -> Option<Shift> {
        self.undo.last().map(|undo| undo.shift)
    }

    pub fn apply(&mut self, timeline: &Timeline, at: i64, input: Input) {
        let earliest = self.last;
        let now = earliest.map_or(at, |last| at.max(last));
        self.last = Some(now);
        if let Input::Away { from } = input {
            self.note_away(timeline, earliest.unwrap_or(now), from, now);
        }
        self.settle(timeline, now);
        match (input, self.stand.phase) {
            (Input::Away { .. }, _) => {}
            (Input::KeptGoing, _) => {
                for away in self.away.iter_mut().filter(|away| !away.answered) {
                    (away.answered, away.kept_going) = (true, true);
                }
            }
            (Input::Return, _) => self.return_from_away(timeline, now),
            (Input::Reopen, Phase::Done) if self.stopped => {
                // The time since the stop becomes a pause.
                self.stopped = false;
                self.stand.phase = Phase::Paused;
            }
            (Input::Start { set, lead }, Phase::Idle) => {
                self.started = Some(now);
                self.stand = Stand {
                    anchor: now,
                    set,
                    lead,
                    phase: Phase::Running,
                    ..Stand::default()
                };
                let class_ms = self.stand.shared_at(now).unwrap_or(0);
                self.stand.move_to(class_ms, timeline);
            }
            (_, Phase::Done) => return,
            (Input::Choose { of, option }, _) => {
                choose(&mut self.ways, timeline, of, option);
            }
            (_, Phase::Idle) => return,
            (input, _) => self.steer(timeline, now, input),
        }
        // A start or a shift may land on a stop.
        self.settle(timeline, now);
    }

    fn settle(&mut self, timeline: &Timeline, now: i64) {
        let spans = &mut self.spans;
        self.stand
            .settle(timeline, now, &mut |span| spans.push(span));
    }

    fn cut(&mut self, now: i64) {
        let spans = &mut self.spans;
        self.stand.cut(now, &mut |span| spans.push(span));
    }

    /// The inputs that stop, start and shift class time.
    fn steer(&mut self, timeline: &Timeline, now: i64, input: Input) {
        let segments = timeline.segments();
        let phase = self.stand.phase;
        let before = phase == Phase::Before;
        match input {
            // A recording can be paused before the class begins on it; a set instant can't.
            Input::Pause
                if matches!(phase, Phase::Running | Phase::Held)
                    || (before && self.stand.set.is_none()) =>
            {
                self.cut(now);
                self.stand.phase = Phase::Paused;
            }
            // A pause within the count-in calls it off.
            Input::Pause => self.stand.resume_at = None,
            Input::Resume => {
                if phase == Phase::Paused && self.stand.resume_at.is_none() {
                    self.stand.resume_at = Some(now + COUNT_IN_MS);
                }
            }
            Input::Go => {
                if phase == Phase::Held {
                    self.cut(now);
                    self.stand.held = None;
                    self.stand.phase = Phase::Running;
                }
            }
            Input::Skip if !before => {
                if let Some(i) = self.stand.segment(timeline, now) {
                    self.shift_to(timeline, now, segments[i].end_ms, Shift::Skip);
                }
            }
            Input::Back if !before => {
                if let Some(i) = self.stand.segment(timeline, now) {
                    let here = segments[i].start_ms;
                    let to = if i > 0 && self.stand.class_at(now) - here < BACK_MS {
                        segments[i - 1].start_ms
                    } else {
                        here
                    };
                    self.shift_to(timeline, now, to, Shift::Back);
                }
            }
            Input::Jump { to } if !before => {
                if let Some(target) = segments.get(to).filter(|s| s.is_work()) {
                    self.shift_to(timeline, now, target.start_ms, Shift::Jump);
                }
            }
            Input::Skip | Input::Back | Input::Jump { .. } => {}
            Input::Align { to } => {
                if let Some(target) = segments.get(to).filter(|s| s.is_work()) {
                    self.align(timeline, now, target.start_ms);
                }
            }
            Input::Nudge { ms } => self.nudge(timeline, now, ms),
            Input::Undo => self.take_off(timeline, now),
            Input::Rejoin => self.rejoin(timeline, now),
            Input::Stop => {
                self.cut(now);
                self.stopped = true;
                self.stand.resume_at = None;
                self.stand.phase = Phase::Done;
            }
            Input::Start { .. }
            | Input::Choose { .. }
            | Input::Away { .. }
            | Input::Reopen
            | Input::KeptGoing
            | Input::Return => {}
        }
    }

    /// Notes that nobody was seen from an instant until now. Where class time stood all the while
    /// there is nothing to note.
    fn note_away(&mut self, timeline: &Timeline, earliest: i64, from: i64, now: i64) {
        let from = from.clamp(earliest, now);
        let mut stand = self.stand;
        stand.settle(timeline, from, &mut |_| {});
        let class_ms = stand.class_at(from);
        stand.settle(timeline, now, &mut |_| {});
        if stand.class_at(now) != class_ms {
            self.away.push(Away {
                from,
                to: now,
                class_ms,
                kept_going: false,
                answered: false,
            });
        }
    }

    /// Class time goes back to where it stood when the phone went away, also from the class's end.
    fn return_from_away(&mut self, timeline: &Timeline, now: i64) {
        let Some(first) = self.away.iter().find(|away| !away.answered).copied() else {
            return;
        };
        if self.stopped {
            return;
        }
        for away in &mut self.away {
            away.answered = true;
        }
        if self.stand.phase == Phase::Done {
            // What lies between the end and now becomes a pause.
            self.stand.phase = Phase::Paused;
        }
        self.cut(now);
        self.stand.phase = Phase::Paused;
        self.stand.move_to(first.class_ms, timeline);
        self.stand.resume_at = Some(now + COUNT_IN_MS);
        self.undo.clear();
    }

    fn shift_to(&mut self, timeline: &Timeline, now: i64, class_ms: i64, shift: Shift) {
        self.cut(now);
        let run_ms = class_ms - self.stand.class_ms;
        self.stand.move_to(class_ms, timeline);
        self.undo.push(Undo {
            shift,
            run_ms,
            shared_ms: 0,
        });
    }

    /// The coach's go is now: class time is the target's start and runs, whatever it did before,
    /// and the shared clock is moved to agree.
    fn align(&mut self, timeline: &Timeline, now: i64, class_ms: i64) {
        self.cut(now);
        let run_ms = class_ms - self.stand.class_ms;
        let shared_ms = match self.stand.shared_at(now) {
            Some(shared) => class_ms - shared,
            None => run_ms,
        };
        self.stand.resume_at = None;
        self.stand.phase = Phase::Running;
        self.stand.shift_ms += shared_ms;
        self.stand.move_to(class_ms, timeline);
        self.undo.push(Undo {
            shift: Shift::Align,
            run_ms,
            shared_ms,
        });
    }

    fn nudge(&mut self, timeline: &Timeline, now: i64, ms: i64) {
        // Only go, skip and the like leave a held gap.
        if self.stand.held.is_some() || ms == 0 {
            return;
        }
        let (stop_ms, _) = self.stand.stop(timeline);
        self.cut(now);
        let was = self.stand.class_ms;
        // Nor does a nudge carry past the end of one, or past the end of the class. It may lead to
        // before the class: a recording or a stream may still stand there.
        let run_ms = (was + ms).min(stop_ms) - was;
        self.stand.shift_ms += run_ms;
        self.place(timeline, was + run_ms, stop_ms);
        self.undo.push(Undo {
            shift: Shift::Nudge,
            run_ms,
            shared_ms: run_ms,
        });
    }

    fn take_off(&mut self, timeline: &Timeline, now: i64) {
        let Some(undo) = self.undo.pop() else { return };
        self.stand.shift_ms -= undo.shared_ms;
        // A skip out of a held gap shifted nothing: there is nothing to take off.
        if undo.run_ms != 0 {
            // At a hold class time stands on its stop: the next one lies beyond it.
            let stop_ms = match self.stand.held {
                Some(i) => timeline.segments()[i].end_ms,
                None => self.stand.stop(timeline).0,
            };
            self.cut(now);
            self.place(timeline, self.stand.class_ms - undo.run_ms, stop_ms);
        }
    }

    /// Takes class time elsewhere, but not past the next stop; on the end of a held gap it is held.
    fn place(&mut self, timeline: &Timeline, to: i64, stop_ms: i64) {
        let to = to.min(stop_ms);
        self.stand.move_to(to, timeline);
        let held = timeline
            .segments()
            .iter()
            .position(|segment| segment.held && segment.end_ms == to);
        if self.stand.lead && held.is_some() {
            self.stand.held = held;
            if self.stand.phase != Phase::Paused {
                self.stand.phase = Phase::Held;
            }
        }
    }

    fn rejoin(&mut self, timeline: &Timeline, now: i64) {
        let Some(shared) = self.stand.shared_at(now) else {
            return;
        };
        self.cut(now);
        self.stand.resume_at = None;
        self.stand.phase = Phase::Running;
        self.stand.move_to(shared, timeline);
        // What moved this run alone is gone with the return; what moved the clock is part of it.
        self.undo.retain(|undo| undo.shared_ms != 0);
        for undo in &mut self.undo {
            undo.run_ms = undo.shared_ms;
        }
    }
}

fn choose(ways: &mut Ways, timeline: &Timeline, of: usize, option: Option<usize>) {
    let Some(known) = timeline.plan().moves.get(of) else {
        return;
    };
    match option {
        Some(option) if option < known.options.len() => {
            ways.insert(of, option);
        }
        Some(_) => {}
        None => {
            ways.remove(&of);
        }
    }
}
