//! RCDs in line: the one behind has to trip first.

use super::rule::Outcome;
use super::{Bound, Finding, Judge, Rule, Verdict};
use crate::job::{Board, Circuit, Owner, Rcd, Seat, Test};

/// An RCD ahead of others, of a board or of a circuit that feeds one, against the next ones behind it.
pub(super) fn rcds(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let (ahead, behind) = match seat.owner {
        Owner::Board(board) => (board.rcd.as_ref()?, on_board(judge, board)),
        Owner::Circuit(board, circuit) => (circuit.rcd.as_ref()?, fed(judge, board, circuit)),
        _ => return None,
    };
    let least_sensitive = behind.iter().max_by_key(|rcd| rcd.idn_ma)?;
    let factor = judge.forms.limit("rcd-selectivity/factor").ok()?;
    let asked = least_sensitive.idn_ma.saturating_mul(factor.value);
    let how = format!(
        "ahead of {}: time-delayed, and at least {} × {} mA = {} mA",
        least_sensitive.describe(),
        factor.value.normalize(),
        least_sensitive.idn_ma.normalize(),
        asked.normalize()
    );
    let mut lacks = Vec::new();
    if !ahead.selective {
        lacks.push("it isn't time-delayed (S)".to_string());
    } else if behind.iter().any(|rcd| rcd.selective) {
        lacks.push(
            "one behind it is time-delayed too: only the makers' figures show which trips first"
                .into(),
        );
    }
    if ahead.idn_ma < asked {
        lacks.push(format!(
            "{} mA is less than {} mA",
            ahead.idn_ma.normalize(),
            asked.normalize()
        ));
    }
    let outcome = if lacks.is_empty() {
        Outcome::plain(Verdict::Within, format!("{}, {how}", ahead.describe()))
    } else {
        Outcome::plain(
            Verdict::Query,
            format!(
                "{}, {how}; {}: one fault may switch off everything behind it",
                ahead.describe(),
                lacks.join("; ")
            ),
        )
    };
    let rule = Rule::of(Bound::Yes, how, factor);
    Some(judge.derived(seat, Test::RcdSelectivity, ahead.describe(), &rule, outcome))
}

/// The first RCD on every way out of a board: those behind them are for them to look at.
fn on_board<'c, 'a: 'c>(judge: &Judge<'a>, board: &'c Board) -> Vec<&'c Rcd> {
    let mut out = Vec::new();
    let mut boards = vec![board];
    // Boards that feed each other in a circle are refused where a job is read; this ends all the same.
    for _ in 0..=judge.job.boards.len() {
        let Some(board) = boards.pop() else {
            break;
        };
        for circuit in &board.circuits {
            match &circuit.rcd {
                Some(rcd) => out.push(rcd),
                None => next(judge, board, circuit, &mut boards, &mut out),
            }
        }
    }
    out
}

fn fed<'c, 'a: 'c>(judge: &Judge<'a>, board: &'c Board, circuit: &'c Circuit) -> Vec<&'c Rcd> {
    let mut boards = Vec::new();
    let mut out = Vec::new();
    next(judge, board, circuit, &mut boards, &mut out);
    for board in boards {
        out.extend(on_board(judge, board));
    }
    out
}

/// Boards that a circuit feeds: their RCD, or they themselves where they have none.
fn next<'c, 'a: 'c>(
    judge: &Judge<'a>,
    board: &Board,
    circuit: &Circuit,
    boards: &mut Vec<&'c Board>,
    out: &mut Vec<&'c Rcd>,
) {
    for fed in judge.network.boards_beyond(&board.path(circuit)) {
        match &fed.rcd {
            Some(rcd) => out.push(rcd),
            None => boards.push(fed),
        }
    }
}
