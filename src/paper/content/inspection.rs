//! The schedule of inspections: what was looked at, with the outcome, by whom and when.

use crate::checks::Verdict;
use crate::job::{Owner, Value};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};
use crate::paper::page::Grey;

use super::sheet::{ALARM, Sheet, verdict};
use super::words;

/// One row for each item, in the order of the work.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut rows = Vec::new();
    for seat in sheet.job.seats() {
        if !matches!(seat.owner, Owner::Inspect) {
            continue;
        }
        for (n, (test, _)) in sheet.job.wanted(seat.owner).into_iter().enumerate() {
            let Some(finding) = sheet.finding(&seat.place(test)) else {
                continue;
            };
            let name = sheet
                .forms
                .walk()
                .step(seat.owner.kind(), test)
                .map_or(test.heading(), |s| s.name.as_str());
            let (answer, reason) = match seat.readings.get(test).map(|e| e.now.value(test)) {
                None => (String::new(), String::new()),
                Some(Ok(Value::Limitation(why))) => ("lim".into(), format!("limitation: {why}")),
                Some(Ok(Value::NotApplicable(why))) => {
                    ("n/a".into(), format!("not applicable: {why}"))
                }
                Some(Ok(value)) => (value.to_string(), String::new()),
                Some(Err(why)) => (finding.value.clone().unwrap_or_default(), why),
            };
            let (by, at) = seat.readings.get(test).map_or_else(
                || (words::DASH.to_string(), words::DASH.to_string()),
                |e| (sheet.signed(&e.now), words::minute(e.now.at)),
            );
            let outcome = format!("{answer} {}", verdict(finding.verdict));
            let outcome: Cell = Styled::new(outcome.trim_start()).bold().into();
            rows.push(Row::cells::<Cell>([
                (n + 1).to_string().into(),
                name.into(),
                if finding.verdict == Verdict::Outside {
                    outcome.shaded(Grey::new(ALARM))
                } else {
                    outcome
                },
                words::or_dash(&reason).into(),
                by.into(),
                at.into(),
            ]));
        }
    }
    vec![
        Block::Table(
            Table::new(
                vec![
                    Column::mm("No.", 9.0),
                    Column::share("Item", 1.0),
                    Column::mm("Outcome", 22.0),
                    Column::share("Reason", 1.3),
                    Column::mm("Entered by", 19.0),
                    Column::mm("When", 31.0),
                ],
                rows,
            )
            .size(7.2),
        ),
        Block::Paragraph(
            Styled::new(
                "Serial numbers, connectors and the siting of a battery are in the reports of array and storage, notices in the label schedule.",
            )
            .size(6.8),
        ),
    ]
}
