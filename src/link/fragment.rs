//! The part of the app's address after `#`: `plan=`, and further fields behind `&`; and such an address
//! found again in what a message made of it.

use super::head::{HEAD_CHARS, is_sound, sent_chars};
use crate::plan::is_invisible;

/// Who passes a link on may encode it once more: so often it is undone.
const TIMES: usize = 3;

/// What an address carries for the app.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Fragment {
    /// The link text of a plan.
    pub plan: Option<String>,
    /// The start of time 0, as an RFC 3339 instant.
    pub at: Option<String>,
}

impl Fragment {
    /// Reads the fields of an address, of its fragment, or of a bare link text.
    ///
    /// ```
    /// use rungbook::link::Fragment;
    /// let found = Fragment::read("https://example.org/hall/#plan=AQx&at=2026-11-25T12%3A30%3A00Z");
    /// assert_eq!(found.plan.as_deref(), Some("AQx"));
    /// assert_eq!(found.at.as_deref(), Some("2026-11-25T12:30:00Z"));
    /// let pasted = "Friday: https://example.org/hall/#plan=AQx. See you there!";
    /// assert_eq!(Fragment::read(pasted).plan.as_deref(), Some("AQx"));
    /// assert_eq!(Fragment::read("AQx").plan.as_deref(), Some("AQx"));
    /// assert_eq!(Fragment::read("https://example.org/").plan, None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Fragment {
        let text = &plain(text);
        let Some(at) = marker(text) else {
            return Fragment::bare(text);
        };
        // A message around the link is left out.
        let before = text[..at].rsplit(char::is_whitespace).next();
        let link = &text[at - before.map_or(0, str::len)..];
        let first = link.split_whitespace().next().unwrap_or_default();
        let mut found = Fragment::near(first, first.len() < text.trim().len());
        // A mail breaks long lines: what is missing stands on the next ones.
        let whole = found.plan.as_deref().is_none_or(is_whole);
        let timed = found.at.as_deref().is_some_and(is_instant);
        if first.len() < link.len() && !(whole && timed) {
            // A field of one line has made spaces of its breaks.
            let words = link
                .split_whitespace()
                .filter(|word| !word.starts_with('>'));
            let (lines, words) = (joined(link), words.collect::<String>());
            let far = lines.split_whitespace().next().unwrap_or_default();
            for far in [far, &words] {
                let far = Fragment::near(far, true);
                if !whole && far.plan.as_deref().is_some_and(is_sound) {
                    found.plan.clone_from(&far.plan);
                }
                // Another link's start is not this one's.
                if found.plan == far.plan {
                    found.at = far.at.filter(|at| is_instant(at)).or(found.at);
                }
            }
        }
        found
    }

    /// What was pasted without its address, and is not an address itself.
    fn bare(text: &str) -> Fragment {
        let text = ended(text.trim());
        let fields = text.split_once('#').map_or(text, |(_, fields)| fields);
        let mut found = Fragment::fields(fields, false);
        let bare =
            found.plan.is_none() && !fields.is_empty() && !fields.contains(['/', ':', '=', '.']);
        if bare {
            found.plan = Some(only(fields));
        }
        found
    }

    /// The fields of an address that stands in one piece, alone or in a message.
    fn near(link: &str, in_message: bool) -> Fragment {
        let link = ended(link);
        let fields = link.split_once('#').map_or(link, |(_, fields)| fields);
        Fragment::fields(fields, in_message)
    }

    fn fields(fields: &str, in_message: bool) -> Fragment {
        let fields = unpaged(fields);
        let mut found = Fragment::default();
        // In a message the next word may follow without a space: it belongs to no field. An address that
        // is too long by itself was changed, which the link's own reading tells.
        let mut glued = false;
        for field in fields.split('&') {
            match field.split_once('=') {
                Some(("plan", value)) if found.plan.is_none() => {
                    let mut plan = only(&unescape(value));
                    let sent = sent_chars(&plan).unwrap_or(usize::MAX);
                    let behind = plan.get(sent..).unwrap_or_default();
                    if !behind.is_empty() && (in_message || !behind.chars().all(is_link_char)) {
                        plan.truncate(sent);
                        glued = true;
                    }
                    found.plan = Some(plan);
                }
                Some(("at", value)) if found.at.is_none() && !glued => {
                    found.at = Some(timely(unescape(value)));
                }
                _ => {}
            }
        }
        found
    }
}

/// Where an address says its plan.
fn marker(text: &str) -> Option<usize> {
    let marks = ["#plan=", "&plan="].map(|mark| text.find(mark));
    marks.into_iter().flatten().min()
}

/// A text as it was before messages and pages wrote it for themselves: nothing in it that nobody sees,
/// no percent-encoding around a whole address, `&amp;` as `&`, and the marker of a plan in one piece.
fn plain(text: &str) -> String {
    let mut text: String = text.chars().filter(|c| !is_invisible(*c)).collect();
    for _ in 0..TIMES {
        text = unpaged(&text);
        if marker(&text).is_some() {
            return text;
        }
        // The lines of an address that is broken within the marker, or that was encoded before.
        for other in [joined(&text), unescape(&text), unescape(&joined(&text))] {
            let other = unpaged(&other);
            if marker(&other).is_some() {
                return other;
            }
        }
        text = unescape(&text);
    }
    text
}

/// `&` as it was before it was written into a page, once or more often.
fn unpaged(text: &str) -> String {
    let mut text = text.to_owned();
    for _ in 0..TIMES {
        text = text.replace("&amp;", "&");
    }
    text
}

/// Lines put together again, without the marks of a quotation.
fn joined(text: &str) -> String {
    let lines = text.split(['\n', '\r']);
    let lines = lines.map(|line| line.trim_start_matches(['>', ' ', '\t']).trim_end());
    lines.collect()
}

/// A link without what ends the sentence that it stands in.
fn ended(link: &str) -> &str {
    link.trim_end_matches([
        '.', ',', ';', ':', '!', '?', ')', ']', '>', '"', '\'', '”', '»',
    ])
}

fn is_link_char(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '-' | '_')
}

/// A link text without white space and what nobody sees.
pub(super) fn only(text: &str) -> String {
    let seen = |c: &char| !c.is_whitespace() && !is_invisible(*c);
    text.chars().filter(seen).collect()
}

/// Whether all of a link text came, as far as it tells how long it is.
fn is_whole(plan: &str) -> bool {
    plan.len() >= sent_chars(plan).unwrap_or(HEAD_CHARS)
}

/// An instant without what follows it without a space; what is none stays as it is.
fn timely(text: String) -> String {
    /// More than any instant with a fraction of a second that means something.
    const MOST: usize = 64;
    let ends = (0..=MOST.min(text.len())).rev();
    let mut starts = ends.filter_map(|end| text.get(..end));
    match starts.find(|start| is_instant(start)) {
        Some(instant) => instant.to_owned(),
        None => text,
    }
}

/// The address of a plan: an app's address without fragment, the link text, and the RFC 3339
/// instant of time 0 where the class has one.
///
/// ```
/// use rungbook::link::join;
/// let app = "https://example.org/hall/";
/// assert_eq!(join(app, "AQx", None), "https://example.org/hall/#plan=AQx");
/// assert_eq!(
///     join(app, "AQx", Some("2026-11-25T12:30:00Z")),
///     "https://example.org/hall/#plan=AQx&at=2026-11-25T12:30:00Z"
/// );
/// ```
#[must_use]
pub fn join(app: &str, plan: &str, at: Option<&str>) -> String {
    let app = app.split('#').next().unwrap_or_default();
    // A plus of an offset would be read as a space by some messengers.
    let at = at.map_or_else(String::new, |at| format!("&at={}", at.replace('+', "%2B")));
    format!("{app}#plan={plan}{at}")
}

/// Whether a text is an RFC 3339 instant; see [`instant`].
#[must_use]
pub fn is_instant(text: &str) -> bool {
    instant(text).is_some()
}

/// The instant that a text names (RFC 3339, section 5.6: a date, a time, an offset), in milliseconds
/// from 1970, UTC. Fractions of a millisecond are dropped; a leap second is the second after it.
///
/// ```
/// use rungbook::link::instant;
/// // Of RFC 3339, section 5.8: the first two are one instant.
/// assert_eq!(instant("1996-12-19T16:39:57-08:00"), instant("1996-12-20T00:39:57Z"));
/// assert_eq!(instant("1985-04-12T23:20:50.52Z"), Some(482_196_050_520));
/// assert_eq!(instant("2026-11-25t12:30:00z"), Some(1_795_609_800_000));
/// for text in ["2026-02-30T12:00:00Z", "2026-11-25", "2026-11-25T12:30:00", "noon", ""] {
///     assert_eq!(instant(text), None, "{text}");
/// }
/// ```
#[must_use]
pub fn instant(text: &str) -> Option<i64> {
    let (date, offset) = shaped(text, "0000-00-00T00:00:00")?;
    let number = |from: usize, to: usize| date.get(from..to)?.parse::<i64>().ok();
    let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
    let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
    let fits = (1..=days_in(year, month)?).contains(&day) && hour < 24 && minute < 60;
    if !fits || second > 60 {
        return None;
    }
    let (fraction_ms, offset) = match offset.strip_prefix('.') {
        None => (0, offset),
        Some(fraction) => {
            let offset = fraction.trim_start_matches(|digit: char| digit.is_ascii_digit());
            let digits = &fraction[..fraction.len() - offset.len()];
            if digits.is_empty() {
                return None;
            }
            let ms = digits.bytes().chain([b'0'; 3]).take(3);
            let ms = ms.fold(0, |ms, digit| ms * 10 + i64::from(digit - b'0'));
            (ms, offset)
        }
    };
    let east_minutes = if offset.eq_ignore_ascii_case("z") {
        0
    } else {
        let (offset, "") = shaped(offset, "+00:00")? else {
            return None;
        };
        let number = |from: usize, to: usize| offset.get(from..to)?.parse::<i64>().ok();
        let (hours, minutes) = (number(1, 3)?, number(4, 6)?);
        if hours > 23 || minutes > 59 {
            return None;
        }
        let sign = if offset.starts_with('-') { -1 } else { 1 };
        sign * (hours * 60 + minutes)
    };
    let minutes = (days_from_1970(year, month, day) * 24 + hour) * 60 + minute - east_minutes;
    // Leap seconds end a day of UTC.
    if second == 60 && (minutes + 1) % (24 * 60) != 0 {
        return None;
    }
    Some((minutes * 60 + second) * 1_000 + fraction_ms)
}

/// A text that begins with a shape, as that and the rest. In the shape a 0 is any digit, T also t, and +
/// also -.
fn shaped<'t>(text: &'t str, shape: &str) -> Option<(&'t str, &'t str)> {
    let (start, rest) = text.split_at_checked(shape.len())?;
    let fits = start
        .bytes()
        .zip(shape.bytes())
        .all(|(byte, like)| match like {
            b'0' => byte.is_ascii_digit(),
            b'T' => byte.eq_ignore_ascii_case(&b'T'),
            b'+' => matches!(byte, b'+' | b'-'),
            like => byte == like,
        });
    fits.then_some((start, rest))
}

/// Days of a month, from 1 to 12, of the Gregorian calendar (RFC 3339, section 5.7 and appendix C).
fn days_in(year: i64, month: i64) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        2 => Some(28 + i64::from(leap)),
        4 | 6 | 9 | 11 => Some(30),
        1..=12 => Some(31),
        _ => None,
    }
}

/// Days from the first of January 1970 to a day.
fn days_from_1970(year: i64, month: i64, day: i64) -> i64 {
    // Counted in years that begin in March, so that a leap day is the last of its year; 719,468 days
    // lie between the first of March of year 0 and 1970.
    let (year, month) = if month > 2 {
        (year, month - 3)
    } else {
        (year - 1, month + 9)
    };
    let leap_days = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    year * 365 + leap_days + (month * 153 + 2) / 5 + day - 1 - 719_468
}

/// Percent-encoding undone, as far as it is right; messengers add it where none is needed.
fn unescape(text: &str) -> String {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes();
    while let Some((first, behind)) = rest.split_first() {
        let escaped = behind
            .get(..2)
            .filter(|_| *first == b'%')
            .and_then(|hex| core::str::from_utf8(hex).ok())
            .and_then(|hex| u8::from_str_radix(hex, 16).ok());
        match escaped {
            Some(byte) => {
                bytes.push(byte);
                rest = &behind[2..];
            }
            None => {
                bytes.push(*first);
                rest = behind;
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::Plan;

    #[test]
    fn whatever_stands_in_an_address_is_read_without_a_panic() {
        for text in [
            "",
            "#",
            "#&&&",
            "#plan",
            "#plan=",
            "#plan=%",
            "#plan=%4",
            "#plan=%zz",
            "#=x",
            "%E9#at=%ff",
        ] {
            let _ = Fragment::read(text);
        }
        assert_eq!(Fragment::read("#plan=").plan.as_deref(), Some(""));
        assert_eq!(Fragment::read("#plan=a%2Db").plan.as_deref(), Some("a-b"));
        assert_eq!(
            Fragment::read("#at=now&plan=a&x=y").plan.as_deref(),
            Some("a")
        );
    }

    const APP: &str = "https://example.org/hall/";
    const AT: &str = "2026-11-25T12:30:00+01:00";

    /// A link text of several lines of a mail.
    fn long() -> String {
        let plan = Plan::from_json(include_str!("../demos/quay-pyramid.json"));
        let link = crate::link::encode(&plan.expect("the demo is a good plan"));
        assert!(link.len() > 300);
        link
    }

    /// A text as mail wraps it: lines of 76 characters (RFC 2045, section 6.7, has that width).
    fn wrapped(text: &str, before: &str, end: &str) -> String {
        let chars: Vec<char> = text.chars().collect();
        let lines: Vec<String> = chars
            .chunks(76)
            .map(|line| format!("{before}{}", line.iter().collect::<String>()))
            .collect();
        lines.join(end)
    }

    /// All but letters and digits, as `encodeURIComponent` has it (RFC 3986, section 2.1).
    fn encoded(text: &str) -> String {
        text.bytes()
            .map(|byte| match byte {
                byte if byte.is_ascii_alphanumeric() || b"-_.".contains(&byte) => {
                    char::from(byte).to_string()
                }
                byte => format!("%{byte:02X}"),
            })
            .collect()
    }

    #[test]
    fn a_link_is_read_in_whatever_form_a_message_gave_it() {
        let plan = long();
        let link = join(APP, &plan, Some(AT));
        let html = link.replace('&', "&amp;");
        let middle = link.len() / 2;
        let mut forms = vec![
            link.clone(),
            html.clone(),
            html.replace('&', "&amp;"),
            encoded(&link),
            encoded(&encoded(&link)),
            encoded(&encoded(&encoded(&link))),
            encoded(&html),
            encoded(&link).replace("%3A", "%3a").replace("%3D", "%3d"),
            format!("https://example.org/leave?to={}", encoded(&link)),
            // Lines put together again by a field that takes one line, and the next sentence with them.
            format!("{link}See you there!"),
            format!("<a href=\"{html}\">the class</a>"),
            format!("Friday: {link}. See you there!"),
            format!("On Friday,\nthen: <{link}>\n\nSee you there"),
            format!("{link}\nhttps://example.org/hall/#plan=AQxy&at=2027-01-01T00:00:00Z"),
        ];
        for invisible in [
            '\u{200b}', '\u{200d}', '\u{2060}', '\u{feff}', '\u{ad}', '\u{202e}',
        ] {
            let (a, b) = link.split_at(middle);
            forms.push(format!("{invisible}{a}{invisible}{b}{invisible}"));
            forms.push(link.replace("#plan=", &format!("#pl{invisible}an=")));
            forms.push(link.replace("&at=", &format!("&{invisible}at=")));
        }
        for end in ["\n", "\r\n", " \r\n", "\n  ", " "] {
            for before in ["", "> ", ">> "] {
                // The break falls on every place of the address in turn.
                for indent in (0..76).step_by(3) {
                    // A space within the marker is nothing that a field of one line makes of a link.
                    let marker = 0..APP.len() + "#plan=".len();
                    if end == " " && marker.contains(&(76 - indent)) {
                        continue;
                    }
                    let text = format!("{}{link}", "-".repeat(indent));
                    let text = wrapped(&text, before, end).replacen(&"-".repeat(indent), "", 1);
                    forms.push(format!("{text}{end}See you there"));
                    forms.push(text);
                }
                if end != " " {
                    forms.push(wrapped(&encoded(&link), before, end));
                }
                forms.push(wrapped(&html, before, end));
            }
        }
        for form in forms {
            let found = Fragment::read(&form);
            assert_eq!(found.plan.as_deref(), Some(&*plan), "{form:?}");
            assert_eq!(found.at.as_deref(), Some(AT), "{form:?}");
        }
    }

    #[test]
    fn another_links_start_is_not_taken_for_this_ones() {
        let plan = long();
        let link = join(APP, &plan, None);
        let other = join(APP, "AQxy", Some(AT));
        for between in ["\n", "\r\n\r\n", " ", ""] {
            let found = Fragment::read(&format!("{link}{between}{other}"));
            assert_eq!(found.plan.as_deref(), Some(&*plan), "{between:?}");
            assert_eq!(found.at, None, "{between:?}");
        }
    }

    #[test]
    fn what_is_really_cut_stays_cut() {
        let plan = long();
        for end in [9, 40, plan.len() - 1] {
            for message in ["", "\nSee you there!", " See you there"] {
                let text = format!("{}{message}", join(APP, &plan[..end], None));
                let found = Fragment::read(&text).plan.expect("there is a plan");
                assert!(crate::link::decode(&found).is_err(), "{text}");
            }
        }
    }

    #[test]
    fn a_link_with_a_line_break_or_blanks_in_it_has_one_normal_form() {
        let plan = long();
        let (a, b) = plan.split_at(plan.len() / 2);
        for between in ["%0A", "%0D%0A", "%20", "%E2%80%8B", "%250A", "\u{200b}"] {
            let found = Fragment::read(&format!("{APP}#plan={a}{between}{b}&at={AT}"));
            let link = crate::link::normal(found.plan.as_deref().unwrap_or_default());
            if between == "%250A" {
                // Encoded twice by itself it is no form that a link comes in.
                assert!(crate::link::decode(&link).is_err());
                continue;
            }
            assert_eq!(link, plan, "{between}");
        }
        // What can be read has no other character in its normal form.
        for text in [format!(" {a}\n{b}"), format!("{a}\u{2028}{b}\u{feff}")] {
            assert!(crate::link::decode(&text).is_ok());
            assert_eq!(crate::link::normal(&text), plan);
        }
        let digits = crate::link::digits::to_digits(&plan).expect("a link has digits");
        assert_eq!(crate::link::normal(&digits), plan);
    }

    #[test]
    fn an_instant_is_a_day_of_the_calendar() {
        // RFC 3339, section 5.8, with its leap seconds; the milliseconds by `date -u -d ... +%s`.
        for (text, ms) in [
            ("1985-04-12T23:20:50.52Z", 482_196_050_520),
            ("1996-12-19T16:39:57-08:00", 851_042_397_000),
            ("1990-12-31T23:59:60Z", 662_688_000_000),
            ("1990-12-31T15:59:60-08:00", 662_688_000_000),
            ("1937-01-01T12:00:27.87+00:20", -1_041_337_172_130),
            ("1970-01-01T00:00:00Z", 0),
            ("2000-02-29T00:00:00Z", 951_782_400_000),
            ("2028-02-29T23:59:59.999Z", 1_835_481_599_999),
            ("0000-03-01T00:00:00Z", -62_162_035_200_000),
            ("9999-12-31T23:59:59Z", 253_402_300_799_000),
        ] {
            assert_eq!(instant(text), Some(ms), "{text}");
        }
        // Leap years by the rule of RFC 3339, appendix C.
        for year in [1900, 2023, 2025, 2026, 2027, 2100, 2200, 2300] {
            assert_eq!(instant(&format!("{year}-02-29T12:00:00Z")), None, "{year}");
        }
        for year in [2000, 2024, 2028, 2400] {
            assert!(is_instant(&format!("{year}-02-29T12:00:00Z")), "{year}");
        }
        for text in [
            "2026-02-30T12:00:00Z",
            "2026-04-31T12:00:00Z",
            "2026-00-10T12:00:00Z",
            "2026-13-10T12:00:00Z",
            "2026-01-00T12:00:00Z",
            "2026-01-32T12:00:00Z",
            "2026-01-10T24:00:00Z",
            "2026-01-10T12:60:00Z",
            "2026-01-10T12:00:61Z",
            "2026-01-10T12:00:60Z",
            "2026-01-10T12:00:00+24:00",
            "2026-01-10T12:00:00+01:60",
            "2026-01-10T12:00:00.Z",
            "2026-01-10T12:00:00",
            "2026-01-10T12:00Z",
            "2026-01-10 12:00:00Z",
            "2026-01-10T12:00:00Zz",
            "+026-01-10T12:00:00Z",
            "2026-01-1é",
        ] {
            assert_eq!(instant(text), None, "{text}");
        }
    }

    #[test]
    fn days_follow_each_other_for_a_whole_cycle_of_the_calendar() {
        let mut day = days_from_1970(1999, 12, 31);
        for year in 2000..2400 {
            for month in 1..=12 {
                for of_month in 1..=days_in(year, month).expect("a month") {
                    day += 1;
                    assert_eq!(days_from_1970(year, month, of_month), day);
                }
            }
        }
    }
}
