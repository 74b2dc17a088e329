//! The record of the connection to the network.

use chrono::NaiveDate;

use crate::checks::{
    Connection, Procedure, chosen_profile, connection, protection_stages, transformer_order,
};
use crate::job::{Group, Place, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Table};

use super::certificate;
use super::notes::Notes;
use super::sheet::{self, Sheet, small};
use super::supply;
use super::words::{self, or_dash, with_unit};

/// The record.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let g = &sheet.job.grid;
    let mut notes = Notes::default();
    let job = sheet.job;
    let before = match (g.existing.len(), g.existing_none) {
        (0, true) => "looked for: none".to_string(),
        (0, false) => "not recorded".to_string(),
        (n, _) => format!(
            "{}, listed below",
            words::counted(n, "entry").replace("entrys", "entries")
        ),
    };
    let mut fields = vec![
        Field::new("Customer", or_dash(&job.client.name)),
        Field::new("Address of the installation", or_dash(&job.address)),
        Field::new("Installed by", or_dash(&certificate::firm(job))),
        Field::new(
            "Supply",
            format!(
                "{}, {}",
                job.supply.phases.name(),
                job.supply.earthing.name()
            ),
        ),
        Field::new("Generation and storage there before", before),
        Field::new("Network operator", or_dash(&g.operator)),
        Field::new("Supply number of the meter", or_dash(&g.meter_number)),
        Field::new(
            "Export limit agreed, per phase",
            with_unit(g.export_limit_a, "A"),
        ),
        Field::new("Accepted by the operator", day(g.accepted)),
        Field::new("Reference of the acceptance", or_dash(&g.acceptance)),
    ];
    // Once it is judged, the day stands with its limit among the readings.
    if sheet
        .finding(&Place::of(Group::Grid.key(), Test::Notification))
        .is_none()
    {
        fields.push(Field::new("Operator told that it runs", day(g.notified)));
    }
    let mut taken = Vec::new();
    for test in [
        Test::Profile,
        Test::Connection,
        Test::Notification,
        Test::CtIdle,
        Test::CtSurplus,
        Test::CtCharging,
        Test::ExportPeak,
        Test::FailSafe,
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
    if [Test::CtIdle, Test::CtSurplus, Test::CtCharging]
        .into_iter()
        .any(|t| sheet.finding(&Place::of(Group::Grid.key(), t)).is_some())
    {
        let order = format!(
            "Meters and transformers are read in the order {}; import, generating, discharging and load count above zero.",
            transformer_order(sheet.job).join(", ")
        );
        blocks.push(Block::Paragraph(small(order).size(6.8)));
    }
    blocks.push(sheet.provenance(&[&g.readings]));
    blocks.push(Block::Together(vec![
        Block::heading(2, "Generation and storage on the premises"),
        supply::others(sheet),
    ]));
    blocks.extend(total(sheet));
    blocks.extend(settings(sheet));
    blocks
}

fn day(day: Option<NaiveDate>) -> String {
    day.map_or_else(|| or_dash(""), words::day)
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
            "The largest is {words} [{}: {}]. The units stand above; \
             whatever stood on the premises before and is not recorded there has to be added.",
            edge.source.mark, edge.source.text
        ),
    ))
}

/// What each stage has to be set to, beside what was read back.
fn settings(sheet: &Sheet<'_>) -> Vec<Block> {
    let chosen = chosen_profile(sheet.job, sheet.forms);
    let stages = chosen
        .as_ref()
        .ok()
        .and_then(|profile| protection_stages(sheet.forms, profile).ok())
        .unwrap_or_default();
    let mut notes = Notes::default();
    let tests = Test::ALL.iter().copied().filter(|t| t.is_setting());
    let rows: Vec<Row> = tests
        .filter_map(|test| {
            let place = Place::of(Group::Grid.key(), test);
            sheet.finding(&place)?;
            let stage = stages.iter().find(|s| s.test == test);
            let of = |text: Option<&str>| or_dash(text.unwrap_or_default());
            let mut cells: Vec<Cell> = vec![stage.map_or(test.heading(), |s| s.name).into()];
            cells.extend(sheet.across(&place, &mut notes));
            cells.push(of(stage.map(|s| s.edge.source.mark.name())).into());
            Some(Row::cells(cells))
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
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
    let by = match &chosen {
        Ok(profile) => format!(
            "Required by profile {}, and as read back from the inverters: edge, then seconds.",
            profile.to_uppercase()
        ),
        Err(why) => format!("What is required can't be said: {why}."),
    };
    let mut blocks = vec![
        Block::heading(2, "Interface protection: required and read back"),
        Block::paragraph(by),
        Block::Table(Table::new(
            vec![
                Column::share("Stage", 1.0),
                Column::mm("Read back", 30.0),
                Column::mm("Required", 34.0),
                Column::mm("Verdict", 24.0),
                Column::mm("How known", 26.0),
            ],
            rows,
        )),
    ];
    if !source.is_empty() {
        blocks.push(Block::Paragraph(small(source).size(6.8)));
    }
    blocks.extend(notes.blocks());
    vec![Block::Together(blocks)]
}
