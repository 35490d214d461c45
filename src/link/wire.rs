//! What a link packs: numbers first, then all texts, so that like stands by like.
//!
//! The numbers are postcard: a head of fixed shape for the plan, each piece of kit, each move,
//! each option, each block and each entry that says more than its move. Lists are counts in the
//! head and then their items, so that nothing is allocated on a hostile count: a count is held
//! against what the plan may still have before room is made. Texts are joined by U+0001, which no
//! valid text has. A reference is the place in its list. An id that follows from the name is not
//! sent.
//!
//! These types are the form of version 1 and never change; the plan's own types may.

use serde::{Deserialize, Serialize};

use crate::plan::{
    Block, BlockKind, ByRound, Choice, Direction, Entry, Hand, Id, Kit, Level, Mark, Move, Part,
    Plan, PlanError, Sides, Word, limits, limits::Limit, slug,
};

const SEPARATOR: char = '\u{1}';
/// Stands for a plan without an id; no id can be this.
const NO_ID: &str = "!";

/// Why bytes are not a plan.
#[derive(Debug)]
pub(super) enum WireError {
    /// They do not have the form.
    Damaged,
    /// They pass a limit.
    Plan(PlanError),
    /// They refer to what a later library has, or say what this form has no meaning for.
    Newer,
}

pub(super) type Result<T> = core::result::Result<T, WireError>;

#[derive(Serialize, Deserialize)]
struct PlanHead {
    revision: u32,
    /// One more than the value; 0: none.
    recording: u64,
    slot: u64,
    ready: u32,
    kit: u32,
    moves: u32,
    blocks: u32,
}

#[derive(Serialize, Deserialize)]
struct MoveHead {
    /// From the lowest bit: sided 1, impact 1, effort 2, position 2, pattern 4 (0: none).
    bits: u32,
    demo: u32,
    /// Two bits each, 3 meaning that a further number has it: kit, notes, options.
    counts: u8,
}

/// From the lowest bit: level 2, switch at half 1, notes 2, kit 2 (3: a further number has it).
type ChoiceHead = u8;

#[derive(Serialize, Deserialize)]
struct BlockHead {
    /// From the lowest bit: kind 3, part 2, sides 2, first side 1.
    bits: u8,
    /// Which of work, rest, break, change, after, held are there, from the lowest bit.
    has: u8,
    /// Rounds, sets, times, seconds of an interlude, or the direction of a ladder.
    number: u32,
}

/// Which of work, side, sides, reps, effort, notes, marks an entry has, from the lowest bit.
type EntryHas = u8;

/// Appends a number as postcard has it.
pub(super) fn varint(number: u32, to: &mut Vec<u8>) {
    // Appending to a vector can't fail.
    if let Ok(longer) = postcard::to_extend(&number, core::mem::take(to)) {
        *to = longer;
    }
}

/// The number at the start of bytes, and how many it took.
pub(super) fn take_varint(bytes: &[u8]) -> Option<(u32, usize)> {
    let (number, rest) = postcard::take_from_bytes(bytes).ok()?;
    Some((number, bytes.len() - rest.len()))
}

fn usual_option_id(level: Level) -> &'static str {
    match level {
        Level::Easier => "easy",
        Level::Harder => "hard",
        Level::Other => "other",
    }
}

/// A count in two bits.
fn small(count: usize) -> u8 {
    count.min(3) as u8
}

#[derive(Default)]
struct Writer {
    numbers: Vec<u8>,
    texts: String,
}

impl Writer {
    fn head<T: Serialize>(&mut self, head: &T) {
        if let Ok(longer) = postcard::to_extend(head, core::mem::take(&mut self.numbers)) {
            self.numbers = longer;
        }
    }

    fn number(&mut self, number: u32) {
        varint(number, &mut self.numbers);
    }

    fn count(&mut self, count: usize) {
        self.number(count as u32);
    }

    /// The further number of a count that two bits do not hold.
    fn more(&mut self, count: usize) {
        if count >= 3 {
            self.count(count);
        }
    }

    fn text(&mut self, text: &str) {
        self.texts.push_str(text);
        self.texts.push(SEPARATOR);
    }

    fn id(&mut self, id: &str, usual: &str) {
        self.text(if id == usual { "" } else { id });
    }

    fn texts(&mut self, texts: &[String]) {
        texts.iter().for_each(|text| self.text(text));
    }

    fn by_round(&mut self, list: &ByRound) {
        self.count(list.0.len());
        list.0.iter().for_each(|one| self.number(*one));
    }

    fn refs(&mut self, kit: &[Kit], refs: &[Id]) {
        for one in refs {
            let at = kit.iter().position(|known| known.id == *one);
            self.count(at.unwrap_or(kit.len()));
        }
    }
}

/// Writes a plan.
pub(super) fn write(plan: &Plan) -> Vec<u8> {
    write_as(plan, plan)
}

/// Writes a plan with some of its kit and moves, and their ids, left out; `whole` is what references
/// are looked up in.
pub(super) fn write_as(plan: &Plan, whole: &Plan) -> Vec<u8> {
    let mut w = Writer::default();
    w.head(&PlanHead {
        revision: plan.revision,
        recording: plan.recording.map_or(0, |n| u64::from(n) + 1),
        slot: plan.slot.map_or(0, |n| u64::from(n) + 1),
        ready: plan.ready,
        kit: plan.kit.len() as u32,
        moves: plan.moves.len() as u32,
        blocks: plan.blocks.len() as u32,
    });
    w.text(&plan.title);
    // A class may have no id, where nothing else may: that has a sign of its own.
    w.id(
        if plan.id.is_empty() { NO_ID } else { &plan.id },
        &slug(&plan.title),
    );
    w.text(&plan.coach);
    w.text(&plan.about);
    for kit in &plan.kit {
        w.count(kit.instead.len());
        w.text(&kit.name);
        w.id(&kit.id, &slug(&kit.name));
        w.texts(&kit.instead);
    }
    for one in &plan.moves {
        write_move(&mut w, whole, one);
    }
    for block in &plan.blocks {
        write_block(&mut w, whole, block);
    }
    let mut bytes = Vec::new();
    varint(w.numbers.len() as u32, &mut bytes);
    bytes.extend(w.numbers);
    bytes.extend(w.texts.into_bytes());
    bytes
}

fn write_move(w: &mut Writer, plan: &Plan, one: &Move) {
    let pattern = one.pattern.map_or(0, |pattern| pattern.index() + 1);
    w.head(&MoveHead {
        bits: u32::from(one.sided)
            | u32::from(one.impact.index()) << 1
            | u32::from(one.effort.index()) << 2
            | u32::from(one.position.index()) << 4
            | u32::from(pattern) << 6,
        demo: one.demo,
        counts: small(one.kit.len()) | small(one.notes.len()) << 2 | small(one.options.len()) << 4,
    });
    w.more(one.kit.len());
    w.more(one.notes.len());
    w.more(one.options.len());
    w.refs(&plan.kit, &one.kit);
    w.text(&one.name);
    w.id(&one.id, &slug(&one.name));
    w.text(&one.how);
    w.texts(&one.notes);
    w.text(&one.caution);
    for option in &one.options {
        w.head::<ChoiceHead>(
            &(option.level.index()
                | u8::from(option.switch_at_half) << 2
                | small(option.notes.len()) << 3
                | small(option.kit.len()) << 5),
        );
        w.more(option.notes.len());
        w.more(option.kit.len());
        w.refs(&plan.kit, &option.kit);
        w.id(&option.id, usual_option_id(option.level));
        w.text(&option.name);
        w.texts(&option.notes);
    }
}

fn write_block(w: &mut Writer, plan: &Plan, block: &Block) {
    let (kind, number) = match &block.kind {
        BlockKind::Flow { .. } => (0, 0),
        BlockKind::Rounds { rounds, .. } => (1, *rounds),
        BlockKind::Ladder { direction, .. } => (2, u32::from(direction.index())),
        BlockKind::Sets { sets, .. } => (3, *sets),
        BlockKind::Window { times, .. } => (4, *times),
        BlockKind::Interlude { lasts, .. } => (5, *lasts),
    };
    w.head(&BlockHead {
        bits: kind
            | block.part.index() << 3
            | block.sides.index() << 5
            | block.first_side.index() << 7,
        has: u8::from(!block.work.is_empty())
            | u8::from(!block.rest.is_empty()) << 1
            | u8::from(!block.pause.is_empty()) << 2
            | u8::from(block.change > 0) << 3
            | u8::from(block.after > 0) << 4
            | u8::from(block.held) << 5,
        number,
    });
    for list in [&block.work, &block.rest, &block.pause] {
        if !list.is_empty() {
            w.by_round(list);
        }
    }
    for number in [block.change, block.after] {
        if number > 0 {
            w.number(number);
        }
    }
    w.text(&block.name);
    match &block.kind {
        BlockKind::Interlude { say, .. } => return w.text(say),
        BlockKind::Ladder { rungs, .. } => w.count(rungs.len()),
        _ => {}
    }
    for list in block.lists() {
        w.count(list.len());
        for entry in list {
            write_entry(w, plan, entry);
        }
    }
}

fn write_entry(w: &mut Writer, plan: &Plan, entry: &Entry) {
    let at = plan.moves.iter().position(|known| known.id == entry.of);
    let at = at.unwrap_or(plan.moves.len()) as u32;
    w.number(at << 1 | u32::from(!entry.is_plain()));
    if entry.is_plain() {
        return;
    }
    w.head::<EntryHas>(
        &(u8::from(!entry.work.is_empty())
            | u8::from(entry.side.is_some()) << 1
            | u8::from(entry.sides.is_some()) << 2
            | u8::from(!entry.reps.is_empty()) << 3
            | u8::from(entry.effort.is_some()) << 4
            | u8::from(!entry.notes.is_empty()) << 5
            | u8::from(!entry.marks.is_empty()) << 6),
    );
    if !entry.work.is_empty() {
        w.by_round(&entry.work);
    }
    for word in [entry.side.map(Word::index), entry.sides.map(Word::index)]
        .into_iter()
        .flatten()
    {
        w.head(&word);
    }
    if !entry.reps.is_empty() {
        w.by_round(&entry.reps);
    }
    if let Some(effort) = entry.effort {
        w.head(&effort.index());
    }
    if !entry.notes.is_empty() {
        w.count(entry.notes.len());
        w.texts(&entry.notes);
    }
    if !entry.marks.is_empty() {
        w.count(entry.marks.len());
        for mark in &entry.marks {
            w.number(mark.at);
            w.text(&mark.say);
        }
    }
}

/// What a plan may still have.
struct Room {
    entries: usize,
    details: usize,
    numbers: usize,
}

struct Reader<'a> {
    numbers: &'a [u8],
    texts: core::str::Split<'a, char>,
    room: Room,
}

impl Reader<'_> {
    fn head<T: for<'de> Deserialize<'de>>(&mut self) -> Result<T> {
        let (head, rest) =
            postcard::take_from_bytes(self.numbers).map_err(|_| WireError::Damaged)?;
        self.numbers = rest;
        Ok(head)
    }

    fn number(&mut self) -> Result<u32> {
        self.head()
    }

    /// A count that two bits hold, or that follows.
    fn counted(&mut self, bits: u8) -> Result<usize> {
        match bits & 3 {
            3 => Ok(self.number()? as usize),
            few => Ok(usize::from(few)),
        }
    }

    fn text(&mut self) -> Result<String> {
        self.texts
            .next()
            .map(str::to_owned)
            .ok_or(WireError::Damaged)
    }

    fn id(&mut self, usual: impl FnOnce() -> String) -> Result<Id> {
        let id = self.text()?;
        Ok(if id.is_empty() { usual() } else { id }.into())
    }

    fn texts(&mut self, count: usize) -> Result<Vec<String>> {
        self.list(count, Reader::text)
    }

    /// A list of details, once it is known that the plan has room for them.
    fn list<T>(
        &mut self,
        count: usize,
        mut one: impl FnMut(&mut Self) -> Result<T>,
    ) -> Result<Vec<T>> {
        take(&mut self.room.details, count, Limit::Details)?;
        exactly(count, || one(self))
    }

    fn by_round(&mut self) -> Result<ByRound> {
        let count = self.number()? as usize;
        take(&mut self.room.numbers, count, Limit::Numbers)?;
        if count == 0 {
            return Err(WireError::Damaged);
        }
        exactly(count, || self.number()).map(ByRound)
    }

    fn by_round_if(&mut self, there: bool) -> Result<ByRound> {
        if there {
            self.by_round()
        } else {
            Ok(ByRound::default())
        }
    }

    fn refs(&mut self, kit: &[Kit], count: usize) -> Result<Vec<Id>> {
        self.list(count, |r| {
            let at = r.number()? as usize;
            kit.get(at)
                .map(|kit| kit.id.clone())
                .ok_or(WireError::Damaged)
        })
    }

    fn word<W: Word>(&mut self, there: bool) -> Result<Option<W>> {
        if !there {
            return Ok(None);
        }
        let index = self.head()?;
        W::from_index(index).map(Some).ok_or(WireError::Newer)
    }
}

/// A list of a known length, with no room to spare: thousands of short lists add up.
fn exactly<T>(count: usize, mut one: impl FnMut() -> Result<T>) -> Result<Vec<T>> {
    let mut list = Vec::with_capacity(count);
    for _ in 0..count {
        list.push(one()?);
    }
    Ok(list)
}

/// Takes a count out of the room that is left for such things.
fn take(room: &mut usize, count: usize, limit: Limit) -> Result<()> {
    match room.checked_sub(count) {
        Some(left) => {
            *room = left;
            Ok(())
        }
        None => Err(WireError::Plan(PlanError::over(
            "",
            limit,
            limit.most() - *room as u64 + count as u64,
        ))),
    }
}

fn within(place: &str, limit: Limit, count: u32) -> Result<usize> {
    if u64::from(count) > limit.most() {
        return Err(WireError::Plan(PlanError::over(place, limit, count.into())));
    }
    Ok(count as usize)
}

fn word<W: Word>(bits: u32) -> Result<W> {
    let index = u8::try_from(bits).map_err(|_| WireError::Newer)?;
    W::from_index(index).ok_or(WireError::Newer)
}

/// Of a number's bits only these have a meaning. To pass over another would be to run another class
/// than the one that was handed out.
fn known(bits: u8, meant: u8) -> Result<()> {
    if bits & !meant == 0 {
        Ok(())
    } else {
        Err(WireError::Newer)
    }
}

/// Puts back what a plan was written without.
pub(super) trait Fill {
    /// Into the kit, before the moves refer to it.
    fn kit(&mut self, _: &mut [Kit]) -> Result<()> {
        Ok(())
    }
    /// Into the moves, before the blocks refer to them.
    fn moves(&mut self, _: &mut [Move]) -> Result<()> {
        Ok(())
    }
}

/// Nothing was left out.
impl Fill for () {}

/// Reads a plan. Only its form is judged here; `Plan::validate` judges the rest.
pub(super) fn read(bytes: &[u8], fill: &mut dyn Fill) -> Result<Plan> {
    let (len, used) = take_varint(bytes).ok_or(WireError::Damaged)?;
    let rest = &bytes[used..];
    if len as usize > rest.len() {
        return Err(WireError::Damaged);
    }
    let (numbers, texts) = rest.split_at(len as usize);
    let texts = core::str::from_utf8(texts).map_err(|_| WireError::Damaged)?;
    // Each text ends with a separator; without the last there is no empty text behind it.
    let texts = texts.strip_suffix(SEPARATOR).ok_or(WireError::Damaged)?;
    let mut r = Reader {
        numbers,
        texts: texts.split(SEPARATOR),
        room: Room {
            entries: limits::ENTRIES,
            details: limits::DETAILS,
            numbers: limits::NUMBERS,
        },
    };
    let head: PlanHead = r.head()?;
    let mut plan = Plan {
        revision: head.revision,
        recording: less_one(head.recording)?,
        slot: less_one(head.slot)?,
        ready: head.ready,
        title: r.text()?,
        ..Plan::default()
    };
    plan.id = match r.text()?.as_str() {
        NO_ID => String::new(),
        "" => slug(&plan.title),
        id => id.to_owned(),
    };
    plan.coach = r.text()?;
    plan.about = r.text()?;
    plan.kit = r.list(head.kit as usize, |r| {
        let instead = r.number()? as usize;
        let name = r.text()?;
        Ok(Kit {
            id: r.id(|| slug(&name))?,
            name,
            instead: r.texts(instead)?,
        })
    })?;
    fill.kit(&mut plan.kit)?;
    let moves = within("moves", Limit::Moves, head.moves)?;
    plan.moves = exactly(moves, || read_move(&mut r, &plan.kit))?;
    fill.moves(&mut plan.moves)?;
    let blocks = within("blocks", Limit::Blocks, head.blocks)?;
    plan.blocks = exactly(blocks, || read_block(&mut r, &plan.moves))?;
    if !r.numbers.is_empty() || r.texts.next().is_some() {
        return Err(WireError::Damaged);
    }
    Ok(plan)
}

fn less_one(number: u64) -> Result<Option<u32>> {
    match number.checked_sub(1) {
        None => Ok(None),
        Some(number) => u32::try_from(number)
            .map(Some)
            .map_err(|_| WireError::Damaged),
    }
}

fn read_move(r: &mut Reader<'_>, kit: &[Kit]) -> Result<Move> {
    let head: MoveHead = r.head()?;
    known(head.counts, 0b0011_1111)?;
    let kits = r.counted(head.counts)?;
    let notes = r.counted(head.counts >> 2)?;
    let options = r.counted(head.counts >> 4)?;
    let refs = r.refs(kit, kits)?;
    let name = r.text()?;
    Ok(Move {
        id: r.id(|| slug(&name))?,
        name,
        kit: refs,
        sided: head.bits & 1 != 0,
        impact: word(head.bits >> 1 & 1)?,
        effort: word(head.bits >> 2 & 3)?,
        position: word(head.bits >> 4 & 3)?,
        pattern: match head.bits >> 6 {
            0 => None,
            n => Some(word(n - 1)?),
        },
        demo: head.demo,
        how: r.text()?,
        notes: r.texts(notes)?,
        caution: r.text()?,
        options: r.list(options, |r| read_choice(r, kit))?,
    })
}

fn read_choice(r: &mut Reader<'_>, kit: &[Kit]) -> Result<Choice> {
    let head: ChoiceHead = r.head()?;
    known(head, 0b0111_1111)?;
    let level: Level = word(u32::from(head & 3))?;
    let notes = r.counted(head >> 3)?;
    let kits = r.counted(head >> 5)?;
    let kit = r.refs(kit, kits)?;
    Ok(Choice {
        id: r.id(|| usual_option_id(level).to_owned())?,
        level,
        name: r.text()?,
        notes: r.texts(notes)?,
        kit,
        switch_at_half: head >> 2 & 1 != 0,
    })
}

fn read_block(r: &mut Reader<'_>, moves: &[Move]) -> Result<Block> {
    let head: BlockHead = r.head()?;
    known(head.has, 0b0011_1111)?;
    let bits = u32::from(head.bits);
    let has = |bit: u8| head.has >> bit & 1 != 0;
    let (part, sides, first_side): (Part, Sides, Hand) =
        (word(bits >> 3 & 3)?, word(bits >> 5 & 3)?, word(bits >> 7)?);
    let work = r.by_round_if(has(0))?;
    let rest = r.by_round_if(has(1))?;
    let pause = r.by_round_if(has(2))?;
    let change = if has(3) { r.number()? } else { 0 };
    let after = if has(4) { r.number()? } else { 0 };
    let name = r.text()?;
    let kind = match bits & 7 {
        0 if head.number == 0 => BlockKind::Flow {
            steps: read_entries(r, moves)?,
        },
        1 => BlockKind::Rounds {
            moves: read_entries(r, moves)?,
            rounds: head.number,
        },
        2 => {
            let direction: Direction = word(head.number)?;
            let count = r.number()?;
            let count = within("blocks", Limit::Rungs, count)?;
            BlockKind::Ladder {
                rungs: exactly(count, || read_entries(r, moves))?,
                direction,
            }
        }
        3 => BlockKind::Sets {
            moves: read_entries(r, moves)?,
            sets: head.number,
        },
        4 => BlockKind::Window {
            tasks: read_entries(r, moves)?,
            times: head.number,
        },
        5 => BlockKind::Interlude {
            lasts: head.number,
            say: r.text()?,
        },
        _ => return Err(WireError::Newer),
    };
    Ok(Block {
        name,
        part,
        kind,
        work,
        rest,
        pause,
        sides,
        change,
        first_side,
        after,
        held: has(5),
    })
}

/// A list of entries. An empty one is no plan's, and costs memory for nothing.
fn read_entries(r: &mut Reader<'_>, moves: &[Move]) -> Result<Vec<Entry>> {
    let count = r.number()? as usize;
    take(&mut r.room.entries, count, Limit::Entries)?;
    if count == 0 {
        return Err(WireError::Damaged);
    }
    exactly(count, || read_entry(r, moves))
}

fn read_entry(r: &mut Reader<'_>, moves: &[Move]) -> Result<Entry> {
    let first = r.number()?;
    let of = moves
        .get((first >> 1) as usize)
        .map(|known| known.id.clone())
        .ok_or(WireError::Damaged)?;
    let mut entry = Entry {
        of,
        ..Entry::default()
    };
    if first & 1 == 0 {
        return Ok(entry);
    }
    let has: EntryHas = r.head()?;
    known(has, 0b0111_1111)?;
    let has = |bit: u8| has >> bit & 1 != 0;
    entry.work = r.by_round_if(has(0))?;
    entry.side = r.word(has(1))?;
    entry.sides = r.word(has(2))?;
    entry.reps = r.by_round_if(has(3))?;
    entry.effort = r.word(has(4))?;
    if has(5) {
        let count = r.number()? as usize;
        entry.notes = r.texts(count)?;
    }
    if has(6) {
        let count = r.number()? as usize;
        entry.marks = r.list(count, |r| {
            Ok(Mark {
                at: r.number()?,
                say: r.text()?,
            })
        })?;
    }
    Ok(entry)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every good plan of the tests, and the demos.
    fn plans() -> Vec<Plan> {
        let here = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut plans = Vec::new();
        for folder in ["src/demos", "tests/plans", "tests/e2e/plans"] {
            for file in std::fs::read_dir(here.join(folder)).unwrap() {
                let path = file.unwrap().path();
                if path.extension().is_some_and(|end| end == "json") {
                    let text = std::fs::read_to_string(path).unwrap();
                    plans.extend(Plan::from_json(&text));
                }
            }
        }
        assert!(plans.len() > 20);
        plans
    }

    /// Walks the numbers of a plan by the form as it is told at the top of this file, and notes each
    /// byte of flags with what has no meaning there: bits, and words beyond the last.
    struct Walk<'a> {
        bytes: &'a [u8],
        at: usize,
        flags: Vec<(usize, u8)>,
    }

    impl Walk<'_> {
        fn number(&mut self) -> usize {
            let (number, used) = take_varint(&self.bytes[self.at..]).unwrap();
            self.at += used;
            number as usize
        }

        fn numbers(&mut self, count: usize) {
            for _ in 0..count {
                self.number();
            }
        }

        fn flags(&mut self, unknown: &[u8]) -> u8 {
            let here = unknown.iter().map(|bits| (self.at, *bits));
            self.flags.extend(here);
            self.at += 1;
            self.bytes[self.at - 1]
        }

        fn counted(&mut self, bits: u8) -> usize {
            match usize::from(bits & 3) {
                3 => self.number(),
                few => few,
            }
        }

        fn list(&mut self) {
            let count = self.number();
            self.numbers(count);
        }

        fn plan(&mut self) {
            self.numbers(4);
            let (kit, moves, blocks) = (self.number(), self.number(), self.number());
            self.numbers(kit);
            for _ in 0..moves {
                self.numbers(2);
                let counts = self.flags(&[1 << 6, 1 << 7]);
                let kits = self.counted(counts);
                self.counted(counts >> 2);
                let options = self.counted(counts >> 4);
                self.numbers(kits);
                for _ in 0..options {
                    let head = self.flags(&[1 << 7, 3]);
                    self.counted(head >> 3);
                    let kits = self.counted(head >> 5);
                    self.numbers(kits);
                }
            }
            for _ in 0..blocks {
                let kind = self.flags(&[6, 7, 3 << 5]) & 7;
                let has = self.flags(&[1 << 6, 1 << 7]);
                self.number();
                for bit in 0..3 {
                    if has >> bit & 1 != 0 {
                        self.list();
                    }
                }
                self.numbers((has >> 3 & 3).count_ones() as usize);
                let lists = match kind {
                    2 => self.number(),
                    5 => 0,
                    _ => 1,
                };
                for _ in 0..lists {
                    for _ in 0..self.number() {
                        self.entry();
                    }
                }
            }
        }

        fn entry(&mut self) {
            if self.number() & 1 == 0 {
                return;
            }
            let has = self.flags(&[1 << 7]);
            let has = |bit: u8| has >> bit & 1 != 0;
            if has(0) {
                self.list();
            }
            self.at += usize::from(has(1)) + usize::from(has(2));
            if has(3) {
                self.list();
            }
            self.at += usize::from(has(4));
            if has(5) {
                self.number();
            }
            if has(6) {
                let marks = self.number();
                self.numbers(marks);
            }
        }
    }

    #[test]
    fn every_bit_that_has_no_meaning_is_of_a_newer_app() {
        let mut tried = 0;
        for plan in plans() {
            let bytes = write(&plan);
            let (len, start) = take_varint(&bytes).unwrap();
            let end = start + len as usize;
            let mut walk = Walk {
                bytes: &bytes[..end],
                at: start,
                flags: Vec::new(),
            };
            walk.plan();
            assert_eq!(walk.at, end, "{}", plan.title);
            for (at, bits) in walk.flags {
                let mut newer = bytes.clone();
                newer[at] |= bits;
                let found = read(&newer, &mut ());
                assert!(
                    matches!(found, Err(WireError::Newer)),
                    "{}: bits {bits:#b} at {at}: {found:?}",
                    plan.title
                );
                tried += 1;
            }
        }
        assert!(tried > 500, "{tried}");
    }

    #[test]
    fn no_bit_of_the_numbers_is_passed_over() {
        for plan in plans() {
            let bytes = write(&plan);
            let (len, start) = take_varint(&bytes).unwrap();
            let end = start + len as usize;
            for at in start..end {
                for bit in 0..8 {
                    let mut other = bytes.clone();
                    other[at] ^= 1 << bit;
                    if let Ok(read) = read(&other, &mut ()) {
                        assert_ne!(read, plan, "{}: bit {bit} at {at}", plan.title);
                    }
                }
            }
        }
    }
}
