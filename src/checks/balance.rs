//! Modules of one plane compared with their median: one that is clearly low is named.

use std::collections::HashMap;

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::MissingLimit;
use crate::job::{Array, Branch, Job, Layout, Owner, Seat, Test};

/// Powers kept in each plane, read once for the whole job.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Planes {
    kept: HashMap<String, Plane>,
}

#[derive(Debug, PartialEq)]
struct Plane {
    /// Of each branch that has as many as it has modules, in the order of the array.
    branches: Vec<(usize, Vec<Decimal>)>,
    /// Of all of them together, W.
    median: Option<f64>,
    count: usize,
}

impl Planes {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Planes {
        let mut out = Planes::default();
        for array in &job.arrays {
            let Layout::Branches(list) = &array.layout else {
                continue;
            };
            let branches: Vec<(usize, Vec<Decimal>)> = list
                .iter()
                .enumerate()
                .filter_map(|(i, b)| {
                    let value = b.readings.value(Test::Balance)?;
                    let watts = value.numbers()?.to_vec();
                    (watts.len() == b.units.len()).then_some((i, watts))
                })
                .collect();
            let (median, count) = middle(branches.iter().map(|(_, w)| w.as_slice()));
            out.kept.insert(
                array.id.clone(),
                Plane {
                    branches,
                    median,
                    count,
                },
            );
        }
        out
    }

    /// Median and number of modules of a plane with `watts` at one of its branches.
    fn with(&self, array: &Array, branch: &Branch, watts: &[Decimal]) -> (Option<f64>, usize) {
        let Some(plane) = self.kept.get(array.id.as_str()) else {
            return middle([watts].into_iter());
        };
        let Layout::Branches(list) = &array.layout else {
            return (None, 0);
        };
        let same = |i: usize| list.get(i).is_some_and(|b| b.id == branch.id);
        let kept = plane.branches.iter().find(|(i, _)| same(*i));
        if kept.is_some_and(|(_, w)| w == watts) {
            return (plane.median, plane.count);
        }
        let others = plane
            .branches
            .iter()
            .filter(|(i, _)| !same(*i))
            .map(|(_, w)| w.as_slice());
        middle(others.chain([watts]))
    }
}

fn middle<'w>(all: impl Iterator<Item = &'w [Decimal]>) -> (Option<f64>, usize) {
    let watts: Vec<f64> = all.flatten().map(|w| f64_of(*w)).collect();
    (calc::median(&watts).ok(), watts.len())
}

/// What a module gave, and how that compares with the others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gave {
    /// Power, W.
    pub watts: Decimal,
    /// Within, or a query where it is low or there was too little light to tell.
    pub verdict: Verdict,
}

/// The modules of a branch against the median of their plane.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Balance {
    /// In order along the trunk.
    pub modules: Vec<Gave>,
    /// Median of the plane, W.
    pub median_w: Decimal,
    /// The least that a module should give, % of the median.
    pub least_percent: Decimal,
}

impl Judge<'_> {
    /// The modules of a branch one by one, as they were read; `None` where they can't be compared.
    pub fn balance(&self, array: &Array, branch: &Branch) -> Option<Balance> {
        let low = self.forms.limit("pv/balance-low").ok()?;
        let light = self.forms.limit("pv/balance-light").ok()?;
        let value = branch.readings.value(Test::Balance)?;
        let watts = value.numbers()?;
        if watts.len() != branch.units.len() {
            return None;
        }
        let (median, count) = self.planes().with(array, branch, watts);
        let median = median.filter(|m| count > 1 && *m > 0.0)?;
        let needed = array.module.power_w * light.value / Decimal::ONE_HUNDRED;
        let dark = median < f64_of(needed);
        let modules = watts.iter().map(|w| Gave {
            watts: *w,
            verdict: match calc::is_low_percent(f64_of(*w), median, low.f64()) {
                Ok(None) if !dark => Verdict::Within,
                _ => Verdict::Query,
            },
        });
        Some(Balance {
            modules: modules.collect(),
            median_w: rounded(median, 3)?,
            least_percent: Decimal::ONE_HUNDRED - low.value,
        })
    }
}

impl Judge<'_> {
    /// What each module of a branch gave, in order along the trunk; each a query where they can't be compared, and empty where
    /// nothing was read, or not one number for each.
    pub fn modules(&self, array: &Array, branch: &Branch) -> Vec<Gave> {
        if let Some(balance) = self.balance(array, branch) {
            return balance.modules;
        }
        let value = branch.readings.value(Test::Balance);
        let watts = value.as_ref().and_then(|v| v.numbers()).unwrap_or_default();
        let query = |w: &Decimal| Gave {
            watts: *w,
            verdict: Verdict::Query,
        };
        match watts.len() == branch.units.len() {
            true => watts.iter().map(query).collect(),
            false => Vec::new(),
        }
    }
}

/// What each module has to give.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Branch(_, branch) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let low = judge.forms.limit("pv/balance-low")?;
    let light = judge.forms.limit("pv/balance-light")?;
    Ok(Rule::of(
        Bound::Words(format!("≤ {} % under median", low.value.normalize())),
        format!(
            "power of the {} modules in order along the trunk, against the median of this plane",
            branch.units.len()
        ),
        low,
    )
    .with(light))
}

/// Which modules are low.
pub(super) fn verdict(judge: &Judge<'_>, seat: &Seat<'_>, watts: &[Decimal]) -> Outcome {
    let Owner::Branch(array, branch) = seat.owner else {
        return query("there is no branch here".into());
    };
    match named(judge, array, branch, watts) {
        Ok(outcome) => outcome,
        Err(missing) => query(format!("can't be judged: {missing}")),
    }
}

fn named(
    judge: &Judge<'_>,
    array: &Array,
    branch: &Branch,
    watts: &[Decimal],
) -> Result<Outcome, MissingLimit> {
    let low = judge.forms.limit("pv/balance-low")?;
    let light = judge.forms.limit("pv/balance-light")?;
    let units = branch.units.len();
    if watts.len() != units {
        return Ok(query(format!(
            "{}{} numbers for {units} modules: one for each, in order along the trunk, 0 for one that gives nothing",
            super::incomplete(watts.len(), units),
            watts.len()
        )));
    }
    let (median, count) = judge.planes().with(array, branch, watts);
    let Some(median) = median.filter(|_| count > 1) else {
        return Ok(query(
            "one module alone has nothing to be compared with".into(),
        ));
    };
    let shown = rounded(median, 1).unwrap_or_default().normalize();
    let needed = array.module.power_w * light.value / Decimal::ONE_HUNDRED;
    if median < f64_of(needed) {
        return Ok(query(format!(
            "indicative only: the median {shown} W is under {} % of {} W, too little light to tell modules apart; take it again in more",
            light.value.normalize(),
            array.module.power_w.normalize()
        )));
    }
    let mut words = Vec::new();
    for (i, (unit, watt)) in branch.units.iter().zip(watts).enumerate() {
        if let Ok(Some(below)) = calc::is_low_percent(f64_of(*watt), median, low.f64()) {
            words.push(format!(
                "module {} ({}, inverter {}) gives {} W, {} % under the median",
                i + 1,
                unit.module,
                unit.inverter,
                watt.normalize(),
                rounded(below, 0).unwrap_or_default().normalize()
            ));
        }
    }
    if words.is_empty() {
        return Ok(Outcome::plain(
            Verdict::Within,
            format!(
                "none is more than {} % under the median {shown} W of the {count} modules of this plane",
                low.value.normalize()
            ),
        ));
    }
    Ok(query(format!(
        "{}; median {shown} W of {count}: shade, dirt, a plug not home or a faulty unit",
        words.join("; ")
    )))
}

fn query(why: String) -> Outcome {
    Outcome::plain(Verdict::Query, why)
}
