use super::*;

fn plan(ready: u32, moves: &str, blocks: &str) -> Plan {
    let text = format!(
        r#"{{"format":"rungbook-plan","version":1,"title":"t","ready":{ready},"moves":[{moves}],"blocks":[{blocks}]}}"#
    );
    Plan::from_json(&text).expect("a good plan")
}

/// 10 + 3 x (30 + 10 + 30) + 2 x 40 + 20 = 320 s, then 60 s: 380 s.
fn circuit() -> Plan {
    plan(
        10,
        r#"{"id":"a","name":"A"},{"id":"s","name":"S","sided":true}"#,
        r#"{"kind":"rounds","moves":["a","s"],"sides":"alternate","rounds":3,"work":30,"rest":10,"break":40,"after":20},
           {"kind":"flow","steps":["a"],"work":60}"#,
    )
}

fn only(kinds: &[Kind]) -> May {
    let none = May {
        breaks: false,
        rests: false,
        ..May::default()
    };
    kinds.iter().fold(none, |may, kind| may.and(*kind))
}

fn changes(fitted: &Fitted) -> Vec<(usize, Value, Vec<u32>, i64)> {
    let one = |c: &Change| (c.block, c.value, c.to.clone(), c.ms / 1000);
    fitted.changes.iter().map(one).collect()
}

fn good(plan: &Plan, slot: u32, may: &May) -> Vec<(usize, Value, Vec<u32>, i64)> {
    let fitted = fit(plan, slot, may).expect("it can be met");
    assert_eq!(length_s(&fitted.plan), i64::from(slot));
    assert!(fitted.plan.validate().is_ok());
    changes(&fitted)
}

#[test]
fn what_fits_already_is_left_alone() {
    let plan = circuit();
    let fitted = fit(&plan, 380, &May::all()).expect("it fits");
    assert_eq!((fitted.plan, fitted.changes), (plan, vec![]));
}

#[test]
fn one_value_moves_where_one_is_enough() {
    // 20 s more: the two breaks by 10 s each, rather than `after` by 20 s; the rests 3 x by no
    // multiple of 5.
    assert_eq!(
        good(&circuit(), 400, &May::default()),
        [(0, Value::Break, vec![50], 20)]
    );
    assert_eq!(
        good(&circuit(), 395, &May::default()),
        [(0, Value::Rest, vec![15], 15)]
    );
    // 6 works of 30 s and 1 of 60 s.
    assert_eq!(
        good(&circuit(), 350, &only(&[Kind::Work])),
        [(0, Value::Work, vec![25], -30)]
    );
}

#[test]
fn two_values_move_where_one_is_not_enough() {
    // 35 = 5 + 3 x 10, where 2 x 10 + 3 x 5 changes as little, but earlier in the class.
    assert_eq!(
        good(&circuit(), 415, &May::default()),
        [
            (0, Value::Rest, vec![20], 30),
            (0, Value::After, vec![25], 5)
        ]
    );
}

#[test]
fn sides_stay_even() {
    // A round more is 110 s, with its break; the fourth is even, the second too.
    assert_eq!(
        good(&circuit(), 490, &only(&[Kind::Rounds])),
        [(0, Value::Rounds, vec![4], 110)]
    );
    let miss = fit(&circuit(), 600, &only(&[Kind::Rounds])).expect_err("the fifth is odd");
    assert_eq!((miss.below, miss.above), (Some(490_000), None));
    // With lists, a number at which the sides get apart won't do either.
    let lists = plan(
        0,
        r#"{"id":"s","name":"S","sided":true}"#,
        r#"{"kind":"sets","moves":["s"],"sides":"alternate","sets":6,"work":[30,20,10]}"#,
    );
    let miss = fit(&lists, 90, &only(&[Kind::Rounds])).expect_err("4 sets are 40 s and 50 s");
    assert_eq!(miss.nearest.map(|near| near.changes), Some(vec![]));
}

#[test]
fn a_miss_says_how_near_it_comes_and_what_would_help() {
    // Breaks alone: 2 x 30 + 30 more at most.
    let may = only(&[Kind::Breaks]);
    let miss = fit(&circuit(), 500, &may).expect_err("too far");
    assert_eq!((miss.below, miss.above), (Some(470_000), None));
    let nearest = miss.nearest.expect("there is one");
    assert_eq!(length_s(&nearest.plan), 470);
    assert_eq!(
        changes(&nearest),
        [
            (0, Value::Break, vec![70], 60),
            (0, Value::After, vec![50], 30)
        ]
    );
    assert_eq!(miss.would, Some(vec![Kind::Rests]));
    // Between two steps: both sides, and nothing that helps.
    let miss = fit(&circuit(), 382, &May::all()).expect_err("no multiple of 5");
    assert_eq!((miss.below, miss.above), (Some(380_000), Some(385_000)));
    assert_eq!(miss.nearest.map(|near| near.changes), Some(vec![]));
    assert_eq!(miss.would, None);
    // Nearer from above; 383 by steps of a second.
    let miss = fit(&circuit(), 383, &May::all()).expect_err("no multiple of 5");
    assert_eq!(miss.nearest.map(|near| length_s(&near.plan)), Some(385));
    let fine = May {
        step: 1,
        ..May::default()
    };
    assert_eq!(
        good(&circuit(), 383, &fine),
        [(0, Value::Rest, vec![11], 3)]
    );
    // Breaks by 90 s, rests by 3 x 15 s, work by 6 x 30 s + 30 s: only together.
    let miss = fit(&circuit(), 380 + 90 + 45 + 210, &may).expect_err("too far");
    assert_eq!(miss.would, Some(vec![Kind::Rests, Kind::Work]));
}

#[test]
fn no_slot_is_longer_than_a_class_may_be() {
    let miss = fit(&circuit(), u32::MAX, &May::all()).expect_err("too far");
    assert!(miss.below.is_some() && miss.above.is_none() && miss.would.is_none());
    let miss = fit(&circuit(), 0, &May::all()).expect_err("too short");
    assert!(miss.below.is_none() && miss.above.is_some());
}

#[test]
fn a_locked_block_stays() {
    let may = May {
        locked: vec![0],
        ..May::all()
    };
    assert_eq!(
        good(&circuit(), 400, &may),
        [(1, Value::Work, vec![80], 20)]
    );
    let all = May {
        locked: vec![0, 1],
        ..May::all()
    };
    let miss = fit(&circuit(), 400, &all).expect_err("nothing may move");
    assert_eq!((miss.below, miss.would), (Some(380_000), None));
}

#[test]
fn what_is_zero_or_low_does_not_sink() {
    let plan = plan(
        10,
        r#"{"id":"a","name":"A"}"#,
        r#"{"kind":"rounds","moves":["a","a"],"rounds":3,"work":12,"rest":[3,0,5],"break":0}"#,
    );
    assert_eq!(length_s(&plan), 90);
    let may = May::default().and(Kind::Work);
    let miss = fit(&plan, 85, &may).expect_err("all is at its least");
    assert_eq!((miss.below, miss.above), (None, Some(90_000)));
    // One round less: 2 x 12 + 5 s.
    assert_eq!(miss.would, None);
    assert_eq!(
        good(&plan, 61, &may.and(Kind::Rounds)),
        [(0, Value::Rounds, vec![2], -29)]
    );
    assert_eq!(
        good(&plan, 100, &May::default()),
        [(0, Value::Rest, vec![8, 0, 10], 10)]
    );
}

#[test]
fn a_break_gives_way_to_demos_first() {
    // The break of 20 s is taken up by the demo of 15 s and a remainder of 5 s.
    let plan = plan(
        0,
        r#"{"id":"a","name":"A"},{"id":"b","name":"B","demo":15}"#,
        r#"{"kind":"flow","steps":["a"],"work":30,"after":20},{"kind":"flow","steps":["b"],"work":30}"#,
    );
    // `after` can take away 5 s, no more; a longer demo adds beyond 20 s alone.
    assert_eq!(
        good(&plan, 75, &May::default()),
        [(0, Value::After, vec![15], -5)]
    );
    let miss = fit(&plan, 70, &May::default()).expect_err("the demo stands in the way");
    assert_eq!((miss.below, miss.above), (None, Some(75_000)));
    assert_eq!(miss.would, Some(vec![Kind::Demos]));
    assert_eq!(
        good(&plan, 70, &May::default().and(Kind::Demos)),
        [
            (0, Value::After, vec![10], -5),
            (1, Value::Demo, vec![10], -5)
        ]
    );
    assert_eq!(
        good(&plan, 90, &only(&[Kind::Demos])),
        [(1, Value::Demo, vec![30], 10)]
    );
}

#[test]
fn calls_inside_the_work_are_not_lost() {
    let plan = plan(
        0,
        r#"{"id":"a","name":"A"}"#,
        r#"{"kind":"flow","work":40,"steps":[{"move":"a","marks":[{"at":25,"say":"Half"}]},{"move":"a","work":[60,10]}]}"#,
    );
    assert_eq!(length_s(&plan), 100);
    let may = only(&[Kind::Work]);
    let miss = fit(&plan, 70, &may).expect_err("a list's numbers move together");
    assert_eq!((miss.below, miss.above), (None, Some(100_000)));
    assert_eq!(good(&plan, 110, &may), [(0, Value::Work, vec![45], 10)]);
}

#[test]
fn what_is_not_a_plan_is_not_fitted() {
    let nothing = Miss {
        below: None,
        above: None,
        nearest: None,
        would: None,
    };
    assert_eq!(fit(&Plan::default(), 60, &May::all()), Err(nothing.clone()));
    let mut wrong = circuit();
    wrong.blocks[0].after = u32::MAX;
    assert_eq!(fit(&wrong, 400, &May::all()), Err(nothing));
}

#[test]
fn no_wish_is_too_wild() {
    let wild = May {
        step: 0,
        most: u32::MAX,
        most_rounds: u32::MAX,
        locked: vec![usize::MAX],
        ..May::all()
    };
    assert_eq!(
        good(&circuit(), 381, &wild),
        [(1, Value::Work, vec![61], 1)]
    );
    let steps = May {
        step: u32::MAX,
        ..wild
    };
    assert!(fit(&circuit(), 381, &steps).is_err());
}

#[test]
fn rounds_grow_only_within_the_number_of_segments() {
    // 50 blocks of 98 works of 5 s each: 4,900 segments, and no more than 5,000 are allowed.
    let block = r#"{"kind":"rounds","moves":["a","a"],"rounds":49,"work":5}"#;
    let long = plan(0, r#"{"id":"a","name":"A"}"#, &[block; 50].join(","));
    let may = only(&[Kind::Rounds]);
    assert!(fit(&long, 24_510, &may).is_err());
    assert_eq!(
        good(&long, 24_490, &may),
        [(49, Value::Rounds, vec![48], -10)]
    );
}
