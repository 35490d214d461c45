//! The rules, one function each.

use super::finding::{Finding, Place, Problem};
use super::remedy::Remedy;
use crate::cue::speech_ms;
use crate::plan::{
    BlockKind, Choice, Effort, Hand, Id, Impact, Level, Move, Part, Pattern, Position, Sides,
    Word as _,
};
use crate::timeline::{LEAST_FETCH, Segment, SegmentKind, Timeline, Ways, called, kit_to_fetch};

/// A class of this length wants the whole of [`WARM_MS`]; a shorter one in proportion.
const LONG_CLASS_MS: i64 = 30 * 60_000;
/// Warm-up and cool-down, each.
const WARM_MS: i64 = 5 * 60_000;
/// A fifth less is no reason to speak.
const NEARLY: (i64, i64) = (4, 5);
/// Without water for longer than this someone asks for it.
const DRY_MS: i64 = 20 * 60_000;
/// Down to the floor, or up from it, out of hard work.
const TURN_MS: i64 = 5_000;
/// To fetch kit between blocks.
const FETCH_MS: i64 = 1_000 * LEAST_FETCH as i64;
/// To take kit up between moves.
const TAKE_UP_MS: i64 = 5_000;
/// To turn over on the floor.
const TURN_OVER_MS: i64 = 3_000;
/// Members wait through a longer break only for something to come.
const LAST_BREAK_MS: i64 = 10_000;

#[derive(Default)]
pub(super) struct Found(pub Vec<Finding>);

impl Found {
    fn put(&mut self, place: Place, problem: Problem) {
        self.0.push(Finding {
            place,
            problem,
            remedy: None,
        });
    }

    /// What puts the last one right.
    fn remedy(&mut self, remedy: Remedy) {
        if let Some(last) = self.0.last_mut() {
            last.remedy = Some(remedy);
        }
    }
}

pub(super) fn all(timeline: &Timeline, found: &mut Found) {
    slot(timeline, found);
    parts(timeline, found);
    water(timeline, found);
    sides(timeline, found);
    moves(timeline, found);
    neighbours(timeline, found);
    turns(timeline, found);
    stretches(timeline, found);
    rounds(timeline, found);
    kit(timeline, found);
    words(timeline, found);
    last_break(timeline, found);
}

fn is_hard(effort: Effort) -> bool {
    matches!(effort, Effort::Vigorous | Effort::AllOut)
}

fn slot(timeline: &Timeline, found: &mut Found) {
    let Some(slot) = timeline.plan().slot.map(|slot| i64::from(slot) * 1000) else {
        return;
    };
    let total = timeline.total_ms();
    if total > slot {
        let by = total - slot;
        found.put(Place::Class, Problem::TooLong { by });
        found.remedy(Remedy::Fit);
    } else if (slot - total) * 50 > slot {
        let by = slot - total;
        found.put(Place::Class, Problem::TooShort { by });
        found.remedy(Remedy::Fit);
    }
}

fn parts(timeline: &Timeline, found: &mut Found) {
    let total = timeline.total_ms();
    let wanted = WARM_MS.min(total * WARM_MS / LONG_CLASS_MS);
    // Gentle all through, it warms itself.
    let hard = timeline.segments().iter().any(|s| {
        s.is_work()
            && (is_hard(timeline.effort_of(s))
                || timeline.move_of(s).is_some_and(|m| !m.kit.is_empty()))
    });
    if !hard {
        return;
    }
    for part in [Part::WarmUp, Part::CoolDown] {
        let has = timeline.part_ms(part);
        if has * NEARLY.1 < wanted * NEARLY.0 {
            let short = Problem::ShortPart {
                part,
                has,
                wanted,
                class: total,
            };
            found.put(Place::Class, short);
            let lasts = (wanted / 1000) as u32;
            found.remedy(match part {
                Part::WarmUp => Remedy::WarmUp { lasts },
                _ => Remedy::CoolDown { lasts },
            });
        }
    }
}

fn water(timeline: &Timeline, found: &mut Found) {
    let mut since = 0;
    for segment in timeline.segments() {
        if segment.kind == SegmentKind::Interlude {
            since = segment.end_ms;
        } else if segment.end_ms - since > DRY_MS {
            let dry = Problem::NoWater { within: DRY_MS };
            found.put(Place::Block(segment.block), dry);
            // Within a block there is no place for it.
            let begins = timeline
                .segments()
                .iter()
                .find(|s| s.block == segment.block);
            if begins.is_some_and(|begins| begins.start_ms > since) {
                found.remedy(Remedy::Water {
                    before: segment.block,
                });
            }
            return;
        }
    }
}

fn sides(timeline: &Timeline, found: &mut Found) {
    for (at, (right, left)) in timeline.work_by_side() {
        if right == left {
            continue;
        }
        let name = timeline.plan().moves[at].called().to_owned();
        let more = if right > left {
            Hand::Right
        } else {
            Hand::Left
        };
        let by = (right - left).abs();
        found.put(Place::Move(at), Problem::UnequalSides { name, more, by });
        match odd_rounds(timeline, at) {
            Some(block) => found.remedy(Remedy::EvenRounds { block }),
            None if alternates(timeline, at) => found.remedy(Remedy::BothSides { of: at }),
            None => {}
        }
    }
}

/// The one block in which a move alternates over an odd number of rounds that can be one more.
fn odd_rounds(timeline: &Timeline, of: usize) -> Option<usize> {
    let plan = timeline.plan();
    let id = &plan.moves.get(of)?.id;
    plan.blocks.iter().position(|block| {
        let (BlockKind::Rounds { rounds: times, .. } | BlockKind::Sets { sets: times, .. }) =
            &block.kind
        else {
            return false;
        };
        times % 2 == 1
            && block.work.0.len() < 2
            && block.entries().any(|entry| {
                entry.of == *id
                    && entry.work.0.len() < 2
                    && entry.side.is_none()
                    && block.sides_of(entry) == Sides::Alternate
            })
    })
}

/// Whether a move is done turn about anywhere.
fn alternates(timeline: &Timeline, of: usize) -> bool {
    let plan = timeline.plan();
    let id = plan.moves.get(of).map(|one| &one.id);
    plan.blocks
        .iter()
        .filter(|block| block.has_sides())
        .any(|block| {
            block.entries().any(|entry| {
                Some(&entry.of) == id
                    && entry.side.is_none()
                    && block.sides_of(entry) == Sides::Alternate
            })
        })
}

fn moves(timeline: &Timeline, found: &mut Found) {
    let plan = timeline.plan();
    let hands = in_hands(timeline);
    let work = timeline.work_by_move();
    for (at, known) in plan.moves.iter().enumerate() {
        if work[at] == 0 {
            continue;
        }
        let name = || known.called().to_owned();
        if known.name.trim().is_empty() {
            found.put(Place::Move(at), Problem::NoName { name: name() });
        }
        // What the desk calls a way until the coach does.
        let unnamed =
            |way: &&Choice| way.name.trim().is_empty() && way.id.starts_with(way.level.word());
        if let Some(way) = known.options.iter().find(unnamed) {
            let unnamed = Problem::NoOptionName {
                name: name(),
                option: way.called().to_owned(),
            };
            found.put(Place::Move(at), unnamed);
        }
        let easier = known
            .options
            .iter()
            .any(|option| option.level == Level::Easier);
        if known.impact == Impact::High && known.kit.iter().any(|id| hands.contains(id)) {
            found.put(Place::Move(at), Problem::LoadedJump { name: name() });
        }
        if known.impact == Impact::High && !easier {
            found.put(Place::Move(at), Problem::JumpForAll { name: name() });
            found.remedy(Remedy::EasierWay { of: at });
        } else if known.effort != Effort::Light && !easier {
            let hard = Problem::NoEasier {
                name: name(),
                effort: known.effort,
            };
            found.put(Place::Move(at), hard);
            found.remedy(Remedy::EasierWay { of: at });
        }
        let harder = known
            .options
            .iter()
            .any(|option| option.level == Level::Harder);
        if harder
            && known.caution.is_empty()
            && (is_hard(known.effort) || !known.kit.is_empty() || known.impact == Impact::High)
        {
            found.put(Place::Move(at), Problem::NoCaution { name: name() });
            found.remedy(Remedy::Caution { of: at });
        }
        if known.impact == Impact::High || (!known.kit.is_empty() && is_hard(known.effort)) {
            unwarmed(timeline, at, known, found);
        }
    }
}

/// Jumps or hard loaded work on a pattern that nothing has warmed.
fn unwarmed(timeline: &Timeline, at: usize, known: &Move, found: &mut Found) {
    let Some(pattern) = known.pattern else { return };
    let segments = timeline.segments();
    let Some(first) = segments
        .iter()
        .position(|s| s.is_work() && s.move_at == Some(at))
    else {
        return;
    };
    let warmed = segments[..first].iter().any(|segment| {
        let easy = !is_hard(timeline.effort_of(segment));
        let same = timeline
            .move_of(segment)
            .is_some_and(|other| warms(other.pattern, pattern) && other.impact == Impact::Low);
        segment.is_work() && easy && same
    });
    if !warmed {
        let name = known.called().to_owned();
        found.put(Place::Move(at), Problem::NotWarmed { name });
        found.remedy(Remedy::Warm { of: at });
    }
}

/// Whether easy work of one pattern warms another: its own, and marching the calves.
fn warms(easy: Option<Pattern>, hard: Pattern) -> bool {
    easy == Some(hard) || (hard == Pattern::Calf && easy == Some(Pattern::Travel))
}

/// The work of a class, in its order.
fn work(timeline: &Timeline) -> Vec<&Segment> {
    timeline.segments().iter().filter(|s| s.is_work()).collect()
}

/// What follows what.
fn neighbours(timeline: &Timeline, found: &mut Found) {
    let mut told = Vec::new();
    for pair in work(timeline).windows(2) {
        let (before, after) = (pair[0], pair[1]);
        let (Some(one), Some(other)) = (timeline.move_of(before), timeline.move_of(after)) else {
            continue;
        };
        let gap = after.start_ms - before.end_ms;
        let down = other.position == Position::Floor && one.position == Position::Standing;
        let up = one.position == Position::Floor && other.position == Position::Standing;
        let hard = (down && is_hard(timeline.effort_of(before)))
            || (up && is_hard(timeline.effort_of(after)));
        if hard && gap < TURN_MS && !told.contains(&(before.move_at, after.move_at)) {
            told.push((before.move_at, after.move_at));
            let dizzy = Problem::Dizzy {
                from: one.called().to_owned(),
                to: other.called().to_owned(),
                down,
                within: gap,
            };
            found.put(Place::Block(after.block), dizzy);
            let (block, lasts) = (after.block, 10);
            found.remedy(if before.block == block {
                Remedy::Rest { block, lasts }
            } else {
                Remedy::BreakBefore { block, lasts }
            });
        }
    }
}

/// From one side to the other on the floor.
fn turns(timeline: &Timeline, found: &mut Found) {
    let mut told = Vec::new();
    for pair in work(timeline).windows(2) {
        let (before, after) = (pair[0], pair[1]);
        let (block, gap) = (after.block, after.start_ms - before.end_ms);
        let turns = before.move_at == after.move_at
            && before.block == block
            && after.hand_at(after.start_ms) == before.hand_at(before.start_ms).map(Hand::other)
            && before.hands().count() == 1;
        let (Some(known), true) = (timeline.move_of(after), turns && gap < TURN_OVER_MS) else {
            continue;
        };
        let low = matches!(known.position, Position::Floor | Position::Kneeling);
        if !low || told.contains(&block) {
            continue;
        }
        // Once for a block: all its changes take as long.
        told.push(block);
        let name = known.called().to_owned();
        found.put(Place::Block(block), Problem::TurnOver { name, within: gap });
        found.remedy(Remedy::Change { block, lasts: 5 });
    }
}

/// Lengths by the round that do not come out even with the rounds.
fn rounds(timeline: &Timeline, found: &mut Found) {
    for (at, block) in timeline.plan().blocks.iter().enumerate() {
        let BlockKind::Rounds { rounds, .. } = block.kind else {
            continue;
        };
        let lengths = block.work.0.len() as u32;
        if lengths < 2 || rounds.is_multiple_of(lengths) {
            continue;
        }
        found.put(Place::Block(at), Problem::UnevenRounds { lengths, rounds });
        found.remedy(Remedy::Rounds {
            block: at,
            rounds: lengths,
        });
    }
}

/// A break that nothing follows.
fn last_break(timeline: &Timeline, found: &mut Found) {
    let segments = timeline.segments();
    let Some(last) = segments.last().filter(|s| s.kind == SegmentKind::Break) else {
        return;
    };
    if last.len_ms() > LAST_BREAK_MS {
        let lasts = last.len_ms();
        found.put(Place::Block(last.block), Problem::LastBreak { lasts });
        found.remedy(Remedy::NoLastBreak);
    }
}

/// The longest stretch of hard work without a rest.
fn stretches(timeline: &Timeline, found: &mut Found) {
    let mut run: Option<(i64, Effort, usize)> = None;
    let mut worst: Option<(i64, Effort, usize, i64)> = None;
    let mut end = i64::MIN;
    for segment in timeline.segments().iter().filter(|s| s.is_work()) {
        let level = timeline.effort_of(segment);
        if !is_hard(level) {
            run = None;
            continue;
        }
        run = match run {
            Some((from, Effort::AllOut, block))
                if end == segment.start_ms && level == Effort::AllOut =>
            {
                Some((from, level, block))
            }
            Some((from, _, block)) if end == segment.start_ms => {
                Some((from, Effort::Vigorous, block))
            }
            _ => Some((segment.start_ms, level, segment.block)),
        };
        end = segment.end_ms;
        if let Some((from, level, block)) = run {
            let lasts = end - from;
            // The longest published intervals of each: 4 min (Helgerud et al. 2007), 30 s (Wingate type).
            let most = if level == Effort::AllOut {
                30_000
            } else {
                240_000
            };
            if lasts > most && worst.is_none_or(|(other, ..)| lasts > other) {
                worst = Some((lasts, level, block, end));
            }
        }
    }
    if let Some((lasts, effort, block, until)) = worst {
        found.put(Place::Block(block), Problem::NoRest { effort, lasts });
        // Within one work segment there is no place for a rest.
        let whole = |s: &&Segment| s.is_work() && s.block == block && s.len_ms() == lasts;
        let last = timeline
            .index_at(until - 1)
            .map_or(block, |at| timeline.segments()[at].block);
        if last != block {
            found.remedy(Remedy::BreakBefore {
                block: last,
                lasts: 10,
            });
        } else if !timeline.segments().iter().any(|segment| whole(&segment)) {
            found.remedy(Remedy::Rest { block, lasts: 10 });
        }
    }
}

fn kit(timeline: &Timeline, found: &mut Found) {
    let plan = timeline.plan();
    let work = timeline.work_by_move();
    for (at, kit) in plan.kit.iter().enumerate() {
        let used = plan.moves.iter().enumerate().any(|(of, known)| {
            work[of] > 0
                && (known.kit.contains(&kit.id)
                    || known
                        .options
                        .iter()
                        .any(|option| option.kit.contains(&kit.id)))
        });
        if !used {
            let name = kit.called().to_owned();
            found.put(Place::Kit(at), Problem::Unused { name });
            found.remedy(Remedy::Unlist { kit: at });
        }
    }
    let hands = in_hands(timeline);
    let works: Vec<usize> = (0..timeline.segments().len())
        .filter(|i| timeline.segments()[*i].is_work())
        .collect();
    let mut told = None;
    for two in works.windows(2) {
        let (before, segment) = (&timeline.segments()[two[0]], &timeline.segments()[two[1]]);
        let gap = segment.start_ms - before.end_ms;
        let between = before.block != segment.block;
        if gap >= if between { FETCH_MS } else { TAKE_UP_MS } {
            continue;
        }
        if between {
            let kit = kit_to_fetch(timeline, &Ways::new(), two[1]);
            if !kit.is_empty() {
                found.put(Place::Block(segment.block), Problem::Fetch { kit });
                found.remedy(Remedy::BreakBefore {
                    block: segment.block,
                    lasts: 15,
                });
            }
        } else if told != Some(segment.block) {
            let (Some(had), Some(has)) = (timeline.move_of(before), timeline.move_of(segment))
            else {
                continue;
            };
            let take_up = |id: &&Id| hands.contains(*id) && !had.kit.contains(*id);
            let ids: Vec<Id> = has.kit.iter().filter(take_up).cloned().collect();
            let kit = called(timeline.plan(), &ids);
            if kit.is_empty() {
                continue;
            }
            // Once for a block: its rounds have the same gaps.
            told = Some(segment.block);
            let take_up = Problem::TakeUp {
                from: had.called().to_owned(),
                to: has.called().to_owned(),
                kit,
            };
            found.put(Place::Block(segment.block), take_up);
            found.remedy(Remedy::Rest {
                block: segment.block,
                lasts: 10,
            });
        }
    }
}

/// The kit that is taken up for a move. What nobody uses standing, like a mat, lies where it is.
fn in_hands(timeline: &Timeline) -> Vec<Id> {
    let moves = timeline.plan().moves.iter();
    moves
        .filter(|known| known.position == Position::Standing)
        .flat_map(|known| known.kit.iter().cloned())
        .collect()
}

/// Words that do not fit their time at a usual speaking rate.
fn words(timeline: &Timeline, found: &mut Found) {
    let plan = timeline.plan();
    for segment in timeline.segments() {
        let (text, place, of) = match segment.kind {
            SegmentKind::Demo => {
                let (Some(at), Some(known)) = (segment.move_at, timeline.move_of(segment)) else {
                    continue;
                };
                (
                    known.how.as_str(),
                    Place::Move(at),
                    Some(known.called().to_owned()),
                )
            }
            SegmentKind::Interlude => match plan.blocks.get(segment.block).map(|block| &block.kind)
            {
                Some(BlockKind::Interlude { say, .. }) => {
                    (say.as_str(), Place::Block(segment.block), None)
                }
                _ => continue,
            },
            _ => continue,
        };
        let takes = speech_ms(text);
        if takes > segment.len_ms() {
            let has = segment.len_ms();
            found.put(place, Problem::Speech { of, takes, has });
            // Up to the next 5 s.
            let lasts = (takes as u32).div_ceil(5000) * 5;
            found.remedy(match place {
                Place::Move(of) => Remedy::Demo { of, lasts },
                _ => Remedy::Interlude {
                    block: segment.block,
                    lasts,
                },
            });
        }
    }
}
