//! The record of a battery.

use rust_decimal::Decimal;

use crate::job::{Job, Place, Storage, Test};
use crate::paper::flow::{Block, Field};

use super::notes::Notes;
use super::sheet::{self, Sheet};
use super::words::{self, MISSING, or_dash, or_missing, with_unit};

/// What its backup output feeds: in words, and the boards that hang on it.
pub(super) fn feeds(job: &Job, s: &Storage) -> String {
    let mut all: Vec<String> = Vec::new();
    if !s.backup_feeds.trim().is_empty() {
        all.push(s.backup_feeds.trim().to_string());
    }
    let boards = job.boards_on_backup(s);
    all.extend(boards.map(|b| format!("board {} {}", b.id, b.name.trim())));
    all.join("; ")
}

/// Its own reference, or that of its inverter.
fn type_test(sheet: &Sheet<'_>, s: &Storage) -> String {
    let of = sheet.job.inverter(&s.inverter).map(|i| i.type_test.trim());
    match (s.type_test.trim(), of) {
        ("", Some(of)) if !of.is_empty() => format!("{of} (of its inverter)"),
        (own, _) => or_missing(own),
    }
}

/// What is recorded about it and what was measured.
pub(super) fn blocks(sheet: &Sheet<'_>, s: &Storage) -> Vec<Block> {
    let mut notes = Notes::default();
    let inverter = match sheet.job.inverter(&s.inverter) {
        Some(i) => format!(
            "{}: {}, serial {}{}",
            i.kind.name(),
            or_dash(&i.make),
            or_dash(&i.serial),
            words::isolators(i)
        ),
        None => or_dash(&s.inverter),
    };
    let usable = s.usable_kwh * Decimal::from(s.modules);
    let mut record = vec![
        Field::new("Maker and model", or_dash(&s.make)).wide(2),
        Field::new("Serial number", or_missing(&s.serial)),
        Field::new("Modules", s.modules.to_string()),
        Field::new("Location", or_missing(&s.location)).wide(2),
        Field::new(
            "Usable capacity",
            format!(
                "{} kWh ({} kWh each)",
                usable.normalize(),
                s.usable_kwh.normalize()
            ),
        ),
        Field::new(
            "Voltage at the d.c. isolator",
            format!("{} to {} V", s.dc_min_v.normalize(), s.dc_max_v.normalize()),
        ),
        Field::new("Inverter", inverter).wide(2),
        Field::new(
            "Circuit, rated output",
            sheet.job.inverter(&s.inverter).map_or_else(
                || words::DASH.to_string(),
                |i| {
                    format!(
                        "{}, {} A per phase, {}",
                        or_dash(&i.circuit),
                        i.rated_a.normalize(),
                        i.phases.name()
                    )
                },
            ),
        ),
        Field::new(
            "Backup output",
            if s.backup {
                "yes, runs without the grid"
            } else {
                "none"
            },
        ),
        Field::new("Own switch or isolator", or_missing(&s.isolator)).wide(2),
        Field::new("Firmware", or_missing(&s.firmware)),
        Field::new(
            "State of charge when left",
            s.charge_pct
                .map_or_else(|| MISSING.into(), |c| format!("{} %", c.normalize())),
        ),
        Field::new("Kind of cells", or_missing(&s.chemistry)),
        Field::new("Type test", type_test(sheet, s)),
        Field::new("To openings", with_unit(s.opening_m, "m")),
        Field::new("To stored flammables", with_unit(s.flammables_m, "m")),
        Field::new(
            "Interlinked alarm",
            match s.detector {
                Some(true) => "yes",
                Some(false) => "no",
                None => words::DASH,
            },
        ),
    ];
    if s.backup {
        record.push(Field::new("Backup output feeds", or_missing(&feeds(sheet.job, s))).wide(2));
    }
    // Once the siting is judged, the place stands with its verdict among the readings.
    if sheet
        .finding(&Place::of(&s.id, Test::SitingRules))
        .is_none_or(|f| f.value.is_none())
    {
        let place = s.place.map_or("", crate::job::StoragePlace::name);
        record.push(Field::new("Kind of place", or_dash(place)));
    }
    let tests = [
        Test::Siting,
        Test::SitingRules,
        Test::Modules,
        Test::DcPolarity,
        Test::DcVoltage,
        Test::Ra,
        Test::NeGrid,
        Test::NeIsland,
        Test::Polarity,
        Test::RcdTime,
    ];
    let readings = tests
        .into_iter()
        .filter_map(|t| sheet.field(&Place::of(&s.id, t), &mut notes))
        .collect();
    let mut blocks = vec![
        Block::anchored(
            1,
            words::called("Storage", &s.make, &s.id),
            format!("storage-{}", s.id),
        ),
        Block::Grid {
            columns: 4,
            fields: record,
        },
        Block::heading(2, "Readings and confirmations"),
    ];
    blocks.extend(sheet::readings(readings));
    blocks.extend(notes.blocks());
    blocks.push(sheet.provenance(&[&s.readings]));
    vec![Block::Together(blocks)]
}
