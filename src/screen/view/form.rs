//! The form of a part: its fields, and what the selected one means.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Position, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use unicode_width::UnicodeWidthStr;

use crate::screen::record::act::part;
use crate::screen::record::{Field, Kind, describe, is_empty, rows_of};
use crate::screen::state::State;

use super::{ascii, reading, style, text};

const HEADING: usize = 25;

/// Draws the form.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let Some((spot, part)) = part(state) else {
        frame.render_widget(
            Paragraph::new(" This part is gone: Esc goes to the parts."),
            area,
        );
        return;
    };
    let width = usize::from(area.width).saturating_sub(2);
    let rows = rows_of(&part);
    let selected = rows.get(state.record.field);
    let foot = selected.map_or_else(Vec::new, |f| foot_lines(state, f, &f.shown(&part), width));
    let [head, list, below] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(foot.len()).unwrap_or(0)),
    ])
    .horizontal_margin(1)
    .areas(area);
    let (_, words) = describe(&part, &spot);
    let count = match part.readings_in() {
        0 => "no readings".to_string(),
        1 => "1 reading".into(),
        n => format!("{n} readings"),
    };
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends(
                    &format!("{spot} · {words}"),
                    &format!(
                        "field {} of {}, {count}",
                        state.record.field + 1,
                        rows.len()
                    ),
                    width,
                ),
                style::strong(),
            ),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    let room = usize::from(list.height);
    let top = text::window(state.record.field, room, rows.len());
    text::point(frame, list, state.record.field, top);
    let mut lines = Vec::with_capacity(room);
    for (i, field) in rows.iter().enumerate().skip(top).take(room) {
        let unit = ascii::shown(field.entry().unit);
        let space = width.saturating_sub(2 + HEADING + 3 + unit.width());
        if i != state.record.field {
            let shown = field.shown(&part);
            // A unit without a number says nothing.
            let shown = if matches!(field, Field::Whole(e) if is_empty(e, &part)) {
                let shown = if shown.is_empty() { "-" } else { &shown };
                format!(
                    "{}  (to fill in)",
                    text::cut(shown, space.saturating_sub(14))
                )
            } else if shown.is_empty() {
                "-".into()
            } else {
                format!("{} {unit}", text::cut(&shown, space))
            };
            lines.push(Line::from(vec![
                Span::raw("  "),
                Span::styled(text::pad(&field.heading(), HEADING), style::label()),
                Span::raw(format!(" {shown}")),
            ]));
            continue;
        }
        let mut body = text::cut(&field.shown(&part), space);
        if state.record.typing {
            let column = state.field.cursor_column();
            let skip = column.saturating_sub(space.saturating_sub(1));
            let shown = reading::skip_columns(state.field.text(), skip);
            body = reading::clip(&shown, space);
            if state.choice.is_none() {
                let before = 2 + HEADING + 1 + column - skip;
                frame.set_cursor_position(Position::new(
                    list.x + u16::try_from(before).unwrap_or(0),
                    list.y + u16::try_from(i - top).unwrap_or(0),
                ));
            }
        }
        // Wide enough to type in, no wider than what stands there.
        let wide = body.width().max(14).min(space);
        lines.push(Line::from(vec![
            Span::styled("> ", style::strong()),
            Span::styled(text::pad(&field.heading(), HEADING), style::strong()),
            Span::styled("[", style::strong()),
            Span::styled(
                text::pad(&body, wide),
                if state.record.typing {
                    Style::new()
                } else {
                    style::bar()
                },
            ),
            Span::styled("] ", style::strong()),
            Span::raw(unit),
        ]));
    }
    frame.render_widget(Paragraph::new(lines), list);
    frame.render_widget(Paragraph::new(foot), below);
}

/// What the selected field means, what Enter does, and its whole text where the row can't hold it.
fn foot_lines(state: &State, field: &Field, value: &str, width: usize) -> Vec<Line<'static>> {
    let mut lines = vec![Line::from(text::ruled("", width))];
    let room = width.saturating_sub(2 + HEADING + 3);
    if !state.record.typing && text::columns(value) > room {
        let whole = text::hanging("in full", style::label(), value, Style::new(), width);
        lines.extend(whole.into_iter().take(5));
    }
    lines.extend(text::hanging(
        "means",
        style::label(),
        field.entry().hint,
        Style::new(),
        width,
    ));
    let does = match (state.record.typing, field.entry().kind, field) {
        (true, ..) => "Enter keeps it, Esc drops it",
        (_, Kind::Pick(_), _) => "Enter or a letter opens the list of choices",
        (_, Kind::Suggest(_), _) => "Enter opens the list of choices; own words can be typed",
        (_, Kind::List { .. }, Field::Whole(_)) => {
            "paste or type them all, then Enter; single ones below"
        }
        (_, Kind::List { .. }, Field::Item(..)) => "type it anew, then Enter; Ctrl-X takes it out",
        (_, Kind::List { .. }, Field::More(_)) => {
            "type one, then Enter; the next can follow at once"
        }
        (_, Kind::Prose, _) => "Enter edits it, typing begins anew; ¶ is a line end",
        _ => "typing begins anew, Enter edits what is there, Delete empties it",
    };
    lines.extend(text::hanging(
        "keys",
        style::label(),
        does,
        Style::new(),
        width,
    ));
    lines
}
