//! What a revised issue says that changed, in words.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, later, sample};
use rust_decimal::Decimal;
use wanderlead::job::{Change, Issue, Job, Layout, Observation, Person, Role, Test};

fn issued() -> (Job, Issue) {
    let mut job = sample(CLEAN);
    let issue = job.next_issue("mk", later(), "f", "p").unwrap();
    job.apply(&Change::Issue(Box::new(issue.clone()))).unwrap();
    assert_eq!(job.changed_since(&issue), Vec::<String>::new());
    (job, issue)
}

/// Each part of a record that is altered behind the program's back, and what has to be said of it.
#[test]
fn fields_of_every_part_are_named_in_words() {
    type Alter = fn(&mut Job);
    let cases: [(Alter, &[&str]); 17] = [
        (
            |j| j.client.contact = "x@y".into(),
            &["visit: client contact 01632 960311 -> x@y"],
        ),
        (
            |j| j.extent = "another".into(),
            &["visit: extent New consumer unit", "-> another"],
        ),
        (
            |j| j.documents.push("photos".into()),
            &["visit: documents 5 nothing -> photos"],
        ),
        (
            |j| j.supply.fuse_a = Decimal::from(100),
            &["supply: fuse 80 -> 100 A"],
        ),
        (
            |j| j.bonds[0].mm2 = Decimal::from(16),
            &["bond oil: size 10 -> 16 mm²"],
        ),
        (
            |j| j.grid.operator = "Other".into(),
            &["grid: operator Imaginary Networks South -> Other"],
        ),
        (
            |j| j.boards[0].spd = String::new(),
            &["board M: SPD Type 2, Sample Surge SS-2 -> nothing"],
        ),
        (
            |j| j.boards[0].circuits[0].device.as_mut().unwrap().rating_a = Decimal::from(32),
            &["circuit M/1: device rating 40 -> 32 A"],
        ),
        (
            |j| j.boards[0].circuits[1].cable.as_mut().unwrap().line_mm2 = Decimal::from(4),
            &["circuit M/2: cable line 2.5 -> 4 mm²"],
        ),
        (
            |j| j.boards[0].circuits[1].ring = false,
            &["circuit M/2: ring yes -> no"],
        ),
        (
            |j| j.inverters[0].serial = "S2".into(),
            &["inverter inv1: serial PP6S-118204 -> S2"],
        ),
        (
            |j| j.arrays[0].slope_deg = Decimal::from(40),
            &["array P: slope 38 -> 40°"],
        ),
        (
            |j| match &mut j.arrays[0].layout {
                Layout::Strings(s) => s[0].modules[2] = "EM26-9".into(),
                Layout::Branches(_) => panic!("strings"),
            },
            &["string or branch P/S1: modules 3 EM26-40213 -> EM26-9"],
        ),
        (
            |j| {
                j.people.push(Person {
                    id: "zz".into(),
                    name: "Zenobia Zell".into(),
                    role: Role::Apprentice,
                    firm: String::new(),
                    address: String::new(),
                    registration: String::new(),
                    phone: String::new(),
                });
            },
            &["person zz added (Zenobia Zell)"],
        ),
        (
            |j| j.instruments[3].serial = "C2-1".into(),
            &["instrument clp: serial C2-0931 -> C2-1"],
        ),
        (
            |j| {
                j.observations.push(Observation {
                    text: "Crack in the cover of the meter box.".into(),
                    by: "mk".into(),
                    departure: false,
                    photos: Vec::new(),
                });
            },
            &[
                "observation",
                "added (Crack in the cover of the meter box.)",
            ],
        ),
        (
            |j| drop(j.bonds.pop()),
            &["bond steel removed (steel frame of the boat store)"],
        ),
    ];
    for (alter, want) in cases {
        let (mut job, issue) = issued();
        alter(&mut job);
        let said = job.changed_since(&issue);
        let all = said.join("; ");
        for want in want {
            assert!(all.contains(want), "{want}: {all}");
        }
        // A part that goes takes its readings and its label with it.
        assert!(said.len() <= 3, "{all}");
    }
}

#[test]
fn readings_are_named_by_what_was_typed_and_by_who_took_them() {
    let (mut job, issue) = issued();
    let readings = &mut job.boards[0].circuits[0].readings;
    let mut entry = readings.get(Test::Zs).unwrap().now.clone();
    entry.typed = "36.9".into();
    readings.keep(Test::Zs, entry);
    assert_eq!(job.changed_since(&issue), ["M/1: Zs 37.1 -> 36.9 Ω"]);
    // A reason has no unit.
    let mut excused = job.clone();
    let readings = &mut excused.boards[0].circuits[0].readings;
    let mut entry = readings.get(Test::Zs).unwrap().now.clone();
    entry.typed = "lim: no access".into();
    readings.keep(Test::Zs, entry);
    let said = excused.changed_since(&issue);
    assert_eq!(said, ["M/1: Zs 37.1 -> lim: no access"]);
    // The same figure by somebody else.
    let (mut job, issue) = issued();
    let readings = &mut job.boards[0].circuits[0].readings;
    let mut entry = readings.get(Test::Zs).unwrap().now.clone();
    entry.by = "mk".into();
    readings.keep(Test::Zs, entry);
    let said = job.changed_since(&issue);
    assert!(
        said.len() == 1 && said[0].starts_with("M/1: the same figures"),
        "{said:?}"
    );
}

#[test]
fn later_issues_keep_only_what_is_different_and_together_tell_all() {
    let (mut job, first) = issued();
    assert!(first.record.len() > 20);
    job.inverters[0].firmware = "5.0".into();
    let second = job.next_issue("mk", later(), "f", "p").unwrap();
    let kept: Vec<&String> = second.record.keys().collect();
    assert_eq!(kept, ["inverter inv1"]);
    job.apply(&Change::Issue(Box::new(second.clone()))).unwrap();
    job.bonds.pop();
    let third = job.next_issue("mk", later(), "f", "p").unwrap();
    job.apply(&Change::Issue(Box::new(third.clone()))).unwrap();
    assert!(job.changed_since(&third).is_empty());
    let since_second = job.changed_since(&second);
    assert!(
        since_second
            .iter()
            .any(|c| c.starts_with("bond steel removed")),
        "{since_second:?}"
    );
    assert!(!since_second.iter().any(|c| c.contains("inverter")));
    let since_first = job.changed_since(&first);
    assert!(
        since_first.contains(&"inverter inv1: firmware 4.11 -> 5.0".to_string()),
        "{since_first:?}"
    );
}

#[test]
fn many_changes_are_bounded_and_counted() {
    let (mut job, issue) = issued();
    if let Layout::Strings(s) = &mut job.arrays[0].layout {
        for (n, serial) in s[0].modules.iter_mut().enumerate() {
            *serial = format!("NEW-{n}");
        }
    }
    let said = job.changed_since(&issue);
    assert_eq!(said.len(), 1);
    assert!(said[0].ends_with("and 5 more"), "{said:?}");
}
