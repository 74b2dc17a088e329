//! Ring final circuits: end-to-end resistance of line, neutral and cpc.

use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, Ruled, Verdict, continuity, f64_of, made_with, rounded};
use crate::job::{Cpc, Owner, Seat, Test, Value};

/// r1 is recorded; rn has to lie within the permitted difference of r1; r2 follows from the sizes.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    let difference = judge.forms.limit("ring/difference")?;
    let r1 = seat.readings.value(Test::R1).and_then(|v| v.number());
    let by_length = || sound(judge, seat, test).and_then(|r| rounded(r, 2));
    let from_length = || by_length().map(|e| format!("{e} Ω from the length"));
    let rule = match (test, r1) {
        (Test::Rn, Some(r1)) => {
            let low = (r1 - difference.value).max(Decimal::ZERO);
            Rule::of(
                Bound::Between(low, r1 + difference.value),
                format!(
                    "line and neutral of a ring are the same size: within {} Ω of r1 {r1} Ω",
                    difference.value
                ),
                difference,
            )
            .expecting(Some(format!("{r1} Ω, as r1")))
            .near(Some(r1))
        }
        (Test::R2, Some(r1)) => {
            let expected = ratio(judge, seat).and_then(|k| rounded(k * f64_of(r1), 2));
            Rule::free("no limit of its own: compared with r1; a break reads over range")
                .expecting(expected.map(|e| format!("{e} Ω from r1 and the sizes")))
                .near(expected)
        }
        (Test::RingLn, _) => {
            let expected = cross(seat).and_then(|r| rounded(r, 2));
            let rule = Rule::free(
                "no limit of its own: line and neutral cross-joined, the highest of its points; a break reads over range",
            );
            match expected {
                Some(e) => rule
                    .expecting(Some(format!("{e} Ω at every point, (r1 + rn) / 4")))
                    .near(Some(e)),
                None => rule
                    .expecting(from_length())
                    .near(by_length())
                    .no_better_than(
                        Verdict::Query,
                        "r1 or rn is missing: without them nothing shows that the ring is sound",
                    ),
            }
        }
        (Test::Rn | Test::R2, None) => Rule::free("compared with r1: a break reads over range")
            .expecting(from_length())
            .near(by_length())
            .no_better_than(
                Verdict::Query,
                "r1 is missing: without it nothing shows that the ring is sound",
            ),
        _ => {
            let expected = length_ohm(judge, seat).and_then(|r| rounded(r, 2));
            Rule::free("no limit of its own: a break reads over range")
                .expecting(expected.map(|e| format!("{e} Ω once round, from the length")))
                .near(expected)
        }
    };
    match sound(judge, seat, test) {
        Some(ohm) => Ok(rule
            .outside_past(continuity::far(judge, ohm)?)
            .with_all(&made_with::ring(judge, seat, test))),
        None => Ok(rule),
    }
}

/// What a sound ring reads: by its length, and without one by its other readings.
pub(super) fn sound(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Option<f64> {
    let r1 = || Some(f64_of(seat.readings.value(Test::R1)?.number()?));
    match test {
        Test::R1 | Test::Rn => length_ohm(judge, seat),
        Test::R2 => {
            let Owner::Circuit(_, circuit) = seat.owner else {
                return None;
            };
            let by_length = circuit
                .cable
                .as_ref()
                .and_then(|c| continuity::cpc_ohm(judge, c));
            by_length.or_else(|| Some(ratio(judge, seat)? * r1()?))
        }
        _ => length_ohm(judge, seat)
            .map(|line| line / 2.0)
            .or_else(|| cross(seat)),
    }
}

/// A ring far from its expectation is queried.
pub(super) fn against_expected(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    let number = value.number()?;
    let expected = match test {
        Test::R1 => length_ohm(judge, seat)?,
        Test::R2 => {
            let r1 = seat.readings.value(Test::R1)?.number()?;
            ratio(judge, seat)? * f64_of(r1)
        }
        Test::RingLn => cross(seat)?,
        _ => return None,
    };
    let (low, high) = continuity::window(judge, expected).ok()?;
    let near = rounded(expected, 2)?;
    (number < low || number > high).then(|| {
        let from = match test {
            Test::R1 => "the length",
            Test::RingLn => "(r1 + rn) / 4",
            _ => "r1 and the sizes",
        };
        Doubt::query(
            format!("{number} Ω, but {from} gives about {near} Ω: loose joint, bridged ring, spur on the wrong ends, or a wrong decimal place")).by_all(&judge.entries(&continuity::EXPECTED))
    })
}

/// A quarter of line and neutral once round: what every point reads with both cross-joined.
fn cross(seat: &Seat<'_>) -> Option<f64> {
    let end_to_end = |test| Some(f64_of(seat.readings.value(test)?.number()?));
    Some((end_to_end(Test::R1)? + end_to_end(Test::Rn)?) / 4.0)
}

/// Line once round the ring.
fn length_ohm(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<f64> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    continuity::line_ohm(judge, circuit.cable.as_ref()?)
}

/// r2 over r1 by the sizes of the conductors.
fn ratio(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<f64> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    let cable = circuit.cable.as_ref()?;
    let Cpc::Copper(cpc) = cable.cpc else {
        return None;
    };
    let of = |mm2: Decimal| {
        let id = format!("conductor/class2/{}", mm2.normalize());
        judge.forms.limit(&id).ok().map(|l| l.f64())
    };
    Some(of(cpc)? / of(cable.line_mm2)?)
}
