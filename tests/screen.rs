//! The screen on a test backend and a real job file: what is shown at 80x24 and 120x40, and what keys do.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, later, picture};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{Event, KeyCode};
use ratatui::style::Color;
use wanderlead::checks::Verdict;
use wanderlead::job::Answer;
use wanderlead::screen::keys::{Action, KEYS};
use wanderlead::screen::{View, view};

#[test]
fn opens_on_the_next_reading_to_take() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        let state = &screen.sitting.state;
        assert_eq!(Some(state.at), state.plan.next_open(0, &state.verdicts));
        assert_eq!(state.verdicts.of(&state.focus().unwrap()), Verdict::Open);
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
    let mut screen = Screen::open(CLEAN, 80, 24);
    // Sample harbour-row is TT: 30 mA carries Zs, 1667 Ω at most (BS 7671 Table 41.5, from memory).
    screen.go("M/1/zs");
    let before = screen.job_on_disk();
    screen.text("2000");
    let shown = screen.picture();
    assert!(shown.contains("! outside"), "{shown}");
    assert!(
        shown.contains("≤ 1667 Ω") && shown.contains("margin -333 Ω"),
        "{shown}"
    );
    assert_eq!(screen.job_on_disk(), before);
    insta::assert_snapshot!("zs_preview_80x24", shown);
}

#[test]
fn a_reading_past_its_limit_stays_until_the_person_goes_on() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/ir-le");
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
    let job = screen.job_on_disk();
    let entry = job.entry(&"C/4/ir-le".parse().unwrap()).unwrap();
    assert_eq!((entry.now.typed.as_str(), entry.struck.len()), ("250", 1));
    assert_eq!(entry.struck[0].typed, "0.4");
    assert_ne!(screen.place(), "C/4/ir-le");
    // With nothing typed, Enter goes on from a reading that stands.
    screen.go("C/4/ir-le");
    screen.code(KeyCode::Enter);
    assert_ne!(screen.place(), "C/4/ir-le");
}

#[test]
fn over_range_limitation_and_not_applicable_take_few_keys() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go("C/4/ir-le");
    screen.text(">"); // the end of the scale is offered
    screen.code(KeyCode::Enter);
    assert_eq!(screen.on_disk("C/4/ir-le").as_deref(), Some(">999"));

    screen.go("C/4/r1r2");
    screen.text("l");
    insta::assert_snapshot!("reasons_80x24", screen.picture());
    screen.enter("1"); // the number of a reason, then Enter
    assert!(screen.message().contains("Enter again keeps that"));
    screen.code(KeyCode::Enter);
    let reasons = screen.sitting.state.forms.reasons();
    let fits = |r: &&String| reasons.fits_at(r, wanderlead::job::owner::Kind::Circuit);
    let first = reasons.limitation.iter().find(fits).unwrap().clone();
    assert_eq!(screen.on_disk("C/4/r1r2"), Some(format!("lim: {first}")));

    screen.go("C/4/ir-ll");
    screen.text("n");
    screen.enter("no neutral in this branch");
    assert_eq!(
        screen.on_disk("C/4/ir-ll").as_deref(),
        Some("n/a: no neutral in this branch")
    );
    assert_eq!(screen.verdict("C/4/ir-ll"), Verdict::Excused);
}

/// What the record itself forbids is said in words, with the way out: no reading can change it.
#[test]
fn a_device_that_was_not_looked_at_is_named_where_it_holds_things_up() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    for circuit in screen
        .sitting
        .state
        .job
        .boards
        .iter_mut()
        .flat_map(|b| &mut b.circuits)
    {
        if let Some(device) = &mut circuit.device {
            device.direction = wanderlead::job::Direction::Unknown;
        }
    }
    screen.sitting.state.judge();
    screen.go("safe/energise");
    let shown = screen.picture();
    assert!(
        shown.contains("waits for M/1/both-ways") && shown.contains("F9"),
        "{shown}"
    );
}

#[test]
fn a_step_that_waits_says_for_what_and_keeps_nothing() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let first = screen.place();
    screen.go("R/1/zs");
    let shown = screen.picture();
    assert!(shown.contains(&format!("waits for {first}")), "{shown}");
    screen.enter("0.5");
    assert_eq!(screen.on_disk("R/1/zs"), None);
    assert!(
        screen
            .message()
            .contains(&format!("this step waits for {first}"))
    );
    insta::assert_snapshot!("waits_80x24", screen.picture());
}

#[test]
fn the_sheet_shows_every_circuit_and_takes_readings() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        screen.go("C/4/r1r2");
        screen.code(KeyCode::F(3));
        assert_eq!(screen.place(), "C/4/r1r2");
        insta::assert_snapshot!(format!("sheet_{columns}x{lines}"), screen.picture());
        screen.enter("0.21");
        assert_eq!(screen.on_disk("C/4/r1r2").as_deref(), Some("0.21"));
        // Back to the walk at the place the sheet is at.
        screen.code(KeyCode::Up);
        screen.code(KeyCode::F(2));
        assert!(screen.place().ends_with("/r1r2"), "{}", screen.place());
    }
}

#[test]
fn the_sheet_reaches_every_place_of_the_job() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    let steps: Vec<_> = screen
        .sitting
        .state
        .plan
        .steps()
        .iter()
        .map(|s| s.place.clone())
        .collect();
    let job = screen.sitting.state.job.clone();
    for step in steps {
        screen.sitting.state.view = View::Sheet;
        screen.sitting.state.sheet.go_to(&job, &step);
        assert_eq!(screen.sitting.state.focus().as_ref(), Some(&step));
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
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.code(KeyCode::F(4));
    insta::assert_snapshot!("left_80x24", screen.picture());
    let first = screen.sitting.state.left()[0].place.clone();
    screen.code(KeyCode::F(3));
    assert_eq!(
        screen.sitting.state.focus().as_ref(),
        Some(&first),
        "the sheet opens on the selected place"
    );
    screen.code(KeyCode::F(4));
    screen.code(KeyCode::Enter);
    assert_eq!(
        (screen.sitting.state.view, screen.sitting.state.focus()),
        (View::Walk, Some(first))
    );
    // Of a clean and complete job nothing is left, and that is what it opens on.
    let mut done = Screen::open(CLEAN, 80, 24);
    assert_eq!(done.sitting.state.view, View::Left);
    assert!(done.picture().contains("Nothing blocks the certificate"));
}

#[test]
fn help_shows_every_key_that_counts_there_and_does_what_is_chosen() {
    for from in [View::Walk, View::Sheet, View::Left, View::Why] {
        let mut screen = Screen::open(HALF_DONE, 80, 24);
        screen.go("C/4/r1r2");
        match from {
            View::Why => screen.code(KeyCode::F(8)),
            View::Sheet => screen.code(KeyCode::F(3)),
            View::Left => screen.code(KeyCode::F(4)),
            _ => false,
        };
        screen.code(KeyCode::F(1));
        let answer = matches!(from, View::Walk | View::Sheet).then_some(Answer::Number);
        let lines = view::help_lines(from, answer);
        let mut seen = String::new();
        for _ in 0..lines.len() {
            seen.push_str(&screen.picture());
            screen.code(KeyCode::Down);
        }
        for key in &lines {
            assert!(seen.contains(key.shown), "{} on {from:?}", key.shown);
            let start: String = key.says.chars().take(30).collect();
            assert!(seen.contains(&start), "{start} on {from:?}");
        }
        for caution in &screen.sitting.state.forms.walk().cautions {
            let start: String = caution.chars().take(30).collect();
            assert!(seen.contains(&start), "{start}");
        }
    }
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen.code(KeyCode::F(1));
    insta::assert_snapshot!("help_80x24", screen.picture());
    let line = view::help_lines(View::Walk, Some(Answer::Number))
        .iter()
        .position(|k| k.action == Action::ShowLeft)
        .unwrap();
    for _ in 0..line {
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Left);
}

#[test]
fn footer_entries_are_never_cut_and_always_name_the_way_out() {
    for view in [
        View::Walk,
        View::Sheet,
        View::Left,
        View::Record,
        View::Form,
        View::Map,
        View::Why,
        View::Help,
    ] {
        for columns in [80, 93, 120] {
            let mut screen = Screen::open(HALF_DONE, columns, 24);
            screen.sitting.state.view = view;
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
fn a_window_that_is_too_small_gets_a_plain_message_and_takes_no_reading() {
    let mut screen = Screen::open(HALF_DONE, 79, 24);
    insta::assert_snapshot!("too_small_79x24", screen.picture());
    let before = screen.job_on_disk();
    screen.enter("y");
    screen.enter("0.2");
    assert!(!screen.sitting.event(&Event::Paste("7".into()), later()));
    assert!(screen.sitting.state.field.is_empty());
    assert_eq!(screen.job_on_disk(), before);
    assert!(screen.code(KeyCode::F(10)), "the way out is always open");
    // Larger again, everything works.
    screen.sitting.event(&Event::Resize(80, 24), later());
    screen.text("y");
    assert_eq!(screen.sitting.state.field.text(), "y");
}

#[test]
fn no_size_of_window_panics() {
    let screen = Screen::open(HALF_DONE, 80, 24);
    for columns in [1, 2, 7, 8, 20, 79, 80, 81, 115, 116, 117, 200, 400] {
        for lines in [1, 2, 3, 10, 23, 24, 25, 60] {
            let mut small = Terminal::new(TestBackend::new(columns, lines)).unwrap();
            small
                .draw(|f| view::draw(f, &screen.sitting.state))
                .unwrap();
            let shown = picture(small.backend().buffer());
            let words = if columns < 80 || lines < 24 {
                "T"
            } else {
                "reading"
            };
            assert!(shown.contains(words), "{columns}x{lines}:\n{shown}");
        }
    }
}

#[test]
fn without_colour_no_cell_has_one_and_the_verdict_is_still_a_word() {
    let mut screen = Screen::with(FAULTY, 80, 24, false);
    for key in [KeyCode::F(4), KeyCode::F(3), KeyCode::F(2), KeyCode::F(1)] {
        screen.code(key);
        for cell in screen.buffer().content() {
            assert_eq!((cell.fg, cell.bg), (Color::Reset, Color::Reset));
        }
    }
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(4));
    assert!(screen.picture().contains("! outside"));
    // With colour there is some, so that the check above means something.
    let mut coloured = Screen::with(FAULTY, 80, 24, true);
    coloured.code(KeyCode::F(4));
    assert!(
        coloured
            .buffer()
            .content()
            .iter()
            .any(|c| c.fg != Color::Reset)
    );
}

#[test]
fn a_step_longer_than_the_screen_can_be_scrolled_and_says_so() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/ir-le");
    screen.enter("0.4");
    let first = screen.picture();
    assert!(first.contains("more lines: PgDn"), "{first}");
    screen.code(KeyCode::PageDown);
    let second = screen.picture();
    assert!(
        second.contains("lines above: PgUp") && second != first,
        "{second}"
    );
    screen.code(KeyCode::PageUp);
    assert_eq!(screen.picture(), first);
}

#[test]
fn a_long_name_leaves_the_caution_and_the_limit_on_the_screen() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    for circuit in screen
        .sitting
        .state
        .job
        .boards
        .iter_mut()
        .flat_map(|b| &mut b.circuits)
    {
        circuit.name = "long name ".repeat(60);
    }
    screen.sitting.state.plan =
        wanderlead::guide::Plan::new(&screen.sitting.state.job, &screen.sitting.state.forms);
    screen.go("C/4/ir-le");
    let shown = screen.picture();
    assert!(
        shown.contains("CAUTION") && shown.contains("C/4/ir-le") && shown.contains("reading"),
        "{shown}"
    );
}

#[test]
fn the_page_of_reasons_shows_what_a_limit_is_made_of() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(FAULTY, columns, lines);
        screen.go("M/9/zs");
        screen.code(KeyCode::F(8));
        assert_eq!(screen.sitting.state.view, View::Why);
        insta::assert_snapshot!(format!("why_{columns}x{lines}"), screen.picture());
    }
}

#[test]
fn the_page_of_reasons_opens_anywhere_scrolls_to_its_end_and_leads_back() {
    // Before the reading is taken.
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen.code(KeyCode::F(8));
    let first = screen.picture();
    assert!(
        first.contains("not yet taken") && first.contains("made by"),
        "{first}"
    );
    let mut seen = first;
    for _ in 0..6 {
        screen.code(KeyCode::PageDown);
        seen.push_str(&screen.picture());
    }
    let finding = screen.sitting.state.reasons().unwrap().0;
    assert!(finding.basis.len() > 4);
    for limit in &finding.basis {
        assert!(seen.contains(&limit.id), "{}", limit.id);
    }
    assert!(
        seen.contains("not compared with the edition in") && seen.contains("lines above: PgUp --")
    );
    // One page up from the end is another picture: nothing was scrolled past it.
    let end = screen.picture();
    screen.code(KeyCode::Up);
    screen.code(KeyCode::Up);
    screen.code(KeyCode::Up);
    assert_ne!(screen.picture(), end);
    screen.code(KeyCode::Esc);
    assert_eq!(
        (screen.sitting.state.view, screen.place().as_str()),
        (View::Walk, "C/4/r1r2")
    );

    // What is typed is explained before it is kept, and still stands afterwards.
    screen.go("C/4/ir-le");
    screen.text("0.4");
    screen.code(KeyCode::F(8));
    let shown = screen.picture();
    assert!(
        shown.contains("typed, not kept yet") && shown.contains("! outside"),
        "{shown}"
    );
    screen.text("7");
    screen.code(KeyCode::Enter);
    assert_eq!(
        screen.sitting.state.field.text(),
        "0.4",
        "nothing is typed on this page"
    );
    screen.code(KeyCode::Esc);

    screen.code(KeyCode::F(3));
    screen.ctrl('g');
    assert_eq!(screen.sitting.state.view, View::Why);
    screen.ctrl('g');
    assert_eq!(screen.sitting.state.view, View::Sheet);

    screen.code(KeyCode::F(4));
    let selected = screen.sitting.state.left()[0].place.to_string();
    screen.code(KeyCode::F(8));
    assert!(screen.picture().contains(&selected));
    screen.code(KeyCode::F(2));
    assert_eq!(screen.sitting.state.view, View::Walk);
}

/// Several numbers: the order they are typed in, what is wrong with them and what would explain it, before Enter.
#[test]
fn several_numbers_say_their_order_and_their_fault() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    screen.go("grid/ct-surplus");
    screen.text("4310 4790 470");
    let shown = screen.picture();
    assert!(
        shown.contains("grid PV load") && shown.contains("grid transformer is reversed"),
        "{shown}"
    );
    insta::assert_snapshot!("several_80x24", shown);
    screen.code(KeyCode::Enter);
    assert_eq!(
        screen.on_disk("grid/ct-surplus").as_deref(),
        Some("4310 4790 470")
    );
    assert_eq!(screen.verdict("grid/ct-surplus"), Verdict::Outside);
    screen.enter("-4310; 4790; 470");
    assert_eq!(screen.verdict("grid/ct-surplus"), Verdict::Within);
}
