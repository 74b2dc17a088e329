//! The sheet: rows of circuits, columns of tests, the first columns frozen.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::job::{Need, Owner, Place, Seat, Test, Value};
use crate::screen::sheet::{Column, Section};
use crate::screen::state::State;

use super::{meters, reading, style, text};

/// Narrowest columns of id and name in front of the cells; the whole name of the row at hand stands below the grid.
fn front(section: &Section<'_>) -> (usize, usize) {
    let labels = section
        .rows
        .iter()
        .any(|r| matches!(r.owner, Owner::Label(_)));
    if labels { (13, 32) } else { (7, 20) }
}

/// Draws the section the cursor is in.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let cut = state.sheet.cut(&state.job);
    let Some(section) = &state.sheet.here(&state.job) else {
        return;
    };
    let width = usize::from(area.width).saturating_sub(2);
    let place = state.focus();
    let reading = place.as_ref().map(|p| reading::lay_out(state, p, width));
    let foot_height = reading.as_ref().map_or(2, |r| r.height() + 1);
    // Beside meters or settings their table, where the rows leave room for it; what a label says always.
    let said = place.as_ref().and_then(|p| label_lines(state, p, width));
    let always = said.is_some();
    let table = place
        .as_ref()
        .map_or_else(Vec::new, |p| meters::table(state, p, width));
    let table = said.unwrap_or(table);
    // A list gives way down to a few lines, for it scrolls.
    let rows = section
        .list
        .as_ref()
        .map_or(section.rows.len(), |l| l.len().min(4));
    let used = 2 + rows + 1 + foot_height;
    let room = usize::from(area.height).saturating_sub(used);
    let table = if always || table.len() <= room {
        table
    } else {
        Vec::new()
    };
    let [head, grid, beside, foot] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(table.len()).unwrap_or(0)),
        Constraint::Length(u16::try_from(foot_height).unwrap_or(2)),
    ])
    .horizontal_margin(1)
    .areas(area);

    let here = format!(
        "{} ({} of {})",
        section.name,
        state.sheet.section + 1,
        cut.len()
    );
    let after = cut.name((state.sheet.section + 1) % cut.len().max(1));
    let after = after.unwrap_or_default();
    let array = section
        .rows
        .iter()
        .any(|r| matches!(r.owner, Owner::Branch(..) | Owner::PvString(..)));
    let map = if array { "#: map   " } else { "" };
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(
                text::ends(&here, &format!("{map}Tab: {after}"), width),
                style::strong(),
            ),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    match &section.list {
        Some(list) => draw_list(frame, grid, state, section, list),
        None => draw_grid(frame, grid, state, section),
    }
    frame.render_widget(Paragraph::new(table), beside);
    let [rule, field] = Layout::vertical([Constraint::Length(1), Constraint::Min(0)]).areas(foot);
    let title = title(state, section, place.as_ref());
    frame.render_widget(Paragraph::new(text::ruled(&title, width)), rule);
    if let Some(reading) = reading {
        reading.draw(frame, field, state.choice.is_none());
    }
}

/// One line for each place: what stands there, and what it is called.
fn draw_list(
    frame: &mut Frame<'_>,
    area: Rect,
    state: &State,
    section: &Section<'_>,
    list: &[(usize, usize)],
) {
    const PLACE: usize = 26;
    let width = usize::from(area.width);
    let rows = usize::from(area.height);
    let at = section
        .line_of(state.sheet.row, state.sheet.column)
        .unwrap_or(0);
    let top = text::window(at, rows, list.len());
    let wanted: Vec<_> = section
        .rows
        .iter()
        .map(|seat| state.job.wanted(seat.owner))
        .collect();
    let cell = |row: usize, column: usize| {
        let test = section.columns.get(column)?.test()?;
        cell(state, wanted.get(row)?, section.rows.get(row)?, test)
    };
    // A value and its mark are never cut.
    let cells = list.iter().filter_map(|(row, column)| cell(*row, *column));
    let value_width = cells.map(|c| text::columns(&c)).max().unwrap_or(0).max(8) + 3;
    let mut lines = Vec::with_capacity(rows);
    for (i, (row, column)) in list.iter().enumerate().skip(top).take(rows) {
        let seat = section.rows.get(*row);
        let test = section.columns.get(*column).and_then(|c| c.test());
        let (Some(seat), Some(test)) = (seat, test) else {
            continue;
        };
        let place = seat.place(test);
        let value = cell(*row, *column).unwrap_or_default();
        let kind = seat.owner.kind();
        let name = state
            .forms
            .walk()
            .step(kind, test)
            .map_or(test.heading(), |words| words.name.as_str());
        let selected = i == at;
        let value = if selected {
            format!("[{}]", text::pad(&value, value_width - 3))
        } else {
            format!(" {value}")
        };
        let look = style::verdict(state.verdicts.of(&place), state.colour);
        lines.push(Line::from(vec![
            Span::styled(
                if selected { "> " } else { "  " }.to_string(),
                style::strong(),
            ),
            Span::raw(text::pad(&place.to_string(), PLACE)),
            Span::styled(text::pad(&value, value_width), look),
            Span::raw(text::cut(
                &format!(" {name}"),
                width.saturating_sub(PLACE + value_width + 2),
            )),
        ]));
    }
    frame.render_widget(Paragraph::new(lines), area);
}

/// What the label at hand says, and where it goes.
fn label_lines(state: &State, place: &Place, width: usize) -> Option<Vec<Line<'static>>> {
    let Owner::Label(label) = state.job.seat(place)?.owner else {
        return None;
    };
    let words = state.forms.labels().get(label.kind)?;
    let mut out = vec![Line::from(text::ruled(&label.target.words(), width))];
    for (head, said) in [("says", &words.says), ("where", &words.fix)] {
        out.extend(text::hanging(
            head,
            style::label(),
            said,
            Style::new(),
            width,
        ));
    }
    Some(out)
}

fn draw_grid(frame: &mut Frame<'_>, area: Rect, state: &State, section: &Section<'_>) {
    let (id_width, least) = front(section);
    let rows = usize::from(area.height).saturating_sub(1);
    let top = text::window(state.sheet.row, rows, section.rows.len());
    let visible: Vec<&Seat<'_>> = section.rows.iter().skip(top).take(rows).collect();
    let cells: Vec<Vec<Option<String>>> = visible
        .iter()
        .enumerate()
        .map(|(i, seat)| {
            let circuit = section.circuit(top + i);
            let wanted = state.job.wanted(seat.owner);
            section
                .columns
                .iter()
                .map(|column| match column {
                    Column::Test(t) => cell(state, &wanted, seat, *t),
                    Column::Detail(entry) => circuit.as_ref().map(|(_, part)| (entry.get)(part)),
                })
                .collect()
        })
        .collect();
    let widths: Vec<usize> = section
        .columns
        .iter()
        .enumerate()
        .map(|(c, column)| {
            let values = cells
                .iter()
                .filter_map(|r| r.get(c).and_then(|v| v.as_ref()))
                .map(|v| text::columns(v));
            let heading = text::columns(column.heading());
            values.chain([heading]).max().unwrap_or(0) + 3
        })
        .collect();
    let longest = section
        .rows
        .iter()
        .map(|seat| text::columns(&row_title(seat).1));
    let name_width = longest.max().unwrap_or(0) + 1;
    let name_width = name_width.clamp(least, least.max(usize::from(area.width) / 3));
    let room = usize::from(area.width).saturating_sub(id_width + name_width + 2);
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
        format!("{}{}", text::pad("", id_width + name_width), more_left),
        style::strong(),
    )];
    for c in &shown {
        let heading = section.columns.get(*c).map_or("", |x| x.heading());
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
        let mark = if state.sheet.marked.contains(&row) {
            '+'
        } else {
            ' '
        };
        let mut spans = vec![Span::raw(format!(
            "{}{mark}{} ",
            text::pad(&id, id_width - 1),
            text::pad(&name, name_width)
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
            let test = section.columns.get(*c).and_then(|x| x.test());
            let look = test.map_or_else(style::label, |t| {
                style::verdict(state.verdicts.of(&seat.place(t)), state.colour)
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

/// The place under the cursor with the whole name of its row, or the field of the record.
fn title(state: &State, section: &Section<'_>, place: Option<&Place>) -> String {
    let name = section
        .rows
        .get(state.sheet.row)
        .map_or(String::new(), |seat| row_title(seat).1);
    match (place, state.sheet.detail(&state.job)) {
        (Some(place), _) => format!("{place} · {name}"),
        (None, Some((spot, entry))) => {
            format!("{spot} · {name} · {}: Enter changes it", entry.heading)
        }
        (None, None) => "no such test in this row".to_string(),
    }
}

/// What a cell shows: the reading and its mark; `.` where it is open; nothing where the row has no such test.
fn cell(state: &State, wanted: &[(Test, Need)], seat: &Seat<'_>, test: Test) -> Option<String> {
    if !wanted.iter().any(|(t, _)| *t == test) {
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
        Some(Value::Text(t)) => format!("{}{mark}", text::cut(&t, 20)),
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
        Owner::Label(l) => (l.target.short(), l.kind.words().into()),
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
