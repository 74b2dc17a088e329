//! Wrapping, cutting and padding by columns.

use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

use super::ascii;

/// Breaks `text` into lines of at most `width` columns, long words included.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    textwrap::wrap(&ascii::shown(text), width.max(8))
        .into_iter()
        .map(std::borrow::Cow::into_owned)
        .collect()
}

/// At most `width` columns of `text`, with an ellipsis where it was longer.
pub(super) fn cut(text: &str, width: usize) -> String {
    let text = ascii::shown(text);
    if text.width() <= width {
        return text.into_owned();
    }
    let more = if ascii::on() { ".." } else { "…" };
    let mut out = String::new();
    let mut used = more.width();
    for c in text.chars() {
        used += c.width().unwrap_or(0);
        if used > width {
            break;
        }
        out.push(c);
    }
    out.push_str(more);
    out
}

/// `text` cut or padded to exactly `width` columns.
pub(super) fn pad(text: &str, width: usize) -> String {
    let mut out = cut(text, width);
    let used = out.width();
    out.extend(std::iter::repeat_n(' ', width.saturating_sub(used)));
    out
}

/// `left` and `right` at the two ends of a line of `width` columns; `left` is cut where both don't fit.
pub(super) fn ends(left: &str, right: &str, width: usize) -> String {
    let right = ascii::shown(right);
    let room = width.saturating_sub(right.width() + 1);
    format!(
        "{}{}{right}",
        pad(left, room),
        if room < width { " " } else { "" }
    )
}

/// A label and a wrapped text that hangs beside it.
pub(super) fn hanging(
    label: &str,
    label_style: Style,
    text: &str,
    style: Style,
    width: usize,
) -> Vec<Line<'static>> {
    const LABEL: usize = 10;
    wrap(text, width.saturating_sub(LABEL))
        .into_iter()
        .enumerate()
        .map(|(i, line)| {
            let head = if i == 0 {
                pad(label, LABEL)
            } else {
                " ".repeat(LABEL)
            };
            Line::from(vec![
                Span::styled(head, label_style),
                Span::styled(line, style),
            ])
        })
        .collect()
}

/// Columns of a text as it is shown.
pub(super) fn columns(text: &str) -> usize {
    ascii::shown(text).width()
}

/// A horizontal line with a title in it.
pub(super) fn ruled(title: &str, width: usize) -> String {
    if title.is_empty() {
        return "─".repeat(width);
    }
    let head = format!("── {} ", cut(title, width.saturating_sub(6)));
    let rest = width.saturating_sub(head.width());
    format!("{head}{}", "─".repeat(rest))
}

/// Puts the hardware cursor on the selected line of a list, `line` of all and `top` the first shown: magnifiers and braille
/// lines follow it. What is drawn later may put it elsewhere.
pub(super) fn point(frame: &mut Frame<'_>, list: Rect, line: usize, top: usize) {
    let row = u16::try_from(line.saturating_sub(top)).unwrap_or(u16::MAX);
    if line >= top && row < list.height {
        frame.set_cursor_position(Position::new(list.x, list.y + row));
    }
}

/// First row shown, so that the cursor's row is among `room` rows.
pub(super) fn window(cursor: usize, room: usize, len: usize) -> usize {
    if len <= room {
        return 0;
    }
    cursor.saturating_sub(room / 2).min(len - room)
}
