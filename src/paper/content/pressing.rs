//! What is to be seen to, the most pressing first, in as many lines as there is room for.

use std::collections::BTreeMap;

use crate::checks::{Finding, Verdict};
use crate::job::{Group, Test, Value};
use crate::paper::flow::{Align, Block, Column, Row, Styled, Table};

use super::sheet::{Sheet, verdict};
use super::words::{self, DASH};

/// Most owners that one line names.
const NAMED: usize = 4;
/// Most characters of why.
const SHORT: usize = 84;

/// One line of the list.
pub(super) struct Item {
    /// Verdict or what else it is listed for.
    kind: String,
    bold: bool,
    place: String,
    what: String,
    anchor: Option<String>,
    /// How many places it stands for.
    places: usize,
}

/// A text that is no longer than there is room for, cut between words and said to be.
fn cut(text: &str) -> String {
    let text = text.trim();
    let Some((end, _)) = text.char_indices().nth(SHORT) else {
        return text.to_string();
    };
    let start = text.get(..end).unwrap_or(text);
    // A word longer than the line is cut itself.
    let words = start.rsplit_once(' ').map_or(start, |(words, _)| words);
    let is_loose = |c: char| !c.is_alphanumeric() && !matches!(c, ')' | ']' | '%' | '°');
    format!("{}…", words.trim_end_matches(is_loose))
}

/// Every line, the most pressing first.
pub(super) fn items(sheet: &Sheet<'_>) -> Vec<Item> {
    let mut out = Vec::new();
    out.extend(sheet.of(Verdict::Outside).map(|f| judged(sheet, f)));
    out.extend(sheet.of(Verdict::Query).map(|f| judged(sheet, f)));
    out.extend(grouped(
        sheet,
        verdict(Verdict::Open),
        sheet.of(Verdict::Open),
    ));
    let waiting = sheet.findings.iter().filter(|f| f.waits_for_countersign);
    out.extend(grouped(sheet, "countersign".into(), waiting));
    out.extend(around(sheet));
    out.extend(sheet.of(Verdict::Close).map(|f| judged(sheet, f)));
    out.extend(excused(sheet));
    out
}

/// The first `shown` lines, and how many places the others stand for.
pub(super) fn blocks(items: &[Item], shown: usize) -> Vec<Block> {
    if items.is_empty() {
        return Vec::new();
    }
    let mut blocks = vec![Block::heading(2, "To be seen to or to know of")];
    let rows: Vec<Row> = items.iter().take(shown).map(row).collect();
    if !rows.is_empty() {
        blocks.push(Block::Table(
            Table::new(
                vec![
                    Column::mm("", 17.0),
                    Column::share("Where", 1.0),
                    Column::share("What", 1.6),
                    Column::mm("Page", 10.0).align(Align::Right),
                ],
                rows,
            )
            .size(7.0),
        ));
    }
    let more: usize = items.iter().skip(shown).map(|i| i.places).sum();
    if more > 0 {
        let lead = if shown == 0 { "" } else { "and " };
        let text = format!("{lead}{more} more, see Findings and limitations.");
        blocks.push(Block::Paragraph(Styled::new(text).bold().link("findings")));
    }
    blocks
}

fn row(item: &Item) -> Row {
    let anchor = item.anchor.as_deref().unwrap_or("findings");
    let kind = Styled::new(item.kind.as_str());
    Row::cells([
        if item.bold { kind.bold() } else { kind },
        Styled::new(item.place.as_str()).link(anchor),
        Styled::new(item.what.as_str()),
        Styled::new(DASH).page_of(anchor),
    ])
}

fn judged(sheet: &Sheet<'_>, f: &Finding) -> Item {
    // Against a limit in figures the figures say it.
    let text = match (&f.limit, f.verdict) {
        (Some(_), Verdict::Outside | Verdict::Close) => {
            format!("{}, limit {}", f.value_text(), f.limit_text())
        }
        _ => f.why.clone(),
    };
    Item {
        kind: verdict(f.verdict),
        bold: f.verdict == Verdict::Outside,
        place: sheet.owner(&f.place),
        what: format!("{}: {}", f.place.test.heading(), cut(&text)),
        anchor: sheet.spot(&f.place),
        places: 1,
    }
}

/// Owners with the same tests on one line, within a board or array.
fn grouped<'f>(
    sheet: &Sheet<'_>,
    kind: String,
    findings: impl Iterator<Item = &'f Finding>,
) -> Vec<Item> {
    let mut owners: Vec<(&Finding, Vec<Test>)> = Vec::new();
    for f in findings {
        match owners.last_mut() {
            Some((first, tests))
                if first.place.top == f.place.top && first.place.part == f.place.part =>
            {
                tests.push(f.place.test);
            }
            _ => owners.push((f, vec![f.place.test])),
        }
    }
    let mut at: BTreeMap<(&str, Vec<Test>), usize> = BTreeMap::new();
    let mut groups: Vec<(&Finding, Vec<Test>, Vec<String>)> = Vec::new();
    for (first, tests) in owners {
        let title = sheet.owner(&first.place);
        let known = at.get(&(first.place.top.as_str(), tests.clone())).copied();
        match known.and_then(|n| groups.get_mut(n)) {
            Some((_, _, titles)) => titles.push(match title.split_once(" · ") {
                _ if first.place.top == Group::Label.key() => title,
                // The name of the board or array stands before the first already.
                Some((_, part)) if first.place.part.is_some() => part.to_string(),
                _ => title,
            }),
            None => {
                at.insert((first.place.top.as_str(), tests.clone()), groups.len());
                groups.push((first, tests, vec![title]));
            }
        }
    }
    let item = |(first, tests, titles): (&Finding, Vec<Test>, Vec<String>)| {
        let places = tests.len() * titles.len();
        let headings: Vec<&str> = tests.iter().map(|t| t.heading()).collect();
        Item {
            kind: kind.clone(),
            bold: false,
            place: match first.place.top == Group::Label.key() {
                true => format!(
                    "labels: {}",
                    named(&words::label_kinds(&titles), tests.len())
                ),
                false => named(&titles, tests.len()),
            },
            what: headings.join(", "),
            anchor: sheet.spot(&first.place),
            places,
        }
    };
    groups.into_iter().map(item).collect()
}

/// The first few, and how many places the others have.
fn named(titles: &[String], each: usize) -> String {
    let shown: Vec<&str> = titles.iter().take(NAMED).map(String::as_str).collect();
    let more = match titles.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!("; and {} more", n * each),
    };
    format!("{}{more}", shown.join("; "))
}

/// Readings that were taken before their turn.
fn around(sheet: &Sheet<'_>) -> Vec<Item> {
    let mut out = Vec::new();
    for seat in sheet.job.seats() {
        for (test, entry) in seat.readings.iter() {
            let Some(around) = &entry.now.around else {
                continue;
            };
            let place = seat.place(test);
            let waited = &around.waited_for;
            let reason = cut(&around.reason);
            out.push(Item {
                kind: "order".into(),
                bold: false,
                place: seat.title(),
                what: format!(
                    "{} taken before {} of {}: {reason}",
                    test.heading(),
                    waited.test.heading(),
                    sheet.owner(waited)
                ),
                anchor: sheet.spot(&place),
                places: 1,
            });
        }
    }
    out
}

/// Excused places, those with the same reason on one line.
fn excused(sheet: &Sheet<'_>) -> Vec<Item> {
    let mut at: BTreeMap<String, usize> = BTreeMap::new();
    let mut groups: Vec<(String, &Finding, Vec<String>)> = Vec::new();
    for f in sheet.of(Verdict::Excused) {
        let typed = f.value.clone().unwrap_or_default();
        let reason = match Value::parse(f.place.test.answer(), &typed) {
            Ok(Value::Limitation(why)) => format!("limitation: {why}"),
            Ok(Value::NotApplicable(why)) => format!("not applicable: {why}"),
            _ => f.why.clone(),
        };
        let place = format!("{}: {}", sheet.owner(&f.place), f.place.test.heading());
        match at.get(&reason).and_then(|n| groups.get_mut(*n)) {
            Some((_, _, places)) => places.push(place),
            None => {
                at.insert(reason.clone(), groups.len());
                groups.push((reason, f, vec![place]));
            }
        }
    }
    let item = |(reason, first, places): (String, &Finding, Vec<String>)| Item {
        kind: verdict(Verdict::Excused),
        bold: false,
        place: named(&places, 1),
        what: cut(&reason),
        anchor: match places.len() {
            1 => sheet.spot(&first.place),
            _ => None,
        },
        places: places.len(),
    };
    groups.into_iter().map(item).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_between_words_and_says_so() {
        assert_eq!(cut(" short "), "short");
        let just = "x".repeat(SHORT);
        assert_eq!(cut(&just), just);
        let long = format!("{} and, then more", "a".repeat(SHORT - 6));
        assert_eq!(cut(&long), format!("{} and…", "a".repeat(SHORT - 6)));
        assert_eq!(
            cut(&"é".repeat(SHORT + 1)),
            format!("{}…", "é".repeat(SHORT))
        );
    }
}
