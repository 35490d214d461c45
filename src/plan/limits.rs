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

/// A limit, by what it counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Limit {
    /// [`FILE_BYTES`].
    FileBytes,
    /// [`JSON_BYTES`].
    JsonBytes,
    /// [`TEXT_CHARS`].
    TextChars,
    /// [`SEGMENT_SECONDS`].
    SegmentSeconds,
    /// [`CLASS_MS`], in seconds.
    ClassSeconds,
    /// [`SEGMENTS`].
    Segments,
    /// Pieces of kit: [`DETAILS`].
    Kit,
    /// [`MOVES`].
    Moves,
    /// [`BLOCKS`].
    Blocks,
    /// [`ENTRIES`].
    Entries,
    /// [`DETAILS`].
    Details,
    /// [`NUMBERS`].
    Numbers,
    /// The rungs of a ladder: [`ROUNDS`].
    Rungs,
    /// [`ROUNDS`].
    Rounds,
    /// Sets of one entry: [`ROUNDS`].
    Sets,
    /// Work segments of a window: [`ROUNDS`].
    Times,
}

impl Limit {
    /// The most that there may be.
    #[must_use]
    pub fn most(self) -> u64 {
        let most = match self {
            Limit::FileBytes => FILE_BYTES,
            Limit::JsonBytes => JSON_BYTES,
            Limit::TextChars => TEXT_CHARS,
            Limit::SegmentSeconds => SEGMENT_SECONDS as usize,
            Limit::ClassSeconds => (CLASS_MS / 1000) as usize,
            Limit::Segments => SEGMENTS,
            Limit::Kit | Limit::Details => DETAILS,
            Limit::Moves => MOVES,
            Limit::Blocks => BLOCKS,
            Limit::Entries => ENTRIES,
            Limit::Numbers => NUMBERS,
            Limit::Rungs | Limit::Rounds | Limit::Sets | Limit::Times => ROUNDS as usize,
        };
        most as u64
    }

    pub(super) fn words(self) -> &'static str {
        match self {
            Limit::FileBytes => "bytes in the file",
            Limit::JsonBytes => "bytes of JSON",
            Limit::TextChars => "characters in one text",
            Limit::SegmentSeconds => "seconds in one segment",
            Limit::ClassSeconds => "seconds in all",
            Limit::Segments => "segments",
            Limit::Kit => "pieces of kit",
            Limit::Moves => "moves",
            Limit::Blocks => "blocks",
            Limit::Entries => "entries in all",
            Limit::Details => "notes and other details in all",
            Limit::Numbers => "numbers in lists",
            Limit::Rungs => "rungs",
            Limit::Rounds => "rounds",
            Limit::Sets => "sets",
            Limit::Times => "times",
        }
    }
}
