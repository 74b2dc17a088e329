//! Insulation resistance of the a.c. side.

use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of};
use crate::forms::{Limit, MissingLimit};
use crate::job::{Owner, Phases, Seat, Test, Value};

/// Test voltage and lowest resistance by what the circuit is and what stays connected.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    if lives_are_joined(seat, test) {
        return Ok(Rule::free(
            "line and neutral are joined while equipment stays connected: only to earth counts",
        ));
    }
    let (volts, least) = band(judge, seat)?;
    let connected =
        matches!(seat.owner, Owner::Circuit(_, c) if c.equipment_connected && !c.extra_low_voltage);
    let how = if connected {
        format!(
            "at {} V d.c., live conductors joined, because equipment stays connected",
            volts.value.normalize()
        )
    } else {
        format!(
            "at {} V d.c., everything disconnected that the voltage could harm",
            volts.value.normalize()
        )
    };
    Ok(Rule::of(Bound::AtLeast(least.value), how, least)
        .at(volts)
        .expecting(Some(
            "far above the limit on sound cable, mostly past the scale".into(),
        )))
}

/// Test voltage and limit of an owner.
fn band<'a>(judge: &Judge<'a>, seat: &Seat<'_>) -> Result<(&'a Limit, &'a Limit), MissingLimit> {
    let of = |name: &str| -> Result<(&'a Limit, &'a Limit), MissingLimit> {
        Ok((
            judge.forms.limit(&format!("ir/{name}/test"))?,
            judge.forms.limit(&format!("ir/{name}/min"))?,
        ))
    };
    match seat.owner {
        Owner::Circuit(_, c) if c.extra_low_voltage => of("extra-low-voltage"),
        Owner::Circuit(_, c) if c.equipment_connected => of("equipment-connected"),
        _ => {
            let edge = judge.forms.limit("ir/low-voltage-edge")?;
            let u0 = f64_of(judge.job.supply.u0_v);
            let nominal = match judge.job.supply.phases {
                Phases::Single => u0,
                Phases::Three => u0 * 3.0_f64.sqrt(),
            };
            if nominal > edge.f64() {
                of("above-500")
            } else {
                of("up-to-500")
            }
        }
    }
}

/// Between live conductors, of a circuit whose equipment stays connected: the two are joined for the test.
fn lives_are_joined(seat: &Seat<'_>, test: Test) -> bool {
    test == Test::IrLl && matches!(seat.owner, Owner::Circuit(_, c) if c.equipment_connected)
}

/// A reading that says nothing, or is in but low enough to look into.
pub(super) fn second_look(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<(Verdict, String)> {
    if lives_are_joined(seat, test) {
        return (!value.is_excused()).then(|| {
            (
                Verdict::Query,
                format!("{value} MΩ between live conductors with equipment connected is a reading of the equipment, not of the cable: enter n/a, or disconnect it and say so in the record"),
            )
        });
    }
    if matches!(seat.owner, Owner::Circuit(_, c) if c.extra_low_voltage) {
        return None;
    }
    let n = value.number()?;
    let edge = judge.forms.limit("ir/look-into").ok()?;
    (n < edge.value).then(|| {
        (
            Verdict::Query,
            format!("{n} MΩ meets the limit but is under {} MΩ: look into it [{}]: damp, a load left connected, damaged cable", edge.value, edge.source.mark),
        )
    })
}
