//! Who may import whom: the map of rooms in DEVELOPERS.md, held against the source.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use common::{read, root};

/// Room, and the rooms it may import.
const MAY: &[(&str, &[&str])] = &[
    ("job", &[]),
    ("calc", &[]),
    ("forms", &["job"]),
    ("checks", &["job", "calc", "forms"]),
    ("guide", &["job", "calc", "forms", "checks"]),
    ("intake", &["job", "forms", "checks", "guide"]),
    ("store", &["job", "forms"]),
    ("paper", &["job", "forms", "checks", "guide"]),
    (
        "screen",
        &[
            "job", "calc", "forms", "checks", "guide", "intake", "store", "paper",
        ],
    ),
    (
        "command",
        &[
            "job", "calc", "forms", "checks", "guide", "intake", "store", "paper", "screen",
        ],
    ),
];

fn sources(dir: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            out.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
    out.sort();
    out
}

/// The code of a file: without comments.
fn code(path: &Path) -> String {
    read(path)
        .lines()
        .map(|l| l.split("//").next().unwrap_or(""))
        .collect::<Vec<_>>()
        .join("\n")
}

/// Rooms named behind `crate::`, grouped imports included.
fn imports(code: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = &code[at + "crate::".len()..];
        if let Some(group) = rest.strip_prefix('{') {
            let mut depth = 0;
            let mut start = true;
            for (i, c) in group.char_indices() {
                match c {
                    '{' => depth += 1,
                    '}' if depth == 0 => break,
                    '}' => depth -= 1,
                    ',' if depth == 0 => start = true,
                    c if start && c.is_alphabetic() => {
                        start = false;
                        out.insert(word(&group[i..]));
                    }
                    _ => {}
                }
            }
        } else {
            out.insert(word(rest));
        }
    }
    out
}

fn word(text: &str) -> String {
    text.chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_')
        .collect()
}

#[test]
fn grouped_imports_are_seen() {
    let found = imports("use crate::{job::{Job, Test}, store};\nlet x = crate::paper::draft();");
    assert_eq!(
        found.into_iter().collect::<Vec<_>>(),
        ["job", "paper", "store"]
    );
}

#[test]
fn every_room_imports_only_what_it_may() {
    let may: BTreeMap<&str, &[&str]> = MAY.iter().copied().collect();
    let mut rooms = BTreeSet::new();
    for path in sources(&root().join("src")) {
        let relative = path.strip_prefix(root().join("src")).unwrap();
        let room = relative
            .iter()
            .next()
            .unwrap()
            .to_string_lossy()
            .into_owned();
        if room.ends_with(".rs") {
            continue;
        }
        let allowed = may
            .get(room.as_str())
            .unwrap_or_else(|| panic!("{room} isn't in the table"));
        for import in imports(&code(&path)) {
            assert!(
                import == room || allowed.contains(&import.as_str()),
                "{} imports {import}",
                relative.display()
            );
        }
        rooms.insert(room);
    }
    assert_eq!(rooms.len(), MAY.len(), "{rooms:?}");
}

/// Only the screen knows the terminal, only one folder of the paper knows the PDF library, only the store touches files.
#[test]
fn libraries_stay_in_their_rooms() {
    let table: [(&str, &[&str]); 4] = [
        ("ratatui", &["screen/"]),
        ("printpdf", &["paper/pdf/mod.rs"]),
        ("lopdf", &["paper/pdf/"]),
        ("std::fs", &["store/"]),
    ];
    for path in sources(&root().join("src")) {
        let relative = path
            .strip_prefix(root().join("src"))
            .unwrap()
            .to_string_lossy()
            .replace('\\', "/");
        let code = code(&path);
        for (library, homes) in table {
            let used = code.contains(&format!("{library}::"));
            assert!(
                !used || homes.iter().any(|h| relative.starts_with(h)),
                "{relative} uses {library}"
            );
        }
    }
}

/// Checks and guide are pure: no clock, file or environment.
#[test]
fn checks_are_pure() {
    for room in ["job", "calc", "forms", "checks", "guide", "intake"] {
        for path in sources(&root().join("src").join(room)) {
            let code = code(&path);
            for impure in [
                "Local::now",
                "Utc::now",
                "SystemTime",
                "Instant::now",
                "std::env",
                "std::fs",
                "File::",
            ] {
                assert!(!code.contains(impure), "{} uses {impure}", path.display());
            }
        }
    }
}

#[test]
fn the_developers_file_has_the_same_table() {
    let text = read(&root().join("DEVELOPERS.md"));
    for (room, may) in MAY {
        let row = text
            .lines()
            .find(|l| l.starts_with(&format!("| `{room}/`")))
            .unwrap_or_else(|| panic!("no row for {room}"));
        let last = row.trim_end_matches('|').rsplit('|').next().unwrap();
        let named: BTreeSet<&str> = last
            .split(|c: char| !c.is_alphanumeric())
            .filter(|w| may_be_room(w))
            .collect();
        assert_eq!(named, may.iter().copied().collect(), "{row}");
    }
}

fn may_be_room(word: &str) -> bool {
    MAY.iter().any(|(room, _)| *room == word)
}
