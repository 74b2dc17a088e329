//! Where the limits come from, and how well that is known.

use std::collections::BTreeMap;

use crate::checks::Finding;
use crate::forms::Mark;
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::sheet::Sheet;
use super::words::{self, or_dash};

/// Stands in limit files where a value belongs to no document.
const NO_EDITION: &str = "none";

fn cited<'s>(sheet: &'s Sheet<'_>) -> impl Iterator<Item = &'s Finding> {
    sheet.findings.iter().filter(|f| f.mark.is_some())
}

/// The editions that the limits of this paper belong to, for the first pages.
pub(super) fn editions(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut editions: BTreeMap<&str, usize> = BTreeMap::new();
    for f in cited(sheet) {
        if f.edition != NO_EDITION && !f.edition.is_empty() {
            *editions.entry(&f.edition).or_default() += 1;
        }
    }
    let mut ordered: Vec<(&str, usize)> = editions.into_iter().collect();
    ordered.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
    let listed: Vec<String> = ordered
        .iter()
        .map(|(edition, n)| format!("{edition} ({n})"))
        .collect();
    let from = if listed.is_empty() {
        "No limit that belongs to an edition was used.".to_string()
    } else {
        format!(
            "Limits used here belong to, with the number of places: {}.",
            listed.join("; ")
        )
    };
    let replaced: Vec<&str> = sheet
        .forms
        .files()
        .iter()
        .filter(|f| f.replaced)
        .map(|f| f.name.as_str())
        .collect();
    let own = if replaced.is_empty() {
        "The files of limits are those that the program ships.".to_string()
    } else {
        format!(
            "The user's own files of limits were used in place of: {}.",
            replaced.join(", ")
        )
    };
    let mut lines = vec![
        Styled::new(from),
        Styled::new(compared(sheet)),
        Styled::new(own),
    ];
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
    if unchecked == 0 {
        format!(
            "All {all} limits and factors of the files were compared with the edition in force by a person who holds it."
        )
    } else {
        format!(
            "{unchecked} of the {all} limits and factors of the files were NOT compared with the edition in force."
        )
    }
}

/// Every source of a limit in this paper, with the number of places it was used at.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut used: BTreeMap<(&str, &str, &str, bool), usize> = BTreeMap::new();
    for f in cited(sheet) {
        let key = (
            f.source.as_str(),
            f.edition.as_str(),
            f.mark.map_or(words::DASH, how_known),
            f.checked_against_current == Some(true),
        );
        *used.entry(key).or_default() += 1;
    }
    let own = sheet.findings.iter().filter(|f| f.mark.is_none()).count();
    let mut rows: Vec<(usize, Row)> = used
        .into_iter()
        .map(|((text, edition, known, compared), n)| {
            let edition = match edition {
                NO_EDITION => words::DASH.to_string(),
                edition => or_dash(edition),
            };
            let row = Row::cells::<Cell>([
                or_dash(text).into(),
                edition.into(),
                known.into(),
                if compared { "yes" } else { "no" }.into(),
                n.to_string().into(),
            ]);
            (n, row)
        })
        .collect();
    rows.sort_by_key(|(n, _)| std::cmp::Reverse(*n));
    let mut blocks = vec![Block::heading(2, "Sources of the limits in this paper")];
    if rows.is_empty() {
        blocks.push(Block::paragraph("No limit of the files was used."));
    } else {
        blocks.push(Block::Table(
            Table::new(
                vec![
                    Column::share("Source", 1.0),
                    Column::mm("Edition", 47.0),
                    Column::mm("How known", 25.0),
                    Column::mm("Compared with the edition in force", 24.0),
                    Column::mm("Places", 13.0),
                ],
                rows.into_iter().map(|(_, row)| row).collect(),
            )
            .size(7.0),
        ));
    }
    blocks.push(Block::paragraph(format!(
        "{own} other places are judged against the record of this job itself, or answered by looking or trying."
    )));
    blocks
}

fn how_known(mark: Mark) -> &'static str {
    match mark {
        Mark::Published => "published: seen on the page named",
        Mark::Derived => "derived from the formula named",
        Mark::Memory => "memory: recalled, not seen",
        Mark::CommonPractice => "common practice, no source",
    }
}
