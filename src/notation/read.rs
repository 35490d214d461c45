//! A text as a plan.

use super::{NotationError, level, unescaped};
use crate::library::Library;
use crate::plan::{
    Block, BlockKind, ByRound, Choice, Direction, Effort, Entry, Hand, Id, Impact, Kit, Mark, Move,
    Part, Pattern, Plan, PlanError, Position, Sides, Word,
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
/// assert_eq!(e.problem, "there is no move “glute-brdge”");
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
        return Err(reader.wrong("there is no class", "Begin with “class” and its title."));
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
            problem: e.problem,
            remedy: e.remedy,
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
    fn wrong(&self, problem: impl Into<String>, remedy: impl Into<String>) -> NotationError {
        NotationError {
            line: self.line,
            problem: problem.into(),
            remedy: remedy.into(),
        }
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
            "class" => Err(self.wrong("a second class begins", "Write one class in one text.")),
            "kit" => self.kit(rest),
            "move" => self.begin_move(rest),
            "flow" | "rounds" | "ladder" | "sets" | "window" | "interlude" => {
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
            _ => return Err(self.unknown(first, "class, id, revision, coach, about, slot, ready, recording, kit, move, or a kind of block")),
        }
        Ok(())
    }

    fn unknown(&self, word: &str, known: &str) -> NotationError {
        self.wrong(
            format!("“{word}” says nothing here"),
            format!("Here stands {known}."),
        )
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
                    self.wrong(
                        format!("the library has no kit “{rest}”"),
                        "Write “kit”, an id, “=” and its name.",
                    )
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
            _ => Err(self.unknown(first, "instead")),
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
                    self.wrong(
                        format!("the library has no move “{rest}”"),
                        "Write “move”, an id, “=” and its name.",
                    )
                })?
            }
        };
        self.plan.moves.push(one);
        Ok(())
    }

    fn of_move(&mut self, first: &str, rest: &str) -> Result<()> {
        if let Some(level) = level(first) {
            let Some((id, name)) = named(rest) else {
                return Err(self.wrong(
                    "a way without a name",
                    format!("Write “{first}”, an id, “=” and its name."),
                ));
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
                _ => return Err(self.unknown(first, "note, uses, switch at half, easier, harder, other, or what begins something new")),
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
                return Err(self.unknown(
                    first,
                    "uses, sided, is, demo, how, note, caution, easier, harder, other, or what begins something new",
                ));
            }
        }
        Ok(())
    }

    fn traits(&self, rest: &str) -> Result<Vec<Trait>> {
        words(rest)
            .map(|word| {
                Trait::of(word).ok_or_else(|| {
                    self.wrong(
                        format!("“{word}” is no pattern, effort, position or impact"),
                        "The page on the notation lists the words.",
                    )
                })
            })
            .collect()
    }

    fn begin_block(&mut self, kind: &str, name: &str) {
        let kind = match kind {
            "flow" => BlockKind::Flow { steps: Vec::new() },
            "rounds" => BlockKind::Rounds {
                moves: Vec::new(),
                rounds: 1,
            },
            "ladder" => BlockKind::Ladder {
                rungs: Vec::new(),
                direction: Direction::default(),
            },
            "sets" => BlockKind::Sets {
                moves: Vec::new(),
                sets: 1,
            },
            "window" => BlockKind::Window {
                tasks: Vec::new(),
                times: 1,
            },
            _ => BlockKind::Interlude {
                lasts: 0,
                say: String::new(),
            },
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
        let (kind, has_sides, has_breaks) = match self.plan.blocks.last() {
            Some(block) => (block.kind.word(), block.has_sides(), block.has_breaks()),
            None => return Ok(()),
        };
        let works = kind != "interlude";
        let fits = match first {
            "part" | "held" | "after" => true,
            "work" | "rest" => works,
            "break" => has_breaks,
            "sides" | "change" | "first" => has_sides,
            "times" => matches!(kind, "rounds" | "sets" | "window"),
            "direction" => kind == "ladder",
            "lasts" | "say" => !works,
            _ => {
                return Err(self.unknown(
                    first,
                    "part, work, rest, break, times, direction, sides, change, first, after, held, lasts, say, an entry, or what begins something new",
                ));
            }
        };
        if !fits {
            return Err(self.wrong(
                format!("a {kind} has no “{first}”"),
                "Take the line out, or choose another kind.",
            ));
        }
        let list = match first {
            "work" | "rest" | "break" => self.numbers(rest)?,
            _ => ByRound::default(),
        };
        let number = match first {
            "after" | "times" | "change" | "lasts" => self.number(rest)?,
            _ => 0,
        };
        let part = self.choice::<Part>(first == "part", rest)?;
        let sides = self.choice::<Sides>(first == "sides", rest)?;
        let hand = self.choice::<Hand>(first == "first", rest)?;
        let way = self.choice::<Direction>(first == "direction", rest)?;
        let Some(block) = self.plan.blocks.last_mut() else {
            return Ok(());
        };
        match (first, &mut block.kind) {
            ("part", _) => block.part = part.unwrap_or_default(),
            ("held", _) => block.held = true,
            ("after", _) => block.after = number,
            ("work", _) => block.work = list,
            ("rest", _) => block.rest = list,
            ("break", _) => block.pause = list,
            ("sides", _) => block.sides = sides.unwrap_or_default(),
            ("change", _) => block.change = number,
            ("first", _) => block.first_side = hand.unwrap_or_default(),
            ("times", kind) => {
                if let Some(times) = kind.times_mut() {
                    *times = number;
                }
            }
            ("direction", BlockKind::Ladder { direction, .. }) => {
                *direction = way.unwrap_or_default();
            }
            ("lasts", BlockKind::Interlude { lasts, .. }) => *lasts = number,
            ("say", BlockKind::Interlude { say, .. }) => *say = unescaped(rest),
            _ => {}
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
                return Err(self.wrong(
                    "only a ladder has rungs to add to",
                    "Begin the line with “-”.",
                ));
            }
            list.extend(entries);
            match lines.last_mut() {
                Some(at) => at.extend(new),
                None => lines.push(new),
            }
        } else {
            return Err(self.wrong(
                "an interlude has no moves",
                "Take the line out, or choose another kind.",
            ));
        }
        self.open = Open::Entry;
        Ok(())
    }

    fn entry(&self, text: &str) -> Result<Entry> {
        let (of, rest) = entry_of(trimmed(text), &self.plan.moves, &self.library.moves);
        if of.is_empty() {
            return Err(self.wrong(
                "an entry without a move",
                "Write the id or the name of a move after the sign.",
            ));
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
                "side" => entry.side = self.choice(true, &says)?,
                "sides" => entry.sides = self.choice(true, &says)?,
                "effort" => entry.effort = self.choice(true, &says)?,
                _ => {
                    return Err(self.unknown(
                        key,
                        "work, side, sides, reps, effort, or a comma and a further move",
                    ));
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
                    return Err(self.wrong(
                        format!("there is no move “{id}”"),
                        "Write a “move” with this id, or take one of the library's.",
                    ));
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
            self.wrong(
                format!("“{text}” is no whole number"),
                "Write seconds as 45 or 1:30.",
            )
        })
    }

    /// A slot is told in minutes everywhere else: a small number alone is no class of some seconds.
    fn slot(&self, text: &str) -> Result<u32> {
        let slot = self.number(text)?;
        if slot <= MINUTES && !text.contains(':') {
            return Err(self.wrong(
                format!("“slot {text}” would be {slot} seconds"),
                format!(
                    "Write minutes as {slot}:00, seconds as {}:{:02}.",
                    slot / 60,
                    slot % 60
                ),
            ));
        }
        Ok(slot)
    }

    fn numbers(&self, text: &str) -> Result<ByRound> {
        let list = words(text)
            .map(|one| self.number(one))
            .collect::<Result<Vec<_>>>()?;
        if list.is_empty() {
            return Err(self.wrong("a number is missing", "Write seconds as 45 or 1:30."));
        }
        Ok(ByRound(list))
    }

    fn choice<W: Word>(&self, wanted: bool, text: &str) -> Result<Option<W>> {
        if !wanted {
            return Ok(None);
        }
        W::from_word(text).map(Some).ok_or_else(|| {
            let known: Vec<_> = W::WORDS.iter().map(|(_, word)| *word).collect();
            self.wrong(
                format!("“{text}” is none of the words that stand here"),
                format!("Write one of: {}.", known.join(", ")),
            )
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
