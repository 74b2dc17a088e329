//! How long a check of a large job takes, by circuit. Prints and asserts nothing: timings depend on the machine.
//!
//! `cargo test --release --test bench_checks -- --ignored --nocapture`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use std::time::Instant;

use checks_help::*;
use wanderlead::checks::judge_all;
use wanderlead::job::{Board, CircuitKind, InverterKind, Job, Layout, PvString, Test};

/// How boards hang on each other.
#[derive(Debug, Clone, Copy)]
enum Shape {
    /// One board of all circuits.
    One,
    /// Boards of ten, each fed from the one before.
    Chain,
    /// Boards of ten, each feeding three.
    Tree,
    /// Boards of ten, all at the origin.
    Flat,
}

/// A board of `n` circuits with their readings; the last way but three to the last feed other boards.
fn board(job: &mut Job, pattern: &Board, id: usize, n: usize, fed_from: String) -> Board {
    let mut board = pattern.clone();
    board.id = format!("b{id}");
    board.fed_from = fed_from;
    board.circuits.clear();
    for i in 0..n {
        let mut c = pattern.circuits[1 + i % 6].clone();
        c.id = format!("{}", i + 1);
        if i % 10 == 3 {
            c.kind = CircuitKind::Source;
        }
        if n == 10 && i >= 7 {
            c.kind = CircuitKind::Distribution;
            c.rcd = None;
        }
        let scatter = (id * 31 + i * 17) % 97;
        for (test, text) in [
            (Test::R1r2, format!("0.{:02}", 40 + scatter % 9)),
            (Test::Polarity, "pass".into()),
            (Test::IrLl, ">999".into()),
            (Test::IrLe, format!("{}", 400 + scatter)),
            (Test::Zs, format!("37.{}", scatter % 9)),
            (
                Test::RcdTime,
                format!("{}.{}", 20 + scatter % 9, scatter % 10),
            ),
            (
                Test::RcdFive,
                format!("{}.{}", 10 + scatter % 9, scatter % 10),
            ),
        ] {
            c.readings.keep(test, reading(job, test, &text, "12:00"));
        }
        board.circuits.push(c);
    }
    let one = reading(job, Test::Zdb, "37.3", "12:00");
    board.readings.keep(Test::Zdb, one);
    let ir = reading(job, Test::IrLe, "150", "12:00");
    board.readings.keep(Test::IrLe, ir);
    board
}

fn job_of(shape: Shape, circuits: usize) -> Job {
    let mut job = tt();
    put(
        &mut job,
        &[
            ("supply/ze", "38.4"),
            ("supply/ra", "38.6"),
            ("supply/pfc-ln", "0.9"),
        ],
    );
    let pattern = job.boards[0].clone();
    job.boards.clear();
    let each = if matches!(shape, Shape::One) {
        circuits
    } else {
        10
    };
    for id in 0..circuits / each {
        let fed_from = match (shape, id) {
            (Shape::One | Shape::Flat, _) | (_, 0) => String::new(),
            (Shape::Chain, _) => format!("b{}/8", id - 1),
            (Shape::Tree, _) => format!("b{}/{}", (id - 1) / 3, 8 + (id - 1) % 3),
        };
        let made = board(&mut job, &pattern, id, each, fed_from);
        job.boards.push(made);
    }
    // One inverter for each source circuit, and a string for each.
    let inverter = job.inverters[0].clone();
    let sources: Vec<String> = job
        .boards
        .iter()
        .flat_map(|b| b.circuits.iter().map(move |c| (b, c)))
        .filter(|(_, c)| c.kind == CircuitKind::Source)
        .map(|(b, c)| format!("{}/{}", b.id, c.id))
        .collect();
    job.inverters.clear();
    for (i, circuit) in sources.iter().enumerate() {
        let mut one = inverter.clone();
        one.id = format!("i{i}");
        one.kind = InverterKind::String;
        one.circuit = circuit.clone();
        job.inverters.push(one);
    }
    let texts = [
        (Test::CellTemp, "44.6"),
        (Test::Irradiance, "818"),
        (Test::Voc, "364.5"),
        (Test::Isc, "11.38"),
    ];
    let all: Vec<_> = texts
        .iter()
        .map(|(test, text)| (*test, reading(&job, *test, text, "13:00")))
        .collect();
    if let Layout::Strings(strings) = &mut job.arrays[0].layout {
        let pattern = strings[0].clone();
        *strings = (0..sources.len())
            .map(|i| {
                let mut one = PvString {
                    id: format!("s{i}"),
                    ..pattern.clone()
                };
                for (test, entry) in &all {
                    one.readings.keep(*test, entry.clone());
                }
                one
            })
            .collect();
    }
    job
}

#[test]
#[ignore = "prints how long checks of large jobs take"]
fn time_by_circuit() {
    for shape in [Shape::One, Shape::Flat, Shape::Chain, Shape::Tree] {
        for circuits in [1_000, 2_500, 5_000, 10_000] {
            let job = job_of(shape, circuits);
            let start = Instant::now();
            let findings = judge_all(&job, forms());
            let took = start.elapsed();
            println!(
                "{shape:?} {circuits:6} circuits, {:7} findings: {:8.1} ms, {:6.1} µs a circuit",
                findings.len(),
                took.as_secs_f64() * 1e3,
                took.as_secs_f64() * 1e6 / circuits as f64
            );
        }
    }
}
