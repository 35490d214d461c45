//! Words and numbers as they are shown.

use leptos::prelude::*;
use wasm_bindgen::JsValue;

use crate::plan::{Choice, Entry, Hand, Move, Plan, Position, Word as _, is_blank, isolated};
use crate::run::Away;
pub use crate::timeline::length_in_words as length;
use crate::timeline::{Segment, SegmentKind, Timeline, Ways, kit_to_fetch};

/// A text, or another where it is blank.
pub fn or(text: &str, instead: &str) -> String {
    if is_blank(text) { instead } else { text }.to_owned()
}

/// What a class is called.
pub fn title(plan: &Plan) -> String {
    or(&plan.title, "Untitled class")
}

/// Minutes and seconds, as `12:05`.
pub fn clock(ms: i64) -> String {
    let seconds = (ms + 500) / 1000;
    format!("{}:{:02}", seconds / 60, seconds % 60)
}

/// What the button says that resumes a class where it was left.
pub fn resume(class_ms: i64) -> String {
    if class_ms < 0 {
        return "Resume".to_owned();
    }
    format!("Resume at {}", clock(class_ms))
}

/// How long the phone was away, and from where in the class on.
pub fn away(timeline: &Timeline, away: &Away) -> String {
    let name = timeline
        .at(away.class_ms)
        .and_then(|segment| timeline.name_of(segment, &Ways::new()))
        .map(|name| isolated(&name));
    let from = name.unwrap_or_else(|| clock(away.class_ms));
    let long = length((away.to - away.from + 500) / 1_000 * 1_000);
    format!(
        "The phone was asleep or away for {long}, from {from} on. None of that counts as worked until you say so."
    )
}

/// Reads minutes and seconds, as `12:05` or `1:02:05`, as seconds.
pub fn read_clock(text: &str) -> Option<i64> {
    let mut seconds = 0_i64;
    for (at, part) in text.trim().split(':').enumerate() {
        let part: i64 = part.parse::<u16>().ok()?.into();
        // Behind a colon there are no more than 59.
        if at > 0 && part > 59 {
            return None;
        }
        seconds = seconds.checked_mul(60)?.checked_add(part)?;
    }
    Some(seconds)
}

/// A wait as the largest thing on the screen: by the second where it is short, else by the hour or day.
pub fn wait(seconds: i64) -> String {
    match (seconds / 86_400, seconds / 3_600) {
        (0, 0) if seconds < 100 => seconds.to_string(),
        (0, 0) => format!("{}:{:02}", seconds / 60, seconds % 60),
        (0, hours) => format!("{hours} h"),
        (days, _) => format!("{days} d"),
    }
}

/// The seconds left of a segment in minutes and seconds, as `1:40`, where it is longer than 99 s and a
/// minute or more is left of it; else the seconds are told as such.
pub fn in_minutes(len_ms: i64, seconds: i64) -> Option<String> {
    let long = len_ms > 99_000 && seconds >= 60;
    long.then(|| format!("{}:{:02}", seconds / 60, seconds % 60))
}

/// The date of an instant, in the phone's own zone.
fn date(instant_ms: i64) -> js_sys::Date {
    js_sys::Date::new(&JsValue::from_f64(instant_ms as f64))
}

/// The parts of a date in their forms, in the words of the phone's own language.
fn in_words(date: &js_sys::Date, parts: &[(&str, &str)]) -> String {
    let options = js_sys::Object::new();
    for (part, form) in parts {
        // A plain object takes any field.
        let _ = js_sys::Reflect::set(&options, &(*part).into(), &(*form).into());
    }
    date.to_locale_string("default", &options).into()
}

/// The time of day of an instant, in the words of the phone's own language.
pub fn time(instant_ms: i64) -> String {
    let parts = [("hour", "2-digit"), ("minute", "2-digit")];
    in_words(&date(instant_ms), &parts)
}

/// A day, in the words of the phone's own language.
pub fn day(instant_ms: i64) -> String {
    let words = date(instant_ms).to_locale_date_string("default", &js_sys::Object::new());
    words.into()
}

/// The Monday of an instant's week, at the start of its day in the phone's own zone.
pub fn monday(instant_ms: i64) -> i64 {
    let day = date(instant_ms);
    let since = (day.get_day() + 6) % 7;
    // From noon to noon: where clocks change, a day has 23 or 25 hours.
    day.set_hours(12);
    let monday = date(day.get_time() as i64 - i64::from(since) * 86_400_000);
    monday.set_hours(0);
    monday.set_minutes(0);
    monday.set_seconds(0);
    monday.set_milliseconds(0);
    monday.get_time() as i64
}

/// An instant with its day and its zone, in the words of the phone's own language.
pub fn instant(instant_ms: i64) -> String {
    let date = date(instant_ms);
    let parts = [
        ("weekday", "short"),
        ("day", "numeric"),
        ("month", "short"),
        ("hour", "2-digit"),
        ("minute", "2-digit"),
        ("timeZoneName", "short"),
        ("year", "numeric"),
    ];
    // A year that is not this one would not be looked for.
    let this_year = date.get_full_year() == js_sys::Date::new_0().get_full_year();
    in_words(&date, &parts[..parts.len() - usize::from(this_year)])
}

pub fn phase(kind: SegmentKind) -> &'static str {
    match kind {
        SegmentKind::Ready => "Get ready",
        SegmentKind::Work => "Work",
        SegmentKind::Rest => "Rest",
        SegmentKind::Change => "Change sides",
        SegmentKind::Break => "Break",
        SegmentKind::Demo => "Demo",
        SegmentKind::Interlude => "Interlude",
    }
}

pub fn part(part: crate::plan::Part) -> &'static str {
    use crate::plan::Part;
    match part {
        Part::WarmUp => "Warm-up",
        Part::Main => "Main part",
        Part::Finisher => "Finisher",
        Part::CoolDown => "Cool-down",
    }
}

/// What a block is called: by its part where it has no name.
pub fn block(block: &crate::plan::Block) -> String {
    or(&block.name, part(block.part))
}

pub fn position(position: Position) -> &'static str {
    match position {
        Position::Standing => "standing",
        Position::Seated => "seated",
        Position::Kneeling => "kneeling",
        Position::Floor => "on the floor",
    }
}

/// Sides in the order in which they are worked.
pub fn hands(hands: &[Hand]) -> String {
    let words: Vec<_> = hands.iter().map(|hand| hand.word()).collect();
    words.join(", then ")
}

pub fn move_name(known: &Move) -> String {
    known.called().to_owned()
}

/// The tasks of a window with their counts in one of its times, as `12 × Squat`.
pub fn tasks(timeline: &Timeline, tasks: &[Entry], turn: u32) -> Vec<String> {
    let plan = timeline.plan();
    let told = |task: &Entry| {
        let name = isolated(&move_name(plan.move_named(&task.of)?));
        Some(match task.reps.at(turn) {
            0 => name,
            reps => format!("{reps} × {name}"),
        })
    };
    tasks.iter().filter_map(told).collect()
}

/// The kit to fetch in a gap, while there is time to.
pub fn fetch(timeline: &Timeline, segment: &Segment, ways: &Ways) -> Option<String> {
    let gap = timeline.index_at(segment.start_ms)?;
    let work = timeline.next_work(gap).filter(|work| *work != gap)?;
    let kit = kit_to_fetch(timeline, ways, work);
    let kit: Vec<_> = kit.iter().map(|name| isolated(name)).collect();
    (!kit.is_empty()).then(|| kit.join(", "))
}

pub fn option_name(option: &Choice) -> String {
    option.called().to_owned()
}

/// A count with its word.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

pub fn set_title(title: &str) {
    document().set_title(&format!("{title} · Rungbook"));
}
