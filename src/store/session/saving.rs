//! Saving: the job file is replaced whole, or stays.

use std::io;

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
    /// [`StoreError::NotSaved`], which says where everything is that was kept. Where somebody else put another file in
    /// the place of the job file or of its journal, that is a copy of the whole job beside it.
    pub fn save(&mut self) -> Result<(), StoreError> {
        let Some(tape) = self.tape.as_ref() else {
            return Ok(());
        };
        if self.unsaved() == 0 {
            return Ok(());
        }
        let shown = self.path.display().to_string();
        let not_saved = |what: String, remedy: &str| StoreError::NotSaved {
            file: shown.clone(),
            what,
            remedy: format!("{remedy}. What was kept is in the journal beside it"),
        };
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
        // A second writer may have taken over: its changes don't follow on what would be saved here.
        if tape.whereabouts().is_ok_and(|w| w == Whereabouts::Replaced) {
            return Err(self.copied(&text, "another file was put in the place of the journal"));
        }
        match self.disk.read(&self.real, LONGEST_FILE) {
            Ok(bytes) if self.ours.contains(&digest(&[&bytes])) => {
                // It may be damage: what it was stays.
                let kind = match (self.altered, self.older) {
                    (true, _) => Some("found".to_string()),
                    // What it was before it was brought to this version.
                    (false, Some(version)) => Some(format!("version-{version}")),
                    (false, None) => None,
                };
                if let Some(kind) = kind {
                    copy_beside(self.disk.as_ref(), &self.real, &kind, &bytes).map_err(
                        |(name, e)| {
                            let (what, remedy) = explain(&e);
                            not_saved(format!("{}: {what}", name.display()), remedy)
                        },
                    )?;
                    self.altered = false;
                    self.older = None;
                }
            }
            Ok(_) => {
                return Err(
                    self.copied(&text, "something else changed the file since it was opened")
                );
            }
            // Gone: writing it anew loses nothing.
            Err(e) if e.kind() == io::ErrorKind::NotFound => {}
            Err(e) => {
                let (what, remedy) = explain(&e);
                return Err(not_saved(what, remedy));
            }
        }
        // Known before it is written: if only the last sync fails, the file is ours all the same.
        self.ours.push(digest(&[text.as_bytes()]));
        replace(self.disk.as_ref(), &self.real, text.as_bytes()).map_err(|e| {
            let (what, remedy) = explain(&e);
            not_saved(what, remedy)
        })?;
        self.saved = self.job.kept;
        Ok(())
    }

    /// Puts the whole job beside a file that may not be replaced, and says so. The journal need not fit that file, so
    /// it alone would not do.
    fn copied(&mut self, text: &str, what: &str) -> StoreError {
        let fresh = match self.copy.take() {
            Some(copy) if copy.0 == self.job.kept => Ok(copy.1),
            _ => copy_beside(self.disk.as_ref(), &self.real, "kept", text.as_bytes()),
        };
        let remedy = match fresh {
            Ok(name) => {
                let remedy = format!(
                    "everything that was kept is whole in {name}: compare the two, then open the job again"
                );
                self.copy = Some((self.job.kept, name));
                remedy
            }
            Err((name, e)) => format!(
                "{}: not written either: {}. Leave this open, copy the job file and its journal, and put the disk right",
                name.display(),
                explain(&e).0
            ),
        };
        StoreError::NotSaved {
            file: self.path.display().to_string(),
            what: what.into(),
            remedy,
        }
    }

    /// Saves and ends the session.
    ///
    /// # Errors
    /// As for [`save`](Self::save).
    pub fn close(mut self) -> Result<(), StoreError> {
        self.save()
    }
}
