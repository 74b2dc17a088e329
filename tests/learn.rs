//! Learn pages: every step and every worked-out finding has one, its figures are marked as typical, and a file that can't be
//! used is refused with place and remedy.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::fs;
use std::process::{Command, Output};

use assert_cmd::cargo::CommandCargoExt;
use common::{jobs_in, read, root};
use wanderlead::checks::judge_all;
use wanderlead::forms::{DEFAULTS, Forms, LONGEST_NAME, LONGEST_PART};
use wanderlead::guide::Plan;
use wanderlead::job::Test;
use wanderlead::job::text::TextError;

fn shipped() -> &'static str {
    DEFAULTS.iter().find(|(n, _)| *n == "learn.ron").unwrap().1
}

fn load(text: &str) -> Result<Forms, TextError> {
    Forms::from_texts(&[("learn.ron".to_string(), text.to_string())])
}

/// What is said of a file that differs from the shipped one by one replacement.
fn refused(from: &str, to: &str) -> TextError {
    assert!(shipped().contains(from), "{from}");
    load(&shipped().replacen(from, to, 1)).unwrap_err()
}

/// Line of the first occurrence, from 1.
fn line_of(text: &str, near: &str) -> usize {
    text.lines().position(|l| l.contains(near)).unwrap() + 1
}

#[test]
fn every_step_and_every_finding_of_samples_and_starters_finds_its_page() {
    let forms = Forms::embedded().unwrap();
    let mut seen = 0;
    for (name, job) in jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
    {
        let plan = Plan::new(&job, &forms);
        let findings = judge_all(&job, &forms);
        let steps = plan.steps().iter().map(|s| &s.place);
        for place in steps.chain(findings.iter().map(|f| &f.place)) {
            let kind = job.seat(place).unwrap().owner.kind();
            assert!(
                forms.learn().page(kind, place.test).is_some(),
                "{name}: {place} has no page"
            );
            seen += 1;
        }
    }
    assert!(seen > 500, "{seen}");
}

/// Not only what the samples happen to have.
#[test]
fn every_test_has_a_page() {
    let learn = Forms::embedded().unwrap().learn().clone();
    for test in Test::ALL {
        assert!(learn.of(*test).next().is_some(), "{test}");
    }
}

/// The same test means different things at different places.
#[test]
fn a_kind_of_place_has_its_own_page() {
    use wanderlead::job::owner::Kind;
    let forms = Forms::embedded().unwrap();
    let name = |kind, test| forms.learn().page(kind, test).unwrap().name.clone();
    for (test, kinds) in [
        (Test::Continuity, vec![Kind::Bond, Kind::PvString]),
        (
            Test::Polarity,
            vec![Kind::Supply, Kind::Board, Kind::Circuit, Kind::Storage],
        ),
        (Test::DcPolarity, vec![Kind::PvString, Kind::Storage]),
        (Test::IrLe, vec![Kind::Board, Kind::Circuit]),
        (Test::Ra, vec![Kind::Supply, Kind::Storage]),
        (
            Test::RcdTime,
            vec![Kind::Board, Kind::Circuit, Kind::Storage],
        ),
    ] {
        let mut names: Vec<String> = kinds.iter().map(|k| name(*k, test)).collect();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), kinds.len(), "{test}: {names:?}");
    }
    // Without a page of its own, the one for all kinds counts.
    assert_eq!(
        name(Kind::PvString, Test::Serials),
        name(Kind::Branch, Test::Serials)
    );
}

/// Limits live in the limit files. A figure in what good looks like is there so that one knows what to expect, and says so.
#[test]
fn figures_say_that_they_are_typical() {
    const UNITS: [&str; 13] = [
        "ohm",
        "ohms",
        "megohm",
        "megohms",
        "kA",
        "A",
        "V",
        "kW",
        "mm²",
        "degrees",
        "watts",
        "times",
        "milliseconds",
    ];
    let forms = Forms::embedded().unwrap();
    let mut figures = 0;
    for page in &forms.learn().pages {
        let words: Vec<&str> = page
            .good
            .split_whitespace()
            .map(|w| w.trim_matches([',', '.', ':', ';', '(', ')']))
            .collect();
        let measured = words.windows(2).any(|pair| {
            pair[0].starts_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&pair[1])
        });
        // An example of resistors in parallel is arithmetic.
        let is_sum = page
            .good
            .starts_with("Lower than either end alone: 4 and 6 megohm");
        let marked = page.good.to_lowercase().contains("typical");
        assert!(
            !measured || marked || is_sum,
            "{}: {}",
            page.test,
            page.good
        );
        figures += usize::from(measured);
    }
    assert!(figures >= 15, "{figures}");
}

#[test]
fn each_part_is_short() {
    for page in &Forms::embedded().unwrap().learn().pages {
        for (heading, said) in page.parts() {
            let ends = said.match_indices(['.', '?', '!']).filter(|(at, _)| {
                let rest = &said[at + 1..];
                rest.is_empty() || rest.starts_with(' ')
            });
            let sentences = ends.count();
            assert!(
                (1..=4).contains(&sentences),
                "{} · {heading}: {sentences} sentences",
                page.test
            );
            assert!(said.ends_with(['.', '?', '!']), "{}: {said}", page.test);
        }
    }
}

#[test]
fn the_file_says_how_far_it_can_be_trusted() {
    let forms = Forms::embedded().unwrap();
    assert!(forms.learn().origin.contains("not a standard"));
    let head: String = shipped()
        .lines()
        .take_while(|l| l.starts_with("//"))
        .collect();
    assert!(head.contains("common practice and memory") && head.contains("to be checked"));
}

#[test]
fn a_step_or_finding_without_a_page_is_refused() {
    // The page of Zs, whole, goes away: it is the only one of that test.
    let at = shipped().find("    (\n      test: \"zs\",").unwrap();
    let end = at + shipped()[at..].find("\n    ),\n").unwrap() + "\n    ),\n".len();
    let without = format!("{}{}", &shipped()[..at], &shipped()[end..]);
    let error = load(&without).unwrap_err();
    assert_eq!(error.file, "learn.ron");
    assert_eq!(error.field, "zs");
    assert_eq!(error.what, "the step `zs` at Circuit has no page");
    assert_eq!(
        error.remedy,
        "add one with `at: [Circuit]`, or copy it from the default file"
    );
    assert!(error.line > 0 && error.column > 0, "{error}");

    let error = refused("test: \"both-ways\",", "test: \"both-ways\", at: [Bond],");
    assert_eq!(error.field, "both-ways");
    assert!(
        error.what.contains("which the program works out") && !error.remedy.is_empty(),
        "{error}"
    );
}

#[test]
fn a_part_that_is_too_long_or_empty_is_refused() {
    let name = "Zs: earth loop of a circuit";
    let long = "x".repeat(LONGEST_NAME + 1);
    let error = refused(name, &long);
    assert_eq!(error.line, line_of(shipped(), name));
    assert_eq!(error.column, 13, "{error}");
    assert!(error.field.ends_with("].name"), "{error}");
    assert_eq!(
        error.what,
        format!(
            "`name` of the page of `zs` has {} characters",
            LONGEST_NAME + 1
        )
    );
    assert_eq!(error.remedy, format!("shorten it to {LONGEST_NAME}"));

    let why = "If line touches an earthed case, ";
    let error = refused(why, &format!("{why}{}", "and so on, ".repeat(40)));
    assert_eq!(error.line, line_of(shipped(), why));
    assert!(error.field.ends_with("].why"), "{error}");
    assert_eq!(error.remedy, format!("shorten it to {LONGEST_PART}"));

    let error = refused(name, " ");
    assert_eq!(error.what, "`name` of the page of `zs` is empty");
    assert!(error.line > 0 && !error.remedy.is_empty(), "{error}");

    let least = format!("{}.", "x".repeat(LONGEST_NAME - 1));
    assert!(load(&shipped().replacen(name, &least, 1)).is_ok());
}

#[test]
fn an_unknown_test_or_field_and_a_second_page_are_refused() {
    let error = refused("test: \"zs\",", "test: \"zss\",");
    assert_eq!(error.line, line_of(shipped(), "test: \"zs\","));
    assert!(
        error.column > 0 && error.field.contains("pages["),
        "{error}"
    );
    assert!(error.what.contains("no test is called `zss`"), "{error}");
    assert!(
        format!("{} {}", error.what, error.remedy).contains("did you mean `zs`"),
        "{error}"
    );

    let error = refused("      test: \"zs\",", "      test: \"zs\", danger: \"x\",");
    assert_eq!(error.line, line_of(shipped(), "test: \"zs\","));
    assert!(error.to_string().contains("danger"), "{error}");

    let error = refused("      test: \"zdb\",", "      test: \"zs\",");
    assert_eq!(error.what, "`zs` has two pages without `at`");
    assert_eq!(error.remedy, "keep one");
    assert!(error.line > 0, "{error}");
}

fn run(args: &[&str]) -> Output {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", common::no_settings());
    command.args(args).output().unwrap()
}

#[test]
fn the_command_prints_a_page_and_lists_all() {
    let one = run(&["learn", "zs"]);
    assert_eq!(one.status.code(), Some(0));
    let text = String::from_utf8(one.stdout).unwrap();
    for part in [
        "Zs: earth loop of a circuit (zs)\n",
        "\nWhat it is for\n",
        "\nWhat good looks like\n",
        "\nWhat usually goes wrong\n",
        "\nWhat can hurt\n",
        "not a standard",
    ] {
        assert!(text.contains(part), "{part}\n{text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 76), "{text}");

    let text = String::from_utf8(run(&["learn", "polarity"]).stdout).unwrap();
    for kind in ["Supply", "Board", "Circuit", "Storage"] {
        assert!(text.contains(&format!("(polarity, at {kind})")), "{text}");
    }

    let list = run(&["learn"]);
    assert_eq!(list.status.code(), Some(0));
    let text = String::from_utf8(list.stdout).unwrap();
    for test in Test::ALL {
        assert!(
            text.lines()
                .any(|l| l.starts_with(&format!("{test} ")) && l.contains(test.heading())),
            "{test}\n{text}"
        );
    }
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
}

#[test]
fn an_unknown_test_is_answered_with_those_there_are() {
    let output = run(&["learn", "zss"]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains("no learn page is about `zss`; did you mean `zs`? known: sources"),
        "{said}"
    );
    assert!(said.contains("breaking-capacity"), "{said}");
    assert!(output.stdout.is_empty());
}

#[test]
fn a_persons_own_pages_are_copied_tested_and_shown() {
    let dir = tempfile::tempdir().unwrap();
    let mine = dir.path().join("mine");
    let folder = mine.to_str().unwrap();
    let copied = run(&["forms", "copy", folder, "learn.ron"]);
    assert_eq!(copied.status.code(), Some(0));
    let path = mine.join("learn.ron");
    assert_eq!(read(&path), read(&root().join("forms/learn.ron")));
    let text = read(&path).replace("Zs: earth loop of a circuit", "Our own name of it");
    fs::write(&path, &text).unwrap();
    let tested = run(&["forms", "test", folder]);
    assert_eq!(tested.status.code(), Some(0));
    assert!(
        !String::from_utf8_lossy(&tested.stderr).contains("changes nothing"),
        "{}",
        String::from_utf8_lossy(&tested.stderr)
    );
    let page = run(&["--forms", folder, "learn", "zs"]);
    assert!(String::from_utf8_lossy(&page.stdout).starts_with("Our own name of it (zs)"));

    fs::write(&path, text.replace("test: \"zs\"", "test: \"zss\"")).unwrap();
    let tested = run(&["forms", "test", folder]);
    assert_eq!(tested.status.code(), Some(2));
    let said = String::from_utf8_lossy(&tested.stderr).into_owned();
    let line = line_of(&text, "test: \"zs\"");
    assert!(
        said.contains(&format!("learn.ron, line {line}, column")),
        "{said}"
    );
}
