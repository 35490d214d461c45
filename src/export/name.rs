//! What a file is called.

/// Characters of a name: with any extension, and however its letters are written down, it stays below
/// the 255 octets that file systems take.
const MOST: usize = 48;
/// Names that one family of systems keeps for itself, whatever stands behind the point.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// A class's title as the name of a file: its letters and digits in small letters, with a hyphen for
/// whatever stands between; the other text where nothing is left, or where a system would refuse it.
///
/// ```
/// use rungbook::export::file_name;
/// assert_eq!(file_name("Harbour: lunch / class", "class-7"), "harbour-lunch-class");
/// assert_eq!(file_name("../../etc", "class-7"), "etc");
/// assert_eq!(file_name("朝の体操", "class-7"), "朝の体操");
/// assert_eq!(file_name("!?", "class-7"), "class-7");
/// ```
#[must_use]
pub fn file_name(title: &str, instead: &str) -> String {
    let mut name = String::new();
    let mut between = false;
    // An accent that stands by itself belongs to the letter before it.
    let letters = title
        .chars()
        .flat_map(char::to_lowercase)
        .filter(|letter| !('\u{300}'..='\u{36f}').contains(letter));
    for letter in letters {
        if !letter.is_alphanumeric() {
            between = !name.is_empty();
            continue;
        }
        if name.chars().count() + usize::from(between) >= MOST {
            break;
        }
        if between {
            name.push('-');
            between = false;
        }
        name.push(letter);
    }
    let port = |port: &str| {
        name.strip_prefix(port)
            .is_some_and(|n| n.len() == 1 && n.bytes().all(|n| n.is_ascii_digit()))
    };
    if name.is_empty() || RESERVED.contains(&&*name) || port("com") || port("lpt") {
        return instead.to_owned();
    }
    name
}

#[cfg(test)]
mod tests {
    use super::file_name;

    #[test]
    fn a_name_is_one_that_every_system_takes() {
        let check = |title: &str, expected| assert_eq!(file_name(title, "class-7"), expected);
        check("  Über-Kreis, 20’  ", "über-kreis-20");
        check("Cafe\u{301} İki", "cafe-iki");
        check("a\u{202e}b\u{200b}c\n\0d", "a-b-c-d");
        check("C:\\x.bat", "c-x-bat");
        for reserved in ["", " ", "CON", "nul.", "Com1", "lpt9", ".."] {
            check(reserved, "class-7");
        }
        check("Common", "common");
        check("com10", "com10");
        for long in ["a".repeat(500), "歩".repeat(500), "𝕩 ".repeat(500)] {
            let name = file_name(&long, "class-7");
            // The longest extension of ours has 14 octets.
            assert!(
                (40..=48).contains(&name.chars().count()) && name.len() + 14 <= 255,
                "{name}"
            );
            assert!(!name.ends_with('-'));
        }
    }
}
