//! The real program in a pty: the half-done sample is finished by typing, the PDF is drafted from the screen, and the
//! readings, their limits and verdicts are found in its text.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod pty_help;

use std::process::Command;
use std::time::{Duration, Instant};

use common::{Did, Screen, root};
use pty_help::Terminal;
use wanderlead::checks::Verdict;
use wanderlead::screen::View;
use wanderlead::store::read_job;

fn run(program: &str, args: &[&str]) -> String {
    let out = Command::new(program)
        .args(args)
        .env("WANDERLEAD_CONFIG", common::no_settings())
        .output()
        .unwrap_or_else(|e| panic!("{program}: {e}; it comes with poppler-utils or qpdf"));
    assert!(
        out.status.success(),
        "{program}: {}",
        String::from_utf8_lossy(&out.stderr)
    );
    String::from_utf8_lossy(&out.stdout).into_owned()
}

/// Whether a reading stands in the text with its limit and its verdict right behind it.
fn stands_beside(text: &str, value: &str, limit: &str) -> bool {
    text.match_indices(value).any(|(at, _)| {
        let whole = text[..at]
            .chars()
            .next_back()
            .is_none_or(char::is_whitespace);
        let behind: String = text[at + value.len()..]
            .chars()
            .take(limit.chars().count() + 30)
            .collect();
        whole
            && behind.starts_with(char::is_whitespace)
            && behind.contains(limit)
            && (behind.contains("= within")
                || (limit == "no limit" && behind.contains("= recorded")))
    })
}

#[test]
fn a_visit_from_the_half_done_sample_to_the_pdf() {
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join("orchard-cottage.ron");
    std::fs::copy(root().join("sample-jobs/orchard-cottage.ron"), &job).unwrap();

    // A second screen in memory says what a sound installation would read at each step.
    let mut shadow = Screen::open("orchard-cottage.ron", 80, 24);
    let mut terminal = Terminal::open(&job);
    let mut typed = Vec::new();
    let mut countersigned = 0;
    while shadow.sitting.state.view == View::Walk {
        let place = shadow.sitting.state.focus().unwrap();
        terminal.wait_for(&format!("── {place} ──"));
        let (number, did) = common::take_step(&mut shadow, &place);
        if let Some(number) = &number {
            terminal.send("\x1b[17~"); // F6
            terminal.wait_for("who is entering?");
            terminal.send(&format!("{number}\r"));
            terminal.wait_for("now entering");
        }
        let value = match did {
            Did::Kept(value) => value,
            Did::Countersigned => {
                terminal.send("c");
                terminal.wait_for(&format!("countersigned on disk: {place}"));
                countersigned += 1;
                continue;
            }
            Did::Went => {
                terminal.wait_for("wait for a countersign");
                terminal.send("\x0f"); // Ctrl-O
                continue;
            }
        };
        terminal.send(&value);
        terminal.wait_for(&value);
        terminal.send("\r");
        terminal.wait_for(&format!("kept on disk: {place}"));
        // What the screen called kept is on the disk now, while the program is still running.
        let entry = read_job(&job).unwrap().job.entry(&place).cloned();
        assert_eq!(
            entry
                .unwrap_or_else(|| panic!("{place} is not on the disk"))
                .now
                .typed,
            value
        );
        typed.push((place, value));
        assert!(typed.len() < 200);
    }
    assert!(typed.len() >= 40, "{}", typed.len());
    assert!(countersigned >= 30, "{countersigned}");
    terminal.wait_for("Nothing blocks the certificate");

    terminal.send("\x1b[15~"); // F5
    terminal.wait_for("issue the paper?");
    terminal.send("\r"); // only draft it
    terminal.wait_for("complete, names entered");
    terminal.send("\x1b[21~"); // F10
    let status = terminal.child.wait().unwrap();
    assert!(status.success());

    let pdf = job.with_extension("pdf");
    run("qpdf", &["--check", pdf.to_str().unwrap()]);
    let text = run("pdftotext", &["-raw", pdf.to_str().unwrap(), "-"]);
    let flat = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut numbers = 0;
    for (place, value) in &typed {
        let finding = shadow.sitting.state.finding(place).unwrap();
        assert_eq!(finding.verdict, Verdict::Within);
        if value.chars().any(|c| c.is_ascii_digit()) && !place.test.is_signature() {
            numbers += 1;
            let limit = finding.limit.clone().unwrap_or_else(|| "no limit".into());
            assert!(
                stands_beside(&flat, value, &limit),
                "{place}: {value} beside {limit} isn't in the PDF"
            );
        }
    }
    assert!(numbers >= 20, "{numbers}");
    assert!(flat.contains("within"));
    assert!(
        !flat.contains("not signed"),
        "complete and signed, and still marked as a draft"
    );

    // The same paper from the command line.
    let again = dir.path().join("again.pdf");
    run(
        env!("CARGO_BIN_EXE_wanderlead"),
        &[
            "draft",
            job.to_str().unwrap(),
            "--out",
            again.to_str().unwrap(),
        ],
    );
    assert!(std::fs::metadata(&again).unwrap().len() > 10_000);
    run(
        env!("CARGO_BIN_EXE_wanderlead"),
        &["check", job.to_str().unwrap()],
    );
}

/// The system ends the program in the middle of the work: what was kept is there, the job is free, the terminal is given
/// back.
#[test]
fn ended_by_the_system_nothing_kept_is_lost() {
    for signal in ["TERM", "HUP"] {
        let dir = tempfile::tempdir().unwrap();
        let job = dir.path().join("orchard-cottage.ron");
        std::fs::copy(root().join("sample-jobs/orchard-cottage.ron"), &job).unwrap();
        let mut shadow = Screen::open("orchard-cottage.ron", 80, 24);
        let place = shadow.sitting.state.focus().unwrap();
        let mut terminal = Terminal::open(&job);
        terminal.wait_for(&format!("── {place} ──"));
        let (_, Did::Kept(value)) = common::take_step(&mut shadow, &place) else {
            panic!("{place} is not a reading to take");
        };
        terminal.send(&format!("{value}\r"));
        terminal.wait_for(&format!("kept on disk: {place}"));
        terminal.send("12");
        terminal.wait_for("[12");
        let id = terminal.child.process_id().unwrap().to_string();
        run("kill", &[&format!("-{signal}"), &id]);
        let start = Instant::now();
        while terminal.child.try_wait().unwrap().is_none() {
            assert!(
                start.elapsed() < Duration::from_secs(20),
                "still running after {signal}"
            );
            std::thread::sleep(Duration::from_millis(5));
        }
        let opened = wanderlead::store::Session::open(&job).unwrap();
        assert_eq!(opened.job().entry(&place).unwrap().now.typed, value);
        assert!(
            opened.notes().is_empty(),
            "saved before the end: {:?}",
            opened.notes()
        );
        assert!(
            !terminal.parser.lock().unwrap().screen().alternate_screen(),
            "{signal}"
        );
    }
}
