//! The table of keys holds together.

use super::*;
use KeyCode::{Char, Esc, F};

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
