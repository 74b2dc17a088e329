//! The ordered steps for a job: what comes when, what it waits for, what comes next.
//!
//! The order and the wording are data (`forms/steps.ron`); this room only lays them over the job.

use std::collections::HashMap;

use crate::checks::{Finding, Verdict};
use crate::forms::{Forms, Stage, StepText};
use crate::job::owner::Kind;
use crate::job::{Job, Need, Place, Test};

/// One step of the walk.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Where.
    pub place: Place,
    /// Kind of owner, for the wording.
    pub kind: Kind,
    /// Which stage it belongs to, an index into the forms' stages.
    pub stage: usize,
    /// Whether the record is complete without it.
    pub need: Need,
    /// Owner in words.
    pub title: String,
}

/// All steps of a job, in order.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Plan {
    steps: Vec<Step>,
    index: HashMap<Place, usize>,
    /// Positions of the confirmations that later steps wait for.
    confirmations: Vec<usize>,
}

impl Plan {
    /// Lays the order of work over a job.
    pub fn new(job: &Job, forms: &Forms) -> Plan {
        let seats = job.seats();
        let mut steps = Vec::new();
        for (stage, rounds) in forms.walk().stages.iter().map(|s| &s.rounds).enumerate() {
            for round in rounds {
                for seat in seats
                    .iter()
                    .filter(|s| round.visits.contains(&s.owner.kind()))
                {
                    let wanted = job.wanted(seat.owner);
                    for text in &round.steps {
                        let Some((_, need)) = wanted.iter().find(|(t, _)| *t == text.test) else {
                            continue;
                        };
                        steps.push(Step {
                            place: seat.place(text.test),
                            kind: seat.owner.kind(),
                            stage,
                            need: *need,
                            title: seat.title(),
                        });
                    }
                }
            }
        }
        let index = steps
            .iter()
            .enumerate()
            .map(|(i, s)| (s.place.clone(), i))
            .collect();
        let confirmations = steps
            .iter()
            .enumerate()
            .filter(|(_, s)| s.kind == Kind::Safe)
            .map(|(i, _)| i)
            .collect();
        Plan {
            steps,
            index,
            confirmations,
        }
    }

    /// The steps.
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Where a place comes in the order.
    pub fn position(&self, place: &Place) -> Option<usize> {
        self.index.get(place).copied()
    }

    /// The first step that can be taken now and is open, from `from` on, then from the beginning.
    /// Where every open step waits for something, the first of them.
    pub fn next_open(&self, from: usize, verdicts: &Verdicts) -> Option<usize> {
        let n = self.steps.len();
        let mut waiting = None;
        for i in (from..n).chain(0..from.min(n)) {
            let Some(step) = self.steps.get(i) else {
                continue;
            };
            if step.need == Need::Required && verdicts.of(&step.place) == Verdict::Open {
                if self.waits_for(i, verdicts).is_none() {
                    return Some(i);
                }
                waiting = waiting.or(Some(i));
            }
        }
        waiting
    }

    /// What step `i` waits for: an earlier confirmation that isn't in order, or, before anything is made live,
    /// whatever of the stages before is open or outside. `None` when it may be taken now.
    pub fn waits_for(&self, i: usize, verdicts: &Verdicts) -> Option<Place> {
        let step = self.steps.get(i)?;
        let blocks = |e: &Step| verdicts.of(&e.place).blocks();
        if step.place.test == Test::Energise {
            let earlier = self.steps.get(..i)?;
            return earlier
                .iter()
                .find(|e| e.need == Need::Required && blocks(e))
                .map(|e| e.place.clone());
        }
        self.confirmations
            .iter()
            .filter(|c| **c < i)
            .filter_map(|c| self.steps.get(*c))
            .find(|e| blocks(e))
            .map(|e| e.place.clone())
    }
}

/// Stage and wording of a step.
pub fn wording<'a>(forms: &'a Forms, step: &Step) -> Option<(&'a Stage, &'a StepText)> {
    let stage = forms.walk().stages.get(step.stage)?;
    let text = forms.walk().step(step.kind, step.place.test)?;
    Some((stage, text))
}

/// Verdicts by place.
#[derive(Debug, Clone, Default)]
pub struct Verdicts(HashMap<Place, Verdict>);

impl Verdicts {
    /// Of a whole job.
    pub fn new(findings: &[Finding]) -> Verdicts {
        Verdicts(
            findings
                .iter()
                .map(|f| (f.place.clone(), f.verdict))
                .collect(),
        )
    }

    /// The verdict of a place; open where nothing is known of it.
    pub fn of(&self, place: &Place) -> Verdict {
        self.0.get(place).copied().unwrap_or(Verdict::Open)
    }
}

/// Whether a record may be signed off: nothing outside, nothing open.
pub fn is_complete(findings: &[Finding]) -> bool {
    !findings.iter().any(|f| f.verdict.blocks())
}
