//! The README: its screens are the snapshots, its table of keys is the program's, its commands print what it says.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;

use assert_cmd::Command;
use common::{read, root};
use wanderlead::screen::keys::{KEYS, When};

/// Sets nothing, so that the settings of whoever runs this don't count.
const SETTINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/settings.ron");

/// A snapshot of a test file without its head.
fn snapshot(test: &str, name: &str) -> String {
    let text = read(&root().join(format!("tests/snapshots/{test}__{name}.snap")));
    let body = text.splitn(3, "---\n").nth(2).unwrap();
    format!("{}\n", body.trim_end())
}

fn where_words(when: When) -> &'static str {
    match when {
        When::Walk => "walk",
        When::Sheet => "sheet",
        When::EmptyNumber => "number, nothing typed",
        When::EmptyReading => "reading, nothing typed",
        When::Left => "left to do",
        When::Record => "record",
        When::Form => "a part of the record",
        When::Map => "map of an array",
        When::Bring => "readings of a file",
        When::Why => "why, learn",
        When::Found => "found on opening",
        When::History => "history",
        When::Help => "keys",
        When::Choice => "a list of choices",
        When::Begin => "the list of jobs",
        When::EmptyCell => "cell of the sheet, nothing typed",
        When::Find => "finding",
        When::Always => "everywhere",
    }
}

fn key_table() -> String {
    let mut out = String::from("| where | key | does |\n|---|---|---|\n");
    for key in KEYS {
        out.push_str(&format!(
            "| {} | {} | {} |\n",
            where_words(key.when),
            key.shown,
            key.says
        ));
    }
    out
}

/// The README with every generated part as it should be.
fn wanted(readme: &str) -> String {
    let mut out = String::new();
    let mut lines = readme.lines().peekable();
    while let Some(line) = lines.next() {
        out.push_str(line);
        out.push('\n');
        if let Some((test, name)) = line
            .strip_prefix("<!-- ")
            .and_then(|l| l.strip_suffix(" -->"))
            .and_then(|l| l.split_once(": "))
        {
            assert_eq!(lines.next(), Some("```text"), "after {line}");
            while lines.peek().is_some_and(|l| *l != "```") {
                lines.next();
            }
            out.push_str(&format!("```text\n{}", snapshot(test, name)));
        } else if line == "<!-- keys -->" {
            while lines
                .peek()
                .is_some_and(|l| l.starts_with('|') || l.is_empty())
            {
                lines.next();
            }
            out.push_str(&format!("\n{}\n", key_table()));
        }
    }
    out
}

#[test]
fn screens_and_keys_are_the_programs() {
    let path = root().join("README.md");
    let readme = read(&path);
    let wanted = wanted(&readme);
    if std::env::var_os("README_UPDATE").is_some() {
        std::fs::write(&path, &wanted).unwrap();
    }
    assert!(
        readme == wanted || std::env::var_os("README_UPDATE").is_some(),
        "README.md is behind: run README_UPDATE=1 cargo test --test readme"
    );
}

fn copy_samples(to: &Path) {
    let folder = to.join("sample-jobs");
    std::fs::create_dir(&folder).unwrap();
    for entry in std::fs::read_dir(root().join("sample-jobs")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "ron" || e == "csv") {
            std::fs::copy(&path, folder.join(path.file_name().unwrap())).unwrap();
        }
    }
}

/// Every command of the README runs, and each line shown below it is printed, in that order.
#[test]
fn commands_print_what_the_readme_says() {
    let readme = read(&root().join("README.md"));
    let dir = tempfile::tempdir().unwrap();
    copy_samples(dir.path());
    let mut tried = 0;
    for block in readme.split("```console\n").skip(1) {
        let block = block.split("```").next().unwrap();
        for example in block.split("$ wanderlead ").skip(1) {
            let mut lines = example.lines();
            let args: Vec<&str> = lines.next().unwrap().split_whitespace().collect();
            let output = Command::cargo_bin("wanderlead")
                .unwrap()
                .args(&args)
                .current_dir(dir.path())
                .env_remove("WANDERLEAD_FORMS")
                .env("WANDERLEAD_CONFIG", SETTINGS)
                .output()
                .unwrap();
            let printed = format!(
                "{}{}",
                String::from_utf8_lossy(&output.stdout),
                String::from_utf8_lossy(&output.stderr)
            );
            let mut rest = printed.lines();
            for line in lines.filter(|l| !l.is_empty()) {
                assert!(
                    rest.any(|p| p.trim_end() == line),
                    "{args:?} doesn't print {line:?} there:\n{printed}"
                );
            }
            tried += 1;
        }
    }
    assert!(tried >= 7, "{tried}");
}
