//! The screen on a test backend: what is shown at 80x24 and 120x40, and what keys do.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{Screen, picture, sample};
use proptest::prelude::*;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{KeyCode, KeyModifiers};
use ratatui::style::Color;
use wanderlead::checks::Verdict;
use wanderlead::job::{Change, Place};
use wanderlead::screen::keys::KEYS;
use wanderlead::screen::update::Effect;
use wanderlead::screen::{View, view};

const HALF_DONE: &str = "orchard-cottage.ron";

fn place(text: &str) -> Place {
    text.parse().unwrap()
}

/// Puts the walk on a place.
fn at(screen: &mut Screen, text: &str) {
    screen.state.at = screen.state.plan.position(&place(text)).unwrap();
    screen.state.view = View::Walk;
}

#[test]
fn opens_on_the_next_reading_to_take() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        let first_open = screen.state.plan.next_open(0, &screen.state.verdicts);
        assert_eq!(Some(screen.state.at), first_open);
        assert_eq!(
            screen.state.verdicts.of(&screen.state.focus().unwrap()),
            Verdict::Open
        );
        insta::assert_snapshot!(format!("opens_{columns}x{lines}"), screen.picture());
    }
}

#[test]
fn the_first_screen_says_that_a_person_decides() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    assert!(
        screen
            .picture()
            .contains("A competent person tests, judges every result, decides")
    );
}

#[test]
fn the_verdict_is_there_before_enter_and_nothing_is_kept_yet() {
    let mut screen = Screen::open("harbour-row.ron", 80, 24);
    // Sample harbour-row is TT: 30 mA carries Zs, 1667 Ω at most (BS 7671 Table 41.5, from memory).
    let circuit = screen.state.job.boards[0].circuits[0].id.clone();
    let zs = format!("{}/{circuit}/zs", screen.state.job.boards[0].id);
    at(&mut screen, &zs);
    let before = screen.state.job.clone();
    screen.text("2000");
    let shown = screen.picture();
    assert!(shown.contains("! outside"), "{shown}");
    assert!(
        shown.contains("≤ 1667 Ω") && shown.contains("margin -333 Ω"),
        "{shown}"
    );
    assert_eq!(screen.state.job, before);
    insta::assert_snapshot!("zs_preview_80x24", shown);
}

#[test]
fn enter_keeps_and_goes_on_to_the_next_open_step() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let here = screen.place();
    screen.enter("y");
    assert!(
        matches!(&screen.effects[..], [Effect::Keep(Change::Keep { place, .. })] if place.to_string() == here)
    );
    assert_ne!(screen.place(), here);
    assert!(
        screen.picture().contains(&format!("kept on disk: {here}")),
        "{}",
        screen.picture()
    );
}

#[test]
fn a_reading_past_its_limit_stays_until_the_person_goes_on() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "C/4/ir-le");
    screen.enter("0.4");
    assert_eq!(screen.place(), "C/4/ir-le");
    let shown = screen.picture();
    assert!(
        shown.contains("! outside") && shown.contains("leads still on?"),
        "{shown}"
    );
    insta::assert_snapshot!("stays_80x24", shown);
    // Typing again corrects it; the first value is struck, not lost.
    screen.enter("250");
    let entry = screen.state.job.entry(&place("C/4/ir-le")).unwrap();
    assert_eq!((entry.now.typed.as_str(), entry.struck.len()), ("250", 1));
    assert_eq!(entry.struck[0].typed, "0.4");
    assert_ne!(screen.place(), "C/4/ir-le");
}

#[test]
fn over_range_limitation_and_not_applicable_take_few_keys() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "C/4/ir-le");
    screen.text(">"); // the end of the scale is offered
    screen.code(KeyCode::Enter);
    assert_eq!(
        screen
            .state
            .job
            .entry(&place("C/4/ir-le"))
            .unwrap()
            .now
            .typed,
        ">999"
    );

    at(&mut screen, "C/4/r1r2");
    screen.text("l");
    insta::assert_snapshot!("reasons_80x24", screen.picture());
    screen.text("1"); // the number of a reason takes it
    let typed = &screen
        .state
        .job
        .entry(&place("C/4/r1r2"))
        .unwrap()
        .now
        .typed;
    assert!(typed.starts_with("lim: ") && typed.len() > 8, "{typed}");

    at(&mut screen, "C/4/ir-ll");
    screen.text("n");
    screen.enter("no neutral in this branch");
    let typed = &screen
        .state
        .job
        .entry(&place("C/4/ir-ll"))
        .unwrap()
        .now
        .typed;
    assert_eq!(typed, "n/a: no neutral in this branch");
    assert_eq!(
        screen.state.finding(&place("C/4/ir-ll")).unwrap().verdict,
        Verdict::Excused
    );
}

#[test]
fn nonsense_is_refused_at_the_field_and_nothing_is_kept() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "C/4/r1r2");
    screen.enter("1.2.3");
    assert!(screen.effects.is_empty());
    let shown = screen.picture();
    assert!(
        shown.contains("not kept") && shown.contains("is not a number"),
        "{shown}"
    );
    // What was typed is still there to be corrected; Esc drops it.
    assert_eq!(screen.state.field.text(), "1.2.3");
    screen.code(KeyCode::Down);
    assert_eq!(
        screen.place(),
        "C/4/r1r2",
        "moving away must not drop what is typed"
    );
    screen.code(KeyCode::Esc);
    assert!(screen.state.field.is_empty());
}

#[test]
fn a_step_that_waits_says_for_what_and_keeps_nothing() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "R/1/zs");
    let shown = screen.picture();
    assert!(shown.contains("waits for C/3/polarity"), "{shown}");
    screen.enter("0.5");
    assert!(screen.effects.is_empty());
    assert!(
        screen
            .picture()
            .contains("this step waits for C/3/polarity")
    );
    insta::assert_snapshot!("waits_80x24", screen.picture());
}

#[test]
fn nothing_may_be_energised_while_a_dead_test_is_outside() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "C/4/ir-le");
    screen.enter("0.4");
    at(&mut screen, "safe/energise");
    let waits = screen
        .state
        .plan
        .waits_for(screen.state.at, &screen.state.verdicts)
        .unwrap();
    assert!(screen.state.verdicts.of(&waits).blocks());
    screen.enter("y");
    assert!(screen.state.job.entry(&place("safe/energise")).is_none());
}

#[test]
fn text_fields_own_letters_and_digits() {
    let mut screen = Screen::open("harbour-row.ron", 80, 24);
    at(&mut screen, "grid/profile");
    screen.text("l n ? 9 >");
    assert_eq!(screen.state.field.text(), "l n ? 9 >");
    assert!(screen.state.choice.is_none() && screen.state.view == View::Walk);
}

#[test]
fn an_apprentice_does_not_sign() {
    let mut screen = Screen::open("harbour-row.ron", 80, 24);
    let apprentice = screen
        .state
        .job
        .people
        .iter()
        .find(|p| p.role == wanderlead::job::Role::Apprentice)
        .unwrap()
        .clone();
    screen.state.who = apprentice.id;
    at(&mut screen, "sign/inspection");
    screen.enter(&apprentice.name);
    assert!(screen.effects.is_empty());
    assert!(
        screen.picture().contains("a qualified person signs"),
        "{}",
        screen.picture()
    );
}

#[test]
fn the_sheet_shows_every_circuit_and_takes_readings() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        at(&mut screen, "C/4/r1r2");
        screen.code(KeyCode::F(3));
        assert_eq!(screen.place(), "C/4/r1r2");
        insta::assert_snapshot!(format!("sheet_{columns}x{lines}"), screen.picture());
        screen.enter("0.21");
        assert_eq!(
            screen
                .state
                .job
                .entry(&place("C/4/r1r2"))
                .unwrap()
                .now
                .typed,
            "0.21"
        );
    }
}

#[test]
fn the_sheet_reaches_every_place_of_the_job() {
    let mut screen = Screen::open("mill-yard.ron", 80, 24);
    let steps: Vec<Place> = screen
        .state
        .plan
        .steps()
        .iter()
        .map(|s| s.place.clone())
        .collect();
    for step in steps {
        screen.state.view = View::Sheet;
        let job = screen.state.job.clone();
        screen.state.sheet.go_to(&job, &step);
        assert_eq!(screen.state.focus().as_ref(), Some(&step));
        // The selected cell is on the screen, in brackets.
        let shown = screen.picture();
        assert!(
            shown
                .lines()
                .any(|l| l.contains('[') && l.contains(']') && !l.contains("reading")),
            "{step}\n{shown}"
        );
    }
}

#[test]
fn the_list_of_what_is_left_leads_to_each_place() {
    let mut screen = Screen::open("mill-yard.ron", 80, 24);
    screen.code(KeyCode::F(4));
    insta::assert_snapshot!("left_80x24", screen.picture());
    let first = screen.state.left()[0].place.clone();
    screen.code(KeyCode::Enter);
    assert_eq!(screen.state.focus(), Some(first));
    // Of a clean and complete job nothing is left, and that is what it opens on.
    let mut done = Screen::open("harbour-row.ron", 80, 24);
    assert_eq!(done.state.view, View::Left);
    assert!(done.picture().contains("Nothing blocks the certificate"));
}

#[test]
fn help_shows_every_key_of_the_table_and_does_what_is_chosen() {
    for from in [View::Walk, View::Sheet, View::Left] {
        let mut screen = Screen::open(HALF_DONE, 80, 24);
        screen.state.view = from;
        screen.code(KeyCode::F(1));
        let mut seen = String::new();
        for _ in 0..view::help_lines(from).len() {
            seen.push_str(&screen.picture());
            screen.code(KeyCode::Down);
        }
        for key in view::help_lines(from) {
            assert!(seen.contains(key.shown), "{} on {from:?}", key.shown);
            let start: String = key.says.chars().take(30).collect();
            assert!(seen.contains(&start), "{start} on {from:?}");
        }
        for caution in &screen.state.forms.walk().cautions {
            let start: String = caution.chars().take(30).collect();
            assert!(seen.contains(&start), "{start}");
        }
    }
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.code(KeyCode::F(1));
    insta::assert_snapshot!("help_80x24", screen.picture());
    let line = view::help_lines(View::Walk)
        .iter()
        .position(|k| k.shown == "F4")
        .unwrap();
    for _ in 0..line {
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::Enter);
    assert_eq!(screen.state.view, View::Left);
}

#[test]
fn footer_entries_are_never_cut() {
    for view in [View::Walk, View::Sheet, View::Left, View::Help] {
        for columns in [80, 93, 120] {
            let mut screen = Screen::open(HALF_DONE, columns, 24);
            screen.state.view = view;
            let shown = screen.picture();
            let footer: Vec<&str> = shown.lines().rev().take(2).collect();
            for entry in footer
                .iter()
                .flat_map(|l| l.split("   "))
                .map(str::trim)
                .filter(|e| !e.is_empty())
            {
                assert!(
                    KEYS.iter()
                        .any(|k| entry == format!("{} {}", k.shown, k.short)),
                    "{entry:?} in {view:?} at {columns}"
                );
            }
            assert!(
                footer.iter().any(|l| l.contains("leave")),
                "{view:?} at {columns}:\n{shown}"
            );
        }
    }
}

#[test]
fn a_window_that_is_too_small_gets_a_plain_message_and_never_a_panic() {
    let mut screen = Screen::open(HALF_DONE, 79, 24);
    insta::assert_snapshot!("too_small_79x24", screen.picture());
    for columns in 1..40 {
        for lines in 1..26 {
            let mut screen = Terminal::new(TestBackend::new(columns, lines)).unwrap();
            let state = Screen::open(HALF_DONE, 80, 24).state;
            screen.draw(|f| view::draw(f, &state)).unwrap();
            assert!(!picture(screen.backend().buffer()).is_empty());
            if lines > 3 && columns > 4 {
                break;
            }
        }
    }
}

#[test]
fn without_colour_no_cell_has_one_and_the_verdict_is_still_a_word() {
    let mut screen = Screen::on(sample("mill-yard.ron"), 80, 24, false);
    for key in [KeyCode::F(4), KeyCode::F(3), KeyCode::F(2), KeyCode::F(1)] {
        screen.code(key);
        let buffer = screen.buffer();
        for cell in buffer.content() {
            assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
        }
    }
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(4));
    assert!(screen.picture().contains("! outside"));
}

#[test]
fn pasting_types_and_keeps_nothing() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    at(&mut screen, "C/4/r1r2");
    wanderlead::screen::update::paste(&mut screen.state, "0.23\n0.45\n0.67\n");
    assert_eq!(screen.state.field.text(), "0.23");
    assert!(screen.effects.is_empty());
}

/// A person who knows no key but those on the screen finishes the half-done job: type what is asked for, press Enter.
#[test]
fn the_half_done_job_can_be_finished_from_the_screen_alone() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let mut keys = 0;
    while screen.state.view == View::Walk {
        let here = screen.state.focus().unwrap();
        assert_eq!(
            screen
                .state
                .plan
                .waits_for(screen.state.at, &screen.state.verdicts),
            None,
            "{here}"
        );
        let typed = common::answer(&screen.state, &here);
        screen.enter(&typed);
        let finding = screen
            .state
            .finding(&here)
            .unwrap_or_else(|| panic!("{here} {typed}: {}", screen.state.message.text));
        assert_eq!(
            finding.verdict,
            Verdict::Within,
            "{here} {typed}: {}",
            finding.why
        );
        keys += 1;
        assert!(keys < 200);
    }
    let left: Vec<String> = screen
        .state
        .left()
        .iter()
        .map(|f| format!("{} {} {}", f.place, f.verdict, f.why))
        .collect();
    assert_eq!(left, Vec::<String>::new());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// No order of keys panics, and a reading that was kept is never lost: it stands, is struck, or was taken back.
    #[test]
    fn random_keys(presses in proptest::collection::vec(0_usize..60, 300)) {
        let codes: Vec<(KeyCode, KeyModifiers)> = KEYS
            .iter()
            .flat_map(|k| k.presses.iter().copied())
            .filter(|p| *p != (KeyCode::F(10), KeyModifiers::NONE))
            .chain("0123456789.,>lnyf?é".chars().map(|c| (KeyCode::Char(c), KeyModifiers::NONE)))
            .collect();
        let mut screen = Screen::open(HALF_DONE, 80, 24);
        for press in presses {
            let (code, mods) = codes[press * 7919 % codes.len()];
            screen.press(code, mods);
            screen.buffer();
        }
        for effect in &screen.effects {
            if let Effect::Keep(Change::Keep { place, reading }) = effect {
                let entry = screen.state.job.entry(place);
                let there = entry.is_some_and(|e| e.now == *reading || e.struck.contains(reading));
                prop_assert!(there, "{place} {}", reading.typed);
            }
        }
    }
}
