//! The texts of a job: what could deceive a reader, or a terminal, is refused in every one of them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use serde_json::Value as Json;
use wanderlead::job::{Job, Observation, Test};

/// A job in which no text is left out.
fn whole(name: &str) -> Job {
    let mut job = common::sample(name);
    job.existing = "Old wiring.".into();
    job.kept_digest = "0".repeat(32);
    job.supply.electrode = "rod".into();
    job.grid.operator = "operator".into();
    job.grid.meter_number = "1".into();
    job.people[0].firm = "firm".into();
    job.observations.push(Observation {
        text: "seen".into(),
        by: job.people[0].id.clone(),
        departure: false,
        photos: vec!["1.jpg".into()],
    });
    for b in &mut job.boards {
        b.spd = "type 2".into();
        for c in &mut b.circuits {
            c.remarks = "remark".into();
            if let Some(cable) = &mut c.cable {
                cable.method = "C".into();
            }
        }
    }
    for v in &mut job.inverters {
        v.serial = "1".into();
    }
    assert_eq!(job.problems(), []);
    job
}

/// The path of every text in a tree.
fn leaves(tree: &Json, path: &str, out: &mut Vec<String>) {
    match tree {
        Json::String(_) => out.push(path.to_string()),
        Json::Array(list) => {
            for (i, one) in list.iter().enumerate() {
                leaves(one, &format!("{path}/{i}"), out);
            }
        }
        Json::Object(map) => {
            for (key, one) in map {
                leaves(
                    one,
                    &format!("{path}/{}", key.replace('~', "~0").replace('/', "~1")),
                    out,
                );
            }
        }
        _ => {}
    }
}

/// The job with `text` at `path`, if that can be read.
fn with(tree: &Json, path: &str, text: &str) -> Option<Job> {
    let mut changed = tree.clone();
    *changed.pointer_mut(path).unwrap() = Json::String(text.into());
    serde_json::from_value(changed).ok()
}

fn is_refused(tree: &Json, path: &str, text: &str) -> bool {
    with(tree, path, text).is_none_or(|job| !job.problems().is_empty())
}

/// Every free text of the samples, once for each field, with what stands there. Numbers, words and times aren't free.
fn texts() -> Vec<(Json, String, String)> {
    let mut seen = std::collections::BTreeSet::new();
    let mut out = Vec::new();
    for name in ["harbour-row.ron", "mill-yard.ron", "orchard-cottage.ron"] {
        let tree = serde_json::to_value(whole(name)).unwrap();
        let mut paths = Vec::new();
        leaves(&tree, "", &mut paths);
        for path in paths {
            // One reading stands for all.
            let parts = path.split('/').filter(|p| p.parse::<usize>().is_err());
            let field: Vec<String> = parts
                .map(|p| {
                    p.parse::<Test>()
                        .map_or_else(|_| p.to_string(), |_| "test".into())
                })
                .collect();
            let text = tree.pointer(&path).unwrap().as_str().unwrap().to_string();
            if seen.insert(field) && with(&tree, &path, &format!("{text}x")).is_some() {
                out.push((tree.clone(), path, text));
            }
        }
    }
    assert!(out.len() > 60, "{}", out.len());
    out
}

fn is_prose(path: &str) -> bool {
    ["/extent", "/existing", "/remarks", "/text"]
        .iter()
        .any(|end| path.ends_with(end))
}

#[test]
fn no_text_takes_what_cannot_be_seen() {
    for (tree, path, text) in texts() {
        for bad in [
            '\u{1b}', '\u{7}', '\0', '\t', '\r', '\u{200b}', '\u{200c}', '\u{200d}', '\u{200e}',
            '\u{200f}', '\u{202a}', '\u{202e}', '\u{2060}', '\u{2066}', '\u{2069}', '\u{feff}',
        ] {
            assert!(
                is_refused(&tree, &path, &format!("{text}{bad}")),
                "{path}: {bad:?}"
            );
        }
        let lines = is_refused(&tree, &path, &format!("{text}\nmore"));
        assert_eq!(lines, !is_prose(&path), "{path}: a line end");
    }
}

#[test]
fn every_text_has_a_longest_length() {
    for (tree, path, _) in texts() {
        let most = match path.as_str() {
            p if is_prose(p) => 5_000,
            p if p.ends_with("/typed") => 400,
            _ => 300,
        };
        assert!(is_refused(&tree, &path, &"x".repeat(most + 1)), "{path}");
        if is_prose(&path) {
            assert!(!is_refused(&tree, &path, &"é".repeat(most)), "{path}");
        }
    }
    let tree = serde_json::to_value(whole("mill-yard.ron")).unwrap();
    for path in ["/title", "/reference", "/client/name", "/boards/0/name"] {
        assert!(is_refused(&tree, path, &"x".repeat(121)), "{path}");
        assert!(!is_refused(&tree, path, &"x".repeat(120)), "{path}");
    }
}

#[test]
fn the_field_and_the_remedy_are_named() {
    let mut job = whole("mill-yard.ron");
    job.title = "a\u{202e}b".into();
    job.boards[0].location = "hall\u{1b}[2J".into();
    job.people[0].name = "J.\nExample".into();
    job.extent = "x".repeat(5_001);
    let said: Vec<(String, String, String)> = job
        .problems()
        .into_iter()
        .map(|p| (p.field, p.what, p.remedy))
        .collect();
    let want = [
        (
            "title",
            "a character that can't be seen (U+202E), as character 2",
            "delete the text and type it again, instead of pasting it",
        ),
        (
            "extent",
            "the text has 5001 characters",
            "shorten it to at most 5000",
        ),
        (
            "people[0].name",
            "a line end in a text of one line, as character 3",
            "write it on one line, and look for a closing quote that is missing",
        ),
        (
            "boards[0].location",
            "a control character (U+001B), as character 5",
            "delete the text and type it again",
        ),
    ]
    .map(|(a, b, c)| (a.to_string(), b.to_string(), c.to_string()));
    assert_eq!(said, want);
}

#[test]
fn a_reference_says_something() {
    let mut job = whole("mill-yard.ron");
    job.reference = "--".into();
    assert_eq!(job.problems()[0].field, "reference");
}

#[test]
fn what_a_problem_quotes_is_fit_for_a_terminal() {
    let mut job = whole("mill-yard.ron");
    job.boards[0].id = "R\u{1b}[2J".into();
    let problem = job
        .problems()
        .into_iter()
        .find(|p| p.field == "boards[0].id")
        .unwrap();
    assert_eq!(problem.what, "`R\\u{1b}[2J` can't be an id");
}
