//! A job made of a starter and described on the screen alone: what has to be filled in and compared is seen, and nothing is
//! energised before.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, Screen, jobs_in, later, sample};
use ratatui::crossterm::event::{Event, KeyCode, KeyModifiers};
use wanderlead::checks::{Finding, Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{CircuitKind, Job, Part, Spot, Test};
use wanderlead::screen::View;
use wanderlead::screen::record::{Field, Kind, Row, empty_of, is_empty, rows, rows_of};

const STARTERS: [&str; 6] = ["micro", "string", "hybrid", "battery", "tt", "three-phase"];

/// A new job from a starter, as the list of jobs makes it.
fn new_job(starter: &str) -> Screen {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("elm-row.ron");
    wanderlead::store::start(&path, starter).unwrap();
    Screen::at(folder, path, 80, 24, true)
}

fn parts(job: &Job) -> Vec<(Spot, Part)> {
    rows(job)
        .into_iter()
        .filter_map(|row| match row {
            Row::Part(spot) => job.part(&spot).map(|(part, _)| (spot, part)),
            Row::Head(_) => None,
        })
        .collect()
}

/// Parts whose figures still have to be compared.
fn to_compare(job: &Job) -> Vec<Spot> {
    let all = parts(job).into_iter();
    all.filter(|(_, p)| p.to_compare() == Some(true))
        .map(|(s, _)| s)
        .collect()
}

fn compared(job: &Job) -> Vec<Finding> {
    judge_all(job, &Forms::embedded().unwrap())
        .into_iter()
        .filter(|f| f.place.test == Test::Compared)
        .collect()
}

fn go_to(screen: &mut Screen, spot: &Spot) {
    if screen.sitting.state.view != View::Record {
        screen.code(KeyCode::F(9));
    }
    let at = rows(&screen.sitting.state.job)
        .iter()
        .position(|r| *r == Row::Part(spot.clone()))
        .unwrap_or_else(|| panic!("no {spot}"));
    while screen.sitting.state.record.row > at {
        screen.code(KeyCode::Up);
    }
    while screen.sitting.state.record.row < at {
        screen.code(KeyCode::Down);
    }
}

/// The part whose form is open, and the selected row of it.
fn at_cursor(screen: &Screen) -> (Part, Field) {
    let state = &screen.sitting.state;
    let (part, _) = state.job.part(state.record.spot.as_ref().unwrap()).unwrap();
    let field = rows_of(&part)[state.record.field];
    (part, field)
}

fn put_cursor(screen: &mut Screen, heading: &str) {
    let (part, _) = at_cursor(screen);
    let at = rows_of(&part)
        .iter()
        .position(|f| f.heading().trim() == heading)
        .unwrap_or_else(|| panic!("no {heading}"));
    while screen.sitting.state.record.field > at {
        screen.code(KeyCode::Up);
    }
    while screen.sitting.state.record.field < at {
        screen.code(KeyCode::Down);
    }
}

fn kept(screen: &Screen) {
    assert!(
        screen.message().starts_with("kept on disk"),
        "{}",
        screen.message()
    );
}

/// What an electrician would type into a field.
fn answer(field: &Field, part: &Part) -> String {
    match field.entry().kind {
        Kind::Date => "2026-11-02".into(),
        Kind::Number | Kind::Whole => match field.entry().path {
            "module.voc_v." => "38.6".into(),
            "dc_max_v." => "57".into(),
            _ => "12".into(),
        },
        Kind::List { .. } => "SN-1; SN-2".into(),
        _ => format!("Mine {}", part.readings_in()),
    }
}

/// Every starter is described by keys alone, from the first form it opens at, with the key that goes to the next thing to do.
#[test]
fn every_starter_becomes_a_job_without_a_text_editor() {
    for name in STARTERS {
        let mut screen = new_job(name);
        let state = &screen.sitting.state;
        assert_eq!(
            (state.view, state.record.spot.clone()),
            (View::Form, Some(Spot::Visit)),
            "{name}"
        );
        assert_eq!(state.job.reference, "elm-row");
        let (part, field) = at_cursor(&screen);
        assert!(
            is_empty(field.entry(), &part),
            "{name}: {}",
            field.heading()
        );
        for _ in 0..60 {
            // Fill what is empty in the form at hand.
            for _ in 0..40 {
                let (part, _) = at_cursor(&screen);
                let empty = rows_of(&part).into_iter().find(|f| {
                    matches!(f, Field::Whole(e) if is_empty(e, &part))
                        && f.heading() != "as on site"
                });
                let Some(field) = empty else { break };
                put_cursor(&mut screen, &field.heading());
                if matches!(field.entry().kind, Kind::Pick(_)) {
                    // The kind of place a battery stands in: the first that is one.
                    screen.code(KeyCode::Enter);
                    screen.code(KeyCode::Down);
                    screen.code(KeyCode::Enter);
                } else {
                    screen.enter(&answer(&field, &part));
                }
                kept(&screen);
            }
            screen.code(KeyCode::Esc);
            assert_eq!(screen.sitting.state.view, View::Record);
            let at = screen.sitting.state.record.row;
            let Row::Part(spot) = rows(&screen.sitting.state.job)[at].clone() else {
                panic!("a head is selected")
            };
            let (part, _) = screen.sitting.state.job.part(&spot).unwrap();
            if part.to_compare() == Some(true) {
                screen.text("=");
                kept(&screen);
                assert!(
                    !screen.message().contains("still to fill"),
                    "{}",
                    screen.message()
                );
            }
            screen.ctrl('o');
            if screen.message().contains("nothing is left") {
                break;
            }
            screen.code(KeyCode::Enter);
        }
        assert!(
            screen
                .message()
                .contains("nothing is left to compare or to fill in"),
            "{name}: {}",
            screen.message()
        );
        let job = screen.job_on_disk();
        assert_eq!(job.problems(), [], "{name}");
        assert_eq!(to_compare(&job), [], "{name}");
        assert_eq!(compared(&job), [], "{name}");
        for (spot, part) in parts(&job) {
            assert_eq!(empty_of(&part), Vec::<&str>::new(), "{name} {spot}");
        }
        assert!(job.people[0].name.starts_with("Mine"));
        assert!(job.instruments.iter().all(|i| i.serial.starts_with("Mine")));
        assert!(
            screen.picture().contains("Enter opens, + adds"),
            "{}",
            screen.picture()
        );
        // Opened again it is no longer a new one.
        let screen = screen.reopen();
        assert_eq!(screen.sitting.state.view, View::Walk, "{name}");
    }
}

/// Every part of a starter with figures is marked, and each mark is a finding with an address that leads back to the part.
#[test]
fn every_starter_has_its_figures_compared() {
    let all = jobs_in("forms/starters");
    assert_eq!(all.len(), STARTERS.len());
    for (name, job) in all {
        let figures: Vec<Spot> = parts(&job)
            .into_iter()
            .filter(|(_, p)| !matches!(p, Part::Circuit(c) if c.kind == CircuitKind::Spare))
            // They begin with nothing.
            .filter(|(_, p)| !matches!(p, Part::Branch(_) | Part::PvString(_)))
            .filter(|(_, p)| p.to_compare().is_some())
            .map(|(s, _)| s)
            .collect();
        assert_eq!(to_compare(&job), figures, "{name}");
        let found = compared(&job);
        assert!(found.iter().all(|f| f.verdict == Verdict::Open), "{name}");
        let mut spots: Vec<Spot> = found.iter().map(|f| job.spot_of(&f.place)).collect();
        let mut wanted = figures;
        spots.sort();
        wanted.sort();
        assert_eq!(spots, wanted, "{name}");
    }
    for name in [CLEAN, "mill-yard.ron", "orchard-cottage.ron"] {
        assert_eq!(to_compare(&sample(name)), [], "{name}");
    }
}

/// Nothing is energised on the figures of a starter, whatever else was done; arrays, inverters and storage may be compared
/// later, before they are connected.
#[test]
fn nothing_is_energised_on_figures_that_nobody_compared() {
    let forms = Forms::embedded().unwrap();
    for (name, job) in jobs_in("forms/starters") {
        let plan = Plan::new(&job, &forms);
        let pattern = judge_all(&job, &forms)[0].clone();
        let waits = |job: &Job, place: &str| {
            let at = plan.position(&place.parse().unwrap()).unwrap();
            let mut findings = compared(job);
            findings.extend(plan.steps()[..at].iter().map(|s| Finding {
                place: s.place.clone(),
                verdict: Verdict::Within,
                ..pattern.clone()
            }));
            plan.waits_for(at, &Verdicts::new(&findings))
                .map(|p| p.to_string())
        };
        let held = waits(&job, "safe/energise");
        assert!(held.is_some_and(|p| p.ends_with("/compared")), "{name}");
        let mut ready = job.clone();
        ready.supply.to_compare = false;
        for bond in &mut ready.bonds {
            bond.to_compare = false;
        }
        for board in &mut ready.boards {
            board.to_compare = false;
            for c in &mut board.circuits {
                c.to_compare = false;
            }
        }
        assert_eq!(waits(&ready, "safe/energise"), None, "{name}");
        assert!(waits(&ready, "safe/connected").is_some(), "{name}");
        assert!(waits(&ready, "sign/inspection").is_some(), "{name}");
        // One circuit alone is enough to hold it.
        ready.boards[0].circuits[0].to_compare = true;
        let id = format!(
            "{}/{}/compared",
            ready.boards[0].id, ready.boards[0].circuits[0].id
        );
        assert_eq!(waits(&ready, "safe/energise"), Some(id), "{name}");
    }
}

/// Said on the list with one key and in the form, taken back like any edit; another field doesn't say it.
#[test]
fn as_on_site_is_said_on_the_list_and_in_the_form_and_can_be_taken_back() {
    let mut screen = new_job("string");
    let spot = Spot::Circuit("R".into(), "1".into());
    let is = |screen: &Screen| {
        let disk = screen.job_on_disk().part(&spot).unwrap().0.to_compare();
        assert_eq!(
            disk,
            screen.sitting.state.job.part(&spot).unwrap().0.to_compare()
        );
        disk.unwrap()
    };
    go_to(&mut screen, &spot);
    assert!(
        screen.picture().contains("to compare"),
        "{}",
        screen.picture()
    );
    screen.code(KeyCode::Enter);
    put_cursor(&mut screen, "device rating");
    screen.enter("25");
    kept(&screen);
    assert!(is(&screen), "another field doesn't say it");
    screen.code(KeyCode::Esc);
    screen.text("=");
    assert_eq!(screen.message(), "kept on disk: circuit R/1 is as on site");
    assert!(!is(&screen));
    screen.text("=");
    assert!(screen.message().contains("already"), "{}", screen.message());
    screen.ctrl('z');
    assert!(
        screen.message().contains("to_compare: false -> true"),
        "{}",
        screen.message()
    );
    assert!(is(&screen));
    screen.ctrl('y');
    assert!(!is(&screen));
    // In the form, on the first line.
    screen.code(KeyCode::Enter);
    put_cursor(&mut screen, "as on site");
    assert_eq!(screen.sitting.state.record.field, 0);
    for (letter, yes) in [("n", true), ("y", false)] {
        put_cursor(&mut screen, "as on site");
        screen.text(letter);
        screen.code(KeyCode::Enter);
        kept(&screen);
        assert_eq!(is(&screen), yes, "{letter}");
    }
    // A copy has to be compared again, a spare way has nothing to compare.
    screen.ctrl('k');
    kept(&screen);
    let new = screen.sitting.state.record.spot.clone().unwrap();
    assert_ne!(new, spot);
    assert!(to_compare(&screen.job_on_disk()).contains(&new));
    assert!(!to_compare(&screen.job_on_disk()).contains(&spot));
    screen.code(KeyCode::Esc);
    let spare = Spot::Circuit("R".into(), "3".into());
    go_to(&mut screen, &spare);
    screen.ctrl('k');
    let new = screen.sitting.state.record.spot.clone().unwrap();
    assert!(!to_compare(&screen.job_on_disk()).contains(&new));
    screen.code(KeyCode::Esc);
    // A board's circuits are compared one by one, also in a copy of it.
    go_to(&mut screen, &Spot::Board("R".into()));
    screen.ctrl('k');
    kept(&screen);
    let job = screen.job_on_disk();
    let copy = job.boards.iter().find(|b| b.id != "R").unwrap();
    assert!(copy.to_compare && copy.circuits[0].to_compare);
    // Persons and heads of lists have no figures.
    screen.code(KeyCode::Esc);
    go_to(&mut screen, &Spot::Person("me".into()));
    screen.text("=");
    assert!(
        screen.message().contains("no figures"),
        "{}",
        screen.message()
    );
    screen.code(KeyCode::Up);
    screen.text("=");
    assert!(
        screen.message().contains("head of a list"),
        "{}",
        screen.message()
    );
}

/// What is added from the list of starting points has to be compared, and the screen goes where the walk waits for it.
#[test]
fn what_is_added_has_to_be_compared_and_the_walk_leads_there() {
    let folder = Screen::open(CLEAN, 80, 24).close();
    let mut screen = Screen::at(folder.0, folder.1, 80, 24, true);
    go_to(&mut screen, &Spot::Board("M".into()));
    for shown in [
        "circuit of M: fixed equipment",
        "bond: main",
        "board, empty",
    ] {
        go_to(&mut screen, &Spot::Board("M".into()));
        screen.text("+");
        let lines = screen.sitting.state.choice.clone().unwrap().lines;
        let at = lines.iter().position(|(_, s)| s == shown).unwrap();
        for _ in 0..at {
            screen.code(KeyCode::Down);
        }
        screen.code(KeyCode::Enter);
        kept(&screen);
        let (part, field) = at_cursor(&screen);
        assert_eq!(part.to_compare(), Some(true), "{shown}");
        assert_ne!(field.heading(), "as on site", "said last, not first");
        screen.code(KeyCode::Esc);
        if shown.starts_with("circuit") {
            // Its readings are open as well; they come first. With the mark alone, the walk names it.
            assert_eq!(compared(&screen.job_on_disk()).len(), 1);
        }
    }
    assert_eq!(compared(&screen.job_on_disk()).len(), 3);
    let mut screen = Screen::open(CLEAN, 80, 24);
    let spot = Spot::Circuit("M".into(), "3".into());
    go_to(&mut screen, &spot);
    screen.code(KeyCode::Enter);
    put_cursor(&mut screen, "as on site");
    screen.text("n");
    screen.code(KeyCode::Enter);
    kept(&screen);
    screen.code(KeyCode::Esc);
    screen.go("safe/energise");
    let waits = screen.sitting.state.waits_for().unwrap();
    assert!(
        waits.contains("M/3/compared") && waits.contains("F9 goes to circuit M/3"),
        "{waits}"
    );
    screen.code(KeyCode::F(9));
    let (_, field) = at_cursor(&screen);
    assert_eq!(
        (
            screen.sitting.state.record.spot.clone(),
            field.heading().as_str()
        ),
        (Some(spot), "as on site")
    );
}

/// A scanner fills what has no text yet, one after the other; a pasted list leads to the next list.
#[test]
fn serial_numbers_of_a_starter_are_scanned_and_pasted() {
    let mut screen = new_job("micro");
    let line = Spot::Line("P".into(), "B1".into());
    let units = |screen: &Screen| match screen.job_on_disk().part(&line).unwrap().0 {
        Part::Branch(b) => b.units,
        other => panic!("{other:?}"),
    };
    go_to(&mut screen, &line);
    screen.code(KeyCode::Enter);
    put_cursor(&mut screen, "modules");
    screen
        .sitting
        .event(&Event::Paste("A1\r\nA2\r\n\r\nA3\n".into()), later());
    screen.code(KeyCode::Enter);
    kept(&screen);
    let (_, field) = at_cursor(&screen);
    assert_eq!(field.heading(), "micro-inverters");
    put_cursor(&mut screen, "one more inverter");
    for serial in ["I1", "I2", "I3", "I4"] {
        screen.enter(serial);
        kept(&screen);
        let (_, field) = at_cursor(&screen);
        assert_eq!(
            field.heading().trim(),
            "one more inverter",
            "after {serial}"
        );
    }
    let all: Vec<(String, String)> = units(&screen)
        .into_iter()
        .map(|u| (u.module, u.inverter))
        .collect();
    let wanted = [("A1", "I1"), ("A2", "I2"), ("A3", "I3"), ("", "I4")];
    assert_eq!(all, wanted.map(|(m, i)| (m.to_string(), i.to_string())));
    // One that nobody could read keeps its place.
    put_cursor(&mut screen, "modules");
    screen.enter("A1; ; A3; A4");
    let modules: Vec<String> = units(&screen).into_iter().map(|u| u.module).collect();
    assert_eq!(modules, ["A1", "", "A3", "A4"]);
}

/// What is empty says so, and a unit never stands alone.
#[test]
fn empty_fields_are_shown_as_such() {
    let mut screen = new_job("tt");
    assert!(
        screen
            .picture()
            .contains("client                    -  (to fill in)")
    );
    let spot = Spot::Circuit("R".into(), "2".into());
    go_to(&mut screen, &spot);
    assert!(
        screen.picture().contains("to compare, 1 to fill"),
        "{}",
        screen.picture()
    );
    screen.code(KeyCode::Enter);
    put_cursor(&mut screen, "RCD IΔn");
    let picture = screen.picture();
    let line = picture.lines().find(|l| l.contains("RCD rating")).unwrap();
    assert!(line.trim_end().ends_with(" -"), "{line}");
    // The mark is on the list at 80 columns and at more.
    insta::assert_snapshot!("record_of_a_starter", {
        screen.press(KeyCode::Esc, KeyModifiers::NONE);
        screen.picture()
    });
}

/// The address may be that of the client, by one choice.
#[test]
fn the_address_is_that_of_the_client_by_one_choice() {
    let mut screen = new_job("micro");
    put_cursor(&mut screen, "address");
    screen.code(KeyCode::Enter);
    assert!(
        screen.sitting.state.choice.is_none(),
        "nothing to choose from yet"
    );
    put_cursor(&mut screen, "client's address");
    screen.enter("3 Elm Row");
    screen.code(KeyCode::Enter);
    screen.code(KeyCode::Enter);
    kept(&screen);
    assert_eq!(screen.job_on_disk().address, "3 Elm Row");
}

/// What is copied with a part and belongs to one of its kind only is gone, or has to be compared again.
#[test]
fn a_copy_says_nothing_that_nobody_looked_at() {
    let mut screen = Screen::open("mill-yard.ron", 80, 24);
    let job = screen.sitting.state.job.clone();
    let array = job.arrays[0].id.clone();
    for spot in [
        Spot::Array(array.clone()),
        Spot::Line(array, "S1".into()),
        Spot::Inverter(job.inverters[0].id.clone()),
        Spot::Storage(job.storage[0].id.clone()),
        Spot::Bond(job.bonds[0].id.clone()),
    ] {
        go_to(&mut screen, &spot);
        screen.ctrl('k');
        kept(&screen);
        let (part, _) = at_cursor(&screen);
        assert_eq!(part.to_compare(), Some(true), "{spot}");
        screen.code(KeyCode::Esc);
    }
    let found = compared(&screen.job_on_disk());
    // The five, and the two strings of the array that was copied.
    assert_eq!(found.len(), 7, "{found:?}");
    go_to(
        &mut screen,
        &Spot::Instrument(job.instruments[0].id.clone()),
    );
    screen.ctrl('k');
    let (part, _) = at_cursor(&screen);
    assert_eq!(empty_of(&part), ["serial number", "calibrated", "due"]);
    screen.code(KeyCode::Esc);
    go_to(&mut screen, &Spot::Person(job.people[0].id.clone()));
    screen.ctrl('k');
    let (part, _) = at_cursor(&screen);
    assert_eq!(empty_of(&part), ["name"]);
}
