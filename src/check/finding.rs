//! What was found: where, which problem, and its parts. The words are made where it is shown.

use core::fmt;

use super::remedy::Remedy;
use crate::plan::{Effort, Hand, Part, Word as _};
use crate::timeline::length_in_words as length;

const COMMON: &str = "common practice, no source";
/// The edition from memory.
const ACSM: &str = "ACSM's Guidelines for Exercise Testing and Prescription, 10th edition, 2018: 5 to 10 minutes each";

/// How much weight a finding has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Weight {
    /// Someone may get hurt.
    Safety,
    /// The class does not do what it says.
    Class,
    /// It could be kinder.
    Comfort,
}

/// What a finding is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Place {
    /// The whole class.
    Class,
    /// A block, by its place.
    Block(usize),
    /// A move, by its place.
    Move(usize),
    /// A piece of kit, by its place.
    Kit(usize),
}

/// Something that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What it is about.
    pub place: Place,
    /// What is so. Shown, it is a sentence.
    pub problem: Problem,
    /// What puts it right at one touch, where something does.
    pub remedy: Option<Remedy>,
}

/// What can be found, with the parts that tell it. Lengths are in milliseconds; moves, options and
/// kit stand by what they are called. Shown, it is a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Problem {
    /// The class is longer than its slot.
    TooLong {
        /// By how much.
        by: i64,
    },
    /// The class leaves more of its slot than a fiftieth.
    TooShort {
        /// How much.
        by: i64,
    },
    /// There is too little of a warm-up or a cool-down, or none.
    ShortPart {
        /// Which.
        part: Part,
        /// How long it is.
        has: i64,
        /// How long it would have to be.
        wanted: i64,
        /// How long the class is.
        class: i64,
    },
    /// There is no interlude for too long.
    NoWater {
        /// For longer than this.
        within: i64,
    },
    /// A move is done longer on one side than on the other.
    UnequalSides {
        /// The move.
        name: String,
        /// The side that has more.
        more: Hand,
        /// By how much.
        by: i64,
    },
    /// A move has no name.
    NoName {
        /// What it is called all the same.
        name: String,
    },
    /// An option has no name.
    NoOptionName {
        /// The move.
        name: String,
        /// What the option is called all the same.
        option: String,
    },
    /// A move jumps with kit in the hands.
    LoadedJump {
        /// The move.
        name: String,
    },
    /// A move jumps, and has no easier option.
    JumpForAll {
        /// The move.
        name: String,
    },
    /// A move that is not light has no easier option.
    NoEasier {
        /// The move.
        name: String,
        /// How hard it is.
        effort: Effort,
    },
    /// A move has a harder option and no caution.
    NoCaution {
        /// The move.
        name: String,
    },
    /// A hard move comes before its pattern was warmed.
    NotWarmed {
        /// The move.
        name: String,
    },
    /// Down to the floor or up from it, out of hard work, in no time.
    Dizzy {
        /// The move before.
        from: String,
        /// The move after.
        to: String,
        /// Down, not up.
        down: bool,
        /// What time there is.
        within: i64,
    },
    /// There is too little time to turn over on the floor.
    TurnOver {
        /// The move.
        name: String,
        /// What time there is.
        within: i64,
    },
    /// Lengths by the round that don't come out even with the rounds.
    UnevenRounds {
        /// How many lengths.
        lengths: u32,
        /// How many rounds.
        rounds: u32,
    },
    /// The class ends with a break.
    LastBreak {
        /// How long it is.
        lasts: i64,
    },
    /// Hard work goes on for too long without a rest.
    NoRest {
        /// How hard: all-out, or else vigorous.
        effort: Effort,
        /// For how long.
        lasts: i64,
    },
    /// A piece of kit is listed, and nothing uses it.
    Unused {
        /// The kit.
        name: String,
    },
    /// There is no time to fetch the kit of a block.
    Fetch {
        /// The kit.
        kit: Vec<String>,
    },
    /// There is no time to take up kit between two moves.
    TakeUp {
        /// The move before.
        from: String,
        /// The move after.
        to: String,
        /// The kit.
        kit: Vec<String>,
    },
    /// There is no time to say what is written.
    Speech {
        /// The move whose how-to it is; none: an interlude's words.
        of: Option<String>,
        /// How long it takes to say.
        takes: i64,
        /// What time there is.
        has: i64,
    },
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Problem::TooLong { by } => {
                write!(f, "The class is {} longer than its slot.", length(*by))
            }
            Problem::TooShort { by } => write!(f, "The class leaves {} of its slot.", length(*by)),
            Problem::ShortPart { part, has: 0, .. } => write!(f, "There is no {}.", part.word()),
            Problem::ShortPart {
                part,
                has,
                wanted,
                class,
            } => write!(
                f,
                "The {} takes {}; about {} would suit a class of {}.",
                part.word(),
                length(*has),
                length(*wanted),
                length(*class)
            ),
            Problem::NoWater { within } => write!(
                f,
                "There is no interlude for water in more than {}.",
                length(*within)
            ),
            Problem::UnequalSides { name, more, by } => write!(
                f,
                "“{name}” is done {} longer on the {} side.",
                length(*by),
                more.word()
            ),
            Problem::NoName { name } => {
                write!(f, "A move has no name: it is called “{name}”.")
            }
            Problem::NoOptionName { name, option } => write!(
                f,
                "A way to do “{name}” has no name: it is called “{option}”."
            ),
            Problem::LoadedJump { name } => write!(f, "“{name}” jumps with kit in the hands."),
            Problem::JumpForAll { name } => write!(f, "“{name}” jumps, and has no easier way."),
            Problem::NoEasier { name, effort } => {
                write!(f, "“{name}” is {}, and has no easier way.", effort.word())
            }
            Problem::NoCaution { name } => write!(f, "“{name}” has a harder way and no caution."),
            Problem::NotWarmed { name } => {
                write!(f, "“{name}” comes before its pattern was warmed.")
            }
            Problem::Dizzy {
                from,
                to,
                down,
                within,
            } => {
                let way = if *down {
                    "down to the floor"
                } else {
                    "up from the floor"
                };
                write!(
                    f,
                    "From “{from}” it goes {way} for “{to}” within {}.",
                    length(*within)
                )
            }
            Problem::TurnOver { name, within } => {
                let time = if *within == 0 {
                    "no time".to_owned()
                } else {
                    length(*within)
                };
                write!(f, "“{name}” has {time} to turn over to the other side.")
            }
            Problem::UnevenRounds { lengths, rounds } => write!(
                f,
                "{lengths} lengths of work go by the round, and there are {rounds} rounds."
            ),
            Problem::LastBreak { lasts } => {
                write!(f, "The class ends with a break of {}.", length(*lasts))
            }
            Problem::NoRest { effort, lasts } => {
                let words = match effort {
                    Effort::AllOut => "All-out",
                    _ => "Vigorous",
                };
                write!(
                    f,
                    "{words} work goes on for {} without a rest.",
                    length(*lasts)
                )
            }
            Problem::Unused { name } => write!(f, "“{name}” is listed, and nothing uses it."),
            Problem::Fetch { kit } => {
                write!(f, "There is no time to fetch: {}.", kit.join(", "))
            }
            Problem::TakeUp { from, to, kit } => write!(
                f,
                "Between {from} and {to} there is no time to take up: {}.",
                kit.join(", ")
            ),
            Problem::Speech { of, takes, has } => {
                match of {
                    Some(name) => write!(f, "The how-to of “{name}”")?,
                    None => f.write_str("What the interlude says")?,
                }
                let (takes, has) = (length(*takes), length(*has));
                write!(f, " takes {takes} to say, and has {has}.")
            }
        }
    }
}

impl Problem {
    /// How much weight it has.
    #[must_use]
    pub fn weight(&self) -> Weight {
        match self {
            Problem::ShortPart { .. }
            | Problem::LoadedJump { .. }
            | Problem::JumpForAll { .. }
            | Problem::NoCaution { .. }
            | Problem::NotWarmed { .. }
            | Problem::Dizzy { .. }
            | Problem::NoRest { .. } => Weight::Safety,
            Problem::TooLong { .. }
            | Problem::TooShort { .. }
            | Problem::UnequalSides { .. }
            | Problem::NoName { .. }
            | Problem::NoOptionName { .. }
            | Problem::UnevenRounds { .. }
            | Problem::Unused { .. }
            | Problem::Fetch { .. }
            | Problem::TakeUp { .. }
            | Problem::Speech { .. } => Weight::Class,
            Problem::NoWater { .. }
            | Problem::NoEasier { .. }
            | Problem::TurnOver { .. }
            | Problem::LastBreak { .. } => Weight::Comfort,
        }
    }

    /// Why it matters, and what would help.
    #[must_use]
    pub fn why(&self) -> &'static str {
        match self {
            Problem::TooLong { .. } => {
                "The next one waits at the door. Shorten a break, a rest or a round."
            }
            Problem::TooShort { .. } => "There is time for a longer break, a demo or a round.",
            Problem::ShortPart {
                part: Part::WarmUp, ..
            } => {
                "Hard or loaded work comes safer to warm muscles. Begin with easy moves of the same patterns."
            }
            Problem::ShortPart { .. } => {
                "Who stops at once may get dizzy: the blood stays in the legs. End with easy moves and stretches."
            }
            Problem::NoWater { .. } => "Put an interlude of 20 to 40 s before this.",
            Problem::UnequalSides { .. } => {
                "Sides that alternate want an even number of rounds; a side that is fixed wants its twin."
            }
            Problem::NoName { .. } => "Members read it and hear it.",
            Problem::NoOptionName { .. } => "Members choose it by its name.",
            Problem::LoadedJump { .. } => {
                "A landing under load is hard on knees and back, and kit slips. Jump without, or load without a jump."
            }
            Problem::JumpForAll { .. } => {
                "Joints, pregnancy and neighbours below want a way that stays on the ground."
            }
            Problem::NoEasier { .. } => {
                "Who is tired stops, where an easier way would keep them in."
            }
            Problem::NoCaution { .. } => "Who goes harder should know when to stop.",
            Problem::NotWarmed { .. } => "Put an easy move of the same pattern into the warm-up.",
            Problem::Dizzy { .. } => {
                "Out of hard work that makes dizzy. Leave 5 s or more, or put something between."
            }
            Problem::TurnOver { .. } => {
                "On the floor it takes some seconds: the other side would get less work."
            }
            Problem::UnevenRounds { .. } => {
                "Where the rounds go on the lengths begin anew, and what the rounds do not reach is never done."
            }
            Problem::LastBreak { .. } => {
                "Members wait for something to come, and the slot has less for work."
            }
            Problem::NoRest { .. } => {
                "Published intervals are 4 min at most when vigorous, 30 s when all-out. Put a rest or easier work between."
            }
            Problem::Unused { .. } => "Members fetch what is listed. Take it off the list.",
            Problem::Fetch { .. } => {
                "Give the block before a break after it, or put an interlude between."
            }
            Problem::TakeUp { .. } => {
                "Who still picks it up at the go misses the first seconds, or hurries. Rest a little between, or let moves with the same kit follow each other."
            }
            Problem::Speech { .. } => "At 150 words a minute. Say less, or give it more time.",
        }
    }

    /// On whose word.
    #[must_use]
    pub fn source(&self) -> &'static str {
        match self {
            Problem::ShortPart { .. } => ACSM,
            Problem::NoRest { .. } => "Helgerud et al. 2007; sprint intervals of the Wingate type",
            Problem::Speech { .. } => "150 words a minute is a usual speaking rate",
            _ => COMMON,
        }
    }

    /// Whether the same rule found another one, wherever and with whatever parts. A warm-up and a
    /// cool-down are two rules.
    #[must_use]
    pub fn same_rule(&self, other: &Problem) -> bool {
        match (self, other) {
            (Problem::ShortPart { part: one, .. }, Problem::ShortPart { part: other, .. }) => {
                one == other
            }
            _ => core::mem::discriminant(self) == core::mem::discriminant(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The editor tells what a proposal brings that the class does not have: by the rule, not by the words.
    #[test]
    fn a_rule_is_known_again_by_other_parts_and_told_from_another() {
        let part = |part, has| Problem::ShortPart {
            part,
            has,
            wanted: 300_000,
            class: 1_800_000,
        };
        let jump = |name: &str| Problem::JumpForAll { name: name.into() };
        assert!(part(Part::WarmUp, 0).same_rule(&part(Part::WarmUp, 60_000)));
        assert!(!part(Part::WarmUp, 0).same_rule(&part(Part::CoolDown, 0)));
        assert!(jump("Jack").same_rule(&jump("Hop")));
        assert!(!jump("Jack").same_rule(&Problem::LoadedJump {
            name: "Jack".into()
        }));
    }
}
