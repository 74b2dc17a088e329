//! Damage that was once passed over, or of which something untrue was said.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod store_help;

use std::fs;
use std::path::PathBuf;

use chrono::{DateTime, FixedOffset};
use store_help::visit::{JOB, keep};
use wanderlead::store::{Session, read_job};

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap()
}

/// A job that the program saved with this reading, and its folder.
fn saved(typed: &str) -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::write(&job, JOB).unwrap();
    let mut session = Session::open(&job).unwrap();
    assert!(
        session.notes().is_empty(),
        "nothing is known of a file that this program never saved"
    );
    session
        .keep(&keep("R/1/zs", typed, "JE", at()), at())
        .unwrap();
    session.close().unwrap();
    (dir, job)
}

#[test]
fn a_figure_altered_in_a_saved_job_file_is_said_and_the_file_kept() {
    let (dir, job) = saved("0.82");
    assert!(read_job(&job).unwrap().notes.is_empty());
    let text = fs::read_to_string(&job).unwrap();
    let altered = text.replace("typed: \"0.82\"", "typed: \"0.92\"");
    assert_ne!(text, altered);
    fs::write(&job, &altered).unwrap();

    let want = format!(
        "{}: was changed since it was saved, by hand or by damage to the disk: look through it. It is copied beside before \
         it is saved again",
        job.display()
    );
    let unlike = "1 reading isn't as the history has it: the file was changed outside of the program. R/1/zs: 0.92 stands there, \
                  the history has 0.82";
    assert_eq!(read_job(&job).unwrap().notes, [want.as_str(), unlike]);
    let mut session = Session::open(&job).unwrap();
    assert_eq!(session.notes(), [want.as_str(), unlike]);
    assert!(session.waits() && session.read_only().is_some());
    let copy = dir.path().join("a.ron.found-1");
    assert!(!copy.exists(), "not before somebody decided");
    session.go_on("JE", at()).unwrap();
    assert_eq!(session.read_only(), None, "an edit by hand is allowed");
    for typed in ["0.31", "0.32"] {
        session
            .keep(&keep("R/zdb", typed, "JE", at()), at())
            .unwrap();
        session.save().unwrap();
    }
    assert_eq!(fs::read_to_string(copy).unwrap(), altered);
    assert!(!dir.path().join("a.ron.found-2").exists());
    drop(session);
    assert!(read_job(&job).unwrap().notes.is_empty());
}

#[test]
fn line_ends_turned_on_the_way_are_no_change() {
    let (_dir, job) = saved("0.82");
    let text = fs::read_to_string(&job).unwrap();
    fs::write(&job, text.replace('\n', "\r\n")).unwrap();
    assert!(read_job(&job).unwrap().notes.is_empty());
}

#[test]
fn a_line_that_may_have_been_called_kept_is_not_said_to_be_none() {
    let (_dir, job) = saved("0.82");
    let mut session = Session::open(&job).unwrap();
    session
        .keep(&keep("R/zdb", "0.31", "JE", at()), at())
        .unwrap();
    drop(session);
    let journal = job.with_extension("ron.journal");
    let text = fs::read_to_string(&journal).unwrap();
    fs::write(&journal, text.replace("0.31", "0.37")).unwrap();
    let mut session = Session::open(&job).unwrap();
    session.go_on("JE", at()).unwrap();
    let said = session.notes().join("\n");
    assert_eq!(
        said,
        format!(
            "{0}: its last line (3) is damaged; what it held isn't in the job (if it was called kept, enter it again), and \
             was set aside in {0}.torn-1",
            journal.display()
        )
    );
}

#[test]
fn readings_of_a_journal_that_was_overtaken_are_counted() {
    let (dir, job) = saved("0.82");
    let journal = job.with_extension("ron.journal");
    // Another program had begun its own journal from the job as it was before.
    let other = dir.path().join("b.ron");
    fs::write(&other, JOB).unwrap();
    let mut session = Session::open(&other).unwrap();
    session
        .keep(&keep("R/zdb", "0.31", "JE", at()), at())
        .unwrap();
    drop(session);
    fs::copy(other.with_extension("ron.journal"), &journal).unwrap();

    let mut session = Session::open(&job).unwrap();
    session.go_on("JE", at()).unwrap();
    let said = session.notes().join("\n");
    assert!(
        said.contains(
            "1 reading in it is not in the job: taken back meanwhile, or kept by another program. Compare the two"
        ),
        "{said}"
    );
    let copy = fs::read_to_string(dir.path().join("a.ron.journal.old-1")).unwrap();
    assert!(copy.contains("0.31"));
}
