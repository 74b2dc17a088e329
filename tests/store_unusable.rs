//! Files that can't be used, with the full text of what is said.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;

use wanderlead::store::{Session, read_job};

const JOB: &str = include_str!("store_fixture.ron");

/// What is said about a job file with these bytes, with the folder taken away.
fn said(bytes: &[u8]) -> String {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    fs::write(&path, bytes).unwrap();
    let reading = read_job(&path).expect_err("must be refused").to_string();
    let writing = Session::open(&path)
        .err()
        .expect("must be refused")
        .to_string();
    assert_eq!(reading, writing);
    assert!(
        !dir.path().join("a.ron.journal").exists(),
        "no journal for a file that can't be used"
    );
    reading.replace(&format!("{}/", dir.path().display()), "")
}

fn edited(from: &str, to: &str) -> Vec<u8> {
    assert!(JOB.contains(from), "{from}");
    JOB.replacen(from, to, 1).into_bytes()
}

fn reading(by: &str, typed: &str) -> String {
    format!(
        "(now: (typed: \"{typed}\", unit: Ohm, by: \"{by}\", at: \"2026-09-01T10:00:00+01:00\"))"
    )
}

/// The fixture with readings at circuit 1, from line 29 on.
fn with_readings(inside: &str) -> Vec<u8> {
    let first = "circuits: [\n        (\n";
    edited(
        first,
        &format!("{first}          readings: {{\n{inside}\n          }},\n"),
    )
}

fn check(bytes: &[u8], want: &str) {
    assert_eq!(said(bytes), want);
}

#[test]
fn text_that_is_no_job() {
    check(
        &edited("client: (name", "client: name"),
        "a.ron, line 5, column 11, field client: Expected struct `Client` but found `name`; write an opening \
         bracket `(` before `name`, and a closing one after the last field",
    );
    check(
        b"",
        "a.ron, line 1, column 1: the file is empty; restore it from a copy, or begin with a starter",
    );
    check(
        &edited("  extent: \"One board.\",\n", ""),
        "a.ron, line 38, column 1: Unexpected missing field named `extent` in `Job`; add the field",
    );
    check(
        &edited("rating_a: \"32\"", "rating_a: \"3,2\""),
        "a.ron, line 28, column 62, field boards[0].circuits[0].device.rating_a: `3,2` is not a number; write a \
         decimal point, not a comma: 3.2",
    );
}

#[test]
fn an_unknown_field_is_refused_with_the_known_ones() {
    let text = said(&edited("  extent:", "  extend:"));
    assert!(
        text.starts_with(
            "a.ron, line 8, column 3, field extend: Unexpected field named `extend` in `Job`, expected one of `schema`, "
        ) && text.ends_with("; correct the spelling (perhaps `extent`) or remove the field"),
        "{text}"
    );
}

#[test]
fn other_versions_are_named_before_their_fields() {
    // A newer one is shown as far as it can be (tests/versions.rs).
    check(
        &edited("schema: 1,", "schema: 0,"),
        "a.ron, line 2, column 3, field schema: version 0 is unknown; this program reads version 2",
    );
}

#[test]
fn bytes_that_are_no_text_are_located() {
    let mut bytes = "(\n  title: \"é".as_bytes().to_vec();
    bytes.push(0xff);
    check(
        &bytes,
        "a.ron, line 2, column 12: this is not UTF-8 text; save the file as UTF-8, or restore it from a copy",
    );
}

#[test]
fn a_byte_order_mark_does_no_harm() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    fs::write(&path, format!("\u{feff}{JOB}")).unwrap();
    assert_eq!(read_job(&path).unwrap().job.reference, "T-1");
}

#[test]
fn readings_that_cannot_stand() {
    let (ok, unknown, word) = (reading("JE", "1"), reading("XX", "1"), reading("JE", "one"));
    check(
        &with_readings(&format!("\"zs\": {ok},\n\"zs\": {ok}")),
        "a.ron, line 29, column 80, field boards[0].circuits[0].readings: test `zs` is given twice: keep one",
    );
    check(
        &with_readings(&format!("\"zs\": {unknown},\n\"r1r2\": {word}")),
        "a.ron, line 29, column 1, field R/1/r1r2: `one` is not a number: type digits with one decimal point or \
         comma, such as 0.82; correct the reading in the file, or remove it and take it again\n\
         a.ron, line 28, column 1, field R/1/zs: no person `XX` on this job (1 reading names it; known: JE, AP); add it \
         to `people`, or correct `by`",
    );
    check(
        &with_readings(&format!("\"zx\": {ok}")),
        "a.ron, line 28, column 2, field boards[0].circuits[0].readings.zx: no test is called `zx`; did you mean `ze` or \
         `zs`?",
    );
}

#[test]
fn every_problem_is_listed_at_its_own_line() {
    let text = String::from_utf8(edited("id: \"2\", name", "id: \"1\", name")).unwrap();
    check(
        text.replace("u0_v: \"230\"", "u0_v: \"-230\"").as_bytes(),
        "a.ron, line 19, column 37, field supply.u0_v: -230 is out of range; give a number from 0.0001 to 1000000\n\
         a.ron, line 32, column 11, field boards[0].circuits[1].id: the id `1` is used twice; give each its own id",
    );
}

#[test]
fn names_that_are_no_file() {
    let dir = tempfile::tempdir().unwrap();
    let shown = |path: &std::path::Path| {
        let error = Session::open(path).err().expect("must be refused");
        error
            .to_string()
            .replace(&format!("{}", dir.path().display()), "DIR")
    };
    assert_eq!(
        shown(dir.path()),
        "DIR: this is a folder, not a file; give the name of a file in it"
    );
    assert_eq!(
        shown(&dir.path().join("none.ron")),
        "DIR/none.ron: there is no such file or folder; check the name and the folder"
    );
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
}

#[test]
fn a_file_of_absurd_size_is_refused_before_it_is_read_in() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    let file = fs::File::create(&path).unwrap();
    file.set_len(wanderlead::store::LONGEST_FILE + 1).unwrap();
    assert_eq!(
        read_job(&path).err().unwrap().to_string(),
        format!(
            "{}: the file is larger than 64 MB; this is not a file of this program",
            path.display()
        )
    );
}

/// Readings at circuit 1, one to a line from line 28 on.
fn several(by: &str) -> String {
    ["r1r2", "ir-le", "zs"]
        .map(|t| {
            let unit = if t == "ir-le" { "Megohm" } else { "Ohm" };
            format!("\"{t}\": {}", reading(by, "1").replace("Ohm", unit))
        })
        .join(",\n")
}

#[test]
fn one_cause_is_said_once() {
    check(
        &with_readings(&several("XX")),
        "a.ron, line 28, column 1, field R/1/r1r2: no person `XX` on this job (3 readings name it; known: JE, AP); add it to \
         `people`, or correct `by`",
    );
    let with_instrument = several("JE").replace("at: ", "instrument: \"I9\", at: ");
    check(
        &with_readings(&with_instrument),
        "a.ron, line 28, column 1, field R/1/r1r2: no instrument `I9` on this job (3 readings name it; known: C1, M1); add it \
         to `instruments`, or correct `instrument`",
    );
    let text = String::from_utf8(with_readings(&several("JE"))).unwrap();
    let nobody = {
        let (before, rest) = text.split_once("  people: [").unwrap();
        let (_, after) = rest.split_once("  ],\n").unwrap();
        format!("{before}  people: [],\n{after}")
    };
    check(
        nobody.as_bytes(),
        "a.ron, line 10, column 3, field people: nobody is on the job; add at least one person with role Qualified",
    );
    let untooled = {
        let text = String::from_utf8(with_readings(&with_instrument)).unwrap();
        let (before, rest) = text.split_once("  instruments: [").unwrap();
        let (_, after) = rest.split_once("  ],\n").unwrap();
        format!("{before}  instruments: [],\n{after}")
    };
    check(
        untooled.as_bytes(),
        "a.ron, line 25, column 1, field R/1/r1r2: no instrument `I9` on this job (3 readings name it; the job has none); add \
         it to `instruments`, or correct `instrument`",
    );
    // The second person of an id can't be asked for; only the id is at fault.
    let twice = text
        .replace("(id: \"JE\", name: \"J. Example\", role: Qualified)", "(id: \"JE\", name: \"J\", role: Apprentice)")
        .replace("(id: \"AP\", name: \"A. Prentice\", role: Apprentice)", "(id: \"JE\", name: \"K\", role: Qualified)")
        .replace(
            "  boards: [",
            "  sign: {\"inspection\": (now: (typed: \"K\", unit: Unitless, by: \"JE\", at: \"2026-09-01T10:00:00+01:00\"))},\n  boards: [",
        );
    check(
        twice.as_bytes(),
        "a.ron, line 12, column 6, field people[1].id: the id `JE` is used twice; give each its own id",
    );
}

#[test]
fn what_belongs_elsewhere_is_said_without_naming_the_place_again() {
    check(
        &with_readings(&format!("\"ze\": {}", reading("JE", "1"))),
        "a.ron, line 28, column 1, field R/1/ze: this isn't recorded here; what is: r1r2, polarity, ir-ll, ir-le, zs, functional; correct \
         the reading in the file, or remove it and take it again",
    );
}

#[test]
fn of_many_problems_the_first_are_shown_each_at_its_line() {
    let circuits: String = (0..2_000)
        .map(|i| {
            let amps = if i % 5 == 0 { -6 } else { 6 };
            format!(
                "(id: \"c{i}\", name: \"n\", kind: Fixed, device: (standard: Bs88_3, rating_a: \"{amps}\", breaking_ka: \"6\", \
                 poles: 1), cable: (form: Flexible, line_mm2: \"6\", cpc: Copper(\"6\"))),\n"
            )
        })
        .collect();
    let (before, _) = JOB.split_once("circuits: [").unwrap();
    let text = format!("{before}circuits: [\n{circuits}]),\n],\n)\n");
    let said = said(text.as_bytes());
    let lines: Vec<&str> = said.lines().collect();
    assert_eq!((lines.len(), lines[20]), (21, "and 380 more"));
    for (i, line) in lines[..20].iter().enumerate() {
        let want = format!(
            "a.ron, line {}, column ",
            before.lines().count() + 1 + 5 * i
        );
        assert!(line.starts_with(&want), "{want}: {line}");
        assert!(
            line.contains(&format!("circuits[{}].device.rating_a: -6 is out", 5 * i)),
            "{line}"
        );
    }
}

#[test]
fn a_test_like_no_other_gets_no_list_of_all() {
    check(
        &with_readings(&format!("\"resistance\": {}", reading("JE", "1"))),
        "a.ron, line 28, column 2, field boards[0].circuits[0].readings.resistance: no test is called `resistance`; look up its \
         name in a starter, or remove it and enter the reading in the program",
    );
}
