//! Wording, order of work, samples and starters: every test that a job asks for has its step, every shipped job loads.

#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used)]

mod common;

use std::collections::{BTreeMap, BTreeSet};

use chrono::{DateTime, FixedOffset};
use common::{jobs_in, read, root, sample};
use wanderlead::checks::{Finding, Verdict, judge_all};
use wanderlead::forms::{Forms, StepText, Walk};
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Answer, Function, Group, Job, Need, Place, Role, Test, Value};

/// More than this doesn't fit three lines of the narrowest screen.
const LONGEST: usize = 220;

fn walk() -> Walk {
    Forms::embedded()
        .unwrap_or_else(|e| panic!("{e}"))
        .walk()
        .clone()
}

fn steps(walk: &Walk) -> Vec<(bool, &StepText)> {
    walk.stages
        .iter()
        .flat_map(|s| {
            s.rounds
                .iter()
                .flat_map(move |r| r.steps.iter().map(move |t| (s.live, t)))
        })
        .collect()
}

/// Fields of a step that are read on the screen.
fn fields(s: &StepText) -> [(&'static str, &str); 7] {
    [
        ("name", &s.name),
        ("connect", &s.connect),
        ("setting", &s.setting),
        ("caution", &s.caution),
        ("put_back", &s.put_back),
        ("why", &s.why),
        ("ask", &s.ask),
    ]
}

/// Places of required tests without a reading.
fn open(job: &Job) -> Vec<String> {
    job.seats()
        .iter()
        .flat_map(|seat| {
            job.wanted(seat.owner)
                .into_iter()
                .filter(|(t, need)| *need == Need::Required && seat.readings.get(*t).is_none())
                .map(|(t, _)| seat.place(t).to_string())
                .collect::<Vec<_>>()
        })
        .collect()
}

#[test]
fn samples_and_starters_are_sound() {
    let all: Vec<(String, Job)> = jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
        .collect();
    let names: Vec<&str> = all.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(
        names,
        [
            "sample-jobs/harbour-row.ron",
            "sample-jobs/mill-yard.ron",
            "sample-jobs/orchard-cottage.ron",
            "forms/starters/battery.ron",
            "forms/starters/hybrid.ron",
            "forms/starters/micro.ron",
            "forms/starters/string.ron",
            "forms/starters/three-phase.ron",
            "forms/starters/tt.ron",
        ]
    );
    for (name, job) in &all {
        assert_eq!(job.problems(), [], "{name}");
    }
}

#[test]
fn every_test_a_job_asks_for_has_its_step() {
    let walk = walk();
    for (name, job) in jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
    {
        for seat in job.seats() {
            for (test, _) in job.wanted(seat.owner) {
                assert!(
                    walk.step(seat.owner.kind(), test).is_some(),
                    "{name}: no step for {}",
                    seat.place(test)
                );
            }
        }
    }
    let known: BTreeSet<Test> = steps(&walk).iter().map(|(_, s)| s.test).collect();
    for test in Test::ALL.iter().filter(|t| !t.is_derived()) {
        assert!(known.contains(test), "no step at all for {test}");
    }
}

#[test]
fn stages_come_in_the_order_of_the_work() {
    let walk = walk();
    let order: Vec<(&str, bool)> = walk
        .stages
        .iter()
        .map(|s| (s.id.as_str(), s.live))
        .collect();
    assert_eq!(
        order,
        [
            ("before", false),
            ("inspection", false),
            ("dead", false),
            ("live", true),
            ("array", true),
            ("storage", true),
            ("settings", true),
            ("wake", true),
            ("run", true),
            ("labels", false),
            ("close", false),
            ("sign", false),
        ]
    );
    // A live test of the supply with the main switch off, before anything is energised; loop before RCD.
    let tests: Vec<Test> = steps(&walk).iter().map(|(_, s)| s.test).collect();
    let at = |t: Test| tests.iter().position(|x| *x == t).unwrap();
    let last = |t: Test| tests.iter().rposition(|x| *x == t).unwrap();
    assert!(at(Test::ProvedDead) < at(Test::Continuity));
    assert!(last(Test::IrLe) < at(Test::Ze) && at(Test::Ze) < at(Test::Energise));
    assert!(at(Test::Energise) < at(Test::InvertersOff) && at(Test::InvertersOff) < at(Test::Zdb));
    assert!(at(Test::Zs) < last(Test::RcdHalf) && at(Test::Zdb) < at(Test::RcdTime));
    assert!(at(Test::RcdTime) < at(Test::RcdButton));
    // The link between line and cpc that polarity uses is shown absent by the insulation test after it.
    assert!(at(Test::RingLn) < at(Test::R1r2) && at(Test::R1r2) < at(Test::Polarity));
    assert!(at(Test::Polarity) < at(Test::IrLl) && at(Test::IrLl) < at(Test::IrLe));
    // What is tested apart, before it is put together; then settings are read back, a.c. still open; then the first run.
    assert!(last(Test::RcdFive) < at(Test::Profile) && at(Test::Connected) < at(Test::SetUv));
    for apart in [Test::Voc, Test::IrJoined, Test::DcVoltage, Test::Profile] {
        assert!(last(apart) < at(Test::Connected), "{apart}");
    }
    assert!(at(Test::CellTemp) < at(Test::Irradiance) && at(Test::Irradiance) < at(Test::Voc));
    // Electrode of the backup output while all is dead; its RCD once the link is known to be closed.
    assert!(last(Test::Ra) < at(Test::Energise) && at(Test::NeIsland) < last(Test::RcdTime));
    for run in [
        Test::Count,
        Test::Balance,
        Test::CtIdle,
        Test::CtSurplus,
        Test::CtCharging,
        Test::ExportPeak,
        Test::FailSafe,
        Test::NeGrid,
        Test::NeIsland,
        Test::LossOfMains,
        Test::Reconnect,
    ] {
        assert!(last(Test::SetRocof) < at(run), "{run}");
    }
}

#[test]
fn wording_fits_and_is_not_repeated() {
    let walk = walk();
    let mut seen: BTreeMap<&str, String> = BTreeMap::new();
    for (_, step) in steps(&walk) {
        for (field, text) in fields(step) {
            let n = text.chars().count();
            assert!(n <= LONGEST, "{} {field}: {n} characters", step.name);
            assert_eq!(text.trim(), text, "{} {field}", step.name);
            assert!(
                !text.contains("  ") && text.chars().all(|c| !c.is_control()),
                "{} {field}",
                step.name
            );
            // The same range of the instrument, or what a signature asks for, may well be worded alike.
            if !["name", "connect", "caution", "why"].contains(&field) || text.is_empty() {
                continue;
            }
            let here = format!("{} {field}", step.name);
            if let Some(other) = seen.insert(text, here.clone()) {
                panic!("{here} and {other} are worded the same: {text}");
            }
        }
        assert!(
            !step.connect.is_empty() && !step.why.is_empty(),
            "{}",
            step.name
        );
        assert!(step.name.chars().count() <= 30, "{}", step.name);
    }
    for caution in &walk.cautions {
        assert!(caution.chars().count() <= LONGEST, "{caution}");
    }
}

#[test]
fn steps_carry_what_their_answer_needs() {
    let walk = walk();
    for (live, step) in steps(&walk) {
        let test = step.test;
        if test.needs_instrument() {
            assert!(
                !step.setting.is_empty(),
                "{}: what is the instrument set to?",
                step.name
            );
            assert!(
                !live || !step.caution.is_empty(),
                "{}: live and no caution",
                step.name
            );
        }
        if test.answer() == Answer::Text {
            assert!(!step.ask.is_empty(), "{}: what is typed here?", step.name);
        }
        if let Some(over) = &step.over {
            assert_eq!(test.answer(), Answer::Number, "{}", step.name);
            assert!(matches!(
                Value::parse(Answer::Number, &format!(">{over}")),
                Ok(Value::OverRange(_))
            ));
        }
    }
    // What was taken off for a test and can kill if it is forgotten.
    for test in [Test::Ze, Test::Ra, Test::R1r2] {
        assert!(
            steps(&walk)
                .iter()
                .any(|(_, s)| s.test == test && !s.put_back.is_empty()),
            "{test}"
        );
    }
    for test in [Test::Connectors, Test::Isc, Test::Voc] {
        for (_, s) in steps(&walk).iter().filter(|(_, s)| s.test == test) {
            assert!(s.caution.to_lowercase().contains("never"), "{}", s.name);
        }
    }
}

#[test]
fn reasons_can_be_typed_as_they_are() {
    let forms = Forms::embedded().unwrap();
    let reasons = forms.reasons();
    for (prefix, list) in [
        ("lim:", &reasons.limitation),
        ("n/a:", &reasons.not_applicable),
    ] {
        assert!((8..=10).contains(&list.len()), "{prefix} {}", list.len());
        assert_eq!(list.iter().collect::<BTreeSet<_>>().len(), list.len());
        for reason in list {
            assert!(reason.chars().count() <= 60, "{reason}");
            assert!(
                Value::parse(Answer::Number, &format!("{prefix} {reason}"))
                    .unwrap()
                    .is_excused()
            );
        }
    }
}

#[test]
fn starters_have_a_qualified_person_and_no_readings() {
    for (name, job) in jobs_in("forms/starters") {
        assert!(job.seats().iter().all(|s| s.readings.is_empty()), "{name}");
        assert_eq!(job.people.len(), 1, "{name}");
        assert_eq!(job.people.first().unwrap().role, Role::Qualified, "{name}");
    }
}

#[test]
fn the_finished_samples_lack_only_what_was_planted() {
    assert_eq!(open(&sample("harbour-row.ron")), Vec::<String>::new());
    assert_eq!(open(&sample("mill-yard.ron")), ["B/2/zs"]);
    let left = open(&sample("orchard-cottage.ron"));
    assert!((75..=95).contains(&left.len()), "{}: {left:?}", left.len());
}

/// Places that a check flags: all but those within, and those excused with a reason.
fn flagged(job: &Job) -> BTreeMap<String, String> {
    judge_all(job, &Forms::embedded().unwrap())
        .into_iter()
        .filter(|f| !matches!(f.verdict, Verdict::Within | Verdict::Excused))
        .map(|f| (f.place.to_string(), format!("{}: {}", f.verdict, f.why)))
        .collect()
}

#[test]
fn the_clean_sample_is_clean() {
    let job = sample("harbour-row.ron");
    assert_eq!(flagged(&job), BTreeMap::new());
    let findings = judge_all(&job, &Forms::embedded().unwrap());
    let excused: Vec<String> = findings
        .iter()
        .filter(|f| f.verdict == Verdict::Excused)
        .map(|f| f.place.to_string())
        .collect();
    assert_eq!(excused, ["inspect/other-means"]);
}

/// Everything after a step is open while it is its turn: so it waits for nothing that comes later either.
#[test]
fn whoever_walks_in_order_never_meets_a_step_that_waits() {
    let forms = Forms::embedded().unwrap();
    for (name, job) in jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
    {
        let plan = Plan::new(&job, &forms);
        let pattern = judge_all(&job, &forms).first().unwrap().clone();
        let mut done: Vec<Finding> = Vec::new();
        for (i, step) in plan.steps().iter().enumerate() {
            let now = Verdicts::new(&done);
            assert_eq!(plan.waits_for(i, &now), None, "{name}: {}", step.place);
            if step.need == Need::Required {
                assert_eq!(plan.next_open(0, &now), Some(i), "{name}: {}", step.place);
            }
            done.push(Finding {
                place: step.place.clone(),
                verdict: Verdict::Within,
                ..pattern.clone()
            });
        }
        assert_eq!(plan.next_open(0, &Verdicts::new(&done)), None, "{name}");
    }
}

#[test]
fn the_half_done_sample_has_nothing_against_it_so_far() {
    let mut found = flagged(&sample("orchard-cottage.ron"));
    found.retain(|_, why| !why.starts_with("open"));
    assert_eq!(found, BTreeMap::new());
}

#[test]
fn the_planted_faults_are_what_is_found() {
    let text = read(&root().join("sample-jobs/mill-yard.ron"));
    // Each line of the list at the top: place, verdict, what is wrong.
    let listed: BTreeSet<(String, String)> = text
        .lines()
        .filter_map(|l| {
            let mut words = l.strip_prefix("// ")?.split_whitespace();
            let place: Place = words.next()?.parse().ok()?;
            Some((place.to_string(), words.next()?.to_string()))
        })
        .collect();
    assert_eq!(
        listed.len(),
        27,
        "23 planted faults in 25 places and 2 that follow from them"
    );
    let found: BTreeSet<(String, String)> = flagged(&sample("mill-yard.ron"))
        .into_iter()
        .map(|(place, why)| (place, why.split(':').next().unwrap_or("").to_string()))
        .collect();
    assert_eq!(found, listed);
}

#[test]
fn readings_of_samples_come_in_the_order_of_the_work() {
    let walk = walk();
    for (name, job) in jobs_in("sample-jobs") {
        let mut latest: Option<(DateTime<FixedOffset>, String)> = None;
        for stage in &walk.stages {
            let mut here: Vec<(DateTime<FixedOffset>, String)> = Vec::new();
            for round in &stage.rounds {
                for seat in job
                    .seats()
                    .iter()
                    .filter(|s| round.visits.contains(&s.owner.kind()))
                {
                    let mut before = None;
                    for step in &round.steps {
                        if let Some(entry) = seat.readings.get(step.test) {
                            assert!(
                                before <= Some(entry.now.at),
                                "{name}: {} came too early",
                                seat.place(step.test)
                            );
                            before = Some(entry.now.at);
                            here.push((entry.now.at, seat.place(step.test).to_string()));
                        }
                    }
                }
            }
            if let (Some((before, place)), Some((first, at))) = (&latest, here.iter().min()) {
                assert!(before < first, "{name}: {at} was taken before {place}");
            }
            latest = here.into_iter().max().or(latest);
        }
        if let Some((_, place)) = latest.filter(|_| !job.sign.is_empty()) {
            assert!(
                place.starts_with(Group::Sign.key()),
                "{name}: {place} after the signatures"
            );
        }
    }
}

#[test]
fn readings_of_samples_name_a_fit_instrument_and_a_fit_person() {
    for (name, job) in jobs_in("sample-jobs") {
        assert!(
            job.people.iter().any(|p| p.role == Role::Apprentice),
            "{name}"
        );
        for seat in job.seats() {
            for (test, entry) in seat.readings.iter() {
                let place = seat.place(test);
                let value = entry.now.value(test).unwrap();
                let day = entry.now.at.date_naive();
                match (
                    Function::of(test),
                    value.is_excused(),
                    &entry.now.instrument,
                ) {
                    (Some(function), false, Some(id)) => {
                        let tool = job.instrument(id).unwrap();
                        assert!(tool.functions.contains(&function), "{name} {place}: {id}");
                        assert!(
                            tool.calibrated <= day && day <= tool.due,
                            "{name} {place}: {id}"
                        );
                    }
                    (Some(_), false, None) => panic!("{name} {place}: no instrument"),
                    (_, _, Some(id)) => panic!("{name} {place}: {id} for nothing"),
                    _ => {}
                }
                if test.is_signature() {
                    let person = job.person(&entry.now.by).unwrap();
                    assert_eq!(value, Value::Text(person.name.clone()), "{name} {place}");
                }
            }
        }
    }
}
