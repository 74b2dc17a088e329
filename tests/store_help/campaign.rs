//! The campaigns: each returns how many cases it ran, or the first case in which the store broke its word.

use std::io::ErrorKind;
use std::sync::{Arc, Mutex};

use wanderlead::store::{Session, StoreError};

use super::careless::Habit;
use super::chance::Chance;
use super::memory::{Fault, Image, Memory};
use super::visit::{
    Manner, Promise, Visit, content, decide, file, found, is_beside, journal, keep, opened,
    saved_alone, second_life, walk, world,
};
use super::world::World;

pub type Outcome = Result<usize, String>;

/// Every n-th case in the short run, all in the long one.
pub fn every(n: usize) -> usize {
    if is_long() { 1 } else { n }
}

pub fn is_long() -> bool {
    std::env::var_os("WANDERLEAD_LONG").is_some()
}

/// A visit on a sound disk, with the disk as it was around every operation.
fn recorded(manner: Manner) -> Result<(Visit, Vec<Image>), String> {
    let memory = Memory::new(world());
    memory.0.lock().unwrap().images = Some(Vec::new());
    let (visit, fault) = walk(&memory, manner);
    fault?;
    if let Some(said) = visit.said.first() {
        return Err(format!("on a sound disk it says {said}"));
    }
    let images = memory.0.lock().unwrap().images.take().unwrap();
    Ok((visit, images))
}

/// A kill before, in the middle of and after every operation: what was written stays as it was at that moment.
pub fn kills(manner: Manner) -> Outcome {
    let (visit, images) = recorded(manner)?;
    for image in &images {
        let promise = &visit.promises[image.mark];
        second_life(&image.world, promise, manner)
            .and_then(|()| saved_alone(&image.world, promise))
            .map_err(|e| format!("killed {}: {e}", image.label))?;
    }
    Ok(images.len())
}

/// A power cut around every operation, with everything unsynced kept, dropped, torn and in every mixture.
pub fn power_cuts(manner: Manner) -> Outcome {
    let (visit, images) = recorded(manner)?;
    let mut chance = Chance(1);
    let most = if is_long() { 800 } else { 40 };
    let mut cases = 0;
    for image in &images {
        let promise = &visit.promises[image.mark];
        for fates in image.world.fates(most, &mut chance) {
            let left = image.world.after_power_cut(&fates);
            second_life(&left, promise, manner)
                .and_then(|()| saved_alone(&left, promise))
                .map_err(|e| format!("power cut {}, {fates:?}: {e}", image.label))?;
            cases += 1;
        }
    }
    Ok(cases)
}

/// What one operation of a visit can meet.
fn faults(at: usize) -> Vec<Fault> {
    let mut out = Vec::new();
    for (kind, short) in [
        (ErrorKind::Other, false),
        (ErrorKind::StorageFull, false),
        (ErrorKind::ReadOnlyFilesystem, false),
        (ErrorKind::StorageFull, true),
    ] {
        for stays in [false, true] {
            out.push(Fault {
                at,
                kind,
                short,
                stays,
                forgets: kind == ErrorKind::Other,
            });
        }
    }
    out
}

/// A failure of every operation, once or from then on; the visit goes on where it can. Then the power is cut, with
/// everything unsynced kept and with everything dropped.
pub fn failures(manner: Manner, step: usize) -> Outcome {
    let memory = Memory::new(world());
    walk(&memory, manner).1?;
    let operations = memory.0.lock().unwrap().trace.len();
    let mut cases = 0;
    let all = (0..operations).flat_map(faults);
    for (n, fault) in all.enumerate() {
        // In the short run each operation meets some of the kinds, in turn.
        if !(n + n / 8).is_multiple_of(step) {
            continue;
        }
        let memory = Memory::new(world());
        memory.0.lock().unwrap().fault = Some(fault);
        let (visit, broken) = walk(&memory, manner);
        let (left, operation) = {
            let m = memory.0.lock().unwrap();
            (m.world.clone(), m.trace.get(fault.at).cloned())
        };
        let told = |e| format!("{fault:?} at {operation:?}: {e}; said {:?}", visit.said);
        broken.map_err(told)?;
        second_life(&left, visit.last(), manner).map_err(told)?;
        let fates = left.fates(usize::MAX, &mut Chance(0)).len();
        let most = if is_long() { 30 } else { 4 };
        let few = left.fates(if fates > most { 2 } else { most }, &mut Chance(0));
        for fate in few {
            let cut = left.after_power_cut(&fate);
            second_life(&cut, visit.last(), manner)
                .map_err(|e| told(format!("after a power cut, {fate:?}: {e}")))?;
            cases += 1;
        }
        cases += 1;
    }
    Ok(cases)
}

/// Disks that an opening has to put in order, with what was promised: a write cut off by a kill, and a journal that ends before
/// the job file.
fn in_disorder(manner: Manner) -> Result<Vec<(World, Promise)>, String> {
    let (visit, images) = recorded(manner)?;
    let mut out: Vec<(World, Promise)> = images
        .iter()
        .filter(|i| i.label.starts_with("in the middle"))
        .map(|i| (i.world.clone(), visit.promises[i.mark].clone()))
        .collect();
    let saved = images
        .iter()
        .find(|i| visit.promises[i.mark].saved > 0)
        .ok_or("nothing is saved")?;
    let mut behind = saved.world.clone();
    let bytes = behind.read(&journal()).ok_or("no journal")?;
    let lines: Vec<&[u8]> = bytes.split_inclusive(|b| *b == b'\n').take(5).collect();
    let lines = lines.concat();
    behind.put(&journal(), &lines);
    let mut promise = visit.promises[saved.mark].clone();
    promise.perhaps.clear();
    out.push((behind, promise));
    Ok(out)
}

/// A kill or a power cut around every operation of an opening that has something to put in order, and a failure of each.
pub fn mending(manner: Manner, step: usize) -> Outcome {
    let mut cases = 0;
    let mut chance = Chance(2);
    let most = if is_long() { 200 } else { 12 };
    let disorders = in_disorder(manner)?;
    for (n, (before, promise)) in disorders.iter().enumerate() {
        if !n.is_multiple_of(step) && n + 1 != disorders.len() {
            continue;
        }
        let memory = Memory::new(before.clone());
        memory.0.lock().unwrap().images = Some(Vec::new());
        drop(opened(manner.disk(&memory)).map_err(|e| e.to_string())?);
        let images = memory.0.lock().unwrap().images.take().unwrap();
        let operations = memory.0.lock().unwrap().trace.len();
        for image in images {
            for fates in image.world.fates(most, &mut chance) {
                second_life(&image.world.after_power_cut(&fates), promise, manner).map_err(
                    |e| format!("disorder {n}, power cut {}, {fates:?}: {e}", image.label),
                )?;
                cases += 1;
            }
            second_life(&image.world, promise, manner)
                .map_err(|e| format!("disorder {n}, killed {}: {e}", image.label))?;
            cases += 1;
        }
        for fault in (0..operations).flat_map(faults).step_by(every(5)) {
            let memory = Memory::new(before.clone());
            memory.0.lock().unwrap().fault = Some(fault);
            let mut promise = promise.clone();
            let told = |e: String| format!("disorder {n}, {fault:?}: {e}");
            if let Ok(session) = opened(manner.disk(&memory)) {
                found(session.job(), session.notes(), &promise).map_err(told)?;
                if session.read_only().is_none() {
                    // Shown as kept, and so promised.
                    promise.kept = session.job().clone();
                    promise.perhaps.clear();
                }
            }
            let left = memory.0.lock().unwrap().world.clone();
            second_life(&left, &promise, manner).map_err(told)?;
            for fates in left.fates(most, &mut chance) {
                second_life(&left.after_power_cut(&fates), &promise, manner)
                    .map_err(|e| told(format!("after a power cut, {fates:?}: {e}")))?;
                cases += 1;
            }
            cases += 1;
        }
    }
    Ok(cases)
}

/// The clock set back by a day before each step.
pub fn clock_set_back(manner: Manner) -> Outcome {
    let mut cases = 0;
    for back in (0..super::visit::VISIT.len()).step_by(every(4)) {
        let manner = Manner {
            back: Some(back),
            ..manner
        };
        let (visit, images) = recorded(manner)?;
        for image in images.iter().skip(back % 5).step_by(every(5)) {
            second_life(&image.world, &visit.promises[image.mark], manner)
                .map_err(|e| format!("clock back at {back}, killed {}: {e}", image.label))?;
            cases += 1;
        }
    }
    Ok(cases)
}

/// What another program does to the job meanwhile.
#[derive(Clone, Copy, Debug)]
enum Other {
    /// Opens it, keeps a reading and goes away.
    Visits,
    /// Opens it, keeps a reading, saves and goes away.
    Saves,
    /// Moves the journal away and opens the job.
    MovesJournal,
}

/// Another program at the job just before every operation of an opening, a reading, a save and a close: what each of them was
/// told is kept is on the disk afterwards, or in a copy beside it that somebody was told of.
pub fn two_programs(manner: Manner) -> Outcome {
    let mut cases = 0;
    for other in [Other::Visits, Other::Saves, Other::MovesJournal] {
        for saves in [true, false] {
            let told = |at, e| format!("{other:?} at {at}, the first saves: {saves}: {e}");
            let mut at = 0;
            while meeting(manner, other, at, saves).map_err(|e| told(at, e))? {
                cases += 1;
                at += 1;
            }
        }
    }
    Ok(cases)
}

/// Whether the other program came at all.
fn meeting(manner: Manner, other: Other, at: usize, saves: bool) -> Result<bool, String> {
    let memory = Memory::new(world());
    let theirs = Arc::new(Mutex::new(Vec::new()));
    let (their_disk, told) = (memory.clone(), Arc::clone(&theirs));
    let now = chrono::DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap();
    memory.0.lock().unwrap().between = Some((
        at,
        Box::new(move || {
            if matches!(other, Other::MovesJournal) {
                let mut m = their_disk.0.lock().unwrap();
                let bytes = m.world.read(&journal()).map(<[u8]>::to_vec);
                m.world.take(&journal());
                if let Some(bytes) = bytes {
                    m.world.put(&file().with_extension("elsewhere"), &bytes);
                }
            }
            let Ok(mut session) = opened(manner.disk(&their_disk)) else {
                return;
            };
            if session.read_only().is_none()
                && session
                    .keep(&keep("R/2/zs", "0.77", "JE", now), now)
                    .is_ok()
            {
                told.lock().unwrap().push("0.77");
            }
            if matches!(other, Other::Saves) {
                let _ = session.close();
            }
        }),
    ));
    let mut said = Vec::new();
    let mut ours = Vec::new();
    match opened(manner.disk(&memory)) {
        Ok(mut session) => {
            for (place, typed) in [("R/1/zs", "0.41"), ("R/zdb", "0.31")] {
                match session.keep(&keep(place, typed, "JE", now), now) {
                    Ok(()) => ours.push(typed),
                    Err(error) => said.push(error.to_string()),
                }
            }
            if saves && let Err(error) = session.close() {
                said.push(error.to_string());
            }
        }
        // The other one holds it for a moment, or took its journal away.
        Err(error) => said.push(error.to_string()),
    }
    let came = memory.0.lock().unwrap().between.is_none();
    let left = memory.0.lock().unwrap().world.clone();
    let session = Session::open_on(Box::new(Memory::new(left.clone())), &file())
        .map_err(|e| format!("it can't be opened: {e}"))?;
    let text = ron::to_string(session.job()).unwrap();
    let excused = session.lost().is_some() || !said.is_empty();
    for typed in ours.iter().chain(theirs.lock().unwrap().iter()) {
        let quoted = format!("\"{typed}\"");
        if text.contains(&quoted) {
            continue;
        }
        let beside = left
            .files()
            .any(|(p, b)| p != &file() && String::from_utf8_lossy(b).contains(&quoted));
        let named = session
            .notes()
            .iter()
            .any(|n| n.contains("not in the job: taken back meanwhile"));
        if !((excused || named) && beside) {
            return Err(format!(
                "{typed} was called kept and is gone; beside it: {beside}; said {said:?}, lost {:?}, notes {:?}",
                session.lost(),
                session.notes()
            ));
        }
    }
    Ok(came)
}

/// What damage is done to a file.
#[derive(Clone, Copy, Debug)]
enum Damage {
    CutTo(usize),
    Flip(usize, u8),
}

/// The job file and the journal cut off at every byte, and with one bit of every byte flipped.
pub fn damages(manner: Manner, step: usize) -> Outcome {
    let (visit, images) = recorded(manner)?;
    let last = images.last().unwrap();
    // Also while the journal holds what the job file lacks: the image before the first save.
    let early = images
        .iter()
        .filter(|i| visit.promises[i.mark].saved == 0)
        .rfind(|i| i.label.contains("sync a.ron.journal"))
        .unwrap();
    let mut cases = 0;
    for image in [early, last] {
        let sound = Session::open_on(Box::new(Memory::new(image.world.clone())), &file())
            .map_err(|e| format!("undamaged: {e}"))?;
        let whole = sound.job();
        for path in [file(), journal()] {
            // A file that this program never saved has nothing to be told by.
            if path == file() && visit.promises[image.mark].saved == 0 {
                continue;
            }
            let bytes = image.world.read(&path).unwrap().to_vec();
            let cuts = (0..bytes.len()).map(Damage::CutTo);
            let flips = (0..bytes.len()).map(|i| Damage::Flip(i, 1 << (i % 7)));
            for (n, damage) in cuts.chain(flips).enumerate() {
                if !n.is_multiple_of(step) {
                    continue;
                }
                let mut hurt = bytes.clone();
                match damage {
                    Damage::CutTo(n) => hurt.truncate(n),
                    Damage::Flip(i, bit) => hurt[i] ^= bit,
                }
                let mut left = image.world.clone();
                left.put(&path, &hurt);
                let at = hurt.len();
                damaged(&left, &path, &hurt, whole, manner).map_err(|e| {
                    format!(
                        "{} {damage:?} of {}: {e}",
                        path.display(),
                        at.max(bytes.len())
                    )
                })?;
                cases += 1;
            }
        }
    }
    Ok(cases)
}

fn damaged(
    left: &World,
    path: &std::path::Path,
    hurt: &[u8],
    whole: &wanderlead::job::Job,
    manner: Manner,
) -> Result<(), String> {
    let memory = Memory::new(left.clone());
    let opened = Session::open_on(manner.disk(&memory), &file());
    let untouched = memory.0.lock().unwrap().world.read(path) == Some(hurt);
    let mut session = match opened {
        Ok(session) => session,
        Err(StoreError::Unusable(_)) if untouched => return Ok(()),
        Err(error) => return Err(format!("untouched {untouched}: {error}")),
    };
    if content(session.job()) == content(whole) {
        return Ok(());
    }
    if session.lost().is_some() {
        return if untouched {
            Ok(())
        } else {
            Err("it is said to be lost, and the damaged file was changed".into())
        };
    }
    // The one damage that leaves no trace: a journal that ends a whole line earlier.
    if hurt.ends_with(b"\n") && left.read(&journal()) == Some(hurt) && is_shorter(hurt, whole) {
        return Ok(());
    }
    // An empty journal is as if it weren't there, and is said.
    if hurt.is_empty() {
        return Ok(());
    }
    // Whoever goes on has it copied first.
    if !untouched {
        return Err("it is changed before anybody decided".into());
    }
    decide(&mut session).map_err(|e| format!("nobody can go on: {e}"))?;
    let now = memory.0.lock().unwrap().world.clone();
    let notes = session.notes().join("\n");
    let aside = notes.contains("set aside in") || notes.contains("copied to");
    let tail = &hurt[hurt.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1)..];
    let last_line = {
        let cut = hurt.strip_suffix(b"\n").unwrap_or(hurt);
        &hurt[cut.iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1)..]
    };
    if aside
        && [hurt, tail, last_line]
            .iter()
            .any(|b| is_beside(&now, b, path))
    {
        return if notes.contains("never reported as kept") {
            Err(format!("it says what isn't so: {notes}"))
        } else {
            Ok(())
        };
    }
    Err(format!(
        "{} of {} changes, without a word; notes: {notes}",
        session.job().kept,
        whole.kept
    ))
}

/// Whether a journal is whole, only with fewer lines.
fn is_shorter(hurt: &[u8], whole: &wanderlead::job::Job) -> bool {
    let lines = hurt.iter().filter(|b| **b == b'\n').count() as u64;
    lines.saturating_sub(1) < whole.kept
}

/// Every campaign, until one finds something.
pub fn all(manner: Manner) -> Outcome {
    let mut cases = kills(manner)?;
    cases += two_programs(manner)?;
    cases += power_cuts(manner)?;
    cases += damages(manner, every(41))?;
    cases += failures(manner, every(13))?;
    Ok(cases)
}

/// The store with a bad habit.
pub fn with(habit: Habit) -> Manner {
    Manner {
        habit: Some(habit),
        back: None,
    }
}

/// Not asked of every case, but of the campaign itself: that the judge can say no.
pub fn judge_says_no() -> bool {
    let memory = Memory::new(world());
    let (visit, _) = walk(&memory, Manner::default());
    let mut less = visit.last().kept.clone();
    let more = visit.last();
    less.edits.clear();
    found(&less, &[], more).is_err()
}
