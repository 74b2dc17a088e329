//! Storage: where it stands, what a backup output is asked for.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::judge_all;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Job, Need, Storage, StoragePlace, Test};

fn placed(change: impl Fn(&mut Storage)) -> Job {
    let mut job = bare("orchard-cottage.ron");
    let s = &mut job.storage[0];
    s.opening_m = Some(d("5"));
    s.flammables_m = Some(d("5"));
    s.detector = Some(true);
    change(s);
    job
}

/// Published: PAS 63100 as quoted on the pages of gb-sol and MCS.
#[test]
fn places_where_no_battery_stands() {
    use StoragePlace as P;
    for (place, want) in [
        (P::Outdoors, Within),
        (P::Garage, Within),
        (P::Utility, Within),
        (P::PlantRoom, Within),
        (P::OtherIndoors, Within),
        (P::Bedroom, Outside),
        (P::EscapeRoute, Outside),
        (P::CupboardOffBedroom, Outside),
        (P::LoftOrVoid, Outside),
    ] {
        let found = at(&placed(|s| s.place = Some(place)), "E/siting-rules");
        assert_eq!(found.verdict, want, "{place:?}: {}", found.why);
        assert_eq!(found.value.as_deref(), Some(place.name()));
    }
    assert_eq!(StoragePlace::ALL.len(), 9);
}

/// Published: the same pages: 1 m from openings, 2 m from stored flammables, detection interlinked.
#[test]
fn distances_and_alarm() {
    use StoragePlace::{Garage, Outdoors};
    type Row = (
        Option<StoragePlace>,
        Option<&'static str>,
        Option<&'static str>,
        Option<bool>,
    );
    let rows: [(Row, wanderlead::checks::Verdict); 16] = [
        ((Some(Outdoors), Some("1"), Some("2"), None), Within),
        ((Some(Outdoors), Some("0.99"), Some("2"), None), Outside),
        ((Some(Outdoors), Some("0"), Some("2"), None), Outside),
        ((Some(Outdoors), Some("1"), Some("1.99"), None), Outside),
        ((Some(Outdoors), None, Some("2"), None), Query),
        ((Some(Outdoors), Some("1"), None, None), Query),
        ((Some(Outdoors), None, Some("1"), None), Outside),
        ((Some(Garage), None, Some("2"), Some(true)), Within),
        ((Some(Garage), Some("0.2"), Some("2"), Some(true)), Within),
        ((Some(Garage), None, Some("1.9"), Some(true)), Outside),
        ((Some(Garage), None, Some("2"), None), Query),
        ((Some(Garage), None, Some("2"), Some(false)), Outside),
        ((Some(Garage), None, None, Some(true)), Query),
        ((None, Some("5"), Some("5"), Some(true)), Open),
        ((None, None, None, None), Open),
        ((None, Some("5"), Some("1"), Some(true)), Outside),
    ];
    for ((place, opening, flammables, detector), want) in rows {
        let job = placed(|s| {
            s.place = place;
            s.opening_m = opening.map(d);
            s.flammables_m = flammables.map(d);
            s.detector = detector;
        });
        let found = at(&job, "E/siting-rules");
        assert_eq!(
            found.verdict, want,
            "{place:?} {opening:?} {flammables:?} {detector:?}: {}",
            found.why
        );
    }
    let gaps = at(&placed(|s| s.place = None), "E/siting-rules").why;
    assert!(
        gaps.contains("`place`") && !gaps.contains("opening_m"),
        "{gaps}"
    );
}

/// Nothing is connected to a battery of which nobody said where it stands.
#[test]
fn connecting_waits_for_the_place_of_the_battery() {
    let mut job = full("harbour-row.ron");
    job.storage = placed(|_| {}).storage;
    job.storage[0].inverter = job.inverters[0].id.clone();
    job.storage[0].backup = false;
    job.storage[0].readings = full("mill-yard.ron").storage[0].readings.clone();
    let volts = job.storage[0].dc_min_v.to_string();
    let modules = job.storage[0].modules.to_string();
    put_at(&mut job, "E/dc-voltage", &volts, "12:00");
    put_at(&mut job, "E/modules", &modules, "12:00");
    let hold = |job: &Job| {
        let plan = Plan::new(job, forms());
        let verdicts = Verdicts::new(&judge_all(job, forms()));
        let at = plan.position(&"safe/connected".parse().unwrap()).unwrap();
        plan.waits_for(at, &verdicts).map(|p| p.to_string())
    };
    assert_eq!(hold(&job), None);
    job.storage[0].place = None;
    assert_eq!(hold(&job).as_deref(), Some("E/siting-rules"));
}

/// Common mistake: an overcurrent Zs judged in island mode, where the inverter limits the current; the RCD protects.
#[test]
fn a_backup_output_wants_link_polarity_electrode_and_rcd_and_no_zs() {
    let mut job = placed(|_| {});
    let wanted = |job: &Job| -> Vec<Test> {
        let seat = job.seat(&"E/siting".parse().unwrap()).unwrap();
        job.wanted(seat.owner)
            .into_iter()
            .filter(|(_, need)| *need == Need::Required)
            .map(|(t, _)| t)
            .collect()
    };
    let backup = [
        Test::Ra,
        Test::NeGrid,
        Test::NeIsland,
        Test::Polarity,
        Test::RcdTime,
    ];
    for test in backup {
        assert!(wanted(&job).contains(&test), "{test}");
    }
    for test in [Test::Zs, Test::Zdb, Test::Ze, Test::Pfc, Test::R1r2] {
        assert!(!wanted(&job).contains(&test), "{test}");
    }
    table(&job, "E/polarity", &[("pass", Within), ("fail", Outside)]);
    job.storage[0].backup = false;
    for test in backup {
        assert!(!wanted(&job).contains(&test), "{test}");
    }
}
