//! What is counted and listed of the findings, kept with them: no key waits for all of them to be gone through.

use std::collections::BTreeMap;

use crate::checks::{Finding, Verdict};
use crate::guide::Plan;
use crate::job::Test;

/// Where a finding comes in the list of what is left.
type Rank = (bool, bool, Verdict, usize);

/// Counts of all findings, and the list of what is left. Follows from the findings and the plan alone.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// Findings of each verdict.
    pub verdicts: BTreeMap<Verdict, usize>,
    /// Readings, those not yet taken included; what is worked out isn't one.
    pub readings: usize,
    /// Of them open.
    pub open: usize,
    /// To countersign.
    pub waiting: usize,
    /// That keep the record from being complete.
    pub holding_up: usize,
    /// Signatures that are queried.
    pub unsigned: usize,
    /// Parts whose figures nobody has compared with what is on site.
    pub to_compare: usize,
    /// What is left, with its position among the findings, in order.
    left: Vec<(Rank, usize)>,
}

impl Tally {
    /// Of all findings.
    pub(super) fn of(findings: &[Finding], plan: &Plan) -> Tally {
        let mut out = Tally::default();
        for (i, finding) in findings.iter().enumerate() {
            out.count(finding, true);
            out.left
                .extend(is_left(finding).then(|| (rank(finding, plan), i)));
        }
        out.left.sort_unstable();
        out
    }

    /// Puts a finding in the place of the one before, at the same position.
    pub(super) fn replace(&mut self, at: usize, before: &Finding, now: &Finding, plan: &Plan) {
        self.count(before, false);
        self.count(now, true);
        if is_left(before)
            && let Ok(i) = self.left.binary_search(&(rank(before, plan), at))
        {
            self.left.remove(i);
        }
        if is_left(now)
            && let Err(i) = self.left.binary_search(&(rank(now, plan), at))
        {
            self.left.insert(i, (rank(now, plan), at));
        }
    }

    /// Positions of what is left among the findings, in order.
    pub(super) fn left(&self) -> impl ExactSizeIterator<Item = usize> + '_ {
        self.left.iter().map(|(_, i)| *i)
    }

    /// Whether it counts the same; a verdict that none has any more is no difference.
    pub(super) fn same(&self, other: &Tally) -> bool {
        let some = |t: &Tally| {
            let mut t = t.clone();
            t.verdicts.retain(|_, n| *n > 0);
            t
        };
        some(self) == some(other)
    }

    fn count(&mut self, f: &Finding, more: bool) {
        let step = |count: &mut usize, is: bool| {
            *count = match more {
                true => count.saturating_add(is.into()),
                false => count.saturating_sub(is.into()),
            };
        };
        step(self.verdicts.entry(f.verdict).or_default(), true);
        let reading = !f.place.test.is_derived();
        step(&mut self.readings, reading);
        step(&mut self.open, reading && f.verdict == Verdict::Open);
        step(&mut self.waiting, f.waits_for_countersign);
        step(&mut self.holding_up, f.holds_up());
        step(&mut self.to_compare, f.place.test == Test::Compared);
        let signature = f.place.test.is_signature();
        step(&mut self.unsigned, signature && f.verdict == Verdict::Query);
    }
}

/// Whether somebody has to look at it before leaving.
fn is_left(f: &Finding) -> bool {
    match f.verdict {
        _ if f.waits_for_countersign => true,
        Verdict::Within => false,
        Verdict::Excused => f.is_limitation(),
        _ => true,
    }
}

fn rank(f: &Finding, plan: &Plan) -> Rank {
    (
        !f.verdict.blocks(),
        !f.waits_for_countersign || f.verdict.blocks(),
        f.verdict,
        // Figures to compare come before any reading: limits are made of them.
        match plan.position(&f.place) {
            _ if f.place.test == Test::Compared => 0,
            Some(at) => at + 1,
            None => usize::MAX,
        },
    )
}
