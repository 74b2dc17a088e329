//! Opening, keeping, saving and recovering on the real file system.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use wanderlead::job::{Change, Job, Place, Reading, Unit};
use wanderlead::store::{Session, StoreError, list_jobs, read_job};

const JOB: &str = include_str!("store_fixture.ron");

fn at(minute: u32) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(&format!("2026-09-01T10:{minute:02}:00+01:00")).unwrap()
}

fn keep(place: &str, typed: &str) -> Change {
    let place: Place = place.parse().unwrap();
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: "JE".into(),
            at: at(0),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

fn folder_with_job() -> (tempfile::TempDir, PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("a.ron");
    fs::write(&job, JOB).unwrap();
    (dir, job)
}

fn journal(job: &Path) -> PathBuf {
    job.with_extension("ron.journal")
}

fn typed(job: &Job, place: &str) -> Option<String> {
    job.entry(&place.parse().unwrap())
        .map(|e| e.now.typed.clone())
}

/// Keeps these and goes away without saving, as after a crash.
fn keep_and_vanish(job: &Path, changes: &[(&str, &str)]) {
    let mut session = Session::open(job).unwrap();
    for (place, value) in changes {
        session.keep(&keep(place, value), at(1)).unwrap();
    }
}

/// The place of a change that was taken back or made again.
fn turned(done: Result<Option<Change>, StoreError>) -> Place {
    done.unwrap().unwrap().places()[0].clone()
}

#[test]
fn what_was_kept_is_replayed_and_then_saved() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(
        &job,
        &[("R/1/zs", "0.82"), ("R/1/zs", "0.84"), ("R/zdb", "0.31")],
    );
    assert_eq!(fs::read_to_string(&job).unwrap(), JOB, "nothing saved yet");

    let session = Session::open(&job).unwrap();
    assert_eq!(session.notes(), ["3 changes brought back from the journal"]);
    let entry = session.job().entry(&"R/1/zs".parse().unwrap()).unwrap();
    assert_eq!((entry.now.typed.as_str(), entry.struck.len()), ("0.84", 1));
    assert_eq!((session.unsaved(), session.job().kept), (3, 3));
    let whole = session.job().clone();
    session.close().unwrap();

    fs::remove_file(journal(&job)).unwrap();
    let alone = read_job(&job).unwrap();
    assert_eq!(alone.job, whole, "the file is whole without its journal");
    assert!(alone.notes[0].contains("the job file is whole in itself"));
}

#[test]
fn a_saved_job_is_readable_text_that_says_what_it_is() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    session.close().unwrap();
    let text = fs::read_to_string(&job).unwrap();
    assert!(text.starts_with("// wanderlead job: "), "{text}");
    for line in ["      id: \"R\",", "typed: \"0.82\",", "  kept: 1,"] {
        assert!(text.contains(line), "{line} in {text}");
    }
}

#[test]
fn opening_without_a_change_leaves_the_file_as_it_is() {
    let (_dir, job) = folder_with_job();
    Session::open(&job).unwrap().close().unwrap();
    assert_eq!(fs::read_to_string(&job).unwrap(), JOB);
}

#[test]
fn a_line_torn_at_any_byte_costs_nothing_before_it() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(&job, &[("R/1/zs", "0.82"), ("R/2/zs", "1.90")]);
    let whole = fs::read(journal(&job)).unwrap();
    let ends: Vec<usize> = (0..whole.len()).filter(|i| whole[*i] == b'\n').collect();
    let (last, end) = (ends[1] + 1, whole.len());
    assert_eq!((ends.len(), ends[2] + 1), (3, end));
    for cut in last..end {
        let dir = tempfile::tempdir().unwrap();
        let job = dir.path().join("a.ron");
        fs::write(&job, JOB).unwrap();
        fs::write(journal(&job), &whole[..cut]).unwrap();

        let seen = read_job(&job).unwrap();
        assert_eq!(typed(&seen.job, "R/1/zs").as_deref(), Some("0.82"), "{cut}");
        assert_eq!(typed(&seen.job, "R/2/zs"), None, "{cut}");
        assert_eq!(
            fs::read(journal(&job)).unwrap(),
            &whole[..cut],
            "looking changes nothing"
        );

        let mut session = Session::open(&job).unwrap();
        assert_eq!(session.waits(), cut != last, "{cut}");
        assert_eq!(
            fs::read(journal(&job)).unwrap(),
            &whole[..cut],
            "nor before somebody decided"
        );
        session.go_on("JE", at(2)).unwrap();
        assert_eq!(session.read_only(), None, "{cut}");
        assert_eq!(
            typed(session.job(), "R/1/zs").as_deref(),
            Some("0.82"),
            "{cut}"
        );
        let aside = dir.path().join("a.ron.journal.torn-1");
        if cut == last {
            assert!(!aside.exists());
        } else {
            assert_eq!(fs::read(&aside).unwrap(), &whole[last..cut], "{cut}");
            let said = session.notes().join("\n");
            assert!(said.contains("its last line (3) is incomplete"), "{said}");
            assert!(said.contains("a.ron.journal.torn-1"), "{said}");
        }
        session.keep(&keep("R/2/zs", "2.00"), at(2)).unwrap();
        drop(session);
        let again = read_job(&job).unwrap();
        assert_eq!(again.lost, None, "{cut}");
        assert_eq!(
            typed(&again.job, "R/2/zs").as_deref(),
            Some("2.00"),
            "{cut}"
        );
    }
}

#[test]
fn a_journal_cut_anywhere_gives_back_every_whole_line() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(&job, &[("R/1/zs", "0.82"), ("R/2/zs", "1.90")]);
    let whole = fs::read(journal(&job)).unwrap();
    for cut in 0..whole.len() {
        fs::write(journal(&job), &whole[..cut]).unwrap();
        let lines = whole[..cut].iter().filter(|b| **b == b'\n').count() as u64;
        let seen = read_job(&job).unwrap();
        assert_eq!(seen.lost, None, "{cut}");
        assert_eq!(seen.job.kept, lines.saturating_sub(1), "{cut}");
    }
    // Cut within its header it is begun anew, and what was there is set aside; that is noted.
    fs::write(journal(&job), &whole[..9]).unwrap();
    let mut session = Session::open(&job).unwrap();
    session.go_on("JE", at(2)).unwrap();
    session.keep(&keep("R/zdb", "0.31"), at(2)).unwrap();
    drop(session);
    let seen = read_job(&job).unwrap();
    assert_eq!((seen.job.kept, seen.lost), (2, None));
    let aside = job.with_extension("ron.journal.torn-1");
    assert_eq!(fs::read(aside).unwrap(), &whole[..9]);
}

#[test]
fn any_altered_byte_of_the_last_line_is_found() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(&job, &[("R/1/zs", "0.82"), ("R/2/zs", "1.90")]);
    let whole = fs::read(journal(&job)).unwrap();
    let last = whole[..whole.len() - 1]
        .iter()
        .rposition(|b| *b == b'\n')
        .unwrap()
        + 1;
    for i in last..whole.len() - 1 {
        let mut bytes = whole.clone();
        bytes[i] ^= 1;
        fs::write(journal(&job), &bytes).unwrap();
        let seen = read_job(&job).unwrap();
        assert_eq!(typed(&seen.job, "R/1/zs").as_deref(), Some("0.82"), "{i}");
        assert_eq!(typed(&seen.job, "R/2/zs"), None, "byte {i}");
        assert!(
            seen.lost.is_some() || seen.notes.iter().any(|n| n.contains("is damaged")),
            "byte {i}: {:?}",
            seen.notes
        );
    }
}

#[test]
fn a_damaged_line_in_the_middle_makes_the_job_read_only_and_stays_where_it_is() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(
        &job,
        &[("R/1/zs", "0.82"), ("R/2/zs", "1.90"), ("R/zdb", "0.31")],
    );
    let text = fs::read_to_string(journal(&job))
        .unwrap()
        .replace("1.90", "1.80");
    fs::write(journal(&job), &text).unwrap();

    let mut session = Session::open(&job).unwrap();
    let why = session.read_only().unwrap().to_string();
    assert_eq!(
        why,
        format!(
            "{}: line 3 is damaged; 1 line after it can't be brought back by the program. Nothing was thrown away: copy \
             both files before anything else, then put the job file right or move the journal away",
            journal(&job).display()
        )
    );
    assert_eq!(typed(session.job(), "R/1/zs").as_deref(), Some("0.82"));
    assert_eq!(typed(session.job(), "R/zdb"), None);
    let error = session.keep(&keep("R/zdb", "0.4"), at(2)).unwrap_err();
    assert!(matches!(error, StoreError::ReadOnly { .. }), "{error}");
    session.close().unwrap();
    assert_eq!(fs::read_to_string(journal(&job)).unwrap(), text);
    assert_eq!(fs::read_to_string(&job).unwrap(), JOB);
}

#[test]
fn damage_in_what_the_job_file_contains_is_only_said() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    session.keep(&keep("R/2/zs", "1.90"), at(1)).unwrap();
    session.close().unwrap();
    keep_and_vanish(&job, &[("R/zdb", "0.31")]);
    let text = fs::read_to_string(journal(&job))
        .unwrap()
        .replace("0.82", "0.83");
    fs::write(journal(&job), text).unwrap();
    let session = Session::open(&job).unwrap();
    assert_eq!(session.read_only(), None);
    assert_eq!(typed(session.job(), "R/1/zs").as_deref(), Some("0.82"));
    assert_eq!(typed(session.job(), "R/zdb").as_deref(), Some("0.31"));
    assert!(session.notes()[0].contains("line 2 of the journal is damaged"));
}

#[test]
fn a_journal_of_another_job_is_never_replayed() {
    let (dir, job) = folder_with_job();
    keep_and_vanish(&job, &[("R/1/zs", "0.82")]);
    let other = dir.path().join("b.ron");
    fs::write(&other, JOB.replace("T-1", "T-2")).unwrap();
    fs::copy(journal(&job), journal(&other)).unwrap();
    let session = Session::open(&other).unwrap();
    assert_eq!(typed(session.job(), "R/1/zs"), None);
    let why = session.read_only().unwrap();
    assert!(
        why.contains("it belongs to job T-1 and not to T-2; 1 change waiting there"),
        "{why}"
    );
}

#[test]
fn a_journal_that_knows_less_than_the_job_is_set_aside() {
    let (dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    let early = fs::read(journal(&job)).unwrap();
    session.keep(&keep("R/2/zs", "1.90"), at(1)).unwrap();
    session.close().unwrap();
    fs::write(journal(&job), &early).unwrap();

    let mut session = Session::open(&job).unwrap();
    session.go_on("JE", at(2)).unwrap();
    assert_eq!(
        fs::read(dir.path().join("a.ron.journal.old-1")).unwrap(),
        early
    );
    session.keep(&keep("R/zdb", "0.31"), at(2)).unwrap();
    drop(session);
    let opened = read_job(&job).unwrap();
    assert_eq!(opened.lost, None);
    assert_eq!(
        ["R/1/zs", "R/2/zs", "R/zdb"].map(|p| typed(&opened.job, p).unwrap()),
        ["0.82", "1.90", "0.31"]
    );
}

#[test]
fn a_job_file_older_than_its_journal_gets_everything_back() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    session.close().unwrap();
    fs::write(&job, JOB).unwrap();
    assert_eq!(
        typed(&read_job(&job).unwrap().job, "R/1/zs").as_deref(),
        Some("0.82")
    );
}

#[test]
fn a_journal_from_a_state_the_job_never_had_is_not_written() {
    let (_dir, job) = folder_with_job();
    keep_and_vanish(&job, &[("R/1/zs", "0.82"), ("R/2/zs", "1.90")]);
    let stranger = JOB.replace(
        "schema: 1,",
        "schema: 1, kept: 1, kept_digest: \"00000000000000000000000000000000\",",
    );
    fs::write(&job, stranger).unwrap();
    let before = fs::read(journal(&job)).unwrap();
    let session = Session::open(&job).unwrap();
    let why = session.read_only().unwrap();
    assert!(
        why.contains("it goes up to line 2 but doesn't contain line 1 as the job file knows it"),
        "{why}"
    );
    assert_eq!(fs::read(journal(&job)).unwrap(), before);
}

#[test]
fn a_file_that_is_no_journal_is_left_alone() {
    let (_dir, job) = folder_with_job();
    for text in ["my notes\nof the day\n", "wanderlead journal 2 after 0 -\n"] {
        fs::write(journal(&job), text).unwrap();
        let session = Session::open(&job).unwrap();
        let why = session.read_only().unwrap();
        assert!(
            why.contains("its first line is not one that this program writes"),
            "{why}"
        );
        drop(session);
        assert_eq!(fs::read_to_string(journal(&job)).unwrap(), text);
    }
}

#[test]
fn one_writer_at_a_time_and_readers_any_time() {
    let (_dir, job) = folder_with_job();
    let mut first = Session::open(&job).unwrap();
    first.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    let error = Session::open(&job).err().unwrap();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: another program has this job open for writing; close it there first (check and draft work meanwhile)",
            job.display()
        )
    );
    assert_eq!(
        typed(&read_job(&job).unwrap().job, "R/1/zs").as_deref(),
        Some("0.82")
    );
    drop(first);
    assert!(Session::open(&job).is_ok());
}

#[cfg(unix)]
#[test]
fn a_second_name_of_the_job_shares_the_lock_and_stays_a_link() {
    let (dir, job) = folder_with_job();
    let link = dir.path().join("link.ron");
    std::os::unix::fs::symlink(&job, &link).unwrap();
    let mut first = Session::open(&link).unwrap();
    assert!(matches!(
        Session::open(&job),
        Err(StoreError::Locked { .. })
    ));
    first.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    first.close().unwrap();
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert!(fs::read_to_string(&job).unwrap().contains("0.82"));
}

#[cfg(unix)]
#[test]
fn saving_keeps_the_mode_and_leaves_no_temporary_file() {
    use std::os::unix::fs::PermissionsExt;
    let (dir, job) = folder_with_job();
    fs::set_permissions(&job, fs::Permissions::from_mode(0o640)).unwrap();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    session.close().unwrap();
    let mode = fs::metadata(&job).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
    let mut names: Vec<_> = fs::read_dir(dir.path())
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    names.sort();
    // The fixture is of version 1, and stays beside.
    assert_eq!(names, ["a.ron", "a.ron.journal", "a.ron.version-1-1"]);
}

#[cfg(unix)]
#[test]
fn a_write_protected_job_is_opened_for_reading() {
    use std::os::unix::fs::PermissionsExt;
    let (_dir, job) = folder_with_job();
    fs::set_permissions(&job, fs::Permissions::from_mode(0o444)).unwrap();
    let session = Session::open(&job).unwrap();
    assert!(session.read_only().unwrap().contains("write-protected"));
    assert!(!journal(&job).exists());
}

#[cfg(unix)]
#[test]
fn a_journal_that_was_removed_keeps_nothing() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    fs::remove_file(journal(&job)).unwrap();
    let error = session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("NOT kept: the journal was removed"),
        "{error}"
    );
    assert_eq!(typed(session.job(), "R/1/zs"), None);
}

#[test]
fn a_file_that_somebody_else_changed_is_not_overwritten() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    let edited = JOB.replace("Two circuits", "Edited meanwhile");
    fs::write(&job, &edited).unwrap();
    let error = session.close().unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: not saved: something else changed the file since it was opened; everything that was kept is whole in \
             {}.kept-1: compare the two, then open the job again",
            job.display(),
            fs::canonicalize(&job).unwrap().display()
        )
    );
    assert_eq!(fs::read_to_string(&job).unwrap(), edited);
    let opened = read_job(&job).unwrap();
    assert_eq!(opened.job.title, "Edited meanwhile");
    assert_eq!(typed(&opened.job, "R/1/zs").as_deref(), Some("0.82"));
}

#[test]
fn undo_and_redo_are_journaled_and_survive() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    let place: Place = "R/1/zs".parse().unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at(1)).unwrap();
    session.keep(&keep("R/1/zs", "8.2"), at(2)).unwrap();
    let wrong = session.job().entry(&place).cloned();
    assert_eq!(turned(session.undo("JE", at(3))), place.clone());
    assert_eq!(typed(session.job(), "R/1/zs").as_deref(), Some("0.82"));
    assert_eq!(turned(session.redo("JE", at(4))), place.clone());
    assert_eq!(session.job().entry(&place).cloned(), wrong);
    // Not in somebody else's name.
    session.undo("JE", at(4)).unwrap();
    assert!(matches!(
        session.redo("AP", at(4)),
        Err(StoreError::Refused(_))
    ));
    session.redo("JE", at(4)).unwrap();
    assert_eq!(turned(session.undo("JE", at(5))), place.clone());
    assert_eq!(turned(session.undo("JE", at(6))), place);
    assert_eq!(session.undo("JE", at(7)), Ok(None));
    assert_eq!(
        session.redo("XX", at(7)).unwrap_err().to_string(),
        "no person `XX` on this job; known: JE, AP"
    );
    session.keep(&keep("R/zdb", "0.31"), at(8)).unwrap();
    assert!(!session.can_redo() && session.can_undo());
    let before = session.job().clone();
    drop(session);
    assert_eq!(read_job(&job).unwrap().job, before);
}

#[test]
fn what_the_job_refuses_is_not_journaled() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    let before = fs::read(journal(&job)).unwrap();
    for (place, value) in [("R/9/zs", "0.8"), ("R/1/zs", "ten"), ("R/1/ra", "3")] {
        let error = session.keep(&keep(place, value), at(1)).unwrap_err();
        assert!(matches!(error, StoreError::Refused(_)), "{error}");
    }
    let Change::Keep { place, mut reading } = keep("R/1/zs", "0.8") else {
        panic!("a Keep")
    };
    reading.unit = Unit::Megohm;
    let error = session
        .keep(&Change::Keep { place, reading }, at(1))
        .unwrap_err();
    assert_eq!(
        error.to_string(),
        "R/1/zs: the unit is Megohm; `zs` is recorded in Ohm"
    );
    assert_eq!(fs::read(journal(&job)).unwrap(), before);
}

#[test]
fn a_folder_is_listed_with_what_is_wrong_in_it() {
    let (dir, job) = folder_with_job();
    Session::open(&job).unwrap();
    fs::write(dir.path().join("b.ron"), "(schema: 1, reference: \"B\"").unwrap();
    fs::write(
        dir.path().join("devices.ron"),
        "(title: \"limits\", sources: {}, limits: [])",
    )
    .unwrap();
    let list = list_jobs(dir.path()).unwrap();
    let names: Vec<_> = list
        .iter()
        .map(|e| e.path.file_name().unwrap().to_str().unwrap())
        .collect();
    assert_eq!(names, ["a.ron", "b.ron"]);
    assert_eq!(
        (list[0].reference.as_str(), list[0].title.as_str()),
        ("T-1", "Two circuits")
    );
    let trouble = list[1].trouble.as_ref().unwrap();
    assert!(trouble.contains("b.ron, line 1, column"), "{trouble}");
    assert!(list_jobs(&dir.path().join("none")).is_err());
}
