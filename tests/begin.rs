//! The list of jobs and starters that the program shows without a job.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;

use common::{picture, root};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use wanderlead::screen::begin::{Asked, Begin, Line};
use wanderlead::screen::view::draw_begin;

fn press(begin: &mut Begin, code: KeyCode) -> Option<Asked> {
    begin.key(&KeyEvent::new(code, KeyModifiers::NONE))
}

fn shown(begin: &Begin) -> String {
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    terminal.draw(|f| draw_begin(f, begin)).unwrap();
    picture(terminal.backend().buffer())
}

fn folder_with_jobs() -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    for name in ["harbour-row.ron", "orchard-cottage.ron"] {
        std::fs::copy(root().join("sample-jobs").join(name), dir.path().join(name)).unwrap();
    }
    std::fs::write(dir.path().join("broken.ron"), "(schema: 1, reference: 7)").unwrap();
    dir
}

#[test]
fn jobs_come_first_then_starters_and_enter_opens() {
    let dir = folder_with_jobs();
    let mut begin = Begin::new(dir.path()).unwrap();
    let text = shown(&begin);
    for words in [
        "harbour-row.ron",
        "HR-2026-061",
        "orchard-cottage.ron",
        "can't be read",
        "new: micro",
        "new: string",
        "new: hybrid",
        "new: battery",
        "new: tt",
        "new: three-phase",
        "battery and its inverter on an existing consumer unit",
        "string inverter on a supply with its own electrode (TT)",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    press(&mut begin, KeyCode::Down);
    assert_eq!(
        press(&mut begin, KeyCode::Enter),
        Some(Asked::Open(dir.path().join("harbour-row.ron")))
    );
    assert_eq!(press(&mut begin, KeyCode::Esc), Some(Asked::Leave));
}

#[test]
fn a_new_job_gets_the_name_typed_with_the_right_ending() {
    let dir = tempfile::tempdir().unwrap();
    let mut begin = Begin::new(dir.path()).unwrap();
    assert!(shown(&begin).contains("No job in this folder yet"));
    let first = begin
        .lines
        .iter()
        .position(|l| matches!(l, Line::New { name: "string", .. }))
        .unwrap();
    for _ in 0..first {
        press(&mut begin, KeyCode::Down);
    }
    assert_eq!(press(&mut begin, KeyCode::Enter), None);
    assert_eq!(press(&mut begin, KeyCode::Enter), None, "no name, no file");
    for c in "mill-lane?".chars() {
        press(&mut begin, KeyCode::Char(c));
    }
    press(&mut begin, KeyCode::Backspace);
    assert!(shown(&begin).contains("file name: mill-lane"));
    let asked = press(&mut begin, KeyCode::Enter);
    assert_eq!(
        asked,
        Some(Asked::Make(dir.path().join("mill-lane.ron"), "string"))
    );
    // Esc goes back to the list, and does not leave.
    assert_eq!(press(&mut begin, KeyCode::Esc), None);
    assert!(begin.naming.is_none());
}

/// Every starter makes a job that opens.
#[test]
fn every_starter_makes_a_job_that_opens() {
    let dir = tempfile::tempdir().unwrap();
    for starter in wanderlead::store::starters() {
        let path = dir.path().join(format!("{}.ron", starter.name));
        wanderlead::store::start(&path, starter.name).unwrap();
        let session = wanderlead::store::Session::open(Path::new(&path)).unwrap();
        assert!(!session.job().boards.is_empty());
    }
}
