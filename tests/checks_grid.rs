//! Grid connection: settings read back, meters and transformers, export limit, acceptance and notice.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::{judge_all, profiles, protection_stages};
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Existing, Job, Lines, Test};

fn with_profile(text: &str) -> Job {
    let mut job = tn();
    put(&mut job, &[("grid/profile", text)]);
    job
}

/// Memory: EREC G98 Table 2, and the same for G99 Type A at low voltage.
const STAGES: [(&str, &str, &str); 7] = [
    ("grid/set-uv", "184.0", "2.5"),
    ("grid/set-ov1", "262.2", "1.0"),
    ("grid/set-ov2", "273.7", "0.5"),
    ("grid/set-uf1", "47.5", "20"),
    ("grid/set-uf2", "47.0", "0.5"),
    ("grid/set-of", "52.0", "0.5"),
    ("grid/set-rocof", "1.0", "0.5"),
];

#[test]
fn every_stage_is_set_to_the_figures_of_its_profile() {
    for profile in ["G98", "G99 type A, Great Britain"] {
        let job = with_profile(profile);
        for (place, edge, time) in STAGES {
            let plus = |text: &str| (d(text) + d("0.1")).to_string();
            let minus = |text: &str| (d(text) - d("0.1")).to_string();
            table(
                &job,
                place,
                &[
                    (&format!("{edge} {time}"), Within),
                    (&format!("{edge}0;{time}"), Within),
                    (&format!("{} {time}", plus(edge)), Outside),
                    (&format!("{} {time}", minus(edge)), Outside),
                    (&format!("{edge} {}", plus(time)), Outside),
                    (&format!("{edge} {}", minus(time)), Outside),
                    (
                        &format!("{time} {edge}"),
                        if edge == time { Within } else { Outside },
                    ),
                    // Nothing closes on half a setting.
                    (edge, Open),
                    (&format!("{edge} {time} 0"), Open),
                    ("pass", Query),
                ],
            );
        }
        assert_eq!(limit(&job, "grid/set-ov1"), "= 262.2 V 1.0 s");
    }
}

#[test]
fn a_profile_that_is_not_named_judges_nothing() {
    assert_eq!(profiles(forms()), ["g98", "g99"]);
    for profile in profiles(forms()) {
        assert_eq!(protection_stages(forms(), &profile).unwrap().len(), 7);
    }
    // Memory: EREC G98/NI and G99/NI are documents of their own, with other settings.
    for text in [
        "Great Britain",
        "G98 or G99",
        "g 99",
        "G98/NI",
        "EREC G99/NI Type A",
        "G99 Northern Ireland",
        "G98NI",
    ] {
        let job = with_profile(text);
        let found = typed(&job, "grid/set-uv", "184.0 2.5");
        assert_eq!(found.verdict, Open, "{text}");
        assert!(found.why.contains("g98, g99"), "{}", found.why);
        assert_eq!(at(&job, "grid/profile").verdict, Open, "{text}");
    }
    assert_eq!(typed(&tn(), "grid/set-uv", "184.0 2.5").verdict, Open);
    for text in ["as g99, letter of May", "UK_G99-1", "EREC G99/1-9 Type A"] {
        assert_eq!(
            at(&with_profile(text), "grid/profile").verdict,
            Within,
            "{text}"
        );
    }
}

/// Nothing is connected, and nothing runs, on a profile that nobody can compare with.
#[test]
fn an_unknown_profile_holds_the_first_power_back() {
    let mut job = full("harbour-row.ron");
    let hold = |job: &Job, place: &str| {
        let plan = Plan::new(job, forms());
        let verdicts = Verdicts::new(&judge_all(job, forms()));
        let at = plan.position(&place.parse().unwrap()).unwrap();
        plan.waits_for(at, &verdicts).map(|p| p.to_string())
    };
    assert_eq!(hold(&job, "safe/connected"), None);
    put(&mut job, &[("grid/profile", "Great Britain")]);
    for place in ["safe/connected", "grid/set-uv", "grid/loss-of-mains"] {
        assert_eq!(
            hold(&job, place).as_deref(),
            Some("grid/profile"),
            "{place}"
        );
    }
}

/// Published: ENA and network operators' pages: up to 16 A per phase G98, above it G99.
#[test]
fn the_profile_is_that_of_the_procedure() {
    let profile = |rated: &str, name: &str, accepted: Option<&str>| {
        let mut job = connected(rated, &[]);
        job.grid.accepted = accepted.map(|day| day.parse().unwrap());
        typed(&job, "grid/profile", name).verdict
    };
    assert_eq!(profile("16", "G98", None), Within);
    assert_eq!(profile("16.1", "G98", Some("2026-01-01")), Query);
    assert_eq!(profile("16.1", "G99 type A", None), Within);
    assert_eq!(profile("16", "G99 type A", None), Query);
    assert_eq!(profile("16", "G99 type A", Some("2026-01-01")), Within);
}

/// An empty list doesn't say that nothing was there.
#[test]
fn what_was_there_before_is_answered() {
    let mut job = connected("10", &[]);
    job.grid.existing_none = false;
    let found = at(&job, "grid/connection");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.contains("existing_none: true"), "{}", found.why);
    job.grid.existing_none = true;
    assert_eq!(at(&job, "grid/connection").verdict, Within);
    assert!(job.problems().is_empty());
    job.grid.existing = connected("10", &[("3", Lines::L1)]).grid.existing;
    let fields: Vec<String> = job.problems().into_iter().map(|p| p.field).collect();
    assert_eq!(fields, ["grid.existing_none"]);
}

/// Grid, PV, battery, load.
fn battery() -> Job {
    bare("orchard-cottage.ron")
}

const GOOD: [(&str, [i32; 4]); 3] = [
    ("grid/ct-idle", [900, 0, 0, 900]),
    ("grid/ct-surplus", [-2100, 3000, 0, 900]),
    ("grid/ct-charging", [1500, 800, -1400, 900]),
];

fn text(watts: [i32; 4]) -> String {
    watts.map(|w| w.to_string()).join(" ")
}

/// Derived: grid + PV + battery = load within 10 % of the largest and 50 W, and the signs of each state.
#[test]
fn states_by_sign_and_sum() {
    let job = battery();
    let rows: [(&str, &str, wanderlead::checks::Verdict); 21] = [
        ("grid/ct-idle", "900 0 0 900", Within),
        ("grid/ct-idle", "2000 0 0 1750", Within),
        ("grid/ct-idle", "2000 0 0 1749", Outside),
        ("grid/ct-idle", "-900 0 0 900", Outside),
        ("grid/ct-idle", "900 0 0 -900", Outside),
        ("grid/ct-idle", "900 300 0 900", Outside),
        ("grid/ct-idle", "30 0 0 30", Query),
        ("grid/ct-idle", "0 0 900 900", Query),
        ("grid/ct-idle", "900 0 900", Query),
        ("grid/ct-idle", "900 0 0 900 0", Query),
        ("grid/ct-idle", "lim: no load to be had", Excused),
        ("grid/ct-surplus", "-2100 3000 0 900", Within),
        ("grid/ct-surplus", "2100 3000 0 900", Outside),
        // What a display shows that reckons its load: the sum holds, the sign doesn't.
        ("grid/ct-surplus", "2100 3000 0 5100", Query),
        ("grid/ct-surplus", "-2100 -3000 0 900", Outside),
        ("grid/ct-surplus", "0 3000 -2100 900", Query),
        ("grid/ct-charging", "1500 800 -1400 900", Within),
        ("grid/ct-charging", "1500 800 1400 900", Outside),
        ("grid/ct-charging", "3700 -800 -1400 1500", Outside),
        ("grid/ct-charging", "100 800 0 900", Query),
        ("grid/ct-charging", "2900 800 -1400 900", Outside),
    ];
    for (place, watts, want) in rows {
        let found = typed(&job, place, watts);
        assert_eq!(found.verdict, want, "{place} {watts}: {}", found.why);
    }
}

/// Derived: every way of turning and exchanging the transformers, shown by what a display would read, and named.
#[test]
fn the_cause_is_worked_out_over_all_states() {
    for (turned, order, said) in [
        ([-1, 1, 1], [0, 1, 2], "the grid transformer is reversed"),
        ([1, -1, 1], [0, 1, 2], "the PV transformer is reversed"),
        ([1, 1, -1], [0, 1, 2], "the battery transformer is reversed"),
        (
            [-1, -1, 1],
            [0, 1, 2],
            "the grid and PV transformers are reversed",
        ),
        (
            [1, 1, 1],
            [0, 2, 1],
            "the transformers of PV and battery are swapped",
        ),
        (
            [1, 1, 1],
            [1, 0, 2],
            "the transformers of grid and PV are swapped",
        ),
        (
            [-1, 1, 1],
            [0, 2, 1],
            "the transformers of PV and battery are swapped, and the one shown as grid is reversed",
        ),
        (
            [1, 1, 1],
            [1, 2, 0],
            "the transformers go round: grid is on PV, PV is on battery, battery is on grid",
        ),
    ] {
        let mut job = battery();
        for (place, truth) in GOOD {
            let mut shown = truth;
            for (i, (sign, from)) in turned.iter().zip(order).enumerate() {
                shown[i] = sign * truth[from];
            }
            put(&mut job, &[(place, &text(shown))]);
        }
        let wrong: Vec<String> = GOOD
            .iter()
            .map(|(place, _)| at(&job, place))
            .filter(|f| f.verdict == Outside)
            .map(|f| f.why)
            .collect();
        assert!(!wrong.is_empty(), "{said}");
        for why in wrong {
            assert!(
                why.ends_with(&format!("reads as if {said}")),
                "{said}: {why}"
            );
        }
    }
    let mut job = battery();
    put(&mut job, &[("grid/ct-idle", "2600 0 0 900")]);
    let why = at(&job, "grid/ct-idle").why;
    assert!(why.contains("no turned or swapped"), "{why}");
}

/// Derived: an old array of 12 A gives up to 2760 W that no meter of the battery shows. Common practice: it is switched off for
/// the states. What a turned transformer explains stays outside, and so does more than the array can give, or power that is gone.
#[test]
fn generation_that_was_there_before_runs_unseen() {
    let mut job = battery();
    job.arrays.clear();
    job.inverters
        .retain(|i| job.storage.iter().any(|s| s.inverter == i.id));
    let charging = "grid/ct-charging";
    let rows = [
        ("0 -1500 500", Query),
        ("0 -1500 1400", Query),
        ("0 -1500 1700", Outside),
        ("3000 -1500 900", Outside),
        ("2300 1400 900", Outside),
        ("2300 -1400 900", Within),
    ];
    for (watts, _) in rows.iter().filter(|(_, want)| *want != Within) {
        assert_eq!(typed(&job, charging, watts).verdict, Outside, "{watts}");
    }
    job.grid.existing_none = false;
    job.grid.existing = vec![Existing {
        what: "old array".into(),
        lines: Lines::L1,
        rated_a: d("12"),
    }];
    table(&job, charging, &rows);
    let why = typed(&job, charging, "0 -1500 500").why;
    assert!(
        why.contains("2000 W from what was there before (old array)"),
        "{why}"
    );
    // A reversed transformer at the grid isn't explained away, and the array is named beside it.
    let turned = typed(&job, "grid/ct-idle", "-900 0 900");
    assert_eq!(turned.verdict, Outside);
    assert!(turned.why.contains("the grid transformer is reversed"));
    assert!(turned.why.contains("old array"), "{}", turned.why);
    let before = at(&job, "grid/ct-idle").expected;
    assert!(before.contains("off at its isolator"), "{before}");
}

/// What isn't there is left out: no battery on one sample, neither array nor limit on another.
#[test]
fn numbers_of_what_is_not_there_are_left_out() {
    let job = tn();
    table(
        &job,
        "grid/ct-surplus",
        &[
            ("-2100 3000 900", Within),
            ("2100 3000 900", Outside),
            ("-2100 3000 0 900", Query),
        ],
    );
    let turned = typed(&job, "grid/ct-surplus", "2100 3000 900").why;
    assert!(
        turned.ends_with("the grid transformer is reversed"),
        "{turned}"
    );
    let mut job = battery();
    job.arrays.clear();
    table(
        &job,
        "grid/ct-charging",
        &[("2300 -1400 900", Within), ("2300 1400 900", Outside)],
    );
}

/// The limit agreed; memory: EREC G100, 5 s.
#[test]
fn export_limit_and_its_fail_safe() {
    let mut job = tn();
    job.grid.export_limit_a = Some(d("16"));
    table(
        &job,
        "grid/export-peak",
        &[
            ("16", Within),
            ("16.1", Outside),
            (">99", Outside),
            ("lim: no sun", Excused),
        ],
    );
    table(
        &job,
        "grid/fail-safe",
        &[("5", Within), ("5.1", Outside), ("60", Outside)],
    );
    assert!(Test::ExportPeak.needs_instrument() && !Test::FailSafe.needs_instrument());
}

/// One inverter of so many amperes on a single phase, with what was there before.
fn connected(rated: &str, before: &[(&str, Lines)]) -> Job {
    let mut job = tn();
    job.inverters[0].rated_a = d(rated);
    job.grid.accepted = None;
    job.grid.acceptance = String::new();
    job.grid.notified = None;
    job.grid.existing_none = before.is_empty();
    job.grid.existing = before
        .iter()
        .map(|(amps, lines)| Existing {
            what: "old array".into(),
            lines: *lines,
            rated_a: d(amps),
        })
        .collect();
    job
}

/// Published: ENA and network operators' pages: the sum per phase of all, up to 16 A G98, above it G99.
#[test]
fn everything_on_the_premises_counts() {
    for (rated, before, sum, want) in [
        ("16", &[][..], "16", Within),
        ("16.01", &[], "16.01", Outside),
        ("10", &[("6", Lines::L1)], "16", Within),
        ("10", &[("6.1", Lines::L1)], "16.1", Outside),
        ("10", &[("6.1", Lines::L2)], "16.1", Outside),
        (
            "8",
            &[("4", Lines::L1), ("4.5", Lines::All)],
            "16.5",
            Outside,
        ),
    ] {
        let found = at(&connected(rated, before), "grid/connection");
        assert_eq!(found.verdict, want, "{rated} {before:?}: {}", found.why);
        assert_eq!(found.value.as_deref(), Some(sum));
    }
    // On three phases each line has its own sum.
    let mut job = bare("mill-yard.ron");
    job.grid.accepted = None;
    assert_eq!(at(&job, "grid/connection").value.as_deref(), Some("27.5"));
    job.inverters.pop();
    job.storage.clear();
    let l2 = |amps: &str| Existing {
        what: "old array".into(),
        lines: Lines::L2,
        rated_a: d(amps),
    };
    job.grid.existing = vec![l2("1.5")];
    assert_eq!(at(&job, "grid/connection").verdict, Within);
    job.grid.existing = vec![l2("1.6")];
    assert_eq!(at(&job, "grid/connection").verdict, Outside);
}

#[test]
fn g99_is_accepted_before_anything_is_connected() {
    let day = |text: &str| Some(text.parse().unwrap());
    let mut job = connected("26.1", &[]);
    // Readings of these tables are taken on the day after the latest calibration.
    put(&mut job, &[("grid/loss-of-mains", "pass")]);
    let ran = job
        .grid
        .readings
        .get(Test::LossOfMains)
        .unwrap()
        .now
        .at
        .date_naive();
    for (accepted, reference, want) in [
        (None, "", Outside),
        (None, "INS-1", Outside),
        (Some(ran), "INS-1", Within),
        (ran.pred_opt(), "INS-1", Within),
        (ran.succ_opt(), "INS-1", Outside),
        (Some(ran), " ", Query),
    ] {
        job.grid.accepted = accepted;
        job.grid.acceptance = reference.into();
        let found = at(&job, "grid/connection");
        assert_eq!(
            found.verdict, want,
            "{accepted:?} {reference}: {}",
            found.why
        );
    }
    // Nothing is connected to run over it.
    let mut job = full("harbour-row.ron");
    let hold = |job: &Job| {
        let plan = Plan::new(job, forms());
        let verdicts = Verdicts::new(&judge_all(job, forms()));
        let at = plan.position(&"safe/connected".parse().unwrap()).unwrap();
        plan.waits_for(at, &verdicts).map(|p| p.to_string())
    };
    assert_eq!(hold(&job), None);
    job.grid.accepted = None;
    assert_eq!(hold(&job).as_deref(), Some("grid/connection"));
    job.grid.accepted = day("2026-06-18");
    assert_eq!(hold(&job), None);
    job.grid.accepted = day("2026-06-19");
    assert_eq!(hold(&job).as_deref(), Some("grid/connection"));
}

/// Published: ENA pages: the operator is told within 28 days. 18 June and 28 days is 16 July.
#[test]
fn the_operator_is_told_in_time() {
    let mut job = full("harbour-row.ron");
    for (notified, want) in [
        (None, Within),
        (Some("2026-06-18"), Within),
        (Some("2026-07-16"), Within),
        (Some("2026-07-17"), Outside),
        (Some("2026-06-17"), Query),
    ] {
        job.grid.notified = notified.map(|day| day.parse().unwrap());
        let found = at(&job, "grid/notification");
        assert_eq!(found.verdict, want, "{notified:?}: {}", found.why);
        assert_eq!(found.limit_text(), "by 2026-07-16");
        assert!(
            want == Query || found.why.contains("2026-07-16"),
            "{}",
            found.why
        );
    }
    // The first running counts, also where that reading was struck out since.
    let entry = job
        .grid
        .readings
        .get(Test::LossOfMains)
        .unwrap()
        .now
        .clone();
    let mut earlier = entry.clone();
    earlier.at -= chrono::TimeDelta::days(3);
    job.grid.readings.keep(Test::LossOfMains, earlier);
    job.grid.readings.keep(Test::LossOfMains, entry);
    assert_eq!(at(&job, "grid/notification").limit_text(), "by 2026-07-13");
    // Before it runs there is nothing to tell; PV off, islands and read-back settings are no running.
    let mut job = battery();
    let told = |job: &Job| {
        judge_all(job, forms())
            .iter()
            .any(|f| f.test == "notification")
    };
    put(
        &mut job,
        &[
            ("safe/connected", "pass"),
            ("grid/set-uv", "184.0 2.5"),
            ("grid/ct-idle", "900 0 0 900"),
            ("E/ne-island", "pass"),
            ("P/B1/count", "0"),
            ("grid/reconnect", "lim: no time"),
        ],
    );
    assert!(!told(&job));
    for (place, typed) in [("P/B1/count", "8"), ("grid/ct-surplus", "-2100 3000 0 900")] {
        let mut job = job.clone();
        put(&mut job, &[(place, typed)]);
        assert!(told(&job), "{place}");
    }
}

/// One state that is turned and one that isn't contradict each other: no transformer explains both.
#[test]
fn states_that_contradict_each_other_are_read_again() {
    let mut job = tn();
    put(&mut job, &[("grid/ct-idle", "900 0 900")]);
    let why = typed(&job, "grid/ct-surplus", "2100 3000 900").why;
    assert!(
        why.contains("by itself") && why.contains("read all states again"),
        "{why}"
    );
}

/// With PV off only the grid's sign shows: the smallest change is named, not every one that would fit as well.
#[test]
fn the_smallest_change_is_named() {
    let why = typed(&battery(), "grid/ct-idle", "-900 0 0 900").why;
    assert!(
        why.ends_with("; reads as if the grid transformer is reversed"),
        "{why}"
    );
}

/// A line that a single-phase supply doesn't have hides nothing from the sum.
#[test]
fn a_wrong_line_takes_nothing_out_of_the_sum() {
    let mut job = connected("26.1", &[]);
    let path = job.inverters[0].circuit.clone();
    circuit(&mut job, &path).lines = Lines::L2;
    let found = at(&job, "grid/connection");
    assert_eq!(found.value.as_deref(), Some("26.1"));
    assert_eq!(found.verdict, Outside, "{}", found.why);
}
