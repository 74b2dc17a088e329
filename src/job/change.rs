//! Changes to a job, each with its inverse. The journal stores them, undo turns them round.

use std::fmt;

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::edit::Edit;
use super::issue::Issue;
use super::owner::Kind;
use super::part::Spot;
use super::place::Place;
use super::reading::{Entry, Reading};
use super::test::Test;
use super::value::Value;
use super::vouch::{Countersign, once_took_a_reason, takes_no_reason};
use super::{Job, Role, Seat};

/// One change.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Change {
    /// Records a reading; one that stood there is struck out.
    Keep {
        /// Where.
        place: Place,
        /// What.
        reading: Reading,
    },
    /// Puts an entry back as it was before another change: undo or redo.
    Put {
        /// Where.
        place: Place,
        /// The entry as it was; `None` where nothing had been taken.
        #[serde(default)]
        entry: Option<Entry>,
        /// Who asked for it.
        by: String,
        /// When; `None` until it is done.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<DateTime<FixedOffset>>,
    },
    /// Countersigns the reading that stands at a place.
    Countersign {
        /// Where.
        place: Place,
        /// Id of the qualified person.
        by: String,
        /// When.
        at: DateTime<FixedOffset>,
        /// The reading it is about, as typed.
        typed: String,
        /// When that reading was entered.
        taken: DateTime<FixedOffset>,
    },
    /// Adds, edits, moves or removes a part of the record.
    Edit(Box<Edit>),
    /// Several readings or countersigns, made or refused together: one line of the journal, one undo.
    Together(Vec<Change>),
    /// Issues the paper. It can't be taken back.
    Issue(Box<Issue>),
    /// Notes in the history what was found on opening and how somebody settled it. Nothing else changes, and it can't be taken
    /// back.
    Settled {
        /// What was found.
        what: String,
        /// What was decided, and where copies are.
        how: String,
        /// Who decided.
        by: String,
        /// When.
        at: DateTime<FixedOffset>,
    },
}

impl Change {
    /// Takes back all that stands at a place.
    pub fn take_back(place: Place, by: &str, at: DateTime<FixedOffset>) -> Change {
        Change::Put {
            place,
            entry: None,
            by: by.to_string(),
            at: Some(at),
        }
    }

    /// The places of the readings that it changes; none where it changes the record itself.
    pub fn places(&self) -> Vec<&Place> {
        match self {
            Change::Keep { place, .. }
            | Change::Put { place, .. }
            | Change::Countersign { place, .. } => vec![place],
            Change::Edit(_) | Change::Issue(_) | Change::Settled { .. } => Vec::new(),
            Change::Together(changes) => changes.iter().flat_map(Change::places).collect(),
        }
    }

    /// The readings that it records, with their places.
    pub fn keeps(&self) -> Vec<(&Place, &Reading)> {
        match self {
            Change::Keep { place, reading } => vec![(place, reading)],
            Change::Put { .. }
            | Change::Countersign { .. }
            | Change::Edit(_)
            | Change::Issue(_)
            | Change::Settled { .. } => Vec::new(),
            Change::Together(changes) => changes.iter().flat_map(Change::keeps).collect(),
        }
    }

    /// Whether there is nothing to it: what turns round a change that can't be turned round.
    pub fn is_nothing(&self) -> bool {
        matches!(self, Change::Together(changes) if changes.is_empty())
    }

    /// What it changes, in words.
    pub fn what(&self) -> String {
        match self {
            Change::Keep { place, .. }
            | Change::Put { place, .. }
            | Change::Countersign { place, .. } => place.to_string(),
            Change::Edit(edit) => edit.spot.to_string(),
            Change::Issue(issue) => format!("issue {}", issue.number),
            Change::Settled { what, .. } => what.clone(),
            Change::Together(changes) => {
                let all: Vec<String> = changes.iter().map(Change::what).collect();
                all.join(", ")
            }
        }
    }

    /// Who makes it and when; of several the first. `None` for what only turns another change round, and isn't done yet.
    pub fn by_and_at(&self) -> Option<(&str, DateTime<FixedOffset>)> {
        match self {
            Change::Keep { reading, .. } => Some((&reading.by, reading.at)),
            Change::Put { by, at, .. } => at.map(|at| (by.as_str(), at)),
            Change::Countersign { by, at, .. } | Change::Settled { by, at, .. } => Some((by, *at)),
            Change::Edit(edit) => Some((&edit.by, edit.at)),
            Change::Issue(issue) => Some((&issue.by, issue.at)),
            Change::Together(changes) => changes.first().and_then(Change::by_and_at),
        }
    }

    /// The same in another person's name and at another time.
    #[must_use]
    pub fn in_the_name_of(mut self, who: &str, when: DateTime<FixedOffset>) -> Change {
        match &mut self {
            Change::Keep { .. } | Change::Issue(_) | Change::Settled { .. } => {}
            Change::Put { by, at, .. } => {
                *by = who.to_string();
                *at = Some(when);
            }
            Change::Countersign { by, at, .. } => {
                *by = who.to_string();
                *at = when;
            }
            Change::Edit(edit) => {
                edit.by = who.to_string();
                edit.at = when;
            }
            Change::Together(changes) => {
                for change in changes {
                    *change = change.clone().in_the_name_of(who, when);
                }
            }
        }
        self
    }
}

/// Why a change can't be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ChangeError {
    /// No such owner.
    NoOwner(Place),
    /// The owner has no such test.
    NotHere {
        /// Where.
        place: Place,
        /// Tests that the owner has.
        known: Vec<&'static str>,
    },
    /// The reading can't be understood.
    Unreadable {
        /// Where.
        place: Place,
        /// Why, with the remedy.
        why: String,
    },
    /// The person or instrument isn't on the job.
    Unknown {
        /// `person` or `instrument`.
        what: &'static str,
        /// The id given.
        id: String,
        /// Ids on the job.
        known: Vec<String>,
    },
    /// The person may not do that.
    NotAllowed(String),
    /// Nobody may do that there.
    Unfit {
        /// Where.
        place: Place,
        /// Why.
        why: String,
    },
    /// No such part, or another kind of part.
    NoPart(Spot),
    /// The record would make no sense with it.
    Unsound {
        /// What was edited.
        spot: Spot,
        /// What is wrong.
        what: String,
        /// What to do about it.
        remedy: String,
    },
}

impl fmt::Display for ChangeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ChangeError::NoOwner(place) => {
                write!(f, "there is no `{}` in this job", place.owner())
            }
            ChangeError::NotHere { place, known } if known.is_empty() => {
                write!(f, "`{}` takes no readings", place.owner())
            }
            ChangeError::NotHere { place, known } => {
                write!(
                    f,
                    "`{}` has no test `{}`; it has: {}",
                    place.owner(),
                    place.test,
                    known.join(", ")
                )
            }
            ChangeError::Unreadable { place, why } => write!(f, "{place}: {why}"),
            ChangeError::Unknown { what, id, known } => {
                write!(
                    f,
                    "no {what} `{id}` on this job; known: {}",
                    known.join(", ")
                )
            }
            ChangeError::NotAllowed(why) => f.write_str(why),
            ChangeError::Unfit { place, why } => write!(f, "{place}: {why}"),
            ChangeError::NoPart(spot) => write!(f, "this job has no {spot} of that kind"),
            ChangeError::Unsound { spot, what, remedy } => write!(f, "{spot}: {what}; {remedy}"),
        }
    }
}

impl std::error::Error for ChangeError {}

/// Why a reason is refused where [`takes_no_reason`].
const NO_REASON: &str = "safety hangs on this one: no reason takes its place";

impl Job {
    /// Whether a reading that is read back may stand at `place`.
    fn may_stand(&self, place: &Place, reading: &Reading) -> Result<Value, ChangeError> {
        let seat = self
            .seat(place)
            .filter(|s| !s.is_bare())
            .ok_or_else(|| ChangeError::NoOwner(place.clone()))?;
        self.accepts(&seat, place, reading)
    }

    /// Whether `reading` could be kept at `place`, without keeping it.
    ///
    /// # Errors
    /// What is wrong with it; nothing is ever changed.
    pub fn would_keep(&self, place: &Place, reading: &Reading) -> Result<Value, ChangeError> {
        let is_reason = reading.value(place.test).is_ok_and(|v| v.is_excused());
        match self.may_stand(place, reading) {
            Ok(_) | Err(ChangeError::Unreadable { .. } | ChangeError::NotAllowed(_))
                if is_reason && once_took_a_reason(place) =>
            {
                Err(ChangeError::Unreadable {
                    place: place.clone(),
                    why: NO_REASON.into(),
                })
            }
            found => found,
        }
    }

    /// Whether a reading may stand in a file or a journal: what [`would_keep`](Self::would_keep) takes, and what a former version
    /// took.
    pub(crate) fn accepts(
        &self,
        seat: &Seat<'_>,
        place: &Place,
        reading: &Reading,
    ) -> Result<Value, ChangeError> {
        let wanted = self.wanted(seat.owner);
        if !wanted.iter().any(|(t, _)| *t == place.test) {
            return Err(ChangeError::NotHere {
                place: place.clone(),
                known: wanted.iter().map(|(t, _)| t.key()).collect(),
            });
        }
        let person = self
            .person(&reading.by)
            .ok_or_else(|| ChangeError::Unknown {
                what: "person",
                id: reading.by.clone(),
                known: self.people.iter().map(|p| p.id.clone()).collect(),
            })?;
        if place.test.is_signature() && person.role != Role::Qualified {
            return Err(ChangeError::NotAllowed(format!(
                "{} is recorded as {}: a qualified person signs; change who is entering first",
                person.name,
                person.role.name()
            )));
        }
        if let Some(id) = &reading.instrument
            && self.instrument(id).is_none()
        {
            return Err(ChangeError::Unknown {
                what: "instrument",
                id: id.clone(),
                known: self.instruments.iter().map(|i| i.id.clone()).collect(),
            });
        }
        if matches!(
            place.test,
            Test::Energise | Test::InvertersOff | Test::Connected
        ) && person.role != Role::Qualified
        {
            return Err(ChangeError::NotAllowed(format!(
                "{} is recorded as {}: a qualified person confirms this; change who is entering first",
                person.name,
                person.role.name()
            )));
        }
        let value = reading
            .value(place.test)
            .map_err(|why| ChangeError::Unreadable {
                place: place.clone(),
                why,
            })?;
        let unreadable = |why: &str| {
            Err(ChangeError::Unreadable {
                place: place.clone(),
                why: why.to_string(),
            })
        };
        match value {
            Value::Limitation(_) | Value::NotApplicable(_)
                if takes_no_reason(place) && !once_took_a_reason(place) =>
            {
                unreadable(NO_REASON)
            }
            // A backup output may share the electrode of the installation.
            Value::NotApplicable(_)
                if place.test.always_applies() && seat.owner.kind() != Kind::Storage =>
            {
                unreadable(
                    "this test applies wherever it is asked for: where it can't be taken, enter a limitation (l) with the reason",
                )
            }
            Value::Limitation(_)
                if place.test.always_applies() && person.role != Role::Qualified =>
            {
                Err(ChangeError::NotAllowed(format!(
                    "{} is recorded as {}: a qualified person answers for leaving out this test; change who is entering first",
                    person.name,
                    person.role.name()
                )))
            }
            value => Ok(value),
        }
    }

    /// Makes a change, adds it to the history and returns its inverse.
    ///
    /// # Errors
    /// What is wrong; the job is then unchanged.
    pub fn apply(&mut self, change: &Change) -> Result<Change, ChangeError> {
        let before = self.standing(change);
        let had = if self.history.is_empty() {
            self.seats().iter().map(|s| s.readings.iter().count()).sum()
        } else {
            0
        };
        let inverse = self.make(change)?;
        self.note(change, before, had);
        Ok(inverse)
    }

    fn make(&mut self, change: &Change) -> Result<Change, ChangeError> {
        match change {
            Change::Keep { place, reading } => {
                // Journals of former versions too; whoever keeps asks `would_keep` before.
                self.may_stand(place, reading)?;
                self.vouched(place, reading)?;
                if reading.countersigned.is_some() {
                    return Err(ChangeError::Unfit {
                        place: place.clone(),
                        why: "a reading is kept first and countersigned afterwards".into(),
                    });
                }
                let by = reading.by.clone();
                let before = self.entry(place).cloned();
                self.readings_mut(place)
                    .ok_or_else(|| ChangeError::NoOwner(place.clone()))?
                    .keep(place.test, reading.clone());
                if place.test.is_signature() {
                    // What can't be digested is covered by nothing.
                    let covers = self.work_digest().unwrap_or_default();
                    self.signed.insert(place.test.key().to_string(), covers);
                }
                Ok(Change::Put {
                    place: place.clone(),
                    entry: before,
                    by,
                    at: None,
                })
            }
            Change::Put {
                place,
                entry,
                by,
                at,
            } => {
                if let Some(entry) = entry {
                    self.may_stand(place, &entry.now)?;
                }
                self.may_put(place, entry.as_ref(), by, at.is_some())?;
                let before = self.entry(place).cloned();
                self.readings_mut(place)
                    .ok_or_else(|| ChangeError::NoOwner(place.clone()))?
                    .put(place.test, entry.clone());
                self.labels.retain(|_, readings| !readings.is_empty());
                if place.test.is_signature() && at.is_some() {
                    // A signature that comes back covers nothing: whoever signs looks at it as it is now.
                    let key = place.test.key().to_string();
                    match entry {
                        Some(_) => self.signed.insert(key, String::new()),
                        None => self.signed.remove(&key),
                    };
                }
                if let (Some(gone), Some(at)) = (&before, at) {
                    self.note_taken_back(place, gone, entry.as_ref(), by, *at);
                }
                Ok(Change::Put {
                    place: place.clone(),
                    entry: before,
                    by: by.clone(),
                    at: None,
                })
            }
            Change::Countersign {
                place,
                by,
                at,
                typed,
                taken,
            } => {
                let now = self.would_countersign(place, by)?;
                if now.typed != *typed || now.at != *taken {
                    return Err(ChangeError::Unfit {
                        place: place.clone(),
                        why: format!(
                            "the countersign is for `{typed}`, and `{}` stands there now: look at it again",
                            now.typed
                        ),
                    });
                }
                let before = self.entry(place).cloned();
                let mut entry = before
                    .clone()
                    .ok_or_else(|| ChangeError::NoOwner(place.clone()))?;
                entry.now.countersigned = Some(Countersign {
                    by: by.clone(),
                    at: *at,
                });
                self.readings_mut(place)
                    .ok_or_else(|| ChangeError::NoOwner(place.clone()))?
                    .put(place.test, Some(entry));
                Ok(Change::Put {
                    place: place.clone(),
                    entry: before,
                    by: by.clone(),
                    at: None,
                })
            }
            Change::Edit(edit) => Ok(Change::Edit(Box::new(self.edit(edit)?))),
            Change::Together(changes) => {
                // By what was there, not by inverses: those may be refused like any change.
                let before = self.before(change);
                let made = self.apply_together(changes);
                if made.is_err() {
                    self.restore(before);
                }
                made
            }
            Change::Issue(issue) => {
                self.issue(issue)?;
                // Nothing turns it round: somebody may hold the sheet.
                Ok(Change::Together(Vec::new()))
            }
            Change::Settled { by, .. } => {
                self.somebody(by)?;
                Ok(Change::Together(Vec::new()))
            }
        }
    }

    /// Where one of them is refused, those before it are made.
    fn apply_together(&mut self, changes: &[Change]) -> Result<Change, ChangeError> {
        let mut seen = std::collections::BTreeSet::new();
        for change in changes {
            let of_one = match change {
                Change::Keep { place, .. }
                | Change::Put { place, .. }
                | Change::Countersign { place, .. } => seen.insert(place),
                Change::Edit(_)
                | Change::Together(_)
                | Change::Issue(_)
                | Change::Settled { .. } => false,
            };
            if !of_one {
                return Err(ChangeError::NotAllowed(
                    "readings that are kept together have to be of different places".into(),
                ));
            }
        }
        let mut inverses = Vec::with_capacity(changes.len());
        for change in changes {
            inverses.push(self.make(change)?);
        }
        inverses.reverse();
        Ok(Change::Together(inverses))
    }
}
