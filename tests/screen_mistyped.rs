//! What is mistyped, pasted or signed by mistake becomes no reading of another place, no reason and no signature; and who waits
//! is led to what holds it up.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, HALF_DONE, Screen, later};
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use wanderlead::checks::Verdict;
use wanderlead::job::{Answer, Change, Place, Reading, Role};

const OPEN: &str = "C/4/r1r2";

fn half_done() -> Screen {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go(OPEN);
    assert_eq!(screen.on_disk(OPEN), None);
    screen
}

fn by_apprentice(screen: &mut Screen) {
    let people = &screen.sitting.state.job.people;
    let person = people.iter().find(|p| p.role == Role::Apprentice).unwrap();
    screen.sitting.state.who = person.id.clone();
}

#[test]
fn a_letter_for_a_digit_stays_at_its_place_and_is_not_kept() {
    let mut screen = half_done();
    let before = screen.job_on_disk();
    for typed in ["o.03", "O.03", "q.5", "p5", "OL", "ol", "0L", "I.2"] {
        screen.enter(typed);
        assert_eq!(screen.place(), OPEN, "{typed}");
        assert_eq!(screen.job_on_disk(), before, "{typed}");
        assert_eq!(screen.sitting.state.field.text(), typed);
        assert!(screen.message().starts_with("not kept"), "{typed}");
        screen.code(KeyCode::Esc);
    }
    let words = |screen: &mut Screen| {
        let shown = screen.picture();
        shown.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    screen.text("o.03");
    let shown = words(&mut screen);
    assert!(shown.contains("is meant for a digit, type 0"), "{shown}");
    screen.code(KeyCode::Esc);
    // The end of the scale as the order of work names it for this test.
    screen.text("OL");
    let shown = words(&mut screen);
    assert!(
        shown.contains("type > with that end, such as >99"),
        "{shown}"
    );
    screen.code(KeyCode::Esc);
    // The one that asks for a file: what follows is no more than the name of one.
    for typed in ["i.25", "i5", "i"] {
        screen.enter(typed);
        screen.code(KeyCode::Enter);
        assert_eq!(screen.job_on_disk(), before, "{typed}");
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::Esc);
        assert_eq!(screen.place(), OPEN, "{typed}");
    }
    // The key that moves on is none of them.
    screen.text("m");
    assert_ne!(screen.place(), OPEN);
}

#[test]
fn no_digits_are_a_reason() {
    let mut screen = half_done();
    for typed in ["l.22", "l.2", "n0.4", "l12.5"] {
        screen.enter(typed);
        assert_eq!(screen.on_disk(OPEN), None, "{typed}");
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::Esc);
    }
    screen.enter("lim: .22");
    // The bare letter opened the list, and the rest is own words, in which there are no letters to speak of.
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::Esc);
    assert!(screen.sitting.state.field.is_empty());
}

#[test]
fn a_reason_by_its_number_is_asked_for_again() {
    let mut screen = half_done();
    for typed in ["l2", "l", "n"] {
        screen.text(typed);
        assert!(screen.picture().contains("no reading "));
        screen.code(KeyCode::Enter);
        assert_eq!(screen.on_disk(OPEN), None, "{typed}");
        screen.code(KeyCode::Esc);
    }
    // Typed ahead, Enter answers a question that nobody has seen.
    screen.text("l2");
    for _ in 0..3 {
        let enter = KeyEvent::new(KeyCode::Enter, KeyModifiers::NONE);
        screen.sitting.event(&Event::Key(enter), later());
        assert_eq!(screen.on_disk(OPEN), None);
    }
    assert!(screen.message().starts_with("no reading will be taken at"));
    screen.code(KeyCode::Enter);
    assert!(screen.on_disk(OPEN).is_some_and(|t| t.starts_with("lim: ")));
}

#[test]
fn reasons_fit_the_place() {
    let mut screen = half_done();
    let lines = |screen: &mut Screen, place: &str| {
        screen.go(place);
        screen.ctrl('l');
        let lines = screen.sitting.state.choice.take().unwrap().lines;
        lines.into_iter().map(|(r, _)| r).collect::<Vec<_>>()
    };
    let of_a_circuit = lines(&mut screen, OPEN);
    assert!(of_a_circuit.len() > 4);
    for word in ["roof", "sun", "rain"] {
        assert!(of_a_circuit.iter().all(|r| !r.contains(word)), "{word}");
    }
    let inspected = lines(&mut screen, "inspect/labels");
    assert!(
        inspected.iter().any(|r| r.contains("roof")),
        "{inspected:?}"
    );
}

/// What may no longer be entered still stands in records of before, and in their journals.
#[test]
fn records_of_before_hold_what_is_no_longer_entered() {
    let screen = half_done();
    let mut job = screen.sitting.state.job.clone();
    let by = screen.sitting.state.who.clone();
    for (place, typed) in [
        (OPEN, "lim: .22"),
        (OPEN, "lim: 5"),
        ("sign/design", "0.72"),
    ] {
        let place: Place = place.parse().unwrap();
        let reading = Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: by.clone(),
            at: later(),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        };
        assert!(job.may_enter(&place, &reading).is_err(), "{typed}");
        assert!(job.would_keep(&place, &reading).is_ok(), "{typed}");
        let change = Change::Keep { place, reading };
        assert!(job.apply(&change).is_ok(), "{typed}");
    }
}

#[test]
fn two_pasted_lines_are_never_one_reading() {
    let mut screen = half_done();
    for end in ["\r", "\n", "\r\n", "\u{85}", "\u{2028}"] {
        let text = format!("0.4{end}12");
        screen.sitting.event(&Event::Paste(text), later());
        assert!(screen.sitting.state.field.is_empty(), "{end:?}");
        assert!(screen.message().contains("2 lines"), "{}", screen.message());
        screen.code(KeyCode::Esc);
    }
    screen.sitting.event(&Event::Paste("0.4\r".into()), later());
    assert_eq!(screen.sitting.state.field.text(), "0.4");
}

#[test]
fn a_signature_is_the_name_of_who_is_entering() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    let state = &screen.sitting.state;
    let name = state.job.person(&state.who).unwrap().name.clone();
    let stands = screen.on_disk("sign/inspection");
    assert!(stands.is_some());
    screen.go("sign/inspection");
    for typed in ["/B/2/zs", "0.72", "x", "Jory Tamsett"] {
        screen.enter(typed);
        assert_eq!(screen.on_disk("sign/inspection"), stands, "{typed}");
        assert!(screen.message().contains("is no signature of"), "{typed}");
        screen.code(KeyCode::Esc);
    }
    let typed = format!("  {} ", name.to_uppercase());
    screen.enter(&typed);
    assert_eq!(screen.on_disk("sign/inspection"), Some(name.to_uppercase()));
}

#[test]
fn leads_are_spoken_of_where_there_are_leads() {
    let mut screen = half_done();
    screen.enter("9.9");
    assert!(
        screen.message().contains("leads still on?"),
        "{}",
        screen.message()
    );
    let steps = screen.sitting.state.plan.steps();
    let label = steps
        .iter()
        .find(|s| s.place.top == "label" && s.place.test.answer() == Answer::PassFail);
    let label = label.unwrap().place.to_string();
    screen.go(&label);
    screen.enter("f");
    assert!(screen.message().starts_with("kept on disk"));
    assert!(!screen.message().contains("leads"), "{}", screen.message());
}

#[test]
fn a_wait_names_what_holds_it_up_and_leads_there_and_back() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    by_apprentice(&mut screen);
    screen.go("safe/sources");
    screen.enter("y");
    screen.go("safe/locked-off");
    let state = &screen.sitting.state;
    let all = state.findings.iter().filter(|f| f.waits_for_countersign);
    assert!(all.count() > 5, "others wait as well");
    let words = state.waits_for().unwrap();
    assert!(words.starts_with("safe/sources: 1 reading by "), "{words}");
    // An apprentice goes on with what can be taken.
    screen.ctrl('o');
    assert_ne!(screen.place(), "safe/sources");
    for key in ['o', 'c'] {
        screen.by_qualified();
        screen.go("safe/locked-off");
        // Taken by a qualified person before: nothing to countersign there.
        match key {
            'o' => screen.ctrl('o'),
            _ => screen.code(KeyCode::Char('c')),
        };
        assert_eq!(screen.place(), "safe/sources", "{key}");
    }
    screen.text("c");
    assert!(
        screen
            .message()
            .starts_with("countersigned on disk: safe/sources")
    );
    assert_eq!(screen.place(), "safe/locked-off");
}

#[test]
fn what_holds_a_step_up_comes_before_what_does_not() {
    let mut screen = half_done();
    screen.go("supply/polarity");
    let state = &screen.sitting.state;
    let at = state.at;
    let held: Vec<String> = state
        .plan
        .held_up_by(
            at,
            &state.verdicts,
            &wanderlead::guide::Gates::of(&state.plan, &state.verdicts),
        )
        .into_iter()
        .map(|i| state.plan.steps()[i].place.to_string())
        .collect();
    assert!(
        held.len() > 3 && held.iter().all(|p| !p.starts_with("label/")),
        "{held:?}"
    );
    screen.ctrl('o');
    assert!(held.contains(&screen.place()), "{}", screen.place());
    assert_eq!(screen.verdict(&screen.place()), Verdict::Open);
}

#[test]
fn what_is_missing_of_several_numbers_is_said_while_typing() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    screen.go("grid/set-ov1");
    screen.text("262.2");
    let shown = screen.picture();
    assert!(shown.contains("incomplete, 1 of 2 numbers"), "{shown}");
}
