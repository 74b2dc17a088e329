//! A list of choices over the lower part of a view.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::Line;
use ratatui::widgets::{Block, Clear, Paragraph};
use unicode_width::UnicodeWidthStr;

use crate::screen::choice::{Choice, Topic};

use super::{reading, style, text};

/// What stands in front of what is typed.
fn own_label(topic: Topic) -> &'static str {
    match topic {
        Topic::Download | Topic::Mapping => "or a path: ",
        _ => "own words: ",
    }
}

/// Draws the list over the bottom of `body`.
pub(super) fn draw(frame: &mut Frame<'_>, body: Rect, choice: &Choice) {
    let width = usize::from(body.width).saturating_sub(4);
    let own = usize::from(choice.own.is_some());
    let wanted = choice.lines.len() + own + 2;
    let height = wanted.min(usize::from(body.height));
    let rows = height.saturating_sub(2 + own);
    let top = text::window(choice.selected, rows, choice.lines.len());
    let mut lines: Vec<Line<'static>> = choice
        .lines
        .iter()
        .enumerate()
        .skip(top)
        .take(rows)
        .map(|(i, (_, shown))| {
            let selected = i == choice.selected
                && !choice.is_lost()
                && choice
                    .own
                    .as_ref()
                    .is_none_or(crate::screen::field::Field::is_empty);
            let number = if i < 9 {
                format!("{}", i + 1)
            } else {
                " ".into()
            };
            let line = text::cut(
                &format!("{} {number} {shown}", if selected { ">" } else { " " }),
                width,
            );
            if selected {
                Line::styled(line, style::bar())
            } else {
                Line::from(line)
            }
        })
        .collect();
    let area = Rect {
        y: body.y
            + body
                .height
                .saturating_sub(u16::try_from(height).unwrap_or(body.height)),
        height: u16::try_from(height).unwrap_or(body.height),
        ..body
    };
    let mut cursor = Position::new(
        area.x + 1,
        area.y + 1 + u16::try_from(choice.selected.saturating_sub(top)).unwrap_or(0),
    );
    if let Some(field) = &choice.own {
        let label = own_label(choice.topic);
        let column = label.width() + field.cursor_column();
        let skip = column.saturating_sub(width.saturating_sub(1));
        let line = reading::skip_columns(&format!("{label}{}", field.text()), skip);
        cursor = Position::new(
            area.x + 1 + u16::try_from(column - skip).unwrap_or(0),
            area.y + 1 + u16::try_from(lines.len()).unwrap_or(0),
        );
        lines.push(Line::from(line));
    }
    frame.render_widget(Clear, area);
    let mut block = Block::bordered()
        .title(format!(" {} ", choice.question))
        .title_style(style::strong());
    let (above, below) = (top, choice.lines.len().saturating_sub(top + rows));
    let hidden = match (above, below) {
        (0, 0) => String::new(),
        (0, n) => format!(" {n} more below "),
        (n, 0) => format!(" {n} more above "),
        (a, b) => format!(" {a} more above, {b} below "),
    };
    let found = match choice.typed.as_str() {
        "" => String::new(),
        typed if choice.is_lost() => format!(" `{}` is on no line ", text::cut(typed, 40)),
        typed => format!(" typed: {} ", text::cut(typed, 40)),
    };
    if !found.is_empty() || !hidden.is_empty() {
        block = block.title_bottom(format!("{found}{hidden}"));
    }
    frame.render_widget(Paragraph::new(lines).block(block), area);
    // On the field of own words, or on the selected line.
    frame.set_cursor_position(cursor);
}
