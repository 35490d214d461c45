//! What is spoken, and where it has room.

use std::sync::Arc;

use super::call::{
    COUNTED_WORK_MS, Call, CallLevel, Calling, Cue, FIVE_WORK_MS, TEN_WORK_MS, counts_before,
    is_other_side, place, speech_ms,
};
use super::tones::tone_ms;
use super::words::{Words, put};
use crate::plan::{BlockKind, Hand, Move, fill, fill_in, first_sentence};
use crate::timeline::{
    Counted, Segment, SegmentKind, Side, Timeline, Ways, called, changes_at_half, kit_of,
    kit_to_fetch,
};

/// Between the last word and the three.
const QUIET_MS: i64 = 500;
/// Between two phrases, and between a tone and the word after it.
const PAUSE_MS: i64 = 150;
/// How far before the end of work the next move may be named.
const TAIL_MS: i64 = 15_000;

/// What a phrase is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Topic {
    /// The move and the side that come next.
    Next,
    /// A new block and its kit.
    Block,
    /// A demo.
    Demo,
    /// An interlude.
    Interlude,
    /// Half time.
    Half,
    /// Ten seconds to go.
    Ten,
    /// Five seconds to go.
    Five,
    /// An extra call of the plan.
    Mark,
}

/// Something spoken at a class time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Phrase {
    /// Milliseconds of class time at which the first word begins.
    pub at_ms: i64,
    /// By when the last word has to have ended.
    pub until_ms: i64,
    /// The segment that it is about.
    pub segment: usize,
    /// What about it.
    pub topic: Topic,
    /// The words.
    pub text: Arc<str>,
}

impl Phrase {
    /// When the last word ends, at the usual rate.
    #[must_use]
    pub fn end_ms(&self) -> i64 {
        self.at_ms + speech_ms(&self.text)
    }
}

/// A call inside work that keeps its instant.
pub(super) struct Moment {
    pub at_ms: i64,
    pub call: Call,
    say: Option<String>,
}

/// Ten, five and the entry's marks. Of a mark `say` has the words; of the others the language has.
pub(super) fn moments(timeline: &Timeline, segment: &Segment) -> Vec<Moment> {
    let mut moments = Vec::new();
    let marks = timeline.entry_of(segment).map(|entry| &entry.marks);
    for mark in marks.into_iter().flatten() {
        let at_ms = segment.start_ms + i64::from(mark.at) * 1000;
        if at_ms < segment.end_ms {
            moments.push(Moment {
                at_ms,
                call: Call::Mark,
                say: Some(mark.say.clone()),
            });
        }
    }
    for (least, before, call) in [
        (TEN_WORK_MS, 10_000, Call::Ten),
        (FIVE_WORK_MS, 5_000, Call::Five),
    ] {
        if segment.len_ms() >= least {
            moments.push(Moment {
                at_ms: segment.end_ms - before,
                call,
                say: None,
            });
        }
    }
    moments
}

/// A stretch of class time in which something is spoken.
type Taken = (i64, i64);

/// Everything that is spoken; and the tones of what gives way to something else, by their segments.
pub(super) fn phrases(
    timeline: &Timeline,
    ways: &Ways,
    calling: Calling,
) -> (Vec<Phrase>, Vec<Cue>) {
    let speaker = Speaker {
        timeline,
        ways,
        words: calling.tongue.words(),
        full: calling.level == CallLevel::Full,
    };
    let (mut phrases, mut tones) = (Vec::new(), Vec::new());
    let mut met = vec![false; timeline.plan().moves.len()];
    let mut before = None;
    let mut inside = Vec::new();
    for (i, segment) in timeline.segments().iter().enumerate() {
        if !segment.is_work() {
            continue;
        }
        let new = segment
            .move_at
            .is_some_and(|at| !std::mem::replace(&mut met[at], true));
        speaker.gap(before, i, new, &inside, &mut phrases);
        inside = speaker.work(i, &mut phrases, &mut tones);
        before = Some(i);
    }
    speaker.after(before, &mut phrases);
    (phrases, tones)
}

/// What to mind of an exercise, with the working side's words: the first time in full, later its
/// first sentence. Empty where it has no caution.
///
/// ```
/// use rungbook::cue::caution;
/// use rungbook::plan::{Hand, Move};
/// let lunge = Move {
///     caution: "Keep the {side} heel down. Hold on to a chair if you sway.".into(),
///     ..Move::default()
/// };
/// let right = Some(Hand::Right);
/// assert_eq!(caution(&lunge, right, false), "Keep the right heel down. Hold on to a chair if you sway.");
/// assert_eq!(caution(&lunge, right, true), "Keep the right heel down.");
/// ```
#[must_use]
pub fn caution(known: &Move, hand: Option<Hand>, met: bool) -> String {
    fill(caution_text(known, met), hand)
}

fn caution_text(known: &Move, met: bool) -> &str {
    if met {
        first_sentence(&known.caution)
    } else {
        &known.caution
    }
}

struct Speaker<'t> {
    timeline: &'t Timeline,
    ways: &'t Ways,
    words: &'static Words,
    full: bool,
}

impl Speaker<'_> {
    fn at(&self, segment: usize) -> &Segment {
        &self.timeline.segments()[segment]
    }

    /// What is said between the work before and the work at `next`.
    fn gap(
        &self,
        before: Option<usize>,
        next: usize,
        new: bool,
        inside: &[Taken],
        phrases: &mut Vec<Phrase>,
    ) {
        let to = self.at(next).start_ms;
        let from = before.map_or(0, |before| self.at(before).end_ms);
        let counts = i64::from(counts_before(to - from));
        let until_ms = to - counts * 1000 - if counts > 0 { QUIET_MS } else { 0 };
        let first_word = from + before.map_or(PAUSE_MS, |_| tone_ms(Call::End) + PAUSE_MS);
        let mut free_until = until_ms;
        let from_work = before.map_or(0, |before| before + 1);
        let shown = (from_work..next).any(|i| self.at(i).kind == SegmentKind::Demo);
        let variants = self.next(before, next, new, shown);
        let fits = |text: &&String| until_ms - speech_ms(text) >= first_word;
        if let Some(text) = variants.iter().find(fits) {
            let at_ms = until_ms - speech_ms(text);
            put_in(phrases, phrase(at_ms, until_ms, next, Topic::Next, text));
            free_until = at_ms - PAUSE_MS;
        } else if let Some(before) = before {
            let tail = variants.iter().find_map(|text| {
                let (at_ms, until_ms) = self.tail(before, speech_ms(text), inside)?;
                Some(phrase(at_ms, until_ms, next, Topic::Next, text))
            });
            if let Some(tail) = tail {
                put_in(phrases, tail);
            }
        }

        let mut free_from = first_word;
        let mut say = |from: i64, to: i64, segment, topic, variants: &[String]| {
            let at_ms = from.max(free_from);
            let until_ms = to.min(free_until);
            let fits = |text: &&String| !text.is_empty() && at_ms + speech_ms(text) <= until_ms;
            if let Some(text) = variants.iter().find(fits) {
                let said = phrase(at_ms, until_ms, segment, topic, text);
                free_from = said.end_ms() + PAUSE_MS;
                put_in(phrases, said);
            }
        };
        say(
            first_word,
            until_ms,
            next,
            Topic::Block,
            &self.block(before, next),
        );
        for i in from_work..next {
            let (segment, variants) = (self.at(i), self.aside(i));
            let topic = match segment.kind {
                SegmentKind::Demo => Topic::Demo,
                _ => Topic::Interlude,
            };
            say(
                segment.start_ms + PAUSE_MS,
                segment.end_ms,
                i,
                topic,
                &variants,
            );
        }
    }

    /// Interludes after the last work.
    fn after(&self, last: Option<usize>, phrases: &mut Vec<Phrase>) {
        let from = last.map_or(0, |last| last + 1);
        let mut free_from = last.map_or(0, |last| self.at(last).end_ms + tone_ms(Call::End));
        for i in from..self.timeline.segments().len() {
            let segment = self.at(i);
            let at_ms = free_from.max(segment.start_ms) + PAUSE_MS;
            let fits =
                |text: &&String| !text.is_empty() && at_ms + speech_ms(text) <= segment.end_ms;
            if let Some(text) = self.aside(i).iter().find(fits) {
                let said = phrase(at_ms, segment.end_ms, i, Topic::Interlude, text);
                free_from = said.end_ms();
                put_in(phrases, said);
            }
        }
    }

    /// The latest room of a length in the last seconds of work, between what is said there.
    fn tail(&self, work: usize, len_ms: i64, inside: &[Taken]) -> Option<Taken> {
        let segment = self.at(work);
        let go = segment.start_ms + tone_ms(Call::Over) + PAUSE_MS;
        let from = go.max(segment.end_ms - TAIL_MS);
        let mut until = speech_end(segment);
        for (taken_from, taken_to) in inside.iter().rev() {
            if until - len_ms >= taken_to + PAUSE_MS {
                break;
            }
            until = until.min(taken_from - PAUSE_MS);
        }
        (until - len_ms >= from).then_some((until - len_ms, until))
    }

    /// What is said inside work. Returns where speech and half time's tone are, in order.
    fn work(&self, i: usize, phrases: &mut Vec<Phrase>, tones: &mut Vec<Cue>) -> Vec<Taken> {
        let segment = self.at(i);
        let words = self.words;
        let end = speech_end(segment);
        let half_tone = (segment.half_ms(), segment.half_ms() + tone_ms(Call::Half));
        let changes = changes_at_half(self.timeline, segment, self.ways);
        let halves = changes || (self.full && segment.len_ms() >= TEN_WORK_MS);
        let half = match segment.side {
            Side::Half { first } => put(words.change_to, &[words.side(first.other())]),
            _ if changes => words.change.to_owned(),
            _ => words.half.to_owned(),
        };
        let half = Moment {
            at_ms: half_tone.1 + PAUSE_MS,
            call: Call::Half,
            say: Some(half),
        };
        let mut moments = moments(self.timeline, segment);
        if changes {
            moments.insert(0, half);
        } else if halves {
            moments.push(half);
        }
        let mut taken = Vec::new();
        if halves {
            taken.push(half_tone);
        }
        let go = segment.start_ms + tone_ms(Call::Over) + PAUSE_MS;
        for moment in moments {
            let (topic, text) = match moment.call {
                Call::Ten => (Topic::Ten, words.ten.to_owned()),
                Call::Five => (Topic::Five, words.five.to_owned()),
                Call::Half => (Topic::Half, moment.say.unwrap_or_default()),
                _ => (Topic::Mark, moment.say.unwrap_or_default()),
            };
            let at_ms = moment.at_ms.max(go);
            let free = |text: &str| {
                let to = at_ms + speech_ms(text);
                let clear = |(a, b): &Taken| to + PAUSE_MS <= *a || at_ms >= *b + PAUSE_MS;
                !text.is_empty() && to <= end && taken.iter().all(clear)
            };
            let said = [text.as_str(), first_sentence(&text)]
                .into_iter()
                .find(|text| free(text));
            match said {
                Some(text) => {
                    place(&mut taken, (at_ms, at_ms + speech_ms(text)), |one| *one);
                    put_in(phrases, phrase(at_ms, end, i, topic, text));
                }
                // Half time has its tone already.
                None if moment.call != Call::Half => {
                    let (at_ms, call, segment) = (moment.at_ms, moment.call, i);
                    tones.push(Cue {
                        at_ms,
                        call,
                        segment,
                    });
                }
                None => {}
            }
        }
        taken
    }

    /// What the work at a segment is called, as it is done: with its side.
    fn name(&self, i: usize) -> String {
        let names = self.timeline.names_of(self.at(i), self.ways);
        self.words.list(&names)
    }

    /// What gets a member ready for the work at a segment: the most words first. Where a demo is spoken
    /// before it, how the exercise goes is told there, and of the caution its first sentence here.
    fn next(&self, before: Option<usize>, next: usize, new: bool, shown: bool) -> Vec<String> {
        let (segment, words) = (self.at(next), self.words);
        let before_it = before.map(|before| self.at(before));
        let side = match segment.side {
            Side::None => None,
            Side::Right => Some(words.side(crate::plan::Hand::Right).to_owned()),
            Side::Left => Some(words.side(crate::plan::Hand::Left).to_owned()),
            Side::Half { first } => Some(words.side_first(first)),
        };
        if let (true, Some(side)) = (
            before_it.is_some_and(|before| is_other_side(before, segment)),
            &side,
        ) {
            return vec![put(words.change_to, &[side]), side.clone()];
        }
        let name = self.name(next);
        let what = match &side {
            Some(side) => format!("{name}, {side}"),
            None => name.clone(),
        };
        let lead = match before_it {
            None => words.first,
            Some(before) if before.move_at == segment.move_at && before.block == segment.block => {
                words.again
            }
            Some(_) => words.next,
        };
        let plain = put(lead, &[&what]);
        let mut variants = Vec::new();
        if self.full {
            let count = self.timeline.count_of(segment, Counted::Exercise);
            let numbered = match count.filter(|_| lead == words.next) {
                Some(count) => put(words.exercise, &[&count.number.to_string(), &what]),
                None => plain.clone(),
            };
            let kit = self.kit_of(segment.move_at);
            let had = before_it
                .map(|before| self.kit_of(before.move_at))
                .unwrap_or_default();
            let with = if kit.is_empty() || kit == had {
                numbered.clone()
            } else {
                put(words.with, &[&numbered, &words.list(&kit)])
            };
            let hand = segment.hand_at(segment.start_ms);
            if new {
                let cues = self.timeline.cues_of(segment, self.ways);
                let note = cues.first().map(|note| fill_in(note, hand, words.sides));
                let mind = |met| self.caution(segment, hand, met);
                // What could hurt comes before what helps.
                let extras = [
                    (Some(mind(false)), note.clone()),
                    (Some(mind(false)), None),
                    (Some(mind(true)), None),
                    (None, note),
                ];
                for (caution, note) in extras.into_iter().skip(if shown { 2 } else { 0 }) {
                    let rest: Vec<_> = [caution, note].into_iter().flatten().collect();
                    let rest = rest.iter().filter(|words| !words.is_empty());
                    let rest: Vec<_> = rest.map(|words| words.trim_end_matches('.')).collect();
                    if !rest.is_empty() {
                        variants.push(format!("{with}. {}", rest.join(". ")));
                    }
                }
            }
            variants.extend([with, numbered]);
        }
        variants.extend([plain, what, name]);
        variants
    }

    /// The caution of a segment's one exercise; in a window each is done at one's own pace.
    fn caution(&self, segment: &Segment, hand: Option<Hand>, met: bool) -> String {
        let alone = self.timeline.tasks_of(segment).len() <= 1;
        let known = self.timeline.move_of(segment).filter(|_| alone);
        let text = known.map_or("", |known| caution_text(known, met));
        fill_in(text, hand, self.words.sides)
    }

    /// The kit of a move, as it is done.
    fn kit_of(&self, move_at: Option<usize>) -> Vec<String> {
        let plan = self.timeline.plan();
        move_at.map_or_else(Vec::new, |of| called(plan, kit_of(plan, of, self.ways)))
    }

    /// What is said of a new block.
    fn block(&self, before: Option<usize>, next: usize) -> Vec<String> {
        let segment = self.at(next);
        if before.is_some_and(|before| self.at(before).block == segment.block) {
            return Vec::new();
        }
        let kit = kit_to_fetch(self.timeline, self.ways, next);
        let bring = if kit.is_empty() {
            String::new()
        } else {
            put(self.words.bring, &[&self.words.list(&kit)])
        };
        if !self.full {
            return vec![bring];
        }
        let name = self
            .timeline
            .block_of(segment)
            .map(|block| block.name.clone())
            .unwrap_or_default();
        let both = match (name.is_empty(), bring.is_empty()) {
            (false, false) => format!("{name}. {bring}"),
            _ => String::new(),
        };
        vec![both, bring, name]
    }

    /// What is said in a demo or an interlude.
    fn aside(&self, i: usize) -> Vec<String> {
        let segment = self.at(i);
        match segment.kind {
            SegmentKind::Demo => {
                let about = self.timeline.about(segment);
                let shown = about.and_then(|about| self.timeline.plan().moves.get(about.move_at));
                let Some(known) = shown else {
                    return Vec::new();
                };
                let watch = put(self.words.demo, &[known.called()]);
                let how = fill_in(&known.how, None, self.words.sides);
                if !self.full || how.is_empty() {
                    return vec![watch];
                }
                let long = format!("{watch}. {how}");
                let short = format!("{watch}. {}", first_sentence(&how));
                vec![long, short, watch]
            }
            SegmentKind::Interlude => {
                let Some(block) = self.timeline.block_of(segment) else {
                    return Vec::new();
                };
                let BlockKind::Interlude { say, .. } = &block.kind else {
                    return Vec::new();
                };
                let short = or(&block.name, first_sentence(say));
                if self.full {
                    vec![say.clone(), first_sentence(say).to_owned(), short]
                } else {
                    vec![short]
                }
            }
            _ => Vec::new(),
        }
    }
}

/// Until when may be spoken in work: half a second before its count, or before its end, where the
/// next count may begin.
fn speech_end(segment: &Segment) -> i64 {
    let count_ms = if segment.len_ms() >= COUNTED_WORK_MS {
        3_000
    } else {
        0
    };
    segment.end_ms - count_ms - QUIET_MS
}

fn put_in(phrases: &mut Vec<Phrase>, one: Phrase) {
    place(phrases, one, |phrase| phrase.at_ms);
}

fn phrase(at_ms: i64, until_ms: i64, segment: usize, topic: Topic, text: &str) -> Phrase {
    Phrase {
        at_ms,
        until_ms,
        segment,
        topic,
        text: text.into(),
    }
}

fn or(text: &str, instead: &str) -> String {
    if text.is_empty() { instead } else { text }.to_owned()
}
