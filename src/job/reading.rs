//! Readings as recorded, with their corrections.

use std::collections::BTreeMap;
use std::fmt;

use chrono::{DateTime, FixedOffset};
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::brought::Brought;
use super::place::Place;
use super::test::Test;
use super::unit::Unit;
use super::value::Value;
use super::vouch::{Around, Countersign};
use super::watch;

/// One reading as it was typed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What was typed, digits and all.
    pub typed: String,
    /// Unit it was typed in: that of the test.
    pub unit: Unit,
    /// Id of the person who entered it.
    pub by: String,
    /// When it was entered.
    pub at: DateTime<FixedOffset>,
    /// Id of the instrument it was taken with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instrument: Option<String>,
    /// A qualified person's countersign, where an apprentice entered it; `None` while it waits, or where it needs none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub countersigned: Option<Countersign>,
    /// Why it was taken before its turn; `None` where it was not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub around: Option<Around>,
    /// The file it was brought in from; `None` where somebody typed it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub brought: Option<Brought>,
}

impl Reading {
    /// Its meaning for `test`.
    ///
    /// # Errors
    /// Why it can't be read, for a reading edited by hand; see [`Value::parse`].
    pub fn value(&self, test: Test) -> Result<Value, String> {
        Value::parse(test.answer(), &self.typed)
    }
}

/// The reading that stands, and those it replaced.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// The reading that stands.
    pub now: Reading,
    /// Earlier readings, oldest first, struck out but legible.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub struck: Vec<Reading>,
}

/// A reading that was taken back: it stands nowhere any more, and isn't lost.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenBack {
    /// Where it stood.
    pub place: Place,
    /// As it stood.
    pub reading: Reading,
    /// Id of who took it back.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// All readings of one owner, by test. Whoever looks at one is noted in [`watch`].
#[derive(Debug, Clone, Default)]
pub struct Readings {
    taken: BTreeMap<Test, Entry>,
    /// Tells them apart from those of other owners, for [`watch`]; 0 where nobody marked them. No part of the record.
    mark: u32,
}

/// Readings of a part that takes none.
pub(super) static NO_READINGS: Readings = Readings::new();

impl PartialEq for Readings {
    fn eq(&self, other: &Self) -> bool {
        self.all() == other.all()
    }
}

impl Eq for Readings {}

impl Serialize for Readings {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        self.all().serialize(serializer)
    }
}

impl Readings {
    /// Those of what nothing was read at.
    pub(super) const NONE: &'static Readings = &Readings::new();

    const fn new() -> Readings {
        Readings {
            taken: BTreeMap::new(),
            mark: 0,
        }
    }

    fn all(&self) -> &BTreeMap<Test, Entry> {
        watch::whole(self.mark);
        &self.taken
    }

    /// What tells them apart from those of other owners; see [`Job::mark_readings`](super::Job::mark_readings).
    pub(crate) fn mark(&self) -> u32 {
        self.mark
    }

    pub(super) fn set_mark(&mut self, mark: u32) {
        self.mark = mark;
    }

    /// Whether nothing has been taken.
    pub fn is_empty(&self) -> bool {
        self.all().is_empty()
    }

    /// The entry of a test.
    pub fn get(&self, test: Test) -> Option<&Entry> {
        watch::one(self.mark, test);
        self.taken.get(&test)
    }

    /// The meaning of the reading that stands; `None` where nothing (readable) was taken.
    pub fn value(&self, test: Test) -> Option<Value> {
        self.get(test).and_then(|e| e.now.value(test).ok())
    }

    /// Whether what stands is a reading: not open, unreadable, a limitation or not applicable.
    pub fn is_measured(&self, test: Test) -> bool {
        self.value(test).is_some_and(|v| !v.is_excused())
    }

    /// Records a reading; one that stood before is struck out, not lost.
    pub fn keep(&mut self, test: Test, reading: Reading) {
        match self.taken.get_mut(&test) {
            Some(entry) => {
                let old = std::mem::replace(&mut entry.now, reading);
                entry.struck.push(old);
            }
            None => {
                self.taken.insert(
                    test,
                    Entry {
                        now: reading,
                        struck: Vec::new(),
                    },
                );
            }
        }
    }

    /// Puts an entry back as it was, or takes it away. For undo and redo.
    pub fn put(&mut self, test: Test, entry: Option<Entry>) {
        match entry {
            Some(entry) => {
                self.taken.insert(test, entry);
            }
            None => {
                self.taken.remove(&test);
            }
        }
    }

    /// Every entry, in the order of [`Test`].
    pub fn iter(&self) -> impl Iterator<Item = (Test, &Entry)> {
        self.all().iter().map(|(t, e)| (*t, e))
    }

    /// Entries of some tests, in the order of `tests`; the others aren't looked at.
    pub(crate) fn among<'a>(
        &'a self,
        tests: &'a [Test],
    ) -> impl Iterator<Item = (Test, &'a Entry)> + 'a {
        tests
            .iter()
            .filter_map(|test| Some((*test, self.get(*test)?)))
    }
}

impl<'de> Deserialize<'de> for Readings {
    /// Refuses a test that is given twice, which a plain map would silently take last.
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Strict;
        impl<'de> Visitor<'de> for Strict {
            type Value = Readings;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map from test to reading, such as {\"zs\": (now: (…))}")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Readings, A::Error> {
                let mut out = BTreeMap::new();
                while let Some(test) = map.next_key::<Test>()? {
                    let entry: Entry = map.next_value()?;
                    if test.is_derived() {
                        return Err(serde::de::Error::custom(format!(
                            "`{test}` is worked out by the program and can't be entered: remove it"
                        )));
                    }
                    if out.insert(test, entry).is_some() {
                        return Err(serde::de::Error::custom(format!(
                            "test `{test}` is given twice: keep one"
                        )));
                    }
                }
                Ok(Readings {
                    taken: out,
                    mark: 0,
                })
            }
        }
        deserializer.deserialize_map(Strict)
    }
}
