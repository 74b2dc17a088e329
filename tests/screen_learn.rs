//! The learn page on the screen: opens from every view where a place is at hand, scrolls to its end, and drops nothing typed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, FAULTY, HALF_DONE, Screen};
use ratatui::crossterm::event::KeyCode;
use wanderlead::forms::Forms;
use wanderlead::screen::View;

/// The place that the page is about.
fn about(screen: &Screen) -> String {
    let of = screen.sitting.state.learn.of.as_ref();
    of.map_or(String::new(), |(place, _)| place.to_string())
}

fn view(screen: &Screen) -> View {
    screen.sitting.state.view
}

#[test]
fn the_page_of_a_step() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(FAULTY, columns, lines);
        screen.go("M/9/zs");
        screen.code(KeyCode::F(11));
        insta::assert_snapshot!(format!("learn_{columns}x{lines}"), screen.picture());
    }
}

#[test]
fn its_end_has_the_limit_of_the_place() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("M/9/zs");
    screen.code(KeyCode::F(11));
    for _ in 0..6 {
        screen.code(KeyCode::PageDown);
    }
    let shown = screen.picture();
    // C16 is 1.37 Ω in Table 41.3 from memory, and 0.8 of it, rounded down, 1.09 Ω.
    for part in [
        "here      limit ≤ 1.09 Ω · expect up to 1.22 Ω",
        "reading   1.21 Ω  ! outside",
        "origin    Common practice and memory, not a standard.",
    ] {
        assert!(shown.contains(part), "{part}\n{shown}");
    }
    insta::assert_snapshot!("learn_end_80x24", shown);
    // Up goes back at once: nothing was scrolled past the end.
    screen.code(KeyCode::Up);
    assert_ne!(screen.picture(), shown);
}

/// Also where a long message leaves less room.
#[test]
fn a_long_message_hides_no_line() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("M/9/zs");
    screen.code(KeyCode::F(11));
    screen.sitting.state.say("a long message ".repeat(25));
    for _ in 0..6 {
        screen.code(KeyCode::PageDown);
    }
    let shown = screen.picture();
    assert!(shown.contains("beside you come first."), "{shown}");
}

#[test]
fn every_view_with_a_place_at_hand_opens_it() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("M/9/zs");
    for back in [KeyCode::Enter, KeyCode::Esc, KeyCode::F(11)] {
        screen.ctrl('b');
        assert_eq!(
            (view(&screen), about(&screen).as_str()),
            (View::Learn, "M/9/zs")
        );
        screen.code(back);
        assert_eq!(view(&screen), View::Walk, "{back:?}");
        assert_eq!(screen.place(), "M/9/zs");
    }
    screen.code(KeyCode::F(3));
    screen.code(KeyCode::F(11));
    assert_eq!(about(&screen), "M/9/zs");
    screen.code(KeyCode::Esc);
    assert_eq!(view(&screen), View::Sheet);

    screen.code(KeyCode::F(4));
    let first = screen.sitting.state.left()[0].place.to_string();
    screen.code(KeyCode::F(11));
    assert_eq!(about(&screen), first);
    screen.code(KeyCode::Esc);
    assert_eq!(view(&screen), View::Left);

    // From another view straight on.
    screen.code(KeyCode::F(11));
    screen.code(KeyCode::F(3));
    assert_eq!(view(&screen), View::Sheet);
}

#[test]
fn a_worked_out_finding_has_its_page() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.code(KeyCode::F(4));
    let at = screen
        .sitting
        .state
        .left()
        .iter()
        .position(|f| f.place.test.is_derived())
        .unwrap();
    screen.sitting.state.left_line = at;
    let place = screen.sitting.state.left()[at].place.clone();
    screen.code(KeyCode::F(11));
    assert_eq!(about(&screen), place.to_string());
    let forms = Forms::embedded().unwrap();
    let page = forms.learn().of(place.test).next().unwrap();
    let shown = screen.picture();
    assert!(shown.contains(&page.name), "{shown}");
}

/// In the record: of what a part has, the finding that needs an eye most.
#[test]
fn in_the_record_the_most_pressing_finding_of_the_part_is_explained() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("M/9/zs");
    screen.code(KeyCode::F(9));
    assert_eq!(view(&screen), View::Record);
    screen.code(KeyCode::F(11));
    assert_eq!(about(&screen), "M/9/zs");
    screen.code(KeyCode::Esc);
    assert_eq!(view(&screen), View::Record);
    screen.code(KeyCode::Enter);
    assert_eq!(view(&screen), View::Form);
    screen.code(KeyCode::Down);
    screen.code(KeyCode::Down);
    screen.text("0.5");
    screen.code(KeyCode::F(11));
    assert_eq!(about(&screen), "M/9/zs");
    // What is typed in the form is no reading, and is still there afterwards.
    for _ in 0..6 {
        screen.code(KeyCode::PageDown);
    }
    assert!(screen.picture().contains("1.21 Ω  ! outside"));
    screen.code(KeyCode::Esc);
    assert_eq!(view(&screen), View::Form);
    assert_eq!(screen.sitting.state.field.text(), "0.5");
    screen.code(KeyCode::Esc);

    // The visit itself owns readings of many kinds: none is at hand.
    screen.code(KeyCode::Esc);
    screen.sitting.state.record.row = 0;
    screen.code(KeyCode::F(11));
    assert_eq!(view(&screen), View::Record);
    assert!(screen.message().contains("nothing is selected here"));
}

#[test]
fn what_is_typed_is_judged_and_kept_in_the_field() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.go("M/1/zs");
    let before = screen.job_on_disk();
    screen.text("2000");
    screen.code(KeyCode::F(11));
    screen.text("7");
    for _ in 0..6 {
        screen.code(KeyCode::PageDown);
    }
    let shown = screen.picture();
    assert!(
        shown.contains("2000 Ω (typed, not kept yet)  ! outside"),
        "{shown}"
    );
    screen.code(KeyCode::Enter);
    assert_eq!(view(&screen), View::Walk);
    assert_eq!(screen.sitting.state.field.text(), "2000");
    assert_eq!(screen.job_on_disk(), before);
}

/// F8 and F11 lead to each other; however often, one step back is where it was opened.
#[test]
fn the_page_of_reasons_and_the_learn_page_lead_to_each_other() {
    let mut screen = Screen::open(FAULTY, 80, 24);
    screen.go("M/9/zs");
    for (first, second, views) in [
        (8, 11, [View::Why, View::Learn]),
        (11, 8, [View::Learn, View::Why]),
    ] {
        screen.code(KeyCode::F(first));
        screen.code(KeyCode::F(second));
        assert_eq!(view(&screen), views[1]);
        assert!(screen.picture().contains("M/9/zs"));
        screen.code(KeyCode::F(first));
        assert_eq!(view(&screen), views[0]);
        screen.code(KeyCode::F(second));
        screen.code(KeyCode::Esc);
        assert_eq!(view(&screen), views[0]);
        screen.code(KeyCode::Esc);
        assert_eq!(view(&screen), View::Walk);
    }
    screen.code(KeyCode::F(8));
    screen.code(KeyCode::F(11));
    screen.code(KeyCode::F(9));
    assert_eq!(view(&screen), View::Record);
    assert_eq!(screen.sitting.state.why, None);
    assert_eq!(screen.sitting.state.learn.of, None);
}

/// Every step of a job that stopped in the middle, at the smallest window.
#[test]
fn every_step_has_a_page_that_can_be_read_to_its_end() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let places: Vec<String> = screen
        .sitting
        .state
        .plan
        .steps()
        .iter()
        .map(|s| s.place.to_string())
        .collect();
    for place in places {
        screen.go(&place);
        screen.code(KeyCode::F(11));
        let shown = screen.picture();
        assert!(shown.contains("What it is for"), "{place}\n{shown}");
        for _ in 0..6 {
            screen.code(KeyCode::PageDown);
        }
        let shown = screen.picture();
        assert!(shown.contains("beside you come first."), "{place}\n{shown}");
        screen.code(KeyCode::Esc);
    }
}
