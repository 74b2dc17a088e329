//! Test leads that were not nulled: the same few tenths of an ohm too much in every reading.

use std::collections::HashMap;

use rust_decimal::Decimal;

use super::{Doubt, Judge, continuity, f64_of, rounded, tree};
use crate::job::{Board, Owner, Reading, Seat, Test, Value};

/// How far readings of R1+R2 of a board lie above what their cables should have, by instrument; only where that is as much as
/// leads have that were not nulled.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Leads(HashMap<Option<String>, Group>);

/// Readings of one instrument on one board.
#[derive(Debug, Default, PartialEq)]
struct Group {
    /// Circuit and what it reads above its expectation, Ω.
    above: Vec<(String, f64)>,
    /// Middle of them, Ω.
    median: f64,
    /// Those within the spread of the middle.
    alike: Vec<String>,
}

impl Leads {
    /// Of a board.
    pub(super) fn of(judge: &Judge<'_>, board: &Board) -> Leads {
        let Ok(least) = judge.forms.limit("cross/leads-offset") else {
            return Leads::default();
        };
        let mut out: HashMap<Option<String>, Group> = HashMap::new();
        for circuit in &board.circuits {
            let Some(entry) = circuit.readings.get(Test::R1r2) else {
                continue;
            };
            let read = entry.now.value(Test::R1r2).ok().and_then(|v| v.number());
            let expected = continuity::from_length(judge, &tree::seat(board, circuit));
            if let Some((read, expected)) = read.zip(expected) {
                let above = (circuit.id.clone(), f64_of(read) - expected);
                let group = out.entry(entry.now.instrument.clone()).or_default();
                group.above.push(above);
            }
        }
        let spread = spread(judge);
        for group in out.values_mut() {
            let mut sorted: Vec<f64> = group.above.iter().map(|(_, x)| *x).collect();
            sorted.sort_by(f64::total_cmp);
            let middle = |i: usize| sorted.get(i).copied().unwrap_or_default();
            let n = sorted.len();
            group.median = (middle(n / 2) + middle(n.saturating_sub(1) / 2)) / 2.0;
            group.alike = group
                .above
                .iter()
                .filter(|(_, x)| (x - group.median).abs() <= spread)
                .map(|(id, _)| id.clone())
                .collect();
        }
        out.retain(|_, group| group.median >= least.f64() - ROUNDING);
        Leads(out)
    }
}

fn spread(judge: &Judge<'_>) -> f64 {
    let limit = judge.forms.limit("cross/leads-spread");
    limit.map_or(0.0, |l| l.f64()) + ROUNDING
}

/// Sums of decimals as f64 miss their edge by less than this, Ω.
const ROUNDING: f64 = 1e-6;

/// A reading of R1+R2 that lies above its expectation by as much as most others of its board.
pub(super) fn not_nulled(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    value: &Value,
    reading: &Reading,
) -> Option<Doubt> {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return None;
    };
    let least = judge.forms.limit("cross/leads-offset").ok()?;
    let count = judge.forms.limit("cross/leads-circuits").ok()?;
    let limit = judge.forms.limit("cross/leads-spread").ok()?;
    let mine = f64_of(value.number()?) - continuity::from_length(judge, seat)?;
    let group = judge.leads(board)?.0.get(&reading.instrument)?;
    let id = circuit.id.as_str();
    let mut alike: Vec<&str> = group.alike.iter().map(String::as_str).collect();
    alike.retain(|c| *c != id);
    let of_all = group.above.len();
    let is_new = !group.above.iter().any(|(c, _)| *c == id);
    alike.push(id);
    let most = alike.len() * 4 >= (of_all + usize::from(is_new)) * 3;
    let fits = (mine - group.median).abs() <= spread(judge);
    let enough = Decimal::from(alike.len()) >= count.value && most;
    if !fits || !enough {
        return None;
    }
    Some(
        Doubt::query(format!(
            "{} Ω above what the cable gives, as {} circuits of {} are (about {} Ω each): leads not nulled? Null them and read again",
            rounded(mine, 2)?,
            alike.len(),
            board.id,
            rounded(group.median, 2)?
        ))
        .by(least)
        .by(limit)
        .by(count),
    )
}
