//! The search: of all ways to move values so that the seconds they add sum to a target, the best.
//!
//! A cost is a pair: how many values are changed, then the largest size of a change. Costs of two
//! parts of a class are joined by adding the counts and taking the larger size, and compared as
//! pairs. Joining keeps the order: if a ≤ b then a+c ≤ b+c, because with a lower count a stays
//! ahead whatever the sizes, and with the same count its size is at most b's, and so is the larger
//! of it and c's. Thus for each sum of the parts so far the best way alone has to be kept: a worse
//! one can be replaced in any whole that it is part of without making the whole worse. That is
//! dynamic programming with the sum as its state, and it is exact.
//!
//! The sum of all sizes as a third number of the pair would break this (a lower largest size may
//! have the larger sum, and lose its lead to c). So the sum has a search of its own: among the ways
//! with no size above the best largest one, the cost is (count, sum of sizes), and both add up.

/// A value of a group that moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Moved {
    pub group: usize,
    pub value: super::value::Value,
    /// Seconds; of rounds: rounds.
    pub by: i64,
}

/// One way to move a value whose effect does not depend on the others of its case.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    pub by: i64,
    /// Seconds that it adds to the class.
    pub adds: i64,
}

/// A value with the ways in which it may move; to stay is always one more.
#[derive(Clone, Debug)]
pub(super) struct Axis {
    pub value: super::value::Value,
    pub ways: Vec<Way>,
}

/// Choices that bear on what other values add, taken together; the other values then add up.
#[derive(Clone, Debug, Default)]
pub(super) struct Case {
    /// Seconds that the choices add to the class.
    pub adds: i64,
    /// Value, by how much, size of the change.
    pub moved: Vec<(super::value::Value, i64, u32)>,
    pub axes: Vec<Axis>,
}

/// A part of the class that adds seconds of its own accord: one of its cases holds.
#[derive(Clone, Debug)]
pub(super) struct Item {
    pub group: usize,
    pub cases: Vec<Case>,
}

impl Case {
    /// The least and the most that it can add.
    fn range(&self) -> (i64, i64) {
        self.axes
            .iter()
            .fold((self.adds, self.adds), |(lo, hi), axis| {
                let adds = || axis.ways.iter().map(|way| way.adds);
                (
                    lo + adds().min().unwrap_or(0).min(0),
                    hi + adds().max().unwrap_or(0).max(0),
                )
            })
    }
}

impl Item {
    fn range(&self) -> (i64, i64) {
        self.cases.iter().fold((0, 0), |(lo, hi), case| {
            let (low, high) = case.range();
            (lo.min(low), hi.max(high))
        })
    }
}

// ---- What can be reached ----

/// A set of sums, as bits from the lowest on.
#[derive(Clone, Debug)]
pub(super) struct Sums {
    lo: i64,
    hi: i64,
    words: Vec<u64>,
}

impl Sums {
    fn none(lo: i64, hi: i64) -> Sums {
        let bits = usize::try_from(hi - lo + 1).unwrap_or(0);
        Sums {
            lo,
            hi,
            words: vec![0; bits.div_ceil(64)],
        }
    }

    fn only(sum: i64, lo: i64, hi: i64) -> Sums {
        let mut sums = Sums::none(lo, hi);
        sums.put((sum - lo).div_euclid(64), 1 << (sum - lo).rem_euclid(64));
        sums
    }

    pub(super) fn has(&self, sum: i64) -> bool {
        (self.lo..=self.hi).contains(&sum)
            && usize::try_from(sum - self.lo).is_ok_and(|bit| {
                let word = self.words.get(bit / 64);
                word.is_some_and(|word| word >> (bit % 64) & 1 == 1)
            })
    }

    /// The largest sum below another.
    pub(super) fn below(&self, sum: i64) -> Option<i64> {
        (self.lo..sum.min(self.hi + 1))
            .rev()
            .find(|one| self.has(*one))
    }

    /// The smallest sum above another.
    pub(super) fn above(&self, sum: i64) -> Option<i64> {
        (self.lo.max(sum + 1)..=self.hi).find(|one| self.has(*one))
    }

    fn all(&self) -> impl Iterator<Item = i64> {
        (self.lo..=self.hi).filter(|sum| self.has(*sum))
    }

    /// Adds every sum of another set, each raised by a number; what lies outside is left out.
    fn join(&mut self, other: &Sums, by: i64) {
        let start = other.lo + by - self.lo;
        for (i, word) in other.words.iter().enumerate().filter(|(_, w)| **w != 0) {
            let at = start + 64 * i as i64;
            let (to, bit) = (at.div_euclid(64), at.rem_euclid(64));
            self.put(to, word << bit);
            if bit > 0 {
                self.put(to + 1, word >> (64 - bit));
            }
        }
    }

    fn put(&mut self, at: i64, bits: u64) {
        let word = usize::try_from(at).ok().and_then(|i| self.words.get_mut(i));
        if let Some(word) = word {
            *word |= bits;
        }
    }
}

fn reach_of(item: &Item) -> Sums {
    let (lo, hi) = item.range();
    let mut sums = Sums::only(0, lo, hi);
    for case in &item.cases {
        let mut here = Sums::only(case.adds, lo, hi);
        for axis in &case.axes {
            let before = here.clone();
            for way in &axis.ways {
                here.join(&before, way.adds);
            }
        }
        sums.join(&here, 0);
    }
    sums
}

/// Every number of seconds that the items can add together.
pub(super) fn reach(items: &[Item]) -> Sums {
    let mut sums = Sums::only(0, 0, 0);
    for item in items {
        let own = reach_of(item);
        let mut joined = Sums::none(sums.lo + own.lo, sums.hi + own.hi);
        own.all().for_each(|add| joined.join(&sums, add));
        sums = joined;
    }
    sums
}

// ---- The best way ----

/// Count in the high half, size in the low half: compared as one number, that is as a pair.
type Cost = u64;

/// What the low half of a cost is.
#[derive(Clone, Copy)]
enum Aim {
    /// The largest size.
    Largest,
    /// The sum of sizes, none of which is above this.
    Sum { most: u32 },
}

impl Aim {
    fn one(self, size: u32) -> Option<Cost> {
        match self {
            Aim::Sum { most } if size > most => None,
            _ => Some(1 << 32 | u64::from(size)),
        }
    }

    fn join(self, a: Cost, b: Cost) -> Cost {
        match self {
            Aim::Sum { .. } => a + b,
            Aim::Largest => ((a >> 32) + (b >> 32)) << 32 | u64::from(size(a).max(size(b))),
        }
    }
}

fn count(cost: Cost) -> u64 {
    cost >> 32
}

fn size(cost: Cost) -> u32 {
    cost as u32
}

/// The best found so far for each sum within a window.
struct Best<T> {
    lo: i64,
    /// Where each sum stands in `found`.
    slots: Vec<u32>,
    found: Vec<Found<T>>,
}

#[derive(Clone, Copy)]
struct Found<T> {
    sum: i64,
    /// The cost, then what decides between equal costs.
    key: (Cost, Cost),
    how: T,
}

const EMPTY: u32 = u32::MAX;

impl<T: Copy> Best<T> {
    fn new(lo: i64, hi: i64) -> Best<T> {
        Best {
            lo,
            slots: vec![EMPTY; usize::try_from(hi - lo + 1).unwrap_or(0)],
            found: Vec::new(),
        }
    }

    /// Keeps what is better than what stands there; outside the window nothing is kept.
    fn offer(&mut self, sum: i64, key: (Cost, Cost), how: T) {
        let slot = usize::try_from(sum - self.lo).ok();
        let Some(slot) = slot.and_then(|at| self.slots.get_mut(at)) else {
            return;
        };
        let new = Found { sum, key, how };
        match self.found.get_mut(*slot as usize) {
            Some(old) if key < old.key => *old = new,
            Some(_) => {}
            None => {
                *slot = self.found.len() as u32;
                self.found.push(new);
            }
        }
    }

    /// Hands over what was found, and is empty again.
    fn take(&mut self) -> Vec<Found<T>> {
        for one in &self.found {
            let slot = usize::try_from(one.sum - self.lo).ok();
            if let Some(slot) = slot.and_then(|at| self.slots.get_mut(at)) {
                *slot = EMPTY;
            }
        }
        core::mem::take(&mut self.found)
    }
}

/// By how much each value of a group moves, by its place in [`super::value::Value`].
type Bys = [i32; 8];

/// The best way to each number of seconds that an item can add with at most so many changes, the
/// cheapest first.
fn table(item: &Item, aim: Aim, most: u64) -> Vec<Found<Bys>> {
    let (lo, hi) = item.range();
    let (mut best, mut next) = (Best::new(lo, hi), Best::new(lo, hi));
    best.offer(0, (0, 0), Bys::default());
    for case in &item.cases {
        let mut start = Found {
            sum: case.adds,
            key: (0, 0),
            how: Bys::default(),
        };
        let mut allowed = true;
        for (value, by, size) in &case.moved {
            allowed &= aim.one(*size).is_some();
            start.key.0 = aim.join(start.key.0, aim.one(*size).unwrap_or(0));
            start.how[*value as usize] = *by as i32;
        }
        if !allowed || count(start.key.0) > most {
            continue;
        }
        let mut here = vec![start];
        for axis in &case.axes {
            for one in &here {
                next.offer(one.sum, one.key, one.how);
                if count(one.key.0) == most {
                    continue;
                }
                for way in &axis.ways {
                    let Some(cost) = aim.one(way.by.unsigned_abs() as u32) else {
                        continue;
                    };
                    let mut how = one.how;
                    how[axis.value as usize] = way.by as i32;
                    next.offer(one.sum + way.adds, (aim.join(one.key.0, cost), 0), how);
                }
            }
            here = next.take();
        }
        for one in here {
            best.offer(one.sum, one.key, one.how);
        }
    }
    let mut table = best.take();
    table.sort_by_key(|one| (one.key, one.sum));
    table
}

/// The best way to a target with at most so many changes: its cost and how.
fn search(items: &[Item], target: i64, aim: Aim, most: u64) -> Option<(Cost, Vec<Moved>)> {
    let tables: Vec<_> = items.iter().map(|item| table(item, aim, most)).collect();
    // What the items from each on can still add bounds the sums that can lead to the target.
    let mut rest = vec![(0, 0)];
    for table in tables.iter().rev() {
        let (lo, hi) = rest.last().copied().unwrap_or_default();
        let sums = || table.iter().map(|one| one.sum);
        rest.push((
            lo + sums().min().unwrap_or(0),
            hi + sums().max().unwrap_or(0),
        ));
    }
    rest.reverse();
    let mut layers = vec![vec![Found {
        sum: 0,
        key: (0, 0),
        how: (0usize, 0usize),
    }]];
    let (mut least, mut largest) = (0, 0);
    for (table, (lo, hi)) in tables.iter().zip(rest.iter().skip(1)) {
        least += table.iter().map(|one| one.sum).min().unwrap_or(0);
        largest += table.iter().map(|one| one.sum).max().unwrap_or(0);
        let mut best = Best::new(least.max(target - hi), largest.min(target - lo));
        for (from, before) in layers.last().into_iter().flatten().enumerate() {
            for (with, one) in table.iter().enumerate() {
                let cost = aim.join(before.key.0, one.key.0);
                if count(cost) > most {
                    break; // the table goes by cost
                }
                // Of equal costs the one that has changed less by here: it changes later blocks.
                best.offer(before.sum + one.sum, (cost, before.key.0), (from, with));
            }
        }
        layers.push(best.take());
    }
    let mut at = layers
        .last()?
        .iter()
        .position(|found| found.sum == target)?;
    let cost = layers.last()?.get(at)?.key.0;
    let mut moved = Vec::new();
    for ((layer, table), item) in layers.iter().skip(1).zip(&tables).zip(items).rev() {
        let (from, with) = layer.get(at)?.how;
        let bys = table.get(with)?.how;
        for value in VALUES {
            let by = i64::from(bys[value as usize]);
            if by != 0 {
                moved.push(Moved {
                    group: item.group,
                    value,
                    by,
                });
            }
        }
        at = from;
    }
    Some((cost, moved))
}

const VALUES: [super::value::Value; 8] = {
    use super::value::Value::{After, Break, Change, Demo, Interlude, Rest, Rounds, Work};
    [After, Rounds, Demo, Interlude, Break, Rest, Change, Work]
};

/// The best way to add a number of seconds that is within reach.
pub(super) fn solve(items: &[Item], target: i64) -> Vec<Moved> {
    let all = (VALUES.len() * items.len().max(1)) as u64;
    // Few changes nearly always do, and with few allowed there is far less to look through. What
    // takes more than are allowed can't be the best where fewer do.
    let mut most = 3;
    loop {
        if let Some((cost, moved)) = search(items, target, Aim::Largest, most) {
            let aim = Aim::Sum { most: size(cost) };
            return search(items, target, aim, count(cost)).map_or(moved, |(_, least)| least);
        }
        if most >= all {
            return Vec::new();
        }
        most *= 2;
    }
}
