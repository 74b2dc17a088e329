//! A job open for writing.

use std::io;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk, Tape};
use super::error::{StoreError, explain};
use super::journal::{Fit, Link, Record, digest, header, line, survey};
use super::load::{job_text, journal_of, parse_job, read_job_on, replay};
use crate::job::{Change, ChangeError, Job, Place};

/// A job open for writing, with its locked journal.
///
/// When a journal line can't be written or synced, the change is reported as not kept, the job stays as it was, and
/// the journal is in doubt: the next [`keep`](Self::keep) first cuts it back to the last good line and reads it back;
/// as long as that fails, every keep is refused. If the program ends before that, the line may turn up on the next
/// opening as "brought back": it may then be there twice, struck out once, and never too few times.
///
/// Dropping a session loses nothing: what was kept is in the journal. [`close`](Self::close) also saves the job file.
pub struct Session {
    disk: Box<dyn Disk>,
    /// As the person gave it.
    path: PathBuf,
    /// With links followed.
    real: PathBuf,
    /// None where the job is open for reading only.
    tape: Option<Box<dyn Tape>>,
    job: Job,
    notes: Vec<String>,
    read_only: Option<String>,
    /// Length of the journal up to its last good line.
    good: u64,
    /// Whether there may be something behind it.
    doubt: bool,
    /// Last change that the job file contains.
    saved: u64,
    /// Digests of the contents that the job file may have if nobody else wrote it.
    ours: Vec<String>,
    undo: Vec<Change>,
    redo: Vec<Change>,
}

impl Session {
    /// Opens a job for writing: reads it, locks its journal (made where there is none) and brings back what the job
    /// file lacks. Where the journal holds something that can't be brought back, or the file is write-protected, the
    /// session is read-only and says why.
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
            read_only: looked_at.lost,
            real,
            tape: None,
            good: 0,
            doubt: false,
            ours: Vec::new(),
            undo: Vec::new(),
            redo: Vec::new(),
            disk,
        };
        if session.read_only.is_some() {
            return Ok(session);
        }
        if session.disk.is_protected(&session.real).map_err(failed)? {
            session.read_only = Some(
                "the file is write-protected; take the protection off, or work on a copy".into(),
            );
            return Ok(session);
        }
        session.take_over()?;
        Ok(session)
    }

    /// Locks the journal and reads everything again: another program may have written until now.
    fn take_over(&mut self) -> Result<(), StoreError> {
        let shown_journal = journal_of(&self.path);
        let journal_failed = |e: io::Error| StoreError::disk(&shown_journal, &e);
        let mut tape = match self.disk.tape(&journal_of(&self.real)) {
            Ok(tape) => tape,
            Err(e) if e.kind() == io::ErrorKind::WouldBlock => {
                return Err(StoreError::Locked {
                    file: self.path.display().to_string(),
                });
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
        self.read_only = opened.lost;
        if self.read_only.is_some() {
            return Ok(());
        }
        self.good = found.good;
        if found.fit == Fit::Behind {
            let name = self.set_aside("old", &written)?;
            self.notes.push(format!(
                "the journal was copied to {name} and a new one started"
            ));
            tape.cut(0).map_err(journal_failed)?;
            self.good = 0;
        } else if let Some(torn) = &found.torn {
            let rest = usize::try_from(found.good)
                .ok()
                .and_then(|at| written.get(at..))
                .unwrap_or_default();
            let name = self.set_aside("torn", rest)?;
            self.notes.push(format!(
                "{}: {torn}; it was never reported as kept, and was set aside in {name}",
                shown_journal.display()
            ));
            tape.cut(found.good).map_err(journal_failed)?;
        }
        if self.good == 0 {
            let first = header(&Link::of(&self.job));
            tape.write(0, first.as_bytes()).map_err(journal_failed)?;
            self.good = first.len() as u64;
        }
        tape.sync().map_err(journal_failed)?;
        self.tape = Some(tape);
        Ok(())
    }

    /// Copies bytes to the first free `NAME.ron.journal.KIND-N`, synced, and returns its name.
    fn set_aside(&self, kind: &str, bytes: &[u8]) -> Result<String, StoreError> {
        let journal = journal_of(&self.real);
        let mut n = 1_u32;
        loop {
            let mut name = journal.clone().into_os_string();
            name.push(format!(".{kind}-{n}"));
            let name = PathBuf::from(name);
            match self.disk.create(&name, bytes) {
                Ok(()) => return Ok(name.display().to_string()),
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists && n < 9999 => n += 1,
                Err(e) => return Err(StoreError::disk(&name, &e)),
            }
        }
    }

    /// The job as kept.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// The job file as the person gave it.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// What opening found and should be said.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Why nothing can be kept, with the remedy; `None` where it can.
    pub fn read_only(&self) -> Option<&str> {
        self.read_only.as_deref()
    }

    /// Number of changes that are in the journal and not yet in the job file.
    pub fn unsaved(&self) -> u64 {
        self.job.kept.saturating_sub(self.saved)
    }

    /// Whether there is something to undo.
    pub fn can_undo(&self) -> bool {
        !self.undo.is_empty()
    }

    /// Whether there is something to redo.
    pub fn can_redo(&self) -> bool {
        !self.redo.is_empty()
    }

    /// Makes a change and puts it on the disk. When this returns `Ok`, it is there.
    ///
    /// # Errors
    /// [`StoreError::Refused`] where the job can't take it, [`StoreError::ReadOnly`], or [`StoreError::NotKept`] where
    /// it is not certain to be on the disk. The job is unchanged after each.
    pub fn keep(&mut self, change: &Change, at: DateTime<FixedOffset>) -> Result<(), StoreError> {
        let inverse = self.record(change, at)?;
        self.undo.push(inverse);
        self.redo.clear();
        Ok(())
    }

    /// Takes the last change of this session back, and returns where; `None` where there is nothing. It goes into the
    /// journal like any other, in the name of `by`.
    ///
    /// # Errors
    /// As for [`keep`](Self::keep); also where `by` is nobody on the job.
    pub fn undo(
        &mut self,
        by: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<Option<Place>, StoreError> {
        let Some(change) = self.undo.last().cloned() else {
            return Ok(None);
        };
        let (place, inverse) = self.turn(change, by, at)?;
        self.undo.pop();
        self.redo.push(inverse);
        Ok(Some(place))
    }

    /// Makes the change again that was last taken back, and returns where; `None` where there is nothing.
    ///
    /// # Errors
    /// As for [`undo`](Self::undo).
    pub fn redo(
        &mut self,
        by: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<Option<Place>, StoreError> {
        let Some(change) = self.redo.last().cloned() else {
            return Ok(None);
        };
        let (place, inverse) = self.turn(change, by, at)?;
        self.redo.pop();
        self.undo.push(inverse);
        Ok(Some(place))
    }

    fn turn(
        &mut self,
        mut change: Change,
        who: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<(Place, Change), StoreError> {
        if self.job.person(who).is_none() {
            return Err(StoreError::Refused(ChangeError::Unknown {
                what: "person",
                id: who.to_string(),
                known: self.job.people.iter().map(|p| p.id.clone()).collect(),
            }));
        }
        if let Change::Put { by, .. } = &mut change {
            *by = who.to_string();
        }
        let place = match &change {
            Change::Put { place, .. } | Change::Keep { place, .. } => place.clone(),
        };
        let inverse = self.record(&change, at)?;
        Ok((place, inverse))
    }

    /// In memory on a copy, then on the disk, then for good.
    fn record(&mut self, change: &Change, at: DateTime<FixedOffset>) -> Result<Change, StoreError> {
        if let Some(why) = &self.read_only {
            return Err(StoreError::ReadOnly {
                file: self.path.display().to_string(),
                why: why.clone(),
            });
        }
        if let Change::Keep { place, reading } = change
            && reading.unit != place.test.unit()
        {
            // A file with it could be written and then not be opened again.
            return Err(StoreError::Refused(ChangeError::Unreadable {
                place: place.clone(),
                why: format!(
                    "the unit is {:?}; `{}` is recorded in {:?}",
                    reading.unit,
                    place.test,
                    place.test.unit()
                ),
            }));
        }
        let mut next = self.job.clone();
        let inverse = next.apply(change)?;
        let not_kept = |what: String| StoreError::NotKept {
            file: journal_of(&self.path).display().to_string(),
            what,
        };
        let record = Record {
            at,
            job: self.job.reference.clone(),
            change: change.clone(),
        };
        let (text, link) = line(&Link::of(&self.job), &record).map_err(not_kept)?;
        let length = text.len() as u64;
        if self.good.saturating_add(length) > LONGEST_FILE {
            return Err(not_kept("the journal is longer than 64 MB".into()));
        }
        if let Err(e) = self.write(&text) {
            let what = explain(&e).0;
            return Err(StoreError::NotKept {
                file: journal_of(&self.path).display().to_string(),
                what,
            });
        }
        self.good += length;
        next.kept = link.seq;
        next.kept_digest = link.digest;
        self.job = next;
        Ok(inverse)
    }

    fn write(&mut self, text: &str) -> io::Result<()> {
        self.settle()?;
        let Some(tape) = self.tape.as_mut() else {
            return Err(io::Error::other("the journal isn't open"));
        };
        let written = tape
            .write(self.good, text.as_bytes())
            .and_then(|()| tape.sync());
        if written.is_err() {
            self.doubt = true;
            // So that a line which was reported as not kept doesn't come back if the program ends now. Whether it
            // worked is looked at before the next change.
            let _ = tape.cut(self.good);
        }
        written
    }

    /// After a failure: cuts the journal back to its last good line and reads it back.
    fn settle(&mut self) -> io::Result<()> {
        if !self.doubt {
            return Ok(());
        }
        let Some(tape) = self.tape.as_mut() else {
            return Err(io::Error::other("the journal isn't open"));
        };
        tape.cut(self.good)?;
        tape.sync()?;
        let found = survey(&tape.read(LONGEST_FILE)?, &Link::of(&self.job));
        if found.fit != Fit::Continues
            || found.good != self.good
            || found.torn.is_some()
            || !found.records.is_empty()
        {
            return Err(io::Error::other(
                "after a failure the journal no longer reads back as it was written",
            ));
        }
        self.doubt = false;
        Ok(())
    }

    /// Writes the job file, if it lacks anything. The old file stays until the new one is whole.
    ///
    /// # Errors
    /// [`StoreError::NotSaved`]: also where somebody else changed the file since it was opened. What was kept is still
    /// in the journal.
    pub fn save(&mut self) -> Result<(), StoreError> {
        if self.tape.is_none() || self.unsaved() == 0 {
            return Ok(());
        }
        let shown = self.path.display().to_string();
        let not_saved = |what: String, remedy: &str| StoreError::NotSaved {
            file: shown.clone(),
            what,
            remedy: remedy.to_string(),
        };
        match self.disk.read(&self.real, LONGEST_FILE) {
            Ok(bytes) if self.ours.contains(&digest(&[&bytes])) => {}
            Ok(_) => {
                return Err(not_saved(
                    "something else changed the file since it was opened".into(),
                    "close this and open the job again",
                ));
            }
            // Gone: writing it anew loses nothing.
            Err(e) if e.kind() == io::ErrorKind::NotFound => {}
            Err(e) => {
                let (what, remedy) = explain(&e);
                return Err(not_saved(what, remedy));
            }
        }
        let text = job_text(&self.job).map_err(|e| not_saved(e, "keep both files as they are"))?;
        // Never replace a good file by one that can't be opened again.
        match parse_job(&shown, text.as_bytes()) {
            Ok(again) if again == self.job => {}
            Ok(_) => {
                return Err(not_saved(
                    "the new text doesn't read back as the same job".into(),
                    "keep both files as they are",
                ));
            }
            Err(e) => {
                return Err(not_saved(
                    format!("the new text can't be read back: {e}"),
                    "keep both files as they are",
                ));
            }
        }
        // Known before it is written: if only the last sync fails, the file is ours all the same.
        self.ours.push(digest(&[text.as_bytes()]));
        self.disk
            .replace(&self.real, text.as_bytes())
            .map_err(|e| {
                let (what, remedy) = explain(&e);
                not_saved(what, remedy)
            })?;
        self.saved = self.job.kept;
        Ok(())
    }

    /// Saves and ends the session.
    ///
    /// # Errors
    /// As for [`save`](Self::save); what was kept is still in the journal.
    pub fn close(mut self) -> Result<(), StoreError> {
        self.save()
    }
}

#[cfg(test)]
mod tests;
