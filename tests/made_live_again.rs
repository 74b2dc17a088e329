//! Dead tests once the installation has been made live, live tests once it has been isolated again, and what is found late.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use chrono::{DateTime, FixedOffset, TimeDelta};
use common::{CLEAN, Screen, later, sample};
use ratatui::crossterm::event::KeyCode;
use wanderlead::checks::{Finding, Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::guide::{NoWay, Plan, Verdicts, is_complete};
use wanderlead::job::{Change, DeviceStandard, Direction, Edit, Job, Part, Place, Reading, Spot};
use wanderlead::screen::record::{Row, rows_of};

fn place(text: &str) -> Place {
    text.parse().unwrap()
}

fn keep(job: &mut Job, at: &str, typed: &str, when: DateTime<FixedOffset>) {
    let place = place(at);
    let reading = Reading {
        typed: typed.into(),
        unit: place.test.unit(),
        by: "mk".into(),
        at: when,
        instrument: job.usual_instrument(place.test).map(|i| i.id.clone()),
        countersigned: None,
        around: None,
        brought: None,
    };
    job.apply(&Change::Keep { place, reading }).unwrap();
}

fn edit(job: &mut Job, spot: Spot, now: Part, when: DateTime<FixedOffset>) {
    let whole = job.part(&spot).is_none();
    let edit = Edit {
        spot,
        now: Some(now),
        whole,
        back: Vec::new(),
        to: None,
        by: "mk".into(),
        at: when,
    };
    job.apply(&Change::Edit(Box::new(edit))).unwrap();
}

fn findings(job: &Job) -> Vec<Finding> {
    judge_all(job, &Forms::embedded().unwrap())
}

fn finding(job: &Job, at: &str) -> Finding {
    let at = place(at);
    findings(job).into_iter().find(|f| f.place == at).unwrap()
}

fn verdict(job: &Job, at: &str) -> Verdict {
    finding(job, at).verdict
}

fn waits(job: &Job, at: &str) -> Option<String> {
    let forms = Forms::embedded().unwrap();
    let plan = Plan::new(job, &forms);
    let verdicts = Verdicts::new(&findings(job));
    let step = plan.position(&place(at)).expect(at);
    plan.waits_for(step, &verdicts).map(|p| p.to_string())
}

fn way(job: &Job, at: &str) -> Result<Place, NoWay> {
    let forms = Forms::embedded().unwrap();
    let plan = Plan::new(job, &forms);
    let verdicts = Verdicts::new(&findings(job));
    plan.way_around(plan.position(&place(at)).unwrap(), &verdicts)
}

fn hours(n: i64) -> DateTime<FixedOffset> {
    later() + TimeDelta::hours(n)
}

/// A circuit like M/3, without readings, as on site.
fn add_circuit(job: &mut Job, when: DateTime<FixedOffset>) {
    let (part, _) = job.part(&Spot::Circuit("M".into(), "3".into())).unwrap();
    let mut part = part.without_readings();
    if let Part::Circuit(c) = &mut part {
        c.id = "30".into();
        c.to_compare = false;
    }
    edit(job, Spot::Circuit("M".into(), "30".into()), part, when);
}

/// Low-ohm leads and 500 V on live terminals: what is taken again waits as what wasn't taken.
#[test]
fn a_dead_test_of_a_live_installation_waits_for_a_fresh_proof() {
    let mut job = sample(CLEAN);
    assert!(
        is_complete(&findings(&job)),
        "a finished record stays valid"
    );
    for at in [
        "M/3/ir-le",
        "M/3/r1r2",
        "M/ir-le",
        "bond/oil/continuity",
        "supply/ze",
    ] {
        assert_eq!(waits(&job, at).as_deref(), Some("safe/proved-dead"), "{at}");
        // What was only typed wrong is put right with a reason, and stays in doubt.
        assert_eq!(way(&job, at), Ok(place("safe/proved-dead")), "{at}");
    }
    // A string is isolated by itself, and a loop is read live: both without inverters.
    for at in ["M/3/zs", "P/S1/voc", "P/S1/continuity", "P/S1/ir-pos"] {
        let first = waits(&job, at);
        assert_eq!(first.as_deref(), Some("safe/inverters-off"), "{at}");
    }
    for at in ["safe/proved-dead", "safe/inverters-off", "M/4/functional"] {
        assert_eq!(waits(&job, at), None, "{at}");
    }
    keep(&mut job, "safe/proved-dead", "pass", hours(1));
    assert_eq!(waits(&job, "M/3/ir-le"), None);
    keep(&mut job, "M/3/ir-le", "190", hours(1));
    assert_eq!(verdict(&job, "M/3/ir-le"), Verdict::Within);
}

#[test]
fn a_new_circuit_leads_from_proof_to_proof_and_back_to_live() {
    let mut job = sample(CLEAN);
    add_circuit(&mut job, hours(1));
    let proof = finding(&job, "safe/proved-dead");
    assert_eq!(proof.verdict, Verdict::Open, "{}", proof.why);
    assert!(proof.why.contains("M/30/r1r2"), "{}", proof.why);
    for at in [
        "M/30/r1r2",
        "M/30/zs",
        "M/3/zs",
        "grid/reconnect",
        "sign/design",
    ] {
        assert_eq!(waits(&job, at).as_deref(), Some("safe/proved-dead"), "{at}");
    }
    // Whoever goes to the next open step is led there.
    let forms = Forms::embedded().unwrap();
    let plan = Plan::new(&job, &forms);
    let next = plan.next_open(0, &Verdicts::new(&findings(&job))).unwrap();
    assert_eq!(plan.steps()[next].place, place("safe/proved-dead"));

    keep(&mut job, "safe/proved-dead", "pass", hours(2));
    assert_eq!(waits(&job, "M/30/r1r2"), None);
    for (at, typed) in [
        ("M/30/r1r2", "0.42"),
        ("M/30/polarity", "pass"),
        ("M/30/ir-ll", "310"),
        ("M/30/ir-le", "290"),
    ] {
        keep(&mut job, at, typed, hours(3));
    }
    // Links may be in: nothing live before somebody has said that they are out.
    for at in [
        "M/30/zs",
        "M/3/zs",
        "M/zdb",
        "safe/connected",
        "close/restored",
    ] {
        assert_eq!(waits(&job, at).as_deref(), Some("safe/energise"), "{at}");
        assert!(way(&job, at).is_err(), "{at}");
    }
    let energise = finding(&job, "safe/energise");
    assert_eq!(energise.verdict, Verdict::Open);
    assert!(energise.why.contains("links out"), "{}", energise.why);
    assert_eq!(waits(&job, "safe/energise"), None);
    keep(&mut job, "safe/energise", "pass", hours(4));
    assert_eq!(verdict(&job, "safe/energise"), Verdict::Within);
    // The inverters ran before: they are isolated for the loop, and reconnected after it.
    assert_eq!(
        waits(&job, "M/30/zs").as_deref(),
        Some("safe/inverters-off")
    );
    keep(&mut job, "safe/inverters-off", "pass", hours(5));
    assert_eq!(waits(&job, "M/30/zs"), None);
    for at in ["safe/connected", "close/restored"] {
        assert_eq!(verdict(&job, at), Verdict::Open, "{at}");
    }
}

#[test]
fn isolating_again_takes_the_word_to_energise_back() {
    let mut job = sample(CLEAN);
    keep(&mut job, "safe/locked-off", "pass", hours(1));
    assert_eq!(verdict(&job, "safe/energise"), Verdict::Open);
    assert_eq!(waits(&job, "M/3/zs").as_deref(), Some("safe/energise"));
}

/// Times are kept to the second: what is confirmed at once after another locks nobody out.
#[test]
fn the_same_second_passes_nobody_and_locks_nobody_out() {
    let mut job = sample(CLEAN);
    for at in ["safe/proved-dead", "safe/energise"] {
        keep(&mut job, at, "pass", hours(1));
    }
    assert_eq!(verdict(&job, "safe/energise"), Verdict::Within);
    assert_eq!(verdict(&job, "safe/proved-dead"), Verdict::Within);
    // Fast keys: proved dead and made live within a second.
    assert_eq!(
        waits(&job, "M/3/ir-le").as_deref(),
        Some("safe/proved-dead")
    );
    keep(&mut job, "safe/proved-dead", "pass", hours(2));
    assert_eq!(waits(&job, "M/3/ir-le"), None);
}

/// A clock that was ahead: what is answered anew with the right time counts, whatever was struck out.
#[test]
fn a_clock_that_was_ahead_locks_nobody_out() {
    let mut job = sample(CLEAN);
    keep(&mut job, "safe/proved-dead", "pass", hours(30));
    keep(&mut job, "safe/energise", "pass", hours(1));
    assert_eq!(verdict(&job, "safe/energise"), Verdict::Open);
    keep(&mut job, "safe/proved-dead", "pass", hours(2));
    keep(&mut job, "safe/energise", "pass", hours(3));
    assert_eq!(verdict(&job, "safe/energise"), Verdict::Within);
    keep(&mut job, "safe/energise", "pass", hours(40));
    keep(&mut job, "safe/energise", "pass", hours(4));
    keep(&mut job, "safe/proved-dead", "pass", hours(5));
    assert_eq!(waits(&job, "M/3/ir-le"), None);
}

/// With a string parted nothing may run into it, and a loop that is read again is read without inverters, like the first time.
#[test]
fn what_is_read_without_inverters_waits_for_them_to_be_isolated_again() {
    let mut job = sample(CLEAN);
    keep(&mut job, "safe/inverters-off", "pass", hours(1));
    for at in ["M/3/zs", "P/S1/voc", "P/S1/ir-pos"] {
        assert_eq!(waits(&job, at), None, "{at}");
    }
    keep(&mut job, "safe/connected", "pass", hours(2));
    for at in ["M/3/zs", "P/S1/voc", "P/S1/ir-pos"] {
        let first = waits(&job, at);
        assert_eq!(first.as_deref(), Some("safe/inverters-off"), "{at}");
    }
    // A reading that is outside isn't talked within.
    keep(&mut job, "M/3/zs", "1900", hours(3));
    assert_eq!(verdict(&job, "M/3/zs"), Verdict::Outside);
    assert!(way(&job, "M/3/zs").is_err());
}

/// A slip that is seen late: put right with a reason, by a qualified person, and still in doubt.
#[test]
fn a_slip_is_put_right_without_isolating_and_stays_in_doubt() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::copy(common::root().join("sample-jobs").join(CLEAN), &path).unwrap();
    let run = |args: &[&str]| {
        let keep = ["keep", "a.ron", "M/3/r1r2"];
        let out = common::program()
            .current_dir(&dir)
            .args(keep)
            .args(args)
            .output();
        let out = out.unwrap();
        let said = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
        (said, out.status.code().unwrap())
    };
    let (said, code) = run(&["0.48", "--by", "mk"]);
    assert!(code == 2 && said.contains("goes around it"), "{said}");
    let why = ["--around", "read as 0.48 before power, typed wrong"];
    let (said, code) = run(&[&["0.48", "--by", "jt"], &why[..]].concat());
    assert_eq!(code, 2, "{said}");
    let (said, code) = run(&[&["0.48", "--by", "mk"], &why[..]].concat());
    assert!(code == 0 && said.contains("query"), "{said}");
    assert!(said.contains("typed wrong"), "{said}");
}

/// A false entry of an earlier sitting: taken back by a qualified person, and printed.
#[test]
fn a_false_entry_is_taken_back_at_any_time() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    std::fs::copy(common::root().join("sample-jobs").join(CLEAN), &path).unwrap();
    let run = |args: &[&str]| {
        let out = common::program().current_dir(&dir).args(args).output();
        let out = out.unwrap();
        let said = String::from_utf8([out.stdout, out.stderr].concat()).unwrap();
        (said, out.status.code().unwrap())
    };
    let place = first_label(&path);
    for typed in ["fail", "n/a: no such isolator"] {
        run(&["keep", "a.ron", &place, typed, "--by", "mk"]);
    }
    let (said, _) = run(&["check", "a.ron", "--why", &place]);
    let flat: Vec<&str> = said.split_whitespace().collect();
    assert!(
        flat.join(" ").contains("taken back as a false entry"),
        "{said}"
    );
    let back = ["keep", "a.ron", &place, "--take-back", "--by"];
    let (said, code) = run(&[&back[..], &["jt"]].concat());
    assert!(code == 2 && said.contains("a qualified person"), "{said}");
    let (said, code) = run(&[&back[..], &["mk"]].concat());
    assert!(code == 0 && said.contains("taken back"), "{said}");
    let job = wanderlead::store::read_job(&path).unwrap().job;
    assert!(job.entry(&place.parse().unwrap()).is_none());
    let gone: Vec<_> = job
        .taken_back
        .iter()
        .map(|t| t.reading.typed.as_str())
        .collect();
    assert_eq!(gone, ["pass", "fail", "n/a: no such isolator"]);
    for kept in ["safe/energise", "sign/design"] {
        let (said, code) = run(&["keep", "a.ron", kept, "--take-back", "--by", "mk"]);
        assert!(code == 2 && said.contains("answer it anew"), "{said}");
    }

    // On the screen, in a later sitting.
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    screen.go("M/3/polarity");
    screen.ctrl('x');
    screen.text("2");
    screen.code(KeyCode::Enter);
    assert!(
        screen.message().starts_with("taken back, on disk"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.on_disk("M/3/polarity"), None);
}

/// The first label of a job, as a place.
fn first_label(path: &std::path::Path) -> String {
    let job = wanderlead::store::read_job(path).unwrap().job;
    let all = findings(&job);
    let label = all
        .iter()
        .find(|f| f.place.top == "label" && f.verdict == Verdict::Within);
    label.unwrap().place.to_string()
}

/// 12 typed for 1.2 kA: no device of the board breaks 12 kA.
#[test]
fn a_reading_that_forbids_power_can_be_taken_again() {
    let mut job = sample(CLEAN);
    let good = job.entry(&place("M/pfc")).unwrap().now.typed.clone();
    keep(&mut job, "safe/inverters-off", "pass", hours(1));
    keep(&mut job, "M/pfc", "12", hours(1));
    assert_eq!(verdict(&job, "M/3/breaking-capacity"), Verdict::Outside);
    assert_eq!(waits(&job, "M/pfc"), None);
    // Everything else stays where it is.
    for at in ["M/zdb", "M/3/zs", "M/3/rcd-time"] {
        assert!(
            waits(&job, at).unwrap().ends_with("breaking-capacity"),
            "{at}"
        );
    }
    keep(&mut job, "M/pfc", &good, hours(2));
    assert_eq!(verdict(&job, "M/3/breaking-capacity"), Verdict::Within);
    assert_eq!(waits(&job, "M/3/zs"), None);
}

/// 26.1 A: above 16 A per phase the operator accepts first (EREC G98 and G99).
#[test]
fn what_the_operator_has_to_accept_sends_the_inverters_back_when_found_late() {
    let mut job = sample(CLEAN);
    let (Part::Grid(mut grid), _) = job.part(&Spot::Grid).unwrap() else {
        panic!("no grid");
    };
    grid.accepted = None;
    grid.acceptance = String::new();
    edit(&mut job, Spot::Grid, Part::Grid(grid), hours(1));
    assert_eq!(verdict(&job, "grid/connection"), Verdict::Outside);
    let connected = finding(&job, "safe/connected");
    assert_eq!(connected.verdict, Verdict::Open, "{}", connected.why);
    for at in ["grid/set-uv", "grid/loss-of-mains", "close/restored"] {
        assert_eq!(waits(&job, at).as_deref(), Some("safe/connected"), "{at}");
    }
}

/// A device of another standard after its marks were looked at: nothing that was confirmed of the old one holds.
#[test]
fn another_device_is_looked_at_again() {
    let mut screen = Screen::open(CLEAN, 120, 40);
    screen.by_qualified();
    let spot = Spot::Circuit("M".into(), "1".into());
    let rows = wanderlead::screen::record::rows(&screen.sitting.state.job);
    let row = Row::Part(spot.clone());
    screen.code(KeyCode::F(9));
    screen.sitting.state.record.row = rows.iter().position(|r| *r == row).unwrap();
    screen.code(KeyCode::Enter);
    let (part, _) = screen.sitting.state.job.part(&spot).unwrap();
    let fields = rows_of(&part);
    let field = fields.iter().position(|f| f.heading().trim() == "device");
    screen.sitting.state.record.field = field.unwrap();
    screen.enter("61009");
    let (Part::Circuit(now), _) = screen.sitting.state.job.part(&spot).unwrap() else {
        panic!("no circuit");
    };
    let device = now.device.unwrap();
    assert_eq!(
        device.standard,
        DeviceStandard::BsEn61009,
        "{}",
        screen.message()
    );
    assert_eq!(device.direction, Direction::Unknown);
    assert!(now.to_compare);
    assert!(
        screen.message().contains("compare the circuit again"),
        "{}",
        screen.message()
    );
    let looked = finding(&screen.sitting.state.job, "inspect/flow-direction");
    assert_eq!(looked.verdict, Verdict::Open, "{}", looked.why);
    assert!(looked.why.contains("M/1"), "{}", looked.why);
    let next = waits(&screen.sitting.state.job, "M/1/zs");
    assert_eq!(next.as_deref(), Some("inspect/flow-direction"));
}

/// Said before anything is typed, on the walk and on the sheet, and by keeping from the command line.
#[test]
fn the_screen_says_so_before_anything_is_typed() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    screen.go("M/3/ir-le");
    for _ in 0..2 {
        let picture = screen.picture().replace('\n', " ");
        assert!(picture.contains("made live since"), "{picture}");
        screen.code(KeyCode::F(3));
    }
    screen.code(KeyCode::F(2));
    screen.go("M/3/ir-le");
    screen.enter("180");
    let said = screen.message();
    assert!(
        said.contains("proved-dead") && said.contains("Ctrl-U"),
        "{said}"
    );
    // A qualified person may put right what was typed, and is asked why.
    screen.ctrl('u');
    let asked = screen.picture();
    assert!(
        asked.contains("put M/3/ir-le right, with nothing measured now"),
        "{asked}"
    );
    assert_ne!(screen.on_disk("M/3/ir-le").as_deref(), Some("180"));
}

#[test]
fn the_command_line_says_so_and_takes_no_reason_for_what_was_not_taken() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("a.ron");
    let mut job = sample(CLEAN);
    job.boards[0].circuits[2].readings = Default::default();
    let text = wanderlead::job::text::options().to_string(&job).unwrap();
    std::fs::write(&path, text).unwrap();
    for reason in [&[][..], &["--around", "in a hurry"]] {
        let output = common::program()
            .current_dir(&dir)
            .args(["keep", "a.ron", "M/3/ir-le", "180", "--by", "mk"])
            .args(reason)
            .output()
            .unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{said}");
        for part in ["safe/proved-dead again", "nobody goes around"] {
            assert!(said.contains(part), "{said}");
        }
    }
    let kept = wanderlead::store::read_job(&path).unwrap().job;
    assert!(kept.entry(&place("M/3/ir-le")).is_none());
}
