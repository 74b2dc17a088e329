//! Opening a job for somebody who can be asked: what was found is said on a page, nothing is touched before it was decided, and
//! what was decided is in the history. Going on may itself be cut off at any moment.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod store_help;

use std::fs;
use std::path::{Path, PathBuf};

use chrono::{DateTime, FixedOffset};
use common::{HALF_DONE, Screen};
use ratatui::crossterm::event::KeyCode;
use store_help::campaign::every;
use store_help::chance::Chance;
use store_help::memory::Memory;
use store_help::visit::{JOB, file, journal, keep};
use store_help::world::World;
use wanderlead::job::{Done, Job};
use wanderlead::screen::View;
use wanderlead::store::{Session, StoreError};

/// The case in which the job file itself isn't as it was saved.
const HAND: &str = "a job file changed by hand";
/// And the one in which a careful hand took out the history and the line with the digest of the file.
const NO_HISTORY: &str = "the history taken out";

fn by_hand(name: &str) -> bool {
    name == HAND || name == NO_HISTORY
}

fn at() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap()
}

/// A disk with a job and a journal of five changes that the job file hasn't.
fn unsaved() -> World {
    let memory = Memory::new(World::with(&file(), JOB.as_bytes()));
    let mut session = Session::open_on(Box::new(memory.clone()), &file()).unwrap();
    for (place, typed) in [
        ("R/1/zs", "0.41"),
        ("R/1/r1r2", "0.15"),
        ("R/2/zs", "0.92"),
        ("R/2/r1r2", "0.61"),
        ("R/zdb", "0.31"),
    ] {
        session.keep(&keep(place, typed, "JE", at()), at()).unwrap();
    }
    drop(session);
    let mut world = World::with(&file(), JOB.as_bytes());
    let bytes = memory
        .0
        .lock()
        .unwrap()
        .world
        .read(&journal())
        .unwrap()
        .to_vec();
    world.put(&journal(), &bytes);
    world
}

fn lines(world: &World) -> Vec<String> {
    let bytes = world.read(&journal()).unwrap();
    let text = String::from_utf8(bytes.to_vec()).unwrap();
    text.lines().map(|l| format!("{l}\n")).collect()
}

/// Something that has to be decided: its name, the disk, how many changes come back, and the end of the copy's name.
fn cases() -> Vec<(&'static str, World, u64, &'static str)> {
    let whole = unsaved();
    let with = |bytes: &[u8]| {
        let mut world = whole.clone();
        world.put(&journal(), bytes);
        world
    };
    let lines = lines(&whole);
    let mut damaged = lines.clone();
    damaged[3] = damaged[3].replace("0.92", "0.29");
    let mut first_damaged = lines.clone();
    first_damaged[1] = first_damaged[1].replace("0.41", "0.14");
    let mut torn = lines.concat();
    torn.truncate(torn.len() - 20);
    let foreign = lines
        .concat()
        .replace("wanderlead journal 1 after 0 -", "my notes");
    // Another job's journal, which goes further than this one.
    let other = lines
        .concat()
        .replace("after 0 -", "after 7 00000000000000000000000000000000");
    let mut ahead = other;
    for n in (1..=5).rev() {
        ahead = ahead.replace(&format!("\n{n} "), &format!("\n{} ", n + 7));
    }
    // A saved job whose journal is an older copy.
    let memory = Memory::new(whole.clone());
    Session::open_on(Box::new(memory.clone()), &file())
        .unwrap()
        .close()
        .unwrap();
    let mut behind = memory.0.lock().unwrap().world.clone();
    behind.put(&journal(), lines[..3].concat().as_bytes());
    let mut altered = memory.0.lock().unwrap().world.clone();
    let text = String::from_utf8(altered.read(&file()).unwrap().to_vec()).unwrap();
    altered.put(
        &file(),
        text.replace("typed: \"0.61\"", "typed: \"0.16\"")
            .as_bytes(),
    );
    let mut no_history = memory.0.lock().unwrap().world.clone();
    no_history.put(&file(), common::without_history(&text).as_bytes());
    vec![
        ("torn", with(torn.as_bytes()), 4, ".journal.torn-1"),
        (
            "damaged in the middle",
            with(damaged.concat().as_bytes()),
            2,
            ".journal.lost-1",
        ),
        (
            "the first line damaged",
            with(first_damaged.concat().as_bytes()),
            0,
            ".journal.lost-1",
        ),
        (
            "no journal at all",
            with(foreign.as_bytes()),
            0,
            ".journal.lost-1",
        ),
        (
            "a journal from elsewhere",
            with(ahead.as_bytes()),
            0,
            ".journal.lost-1",
        ),
        ("an older journal", behind, 5, ".journal.old-1"),
        (HAND, altered, 5, ".found-1"),
        (NO_HISTORY, no_history, 5, ".found-1"),
    ]
}

fn files(memory: &Memory) -> Vec<(PathBuf, Vec<u8>)> {
    let m = memory.0.lock().unwrap();
    m.world
        .files()
        .map(|(p, b)| (p.clone(), b.to_vec()))
        .collect()
}

fn asking(memory: &Memory) -> Result<Session, StoreError> {
    Session::open_on(Box::new(memory.clone()), &file())
}

#[test]
fn nothing_is_touched_before_it_was_decided() {
    for (name, world, changes, _) in cases() {
        let memory = Memory::new(world);
        let before = files(&memory);
        let mut session = asking(&memory).unwrap();
        assert!(session.waits(), "{name}");
        assert!(
            session
                .found()
                .iter()
                .any(|f| f.decide && !f.todo.is_empty()),
            "{name}"
        );
        assert_eq!(session.job().kept, changes, "{name}");
        let refused = session.keep(&keep("R/zdb", "0.5", "JE", at()), at());
        assert!(
            matches!(refused, Err(StoreError::ReadOnly { .. })),
            "{name}"
        );
        session.save().unwrap();
        let nobody = session.go_on("ZZ", at()).unwrap_err().to_string();
        assert!(nobody.contains("no person `ZZ`"), "{name}: {nobody}");
        if session.lost().is_some() || by_hand(name) {
            let learner = session.go_on("AP", at()).unwrap_err().to_string();
            assert!(learner.contains("a qualified person decides"), "{learner}");
        }
        session.close().unwrap();
        assert_eq!(files(&memory), before, "{name}");
    }
}

#[test]
fn whoever_goes_on_has_the_damaged_file_beside_and_it_in_the_history() {
    for (name, world, changes, copy) in cases() {
        let memory = Memory::new(world.clone());
        let mut session = asking(&memory).unwrap();
        let was_lost = session.lost().is_some();
        session.go_on("JE", at()).unwrap();
        assert!(
            !session.waits() && session.read_only().is_none(),
            "{name}: {:?}",
            session.read_only()
        );
        assert_eq!(session.lost(), None, "{name}");
        let damaged = match name {
            name if by_hand(name) => world.read(&file()),
            _ => world.read(&journal()),
        };
        let damaged = damaged.unwrap();
        {
            let beside = format!("/job/a.ron{copy}");
            let m = memory.0.lock().unwrap();
            let kept = m
                .world
                .read(Path::new(&beside))
                .unwrap_or_else(|| panic!("{name}"));
            assert!(!kept.is_empty() && damaged.ends_with(kept), "{name}");
            assert!(
                !(was_lost || by_hand(name)) || kept == damaged,
                "{name}: all of it"
            );
        }
        let settled: Vec<_> = session
            .job()
            .history
            .iter()
            .filter(|d| d.done == Done::Settled)
            .cloned()
            .collect();
        // Of a value that was altered: that the file was, that it isn't as the history has it, and what was taken as it stands.
        // And of a history that was taken out: that the file has no line of its own, and that the history is gone.
        let want = match name {
            HAND => 3,
            NO_HISTORY => 2,
            _ => 1,
        };
        assert_eq!(settled.len(), want, "{name}");
        assert!(
            settled[0].by == "JE" && settled[0].new.contains("Gone on by decision"),
            "{name}"
        );
        assert!(settled[0].new.contains(copy), "{name}: {}", settled[0].new);
        assert_eq!(session.job().kept, changes + want as u64, "{name}");
        session
            .keep(&keep("R/zdb", "0.5", "JE", at()), at())
            .unwrap();
        let kept = session.job().clone();
        drop(session);
        let again = asking(&memory).unwrap();
        assert!(!again.waits(), "{name}: {:?}", again.found());
        assert_eq!(again.job(), &kept, "{name}");
        drop(again);
        Session::open_on(Box::new(memory.clone()), &file())
            .unwrap()
            .close()
            .unwrap();
        let last = asking(&memory).unwrap();
        assert!(last.found().is_empty(), "{name}: {:?}", last.found());
        assert_eq!(last.job().history.broken(), None);
    }
}

/// Whether a job has these readings, as far as they were brought back.
fn has(job: &Job, changes: u64) -> bool {
    let places = ["R/1/zs", "R/1/r1r2", "R/2/zs", "R/2/r1r2", "R/zdb"];
    let taken = places
        .iter()
        .take_while(|p| job.entry(&p.parse().unwrap()).is_some());
    taken.count() as u64 >= changes
}

/// A kill or a power cut around every operation of going on: what could be brought back is there at the next opening, and
/// the damaged journal is where it was or whole beside.
#[test]
fn going_on_may_be_cut_off_at_any_moment() {
    let mut chance = Chance(5);
    let mut cut = 0;
    for (name, world, changes, copy) in cases() {
        let memory = Memory::new(world.clone());
        let mut session = asking(&memory).unwrap();
        memory.0.lock().unwrap().images = Some(Vec::new());
        session.go_on("JE", at()).unwrap();
        drop(session);
        let images = memory.0.lock().unwrap().images.take().unwrap();
        let damaged = world.read(&journal()).unwrap().to_vec();
        let was_lost = copy.contains("lost");
        for image in images {
            let mut after = vec![image.world.clone()];
            let fates = image
                .world
                .fates(if every(2) == 1 { 200 } else { 20 }, &mut chance);
            after.extend(fates.iter().map(|f| image.world.after_power_cut(f)));
            for left in after {
                cut += 1;
                let there = left.files().any(|(_, b)| b == damaged);
                let memory = Memory::new(left);
                let mut second =
                    asking(&memory).unwrap_or_else(|e| panic!("{name}, {}: {e}", image.label));
                assert!(has(second.job(), changes), "{name}, {}", image.label);
                assert!(
                    there || !was_lost,
                    "{name}, {}: the journal is gone",
                    image.label
                );
                second.go_on("JE", at()).unwrap();
                assert!(second.read_only().is_none(), "{name}, {}", image.label);
                assert!(has(second.job(), changes), "{name}, {}", image.label);
                second
                    .keep(&keep("R/zdb", "0.5", "JE", at()), at())
                    .unwrap();
            }
        }
    }
    println!("{cut} times cut off");
    assert!(cut > 200);
}

/// A sample that was worked on and whose journal ends in a torn line, opened on the screen.
fn torn_on_screen() -> (Screen, PathBuf) {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go("C/4/r1r2");
    screen.enter("0.31");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(HALF_DONE);
    fs::copy(&screen.path, &path).unwrap();
    let journal = |p: &Path| PathBuf::from(format!("{}.journal", p.display()));
    let mut bytes = fs::read(journal(&screen.path)).unwrap();
    bytes.extend_from_slice(b"2 0f0f (at:\"2026-12-01T15:01:00Z\",job:\"OC-2026-118\",change:Keep(place:\"C/4/ir-le\",reading:(typed:\"231\",un");
    fs::write(journal(&path), bytes).unwrap();
    let at = journal(&path);
    (Screen::at(folder, path, 80, 24, true), at)
}

#[test]
fn on_the_screen_looking_only_is_the_first_choice_and_the_other_is_a_key_away() {
    let (mut screen, journal) = torn_on_screen();
    let before = fs::read(&journal).unwrap();
    assert_eq!(screen.sitting.state.view, View::Found);
    let shown = screen.picture();
    for said in [
        "C/4/r1r2  0.31  by Morwen Kettleby, 1 Dec 2026 15:00",
        "It seems to be C/4/ir-le 231",
        "what that line held isn't in the job",
        "READ ONLY",
    ] {
        let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(&said), "{said}: {shown}");
    }
    screen.code(KeyCode::Enter);
    assert!(screen.picture().contains("> 1 only look"));
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Walk);
    screen.go("C/4/ir-le");
    screen.enter("231");
    assert!(
        screen.message().contains("before you have decided"),
        "{}",
        screen.message()
    );
    assert_eq!(fs::read(&journal).unwrap(), before);
    screen.code(KeyCode::Esc);
    // The page is still there, and so is the choice.
    screen.text("h");
    assert_eq!(screen.sitting.state.view, View::History);
    screen.code(KeyCode::Tab);
    assert_eq!(screen.sitting.state.view, View::Found);
    screen.code(KeyCode::Enter);
    screen.text("2");
    screen.code(KeyCode::Enter);
    let said = screen.message();
    assert!(
        said.contains("open for writing, and noted in the history; copied to")
            && said.contains(".torn-1"),
        "{said}"
    );
    screen.go("C/4/ir-le");
    screen.enter("231");
    assert!(
        screen.message().contains("kept on disk: C/4/ir-le 231"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.on_disk("C/4/ir-le").as_deref(), Some("231"));
    // Also afterwards: what was found and where the copy is.
    screen.text("h");
    screen.code(KeyCode::Tab);
    assert!(screen.picture().contains(".torn-1"));
}

#[test]
fn where_nothing_was_found_the_page_says_so() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    assert_eq!(screen.sitting.state.view, View::Walk);
    screen.text("h");
    screen.code(KeyCode::Tab);
    assert!(screen.picture().contains("Nothing: the job file was whole"));
}
