//! Meters and current transformers: do the powers of each state add up, and if not, what is turned or swapped.

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc::{self, CalcError, Change, Fault, Powers, State, Tolerance};
use crate::forms::MissingLimit;
use crate::job::{Existing, Job, Lines, Phases, Test};

const STATES: [(Test, State); 3] = [
    (Test::CtIdle, State::Idle),
    (Test::CtSurplus, State::Surplus),
    (Test::CtCharging, State::Charging),
];

const UNEXPLAINED: &str = "no turned or swapped transformer explains it: look for a load or source that no meter sees, or a slip of typing";

/// What is read, in the order it is typed: what isn't there is left out.
pub fn order(job: &Job) -> Vec<&'static str> {
    let mut out = vec!["grid"];
    if !job.arrays.is_empty() {
        out.push("PV");
    }
    if !job.storage.is_empty() {
        out.push("battery");
    }
    out.push("load");
    out
}

fn powers(job: &Job, numbers: &[Decimal]) -> Option<Powers> {
    let mut left = numbers.iter().map(|n| f64_of(*n));
    let grid = left.next()?;
    let pv = match job.arrays.is_empty() {
        true => None,
        false => Some(left.next()?),
    };
    let battery = match job.storage.is_empty() {
        true => None,
        false => Some(left.next()?),
    };
    let load = left.next()?;
    left.next().is_none().then_some(Powers {
        grid,
        pv,
        battery,
        load,
    })
}

/// What the powers of a state come to, W.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeterBalance {
    /// Everything that flows to the load, added up.
    pub sum: Decimal,
    /// The sum less the load.
    pub off: Decimal,
    /// How far they may be apart; `None` where the files don't say.
    pub allowed: Option<Decimal>,
}

impl Judge<'_> {
    /// What the powers of a state come to, typed in the order of [`order`]; `None` where there are too few or too many.
    pub fn transformer_balance(&self, numbers: &[Decimal]) -> Option<MeterBalance> {
        let shown = powers(self.job, numbers)?;
        let allowed = tolerance(self)
            .ok()
            .and_then(|t| calc::allowed_w(&shown, t).ok());
        Some(MeterBalance {
            sum: rounded(shown.sum(), 1)?.normalize(),
            off: rounded(shown.sum() - shown.load, 1)?.normalize(),
            allowed: allowed.and_then(|w| rounded(w, 1)).map(|w| w.normalize()),
        })
    }
}

fn tolerance(judge: &Judge<'_>) -> Result<Tolerance, MissingLimit> {
    Ok(Tolerance {
        percent: judge.forms.limit("ct/balance")?.f64(),
        floor_w: judge.forms.limit("ct/floor")?.f64(),
    })
}

/// What a state has to show.
pub(super) fn rule(judge: &Judge<'_>, test: Test) -> Ruled {
    let share = judge.forms.limit("ct/balance")?;
    let floor = judge.forms.limit("ct/floor")?;
    let order = order(judge.job);
    let sources = order.len().saturating_sub(1);
    let sum: Vec<&str> = order.iter().copied().take(sources).collect();
    let signs = match test {
        Test::CtIdle => "load above zero, all of it from the grid, PV about 0",
        Test::CtSurplus => "PV above load, grid below zero",
        _ => "battery below zero",
    };
    let before = match judge.job.grid.existing.is_empty() {
        true => "",
        false => "; what was there before is off at its isolator, no meter here shows it",
    };
    Ok(Rule::of(
        Bound::Words(format!(
            "sum off ≤ {} % + {} W",
            share.value.normalize(),
            floor.value.normalize()
        )),
        format!(
            "{} = load; {signs}{before}; typed in the order {}, W; import, generating, discharging and load above zero",
            sum.join(" + "),
            order.join(" ")
        ),
        share,
    )
    .with(floor)
    .expecting(Some(format!("{} W: {signs}{before}", order.join(" ")))))
}

/// Whether a state adds up; where it doesn't, what would explain it together with the other states.
pub(super) fn verdict(judge: &Judge<'_>, test: Test, numbers: &[Decimal]) -> Outcome {
    match judged(judge, test, numbers) {
        Ok(outcome) => outcome,
        Err(why) => Outcome::plain(Verdict::Query, format!("can't be judged: {why}")),
    }
}

fn judged(judge: &Judge<'_>, test: Test, numbers: &[Decimal]) -> Result<Outcome, String> {
    let order = order(judge.job);
    let Some(shown) = powers(judge.job, numbers) else {
        return Ok(Outcome::plain(
            Verdict::Query,
            format!(
                "{}{} of {} numbers: they are wanted in the order {}",
                super::incomplete(numbers.len(), order.len()),
                numbers.len(),
                order.len(),
                order.join(" ")
            ),
        ));
    };
    let Some((_, state)) = STATES.iter().copied().find(|(t, _)| *t == test) else {
        return Err("no such state".into());
    };
    let tolerance = tolerance(judge).map_err(|e| e.to_string())?;
    let said = |e: CalcError| e.to_string();
    let w = |x: f64| rounded(x, 1).unwrap_or_default().normalize();
    let Some(fault) = calc::state_fault(state, &shown, tolerance).map_err(said)? else {
        let allowed = calc::allowed_w(&shown, tolerance).map_err(said)?;
        return Ok(Outcome::plain(
            Verdict::Within,
            format!(
                "sum {} W against load {} W, within {} W, and the signs are right",
                w(shown.sum()),
                w(shown.load),
                w(allowed)
            ),
        ));
    };
    let what = match fault {
        Fault::Unclear(why) => {
            return Ok(Outcome::plain(
                Verdict::Query,
                format!("says nothing: {why}"),
            ));
        }
        Fault::Sign(why) => why.to_string(),
        Fault::Balance {
            sum_w,
            load_w,
            allowed_w,
        } => format!(
            "the sum {} W and the load {} W are more than {} W apart",
            w(sum_w),
            w(load_w),
            w(allowed_w)
        ),
    };
    let mut states = vec![(state, shown)];
    for (other, state) in STATES.iter().filter(|(t, _)| *t != test) {
        let kept = judge.job.grid.readings.value(*other);
        if let Some(p) = kept.as_ref().and_then(|v| powers(judge.job, v.numbers()?)) {
            states.push((*state, p));
        }
    }
    let found = calc::explanations(&states, tolerance).map_err(said)?;
    let causes: Vec<String> = found.iter().map(words).collect();
    let unseen = unseen(judge, &shown, tolerance).map_err(said)?;
    if let (Some(unseen), true) = (&unseen, causes.is_empty()) {
        return Ok(Outcome::plain(Verdict::Query, format!("{what}; {unseen}")));
    }
    let cause = if causes.is_empty() && states.len() > 1 {
        let alone = calc::explanations(&[(state, shown)], tolerance).map_err(said)?;
        let alone: Vec<String> = alone.iter().map(words).collect();
        match alone.as_slice() {
            [] => UNEXPLAINED.to_string(),
            all => format!(
                "by itself it reads as if {}, but the other states speak against it: read all states again",
                all.join(", or ")
            ),
        }
    } else if causes.is_empty() {
        UNEXPLAINED.to_string()
    } else {
        format!("reads as if {}", causes.join(", or "))
    };
    let or_else = unseen.map_or_else(String::new, |unseen| format!("; or {unseen}"));
    Ok(Outcome::plain(
        Verdict::Outside,
        format!("{what}; {cause}{or_else}"),
    ))
}

/// What generation that was there before would have to give for a state to add up, where it is able to: no meter here shows it.
fn unseen(
    judge: &Judge<'_>,
    shown: &Powers,
    tolerance: Tolerance,
) -> Result<Option<String>, CalcError> {
    let job = judge.job;
    let rated: f64 = job.grid.existing.iter().map(|e| rated_w(job, e)).sum();
    let missing = shown.load - shown.sum();
    let about = calc::allowed_w(shown, tolerance)?;
    if job.grid.existing.is_empty() || missing <= about || missing > rated + about {
        return Ok(None);
    }
    let names: Vec<&str> = job.grid.existing.iter().map(|e| e.what.as_str()).collect();
    Ok(Some(format!(
        "{} W from what was there before ({}), which no meter here shows, would explain it: switch that off at its isolator and read this state again",
        rounded(missing, 0).unwrap_or_default().normalize(),
        names.join(", ")
    )))
}

/// The most that a unit which was there before gives, W.
fn rated_w(job: &Job, unit: &Existing) -> f64 {
    let three = job.supply.phases == Phases::Three && unit.lines == Lines::All;
    let lines = if three { 3.0 } else { 1.0 };
    f64_of(unit.rated_a) * f64_of(job.supply.u0_v) * lines
}

/// A way of fitting in words.
fn words(change: &Change) -> String {
    let mut parts = Vec::new();
    let moved = change.moved();
    match moved.as_slice() {
        [] => {}
        [(a, b), _] => parts.push(format!(
            "the transformers of {} and {} are swapped",
            a.name(),
            b.name()
        )),
        all => {
            let each: Vec<String> = all
                .iter()
                .map(|(shown, real)| format!("{} is on {}", shown.name(), real.name()))
                .collect();
            parts.push(format!("the transformers go round: {}", each.join(", ")));
        }
    }
    let turned: Vec<&str> = change.reversed.iter().map(|m| m.name()).collect();
    match (turned.as_slice(), moved.is_empty()) {
        ([], _) => {}
        ([one], true) => parts.push(format!("the {one} transformer is reversed")),
        (all, true) => parts.push(format!(
            "the {} transformers are reversed",
            all.join(" and ")
        )),
        ([one], false) => parts.push(format!("the one shown as {one} is reversed")),
        (all, false) => parts.push(format!("those shown as {} are reversed", all.join(" and "))),
    }
    parts.join(", and ")
}
