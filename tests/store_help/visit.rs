//! A visit by script, what was promised during it, and whether a later opening finds that.

use std::path::{Path, PathBuf};

use chrono::{DateTime, Duration, FixedOffset};
use wanderlead::job::{Change, Edit, Job, Part, Place, Reading, Spot};
use wanderlead::store::{Disk, Session, StoreError};

use super::careless::{Careless, Habit};
use super::memory::Memory;
use super::world::World;

pub const JOB: &str = include_str!("../store_fixture.ron");

/// The job file of every visit.
pub fn file() -> PathBuf {
    PathBuf::from("/job/a.ron")
}

pub fn journal() -> PathBuf {
    PathBuf::from("/job/a.ron.journal")
}

pub fn world() -> World {
    World::with(&file(), JOB.as_bytes())
}

/// What is done in a visit.
#[derive(Clone, Debug)]
pub enum Step {
    Keep(&'static str, &'static str, &'static str),
    Undo,
    Redo,
    Together,
    Countersign,
    Edit,
    Save,
    /// Saves, ends and opens anew.
    Again,
    /// Ends without saving and opens anew.
    Vanish,
}

/// Twelve readings, every other kind of change, and the ways to end.
pub const VISIT: &[Step] = &[
    Step::Keep("R/1/r1r2", "0.15", "AP"),
    Step::Keep("R/1/ir-ll", "200", "JE"),
    Step::Keep("R/1/ir-le", ">999", "JE"),
    Step::Keep("R/1/zs", "0.42", "JE"),
    Step::Keep("R/2/r1r2", "0.61", "JE"),
    Step::Keep("R/2/ir-ll", "150", "JE"),
    Step::Keep("R/2/ir-le", "180", "JE"),
    Step::Keep("R/2/zs", "0.95", "JE"),
    Step::Keep("R/zdb", "0.31", "JE"),
    Step::Keep("R/1/zs", "0.44", "JE"),
    Step::Keep("R/2/zs", "0.97", "JE"),
    Step::Keep("R/2/zs", "0.99", "JE"),
    Step::Undo,
    Step::Redo,
    Step::Together,
    Step::Countersign,
    Step::Edit,
    Step::Save,
    Step::Keep("R/1/zs", "0.46", "JE"),
    Step::Again,
    Step::Keep("R/zdb", "0.33", "JE"),
    Step::Vanish,
    Step::Keep("R/zdb", "0.35", "JE"),
];

/// When a step is done. `back` is the step at which the clock is set back by a day.
fn at(step: usize, back: Option<usize>) -> DateTime<FixedOffset> {
    let start = DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap();
    let now = start + Duration::minutes(step as i64);
    if back.is_some_and(|b| step >= b) {
        now - Duration::days(1)
    } else {
        now
    }
}

pub fn keep(place: &str, typed: &str, by: &str, at: DateTime<FixedOffset>) -> Change {
    let place: Place = place.parse().unwrap();
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: by.into(),
            at,
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

/// The change of a step; `None` where it isn't one, or there is nothing that it could be about.
fn change(step: &Step, job: &Job, now: DateTime<FixedOffset>) -> Option<Change> {
    Some(match step {
        Step::Keep(place, typed, by) => keep(place, typed, by, now),
        Step::Together => Change::Together(vec![
            keep("R/1/ir-le", "400", "JE", now),
            keep("R/2/ir-le", "300", "JE", now),
        ]),
        Step::Countersign => {
            let place: Place = "R/1/r1r2".parse().unwrap();
            let reading = &job.entry(&place)?.now;
            Change::Countersign {
                by: "JE".into(),
                at: now,
                typed: reading.typed.clone(),
                taken: reading.at,
                place,
            }
        }
        Step::Edit => {
            let spot = Spot::Circuit("R".into(), "2".into());
            let (part, _) = job.part(&spot)?;
            let Part::Circuit(mut circuit) = part else {
                return None;
            };
            circuit.name = "lights upstairs".into();
            circuit.readings = Default::default();
            Change::Edit(Box::new(Edit {
                spot,
                now: Some(Part::Circuit(circuit)),
                whole: false,
                back: Vec::new(),
                to: None,
                by: "JE".into(),
                at: now,
            }))
        }
        Step::Undo | Step::Redo | Step::Save | Step::Again | Step::Vanish => return None,
    })
}

/// What was promised at one moment.
#[derive(Clone)]
pub struct Promise {
    /// The job as it was last called kept.
    pub kept: Job,
    /// As it would be with the change under way, or with one that was reported as not kept since.
    pub perhaps: Vec<Job>,
    /// Last change that was called saved.
    pub saved: u64,
}

/// What a visit left behind.
pub struct Visit {
    pub promises: Vec<Promise>,
    /// Everything that was reported, by step.
    pub said: Vec<String>,
}

impl Visit {
    pub fn last(&self) -> &Promise {
        self.promises.last().unwrap()
    }
}

/// How a visit is made.
#[derive(Clone, Copy, Default)]
pub struct Manner {
    pub habit: Option<Habit>,
    pub back: Option<usize>,
}

impl Manner {
    pub fn disk(&self, memory: &Memory) -> Box<dyn Disk> {
        match self.habit {
            Some(habit) => Box::new(Careless(memory.clone(), habit)),
            None => Box::new(memory.clone()),
        }
    }
}

/// The job open for writing, where somebody has to decide about something by decision.
pub fn opened(disk: Box<dyn Disk>) -> Result<Session, StoreError> {
    let mut session = Session::open_on(disk, &file())?;
    decide(&mut session)?;
    Ok(session)
}

/// Goes on with what was found on opening, as a person would, but not without what can't be brought back.
pub fn decide(session: &mut Session) -> Result<(), StoreError> {
    if session.waits() && session.lost().is_none() {
        session.go_on("JE", at(45, None))?;
    }
    Ok(())
}

struct Walk<'a> {
    memory: &'a Memory,
    visit: Visit,
}

impl Walk<'_> {
    fn promise(&mut self, edit: impl FnOnce(&mut Promise)) {
        let mut next = self.visit.last().clone();
        edit(&mut next);
        self.visit.promises.push(next);
        let mark = self.visit.promises.len() - 1;
        self.memory.0.lock().unwrap().mark = mark;
    }

    /// A failed opening is reported, and tried once more as a person would.
    fn open(&mut self, manner: Manner) -> Option<Session> {
        for _ in 0..2 {
            match opened(manner.disk(self.memory)) {
                Ok(session) => {
                    if let Some(why) = session.read_only() {
                        self.visit.said.push(why.to_string());
                        continue;
                    }
                    // What it shows as kept is a promise too.
                    let shown = session.job().clone();
                    self.promise(|p| {
                        p.kept = shown;
                        p.perhaps.clear();
                    });
                    return Some(session);
                }
                Err(error) => self.visit.said.push(error.to_string()),
            }
        }
        None
    }
}

/// Goes through the script as far as the disk lets it. The second value is a violation that shows at once.
pub fn walk(memory: &Memory, manner: Manner) -> (Visit, Result<(), String>) {
    let empty: Job = wanderlead::job::text::parse("a.ron", JOB).unwrap();
    let first = Promise {
        kept: empty,
        perhaps: Vec::new(),
        saved: 0,
    };
    let mut walk = Walk {
        memory,
        visit: Visit {
            promises: vec![first],
            said: Vec::new(),
        },
    };
    let fault = script(&mut walk, manner);
    (walk.visit, fault)
}

fn script(walk: &mut Walk<'_>, manner: Manner) -> Result<(), String> {
    let Some(mut session) = walk.open(manner) else {
        return Ok(());
    };
    // The states before each change that can be undone.
    let mut before = Vec::new();
    let mut undone = Vec::new();
    for (i, step) in VISIT.iter().enumerate() {
        let now = at(i, manner.back);
        let held = session.job().clone();
        let done = match step {
            Step::Undo => {
                let back = before.last().cloned();
                walk.promise(|p| p.perhaps.extend(back));
                let done = session.undo("JE", now).map(|_| ());
                if done.is_ok() {
                    undone.push(held.clone());
                    before.pop();
                }
                done
            }
            Step::Redo => {
                let again = undone.last().cloned();
                walk.promise(|p| p.perhaps.extend(again));
                let done = session.redo("JE", now).map(|_| ());
                if done.is_ok() {
                    undone.pop();
                    before.push(held.clone());
                }
                done
            }
            Step::Save => session.save(),
            Step::Again | Step::Vanish => {
                let kept = session.job().kept;
                if matches!(step, Step::Again) {
                    match session.close() {
                        Ok(()) => walk.promise(|p| p.saved = kept),
                        Err(error) => walk.visit.said.push(error.to_string()),
                    }
                } else {
                    drop(session);
                }
                let expected = walk.visit.last().clone();
                match walk.open(manner) {
                    Some(next) => session = next,
                    None => return Ok(()),
                }
                found(session.job(), session.notes(), &expected)
                    .map_err(|e| format!("{e}, opened again within the visit"))?;
                before.clear();
                undone.clear();
                continue;
            }
            _ => {
                let Some(change) = change(step, session.job(), now) else {
                    continue;
                };
                let mut next = session.job().clone();
                if next.apply(&change).is_ok() {
                    walk.promise(|p| p.perhaps.push(next));
                }
                if manner.habit == Some(Habit::SaysKeptFirst) {
                    let next = walk.visit.last().perhaps.last().cloned();
                    walk.promise(|p| p.kept = next.unwrap_or_else(|| p.kept.clone()));
                }
                let done = session.keep(&change, now);
                if done.is_ok() {
                    before.push(held.clone());
                    undone.clear();
                }
                done
            }
        };
        match done {
            Ok(()) => {
                let (job, unsaved) = (session.job().clone(), session.unsaved());
                walk.promise(|p| {
                    if matches!(step, Step::Save) && unsaved == 0 {
                        p.saved = job.kept;
                    }
                    if p.kept.kept != job.kept {
                        p.perhaps.clear();
                    }
                    p.kept = job;
                });
            }
            Err(error) => {
                let kind = matches!(
                    error,
                    StoreError::NotKept { .. }
                        | StoreError::NotSaved { .. }
                        | StoreError::Refused(_)
                        | StoreError::ReadOnly { .. }
                );
                if !kind {
                    return Err(format!("step {i} is refused with {error}"));
                }
                if content(session.job()) != content(&held) {
                    return Err(format!("step {i} was refused and is in the job"));
                }
                walk.visit.said.push(error.to_string());
            }
        }
    }
    Ok(())
}

/// The record itself.
pub fn content(job: &Job) -> Job {
    Job {
        // The file of the visit is of version 1.
        schema: wanderlead::job::SCHEMA,
        kept: 0,
        kept_digest: String::new(),
        // What an undo leaves of a reading is looked at in tests/taken_back.rs.
        taken_back: Vec::new(),
        // Compared by itself where all of it is promised.
        history: Default::default(),
        ..job.clone()
    }
}

/// Whether an opened job is what was promised: all that was called kept, and at most one change more, which is said.
pub fn found(job: &Job, notes: &[String], promise: &Promise) -> Result<(), String> {
    if content(job) == content(&promise.kept) {
        let same = job.history == promise.kept.history;
        if job.kept == promise.kept.kept && !same {
            return Err("the history isn't the one that was kept".into());
        }
        return match job.history.broken() {
            Some(broken) => Err(broken.why),
            None => Ok(()),
        };
    }
    let more = job.kept == promise.kept.kept + 1
        && promise.perhaps.iter().any(|p| content(p) == content(job));
    if !more {
        return Err(format!(
            "the job has {} changes, {} were called kept; notes: {notes:?}",
            job.kept, promise.kept.kept
        ));
    }
    if notes.iter().any(|n| n.contains("brought back")) {
        Ok(())
    } else {
        Err("a reading that wasn't called kept is there without a word".into())
    }
}

/// A second life on what is left: it has to find everything, without excuses, and to be able to go on.
pub fn second_life(world: &World, promise: &Promise, manner: Manner) -> Result<(), String> {
    let memory = Memory::new(world.clone());
    let mut session = Session::open_on(manner.disk(&memory), &file())
        .map_err(|e| format!("it can't be opened: {e}"))?;
    found(session.job(), session.notes(), promise)?;
    decide(&mut session).map_err(|e| format!("nobody can go on: {e}"))?;
    if let Some(why) = session.read_only() {
        return Err(format!("it is read-only: {why}"));
    }
    let change = keep("R/zdb", "0.5", "JE", at(50, None));
    session
        .keep(&change, at(50, None))
        .map_err(|e| format!("nothing more can be kept: {e}"))?;
    let goes_on = Promise {
        kept: session.job().clone(),
        perhaps: Vec::new(),
        saved: 0,
    };
    drop(session);
    let third = Session::open_on(manner.disk(&memory), &file())
        .map_err(|e| format!("it can't be opened a third time: {e}"))?;
    if let Some(why) = third.read_only() {
        return Err(format!("it is read-only the third time: {why}"));
    }
    found(third.job(), third.notes(), &goes_on)
}

/// What was saved is whole without the journal.
pub fn saved_alone(world: &World, promise: &Promise) -> Result<(), String> {
    let mut alone = world.clone();
    alone.take(&journal());
    let session = Session::open_on(Box::new(Memory::new(alone)), &file())
        .map_err(|e| format!("the job file alone can't be opened: {e}"))?;
    if session.job().kept < promise.saved {
        return Err(format!(
            "the job file has {} changes, {} were called saved",
            session.job().kept,
            promise.saved
        ));
    }
    Ok(())
}

/// Whether a file with these bytes is there under some name.
pub fn is_beside(world: &World, bytes: &[u8], but: &Path) -> bool {
    world.files().any(|(p, b)| p != but && b == bytes)
}
