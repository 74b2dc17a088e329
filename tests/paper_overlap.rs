//! Nothing on a finished paper lies on anything else, and nothing of the record is lost on the way: poppler's word boxes over
//! every sample, every starter, and records that are hard to lay out.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod paper_help;

use std::collections::BTreeSet;
use std::sync::OnceLock;

use serde_json::Value;
use wanderlead::forms::Forms;
use wanderlead::job::Job;
use wanderlead::paper::measure::printable;
use wanderlead::paper::page::{Document, Grey, MM_PER_POINT, Mark, Page, Weight};
use wanderlead::paper::{Drafted, draft, pdf};

use paper_help::boxes::{Sheet, outside, overlaps, sheets};
use paper_help::hard;

/// A record, its paper, and the words on it.
struct Paper {
    name: String,
    job: Job,
    drafted: Drafted,
    sheets: Vec<Sheet>,
}

fn papers() -> &'static [Paper] {
    static PAPERS: OnceLock<Vec<Paper>> = OnceLock::new();
    PAPERS.get_or_init(|| {
        let forms = Forms::embedded().expect("the defaults");
        let mut jobs = common::jobs_in("sample-jobs");
        jobs.extend(common::jobs_in("forms/starters"));
        assert!(jobs.len() >= 9, "{} samples and starters", jobs.len());
        jobs.extend(hard::all());
        jobs.into_iter()
            .map(|(name, job)| {
                let drafted = draft(&job, &forms, common::later()).expect("a PDF");
                let sheets = sheets(&drafted.bytes);
                Paper {
                    name,
                    job,
                    drafted,
                    sheets,
                }
            })
            .collect()
    })
}

fn paper(name: &str) -> &'static Paper {
    papers().iter().find(|p| p.name == name).expect(name)
}

#[test]
fn no_word_lies_on_another() {
    let mut found = Vec::new();
    for paper in papers() {
        let words: usize = paper.sheets.iter().map(|s| s.words.len()).sum();
        assert!(words > 1000, "{}: {words} words", paper.name);
        for (at, sheet) in paper.sheets.iter().enumerate() {
            for pair in overlaps(sheet) {
                found.push(format!("{} page {}: {pair}", paper.name, at + 1));
            }
        }
    }
    assert!(
        found.is_empty(),
        "{} pairs\n{}",
        found.len(),
        found.join("\n")
    );
}

#[test]
fn every_word_is_in_the_printable_frame() {
    let mut found = Vec::new();
    for paper in papers() {
        for (at, sheet) in paper.sheets.iter().enumerate() {
            for word in outside(sheet) {
                found.push(format!("{} page {}: {word}", paper.name, at + 1));
            }
        }
    }
    assert!(
        found.is_empty(),
        "{} words\n{}",
        found.len(),
        found.join("\n")
    );
}

/// Text at a place in mm on A4.
fn mark(x: f64, y: f64, size: f64, turn: f64, text: &str) -> Mark {
    Mark::Text {
        x,
        y,
        size,
        weight: Weight::Regular,
        grey: Grey::BLACK,
        turn,
        text: text.into(),
    }
}

fn sheet_of(marks: Vec<Mark>) -> Sheet {
    let page = Page {
        width: 210.0,
        height: 297.0,
        marks,
    };
    let document = Document {
        pages: vec![page],
        ..Document::default()
    };
    sheets(&pdf::write(&document).expect("a PDF")).remove(0)
}

#[test]
fn the_check_sees_what_lies_on_something_else() {
    let line = 8.0 * 1.26 * MM_PER_POINT;
    let first = || mark(40.0, 60.0, 8.0, 0.0, "insulation resistance");
    let sound = [
        mark(40.0, 60.0 + line, 8.0, 0.0, "insulation resistance"),
        mark(80.0, 60.0, 8.0, 0.0, "beside it"),
    ];
    for second in sound {
        let sheet = sheet_of(vec![first(), second]);
        assert_eq!(overlaps(&sheet), Vec::<String>::new());
        assert_eq!(outside(&sheet), Vec::<String>::new());
    }
    let faults = [
        (
            "half a line lower",
            mark(40.0, 60.0 + line / 2.0, 8.0, 0.0, "insulation resistance"),
        ),
        (
            "five sixths of a line lower",
            mark(40.0, 60.0 + line * 5.0 / 6.0, 8.0, 0.0, "other words"),
        ),
        (
            "half a word to the right",
            mark(46.0, 60.0, 8.0, 0.0, "continuity of the ring"),
        ),
        ("at the same place", mark(40.0, 60.0, 8.0, 0.0, "polarity")),
        (
            "a turned header across",
            mark(44.0, 70.0, 8.0, 90.0, "loop impedance of the circuit"),
        ),
        (
            "a larger word over it",
            mark(38.0, 62.0, 30.0, 0.0, "heading"),
        ),
    ];
    for (what, second) in faults {
        let sheet = sheet_of(vec![first(), second]);
        assert!(!overlaps(&sheet).is_empty(), "{what}: {:?}", sheet.words);
    }
    for (x, y) in [(15.0, 60.0), (193.0, 60.0), (60.0, 11.0), (60.0, 288.0)] {
        let sheet = sheet_of(vec![mark(x, y, 8.0, 0.0, "edge")]);
        assert_eq!(outside(&sheet).len(), 1, "{x}, {y}");
    }
}

/// What was left out of a paper's text: the head of every page and its foot, which stand between the parts of a text that goes on.
fn body(paper: &Paper) -> String {
    let pages: Vec<Vec<&str>> = paper
        .sheets
        .iter()
        .map(|s| s.words.iter().map(|w| w.text.as_str()).collect())
        .collect();
    let mut all = String::new();
    for (at, page) in pages.iter().enumerate() {
        // The head of a page, and that of a table which goes on, are the words it shares with the page before.
        let before = at.checked_sub(1).and_then(|b| pages.get(b));
        let shared = before.map_or(0, |b| {
            b.iter().zip(page).take_while(|(a, b)| a == b).count()
        });
        let foot = page
            .iter()
            .rposition(|w| *w == "Content")
            .unwrap_or(page.len());
        all.extend(page[shared.min(foot)..foot].iter().copied());
    }
    all
}

/// Texts of the record by field; ids, figures and words of the format are none.
fn texts(value: &Value, at: &str, out: &mut Vec<(String, String)>) {
    const TEXTS: [&str; 24] = [
        "reference",
        "title",
        "name",
        "address",
        "extent",
        "existing",
        "firm",
        "make",
        "serial",
        "main_switch",
        "electrode",
        "to",
        "location",
        "spd",
        "no_spd",
        "method",
        "declaration",
        "remarks",
        "operator",
        "meter_number",
        "acceptance",
        "text",
        "what",
        "typed",
    ];
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                let here = format!("{at}.{key}");
                match value {
                    Value::String(text) if TEXTS.contains(&key.as_str()) => {
                        out.push((here, text.clone()))
                    }
                    value => texts(value, &here, out),
                }
            }
        }
        Value::Array(items) => {
            for (n, item) in items.iter().enumerate() {
                let here = format!("{at}[{n}]");
                match item {
                    Value::String(text) if at.ends_with("modules") || at.ends_with("photos") => {
                        out.push((here, text.clone()));
                    }
                    item => texts(item, &here, out),
                }
            }
        }
        _ => {}
    }
}

/// As it is printed, without the spaces that a line may end at.
fn bare(text: &str) -> String {
    let (printed, _) = printable(text, Weight::Regular);
    printed.split_whitespace().collect()
}

#[test]
fn every_text_of_the_record_is_there_in_full() {
    let mut lost = Vec::new();
    for paper in papers() {
        let body = body(paper);
        let mut wanted = Vec::new();
        texts(&serde_json::to_value(&paper.job).unwrap(), "", &mut wanted);
        assert!(wanted.len() > 20, "{}: {} texts", paper.name, wanted.len());
        for (field, text) in wanted {
            // A reason goes to the notes without what introduces it, and a mark in place of it.
            let text = text
                .strip_prefix("lim:")
                .or(text.strip_prefix("n/a:"))
                .unwrap_or(&text)
                .trim();
            if !body.contains(&bare(text)) {
                let short: String = text.chars().take(60).collect();
                lost.push(format!("{}: {field} {short}", paper.name));
            }
        }
    }
    assert!(lost.is_empty(), "{} texts\n{}", lost.len(), lost.join("\n"));
}

#[test]
fn every_page_has_its_number_and_the_digest() {
    for paper in papers() {
        let digest = paper.job.content_digest().unwrap();
        let digits: Vec<char> = digest.chars().take(16).collect();
        let fours: Vec<String> = digits.chunks(4).map(|c| c.iter().collect()).collect();
        let of = paper.sheets.len();
        assert_eq!(of, paper.drafted.pages, "{}", paper.name);
        for (at, sheet) in paper.sheets.iter().enumerate() {
            let text = sheet.text();
            for wanted in [
                format!("Page {} of {of}", at + 1),
                format!("Content {}.", fours.join(" ")),
            ] {
                assert!(
                    text.contains(&wanted),
                    "{} page {}: no {wanted}",
                    paper.name,
                    at + 1
                );
            }
        }
    }
}

#[test]
fn signs_the_font_lacks_are_replaced_and_named() {
    let paper = paper("alphabets");
    let missing: BTreeSet<char> = "Ἀῆ🔌漢字⏚日本👷".chars().collect();
    assert_eq!(paper.drafted.unprintable, missing);
    let said = paper.drafted.describe(std::path::Path::new("a.pdf"));
    for c in missing {
        assert!(said.contains(c), "{c} in {said}");
    }
    let text: String = paper.sheets.iter().map(Sheet::text).collect();
    for wanted in [
        "Юлія Ґудзь \u{FFFD} \u{FFFD}\u{FFFD}",
        "Nguyễn Thị Hường",
        "đã kiểm tra; проверено; ελέγχθηκε \u{FFFD}",
    ] {
        assert!(text.contains(wanted), "{wanted}");
    }
}

#[test]
fn a_table_that_goes_on_has_its_head_again() {
    // Which paper, what its pages are called, a word of the row, the heads of the tables that have such rows, and how many
    // pages they take at least.
    type Case<'a> = (&'a str, &'a str, &'a str, &'a [&'a [&'a str]], usize);
    let tables: [Case<'_>; 4] = [
        (
            "60 circuits",
            "Schedule of main board",
            "of bay",
            &[
                &[
                    "No. Circuit Points",
                    "Change of voltage",
                    "Breaking kA",
                    "Direction",
                ],
                &["No. Circuit", "live-earth", "Entered by"],
                &["Circuit limit"],
            ],
            6,
        ),
        (
            "60 circuits",
            "Certificate with findings",
            "! outside",
            &[&["Where Test Reading and limit Why"]],
            4,
        ),
        (
            "40 modules in branches",
            "Label schedule",
            "pass",
            &[&["Label Where", "Fitted", "Clause"]],
            1,
        ),
        (
            "6 boards",
            "Label schedule",
            "not",
            &[&["Label Where", "Fitted", "Clause"]],
            1,
        ),
    ];
    for (name, title, row, heads, least) in tables {
        let mut pages = 0;
        for sheet in &paper(name).sheets {
            let text = sheet.text();
            if text.matches(row).count() < 4 || !text.contains(title) {
                continue;
            }
            pages += 1;
            let headed = heads
                .iter()
                .any(|h| h.iter().all(|words| bare(&text).contains(&bare(words))));
            assert!(headed, "{name}: no head over {row} in {text}");
        }
        assert!(pages >= least, "{name}: {row} on {pages} pages");
    }
}
