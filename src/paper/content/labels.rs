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
                let clause = t.source.text.split(": ").next().unwrap_or_default();
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
                    Column::share("Label", 0.8),
                    Column::share("Where", 0.8),
                    Column::share("What it says, or why it is not there", 2.0),
                    Column::mm("Fitted", 19.0),
                    Column::mm("By, when", 20.0),
                    Column::share("Clause", 0.9),
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
        let mark = match (any, s.checked_against_current) {
            (false, _) => s.mark.to_string(),
            (true, true) => format!("{}, compared", s.mark),
            (true, false) => format!("{}, NOT compared", s.mark),
        };
        Row::cells([s.text.clone(), mark, s.edition.clone()])
    });
    let about = match any {
        true => "How known: compared or not with the edition in force.",
        false => "NOT compared with the edition in force, none of them.",
    };
    let columns = vec![
        Column::share("Clause and what it is about", 1.0),
        Column::mm("How known", if any { 36.0 } else { 19.0 }),
        Column::mm("Edition", 44.0),
    ];
    vec![
        Block::heading(2, "Clauses of these labels"),
        Block::WithNext(vec![Block::Paragraph(Styled::new(about).size(6.8))]),
        Block::Table(Table::new(columns, rows.collect()).size(6.8)),
    ]
}
