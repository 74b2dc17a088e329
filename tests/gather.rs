//! The list of a firm's jobs: one line each, also for what can't be used.
//!
//! `cargo test --release --test gather -- --ignored --nocapture` measures 10,000 jobs.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;
use std::time::Instant;

use common::{CLEAN, FAULTY, HALF_DONE, root};

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
fn all_complete_exits_with_0_and_no_folder_with_2() {
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(gather(folder.path(), "text"), (String::new(), 0));
    copy(CLEAN, folder.path(), "x.ron");
    assert_eq!(gather(folder.path(), "text").1, 0);
    let (said, code) = gather(&folder.path().join("absent"), "text");
    assert!(code == 2 && said.contains("no folder"), "{said}");
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
    let start = Instant::now();
    let (text, _) = gather(folder.path(), "csv");
    assert_eq!(text.lines().count(), 10_001);
    println!("10,000 jobs in {:.1} s", start.elapsed().as_secs_f64());
}
