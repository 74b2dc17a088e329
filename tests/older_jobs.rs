//! A job of a former version of the program keeps its content and what hangs on it: fields that came later are left out while
//! they are empty.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::path::Path;

use wanderlead::job::{Issue, Job};
use wanderlead::store;

/// As the sample job of that name was saved before the record had firmware, type tests, documents and the like.
const OLDER: &str = "tests/data/older-job.ron";
/// What `verify` of the version of the program that saved it said of its content.
const CONTENT: &str = "35877af1d45c7369a224a00fa7bbbcf6";

fn older() -> Job {
    let opened = store::read_job(Path::new(OLDER)).unwrap();
    assert!(opened.lost.is_none());
    opened.job
}

#[test]
fn an_older_job_keeps_its_content() {
    let job = older();
    assert_eq!(job.content_digest().unwrap(), CONTENT);
    let mut with = job.clone();
    with.inverters[0].firmware = "4.11".into();
    assert_ne!(with.content_digest().unwrap(), CONTENT);
}

#[test]
fn of_an_older_issue_is_said_what_can_be_told_and_what_not() {
    let mut job = older();
    let at = "2026-06-18T15:30:00+01:00".parse().unwrap();
    let first = job.next_issue("mk", at, "f", "p").unwrap();
    // A former version of the program kept no record with its issues.
    let first = Issue {
        record: Default::default(),
        ..first
    };
    job.issues.push(first.clone());
    assert!(job.changed_since(&first).is_empty());
    job.inverters[0].firmware = "4.11".into();
    let said = job.changed_since(&first);
    assert_eq!(said.len(), 1);
    assert!(said[0].contains("can't be told"), "{said:?}");
    // The next issue keeps all of it, and from then on it can.
    let second = job.next_issue("mk", at, "f", "p").unwrap();
    job.issues.push(second.clone());
    job.inverters[0].firmware = "4.12".into();
    assert_eq!(
        job.changed_since(&second),
        ["inverter inv1: firmware 4.11 -> 4.12"]
    );
    assert!(job.changed_since(&first)[0].contains("can't be told"));
}
