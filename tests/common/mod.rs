//! What several tests share: samples, a fixed clock, and a screen without a terminal.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod dice;

use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use wanderlead::checks::Verdict;
use wanderlead::forms::Forms;
use wanderlead::job::{Job, Role, text::parse};
use wanderlead::screen::look::{Look, Palette};
use wanderlead::screen::sitting::Sitting;
use wanderlead::screen::{State, View, view};
use wanderlead::store::{Session, read_job};

/// The sample that stopped in the middle.
pub const HALF_DONE: &str = "orchard-cottage.ron";
/// The sample that is complete and in order.
pub const CLEAN: &str = "harbour-row.ron";
/// The sample with planted faults.
pub const FAULTY: &str = "mill-yard.ron";

/// The project's folder.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// A settings file that sets nothing. Every test that runs the program names it, by option or variable, so that no test reads
/// the settings of whoever runs it.
pub fn no_settings() -> PathBuf {
    root().join("tests/data/settings.ron")
}

/// Reads a text file of the project.
pub fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// The program, with neither the settings nor the form files of whoever runs the tests.
pub fn program() -> assert_cmd::Command {
    let mut command = assert_cmd::Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", no_settings());
    command
}

/// A sample job by the name of its file.
pub fn sample(name: &str) -> Job {
    let path = root().join("sample-jobs").join(name);
    parse(name, &read(&path)).unwrap_or_else(|e| panic!("{e}"))
}

/// Every job file of a folder of the project, by name.
pub fn jobs_in(folder: &str) -> Vec<(String, Job)> {
    let mut paths: Vec<PathBuf> = std::fs::read_dir(root().join(folder))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|x| x == "ron"))
        // A mapping of readings is no job.
        .filter(|p| read(p).contains("schema:"))
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|p| {
            let name = format!("{folder}/{}", p.file_name().unwrap().to_string_lossy());
            let job = parse::<Job>(&name, &read(p)).unwrap_or_else(|e| panic!("{e}"));
            (name, job)
        })
        .collect()
}

/// A saved job file as a careful hand leaves it that takes the history out, and the line with the digest of the file.
pub fn without_history(text: &str) -> String {
    let (before, rest) = text.split_once("  history: (\n").unwrap();
    let (_, after) = rest.split_once("    ],\n  ),\n").unwrap();
    let (after, _) = after.split_once("// check").unwrap();
    format!("{before}{after}")
}

/// A fixed time after every sample.
pub fn later() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-12-01T15:00:00+00:00").unwrap()
}

/// With colour or without, and with every sign.
fn look(colour: bool) -> Look {
    let palette = if colour { Palette::Any } else { Palette::Off };
    Look {
        palette,
        ascii: false,
    }
}

/// A screen without a terminal, on a copy of a sample in a folder of its own.
pub struct Screen {
    pub sitting: Sitting,
    pub path: PathBuf,
    terminal: Terminal<TestBackend>,
    folder: tempfile::TempDir,
}

impl Screen {
    pub fn open(name: &str, columns: u16, lines: u16) -> Screen {
        Screen::with(name, columns, lines, true)
    }

    pub fn with(name: &str, columns: u16, lines: u16, colour: bool) -> Screen {
        Screen::dressed(name, columns, lines, look(colour))
    }

    pub fn dressed(name: &str, columns: u16, lines: u16, look: Look) -> Screen {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        std::fs::copy(root().join("sample-jobs").join(name), &path).unwrap();
        Screen::looking(folder, path, columns, lines, look)
    }

    /// Leaves the program and starts it again on the same job.
    pub fn reopen(self) -> Screen {
        let size = self.sitting.state.size;
        self.sitting.close().unwrap();
        Screen::at(self.folder, self.path, size.0, size.1, true)
    }

    /// Leaves the program; the folder lives on.
    pub fn close(self) -> (tempfile::TempDir, PathBuf) {
        self.sitting.close().unwrap();
        (self.folder, self.path)
    }

    pub fn at(
        folder: tempfile::TempDir,
        path: PathBuf,
        columns: u16,
        lines: u16,
        colour: bool,
    ) -> Screen {
        Screen::looking(folder, path, columns, lines, look(colour))
    }

    fn looking(
        folder: tempfile::TempDir,
        path: PathBuf,
        columns: u16,
        lines: u16,
        look: Look,
    ) -> Screen {
        let session = Session::open(&path).unwrap();
        let mut sitting = Sitting::new(session, Forms::embedded().unwrap(), later(), look);
        sitting.state.size = (columns, lines);
        let terminal = Terminal::new(TestBackend::new(columns, lines)).unwrap();
        Screen {
            sitting,
            path,
            terminal,
            folder,
        }
    }

    /// Puts the walk on a place.
    pub fn go(&mut self, place: &str) {
        let state = &mut self.sitting.state;
        state.at = state.plan.position(&place.parse().unwrap()).expect(place);
        state.view = View::Walk;
    }

    /// What the message line says.
    pub fn message(&self) -> String {
        self.sitting.state.message.text.clone()
    }

    /// The verdict of a place as the screen has it.
    pub fn verdict(&self, place: &str) -> Verdict {
        self.sitting.state.verdicts.of(&place.parse().unwrap())
    }

    /// A qualified person enters from now on.
    pub fn by_qualified(&mut self) {
        let people = &self.sitting.state.job.people;
        let person = people.iter().find(|p| p.role == Role::Qualified).unwrap();
        self.sitting.state.who = person.id.clone();
    }

    /// Presses one key. Returns whether the program would leave.
    pub fn press(&mut self, code: KeyCode, mods: KeyModifiers) -> bool {
        // As the loop does: what was said is drawn before the next key, and what takes long is done after a frame.
        self.sitting.state.said.shown();
        let leave = self
            .sitting
            .event(&Event::Key(KeyEvent::new(code, mods)), later());
        self.sitting.work();
        leave
    }

    pub fn code(&mut self, code: KeyCode) -> bool {
        self.press(code, KeyModifiers::NONE)
    }

    pub fn ctrl(&mut self, c: char) -> bool {
        self.press(KeyCode::Char(c), KeyModifiers::CONTROL)
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
        let state = &self.sitting.state;
        self.terminal.draw(|f| view::draw(f, state)).unwrap();
        self.terminal.backend().buffer().clone()
    }

    /// Where the hardware cursor stands; `None` while it is hidden.
    pub fn cursor(&mut self) -> Option<(u16, u16)> {
        let state = &self.sitting.state;
        self.terminal.draw(|f| view::draw(f, state)).unwrap();
        let backend = self.terminal.backend();
        let at = backend.cursor_position();
        backend.cursor_visible().then_some((at.x, at.y))
    }

    /// The screen as lines of text, without trailing blanks.
    pub fn picture(&mut self) -> String {
        picture(&self.buffer())
    }

    /// The place the walk or sheet is at.
    pub fn place(&self) -> String {
        self.sitting
            .state
            .focus()
            .map_or(String::new(), |p| p.to_string())
    }

    /// What stands at a place, as typed, on the disk: another program's view of it.
    pub fn on_disk(&self, place: &str) -> Option<String> {
        self.job_on_disk()
            .entry(&place.parse().unwrap())
            .map(|e| e.now.typed.clone())
    }

    /// The job as another program reads it, without the count of changes.
    pub fn job_on_disk(&self) -> Job {
        let job = read_job(&self.path).unwrap().job;
        Job {
            kept: 0,
            kept_digest: String::new(),
            ..job
        }
    }
}

/// Puts the sample file of readings and its mapping beside a job.
pub fn put_readings(screen: &Screen) {
    for name in [
        "orchard-cottage-readings.csv",
        "orchard-cottage-readings.ron",
    ] {
        let from = root().join("sample-jobs").join(name);
        std::fs::copy(from, screen.path.with_file_name(name)).unwrap();
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
        Answer::Text => "G99 as accepted".into(),
        Answer::List | Answer::SignedList => several(state, place, expected),
        _ => match (place.test, &rule.bound) {
            (Test::IrLl | Test::IrLe | Test::IrPos | Test::IrNeg | Test::IrJoined, _) => {
                ">999".into()
            }
            (Test::Ze, _) => "0.21".into(),
            (Test::Zdb, _) => "0.22".into(),
            (Test::PfcLn | Test::PfcLe | Test::Pfc, _) => "1.05".into(),
            (Test::Zs, _) | (Test::R1r2 | Test::R1, _) => first_number.unwrap(),
            // Times scatter: the same for all would be queried.
            (Test::RcdTime, _) => {
                let circuit = place.part.as_deref().and_then(|p| p.parse::<u32>().ok());
                format!("2{}.{}", circuit.unwrap_or(4) % 10, place.top.len() % 10)
            }
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

/// Several numbers: what a stage has to be set to, or powers that add up.
fn several(state: &State, place: &wanderlead::job::Place, expected: &str) -> String {
    use wanderlead::job::Test;
    let watts = |grid: i32, pv: i32, battery: i32| {
        let of = |name: &str| match name {
            "grid" => grid,
            "PV" => pv,
            "battery" => battery,
            _ => 900,
        };
        wanderlead::checks::transformer_order(&state.job)
            .into_iter()
            .map(|name| of(name).to_string())
            .collect::<Vec<_>>()
            .join(" ")
    };
    match place.test {
        Test::CtIdle => watts(900, 0, 0),
        Test::CtSurplus => watts(-2100, 3000, 0),
        Test::CtCharging => watts(1500, 800, -1400),
        _ => expected
            .split_whitespace()
            .filter(|w| w.chars().all(|c| c.is_ascii_digit() || c == '.'))
            .collect::<Vec<_>>()
            .join(" "),
    }
}

/// What taking a step came to.
#[derive(Debug)]
pub enum Did {
    /// A reading was kept: what was typed.
    Kept(String),
    /// The reading of an apprentice was countersigned.
    Countersigned,
    /// The step waits for countersigns: somebody qualified enters now, and the walk went to the first of them.
    Went,
}

/// Takes the step the walk is at, as a sound installation would answer it; where a qualified person is asked for, chooses
/// one first, and returns the number in the list.
pub fn take_step(screen: &mut Screen, place: &wanderlead::job::Place) -> (Option<String>, Did) {
    let state = &screen.sitting.state;
    let qualified = state
        .job
        .people
        .iter()
        .position(|p| p.role == Role::Qualified)
        .unwrap();
    let waits = state.plan.waits_for(state.at, &state.verdicts);
    let asked = place.test.is_signature() || place.top == "safe" || waits.is_some();
    let mut number = None;
    if asked && state.job.people[qualified].id != state.who {
        let n = (qualified + 1).to_string();
        screen.code(KeyCode::F(6));
        screen.enter(&n);
        number = Some(n);
    }
    if let Some(first) = waits {
        assert!(
            screen.sitting.state.verdicts.waits_for_countersign(&first),
            "{place} waits for {first}"
        );
        screen.ctrl('o');
        return (number, Did::Went);
    }
    if screen.sitting.state.verdicts.waits_for_countersign(place) {
        screen.text("c");
        return (number, Did::Countersigned);
    }
    let value = answer(&screen.sitting.state, place);
    screen.enter(&value);
    (number, Did::Kept(value))
}
