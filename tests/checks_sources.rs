//! Circuits that power can come back through, and tests that running inverters spoil.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::Judge;
use wanderlead::job::{CircuitKind, Direction, Job, Lines, Phases, Test};

fn absent(job: &Job, place: &str) -> bool {
    Judge::new(job, forms())
        .place(&place.parse().unwrap())
        .is_none()
}

/// Published: regulation 530.3.201, Electrical Safety First, WRAG answers Q2:63.
#[test]
fn direction() {
    let mut job = tn();
    for (direction, verdict) in [
        (Direction::Unknown, Query),
        (Direction::Unidirectional, Outside),
        (Direction::Bidirectional, Within),
    ] {
        circuit(&mut job, "M/1").device.as_mut().unwrap().direction = direction;
        assert_eq!(at(&job, "M/1/both-ways").verdict, verdict);
    }
    assert!(absent(&job, "M/3/both-ways"));
}

/// Memory: chapter 46 and 712.537: two poles single-phase, four three-phase, three where there is no neutral.
#[test]
fn poles() {
    let mut job = tn();
    for (phases, lines, no_neutral, least) in [
        (Phases::Single, Lines::L1, false, 2),
        (Phases::Three, Lines::L2, false, 2),
        (Phases::Three, Lines::All, false, 4),
        (Phases::Three, Lines::All, true, 3),
    ] {
        job.boards[0].phases = phases;
        let c = circuit(&mut job, "M/1");
        c.lines = lines;
        c.no_neutral = no_neutral;
        for poles in 1..=4 {
            circuit(&mut job, "M/1").device.as_mut().unwrap().poles = poles;
            let finding = at(&job, "M/1/poles-open");
            let verdict = if poles < least { Outside } else { Within };
            assert_eq!(
                finding.verdict, verdict,
                "{phases:?} {lines:?} {no_neutral} {poles}"
            );
            assert_eq!(finding.limit, Some(format!("≥ {least}")));
        }
    }
    assert!(absent(&job, "M/3/poles-open"));
}

/// A device that feeds a board with sources isolates them too.
#[test]
fn a_sub_main_to_a_board_with_sources() {
    let mut job = tn();
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/4".into();
    job.boards.push(sub);
    circuit(&mut job, "M/4").kind = CircuitKind::Distribution;
    circuit(&mut job, "M/4").device.as_mut().unwrap().poles = 1;
    assert_eq!(at(&job, "M/4/poles-open").verdict, Outside);
    circuit(&mut job, "M/4").device.as_mut().unwrap().poles = 2;
    assert_eq!(at(&job, "M/4/poles-open").verdict, Within);
    circuit(&mut job, "S/1").kind = CircuitKind::Fixed;
    assert!(absent(&job, "M/4/poles-open"));
}

#[test]
fn three_lines_on_a_single_phase_board_are_refused() {
    let mut job = tn();
    assert_eq!(job.problems(), []);
    circuit(&mut job, "M/3").lines = Lines::All;
    assert!(
        job.problems()
            .iter()
            .any(|p| p.field == "boards[0].circuits[2].lines")
    );
    job.boards[0].phases = Phases::Three;
    assert_eq!(job.problems(), []);
}

/// A circuit with everything that is tested live, on a job that has everything that shows inverters running.
fn running() -> Job {
    let mut job = bare("orchard-cottage.ron");
    let c = circuit(&mut job, "C/1");
    c.rcd = Some(rcd("30"));
    job.boards[0].rcd = Some(rcd("30"));
    job.supply.phases = Phases::Three;
    job
}

const SPOILT: [(&str, &str); 11] = [
    ("supply/ze", "0.2"),
    ("R/zdb", "0.2"),
    ("R/pfc", "1.1"),
    ("supply/pfc-ln", "1.1"),
    ("supply/pfc-le", "1.1"),
    ("supply/pfc-ll", "1.1"),
    ("C/1/zs", "0.5"),
    ("C/1/rcd-time", "20"),
    ("C/1/rcd-half", ">2000"),
    ("C/1/rcd-5x", "20"),
    ("R/rcd-time", "20"),
];

const RUNS: [(&str, &str); 6] = [
    ("P/B1/count", "8"),
    ("grid/ct-surplus", "-3120 3600 0 480"),
    ("E/ne-grid", "pass"),
    ("E/ne-island", "pass"),
    ("grid/loss-of-mains", "pass"),
    ("grid/reconnect", "64"),
];

/// Memory: Guidance Note 3; loop, fault current and RCD tests are worth nothing while inverters run.
#[test]
fn readings_after_the_inverters_ran() {
    for (run, shown) in RUNS {
        for (place, text) in SPOILT {
            let after = |confirmed: &[&str], ran: &str, taken: &str| {
                let mut job = running();
                for hour in confirmed {
                    put_at(&mut job, "safe/inverters-off", "pass", hour);
                }
                put_at(&mut job, run, ran, "11:00");
                put_at(&mut job, place, text, taken);
                at(&job, place)
            };
            let before = after(&["09:00"], shown, "10:00");
            assert_eq!(
                before.verdict, Within,
                "{place} before {run}: {}",
                before.why
            );
            let spoilt = after(&["09:00"], shown, "12:00");
            assert_eq!(spoilt.verdict, Query, "{place} after {run}");
            assert!(
                spoilt.why.contains(run) && spoilt.why.contains("safe/inverters-off"),
                "{}",
                spoilt.why
            );
            assert_eq!(after(&[], shown, "12:00").verdict, Query, "never confirmed");
            assert_eq!(
                after(&["13:00"], shown, "12:00").verdict,
                Query,
                "confirmed afterwards"
            );
            assert_eq!(
                after(&["09:00", "11:30"], shown, "12:00").verdict,
                Within,
                "confirmed again"
            );
            assert_eq!(
                after(&["09:00", "11:30", "14:00"], shown, "12:00").verdict,
                Within
            );
            assert_eq!(
                after(&["09:00"], "lim: no time", "12:00").verdict,
                Within,
                "it didn't run"
            );
        }
    }
}

/// A fault stays a fault.
#[test]
fn a_reading_outside_is_not_softened() {
    let mut job = running();
    put_at(&mut job, "grid/reconnect", "64", "11:00");
    put_at(&mut job, "C/1/rcd-time", "301", "12:00");
    assert_eq!(at(&job, "C/1/rcd-time").verdict, Outside);
}

/// The confirmation falls with the running, while something that needs it is still to be taken.
#[test]
fn confirm_again_while_something_is_left() {
    let mut job = full("harbour-row.ron");
    let place = "safe/inverters-off";
    assert_eq!(at(&job, place).verdict, Within, "nothing is left");
    for (owner, test) in [
        ("M", Test::Zdb),
        ("M/3", Test::Zs),
        ("M/3", Test::RcdTime),
        ("supply", Test::PfcLn),
        ("supply", Test::Ze),
    ] {
        let mut job = job.clone();
        readings(&mut job, owner).put(test, None);
        let finding = at(&job, place);
        assert_eq!(finding.verdict, Open, "{owner} {test}");
        assert!(
            finding.why.contains("isolate and confirm again"),
            "{}",
            finding.why
        );
        // Confirmed again after the running.
        let mut entry = readings(&mut job, "safe")
            .get(Test::InvertersOff)
            .unwrap()
            .now
            .clone();
        entry.at = readings(&mut job, "close")
            .get(Test::Restored)
            .unwrap()
            .now
            .at;
        readings(&mut job, "safe").keep(Test::InvertersOff, entry);
        assert_eq!(at(&job, place).verdict, Within);
    }
    // Something else that is left doesn't need it.
    readings(&mut job, "M/3").put(Test::RcdButton, None);
    assert_eq!(at(&job, place).verdict, Within);
    // Taken before anything ran.
    let mut job = running();
    put_at(&mut job, place, "pass", "09:00");
    assert_eq!(at(&job, place).verdict, Within);
    put_at(&mut job, place, "fail", "09:00");
    assert_eq!(at(&job, place).verdict, Outside);
}

/// On TT the electrode may be read by the loop: then it is spoilt like one. Not where the instrument only reads electrodes, and
/// a first reading before anything ran stands.
#[test]
fn an_electrode_read_by_the_loop() {
    use wanderlead::job::Function::{Electrode, Loop};
    for (functions, verdict) in [(vec![Electrode, Loop], Query), (vec![Electrode], Within)] {
        let mut job = tt();
        for tool in &mut job.instruments {
            tool.functions.clone_from(&functions);
            tool.uncertainty_pct.insert(Electrode, d("0"));
        }
        put_at(&mut job, "safe/inverters-off", "pass", "09:00");
        put_at(&mut job, "supply/ra", "38", "10:00");
        put_at(&mut job, "grid/loss-of-mains", "pass", "11:00");
        assert_eq!(at(&job, "supply/ra").verdict, Within);
        put_at(&mut job, "supply/ra", "38", "12:00");
        assert_eq!(at(&job, "supply/ra").verdict, verdict, "{functions:?}");
    }
}
