//! What is outside, queried, close, open or excused, on one list.

use std::collections::BTreeSet;

use crate::checks::{Finding, Verdict};
use crate::forms::short;
use crate::job::{Group, Value};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::sheet::{Sheet, small, verdict};
use super::words::{held, label_kinds, or_dash};

/// Findings and limitations: on a page of their own where anything is outside, queried, close or open.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let title = "Findings and limitations";
    let none = "Nothing is outside, queried, close or open";
    let stands = |f: &Finding| {
        matches!(f.verdict, Verdict::Within | Verdict::Excused) && !f.waits_for_countersign
    };
    let within = |f: &Finding| stands(f) && f.verdict == Verdict::Within;
    if sheet.findings.iter().all(within) {
        return vec![Block::Together(vec![
            Block::anchored(2, title, "findings"),
            Block::paragraph(format!("{none}, and no test was excused.")),
        ])];
    }
    if sheet.findings.iter().all(stands) {
        let mut blocks = vec![
            Block::anchored(2, title, "findings"),
            Block::paragraph(format!("{none}. Not taken, with the reason:")),
        ];
        blocks.extend(excused(sheet));
        return vec![Block::Together(blocks)];
    }
    let mut blocks = vec![Block::PageBreak, Block::anchored(1, title, "findings")];
    let is_any_excused = sheet.of(Verdict::Excused).next().is_some();
    if !is_any_excused {
        // At the end it could stand on a page of its own.
        blocks.push(Block::paragraph(
            "No test was excused: every one that is wanted was taken or is open.",
        ));
    }
    blocks.push(Block::heading(2, "Outside, queried or close"));
    blocks.extend(judged(sheet));
    blocks.push(Block::heading(2, "Open: not yet taken"));
    blocks.extend(open(sheet));
    blocks.extend(to_countersign(sheet));
    if is_any_excused {
        blocks.push(Block::heading(2, "Limitations and what does not apply"));
        blocks.extend(excused(sheet));
    }
    blocks
}

fn judged(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut rows = Vec::new();
    for (v, title) in [
        (Verdict::Outside, "! outside: past its limit"),
        (
            Verdict::Query,
            "? query: meets its limit but contradicts another entry, or can't be judged",
        ),
        (
            Verdict::Close,
            "~ close: nearer to its limit than the uncertainty of the instrument",
        ),
    ] {
        let mut these = sheet.of(v).peekable();
        if these.peek().is_none() {
            continue;
        }
        rows.push(Row::section(title));
        rows.extend(these.map(|f| row(sheet, f)));
    }
    if rows.is_empty() {
        return vec![Block::paragraph("None.")];
    }
    let unchecked = Styled::new(
        "Sources are in full on the last pages. Those that don't say so were not compared with the edition in force.",
    )
    .size(7.0);
    vec![
        Block::Paragraph(unchecked),
        Block::Table(
            Table::new(
                vec![
                    Column::mm("Where", 34.0),
                    Column::mm("Test", 18.0),
                    Column::mm("Reading and limit", 27.0),
                    Column::share("Why", 1.0),
                    Column::mm("Source of the limit", 46.0),
                ],
                rows,
            )
            .size(7.2),
        ),
    ]
}

fn row(sheet: &Sheet<'_>, f: &Finding) -> Row {
    let mut place = Styled::new(sheet.owner(&f.place));
    if let Some(anchor) = sheet.spot(&f.place) {
        place = place.link(anchor);
    }
    let mark = f.mark.map_or_else(String::new, |m| format!(" [{m}]"));
    let source = match f.source.as_str() {
        "" => "own record of this job".to_string(),
        text if f.checked_against_current == Some(true) => {
            format!("{}{mark} Compared with the edition in force.", short(text))
        }
        text => format!("{}{mark}", short(text)),
    };
    let cells: [Cell; 5] = [
        vec![place, small(f.place.to_string())].into(),
        f.place.test.heading().into(),
        vec![
            Styled::new(f.value_text()).bold(),
            small(
                f.limit
                    .as_ref()
                    .map_or("no limit".into(), |_| held(&f.limit_text())),
            )
            .size(6.8),
            small(verdict(f.verdict)).bold(),
        ]
        .into(),
        f.why.as_str().into(),
        small(source).into(),
    ];
    Row::cells(cells)
}

/// Open places, those with the same open tests on one line.
fn open(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut groups: Vec<(String, Vec<String>, Vec<String>)> = Vec::new();
    let mut owners = BTreeSet::new();
    for f in sheet.of(Verdict::Open) {
        if !owners.insert(f.place.owner()) {
            continue;
        }
        let tests: Vec<String> = sheet
            .of(Verdict::Open)
            .filter(|o| o.place.top == f.place.top && o.place.part == f.place.part)
            .map(|o| o.place.test.heading().to_string())
            .collect();
        let title = sheet.owner(&f.place);
        match groups
            .iter_mut()
            .find(|(top, _, t)| f.place.part.is_some() && *top == f.place.top && *t == tests)
        {
            Some((top, titles, _)) if top == Group::Label.key() => titles.push(title),
            // The name of the board or array stands before the first already.
            Some((_, titles, _)) => titles.push(
                title
                    .split_once(" · ")
                    .map_or(title.clone(), |(_, part)| part.to_string()),
            ),
            None => {
                let top = if f.place.part.is_some() {
                    f.place.top.clone()
                } else {
                    f.place.to_string()
                };
                groups.push((top, vec![title], tests));
            }
        }
    }
    if groups.is_empty() {
        return vec![Block::paragraph("Nothing is open.")];
    }
    let rows = groups
        .into_iter()
        .map(|(top, titles, tests)| {
            let titles = match top == Group::Label.key() {
                true => format!("labels: {}", label_kinds(&titles).join("; ")),
                false => titles.join("; "),
            };
            Row::cells([titles, tests.join(", ")])
        })
        .collect();
    vec![Block::Table(
        Table::new(
            vec![
                Column::share("Where", 1.2),
                Column::share("Open tests", 1.0),
            ],
            rows,
        )
        .size(7.2),
    )]
}

/// What waits for a countersign, by owner; nothing where nothing does.
fn to_countersign(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut owners: Vec<(String, Vec<&str>)> = Vec::new();
    for f in sheet.findings.iter().filter(|f| f.waits_for_countersign) {
        let owner = sheet.owner(&f.place);
        match owners.last_mut().filter(|(last, _)| *last == owner) {
            Some((_, tests)) => tests.push(f.place.test.heading()),
            None => owners.push((owner, vec![f.place.test.heading()])),
        }
    }
    if owners.is_empty() {
        return Vec::new();
    }
    let rows = owners
        .into_iter()
        .map(|(owner, tests)| Row::cells([owner, tests.join(", ")]))
        .collect();
    vec![
        Block::heading(2, "To be countersigned by a qualified person"),
        Block::Table(
            Table::new(
                vec![
                    Column::share("Where", 1.2),
                    Column::share("Readings of an apprentice", 1.0),
                ],
                rows,
            )
            .size(7.2),
        ),
    ]
}

/// Excused places, those with the same reason on one line.
fn excused(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for f in sheet.of(Verdict::Excused) {
        let typed = f.value.clone().unwrap_or_default();
        let reason = match Value::parse(f.place.test.answer(), &typed) {
            Ok(Value::Limitation(why)) => format!("limitation: {why}"),
            Ok(Value::NotApplicable(why)) => format!("not applicable: {why}"),
            _ => f.why.clone(),
        };
        let signed = sheet.job.entry(&f.place).map(|e| sheet.signed(&e.now));
        let signed = signed.map_or_else(String::new, |s| format!(" ({s})"));
        let place = format!(
            "{}: {}{signed}",
            sheet.owner(&f.place),
            f.place.test.heading()
        );
        match groups.iter_mut().find(|(r, _)| *r == reason) {
            Some((_, places)) => places.push(place),
            None => groups.push((reason, vec![place])),
        }
    }
    let rows = groups
        .into_iter()
        .map(|(reason, places)| Row::cells([or_dash(&reason), places.join("; ")]))
        .collect();
    vec![Block::Table(
        Table::new(
            vec![Column::share("Reason", 1.0), Column::share("Where", 1.4)],
            rows,
        )
        .size(7.2),
    )]
}
