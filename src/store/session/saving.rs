//! Saving: the job file is replaced whole, or stays.

use std::io;
use std::path::PathBuf;

use super::Session;
use super::opening::copy_beside;
use crate::job::digest::digest;
use crate::store::LONGEST_FILE;
use crate::store::disk::Whereabouts;
use crate::store::error::{StoreError, explain};
use crate::store::load::{job_text, parse_job};
use crate::store::write::replace;

impl Session {
    /// Writes the job file, if it lacks anything. The old file stays until the new one is whole.
    ///
    /// # Errors
    /// [`StoreError::NotSaved`], which says where everything is that was kept: in the journal, or in a copy of the whole job where
    /// somebody else put another file in the place of the job file or of its journal, or where the journal is gone.
    pub fn save(&mut self) -> Result<(), StoreError> {
        if self.tape.is_none() || self.unsaved() == 0 {
            return Ok(());
        }
        let why = match job_text(&self.job) {
            Ok(text) => match self.put(&text) {
                Ok(()) => return Ok(()),
                Err(why) => self.where_it_is(why, &text),
            },
            Err(what) => Why::of(
                what,
                "keep both files as they are. What was kept is in the journal beside it",
            ),
        };
        Err(StoreError::NotSaved {
            file: self.path.display().to_string(),
            what: why.what,
            remedy: why.remedy,
        })
    }

    /// Puts the text of the job in the place of its file.
    fn put(&mut self, text: &str) -> Result<(), Why> {
        let shown = self.path.display().to_string();
        let as_they_are = |what: String| Why::of(what, "keep both files as they are");
        // Never replace a good file by one that can't be opened again.
        match parse_job(&shown, text.as_bytes()) {
            Ok(again) if again == self.job => {}
            Ok(_) => {
                return Err(as_they_are(
                    "the new text doesn't read back as the same job".into(),
                ));
            }
            Err(e) => return Err(as_they_are(format!("the new text can't be read back: {e}"))),
        }
        // A second writer may have taken over: its changes don't follow on what would be saved here.
        let tape = self.tape.as_ref().map(|tape| tape.whereabouts());
        if matches!(tape, Some(Ok(Whereabouts::Replaced))) {
            return Err(Why::others(
                "another file was put in the place of the journal",
            ));
        }
        match self.disk.read(&self.real, LONGEST_FILE) {
            Ok(bytes) if self.ours.contains(&digest(&[&bytes])) => {
                // What it was before it was brought to this version stays.
                if let Some(version) = self.older {
                    let kind = format!("version-{version}");
                    copy_beside(self.disk.as_ref(), &self.real, &kind, &bytes).map_err(
                        |(name, e)| {
                            let (what, remedy) = explain(&e);
                            Why::of(format!("{}: {what}", name.display()), remedy)
                        },
                    )?;
                    self.older = None;
                }
            }
            Ok(_) => {
                return Err(Why::others(
                    "something else changed the file since it was opened",
                ));
            }
            // Gone: writing it anew loses nothing.
            Err(e) if e.kind() == io::ErrorKind::NotFound => {}
            Err(e) => return Err(Why::failed(&e)),
        }
        // Known before it is written: if only the last sync fails, the file is ours all the same.
        self.ours.push(digest(&[text.as_bytes()]));
        replace(self.disk.as_ref(), &self.real, text.as_bytes()).map_err(|e| Why::failed(&e))?;
        self.saved = self.job.kept;
        Ok(())
    }

    /// Adds to why the job file isn't saved where everything is that was kept. Where the journal alone would not do, that is a copy of
    /// the whole job: beside the file, else in the first folder that takes it.
    fn where_it_is(&mut self, mut why: Why, text: &str) -> Why {
        if !why.others && self.journal_is_here() {
            why.remedy = format!("{}. What was kept is in the journal beside it", why.remedy);
            return why;
        }
        let fresh = match self.copy.take() {
            Some(copy) if copy.0 == self.job.kept => Ok(copy.1),
            _ => self.copy_out(text),
        };
        why.remedy = match fresh {
            Ok(name) => {
                let remedy = format!(
                    "everything that was kept is whole in {name}: compare the two, then open the job again"
                );
                self.copy = Some((self.job.kept, name));
                remedy
            }
            Err((name, e)) => format!(
                "{}: not written either: {}. {} Leave this open, and put the disk right",
                name.display(),
                explain(&e).0,
                match self.journal_is_here() {
                    true => "What was kept is in the journal: copy it with the job file.",
                    false =>
                        "The journal is gone too: what was kept since the job was opened is in no file.",
                }
            ),
        };
        why
    }

    /// The whole job in a new file. On failure, what failed beside the job file.
    fn copy_out(&self, text: &str) -> Result<String, (PathBuf, io::Error)> {
        let disk = self.disk.as_ref();
        let beside = copy_beside(disk, &self.real, "kept", text.as_bytes());
        let failed = match beside {
            Ok(name) => return Ok(name),
            Err(failed) => failed,
        };
        let name = self.real.file_name().unwrap_or_default();
        let mut elsewhere = self.refuge.iter().filter_map(|folder| {
            copy_beside(disk, &folder.join(name), "kept", text.as_bytes()).ok()
        });
        elsewhere.next().ok_or(failed)
    }

    /// Saves and ends the session.
    ///
    /// # Errors
    /// As for [`save`](Self::save).
    pub fn close(mut self) -> Result<(), StoreError> {
        self.save()
    }
}

/// Why the job file isn't saved.
struct Why {
    what: String,
    remedy: String,
    /// Somebody else's file stands where ours should be, and the journal need not fit it.
    others: bool,
}

impl Why {
    fn of(what: String, remedy: &str) -> Why {
        Why {
            what,
            remedy: remedy.to_string(),
            others: false,
        }
    }

    fn others(what: &str) -> Why {
        Why {
            others: true,
            ..Why::of(what.to_string(), "")
        }
    }

    fn failed(error: &io::Error) -> Why {
        let (what, remedy) = explain(error);
        Why::of(what, remedy)
    }
}
