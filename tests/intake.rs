//! Readings from files: what a mapping and a file say, what becomes of it on a job, and that nothing is changed unmarked.
//!
//! Powers of ten are those of the SI Brochure (BIPM, 9th edition, Table 7); the rules for quotes and line ends those of RFC 4180.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};
use common::{CLEAN, HALF_DONE, later, sample};
use proptest::prelude::*;
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::intake::{EXAMPLE, On, Preview, Read, Standing, read};
use wanderlead::job::{Change, Job, Place, Role};

/// A column for each of some tests, points as decimal signs, places in one column.
const WIDE: &str = r#"(
    decimal: Point,
    place: One("place"),
    names: {"heater": "C/4"},
    readings: Columns({
        "R1+R2": (test: "r1r2", unit: "mΩ", over: {"OL": "2000"}, under: {"LO": "10"}),
        "IR": (test: "ir-le", unit: "MΩ"),
        "pol": (test: "polarity"),
        "Zs": (test: "zs", unit: "Ω"),
    }),
    above: ">",
    below: "<",
    not_taken: ["---"],
    pass: ["ok"],
    fail: ["x"],
)"#;

fn tried(mapping: &str, csv: &[u8], job: &Job) -> Result<Read, String> {
    read(("map.ron", mapping), ("dir/a.csv", csv), job).map_err(|e| e.to_string())
}

struct On2 {
    job: Job,
    forms: Forms,
    plan: Plan,
    verdicts: Verdicts,
    by: String,
    at: DateTime<FixedOffset>,
}

impl On2 {
    fn new(job: Job) -> On2 {
        let forms = Forms::embedded().unwrap();
        let person = job.people.iter().find(|p| p.role == Role::Qualified);
        On2 {
            plan: Plan::new(&job, &forms),
            verdicts: Verdicts::new(&judge_all(&job, &forms)),
            by: person.unwrap().id.clone(),
            at: later(),
            forms,
            job,
        }
    }

    fn with<T>(&self, f: impl FnOnce(&On<'_>) -> T) -> T {
        let tools = BTreeMap::new();
        f(&On {
            job: &self.job,
            forms: &self.forms,
            plan: &self.plan,
            verdicts: &self.verdicts,
            by: &self.by,
            at: self.at,
            tools: &tools,
        })
    }

    fn preview(&self, mapping: &str, csv: &str) -> Preview {
        let read = tried(mapping, csv.as_bytes(), &self.job).unwrap();
        self.with(|on| Preview::new(read, on))
    }
}

/// Place, value as it would be typed or what is wrong, of each reading.
fn said(mapping: &str, csv: &str) -> Vec<(String, Result<String, String>)> {
    let read = tried(mapping, csv.as_bytes(), &sample(HALF_DONE)).unwrap();
    read.taken
        .into_iter()
        .map(|t| (t.place.map_or(t.called, |p| p.to_string()), t.typed))
        .collect()
}

fn values(mapping: &str, csv: &str) -> Vec<(String, String)> {
    said(mapping, csv)
        .into_iter()
        .map(|(place, typed)| (place, typed.unwrap_or_else(|why| format!("? {why}"))))
        .collect()
}

fn expect(found: &[(String, String)], wanted: &[(&str, &str)]) {
    let found: Vec<(&str, &str)> = found
        .iter()
        .map(|(a, b)| (a.as_str(), b.as_str()))
        .collect();
    assert_eq!(found, wanted);
}

#[test]
fn columns_are_read_and_converted_exactly() {
    let csv =
        "place,R1+R2,IR,pol,Zs\nR/1,160,758,ok,0.380\nheater,OL,>999,x,\nC/3,LO,<0.05,---,---\n";
    expect(
        &values(WIDE, csv),
        &[
            ("R/1/r1r2", "0.160"),
            ("R/1/ir-le", "758"),
            ("R/1/polarity", "pass"),
            ("R/1/zs", "0.380"),
            ("C/4/r1r2", ">2.000"),
            ("C/4/ir-le", ">999"),
            ("C/4/polarity", "fail"),
            ("C/3/r1r2", "<0.010"),
            ("C/3/ir-le", "<0.05"),
        ],
    );
}

#[test]
fn line_ends_quotes_marks_of_order_and_separators() {
    let wanted = [("C/4/r1r2", "0.224")];
    for csv in [
        "place,R1+R2,IR,pol,Zs\r\nC/4,224,,,\r\n",
        "\u{feff}place,R1+R2,IR,pol,Zs\nC/4,224,,,",
        "\"place\",\"R1+R2\",IR,pol,Zs\n\"C/4\",\"224\",\"\",,\n",
        "place , R1+R2,IR,pol,Zs\n C/4 ,\t224 ,,,\n\n,,,,\n",
        "place,note,R1+R2,IR,pol,Zs\nC/4,\"two\nlines, \"\"quoted\"\"\",224,,,\n",
    ] {
        expect(&values(WIDE, csv), &wanted);
    }
    let other = WIDE
        .replace(
            "decimal: Point,",
            "decimal: Comma, separator: \";\", skip: 2,",
        )
        .replace("mΩ", "Ω");
    expect(
        &values(&other, "made by\n\nplace;R1+R2;IR;pol;Zs\nC/4;0,224;;;\n"),
        &wanted,
    );
    let tabs = WIDE.replace(
        "decimal: Point,",
        "decimal: Point, separator: \"\\t\", headings: false,",
    );
    let tabs = tabs
        .replace("\"place\"", "\"1\"")
        .replace("\"R1+R2\":", "\"2\":")
        .replace("\"IR\":", "\"3\":")
        .replace("\"pol\":", "\"4\":")
        .replace("\"Zs\":", "\"5\":");
    expect(&values(&tabs, "C/4\t224\t\t\t\n"), &wanted);
}

/// A row or cell that can't be read is a problem at its line; it is never guessed, and never zero.
#[test]
fn what_cannot_be_read_is_a_problem_at_its_place() {
    let big = "9".repeat(1_000_000);
    for (row, why) in [
        ("C/4,2.2.4,,,", "`2.2.4` is no number"),
        ("C/4,\"1,224\",,,", "decimal sign is a point"),
        ("C/4,224 Ω,,,", "`224 Ω` is no number"),
        ("C/4,2e2,,,", "no number"),
        ("C/4,lim: wet,,,", "`lim: wet` is no number"),
        ("C/4,n/a: none,,,", "`n/a: none` is no number"),
        ("C/4,?,,,", "`?` is no number"),
        ("C/4,0.0000001,,,", "more than"),
        ("C/4,>,,,", "is no number"),
        ("C/4,>-4,,,", "below zero"),
        ("C/4,,,maybe,", "doesn't say what `maybe` means"),
        ("C/4,224,,", "4 cells, and there are 5 columns"),
        ("C/4,224,,,,", "6 cells, and there are 5 columns"),
        (",224,,,", "nothing says where it belongs"),
        ("the big one over there,224,,,", "is no place"),
        ("C/4/r1r2/x,224,,,", "is no place"),
        ("C/4,2\u{200b}24,,,", "no number"),
        (&format!("C/4,{big},,,"), "too many digits"),
        (&format!("{big},224,,,"), "is no place"),
    ] {
        let csv = format!("place,R1+R2,IR,pol,Zs\nR/1,160,,,\n{row}\nR/2,190,,,\n");
        let found = said(WIDE, &csv);
        assert_eq!(found.len(), 3, "{row:.60}");
        let error = found[1].1.as_ref().unwrap_err();
        assert!(error.contains(why), "{row:.60}: {error}");
        assert!(error.chars().count() < 300, "{error}");
        // The rows around it are what they are.
        assert_eq!(
            (&found[0].1, &found[2].1),
            (&Ok("0.160".into()), &Ok("0.190".into()))
        );
    }
}

#[test]
fn a_file_that_is_no_table_of_the_mapping_is_refused_with_its_line() {
    let job = sample(HALF_DONE);
    let head = "place,R1+R2,IR,pol,Zs\n";
    for (csv, why) in [
        (
            b"place,R1+R2,IR,pol,Zs\nC/4,\xff,,,\n".to_vec(),
            "a.csv, line 2, column 1: not UTF-8 text",
        ),
        (Vec::new(), "no row is in it"),
        (
            format!("{head}C/4,\"224,,,\nR/1,160,,,\n").into_bytes(),
            "line 2, column 1: a quote is opened here and never closed",
        ),
        (
            format!("{head}C/4,\"224\"5,,,\n").into_bytes(),
            "line 2, column 1: text stands behind the closing quote",
        ),
        (b"place,R1+R2,IR,pol\nC/4,1,,\n".to_vec(), "no column `Zs`"),
        (
            b"place,R1+R2,R1+R2,IR,pol,Zs\nC/4,1,,,,\n".to_vec(),
            "2 columns are called `R1+R2`",
        ),
        (vec![b'a'; 17 * 1024 * 1024], "longer than 16 MB"),
        (
            format!("{head}{}", "C/4,,,,x\n".repeat(100_001)).into_bytes(),
            "more than 100000 rows",
        ),
        (
            format!("{head}{}", "C/4,1,1,ok,1\n".repeat(30_000)).into_bytes(),
            "more than 100000 readings",
        ),
    ] {
        let error = tried(WIDE, &csv, &job).unwrap_err();
        assert!(
            error.contains(why) && error.starts_with("dir/a.csv"),
            "{error}"
        );
    }
    // One column that the mapping doesn't name may be there twice, and is said not to be brought in.
    let read = tried(WIDE, b"place,x,x,R1+R2,IR,pol,Zs\nC/4,,,1,,,\n", &job).unwrap();
    assert_eq!(read.unused, ["x", "x"]);
    assert_eq!(read.file, "a.csv");
}

#[test]
fn a_mapping_that_means_nothing_is_refused_with_line_field_and_remedy() {
    let job = sample(HALF_DONE);
    for (from, to, why) in [
        ("decimal: Point,", "decimal: Point, maker: \"x\",", "maker"),
        ("decimal: Point,", "", "decimal"),
        (
            "decimal: Point,",
            "decimal: Point, decimal: Comma,",
            "decimal",
        ),
        ("unit: \"MΩ\"", "unit: \"MOhms\"", "line 7"),
        ("unit: \"MΩ\"", "unit: \"V\"", "can't be made into MΩ"),
        (", unit: \"MΩ\"", "", "ir-le has no unit"),
        (
            "\"IR\": (test: \"ir-le\"",
            "\"R1+R2\": (test: \"ir-le\"",
            "given twice",
        ),
        ("\"ir-le\"", "\"r1r2\"", "`r1r2` is another column already"),
        ("\"polarity\"", "\"sources\"", "no instrument shows it"),
        ("\"polarity\"", "\"design\"", "no instrument shows it"),
        ("\"polarity\"", "\"energise\"", "no instrument shows it"),
        ("\"polarity\"", "\"voltage\"", "no instrument shows it"),
        ("\"polarity\"", "\"set-ov1\"", "no instrument shows it"),
        ("\"polarity\"", "\"polaritee\"", "did you mean `polarity`"),
        (
            "(test: \"polarity\")",
            "(test: \"polarity\", unit: \"V\")",
            "pass or fail",
        ),
        ("pass: [\"ok\"]", "pass: [\"x\"]", "`x` has two meanings"),
        ("pass: [\"ok\"]", "pass: [\"1\"]", "could be a number"),
        (
            "not_taken: [\"---\"]",
            "not_taken: [\"0\"]",
            "could be a number",
        ),
        ("{\"OL\": \"2000\"}", "{\"OL\": \"far\"}", "end of a scale"),
        (
            "{\"OL\": \"2000\"}",
            "{\"---\": \"2000\"}",
            "can't be a mark",
        ),
        (
            "{\"OL\": \"2000\"}",
            "{\"OL\": \"2000\", \"OL\": \"999\"}",
            "given twice",
        ),
        (
            "{\"heater\": \"C/4\"}",
            "{\"heater\": \"C/4\", \"heater\": \"C/3\"}",
            "given twice",
        ),
        (
            "decimal: Point,",
            "decimal: Point, separator: \"ab\",",
            "one sign",
        ),
        (
            "decimal: Point,",
            "decimal: Point, separator: \"5\",",
            "one sign",
        ),
        (
            "decimal: Point,",
            "decimal: Comma,",
            "what stands between cells is the decimal sign too",
        ),
        (
            "decimal: Point,",
            "decimal: Point, separator: \".\",",
            "what stands between cells is the decimal sign too",
        ),
        (
            "One(\"place\")",
            "Two(\"place\", \"place\")",
            "one column can't be two things",
        ),
        (
            "above: \">\",",
            "above: \">\", time: (columns: [\"t\"], format: \"%Q\", zone: \"+00:00\"),",
            "not a format",
        ),
        (
            "above: \">\",",
            "above: \">\", time: (columns: [\"t\"], format: \"%d/%m\", zone: \"+00:00\"),",
            "whole date",
        ),
        (
            "above: \">\",",
            "above: \">\", time: (columns: [\"t\"], format: \"%H:%M %z\", zone: \"+00:00\"),",
            "whole date",
        ),
        (
            "above: \">\",",
            "above: \">\", time: (columns: [\"t\"], format: \"%F %R\", zone: \"London\"),",
            "not a zone",
        ),
    ] {
        let mapping = WIDE.replacen(from, to, 1);
        assert_ne!(mapping, WIDE, "{from}");
        let error = tried(&mapping, b"place,R1+R2,IR,pol,Zs,t\n", &job).unwrap_err();
        assert!(
            error.starts_with("map.ron") && error.contains(why),
            "{to}: {error}"
        );
    }
    assert!(
        tried(EXAMPLE, b"", &job)
            .unwrap_err()
            .starts_with("dir/a.csv")
    );
    let long = format!("{WIDE}{}", " ".repeat(1_100_000));
    assert!(tried(&long, b"", &job).unwrap_err().contains("too long"));
}

const LONG: &str = r#"(
    decimal: Point,
    place: Two("board", "circuit"),
    names: {"CU": "C", "CU/heater": "C/4"},
    readings: Rows(test: "test", value: "value", unit: "unit", tests: {
        "loop": (test: "zs"), "cpc": (test: "r1r2"), "insulation": (test: "ir-le", unit: "MΩ"),
        "fault current": (test: "pfc"), "trip": (test: "rcd-time"), "at the board": (test: "zdb"),
    }),
    units_in_cells: true,
)"#;

#[test]
fn rows_name_test_and_unit_in_columns_or_cells() {
    let csv = "board,circuit,test,value,unit\n\
        CU,heater,cpc,224,mΩ\n\
        CU,4,cpc,0.224 Ω,\n\
        CU,4,insulation,0.642,GΩ\n\
        CU,4,insulation,642,\n\
        R,,fault current,1050,A\n\
        R,,at the board,0.2,Ω\n\
        CU,1,trip,0.0213,s\n\
        CU,4,loop,0.61,\n\
        CU,4,loop,0.61 kΩ,Ω\n\
        CU,4,hum,3,\n";
    expect(
        &values(LONG, csv),
        &[
            ("C/4/r1r2", "0.224"),
            ("C/4/r1r2", "0.224"),
            ("C/4/ir-le", "642"),
            ("C/4/ir-le", "642"),
            ("R/pfc", "1.050"),
            ("R/zdb", "0.2"),
            ("C/1/rcd-time", "21.3"),
            ("C/4/zs", "? it has no unit: give one in the mapping"),
            ("C/4/zs", "? its unit is `kΩ` in the cell and `Ω` beside it"),
            (
                "CU/4",
                "? the mapping doesn't say what `hum` is: name it under `tests`",
            ),
        ],
    );
    // A circuit without its board is nobody's guess.
    let found = said(LONG, "board,circuit,test,value,unit\n,4,cpc,224,mΩ\n");
    assert!(
        found[0]
            .1
            .as_ref()
            .unwrap_err()
            .contains("where it belongs")
    );
}

/// A name is that of a board, or of the whole path: a circuit that is called as some board is, stays itself.
#[test]
fn a_name_of_a_board_renames_no_circuit() {
    let mapping = r#"(
        decimal: Point,
        place: Two("board", "circuit"),
        names: {"3": "R", "C/2": "C/1"},
        readings: Columns({"IR": (test: "ir-ll", unit: "MΩ")}),
    )"#;
    let csv = "board,circuit,IR\nC,3,250\n3,3,251\nC,2,252\n3,,253\n";
    expect(
        &values(mapping, csv),
        &[
            ("C/3/ir-ll", "250"),
            ("R/3/ir-ll", "251"),
            ("C/1/ir-ll", "252"),
            ("R/ir-ll", "253"),
        ],
    );
}

/// What is written down of a cell has the unit it was read in, once: its own, or that of the column.
#[test]
fn a_cell_is_written_down_with_the_unit_it_was_read_in() {
    let mapping = r#"(
        decimal: Comma,
        separator: ";",
        place: One("place"),
        readings: Columns({"IR": (test: "ir-ll", unit: "MΩ", over: {"OL": "2000", "2k+ MΩ": "2000"})}),
        units_in_cells: true,
        above: ">",
    )"#;
    for (cell, typed, written) in [
        ("0,0005 GΩ", "0.5", "0,0005 GΩ"),
        ("0,5 MΩ", "0.5", "0,5 MΩ"),
        ("0,5MΩ", "0.5", "0,5MΩ"),
        ("0,5", "0.5", "0,5 MΩ"),
        ("> 0,5 GΩ", ">500", "> 0,5 GΩ"),
        (">999", ">999", ">999 MΩ"),
        ("500000 Ω", "0.500000", "500000 Ω"),
        ("OL", ">2000", "OL MΩ"),
        ("2k+ MΩ", ">2000", "2k+ MΩ"),
    ] {
        let csv = format!("place;IR\nC/4;{cell}\n");
        let read = tried(mapping, csv.as_bytes(), &sample(HALF_DONE)).unwrap();
        let taken = &read.taken[0];
        assert_eq!(
            (taken.typed.as_deref(), taken.cell.as_str()),
            (Ok(typed), written),
            "{cell}"
        );
    }
    // The column of the unit says nothing where the cell has another: both are told.
    let csv = "board,circuit,test,value,unit\nCU,4,loop,0.61 kΩ,Ω\n";
    let read = tried(LONG, csv.as_bytes(), &sample(HALF_DONE)).unwrap();
    assert_eq!(read.taken[0].cell, "0.61 kΩ");
}

/// A limitation that stands at a place is words: no unit belongs behind it.
#[test]
fn what_would_be_struck_out_is_told_as_it_was_entered() {
    let mut job = sample(HALF_DONE);
    let place: Place = "C/4/ir-ll".parse().unwrap();
    let mut reading = job
        .entry(&"R/1/ir-le".parse().unwrap())
        .unwrap()
        .now
        .clone();
    reading.typed = "lim: dimmer can't be taken out".into();
    job.apply(&Change::Keep { place, reading }).unwrap();
    let on = On2::new(job);
    let mapping = WIDE.replace("\"ir-le\"", "\"ir-ll\"");
    let preview = on.preview(&mapping, "place,R1+R2,IR,pol,Zs\nC/4,,250,,\nR/1,,5,,\n");
    let words: Vec<String> = preview.rows.iter().map(|r| r.words()).collect();
    assert_eq!(words[0], "strikes out lim: dimmer can't be taken out");
    assert!(
        words[1].starts_with("strikes out ") && words[1].ends_with(" MΩ"),
        "{}",
        words[1]
    );
}

#[test]
fn what_becomes_of_each_reading() {
    let on = On2::new(sample(HALF_DONE));
    let csv = "place,R1+R2,IR,pol,Zs\n\
        heater,224,642,ok,0.61\n\
        R/1,160,757,,\n\
        C/9,300,,,\n\
        supply,300,,,\n\
        C/3,1900,,,\n\
        C/3,1900,,,\n\
        C/3,950,,,\n";
    let preview = on.preview(WIDE, csv);
    let found: Vec<(String, Standing)> = preview
        .rows
        .iter()
        .map(|r| (r.where_to(), r.standing.clone()))
        .collect();
    let at = |place: &str| {
        found
            .iter()
            .filter(|(p, _)| p == place)
            .map(|(_, s)| s.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(at("C/4/r1r2"), [Standing::New]);
    assert_eq!(at("C/4/polarity"), [Standing::New]);
    assert_eq!(at("R/1/r1r2"), [Standing::Same]);
    assert_eq!(at("R/1/ir-le"), [Standing::Conflict("758 MΩ".into())]);
    assert!(matches!(&at("C/4/zs")[..], [Standing::Waits(_)]));
    assert!(matches!(&at("C/9/r1r2")[..], [Standing::Never(why)] if why.contains("no `C/9`")));
    assert!(
        matches!(&at("supply/r1r2")[..], [Standing::Never(why)] if why.contains("no test `r1r2`"))
    );
    assert_eq!(
        at("C/3/r1r2"),
        [
            Standing::Twice(8, Some("0.95 Ω".into())),
            Standing::Repeated(6),
            Standing::Same,
        ]
    );
    let marked: Vec<String> = preview
        .rows
        .iter()
        .filter(|r| r.marked)
        .map(|r| r.where_to())
        .collect();
    assert_eq!(marked, ["C/4/r1r2", "C/4/ir-le", "C/4/polarity"]);
}

/// What can never be kept takes no place from what can.
#[test]
fn a_row_that_can_not_be_kept_is_no_other_value() {
    let on = On2::new(sample(HALF_DONE));
    for csv in [
        "place,R1+R2,IR,pol,Zs\nC/4,-200,,,\nC/4,224,,,\n",
        "place,R1+R2,IR,pol,Zs\nC/4,224,,,\nC/4,-200,,,\n",
    ] {
        let preview = on.preview(WIDE, csv);
        assert_eq!(preview.rows.len(), 2, "both are shown");
        for row in &preview.rows {
            let good = row.taken.typed.as_deref() == Ok("0.224");
            assert_eq!(row.marked, good, "{row:?}");
            assert_eq!(row.standing == Standing::New, good, "{row:?}");
            assert_eq!(matches!(row.standing, Standing::Never(_)), !good, "{row:?}");
        }
    }
}

/// The line that an editor shows: RFC 4180 ends lines with CR LF, other systems with LF or, long ago, CR.
#[test]
fn lines_are_those_of_an_editor() {
    let lines = |mapping: &str, csv: &str| -> Vec<u64> {
        let read = tried(mapping, csv.as_bytes(), &sample(HALF_DONE)).unwrap();
        read.taken.iter().map(|t| t.line).collect()
    };
    let skipping = WIDE.replacen('(', "( skip: 2,", 1);
    for end in ["\n", "\r\n", "\r"] {
        for mark in ["", "\u{feff}"] {
            let with = |text: &str| format!("{mark}{}", text.replace('\n', end));
            let plain = with("place,R1+R2,IR,pol,Zs\nC/4,224,,,\n\nC/3,225,,,\n");
            assert_eq!(lines(WIDE, &plain), [2, 4], "{plain:?}");
            let quoted =
                with("place,note,R1+R2,IR,pol,Zs\nC/4,\"two\nlines\",224,,,\n,,,,,\nC/3,,225,,,");
            assert_eq!(lines(WIDE, &quoted), [2, 5], "{quoted:?}");
            let skipped = with("made by\n\nplace,R1+R2,IR,pol,Zs\nC/4,224,,,\nC/3,225,,,\n");
            assert_eq!(lines(&skipping, &skipped), [4, 5], "{skipped:?}");
            let open = with("place,R1+R2,IR,pol,Zs\nC/4,224,,,\nC/3,\"225,,,\n");
            let error = tried(WIDE, open.as_bytes(), &sample(HALF_DONE)).unwrap_err();
            assert!(error.contains("line 3,"), "{error}");
        }
    }
}

/// The verdict is that of the readings together: a low insulation reading beside the others is outside all the same.
#[test]
fn verdicts_are_those_that_the_readings_would_have() {
    let on = On2::new(sample(HALF_DONE));
    let preview = on.preview(WIDE, "place,R1+R2,IR,pol,Zs\nheater,224,0.4,x,\n");
    let verdicts: Vec<(String, Verdict)> = preview
        .rows
        .iter()
        .map(|r| (r.where_to(), r.verdict.as_ref().unwrap().0))
        .collect();
    let mut job = on.job.clone();
    job.apply(&preview.change().unwrap()).unwrap();
    let judged = judge_all(&job, &on.forms);
    for (place, verdict) in &verdicts {
        let finding = judged
            .iter()
            .find(|f| f.place.to_string() == *place)
            .unwrap();
        assert_eq!(finding.verdict, *verdict, "{place}");
    }
    // 1 MΩ at 500 V d.c.: BS 7671 Table 64; polarity that was found wanting.
    assert_eq!(verdicts[1].1, Verdict::Outside);
    assert_eq!(verdicts[2].1, Verdict::Outside);
}

/// Not by a file: confirmations of safety, what is looked at, signatures, polarity of the supply.
#[test]
fn nothing_that_safety_hangs_on_comes_from_a_file() {
    let on = On2::new(sample(HALF_DONE));
    let preview = on.preview(WIDE, "place,R1+R2,IR,pol,Zs\nsupply,,,ok,\n");
    assert!(
        matches!(&preview.rows[0].standing, Standing::Never(why) if why.contains("safety hangs"))
    );
    // And no limitation or "not applicable" comes out of any cell.
    for cell in ["lim: no access", "n/a: no such thing", "LIM", "N/A"] {
        let csv = format!("place,R1+R2,IR,pol,Zs\nheater,{cell},,{cell},\n");
        let preview = on.preview(WIDE, &csv);
        assert_eq!(preview.change(), None, "{cell}");
        assert_eq!(preview.rows.len(), 2);
    }
}

const TIMED: &str = r#"(
    decimal: Point,
    place: One("place"),
    readings: Columns({"R1+R2": (test: "r1r2", unit: "mΩ")}),
    time: (columns: ["day", "hour"], format: "%d.%m.%y %H.%M", zone: "+00:00"),
    instrument: Serial("serial"),
)"#;

/// The time of the readings is that of bringing them in, so that no wrong clock makes the order of the work right. Where the
/// instrument's own would be judged otherwise, nobody but a person marks the row.
#[test]
fn the_clock_of_an_instrument_decides_nothing_and_is_told() {
    let on = On2::new(sample(HALF_DONE));
    let row = |day: &str, hour: &str| {
        let csv = format!("place,R1+R2,day,hour,serial\nC/4,224,{day},{hour},PI9-00417\n");
        let preview = on.preview(TIMED, &csv);
        preview.rows.into_iter().next().unwrap()
    };
    let good = row("20.11.26", "10.44");
    assert!(good.marked && good.doubt.is_none());
    let reading = good.reading.unwrap();
    assert_eq!(reading.at, later());
    assert_eq!(
        reading.brought.unwrap().noted.unwrap().to_rfc3339(),
        "2026-11-20T10:44:00+00:00"
    );
    for (day, hour, why) in [
        // The sample's record: proved dead at 08:43.
        ("20.11.26", "08.10", "proved-dead"),
        ("19.11.25", "10.44", "before this job began"),
        ("20.11.27", "10.44", "still to come"),
    ] {
        let row = row(day, hour);
        let doubt = row.doubt.clone().unwrap();
        assert!(
            !row.marked && row.may_be_marked() && doubt.contains(why),
            "{doubt}"
        );
    }
    for (day, hour) in [
        ("31.02.26", "10.44"),
        ("", ""),
        ("20.11.26", "25.00"),
        ("11/20/26", "10.44"),
    ] {
        let row = row(day, hour);
        assert!(
            matches!(&row.standing, Standing::Never(why) if why.contains("isn't a time")),
            "{row:?}"
        );
    }
}

/// Harbour Row as it was before its inverter ran.
fn before_running() -> Job {
    let mut job = sample(CLEAN);
    let until: DateTime<FixedOffset> = "2026-06-18T11:30:00+01:00".parse().unwrap();
    let mut later = Vec::new();
    for seat in job.seats() {
        let readings = seat.readings.iter().filter(|(_, e)| e.now.at > until);
        later.extend(readings.map(|(test, _)| seat.place(test)));
    }
    for place in later {
        let back = Change::Put {
            place,
            entry: None,
            by: "mk".into(),
            at: None,
        };
        job.apply(&back).unwrap();
    }
    job
}

/// A stronger verdict hides no contradiction of the clock: what is outside for another reason is in doubt all the same.
#[test]
fn a_verdict_hides_nothing_that_the_clock_contradicts() {
    // Harbour Row: proved dead on 18 Jun 2026, energised 11:20:50 and inverters isolated 11:21:57, summer time.
    let started = |job: Job| On2 {
        at: "2026-06-18T11:30:00+01:00".parse().unwrap(),
        ..On2::new(job)
    };
    let on = started(before_running());
    let zs = TIMED.replace("\"r1r2\", unit: \"mΩ\"", "\"zs\", unit: \"Ω\"");
    let row = |on: &On2, value: &str, hour: &str| {
        let csv = format!("place,R1+R2,day,hour,serial\nM/2,{value},18.06.26,{hour},PI9-00417\n");
        on.preview(&zs, &csv).rows.into_iter().next().unwrap()
    };
    for (value, verdict) in [("37.9", Verdict::Within), ("160", Verdict::Outside)] {
        for (hour, why) in [
            ("07.00", "energise"),
            ("10.21", "inverters-off was confirmed"),
        ] {
            let row = row(&on, value, hour);
            assert_eq!(row.verdict.as_ref().unwrap().0, verdict, "{row:?}");
            let doubt = row.doubt.unwrap_or_default();
            assert!(doubt.contains(why), "{value} at {hour}: {doubt}");
        }
        assert_eq!(row(&on, value, "10.29").doubt, None, "{value}");
    }
    // Brought in on a later day, calibrated in between.
    let mut job = before_running();
    for tool in &mut job.instruments {
        tool.calibrated = "2026-06-19".parse().unwrap();
    }
    let on = On2::new(job);
    for value in ["37.9", "160"] {
        let doubt = row(&on, value, "10.29").doubt.unwrap_or_default();
        assert!(
            doubt.contains("out of calibration on 2026-06-18"),
            "{value}: {doubt}"
        );
    }
}

/// Without times no clock contradicts anything, and that is said.
#[test]
fn a_file_without_times_says_so() {
    let on = On2::new(sample(HALF_DONE));
    let words = "the file has no times: nothing tells when these were taken";
    let preview = on.preview(WIDE, "place,R1+R2,IR,pol,Zs\nC/4,224,,,\n");
    assert!(preview.counts().contains(words), "{}", preview.counts());
    let csv = "place,R1+R2,day,hour,serial\nC/4,224,20.11.26,10.44,PI9-00417\nC/4,224,,,\n";
    let preview = on.preview(TIMED, csv);
    assert!(!preview.counts().contains("times"), "{}", preview.counts());
}

#[test]
fn an_instrument_has_to_be_on_the_job() {
    let on = On2::new(sample(HALF_DONE));
    let csv =
        |serial: &str| format!("place,R1+R2,day,hour,serial\nC/4,224,20.11.26,10.44,{serial}\n");
    let preview = on.preview(TIMED, &csv("L3-2206"));
    assert_eq!(
        preview.rows[0]
            .reading
            .as_ref()
            .unwrap()
            .instrument
            .as_deref(),
        Some("lom")
    );
    for serial in ["PI9-00418", ""] {
        let preview = on.preview(TIMED, &csv(serial));
        assert!(
            matches!(&preview.rows[0].standing, Standing::Never(why) if why.contains("PI9-00417 (mft)"))
        );
    }
    let fixed = TIMED.replace("Serial(\"serial\")", "Id(\"pvt\")");
    let preview = on.preview(&fixed, &csv("x"));
    // One that doesn't measure it is queried, as where it is chosen on the screen.
    let (verdict, why) = preview.rows[0].verdict.clone().unwrap();
    assert_eq!(verdict, Verdict::Query);
    assert!(why.contains("doesn't measure continuity"), "{why}");
    assert_eq!(preview.unused, ["serial"]);
}

/// A finished job, and every reading of it once more in a file, and each a little higher: nothing is marked, so nothing changes.
#[test]
fn nothing_of_a_finished_job_is_touched_by_a_file() {
    let on = On2::new(sample(CLEAN));
    let mut csv = String::from("place,R1+R2,IR,pol,Zs\n");
    for board in &on.job.boards {
        for circuit in &board.circuits {
            csv.push_str(&format!("{}/{},500,450,x,1.5\n", board.id, circuit.id));
        }
    }
    let preview = on.preview(WIDE, &csv);
    assert!(preview.rows.len() > 20);
    assert_eq!(preview.change(), None, "{}", preview.counts());
    let mut preview = preview;
    on.with(|on| preview.turn_all(on));
    assert_eq!(preview.marked(), 0);
}

/// Readings of a job by place.
fn standing(job: &Job) -> BTreeMap<String, String> {
    job.seats()
        .iter()
        .flat_map(|seat| {
            let entries: Vec<(String, String)> = seat
                .readings
                .iter()
                .map(|(test, entry)| (seat.place(test).to_string(), format!("{entry:?}")))
                .collect();
            entries
        })
        .collect()
}

fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => (0u32..3000).prop_map(|n| n.to_string()),
        1 => Just("OL".to_string()),
        1 => Just(">999".to_string()),
        1 => Just("ok".to_string()),
        1 => Just("---".to_string()),
        1 => Just(String::new()),
        2 => "[ -~]{0,8}",
        1 => "\\PC{0,8}",
    ]
}

fn owner() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => "[RC]/[1-5]",
        1 => Just("heater".to_string()),
        1 => Just("R".to_string()),
        1 => Just("safe".to_string()),
        1 => Just("supply".to_string()),
        1 => "\\PC{0,8}",
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if std::env::var_os("WANDERLEAD_LONG").is_some() { 3_000 } else { 60 }))]

    /// Whatever a file has and whatever is marked: what stood before is changed at marked rows alone, it is struck out and not
    /// lost there, one undo puts everything back, and every reading that comes in has its place in the file.
    #[test]
    fn nothing_is_changed_but_what_is_marked(
        rows in prop::collection::vec((owner(), cell(), cell(), cell(), cell()), 1..12),
        marks in prop::collection::vec(0usize..40, 0..6),
    ) {
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(["place", "R1+R2", "IR", "pol", "Zs"]).unwrap();
        for (a, b, c, d, e) in &rows {
            writer.write_record([a, b, c, d, e]).unwrap();
        }
        let bytes = writer.into_inner().unwrap();
        let on = On2::new(sample(HALF_DONE));
        let Ok(read) = tried(WIDE, &bytes, &on.job) else { return Ok(()) };
        let mut preview = on.with(|on| Preview::new(read, on));
        for mark in marks {
            let _ = on.with(|on| preview.turn(mark, on));
        }
        let Some(change) = preview.change() else { return Ok(()) };
        let marked: BTreeMap<String, String> = preview.rows.iter().filter(|r| r.marked)
            .map(|r| (r.where_to(), r.reading.as_ref().unwrap().typed.clone())).collect();
        prop_assert_eq!(marked.len(), preview.marked());
        let mut job = on.job.clone();
        let inverse = job.apply(&change).unwrap();
        let (before, after) = (standing(&on.job), standing(&job));
        for (place, entry) in &after {
            match marked.get(place) {
                None => prop_assert_eq!(Some(entry), before.get(place)),
                Some(typed) => {
                    let parsed: Place = place.parse().unwrap();
                    let now = job.entry(&parsed).unwrap();
                    prop_assert_eq!(&now.now.typed, typed);
                    prop_assert!(now.now.brought.is_some());
                    let old = on.job.entry(&parsed).map(|e| e.now.clone());
                    prop_assert_eq!(now.struck.last().cloned(), old);
                }
            }
        }
        prop_assert!(before.keys().all(|p| after.contains_key(p)));
        job.apply(&inverse).unwrap();
        prop_assert_eq!(standing(&job), before);
    }

    /// Anything at all as a mapping and as a file: an answer or an error, and no panic.
    #[test]
    fn anything_is_read_or_refused(mapping in "\\PC{0,200}", bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let job = sample(HALF_DONE);
        let _ = tried(&mapping, &bytes, &job);
        let _ = tried(WIDE, &bytes, &job);
        let mut file = b"place,R1+R2,IR,pol,Zs\n".to_vec();
        file.extend(&bytes);
        let _ = tried(WIDE, &file, &job);
    }
}

/// The samples with bytes changed, doubled and left out, and any format of time: never a panic, and what is marked always goes in.
fn spoilt(text: &str, seed: u64, strokes: u32) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    let mut state = seed | 1;
    let mut next = || {
        // xorshift64, Marsaglia 2003.
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state
    };
    for _ in 0..strokes {
        let at = (next() % bytes.len() as u64) as usize;
        match next() % 4 {
            0 => bytes[at] = (next() % 256) as u8,
            1 => bytes[at] = b"\",;.:0123456789\n\t%()[]{}<>-"[(next() % 27) as usize],
            2 => drop(bytes.remove(at)),
            _ => {
                let end = (at + 1 + (next() % 30) as usize).min(bytes.len());
                let part = bytes[at..end].to_vec();
                bytes.splice(at..at, part);
            }
        }
    }
    bytes
}

#[test]
fn spoilt_files_and_mappings_are_read_or_refused() {
    let long = std::env::var_os("WANDERLEAD_LONG").is_some();
    let on = On2::new(sample(HALF_DONE));
    let file = common::read(&common::root().join("sample-jobs/orchard-cottage-readings.csv"));
    let (mut read_at_all, mut kept) = (0, 0);
    for seed in 0..if long { 50_000 } else { 1_500 } {
        let strokes = (seed % 5) as u32;
        let mapping = match seed % 3 {
            0 => EXAMPLE.to_string(),
            _ => String::from_utf8_lossy(&spoilt(EXAMPLE, seed * 7919 + 1, strokes)).into_owned(),
        };
        let bytes = spoilt(&file, seed * 104_729 + 3, strokes + 1);
        let Ok(read) = tried(&mapping, &bytes, &on.job) else {
            continue;
        };
        read_at_all += 1;
        if seed % 20 != 0 {
            continue;
        }
        let preview = on.with(|on| Preview::new(read, on));
        if let Some(change) = preview.change() {
            on.job.clone().apply(&change).unwrap();
            kept += 1;
        }
    }
    assert!(read_at_all > 100 && kept > 10, "{read_at_all} {kept}");
}

/// A format that asks for what isn't there must be refused before anything is written by it.
#[test]
fn any_format_of_time_is_used_or_refused() {
    let job = sample(HALF_DONE);
    let mut used = 0;
    for letter in (' '..='~').chain(['Ω']) {
        for format in [
            format!("%{letter}"),
            format!("%d/%m/%Y %H:%M %{letter}"),
            format!("%F %R%.{letter}"),
            format!("%F %R%3{letter}"),
            format!("%F %R%:{letter}"),
            format!("%-{letter}%_{letter}%0{letter} %F %T"),
        ] {
            let quoted = format.replace('\\', "\\\\").replace('"', "\\\"");
            let mapping = TIMED.replace("%d.%m.%y %H.%M", &quoted);
            let csv = "place,R1+R2,day,hour,serial\nC/4,224,20/11/2026,10:44 +00:00,PI9-00417\n";
            used += usize::from(tried(&mapping, csv.as_bytes(), &job).is_ok());
        }
    }
    assert!(used > 50, "{used}");
}

/// A kept reading that came from a file is in the job file as it was, and one that can't be printed is refused.
#[test]
fn where_it_came_from_is_written_down_and_read_back() {
    let on = On2::new(sample(HALF_DONE));
    let preview = on.preview(WIDE, "place,R1+R2,IR,pol,Zs\nheater,224,,,\n");
    let Some(Change::Together(changes)) = preview.change() else {
        panic!()
    };
    let text = ron::to_string(&changes[0]).unwrap();
    assert!(
        text.contains("brought:Some((file:\"a.csv\",line:2,cell:\"224 mΩ\""),
        "{text}"
    );
    let back: Change = ron::from_str(&text).unwrap();
    assert_eq!(back, changes[0]);
    let mut bad = changes[0].clone();
    if let Change::Keep { reading, .. } = &mut bad {
        reading.brought.as_mut().unwrap().cell = "a\u{202e}b".into();
    }
    let error = on.job.clone().apply(&bad).unwrap_err().to_string();
    assert!(error.contains("U+202E"), "{error}");
}

/// A long file: rows that are many more than a job has. `cargo test --release --test intake -- --ignored --nocapture`
#[test]
#[ignore = "a timing"]
fn bench_five_thousand_rows() {
    let mut job = sample(HALF_DONE);
    let board = job.boards[1].clone();
    for b in 0..500 {
        let mut more = board.clone();
        more.id = format!("X{b}");
        for circuit in &mut more.circuits {
            circuit.readings = Default::default();
        }
        job.boards.push(more);
    }
    let mut csv = String::from("place,R1+R2,IR,pol,Zs\n");
    for b in 0..500 {
        for c in 1..=4 {
            csv.push_str(&format!("X{b}/{c},{},642,ok,\n", 200 + c));
        }
    }
    let started = std::time::Instant::now();
    let on = On2::new(job);
    println!("job judged: {:?}", started.elapsed());
    let started = std::time::Instant::now();
    let read = tried(WIDE, csv.as_bytes(), &on.job).unwrap();
    println!(
        "{} readings read: {:?}",
        read.taken.len(),
        started.elapsed()
    );
    let started = std::time::Instant::now();
    let mut preview = on.with(|on| Preview::new(read, on));
    println!(
        "laid over the job: {:?}; {}",
        started.elapsed(),
        preview.counts()
    );
    let started = std::time::Instant::now();
    on.with(|on| preview.turn(7, on)).unwrap();
    println!("one mark: {:?}", started.elapsed());
}
