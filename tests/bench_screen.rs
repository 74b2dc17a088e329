//! How quick the screen is: start to first frame, key to frame, keep to disk, memory, idling; beside a bare table drawn by
//! ratatui, beside vim and nano where they are installed, and beside a commit of SQLite. Prints, and asserts nothing of time.
//!
//! `cargo test --release --test bench_screen -- --ignored`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bench_help;
mod paper_help;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use bench_help::driver::{Driven, END, bare_table};
use chrono::DateTime;
use paper_help::hard;
use wanderlead::job::{Change, Job, Layout, Place, Reading, Readings, Test, text};
use wanderlead::store::Session;

/// Starts of each program, in turn, so that a busy machine slows all alike.
const STARTS: usize = 30;
/// Keys of each kind.
const KEYS: usize = 150;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    if args.first().is_some_and(|a| a == "bare-table") {
        bare_table();
    } else if args
        .iter()
        .any(|a| a == "--ignored" || a == "--include-ignored")
    {
        benchmark();
    } else if !args.iter().any(|a| a == "--list") {
        println!("a benchmark: prints nothing without --ignored");
    }
}

/// Sorted, with what is asked of them.
struct Times(Vec<f64>);

impl Times {
    fn at(&self, percent: usize) -> f64 {
        let mut all = self.0.clone();
        all.sort_by(f64::total_cmp);
        all[(all.len() * percent / 100).min(all.len() - 1)]
    }

    fn line(&self) -> String {
        format!(
            "median {:6.2}, 99th percentile {:6.2}, most {:6.2} ms of {}",
            self.at(50),
            self.at(99),
            self.at(100),
            self.0.len()
        )
    }
}

/// A job of so many circuits on boards of forty, measured and not yet signed.
fn job_file(folder: &Path, circuits: usize) -> PathBuf {
    let mut job: Job = hard::sample("harbour-row.ron");
    job.sign = Readings::default();
    job.signed.clear();
    job.issues.clear();
    hard::on_boards_of_forty(&mut job, circuits);
    assert!(matches!(
        job.arrays[0].layout,
        Layout::Branches(_) | Layout::Strings(_)
    ));
    let path = folder.join(format!("job-{circuits}.ron"));
    std::fs::write(&path, text::options().to_string(&job).unwrap()).unwrap();
    path
}

// As good as WANDERLEAD_CONFIG: the real settings are never read.
fn ours(job: &Path) -> Vec<String> {
    let settings = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/settings.ron");
    vec![
        env!("CARGO_BIN_EXE_wanderlead").into(),
        "--config".into(),
        settings.display().to_string(),
        job.display().to_string(),
    ]
}

fn bare() -> Vec<String> {
    let me = std::env::current_exe().unwrap();
    vec![me.display().to_string(), "bare-table".into()]
}

/// An editor on a file, where it is installed, without anybody's settings.
fn editor(name: &str, options: &[&str], file: &Path) -> Option<Vec<String>> {
    let found = Command::new(name).arg("--version").output();
    found.is_ok_and(|out| out.status.success()).then(|| {
        let mut all = vec![name.to_string()];
        all.extend(options.iter().map(|o| (*o).to_string()));
        all.push(file.display().to_string());
        all
    })
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

/// A program that is started again and again.
struct Program {
    name: &'static str,
    command: Vec<String>,
    /// Whether it marks the end of its frames.
    marked: bool,
    rounds: usize,
    times: Vec<f64>,
}

fn starts(folder: &Path) {
    let small = job_file(folder, 12);
    let large = job_file(folder, 5_000);
    let lines = folder.join("lines.txt");
    std::fs::write(&lines, "a line of some text\n".repeat(200)).unwrap();
    let program = |name: &'static str, command: Vec<String>, marked: bool, rounds: usize| Program {
        name,
        command,
        marked,
        rounds,
        times: Vec::new(),
    };
    let mut all = vec![
        program("bare table of 200 x 20", bare(), true, STARTS),
        program("12 circuits", ours(&small), true, STARTS),
        program("5,000 circuits", ours(&large), true, 5),
    ];
    for (name, options) in [
        ("vim", &["-u", "NONE"][..]),
        ("nano", &["--ignorercfiles"][..]),
    ] {
        if let Some(command) = editor(name, options, &lines) {
            all.push(program(name, command, false, STARTS));
        }
    }
    for round in 0..STARTS {
        for program in &mut all {
            if round >= program.rounds {
                continue;
            }
            let start = Instant::now();
            let mut driven = Driven::start(&program.command);
            let end = if program.marked {
                driven.frame()
            } else {
                driven.quiet()
            };
            program.times.push(ms(end - start));
            driven.end();
        }
    }
    println!("start to first frame:");
    for Program {
        name,
        marked,
        times,
        ..
    } in all
    {
        let how = if marked {
            ""
        } else {
            " (until nothing more is drawn)"
        };
        println!("  {name:24} {}{how}", Times(times).line());
    }
}

/// What is pressed, by kind: a line of the report, keys to get there, and the keys that are timed, round and round.
const KINDS: &[(&str, &[&str], &[&str])] = &[
    (
        "walk: digits, Backspace",
        &["\u{1b}OQ", "\u{1b}[B"],
        &["0", ".", "4", "2", "\u{7f}", "\u{7f}", "\u{7f}", "\u{7f}"],
    ),
    (
        "walk: Down, Up",
        &["\u{1b}OQ"],
        &["\u{1b}[B", "\u{1b}[B", "\u{1b}[A"],
    ),
    (
        "walk: PgDn, PgUp",
        &["\u{1b}OQ"],
        &["\u{1b}[6~", "\u{1b}[5~"],
    ),
    (
        "F3, F2: sheet and walk",
        &["\u{1b}OQ"],
        &["\u{1b}OR", "\u{1b}OQ"],
    ),
    (
        "sheet: Down, Right, Up",
        &["\u{1b}OR"],
        &[
            "\u{1b}[B", "\u{1b}[C", "\u{1b}[A", "\u{1b}[C", "\u{1b}[D", "\u{1b}[D",
        ],
    ),
    ("sheet: next board", &["\u{1b}OR"], &["\u{1b}[6~"]),
    (
        "F4, F2: what is left",
        &["\u{1b}OQ"],
        &["\u{1b}OS", "\u{1b}OQ"],
    ),
    (
        "left: Down, Up",
        &["\u{1b}OS"],
        &["\u{1b}[B", "\u{1b}[B", "\u{1b}[A"],
    ),
    (
        "record: Down, Up",
        &["\u{1b}[20~"],
        &["\u{1b}[B", "\u{1b}[B", "\u{1b}[A"],
    ),
    (
        "find: words",
        &["\u{1b}OQ", "\u{6}"],
        &["z", "s", " ", "4", "\u{7f}", "\u{7f}", "\u{7f}", "\u{7f}"],
    ),
];

fn keys(circuits: usize, command: &[String]) {
    let mut driven = Driven::start(command);
    driven.frame();
    println!("key to frame at {circuits} circuits:");
    let mut all = Vec::new();
    let mut without_find = Vec::new();
    for (kind, way, round) in KINDS {
        for key in *way {
            driven.press(key);
        }
        let mut times = Vec::new();
        for i in 0..KEYS {
            times.push(ms(driven.press(round[i % round.len()])));
        }
        all.extend_from_slice(&times);
        if !kind.starts_with("find") {
            without_find.extend_from_slice(&times);
        }
        println!("  {kind:24} {}", Times(times).line());
        // Whatever is typed is dropped, and what lies on top is closed.
        driven.press("\u{1b}\u{1b}");
        driven.settle();
    }
    println!("  all but find             {}", Times(without_find).line());
    println!("  all                      {}", Times(all).line());
    keeps(&mut driven);
    println!("  memory at most {:.1} MB", driven.memory_mb());
    let (ticks, switches) = driven.idle(Duration::from_secs(4));
    println!("  4 s without a key: {ticks} ticks of CPU time, {switches} times woken");
    driven.end();
}

/// Corrects readings on the sheet: from Enter to the frame that says that it is kept.
fn keeps(driven: &mut Driven) {
    // A loop is read with the inverters isolated, so that is confirmed first.
    for key in ["\u{1b}OQ", "\u{6}"] {
        driven.press(key);
    }
    for c in "inverters-off".chars() {
        driven.press(&c.to_string());
    }
    for key in ["\r", "y", "\r"] {
        driven.press(key);
    }
    // To the first circuit that takes numbers, and to the sheet of its board.
    for key in ["\u{1b}OQ", "\u{6}", "z", "s", "\r", "\u{1b}OR"] {
        driven.press(key);
    }
    let mut times = Vec::new();
    for i in 0..60 {
        for key in ["0", ".", "4", if i % 2 == 0 { "1" } else { "7" }] {
            driven.press(key);
        }
        let took = ms(driven.press("\r"));
        if driven.picture().contains("kept on disk") {
            times.push(took);
        } else {
            driven.press("\u{1b}\u{1b}");
            driven.settle();
            driven.press("\u{1b}[B");
        }
    }
    if times.is_empty() {
        println!("  nothing was kept:\n{}", driven.picture());
        return;
    }
    println!("  Enter to `kept on disk`  {}", Times(times).line());
}

/// The store alone beside SQLite through Python, in the same folder, one of each in turn.
fn disk(folder: &Path) {
    const COMMITS: usize = 200;
    let path = job_file(folder, 12);
    let mut session = Session::open(&path).unwrap();
    let job = session.job().clone();
    let place = Place::part(&job.boards[0].id, &job.boards[0].circuits[2].id, Test::R1r2);
    let at = DateTime::parse_from_rfc3339("2026-06-19T09:00:00+01:00").unwrap();
    let mut ours = Vec::new();
    for i in 0..COMMITS {
        let reading = Reading {
            typed: format!("0.{}", 40 + i % 20),
            unit: place.test.unit(),
            by: job.people[0].id.clone(),
            at,
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        };
        let change = Change::Keep {
            place: place.clone(),
            reading,
        };
        let start = Instant::now();
        session.keep(&change, at).unwrap();
        ours.push(ms(start.elapsed()));
    }
    println!("keep by the store alone      {}", Times(ours).line());
    let script = "import sqlite3, sys, time\n\
        db = sqlite3.connect(sys.argv[1], isolation_level=None)\n\
        db.execute('PRAGMA journal_mode=WAL'); db.execute('PRAGMA synchronous=FULL')\n\
        db.execute('CREATE TABLE kept (place TEXT, typed TEXT, who TEXT, at TEXT)')\n\
        for i in range(int(sys.argv[2])):\n\
        \x20   start = time.perf_counter()\n\
        \x20   db.execute('BEGIN')\n\
        \x20   db.execute('INSERT INTO kept VALUES (?, ?, ?, ?)', ('M/3/r1r2', '0.41', 'ab', '2026-06-19T09:00:00+01:00'))\n\
        \x20   db.execute('COMMIT')\n\
        \x20   print((time.perf_counter() - start) * 1e3)\n";
    let out = Command::new("python3")
        .args(["-c", script])
        .arg(folder.join("other.db"))
        .arg(COMMITS.to_string())
        .output();
    match out {
        Ok(out) if out.status.success() => {
            let said = String::from_utf8_lossy(&out.stdout);
            let times = said.lines().map(|l| l.parse().unwrap()).collect();
            println!("SQLite, WAL, synchronous=FULL {}", Times(times).line());
        }
        other => println!("SQLite wasn't measured: {other:?}"),
    }
}

fn benchmark() {
    let release = !cfg!(debug_assertions);
    println!("release build: {release}; a frame is complete at its {END:?}");
    // The current folder's disk, not a file system in memory.
    let folder = tempfile::tempdir_in(env!("CARGO_TARGET_TMPDIR")).unwrap();
    starts(folder.path());
    let mut table = Driven::start(&bare());
    table.frame();
    let times =
        (0..KEYS * 4).map(|i| ms(table.press(if i % 3 == 2 { "\u{1b}[A" } else { "\u{1b}[B" })));
    println!(
        "key to frame of the bare table: {}",
        Times(times.collect()).line()
    );
    println!("  memory at most {:.1} MB", table.memory_mb());
    table.end();
    for circuits in [12, 5_000] {
        keys(circuits, &ours(&job_file(folder.path(), circuits)));
    }
    disk(folder.path());
}
