//! A job open for writing.

mod opening;
mod saving;

use std::io;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

use super::LONGEST_FILE;
use super::disk::{Disk, Tape, Whereabouts};
use super::error::{StoreError, explain};
use super::found::Found;
use super::journal::{Fit, Link, Record, line, survey};
use super::load::journal_of;
use crate::job::{Change, ChangeError, Job};

/// Why nothing is kept while somebody has to decide.
const WAITS: &str = "nothing is written before you have decided what to do about what was found on opening (h, then Tab)";

/// A job open for writing, with its locked journal.
///
/// When a journal line can't be written or synced, the change is reported as not kept, the job stays as it was, and
/// the journal is in doubt: the next [`keep`](Self::keep) first cuts it back to the last good line and reads it back;
/// as long as that fails, every keep is refused. If the program ends while the disk can't even be cut back, the line may
/// turn up on the next opening as "brought back": a reading too many, struck out by its repetition, and never one too few.
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
    /// What could not be brought back.
    lost: Option<String>,
    /// Why nothing may be written although nothing is lost.
    protected: Option<String>,
    /// Length of the journal up to its last good line.
    good: u64,
    /// Whether there may be something behind it.
    doubt: bool,
    /// Last change that the job file contains.
    saved: u64,
    /// Digests of the contents that the job file may have if nobody else wrote it.
    ours: Vec<String>,
    /// What is found, taken apart for a page.
    found: Vec<Found>,
    /// Somebody has to decide first what to do about that; nothing was touched.
    waits: bool,
    /// Version of the job file, where it is an older one: it is copied before it is replaced.
    older: Option<u32>,
    /// The copy that was made because the job file could not be saved, and the last change in it.
    copy: Option<(u64, String)>,
    /// Folders for that copy where neither the job file nor its journal can be reached, the first that works.
    refuge: Vec<PathBuf>,
    undo: Vec<Change>,
    redo: Vec<Change>,
}

impl Session {
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

    /// What opening found, taken apart for a page.
    pub fn found(&self) -> &[Found] {
        &self.found
    }

    /// Whether somebody has to decide what to do about what was found, before anything is written: [`go_on`](Self::go_on), or
    /// only look.
    pub fn waits(&self) -> bool {
        self.waits
    }

    /// Why nothing can be kept, with the remedy; `None` where it can. Where something is [`lost`](Self::lost), it is that.
    pub fn read_only(&self) -> Option<&str> {
        let waits = self.waits.then_some(WAITS);
        self.lost.as_deref().or(self.protected.as_deref()).or(waits)
    }

    /// What could **not** be brought back from the journal, with the remedy: the job is then not the whole record, and
    /// nothing may be drafted from it. `None` where it is whole, also where it can only be read.
    pub fn lost(&self) -> Option<&str> {
        self.lost.as_deref()
    }

    /// Folders for a copy of the job where neither the job file nor its journal can be reached when it is saved.
    pub fn take_refuge_in(&mut self, folders: Vec<PathBuf>) {
        self.refuge = folders;
    }

    /// Whether everything kept is in some file that can be reached: the job file, its journal, or a copy.
    pub fn is_on_disk(&self) -> bool {
        let copied = self.copy.as_ref().is_some_and(|c| c.0 == self.job.kept);
        self.unsaved() == 0 || copied || self.journal_is_here()
    }

    /// Whether the journal still is where the next opening reads it.
    fn journal_is_here(&self) -> bool {
        self.tape
            .as_ref()
            .is_some_and(|tape| in_place(tape.as_ref()).is_ok())
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
        if !inverse.is_nothing() {
            self.undo.push(inverse);
        }
        self.redo.clear();
        Ok(())
    }

    /// Takes the last change of this session back, and returns what was done; `None` where there is nothing. It goes into the
    /// journal like any other, in the name of `by`.
    ///
    /// # Errors
    /// As for [`keep`](Self::keep); also where `by` is nobody on the job.
    pub fn undo(
        &mut self,
        by: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<Option<Change>, StoreError> {
        let Some(change) = self.undo.last().cloned() else {
            return Ok(None);
        };
        let (done, inverse) = self.turn(change, by, at)?;
        self.undo.pop();
        self.redo.push(inverse);
        Ok(Some(done))
    }

    /// Makes the change again that was last taken back, and returns what was done; `None` where there is nothing.
    ///
    /// # Errors
    /// As for [`undo`](Self::undo).
    pub fn redo(
        &mut self,
        by: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<Option<Change>, StoreError> {
        let Some(change) = self.redo.last().cloned() else {
            return Ok(None);
        };
        let (done, inverse) = self.turn(change, by, at)?;
        self.redo.pop();
        self.undo.push(inverse);
        Ok(Some(done))
    }

    fn turn(
        &mut self,
        change: Change,
        who: &str,
        at: DateTime<FixedOffset>,
    ) -> Result<(Change, Change), StoreError> {
        if self.job.person(who).is_none() {
            return Err(StoreError::Refused(ChangeError::Unknown {
                what: "person",
                id: who.to_string(),
                known: self.job.people.iter().map(|p| p.id.clone()).collect(),
            }));
        }
        let change = change.in_the_name_of(who, at);
        let inverse = self.record(&change, at)?;
        Ok((change, inverse))
    }

    /// In memory, then on the disk; where the disk refuses, memory is put back as it was.
    fn record(&mut self, change: &Change, at: DateTime<FixedOffset>) -> Result<Change, StoreError> {
        if let Some(why) = self.read_only() {
            return Err(StoreError::ReadOnly {
                file: self.path.display().to_string(),
                why: why.to_string(),
            });
        }
        let mut keeps = change.keeps().into_iter();
        if let Some((place, reading)) = keeps.find(|(place, r)| r.unit != place.test.unit()) {
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
        let reference = self.job.reference.clone();
        let before = Link::of(&self.job);
        let (inverse, restore) = self.job.apply_for_now(change)?;
        match self.write_down(change, at, reference, &before) {
            Ok(link) => {
                self.job.kept = link.seq;
                self.job.kept_digest = link.digest;
                Ok(inverse)
            }
            Err(error) => {
                self.job.restore(restore);
                Err(error)
            }
        }
    }

    /// The line of a change, in the journal and synced.
    fn write_down(
        &mut self,
        change: &Change,
        at: DateTime<FixedOffset>,
        job: String,
        before: &Link,
    ) -> Result<Link, StoreError> {
        let journal = journal_of(&self.path).display().to_string();
        let not_kept = |what: String, remedy: &str| StoreError::NotKept {
            file: journal.clone(),
            what,
            remedy: remedy.to_string(),
        };
        let record = Record {
            at,
            job,
            change: change.clone(),
        };
        let (text, link) =
            line(before, &record).map_err(|e| not_kept(e, "type it in another way"))?;
        let length = text.len() as u64;
        if self.good.saturating_add(length) > LONGEST_FILE {
            return Err(not_kept(
                "the journal is longer than 64 MB".into(),
                "save the job, move the journal away and open the job again",
            ));
        }
        if let Err(fault) = self.write(&text) {
            return Err(match fault {
                Fault::Disk(e) => not_kept(explain(&e).0, "make room or put the disk right"),
                Fault::Away(what) => not_kept(
                    what.to_string(),
                    "put it back, or leave and open the job again: what was kept before is saved on leaving",
                ),
            });
        }
        self.good += length;
        Ok(link)
    }

    fn write(&mut self, text: &str) -> Result<(), Fault> {
        self.settle()?;
        let Some(tape) = self.tape.as_mut() else {
            return Err(io::Error::other("the journal isn't open").into());
        };
        // Before anything is written: a file that was moved away is somebody's copy now, and behind a hole no line is read.
        in_place(tape.as_ref())?;
        if tape.length()? != self.good {
            return Err(Fault::Away(
                "the journal isn't as long as it was written: another program changed it while it was open",
            ));
        }
        let written = tape
            .write(self.good, text.as_bytes())
            .and_then(|()| tape.sync())
            .map_err(Fault::from)
            // And after: it may have been moved meanwhile.
            .and_then(|()| in_place(tape.as_ref()));
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
}

/// Why a line isn't in the journal.
enum Fault {
    /// The disk refused.
    Disk(io::Error),
    /// The open file is no longer the journal.
    Away(&'static str),
}

impl From<io::Error> for Fault {
    fn from(error: io::Error) -> Self {
        Fault::Disk(error)
    }
}

/// Whether the open file is still what the next opening will read.
fn in_place(tape: &dyn Tape) -> Result<(), Fault> {
    match tape.whereabouts()? {
        Whereabouts::Here => Ok(()),
        Whereabouts::Gone => Err(Fault::Away(
            "the journal was removed or moved away while it was open",
        )),
        Whereabouts::Replaced => Err(Fault::Away(
            "another file was put in the place of the journal while it was open",
        )),
    }
}

#[cfg(test)]
mod tests;
