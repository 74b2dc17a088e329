//! A hundred thousand random keys, pastes and resizes, over all samples: no panic, no reading lost, the screen never ahead of
//! the disk.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::BTreeMap;

use common::dice::Dice;
use common::{CLEAN, FAULTY, HALF_DONE, Screen, later};
use ratatui::crossterm::event::{Event, KeyCode, KeyModifiers};
use wanderlead::job::{Job, Place};
use wanderlead::screen::keys::KEYS;

/// Keys of all samples together.
const KEYS_PRESSED: usize = 102_000;
/// After so many the disk is looked at.
const LOOK: usize = 400;

/// Every reading that was ever kept, the struck ones too: how often each stands at each place.
fn readings(job: &Job) -> BTreeMap<Place, Vec<String>> {
    let seats = job.seats();
    let all = seats.iter().flat_map(|seat| {
        seat.readings.iter().map(|(test, entry)| {
            let mut typed: Vec<String> = entry.struck.iter().map(|r| r.typed.clone()).collect();
            typed.push(entry.now.typed.clone());
            (seat.place(test), typed)
        })
    });
    all.collect()
}

fn press(screen: &mut Screen, dice: &mut Dice) -> String {
    match dice.roll(100) {
        // Keys of the table, but not the one that leaves.
        0..=44 => {
            let key = KEYS[dice.roll(KEYS.len())];
            let (code, mods) = dice.of(key.presses);
            screen.press(code, mods);
            format!("{code:?} {mods:?}")
        }
        45..=69 => {
            let c = dice.of(&[
                '0', '1', '2', '3', '.', ',', '5', '9', 'y', 'f', 'l', 'n', '>', '<', 'a', 'Ω',
                '/', '"', '*', ' ', '!', 'q', 'o', 'd', 'm', '¶', '-',
            ]);
            screen.code(KeyCode::Char(c));
            format!("{c:?}")
        }
        70..=89 => {
            screen.code(KeyCode::Enter);
            "Enter".into()
        }
        90..=94 => {
            let text = dice.of(&[
                "0.42",
                "1\n2\n3",
                "y\ty\ny\ty",
                "\u{0}\u{7}\r\n\t",
                "0.5\r0.6\r",
                "Ω≤—漢字",
                "lim: no access\n0.3",
            ]);
            screen.sitting.event(&Event::Paste(text.into()), later());
            format!("paste {text:?}")
        }
        95..=96 => {
            let size = dice.of(&[(80, 24), (120, 40), (79, 24), (80, 23), (1, 1), (200, 60)]);
            screen
                .sitting
                .event(&Event::Resize(size.0, size.1), later());
            // The test's terminal stays; what is drawn goes by the state.
            let back = dice.roll(2) == 0;
            if back {
                screen.sitting.event(&Event::Resize(80, 24), later());
            }
            format!("resize {size:?}")
        }
        _ => {
            let code = dice.of(&[
                KeyCode::Null,
                KeyCode::CapsLock,
                KeyCode::F(24),
                KeyCode::Insert,
                KeyCode::Char('x'),
            ]);
            let mods = dice.of(&[
                KeyModifiers::ALT,
                KeyModifiers::CONTROL | KeyModifiers::ALT,
                KeyModifiers::SUPER,
                KeyModifiers::SHIFT,
            ]);
            screen.press(code, mods);
            format!("{code:?} {mods:?}")
        }
    }
}

#[test]
fn random_keys_lose_nothing_and_never_panic() {
    let samples = [HALF_DONE, CLEAN, FAULTY];
    let mut pressed = 0;
    let mut kept = 0;
    for (seed, name) in samples.into_iter().enumerate() {
        let mut dice = Dice(0x5eed + u64::try_from(seed).unwrap());
        let mut screen = Screen::open(name, 80, 24);
        for i in 0..KEYS_PRESSED / samples.len() {
            let what = press(&mut screen, &mut dice);
            pressed += 1;
            if i % 7 == 0 && screen.sitting.state.fits() {
                screen.sitting.state.size = (80, 24);
                screen.buffer();
            }
            let message = &screen.sitting.state.message;
            if !message.error && message.text.starts_with("kept on disk") {
                kept += 1;
            }
            if i % LOOK != 0 {
                continue;
            }
            // What is kept up to date in part is what it would be afresh.
            let stale = screen.sitting.state.stale();
            assert_eq!(stale, None, "seed {seed} key {i} ({what})");
            let shown = Job {
                kept: 0,
                kept_digest: String::new(),
                ..screen.sitting.state.job.clone()
            };
            let disk = screen.job_on_disk();
            assert!(
                readings(&disk) == readings(&shown) && disk == shown,
                "seed {seed} key {i} ({what}): the screen shows what the disk has not"
            );
            if i % (LOOK * 10) == 0 {
                // A new life from the disk has it all.
                screen = screen.reopen();
                assert!(readings(&screen.sitting.state.job) == readings(&shown));
            }
        }
        assert_eq!(screen.sitting.state.job.problems(), vec![]);
    }
    println!("{pressed} keys, {kept} times the last message said kept");
    assert!(pressed >= 100_000 && kept > 1_000, "{pressed} {kept}");
}
