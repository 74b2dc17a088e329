//! The list of a firm's jobs: one line each, also for what can't be used.
//!
//! `cargo test --release --test gather -- --ignored --nocapture` measures 10,000 jobs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;
use std::time::Instant;

use common::{CLEAN, FAULTY, HALF_DONE, root};
use wanderlead::job::SCHEMA;

fn gather(folder: &Path, as_: &str) -> (String, i32) {
    let out = common::program()
        .args(["gather", folder.to_str().unwrap(), "--as", as_])
        .output()
        .unwrap();
    let text = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
    (text, out.status.code().unwrap())
}

fn copy(sample: &str, folder: &Path, name: &str) {
    std::fs::copy(root().join("sample-jobs").join(sample), folder.join(name)).unwrap();
}

#[test]
fn each_job_has_its_line_and_a_broken_one_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    copy(CLEAN, dir, "b.ron");
    copy(HALF_DONE, dir, "c.ron");
    copy(FAULTY, dir, "a.ron");
    std::fs::write(dir.join("d.ron"), "(schema: 1, reference: 7").unwrap();
    std::fs::write(dir.join("notes.txt"), "no job").unwrap();
    let (text, code) = gather(dir, "text");
    assert_eq!(code, 1);
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(lines.len(), 4, "{text}");
    // The planted faults of the sample: 19 outside and 2 open, as its head says.
    assert!(
        lines[0].starts_with("a.ron: MY-2026-094, in work; 19 outside, 2 open"),
        "{text}"
    );
    assert!(
        lines[1].contains("complete, not issued; 0 outside, 0 open"),
        "{text}"
    );
    assert!(lines[1].ends_with("next inspection 2036-06-17"), "{text}");
    assert!(lines[3].starts_with("d.ron: can't be used: "), "{text}");
}

#[test]
fn csv_and_json_say_the_same() {
    let folder = tempfile::tempdir().unwrap();
    copy(CLEAN, folder.path(), "x.ron");
    copy(HALF_DONE, folder.path(), "y.ron");
    let (text, _) = gather(folder.path(), "csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headings: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    let (text, _) = gather(folder.path(), "json");
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!((rows.len(), json["schema"].as_i64()), (2, Some(1)));
    for (row, object) in rows.iter().zip(json["rows"].as_array().unwrap()) {
        for (heading, cell) in headings.iter().zip(row) {
            match cell {
                "" => assert!(object[heading].is_null()),
                cell => assert_eq!(object[heading], cell, "{heading}"),
            }
        }
    }
    let readme = common::read(&root().join("README.md"));
    for heading in headings {
        assert!(readme.contains(&format!("`{heading}`")), "{heading}");
    }
}

#[test]
fn all_complete_exits_with_0_and_nothing_to_list_with_2() {
    let folder = tempfile::tempdir().unwrap();
    // A mistyped name of a folder that is there must not read as if every job were complete.
    std::fs::copy(root().join("forms/rcd.ron"), folder.path().join("rcd.ron")).unwrap();
    for as_ in ["text", "csv", "json"] {
        let (said, code) = gather(folder.path(), as_);
        let begins = format!("{}: no job file in it; check", folder.path().display());
        assert!(code == 2 && said.starts_with(&begins), "{said}");
    }
    copy(CLEAN, folder.path(), "x.ron");
    assert_eq!(gather(folder.path(), "text").1, 0);
    let (said, code) = gather(&folder.path().join("absent"), "text");
    assert!(code == 2 && said.contains("no folder; give"), "{said}");
}

/// What a damaged job has lost says nothing of what it was: every file is listed that isn't known to be something else.
#[test]
fn a_damaged_job_is_never_left_out() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    let sound = common::read(&root().join("sample-jobs").join(CLEAN));
    let write = |name: &str, text: &str| std::fs::write(dir.join(name), text).unwrap();
    let mut wanted = Vec::new();
    let mut damaged = |name: String, text: &str| {
        write(&name, text);
        wanted.push(name);
    };
    damaged(
        "a-misspelt.ron".into(),
        &sound.replacen("schema", "shema", 1),
    );
    // Without its beginning, from any place on.
    for part in 1..10 {
        let at = sound.floor_char_boundary(sound.len() / 10 * part);
        damaged(format!("b-begins-{part}.ron"), &sound[at..]);
    }
    damaged("c-empty.ron".into(), "()");
    damaged("c-words.ron".into(), "nothing of a job");
    // A line of it that is the beginning of a mapping.
    damaged("d-mixed.ron".into(), &format!("decimal: {}", &sound[400..]));
    let (text, code) = gather(dir, "csv");
    assert_eq!(code, 1);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let found: Vec<&str> = rows.iter().map(|row| &row[0]).collect();
    assert_eq!(found, wanted);
    for row in &rows {
        assert!(row[4].is_empty() && row[11].starts_with(&row[0]), "{row:?}");
    }
    assert!(rows[0][11].contains("shema"), "{:?}", rows[0]);
    // Without a command the same files are named.
    let out = common::program().current_dir(dir).output().unwrap();
    let said = String::from_utf8(out.stderr).unwrap();
    for name in wanted {
        assert!(said.lines().any(|l| l.starts_with(&name)), "{name}: {said}");
    }
    assert!(
        said.starts_with("a-misspelt.ron, line 4, column 5, field shema: "),
        "{said}"
    );
}

/// The other files of this program are no jobs, as it writes them.
#[test]
fn other_files_of_the_program_are_no_jobs() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    let run = |args: &[&str]| {
        let mut program = common::program();
        program.env_remove("WANDERLEAD_CONFIG").current_dir(dir);
        program.args(args).assert().success();
    };
    run(&["forms", "copy", "."]);
    run(&["bring", "--write-mapping", "mapping.ron"]);
    run(&["--config", "settings.ron", "settings", "--write"]);
    std::fs::write(dir.join("own.ron"), "(colours: Dark)").unwrap();
    // Still being written.
    let mapping = common::read(&dir.join("mapping.ron"));
    std::fs::write(dir.join("torn.ron"), &mapping[..mapping.len() - 40]).unwrap();
    let files = std::fs::read_dir(dir).unwrap().count();
    let (said, code) = gather(dir, "text");
    assert!(files > 18 && code == 2, "{files}: {said}");
    // One that has a journal was a job.
    std::fs::write(dir.join("own.ron.journal"), "").unwrap();
    let (said, code) = gather(dir, "text");
    assert_eq!((said.lines().count(), code), (1, 1), "{said}");
}

/// Names of files steer no terminal and make no lines, whatever is printed.
#[cfg(unix)]
#[test]
fn a_name_steers_no_terminal_and_forges_no_line() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    let names = [
        "a\u{1b}[2J.ron",
        "b\nx.ron: X-1, issue 1.ron",
        "c\u{9b}31m\u{202e}.ron",
    ];
    for name in names {
        copy(CLEAN, dir, name);
        std::fs::write(dir.join(format!("z{name}")), "(").unwrap();
    }
    let plain = |text: &str, lines: usize| {
        let steers = |c: char| c != '\n' && (c.is_control() || c == '\u{202e}');
        assert!(!text.contains(steers), "{text:?}");
        assert_eq!(text.lines().count(), lines, "{text:?}");
    };
    plain(&gather(dir, "text").0, 6);
    plain(&gather(dir, "csv").0, 7);
    let (json, _) = gather(dir, "json");
    assert!(!json.contains(['\u{1b}', '\u{9b}', '\u{202e}']), "{json:?}");
    let read: serde_json::Value = serde_json::from_str(&json).unwrap();
    let files = read["rows"].as_array().unwrap();
    for (row, name) in files.iter().zip(names) {
        assert_eq!(row["file"], name);
    }
    let out = common::program().current_dir(dir).output().unwrap();
    plain(&String::from_utf8(out.stdout).unwrap(), 3);
    let said = String::from_utf8(out.stderr).unwrap();
    plain(&said, 3);
    assert!(
        said.lines().all(|l| l.contains(".ron, line 1, column 1: ")),
        "{said}"
    );
}

/// `trouble` calls a file as the first column does, however the folder is named.
#[test]
fn trouble_calls_a_file_by_its_name() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    let sound = common::read(&root().join("sample-jobs").join(CLEAN));
    std::fs::write(dir.join("bad.ron"), "(schema: 1").unwrap();
    let newer = sound.replacen(&format!("schema: {SCHEMA}"), "schema: 99", 1);
    std::fs::write(dir.join("newer.ron"), newer).unwrap();
    std::fs::write(dir.join("torn.ron"), &sound).unwrap();
    std::fs::write(dir.join("torn.ron.journal"), "\0\0\n").unwrap();
    for named in [".", "./", dir.to_str().unwrap()] {
        let mut program = common::program();
        program
            .current_dir(dir)
            .args(["gather", named, "--as", "csv"]);
        let out = program.output().unwrap();
        let mut reader = csv::Reader::from_reader(&*out.stdout);
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), 3);
        for row in rows {
            assert!(row[11].starts_with(&row[0]), "{named}: {row:?}");
        }
    }
    let out = common::program().current_dir(dir).output().unwrap();
    let said = String::from_utf8(out.stderr).unwrap();
    assert!(said.starts_with("bad.ron, line 1"), "{said}");
}

/// What lies about in a firm's folder: each is a line, or no job; none keeps the others from being listed.
#[cfg(unix)]
#[test]
fn nothing_among_them_stops_the_rest() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    copy(CLEAN, dir, "a-sound.ron");
    copy(HALF_DONE, dir, "z-sound.RON");
    let sound = common::read(&dir.join("a-sound.ron"));
    let write = |name: &str, bytes: &[u8]| std::fs::write(dir.join(name), bytes).unwrap();
    write("b-cut.ron", &sound.as_bytes()[..sound.len() / 2]);
    write("c-blank.ron", b"");
    write("d-zeros.ron", &[0; 5000]);
    write("e-bytes.ron", &[0xff, 0xfe, b'(', 0, 0x80]);
    let head = format!("schema: {SCHEMA}");
    let newer = sound.replacen(&head, "schema: 99", 1);
    assert_ne!(newer, sound);
    write("f-newer.ron", newer.as_bytes());
    write("g-overwritten.ron", b"something else");
    write(
        "g-overwritten.ron.journal",
        b"wanderlead journal 1 after 0 -\n",
    );
    let deep = sound.replacen(&head, &format!("schema: {}1", "(".repeat(90_000)), 1);
    write("h-deep.ron", deep.as_bytes());
    let long = std::fs::File::create(dir.join("i-long.ron")).unwrap();
    long.set_len(65 * 1024 * 1024).unwrap();
    symlink("j-loop.ron", dir.join("j-loop.ron")).unwrap();
    symlink("absent.ron", dir.join("k-nowhere.ron")).unwrap();
    copy(FAULTY, dir, "l-journal.ron");
    write("l-journal.ron.journal", b"\0\0\0\n\0");
    // No jobs: folders, also linked to themselves, form files, other files.
    std::fs::create_dir(dir.join("m-folder.ron")).unwrap();
    symlink(".", dir.join("n-this.ron")).unwrap();
    std::fs::copy(root().join("forms/rcd.ron"), dir.join("rcd.ron")).unwrap();
    write("notes.txt", b"schema");

    let (text, code) = gather(dir, "csv");
    assert_eq!(code, 1);
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let found: Vec<(&str, &str, &str)> = rows
        .iter()
        .map(|row| (&row[0], &row[4], &row[11]))
        .collect();
    let wanted = [
        ("a-sound.ron", "complete, not issued", ""),
        ("b-cut.ron", "", "line "),
        ("c-blank.ron", "", "the file is empty"),
        ("d-zeros.ron", "", "line 1"),
        ("e-bytes.ron", "", "this is not UTF-8 text"),
        (
            "f-newer.ron",
            "record not whole",
            "version 99 is newer than this program",
        ),
        ("g-overwritten.ron", "", "line 1"),
        ("h-deep.ron", "", "field schema: Expected integer"),
        ("i-long.ron", "", "larger than 64 MB"),
        ("j-loop.ron", "", "j-loop.ron: "),
        ("k-nowhere.ron", "", "there is no such file"),
        ("l-journal.ron", "record not whole", "its first line"),
        ("z-sound.RON", "in work", ""),
    ];
    assert_eq!(found.len(), wanted.len(), "{text}");
    for ((name, state, trouble), (want, in_state, says)) in found.iter().zip(wanted) {
        assert_eq!((*name, *state), (want, in_state), "{text}");
        assert!(trouble.contains(says), "{name}: {trouble}");
        assert_eq!(trouble.is_empty(), says.is_empty(), "{name}: {trouble}");
    }
    let (json, _) = gather(dir, "json");
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["rows"].as_array().unwrap().len(), wanted.len());
    let (text, _) = gather(dir, "text");
    assert_eq!(text.lines().count(), wanted.len(), "{text}");
}

/// Savings that were cut off: said once they can't be in use any more, and never taken for jobs or removed.
#[test]
fn what_savings_left_behind_is_said_and_stays() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path();
    copy(CLEAN, dir, "a.ron");
    let two_days = std::time::Duration::from_secs(48 * 60 * 60);
    let old = std::time::SystemTime::now() - two_days;
    let left = |name: &str, at| {
        let file = std::fs::File::create(dir.join(name)).unwrap();
        file.set_modified(at).unwrap();
    };
    left(".saving-Ab3dE9.tmp", std::time::SystemTime::now());
    for others in [
        ".saving-.tmp",
        ".saving-my-own.tmp",
        "saving-Ab3dE9.tmp",
        ".saving-Ab3dE9.ron.tmp",
    ] {
        left(others, old);
    }
    let (said, code) = gather(dir, "text");
    assert_eq!((said.lines().count(), code), (1, 0), "{said}");
    left(".saving-Xy1zW2.tmp", old);
    let (said, code) = gather(dir, "text");
    assert!(
        code == 0 && said.contains(".saving-Xy1zW2.tmp is left of a saving"),
        "{said}"
    );
    left(".saving-Xy1zW3.tmp", old);
    let said = gather(dir, "json").0;
    assert!(
        said.contains("2 files such as .saving-Xy1zW2.tmp are left"),
        "{said}"
    );
    assert_eq!(std::fs::read_dir(dir).unwrap().count(), 8);
}

#[test]
#[ignore = "a benchmark"]
fn ten_thousand_jobs() {
    let folder = tempfile::tempdir().unwrap();
    for i in 0..10_000 {
        copy(
            [CLEAN, HALF_DONE, FAULTY][i % 3],
            folder.path(),
            &format!("{i:05}.ron"),
        );
    }
    // The shell's own clock and the system's count of pages, so that what the test itself holds isn't in it.
    let program = env!("CARGO_BIN_EXE_wanderlead");
    for run in 0..3 {
        let start = Instant::now();
        let child = std::process::Command::new(program)
            .args(["gather", folder.path().to_str().unwrap(), "--as", "csv"])
            .env_remove("WANDERLEAD_FORMS")
            .env("WANDERLEAD_CONFIG", common::no_settings())
            .stdout(std::fs::File::create(folder.path().join("out.csv")).unwrap())
            .spawn()
            .unwrap();
        let status = format!("/proc/{}/status", child.id());
        let peak = std::thread::spawn(move || {
            let mut peak = String::new();
            // The last look before it ends has nearly all of it: the lines are held until then.
            while let Ok(now) = std::fs::read_to_string(&status) {
                let Some(line) = now.lines().find_map(|l| l.strip_prefix("VmHWM:")) else {
                    break;
                };
                peak = line.trim().to_string();
                std::thread::sleep(std::time::Duration::from_millis(5));
            }
            peak
        });
        let mut child = child;
        assert_eq!(child.wait().unwrap().code(), Some(1));
        let took = start.elapsed().as_secs_f64();
        let text = common::read(&folder.path().join("out.csv"));
        assert_eq!(text.lines().count(), 10_001);
        println!(
            "run {run}: 10,000 jobs in {took:.1} s, peak {}",
            peak.join().unwrap()
        );
    }
}
