//! The calls as tones: oscillators and envelopes, no samples.
//!
//! All lie at or below 2.5 kHz, where hearing is lost last (ISO 24500:2010, from memory), and each
//! call has a rhythm of its own, so that pitch alone never tells them apart.

use wasm_bindgen::JsValue;
use web_sys::{AudioNode, BaseAudioContext, OscillatorType};

use crate::cue::Call;

/// One note: from, for, how high.
struct Note {
    from_ms: f64,
    for_ms: f64,
    hertz: f32,
}

const fn note(from_ms: f64, for_ms: f64, hertz: f32) -> Note {
    Note {
        from_ms,
        for_ms,
        hertz,
    }
}

/// The count is one short note, the go a long one that steps up, half two pairs, the end three
/// falling.
const COUNT: &[Note] = &[note(0.0, 90.0, 660.0)];
const GO: &[Note] = &[note(0.0, 110.0, 880.0), note(110.0, 380.0, 1175.0)];
const HALF: &[Note] = &[
    note(0.0, 70.0, 990.0),
    note(110.0, 70.0, 740.0),
    note(300.0, 70.0, 990.0),
    note(410.0, 70.0, 740.0),
];
const END: &[Note] = &[
    note(0.0, 110.0, 784.0),
    note(150.0, 110.0, 587.0),
    note(300.0, 260.0, 440.0),
];

fn notes(call: Call) -> &'static [Note] {
    match call {
        Call::Count(_) => COUNT,
        Call::Go => GO,
        Call::Half => HALF,
        Call::End => END,
    }
}

/// How long a call sounds, in milliseconds.
#[must_use]
pub fn tone_ms(call: Call) -> f64 {
    notes(call)
        .last()
        .map_or(0.0, |last| last.from_ms + last.for_ms)
}

/// Puts a call on a context's clock, into a node. The first note's attack starts at `at` (seconds
/// of the context's time).
///
/// # Errors
/// What the browser throws when it can't make a node.
pub fn play(
    context: &BaseAudioContext,
    into: &AudioNode,
    call: Call,
    at: f64,
) -> Result<(), JsValue> {
    /// Short enough for an onset that is heard on the millisecond, long enough not to click.
    const ATTACK: f64 = 0.002;
    const RELEASE: f64 = 0.02;
    const LOUD: f32 = 0.8;
    for note in notes(call) {
        let start = at + note.from_ms / 1000.0;
        let end = start + note.for_ms / 1000.0;
        let tone = context.create_oscillator()?;
        // A triangle has enough overtones to be heard through a room, and none that hiss.
        tone.set_type(OscillatorType::Triangle);
        tone.frequency().set_value(note.hertz);
        let shape = context.create_gain()?;
        let level = shape.gain();
        level.set_value(0.0);
        level.set_value_at_time(0.0, start)?;
        level.linear_ramp_to_value_at_time(LOUD, start + ATTACK)?;
        level.set_value_at_time(LOUD, (end - RELEASE).max(start + ATTACK))?;
        level.linear_ramp_to_value_at_time(0.0, end)?;
        tone.connect_with_audio_node(&shape)?;
        shape.connect_with_audio_node(into)?;
        tone.start_with_when(start)?;
        tone.stop_with_when(end + 0.01)?;
    }
    Ok(())
}
