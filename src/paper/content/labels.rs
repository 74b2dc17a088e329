//! The schedule of labels and notices: which, where, what each says, whether it is fitted and by whom, and why.

use crate::checks::Verdict;
use crate::forms::Source;
use crate::job::{Owner, Test, Value};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};
use crate::paper::page::Grey;

use super::sheet::{ALARM, Sheet, verdict};
use super::words;

/// One row for each label, in the order in which one goes round with them.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut rows = Vec::new();
    let mut sources: Vec<&Source> = Vec::new();
    for seat in sheet.job.seats() {
        let Owner::Label(label) = seat.owner else {
            continue;
        };
        let Some(finding) = sheet.finding(&seat.place(Test::Fitted)) else {
            continue;
        };
        let text = sheet.forms.labels().get(label.kind);
        if let Some(source) = text.map(|t| &t.source).filter(|s| !sources.contains(s)) {
            sources.push(source);
        }
        let (answer, reason) = match seat.readings.value(Test::Fitted) {
            None => (finding.value.clone().unwrap_or_default(), String::new()),
            Some(Value::Limitation(why)) => ("lim".into(), format!("limitation: {why}")),
            Some(Value::NotApplicable(why)) => ("n/a".into(), format!("not applicable: {why}")),
            Some(value) => (value.to_string(), String::new()),
        };
        let by = seat.readings.get(Test::Fitted).map_or_else(
            || words::DASH.to_string(),
            |e| format!("{}, {}", sheet.sign(&e.now.by), words::minute(e.now.at)),
        );
        let outcome = format!("{answer} {}", verdict(finding.verdict));
        let outcome: Cell = Styled::new(outcome.trim_start()).bold().into();
        let says = text.map_or(words::DASH, |t| t.says.as_str());
        let says = if reason.is_empty() {
            says.to_string()
        } else {
            reason
        };
        let clause = text.map_or_else(
            || words::DASH.to_string(),
            |t| {
                // The rest of it stands below.
                let clause = t.source.text.split([':', ',']).next().unwrap_or_default();
                format!("{clause} [{}]", t.source.mark)
            },
        );
        rows.push(Row::cells::<Cell>([
            label.kind.words().into(),
            label.target.words().into(),
            says.into(),
            if finding.verdict == Verdict::Outside {
                outcome.shaded(Grey::new(ALARM))
            } else {
                outcome
            },
            by.into(),
            clause.into(),
        ]));
    }
    let mut blocks = vec![
        Block::anchored(1, "Label schedule", "labels"),
        Block::paragraph(
            "Labels and notices that this installation needs, and what each has to say; the print of a sign may differ.",
        ),
        Block::Table(
            Table::new(
                vec![
                    Column::share("Label", 0.78),
                    Column::share("Where", 0.78),
                    Column::share("What it says, or why it is not there", 2.2),
                    Column::mm("Fitted", 19.0),
                    Column::mm("By, when", 18.5),
                    Column::share("Clause", 0.8),
                ],
                rows,
            )
            .size(6.8),
        ),
    ];
    blocks.extend(clauses(&sources));
    blocks
}

/// The clauses in full, each once.
fn clauses(sources: &[&Source]) -> Vec<Block> {
    if sources.is_empty() {
        return Vec::new();
    }
    let any = sources.iter().any(|s| s.checked_against_current);
    let rows = sources.iter().map(|s| {
        let compared = match (any, s.checked_against_current) {
            (false, _) => "",
            (true, true) => ", compared",
            (true, false) => ", NOT compared",
        };
        let known = format!("{}{compared}: {}", s.mark, s.edition);
        Row::cells([s.text.clone(), known])
    });
    let heading = match any {
        true => "Clauses of these labels, compared or not with the edition in force",
        false => "Clauses of these labels, NOT compared with the edition in force",
    };
    let columns = vec![
        Column::share("Clause and what it is about", 1.0),
        Column::mm("How known, and edition", if any { 66.0 } else { 50.0 }),
    ];
    vec![
        Block::heading(2, heading),
        Block::Table(Table::new(columns, rows.collect()).size(6.8)),
    ]
}
