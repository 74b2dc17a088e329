//! Entry with few keys: several rows at once, the reading above again, pasted lists, both ways through a stage, finding.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::HashMap;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, jobs_in, later};
use ratatui::crossterm::event::{Event, KeyCode};
use wanderlead::checks::Verdict;
use wanderlead::forms::Forms;
use wanderlead::guide::{Order, Plan, Verdicts};
use wanderlead::job::{Change, Place};
use wanderlead::screen::View;
use wanderlead::screen::find;

fn paste(screen: &mut Screen, text: &str) {
    screen.sitting.event(&Event::Paste(text.into()), later());
}

/// The sheet of a board that may be tested live, at a place: the complete sample without some of its readings.
fn sheet_at(place: &str) -> Screen {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("job.ron");
    let mut job = common::sample(CLEAN);
    // The live readings of the board that the tests type, and all that comes after the inverters are connected again.
    let typed_here = ["functional", "zs", "rcd-time", "rcd-button"];
    let plan = Plan::new(&job, &Forms::embedded().unwrap());
    let connected = plan.position(&"safe/connected".parse().unwrap()).unwrap();
    let gone: Vec<Place> = plan
        .steps()
        .iter()
        .enumerate()
        .filter(|(i, s)| {
            *i >= connected || (s.place.top == "M" && typed_here.contains(&s.place.test.key()))
        })
        .map(|(_, s)| s.place.clone())
        .filter(|p| job.entry(p).is_some())
        .collect();
    for place in gone {
        let by = "mk".into();
        job.apply(&Change::Put {
            place,
            entry: None,
            by,
            at: None,
        })
        .unwrap();
    }
    let text = wanderlead::job::text::options().to_string(&job).unwrap();
    std::fs::write(&path, text).unwrap();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    screen.by_qualified();
    screen.go(place);
    screen.code(KeyCode::F(3));
    assert_eq!(screen.place(), place);
    screen
}

fn journal_lines(screen: &Screen) -> usize {
    let journal = format!("{}.journal", screen.path.display());
    std::fs::read_to_string(journal).map_or(0, |text| text.lines().count() - 1)
}

#[test]
fn one_reading_goes_into_every_marked_row_in_one_line_of_the_journal_and_one_undo() {
    let mut screen = sheet_at("M/1/functional");
    screen.text("*");
    assert!(
        screen.message().contains("7 rows marked"),
        "{}",
        screen.message()
    );
    insta::assert_snapshot!("marked_80x24", screen.picture());
    screen.enter("y");
    for circuit in 1..=4 {
        let place = format!("M/{circuit}/functional");
        assert_eq!(screen.on_disk(&place).as_deref(), Some("y"), "{place}");
    }
    // The board's own test of that name is another thing.
    assert_eq!(screen.on_disk("M/functional"), None);
    assert_eq!(journal_lines(&screen), 1);
    assert!(
        screen.message().contains("7 readings"),
        "{}",
        screen.message()
    );
    assert!(screen.sitting.state.sheet.marked.is_empty());
    screen.ctrl('z');
    for circuit in 1..=4 {
        assert_eq!(screen.on_disk(&format!("M/{circuit}/functional")), None);
    }
    screen.ctrl('y');
    assert_eq!(screen.on_disk("M/3/functional").as_deref(), Some("y"));
}

#[test]
fn a_marked_row_that_has_a_reading_keeps_it() {
    let mut screen = sheet_at("M/1/functional");
    screen.enter("f");
    screen.go("M/1/functional");
    screen.code(KeyCode::F(3));
    screen.text("  ");
    assert_eq!(screen.sitting.state.sheet.marked.len(), 2);
    // The cursor stands below the marked rows: nothing is kept by chance.
    screen.enter("y");
    assert!(screen.message().contains("isn't in a marked row"));
    assert_eq!(screen.on_disk("M/3/functional"), None);
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::Up);
    screen.enter("y");
    assert_eq!(screen.on_disk("M/1/functional").as_deref(), Some("f"));
    assert_eq!(screen.on_disk("M/2/functional").as_deref(), Some("y"));
}

#[test]
fn the_reading_above_is_offered_and_kept_only_by_enter() {
    let mut screen = sheet_at("M/1/zs");
    screen.enter("0.55");
    assert_eq!(screen.place(), "M/2/zs");
    screen.text("\"");
    assert_eq!(screen.sitting.state.field.text(), "0.55");
    assert_eq!(screen.on_disk("M/2/zs"), None);
    screen.text("0.61");
    assert_eq!(screen.sitting.state.field.text(), "0.61");
    screen.code(KeyCode::Esc);
    screen.text("\"");
    screen.code(KeyCode::Enter);
    assert_eq!(screen.on_disk("M/2/zs").as_deref(), Some("0.55"));
}

#[test]
fn a_pasted_list_is_shown_first_and_goes_down_the_column() {
    let mut screen = sheet_at("M/1/zs");
    paste(&mut screen, "38.5\r\n38,9\n1980\n\n");
    let shown = screen.picture();
    assert!(shown.contains("3 readings from the paste"), "{shown}");
    assert!(shown.contains("! outside"), "{shown}");
    insta::assert_snapshot!("pasted_80x24", shown);
    assert_eq!(journal_lines(&screen), 0);
    screen.code(KeyCode::Enter);
    assert_eq!(screen.on_disk("M/1/zs"), None, "the first line says no");
    paste(&mut screen, "38.5\n38,9\n1980");
    screen.enter("2");
    let kept: Vec<_> = (1..=3)
        .map(|c| screen.on_disk(&format!("M/{c}/zs")).unwrap())
        .collect();
    assert_eq!(kept, ["38.5", "38,9", "1980"]);
    assert_eq!(screen.verdict("M/3/zs"), Verdict::Outside);
    assert!(
        screen.message().contains("! outside M/3/zs"),
        "{}",
        screen.message()
    );
}

#[test]
fn a_pasted_list_that_does_not_fit_keeps_nothing() {
    for (list, why) in [
        ("0.52\nabc\n0.4", "`abc`"),
        ("1\n2\n3\n4\n5\n6\n7\n8", "no row left"),
        ("\n\n \n", ""),
    ] {
        let mut screen = sheet_at("M/1/zs");
        paste(&mut screen, list);
        assert!(screen.sitting.state.choice.is_none(), "{list:?}");
        if !why.is_empty() {
            assert!(
                screen.message().contains(why),
                "{list:?}: {}",
                screen.message()
            );
        }
        assert_eq!(journal_lines(&screen), 0);
    }
}

#[test]
fn a_pasted_table_goes_over_the_columns() {
    let mut screen = sheet_at("M/1/rcd-time");
    // RCD times, two columns that are left out, then the test buttons.
    paste(&mut screen, "24.1\t\t\ty\n\t\t\ty");
    let shown = screen.picture();
    assert!(shown.contains("3 readings"), "{shown}");
    screen.enter("2");
    assert_eq!(screen.on_disk("M/1/rcd-time").as_deref(), Some("24.1"));
    assert_eq!(screen.on_disk("M/1/rcd-button").as_deref(), Some("y"));
    assert_eq!(screen.on_disk("M/2/rcd-time"), None);
    assert_eq!(screen.on_disk("M/2/rcd-button").as_deref(), Some("y"));
}

#[test]
fn readings_kept_together_are_refused_together() {
    let mut screen = sheet_at("M/1/zs");
    screen.text("*");
    screen.enter("-1");
    assert!(
        screen.message().contains("none kept"),
        "{}",
        screen.message()
    );
    assert_eq!(journal_lines(&screen), 0);
    assert_eq!(screen.sitting.state.sheet.marked.len(), 7, "the marks stay");
}

/// A list of several readings comes back from the journal as it was kept.
#[test]
fn readings_kept_together_come_back_from_the_journal() {
    let mut screen = sheet_at("M/1/functional");
    screen.text("*");
    screen.enter("y");
    // Another program's view is the journal over the file: nothing was saved yet.
    assert_eq!(screen.on_disk("M/4/functional").as_deref(), Some("y"));
    let screen = screen.reopen();
    assert_eq!(screen.on_disk("M/4/functional").as_deref(), Some("y"));
}

/// The order of guidance stays: stages don't mix, and a step never comes before what it waits for.
#[test]
fn test_by_test_has_the_same_steps_and_waits_for_the_same() {
    let forms = Forms::embedded().unwrap();
    let mut jobs = jobs_in("sample-jobs");
    jobs.extend(jobs_in("forms/starters"));
    for (name, job) in jobs {
        let by_place = Plan::new(&job, &forms);
        let by_test = Plan::in_order(&job, &forms, Order::ByTest);
        assert_eq!(by_place.steps().len(), by_test.steps().len(), "{name}");
        let stages = |plan: &Plan| plan.steps().iter().map(|s| s.stage).collect::<Vec<_>>();
        assert!(stages(&by_test).is_sorted(), "{name}");
        assert_eq!(stages(&by_place), stages(&by_test), "{name}");
        let at: HashMap<_, _> = by_test
            .steps()
            .iter()
            .enumerate()
            .map(|(i, s)| (s.place.clone(), i))
            .collect();
        for (i, step) in by_test.steps().iter().enumerate() {
            for need in &step.needs {
                if let Some(before) = at.get(&step.place.with(*need)) {
                    assert!(*before < i, "{name}: {} before {need}", step.place);
                }
            }
        }
        let nothing = Verdicts::default();
        for (i, step) in by_test.steps().iter().enumerate() {
            let there = by_place.position(&step.place).unwrap();
            assert_eq!(
                by_test.waits_for(i, &nothing).is_some(),
                by_place.waits_for(there, &nothing).is_some(),
                "{name}: {}",
                step.place
            );
        }
    }
}

/// By test a whole column of circuits comes before the next test; what belongs to one set-up of the leads stays together.
#[test]
fn test_by_test_takes_one_test_over_all_circuits() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.go("M/2/ir-ll");
    screen.code(KeyCode::F(12));
    assert_eq!(screen.place(), "M/2/ir-ll", "stays where it is");
    assert!(screen.picture().contains("test by test"));
    screen.code(KeyCode::Down);
    assert_eq!(screen.place(), "M/3/ir-ll");
    screen.go("M/2/r1");
    for next in ["rn", "r2", "ring-ln", "r1r2", "polarity"] {
        screen.code(KeyCode::Down);
        assert_eq!(screen.place(), format!("M/2/{next}"));
    }
    screen.ctrl('v');
    screen.code(KeyCode::Down);
    assert_eq!(screen.place(), "M/2/ir-ll");
}

#[test]
fn jumps_go_to_the_next_of_a_kind_round_and_round() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("supply/ze");
    let outside: Vec<String> = screen
        .sitting
        .state
        .plan
        .steps()
        .iter()
        .map(|s| s.place.to_string())
        .filter(|p| screen.verdict(p) == Verdict::Outside)
        .collect();
    assert!(outside.len() > 5);
    let mut met = Vec::new();
    for _ in &outside {
        screen.text("!");
        met.push(screen.place());
    }
    met.sort();
    let mut all = outside.clone();
    all.sort();
    assert_eq!(met, all);
    screen.text("d");
    assert_eq!(screen.verdict(&screen.place()), Verdict::Query);
    screen.text("m");
    assert_eq!(screen.verdict(&screen.place()), Verdict::Open);
    // On the list they go from line to line.
    screen.code(KeyCode::F(4));
    screen.text("d");
    let state = &screen.sitting.state;
    assert_eq!(state.left()[state.left_line].verdict, Verdict::Query);
}

#[test]
fn the_list_of_what_is_left_tells_what_blocks_from_what_weakens() {
    let mut screen = Screen::open(FAULTY, 120, 40);
    screen.code(KeyCode::F(4));
    let shown = screen.picture();
    let blocks = shown.find("blocks the certificate (21)").unwrap();
    let weakens = shown.find("weakens it (").unwrap();
    assert!(blocks < weakens, "{shown}");
    // A test that could not be done weakens it; one that does not apply doesn't.
    let left = screen.sitting.state.left();
    let excused: Vec<_> = left
        .iter()
        .filter(|f| f.verdict == Verdict::Excused)
        .collect();
    assert!(
        excused
            .iter()
            .all(|f| f.value.as_ref().unwrap().starts_with("lim:"))
    );
}

#[test]
fn finding_narrows_by_words_and_goes_there() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.text("/");
    assert_eq!(screen.sitting.state.view, View::Find);
    screen.text("water insul");
    insta::assert_snapshot!("find_80x24", screen.picture());
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Walk);
    assert_eq!(screen.place(), "C/4/ir-ll");
    // A part of the record.
    screen.ctrl('f');
    screen.text("record: water heater");
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Form);
    // A key.
    screen.ctrl('f');
    screen.text("key: who is entering");
    screen.code(KeyCode::Enter);
    assert!(screen.sitting.state.choice.is_some());
    screen.code(KeyCode::Esc);
    // Back to where it was opened.
    screen.code(KeyCode::F(4));
    screen.text("/nothing has such words");
    assert!(screen.picture().contains("nothing has these words"));
    screen.code(KeyCode::Enter);
    screen.code(KeyCode::Esc);
    assert_eq!(screen.sitting.state.view, View::Left);
}

/// Every place of every sample is found by its own name, so that nobody has to know the order to get somewhere.
#[test]
fn every_place_is_found_by_its_name() {
    for name in [HALF_DONE, CLEAN, FAULTY] {
        let mut screen = Screen::open(name, 80, 24);
        screen.ctrl('f');
        let places: Vec<_> = screen
            .sitting
            .state
            .findings
            .iter()
            .map(|f| f.place.clone())
            .collect();
        for place in places {
            screen.sitting.state.find.words.clear();
            screen.text(&place.to_string());
            let state = &screen.sitting.state;
            let hits = find::seen(state).into_iter();
            let mut hits = hits.filter_map(|line| find::hit(state, line));
            assert!(
                hits.any(|h| h.goal == find::Goal::Place(place.clone())),
                "{name} {place}"
            );
        }
    }
}

/// The columns behind the readings are those of the record; they are never cut, and Enter opens the field.
#[test]
fn the_sheet_of_a_board_has_the_record_of_its_circuits_too() {
    let mut screen = sheet_at("M/1/zs");
    screen.code(KeyCode::End);
    let shown = screen.picture();
    assert!(shown.contains("sockets, first floor"), "frozen: {shown}");
    let mut seen = String::new();
    for _ in 0..40 {
        seen.push_str(&screen.picture());
        screen.code(KeyCode::Left);
    }
    for heading in [
        "device rating",
        "RCD IΔn",
        "line conductor",
        "cpc",
        "method",
        "Zs",
    ] {
        assert!(seen.contains(heading), "{heading}");
    }
    assert!(
        seen.contains("flat twin and earth, 70 °C"),
        "a long value is whole"
    );
    screen.code(KeyCode::End);
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Form);
    screen.code(KeyCode::F(3));
    assert_eq!(screen.sitting.state.view, View::Sheet);
}

#[test]
fn the_reason_given_last_is_offered_first() {
    let mut screen = sheet_at("M/1/zs");
    screen.go("M/4/zs");
    screen.text("l");
    screen.enter("4");
    screen.go("M/3/zs");
    screen.text("l");
    assert_eq!(screen.sitting.state.choice.as_ref().unwrap().selected, 3);
}

/// The inspection has one row and many tests: it is a list with the name of each item, and nothing of it is ticked in bulk.
#[test]
fn what_is_inspected_confirmed_and_signed_is_a_list() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        screen.by_qualified();
        screen.go("inspect/fire");
        screen.code(KeyCode::F(3));
        assert_eq!(screen.place(), "inspect/fire");
        let shown = screen.picture();
        assert!(shown.contains("Fire: array and battery"), "{shown}");
        insta::assert_snapshot!(format!("inspection_{columns}x{lines}"), shown);
        for key in [" ", "*"] {
            screen.text(key);
            assert!(screen.sitting.state.sheet.marked.is_empty());
            screen.code(KeyCode::Esc);
        }
        paste(&mut screen, "y\ny\ny");
        assert!(screen.message().contains("by itself"));
        screen.code(KeyCode::Down);
        assert_ne!(screen.place(), "inspect/fire");
        // Every place of the section is met on the way down, once.
        screen.code(KeyCode::Home);
        let mut met = vec![screen.place()];
        loop {
            screen.code(KeyCode::Down);
            if met.last() == Some(&screen.place()) {
                break;
            }
            met.push(screen.place());
        }
        let mut once = met.clone();
        once.sort();
        once.dedup();
        assert_eq!(met.len(), once.len());
        let sections = wanderlead::screen::sheet::sections(&screen.sitting.state.job);
        let list = sections[screen.sitting.state.sheet.section].list.as_ref();
        assert_eq!(met.len(), list.unwrap().len());
    }
}

/// Left and typed on, a question that asked for the next Enter would be answered by an Enter for something else.
#[test]
fn a_question_goes_with_the_key_that_does_not_answer_it() {
    for key in [KeyCode::Esc, KeyCode::Down, KeyCode::Char('2')] {
        let mut screen = sheet_at("M/1/zs");
        screen.text("l");
        screen.code(KeyCode::Enter);
        let asked = screen.message();
        assert!(asked.contains("Enter again keeps that"), "{asked}");
        screen.code(key);
        assert!(
            !screen.message().contains("Enter again"),
            "{}",
            screen.message()
        );
    }
}
