//! The parts of the record, a line each.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use crate::job::{Part, Spot};
use crate::screen::record::{Row, describe, empty_of};
use crate::screen::state::State;

use super::{style, text};

const ID: usize = 13;

/// Draws the parts.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, list] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let all = state.record_rows();
    let left = match state.tally.to_compare {
        0 => "Enter opens, + adds".to_string(),
        n => format!("{n} to compare, Ctrl-O: next"),
    };
    let title = text::ends("The record: everything that is not a reading", &left, width);
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(title, style::strong()),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    let room = usize::from(list.height);
    let top = text::window(state.record.row, room, all.len());
    let lines: Vec<Line<'static>> = all
        .iter()
        .enumerate()
        .skip(top)
        .take(room)
        .map(|(i, row)| line(state, row, i == state.record.row, width))
        .collect();
    frame.render_widget(Paragraph::new(lines), list);
    text::point(frame, list, state.record.row, top);
}

fn line(state: &State, row: &Row, selected: bool, width: usize) -> Line<'static> {
    let pointer = Span::styled(if selected { "> " } else { "  " }, style::strong());
    match row {
        Row::Head(list) => {
            let count = match list.len(&state.job) {
                0 => "none yet; Enter adds".to_string(),
                n => n.to_string(),
            };
            let words = format!("{} ({count})", list.name());
            Line::from(vec![
                pointer,
                Span::styled(text::cut(&words, width.saturating_sub(2)), style::label()),
            ])
        }
        Row::Part(spot) => {
            let Some((part, _)) = state.job.part(spot) else {
                return Line::default();
            };
            let (id, words) = describe(&part, spot);
            let indent = match spot {
                Spot::Visit | Spot::Supply | Spot::Grid => 0,
                Spot::Circuit(..) | Spot::Line(..) => 4,
                _ => 2,
            };
            let to_do = to_do(&part);
            let taken = match to_do.width() {
                0 => 0,
                n => n + 2,
            };
            let room = width.saturating_sub(2 + ID + 3 + taken);
            let look = if selected {
                style::bar()
            } else {
                ratatui::style::Style::new()
            };
            Line::from(vec![
                pointer,
                Span::styled(
                    text::pad(&format!("{:indent$}{id}", ""), ID + 3),
                    style::strong(),
                ),
                Span::styled(text::pad(&words, room), look),
                Span::raw(format!("  {to_do}")),
            ])
        }
    }
}

/// What is left to do with a part; how many readings it has where that is nothing.
fn to_do(part: &Part) -> String {
    let compare = part.to_compare().unwrap_or(false);
    match (compare, empty_of(part).len(), part.readings_in()) {
        (true, 0, _) => "to compare".into(),
        (true, n, _) => format!("to compare, {n} to fill"),
        (false, 0, 0) => String::new(),
        (false, 0, 1) => "1 reading".into(),
        (false, 0, n) => format!("{n} readings"),
        (false, n, _) => format!("{n} to fill in"),
    }
}
