//! The record of the connection to the network.

use chrono::NaiveDate;

use crate::checks::{
    Connection, Procedure, chosen_profile, connection, profiles, protection_stages,
    transformer_order,
};
use crate::forms::short;
use crate::job::{Group, Job, Place, Test};
use crate::paper::flow::{Block, Cell, Column, Field, Row, Signature, Table};

use super::certificate;
use super::notes::Notes;
use super::sheet::{self, Sheet, small};
use super::supply;
use super::words::{self, or_dash, or_missing, with_unit};

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
    let who = certificate::answering(job);
    let installer = who.map_or_else(String::new, |p| {
        let known = [&p.address, &p.phone].into_iter().map(|t| t.trim());
        known
            .filter(|t| !t.is_empty())
            .collect::<Vec<_>>()
            .join(", ")
    });
    // Twelfths, so that addresses get more room than dates.
    let mut fields = vec![
        Field::new("Customer", or_missing(&job.client.name)).wide(3),
        Field::new("Contact of the customer", or_missing(&job.client.contact)).wide(2),
        Field::new("Address of the installation", or_missing(&job.address)).wide(7),
        Field::new("Installed by", or_missing(&certificate::firm(job))).wide(5),
        Field::new("Address and phone of the installer", or_missing(&installer)).wide(7),
        Field::new("Primary energy source", energy(job)).wide(3),
        Field::new(
            "Supply",
            format!(
                "{}, {}",
                job.supply.phases.name(),
                job.supply.earthing.name()
            ),
        )
        .wide(3),
        Field::new("Generation and storage there before", before).wide(3),
        Field::new("Network operator", or_missing(&g.operator)).wide(3),
        Field::new(
            "Supply number of the meter (MPAN)",
            or_missing(&g.meter_number),
        )
        .wide(3),
        Field::new(
            "Export limit agreed, per phase",
            with_unit(g.export_limit_a, "A"),
        )
        .wide(3),
        Field::new("Reference of the application", or_dash(&g.application)).wide(3),
        Field::new("Accepted by the operator", day(g.accepted)).wide(3),
        Field::new("Reference of the acceptance", or_dash(&g.acceptance)).wide(3),
        Field::new(
            "Commissioned",
            g.commissioned
                .map_or_else(|| words::MISSING.into(), words::day),
        )
        .wide(3),
    ];
    // Once it is judged, the day stands with its limit among the readings.
    if sheet
        .finding(&Place::of(Group::Grid.key(), Test::Notification))
        .is_none()
    {
        fields.push(Field::new("Operator told that it runs", day(g.notified)).wide(3));
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
        Block::Grid {
            columns: 12,
            fields,
        },
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
        supply::others(sheet, true),
    ]));
    blocks.extend(total(sheet));
    // On one page, as what is declared is above all the settings.
    let mut last = settings(sheet);
    last.extend(declared(sheet));
    blocks.push(Block::Together(last));
    blocks
}

/// What the power comes from.
fn energy(job: &Job) -> String {
    let solar = (!job.arrays.is_empty()).then_some("sunlight (PV)");
    let stored = (!job.storage.is_empty()).then_some("storage");
    let all: Vec<&str> = [solar, stored].into_iter().flatten().collect();
    or_dash(&all.join(" and "))
}

/// Who answers for this record towards the network operator.
fn declared(sheet: &Sheet<'_>) -> Vec<Block> {
    let job = sheet.job;
    let entered = job.sign.get(Test::SignInspection);
    let (name, day) = match entered {
        Some(e)
            if e.now
                .value(Test::SignInspection)
                .is_ok_and(|v| !v.is_excused()) =>
        {
            (
                e.now.typed.trim().to_string(),
                words::short_day(e.now.at.date_naive()),
            )
        }
        _ => (String::new(), String::new()),
    };
    vec![
        Block::heading(2, "Declaration of the installer: commissioned by"),
        Block::paragraph(
            "What is recorded here was installed, set and tried as this record says, and the readings are those that were taken. \
             A printed name is what was entered for inspection and testing, not a signature.",
        ),
        Block::Signatures(vec![Signature {
            role: String::new(),
            name,
            // The address of the firm stands above.
            position: certificate::firm(job),
            date: day,
        }]),
    ]
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
            "The largest is {words} [{}: {}]. What stood on the premises before and is not listed above has to be added.",
            edge.source.mark,
            short(&edge.source.text)
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
    // What a stage is called follows from no profile.
    let any = profiles(sheet.forms).into_iter().next();
    let called = any
        .and_then(|profile| protection_stages(sheet.forms, &profile).ok())
        .unwrap_or_default();
    let mut notes = Notes::default();
    let tests = Test::ALL.iter().copied().filter(|t| t.is_setting());
    let rows: Vec<Row> = tests
        .filter_map(|test| {
            let place = Place::of(Group::Grid.key(), test);
            sheet.finding(&place)?;
            let stage = stages.iter().find(|s| s.test == test);
            let of = |text: Option<&str>| or_dash(text.unwrap_or_default());
            let name = called.iter().find(|s| s.test == test);
            let mut cells: Vec<Cell> = vec![name.map_or(test.heading(), |s| s.name).into()];
            cells.extend(sheet.across(&place, &mut notes));
            // Something is required, it just can't be said yet.
            if let (None, Some(required)) = (stage, cells.get_mut(2)) {
                *required = "not known yet".into();
            }
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
    let heading = match &chosen {
        Ok(profile) => format!(
            "Interface protection, by profile {}",
            profile.to_uppercase()
        ),
        Err(_) => "Interface protection".to_string(),
    };
    let mut blocks = vec![Block::heading(2, heading)];
    if let Err(why) = &chosen {
        let why = format!("What is required can't be said: {why}.");
        blocks.push(Block::WithNext(vec![Block::paragraph(why)]));
    }
    blocks.push(Block::Table(
        Table::new(
            vec![
                Column::share("Stage", 1.0),
                Column::mm("Read back: edge, seconds", 38.0),
                Column::mm("Required", 34.0),
                Column::mm("Verdict", 24.0),
                Column::mm("How known", 26.0),
            ],
            rows,
        )
        .size(7.2),
    ));
    if !source.is_empty() {
        blocks.push(Block::Paragraph(small(source).size(6.8)));
    }
    blocks.extend(notes.blocks());
    blocks
}
