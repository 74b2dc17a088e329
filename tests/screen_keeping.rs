//! Keys on a real job file: what is kept, what is refused, and that nothing typed or kept is lost.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, Did, HALF_DONE, Screen, answer, later};
use proptest::prelude::*;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers};
use wanderlead::checks::Verdict;
use wanderlead::job::Role;
use wanderlead::screen::View;
use wanderlead::screen::keys::KEYS;

#[test]
fn enter_keeps_on_the_disk_says_so_and_goes_on() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let here = screen.place();
    let state = &screen.sitting.state;
    let value = answer(state, &state.focus().unwrap());
    screen.enter(&value);
    assert_eq!(screen.on_disk(&here), Some(value));
    assert!(
        screen
            .message()
            .starts_with(&format!("kept on disk: {here}")),
        "{}",
        screen.message()
    );
    assert_ne!(screen.place(), here);
}

#[test]
fn a_reading_that_can_not_be_put_on_the_disk_is_not_called_kept() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let here = screen.place();
    let before = screen.sitting.state.job.clone();
    // The journal is taken away while the program runs: nothing written to it would be found again.
    let journal = format!("{}.journal", screen.path.display());
    std::fs::remove_file(&journal).unwrap();
    screen.enter("n/a");
    let state = &screen.sitting.state;
    let value = answer(state, &state.focus().unwrap());
    screen.code(KeyCode::Esc);
    screen.enter(&value);
    assert!(
        screen.message().starts_with("NOT kept"),
        "{}",
        screen.message()
    );
    assert!(screen.sitting.state.message.error);
    assert_eq!(screen.sitting.state.job, before);
    assert_eq!(
        (screen.place(), screen.sitting.state.field.text()),
        (here, value.as_str())
    );
}

#[test]
fn own_words_may_begin_with_a_digit() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.by_qualified();
    screen.go("C/4/r1r2");
    screen.text("l");
    screen.enter("3 phase isolator locked off by the network operator");
    assert_eq!(
        screen.on_disk("C/4/r1r2").as_deref(),
        Some("lim: 3 phase isolator locked off by the network operator")
    );
}

#[test]
fn only_a_qualified_person_answers_for_leaving_out_a_test_that_always_applies() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let people = screen.sitting.state.job.people.clone();
    screen.sitting.state.who = people
        .iter()
        .find(|p| p.role == Role::Apprentice)
        .unwrap()
        .id
        .clone();
    screen.go("C/4/r1r2");
    screen.text("l");
    screen.enter("1");
    assert_eq!(screen.on_disk("C/4/r1r2"), None);
    assert!(
        screen
            .message()
            .contains("a qualified person answers for leaving out"),
        "{}",
        screen.message()
    );
    screen.by_qualified();
    screen.code(KeyCode::Enter);
    screen.code(KeyCode::Enter);
    assert!(
        screen
            .on_disk("C/4/r1r2")
            .is_some_and(|t| t.starts_with("lim: "))
    );
}

/// Polarity of the supply and of d.c., and what the inverters are set to: passed over, they destroy or kill.
#[test]
fn no_reason_stands_in_where_safety_hangs_on_it() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.by_qualified();
    for place in [
        "supply/polarity",
        "P/S1/dc-polarity",
        "grid/set-ov1",
        "grid/profile",
        "grid/loss-of-mains",
        "close/restored",
        "safe/energise",
    ] {
        for key in ['l', 'n'] {
            let before = screen.on_disk(place);
            screen.go(place);
            screen.ctrl(key);
            screen.enter("1");
            assert_eq!(screen.on_disk(place), before, "{place} {key}");
            assert!(
                screen.message().contains("no reason takes its place"),
                "{place}: {}",
                screen.message()
            );
            screen.code(KeyCode::Esc);
        }
    }
}

#[test]
fn own_words_that_are_refused_are_not_lost() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen.text("n"); // R1+R2 applies wherever it is asked for
    screen.enter("the customer was in a hurry");
    assert_eq!(screen.on_disk("C/4/r1r2"), None);
    assert!(
        screen.message().contains("limitation"),
        "{}",
        screen.message()
    );
    let own = screen
        .sitting
        .state
        .choice
        .as_ref()
        .unwrap()
        .own
        .as_ref()
        .unwrap();
    assert_eq!(own.text(), "the customer was in a hurry");
    screen.code(KeyCode::Esc);
    assert!(screen.sitting.state.choice.is_none());
}

#[test]
fn nonsense_is_refused_at_the_field_and_nothing_is_kept() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    let before = screen.job_on_disk();
    screen.enter("1.2.3");
    let shown = screen.picture();
    assert!(
        shown.contains("not kept") && shown.contains("is not a number"),
        "{shown}"
    );
    assert_eq!(screen.job_on_disk(), before);
}

/// What is typed is never dropped by going somewhere else, and never without a word.
#[test]
fn what_is_typed_stays_until_it_is_kept_or_dropped() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen.text("0.2");
    let ways = [
        (KeyCode::Down, KeyModifiers::NONE),
        (KeyCode::Up, KeyModifiers::NONE),
        (KeyCode::F(2), KeyModifiers::NONE),
        (KeyCode::F(3), KeyModifiers::NONE),
        (KeyCode::F(4), KeyModifiers::NONE),
        (KeyCode::Char('o'), KeyModifiers::CONTROL),
        (KeyCode::Char('z'), KeyModifiers::CONTROL),
        (KeyCode::Char('y'), KeyModifiers::CONTROL),
    ];
    for (code, mods) in ways {
        assert!(!screen.press(code, mods));
        let state = &screen.sitting.state;
        assert_eq!(
            (screen.place(), state.field.text(), state.view),
            ("C/4/r1r2".into(), "0.2", View::Walk),
            "{code:?}"
        );
    }
    // Help comes and goes without touching it.
    screen.code(KeyCode::F(1));
    screen.code(KeyCode::Backspace);
    screen.code(KeyCode::Esc);
    assert_eq!(
        (screen.sitting.state.view, screen.sitting.state.field.text()),
        (View::Walk, "0.2")
    );
    // Leaving is refused once, then it is the person's decision.
    assert!(!screen.code(KeyCode::F(10)));
    assert!(screen.message().contains("isn't kept"));
    assert!(screen.code(KeyCode::F(10)));
    screen.code(KeyCode::Esc);
    assert!(screen.sitting.state.field.is_empty());
    assert!(screen.code(KeyCode::F(10)));
}

#[test]
fn undo_and_redo_are_on_the_disk_too() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let before = screen.job_on_disk();
    screen.go("C/4/ir-le");
    screen.enter("250");
    let after = screen.job_on_disk();
    screen.ctrl('z');
    let back = screen.job_on_disk();
    assert_eq!(
        back.taken_back[0].reading.typed, "250",
        "legible all the same"
    );
    let stripped = |job: wanderlead::job::Job| wanderlead::job::Job {
        taken_back: Vec::new(),
        history: Default::default(),
        ..job
    };
    assert_eq!(back.history.len(), 3, "begun, kept, put back");
    assert_eq!(stripped(back), stripped(before));
    let after = stripped(after);
    assert_eq!(
        (screen.place().as_str(), screen.verdict("C/4/ir-le")),
        ("C/4/ir-le", Verdict::Open)
    );
    assert!(screen.message().contains("taken back"));
    screen.ctrl('y');
    assert_eq!(stripped(screen.job_on_disk()), after);
    assert_eq!(screen.verdict("C/4/ir-le"), Verdict::Within);
    screen.ctrl('y');
    assert!(screen.message().contains("nothing to make again"));
    let screen = screen.reopen();
    assert_eq!(stripped(screen.job_on_disk()), after);
    assert_eq!(screen.verdict("C/4/ir-le"), Verdict::Within);
}

#[test]
fn a_write_protected_job_is_shown_and_keeps_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("protected.ron");
    std::fs::copy(common::root().join("sample-jobs").join(HALF_DONE), &path).unwrap();
    let mut mode = std::fs::metadata(&path).unwrap().permissions();
    mode.set_readonly(true);
    std::fs::set_permissions(&path, mode).unwrap();
    let mut screen = Screen::at(folder, path, 80, 24, true);
    assert!(
        screen.message().contains("reading only"),
        "{}",
        screen.message()
    );
    assert!(
        screen
            .picture()
            .lines()
            .next()
            .unwrap()
            .contains("READ ONLY")
    );
    let before = screen.job_on_disk();
    let state = &screen.sitting.state;
    let value = answer(state, &state.focus().unwrap());
    screen.enter(&value);
    assert!(
        screen.message().starts_with("not kept"),
        "{}",
        screen.message()
    );
    assert_eq!(screen.job_on_disk(), before);
}

#[test]
fn nobody_says_that_it_is_safe_before_it_is_not_even_on_the_sheet() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let qualified = screen
        .sitting
        .state
        .job
        .people
        .iter()
        .find(|p| p.role == Role::Qualified)
        .unwrap()
        .id
        .clone();
    screen.sitting.state.who = qualified;
    for from in [View::Walk, View::Sheet] {
        screen.go("safe/energise");
        if from == View::Sheet {
            screen.code(KeyCode::F(3));
            assert_eq!(
                (screen.sitting.state.view, screen.place().as_str()),
                (View::Sheet, "safe/energise")
            );
        }
        screen.enter("y");
        assert_eq!(screen.on_disk("safe/energise"), None);
        assert!(
            screen.message().contains("waits for"),
            "{}",
            screen.message()
        );
        screen.code(KeyCode::Esc);
        screen.text("l");
        screen.enter("1");
        assert_eq!(screen.on_disk("safe/energise"), None);
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::Esc);
    }
}

#[test]
fn text_fields_own_letters_and_digits() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.go("grid/profile");
    screen.text("l n ? 9 >");
    assert_eq!(screen.sitting.state.field.text(), "l n ? 9 >");
    assert!(screen.sitting.state.choice.is_none() && screen.sitting.state.view == View::Walk);
    screen.code(KeyCode::Home);
    screen.text("x");
    screen.code(KeyCode::End);
    screen.code(KeyCode::Left);
    screen.code(KeyCode::Delete);
    assert_eq!(screen.sitting.state.field.text(), "xl n ? 9 ");
}

#[test]
fn an_apprentice_neither_signs_nor_energises() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let people = screen.sitting.state.job.people.clone();
    let apprentice = people
        .iter()
        .position(|p| p.role == Role::Apprentice)
        .unwrap();
    let qualified = people
        .iter()
        .position(|p| p.role == Role::Qualified)
        .unwrap();
    for (place, typed) in [
        ("sign/inspection", people[apprentice].name.clone()),
        ("safe/inverters-off", "y".into()),
    ] {
        screen.go(place);
        screen.code(KeyCode::F(6));
        screen.enter(&(apprentice + 1).to_string());
        assert_eq!(screen.sitting.state.who, people[apprentice].id);
        let before = screen.job_on_disk();
        screen.enter(&typed);
        assert_eq!(screen.job_on_disk(), before);
        assert!(
            screen.message().contains("a qualified person"),
            "{}",
            screen.message()
        );
        screen.code(KeyCode::Esc);
        screen.code(KeyCode::F(6));
        screen.enter(&(qualified + 1).to_string());
        screen.enter(&if typed == "y" {
            typed
        } else {
            people[qualified].name.clone()
        });
        assert!(
            screen.message().starts_with("kept on disk"),
            "{}",
            screen.message()
        );
    }
}

#[test]
fn whoever_entered_last_is_entering_when_the_job_is_opened_again() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let people = screen.sitting.state.job.people.clone();
    for person in &people {
        screen.sitting.state.who.clone_from(&person.id);
        screen.go("C/4/ir-ll");
        screen.enter("250");
        screen = screen.reopen();
        assert_eq!(screen.sitting.state.who, person.id);
    }
}

#[test]
fn the_instrument_chosen_is_the_one_recorded() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen.code(KeyCode::F(7));
    screen.enter("2");
    let chosen = screen
        .sitting
        .state
        .instrument_for("C/4/r1r2".parse::<wanderlead::job::Place>().unwrap().test)
        .unwrap();
    assert_ne!(
        chosen,
        screen
            .sitting
            .state
            .job
            .usual_instrument(wanderlead::job::Test::R1r2)
            .unwrap()
            .id
    );
    screen.enter("0.21");
    let job = screen.job_on_disk();
    assert_eq!(
        job.entry(&"C/4/r1r2".parse().unwrap())
            .unwrap()
            .now
            .instrument,
        Some(chosen)
    );
}

#[test]
fn pasting_types_and_keeps_nothing() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    screen
        .sitting
        .event(&Event::Paste("0.23\n".into()), later());
    assert_eq!(screen.sitting.state.field.text(), "0.23");
    assert_eq!(screen.on_disk("C/4/r1r2"), None);
}

#[test]
fn the_release_of_a_key_types_nothing() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/r1r2");
    let mut release = KeyEvent::new(KeyCode::Char('7'), KeyModifiers::NONE);
    release.kind = KeyEventKind::Release;
    screen.sitting.event(&Event::Key(release), later());
    assert!(screen.sitting.state.field.is_empty());
}

/// A person who knows no key but those on the screen finishes the half-done job: type what is asked for, press Enter;
/// where a qualified person is asked for, choose one.
#[test]
fn the_half_done_job_can_be_finished_from_the_screen_alone() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let mut steps = 0;
    while screen.sitting.state.view == View::Walk {
        let here = screen.sitting.state.focus().unwrap();
        let state = &screen.sitting.state;
        let waits = state.plan.waits_for(state.at, &state.verdicts).is_some();
        let shown = screen.picture();
        assert!(!waits || shown.contains("F6 changes who enters"), "{shown}");
        let (_, did) = common::take_step(&mut screen, &here);
        assert_eq!(waits, matches!(did, Did::Went), "{here}");
        if !matches!(did, Did::Kept(_)) {
            continue;
        }
        let finding = screen
            .sitting
            .state
            .finding(&here)
            .unwrap_or_else(|| panic!("{here}: {}", screen.message()));
        assert_eq!(
            finding.verdict,
            Verdict::Within,
            "{here} {:?}: {}",
            finding.value,
            finding.why
        );
        steps += 1;
        assert!(steps < 200);
    }
    assert!(steps >= 40, "{steps}");
    let state = &screen.sitting.state;
    // What could not be tested weakens the certificate, and nothing else is left.
    let left: Vec<String> = state
        .left()
        .iter()
        .map(|f| format!("{} {}", f.place, f.verdict))
        .collect();
    assert_eq!(left, ["C/3/ir-ll excused"]);
}

/// Every key of the table, and what a person types.
fn presses() -> Vec<(KeyCode, KeyModifiers)> {
    KEYS.iter()
        .flat_map(|k| k.presses.iter().copied())
        .chain(
            "0123456789.,>lnyf?é "
                .chars()
                .map(|c| (KeyCode::Char(c), KeyModifiers::NONE)),
        )
        // Keeping comes often, so that something is there to lose.
        .chain([(KeyCode::Enter, KeyModifiers::NONE); 12])
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// No order of keys panics, and screen and disk never differ.
    #[test]
    fn random_keys(keys in proptest::collection::vec(proptest::sample::select(presses()), 300)) {
        let mut screen = Screen::open(HALF_DONE, 80, 24);
        for (code, mods) in keys {
            screen.press(code, mods);
            screen.buffer();
        }
        let shown = wanderlead::job::Job { kept: 0, kept_digest: String::new(), ..screen.sitting.state.job.clone() };
        prop_assert_eq!(screen.job_on_disk(), shown);
    }
}

/// A line of the journal is damaged in the middle: what it held can't be brought back, and no paper may look complete.
#[test]
fn no_pdf_is_drafted_from_a_record_that_is_not_whole() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    let original = std::fs::read(&screen.path).unwrap();
    screen.go("safe/inverters-off");
    screen.enter("pass");
    for value in ["9000", "9001"] {
        screen.go("M/1/zs");
        screen.enter(value);
        assert!(
            screen.message().starts_with("kept on disk"),
            "{}",
            screen.message()
        );
    }
    let (folder, path) = screen.close();
    std::fs::write(&path, original).unwrap();
    let journal = path.with_extension("ron.journal");
    let text = std::fs::read_to_string(&journal).unwrap();
    std::fs::write(&journal, text.replacen("9000", "9009", 1)).unwrap();

    let mut screen = Screen::at(folder, path.clone(), 80, 24, true);
    assert!(
        screen
            .picture()
            .lines()
            .next()
            .unwrap()
            .contains("RECORD NOT WHOLE"),
        "{}",
        screen.picture()
    );
    screen.code(KeyCode::F(5));
    assert!(
        screen.message().starts_with("no PDF"),
        "{}",
        screen.message()
    );
    assert!(!path.with_extension("pdf").exists());
}

#[test]
fn the_pdf_is_written_beside_the_job() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.code(KeyCode::F(5));
    assert!(
        screen.message().contains("a draft, not signed"),
        "{}",
        screen.message()
    );
    let bytes = std::fs::read(screen.path.with_extension("pdf")).unwrap();
    assert!(bytes.starts_with(b"%PDF-"));
}
