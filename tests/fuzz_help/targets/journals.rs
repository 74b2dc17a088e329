//! Journals beside a job. The first line of an input says which job, and whether the rest is records, which are then put in a
//! chain whose digests are right (`seal`), or the file as it is (`raw`).

use std::collections::BTreeMap;
use std::sync::OnceLock;

use chrono::DateTime;
use wanderlead::job::digest::digest;
use wanderlead::job::text::{options, parse};
use wanderlead::job::{Change, Edit, Issue, Job, Part, Place, Role, SCHEMA, Spot};
use wanderlead::store::Session;

use super::jobs::goes_on;
use super::{files_of, first_line};
use crate::fuzz_help::check;
use crate::fuzz_help::mutate::Mutator;
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::chance::Chance;
use crate::store_help::memory::Memory;
use crate::store_help::visit::{JOB, Manner, file, journal, keep, walk, world};
use crate::store_help::world::World;

pub const TARGET: Target = Target {
    name: "journals",
    corpus,
    mutate,
    run,
    short: 400,
    each: 1,
};

/// The jobs that journals are put beside: one never saved, one saved with what the visit kept, and the complete sample.
fn bases() -> &'static [(Vec<u8>, Vec<u8>)] {
    static BASES: OnceLock<Vec<(Vec<u8>, Vec<u8>)>> = OnceLock::new();
    BASES.get_or_init(|| {
        let memory = Memory::new(world());
        walk(&memory, Manner::default()).1.unwrap();
        let world = memory.0.lock().unwrap().world.clone();
        let read = |path| world.read(path).unwrap_or_default().to_vec();
        let samples = files_of("sample-jobs");
        let clean = samples
            .iter()
            .find(|(n, _)| n == "harbour-row.ron")
            .unwrap();
        vec![
            (JOB.as_bytes().to_vec(), Vec::new()),
            (read(&file()), read(&journal())),
            (clean.1.clone(), Vec::new()),
        ]
    })
}

fn at() -> DateTime<chrono::FixedOffset> {
    DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap()
}

fn record(job: &str, change: &Change) -> String {
    let change = options().to_string(change).unwrap();
    format!("(at:\"2026-09-01T10:00:00+01:00\",job:\"{job}\",change:{change})")
}

fn edit(spot: Spot, now: Option<Part>, to: Option<usize>) -> Change {
    Change::Edit(Box::new(Edit {
        spot,
        now,
        whole: false,
        back: Vec::new(),
        to,
        by: "JE".into(),
        at: at(),
    }))
}

/// Every kind of change, made to the small job in order.
fn changes() -> Vec<Change> {
    let mut job: Job = parse("a.ron", JOB).unwrap();
    // As opening makes it.
    job.schema = SCHEMA;
    let mut out = Vec::new();
    let mut make = |job: &mut Job, change: Change| {
        let inverse = job.apply(&change).unwrap();
        out.push(change);
        if !inverse.is_nothing() {
            // Undo and redo, by who may.
            let who = if matches!(&out[out.len() - 1], Change::Keep { reading, .. } if reading.by == "AP")
            {
                "AP"
            } else {
                "JE"
            };
            let back = inverse.in_the_name_of(who, at());
            let again = job.apply(&back).unwrap().in_the_name_of(who, at());
            out.push(back);
            job.apply(&again).unwrap();
            out.push(again);
        }
    };
    make(&mut job, keep("R/1/r1r2", "0.15", "AP", at()));
    make(&mut job, keep("R/1/zs", "0.42", "JE", at()));
    make(&mut job, keep("R/1/zs", "0.44", "JE", at()));
    let place: Place = "R/1/r1r2".parse().unwrap();
    make(
        &mut job,
        Change::Countersign {
            by: "JE".into(),
            at: at(),
            typed: "0.15".into(),
            taken: at(),
            place,
        },
    );
    make(
        &mut job,
        Change::Together(vec![
            keep("R/1/ir-le", "400", "JE", at()),
            keep("R/2/ir-le", "300", "JE", at()),
        ]),
    );
    // Every part as it stands, edited a little, put in anew, moved and taken away.
    for text in ["R/2", "R/1"] {
        let (board, circuit) = text.split_once('/').unwrap();
        let spot = Spot::Circuit(board.into(), circuit.into());
        let Some((Part::Circuit(mut part), _)) = job.part(&spot) else {
            panic!("no {text}")
        };
        part.name = "another name".into();
        part.readings = Default::default();
        make(
            &mut job,
            edit(spot.clone(), Some(Part::Circuit(part)), None),
        );
        make(&mut job, edit(spot, None, None));
    }
    out
}

pub fn corpus() -> Vec<Vec<u8>> {
    let small: Vec<String> = changes().iter().map(|c| record("T-1", c)).collect();
    let mut out = vec![format!("seal 0\n{}\n", small.join("\n")).into_bytes()];
    // Short ones, so that most cases have one or two.
    for some in small.chunks(2) {
        out.push(format!("seal 0\n{}\n", some.join("\n")).into_bytes());
    }
    let (_, journal) = &bases()[1];
    out.push([b"raw 1\n", journal.as_slice()].concat());
    let text = String::from_utf8(journal.clone()).unwrap();
    let later: Vec<&str> = text
        .lines()
        .skip(1)
        .filter_map(|l| l.splitn(3, ' ').nth(2))
        .collect();
    out.push(format!("seal 1\n{}\n", later.join("\n")).into_bytes());
    // An issue of the complete sample.
    let clean: Job = parse("c.ron", std::str::from_utf8(&bases()[2].0).unwrap()).unwrap();
    let who = clean.usual_person().unwrap().id.clone();
    if let Ok((issue, _)) = wanderlead::paper::issue(&clean, check::forms(), &who, check::now()) {
        let issue: Box<Issue> = Box::new(issue);
        let line = record(&clean.reference, &Change::Issue(issue));
        out.push(format!("seal 2\n{line}\n").into_bytes());
    }
    out
}

fn mutate(mutator: &Mutator, chance: &mut Chance) -> Vec<u8> {
    let base = mutator.base(chance);
    let (head, rest) = first_line(base);
    let which = head.last().copied().unwrap_or(b'0');
    if chance.below(4) == 0 {
        // Damage to the file itself.
        let mut whole = if head.starts_with(b"seal") {
            seal(usize::from(which - b'0'), rest)
        } else {
            rest.to_vec()
        };
        for _ in 0..Mutator::few(chance) {
            Mutator::bytes(&mut whole, chance);
        }
        return [b"raw ", [which].as_slice(), b"\n", &whole].concat();
    }
    [head, b"\n", &mutator.spoil(rest, chance)].concat()
}

/// A journal of these records that goes on after the job.
fn seal(which: usize, records: &[u8]) -> Vec<u8> {
    let job: Job = parse("a.ron", std::str::from_utf8(&bases()[which].0).unwrap()).unwrap();
    let (mut seq, mut before) = (job.kept, job.kept_digest);
    let shown = if before.is_empty() { "-" } else { &before };
    let mut out = format!("wanderlead journal 1 after {seq} {shown}\n").into_bytes();
    for payload in records.split(|b| *b == b'\n') {
        if payload.is_empty() {
            continue;
        }
        seq += 1;
        before = digest(&[
            before.as_bytes(),
            b"\n",
            seq.to_string().as_bytes(),
            b"\n",
            payload,
        ]);
        out.extend(format!("{seq} {before} ").bytes());
        out.extend_from_slice(payload);
        out.push(b'\n');
    }
    out
}

fn run(input: &[u8]) -> Result<Came, String> {
    let (head, rest) = first_line(input);
    let which = match head.last() {
        Some(n @ b'0'..=b'2') => usize::from(n - b'0'),
        _ => return Ok(Came::Refused),
    };
    let bytes = if head.starts_with(b"seal") {
        seal(which, rest)
    } else {
        rest.to_vec()
    };
    let base = &bases()[which].0;
    let mut world = World::with(&file(), base);
    world.put(&journal(), &bytes);
    asked(world.clone(), &bytes)?;
    let memory = Memory::new(world);
    let session = Session::open_on(Box::new(memory.clone()), &file())
        .map_err(|e| format!("a journal keeps a sound job from being opened: {e}"))?;
    for note in session.notes() {
        check::readable(note)?;
    }
    check::used(session.job())?;
    if let Some(why) = session.read_only() {
        check::readable(why)?;
        let why = why.to_string();
        drop(session);
        let world = memory.0.lock().unwrap().world.clone();
        if world.read(&file()) != Some(base) || world.read(&journal()) != Some(&bytes) {
            return Err(format!("it changes files that it only reads: {why}"));
        }
        return Ok(Came::Refused);
    }
    // Whatever isn't in the journal any more is beside it.
    let world = memory.0.lock().unwrap().world.clone();
    let now = world.read(&journal()).unwrap_or_default();
    let cut = bytes.iter().zip(now).take_while(|(a, b)| a == b).count();
    if cut < bytes.len()
        && !world
            .files()
            .any(|(_, b)| !b.is_empty() && bytes.ends_with(b))
    {
        return Err("what was cut off the journal is nowhere".into());
    }
    let before: Job = parse("a.ron", std::str::from_utf8(base).unwrap()).unwrap();
    let came = if session.job().kept > before.kept {
        Came::Taken
    } else {
        Came::Refused
    };
    goes_on(session, &memory)?;
    Ok(came)
}

/// Somebody is asked where there is a choice: until then no file is touched, and after going on nothing is gone.
fn asked(world: World, bytes: &[u8]) -> Result<(), String> {
    let memory = Memory::new(world.clone());
    let mut session = Session::open_on(Box::new(memory.clone()), &file())
        .map_err(|e| format!("a journal keeps a sound job from being asked about: {e}"))?;
    for found in session.found() {
        check::readable(&found.what)?;
    }
    if !session.waits() {
        return Ok(());
    }
    check::used(session.job())?;
    let files = || {
        let now = memory.0.lock().unwrap().world.clone();
        let files = now.files().map(|(p, b)| (p.to_path_buf(), b.to_vec()));
        files.collect::<BTreeMap<_, _>>()
    };
    let before: BTreeMap<_, _> = world
        .files()
        .map(|(p, b)| (p.to_path_buf(), b.to_vec()))
        .collect();
    if files() != before {
        return Err("a session that waits has touched a file".into());
    }
    let people = session.job().people.iter();
    let mut by = people.filter(|p| p.role == Role::Qualified).map(|p| &p.id);
    let Some(by) = by.next().cloned() else {
        return Ok(());
    };
    if session.go_on("nobody at all", check::now()).is_ok() || files() != before {
        return Err("nobody decided, and something was done".into());
    }
    session
        .go_on(&by, check::now())
        .map_err(|e| format!("going on fails: {e}"))?;
    if session.waits() {
        return Err("it waits after somebody decided".into());
    }
    check::used(session.job())?;
    for found in session.found() {
        check::readable(&found.what)?;
    }
    let now = files();
    let kept = now.get(&journal()).map_or(&[][..], Vec::as_slice);
    let same = bytes.iter().zip(kept).take_while(|(a, b)| a == b).count();
    if same < bytes.len() && !now.values().any(|b| !b.is_empty() && bytes.ends_with(b)) {
        return Err("what was in doubt is nowhere after going on".into());
    }
    goes_on(session, &memory)
}
