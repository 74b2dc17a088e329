//! Micro-inverter branches and everything else that feeds a circuit.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::Judge;
use wanderlead::job::{Inverter, Job, Layout, Phases};

const LOAD: &str = "P/B1/branch-load";

/// Eight units on R/1 behind B16, each of `each` A; the maker's maximum as given.
fn branches(each: &str, units: usize, most: Option<u16>) -> Job {
    let mut job = bare("orchard-cottage.ron");
    job.inverters[0].rated_a = d(each);
    job.inverters[0].max_per_branch = most;
    if let Layout::Branches(list) = &mut job.arrays[0].layout {
        let unit = list[0].units[0].clone();
        list[0].units = vec![unit; units];
    }
    job
}

/// Common practice: 0.8 of In, 12.8 A of 16 A, is advice. In itself is a limit, and so is the maker's number.
#[test]
fn one_branch() {
    for (each, units, most, verdict) in [
        ("1.52", 8, Some(8), Within),
        ("1.60", 8, Some(8), Within),
        ("1.61", 8, Some(8), Query),
        ("2.00", 8, Some(8), Query),
        ("2.01", 8, Some(8), Outside),
        ("1.00", 8, Some(8), Within),
        ("1.00", 9, Some(8), Outside),
        ("1.52", 9, Some(8), Outside),
        ("1.52", 9, None, Query),
        ("1.52", 10, None, Query),
        ("1.52", 11, None, Outside),
    ] {
        let job = branches(each, units, most);
        let finding = at(&job, LOAD);
        assert_eq!(
            finding.verdict, verdict,
            "{units} × {each}: {}",
            finding.why
        );
        assert_eq!(finding.limit.as_deref(), Some("≤ 16"));
    }
}

/// All that feeds one circuit loads its device together.
#[test]
fn everything_on_one_circuit_is_summed() {
    let mut job = branches("1.00", 8, Some(8));
    if let Layout::Branches(list) = &mut job.arrays[0].layout {
        list[1].circuit = "R/1".into();
    }
    for place in [LOAD, "P/B2/branch-load"] {
        let finding = at(&job, place);
        assert_eq!(
            (finding.value.as_deref(), finding.verdict),
            (Some("15"), Query),
            "8 + 7 units"
        );
    }
    job.inverters[0].rated_a = d("1.1");
    assert_eq!(at(&job, LOAD).verdict, Outside, "16.5 A");
    // The storage inverter moves to the same circuit.
    let mut job = branches("1.00", 8, Some(8));
    job.inverters[1].circuit = "R/1".into();
    let finding = at(&job, LOAD);
    assert_eq!(
        (finding.value.as_deref(), finding.verdict),
        (Some("24"), Outside)
    );
    assert_eq!(at(&job, "R/1/branch-load").verdict, Outside);
    assert_eq!(at(&job, "P/B2/branch-load").verdict, Within);
}

/// Two string inverters on one circuit are seen without any branch.
#[test]
fn other_inverters_on_one_circuit() {
    let mut job = tn();
    let place = "M/1/branch-load".parse().unwrap();
    assert!(
        Judge::new(&job, forms()).place(&place).is_none(),
        "26.1 A behind 40 A"
    );
    job.inverters.push(Inverter {
        id: "inv2".into(),
        rated_a: d("13.9"),
        phases: Phases::Single,
        ..job.inverters[0].clone()
    });
    let finding = at(&job, "M/1/branch-load");
    assert_eq!(
        (finding.value.as_deref(), finding.verdict),
        (Some("40"), Query)
    );
    job.inverters[1].rated_a = d("14");
    assert_eq!(at(&job, "M/1/branch-load").verdict, Outside);
}

/// As many answer as were recorded, no more and no fewer.
#[test]
fn count() {
    let job = branches("1.52", 8, Some(8));
    assert_eq!(limit(&job, "P/B1/count"), "= 8");
    table(
        &job,
        "P/B1/count",
        &[
            ("7", Outside),
            ("8", Within),
            ("9", Outside),
            ("0", Outside),
            ("lim: no gateway", Excused),
            ("8.5", Query),
        ],
    );
}
