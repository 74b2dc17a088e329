//! What keeps each stage from being closed, in order, so that neither a step nor a key has to go through all of them.

use std::collections::BTreeSet;

use super::{Plan, Verdicts};
use crate::job::Place;

/// Steps of a plan by what is still to be done at them. Follows from the plan and the verdicts alone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Gates {
    /// Of each stage, steps that keep it from being closed, by rank.
    holding_up: Vec<BTreeSet<(bool, usize)>>,
    /// Required and open.
    open: BTreeSet<usize>,
    to_countersign: BTreeSet<usize>,
}

impl Gates {
    /// Of a whole plan.
    pub fn of(plan: &Plan, verdicts: &Verdicts) -> Gates {
        let mut out = Gates {
            holding_up: plan.stages.iter().map(|_| BTreeSet::new()).collect(),
            ..Gates::default()
        };
        for i in 0..plan.steps.len() {
            out.look_at(i, plan, verdicts);
        }
        out
    }

    /// Looks at a place again, whose verdict changed.
    pub fn again(&mut self, place: &Place, plan: &Plan, verdicts: &Verdicts) {
        if let Some(i) = plan.position(place) {
            self.look_at(i, plan, verdicts);
        }
    }

    fn look_at(&mut self, i: usize, plan: &Plan, verdicts: &Verdicts) {
        let Some(step) = plan.steps.get(i) else {
            return;
        };
        if let Some(stage) = self.holding_up.get_mut(step.stage) {
            stage.remove(&(false, i));
            stage.remove(&(true, i));
            if plan.is_holding_up(i, verdicts) {
                stage.insert(plan.rank(i, verdicts));
            }
        }
        let put = |set: &mut BTreeSet<usize>, is: bool| {
            if is {
                set.insert(i);
            } else {
                set.remove(&i);
            }
        };
        put(&mut self.open, plan.is_open(i, verdicts));
        let waits = verdicts.waits_for_countersign(&step.place);
        put(&mut self.to_countersign, waits);
    }

    /// The first step of a stage that keeps it from being closed.
    pub(super) fn first_of(&self, stage: usize) -> Option<usize> {
        self.holding_up.get(stage)?.first().map(|(_, i)| *i)
    }

    /// The first step before `i` that keeps the record from being complete.
    pub(super) fn first_before(&self, i: usize) -> Option<usize> {
        let of_stage = |stage: &BTreeSet<(bool, usize)>| {
            let of_rank = |later| stage.range((later, 0)..(later, i)).next().copied();
            of_rank(false).or_else(|| of_rank(true))
        };
        let first = self.holding_up.iter().filter_map(of_stage).min();
        first.map(|(_, i)| i)
    }

    /// All steps of a stage that keep it from being closed.
    pub(super) fn all_of(&self, stage: usize) -> impl Iterator<Item = usize> + '_ {
        let all = self.holding_up.get(stage).into_iter().flatten();
        all.map(|(_, i)| *i)
    }

    /// All steps before `i` that keep the record from being complete.
    pub(super) fn all_before(&self, i: usize) -> impl Iterator<Item = usize> + '_ {
        let all = self.holding_up.iter().flatten();
        all.map(|(_, at)| *at).filter(move |at| *at < i)
    }

    /// The next open step from `from` on.
    pub(super) fn next_open(&self, from: usize) -> Option<usize> {
        self.open.range(from..).next().copied()
    }

    /// The next step to countersign from `from` on, then from the beginning.
    pub fn next_to_countersign(&self, from: usize) -> Option<usize> {
        let mut round = self.to_countersign.range(from..);
        let next = round.next().or_else(|| self.to_countersign.first());
        next.copied()
    }
}
