//! Readings from a file: what becomes of each, and the selected one in full.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::intake::{Preview, Row};
use crate::screen::state::State;

use super::{style, text};

/// Draws the rows, and the selected one below.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let Some(preview) = &state.bring.preview else {
        return;
    };
    let width = usize::from(area.width).saturating_sub(2);
    let mut detail = vec![Line::from(text::ruled("", width))];
    if let Some(row) = preview.rows.get(state.bring.row) {
        detail.extend(in_full(state, preview, row, width));
    }
    // The list keeps half of the room.
    let most = usize::from(area.height) / 2;
    if detail.len() > most {
        detail.truncate(most.saturating_sub(1));
        detail.push(Line::from("-- more: a larger window shows it --"));
    }
    let [head, list, foot] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(detail.len()).unwrap_or(0)),
    ])
    .horizontal_margin(1)
    .areas(area);
    let title = format!("Readings from {}", preview.file_in_short());
    let marked = format!("{} of {} marked", preview.marked(), preview.rows.len());
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(text::ends(&title, &marked, width), style::strong()),
            Line::from(text::ruled(&format!("by {}", state.bring.mapping), width)),
        ]),
        head,
    );
    let room = usize::from(list.height);
    let top = text::window(state.bring.row, room, preview.rows.len());
    let lines: Vec<Line<'static>> = preview
        .rows
        .iter()
        .enumerate()
        .skip(top)
        .take(room)
        .map(|(i, row)| line(state, row, i == state.bring.row, width))
        .collect();
    frame.render_widget(Paragraph::new(lines), list);
    text::point(frame, list, state.bring.row, top);
    frame.render_widget(Paragraph::new(detail), foot);
}

fn line(state: &State, row: &Row, selected: bool, width: usize) -> Line<'static> {
    let mark = match (row.marked, row.may_be_marked()) {
        (true, _) => "[x]",
        (false, true) => "[ ]",
        (false, false) => "   ",
    };
    let (place, value) = if width < 100 { (16, 12) } else { (24, 16) };
    let verdict = row.verdict.as_ref().map(|(v, _)| *v);
    let shown = verdict.map_or(String::new(), |v| format!("{} {v}", v.mark()));
    let look = verdict.map_or(Style::new(), |v| style::verdict(v, state.colour));
    let pointer = if selected { ">" } else { " " };
    let rest = width.saturating_sub(2 + 4 + place + 1 + value + 1 + 10);
    Line::from(vec![
        Span::styled(format!("{pointer} {mark} "), style::strong()),
        Span::raw(text::pad(&row.where_to(), place) + " "),
        Span::raw(text::pad(&value_of(row), value) + " "),
        Span::styled(text::pad(&shown, 9), look),
        Span::styled(
            format!(" {}", text::cut(&row.words(), rest)),
            if selected {
                style::strong()
            } else {
                Style::new()
            },
        ),
    ])
}

/// The reading in the unit of the test, as it would be kept.
fn value_of(row: &Row) -> String {
    row.reading
        .as_ref()
        .map_or("–".to_string(), |r| r.unit.with_typed(&r.typed))
}

fn in_full(state: &State, preview: &Preview, row: &Row, width: usize) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    let instrument = row.reading.as_ref().and_then(|r| r.instrument.as_ref());
    let instrument = instrument.map_or(String::new(), |id| format!(", with {id}"));
    let noted = row.taken.noted.map_or(String::new(), |at| {
        format!(", by its clock {}", at.format("%-d %b %Y %H:%M"))
    });
    let result = row.taken.result.as_ref();
    let result = result.map_or(String::new(), |id| {
        format!(", result {}", text::cut(id, 40))
    });
    let from = format!(
        "line {}{result}, {} at {}: {}{instrument}{noted}",
        row.taken.line,
        row.taken.column,
        row.taken.called,
        // What is kept has it whole; here the rest of the row counts more.
        text::cut(&row.taken.cell, 60)
    );
    let plain = Style::new();
    lines.extend(text::hanging("in it", style::label(), &from, plain, width));
    lines.extend(text::hanging(
        "here",
        style::label(),
        &row.words(),
        plain,
        width,
    ));
    if let Some((verdict, why)) = &row.verdict {
        let look = style::verdict(*verdict, state.colour);
        let words = format!("{} {verdict}: {why}", verdict.mark());
        lines.extend(text::hanging(
            "would be",
            style::label(),
            &words,
            look,
            width,
        ));
    }
    if !preview.unused.is_empty() {
        let words = format!(
            "columns not named by the mapping: {}",
            preview.unused.join(", ")
        );
        lines.extend(text::hanging(
            "left out",
            style::label(),
            &words,
            plain,
            width,
        ));
    }
    lines
}
