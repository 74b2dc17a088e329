//! What other programs and slips of the hand do to the files of a job, and what may be written over.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use wanderlead::job::{Change, Job, Place, Reading};
use wanderlead::store::{Session, StoreError, read_job, write_out};

const JOB: &str = include_str!("store_fixture.ron");

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap()
}

fn keep(place: &str, typed: &str) -> Change {
    let place: Place = place.parse().unwrap();
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: "JE".into(),
            at: at(),
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
    // Messages name the real path.
    let job = fs::canonicalize(dir.path()).unwrap().join("a.ron");
    fs::write(&job, JOB).unwrap();
    (dir, job)
}

fn beside(job: &Path, end: &str) -> PathBuf {
    let mut name = job.as_os_str().to_owned();
    name.push(end);
    PathBuf::from(name)
}

fn typed(job: &Job, place: &str) -> Option<String> {
    job.entry(&place.parse().unwrap())
        .map(|e| e.now.typed.clone())
}

/// Another program puts an older copy into the open journal: behind a hole no line would be read again.
#[test]
fn nothing_is_kept_in_a_journal_that_was_shortened_or_lengthened() {
    let (_dir, job) = folder_with_job();
    let journal = beside(&job, ".journal");
    let mut session = Session::open(&job).unwrap();
    let early = fs::read(&journal).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at()).unwrap();
    let whole = fs::read(&journal).unwrap();
    let longer = [whole.as_slice(), b"x"].concat();
    for other in [early.as_slice(), longer.as_slice()] {
        fs::write(&journal, other).unwrap();
        let error = session.keep(&keep("R/2/zs", "1.90"), at()).unwrap_err();
        assert!(matches!(error, StoreError::NotKept { .. }), "{error}");
        assert!(
            error
                .to_string()
                .contains("isn't as long as it was written"),
            "{error}"
        );
        assert_eq!(
            fs::read(&journal).unwrap(),
            other,
            "it is somebody's copy now"
        );
    }
    // What was kept before is saved on leaving.
    session.close().unwrap();
    let opened = read_job(&job).unwrap();
    assert_eq!(typed(&opened.job, "R/1/zs").as_deref(), Some("0.82"));
    assert_eq!(typed(&opened.job, "R/2/zs"), None);
}

/// The folder is gone with the job in it: the only whole copy is in memory, and goes where there is room.
#[test]
fn a_job_whose_folder_is_gone_takes_refuge() {
    let (dir, job) = folder_with_job();
    let (none, refuge) = (dir.path().join("none"), tempfile::tempdir().unwrap());
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at()).unwrap();
    assert!(session.is_on_disk());
    fs::remove_dir_all(dir.path()).unwrap();
    assert!(!session.is_on_disk());
    let said = session.save().unwrap_err().to_string();
    assert!(
        said.contains(
            "The journal is gone too: what was kept since the job was opened is in no file"
        ),
        "{said}"
    );
    assert!(!session.is_on_disk());
    session.take_refuge_in(vec![none, refuge.path().to_path_buf()]);
    let said = session.save().unwrap_err().to_string();
    let copy = refuge.path().join("a.ron.kept-1");
    assert!(
        said.contains(&format!(
            "everything that was kept is whole in {}",
            copy.display()
        )),
        "{said}"
    );
    assert!(session.is_on_disk());
    // Once for the same job.
    session.close().unwrap_err();
    assert_eq!(fs::read_dir(refuge.path()).unwrap().count(), 1);
    let back = refuge.path().join("a.ron");
    fs::rename(copy, &back).unwrap();
    let job = read_job(&back).unwrap().job;
    assert_eq!(typed(&job, "R/1/zs").as_deref(), Some("0.82"));
}

#[test]
fn a_journal_that_was_moved_away_keeps_nothing_until_it_is_back() {
    let (_dir, job) = folder_with_job();
    let (journal, moved) = (beside(&job, ".journal"), beside(&job, ".elsewhere"));
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at()).unwrap();
    fs::rename(&journal, &moved).unwrap();
    let before = fs::read(&moved).unwrap();
    let error = session.keep(&keep("R/2/zs", "1.90"), at()).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: the reading is NOT kept: the journal was removed or moved away while it was open; put it back, or leave \
             and open the job again: what was kept before is saved on leaving, then enter it again; write it on paper meanwhile",
            journal.display()
        )
    );
    assert_eq!(typed(session.job(), "R/2/zs"), None);
    assert_eq!(fs::read(&moved).unwrap(), before);

    fs::rename(&moved, &journal).unwrap();
    session.keep(&keep("R/2/zs", "1.91"), at()).unwrap();
    drop(session);
    let seen = read_job(&job).unwrap();
    assert_eq!(typed(&seen.job, "R/2/zs").as_deref(), Some("1.91"));
}

#[cfg(unix)]
#[test]
fn with_another_journal_in_its_place_the_first_writer_neither_keeps_nor_saves() {
    let (_dir, job) = folder_with_job();
    let journal = beside(&job, ".journal");
    let mut first = Session::open(&job).unwrap();
    first.keep(&keep("R/1/zs", "0.82"), at()).unwrap();
    fs::rename(&journal, beside(&job, ".elsewhere")).unwrap();
    let mut second = Session::open(&job).unwrap();
    second.keep(&keep("R/zdb", "0.31"), at()).unwrap();
    let error = first.keep(&keep("R/2/zs", "1.90"), at()).unwrap_err();
    assert!(
        error
            .to_string()
            .contains("NOT kept: another file was put in the place of the journal"),
        "{error}"
    );
    let error = first.close().unwrap_err().to_string();
    assert!(error.contains("a.ron.kept-1"), "{error}");
    let copy = fs::read_to_string(beside(&job, ".kept-1")).unwrap();
    assert!(copy.contains("0.82"), "{copy}");
    // The second one's record is untouched.
    second.close().unwrap();
    let seen = read_job(&job).unwrap();
    assert_eq!(seen.lost, None);
    assert_eq!(typed(&seen.job, "R/zdb").as_deref(), Some("0.31"));
}

#[test]
fn when_the_job_file_was_replaced_everything_kept_goes_beside_it() {
    let (_dir, job) = folder_with_job();
    let mut session = Session::open(&job).unwrap();
    session.keep(&keep("R/1/zs", "0.82"), at()).unwrap();
    session.save().unwrap();
    session.keep(&keep("R/2/zs", "1.90"), at()).unwrap();
    let stranger = JOB.replace("T-1", "T-9");
    fs::write(&job, &stranger).unwrap();
    fs::write(beside(&job, ".kept-1"), "mine").unwrap();
    for _ in 0..2 {
        let error = session.save().unwrap_err();
        assert_eq!(
            error.to_string(),
            format!(
                "{0}: not saved: something else changed the file since it was opened; everything that was kept is whole in \
                 {0}.kept-2: compare the two, then open the job again",
                job.display()
            )
        );
    }
    let whole = session.job().clone();
    session.keep(&keep("R/zdb", "0.31"), at()).unwrap();
    let error = session.close().unwrap_err().to_string();
    assert!(error.contains("kept-3"), "what came later too: {error}");

    assert_eq!(fs::read_to_string(&job).unwrap(), stranger);
    assert_eq!(fs::read_to_string(beside(&job, ".kept-1")).unwrap(), "mine");
    let alone = job.with_file_name("b.ron");
    fs::copy(beside(&job, ".kept-2"), &alone).unwrap();
    assert_eq!(read_job(&alone).unwrap().job, whole);
    assert!(!beside(&job, ".kept-4").exists());
}

#[test]
fn lost_is_kept_apart_from_protected() {
    let (_dir, job) = folder_with_job();
    fs::write(beside(&job, ".journal"), "my notes\n").unwrap();
    let session = Session::open(&job).unwrap();
    assert!(session.lost().is_some());
    assert_eq!(session.lost(), session.read_only());
    drop(session);
    fs::remove_file(beside(&job, ".journal")).unwrap();

    let mut rights = fs::metadata(&job).unwrap().permissions();
    rights.set_readonly(true);
    fs::set_permissions(&job, rights).unwrap();
    let session = Session::open(&job).unwrap();
    assert!(session.read_only().is_some());
    assert_eq!(session.lost(), None);
}

/// What is said about writing a PDF of `job` there; the files of the folder stay as they are.
fn refused(path: &Path, job: &Path) -> String {
    let before = fs::read(path).ok();
    let error = write_out(path, b"%PDF-1.7 new", job, &|_| Ok(())).unwrap_err();
    assert!(matches!(error, StoreError::Disk { .. }), "{error:?}");
    assert_eq!(fs::read(path).ok(), before);
    assert_eq!(fs::read_to_string(job).unwrap(), JOB);
    error.to_string()
}

#[test]
fn a_pdf_replaces_only_a_pdf() {
    let (dir, job) = folder_with_job();
    let pdf = dir.path().join("a.pdf");
    write_out(&pdf, b"%PDF-1.7 one", &job, &|_| Ok(())).unwrap();
    write_out(&pdf, b"%PDF-1.7 two", &job, &|_| Ok(())).unwrap();
    assert_eq!(fs::read(&pdf).unwrap(), b"%PDF-1.7 two");
    for bytes in [JOB, "%PD", "notes of the day"] {
        fs::write(&pdf, bytes).unwrap();
        let said = refused(&pdf, &job);
        assert!(
            said.contains(
                "there is a file of that name, and it isn't a PDF; give a name that ends in .pdf"
            ),
            "{said}"
        );
    }
    let said = refused(&job, &job);
    assert!(said.contains("the name of a job file or journal"), "{said}");
    let said = refused(&beside(&job, ".JOURNAL"), &job);
    assert!(said.contains("the name of a job file or journal"), "{said}");
}

#[cfg(unix)]
#[test]
fn a_pdf_never_goes_through_a_link_to_a_record() {
    use std::os::unix::fs::symlink;
    let (dir, job) = folder_with_job();
    Session::open(&job).unwrap();
    let link = |name: &str, to: &Path| {
        let link = dir.path().join(name);
        symlink(to, &link).unwrap();
        link
    };
    let twice = link("1.pdf", &job);
    for (path, why) in [
        (
            link("2.pdf", &beside(&job, ".journal")),
            "this is a link to a job file or journal",
        ),
        (
            link("3.pdf", &dir.path().join("none.ron")),
            "this is a link to a job file or journal",
        ),
        (
            link("4.pdf", &twice),
            "this is the job itself, or its journal",
        ),
        (twice.clone(), "this is a link to a job file or journal"),
    ] {
        let said = refused(&path, &job);
        assert!(said.contains(why), "{}: {said}", path.display());
        assert!(fs::symlink_metadata(&path).unwrap().is_symlink());
    }
    let other = dir.path().join("b.ron");
    fs::write(&other, "%PDF-").unwrap();
    let first = link("5.pdf", &other);
    let said = refused(&link("6.pdf", &first), &job);
    assert!(said.contains("a link to a job file"), "{said}");
    // A link to a PDF stays one.
    let pdf = dir.path().join("real.pdf");
    fs::write(&pdf, "%PDF-1.7 old").unwrap();
    let named = link("7.pdf", &pdf);
    write_out(&named, b"%PDF-1.7 new", &job, &|_| Ok(())).unwrap();
    assert_eq!(fs::read(&pdf).unwrap(), b"%PDF-1.7 new");
}

#[test]
fn a_job_under_a_name_that_could_be_overwritten_is_not_opened() {
    let (dir, job) = folder_with_job();
    let path = dir.path().join("jj.pdf");
    fs::copy(&job, &path).unwrap();
    let want = format!(
        "{}: this isn't the name of a job file; give the name of a file that ends in .ron, or copy this one to such a name",
        path.display()
    );
    assert_eq!(read_job(&path).unwrap_err().to_string(), want);
    assert_eq!(Session::open(&path).err().unwrap().to_string(), want);
    assert!(!beside(&path, ".journal").exists());
    #[cfg(unix)]
    {
        let link = dir.path().join("link.ron");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert!(read_job(&link).is_err());
    }
}
