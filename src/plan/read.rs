//! JSON -> plan. Only shapes are judged here (keys, types, words); what the parts mean together
//! is judged by `validate`, which also sees plans that came by link.

use serde_json::{Map, Value};

use super::error::{PlanError, Warning};
use super::limits;
use super::model::{
    Block, BlockKind, ByRound, Choice, DEFAULT_READY, Entry, FORMAT, Id, Kit, Mark, Move, Plan,
    VERSION,
};
use super::words::Word;

type Result<T> = core::result::Result<T, PlanError>;

/// Reads a plan and what in it was not used.
pub(super) fn read(text: &str) -> Result<(Plan, Vec<Warning>)> {
    if text.len() > limits::FILE_BYTES {
        return Err(PlanError::over(
            "",
            "bytes in the file",
            text.len(),
            limits::FILE_BYTES,
        ));
    }
    // A byte-order mark is what some editors put first; it is no part of the JSON.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let value: Value = serde_json::from_str(text).map_err(|e| {
        PlanError::new(
            "",
            format!(
                "this is not complete JSON (line {}, column {})",
                e.line(),
                e.column()
            ),
            "Check the brackets, quotes and commas there, or ask for the file again.",
        )
    })?;
    let mut warnings = Vec::new();
    let plan = plan(value, &mut warnings)?;
    Ok((plan, warnings))
}

/// An object being read: keys are taken out as they are understood, and what is left is unknown.
struct Fields<'w> {
    map: Map<String, Value>,
    place: String,
    warnings: &'w mut Vec<Warning>,
}

fn kind_of(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "a text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}

fn wrong_type<T>(place: &str, wanted: &str, found: &Value) -> Result<T> {
    Err(PlanError::new(
        place,
        format!("this must be {wanted}, not {}", kind_of(found)),
        format!("Write {wanted} here."),
    ))
}

fn text(place: &str, value: Value) -> Result<String> {
    match value {
        Value::String(text) => Ok(text),
        other => wrong_type(place, "a text", &other),
    }
}

fn id(place: &str, value: Value) -> Result<Id> {
    text(place, value).map(Into::into)
}

/// A whole number from 0: seconds or a count.
fn whole(place: &str, value: &Value) -> Result<u32> {
    let Value::Number(number) = value else {
        return wrong_type(place, "a whole number of seconds, or a whole count", value);
    };
    // JSON knows one kind of number: 20.0 is as whole as 20.
    let found = number.as_f64().unwrap_or(f64::NAN);
    if found.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&found) {
        // In range and whole, so nothing is lost.
        Ok(found as u32)
    } else {
        Err(PlanError::new(
            place,
            format!("{number} is not a whole number of seconds, rounds or the like"),
            "Write a whole number, 0 or more.",
        ))
    }
}

fn by_round(place: &str, value: Value) -> Result<ByRound> {
    match value {
        Value::Array(list) if list.is_empty() => Err(PlanError::new(
            place,
            "this list is empty",
            "Write a number, or a list of at least one.",
        )),
        Value::Array(list) => list
            .iter()
            .enumerate()
            .map(|(i, item)| whole(&format!("{place}[{i}]"), item))
            .collect::<Result<_>>()
            .map(ByRound),
        one => whole(place, &one).map(ByRound::from),
    }
}

fn items(place: &str, value: Value) -> Result<Vec<(String, Value)>> {
    match value {
        Value::Array(list) => Ok(list
            .into_iter()
            .enumerate()
            .map(|(i, item)| (format!("{place}[{i}]"), item))
            .collect()),
        other => wrong_type(place, "a list", &other),
    }
}

impl<'w> Fields<'w> {
    fn new(place: String, value: Value, warnings: &'w mut Vec<Warning>) -> Result<Self> {
        match value {
            Value::Object(map) => Ok(Fields {
                map,
                place,
                warnings,
            }),
            other => wrong_type(&place, "an object", &other),
        }
    }

    fn at(&self, key: &str) -> String {
        if self.place.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.place)
        }
    }

    /// Takes a key out and reads it; `None` where it was left out.
    fn maybe<T>(
        &mut self,
        key: &str,
        read: impl FnOnce(&str, Value) -> Result<T>,
    ) -> Result<Option<T>> {
        match self.map.remove(key) {
            None => Ok(None),
            Some(value) => read(&self.at(key), value).map(Some),
        }
    }

    fn or<T>(
        &mut self,
        key: &str,
        default: T,
        read: impl FnOnce(&str, Value) -> Result<T>,
    ) -> Result<T> {
        Ok(self.maybe(key, read)?.unwrap_or(default))
    }

    fn needed<T>(&mut self, key: &str, read: impl FnOnce(&str, Value) -> Result<T>) -> Result<T> {
        let place = self.at(key);
        self.maybe(key, read)?.ok_or_else(|| {
            PlanError::new(
                place,
                format!("“{key}” is missing"),
                match key {
                    "say" => "Write what is said, or \"\" for nothing.".to_owned(),
                    _ => format!("Add “{key}”."),
                },
            )
        })
    }

    fn text(&mut self, key: &str) -> Result<String> {
        self.or(key, String::new(), text)
    }

    fn number(&mut self, key: &str, default: u32) -> Result<u32> {
        self.or(key, default, |place, value| whole(place, &value))
    }

    fn numbers(&mut self, key: &str) -> Result<ByRound> {
        self.or(key, ByRound::default(), by_round)
    }

    fn flag(&mut self, key: &str) -> Result<bool> {
        self.or(key, false, |place, value| match value {
            Value::Bool(flag) => Ok(flag),
            other => wrong_type(place, "true or false", &other),
        })
    }

    fn word<W: Word>(&mut self, key: &str) -> Result<Option<W>> {
        self.maybe(key, |place, value| {
            let word = text(place, value)?;
            W::from_word(&word).ok_or_else(|| {
                let known: Vec<_> = W::WORDS.iter().map(|(_, word)| *word).collect();
                PlanError::new(
                    place,
                    format!("“{}” is not one of the words for this", shorten(&word)),
                    format!("Use one of: {}.", known.join(", ")),
                )
            })
        })
    }

    fn word_or_default<W: Word + Default>(&mut self, key: &str) -> Result<W> {
        Ok(self.word(key)?.unwrap_or_default())
    }

    fn texts(&mut self, key: &str) -> Result<Vec<String>> {
        self.or(key, Vec::new(), |place, value| {
            items(place, value)?
                .into_iter()
                .map(|(place, item)| text(&place, item))
                .collect()
        })
    }

    fn ids(&mut self, key: &str) -> Result<Vec<Id>> {
        self.or(key, Vec::new(), |place, value| {
            items(place, value)?
                .into_iter()
                .map(|(place, item)| id(&place, item))
                .collect()
        })
    }

    /// A list of objects, each read by `one`, which says what it did not use.
    fn objects<T>(
        &mut self,
        key: &str,
        one: impl Fn(&mut Fields<'_>) -> Result<T>,
    ) -> Result<Option<Vec<T>>> {
        let Some(value) = self.map.remove(key) else {
            return Ok(None);
        };
        let place = self.at(key);
        items(&place, value)?
            .into_iter()
            .map(|(place, item)| {
                let mut fields = Fields::new(place, item, self.warnings)?;
                let read = one(&mut fields)?;
                fields.finish();
                Ok(read)
            })
            .collect::<Result<_>>()
            .map(Some)
    }

    fn entries(&mut self, key: &str) -> Result<Vec<Entry>> {
        let value = self.needed(key, |_, value| Ok(value))?;
        let place = self.at(key);
        items(&place, value)?
            .into_iter()
            .map(|(place, item)| entry(place, item, self.warnings))
            .collect()
    }

    fn finish(self) {
        for key in self.map.keys() {
            self.warnings.push(Warning {
                place: if self.place.is_empty() {
                    shorten(key)
                } else {
                    format!("{}.{}", self.place, shorten(key))
                },
                problem: "this key is not known here and is not kept".to_owned(),
            });
        }
    }
}

/// Keeps a message readable, whatever was in the file.
pub(super) fn shorten(text: &str) -> String {
    const MOST: usize = 40;
    if text.chars().count() <= MOST {
        text.to_owned()
    } else {
        text.chars().take(MOST - 1).chain(['…']).collect()
    }
}

fn plan(value: Value, warnings: &mut Vec<Warning>) -> Result<Plan> {
    let not_a_plan = |place: &str| {
        PlanError::new(
            place,
            format!(
                "this is not a Rungbook plan (its “format” is not “{}”)",
                FORMAT
            ),
            "Choose a plan file, or ask the coach for the link again.",
        )
    };
    if !value.is_object() {
        return Err(not_a_plan(""));
    }
    let mut f = Fields::new(String::new(), value, warnings)?;
    match f.maybe("format", text) {
        Ok(Some(format)) if format == FORMAT => {}
        _ => return Err(not_a_plan("format")),
    }
    let version = f.needed("version", |place, value| whole(place, &value))?;
    if version != VERSION {
        let newer = version > VERSION;
        return Err(PlanError::new(
            "version",
            format!(
                "this plan is of version {version}; this app reads version {}",
                VERSION
            ),
            if newer {
                "Update the app: the plan was written with a newer version."
            } else {
                "Write \"version\": 1."
            },
        ));
    }
    let plan = Plan {
        id: f.text("id")?,
        revision: f.number("revision", 0)?,
        title: f.needed("title", text)?,
        coach: f.text("coach")?,
        about: f.text("about")?,
        recording: f.maybe("recording", |place, value| whole(place, &value))?,
        slot: f.maybe("slot", |place, value| whole(place, &value))?,
        ready: f.number("ready", DEFAULT_READY)?,
        kit: f.objects("kit", kit)?.unwrap_or_default(),
        moves: f
            .objects("moves", a_move)?
            .ok_or_else(|| missing("moves"))?,
        blocks: f
            .objects("blocks", block)?
            .ok_or_else(|| missing("blocks"))?,
    };
    f.finish();
    Ok(plan)
}

fn missing(key: &str) -> PlanError {
    PlanError::new(key, format!("“{key}” is missing"), format!("Add “{key}”."))
}

fn kit(f: &mut Fields<'_>) -> Result<Kit> {
    Ok(Kit {
        id: f.needed("id", id)?,
        name: f.text("name")?,
        instead: f.texts("instead")?,
    })
}

fn a_move(f: &mut Fields<'_>) -> Result<Move> {
    Ok(Move {
        id: f.needed("id", id)?,
        name: f.needed("name", text)?,
        kit: f.ids("kit")?,
        sided: f.flag("sided")?,
        pattern: f.word("pattern")?,
        effort: f.word_or_default("effort")?,
        position: f.word_or_default("position")?,
        impact: f.word_or_default("impact")?,
        demo: f.number("demo", 0)?,
        how: f.text("how")?,
        notes: f.texts("notes")?,
        caution: f.text("caution")?,
        options: f.objects("options", choice)?.unwrap_or_default(),
    })
}

fn choice(f: &mut Fields<'_>) -> Result<Choice> {
    Ok(Choice {
        id: f.needed("id", id)?,
        level: f.word_or_default("level")?,
        name: f.text("name")?,
        notes: f.texts("notes")?,
        kit: f.ids("kit")?,
        switch_at_half: f.flag("switch_at_half")?,
    })
}

fn block(f: &mut Fields<'_>) -> Result<Block> {
    const KINDS: &str = "flow, rounds, ladder, sets, window, interlude";
    let word = f.needed("kind", text)?;
    let kind = match word.as_str() {
        "flow" => BlockKind::Flow {
            steps: f.entries("steps")?,
        },
        "rounds" => BlockKind::Rounds {
            moves: f.entries("moves")?,
            rounds: f.number("rounds", 1)?,
        },
        "ladder" => BlockKind::Ladder {
            rungs: rungs(f)?,
            direction: f.word_or_default("direction")?,
        },
        "sets" => BlockKind::Sets {
            moves: f.entries("moves")?,
            sets: f.number("sets", 1)?,
        },
        "window" => BlockKind::Window {
            tasks: tasks(f)?,
            times: f.number("times", 1)?,
        },
        "interlude" => BlockKind::Interlude {
            lasts: f.needed("lasts", |place, value| whole(place, &value))?,
            say: f.needed("say", text)?,
        },
        _ => {
            return Err(PlanError::new(
                f.at("kind"),
                format!("there is no kind of block “{}”", shorten(&word)),
                format!("Use one of: {KINDS}."),
            ));
        }
    };
    let mut block = Block::new(kind);
    block.name = f.text("name")?;
    block.part = f.word_or_default("part")?;
    block.after = f.number("after", 0)?;
    block.held = f.flag("held")?;
    if !matches!(block.kind, BlockKind::Interlude { .. }) {
        block.work = f.numbers("work")?;
        block.rest = f.numbers("rest")?;
    }
    if block.has_breaks() {
        block.pause = f.numbers("break")?;
    }
    if block.has_sides() {
        block.sides = f.word_or_default("sides")?;
        block.change = f.number("change", 0)?;
        block.first_side = f.word_or_default("first_side")?;
    }
    Ok(block)
}

fn rungs(f: &mut Fields<'_>) -> Result<Vec<Vec<Entry>>> {
    let value = f.needed("rungs", |_, value| Ok(value))?;
    let place = f.at("rungs");
    items(&place, value)?
        .into_iter()
        .map(|(place, rung)| {
            items(&place, rung)?
                .into_iter()
                .map(|(place, item)| entry(place, item, f.warnings))
                .collect()
        })
        .collect()
}

/// The tasks of a window are done together, so that nothing of them has a time or a side.
fn tasks(f: &mut Fields<'_>) -> Result<Vec<Entry>> {
    let mut tasks = f.entries("tasks")?;
    for (i, task) in tasks.iter_mut().enumerate() {
        let spare = Entry {
            of: task.of.clone(),
            reps: task.reps.clone(),
            effort: task.effort,
            notes: core::mem::take(&mut task.notes),
            ..Entry::default()
        };
        let dropped = [
            ("work", !task.work.is_empty()),
            ("side", task.side.is_some()),
            ("sides", task.sides.is_some()),
            ("marks", !task.marks.is_empty()),
        ];
        for (key, _) in dropped.iter().filter(|(_, present)| *present) {
            f.warnings.push(Warning {
                place: format!("{}[{i}].{key}", f.at("tasks")),
                problem: "the tasks of a window take no such key; it is not kept".to_owned(),
            });
        }
        *task = spare;
    }
    Ok(tasks)
}

fn entry(place: String, value: Value, warnings: &mut Vec<Warning>) -> Result<Entry> {
    if let Value::String(of) = value {
        return Ok(Entry::of(&of));
    }
    if !value.is_object() {
        return wrong_type(&place, "a move's id or an object", &value);
    }
    let mut f = Fields::new(place, value, warnings)?;
    let entry = Entry {
        of: f.needed("move", id)?,
        work: f.numbers("work")?,
        side: f.word("side")?,
        sides: f.word("sides")?,
        reps: f.numbers("reps")?,
        effort: f.word("effort")?,
        notes: f.texts("notes")?,
        marks: f.objects("marks", mark)?.unwrap_or_default(),
    };
    f.finish();
    Ok(entry)
}

fn mark(f: &mut Fields<'_>) -> Result<Mark> {
    Ok(Mark {
        at: f.needed("at", |place, value| whole(place, &value))?,
        say: f.needed("say", text)?,
    })
}
