//! How long a draft takes and how much memory, beside reportlab and beside a writer that does nothing but write. Prints and
//! asserts nothing of time: that depends on the machine.
//!
//! `cargo test --release --test bench_paper -- --ignored --nocapture`; for reportlab see `tests/bench/schedule.py`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bench_help;
mod paper_help;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use bench_help::{bare_bones, rows, schedule};
use paper_help::hard;
use wanderlead::forms::Forms;
use wanderlead::job::text;
use wanderlead::paper::{draft, pdf};

/// Runs of each, one of each in turn, so that a busy machine slows all alike.
const RUNS: usize = 15;

/// Median and quartiles in milliseconds.
fn spread(times: &mut [f64]) -> (f64, f64, f64) {
    times.sort_by(f64::total_cmp);
    let at = |part: usize| times[(times.len() - 1) * part / 4];
    (at(2), at(1), at(3))
}

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = Instant::now();
    let made = work();
    (start.elapsed().as_secs_f64() * 1e3, made)
}

/// A job of so many circuits on boards of forty, as a file.
fn job_file(folder: &Path, circuits: usize) -> PathBuf {
    let mut job = hard::sample("harbour-row.ron");
    let first = circuits.min(40);
    hard::widen(&mut job, 0, first);
    let mut pattern = job.boards[0].clone();
    pattern
        .circuits
        .retain(|c| c.id.parse::<usize>().is_ok_and(|n| n > 2));
    let mut left = circuits - first;
    while left > 0 {
        let mut board = pattern.clone();
        board.id = format!("D{}", job.boards.len());
        board.name = format!("board {}", job.boards.len());
        board.circuits.truncate(left);
        while board.circuits.len() < left.min(40) {
            let mut more = board.circuits[0].clone();
            more.id = format!("{}", 100 + board.circuits.len());
            board.circuits.push(more);
        }
        left -= board.circuits.len();
        job.boards.push(board);
    }
    let count: usize = job.boards.iter().map(|b| b.circuits.len()).sum();
    assert_eq!(count, circuits);
    let path = folder.join(format!("job-{circuits}.ron"));
    std::fs::write(&path, text::options().to_string(&job).unwrap()).unwrap();
    path
}

fn draft_by_program(job: &Path, out: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wanderlead"));
    // As good as WANDERLEAD_CONFIG: the real settings are never read.
    command
        .arg("--config")
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/settings.ron"))
        .arg("draft")
        .arg(job)
        .arg("--out")
        .arg(out);
    command
}

fn run(command: &mut Command) -> (f64, String) {
    let (ms, output) = timed(|| command.output().expect("it starts"));
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {said}{complaint}");
    (ms, said)
}

/// Largest memory of a run in MB, as `/usr/bin/time` counts it.
fn memory(command: &Command) -> Option<f64> {
    let mut timer = Command::new("/usr/bin/time");
    timer.args(["-f", "%M"]).arg(command.get_program());
    let output = timer.args(command.get_args()).output().ok()?;
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    let kb: f64 = said.lines().last()?.trim().parse().ok()?;
    Some(kb / 1024.0)
}

#[test]
#[ignore = "prints how long drafts take"]
fn drafts_by_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.pdf");
    let jobs = [12, 200, 2_000].map(|n| (n, job_file(folder.path(), n)));
    let mut times: [Vec<f64>; 3] = Default::default();
    let mut nothing = Vec::new();
    for _ in 0..RUNS {
        for ((_, job), times) in jobs.iter().zip(&mut times) {
            times.push(run(&mut draft_by_program(job, &out)).0);
        }
        nothing.push(run(Command::new(env!("CARGO_BIN_EXE_wanderlead")).arg("--version")).0);
    }
    println!(
        "whole pack by the program, start and file included, {RUNS} runs (median, quartiles):"
    );
    let mut before: Option<(f64, f64)> = None;
    for ((n, job), times) in jobs.iter().zip(&mut times) {
        let (ms, low, high) = spread(times);
        let mut command = draft_by_program(job, &out);
        let mb = memory(&command).map_or("?".into(), |mb| format!("{mb:.1} MB"));
        let said = run(&mut command).1;
        let pages = said
            .split(": ")
            .last()
            .unwrap_or_default()
            .trim()
            .to_string();
        let size = std::fs::metadata(&out).unwrap().len() / 1024;
        let n = f64::from(u32::try_from(*n).unwrap());
        let growth = before.map_or(String::new(), |(m, t)| {
            format!(
                ", {:.1} times the time for {:.1} times the circuits",
                ms / t,
                n / m
            )
        });
        println!(
            "  {n:5} circuits: {ms:8.1} ms ({low:.1} to {high:.1}), {mb}, {size} KB, {pages}{growth}"
        );
        before = Some((n, ms));
    }
    println!("  only --version: {:.1} ms", spread(&mut nothing).0);
}

#[test]
#[ignore = "prints how long the parts of a draft take"]
fn parts_of_a_draft() {
    let folder = tempfile::tempdir().unwrap();
    let forms = Forms::embedded().unwrap();
    for n in [12, 200, 2_000] {
        let path = job_file(folder.path(), n);
        let words = std::fs::read_to_string(path).unwrap();
        let mut times: [Vec<f64>; 4] = Default::default();
        for _ in 0..if n > 1000 { 3 } else { RUNS } {
            let (ms, _) = timed(|| Forms::embedded().unwrap());
            times[0].push(ms);
            let (ms, job) = timed(|| text::parse::<wanderlead::job::Job>("job", &words).unwrap());
            times[1].push(ms);
            let (ms, _) = timed(|| wanderlead::checks::judge_all(&job, &forms));
            times[2].push(ms);
            let at = chrono::DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
            let (ms, _) = timed(|| draft(&job, &forms, at).unwrap());
            times[3].push(ms);
        }
        let [forms, parse, judge, drafted] = times.each_mut().map(|t| spread(t).0);
        println!(
            "{n} circuits: forms {forms:.1}, parse {parse:.1}, judge {judge:.1}, draft {drafted:.1} ms (judging included)"
        );
    }
}

#[test]
#[ignore = "prints how long a schedule takes beside others"]
fn the_schedule_alone_beside_others() {
    let folder = tempfile::tempdir().unwrap();
    let python = std::env::var("BENCH_PYTHON").ok();
    if python.is_none() {
        println!("BENCH_PYTHON names no Python with reportlab: without it");
    }
    let fonts = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/paper/fonts");
    for n in [12, 200, 2_000] {
        let table = rows(n);
        let file = folder.path().join(format!("rows-{n}.json"));
        std::fs::write(&file, serde_json::to_string(&table).unwrap()).unwrap();
        let out = folder.path().join("other.pdf");
        let mut ours = Vec::new();
        let mut laid_out = Vec::new();
        let mut bare = Vec::new();
        let mut whole = Vec::new();
        let mut others: [(Vec<f64>, Vec<f64>); 2] = Default::default();
        let runs = if n > 1000 { 5 } else { RUNS };
        let (mut pages, mut theirs) = (0, ["0".to_string(), "0".to_string()]);
        for _ in 0..runs {
            let (ms, laid) = timed(|| schedule(&table));
            laid_out.push(ms);
            pages = laid.document.pages.len();
            let (write, bytes) = timed(|| pdf::write(&laid.document).unwrap());
            ours.push(ms + write);
            std::fs::write(folder.path().join("ours.pdf"), &bytes).unwrap();
            let (ms, bytes) = timed(|| bare_bones(&table, pages));
            bare.push(ms);
            std::fs::write(folder.path().join("bare.pdf"), &bytes).unwrap();
            if let Some(python) = &python {
                for (at, how) in ["plain", "wrap"].into_iter().enumerate() {
                    let mut command = Command::new(python);
                    command
                        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/schedule.py"))
                        .args([file.as_os_str(), fonts.as_os_str(), out.as_os_str()])
                        .arg(how);
                    let (total, said) = run(&mut command);
                    let (inside, paged) = said.trim().split_once(' ').expect("two figures");
                    others[at].0.push(total);
                    others[at].1.push(inside.parse().unwrap());
                    theirs[at] = paged.to_string();
                }
                let job = job_file(folder.path(), n);
                whole.push(run(&mut draft_by_program(&job, &out)).0);
            }
        }
        let (ms, bare) = (spread(&mut ours).0, spread(&mut bare).0);
        println!(
            "schedule of {n} rows × {} columns, {runs} runs, medians:",
            table[0].len()
        );
        println!(
            "  ours {ms:.2} ms ({:.2} of it layout), {pages} pages, {} KB",
            spread(&mut laid_out).0,
            std::fs::metadata(folder.path().join("ours.pdf"))
                .unwrap()
                .len()
                / 1024
        );
        println!(
            "  bare bones {bare:.2} ms, {} KB: ours takes {:.1} times that",
            std::fs::metadata(folder.path().join("bare.pdf"))
                .unwrap()
                .len()
                / 1024,
            ms / bare
        );
        if python.is_some() {
            let whole = spread(&mut whole).0;
            for (at, how) in ["one line a cell", "cells wrapped"].into_iter().enumerate() {
                let (total, inside) = (spread(&mut others[at].0).0, spread(&mut others[at].1).0);
                println!(
                    "  reportlab, {how}: {inside:.1} ms, {} pages: {:.1} times ours; with the start of Python {total:.1} ms, {:.1} times our \
                     whole pack ({whole:.1} ms, start included)",
                    theirs[at],
                    inside / ms,
                    total / whole
                );
            }
        }
    }
}
