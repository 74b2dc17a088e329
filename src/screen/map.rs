//! The map of an array: its modules in the order of the cable, as cells of a grid.

use rust_decimal::Decimal;
use unicode_width::UnicodeWidthStr;

use crate::checks::Verdict;
use crate::job::{Array, Job, Layout, Place, Spot, Test};

use super::keeping::holds;
use super::record::{self, Field, Kind, Row, rows_of};
use super::state::{State, View};

/// Where the cursor of the map stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Map {
    /// Which array, in the order of the job.
    pub array: usize,
    /// Which of its modules, counted through all its strings or branches.
    pub cell: usize,
    /// The view to go back to.
    pub from: Option<View>,
}

/// A string or branch of the array.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its id.
    pub id: String,
    /// What it is, in words.
    pub words: String,
    /// Where its powers are read; none at a string.
    pub balance: Option<Place>,
    /// Its modules: from positive to negative, or along the trunk.
    pub cells: Vec<Cell>,
}

/// A module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    /// Serial number.
    pub module: String,
    /// Serial number of its micro-inverter, where it has one.
    pub inverter: Option<String>,
    /// Power as read, W, with the verdict on it.
    pub power: Option<(Decimal, Verdict)>,
}

/// The strings or branches of an array with their modules.
pub fn lines(state: &State, array: &Array) -> Vec<Line> {
    match &array.layout {
        Layout::Branches(list) => {
            let judge = state.checks();
            list.iter()
                .map(|b| {
                    let powers = judge.modules(array, b);
                    let cell = |(i, unit): (usize, &crate::job::array::Unit)| Cell {
                        module: unit.module.clone(),
                        inverter: Some(unit.inverter.clone()),
                        power: powers.get(i).map(|g| (g.watts, g.verdict)),
                    };
                    Line {
                        id: b.id.clone(),
                        words: format!("{} {} · along the trunk from {}", b.id, b.name, b.circuit),
                        balance: Some(Place::part(&array.id, &b.id, Test::Balance)),
                        cells: b.units.iter().enumerate().map(cell).collect(),
                    }
                })
                .collect()
        }
        Layout::Strings(list) => list
            .iter()
            .map(|s| {
                let input = match s.input.as_str() {
                    "" => String::new(),
                    input => format!(", input {input}"),
                };
                let cell = |serial: &String| Cell {
                    module: serial.clone(),
                    inverter: None,
                    power: None,
                };
                Line {
                    id: s.id.clone(),
                    words: format!("{} {} · from + to -{input}", s.id, s.name),
                    balance: None,
                    cells: s.modules.iter().map(cell).collect(),
                }
            })
            .collect(),
    }
}

/// Fewest columns of a cell with its frame: so at most four stand side by side in the narrowest window.
const NARROWEST: usize = 19;

/// Columns of a cell, with the frame on its left.
pub fn cell_width(lines: &[Line], width: usize) -> usize {
    let longest = lines
        .iter()
        .flat_map(|l| &l.cells)
        .flat_map(|c| {
            [
                c.module.width(),
                c.inverter.as_ref().map_or(0, |i| i.width()),
            ]
        })
        .max()
        .unwrap_or(0);
    (longest + 3).max(NARROWEST).min(width.saturating_sub(1))
}

/// How many cells stand side by side in `width` columns.
pub fn across(lines: &[Line], width: usize) -> usize {
    (width.saturating_sub(1) / cell_width(lines, width).max(1)).max(1)
}

/// The line and the cell in it of a cell counted through all of them.
pub fn find(lines: &[Line], cell: usize) -> Option<(usize, usize)> {
    let mut left = cell;
    for (i, line) in lines.iter().enumerate() {
        if left < line.cells.len() {
            return Some((i, left));
        }
        left -= line.cells.len();
    }
    None
}

fn array_at(job: &Job, spot: &Spot) -> Option<usize> {
    let id = match spot {
        Spot::Array(id) | Spot::Line(id, _) => id,
        _ => return None,
    };
    job.arrays.iter().position(|a| a.id == *id)
}

/// Opens the map of the array at hand.
pub(super) fn show(state: &mut State) {
    if holds(state) {
        return;
    }
    let spot = match state.view {
        View::Record => match state.record_rows().get(state.record.row) {
            Some(Row::Part(spot)) => Some(spot.clone()),
            _ => None,
        },
        _ => state.focus().map(|place| state.job.spot_of(&place)),
    };
    let found = spot.and_then(|spot| Some((array_at(&state.job, &spot)?, spot)));
    let Some((array, spot)) = found else {
        state.complain("the map is of an array: go to a string, a branch or an array first");
        return;
    };
    let from = state.view;
    state.map = Map {
        array,
        cell: 0,
        from: Some(from),
    };
    // At the first module of the string or branch it was opened from.
    if let (Spot::Line(_, id), Some(array)) = (&spot, state.job.arrays.get(array)) {
        let before = lines(state, array)
            .iter()
            .take_while(|l| l.id != *id)
            .fold(0, |n, l| n + l.cells.len());
        state.map.cell = before;
    }
    state.view = View::Map;
}

/// Goes back to where the map was opened.
pub(super) fn close(state: &mut State) {
    state.view = state.map.from.take().unwrap_or(View::Sheet);
}

/// Moves by rows of the grid and by modules.
pub(super) fn step(state: &mut State, down: isize, right: isize) {
    let Some(array) = state.job.arrays.get(state.map.array) else {
        return;
    };
    let lines = lines(state, array);
    let across = across(&lines, usize::from(state.size.0).saturating_sub(2));
    let all: usize = lines.iter().map(|l| l.cells.len()).sum();
    let mut cell = state.map.cell.min(all.saturating_sub(1));
    cell = cell.saturating_add_signed(right).min(all.saturating_sub(1));
    for _ in 0..down.unsigned_abs() {
        cell = row_beside(&lines, cell, across, down > 0);
    }
    state.map.cell = cell;
}

/// The cell a row below or above: in the same column, or the last of a shorter row; the same where there is no row.
fn row_beside(lines: &[Line], cell: usize, across: usize, below: bool) -> usize {
    let Some((line, at)) = find(lines, cell) else {
        return 0;
    };
    let start = cell - at;
    let count = lines.get(line).map_or(0, |l| l.cells.len());
    let (row, column) = (at / across, at % across);
    if below {
        let next = (row + 1) * across;
        if next < count {
            return start + (next + column).min(count - 1);
        }
        let mut first = start + count;
        for line in lines.iter().skip(line + 1) {
            if !line.cells.is_empty() {
                return first + column.min(line.cells.len() - 1);
            }
            first += line.cells.len();
        }
        return cell;
    }
    if row > 0 {
        return cell - across;
    }
    let mut first = start;
    for line in lines.iter().take(line).rev() {
        let count = line.cells.len();
        first -= count;
        if count > 0 {
            let last_row = (count - 1) / across * across;
            return first + (last_row + column).min(count - 1);
        }
    }
    cell
}

/// The map of another array, round and round.
pub(super) fn turn(state: &mut State, forward: bool) {
    let n = state.job.arrays.len().max(1);
    state.map.array = (state.map.array + if forward { 1 } else { n - 1 }) % n;
    state.map.cell = 0;
}

/// Opens the form of the string or branch at the serial number of the selected module.
pub(super) fn take(state: &mut State) {
    let Some(array) = state.job.arrays.get(state.map.array) else {
        return;
    };
    let lines = lines(state, array);
    let Some((line, at)) = find(&lines, state.map.cell) else {
        state.complain("this array has no modules yet");
        return;
    };
    let Some(line) = lines.get(line) else { return };
    let spot = Spot::Line(array.id.clone(), line.id.clone());
    record::act::open(state, spot.clone());
    let Some((part, _)) = state.job.part(&spot) else {
        return;
    };
    // The first list of either form is that of the modules.
    let mut lists = rows_of(&part).into_iter().enumerate();
    let row = lists.find_map(|(row, field)| match field {
        Field::Item(entry, i) if i == at && matches!(entry.kind, Kind::List { .. }) => Some(row),
        _ => None,
    });
    if let Some(row) = row {
        state.record.field = row;
        state.say(format!(
            "module {} of {}: type its serial number",
            at + 1,
            line.id
        ));
    }
}
