//! What is said, in each language: one table, and nothing else in the crate holds a spoken word.
//!
//! A further language is one more [`Words`] and one more [`Tongue`]. The texts are the coach's
//! register: short, and understood out of breath. What a plan itself says (names, notes, kit) is
//! spoken as the coach wrote it.

use crate::plan::{Hand, SideWords};

/// A language in which calls are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Tongue {
    /// English.
    #[default]
    English,
    /// Spanish.
    Spanish,
}

impl Tongue {
    /// Every language.
    pub const ALL: [Tongue; 2] = [Tongue::English, Tongue::Spanish];

    /// The language's tag (BCP 47), by which a voice is found.
    ///
    /// ```
    /// use rungbook::cue::Tongue;
    /// assert!(Tongue::ALL.iter().all(|tongue| Tongue::from_tag(tongue.tag()) == Some(*tongue)));
    /// ```
    #[must_use]
    pub fn tag(self) -> &'static str {
        match self {
            Tongue::English => "en",
            Tongue::Spanish => "es",
        }
    }

    /// The language of a tag.
    #[must_use]
    pub fn from_tag(tag: &str) -> Option<Tongue> {
        Self::ALL.into_iter().find(|tongue| tongue.tag() == tag)
    }

    /// What it is called in itself.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Tongue::English => "English",
            Tongue::Spanish => "Español",
        }
    }

    pub(super) fn words(self) -> &'static Words {
        match self {
            Tongue::English => &ENGLISH,
            Tongue::Spanish => &SPANISH,
        }
    }
}

/// The table's columns. `{}` stands for what the plan puts in.
pub(super) struct Words {
    right: &'static str,
    left: &'static str,
    /// What stands for a side within a text of the plan.
    pub sides: &'static SideWords,
    /// Work on both sides, this one first.
    side_first: &'static str,
    /// The other side of the same move comes.
    pub change_to: &'static str,
    /// Half time of an option that changes sides.
    pub change: &'static str,
    pub half: &'static str,
    pub ten: &'static str,
    pub five: &'static str,
    /// The first move of a class.
    pub first: &'static str,
    pub next: &'static str,
    /// The same move once more.
    pub again: &'static str,
    /// What a coach counts: the entry's number, then the move.
    pub exercise: &'static str,
    pub with: &'static str,
    pub and: &'static str,
    pub bring: &'static str,
    pub demo: &'static str,
}

impl Words {
    pub fn side(&self, hand: Hand) -> &'static str {
        match hand {
            Hand::Right => self.right,
            Hand::Left => self.left,
        }
    }

    pub fn side_first(&self, hand: Hand) -> String {
        put(self.side_first, &[self.side(hand)])
    }

    /// A list as it is spoken.
    pub fn list(&self, items: &[String]) -> String {
        match items {
            [] => String::new(),
            [one] => one.clone(),
            [most @ .., last] => format!("{} {} {last}", most.join(", "), self.and),
        }
    }
}

/// Puts texts in place of the `{}` of a template, in order.
pub(super) fn put(template: &str, texts: &[&str]) -> String {
    let mut parts = template.split("{}");
    let mut text = parts.next().unwrap_or_default().to_owned();
    let mut texts = texts.iter();
    for part in parts {
        text.push_str(texts.next().copied().unwrap_or_default());
        text.push_str(part);
    }
    text
}

const ENGLISH: Words = Words {
    right: "right side",
    left: "left side",
    sides: &SideWords::ENGLISH,
    side_first: "{} first",
    change_to: "Change to the {}",
    change: "Change sides",
    half: "Half time",
    ten: "Ten to go",
    five: "Five",
    first: "First: {}",
    next: "Next: {}",
    again: "Again: {}",
    exercise: "Exercise {}: {}",
    with: "{}, with {}",
    and: "and",
    bring: "You need: {}",
    demo: "Watch: {}",
};

const SPANISH: Words = Words {
    right: "lado derecho",
    left: "lado izquierdo",
    sides: &SideWords {
        right: "derecho",
        left: "izquierdo",
        working: "que trabaja",
        other: "contrario",
    },
    side_first: "{} primero",
    change_to: "Cambia al {}",
    change: "Cambia de lado",
    half: "Mitad del tiempo",
    ten: "Quedan diez",
    five: "Cinco",
    first: "Primero: {}",
    next: "Ahora viene: {}",
    again: "Otra vez: {}",
    exercise: "Ejercicio {}: {}",
    with: "{}, con {}",
    and: "y",
    bring: "Necesitas: {}",
    demo: "Mira: {}",
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_template_takes_its_texts_in_order() {
        assert_eq!(put("Exercise {}: {}", &["3", "Squat"]), "Exercise 3: Squat");
        assert_eq!(put("{}", &["{}"]), "{}", "what a plan says is no template");
        assert_eq!(put("none", &["x"]), "none");
    }

    /// Within a text a side is named in the language in which it is spoken: the word of the side
    /// that is called, and of no other language.
    #[test]
    fn every_language_has_its_own_words_for_the_sides_in_a_text() {
        let text = "{side}, {other}";
        for tongue in Tongue::ALL {
            let w = tongue.words();
            let SideWords {
                right,
                left,
                working,
                other,
            } = *w.sides;
            let filled = |hand| crate::plan::fill_in(text, hand, w.sides);
            assert_eq!(filled(Some(Hand::Right)), format!("{right}, {left}"));
            assert_eq!(filled(Some(Hand::Left)), format!("{left}, {right}"));
            assert_eq!(filled(None), format!("{working}, {other}"));
            for (hand, word) in [(Hand::Right, right), (Hand::Left, left)] {
                assert!(w.side(hand).contains(word), "{word} in {}", w.side(hand));
            }
            for foreign in Tongue::ALL.into_iter().filter(|one| *one != tongue) {
                let theirs = foreign.words().sides;
                for word in [theirs.right, theirs.left, theirs.working, theirs.other] {
                    assert!(![right, left, working, other].contains(&word), "{word}");
                }
            }
        }
    }

    #[test]
    fn every_language_has_a_place_for_what_the_plan_puts_in() {
        for tongue in Tongue::ALL {
            let w = tongue.words();
            for (template, places) in [
                (w.side_first, 1),
                (w.change_to, 1),
                (w.first, 1),
                (w.next, 1),
                (w.again, 1),
                (w.exercise, 2),
                (w.with, 2),
                (w.bring, 1),
                (w.demo, 1),
                (w.change, 0),
                (w.half, 0),
                (w.ten, 0),
                (w.five, 0),
            ] {
                assert_eq!(template.matches("{}").count(), places, "{template}");
                assert!(!template.trim_matches(['{', '}']).is_empty());
            }
        }
    }
}
