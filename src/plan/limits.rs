//! How large a plan may be. Each limit holds however the plan arrives, and is checked before
//! anything is unrolled.

/// Bytes of JSON, as [`Plan::to_json`](super::Plan::to_json) writes it.
pub const JSON_BYTES: usize = 64 * 1024;
/// Bytes of a file before it is read at all: room for a hand-written file's white space.
pub const FILE_BYTES: usize = 4 * JSON_BYTES;
/// Milliseconds of a class: 12 hours.
pub const CLASS_MS: i64 = 12 * 3_600_000;
/// Segments of a class.
pub const SEGMENTS: usize = 5_000;
/// Moves of a plan.
pub const MOVES: usize = 200;
/// Blocks of a plan.
pub const BLOCKS: usize = 200;
/// Characters of one text.
pub const TEXT_CHARS: usize = 500;
/// Rounds of a block; sets, times and the 2n-1 rounds of an up-down ladder count too.
pub const ROUNDS: u32 = 99;
/// Seconds of one segment.
pub const SEGMENT_SECONDS: u32 = 3_600;
/// Characters of an id.
pub const ID_CHARS: usize = 32;
/// Entries of a plan. The format names no such limit; a window's tasks make no segment of their
/// own, so that without it a small link could ask for a lot of memory.
pub const ENTRIES: usize = SEGMENTS;
/// Notes, substitutes, marks, options, kit and references to kit of a plan, together. Like
/// [`ENTRIES`], it bounds what a small link can ask for.
pub const DETAILS: usize = 5_000;
/// Numbers in the lists (`work`, `rest`, `break`, `reps`) of a plan, together; bounds the same.
pub const NUMBERS: usize = 10_000;
