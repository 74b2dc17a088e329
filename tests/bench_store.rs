//! How long it takes to keep a reading in a large job, beside a bare write and sync of the same length and beside a copy of the job;
//! and how large its history makes it. Prints and asserts nothing about time: that depends on the machine.
//!
//! `cargo test --release --test bench_store -- --ignored --nocapture`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::io::Write;
use std::time::{Duration, Instant};

use common::{CLEAN, later, sample};
use wanderlead::job::{Change, Job, Place, Reading, Test};
use wanderlead::store::{Session, read_job};

/// The clean sample with `n` circuits on boards of fifty.
fn large(n: usize) -> Job {
    let mut job = sample(CLEAN);
    let pattern = job.boards[0].clone();
    for b in 0..n / 50 {
        let mut board = pattern.clone();
        board.id = format!("b{b}");
        board.circuits.clear();
        for i in 0..50 {
            let mut circuit = pattern.circuits[1 + i % 6].clone();
            circuit.id = format!("{}", i + 1);
            board.circuits.push(circuit);
        }
        job.boards.push(board);
    }
    job
}

fn keep(place: Place, typed: String) -> Change {
    Change::Keep {
        reading: Reading {
            typed,
            unit: place.test.unit(),
            by: "mk".into(),
            at: later(),
            instrument: Some("mft".into()),
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

fn told(what: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |part: usize| times[times.len() * part / 100];
    println!(
        "  {what}: least {:.2?}, median {:.2?}, 99 % {:.2?}",
        times[0],
        at(50),
        at(99)
    );
}

#[test]
#[ignore = "a benchmark"]
fn keeping_in_a_large_job() {
    for n in [0, 5_000] {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("a.ron");
        let job = large(n);
        std::fs::write(&path, ron::to_string(&job).unwrap()).unwrap();
        let mut session = Session::open(&path).unwrap();
        println!("{} circuits", n + 7);
        let (mut kept, mut copied, mut bare, mut copied_as) =
            (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let mut file = std::fs::File::create(dir.path().join("bare")).unwrap();
        let line = [b'x'; 230];
        // The first begins the history.
        session
            .keep(
                &keep(Place::part("M", "3", Test::Zs), "0.5".into()),
                later(),
            )
            .unwrap();
        for i in 0..400 {
            let place = Place::part("M", &format!("{}", 2 + i % 6), Test::Zs);
            let change = keep(place, format!("{}.{i}", i % 9));
            let start = Instant::now();
            session.keep(&change, later()).unwrap();
            kept.push(start.elapsed());
            let start = Instant::now();
            file.write_all(&line).unwrap();
            file.sync_all().unwrap();
            bare.push(start.elapsed());
            if i % 40 == 0 {
                let start = Instant::now();
                let copy = session.job().clone();
                copied.push(start.elapsed());
                let mut copy = copy;
                let start = Instant::now();
                let (_, restore) = copy.apply_for_now(&change).unwrap();
                copy.restore(restore);
                copied_as.push(start.elapsed());
            }
        }
        told("a reading kept, synced", kept);
        told("a bare line written and synced", bare);
        told("the change made in memory and taken back", copied_as);
        told("a copy of the job, which each keep used to make", copied);
    }
}

#[test]
#[ignore = "a benchmark"]
fn the_history_of_a_large_job() {
    let dir = tempfile::tempdir().unwrap();
    let mut job = large(5_000);
    let places: Vec<(Place, String)> = job
        .seats()
        .iter()
        .flat_map(|s| {
            let each = s.readings.iter();
            each.map(|(t, e)| (s.place(t), e.now.typed.clone()))
                .collect::<Vec<_>>()
        })
        .filter(|(p, _)| !p.test.is_signature())
        .collect();
    let before = ron::to_string(&job).unwrap().len();
    for (place, typed) in places {
        // What safety hangs on may refuse; the rest is enough to measure.
        let _ = job.apply(&keep(place, typed));
    }
    let start = Instant::now();
    assert_eq!(job.history.broken(), None);
    let checked = start.elapsed();
    let text = ron::to_string(&job).unwrap();
    let path = dir.path().join("a.ron");
    std::fs::write(&path, &text).unwrap();
    let start = Instant::now();
    let again = read_job(&path).unwrap();
    println!(
        "{} deeds: job {before} bytes, with every reading corrected once and the history {} bytes; chain checked in {checked:.1?}, \
         read in {:.1?}",
        again.job.history.len(),
        text.len(),
        start.elapsed()
    );
}
