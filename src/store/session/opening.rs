//! Opening for writing: lock, look, bring back.

use std::io;
use std::path::{Path, PathBuf};

use super::Session;
use crate::job::digest::digest;
use crate::store::LONGEST_FILE;
use crate::store::disk::{Disk, RealDisk};
use crate::store::error::{StoreError, explain, is_barred};
use crate::store::journal::{Fit, Link, header, survey};
use crate::store::load::{TORN, altered, is_altered, journal_of, parse_job, read_job_on, replay};
use crate::store::write::create;

impl Session {
    /// Opens a job for writing: reads it, locks its journal (made where there is none) and brings back what the job
    /// file lacks. Where the journal holds something that can't be brought back, or the file, its folder or its disk may
    /// only be read, the session is read-only and says why.
    ///
    /// # Errors
    /// [`StoreError::Unusable`] with everything wrong in the file, [`StoreError::Locked`], or [`StoreError::Disk`].
    pub fn open(path: &Path) -> Result<Session, StoreError> {
        Session::open_on(Box::new(RealDisk), path)
    }

    /// [`open`](Self::open) on any disk.
    ///
    /// # Errors
    /// As for [`open`](Self::open).
    pub fn open_on(disk: Box<dyn Disk>, path: &Path) -> Result<Session, StoreError> {
        let failed = |e: io::Error| StoreError::disk(path, &e);
        // Before a journal is made: a file that can't be used shall not get one.
        let looked_at = read_job_on(disk.as_ref(), path)?;
        let real = disk.resolve(path).map_err(failed)?;
        let mut session = Session {
            path: path.to_path_buf(),
            saved: looked_at.job.kept,
            job: looked_at.job,
            notes: looked_at.notes,
            lost: looked_at.lost,
            protected: None,
            real,
            tape: None,
            good: 0,
            doubt: false,
            ours: Vec::new(),
            altered: false,
            copy: None,
            undo: Vec::new(),
            redo: Vec::new(),
            disk,
        };
        if session.lost.is_some() {
            return Ok(session);
        }
        if session.disk.is_protected(&session.real).map_err(failed)? {
            session.protected = Some(
                "the file is write-protected; take the protection off, or work on a copy".into(),
            );
            return Ok(session);
        }
        match session.take_over() {
            Ok(()) => {}
            // What was read can be looked at, checked and drafted all the same.
            Err(Hindrance::Barred(file, e)) => {
                let (what, remedy) = explain(&e);
                session.protected = Some(format!("{file} can't be written: {what}; {remedy}"));
            }
            Err(Hindrance::Error(e)) => return Err(e),
        }
        Ok(session)
    }

    /// Locks the journal and reads everything again: another program may have written until now.
    fn take_over(&mut self) -> Result<(), Hindrance> {
        let shown_journal = journal_of(&self.path);
        let journal_failed = |e: io::Error| Hindrance::at(&shown_journal, e);
        let journal = journal_of(&self.real);
        let mut tape = match self.disk.tape(&journal) {
            Ok(tape) => tape,
            Err(e) if e.kind() == io::ErrorKind::WouldBlock => {
                return Err(Hindrance::Error(StoreError::Locked {
                    file: self.path.display().to_string(),
                }));
            }
            Err(e) => return Err(journal_failed(e)),
        };
        let bytes = self
            .disk
            .read(&self.real, LONGEST_FILE)
            .map_err(|e| StoreError::disk(&self.path, &e))?;
        let job = parse_job(&self.path.display().to_string(), &bytes)?;
        self.ours = vec![digest(&[&bytes])];
        self.saved = job.kept;
        let written = tape.read(LONGEST_FILE).map_err(journal_failed)?;
        let found = survey(&written, &Link::of(&job));
        let opened = replay(job, &found, &shown_journal.display().to_string());
        self.job = opened.job;
        self.notes = opened.notes;
        self.lost = opened.lost;
        self.altered = is_altered(&bytes);
        if self.altered {
            self.notes.push(altered(&self.path.display().to_string()));
        }
        if self.lost.is_some() {
            return Ok(());
        }
        self.good = found.good;
        if found.fit == Fit::Behind {
            let name = self.set_aside("old", &written)?;
            self.notes.push(format!(
                "the journal was copied to {name} and a new one started"
            ));
            tape.cut(0).map_err(journal_failed)?;
            // Else a power cut could leave the new first line over the old ones.
            tape.sync().map_err(journal_failed)?;
            self.good = 0;
        } else if let Some(torn) = &found.torn {
            let rest = usize::try_from(found.good)
                .ok()
                .and_then(|at| written.get(at..))
                .unwrap_or_default();
            let name = self.set_aside("torn", rest)?;
            self.notes.push(format!(
                "{}: {torn}; {TORN}, and was set aside in {name}",
                shown_journal.display()
            ));
            tape.cut(found.good).map_err(journal_failed)?;
        }
        if self.good == 0 {
            let first = header(&Link::of(&self.job));
            tape.write(0, first.as_bytes()).map_err(journal_failed)?;
            self.good = first.len() as u64;
        } else {
            // What is shown as kept has to be on the disk. After a sync that failed in another life the system may show bytes
            // that no sync writes any more, unless they are written again.
            let whole = usize::try_from(self.good)
                .ok()
                .and_then(|end| written.get(..end))
                .unwrap_or_default();
            tape.write(0, whole)
                .map_err(|e| Hindrance::Barred(shown_journal.display().to_string(), e))?;
        }
        tape.sync().map_err(journal_failed)?;
        // Also for one that was there: whoever made it may have ended before this.
        self.disk.sync_folder(&journal).map_err(journal_failed)?;
        self.tape = Some(tape);
        Ok(())
    }

    /// Copies bytes to the first free `NAME.ron.journal.KIND-N`, synced, and returns its name.
    fn set_aside(&self, kind: &str, bytes: &[u8]) -> Result<String, Hindrance> {
        let journal = journal_of(&self.real);
        copy_beside(self.disk.as_ref(), &journal, kind, bytes)
            .map_err(|(name, e)| Hindrance::at(&name, e))
    }
}

/// Copies bytes to the first free `NAME.KIND-N`, synced, and returns its name.
///
/// # Errors
/// The name and what failed there.
pub(super) fn copy_beside(
    disk: &dyn Disk,
    file: &Path,
    kind: &str,
    bytes: &[u8],
) -> Result<String, (PathBuf, io::Error)> {
    let mut n = 1_u32;
    loop {
        let mut name = file.as_os_str().to_owned();
        name.push(format!(".{kind}-{n}"));
        let name = PathBuf::from(name);
        match create(disk, &name, bytes) {
            Ok(()) => return Ok(name.display().to_string()),
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists && n < 9999 => n += 1,
            Err(e) => return Err((name, e)),
        }
    }
}

/// Why a job can't be taken over for writing.
enum Hindrance {
    /// The file of that name may not be written.
    Barred(String, io::Error),
    /// It can't be opened at all.
    Error(StoreError),
}

impl Hindrance {
    fn at(file: &Path, error: io::Error) -> Hindrance {
        if is_barred(&error) {
            Hindrance::Barred(file.display().to_string(), error)
        } else {
            Hindrance::Error(StoreError::disk(file, &error))
        }
    }
}

impl From<StoreError> for Hindrance {
    fn from(error: StoreError) -> Self {
        Hindrance::Error(error)
    }
}
