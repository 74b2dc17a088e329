//! Finding by typing: the words, and the lines that have them.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use crate::screen::find::{hit, seen};
use crate::screen::state::State;

use super::{reading, style, text};

const LABEL: &str = "find      [";

/// Draws the field and the list.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, list] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    let found = seen(state);
    let field = &state.find.words;
    let room = 30;
    let column = field.cursor_column();
    let skip = column.saturating_sub(room);
    let shown = reading::clip(&reading::skip_columns(field.text(), skip), room + 1);
    let count = match found.len() {
        0 => "nothing has these words".to_string(),
        1 => "1 line".to_string(),
        n => format!("{} of {n} lines", state.find.line + 1),
    };
    let first = Line::from(vec![
        Span::styled(LABEL, style::strong()),
        Span::raw(text::pad(&shown, room + 1)),
        Span::styled("]  ", style::strong()),
        Span::raw(count),
    ]);
    frame.render_widget(
        Paragraph::new(vec![first, Line::from(text::ruled("", width))]),
        head,
    );
    let rows = usize::from(list.height);
    let top = text::window(state.find.line, rows, found.len());
    let lines: Vec<Line<'static>> = found
        .iter()
        .enumerate()
        .skip(top)
        .take(rows)
        .filter_map(|(i, line)| Some((i, hit(state, *line)?)))
        .map(|(i, hit)| {
            let selected = i == state.find.line;
            let pointer = if selected { "> " } else { "  " };
            let look = if selected { style::bar() } else { Style::new() };
            Line::from(vec![
                Span::styled(
                    format!("{pointer}{} ", text::pad(&hit.name, 22)),
                    style::strong(),
                ),
                Span::styled(text::cut(&hit.says, width.saturating_sub(25)), look),
            ])
        })
        .collect();
    frame.render_widget(Paragraph::new(lines), list);
    let at = u16::try_from(LABEL.width() + column - skip).unwrap_or(u16::MAX);
    frame.set_cursor_position(Position::new(
        head.x + at.min(head.width.saturating_sub(1)),
        head.y,
    ));
}
