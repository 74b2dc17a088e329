//! RCD operating times.

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Doubt, Finding, Judge, Rule, Ruled, Verdict, zs};
use crate::forms::Forms;
use crate::job::{Board, Circuit, CircuitKind, Earthing, Owner, Rcd, RcdType, Seat, Test, Value};

/// Time window by kind of RCD and multiple of IΔn.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    if let (Owner::Storage(_), Test::RcdTime) = (seat.owner, test) {
        let most = judge.forms.limit("rcd/general/1x/max")?;
        return Ok(Rule::of(
            Bound::AtMost(most.value),
            "RCD of the backup output in island mode, 1 × IΔn, general; the longer of 0° and 180°",
            most,
        ));
    }
    let Some(rcd) = rcd_of(seat) else {
        return Ok(Rule::free("no RCD is recorded here").no_better_than(
            Verdict::Query,
            "no RCD is recorded here that it could be judged by",
        ));
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
            if !rcd.selective && is_to_an_old_standard(rcd) {
                let most = forms.limit(&format!("rcd/old/{multiple}/max"))?;
                let how = format!(
                    "{}, by its own standard",
                    idn(multiple.trim_end_matches('x'))
                );
                return Ok(Rule::of(Bound::AtMost(most.value), how, most));
            }
            let most = forms.limit(&format!("rcd/{kind}/{multiple}/max"))?;
            let how = idn(if multiple == "5x" { "5" } else { "1" });
            if !rcd.selective {
                return Ok(Rule::of(Bound::AtMost(most.value), how, most));
            }
            let least = forms.limit(&format!("rcd/s/{multiple}/min"))?;
            Ok(Rule::of(Bound::Between(least.value, most.value), how, most).with(least))
        }
    }
}

/// BS 4293 and BS 7288: standards before the present ones, with shorter times.
fn is_to_an_old_standard(rcd: &Rcd) -> bool {
    let mut numbers = rcd.standard.split(|c: char| !c.is_ascii_digit());
    numbers.any(|n| matches!(n, "4293" | "7288"))
}

/// A time at five times the residual current that is longer than that at once: the two were entered in each other's place, or one
/// was mistyped.
pub(super) fn slower_at_five(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    if test != Test::RcdFive {
        return None;
    }
    let five = value.number()?;
    let once = seat.readings.value(Test::RcdTime)?.number()?;
    let later = judge.forms.limit("cross/rcd-five-later").ok()?;
    (five > once.checked_add(later.value)?).then(|| {
        Doubt::query(format!(
            "{five} ms at 5 × IΔn, but {once} ms at IΔn: more current makes no RCD slower; entered in each other's place, or one mistyped"
        ))
        .by(later)
    })
}

/// An RCD that fault protection rests on, where reasons stand for its time and for its button: nothing shows that it trips.
pub(super) fn untried(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    rcd_of(seat)?;
    // What is still to be tried is open by itself.
    let button = seat.readings.value(Test::RcdButton)?;
    if !button.is_excused() || seat.readings.is_measured(Test::RcdFive) {
        return None;
    }
    let rests = if judge.job.supply.earthing == Earthing::Tt {
        "on TT fault protection rests on it".to_string()
    } else {
        let behind = judge.tree.protected_by(seat.owner);
        behind
            .into_iter()
            .find_map(|(board, circuit)| zs::rests_on_rcd(judge, board, circuit))?
    };
    Some(Doubt::query(format!(
        "neither its time nor its button was tried ({value}; button: {button}), and {rests}: nothing shows that it trips"
    )))
}

/// The type of an RCD that power of an inverter can come back through: own of a circuit, or ahead of a board.
pub(super) fn kind(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let rcd = rcd_of(seat)?;
    let tree = &judge.tree;
    let sources_behind = match seat.owner {
        Owner::Circuit(board, circuit) => tree.power_may_return(board, circuit),
        Owner::Board(board) => board
            .circuits
            .iter()
            .any(|c| tree.power_may_return(board, c)),
        _ => false,
    };
    if !sources_behind {
        return type_ac(judge, seat, rcd);
    }
    let id = if rcd.kind == RcdType::AC {
        "rcd/source/type-ac"
    } else {
        "rcd/source/declarations"
    };
    let limit = judge.forms.limit(id).ok()?;
    let rule = Rule::of(Bound::Yes, "an inverter is behind this RCD", limit);
    let declared = rcd.declaration.trim();
    let (verdict, why) = match rcd.kind {
        RcdType::AC => (
            Verdict::Outside,
            "type AC with an inverter behind it: d.c. can blind it; fit type B, or type A or F with the maker's declaration".to_string(),
        ),
        RcdType::A | RcdType::F if declared.is_empty() => (
            Verdict::Query,
            format!(
                "type {} with an inverter behind it: record the maker's declaration that type B is not needed or that the inverter separates, or fit type B",
                rcd.kind.letters()
            ),
        ),
        RcdType::A | RcdType::F => (
            Verdict::Within,
            format!("type {}, by the maker's declaration: {declared}", rcd.kind.letters()),
        ),
        RcdType::B => (Verdict::Within, "type B, for smooth d.c. too".to_string()),
    };
    let outcome = Outcome::plain(verdict, why);
    Some(judge.derived(
        seat,
        Test::RcdType,
        rcd.kind.letters().into(),
        &rule,
        outcome,
    ))
}

/// Type AC without an inverter behind it: only for fixed equipment that is known to have no d.c. Sockets that their additional
/// protection is queried for already aren't named again.
fn type_ac(judge: &Judge<'_>, seat: &Seat<'_>, rcd: &Rcd) -> Option<Finding> {
    let declared = rcd.declaration.trim();
    let (board, circuits) = match seat.owner {
        Owner::Circuit(board, circuit) => (board, std::slice::from_ref(circuit)),
        Owner::Board(board) => (board, board.circuits.as_slice()),
        _ => return None,
    };
    if rcd.kind != RcdType::AC {
        return None;
    }
    let is_named = |c: &&Circuit| {
        let known = c.kind == CircuitKind::Fixed && !declared.is_empty();
        c.kind != CircuitKind::Spare && !known
    };
    let is_queried = |c: &Circuit| {
        additional(judge, seat, board, c).is_some_and(|f| f.verdict == Verdict::Query)
    };
    let mut named = circuits.iter().filter(is_named).peekable();
    let limit = judge.forms.limit("rcd/source/type-ac").ok()?;
    let rule = Rule::of(
        Bound::Yes,
        "type AC only for fixed equipment that is known to have no d.c. in its load current",
        limit,
    );
    let is_fixed = named.peek().is_none();
    if is_fixed && declared.is_empty() {
        return None;
    }
    let (verdict, why) = if is_fixed {
        (
            Verdict::Within,
            format!("type AC, fixed equipment without d.c.: {declared}"),
        )
    } else {
        let names: Vec<String> = named
            .filter(|c| !is_queried(c))
            .map(|c| format!("{} {}", c.id, c.name))
            .collect();
        if names.is_empty() {
            return None;
        }
        (
            Verdict::Query,
            format!(
                "type AC on {}: only for fixed equipment that is known to have no d.c.; fit type A or better, or record how that is known (declaration)",
                names.join(", ")
            ),
        )
    };
    let outcome = Outcome::plain(verdict, why);
    let value = rcd.kind.letters().into();
    Some(judge.derived(seat, Test::RcdType, value, &rule, outcome))
}

/// Socket-outlets up to a rating need an RCD for additional protection, at the circuit or anywhere ahead of it.
pub(super) fn additional(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let up_to = judge.forms.limit("rcd/additional/sockets-up-to").ok()?;
    let most = judge.forms.limit("rcd/additional/idn").ok()?;
    let rated_more = |c: &Circuit| c.device.as_ref().is_some_and(|d| d.rating_a > up_to.value);
    if circuit.kind != CircuitKind::Sockets || circuit.extra_low_voltage || rated_more(circuit) {
        return None;
    }
    let asked = format!(
        "socket-outlets up to {} A: an RCD of at most {} mA that isn't time-delayed",
        up_to.value.normalize(),
        most.value.normalize()
    );
    let found = judge.tree.additional_rcd(board, circuit, most.value);
    let nearest = judge.tree.protecting_rcd(board, circuit);
    let (verdict, value, why) = match (found, nearest) {
        (Some(rcd), _) if rcd.kind == RcdType::AC => (
            Verdict::Query,
            rcd.describe(),
            format!(
                "{asked}: {}, but type AC is blind to the d.c. of much that is plugged in; type A or better",
                rcd.describe()
            ),
        ),
        (Some(rcd), _) => (
            Verdict::Within,
            rcd.describe(),
            format!("{asked}: {}", rcd.describe()),
        ),
        (None, Some(rcd)) => (
            Verdict::Outside,
            rcd.describe(),
            format!(
                "{asked}; {} doesn't give additional protection",
                rcd.describe()
            ),
        ),
        (None, None) => (
            Verdict::Outside,
            "none".into(),
            format!("{asked}; no RCD protects this circuit"),
        ),
    };
    let rule = Rule::of(Bound::Yes, asked, most).with(up_to);
    let outcome = Outcome::plain(verdict, why);
    Some(judge.derived(seat, Test::AdditionalProtection, value, &rule, outcome))
}

/// The most that an RCD for additional protection may have, mA.
pub(super) fn most_for_additional(forms: &Forms) -> Option<Decimal> {
    forms.limit("rcd/additional/idn").ok().map(|l| l.value)
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
