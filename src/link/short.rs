//! Version 2: a link that refers to the library of moves.
//!
//! What it packs is a list of references and then a plan as version 1 has it, in which each move and
//! piece of kit that the library knows is hollow: what the library says of it is left out, and what
//! the coach changed stands. A coach who leaves out the last notes or ways of a move still refers to
//! it: counts say how many of the library's stand.

use serde::{Deserialize, Serialize};

use super::wire::{self, Fill, Result, WireError};
use crate::library::Library;
use crate::plan::{Kit, Move, Plan};

/// A part of a move that the plan says itself.
mod own {
    pub const ID: u8 = 1;
    pub const NAME: u8 = 1 << 1;
    pub const HOW: u8 = 1 << 2;
    pub const CAUTION: u8 = 1 << 3;
    pub const KIT: u8 = 1 << 4;
    pub const NOTES: u8 = 1 << 5;
    pub const OPTIONS: u8 = 1 << 6;
    /// Sides, pattern, effort, position, impact.
    pub const TRAITS: u8 = 1 << 7;
}

/// A move that the library knows. Of notes and options that are not the plan's own, the first so
/// many of the library's stand; a count of 15 is all of them.
#[derive(Serialize, Deserialize)]
struct MoveRef {
    /// One more than the place in the library; 0: the library does not know it, nothing follows.
    place: u32,
    own: u8,
    /// Notes in the low half, options in the high one.
    counts: u8,
}

const ALL: u8 = 15;

/// The plan with what the library says left out, and what was left out.
pub(super) fn write(plan: &Plan, library: &Library) -> Vec<u8> {
    let mut hollow = plan.clone();
    let mut refs = Vec::new();
    let mut put = |bytes: Vec<u8>| refs.extend(bytes);
    for kit in &mut hollow.kit {
        let place = library.kit.iter().position(|known| known == kit);
        put(packed(&place.map_or(0, |at| at as u32 + 1)));
        if place.is_some() {
            *kit = Kit::default();
        }
    }
    for one in &mut hollow.moves {
        let found = library
            .moves
            .iter()
            .position(|known| known.id == one.id || known.name == one.name);
        match found {
            Some(at) => put(packed(&refer(one, at, &library.moves[at]))),
            None => put(packed(&0_u32)),
        }
    }
    let mut bytes = packed(&(refs.len() as u32));
    bytes.extend(refs);
    bytes.extend(wire::write_as(&hollow, plan));
    bytes
}

fn packed<T: Serialize>(one: &T) -> Vec<u8> {
    // Appending to a vector can't fail.
    postcard::to_extend(one, Vec::new()).unwrap_or_default()
}

/// Leaves out of a move what the library says.
fn refer(one: &mut Move, at: usize, known: &Move) -> MoveRef {
    let mut own = 0;
    let mut unless = |same: bool, bit: u8| {
        if !same {
            own |= bit;
        }
        same
    };
    if unless(one.id == known.id, own::ID) {
        one.id = "".into();
    }
    if unless(one.name == known.name, own::NAME) {
        one.name.clear();
    }
    if unless(one.how == known.how, own::HOW) {
        one.how.clear();
    }
    if unless(one.caution == known.caution, own::CAUTION) {
        one.caution.clear();
    }
    if unless(one.kit == known.kit, own::KIT) {
        one.kit.clear();
    }
    let notes = first(&one.notes, &known.notes);
    if unless(notes.is_some(), own::NOTES) {
        one.notes.clear();
    }
    let options = first(&one.options, &known.options);
    if unless(options.is_some(), own::OPTIONS) {
        one.options.clear();
    }
    if unless(traits(one) == traits(known), own::TRAITS) {
        set_traits(one, &Move::default());
    }
    MoveRef {
        place: at as u32 + 1,
        own,
        counts: notes.unwrap_or(0) | options.unwrap_or(0) << 4,
    }
}

/// How many of the library's these are, where they are the first ones of it.
fn first<T: PartialEq>(these: &[T], known: &[T]) -> Option<u8> {
    let count = these.len();
    if these == known {
        Some(ALL)
    } else if count < usize::from(ALL) && known.starts_with(these) {
        Some(count as u8)
    } else {
        None
    }
}

fn traits(one: &Move) -> impl PartialEq + use<> {
    (one.sided, one.pattern, one.effort, one.position, one.impact)
}

fn set_traits(one: &mut Move, known: &Move) {
    one.sided = known.sided;
    one.pattern = known.pattern;
    one.effort = known.effort;
    one.position = known.position;
    one.impact = known.impact;
}

/// The plan, with what the library says put back.
pub(super) fn read(bytes: &[u8], library: &Library) -> Result<Plan> {
    let (len, used) = wire::take_varint(bytes).ok_or(WireError::Damaged)?;
    let (refs, plan) = bytes[used..]
        .split_at_checked(len as usize)
        .ok_or(WireError::Damaged)?;
    let mut from = Refs { refs, library };
    let plan = wire::read(plan, &mut from)?;
    if from.refs.is_empty() {
        Ok(plan)
    } else {
        Err(WireError::Damaged)
    }
}

struct Refs<'a> {
    refs: &'a [u8],
    library: &'a Library,
}

impl Fill for Refs<'_> {
    fn kit(&mut self, kit: &mut [Kit]) -> Result<()> {
        for one in kit {
            let place: u32 = take(&mut self.refs)?;
            if let Some(at) = place.checked_sub(1) {
                let known = self.library.kit.get(at as usize);
                *one = known.ok_or(WireError::Newer)?.clone();
            }
        }
        Ok(())
    }

    fn moves(&mut self, moves: &mut [Move]) -> Result<()> {
        for one in moves {
            let place: u32 = take(&mut self.refs)?;
            let Some(at) = place.checked_sub(1) else {
                continue;
            };
            let (own, counts): (u8, u8) = take(&mut self.refs)?;
            let known = self.library.moves.get(at as usize);
            fill(one, known.ok_or(WireError::Newer)?, own, counts)?;
        }
        Ok(())
    }
}

fn take<T: for<'de> Deserialize<'de>>(from: &mut &[u8]) -> Result<T> {
    let (one, rest) = postcard::take_from_bytes(from).map_err(|_| WireError::Damaged)?;
    *from = rest;
    Ok(one)
}

fn fill(one: &mut Move, known: &Move, own: u8, counts: u8) -> Result<()> {
    let left_out = |bit: u8| own & bit == 0;
    if left_out(own::ID) {
        one.id = known.id.clone();
    }
    if left_out(own::NAME) {
        one.name.clone_from(&known.name);
    }
    if left_out(own::HOW) {
        one.how.clone_from(&known.how);
    }
    if left_out(own::CAUTION) {
        one.caution.clone_from(&known.caution);
    }
    if left_out(own::KIT) {
        one.kit.clone_from(&known.kit);
    }
    let (notes, options) = (counts & ALL, counts >> 4);
    if left_out(own::NOTES) {
        one.notes = some(&known.notes, notes)?;
    } else if notes != 0 {
        return Err(WireError::Newer);
    }
    if left_out(own::OPTIONS) {
        one.options = some(&known.options, options)?;
    } else if options != 0 {
        return Err(WireError::Newer);
    }
    if left_out(own::TRAITS) {
        set_traits(one, known);
    }
    Ok(())
}

/// The first so many of the library's; more than it has, a later library does.
fn some<T: Clone>(known: &[T], count: u8) -> Result<Vec<T>> {
    let count = match count {
        ALL => known.len(),
        some => usize::from(some),
    };
    known
        .get(..count)
        .map(<[T]>::to_vec)
        .ok_or(WireError::Newer)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Block, BlockKind, Entry};

    /// A class of moves of the library, one of them as it is, one with the first of its notes.
    fn plan(library: &Library) -> Plan {
        let mut plan = Plan {
            title: "Quay circuit".into(),
            ..Plan::default()
        };
        // To leave out what is empty is to say the same.
        let says_all = |known: &Move| {
            let texts = !known.how.is_empty() && !known.caution.is_empty();
            let lists = !known.kit.is_empty() && !known.options.is_empty() && known.notes.len() > 1;
            texts && lists && traits(known) != traits(&Move::default())
        };
        let places = 0..library.moves.len();
        for at in places.filter(|at| says_all(&library.moves[*at])).take(2) {
            library.bring(at, &mut plan).unwrap();
        }
        plan.moves[1].notes.truncate(1);
        let steps = plan.moves.iter().map(|one| Entry::of(&one.id)).collect();
        plan.blocks.push(Block {
            work: 30.into(),
            ..Block::new(BlockKind::Flow { steps })
        });
        plan
    }

    #[test]
    fn no_bit_of_the_references_is_passed_over() {
        let library = Library::shipped();
        let plan = plan(&library);
        let bytes = write(&plan, &library);
        assert_eq!(super::read(&bytes, &library).ok().as_ref(), Some(&plan));
        let (len, start) = wire::take_varint(&bytes).unwrap();
        for at in start..start + len as usize {
            for bit in 0..8 {
                let mut other = bytes.clone();
                other[at] ^= 1 << bit;
                if let Ok(read) = read(&other, &library) {
                    assert_ne!(read, plan, "bit {bit} at {at}");
                }
            }
        }
    }

    #[test]
    fn more_notes_or_options_than_the_library_has_are_of_a_newer_one() {
        let library = Library::shipped();
        let known = &library.moves[0];
        let fill = |own, counts| fill(&mut Move::default(), known, own, counts);
        assert!(
            fill(
                0,
                known.notes.len() as u8 | (known.options.len() as u8) << 4
            )
            .is_ok()
        );
        assert!(fill(0, ALL | ALL << 4).is_ok());
        assert!(fill(own::NOTES | own::OPTIONS, 0).is_ok());
        for (own, counts) in [
            (0, known.notes.len() as u8 + 1),
            (0, (known.options.len() as u8 + 1) << 4),
            (own::NOTES, 1),
            (own::OPTIONS, 1 << 4),
        ] {
            let found = fill(own, counts);
            assert!(matches!(found, Err(WireError::Newer)), "{own} {counts}");
        }
    }
}
