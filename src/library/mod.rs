//! Common moves, written once by us: what a coach picks from, and what a short link refers to.
//!
//! The file `moves.json` is what is written; `moves.bin` is the same, packed as links pack, and what
//! the app carries: [`link`](crate::link) unpacks it, as [`Library::shipped`]. The library is **append-only**: a link refers to a move by its place, so that an
//! entry that was ever released is never changed, moved or taken out. A test holds the released ones.

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
const OTHER_NAMES: [(&str, &str); 6] = [
    ("push-up", "press-up press up"),
    ("crunch", "sit-up sit up abs"),
    ("jumping jack", "star jump"),
    ("glute bridge", "hip lift"),
    ("back lunge", "reverse lunge"),
    ("mountain climber", "cardio"),
];

/// What coaches look for a pattern by.
fn also(pattern: Pattern) -> &'static str {
    match pattern {
        Pattern::Squat => "legs quads glutes",
        Pattern::Hinge => "legs hamstrings glutes",
        Pattern::Lunge => "legs glutes",
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
    use crate::plan::{Block, BlockKind, Entry};

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

    /// Links refer to places: these 133 moves and 9 pieces of kit are out for good.
    #[test]
    fn what_was_released_never_changes() {
        const MOVES: usize = 133;
        const KIT: usize = 9;
        let library = Library::shipped();
        let released = link::pack_moves(&library.kit[..KIT], &library.moves[..MOVES]);
        let unpacked = link::unpack_moves(&released).unwrap();
        let mut plan = Plan::default();
        (plan.kit, plan.moves) = unpacked;
        assert_eq!(plan.digest(), 5_512_536_950_458_542_579, "append only");
    }

    #[test]
    fn each_move_is_whole() {
        let library = Library::shipped();
        assert!(library.moves.len() >= 80);
        for known in &library.moves {
            let name = &known.name;
            assert!(known.pattern.is_some(), "{name}: a pattern");
            assert!(known.how.len() >= 25, "{name}: how");
            assert!(known.notes.len() >= 2, "{name}: notes");
            let has = |level| known.options.iter().any(|option| option.level == level);
            assert!(has(Level::Easier), "{name}: an easier way");
            // The first 18 are a demo's, which stand as they are.
            let demo = library.moves.iter().position(|other| other == known) < Some(18);
            if !demo && (has(Level::Harder) || known.impact == crate::plan::Impact::High) {
                assert!(!known.caution.is_empty(), "{name}: a caution");
            }
            let same = library.moves.iter().filter(|other| other.name == *name);
            assert_eq!(same.count(), 1, "{name}: once");
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
