//! Micro-inverter branches: how many answer, and what they load their circuit with.

use rust_decimal::Decimal;

use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Ruled, Verdict};
use crate::job::{Array, Branch, Owner, Seat, Test, Unit, Value};

/// As many inverters answer as modules are on the branch.
pub(super) fn count(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Branch(array, branch) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let units = Decimal::from(branch.units.len());
    let allowed = judge
        .job
        .inverter(&array.inverter)
        .and_then(|i| i.max_per_branch);
    let mut rule = Rule::free(match allowed {
        Some(most) => format!("{units} units are recorded on this branch; the maker allows {most}"),
        None => format!("{units} units are recorded on this branch"),
    });
    rule.bound = Bound::Exactly(units);
    rule.expected = Some(units.to_string());
    Ok(rule)
}

/// Current of all units of a branch against the rated current of its device.
pub(super) fn load(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    array: &Array,
    branch: &Branch,
) -> Option<Finding> {
    let inverter = judge.job.inverter(&array.inverter)?;
    let (_, circuit) = judge.job.circuit(&branch.circuit)?;
    let device = circuit.device.as_ref()?;
    let units = branch.units.len();
    let amps = inverter.rated_a * Decimal::from(units);
    let mut rule = Rule::free(format!(
        "Ib = {units} × {} A against In of circuit {}",
        inverter.rated_a.normalize(),
        branch.circuit
    ));
    rule.bound = Bound::AtMost(device.rating_a);
    let mut outcome: Outcome = compare(&rule, &Value::Number(amps), Unit::Amp, None);
    if outcome.verdict == Verdict::Within {
        if let Some(most) = inverter
            .max_per_branch
            .filter(|most| units > usize::from(*most))
        {
            outcome.verdict = Verdict::Outside;
            outcome.why = format!("{units} units on the branch, the maker allows {most}");
        } else if let Ok(advice) = judge.forms.limit("branch/load-advice") {
            let advised = (device.rating_a * advice.value).normalize();
            if amps > advised {
                outcome.verdict = Verdict::Query;
                outcome.why = format!(
                    "Ib {amps} A is over {} × In = {advised} A: it runs all day at this load [{}]",
                    advice.value.normalize(),
                    advice.source.mark
                );
            }
        }
    }
    Some(judge.derived(
        seat,
        Test::BranchLoad,
        amps.normalize().to_string(),
        &rule,
        outcome,
    ))
}
