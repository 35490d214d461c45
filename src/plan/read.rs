//! JSON -> plan. Only shapes are judged here (keys, types, words); what the parts mean together
//! is judged by `validate`, which also sees plans that came by link.

use serde_json::{Map, Value};

use super::error::{PlanError, Problem, Type, Warning};
use super::keys::{self, Form};
use super::limits::{self, Limit};
use super::model::{
    Block, BlockKind, ByRound, Choice, DEFAULT_READY, Entry, FORMAT, Id, Kit, Mark, Move, Plan,
    VERSION,
};
use super::words::Word;

type Result<T> = core::result::Result<T, PlanError>;

/// Reads a plan and what in it was not used.
pub(super) fn read(text: &str) -> Result<(Plan, Vec<Warning>)> {
    if text.len() > limits::FILE_BYTES {
        return Err(PlanError::over("", Limit::FileBytes, text.len() as u64));
    }
    // A byte-order mark is what some editors put first; it is no part of the JSON.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let value: Value = serde_json::from_str(text).map_err(|e| {
        let (line, column) = (e.line(), e.column());
        PlanError::new("", Problem::NotJson { line, column })
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

fn type_of(value: &Value) -> Type {
    match value {
        Value::Null => Type::Null,
        Value::Bool(_) => Type::Flag,
        Value::Number(_) => Type::Number,
        Value::String(_) => Type::Text,
        Value::Array(_) => Type::List,
        Value::Object(_) => Type::Object,
    }
}

fn wrong_type<T>(place: &str, wanted: Type, found: &Value) -> Result<T> {
    let found = type_of(found);
    Err(PlanError::new(place, Problem::Type { wanted, found }))
}

fn text(place: &str, value: Value) -> Result<String> {
    match value {
        Value::String(text) => Ok(text),
        other => wrong_type(place, Type::Text, &other),
    }
}

fn id(place: &str, value: Value) -> Result<Id> {
    text(place, value).map(Into::into)
}

/// A whole number from 0: seconds or a count.
fn whole(place: &str, value: &Value) -> Result<u32> {
    let Value::Number(number) = value else {
        return wrong_type(place, Type::Whole, value);
    };
    // JSON knows one kind of number: 20.0 is as whole as 20.
    let found = number.as_f64().unwrap_or(f64::NAN);
    if found.fract() == 0.0 && (0.0..=f64::from(u32::MAX)).contains(&found) {
        // In range and whole, so nothing is lost.
        Ok(found as u32)
    } else {
        let number = number.to_string();
        Err(PlanError::new(place, Problem::NotWhole { number }))
    }
}

fn flag(place: &str, value: Value) -> Result<bool> {
    match value {
        Value::Bool(flag) => Ok(flag),
        other => wrong_type(place, Type::Flag, &other),
    }
}

/// One of some words, by its place.
fn one_of(place: &str, value: Value, words: &'static [&'static str]) -> Result<u8> {
    let word = text(place, value)?;
    let at = words.iter().position(|known| *known == word);
    at.map(|at| at as u8).ok_or_else(|| {
        let word = shorten(&word);
        PlanError::new(place, Problem::NotAWord { word, words })
    })
}

fn by_round(place: &str, value: Value) -> Result<ByRound> {
    match value {
        Value::Array(list) if list.is_empty() => Err(PlanError::new(place, Problem::NoNumbers)),
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
        other => wrong_type(place, Type::List, &other),
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
            other => wrong_type(&place, Type::Object, &other),
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
        self.maybe(key, read)?.ok_or_else(|| missing(place, key))
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
        self.or(key, false, flag)
    }

    fn word<W: Word>(&mut self, key: &str) -> Result<Option<W>> {
        let at = self.maybe(key, |place, value| one_of(place, value, W::NAMES))?;
        Ok(at.and_then(W::from_index))
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
    let not_a_plan = |place: &str| PlanError::new(place, Problem::NotAPlan);
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
        let found = version;
        return Err(PlanError::new("version", Problem::Version { found }));
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
            .ok_or_else(|| missing("moves", "moves"))?,
        blocks: f
            .objects("blocks", block)?
            .ok_or_else(|| missing("blocks", "blocks"))?,
    };
    f.finish();
    Ok(plan)
}

fn missing(place: impl Into<String>, key: &str) -> PlanError {
    let key = key.to_owned();
    PlanError::new(place, Problem::Missing { key })
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
    let word = f.needed("kind", text)?;
    let kind = BlockKind::empty(&word).ok_or_else(|| {
        let word = shorten(&word);
        PlanError::new(f.at("kind"), Problem::NoSuchKind { word })
    })?;
    let mut block = Block::new(kind);
    for row in block.kind.rows() {
        if let Form::Entries = row.form {
            match &mut block.kind {
                BlockKind::Ladder { rungs: list, .. } => *list = rungs(f, row.word)?,
                BlockKind::Window { tasks: list, .. } => *list = tasks(f, row.word)?,
                kind => {
                    if let Some(list) = kind.list_mut() {
                        *list = f.entries(row.word)?;
                    }
                }
            }
            continue;
        }
        let read = |place: &str, value| block_value(place, value, row.form);
        let value = if row.needed {
            Some(f.needed(row.word, read)?)
        } else {
            f.maybe(row.word, read)?
        };
        if let Some(value) = value {
            block.put(row.key, value);
        }
    }
    Ok(block)
}

/// What a key of a block says.
fn block_value(place: &str, value: Value, form: Form) -> Result<keys::Value> {
    Ok(match form {
        Form::Text => keys::Value::Text(text(place, value)?),
        Form::Flag => keys::Value::Flag(flag(place, value)?),
        Form::Number(_) => keys::Value::Number(whole(place, &value)?),
        Form::Numbers => keys::Value::Numbers(by_round(place, value)?),
        Form::Word(words, _) => keys::Value::Word(one_of(place, value, words)?),
        Form::Entries => keys::Value::Entries,
    })
}

fn rungs(f: &mut Fields<'_>, key: &str) -> Result<Vec<Vec<Entry>>> {
    let value = f.needed(key, |_, value| Ok(value))?;
    let place = f.at(key);
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

fn tasks(f: &mut Fields<'_>, key: &str) -> Result<Vec<Entry>> {
    let tasks = f.entries(key)?;
    let of_tasks = |(i, task): (usize, Entry)| {
        for (spare, _) in keys::not_of_tasks(&task).iter().filter(|(_, said)| *said) {
            f.warnings.push(Warning {
                place: format!("{}[{i}].{spare}", f.at(key)),
                problem: "the tasks of a window take no such key; it is not kept".to_owned(),
            });
        }
        keys::as_task(task)
    };
    Ok(tasks.into_iter().enumerate().map(of_tasks).collect())
}

fn entry(place: String, value: Value, warnings: &mut Vec<Warning>) -> Result<Entry> {
    if let Value::String(of) = value {
        return Ok(Entry::of(&of));
    }
    if !value.is_object() {
        return wrong_type(&place, Type::Entry, &value);
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
