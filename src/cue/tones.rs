//! The calls as tones: which notes, when, how high. What plays them is the device's.
//!
//! All lie at or below 2.5 kHz, where hearing is lost last (ISO 24500:2010, from memory), and each
//! call has a rhythm of its own, so that pitch alone never tells two of them apart.

use super::call::Call;

/// One note of a call.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Note {
    /// Milliseconds from the call's instant to the note's attack.
    pub from_ms: i64,
    /// How long it sounds, in milliseconds.
    pub for_ms: i64,
    /// How high.
    pub hertz: f32,
}

const fn note(from_ms: i64, for_ms: i64, hertz: f32) -> Note {
    Note {
        from_ms,
        for_ms,
        hertz,
    }
}

/// The highest note.
pub const MOST_HERTZ: f32 = 2_500.0;

const COUNT: &[Note] = &[note(0, 90, 660.0)];
const GO: &[Note] = &[note(0, 110, 880.0), note(110, 380, 1175.0)];
/// The go, twice as quick and twice.
const OVER: &[Note] = &[
    note(0, 80, 880.0),
    note(80, 120, 1175.0),
    note(260, 80, 880.0),
    note(340, 300, 1175.0),
];
const HALF: &[Note] = &[
    note(0, 70, 990.0),
    note(110, 70, 740.0),
    note(300, 70, 990.0),
    note(410, 70, 740.0),
];
const TEN: &[Note] = &[note(0, 180, 587.0), note(260, 180, 587.0)];
const FIVE: &[Note] = &[
    note(0, 60, 587.0),
    note(120, 60, 587.0),
    note(240, 60, 587.0),
];
const MARK: &[Note] = &[note(0, 320, 523.0)];
const END: &[Note] = &[
    note(0, 110, 784.0),
    note(150, 110, 587.0),
    note(300, 260, 440.0),
];

/// The notes of a call, in the order in which they sound.
///
/// ```
/// use rungbook::cue::{Call, notes};
/// let [first, second] = notes(Call::Go) else { panic!() };
/// assert!(second.from_ms == first.for_ms && second.hertz > first.hertz); // it steps up
/// ```
#[must_use]
pub fn notes(call: Call) -> &'static [Note] {
    match call {
        Call::Count(_) => COUNT,
        Call::Go => GO,
        Call::Over => OVER,
        Call::Half => HALF,
        Call::Ten => TEN,
        Call::Five => FIVE,
        Call::Mark => MARK,
        Call::End => END,
    }
}

/// How long a call sounds, in milliseconds.
#[must_use]
pub fn tone_ms(call: Call) -> i64 {
    notes(call)
        .last()
        .map_or(0, |last| last.from_ms + last.for_ms)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_note_is_too_high_and_none_runs_into_the_next() {
        for call in Call::ALL {
            let notes = notes(call);
            assert!(notes.iter().all(|note| note.hertz <= MOST_HERTZ));
            assert!(notes.is_sorted_by(|a, b| a.from_ms + a.for_ms <= b.from_ms));
            // A count is over before the next second.
            assert!(tone_ms(call) < 700);
        }
    }

    #[test]
    fn every_call_has_a_rhythm_of_its_own() {
        let rhythm = |call| -> Vec<_> {
            notes(call)
                .iter()
                .map(|note| (note.from_ms, note.for_ms))
                .collect()
        };
        for (i, one) in Call::ALL.iter().enumerate() {
            for other in &Call::ALL[i + 1..] {
                assert_ne!(rhythm(*one), rhythm(*other), "{one:?} and {other:?}");
            }
        }
    }
}
