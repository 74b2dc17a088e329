//! The findings that the screen keeps up to date are those of `judge_all`, field by field, after any row of changes: keeps,
//! corrections, excuses, countersigns, several at once, what is taken back and made again, signatures, edits of the record.
//!
//! `WANDERLEAD_LONG=1` makes twenty times as many.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;
mod paper_help;

use chrono::{DateTime, Duration, FixedOffset};
use common::dice::Dice;
use common::{CLEAN, FAULTY, HALF_DONE, sample};
use paper_help::hard;
use wanderlead::checks::{Again, Finding, Standing, judge_all};
use wanderlead::forms::Forms;
use wanderlead::job::{
    Answer, Around, Change, Edit, Entry, Job, Part, Place, Reading, Role, Spot, Test,
};

/// Changes of each job.
const CHANGES: usize = 120;

/// Every place where something is read, the taken ones with their entries.
fn places(job: &Job) -> Vec<(Place, Option<Entry>)> {
    let seats = job.seats();
    let all = seats.iter().flat_map(|seat| {
        let wanted = job.wanted(seat.owner);
        wanted
            .into_iter()
            .map(|(test, _)| (seat.place(test), seat.readings.get(test).cloned()))
            .collect::<Vec<_>>()
    });
    all.collect()
}

/// Something to type there: often what stands elsewhere for the same test, or near it, so that readings come to be alike.
fn typed(job: &Job, test: Test, dice: &mut Dice) -> String {
    let all = places(job);
    let same: Vec<String> = all
        .iter()
        .filter(|(p, _)| p.test == test)
        .filter_map(|(_, entry)| Some(entry.as_ref()?.now.typed.clone()))
        .collect();
    match dice.roll(10) {
        0 => "lim: no access".into(),
        1 => "n/a: there is none".into(),
        2..=5 if !same.is_empty() => dice.of(&same),
        _ => match test.answer() {
            Answer::PassFail => dice.of(&["pass", "pass", "fail"]).into(),
            Answer::Text if test.is_signature() => {
                let names: Vec<String> = job.people.iter().map(|p| p.name.clone()).collect();
                dice.of(&names)
            }
            Answer::Text => dice.of(&["G99 UK", "something"]).into(),
            Answer::List | Answer::SignedList => {
                dice.of(&["1 2 3", "210 215 0 211 209 212"]).into()
            }
            Answer::Count => dice.roll(12).to_string(),
            _ => dice
                .of(&[
                    "0", "0.4", "0.45", "0.62", "1.2", "3.7", "12.5", "19", "21.3", "38", "150",
                    ">999", "<0.1", "364.5", "0.9", "7",
                ])
                .into(),
        },
    }
}

fn reading(job: &Job, place: &Place, at: DateTime<FixedOffset>, dice: &mut Dice) -> Reading {
    let person = dice.of(&job.people);
    let tools: Vec<String> = job.instruments.iter().map(|i| i.id.clone()).collect();
    let around = (person.role == Role::Qualified && dice.roll(12) == 0).then(|| Around {
        reason: "the board goes back on tonight".into(),
        waited_for: place.clone(),
        by: person.id.clone(),
        at,
    });
    Reading {
        typed: typed(job, place.test, dice),
        unit: place.test.unit(),
        by: person.id,
        // Often before something that stands already.
        at: at - Duration::minutes(i64::try_from(dice.roll(4) * dice.roll(400)).unwrap()),
        instrument: (dice.roll(4) > 0 && !tools.is_empty()).then(|| dice.of(&tools)),
        countersigned: None,
        around,
        brought: None,
    }
}

/// A place, most often one near the others that were changed, so that they meet.
fn somewhere(job: &Job, dice: &mut Dice) -> (Place, Option<Entry>) {
    let all = places(job);
    let liked: Vec<_> = all
        .iter()
        .filter(|(p, _)| p.top == job.boards[0].id || p.part.is_none())
        .cloned()
        .collect();
    if dice.roll(3) > 0 {
        dice.of(&liked)
    } else {
        dice.of(&all)
    }
}

fn edit(job: &Job, at: DateTime<FixedOffset>, dice: &mut Dice) -> Change {
    // A long run may have taken all circuits off a board.
    let boards = job.boards.iter().filter(|b| !b.circuits.is_empty());
    let board = dice.of(&boards.cloned().collect::<Vec<_>>());
    let circuit = dice.of(&board.circuits);
    let spot = Spot::Circuit(board.id.clone(), circuit.id.clone());
    let mut now = circuit;
    if let Some(cable) = &mut now.cable {
        cable.length_m = Some(dice.of(&["4", "12", "31"]).parse().unwrap());
    }
    now.name = format!("{} {}", now.name, dice.roll(9));
    let now = (dice.roll(6) > 0).then(|| Part::Circuit(Box::new(now)));
    let qualified = job
        .people
        .iter()
        .find(|p| p.role == Role::Qualified)
        .unwrap();
    Change::Edit(Box::new(Edit {
        spot,
        now,
        whole: false,
        back: Vec::new(),
        to: None,
        by: qualified.id.clone(),
        at,
    }))
}

/// Some change, which the job may refuse.
fn change(job: &Job, undone: &[Change], at: DateTime<FixedOffset>, dice: &mut Dice) -> Change {
    let keep = |dice: &mut Dice| {
        let (place, _) = somewhere(job, dice);
        let reading = reading(job, &place, at, dice);
        Change::Keep { place, reading }
    };
    match dice.roll(20) {
        0..=2 if !undone.is_empty() => {
            let who = dice.of(&job.people).id;
            dice.of(undone).in_the_name_of(&who, at)
        }
        3..=5 => {
            let (place, entry) = somewhere(job, dice);
            let by = dice.of(&job.people).id;
            match entry {
                Some(entry) => Change::Countersign {
                    place,
                    by,
                    at,
                    typed: entry.now.typed,
                    taken: entry.now.at,
                },
                None => keep(dice),
            }
        }
        6 => Change::Together((0..3).map(|_| keep(dice)).collect()),
        7 => {
            let (place, _) = somewhere(job, dice);
            Change::Put {
                place,
                entry: None,
                by: dice.of(&job.people).id,
                at: Some(at),
            }
        }
        8 if dice.roll(3) == 0 && job.boards.iter().any(|b| !b.circuits.is_empty()) => {
            edit(job, at, dice)
        }
        9 => {
            let signatures: Vec<Place> = places(job)
                .into_iter()
                .map(|(p, _)| p)
                .filter(|p| p.test.is_signature() || p.top == "safe")
                .collect();
            let place = dice.of(&signatures);
            let mut reading = reading(job, &place, at, dice);
            if place.test.is_signature()
                && let Some(person) = job.person(&reading.by)
            {
                reading.typed = person.name.clone();
                reading.at = at;
            }
            Change::Keep { place, reading }
        }
        10 if dice.roll(3) == 0 => {
            let by = dice.of(&job.people).id;
            Change::Issue(Box::new(job.next_issue(&by, at, "forms", "0").unwrap()))
        }
        11 if dice.roll(3) == 0 => Change::Settled {
            what: "found on opening".into(),
            how: "gone on by decision".into(),
            by: dice.of(&job.people).id,
            at,
        },
        _ => keep(dice),
    }
}

fn assert_same(kept: &[Finding], job: &Job, forms: &Forms, what: &str) {
    let afresh = judge_all(job, forms);
    for (kept, afresh) in kept.iter().zip(&afresh) {
        assert_eq!(kept, afresh, "{what}");
    }
    assert_eq!(kept.len(), afresh.len(), "{what}");
}

/// How many changes were made, and after how many of them only some were judged again.
fn run(name: &str, mut job: Job, seed: u64) -> (usize, usize) {
    let long = std::env::var_os("WANDERLEAD_LONG").is_some();
    let rounds = if long { CHANGES * 20 } else { CHANGES };
    let forms = &Forms::embedded().unwrap();
    let mut dice = Dice(seed);
    let mut at = DateTime::parse_from_rfc3339("2026-06-19T09:00:00+01:00").unwrap();
    let (mut standing, mut findings) = Standing::of(&mut job, forms);
    assert_same(&findings, &job, forms, name);
    let mut undone: Vec<Change> = Vec::new();
    let (mut made, mut some) = (0, 0);
    for i in 0..rounds {
        at += Duration::minutes(7);
        let change = change(&job, &undone, at, &mut dice);
        let before = findings.clone();
        let was = job.clone();
        let Ok(inverse) = job.apply(&change) else {
            // Refused as a whole, also where the last of several is.
            assert!(job == was, "{name}, change {i} was refused: {change:?}");
            continue;
        };
        undone.push(inverse);
        let unlike = job.unlike_history(usize::MAX);
        assert!(
            unlike.is_empty(),
            "{name}, change {i}: {change:?}: {unlike:?}"
        );
        made += 1;
        if dice.roll(9) == 0 {
            // As where the job comes back from the open file: nothing is marked in that copy.
            job = wanderlead::job::text::parse(
                name,
                &wanderlead::job::text::options().to_string(&job).unwrap(),
            )
            .unwrap();
        }
        let again = standing.again(&mut job, forms, &mut findings, &change);
        assert_same(
            &findings,
            &job,
            forms,
            &format!("{name}, change {i}: {change:?}"),
        );
        if let Again::Some(replaced) = again {
            some += 1;
            // It says which, and what they were.
            let mut old = findings.clone();
            for (at, was) in &replaced {
                old[*at] = was.clone();
            }
            assert!(old == before, "{name}, change {i}");
        }
        if i % 10 == 0 {
            // One place at a time is judged by the same.
            let judge = standing.judge(&job, forms);
            let fresh = wanderlead::checks::Judge::new(&job, forms);
            let (place, _) = somewhere(&job, &mut dice);
            assert_eq!(judge.place(&place), fresh.place(&place));
        }
    }
    (made, some)
}

/// A sample with more boards, each fed from the first, so that there is something ahead of them.
fn boards() -> Job {
    let mut job = sample(FAULTY);
    hard::widen(&mut job, 0, 14);
    let mut pattern = job.boards[0].clone();
    pattern
        .circuits
        .retain(|c| c.id.parse::<usize>().is_ok_and(|n| n > 6));
    for n in 0..3 {
        let mut board = pattern.clone();
        board.id = format!("X{n}");
        board.name = format!("board {n}");
        board.fed_from = format!("{}/{}", job.boards[0].id, job.boards[0].circuits[10 + n].id);
        job.boards.push(board);
    }
    job
}

fn check(name: &str, job: Job, seed: u64) {
    let (made, some) = run(name, job, seed);
    println!("{name}: {made} changes, {some} of them judged in part");
    // Else this says nothing of what it is about.
    assert!(made > CHANGES / 3 && some > made / 2, "{made} {some}");
}

#[test]
fn half_done() {
    check(HALF_DONE, sample(HALF_DONE), 11);
}

#[test]
fn clean() {
    check(CLEAN, sample(CLEAN), 12);
}

#[test]
fn faulty() {
    check(FAULTY, sample(FAULTY), 13);
}

#[test]
fn several_boards() {
    check("several boards", boards(), 14);
}

#[test]
fn starters() {
    for (i, entry) in std::fs::read_dir(common::root().join("forms/starters"))
        .unwrap()
        .enumerate()
    {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let mut job: Job = wanderlead::job::text::parse(&name, &common::read(&path)).unwrap();
        // A starter names nobody yet.
        let from = sample(FAULTY);
        job.people = from.people;
        job.instruments = from.instruments;
        let (made, some) = run(&name, job, 100 + u64::try_from(i).unwrap());
        println!("{name}: {made} changes, {some} of them judged in part");
        assert!(made > 10 && some > made / 2);
    }
}
