//! Saving: the job file is replaced whole, or stays.

use std::io;

use super::Session;
use crate::store::LONGEST_FILE;
use crate::store::error::{StoreError, explain};
use crate::store::journal::digest;
use crate::store::load::{job_text, parse_job};

impl Session {
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
