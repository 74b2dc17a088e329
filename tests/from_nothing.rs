//! A whole job typed from nothing into the real program in a pty: a starter from the list of jobs, the record, every reading,
//! the signatures and the issued paper, by keys alone. A second screen in memory gets the same keys and says where they lead.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod pty_help;

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Output};
use std::time::Instant;

use common::{Screen, answer, later};
use pty_help::{Terminal, program};
use ratatui::crossterm::event::{Event, KeyCode, KeyModifiers};
use wanderlead::job::{Part, Place, Spot, Test};
use wanderlead::screen::View;
use wanderlead::screen::record::{Kind, Row, rows, rows_of};
use wanderlead::store::read_job;

/// The program in its terminal, and the screen in memory that gets the same keys.
struct Both {
    terminal: Terminal,
    shadow: Screen,
    /// Keys that the shadow had and the terminal not yet: they are sent as one, as by somebody who types ahead.
    ahead: String,
    keys: usize,
}

fn bytes(code: KeyCode, mods: KeyModifiers) -> String {
    match code {
        KeyCode::Char(c) if mods == KeyModifiers::CONTROL => {
            char::from(u8::try_from(c).unwrap() & 0x1f).to_string()
        }
        KeyCode::Char(c) => c.to_string(),
        KeyCode::Enter => "\r".into(),
        KeyCode::Up => "\x1b[A".into(),
        KeyCode::Down => "\x1b[B".into(),
        KeyCode::Right => "\x1b[C".into(),
        KeyCode::Left => "\x1b[D".into(),
        KeyCode::F(3) => "\x1bOR".into(),
        KeyCode::F(5) => "\x1b[15~".into(),
        KeyCode::F(6) => "\x1b[17~".into(),
        KeyCode::F(9) => "\x1b[20~".into(),
        KeyCode::F(10) => "\x1b[21~".into(),
        code => panic!("{code:?} isn't used here"),
    }
}

impl Both {
    fn press(&mut self, code: KeyCode, mods: KeyModifiers) {
        self.ahead.push_str(&bytes(code, mods));
        self.keys += 1;
        self.shadow.press(code, mods);
    }

    fn code(&mut self, code: KeyCode) {
        self.press(code, KeyModifiers::NONE);
    }

    fn ctrl(&mut self, c: char) {
        self.press(KeyCode::Char(c), KeyModifiers::CONTROL);
    }

    fn enter(&mut self, text: &str) {
        for c in text.chars() {
            self.code(KeyCode::Char(c));
        }
        self.code(KeyCode::Enter);
    }

    fn paste(&mut self, text: &str) {
        self.ahead.push_str(&format!("\x1b[200~{text}\x1b[201~"));
        let event = Event::Paste(text.into());
        self.shadow.sitting.event(&event, later());
    }

    /// What was typed ahead goes to the program, which then says the same as the screen in memory.
    fn sync(&mut self) {
        let keys = std::mem::take(&mut self.ahead);
        self.terminal.send(&keys);
        let said = self.shadow.message();
        // Line ends and blanks don't count, and the end of a long message isn't on the screen.
        let words: Vec<&str> = said.split_whitespace().take(18).collect();
        self.terminal.wait_for(&words.join(" "));
    }

    /// The last key kept something.
    fn kept(&self) {
        let said = self.shadow.message();
        assert!(said.starts_with("kept on disk"), "{said}");
    }

    /// Moves to a line of a list of the record, or of choices.
    fn lines(&mut self, from: usize, to: usize) {
        let key = if from > to {
            KeyCode::Up
        } else {
            KeyCode::Down
        };
        for _ in 0..from.abs_diff(to) {
            self.code(key);
        }
    }

    fn go_to(&mut self, spot: &Spot) {
        if self.shadow.sitting.state.view != View::Record {
            self.code(KeyCode::F(9));
        }
        let state = &self.shadow.sitting.state;
        let wanted = Row::Part(spot.clone());
        let to = rows(&state.job).iter().position(|r| *r == wanted);
        let (from, to) = (state.record.row, to.unwrap_or_else(|| panic!("no {spot}")));
        self.lines(from, to);
    }

    /// Takes the line of an open list of choices.
    fn choose(&mut self, wanted: &str) {
        let choice = self.shadow.sitting.state.choice.clone();
        let choice = choice.unwrap_or_else(|| panic!("no list: {}", self.shadow.message()));
        let is = |(value, shown): &(String, String)| value == wanted || shown == wanted;
        let to = choice.lines.iter().position(is);
        let to = to.unwrap_or_else(|| panic!("no {wanted}: {:?}", choice.lines));
        self.lines(choice.selected, to);
        self.code(KeyCode::Enter);
    }

    fn part(&self) -> Part {
        let state = &self.shadow.sitting.state;
        state
            .job
            .part(state.record.spot.as_ref().unwrap())
            .unwrap()
            .0
    }

    /// Fills fields of the open form.
    fn fill(&mut self, fields: &[(&str, &str)]) {
        for (heading, value) in fields {
            let rows = rows_of(&self.part());
            let to = rows.iter().position(|f| f.heading().trim() == *heading);
            let to = to.unwrap_or_else(|| panic!("no {heading}"));
            let kind = rows[to].entry().kind;
            let from = self.shadow.sitting.state.record.field;
            self.lines(from, to);
            match kind {
                Kind::Pick(_) => {
                    self.code(KeyCode::Enter);
                    self.choose(value);
                }
                _ => self.enter(value),
            }
            let said = self.shadow.message();
            assert!(
                said.starts_with("kept on disk"),
                "{heading} {value}: {said}"
            );
        }
        self.sync();
    }

    /// Opens the form of a part and fills some of its fields.
    fn describe(&mut self, spot: &Spot, fields: &[(&str, &str)]) {
        self.go_to(spot);
        self.code(KeyCode::Enter);
        self.fill(fields);
    }

    /// Adds a part of a list of starting points, from the row of a part; its form is open then.
    fn add(&mut self, from: &Spot, shown: &str) -> Spot {
        self.go_to(from);
        self.code(KeyCode::Char('+'));
        self.choose(shown);
        self.kept();
        self.shadow.sitting.state.record.spot.clone().unwrap()
    }

    fn who(&mut self, id: &str) {
        if self.shadow.sitting.state.who != id {
            self.code(KeyCode::F(6));
            self.choose(id);
            self.sync();
        }
    }
}

fn circuit(id: &str) -> Spot {
    Spot::Circuit("R".into(), id.into())
}

/// From the list of jobs of an empty folder into the form of a new job.
fn begin(folder: &Path) -> Both {
    let mut command = program();
    command.cwd(folder);
    let mut terminal = Terminal::of(command);
    terminal.wait_for("No job in this folder yet");
    // Lines of starters, in their order: the first is that of micro-inverters.
    let first = wanderlead::store::starters()[0].name;
    assert_eq!(first, "micro");
    terminal.send("\r");
    terminal.wait_for("Name of the new job's file?");
    terminal.send("elm-row\r");
    terminal.wait_for("elm-row.ron made");
    let own = tempfile::tempdir().unwrap();
    let path = own.path().join("elm-row.ron");
    wanderlead::store::start(&path, first).unwrap();
    Both {
        terminal,
        shadow: Screen::at(own, path, 80, 24, true),
        ahead: String::new(),
        keys: 2 + "elm-row".len(),
    }
}

/// The record, as it would be read from plates, data sheets and the chart of circuits.
fn describe(both: &mut Both) {
    assert_eq!(both.shadow.sitting.state.view, View::Form);
    both.fill(&[
        ("title", "Elm Row, micro-inverters"),
        ("client", "Invented Homes"),
        ("client's address", "1 Elm Row, Inventham"),
        ("address", "1 Elm Row, Inventham"),
        ("extent", "Renewables board and what it feeds"),
        ("started", "2026-11-02"),
        ("next inspection", "2036-11-01"),
    ]);
    both.describe(
        &Spot::Person("me".into()),
        &[
            ("name", "Morwen Kettleby"),
            ("firm", "Kettleby Electrical, invented"),
        ],
    );
    both.add(&Spot::Person("me".into()), "person, apprentice");
    both.fill(&[
        ("name", "Jory Tamsett"),
        ("firm", "Kettleby Electrical, invented"),
    ]);
    both.describe(
        &Spot::Instrument("mft".into()),
        &[
            ("make", "Sample Meters M1"),
            ("serial number", "M1-2207"),
            ("calibrated", "2026-09-01"),
            ("due", "2027-09-01"),
            ("leads nulled", "yes"),
        ],
    );
    both.describe(
        &Spot::Supply,
        &[
            ("main switch", "100 A, 2-pole, BS EN 60947-3"),
            ("cut-out rating", "80"),
        ],
    );
    both.describe(&Spot::Bond("water".into()), &[("length", "7")]);
    both.describe(
        &Spot::Board("R".into()),
        &[
            ("location", "meter cupboard"),
            ("main switch", "100 A, 2-pole, BS EN 60947-3"),
            ("SPD", "Type 2, Sample Surge SS-2"),
            ("SPD leads", "0.45"),
        ],
    );
    both.describe(
        &circuit("1"),
        &[
            ("device direction", "both ways"),
            ("line conductor", "6"),
            ("cpc", "2.5"),
            ("length", "12"),
        ],
    );
    both.describe(
        &circuit("2"),
        &[
            ("name", "meter and gateway"),
            ("device direction", "both ways"),
            ("length", "4"),
        ],
    );
    // A circuit is added, copied, moved; the spare way is taken out.
    let added = both.add(&circuit("2"), "circuit of R: fixed equipment");
    both.fill(&[
        ("name", "water heater"),
        ("points", "1"),
        ("device direction", "both ways"),
        ("length", "9"),
        ("method", "C"),
        ("design current Ib", "12"),
    ]);
    both.ctrl('k');
    both.kept();
    let copied = both.shadow.sitting.state.record.spot.clone().unwrap();
    assert_ne!(copied, added);
    both.fill(&[("name", "towel rail"), ("design current Ib", "3")]);
    both.go_to(&copied);
    both.code(KeyCode::Char('<'));
    both.kept();
    both.go_to(&circuit("3"));
    both.ctrl('x');
    both.choose("yes");
    both.kept();
    both.sync();
    both.describe(
        &Spot::Array("P".into()),
        &[
            ("module", "Example Modules EM-425"),
            ("module power", "425"),
            ("module Voc", "38.6"),
            ("module Isc", "13.9"),
            ("module Vmp", "32.2"),
            ("module area", "1.95"),
        ],
    );
    let branch = Spot::Line("P".into(), "B1".into());
    both.describe(&branch, &[("trunk line", "4"), ("trunk spacing", "1.2")]);
    // One is scanned and the rest is pasted; a scanner ends each with Enter.
    both.fill(&[("module 1", "EM-101")]);
    for (list, serials) in [
        ("modules", "EM-101\nEM-102\nEM-103\nEM-104"),
        ("micro-inverters", "MB-201\nMB-202\nMB-203\nMB-204"),
    ] {
        let rows = rows_of(&both.part());
        let to = rows.iter().position(|f| f.heading() == list).unwrap();
        let from = both.shadow.sitting.state.record.field;
        both.lines(from, to);
        both.paste(serials);
        both.code(KeyCode::Enter);
        both.kept();
    }
    both.describe(
        &Spot::Inverter("micro".into()),
        &[
            ("make", "Pretend Power PP-350M"),
            ("type test", "PP350M/ZZ/0077"),
            ("a.c. isolator", "20 A, 2-pole, loft hatch"),
            ("d.c. highest", "60"),
            ("d.c. start", "22"),
            ("MPPT highest", "55"),
            ("MPPT lowest", "25"),
            ("d.c. Isc it stands", "20"),
        ],
    );
    both.describe(
        &Spot::Grid,
        &[
            ("network operator", "Imaginary Networks South"),
            ("supply number", "00 0000 0000 119"),
            ("none was there before", "yes"),
        ],
    );
    // Every figure is as on site.
    both.code(KeyCode::F(9));
    loop {
        both.ctrl('o');
        if both.shadow.message().contains("nothing is left") {
            break;
        }
        both.code(KeyCode::Char('='));
        both.kept();
        let said = both.shadow.message();
        assert!(!said.contains("still to fill"), "{said}");
        both.sync();
    }
    both.sync();
}

/// Marked rows and a pasted list on the sheet: the dead tests of the board's circuits.
fn on_the_sheet(both: &mut Both) -> Vec<Place> {
    both.code(KeyCode::F(3));
    let mut done = Vec::new();
    for test in [Test::R1r2, Test::IrLl, Test::IrLe, Test::Polarity] {
        let state = &both.shadow.sitting.state;
        let board = state.job.board("R").unwrap();
        let places: Vec<Place> = (board.circuits.iter())
            .map(|c| Place::part("R", &c.id, test))
            .collect();
        let values: Vec<String> = places.iter().map(|p| answer(state, p)).collect();
        for _ in 0..20 {
            if both
                .shadow
                .sitting
                .state
                .focus()
                .is_some_and(|p| p.test == test)
            {
                break;
            }
            both.code(KeyCode::Right);
        }
        for _ in 0..20 {
            if both.shadow.sitting.state.focus().as_ref() == places.first() {
                break;
            }
            let at = both.shadow.sitting.state.sheet.row;
            both.code(if at > 1 { KeyCode::Up } else { KeyCode::Down });
        }
        assert_eq!(both.shadow.place(), places[0].to_string());
        if test == Test::R1r2 {
            both.paste(&values.join("\n"));
            both.choose("yes");
        } else {
            both.code(KeyCode::Char('*'));
            both.enter(&values[0]);
        }
        both.kept();
        let said = both.shadow.message();
        assert!(said.contains("= within, to countersign"), "{said}");
        for place in &places {
            assert!(said.contains(&place.to_string()), "{place}: {said}");
        }
        both.sync();
        done.extend(places);
    }
    both.ctrl('w');
    // The walk goes on where the sheet left something open.
    both.ctrl('o');
    done
}

fn run(program: &str, args: &[&str]) -> Output {
    Command::new(program)
        .args(args)
        .env("WANDERLEAD_CONFIG", common::no_settings())
        .output()
        .unwrap_or_else(|e| panic!("{program}: {e}; it comes with poppler-utils"))
}

/// The walk to its end: the apprentice takes the dead tests and what the walk then asks a qualified person for is done by one.
fn walk(both: &mut Both, job: &Path) -> (BTreeMap<Place, String>, usize) {
    let mut typed = BTreeMap::new();
    let (mut countersigned, mut sheet) = (0, false);
    both.ctrl('w');
    let apprentice = both.shadow.sitting.state.job.people[1].id.clone();
    while both.shadow.sitting.state.view == View::Walk {
        let state = &both.shadow.sitting.state;
        let place = state.focus().unwrap();
        let waits = state.plan.waits_for(state.at, &state.verdicts);
        let dead = matches!(place.test, Test::Continuity | Test::R1r2) && waits.is_none();
        if place.test.is_signature() || place.top == "safe" || waits.is_some() {
            both.who("me");
        } else if dead && !sheet {
            both.who(&apprentice);
        }
        if let Some(first) = waits {
            let state = &both.shadow.sitting.state;
            let countersign = state.verdicts.waits_for_countersign(&first);
            assert!(countersign, "{place}: {}", state.waits_for().unwrap());
            both.ctrl('o');
            assert_ne!(both.shadow.place(), place.to_string());
            continue;
        }
        let verdicts = &both.shadow.sitting.state.verdicts;
        if verdicts.waits_for_countersign(&place) {
            both.code(KeyCode::Char('c'));
            let said = both.shadow.message();
            let right = format!("countersigned on disk: {place}");
            assert!(said.starts_with(&right), "{said}");
            both.sync();
            countersigned += 1;
            continue;
        }
        if place.test == Test::R1r2 && !sheet {
            sheet = true;
            for place in on_the_sheet(both) {
                typed.insert(
                    place.clone(),
                    both.shadow.on_disk(&place.to_string()).unwrap(),
                );
            }
            continue;
        }
        let value = match place.test {
            // Six amperes in all.
            Test::Profile => "G98".to_string(),
            _ => answer(&both.shadow.sitting.state, &place),
        };
        both.enter(&value);
        let said = both.shadow.message();
        assert!(said.contains("= within"), "{said}");
        both.kept();
        both.sync();
        // What the screen called kept is on the disk, while the program is still running.
        let entry = read_job(job).unwrap().job.entry(&place).cloned();
        let entry = entry.unwrap_or_else(|| panic!("{place} is not on the disk"));
        assert_eq!(entry.now.typed, value);
        typed.insert(place, value);
        assert!(typed.len() < 200);
    }
    (typed, countersigned)
}

#[test]
fn a_job_from_nothing_to_the_issued_paper() {
    let start = Instant::now();
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("elm-row.ron");
    let mut both = begin(folder.path());
    describe(&mut both);
    let described = start.elapsed();
    let (typed, countersigned) = walk(&mut both, &job);
    let walked = start.elapsed();
    both.terminal.wait_for("Nothing blocks the certificate");
    both.code(KeyCode::F(5));
    both.choose("issue");
    let keys = std::mem::take(&mut both.ahead);
    both.terminal.send(&keys);
    both.terminal.wait_for("issued and recorded:");
    both.terminal.send("\x1b[21~"); // F10
    assert_eq!(both.terminal.end(), 0);

    let pdf = folder.path().join("elm-row-issue-1.pdf");
    let (job, pdf) = (job.to_str().unwrap(), pdf.to_str().unwrap());
    let wanderlead = env!("CARGO_BIN_EXE_wanderlead");
    for args in [&["check", job][..], &["verify", job, pdf]] {
        let out = run(wanderlead, args);
        assert!(out.status.success(), "{args:?}: {out:?}");
    }
    let out = run("pdftotext", &["-layout", pdf, "-"]);
    assert!(out.status.success(), "{out:?}");
    let text = String::from_utf8(out.stdout).unwrap();
    // A draft says so in large letters and at the foot of every page.
    for mark in ["Draft:", "Draft, not signed", "DRAFT", "not signed"] {
        assert!(!text.contains(mark), "{mark}");
    }
    let pages: Vec<&str> = text.split_terminator('\u{c}').collect();
    assert!(pages.len() >= 10, "{}", pages.len());
    for page in pages {
        assert!(page.to_lowercase().contains("issue 1"), "{page}");
    }
    for words in [
        "Morwen Kettleby",
        "Jory Tamsett",
        "EM-104",
        "MB-204",
        "towel rail",
    ] {
        assert!(text.contains(words), "{words}");
    }
    let record = read_job(Path::new(job)).unwrap().job;
    assert!(!record.edits.is_empty());
    for (place, value) in &typed {
        assert_eq!(record.entry(place).unwrap().now.typed, *value, "{place}");
    }
    assert!(typed.len() >= 80 && countersigned >= 10);
    println!(
        "described in {described:?}, walked by {walked:?}, issued and checked by {:?}; {} keys, {} readings, {countersigned} countersigned",
        start.elapsed(),
        both.keys,
        typed.len()
    );
}
