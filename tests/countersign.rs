//! What an apprentice enters waits for a qualified person: in the model, the journal, the guide, on the screen and on paper.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, later, sample};
use proptest::prelude::*;
use ratatui::crossterm::event::{KeyCode, KeyModifiers};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{Plan, Verdicts, is_complete};
use wanderlead::job::{Change, Countersign, Edit, Job, Part, Person, Place, Reading, Role, Spot};
use wanderlead::screen::View;
use wanderlead::screen::keys::{Action, KEYS};
use wanderlead::store::{Session, read_job};

/// A dead test that the apprentice of the half-done sample took and nobody countersigned.
const WAITING: &str = "C/1/r1r2";

fn forms() -> Forms {
    Forms::embedded().unwrap()
}

fn place(text: &str) -> Place {
    text.parse().unwrap()
}

fn now(job: &Job, at: &str) -> Reading {
    job.entry(&place(at)).expect(at).now.clone()
}

fn sign(job: &Job, at: &str, by: &str) -> Change {
    let reading = now(job, at);
    Change::Countersign {
        place: place(at),
        by: by.into(),
        at: later(),
        typed: reading.typed,
        taken: reading.at,
    }
}

/// The same reading, typed again by somebody.
fn again(job: &Job, at: &str, typed: &str, by: &str) -> Change {
    Change::Keep {
        place: place(at),
        reading: Reading {
            typed: typed.into(),
            by: by.into(),
            at: later(),
            countersigned: None,
            ..now(job, at)
        },
    }
}

fn waits(job: &Job, at: &str) -> bool {
    job.waits_for_countersign(&now(job, at))
}

fn verdicts(job: &Job) -> Verdicts {
    Verdicts::new(&judge_all(job, &forms()))
}

/// The sample with the countersigns of some places taken off.
fn unsigned(name: &str, at: impl Fn(&Place) -> bool) -> Job {
    let mut job = sample(name);
    let seats = job.seats();
    let places: Vec<Place> = seats
        .iter()
        .flat_map(|s| s.readings.iter().map(|(t, _)| s.place(t)))
        .filter(at)
        .collect();
    drop(seats);
    for place in places {
        let mut entry = job.entry(&place).unwrap().clone();
        entry.now.countersigned = None;
        job.apply(&Change::Put {
            place,
            entry: Some(entry),
            by: "mk".into(),
            at: None,
        })
        .unwrap();
    }
    job
}

/// A job without its history, which has what was taken back as well.
fn plain(job: &Job) -> Job {
    Job {
        history: Default::default(),
        ..job.clone()
    }
}

#[test]
fn a_qualified_person_countersigns_what_an_apprentice_entered_and_nothing_else() {
    let mut job = sample(HALF_DONE);
    let before = job.clone();
    assert!(waits(&job, WAITING));
    for (change, why) in [
        (sign(&job, WAITING, "jt"), "a qualified person countersigns"),
        (sign(&job, WAITING, "xx"), "no person `xx`"),
        (sign(&job, "safe/sources", "mk"), "needs no countersign"),
        (
            sign(&job, "safe/proved-dead", "mk"),
            "countersigned already",
        ),
        (
            Change::Countersign {
                place: place("R/1/zs"),
                by: "mk".into(),
                at: later(),
                typed: "1".into(),
                taken: later(),
            },
            "nothing was taken yet",
        ),
    ] {
        let refused = job.apply(&change).unwrap_err().to_string();
        assert!(refused.contains(why), "{refused}");
        assert_eq!(job, before);
    }
    let change = sign(&job, WAITING, "mk");
    let back = job.apply(&change).unwrap();
    assert!(!waits(&job, WAITING));
    assert_eq!(
        now(&job, WAITING).countersigned,
        Some(Countersign {
            by: "mk".into(),
            at: later()
        })
    );
    let forth = job.apply(&back).unwrap();
    assert_eq!(plain(&job), plain(&before));
    job.apply(&forth).unwrap();
    assert!(!waits(&job, WAITING));
}

#[test]
fn a_countersign_is_for_the_reading_that_was_looked_at() {
    let mut job = sample(HALF_DONE);
    let looked_at = sign(&job, WAITING, "mk");
    job.apply(&again(&job, WAITING, "0.20", "jt")).unwrap();
    let refused = job.apply(&looked_at).unwrap_err().to_string();
    assert!(refused.contains("look at it again"), "{refused}");
    // Also where the same figure was typed again.
    let mut job = sample(HALF_DONE);
    let typed = now(&job, WAITING).typed;
    job.apply(&again(&job, WAITING, &typed, "jt")).unwrap();
    assert!(job.apply(&looked_at).is_err());
}

#[test]
fn a_correction_starts_without_and_the_struck_one_keeps_its_own() {
    let mut job = sample(HALF_DONE);
    job.apply(&sign(&job, WAITING, "mk")).unwrap();
    let signed = now(&job, WAITING);
    job.apply(&again(&job, WAITING, "0.20", "jt")).unwrap();
    assert!(waits(&job, WAITING));
    assert_eq!(
        job.entry(&place(WAITING)).unwrap().struck.last(),
        Some(&signed)
    );
    // A reading can't bring its countersign along.
    let mut forged = again(&job, WAITING, "0.21", "jt");
    if let Change::Keep { reading, .. } = &mut forged {
        reading.countersigned = signed.countersigned.clone();
    }
    assert!(job.apply(&forged).is_err());
    // Typed by a qualified person it needs none.
    job.apply(&again(&job, WAITING, "0.21", "mk")).unwrap();
    assert!(!waits(&job, WAITING));
}

#[test]
fn a_forged_countersign_is_not_put_back() {
    let job = sample(HALF_DONE);
    let put = |signer: &str, by: &str| {
        let mut entry = job.entry(&place(WAITING)).unwrap().clone();
        entry.now.countersigned = Some(Countersign {
            by: signer.into(),
            at: later(),
        });
        Change::Put {
            place: place(WAITING),
            entry: Some(entry),
            by: by.into(),
            at: None,
        }
    };
    for (signer, by) in [("jt", "mk"), ("jt", "jt"), ("xx", "mk"), ("mk", "jt")] {
        assert!(
            job.clone().apply(&put(signer, by)).is_err(),
            "{signer} {by}"
        );
    }
    assert!(job.clone().apply(&put("mk", "mk")).is_ok());
    // What was countersigned and then corrected comes back with its countersign, whoever takes the correction back.
    let mut job = job;
    job.apply(&sign(&job, WAITING, "mk")).unwrap();
    let signed = job.clone();
    let back = job.apply(&again(&job, WAITING, "0.20", "jt")).unwrap();
    job.apply(&back.in_the_name_of("jt", later())).unwrap();
    assert_eq!(
        job.taken_back.len(),
        1,
        "what was taken back is still legible"
    );
    job.taken_back.clear();
    assert_eq!(plain(&job), plain(&signed));
}

#[test]
fn a_file_with_a_countersign_of_nobody_fit_is_refused_with_line_and_remedy() {
    let text = common::read(&common::root().join("sample-jobs").join(CLEAN));
    let good = r#"at: "2026-06-18T08:24:22+01:00", countersigned: (by: "mk","#;
    let line = text.lines().position(|l| l.contains(good)).unwrap() + 1;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    for (by, says) in [
        ("jt", "Jory Tamsett is recorded as apprentice"),
        ("zz", "no person `zz` on this job"),
    ] {
        let bad = text.replace(good, &good.replace("mk", by));
        std::fs::write(&path, bad).unwrap();
        let error = read_job(&path).unwrap_err().to_string();
        assert!(error.contains(&format!("a.ron, line {line}, ")), "{error}");
        assert!(error.contains(says), "{error}");
        assert!(
            error.contains("take `countersigned` or `around` out"),
            "{error}"
        );
    }
    // Nobody countersigns what they entered themselves.
    let own = text.replace(
        r#"by: "mk", at: "2026-06-18T08:23:04+01:00")"#,
        r#"by: "mk", at: "2026-06-18T08:23:04+01:00", countersigned: (by: "mk", at: "2026-06-18T08:25:00+01:00"))"#,
    );
    assert_ne!(own, text);
    std::fs::write(&path, own).unwrap();
    let error = read_job(&path).unwrap_err().to_string();
    assert!(error.contains("somebody else countersigns it"), "{error}");
}

/// The journal alone has it; and it is not brought into a file whose reading is another.
#[test]
fn it_comes_back_from_the_journal_and_only_onto_its_own_reading() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::copy(common::root().join("sample-jobs").join(HALF_DONE), &path).unwrap();
    let mut session = Session::open(&path).unwrap();
    let change = sign(session.job(), WAITING, "mk");
    session.keep(&change, later()).unwrap();
    drop(session); // not saved
    let opened = read_job(&path).unwrap();
    assert!(!waits(&opened.job, WAITING) && opened.lost.is_none());

    let text = common::read(&path);
    let old = now(&opened.job, WAITING);
    let at = old.at.to_rfc3339();
    let line = text.lines().find(|l| l.contains(&at)).unwrap();
    let other = line.replace(&format!("typed: \"{}\"", old.typed), "typed: \"9.99\"");
    assert_ne!(line, other);
    std::fs::write(&path, text.replace(line, &other)).unwrap();
    let opened = read_job(&path).unwrap();
    assert!(
        opened.lost.is_some_and(|l| l.contains("look at it again")),
        "the file was changed under the journal"
    );
    assert!(waits(&opened.job, WAITING));
}

#[test]
fn a_stage_is_gone_through_and_countersigned_at_its_end() {
    let job = unsigned(CLEAN, |p| p.to_string() == "M/3/r1r2");
    let plan = Plan::new(&job, &forms());
    // As before it was made live: after that nothing dead goes on.
    let mut now = judge_all(&job, &forms());
    now.iter_mut().for_each(|f| f.stale = false);
    let now = Verdicts::new(&now);
    let waits = |at: &str| {
        plan.waits_for(plan.position(&place(at)).unwrap(), &now)
            .map(|p| p.to_string())
    };
    // The next tests of the place and of the stage.
    for free in [
        "M/3/polarity",
        "M/3/ir-le",
        "M/4/r1r2",
        "M/7/ir-le",
        "inspect/labels",
    ] {
        assert_eq!(waits(free), None, "{free}");
    }
    for held in [
        "supply/ze",
        "safe/energise",
        "M/3/zs",
        "P/S1/voc",
        "safe/connected",
        "close/restored",
        "sign/inspection",
    ] {
        assert_eq!(waits(held).as_deref(), Some("M/3/r1r2"), "{held}");
    }
}

#[test]
fn a_confirmation_of_safety_waits_at_once() {
    let job = unsigned(CLEAN, |p| p.to_string() == "safe/proved-dead");
    let plan = Plan::new(&job, &forms());
    let now = verdicts(&job);
    let after = plan.position(&place("safe/proved-dead")).unwrap() + 1;
    for i in after..plan.steps().len() {
        // Labels are no work on what may be live: they wait for nothing.
        if plan.steps()[i].place.top != "label" {
            assert_eq!(plan.waits_for(i, &now), Some(place("safe/proved-dead")));
        }
    }
}

#[test]
fn it_is_open_work_whatever_the_verdict() {
    let all = |job: &Job| is_complete(&judge_all(job, &forms()));
    assert!(all(&sample(CLEAN)));
    // Of an optional test too.
    for at in ["M/3/r1r2", "safe/proved-dead", "P/S1/voc", "M/2/rcd-half"] {
        let job = unsigned(CLEAN, |p| p.to_string() == at);
        if job.entry(&place(at)).is_none() {
            continue;
        }
        let findings = judge_all(&job, &forms());
        let finding = findings.iter().find(|f| f.place == place(at)).unwrap();
        assert_eq!(finding.verdict, Verdict::Within, "{at}");
        assert!(
            finding.waits_for_countersign && !is_complete(&findings),
            "{at}"
        );
    }
}

#[test]
fn whoever_signs_does_so_after_the_countersigns() {
    let mut job = unsigned(CLEAN, |p| p.to_string() == "M/3/r1r2");
    job.apply(&sign(&job, "M/3/r1r2", "mk")).unwrap();
    let findings = judge_all(&job, &forms());
    let signature = findings.iter().find(|f| f.test == "inspection").unwrap();
    assert_eq!(signature.verdict, Verdict::Query);
    assert!(
        signature.why.contains("a reading was countersigned"),
        "{}",
        signature.why
    );
}

/// Otherwise an apprentice would only have to say so.
#[test]
fn an_apprentice_makes_nobody_qualified() {
    let person = |id: &str, role: Role| Person {
        id: id.into(),
        name: format!("Person {id}"),
        role,
        firm: String::new(),
        address: String::new(),
        registration: String::new(),
        phone: String::new(),
    };
    let edit = |spot: &str, now: Option<Person>, by: &str| {
        Change::Edit(Box::new(Edit {
            spot: Spot::Person(spot.into()),
            now: now.map(|p| Part::Person(Box::new(p))),
            whole: false,
            back: Vec::new(),
            to: None,
            by: by.into(),
            at: later(),
        }))
    };
    let job = sample(HALF_DONE);
    for (spot, now) in [
        ("jt", Some(person("jt", Role::Qualified))),
        ("nn", Some(person("nn", Role::Qualified))),
        ("mk", Some(person("mk", Role::Apprentice))),
        ("mk", None),
    ] {
        let refused = job.clone().apply(&edit(spot, now.clone(), "jt"));
        let refused = refused.unwrap_err().to_string();
        assert!(refused.contains("a qualified person says who"), "{refused}");
    }
    for role in [Role::Apprentice, Role::Qualified] {
        let by = if role == Role::Qualified { "mk" } else { "jt" };
        job.clone()
            .apply(&edit("nn", Some(person("nn", role)), by))
            .unwrap();
    }
}

fn run(args: &[&str], dir: &Path) -> (Option<i32>, String) {
    let output = common::program()
        .current_dir(dir)
        .args(args)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
    )
}

#[test]
fn check_says_who_entered_and_who_countersigned() {
    let dir = tempfile::tempdir().unwrap();
    let text = common::read(&common::root().join("sample-jobs").join(CLEAN));
    std::fs::write(dir.path().join("a.ron"), &text).unwrap();
    assert_eq!(run(&["check", "a.ron"], dir.path()).0, Some(0));
    // One countersign less.
    let sign = r#", countersigned: (by: "mk", at: "2026-06-18T08:24:56+01:00")"#;
    let less = text.replace(sign, "");
    assert_ne!(less, text);
    std::fs::write(dir.path().join("a.ron"), less).unwrap();
    let (code, said) = run(&["check", "a.ron"], dir.path());
    assert_eq!(code, Some(1));
    assert!(
        said.contains("\nto countersign: 1 by Jory Tamsett (apprentice)\n"),
        "{said}"
    );
    let (code, json) = run(&["check", "a.ron", "--json"], dir.path());
    assert_eq!(code, Some(1));
    let object: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(object["waits_for_countersign"], 1);
    let judged = object["judged"].as_array().unwrap();
    let of = |at: &str| judged.iter().find(|f| f["place"] == at).unwrap().clone();
    let dead = of("safe/proved-dead");
    assert_eq!(
        (&dead["by"], &dead["waits_for_countersign"]),
        (&"jt".into(), &true.into())
    );
    assert!(dead["countersigned_by"].is_null());
    let ring = of("M/3/r1r2");
    assert_eq!(
        (
            &ring["by"],
            &ring["countersigned_by"],
            &ring["waits_for_countersign"]
        ),
        (&"jt".into(), &"mk".into(), &false.into())
    );
}

#[test]
fn one_key_countersigns_and_goes_on_to_the_next() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go(WAITING);
    let before = screen.job_on_disk();
    screen.text("c");
    assert!(
        screen.message().contains("a qualified person countersigns")
            && screen.message().contains("F6"),
        "{}",
        screen.message()
    );
    assert_eq!(plain(&screen.job_on_disk()), plain(&before));
    screen.by_qualified();
    screen.go(WAITING);
    let shown = screen.picture();
    assert!(shown.contains("to countersign (c)"), "{shown}");
    screen.text("c");
    assert!(
        screen
            .message()
            .starts_with(&format!("countersigned on disk: {WAITING}"))
    );
    assert!(!waits(&screen.job_on_disk(), WAITING));
    // On to the next that waits, and Ctrl-O passes over those that don't.
    let next = screen.place();
    assert!(waits(&screen.job_on_disk(), &next), "{next}");
    screen.ctrl('o');
    assert_ne!(screen.place(), next);
    assert!(
        waits(&screen.job_on_disk(), &screen.place()),
        "{}",
        screen.place()
    );
    // Undo, redo; redo in the name of an apprentice is refused.
    screen.ctrl('z');
    assert_eq!(plain(&screen.job_on_disk()), plain(&before));
    assert!(
        screen.message().contains("to countersign"),
        "{}",
        screen.message()
    );
    screen.sitting.state.who = "jt".into();
    screen.ctrl('y');
    assert!(
        screen.message().starts_with("NOT done"),
        "{}",
        screen.message()
    );
    assert_eq!(plain(&screen.job_on_disk()), plain(&before));
    screen.by_qualified();
    screen.ctrl('y');
    assert!(!waits(&screen.job_on_disk(), WAITING));
    screen.go(WAITING);
    let shown = screen.picture();
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        shown.contains("by Jory Tamsett, 20 Nov 10:")
            && shown.contains("countersigned by Morwen Kettleby 1 Dec 15:00"),
        "{shown}"
    );
}

#[test]
fn the_sheet_and_the_list_of_what_is_left_countersign_too() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go(WAITING);
    screen.code(KeyCode::F(3));
    assert_eq!(screen.place(), WAITING);
    screen.text("c");
    assert!(!waits(&screen.job_on_disk(), WAITING));
    screen.code(KeyCode::F(4));
    let shown = screen.picture();
    let waiting = || {
        let left = screen.sitting.state.left();
        left.iter().filter(|f| f.waits_for_countersign).count()
    };
    let all = waiting();
    assert!(all >= 30, "{all}");
    assert!(
        shown.contains(&format!("{all} of them to countersign")),
        "{shown}"
    );
    let first = screen
        .sitting
        .state
        .left()
        .iter()
        .position(|f| f.waits_for_countersign)
        .unwrap();
    for _ in 0..first {
        screen.code(KeyCode::Down);
    }
    let shown = screen.picture();
    assert!(shown.contains("= to countersign"), "{shown}");
    for _ in 0..all {
        screen.text("c");
        assert!(
            screen.message().starts_with("countersigned"),
            "{}",
            screen.message()
        );
    }
    assert_eq!(screen.sitting.state.view, View::Left);
    assert!(
        !screen
            .sitting
            .state
            .findings
            .iter()
            .any(|f| f.waits_for_countersign)
    );
    let job = screen.job_on_disk();
    assert!(
        job.seats()
            .iter()
            .flat_map(|s| s.readings.iter())
            .all(|(_, e)| !job.waits_for_countersign(&e.now))
    );
}

/// Letters are text in a field for text: there the list of what is left does it.
#[test]
fn where_letters_are_text_they_stay_text() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    screen.go("grid/profile");
    screen.text("c");
    assert_eq!(screen.sitting.state.field.text(), "c");
}

#[test]
fn at_the_gate_an_apprentice_reads_what_it_waits_for() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    assert_eq!(screen.sitting.state.who, "jt");
    // As at home in the half-done job, until nothing dead is open.
    while screen.sitting.state.waits_for().is_none() {
        let here = screen.sitting.state.focus().unwrap();
        assert!(
            !screen.sitting.state.verdicts.waits_for_countersign(&here),
            "{here}"
        );
        let value = common::answer(&screen.sitting.state, &here);
        screen.enter(&value);
        assert_eq!(screen.sitting.state.view, View::Walk);
    }
    assert_eq!(screen.place(), "supply/polarity");
    let shown = screen
        .picture()
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let count = screen
        .sitting
        .state
        .findings
        .iter()
        // Labels wait as well, and hold nothing up here.
        .filter(|f| f.waits_for_countersign && f.place.top != "label")
        .count();
    assert!(
        shown.contains(&format!(
            "{count} readings by Jory Tamsett wait for a countersign: F6 changes who enters, F4 lists all"
        )),
        "{shown}"
    );
    screen.enter("y");
    assert_eq!(screen.on_disk("supply/polarity"), None);
}

fn paper(job: &Job) -> (bool, String) {
    let drafted = wanderlead::paper::draft(job, &forms(), later()).unwrap();
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("paper.pdf");
    std::fs::write(&path, &drafted.bytes).unwrap();
    let output = std::process::Command::new("pdftotext")
        .arg("-raw")
        .arg(&path)
        .arg("-")
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    (
        drafted.is_draft,
        text.split_whitespace().collect::<Vec<_>>().join(" "),
    )
}

#[test]
fn the_paper_names_both_and_stays_a_draft_until_all_are_countersigned() {
    let (is_draft, text) = paper(&sample(CLEAN));
    assert!(!is_draft);
    assert!(text.contains("Entered and countersigned"), "{text}");
    assert!(text.contains("Morwen Kettleby (qualified): 127"), "{text}");
    assert!(text.contains("jt (a) + mk") && !text.contains("jt (a) + ?"));
    assert!(!text.contains("still to be countersigned"));
    assert!(
        text.contains("countersigned by mk: Morwen Kettleby (qualified)"),
        "{text}"
    );

    let job = unsigned(CLEAN, |p| p.part.as_deref() == Some("3") && p.top == "M");
    let count = judge_all(&job, &forms())
        .iter()
        .filter(|f| f.waits_for_countersign)
        .count();
    assert!(count > 3);
    let (is_draft, text) = paper(&job);
    assert!(is_draft);
    assert!(
        text.contains(&format!(
            "{count} to be countersigned by a qualified person"
        )),
        "{text}"
    );
    assert!(text.contains("To be countersigned by a qualified person"));
    assert!(text.contains("jt (a) + ?"), "{text}");
    assert!(
        text.contains(&format!("{count} still to be countersigned")),
        "{text}"
    );
}

#[test]
fn the_paper_names_both_beside_struck_and_excused_readings() {
    let mut job = sample(HALF_DONE);
    job.apply(&sign(&job, WAITING, "mk")).unwrap();
    job.apply(&again(&job, WAITING, "0.20", "jt")).unwrap();
    let (_, text) = paper(&job);
    let (_, corrections) = text.split_once("Corrections and changes").unwrap();
    assert!(
        corrections.contains("countersigned by Morwen Kettleby (qualified), 1 Dec 2026 15:00"),
        "{corrections}"
    );
    assert!(corrections.contains("not countersigned"));
    let (_, faulty) = paper(&sample(FAULTY));
    let (_, excused) = faulty
        .split_once("Limitations and what does not apply")
        .unwrap();
    assert!(
        excused.contains("(jt (a) + mk)") || excused.contains("(mk (q))"),
        "{excused}"
    );
}

/// Every key of the table but the one that changes who enters, and what is typed.
fn presses() -> Vec<(KeyCode, KeyModifiers)> {
    let keys = KEYS
        .iter()
        .filter(|k| !matches!(k.action, Action::Who | Action::Leave | Action::Draft));
    let table = keys.flat_map(|k| k.presses.iter().copied());
    table
        .chain(
            "y0.51cln"
                .chars()
                .map(|c| (KeyCode::Char(c), KeyModifiers::NONE)),
        )
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// One countersign is missing, everything else is in order and signed: whatever an apprentice presses, it stays a draft.
    #[test]
    fn no_keys_of_an_apprentice_complete_a_record(
        keys in proptest::collection::vec(proptest::sample::select(presses()), 60),
        at in proptest::sample::select(vec!["M/3/r1r2", "close/restored", "grid/set-uv", "safe/proved-dead"]),
    ) {
        let job = unsigned(CLEAN, |p| p.to_string() == at);
        let mut screen = Screen::open(CLEAN, 80, 24);
        let place = place(at);
        let mut entry = job.entry(&place).unwrap().clone();
        if !job.waits_for_countersign(&entry.now) {
            entry.now.by = "jt".into();
        }
        let (folder, path) = screen.close();
        let mut session = Session::open(&path).unwrap();
        session.keep(&Change::Put { place, entry: Some(entry), by: "mk".into(), at: None }, later()).unwrap();
        session.close().unwrap();
        screen = Screen::at(folder, path, 80, 24, true);
        screen.sitting.state.who = "jt".into();
        screen.go(at);
        for (code, mods) in keys {
            screen.press(code, mods);
            let state = &screen.sitting.state;
            // Chosen from the help: somebody else enters from here on.
            if state.who != "jt" {
                break;
            }
            let signed = state.findings.iter().filter(|f| f.place.test.is_signature());
            let stands = signed.clone().count() == 3 && signed.into_iter().all(|f| f.verdict == Verdict::Within);
            prop_assert!(!(stands && is_complete(&state.findings)));
        }
    }
}

/// As if nothing had been taken at these places.
fn not_taken(job: &mut Job, places: Vec<Place>) {
    for place in places {
        let change = Change::Put {
            place,
            entry: None,
            by: "mk".to_string(),
            at: None,
        };
        job.apply(&change).unwrap();
    }
}

/// The walk jumps from the first step to the labels, which wait for nothing: that needs a word.
#[test]
fn an_apprentice_is_told_what_the_rest_waits_for() {
    let mut job = sample(CLEAN);
    let places: Vec<Place> = job
        .seats()
        .iter()
        .flat_map(|s| s.readings.iter().map(|(t, _)| s.place(t)))
        .collect();
    not_taken(&mut job, places);
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.sitting.state.job = job;
    screen.sitting.state.judge();
    screen.sitting.state.who = "jt".into();
    screen.go("safe/sources");
    screen.enter("pass");
    assert!(screen.place().starts_with("label/"), "{}", screen.place());
    let said = screen.message();
    for part in [
        "kept on disk: safe/sources",
        "until a qualified person has countersigned it",
        "label/",
    ] {
        assert!(said.contains(part), "{said}");
    }
}

/// Open labels stand before and between: countersigning, which others wait for, comes first.
#[test]
fn the_key_for_the_next_goes_to_countersigns_before_labels() {
    let job = unsigned(CLEAN, |p| {
        ["M/3/r1r2", "bond/oil/continuity", "M/6/zs"].contains(&p.to_string().as_str())
    });
    let labels: Vec<Place> = job
        .labels
        .keys()
        .map(|n| place(&format!("label/{n}/fitted")))
        .collect();
    let mut job = job;
    not_taken(&mut job, labels);
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.sitting.state.job = job;
    screen.sitting.state.judge();
    screen.by_qualified();
    screen.code(KeyCode::F(4));
    let picture = screen.picture();
    assert!(
        picture.contains("3 of them to countersign (Ctrl-O, then c)"),
        "{picture}"
    );
    for _ in 0..2 {
        screen.ctrl('o');
        let state = &screen.sitting.state;
        let at = state.left()[state.left_line].clone();
        assert!(at.waits_for_countersign, "{}", at.place);
    }
    screen.code(KeyCode::F(2));
    screen.go("label/dual-origin/fitted");
    for _ in 0..3 {
        screen.ctrl('o');
        let here = place(&screen.place());
        assert!(
            screen.sitting.state.verdicts.waits_for_countersign(&here),
            "{here}"
        );
    }
}
