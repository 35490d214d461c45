//! Findings: a plan that is right has none; each rule has a plan that trips it and one that just does not.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

mod common;

use rungbook::check::{Place, Remedy, check, shares};
use rungbook::library::Library;
use rungbook::plan::{Pattern, Plan};
use rungbook::timeline::Timeline;

/// A class. A move that says nothing of its effort, impact or ways gets an easier one: what has none has a
/// test of its own.
fn timeline(rest: &str) -> Timeline {
    let text = format!(r#"{{"format":"rungbook-plan","version":1,"title":"Quay",{rest}}}"#);
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    for known in file["moves"].as_array_mut().unwrap() {
        if ["effort", "options", "impact"]
            .iter()
            .all(|key| known.get(key).is_none())
        {
            known["options"] = serde_json::json!([{ "id": "e", "level": "easier", "kit": known["kit"].as_array().cloned().unwrap_or_default() }]);
        }
    }
    let text = file.to_string();
    Timeline::new(&Plan::from_json(&text).unwrap_or_else(|e| panic!("{e}: {text}")))
}

fn found(rest: &str) -> Vec<String> {
    let list = check(&timeline(rest));
    assert!(
        list.iter()
            .all(|one| !one.problem.why().is_empty() && !one.problem.source().is_empty())
    );
    list.into_iter()
        .map(|one| one.problem.to_string())
        .collect()
}

#[track_caller]
fn trips(what: &str, rest: &str) {
    let timeline = timeline(rest);
    let all = check(&timeline);
    let Some(one) = all
        .iter()
        .find(|one| one.problem.to_string().contains(what))
    else {
        panic!("no “{what}” in {all:?}");
    };
    // One touch puts it right, and leaves a plan that can be run.
    match &one.remedy {
        None | Some(Remedy::Fit) => {}
        Some(remedy) => {
            let mut plan = timeline.plan().clone();
            remedy.apply(&mut plan, &Library::shipped());
            assert_eq!(plan.validate(), Ok(vec![]), "{remedy:?}");
            let still = check(&Timeline::new(&plan));
            assert!(
                still.iter().all(|other| other.problem != one.problem),
                "{remedy:?} leaves {still:?}"
            );
        }
    }
}

#[track_caller]
fn is_right(rest: &str) {
    assert_eq!(found(rest), [""; 0]);
}

#[test]
fn the_demos_have_no_findings() {
    for demo in ["harbour-lunch", "quay-pyramid", "chair-class"] {
        let plan = common::plan_file(&format!("src/demos/{demo}.json"));
        assert_eq!(check(&Timeline::new(&plan)), [], "{demo}");
    }
}

/// A dozen classes that a coach would call good: all lengths and orders of one sound recipe.
#[test]
fn good_classes_have_no_findings() {
    for kind in [
        r#""kind":"rounds","moves":["squat","row","lunge"],"rounds":4"#,
        r#""kind":"ladder","rungs":[["squat"],["row"],["lunge"]]"#,
        r#""kind":"sets","moves":["squat","row"],"sets":4"#,
    ] {
        for (work, rest) in [(20, 10), (30, 10), (40, 20), (45, 15)] {
            is_right(&format!(
                r#""kit":[{{"id":"bells","name":"dumbbells"}}],
                "moves":[
                  {{"id":"march","name":"March","effort":"light","pattern":"travel"}},
                  {{"id":"half","name":"Half squat","effort":"light","pattern":"squat"}},
                  {{"id":"reach","name":"Reach","effort":"light","pattern":"stretch"}},
                  {{"id":"squat","name":"Squat","kit":["bells"],"effort":"vigorous","pattern":"squat",
                    "caution":"Stop if a knee hurts.","options":[{{"id":"a","level":"easier"}},{{"id":"b","level":"harder"}}]}},
                  {{"id":"row","name":"Row","kit":["bells"],"pattern":"pull"}},
                  {{"id":"lunge","name":"Lunge","sided":true,"pattern":"lunge"}}],
                "blocks":[
                  {{"kind":"flow","part":"warm-up","steps":["march","half","march","half"],"work":60,"after":10}},
                  {{"kind":"interlude","lasts":20,"say":"Water"}},
                  {{{kind},"work":{work},"rest":{rest},"break":40,"after":30}},
                  {{"kind":"interlude","lasts":20,"say":"Water"}},
                  {{"kind":"flow","part":"cool-down","steps":["march","reach","march","reach"],"work":60}}]"#
            ));
        }
    }
}

const LIGHT: &str = r#"{"id":"a","name":"A","effort":"light"}"#;

#[test]
fn a_class_is_held_against_its_slot() {
    let class = |slot: u32| {
        format!(
            r#""slot":{slot},"ready":0,"moves":[{LIGHT}],"blocks":[{{"kind":"flow","steps":["a"],"work":100}}]"#
        )
    };
    trips("1 s longer than its slot", &class(99));
    is_right(&class(100));
    // 2 % of 102 s are 2.04 s.
    is_right(&class(102));
    trips("leaves 3 s of its slot", &class(103));
}

/// ACSM's Guidelines for Exercise Testing and Prescription, 10th ed. 2018 (the edition from memory):
/// 5 to 10 minutes each of warm-up and cool-down; below half an hour in proportion (our own rule).
#[test]
fn hard_classes_want_a_warm_up_and_a_cool_down() {
    let class = |warm: u32, cool: u32| {
        format!(
            r#""ready":0,"moves":[{LIGHT},{{"id":"h","name":"H","effort":"vigorous","options":[{{"id":"e","level":"easier"}}]}}],
            "blocks":[{{"kind":"flow","part":"warm-up","steps":["a"],"work":{warm}}},
                {{"kind":"rounds","moves":["h"],"rounds":10,"work":60,"break":20}},
                {{"kind":"flow","part":"cool-down","steps":["a"],"work":{cool}}}]"#
        )
    };
    is_right(&class(150, 150));
    trips("The warm-up takes 1 min", &class(60, 150));
    trips("The cool-down takes 1 min", &class(150, 60));
    // A gentle class warms itself.
    is_right(&format!(
        r#""moves":[{LIGHT}],"blocks":[{{"kind":"rounds","moves":["a"],"rounds":10,"work":60}}]"#
    ));
}

#[test]
fn water_is_due_every_twenty_minutes() {
    let class = |rounds: u32, interlude: bool| {
        let water = if interlude {
            r#"{"kind":"interlude","lasts":30,"say":"Water"},"#
        } else {
            ""
        };
        format!(
            r#""ready":0,"moves":[{LIGHT}],"blocks":[{{"kind":"rounds","moves":["a"],"rounds":{rounds},"work":60}},{water}
            {{"kind":"rounds","moves":["a"],"rounds":10,"work":60}}]"#
        )
    };
    is_right(&class(10, false));
    trips("no interlude for water", &class(11, false));
    is_right(&class(20, true));
}

#[test]
fn sides_are_equal() {
    let class = |rounds: u32| {
        format!(
            r#""moves":[{{"id":"l","name":"Lunge","sided":true}}],
            "blocks":[{{"kind":"rounds","moves":["l"],"rounds":{rounds},"sides":"alternate","work":30,"break":10}}]"#
        )
    };
    is_right(&class(4));
    trips("30 s longer on the right side", &class(5));
    assert_eq!(check(&timeline(&class(5)))[0].place, Place::Move(0));
}

/// One hard move between a warm-up and a cool-down that suit it.
fn hard(fields: &str) -> String {
    format!(
        r#""kit":[{{"id":"k","name":"rope"}}],"moves":[
            {{"id":"w","name":"W","effort":"light","pattern":"squat","options":[{{"id":"o","level":"other","kit":["k"]}}]}},
            {{"id":"h","name":"H","pattern":"squat",{fields}}}],
        "blocks":[{{"kind":"flow","part":"warm-up","steps":["w"],"work":60,"after":10}},
            {{"kind":"rounds","moves":["h"],"rounds":4,"work":30,"break":10,"after":10}},
            {{"kind":"flow","part":"cool-down","steps":["w"],"work":60}}]"#
    )
}

#[test]
fn hard_moves_have_an_easier_way_and_jumps_are_done_without_kit() {
    let easier = r#""options":[{"id":"e","level":"easier"}]"#;
    let harder = r#""options":[{"id":"e","level":"easier"},{"id":"x","level":"harder"}]"#;
    is_right(&hard(&format!(r#""impact":"high",{easier}"#)));
    trips(
        "jumps with kit",
        &hard(&format!(r#""impact":"high","kit":["k"],{easier}"#)),
    );
    trips("jumps, and has no easier way", &hard(r#""impact":"high""#));
    trips(
        "is vigorous, and has no easier way",
        &hard(r#""effort":"vigorous""#),
    );
    is_right(&hard(r#""effort":"light""#));
    trips(
        "a harder way and no caution",
        &hard(&format!(r#""effort":"vigorous",{harder}"#)),
    );
    is_right(&hard(&format!(
        r#""effort":"vigorous","caution":"Stop if it hurts.",{harder}"#
    )));
}

#[test]
fn moderate_moves_have_an_easier_way() {
    let class = |fields: &str| {
        format!(
            r#""moves":[{{"id":"m","name":"M",{fields}}}],"blocks":[{{"kind":"flow","steps":["m"],"work":30}}]"#
        )
    };
    trips(
        "“M” is moderate, and has no easier way",
        &class(r#""effort":"moderate""#),
    );
    is_right(&class(r#""effort":"light""#));
    is_right(&class(
        r#""effort":"moderate","options":[{"id":"e","level":"easier"}]"#,
    ));
}

#[test]
fn jumps_come_after_their_pattern_was_warmed() {
    let class = |pattern: &str| {
        hard(r#""impact":"high","options":[{"id":"e","level":"easier"}]"#).replace(
            r#""name":"H","pattern":"squat""#,
            &format!(r#""name":"H","pattern":"{pattern}""#),
        )
    };
    is_right(&class("squat"));
    trips("before its pattern was warmed", &class("hinge"));
}

/// Marching and walking rise onto the toes at each step (common practice, no source); nothing else
/// stands for heel raises, and heel raises stand for nothing else.
#[test]
fn calves_are_warmed_by_heel_raises_and_by_marching() {
    let class = |warm: &str, hard_one: &str| {
        hard(r#""impact":"high","options":[{"id":"e","level":"easier"}]"#)
            .replace(
                r#""name":"H","pattern":"squat""#,
                &format!(r#""name":"H","pattern":"{hard_one}""#),
            )
            .replace(
                r#""effort":"light","pattern":"squat""#,
                &format!(r#""effort":"light","pattern":"{warm}""#),
            )
    };
    is_right(&class("calf", "calf"));
    is_right(&class("travel", "calf"));
    trips("before its pattern was warmed", &class("squat", "calf"));
    trips("before its pattern was warmed", &class("calf", "squat"));
    trips("before its pattern was warmed", &class("calf", "travel"));
}

#[test]
fn hard_work_leaves_time_to_the_floor_and_up() {
    let class = |rest: u32| {
        format!(
            r#""moves":[{{"id":"w","name":"W","effort":"light"}},
                {{"id":"h","name":"High knees","effort":"vigorous","options":[{{"id":"e","level":"easier"}}]}},
                {{"id":"p","name":"Plank","position":"floor"}}],
            "blocks":[{{"kind":"flow","part":"warm-up","steps":["w"],"work":60,"after":20}},
                {{"kind":"flow","steps":["h","p"],"work":30,"rest":{rest},"after":20}},
                {{"kind":"flow","part":"cool-down","steps":["w"],"work":60}}]"#
        )
    };
    is_right(&class(5));
    trips("down to the floor", &class(4));
}

/// The longest published intervals: 4 min vigorous (Helgerud et al. 2007), 30 s all-out (Wingate type).
#[test]
fn hard_work_has_its_rests() {
    let class = |effort: &str, work: u32| {
        hard(&format!(
            r#""effort":"{effort}","options":[{{"id":"e","level":"easier"}}]"#
        ))
        .replace(
            r#""rounds":4,"work":30"#,
            &format!(r#""rounds":1,"work":{work}"#),
        )
    };
    is_right(&class("vigorous", 240));
    trips(
        "Vigorous work goes on for 4 min 1 s",
        &class("vigorous", 241),
    );
    is_right(&class("all-out", 30));
    trips("All-out work goes on for 31 s", &class("all-out", 31));
}

#[test]
fn kit_is_used_and_there_is_time_to_fetch_it() {
    let class = |after: u32| {
        format!(
            r#""kit":[{{"id":"k","name":"rope"}}],"moves":[{{"id":"w","name":"W","effort":"light"}},{{"id":"s","name":"S","kit":["k"]}}],
            "blocks":[{{"kind":"flow","part":"warm-up","steps":["w"],"work":60,"after":{after}}},
                {{"kind":"flow","steps":["s"],"work":60,"after":5}},
                {{"kind":"flow","part":"cool-down","steps":["w"],"work":60}}]"#
        )
    };
    is_right(&class(10));
    trips("no time to fetch: rope", &class(9));
    trips("no time to fetch: rope", &class(0));
    // What a later move of the block needs is asked for as well, as it is called.
    trips(
        "no time to fetch: rope",
        &class(0)
            .replace(r#""steps":["s"]"#, r#""steps":["w","s"]"#)
            .replace(r#""work":60,"after":5"#, r#""work":60,"rest":5,"after":5"#),
    );
    trips(
        "“rope” is listed",
        &format!(
            r#""kit":[{{"id":"k","name":"rope"}}],"moves":[{LIGHT}],"blocks":[{{"kind":"flow","steps":["a"],"work":60}}]"#
        ),
    );
}

/// Common practice, no source: a dumbbell is not in the hands at the go if there is no time to take it up.
#[test]
fn within_a_block_there_is_time_to_take_kit_up() {
    let class = |position: &str, entries: &str, rest: u32| {
        format!(
            r#""kit":[{{"id":"k","name":"rope"}}],"moves":[{{"id":"w","name":"W","effort":"light"}},
                {{"id":"s","name":"S","kit":["k"],"effort":"light","position":"{position}"}}],
            "blocks":[{{"kind":"flow","part":"warm-up","steps":["w"],"work":60,"after":10}},
                {{"kind":"flow","steps":[{entries}],"work":30,"rest":{rest},"after":10}},
                {{"kind":"flow","part":"cool-down","steps":["w"],"work":60}}]"#
        )
    };
    let (take_up, put_down) = (r#""w","s""#, r#""s","w""#);
    trips(
        "Between W and S there is no time to take up: rope",
        &class("standing", take_up, 4),
    );
    is_right(&class("standing", take_up, 5));
    // To put it down takes no time of its own.
    is_right(&class("standing", put_down, 0));
    // Nor does what lies on the floor all the time.
    is_right(&class("floor", take_up, 0));
    // Told once for a block.
    let twice = found(&class("standing", r#""w","s","w","s""#, 0));
    assert_eq!(twice.len(), 1, "{twice:?}");
}

/// Common practice, no source: to turn over on the floor takes some seconds.
#[test]
fn on_the_floor_there_is_time_to_turn_over() {
    let class = |position: &str, sides: &str, change: u32| {
        format!(
            r#""moves":[{{"id":"p","name":"Side plank","sided":true,"position":"{position}","effort":"light"}}],
            "blocks":[{{"kind":"rounds","moves":["p"],"rounds":2,"work":20,"break":20,"sides":"{sides}","change":{change}}}]"#
        )
    };
    is_right(&class("floor", "paired", 3));
    trips(
        "“Side plank” has 2 s to turn over",
        &class("floor", "paired", 2),
    );
    trips(
        "“Side plank” has no time to turn over",
        &class("floor", "paired", 0),
    );
    is_right(&class("standing", "paired", 0));
    // The sides take turns with a break between.
    is_right(&class("floor", "alternate", 0));
}

/// Arithmetic: five lengths go into five rounds, and into ten.
#[test]
fn lengths_by_the_round_come_out_even() {
    let class = |rounds: u32| {
        format!(
            r#""moves":[{LIGHT}],"blocks":[{{"kind":"rounds","moves":["a"],"rounds":{rounds},"work":[20,30,40,30,20],"break":20}}]"#
        )
    };
    is_right(&class(5));
    is_right(&class(10));
    trips(
        "5 lengths of work go by the round, and there are 3 rounds",
        &class(3),
    );
    trips(
        "5 lengths of work go by the round, and there are 7 rounds",
        &class(7),
    );
}

#[test]
fn what_members_read_has_a_name() {
    let class = |moves: &str| {
        format!(r#""moves":[{moves}],"blocks":[{{"kind":"flow","steps":["a"],"work":60}}]"#)
    };
    is_right(&class(LIGHT));
    trips(
        "A move has no name",
        &class(r#"{"id":"a","name":" ","effort":"light"}"#),
    );
    trips(
        "A way to do “A” has no name",
        &class(
            r#"{"id":"a","name":"A","effort":"light","options":[{"id":"easier-2","level":"easier"}]}"#,
        ),
    );
}

/// Common practice, no source: nobody waits for nothing.
#[test]
fn a_class_ends_with_its_last_move() {
    let class = |after: u32| {
        format!(
            r#""moves":[{LIGHT}],"blocks":[{{"kind":"flow","steps":["a"],"work":60,"after":{after}}}]"#
        )
    };
    is_right(&class(10));
    trips("The class ends with a break of 11 s", &class(11));
}

/// 12 words in 5 s, 25 in 10 s at 150 words a minute (arithmetic).
#[test]
fn words_fit_their_time() {
    let class = |words: usize| {
        let how = vec!["word"; words].join(" ");
        format!(
            r#""moves":[{{"id":"a","name":"A","effort":"light","demo":10,"how":"{how}"}}],"blocks":[{{"kind":"flow","steps":["a"],"work":60}},
            {{"kind":"interlude","lasts":10,"say":"{how}"}}]"#
        )
    };
    is_right(&class(25));
    trips("The how-to of “A” takes 10 s to say", &class(26));
    trips("What the interlude says takes", &class(26));
}

#[test]
fn shares_of_patterns_are_counted() {
    let class = timeline(
        r#""moves":[{"id":"a","name":"A","pattern":"pull"},{"id":"b","name":"B","pattern":"push"},{"id":"c","name":"C"}],
        "blocks":[{"kind":"rounds","moves":["a","b","a","c"],"rounds":2,"work":30}]"#,
    );
    assert_eq!(
        shares(&class),
        [(Pattern::Pull, 120_000), (Pattern::Push, 60_000)]
    );
}

/// Kettlebell, carry and band in one window of five minutes, each a third of it.
#[test]
fn a_window_has_several_moves() {
    let class = r#""slot":300,"ready":0,"kit":[{"id":"band","name":"band"},{"id":"mat","name":"mat"}],"moves":[
        {"id":"a","name":"Swing","pattern":"hinge","effort":"vigorous","options":[{"id":"e","level":"easier"}]},
        {"id":"b","name":"Carry","pattern":"carry","effort":"moderate","options":[{"id":"e","level":"easier"}]},
        {"id":"c","name":"Climb","pattern":"pull","effort":"moderate","kit":["band"],"options":[{"id":"e","level":"easier","kit":["band"]}]},
        {"id":"d","name":"Plank jump","position":"floor","impact":"high","kit":["mat"],"options":[{"id":"e","level":"easier","kit":["mat"]}]}],
        "blocks":[{"kind":"window","work":300,"tasks":["a","b","c"]}]"#;
    let found = found(class);
    assert!(
        !found.iter().any(|one| one.contains("“band” is listed")),
        "{found:?}"
    );
    // Nothing uses the mat, and that is told: the rule still holds.
    assert!(
        found.iter().any(|one| one.contains("“mat” is listed")),
        "{found:?}"
    );
    // Vigorous is one of three.
    assert!(
        !found.iter().any(|one| one.contains("goes on for")),
        "{found:?}"
    );
    assert_eq!(
        shares(&timeline(class)),
        [
            (Pattern::Hinge, 100_000),
            (Pattern::Carry, 100_000),
            (Pattern::Pull, 100_000)
        ]
    );
    let all_hard = class.replace("moderate", "vigorous");
    assert!(
        self::found(&all_hard)
            .iter()
            .any(|one| one.contains("goes on for 5 min"))
    );
    // A mat lies where it is: a jump on it has no kit in the hands.
    let jump = class.replace(r#"["a","b","c"]"#, r#"["a","b","c","d"]"#);
    let found = self::found(&jump);
    assert!(
        !found.iter().any(|one| one.contains("jumps with kit")),
        "{found:?}"
    );
    assert!(
        !found.iter().any(|one| one.contains("“mat” is listed")),
        "{found:?}"
    );
}
