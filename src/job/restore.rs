//! Making a change in place, with what puts the job back exactly as it was: a change is made in memory before it is on the disk,
//! and has to be gone again where the disk refuses it. [`Change`]'s inverse is something else, a further change.

use std::collections::BTreeMap;

use super::Job;
use super::change::{Change, ChangeError};
use super::group::Group;
use super::place::Place;
use super::reading::{Entry, Readings};

/// What a change altered, as it was.
#[derive(Debug)]
pub struct Restore(Before);

#[derive(Debug)]
enum Before {
    /// Everything: an edit of the record may touch any of it.
    Whole(Box<Job>),
    Parts(Parts),
}

#[derive(Debug)]
struct Parts {
    entries: Vec<(Place, Option<Entry>)>,
    signed: BTreeMap<String, String>,
    /// All labels, where a change may add or remove one.
    labels: Option<BTreeMap<String, Readings>>,
    taken_back: usize,
    issues: usize,
    history: (usize, String),
}

impl Job {
    /// [`apply`](Self::apply), with what takes it away again. Quick also in a large job, except for edits of the record.
    ///
    /// # Errors
    /// What is wrong; the job is then unchanged.
    pub fn apply_for_now(&mut self, change: &Change) -> Result<(Change, Restore), ChangeError> {
        let restore = self.before(change);
        let inverse = self.apply(change)?;
        Ok((inverse, restore))
    }

    /// What a change may alter, as it is.
    pub(super) fn before(&self, change: &Change) -> Restore {
        if matches!(change, Change::Edit(_)) {
            return Restore(Before::Whole(Box::new(self.clone())));
        }
        let places = change.places();
        let puts = |c: &Change| matches!(c, Change::Put { .. });
        let labels = places.iter().any(|p| p.top == Group::Label.key())
            || match change {
                Change::Together(changes) => changes.iter().any(puts),
                change => puts(change),
            };
        let entry = |place: &Place| (place.clone(), self.entry(place).cloned());
        Restore(Before::Parts(Parts {
            entries: places.into_iter().map(entry).collect(),
            signed: self.signed.clone(),
            labels: labels.then(|| self.labels.clone()),
            taken_back: self.taken_back.len(),
            issues: self.issues.len(),
            history: (self.history.len(), self.history.head().to_string()),
        }))
    }

    /// Puts back what [`apply_for_now`](Self::apply_for_now) altered, if nothing was changed since.
    pub fn restore(&mut self, restore: Restore) {
        let parts = match restore.0 {
            Before::Whole(job) => {
                *self = *job;
                return;
            }
            Before::Parts(parts) => parts,
        };
        for (place, entry) in parts.entries {
            if let Some(readings) = self.readings_mut(&place) {
                readings.put(place.test, entry);
            }
        }
        if let Some(labels) = parts.labels {
            self.labels = labels;
        }
        self.signed = parts.signed;
        self.taken_back.truncate(parts.taken_back);
        self.issues.truncate(parts.issues);
        let (length, head) = parts.history;
        self.history.back_to(length, head);
    }
}
