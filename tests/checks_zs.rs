//! Zs by device, earthing and kind of circuit: limit and verdict, just under, at and over it, and where there is none.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::forms::Mark;
use wanderlead::job::{CircuitKind, Earthing, Function};

const ZS: &str = "M/3/zs";

fn with(short: &str, kind: CircuitKind) -> wanderlead::job::Job {
    let mut job = tn();
    let c = circuit(&mut job, "M/3");
    c.device = Some(device(short));
    c.kind = kind;
    job
}

/// Memory: BS 7671 Tables 41.2 to 41.4 and regulation 411.3.2; published: 32 A BS 88-3 gives 0.72 Ω (NICEIC Connections,
/// Spring 2015, page 61). Derived: 0.8 of the table, rounded down; B45, B13 and C13 by 0.95 × 230 / Ia.
#[test]
fn tn_without_an_rcd_by_device_and_kind() {
    use CircuitKind::{Distribution, Fixed, Lighting, Sockets};
    for (device, kind, limit_text, under, over, mark) in [
        ("B32", Sockets, "≤ 1.09", "1.08", "1.10", Mark::Memory),
        ("C16", Fixed, "≤ 1.09", "1.08", "1.10", Mark::Memory),
        ("D10", Fixed, "≤ 0.87", "0.86", "0.88", Mark::Memory),
        ("B6", Lighting, "≤ 5.82", "5.81", "5.83", Mark::Memory),
        ("B45", Sockets, "≤ 0.77", "0.76", "0.78", Mark::Derived),
        ("B13", Fixed, "≤ 2.68", "2.67", "2.69", Mark::Derived),
        ("C13", Distribution, "≤ 1.34", "1.33", "1.35", Mark::Derived),
        (
            "88-3 32",
            Sockets,
            "≤ 0.72",
            "0.71",
            "0.73",
            Mark::Published,
        ),
        ("88-3 32", Fixed, "≤ 0.72", "0.71", "0.73", Mark::Published),
        (
            "88-3 32",
            Distribution,
            "≤ 1.28",
            "1.27",
            "1.29",
            Mark::Memory,
        ),
        ("88-3 45", Fixed, "≤ 0.80", "0.79", "0.81", Mark::Memory),
        ("88-2 32", Fixed, "≤ 0.79", "0.78", "0.80", Mark::Memory),
        ("3036 30", Lighting, "≤ 0.83", "0.82", "0.84", Mark::Memory),
        ("88-2 80", Sockets, "≤ 0.44", "0.43", "0.45", Mark::Memory),
    ] {
        let job = with(device, kind);
        let finding = at(&job, ZS);
        assert_eq!(
            finding.limit.as_deref(),
            Some(limit_text),
            "{device} {kind:?}"
        );
        assert_eq!(finding.mark, Some(mark), "{device} {kind:?}");
        assert_eq!(finding.verdict, Open);
        let equal = limit_text.trim_start_matches("≤ ");
        table(
            &job,
            ZS,
            &[
                (under, Within),
                (equal, Within),
                (over, Outside),
                (">1999", Outside),
                (">0.1", Outside),
                ("<0.01", Query),
                ("0", Query),
                ("lim: no access", Excused),
                ("n/a: no circuit", Excused),
                ("none", Query),
            ],
        );
    }
}

/// No table lists these for 0.4 s; an RCD may carry them, but nobody is told that they are in order. Common practice: up to
/// twice the limit of the largest smaller fuse that is listed (memory: 30 A 0.83 Ω, 32 A 0.72 and 0.79 Ω).
#[test]
fn a_fuse_that_no_table_lists() {
    for (device, carried, past) in [
        ("3036 45", "1.66", "1.67"),
        ("88-3 45", "1.44", "1.45"),
        ("88-3 63", "1.44", "1.45"),
        ("88-2 63", "1.58", "1.59"),
    ] {
        let mut job = with(device, CircuitKind::Sockets);
        assert_eq!(at(&job, ZS).verdict, Open, "{device}");
        table(&job, ZS, &[("0.2", Query), (">99", Outside)]);
        circuit(&mut job, "M/3").rcd = Some(rcd("30"));
        assert_eq!(at(&job, ZS).verdict, Open, "{device}");
        assert_eq!(limit(&job, ZS), "≤ 1667");
        let found = typed(&job, ZS, "0.2");
        assert!(
            found.why.contains("only the 30 mA type A RCD carries"),
            "{}",
            found.why
        );
        table(
            &job,
            ZS,
            &[
                ("0.2", Query),
                (carried, Query),
                (past, Outside),
                ("1667", Outside),
                ("1668", Outside),
                (">99", Outside),
            ],
        );
    }
}

/// A fuse whose row is missing, an RCD that no formula takes: neither is ever within.
#[test]
fn a_limit_that_is_missing_is_never_within() {
    let mut job = with("B32", CircuitKind::Sockets);
    job.supply.earthing = Earthing::Tt;
    circuit(&mut job, "M/3").rcd = Some(rcd("0.01"));
    assert_eq!(at(&job, ZS).verdict, Open);
    table(&job, ZS, &[("0.2", Query), (">99", Outside)]);
}

/// Derived: Cmin × U0 / Ia with the lower of the nominal and the job's own voltage.
#[test]
fn a_derived_limit_never_profits_from_a_higher_voltage() {
    let mut job = with("B45", CircuitKind::Sockets);
    job.supply.u0_v = d("400");
    assert_eq!(limit(&job, ZS), "≤ 0.77");
    job.supply.u0_v = d("200");
    assert_eq!(limit(&job, ZS), "≤ 0.67");
}

/// Published: table of RA at 50 V in an instrument manual. Derived: 50 V / IΔn for an IΔn that it doesn't list.
#[test]
fn tt_by_rcd_wherever_it_is() {
    let mut job = tt();
    no_rcds(&mut job);
    for (idn, limit_text, under, over, mark) in [
        ("10", "≤ 5000", "4999", "5001", Mark::Derived),
        ("30", "≤ 1667", "1666", "1668", Mark::Derived),
        ("100", "≤ 500", "499", "501", Mark::Derived),
        ("300", "≤ 167", "166", "168", Mark::Derived),
        ("200", "≤ 250", "249", "251", Mark::Derived),
        ("60", "≤ 833", "832", "834", Mark::Derived),
    ] {
        for own in [true, false] {
            let mut job = job.clone();
            if own {
                circuit(&mut job, "M/3").rcd = Some(rcd(idn));
                job.boards[0].rcd = Some(rcd("500"));
            } else {
                job.boards[0].rcd = Some(rcd(idn));
            }
            let finding = at(&job, ZS);
            assert_eq!(
                finding.limit.as_deref(),
                Some(limit_text),
                "{idn} own {own}"
            );
            assert_eq!(finding.mark, Some(mark), "{idn}");
            let equal = limit_text.trim_start_matches("≤ ");
            table(
                &job,
                ZS,
                &[
                    (under, Within),
                    (equal, Within),
                    (over, Outside),
                    (">99999", Outside),
                    (&format!(">{equal}"), Outside),
                    (">99", Query),
                    ("<0.1", Query),
                    ("0.0", Query),
                    ("lim: no access", Excused),
                ],
            );
        }
    }
}

/// Memory: regulation 411.5; on TT only an RCD or a met overcurrent limit protects.
#[test]
fn tt_without_an_rcd() {
    let mut job = tt();
    no_rcds(&mut job);
    circuit(&mut job, "M/3").device = Some(device("B32"));
    assert_eq!(limit(&job, ZS), "≤ 1.09");
    table(&job, ZS, &[("1.09", Query), ("1.10", Outside)]);
    put(&mut job, &[("supply/ra", "1.0")]);
    table(
        &job,
        ZS,
        &[
            ("1.09", Within),
            ("1.10", Outside),
            ("37", Outside),
            (">99", Outside),
        ],
    );
    // 0.2 s, and no table lists a fuse for that.
    circuit(&mut job, "M/3").device = Some(device("88-3 16"));
    table(
        &job,
        ZS,
        &[
            ("0.5", Outside),
            (">99", Outside),
            ("lim: no access", Excused),
        ],
    );
    circuit(&mut job, "M/3").kind = CircuitKind::Distribution;
    table(&job, ZS, &[("0.5", Outside)]);
}

/// The RCD may be at any board upstream.
#[test]
fn an_rcd_upstream_protects() {
    let mut job = tt();
    no_rcds(&mut job);
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    job.boards.push(sub);
    circuit(&mut job, "M/4").kind = CircuitKind::Distribution;
    assert_eq!(typed(&job, "S/3/zs", "37").verdict, Outside);
    circuit(&mut job, "M/4").rcd = Some(rcd("300"));
    assert_eq!(limit(&job, "S/3/zs"), "≤ 167");
    circuit(&mut job, "M/4").rcd = None;
    job.boards[0].rcd = Some(rcd("100"));
    assert_eq!(limit(&job, "S/3/zs"), "≤ 500");
    job.boards[1].rcd = Some(rcd("30"));
    assert_eq!(limit(&job, "S/3/zs"), "≤ 1667");
    // In a circle nothing is found, and nothing hangs.
    no_rcds(&mut job);
    job.boards[0].fed_from = "S/4".into();
    assert_eq!(typed(&job, "S/3/zs", "37").verdict, Outside);
}

/// Common practice: 10 % and 0.10 Ω above the sum. Zdb 0.20 + R1+R2 0.30 is 0.50, at most 0.65 Ω.
#[test]
fn above_the_sum_of_its_parts() {
    let mut job = with("B32", CircuitKind::Sockets);
    put(&mut job, &[("M/zdb", "0.20"), ("M/3/r1r2", "0.30")]);
    let rows = [
        // Parallel paths make it lower, but not lower than the line conductor: 0.11 Ω of the 0.30 Ω.
        ("0.15", Within),
        ("0.07", Query),
        ("0.65", Within),
        ("0.66", Query),
        ("1.09", Query),
    ];
    table(&job, ZS, &rows);
    table(&job, ZS, &[("1.10", Outside)]);
    assert!(typed(&job, ZS, "0.66").why.contains("well above 0.50 Ω"));
    // Ze stands in for a Zdb that isn't taken, at the origin only.
    let mut job = with("B32", CircuitKind::Sockets);
    put(&mut job, &[("supply/ze", "0.20"), ("M/3/r1r2", "0.30")]);
    table(&job, ZS, &rows);
}

/// Past the overcurrent limit with an RCD: a query only where the parts explain it. TN must not live by the RCD unseen.
#[test]
fn what_an_rcd_carries_in_tn() {
    for board_rcd in [true, false] {
        let mut job = with("B32", CircuitKind::Sockets);
        if board_rcd {
            job.boards[0].rcd = Some(rcd("30"));
        } else {
            circuit(&mut job, "M/3").rcd = Some(rcd("30"));
        }
        assert_eq!(limit(&job, ZS), "≤ 1.09");
        // R1+R2 isn't known.
        table(
            &job,
            ZS,
            &[
                ("1.09", Within),
                ("1.10", Query),
                ("2.18", Query),
                ("2.19", Outside),
                ("150", Outside),
                ("1668", Outside),
                (">1999", Outside),
                (">99", Outside),
            ],
        );
        assert!(
            typed(&job, ZS, "1.10")
                .why
                .contains("only the 30 mA type A RCD carries")
        );
        // It is known, and nothing is known of the board.
        put(&mut job, &[("M/3/r1r2", "0.30")]);
        table(&job, ZS, &[("1.09", Within), ("1.10", Outside)]);
        // It is known and explains nothing: 0.50 Ω, at most 1.05 Ω.
        put(&mut job, &[("M/zdb", "0.20"), ("M/3/r1r2", "0.30")]);
        table(
            &job,
            ZS,
            &[("1.09", Query), ("1.10", Outside), ("100", Outside)],
        );
        assert!(typed(&job, ZS, "100").why.contains("open or bad cpc"));
        // It explains some: 1.05 Ω is inside the limit.
        put(&mut job, &[("M/3/r1r2", "0.85")]);
        table(
            &job,
            ZS,
            &[("1.09", Within), ("1.20", Outside), ("1.26", Outside)],
        );
        // It is past the limit itself, but 24 m don't explain that: 0.20 + 0.47 Ω.
        put(&mut job, &[("M/3/r1r2", "1.00")]);
        table(&job, ZS, &[("1.09", Within), ("1.10", Outside)]);
        // 55 m do: 0.20 + 1.07 Ω is past the limit. Measured 1.20 Ω, at most 1.82 Ω.
        let length = |job: &mut wanderlead::job::Job, m: Option<&str>| {
            circuit(job, "M/3").cable.as_mut().unwrap().length_m = m.map(d);
        };
        length(&mut job, Some("55"));
        table(
            &job,
            ZS,
            &[("1.10", Query), ("1.82", Query), ("1.83", Outside)],
        );
        // Without a length: twice the limit, and only where the sum is past the limit.
        length(&mut job, None);
        put(&mut job, &[("M/3/r1r2", "2.00")]);
        table(
            &job,
            ZS,
            &[("1.10", Query), ("2.18", Query), ("2.19", Outside)],
        );
        put(&mut job, &[("M/3/r1r2", "150")]);
        table(&job, ZS, &[("150.3", Outside)]);
        length(&mut job, Some("24"));
        // It is open.
        put(&mut job, &[("M/3/r1r2", ">99")]);
        table(&job, ZS, &[("1.09", Within), ("1.10", Outside)]);
        // It is excused, and the length is known: 0.20 + 0.47 Ω don't explain anything past the limit.
        put(&mut job, &[("M/3/r1r2", "lim: no access")]);
        table(&job, ZS, &[("1.09", Within), ("1.10", Outside)]);
        // Without a length up to twice the limit is for a person to accept.
        length(&mut job, None);
        table(
            &job,
            ZS,
            &[("1.10", Query), ("2.18", Query), ("2.19", Outside)],
        );
        // 100 m explain more than that: 0.20 + 1.95 Ω.
        length(&mut job, Some("100"));
        table(&job, ZS, &[("3", Query), ("5", Outside)]);
    }
}

/// A bad earth is in every reading: what was measured excuses nothing. Cooker of 11 m, 6/2.5 mm², B32 with its own RCD.
#[test]
fn a_bad_earth_in_tn_is_not_excused_by_its_own_readings() {
    let mut job = tn();
    circuit(&mut job, "M/4").rcd = Some(rcd("30"));
    put(&mut job, &[("supply/ze", "0.18"), ("M/zdb", "0.19")]);
    for (r1r2, zs) in [
        ("150", "150.3"),
        ("4.0", "4.2"),
        ("lim: locked room", "150"),
        ("lim: locked room", "2.19"),
    ] {
        put(&mut job, &[("M/4/r1r2", r1r2)]);
        table(&job, "M/4/zs", &[(zs, Outside)]);
    }
    // A bad earth of the whole board.
    put(&mut job, &[("M/4/r1r2", "0.11"), ("M/zdb", "200")]);
    table(&job, "M/4/zs", &[("200", Outside), ("0.30", Within)]);
    put(&mut job, &[("supply/ze", "lim: sealed")]);
    table(&job, "M/4/zs", &[("200", Outside)]);
    // The same behind a fuse that no table lists.
    circuit(&mut job, "M/4").device = Some(device("3036 45"));
    circuit(&mut job, "M/4").kind = CircuitKind::Sockets;
    table(&job, "M/4/zs", &[("200", Outside), ("300", Outside)]);
    // Without a length an R1+R2 that no RCD may carry is outside while the circuit is still dead.
    let mut job = tn();
    circuit(&mut job, "M/4").device = Some(device("B32"));
    circuit(&mut job, "M/4").cable.as_mut().unwrap().length_m = None;
    table(
        &job,
        "M/4/r1r2",
        &[("1.09", Within), ("2.18", Query), ("2.19", Outside)],
    );
}

/// The same behind a sub-main: 40 m of it explain what a Zdb of 200 Ω doesn't.
#[test]
fn a_bad_sub_main_is_not_excused_by_its_own_readings() {
    let mut job = tn();
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    job.boards.push(sub);
    circuit(&mut job, "M/4").kind = CircuitKind::Distribution;
    circuit(&mut job, "S/3").device = Some(device("B32"));
    circuit(&mut job, "S/3").rcd = Some(rcd("30"));
    put(
        &mut job,
        &[
            ("supply/ze", "0.18"),
            ("M/zdb", "0.19"),
            ("M/4/r1r2", "150"),
            ("S/zdb", "150.2"),
            ("S/3/r1r2", "0.47"),
        ],
    );
    table(&job, "S/3/zs", &[("150.7", Outside)]);
    table(&job, "S/zdb", &[("150.2", Outside)]);
    table(&job, "M/4/r1r2", &[("150", Outside)]);
}

/// Common practice: on TT too a circuit adds no more than five times its conductors and an ohm, beyond the scatter of 10 % and
/// 0.5 Ω. 37.2 + 0.46 Ω is 41.9 Ω with it, and 45.2 Ω at the very most.
#[test]
fn a_bad_cpc_on_tt() {
    let mut job = tt();
    put(&mut job, &[("M/zdb", "37.2"), ("M/3/r1r2", "0.47")]);
    let rows = [
        ("37.6", Within),
        ("41.8", Within),
        ("43.5", Query),
        ("45.5", Outside),
        ("1500", Outside),
        ("1668", Outside),
    ];
    table(&job, ZS, &rows);
    put(&mut job, &[("M/3/r1r2", "lim: no access")]);
    table(
        &job,
        ZS,
        &[("41.8", Within), ("45.5", Outside), ("1500", Outside)],
    );
}

/// Common practice: 0.5 Ω of scatter behind an RCD, at the circuit or upstream; 0.10 Ω without one.
#[test]
fn a_no_trip_range_scatters() {
    for (own, board) in [(true, false), (false, true)] {
        let mut job = with("B6", CircuitKind::Lighting);
        put(&mut job, &[("M/zdb", "0.19"), ("M/3/r1r2", "0.47")]);
        table(&job, ZS, &[("0.82", Within), ("0.83", Query)]);
        assert!(!typed(&job, ZS, "0.83").why.contains("scatters"));
        circuit(&mut job, "M/3").rcd = own.then(|| rcd("30"));
        job.boards[0].rcd = board.then(|| rcd("30"));
        table(
            &job,
            ZS,
            &[("0.83", Within), ("1.22", Within), ("1.23", Query)],
        );
        let why = typed(&job, ZS, "1.23").why;
        assert!(why.contains("no-trip range scatters"), "{why}");
    }
}

/// A fuse without a row and a reading that its parts don't explain.
#[test]
fn an_unknown_limit_and_a_bad_sum() {
    let mut job = with("3036 45", CircuitKind::Sockets);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    put(&mut job, &[("M/zdb", "0.20"), ("M/3/r1r2", "0.30")]);
    table(
        &job,
        ZS,
        &[("1.05", Query), ("1.06", Outside), ("100", Outside)],
    );
}

/// Memory: BS EN 61557; nearer than the instrument's uncertainty is neither in nor out, and past is past.
#[test]
fn nearer_than_the_uncertainty() {
    let mut job = with("B32", CircuitKind::Sockets);
    for (pct, verdict) in [("8.9", Within), ("9", Within), ("9.1", Close)] {
        let loops = Function::Loop;
        job.instruments[0].uncertainty_pct.insert(loops, d(pct));
        table(&job, ZS, &[("1.00", verdict), ("1.10", Outside)]);
    }
    // The files' value, 30 %, where the job has none of its own.
    job.instruments[0].uncertainty_pct.clear();
    table(&job, ZS, &[("0.83", Within), ("0.84", Close)]);
}

/// Published: diydoctor.org.uk on electrodes above 200 Ω. Advice that is given where it applies, and no limit.
#[test]
fn a_high_electrode_is_advised_about_only_where_it_is_high() {
    let job = tt();
    let low = typed(&job, ZS, "200");
    let high = typed(&job, ZS, "201");
    assert_eq!((low.verdict, high.verdict), (Within, Within));
    assert!(!low.why.contains("stay stable"), "{}", low.why);
    assert!(
        high.why
            .contains("above 200 Ω an electrode may not stay stable"),
        "{}",
        high.why
    );
    assert!(!typed(&tn(), "M/3/zs", "201").why.contains("stable"));
}

/// Common practice: on TT a pipe that may be gone tomorrow is no fault protection. B16 without an RCD: Zs up to 2.18 Ω.
#[test]
fn a_low_loop_on_tt_without_an_rcd() {
    let mut job = tt();
    put(
        &mut job,
        &[("supply/ra", "85"), ("supply/ze", "86"), ("M/zdb", "86")],
    );
    put(&mut job, &[("M/3/r1r2", "0.20")]);
    circuit(&mut job, "M/3").device = Some(device("B16"));
    // Behind an RCD another earth is no fault, only a slipped point is looked at.
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    table(&job, "M/3/zs", &[("20", Within), ("0.86", Query)]);
    let board = job.boards.iter_mut().find(|b| b.id == "M").unwrap();
    board.rcd = None;
    circuit(&mut job, "M/3").rcd = None;
    assert_eq!(limit(&job, "M/3/zs"), "≤ 2.18");
    table(
        &job,
        "M/3/zs",
        &[
            ("1.1", Query),
            ("0.86", Query),
            ("2.18", Query),
            ("2.19", Outside),
            ("86.2", Outside),
        ],
    );
    let found = typed(&job, "M/3/zs", "1.1");
    assert!(found.why.contains("no RCD"), "{}", found.why);
    assert!(found.basis.iter().any(|l| l.id == "cross/loop-below-earth"));
    // The electrode alone says it too; without either nobody knows what the loop closes over.
    put(&mut job, &[("supply/ze", "lim: sealed"), ("M/zdb", "0.9")]);
    table(&job, "M/3/zs", &[("1.1", Query)]);
    put(&mut job, &[("supply/ra", "lim: no room")]);
    table(&job, "M/3/zs", &[("1.1", Query), ("2.19", Outside)]);
    let unmeasured = typed(&job, "M/3/zs", "1.1").why;
    assert!(
        unmeasured.contains("nobody measured") && unmeasured.contains("no room"),
        "{unmeasured}"
    );
    // A true loop past a doubtful board: that may be what is wrong.
    put(&mut job, &[("supply/ra", "85"), ("supply/ze", "86")]);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    let found = typed(&job, "M/3/zs", "86");
    assert_eq!(found.verdict, Outside);
    assert!(
        found.why.contains("to be read again first"),
        "{}",
        found.why
    );
}

/// Derived: Zs is the impedance at the board and R1+R2. Where those show a fault, a reason for Zs doesn't hide it.
#[test]
fn a_zs_that_is_excused_is_judged_by_its_parts() {
    let lim = "lim: no access";
    // TT, 86 Ω at the board and no RCD: 2.18 Ω for a B16.
    let mut job = tt();
    put(&mut job, &[("supply/ra", "85"), ("supply/ze", "86")]);
    put(&mut job, &[("M/zdb", "86"), ("M/3/r1r2", "0.20")]);
    circuit(&mut job, "M/3").device = Some(device("B16"));
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    table(&job, "M/3/zs", &[(lim, Excused)]);
    let board = job.boards.iter_mut().find(|b| b.id == "M").unwrap();
    board.rcd = None;
    circuit(&mut job, "M/3").rcd = None;
    let found = typed(&job, "M/3/zs", lim);
    assert_eq!(found.verdict, Outside, "{}", found.why);
    assert!(
        found.why.contains("Zdb 86 Ω + R1+R2 0.20 Ω gives 86.20 Ω"),
        "{}",
        found.why
    );
    // Zdb alone is enough for that, and a slipped one is queried as a Zs would be.
    put(&mut job, &[("M/3/r1r2", lim)]);
    table(&job, "M/3/zs", &[(lim, Outside)]);
    put(&mut job, &[("M/3/r1r2", "0.20"), ("M/zdb", "0.9")]);
    table(&job, "M/3/zs", &[(lim, Query)]);

    // TN, C16 without an RCD: 1.09 Ω.
    let mut job = tn();
    circuit(&mut job, "M/3").device = Some(device("C16"));
    circuit(&mut job, "M/3").cable.as_mut().unwrap().length_m = None;
    put(&mut job, &[("supply/ze", "0.35"), ("M/3/r1r2", "0.50")]);
    for (zdb, want) in [
        ("0.75", Outside),
        ("0.60", Outside),
        ("0.59", Excused),
        ("0.20", Excused),
    ] {
        put(&mut job, &[("M/zdb", zdb)]);
        table(&job, "M/3/zs", &[(lim, want)]);
    }
    // Nearer to it than the instrument is certain.
    put(&mut job, &[("M/zdb", "0.50")]);
    for tool in &mut job.instruments {
        tool.uncertainty_pct.insert(Function::Loop, d("10"));
    }
    table(&job, "M/3/zs", &[(lim, Query)]);
    // Ze at the origin stands in for a Zdb that wasn't taken.
    put(&mut job, &[("M/zdb", lim), ("supply/ze", "0.70")]);
    table(&job, "M/3/zs", &[(lim, Outside)]);
    // What an RCD carries is for a person to accept, as it would be of a reading.
    put(&mut job, &[("M/zdb", "0.75")]);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    put(&mut job, &[("M/3/rcd-time", "21.4")]);
    table(&job, "M/3/zs", &[("1.25", Query), (lim, Query)]);
    // With nothing to add up it is as before.
    put(&mut job, &[("M/zdb", lim), ("supply/ze", lim)]);
    table(&job, "M/3/zs", &[(lim, Excused)]);
}
