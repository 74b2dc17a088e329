//! Wrapping, cutting and padding by columns.

use ratatui::style::Style;
use ratatui::text::{Line, Span};
use unicode_width::{UnicodeWidthChar, UnicodeWidthStr};

/// Breaks `text` into lines of at most `width` columns, long words included.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    textwrap::wrap(text, width.max(8))
        .into_iter()
        .map(std::borrow::Cow::into_owned)
        .collect()
}

/// At most `width` columns of `text`, with an ellipsis where it was longer.
pub(super) fn cut(text: &str, width: usize) -> String {
    if text.width() <= width {
        return text.to_string();
    }
    let mut out = String::new();
    let mut used = 1;
    for c in text.chars() {
        used += c.width().unwrap_or(0);
        if used > width {
            break;
        }
        out.push(c);
    }
    out.push('…');
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

/// A horizontal line with a title in it.
pub(super) fn ruled(title: &str, width: usize) -> String {
    if title.is_empty() {
        return "─".repeat(width);
    }
    let head = format!("── {} ", cut(title, width.saturating_sub(6)));
    let rest = width.saturating_sub(head.width());
    format!("{head}{}", "─".repeat(rest))
}

/// First row shown, so that the cursor's row is among `room` rows.
pub(super) fn window(cursor: usize, room: usize, len: usize) -> usize {
    if len <= room {
        return 0;
    }
    cursor.saturating_sub(room / 2).min(len - room)
}
