//! Micro-inverter branches: how many answer, and what they load their circuit with.

use rust_decimal::Decimal;

use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Ruled, Verdict};
use crate::job::{Array, Board, Branch, Circuit, Owner, Seat, Test, Unit, Value};

/// As many inverters answer as modules are on the branch.
pub(super) fn count(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Branch(array, branch) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let units = Decimal::from(branch.units.len());
    let allowed = judge
        .tree
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

/// Current of everything that feeds the circuit of a branch against the rated current of its device, and the number of units
/// of this branch against the maker's.
pub(super) fn load(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    array: &Array,
    branch: &Branch,
) -> Option<Finding> {
    let inverter = judge.tree.inverter(&array.inverter)?;
    let (rule, mut outcome, amps) = on_circuit(judge, &branch.circuit)?;
    let units = branch.units.len();
    if let Some(most) = inverter
        .max_per_branch
        .filter(|most| units > usize::from(*most))
        && outcome.verdict != Verdict::Outside
    {
        outcome.verdict = Verdict::Outside;
        outcome.why = format!("{units} units on the branch, the maker allows {most}");
    }
    Some(judge.derived(seat, Test::BranchLoad, amps, &rule, outcome))
}

/// The same for a circuit that an inverter other than a micro-inverter is on: shown where there is something to say.
pub(super) fn circuit_load(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let path = board.path(circuit);
    if !judge.tree.has_other_inverter(&path) {
        return None;
    }
    let (rule, outcome, amps) =
        on_circuit(judge, &path).filter(|(_, o, _)| o.verdict != Verdict::Within)?;
    Some(judge.derived(seat, Test::BranchLoad, amps, &rule, outcome))
}

/// Everything that feeds a circuit, summed: several branches and other inverters may share one.
fn on_circuit(judge: &Judge<'_>, path: &str) -> Option<(Rule, Outcome, String)> {
    let (_, circuit) = judge.circuit(path)?;
    let device = circuit.device.as_ref()?;
    let parts = judge.tree.feeds(path);
    let mut amps = Decimal::ZERO;
    for (units, each) in parts {
        amps = amps.checked_add(each.checked_mul(Decimal::from(*units))?)?;
    }
    let amps = amps.normalize();
    let words: Vec<String> = parts
        .iter()
        .map(|(units, each)| format!("{units} × {} A", each.normalize()))
        .collect();
    let mut rule = Rule::free(format!(
        "Ib = {} against In of circuit {path}",
        words.join(" + ")
    ));
    rule.bound = Bound::AtMost(device.rating_a);
    let mut outcome = compare(&rule, &Value::Number(amps), Unit::Amp, None);
    if outcome.verdict == Verdict::Within
        && let Ok(advice) = judge.forms.limit("branch/load-advice")
    {
        let advised = (device.rating_a * advice.value).normalize();
        rule = rule.with(advice);
        if amps > advised {
            outcome.verdict = Verdict::Query;
            outcome.why = format!(
                "Ib {amps} A is over {} × In = {advised} A: it runs all day at this load [{}]",
                advice.value.normalize(),
                advice.source.mark
            );
        }
    }
    Some((rule, outcome, amps.to_string()))
}
