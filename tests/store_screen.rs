//! The screen on a disk that fails or is slow: what wasn't synced isn't called kept, and nothing is tried a second time unasked.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod store_help;

use std::io::ErrorKind;

use common::later;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use store_help::memory::{Fault, Memory};
use store_help::visit::{file, keep, world};
use wanderlead::forms::Forms;
use wanderlead::screen::look::Look;
use wanderlead::screen::sitting::Sitting;
use wanderlead::store::Session;

fn press(sitting: &mut Sitting, code: KeyCode) {
    sitting.event(
        &Event::Key(KeyEvent::new(code, KeyModifiers::NONE)),
        later(),
    );
}

fn enter(sitting: &mut Sitting, typed: &str) {
    typed.chars().for_each(|c| press(sitting, KeyCode::Char(c)));
    press(sitting, KeyCode::Enter);
}

/// The small job on the screen, on a disk in memory, at its first step.
fn opened() -> (Memory, Sitting) {
    let memory = Memory::new(world());
    let mut session = Session::open_on(Box::new(memory.clone()), &file()).unwrap();
    // Somebody has said what this job is.
    session
        .keep(&keep("safe/sources", "pass", "JE", later()), later())
        .unwrap();
    let mut sitting = Sitting::new(session, Forms::embedded().unwrap(), later(), Look::FULL);
    // Away from the page that says of which version the file is.
    press(&mut sitting, KeyCode::Enter);
    (memory, sitting)
}

fn trace(memory: &Memory) -> Vec<String> {
    memory.0.lock().unwrap().trace.clone()
}

#[test]
fn a_failed_sync_is_said_and_not_just_tried_again() {
    let (memory, mut sitting) = opened();
    let place = sitting.state.focus().unwrap();
    let before = trace(&memory).len();
    enter(&mut sitting, "pass");
    let good = trace(&memory)[before..].to_vec();
    let said = &sitting.state.message.text;
    assert!(
        said.starts_with(&format!("kept on disk: {place} pass")),
        "{said}"
    );
    // One record is one write, then one sync.
    let writes = good.iter().filter(|t| t.starts_with("write")).count();
    let syncs: Vec<usize> = (0..good.len())
        .filter(|i| good[*i].starts_with("sync"))
        .collect();
    assert_eq!((writes, syncs.len()), (1, 1), "{good:?}");

    let next = sitting.state.focus().unwrap();
    assert_ne!(next, place);
    let start = trace(&memory).len();
    for kind in [
        ErrorKind::Other,
        ErrorKind::StorageFull,
        ErrorKind::ReadOnlyFilesystem,
    ] {
        let at = trace(&memory).len();
        // The first time in this place; later ones put the journal in order before they write.
        let all: Vec<String> = if at == start {
            good.clone()
        } else {
            Vec::new()
        };
        let sync = all.iter().position(|t| t.starts_with("sync")).unwrap_or(1);
        memory.0.lock().unwrap().fault = Some(Fault {
            at: at + sync,
            kind,
            short: false,
            stays: true,
            forgets: true,
        });
        enter(&mut sitting, "pass");
        let said = sitting.state.message.text.clone();
        assert!(
            said.contains("NOT kept") && sitting.state.message.error,
            "{said}"
        );
        assert!(said.contains("enter it again"), "{said}");
        assert_eq!(
            sitting.state.focus().as_ref(),
            Some(&next),
            "it stays where it is"
        );
        assert_eq!(sitting.state.job.entry(&next), None);
        let tried = trace(&memory)[at..].to_vec();
        let syncs = tried.iter().filter(|t| t.starts_with("sync")).count();
        assert!(syncs <= 1, "{tried:?}");
        memory.0.lock().unwrap().fault = None;
        press(&mut sitting, KeyCode::Esc);
    }
    // The disk is right again: entered again it is kept. What was said was shown meanwhile.
    sitting.state.said.shown();
    enter(&mut sitting, "pass");
    let said = &sitting.state.message.text;
    assert!(
        said.starts_with(&format!("kept on disk: {next} pass")),
        "{said}"
    );
    drop(sitting);
    let left = memory.0.lock().unwrap().world.clone();
    let session = Session::open_on(Box::new(Memory::new(left)), &file()).unwrap();
    assert!(session.job().entry(&next).is_some());
    assert_eq!(session.read_only(), None);
}

#[test]
fn what_is_called_kept_names_place_and_value_and_is_there_after_a_power_cut() {
    let (memory, mut sitting) = opened();
    let mut seen = 0;
    for _ in 0..3 {
        let place = sitting.state.focus().unwrap();
        enter(&mut sitting, "pass");
        let said = &sitting.state.message.text;
        if !said.starts_with("kept on disk") {
            break;
        }
        assert!(
            said.starts_with(&format!("kept on disk: {place} pass")),
            "{said}"
        );
        let world = memory.0.lock().unwrap().world.clone();
        let mut chance = store_help::chance::Chance(3);
        for fates in world.fates(20, &mut chance) {
            let left = Memory::new(world.after_power_cut(&fates));
            let session = Session::open_on(Box::new(left), &file()).unwrap();
            let entry = session.job().entry(&place).unwrap();
            assert_eq!(entry.now.typed, "pass");
        }
        seen += 1;
    }
    assert!(seen >= 2, "{seen}");
}

/// Job file and journal can't be reached any more: whoever leaves is told first, and leaves by the same key again.
#[test]
fn nobody_leaves_without_knowing_that_what_was_kept_is_in_no_file() {
    let (memory, mut sitting) = opened();
    let leave = |sitting: &mut Sitting| {
        let key = KeyEvent::new(KeyCode::F(10), KeyModifiers::NONE);
        sitting.event(&Event::Key(key), later())
    };
    {
        let mut m = memory.0.lock().unwrap();
        m.world.take(&store_help::visit::journal());
        m.fault = Some(Fault {
            at: m.trace.len(),
            kind: ErrorKind::NotFound,
            short: false,
            stays: true,
            forgets: false,
        });
    }
    for _ in 0..2 {
        assert!(!leave(&mut sitting));
        let said = sitting.state.message.text.clone();
        assert!(
            said.starts_with("NOT left: ") && said.contains("in no file"),
            "{said}"
        );
        // Any other key: it is said once more.
        press(&mut sitting, KeyCode::Down);
    }
    assert!(!leave(&mut sitting));
    assert!(leave(&mut sitting));
}
