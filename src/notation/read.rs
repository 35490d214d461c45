//! A text as a plan.

use super::error::{NotationError, Problem, Under};
use super::{level, unescaped};
use crate::library::Library;
use crate::plan::keys::{self, Form, Value};
use crate::plan::{
    Block, BlockKind, ByRound, Choice, Effort, Entry, Id, Impact, Kit, Mark, Move, Pattern, Plan,
    PlanError, Position, Word,
};

type Result<T> = core::result::Result<T, NotationError>;

/// A slot up to this, written without a colon, was meant in minutes.
const MINUTES: u32 = 180;

/// Reads the text of a plan, and judges the plan as [`Plan::validate`] does.
///
/// ```
/// use rungbook::{library::Library, notation};
/// let e = notation::read("class One\nflow\n  work 30\n  - glute-brdge", &Library::shipped()).unwrap_err();
/// assert_eq!(e.line, 4);
/// assert_eq!(e.problem, notation::Problem::NoSuchMove { id: "glute-brdge".into() });
/// assert_eq!(e.problem.to_string(), "there is no move “glute-brdge”");
/// ```
///
/// # Errors
/// The first thing that is wrong, with its line.
pub fn read(text: &str, library: &Library) -> Result<Plan> {
    let (plan, lines) = plan(text, library)?;
    match plan.validate() {
        Ok(_) => Ok(plan),
        Err(e) => Err(lines.place(e)),
    }
}

/// Reads the text of a draft, which may be unfinished.
///
/// ```
/// use rungbook::{library::Library, notation};
/// let draft = notation::draft("class\nladder Ladder", &Library::default())?;
/// assert_eq!(draft.blocks[0].name, "Ladder");
/// # Ok::<(), notation::NotationError>(())
/// ```
///
/// # Errors
/// The first line that says nothing, or names what is not there.
pub fn draft(text: &str, library: &Library) -> Result<Plan> {
    plan(text, library).map(|(plan, _)| plan)
}

fn plan(text: &str, library: &Library) -> Result<(Plan, Places)> {
    let mut reader = Reader {
        library,
        plan: Plan::default(),
        lines: Places::default(),
        open: Open::Class,
        line: 0,
        titled: false,
    };
    for (at, line) in text.split('\n').enumerate() {
        reader.line = at + 1;
        let line = line.strip_suffix('\r').unwrap_or(line);
        let line = line.trim_matches([' ', '\t']);
        if !line.is_empty() && !line.starts_with('#') {
            reader.read(line)?;
        }
    }
    if !reader.titled {
        reader.line = 1;
        return Err(reader.wrong(Problem::NoClass));
    }
    reader.bring()?;
    Ok((reader.plan, reader.lines))
}

/// The lines on which things stand.
#[derive(Default)]
struct Places {
    kit: Vec<usize>,
    moves: Vec<usize>,
    blocks: Vec<usize>,
    /// Of each block, of each list, of each entry.
    entries: Vec<Vec<Vec<usize>>>,
}

impl Places {
    /// Finds the line of what a plan's error is about, as `blocks[2].rungs[1][0].work`.
    fn place(&self, e: PlanError) -> NotationError {
        let numbers: Vec<usize> = e
            .place
            .split(['[', ']'])
            .filter_map(|part| part.parse().ok())
            .collect();
        let first = numbers.first().copied();
        let of = |lines: &[usize]| first.and_then(|at| lines.get(at)).copied();
        let line = if e.place.starts_with("kit") {
            of(&self.kit)
        } else if e.place.starts_with("moves") {
            of(&self.moves)
        } else if e.place.starts_with("blocks") {
            let lists = first.and_then(|at| self.entries.get(at));
            let rest = numbers.get(1..).unwrap_or_default();
            let (list, entry) = match rest {
                [list, entry, ..] if e.place.contains(".rungs") => (*list, Some(*entry)),
                [list, ..] if e.place.contains(".rungs") => (*list, Some(0)),
                [entry, ..] => (0, Some(*entry)),
                [] => (0, None),
            };
            let own = || lists?.get(list)?.get(entry?).copied();
            own().or(of(&self.blocks))
        } else {
            None
        };
        NotationError {
            line: line.unwrap_or(1),
            problem: Problem::Plan(e.problem),
        }
    }
}

/// What the lines that come belong to.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Open {
    Class,
    Kit,
    Move,
    Option,
    Block,
    Entry,
}

struct Reader<'a> {
    library: &'a Library,
    plan: Plan,
    lines: Places,
    open: Open,
    line: usize,
    titled: bool,
}

/// The id of the move that an entry names, and what follows it. A move goes by its whole name or by
/// its id: the longest that fits counts, so that “squat to press” is not “squat”; of equal ones the
/// class's own before the library's, a name before an id. After `=` stands an id, whatever is called so.
pub(super) fn entry_of<'t>(
    text: &'t str,
    own: &'t [Move],
    library: &'t [Move],
) -> (&'t str, &'t str) {
    let (first, rest) = word(text);
    if let Some(id) = first.strip_prefix('=') {
        return (id, rest);
    }
    let mut found = (first, rest);
    let mut longest = 0;
    for moves in [own, library] {
        for one in moves {
            if one.name.len() > longest
                && let Some(after) = after_name(text, &one.name)
            {
                longest = one.name.len();
                found = (&one.id, after);
            }
        }
        if first.len() > longest && moves.iter().any(|one| &*one.id == first) {
            longest = first.len();
            found = (first, rest);
        }
    }
    found
}

/// What follows a whole name, in small or large letters, at the start of a text.
fn after_name<'t>(text: &'t str, name: &str) -> Option<&'t str> {
    let (start, after) = text.split_at_checked(name.len())?;
    let ends = after.is_empty() || after.starts_with([' ', '\t']);
    (ends && start.eq_ignore_ascii_case(name)).then(|| after.trim_start_matches([' ', '\t']))
}

/// The move of a whole name or an id.
fn known<'l>(moves: &'l [Move], text: &str) -> Option<&'l Move> {
    let named = moves.iter().find(|one| one.name.eq_ignore_ascii_case(text));
    named.or_else(|| moves.iter().find(|one| &*one.id == text))
}

/// The first word of a line, and what follows it.
fn word(line: &str) -> (&str, &str) {
    match line.split_once([' ', '\t']) {
        Some((word, rest)) => (word, rest.trim_start_matches([' ', '\t'])),
        None => (line, ""),
    }
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    text.split([' ', '\t']).filter(|word| !word.is_empty())
}

impl Reader<'_> {
    fn wrong(&self, problem: Problem) -> NotationError {
        let line = self.line;
        NotationError { line, problem }
    }

    fn read(&mut self, line: &str) -> Result<()> {
        let (first, rest) = word(line);
        let first = &*first.to_ascii_lowercase();
        match first {
            "class" if !self.titled => {
                self.titled = true;
                self.plan.title = unescaped(rest);
                self.open = Open::Class;
                Ok(())
            }
            "class" => Err(self.wrong(Problem::SecondClass)),
            "kit" => self.kit(rest),
            "move" => self.begin_move(rest),
            _ if keys::KINDS.contains(&first) => {
                self.begin_block(first, rest);
                Ok(())
            }
            _ => match self.open {
                Open::Class => self.class(first, rest),
                Open::Kit => self.instead(first, rest),
                Open::Move | Open::Option => self.of_move(first, rest),
                Open::Block | Open::Entry => self.of_block(first, rest),
            },
        }
    }

    fn class(&mut self, first: &str, rest: &str) -> Result<()> {
        match first {
            "id" => self.plan.id = rest.to_owned(),
            "revision" => self.plan.revision = self.number(rest)?,
            "coach" => self.plan.coach = unescaped(rest),
            "about" => self.plan.about = unescaped(rest),
            "slot" => self.plan.slot = Some(self.slot(rest)?),
            "ready" => self.plan.ready = self.number(rest)?,
            "recording" => self.plan.recording = Some(self.number(rest)?),
            _ => return Err(self.unknown(first, Under::Class)),
        }
        Ok(())
    }

    fn unknown(&self, word: &str, under: Under) -> NotationError {
        let word = word.to_owned();
        self.wrong(Problem::Unknown { word, under })
    }

    fn kit(&mut self, rest: &str) -> Result<()> {
        self.open = Open::Kit;
        self.lines.kit.push(self.line);
        let kit = match named(rest) {
            Some((id, name)) => Kit {
                id,
                name,
                instead: Vec::new(),
            },
            None => {
                let known = self.library.kit.iter().find(|kit| &*kit.id == rest);
                known.cloned().ok_or_else(|| {
                    self.wrong(Problem::NoSuchKit {
                        id: rest.to_owned(),
                    })
                })?
            }
        };
        self.plan.kit.push(kit);
        Ok(())
    }

    fn instead(&mut self, first: &str, rest: &str) -> Result<()> {
        match (first, self.plan.kit.last_mut()) {
            ("instead", Some(kit)) => {
                kit.instead.push(unescaped(rest));
                Ok(())
            }
            _ => Err(self.unknown(first, Under::Kit)),
        }
    }

    fn begin_move(&mut self, rest: &str) -> Result<()> {
        self.open = Open::Move;
        self.lines.moves.push(self.line);
        let one = match named(rest) {
            Some((id, name)) => Move {
                id,
                name,
                ..Move::default()
            },
            None => {
                let known = known(&self.library.moves, rest);
                known.cloned().ok_or_else(|| {
                    self.wrong(Problem::NotInLibrary {
                        id: rest.to_owned(),
                    })
                })?
            }
        };
        self.plan.moves.push(one);
        Ok(())
    }

    fn of_move(&mut self, first: &str, rest: &str) -> Result<()> {
        if let Some(level) = level(first) {
            let Some((id, name)) = named(rest) else {
                return Err(self.wrong(Problem::NoOptionName { level }));
            };
            let option = Choice {
                id,
                level,
                name,
                ..Choice::default()
            };
            self.open = Open::Option;
            if let Some(one) = self.plan.moves.last_mut() {
                one.options.push(option);
            }
            return Ok(());
        }
        let in_option = self.open == Open::Option;
        let demo = if first == "demo" {
            self.number(rest)?
        } else {
            0
        };
        let is = if first == "is" {
            Some(self.traits(rest)?)
        } else {
            None
        };
        let Some(one) = self.plan.moves.last_mut() else {
            return Ok(());
        };
        if in_option && let Some(option) = one.options.last_mut() {
            match (first, rest) {
                ("note", _) => option.notes.push(unescaped(rest)),
                ("uses", _) => option.kit = ids(rest),
                ("switch", "at half") => option.switch_at_half = true,
                _ => return Err(self.unknown(first, Under::Option)),
            }
            return Ok(());
        }
        match first {
            "uses" => one.kit = ids(rest),
            "sided" => one.sided = true,
            "is" => is.into_iter().flatten().for_each(|trait_| trait_.put(one)),
            "demo" => one.demo = demo,
            "how" => one.how = unescaped(rest),
            "note" => one.notes.push(unescaped(rest)),
            "caution" => one.caution = unescaped(rest),
            _ => {
                return Err(self.unknown(first, Under::Move));
            }
        }
        Ok(())
    }

    fn traits(&self, rest: &str) -> Result<Vec<Trait>> {
        words(rest)
            .map(|word| {
                Trait::of(word).ok_or_else(|| {
                    self.wrong(Problem::NotATrait {
                        word: word.to_owned(),
                    })
                })
            })
            .collect()
    }

    fn begin_block(&mut self, kind: &str, name: &str) {
        let Some(kind) = BlockKind::empty(kind) else {
            return;
        };
        self.plan.blocks.push(Block {
            name: unescaped(name),
            ..Block::new(kind)
        });
        self.lines.blocks.push(self.line);
        self.lines.entries.push(Vec::new());
        self.open = Open::Block;
    }

    fn of_block(&mut self, first: &str, rest: &str) -> Result<()> {
        match first {
            "-" => return self.entries(rest, false),
            "+" => return self.entries(rest, true),
            "note" | "mark" if self.open == Open::Entry => return self.of_entry(first, rest),
            _ => {}
        }
        let Some(block) = self.plan.blocks.last() else {
            return Ok(());
        };
        let Some(row) = block.kind.rows().find(|row| row.line == first) else {
            let kind = block.kind.word();
            let other = keys::ROWS.iter().find(|row| row.line == first);
            return Err(match other.map(|row| row.line) {
                Some(key) => self.wrong(Problem::NotTaken { kind, key }),
                None => self.unknown(first, Under::Block),
            });
        };
        let value = match row.form {
            Form::Text => Value::Text(unescaped(rest)),
            Form::Flag => Value::Flag(true),
            Form::Number(_) => Value::Number(self.number(rest)?),
            Form::Numbers => Value::Numbers(self.numbers(rest)?),
            Form::Word(words, _) => Value::Word(self.one_of(words, rest)?),
            Form::Entries => Value::Entries,
        };
        if let Some(block) = self.plan.blocks.last_mut() {
            block.put(row.key, value);
        }
        Ok(())
    }

    /// The entries of a line; in a ladder `-` begins a rung.
    fn entries(&mut self, rest: &str, joins: bool) -> Result<()> {
        let entries = rest
            .split(',')
            .map(|one| self.entry(one))
            .collect::<Result<Vec<_>>>()?;
        let line = self.line;
        let (Some(block), Some(lines)) =
            (self.plan.blocks.last_mut(), self.lines.entries.last_mut())
        else {
            return Ok(());
        };
        let new = vec![line; entries.len()];
        if let BlockKind::Ladder { rungs, .. } = &mut block.kind {
            if joins && let (Some(rung), Some(at)) = (rungs.last_mut(), lines.last_mut()) {
                rung.extend(entries);
                at.extend(new);
            } else {
                rungs.push(entries);
                lines.push(new);
            }
        } else if let Some(list) = block.kind.list_mut() {
            if joins {
                return Err(self.wrong(Problem::NoRungs));
            }
            list.extend(entries);
            match lines.last_mut() {
                Some(at) => at.extend(new),
                None => lines.push(new),
            }
        } else {
            return Err(self.wrong(Problem::NoEntries));
        }
        self.open = Open::Entry;
        Ok(())
    }

    fn entry(&self, text: &str) -> Result<Entry> {
        let (of, rest) = entry_of(trimmed(text), &self.plan.moves, &self.library.moves);
        if of.is_empty() {
            return Err(self.wrong(Problem::NoMove));
        }
        let mut parts = words(rest).peekable();
        let mut entry = Entry::of(of);
        while let Some(key) = parts.next() {
            let mut says = String::new();
            // Numbers go on as far as they are numbers; any other key takes one word.
            while let Some(next) = parts.peek() {
                let number = next.starts_with(|c: char| c.is_ascii_digit());
                if !says.is_empty() && !number {
                    break;
                }
                if !says.is_empty() {
                    says.push(' ');
                }
                says.push_str(next);
                parts.next();
            }
            match key {
                "work" => entry.work = self.numbers(&says)?,
                "reps" => entry.reps = self.numbers(&says)?,
                "side" => entry.side = self.choice(&says)?,
                "sides" => entry.sides = self.choice(&says)?,
                "effort" => entry.effort = self.choice(&says)?,
                _ => {
                    return Err(self.unknown(key, Under::Entry));
                }
            }
        }
        Ok(entry)
    }

    fn of_entry(&mut self, first: &str, rest: &str) -> Result<()> {
        let mark = if first == "mark" {
            let (at, say) = word(rest);
            Some(Mark {
                at: self.number(at)?,
                say: unescaped(say),
            })
        } else {
            None
        };
        let block = self.plan.blocks.last_mut();
        if let Some(entry) = block.and_then(|block| block.entries_mut().last()) {
            match mark {
                Some(mark) => entry.marks.push(mark),
                None => entry.notes.push(unescaped(rest)),
            }
        }
        Ok(())
    }

    /// Takes the library's moves along that entries name and no line told.
    fn bring(&mut self) -> Result<()> {
        let named: Vec<(Id, usize)> = self
            .plan
            .blocks
            .iter()
            .zip(&self.lines.entries)
            .flat_map(|(block, lines)| {
                let ids = block.entries().map(|entry| entry.of.clone());
                ids.zip(lines.iter().flatten().copied()).collect::<Vec<_>>()
            })
            .collect();
        for (id, line) in named {
            if self.plan.move_named(&id).is_some() {
                continue;
            }
            let at = self.library.moves.iter().position(|known| known.id == id);
            self.line = line;
            match at {
                Some(at) => {
                    self.library.bring(at, &mut self.plan);
                }
                None => {
                    return Err(self.wrong(Problem::NoSuchMove { id: id.to_string() }));
                }
            }
        }
        // A library move that stands by its id alone brings its kit too.
        let all = self.plan.moves.iter();
        let needed: Vec<Id> = all.flat_map(Move::all_kit).cloned().collect();
        for id in needed {
            if self.plan.kit_named(&id).is_none()
                && let Some(kit) = self.library.kit.iter().find(|kit| kit.id == id)
            {
                self.plan.kit.push(kit.clone());
            }
        }
        self.lines
            .kit
            .resize(self.plan.kit.len().max(self.lines.kit.len()), 1);
        self.lines
            .moves
            .resize(self.plan.moves.len().max(self.lines.moves.len()), 1);
        Ok(())
    }

    /// A number, or minutes and seconds.
    fn number(&self, text: &str) -> Result<u32> {
        let number = match text.split_once(':') {
            None => text.parse().ok(),
            Some((minutes, seconds)) => minutes
                .parse::<u32>()
                .ok()
                .zip(seconds.parse::<u32>().ok().filter(|_| seconds.len() == 2))
                .filter(|(_, seconds)| *seconds < 60)
                .and_then(|(minutes, seconds)| minutes.checked_mul(60)?.checked_add(seconds)),
        };
        number.ok_or_else(|| {
            self.wrong(Problem::NotANumber {
                text: text.to_owned(),
            })
        })
    }

    /// A slot is told in minutes everywhere else: a small number alone is no class of some seconds.
    fn slot(&self, text: &str) -> Result<u32> {
        let slot = self.number(text)?;
        if slot <= MINUTES && !text.contains(':') {
            return Err(self.wrong(Problem::SlotInSeconds { slot }));
        }
        Ok(slot)
    }

    fn numbers(&self, text: &str) -> Result<ByRound> {
        let list = words(text)
            .map(|one| self.number(one))
            .collect::<Result<Vec<_>>>()?;
        if list.is_empty() {
            return Err(self.wrong(Problem::NoNumber));
        }
        Ok(ByRound(list))
    }

    fn choice<W: Word>(&self, text: &str) -> Result<Option<W>> {
        self.one_of(W::NAMES, text).map(W::from_index)
    }

    /// One of some words, by its place.
    fn one_of(&self, words: &'static [&'static str], text: &str) -> Result<u8> {
        let at = words.iter().position(|known| *known == text);
        at.map(|at| at as u8).ok_or_else(|| {
            self.wrong(Problem::NotAWord {
                text: text.to_owned(),
                words,
            })
        })
    }
}

/// What the word `is` can say.
#[derive(Clone, Copy)]
enum Trait {
    Pattern(Pattern),
    Effort(Effort),
    Position(Position),
    Impact(Impact),
}

impl Trait {
    fn of(word: &str) -> Option<Trait> {
        (Pattern::from_word(word).map(Trait::Pattern))
            .or_else(|| Effort::from_word(word).map(Trait::Effort))
            .or_else(|| Position::from_word(word).map(Trait::Position))
            .or_else(|| Impact::from_word(word).map(Trait::Impact))
    }

    fn put(self, one: &mut Move) {
        match self {
            Trait::Pattern(pattern) => one.pattern = Some(pattern),
            Trait::Effort(effort) => one.effort = effort,
            Trait::Position(position) => one.position = position,
            Trait::Impact(impact) => one.impact = impact,
        }
    }
}

/// An id with the name that it has here: `id = name`.
fn named(text: &str) -> Option<(Id, String)> {
    let (id, name) = text.split_once('=')?;
    Some((trimmed(id).into(), unescaped(trimmed(name))))
}

fn trimmed(text: &str) -> &str {
    text.trim_matches([' ', '\t'])
}

fn ids(text: &str) -> Vec<Id> {
    words(text).map(Into::into).collect()
}
