//! A calendar entry, RFC 5545.

use core::fmt::Write as _;

/// What a calendar is told of a class. Instants are milliseconds from 1970, UTC: so an entry is right
/// in every zone and across every change of clocks.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'t> {
    /// Names the entry: one that comes again replaces the one before.
    pub uid: &'t str,
    /// What it is called.
    pub title: &'t str,
    /// A few words.
    pub about: &'t str,
    /// What to have at hand: the names of the kit.
    pub kit: &'t [&'t str],
    /// Where the class opens.
    pub address: &'t str,
    /// When the class starts.
    pub start: i64,
    /// How long it is, in milliseconds.
    pub lasts: i64,
    /// When the entry was made.
    pub made: i64,
}

/// Octets of a line before it is folded.
const LINE: usize = 75;

/// The entry as a calendar with one event.
///
/// ```
/// use rungbook::export::{Entry, calendar};
/// let text = calendar(&Entry {
///     uid: "lunch-1", title: "Lunch; class, two", about: "", kit: &["a mat"],
///     address: "https://example.org/#plan=AQx",
///     start: 1_795_608_000_000, lasts: 1_800_000, made: 0,
/// });
/// assert!(text.contains("DTSTART:20261125T120000Z\r\nDTEND:20261125T123000Z\r\n"));
/// assert!(text.contains("SUMMARY:Lunch\\; class\\, two\r\n"));
/// assert!(text.contains("DESCRIPTION:Kit: a mat\\nhttps:"));
/// ```
#[must_use]
pub fn calendar(entry: &Entry<'_>) -> String {
    let mut text = String::new();
    let kit = match entry.kit {
        [] => "Kit: none".to_owned(),
        kit => format!("Kit: {}", kit.join(", ")),
    };
    let parts = [entry.about, &kit, entry.address];
    let about = parts
        .map(str::trim)
        .into_iter()
        .filter(|part| !part.is_empty());
    let about = about.collect::<Vec<_>>().join("\n");
    for line in [
        "BEGIN:VCALENDAR".to_owned(),
        "VERSION:2.0".to_owned(),
        "PRODID:-//Rungbook//Rungbook//EN".to_owned(),
        "BEGIN:VEVENT".to_owned(),
        format!("UID:{}", escaped(entry.uid)),
        format!("DTSTAMP:{}", stamp(entry.made)),
        format!("DTSTART:{}", stamp(entry.start)),
        format!("DTEND:{}", stamp(entry.start + entry.lasts)),
        format!("SUMMARY:{}", escaped(entry.title)),
        format!("DESCRIPTION:{}", escaped(&about)),
        format!("URL:{}", entry.address),
        "END:VEVENT".to_owned(),
        "END:VCALENDAR".to_owned(),
    ] {
        fold(&line, &mut text);
    }
    text
}

/// A line of at most 75 octets, and what is left of it behind a space; never within a character.
fn fold(line: &str, text: &mut String) {
    let mut octets = 0;
    for letter in line.chars() {
        if octets + letter.len_utf8() > LINE {
            text.push_str("\r\n ");
            octets = 1;
        }
        text.push(letter);
        octets += letter.len_utf8();
    }
    text.push_str("\r\n");
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' | ';' | ',' => out.extend(['\\', letter]),
            '\n' => out.push_str("\\n"),
            '\r' => {}
            other => out.push(other),
        }
    }
    out
}

/// An instant in UTC, as `20261125T123000Z`.
fn stamp(ms: i64) -> String {
    let (days, second) = (ms.div_euclid(86_400_000), ms.rem_euclid(86_400_000) / 1000);
    let (year, month, day) = civil(days);
    let mut text = String::new();
    // Writing to a text does not fail.
    let _ = write!(
        text,
        "{year:04}{month:02}{day:02}T{:02}{:02}{:02}Z",
        second / 3600,
        second / 60 % 60,
        second % 60
    );
    text
}

/// The date of a day counted from 1970-01-01, in the proleptic Gregorian calendar: in years that
/// begin in March a leap day is the last, and 400 of them are 146,097 days.
fn civil(days: i64) -> (i64, i64, i64) {
    let days = days + 719_468;
    let (era, day) = (days.div_euclid(146_097), days.rem_euclid(146_097));
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day = day - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    (year + era * 400 + i64::from(month <= 2), month, day)
}
