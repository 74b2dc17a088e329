//! What comes in through the terminal and is no key somebody pressed: resizes by the hundred, a megabyte pasted, bytes that are no
//! text. Afterwards the program answers, and what it called kept is on the disk.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod pty_help;
mod store_help;

use std::path::{Path, PathBuf};

use common::{Did, HALF_DONE, Screen, root, take_step};
use pty_help::Terminal;
use store_help::chance::Chance;
use wanderlead::job::Place;
use wanderlead::store::read_job;

fn opened(dir: &Path) -> (PathBuf, Terminal, Vec<(Place, String)>) {
    let job = dir.join(HALF_DONE);
    std::fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    let mut shadow = Screen::open(HALF_DONE, 80, 24);
    let mut script = Vec::new();
    while script.len() < 4 {
        let place = shadow.sitting.state.focus().unwrap();
        match take_step(&mut shadow, &place) {
            (None, Did::Kept(value)) => script.push((place, value)),
            _ => break,
        }
    }
    assert!(script.len() >= 2, "{}", script.len());
    let terminal = Terminal::open(&job);
    terminal.wait_for(&format!("── {} ──", script[0].0));
    (job, terminal, script)
}

/// Keeps the readings, leaves, and looks at the disk.
fn goes_on(mut terminal: Terminal, job: &Path, script: &[(Place, String)]) {
    for (place, value) in script {
        terminal.send(&format!("{value}\r"));
        terminal.wait_for(&format!("kept on disk: {place}"));
    }
    terminal.send("\x1b[21~");
    assert_eq!(terminal.end(), 0);
    let opened = read_job(job).unwrap();
    assert!(
        opened.notes.is_empty() && opened.lost.is_none(),
        "{:?}",
        opened.notes
    );
    for (place, value) in script {
        assert_eq!(opened.job.entry(place).unwrap().now.typed, *value);
    }
}

#[test]
fn a_storm_of_resizes_while_somebody_types() {
    let dir = tempfile::tempdir().unwrap();
    let (job, mut terminal, script) = opened(dir.path());
    let mut chance = Chance(7);
    for n in 0..400 {
        let (columns, lines) = (1 + chance.below(200) as u16, 1 + chance.below(80) as u16);
        terminal.resize(columns, lines);
        if n % 40 == 0 {
            // In a window that may be too small nothing is entered: it may come or not, and is dropped below.
            terminal.send("7");
        }
    }
    terminal.resize(80, 24);
    terminal.wait_for(&format!("── {} ──", script[0].0));
    terminal.send("\x1b");
    terminal.until("an empty field", |t| !t.picture().contains("[7"));
    goes_on(terminal, &job, &script);
}

#[test]
fn a_megabyte_pasted_keeps_nothing_and_the_program_goes_on() {
    let dir = tempfile::tempdir().unwrap();
    let (job, mut terminal, script) = opened(dir.path());
    let before = std::fs::read(&job).unwrap();
    let journal = PathBuf::from(format!("{}.journal", job.display()));
    let begun = std::fs::read(&journal).unwrap();
    // Marked as pasted; with line ends, which never keep anything.
    let line = "0.31\t>999\tpass\u{1f50c} \r\n".repeat(1 << 16);
    assert!(line.len() > 1 << 20);
    terminal.send(&format!("\x1b[200~{line}\x1b[201~"));
    terminal.wait_for("nothing pasted: it has 65536 lines");
    terminal.send("\x1b");
    terminal.wait_for("everything kept is on disk");
    assert_eq!(std::fs::read(&journal).unwrap(), begun);
    assert_eq!(std::fs::read(&job).unwrap(), before);
    goes_on(terminal, &job, &script);
}

/// A terminal that doesn't mark pastes: what is pasted looks like typing. It comes faster than it is read, and the last of it comes
/// long before it is read.
fn an_unmarked_paste(length: usize) {
    let dir = tempfile::tempdir().unwrap();
    let (job, mut terminal, script) = opened(dir.path());
    let journal = PathBuf::from(format!("{}.journal", job.display()));
    let begun = std::fs::read(&journal).unwrap();
    terminal.send(&"7".repeat(length));
    terminal.wait_for("[777777");
    // Behind everything that was pasted.
    terminal.send("\x1b");
    terminal.wait_for("dropped what was typed");
    assert_eq!(std::fs::read(&journal).unwrap(), begun);
    terminal.resize(100, 30);
    terminal.resize(80, 24);
    goes_on(terminal, &job, &script);
}

#[test]
fn an_unmarked_paste_of_64_kilobytes_leaves_it_hearing_keys() {
    an_unmarked_paste(1 << 16);
}

#[test]
fn an_unmarked_paste_of_a_megabyte_leaves_it_hearing_keys() {
    an_unmarked_paste(1 << 20);
}

#[test]
fn bytes_that_are_no_text_do_no_harm() {
    let dir = tempfile::tempdir().unwrap();
    let (job, mut terminal, script) = opened(dir.path());
    for bytes in [
        &b"\xff\xfe\x80\xc0"[..],
        b"\xf5\x80\x80\x80",
        b"\xed\xa0\x80",
        b"\xe2\x82",
        b"\x1b[\xff\xff~",
        b"\x1b]52;c;\xff\x07",
    ] {
        terminal.send_bytes(bytes);
        // Whatever of it was taken for text is dropped again.
        terminal.send("\x1b");
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    terminal.send("\x1b");
    terminal.wait_for(&format!("── {} ──", script[0].0));
    let shown = terminal.settled();
    assert!(!shown.contains('\u{fffd}'), "{shown}");
    goes_on(terminal, &job, &script);
}
