//! What was inspected, who confirmed what and when, what was corrected, and what it was measured with.

use std::collections::BTreeSet;

use crate::job::{Function, Instrument, Owner, Reading};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::inspection;
use super::sheet::{Sheet, small, verdict};
use super::words::{self, or_dash};

/// Inspections, confirmations, corrections and instruments.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut blocks = vec![
        Block::anchored(1, "Record", "record"),
        Block::heading(2, "Schedule of inspections"),
    ];
    blocks.extend(inspection::blocks(sheet));
    blocks.push(Block::heading(2, "Confirmations"));
    blocks.extend(confirmations(sheet));
    blocks.push(Block::heading(2, "Corrections"));
    blocks.extend(corrections(sheet));
    blocks.push(Block::heading(2, "Instruments"));
    blocks.extend(instruments(sheet));
    blocks
}

fn confirmations(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut rows = Vec::new();
    for seat in sheet.job.seats() {
        let title = match seat.owner {
            Owner::Safe => "Safe isolation and energising",
            Owner::Close => "Before leaving",
            Owner::Sign => "Signatures as entered",
            _ => continue,
        };
        rows.push(Row::section(title));
        for (test, _) in sheet.job.wanted(seat.owner) {
            let place = seat.place(test);
            let Some(finding) = sheet.finding(&place) else {
                continue;
            };
            let name = sheet
                .forms
                .walk()
                .step(seat.owner.kind(), test)
                .map_or(test.heading(), |s| s.name.as_str());
            let (by, at) = seat.readings.get(test).map_or_else(
                || (words::DASH.to_string(), words::DASH.to_string()),
                |e| (sheet.person(&e.now.by), words::minute(e.now.at)),
            );
            rows.push(Row::cells::<Cell>([
                name.into(),
                Styled::new(finding.value.as_deref().unwrap_or("open"))
                    .bold()
                    .into(),
                verdict(finding.verdict).into(),
                by.into(),
                at.into(),
            ]));
        }
    }
    vec![Block::Table(Table::new(
        vec![
            Column::share("What", 1.0),
            Column::share("Answer", 0.8),
            Column::mm("Verdict", 19.0),
            Column::mm("Entered by", 42.0),
            Column::mm("When", 31.0),
        ],
        rows,
    ))]
}

fn corrections(sheet: &Sheet<'_>) -> Vec<Block> {
    let who = |r: &Reading| vec![small(sheet.person(&r.by)), small(words::minute(r.at))];
    let mut rows = Vec::new();
    for seat in sheet.job.seats() {
        for (test, entry) in seat.readings.iter() {
            let mut after = entry.struck.iter().skip(1).chain([&entry.now]);
            for old in &entry.struck {
                let Some(new) = after.next() else { continue };
                let typed = |r: &Reading, bold: bool| {
                    let text = Styled::new(shown(r));
                    let mut lines = vec![if bold { text.bold() } else { text }];
                    lines.extend(who(r));
                    lines
                };
                rows.push(Row::cells::<Cell>([
                    seat.title().into(),
                    test.heading().into(),
                    typed(old, false).into(),
                    typed(new, true).into(),
                ]));
            }
        }
    }
    if rows.is_empty() {
        return vec![Block::paragraph("None: no reading was struck out.")];
    }
    vec![Block::Table(Table::new(
        vec![
            Column::share("Where", 1.0),
            Column::mm("Test", 26.0),
            Column::mm("Struck out", 46.0),
            Column::mm("Replaced by", 46.0),
        ],
        rows,
    ))]
}

/// A reading with its unit where it is a figure.
fn shown(reading: &Reading) -> String {
    let typed = reading.typed.trim();
    if typed.contains(':') || !typed.chars().any(|c| c.is_ascii_digit()) {
        typed.to_string()
    } else {
        reading.unit.with(typed)
    }
}

fn instruments(sheet: &Sheet<'_>) -> Vec<Block> {
    let rows: Vec<Row> = sheet
        .job
        .instruments
        .iter()
        .map(|i| {
            Row::cells::<Cell>([
                vec![
                    Styled::new(or_dash(&i.make)),
                    small(or_dash(&i.kind)),
                    small(format!("id {}", i.id)),
                ]
                .into(),
                or_dash(&i.serial).into(),
                vec![
                    small(words::day(i.calibrated)).size(7.0),
                    small(format!("to {}", words::day(i.due))).size(7.0),
                ]
                .into(),
                if i.leads_nulled { "yes" } else { "no" }.into(),
                functions(sheet, i).into(),
                used(sheet, i).into(),
            ])
        })
        .collect();
    if rows.is_empty() {
        return vec![Block::paragraph("None recorded.")];
    }
    vec![
        Block::Table(Table::new(
            vec![
                Column::share("Instrument", 1.0),
                Column::mm("Serial number", 25.0),
                Column::mm("Calibration counts", 29.0),
                Column::mm("Leads nulled", 16.0),
                Column::mm("Functions, with the uncertainty reckoned with", 44.0),
                Column::mm("Used for", 27.0),
            ],
            rows,
        )),
        Block::Paragraph(
            Styled::new(
                "Uncertainty is the operating uncertainty in percent of the reading. An asterisk marks the value of the limit files, \
                 used because the job states none for the instrument.",
            )
            .size(6.8),
        ),
    ]
}

fn functions(sheet: &Sheet<'_>, i: &Instrument) -> String {
    let each: Vec<String> = i
        .functions
        .iter()
        .map(|f| {
            let name = match f {
                Function::Rcd => "RCD".to_string(),
                Function::PvInsulation => "PV insulation".to_string(),
                _ => f.key().replace('-', " "),
            };
            match i.uncertainty_pct.get(f) {
                Some(pct) => format!("{name} {}\u{a0}%", pct.normalize()),
                None => match from_files(sheet, *f) {
                    Some(pct) => format!("{name} {pct}\u{a0}%*"),
                    None => format!("{name} {}", words::DASH),
                },
            }
        })
        .collect();
    or_dash(&each.join(", "))
}

fn from_files(sheet: &Sheet<'_>, f: Function) -> Option<String> {
    let limit = sheet
        .forms
        .limit(&format!("uncertainty/{}", f.key()))
        .ok()?;
    Some(limit.value.normalize().to_string())
}

/// How many readings that stand were taken with an instrument, and whether its calibration counted on those days.
fn used(sheet: &Sheet<'_>, i: &Instrument) -> String {
    let mut days = BTreeSet::new();
    let mut count = 0;
    for seat in sheet.job.seats() {
        for (_, entry) in seat.readings.iter() {
            if entry.now.instrument.as_deref() == Some(i.id.as_str()) {
                count += 1;
                days.insert(entry.now.at.date_naive());
            }
        }
    }
    let (Some(first), Some(last)) = (days.first(), days.last()) else {
        return "no reading".into();
    };
    let in_date = *first >= i.calibrated && *last <= i.due;
    let readings = words::counted(count, "reading");
    if in_date {
        format!("{readings}, in date")
    } else {
        format!("{readings}, NOT in date on all days")
    }
}
