//! Prospective fault current and breaking capacity.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::{Job, Phases, Test};

const KA: &str = "M/3/breaking-capacity";

/// Common practice: 0, or under a range that starts at 0.05 kA or less, is no supply measured.
/// Own record of the job: the cut-out breaks 33 kA, the weakest device 6 kA.
#[test]
fn single_phase() {
    let job = tn();
    for (place, limit_text, equal, over) in [
        ("supply/pfc-ln", "≤ 33", "33", "33.1"),
        ("M/pfc", "≤ 6", "6", "6.1"),
    ] {
        assert_eq!(limit(&job, place), limit_text);
        table(
            &job,
            place,
            &[
                ("0.9", Within),
                (equal, Within),
                (over, Outside),
                (">99", Outside),
                (">2", Query),
                ("0", Outside),
                ("0.00", Outside),
                ("<0.01", Outside),
                ("<0.05", Outside),
                ("<0.1", Query),
                ("lim: no access", Excused),
                ("1.2.3", Query),
            ],
        );
        assert_eq!(at(&job, place).verdict, Open);
    }
}

fn three() -> Job {
    let mut job = tn();
    job.supply.phases = Phases::Three;
    job.boards[0].phases = Phases::Three;
    job
}

/// Derived: the current between two lines is 0.866 of that of all three; 33 × 0.866 = 28.57, 6 × 0.866 = 5.19.
#[test]
fn three_phase_is_more_than_is_read_between_lines() {
    let mut job = three();
    assert_eq!(limit(&job, "supply/pfc-ll"), "≤ 28.57");
    assert_eq!(limit(&job, "M/pfc"), "≤ 5.19");
    table(
        &job,
        "supply/pfc-ll",
        &[
            ("28.57", Within),
            ("28.58", Outside),
            ("0", Outside),
            ("<0.01", Outside),
        ],
    );
    table(&job, "M/pfc", &[("5.19", Within), ("5.20", Outside)]);
    // Each device: 5.19 / 0.866 = 5.993, rounded up 6.00; 5.20 / 0.866 = 6.01.
    put(&mut job, &[("M/pfc", "5.19")]);
    assert_eq!(at(&job, KA).verdict, Within);
    put(&mut job, &[("M/pfc", "5.20")]);
    assert_eq!(
        (at(&job, KA).verdict, limit(&job, KA)),
        (Outside, "≥ 6.01".into())
    );
}

/// Derived: a neutral of no impedance gives √3/2 times L-N, one like the line √3 times. Common practice: 15 % for both readings.
/// 5.5 × 0.866 × 0.85 = 4.05; 5.5 × 1.732 × 1.15 = 10.95.
#[test]
fn between_lines_against_line_to_neutral() {
    let root = 3.0_f64.sqrt();
    let supply = |zn: f64| (root * 230.0 / 2.0 / 0.02) / (230.0 / (0.02 + zn));
    for (id, by_formula) in [
        ("cross/pfc-ll-least", supply(0.0)),
        ("cross/pfc-ll-most", supply(0.02)),
    ] {
        let limit = forms().limit(id).unwrap().f64();
        assert!((limit - by_formula).abs() < 0.0005, "{id} {by_formula}");
    }
    let mut job = three();
    table(&job, "supply/pfc-ll", &[("12", Within)]);
    put(&mut job, &[("supply/pfc-ln", "5.5")]);
    table(
        &job,
        "supply/pfc-ll",
        &[
            ("0.95", Query),
            ("4.04", Query),
            ("4.05", Within),
            ("9.5", Within),
            ("10.95", Within),
            ("10.96", Query),
            ("12", Query),
        ],
    );
    put(&mut job, &[("supply/pfc-ln", "1.15")]);
    let found = typed(&job, "supply/pfc-ll", "20");
    assert_eq!(found.verdict, Query);
    assert!(found.why.contains("reads like 2"), "{}", found.why);
    assert!(found.basis.iter().any(|l| l.id == "cross/pfc-ll-most"));
}

/// A three-phase board on which line to neutral was read: 5.5 kA of the origin, where a fault of all three lines is
/// 9.5 / 0.866 = 10.97 kA. Devices of 10 kA break 8.66 kA between lines.
#[test]
fn line_to_neutral_typed_at_a_three_phase_board() {
    let mut job = three();
    for c in &mut job.boards[0].circuits {
        if let Some(device) = &mut c.device {
            device.breaking_ka = d("10");
        }
    }
    put(
        &mut job,
        &[("supply/pfc-ln", "5.5"), ("supply/pfc-ll", "9.5")],
    );
    table(
        &job,
        "M/pfc",
        &[
            ("4.7", Query),
            ("5.3", Query),
            ("5.5", Query),
            ("5.77", Query),
            ("6.0", Within),
            ("8.66", Within),
            ("8.67", Outside),
        ],
    );
    let found = typed(&job, "M/pfc", "5.5");
    assert!(found.why.contains("line to neutral"), "{}", found.why);
    // The device is judged by the higher of the two while one is in doubt.
    put(&mut job, &[("M/pfc", "5.5")]);
    assert_eq!(
        (at(&job, KA).verdict, limit(&job, KA)),
        (Outside, "≥ 10.97".into())
    );
    put(&mut job, &[("M/pfc", "8.5")]);
    assert_eq!(
        (at(&job, KA).verdict, limit(&job, KA)),
        (Within, "≥ 9.82".into())
    );
    // Without a reading between lines what equals line to neutral is asked about all the same.
    job.supply.readings.put(Test::PfcLl, None);
    table(&job, "M/pfc", &[("5.5", Query), ("8.5", Within)]);
    // On one phase the two are the same.
    job.boards[0].phases = Phases::Single;
    table(&job, "M/pfc", &[("5.5", Within)]);
}

/// A device against its board, or the largest at the origin while that isn't taken.
#[test]
fn each_device() {
    let mut job = tn();
    put(
        &mut job,
        &[("supply/pfc-ln", "6.1"), ("supply/pfc-le", "2.0")],
    );
    assert_eq!(
        (at(&job, KA).verdict, limit(&job, KA)),
        (Outside, "≥ 6.1".into())
    );
    put(
        &mut job,
        &[("supply/pfc-ln", "2.0"), ("supply/pfc-le", "6.1")],
    );
    assert_eq!(limit(&job, KA), "≥ 6.1");
    put(&mut job, &[("M/pfc", "6.0")]);
    assert_eq!(
        (at(&job, KA).verdict, limit(&job, KA)),
        (Within, "≥ 6.0".into())
    );
    put(&mut job, &[("M/pfc", "6.1")]);
    assert_eq!(at(&job, KA).verdict, Outside);
}

/// Memory: a whole board may have a conditional rating with the cut-out; it counts where it is the larger.
#[test]
fn conditional_rating_of_the_whole_board() {
    let mut job = tn();
    job.boards[0].conditional_ka = Some(d("16"));
    assert_eq!(limit(&job, "M/pfc"), "≤ 16");
    table(&job, "M/pfc", &[("16", Within), ("16.1", Outside)]);
    put(&mut job, &[("M/pfc", "16")]);
    let finding = at(&job, KA);
    assert_eq!(
        (finding.verdict, finding.value.as_deref()),
        (Within, Some("16"))
    );
    assert!(
        finding.why.contains("conditional") && finding.why.contains("alone breaks 6 kA"),
        "{}",
        finding.why
    );
    put(&mut job, &[("M/pfc", "16.1")]);
    assert_eq!(at(&job, KA).verdict, Outside);
    job.boards[0].conditional_ka = Some(d("5"));
    assert_eq!(limit(&job, "M/pfc"), "≤ 6");
    assert!(!at(&job, KA).why.contains("conditional"));
}

/// Common practice: 30 % below U0 / Ze, or five times it; 230 V / 0.20 Ω is 1.15 kA, so 0.80 (0.805 less half a digit) to
/// 5.80 kA (5.75 and half a digit). Bonding is off for Ze and on for the current: pipes make it higher.
#[test]
fn earth_fault_current_against_ze() {
    let mut job = tn();
    put(&mut job, &[("supply/ze", "0.20")]);
    table(
        &job,
        "supply/pfc-le",
        &[
            ("0.79", Query),
            ("0.80", Within),
            ("1.15", Within),
            ("1.49", Within),
            ("1.9", Within),
            ("5.75", Within),
            ("5.77", Query),
            ("11.5", Query),
            ("0.115", Query),
            ("0", Query),
            ("<0.1", Query),
        ],
    );
    // L-N has its own loop, in TN with a neutral about as good as the earth or better: half of 1.15 kA to five times that.
    table(
        &job,
        "supply/pfc-ln",
        &[
            ("0.115", Query),
            ("0.57", Query),
            ("0.58", Within),
            ("1.15", Within),
            ("5.75", Within),
            ("5.76", Query),
            ("11.5", Query),
        ],
    );
    job.supply.earthing = wanderlead::job::Earthing::Tt;
    table(&job, "supply/pfc-ln", &[("11.5", Within)]);
    // On TT it is a few amperes, which many instruments can't show in kA: 230 V / 40 Ω is 0.00575 kA.
    let mut job = tt();
    put(&mut job, &[("supply/ze", "40")]);
    table(
        &job,
        "supply/pfc-le",
        &[
            ("0.006", Within),
            ("0.01", Within),
            ("0.06", Query),
            ("<0.01", Within),
            ("<0.005", Query),
            ("0", Within),
            ("0.00", Within),
            ("0.000", Query),
        ],
    );
    // 230 V / 24 Ω is 0.0096 kA: a display of 0.00 may still have cut it off.
    put(&mut job, &[("supply/ze", "24")]);
    table(&job, "supply/pfc-le", &[("0.00", Within)]);
    put(&mut job, &[("supply/ze", "22")]);
    table(&job, "supply/pfc-le", &[("0.00", Query)]);
    // Nothing to compare it with.
    put(&mut job, &[("supply/ze", "lim: sealed")]);
    table(&job, "supply/pfc-le", &[("0.00", Query)]);
}

/// Common practice: half of what the origin has is a decimal slip. Physics: conductors only lower it, so more than the origin has
/// is a slip too, with half as much again for what two readings scatter (common practice).
#[test]
fn a_board_at_the_origin_against_the_origin() {
    let mut job = tn();
    put(
        &mut job,
        &[("supply/pfc-ln", "2.0"), ("supply/pfc-le", "1.2")],
    );
    table(
        &job,
        "M/pfc",
        &[
            ("0.99", Query),
            ("1.00", Within),
            ("0.18", Query),
            ("1.9", Within),
            ("3.00", Within),
            ("3.01", Query),
        ],
    );
    // Nothing to compare with where the larger loop wasn't read at the origin.
    let mut half = tn();
    put(&mut half, &[("supply/pfc-le", "0.01")]);
    table(&half, "M/pfc", &[("1.9", Within)]);
    // A board behind a sub-main may have less.
    job.boards[0].fed_from = "M/4".into();
    table(&job, "M/pfc", &[("0.18", Within)]);
    // A single-phase board isn't compared with the current between lines.
    let mut job = three();
    job.boards[0].phases = Phases::Single;
    put(
        &mut job,
        &[("supply/pfc-ln", "2.0"), ("supply/pfc-ll", "3.5")],
    );
    table(&job, "M/pfc", &[("1.00", Within), ("0.99", Query)]);
    job.boards[0].phases = Phases::Three;
    table(
        &job,
        "M/pfc",
        &[("2.11", Within), ("2.10", Query), ("1.74", Query)],
    );
    // 3.5 kA between lines; without that reading 2.0 kA says nothing of it.
    job.boards[0].circuits.clear();
    table(&job, "M/pfc", &[("5.25", Within), ("5.26", Query)]);
    job.supply.readings.put(Test::PfcLl, None);
    table(&job, "M/pfc", &[("3.5", Within)]);
}
