//! Circuits that power can come back through: devices that stand it, and poles that isolate it.

use rust_decimal::Decimal;

use super::board::only_way;
use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Verdict};
use crate::job::{Board, Circuit, Direction, Lines, Phases, Seat, Test, Unit, Value};

/// A device that is fed from both sides must be bidirectional: on a source circuit, and on one that feeds a board with
/// sources on it.
pub(super) fn both_ways(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    if !judge.tree.power_may_return(board, circuit) {
        return None;
    }
    let device = circuit.device.as_ref()?;
    let limit = judge.forms.limit("source/both-ways").ok()?;
    let mut rule = Rule::of(
        Bound::Yes,
        "power flows both ways through this device",
        limit,
    );
    let is_fuse = !device.standard.has_curve();
    let (verdict, value, why) = match device.direction {
        Direction::Unknown if is_fuse => (
            Verdict::Within,
            "bidirectional",
            "a fuse: it has no direction".to_string(),
        ),
        Direction::Bidirectional => (Verdict::Within, "bidirectional", rule.how.clone()),
        Direction::Unidirectional => (
            Verdict::Outside,
            "unidirectional",
            format!("{} is marked in/out, line/load or with an arrow and is fed from both sides: do not energise; fit a bidirectional device or keep the maker's declaration", device.describe()),
        ),
        Direction::Unknown => (
            Verdict::Query,
            "not established",
            "look for in/out, line/load or an arrow before energising: backfeeding a unidirectional device can destroy it".to_string(),
        ),
    };
    rule.how.clone_from(&why);
    Some(judge.derived(
        seat,
        Test::BothWays,
        value.into(),
        &rule,
        Outcome::plain(verdict, why),
    ))
}

/// The device of a source circuit, or of one that feeds a board with sources, has to open every live conductor.
pub(super) fn poles_open(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    if !judge.tree.power_may_return(board, circuit) {
        return None;
    }
    let device = circuit.device.as_ref()?;
    let three = board.phases == Phases::Three && circuit.lines == Lines::All;
    let id = match (three, circuit.no_neutral) {
        (true, false) => "source/poles-three-phase",
        (true, true) => "source/poles-three-phase-no-neutral",
        (false, _) => "source/poles-single-phase",
    };
    let limit = judge.forms.limit(id).ok()?;
    let rule = Rule::of(
        Bound::AtLeast(limit.value),
        "poles that open where power can come back: a neutral left connected is not isolated",
        limit,
    );
    // Of a switch-fuse the switch opens all poles, whatever the fuse in it does.
    let by_switch = board
        .main_poles
        .filter(|_| !device.standard.has_curve() && only_way(board).is_some());
    let open = by_switch.map_or(device.poles, |switch| switch.max(device.poles));
    let poles = Decimal::from(open);
    let outcome = compare(&rule, &Value::Number(poles), Unit::Count, None);
    Some(judge.derived(seat, Test::PolesOpen, poles.to_string(), &rule, outcome))
}
