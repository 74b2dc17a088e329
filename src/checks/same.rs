//! The same digits again and again: typed and not read.

use std::collections::{HashMap, HashSet};

use rust_decimal::Decimal;

use super::{Doubt, Judge, continuity, f64_of, ring, tree};
use crate::job::{Board, Circuit, DeviceStandard, Owner, Rcd, Seat, Test, Value};

/// The same reading in circuits that follow each other on a board, where what is expected of them differs or isn't known.
pub(super) fn in_a_row(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return None;
    };
    let n = value.number().filter(|n| !n.is_zero())?;
    if !can_be_copied(test) {
        return None;
    }
    let digits = digits(n).min(3);
    let limit = judge
        .forms
        .limit(&format!("cross/same-in-row/{digits}"))
        .ok()?;
    let most = usize::try_from(limit.value.trunc().mantissa()).ok()?;
    let at = judge.tree.position(board, circuit)?;
    let same = |c: &&Circuit| {
        let read = c.readings.value(test).and_then(|v| v.number());
        read.is_some_and(|x| x == n && x.scale() == n.scale())
    };
    // Spare ways, and circuits that aren't read yet or have no such reading, don't part a row.
    let taken = |c: &&Circuit| {
        c.readings
            .get(test)
            .is_some_and(|e| e.now.value(test).is_ok_and(|v| !v.is_excused()))
    };
    let (before, after) = board.circuits.split_at_checked(at)?;
    let reach = most.saturating_sub(1);
    let before = before.iter().rev().filter(taken).take_while(same);
    let after = after.iter().skip(1).filter(taken).take_while(same);
    let mut row: Vec<&Circuit> = before.take(reach).collect();
    row.reverse();
    row.push(circuit);
    row.extend(after.take(reach));
    if row.len() < most || is_expected(judge, board, &row, test, n) {
        return None;
    }
    let names: Vec<&str> = row.iter().map(|c| c.id.as_str()).collect();
    let scale = matches!(test, Test::IrLl | Test::IrLe)
        .then_some("; the end of the scale is entered with > before it")
        .unwrap_or_default();
    Some(
        Doubt::query(format!(
            "{} in circuits {} of {} alike: read each again, or was one typed for all{scale}?",
            test.unit().with(n),
            names.join(", "),
            board.id
        ))
        .by(limit),
    )
}

/// Readings with a number that differs from circuit to circuit.
fn can_be_copied(test: Test) -> bool {
    matches!(
        test,
        Test::R1
            | Test::Rn
            | Test::R2
            | Test::RingLn
            | Test::R1r2
            | Test::IrLl
            | Test::IrLe
            | Test::Zs
            | Test::RcdTime
            | Test::RcdFive
    )
}

/// The RCD ahead of a circuit whose own device isn't an RCBO: it may stand ahead of others too, and is read once for all.
fn shared_rcd(circuit: &Circuit) -> Option<&Rcd> {
    let standard = circuit.device.as_ref()?.standard;
    circuit
        .rcd
        .as_ref()
        .filter(|_| standard != DeviceStandard::BsEn61009)
}

/// Digits of a reading without leading zeros.
fn digits(n: Decimal) -> usize {
    n.mantissa().unsigned_abs().to_string().len()
}

/// Whether circuits are expected to read the same, as near as the reading is shown.
fn is_expected(judge: &Judge<'_>, board: &Board, row: &[&Circuit], test: Test, n: Decimal) -> bool {
    let Ok(within) = judge.forms.limit("cross/same-within") else {
        return false;
    };
    if matches!(test, Test::RcdTime | Test::RcdFive) {
        let first = row.first().and_then(|c| shared_rcd(c));
        return first.is_some() && row.iter().all(|c| shared_rcd(c) == first);
    }
    let digit = Decimal::new(1, n.scale());
    let mut least = f64::INFINITY;
    let mut most = f64::NEG_INFINITY;
    for circuit in row {
        let seat = tree::seat(board, circuit);
        let expected = match test {
            Test::R1r2 => continuity::from_length(judge, &seat),
            // What the circuit adds to the board: the rest is the same for all.
            Test::Zs => continuity::from_length(judge, &seat)
                .or_else(|| Some(f64_of(circuit.readings.value(Test::R1r2)?.number()?))),
            Test::R1 | Test::Rn | Test::R2 | Test::RingLn => ring::sound(judge, &seat, test),
            _ => None,
        };
        let Some(expected) = expected else {
            return false;
        };
        least = least.min(expected);
        most = most.max(expected);
    }
    most - least <= f64_of(within.value.max(digit)) + 1e-9
}

/// Times of the RCDs of a board, by test; only those that so many have that it could be too many.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Times(HashMap<Test, BoardTimes>);

/// How many times were read, and whose they are by what was read.
#[derive(Debug, Default, PartialEq)]
struct BoardTimes {
    devices: usize,
    by_time: HashMap<String, Vec<String>>,
}

impl Times {
    /// Of a board.
    pub(super) fn of(judge: &Judge<'_>, board: &Board) -> Times {
        let mut out = Times::default();
        let Ok(least) = judge.forms.limit("cross/rcd-same") else {
            return out;
        };
        let circuits = board
            .circuits
            .iter()
            .map(|c| (c.id.as_str(), &c.readings, shared_rcd(c)));
        let mut known = HashSet::new();
        for (name, readings, shared) in circuits.chain([(MAIN, &board.readings, None)]) {
            for test in [Test::RcdTime, Test::RcdFive] {
                if let Some(n) = readings.value(test).and_then(|v| v.number()) {
                    if let Some(rcd) = shared
                        && !known.insert((test, rcd.describe(), n.to_string()))
                    {
                        continue;
                    }
                    let times = out.0.entry(test).or_default();
                    times.devices += 1;
                    let same = times.by_time.entry(n.to_string()).or_default();
                    same.push(name.to_string());
                }
            }
        }
        // One more may have the same.
        let could = |names: &Vec<String>| Decimal::from(names.len() + 1) >= least.value;
        for times in out.0.values_mut() {
            times.by_time.retain(|_, names| could(names));
        }
        out.0.retain(|_, times| !times.by_time.is_empty());
        out
    }
}

/// Name of the RCD ahead of a whole board, which no circuit can have.
const MAIN: &str = "the board's own";

/// An RCD time that no contact reaches, or that several devices of a board have to the last digit.
pub(super) fn rcd_times(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    let n = value.number()?;
    let fastest = judge.forms.limit("cross/rcd-least").ok()?;
    if n < fastest.value {
        return Some(Doubt::query(format!(
            "{n} ms: no RCD opens within {} ms; seconds typed for ms, a slipped point, or it tripped on connecting",
            fastest.value.normalize()
        )).by(fastest));
    }
    // A backup output has one RCD and nothing beside it.
    let (board, name) = match seat.owner {
        Owner::Circuit(board, circuit) => (board, circuit.id.as_str()),
        Owner::Board(board) => (board, MAIN),
        _ => return None,
    };
    let least = judge.forms.limit("cross/rcd-same").ok()?;
    let share = judge.forms.limit("cross/rcd-same-share").ok()?;
    if digits(n) < 3 {
        return None;
    }
    let times = judge.times(board)?.0.get(&test)?;
    let with_same = times.by_time.get(&n.to_string())?;
    let stands = seat.readings.value(test).and_then(|v| v.number());
    let is_counted = stands.is_some_and(|x| x == n && x.scale() == n.scale());
    let alike = Decimal::from(with_same.len() + usize::from(!is_counted));
    let of_all = alike * Decimal::ONE_HUNDRED >= share.value * Decimal::from(times.devices);
    (alike >= least.value && of_all).then(|| {
        // The first of them are shown, this one in any case.
        let others = with_same.iter().map(String::as_str).filter(|o| *o != name);
        let mut names: Vec<&str> = others.take(SHOWN - 1).collect();
        names.push(name);
        names.sort_unstable();
        let more = alike - Decimal::from(names.len());
        let tail = if more.is_zero() {
            String::new()
        } else {
            format!(" and {more} more")
        };
        Doubt::query(format!(
            "{n} ms to the last digit for {alike} RCDs of {} ({}{tail}): read each again, times scatter",
            board.id,
            names.join(", ")
        ))
        .by(least)
        .by(share)
    })
}

/// How many names a message holds.
const SHOWN: usize = 6;
