//! The history: every change is in it with who, when, old and new value; nothing takes anything out; a break of its chain is
//! found, shown and printed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod store_help;

use std::fs;
use std::path::{Path, PathBuf};

use common::{CLEAN, Screen, root};
use store_help::memory::Memory;
use store_help::visit::{Manner, file, keep, walk, world};
use wanderlead::job::{Change, Done, Job};
use wanderlead::screen::View;
use wanderlead::store::{Session, StoreError, read_job};

/// A visit by script with every kind of change, saved: see `store_help/visit.rs`.
fn visited() -> Job {
    let memory = Memory::new(world());
    let (visit, fault) = walk(&memory, Manner::default());
    fault.unwrap();
    visit.last().kept.clone()
}

#[test]
fn every_change_of_a_visit_is_in_it() {
    let job = visited();
    let told: Vec<String> = job
        .history
        .iter()
        .map(|d| {
            format!(
                "{} {} {} {}: {}",
                d.at.format("%H:%M"),
                d.by,
                d.done.name(),
                d.what,
                d.change()
            )
        })
        .collect();
    assert_eq!(
        told,
        [
            "10:00 AP kept R/1/r1r2: nothing -> 0.15",
            "10:01 JE kept R/1/ir-ll: nothing -> 200",
            "10:02 JE kept R/1/ir-le: nothing -> >999",
            "10:03 JE kept R/1/zs: nothing -> 0.42",
            "10:04 JE kept R/2/r1r2: nothing -> 0.61",
            "10:05 JE kept R/2/ir-ll: nothing -> 150",
            "10:06 JE kept R/2/ir-le: nothing -> 180",
            "10:07 JE kept R/2/zs: nothing -> 0.95",
            "10:08 JE kept R/zdb: nothing -> 0.31",
            "10:09 JE kept R/1/zs: 0.42 -> 0.44",
            "10:10 JE kept R/2/zs: 0.95 -> 0.97",
            "10:11 JE kept R/2/zs: 0.97 -> 0.99",
            "10:12 JE put back R/2/zs: 0.99 -> 0.97",
            "10:13 JE put back R/2/zs: 0.97 -> 0.99",
            "10:14 JE kept R/1/ir-le: >999 -> 400",
            "10:14 JE kept R/2/ir-le: 180 -> 300",
            "10:15 JE countersigned R/1/r1r2: 0.15",
            "10:16 JE edited circuit R/2: name: lights -> lights upstairs",
            "10:18 JE kept R/1/zs: 0.44 -> 0.46",
            "10:20 JE kept R/zdb: 0.31 -> 0.33",
            "10:22 JE kept R/zdb: 0.33 -> 0.35",
        ]
    );
    assert_eq!(job.history.broken(), None);
}

/// Everything that can be sent to a job goes through `Change`: whatever it is, what was there stays.
#[test]
fn no_change_takes_anything_out() {
    let memory = Memory::new(world());
    let (visit, _) = walk(&memory, Manner::default());
    let mut before: Vec<String> = Vec::new();
    for promise in &visit.promises {
        let now: Vec<String> = promise
            .kept
            .history
            .iter()
            .map(|d| d.digest.clone())
            .collect();
        assert!(now.starts_with(&before), "{now:?} after {before:?}");
        before = now;
    }
    assert_eq!(before.len(), 21);
}

/// The saved file of a visit.
fn saved(dir: &Path) -> PathBuf {
    let memory = Memory::new(world());
    walk(&memory, Manner::default()).1.unwrap();
    let session = Session::open_on(Box::new(memory.clone()), &file()).unwrap();
    session.close().unwrap();
    let bytes = memory
        .0
        .lock()
        .unwrap()
        .world
        .read(&file())
        .unwrap()
        .to_vec();
    let job = dir.join("a.ron");
    fs::write(&job, bytes).unwrap();
    job
}

/// The lines of the history in a file, each of them a deed.
fn deeds(text: &str) -> Vec<String> {
    let (_, rest) = text.split_once("    deeds: [\n").unwrap();
    let (list, _) = rest.split_once("    ],\n").unwrap();
    list.lines().map(str::to_string).collect()
}

#[test]
fn each_deed_is_one_line_of_the_file_and_any_change_of_one_breaks_the_chain() {
    let dir = tempfile::tempdir().unwrap();
    let job = saved(dir.path());
    let text = fs::read_to_string(&job).unwrap();
    let lines = deeds(&text);
    assert_eq!(lines.len(), 21, "{lines:#?}");
    assert!(lines.iter().all(|l| l.len() < 160), "{lines:#?}");
    let broken = |altered: String| {
        assert_ne!(altered, text);
        fs::write(&job, altered).unwrap();
        let opened = read_job(&job).unwrap();
        let notes = opened.notes.join("\n");
        assert!(
            notes.contains("the chain of the history is broken"),
            "{notes}"
        );
        opened.job.history.broken().unwrap().at
    };
    for (i, line) in lines.iter().enumerate() {
        // Somebody, something, some value or time of it is altered.
        for (from, to) in [
            ("JE", "AP"),
            ("AP", "JE"),
            ("R/", "S/"),
            ("T10:", "T11:"),
            ("0.", "9."),
        ] {
            if line.contains(from) {
                let at = broken(text.replacen(line, &line.replacen(from, to, 1), 1));
                assert_eq!(at, i + 1, "{line}");
            }
        }
        // It is removed: seen at the one after it, or at the end.
        let gone = broken(text.replacen(&format!("{line}\n"), "", 1));
        assert_eq!(gone, i + 1);
    }
    // Two change places.
    let swapped = format!("{}\n{}\n", lines[4], lines[3]);
    let pair = format!("{}\n{}\n", lines[3], lines[4]);
    assert_eq!(broken(text.replacen(&pair, &swapped, 1)), 4);
    // The last three are cut off.
    let tail: String = lines[18..].iter().map(|l| format!("{l}\n")).collect();
    assert_eq!(broken(text.replacen(&tail, "", 1)), 19);
}

#[test]
fn what_is_done_afterwards_never_mends_a_break() {
    let dir = tempfile::tempdir().unwrap();
    let job = saved(dir.path());
    let text = fs::read_to_string(&job).unwrap();
    let last = deeds(&text).pop().unwrap();
    for altered in [
        text.replacen(&format!("{last}\n"), "", 1),
        text.replacen(&last, &last.replacen("0.35", "0.25", 1), 1),
    ] {
        fs::write(&job, altered).unwrap();
        let at = read_job(&job).unwrap().job.history.broken().unwrap().at;
        let mut session = Session::open(&job).unwrap();
        let now = common::later();
        session.go_on("JE", now).unwrap();
        session.keep(&keep("R/zdb", "0.5", "JE", now), now).unwrap();
        session.close().unwrap();
        assert_eq!(read_job(&job).unwrap().job.history.broken().unwrap().at, at);
    }
}

#[test]
fn a_file_that_was_changed_by_hand_is_noted_in_it_before_the_next_change() {
    let dir = tempfile::tempdir().unwrap();
    let job = saved(dir.path());
    let text = fs::read_to_string(&job).unwrap();
    // A careful hand takes the line with the digest of the file out as well.
    let unchecked = text.lines().filter(|l| !l.starts_with("// check"));
    let unchecked: Vec<&str> = unchecked.collect();
    for altered in [
        text.replace("typed: \"0.61\"", "typed: \"0.16\""),
        unchecked
            .join("\n")
            .replace("typed: \"0.61\"", "typed: \"0.16\""),
    ] {
        assert_ne!(altered, text);
        fs::write(&job, altered).unwrap();
        let _ = fs::remove_file(dir.path().join("a.ron.journal"));
        let mut session = Session::open(&job).unwrap();
        assert!(
            session
                .notes()
                .join("\n")
                .contains("was changed since it was saved")
        );
        let now = common::later();
        for by in ["AP", "JE"] {
            let kept = session.keep(&keep("R/zdb", "0.5", by, now), now);
            assert!(matches!(kept, Err(StoreError::ReadOnly { .. })), "{kept:?}");
        }
        assert!(session.go_on("AP", now).is_err(), "not an apprentice");
        session.go_on("JE", now).unwrap();
        session.keep(&keep("R/zdb", "0.5", "AP", now), now).unwrap();
        session.close().unwrap();
        let again = read_job(&job).unwrap().job;
        let settled = again.history.iter().filter(|d| d.done == Done::Settled);
        let settled: Vec<_> = settled.map(|d| (d.what.as_str(), d.by.as_str())).collect();
        // The file, that one reading isn't as the history has it, and that it is taken as it stands.
        let found = ("found on opening", "JE");
        assert_eq!(settled, [found, found, ("R/2/r1r2", "JE")]);
        assert_eq!(again.history.broken(), None);
    }
}

/// A change that the disk refuses leaves the job exactly as it was, history and all.
#[test]
fn what_is_put_back_is_as_it_was_to_the_last_field() {
    let memory = Memory::new(world());
    let (visit, _) = walk(&memory, Manner::default());
    let job = visit.last().kept.clone();
    let mut tried = 0;
    let now = common::later();
    let zs = keep("R/1/zs", "0.5", "JE", now);
    let undo = job.clone().apply(&zs).unwrap().in_the_name_of("JE", now);
    let together = Change::Together(vec![zs.clone(), keep("R/2/zs", "0.5", "JE", now)]);
    let settled = Change::Settled {
        what: "w".into(),
        how: "h".into(),
        by: "JE".into(),
        at: now,
    };
    let mut after = job.clone();
    after.apply(&zs).unwrap();
    let sign = keep("sign/design", "J. Example", "JE", now);
    let label = keep("label/diagram/fitted", "pass", "JE", now);
    for (job, change) in [
        (&job, zs),
        (&after, undo),
        (&job, together),
        (&job, settled),
        (&job, sign),
        (&job, label),
    ] {
        let mut changed = job.clone();
        let Ok((_, restore)) = changed.apply_for_now(&change) else {
            // Not every label is wanted in this small job.
            continue;
        };
        assert_ne!(&changed, job, "{change:?}");
        changed.restore(restore);
        assert_eq!(&changed, job, "{change:?}");
        tried += 1;
    }
    assert!(tried >= 5, "{tried}");
}

fn text_of(pdf: &Path) -> String {
    let out = std::process::Command::new("pdftotext")
        .args(["-layout"])
        .arg(pdf)
        .arg("-")
        .output()
        .expect("poppler-utils");
    let text = String::from_utf8(out.stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The clean sample with a change kept by the program.
/// What a command says in a folder, and its exit code.
fn said_in(dir: &Path, args: &[&str]) -> (String, i32) {
    let out = common::program().current_dir(dir).args(args).output();
    let out = out.unwrap();
    let said = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
    (said, out.status.code().unwrap())
}

fn now() -> chrono::DateTime<chrono::FixedOffset> {
    common::later()
}

fn changed_sample() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::copy(root().join("sample-jobs").join(CLEAN), &job).unwrap();
    let mut session = Session::open(&job).unwrap();
    let now = common::later();
    session
        .keep(&keep("M/3/r1r2", "0.48", "mk", now), now)
        .unwrap();
    session.undo("mk", now).unwrap();
    session.close().unwrap();
    (dir, job)
}

#[test]
fn one_entry_is_said_as_one() {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::write(&job, include_str!("store_fixture.ron")).unwrap();
    let mut session = Session::open(&job).unwrap();
    let now = common::later();
    session
        .keep(&keep("R/1/r1r2", "0.15", "JE", now), now)
        .unwrap();
    session.close().unwrap();
    let (said, _) = said_in(dir.path(), &["history", "a.ron"]);
    assert!(said.contains("\n1 entry, chain whole, "), "{said}");
    said_in(dir.path(), &["draft", "a.ron", "--out", "a.pdf"]);
    let pack = text_of(&dir.path().join("a.pdf"));
    let one = "1 entry, of 1 Dec 2026 15:00; its chain of digests is whole and ends with";
    assert!(pack.contains(one), "{pack}");
}

#[test]
fn it_is_listed_shown_and_printed_and_so_is_a_break() {
    let (dir, job) = changed_sample();
    let run = |args: &[&str]| said_in(dir.path(), args);
    let (said, code) = run(&["history", "a.ron"]);
    assert_eq!(code, 0);
    for line in [
        "history begun record: ",
        "2. 2026-12-01 15:00:00 Morwen Kettleby kept M/3/r1r2: 0.47, countersigned by mk -> 0.48",
        "3. 2026-12-01 15:00:00 Morwen Kettleby put back M/3/r1r2: 0.48 -> 0.47, countersigned by mk",
        "3 entries, chain whole, last digest ",
    ] {
        assert!(said.contains(line), "{line}: {said}");
    }
    let (csv, _) = run(&["history", "a.ron", "--as", "csv"]);
    assert!(
        csv.contains(",mk,kept,M/3/r1r2,\"0.47, countersigned by mk\",0.48,"),
        "{csv}"
    );
    let (json, _) = run(&["history", "a.ron", "--as", "json"]);
    assert!(json.contains("\"new\": \"0.48\""), "{json}");
    let (_, code) = run(&["draft", "a.ron", "--out", "a.pdf"]);
    assert_eq!(code, 0);
    let pack = text_of(&dir.path().join("a.pdf"));
    let whole = "their chain of digests is whole and ends with";
    assert!(
        pack.contains("3 entries from") && pack.contains(whole),
        "{pack}"
    );
    run(&["draft", "a.ron", "--out", "h.pdf", "--part", "history"]);
    let all = text_of(&dir.path().join("h.pdf"));
    assert!(
        all.contains("countersigned by mk -> 0.48") && all.contains("0.48 -> 0.47"),
        "{all}"
    );
    assert!(
        !pack.contains("countersigned by mk -> 0.48"),
        "in full only where it is asked for"
    );

    let text = fs::read_to_string(&job).unwrap();
    fs::write(&job, text.replace("by mk\", \"0.48\"", "by mk\", \"0.43\"")).unwrap();
    let (said, code) = run(&["history", "a.ron"]);
    assert!(
        code == 1 && said.contains("CHAIN BROKEN: entry 2 of the history (M/3/r1r2"),
        "{said}"
    );
    // A paper of it would look whole before somebody has decided about the file.
    let (said, code) = run(&["draft", "a.ron", "--out", "a.pdf"]);
    assert!(
        code == 2 && said.contains("decide about it first"),
        "{said}"
    );
    let (said, code) = run(&["verify", "a.ron", "h.pdf"]);
    assert!(code == 1 && said.contains("in question"), "{said}");
    let decided = dir.path().join("b.ron");
    fs::copy(&job, &decided).unwrap();
    let mut session = Session::open(&decided).unwrap();
    session.go_on("mk", now()).unwrap();
    session.close().unwrap();
    run(&["draft", "b.ron", "--out", "b.pdf"]);
    let pack = text_of(&dir.path().join("b.pdf"));
    assert!(
        pack.contains("THE CHAIN OF DIGESTS OF THE HISTORY IS BROKEN: entry 2"),
        "{pack}"
    );
    assert!(!pack.contains(whole));
    let (said, _) = run(&["check", "a.ron"]);
    assert!(
        said.contains("the chain of the history is broken: entry 2"),
        "{said}"
    );
    let mut screen = Screen::at(tempfile::tempdir().unwrap(), job, 80, 24, true);
    assert_eq!(screen.sitting.state.view, View::Found);
    assert!(
        screen
            .picture()
            .contains("the chain of the history is broken")
    );
    screen.text("h");
    assert_eq!(screen.sitting.state.view, View::History);
    let shown = screen.picture();
    assert!(shown.contains("! CHAIN BROKEN: entry 2"), "{shown}");
    assert!(
        shown
            .lines()
            .any(|l| l.contains("! 2026-12-01") && l.contains("0.47, count")),
        "{shown}"
    );
}

/// Somebody takes the history out of a file, and the line with the digest of the file too, and works on with it.
#[test]
fn a_history_that_was_taken_out_is_missed_and_so_is_an_issue_it_should_know() {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::copy(root().join("sample-jobs").join(CLEAN), &job).unwrap();
    let run = |args: &[&str]| said_in(dir.path(), args);
    let (said, code) = run(&["draft", "a.ron", "--out", "a.pdf", "--issue", "--by", "mk"]);
    assert_eq!(code, 0, "{said}");
    let (said, code) = run(&["check", "a.ron"]);
    assert_eq!(code, 0, "{said}");

    // It is saved with the issue.
    Session::open(&job).unwrap().close().unwrap();
    let text = fs::read_to_string(&job).unwrap();
    let taken_out = common::without_history(&text);
    fs::write(&job, &taken_out).unwrap();
    let _ = fs::remove_file(dir.path().join("a.ron.journal"));
    for (command, codes) in [("check", 1), ("history", 1), ("gather", 1)] {
        let of = if command == "gather" { "." } else { "a.ron" };
        let (said, code) = run(&[command, of]);
        // In a list of jobs there is room for the first reason.
        let gone = match command {
            "gather" => "in question",
            _ => "the history was taken out",
        };
        assert!(code == codes && said.contains(gone), "{command}: {said}");
    }
    let opened = read_job(&job).unwrap();
    assert!(opened.is_in_question());

    // Whoever goes on gets a new history, which says so; the issue is no part of it.
    let now = common::later();
    let mut session = Session::open(&job).unwrap();
    session.go_on("mk", now).unwrap();
    session
        .keep(&keep("M/3/r1r2", "0.48", "mk", now), now)
        .unwrap();
    session.close().unwrap();
    let beside = fs::read_to_string(dir.path().join("a.ron.found-1")).unwrap();
    assert_eq!(beside, taken_out, "the file as it was found");
    let opened = read_job(&job).unwrap();
    let mut settled = opened.job.history.iter();
    assert!(settled.any(|d| d.done == Done::Settled), "{opened:?}");
    let said = opened.notes.join("\n");
    assert!(
        !said.contains("was taken out of the job file though"),
        "{said}"
    );
    let unknown = "issue 1 of ";
    let settled = opened
        .job
        .history
        .iter()
        .filter(|d| d.new.starts_with(unknown));
    assert!(
        settled.count() == 1 && !said.contains(unknown),
        "decided, and said no more: {said}"
    );
    assert!(!opened.is_in_question());
}

/// Three hands: one alters a value, one takes a reading out, one puts one in; each with the digest of the file made anew.
#[test]
fn a_reading_that_is_not_as_the_history_has_it_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let job = saved(dir.path());
    let text = fs::read_to_string(&job).unwrap();
    let before = read_job(&job).unwrap();
    assert_eq!(before.job.unlike_history(usize::MAX), vec![]);
    let altered = text.replace("typed: \"0.61\"", "typed: \"0.16\"");
    assert_ne!(altered, text);
    // Somebody who knows how the last line is made.
    let (body, _) = altered.rsplit_once("// check ").unwrap();
    let check = wanderlead::job::digest::digest(&[body.as_bytes()]);
    fs::write(&job, format!("{body}// check {check}\n")).unwrap();
    let _ = fs::remove_file(dir.path().join("a.ron.journal"));
    let opened = read_job(&job).unwrap();
    let said = opened.notes.join("\n");
    assert!(!said.contains("was changed since it was saved"), "{said}");
    let named = "R/2/r1r2: 0.16 stands there, the history has 0.61";
    assert!(
        said.contains("1 reading isn't as the history has it"),
        "{said}"
    );
    assert!(said.contains(named), "{said}");
    assert!(opened.is_in_question());

    let out = dir.path().join("a.pdf");
    let draft = || {
        let mut program = common::program();
        program.arg("draft").arg(&job).arg("--out").arg(&out);
        program.args(["--part", "history"]).output().unwrap()
    };
    let refused = draft();
    let said = String::from_utf8(refused.stderr).unwrap();
    assert!(refused.status.code() == Some(2) && !out.exists(), "{said}");
    assert!(said.contains("decide about it first"), "{said}");

    // A qualified person takes it as it stands; from then on the history knows it.
    let mut session = Session::open(&job).unwrap();
    assert!(session.waits());
    let found = session.found().iter().find(|f| !f.changes.is_empty());
    let change = &found.unwrap().changes[0];
    assert_eq!(
        (change.what.as_str(), change.by.as_str()),
        ("R/2/r1r2", "JE")
    );
    assert!(change.value.contains("0.16, and the history has 0.61"));
    let now = common::later();
    assert!(session.go_on("AP", now).is_err(), "not an apprentice");
    session.go_on("JE", now).unwrap();
    session.close().unwrap();
    let again = read_job(&job).unwrap();
    assert!(!again.is_in_question(), "{:?}", again.notes);
    let mut settled = again.job.history.iter().rev();
    assert!(
        settled.any(|d| d.what == "R/2/r1r2" && d.new.starts_with(named)),
        "{named}"
    );
    assert!(draft().status.success());
    let printed = text_of(&out);
    let flat = printed.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("Taken as it stands, by decision"), "{flat}");

    // Whatever somebody wrote into the history is cut where it is quoted.
    let long = format!("\"R/2/r1r2\", \"\", \"{}\"", "W".repeat(300));
    let written = text.replace("\"R/2/r1r2\", \"\", \"0.61\"", &long);
    assert_ne!(written, text);
    fs::write(&job, written).unwrap();
    fs::remove_file(dir.path().join("a.ron.journal")).unwrap();
    let said = read_job(&job).unwrap().notes.join("\n");
    assert!(
        said.contains("the history has WWW") && said.contains("WWW…"),
        "{said}"
    );
    assert!(!said.contains(&"W".repeat(100)), "{said}");

    // Taken out, and put in: the readings of a changed job with the history of the one before.
    let back = Change::Put {
        place: "R/2/r1r2".parse().unwrap(),
        entry: None,
        by: "JE".into(),
        at: None,
    };
    let put = keep("inspect/enclosures", "pass", "JE", now);
    for (change, stands, kept) in [(back, None, Some("0.61")), (put, Some("pass"), None)] {
        let mut other = before.job.clone();
        other.apply(&change).unwrap();
        other.history = before.job.history.clone();
        let unlike = other.unlike_history(usize::MAX);
        let told = unlike
            .iter()
            .map(|u| (u.stands.as_deref(), u.kept.as_deref()));
        assert_eq!(told.collect::<Vec<_>>(), [(stands, kept)]);
    }
}
