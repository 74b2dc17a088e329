//! The certificate as the tools of the trade see it, over the sample jobs and one built to be hard.

#![allow(clippy::expect_used, clippy::unwrap_used)]

use std::path::PathBuf;
use std::process::Command;

use chrono::{DateTime, FixedOffset};
use wanderlead::forms::Forms;
use wanderlead::job::{Job, text};
use wanderlead::paper::{Drafted, draft};

fn created() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").expect("a time")
}

fn forms() -> Forms {
    Forms::embedded().expect("the defaults")
}

/// Every sample job, by file name.
fn samples() -> Vec<(String, Job)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("sample-jobs");
    let mut out: Vec<(String, Job)> = std::fs::read_dir(folder)
        .expect("the sample jobs")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "ron"))
        .map(|p| {
            let name = p
                .file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            let text = std::fs::read_to_string(&p).expect("a text");
            let job = text::parse(&name, &text).unwrap_or_else(|e| panic!("{name}: {e}"));
            (name, job)
        })
        .collect();
    out.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(out.len() >= 3, "{} sample jobs", out.len());
    out
}

fn drafted(job: &Job) -> Drafted {
    draft(job, &forms(), created()).expect("a PDF")
}

/// Writes the papers for a person to look at:
/// `PAPER_FOLDER=/some/folder cargo test --test paper_content -- --ignored`
#[test]
#[ignore = "writes files to look at"]
fn papers_to_look_at() {
    let folder = PathBuf::from(std::env::var("PAPER_FOLDER").expect("PAPER_FOLDER names a folder"));
    for (name, job) in samples() {
        let paper = drafted(&job);
        println!("{name}: {} pages, {} bytes", paper.pages, paper.bytes.len());
        assert!(paper.pages > 3, "{name}");
        std::fs::write(folder.join(format!("{name}.pdf")), paper.bytes).expect("a file");
    }
}
