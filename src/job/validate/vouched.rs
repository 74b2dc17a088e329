//! Countersigns, and readings taken out of order: whether they come from those who may.

use std::collections::BTreeSet;

use super::super::{ChangeError, Job};
use super::Finder;

impl Job {
    /// One problem for each reading, but only one for each person that is missing.
    pub(super) fn vouch_problems(&self, f: &mut Finder) {
        let mut missing = BTreeSet::new();
        for seat in self.seats() {
            for (test, entry) in seat.readings.iter() {
                let place = seat.place(test);
                for reading in entry.struck.iter().chain([&entry.now]) {
                    if let Some(Err(why)) = reading.brought.as_ref().map(|b| b.stands()) {
                        f.add(
                            place.to_string(),
                            &reading.typed,
                            why,
                            "put `brought` right in the file, as plain text on one line",
                        );
                        continue;
                    }
                    let vouchers = [
                        reading.countersigned.as_ref().map(|c| c.by.as_str()),
                        reading.around.as_ref().map(|a| a.by.as_str()),
                    ];
                    let Err(why) = self.vouched(&place, reading) else {
                        continue;
                    };
                    // Whether an id is used twice is a problem of its own.
                    if vouchers.into_iter().flatten().any(|id| self.is_twice(id)) {
                        continue;
                    }
                    match why {
                        ChangeError::Unknown { id, known, .. } => {
                            if missing.insert(id.clone()) {
                                f.add(
                                    place.to_string(),
                                    &id,
                                    format!("no person `{id}` on this job who could vouch for a reading; known: {}", known.join(", ")),
                                    "add them to `people`, or take `countersigned` or `around` out and have it done again",
                                );
                            }
                        }
                        ChangeError::Unfit { why, .. } | ChangeError::NotAllowed(why) => f.add(
                            place.to_string(),
                            &reading.typed,
                            why,
                            "take `countersigned` or `around` out of the reading, and have a qualified person do it on the screen",
                        ),
                        other => f.add(
                            place.to_string(),
                            &reading.typed,
                            other.to_string(),
                            "take the reading again",
                        ),
                    }
                }
            }
        }
    }
}
