//! How many keys a reading costs beyond its own characters: whole samples typed again from nothing, as they were taken.
//!
//! `cargo test --test keys_per_reading -- --nocapture` prints the figures.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::BTreeMap;

use common::{CLEAN, Screen, sample};
use ratatui::crossterm::event::KeyCode;
use wanderlead::guide::Order;
use wanderlead::job::value::{LIMITATION, NOT_APPLICABLE};
use wanderlead::job::{Change, Job, Place, Reading, Role};
use wanderlead::screen::View;

/// A job file of a sample without its readings, and the readings.
fn emptied(
    name: &str,
) -> (
    tempfile::TempDir,
    std::path::PathBuf,
    BTreeMap<Place, Reading>,
) {
    let mut job = sample(name);
    let places: Vec<Place> = job
        .seats()
        .iter()
        .flat_map(|s| s.readings.iter().map(|(t, _)| s.place(t)))
        .collect();
    let mut readings = BTreeMap::new();
    let by = job.people[0].id.clone();
    for place in places {
        readings.insert(place.clone(), job.entry(&place).unwrap().now.clone());
        job.apply(&Change::Put {
            place,
            entry: None,
            by: by.clone(),
            at: None,
        })
        .unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    let text = wanderlead::job::text::options()
        .to_string_pretty(&job, ron::ser::PrettyConfig::default())
        .unwrap();
    std::fs::write(&path, text).unwrap();
    (folder, path, readings)
}

/// Keys pressed, and those of them that are the reading itself.
#[derive(Default)]
struct Count {
    readings: usize,
    keys: usize,
    own: usize,
}

impl Count {
    fn key(&mut self, screen: &mut Screen, code: KeyCode) {
        self.keys += 1;
        screen.code(code);
    }

    fn text(&mut self, screen: &mut Screen, text: &str) {
        self.keys += text.chars().count();
        self.own += text.chars().count();
        screen.text(text);
    }
}

/// Chooses a line of the open list, by its number where it has one.
fn choose(screen: &mut Screen, count: &mut Count, value: &str) {
    let lines = screen.sitting.state.choice.clone().unwrap();
    match lines.lines.iter().position(|(v, _)| v == value) {
        Some(at) if at == lines.selected => {}
        Some(at) if at < 9 => {
            let number = char::from_digit(u32::try_from(at + 1).unwrap(), 10).unwrap();
            count.key(screen, KeyCode::Char(number));
        }
        Some(at) => (0..at).for_each(|_| count.key(screen, KeyCode::Down)),
        // Own words are what is recorded.
        None => count.text(screen, value),
    }
    count.key(screen, KeyCode::Enter);
}

/// Who may take this reading: whoever did, or a qualified person.
fn enter_as(screen: &mut Screen, count: &mut Count, who: &str) {
    if screen.sitting.state.who != who {
        count.key(screen, KeyCode::F(6));
        choose(screen, count, who);
    }
}

fn take(screen: &mut Screen, count: &mut Count, job: &Job, place: &Place, reading: &Reading) {
    enter_as(screen, count, &reading.by);
    let typed = reading.typed.trim();
    if let (Some(wanted), Some(offered)) = (
        &reading.instrument,
        screen.sitting.state.instrument_for(place.test),
    ) && *wanted != offered
    {
        count.key(screen, KeyCode::F(7));
        choose(screen, count, wanted);
    }
    let reason = [(LIMITATION, 'l'), (NOT_APPLICABLE, 'n')]
        .into_iter()
        .find_map(|(prefix, key)| Some((key, typed.strip_prefix(prefix)?.trim())));
    match reason {
        Some((key, reason)) => {
            count.key(screen, KeyCode::Char(key));
            choose(screen, count, reason);
            // Where a number is wanted, a reason by its number is asked for again.
            if screen.sitting.state.job.entry(place).is_none() {
                count.key(screen, KeyCode::Enter);
            }
        }
        None if typed.starts_with('>') => {
            count.key(screen, KeyCode::Char('>'));
            if screen.sitting.state.field.text() != typed {
                count.text(screen, &typed[1..]);
            } else {
                count.own += 1;
            }
            count.key(screen, KeyCode::Enter);
        }
        None => {
            // What a yes or no is typed as.
            let typed = match typed {
                "pass" => "y",
                "fail" => "f",
                other => other,
            };
            count.text(screen, typed);
            count.key(screen, KeyCode::Enter);
        }
    }
    let kept = screen.sitting.state.job.entry(place);
    assert!(
        kept.is_some(),
        "{place}: {} ({})",
        screen.message(),
        job.title
    );
    count.readings += 1;
}

/// Types a sample again; returns keys beyond the reading per reading.
fn retype(name: &str, order: Order) -> f64 {
    let (folder, path, mut readings) = emptied(name);
    let job = sample(name);
    let qualified = job
        .people
        .iter()
        .find(|p| p.role == Role::Qualified)
        .unwrap()
        .id
        .clone();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    let mut count = Count::default();
    // A job without readings opens at the form of the visit.
    count.key(&mut screen, KeyCode::F(2));
    if order == Order::ByTest {
        count.key(&mut screen, KeyCode::F(12));
        screen.sitting.state.go_to_next_open(0);
    }
    // An optional reading that the sample has is gone to; one that it lacks isn't met.
    let steps: Vec<Place> = screen
        .sitting
        .state
        .plan
        .steps()
        .iter()
        .map(|s| s.place.clone())
        .collect();
    for place in steps {
        let Some(mut reading) = readings.remove(&place) else {
            continue;
        };
        // What an apprentice took waits for somebody else; here one person types all of it.
        reading.by.clone_from(&qualified);
        assert_eq!(screen.sitting.state.view, View::Walk, "{place}");
        // Optional readings are passed over by the walk: whoever wants one goes to it.
        let there = screen.sitting.state.plan.position(&place).unwrap();
        while screen.place() != place.to_string() {
            let way = if screen.sitting.state.at < there {
                KeyCode::Down
            } else {
                KeyCode::Up
            };
            count.key(&mut screen, way);
        }
        take(&mut screen, &mut count, &job, &place, &reading);
    }
    assert!(readings.is_empty(), "{name}: no step for {readings:?}");
    let beyond = (count.keys - count.own) as f64 / count.readings as f64;
    println!(
        "{name} {order:?}: {} readings, {} keys, {} of them the readings themselves, {beyond:.3} beyond per reading",
        count.readings, count.keys, count.own
    );
    // The record is the one it was typed from.
    for seat in job.seats() {
        for (test, entry) in seat.readings.iter() {
            let place = seat.place(test);
            let now = screen.sitting.state.job.entry(&place).unwrap();
            let same = now.now.value(test) == entry.now.value(test);
            assert!(same, "{place}: {:?} {:?}", now.now.typed, entry.now.typed);
        }
    }
    beyond
}

/// Aim: one key (Enter) beyond the reading itself. What is over it goes into who is entering, which instrument, reasons from a
/// list, and readings that are optional and gone to.
#[test]
fn a_reading_costs_about_one_key_beyond_itself() {
    for order in [Order::ByPlace, Order::ByTest] {
        let beyond = retype(CLEAN, order);
        assert!(beyond < 1.2, "{beyond}");
    }
}
