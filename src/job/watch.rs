//! What is looked at while something is worked out, so that it needn't be worked out again before one of that changes.
//!
//! Readings can be got at only through [`Readings`](super::Readings), and each of its accessors notes here what it was asked
//! for. Nobody has to remember to say what a check depends on, and nobody can forget it. Where nothing is watched, nothing
//! is noted.

use std::cell::RefCell;
use std::collections::HashMap;

use super::test::Test;

/// Tests of one owner, a bit each.
type Tests = u128;

// One bit for each test.
const _: () = assert!(Test::ALL.len() <= Tests::BITS as usize);

/// What was looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Seen {
    /// Tests by the mark of the readings they are in, in the order of the marks.
    readings: Vec<(u32, Tests)>,
    /// Shared results by their number.
    shared: Vec<u32>,
    /// More than can be told apart.
    everything: bool,
}

impl Seen {
    /// Whether any reading of `changed` was looked at.
    pub fn any_of(&self, changed: &Seen) -> bool {
        let looked = |mark: &u32| {
            // Most of what is asked looked at another board.
            let (first, last) = (self.readings.first()?, self.readings.last()?);
            if *mark < first.0 || *mark > last.0 {
                return None;
            }
            let at = self.readings.binary_search_by_key(mark, |(m, _)| *m);
            self.readings.get(at.ok()?)
        };
        let reads = || {
            let mut changed = changed.readings.iter();
            changed.any(|(mark, tests)| looked(mark).is_some_and(|(_, mine)| mine & tests != 0))
        };
        let shares = || self.shared.iter().any(|n| changed.shared.contains(n));
        self.everything || changed.everything || reads() || shares()
    }

    /// Whether nothing was looked at that a change of readings could alter.
    pub fn is_nothing(&self) -> bool {
        *self == Seen::default()
    }

    /// Adds one reading.
    pub fn add(&mut self, mark: u32, test: Test) {
        match self.readings.binary_search_by_key(&mark, |(m, _)| *m) {
            Ok(at) => {
                if let Some((_, tests)) = self.readings.get_mut(at) {
                    *tests |= bit(test);
                }
            }
            Err(at) => self.readings.insert(at, (mark, bit(test))),
        }
    }

    /// Marks of the readings that were looked at.
    pub fn marks(&self) -> impl Iterator<Item = u32> + '_ {
        self.readings.iter().map(|(mark, _)| *mark)
    }

    /// Numbers of the shared results that were used.
    pub fn numbers(&self) -> &[u32] {
        &self.shared
    }

    /// Whether more was looked at than is told apart.
    pub fn is_everything(&self) -> bool {
        self.everything
    }

    /// Adds a shared result.
    pub fn add_shared(&mut self, number: u32) {
        self.shared.push(number);
    }
}

#[derive(Default)]
struct Notes {
    readings: HashMap<u32, Tests>,
    shared: Vec<u32>,
    everything: bool,
}

thread_local! {
    /// One for each [`watched`] that runs on this thread, the innermost last.
    static NOTES: RefCell<Vec<Notes>> = const { RefCell::new(Vec::new()) };
}

fn bit(test: Test) -> Tests {
    1 << (test as u32)
}

fn note(what: impl FnOnce(&mut Notes)) {
    NOTES.with_borrow_mut(|all| {
        if let Some(notes) = all.last_mut() {
            what(notes);
        }
    });
}

/// A test of readings with a mark was looked at, taken or not.
pub(super) fn one(mark: u32, test: Test) {
    note(|notes| *notes.readings.entry(mark).or_default() |= bit(test));
}

/// All readings with a mark were looked at.
pub(super) fn whole(mark: u32) {
    note(|notes| *notes.readings.entry(mark).or_default() = Tests::MAX);
}

/// More was looked at than is worth telling apart.
pub fn everything() {
    note(|notes| notes.everything = true);
}

/// A shared result was used, which is watched by itself.
pub fn shared(number: u32) {
    note(|notes| {
        if !notes.shared.contains(&number) {
            notes.shared.push(number);
        }
    });
}

/// Takes the innermost notes away also where the work fails by a fault of the program.
struct Watching;

impl Drop for Watching {
    fn drop(&mut self) {
        NOTES.with_borrow_mut(Vec::pop);
    }
}

/// Works something out, and returns what was looked at for it. What is worked out inside of that by itself notes for itself.
pub fn watched<T>(work: impl FnOnce() -> T) -> (T, Seen) {
    NOTES.with_borrow_mut(|all| all.push(Notes::default()));
    let watching = Watching;
    let made = work();
    let notes = NOTES.with_borrow_mut(|all| all.last_mut().map(std::mem::take));
    drop(watching);
    let notes = notes.unwrap_or_else(|| Notes {
        everything: true,
        ..Notes::default()
    });
    let mut readings: Vec<(u32, Tests)> = notes.readings.into_iter().collect();
    readings.sort_unstable_by_key(|(mark, _)| *mark);
    let seen = Seen {
        readings,
        shared: notes.shared,
        everything: notes.everything,
    };
    (made, seen)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::super::reading::{Reading, Readings};
    use super::*;

    fn marked(mark: u32) -> Readings {
        let mut out = Readings::default();
        out.keep(
            Test::Zs,
            Reading {
                typed: "0.4".into(),
                unit: Test::Zs.unit(),
                by: "ab".into(),
                at: chrono::DateTime::parse_from_rfc3339("2026-06-19T09:00:00+01:00").unwrap(),
                instrument: None,
                countersigned: None,
                around: None,
                brought: None,
            },
        );
        out.set_mark(mark);
        out
    }

    fn only(mark: u32, test: Test) -> Seen {
        let mut out = Seen::default();
        out.add(mark, test);
        out
    }

    #[test]
    fn whatever_is_asked_of_readings_is_noted() {
        let readings = marked(7);
        let other = marked(8);
        let looks: [(&str, &dyn Fn() -> bool, bool); 8] = [
            ("get", &|| readings.get(Test::Zs).is_some(), true),
            ("value", &|| readings.value(Test::Zs).is_some(), true),
            ("among", &|| readings.among(&[Test::Zs]).count() == 1, true),
            ("a copy", &|| readings.clone().get(Test::Zs).is_some(), true),
            ("iter", &|| readings.iter().count() == 1, false),
            ("is_empty", &|| !readings.is_empty(), false),
            ("==", &|| readings == other, false),
            (
                "serialize",
                &|| serde_json::to_string(&readings).is_ok(),
                false,
            ),
        ];
        for (what, look, one) in looks {
            let (found, seen) = watched(look);
            assert!(found, "{what}");
            assert!(seen.any_of(&only(7, Test::Zs)), "{what}");
            assert!(!seen.any_of(&only(9, Test::Zs)), "{what}");
            // What isn't taken counts as well.
            assert_eq!(seen.any_of(&only(7, Test::Ze)), !one, "{what}");
        }
    }

    #[test]
    fn what_is_shared_stands_for_what_it_was_made_of() {
        let readings = marked(7);
        let (inner, seen) = watched(|| {
            shared(3);
            watched(|| readings.get(Test::Zs).is_some()).1
        });
        assert!(inner.any_of(&only(7, Test::Zs)));
        assert!(!seen.any_of(&only(7, Test::Zs)));
        let mut changed = Seen::default();
        assert!(!seen.any_of(&changed));
        changed.add_shared(3);
        assert!(seen.any_of(&changed));
        let ((), all) = watched(everything);
        assert!(all.any_of(&Seen::default()) && !all.is_nothing());
    }
}
