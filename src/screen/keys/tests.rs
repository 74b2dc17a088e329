//! The table of keys holds together.

use super::*;
use KeyCode::{Char, Esc, F};

use crate::screen::view::help_lines;

const NONE: KeyModifiers = KeyModifiers::NONE;
use std::collections::HashSet;

#[test]
fn no_key_means_two_things_in_one_place() {
    let mut seen = HashSet::new();
    for key in KEYS {
        for press in key.presses {
            assert!(
                seen.insert((key.when, *press)),
                "{:?} {press:?} twice",
                key.when
            );
        }
    }
}

#[test]
fn every_key_is_explained_and_its_name_is_shown() {
    for key in KEYS {
        assert!(key.says.len() > 5 && !key.shown.is_empty(), "{key:?}");
        assert!(key.short.len() <= 12, "{key:?}");
    }
}

#[test]
fn every_view_has_help_leave_and_a_way_back() {
    for view in [
        View::Walk,
        View::Sheet,
        View::Left,
        View::Record,
        View::Form,
        View::Map,
        View::Bring,
        View::Why,
        View::Learn,
        View::Help,
    ] {
        let now = places(view, false, None);
        for (code, action) in [
            (F(1), Action::Help),
            (F(10), Action::Leave),
            (Esc, Action::Back),
            (F(2), Action::ShowWalk),
        ] {
            assert_eq!(
                look_up(&KeyEvent::new(code, NONE), &now),
                Some(action),
                "{view:?}"
            );
        }
    }
}

#[test]
fn letters_stay_text_unless_the_field_is_an_empty_reading() {
    let l = KeyEvent::new(Char('l'), NONE);
    assert_eq!(
        look_up(&l, &places(View::Walk, false, Some(Answer::Text))),
        None
    );
    assert_eq!(
        look_up(&l, &places(View::Walk, false, Some(Answer::PassFail))),
        Some(Action::Limitation)
    );
}

/// A number that is typed with a letter for its first digit, or off a display past its scale, or with the finger a row too low,
/// must not be kept at another place.
#[test]
fn what_a_number_may_be_mistyped_as_moves_nowhere() {
    let row_below_the_digits = "qwertyuiop";
    let looks_like_a_digit_or_is_shown = "oOlLiIzZsSbBgGrR|.,-";
    // These two ask something first, a reason and a file, and keep nothing by that.
    let may = |c, action| match action {
        None => true,
        Some(Action::Limitation) => c == 'l',
        Some(Action::Bring) => c == 'i',
        Some(_) => false,
    };
    for view in [View::Walk, View::Sheet] {
        for answer in ANSWERS.into_iter().flatten() {
            let now = places(view, false, Some(answer));
            for c in row_below_the_digits
                .chars()
                .chain(looks_like_a_digit_or_is_shown.chars())
            {
                let action = look_up(&KeyEvent::new(Char(c), NONE), &now);
                assert!(may(c, action), "{view:?} {c} {action:?}");
            }
        }
    }
}

const ANSWERS: [Option<Answer>; 8] = [
    None,
    Some(Answer::Text),
    Some(Answer::PassFail),
    Some(Answer::Count),
    Some(Answer::List),
    Some(Answer::SignedList),
    Some(Answer::Number),
    Some(Answer::SignedNumber),
];

/// Every set of places whose keys count together.
fn together() -> Vec<Vec<When>> {
    let mut out = vec![vec![When::Begin], places(View::Walk, true, None)];
    for view in View::ALL {
        for empty in ANSWERS {
            // Only walk and sheet have a reading at hand.
            if empty.is_none() || matches!(view, View::Walk | View::Sheet) {
                out.push(places(view, false, empty));
            }
        }
    }
    out
}

/// The keys of a set of places, the most particular first.
fn counting(now: &[When]) -> impl Iterator<Item = &'static Key> {
    now.iter()
        .flat_map(|when| KEYS.iter().filter(move |k| k.when == *when))
}

/// Where keys count together, one takes another's press only to mean the same there or to move in what is on the screen.
#[test]
fn no_key_takes_the_press_of_another_that_counts_with_it() {
    for now in together() {
        let mut first: Vec<(&Key, (KeyCode, KeyModifiers))> = Vec::new();
        for key in counting(&now) {
            for press in key.presses {
                let taken = first.iter().find(|(_, p)| p == press).map(|(k, _)| *k);
                if let Some(taker) = taken {
                    // Arrows and Esc: of the sheet, the map, a form or a list, where else they edit what is typed.
                    let same = taker.action == key.action
                        || (taker.action.edits_text() && key.action.edits_text());
                    assert!(
                        same && key.when == When::Always,
                        "{now:?}: {press:?} {:?} {:?}",
                        taker.action,
                        key.action
                    );
                }
                first.push((key, *press));
            }
        }
    }
}

/// Every action of the source is in the table, and some place has a press for it that nothing else takes.
#[test]
fn every_action_is_reached_by_a_key() {
    let source = include_str!("../keys.rs");
    let body = source.split("pub enum Action {").nth(1).unwrap_or_default();
    let body = body.split("\n}").next().unwrap_or_default();
    let names: Vec<&str> = body
        .lines()
        .filter_map(|l| l.trim().strip_suffix(','))
        .filter(|l| !l.starts_with("//"))
        .collect();
    assert!(names.len() > 40, "{names:?}");
    let mut reached = HashSet::new();
    for now in together() {
        for key in counting(&now) {
            for (code, mods) in key.presses {
                let action = look_up(&KeyEvent::new(*code, *mods), &now);
                reached.extend(action.map(|a| format!("{a:?}")));
            }
        }
    }
    for name in names {
        assert!(reached.contains(name), "{name}");
    }
}

/// How a press is written.
fn written(code: KeyCode, mods: KeyModifiers) -> String {
    let name = match code {
        Char(' ') => "Space".into(),
        Char(c) if mods.intersects(KeyModifiers::CONTROL | KeyModifiers::ALT) => {
            c.to_uppercase().to_string()
        }
        Char(c) => c.to_string(),
        F(n) => format!("F{n}"),
        KeyCode::PageDown => "PgDn".into(),
        KeyCode::PageUp => "PgUp".into(),
        KeyCode::Insert => "Ins".into(),
        KeyCode::BackTab => return "Shift-Tab".into(),
        code => format!("{code:?}"),
    };
    match mods {
        KeyModifiers::CONTROL => format!("Ctrl-{name}"),
        KeyModifiers::ALT => format!("Alt-{name}"),
        _ => name,
    }
}

/// The help and the README are made of what a line shows and says: each of its presses is named there.
#[test]
fn every_press_is_named_where_its_line_is_explained() {
    let mut unnamed = Vec::new();
    for key in KEYS {
        for (code, mods) in key.presses {
            let name = written(*code, *mods);
            let words = format!("{} {}", key.shown, key.says);
            let named = words
                .split(|c: char| c.is_whitespace() || "(),;".contains(c))
                .any(|w| w == name);
            if !named {
                unnamed.push(format!("{:?} {name}: {words}", key.when));
            }
        }
    }
    assert!(unnamed.is_empty(), "{unnamed:#?}");
}

/// The help of a view lists every key that counts on it.
#[test]
fn the_help_lists_every_key() {
    let mut listed = HashSet::new();
    for view in View::ALL {
        for empty in ANSWERS {
            let lines = help_lines(view, empty);
            for key in counting(&places(view, false, empty)) {
                assert!(
                    lines
                        .iter()
                        .any(|l| l.when == key.when && l.says == key.says),
                    "{key:?}"
                );
            }
            listed.extend(lines.iter().map(|k| (k.when, k.shown)));
        }
    }
    // A list of choices, and the list of jobs, have all they know in the footer and on the message line.
    for key in KEYS {
        let own = matches!(key.when, When::Choice | When::Begin);
        assert!(own || listed.contains(&(key.when, key.shown)), "{key:?}");
    }
}
