//! Supply, other sources, earthing and bonding.

use rust_decimal::{Decimal, RoundingStrategy};

use crate::checks::units_by_line;
use crate::job::{Bond, Earthing, Group, InverterKind, Layout, Lines, Phases, Place, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Styled, Table};

use super::notes::Notes;
use super::sheet::{self, Sheet, nothing, small};
use super::uncertainty;
use super::words::{self, DASH, or_dash, or_missing, with_unit};

/// Everything about where the power comes from and how it is earthed.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut notes = Notes::default();
    let mut blocks = origin(sheet, &mut notes);
    blocks.extend(earthing(sheet, &mut notes));
    blocks.extend(notes.blocks());
    blocks.push(Block::Together(vec![
        Block::anchored(2, "Other sources of supply", "sources"),
        others(sheet, false),
    ]));
    blocks
}

fn origin(sheet: &Sheet<'_>, notes: &mut Notes) -> Vec<Block> {
    let s = &sheet.job.supply;
    let three = s.phases == Phases::Three;
    let conductors = if three {
        "3 lines and neutral, 4-wire"
    } else {
        "line and neutral, 2-wire"
    };
    let u0 = s.u0_v.normalize();
    let voltage = if three {
        format!("{} / {u0} V", between_lines(s.u0_v))
    } else {
        format!("{u0} V")
    };
    let fields = vec![
        Field::new("Earthing arrangement", s.earthing.name()),
        Field::new("Live conductors", conductors),
        Field::new("Nominal voltage U / U0, a.c.", voltage),
        Field::new(
            "Nominal frequency",
            format!("{} Hz", s.frequency_hz.normalize()),
        ),
        Field::new(
            "Cut-out fuse of the distributor",
            format!(
                "{}, {} A, {} kA",
                s.fuse_standard.name(),
                s.fuse_a.normalize(),
                s.fuse_ka.normalize()
            ),
        ),
        Field::new("Maximum demand", with_unit(s.max_demand_a, "A")),
        Field::new("Main switch", or_dash(&s.main_switch)).wide(2),
    ];
    let mut taken = Vec::new();
    for test in [
        Test::Ze,
        Test::PfcLn,
        Test::PfcLe,
        Test::PfcLl,
        Test::Polarity,
        Test::Sequence,
    ] {
        taken.extend(sheet.field(&Place::of(Group::Supply.key(), test), notes));
    }
    let mut blocks = vec![
        Block::anchored(2, "Supply at the origin", "supply"),
        Block::Grid { columns: 4, fields },
    ];
    blocks.extend(sheet::readings(taken));
    blocks.extend(people(sheet));
    vec![Block::Together(blocks)]
}

/// A power in kW as it is printed: a half counts up, as everybody rounds.
fn in_kw(kw: Decimal) -> Decimal {
    kw.round_dp_with_strategy(2, RoundingStrategy::MidpointAwayFromZero)
}

/// Voltage between lines as it is commonly written: 400 V belongs to 230 V.
fn between_lines(u0: Decimal) -> Decimal {
    if u0 == Decimal::from(230) {
        return Decimal::from(400);
    }
    (u0 * Decimal::new(1_732, 3)).round_dp(0).normalize()
}

fn earthing(sheet: &Sheet<'_>, notes: &mut Notes) -> Vec<Block> {
    let s = &sheet.job.supply;
    let means = match s.earthing {
        Earthing::Tt => "earth electrode of the installation",
        Earthing::TnS | Earthing::TnCS => "facility of the distributor",
    };
    let mut fields = vec![
        Field::new("Means of earthing", means),
        Field::new("Electrode", or_dash(&s.electrode)),
        judged(
            sheet,
            &Place::of(Group::Supply.key(), Test::EarthingSize),
            "Earthing conductor, copper",
            format!("{} mm²", s.earthing_mm2.normalize()),
        ),
        Field::new("Tails, copper", with_unit(s.tails_mm2, "mm²")),
    ];
    let spds: Vec<String> = sheet
        .job
        .boards
        .iter()
        .filter(|b| !b.spd.trim().is_empty())
        .map(|b| format!("{} ({})", b.spd, b.name))
        .collect();
    let reasons: Vec<String> = sheet
        .job
        .boards
        .iter()
        .filter(|b| !b.no_spd.trim().is_empty())
        .map(|b| format!("none in {}: {}", b.name, b.no_spd.trim()))
        .collect();
    let surge = if spds.is_empty() && !reasons.is_empty() {
        words::listed(&reasons)
    } else if spds.is_empty() {
        "none recorded".to_string()
    } else {
        words::listed(&spds)
    };
    fields.extend(sheet.field(&Place::of(Group::Supply.key(), Test::Ra), notes));
    let columns = fields.len();
    fields.push(Field::new("Surge protection", surge).wide(columns));
    let rows: Vec<Row> = sheet
        .job
        .bonds
        .iter()
        .map(|b| {
            let place = Place::part(Group::Bond.key(), &b.id, Test::Continuity);
            Row::cells::<Cell>([
                b.id.clone().into(),
                to(b).into(),
                sheet.record(
                    &Place::part(Group::Bond.key(), &b.id, Test::BondSize),
                    &b.mm2.normalize().to_string(),
                ),
                words::plain(b.length_m).into(),
                sheet.cell(&place, notes),
                sheet.entered_by(&b.readings).into(),
            ])
        })
        .collect();
    let mut blocks = vec![Block::Together(vec![
        Block::anchored(2, "Earthing and bonding", "bonding"),
        Block::Grid { columns, fields },
    ])];
    if rows.is_empty() {
        blocks.push(Block::paragraph(
            "No bonding conductor is recorded: state why under observations.",
        ));
    } else {
        blocks.push(Block::Table(Table::new(
            vec![
                Column::mm("Bond", 22.0),
                Column::share("To", 1.0),
                Column::mm("Copper mm²", 20.0),
                Column::mm("Length m", 20.0),
                Column::mm("Continuity Ω", 34.0),
                Column::mm("Entered by", 20.0),
            ],
            rows,
        )));
    }
    blocks
}

/// What is bonded, and how where it isn't main bonding.
fn to(bond: &Bond) -> String {
    let to = or_dash(&bond.to);
    match (bond.supplementary, bond.mechanically_protected) {
        (false, _) => to,
        (true, false) => format!("{to} (supplementary)"),
        (true, true) => format!("{to} (supplementary, mechanically protected)"),
    }
}

/// Something recorded, with what it is judged by under it.
fn judged(sheet: &Sheet<'_>, place: &Place, label: &str, value: String) -> Field {
    let mut lines = vec![Styled::new(value)];
    lines.extend(sheet.judged(place));
    Field {
        label: label.to_string(),
        value: lines,
        span: 1,
        shade: None,
    }
}

/// Who took the readings at the origin and of the bonds, and how certain they are.
fn people(sheet: &Sheet<'_>) -> Vec<Block> {
    let readings = &sheet.job.supply.readings;
    let groups = [Group::Supply.key(), Group::Bond.key()];
    let mut blocks: Vec<Block> = uncertainty::note(sheet, |p| groups.contains(&p.top.as_str()))
        .into_iter()
        .collect();
    if !readings.is_empty() {
        blocks.push(sheet.provenance(&[readings]));
    }
    blocks
}

/// Inverters, storage, and what stood there before: the one list of them, which the network operator gets too.
///
/// For that operator with what they look up: type test and software of each unit, and where it is.
pub(super) fn others(sheet: &Sheet<'_>, for_operator: bool) -> Block {
    let job = sheet.job;
    // What the operator looks up stands below the unit, over the width of the table.
    let looked_up = |type_test: String, firmware: &str, place: String| {
        let firmware = or_missing(firmware);
        let all = small(format!(
            "type test {type_test}; firmware when commissioned {firmware}; {place}"
        ));
        Row::cells([Cell::from(""), Cell::from(all).wide(7)])
    };
    let place = |place: &str| format!("place {}", or_missing(place));
    let u0 = job.supply.u0_v;
    let kw = |amps: Decimal, phases: u8| {
        let watts = amps
            .checked_mul(u0)
            .and_then(|w| w.checked_mul(Decimal::from(phases)))
            .and_then(|w| w.checked_div(Decimal::from(1000)));
        words::plain(watts.map(in_kw))
    };
    let mut rows: Vec<Row> = Vec::new();
    for i in &job.inverters {
        let (units, circuits) = if i.kind == InverterKind::Micro {
            micro(sheet, &i.id)
        } else {
            (1, i.circuit.clone())
        };
        let three = i.phases == Phases::Three;
        let mut lines: Vec<&str> = Vec::new();
        for (line, _) in units_by_line(job, i) {
            if !three && !lines.contains(&line.name()) {
                lines.push(line.name());
            }
        }
        rows.push(Row::cells::<Cell>([
            i.id.clone().into(),
            format!("{}: {}", i.kind.name(), or_dash(&i.make)).into(),
            if i.serial.is_empty() && i.kind == InverterKind::Micro {
                "see the array report".into()
            } else {
                or_dash(&i.serial).into()
            },
            or_dash(&circuits).into(),
            units.to_string().into(),
            i.rated_a.normalize().to_string().into(),
            kw(i.rated_a, if three { 3 } else { 1 }).into(),
            if three {
                Lines::All.name().into()
            } else {
                or_dash(&lines.join(", ")).into()
            },
        ]));
        if for_operator {
            rows.push(looked_up(
                or_missing(&i.type_test),
                &i.firmware,
                match i.kind {
                    InverterKind::Micro => "at the modules".into(),
                    _ => place(&i.location),
                },
            ));
        }
    }
    for e in &job.grid.existing {
        rows.push(Row::cells::<Cell>([
            nothing(),
            format!("there before: {}", or_dash(&e.what)).into(),
            nothing(),
            nothing(),
            nothing(),
            e.rated_a.normalize().to_string().into(),
            kw(e.rated_a, if e.lines == Lines::All { 3 } else { 1 }).into(),
            e.lines.name().into(),
        ]));
    }
    for s in &job.storage {
        let usable = (s.usable_kwh * Decimal::from(s.modules)).normalize();
        rows.push(Row::cells::<Cell>([
            s.id.clone().into(),
            format!(
                "storage: {}, {usable} kWh usable{}",
                or_dash(&s.make),
                if s.backup { ", with backup output" } else { "" }
            )
            .into(),
            or_dash(&s.serial).into(),
            Cell::from(format!("by inverter {}", s.inverter)).wide(5),
        ]));
        if for_operator {
            let type_test = match s.type_test.trim() {
                "" => format!("as inverter {}", s.inverter),
                own => own.to_string(),
            };
            rows.push(looked_up(type_test, &s.firmware, place(&s.location)));
        }
    }
    if rows.is_empty() {
        Block::paragraph("None recorded.")
    } else {
        Block::Table(
            Table::new(
                vec![
                    Column::mm("Id", 13.0),
                    Column::share("Source", 1.0),
                    Column::mm("Serial number", 29.0),
                    Column::mm("Circuit", 20.0),
                    Column::mm("Units", 10.0),
                    Column::mm("A per phase", 18.0).group("Rated output, each"),
                    Column::mm("kW", 11.0).group("Rated output, each"),
                    Column::mm("Lines", 16.0),
                ],
                rows,
            )
            .size(7.2),
        )
    }
}

/// How many micro-inverters of a kind there are, and the circuits they are on.
fn micro(sheet: &Sheet<'_>, inverter: &str) -> (usize, String) {
    let mut units = 0;
    let mut circuits = Vec::new();
    for array in sheet.job.arrays.iter().filter(|a| a.inverter == inverter) {
        if let Layout::Branches(branches) = &array.layout {
            for branch in branches {
                units += branch.units.len();
                circuits.push(branch.circuit.clone());
            }
        }
    }
    if circuits.is_empty() {
        circuits.push(DASH.into());
    }
    (units, circuits.join(", "))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1.5 A at 230 V.
    #[test]
    fn half_a_digit_counts_up() {
        for (watts, kw) in [(345, "0.35"), (355, "0.36"), (344, "0.34"), (3680, "3.68")] {
            assert_eq!(in_kw(Decimal::new(watts, 3)).to_string(), kw);
        }
    }
}
