//! `wanderlead bring`: the rules of the screen, on the command line.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::PathBuf;

use common::{HALF_DONE, program, root};
use serde_json::Value as Json;
use tempfile::TempDir;
use wanderlead::job::Job;
use wanderlead::store::read_job;

const FILE: &str = "orchard-cottage-readings.csv";
const MAPPING: &str = "orchard-cottage-readings.ron";

struct Folder(TempDir);

/// What a run printed, what it said, and its exit code.
type Ran = (String, String, i32);

impl Folder {
    fn new() -> Folder {
        let folder = tempfile::tempdir().unwrap();
        for name in [HALF_DONE, FILE, MAPPING] {
            std::fs::copy(
                root().join("sample-jobs").join(name),
                folder.path().join(name),
            )
            .unwrap();
        }
        Folder(folder)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn run(&self, args: &[&str]) -> Ran {
        let output = program()
            .current_dir(self.0.path())
            .args(args)
            .output()
            .unwrap();
        (
            String::from_utf8(output.stdout).unwrap(),
            String::from_utf8(output.stderr).unwrap(),
            output.status.code().unwrap(),
        )
    }

    /// Whatever the clock of the machine is: the sample's times may be still to come for it.
    fn bring(&self, more: &[&str]) -> Ran {
        let mut args = vec![
            "bring",
            HALF_DONE,
            FILE,
            "--mapping",
            MAPPING,
            "--against-clock",
        ];
        args.extend(more);
        self.run(&args)
    }

    fn job(&self) -> Job {
        read_job(&self.path(HALF_DONE)).unwrap().job
    }

    fn typed(&self, place: &str) -> Option<String> {
        let entry = self.job().entry(&place.parse().unwrap()).cloned();
        entry.map(|e| e.now.typed)
    }
}

#[test]
fn a_dry_run_shows_everything_and_writes_nothing() {
    let folder = Folder::new();
    let before = std::fs::read(folder.path(HALF_DONE)).unwrap();
    let (out, _, code) = folder.bring(&["--by", "jt", "--dry"]);
    assert_eq!(code, 1, "{out}");
    for line in [
        "keep C/4/r1r2         0.224 Ω",
        "line 3, ring r1: 412 mΩ; strikes out 0.38 Ω",
        "line 4, R1+R2: 250 mΩ; there already",
        "line 10, insulation L-E: 64.0 MΩ; another value in line 11",
        "line 13, R1+R2: 310 mΩ; there is no `C/7` in this job",
        "columns that the mapping doesn't name: remark",
        "nothing kept (--dry): 4 would be",
    ] {
        assert!(out.contains(line), "{line}\n{out}");
    }
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    assert_eq!(std::fs::read(folder.path(HALF_DONE)).unwrap(), before);
    assert!(!folder.path("orchard-cottage.ron.journal").exists());
}

#[test]
fn what_nothing_speaks_against_is_kept_and_the_second_time_is_there_already() {
    let folder = Folder::new();
    let (out, err, code) = folder.bring(&["--by", "mk"]);
    assert_eq!(code, 1, "{out}{err}");
    assert!(out.ends_with("kept 4 as change 1 by mk\n"), "{out}");
    assert_eq!(folder.typed("C/4/ir-ll").as_deref(), Some(">999"));
    assert_eq!(folder.typed("C/1/r1").as_deref(), Some("0.38"));
    let (out, _, _) = folder.bring(&["--by", "mk"]);
    assert!(
        out.contains("6 there already") && out.ends_with("nothing kept\n"),
        "{out}"
    );
    assert_eq!(folder.job().kept, 1);
    // The table for other programs tells the file.
    let (csv, _, _) = folder.run(&["export", HALF_DONE, "--rows", "readings"]);
    let row = csv.lines().find(|l| l.starts_with("C/4/r1r2,")).unwrap();
    assert!(row.contains("from orchard-cottage-readings.csv line 7: 224 mΩ, by its clock 20 Nov 2026 10:44, result 35"), "{row}");
}

#[test]
fn a_conflict_is_replaced_only_by_name() {
    let folder = Folder::new();
    let (out, _, _) = folder.bring(&["--by", "mk", "--replace", "C/1/r1"]);
    assert!(out.contains("kept 5 as change 1"), "{out}");
    let job = folder.job();
    let entry = job.entry(&"C/1/r1".parse().unwrap()).unwrap();
    assert_eq!(
        (entry.now.typed.as_str(), entry.struck[0].typed.as_str()),
        ("0.412", "0.38")
    );
    let folder = Folder::new();
    for (place, why) in [
        ("C/4/r1r2", "no single reading of this file is in conflict"),
        ("C/4/ir-le", "no single reading of this file is in conflict"),
        ("R/1/r1r2", "no single reading of this file is in conflict"),
        ("nowhere", "is not a place"),
    ] {
        let (out, err, code) = folder.bring(&["--by", "mk", "--replace", place]);
        assert_eq!((out.as_str(), code), ("", 2), "{err}");
        assert!(err.contains(why), "{err}");
    }
    assert_eq!(folder.job().kept, 0);
}

#[test]
fn json_says_the_same() {
    let folder = Folder::new();
    let (out, _, code) = folder.bring(&["--by", "mk", "--dry", "--json"]);
    assert_eq!(code, 1);
    let all: Json = serde_json::from_str(&out).unwrap();
    assert_eq!(all["schema"], 1);
    assert_eq!(all["not_named"][0], "remark");
    assert!(all["kept"].is_null());
    let rows = all["rows"].as_array().unwrap();
    assert_eq!(rows.len(), 12);
    let row = rows.iter().find(|r| r["line"] == 7).unwrap();
    for (field, value) in [
        ("place", "C/4/r1r2"),
        ("value", "0.224"),
        ("unit", "Ω"),
        ("cell", "224 mΩ"),
        ("standing", "new"),
        ("instrument", "mft"),
        ("noted", "2026-11-20T10:44:00+00:00"),
    ] {
        assert_eq!(row[field], value, "{row}");
    }
    assert_eq!(row["keep"], true);
}

/// By an apprentice it waits for a countersign; exit code 0 only where everything is settled.
#[test]
fn who_brings_it_in_answers_for_it() {
    let folder = Folder::new();
    std::fs::write(
        folder.path(FILE),
        "made up\nno,date,time,board,circuit,test,result,unit,serial\n1,20/11/2026,10:40,CU,3,insulation L-E,299,MΩ,PI9-00417\n",
    )
    .unwrap();
    let (out, _, code) = folder.bring(&["--by", "jt"]);
    assert_eq!(code, 0, "{out}");
    assert!(
        out.contains("what is kept waits for a\ncountersign")
            || out.contains("waits for a countersign"),
        "{out}"
    );
    let job = folder.job();
    let entry = job.entry(&"C/3/ir-le".parse().unwrap()).unwrap();
    assert!(job.waits_for_countersign(&entry.now));
    let (_, err, code) = folder.bring(&["--by", "zz"]);
    assert_eq!(code, 2);
    assert!(
        err.contains("no person `zz` on this job; known: mk, jt"),
        "{err}"
    );
}

/// Whoever entered last isn't taken for who brings a file in: the readings would be kept in a name that never saw them, and get
/// round the countersign.
#[test]
fn nobody_is_taken_to_answer_for_it_where_there_are_two() {
    let folder = Folder::new();
    let (_, err, code) = folder.run(&["keep", HALF_DONE, "C/3/ir-le", "300", "--by", "mk"]);
    assert_eq!(code, 0, "{err}");
    for more in [&[][..], &["--dry"], &["--json"]] {
        let (out, err, code) = folder.bring(more);
        assert_eq!((out.as_str(), code), ("", 2), "{err}");
        assert!(
            err.contains("say who brings them in and answers for them, with --by: mk, jt"),
            "{err}"
        );
    }
    assert_eq!(folder.typed("C/4/r1r2"), None);
    assert_eq!(folder.job().kept, 1);
}

/// Of one person there is no doubt.
#[test]
fn who_is_alone_on_the_job_answers_for_it() {
    let folder = Folder::new();
    let text = common::read(&folder.path(HALF_DONE));
    let alone: String = text
        .lines()
        .filter(|l| !l.trim_start().starts_with("(id: \"jt\""))
        .map(|l| format!("{l}\n"))
        .collect();
    assert_ne!(text, alone);
    let mut alone = alone.replace("by: \"jt\"", "by: \"mk\"");
    let sign = ", countersigned: (";
    while let Some(at) = alone.find(sign) {
        let end = alone[at..].find(')').unwrap();
        alone.replace_range(at..=at + end, "");
    }
    std::fs::write(folder.path(HALF_DONE), alone).unwrap();
    let (out, err, _) = folder.bring(&["--dry"]);
    assert!(out.contains("4 would be"), "{out}{err}");
}

#[test]
fn a_clock_that_speaks_against_it_needs_a_word() {
    let folder = Folder::new();
    std::fs::write(
        folder.path(FILE),
        "made up\nno,date,time,board,circuit,test,result,unit,serial\n1,20/11/2016,10:40,CU,3,insulation L-E,299,MΩ,PI9-00417\n",
    )
    .unwrap();
    let (out, _, code) =
        folder.run(&["bring", HALF_DONE, FILE, "--mapping", MAPPING, "--by", "mk"]);
    assert_eq!(code, 1);
    assert!(
        out.contains("before this job began") && out.ends_with("nothing kept\n"),
        "{out}"
    );
    let (out, _, code) = folder.bring(&["--by", "mk"]);
    assert_eq!(code, 0, "{out}");
    assert_eq!(folder.typed("C/3/ir-le").as_deref(), Some("299"));
}

#[test]
fn a_mapping_to_start_from_is_written_once() {
    let folder = Folder::new();
    let (_, err, code) = folder.run(&["bring", "--write-mapping", "mine.ron"]);
    assert_eq!(code, 0, "{err}");
    let written = std::fs::read_to_string(folder.path("mine.ron")).unwrap();
    assert_eq!(
        written,
        common::read(&root().join("sample-jobs").join(MAPPING))
    );
    let (_, err, code) = folder.run(&["bring", "--write-mapping", HALF_DONE]);
    assert_eq!(code, 2);
    assert!(err.contains(HALF_DONE), "{err}");
    let (out, _, _) = folder.run(&[
        "bring",
        HALF_DONE,
        FILE,
        "--mapping",
        "mine.ron",
        "--dry",
        "--against-clock",
        "--by",
        "mk",
    ]);
    assert!(out.contains("4 would be"), "{out}");
}

#[test]
fn what_cannot_be_used_ends_with_code_2_and_says_where() {
    let folder = Folder::new();
    std::fs::write(folder.path("bad.csv"), b"x\nno,\xff\n").unwrap();
    std::fs::write(folder.path("bad.ron"), "(decimal: Point, place: One(\"a\"), readings: Columns({\"b\": (test: \"zs\", unit: \"V\")}))").unwrap();
    for (file, mapping, why) in [
        (
            "bad.csv",
            MAPPING,
            "bad.csv, line 2, column 1: not UTF-8 text",
        ),
        (FILE, "bad.ron", "bad.ron, line 1"),
        (FILE, HALF_DONE, "orchard-cottage.ron, line"),
        ("none.csv", MAPPING, "none.csv: there is no such file"),
        (FILE, "none.ron", "none.ron: there is no such file"),
    ] {
        let (out, err, code) = folder.run(&["bring", HALF_DONE, file, "--mapping", mapping]);
        assert_eq!((out.as_str(), code), ("", 2), "{err}");
        assert!(err.contains(why), "{err}");
    }
    let (_, _, code) = folder.run(&["bring", HALF_DONE]);
    assert_eq!(code, 2);
    assert_eq!(folder.job().kept, 0);
}

/// Nobody typed it, and the paper says so; poppler reads the page.
#[test]
fn the_paper_lists_what_was_brought_in() {
    let folder = Folder::new();
    folder.bring(&["--by", "mk"]);
    let (_, err, code) = folder.run(&["draft", HALF_DONE, "--out", "orchard-cottage.pdf"]);
    assert!(code < 2, "{err}");
    let text = std::process::Command::new("pdftotext")
        .args(["-layout", "orchard-cottage.pdf", "-"])
        .current_dir(folder.0.path())
        .output()
        .unwrap();
    let text = String::from_utf8(text.stdout).unwrap();
    for words in [
        "Brought in from files of instruments",
        "224 mΩ",
        "20 Nov 2026 10:44",
        "result 35",
    ] {
        assert!(text.contains(words), "{words}");
    }
}

/// What can't be read is put right by a mapping or a download, not by a job.
#[test]
fn mappings_and_downloads_have_remedies_of_their_own() {
    let folder = Folder::new();
    let mapping = std::fs::read_to_string(folder.path(MAPPING)).unwrap();
    let write = |text: &str| std::fs::write(folder.path("map.ron"), text).unwrap();
    let args = [
        "bring",
        HALF_DONE,
        FILE,
        "--mapping",
        "map.ron",
        "--by",
        "mk",
    ];
    let said = || {
        let (out, err, code) = folder.run(&args);
        assert_eq!((out.as_str(), code), ("", 2), "{err}");
        err
    };
    write("\n");
    assert_eq!(
        said(),
        "map.ron, line 1, column 1: the file is empty; restore it from a copy, or begin with one that explains itself: \
         `wanderlead bring --write-mapping FILE`\n"
    );
    write(&mapping.replacen("test: \"r1r2\"", "test: \"earth resistance\"", 1));
    // The first is in its comment.
    write(&mapping.replace("test: \"r1r2\"", "test: \"earth resistance\""));
    let err = said();
    assert!(
        err.ends_with("no test is called `earth resistance`; look up its name with `wanderlead learn`, which lists them\n"),
        "{err}"
    );
    let (listed, _, _) = folder.run(&["learn"]);
    for test in ["r1r2 ", "ir-le ", "zs "] {
        assert!(listed.lines().any(|l| l.starts_with(test)), "{listed}");
    }
    write(&mapping.replace("zone: \"+00:00\"", "zone: \"summer\""));
    let err = said();
    assert!(
        !err.contains("starter") && !err.contains("restore"),
        "{err}"
    );
    std::fs::write(folder.path("map.ron"), vec![b' '; 2 << 20]).unwrap();
    assert_eq!(
        said(),
        "map.ron: longer than 1 MB; this is no mapping: `wanderlead bring --write-mapping FILE` writes one\n"
    );
    // Beyond what a download may have, and beyond what any file may have.
    for length in [17 << 20, 65 << 20] {
        let file = std::fs::File::create(folder.path(FILE)).unwrap();
        file.set_len(length).unwrap();
        let (_, err, code) = folder.bring(&["--by", "mk"]);
        assert_eq!(code, 2);
        assert_eq!(
            err,
            format!("{FILE}: longer than 16 MB; take a part of it\n")
        );
    }
}

/// A verdict beside what can't be kept would read as if it could.
#[test]
fn what_cannot_be_kept_has_no_verdict() {
    let folder = Folder::new();
    let file = std::fs::read_to_string(folder.path(FILE)).unwrap();
    let below = file.replacen(",412,", ",-412,", 1);
    assert_ne!(file, below);
    std::fs::write(folder.path(FILE), below).unwrap();
    let (out, _, _) = folder.bring(&["--by", "mk", "--dry"]);
    let line = out.lines().next().unwrap();
    assert_eq!(line.trim_end(), "–    C/1/r1           -0.412 Ω", "{out}");
    let (out, _, _) = folder.bring(&["--by", "mk", "--dry", "--json"]);
    let all: Json = serde_json::from_str(&out).unwrap();
    let row = &all["rows"][0];
    assert_eq!(
        (&row["standing"], &row["value"]),
        (&"never".into(), &"-0.412".into())
    );
    assert_eq!((&row["verdict"], &row["why"]), (&Json::Null, &Json::Null));
    assert!(all["rows"][1]["verdict"].is_string());
}

/// Two downloads of one instrument often differ at the end of their names alone; cells may be long too.
#[test]
fn names_of_files_are_kept_whole_and_told_apart_on_the_paper() {
    let folder = Folder::new();
    let cell = "all points were looked at and are in good order, part 1";
    let mapping = |mark: &str| {
        let text = format!(
            r#"(decimal: Point, place: One("p"), readings: Columns({{"ir": (test: "ir-le", unit: "MΩ"),
            "pol": (test: "polarity")}}), pass: ["{mark}"])"#
        );
        std::fs::write(folder.path("map.ron"), text).unwrap();
    };
    let bring = |name: &str, row: &str| {
        std::fs::write(folder.path(name), format!("p,ir,pol\n{row}\n")).unwrap();
        let args = ["bring", HALF_DONE, name, "--mapping", "map.ron"];
        let (out, err, _) = folder.run(&[&args[..], &["--by", "mk"]].concat());
        assert!(out.contains("kept 1 as change"), "{out}{err}");
    };
    let from = |place: &str| {
        let job = folder.job();
        let entry = job.entry(&place.parse().unwrap()).unwrap();
        entry.now.brought.clone().unwrap()
    };
    mapping(cell);
    let begin = "orchard-cottage-consumer-unit-taken-with-the-instrument-of-the-firm-";
    let names = ["monday", "tuesday"].map(|end| format!("{begin}{end}.csv"));
    bring(&names[0], "C/3,299,");
    bring(&names[1], &format!("C/4,,\"{cell}\""));
    assert_eq!(from("C/3/ir-le").file, names[0]);
    assert_eq!(from("C/4/polarity").file, names[1]);
    assert_eq!(from("C/4/polarity").cell, cell);
    let (_, err, code) = folder.run(&["draft", HALF_DONE, "--out", "a.pdf"]);
    assert!(code < 2, "{err}");
    let text = std::process::Command::new("pdftotext")
        .args(["-raw", "a.pdf", "-"])
        .current_dir(folder.0.path())
        .output()
        .unwrap();
    let text = String::from_utf8(text.stdout).unwrap();
    let text: String = text.split_whitespace().collect();
    for name in names {
        assert!(text.contains(&format!("{name}line2")), "{name}");
    }
    // Of what no instrument writes both ends stay, and the job takes it.
    let (ends, endless) = (("begins ", " ends"), "ab".repeat(5_000));
    let endless = format!("{}{endless}{}", ends.0, ends.1);
    mapping(&endless);
    std::fs::remove_file(folder.path(HALF_DONE)).unwrap();
    std::fs::remove_file(folder.path(&format!("{HALF_DONE}.journal"))).unwrap();
    std::fs::copy(
        root().join("sample-jobs").join(HALF_DONE),
        folder.path(HALF_DONE),
    )
    .unwrap();
    bring("x.csv", &format!("C/4,,{endless}"));
    let cell = from("C/4/polarity").cell;
    assert!(cell.starts_with(ends.0) && cell.ends_with(ends.1), "{cell}");
    assert_eq!(cell.chars().filter(|c| *c == '…').count(), 1);
}

/// Said before every one of them is judged, also where nothing would be kept yet.
#[test]
fn too_many_at_once_are_refused_with_the_file() {
    let folder = Folder::new();
    let job = std::fs::read_to_string(folder.path(HALF_DONE)).unwrap();
    // The last circuit, which has no readings yet, many times.
    let circuit = &job[..job.find("name: \"water heater\"").unwrap()];
    let from = circuit.rfind("                (\n").unwrap();
    let length = job[from..].find("                ),\n").unwrap() + "                ),\n".len();
    let circuit = &job[from..from + length];
    let many: String = (100..3_500)
        .map(|n| circuit.replace("id: \"4\"", &format!("id: \"{n}\"")))
        .collect();
    let large = format!("{}{many}{}", &job[..from], &job[from..]);
    std::fs::write(folder.path(HALF_DONE), large).unwrap();
    std::fs::write(
        folder.path("map.ron"),
        r#"(decimal: Point, place: One("p"), readings: Columns({"a": (test: "ir-le", unit: "MΩ"), "b": (test: "r1r2", unit: "Ω"), "c": (test: "ir-ll", unit: "MΩ")}))"#,
    )
    .unwrap();
    let rows: String = (100..3_500)
        .map(|n| format!("C/{n},299,0.3,299\n"))
        .collect();
    std::fs::write(folder.path("many.csv"), format!("p,a,b,c\n{rows}")).unwrap();
    for more in [&["--by", "mk"][..], &["--by", "mk", "--dry"]] {
        let mut args = vec!["bring", HALF_DONE, "many.csv", "--mapping", "map.ron"];
        args.extend(more);
        let (out, err, code) = folder.run(&args);
        assert_eq!((out.len(), code), (0, 2), "{err}");
        assert_eq!(
            err,
            "many.csv: 10200 of its readings would be kept, and at most 10000 are at once; nothing is kept: take a part of the file\n"
        );
    }
}
