//! RCD times, and the type of an RCD with an inverter behind it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::forms::Mark;
use wanderlead::job::{CircuitKind, Rcd, RcdType};

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

/// Memory: BS 7671 regulation 411.3.3: socket-outlets up to 32 A behind an RCD of at most 30 mA that isn't time-delayed.
#[test]
fn additional_protection_of_sockets() {
    const PLACE: &str = "M/3/additional-protection";
    let sockets = |own: Option<(&str, RcdType, bool)>, ahead: Option<(&str, RcdType, bool)>| {
        let mut job = tn();
        let made = |(idn, kind, selective): (&str, RcdType, bool)| Rcd {
            kind,
            selective,
            ..rcd(idn)
        };
        circuit(&mut job, "M/3").kind = CircuitKind::Sockets;
        circuit(&mut job, "M/3").rcd = own.map(made);
        job.boards[0].rcd = ahead.map(made);
        job
    };
    let good = Some(("30", RcdType::A, false));
    for (own, ahead, verdict) in [
        (None, None, Outside),
        (good, None, Within),
        (None, good, Within),
        (Some(("10", RcdType::F, false)), None, Within),
        (Some(("31", RcdType::A, false)), None, Outside),
        (None, Some(("100", RcdType::A, false)), Outside),
        (Some(("30", RcdType::A, true)), None, Outside),
        (Some(("100", RcdType::A, true)), good, Within),
        (Some(("30", RcdType::AC, false)), None, Query),
        (Some(("30", RcdType::AC, false)), good, Within),
        (Some(("300", RcdType::AC, false)), None, Outside),
    ] {
        let finding = at(&sockets(own, ahead), PLACE);
        assert_eq!(
            finding.verdict, verdict,
            "{own:?} {ahead:?}: {}",
            finding.why
        );
        assert_eq!(finding.mark, Some(Mark::Memory));
    }
    let shown = |job: &wanderlead::job::Job| {
        wanderlead::checks::Judge::new(job, forms())
            .place(&PLACE.parse().unwrap())
            .is_some()
    };
    let mut job = sockets(None, None);
    circuit(&mut job, "M/3").device = Some(device("B32"));
    assert!(shown(&job));
    circuit(&mut job, "M/3").device = Some(device("B40"));
    assert!(!shown(&job), "above 32 A");
    circuit(&mut job, "M/3").device = None;
    assert!(shown(&job), "nothing shows that it is above 32 A");
    circuit(&mut job, "M/3").extra_low_voltage = true;
    assert!(!shown(&job));
    let mut job = sockets(None, None);
    circuit(&mut job, "M/3").kind = CircuitKind::Fixed;
    assert!(!shown(&job));
    // At the board that feeds this one, or on the circuit to it.
    let mut job = sockets(None, None);
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    job.boards.push(sub);
    assert_eq!(at(&job, "S/3/additional-protection").verdict, Outside);
    circuit(&mut job, "M/4").rcd = Some(rcd("30"));
    assert_eq!(at(&job, "S/3/additional-protection").verdict, Within);
}

/// Memory: 200 ms at IΔn and 40 ms at five times it for RCDs made to BS 4293 and BS 7288.
#[test]
fn an_rcd_to_an_old_standard_has_the_times_of_that() {
    for standard in ["BS 4293", "BS4293:1983", "bs 7288"] {
        let mut job = tt();
        let own = circuit(&mut job, "M/2");
        own.rcd = Some(Rcd {
            standard: standard.into(),
            ..rcd("30")
        });
        table(
            &job,
            "M/2/rcd-time",
            &[("200", Within), ("200.1", Outside), ("290", Outside)],
        );
        table(&job, "M/2/rcd-5x", &[("40", Within), ("40.1", Outside)]);
        assert_eq!(at(&job, "M/2/rcd-time").basis[0].id, "rcd/old/1x/max");
    }
    let mut job = tt();
    circuit(&mut job, "M/2").rcd = Some(rcd("30"));
    table(&job, "M/2/rcd-time", &[("290", Within)]);
}

/// Physics: more residual current makes no RCD slower; where in the wave a test begins moves a time by half a wave, 10 ms.
#[test]
fn five_times_is_not_slower_than_once() {
    let mut job = tt();
    table(&job, "M/3/rcd-5x", &[("36.2", Within)]);
    put(&mut job, &[("M/3/rcd-time", "25.5")]);
    for (five, want) in [
        ("9.8", Within),
        ("25.5", Within),
        ("35.5", Within),
        ("35.6", Query),
    ] {
        let found = typed(&job, "M/3/rcd-5x", five);
        assert_eq!(found.verdict, want, "{five}: {}", found.why);
        assert_eq!(found.why.contains("25.5 ms at IΔn"), want == Query);
    }
    // Past its own limit that counts; a limitation is no number.
    table(&job, "M/3/rcd-5x", &[("40.1", Outside)]);
    put(&mut job, &[("M/3/rcd-time", "lim: supply failed")]);
    table(&job, "M/3/rcd-5x", &[("36.2", Within)]);
}
