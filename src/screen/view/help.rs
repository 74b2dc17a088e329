//! Keys of the view one came from, then the keys that count everywhere, then the cautions and the last messages.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::job::Answer;
use crate::screen::keys::{KEYS, Key, places};
use crate::screen::state::{State, View};

use super::{style, text};

/// The lines of the help for a view, in order. `empty`: how the test is answered that the help was opened on, where
/// nothing was typed.
pub fn help_lines(view: View, empty: Option<Answer>) -> Vec<&'static Key> {
    places(view, false, empty)
        .into_iter()
        .flat_map(|when| KEYS.iter().filter(move |k| k.when == when))
        .collect()
}

/// How many lines of the help can be selected: keys, then what was said before.
pub fn help_length(state: &State) -> usize {
    help_lines(state.before_help, state.help_answer).len() + state.said.past().len()
}

/// Draws keys, cautions and what was said before.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let width = usize::from(area.width).saturating_sub(2);
    let [head, list] = Layout::vertical([Constraint::Length(2), Constraint::Min(0)])
        .horizontal_margin(1)
        .areas(area);
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends(
                    "Keys, and what to mind",
                    "Enter does the selected line",
                    width,
                ),
                style::strong(),
            ),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    let mut lines: Vec<Line<'static>> = Vec::new();
    let mut at = 0;
    for (i, key) in help_lines(state.before_help, state.help_answer)
        .into_iter()
        .enumerate()
    {
        let selected = i == state.help_line;
        if selected {
            at = lines.len();
        }
        let look = if selected { style::bar() } else { Style::new() };
        for (n, part) in text::wrap(key.says, width.saturating_sub(14))
            .into_iter()
            .enumerate()
        {
            let pointer = if selected && n == 0 { ">" } else { " " };
            let shown = if n == 0 { key.shown } else { "" };
            lines.push(Line::from(vec![
                Span::styled(
                    format!("{pointer} {}", text::pad(shown, 12)),
                    style::strong(),
                ),
                Span::styled(part, look),
            ]));
        }
    }
    lines.push(Line::default());
    for caution in &state.forms.walk().cautions {
        lines.extend(text::hanging(
            "mind",
            style::label(),
            caution,
            Style::new(),
            width,
        ));
    }
    // The newest first; a message can be selected to be read, and Enter does nothing on it.
    let keys = help_lines(state.before_help, state.help_answer).len();
    if state.said.past().len() > 0 {
        lines.push(Line::default());
        lines.push(Line::styled(
            "Said before, the newest first",
            style::strong(),
        ));
    }
    for (i, (at_time, message)) in state.said.past().enumerate() {
        let selected = keys + i == state.help_line;
        if selected {
            at = lines.len();
        }
        let pointer = if selected { ">" } else { " " };
        let mark = if message.error { '!' } else { ' ' };
        lines.extend(text::hanging(
            &format!("{pointer} {} ", at_time.format("%H:%M")),
            style::strong(),
            &format!("{mark} {}", message.text),
            if selected { style::bar() } else { Style::new() },
            width,
        ));
    }
    let rows = usize::from(list.height);
    // What has no selection is at the end: the last line scrolls it into view.
    let last = state.help_line + 1 == help_length(state);
    let top = if last {
        lines.len().saturating_sub(rows)
    } else {
        text::window(at, rows, lines.len())
    };
    text::point(frame, list, at, top);
    let shown: Vec<Line<'static>> = lines.into_iter().skip(top).take(rows).collect();
    frame.render_widget(Paragraph::new(shown), list);
}
