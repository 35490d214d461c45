//! What was done, as a file to save and to bring back.

use serde_json::{Value, json};

use super::{Stored as _, StoredDone};

const FORMAT: &str = "rungbook-done";
const VERSION: u64 = 1;

/// Why a file can't be brought back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HistoryError {
    /// It holds no classes that were done.
    Foreign,
    /// A newer app saved it.
    Newer,
}

/// Classes that were done, as the text of a file.
#[must_use]
pub fn history_file(all: &[StoredDone]) -> String {
    let done: Vec<_> = all
        .iter()
        .map(|one| {
            json!({
                "start": one.start, "end": one.end, "changed": one.changed, "rating": one.rating,
                "note": one.note, "plan": one.plan, "log": one.log,
            })
        })
        .collect();
    json!({ "format": FORMAT, "version": VERSION, "done": done }).to_string()
}

/// What comes of a file that is brought back: what to keep, and how many there were of each sort.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Merged {
    /// What to keep, in place of what is here.
    pub take: Vec<StoredDone>,
    /// Of these, what was not here at all.
    pub added: usize,
    /// What was changed here after it was saved: it stays as it is here.
    pub newer_here: usize,
    /// What is here already, just as in the file.
    pub same: usize,
    /// What can't be read.
    pub unreadable: usize,
}

/// Reads a file and holds it against what is here: of one class that was done the later change stays.
/// `here` finds what is kept of a class by its start, `readable` tells whether its plan and log can be
/// read: what can't is left out, since it could never be shown and never be removed.
///
/// ```
/// use rungbook::stored::{StoredDone, history_file, merge};
/// let saved = StoredDone { start: 5, end: 9, changed: 9, ..StoredDone::default() };
/// let rated = StoredDone { rating: Some(7), changed: 20, ..saved.clone() };
/// let file = history_file(&[saved]);
/// let merged = merge(&file, |_| Some(rated.clone()), |_| true).unwrap();
/// assert_eq!((merged.take.len(), merged.newer_here), (0, 1));
/// ```
///
/// # Errors
/// [`HistoryError`], where there is nothing to bring back.
pub fn merge(
    file: &str,
    here: impl Fn(i64) -> Option<StoredDone>,
    readable: impl Fn(&StoredDone) -> bool,
) -> Result<Merged, HistoryError> {
    let file: Value = serde_json::from_str(file).map_err(|_| HistoryError::Foreign)?;
    if file["format"] != FORMAT {
        return Err(HistoryError::Foreign);
    }
    match file["version"].as_u64() {
        Some(VERSION) => {}
        Some(version) if version > VERSION => return Err(HistoryError::Newer),
        _ => return Err(HistoryError::Foreign),
    }
    let all = file["done"].as_array().ok_or(HistoryError::Foreign)?;
    let mut merged = Merged::default();
    for one in all {
        let Some(came) = done(one).filter(|done| readable(done)) else {
            merged.unreadable += 1;
            continue;
        };
        // A file may hold one twice, too.
        let again = merged.take.iter_mut().find(|one| one.start == came.start);
        if let Some(before) = again {
            if before.changed < came.changed {
                *before = came;
            }
            continue;
        }
        match here(came.start) {
            None => {
                merged.added += 1;
                merged.take.push(came);
            }
            Some(has) if says_the_same(&has, &came) => merged.same += 1,
            Some(has) if has.changed >= came.changed => merged.newer_here += 1,
            Some(_) => merged.take.push(came),
        }
    }
    Ok(merged)
}

impl Merged {
    /// Of what to keep, what takes the place of something that was changed earlier.
    #[must_use]
    pub fn replaced(&self) -> usize {
        self.take.len() - self.added
    }
}

fn says_the_same(one: &StoredDone, other: &StoredDone) -> bool {
    let at_one_instant = StoredDone {
        changed: one.changed,
        ..other.clone()
    };
    *one == at_one_instant
}

/// One class of a file, if it is what a stored one may be.
fn done(one: &Value) -> Option<StoredDone> {
    let text = |name: &str| one[name].as_str().map(str::to_owned);
    let rating = match &one["rating"] {
        Value::Null => None,
        rating => Some(u8::try_from(rating.as_u64()?).ok()?),
    };
    let done = StoredDone {
        start: one["start"].as_i64()?,
        end: one["end"].as_i64()?,
        changed: one["changed"].as_i64()?,
        rating,
        note: text("note")?,
        plan: text("plan")?,
        log: text("log")?,
    };
    // It is kept as a text: so it has to come back from one.
    let kept = StoredDone::from_text(&done.start.to_string(), &done.to_text());
    kept.ok().filter(|kept| *kept == done)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(start: i64, changed: i64, rating: Option<u8>) -> StoredDone {
        StoredDone {
            start,
            end: start + 10,
            changed,
            rating,
            note: "a\nnote".to_owned(),
            ..StoredDone::default()
        }
    }

    #[test]
    fn of_one_class_the_later_change_stays_and_all_of_it_is_told() {
        let here = [at(1, 50, Some(7)), at(2, 20, None), at(3, 20, Some(4))];
        let find = |start| here.iter().find(|one| one.start == start).cloned();
        // Rated here after it was saved; rated there later; the same; not here.
        let came = [
            at(1, 20, None),
            at(2, 60, Some(5)),
            at(3, 90, Some(4)),
            at(4, 30, None),
        ];
        let merged = merge(&history_file(&came), find, |_| true);
        let expected = Merged {
            take: vec![came[1].clone(), came[3].clone()],
            added: 1,
            newer_here: 1,
            same: 1,
            unreadable: 0,
        };
        assert_eq!(merged, Ok(expected.clone()));
        assert_eq!(expected.replaced(), 1);
        // At one instant nothing tells which came first: what is here stays.
        let tie = merge(&history_file(&[at(1, 50, None)]), find, |_| true);
        assert_eq!(tie.map(|merged| merged.newer_here), Ok(1));
    }

    #[test]
    fn bringing_back_twice_or_in_any_order_comes_to_the_same() {
        let versions = [at(1, 20, None), at(1, 60, Some(5)), at(1, 40, Some(9))];
        for order in [
            [0, 1, 2],
            [0, 2, 1],
            [1, 0, 2],
            [1, 2, 0],
            [2, 0, 1],
            [2, 1, 0],
        ] {
            let mut here: Option<StoredDone> = None;
            for at in order {
                let file = history_file(&versions[at..=at]);
                let merged = merge(&file, |_| here.clone(), |_| true).unwrap();
                here = merged.take.first().cloned().or(here);
            }
            assert_eq!(here.as_ref(), Some(&versions[1]));
            let all = history_file(&order.map(|at| versions[at].clone()));
            let merged = merge(&all, |_| None, |_| true).unwrap();
            assert_eq!((merged.take, merged.added), (vec![versions[1].clone()], 1));
        }
    }

    #[test]
    fn what_can_not_be_read_is_counted_and_takes_nothing_with_it() {
        let mut file: Value = serde_json::from_str(&history_file(&[at(1, 2, None)])).unwrap();
        let good = file["done"][0].clone();
        let all = file["done"].as_array_mut().unwrap();
        for (name, wrong) in [
            ("start", json!("5")),
            ("start", json!(9e18)),
            ("end", json!(i64::MAX)),
            ("changed", Value::Null),
            ("rating", json!(11)),
            ("rating", json!(-1)),
            ("note", json!(5)),
            ("plan", Value::Null),
        ] {
            let mut bad = good.clone();
            bad[name] = wrong;
            all.push(bad);
        }
        let merged = merge(&file.to_string(), |_| None, |_| true).unwrap();
        assert_eq!((merged.added, merged.unreadable), (1, 8));
        let merged = merge(&file.to_string(), |_| None, |_| false).unwrap();
        assert_eq!((merged.added, merged.unreadable), (0, 9));
    }

    #[test]
    fn a_file_of_something_else_is_told_from_a_newer_one() {
        let check = |file: &str, expected| {
            assert_eq!(merge(file, |_| None, |_| true), Err(expected), "{file}");
        };
        for file in [
            "",
            "{}",
            "[1]",
            r#"{"format":"rungbook-plan","version":1}"#,
            r#"{"format":"rungbook-done","done":[]}"#,
            r#"{"format":"rungbook-done","version":1}"#,
        ] {
            check(file, HistoryError::Foreign);
        }
        let newer = r#"{"format":"rungbook-done","version":2,"all":[]}"#;
        check(newer, HistoryError::Newer);
    }
}
