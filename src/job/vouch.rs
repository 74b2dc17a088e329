//! What qualified people answer for: readings that an apprentice entered, and readings that were taken out of order.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::change::ChangeError;
use super::group::Group;
use super::people::{Person, Role};
use super::place::Place;
use super::reading::{Entry, Reading, TakenBack};
use super::validate::words::{is_unseen, says_something};
use super::value::LONGEST;
use super::{Job, Test};

/// A qualified person's countersign on a reading that somebody else entered.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Countersign {
    /// Id of who countersigned.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// Why a reading was taken before its turn.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Around {
    /// The reason, in words.
    pub reason: String,
    /// What it should have waited for, the first of it.
    pub waited_for: Place,
    /// Id of the qualified person who went around that.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// Places where something is destroyed or somebody hurt if they are passed over: confirmations of safety, polarity of the
/// supply and of d.c., what the inverters are set to and whether they let go of a dead grid, the neutral-earth link in island
/// mode, and that everything was put back.
pub fn safety_hangs_on(place: &Place) -> bool {
    place.top == Group::Safe.key()
        || matches!(
            place.test,
            Test::DcPolarity | Test::Profile | Test::LossOfMains | Test::NeIsland | Test::Restored
        )
        || place.test.is_setting()
        || (place.top == Group::Supply.key() && place.test == Test::Polarity)
}

/// Places where no reason stands for a reading: what safety hangs on, and polarity wherever it is asked for. A conductor in the wrong
/// terminal leaves a circuit live with its switch off.
pub fn takes_no_reason(place: &Place) -> bool {
    safety_hangs_on(place) || place.test == Test::Polarity
}

/// Of those, the ones where a former version took a reason: its files and journals are read, and the place is open work.
pub(super) fn once_took_a_reason(place: &Place) -> bool {
    matches!(
        place.test,
        Test::LossOfMains | Test::NeIsland | Test::Restored
    ) || (place.test == Test::Polarity && !safety_hangs_on(place))
}

/// Whether a reason says something and can be shown and printed.
///
/// # Errors
/// What is wrong with it, in words.
pub fn reason_stands(reason: &str) -> Result<(), String> {
    if !says_something(reason) {
        return Err("the reason has no letter or digit: say why".into());
    }
    if reason.chars().count() > LONGEST {
        return Err(format!(
            "the reason is too long: at most {LONGEST} characters"
        ));
    }
    match reason.chars().find(|c| c.is_control() || is_unseen(*c)) {
        Some(c) => Err(format!(
            "a character that can't be printed (U+{:04X}) in the reason: type it again",
            u32::from(c)
        )),
        None => Ok(()),
    }
}

impl Job {
    /// Whether a reading counts only once a qualified person has countersigned it.
    pub fn waits_for_countersign(&self, reading: &Reading) -> bool {
        reading.countersigned.is_none() && !self.is_qualified(&reading.by)
    }

    /// Whether somebody of that id is on the job and qualified.
    pub fn is_qualified(&self, id: &str) -> bool {
        self.person(id).is_some_and(|p| p.role == Role::Qualified)
    }

    /// Whether `by` could countersign the reading that stands at `place`, which is returned.
    ///
    /// # Errors
    /// Why not.
    pub fn would_countersign(&self, place: &Place, by: &str) -> Result<&Reading, ChangeError> {
        let unfit = |why: &str| ChangeError::Unfit {
            place: place.clone(),
            why: why.to_string(),
        };
        self.seat(place)
            .ok_or_else(|| ChangeError::NoOwner(place.clone()))?;
        let reading = &self
            .entry(place)
            .ok_or_else(|| unfit("nothing was taken yet that could be countersigned"))?
            .now;
        let person = self.somebody(by)?;
        if reading.countersigned.is_some() {
            return Err(unfit("this reading is countersigned already"));
        }
        if !self.waits_for_countersign(reading) {
            return Err(unfit(
                "a qualified person entered this reading: it needs no countersign",
            ));
        }
        self.may_countersign(person, reading)?;
        Ok(reading)
    }

    /// Whether countersign and going around of a reading come from those who may.
    pub(super) fn vouched(&self, place: &Place, reading: &Reading) -> Result<(), ChangeError> {
        if let Some(sign) = &reading.countersigned {
            self.may_countersign(self.somebody(&sign.by)?, reading)?;
        }
        let unfit = |why: String| ChangeError::Unfit {
            place: place.clone(),
            why,
        };
        if let Some(brought) = &reading.brought {
            brought.stands().map_err(unfit)?;
        }
        let Some(around) = &reading.around else {
            return Ok(());
        };
        let person = self.somebody(&around.by)?;
        if person.role != Role::Qualified {
            return Err(ChangeError::NotAllowed(format!(
                "{} is recorded as {}: only a qualified person takes a reading out of order",
                person.name,
                person.role.name()
            )));
        }
        if place.top == Group::Safe.key() || place.test.is_signature() {
            return Err(unfit("nobody goes around what comes before this".into()));
        }
        reason_stands(&around.reason).map_err(unfit)
    }

    /// Whether an entry may be put back in the name of `by`. What stands there already, or is struck out there, may be; else a
    /// reading, a countersign or a reason comes back only through the person who gave it. An apprentice takes back nothing that
    /// somebody else entered. `done`: in somebody's sitting, at a time; else an entry is only laid in by a qualified person.
    pub(super) fn may_put(
        &self,
        place: &Place,
        entry: Option<&Entry>,
        by: &str,
        done: bool,
    ) -> Result<(), ChangeError> {
        let standing = self.entry(place);
        let plain = |r: &Reading| Reading {
            countersigned: None,
            ..r.clone()
        };
        let refused = |id: &str, what: &str| {
            let name = self.person(id).map_or(id, |p| p.name.as_str());
            Err(ChangeError::NotAllowed(format!(
                "{what} is {name}'s: {name} does that, or a new one is entered; change who is entering first"
            )))
        };
        if let Some(standing) = standing
            && !self.is_qualified(by)
            && standing.now.by != by
            && entry.is_none_or(|e| plain(&e.now) != plain(&standing.now))
        {
            return refused(&standing.now.by, "the reading that stands here");
        }
        let Some(entry) = entry else {
            return Ok(());
        };
        for reading in entry.struck.iter().chain([&entry.now]) {
            self.vouched(place, reading)?;
        }
        let known: Vec<&Reading> = standing
            .into_iter()
            .flat_map(|e| e.struck.iter().chain([&e.now]))
            .collect();
        if known.contains(&&entry.now) || (!done && self.is_qualified(by)) {
            return Ok(());
        }
        if !known.iter().any(|r| plain(r) == plain(&entry.now)) && entry.now.by != by {
            return refused(&entry.now.by, "this reading");
        }
        match &entry.now.countersigned {
            Some(sign) if sign.by != by => refused(&sign.by, "this countersign"),
            _ => Ok(()),
        }
    }

    /// Notes a reading that stood and now stands nowhere.
    pub(super) fn note_taken_back(
        &mut self,
        place: &Place,
        gone: &Entry,
        entry: Option<&Entry>,
        by: &str,
        at: DateTime<FixedOffset>,
    ) {
        let stays = |was: &Reading| {
            let same = |r: &Reading| r.typed == was.typed && r.at == was.at;
            entry.is_some_and(|e| e.struck.iter().chain([&e.now]).any(same))
        };
        // What was struck out goes with it where nothing stands there any more.
        for reading in gone.struck.iter().chain([&gone.now]).filter(|r| !stays(r)) {
            self.taken_back.push(TakenBack {
                place: place.clone(),
                reading: reading.clone(),
                by: by.to_string(),
                at,
            });
        }
    }

    /// Whether somebody may take back what stands at a place, as a false entry: a qualified person, and no confirmation or
    /// signature, which is answered anew instead.
    ///
    /// # Errors
    /// What is in the way.
    pub fn may_take_back(&self, place: &Place, by: &str) -> Result<(), ChangeError> {
        let refused = |why: String| Err(ChangeError::NotAllowed(why));
        if self.entry(place).is_none() {
            return refused(format!("nothing stands at {place}"));
        }
        if place.top == Group::Safe.key() || place.test.is_signature() {
            return refused(format!("{place} isn't taken back: answer it anew"));
        }
        if self.is_qualified(by) {
            return Ok(());
        }
        refused(
            "a qualified person says that an entry is false; change who is entering first".into(),
        )
    }

    fn may_countersign(&self, person: &Person, reading: &Reading) -> Result<(), ChangeError> {
        if person.role != Role::Qualified {
            return Err(ChangeError::NotAllowed(format!(
                "{} is recorded as {}: a qualified person countersigns",
                person.name,
                person.role.name()
            )));
        }
        if person.id == reading.by {
            return Err(ChangeError::NotAllowed(format!(
                "{} entered this reading: somebody else countersigns it",
                person.name
            )));
        }
        Ok(())
    }

    pub(super) fn somebody(&self, id: &str) -> Result<&Person, ChangeError> {
        self.person(id).ok_or_else(|| ChangeError::Unknown {
            what: "person",
            id: id.to_string(),
            known: self.people.iter().map(|p| p.id.clone()).collect(),
        })
    }
}
