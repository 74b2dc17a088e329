//! The parts of the pack with their pages, and how many places of each have which verdict.

use std::collections::BTreeMap;

use crate::checks::Verdict;
use crate::paper::flow::{Align, Block, Cell, Column, Row, Styled, Table};

use super::sheet::{Sheet, verdict};
use super::words::{DASH, titled};

/// Most boards, arrays or batteries that get a row each.
const MOST: usize = 8;

/// Verdicts in the order of the columns.
const ORDER: [Verdict; 6] = [
    Verdict::Outside,
    Verdict::Query,
    Verdict::Open,
    Verdict::Close,
    Verdict::Excused,
    Verdict::Within,
];

/// How many places have which verdict, and how many wait for a countersign.
#[derive(Debug, Clone, Default)]
struct Counts {
    of: BTreeMap<Verdict, usize>,
    waiting: usize,
}

impl Counts {
    fn add(&mut self, other: &Counts) {
        for (v, n) in &other.of {
            *self.of.entry(*v).or_default() += n;
        }
        self.waiting += other.waiting;
    }
}

/// The table.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut by_anchor: BTreeMap<&str, Counts> = BTreeMap::new();
    for f in &sheet.findings {
        let counts = by_anchor
            .entry(sheet.anchor(&f.place).unwrap_or("certificate"))
            .or_default();
        *counts.of.entry(f.verdict).or_default() += 1;
        counts.waiting += usize::from(f.waits_for_countersign);
    }
    let mut all = Counts::default();
    let mut rows = Vec::new();
    for (title, page, anchors) in parts(sheet) {
        let mut counts = Counts::default();
        for anchor in &anchors {
            if let Some(these) = by_anchor.get(anchor.as_str()) {
                counts.add(these);
            }
        }
        all.add(&counts);
        rows.push(row(
            Styled::new(title).link(page.as_str()),
            (!anchors.is_empty()).then_some(&counts),
            Some(page.as_str()),
        ));
    }
    rows.push(row(Styled::new("All together").bold(), Some(&all), None));
    let mut columns = vec![Column::share("Part of the pack", 1.0)];
    columns.extend(ORDER.map(|v| Column::mm(verdict(v), 16.0).align(Align::Right)));
    columns.push(Column::mm("countersign", 18.0).align(Align::Right));
    columns.push(Column::mm("Page", 12.0).align(Align::Right));
    vec![Block::Table(Table::new(columns, rows).size(7.0))]
}

fn row(title: Styled, counts: Option<&Counts>, page: Option<&str>) -> Row {
    let bold = page.is_none();
    let cell = |n: usize| -> Cell {
        let text = match (counts, n) {
            (None, _) => String::new(),
            (Some(_), 0) => DASH.to_string(),
            (Some(_), n) => n.to_string(),
        };
        match bold {
            true => Styled::new(text).bold().into(),
            false => text.into(),
        }
    };
    let of = |v| {
        counts
            .and_then(|c| c.of.get(&v).copied())
            .unwrap_or_default()
    };
    let mut cells: Vec<Cell> = vec![title.into()];
    cells.extend(ORDER.map(|v| cell(of(v))));
    cells.push(cell(counts.map_or(0, |c| c.waiting)));
    cells.push(page.map_or_else(
        || "".into(),
        |anchor| Styled::new(DASH).page_of(anchor).into(),
    ));
    Row::cells(cells)
}

/// Title, heading that it begins with, and the headings whose places are counted for it.
type Part = (String, String, Vec<String>);

fn parts(sheet: &Sheet<'_>) -> Vec<Part> {
    let job = sheet.job;
    let with = |title: &str, page: &str, anchors: &[&str]| -> Part {
        let anchors = anchors.iter().map(|a| (*a).to_string()).collect();
        (title.to_string(), page.to_string(), anchors)
    };
    let mut out = vec![
        with(
            "Certificate: supply, earthing, sources",
            "certificate",
            &["certificate", "supply", "bonding", "sources"],
        ),
        with(
            "Declarations, to be signed",
            "declarations",
            &["declarations"],
        ),
        with("Findings and limitations", "findings", &[]),
        with("Single-line diagram", "diagram-1", &[]),
    ];
    let named = |kind: &str, id: &str, name: &str| {
        let anchor = format!("{kind}-{id}");
        (titled(kind, name, id), anchor.clone(), vec![anchor])
    };
    let boards = job.boards.iter().map(|b| named("board", &b.id, &b.name));
    out.extend(some(boards.collect(), "boards"));
    let arrays = job.arrays.iter().map(|a| named("array", &a.id, &a.name));
    out.extend(some(arrays.collect(), "arrays"));
    let storage = job.storage.iter().map(|s| named("storage", &s.id, &s.make));
    out.extend(some(storage.collect(), "storage units"));
    if job.has_sources() {
        out.push(with("Grid connection", "grid", &["grid"]));
    }
    out.push(with("Label schedule", "labels", &["labels"]));
    out.push(with("Handover, for the customer", "handover", &[]));
    out.push(with(
        "Record: inspections, confirmations, instruments, sources",
        "record",
        &["record"],
    ));
    out
}

/// A row for each, or one for all of them where they are many.
fn some(each: Vec<Part>, what: &str) -> Vec<Part> {
    if each.len() <= MOST {
        return each;
    }
    let n = each.len();
    let page = each
        .first()
        .map_or(String::new(), |(_, page, _)| page.clone());
    let anchors = each.into_iter().flat_map(|(_, _, a)| a).collect();
    vec![(format!("{n} {what}, from"), page, anchors)]
}
