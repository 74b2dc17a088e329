//! Opening for writing: lock, look, bring back.

use std::io;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};

use super::Session;
use crate::job::digest::digest;
use crate::job::{Change, ChangeError, Job, Role, SCHEMA};
use crate::store::LONGEST_FILE;
use crate::store::disk::{Disk, RealDisk};
use crate::store::error::{StoreError, explain, is_barred, is_full};
use crate::store::found::Found;
use crate::store::journal::{Fit, Link, header, survey};
use crate::store::load::{
    Parsed, Seen, TORN, altered, bring_back, is_altered, journal_of, lacks_history, parse_any,
    replay, rest_of, see,
};
use crate::store::write::create;

impl Session {
    /// Opens a job for writing: reads it, locks its journal (made where there is none) and brings back what the job
    /// file lacks. Where something was found that somebody has to decide about, nothing is touched and the session
    /// [`waits`](Self::waits). Where the file, its folder or its disk may only be read, the session is read-only and says why.
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
        let (job, seen) = see(disk.as_ref(), path)?;
        let looked_at = bring_back(job.clone(), &seen, path);
        let real = disk.resolve(path).map_err(failed)?;
        let mut session = Session {
            path: path.to_path_buf(),
            saved: looked_at.job.kept,
            job: looked_at.job,
            notes: looked_at.notes,
            lost: looked_at.lost,
            found: looked_at.found,
            waits: false,
            protected: None,
            real,
            tape: None,
            good: 0,
            doubt: false,
            ours: Vec::new(),
            older: None,
            copy: None,
            refuge: Vec::new(),
            undo: Vec::new(),
            redo: Vec::new(),
            disk,
        };
        if session.disk.is_protected(&session.real).map_err(failed)? {
            session.protected = Some(
                "the file is write-protected; take the protection off, or work on a copy".into(),
            );
            return Ok(session);
        }
        session.waits = session.found.iter().any(|f| f.decide);
        if session.waits || session.lost.is_some() {
            return Ok(session);
        }
        session.open_up(false, Some((job, seen)))?;
        Ok(session)
    }

    /// Takes the job over as far as it may be written; `decided`: somebody decided to go on.
    fn open_up(&mut self, decided: bool, before: Option<(Job, Seen)>) -> Result<(), StoreError> {
        match self.take_over(decided, before) {
            Ok(()) => Ok(()),
            // What was read can be looked at, checked and drafted all the same.
            Err(Hindrance::Barred(file, e)) => {
                let (what, remedy) = explain(&e);
                self.protected = Some(format!("{file} can't be written: {what}; {remedy}"));
                Ok(())
            }
            // Whoever decided to go on may make room and decide again.
            Err(Hindrance::Full(file, e)) if decided => Err(StoreError::disk(Path::new(&file), &e)),
            Err(Hindrance::Full(file, e)) => {
                let (what, _) = explain(&e);
                self.protected = Some(format!(
                    "{file} can't be written: {what}; make room, then open the job again"
                ));
                Ok(())
            }
            Err(Hindrance::Error(e)) => Err(e),
        }
    }

    /// Somebody decided to go on: what is in doubt is copied beside, the job is open for writing, and the history notes it in the
    /// name of `by`. What was [`lost`](Self::lost) is then no longer missing in silence, but by decision.
    ///
    /// # Errors
    /// [`StoreError::Locked`], [`StoreError::Disk`], or [`StoreError::NotKept`] where the note isn't on the disk.
    pub fn go_on(&mut self, by: &str, at: DateTime<FixedOffset>) -> Result<(), StoreError> {
        if !self.waits {
            return Ok(());
        }
        // Before anything is touched: nobody decides in nobody's name.
        if self.job.person(by).is_none() {
            return Err(StoreError::Refused(ChangeError::Unknown {
                what: "person",
                id: by.to_string(),
                known: self.job.people.iter().map(|p| p.id.clone()).collect(),
            }));
        }
        let led = self.job.people.iter().any(|p| p.role == Role::Qualified);
        let asked = self.found.iter().any(Found::is_for_qualified);
        if (self.lost.is_some() || asked) && led && !self.job.is_qualified(by) {
            let what = match self.lost {
                Some(_) => "without what can't be brought back",
                None => "with a job file that was changed outside of the program",
            };
            return Err(StoreError::Refused(ChangeError::NotAllowed(format!(
                "a qualified person decides to go on {what}; change who is entering first (F6)"
            ))));
        }
        self.waits = false;
        let gone_on = self
            .open_up(true, None)
            .and_then(|()| self.note_decision(by, at));
        if gone_on.is_err() {
            // Not in silence: nothing is kept before the history has it.
            self.waits = true;
            self.tape = None;
        } else if self.found.iter().any(Found::is_changed_by_hand) {
            // So that it isn't asked once more if the program ends. Where it can't be saved now, it is in the journal.
            let _ = self.save();
        }
        gone_on
    }

    /// Notes in the history what was found and decided.
    fn note_decision(&mut self, by: &str, at: DateTime<FixedOffset>) -> Result<(), StoreError> {
        if self.tape.is_none() {
            return Ok(());
        }
        let decided: Vec<Change> = self
            .found
            .iter()
            .filter(|f| f.decide)
            .map(|f| {
                let copies = match f.copies.is_empty() {
                    true => String::new(),
                    false => format!(" Copied to {}.", f.copies.join(", ")),
                };
                Change::Settled {
                    what: "found on opening".into(),
                    how: format!(
                        "{}.{copies} Gone on by decision.",
                        f.what.trim_end_matches('.')
                    ),
                    by: by.to_string(),
                    at,
                }
            })
            .collect();
        // One for each reading that isn't as the history has it: from here on it is as somebody decided.
        let unlike = match self.found.iter().any(Found::is_unlike) {
            true => self.job.unlike_history(usize::MAX),
            false => Vec::new(),
        };
        let taken = unlike.iter().map(|u| Change::Settled {
            what: u.place.to_string(),
            how: format!("{}. Taken as it stands, by decision.", u.words()),
            by: by.to_string(),
            at,
        });
        for change in decided.into_iter().chain(taken) {
            self.record(&change, at)?;
        }
        Ok(())
    }

    /// Locks the journal and reads everything again: another program may have written until now. Before somebody `decided`, it
    /// touches nothing where that is asked for.
    fn take_over(&mut self, decided: bool, before: Option<(Job, Seen)>) -> Result<(), Hindrance> {
        let shown = self.path.display().to_string();
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
        let parsed = match before {
            // Locked it is still the file that was looked at: what it says is known.
            Some((job, seen)) if seen.bytes == bytes => Parsed {
                job,
                version: seen.version,
                unknown: seen.unknown,
            },
            _ => parse_any(&shown, &bytes)?,
        };
        let (version, start) = (parsed.version, parsed.job.kept);
        let written = tape.read(LONGEST_FILE).map_err(journal_failed)?;
        let mut found = survey(&written, &Link::of(&parsed.job));
        let journal_name = shown_journal.display().to_string();
        let no_history = lacks_history(&parsed.job, version);
        let altered_file = is_altered(&bytes, &parsed.job);
        let mut opened = replay(parsed.job, &found, &journal_name);
        if altered_file {
            opened.notes.push(altered(&shown));
            opened.found.push(Found::altered(&shown));
        }
        let by_hand = altered_file || no_history;
        opened.look_at_history(no_history);
        opened.look_at_issues();
        let newer = version > SCHEMA;
        opened.look_at_version(&shown, version, &parsed.unknown);
        self.ours = vec![digest(&[&bytes])];
        self.saved = start;
        self.job = opened.job;
        self.notes = opened.notes;
        self.found = opened.found;
        self.lost = opened.lost;
        self.older = (version < SCHEMA).then_some(version);
        if version < SCHEMA {
            self.found.push(Found::older(&shown, version, SCHEMA));
        }
        let torn = found.torn.clone();
        if let Some(torn) = &torn {
            let rest = rest_of(&written, found.good);
            self.found
                .push(Found::torn(&journal_name, torn, rest, None));
        }
        if !decided && self.found.iter().any(|f| f.decide) {
            // Nothing was touched; a journal that was made by looking is empty.
            self.waits = true;
            return Ok(());
        }
        if self.lost.is_some() {
            if newer {
                return Ok(());
            }
            // What can't be brought back goes aside with the rest of the journal; what came before it stays.
            let name = self.set_aside("lost", &written)?;
            self.copied_to(&name, Found::is_lost);
            let kept = usize::try_from(self.job.kept.saturating_sub(start)).unwrap_or(0);
            let end = match kept.checked_sub(1) {
                Some(last) => found.ends.get(last).copied(),
                None => found.anchor,
            };
            found.good = end.unwrap_or(0);
            tape.cut(found.good).map_err(journal_failed)?;
            tape.sync().map_err(journal_failed)?;
            self.notes.push(format!("the journal was copied to {name}"));
            self.lost = None;
        } else if found.fit == Fit::Behind {
            let name = self.set_aside("old", &written)?;
            self.copied_to(&name, Found::is_behind);
            self.notes.push(format!(
                "the journal was copied to {name} and a new one started"
            ));
            tape.cut(0).map_err(journal_failed)?;
            // Else a power cut could leave the new first line over the old ones.
            tape.sync().map_err(journal_failed)?;
            found.good = 0;
        } else if let Some(torn) = &torn {
            let name = self.set_aside("torn", rest_of(&written, found.good))?;
            self.copied_to(&name, Found::is_torn);
            self.notes.push(format!(
                "{}: {torn}; {TORN}, and was set aside in {name}",
                shown_journal.display()
            ));
            tape.cut(found.good).map_err(journal_failed)?;
        }
        if by_hand {
            let name = copy_beside(self.disk.as_ref(), &self.real, "found", &bytes)
                .map_err(|(name, e)| Hindrance::at(&name, e))?;
            self.copied_to(&name, Found::is_changed_by_hand);
            self.notes
                .push(format!("the job file was copied to {name}"));
        }
        self.good = found.good;
        if self.good == 0 {
            let first = header(&Link::of(&self.job));
            if let Err(e) = tape.write(0, first.as_bytes()) {
                // Half a line would look damaged on the next opening. One that had nothing is taken away again, locked as it is.
                let emptied = tape.cut(0).is_ok();
                if emptied && written.is_empty() {
                    let _ = self.disk.remove(&journal);
                }
                return Err(journal_failed(e));
            }
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

    fn copied_to(&mut self, name: &str, which: fn(&Found) -> bool) {
        if let Some(found) = self.found.iter_mut().find(|f| which(f)) {
            let name = Path::new(name).file_name().map(|n| n.to_string_lossy());
            found.copies.extend(name.map(|n| n.into_owned()));
        }
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
    /// There is no room for the file of that name.
    Full(String, io::Error),
    /// It can't be opened at all.
    Error(StoreError),
}

impl Hindrance {
    fn at(file: &Path, error: io::Error) -> Hindrance {
        if is_barred(&error) {
            Hindrance::Barred(file.display().to_string(), error)
        } else if is_full(&error) {
            Hindrance::Full(file.display().to_string(), error)
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
