//! The parts of the record, a line each.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::job::Spot;
use crate::screen::record::{Row, describe, rows};
use crate::screen::state::State;

use super::{style, text};

const ID: usize = 13;
const READINGS: usize = 13;

/// Draws the parts.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, list] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let all = rows(&state.job);
    let title = text::ends(
        "The record: everything that is not a reading",
        "Enter opens, + adds",
        width,
    );
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
            let readings = match part.readings_in() {
                0 => String::new(),
                1 => "1 reading".into(),
                n => format!("{n} readings"),
            };
            let room = width.saturating_sub(2 + ID + READINGS + 1);
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
                Span::styled(text::pad(&words, room.saturating_sub(3)), look),
                Span::raw(format!(" {readings:>READINGS$}")),
            ])
        }
    }
}
