//! Readings before their turn: only with a reason, only by a qualified person, and never around what safety hangs on.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::path::Path;

use common::{CLEAN, HALF_DONE, Screen, later, sample};
use proptest::prelude::*;
use ratatui::crossterm::event::{KeyCode, KeyModifiers};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{NoWay, Plan, Verdicts};
use wanderlead::job::{Around, Change, Direction, Job, Place, Reading};
use wanderlead::screen::View;
use wanderlead::screen::choice::Topic;
use wanderlead::screen::keys::KEYS;
use wanderlead::store::{Session, read_job};

/// Live, at the origin, main switch off: it waits for the dead tests alone.
const EARLY: &str = "supply/ze";

fn forms() -> Forms {
    Forms::embedded().unwrap()
}

fn place(text: &str) -> Place {
    text.parse().unwrap()
}

fn way(job: &Job, at: &str) -> Result<String, NoWay> {
    let forms = forms();
    let plan = Plan::new(job, &forms);
    let verdicts = Verdicts::new(&judge_all(job, &forms));
    let step = plan.position(&place(at)).expect(at);
    plan.way_around(step, &verdicts).map(|p| p.to_string())
}

/// Takes the reading of a place out again.
fn without(job: &mut Job, at: &str) {
    let change = Change::Put {
        place: place(at),
        entry: None,
        by: "mk".into(),
        at: None,
    };
    job.apply(&change).unwrap();
}

fn retyped(job: &mut Job, at: &str, typed: &str) {
    let reading = Reading {
        typed: typed.into(),
        by: "mk".into(),
        countersigned: None,
        ..job.entry(&place(at)).expect(at).now.clone()
    };
    let place = place(at);
    job.apply(&Change::Keep { place, reading }).unwrap();
}

fn reading(at: &str, typed: &str, around: Option<Around>) -> Change {
    let place = place(at);
    Change::Keep {
        reading: Reading {
            typed: typed.into(),
            unit: place.test.unit(),
            by: "mk".into(),
            at: later(),
            instrument: None,
            countersigned: None,
            around,
            brought: None,
        },
        place,
    }
}

fn why(reason: &str, by: &str) -> Option<Around> {
    Some(Around {
        reason: reason.into(),
        waited_for: place("C/4/ir-le"),
        by: by.into(),
        at: later(),
    })
}

#[test]
fn dead_tests_that_are_open_may_be_gone_around() {
    let job = sample(HALF_DONE);
    let first = way(&job, EARLY).unwrap();
    assert!(
        first.starts_with("C/") || first.starts_with("R/"),
        "{first}"
    );
    let mut job = sample(CLEAN);
    // The inverters run: a slip there may be put right, and nothing measured.
    assert_eq!(way(&job, "P/S1/voc"), Ok("safe/inverters-off".to_string()));
    assert_eq!(way(&job, "M/4/functional"), Err(NoWay::Clear));
    without(&mut job, "M/4/r1r2");
    // It has been made live: first it is proved dead for what is left, and that nobody goes around.
    for held in ["M/4/r1r2", "P/S1/voc", "M/5/zs"] {
        let proof = NoWay::Safety(place("safe/proved-dead"));
        assert_eq!(way(&job, held), Err(proof), "{held}");
    }
}

#[test]
fn nobody_goes_around_what_safety_hangs_on() {
    let clean = sample(CLEAN);
    for (gone, held) in [
        ("safe/proved-dead", "M/3/r1r2"),
        ("safe/proved-dead", "supply/ze"),
        ("safe/energise", "M/3/zs"),
        ("safe/inverters-off", "M/3/zs"),
        ("safe/connected", "grid/loss-of-mains"),
        ("supply/polarity", "grid/profile"),
        ("grid/profile", "grid/set-uv"),
        ("grid/set-uv", "grid/loss-of-mains"),
    ] {
        let mut job = clean.clone();
        without(&mut job, gone);
        assert_eq!(way(&job, held), Err(NoWay::Safety(place(gone))), "{held}");
    }
    // Behind something harmless it is found all the same.
    let mut job = clean.clone();
    without(&mut job, "inspect/labels");
    without(&mut job, "safe/energise");
    assert_eq!(
        way(&job, "M/3/zs"),
        Err(NoWay::Safety(place("safe/energise")))
    );
    // Confirmations and signatures themselves.
    let mut job = clean.clone();
    without(&mut job, "inspect/labels");
    for held in ["safe/energise", "safe/connected", "sign/inspection"] {
        assert_eq!(way(&job, held), Err(NoWay::Itself), "{held}");
    }
    // A countersign that is missing on one is as if it were missing itself.
    let mut job = clean;
    let mut entry = job.entry(&place("safe/proved-dead")).unwrap().clone();
    entry.now.countersigned = None;
    job.apply(&Change::Put {
        place: place("safe/proved-dead"),
        entry: Some(entry),
        by: "mk".into(),
        at: None,
    })
    .unwrap();
    assert_eq!(
        way(&job, "M/3/zs"),
        Err(NoWay::Safety(place("safe/proved-dead")))
    );
}

#[test]
fn nobody_works_live_over_a_failed_dead_test_or_a_device_unfit_for_power() {
    let mut job = sample(CLEAN);
    retyped(&mut job, "M/4/ir-le", "0.2");
    for held in ["supply/pfc-ln", "M/5/zs", "P/S1/voc"] {
        assert_eq!(
            way(&job, held),
            Err(NoWay::Failed(place("M/4/ir-le"))),
            "{held}"
        );
    }
    let mut job = sample(CLEAN);
    without(&mut job, "inspect/labels");
    for device in job
        .boards
        .iter_mut()
        .flat_map(|b| &mut b.circuits)
        .filter_map(|c| c.device.as_mut())
    {
        device.direction = Direction::Unidirectional;
    }
    assert!(matches!(way(&job, "supply/pfc-ln"), Err(NoWay::Unfit(_))));
}

#[test]
fn the_record_takes_a_reason_only_from_those_who_may_give_it() {
    let mut job = sample(HALF_DONE);
    let before = job.clone();
    for (change, says) in [
        (reading(EARLY, "0.21", why("   ", "mk")), "say why"),
        (reading(EARLY, "0.21", why("--", "mk")), "say why"),
        (
            reading(EARLY, "0.21", why("a\u{202e}b", "mk")),
            "can't be printed",
        ),
        (
            reading(EARLY, "0.21", why(&"x".repeat(401), "mk")),
            "too long",
        ),
        (
            reading(EARLY, "0.21", why("sun", "jt")),
            "only a qualified person",
        ),
        (reading(EARLY, "0.21", why("sun", "xx")), "no person `xx`"),
        (
            reading("safe/energise", "pass", why("sun", "mk")),
            "nobody goes around",
        ),
        (
            reading("sign/design", "Morwen Kettleby", why("sun", "mk")),
            "nobody goes around",
        ),
    ] {
        let refused = job.apply(&change).unwrap_err().to_string();
        assert!(refused.contains(says), "{refused}");
        assert_eq!(job, before);
    }
    let back = job
        .apply(&reading(EARLY, "0.21", why("sun now", "mk")))
        .unwrap();
    let kept = job.clone();
    let forth = job.apply(&back).unwrap();
    // The history only grows.
    let apart = |job: &Job| Job {
        history: Default::default(),
        ..job.clone()
    };
    assert_eq!(apart(&job), apart(&before));
    job.apply(&forth).unwrap();
    assert_eq!(apart(&job), apart(&kept));
    // A forged one isn't put back either.
    let mut entry = job.entry(&place(EARLY)).unwrap().clone();
    entry.now.around = why(" ", "mk");
    let put = Change::Put {
        place: place(EARLY),
        entry: Some(entry),
        by: "mk".into(),
        at: None,
    };
    assert!(job.apply(&put).is_err());
}

#[test]
fn a_file_with_a_reason_that_says_nothing_is_refused_with_its_line() {
    let text = common::read(&common::root().join("sample-jobs").join(CLEAN));
    let good = r#"at: "2026-06-18T11:17:26+01:00", instrument: "mft""#;
    let line = text.lines().position(|l| l.contains(good)).unwrap() + 1;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    for (reason, by, says) in [
        ("sun now", "mk", None),
        (" ", "mk", Some("no letter or digit")),
        ("sun now", "jt", Some("only a qualified person")),
        ("sun now", "zz", Some("no person `zz`")),
    ] {
        let around = format!(
            "{good}, around: (reason: \"{reason}\", waited_for: \"M/4/r1r2\", by: \"{by}\", at: \"2026-06-18T11:17:26+01:00\")"
        );
        std::fs::write(&path, text.replace(good, &around)).unwrap();
        match (read_job(&path), says) {
            (Ok(opened), None) => {
                let entry = opened.job.entry(&place("supply/ze")).unwrap().now.clone();
                assert_eq!(entry.around.unwrap().reason, "sun now");
            }
            (Err(e), Some(says)) => {
                let e = e.to_string();
                assert!(
                    e.contains(&format!("line {line},")) && e.contains(says),
                    "{e}"
                );
            }
            other => panic!("{reason} {by}: {other:?}"),
        }
    }
}

#[test]
fn the_verdict_stays_and_its_reason_says_so() {
    let mut job = sample(CLEAN);
    let of = |job: &Job| {
        let all = judge_all(job, &forms());
        all.into_iter()
            .find(|f| f.place == place("M/4/zs"))
            .unwrap()
    };
    let before = of(&job);
    let mut entry = job.entry(&place("M/4/zs")).unwrap().clone();
    entry.now.around = why("looking for the cause of a fault", "mk");
    job.apply(&Change::Put {
        place: place("M/4/zs"),
        entry: Some(entry),
        by: "mk".into(),
        at: None,
    })
    .unwrap();
    let after = of(&job);
    assert_eq!(
        (before.verdict, after.verdict),
        (Verdict::Within, Verdict::Within)
    );
    assert_eq!(
        after.why,
        format!(
            "{}; taken before C/4/ir-le was in order: looking for the cause of a fault",
            before.why
        )
    );
}

/// The reading and its reason are one line of the journal, and come back from it.
#[test]
fn a_step_is_gone_around_with_a_reason() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go(EARLY);
    let first = screen.sitting.state.waits_for().unwrap();
    screen.enter("38.1");
    assert_eq!(screen.on_disk(EARLY), None);
    assert!(screen.message().contains("Ctrl-U"), "{}", screen.message());
    screen.ctrl('u');
    let choice = screen.sitting.state.choice.clone().unwrap();
    assert_eq!(
        (choice.topic, choice.lines.len() >= 5),
        (Topic::Around, true)
    );
    let first = first.split(' ').next().unwrap();
    assert!(choice.question.contains(first), "{}", choice.question);
    screen.enter("the network operator leaves at three");
    assert_eq!(
        screen.on_disk(EARLY).as_deref(),
        Some("38.1"),
        "{}",
        screen.message()
    );
    let opened = read_job(&screen.path).unwrap();
    assert_eq!(opened.job.kept, 1);
    let kept = opened.job.entry(&place(EARLY)).unwrap().now.clone();
    assert_eq!(
        kept.around,
        Some(Around {
            reason: "the network operator leaves at three".into(),
            waited_for: place(first),
            by: "mk".into(),
            at: later(),
        })
    );
    let screen = {
        let mut screen = screen;
        screen.ctrl('z');
        assert_eq!(screen.on_disk(EARLY), None);
        screen.ctrl('y');
        screen.reopen()
    };
    assert_eq!(screen.job_on_disk().entry(&place(EARLY)).unwrap().now, kept);
}

#[test]
fn the_reason_may_come_first_and_counts_for_that_step_alone() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go(EARLY);
    screen.ctrl('u');
    screen.enter("1");
    let shown = screen.picture();
    assert!(shown.contains("around it"), "{shown}");
    // F1 and back doesn't forget it, another step does.
    screen.code(KeyCode::F(1));
    screen.code(KeyCode::Esc);
    assert!(screen.picture().contains("around it"));
    screen.code(KeyCode::Down);
    screen.code(KeyCode::Up);
    assert!(!screen.picture().contains("around it"));
    screen.enter("38.1");
    assert_eq!(screen.on_disk(EARLY), None);
    screen.code(KeyCode::Esc);
    // A limitation goes the same way.
    screen.ctrl('u');
    screen.enter("1");
    screen.text("l");
    screen.enter("1");
    assert_eq!(screen.on_disk(EARLY), None);
    screen.code(KeyCode::Enter);
    assert!(
        screen.on_disk(EARLY).unwrap().starts_with("lim: "),
        "{}",
        screen.message()
    );
}

#[test]
fn an_apprentice_is_told_and_so_is_whoever_may_not_go_around_it() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    assert_eq!(screen.sitting.state.who, "jt");
    for (at, who, says) in [
        (
            EARLY,
            "jt",
            "only a qualified person goes around it, with a reason (F6)",
        ),
        (
            "R/1/zs",
            "mk",
            "safety hangs on safe/energise: nobody goes around it",
        ),
        (
            "safe/energise",
            "mk",
            "nobody goes around what comes before this one",
        ),
        ("C/1/r1r2", "mk", "nothing is in the way"),
    ] {
        screen.sitting.state.who = who.into();
        for sheet in [false, true] {
            screen.go(at);
            if sheet {
                screen.code(KeyCode::F(3));
                assert_eq!(screen.place(), at);
            }
            screen.ctrl('u');
            assert!(screen.sitting.state.choice.is_none(), "{at}");
            assert!(
                screen.message().contains(says),
                "{at}: {}",
                screen.message()
            );
        }
        screen.code(KeyCode::F(2));
    }
    // A reason is nobody else's: another person has to give their own.
    screen.by_qualified();
    screen.go(EARLY);
    screen.ctrl('u');
    screen.enter("1");
    screen.code(KeyCode::F(6));
    screen.enter("2");
    assert_eq!(screen.sitting.state.who, "jt");
    screen.enter("38.1");
    assert_eq!(screen.on_disk(EARLY), None);
}

#[test]
fn the_sheet_asks_once_until_it_is_left() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    // By circuit and not by test, where safety does not mind the order: never asked.
    screen.go("C/4/ir-le");
    screen.code(KeyCode::F(3));
    screen.enter("250");
    assert_eq!(screen.on_disk("C/4/ir-le").as_deref(), Some("250"));
    screen.code(KeyCode::F(2));
    screen.go(EARLY);
    screen.code(KeyCode::F(3));
    assert_eq!(
        (screen.sitting.state.view, screen.place().as_str()),
        (View::Sheet, EARLY)
    );
    screen.enter("38.1");
    let choice = screen.sitting.state.choice.clone().unwrap();
    assert!(
        choice.question.starts_with("entered out of order"),
        "{}",
        choice.question
    );
    assert_eq!(screen.on_disk(EARLY), None);
    // Esc: nothing is kept, and what was typed is still there.
    screen.code(KeyCode::Esc);
    assert_eq!(screen.sitting.state.field.text(), "38.1");
    screen.code(KeyCode::Enter);
    screen.enter("2");
    assert_eq!(
        screen.on_disk(EARLY).as_deref(),
        Some("38.1"),
        "{}",
        screen.message()
    );
    let mut others = ["supply/pfc-ln", "supply/pfc-le"].into_iter();
    let mut next = |screen: &mut Screen| {
        let at = others.next().unwrap();
        let state = &mut screen.sitting.state;
        let here = place(at);
        state.sheet.go_to(&state.job.clone(), &here);
        assert_eq!(screen.place(), at);
        screen.enter("1.05");
        at
    };
    let at = next(&mut screen);
    assert_eq!(screen.on_disk(at).as_deref(), Some("1.05"), "asked once");
    screen.code(KeyCode::F(4));
    screen.code(KeyCode::F(3));
    let at = next(&mut screen);
    assert!(screen.sitting.state.choice.is_some(), "asked again");
    assert_eq!(screen.on_disk(at), None);
}

/// Own words of a limitation are still there where the reason for the order is not given after all.
#[test]
fn own_words_on_the_sheet_are_not_lost() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go(EARLY);
    screen.code(KeyCode::F(3));
    screen.text("l");
    screen.enter("cut-out sealed by the operator");
    assert_eq!(
        screen.sitting.state.choice.as_ref().unwrap().topic,
        Topic::Around
    );
    screen.code(KeyCode::Esc);
    let choice = screen.sitting.state.choice.clone().unwrap();
    assert_eq!(choice.topic, Topic::Limitation);
    assert_eq!(choice.own.unwrap().text(), "cut-out sealed by the operator");
    screen.code(KeyCode::Enter);
    screen.enter("1");
    assert_eq!(
        screen.on_disk(EARLY).as_deref(),
        Some("lim: cut-out sealed by the operator")
    );
}

fn run(args: &[&str], dir: &Path) -> (Option<i32>, String) {
    let output = common::program()
        .current_dir(dir)
        .args(args)
        .output()
        .unwrap();
    let said = [output.stdout, output.stderr].concat();
    (output.status.code(), String::from_utf8(said).unwrap())
}

#[test]
fn the_command_line_goes_by_the_same_rules() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::copy(common::root().join("sample-jobs").join(HALF_DONE), &path).unwrap();
    let keep = |args: &[&str]| run(&[&["keep", "a.ron"], args].concat(), dir.path());
    for (args, says) in [
        (
            &[EARLY, "38.1", "--by", "mk"][..],
            "goes around it with --around REASON",
        ),
        (&[EARLY, "38.1", "--by", "mk", "--around", " "], "say why"),
        (
            &[EARLY, "38.1", "--by", "jt", "--around", "sun"],
            "only a qualified person",
        ),
        (
            &["R/1/zs", "0.5", "--by", "mk", "--around", "sun"],
            "nobody goes around it",
        ),
        (
            &["safe/energise", "y", "--by", "mk", "--around", "sun"],
            "nobody goes around",
        ),
        (
            &["C/4/ir-le", "250", "--by", "mk", "--around", "sun"],
            "leave --around out",
        ),
    ] {
        let (code, said) = keep(args);
        assert_eq!(code, Some(2), "{said}");
        assert!(said.contains(says), "{args:?}: {said}");
    }
    assert_eq!(read_job(&path).unwrap().job.kept, 0);
    let (code, said) = keep(&[EARLY, "38.1", "--by", "mk", "--around", "operator on site"]);
    assert!(
        said.contains("was in order: operator on site"),
        "{code:?} {said}"
    );
    let job = read_job(&path).unwrap().job;
    assert_eq!(
        job.entry(&place(EARLY))
            .unwrap()
            .now
            .around
            .as_ref()
            .unwrap()
            .reason,
        "operator on site"
    );
}

#[test]
fn the_paper_lists_what_was_taken_out_of_order() {
    let text = |job: &Job| {
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
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let mut job = sample(HALF_DONE);
    assert!(text(&job).contains("Taken out of order None: no reading that stands"));
    job.apply(&reading(
        EARLY,
        "38.1",
        why("the operator leaves at three", "mk"),
    ))
    .unwrap();
    let said = text(&job);
    let (_, list) = said.split_once("Taken out of order ").unwrap();
    for part in [
        "supply/ze",
        "C/4/ir-le",
        "the operator leaves at three",
        "Morwen Kettleby (qualified)",
        "1 Dec 2026 15:00",
    ] {
        let at = list.find(part).unwrap_or_else(|| panic!("{part}: {list}"));
        assert!(at < 400, "{part}");
    }
    // Corrected, it stays legible in the history.
    let mut again = reading(EARLY, "38.4", None);
    if let Change::Keep { reading, .. } = &mut again {
        reading.around = None;
    }
    job.apply(&again).unwrap();
    let said = text(&job);
    let (_, history) = said.split_once("Corrections and changes").unwrap();
    assert!(history.contains("out of order, before C/4/ir-le: the operator leaves at three"));
}

fn presses() -> Vec<(KeyCode, KeyModifiers)> {
    let table = KEYS.iter().flat_map(|k| k.presses.iter().copied());
    table
        .chain(
            "y0.51uc "
                .chars()
                .map(|c| (KeyCode::Char(c), KeyModifiers::NONE)),
        )
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is pressed: a reading before its turn has its reason, and nothing stands over a confirmation that is missing.
    #[test]
    fn nothing_out_of_turn_is_kept_without_a_reason(
        keys in proptest::collection::vec(proptest::sample::select(presses()), 80),
    ) {
        let mut screen = Screen::open(HALF_DONE, 80, 24);
        screen.by_qualified();
        screen.go(EARLY);
        for (code, mods) in keys {
            let state = &screen.sitting.state;
            let (job, verdicts) = (state.job.clone(), state.verdicts.clone());
            let plan = state.plan.clone();
            if screen.press(code, mods) {
                break;
            }
            let state = &screen.sitting.state;
            if state.plan != plan || state.message.text.starts_with("made again") || state.message.text.starts_with("taken back") {
                continue;
            }
            for seat in state.job.seats() {
                for (test, entry) in seat.readings.iter() {
                    let at = seat.place(test);
                    if job.entry(&at).is_some_and(|e| e.now.at == entry.now.at && e.now.typed == entry.now.typed) {
                        continue;
                    }
                    let i = plan.position(&at).unwrap();
                    let waited = plan.waits_for(i, &verdicts);
                    let around = entry.now.around.as_ref();
                    prop_assert_eq!(around.map(|a| &a.waited_for), waited.as_ref());
                    if around.is_some() {
                        prop_assert!(plan.way_around(i, &verdicts).is_ok());
                    }
                }
            }
        }
    }
}

/// A session keeps what the guide would not: it knows nothing of the order. That is for who asks it.
#[test]
fn old_files_have_neither_field() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::write(&path, include_str!("store_fixture.ron")).unwrap();
    let mut session = Session::open(&path).unwrap();
    let change = Change::Keep {
        place: place("R/1/zs"),
        reading: Reading {
            by: "JE".into(),
            ..match reading("R/1/zs", "0.8", None) {
                Change::Keep { reading, .. } => reading,
                _ => unreachable!(),
            }
        },
    };
    session.keep(&change, later()).unwrap();
    session.close().unwrap();
    let text = common::read(&path);
    assert!(text.contains("0.8") && !text.contains("around") && !text.contains("countersigned"));
}
