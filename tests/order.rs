//! Who confirms what makes live, and what the order of work holds back until settings, rings and backup outputs are in
//! order.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use chrono::DateTime;
use common::{jobs_in, sample};
use wanderlead::checks::{Finding, Judge, Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Change, Group, Job, Place, Reading, Test};

/// A reading as a person would enter it.
fn typed(text: &str, test: Test, by: &str) -> Reading {
    Reading {
        typed: text.into(),
        unit: test.unit(),
        by: by.into(),
        at: DateTime::parse_from_rfc3339("2026-11-20T15:00:00+00:00").unwrap(),
        instrument: None,
        countersigned: None,
        around: None,
        brought: None,
    }
}

#[test]
fn a_qualified_person_confirms_what_makes_live_and_no_reason_takes_its_place() {
    let job = sample("orchard-cottage.ron");
    for test in [Test::Energise, Test::InvertersOff, Test::Connected] {
        let place = Place::of(Group::Safe.key(), test);
        assert!(job.would_keep(&place, &typed("pass", test, "mk")).is_ok());
        for (text, by) in [("pass", "jt"), ("n/a: no need", "mk"), ("lim: late", "mk")] {
            assert!(
                job.would_keep(&place, &typed(text, test, by)).is_err(),
                "{place} {text} {by}"
            );
        }
    }
}

/// (r1 + rn) / 4 = 0.19 Ω with the readings of the sample: Basic Electrical Installation Work, page 365.
#[test]
fn a_ring_is_looked_at_with_line_and_neutral_crossed() {
    let forms = Forms::embedded().unwrap();
    for (text, verdict) in [
        ("0.20", Verdict::Within),
        ("0.38", Verdict::Query),
        (">99", Verdict::Outside),
    ] {
        let mut job = sample("orchard-cottage.ron");
        let place: Place = "C/1/ring-ln".parse().unwrap();
        let mut reading = typed(text, Test::RingLn, "jt");
        reading.instrument = Some("mft".into());
        job.apply(&Change::Keep {
            place: place.clone(),
            reading,
        })
        .unwrap();
        let finding = Judge::new(&job, &forms).place(&place).unwrap();
        assert_eq!(finding.verdict, verdict, "{text}: {}", finding.why);
    }
}

/// Nothing closes or runs on settings that are not read back and right; and they are read once the inverters are awake.
#[test]
fn nothing_runs_before_the_settings_are_read_back() {
    let forms = Forms::embedded().unwrap();
    for (name, job) in jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
    {
        let plan = Plan::new(&job, &forms);
        let pattern = judge_all(&job, &forms).first().unwrap().clone();
        let settings = Place::of(Group::Grid.key(), Test::SetRocof);
        let at = plan.position(&settings).unwrap();
        for verdict in [Verdict::Open, Verdict::Outside] {
            let now: Vec<Finding> = plan
                .steps()
                .iter()
                .map(|s| Finding {
                    place: s.place.clone(),
                    verdict: if s.place == settings {
                        verdict
                    } else {
                        Verdict::Within
                    },
                    ..pattern.clone()
                })
                .collect();
            let now = Verdicts::new(&now);
            assert_eq!(plan.waits_for(at, &now), None, "{name}");
            assert!(at + 1 < plan.steps().len());
            for later in at + 1..plan.steps().len() {
                // Labels may be put up at any time.
                if plan.steps()[later].place.top == Group::Label.key() {
                    continue;
                }
                assert_eq!(
                    plan.waits_for(later, &now),
                    Some(settings.clone()),
                    "{name}"
                );
            }
        }
    }
}

/// 50 V / 30 mA is 1667 Ω; above 200 Ω an electrode may not stay stable (advice); 300 ms at IΔn, general.
#[test]
fn a_backup_output_has_its_own_earth_and_its_rcd_is_tried_without_the_grid() {
    let forms = Forms::embedded().unwrap();
    for (place, text, tool, verdict) in [
        ("E/ra", "84", "ert", Verdict::Within),
        ("E/ra", "260", "ert", Verdict::Query),
        ("E/ra", "1700", "ert", Verdict::Outside),
        ("E/ra", ">1999", "ert", Verdict::Outside),
        ("E/ra", "0", "ert", Verdict::Query),
        ("E/rcd-time", "28", "mft", Verdict::Within),
        ("E/rcd-time", "301", "mft", Verdict::Outside),
        ("E/rcd-time", ">300", "mft", Verdict::Outside),
    ] {
        let mut job = sample("orchard-cottage.ron");
        let place: Place = place.parse().unwrap();
        // The inverter runs while its backup output is tested.
        let mut pass = typed("pass", Test::NeIsland, "jt");
        pass.at -= chrono::TimeDelta::hours(1);
        job.apply(&Change::Keep {
            place: "E/ne-island".parse().unwrap(),
            reading: pass,
        })
        .unwrap();
        let mut reading = typed(text, place.test, "jt");
        reading.instrument = Some(tool.into());
        job.apply(&Change::Keep {
            place: place.clone(),
            reading,
        })
        .unwrap();
        let finding = Judge::new(&job, &forms).place(&place).unwrap();
        assert_eq!(finding.verdict, verdict, "{place} {text}: {}", finding.why);
    }
    let wants = |job: &Job, place: &str| {
        let place: Place = place.parse().unwrap();
        let seat = job.seat(&place).unwrap();
        job.wanted(seat.owner).iter().any(|(t, _)| *t == place.test)
    };
    let mill = sample("mill-yard.ron");
    assert!(!wants(&mill, "E/ra") && !wants(&mill, "E/rcd-time"));
}

/// The states of the transformers that there are: PV off always, PV above load with an array, charging with a battery.
#[test]
fn transformers_are_read_in_the_states_that_there_are() {
    let all = ["ct-idle", "ct-surplus", "ct-charging"];
    let limit = ["export-peak", "fail-safe"];
    for (name, limited, states, tried) in [
        ("harbour-row.ron", true, &all[..2], true),
        ("harbour-row.ron", false, &[], false),
        ("orchard-cottage.ron", true, &all, true),
        ("orchard-cottage.ron", false, &all, false),
        ("mill-yard.ron", false, &all, false),
    ] {
        let mut job = sample(name);
        if !limited {
            job.grid.export_limit_a = None;
        }
        let seat = job.seat(&"grid/profile".parse().unwrap()).unwrap();
        let wanted = job.wanted(seat.owner);
        let asked = |list: &[&'static str]| -> Vec<&'static str> {
            let has = |key: &&&str| wanted.iter().any(|(t, _)| t.key() == **key);
            list.iter().filter(has).copied().collect()
        };
        assert_eq!(asked(&all), states, "{name} {limited}");
        assert_eq!(asked(&limit).len() == 2, tried, "{name} {limited}");
    }
}
