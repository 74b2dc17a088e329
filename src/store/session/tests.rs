//! A disk that fails on purpose.
#![allow(clippy::unwrap_used, clippy::panic)]

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use chrono::{DateTime, FixedOffset};

use super::Session;
use crate::job::{Change, Place, Reading, Test, Unit};
use crate::store::disk::{Disk, RealDisk, Tape};
use crate::store::error::StoreError;
use crate::store::load::read_job;

const JOB: &str = include_str!("../../../tests/store_fixture.ron");

/// Operations that fail from now on.
#[derive(Default)]
struct Faults {
    write: Option<ErrorKind>,
    /// Bytes that still get through before a write fails.
    through: usize,
    sync: Option<ErrorKind>,
    cut: Option<ErrorKind>,
    replace: Option<ErrorKind>,
}

#[derive(Clone, Default)]
struct BadDisk(Arc<Mutex<Faults>>);

struct BadTape(Box<dyn Tape>, Arc<Mutex<Faults>>);

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
    fn create(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        RealDisk.create(path, bytes)
    }
    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        fail(self.0.lock().unwrap().replace)?;
        RealDisk.replace(path, bytes)
    }
    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        Ok(Box::new(BadTape(RealDisk.tape(path)?, self.0.clone())))
    }
    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        RealDisk.files(dir)
    }
    fn make_folder(&self, dir: &Path) -> io::Result<()> {
        RealDisk.make_folder(dir)
    }
}

impl Tape for BadTape {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        self.0.read(limit)
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
        self.0.write(at, bytes)
    }
    fn sync(&mut self) -> io::Result<()> {
        fail(self.1.lock().unwrap().sync)?;
        self.0.sync()
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        fail(self.1.lock().unwrap().cut)?;
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
        },
    }
}

fn open() -> (tempfile::TempDir, PathBuf, BadDisk, Session) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::write(&path, JOB).unwrap();
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
    assert_eq!(session.undo("JE", at()), Ok(Some(place())));
    assert!(session.job().entry(&place()).is_none());
}

#[test]
fn a_failed_save_leaves_the_old_file_and_can_be_tried_again() {
    let (_dir, path, disk, mut session) = open();
    session.keep(&keep("0.80"), at()).unwrap();
    disk.0.lock().unwrap().replace = Some(ErrorKind::StorageFull);
    let error = session.save().unwrap_err();
    assert_eq!(
        error.to_string(),
        format!(
            "{}: not saved: the disk is full; make room and try again. What was kept is in the journal beside it",
            path.display()
        )
    );
    assert_eq!(std::fs::read_to_string(&path).unwrap(), JOB);
    assert_eq!(session.unsaved(), 1);
    disk.0.lock().unwrap().replace = None;
    session.save().unwrap();
    assert_eq!(session.unsaved(), 0);
    assert!(std::fs::read_to_string(&path).unwrap().contains("0.80"));
}
