//! What was inspected, who confirmed what and when, what was corrected or changed, and what it was measured with.

use std::collections::BTreeSet;

use crate::job::{Function, Instrument, Owner};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::history;
use super::inspection;
use super::sheet::{Sheet, small, verdict};
use super::signed;
use super::words::{self, or_dash};

/// Inspections, confirmations, corrections, changes and instruments.
pub(super) fn blocks(sheet: &Sheet<'_>, issue: Option<u32>) -> Vec<Block> {
    let mut blocks = vec![
        Block::anchored(1, "Record", "record"),
        Block::heading(2, "Schedule of inspections"),
    ];
    blocks.extend(inspection::blocks(sheet));
    blocks.push(Block::heading(2, "Confirmations"));
    blocks.extend(confirmations(sheet));
    blocks.push(names(sheet));
    blocks.extend(signed::blocks(sheet));
    blocks.extend(history::blocks(sheet));
    blocks.push(Block::Together(vec![
        Block::heading(2, "Documents given to the customer"),
        documents(sheet),
    ]));
    blocks.extend(history::chain(sheet, issue));
    let mut used = vec![Block::heading(2, "Instruments")];
    used.extend(instruments(sheet));
    blocks.push(Block::Together(used));
    blocks
}

/// Data sheets, manuals, warranties and declarations, as they were listed.
fn documents(sheet: &Sheet<'_>) -> Block {
    let listed = sheet.job.documents.iter().enumerate();
    let rows: Vec<Row> = listed
        .map(|(n, d)| Row::cells([(n + 1).to_string(), or_dash(d)]))
        .collect();
    if rows.is_empty() {
        return Block::paragraph("None recorded.");
    }
    let columns = vec![Column::mm("No.", 10.0), Column::share("Document", 1.0)];
    Block::Table(Table::new(columns, rows).size(7.2))
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
                |e| (sheet.signed(&e.now), words::minute(e.now.at)),
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
    vec![Block::Table(
        Table::new(
            vec![
                Column::share("What", 1.0),
                Column::share("Answer", 1.0),
                Column::mm("Verdict", 22.0),
                Column::mm("Entered by", 19.0),
                Column::mm("When", 31.0),
            ],
            rows,
        )
        .size(7.2),
    )]
}

/// Who the signs in the tables above stand for.
fn names(sheet: &Sheet<'_>) -> Block {
    let seats = sheet.job.seats();
    let these = seats.iter().filter(|s| {
        matches!(
            s.owner,
            Owner::Inspect | Owner::Safe | Owner::Close | Owner::Sign
        )
    });
    let words = match sheet.people_of(these.map(|s| s.readings)).as_str() {
        words::DASH => "No inspection or confirmation was entered yet.".to_string(),
        names => format!("Entered by {names}."),
    };
    Block::Paragraph(Styled::new(words).size(6.8))
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
                    small(format!("id {}: {}", i.id, or_dash(&i.kind))),
                ]
                .into(),
                or_dash(&i.serial).into(),
                match words::is_said(i.calibrated) || words::is_said(i.due) {
                    true => vec![
                        small(words::day(i.calibrated)).size(7.0),
                        small(format!("to {}", words::day(i.due))).size(7.0),
                    ],
                    false => vec![small(words::MISSING).size(7.0)],
                }
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
                Column::mm("Instrument", 44.0),
                Column::mm("Serial number", 22.0),
                Column::mm("Calibration counts", 27.0),
                Column::mm("Leads nulled", 13.0),
                Column::share("Functions, with the uncertainty reckoned with", 1.0),
                Column::mm("Used for", 29.0),
            ],
            rows,
        )
        .size(7.2)),
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
