//! A disk that fails on purpose.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use chrono::{DateTime, FixedOffset};

use super::Session;
use crate::job::{Change, Place, Reading, Test, Unit};
use crate::store::disk::{Disk, NewFile, RealDisk, Tape, Whereabouts};
use crate::store::error::StoreError;
use crate::store::load::{journal_of, read_job};
use crate::store::write::create;

const JOB: &str = include_str!("../../../tests/store_fixture.ron");

/// Operations that fail from now on, and what was done.
#[derive(Default)]
struct Faults {
    tape: Option<ErrorKind>,
    write: Option<ErrorKind>,
    /// Bytes that still get through before a write fails.
    through: usize,
    sync: Option<ErrorKind>,
    cut: Option<ErrorKind>,
    stage: Option<ErrorKind>,
    /// The journal is moved away while it is being synced.
    moves: bool,
    moved: bool,
    /// Every step that should reach the disk, in order.
    steps: Vec<&'static str>,
    /// The number of the step that fails.
    fails_at: Option<usize>,
}

type Shared = Arc<Mutex<Faults>>;

/// Notes a step, or fails in its place.
fn step(faults: &Shared, name: &'static str) -> io::Result<()> {
    let mut faults = faults.lock().unwrap();
    faults.steps.push(name);
    if faults.fails_at == Some(faults.steps.len() - 1) {
        return Err(ErrorKind::StorageFull.into());
    }
    Ok(())
}

#[derive(Clone, Default)]
struct BadDisk(Shared);

struct BadTape(Box<dyn Tape>, Shared);

struct BadFile(Box<dyn NewFile>, Shared);

fn fail(kind: Option<ErrorKind>) -> io::Result<()> {
    kind.map_or(Ok(()), |k| Err(k.into()))
}

impl Disk for BadDisk {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        RealDisk.resolve(path)
    }
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        RealDisk.read(path, limit)
    }
    fn is_protected(&self, path: &Path) -> io::Result<bool> {
        RealDisk.is_protected(path)
    }
    fn fresh(&self, path: &Path) -> io::Result<Box<dyn NewFile>> {
        step(&self.0, "new file")?;
        Ok(Box::new(BadFile(RealDisk.fresh(path)?, self.0.clone())))
    }
    fn stage(&self, target: &Path) -> io::Result<Box<dyn NewFile>> {
        fail(self.0.lock().unwrap().stage)?;
        step(&self.0, "new file")?;
        Ok(Box::new(BadFile(RealDisk.stage(target)?, self.0.clone())))
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        RealDisk.remove(path)
    }
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        step(&self.0, "sync folder")?;
        RealDisk.sync_folder(path)
    }
    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        fail(self.0.lock().unwrap().tape)?;
        Ok(Box::new(BadTape(RealDisk.tape(path)?, self.0.clone())))
    }
    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        RealDisk.files(dir)
    }
    fn make_folder(&self, dir: &Path) -> io::Result<()> {
        RealDisk.make_folder(dir)
    }
}

impl NewFile for BadFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        step(&self.1, "write")?;
        self.0.write(bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        step(&self.1, "sync")?;
        self.0.sync()
    }
    fn place(self: Box<Self>) -> io::Result<()> {
        step(&self.1, "place")?;
        self.0.place()
    }
}

impl Tape for BadTape {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        self.0.read(limit)
    }
    fn whereabouts(&self) -> io::Result<Whereabouts> {
        if self.1.lock().unwrap().moved {
            return Ok(Whereabouts::Gone);
        }
        self.0.whereabouts()
    }
    fn length(&self) -> io::Result<u64> {
        self.0.length()
    }
    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        let (kind, through) = {
            let faults = self.1.lock().unwrap();
            (faults.write, faults.through)
        };
        if kind.is_some() {
            self.0.write(at, bytes.get(..through).unwrap_or(bytes))?;
        }
        fail(kind)?;
        step(&self.1, "write line")?;
        self.0.write(at, bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        fail(self.1.lock().unwrap().sync)?;
        step(&self.1, "sync journal")?;
        let mut faults = self.1.lock().unwrap();
        faults.moved |= faults.moves;
        self.0.sync()
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        fail(self.1.lock().unwrap().cut)?;
        step(&self.1, "cut")?;
        self.0.cut(length)
    }
}

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap()
}

fn place() -> Place {
    Place::part("R", "1", Test::Zs)
}

fn keep(typed: &str) -> Change {
    Change::Keep {
        place: place(),
        reading: Reading {
            typed: typed.into(),
            unit: Unit::Ohm,
            by: "JE".into(),
            at: at(),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
    }
}

/// Nothing is copied beside before it is saved.
fn of_this_version() -> String {
    JOB.replace("schema: 1", "schema: 2")
}

fn open() -> (tempfile::TempDir, PathBuf, BadDisk, Session) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::write(&path, of_this_version()).unwrap();
    let disk = BadDisk::default();
    let session = Session::open_on(Box::new(disk.clone()), &path).unwrap();
    (dir, path, disk, session)
}

#[test]
fn a_failed_sync_is_reported_as_not_kept_and_the_reading_is_not_in_the_job() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    let before = session.job().clone();
    disk.0.lock().unwrap().sync = Some(ErrorKind::StorageFull);
    let error = session.keep(&keep("0.82"), at()).unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}.journal: the reading is NOT kept: the disk is full; make room or put the disk right, then enter it again; \
             write it on paper meanwhile",
            path.display()
        )
    );
    assert_eq!(*session.job(), before);
    drop(session);
    assert_eq!(read_job(&path).unwrap().job, before, "nor on the disk");
}

#[test]
fn a_write_that_fails_after_any_byte_leaves_no_trace_once_the_disk_is_right() {
    for through in [0, 1, 40, 80, usize::MAX] {
        let (_dir, path, disk, mut session) = open();
        session.keep(&keep("0.80"), at()).unwrap();
        let before = session.job().clone();
        {
            let mut faults = disk.0.lock().unwrap();
            faults.write = Some(ErrorKind::StorageFull);
            faults.through = through;
        }
        assert!(session.keep(&keep("0.82"), at()).is_err(), "{through}");
        assert_eq!(*session.job(), before, "{through}");
        disk.0.lock().unwrap().write = None;
        session.keep(&keep("0.84"), at()).unwrap();
        let kept = session.job().clone();
        assert_eq!((kept.kept, session.unsaved()), (2, 2));
        drop(session);
        let seen = read_job(&path).unwrap();
        assert_eq!((seen.job, seen.lost), (kept, None), "{through}");
    }
}

#[test]
fn while_the_journal_is_in_doubt_every_keep_is_refused() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    let before = session.job().clone();
    {
        let mut faults = disk.0.lock().unwrap();
        faults.sync = Some(ErrorKind::StorageFull);
        faults.cut = Some(ErrorKind::PermissionDenied);
    }
    assert!(session.keep(&keep("0.82"), at()).is_err());
    disk.0.lock().unwrap().sync = None;
    for _ in 0..2 {
        let error = session.keep(&keep("0.84"), at()).unwrap_err();
        assert!(matches!(error, StoreError::NotKept { .. }), "{error}");
        assert_eq!(*session.job(), before);
    }
    disk.0.lock().unwrap().cut = None;
    session.keep(&keep("0.86"), at()).unwrap();
    drop(session);
    let seen = read_job(&path).unwrap();
    let entry = seen.job.entry(&place()).unwrap();
    assert_eq!(entry.now.typed, "0.86");
    assert_eq!(entry.struck.len(), 1, "the refused ones are nowhere");
}

#[test]
fn a_failed_undo_can_be_tried_again() {
    let (_dir, _path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    disk.0.lock().unwrap().sync = Some(ErrorKind::StorageFull);
    assert!(session.undo("JE", at()).is_err());
    assert!(session.can_undo() && !session.can_redo());
    disk.0.lock().unwrap().sync = None;
    assert_eq!(
        session
            .undo("JE", at())
            .map(|c| c.and_then(|c| c.places().first().copied().cloned())),
        Ok(Some(place()))
    );
    assert!(session.job().entry(&place()).is_none());
}

#[test]
fn a_failed_save_leaves_the_old_file_and_can_be_tried_again() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    disk.0.lock().unwrap().stage = Some(ErrorKind::StorageFull);
    let error = session.save().unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: not saved: the disk is full; make room and try again. What was kept is in the journal beside it",
            path.display()
        )
    );
    assert_eq!(std::fs::read_to_string(&path).unwrap(), of_this_version());
    assert_eq!(session.unsaved(), 1);
    disk.0.lock().unwrap().stage = None;
    session.save().unwrap();
    assert_eq!(session.unsaved(), 0);
    assert!(std::fs::read_to_string(&path).unwrap().contains("0.80"));
}

/// The steps since the last call.
fn steps(disk: &BadDisk) -> Vec<&'static str> {
    std::mem::take(&mut disk.0.lock().unwrap().steps)
}

const KEEPING: [&str; 2] = ["write line", "sync journal"];
const SAVING: [&str; 5] = ["new file", "write", "sync", "place", "sync folder"];

#[test]
fn every_step_to_the_disk_is_taken_in_its_order_before_success_is_reported() {
    let (_dir, _path, disk, mut session) = open();
    // A journal made: its first line, and its name.
    assert_eq!(steps(&disk), ["write line", "sync journal", "sync folder"]);
    session.keep(&keep("0.80"), at()).unwrap();
    assert_eq!(steps(&disk), KEEPING);
    session.undo("JE", at()).unwrap();
    assert_eq!(steps(&disk), KEEPING);
    session.redo("JE", at()).unwrap();
    assert_eq!(steps(&disk), KEEPING);
    session.save().unwrap();
    assert_eq!(steps(&disk), SAVING);
    session.close().unwrap();
    assert_eq!(steps(&disk), [""; 0], "nothing left to write");
}

#[test]
fn no_step_may_fail_unnoticed() {
    for n in 0..KEEPING.len() {
        let (_dir, _path, disk, mut session) = open();
        steps(&disk);
        disk.0.lock().unwrap().fails_at = Some(n);
        let error = session.keep(&keep("0.80"), at()).unwrap_err();
        assert!(matches!(error, StoreError::NotKept { .. }), "{n}: {error}");
        assert!(session.job().entry(&place()).is_none(), "{n}");
    }
    for n in 0..SAVING.len() {
        let (_dir, _path, disk, mut session) = open();
        session.keep(&keep("0.80"), at()).unwrap();
        steps(&disk);
        disk.0.lock().unwrap().fails_at = Some(n);
        let error = session.save().unwrap_err();
        assert!(matches!(error, StoreError::NotSaved { .. }), "{n}: {error}");
        assert_eq!(session.unsaved(), 1, "{n}");
    }
    for n in 0..3 {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.ron");
        std::fs::write(&path, JOB).unwrap();
        let disk = BadDisk::default();
        disk.0.lock().unwrap().fails_at = Some(n);
        let session = Session::open_on(Box::new(disk), &path).unwrap();
        assert!(session.read_only().is_some(), "{n}: opened for reading");
    }
}

/// Only looking needs no room.
#[test]
fn a_full_disk_opens_the_job_for_reading_and_leaves_no_journal() {
    for kind in [ErrorKind::StorageFull, ErrorKind::QuotaExceeded] {
        for through in [0, 10, usize::MAX] {
            let dir = tempfile::tempdir().unwrap();
            let path = dir.path().join("a.ron");
            std::fs::write(&path, of_this_version()).unwrap();
            let disk = BadDisk::default();
            {
                let mut faults = disk.0.lock().unwrap();
                (faults.write, faults.through) = (Some(kind), through);
            }
            for _ in 0..2 {
                let mut session = Session::open_on(Box::new(disk.clone()), &path).unwrap();
                let said = format!(
                    "{}.journal can't be written: the disk is full; make room, then open the job again",
                    path.display()
                );
                assert_eq!(session.read_only(), Some(said.as_str()));
                assert_eq!(session.lost(), None);
                let error = session.keep(&keep("0.80"), at()).unwrap_err();
                assert!(matches!(error, StoreError::ReadOnly { .. }), "{error}");
                session.close().unwrap();
                let files = std::fs::read_dir(dir.path()).unwrap().count();
                assert_eq!(files, 1, "nothing beside the job");
            }
            disk.0.lock().unwrap().write = None;
            let mut session = Session::open_on(Box::new(disk), &path).unwrap();
            assert_eq!((session.read_only(), session.notes().len()), (None, 0));
            session.keep(&keep("0.80"), at()).unwrap();
        }
    }
}

#[test]
fn a_new_file_is_synced_and_a_half_written_one_taken_away() {
    let dir = tempfile::tempdir().unwrap();
    let (disk, path) = (BadDisk::default(), dir.path().join("new"));
    create(&disk, &path, b"text").unwrap();
    assert_eq!(steps(&disk), SAVING);
    for n in 0..4 {
        let path = dir.path().join(n.to_string());
        disk.0.lock().unwrap().fails_at = Some(n);
        assert!(create(&disk, &path, b"text").is_err(), "{n}");
        assert!(!path.exists(), "{n}");
        steps(&disk);
    }
}

#[test]
fn a_folder_that_may_only_be_read_opens_the_job_for_reading() {
    for (kind, why) in [
        (
            ErrorKind::ReadOnlyFilesystem,
            "the disk can only be read; copy the job to a disk that can be written",
        ),
        (
            ErrorKind::PermissionDenied,
            "you may not read or write here; change its permissions, or copy it to a folder of yours",
        ),
    ] {
        let (_dir, path, disk, mut session) = open();
        session.keep(&keep("0.80"), at()).unwrap();
        let kept = session.job().clone();
        drop(session);
        disk.0.lock().unwrap().tape = Some(kind);
        let mut session = Session::open_on(Box::new(disk), &path).unwrap();
        let said = format!("{}.journal can't be written: {why}", path.display());
        assert_eq!(session.read_only(), Some(said.as_str()));
        assert_eq!(session.lost(), None, "the record is whole");
        assert_eq!(*session.job(), kept, "with what the journal holds");
        let error = session.keep(&keep("0.82"), at()).unwrap_err();
        assert!(matches!(error, StoreError::ReadOnly { .. }), "{error}");
        session.close().unwrap();
        assert_eq!(std::fs::read_to_string(&path).unwrap(), of_this_version());
    }
}

#[test]
fn the_system_refusing_to_let_a_file_grow_is_not_called_a_large_file() {
    let (_dir, _path, disk, mut session) = open();
    disk.0.lock().unwrap().write = Some(ErrorKind::FileTooLarge);
    let error = session.keep(&keep("0.80"), at()).unwrap_err().to_string();
    assert!(
        error.contains("a file may not grow to that length here") && !error.contains("64 MB"),
        "{error}"
    );
}

#[test]
fn a_journal_moved_away_during_the_write_keeps_nothing() {
    let (_dir, path, disk, mut session) = open();
    disk.0.lock().unwrap().moves = true;
    let error = session.keep(&keep("0.80"), at()).unwrap_err();
    assert!(error.to_string().contains("moved away"), "{error}");
    assert!(session.job().entry(&place()).is_none());
    drop(session);
    assert!(read_job(&path).unwrap().job.entry(&place()).is_none());
}

#[test]
fn nothing_is_written_to_a_journal_that_is_known_to_be_elsewhere() {
    let (_dir, _path, disk, mut session) = open();
    steps(&disk);
    disk.0.lock().unwrap().moved = true;
    assert!(session.keep(&keep("0.80"), at()).is_err());
    assert_eq!(steps(&disk), [""; 0], "it is somebody's copy now");
}

#[test]
fn what_is_shown_as_kept_is_written_again_before_it_is_synced() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    drop(session);
    steps(&disk);
    let written = std::fs::read(journal_of(&path)).unwrap();
    let session = Session::open_on(Box::new(disk.clone()), &path).unwrap();
    // After a failed sync the system shows bytes that no later sync writes.
    assert_eq!(steps(&disk), ["write line", "sync journal", "sync folder"]);
    assert_eq!(std::fs::read(journal_of(&path)).unwrap(), written);
    let kept = session.job().clone();
    drop(session);

    disk.0.lock().unwrap().write = Some(ErrorKind::StorageFull);
    let session = Session::open_on(Box::new(disk), &path).unwrap();
    assert_eq!(
        session.read_only(),
        Some(
            format!(
                "{}.journal can't be written: the disk is full; make room and try again",
                path.display()
            )
            .as_str()
        )
    );
    assert_eq!((session.job(), session.lost()), (&kept, None));
    drop(session);
    assert_eq!(std::fs::read(journal_of(&path)).unwrap(), written);
}

#[test]
fn a_journal_is_empty_on_the_disk_before_it_is_begun_anew() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    let early = std::fs::read(journal_of(&path)).unwrap();
    session.keep(&keep("0.82"), at()).unwrap();
    session.close().unwrap();
    std::fs::write(journal_of(&path), early).unwrap();
    steps(&disk);
    let mut session = Session::open_on(Box::new(disk.clone()), &path).unwrap();
    assert_eq!(steps(&disk), [""; 0], "before somebody decided");
    session.go_on("JE", at()).unwrap();
    let begun_anew = ["cut", "sync journal", "write line", "sync journal"];
    let (copied, rest) = (SAVING.as_slice(), ["sync folder"].as_slice());
    // And that is noted.
    let noted = ["write line", "sync journal"].as_slice();
    assert_eq!(steps(&disk), [copied, &begun_anew, rest, noted].concat());
}
