//! What is left before leaving: outside, open, queried, close.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::checks::{Finding, Verdict};
use crate::screen::state::State;

use super::{reading, style, text};

const WAITING: &str = "to countersign";

/// Draws the list and the selected line in full.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let selected = state.left_at(state.left_line);
    let mut detail = selected.map_or_else(Vec::new, |f| {
        let mut lines = vec![
            Line::from(text::ruled("", width)),
            Line::styled(text::cut(&title(state, f), width), style::strong()),
        ];
        lines.extend(reading::signed_lines(state, f, width));
        lines.extend(reading::verdict_lines(
            state,
            f,
            "",
            &f.source_text(),
            width,
        ));
        lines
    });
    let [head, list, foot] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(detail.len()).unwrap_or(0)),
    ])
    .horizontal_margin(1)
    .areas(area);
    frame.render_widget(Paragraph::new(head_lines(state, width)), head);
    if state.left_count() == 0 {
        frame.render_widget(
            Paragraph::new("Nothing is outside, open, to countersign, queried or close."),
            list,
        );
    } else {
        let rows = usize::from(list.height);
        let (at, all) = (
            line_of(state, state.left_line),
            line_of(state, state.left_count()),
        );
        let top = text::window(at, rows, all);
        let below = all.saturating_sub(top + rows);
        if let Some(rule) = detail.first_mut().filter(|_| below > 0) {
            *rule = Line::from(text::ruled(&format!("{below} more lines: Down"), width));
        }
        let shown = grouped(state, top, rows, width);
        frame.render_widget(Paragraph::new(shown), list);
        text::point(frame, list, at, top);
    }
    frame.render_widget(Paragraph::new(detail), foot);
}

/// Where a line stands in the list: under one head, or under both.
fn line_of(state: &State, line: usize) -> usize {
    let blocking = state.tally.holding_up;
    line + 1 + usize::from(blocking > 0 && line >= blocking && blocking < state.left_count())
}

/// Lines of the list under its two heads, from `top` on; the others aren't made.
fn grouped(state: &State, top: usize, rows: usize, width: usize) -> Vec<Line<'static>> {
    let (blocking, all) = (state.tally.holding_up, state.left_count());
    let waiting = state.tally.waiting > 0;
    let column = if waiting { WAITING.len() + 3 } else { 10 };
    let mut lines = Vec::with_capacity(rows + 2);
    // As many lines above as there may be heads.
    let first = top.saturating_sub(2);
    let mut at = line_of(state, first);
    for (i, f) in state.left_from(first).take(rows + 2) {
        let head = if i == blocking {
            Some(format!("weakens it ({})", all - blocking))
        } else if i == 0 {
            Some(format!("blocks the certificate ({blocking})"))
        } else {
            None
        };
        if let Some(head) = head {
            lines.push((
                at - 1,
                Line::styled(text::ruled(&head, width), style::strong()),
            ));
        }
        let selected = i == state.left_line;
        lines.push((at, line(state, f, selected, column, width)));
        at = line_of(state, i + 1);
    }
    let shown = lines
        .into_iter()
        .filter(|(at, _)| (top..top + rows).contains(at));
    shown.map(|(_, line)| line).collect()
}

fn line(state: &State, f: &Finding, selected: bool, column: usize, width: usize) -> Line<'static> {
    let pointer = if selected { ">" } else { " " };
    let look = style::verdict(f.verdict, state.colour);
    let place = if width < 100 { 21 } else { 30 };
    let value = f
        .value
        .as_ref()
        .map_or(String::new(), |_| format!("{}  ", f.value_text()));
    Line::from(vec![
        Span::styled(format!("{pointer} "), style::strong()),
        Span::styled(
            text::pad(&format!("{} {}", f.verdict.mark(), word(f)), column),
            look,
        ),
        Span::raw(text::pad(&f.place.to_string(), place) + " "),
        Span::raw(text::cut(
            &format!("{value}{}{}", also(f), title(state, f)),
            width.saturating_sub(place + 3 + column),
        )),
    ])
}

/// What a line stands in the list for.
fn word(f: &Finding) -> &'static str {
    if f.waits_for_countersign && !f.verdict.blocks() {
        WAITING
    } else {
        f.verdict.word()
    }
}

/// What waits for a countersign besides being outside; what is queried or close besides waiting.
fn also(f: &Finding) -> String {
    match (f.waits_for_countersign, f.verdict) {
        (true, Verdict::Outside | Verdict::Open) => format!("{WAITING}  "),
        (true, Verdict::Query | Verdict::Close) => format!("{}  ", f.verdict),
        _ => String::new(),
    }
}

fn head_lines(state: &State, width: usize) -> Vec<Line<'static>> {
    let of = |v: Verdict| state.tally.verdicts.get(&v).copied().unwrap_or(0);
    let blocks = of(Verdict::Outside) + of(Verdict::Open);
    let waiting = state.tally.waiting;
    let sentence = if waiting > 0 {
        let all = state.tally.holding_up;
        let goes = if state.is_qualified() {
            "Ctrl-O, then c"
        } else {
            "F6, c"
        };
        format!("{all} block, {waiting} of them to countersign ({goes}). Enter goes there.")
    } else if blocks == 0 && state.tally.unsigned > 0 {
        "A signature is queried: F4 lists it; sign again once all is settled.".to_string()
    } else if blocks == 0 {
        "Nothing blocks the certificate. Settle each query before signing; F5 drafts.".to_string()
    } else {
        format!("{blocks} block the certificate: outside and open ones. Enter goes there.")
    };
    vec![
        Line::styled(
            text::ends(
                "Left to do before leaving",
                &format!(
                    "{} outside  {} open  {} query  {} close",
                    of(Verdict::Outside),
                    of(Verdict::Open),
                    of(Verdict::Query),
                    of(Verdict::Close)
                ),
                width,
            ),
            style::strong(),
        ),
        Line::from(text::cut(&sentence, width)),
    ]
}

fn title(state: &State, f: &Finding) -> String {
    let owner = state
        .job
        .seat(&f.place)
        .map_or(String::new(), |s| s.title());
    format!("{} · {owner}", f.place.test.heading())
}
