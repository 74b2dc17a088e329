//! Every key of the table, in every view: it does something, or says why not.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::{BTreeSet, HashSet};

use common::{CLEAN, FAULTY, HALF_DONE, Screen, later};
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent};
use wanderlead::screen::keys::{Action, KEYS, When, look_up};

/// How a state is reached, and in which sample.
type Scene = (&'static str, &'static str, fn(&mut Screen));

const SCENES: &[Scene] = &[
    ("walk, dead test", HALF_DONE, |s| s.go("C/4/r1r2")),
    ("walk, dead test, qualified", HALF_DONE, |s| {
        s.by_qualified();
        s.go("C/1/r1r2");
    }),
    ("walk, number typed", HALF_DONE, |s| {
        s.go("C/4/r1r2");
        s.text("0.31");
        s.code(KeyCode::Left);
    }),
    ("walk, waits", HALF_DONE, |s| {
        s.by_qualified();
        s.go("R/1/zs");
    }),
    ("walk, confirmation", FAULTY, |s| s.go("safe/locked-off")),
    ("walk, signature", CLEAN, |s| s.go("sign/design")),
    ("walk, several numbers", CLEAN, |s| s.go("grid/ct-surplus")),
    ("sheet, board", HALF_DONE, |s| {
        s.by_qualified();
        s.go("C/2/ir-le");
        s.code(KeyCode::F(3));
    }),
    ("sheet, blank cell", HALF_DONE, |s| {
        s.go("C/2/r1r2");
        s.code(KeyCode::F(3));
        s.code(KeyCode::Left);
    }),
    ("sheet, list", HALF_DONE, |s| {
        s.go("inspect/fire");
        s.code(KeyCode::F(3));
    }),
    ("sheet, array", FAULTY, |s| {
        s.go("P/S1/voc");
        s.code(KeyCode::F(3));
    }),
    ("sheet, the record of a circuit", HALF_DONE, |s| {
        s.go("C/2/r1r2");
        s.code(KeyCode::F(3));
        s.code(KeyCode::End);
        s.code(KeyCode::Left);
    }),
    ("left", FAULTY, |s| {
        s.code(KeyCode::F(4));
        s.code(KeyCode::Down);
    }),
    ("left, to countersign", HALF_DONE, |s| {
        s.by_qualified();
        s.code(KeyCode::F(4));
        s.code(KeyCode::Down);
    }),
    ("left, none", CLEAN, |s| {
        s.code(KeyCode::F(4));
    }),
    ("record, circuit", FAULTY, |s| {
        s.go("M/5/zs");
        s.code(KeyCode::F(9));
    }),
    ("record, array", HALF_DONE, |s| {
        s.go("P/B1/serials");
        s.code(KeyCode::F(9));
    }),
    ("record, supply", CLEAN, |s| {
        s.go("supply/ze");
        s.code(KeyCode::F(9));
    }),
    ("record, head", CLEAN, |s| {
        s.go("supply/ze");
        s.code(KeyCode::F(9));
        s.code(KeyCode::Down);
    }),
    ("form, nothing typed", CLEAN, |s| {
        s.go("M/3/zs");
        s.code(KeyCode::F(9));
        s.code(KeyCode::Enter);
        s.code(KeyCode::Down);
        s.code(KeyCode::Down);
    }),
    ("form, typed", CLEAN, |s| {
        s.go("M/3/zs");
        s.code(KeyCode::F(9));
        s.code(KeyCode::Enter);
        s.code(KeyCode::Down);
        s.code(KeyCode::Down);
        s.text("shed");
        s.code(KeyCode::Left);
    }),
    ("find", HALF_DONE, |s| {
        s.text("/zs");
        s.code(KeyCode::Left);
        s.code(KeyCode::Down);
    }),
    ("find, nothing", HALF_DONE, |s| s.text("/no such words")),
    ("map", HALF_DONE, |s| {
        s.go("P/B1/serials");
        s.text("#");
        s.code(KeyCode::Right);
    }),
    ("readings of a file", HALF_DONE, |s| {
        common::put_readings(s);
        s.go("C/4/r1r2");
        s.text("i");
        s.code(KeyCode::Enter);
        s.code(KeyCode::Enter);
    }),
    ("which file", HALF_DONE, |s| {
        common::put_readings(s);
        s.go("C/4/r1r2");
        s.text("i");
    }),
    ("why", FAULTY, |s| {
        s.go("M/9/zs");
        s.code(KeyCode::F(8));
        s.code(KeyCode::Down);
    }),
    ("learn", FAULTY, |s| {
        s.go("M/9/zs");
        s.code(KeyCode::F(11));
        s.code(KeyCode::Down);
    }),
    ("found, nothing", HALF_DONE, |s| {
        s.go("C/4/r1r2");
        s.text("h");
        s.code(KeyCode::Tab);
    }),
    ("history", HALF_DONE, |s| {
        s.by_qualified();
        s.go("C/4/r1r2");
        s.enter("0.31");
        s.go("C/4/r1r2");
        s.text("h");
    }),
    ("help", HALF_DONE, |s| {
        s.code(KeyCode::F(1));
        s.code(KeyCode::Down);
    }),
    ("reasons", HALF_DONE, |s| {
        s.by_qualified();
        s.go("C/4/r1r2");
        s.text("l");
        s.code(KeyCode::Down);
    }),
    ("own words", HALF_DONE, |s| {
        s.by_qualified();
        s.go("C/4/r1r2");
        s.text("lwet");
    }),
    ("paste", HALF_DONE, |s| {
        s.go("C/4/r1r2");
        s.code(KeyCode::F(3));
        let table = Event::Paste("0.19\t>999\t0.4\n".into());
        s.sitting.event(&table, later());
        s.code(KeyCode::Down);
    }),
];

/// What a person sees or another program reads.
fn seen(s: &mut Screen) -> (String, Option<(u16, u16)>, usize, String) {
    let journal = format!("{}.journal", s.path.display());
    let journal = std::fs::read_to_string(journal).unwrap_or_default();
    (
        s.picture(),
        s.cursor(),
        s.sitting.state.said.past().len(),
        journal,
    )
}

fn opened(sample: &str, open: fn(&mut Screen)) -> Screen {
    let mut screen = Screen::open(sample, 80, 24);
    open(&mut screen);
    screen
}

/// What only moves in typed text or in a list may come to its end; Enter never does nothing.
fn may_be_silent(action: Action) -> bool {
    action.edits_text() && action != Action::Take
}

#[test]
fn every_key_does_something_or_says_why_not() {
    let (mut silent, mut pressed) = (BTreeSet::new(), 0);
    let mut covered = HashSet::new();
    for (name, sample, open) in SCENES {
        let mut first = opened(sample, *open);
        let now: Vec<When> = first.sitting.state.places();
        let before = seen(&mut first);
        for key in KEYS.iter().filter(|k| now.contains(&k.when)) {
            // Its other presses mean the same: `look_up` finds lines, and a line has one action.
            let (code, mods) = key.presses[0];
            let action = look_up(&KeyEvent::new(code, mods), &now).unwrap();
            if action != key.action || may_be_silent(action) {
                continue;
            }
            // Keys of every view are tried once in a view with something typed, and once without.
            let state = &first.sitting.state;
            let here = (state.view, state.choice.is_some(), state.field.is_empty());
            let tried = covered.insert((key.shown, here));
            if key.when == When::Always && !tried {
                continue;
            }
            let mut screen = opened(sample, *open);
            let leave = screen.press(code, mods);
            pressed += 1;
            if !leave && seen(&mut screen) == before {
                silent.insert(format!("{name}: {} {action:?}", key.shown));
            }
        }
    }
    assert!(pressed > 300, "{pressed}");
    assert!(silent.is_empty(), "{silent:#?}");
}
