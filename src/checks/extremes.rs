//! Readings that say the same whatever the limit: an open conductor or earth, and a zero that can't be.

use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, f64_of};
use crate::job::{Earthing, Test, Value};

/// Judged before any limit is looked up, so that no gap in the files can hide it: a conductor or an earth that reads
/// over range is open, a string that gives nothing is dead.
///
/// On TT the resistance of an electrode may be large: there the end of the scale is compared with the limit, if there
/// is one.
pub(super) fn outright(
    judge: &Judge<'_>,
    test: Test,
    value: &Value,
    rule: Option<&Rule>,
) -> Option<Doubt> {
    match (test, value) {
        (
            Test::Continuity | Test::R1 | Test::Rn | Test::R2 | Test::RingLn | Test::R1r2,
            Value::OverRange(end),
        ) => Some(Doubt::outside(format!(
            "over range (>{end} Ω): {}",
            open_conductor(test)
        ))),
        (Test::Ra | Test::Ze | Test::Zdb | Test::Zs, Value::OverRange(end)) => {
            let limited = rule.is_some_and(|r| matches!(r.bound, Bound::AtMost(_)));
            if limited && judge.job.supply.earthing == Earthing::Tt {
                return None;
            }
            Some(Doubt::outside(format!(
                "over range (>{end} Ω): more than the range that is set, or no earth return: take a higher range; where it stays, the earth or the cpc is open"
            )))
        }
        (Test::PfcLn | Test::PfcLl | Test::Pfc, Value::Number(_) | Value::UnderRange(_))
            if no_current(judge, value) =>
        {
            let fault = Doubt::outside(format!(
                "{}: nothing measured; no supply was on, or the leads or the range are wrong",
                test.unit().with(value)
            ));
            Some(fault.by_all(&judge.entries(match value {
                Value::UnderRange(_) => &["supply/pfc-dead"],
                _ => &[],
            })))
        }
        (Test::Voc | Test::Isc, Value::Number(n)) if n.is_zero() => Some(Doubt::outside(
            "nothing is read: a connector, fuse or module of the string is open, or the leads are",
        )),
        _ => None,
    }
}

/// Zero, or under a range that starts where no supply ends.
fn no_current(judge: &Judge<'_>, value: &Value) -> bool {
    let dead = || judge.forms.limit("supply/pfc-dead").map(|l| l.value);
    match value {
        Value::Number(n) => n.is_zero(),
        Value::UnderRange(end) => dead().is_ok_and(|edge| *end <= edge),
        _ => false,
    }
}

fn open_conductor(test: Test) -> &'static str {
    match test {
        Test::Continuity => "the conductor is open, or a clamp has no contact",
        Test::R1r2 => "line or cpc is open, or the link at the board is missing",
        _ => "the ring is open",
    }
}

/// Zero, or less than the instrument reads, where there is always something.
pub(super) fn nothing(judge: &Judge<'_>, test: Test, value: &Value) -> Option<Doubt> {
    let shown = match value {
        Value::Number(n) if n.is_zero() => n.to_string(),
        Value::UnderRange(end) => format!("<{end}"),
        _ => return None,
    };
    let always = match test {
        Test::Ze | Test::Zdb | Test::Zs | Test::Ra => true,
        Test::RcdTime | Test::RcdFive => true,
        Test::PfcLe => !small_on_tt(judge, value),
        Test::PfcLn | Test::PfcLl | Test::Pfc => true,
        // Short conductors read less than the instrument resolves; a whole ring doesn't.
        Test::R1 | Test::Rn | Test::R2 | Test::RingLn => true,
        _ => false,
    };
    let why = match value {
        Value::UnderRange(_) => {
            "under the scale says nothing here: type the figure that is shown, or look at leads and range"
        }
        _ => "zero can't be: leads, range or typing",
    };
    always.then(|| Doubt::query(format!("{}: {why}", test.unit().with(shown))))
}

/// On TT the earth fault current is a few amperes: below the scale of many instruments.
fn small_on_tt(judge: &Judge<'_>, value: &Value) -> bool {
    let supply = &judge.job.supply;
    let ze = supply.readings.value(Test::Ze).and_then(|v| v.number());
    // What the display could have shown at least: its lower end, or one in the last digit.
    let least = match value {
        Value::UnderRange(end) => *end,
        Value::Number(n) if n.is_zero() => Decimal::new(1, n.scale()),
        _ => return false,
    };
    supply.earthing == Earthing::Tt
        && ze.is_some_and(|ze| {
            crate::calc::fault_current_ka(f64_of(supply.u0_v), f64_of(ze))
                .is_ok_and(|ka| ka < f64_of(least))
        })
}
