//! Insulation resistance of the a.c. side.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, Ruled, f64_of, insulation_board};
use crate::forms::{Limit, MissingLimit};
use crate::job::{Board, Circuit, CircuitKind, Owner, Phases, Seat, Test, Value};

/// Test voltage and lowest resistance by what the circuit is and what stays connected.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    if lives_are_joined(seat, test) {
        return Ok(Rule::free(
            "line and neutral are joined while equipment stays connected: only to earth counts",
        ));
    }
    let (volts, least, edge) = band(judge, seat)?;
    let volts_text = volts.value.normalize();
    let joined = "live conductors joined, because equipment stays connected";
    let how = match seat.owner {
        Owner::Circuit(_, c) if c.equipment_connected && !c.extra_low_voltage => {
            format!("at {volts_text} V d.c., {joined}")
        }
        Owner::Board(board) => match still_connected(board) {
            Some(c) => format!(
                "at {volts_text} V d.c., {joined} on circuit {} {}",
                c.id, c.name
            ),
            None => apart(volts_text),
        },
        _ => apart(volts_text),
    };
    let edge: Vec<Arc<Limit>> = edge.into_iter().cloned().collect();
    let (expected, most) = insulation_board::expected(judge, seat).unwrap_or_else(|| {
        let sound = "far above the limit on sound cable, mostly past the scale";
        (sound.into(), None)
    });
    Ok(Rule::of(Bound::AtLeast(least.value), how, least)
        .at(volts)
        .with_all(&edge)
        .expecting(Some(expected))
        .near(most))
}

/// Test voltage of an owner, V d.c.
pub(super) fn test_volts(judge: &Judge<'_>, seat: &Seat<'_>) -> Result<Decimal, MissingLimit> {
    band(judge, seat).map(|(volts, _, _)| volts.value)
}

fn apart(volts: Decimal) -> String {
    format!("at {volts} V d.c., everything disconnected that the voltage could harm")
}

/// A circuit whose equipment would get the voltage of a test of the whole board.
fn still_connected(board: &Board) -> Option<&Circuit> {
    let mut circuits = board.circuits.iter();
    circuits.find(|c| c.equipment_connected && !c.extra_low_voltage)
}

/// Test voltage, lowest resistance, and the edge that the two were chosen by.
type Band<'a> = (&'a Arc<Limit>, &'a Arc<Limit>, Option<&'a Arc<Limit>>);

/// Test voltage and limit of an owner.
fn band<'a>(judge: &Judge<'a>, seat: &Seat<'_>) -> Result<Band<'a>, MissingLimit> {
    let chosen = |name: &str, edge| -> Result<Band<'a>, MissingLimit> {
        Ok((
            judge.forms.limit(&format!("ir/{name}/test"))?,
            judge.forms.limit(&format!("ir/{name}/min"))?,
            edge,
        ))
    };
    let of = |name: &str| chosen(name, None);
    match seat.owner {
        Owner::Circuit(_, c) if c.extra_low_voltage => of("extra-low-voltage"),
        Owner::Circuit(_, c) if c.equipment_connected => of("equipment-connected"),
        Owner::Board(b) if still_connected(b).is_some() => of("equipment-connected"),
        _ => {
            let edge = judge.forms.limit("ir/low-voltage-edge")?;
            let u0 = f64_of(judge.job.supply.u0_v);
            let nominal = match judge.job.supply.phases {
                Phases::Single => u0,
                Phases::Three => u0 * 3.0_f64.sqrt(),
            };
            if nominal > edge.f64() {
                chosen("above-500", Some(edge))
            } else {
                chosen("up-to-500", Some(edge))
            }
        }
    }
}

/// Between live conductors, of a circuit whose equipment stays connected: the two are joined for the test.
pub(super) fn lives_are_joined(seat: &Seat<'_>, test: Test) -> bool {
    test == Test::IrLl && matches!(seat.owner, Owner::Circuit(_, c) if c.equipment_connected)
}

/// Insulation to earth that a reason stands for, where nothing else shows the insulation of a circuit that is part of the
/// work. A reading of its whole board doesn't: nothing says that the circuit was on it.
pub(super) fn nothing_shows_it(seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    let was_there = circuit.existing && circuit.kind != CircuitKind::Source;
    // What is still to be taken is open by itself.
    let still_open = !circuit.equipment_connected && seat.readings.get(Test::IrLl).is_none();
    if was_there || still_open || seat.readings.is_measured(Test::IrLl) {
        return None;
    }
    Some(Doubt::query(format!(
        "insulation of new work isn't shown: nothing of this circuit was measured ({value})"
    )))
}

/// A reading that says nothing, or is in but low enough to look into.
pub(super) fn second_look(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    if lives_are_joined(seat, test) {
        return (!value.is_excused()).then(|| {
            Doubt::query(format!("{value} MΩ between live conductors with equipment connected is a reading of the equipment, not of the cable: enter n/a, or disconnect it and say so in the record"))
        });
    }
    if matches!(seat.owner, Owner::Circuit(_, c) if c.extra_low_voltage) {
        return None;
    }
    if test == Test::IrLe
        && let Some(doubt) = insulation_board::against_circuits(judge, seat, value)
    {
        return Some(doubt);
    }
    let n = value.number()?;
    let edge = judge.forms.limit("ir/look-into").ok()?;
    (n < edge.value).then(|| {
        Doubt::query(format!("{n} MΩ meets the limit but is under {} MΩ: look into it [{}]: damp, a load left connected, damaged cable", edge.value, edge.source.mark)).by(edge)
    })
}
