//! Several readings kept as one change: made or refused together, one undo.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{HALF_DONE, later, sample};
use wanderlead::job::{Change, ChangeError, Job, Reading};

fn keep(place: &str, typed: &str) -> Change {
    let place: wanderlead::job::Place = place.parse().unwrap();
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: "mk".into(),
            at: later(),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

fn typed(job: &Job, place: &str) -> Option<String> {
    let entry = job.entry(&place.parse().unwrap())?;
    Some(entry.now.typed.clone())
}

#[test]
fn one_that_is_wrong_refuses_all_and_the_job_stays_as_it_was() {
    let before = sample(HALF_DONE);
    for wrong in [
        keep("C/2/zs", "abc"),
        keep("C/99/zs", "0.5"),
        keep("C/1/zs", "0.7"), // the same place again
        Change::Together(vec![keep("C/2/zs", "0.5")]),
    ] {
        let mut job = before.clone();
        let all = Change::Together(vec![keep("C/1/zs", "0.5"), keep("C/3/zs", "0.6"), wrong]);
        let refused = job.apply(&all).unwrap_err();
        assert!(job == before, "{refused}");
    }
}

#[test]
fn a_person_who_may_not_keep_one_of_them_keeps_none() {
    let mut job = sample(HALF_DONE);
    let before = job.clone();
    let Change::Keep { place, mut reading } = keep("sign/design", "Jory Tamsett") else {
        panic!()
    };
    reading.by = "jt".into();
    let all = Change::Together(vec![keep("C/1/zs", "0.5"), Change::Keep { place, reading }]);
    assert!(matches!(job.apply(&all), Err(ChangeError::NotAllowed(_))));
    assert!(job == before);
}

#[test]
fn its_inverse_takes_all_of_it_back() {
    let mut job = sample(HALF_DONE);
    job.apply(&keep("C/2/zs", "0.9")).unwrap();
    let before = job.clone();
    let all = Change::Together(vec![keep("C/1/zs", "0.5"), keep("C/2/zs", "0.6")]);
    let back = job.apply(&all).unwrap();
    assert_eq!(typed(&job, "C/1/zs").as_deref(), Some("0.5"));
    assert_eq!(all.places().len(), 2);
    assert_eq!(all.what(), "C/1/zs, C/2/zs");
    let again = job.apply(&back).unwrap();
    // The history only grows.
    job.history = before.history.clone();
    assert!(job == before);
    job.apply(&again).unwrap();
    assert_eq!(typed(&job, "C/2/zs").as_deref(), Some("0.6"));
}

/// An apprentice takes back a reading of their own that was countersigned: put back as it was it would want the countersign again.
#[test]
fn what_could_not_be_put_back_by_the_same_person_stays_too() {
    let before = sample(HALF_DONE);
    let seats = before.seats();
    let mut countersigned = seats.iter().flat_map(|seat| {
        let readings = seat.readings.iter();
        let by_both = readings.filter(|(_, e)| e.now.by == "jt" && e.now.countersigned.is_some());
        by_both.map(|(test, _)| seat.place(test))
    });
    let place = countersigned.next().expect("a countersigned reading");
    drop(countersigned);
    let back = Change::Put {
        place: place.clone(),
        entry: None,
        by: "jt".into(),
        at: Some(later()),
    };
    let mut alone = before.clone();
    alone.apply(&back).unwrap();
    assert!(alone.entry(&place).is_none());
    let mut job = before.clone();
    let refused = job.apply(&Change::Together(vec![back, keep("C/2/zs", "abc")]));
    assert!(
        matches!(refused, Err(ChangeError::Unreadable { .. })),
        "{refused:?}"
    );
    assert!(job == before, "{place}");
}
