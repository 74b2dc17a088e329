//! The most that a fuse lets through: its energy falls with the current, so at the limit of its Zs table it is the most.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::cpc::{Conductor, adiabatic};
use super::{Bound, Judge, Rule};
use crate::calc;
use crate::forms::{Limit, MissingLimit};
use crate::job::DeviceStandard;

/// A fuse by its tables of Zs.
pub(super) struct Fuse {
    /// Its standard.
    pub(super) standard: DeviceStandard,
    /// Its rated current, A.
    pub(super) rating_a: Decimal,
}

impl Fuse {
    /// The rule by the lowest energy that a reading of Zs shows, and whether the reading has reserve that would show less;
    /// without a reading, by the time that is allowed. `None` where it is past every limit.
    pub(super) fn worst(
        &self,
        judge: &Judge<'_>,
        zs: Option<Decimal>,
        allowed: &Arc<Limit>,
        conductor: &Conductor,
    ) -> Result<Option<(Rule, bool)>, MissingLimit> {
        let Some(zs) = zs else {
            let rule = self.at_limit(judge, allowed, conductor)?;
            return Ok(rule.map(|(rule, _)| (rule, false)));
        };
        let site = judge.forms.limit("zs/site-factor")?;
        let mut best: Option<(Rule, bool)> = None;
        for id in ["time/tn/final", "time/tn/distribution"] {
            let Ok(Some((rule, highest))) = self.at_limit(judge, judge.forms.limit(id)?, conductor)
            else {
                continue;
            };
            let cold = highest * site.value;
            if zs > cold {
                continue;
            }
            let less = match (&best, &rule.bound) {
                (None, _) => true,
                (Some((known, _)), Bound::AtLeast(x)) => {
                    matches!(known.bound, Bound::AtLeast(y) if *x < y)
                }
                _ => false,
            };
            if less {
                // Nearly at the limit the bound is what flows; well below it the fuse is quicker.
                let has_reserve = zs < cold * site.value;
                best = Some((rule.with(site), has_reserve));
            }
        }
        if best.is_none() && self.at_limit(judge, allowed, conductor)?.is_none() {
            return Err(MissingLimit(format!("zs of a {} A fuse", self.rating_a)));
        }
        Ok(best)
    }

    /// √(Ia² t) / k at the limit of the table for a time, with that limit.
    pub(super) fn at_limit(
        &self,
        judge: &Judge<'_>,
        time: &Arc<Limit>,
        conductor: &Conductor,
    ) -> Result<Option<(Rule, Decimal)>, MissingLimit> {
        let id = format!(
            "zs/{}/{}s/{}",
            self.standard.key(),
            time.value.normalize(),
            self.rating_a.normalize()
        );
        let row = judge.forms.limit(&id)?;
        let cmin = judge.forms.limit("zs/cmin")?;
        let volts = judge.forms.limit("supply/u0")?;
        let Ok(ka) = calc::design_fault_current_ka(cmin.f64(), volts.f64(), row.f64()) else {
            return Ok(None);
        };
        let how = format!(
            "the most a {} A fuse to {} lets through, at the limit of its table, {} Ω in {} s",
            self.rating_a.normalize(),
            self.standard.name(),
            row.value,
            time.value.normalize()
        );
        let rule = adiabatic((ka * 1000.0, &how), time.f64(), time, conductor)?;
        Ok(Some((rule.with(row).with(cmin), row.value)))
    }

    /// Least size of an earthing conductor of copper behind this fuse, by the energy at a time of 5 s and the loop read there.
    pub(super) fn earthing(
        &self,
        judge: &Judge<'_>,
        mm2: Decimal,
        ze: Decimal,
    ) -> Result<Option<Rule>, MissingLimit> {
        let conductor = Conductor {
            mm2,
            k: judge.forms.limit("k/copper-70-separate")?.clone(),
            armour: None,
        };
        let allowed = judge.forms.limit("time/tn/distribution")?;
        let worst = self.worst(judge, Some(ze), allowed, &conductor)?;
        Ok(worst.map(|(rule, _)| rule))
    }
}
