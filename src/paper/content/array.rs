//! The report of a PV array.

use rust_decimal::Decimal;

use crate::job::{Array, Branch, InsulationMethod, Layout, Owner, Place, PvString, Seat, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Styled, Table};

use super::notes::{self, Notes};
use super::serials::{List, stacked};
use super::sheet::{Sheet, label, nothing, small};
use super::uncertainty;
use super::words::{self, counted, or_dash, with_unit};

/// Width of landscape content in mm, for lists of serial numbers.
const ROOM: f64 = 264.0;

/// The report.
pub(super) fn blocks(sheet: &Sheet<'_>, array: &Array) -> Vec<Block> {
    let mut blocks = vec![
        Block::anchored(
            1,
            format!("Array {} ({})", array.name, array.id),
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
            format!(
                "{}: {}{serial}, {} A, {}",
                i.kind.name(),
                i.make,
                i.rated_a.normalize(),
                i.phases.name()
            )
        }
        None => or_dash(&array.inverter),
    };
    Block::Grid {
        columns: 6,
        fields: vec![
            Field::new("Layout", layout).wide(2),
            Field::new("Modules", modules.to_string()),
            Field::new("Peak power together", format!("{peak} kW")),
            Field::new(
                "Slope from horizontal",
                format!("{}°", array.slope_deg.normalize()),
            ),
            Field::new(
                "Faces, from north",
                format!("{}°", array.azimuth_deg.normalize()),
            ),
            Field::new("Inverter", inverter).wide(2),
            Field::new("Module", or_dash(&m.make)).wide(2),
            Field::new("Rated power, module", with_unit(Some(m.power_w), "W")),
            Field::new("Cells in series, module", m.cells.to_string()),
            Field::new("Voc, module", with_unit(Some(m.voc_v), "V")),
            Field::new("Isc, module", with_unit(Some(m.isc_a), "A")),
            Field::new("Voc coefficient", with_unit(m.beta_pct_k, "%/K")),
            Field::new("Isc coefficient", with_unit(Some(m.alpha_pct_k), "%/K")),
            Field::new("Largest series fuse", with_unit(m.max_fuse_a, "A")),
            Field::new("Vmp, module", with_unit(m.vmp_v, "V")),
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
        "Strings at the inverter's inputs",
        strings
            .iter()
            .map(|s| {
                let fuse = s
                    .fuse_a
                    .map_or_else(|| "none".to_string(), |a| format!("{} A", a.normalize()));
                let place = |test| Place::part(&array.id, &s.id, test);
                vec![
                    Cell::from(Styled::new(format!("{} {}", s.id, s.name)).bold()),
                    or_dash(&s.input).into(),
                    fuse.into(),
                    why(sheet, &place(Test::DcWindow), &mut notes),
                    why(sheet, &place(Test::StringFuse), &mut notes),
                ]
            })
            .collect(),
        &[
            "String",
            "Input",
            "Fuse",
            "Voltage and current of the input",
            "Fuse in parallel",
        ],
    );
    let mut blocks = vec![
        Block::heading(2, "Strings"),
        Block::Table(Table::new(columns, rows).ruled()),
    ];
    blocks.extend(notes.blocks());
    blocks.extend(uncertainty::note(sheet, |p| p.top == array.id));
    let readings: Vec<_> = strings.iter().map(|s| &s.readings).collect();
    blocks.push(sheet.provenance(&readings));
    blocks.push(notes::key());
    blocks.push(at_inputs);
    let lists = strings
        .iter()
        .map(|s| List {
            name: format!("{} {}", s.id, s.name),
            entries: s
                .modules
                .iter()
                .enumerate()
                .map(|(n, serial)| vec![(n + 1).to_string(), or_dash(serial)])
                .collect(),
        })
        .collect();
    blocks.push(Block::heading(
        2,
        "Modules of the strings, from positive to negative",
    ));
    blocks.push(stacked(
        &["Pos.", "Module serial"],
        &[9.0, 43.0],
        lists,
        ROOM,
    ));
    blocks
}

/// A finding with its reason, for tables that have room for it.
fn why(sheet: &Sheet<'_>, place: &Place, notes: &mut Notes) -> Cell {
    let Some(finding) = sheet.finding(place) else {
        return nothing();
    };
    let mut cell = sheet.cell(place, notes);
    cell.lines.push(small(finding.why.clone()));
    cell
}

fn inputs(title: &str, rows: Vec<Vec<Cell>>, heads: &[&str; 5]) -> Block {
    let [name, first, second, window, other] = *heads;
    let table = Table::new(
        vec![
            Column::mm(name, 40.0),
            Column::mm(first, 18.0),
            Column::mm(second, 34.0),
            Column::share(window, 1.0),
            Column::share(other, 1.0),
        ],
        rows.into_iter().map(Row::cells::<Cell>).collect(),
    );
    Block::Together(vec![Block::heading(2, title), Block::Table(table.ruled())])
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
        part: Some(&s.id),
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
        "Modules at their inverters",
        branches
            .iter()
            .map(|b| {
                let place = |test| Place::part(&array.id, &b.id, test);
                let taken = sheet
                    .finding(&place(Test::Balance))
                    .and_then(|f| f.value.clone());
                vec![
                    Cell::from(Styled::new(format!("{} {}", b.id, b.name)).bold()),
                    b.units.len().to_string().into(),
                    small(or_dash(&taken.unwrap_or_default())).into(),
                    why(sheet, &place(Test::DcWindow), &mut notes),
                    why(sheet, &place(Test::Balance), &mut notes),
                ]
            })
            .collect(),
        &[
            "Branch",
            "Modules",
            "Power of each, W",
            "Voltage and current of the input",
            "Against the median",
        ],
    );
    let mut blocks = vec![
        Block::heading(2, "Branches"),
        Block::Table(Table::new(columns, rows).ruled()),
    ];
    blocks.extend(notes.blocks());
    blocks.push(Block::paragraph(
        "The modules of a micro-inverter branch form no string: string voltage, string current and string insulation don't \
         apply. The cable of each branch is tested as a circuit of its board.",
    ));
    let readings: Vec<_> = branches.iter().map(|b| &b.readings).collect();
    blocks.push(sheet.provenance(&readings));
    blocks.push(notes::key());
    blocks.push(at_inputs);
    let lists = branches
        .iter()
        .map(|b| List {
            name: format!("{} {}", b.id, b.name),
            entries: b
                .units
                .iter()
                .enumerate()
                .map(|(n, u)| {
                    vec![
                        (n + 1).to_string(),
                        or_dash(&u.module),
                        or_dash(&u.inverter),
                    ]
                })
                .collect(),
        })
        .collect();
    blocks.push(Block::heading(
        2,
        "Units of the branches, in order along the trunk",
    ));
    blocks.push(stacked(
        &["Pos.", "Module serial", "Inverter serial"],
        &[9.0, 39.0, 39.0],
        lists,
        ROOM,
    ));
    blocks
}
