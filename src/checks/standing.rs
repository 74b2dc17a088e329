//! The findings of a job kept up to date: after a change of readings only those are judged again that looked at one of them.
//!
//! What a finding looked at is noted by the readings themselves ([`watch`]), never declared. Whatever else changes, everything
//! is judged again. `tests/standing.rs` holds the outcome against [`judge_all`](super::judge_all) after any row of changes.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

use crate::forms::Forms;
use crate::job::watch::{self, Seen};
use crate::job::{Change, Job, Place, Seat, Test};

use super::shared::Shared;
use super::{Finding, Judge, Laid};

/// What findings of a job rest on; the findings themselves are with whoever shows them.
#[derive(Debug)]
pub struct Standing {
    laid: Arc<Laid>,
    shared: Arc<Shared>,
    units: Vec<Unit>,
    lookers: Lookers,
    /// Looked at to list the owners.
    list: Seen,
    /// Every owner has an address of its own.
    distinct: bool,
}

/// Findings of one owner.
#[derive(Debug)]
struct Unit {
    /// Its address, with any test.
    place: Place,
    /// First of its findings, and how many they are.
    first: usize,
    count: usize,
    seen: Seen,
}

/// Which units may have looked at something, so that not every one has to be asked.
#[derive(Debug, Default)]
struct Lookers {
    /// By the mark of readings.
    readings: HashMap<u32, BTreeSet<usize>>,
    /// By the number of what is shared.
    shared: HashMap<u32, BTreeSet<usize>>,
    /// At more than is told apart.
    everything: BTreeSet<usize>,
}

impl Lookers {
    /// Notes what a unit looked at. What it looked at before and doesn't any more stays: it is asked once too often.
    fn add(&mut self, unit: usize, seen: &Seen) {
        for mark in seen.marks() {
            self.readings.entry(mark).or_default().insert(unit);
        }
        for number in seen.numbers() {
            self.shared.entry(*number).or_default().insert(unit);
        }
        if seen.is_everything() {
            self.everything.insert(unit);
        }
    }

    /// Those that may have looked at any of what changed, in order.
    fn of(&self, changed: &Seen) -> BTreeSet<usize> {
        let mut out = self.everything.clone();
        let of_readings = changed.marks().filter_map(|mark| self.readings.get(&mark));
        let of_shared = changed.numbers().iter().filter_map(|n| self.shared.get(n));
        for units in of_readings.chain(of_shared) {
            out.extend(units);
        }
        out
    }
}

/// What became of findings.
#[derive(Debug, Clone, PartialEq)]
pub enum Again {
    /// Some or all stand elsewhere now.
    Whole,
    /// These are other ones now, each with what it was; all stand where they stood.
    Some(Vec<(usize, Finding)>),
}

impl Standing {
    /// Judges a whole job.
    pub fn of(job: &mut Job, forms: &Forms) -> (Standing, Vec<Finding>) {
        job.mark_readings();
        let job = &*job;
        let mut standing = Standing {
            laid: Arc::new(Laid::of(job, forms)),
            shared: Arc::new(Shared::of(job)),
            units: Vec::new(),
            lookers: Lookers::default(),
            list: Seen::default(),
            distinct: true,
        };
        let mut findings = Vec::new();
        standing.judge_whole(job, forms, &mut findings);
        (standing, findings)
    }

    /// To look at single places, without preparing anything. `job` is the one this was made of, as it is now.
    pub fn judge<'a>(&self, job: &'a Job, forms: &'a Forms) -> Judge<'a> {
        Judge::on(job, forms, Arc::clone(&self.laid), Arc::clone(&self.shared))
    }

    fn judge_whole(&mut self, job: &Job, forms: &Forms, findings: &mut Vec<Finding>) {
        let (seats, list) = watch::watched(|| {
            let mut seats = job.seats();
            seats.extend(job.bare_seats());
            seats
        });
        let judge = self.judge(job, forms);
        let mut known = HashSet::with_capacity(seats.len());
        self.distinct = seats
            .iter()
            .all(|seat| known.insert((seat.top, seat.part.as_deref())));
        self.list = list;
        self.units.clear();
        self.lookers = Lookers::default();
        findings.clear();
        for (i, seat) in seats.iter().enumerate() {
            let first = findings.len();
            let ((), seen) = watch::watched(|| judge.of_seat(seat, findings));
            self.lookers.add(i, &seen);
            self.units.push(Unit {
                place: seat.place(Test::Compared),
                first,
                count: findings.len() - first,
                seen,
            });
        }
    }

    /// Judges again what a change may have altered, which was made in the job meanwhile.
    pub fn again(
        &mut self,
        job: &mut Job,
        forms: &Forms,
        findings: &mut Vec<Finding>,
        change: &Change,
    ) -> Again {
        // Whoever puts the same job in another copy puts it here without marks. After an edit all of it is judged, and marked, again.
        if !job.has_marks() {
            job.mark_readings();
        }
        self.some_again(job, forms, findings, change)
            .unwrap_or_else(|| {
                (*self, *findings) = Standing::of(job, forms);
                Again::Whole
            })
    }

    /// `None` where it can't be told apart.
    fn some_again(
        &mut self,
        job: &Job,
        forms: &Forms,
        findings: &mut Vec<Finding>,
        change: &Change,
    ) -> Option<Again> {
        if !self.distinct || edits(change) {
            return None;
        }
        let mut changed = Seen::default();
        for place in change.places() {
            changed.add(job.seat(place)?.readings.mark(), place.test);
        }
        if changed.is_everything() || self.list.any_of(&changed) {
            return None;
        }
        Arc::get_mut(&mut self.shared)?.spoil(&mut changed.clone());
        let judge = self.judge(job, forms);
        judge.compare_shared(&mut changed);
        let asked = self.lookers.of(&changed);
        let asked = asked.iter().filter_map(|i| Some((*i, self.units.get(*i)?)));
        let hit: Vec<(usize, Seat<'_>)> = asked
            .filter(|(_, unit)| unit.seen.any_of(&changed))
            .map(|(i, unit)| Some((i, job.seat(&unit.place)?)))
            .collect::<Option<_>>()?;
        let made: Vec<(usize, Vec<Finding>, Seen)> = hit
            .iter()
            .map(|(i, seat)| {
                let mut new = Vec::new();
                let ((), seen) = watch::watched(|| judge.of_seat(seat, &mut new));
                (*i, new, seen)
            })
            .collect();
        let mut replaced = Vec::new();
        let mut moved = false;
        // From the last to the first, so that nothing still to be put in has moved.
        for (i, new, seen) in made.into_iter().rev() {
            let unit = self.units.get_mut(i)?;
            self.lookers.add(i, &seen);
            unit.seen = seen;
            let (from, to) = (unit.first, unit.first + unit.count);
            let old = findings.get_mut(from..to)?;
            let same = old.len() == new.len()
                && old
                    .iter()
                    .zip(&new)
                    .all(|(old, new)| old.place == new.place);
            if same {
                for (at, (old, new)) in old.iter_mut().zip(new).enumerate() {
                    if *old != new {
                        replaced.push((from + at, std::mem::replace(old, new)));
                    }
                }
                continue;
            }
            moved = true;
            unit.count = new.len();
            findings.splice(from..to, new);
        }
        if !moved {
            return Some(Again::Some(replaced));
        }
        let mut first = 0;
        for unit in &mut self.units {
            unit.first = first;
            first += unit.count;
        }
        Some(Again::Whole)
    }
}

/// Whether the record itself is edited.
fn edits(change: &Change) -> bool {
    match change {
        Change::Edit(_) => true,
        Change::Together(all) => all.iter().any(edits),
        Change::Keep { .. }
        | Change::Put { .. }
        | Change::Countersign { .. }
        | Change::Issue(_)
        | Change::Settled { .. } => false,
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn what_is_prepared_once_looks_at_no_reading() {
        let forms = Forms::embedded().unwrap();
        let job: Job = crate::job::text::parse(
            "mill-yard.ron",
            include_str!("../../sample-jobs/mill-yard.ron"),
        )
        .unwrap();
        let (_, seen) = watch::watched(|| Laid::of(&job, &forms));
        assert!(seen.is_nothing(), "{seen:?}");
        let (_, seen) = watch::watched(|| Judge::new(&job, &forms).all());
        assert!(!seen.is_nothing());
    }
}
