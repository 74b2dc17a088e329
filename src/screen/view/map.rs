//! The map of an array: a cell for each module, in the order of the cable.

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;

use crate::checks::Verdict;
use crate::screen::map::{self, Cell, across, cell_width, find};
use crate::screen::state::State;

use super::{style, text};

/// Draws the map.
pub(super) fn draw(frame: &mut Frame<'_>, area: Rect, state: &State) {
    let Some(array) = state.job.arrays.get(state.map.array) else {
        frame.render_widget(Paragraph::new(" This array is gone: Esc goes back."), area);
        return;
    };
    let width = usize::from(area.width).saturating_sub(2);
    let all = map::lines(state, array);
    let foot = foot_lines(state, &all, width);
    let [head, grid, below] = Layout::vertical([
        Constraint::Length(2),
        Constraint::Min(0),
        Constraint::Length(u16::try_from(foot.len()).unwrap_or(0)),
    ])
    .horizontal_margin(1)
    .areas(area);
    let count: usize = all.iter().map(|l| l.cells.len()).sum();
    let here = format!("Map of {} ({}), {count} modules", array.name, array.id);
    let others = match state.job.arrays.len() {
        0 | 1 => String::new(),
        n => format!("array {} of {n}", state.map.array + 1),
    };
    frame.render_widget(
        Paragraph::new(vec![
            Line::styled(text::ends(&here, &others, width), style::strong()),
            Line::from(text::ruled("", width)),
        ]),
        head,
    );
    draw_grid(frame, grid, state, &all);
    frame.render_widget(Paragraph::new(foot), below);
}

/// The cells, and where the selected one stands.
fn draw_grid(frame: &mut Frame<'_>, area: Rect, state: &State, all: &[map::Line]) {
    let width = usize::from(area.width);
    let room = usize::from(area.height);
    let (wide, many) = (cell_width(all, width), across(all, width));
    let mut out: Vec<Line<'static>> = Vec::new();
    // First and last line that have to be seen.
    let mut focus = (0, 0);
    let mut first = 0;
    for line in all {
        let title = out.len();
        out.push(Line::styled(text::cut(&line.words, width), style::strong()));
        if line.cells.is_empty() {
            out.push(Line::from("  no modules are recorded"));
        }
        let rows = line.cells.len().div_ceil(many);
        for row in 0..rows {
            let from = out.len();
            let cells: Vec<(usize, &Cell)> = line
                .cells
                .iter()
                .enumerate()
                .skip(row * many)
                .take(many)
                .collect();
            let selected = |i: usize| first + i == state.map.cell;
            out.push(frame_line(&cells, wide, &selected));
            out.push(content(&cells, wide, &selected, |c| c.module.clone()));
            if cells.iter().any(|(_, c)| c.inverter.is_some()) {
                let inverter = |c: &Cell| c.inverter.clone().unwrap_or_default();
                out.push(content(&cells, wide, &selected, inverter));
            }
            if line.cells.iter().any(|c| c.power.is_some()) {
                out.push(powers(state, &cells, wide, &selected));
            }
            if row + 1 == rows {
                out.push(frame_line(
                    &cells
                        .iter()
                        .map(|(_, c)| (usize::MAX, *c))
                        .collect::<Vec<_>>(),
                    wide,
                    &|_| false,
                ));
            }
            if cells.iter().any(|(i, _)| selected(*i)) {
                // With the title where the row is the first of its string or branch.
                focus = (if row == 0 { title } else { from }, out.len());
            }
        }
        first += line.cells.len();
    }
    let lines = window(out, focus, room);
    frame.render_widget(Paragraph::new(lines), area);
}

/// What fits of the lines, with those in focus among it and a note of what is hidden.
fn window(lines: Vec<Line<'static>>, focus: (usize, usize), room: usize) -> Vec<Line<'static>> {
    if lines.len() <= room {
        return lines;
    }
    let room = room.saturating_sub(1);
    let middle = (focus.0 + focus.1) / 2;
    let top = middle
        .saturating_sub(room / 2)
        .min(focus.0)
        .max(focus.1.saturating_sub(room))
        .min(lines.len().saturating_sub(room));
    let below = lines.len().saturating_sub(top + room);
    let note = match (top, below) {
        (0, b) => format!("-- {b} more lines: Down --"),
        (a, 0) => format!("-- {a} lines above: Up --"),
        (a, b) => format!("-- {a} lines above: Up, {b} below: Down --"),
    };
    let mut out: Vec<Line<'static>> = lines.into_iter().skip(top).take(room).collect();
    out.push(Line::styled(note, style::strong()));
    out
}

/// The frame over a row, with the number of each module in it; the selected one between signs.
fn frame_line(
    cells: &[(usize, &Cell)],
    wide: usize,
    selected: &dyn Fn(usize) -> bool,
) -> Line<'static> {
    let mut spans = Vec::new();
    for (i, _) in cells {
        let number = match *i {
            usize::MAX => String::new(),
            i if selected(i) => format!("-> {} <-", i + 1),
            i => format!("-- {} ", i + 1),
        };
        let rest = wide.saturating_sub(1 + number.len());
        let look = if *i != usize::MAX && selected(*i) {
            style::strong()
        } else {
            Style::new()
        };
        spans.push(Span::styled(format!("+{number}{}", "-".repeat(rest)), look));
    }
    spans.push(Span::raw("+"));
    Line::from(spans)
}

fn content(
    cells: &[(usize, &Cell)],
    wide: usize,
    selected: &dyn Fn(usize) -> bool,
    words: impl Fn(&Cell) -> String,
) -> Line<'static> {
    let mut spans = Vec::new();
    for (i, cell) in cells {
        let said = words(cell);
        let said = if said.is_empty() { "none yet" } else { &said };
        let look = if selected(*i) {
            style::bar()
        } else {
            Style::new()
        };
        spans.push(Span::raw("| "));
        spans.push(Span::styled(text::pad(said, wide.saturating_sub(3)), look));
        spans.push(Span::raw(" "));
    }
    spans.push(Span::raw("|"));
    Line::from(spans)
}

fn powers(
    state: &State,
    cells: &[(usize, &Cell)],
    wide: usize,
    selected: &dyn Fn(usize) -> bool,
) -> Line<'static> {
    let mut spans = Vec::new();
    for (i, cell) in cells {
        let (said, look) = match cell.power {
            None => ("not read".to_string(), style::label()),
            Some((watts, verdict)) => (
                format!("{} W {}", watts.normalize(), verdict.mark()),
                style::verdict(verdict, state.colour),
            ),
        };
        let look = if selected(*i) { style::bar() } else { look };
        spans.push(Span::raw("| "));
        spans.push(Span::styled(text::pad(&said, wide.saturating_sub(3)), look));
        spans.push(Span::raw(" "));
    }
    spans.push(Span::raw("|"));
    Line::from(spans)
}

/// The selected module in words, and what the powers of its branch say.
fn foot_lines(state: &State, all: &[map::Line], width: usize) -> Vec<Line<'static>> {
    let mut out = vec![Line::from(text::ruled("", width))];
    let found = find(all, state.map.cell)
        .and_then(|(l, at)| Some((all.get(l)?, at)))
        .and_then(|(line, at)| Some((line, at, line.cells.get(at)?)));
    let Some((line, at, cell)) = found else {
        out.push(Line::from(
            "No module is recorded here: F9 opens the record.",
        ));
        return out;
    };
    let inverter = cell
        .inverter
        .as_ref()
        .map_or(String::new(), |i| format!(", inverter {i}"));
    let power = cell.power.map_or(String::new(), |(w, v)| {
        let words = if v == Verdict::Within {
            ""
        } else {
            ", see below"
        };
        format!(", {} W{words}", w.normalize())
    });
    let words = format!(
        "{} module {} of {}: {}{inverter}{power}",
        line.id,
        at + 1,
        line.cells.len(),
        cell.module
    );
    out.extend(
        text::wrap(&words, width)
            .into_iter()
            .map(|l| Line::styled(l, style::strong())),
    );
    let finding = line.balance.as_ref().and_then(|place| state.finding(place));
    match (finding, &line.balance) {
        (Some(f), _) => {
            let look = style::verdict(f.verdict, state.colour);
            let head = format!("{} {}", f.verdict.mark(), f.verdict);
            // A branch with many low modules has a long story; the page of reasons has it all.
            let lines = text::hanging(&head, look, &f.why, Style::new(), width);
            out.extend(lines.into_iter().take(4));
        }
        (None, Some(place)) => {
            out.push(Line::from(format!("Powers are not read yet: {place}")));
        }
        (None, None) => {}
    }
    out
}
