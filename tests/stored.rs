//! What is kept on the phone: whatever it holds comes back as it was, and whatever is damaged takes
//! nothing else with it.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::sample::Index;

use common::cases;
use rungbook::draft::Given;
use rungbook::stored::{
    Body, Settings, Stored, StoredClass, StoredDone, StoredDraft, StoredRun, Unreadable, list, read,
};

/// Texts that would break a form of lines, of words, of quotes, of lengths.
fn hostile() -> BoxedStrategy<String> {
    let mean = prop::sample::select(vec![
        "",
        "\n",
        "\\",
        "\\n",
        "\r\n",
        "log=",
        "plan=AQx\nlog=other\n",
        "a\nsource=b",
        "\"}",
        "\u{0}",
        "\u{202e}",
        "5\nend=7\n",
        "é\u{1f3cb}",
    ]);
    let parts = prop::collection::vec(prop_oneof![mean.prop_map(str::to_owned), ".{0,8}"], 0..6);
    parts.prop_map(|parts| parts.concat()).boxed()
}

fn instant() -> BoxedStrategy<i64> {
    prop_oneof![Just(0), -5_i64..5, 1_700_000_000_000_i64..1_900_000_000_000].boxed()
}

fn class() -> impl Strategy<Value = StoredClass> {
    (hostile(), hostile(), instant(), prop::option::of(instant())).prop_map(
        |(key, source, used, at)| StoredClass {
            key,
            source,
            used,
            at,
        },
    )
}

fn run() -> impl Strategy<Value = StoredRun> {
    let joins = prop::option::of(instant());
    (hostile(), hostile(), instant(), joins, any::<u64>()).prop_map(
        |(plan, log, seen, joins, generation)| StoredRun {
            plan,
            log,
            seen,
            joins,
            generation,
        },
    )
}

fn done() -> impl Strategy<Value = StoredDone> {
    let texts = (hostile(), hostile(), hostile());
    let instants = (instant(), instant(), instant());
    (texts, instants, prop::option::of(0_u8..=10)).prop_map(
        |((note, plan, log), (start, end, changed), rating)| StoredDone {
            start,
            end,
            changed,
            rating,
            note,
            plan,
            log,
        },
    )
}

fn draft() -> impl Strategy<Value = StoredDraft> {
    let given = any::<(u32, u64)>().prop_map(|(revision, digest)| Given { revision, digest });
    (hostile(), hostile(), instant(), prop::option::of(given)).prop_map(
        |(key, text, edited, given)| StoredDraft {
            key,
            edited,
            given,
            text,
        },
    )
}

fn comes_back<T: Stored + PartialEq + core::fmt::Debug>(one: T) {
    assert_eq!(read(&one.key(), Some(&one.to_text())), Ok(Some(one)));
}

const GIVEN: Given = Given {
    revision: 2,
    digest: 9,
};

/// A storage with one of each kind, and what it says.
fn shelf() -> BTreeMap<String, String> {
    let class = |key: &str, used| StoredClass {
        key: key.to_owned(),
        source: "AQx_-".to_owned(),
        used,
        at: Some(1_795_000_000_000),
    };
    let done = |start, rating| StoredDone {
        start,
        end: start + 1_800_000,
        changed: start + 1_900_000,
        rating,
        note: "the left knee\nwas fine".to_owned(),
        plan: "AQx_-".to_owned(),
        log: "rungbook-run 1 0000000000000007\n5 start\n9 pause\n".to_owned(),
    };
    let draft = |key: &str| StoredDraft {
        key: key.to_owned(),
        edited: 1_795_000_000_000,
        given: Some(GIVEN),
        text: "class Quay circuit\n\nrounds 3\n- squat\n".to_owned(),
    };
    let run = StoredRun {
        plan: "AQx_-".to_owned(),
        log: "rungbook-run 1 0000000000000007\n5 start\n".to_owned(),
        seen: 1_795_000_000_000,
        joins: Some(1_795_000_120_000),
        generation: 4,
    };
    let mut texts = BTreeMap::new();
    let mut put = |key: String, text: String| texts.insert(key, text);
    for one in [class("quay", 3), class("hall", 9)] {
        put(one.key(), one.to_text());
    }
    for one in [
        done(1_790_000_000_000, Some(7)),
        done(1_791_000_000_000, None),
    ] {
        put(one.key(), one.to_text());
    }
    for one in [draft("quay"), draft("pier")] {
        put(one.key(), one.to_text());
    }
    put(run.key(), run.to_text());
    put(Settings::default().key(), Settings::default().to_text());
    put(Body::default().key(), Body::default().to_text());
    texts
}

/// All that a storage says, each under its key.
fn said(shelf: &BTreeMap<String, String>) -> BTreeMap<String, String> {
    fn put<T: Stored + core::fmt::Debug>(
        shelf: &BTreeMap<String, String>,
        said: &mut BTreeMap<String, String>,
    ) {
        for one in list::<T>(shelf.clone()) {
            said.insert(one.key(), format!("{one:?}"));
        }
    }
    let mut said = BTreeMap::new();
    put::<StoredClass>(shelf, &mut said);
    put::<StoredRun>(shelf, &mut said);
    put::<StoredDone>(shelf, &mut said);
    put::<StoredDraft>(shelf, &mut said);
    put::<Settings>(shelf, &mut said);
    put::<Body>(shelf, &mut said);
    said
}

/// Reads a storage in which one text is another, and holds all the others against what they said.
fn damage(key: &str, text: String) {
    let mut shelf = shelf();
    let before = said(&shelf);
    shelf.insert(key.to_owned(), text.clone());
    let after = said(&shelf);
    let others = |said: &BTreeMap<String, String>| {
        let mut others = said.clone();
        others.remove(key);
        others
    };
    assert_eq!(others(&after), others(&before), "{key}: {text:?}");
    // A class is listed whatever happened to it, and the coach's text is what it was worked for.
    assert!(
        after.contains_key(key) || !key.starts_with(StoredClass::KEYS),
        "{key}: {text:?}"
    );
}

#[test]
fn a_text_that_is_damaged_in_any_byte_takes_nothing_else_with_it() {
    for (key, text) in shelf() {
        let bytes = text.as_bytes();
        for at in 0..bytes.len() {
            for byte in [0, b'\n', b'=', b'\\', b'-', b'9', b'z', 0xff, bytes[at] ^ 1] {
                let mut damaged = bytes.to_vec();
                damaged[at] = byte;
                damage(&key, String::from_utf8_lossy(&damaged).into_owned());
            }
            // Cut there, or with that byte missing.
            damage(&key, String::from_utf8_lossy(&bytes[..at]).into_owned());
            let without = [&bytes[..at], &bytes[at + 1..]].concat();
            damage(&key, String::from_utf8_lossy(&without).into_owned());
        }
    }
}

#[test]
fn a_run_or_a_record_that_was_cut_is_not_taken_for_a_shorter_one() {
    for (key, text) in shelf() {
        for end in 0..text.len() {
            let cut = Some(&text[..end]);
            if key.starts_with(StoredRun::KEYS) {
                assert_eq!(read::<StoredRun>(&key, cut), Err(Unreadable::Damaged));
            }
            if key.starts_with(StoredDone::KEYS) {
                assert_eq!(read::<StoredDone>(&key, cut), Err(Unreadable::Damaged));
            }
        }
    }
}

#[test]
fn nothing_there_damaged_and_newer_are_told_apart() {
    let run = StoredRun::default();
    assert_eq!(read::<StoredRun>(&run.key(), None), Ok(None));
    for text in [
        "",
        "\n",
        "{",
        "17\nAQ",
        "seen=1\nplan=\n",
        "seen=x\nplan=\nlog=\n",
    ] {
        let found = read::<StoredRun>(&run.key(), Some(text));
        assert_eq!(found, Err(Unreadable::Damaged), "{text:?}");
    }
    let newer = read::<StoredRun>("rungbook/2/run", Some(&run.to_text()));
    assert_eq!(newer, Err(Unreadable::Newer));
    // Keys that no record of this app has.
    let done = StoredDone::default().to_text();
    for name in ["", "x", "+5", "05", "5 ", "9223372036854775807"] {
        let key = format!("{}{name}", StoredDone::KEYS);
        let found = read::<StoredDone>(&key, Some(&done));
        assert_eq!(found, Err(Unreadable::Damaged), "{key:?}");
    }
}

#[test]
fn what_no_record_can_say_is_damage() {
    let done = StoredDone::default();
    let text = done.to_text();
    for (field, wrong) in [
        ("end=0", "end=9223372036854775807"),
        ("end=0", "end=8640000000000001"),
        ("changed=0", "changed=soon"),
        ("note=", "rating=11\nnote="),
        ("note=", "rating=-1\nnote="),
        ("note=", "note=\\x"),
        ("note=", "note=\\"),
    ] {
        let found = read::<StoredDone>(&done.key(), Some(&text.replace(field, wrong)));
        assert_eq!(found, Err(Unreadable::Damaged), "{wrong:?}");
    }
}

#[test]
fn a_text_that_was_written_comes_whatever_else_of_it_is_damaged() {
    let draft = StoredDraft {
        key: "quay".to_owned(),
        edited: 5,
        given: Some(GIVEN),
        text: "class Quay\n".to_owned(),
    };
    let text = draft.to_text().replace("edited=5", "edited=?");
    let found = read::<StoredDraft>(&draft.key(), Some(&text)).unwrap();
    assert_eq!(
        found,
        Some(StoredDraft {
            edited: 0,
            ..draft.clone()
        })
    );
    // That it went out is still known: its number is not used again.
    let text = draft.to_text().replace("given=2", "given=?");
    let found = read::<StoredDraft>(&draft.key(), Some(&text)).unwrap();
    assert_eq!(found.unwrap().given, Some(Given::default()));
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn whatever_is_kept_comes_back_as_it_was(
        class in class(), run in run(), done in done(), draft in draft(),
    ) {
        comes_back(class);
        comes_back(run);
        comes_back(done);
        comes_back(draft);
    }

    #[test]
    fn no_text_under_any_key_takes_anything_else_with_it(
        which in any::<Index>(), text in hostile(),
    ) {
        let keys: Vec<String> = shelf().into_keys().collect();
        damage(which.get::<String>(&keys), text);
    }
}
