//! The sheet: rows of circuits, columns of tests, the first columns frozen.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::job::{Job, Owner, Seat, Test, Value};
use crate::screen::sheet::{Section, sections};
use crate::screen::state::State;

use super::{reading, style, text};

const ID: usize = 7;
const NAME: usize = 20;

/// Draws the section the cursor is in.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let all = sections(&state.job);
    let Some(section) = all.get(state.sheet.section) else {
        return;
    };
    let width = usize::from(area.width).saturating_sub(2);
    let place = state.focus();
    let reading = place.as_ref().map(|p| reading::lay_out(state, p, width));
    let foot_height = reading.as_ref().map_or(2, |r| r.height() + 1);
    let [head, grid, foot] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(foot_height).unwrap_or(2)),
    ])
    .horizontal_margin(1)
    .areas(area);

    let names: Vec<&str> = all.iter().map(|s| s.name.as_str()).collect();
    let here = format!(
        "{} ({} of {})",
        section.name,
        state.sheet.section + 1,
        all.len()
    );
    let after = names
        .get((state.sheet.section + 1) % names.len().max(1))
        .copied()
        .unwrap_or("");
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends(&here, &format!("Tab: {after}"), width),
                style::strong(),
            ),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    draw_grid(frame, grid, state, section);
    let [rule, field] = Layout::vertical([Constraint::Length(1), Constraint::Min(0)]).areas(foot);
    let title = place
        .as_ref()
        .map_or("no such test in this row".to_string(), ToString::to_string);
    frame.render_widget(Paragraph::new(text::ruled(&title, width)), rule);
    if let Some(reading) = reading {
        reading.draw(frame, field, state.choice.is_none());
    }
}

fn draw_grid(frame: &mut Frame<'_>, area: Rect, state: &State, section: &Section<'_>) {
    let rows = usize::from(area.height).saturating_sub(1);
    let top = text::window(state.sheet.row, rows, section.rows.len());
    let visible: Vec<&Seat<'_>> = section.rows.iter().skip(top).take(rows).collect();
    let cells: Vec<Vec<Option<String>>> = visible
        .iter()
        .map(|seat| {
            section
                .columns
                .iter()
                .map(|t| cell(state, &state.job, seat, *t))
                .collect()
        })
        .collect();
    let widths: Vec<usize> = section
        .columns
        .iter()
        .enumerate()
        .map(|(c, test)| {
            let values = cells
                .iter()
                .filter_map(|r| r.get(c).and_then(|v| v.as_ref()))
                .map(|v| text::columns(v));
            values
                .chain([text::columns(test.heading())])
                .max()
                .unwrap_or(0)
                + 3
        })
        .collect();
    let room = usize::from(area.width).saturating_sub(ID + NAME + 2);
    let first = first_column(state.sheet.column, &widths, room);
    let mut used = 0;
    let shown: Vec<usize> = (first..widths.len())
        .take_while(|c| {
            used += widths.get(*c).copied().unwrap_or(0);
            used <= room
        })
        .collect();

    let mut lines = Vec::with_capacity(rows + 1);
    let more_left = if first > 0 { "<" } else { " " };
    let more_right = if first + shown.len() < widths.len() {
        ">"
    } else {
        ""
    };
    let mut header = vec![Span::styled(
        format!("{}{}", text::pad("", ID + NAME), more_left),
        style::strong(),
    )];
    for c in &shown {
        let heading = section.columns.get(*c).map_or("", |t| t.heading());
        header.push(Span::styled(
            text::pad(&format!(" {heading}"), widths.get(*c).copied().unwrap_or(0)),
            style::label(),
        ));
    }
    header.push(Span::styled(more_right.to_string(), style::strong()));
    lines.push(Line::from(header));
    for (i, (seat, values)) in visible.iter().zip(&cells).enumerate() {
        let row = top + i;
        let (id, name) = row_title(seat);
        let mut spans = vec![Span::raw(format!(
            "{}{} ",
            text::pad(&id, ID),
            text::pad(&name, NAME)
        ))];
        for c in &shown {
            let width = widths.get(*c).copied().unwrap_or(0);
            let value = values.get(*c).cloned().flatten();
            let selected = row == state.sheet.row && *c == state.sheet.column;
            let body = value.unwrap_or_default();
            let drawn = if selected {
                format!("[{}]", text::pad(&body, width.saturating_sub(3)))
            } else {
                format!(" {body}")
            };
            let test = section.columns.get(*c);
            let look = test.map_or_else(style::label, |t| {
                style::verdict(state.verdicts.of(&seat.place(*t)), state.colour)
            });
            let look = if body.is_empty() {
                style::label()
            } else {
                look
            };
            spans.push(Span::styled(text::pad(&drawn, width), look));
        }
        lines.push(Line::from(spans));
    }
    frame.render_widget(Paragraph::new(lines), area);
}

/// What a cell shows: the reading and its mark; `.` where it is open; nothing where the row has no such test.
fn cell(state: &State, job: &Job, seat: &Seat<'_>, test: Test) -> Option<String> {
    if !job.wanted(seat.owner).iter().any(|(t, _)| *t == test) {
        return None;
    }
    let mark = state.verdicts.of(&seat.place(test)).mark();
    Some(match seat.readings.value(test) {
        None => match state.finding(&seat.place(test)) {
            Some(_) => ".".into(),
            None => "..".into(),
        },
        Some(Value::Limitation(_)) => format!("lim{mark}"),
        Some(Value::NotApplicable(_)) => format!("n/a{mark}"),
        Some(Value::Text(t)) => format!("{t}{mark}"),
        // As long as its column may be on the narrowest screen; the field below shows it all.
        Some(Value::List(_)) => match seat.readings.get(test) {
            Some(entry) => format!("{}{mark}", text::cut(entry.now.typed.trim(), 20)),
            None => mark.to_string(),
        },
        Some(value) => format!("{value}{mark}"),
    })
}

fn row_title(seat: &Seat<'_>) -> (String, String) {
    match seat.owner {
        Owner::Circuit(_, c) => (c.id.clone(), c.name.clone()),
        Owner::Board(b) => (b.id.clone(), "the board itself".into()),
        Owner::Branch(_, b) => (b.id.clone(), b.name.clone()),
        Owner::PvString(_, s) => (s.id.clone(), s.name.clone()),
        Owner::Bond(b) => ("bond".into(), b.to.clone()),
        Owner::Storage(s) => (s.id.clone(), s.make.clone()),
        _ => (String::new(), seat.title()),
    }
}

/// First column shown, so that the cursor's column fits.
fn first_column(cursor: usize, widths: &[usize], room: usize) -> usize {
    let mut first = cursor.min(widths.len().saturating_sub(1));
    let mut used = widths.get(first).copied().unwrap_or(0);
    while first > 0 {
        used += widths.get(first - 1).copied().unwrap_or(0);
        if used > room {
            break;
        }
        first -= 1;
    }
    first
}
