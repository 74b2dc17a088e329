//! Where the limits come from, and how well that is known.

use std::collections::{BTreeMap, BTreeSet};

use crate::forms::{Limit, Mark, Source};
use crate::paper::flow::{Align, Block, Cell, Column, Row, Styled, Table};

use super::sheet::Sheet;
use super::words::{self, or_dash};

/// Stands in limit files where a value belongs to no document.
const NO_EDITION: &str = "none";

/// How many editions the first pages name.
const NAMED: usize = 4;

/// The editions that the limits of this paper belong to, for the first pages.
pub(super) fn editions(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut editions: BTreeMap<&str, usize> = BTreeMap::new();
    for limit in used(sheet).into_values() {
        let edition = limit.source.edition.as_str();
        if edition != NO_EDITION && !edition.is_empty() {
            *editions.entry(edition).or_default() += 1;
        }
    }
    let mut ordered: Vec<(&str, usize)> = editions.into_iter().collect();
    ordered.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    // Whoever relies on an edition of their own has to see its name here, however few entries belong to it.
    let own: BTreeSet<&str> = sheet
        .forms
        .own()
        .iter()
        .filter_map(|o| sheet.forms.limit(&o.id).ok())
        .map(|l| l.source.edition.as_str())
        .collect();
    let mut at = 0;
    let all = ordered.len();
    ordered.retain(|(edition, _)| {
        at += 1;
        at <= NAMED || own.contains(edition)
    });
    let more = all - ordered.len();
    let listed: Vec<String> = ordered
        .iter()
        .map(|(edition, n)| format!("{edition} ({n})"))
        .collect();
    let from = if listed.is_empty() {
        "No limit that belongs to an edition was used.".to_string()
    } else {
        format!(
            "Entries of the limit files used here belong to, with their number: {}{}.",
            listed.join("; "),
            match more {
                0 => String::new(),
                1 => "; and 1 other edition, listed with the sources".into(),
                _ => format!("; and {more} other editions, listed with the sources"),
            }
        )
    };
    let replaced: Vec<&str> = sheet
        .forms
        .files()
        .iter()
        .filter(|f| f.replaced)
        .map(|f| f.name.as_str())
        .collect();
    let changed = sheet.forms.own().len();
    let mut own = if replaced.is_empty() {
        "The files of limits are those that the program ships.".to_string()
    } else {
        format!(
            "The user's own files of limits were used in place of: {}.",
            replaced.join(", ")
        )
    };
    if changed > 0 && replaced.is_empty() {
        own = "The files of limits are those that the program ships, with own entries of the user."
            .into();
    }
    if changed > 0 {
        let used = used(sheet);
        let here = sheet.forms.own().iter();
        let here = here.filter(|o| used.contains_key(o.id.as_str())).count();
        own.push_str(&format!(
            " Changed or added by the user: {}, {here} of them used here, listed with the sources.",
            entries(changed)
        ));
    }
    let mut lines = vec![Styled::new(format!("{from} {own}"))];
    if sheet.forms.unchecked().0 > 0 {
        lines.push(Styled::new(
            "BS 7671:2018+A4:2026 replaced the text of A2:2022 and A3:2024 in 2026. A person who holds it has to compare \
             them before relying on this paper.",
        ));
    }
    vec![Block::Together(vec![
        Block::heading(2, "Edition of the limits"),
        Block::Callout {
            title: String::new(),
            lines,
        },
    ])]
}

/// Whether the limits behind this paper were compared with the edition in force. A verdict may rest on several of them
/// (a table, a factor, a tolerance), so what counts is the files as a whole.
pub(super) fn compared(sheet: &Sheet<'_>) -> String {
    let (unchecked, all) = sheet.forms.unchecked();
    let (here, used) = used_unchecked(sheet);
    if unchecked == 0 {
        format!(
            "All {all} limits and factors of the files were compared with the edition in force by a person who holds it."
        )
    } else {
        format!(
            "{unchecked} of the {all} limits and factors of the files were NOT compared with the edition in force; of the \
             {used} used here, {here}."
        )
    }
}

/// Every entry of the limit files that a finding of this paper goes by, in order of id.
fn used<'s>(sheet: &'s Sheet<'_>) -> BTreeMap<&'s str, &'s Limit> {
    let basis = sheet.findings.iter().flat_map(|f| &f.basis);
    basis.map(|l| (l.id.as_str(), l.as_ref())).collect()
}

/// How many of the entries used here nobody compared with the edition in force, and how many are used.
fn used_unchecked(sheet: &Sheet<'_>) -> (usize, usize) {
    let used = used(sheet);
    let unchecked = used
        .values()
        .filter(|l| !l.source.checked_against_current)
        .count();
    (unchecked, used.len())
}

/// Every source of the entries that this paper goes by, with their number and that of the places they were used at.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut sources: Vec<(&Source, BTreeSet<&str>, usize)> = Vec::new();
    for f in &sheet.findings {
        let mut counted: Vec<&Source> = Vec::new();
        for limit in &f.basis {
            let at = match sources.iter().position(|(s, _, _)| **s == limit.source) {
                Some(at) => at,
                None => {
                    sources.push((&limit.source, BTreeSet::new(), 0));
                    sources.len() - 1
                }
            };
            if let Some((_, ids, places)) = sources.get_mut(at) {
                ids.insert(&limit.id);
                // A finding counts once for a source, however many of its entries it goes by.
                if !counted.contains(&&limit.source) {
                    counted.push(&limit.source);
                    *places += 1;
                }
            }
        }
    }
    sources.sort_by_key(|(_, _, places)| std::cmp::Reverse(*places));
    let mut blocks = vec![Block::heading(2, "Sources of the limits in this paper")];
    let own = sheet.findings.iter().filter(|f| f.basis.is_empty()).count();
    let own = format!(
        "{own} other places are judged against the record of this job itself, or answered by looking or trying."
    );
    if sources.is_empty() {
        blocks.push(Block::paragraph(format!(
            "No limit of the files was used. {own}"
        )));
    } else {
        let (unchecked, all) = used_unchecked(sheet);
        // Said once where it goes for all of them, rather than in every row.
        let each = if unchecked == all || unchecked == 0 {
            ""
        } else {
            " Those that were compared say so."
        };
        blocks.push(Block::Paragraph(
            Styled::new(format!(
                "Readings here were judged by {} of the limit files: limits, factors, tolerances and table values. {unchecked} of \
                 them were not compared with the edition in force.{each} Entries: how many a source gave; places: where they were used. {own}",
                entries(all)
            ))
            .size(7.0),
        ));
        blocks.push(Block::Table(
            Table::new(
                vec![
                    Column::share("Source", 1.0),
                    Column::mm("Edition", 38.5),
                    Column::mm("Entries", 11.0).align(Align::Right),
                    Column::mm("Places", 11.0).align(Align::Right),
                ],
                by_mark(&sources, each.is_empty()),
            )
            .size(6.4),
        ));
    }
    blocks.extend(changed(sheet));
    blocks
}

/// The sources under how well each is known, those used most first. `alike` where it needs no word for each whether it was
/// compared with the edition in force.
fn by_mark(sources: &[(&Source, BTreeSet<&str>, usize)], alike: bool) -> Vec<Row> {
    let mut rows = Vec::new();
    for mark in [
        Mark::Published,
        Mark::Derived,
        Mark::Memory,
        Mark::CommonPractice,
    ] {
        let these: Vec<_> = sources.iter().filter(|(s, ..)| s.mark == mark).collect();
        if !these.is_empty() {
            rows.push(Row::section(mark.in_words()));
        }
        rows.extend(these.iter().map(|(source, ids, places)| {
            let text = if source.checked_against_current && !alike {
                format!("{} (compared)", or_dash(&source.text))
            } else {
                or_dash(&source.text)
            };
            Row::cells::<Cell>([
                text.into(),
                edition_of(source).into(),
                ids.len().to_string().into(),
                places.to_string().into(),
            ])
        }));
    }
    rows
}

/// Entries that aren't as shipped, those used in this paper and the others.
fn changed(sheet: &Sheet<'_>) -> Vec<Block> {
    let used = used(sheet);
    let rows: Vec<Row> = sheet
        .forms
        .own()
        .iter()
        .filter_map(|own| {
            let limit = sheet.forms.limit(&own.id).ok()?;
            let before = own
                .shipped
                .map_or_else(|| "added".to_string(), |v| limit.unit.with(v));
            let here = used.contains_key(own.id.as_str());
            Some(Row::cells::<Cell>([
                own.id.as_str().into(),
                before.into(),
                limit.shown().into(),
                // Its first words say that it was changed, as this table does.
                limit
                    .source
                    .text
                    .split_once("; ")
                    .map_or("", |(_, own)| own)
                    .into(),
                edition_of(&limit.source).into(),
                compared_word(&limit.source).into(),
                if here { "yes" } else { "no" }.into(),
            ]))
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::heading(2, "Limits changed or added by the user of the program"),
        Block::Table(
            Table::new(
                vec![
                    Column::mm("Entry", 44.0),
                    Column::mm("Shipped", 18.0),
                    Column::mm("Counts here", 19.0),
                    Column::share("Source given for it", 1.0),
                    Column::mm("Edition", 24.0),
                    Column::mm("Compared", 16.0),
                    Column::mm("Used here", 12.0),
                ],
                rows,
            )
            .size(7.0),
        ),
    ]
}

fn entries(n: usize) -> String {
    match n {
        1 => "1 entry".into(),
        _ => format!("{n} entries"),
    }
}

fn edition_of(source: &Source) -> String {
    match source.edition.as_str() {
        NO_EDITION => words::DASH.to_string(),
        edition => or_dash(edition),
    }
}

fn compared_word(source: &Source) -> &'static str {
    if source.checked_against_current {
        "yes"
    } else {
        "no"
    }
}
