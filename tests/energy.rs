//! Energy and heart rate against published values. How well each is known is said beside it:
//! "read" in the source or an abstract or table of it, "second hand" in a secondary transcription,
//! "arithmetic" on a published formula.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

use std::collections::BTreeSet;

use rungbook::demos::DEMOS;
use rungbook::energy::{
    AgeFormula, Edition, Load, Of, band, basis, effort_at, energy, feel, kcal_per_minute, met,
    reserve_target, zone,
};
use rungbook::link::decode;
use rungbook::plan::{Effort, Plan};
use rungbook::timeline::Timeline;

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() < 1e-9, "{found}, not {expected}");
}

/// The American Council on Exercise's worked example: 68 kg at 10 MET. Read.
#[test]
fn kilocalories_of_the_worked_example() {
    near(kcal_per_minute(10.0, 68.0), 11.9);
    near(kcal_per_minute(10.0, 68.0) * 30.0, 357.0);
    // Arithmetic: the convention of 1 kcal per kg and hour gives 1/1.05 of it.
    near(kcal_per_minute(10.0, 68.0) / 1.05, 10.0 * 68.0 / 60.0);
}

/// Compendium of Physical Activities, 2011 (Ainsworth et al., Med Sci Sports Exerc 43(8):1575-81)
/// and 2024 (Herrmann et al., J Sport Health Sci 13:6-12). Second hand.
#[test]
fn mets_of_both_editions() {
    for (what, code, y2011, y2024) in [
        ("circuit training, vigorous", "02040", 8.0, 7.5),
        ("calisthenics, vigorous", "02020", 8.0, 7.5),
        ("calisthenics, moderate", "02022", 3.8, 3.8),
        ("calisthenics, light", "02024", 2.8, 2.8),
        ("stretching, mild", "02101", 2.3, 2.3),
    ] {
        assert_eq!(met(Edition::Y2011, code), Some(y2011), "{what}");
        assert_eq!(met(Edition::Y2024, code), Some(y2024), "{what}");
    }
    // What feeds no estimate is not kept: it would be a fact that nobody sees and nobody checks.
    assert_eq!(met(Edition::Y2024, "17190"), None);
    let fed: BTreeSet<_> = Load::ALL.iter().map(|load| load.code()).collect();
    assert_eq!(fed.len(), 5);
    for code in fed {
        assert!(met(Edition::Y2011, code).is_some() && met(Edition::Y2024, code).is_some());
    }
    assert_eq!(met(Edition::Y2024, "2040"), None);
    assert_eq!(met(Edition::Y2024, ""), None);
}

/// Fox; Tanaka et al. 2001, J Am Coll Cardiol 37:153; Gellish et al. 2007, Med Sci Sports Exerc
/// 39(5):822-9 (read on a copy of its first page); Gulati et al. 2010,
/// Circulation 122:130. The values are arithmetic on the published formulas.
#[test]
fn highest_heart_rates() {
    for (formula, at_20, at_40, at_60) in [
        (AgeFormula::Fox, 200.0, 180.0, 160.0),
        (AgeFormula::Tanaka, 194.0, 180.0, 166.0),
        (AgeFormula::Gellish, 193.0, 179.0, 165.0),
        (AgeFormula::Gulati, 188.4, 170.8, 153.2),
    ] {
        for (age, expected) in [(20, at_20), (40, at_40), (60, at_60)] {
            near(formula.max(age).unwrap(), expected);
        }
        assert_eq!((formula.max(9), formula.max(101)), (None, None));
        assert!(formula.max(10).is_some() && formula.max(100).is_some());
        assert!(!formula.name().is_empty());
        // Where it was published, and when; 220 - age was never published as a formula.
        let dated = formula.source().contains(char::is_numeric);
        assert!(dated || formula == AgeFormula::Fox, "{}", formula.source());
        let journal = formula.source().contains(':');
        assert!(
            journal || formula == AgeFormula::Fox,
            "{}",
            formula.source()
        );
    }
}

/// Karvonen's method, a published worked example: 190 at most, 70 at rest. Read.
#[test]
fn heart_rate_reserve() {
    near(reserve_target(70.0, 190.0, 0.40), 118.0);
    near(reserve_target(70.0, 190.0, 0.85), 172.0);
}

/// The classes of the American College of Sports Medicine, Garber et al. 2011. The published whole
/// per cents must fall into their classes, and the bands leave no gap.
#[test]
fn classes_of_intensity() {
    use Effort::{AllOut, Light, Moderate, Vigorous};
    for (of, effort, from, to) in [
        (Of::Reserve, Light, 30, 39),
        (Of::Reserve, Moderate, 40, 59),
        (Of::Reserve, Vigorous, 60, 89),
        (Of::Reserve, AllOut, 90, 100),
        (Of::Max, Light, 57, 63),
        (Of::Max, Moderate, 64, 76),
        (Of::Max, Vigorous, 77, 95),
        (Of::Max, AllOut, 96, 100),
    ] {
        for percent in from..=to {
            assert_eq!(effort_at(f64::from(percent), of), Some(effort), "{percent}");
        }
        assert_eq!(effort_at(f64::from(to) + 0.9, of), Some(effort));
        assert_ne!(effort_at(f64::from(from) - 0.1, of), Some(effort));
        assert_eq!(band(effort, of).0, from);
        let high = band(effort, of).1;
        assert_eq!(high, (effort != AllOut).then_some(to + 1));
    }
    assert_eq!(effort_at(29.9, Of::Reserve), None);
    assert_eq!(effort_at(56.9, Of::Max), None);
}

#[test]
fn zones_of_an_effort() {
    use AgeFormula::Fox;
    // 190 at most, 70 at rest: 120 beats of reserve (arithmetic).
    let by_reserve = |effort| zone(effort, 30, Some(70), Fox);
    assert_eq!(by_reserve(Effort::Light), Some((106, Some(118))));
    assert_eq!(by_reserve(Effort::Moderate), Some((118, Some(142))));
    assert_eq!(by_reserve(Effort::Vigorous), Some((142, Some(178))));
    assert_eq!(by_reserve(Effort::AllOut), Some((178, None)));
    // 200 at most.
    let by_max = |effort| zone(effort, 20, None, Fox);
    assert_eq!(by_max(Effort::Light), Some((114, Some(128))));
    assert_eq!(by_max(Effort::Moderate), Some((128, Some(154))));
    assert_eq!(by_max(Effort::Vigorous), Some((154, Some(192))));
    assert_eq!(by_max(Effort::AllOut), Some((192, None)));
    for (age, resting) in [(9, None), (101, None), (30, Some(29)), (30, Some(121))] {
        assert_eq!(zone(Effort::Light, age, resting, Fox), None);
    }
    // No reserve: 112 at most by 206 - 0.88 x age at 100, 118 and 120 at rest.
    assert_eq!(
        zone(Effort::Light, 100, Some(120), AgeFormula::Gulati),
        None
    );
}

fn class(moves: &str, blocks: &str, ready: u32) -> Timeline {
    let file = format!(
        r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":{ready},"moves":[{moves}],"blocks":[{blocks}]}}"#
    );
    Timeline::new(&Plan::from_json(&file).unwrap())
}

#[test]
fn a_vigorous_class_without_gaps() {
    let timeline = class(
        r#"{"id":"jump","name":"Jump","effort":"vigorous"}"#,
        r#"{"kind":"rounds","moves":["jump"],"rounds":20,"work":60}"#,
        0,
    );
    let found = energy(&timeline, 68.0).unwrap();
    // Calisthenics, vigorous, 02020: 7.5 MET in 2024, 8.0 in 2011 (second hand).
    near(found.low, 7.5 * 3.5 * 68.0 / 200.0 * 20.0);
    near(found.high, 8.0 * 3.5 * 68.0 / 200.0 * 20.0);
    let [part] = found.parts.try_into().unwrap();
    assert_eq!((part.load, part.mets), (Load::Vigorous, (7.5, 8.0)));
    near(part.minutes, 20.0);
}

#[test]
fn each_minute_counts_as_what_it_is() {
    let timeline = class(
        r#"{"id":"a","name":"A","demo":60},{"id":"s","name":"S","pattern":"stretch","effort":"vigorous"},
           {"id":"l","name":"L","effort":"light"}"#,
        r#"{"kind":"flow","work":60,"rest":60,"after":60,"steps":["a",{"move":"a","effort":"all-out"},"s","l"]},
           {"kind":"interlude","lasts":60,"say":"Water"}"#,
        60,
    );
    let found = energy(&timeline, 100.0).unwrap();
    let minutes: Vec<_> = found
        .parts
        .iter()
        .map(|part| (part.load, part.minutes, part.mets))
        .collect();
    // Demo, ready, three rests, the break after the block, the interlude.
    let expected = [
        (Load::Gap, 7.0, (1.0, 2.8)),
        (Load::Stretch, 1.0, (2.3, 2.3)),
        (Load::Light, 1.0, (2.8, 2.8)),
        (Load::Moderate, 1.0, (3.8, 3.8)),
        (Load::AllOut, 1.0, (7.5, 8.0)),
    ];
    assert_eq!(minutes, expected);
    near(found.low, (7.0 + 2.3 + 2.8 + 3.8 + 7.5) * 1.75);
    near(found.high, (7.0 * 2.8 + 2.3 + 2.8 + 3.8 + 8.0) * 1.75);
}

#[test]
fn the_range_of_a_demo_class() {
    for link in DEMOS {
        let timeline = Timeline::new(&decode(link).unwrap());
        let (one, two) = (
            energy(&timeline, 50.0).unwrap(),
            energy(&timeline, 100.0).unwrap(),
        );
        assert!(0.0 < one.low && one.low < one.high);
        near(two.low, 2.0 * one.low);
        near(two.high, 2.0 * one.high);
        let minutes: f64 = one.parts.iter().map(|part| part.minutes).sum();
        near(minutes, timeline.total_ms() as f64 / 60_000.0);
        let sum = |end: fn(&(f64, f64)) -> f64| one.parts.iter().map(|p| end(&p.kcal)).sum();
        near(sum(|kcal| kcal.0), one.low);
        near(sum(|kcal| kcal.1), one.high);
    }
}

#[test]
fn masses_out_of_range_are_refused() {
    let timeline = Timeline::new(&decode(DEMOS[0]).unwrap());
    for kg in [29.9, 250.1, -70.0, f64::NAN, f64::INFINITY] {
        assert_eq!(energy(&timeline, kg), None, "{kg}");
    }
    assert!(energy(&timeline, 30.0).is_some() && energy(&timeline, 250.0).is_some());
}

#[test]
fn the_basis_names_what_it_rests_on() {
    for part in [
        "MET x 3.5 x",
        "2011 and 2024",
        "1 MET",
        "2.8 MET",
        "estimate",
        "secondary transcription",
    ] {
        assert!(basis().contains(part), "{part}");
    }
    // Two loads with the same METs are told as that, with the reason.
    assert_eq!(Load::AllOut.mets(), Load::Vigorous.mets());
    assert!(
        basis()
            .contains("All-out work counts as vigorous work does: a MET is taken at a steady pace")
    );
}

/// The talk test of the Centers for Disease Control and Prevention has words for two efforts
/// (known second hand); its name stands beside those two alone.
#[test]
fn the_talk_test_is_named_where_it_says_something() {
    for (effort, words, source) in [
        (Effort::Light, "talk and sing", "common practice"),
        (Effort::Moderate, "talk, and not sing", "CDC"),
        (Effort::Vigorous, "a few words, then a breath", "CDC"),
        (Effort::AllOut, "no words", "common practice"),
    ] {
        assert!(feel(effort).words.contains(words), "{effort:?}");
        assert!(feel(effort).source.contains(source), "{effort:?}");
    }
}
