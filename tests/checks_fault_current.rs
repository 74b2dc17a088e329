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
    // L-N has its own loop.
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
    table(&job, "M/pfc", &[("1.75", Within), ("1.74", Query)]);
    // 3.5 kA between lines; without that reading 2.0 kA says nothing of it.
    job.boards[0].circuits.clear();
    table(&job, "M/pfc", &[("5.25", Within), ("5.26", Query)]);
    job.supply.readings.put(Test::PfcLl, None);
    table(&job, "M/pfc", &[("3.5", Within)]);
}
