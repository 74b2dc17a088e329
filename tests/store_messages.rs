//! What is said about slips in a job file: every message has the remedy that fits the slip.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use wanderlead::store::read_job;

const JOB: &str = include_str!("store_fixture.ron");

/// What is said when `from` in the fixture became `to`.
fn said(from: &str, to: &str) -> String {
    assert!(JOB.contains(from), "{from}");
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::write(&path, JOB.replacen(from, to, 1)).unwrap();
    read_job(&path)
        .expect_err(to)
        .to_string()
        .replace(&format!("{}/", dir.path().display()), "")
}

/// Each slip with the end of what is said.
fn check(from: &str, cases: &[(&str, &str)]) {
    for (to, want) in cases {
        let said = said(from, to);
        assert!(said.ends_with(want), "{to}\n said {said}\n want {want}");
    }
}

#[test]
fn numbers() {
    check(
        "u0_v: \"230\"",
        &[
            (
                "u0_v: \"230,5\"",
                "field supply.u0_v: `230,5` is not a number; write a decimal point, not a comma: 230.5",
            ),
            (
                "u0_v: 230,5",
                "field supply: `230,5` is not a number; write a decimal point, not a comma: 230.5",
            ),
            (
                "u0_v: 1,000",
                "write 1.000 or 1000, whichever is meant, without a comma",
            ),
            (
                "u0_v: \"230 V\"",
                "`230 V` is not a number; write the number alone, without a unit: \"230\"",
            ),
            (
                "u0_v: \"\"",
                "`` is not a number; write a number, such as \"0.82\"",
            ),
            ("u0_v: yes", "write a number, such as 0.82"),
            ("u0_v: “230”", "use straight double quotes: \"230\""),
        ],
    );
    check(
        "points: 1,",
        &[
            (
                "points: -1,",
                "`-1` is out of range; write a whole number that isn't below zero",
            ),
            (
                "points: 70000,",
                "`70000` is out of range; write a smaller whole number; no count here goes beyond 65535",
            ),
            (
                "points: 1.5,",
                "a number with a decimal point doesn't fit here; write a whole number",
            ),
            (
                "points: \"1\",",
                "Expected integer; write the whole number without quotes: 1",
            ),
        ],
    );
    check(
        "poles: 1",
        &[(
            "poles: 300",
            "`300` is out of range; write a whole number from 1 to 4",
        )],
    );
    check(
        "Copper(\"2.5\")",
        &[(
            "Copper(2,5)",
            "`2,5` is not a number; write a decimal point, not a comma: 2.5",
        )],
    );
}

#[test]
fn texts_and_quotes() {
    let straight =
        "these are not the quotes of this file; use straight double quotes: \"Two circuits\"";
    check(
        "title: \"Two circuits\",",
        &[
            (
                "title: Two circuits,",
                "put it between straight double quotes: \"Two circuits\"",
            ),
            (
                "title: Two circuits\",",
                "put it between straight double quotes: \"Two circuits\"",
            ),
            ("title: “Two circuits”,", straight),
            ("title: 'Two circuits',", straight),
            (
                "title: \"Two circuits,",
                "the closing quote of the text that begins in line 4 is missing",
            ),
            (
                "title: \"Two circuits”,",
                "the straight closing quote of the text that begins in line 4 is missing",
            ),
            (
                "title: \"a\\qb\",",
                "write `\\\\` where a backslash is meant",
            ),
            (
                "title = \"Two circuits\",",
                "write a colon between the name and its value, as in `points: 1`",
            ),
        ],
    );
    // A text of several lines whose comma is missing isn't taken for one without an end.
    let said = said("extent: \"One board.\",", "extent: \"One\nboard.\"");
    assert!(said.contains("a missing comma"), "{said}");
    check(
        "main_switch: \"100 A\",\n      circuits",
        &[(
            "main_switch: \"100 A,\n      circuits",
            "the text that begins in line 24 is missing",
        )],
    );
}

#[test]
fn words() {
    let (yes, no) = (
        "Expected boolean; write true, in small letters and without quotes",
        "Expected boolean; write false, in small letters and without quotes",
    );
    check(
        "leads_nulled: true",
        &[
            ("leads_nulled: yes", yes),
            ("leads_nulled: no", no),
            ("leads_nulled: True", yes),
            ("leads_nulled: \"false\"", no),
            (
                "leads_nulled: perhaps",
                "Expected boolean; write true or false",
            ),
            (
                "leads_nulled: true, uncertainty_pct: {Loop: \"5\", Rcd: \"1\", Loop: \"6\"}",
                "field instruments[0].uncertainty_pct: function `Loop` is given twice: keep one",
            ),
        ],
    );
    check(
        "kind: Fixed,",
        &[
            ("kind: Fixd,", "perhaps `Fixed`"),
            ("kind: Kitchen,", "use one of the words that are expected"),
            ("kind: \"Fixed\",", "write the word without quotes: Fixed"),
        ],
    );
}

#[test]
fn days_and_times() {
    check(
        "due: \"2027-01-01\"",
        &[
            (
                "due: \"13/01/2027\"",
                "`13/01/2027` is not a day as it is written here; write year, month and day: 2027-01-13",
            ),
            (
                "due: \"13.01.2027\"",
                "write year, month and day: 2027-01-13",
            ),
            (
                "due: \"13/01/27\"",
                "write year, month and day, such as 2027-01-13",
            ),
            (
                "due: \"soon\"",
                "write year, month and day, such as 2027-01-13",
            ),
            (
                "due: \"2026-11-31\"",
                "`2026-11-31`: there is no such day or time; correct the day, the month or the time",
            ),
            (
                "due: 2027-01-01",
                "put it between straight double quotes: \"2027-01-01\"",
            ),
        ],
    );
    for (at, want) in [
        (
            "2026-11-20 09:51",
            "field boards[0].circuits[0].readings.zs.now.at: `2026-11-20 09:51` is not a time as it is written here; write \
             2026-11-20T09:51:00+00:00, with the offset from UTC that held there",
        ),
        (
            "2026-11-20T09:51:00",
            "write 2026-11-20T09:51:00+00:00, with the offset from UTC that held there",
        ),
        ("this morning", "write it as 2026-11-20T09:51:00+00:00"),
        (
            "2026-11-31T09:51:00+00:00",
            "there is no such day or time; correct the day, the month or the time",
        ),
    ] {
        let reading = format!(
            "kind: Fixed, readings: {{\"zs\": (now: (typed: \"1\", unit: Ohm, by: \"JE\", at: \"{at}\"))}},"
        );
        check("kind: Fixed,", &[(&reading, want)]);
    }
}

#[test]
fn fields_and_brackets() {
    check(
        "  title: \"Two circuits\",",
        &[(
            "  title: \"Two circuits\",\n  title: \"x\",",
            "keep one of the two; if they belong to different parts, a closing bracket is missing above",
        )],
    );
    check(
        "poles: 1),\n          cable",
        &[(
            "poles: 1,\n          cable",
            "correct the spelling or remove the field; if it belongs to what is around it, a closing bracket is missing above",
        )],
    );
    check(
        "    ),\n  ],\n)\n",
        &[
            (
                "    ),\n  ],\n)\n)\n",
                "remove what stands after the last bracket; if it belongs to the file, a closing bracket above is one too many",
            ),
            (
                "    ),\n  ],\n",
                "the file ends too early: a closing bracket is missing here or above",
            ),
        ],
    );
    check(
        "length_m: \"12\"),\n        ),",
        &[(
            "length_m: \"12\"),\n",
            "look above for a bracket that is missing or too many",
        )],
    );
    check(
        "(\n  schema",
        &[
            ("Jobb(\n  schema", "remove `Jobb` before the bracket"),
            ("(\n  /* schema", "end the comment with `*/`"),
        ],
    );
}

#[test]
fn a_misspelt_test_gets_the_nearest_name_and_not_all_of_them() {
    for (key, want) in [
        ("zss", "no test is called `zss`; did you mean `zs`?"),
        (
            "polarty",
            "no test is called `polarty`; did you mean `polarity`?",
        ),
        ("ir-l", "did you mean `ir-ll` or `ir-le`?"),
    ] {
        let to = format!(
            "kind: Fixed, readings: {{\"{key}\": (now: (typed: \"1\", unit: Ohm, by: \"JE\", at: \"2026-11-20T09:51:00+00:00\"))}},"
        );
        check("kind: Fixed,", &[(&to, want)]);
        assert!(!said("kind: Fixed,", &to).contains("rcd-time"));
    }
}

#[test]
fn what_a_file_quotes_cannot_reach_the_terminal() {
    for to in [
        "kind: \"\u{1b}[2J\",",
        "kind: Fixed, \u{1b}[2J: 1,",
        "kind: Fixed, lines: \u{202e}x,",
    ] {
        let said = said("kind: Fixed,", to);
        assert!(!said.contains(['\u{1b}', '\u{202e}']), "{said:?}");
    }
}

/// A reading says its unit, so that no other program takes it for another: which of the two is wrong, somebody has to say.
#[test]
fn the_unit_of_a_reading_is_named_with_what_to_do() {
    let reading = "readings: {\"zs\": (now: (typed: \"0.42\", unit: Megohm, by: \"JE\", at: \"2026-09-01T10:00:00+01:00\"))},\n";
    let cable = "length_m: \"12\"),\n";
    let said = said(cable, &format!("{cable} {reading}"));
    assert!(
        said.ends_with(
            "field R/1/zs: the unit is Megohm, and `zs` is recorded in Ohm; write `unit: Ohm` and the value in that unit, or remove \
             the reading and enter it in the program"
        ),
        "{said}"
    );
}
