//! The calls' notes as sound: oscillators and envelopes, no samples.

use wasm_bindgen::JsValue;
use web_sys::{AudioNode, BaseAudioContext, OscillatorNode, OscillatorType};

use crate::cue::{Call, notes};

/// Puts a call on a context's clock, into a node. The first note's attack starts at `at` (seconds
/// of the context's time). `made` takes the start of each oscillator, and it, which can be stopped before it starts.
///
/// # Errors
/// What the browser throws when it can't make a node.
pub fn play(
    context: &BaseAudioContext,
    into: &AudioNode,
    call: Call,
    at: f64,
    made: &mut dyn FnMut(f64, OscillatorNode),
) -> Result<(), JsValue> {
    /// Short enough for an onset that is heard on the millisecond, long enough not to click.
    const ATTACK: f64 = 0.002;
    const RELEASE: f64 = 0.02;
    const LOUD: f32 = 0.8;
    for note in notes(call) {
        let start = at + note.from_ms as f64 / 1000.0;
        let end = start + note.for_ms as f64 / 1000.0;
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
        made(start, tone);
    }
    Ok(())
}
