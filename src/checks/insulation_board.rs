//! Insulation of a whole board against its circuits in parallel.

use rust_decimal::Decimal;

use super::{Doubt, Judge, f64_of, insulation, rounded, tree};
use crate::calc;
use crate::job::{Board, CircuitKind, Owner, Seat, Test, Value};

/// What a board should read by the readings of its circuits, MΩ.
#[derive(Debug, Default)]
struct Parallel {
    /// Circuits with a number, in parallel: the board can't read more.
    most: Option<f64>,
    /// The same with circuits past the scale taken at the end of it; only where every circuit was read and nothing else hangs on
    /// the board.
    least: Option<f64>,
    /// How many circuits have a number.
    numbers: usize,
    /// How many read past the scale.
    past_scale: usize,
}

/// In words, and the most as a number.
pub(super) fn expected(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<(String, Option<Decimal>)> {
    let Owner::Board(board) = seat.owner else {
        return None;
    };
    if !is_comparable(judge, board) {
        let words = "its circuits were to be tested at other voltages: no expectation from them";
        return Some((words.into(), None));
    }
    let sum = of(board);
    let least = sum.least.and_then(|x| rounded(x, 1));
    let most = sum.most.and_then(|x| rounded(x, 1));
    let words = match (least, most) {
        (Some(least), Some(most)) if sum.past_scale > 0 => format!(
            "{least} to {most} MΩ: {} circuits in parallel, {} past the scale",
            sum.numbers + sum.past_scale,
            sum.past_scale
        ),
        (Some(least), None) => format!(
            "{least} MΩ or more: {} circuits in parallel, all past the scale",
            sum.past_scale
        ),
        (_, Some(most)) => format!("up to {most} MΩ: {} circuits in parallel", sum.numbers),
        (None, None) => return None,
    };
    Some((words, most))
}

/// A board that reads more than its circuits in parallel can, or far less.
pub(super) fn against_circuits(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Board(board) = seat.owner else {
        return None;
    };
    if !is_comparable(judge, board) {
        return None;
    }
    let (n, shown) = match value {
        Value::Number(n) => (f64_of(*n), n.to_string()),
        Value::OverRange(end) => (f64_of(*end), format!(">{end}")),
        _ => return None,
    };
    let sum = of(board);
    let high = judge.forms.limit("cross/ir-board-high").ok()?;
    let low = judge.forms.limit("cross/ir-board-low").ok()?;
    if let Some(most) = sum.most.filter(|most| n > most * high.f64()) {
        return Some(Doubt::query(format!(
            "{shown} MΩ, but its circuits in parallel can't give more than {} MΩ: a device was off, a link left out, or a circuit's reading is wrong",
            rounded(most, 1)?
        )).by(high));
    }
    let least = sum
        .least
        .filter(|least| value.number().is_some() && n < least / low.f64())?;
    Some(Doubt::query(format!(
        "{shown} MΩ, but its circuits in parallel give {} MΩ at least: something else hangs on the board (SPD, meter, control), damp in it, or a circuit has changed since",
        rounded(least, 1)?
    )).by(low))
}

/// Whether board and circuits are tested at the same voltage: a reading says nothing about another voltage.
fn is_comparable(judge: &Judge<'_>, board: &Board) -> bool {
    let volts = |seat: &Seat<'_>| insulation::test_volts(judge, seat).ok();
    let whole = Seat {
        top: &board.id,
        part: None,
        owner: Owner::Board(board),
        readings: &board.readings,
    };
    let at = volts(&whole);
    at.is_some()
        && board
            .circuits
            .iter()
            .filter(|c| c.kind != CircuitKind::Spare && !c.extra_low_voltage)
            .all(|c| volts(&tree::seat(board, c)) == at)
}

fn of(board: &Board) -> Parallel {
    let mut out = Parallel::default();
    let mut numbers = Vec::new();
    let mut ends = Vec::new();
    let mut is_whole = true;
    for circuit in &board.circuits {
        if circuit.kind == CircuitKind::Spare || circuit.extra_low_voltage {
            continue;
        }
        // A board behind it is part of the one reading and not of the other.
        is_whole &= circuit.kind != CircuitKind::Distribution;
        match circuit.readings.value(Test::IrLe) {
            Some(Value::Number(n)) => numbers.push(f64_of(n)),
            Some(Value::OverRange(end)) => ends.push(f64_of(end)),
            _ => is_whole = false,
        }
    }
    (out.numbers, out.past_scale) = (numbers.len(), ends.len());
    out.most = calc::parallel(&numbers).ok();
    numbers.extend(ends);
    out.least = calc::parallel(&numbers).ok().filter(|_| is_whole);
    out
}
