//! The subcommands on files, with exit codes and where their words go.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;
use wanderlead::forms::Forms;
use wanderlead::guide::Plan;
use wanderlead::job::{Answer, Change, Place, Reading};
use wanderlead::store::Session;

/// Sets nothing, so that the settings of whoever runs this don't count.
const SETTINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/settings.ron");

const JOB: &str = include_str!("store_fixture.ron");

fn folder() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("a.ron"), energised()).unwrap();
    dir
}

/// The job, energised: so live readings come in their order.
fn energised() -> String {
    JOB.replacen("  boards: [", &format!("{ENERGISED}  boards: ["), 1)
}

const ENERGISED: &str = r#"  safe: {"energise": (now: (typed: "pass", unit: Unitless, by: "JE", at: "2026-09-01T08:00:00+01:00"))},
"#;

fn command(dir: &Path, args: &[&str]) -> Command {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", SETTINGS)
        .current_dir(dir)
        .args(args);
    command
}

fn run(dir: &Path, args: &[&str]) -> Output {
    command(dir, args).output().unwrap()
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).unwrap()
}

/// Exit code 2, nothing on standard output, and this on standard error.
fn refused(dir: &Path, args: &[&str], want: &str) {
    let output = run(dir, args);
    assert_eq!(said(&output).trim_end(), want, "{args:?}");
    assert_eq!(
        (output.status.code(), out(&output).as_str()),
        (Some(2), ""),
        "{args:?}"
    );
}

/// Puts readings into the journal without asking whether it is their turn.
fn put(dir: &Path, readings: &[(String, &str)]) {
    let path = dir.join("a.ron");
    // A program that another test is just starting holds the lock for a moment.
    let mut session = (0..200)
        .find_map(|_| {
            let open = Session::open(&path).ok();
            if open.is_none() {
                std::thread::sleep(std::time::Duration::from_millis(10));
            }
            open
        })
        .expect("the job stays locked");
    let at = chrono::DateTime::parse_from_rfc3339("2026-09-01T09:00:00+01:00").unwrap();
    for (place, typed) in readings {
        let place: Place = place.parse().unwrap();
        let instrument = session.job().usual_instrument(place.test);
        let reading = Reading {
            typed: (*typed).to_string(),
            unit: place.test.unit(),
            by: "JE".into(),
            at,
            instrument: instrument.map(|i| i.id.clone()),
            countersigned: None,
            around: None,
            brought: None,
        };
        session.keep(&Change::Keep { place, reading }, at).unwrap();
    }
    session.close().unwrap();
}

/// Two Zs readings, the first outside.
fn two_zs(dir: &Path) {
    put(dir, &[("R/1/zs".into(), "1.2"), ("R/2/zs".into(), "1.5")]);
}

/// Everything before the live tests is confirmed or excused. Returns the number of changes.
fn ready(dir: &Path) -> usize {
    let job = wanderlead::store::read_job(&dir.join("a.ron")).unwrap().job;
    let plan = Plan::new(&job, &Forms::embedded().unwrap());
    let end = plan.position(&"safe/energise".parse().unwrap()).unwrap();
    let typed = |place: &Place| match place.test.answer() {
        Answer::PassFail => "y",
        _ => "lim: left for this test",
    };
    let steps = plan.steps()[..end].iter();
    let all: Vec<_> = steps
        .map(|s| (s.place.to_string(), typed(&s.place)))
        .collect();
    put(dir, &all);
    // It was isolated again for that.
    put(dir, &[("safe/energise".into(), "y")]);
    end + 1
}

#[test]
fn keep_prints_the_verdict_and_sets_the_exit_code() {
    let dir = folder();
    let before = ready(dir.path());
    let kept = |n: usize, by: &str| format!("\nkept as change {} by {by}\n", before + n);
    let good = run(dir.path(), &["keep", "a.ron", "R/1/zs", "0.82"]);
    assert_eq!((good.status.code(), said(&good).as_str()), (Some(0), ""));
    let text = out(&good);
    assert!(
        text.starts_with("= within  R/1/zs  Zs  0.82 Ω  limit ≤ 1.09 Ω  margin 0.27 Ω\n    "),
        "{text}"
    );
    assert!(
        text.contains("[memory], BS 7671:2018+A2:2022+A3:2024\n"),
        "{text}"
    );
    assert!(text.ends_with(&kept(1, "JE with M1")), "{text}");

    let bad = run(
        dir.path(),
        &[
            "keep", "a.ron", "R/1/zs", "1,2", "--by", "AP", "--with", "C1",
        ],
    );
    assert_eq!(bad.status.code(), Some(1));
    assert!(out(&bad).starts_with(
        "! outside  R/1/zs  Zs  1,2 Ω  limit ≤ 1.09 Ω  margin -0.11 Ω  to countersign\n"
    ));
    assert!(out(&bad).ends_with(&kept(2, "AP with C1")));

    let excused = run(
        dir.path(),
        &["keep", "a.ron", "R/zdb", "lim: board sealed", "--by", "JE"],
    );
    assert_eq!(excused.status.code(), Some(0));
    assert!(
        out(&excused).starts_with("- excused  R/zdb  "),
        "{}",
        out(&excused)
    );
    let looked = run(
        dir.path(),
        &["keep", "a.ron", "inspect/enclosures", "y", "--by", "AP"],
    );
    assert!(
        out(&looked).ends_with(&kept(4, "AP")),
        "no instrument: {}",
        out(&looked)
    );

    let text = fs::read_to_string(dir.path().join("a.ron")).unwrap();
    for typed in ["\"0.82\"", "\"1,2\"", "\"lim: board sealed\""] {
        assert!(text.contains(typed), "{typed}: as typed, and saved");
    }
}

#[test]
fn keep_refuses_with_a_remedy_and_writes_nothing() {
    let dir = folder();
    for (args, want) in [
        (
            ["R/9/zs", "0.8"].as_slice(),
            "there is no `R/9` in this job",
        ),
        (
            &["R/1/zs", "ten"],
            "R/1/zs: `ten` is not a number: type digits with one decimal point or comma, such as 0.82",
        ),
        (
            &["R/1/zs", "-1"],
            "R/1/zs: `-1` is below zero: this reading can't be; check the leads and type it again",
        ),
        (
            &["R", "1"],
            "`R` is not a place: write BOARD/CIRCUIT/TEST or supply/TEST, such as R/3/zs",
        ),
        (
            &["R/1/zs", "0.8", "--by", "XX"],
            "no person `XX` on this job; known: JE, AP",
        ),
        (
            &["R/1/zs", "0.8", "--with", "XX"],
            "no instrument `XX` on this job; known: C1, M1",
        ),
        (
            &["R/1/zs", "lim: .22"],
            "R/1/zs: `.22` is no reason why no reading is taken: say it in words, such as `lim: room locked`; a reading is typed without `lim:`",
        ),
        (
            &["R/1/zs", "OL"],
            "R/1/zs: `OL` is what a display shows past the end of its scale: type > with that end, such as >999",
        ),
        (
            &["sign/design", "0.72", "--by", "JE"],
            "sign/design: `0.72` is no signature of J. Example, who is entering: type J. Example, or change who is entering first",
        ),
        (
            &["sign/design", "A. Prentice", "--by", "AP"],
            "A. Prentice is recorded as apprentice: a qualified person signs; change who is entering first",
        ),
    ] {
        refused(dir.path(), &[&["keep", "a.ron"], args].concat(), want);
    }
    assert_eq!(
        fs::read_to_string(dir.path().join("a.ron")).unwrap(),
        energised()
    );
    refused(
        dir.path(),
        &["keep", "none.ron", "R/1/zs", "0.8"],
        "none.ron: there is no such file or folder; check the name and the folder",
    );
    assert_eq!(
        fs::read_dir(dir.path()).unwrap().count(),
        2,
        "job and journal"
    );
}

#[test]
fn keep_waits_for_nobody_and_check_reads_meanwhile() {
    let dir = folder();
    let _writer = Session::open(&dir.path().join("a.ron")).unwrap();
    refused(
        dir.path(),
        &["keep", "a.ron", "R/1/zs", "0.82"],
        "a.ron: another program has this job open for writing; close it there first (check and draft work meanwhile)",
    );
    assert_eq!(run(dir.path(), &["check", "a.ron"]).status.code(), Some(1));
}

#[test]
fn check_counts_and_lists_what_stands_out() {
    let dir = folder();
    two_zs(dir.path());
    let output = run(dir.path(), &["check", "a.ron"]);
    assert_eq!(
        (output.status.code(), said(&output).as_str()),
        (Some(1), "")
    );
    let text = out(&output);
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("T-1  Two circuits"));
    let counts = lines.next().unwrap();
    assert!(
        counts.starts_with("! outside 1   . open ") && counts.ends_with("= within 4"),
        "{counts}"
    );
    assert_eq!(
        lines.nth(1),
        Some("! outside  R/1/zs  Zs  1.2 Ω  limit ≤ 1.09 Ω  margin -0.11 Ω")
    );
    assert!(!text.contains("R/2/zs"), "what is within isn't listed");
    assert!(
        text.contains("\n. open  supply/ze  Ze  –  limit ≤ 0.35 Ω\n"),
        "{text}"
    );
}

#[test]
fn check_json_has_every_field() {
    let dir = folder();
    two_zs(dir.path());
    let output = run(dir.path(), &["check", "a.ron", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let object: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(object["schema"], 1);
    assert_eq!(object["job"]["reference"], "T-1");
    assert_eq!(
        (&object["counts"]["outside"], &object["counts"]["within"]),
        (&1.into(), &4.into()),
        "Zs, energise, and the drop of both circuits; without a method the capacity can't be judged"
    );
    let finding = &object["findings"][0];
    for (key, want) in [
        ("place", "R/1/zs"),
        ("test", "zs"),
        ("value", "1.2"),
        ("unit", "Ω"),
        ("verdict", "outside"),
        ("limit", "≤ 1.09"),
        ("margin", "-0.11"),
        ("mark", "memory"),
        ("edition", "BS 7671:2018+A2:2022+A3:2024"),
    ] {
        assert_eq!(finding[key], want, "{key}");
    }
    assert!(
        finding["why"]
            .as_str()
            .unwrap()
            .contains("misses ≤ 1.09 Ω by 0.11 Ω")
    );
    assert!(finding["source"].as_str().unwrap().contains("Table 41.3"));
    let verdicts = |list: &str| -> Vec<String> {
        let list = object[list].as_array().unwrap();
        list.iter()
            .map(|f| f["verdict"].as_str().unwrap().to_string())
            .collect()
    };
    assert!(!verdicts("findings").contains(&"within".to_string()));
    assert_eq!(
        verdicts("judged").iter().filter(|v| *v == "within").count(),
        4
    );
    assert_eq!(object["lost"], Value::Null);
}

/// The sample that is complete and in order.
fn complete(dir: &Path) {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-jobs/harbour-row.ron");
    fs::copy(sample, dir.join("a.ron")).unwrap();
}

#[test]
fn a_complete_job_in_order_exits_with_0() {
    let dir = folder();
    complete(dir.path());
    let output = run(dir.path(), &["check", "a.ron"]);
    assert_eq!(output.status.code(), Some(0), "{}", out(&output));
    assert_eq!(out(&output).lines().count(), 2);
}

#[test]
fn a_journal_that_cannot_be_brought_back_is_said_and_never_exits_with_0() {
    let dir = folder();
    complete(dir.path());
    fs::write(dir.path().join("a.ron.journal"), "notes\n").unwrap();
    let output = run(dir.path(), &["check", "a.ron"]);
    assert_eq!(output.status.code(), Some(1));
    let text = said(&output);
    assert!(
        text.contains("a.ron.journal: its first line is not one that this program writes"),
        "{text}"
    );
    refused(
        dir.path(),
        &["draft", "a.ron", "--out", "a.pdf"],
        text.trim_end(),
    );
    assert!(!dir.path().join("a.pdf").exists());
}

#[test]
fn unusable_input_exits_with_2() {
    let dir = folder();
    fs::write(
        dir.path().join("b.ron"),
        JOB.replace("schema: 1", "schema: 9"),
    )
    .unwrap();
    let newer = "b.ron: version 9 is newer than this program, which writes version 2: the job is open for reading only, and nothing is kept, signed, issued or drafted from it. Use the newer program";
    refused(dir.path(), &["draft", "b.ron", "--out", "b.pdf"], newer);
    refused(
        dir.path(),
        &["check", "."],
        ".: this is a folder, not a file; give the name of a file in it",
    );
    refused(
        dir.path(),
        &["draft", "a.ron", "--out", "a.ron"],
        "a.ron: give --out a name that ends in .pdf",
    );
    assert_eq!(run(dir.path(), &["check"]).status.code(), Some(2));
    assert_eq!(
        run(dir.path(), &["check", "a.ron", "--yaml"]).status.code(),
        Some(2)
    );
}

#[test]
fn without_a_terminal_jobs_are_listed_and_not_opened() {
    let dir = folder();
    let output = run(dir.path(), &[]);
    assert_eq!(
        (output.status.code(), out(&output).as_str()),
        (Some(0), "a.ron  T-1  Two circuits\n")
    );
    refused(
        dir.path(),
        &["a.ron"],
        "a.ron: opening a job needs a terminal; without one use `wanderlead check a.ron` or `wanderlead keep`",
    );
    refused(
        dir.path(),
        &["a.ron", "check", "a.ron"],
        "`a.ron` stands before the command; write the command first, such as `wanderlead check a.ron`",
    );
    let empty = tempfile::tempdir().unwrap();
    let output = run(empty.path(), &[]);
    assert_eq!(output.status.code(), Some(0));
    assert!(
        said(&output).contains("no job in this folder"),
        "{}",
        said(&output)
    );
}

#[test]
fn start_makes_a_job_that_opens_and_never_overwrites() {
    let dir = folder();
    for name in ["micro", "string", "hybrid", "battery", "tt", "three-phase"] {
        let file = format!("{name}-1.ron");
        let output = run(dir.path(), &["start", &file, "--like", name]);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        assert!(
            said(&output).contains(&format!("`wanderlead {file}` opens it")),
            "{}",
            said(&output)
        );
        let session = Session::open(&dir.path().join(&file)).unwrap();
        assert_eq!(session.job().reference, format!("{name}-1"));
    }
    // A name that can't stand in a job file as it is.
    let output = run(dir.path(), &["start", "a\"b.ron", "--like", "tt"]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    let session = Session::open(&dir.path().join("a\"b.ron")).unwrap();
    assert_eq!(session.job().reference, "job number");
    refused(
        dir.path(),
        &["start", "a.ron", "--like", "micro"],
        "a.ron: is already there and was left as it is; give another name",
    );
    assert_eq!(
        fs::read_to_string(dir.path().join("a.ron")).unwrap(),
        energised()
    );
    refused(
        dir.path(),
        &["start", "n.ron", "--like", "mirco"],
        "no starter is called `mirco`; known: micro, string, hybrid, battery, tt, three-phase",
    );
    refused(
        dir.path(),
        &["start", "no-folder/n.ron", "--like", "micro"],
        "no-folder/n.ron: there is no such file or folder; check the name and the folder",
    );
    refused(
        dir.path(),
        &["start", "n", "--like", "micro"],
        "n: this isn't the name of a job file; give a name that ends in .ron",
    );
}

#[test]
fn forms_are_copied_tested_and_used() {
    let dir = folder();
    let copied = run(dir.path(), &["forms", "copy", "mine"]);
    assert_eq!(copied.status.code(), Some(0));
    assert_eq!(out(&copied).lines().next(), Some("mine/devices.ron"));
    refused(
        dir.path(),
        &["forms", "copy", "mine"],
        "mine/devices.ron: is already there and was left as it is; give another name",
    );
    let tested = run(dir.path(), &["forms", "test", "mine"]);
    assert_eq!(
        out(&tested),
        "in order: 15 of 15 files from mine, the others as shipped\n"
    );
    assert_eq!(
        said(&tested).trim_end(),
        "mine: changes nothing; the defaults count"
    );
    assert_eq!(
        out(&copied).lines().count(),
        wanderlead::forms::DEFAULTS.len() + 2,
        "and two examples"
    );
    let only = run(dir.path(), &["forms", "copy", "few", "own-limits.ron"]);
    assert_eq!(out(&only), "few/own-limits.ron\n");
    let unknown = run(dir.path(), &["forms", "copy", "few", "limits.ron"]);
    assert!(
        said(&unknown).contains("no form file is called `limits.ron`; known: devices.ron"),
        "{}",
        said(&unknown)
    );

    let devices = dir.path().join("mine/devices.ron");
    let text = fs::read_to_string(&devices).unwrap();
    let row = "id: \"zs/circuit-breaker/B/32\", value: \"1.37\"";
    assert!(text.contains(row));
    fs::write(
        &devices,
        text.replace(row, "id: \"zs/circuit-breaker/B/32\", value: \"2.00\""),
    )
    .unwrap();
    let words = [
        "calc",
        "zs-limit",
        "device=bs-en-60898",
        "curve=B",
        "rating_a=32",
    ];
    let shipped = run(dir.path(), &words);
    let by_flag = run(dir.path(), &[&words[..], &["--forms", "mine"]].concat());
    let by_variable = command(dir.path(), &words)
        .env("WANDERLEAD_FORMS", "mine")
        .output()
        .unwrap();
    assert!(
        out(&shipped).contains("site_ohm   1.09 Ω"),
        "{}",
        out(&shipped)
    );
    assert!(
        out(&by_flag).contains("site_ohm   1.60 Ω"),
        "{}",
        out(&by_flag)
    );
    assert_eq!(by_flag, by_variable);
    let changed = run(dir.path(), &["forms", "test", "mine"]);
    assert_eq!(
        out(&changed).lines().nth(1),
        Some("changed   zs/circuit-breaker/B/32  shipped 1.37 Ω, now 2.00 Ω (devices.ron)")
    );
    let listed = run(dir.path(), &["--forms", "mine", "forms", "list"]);
    assert!(
        out(&listed).starts_with("devices.ron  "),
        "{}",
        out(&listed)
    );
    assert!(out(&listed).contains(" (yours): ") && out(&listed).contains("[memory]"));
}

#[test]
fn every_faulty_form_file_is_named() {
    let dir = folder();
    run(dir.path(), &["forms", "copy", "mine"]);
    for (name, from, to) in [
        ("devices.ron", "value: \"1.37\"", "value: \"1,37\""),
        ("rcd.ron", "title:", "titel:"),
    ] {
        let path = dir.path().join("mine").join(name);
        let text = fs::read_to_string(&path).unwrap();
        fs::write(&path, text.replacen(from, to, 1)).unwrap();
    }
    let output = run(dir.path(), &["forms", "test", "mine"]);
    assert_eq!(output.status.code(), Some(2));
    let text = said(&output);
    assert!(
        text.contains("mine/devices.ron, line ") && text.contains("`1,37` is not a number"),
        "{text}"
    );
    assert!(
        text.contains("mine/rcd.ron, line ") && text.contains("titel"),
        "{text}"
    );

    let other = tempfile::tempdir().unwrap();
    fs::write(other.path().join("rdc.ron"), "()").unwrap();
    let output = run(other.path(), &["forms", "test", "."]);
    assert!(
        said(&output).contains("rdc.ron: no form file has this name; use one of: devices.ron"),
        "{}",
        said(&output)
    );
    refused(
        dir.path(),
        &["--forms", "none", "check", "a.ron"],
        "none: there is no such file or folder; check the name and the folder",
    );
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let dir = folder();
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin("wanderlead"))
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", SETTINGS)
        .current_dir(dir.path())
        .args(["check", "a.ron"])
        .stdout(writer)
        .stderr(std::process::Stdio::piped())
        .spawn()
        .unwrap()
        .wait_with_output()
        .unwrap();
    assert_eq!(
        (output.status.code(), said(&output).as_str()),
        (Some(1), "")
    );
}

#[cfg(target_os = "linux")]
#[test]
fn an_answer_that_cannot_be_written_is_a_failure() {
    let dir = folder();
    let full = fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let status = std::process::Command::new(assert_cmd::cargo::cargo_bin("wanderlead"))
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", SETTINGS)
        .current_dir(dir.path())
        .args(["check", "a.ron"])
        .stdout(full)
        .stderr(std::process::Stdio::null())
        .status()
        .unwrap();
    assert_eq!(status.code(), Some(2));
}

#[test]
fn draft_writes_a_pdf_whole_and_reads_beside_a_writer() {
    let dir = folder();
    let pdf = dir.path().join("a.pdf");
    run(dir.path(), &["draft", "a.ron", "--out", "a.pdf"]);
    let _writer = Session::open(&dir.path().join("a.ron")).unwrap();
    let output = run(dir.path(), &["draft", "a.ron", "--out", "a.pdf"]);
    assert_eq!(
        (output.status.code(), out(&output).as_str()),
        (Some(0), ""),
        "{}",
        said(&output)
    );
    assert!(said(&output).starts_with("a.pdf: "), "{}", said(&output));
    assert!(fs::read(&pdf).unwrap().starts_with(b"%PDF-"));
    assert_eq!(
        fs::read_dir(dir.path()).unwrap().count(),
        3,
        "job, journal and PDF, nothing left over"
    );
    refused(
        dir.path(),
        &["draft", "a.ron", "--out", "no-folder/a.pdf"],
        "no PDF: no-folder/a.pdf: there is no such file or folder; check the name and the folder",
    );
}

#[test]
fn forms_are_listed_and_looked_up() {
    let dir = folder();
    let text = out(&run(dir.path(), &["forms", "list"]));
    assert!(
        text.lines().all(|l| l.chars().count() <= 80),
        "wider than 80 columns:\n{text}"
    );
    let json: Value =
        serde_json::from_slice(&run(dir.path(), &["forms", "list", "--json"]).stdout).unwrap();
    // The totals are those of the files, counted line by line.
    let counted: usize = wanderlead::forms::DEFAULTS
        .iter()
        .map(|(_, text)| {
            text.lines()
                .filter(|l| l.trim().starts_with("(id: "))
                .count()
        })
        .sum();
    assert_eq!(json["entries"], counted);
    assert_eq!(json["unchecked"], counted);
    let marks = json["marks"].as_array().unwrap();
    let sum: u64 = marks.iter().map(|m| m["entries"].as_u64().unwrap()).sum();
    assert_eq!(sum, counted as u64);
    let total = text.lines().find(|l| l.starts_with("all ")).unwrap();
    assert_eq!(
        total.split_whitespace().collect::<Vec<_>>(),
        ["all", &counted.to_string(), &counted.to_string()]
    );
    let one = out(&run(dir.path(), &["forms", "look", "zs/site-factor"]));
    assert!(
        one.starts_with("zs/site-factor  0.8 (factor)\n    NICEIC Connections"),
        "{one}"
    );
    let several = run(dir.path(), &["forms", "look", "ze/", "--json"]);
    let several: Value = serde_json::from_slice(&several.stdout).unwrap();
    assert_eq!(several["entries"].as_array().unwrap().len(), 3);
    assert_eq!(several["entries"][0]["mark"], "common practice");
    refused(
        dir.path(),
        &["forms", "look", "zs/site-facto0r"],
        "no entry's id is `zs/site-facto0r` or begins like it; did you mean `zs/site-factor`?",
    );
}
