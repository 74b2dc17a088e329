//! Boards that a backup output feeds: where they stand in the network, what protects in island mode, the drawing, and the order
//! in which a customer switches off.
//!
//! What island mode takes from an overcurrent device is published: IET Wiring Matters, March 2021 (the distributor's earth isn't
//! relied on, and the inverter limits the fault current).
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use chrono::DateTime;
use wanderlead::forms::Forms;
use wanderlead::job::{Board, CircuitKind, InverterKind, Job};
use wanderlead::paper::draft;

/// Orchard Cottage with a board of one lighting and one socket circuit on the backup output of its battery.
fn backed() -> Job {
    let mut job = bare("orchard-cottage.ron");
    let old = job.board("C").unwrap().clone();
    let circuits = old
        .circuits
        .iter()
        .filter(|c| !c.ring && matches!(c.kind, CircuitKind::Sockets | CircuitKind::Lighting))
        .cloned()
        .map(|mut c| {
            c.rcd = None;
            c
        })
        .collect();
    job.boards.push(Board {
        id: "K".into(),
        name: "backup board".into(),
        location: "larder".into(),
        fed_from: "R/3".into(),
        rcd: None,
        circuits,
        ..old
    });
    job
}

/// A loop of the first circuit of that board, and its place.
fn put_zs(job: &mut Job, ohm: &str) -> String {
    let first = job.board("K").unwrap().circuits[0].id.clone();
    let place = format!("K/{first}/zs");
    put(job, &[(&place, ohm)]);
    place
}

#[test]
fn a_board_hangs_on_a_backup_output_only_where_there_is_one() {
    let job = backed();
    assert_eq!(job.problems(), []);
    let board = job.board("K").unwrap();
    assert_eq!(job.backup_of(board).map(|s| s.id.as_str()), Some("E"));
    assert_eq!(
        job.boards_on_backup(&job.storage[0])
            .map(|b| b.id.as_str())
            .collect::<Vec<_>>(),
        ["K"]
    );
    for other in ["R", "C"] {
        assert!(job.backup_of(job.board(other).unwrap()).is_none());
    }
    let mut without = job.clone();
    without.storage[0].backup = false;
    let problems = without.problems();
    assert_eq!(problems.len(), 1, "{problems:?}");
    assert!(problems[0].field.ends_with("fed_from") && problems[0].remedy.contains("backup: true"));
    // Of a branch of micro-inverters nothing is fed.
    let mut micro = job;
    micro.boards.last_mut().unwrap().fed_from = "R/1".into();
    assert_eq!(micro.problems().len(), 1);
}

#[test]
fn in_island_mode_an_overcurrent_device_proves_nothing() {
    let mut job = backed();
    let place = put_zs(&mut job, "0.62");
    let found = at(&job, &place);
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.contains("island mode"), "{}", found.why);
    // The same loop on a board that hangs on the grid alone.
    let mut grid = job.clone();
    let board = grid.boards.iter_mut().find(|b| b.id == "K").unwrap();
    board.fed_from = String::new();
    let found = at(&grid, &place);
    assert_eq!(found.verdict, Within, "{}", found.why);
    // An RCD ahead of the inverter is not in the way of a fault beyond its backup output.
    let rcd = job
        .boards
        .iter()
        .flat_map(|b| &b.circuits)
        .find_map(|c| c.rcd.clone())
        .unwrap();
    let mut ahead = job.clone();
    let board = ahead.boards.iter_mut().find(|b| b.id == "R").unwrap();
    let circuit = board.circuits.iter_mut().find(|c| c.id == "3").unwrap();
    circuit.rcd = Some(rcd.clone());
    assert_eq!(at(&ahead, &place).verdict, Query);
    // One at the board itself is.
    let board = job.boards.iter_mut().find(|b| b.id == "K").unwrap();
    board.rcd = Some(rcd);
    let found = at(&job, &place);
    assert_eq!(found.verdict, Within, "{}", found.why);
}

#[test]
fn an_rcd_ahead_of_the_inverter_gives_no_additional_protection_beyond_it() {
    let mut job = backed();
    let rcd = job
        .boards
        .iter()
        .flat_map(|b| &b.circuits)
        .find_map(|c| c.rcd.clone())
        .unwrap();
    let sockets = {
        let board = job.board("K").unwrap();
        let one = board.circuits.iter();
        let mut one = one.filter(|c| c.kind == CircuitKind::Sockets);
        one.next().unwrap().id.clone()
    };
    let board = job.boards.iter_mut().find(|b| b.id == "R").unwrap();
    let circuit = board.circuits.iter_mut().find(|c| c.id == "3").unwrap();
    circuit.rcd = Some(rcd.clone());
    let place = format!("K/{sockets}/additional-protection");
    assert_eq!(at(&job, &place).verdict, Outside);
    let board = job.boards.iter_mut().find(|b| b.id == "K").unwrap();
    board.rcd = Some(rcd);
    assert_eq!(at(&job, &place).verdict, Within);
}

fn text_of(bytes: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, bytes).unwrap();
    let said = std::process::Command::new("pdftotext")
        .arg(&path)
        .arg("-")
        .output()
        .expect("poppler-utils");
    let text = String::from_utf8(said.stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn drawing_and_handover_say_what_the_backup_output_feeds() {
    let mut job = backed();
    job.storage[0].backup_feeds = "the lights of the stair".into();
    let forms = Forms::embedded().unwrap();
    let at = DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
    let text = text_of(&draft(&job, &forms, at).unwrap().bytes);
    for said in [
        "from the backup output of E, whose inverter is on R/3",
        "stays live without the grid, by the backup output of E",
        "through the backup output of E",
        "the lights of the stair and everything on the backup board",
    ] {
        assert!(text.contains(said), "{said}");
    }
    assert!(!text.contains("what the backup output of E feeds"));
    // What the battery would take over is switched off before the inverter loses the grid, and on again after it.
    let off = text.find("Turn off the main switch of the backup board");
    let ac = text.find("Turn off the a.c. isolator of the battery inverter");
    assert!(off.unwrap() < ac.unwrap());
    let on = text.find("Turn on the main switch of the backup board");
    let ac = text.find("Turn on the a.c. isolator of the battery inverter");
    assert!(on.unwrap() > ac.unwrap());
}

/// The handover as a customer reads it.
fn told(job: &Job) -> String {
    let forms = Forms::embedded().unwrap();
    let at = DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
    let text = text_of(&draft(job, &forms, at).unwrap().bytes);
    let (_, text) = text.split_once("For the customer: your").unwrap();
    text.to_string()
}

/// Harbour Row with a hybrid inverter, whose backup output feeds one socket.
fn hybrid() -> Job {
    let mut job = bare("harbour-row.ron");
    let mut battery = bare("orchard-cottage.ron").storage[0].clone();
    battery.inverter = job.inverters[0].id.clone();
    job.inverters[0].kind = InverterKind::Hybrid;
    job.storage = vec![battery];
    assert_eq!(job.problems(), []);
    job
}

/// Common practice: a person in contact with a live part isn't touched before all that can feed it is off; 999 is the emergency
/// number of the United Kingdom.
#[test]
fn after_a_shock_the_main_switch_is_not_enough_where_a_battery_takes_over() {
    let plain = "Switch off the main switch if you can reach it safely";
    for (name, job, off) in [
        (
            "a board",
            backed(),
            "Switch off the main switch, the backup board and the battery, if you can",
        ),
        (
            "a socket",
            bare("orchard-cottage.ron"),
            "Switch off the main switch and the battery, if you can",
        ),
        (
            "a hybrid, which light feeds as well",
            hybrid(),
            "Switch off the main switch, the inverter for solar and battery on both its sides and the battery, if you can",
        ),
    ] {
        let text = told(&job);
        assert!(!text.contains(plain), "{name}");
        for said in [
            "electric shock: call 999, and do not touch them",
            "Here the main switch alone is not enough",
            off,
            "if you are not sure, do not touch them",
        ] {
            assert!(text.contains(said), "{name}: {said}: {text}");
        }
        // Without a backup output nothing takes over.
        let mut without = job;
        without.boards.retain(|b| b.id != "K");
        without.storage[0].backup = false;
        let text = told(&without);
        assert!(text.contains(plain), "{name}");
        assert!(!text.contains("alone is not enough"), "{name}");
    }
}

#[test]
fn what_a_backup_output_feeds_without_a_board_is_a_step_and_named_as_live() {
    let job = bare("orchard-cottage.ron");
    let text = told(&job);
    let step =
        "feeds this as well as the street: a kitchen socket. Switch off whatever is in use there.";
    let ac = "Turn off the a.c. isolator of the battery inverter";
    assert!(text.find(step).unwrap() < text.find(ac).unwrap());
    let again = text.find("Use again what the battery").unwrap();
    let ac = text.find("Turn on the a.c. isolator of the battery inverter");
    assert!(again > ac.unwrap());
    let live = "What the backup output of the battery inverter feeds (a kitchen socket), and the cable to it";
    let (_, stays) = text.split_once("What stays live").unwrap();
    assert!(stays.contains(live), "{stays}");
    let (_, all) = told(&backed())
        .split_once("What stays live")
        .map(|(a, b)| (a.to_string(), b.to_string()))
        .unwrap();
    assert!(
        all.contains("feeds (a kitchen socket and everything on the backup board), and the cable")
    );
    // No switch of the battery recorded: nobody is told to go on as if it were off.
    let mut unknown = job.clone();
    unknown.storage[0].isolator = String::new();
    let text = told(&unknown);
    assert!(text.contains("but then this stays live: a kitchen socket. Do not touch it"));
    unknown.storage[0].backup = false;
    let text = told(&unknown);
    assert!(text.contains("leave it and go on.") && !text.contains("but then this stays live"));
    // Nor is a step dropped where nobody has written what it feeds: there is a line for it.
    let mut empty = job;
    empty.storage[0].backup_feeds = String::new();
    assert!(told(&empty).contains("feeds this as well as the street: ____. Switch off"));
}

#[test]
fn a_switch_to_the_panels_that_is_not_recorded_keeps_its_step() {
    let step = "Only now turn off the switch between the";
    for mut job in [bare("harbour-row.ron"), hybrid()] {
        assert!(!told(&job).contains(step));
        job.inverters[0].dc_isolator = String::new();
        let text = told(&job);
        let off = text.find(step).expect("the step");
        assert!(text.find("Turn off the a.c. isolator of the").unwrap() < off);
        assert!(text.contains("has not been written down: ____ If you do not find it, go on, but"));
        assert!(text.contains("Turn on the switch between the"));
        let whole = text_of(
            &draft(
                &job,
                &Forms::embedded().unwrap(),
                DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap(),
            )
            .unwrap()
            .bytes,
        );
        assert!(whole.contains("d.c. isolator: not recorded"));
    }
    // An inverter without strings has no such switch.
    assert!(!told(&bare("orchard-cottage.ron")).contains(step));
}
