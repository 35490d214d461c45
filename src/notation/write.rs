//! A plan as text.

use core::fmt::Write as _;

use super::escaped;
use super::read::entry_of;
use crate::library::Library;
use crate::plan::keys::{Form, Value};
use crate::plan::{
    Block, BlockKind, ByRound, Choice, DEFAULT_READY, Effort, Entry, Id, Impact, Kit, Move, Plan,
    Position, Word,
};

/// The text of a plan. Moves and kit that are the library's are named and not told again.
///
/// ```
/// use rungbook::{library::Library, notation, plan::Plan};
/// let library = Library::shipped();
/// let plan = notation::read("class One\nflow\nwork 30\n- glute-bridge", &library)?;
/// let text = notation::write(&plan, &library);
/// assert!(text.contains("\nmove glute-bridge\n"));
/// assert_eq!(notation::read(&text, &library)?, plan);
/// # Ok::<(), notation::NotationError>(())
/// ```
#[must_use]
pub fn write(plan: &Plan, library: &Library) -> String {
    let mut w = Lines::default();
    w.line(0, "class", &escaped(&plan.title));
    w.unless_empty(0, "id", &plan.id);
    if plan.revision != 0 {
        w.line(0, "revision", &plan.revision.to_string());
    }
    w.unless_empty(0, "coach", &plan.coach);
    w.unless_empty(0, "about", &plan.about);
    if let Some(slot) = plan.slot {
        w.line(0, "slot", &clock(slot));
    }
    if plan.ready != DEFAULT_READY {
        w.line(0, "ready", &plan.ready.to_string());
    }
    if let Some(recording) = plan.recording {
        w.line(0, "recording", &clock(recording));
    }
    if !plan.kit.is_empty() {
        w.space();
    }
    for kit in &plan.kit {
        write_kit(&mut w, kit, library);
    }
    let mut brief = false;
    for one in &plan.moves {
        // A library move is a line; a move that is told stands by itself.
        let before = core::mem::replace(&mut brief, is_known(one, library) && one.demo == 0);
        if !(before && brief) {
            w.space();
        }
        write_move(&mut w, one, library);
    }
    for block in &plan.blocks {
        w.space();
        write_block(&mut w, block, (&plan.moves, &library.moves));
    }
    w.0
}

/// Seconds as `m:ss`.
fn clock(seconds: u32) -> String {
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

#[derive(Default)]
struct Lines(String);

impl Lines {
    fn line(&mut self, deep: usize, word: &str, says: &str) {
        let gap = if says.is_empty() { "" } else { " " };
        // Writing to a string can't fail.
        let _ = writeln!(self.0, "{:deep$}{word}{gap}{says}", "", deep = deep * 2);
    }

    fn unless_empty(&mut self, deep: usize, word: &str, text: &str) {
        if !text.is_empty() {
            self.line(deep, word, &escaped(text));
        }
    }

    fn each(&mut self, deep: usize, word: &str, texts: &[String]) {
        for text in texts {
            self.line(deep, word, &escaped(text));
        }
    }

    fn space(&mut self) {
        self.0.push('\n');
    }

    /// An id with the name that it has here.
    fn named(&mut self, deep: usize, word: &str, id: &str, name: &str) {
        self.line(deep, word, &format!("{id} = {}", escaped(name)));
    }
}

fn numbers(list: &ByRound) -> String {
    let words: Vec<_> = list.0.iter().map(u32::to_string).collect();
    words.join(" ")
}

fn ids(ids: &[Id]) -> String {
    let words: Vec<&str> = ids.iter().map(|id| &**id).collect();
    words.join(" ")
}

fn write_kit(w: &mut Lines, kit: &Kit, library: &Library) {
    if library.kit.contains(kit) {
        w.line(0, "kit", &kit.id);
        return;
    }
    w.named(0, "kit", &kit.id, &kit.name);
    w.each(1, "instead", &kit.instead);
}

/// Whether a move is the library's. Only how long it is shown may differ: a list below a library move
/// adds to the library's.
fn is_known(one: &Move, library: &Library) -> bool {
    let known = library.moves.iter().find(|known| known.id == one.id);
    known.is_some_and(|known| {
        let mut known = known.clone();
        known.demo = one.demo;
        known == *one
    })
}

fn write_move(w: &mut Lines, one: &Move, library: &Library) {
    if is_known(one, library) {
        w.line(0, "move", &one.id);
        if one.demo > 0 {
            w.line(1, "demo", &one.demo.to_string());
        }
        return;
    }
    w.named(0, "move", &one.id, &one.name);
    if !one.kit.is_empty() {
        w.line(1, "uses", &ids(&one.kit));
    }
    if one.sided {
        w.line(1, "sided", "");
    }
    let mut is: Vec<&str> = Vec::new();
    is.extend(one.pattern.map(Word::word));
    if one.effort != Effort::default() {
        is.push(one.effort.word());
    }
    if one.position != Position::default() {
        is.push(one.position.word());
    }
    if one.impact != Impact::default() {
        is.push(one.impact.word());
    }
    if !is.is_empty() {
        w.line(1, "is", &is.join(" "));
    }
    if one.demo > 0 {
        w.line(1, "demo", &one.demo.to_string());
    }
    w.unless_empty(1, "how", &one.how);
    w.each(1, "note", &one.notes);
    w.unless_empty(1, "caution", &one.caution);
    for option in &one.options {
        write_option(w, option);
    }
}

fn write_option(w: &mut Lines, option: &Choice) {
    w.named(1, option.level.word(), &option.id, &option.name);
    w.each(2, "note", &option.notes);
    if !option.kit.is_empty() {
        w.line(2, "uses", &ids(&option.kit));
    }
    if option.switch_at_half {
        w.line(2, "switch at half", "");
    }
}

/// The moves that a text may name: the class's own and the library's.
type Known<'m> = (&'m [Move], &'m [Move]);

fn write_block(w: &mut Lines, block: &Block, known: Known<'_>) {
    w.line(0, block.kind.word(), &escaped(&block.name));
    for row in block.kind.rows().filter(|row| !row.line.is_empty()) {
        let value = block.get(row.key);
        if !row.needed && value == row.usual() {
            continue;
        }
        let says = match (value, row.form) {
            (Value::Text(text), _) => escaped(&text),
            (Value::Number(n), _) => n.to_string(),
            (Value::Numbers(list), _) => numbers(&list),
            (Value::Word(at), Form::Word(words, _)) => words[usize::from(at)].to_owned(),
            _ => String::new(),
        };
        w.line(1, row.line, &says);
    }
    let ladder = matches!(block.kind, BlockKind::Ladder { .. });
    for list in block.lists() {
        for (at, entry) in list.iter().enumerate() {
            let sign = if ladder && at > 0 { "+" } else { "-" };
            write_entry(w, sign, entry, known);
        }
    }
}

fn write_entry(w: &mut Lines, sign: &str, entry: &Entry, known: Known<'_>) {
    let mut says = entry.of.to_string();
    let mut add = |word: &str, value: &str| {
        let _ = write!(says, " {word} {value}");
    };
    if !entry.work.is_empty() {
        add("work", &numbers(&entry.work));
    }
    if let Some(side) = entry.side {
        add("side", side.word());
    }
    if let Some(sides) = entry.sides {
        add("sides", sides.word());
    }
    if !entry.reps.is_empty() {
        add("reps", &numbers(&entry.reps));
    }
    if let Some(effort) = entry.effort {
        add("effort", effort.word());
    }
    // Where another move is called so, this is the id.
    let (of, rest) = entry_of(&says, known.0, known.1);
    if *of != *entry.of || says.len() != of.len() + usize::from(!rest.is_empty()) + rest.len() {
        says.insert(0, '=');
    }
    w.line(1, sign, &says);
    w.each(2, "note", &entry.notes);
    for mark in &entry.marks {
        w.line(2, "mark", &format!("{} {}", mark.at, escaped(&mark.say)));
    }
}
