//! What the network operator has to accept before, and be told after, the first running.

use chrono::Days;

use super::rule::Outcome;
use super::{Bound, Finding, Judge, Rule, Verdict, connection};
use crate::calc::Procedure;
use crate::job::{Seat, Test};

/// The sum of everything on the premises, and whether the operator accepted it where that comes first.
pub(super) fn connection_of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    if judge.job.inverters.is_empty() {
        return None;
    }
    let of = |rule: &Rule, value: String, verdict, why: String| {
        let outcome = Outcome::plain(verdict, why);
        Some(judge.derived(seat, Test::Connection, value, rule, outcome))
    };
    let unknown = Rule::free("sum of all generation and storage on the premises, per phase");
    let edge = match judge.forms.limit("grid/g98-up-to") {
        Ok(edge) => edge,
        Err(missing) => {
            let why = format!("can't be judged: {missing}");
            return of(&unknown, "–".into(), Verdict::Query, why);
        }
    };
    let Some(all) = connection(judge.job, judge.forms) else {
        let why = "can't be judged: a rated current is out of range".into();
        return of(&unknown, "–".into(), Verdict::Query, why);
    };
    let most = all
        .sums
        .iter()
        .map(|(_, sum)| *sum)
        .max()
        .unwrap_or_default();
    let value = most.normalize().to_string();
    let each: Vec<String> = all
        .sums
        .iter()
        .map(|(line, sum)| format!("{} {} A", line.name(), sum.normalize()))
        .collect();
    let grid = &judge.job.grid;
    let before = match grid.existing.len() {
        0 if grid.existing_none => "there was nothing before".to_string(),
        0 => "nothing is recorded that was there before".to_string(),
        n => format!("with {n} recorded as there before"),
    };
    let how = format!(
        "sum of all generation and storage per phase: {}; {before}",
        each.join(", ")
    );
    let edge_a = edge.value.normalize();
    if all.procedure == Procedure::G98 {
        let rule = Rule::of(Bound::AtMost(edge.value), how, edge);
        if grid.existing.is_empty() && !grid.existing_none {
            let why = format!(
                "{value} A is not above {edge_a} A, and whether there was other generation or storage before isn't recorded: list it in `existing`, or put `existing_none: true`"
            );
            return of(&rule, value, Verdict::Query, why);
        }
        let why =
            format!("{value} A is not above {edge_a} A: G98, the operator is told afterwards");
        return of(&rule, value, Verdict::Within, why);
    }
    let rule = Rule::of(
        Bound::Words(format!("above {edge_a} A: accepted first")),
        how,
        edge,
    );
    let ran = judge.running().first_parallel();
    let (verdict, why) = match (grid.accepted, ran) {
        (None, _) => (
            Verdict::Outside,
            format!(
                "{value} A is above {edge_a} A: G99, the operator accepts it before it is connected, and no acceptance is recorded (`accepted`, `acceptance`)"
            ),
        ),
        (Some(day), Some((first, place))) if day > *first => (
            Verdict::Outside,
            format!(
                "accepted on {day}, and it ran on {first} ({place}): G99 is accepted before it is connected"
            ),
        ),
        (Some(day), _) if grid.acceptance.trim().is_empty() => (
            Verdict::Query,
            format!(
                "accepted on {day}, without a reference: record `acceptance` from the operator's letter"
            ),
        ),
        (Some(day), _) => (
            Verdict::Within,
            format!(
                "{value} A is above {edge_a} A: G99, accepted on {day} as {}",
                grid.acceptance.trim()
            ),
        ),
    };
    of(&rule, value, verdict, why)
}

/// The day by which the operator has to know that it runs; nothing to say before it does.
pub(super) fn notification(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let (first, place) = judge.running().first_parallel()?;
    let told = judge.job.grid.notified;
    let value = told.map_or_else(|| "not yet told".to_string(), |day| day.to_string());
    let outcome = |verdict, why: String| Outcome::plain(verdict, why);
    let days = match judge.forms.limit("grid/notify") {
        Ok(days) => days,
        Err(missing) => {
            let rule = Rule::free("days until the operator is told");
            let outcome = outcome(Verdict::Query, format!("can't be judged: {missing}"));
            return Some(judge.derived(seat, Test::Notification, value, &rule, outcome));
        }
    };
    use rust_decimal::prelude::ToPrimitive;
    let last = days
        .value
        .floor()
        .to_u64()
        .and_then(|n| first.checked_add_days(Days::new(n)));
    let Some(last) = last else {
        let rule = Rule::free("days until the operator is told");
        let outcome = outcome(
            Verdict::Query,
            "can't be judged: the day is out of range".into(),
        );
        return Some(judge.derived(seat, Test::Notification, value, &rule, outcome));
    };
    let rule = Rule::of(
        Bound::Words(format!("by {last}")),
        format!(
            "{first}, when it first ran ({place}), and {} days",
            days.value.normalize()
        ),
        days,
    );
    let outcome = match told {
        None => outcome(
            Verdict::Within,
            format!("to be told by {last}: record the day in `notified`"),
        ),
        Some(day) if day > last => outcome(
            Verdict::Outside,
            format!("told on {day}, after {last}: tell the operator why"),
        ),
        Some(day) if day < *first => outcome(
            Verdict::Query,
            format!(
                "told on {day}, before it ran on {first}: an application is not the notice that it runs"
            ),
        ),
        Some(day) => outcome(Verdict::Within, format!("told on {day}, by {last}")),
    };
    Some(judge.derived(seat, Test::Notification, value, &rule, outcome))
}
