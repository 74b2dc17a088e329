//! The gallery of faults: every fault put into a sound job is named at its place and nowhere else, and sound jobs of other kinds
//! stay clean. Entries are data in `tests/gallery/*.ron`; `bases.ron` explains how to add one.
//!
//! `cargo test --test gallery -- --nocapture` prints the report.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod gallery_help;

use std::collections::BTreeSet;

use gallery_help::{Fault, Gallery, Made, is_meant, notation};
use serde_json::json;
use wanderlead::checks::Finding;

fn shown(f: &Finding) -> String {
    format!("{} {}: {}", f.place, f.verdict, f.why)
}

/// What is wrong with the way a fault is caught; empty where it is caught.
fn missed(gallery: &Gallery, fault: &Fault) -> Vec<String> {
    let job = match gallery.make(&fault.on, &fault.edits) {
        Err(why) => return vec![format!("the entry is wrong: {why}")],
        Ok(Made::Refused(why)) if fault.refused.is_empty() => {
            return vec![format!("the program doesn't take the edits: {why}")];
        }
        Ok(Made::Refused(why)) if why.contains(&fault.refused) => return vec![],
        Ok(Made::Refused(why)) => return vec![format!("refused, but otherwise: {why}")],
        Ok(Made::Job(job)) => job,
    };
    let new = gallery.new_in(&fault.on, &job);
    if !fault.refused.is_empty() {
        return vec!["the job is taken".to_string()];
    }
    let (named, others): (Vec<_>, Vec<_>) =
        new.values().partition(|f| f.place.to_string() == fault.at);
    let mut out: Vec<String> = others
        .into_iter()
        .filter(|f| !fault.also.iter().any(|p| is_meant(p, &f.place)))
        .map(|f| format!("flagged too: {}", shown(f)))
        .collect();
    match named.first() {
        None => out.push(format!("{} is not flagged", fault.at)),
        Some(f) => {
            if !fault.verdict.iter().any(|w| w.is(f.verdict)) {
                out.push(format!("not {:?}: {}", fault.verdict, shown(f)));
            }
            for words in fault.says.iter().filter(|w| !f.why.contains(*w)) {
                out.push(format!("`{words}` is not in: {}", shown(f)));
            }
        }
    }
    out
}

fn report(title: &str, wrong: &[String]) {
    if !wrong.is_empty() {
        panic!("{title}\n{}", wrong.join("\n"));
    }
}

#[test]
fn every_fault_is_caught_at_its_place_and_nowhere_else() {
    let gallery = Gallery::load();
    let mut wrong = Vec::new();
    for (line, fault) in &gallery.faults {
        let missed = missed(&gallery, fault);
        if !missed.is_empty() {
            wrong.push(format!("{line}\n    {}", missed.join("\n    ")));
        }
    }
    let total = gallery.faults.len();
    println!("caught {}/{total}", total - wrong.len());
    report("faults that are not caught as they should be:", &wrong);
    assert!(total >= 40, "only {total} faults");
}

#[test]
fn sound_jobs_raise_no_alarm() {
    let gallery = Gallery::load();
    let mut wrong = Vec::new();
    for (line, sound) in &gallery.sound {
        let alarms: Vec<String> = match gallery.make(&sound.on, &sound.edits) {
            Err(why) => vec![format!("the entry is wrong: {why}")],
            Ok(Made::Refused(why)) => vec![format!("the program doesn't take it: {why}")],
            Ok(Made::Job(job)) => gallery
                .new_in(&sound.on, &job)
                .values()
                .map(shown)
                .collect(),
        };
        if !alarms.is_empty() {
            wrong.push(format!("{line}\n    {}", alarms.join("\n    ")));
        }
    }
    let total = gallery.sound.len();
    println!("false alarms {}/{total}", wrong.len());
    report("sound jobs that are flagged:", &wrong);
    assert!(total >= 20, "only {total} sound jobs");
}

/// A fault in a job that is itself flagged shows less; the jobs to start from have nothing to show.
#[test]
fn bases_are_clean_and_names_are_told_apart() {
    let gallery = Gallery::load();
    for (name, job) in gallery.all_bases() {
        if !matches!(name, "mill-yard" | "orchard-cottage") {
            let flagged: Vec<String> = gallery.flagged(job).values().map(shown).collect();
            assert!(flagged.is_empty(), "{name}:\n{}", flagged.join("\n"));
        }
    }
    let names = gallery.faults.iter().map(|(_, f)| &f.name);
    let names: Vec<&String> = names
        .chain(gallery.sound.iter().map(|(_, s)| &s.name))
        .collect();
    let different: BTreeSet<&&String> = names.iter().collect();
    assert_eq!(names.len(), different.len(), "a name is used twice");
    for (line, fault) in &gallery.faults {
        assert!(
            !fault.refused.is_empty() || !(fault.says.is_empty() || fault.verdict.is_empty()),
            "{line}: says nothing of what has to be said"
        );
    }
}

/// The runner can fail: a fault counts as missed without its edits, at another place, with another verdict, with words that aren't
/// said, or where one more place is flagged than is allowed; and none of the edits passes for a sound job.
#[test]
fn the_runner_notices() {
    let gallery = Gallery::load();
    let mut followed = 0;
    for (line, fault) in &gallery.faults {
        let is_missed = |change: &dyn Fn(&mut Fault)| {
            let mut fault = fault.clone();
            change(&mut fault);
            !missed(&gallery, &fault).is_empty()
        };
        assert!(is_missed(&|f| f.edits.clear()), "{line}");
        if !fault.refused.is_empty() {
            assert!(
                is_missed(&|f| f.refused = "in other words".into()),
                "{line}"
            );
            assert!(is_missed(&|f| f.refused.clear()), "{line}");
            continue;
        }
        assert!(is_missed(&|f| f.at = "safe/sources".into()), "{line}");
        assert!(is_missed(&|f| f.verdict.clear()), "{line}");
        assert!(
            is_missed(&|f| f.says.push("in other words".into())),
            "{line}"
        );
        assert!(is_missed(&|f| f.refused = "anything".into()), "{line}");
        followed += usize::from(is_missed(&|f| f.also.clear()));
    }
    assert!(
        followed > 10,
        "only {followed} have something in their wake"
    );
}

#[test]
fn a_piece_of_a_job_file_is_read() {
    for (text, value) in [
        ("40", json!(40)),
        ("0.50", json!("0.50")),
        ("-4", json!(-4)),
        ("\"a b\"", json!("a b")),
        ("Unidirectional", json!("Unidirectional")),
        ("true", json!(true)),
        ("Copper(\"4\")", json!({"Copper": "4"})),
        ("Armour(4)", json!({"Armour": 4})),
        ("[\"a\", \"b\",]", json!(["a", "b"])),
        (
            "(form: Armoured90, cpc: Copper(10))",
            json!({"form": "Armoured90", "cpc": {"Copper": 10}}),
        ),
    ] {
        assert_eq!(notation::read(text), Ok(value), "{text}");
    }
    for bad in ["", "(a: 1", "\"a", "1 2", "(a: 1 b: 2)", "?"] {
        assert!(notation::read(bad).is_err(), "{bad}");
    }
}
