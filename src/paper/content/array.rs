//! The report of a PV array.

use rust_decimal::Decimal;

use crate::checks::{Finding, Verdict};
use crate::job::{Array, Branch, InsulationMethod, Layout, Owner, Place, PvString, Seat, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Styled, Table};
use crate::paper::page::Grey;

use super::notes::{self, Notes};
use super::sheet::{ALARM, Sheet, label, nothing, small, verdict};
use super::uncertainty;
use super::words::{self, counted, or_dash, or_missing, with_unit};
use super::{array_map, charts};

/// The report.
pub(super) fn blocks(sheet: &Sheet<'_>, array: &Array) -> Vec<Block> {
    let mut blocks = vec![
        Block::anchored(
            1,
            words::called("Array", &array.name, &array.id),
            format!("array-{}", array.id),
        ),
        about(sheet, array),
    ];
    match &array.layout {
        Layout::Strings(strings) => blocks.extend(of_strings(sheet, array, strings)),
        Layout::Branches(branches) => blocks.extend(of_branches(sheet, array, branches)),
    }
    blocks
}

fn about(sheet: &Sheet<'_>, array: &Array) -> Block {
    let m = &array.module;
    let (modules, layout) = match &array.layout {
        Layout::Strings(s) => (
            s.iter().map(|s| s.modules.len()).sum::<usize>(),
            format!(
                "{} of {} modules",
                counted(s.len(), "string"),
                s.iter()
                    .map(|s| s.modules.len().to_string())
                    .collect::<Vec<_>>()
                    .join(" + ")
            ),
        ),
        Layout::Branches(b) => (
            b.iter().map(|b| b.units.len()).sum::<usize>(),
            format!(
                "{} of {} micro-inverters",
                b.len().to_string() + if b.len() == 1 { " branch" } else { " branches" },
                b.iter()
                    .map(|b| b.units.len().to_string())
                    .collect::<Vec<_>>()
                    .join(" + ")
            ),
        ),
    };
    let peak = (m.power_w * Decimal::from(modules) / Decimal::from(1000)).normalize();
    let inverter = match sheet.job.inverter(&array.inverter) {
        Some(i) => {
            let serial = match i.serial.as_str() {
                "" => String::new(),
                serial => format!(", serial {serial}"),
            };
            let place = match i.location.trim() {
                "" => String::new(),
                place => format!(", {place}"),
            };
            let mut isolators = words::isolators(i);
            let has_strings = matches!(array.layout, Layout::Strings(_));
            if has_strings && i.dc_isolator.trim().is_empty() {
                isolators.push_str(&format!("; d.c. isolator: {}", words::MISSING));
            }
            format!(
                "{}: {}{serial}, {} A, {}{place}{isolators}",
                i.kind.name(),
                or_dash(&i.make),
                i.rated_a.normalize(),
                i.phases.name()
            )
        }
        None => or_dash(&array.inverter),
    };
    let cables = match &array.layout {
        Layout::Branches(_) => "leads of the modules only".to_string(),
        Layout::Strings(_) => or_missing(&array.cable),
    };
    Block::Grid {
        // Twentieths, so that names get more room than figures.
        columns: 20,
        fields: vec![
            Field::new("Layout", layout).wide(5),
            Field::new("Modules, power", format!("{modules}, {peak} kW")).wide(2),
            Field::new(
                "Slope, from level",
                format!("{}°", array.slope_deg.normalize()),
            )
            .wide(2),
            Field::new(
                "Faces, from north",
                format!("{}°", array.azimuth_deg.normalize()),
            )
            .wide(2),
            Field::new("Inverter", inverter).wide(9),
            Field::new("Module", or_dash(&m.make)).wide(5),
            Field::new("Power of each", with_unit(Some(m.power_w), "W")).wide(2),
            Field::new("Cells in series", m.cells.to_string()).wide(2),
            Field::new("Voc of each", with_unit(Some(m.voc_v), "V")).wide(2),
            Field::new("Isc of each", with_unit(Some(m.isc_a), "A")).wide(2),
            Field::new("Vmp of each", with_unit(m.vmp_v, "V")).wide(2),
            Field::new(
                "Coefficients of Voc, Isc",
                format!(
                    "{}, {}",
                    with_unit(m.beta_pct_k, "%/K"),
                    with_unit(Some(m.alpha_pct_k), "%/K")
                ),
            )
            .wide(3),
            Field::new("Largest fuse", with_unit(m.max_fuse_a, "A")).wide(2),
            Field::new("Mounting", or_missing(&array.mounting)).wide(5),
            Field::new("Cables, d.c. side", cables).wide(5),
            Field::new("Frames and rails bonded", or_missing(&array.frame_bond)).wide(5),
            Field::new("Surge protection, d.c. side", or_missing(&array.dc_spd)).wide(5),
        ],
    }
}

fn of_strings(sheet: &Sheet<'_>, array: &Array, strings: &[PvString]) -> Vec<Block> {
    let mut notes = Notes::default();
    let tests: Vec<(Test, f64)> = [
        (Test::Serials, 15.0),
        (Test::Connectors, 18.0),
        (Test::Continuity, 17.0),
        (Test::DcPolarity, 15.0),
        (Test::Irradiance, 17.0),
        (Test::CellTemp, 17.0),
        (Test::Voc, 25.0),
        (Test::Isc, 23.0),
        (Test::IrPos, 18.0),
        (Test::IrNeg, 18.0),
        (Test::IrJoined, 18.0),
    ]
    .into_iter()
    .filter(|(test, _)| {
        strings.iter().any(|s| {
            sheet
                .finding(&Place::part(&array.id, &s.id, *test))
                .is_some()
        })
    })
    .collect();
    let mut columns = vec![Column::share("String", 1.0)];
    columns.extend(tests.iter().map(|(t, w)| Column::mm(label(*t), *w)));
    columns.push(Column::mm("Entered by", 15.0));
    let rows = strings
        .iter()
        .map(|s| string(sheet, array, s, &tests, &mut notes))
        .collect();
    let at_inputs = inputs(
        sheet,
        "Strings at the inverter's inputs",
        vec![Column::mm("Input", 18.0), Column::mm("Fuse", 18.0)],
        &[
            (Test::DcWindow, "Voltage and current of the input"),
            (Test::StringFuse, "Fuse in parallel"),
        ],
        strings
            .iter()
            .map(|s| {
                let fuse = s
                    .fuse_a
                    .map_or_else(|| "none".to_string(), |a| format!("{} A", a.normalize()));
                Line {
                    top: &array.id,
                    part: &s.id,
                    name: &s.name,
                    record: vec![or_dash(&s.input).into(), fuse.into()],
                }
            })
            .collect(),
    );
    let mut blocks = vec![Block::Table(Table::new(columns, rows).ruled())];
    blocks.extend(notes.blocks());
    blocks.extend(uncertainty::note(sheet, |p| p.top == array.id));
    let readings: Vec<_> = strings.iter().map(|s| &s.readings).collect();
    blocks.push(sheet.provenance(&readings));
    blocks.push(notes::key());
    blocks.extend(at_inputs);
    blocks.extend(charts::strings(sheet, array, strings));
    blocks.extend(array_map::blocks(sheet, array));
    blocks
}

/// A string or branch at its inverter: whose it is, and what is recorded there.
struct Line<'r> {
    top: &'r str,
    part: &'r str,
    name: &'r str,
    record: Vec<Cell>,
}

/// What is worked out for strings or branches at their inverter, each with its reason; tests that none has take no column.
fn inputs(
    sheet: &Sheet<'_>,
    title: &str,
    recorded: Vec<Column>,
    tests: &[(Test, &str)],
    lines: Vec<Line<'_>>,
) -> Option<Block> {
    let finding = |l: &Line<'_>, test| sheet.finding(&Place::part(l.top, l.part, test));
    let asked: Vec<&(Test, &str)> = tests
        .iter()
        .filter(|(test, _)| lines.iter().any(|l| finding(l, *test).is_some()))
        .collect();
    if asked.is_empty() && recorded.is_empty() {
        return None;
    }
    let mut columns = vec![Column::mm("Id and name", 40.0)];
    columns.extend(recorded);
    columns.extend(asked.iter().map(|(_, head)| Column::share(*head, 1.0)));
    let rows = lines
        .iter()
        .map(|l| {
            let name = Styled::new(format!("{} {}", l.part, l.name)).bold();
            let mut cells = vec![Cell::from(name)];
            cells.extend(l.record.iter().cloned());
            cells.extend(
                asked
                    .iter()
                    .map(|(test, _)| finding(l, *test).map_or_else(nothing, reasoned)),
            );
            Row::cells(cells)
        })
        .collect();
    Some(Block::Together(vec![
        Block::heading(2, title),
        Block::Table(Table::new(columns, rows).size(7.2).ruled()),
    ]))
}

/// Value, limit and verdict of what is worked out, with the reason below.
fn reasoned(f: &Finding) -> Cell {
    let limit = match &f.limit {
        Some(_) => f.limit_text(),
        None => "no limit".into(),
    };
    let said = format!("{} {limit} {}", f.value_text(), verdict(f.verdict));
    let said = Styled::new(said).bold();
    let cell = Cell::from(vec![said, small(f.why.clone())]);
    if f.verdict == Verdict::Outside {
        cell.shaded(Grey::new(ALARM))
    } else {
        cell
    }
}

fn string(
    sheet: &Sheet<'_>,
    array: &Array,
    s: &PvString,
    tests: &[(Test, f64)],
    notes: &mut Notes,
) -> Row {
    let seat = Seat {
        top: &array.id,
        part: Some(s.id.as_str().into()),
        owner: Owner::PvString(array, s),
        readings: &s.readings,
    };
    let (method, test) = match s.insulation {
        InsulationMethod::EachPole => ("each pole to earth", Test::IrPos),
        InsulationMethod::PolesJoined => ("poles joined, to earth", Test::IrJoined),
    };
    let volts = sheet
        .rule(&seat, test)
        .and_then(|r| r.test_v)
        .map_or_else(String::new, |v| format!(", at {} V d.c.", v.normalize()));
    let mut cells: Vec<Cell> = vec![
        vec![
            Styled::new(format!("{} {}", s.id, s.name)).bold(),
            small(counted(s.modules.len(), "module")),
            small(format!("insulation: {method}{volts}")),
        ]
        .into(),
    ];
    for (test, _) in tests {
        let mut cell = sheet.cell(&Place::part(&array.id, &s.id, *test), notes);
        if matches!(test, Test::Voc | Test::Isc)
            && let Some(expected) = sheet.rule(&seat, *test).and_then(|r| r.expected)
        {
            // The rest of the sentence says how it was reckoned; the light stands in its own columns.
            let figure = expected
                .split([':'])
                .next()
                .and_then(|e| e.split(" at ").next())
                .unwrap_or_default();
            cell.lines.push(small(format!("expected {figure}")));
        }
        cells.push(cell);
    }
    cells.push(small(sheet.entered_by(&s.readings)).into());
    Row::cells(cells)
}

fn of_branches(sheet: &Sheet<'_>, array: &Array, branches: &[Branch]) -> Vec<Block> {
    let mut notes = Notes::default();
    let rows = branches
        .iter()
        .map(|b| {
            let place = |test| Place::part(&array.id, &b.id, test);
            let device = sheet
                .job
                .circuit(&b.circuit)
                .and_then(|(_, c)| c.device.as_ref())
                .map_or_else(|| words::DASH.to_string(), crate::job::Device::describe);
            Row::cells::<Cell>([
                Styled::new(format!("{} {}", b.id, b.name)).bold().into(),
                vec![Styled::new(or_dash(&b.circuit)), small(device)].into(),
                b.units.len().to_string().into(),
                sheet.cell(&place(Test::Serials), &mut notes),
                sheet.cell(&place(Test::Connectors), &mut notes),
                sheet.cell(&place(Test::Count), &mut notes),
                sheet.cell(&place(Test::BranchLoad), &mut notes),
                small(sheet.entered_by(&b.readings)).into(),
            ])
        })
        .collect();
    let columns = vec![
        Column::share("Branch", 1.0),
        Column::mm("Circuit and device", 38.0),
        Column::mm("Units recorded", 24.0),
        Column::mm("Serials", 24.0),
        Column::mm("Connectors", 24.0),
        Column::mm("Units that answer", 28.0),
        Column::mm("Load against device A", 34.0),
        Column::mm("Entered by", 20.0),
    ];
    let at_inputs = inputs(
        sheet,
        "Modules at their inverters",
        Vec::new(),
        &[
            (Test::DcWindow, "Voltage and current of the input"),
            (Test::Balance, "Power of each against the median"),
        ],
        branches
            .iter()
            .map(|b| Line {
                top: &array.id,
                part: &b.id,
                name: &b.name,
                record: Vec::new(),
            })
            .collect(),
    );
    let mut blocks = vec![Block::Table(Table::new(columns, rows).ruled())];
    blocks.extend(notes.blocks());
    blocks.push(Block::Paragraph(
        Styled::new(
            "The modules of a micro-inverter branch form no string: string voltage, string current and string insulation don't \
             apply. The cable of each branch is tested as a circuit of its board.",
        )
        .size(6.8),
    ));
    let readings: Vec<_> = branches.iter().map(|b| &b.readings).collect();
    blocks.push(sheet.provenance(&readings));
    blocks.push(notes::key());
    blocks.extend(at_inputs);
    blocks.extend(charts::balance(sheet, array, branches));
    blocks.extend(array_map::blocks(sheet, array));
    blocks
}
