//! Ze, RA and Zdb by earthing.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::Earthing;

/// Memory: what distributors usually declare. Common practice: twice that is a fault.
#[test]
fn ze_in_tn() {
    for (earthing, limit_text, equal, over, twice, far) in [
        (Earthing::TnS, "≤ 0.80", "0.80", "0.81", "1.60", "1.61"),
        (Earthing::TnCS, "≤ 0.35", "0.35", "0.36", "0.70", "0.71"),
    ] {
        let mut job = tn();
        job.supply.earthing = earthing;
        assert_eq!(limit(&job, "supply/ze"), limit_text);
        table(
            &job,
            "supply/ze",
            &[
                ("0.01", Within),
                (equal, Within),
                (over, Query),
                (twice, Query),
                (far, Outside),
                ("38", Outside),
                (">99", Outside),
                (">0.1", Outside),
                ("0", Query),
                ("0.00", Query),
                ("<0.01", Query),
                ("lim: sealed", Excused),
                ("o.21", Query),
            ],
        );
        assert_eq!(at(&job, "supply/ze").verdict, Open);
    }
}

/// Published: table of RA at 50 V in an instrument manual. The least sensitive RCD decides.
#[test]
fn electrode_by_the_least_sensitive_rcd() {
    let mut job = tt();
    for place in ["supply/ra", "supply/ze", "M/zdb"] {
        assert_eq!(
            limit(&job, place),
            "≤ 500",
            "30 mA on circuits, 100 mA ahead"
        );
        table(
            &job,
            place,
            &[
                ("499", Within),
                ("500", Within),
                ("501", Outside),
                (">500", Outside),
                (">2000", Outside),
                (">499", Query),
                ("0", Query),
                ("<0.1", Query),
                ("lim: no access", Excused),
            ],
        );
        assert!(!typed(&job, place, "200").why.contains("stable"));
        assert!(
            typed(&job, place, "201")
                .why
                .contains("may not stay stable")
        );
    }
    job.boards[0].rcd = None;
    assert_eq!(limit(&job, "supply/ra"), "≤ 1667");
    circuit(&mut job, "M/7").rcd = Some(rcd("300"));
    assert_eq!(limit(&job, "supply/ra"), "≤ 167");
}

/// Memory: regulation 411.5. Without any RCD only the lowest overcurrent limit of the job is good enough: B40, 0.87 Ω.
#[test]
fn electrode_without_any_rcd() {
    let mut job = tt();
    no_rcds(&mut job);
    for place in ["supply/ra", "supply/ze"] {
        assert_eq!(limit(&job, place), "≤ 0.87");
        table(
            &job,
            place,
            &[
                // Good enough, and hardly an electrode.
                ("0.87", Query),
                ("0.88", Outside),
                ("38", Outside),
                (">99", Outside),
            ],
        );
    }
    // No table lists a fuse for 0.2 s: nothing shows that a fault is switched off.
    circuit(&mut job, "M/3").device = Some(device("88-3 16"));
    for place in ["supply/ra", "supply/ze"] {
        table(
            &job,
            place,
            &[
                ("0.1", Outside),
                (">99", Outside),
                ("lim: no access", Excused),
            ],
        );
    }
}

/// An IΔn that no formula takes leaves no limit; an electrode that reads over range is open all the same.
#[test]
fn an_open_electrode_needs_no_limit() {
    let mut job = tt();
    job.boards[0].rcd = Some(rcd("200000"));
    table(&job, "supply/ra", &[("1", Query), (">99", Outside)]);
    assert_eq!(at(&job, "supply/ra").verdict, Open);
}

/// Common practice: 10 % and 0.10 Ω above what is upstream; 1 Ω and five times the sub-main above Ze is outside (11 m of
/// 6/2.5 mm² at 18 °C: 0.11 Ω). Without Ze: 1 Ω past twice what is usually declared.
#[test]
fn zdb_against_what_is_upstream() {
    let mut job = tn();
    assert_eq!(limit(&job, "M/zdb"), "");
    // Without Ze: what is usually declared.
    table(
        &job,
        "M/zdb",
        &[
            ("0.35", Within),
            ("0.36", Query),
            ("1.70", Query),
            ("1.71", Outside),
            ("800", Outside),
            (">99", Outside),
            ("0", Query),
            ("<0.01", Query),
        ],
    );
    put(&mut job, &[("supply/ze", "0.20")]);
    table(
        &job,
        "M/zdb",
        &[
            ("0.20", Within),
            ("0.32", Within),
            ("0.33", Query),
            ("1.20", Query),
            ("1.21", Outside),
            ("200", Outside),
            (">99", Outside),
            ("0", Query),
        ],
    );
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    job.boards.push(sub);
    table(&job, "S/zdb", &[("0.9", Within), (">99", Outside)]);
    put(&mut job, &[("M/zdb", "0.20"), ("M/4/r1r2", "0.30")]);
    table(
        &job,
        "S/zdb",
        &[
            ("0.65", Within),
            ("0.66", Query),
            ("1.7", Query),
            ("1.8", Outside),
        ],
    );
    let mut job = tt();
    put(&mut job, &[("supply/ze", "40")]);
    table(
        &job,
        "M/zdb",
        &[
            ("44.1", Within),
            ("44.2", Query),
            ("45.1", Query),
            ("45.2", Outside),
            ("480", Outside),
        ],
    );
}

/// Common practice: an electrode of a dwelling hardly ever has less than a few ohms. What reads so on TT is somebody's pipe, a
/// neutral, or no TT supply; an overcurrent device that opens over it doesn't once it is gone.
#[test]
fn an_earth_on_tt_that_is_too_good() {
    let mut job = tt();
    for place in ["supply/ra", "supply/ze", "M/zdb"] {
        let rows = [
            ("0.2", Query),
            ("0.86", Query),
            ("2.99", Query),
            ("3", Within),
            ("38", Within),
        ];
        table(&job, place, &rows);
        let found = typed(&job, place, "0.86");
        assert!(found.why.contains("pipe"), "{}", found.why);
        assert!(found.basis.iter().any(|l| l.id == "cross/tt-low"));
    }
    // Nothing of it in TN, where the neutral is the earth.
    table(&tn(), "supply/ze", &[("0.2", Within)]);
    table(&tn(), "M/zdb", &[("0.2", Within)]);

    // Everything fits everything: an electrode that nobody measured, and a pipe that keeps a B16 without an RCD in time.
    no_rcds(&mut job);
    for circuit in job.boards.iter_mut().flat_map(|b| &mut b.circuits) {
        circuit.device = Some(device("B16"));
    }
    put(
        &mut job,
        &[
            ("supply/ra", "lim: no access"),
            ("supply/ze", "0.86"),
            ("M/zdb", "0.90"),
            ("M/3/r1r2", "0.20"),
            ("M/3/zs", "1.1"),
        ],
    );
    for place in ["supply/ze", "M/3/zs"] {
        assert_eq!(at(&job, place).verdict, Query, "{place}");
    }
    let zs = at(&job, "M/3/zs");
    assert!(zs.why.contains("nobody measured"), "{}", zs.why);
    // Nor where Zs isn't read and its parts stand for it.
    put(&mut job, &[("M/3/zs", "lim: no access")]);
    assert_eq!(at(&job, "M/3/zs").verdict, Query);
    put(&mut job, &[("M/3/zs", "1.1")]);
    // Measured, it is the electrode that is asked about.
    put(&mut job, &[("supply/ra", "0.9")]);
    for (place, verdict) in [
        ("supply/ra", Query),
        ("supply/ze", Query),
        ("M/3/zs", Within),
    ] {
        assert_eq!(at(&job, place).verdict, verdict, "{place}");
    }
    // With an RCD it doesn't rest on that earth.
    put(&mut job, &[("supply/ra", "lim: no access")]);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    assert_eq!(at(&job, "M/3/zs").verdict, Within);
}

/// Derived: the loop of a TT supply is its electrode and more. From memory: a distributor's side adds up to 21 Ω.
#[test]
fn an_electrode_far_below_its_loop() {
    let mut job = tt();
    put(&mut job, &[("supply/ze", "86")]);
    table(
        &job,
        "supply/ra",
        &[
            ("8.5", Query),
            ("32.4", Query),
            ("32.5", Within),
            ("85", Within),
        ],
    );
    let found = typed(&job, "supply/ra", "8.5");
    assert!(found.why.contains("Ze"), "{}", found.why);
    assert!(found.basis.iter().any(|l| l.id == "cross/ze-above-ra"));
    // A very good electrode: most of the loop is the distributor's.
    put(&mut job, &[("supply/ze", "30")]);
    table(&job, "supply/ra", &[("4.5", Within), ("4.4", Query)]);
    job.supply.earthing = Earthing::TnS;
    assert!(job.seat(&"supply/ra".parse().unwrap()).is_some());
}

/// Common practice: a board on TT that reads far below the electrode reads somebody's pipe.
#[test]
fn zdb_on_tt_over_another_earth() {
    let mut job = tt();
    table(&job, "M/zdb", &[("0.9", Query), ("20", Within)]);
    put(&mut job, &[("supply/ra", "85"), ("supply/ze", "86")]);
    table(
        &job,
        "M/zdb",
        &[
            ("0.9", Query),
            ("42.9", Query),
            ("43", Within),
            ("86", Within),
        ],
    );
    let found = typed(&job, "M/zdb", "0.9");
    assert!(found.why.contains("another earth"), "{}", found.why);
    // One of the two is enough, and a reason is no electrode.
    put(&mut job, &[("supply/ze", "lim: sealed")]);
    table(&job, "M/zdb", &[("0.9", Query), ("86", Within)]);
}

/// Common practice, from memory: on TT nothing switches off a fault before the RCDs of a board.
#[test]
fn a_board_on_tt_without_an_rcd_ahead_of_its_circuits() {
    let mut job = tt();
    put(&mut job, &[("supply/ra", "38"), ("supply/ze", "38.4")]);
    table(&job, "M/zdb", &[("38.5", Within)]);
    job.boards[0].rcd = None;
    for c in &mut job.boards[0].circuits {
        c.rcd = Some(rcd("30"));
    }
    let found = typed(&job, "M/zdb", "38.5");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.contains("insulated enclosure"), "{}", found.why);
    assert!(found.basis.iter().any(|l| l.id == "rcd/tt-ahead"));
    // It is said before the reading is taken.
    assert!(at(&job, "M/zdb").formula.contains("no RCD is ahead"));
    // Whoever inspects answers for it; that nothing of the kind is used is no answer.
    put(
        &mut job,
        &[("inspect/other-means", "n/a: nothing else is used")],
    );
    // Nor is a reason in place of the reading.
    let rows = [("38.5", Query), ("lim: no access", Query)];
    table(&job, "M/zdb", &rows);
    put(&mut job, &[("inspect/other-means", "pass")]);
    table(
        &job,
        "M/zdb",
        &[
            ("38.5", Within),
            ("1700", Outside),
            ("lim: no access", Excused),
        ],
    );
    // What it takes stands with the reading all the same, whatever is said of that.
    for text in ["38.5", "1", "45", "1700"] {
        let why = typed(&job, "M/zdb", text).why;
        for part in ["insulated enclosure", "RCD upstream", "common practice"] {
            assert!(why.contains(part), "{text}: {why}");
        }
        assert!(why.matches("no RCD is ahead").count() <= 1, "{why}");
    }
    assert!(at(&job, "M/zdb").why.contains("insulated enclosure"));
    // In TN the overcurrent device is ahead.
    job.supply.earthing = Earthing::TnS;
    put(&mut job, &[("supply/ze", "0.5")]);
    table(&job, "M/zdb", &[("0.5", Within)]);
}
