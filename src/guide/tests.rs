//! Tests of what waits for what.

use super::*;
use crate::checks::judge_all;
use crate::job::text::parse;

fn half_done() -> (Job, Forms) {
    let text = include_str!("../../sample-jobs/orchard-cottage.ron");
    (parse("sample", text).unwrap(), Forms::embedded().unwrap())
}

/// Verdicts of the half-done sample with some places set by hand.
fn verdicts(job: &Job, forms: &Forms, plan: &Plan, within: impl Fn(&Step) -> bool) -> Verdicts {
    let mut out = Verdicts::new(&judge_all(job, forms));
    for step in plan.steps().iter().filter(|s| within(s)) {
        out.set(&step.place.clone(), Verdict::Within);
        out.to_countersign.remove(&step.place);
    }
    out
}

fn at(plan: &Plan, place: &str) -> usize {
    plan.position(&place.parse().unwrap()).expect(place)
}

/// Everything before the named place is in order, and nothing of it.
fn done_before(job: &Job, forms: &Forms, plan: &Plan, place: &str) -> Verdicts {
    let end = at(plan, place);
    verdicts(job, forms, plan, |s| plan.position(&s.place).unwrap() < end)
}

fn waits(plan: &Plan, place: &str, now: &Verdicts) -> Option<String> {
    plan.waits_for(at(plan, place), now).map(|p| p.to_string())
}

#[test]
fn live_work_waits_for_every_dead_test() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let now = Verdicts::new(&judge_all(&job, &forms));
    let next = plan.steps()[plan.next_open(0, &now).unwrap()]
        .place
        .to_string();
    assert_eq!(waits(&plan, &next, &now), None);
    for live in [
        "supply/ze",
        "safe/energise",
        "R/1/zs",
        "C/1/rcd-time",
        "E/dc-voltage",
        "close/restored",
    ] {
        assert_eq!(waits(&plan, live, &now), Some(next.clone()), "{live}");
    }
}

#[test]
fn a_dead_test_outside_keeps_everything_from_being_made_live() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let mut now = done_before(&job, &forms, &plan, "supply/polarity");
    assert_eq!(waits(&plan, "supply/polarity", &now), None);
    now.set(&"C/2/ir-le".parse().unwrap(), Verdict::Outside);
    for step in at(&plan, "supply/polarity")..plan.steps().len() {
        // Labels make nothing live.
        if plan.steps()[step].kind != Kind::Label {
            assert_eq!(plan.waits_for(step, &now).unwrap().to_string(), "C/2/ir-le");
        }
    }
}

#[test]
fn energising_waits_for_the_supply_to_be_looked_at() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let mut now = done_before(&job, &forms, &plan, "safe/energise");
    assert_eq!(waits(&plan, "safe/energise", &now), None);
    for (place, verdict) in [
        ("supply/ze", Verdict::Open),
        ("supply/polarity", Verdict::Outside),
    ] {
        let before = now.set(&place.parse().unwrap(), verdict).unwrap();
        assert_eq!(waits(&plan, "safe/energise", &now).as_deref(), Some(place));
        now.set(&place.parse().unwrap(), before);
    }
}

/// Common mistakes: a one-way device fed from both sides; a source that leaves its neutral connected.
#[test]
fn energising_waits_for_devices_that_stand_and_isolate_power_from_both_sides() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    for (place, verdict, holds) in [
        ("R/1/both-ways", Verdict::Outside, true),
        ("R/1/both-ways", Verdict::Query, true),
        ("R/1/both-ways", Verdict::Within, false),
        ("R/1/poles-open", Verdict::Outside, true),
        ("R/1/breaking-capacity", Verdict::Outside, true),
        ("R/1/breaking-capacity", Verdict::Within, false),
        ("R/1/cpc", Verdict::Outside, true),
        ("R/1/cpc", Verdict::Query, false),
        ("supply/earthing-size", Verdict::Outside, true),
        ("bond/water/bond-size", Verdict::Outside, true),
        ("R/main-switch", Verdict::Outside, true),
        ("R/main-switch", Verdict::Query, false),
        ("C/1/afdd", Verdict::Outside, false),
        ("P/B1/branch-load", Verdict::Outside, false),
        ("R/1/capacity", Verdict::Outside, false),
        // What gets power: compared before. The rest: before it is connected.
        ("supply/compared", Verdict::Open, true),
        ("bond/water/compared", Verdict::Open, true),
        ("R/compared", Verdict::Open, true),
        ("R/1/compared", Verdict::Open, true),
        ("P/compared", Verdict::Open, false),
        ("inverter/micro/compared", Verdict::Open, false),
        ("E/compared", Verdict::Open, false),
    ] {
        let mut now = done_before(&job, &forms, &plan, "safe/energise");
        now.set(&place.parse().unwrap(), verdict);
        let waits = waits(&plan, "safe/energise", &now);
        assert_eq!(
            waits.as_deref(),
            holds.then_some(place),
            "{place} {verdict}"
        );
    }
}

#[test]
fn nothing_is_connected_and_nobody_signs_over_a_finding_that_is_worked_out() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    for step in ["safe/connected", "sign/inspection"] {
        for found in ["P/B1/branch-load", "R/1/capacity", "R/1/voltage"] {
            let mut now = done_before(&job, &forms, &plan, step);
            assert_eq!(waits(&plan, step, &now), None, "{step}");
            now.set(&found.parse().unwrap(), Verdict::Query);
            assert_eq!(waits(&plan, step, &now), None, "{step} {found}");
            now.set(&found.parse().unwrap(), Verdict::Outside);
            let waits = waits(&plan, step, &now);
            assert_eq!(waits.as_deref(), Some(found), "{step}");
        }
        for found in [
            "R/1/compared",
            "P/compared",
            "inverter/micro/compared",
            "E/compared",
        ] {
            let mut now = done_before(&job, &forms, &plan, step);
            now.set(&found.parse().unwrap(), Verdict::Open);
            let waits = waits(&plan, step, &now);
            assert_eq!(waits.as_deref(), Some(found), "{step}");
        }
    }
}

/// A circuit added once the rest has power: its loop isn't judged by a device that nobody has read.
#[test]
fn live_tests_wait_for_the_figures_of_their_own_part() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    for (place, compared, holds) in [
        ("R/1/zs", "R/1/compared", true),
        ("R/1/zs", "R/compared", true),
        ("R/zdb", "R/compared", true),
        ("R/zdb", "R/1/compared", false),
        ("R/1/zs", "C/compared", false),
        ("R/1/r1r2", "R/1/compared", false),
        ("E/dc-voltage", "E/compared", true),
        ("P/B1/count", "P/compared", true),
    ] {
        let mut now = done_before(&job, &forms, &plan, place);
        assert_eq!(waits(&plan, place, &now), None, "{place}");
        now.set(&compared.parse().unwrap(), Verdict::Open);
        let waits = waits(&plan, place, &now);
        assert_eq!(waits.as_deref(), holds.then_some(compared), "{place}");
    }
}

#[test]
fn loop_and_rcd_tests_wait_for_the_inverters_to_be_isolated() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let now = done_before(&job, &forms, &plan, "safe/inverters-off");
    for test in ["R/zdb", "R/pfc", "R/1/zs", "C/1/zs", "C/1/rcd-time"] {
        assert_eq!(
            waits(&plan, test, &now).as_deref(),
            Some("safe/inverters-off")
        );
    }
}

#[test]
fn nothing_runs_before_the_circuits_are_tested_live() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let mut now = verdicts(&job, &forms, &plan, |s| s.kind != Kind::Sign);
    now.set(&"R/1/zs".parse().unwrap(), Verdict::Open);
    for run in [
        "E/dc-voltage",
        "grid/ct-surplus",
        "grid/loss-of-mains",
        "grid/reconnect",
        "close/restored",
    ] {
        assert_eq!(waits(&plan, run, &now).as_deref(), Some("R/1/zs"), "{run}");
    }
}

/// Nothing is lost by taking the next test of the same place before somebody has countersigned the one before it.
#[test]
fn a_test_that_another_needs_may_be_countersigned_later() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let mut now = verdicts(&job, &forms, &plan, |_| true);
    now.to_countersign.insert("E/dc-polarity".parse().unwrap());
    assert_eq!(waits(&plan, "E/dc-voltage", &now), None);
    let held = waits(&plan, "safe/connected", &now);
    assert_eq!(held.as_deref(), Some("E/dc-polarity"));
    now.set(&"E/dc-polarity".parse().unwrap(), Verdict::Open);
    let held = waits(&plan, "E/dc-voltage", &now);
    assert_eq!(held.as_deref(), Some("E/dc-polarity"));
}

#[test]
fn nobody_signs_while_anything_is_open_or_outside() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let mut now = verdicts(&job, &forms, &plan, |s| s.kind != Kind::Sign);
    assert_eq!(waits(&plan, "sign/design", &now), None);
    now.set(&"R/1/zs".parse().unwrap(), Verdict::Outside);
    assert_eq!(waits(&plan, "sign/design", &now).as_deref(), Some("R/1/zs"));
}

/// Isolated before anything is touched, dead before live, signed last: trade order, common practice.
#[test]
fn every_place_of_a_job_has_its_step_and_stages_come_in_order() {
    let (job, forms) = half_done();
    let plan = Plan::new(&job, &forms);
    let wanted: usize = job.seats().iter().map(|s| job.wanted(s.owner).len()).sum();
    assert_eq!(plan.steps().len(), wanted);
    assert!(plan.steps().windows(2).all(|w| w[0].stage <= w[1].stage));
    let order = [
        "safe/proved-dead",
        "inspect/intake",
        "bond/water/continuity",
        "R/1/r1r2",
        "R/1/ir-le",
        "supply/ze",
        "safe/energise",
        "safe/inverters-off",
        "R/zdb",
        "R/1/zs",
        "close/restored",
        "sign/inspection",
    ];
    assert!(order.windows(2).all(|w| at(&plan, w[0]) < at(&plan, w[1])));
}
