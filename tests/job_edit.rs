//! Editing the record itself: every edit has its inverse, names follow, and no reading is ever thrown away.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::full;
use chrono::DateTime;
use proptest::prelude::*;
use wanderlead::job::{
    Change, ChangeError, CircuitKind, Edit, Job, Layout, Part, Place, Spot, Test,
};

const BY: &str = "jt";

fn edit(spot: Spot, now: Option<Part>) -> Edit {
    Edit {
        spot,
        now,
        whole: false,
        back: Vec::new(),
        to: None,
        by: BY.into(),
        at: DateTime::parse_from_rfc3339("2026-06-18T13:00:00+01:00").unwrap(),
    }
}

fn make(job: &mut Job, edit: Edit) -> Result<Change, ChangeError> {
    job.apply(&Change::Edit(Box::new(edit)))
}

fn circuit(job: &Job, board: &str, id: &str) -> Box<wanderlead::job::Circuit> {
    match job.part(&at(board, id)).unwrap().0 {
        Part::Circuit(c) => c,
        other => panic!("{other:?}"),
    }
}

fn at(board: &str, id: &str) -> Spot {
    Spot::Circuit(board.into(), id.into())
}

/// The record without the history of its edits.
fn content(job: &Job) -> Job {
    let mut job = job.clone();
    job.edits.clear();
    job.history = Default::default();
    job
}

#[test]
fn a_field_is_changed_and_the_readings_stay() {
    let mut job = full("harbour-row.ron");
    let before = job.clone();
    let mut c = circuit(&job, "M", "3");
    c.device.as_mut().unwrap().rating_a = "16".parse().unwrap();
    c.readings = Default::default();
    let back = make(&mut job, edit(at("M", "3"), Some(Part::Circuit(c)))).unwrap();
    let (_, now) = job.circuit("M/3").unwrap();
    assert_eq!(now.device.as_ref().unwrap().rating_a.to_string(), "16");
    assert_eq!(now.readings, before.circuit("M/3").unwrap().1.readings);
    let said = job.edits.last().unwrap();
    assert_eq!(
        (said.what.as_str(), said.how.as_slice()),
        (
            "circuit M/3",
            ["device.rating_a: 20 -> 16".to_string()].as_slice()
        )
    );
    job.apply(&back).unwrap();
    assert_eq!(content(&job), content(&before));
    assert_eq!(job.edits.len(), before.edits.len() + 2);
}

#[test]
fn a_renamed_circuit_and_board_keep_what_names_them() {
    let mut job = full("harbour-row.ron");
    let before = content(&job);
    let fed = job
        .inverters
        .iter()
        .find(|i| !i.circuit.is_empty())
        .unwrap();
    let (board, id) = fed.circuit.split_once('/').unwrap();
    let (board, id, inverter) = (board.to_string(), id.to_string(), fed.id.clone());
    let mut c = circuit(&job, &board, &id);
    c.id = "PV".into();
    let back = make(&mut job, edit(at(&board, &id), Some(Part::Circuit(c)))).unwrap();
    assert_eq!(
        job.inverter(&inverter).unwrap().circuit,
        format!("{board}/PV")
    );
    let Part::Board(mut b) = job.part(&Spot::Board(board.clone())).unwrap().0 else {
        panic!()
    };
    b.id = "CU".into();
    let again = make(&mut job, edit(Spot::Board(board), Some(Part::Board(b)))).unwrap();
    assert_eq!(job.inverter(&inverter).unwrap().circuit, "CU/PV");
    job.apply(&again).unwrap();
    job.apply(&back).unwrap();
    assert_eq!(content(&job), before);
}

#[test]
fn a_copied_circuit_has_no_readings_and_goes_where_it_is_put() {
    let mut job = full("harbour-row.ron");
    let mut copy = circuit(&job, "M", "4");
    copy.id = "4a".into();
    let part = Part::Circuit(copy).without_readings();
    let mut add = edit(at("M", "4a"), Some(part));
    add.to = Some(1);
    make(&mut job, add).unwrap();
    let added = &job.board("M").unwrap().circuits[1];
    assert_eq!((added.id.as_str(), added.readings.is_empty()), ("4a", true));
    assert_eq!(job.edits.last().unwrap().how, ["added"]);
    let mut moved = edit(at("M", "4a"), Some(Part::Circuit(circuit(&job, "M", "4a"))));
    moved.to = Some(0);
    let back = make(&mut job, moved).unwrap();
    assert_eq!(job.board("M").unwrap().circuits[0].id, "4a");
    assert_eq!(job.edits.last().unwrap().how, ["moved"]);
    job.apply(&back).unwrap();
    assert_eq!(job.board("M").unwrap().circuits[1].id, "4a");
}

#[test]
fn readings_that_lose_their_place_are_set_aside_and_come_back() {
    let mut job = full("harbour-row.ron");
    let before = content(&job);
    let held = circuit(&job, "M", "5").readings.iter().count();
    let back = make(&mut job, edit(at("M", "5"), None)).unwrap();
    assert!(job.circuit("M/5").is_none());
    assert_eq!(job.edits.last().unwrap().set_aside.len(), held);
    job.apply(&back).unwrap();
    assert_eq!(content(&job), before);
    // Without its RCD a circuit has no tripping time, and says where the reading went.
    let mut c = circuit(&job, "M", "5");
    c.rcd = None;
    let back = make(&mut job, edit(at("M", "5"), Some(Part::Circuit(c)))).unwrap();
    let aside: Vec<String> = job
        .edits
        .last()
        .unwrap()
        .set_aside
        .iter()
        .map(|(p, _)| p.to_string())
        .collect();
    assert!(aside.contains(&"M/5/rcd-time".to_string()), "{aside:?}");
    let time: Place = "M/5/rcd-time".parse().unwrap();
    assert!(job.entry(&time).is_none());
    job.apply(&back).unwrap();
    assert_eq!(content(&job), before);
    assert_eq!(time.test, Test::RcdTime);
}

/// What must not be done: each leaves the job as it was, and says why.
#[test]
fn an_edit_that_makes_no_sense_is_refused() {
    let mut job = full("harbour-row.ron");
    let before = job.clone();
    let mut twice = circuit(&job, "M", "4");
    twice.id = "3".into();
    let mut bare = circuit(&job, "M", "4");
    bare.device = None;
    let mut fed = circuit(&job, "M", "1");
    fed.kind = CircuitKind::Fixed;
    let by_nobody = Edit {
        by: "zz".into(),
        ..edit(at("M", "4"), None)
    };
    let person = job.people.iter().find(|p| p.id == BY).unwrap().clone();
    let mut renamed = person.clone();
    renamed.id = "xx".into();
    let table = [
        (edit(at("M", "4"), Some(Part::Circuit(twice))), "used twice"),
        (
            edit(at("M", "4"), Some(Part::Circuit(bare))),
            "no protective device",
        ),
        (
            edit(at("M", "1"), Some(Part::Circuit(fed))),
            "isn't kind Source",
        ),
        (edit(at("M", "99"), None), "has no circuit M/99"),
        (
            edit(at("Z", "1"), Some(Part::Circuit(circuit(&job, "M", "4")))),
            "has no circuit Z/1",
        ),
        (edit(Spot::Supply, None), "has no supply"),
        (
            edit(Spot::Supply, Some(Part::Person(Box::new(person)))),
            "has no supply",
        ),
        (by_nobody, "no person `zz`"),
        (edit(Spot::Person(BY.into()), None), "no person"),
        (
            edit(
                Spot::Person(BY.into()),
                Some(Part::Person(Box::new(renamed))),
            ),
            "its id stays",
        ),
    ];
    for (edit, words) in table {
        let what = format!("{:?}", edit.spot);
        let error = make(&mut job, edit).expect_err(&what).to_string();
        assert!(error.contains(words), "{what}: {error}");
        assert_eq!(job, before, "{what}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Any row of removals and moves, taken back in turn, leaves the record as it was.
    #[test]
    fn edits_taken_back_in_turn_leave_the_record_as_it_was(
        picks in proptest::collection::vec((0_usize..40, 0_usize..12, any::<bool>()), 1..8)
    ) {
        for sample in ["harbour-row.ron", "orchard-cottage.ron", "mill-yard.ron"] {
            let mut job = full(sample);
            let by = job.people[0].id.clone();
            let mut spots: Vec<Spot> = job.boards.iter()
                .flat_map(|b| b.circuits.iter().map(|c| at(&b.id, &c.id)))
                .collect();
            spots.extend(job.bonds.iter().map(|b| Spot::Bond(b.id.clone())));
            for a in &job.arrays {
                match &a.layout {
                    Layout::Branches(l) => spots.extend(l.iter().map(|x| Spot::Line(a.id.clone(), x.id.clone()))),
                    Layout::Strings(l) => spots.extend(l.iter().map(|x| Spot::Line(a.id.clone(), x.id.clone()))),
                }
            }
            for text in ["first", "second", "third"] {
                job.observations.push(wanderlead::job::Observation { text: text.into(), by: by.clone(), departure: false, photos: Vec::new() });
            }
            let before = content(&job);
            spots.extend((0..job.observations.len()).map(Spot::Observation));
            spots.extend(job.storage.iter().map(|s| Spot::Storage(s.id.clone())));
            let mut inverses = Vec::new();
            for (pick, to, remove) in &picks {
                let spot = spots[pick % spots.len()].clone();
                let Some((part, _)) = job.part(&spot) else { continue };
                let mut e = edit(spot, (!remove).then_some(part));
                e.by = by.clone();
                e.to = Some(*to);
                if let Ok(inverse) = make(&mut job, e) {
                    inverses.push(inverse);
                }
            }
            for inverse in inverses.iter().rev() {
                job.apply(inverse).unwrap();
            }
            prop_assert_eq!(content(&job), before);
        }
    }
}
