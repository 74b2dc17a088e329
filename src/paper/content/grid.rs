//! The record of the connection to the network.

use rust_decimal::Decimal;

use crate::checks::{Connection, Procedure, connection, protection_stages, units_by_line};
use crate::forms::Limit;
use crate::job::{Group, Lines, Phases, Place, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Table};

use super::notes::Notes;
use super::sheet::{self, Sheet, small};
use super::words::{or_dash, with_unit};

/// The record.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let g = &sheet.job.grid;
    let mut notes = Notes::default();
    let fields = vec![
        Field::new("Network operator", or_dash(&g.operator)),
        Field::new("Supply number of the meter", or_dash(&g.meter_number)),
        Field::new(
            "Export limit agreed, per phase",
            with_unit(g.export_limit_a, "A"),
        ),
    ];
    let mut taken = Vec::new();
    for test in [
        Test::Profile,
        Test::Settings,
        Test::CtDirection,
        Test::LossOfMains,
        Test::Reconnect,
    ] {
        taken.extend(sheet.field(&Place::of(Group::Grid.key(), test), &mut notes));
    }
    let mut blocks = vec![
        Block::anchored(1, "Grid connection", "grid"),
        Block::Grid { columns: 3, fields },
    ];
    blocks.extend(sheet::readings(taken));
    blocks.extend(notes.blocks());
    blocks.push(sheet.provenance(&[&g.readings]));
    blocks.extend(units(sheet));
    blocks.extend(settings(sheet));
    blocks
}

fn units(sheet: &Sheet<'_>) -> Vec<Block> {
    let u0 = sheet.job.supply.u0_v;
    let rows = sheet
        .job
        .inverters
        .iter()
        .map(|i| {
            let n: usize = units_by_line(sheet.job, i).iter().map(|(_, n)| n).sum();
            let phases = if i.phases == Phases::Three { 3 } else { 1 };
            let kw = i.rated_a * u0 * Decimal::from(phases) / Decimal::from(1000);
            let lines: Vec<&str> = units_by_line(sheet.job, i)
                .iter()
                .map(|(l, _)| l.name())
                .collect();
            Row::cells([
                i.id.clone(),
                format!("{}: {}", i.kind.name(), or_dash(&i.make)),
                n.to_string(),
                i.rated_a.normalize().to_string(),
                kw.round_dp(2).normalize().to_string(),
                if i.phases == Phases::Three {
                    Lines::All.name().to_string()
                } else {
                    or_dash(&unique(&lines).join(", "))
                },
            ])
        })
        .collect();
    let mut blocks = vec![
        Block::heading(2, "Generating and storage units"),
        Block::Table(Table::new(
            vec![
                Column::mm("Id", 16.0),
                Column::share("Unit", 1.0),
                Column::mm("Number", 16.0),
                Column::mm("A per phase, each", 29.0),
                Column::mm("kW, each", 19.0),
                Column::mm("Lines", 22.0),
            ],
            rows,
        )),
    ];
    blocks.extend(total(sheet));
    vec![Block::Together(blocks)]
}

fn unique<'w>(words: &[&'w str]) -> Vec<&'w str> {
    let mut seen: Vec<&str> = Vec::new();
    for word in words {
        if !seen.contains(word) {
            seen.push(word);
        }
    }
    seen
}

/// The sum per phase, and the procedure that it asks for.
fn total(sheet: &Sheet<'_>) -> Option<Block> {
    let Connection { sums, procedure } = connection(sheet.job, sheet.forms)?;
    let edge = sheet.forms.limit("grid/g98-up-to").ok()?;
    let words = match procedure {
        Procedure::G98 => {
            let days = sheet.forms.limit("grid/notify").ok()?;
            format!(
                "not above {} A: G98, tell the operator within {} days of commissioning",
                edge.value.normalize(),
                days.value.normalize()
            )
        }
        Procedure::G99 => format!(
            "above {} A: G99, apply before connecting",
            edge.value.normalize()
        ),
    };
    let listed: Vec<String> = sums
        .iter()
        .map(|(line, sum)| format!("{} {} A", line.name(), sum.normalize()))
        .collect();
    Some(Block::callout(
        format!(
            "Sum of the units recorded here, per phase: {}",
            listed.join(", ")
        ),
        format!(
            "The largest is {words} [{}: {}]. Whatever stood on the premises before and is not recorded here has to be added.",
            edge.source.mark, edge.source.text
        ),
    ))
}

fn settings(sheet: &Sheet<'_>) -> Vec<Block> {
    // A folder of forms without one of these limits isn't loaded, so there is always a table.
    let stages = protection_stages(sheet.forms).unwrap_or_default();
    let show = |limit: &Limit| limit.unit.with(limit.value);
    let rows = stages
        .iter()
        .map(|s| {
            Row::cells::<Cell>([
                s.name.into(),
                show(s.edge).into(),
                show(s.time).into(),
                s.edge.source.mark.name().into(),
            ])
        })
        .collect();
    let source = stages.first().map_or_else(String::new, |s| {
        let source = &s.edge.source;
        format!(
            "{} ({}). {}",
            source.text,
            source.edition,
            if source.checked_against_current {
                "Compared with the edition in force."
            } else {
                "Not compared with the edition in force."
            }
        )
    });
    let answer = sheet
        .finding(&Place::of(Group::Grid.key(), Test::Settings))
        .map_or_else(
            || "not wanted here".to_string(),
            |f| match &f.value {
                Some(value) => format!("{value} {}", sheet::verdict(f.verdict)),
                None => "open, not yet done".to_string(),
            },
        );
    vec![Block::Together(vec![
        Block::heading(2, "Interface protection: settings to compare with"),
        Block::paragraph(format!(
            "Read back from the inverters and compared with this table: {answer}."
        )),
        Block::Table(Table::new(
            vec![
                Column::share("Stage", 1.0),
                Column::mm("Setting", 30.0),
                Column::mm("Trip time", 26.0),
                Column::mm("How known", 34.0),
            ],
            rows,
        )),
        Block::Paragraph(small(or_dash(&source)).size(6.8)),
    ])]
}
