//! What a review found: nothing stands for what it didn't cover, and nothing that was kept vanishes.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use chrono::{DateTime, FixedOffset, TimeDelta};
use common::{CLEAN, Screen, later};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Change, Direction, Job, Place, Reading};
use wanderlead::store::Session;

fn place(text: &str) -> Place {
    text.parse().unwrap()
}

fn keep(at: &str, typed: &str, by: &str, when: DateTime<FixedOffset>) -> Change {
    let place = place(at);
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: by.into(),
            at: when,
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
        place,
    }
}

fn clean() -> (tempfile::TempDir, Session) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join(CLEAN);
    std::fs::copy(common::root().join("sample-jobs").join(CLEAN), &path).unwrap();
    let session = Session::open(&path).unwrap();
    (dir, session)
}

fn verdict(job: &Job, at: &str) -> Verdict {
    let findings = judge_all(job, &Forms::embedded().unwrap());
    findings
        .iter()
        .find(|f| f.place == place(at))
        .unwrap()
        .verdict
}

fn waits(job: &Job, at: &str) -> Option<String> {
    let forms = Forms::embedded().unwrap();
    let plan = Plan::new(job, &forms);
    let now = Verdicts::new(&judge_all(job, &forms));
    plan.waits_for(plan.position(&place(at)).unwrap(), &now)
        .map(|p| p.to_string())
}

/// The insulation of a whole board needn't be taken; once it is and fails, nothing is made live over it.
#[test]
fn an_optional_test_that_failed_holds_up_like_any_other() {
    let (_dir, mut session) = clean();
    assert_eq!(waits(session.job(), "safe/energise"), None);
    session
        .keep(&keep("M/ir-le", "0.10", "mk", later()), later())
        .unwrap();
    assert_eq!(
        waits(session.job(), "safe/energise").as_deref(),
        Some("M/ir-le")
    );
    assert_eq!(
        waits(session.job(), "sign/inspection").as_deref(),
        Some("M/ir-le")
    );
}

#[test]
fn what_is_found_unfit_under_power_stops_live_work() {
    let (_dir, session) = clean();
    let mut job = session.job().clone();
    job.apply(&keep("safe/inverters-off", "pass", "mk", later()))
        .unwrap();
    assert_eq!(waits(&job, "M/2/zs"), None);
    job.boards[0].circuits[0].device.as_mut().unwrap().direction = Direction::Unidirectional;
    assert_eq!(waits(&job, "M/2/zs").as_deref(), Some("M/1/both-ways"));
}

#[test]
fn a_reading_that_is_taken_back_stays_legible_and_unsettles_the_signatures() {
    let (_dir, mut session) = clean();
    let at = later();
    session
        .keep(&keep("M/4/ir-le", "0.1", "mk", at), at)
        .unwrap();
    // Not by an apprentice.
    assert!(session.undo("jt", at).is_err());
    session.undo("mk", at).unwrap().unwrap();
    let job = session.job();
    assert_eq!(job.taken_back.len(), 1);
    assert_eq!(job.taken_back[0].reading.typed, "0.1");
    assert_eq!(verdict(job, "sign/inspection"), Verdict::Query);
    let text = wanderlead::paper::draft(job, &Forms::embedded().unwrap(), at).unwrap();
    assert!(text.is_draft);
}

#[test]
fn nobody_brings_back_what_somebody_else_signed() {
    let (_dir, mut session) = clean();
    let at = later();
    session
        .keep(&keep("sign/inspection", "Morwen Kettleby", "mk", at), at)
        .unwrap();
    session.undo("mk", at).unwrap().unwrap();
    assert!(session.redo("jt", at).is_err());
    session.redo("mk", at).unwrap().unwrap();
    // And a signature that came back covers nothing: it is looked at again.
    assert_eq!(verdict(session.job(), "sign/inspection"), Verdict::Query);
}

/// A clock that ran ahead while somebody signed: what is entered later has an earlier time.
#[test]
fn a_signature_covers_what_was_there_and_not_what_its_time_says() {
    let (_dir, mut session) = clean();
    let ahead = later() + TimeDelta::days(400);
    for sign in ["design", "construction", "inspection"] {
        let sign = format!("sign/{sign}");
        session
            .keep(&keep(&sign, "Morwen Kettleby", "mk", ahead), ahead)
            .unwrap();
        assert_eq!(verdict(session.job(), &sign), Verdict::Within);
    }
    session
        .keep(&keep("M/4/zs", "37.1", "mk", later()), later())
        .unwrap();
    assert_eq!(verdict(session.job(), "sign/inspection"), Verdict::Query);
}

/// Another limit file makes another paper: it isn't the issue that was handed out.
#[test]
fn an_issue_is_of_its_form_files() {
    let (_dir, session) = clean();
    let forms = Forms::embedded().unwrap();
    let (issue, _) = wanderlead::paper::issue(session.job(), &forms, "mk", later()).unwrap();
    let mut job = session.job().clone();
    job.apply(&Change::Issue(Box::new(issue))).unwrap();
    assert!(wanderlead::paper::issued(&job, &forms).unwrap().is_some());
    let (name, text) = wanderlead::forms::DEFAULTS[0];
    let other = Forms::from_texts(&[(name.into(), format!("{text}\n// looked at"))]).unwrap();
    assert_ne!(other.digest(), forms.digest());
    assert!(wanderlead::paper::issued(&job, &other).unwrap().is_none());
    let drafted = wanderlead::paper::draft(&job, &other, later()).unwrap();
    assert_eq!(drafted.issue, None);
}

/// An apprentice says of no figures that they are as on site.
#[test]
fn figures_are_compared_by_a_qualified_person() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.sitting.state.who = "jt".into();
    let mut job = screen.sitting.state.job.clone();
    job.boards[0].circuits[1].to_compare = true;
    let spot = wanderlead::job::Spot::Circuit("M".into(), "2".into());
    let (mut part, _) = job.part(&spot).unwrap();
    part.set_to_compare(false);
    let edit = |by: &str| {
        Change::Edit(Box::new(wanderlead::job::Edit {
            spot: spot.clone(),
            now: Some(part.clone()),
            to: None,
            whole: false,
            back: Vec::new(),
            by: by.into(),
            at: later(),
        }))
    };
    assert!(job.clone().apply(&edit("jt")).is_err());
    job.apply(&edit("mk")).unwrap();
}
