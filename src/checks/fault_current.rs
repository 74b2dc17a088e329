//! Prospective fault current against what the devices can break.

use std::sync::Arc;

use rust_decimal::{Decimal, RoundingStrategy};

use super::network::DEEPEST;
use super::rule::compare;
use super::{Bound, Doubt, Finding, Judge, Rule, Ruled, Verdict};
use super::{continuity, f64_of, impedance, rounded};
use crate::forms::Limit;
use crate::job::{Board, Circuit, Earthing, Owner, Phases, Readings, Seat, Test, Unit, Value};

/// At the origin: the distributor's fuse has to break it.
pub(super) fn origin(judge: &Judge<'_>, test: Test) -> Ruled {
    let supply = &judge.job.supply;
    let three_phase = test == Test::PfcLl;
    let mut rule = at_most(
        judge,
        supply.fuse_ka,
        three_phase,
        "breaking capacity of the cut-out fuse as recorded",
    )?;
    if three_phase
        && let Some(ln) = read(&supply.readings, Test::PfcLn)
        && let Some((least, most)) = between_lines(judge, ln)
    {
        let of = |factor: &Limit| ln.checked_mul(factor.value).map(|ka| ka.round_dp(2));
        rule.expected_value = of(most);
        if let (Some(low), Some(high)) = (of(least), of(most)) {
            rule.expected = Some(format!(
                "{low} to {high} kA from L-N {ln} kA: the less, the better the neutral"
            ));
            return Ok(rule);
        }
    }
    let ze = supply.readings.value(Test::Ze).and_then(|v| v.number());
    let Some((ze, ka)) = ze.and_then(|ze| {
        let ka = crate::calc::fault_current_ka(f64_of(supply.u0_v), f64_of(ze)).ok()?;
        Some((ze, ka))
    }) else {
        return Ok(rule);
    };
    // On TT a few amperes: they need their digits.
    let shown = rounded(ka, if ka < 0.1 { 4 } else { 2 });
    rule.expected =
        shown.map(|ka| format!("L-E about {ka} kA from Ze {ze} Ω; L-N the same or more"));
    // Only the loop that Ze was read in is known as a number.
    if test == Test::PfcLe {
        rule.expected_value = rounded(ka, 6);
    }
    Ok(rule)
}

fn read(readings: &Readings, test: Test) -> Option<Decimal> {
    readings.value(test)?.number()
}

/// Least and most of the current between lines as a multiple of that to the neutral.
fn between_lines<'a>(judge: &Judge<'a>, ln: Decimal) -> Option<(&'a Arc<Limit>, &'a Arc<Limit>)> {
    let least = judge.forms.limit("cross/pfc-ll-least").ok()?;
    let most = judge.forms.limit("cross/pfc-ll-most").ok()?;
    (!ln.is_zero()).then_some((least, most))
}

/// A second look at the origin: between lines against line to neutral, and that in TN against U0 / Ze.
pub(super) fn against_other_loops(judge: &Judge<'_>, test: Test, value: &Value) -> Option<Doubt> {
    let n = value.number()?;
    let supply = &judge.job.supply;
    if test == Test::PfcLl {
        let ln = read(&supply.readings, Test::PfcLn)?;
        let (least, most) = between_lines(judge, ln)?;
        let room = judge.forms.limit("cross/pfc-ll-room").ok()?;
        let share = room.value / Decimal::ONE_HUNDRED;
        let low = ln
            .checked_mul(least.value)?
            .checked_mul(Decimal::ONE - share)?;
        let high = ln
            .checked_mul(most.value)?
            .checked_mul(Decimal::ONE + share)?;
        return (n < low || n > high).then(|| {
            Doubt::query(format!(
                "{n} kA, but L-N is {ln} kA, and between lines it is {} to {} times as much, with {} % for the readings {} to {} kA: a wrong decimal place, other leads, or one of the two through a bad contact",
                least.value.normalize(),
                most.value.normalize(),
                room.value.normalize(),
                low.round_dp(2),
                high.round_dp(2)
            )).by(least).by(most).by(room)
        });
    }
    if supply.earthing == Earthing::Tt {
        return None;
    }
    // A Ze that is a fault itself says nothing of the neutral.
    let ze = read(&supply.readings, Test::Ze).filter(|ze| !impedance::is_far(judge, *ze))?;
    let gives = crate::calc::fault_current_ka(f64_of(supply.u0_v), f64_of(ze)).ok()?;
    let above = judge.forms.limit("cross/pfc-ln-above-ze").ok()?;
    let below = judge.forms.limit("cross/pfc-ln-below-ze").ok()?;
    let (factor, words) = if f64_of(n) > gives * above.f64() {
        (above, "as much")
    } else if f64_of(n) * below.f64() < gives {
        (below, "less")
    } else {
        return None;
    };
    Some(Doubt::query(format!(
        "{n} kA, but Ze {ze} Ω gives {} kA: more than {} times {words} [{}]: a wrong decimal place, a bad neutral or earth, or one of the two was read through a bad contact",
        rounded(gives, 3)?,
        factor.value.normalize(),
        factor.source.mark
    )).by(factor))
}

/// At a board: the device with the lowest breaking capacity has to break it.
pub(super) fn board(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Board(board) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let weakest = board
        .circuits
        .iter()
        .filter_map(|c| c.device.as_ref().map(|d| (d.breaking_ka, c)))
        .min_by_key(|(ka, _)| *ka);
    let three = board.phases == Phases::Three;
    let rule = match weakest {
        Some((ka, circuit)) => match conditional(board, ka) {
            Some(together) => at_most(judge, together, three, CONDITIONAL),
            None => at_most(
                judge,
                ka,
                three,
                &format!(
                    "lowest breaking capacity on the board, circuit {} {}",
                    circuit.id, circuit.name
                ),
            ),
        },
        None => Ok(Rule::free(
            "no device is recorded; record the largest of L-N, L-E and L-L",
        )),
    }?;
    let Some(origin) = at_origin(judge, board) else {
        return Ok(match behind_sub_mains(judge, board) {
            Some((words, ka)) => rule.expecting(Some(words)).near(Some(ka)),
            None => rule,
        });
    };
    let words = format!("up to the {origin} kA at the origin, less by the tails");
    Ok(rule.expecting(Some(words)).near(Some(origin)))
}

/// The largest fault current read at the origin, for a board that is there.
fn at_origin(judge: &Judge<'_>, board: &Board) -> Option<Decimal> {
    if !board.fed_from.is_empty() {
        return None;
    }
    let tests: &[Test] = if board.phases == Phases::Three {
        &[Test::PfcLn, Test::PfcLe, Test::PfcLl]
    } else {
        &[Test::PfcLn, Test::PfcLe]
    };
    let supply = &judge.job.supply;
    let read = |t: &Test| supply.readings.value(*t).and_then(|v| v.number());
    tests.iter().filter_map(read).max()
}

/// What a board behind sub-mains should read: the loop at the origin and both live conductors of every sub-main by length,
/// added up.
fn behind_sub_mains(judge: &Judge<'_>, board: &Board) -> Option<(String, Decimal)> {
    if board.fed_from.is_empty() {
        return None;
    }
    let supply = &judge.job.supply;
    let (test, volts) = if board.phases == Phases::Three {
        // Between lines, √3 × U0, which is twice the line factor.
        let factor = judge.forms.limit("supply/line-factor").ok()?.f64();
        (Test::PfcLl, f64_of(supply.u0_v) * 2.0 * factor)
    } else {
        (Test::PfcLn, f64_of(supply.u0_v))
    };
    let origin = supply.readings.value(test)?.number()?;
    let mut ohm = volts / (f64_of(origin) * 1000.0);
    let mut added = 0.0;
    let mut at = board;
    for depth in 0.. {
        if at.fed_from.is_empty() {
            break;
        }
        if depth == DEEPEST {
            return None;
        }
        let (feeding, sub_main) = judge.circuit(&at.fed_from)?;
        added += 2.0 * continuity::line_ohm(judge, sub_main.cable.as_ref()?)?;
        at = feeding;
    }
    ohm += added;
    let ka = rounded(crate::calc::fault_current_ka(volts, ohm).ok()?, 2)?;
    let words = format!(
        "about {ka} kA: {origin} kA at the origin, and {} Ω of sub-main, there and back by length",
        rounded(added, 3)?.normalize()
    );
    Some((words, ka))
}

const CONDITIONAL: &str =
    "rated conditional current of the whole board with the cut-out, as its maker states it";

/// The conditional current of the whole board, where it is more than what a device can break alone.
fn conditional(board: &Board, device_ka: Decimal) -> Option<Decimal> {
    board.conditional_ka.filter(|ka| *ka > device_ka)
}

/// A second look: L-E against U0 / Ze, and a board at the origin against the origin.
pub(super) fn second_look(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    let n = value.number()?;
    let supply = &judge.job.supply;
    match seat.owner {
        Owner::Supply(_) if test == Test::PfcLe => {
            let ze = supply.readings.value(Test::Ze)?.number()?;
            let ka = crate::calc::fault_current_ka(f64_of(supply.u0_v), f64_of(ze)).ok()?;
            if n.is_zero() {
                return None;
            }
            let tolerance = judge.forms.limit("supply/pfc-tolerance").ok()?;
            let factor = judge.forms.limit("supply/pfc-high-factor").ok()?;
            // A small current is shown with few digits: half of the last one is nobody's mistake.
            let digit = 0.5 * 10_f64.powi(-i32::try_from(n.scale()).ok()?);
            let gives = rounded(ka, 3).unwrap_or_default();
            let read = f64_of(n);
            // Bonding is off for Ze and on for this: higher is a parallel path, lower is not.
            if read < ka * (1.0 - tolerance.f64() / 100.0) - digit {
                Some(Doubt::query(format!(
                    "{n} kA, but Ze {ze} Ω gives {gives} kA: more than {} % lower [{}]: a wrong decimal place, or one of the two was read with other leads",
                    tolerance.value.normalize(),
                    tolerance.source.mark
                )).by(tolerance))
            } else if read > ka * factor.f64() + digit {
                Some(Doubt::query(format!(
                    "{n} kA, but Ze {ze} Ω gives {gives} kA: more than {} times as much [{}], which parallel paths don't explain: a wrong decimal place, or Ze was read with a bad contact",
                    factor.value.normalize(),
                    factor.source.mark
                )).by(factor))
            } else {
                None
            }
        }
        Owner::Board(board) if board.fed_from.is_empty() => {
            let origin = at_origin(judge, board)?;
            let share = judge.forms.limit("supply/pfc-board-share").ok()?;
            let least = origin * share.value / Decimal::ONE_HUNDRED;
            if n < least {
                return Some(Doubt::query(format!(
                        "{n} kA is less than {} % of the {origin} kA at the origin, which feeds this board [{}]: a wrong decimal place, or a loose tail",
                        share.value.normalize(),
                        share.source.mark
                    )).by(share));
            }
            read_to_neutral(judge, board, n).or_else(|| above_origin(judge, board, n, origin))
        }
        _ => None,
    }
}

/// What a three-phase board reads where the leads were on line and neutral: no more than the origin does there, which is nothing
/// like the current between lines.
fn read_to_neutral(judge: &Judge<'_>, board: &Board, n: Decimal) -> Option<Doubt> {
    if board.phases != Phases::Three {
        return None;
    }
    let supply = &judge.job.supply.readings;
    let ln = read(supply, Test::PfcLn)?;
    let like = judge.forms.limit("cross/pfc-like-ln").ok()?;
    let share = like.value / Decimal::ONE_HUNDRED;
    let most = ln.checked_mul(Decimal::ONE + share)?;
    let is_like = match read(supply, Test::PfcLl) {
        // Where the neutral is that good, nothing tells the two apart.
        Some(ll) => n <= most && ll > most && (n - ln).abs() < (n - ll).abs(),
        None => n <= most && n >= ln.checked_mul(Decimal::ONE - share)?,
    };
    is_like.then(|| {
        Doubt::query(format!(
            "{n} kA is what line to neutral reads at the origin, {ln} kA: on a three-phase board the current between lines is wanted, of which a fault of all three lines is made (common practice without it: twice L-N)"
        ))
        .by(like)
    })
}

/// More at a board than the origin has to give. Only where the loop that gives the most was read at the origin as a number.
fn above_origin(judge: &Judge<'_>, board: &Board, n: Decimal, origin: Decimal) -> Option<Doubt> {
    let largest = match board.phases {
        Phases::Three => Test::PfcLl,
        Phases::Single => Test::PfcLn,
    };
    judge.job.supply.readings.value(largest)?.number()?;
    let factor = judge.forms.limit("supply/pfc-board-most").ok()?;
    let most = origin.checked_mul(factor.value)?;
    (n > most).then(|| {
        Doubt::query(format!(
            "{n} kA is more than {} times the {origin} kA at the origin, which feeds this board [{}]: a wrong decimal place in one of the two, or the origin was read through a bad contact",
            factor.value.normalize(),
            factor.source.mark
        ))
        .by(factor)
    })
}

/// The highest reading that `breaking_ka` allows. Between lines an instrument reads the current of two lines; the fault
/// of all three is larger by the line factor, and that is what has to be broken.
fn at_most(judge: &Judge<'_>, breaking_ka: Decimal, three_phase: bool, what: &str) -> Ruled {
    if !three_phase {
        let mut rule = Rule::free(format!("{what}, {} kA", breaking_ka.normalize()));
        rule.bound = Bound::AtMost(breaking_ka);
        return Ok(rule);
    }
    let factor = judge.forms.limit("supply/line-factor")?;
    let most = (breaking_ka * factor.value).round_dp_with_strategy(2, RoundingStrategy::ToZero);
    Ok(Rule::of(
        Bound::AtMost(most),
        format!(
            "{what}, {} kA × {}: a fault of all three lines is the reading between lines / {}",
            breaking_ka.normalize(),
            factor.value,
            factor.value
        ),
        factor,
    ))
}

/// The largest fault current read at the origin that the cut-out can break: more than that is a fault there, or a slip.
fn sound_at_origin(judge: &Judge<'_>) -> Option<Decimal> {
    let sound = |test: Test| {
        let ka = read(&judge.job.supply.readings, test)?;
        let most = origin(judge, test).ok()?.bound.highest()?;
        (ka <= most).then_some(ka)
    };
    [Test::PfcLn, Test::PfcLe, Test::PfcLl]
        .into_iter()
        .filter_map(sound)
        .max()
}

/// Whether something speaks against what was read at a board.
fn is_doubtful(judge: &Judge<'_>, board: &Board, ka: Decimal) -> bool {
    let seat = Seat {
        top: &board.id,
        part: None,
        owner: Owner::Board(board),
        readings: &board.readings,
    };
    second_look(judge, &seat, Test::Pfc, &Value::Number(ka)).is_some()
}

/// Each device against the fault current at its board, or at the origin where the board's isn't taken yet.
pub(super) fn breaking_capacity(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let device = circuit.device.as_ref()?;
    let supply = &judge.job.supply.readings;
    let here = read(&board.readings, Test::Pfc);
    let at_origin = [Test::PfcLn, Test::PfcLe, Test::PfcLl]
        .into_iter()
        .filter_map(|t| read(supply, t))
        .max();
    // A reading that is in doubt makes no device fit.
    let instead = here.and_then(|ka| {
        let origin = sound_at_origin(judge).filter(|origin| *origin > ka)?;
        is_doubtful(judge, board, ka).then(|| {
            let words = format!("the origin ({ka} kA of {}/pfc is in doubt)", board.id);
            (origin, words)
        })
    });
    let (read_ka, whence) = match (instead, here) {
        (Some(instead), _) => instead,
        (None, Some(ka)) => (ka, format!("{}/pfc", board.id)),
        (None, None) => (at_origin?, "the origin".to_string()),
    };
    let (ka, how) = if board.phases == Phases::Three {
        let factor = judge.forms.limit("supply/line-factor").ok()?.value;
        let ka = (read_ka / factor).round_dp_with_strategy(2, RoundingStrategy::AwayFromZero);
        (
            ka,
            format!("{read_ka} kA read at {whence}, / {factor} for a fault of all three lines"),
        )
    } else {
        (read_ka, format!("read at {whence}"))
    };
    let mut rule = Rule::free(format!(
        "fault current {ka} kA, {how}; measured, not the design maximum"
    ));
    rule.bound = Bound::AtLeast(ka);
    rule = rule.with_all(&judge.entries(if board.phases == Phases::Three {
        &["supply/line-factor"]
    } else {
        &[]
    }));
    let together = conditional(board, device.breaking_ka);
    let breaks = together.unwrap_or(device.breaking_ka);
    let mut outcome = compare(&rule, &Value::Number(breaks), Unit::KiloAmp, None);
    if let Some(together) = together {
        outcome.why = format!(
            "{}; {} kA is the {CONDITIONAL}, the device alone breaks {} kA",
            outcome.why,
            together.normalize(),
            device.breaking_ka.normalize()
        );
    } else if outcome.verdict == Verdict::Outside {
        outcome.why = format!(
            "{} can break {} kA; the fault current is {ka} kA, {how}",
            device.describe(),
            device.breaking_ka.normalize()
        );
    }
    let value = breaks.normalize().to_string();
    Some(judge.derived(seat, Test::BreakingCapacity, value, &rule, outcome))
}
