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
    /// assert_eq!(Fragment::read("AQx").plan.as_deref(), Some("AQx"));
    /// assert_eq!(Fragment::read("https://example.org/").plan, None);
    /// ```
    #[must_use]
    pub fn read(text: &str) -> Fragment {
        let text = text.trim();
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

/// The address of a plan: an app's address without fragment, and the link text.
///
/// ```
/// assert_eq!(rungbook::link::join("https://example.org/hall/", "AQx"), "https://example.org/hall/#plan=AQx");
/// ```
#[must_use]
pub fn join(app: &str, plan: &str) -> String {
    let app = app.split('#').next().unwrap_or_default();
    format!("{app}#plan={plan}")
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
