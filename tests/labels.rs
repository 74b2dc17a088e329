//! Labels and notices: which a job needs, against lists written by hand; what adding to a job does; reasons; signatures.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

mod common;

use std::collections::BTreeSet;

use common::{jobs_in, sample};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::{DEFAULTS, Forms, Mark};
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::edit::Edit;
use wanderlead::job::part::{Part, Spot};
use wanderlead::job::text::parse;
use wanderlead::job::{Change, Existing, Job, LabelKind, Place, Reading, Test, Unit};

fn names(job: &Job) -> BTreeSet<String> {
    job.labels_needed().iter().map(|l| l.name()).collect()
}

fn set(of: &[&str]) -> BTreeSet<String> {
    of.iter().map(|s| s.to_string()).collect()
}

fn reading(typed: &str) -> Reading {
    Reading {
        typed: typed.into(),
        unit: Unit::Unitless,
        by: "mk".into(),
        at: "2026-11-20T12:00:00+00:00".parse().unwrap(),
        instrument: None,
        countersigned: None,
        around: None,
        brought: None,
    }
}

/// Written down from the job files with the list of the trade in hand: supplies at origin, meter, boards and points of isolation
/// (514.15.1), joints of earthing and bonding (514.13.1), chart, RCD and next inspection at the boards (514.9, 514.12), what the
/// operator wants at the intake (G98), d.c. and roof (712.514). From memory of those clauses.
#[test]
fn each_sample_needs_what_was_listed_by_hand() {
    let intake = [
        "dual-origin",
        "earth-mark",
        "diagram",
        "settings",
        "shutdown",
        "pv-sign",
        "dual-meter",
    ];
    // One board on TT, two bonds, one string inverter with one array of strings.
    let harbour = [
        "electrode",
        "bond-mark:oil",
        "bond-mark:steel",
        "dual-board:M",
        "chart:M",
        "rcd-notice:M",
        "next-test:M",
        "dual-point:inv1",
        "ac-isolator:inv1",
        "both-sides:inv1",
        "dc-isolator:inv1",
        "dc-route:P",
        "dc-box:P",
    ];
    // Two boards with RCDs, string inverter, battery with an inverter of its own, no backup.
    let mill = [
        "store-sign",
        "bond-mark:water",
        "bond-mark:gas",
        "dual-board:M",
        "chart:M",
        "rcd-notice:M",
        "next-test:M",
        "dual-board:B",
        "chart:B",
        "rcd-notice:B",
        "next-test:B",
        "dual-point:inv1",
        "ac-isolator:inv1",
        "both-sides:inv1",
        "dc-isolator:inv1",
        "dual-point:inv2",
        "ac-isolator:inv2",
        "both-sides:inv2",
        "dc-route:P",
        "dc-box:P",
        "battery:E",
        "battery-off:E",
    ];
    // Micro-inverters on two branches: no d.c. cables to mark. Battery with backup and an electrode for it. No RCD on board R.
    let orchard = [
        "electrode",
        "store-sign",
        "bond-mark:water",
        "bond-mark:oil",
        "dual-board:R",
        "chart:R",
        "next-test:R",
        "dual-board:C",
        "chart:C",
        "rcd-notice:C",
        "next-test:C",
        "dual-point:bat",
        "ac-isolator:bat",
        "both-sides:bat",
        "dual-point:P:B1",
        "ac-isolator:P:B1",
        "dual-point:P:B2",
        "ac-isolator:P:B2",
        "battery:E",
        "battery-off:E",
        "backup:E",
    ];
    for (file, rest) in [
        ("harbour-row.ron", &harbour[..]),
        ("mill-yard.ron", &mill),
        ("orchard-cottage.ron", &orchard),
    ] {
        let want = set(&[&intake[..], rest].concat());
        assert_eq!(names(&sample(file)), want, "{file}");
    }
}

#[test]
fn a_job_without_sources_needs_no_warning_of_a_second_supply() {
    let mut job = sample("harbour-row.ron");
    job.inverters.clear();
    job.arrays.clear();
    let want = [
        "earth-mark",
        "electrode",
        "bond-mark:oil",
        "bond-mark:steel",
        "chart:M",
        "rcd-notice:M",
        "next-test:M",
    ];
    assert_eq!(names(&job), set(&want));
}

/// More equipment never takes a label away, whatever it is added to.
#[test]
fn adding_never_removes_a_label() {
    let donors: Vec<Job> = jobs_in("sample-jobs").into_iter().map(|(_, j)| j).collect();
    for (name, base) in jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"))
    {
        let mut bare = base.clone();
        bare.inverters.clear();
        bare.arrays.clear();
        bare.storage.clear();
        for job in [&base, &bare] {
            let before = names(job);
            for donor in &donors {
                let mut added: Vec<Job> = Vec::new();
                let mut add = |change: &dyn Fn(&mut Job)| {
                    let mut more = job.clone();
                    change(&mut more);
                    added.push(more);
                };
                for (i, b) in donor.boards.iter().enumerate() {
                    let mut b = b.clone();
                    b.id = format!("new{i}");
                    add(&|j| j.boards.push(b.clone()));
                }
                for (i, v) in donor.inverters.iter().enumerate() {
                    let mut v = v.clone();
                    v.id = format!("new{i}");
                    add(&|j| j.inverters.push(v.clone()));
                }
                for (i, s) in donor.storage.iter().enumerate() {
                    let mut s = s.clone();
                    s.id = format!("new{i}");
                    add(&|j| j.storage.push(s.clone()));
                }
                for (i, a) in donor.arrays.iter().enumerate() {
                    let mut a = a.clone();
                    a.id = format!("new{i}");
                    add(&|j| j.arrays.push(a.clone()));
                }
                for more in added {
                    let after = names(&more);
                    assert!(before.is_subset(&after), "{name}: {before:?} {after:?}");
                }
            }
        }
    }
}

#[test]
fn every_label_is_found_by_its_name_and_no_other_is() {
    for (name, job) in jobs_in("sample-jobs") {
        for label in job.labels_needed() {
            let again = job.label(&label.name()).unwrap();
            assert_eq!(
                (again.kind, again.name()),
                (label.kind, label.name()),
                "{name}"
            );
            let place: Place = format!("label/{}/fitted", label.name()).parse().unwrap();
            let seat = job.seat(&place).unwrap();
            assert_eq!(seat.place(Test::Fitted), place);
            assert!(job.part(&job.spot_of(&place)).is_some(), "{place}");
        }
        for wrong in [
            "dual-board",
            "dual-board:ZZ",
            "dual-origin:M",
            "dual-point:P:M:1",
            "xyz",
        ] {
            assert!(job.label(wrong).is_none(), "{name}: {wrong}");
        }
    }
    for wrong in [
        "label/a:b:c:d/fitted",
        "label/dual-board:/fitted",
        "R/a:b/zs",
        "label/a b/fitted",
    ] {
        assert!(wrong.parse::<Place>().is_err(), "{wrong}");
    }
}

#[test]
fn not_applicable_needs_a_reason_and_a_missing_label_is_outside() {
    let forms = Forms::embedded().unwrap();
    let job = sample("orchard-cottage.ron");
    let place: Place = "label/dual-meter/fitted".parse().unwrap();
    for bare in ["n/a:", "n/a: -", "0.5"] {
        assert!(job.would_keep(&place, &reading(bare)).is_err(), "{bare}");
    }
    for (typed, verdict) in [
        ("pass", Verdict::Within),
        ("fail", Verdict::Outside),
        ("n/a: meter and cut-out are one", Verdict::Excused),
        ("lim: label is on order", Verdict::Excused),
    ] {
        // A label that was missing isn't excused.
        let mut job = job.clone();
        job.apply(&Change::Keep {
            place: place.clone(),
            reading: reading(typed),
        })
        .unwrap();
        let found = judge_all(&job, &forms)
            .into_iter()
            .find(|f| f.place == place)
            .unwrap();
        assert_eq!(found.verdict, verdict, "{typed}");
        assert_eq!(found.mark, Some(Mark::Memory), "nobody has seen the clause");
    }
}

#[test]
fn signatures_wait_for_open_and_missing_labels() {
    let forms = Forms::embedded().unwrap();
    let sound = sample("harbour-row.ron");
    let waits = |job: &Job| {
        let plan = Plan::new(job, &forms);
        let now = Verdicts::new(&judge_all(job, &forms));
        let at = plan.position(&"sign/design".parse().unwrap()).unwrap();
        plan.waits_for(at, &now).map(|p| p.to_string())
    };
    assert_eq!(waits(&sound), None);
    for label in sound.labels_needed() {
        let name = label.name();
        let place = format!("label/{name}/fitted");
        let mut open = sound.clone();
        open.labels.remove(&name).unwrap();
        assert_eq!(waits(&open).as_deref(), Some(place.as_str()));
        let mut fail = sound.clone();
        let failed = Change::Keep {
            place: place.parse().unwrap(),
            reading: reading("fail"),
        };
        fail.apply(&failed).unwrap();
        assert_eq!(waits(&fail).as_deref(), Some(place.as_str()));
    }
}

fn edit(spot: Spot, now: Option<Part>) -> Change {
    Change::Edit(Box::new(Edit {
        spot,
        now,
        whole: false,
        back: Vec::new(),
        to: None,
        by: "mk".into(),
        at: "2026-11-20T12:00:00+00:00".parse().unwrap(),
    }))
}

/// The job without its history, which also keeps what was undone.
fn apart_from_history(mut job: Job) -> Job {
    job.edits.clear();
    job.history = Default::default();
    job
}

#[test]
fn a_label_goes_with_its_part_and_comes_back_with_it() {
    let before = sample("mill-yard.ron");
    // Another id: everything that was fitted stays fitted.
    let mut job = before.clone();
    let Some((Part::Inverter(mut inverter), _)) = job.part(&Spot::Inverter("inv2".into())) else {
        panic!("no inverter")
    };
    inverter.id = "wr".into();
    let undo = job
        .apply(&edit(
            Spot::Inverter("inv2".into()),
            Some(Part::Inverter(inverter)),
        ))
        .unwrap();
    assert!(
        job.labels.contains_key("both-sides:wr") && !job.labels.contains_key("both-sides:inv2")
    );
    assert_eq!(job.labels.len(), before.labels.len());
    job.apply(&undo).unwrap();
    assert_eq!(apart_from_history(job), apart_from_history(before.clone()));
    // Taken out: its labels are set aside, not lost, and come back.
    let mut job = before.clone();
    let undo = job.apply(&edit(Spot::Storage("E".into()), None)).unwrap();
    let gone = |job: &Job| job.labels.keys().filter(|k| k.ends_with(":E")).count();
    assert_eq!(gone(&job), 0);
    let aside = &job.edits.last().unwrap().set_aside;
    let of_labels = aside.iter().filter(|(p, _)| p.top == "label").count();
    assert_eq!(
        of_labels, 3,
        "its two and the sign at the intake: {aside:?}"
    );
    assert_eq!(job.problems(), []);
    job.apply(&undo).unwrap();
    assert_eq!(apart_from_history(job), apart_from_history(before));
}

#[test]
fn taking_a_label_back_leaves_nothing_behind() {
    let before = sample("orchard-cottage.ron");
    let mut job = before.clone();
    let place: Place = "label/backup:E/fitted".parse().unwrap();
    let undo = job
        .apply(&Change::Keep {
            place,
            reading: reading("pass"),
        })
        .unwrap();
    assert_ne!(job, before);
    job.apply(&undo).unwrap();
    assert_eq!(apart_from_history(job), apart_from_history(before));
}

#[test]
fn a_reading_of_a_label_that_is_not_needed_is_a_problem() {
    let mut job = sample("harbour-row.ron");
    let stray = job.labels["dual-board:M"].clone();
    job.labels.insert("dual-board:X".into(), stray);
    let problems = job.problems();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(problems[0].what.contains("needs no label `dual-board:X`"));
}

#[test]
fn wording_is_complete_unseen_clauses_are_never_published_and_old_files_still_load() {
    let forms = Forms::embedded().unwrap();
    let mut said = BTreeSet::new();
    for kind in LabelKind::ALL {
        let words = forms.labels().get(*kind).unwrap();
        assert!(words.source.mark != Mark::Published && !words.source.checked_against_current);
        assert!(
            said.insert(words.says.clone()),
            "{} is worded twice",
            kind.key()
        );
    }
    // A job from before there were labels.
    let text = common::read(&common::root().join("sample-jobs/harbour-row.ron"));
    let from = text.find("    labels: {\n        \"dual-origin\"").unwrap();
    let to = text[from..].find("\n    },\n").unwrap() + from + 8;
    let old = format!("{}{}", &text[..from], &text[to..]);
    let job: Job = parse("old", &old).unwrap();
    assert!(job.labels.is_empty() && job.problems().is_empty());
}

#[test]
fn a_file_of_labels_that_lost_or_bent_an_entry_is_refused() {
    let (_, shipped) = DEFAULTS.iter().find(|(n, _)| *n == "labels.ron").unwrap();
    let refused = |from: &str, to: &str| {
        assert!(shipped.contains(from), "{from}");
        let text = shipped.replacen(from, to, 1);
        let error = Forms::from_texts(&[("labels.ron".into(), text)]).unwrap_err();
        assert_eq!(error.file, "labels.ron");
        (error.line, error.what)
    };
    let line = |of: &str| shipped[..shipped.find(of).unwrap()].matches('\n').count() + 1;
    let battery = line("label: \"battery\"");
    for (from, to, at, what) in [
        (
            "label: \"battery\", at: Storage",
            "label: \"batery\", at: Storage",
            battery,
            "no label is called `batery`",
        ),
        (
            "label: \"battery\", at: Storage",
            "label: \"battery-off\", at: Storage",
            line("label: \"battery-off\"") - 3,
            "given twice",
        ),
        (
            "label: \"battery\", at: Storage",
            "label: \"battery\", at: Board",
            battery,
            "follows from the job",
        ),
        (
            "label: \"battery\", at: Storage, when: Always",
            "label: \"battery\", at: Storage, when: Pv",
            battery,
            "follows from the job",
        ),
        (
            "when: Always, source: \"battery\"",
            "when: Always, source: \"mine\"",
            battery,
            "no source is called `mine`",
        ),
        (
            "Solar d.c., live by day.",
            " ",
            line("label: \"dc-route\""),
            "can't be shown",
        ),
    ] {
        let (found, said) = refused(from, to);
        assert!(said.contains(what), "{said}");
        assert_eq!(found, at, "{what}");
    }
    let long = "x".repeat(221);
    assert!(
        refused("Solar d.c., live by day.", &long)
            .1
            .contains("221 characters")
    );
    let entry = shipped.find("(label: \"backup\"").unwrap();
    let end = shipped[entry..].find("\"),\n").unwrap() + entry + 4;
    let without = format!("{}{}", &shipped[..entry], &shipped[end..]);
    let error = Forms::from_texts(&[("labels.ron".into(), without)]).unwrap_err();
    assert_eq!(
        (error.field.as_str(), error.what.as_str()),
        ("backup", "this label is missing")
    );
    // Other words count.
    let own = shipped.replacen("Solar d.c., live by day.", "Solar cable, live.", 1);
    let forms = Forms::from_texts(&[("labels.ron".into(), own)]).unwrap();
    assert_eq!(
        forms.labels().get(LabelKind::DcRoute).unwrap().says,
        "Solar cable, live."
    );
}

#[test]
fn the_page_of_reasons_names_the_clause_and_that_nobody_saw_it() {
    let forms = Forms::embedded().unwrap();
    let job = sample("mill-yard.ron");
    let found = judge_all(&job, &forms);
    let missing = found
        .iter()
        .find(|f| f.place.top == "label" && f.verdict == Verdict::Outside);
    let told: Vec<String> = wanderlead::checks::explain(missing.unwrap())
        .iter()
        .map(|t| format!("{t:?}"))
        .collect();
    let told = told.join("\n");
    for words in [
        "514.15.1",
        "memory: recalled, not seen",
        "not compared with the edition in force",
        "may feed this board",
    ] {
        assert!(told.to_lowercase().contains(words), "{words}: {told}");
    }
}

/// A battery comes to a place with solar panels of its own: the fire crew has to know of those too (712.514, from memory).
#[test]
fn an_array_that_was_there_before_has_its_sign() {
    for (what, has) in [
        ("old PV, 2014", true),
        ("3.6 kW of solar panels on the barn", true),
        ("an array of the neighbour", true),
        ("diesel generator", false),
        ("wind turbine", false),
    ] {
        let mut job = sample("orchard-cottage.ron");
        job.arrays.clear();
        assert!(!names(&job).contains("pv-sign"));
        job.grid.existing_none = false;
        job.grid.existing = vec![Existing {
            what: what.into(),
            lines: Default::default(),
            rated_a: "3".parse().unwrap(),
        }];
        assert_eq!(names(&job).contains("pv-sign"), has, "{what}");
    }
}
