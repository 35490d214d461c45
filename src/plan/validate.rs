//! What the parts of a plan mean together: references, limits, work that is there.

use std::collections::BTreeSet;

use super::error::{PlanError, Problem, Warning};
use super::keys::{self, Value};
use super::limits::{self, Limit};
use super::model::{Block, BlockKind, ByRound, Entry, Id, Plan};
use super::read::shorten;
use super::unroll::{ladder_rounds, own_or, unroll};

type Result<T> = core::result::Result<T, PlanError>;

/// Judges a plan that was read, decoded or built; what is not used is put among the warnings.
pub(super) fn validate(plan: &Plan, warnings: &mut Vec<Warning>) -> Result<()> {
    if !plan.id.is_empty() {
        id("id", &plan.id)?;
    }
    text("title", &plan.title)?;
    text("coach", &plan.coach)?;
    text("about", &plan.about)?;
    seconds("ready", plan.ready)?;
    kit(plan)?;
    moves(plan)?;
    not_empty("blocks", plan.blocks.len())?;
    at_most("blocks", Limit::Blocks, plan.blocks.len() as u64)?;
    counts(plan)?;
    for (i, one) in plan.blocks.iter().enumerate() {
        block(plan, &format!("blocks[{i}]"), one, warnings)?;
    }
    json_size(plan)?;
    length(plan)
}

fn at_most(place: &str, limit: Limit, found: u64) -> Result<()> {
    if found > limit.most() {
        return Err(PlanError::over(place, limit, found));
    }
    Ok(())
}

fn not_empty(place: &str, found: usize) -> Result<()> {
    if found == 0 {
        return Err(PlanError::new(place, Problem::Empty));
    }
    Ok(())
}

fn id(place: &str, id: &str) -> Result<()> {
    let good = (1..=limits::ID_CHARS).contains(&id.len())
        && id
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-');
    if good {
        return Ok(());
    }
    let id = shorten(id);
    Err(PlanError::new(place, Problem::BadId { id }))
}

fn unique<'p>(list: &str, ids: impl Iterator<Item = &'p Id>) -> Result<()> {
    let mut seen = BTreeSet::new();
    for (i, one) in ids.enumerate() {
        let place = format!("{list}[{i}].id");
        id(&place, one)?;
        if !seen.insert(one) {
            let id = one.to_string();
            return Err(PlanError::new(place, Problem::IdTwice { id }));
        }
    }
    Ok(())
}

fn text(place: &str, text: &str) -> Result<()> {
    // Most texts are short in bytes already; only long ones are counted.
    if text.len() > limits::TEXT_CHARS {
        at_most(place, Limit::TextChars, text.chars().count() as u64)?;
    }
    if let Some(found) = text
        .chars()
        .find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
    {
        return Err(PlanError::new(place, Problem::Control { found }));
    }
    Ok(())
}

fn texts(place: &str, list: &[String]) -> Result<()> {
    list.iter()
        .enumerate()
        .try_for_each(|(i, one)| text(&format!("{place}[{i}]"), one))
}

fn seconds(place: &str, seconds: u32) -> Result<()> {
    at_most(place, Limit::SegmentSeconds, seconds.into())
}

fn by_round(place: &str, list: &ByRound, least: u32) -> Result<()> {
    for (i, one) in list.0.iter().enumerate() {
        let here = if list.0.len() == 1 {
            place.to_owned()
        } else {
            format!("{place}[{i}]")
        };
        seconds(&here, *one)?;
        if *one < least {
            return Err(PlanError::new(here, Problem::NoSeconds));
        }
    }
    Ok(())
}

fn kit_refs(plan: &Plan, place: &str, refs: &[Id]) -> Result<()> {
    for (i, one) in refs.iter().enumerate() {
        if !plan.kit.iter().any(|kit| kit.id == *one) {
            let id = shorten(one);
            let place = format!("{place}[{i}]");
            return Err(PlanError::new(place, Problem::NoSuchKit { id }));
        }
    }
    Ok(())
}

fn kit(plan: &Plan) -> Result<()> {
    at_most("kit", Limit::Kit, plan.kit.len() as u64)?;
    unique("kit", plan.kit.iter().map(|kit| &kit.id))?;
    for (i, kit) in plan.kit.iter().enumerate() {
        text(&format!("kit[{i}].name"), &kit.name)?;
        texts(&format!("kit[{i}].instead"), &kit.instead)?;
    }
    Ok(())
}

fn moves(plan: &Plan) -> Result<()> {
    not_empty("moves", plan.moves.len())?;
    at_most("moves", Limit::Moves, plan.moves.len() as u64)?;
    unique("moves", plan.moves.iter().map(|one| &one.id))?;
    for (i, one) in plan.moves.iter().enumerate() {
        let place = format!("moves[{i}]");
        text(&format!("{place}.name"), &one.name)?;
        kit_refs(plan, &format!("{place}.kit"), &one.kit)?;
        seconds(&format!("{place}.demo"), one.demo)?;
        text(&format!("{place}.how"), &one.how)?;
        texts(&format!("{place}.notes"), &one.notes)?;
        text(&format!("{place}.caution"), &one.caution)?;
        let options = format!("{place}.options");
        unique(&options, one.options.iter().map(|option| &option.id))?;
        for (k, option) in one.options.iter().enumerate() {
            let place = format!("{options}[{k}]");
            text(&format!("{place}.name"), &option.name)?;
            texts(&format!("{place}.notes"), &option.notes)?;
            kit_refs(plan, &format!("{place}.kit"), &option.kit)?;
        }
    }
    Ok(())
}

/// Bounds what a plan may hold in all, where the format's own limits leave it open.
fn counts(plan: &Plan) -> Result<()> {
    let entries = || plan.blocks.iter().flat_map(Block::entries);
    at_most("blocks", Limit::Entries, entries().count() as u64)?;
    let details = plan.kit.len()
        + plan.kit.iter().map(|k| k.instead.len()).sum::<usize>()
        + plan
            .moves
            .iter()
            .map(|m| {
                m.kit.len()
                    + m.notes.len()
                    + m.options
                        .iter()
                        .map(|o| 1 + o.notes.len() + o.kit.len())
                        .sum::<usize>()
            })
            .sum::<usize>()
        + entries()
            .map(|e| e.notes.len() + e.marks.len())
            .sum::<usize>();
    at_most("", Limit::Details, details as u64)?;
    let numbers = plan
        .blocks
        .iter()
        .map(|b| b.work.0.len() + b.rest.0.len() + b.pause.0.len())
        .sum::<usize>()
        + entries()
            .map(|e| e.work.0.len() + e.reps.0.len())
            .sum::<usize>();
    at_most("blocks", Limit::Numbers, numbers as u64)
}

/// A plan that a program built may have keys that its kinds of block do not: written down they
/// would be lost. A file's are left out when it is read.
fn only_where_allowed(place: &str, block: &Block, wrong: bool) -> Result<()> {
    if wrong {
        let kind = block.kind.word();
        return Err(PlanError::new(place, Problem::NotTaken { kind }));
    }
    Ok(())
}

fn rounds(place: &str, limit: Limit, found: u32) -> Result<()> {
    if found == 0 {
        return Err(PlanError::new(place, Problem::Zero { of: limit }));
    }
    at_most(place, limit, found.into())
}

fn block(plan: &Plan, place: &str, block: &Block, warnings: &mut Vec<Warning>) -> Result<()> {
    let at = |key: &str| format!("{place}.{key}");
    for row in keys::ROWS.iter().filter(|row| !block.takes(row.key)) {
        only_where_allowed(&at(row.word), block, block.get(row.key) != row.usual())?;
    }
    for row in block.kind.rows() {
        let here = at(row.word);
        match block.get(row.key) {
            Value::Text(said) => text(&here, &said)?,
            Value::Number(n) if row.least > 0 => rounds(&here, row.limit, n)?,
            Value::Number(n) => at_most(&here, row.limit, n.into())?,
            Value::Numbers(list) => by_round(&here, &list, row.least)?,
            Value::Flag(_) | Value::Word(_) => {}
            Value::Entries => entries(plan, (place, &here), block, warnings)?,
        }
    }
    Ok(())
}

/// The entries of a block: its place and theirs.
fn entries(
    plan: &Plan,
    (place, here): (&str, &str),
    block: &Block,
    warnings: &mut Vec<Warning>,
) -> Result<()> {
    let mut ladder = false;
    if let BlockKind::Ladder { rungs, direction } = &block.kind {
        ladder = true;
        not_empty(here, rungs.len())?;
        // Bounded before it is counted in 32 bits.
        at_most(here, Limit::Rungs, rungs.len() as u64)?;
        let times = ladder_rounds(rungs.len() as u32, *direction);
        rounds(here, Limit::Rounds, times)?;
    }
    for (list, found) in block.lists().iter().enumerate() {
        let here = if ladder {
            format!("{here}[{list}]")
        } else {
            here.to_owned()
        };
        not_empty(&here, found.len())?;
        for (i, one) in found.iter().enumerate() {
            entry(plan, place, &format!("{here}[{i}]"), block, one, warnings)?;
        }
    }
    Ok(())
}

fn entry(
    plan: &Plan,
    block_place: &str,
    place: &str,
    block: &Block,
    entry: &Entry,
    warnings: &mut Vec<Warning>,
) -> Result<()> {
    let at = |key: &str| format!("{place}.{key}");
    let Some(of) = plan.moves.iter().find(|known| known.id == entry.of) else {
        // An entry that says nothing but its move is written as the id alone.
        let here = if entry.is_plain() {
            place.to_owned()
        } else {
            at("move")
        };
        let id = shorten(&entry.of);
        return Err(PlanError::new(here, Problem::NoSuchMove { id }));
    };
    let window = matches!(block.kind, BlockKind::Window { .. });
    for (key, there) in keys::not_of_tasks(entry) {
        only_where_allowed(&at(key), block, window && there)?;
    }
    by_round(&at("work"), &entry.work, keys::LEAST_WORK)?;
    texts(&at("notes"), &entry.notes)?;
    let work = own_or(&entry.work, &block.work);
    if work.is_empty() {
        let place = format!("{block_place}.work");
        return Err(PlanError::new(place, Problem::NoWorkTime));
    }
    if !of.sided {
        for (key, said) in [
            ("side", entry.side.is_some()),
            ("sides", entry.sides.is_some()),
        ] {
            if said {
                warnings.push(Warning {
                    place: at(key),
                    problem: format!("“{}” is not a sided move; this is ignored", of.id),
                });
            }
        }
    }
    // In a flow, which is one round, a list gives its first entry.
    let used = match block.kind {
        BlockKind::Flow { .. } => &work.0[..1],
        _ => &work.0[..],
    };
    let (shortest, longest) = (used.iter().min().copied(), used.iter().max().copied());
    for (i, mark) in entry.marks.iter().enumerate() {
        let here = format!("{place}.marks[{i}]");
        text(&format!("{here}.say"), &mark.say)?;
        if let Some(work) = longest.filter(|longest| mark.at >= *longest) {
            let at = mark.at;
            let place = format!("{here}.at");
            return Err(PlanError::new(place, Problem::MarkOutside { at, work }));
        }
        if shortest.is_some_and(|shortest| mark.at >= shortest) {
            warnings.push(Warning {
                place: format!("{here}.at"),
                problem: "this call is left out where the work is shorter".to_owned(),
            });
        }
    }
    Ok(())
}

/// Counts bytes and keeps none.
struct Count(usize);

impl std::io::Write for Count {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0 += bytes.len();
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

fn json_size(plan: &Plan) -> Result<()> {
    let mut count = Count(0);
    // Writing into a counter can't fail, and a plan's keys are texts; were it to fail all the
    // same, a plan that can't be written is refused as too large.
    let written = serde_json::to_writer(&mut count, plan);
    if written.is_err() {
        count.0 = usize::MAX;
    }
    at_most("", Limit::JsonBytes, count.0 as u64)
}

fn length(plan: &Plan) -> Result<()> {
    let (mut segments, mut end_ms, mut work) = (0usize, 0i64, false);
    unroll(plan, &mut |segment| {
        segments += 1;
        end_ms = segment.end_ms;
        work |= segment.is_work();
        segments <= limits::SEGMENTS
    });
    at_most("", Limit::Segments, segments as u64)?;
    at_most(
        "",
        Limit::ClassSeconds,
        end_ms.unsigned_abs().div_ceil(1000),
    )?;
    if !work {
        return Err(PlanError::new("blocks", Problem::NoWork));
    }
    Ok(())
}
