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
        "a.ron, line 5, column 11, field client: Expected struct `Client` but found `name`; correct this value",
    );
    check(
        b"",
        "a.ron, line 1, column 1: Expected opening `(` for struct `Job`; look at this line and the one before it for a \
         missing comma, bracket or quote; numbers take a decimal point, not a comma",
    );
    check(
        &edited("  extent: \"One board.\",\n", ""),
        "a.ron, line 38, column 1: Unexpected missing field named `extent` in `Job`; add the field",
    );
    check(
        &edited("rating_a: \"32\"", "rating_a: \"3,2\""),
        "a.ron, line 28, column 62, field boards[0].circuits[0].device.rating_a: Expected a Decimal type representing a \
         fixed-point number but found the string \"3,2\" instead; correct this value",
    );
}

#[test]
fn an_unknown_field_is_refused_with_the_known_ones() {
    let text = said(&edited("  extent:", "  extend:"));
    assert!(
        text.starts_with(
            "a.ron, line 8, column 3, field extend: Unexpected field named `extend` in `Job`, expected one of `schema`, "
        ) && text.ends_with("; correct the spelling or remove the field"),
        "{text}"
    );
}

#[test]
fn other_versions_are_named_before_their_fields() {
    check(
        &edited("schema: 1,", "schema: 2,\n  colour: \"blue\","),
        "a.ron, line 2, column 3, field schema: version 2 is newer than this program; this program reads version 1: use \
         a newer one",
    );
    check(
        &edited("schema: 1,", "schema: 0,"),
        "a.ron, line 2, column 3, field schema: version 0 is unknown; this program reads version 1",
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
        "a.ron, line 29, column 80, field boards[0].circuits[0].readings: test `zs` is given twice: keep one; correct \
         this value",
    );
    check(
        &with_readings(&format!("\"zs\": {unknown},\n\"r1r2\": {word}")),
        "a.ron, line 29, column 1, field R/1/r1r2: R/1/r1r2: `one` is not a number: type digits with one decimal point or \
         comma, such as 0.82; correct the reading in the file, or remove it and take it again\n\
         a.ron, line 28, column 1, field R/1/zs: no person `XX` on this job; known: JE, AP; correct the reading in the \
         file, or remove it and take it again",
    );
    let text = said(&with_readings(&format!("\"zx\": {ok}")));
    assert!(
        text.starts_with(
            "a.ron, line 28, column 2, field boards[0].circuits[0].readings.zx: no test is called `zx`; known: sources, "
        ),
        "{text}"
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
