//! Tables for tests of several numbers: meters in their three states, and settings as read back.

use ratatui::style::Style;
use ratatui::text::{Line, Span};

use crate::checks::{Finding, transformer_order};
use crate::job::{Place, Test, Value};
use crate::screen::state::State;

use super::{style, text};

/// The table that a place belongs to, with what is typed there in it. Empty where it belongs to none.
pub(super) fn table(state: &State, place: &Place, width: usize) -> Vec<Line<'static>> {
    if place.test.is_transformer_state() {
        return transformers(state, place, width);
    }
    if place.test.is_setting() {
        return settings(state, place, width);
    }
    Vec::new()
}

/// The finding of a place as it would be with what is typed, or as it is; and whether it is only typed.
fn found(state: &State, place: &Place, here: &Place) -> Option<(Finding, bool)> {
    if place == here
        && let Some(Ok(typed)) = state.preview()
    {
        return Some((typed, true));
    }
    Some((state.finding(place)?.clone(), false))
}

/// Pointer and verdict with its mark, for the two ends of a row.
fn ends(
    state: &State,
    finding: &Finding,
    typed: bool,
    here: bool,
) -> (Span<'static>, Span<'static>) {
    let pointer = if here { "> " } else { "  " };
    let verdict = finding.verdict;
    let star = if typed { " *" } else { "" };
    (
        Span::styled(pointer, style::strong()),
        Span::styled(
            format!("{} {verdict}{star}", verdict.mark()),
            style::verdict(verdict, state.colour),
        ),
    )
}

fn transformers(state: &State, here: &Place, width: usize) -> Vec<Line<'static>> {
    const NAME: usize = 14;
    const ONE: usize = 8;
    let judge = state.checks();
    let order = transformer_order(&state.job);
    let mut heads: Vec<&str> = order.clone();
    heads.extend(["sum", "balance"]);
    let head: String = heads.iter().map(|h| format!("{h:>ONE$}")).collect();
    let mut out = vec![
        Line::from(text::ruled(
            "meters, W; balance is sum less load; * typed, not kept",
            width,
        )),
        Line::styled(format!("  {}{head}", text::pad("", NAME)), style::label()),
    ];
    for test in Test::ALL.iter().filter(|t| t.is_transformer_state()) {
        let place = here.with(*test);
        let Some((finding, typed)) = found(state, &place, here) else {
            continue;
        };
        let value = finding
            .value
            .as_ref()
            .and_then(|v| Value::parse(test.answer(), v).ok());
        let numbers = value.as_ref().and_then(|v| v.numbers()).unwrap_or_default();
        let balance = judge.transformer_balance(numbers);
        let mut cells: Vec<String> = numbers
            .iter()
            .take(order.len())
            .map(|n| n.normalize().to_string())
            .collect();
        cells.resize(order.len(), "-".into());
        let dash = || "-".to_string();
        cells.push(balance.map_or_else(dash, |b| b.sum.to_string()));
        cells.push(balance.map_or_else(dash, |b| b.off.to_string()));
        let row: String = cells
            .iter()
            .map(|c| format!("{:>ONE$}", text::cut(c, ONE - 1)))
            .collect();
        let name = match test {
            Test::CtIdle => "PV off",
            Test::CtSurplus => "PV above load",
            _ => "charging",
        };
        let (pointer, verdict) = ends(state, &finding, typed, place == *here);
        out.push(Line::from(vec![
            pointer,
            Span::raw(text::pad(name, NAME)),
            Span::raw(format!("{row}  ")),
            verdict,
        ]));
    }
    out
}

fn settings(state: &State, here: &Place, width: usize) -> Vec<Line<'static>> {
    const NAME: usize = 14;
    const READ: usize = 18;
    const WANTED: usize = 24;
    let mut out = vec![
        Line::from(text::ruled(
            "settings: edge, then seconds; * typed, not kept",
            width,
        )),
        Line::styled(
            format!(
                "  {}{}{}verdict",
                text::pad("setting", NAME),
                text::pad("as read", READ),
                text::pad("required", WANTED)
            ),
            style::label(),
        ),
    ];
    for test in Test::ALL.iter().filter(|t| t.is_setting()) {
        let place = here.with(*test);
        let Some((finding, typed)) = found(state, &place, here) else {
            continue;
        };
        let read = finding.value.clone().unwrap_or_else(|| "-".into());
        let (pointer, verdict) = ends(state, &finding, typed, place == *here);
        out.push(Line::from(vec![
            pointer,
            Span::raw(text::pad(test.heading().trim_end_matches(" set"), NAME)),
            Span::styled(text::pad(&read, READ - 1), Style::new()),
            Span::raw(format!(" {}", text::pad(&finding.limit_text(), WANTED))),
            verdict,
        ]));
    }
    out
}
