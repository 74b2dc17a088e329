//! `export`: the schedule as a table for other programs.

use std::path::PathBuf;

use anyhow::{Result, bail};
use clap::{Args, ValueEnum};

use super::cells::Table;
use super::{Context, Reply};
use crate::checks::{Finding, judge_all};
use crate::forms::Forms;
use crate::job::owner::Kind;
use crate::job::{Job, Owner, Part, Place, Reading};
use crate::screen::record::{Entry, Row, circuit_columns, describe, entries, rows};
use crate::store;

/// What each row is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Rows {
    /// A circuit, with its record and all its readings
    Circuits,
    /// A place, with its reading, limit, verdict and source
    Readings,
    /// A field of the record, of every part
    Record,
}

/// How the table is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum As {
    /// Comma-separated values with a line of headings, UTF-8
    Csv,
    /// An object with `schema` and `rows`
    Json,
}

/// Arguments of `export`.
#[derive(Debug, Args)]
pub(super) struct ExportArgs {
    /// Job file
    job: PathBuf,
    /// What each row is
    #[arg(long, value_enum, default_value = "circuits")]
    rows: Rows,
    /// How it is written
    #[arg(long = "as", value_enum, default_value = "csv")]
    as_: As,
}

/// Prints the table.
///
/// # Errors
/// A job or form file that can't be used, or a record that isn't whole.
pub(super) fn run(args: &ExportArgs, context: &Context) -> Result<Reply> {
    let forms = context.forms()?;
    let opened = store::read_job(&args.job)?;
    if let Some(lost) = opened.lost {
        // A table without readings that were kept would look complete.
        bail!("{lost}");
    }
    let findings = judge_all(&opened.job, &forms);
    let table = match args.rows {
        Rows::Circuits => circuits(&opened.job, &forms, &findings),
        Rows::Readings => readings(&opened.job, &findings),
        Rows::Record => record(&opened.job),
    };
    let data = match args.as_ {
        As::Csv => table.csv()?,
        As::Json => table.json()?,
    };
    Ok(Reply {
        data,
        messages: opened.notes,
        code: 0,
    })
}

fn circuits(job: &Job, forms: &Forms, findings: &[Finding]) -> Table {
    let by_place: std::collections::HashMap<&Place, &Finding> =
        findings.iter().map(|f| (&f.place, f)).collect();
    let tests: Vec<_> = forms.walk().tests_of(Kind::Circuit).collect();
    let mut headings: Vec<String> = ["board", "board_name", "circuit", "name"]
        .map(String::from)
        .to_vec();
    headings.extend(circuit_columns().map(|e| name(e).to_string()));
    headings.push("to_countersign".into());
    for test in &tests {
        let key = test.key();
        headings.extend([
            key.to_string(),
            format!("{key}_limit"),
            format!("{key}_verdict"),
        ]);
    }
    let seats = job.seats();
    let rows = seats.iter().filter_map(|seat| {
        let Owner::Circuit(board, circuit) = seat.owner else {
            return None;
        };
        let part = Part::Circuit(Box::new(circuit.clone()));
        let mut row = vec![
            board.id.clone(),
            board.name.clone(),
            circuit.id.clone(),
            circuit.name.clone(),
        ];
        row.extend(circuit_columns().map(|e| (e.get)(&part)));
        let waits = seat.readings.iter().filter(|(test, _)| {
            by_place
                .get(&seat.place(*test))
                .is_some_and(|f| f.waits_for_countersign)
        });
        row.push(waits.count().to_string());
        for test in &tests {
            let finding = by_place.get(&seat.place(*test));
            row.push(finding.and_then(|f| f.value.clone()).unwrap_or_default());
            row.push(finding.and_then(|f| f.limit.clone()).unwrap_or_default());
            row.push(finding.map_or(String::new(), |f| f.verdict.to_string()));
        }
        Some(row)
    });
    Table {
        headings,
        rows: rows.collect(),
    }
}

/// Every field of every part, as the form shows it; empty where nothing is recorded.
fn record(job: &Job) -> Table {
    let parts = rows(job).into_iter().filter_map(|row| match row {
        Row::Part(spot) => Some((job.part(&spot)?.0, spot)),
        Row::Head(_) => None,
    });
    let each = parts.flat_map(|(part, spot)| {
        let (_, words) = describe(&part, &spot);
        let fields = entries(&part).iter();
        let row = |e: &Entry| {
            vec![
                spot.to_string(),
                words.clone(),
                name(e).to_string(),
                e.heading.to_string(),
                (e.get)(&part),
                e.unit.to_string(),
            ]
        };
        fields.map(row).collect::<Vec<_>>()
    });
    let headings = ["part", "words", "field", "heading", "value", "unit"];
    Table {
        rows: each.collect(),
        headings: headings.map(String::from).to_vec(),
    }
}

/// What the file says the other way round is named as the form shows it.
fn name(entry: &Entry) -> &'static str {
    match entry.path {
        "to_compare." => "as_on_site",
        path => path.trim_end_matches('.'),
    }
}

/// Earlier readings as typed, oldest first.
fn struck(readings: &[Reading]) -> String {
    let typed: Vec<&str> = readings.iter().map(|r| r.typed.as_str()).collect();
    typed.join("; ")
}

fn readings(job: &Job, findings: &[Finding]) -> Table {
    let headings = [
        "place",
        "owner",
        "test",
        "heading",
        "value",
        "unit",
        "verdict",
        "limit",
        "margin",
        "why",
        "source",
        "mark",
        "edition",
        "by",
        "at",
        "instrument",
        "countersigned_by",
        "to_countersign",
        "out_of_order",
        "brought_in",
        "struck_out",
    ];
    let rows = findings.iter().map(|f| {
        let owner = job.seat(&f.place).map_or(String::new(), |s| s.title());
        let entry = job.entry(&f.place).map(|e| &e.now);
        let or_empty = |text: Option<&String>| text.cloned().unwrap_or_default();
        vec![
            f.place.to_string(),
            owner,
            f.test.to_string(),
            f.place.test.heading().to_string(),
            or_empty(f.value.as_ref()),
            f.unit.to_string(),
            f.verdict.to_string(),
            or_empty(f.limit.as_ref()),
            or_empty(f.margin.as_ref()),
            f.why.clone(),
            f.source.clone(),
            f.mark.map_or(String::new(), |m| m.to_string()),
            f.edition.clone(),
            entry.map_or(String::new(), |e| e.by.clone()),
            entry.map_or(String::new(), |e| e.at.to_rfc3339()),
            entry.and_then(|e| e.instrument.clone()).unwrap_or_default(),
            or_empty(f.countersigned_by.as_ref()),
            if f.waits_for_countersign { "yes" } else { "" }.to_string(),
            entry
                .and_then(|e| e.around.as_ref())
                .map_or(String::new(), |a| a.reason.clone()),
            entry
                .and_then(|e| e.brought.as_ref())
                .map_or(String::new(), |b| b.words()),
            job.entry(&f.place)
                .map_or(String::new(), |e| struck(&e.struck)),
        ]
    });
    Table {
        rows: rows.collect(),
        headings: headings.map(String::from).to_vec(),
    }
}
