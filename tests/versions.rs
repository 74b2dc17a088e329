//! Job files of every version: what they hold is there, signatures and issues stay valid, the original stays beside; a newer
//! one is only looked at.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use common::root;
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::job::{Change, Done, Place, Reading, SCHEMA};
use wanderlead::store::{Session, read_job};

/// Where the stored files of a version are. They were written by the program as it was then, and are never written anew.
fn stored(version: u32) -> PathBuf {
    root().join(format!("tests/data/versions/{version}"))
}

/// A stored file with its journal, copied into a folder of its own.
fn copied(version: u32, name: &str) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join(name);
    for end in ["", ".journal"] {
        let from = stored(version).join(format!("{name}{end}"));
        if from.exists() {
            fs::copy(from, dir.path().join(format!("{name}{end}"))).unwrap();
        }
    }
    (dir, job)
}

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-28T10:00:00+00:00").unwrap()
}

fn keep(place: &str, typed: &str, by: &str) -> Change {
    let place: Place = place.parse().unwrap();
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: by.into(),
            at: at(),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

fn names(version: u32) -> Vec<String> {
    let mut out: Vec<String> = fs::read_dir(stored(version))
        .unwrap_or_else(|e| panic!("version {version} has no stored files: {e}"))
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.ends_with(".ron"))
        .collect();
    out.sort();
    out
}

#[test]
fn files_of_every_version_are_stored_and_can_be_opened() {
    for version in 1..=SCHEMA {
        assert!(names(version).len() >= 2, "version {version}");
        for name in names(version) {
            let (_dir, job) = copied(version, &name);
            let text = fs::read_to_string(&job).unwrap();
            assert!(text.contains(&format!("schema: {version},")), "{name}");
            let opened = read_job(&job).unwrap();
            assert_eq!(opened.lost, None, "{name}");
            assert_eq!(opened.job.schema, SCHEMA);
            let session = Session::open(&job).unwrap();
            assert_eq!(session.read_only(), None, "{name}");
            assert_eq!(session.job(), &opened.job);
            session.close().unwrap();
            let untouched = !stored(version).join(format!("{name}.journal")).exists();
            if untouched {
                assert_eq!(
                    fs::read_to_string(&job).unwrap(),
                    text,
                    "opened, not changed"
                );
            }
        }
    }
}

#[test]
fn a_changed_file_is_written_in_this_version_and_the_original_stays_beside() {
    for version in 1..SCHEMA {
        for name in names(version) {
            let (dir, job) = copied(version, &name);
            let original = fs::read(&job).unwrap();
            let mut session = Session::open(&job).unwrap();
            let who = session.job().people[0].id.clone();
            let part = if session.job().entry(&"supply/ze".parse().unwrap()).is_some() {
                "supply/ze"
            } else {
                "safe/sources"
            };
            let typed = if part == "supply/ze" { "0.29" } else { "pass" };
            session.keep(&keep(part, typed, &who), at()).unwrap();
            let kept = session.job().clone();
            session.close().unwrap();
            let beside = dir.path().join(format!("{name}.version-{version}-1"));
            assert_eq!(fs::read(beside).unwrap(), original, "{name}");
            let text = fs::read_to_string(&job).unwrap();
            assert!(text.contains(&format!("schema: {SCHEMA},")), "{name}");
            let again = read_job(&job).unwrap();
            assert_eq!(again.job, kept);
            assert!(again.notes.is_empty(), "{name}: {:?}", again.notes);
            // Once: the next save copies nothing.
            let mut session = Session::open(&job).unwrap();
            assert!(session.found().is_empty(), "{:?}", session.found());
            session.keep(&keep(part, typed, &who), at()).unwrap();
            session.close().unwrap();
            assert!(
                !dir.path()
                    .join(format!("{name}.version-{version}-2"))
                    .exists()
            );
        }
    }
}

/// Signed and issued by the program of version 1: its digests are those of the content, not of the file.
#[test]
fn signatures_and_issues_of_version_1_stay_valid() {
    let (_dir, job) = copied(1, "signed.ron");
    let opened = read_job(&job).unwrap();
    let job = opened.job;
    let issue = job.issues.last().unwrap();
    assert_eq!(
        issue.content, "34bbb4399cbfb68faec06e60ef0acfa8",
        "as that program wrote it"
    );
    assert_eq!(job.content_digest().unwrap(), issue.content);
    assert!(job.changed_since(issue).is_empty());
    let covers = job.work_digest().unwrap();
    assert_eq!(job.signed.len(), 3);
    for (key, digest) in &job.signed {
        assert_eq!(*digest, covers, "{key}");
    }
    let findings = judge_all(&job, &Forms::embedded().unwrap());
    let signs: Vec<Verdict> = findings
        .iter()
        .filter(|f| f.place.test.is_signature())
        .map(|f| f.verdict)
        .collect();
    assert_eq!(signs, [Verdict::Within; 3]);
}

/// A journal that the program of version 1 left behind is brought back, and is the beginning of the history.
#[test]
fn a_journal_of_version_1_is_brought_back_into_the_history() {
    let (_dir, job) = copied(1, "journalled.ron");
    let session = Session::open(&job).unwrap();
    let history = &session.job().history;
    let told: Vec<(Done, &str, String)> = history
        .iter()
        .map(|d| (d.done, d.what.as_str(), d.change()))
        .collect();
    assert_eq!(told.len(), 5);
    assert_eq!(
        told[4],
        (Done::Kept, "R/1/r1r2", "0.15 -> 0.16".to_string())
    );
    assert_eq!(history.broken(), None);
}

/// A file as a later program might write it: new fields where there are none yet.
fn newer(dir: &Path) -> PathBuf {
    let job = dir.join("a.ron");
    let text = include_str!("store_fixture.ron")
        .replacen("schema: 1,", "schema: 9,\n  colour: \"blue, (\",", 1)
        .replace("kind: Fixed", "shade: [(1, {\"k\": Some(2)})], kind: Fixed")
        .replace("kind: Lighting", "kind: Lighting, shade: \"a\"");
    assert!(text.matches("shade").count() > 1, "{text}");
    fs::write(&job, text).unwrap();
    job
}

#[test]
fn a_newer_file_is_read_as_far_as_it_can_be_and_nothing_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let job = newer(dir.path());
    let bytes = fs::read(&job).unwrap();
    let opened = read_job(&job).unwrap();
    assert_eq!(opened.job.boards.len(), 1);
    let lost = opened.lost.unwrap();
    for part in [
        "version 9 is newer than this program",
        "Not shown, because this program doesn't know it: colour, boards[].circuits[].shade.",
        "nothing is kept, signed, issued or drafted from it",
    ] {
        assert!(lost.contains(part), "{lost}");
    }
    for mut session in [Session::open(&job).unwrap(), Session::open(&job).unwrap()] {
        assert!(session.read_only().unwrap().contains("version 9") && !session.waits());
        let error = session.keep(&keep("safe/sources", "pass", "JE"), at());
        assert!(error.unwrap_err().to_string().contains("nothing was kept"));
        session.go_on("JE", at()).unwrap();
        assert!(session.read_only().is_some());
        session.close().unwrap();
    }
    let told = |args: &[&str], code: i32| {
        let out = common::program()
            .current_dir(dir.path())
            .args(args)
            .output()
            .unwrap();
        assert_eq!(out.status.code(), Some(code), "{args:?}");
        let said = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
        assert!(
            said.contains("version 9 is newer than this program"),
            "{said}"
        );
    };
    told(&["check", "a.ron"], 1);
    told(&["show", "a.ron"], 1);
    told(&["history", "a.ron"], 1);
    told(&["draft", "a.ron", "--out", "a.pdf"], 2);
    told(&["draft", "a.ron", "--out", "a.pdf", "--issue"], 2);
    told(&["export", "a.ron"], 2);
    told(&["keep", "a.ron", "safe/sources", "pass"], 2);
    let left: Vec<String> = fs::read_dir(dir.path())
        .unwrap()
        .map(|f| f.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(left, ["a.ron"]);
    assert_eq!(fs::read(&job).unwrap(), bytes);
}

#[test]
fn a_newer_file_that_cannot_be_read_gets_a_clear_error() {
    let dir = tempfile::tempdir().unwrap();
    let job = newer(dir.path());
    let text = fs::read_to_string(&job).unwrap();
    fs::write(&job, text.replace("earthing: TnCS", "earthing: TnX")).unwrap();
    assert_ne!(fs::read_to_string(&job).unwrap(), text);
    let error = read_job(&job).unwrap_err().to_string();
    assert!(
        error.contains(
            "field schema: version 9 is newer than this program, and can't be shown by it"
        ) && error.contains("use a newer one"),
        "{error}"
    );
}
