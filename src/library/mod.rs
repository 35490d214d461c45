//! Common moves, written once by us: what a coach picks from, and what a short link refers to.
//!
//! The file `moves.json` is what is written; `moves.bin` is the same, packed as links pack, and what
//! the app carries: [`link`](crate::link) unpacks it, as [`Library::shipped`]. A link refers to a move by
//! its place: from the first release on the library is append-only.
//!
//! An id is the name in small letters with hyphens. Kit, position, sides and impact are told twice, as
//! facts and in the how-to; a test holds the two against each other. Facts, cues and cautions are
//! common practice, no source.

use crate::plan::{Impact, Kit, Level, Move, Pattern, Plan, Word as _};

/// Moves with the kit that they refer to.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Library {
    /// The kit that the moves refer to, by id.
    pub kit: Vec<Kit>,
    /// The moves.
    pub moves: Vec<Move>,
}

impl Library {
    /// The moves that have all of the words, one of them or several, each with its place: in the name,
    /// the pattern, the position, the kit, or a way. Names that have the words come first. An empty text
    /// finds all.
    #[must_use]
    pub fn find(&self, words: &str) -> Vec<(usize, &Move)> {
        let small = words.to_lowercase();
        let mut found: Vec<_> = self.moves.iter().enumerate().collect();
        found.retain(|(_, known)| {
            let said = said(known, &self.kit);
            has_all(&said, &small)
        });
        found.sort_by_cached_key(|(_, known)| distance(known, words));
        found
    }

    /// Puts a move of the library into a plan, with the kit that it needs, unless the plan has one
    /// with its id. Returns its id.
    pub fn bring(&self, at: usize, plan: &mut Plan) -> Option<crate::plan::Id> {
        let known = self.moves.get(at)?;
        if plan.move_named(&known.id).is_none() {
            for id in known.all_kit() {
                if plan.kit_named(id).is_none()
                    && let Some(kit) = self.kit.iter().find(|kit| kit.id == *id)
                {
                    plan.kit.push(kit.clone());
                }
            }
            plan.moves.push(known.clone());
        }
        Some(known.id.clone())
    }
}

/// What coaches call the same move.
const OTHER_NAMES: [(&str, &str); 12] = [
    ("push-up", "press-up press up"),
    ("crunch", "sit-up sit up abs"),
    ("jumping jack", "star jump"),
    ("glute bridge", "hip lift"),
    ("one-leg bridge", "single-leg bridge"),
    ("one-leg deadlift", "single-leg deadlift"),
    ("back lunge", "reverse lunge"),
    ("heel raise", "calf raise"),
    ("renegade row", "plank row"),
    ("lateral shuffle", "side shuffle"),
    ("reverse fly", "rear delt"),
    ("mountain climber", "cardio"),
];

/// What coaches look for a pattern by.
fn also(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::Squat => "legs quads glutes",
        Pattern::Hinge => "legs hamstrings glutes",
        Pattern::Lunge => "legs glutes",
        Pattern::Calf => "legs calves ankles",
        Pattern::Push => "chest shoulders triceps arms",
        Pattern::Pull => "back biceps arms",
        Pattern::Carry => "grip",
        Pattern::Twist => "core abs waist",
        Pattern::Brace => "core abs trunk",
        Pattern::Travel => "cardio",
        Pattern::Strike => "boxing cardio",
        Pattern::Stretch => "flexibility",
        Pattern::Mobility => "joints",
    }
}

/// Whether a text has a word, or the one that it is several of.
fn has(said: &str, word: &str) -> bool {
    let one = |end: &str| {
        word.strip_suffix(end)
            .is_some_and(|one| one.len() > 2 && said.contains(one))
    };
    said.contains(word) || one("s") || one("es")
}

fn has_all(said: &str, words: &str) -> bool {
    words.split_whitespace().all(|word| has(said, word))
}

/// How far a move is from words: the less the nearer.
#[must_use]
pub fn distance(known: &Move, words: &str) -> usize {
    let (name, words) = (known.name.to_lowercase(), words.to_lowercase());
    let own = format!(
        "{name} {} {}",
        name.replace('-', " "),
        name.replace('-', "")
    );
    match words.split_whitespace().next() {
        Some(_) if !has_all(&own, &words) => 2,
        Some(first) if !has(name.get(..first.len()).unwrap_or(&name), first) => 1,
        _ => 0,
    }
}

/// What a search looks through, in small letters.
fn said(known: &Move, kit: &[Kit]) -> String {
    let mut said = format!(
        "{} {} {} {}",
        known.name,
        known.position.word(),
        known.effort.word(),
        known.impact.word()
    );
    let mut add = |word: &str| {
        said.push(' ');
        said.push_str(word);
    };
    // However it is written: push-up, push up, pushup.
    add(&known.name.replace('-', " "));
    add(&known.name.replace('-', ""));
    if let Some(pattern) = known.pattern {
        add(pattern.word());
        add(also(pattern));
    }
    if known.impact == Impact::High {
        add("jumps jumping");
    }
    for (name, other) in OTHER_NAMES {
        if known.name.to_lowercase().contains(name) {
            add(other);
        }
    }
    for id in &known.kit {
        if let Some(kit) = kit.iter().find(|kit| kit.id == *id) {
            add(&kit.name);
        }
    }
    if known.kit.is_empty() {
        add("no kit");
    }
    if known.sided {
        add("one-sided");
    }
    for option in &known.options {
        if option.level != Level::Other {
            add(&option.name);
        }
    }
    said.to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link;
    use crate::plan::{Block, BlockKind, Choice, Effort, Entry, Position, first_sentence};

    /// The file, read by the reader of plans, a part at a time: together they are more than one plan may be.
    fn file() -> Library {
        let text = include_str!("moves.json");
        let all: serde_json::Value = serde_json::from_str(text).unwrap();
        let mut library = Library::default();
        for some in all["moves"].as_array().unwrap().chunks(50) {
            let plan = serde_json::json!({
                "format": "rungbook-plan", "version": 1, "title": "Library",
                "kit": all["kit"], "moves": some,
                "blocks": [ { "kind": "flow", "work": 30, "steps": [ some[0]["id"] ] } ],
            });
            let (plan, warnings) = Plan::read(&plan.to_string()).unwrap();
            assert_eq!(warnings, []);
            library.kit = plan.kit;
            library.moves.extend(plan.moves);
        }
        library
    }

    /// `RUNGBOOK_WRITE_LINKS=1 cargo test library` packs a changed file.
    #[test]
    fn what_ships_is_the_file() {
        let file = file();
        let path = format!("{}/src/library/moves.bin", env!("CARGO_MANIFEST_DIR"));
        let packed = link::pack_moves(&file.kit, &file.moves);
        if std::env::var_os("RUNGBOOK_WRITE_LINKS").is_some() {
            std::fs::write(&path, &packed).unwrap();
        }
        assert!(
            Library::shipped() == file,
            "RUNGBOOK_WRITE_LINKS=1 cargo test library packs it"
        );
    }

    /// Each exercise is written alike, and short enough to be read from the floor.
    #[test]
    fn each_move_is_whole() {
        let library = Library::shipped();
        assert!(library.moves.len() >= 150);
        for known in &library.moves {
            let name = &known.name;
            assert_eq!(*known.id, *crate::plan::slug(name), "an id is the name");
            assert!(known.pattern.is_some(), "{name}: a pattern");
            assert!(
                (60..=165).contains(&known.how.chars().count()),
                "{name}: how"
            );
            assert!(
                known.how.matches(". ").count() <= 1,
                "{name}: two sentences"
            );
            assert!((1..=3).contains(&known.notes.len()), "{name}: cues");
            let easier = |option: &Choice| option.level == Level::Easier;
            assert!(known.options.iter().any(easier), "{name}: easier");
            for option in &known.options {
                let words = option.name.chars().count();
                assert!((5..=28).contains(&words), "{name}: {}", option.name);
                assert_eq!(option.notes.len(), 1, "{name}: {}: a cue", option.name);
            }
            let cues = known.options.iter().flat_map(|option| &option.notes);
            for cue in known.notes.iter().chain(cues) {
                assert!((5..=36).contains(&cue.chars().count()), "{name}: {cue}");
                assert!(!cue.ends_with('.'), "{name}: {cue}");
            }
            let same = |other: &&Move| other.name.eq_ignore_ascii_case(name);
            assert_eq!(library.moves.iter().filter(same).count(), 1, "{name}: once");
        }
        for kit in &library.kit {
            let used = |known: &Move| known.all_kit().any(|id| *id == kit.id);
            assert!(library.moves.iter().any(used), "{}: used", kit.name);
        }
    }

    /// A caution says how to avoid harm, and its first sentence says enough by itself.
    #[test]
    fn each_caution_says_how_to_avoid_harm() {
        for known in Library::shipped().moves {
            let (name, caution) = (&known.name, &known.caution);
            let first = first_sentence(caution);
            assert!(
                (12..=66).contains(&first.chars().count()),
                "{name}: {first}"
            );
            assert!(caution.chars().count() <= 115, "{name}: {caution}");
            assert!(caution.ends_with('.'), "{name}: {caution}");
            assert!(!caution.contains("Stop if"), "{name}: {caution}");
            let says = |words: &str| caution.contains(words);
            if known.impact == Impact::High {
                assert!(says("pelvic floor"), "{name}: {caution}");
            }
            // The trunk bends or turns under load, or the legs pull on it.
            if [
                "Crunch",
                "Reverse crunch",
                "Bicycle crunch",
                "Hollow hold",
                "Russian twist",
            ]
            .contains(&&**name)
            {
                assert!(says("Pregnant, after birth or with weak bones"), "{name}");
            }
            if known.all_kit().any(|id| &**id == "band")
                && known.kit.iter().any(|id| &**id == "band")
            {
                assert!(says("Check the band for tears."), "{name}: {caution}");
            }
            if known.kit.iter().any(|id| &**id == "step") {
                assert!(
                    says("Check that the step can't slide."),
                    "{name}: {caution}"
                );
            }
            if known.position == Position::Kneeling {
                assert!(
                    says("Pad the knee") || says("Lower the knees"),
                    "{name}: {caution}"
                );
            }
        }
    }

    /// The words that name a piece of kit.
    const KIT_WORDS: [(&str, &str); 9] = [
        ("bells", "dumbbells"),
        ("bell", "one dumbbell"),
        ("kettlebell", "kettlebell"),
        ("mat", "mat"),
        ("chair", "chair"),
        ("wall", "wall"),
        ("band", "band"),
        ("step", "low step"),
        ("towel", "towel"),
    ];

    /// Whether a text has whole words.
    fn names(text: &str, words: &str) -> bool {
        let plain: String = text
            .to_lowercase()
            .chars()
            .map(|c| if c.is_alphanumeric() { c } else { ' ' })
            .collect();
        format!(" {plain} ").contains(&format!(" {words} "))
    }

    /// What the first words of a how-to say of where the body is.
    fn position(how: &str) -> Option<Position> {
        let first = first_sentence(how);
        if names(first, "hands and knees") || first.starts_with("Kneel") {
            Some(Position::Kneeling)
        } else if first.starts_with("Sit") && names(first, "chair") {
            Some(Position::Seated)
        } else if first.starts_with("Lie")
            || first.starts_with("Sit on the mat")
            || names(first, "plank")
        {
            Some(Position::Floor)
        } else if first.starts_with("Stand") || first.starts_with("Walk") {
            Some(Position::Standing)
        } else {
            None
        }
    }

    /// The how-to and the facts say the same.
    #[test]
    fn facts_are_what_the_how_to_says() {
        let library = Library::shipped();
        for known in &library.moves {
            let (name, how) = (&known.name, &known.how);
            for (id, words) in KIT_WORDS {
                let has = known.kit.iter().any(|one| &**one == id);
                assert_eq!(names(how, words), has, "{name}: {words}: {how}");
                // What else is said of it wants no kit that neither it nor an option has.
                let said = known.notes.iter().chain([&known.caution]);
                for text in said.filter(|text| names(text, words)) {
                    assert!(known.all_kit().any(|one| &**one == id), "{name}: {text}");
                }
                for option in &known.options {
                    let said = format!("{}. {}", option.name, option.notes.join(" "));
                    let (named, has_it) = (
                        names(&said, words),
                        option.kit.iter().any(|one| &**one == id),
                    );
                    assert!(!named || has_it, "{name}: {said}: {id} is missing");
                    assert!(!has_it || has || named, "{name}: {said}: {id} is not named");
                    if names(&said, "no weight") && id.contains("bell") {
                        assert!(!has_it, "{name}: {said}: {id}");
                    }
                }
            }
            assert_eq!(position(how), Some(known.position), "{name}: {how}");
            let on_mat = matches!(known.position, Position::Kneeling | Position::Floor);
            assert_eq!(known.kit.iter().any(|id| &**id == "mat"), on_mat, "{name}");
            let sided = how.contains("{side}") || how.contains("{other}");
            assert_eq!(sided, known.sided, "{name}: {how}");
            if !sided {
                let rest = known.options.iter().flat_map(|option| &option.notes);
                for text in known.notes.iter().chain([&known.caution]).chain(rest) {
                    assert!(!text.contains('{'), "{name}: {text}");
                }
            }
            let jumps = ["jump", "jumps", "hop", "run", "leap"]
                .iter()
                .any(|word| names(how, word));
            assert_eq!(jumps, known.impact == Impact::High, "{name}: {how}");
            if jumps {
                let stays = |option: &Choice| {
                    option.level == Level::Easier && names(&option.name, "no jump")
                };
                assert!(
                    known.options.iter().any(stays),
                    "{name}: a way on the ground"
                );
            }
            if matches!(known.pattern, Some(Pattern::Stretch | Pattern::Mobility)) {
                assert_eq!(known.effort, Effort::Light, "{name}");
            }
        }
    }

    /// What a name says of the pattern. Common practice, no source.
    #[test]
    fn a_name_and_its_pattern_agree() {
        let table = [
            ("lunge", Pattern::Lunge),
            ("deadlift", Pattern::Hinge),
            ("bridge", Pattern::Hinge),
            ("carry", Pattern::Carry),
            ("row", Pattern::Pull),
            ("curl", Pattern::Pull),
            ("push-up", Pattern::Push),
            ("heel raise", Pattern::Calf),
            ("punches", Pattern::Strike),
            ("stretch", Pattern::Stretch),
            ("circle", Pattern::Mobility),
            ("march", Pattern::Travel),
        ];
        let library = Library::shipped();
        for (end, pattern) in table {
            let mut of: Vec<_> = library.moves.iter().collect();
            of.retain(|known| known.name.to_lowercase().ends_with(end));
            assert!(!of.is_empty(), "{end}");
            for known in of {
                assert_eq!(known.pattern, Some(pattern), "{}", known.name);
            }
        }
    }

    /// Facts that a professional looked at one by one. Common practice, no source.
    #[test]
    fn facts_are_a_professionals() {
        use Effort::{Light, Moderate, Vigorous};
        use Position::{Floor, Kneeling, Standing};
        let library = Library::shipped();
        let check =
            |id: &str, pattern: Pattern, effort: Effort, position: Position, kit: &[&str]| {
                let known = library.moves.iter().find(|known| &*known.id == id);
                let known = known.unwrap_or_else(|| panic!("{id}"));
                let facts = (known.pattern, known.effort, known.position);
                assert_eq!(facts, (Some(pattern), effort, position), "{id}");
                let has: Vec<&str> = known.kit.iter().map(|id| &**id).collect();
                assert_eq!(has, kit, "{id}");
            };
        check(
            "goblet-squat",
            Pattern::Squat,
            Vigorous,
            Standing,
            &["bell"],
        );
        check("one-arm-row", Pattern::Pull, Moderate, Standing, &["bell"]);
        check(
            "one-arm-press",
            Pattern::Push,
            Moderate,
            Standing,
            &["bell"],
        );
        check(
            "weighted-bridge",
            Pattern::Hinge,
            Moderate,
            Floor,
            &["bell", "mat"],
        );
        check(
            "romanian-deadlift",
            Pattern::Hinge,
            Moderate,
            Standing,
            &["bells"],
        );
        check("back-lunge", Pattern::Lunge, Moderate, Standing, &[]);
        check("forward-lunge", Pattern::Lunge, Moderate, Standing, &[]);
        check("split-squat", Pattern::Lunge, Moderate, Standing, &[]);
        check("heel-raise", Pattern::Calf, Light, Standing, &["wall"]);
        check("chair-dip", Pattern::Push, Vigorous, Standing, &["chair"]);
        check("side-plank", Pattern::Brace, Vigorous, Floor, &["mat"]);
        check("forearm-plank", Pattern::Brace, Vigorous, Floor, &["mat"]);
        check("shoulder-stretch", Pattern::Stretch, Light, Standing, &[]);
        check("hip-circle", Pattern::Mobility, Light, Standing, &["wall"]);
        check("one-leg-stand", Pattern::Brace, Light, Standing, &["wall"]);
        check(
            "heel-to-toe-stand",
            Pattern::Brace,
            Light,
            Standing,
            &["wall"],
        );
        check("quad-stretch", Pattern::Stretch, Light, Standing, &["wall"]);
        check(
            "kneeling-hip-flexor-stretch",
            Pattern::Stretch,
            Light,
            Kneeling,
            &["mat"],
        );
    }

    /// The common ones that a coach asks for are there.
    #[test]
    fn the_common_ones_are_there() {
        let library = Library::shipped();
        for name in [
            "Standing hamstring stretch",
            "Forward fold",
            "Chest opener",
            "Standing hip-flexor stretch",
            "Standing figure-four stretch",
            "Band pull-down",
            "Standing band row",
            "Band side walk",
            "Chest fly",
            "Seated chest fly",
            "Hammer curl",
            "Triceps kickback",
            "Front raise",
            "Push press",
            "One-leg bridge",
            "Clamshell",
            "Fire hydrant",
            "Side leg raise",
            "Reverse crunch",
            "Flutter kick",
            "Plank jack",
            "Plank up-down",
            "Renegade row",
            "Lateral shuffle",
        ] {
            assert!(
                library.moves.iter().any(|known| known.name == name),
                "{name}"
            );
        }
    }

    #[test]
    fn a_search_finds_by_name_kit_and_pattern() {
        let library = Library::shipped();
        let names = |words: &str| -> Vec<_> {
            library
                .find(words)
                .into_iter()
                .map(|(_, known)| known.name.clone())
                .collect()
        };
        assert_eq!(names("").len(), library.moves.len());
        assert!(names("PUSH-up").contains(&"Push-up".to_owned()));
        assert!(
            names("hinge kettlebell")
                .iter()
                .any(|name| name.contains("Kettlebell"))
        );
        assert!(names("seated stretch no kit").len() < names("stretch").len());
        for words in [
            "core",
            "abs",
            "glutes",
            "cardio",
            "sit-up",
            "star jump",
            "press-up",
            "pushup",
            "jumps",
        ] {
            assert!(!names(words).is_empty(), "{words}");
        }
        assert_eq!(names("no such move"), [""; 0]);
        // Several of one, and names before all else.
        for (many, one) in [
            ("calf raises", "calf raise"),
            ("squats", "squat"),
            ("Lunges", "lunge"),
            ("presses", "press"),
            ("push-ups", "push-up"),
        ] {
            let (mut many, mut one) = (names(many), names(one));
            assert!(
                !many.is_empty() && many[0].to_lowercase().contains(&one[0].to_lowercase()[..4]),
                "{many:?}"
            );
            many.sort();
            one.sort();
            assert_eq!(many, one);
        }
        let squats = names("squat");
        let with = squats
            .iter()
            .take_while(|name| name.to_lowercase().contains("squat"))
            .count();
        assert!(squats[0].starts_with("Squat") && with > 3, "{squats:?}");
        assert!(
            squats[with..]
                .iter()
                .all(|name| !name.to_lowercase().contains("squat")),
            "{squats:?}"
        );
    }

    /// Any move can be brought into an empty class, which can then be run.
    #[test]
    fn a_move_brings_its_kit() {
        let library = Library::shipped();
        for at in 0..library.moves.len() {
            let mut plan = Plan {
                title: "One".into(),
                ..Plan::default()
            };
            let id = library.bring(at, &mut plan).unwrap();
            assert_eq!(library.bring(at, &mut plan), Some(id.clone()), "once");
            assert_eq!(plan.moves.len(), 1);
            plan.blocks.push(Block {
                work: 30.into(),
                ..Block::new(BlockKind::Flow {
                    steps: vec![Entry::of(&id)],
                })
            });
            assert_eq!(plan.validate(), Ok(vec![]));
        }
    }
}
