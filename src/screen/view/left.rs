//! What is left before leaving: outside, open, queried, close.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::checks::{Verdict, counts};
use crate::screen::state::State;

use super::{reading, style, text};

/// Draws the list and the selected line in full.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let left = state.left();
    let selected = left.get(state.left_line);
    let detail = selected.map_or_else(Vec::new, |f| {
        let mut lines = vec![
            Line::from(text::ruled("", width)),
            Line::styled(title(state, f), style::strong()),
        ];
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
        Constraint::Length(3),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(detail.len()).unwrap_or(0)),
    ])
    .horizontal_margin(1)
    .areas(area);
    frame.render_widget(Paragraph::new(head_lines(state, width)), head);
    let rows = usize::from(list.height);
    let top = text::window(state.left_line, rows, left.len());
    let lines: Vec<Line<'static>> = left
        .iter()
        .enumerate()
        .skip(top)
        .take(rows)
        .map(|(i, f)| {
            let pointer = if i == state.left_line { ">" } else { " " };
            let look = style::verdict(f.verdict, state.colour);
            let value = f
                .value
                .as_ref()
                .map_or(String::new(), |_| format!("{}  ", f.value_text()));
            Line::from(vec![
                Span::styled(format!("{pointer} "), style::strong()),
                Span::styled(
                    text::pad(&format!("{} {}", f.verdict.mark(), f.verdict), 10),
                    look,
                ),
                Span::raw(text::pad(&f.place.to_string(), 22)),
                Span::raw(text::cut(
                    &format!("{value}{}", title(state, f)),
                    width.saturating_sub(34),
                )),
            ])
        })
        .collect();
    if lines.is_empty() {
        frame.render_widget(
            Paragraph::new("Nothing is outside, open, queried or close."),
            list,
        );
    } else {
        frame.render_widget(Paragraph::new(lines), list);
        text::point(frame, list, state.left_line, top);
    }
    frame.render_widget(Paragraph::new(detail), foot);
}

fn head_lines(state: &State, width: usize) -> Vec<Line<'static>> {
    let counts = counts(&state.findings);
    let of = |v: Verdict| counts.get(&v).copied().unwrap_or(0);
    let blocks = of(Verdict::Outside) + of(Verdict::Open);
    let sentence = if blocks == 0 {
        "Nothing blocks the certificate. Look at each query before anybody signs; F5 drafts the PDF.".to_string()
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
        Line::from(text::ruled("", width)),
    ]
}

fn title(state: &State, f: &crate::checks::Finding) -> String {
    let owner = state
        .job
        .seat(&f.place)
        .map_or(String::new(), |s| s.title());
    format!("{} · {owner}", f.place.test.heading())
}
