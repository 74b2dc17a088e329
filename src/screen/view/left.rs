//! What is left before leaving: outside, open, queried, close.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::checks::{Finding, Verdict, counts};
use crate::screen::state::State;

use super::{reading, style, text};

const WAITING: &str = "to countersign";

/// Draws the list and the selected line in full.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let left = state.left();
    let selected = left.get(state.left_line);
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
    if left.is_empty() {
        frame.render_widget(
            Paragraph::new("Nothing is outside, open, to countersign, queried or close."),
            list,
        );
    } else {
        let (lines, at) = grouped(state, &left, width);
        let rows = usize::from(list.height);
        let top = text::window(at, rows, lines.len());
        let below = lines.len().saturating_sub(top + rows);
        if let Some(rule) = detail.first_mut().filter(|_| below > 0) {
            *rule = Line::from(text::ruled(&format!("{below} more lines: Down"), width));
        }
        let shown: Vec<Line<'static>> = lines.into_iter().skip(top).take(rows).collect();
        frame.render_widget(Paragraph::new(shown), list);
        text::point(frame, list, at, top);
    }
    frame.render_widget(Paragraph::new(detail), foot);
}

/// The lines under their two heads, and which of them is selected.
fn grouped(state: &State, left: &[&Finding], width: usize) -> (Vec<Line<'static>>, usize) {
    let blocking = left.iter().filter(|f| f.holds_up()).count();
    let waiting = left.iter().any(|f| f.waits_for_countersign);
    let column = if waiting { WAITING.len() + 3 } else { 10 };
    let mut lines = Vec::with_capacity(left.len() + 2);
    let mut at = 0;
    for (i, f) in left.iter().enumerate() {
        let head = if i == blocking {
            Some(format!("weakens it ({})", left.len() - blocking))
        } else if i == 0 {
            Some(format!("blocks the certificate ({blocking})"))
        } else {
            None
        };
        if let Some(head) = head {
            lines.push(Line::styled(text::ruled(&head, width), style::strong()));
        }
        if i == state.left_line {
            at = lines.len();
        }
        lines.push(line(state, f, i == state.left_line, column, width));
    }
    (lines, at)
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
    let counts = counts(&state.findings);
    let of = |v: Verdict| counts.get(&v).copied().unwrap_or(0);
    let blocks = of(Verdict::Outside) + of(Verdict::Open);
    let waiting = state.findings.iter().filter(|f| f.waits_for_countersign);
    let waiting = waiting.count();
    let sentence = if waiting > 0 {
        let all = state.findings.iter().filter(|f| f.holds_up()).count();
        format!(
            "{all} block the certificate, {waiting} of them to countersign (c). Enter goes there."
        )
    } else if blocks == 0 && unsigned(state) {
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

/// Whether a signature stands that is not in order.
fn unsigned(state: &State) -> bool {
    let mut signatures = state
        .findings
        .iter()
        .filter(|f| f.place.test.is_signature());
    signatures.any(|f| f.verdict == Verdict::Query)
}

fn title(state: &State, f: &Finding) -> String {
    let owner = state
        .job
        .seat(&f.place)
        .map_or(String::new(), |s| s.title());
    format!("{} · {owner}", f.place.test.heading())
}
