//! The part of the app's address after `#`: `plan=`, and further fields behind `&`.

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
        // A message around the link is left out, and what ends its sentence.
        let mut words = text.split_whitespace();
        let text = words
            .find(|word| word.contains("#plan=") || word.contains("&plan="))
            .unwrap_or(text.trim())
            .trim_end_matches([
                '.', ',', ';', ':', '!', '?', ')', ']', '>', '"', '\'', '”', '»',
            ]);
        let fields = match text.split_once('#') {
            Some((_, fields)) => fields,
            None => text,
        };
        let mut found = Fragment::default();
        for field in fields.split('&') {
            match field.split_once('=') {
                Some(("plan", value)) => found.plan = Some(unescape(value)),
                Some(("at", value)) => found.at = Some(unescape(value)),
                _ => {}
            }
        }
        // What was pasted without its address, and is not an address itself.
        let bare =
            found.plan.is_none() && !fields.is_empty() && !fields.contains(['/', ':', '=', '.']);
        if bare {
            found.plan = Some(fields.to_owned());
        }
        found
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

/// Whether a text has the shape of an RFC 3339 instant (section 5.6): a date, a time, an offset.
/// What it does not tell is whether there is such a day.
///
/// ```
/// use rungbook::link::is_instant;
/// for text in ["1985-04-12T23:20:50.52Z", "1996-12-19T16:39:57-08:00", "2026-11-25t12:30:00z"] {
///     assert!(is_instant(text), "{text}"); // the first two are of RFC 3339, section 5.8
/// }
/// for text in ["2026-11-25", "2026-11-25T12:30:00", "2026-11-25T12:30Z", "noon", "", "2026-11-25T12:30:00.Z"] {
///     assert!(!is_instant(text), "{text}");
/// }
/// ```
#[must_use]
pub fn is_instant(text: &str) -> bool {
    fn shaped<'t>(text: &'t str, shape: &str) -> Option<&'t str> {
        let rest = text.get(shape.len()..)?;
        let fits = text
            .bytes()
            .zip(shape.bytes())
            .all(|(byte, like)| match like {
                b'0' => byte.is_ascii_digit(),
                b'T' => byte.eq_ignore_ascii_case(&b'T'),
                b'+' => matches!(byte, b'+' | b'-'),
                like => byte == like,
            });
        fits.then_some(rest)
    }
    let Some(rest) = shaped(text, "0000-00-00T00:00:00") else {
        return false;
    };
    let offset = match rest.strip_prefix('.') {
        None => rest,
        Some(fraction) => {
            let offset = fraction.trim_start_matches(|digit: char| digit.is_ascii_digit());
            if offset.len() == fraction.len() {
                return false;
            }
            offset
        }
    };
    offset.eq_ignore_ascii_case("z") || shaped(offset, "+00:00") == Some("")
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
}
