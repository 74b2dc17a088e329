//! How long a draft takes and how much memory, beside reportlab and beside a writer that does nothing but write. Prints and
//! asserts nothing of time: that depends on the machine.
//!
//! `cargo test --release --test bench_paper -- --ignored --nocapture --test-threads 1`; for reportlab see `tests/bench/schedule.py`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bench_help;
mod paper_help;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use bench_help::{NAME, bare_bones, rows, schedule};
use paper_help::hard;
use wanderlead::forms::Forms;
use wanderlead::job::text;
use wanderlead::paper::page::Mark;
use wanderlead::paper::{draft, pdf};

/// Circuits of the jobs and rows of the schedules.
const SIZES: [usize; 3] = [12, 200, 2_000];

/// Runs of each, one of each in turn, so that a busy machine slows all alike.
const RUNS: usize = 15;

/// Which schedule a process of this benchmark draws, from which rows, and where it puts the file.
const DRAWS: &str = "BENCH_DRAWS";
const ROWS: &str = "BENCH_ROWS";
const OUT: &str = "BENCH_OUT";
/// How many rows the writer that lays nothing out puts on a page: as many as the program.
const EACH: &str = "BENCH_EACH";

/// Times of several runs in milliseconds.
#[derive(Debug, Default)]
struct Times(Vec<f64>);

impl Times {
    fn part(&self, quarter: usize) -> f64 {
        let mut sorted = self.0.clone();
        sorted.sort_by(f64::total_cmp);
        sorted[(sorted.len() - 1) * quarter / 4]
    }

    fn median(&self) -> f64 {
        self.part(2)
    }

    /// What others on the machine disturb least.
    fn least(&self) -> f64 {
        self.part(0)
    }

    /// Median, least and upper quartile.
    fn words(&self) -> String {
        format!(
            "{:8.1} ms (least {:.1}, upper quartile {:.1})",
            self.median(),
            self.least(),
            self.part(3)
        )
    }
}

fn timed<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = Instant::now();
    let made = work();
    (start.elapsed().as_secs_f64() * 1e3, made)
}

/// A job of so many circuits on boards of forty, as a file.
fn job_file(folder: &Path, circuits: usize) -> PathBuf {
    let mut job = hard::sample("harbour-row.ron");
    hard::on_boards_of_forty(&mut job, circuits);
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

/// This benchmark as a process that draws one schedule; its start costs about as much as that of any program.
fn draws(how: &str, rows: &Path, each: usize, out: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command
        .args(["--ignored", "--exact", "one_schedule"])
        .env(DRAWS, how)
        .env(ROWS, rows)
        .env(EACH, each.to_string())
        .env(OUT, out);
    command
}

fn run(command: &mut Command) -> (f64, String) {
    let (ms, output) = timed(|| command.output().expect("it starts"));
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let complaint = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {said}{complaint}");
    (ms, said + &complaint)
}

/// Largest memory of a run in MB, as `/usr/bin/time` counts it.
fn memory(command: &Command) -> String {
    let peak = || -> Option<f64> {
        let mut timer = Command::new("/usr/bin/time");
        timer.args(["-f", "%M"]).arg(command.get_program());
        timer.envs(command.get_envs().filter_map(|(k, v)| Some((k, v?))));
        let output = timer.args(command.get_args()).output().ok()?;
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        let kb: f64 = said.lines().last()?.trim().parse().ok()?;
        Some(kb / 1024.0)
    };
    peak().map_or("memory unknown".into(), |mb| format!("{mb:.0} MB"))
}

fn kb(file: &Path) -> u64 {
    std::fs::metadata(file).unwrap().len() / 1024
}

#[test]
#[ignore = "prints how long drafts take"]
fn drafts_by_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out.pdf");
    let jobs = SIZES.map(|n| (n, job_file(folder.path(), n)));
    let mut times: [Times; 3] = Default::default();
    let mut nothing = Times::default();
    for _ in 0..RUNS {
        for ((_, job), times) in jobs.iter().zip(&mut times) {
            times.0.push(run(&mut draft_by_program(job, &out)).0);
        }
        let mut version = Command::new(env!("CARGO_BIN_EXE_wanderlead"));
        nothing.0.push(run(version.arg("--version")).0);
    }
    println!("whole pack by the program, start and file included, median of {RUNS} runs:");
    let mut before: Option<(f64, f64)> = None;
    for ((n, job), times) in jobs.iter().zip(&times) {
        let mut command = draft_by_program(job, &out);
        let said = run(&mut command).1;
        let pages = said.rsplit(": ").next().unwrap_or_default();
        let pages = pages.split(',').next().unwrap_or_default();
        let (ms, many) = (times.median(), f64::from(u32::try_from(*n).unwrap()));
        let growth = before.map_or(String::new(), |(m, t)| {
            let (time, more) = (ms / t, many / m);
            format!(", {time:.1} times the time for {more:.1} times the circuits")
        });
        println!(
            "  {n:5} circuits: {}, {}, {} KB, {pages}{growth}",
            times.words(),
            memory(&command),
            kb(&out)
        );
        before = Some((many, ms));
    }
    println!("  only --version: {}", nothing.words());
}

#[test]
#[ignore = "prints how long the parts of a draft take"]
fn parts_of_a_draft() {
    let folder = tempfile::tempdir().unwrap();
    let forms = Forms::embedded().unwrap();
    for n in SIZES {
        let path = job_file(folder.path(), n);
        let words = std::fs::read_to_string(path).unwrap();
        let mut times: [Times; 4] = Default::default();
        for _ in 0..if n > 1000 { 5 } else { RUNS } {
            let (ms, _) = timed(|| Forms::embedded().unwrap());
            times[0].0.push(ms);
            let (ms, job) = timed(|| text::parse::<wanderlead::job::Job>("job", &words).unwrap());
            times[1].0.push(ms);
            let (ms, _) = timed(|| wanderlead::checks::judge_all(&job, &forms));
            times[2].0.push(ms);
            let at = chrono::DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
            let (ms, _) = timed(|| draft(&job, &forms, at).unwrap());
            times[3].0.push(ms);
        }
        let [forms, parse, judge, drafted] = times.each_ref().map(Times::median);
        println!(
            "{n} circuits: forms {forms:.1}, parse {parse:.1}, judge {judge:.1}, draft {drafted:.1} ms (judging included)"
        );
    }
}

#[test]
#[ignore = "draws a schedule for the_schedule_alone_beside_others, which starts it"]
fn one_schedule() {
    let Ok(how) = std::env::var(DRAWS) else {
        return;
    };
    let file = std::env::var_os(ROWS).expect("the rows");
    let rows: Vec<Vec<String>> =
        serde_json::from_str(&std::fs::read_to_string(file).unwrap()).unwrap();
    let each: usize = std::env::var(EACH).unwrap().parse().unwrap();
    let bytes = match how.as_str() {
        "ours" => pdf::write(&schedule(&rows).document).unwrap(),
        "bare" => bare_bones(&rows, each, true),
        "bare, not compressed" => bare_bones(&rows, each, false),
        _ => return,
    };
    std::fs::write(std::env::var_os(OUT).expect("the file"), bytes).unwrap();
}

/// The signs of a file and how many pages it has, as poppler reads it. Columns may stand too near to be told apart as words.
fn signs(file: &Path) -> (Vec<char>, usize) {
    let output = Command::new("pdftotext")
        .args(["-raw".as_ref(), file.as_os_str(), "-".as_ref()])
        .output()
        .expect("pdftotext, of poppler-utils");
    assert!(output.status.success());
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let pages = text.matches('\u{c}').count();
    // The program numbers its pages.
    let lines = text.lines().filter(|line| !line.starts_with("Page "));
    let mut signs: Vec<char> = lines
        .flat_map(str::chars)
        .filter(|c| !c.is_whitespace())
        .collect();
    signs.sort_unstable();
    (signs, pages)
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
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/schedule.py");
    for n in SIZES {
        let table = rows(n);
        let file = folder.path().join(format!("rows-{n}.json"));
        std::fs::write(&file, serde_json::to_string(&table).unwrap()).unwrap();
        let first = schedule(&table).document.pages.swap_remove(0);
        let named =
            |mark: &&Mark| matches!(mark, Mark::Text { text, .. } if text.starts_with(NAME));
        let each = first.marks.iter().filter(named).count();
        let out = |name: &str| folder.path().join(format!("{name}.pdf"));
        let mut drawn: Vec<(&str, Command)> = ["ours", "bare", "bare, not compressed", "nothing"]
            .map(|how| (how, draws(how, &file, each, &out(how))))
            .into();
        for how in ["plain", "wrap"] {
            let Some(python) = &python else { continue };
            let mut command = Command::new(python);
            command.args([&script, &file, &fonts, &out(how)]).arg(how);
            drawn.push((how, command));
        }
        let mut times: Vec<Times> = drawn.iter().map(|_| Times::default()).collect();
        // Inside one process: laying out, all of ours, and the bare writer.
        let mut inside: [Times; 3] = Default::default();
        for _ in 0..if n > 1000 { 5 } else { RUNS } {
            for ((_, command), times) in drawn.iter_mut().zip(&mut times) {
                times.0.push(run(command).0);
            }
            let (laid, document) = timed(|| schedule(&table));
            let (written, _) = timed(|| pdf::write(&document.document).unwrap());
            inside[0].0.push(laid);
            inside[1].0.push(laid + written);
            inside[2].0.push(timed(|| bare_bones(&table, each, true)).0);
        }
        println!(
            "schedule of {n} rows × {} columns, each drawn by a process of its own, start included:",
            table[0].len()
        );
        let (ours, pages) = signs(&out("ours"));
        for ((how, command), times_of) in drawn.iter().zip(&times) {
            let beside = times_of.median() / times[0].median();
            let about = if *how == "nothing" {
                String::new()
            } else {
                let (theirs, paged) = signs(&out(how));
                // The head stands on each page, so that only equal pages have equal text.
                let same = match theirs == ours {
                    true => "the same text",
                    false if paged == pages => "OTHER TEXT",
                    false => "another number of heads",
                };
                format!(", {paged} pages, {same}, {} KB", kb(&out(how)))
            };
            println!(
                "  {how:20} {}: {beside:5.2} times ours; {}{about}",
                times_of.words(),
                memory(command)
            );
        }
        let [laid, ours, bare] = inside.each_ref().map(Times::median);
        println!(
            "  without the start: ours {ours:.2} ms ({laid:.2} of it layout), bare {bare:.2}: ours takes {:.2} times that",
            ours / bare
        );
    }
}
