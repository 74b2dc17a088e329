//! RCD operating times.

use super::{Bound, Judge, Rule, Ruled};
use crate::job::{Owner, Rcd, Seat, Test};

/// Time window by kind of RCD and multiple of IΔn.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    let Some(rcd) = rcd_of(seat) else {
        return Ok(Rule::free("no RCD is recorded here"));
    };
    let forms = judge.forms;
    let kind = if rcd.selective { "s" } else { "general" };
    let idn = |k: &str| {
        format!(
            "{k} × {} mA, {}, one a.c. test whatever the type; the longer of 0° and 180°",
            rcd.idn_ma.normalize(),
            kind_words(rcd)
        )
    };
    match test {
        Test::RcdHalf => {
            let hold = forms.limit("rcd/half/hold")?;
            let mut rule = Rule::of(
                Bound::AtLeast(hold.value),
                format!(
                    "½ × {} mA must not trip it within {} ms",
                    rcd.idn_ma.normalize(),
                    hold.value.normalize()
                ),
                hold,
            );
            rule.expected = Some(format!("no trip: enter >{}", hold.value.normalize()));
            Ok(rule)
        }
        _ => {
            let multiple = if test == Test::RcdFive { "5x" } else { "1x" };
            let most = forms.limit(&format!("rcd/{kind}/{multiple}/max"))?;
            let bound = if rcd.selective {
                Bound::Between(
                    forms.limit(&format!("rcd/s/{multiple}/min"))?.value,
                    most.value,
                )
            } else {
                Bound::AtMost(most.value)
            };
            Ok(Rule::of(
                bound,
                idn(if multiple == "5x" { "5" } else { "1" }),
                most,
            ))
        }
    }
}

fn kind_words(rcd: &Rcd) -> &'static str {
    if rcd.selective {
        "time-delayed (S)"
    } else {
        "general"
    }
}

fn rcd_of<'a>(seat: &Seat<'a>) -> Option<&'a Rcd> {
    match seat.owner {
        Owner::Circuit(_, c) => c.rcd.as_ref(),
        Owner::Board(b) => b.rcd.as_ref(),
        _ => None,
    }
}
