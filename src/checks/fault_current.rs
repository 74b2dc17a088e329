//! Prospective fault current against what the devices can break.

use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Ruled, Verdict};
use crate::job::{Board, Circuit, Owner, Seat, Test, Unit, Value};

/// At the origin: the distributor's fuse has to break it.
pub(super) fn origin(judge: &Judge<'_>) -> Ruled {
    let supply = &judge.job.supply;
    let mut rule = Rule::free(format!(
        "breaking capacity of the cut-out fuse as recorded, {} kA",
        supply.fuse_ka.normalize()
    ));
    rule.bound = Bound::AtMost(supply.fuse_ka);
    rule.expected = supply
        .readings
        .value(Test::Ze)
        .and_then(|v| v.number())
        .and_then(|ze| {
            let ka = crate::calc::fault_current_ka(super::f64_of(supply.u0_v), super::f64_of(ze))
                .ok()?;
            Some(format!(
                "L-E about {} kA from Ze {ze} Ω; L-N the same or more",
                super::rounded(ka, 2)?
            ))
        });
    Ok(rule)
}

/// At a board: the device with the lowest breaking capacity has to break it.
pub(super) fn board(seat: &Seat<'_>) -> Ruled {
    let Owner::Board(board) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let weakest = board
        .circuits
        .iter()
        .filter_map(|c| c.device.as_ref().map(|d| (d.breaking_ka, c)))
        .min_by_key(|(ka, _)| *ka);
    Ok(match weakest {
        Some((ka, circuit)) => {
            let mut rule = Rule::free(format!(
                "lowest breaking capacity on the board, {} kA of circuit {} {}; record the largest of L-N, L-E and L-L",
                ka.normalize(),
                circuit.id,
                circuit.name
            ));
            rule.bound = Bound::AtMost(ka);
            rule
        }
        None => Rule::free("no device is recorded; record the largest of L-N, L-E and L-L"),
    })
}

/// Each device against the fault current at its board, or at the origin where the board's isn't taken yet.
pub(super) fn breaking_capacity(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let device = circuit.device.as_ref()?;
    let read = |r: &crate::job::Readings, t| r.value(t).and_then(|v| v.number());
    let supply = &judge.job.supply.readings;
    let (ka, whence) = match read(&board.readings, Test::Pfc) {
        Some(ka) => (ka, format!("{}/pfc", board.id)),
        None => {
            let largest = [Test::PfcLn, Test::PfcLe, Test::PfcLl]
                .into_iter()
                .filter_map(|t| read(supply, t))
                .max()?;
            (largest, "the origin".to_string())
        }
    };
    let mut rule = Rule::free(format!(
        "fault current {ka} kA at {whence}; measured, not the design maximum"
    ));
    rule.bound = Bound::AtLeast(ka);
    let Outcome {
        verdict,
        margin,
        why,
    } = compare(
        &rule,
        &Value::Number(device.breaking_ka),
        Unit::KiloAmp,
        None,
    );
    let why = if verdict == Verdict::Outside {
        format!(
            "{} can break {} kA, the fault current is {ka} kA at {whence}",
            device.describe(),
            device.breaking_ka.normalize()
        )
    } else {
        why
    };
    let value = device.breaking_ka.normalize().to_string();
    Some(judge.derived(
        seat,
        Test::BreakingCapacity,
        value,
        &rule,
        Outcome {
            verdict,
            margin,
            why,
        },
    ))
}
