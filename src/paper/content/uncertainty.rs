//! The operating uncertainty that readings were judged with, and whose figure it is.

use std::collections::BTreeMap;

use crate::job::Place;
use crate::paper::flow::{Block, Styled};

use super::sheet::Sheet;

/// A line for under a schedule: the readings at the places that `here` picks. `None` where none was judged with any.
pub(super) fn note(sheet: &Sheet<'_>, here: impl Fn(&Place) -> bool) -> Option<Block> {
    let mut used: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for f in sheet.findings.iter().filter(|f| here(&f.place)) {
        let Some(u) = &f.uncertainty else { continue };
        let whose = match u.from.strip_prefix("instrument ") {
            Some(id) => format!("{id}, its own figure"),
            None => "figure of the limit files, the instrument has none on record".into(),
        };
        let tests = used
            .entry(format!("±{} % ({whose})", u.percent.normalize()))
            .or_default();
        let heading = f.place.test.heading();
        if !tests.contains(&heading) {
            tests.push(heading);
        }
    }
    if used.is_empty() {
        return None;
    }
    let each: Vec<String> = used
        .iter()
        .map(|(figure, tests)| format!("{} {figure}", tests.join(", ")))
        .collect();
    Some(Block::Paragraph(
        Styled::new(format!(
            "Judged with these operating uncertainties, in percent of the reading: {}.",
            each.join("; ")
        ))
        .size(6.8),
    ))
}
