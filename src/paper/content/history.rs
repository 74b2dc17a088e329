//! What was changed after it was entered: readings that were struck out, and edits of the record itself.

use crate::job::{Deed, Done, Edited, Entry, Place, Reading, Unlike};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::sheet::{Sheet, small};
use super::signed::vouched;
use super::words::{self, or_dash};

/// Readings struck out, then changes of the record.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let (corrected, edited) = (corrections(sheet), edits(sheet));
    let mut blocks = Vec::new();
    let none = match (corrected.is_empty(), edited.is_empty()) {
        (true, true) => {
            "None: no reading was struck out or taken back, and no part of the record was changed later."
        }
        (true, false) => "No reading was struck out or taken back.",
        (false, true) => "No part of the record was changed later.",
        (false, false) => "",
    };
    if !corrected.is_empty() {
        blocks.push(Block::Table(Table::new(
            vec![
                Column::share("Where", 1.0),
                Column::mm("Test", 26.0),
                Column::mm("Struck out", 46.0),
                Column::mm("Replaced by", 46.0),
            ],
            corrected,
        )));
    }
    if !edited.is_empty() {
        blocks.push(Block::Table(
            Table::new(
                vec![
                    Column::mm("Changed by", 42.0),
                    Column::mm("Part", 30.0),
                    Column::share("Change of the record, from -> to", 1.0),
                    Column::mm("Readings set aside by it", 46.0),
                ],
                edited,
            )
            .size(7.2),
        ));
    }
    if !none.is_empty() {
        blocks.push(Block::paragraph(none));
    }
    blocks.insert(0, Block::heading(2, "Corrections and changes"));
    blocks
}

fn corrections(sheet: &Sheet<'_>) -> Vec<Row> {
    let typed = |r: &Reading, bold: bool| {
        let text = Styled::new(shown(r));
        vec![
            if bold { text.bold() } else { text },
            small(sheet.person(&r.by)),
            small(words::minute(r.at)),
        ]
        .into_iter()
        .chain(vouched(sheet, r).into_iter().map(small))
        .collect::<Vec<Styled>>()
    };
    let mut rows = Vec::new();
    for back in &sheet.job.taken_back {
        let gone = vec![
            Styled::new("taken back"),
            small(sheet.person(&back.by)),
            small(words::minute(back.at)),
        ];
        rows.push(Row::cells::<Cell>([
            sheet.owner(&back.place).into(),
            back.place.test.heading().into(),
            typed(&back.reading, false).into(),
            gone.into(),
        ]));
    }
    for seat in sheet.job.seats() {
        for (test, entry) in seat.readings.iter() {
            let mut after = entry.struck.iter().skip(1).chain([&entry.now]);
            for old in &entry.struck {
                let Some(new) = after.next() else { continue };
                rows.push(Row::cells::<Cell>([
                    seat.title().into(),
                    test.heading().into(),
                    typed(old, false).into(),
                    typed(new, true).into(),
                ]));
            }
        }
    }
    rows
}

/// Most edits in a row of the table.
const TOGETHER: usize = 12;

/// Every edit in the order it was made, an undone one with what undid it; those that one person made to one part in a row are
/// told together.
fn edits(sheet: &Sheet<'_>) -> Vec<Row> {
    let mut runs: Vec<Vec<&Edited>> = Vec::new();
    for edit in &sheet.job.edits {
        match runs.last_mut() {
            Some(run) if run.len() < TOGETHER && run.iter().all(|e| goes_with(e, edit)) => {
                run.push(edit);
            }
            _ => runs.push(vec![edit]),
        }
    }
    let row = |run: Vec<&Edited>| {
        let (first, last) = (run.first()?, run.last()?);
        let how = run.iter().flat_map(|e| e.in_words()).map(Styled::new);
        let aside = run.iter().flat_map(|e| &e.set_aside);
        let aside = aside.flat_map(|(place, entry)| aside_of(sheet, place, entry));
        let or_none = |lines: Vec<Styled>| {
            if lines.is_empty() {
                vec![Styled::new(words::DASH)]
            } else {
                lines
            }
        };
        let mut when = words::minute(first.at);
        if first.at != last.at {
            when = format!("{when} to {}", words::minute(last.at));
        }
        Some(Row::cells::<Cell>([
            vec![Styled::new(sheet.person(&first.by)), Styled::new(when)].into(),
            or_dash(&first.what).into(),
            or_none(how.collect()).into(),
            or_none(aside.collect()).into(),
        ]))
    };
    runs.into_iter().filter_map(row).collect()
}

/// Whether two edits are told in one row.
fn goes_with(a: &Edited, b: &Edited) -> bool {
    a.by == b.by && a.what == b.what && a.set_aside.is_empty() && b.set_aside.is_empty()
}

/// A reading that lost its place, with those that had been struck out before it.
fn aside_of(sheet: &Sheet<'_>, place: &Place, entry: &Entry) -> Vec<Styled> {
    let whose = |r: &Reading| {
        let entered = format!("{}, {}", sheet.person(&r.by), words::minute(r.at));
        let all: Vec<String> = std::iter::once(entered).chain(vouched(sheet, r)).collect();
        all.join("; ")
    };
    let mut lines = vec![
        Styled::new(format!("{place}: {}", shown(&entry.now))),
        small(whose(&entry.now)),
    ];
    lines.extend(
        entry
            .struck
            .iter()
            .map(|old| small(format!("struck out before: {}, {}", shown(old), whose(old)))),
    );
    lines
}

/// Entries with their numbers: all, or those up to the issue that the paper is of. Issues are printed elsewhere.
fn until<'a>(sheet: &Sheet<'a>, issue: Option<u32>) -> Vec<(usize, &'a Deed)> {
    let deeds: Vec<(usize, &Deed)> = sheet.job.history.iter().enumerate().collect();
    // What was done since, and undone, is not of this paper: drafted again it has to be the same.
    let end = issue.map(|n| format!("issue {n}")).and_then(|name| {
        let is = |(_, d): &(usize, &Deed)| d.done == Done::Issued && d.what == name;
        deeds.iter().rposition(is)
    });
    let until = deeds.into_iter().take(end.unwrap_or(usize::MAX));
    until
        .filter(|(_, d)| d.done != Done::Issued)
        .map(|(i, d)| (i + 1, d))
        .collect()
}

/// How many entries the history has, and whether its chain is whole; what was settled on opening, one by one.
pub(super) fn chain(sheet: &Sheet<'_>, issue: Option<u32>) -> Vec<Block> {
    let deeds = until(sheet, issue);
    let Some(told) = told(sheet, &deeds) else {
        return Vec::new();
    };
    let mut blocks = vec![Block::heading(2, "History"), told];
    blocks.extend(unlike(sheet, &deeds));
    let settled: Vec<(usize, &Deed)> = deeds
        .into_iter()
        .filter(|(_, d)| matches!(d.done, Done::Settled | Done::Begun))
        .collect();
    if !settled.is_empty() {
        blocks.push(table(sheet, &settled));
    }
    blocks
}

/// Every entry.
pub(super) fn in_full(sheet: &Sheet<'_>, issue: Option<u32>) -> Vec<Block> {
    let mut blocks = vec![Block::anchored(1, "History", "history")];
    let deeds = until(sheet, issue);
    blocks.extend(told(sheet, &deeds));
    blocks.extend(unlike(sheet, &deeds));
    if !deeds.is_empty() {
        blocks.push(table(sheet, &deeds));
    }
    blocks
}

/// Readings that aren't as the history has them, one by one; `None` where there are none.
fn unlike(sheet: &Sheet<'_>, deeds: &[(usize, &Deed)]) -> Option<Block> {
    let unlike = sheet.job.unlike_history(deeds.last()?.0);
    let each: Vec<String> = unlike.iter().map(Unlike::words).collect();
    (!each.is_empty()).then(|| {
        let words = format!(
            "NOT AS THE HISTORY HAS THEM, changed in the file outside of the program: {}. The name and the time printed with such a \
             reading need not be of whoever wrote the value.",
            each.join("; ")
        );
        Block::Paragraph(Styled::new(words).bold())
    })
}

/// Whether the chain is whole; `None` where there is no history.
fn told(sheet: &Sheet<'_>, deeds: &[(usize, &Deed)]) -> Option<Block> {
    if let Some(broken) = sheet.job.history.broken() {
        let words = format!(
            "THE CHAIN OF DIGESTS OF THE HISTORY IS BROKEN: {}. Who changed what and when is in doubt around it.",
            broken.why
        );
        return Some(Block::Paragraph(Styled::new(words).bold()));
    }
    let ((_, first), (_, last)) = (deeds.first()?, deeds.last()?);
    let entries = match deeds.len() {
        1 => format!("1 entry, of {}; its", words::minute(first.at)),
        n => format!(
            "{n} entries from {} to {}; their",
            words::minute(first.at),
            words::minute(last.at)
        ),
    };
    Some(Block::paragraph(format!(
        "{entries} chain of digests is whole and ends with {}. It finds damage and careless edits; it is no signature. The part \
         `history` of the pack, drafted by itself, has every entry.",
        last.digest
    )))
}

fn table(sheet: &Sheet<'_>, deeds: &[(usize, &Deed)]) -> Block {
    let row = |(number, d): &(usize, &Deed)| {
        Row::cells::<Cell>([
            number.to_string().into(),
            words::minute(d.at).into(),
            sheet.person(&d.by).into(),
            vec![Styled::new(d.done.name()), small(d.what.clone())].into(),
            or_dash(&d.change()).into(),
            small(d.digest.get(..8).unwrap_or_default().to_string()).into(),
        ])
    };
    Block::Table(
        Table::new(
            vec![
                Column::mm("No.", 11.0),
                Column::mm("When", 29.0),
                Column::mm("Who", 34.0),
                Column::mm("What", 36.0),
                Column::share("From -> to", 1.0),
                Column::mm("Digest", 15.0),
            ],
            deeds.iter().map(row).collect(),
        )
        .size(7.2),
    )
}

/// A reading with its unit where it is a figure.
fn shown(reading: &Reading) -> String {
    reading.unit.with_typed(&reading.typed)
}
