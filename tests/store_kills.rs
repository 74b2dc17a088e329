//! The real program, killed at a random moment while somebody types: what its screen had called kept is on the disk.
//!
//! 200 runs; `WANDERLEAD_KILLS=5000 cargo test --test store_kills -- --nocapture` makes that many.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod pty_help;
mod store_help;

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use common::{Did, HALF_DONE, Screen, root, take_step};
use pty_help::Terminal;
use store_help::chance::Chance;
use wanderlead::job::Place;
use wanderlead::store::{Session, read_job};

/// Places and what is typed there, one after the other as the walk asks; before the first that wants another person.
fn script() -> Vec<(Place, String)> {
    let mut shadow = Screen::open(HALF_DONE, 80, 24);
    let mut out = Vec::new();
    while out.len() < 10 {
        let place = shadow.sitting.state.focus().unwrap();
        match take_step(&mut shadow, &place) {
            (None, Did::Kept(value)) => out.push((place, value)),
            _ => break,
        }
    }
    out
}

/// What one run saw.
struct Run {
    /// Readings that the screen had called kept.
    kept: usize,
    /// Whether one more is there: written, and killed before it was said.
    more: bool,
}

/// Types until the moment comes, kills, and compares.
fn run(dir: &Path, script: &[(Place, String)], delay: Duration) -> Result<Run, String> {
    let job = dir.join(HALF_DONE);
    std::fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    let mut terminal = Terminal::open(&job);
    terminal.wait_for(&format!("── {} ──", script[0].0));
    let end = Instant::now() + delay;
    let mut kept = 0;
    'typing: for (place, value) in script {
        terminal.send(&format!("{value}\r"));
        let said = format!("kept on disk: {place}");
        while !terminal.picture().contains(&said) {
            if Instant::now() >= end {
                break 'typing;
            }
            std::thread::sleep(Duration::from_millis(1));
        }
        kept += 1;
    }
    terminal.signal("KILL");
    terminal.end();
    // What it drew last may still be under way to the window.
    let last = terminal.last();
    if let Some((place, _)) = script.get(kept)
        && last.contains(&format!("kept on disk: {place}"))
    {
        kept += 1;
    }
    compare(&job, script, kept)
}

fn compare(job: &Path, script: &[(Place, String)], kept: usize) -> Result<Run, String> {
    let seen = read_job(job).map_err(|e| e.to_string())?;
    let session = Session::open(job).map_err(|e| e.to_string())?;
    if let Some(why) = session.read_only() {
        return Err(why.to_string());
    }
    let mut more = false;
    for (i, (place, value)) in script.iter().enumerate() {
        for job in [&seen.job, session.job()] {
            let typed = job.entry(place).map(|e| e.now.typed.as_str());
            match typed {
                Some(typed) if typed == value && i < kept => {}
                None if i >= kept => {}
                Some(typed) if typed == value && i == kept => more = true,
                other => return Err(format!("{place} is {other:?}; {kept} were called kept")),
            }
        }
    }
    let back = kept + usize::from(more);
    let notes = session.notes().join("\n");
    if back > 0 && !notes.contains(&format!("{back} change")) {
        return Err(format!("{back} changes came back without a word: {notes}"));
    }
    Ok(Run { kept, more })
}

#[test]
fn a_program_that_is_killed_while_somebody_types_loses_nothing_it_called_kept() {
    let script = script();
    assert!(script.len() >= 3, "{}", script.len());
    let wanted = std::env::var("WANDERLEAD_KILLS").ok();
    let most: usize = wanted.map_or(200, |n| n.parse().unwrap());
    let start = Instant::now();
    let next = AtomicUsize::new(0);
    let found: Vec<Run> = std::thread::scope(|scope| {
        let lanes: Vec<_> = (0..4)
            .map(|_| {
                scope.spawn(|| {
                    let dir = tempfile::tempdir().unwrap();
                    let mut out = Vec::new();
                    loop {
                        let n = next.fetch_add(1, Ordering::SeqCst);
                        if n >= most {
                            return out;
                        }
                        let here = dir.path().join(n.to_string());
                        std::fs::create_dir(&here).unwrap();
                        let micros = Chance(n as u64).below(400_000) as u64;
                        let delay = Duration::from_micros(micros);
                        match run(&here, &script, delay) {
                            Ok(run) => out.push(run),
                            Err(e) => panic!("run {n}, killed after {delay:?}: {e}"),
                        }
                        std::fs::remove_dir_all(&here).unwrap();
                    }
                })
            })
            .collect();
        lanes
            .into_iter()
            .flat_map(|lane| lane.join().unwrap())
            .collect()
    });
    let kept: usize = found.iter().map(|r| r.kept).sum();
    let more = found.iter().filter(|r| r.more).count();
    println!(
        "{} kills in {:.0?}: {kept} readings had been called kept and are there; {more} times one more, brought back",
        found.len(),
        start.elapsed()
    );
    assert_eq!(found.len(), most);
    // Else the kills all came before the first reading or after the last.
    assert!(kept > most / 4, "{kept} kept in {most} runs");
}

#[test]
fn the_comparison_notices_a_reading_that_is_gone() {
    let script = script();
    let dir = tempfile::tempdir().unwrap();
    let job = dir.path().join(HALF_DONE);
    std::fs::copy(root().join("sample-jobs").join(HALF_DONE), &job).unwrap();
    assert!(compare(&job, &script, 0).is_ok());
    assert!(compare(&job, &script, 1).is_err());
}
