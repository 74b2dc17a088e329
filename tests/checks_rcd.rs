//! RCD times, and the type of an RCD with an inverter behind it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::forms::Mark;
use wanderlead::job::{CircuitKind, RcdType};

/// Published: table of a NICEIC article on RCD operating times; half: Basic Electrical Installation Work, page 370.
#[test]
fn times() {
    let mut job = tn();
    for (selective, place, limit_text, rows) in [
        (
            false,
            "rcd-time",
            "≤ 300",
            &[
                ("299", Within),
                ("300", Within),
                ("301", Outside),
                (">300", Outside),
                (">200", Query),
                ("0", Query),
                ("<5", Query),
            ][..],
        ),
        (
            false,
            "rcd-5x",
            "≤ 40",
            &[
                ("40", Within),
                ("40.1", Outside),
                (">500", Outside),
                ("0", Query),
                ("<5", Query),
            ],
        ),
        (
            true,
            "rcd-time",
            "130 to 500",
            &[
                ("129", Outside),
                ("130", Within),
                ("500", Within),
                ("501", Outside),
                (">2000", Outside),
                ("0", Outside),
                ("<130", Outside),
            ],
        ),
        (
            true,
            "rcd-5x",
            "50 to 150",
            &[
                ("49", Outside),
                ("50", Within),
                ("150", Within),
                ("151", Outside),
            ],
        ),
        (
            false,
            "rcd-half",
            "≥ 2000",
            &[
                ("148", Outside),
                ("1999", Outside),
                ("2000", Within),
                (">2000", Within),
                (">1000", Query),
                ("0", Outside),
            ],
        ),
    ] {
        let mut protector = rcd("30");
        protector.selective = selective;
        circuit(&mut job, "M/3").rcd = Some(protector.clone());
        job.boards[0].rcd = Some(protector);
        for owner in ["M/3", "M"] {
            let place = format!("{owner}/{place}");
            assert_eq!(limit(&job, &place), limit_text, "{place} {selective}");
            table(&job, &place, rows);
            table(
                &job,
                &place,
                &[
                    ("lim: feeds a server", Excused),
                    ("n/a: none", Excused),
                    ("..", Query),
                ],
            );
            assert_eq!(at(&job, &place).verdict, Open);
        }
    }
    no_rcds(&mut job);
    table(&job, "M/3/rcd-time", &[("20", Query)]);
}

/// Memory: 712.531.3.5.1. Published: 531.3.3 in IET Wiring Matters, July 2022.
#[test]
fn type_with_an_inverter_behind_it() {
    let mut job = tn();
    for (kind, declaration, verdict, mark) in [
        (RcdType::AC, "", Outside, Mark::Published),
        (RcdType::AC, "maker's letter 12", Outside, Mark::Published),
        (RcdType::A, "", Query, Mark::Memory),
        (RcdType::A, "  ", Query, Mark::Memory),
        (RcdType::A, "maker's letter 12", Within, Mark::Memory),
        (RcdType::F, "", Query, Mark::Memory),
        (RcdType::F, "maker's letter 12", Within, Mark::Memory),
        (RcdType::B, "", Within, Mark::Memory),
    ] {
        let mut protector = rcd("30");
        protector.kind = kind;
        protector.declaration = declaration.into();
        circuit(&mut job, "M/1").rcd = Some(protector.clone());
        job.boards[0].rcd = Some(protector);
        for place in ["M/1/rcd-type", "M/rcd-type"] {
            let finding = at(&job, place);
            assert_eq!(
                (finding.verdict, finding.mark),
                (verdict, Some(mark)),
                "{place} {kind:?} {declaration}"
            );
            assert_eq!(finding.value.as_deref(), Some(kind.letters()));
        }
    }
}

/// Nothing is asked of an RCD that no inverter is behind; one that feeds a board with inverters is asked.
#[test]
fn type_only_where_an_inverter_is_behind_it() {
    let mut job = tt();
    let place = |p: &str| p.parse().unwrap();
    let shown = |job: &wanderlead::job::Job, p: &str| {
        wanderlead::checks::Judge::new(job, forms())
            .place(&place(p))
            .is_some()
    };
    assert!(shown(&job, "M/1/rcd-type") && shown(&job, "M/rcd-type"));
    assert!(!shown(&job, "M/3/rcd-type"));
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    sub.rcd = None;
    circuit(&mut job, "M/1").kind = CircuitKind::Fixed;
    assert!(!shown(&job, "M/rcd-type"));
    circuit(&mut job, "M/4").kind = CircuitKind::Distribution;
    job.boards.push(sub);
    assert!(
        shown(&job, "M/4/rcd-type") && shown(&job, "M/rcd-type") && shown(&job, "S/1/rcd-type")
    );
    assert!(!shown(&job, "S/rcd-type"));
}
