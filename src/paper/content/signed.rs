//! Who entered the readings, who countersigned them, and what was taken out of order.

use std::collections::{BTreeMap, BTreeSet};

use crate::job::{Reading, Role};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::sheet::{Sheet, small};
use super::words::{self, DASH, or_dash};

/// What a person entered.
#[derive(Default)]
struct Share<'a> {
    readings: usize,
    waiting: usize,
    /// How many of them each qualified person countersigned.
    signed: BTreeMap<&'a str, usize>,
    days: BTreeSet<chrono::NaiveDate>,
}

/// Both lists.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut blocks = vec![Block::Together(vec![
        Block::heading(2, "Entered and countersigned"),
        Block::Table(
            Table::new(
                vec![
                    Column::mm("Sign", 12.0),
                    Column::share("Name", 1.0),
                    Column::mm("Role", 20.0),
                    Column::mm("Readings that stand", 26.0),
                    Column::share("Countersigned by", 1.3),
                    Column::mm("Still to countersign", 26.0),
                ],
                people(sheet),
            )
            .size(7.2),
        ),
        Block::Paragraph(
            Styled::new(
                "What an apprentice enters counts once a qualified person has countersigned it; that person answers for it. \
                 In the tables: + and the sign of who countersigned, or + ? where nobody did yet.",
            )
            .size(6.8),
        ),
    ])];
    let around = around(sheet);
    blocks.push(Block::heading(2, "Taken out of order"));
    if around.is_empty() {
        blocks.push(Block::paragraph(
            "None: no reading that stands was taken before its turn.",
        ));
    } else {
        blocks.push(Block::Table(
            Table::new(
                vec![
                    Column::share("Where", 1.0),
                    Column::mm("Test", 22.0),
                    Column::share("Taken before this was in order", 1.0),
                    Column::share("Reason", 1.4),
                    Column::mm("Answered for by", 42.0),
                ],
                around,
            )
            .size(7.2),
        ));
    }
    blocks.extend(brought(sheet));
    blocks
}

/// Readings that stand and that nobody typed, with what stood in the file; nothing where there are none.
fn brought(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut rows = Vec::new();
    for seat in sheet.job.seats() {
        for (test, entry) in seat.readings.iter() {
            let reading = &entry.now;
            let Some(brought) = &reading.brought else {
                continue;
            };
            let noted = brought.noted;
            let noted = noted.map_or_else(|| DASH.to_string(), words::minute);
            let result = brought.result.as_ref();
            let result = result.map_or(String::new(), |id| format!(", result {id}"));
            rows.push(Row::cells::<Cell>([
                vec![
                    Styled::new(seat.title()),
                    small(seat.place(test).to_string()),
                ]
                .into(),
                test.heading().into(),
                reading.unit.with_typed(&reading.typed).into(),
                vec![
                    Styled::new(brought.cell.as_str()),
                    small(format!("{} line {}{result}", brought.file, brought.line)),
                ]
                .into(),
                noted.into(),
                vec![
                    Styled::new(sheet.person(&reading.by)),
                    small(words::minute(reading.at)),
                ]
                .into(),
            ]));
        }
    }
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::heading(2, "Brought in from files of instruments"),
        Block::Table(
            Table::new(
                vec![
                    Column::share("Where", 1.0),
                    Column::mm("Test", 20.0),
                    Column::mm("Reading", 22.0),
                    Column::share("In the file", 1.3),
                    Column::mm("By the instrument's clock", 30.0),
                    Column::mm("Brought in by", 34.0),
                ],
                rows,
            )
            .size(7.2),
        ),
        Block::Paragraph(
            Styled::new(
                "Nobody typed these: they were shown against the record before they were kept, and whoever brought them in \
                 answers for them. The order of the work is judged by the time of bringing in, not by the instrument's clock.",
            )
            .size(6.8),
        ),
    ]
}

fn people(sheet: &Sheet<'_>) -> Vec<Row> {
    let mut shares: BTreeMap<&str, Share<'_>> = BTreeMap::new();
    for person in &sheet.job.people {
        shares.entry(&person.id).or_default();
    }
    let seats = sheet.job.seats();
    let entries = seats.iter().flat_map(|s| s.readings.iter());
    for (_, entry) in entries {
        let reading = &entry.now;
        let share = shares.entry(&reading.by).or_default();
        share.readings += 1;
        share.days.insert(reading.at.date_naive());
        if let Some(sign) = &reading.countersigned {
            *share.signed.entry(&sign.by).or_default() += 1;
        } else if sheet.job.waits_for_countersign(reading) {
            share.waiting += 1;
        }
    }
    let row = |(id, share): (&str, Share<'_>)| {
        let person = sheet.job.person(id);
        let needs = person.is_none_or(|p| p.role != Role::Qualified);
        let signed: Vec<String> = share
            .signed
            .iter()
            .map(|(by, n)| format!("{}: {n}", sheet.person(by)))
            .collect();
        let days = match (share.days.first(), share.days.last()) {
            (Some(first), Some(last)) => words::days(*first, *last),
            _ => DASH.into(),
        };
        let signed = match (signed.is_empty(), needs) {
            (false, _) => signed.join("; "),
            (true, true) => "nobody yet".into(),
            (true, false) => "needs none".into(),
        };
        let waiting = Styled::new(match share.waiting {
            0 => DASH.to_string(),
            n => n.to_string(),
        });
        Row::cells::<Cell>([
            id.into(),
            person
                .map_or_else(|| DASH.into(), |p| or_dash(&p.name))
                .into(),
            person.map_or(DASH, |p| p.role.name()).into(),
            vec![Styled::new(share.readings.to_string()), small(days)].into(),
            signed.into(),
            if share.waiting > 0 {
                waiting.bold().into()
            } else {
                waiting.into()
            },
        ])
    };
    shares.into_iter().map(row).collect()
}

fn around(sheet: &Sheet<'_>) -> Vec<Row> {
    let mut rows = Vec::new();
    for seat in sheet.job.seats() {
        for (test, entry) in seat.readings.iter() {
            let Some(around) = &entry.now.around else {
                continue;
            };
            let waited = &around.waited_for;
            rows.push(Row::cells::<Cell>([
                vec![
                    Styled::new(seat.title()),
                    small(seat.place(test).to_string()),
                ]
                .into(),
                test.heading().into(),
                vec![
                    Styled::new(format!(
                        "{}: {}",
                        sheet.owner(waited),
                        waited.test.heading()
                    )),
                    small(waited.to_string()),
                ]
                .into(),
                around.reason.as_str().into(),
                vec![
                    Styled::new(sheet.person(&around.by)),
                    small(words::minute(around.at)),
                ]
                .into(),
            ]));
        }
    }
    rows
}

/// What was vouched for besides a reading that is printed in full: its countersign, and why it came before its turn.
pub(super) fn vouched(sheet: &Sheet<'_>, reading: &Reading) -> Vec<String> {
    let signed = reading.countersigned.as_ref().map(|sign| {
        format!(
            "countersigned by {}, {}",
            sheet.person(&sign.by),
            words::minute(sign.at)
        )
    });
    let signed = signed.or_else(|| {
        let waits = sheet.job.waits_for_countersign(reading);
        waits.then(|| "not countersigned".to_string())
    });
    let around = reading.around.as_ref();
    let around = around.map(|a| format!("out of order, before {}: {}", a.waited_for, a.reason));
    let brought = reading.brought.as_ref().map(|b| b.words());
    signed.into_iter().chain(around).chain(brought).collect()
}
