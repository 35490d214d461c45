//! The house: which folder of `src` may use which. It fails on an arrow that points up, on a folder
//! that has no place yet, and on files of one folder that use each other in a circle.
//!
//! Read from the text: paths that begin with `crate`, `self` or `super`, and paths into a file's own
//! modules. What a folder's `mod.rs` only hands on (`pub use`) is no use of it, and a path to it leads
//! to the file that it comes from. Tests within the files may use what they like.
#![cfg(not(target_arch = "wasm32"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The core from the ground up: a folder may use those that stand before it.
const CORE: [&str; 17] = [
    "plan",
    "timeline",
    "cue",
    "run",
    "library",
    "link",
    "figure",
    "energy",
    "notation",
    "check",
    "fit",
    "draft",
    "export",
    "lead",
    "demos",
    "stored",
    "conductor",
];
/// Of these nothing stands beside: each uses those of them that stand before it, and no other.
const SPINE: [&str; 4] = ["plan", "timeline", "cue", "run"];
/// The rooms of the app, each with those that it may use.
const ROOMS: [(&str, &[&str]); 4] = [
    ("app/parts", &[]),
    ("app/member", &["app/parts"]),
    ("app/coach", &["app/parts"]),
    ("app/shell", &["app/parts", "app/member", "app/coach"]),
];

type Uses = BTreeMap<String, BTreeSet<String>>;

/// The text of a file without its comments and its tests.
fn code(text: &str) -> String {
    let own = text.split("#[cfg(test)]\nmod tests").next().unwrap();
    own.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| [line, "\n"])
        .collect()
}

/// The paths of a text, with what stands in braces written out: `a::{b, c::d}` is `a::b` and `a::c::d`.
fn paths(text: &str) -> Vec<Vec<String>> {
    let is_word = |c: char| c.is_alphanumeric() || c == '_';
    let (mut found, mut stack) = (Vec::new(), Vec::<Vec<String>>::new());
    let mut path: Vec<String> = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let word: String = rest.chars().take_while(|c| is_word(*c)).collect();
        let len = word.len().max(c.len_utf8());
        rest = &rest[len..];
        if !word.is_empty() {
            path.push(word);
        }
        if rest.starts_with("::{") && !path.is_empty() {
            let mut outer = stack.last().cloned().unwrap_or_default();
            outer.append(&mut path);
            stack.push(outer);
            rest = &rest[3..];
        } else if rest.starts_with("::") && !path.is_empty() {
            rest = &rest[2..];
        } else if !path.is_empty() {
            let mut whole = stack.last().cloned().unwrap_or_default();
            whole.append(&mut path);
            found.push(whole);
        }
        if rest.starts_with('}') && !stack.is_empty() {
            stack.pop();
        }
    }
    found
}

/// What each file uses, files and what they use by their paths without `.rs` (`plan`, `plan/read`).
fn uses(files: &BTreeMap<String, String>) -> Uses {
    // What a file hands on, by the path under which it does: `plan/Plan` is in `plan/model`.
    let mut handed = BTreeMap::new();
    for (file, text) in files {
        let statements = text.split(';').map(str::trim);
        for hands in statements.filter_map(|one| {
            one.strip_prefix("pub").filter(|one| {
                let one = one
                    .split_once(") ")
                    .filter(|_| one.starts_with('('))
                    .map_or(one.trim(), |(_, rest)| rest);
                one.starts_with("use ")
            })
        }) {
            for path in paths(hands.split_once("use ").unwrap().1) {
                if let [child, .., name] = path.as_slice() {
                    handed.insert(format!("{file}/{name}"), format!("{file}/{child}"));
                }
            }
        }
    }
    let mut uses = Uses::new();
    for (file, text) in files {
        let used = uses.entry(file.clone()).or_default();
        let here: Vec<&str> = file.split('/').collect();
        let kept: String = text
            .split_inclusive(';')
            .filter(|one| {
                let one = one.trim_start();
                !(one.starts_with("pub use ")
                    || one.starts_with("pub(crate) use ")
                    || one.starts_with("pub(super) use "))
            })
            .collect();
        for path in paths(&kept).into_iter().filter(|path| path.len() > 1) {
            let ups = path.iter().take_while(|word| *word == "super").count();
            let down = path.iter().skip(ups).map(String::as_str);
            let full: Vec<&str> = match path[0].as_str() {
                "crate" => path[1..].iter().map(String::as_str).collect(),
                "self" => here
                    .iter()
                    .copied()
                    .chain(path[1..].iter().map(String::as_str))
                    .collect(),
                "super" => here[..here.len().saturating_sub(ups)]
                    .iter()
                    .copied()
                    .chain(down)
                    .collect(),
                _ => here.iter().copied().chain(down).collect(),
            };
            // The longest beginning that is a file, or what it hands on.
            let found = (1..=full.len()).rev().find_map(|end| {
                let path = full[..end].join("/");
                handed
                    .get(&path)
                    .cloned()
                    .or(Some(path))
                    .filter(|path| files.contains_key(path))
            });
            used.extend(found.filter(|found| found != file));
        }
    }
    uses
}

/// The files of the tree, their folders' `mod.rs` by the folder's own path.
fn files(root: &Path, at: &str, found: &mut BTreeMap<String, String>) {
    for one in std::fs::read_dir(root.join(at)).unwrap() {
        let name = one.unwrap().file_name().into_string().unwrap();
        let path = if at.is_empty() {
            name.clone()
        } else {
            format!("{at}/{name}")
        };
        if root.join(&path).is_dir() {
            files(root, &path, found);
        } else if let Some(file) = path.strip_suffix(".rs").filter(|_| name != "tests.rs") {
            let text = std::fs::read_to_string(root.join(&path)).unwrap();
            found.insert(
                file.strip_suffix("/mod").unwrap_or(file).to_owned(),
                code(&text),
            );
        }
    }
}

/// The room that a file is in: its folder, of the app's folders that are rooms each its own.
fn room(file: &str) -> &str {
    ROOMS
        .iter()
        .map(|(room, _)| *room)
        .find(|room| file == *room || file.starts_with(&format!("{room}/")))
        .unwrap_or_else(|| file.split('/').next().unwrap())
}

fn may_use(from: &str, to: &str) -> bool {
    if let (Some((_, below)), true) = (
        ROOMS.iter().find(|(room, _)| *room == from),
        ROOMS.iter().any(|(room, _)| *room == to),
    ) {
        return below.contains(&to);
    }
    // What names the rooms stands above them.
    if to == "app" && ROOMS.iter().any(|(room, _)| *room == from) {
        return false;
    }
    let place = |of: &str| CORE.iter().position(|one| *one == of);
    match (place(from), place(to)) {
        (Some(from_at), Some(to_at)) => {
            to_at < from_at && (!SPINE.contains(&from) || SPINE.contains(&to))
        }
        // The app stands on all, a device on the core alone.
        (None, to_at) => {
            from.starts_with("app")
                || from == "main"
                || from == "lib"
                || (from == "device" && to_at.is_some())
        }
        (Some(_), None) => false,
    }
}

/// Walks on from a file until it comes back to one that it came by.
fn circle<'u>(uses: &'u Uses, inside: &dyn Fn(&str) -> bool) -> Option<Vec<&'u str>> {
    fn walk<'u>(
        at: &'u str,
        way: &mut Vec<&'u str>,
        done: &mut BTreeSet<&'u str>,
        uses: &'u Uses,
        inside: &dyn Fn(&str) -> bool,
    ) -> bool {
        if let Some(first) = way.iter().position(|one| *one == at) {
            way.drain(..first);
            return true;
        }
        if !done.insert(at) {
            return false;
        }
        way.push(at);
        let next = uses[at].iter().filter(|next| inside(next));
        if next
            .into_iter()
            .any(|next| walk(next, way, done, uses, inside))
        {
            return true;
        }
        way.pop();
        false
    }
    let (mut way, mut done) = (Vec::new(), BTreeSet::new());
    let mut all = uses.keys().filter(|file| inside(file));
    all.any(|file| walk(file, &mut way, &mut done, uses, inside))
        .then_some(way)
}

/// What is wrong with a house, in words.
fn wrong(files: &BTreeMap<String, String>) -> Vec<String> {
    let uses = uses(files);
    let mut wrong = Vec::new();
    let mut held = BTreeSet::new();
    for (from, used) in &uses {
        let known = CORE.contains(&room(from))
            || ["app", "device", "main", "lib"].contains(&from.split('/').next().unwrap());
        if !known {
            wrong.push(format!("{from} has no place: write it into the order"));
        }
        if from.starts_with("app/") && room(from) == "app" {
            wrong.push(format!("{from} stands outside the rooms of the app"));
        }
        if CORE.contains(&room(from)) || ROOMS.iter().any(|(one, _)| *one == room(from)) {
            held.insert(room(from));
        }
        for to in used
            .iter()
            .filter(|to| room(to) != room(from) && !may_use(room(from), room(to)))
        {
            wrong.push(format!("{from} uses {to}: that points up"));
        }
    }
    for held in held {
        if let Some(way) = circle(&uses, &|file| room(file) == held) {
            wrong.push(format!("a circle in {held}: {}", way.join(" -> ")));
        }
    }
    wrong
}

fn house() -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    files(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        "",
        &mut found,
    );
    found
}

#[test]
fn no_arrow_points_up_and_none_makes_a_circle() {
    let files = house();
    assert!(files.len() > 50, "{} files", files.len());
    assert_eq!(wrong(&files), [""; 0]);
}

/// Each of these is one line too many in the house as it stands, and is found.
#[test]
fn an_arrow_too_many_is_found() {
    let check = |file: &str, line: &str, expected: &str| {
        let mut files = house();
        files.entry(file.to_owned()).or_default().push_str(line);
        let wrong = wrong(&files);
        assert!(
            wrong.iter().any(|one| one.contains(expected)),
            "{line} in {file}: {wrong:?}"
        );
    };
    check(
        "plan/read",
        "use crate::timeline::Timeline;",
        "plan/read uses timeline",
    );
    check(
        "timeline/ways",
        "fn f() { crate::check::check(x) }",
        "timeline/ways uses check",
    );
    check(
        "energy",
        "use crate::{check::check, plan::Plan};",
        "energy uses check",
    );
    check("library", "use super::link::decode;", "library uses link");
    check(
        "cue/words",
        "use super::super::run::Run;",
        "cue/words uses run",
    );
    check(
        "run/state",
        "use crate::library::Library;",
        "run/state uses library",
    );
    check(
        "device/audio",
        "use crate::app::shell;",
        "device/audio uses app",
    );
    check("cellar", "", "cellar has no place");
    // From file to file: by the file's own name, and by a name that `mod.rs` hands on.
    check("plan/model", "use super::read::read;", "a circle in plan");
    check(
        "plan/limits",
        "use super::{Plan, PlanError};",
        "a circle in plan",
    );
    check("app/attic", "", "app/attic stands outside the rooms");
    check(
        "app/coach/write/list",
        "use crate::app::member::brief;",
        "app/coach/write/list uses app/member/brief: that points up",
    );
    check(
        "app/member/class/panel",
        "fn f() { super::class(x) }",
        "a circle in app/member",
    );
    check(
        "app/parts/live",
        "use super::super::App;",
        "app/parts/live uses app",
    );
    // By the file itself, and a way that is allowed.
    let mut files = house();
    for (file, line) in [
        ("app/parts/live", "use crate::app::member::brief::brief;"),
        ("app/member/brief", "use super::super::parts::live::live;"),
    ] {
        files.insert(file.to_owned(), line.to_owned());
    }
    let found = wrong(&files);
    assert!(
        found.contains(&"app/parts/live uses app/member/brief: that points up".to_owned()),
        "{found:?}"
    );
    assert!(
        !found.iter().any(|one| one.starts_with("app/member/brief")),
        "{found:?}"
    );
}
