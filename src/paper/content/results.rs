//! The schedule of test results of a board: each reading with its limit and verdict.

use crate::checks::Verdict;
use crate::job::{Board, Circuit, Owner, Place, Readings, Seat, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Styled, Table};

use super::notes::{self, Notes};
use super::sheet::{self, Sheet, nothing, small};
use super::uncertainty;
use super::words::{self, or_dash};

/// A column of readings: the test, its width in mm and the words over its group.
struct Reading {
    test: Test,
    width: f64,
    group: &'static str,
    header: &'static str,
}

const fn reading(test: Test, width: f64, group: &'static str, header: &'static str) -> Reading {
    Reading {
        test,
        width,
        group,
        header,
    }
}

/// Width in mm that the readings may take together on landscape paper.
const ROOM: f64 = 175.0;

/// Every column there can be; those that no circuit needs are left out.
const COLUMNS: [Reading; 15] = [
    reading(Test::R1, 14.0, "Ring final circuit Ω", "r1"),
    reading(Test::Rn, 17.0, "Ring final circuit Ω", "rn"),
    reading(Test::R2, 14.0, "Ring final circuit Ω", "r2"),
    reading(Test::RingLn, 14.0, "Ring final circuit Ω", "L-N"),
    reading(Test::R1r2, 18.0, "Continuity Ω", "R1+R2"),
    reading(Test::Polarity, 13.0, "", "Polarity"),
    reading(Test::IrLl, 15.5, "Insulation MΩ", "live-live"),
    reading(Test::IrLe, 15.5, "Insulation MΩ", "live-earth"),
    reading(Test::Zs, 19.0, "Loop Ω", "Zs"),
    reading(Test::RcdTime, 17.0, "RCD ms", "at IΔn"),
    reading(Test::RcdButton, 13.0, "RCD ms", "button"),
    reading(Test::RcdHalf, 17.5, "RCD ms", "at ½ IΔn"),
    reading(Test::RcdFive, 16.5, "RCD ms", "at 5 IΔn"),
    reading(Test::AfddButton, 13.0, "AFDD", "button"),
    reading(Test::Functional, 18.0, "", "Functional"),
];

/// Whether a test has its column here, where a circuit wants it.
pub(super) fn shows(test: Test) -> bool {
    COLUMNS.iter().any(|column| column.test == test)
}

/// The readings of the circuits.
pub(super) fn blocks(sheet: &Sheet<'_>, board: &Board) -> Vec<Block> {
    if board.circuits.is_empty() {
        return vec![Block::paragraph("No circuits are recorded.")];
    }
    let taken: Vec<&Reading> = COLUMNS
        .iter()
        .filter(|column| {
            board.circuits.iter().any(|c| {
                sheet
                    .finding(&Place::part(&board.id, &c.id, column.test))
                    .is_some()
            })
        })
        .collect();
    let mut notes = Notes::default();
    let rows = board
        .circuits
        .iter()
        .map(|c| {
            let row = row(sheet, board, c, &taken, &mut notes);
            match sheet.row_of(&board.id, &c.id, true) {
                Some(name) => row.anchored(name),
                None => row,
            }
        })
        .collect();
    let mut below = notes.blocks();
    below.extend(uncertainty::note(sheet, |p| {
        p.top == board.id && p.part.is_some()
    }));
    below.push(notes::key());
    vec![
        Block::heading(2, "Test results of the circuits"),
        Block::Table(Table::new(columns(&taken), rows).size(7.5).ruled()),
        Block::WithLast(below),
    ]
}

/// The readings at the board itself.
pub(super) fn at_board(sheet: &Sheet<'_>, board: &Board) -> Vec<Block> {
    let mut notes = Notes::default();
    let tests = [
        Test::Zdb,
        Test::Pfc,
        Test::Polarity,
        Test::Sequence,
        Test::RcdTime,
        Test::RcdHalf,
        Test::RcdFive,
        Test::RcdButton,
        Test::Spd,
        Test::Functional,
        Test::IrLe,
    ];
    let fields: Vec<Field> = tests
        .into_iter()
        .filter_map(|test| sheet.field(&Place::of(&board.id, test), &mut notes))
        .collect();
    let everything: Vec<&Readings> = std::iter::once(&board.readings)
        .chain(board.circuits.iter().map(|c| &c.readings))
        .collect();
    let mut blocks = vec![Block::heading(2, "Readings at the board")];
    blocks.extend(sheet::readings(fields));
    let on_tt = sheet.before_rcds(board);
    blocks.extend(
        on_tt.map(|words| Block::Paragraph(Styled::new(format!("On TT {words}")).size(6.8))),
    );
    blocks.extend(notes.blocks());
    blocks.extend(uncertainty::note(sheet, |p| {
        p.top == board.id && p.part.is_none()
    }));
    blocks.push(sheet.provenance(&everything));
    vec![Block::Together(blocks)]
}

fn columns(taken: &[&Reading]) -> Vec<Column> {
    // Few columns are set wider, rather than leaving all the room to the names.
    let asked: f64 = taken.iter().map(|t| t.width).sum();
    let wider = (ROOM / asked.max(1.0)).clamp(1.0, 1.8);
    let mut columns = vec![Column::mm("No.", 10.0), Column::share("Circuit", 1.0)];
    for column in taken {
        if column.test == Test::IrLl || is_lone_earth(column, taken) {
            columns.push(Column::mm("test V d.c.", 11.0).group(column.group));
        }
        let made = Column::mm(column.header, column.width * wider);
        columns.push(if column.group.is_empty() {
            made
        } else {
            made.group(column.group)
        });
    }
    columns.push(Column::mm("Entered by", 14.0));
    columns
}

/// Long names in smaller letters: they stand in full size on the schedule of circuits.
fn name_size(name: &str) -> f64 {
    if name.chars().count() > 34 { 6.2 } else { 7.2 }
}

/// Whether the test voltage has to stand before this column because no live-live column does.
fn is_lone_earth(column: &Reading, taken: &[&Reading]) -> bool {
    column.test == Test::IrLe && !taken.iter().any(|t| t.test == Test::IrLl)
}

fn row(
    sheet: &Sheet<'_>,
    board: &Board,
    c: &Circuit,
    taken: &[&Reading],
    notes: &mut Notes,
) -> Row {
    let place = |test| Place::part(&board.id, &c.id, test);
    if taken
        .iter()
        .all(|t| sheet.finding(&place(t.test)).is_none())
    {
        let none: Cell = small("no tests are wanted here").into();
        return Row::cells([
            c.id.clone().into(),
            Styled::new(or_dash(&c.name)).into(),
            none.wide(taken.len() + 2),
        ]);
    }
    let device = c
        .device
        .as_ref()
        .map_or_else(|| words::DASH.to_string(), crate::job::Device::describe);
    let mut cells: Vec<Cell> = vec![
        c.id.clone().into(),
        vec![
            Styled::new(or_dash(&c.name)).size(name_size(&c.name)),
            small(device),
        ]
        .into(),
    ];
    let seat = Seat {
        top: &board.id,
        part: Some(c.id.as_str().into()),
        owner: Owner::Circuit(board, c),
        readings: &c.readings,
    };
    for column in taken {
        if column.test == Test::IrLl || is_lone_earth(column, taken) {
            // With live conductors joined only the reading to earth names its voltage.
            let volts = [Test::IrLl, Test::IrLe].into_iter().find_map(|test| {
                let taken = sheet.finding(&place(test))?;
                if taken.value.is_none() || taken.verdict == Verdict::Excused {
                    return None;
                }
                Some(sheet.rule(&seat, test)?.test_v?.normalize().to_string())
            });
            cells.push(volts.map_or_else(nothing, Cell::from));
        }
        cells.push(sheet.cell(&place(column.test), notes));
    }
    cells.push(small(sheet.entered_by(&c.readings)).into());
    Row::cells(cells)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::measure::wrap;
    use crate::paper::page::Weight;

    /// In the narrowest table, with 0.16 mm of room a side for each point, and headers of 0.92 of the size of the text.
    #[test]
    fn no_header_breaks_within_a_word() {
        let (size, room) = (7.5 * 0.92, 2.0 * 7.5 * 0.16);
        for column in &COLUMNS {
            let lines = wrap(column.header, column.width - room, size, Weight::Bold);
            let broken = lines.iter().rev().skip(1).any(|l| !l.ends_with([' ', '-']));
            assert!(!broken, "{lines:?}");
        }
    }
}
