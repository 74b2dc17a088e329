//! The record on the screen, with keys on a real job file: every field of every part, added, copied, moved, removed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::BTreeSet;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, jobs_in, later, sample};
use proptest::prelude::*;
use ratatui::crossterm::event::{Event, KeyCode, KeyModifiers};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::job::{Job, Observation, Part, Spot};
use wanderlead::screen::View;
use wanderlead::screen::keys::{KEYS, When};
use wanderlead::screen::record::{Row, entries, rows, rows_of};

fn circuit(board: &str, id: &str) -> Spot {
    Spot::Circuit(board.into(), id.into())
}

/// Opens the form of a part by keys alone.
fn open(screen: &mut Screen, spot: &Spot) {
    screen.code(KeyCode::F(9));
    let at = rows(&screen.sitting.state.job)
        .iter()
        .position(|r| *r == Row::Part(spot.clone()))
        .unwrap_or_else(|| panic!("no {spot}"));
    go_to(screen, at);
    screen.code(KeyCode::Enter);
    assert_eq!(
        screen.sitting.state.view,
        View::Form,
        "{}",
        screen.message()
    );
}

fn go_to(screen: &mut Screen, row: usize) {
    while screen.sitting.state.record.row > row {
        screen.code(KeyCode::Up);
    }
    while screen.sitting.state.record.row < row {
        screen.code(KeyCode::Down);
    }
}

/// Puts the form's cursor on a field by its heading.
fn field(screen: &mut Screen, heading: &str) {
    let state = &screen.sitting.state;
    let (part, _) = state.job.part(state.record.spot.as_ref().unwrap()).unwrap();
    let at = rows_of(&part)
        .iter()
        .position(|f| f.heading().trim() == heading)
        .unwrap_or_else(|| panic!("no field {heading}"));
    for _ in 0..200 {
        let now = screen.sitting.state.record.field;
        match now.cmp(&at) {
            std::cmp::Ordering::Less => screen.code(KeyCode::Down),
            std::cmp::Ordering::Greater => screen.code(KeyCode::Up),
            std::cmp::Ordering::Equal => return,
        };
    }
    panic!("{heading} can't be reached: {}", screen.message());
}

/// Types a value into a field, or chooses it from its list.
fn set(screen: &mut Screen, heading: &str, value: &str) {
    field(screen, heading);
    screen.code(KeyCode::Enter);
    if let Some(choice) = &screen.sitting.state.choice {
        let line = choice.lines.iter().position(|(v, _)| v == value);
        match line {
            Some(line) => {
                for _ in 0..choice.lines.len() {
                    screen.code(KeyCode::Up);
                }
                for _ in 0..line {
                    screen.code(KeyCode::Down);
                }
            }
            None => screen.text(value),
        }
        screen.code(KeyCode::Enter);
        return;
    }
    if screen.sitting.state.record.typing {
        screen.code(KeyCode::Esc);
    }
    if value.is_empty() {
        screen.code(KeyCode::Delete);
        screen.code(KeyCode::Enter);
    } else {
        screen.enter(value);
    }
}

fn kept(screen: &Screen) {
    assert!(
        screen.message().starts_with("kept on disk"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.job_on_disk(), shown(screen));
}

fn shown(screen: &Screen) -> Job {
    Job {
        kept: 0,
        kept_digest: String::new(),
        ..screen.sitting.state.job.clone()
    }
}

fn content(mut job: Job) -> Job {
    job.edits.clear();
    job.history = Default::default();
    job.kept = 0;
    job.kept_digest.clear();
    job
}

/// What a form shows of a part in the job on the disk.
fn value(screen: &Screen, spot: &Spot, heading: &str) -> String {
    let (part, _) = screen
        .job_on_disk()
        .part(spot)
        .unwrap_or_else(|| panic!("no {spot}"));
    let field = rows_of(&part)
        .into_iter()
        .find(|f| f.heading().trim() == heading);
    field.unwrap_or_else(|| panic!("no {heading}")).value(&part)
}

fn every_part(job: &Job) -> Vec<(Spot, Part)> {
    rows(job)
        .into_iter()
        .filter_map(|row| match row {
            Row::Part(spot) => job.part(&spot).map(|(part, _)| (spot, part)),
            Row::Head(_) => None,
        })
        .collect()
}

fn kind(part: &Part) -> String {
    let value = serde_json::to_value(part).unwrap();
    value.as_object().unwrap().keys().next().unwrap().clone()
}

/// Samples and starters, with an observation each.
fn jobs() -> Vec<Job> {
    let all = jobs_in("sample-jobs")
        .into_iter()
        .chain(jobs_in("forms/starters"));
    all.map(|(_, mut job)| {
        job.observations.push(Observation {
            text: "first line\nsecond line".into(),
            by: "me".into(),
            departure: true,
            photos: vec!["a.jpg".into(), "b.jpg".into()],
        });
        job
    })
    .collect()
}

/// Every field of every kind: setting what it shows changes nothing, and nonsense never panics.
#[test]
fn what_a_field_shows_can_be_set_again() {
    let mut tried = 0;
    for job in jobs() {
        for (spot, part) in every_part(&job) {
            for entry in entries(&part) {
                let mut now = part.clone();
                (entry.set)(&mut now, &(entry.get)(&part))
                    .unwrap_or_else(|e| panic!("{spot} {}: {e}", entry.heading));
                assert_eq!(now, part, "{spot} {}", entry.heading);
                tried += 1;
                for bad in [
                    "\u{0}",
                    "¶¶",
                    "-999999999",
                    "9999999999999999",
                    "ä/ö",
                    ";;",
                    "armour",
                    "none",
                ] {
                    let _ = (entry.set)(&mut part.clone(), bad);
                }
            }
        }
    }
    assert!(tried > 2_000, "{tried}");
}

/// Names of what is edited elsewhere: readings by the walk, what a part consists of as parts of their own.
const ELSEWHERE: [&str; 3] = ["readings", "circuits", "layout"];

/// The names of a part's fields as the source declares them, so that a new one can't be forgotten.
fn declared(source: &str, name: &str) -> Vec<(String, String)> {
    let head = format!("pub struct {name} {{");
    let start = source
        .find(&head)
        .unwrap_or_else(|| panic!("no struct {name}"))
        + head.len();
    let body = &source[start..start + source[start..].find("\n}").unwrap()];
    body.lines()
        .filter_map(|l| {
            let (name, kind) = l.trim().strip_prefix("pub ")?.split_once(": ")?;
            Some((name.to_string(), kind.trim_end_matches(',').to_string()))
        })
        .collect()
}

#[test]
fn every_field_of_the_record_has_its_entry() {
    let source: String = [
        "mod", "array", "board", "device", "supply", "people", "part",
    ]
    .iter()
    .map(|f| common::read(&common::root().join(format!("src/job/{f}.rs"))))
    .collect();
    let groups = [
        "Device", "Rcd", "Cable", "DcInput", "Trunk", "Module", "Client",
    ];
    let mut seen = BTreeSet::new();
    for job in jobs() {
        for (_, part) in every_part(&job) {
            let name = kind(&part);
            if !seen.insert(name.clone()) {
                continue;
            }
            let paths: Vec<&str> = entries(&part).iter().map(|e| e.path).collect();
            let mut wanted = Vec::new();
            for (field, of) in declared(&source, &name) {
                let inner = of
                    .trim_start_matches("Option<")
                    .trim_end_matches('>')
                    .to_string();
                if ELSEWHERE.contains(&field.as_str()) {
                    continue;
                }
                if groups.contains(&inner.as_str()) {
                    for (sub, _) in declared(&source, &inner) {
                        wanted.push(format!("{field}.{sub}."));
                    }
                } else if inner == "Vec<Unit" {
                    wanted.push("units.module.".into());
                    wanted.push("units.inverter.".into());
                } else {
                    wanted.push(format!("{field}."));
                }
            }
            for path in &wanted {
                assert!(
                    paths.contains(&path.as_str()),
                    "{name}: no entry for {path}"
                );
            }
            for path in &paths {
                assert!(
                    wanted.iter().any(|w| w == path),
                    "{name}: {path} is no field"
                );
            }
        }
    }
    assert_eq!(seen.len(), 14, "{seen:?}");
}

/// One field of each kind of part by keys, read back from the disk.
#[test]
fn every_kind_of_part_is_edited_by_keys() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let job = screen.sitting.state.job.clone();
    let string = Spot::Line(job.arrays[0].id.clone(), "S1".into());
    let table: &[(Spot, &[(&str, &str)])] = &[
        (
            Spot::Visit,
            &[
                ("reference", "HR-2026-061b"),
                ("premises", "house in multiple occupation"),
                ("started", "2026-06-02"),
                ("ambient temperature", "18.5"),
                ("extent", "one line¶and another"),
            ],
        ),
        (Spot::Supply, &[("tails", "35")]),
        (
            Spot::Grid,
            &[
                ("network operator", "the operator"),
                ("notified", "2026-07-01"),
            ],
        ),
        (
            Spot::Person(job.people[0].id.clone()),
            &[("firm", "Own Firm")],
        ),
        (
            Spot::Instrument(job.instruments[0].id.clone()),
            &[("due", "2027-01-31"), ("± loop impedance", "6.5")],
        ),
        (
            Spot::Bond(job.bonds[0].id.clone()),
            &[("size", "16"), ("length", "12")],
        ),
        (
            Spot::Board("M".into()),
            &[
                ("location", "under the stairs"),
                ("board rating InA", "100"),
            ],
        ),
        (
            circuit("M", "3"),
            &[
                ("device rating", "16"),
                ("length", ""),
                ("method", "B"),
                ("cpc", "2.5"),
                ("remarks", "x"),
            ],
        ),
        (
            Spot::Array(job.arrays[0].id.clone()),
            &[("slope", "41"), ("module Voc", "39.1")],
        ),
        (
            string,
            &[
                ("name", "top row"),
                ("module 2", "SN-2"),
                ("string fuse", "15"),
            ],
        ),
        (
            Spot::Inverter(job.inverters[0].id.clone()),
            &[("serial number", "9"), ("rated current", "15.2")],
        ),
        (
            Spot::Storage(job.storage.first().map_or(String::new(), |s| s.id.clone())),
            &[("place", "garage"), ("to an opening", "1.5")],
        ),
    ];
    for (spot, fields) in table {
        if *spot == Spot::Storage(String::new()) {
            continue;
        }
        open(&mut screen, spot);
        for (heading, wanted) in *fields {
            set(&mut screen, heading, wanted);
            assert!(
                screen.message().starts_with("kept"),
                "{spot} {heading}: {}",
                screen.message()
            );
            kept(&screen);
            assert_eq!(value(&screen, spot, heading), *wanted, "{spot} {heading}");
        }
        screen.code(KeyCode::Esc);
    }
    // The reference is in each line of the journal: with the job file as it was, the journal brings everything back.
    let now = shown(&screen);
    let path = screen.path.clone();
    let journal = std::fs::read(path.with_extension("ron.journal")).unwrap();
    let (folder, _) = screen.close();
    std::fs::copy(common::root().join("sample-jobs").join(CLEAN), &path).unwrap();
    std::fs::write(path.with_extension("ron.journal"), journal).unwrap();
    let screen = Screen::at(folder, path, 80, 24, true);
    assert_eq!(shown(&screen), now);
    assert_eq!(value(&screen, &circuit("M", "3"), "device rating"), "16");
    assert_eq!(value(&screen, &Spot::Visit, "reference"), "HR-2026-061b");
}

#[test]
fn a_change_says_what_was_and_what_is_and_can_be_taken_back() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let before = content(screen.job_on_disk());
    open(&mut screen, &circuit("M", "3"));
    set(&mut screen, "device rating", "16,0");
    kept(&screen);
    assert_eq!(
        screen.message(),
        "kept on disk: circuit M/3 device rating 20 -> 16.0; compare the circuit again with what is on site"
    );
    screen.ctrl('z');
    assert!(
        screen
            .message()
            .contains("taken back, on disk: circuit M/3"),
        "{}",
        screen.message()
    );
    assert_eq!(content(screen.job_on_disk()), before);
    screen.ctrl('y');
    assert_eq!(value(&screen, &circuit("M", "3"), "device rating"), "16.0");
}

/// What can't be is refused with what is allowed; what was typed stays.
#[test]
fn wrong_values_are_refused_with_what_is_allowed() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let before = screen.job_on_disk();
    let table = [
        (Spot::Visit, "started", "2026-13-01", "YYYY-MM-DD"),
        (Spot::Visit, "started", "31.6.2026", "YYYY-MM-DD"),
        (Spot::Visit, "reference", "-", "reference"),
        (Spot::Visit, "ambient temperature", "99", "-40 to 60"),
        (circuit("M", "3"), "device rating", "B16", "not a number"),
        (
            circuit("M", "3"),
            "device rating",
            ">16",
            "not a plain number",
        ),
        (circuit("M", "3"), "device rating", "0", "out of range"),
        (circuit("M", "3"), "device poles", "5", "1 to 4"),
        (circuit("M", "3"), "cpc", "armour 99", "2 to 7"),
        (circuit("M", "3"), "id", "4", "used twice"),
        (circuit("M", "3"), "id", "a/b", "letters, digits"),
        (circuit("M", "3"), "points", "1.5", "whole number"),
        (Spot::Grid, "one more existing", "an old array", "16 A L1"),
    ];
    for (spot, heading, typed, words) in table {
        open(&mut screen, &spot);
        field(&mut screen, heading);
        screen.enter(typed);
        assert!(
            screen.message().contains(words),
            "{heading} {typed}: {}",
            screen.message()
        );
        assert!(screen.sitting.state.message.error, "{}", screen.message());
        assert_eq!(screen.sitting.state.field.text(), typed);
        assert_eq!(screen.job_on_disk(), before);
        screen.code(KeyCode::F(2));
        assert_eq!(screen.sitting.state.view, View::Form, "what is typed holds");
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::Esc);
    }
    // A number that can't be empty.
    open(&mut screen, &circuit("M", "3"));
    set(&mut screen, "device rating", "");
    assert!(
        screen.message().contains("can't be empty"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.job_on_disk(), before);
}

/// Optional groups come with their first field and go with it; until the rest is entered a check objects.
#[test]
fn optional_groups_are_switched_on_and_off() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let spare = circuit("M", "90");
    open(&mut screen, &circuit("M", "3"));
    screen.code(KeyCode::Esc);
    add(&mut screen, "circuit of M: spare");
    set(&mut screen, "id", "90");
    kept(&screen);
    set(&mut screen, "device rating", "16");
    assert!(screen.message().contains("first"), "{}", screen.message());
    screen.code(KeyCode::Esc);
    set(&mut screen, "device", "BS 88-2");
    assert_eq!(value(&screen, &spare, "device curve"), "none");
    set(&mut screen, "device", "BS EN 61009");
    // The curve that is judged hardest counts until somebody has read it.
    assert_eq!(value(&screen, &spare, "device curve"), "D");
    for (heading, typed) in [
        ("device curve", "C"),
        ("device rating", "16"),
        ("device breaking", "6"),
        ("RCD type", "A"),
        ("RCD IΔn", "30"),
        ("cable", "steel-wire armoured, 90 °C"),
        ("line conductor", "4"),
        ("cpc", "armour 3"),
        ("kind", "fixed equipment"),
    ] {
        set(&mut screen, heading, typed);
        kept(&screen);
        assert_eq!(value(&screen, &spare, heading), typed);
    }
    for heading in ["cable", "device"] {
        set(&mut screen, heading, "none");
        assert!(
            screen.message().contains("or set kind to Spare"),
            "{}",
            screen.message()
        );
        screen.code(KeyCode::Esc);
    }
    set(&mut screen, "RCD type", "none");
    kept(&screen);
    assert_eq!(value(&screen, &spare, "RCD IΔn"), "");
    screen.code(KeyCode::Esc);

    let id = screen.sitting.state.job.inverters[0].id.clone();
    let inverter = Spot::Inverter(id);
    open(&mut screen, &inverter);
    set(&mut screen, "d.c. highest", "");
    assert_eq!(value(&screen, &inverter, "MPPT lowest"), "");
    for (heading, typed) in [
        ("d.c. highest", "600"),
        ("MPPT highest", "560"),
        ("MPPT lowest", "90"),
        ("d.c. Isc it stands", "20"),
    ] {
        set(&mut screen, heading, typed);
        kept(&screen);
        assert_eq!(value(&screen, &inverter, heading), typed);
    }
}

/// Takes a line of the list of starting points.
fn add(screen: &mut Screen, shown: &str) {
    screen.code(KeyCode::Insert);
    if screen.sitting.state.choice.is_none() {
        screen.ctrl('a');
    }
    let choice = screen
        .sitting
        .state
        .choice
        .clone()
        .unwrap_or_else(|| panic!("{}", screen.message()));
    let at = choice.lines.iter().position(|(_, s)| s == shown);
    for _ in 0..at.unwrap_or_else(|| panic!("no {shown}: {:?}", choice.lines)) {
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::Enter);
}

/// Every starting point can be kept at once, and what a label or data sheet says is objected to until it is entered.
#[test]
fn every_starting_point_is_sound_and_none_passes_by_itself() {
    for name in [CLEAN, FAULTY, HALF_DONE] {
        let mut screen = Screen::open(name, 80, 24);
        screen.by_qualified();
        screen.code(KeyCode::F(9));
        go_to(&mut screen, 0);
        screen.ctrl('a');
        let lines = screen.sitting.state.choice.clone().unwrap().lines;
        screen.code(KeyCode::Esc);
        go_to(&mut screen, 0);
        assert!(lines.len() >= 20, "{lines:?}");
        let mut added = 0;
        for (_, shown) in &lines {
            screen.code(KeyCode::F(9));
            go_to(&mut screen, 0);
            add(&mut screen, shown);
            if screen.message().contains("it needs") {
                continue;
            }
            kept(&screen);
            assert_eq!(screen.sitting.state.view, View::Form, "{shown}");
            added += 1;
        }
        assert!(
            added + 4 >= lines.len(),
            "{name}: {added} of {}",
            lines.len()
        );
        assert_eq!(screen.job_on_disk().problems(), []);
    }
    for shown in ["bond: main", "inverter: string", "storage"] {
        let mut screen = Screen::open(CLEAN, 80, 24);
        let before = flagged(&screen.sitting.state.job);
        screen.code(KeyCode::F(9));
        add(&mut screen, shown);
        if screen.message().contains("it needs") {
            continue;
        }
        let now = flagged(&screen.job_on_disk());
        assert!(now > before, "{shown} passes: {before} {now}");
    }
}

fn flagged(job: &Job) -> usize {
    judge_all(job, &Forms::embedded().unwrap())
        .iter()
        .filter(|f| !matches!(f.verdict, Verdict::Within | Verdict::Excused))
        .count()
}

#[test]
fn parts_are_copied_moved_removed_and_brought_back() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let before = content(screen.job_on_disk());
    let ids = |screen: &Screen| -> Vec<String> {
        let job = screen.job_on_disk();
        job.board("M")
            .unwrap()
            .circuits
            .iter()
            .map(|c| c.id.clone())
            .collect()
    };
    let first = ids(&screen);
    open(&mut screen, &circuit("M", "3"));
    screen.ctrl('k');
    kept(&screen);
    let now = ids(&screen);
    let new = now[first.iter().position(|i| i == "3").unwrap() + 1].clone();
    assert!(!first.contains(&new));
    let (part, _) = screen.job_on_disk().part(&circuit("M", &new)).unwrap();
    assert_eq!(part.readings_in(), 0);
    assert_eq!(screen.sitting.state.record.spot, Some(circuit("M", &new)));
    screen.code(KeyCode::Esc);
    screen.text("<");
    kept(&screen);
    assert_eq!(
        ids(&screen)[first.iter().position(|i| i == "3").unwrap()],
        new
    );
    screen.press(KeyCode::Down, KeyModifiers::CONTROL);
    assert_eq!(ids(&screen), now);
    // Removed only after a yes, and nothing is lost with it.
    let at = rows(&screen.sitting.state.job)
        .iter()
        .position(|r| *r == Row::Part(circuit("M", "5")))
        .unwrap();
    go_to(&mut screen, at);
    screen.ctrl('x');
    let asked = screen.sitting.state.choice.clone().unwrap();
    assert!(
        asked.question.contains("readings would be set aside"),
        "{}",
        asked.question
    );
    screen.code(KeyCode::Enter);
    assert_eq!(ids(&screen), now);
    screen.ctrl('x');
    screen.text("y");
    screen.code(KeyCode::Enter);
    kept(&screen);
    assert!(
        screen.message().contains("set aside"),
        "{}",
        screen.message()
    );
    assert!(!ids(&screen).contains(&"5".to_string()));
    for _ in 0..4 {
        screen.ctrl('z');
    }
    assert_eq!(content(screen.job_on_disk()), before);
    assert!(
        screen.message().starts_with("taken back"),
        "{}",
        screen.message()
    );
    // No letter alone does any of it.
    for c in ('a'..='z').chain('A'..='Z').chain('0'..='9') {
        screen.text(&c.to_string());
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::F(9));
    }
    assert_eq!(content(screen.job_on_disk()), before);
}

#[test]
fn serial_numbers_are_pasted_scanned_and_taken_out() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let array = screen.sitting.state.job.arrays[0].id.clone();
    let string = Spot::Line(array, "S1".into());
    let modules = |screen: &Screen| match screen.job_on_disk().part(&string).unwrap().0 {
        Part::PvString(x) => x.modules,
        other => panic!("{other:?}"),
    };
    open(&mut screen, &string);
    let was = modules(&screen).len();
    field(&mut screen, "modules");
    screen
        .sitting
        .event(&Event::Paste("A1\r\nA2\r\rA3\u{2028}\n".into()), later());
    assert!(
        screen.message().starts_with("3 pasted"),
        "{}",
        screen.message()
    );
    screen.code(KeyCode::Enter);
    kept(&screen);
    assert_eq!(modules(&screen), ["A1", "A2", "A3"]);
    assert!(
        screen.message().contains(&format!("modules {was} -> 3")),
        "{}",
        screen.message()
    );
    // A scanner types and presses Enter: one after the other, without a key between.
    field(&mut screen, "one more module");
    for serial in ["A4", "A5"] {
        screen.enter(serial);
        kept(&screen);
    }
    assert_eq!(modules(&screen).len(), 5);
    field(&mut screen, "module 2");
    screen.ctrl('x');
    screen.text("y");
    screen.code(KeyCode::Enter);
    assert_eq!(modules(&screen), ["A1", "A3", "A4", "A5"]);
    field(&mut screen, "modules");
    screen.code(KeyCode::Delete);
    screen.code(KeyCode::Enter);
    assert!(
        screen.message().contains("no modules"),
        "{}",
        screen.message()
    );
    assert_eq!(modules(&screen).len(), 4);
}

/// A module of a branch goes with its inverter, and lists of unlike length show what is missing.
#[test]
fn units_of_a_branch_keep_together() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let job = screen.sitting.state.job.clone();
    let (array, branch) = every_part(&job)
        .into_iter()
        .find_map(|(spot, part)| match (spot, part) {
            (Spot::Line(a, b), Part::Branch(_)) => Some((a, b)),
            _ => None,
        })
        .unwrap();
    let spot = Spot::Line(array, branch);
    let units = |screen: &Screen| match screen.job_on_disk().part(&spot).unwrap().0 {
        Part::Branch(x) => x.units,
        other => panic!("{other:?}"),
    };
    let before = units(&screen);
    open(&mut screen, &spot);
    field(&mut screen, "module 1");
    screen.ctrl('x');
    screen.text("y");
    screen.code(KeyCode::Enter);
    assert_eq!(units(&screen), before[1..]);
    set(&mut screen, "one more module", "NEW-M");
    assert_eq!(units(&screen).last().unwrap().inverter, "");
    assert!(
        screen.picture().contains("of which 1"),
        "{}",
        screen.picture()
    );
    let n = units(&screen).len();
    set(&mut screen, &format!("inverter {n}"), "NEW-I");
    assert_eq!(units(&screen).last().unwrap().inverter, "NEW-I");
}

#[test]
fn an_observation_is_written_with_its_photos() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.code(KeyCode::F(9));
    add(&mut screen, "departure from the standard");
    set(
        &mut screen,
        "what",
        "no isolator on the roof,¶agreed in writing",
    );
    set(&mut screen, "one more photo", "IMG-1.jpg; IMG-2.jpg");
    kept(&screen);
    let job = screen.job_on_disk();
    let seen = job.observations.last().unwrap();
    assert_eq!(seen.text, "no isolator on the roof,\nagreed in writing");
    assert_eq!(
        (seen.photos.len(), seen.departure, seen.by.as_str()),
        (2, true, screen.sitting.state.who.as_str())
    );
}

/// What stands in the way and no reading changes: one key goes to the part that has to be put right.
#[test]
fn the_key_goes_to_the_part_that_something_waits_for() {
    let (folder, path) = Screen::open(CLEAN, 80, 24).close();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    open(&mut screen, &circuit("M", "1"));
    set(&mut screen, "device direction", "not looked at yet");
    kept(&screen);
    screen.code(KeyCode::Esc);
    screen.go("safe/energise");
    let waits = screen.sitting.state.waits_for().unwrap();
    assert!(waits.contains("F9 goes to circuit M/1"), "{waits}");
    screen.code(KeyCode::F(9));
    let state = &screen.sitting.state;
    assert_eq!(
        (state.view, state.record.spot.clone()),
        (View::Form, Some(circuit("M", "1")))
    );
    // And from what is left to do, Enter.
    screen.code(KeyCode::F(4));
    let at = screen
        .sitting
        .state
        .left()
        .iter()
        .position(|f| f.place.test.is_derived())
        .unwrap();
    for _ in 0..at {
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::Enter);
    let state = &screen.sitting.state;
    assert_eq!(
        (state.view, state.record.spot.clone()),
        (View::Form, Some(circuit("M", "1")))
    );
}

#[test]
fn whoever_enters_stays_through_a_new_id_and_nobody_is_left_without() {
    let (folder, path) = Screen::open(CLEAN, 80, 24).close();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    screen.code(KeyCode::F(9));
    add(&mut screen, "person, qualified");
    let Some(Spot::Person(id)) = screen.sitting.state.record.spot.clone() else {
        panic!()
    };
    set(&mut screen, "name", "New Person");
    screen.sitting.state.who = id;
    set(&mut screen, "id", "np");
    assert_eq!(screen.sitting.state.who, "np");
    screen.ctrl('z');
    assert_ne!(screen.sitting.state.who, "np");
    screen.ctrl('y');
    screen.code(KeyCode::Esc);
    screen.ctrl('x');
    screen.text("y");
    screen.code(KeyCode::Enter);
    let state = &screen.sitting.state;
    assert!(
        state.job.person(&state.who).is_some(),
        "{}",
        screen.message()
    );
    assert!(
        screen.message().contains("now entering"),
        "{}",
        screen.message()
    );
}

#[test]
fn a_job_open_for_reading_is_looked_at_and_not_edited() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("protected.ron");
    std::fs::copy(common::root().join("sample-jobs").join(CLEAN), &path).unwrap();
    let mut mode = std::fs::metadata(&path).unwrap().permissions();
    mode.set_readonly(true);
    std::fs::set_permissions(&path, mode).unwrap();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    let before = screen.job_on_disk();
    open(&mut screen, &circuit("M", "3"));
    for keys in ["16", "\n"] {
        field(&mut screen, "device rating");
        screen.enter(keys.trim());
        assert!(
            screen.message().starts_with("not kept"),
            "{}",
            screen.message()
        );
        screen.code(KeyCode::Esc);
        open_again(&mut screen);
    }
    screen.ctrl('a');
    assert!(screen.message().starts_with("not kept") && screen.sitting.state.choice.is_none());
    screen.ctrl('k');
    assert!(
        screen.message().starts_with("not kept"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.job_on_disk(), before);
}

fn open_again(screen: &mut Screen) {
    if screen.sitting.state.view == View::Record {
        screen.code(KeyCode::Enter);
    }
}

#[test]
fn pictures_of_the_record() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(CLEAN, columns, lines);
        screen.go("M/3/zs");
        screen.code(KeyCode::F(9));
        insta::assert_snapshot!(format!("record_{columns}x{lines}"), screen.picture());
        screen.code(KeyCode::Enter);
        field(&mut screen, "device rating");
        screen.text("16");
        insta::assert_snapshot!(format!("form_{columns}x{lines}"), screen.picture());
    }
    let mut screen = Screen::open(CLEAN, 79, 24);
    screen.code(KeyCode::F(9));
    assert!(screen.picture().contains("needs 80 by 24"));
    assert_ne!(screen.sitting.state.view, View::Record);
}

fn presses() -> Vec<(KeyCode, KeyModifiers)> {
    let here = [When::Record, When::Form, When::Choice];
    KEYS.iter()
        .filter(|k| here.contains(&k.when) || k.shown.starts_with("Ctrl-") || k.shown == "F9")
        .flat_map(|k| k.presses.iter().copied())
        .filter(|(code, mods)| {
            *code != KeyCode::F(10)
                && !(*mods == KeyModifiers::CONTROL && matches!(code, KeyCode::Char('c' | 'q')))
        })
        .chain(
            "0123456789.,;yn¶é a-"
                .chars()
                .map(|c| (KeyCode::Char(c), KeyModifiers::NONE)),
        )
        .chain([(KeyCode::Enter, KeyModifiers::NONE); 12])
        .chain([(KeyCode::Down, KeyModifiers::NONE); 8])
        .chain([(KeyCode::PageDown, KeyModifiers::NONE); 3])
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20, ..ProptestConfig::default() })]

    /// 20,000 keys: no order of them panics, the job stays sound, and screen and disk never differ.
    #[test]
    fn random_keys(keys in proptest::collection::vec(proptest::sample::select(presses()), 1_000), which in 0_usize..3) {
        let mut screen = Screen::open([CLEAN, HALF_DONE, FAULTY][which], 80, 24);
        screen.code(KeyCode::F(9));
        for (i, (code, mods)) in keys.into_iter().enumerate() {
            screen.press(code, mods);
            if i % 10 == 0 {
                screen.buffer();
            }
        }
        prop_assert_eq!(screen.sitting.state.job.problems(), vec![]);
        prop_assert_eq!(screen.job_on_disk(), shown(&screen));
        prop_assert!(!screen.sitting.state.job.edits.is_empty() || sample([CLEAN, HALF_DONE, FAULTY][which]).edits.is_empty());
    }
}

/// One figure of a d.c. input brings the others with it, which nobody has read off anything.
#[test]
fn figures_that_come_along_are_to_fill_in_and_never_as_on_site() {
    let mut screen = Screen::open(CLEAN, 80, 40);
    let spot = Spot::Inverter("inv1".into());
    open(&mut screen, &spot);
    field(&mut screen, "d.c. highest");
    screen.code(KeyCode::Delete);
    screen.code(KeyCode::Enter);
    kept(&screen);
    field(&mut screen, "d.c. highest");
    screen.enter("600");
    kept(&screen);
    let rest = ["MPPT highest", "MPPT lowest", "d.c. Isc it stands"];
    let shown = screen.picture();
    for heading in rest {
        let line = shown.lines().find(|l| l.contains(heading)).unwrap();
        assert!(line.contains("(to fill in)"), "{line}");
    }
    let compared = |screen: &Screen| {
        let (part, _) = screen.job_on_disk().part(&spot).unwrap();
        part.to_compare()
    };
    assert_eq!(compared(&screen), Some(true));
    screen.code(KeyCode::Esc);
    screen.text("=");
    assert!(
        screen.message().contains("isn't as on site yet"),
        "{}",
        screen.message()
    );
    assert_eq!(compared(&screen), Some(true));
    open(&mut screen, &spot);
    for (heading, value) in rest.into_iter().zip(["560", "90", "20"]) {
        field(&mut screen, heading);
        screen.enter(value);
        kept(&screen);
    }
    screen.code(KeyCode::Esc);
    screen.text("=");
    assert_eq!(compared(&screen), Some(false));
}

#[test]
fn a_number_may_have_the_unit_of_its_field_and_a_day_the_usual_order() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    for (spot, heading, typed, want) in [
        (circuit("M", "1"), "device rating", "32 A", Some("32")),
        (circuit("M", "1"), "device rating", "25A", Some("25")),
        (circuit("M", "1"), "device rating", "25 mA", None),
        (circuit("M", "1"), "device rating", "A", None),
        (circuit("M", "1"), "RCD IΔn", "100 mA", Some("100")),
        (Spot::Bond("oil".into()), "size", "16 mm2", Some("16")),
        (Spot::Bond("oil".into()), "size", "10 mm²", Some("10")),
        (Spot::Grid, "notified", "20.11.2026", Some("2026-11-20")),
        (Spot::Grid, "notified", "3/4/2026", Some("2026-04-03")),
        (Spot::Grid, "notified", "31.4.2026", None),
        (Spot::Grid, "notified", "20.11.26", None),
        (Spot::Grid, "notified", "11/20/2026", None),
    ] {
        open(&mut screen, &spot);
        set(&mut screen, heading, typed);
        match want {
            Some(want) => {
                kept(&screen);
                assert_eq!(value(&screen, &spot, heading), want, "{heading} {typed}");
                let read = screen.message().contains("read as day, month, year");
                assert_eq!(read, heading == "notified", "{}", screen.message());
            }
            None => {
                assert!(
                    screen.message().starts_with("not kept"),
                    "{typed}: {}",
                    screen.message()
                );
                screen.code(KeyCode::Esc);
            }
        }
        screen.code(KeyCode::F(2));
    }
}

/// What is typed after it is looked for, and does nothing to the record.
#[test]
fn a_slash_finds_on_the_record_too() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let before = screen.job_on_disk();
    screen.code(KeyCode::F(9));
    screen.text("/=-+zs");
    assert_eq!(screen.sitting.state.view, View::Find);
    assert_eq!(screen.sitting.state.find.words.text(), "=-+zs");
    screen.code(KeyCode::Esc);
    assert_eq!(screen.sitting.state.view, View::Record);
    assert_eq!(screen.job_on_disk(), before);
}

#[test]
fn what_only_holds_for_now_goes_with_the_next_key() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.code(KeyCode::F(9));
    screen.code(KeyCode::F(9));
    assert!(screen.message().contains("where you are already"));
    screen.code(KeyCode::Down);
    assert_eq!(screen.message(), "");
    // What was kept stays said.
    open(&mut screen, &circuit("M", "3"));
    set(&mut screen, "name", "sockets");
    kept(&screen);
    screen.code(KeyCode::Down);
    kept(&screen);
}
