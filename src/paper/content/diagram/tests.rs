//! What is drawn is legible: no text touches another, a line or an edge, whatever the job.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

use super::super::canvas::overlaps;
use super::super::sheet::Sheet;
use super::blocks;
use crate::forms::Forms;
use crate::job::{
    Board, Circuit, CircuitKind, InverterKind, Job, Layout, Lines, Phases, text::parse,
};
use crate::paper::flow::{Block, Drawing};
use crate::paper::page::Mark;

pub(in crate::paper::content) fn sample(name: &str) -> Job {
    let text = match name {
        "harbour-row" => include_str!("../../../../sample-jobs/harbour-row.ron"),
        "mill-yard" => include_str!("../../../../sample-jobs/mill-yard.ron"),
        _ => include_str!("../../../../sample-jobs/orchard-cottage.ron"),
    };
    parse(name, text).unwrap()
}

pub(in crate::paper::content) fn drawings(blocks: &[Block]) -> Vec<&Drawing> {
    let mut out = Vec::new();
    for block in blocks {
        match block {
            Block::Drawing(d) => out.push(d),
            Block::Together(more) | Block::WithNext(more) | Block::WithLast(more) => {
                out.extend(drawings(more))
            }
            _ => {}
        }
    }
    out
}

pub(in crate::paper::content) fn texts(drawings: &[&Drawing]) -> String {
    let mut out = String::new();
    for mark in drawings.iter().flat_map(|d| &d.marks) {
        if let Mark::Text { text, .. } = mark {
            out.push_str(text);
            out.push(' ');
        }
    }
    out
}

/// Every text of the diagram, after each sheet was looked at for what touches what.
fn legible(job: &Job, called: &str) -> String {
    let forms = Forms::embedded().unwrap();
    let sheet = Sheet::new(job, &forms);
    let blocks = blocks(&sheet);
    let all = drawings(&blocks);
    for (at, d) in all.iter().enumerate() {
        assert_eq!(
            overlaps(d),
            Vec::<String>::new(),
            "{called}, sheet {}",
            at + 1
        );
    }
    let anchors: Vec<String> = blocks
        .iter()
        .filter_map(|b| match b {
            Block::Heading(h) => h.anchor.clone(),
            _ => None,
        })
        .chain(job.boards.iter().map(|b| format!("board-{}", b.id)))
        .collect();
    for (_, to) in all.iter().flat_map(|d| &d.links) {
        assert!(anchors.contains(to), "{called}: {to}");
    }
    texts(&all)
}

#[test]
fn samples_are_legible_and_whole() {
    for name in ["harbour-row", "mill-yard", "orchard-cottage"] {
        let job = sample(name);
        let text = legible(&job, name);
        for b in &job.boards {
            assert!(
                text.contains(&format!("{}  {}", b.id, b.name)),
                "{name}: {}",
                b.id
            );
        }
        for v in &job.inverters {
            if v.kind != InverterKind::Micro {
                assert!(
                    text.contains(&format!("{} {}", v.id, v.kind.name())),
                    "{name}: {}",
                    v.id
                );
            }
        }
        for a in &job.arrays {
            let ids: Vec<&String> = match &a.layout {
                Layout::Strings(s) => s.iter().map(|s| &s.id).collect(),
                Layout::Branches(b) => b.iter().map(|b| &b.id).collect(),
            };
            for id in ids {
                assert!(text.contains(&format!("{}/{id} ", a.id)), "{name}: {id}");
            }
        }
    }
}

const LONG: &str = "Wörkshöp-and-outbuildings at the far end of the yard WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW";

fn way(id: &str, kind: CircuitKind, of: &Job) -> Circuit {
    let mut c = of.boards[0].circuits[0].clone();
    c.id = id.into();
    c.kind = kind;
    c.name = format!("way {id}");
    c
}

/// Boards in a chain or a fan, each with a sub-main, a load and a source.
fn job(boards: usize, chain: bool, three: bool, long: bool) -> Job {
    let mut job = sample(if three { "mill-yard" } else { "harbour-row" });
    let board = job.boards[0].clone();
    let phases = if three { Phases::Three } else { Phases::Single };
    let mut all: Vec<Board> = Vec::new();
    for n in 0..boards {
        let mut b = board.clone();
        b.id = format!("B{n}");
        b.name = if long {
            LONG.into()
        } else {
            format!("board {n}")
        };
        if long {
            b.main_switch = LONG.repeat(5);
            b.location = LONG.into();
        }
        b.phases = phases;
        b.fed_from = match (n, chain) {
            (0, _) => String::new(),
            (_, true) => format!("B{}/9", n - 1),
            (_, false) => format!("B0/{}", 10 + n),
        };
        b.circuits = vec![
            way("1", CircuitKind::Sockets, &job),
            way("2", CircuitKind::Lighting, &job),
        ];
        let feeds = if chain {
            9..10
        } else if n == 0 {
            11..10 + boards
        } else {
            0..0
        };
        for at in feeds {
            b.circuits
                .push(way(&at.to_string(), CircuitKind::Distribution, &job));
        }
        if long {
            for c in &mut b.circuits {
                c.name = LONG.into();
            }
        }
        all.push(b);
    }
    job.boards = all;
    job
}

/// Puts an inverter with that many strings of some modules on a new way of the last board.
fn add_inverter(job: &mut Job, n: usize, strings: usize, modules: usize, long: bool) {
    let mut c = way(&format!("s{n}"), CircuitKind::Source, job);
    let last = job.boards.len() - 1;
    let path = format!("{}/{}", job.boards[last].id, c.id);
    if long {
        c.name = LONG.into();
    }
    if job.boards[last].phases == Phases::Three {
        c.lines = Lines::All;
    }
    job.boards[last].circuits.push(c);
    let mut v = sample("harbour-row").inverters[0].clone();
    v.id = format!("inv{n}");
    v.circuit = path;
    v.kind = InverterKind::Hybrid;
    let mut a = sample("harbour-row").arrays[0].clone();
    a.id = format!("A{n}");
    a.inverter = v.id.clone();
    if long {
        v.make = LONG.into();
        v.ac_isolator = LONG.repeat(3);
        v.dc_isolator = LONG.repeat(3);
    }
    if let Layout::Strings(list) = &mut a.layout {
        let mut s = list[0].clone();
        list.clear();
        s.modules = vec!["EM-1".into(); modules];
        if long {
            s.name = LONG.into();
        }
        for k in 0..strings {
            s.id = format!("S{k}");
            list.push(s.clone());
        }
    }
    job.inverters.push(v);
    job.arrays.push(a);
}

fn add_branches(job: &mut Job, sizes: &[usize], long: bool) {
    let pattern = sample("orchard-cottage");
    let mut a = pattern.arrays[0].clone();
    job.inverters.extend(
        pattern
            .inverters
            .iter()
            .filter(|v| v.kind == InverterKind::Micro)
            .cloned(),
    );
    let last = job.boards.len() - 1;
    if let Layout::Branches(list) = &mut a.layout {
        let mut b = list[0].clone();
        list.clear();
        for (n, size) in sizes.iter().enumerate() {
            let mut c = way(&format!("m{n}"), CircuitKind::Source, job);
            c.device = None;
            b.circuit = format!("{}/{}", job.boards[last].id, c.id);
            if long {
                c.name = LONG.into();
                b.name = LONG.into();
            }
            job.boards[last].circuits.push(c);
            b.id = format!("B{n}");
            b.units = vec![b.units[0].clone(); *size];
            list.push(b.clone());
        }
    }
    job.arrays = vec![a];
}

#[test]
fn made_up_jobs_are_legible() {
    for boards in 1..=6 {
        for chain in [true, false] {
            for three in [true, false] {
                for long in [true, false] {
                    let mut job = job(boards, chain, three, long);
                    job.inverters.clear();
                    job.arrays.clear();
                    job.storage.clear();
                    for n in 0..=boards % 3 {
                        add_inverter(&mut job, n, n * 7 + 1, 40 / (n + 1), long);
                    }
                    if boards % 2 == 0 {
                        let mut e = sample("orchard-cottage").storage[0].clone();
                        e.inverter = "inv0".into();
                        if long {
                            e.make = LONG.into();
                        }
                        job.storage = vec![e];
                    }
                    let called =
                        format!("{boards} boards, chain {chain}, three {three}, long {long}");
                    let text = legible(&job, &called);
                    for n in 0..boards {
                        assert!(text.contains(&format!("B{n}  ")), "{called}: B{n}");
                    }
                    for v in &job.inverters {
                        assert!(
                            text.contains(&format!("{} hybrid inverter", v.id)),
                            "{called}: {}",
                            v.id
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn branches_of_one_to_forty_modules_are_legible() {
    for sizes in [&[1][..], &[40], &[8, 8, 8, 8, 8], &[1; 12]] {
        for long in [true, false] {
            let mut job = job(1, true, false, long);
            job.inverters.clear();
            add_branches(&mut job, sizes, long);
            let text = legible(&job, &format!("{sizes:?}"));
            for n in 0..sizes.len() {
                assert!(text.contains(&format!("P/B{n} ")), "{n}");
            }
        }
    }
}

#[test]
fn what_is_not_recorded_is_said_and_not_drawn() {
    let mut job = sample("mill-yard");
    job.inverters[0].dc_isolator.clear();
    job.inverters[1].circuit = "Z/9".into();
    job.grid.meter_number.clear();
    job.boards[1].fed_from = "Q/1".into();
    let forms = Forms::embedded().unwrap();
    let blocks = blocks(&Sheet::new(&job, &forms));
    let last = format!("{:?}", blocks.last());
    for lacking in [
        "d.c. isolator of inv1",
        "where inverter inv2 is connected",
        "supply number",
    ] {
        assert_eq!(last.matches(lacking).count(), 1, "{lacking}: {last}");
    }
    let text = texts(&drawings(&blocks));
    assert!(!text.contains("d.c. isolator:"), "{text}");
    assert!(text.contains("Q/1"), "{text}");
    assert!(!text.contains("inv2"), "{text}");
}

#[test]
fn sixty_loads_are_one_line_and_boards_in_a_circle_are_still_drawn() {
    let mut job = job(2, true, false, false);
    for n in 0..58 {
        let c = way(&format!("x{n}"), CircuitKind::Sockets, &job);
        job.boards[0].circuits.push(c);
    }
    job.boards[0].fed_from = "B1/9".into();
    let text = legible(&job, "circle");
    assert!(text.contains("60 loads"), "{text}");
    assert!(text.contains("B0  ") && text.contains("B1  "), "{text}");
}

/// Lines that run down just before the strings: where strings are drawn in parallel.
fn joins(job: &Job) -> usize {
    let forms = Forms::embedded().unwrap();
    let blocks = blocks(&Sheet::new(job, &forms));
    let down = |m: &&Mark| {
        matches!(m, Mark::Line { from, to, .. }
            if (from.0 - 217.0).abs() < 0.01 && (to.0 - 217.0).abs() < 0.01)
    };
    let all = drawings(&blocks);
    all.iter().flat_map(|d| &d.marks).filter(down).count()
}

#[test]
fn only_strings_of_one_input_are_drawn_in_parallel() {
    let mut job = sample("mill-yard");
    assert_eq!(joins(&job), 0, "two inputs");
    for (input, wanted) in [("1", 1), ("", 0)] {
        if let Layout::Strings(list) = &mut job.arrays[0].layout {
            for s in list {
                s.input = input.into();
            }
        }
        assert_eq!(joins(&job), wanted, "{input:?}");
        legible(&job, input);
    }
}

#[test]
fn a_backup_output_shows_its_link_once_it_was_tried() {
    let mut job = sample("orchard-cottage");
    let text = legible(&job, "before");
    assert!(
        text.contains("backup output") && !text.contains("N-E link"),
        "{text}"
    );
    let mut entry = job.safe.iter().next().unwrap().1.clone();
    entry.now.typed = "pass".into();
    job.storage[0]
        .readings
        .put(crate::job::Test::NeGrid, Some(entry));
    let text = legible(&job, "after");
    assert!(text.contains("N-E link open on grid: pass"), "{text}");
    assert!(
        text.contains("N-E link closed islanded: not yet taken"),
        "{text}"
    );
}
