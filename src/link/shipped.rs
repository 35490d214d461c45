//! The library that ships, unpacked. It is packed as a class is in a link, and a link knows the library
//! and not the other way round: so this stands here.

use super::{pack, wire};
use crate::library::Library;
use crate::plan::{Kit, Move, Plan};

impl Library {
    /// The library that ships with the app.
    ///
    /// ```
    /// use rungbook::library::Library;
    /// let library = Library::shipped();
    /// assert!(library.moves.len() >= 80);
    /// assert!(library.find("glute bridge").iter().any(|(_, known)| known.name == "Glute bridge"));
    /// ```
    #[must_use]
    pub fn shipped() -> Library {
        // A test reads it; were it damaged all the same, there would be nothing to pick from.
        unpack_moves(include_bytes!("../library/moves.bin"))
            .map(|(kit, moves)| Library { kit, moves })
            .unwrap_or_default()
    }
}

/// Packs kit and moves, as the library is kept.
#[must_use]
pub fn pack_moves(kit: &[Kit], moves: &[Move]) -> Vec<u8> {
    pack::deflate(&wire::write(&Plan {
        kit: kit.to_vec(),
        moves: moves.to_vec(),
        ..Plan::default()
    }))
}

/// The kit and the moves that were packed.
#[must_use]
pub fn unpack_moves(packed: &[u8]) -> Option<(Vec<Kit>, Vec<Move>)> {
    const MOST_BYTES: usize = 1 << 20;
    let plan = wire::read(&pack::inflate(packed, MOST_BYTES)?, &mut ()).ok()?;
    Some((plan.kit, plan.moves))
}
