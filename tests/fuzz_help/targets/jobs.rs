//! Job files. One that opens is judged, planned, given one more reading, saved and opened again.

use wanderlead::guide::Plan;
use wanderlead::job::{Change, Job, Place, Reading, Role};
use wanderlead::store::Session;

use super::files_of;
use crate::fuzz_help::check;
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::memory::Memory;
use crate::store_help::visit::{JOB, Manner, file, walk, world};
use crate::store_help::world::World;

pub const TARGET: Target = Target {
    name: "job_files",
    corpus,
    mutate: |mutator, chance| mutator.ron(chance),
    run,
    short: 300,
    each: 1,
};

/// The samples, the starters, a small one, and one as the program saves it.
pub fn corpus() -> Vec<Vec<u8>> {
    let mut out = vec![JOB.as_bytes().to_vec(), saved()];
    for folder in ["sample-jobs", "forms/starters"] {
        out.extend(files_of(folder).into_iter().map(|(_, bytes)| bytes));
    }
    out
}

/// With every kind of change in it.
pub fn saved() -> Vec<u8> {
    let memory = Memory::new(world());
    walk(&memory, Manner::default()).1.unwrap();
    let world = memory.0.lock().unwrap().world.clone();
    world.read(&file()).unwrap().to_vec()
}

fn run(input: &[u8]) -> Result<Came, String> {
    let memory = Memory::new(World::with(&file(), input));
    match Session::open_on(Box::new(memory.clone()), &file()) {
        Err(e) => {
            check::refused(&e, &file().display().to_string(), input)?;
            Ok(Came::Refused)
        }
        Ok(session) => {
            if let Some(why) = session.read_only().filter(|_| !session.waits()) {
                return Err(format!("a job without a journal is read-only: {why}"));
            }
            goes_on(session, &memory)?;
            Ok(Came::Taken)
        }
    }
}

/// Something that can be kept in nearly every job.
pub fn anything(job: &Job) -> Vec<Change> {
    let Some(by) = job.people.first() else {
        return Vec::new();
    };
    let plan = Plan::new(job, check::forms());
    let all = plan.steps().iter().map(|s| &s.place);
    all.take(6)
        .map(|place: &Place| Change::Keep {
            reading: Reading {
                typed: "lim: no access".into(),
                unit: place.test.unit(),
                by: by.id.clone(),
                at: check::now(),
                instrument: None,
                countersigned: None,
                around: None,
                brought: None,
            },
            place: place.clone(),
        })
        .collect()
}

/// What a session takes, it saves, and reads again as the same.
pub fn goes_on(mut session: Session, memory: &Memory) -> Result<(), String> {
    check::used(session.job())?;
    let before = session.unsaved();
    if session.waits() {
        let people = &session.job().people;
        let led = people.iter().find(|p| p.role == Role::Qualified);
        let Some(by) = led.or(people.first()).map(|p| p.id.clone()) else {
            return Ok(());
        };
        session
            .go_on(&by, check::now())
            .map_err(|e| format!("nobody can go on: {e}"))?;
    }
    let said = session.notes().to_vec();
    for change in anything(session.job()) {
        if session.keep(&change, check::now()).is_ok() {
            break;
        }
    }
    if session.unsaved() == 0 && before == 0 {
        return Ok(());
    }
    let kept = session.job().clone();
    session
        .close()
        .map_err(|e| format!("a job that opened can't be saved: {e}"))?;
    let again = Session::open_on(Box::new(memory.clone()), &file())
        .map_err(|e| format!("a job that was saved can't be opened: {e}"))?;
    if *again.job() != kept {
        return Err("a job that was saved reads back as another".into());
    }
    // Damage to what is long since in the job file is said each time.
    let new = again.notes().iter().any(|note| !said.contains(note));
    if again.read_only().is_some() || new {
        return Err(format!(
            "of a job that was saved it says {:?} {:?}",
            again.read_only(),
            again.notes()
        ));
    }
    Ok(())
}
