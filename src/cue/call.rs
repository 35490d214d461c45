//! What a call is, how much is called, and how long words take.

use super::words::Tongue;
use crate::timeline::{Segment, Side};

/// Work that is shorter than this ends without a count: its go and its count would run together.
pub const COUNTED_WORK_MS: i64 = 8_000;
/// Work from this length on has its ten, and at the full level its half time.
pub const TEN_WORK_MS: i64 = 30_000;
/// Work from this length on has its five.
pub const FIVE_WORK_MS: i64 = 20_000;
/// Words a minute: a usual speaking rate (Krause 1995 has 100 for clear speech).
pub const WORDS_A_MINUTE: i64 = 150;

/// What is called by a tone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Call {
    /// Three, two or one second to go.
    Count(u8),
    /// Ten seconds to go.
    Ten,
    /// Five seconds to go.
    Five,
    /// An extra call of the plan.
    Mark,
    /// Half time: change sides.
    Half,
    /// The work ends.
    End,
    /// The work starts.
    Go,
    /// The work starts on the other side.
    Over,
}

impl Call {
    /// One of each kind.
    pub const ALL: [Call; 8] = [
        Call::Count(3),
        Call::Go,
        Call::Over,
        Call::Half,
        Call::Ten,
        Call::Five,
        Call::Mark,
        Call::End,
    ];

    /// Of two tones in one millisecond the one with the lower value sounds.
    pub(crate) fn urgency(self) -> u8 {
        match self {
            Call::Go | Call::Over => 0,
            Call::Half => 1,
            Call::End => 2,
            Call::Count(_) => 3,
            Call::Ten => 4,
            Call::Five => 5,
            Call::Mark => 6,
        }
    }
}

/// A tone at a class time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cue {
    /// Milliseconds of class time.
    pub at_ms: i64,
    /// What is called.
    pub call: Call,
    /// The work segment that it belongs to.
    pub segment: usize,
}

/// How much is called.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CallLevel {
    /// Tones alone.
    Tones,
    /// The next move, the sides and the time left are spoken.
    #[default]
    Short,
    /// How-tos, kit and interludes too.
    Full,
}

impl CallLevel {
    /// Every level, the least first.
    pub const ALL: [CallLevel; 3] = [CallLevel::Tones, CallLevel::Short, CallLevel::Full];

    /// The level's name where it is stored.
    ///
    /// ```
    /// use rungbook::cue::CallLevel;
    /// assert!(CallLevel::ALL.iter().all(|level| CallLevel::from_tag(level.tag()) == Some(*level)));
    /// ```
    #[must_use]
    pub fn tag(self) -> &'static str {
        match self {
            CallLevel::Tones => "tones",
            CallLevel::Short => "short",
            CallLevel::Full => "full",
        }
    }

    /// The level of a name.
    #[must_use]
    pub fn from_tag(tag: &str) -> Option<CallLevel> {
        Self::ALL.into_iter().find(|level| level.tag() == tag)
    }
}

/// How a member wants to be called.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Calling {
    /// How much.
    pub level: CallLevel,
    /// In which language.
    pub tongue: Tongue,
}

/// How long words take to say, in milliseconds, at [`WORDS_A_MINUTE`].
///
/// ```
/// use rungbook::cue::speech_ms;
/// assert_eq!(speech_ms("one two three four five six seven eight nine ten eleven twelve"), 4_800);
/// ```
#[must_use]
pub fn speech_ms(text: &str) -> i64 {
    text.split_whitespace().count() as i64 * 60_000 / WORDS_A_MINUTE
}

/// Puts something where it belongs in a list that is in order. What is called comes nearly in order:
/// this costs less than to sort it, in time and in the app's size.
pub(super) fn place<T, K: PartialOrd>(list: &mut Vec<T>, one: T, key: impl Fn(&T) -> K) {
    let new = key(&one);
    let behind = list.iter().rev().take_while(|old| key(old) > new).count();
    list.insert(list.len() - behind, one);
}

/// How many counts a gap before a go has room for.
pub(super) fn counts_before(gap_ms: i64) -> u8 {
    (gap_ms / 1000).clamp(0, 3) as u8
}

/// Whether work is the other side of the work right before it.
pub(crate) fn is_other_side(before: &Segment, segment: &Segment) -> bool {
    let sides = (before.side, segment.side);
    matches!(sides, (Side::Right, Side::Left) | (Side::Left, Side::Right))
        && before.move_at == segment.move_at
}
