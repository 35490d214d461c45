//! The closed sets of words that a plan file uses, each an enum that knows its words.

use serde::{Serialize, Serializer};

/// An enum whose values are written as fixed words in a plan file.
pub trait Word: Copy + PartialEq + 'static {
    /// Every value with its word, in the order of the format's text.
    const WORDS: &'static [(Self, &'static str)];
    /// The words alone, in the same order.
    const NAMES: &'static [&'static str];

    /// The value's word in a plan file.
    fn word(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(value, _)| *value == self)
            .map_or("", |(_, word)| word)
    }

    /// The value that a word stands for.
    fn from_word(word: &str) -> Option<Self> {
        Self::WORDS
            .iter()
            .find(|(_, known)| *known == word)
            .map(|(value, _)| *value)
    }

    /// The value's place in [`Word::WORDS`]: what a link carries.
    fn index(self) -> u8 {
        Self::WORDS
            .iter()
            .position(|(value, _)| *value == self)
            .map_or(0, |i| i as u8)
    }

    /// The value at a place in [`Word::WORDS`].
    fn from_index(index: u8) -> Option<Self> {
        Self::WORDS.get(usize::from(index)).map(|(value, _)| *value)
    }
}

macro_rules! words {
    ($(#[$about:meta])* $name:ident { $($(#[$doc:meta])* $value:ident = $word:literal),+ $(,)? }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
        pub enum $name { $($(#[$doc])* $value),+ }

        impl Word for $name {
            const WORDS: &'static [(Self, &'static str)] = &[$((Self::$value, $word)),+];
            const NAMES: &'static [&'static str] = &[$($word),+];
        }

        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.word())
            }
        }
    };
}

words! {
    /// What a move trains: the shares of these are what a coach balances.
    Pattern {
        /// Knees and hips bend together.
        #[default]
        Squat = "squat",
        /// The hips fold, the back stays long.
        Hinge = "hinge",
        /// One foot ahead of the other.
        Lunge = "lunge",
        /// Rising onto the toes.
        Calf = "calf",
        /// Away from the body.
        Push = "push",
        /// Towards the body.
        Pull = "pull",
        /// Holding a load, walking or standing.
        Carry = "carry",
        /// Turning the trunk.
        Twist = "twist",
        /// Holding the trunk still.
        Brace = "brace",
        /// Going from place to place.
        Travel = "travel",
        /// Punches and kicks at the air.
        Strike = "strike",
        /// Holding a muscle long.
        Stretch = "stretch",
        /// Moving a joint through its range.
        Mobility = "mobility",
    }
}

words! {
    /// How hard a move is meant to be.
    Effort {
        /// Talking is easy.
        Light = "light",
        /// Talking is possible, singing is not.
        #[default]
        Moderate = "moderate",
        /// A few words, then a breath.
        Vigorous = "vigorous",
        /// No words.
        AllOut = "all-out",
    }
}

words! {
    /// Where the body is.
    Position {
        /// On the feet.
        #[default]
        Standing = "standing",
        /// Sitting on a chair.
        Seated = "seated",
        /// On one or both knees, or on hands and knees.
        Kneeling = "kneeling",
        /// Lying or sitting on the floor, or on hands and feet.
        Floor = "floor",
    }
}

words! {
    /// Whether the feet leave the ground.
    Impact {
        /// One foot is always down.
        #[default]
        Low = "low",
        /// Jumps, hops, running.
        High = "high",
    }
}

words! {
    /// How an option compares with the move as written.
    Level {
        /// Less load, range, speed or balance.
        Easier = "easier",
        /// More of it.
        Harder = "harder",
        /// Neither: a different way.
        #[default]
        Other = "other",
    }
}

words! {
    /// The part of the class that a block belongs to.
    Part {
        /// Raises the pulse and opens the joints.
        WarmUp = "warm-up",
        /// What the class is for.
        #[default]
        Main = "main",
        /// A last hard piece.
        Finisher = "finisher",
        /// Brings the pulse down; stretches.
        CoolDown = "cool-down",
    }
}

words! {
    /// How a sided move is shared between the sides.
    Sides {
        /// One side, then the other, each for the full work time.
        #[default]
        Paired = "paired",
        /// One side a round (in straight sets: a set), turn about.
        Alternate = "alternate",
        /// Both sides within one work segment, changing at half time.
        Half = "half",
    }
}

words! {
    /// Which way a ladder is climbed.
    Direction {
        /// Round k does rungs 1 to k.
        #[default]
        Up = "up",
        /// Round k does rungs 1 to n-k+1.
        Down = "down",
        /// Up, then down again: 2n-1 rounds.
        UpDown = "up-down",
    }
}

words! {
    /// One side of the body.
    Hand {
        /// The right side.
        #[default]
        Right = "right",
        /// The left side.
        Left = "left",
    }
}

impl Hand {
    /// The other side.
    ///
    /// ```
    /// use rungbook::plan::Hand;
    /// assert_eq!(Hand::Right.other(), Hand::Left);
    /// ```
    #[must_use]
    pub fn other(self) -> Hand {
        match self {
            Hand::Right => Hand::Left,
            Hand::Left => Hand::Right,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_leads_back_to_its_value() {
        fn check<W: Word + core::fmt::Debug>() {
            for (i, (value, word)) in W::WORDS.iter().enumerate() {
                assert_eq!(W::from_word(word), Some(*value));
                assert_eq!(value.word(), *word);
                assert_eq!(W::from_index(i as u8), Some(*value));
                assert_eq!(usize::from(value.index()), i);
            }
            assert_eq!(W::from_word("no such word"), None);
            assert_eq!(W::from_index(W::WORDS.len() as u8), None);
        }
        check::<Pattern>();
        check::<Effort>();
        check::<Position>();
        check::<Impact>();
        check::<Level>();
        check::<Part>();
        check::<Sides>();
        check::<Direction>();
        check::<Hand>();
    }
}
