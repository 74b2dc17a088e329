//! Going around what a step waits for: where it may be done at all, with a reason.

use std::fmt;

use crate::checks::Verdict;
use crate::job::Place;
use crate::job::owner::Kind;
use crate::job::vouch::safety_hangs_on;

use super::{Gates, Plan, Step, Verdicts};

/// Why nobody may go around what a step waits for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NoWay {
    /// Nothing is in the way.
    Clear,
    /// The step says itself that something is safe, or is a signature.
    Itself,
    /// Safety hangs on a place that is in the way.
    Safety(Place),
    /// A dead test or inspection failed, and the step is live work.
    Failed(Place),
    /// What is worked out from the record holds back energising, and the step is live work.
    Unfit(Place),
}

impl fmt::Display for NoWay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoWay::Clear => f.write_str("nothing is in the way: it needs no reason"),
            NoWay::Itself => f.write_str("nobody goes around what comes before this one"),
            NoWay::Safety(place) => {
                write!(f, "safety hangs on {place}: nobody goes around it")
            }
            NoWay::Failed(place) => {
                write!(f, "{place} is outside: nobody works live over it")
            }
            NoWay::Unfit(place) => {
                write!(
                    f,
                    "{place} forbids power in the record: nobody works live over it"
                )
            }
        }
    }
}

impl Plan {
    /// What step `i` waits for, the first of it, where a qualified person may go around it with a reason.
    ///
    /// Never around what safety hangs on: a confirmation, polarity of the supply or of d.c., a setting of the grid profile; save that
    /// a reading which isn't outside may be put right where the proof that it was dead, or without inverters, is only out of date;
    /// never to live work over a failed dead test or a device that is unfit for power; and never to a confirmation or a
    /// signature.
    ///
    /// # Errors
    /// Why nobody may.
    pub fn way_around(&self, i: usize, verdicts: &Verdicts) -> Result<Place, NoWay> {
        self.way_behind(i, verdicts, &Gates::of(self, verdicts))
    }

    /// As [`way_around`](Self::way_around), where the gates are at hand.
    ///
    /// # Errors
    /// Why nobody may.
    pub fn way_behind(&self, i: usize, verdicts: &Verdicts, gates: &Gates) -> Result<Place, NoWay> {
        let first = self.waits_behind(i, verdicts, gates).ok_or(NoWay::Clear)?;
        let step = self.steps.get(i).ok_or(NoWay::Clear)?;
        if matches!(step.kind, Kind::Safe | Kind::Sign) {
            return Err(NoWay::Itself);
        }
        let live = self.is_live(step.stage);
        let corrects =
            verdicts.has_figure(&step.place) && verdicts.of(&step.place) != Verdict::Outside;
        for at in self.obstacles(i, verdicts, gates) {
            let Some(obstacle) = self.steps.get(at) else {
                continue;
            };
            // What was typed may be put right while nothing is measured: the reading stays in doubt, with the reason.
            if corrects && !self.holds_up(at, verdicts) && verdicts.is_stale(&obstacle.place) {
                continue;
            }
            if safety_hangs_on(&obstacle.place) {
                return Err(NoWay::Safety(obstacle.place.clone()));
            }
            let failed = verdicts.of(&obstacle.place) == Verdict::Outside;
            if live && failed && !self.is_live(obstacle.stage) {
                return Err(NoWay::Failed(obstacle.place.clone()));
            }
        }
        match verdicts.unfit_for_power(&self.energised).filter(|_| live) {
            Some(unfit) => Err(NoWay::Unfit(unfit)),
            None => Ok(first),
        }
    }

    /// Every step that step `i` waits for, in order; to energise and to sign wait for all that comes before them.
    pub fn held_up_by(&self, i: usize, verdicts: &Verdicts, gates: &Gates) -> Vec<usize> {
        let mut out = self.obstacles(i, verdicts, gates);
        if self.steps.get(i).is_some_and(Step::waits_for_everything) {
            out.extend(gates.all_before(i));
            out.sort_unstable();
            out.dedup();
        }
        out
    }

    /// Everything that step `i` waits for, in order.
    fn obstacles(&self, i: usize, verdicts: &Verdicts, gates: &Gates) -> Vec<usize> {
        let Some(step) = self.steps.get(i) else {
            return Vec::new();
        };
        let before = self.after.get(step.stage).into_iter().flatten();
        let mut out: Vec<usize> = before.flat_map(|stage| gates.all_of(*stage)).collect();
        out.extend(self.unconfirmed(i, step, verdicts));
        let own = step.needs.iter();
        let own = own.filter_map(|t| self.position(&step.place.with(*t)));
        out.extend(own.filter(|n| self.blocks(*n, verdicts)));
        out.sort_unstable();
        out.dedup();
        out
    }
}
