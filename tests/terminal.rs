//! The terminal is left as it was whatever ends the program, and what was kept is on the disk; in a pty.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod pty_help;

use std::path::{Path, PathBuf};

use common::{Did, HALF_DONE, Screen, no_settings, root, take_step};
use portable_pty::CommandBuilder;
use pty_help::{Terminal, program};
use wanderlead::job::Place;
use wanderlead::screen::terminal::Stage;
use wanderlead::store::Session;

/// The half-done sample in a folder of its own.
fn job_in(dir: &Path) -> PathBuf {
    let job = dir.join(HALF_DONE);
    std::fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    job
}

/// Opens it and keeps the first reading; returns where, and what.
fn with_one_kept(job: &Path) -> (Terminal, Place, String) {
    let mut shadow = Screen::open(HALF_DONE, 80, 24);
    let place = shadow.sitting.state.focus().unwrap();
    let (_, Did::Kept(value)) = take_step(&mut shadow, &place) else {
        panic!("nothing was kept at {place}")
    };
    let mut terminal = Terminal::open(job);
    terminal.wait_for(&format!("── {place} ──"));
    terminal.send(&format!("{value}\r"));
    terminal.wait_for(&format!("kept on disk: {place}"));
    (terminal, place, value)
}

/// In the modes of the terminal: alternate screen left, bracketed paste off, cursor shown.
fn is_given_back(terminal: &Terminal) -> bool {
    let parser = terminal.parser.lock().unwrap();
    let screen = parser.screen();
    !screen.alternate_screen() && !screen.bracketed_paste() && !screen.hide_cursor()
}

fn is_taken(terminal: &Terminal) -> bool {
    let parser = terminal.parser.lock().unwrap();
    parser.screen().alternate_screen() && parser.screen().bracketed_paste()
}

fn kept_on_disk(job: &Path, place: &Place, value: &str) {
    let opened = Session::open(job).unwrap();
    assert_eq!(opened.job().entry(place).unwrap().now.typed, value);
    assert!(
        opened.notes().is_empty(),
        "saved before the end: {:?}",
        opened.notes()
    );
}

/// The modes of the line: whether what is typed is echoed and taken line by line, as a shell has it.
fn is_cooked(terminal: &Terminal) -> bool {
    let modes = terminal.modes();
    modes.contains(" icanon") && modes.contains(" echo ") && modes.contains(" isig")
}

#[test]
fn every_end_gives_the_terminal_back_and_the_record_is_saved() {
    for end in ["TERM", "INT", "HUP", "key"] {
        let dir = tempfile::tempdir().unwrap();
        let job = job_in(dir.path());
        let (mut terminal, place, value) = with_one_kept(&job);
        assert!(is_taken(&terminal) && !is_cooked(&terminal), "{end}");
        terminal.send("12");
        terminal.wait_for("[12");
        match end {
            "key" => terminal.send("\x1b[21~\x1b[21~"), // F10, twice: what is typed isn't kept
            signal => terminal.signal(signal),
        }
        assert_eq!(terminal.end(), 0, "{end}");
        terminal.until("the terminal given back", is_given_back);
        assert!(is_cooked(&terminal), "{end}: {}", terminal.modes());
        kept_on_disk(&job, &place, &value);
    }
}

/// The window is closed, or the line to the machine breaks: nobody is there to be told, and the job file is saved all the same.
#[test]
fn a_closed_window_saves_the_job() {
    let dir = tempfile::tempdir().unwrap();
    let job = job_in(dir.path());
    let (mut terminal, place, value) = with_one_kept(&job);
    terminal.close_window();
    terminal.end();
    kept_on_disk(&job, &place, &value);
}

/// Ended while the list of jobs is shown.
#[test]
fn the_list_of_jobs_gives_the_terminal_back() {
    let dir = tempfile::tempdir().unwrap();
    job_in(dir.path());
    let mut command = program();
    command.cwd(dir.path());
    let mut terminal = Terminal::of(command);
    terminal.wait_for("OC-2026-118");
    terminal.signal("TERM");
    terminal.end();
    terminal.until("the terminal given back", is_given_back);
    assert!(is_cooked(&terminal));
}

#[test]
fn stopped_and_continued_the_screen_is_there_again() {
    let dir = tempfile::tempdir().unwrap();
    let job = job_in(dir.path());
    let (mut terminal, ..) = with_one_kept(&job);
    let before = terminal.settled();
    // Asked to stop, it gives the terminal back first.
    terminal.signal("TSTP");
    terminal.until("the terminal given back", is_given_back);
    terminal.until("line modes", is_cooked);
    terminal.signal("CONT");
    terminal.until("the screen again", |t| is_taken(t) && t.picture() == before);
    assert!(!is_cooked(&terminal));

    // Stopped without being asked; another program takes the terminal meanwhile.
    terminal.signal("STOP");
    terminal.modes_of_a_shell();
    terminal
        .parser
        .lock()
        .unwrap()
        .process(b"\x1b[?1049l\x1b[?2004l\x1b[2Jelsewhere");
    assert!(!terminal.picture().contains("wanderlead") && is_cooked(&terminal));
    terminal.signal("CONT");
    terminal.until("the screen again", |t| is_taken(t) && t.picture() == before);
    terminal.until("its modes", |t| !is_cooked(t));
    terminal.send("7");
    terminal.wait_for("[7");
    terminal.send("\x1b[21~\x1b[21~");
    assert_eq!(terminal.end(), 0);
}

#[test]
fn a_tiny_window_and_back() {
    let dir = tempfile::tempdir().unwrap();
    let job = job_in(dir.path());
    let (mut terminal, ..) = with_one_kept(&job);
    let before = terminal.settled();
    terminal.resize(3, 1);
    terminal.resize(20, 6);
    terminal.wait_for("This window");
    terminal.resize(80, 24);
    terminal.until("the screen again", |t| t.picture() == before);
    terminal.send("\x1b[21~");
    assert_eq!(terminal.end(), 0);
}

/// Runs only as the child of the next test: takes the terminal like the program, then fails.
#[test]
#[ignore = "run by the test below, in a pty"]
fn child_that_fails() {
    let Some(job) = std::env::var_os("FAILS_ON") else {
        return;
    };
    let mut session = Session::open(Path::new(&job)).unwrap();
    let mut shadow = Screen::open(HALF_DONE, 80, 24);
    let place = shadow.sitting.state.focus().unwrap();
    take_step(&mut shadow, &place);
    let entry = shadow.sitting.state.job.entry(&place).unwrap().clone();
    let change = wanderlead::job::Change::Keep {
        place,
        reading: entry.now,
    };
    session.keep(&change, common::later()).unwrap();
    let look = wanderlead::screen::look::Look::FULL;
    let forms = wanderlead::forms::Forms::embedded().unwrap();
    let sitting = wanderlead::screen::run::prepare(session, forms, look, "");
    let mut stage = Stage::set_up(&sitting.notice()).unwrap();
    stage
        .draw(|frame| wanderlead::screen::view::draw(frame, &sitting.state))
        .unwrap();
    panic!("a fault put in by the test");
}

#[test]
fn a_fault_of_the_program_gives_the_terminal_back_and_names_the_files() {
    let dir = tempfile::tempdir().unwrap();
    let job = job_in(dir.path());
    let mut command = CommandBuilder::new(std::env::current_exe().unwrap());
    command.args([
        "--exact",
        "child_that_fails",
        "--ignored",
        "--nocapture",
        "--test-threads=1",
    ]);
    command.env("FAILS_ON", &job);
    command.env("TERM", "xterm-256color");
    command.env("RUST_BACKTRACE", "0");
    command.env("WANDERLEAD_CONFIG", no_settings());
    let mut terminal = Terminal::of(command);
    terminal.wait_for("a fault put in by the test");
    // What it says is on the screen that stays, below the report.
    let shown = terminal.wait_for("open the job again to go on");
    let flat: String = shown.split_whitespace().collect();
    assert!(
        flat.contains(&format!("{}.journal", job.display())),
        "{shown}"
    );
    terminal.end();
    assert!(is_given_back(&terminal));
    assert!(is_cooked(&terminal), "{}", terminal.modes());
    let written = terminal.written.lock().unwrap().clone();
    let written = String::from_utf8_lossy(&written).into_owned();
    let taken = written.find("\x1b[?1049h").expect("it was taken");
    let fault = written.find("a fault put in").unwrap();
    assert!(taken < fault);
    for undone in ["\x1b[?2004l", "\x1b[?1049l", "\x1b[?25h"] {
        assert!(
            written[taken..fault].contains(undone),
            "{undone:?} before the report"
        );
    }
    // Kept and not saved: the journal brings it back.
    let mut shadow = Screen::open(HALF_DONE, 80, 24);
    let place = shadow.sitting.state.focus().unwrap();
    let (_, Did::Kept(value)) = take_step(&mut shadow, &place) else {
        panic!("nothing was kept at {place}")
    };
    let opened = Session::open(&job).unwrap();
    assert_eq!(opened.job().entry(&place).unwrap().now.typed, value);
}

/// In a locale without UTF-8 no byte is written that such a terminal can't show, whatever the record says.
#[test]
fn without_utf_8_only_ascii_is_written() {
    let dir = tempfile::tempdir().unwrap();
    let job = job_in(dir.path());
    let text = std::fs::read_to_string(&job).unwrap();
    std::fs::write(&job, text.replace("Jory Tamsett", "Siân 漢 Tamsett")).unwrap();
    let before = std::fs::read_to_string(&job).unwrap();
    let mut command = program();
    command.arg(&job);
    command.env_remove("LC_ALL");
    command.env_remove("LC_CTYPE");
    command.env("LANG", "C");
    let mut terminal = Terminal::of(command);
    terminal.wait_for("Sian ? Tamsett");
    terminal.wait_for("Mohm");
    for (key, words) in [
        ("\x1bOR", "the board itself"),          // F3
        ("\x1bOS", "Left to do before leaving"), // F4
        ("\x1b[20~", "The record"),              // F9
        ("\x1b[17~", "who is entering?"),        // F6
        ("\x1b", "The record"),
        ("\x1bOQ", "step"),                   // F2
        ("\x1b[19~", "goes by"),              // F8
        ("\x1bOP", "Keys, and what to mind"), // F1
    ] {
        terminal.send(key);
        if key == "\x1b" {
            terminal.until("the list closed", |t| !t.picture().contains("who is"));
        }
        terminal.wait_for(words);
    }
    terminal.send("\x1b[21~");
    assert_eq!(terminal.end(), 0);
    let written = terminal.written.lock().unwrap();
    assert!(written.len() > 5_000);
    let foreign: Vec<u8> = written.iter().copied().filter(|b| *b > 127).collect();
    assert!(foreign.is_empty(), "{}", String::from_utf8_lossy(&foreign));
    drop(written);
    let after = std::fs::read_to_string(&job).unwrap();
    assert!(after.contains("Siân 漢 Tamsett") && before.contains("Siân 漢"));
}
