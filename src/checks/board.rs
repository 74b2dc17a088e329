//! What protects and isolates a board: main switch, surge protection, arc fault detection.

use rust_decimal::Decimal;

use super::network::Fed;
use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Verdict};
use crate::forms::MissingLimit;
use crate::job::{Board, Circuit, CircuitKind, Earthing, Lines, Phases, Premises};
use crate::job::{Seat, Test, Unit, Value};

/// The main switch of a board: poles that open, rated current, and, with sources, the rated current of the board.
pub(super) fn main_switch(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<Finding> {
    if board.circuits.is_empty() {
        return None;
    }
    let value = match (board.main_a, board.main_poles) {
        (Some(a), _) => a.normalize().to_string(),
        (None, _) => "not recorded".into(),
    };
    let (rule, outcome) = switch(judge, board).unwrap_or_else(|missing| {
        (
            Rule::free("main switch"),
            Outcome::plain(Verdict::Query, format!("can't be judged: {missing}")),
        )
    });
    Some(judge.derived(seat, Test::MainSwitch, value, &rule, outcome))
}

fn switch(judge: &Judge<'_>, board: &Board) -> Result<(Rule, Outcome), MissingLimit> {
    let forms = judge.forms;
    let rating = forms.limit("main-switch/rating")?;
    let (ahead, name) = match judge.circuit(&board.fed_from) {
        Some((from, circuit)) => (
            circuit.device.as_ref().map(|d| d.rating_a),
            format!("the device of {}/{}", from.id, circuit.id),
        ),
        None => (
            Some(judge.job.supply.fuse_a),
            "the cut-out fuse (a switch-fuse ahead of the board is recorded as a board with one way)"
                .into(),
        ),
    };
    let mut rule = match ahead {
        Some(a) => Rule::of(
            Bound::AtLeast(a.normalize()),
            format!("at least {} A, {name}", a.normalize()),
            rating,
        ),
        None => Rule::free("the device ahead isn't known"),
    };
    let sources = judge
        .network
        .through_board(board)
        .map_or(Decimal::ZERO, Fed::at_most);
    let (least, beside) = poles(judge, board, !sources.is_zero())?;
    rule = rule.with(least);
    let (Some(amps), Some(open)) = (board.main_a, board.main_poles) else {
        let why = format!(
            "the rated current or the poles of the main switch aren't recorded (main_a, main_poles): it must be plain what isolates {}",
            board.name
        );
        return Ok((rule, Outcome::plain(Verdict::Query, why)));
    };
    if Decimal::from(open) < least.value {
        let why = format!(
            "{open} poles open; {} are asked for: {beside}",
            least.value.normalize()
        );
        // In TN a neutral that stays linked is safe where it is reliably earthed: a question, not a fault.
        let is_question =
            open == 3 && board.phases == Phases::Three && judge.job.supply.earthing != Earthing::Tt;
        let verdict = if is_question {
            Verdict::Query
        } else {
            Verdict::Outside
        };
        if verdict == Verdict::Outside {
            return Ok((rule, Outcome::plain(verdict, why)));
        }
        let outcome = compare(&rule, &Value::Number(amps), Unit::Amp, None);
        return Ok(if outcome.verdict == Verdict::Outside {
            (rule, outcome)
        } else {
            (rule, Outcome::plain(verdict, why))
        });
    }
    let mut outcome = compare(&rule, &Value::Number(amps), Unit::Amp, None);
    let Some(ahead) = ahead else {
        outcome = Outcome::plain(Verdict::Query, "the device ahead isn't known");
        return Ok((rule, outcome));
    };
    if outcome.verdict == Verdict::Within && !(sources.is_zero() && board.board_a.is_none()) {
        let together = forms.limit("main-switch/rating-with-sources")?;
        rule = rule.with(together);
        let asked = ahead.saturating_add(sources);
        let (rated, which) = match board.board_a {
            Some(a) => (a, "the board"),
            None => (
                amps,
                "the main switch (board_a, that of the whole board, isn't recorded)",
            ),
        };
        let sum = format!(
            "{} A ahead + {} A of sources = {} A",
            ahead.normalize(),
            sources.normalize(),
            asked.normalize()
        );
        if rated < asked {
            outcome = Outcome::plain(
                Verdict::Query,
                format!(
                    "{sum}, and {which} is rated {} A: its busbars may carry the sum; look at the maker's rating",
                    rated.normalize()
                ),
            );
        } else {
            outcome.why = format!(
                "{}; {sum}, {which} is rated {} A",
                outcome.why,
                rated.normalize()
            );
        }
    }
    Ok((rule, outcome))
}

/// Poles that the main switch of a board has to open, and for what.
fn poles<'a>(
    judge: &Judge<'a>,
    board: &Board,
    with_sources: bool,
) -> Result<(&'a std::sync::Arc<crate::forms::Limit>, &'static str), MissingLimit> {
    let on_tt = judge.job.supply.earthing == Earthing::Tt;
    let (id, why) = match (board.phases, on_tt, with_sources) {
        (Phases::Single, ..) => ("single-phase", "single-phase, line and neutral"),
        (Phases::Three, true, _) => ("three-phase-tt", "three-phase on TT, neutral too"),
        (Phases::Three, false, true) => (
            "three-phase-source",
            "three-phase with sources, neutral too; it may stay linked only where it is reliably earthed",
        ),
        (Phases::Three, false, false) => ("three-phase-tn", "three-phase, every line"),
    };
    let limit = judge.forms.limit(&format!("main-switch/poles/{id}"))?;
    Ok((limit, why))
}

/// Surge protection of a board at the origin, or the reason why there is none.
pub(super) fn surge(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<Finding> {
    if !board.fed_from.is_empty() || board.circuits.is_empty() {
        return None;
    }
    let limit = judge.forms.limit("surge/at-origin").ok()?;
    let rule = Rule::of(
        Bound::Yes,
        "a surge protective device at the origin, or the reason why there is none",
        limit,
    );
    // Behind a switch-fuse it sits in the board that this feeds.
    let fed = only_way(board).and_then(|way| {
        let mut boards = judge
            .network
            .boards_beyond(&format!("{}/{}", board.id, way.id))
            .into_iter();
        boards.find(|b| !b.spd.trim().is_empty())
    });
    let none = board.no_spd.trim();
    let (value, outcome) = match (board.spd.trim(), fed) {
        ("", Some(fed)) => {
            let why = format!("in {}: {}", fed.name, fed.spd.trim());
            (fed.spd.trim(), Outcome::plain(Verdict::Within, why))
        }
        ("", None) if none.is_empty() => (
            "none",
            Outcome::plain(
                Verdict::Query,
                "no surge protective device and no reason: give its type (spd), or why there is none (no_spd), such as the owner's declaration in writing",
            ),
        ),
        ("", None) => (
            "none",
            Outcome::plain(Verdict::Excused, format!("not fitted: {none}")),
        ),
        (spd, _) => (
            spd,
            Outcome::plain(Verdict::Within, format!("fitted: {spd}")),
        ),
    };
    Some(judge.derived(seat, Test::Surge, value.to_string(), &rule, outcome))
}

/// The circuit of a board that has just one way: a switch-fuse.
pub(super) fn only_way(board: &Board) -> Option<&Circuit> {
    let mut ways = board
        .circuits
        .iter()
        .filter(|c| c.kind != CircuitKind::Spare);
    ways.next().filter(|_| ways.next().is_none())
}

/// Leads of a surge protective device, where their length is recorded.
pub(super) fn spd_leads(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<Finding> {
    let length = board.spd_lead_m?;
    let preferred = judge.forms.limit("surge/leads/preferred").ok()?;
    let most = judge.forms.limit("surge/leads/max").ok()?;
    let rule = Rule::of(
        Bound::AtMost(preferred.value),
        format!(
            "all leads of the SPD together, better up to {} m, never over {} m: their voltage adds to what the SPD lets through",
            preferred.value.normalize(),
            most.value.normalize()
        ),
        preferred,
    )
    .with(most)
    .for_guidance()
    .outside_past(Bound::AtMost(most.value));
    let outcome = compare(&rule, &Value::Number(length), Unit::Metre, None);
    let value = length.normalize().to_string();
    Some(judge.derived(seat, Test::SpdLeads, value, &rule, outcome))
}

/// Arc fault detection on circuits with socket-outlets, in premises that ask for it.
pub(super) fn afdd(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let premises = judge.job.premises;
    let asked = match premises {
        Premises::HigherRiskResidential
        | Premises::Hmo
        | Premises::StudentAccommodation
        | Premises::CareHome => true,
        Premises::Dwelling | Premises::Other => false,
    };
    let limit = judge.forms.limit("afdd/sockets-up-to").ok()?;
    let device = circuit.device.as_ref()?;
    let single = board.phases == Phases::Single || circuit.lines != Lines::All;
    let is_concerned = circuit.kind == CircuitKind::Sockets
        && single
        && !circuit.extra_low_voltage
        && device.rating_a <= limit.value;
    if !asked || !is_concerned {
        return None;
    }
    let how = format!(
        "{}: arc fault detection on single-phase circuits with socket-outlets up to {} A",
        premises.name(),
        limit.value.normalize()
    );
    let outcome = if circuit.afdd {
        Outcome::plain(Verdict::Within, "fitted")
    } else {
        Outcome::plain(Verdict::Outside, format!("not fitted; {how}"))
    };
    let value = if circuit.afdd { "fitted" } else { "none" };
    let rule = Rule::of(Bound::Yes, how, limit);
    Some(judge.derived(seat, Test::Afdd, value.into(), &rule, outcome))
}
