//! What several tests share: samples, a fixed clock, and a screen without a terminal.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

use std::path::{Path, PathBuf};
use std::rc::Rc;

use chrono::{DateTime, FixedOffset};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use wanderlead::forms::Forms;
use wanderlead::job::{Job, text::parse};
use wanderlead::screen::update::{self, Effect};
use wanderlead::screen::{State, view};

/// The project's folder.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Reads a text file of the project.
pub fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// A sample job by the name of its file.
pub fn sample(name: &str) -> Job {
    let path = root().join("sample-jobs").join(name);
    parse(name, &read(&path)).unwrap_or_else(|e| panic!("{e}"))
}

/// A fixed time after every sample.
pub fn later() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-12-01T15:00:00+00:00").unwrap()
}

/// A screen without a terminal and without a disk: effects are done in memory.
pub struct Screen {
    pub state: State,
    terminal: Terminal<TestBackend>,
    pub effects: Vec<Effect>,
}

impl Screen {
    pub fn open(name: &str, columns: u16, lines: u16) -> Screen {
        Screen::on(sample(name), columns, lines, true)
    }

    pub fn on(job: Job, columns: u16, lines: u16, colour: bool) -> Screen {
        let forms = Rc::new(Forms::embedded().unwrap());
        let state = State::new(job, "job.ron", forms, later(), colour);
        let terminal = Terminal::new(TestBackend::new(columns, lines)).unwrap();
        Screen {
            state,
            terminal,
            effects: Vec::new(),
        }
    }

    /// Presses one key and does in memory what the loop would do on disk.
    pub fn press(&mut self, code: KeyCode, mods: KeyModifiers) {
        if let Some(effect) = update::key(&mut self.state, &KeyEvent::new(code, mods)) {
            if let Effect::Keep(change) = &effect {
                update::kept(&mut self.state, change);
            }
            self.effects.push(effect);
        }
    }

    pub fn code(&mut self, code: KeyCode) {
        self.press(code, KeyModifiers::NONE);
    }

    pub fn ctrl(&mut self, c: char) {
        self.press(KeyCode::Char(c), KeyModifiers::CONTROL);
    }

    pub fn text(&mut self, text: &str) {
        for c in text.chars() {
            self.code(KeyCode::Char(c));
        }
    }

    pub fn enter(&mut self, text: &str) {
        self.text(text);
        self.code(KeyCode::Enter);
    }

    pub fn buffer(&mut self) -> Buffer {
        let state = &self.state;
        self.terminal.draw(|f| view::draw(f, state)).unwrap();
        self.terminal.backend().buffer().clone()
    }

    /// The screen as lines of text, without trailing blanks.
    pub fn picture(&mut self) -> String {
        picture(&self.buffer())
    }

    /// The place the walk or sheet is at.
    pub fn place(&self) -> String {
        self.state.focus().map_or(String::new(), |p| p.to_string())
    }
}

/// A buffer as lines of text, without trailing blanks.
pub fn picture(buffer: &Buffer) -> String {
    let area = buffer.area;
    let mut out = String::new();
    for y in 0..area.height {
        let line: String = (0..area.width).map(|x| buffer[(x, y)].symbol()).collect();
        out.push_str(line.trim_end());
        out.push('\n');
    }
    out
}

/// What a sound installation would read at a place: from the expectation and the limit that the screen shows.
pub fn answer(state: &State, place: &wanderlead::job::Place) -> String {
    use wanderlead::checks::{Bound, Judge};
    use wanderlead::job::{Answer, Test};
    let seat = state.job.seat(place).unwrap();
    let rule = Judge::new(&state.job, &state.forms)
        .rule(&seat, place.test)
        .unwrap();
    let expected = rule.expected.as_deref().unwrap_or("");
    let first_number = expected
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .find(|w| w.chars().any(|c| c.is_ascii_digit()))
        .map(str::to_string);
    match place.test.answer() {
        Answer::PassFail => "y".into(),
        Answer::Text if place.test.is_signature() => {
            state.job.person(&state.who).unwrap().name.clone()
        }
        Answer::Text => "G98 as shipped".into(),
        _ => match (place.test, &rule.bound) {
            (Test::IrLl | Test::IrLe | Test::IrPos | Test::IrNeg | Test::IrJoined, _) => {
                ">999".into()
            }
            (Test::Ze, _) => "0.21".into(),
            (Test::Zdb, _) => "0.22".into(),
            (Test::PfcLn | Test::PfcLe | Test::Pfc, _) => "1.05".into(),
            (Test::Zs, _) | (Test::R1r2 | Test::R1, _) => first_number.unwrap(),
            (Test::RcdTime, _) => "24".into(),
            (Test::Irradiance, _) => "780".into(),
            (Test::CellTemp, _) => "31".into(),
            (_, Bound::Exactly(n)) => n.to_string(),
            (_, Bound::Between(a, b)) => ((a + b) / rust_decimal::Decimal::TWO)
                .round_dp(1)
                .to_string(),
            (_, Bound::AtMost(x)) => (x / rust_decimal::Decimal::TWO).round_dp(2).to_string(),
            (_, Bound::AtLeast(x)) => (x * rust_decimal::Decimal::TWO).to_string(),
            _ => first_number.unwrap_or_else(|| "1".into()),
        },
    }
}
