//! `show`: the whole job in plain lines, for reading aloud and for printing.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::process::Output;

use assert_cmd::Command;
use common::{CLEAN, FAULTY, HALF_DONE, no_settings, root, sample};
use wanderlead::checks::judge_all;
use wanderlead::forms::Forms;

fn run(args: &[&str]) -> Output {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", no_settings())
        .current_dir(root().join("sample-jobs"))
        .arg("show")
        .args(args);
    command.output().unwrap()
}

fn shown(args: &[&str]) -> String {
    let output = run(args);
    assert_eq!(output.status.code(), Some(0), "{args:?}");
    assert!(output.stderr.is_empty(), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// The lines as they were before they were wrapped: a fact begins with a word and a colon, or is a heading.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_clean_sample_reads_like_this() {
    insta::assert_snapshot!("harbour_row", shown(&[CLEAN]));
}

#[test]
fn every_finding_is_there_once_with_its_reading() {
    let forms = Forms::embedded().unwrap();
    for name in [CLEAN, FAULTY, HALF_DONE] {
        let text = flat(&shown(&[name]));
        for f in judge_all(&sample(name), &forms) {
            let mut word = f.verdict.word().to_string();
            word[..1].make_ascii_uppercase();
            let head = format!("{word}: {}, {}", f.place, f.place.test.heading());
            assert_eq!(text.matches(&head).count(), 1, "{name}: {head}");
            // Nor under another verdict.
            let place = format!(": {}, ", f.place);
            let heads = ["Outside", "Open", "Query", "Close", "Excused", "Within"];
            let all: usize = heads
                .iter()
                .map(|h| text.matches(&format!("{h}{place}")).count())
                .sum();
            assert_eq!(all, 1, "{name}: {place}");
            if f.value.is_some() {
                let behind: String = text[text.find(&head).unwrap() + head.len()..]
                    .chars()
                    .take(100 + f.value_text().len())
                    .collect();
                let value = flat(&f.value_text().replace(" · ", ", "));
                let said = format!(": {value}");
                assert!(behind.contains(&said), "{name}: {head} without {value}");
            }
        }
    }
}

#[test]
fn lines_are_plain_short_and_not_aligned_by_blanks() {
    for name in [CLEAN, FAULTY, HALF_DONE] {
        for (args, ascii) in [(vec![name], false), (vec![name, "--ascii"], true)] {
            let text = shown(&args);
            for line in text.lines() {
                assert!(line.chars().count() <= 76, "{line}");
                assert!(!line.starts_with(' ') && !line.contains("  "), "{line:?}");
                assert!(!line.chars().any(|c| "│─┌┐└┘·¶|".contains(c)), "{line:?}");
                assert!(!ascii || line.is_ascii(), "{line}");
            }
            assert!(!text.contains("\n\n\n"));
        }
    }
}

#[test]
fn what_is_to_be_seen_to_comes_before_what_is_in_order() {
    let text = shown(&[FAULTY]);
    let last_open = text.rfind("\nQuery: ").unwrap();
    let first_within = text.find("\nWithin: safe/").unwrap();
    assert!(last_open < first_within);
    assert!(text.find("\nOutside: bond").unwrap() < text.find("\nOpen: safe").unwrap());
    // The walk has the dead tests before the live ones.
    let at = |words: &str| text.find(words).unwrap_or_else(|| panic!("{words}"));
    assert!(at("\nWithin: M/9/ir-le") < at("\nWithin: M/10/zs"));
}

#[test]
fn a_part_narrows_it_to_its_places_and_its_record() {
    let text = shown(&[HALF_DONE, "C/3"]);
    assert!(
        text.contains("Within: C/3/r1r2") && text.contains("Circuit C/3: lights"),
        "{text}"
    );
    assert!(text.contains("Only C/3."));
    for other in ["C/4/", "C/2/", "supply/", "Circuit C/4"] {
        assert!(!text.contains(&format!(": {other}")), "{other}\n{text}");
    }
    let supply = shown(&[HALF_DONE, "supply"]);
    assert!(
        supply.contains("supply/ze") && !supply.contains("C/3/"),
        "{supply}"
    );

    let none = run(&[HALF_DONE, "C/33"]);
    assert_eq!(none.status.code(), Some(2));
    assert_eq!(
        String::from_utf8(none.stderr).unwrap().trim_end(),
        "the job has no `C/33`; did you mean `C/3`?"
    );
    // `C/1` is no part of `C/10`.
    let text = shown(&[FAULTY, "M/1"]);
    assert!(text.contains("M/1/") && !text.contains("M/10/") && !text.contains("M/11/"));
}

#[test]
fn struck_values_are_told() {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join(HALF_DONE);
    std::fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    let job = job.to_str().unwrap();
    for value in ["0.4", "250"] {
        Command::cargo_bin("wanderlead")
            .unwrap()
            .env_remove("WANDERLEAD_FORMS")
            .env("WANDERLEAD_CONFIG", no_settings())
            .args(["keep", job, "C/4/ir-le", value])
            .output()
            .unwrap();
    }
    let text = flat(&shown(&[job, "C/4/ir-le"]));
    assert!(text.contains("C/4/ir-le, IR L-E: 250 MΩ"), "{text}");
    assert!(text.contains("Struck out: 0.4 MΩ, by "), "{text}");
}
