//! What the parts of a plan mean together: references, limits, work that is there.

use std::collections::BTreeSet;

use super::error::{PlanError, Warning};
use super::limits;
use super::model::{Block, BlockKind, ByRound, Entry, Id, Plan};
use super::read::shorten;
use super::unroll::{ladder_rounds, own_or, unroll};
use super::words::{Hand, Sides};

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
    at_most("blocks", "blocks", plan.blocks.len(), limits::BLOCKS)?;
    counts(plan)?;
    for (i, one) in plan.blocks.iter().enumerate() {
        block(plan, &format!("blocks[{i}]"), one, warnings)?;
    }
    json_size(plan)?;
    length(plan)
}

fn at_most(place: &str, what: &str, found: usize, limit: usize) -> Result<()> {
    if found > limit {
        return Err(PlanError::over(place, what, found, limit));
    }
    Ok(())
}

fn not_empty(place: &str, found: usize) -> Result<()> {
    if found == 0 {
        return Err(PlanError::new(
            place,
            "this list is empty",
            "Add at least one, or leave the block out.",
        ));
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
    Err(PlanError::new(
        place,
        format!("“{}” can't be an id", shorten(id)),
        "Use 1 to 32 small letters a-z, digits and hyphens.",
    ))
}

fn unique<'p>(list: &str, ids: impl Iterator<Item = &'p Id>) -> Result<()> {
    let mut seen = BTreeSet::new();
    for (i, one) in ids.enumerate() {
        let place = format!("{list}[{i}].id");
        id(&place, one)?;
        if !seen.insert(one) {
            return Err(PlanError::new(
                place,
                format!("the id “{one}” is used twice"),
                "Give each its own id.",
            ));
        }
    }
    Ok(())
}

fn text(place: &str, text: &str) -> Result<()> {
    // Most texts are short in bytes already; only long ones are counted.
    if text.len() > limits::TEXT_CHARS {
        let chars = text.chars().count();
        if chars > limits::TEXT_CHARS {
            return Err(PlanError::over(
                place,
                "characters in one text",
                chars,
                limits::TEXT_CHARS,
            ));
        }
    }
    if let Some(found) = text
        .chars()
        .find(|c| c.is_control() && !matches!(c, '\n' | '\r' | '\t'))
    {
        return Err(PlanError::new(
            place,
            format!("there is a control character (U+{:04X})", u32::from(found)),
            "Delete it: texts are plain text.",
        ));
    }
    Ok(())
}

fn texts(place: &str, list: &[String]) -> Result<()> {
    list.iter()
        .enumerate()
        .try_for_each(|(i, one)| text(&format!("{place}[{i}]"), one))
}

fn seconds(place: &str, seconds: u32) -> Result<()> {
    if seconds > limits::SEGMENT_SECONDS {
        return Err(PlanError::over(
            place,
            "seconds in one segment",
            seconds,
            limits::SEGMENT_SECONDS,
        ));
    }
    Ok(())
}

fn by_round(place: &str, list: &ByRound, zero: bool) -> Result<()> {
    for (i, one) in list.0.iter().enumerate() {
        let here = if list.0.len() == 1 {
            place.to_owned()
        } else {
            format!("{place}[{i}]")
        };
        seconds(&here, *one)?;
        if *one == 0 && !zero {
            return Err(PlanError::new(
                here,
                "work of 0 seconds",
                "Write 1 second or more, or take the entry out.",
            ));
        }
    }
    Ok(())
}

fn kit_refs(plan: &Plan, place: &str, refs: &[Id]) -> Result<()> {
    for (i, one) in refs.iter().enumerate() {
        if !plan.kit.iter().any(|kit| kit.id == *one) {
            return Err(PlanError::new(
                format!("{place}[{i}]"),
                format!("there is no kit “{}”", shorten(one)),
                "Add it to “kit”, or use the id of one that is there.",
            ));
        }
    }
    Ok(())
}

fn kit(plan: &Plan) -> Result<()> {
    at_most("kit", "pieces of kit", plan.kit.len(), limits::DETAILS)?;
    unique("kit", plan.kit.iter().map(|kit| &kit.id))?;
    for (i, kit) in plan.kit.iter().enumerate() {
        text(&format!("kit[{i}].name"), &kit.name)?;
        texts(&format!("kit[{i}].instead"), &kit.instead)?;
    }
    Ok(())
}

fn moves(plan: &Plan) -> Result<()> {
    not_empty("moves", plan.moves.len())?;
    at_most("moves", "moves", plan.moves.len(), limits::MOVES)?;
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
    at_most(
        "blocks",
        "entries in all",
        entries().count(),
        limits::ENTRIES,
    )?;
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
    at_most(
        "",
        "notes and other details in all",
        details,
        limits::DETAILS,
    )?;
    let numbers = plan
        .blocks
        .iter()
        .map(|b| b.work.0.len() + b.rest.0.len() + b.pause.0.len())
        .sum::<usize>()
        + entries()
            .map(|e| e.work.0.len() + e.reps.0.len())
            .sum::<usize>();
    at_most("blocks", "numbers in lists", numbers, limits::NUMBERS)
}

/// A plan that a program built may have keys that its kinds of block do not: written down they
/// would be lost. A file's are left out when it is read.
fn only_where_allowed(place: &str, block: &Block, wrong: bool) -> Result<()> {
    if wrong {
        return Err(PlanError::new(
            place,
            format!("a {} takes no such key", block.kind.word()),
            "Take it out.",
        ));
    }
    Ok(())
}

fn rounds(place: &str, what: &str, found: u32) -> Result<()> {
    if found == 0 {
        return Err(PlanError::new(
            place,
            format!("0 {what}"),
            "Write 1 or more, or leave the block out.",
        ));
    }
    if found > limits::ROUNDS {
        return Err(PlanError::over(place, what, found, limits::ROUNDS));
    }
    Ok(())
}

fn block(plan: &Plan, place: &str, block: &Block, warnings: &mut Vec<Warning>) -> Result<()> {
    let at = |key: &str| format!("{place}.{key}");
    text(&at("name"), &block.name)?;
    let works = !matches!(block.kind, BlockKind::Interlude { .. });
    let sided = block.has_sides();
    for (key, there, allowed) in [
        ("work", !block.work.is_empty(), works),
        ("rest", !block.rest.is_empty(), works),
        ("break", !block.pause.is_empty(), block.has_breaks()),
        ("sides", block.sides != Sides::default(), sided),
        ("change", block.change != 0, sided),
        ("first_side", block.first_side != Hand::default(), sided),
    ] {
        only_where_allowed(&at(key), block, there && !allowed)?;
    }
    seconds(&at("after"), block.after)?;
    seconds(&at("change"), block.change)?;
    by_round(&at("work"), &block.work, false)?;
    by_round(&at("rest"), &block.rest, true)?;
    by_round(&at("break"), &block.pause, true)?;
    let key = match &block.kind {
        BlockKind::Flow { steps } => {
            not_empty(&at("steps"), steps.len())?;
            "steps"
        }
        BlockKind::Rounds { moves, rounds: n } => {
            not_empty(&at("moves"), moves.len())?;
            rounds(&at("rounds"), "rounds", *n)?;
            "moves"
        }
        BlockKind::Ladder { rungs, direction } => {
            let key = at("rungs");
            not_empty(&key, rungs.len())?;
            // Bounded before it is counted in 32 bits.
            at_most(&key, "rungs", rungs.len(), limits::ROUNDS as usize)?;
            rounds(
                &key,
                "rounds",
                ladder_rounds(rungs.len() as u32, *direction),
            )?;
            for (i, rung) in rungs.iter().enumerate() {
                not_empty(&format!("{key}[{i}]"), rung.len())?;
            }
            "rungs"
        }
        BlockKind::Sets { moves, sets } => {
            not_empty(&at("moves"), moves.len())?;
            rounds(&at("sets"), "sets", *sets)?;
            "moves"
        }
        BlockKind::Window { tasks, times } => {
            not_empty(&at("tasks"), tasks.len())?;
            rounds(&at("times"), "times", *times)?;
            "tasks"
        }
        BlockKind::Interlude { lasts, say } => {
            seconds(&at("lasts"), *lasts)?;
            text(&at("say"), say)?;
            return Ok(());
        }
    };
    for (list, found) in block.lists().iter().enumerate() {
        for (i, one) in found.iter().enumerate() {
            let here = if key == "rungs" {
                format!("{place}.{key}[{list}][{i}]")
            } else {
                format!("{place}.{key}[{i}]")
            };
            entry(plan, place, &here, block, one, warnings)?;
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
        return Err(PlanError::new(
            here,
            format!("there is no move “{}”", shorten(&entry.of)),
            "Add it to “moves”, or use the id of one that is there.",
        ));
    };
    let window = matches!(block.kind, BlockKind::Window { .. });
    for (key, there) in [
        ("work", !entry.work.is_empty()),
        ("side", entry.side.is_some()),
        ("sides", entry.sides.is_some()),
        ("marks", !entry.marks.is_empty()),
    ] {
        only_where_allowed(&at(key), block, window && there)?;
    }
    by_round(&at("work"), &entry.work, false)?;
    texts(&at("notes"), &entry.notes)?;
    let work = own_or(&entry.work, &block.work);
    if work.is_empty() {
        return Err(PlanError::new(
            format!("{block_place}.work"),
            "there is no time for the work",
            "Write “work” in seconds for the block, or for every entry of it.",
        ));
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
        if longest.is_some_and(|longest| mark.at >= longest) {
            return Err(PlanError::new(
                format!("{here}.at"),
                format!(
                    "{} s is not inside the work of {} s",
                    mark.at,
                    longest.unwrap_or(0)
                ),
                "Place the call before the end of the work.",
            ));
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
    if count.0 > limits::JSON_BYTES {
        return Err(PlanError::over(
            "",
            "bytes of JSON",
            count.0,
            format!("{} (64 KiB)", limits::JSON_BYTES),
        ));
    }
    Ok(())
}

fn length(plan: &Plan) -> Result<()> {
    let (mut segments, mut end_ms, mut work) = (0usize, 0i64, false);
    unroll(plan, &mut |segment| {
        segments += 1;
        end_ms = segment.end_ms;
        work |= segment.is_work();
        segments <= limits::SEGMENTS
    });
    at_most("", "segments", segments, limits::SEGMENTS)?;
    if end_ms > limits::CLASS_MS {
        return Err(PlanError::over(
            "",
            "seconds in all",
            end_ms / 1000,
            format!("{} (12 hours)", limits::CLASS_MS / 1000),
        ));
    }
    if !work {
        return Err(PlanError::new(
            "blocks",
            "there is no work in this class",
            "Add a block with moves.",
        ));
    }
    Ok(())
}
