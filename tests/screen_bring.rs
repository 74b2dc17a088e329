//! Readings from a file on the screen: shown before any is kept, nothing struck out unmarked, one change with one undo.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{HALF_DONE, Screen};
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use wanderlead::checks::Verdict;
use wanderlead::screen::View;

const FILE: &str = "orchard-cottage-readings.csv";

/// The half-done sample with the sample file and its mapping beside it.
fn beside(columns: u16, lines: u16) -> Screen {
    let screen = Screen::open(HALF_DONE, columns, lines);
    common::put_readings(&screen);
    screen
}

fn opened() -> Screen {
    let mut s = beside(80, 24);
    s.go("C/4/r1r2");
    s.text("i");
    s.code(KeyCode::Enter);
    s.code(KeyCode::Enter);
    assert_eq!(s.sitting.state.view, View::Bring, "{}", s.message());
    s
}

/// Presses something else.
type Press = fn(&mut Screen);

/// Enter asks, Enter again keeps.
fn keep(s: &mut Screen) {
    s.code(KeyCode::Enter);
    assert!(
        s.message().starts_with("Enter again keeps"),
        "{}",
        s.message()
    );
    s.code(KeyCode::Enter);
}

/// Goes to the row of that line of the file.
fn to_line(s: &mut Screen, line: u64) {
    let rows = &s.sitting.state.bring.preview.as_ref().unwrap().rows;
    let at = rows.iter().position(|r| r.taken.line == line).unwrap();
    s.sitting.state.bring.row = at;
}

/// The cells of the sample file by the place they are for, reckoned by hand: mΩ / 1000, GΩ × 1000 (SI Brochure, Table 7).
const PLAIN: [(&str, &str); 4] = [
    ("C/3/ir-le", "299"),
    ("C/4/r1r2", "0.224"),
    ("C/4/polarity", "pass"),
    ("C/4/ir-ll", ">999"),
];

/// A name as long as a file system takes still leaves the question room, and shows its end.
#[test]
fn a_long_name_is_cut_in_its_middle_on_the_screen_and_kept_whole() {
    let mut s = beside(80, 24);
    let name = format!("orchard-cottage-{}-tuesday.csv", "again-".repeat(34));
    std::fs::rename(s.path.with_file_name(FILE), s.path.with_file_name(&name)).unwrap();
    s.go("C/4/r1r2");
    s.text("i");
    s.code(KeyCode::Enter);
    s.code(KeyCode::Enter);
    let short = "orchard-cottage-agai…-again--tuesday.csv";
    let picture = s.picture();
    assert!(
        picture.contains(&format!("Readings from {short} ")),
        "{picture}"
    );
    s.code(KeyCode::Enter);
    let whole = format!(
        "from {short} in the name of Jory Tamsett (apprentice), who answers for them; any other key keeps none"
    );
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words(&s.picture()).contains(&whole), "{}", s.picture());
    s.code(KeyCode::Enter);
    assert!(s.message().starts_with("kept on disk"), "{}", s.message());
    let after = s.job_on_disk();
    let entry = after.entry(&"C/4/r1r2".parse().unwrap()).unwrap();
    assert_eq!(entry.now.brought.as_ref().unwrap().file, name);
}

#[test]
fn what_nothing_speaks_against_is_kept_as_one_change_with_one_undo() {
    let mut s = opened();
    let before = s.job_on_disk();
    keep(&mut s);
    assert!(
        s.message()
            .starts_with("kept on disk, 4 readings from orchard-cottage-readings.csv: C/3/ir-le 299, C/4/r1r2 0.224,"),
        "{}",
        s.message()
    );
    for (place, typed) in PLAIN {
        assert_eq!(s.on_disk(place).as_deref(), Some(typed), "{place}");
    }
    // What stood there, stands there; what can't be kept, isn't.
    assert_eq!(s.on_disk("C/1/r1").as_deref(), Some("0.38"));
    assert_eq!(s.on_disk("C/4/ir-le"), None);
    assert_eq!(s.on_disk("R/1/zs"), None);
    let after = s.job_on_disk();
    let entry = after.entry(&"C/4/r1r2".parse().unwrap()).unwrap();
    let brought = entry.now.brought.as_ref().unwrap();
    assert_eq!(
        (brought.file.as_str(), brought.line, brought.cell.as_str()),
        (FILE, 7, "224 mΩ")
    );
    assert_eq!(entry.now.instrument.as_deref(), Some("mft"));
    // The time of the order checks is that of bringing in; the instrument's own is told beside it.
    assert_eq!(entry.now.at, common::later());
    assert_eq!(
        brought.noted.unwrap().to_rfc3339(),
        "2026-11-20T10:44:00+00:00"
    );
    s.ctrl('z');
    let undone = s.job_on_disk();
    for (place, _) in PLAIN {
        assert_eq!(s.on_disk(place), None, "{place}");
    }
    // Taken back, and not lost.
    assert_eq!(undone.taken_back.len(), PLAIN.len());
    assert_eq!(
        (undone.boards, undone.labels),
        (before.boards, before.labels)
    );
    s.ctrl('y');
    assert_eq!(s.on_disk("C/4/r1r2").as_deref(), Some("0.224"));
}

#[test]
fn a_conflict_strikes_out_only_where_somebody_marks_it() {
    let mut s = opened();
    to_line(&mut s, 3);
    let shown = s.picture();
    assert!(shown.contains("strikes out 0.38"), "{shown}");
    s.text(" ");
    keep(&mut s);
    let job = s.job_on_disk();
    let entry = job.entry(&"C/1/r1".parse().unwrap()).unwrap();
    assert_eq!(entry.now.typed, "0.412");
    let struck: Vec<&str> = entry.struck.iter().map(|r| r.typed.as_str()).collect();
    assert_eq!(struck, ["0.38"]);
}

#[test]
fn of_two_values_for_a_place_one_is_chosen() {
    let mut s = opened();
    to_line(&mut s, 10);
    s.text(" ");
    to_line(&mut s, 11);
    s.text(" ");
    keep(&mut s);
    assert_eq!(s.on_disk("C/4/ir-le").as_deref(), Some("642"));
    let job = s.job_on_disk();
    let entry = job.entry(&"C/4/ir-le".parse().unwrap()).unwrap();
    assert!(entry.struck.is_empty());
}

#[test]
fn what_waits_there_already_or_cannot_be_read_takes_no_mark() {
    let mut s = opened();
    for (line, why) in [
        (4, "there already"),
        (13, "no `C/7`"),
        (14, "waits for C/3/ir-le"),
        (15, "decimal sign"),
    ] {
        to_line(&mut s, line);
        s.text(" ");
        let said = s.message();
        assert!(
            said.starts_with("not marked") && said.contains(why),
            "{line}: {said}"
        );
    }
    s.text("**");
    s.code(KeyCode::Esc);
    assert_eq!(s.sitting.state.view, View::Walk);
    assert_eq!(s.on_disk("C/4/r1r2"), None);
}

#[test]
fn what_an_apprentice_brings_in_waits_for_a_countersign() {
    let mut s = opened();
    assert!(
        s.message().contains("waits for a countersign"),
        "{}",
        s.message()
    );
    keep(&mut s);
    assert!(s.message().contains("to countersign"), "{}", s.message());
    let state = &s.sitting.state;
    let place = "C/4/r1r2".parse().unwrap();
    assert!(state.verdicts.waits_for_countersign(&place));
    assert_eq!(state.verdicts.of(&place), Verdict::Within);
    // Somebody qualified brings in the same file: the readings are there already, and stay the apprentice's.
    let mut s = opened();
    s.code(KeyCode::F(6));
    s.enter("1");
    let by = s.sitting.state.bring.preview.as_ref().unwrap();
    assert!(!by.to_countersign, "{}", s.message());
    keep(&mut s);
    assert_eq!(s.on_disk("C/4/r1r2").as_deref(), Some("0.224"));
    assert!(!s.sitting.state.verdicts.waits_for_countersign(&place));
}

/// Nobody keeps what nobody has seen: the first Enter says how many and in whose name, and anything else asks anew.
#[test]
fn enter_asks_before_it_keeps_and_any_other_key_takes_the_question_back() {
    let others: [(&str, Press); 8] = [
        ("down", |s| {
            s.code(KeyCode::Down);
        }),
        ("another mark", |s| {
            to_line(s, 7);
            s.text(" ");
            to_line(s, 7);
            s.text(" ");
        }),
        ("all, none, all", |s| s.text("**")),
        ("another person", |s| {
            s.code(KeyCode::F(6));
            s.enter("1");
        }),
        ("another view", |s| {
            s.code(KeyCode::F(8));
            s.code(KeyCode::Esc);
        }),
        ("help", |s| {
            s.text("?");
            s.code(KeyCode::Esc);
        }),
        ("a key that does nothing", |s| s.text("x")),
        ("the file again", |s| {
            s.code(KeyCode::Esc);
            s.text("i");
            s.code(KeyCode::Enter);
            s.code(KeyCode::Enter);
        }),
    ];
    for (what, other) in others {
        let mut s = opened();
        s.code(KeyCode::Enter);
        assert_eq!(
            s.message(),
            "Enter again keeps 4 readings from orchard-cottage-readings.csv in the name of Jory Tamsett (apprentice), who answers \
             for them; any other key keeps none"
        );
        other(&mut s);
        assert!(!s.message().contains("Enter again"), "{what}");
        assert_eq!(s.sitting.state.view, View::Bring, "{what}");
        s.code(KeyCode::Enter);
        assert!(
            s.message().starts_with("Enter again keeps 4 readings"),
            "{what}: {}",
            s.message()
        );
        assert_eq!(s.job_on_disk().kept, 0, "{what}");
        s.code(KeyCode::Enter);
        assert!(s.message().starts_with("kept on disk, 4"), "{what}");
        assert_eq!(s.on_disk("C/4/r1r2").as_deref(), Some("0.224"), "{what}");
    }
}

/// What the apprentice opened isn't kept in the name of somebody else without saying so.
#[test]
fn after_a_change_of_person_the_question_names_who_answers() {
    let mut s = opened();
    s.code(KeyCode::Enter);
    s.code(KeyCode::F(6));
    s.enter("1");
    s.code(KeyCode::Enter);
    let said = s.message();
    assert!(
        said.contains("in the name of Morwen Kettleby (qualified), who answers for them"),
        "{said}"
    );
    assert_eq!(s.job_on_disk().kept, 0);
    s.code(KeyCode::Enter);
    let job = s.job_on_disk();
    let entry = job.entry(&"C/4/r1r2".parse().unwrap()).unwrap();
    assert_eq!(entry.now.by, "mk");
}

/// Keys that were typed ahead, before the question was drawn, keep nothing however many they are.
#[test]
fn enters_in_one_burst_keep_nothing() {
    let mut s = beside(80, 24);
    s.go("C/4/r1r2");
    let mut press = |code: KeyCode| {
        let key = KeyEvent::new(code, KeyModifiers::NONE);
        s.sitting.event(&Event::Key(key), common::later());
        s.sitting.work();
    };
    press(KeyCode::Char('i'));
    for _ in 0..9 {
        press(KeyCode::Enter);
    }
    assert_eq!(s.sitting.state.view, View::Bring);
    assert_eq!(s.job_on_disk().kept, 0);
    assert_eq!(s.on_disk("C/4/r1r2"), None);
    s.code(KeyCode::Enter);
    assert!(
        s.message().starts_with("kept on disk, 4"),
        "{}",
        s.message()
    );
}

#[test]
fn marks_none_and_a_file_that_is_not_there_say_so() {
    let mut s = opened();
    s.text("*");
    s.code(KeyCode::Enter);
    assert!(s.message().contains("nothing is marked"), "{}", s.message());
    let mut s = beside(80, 24);
    s.press(KeyCode::Char('i'), KeyModifiers::ALT);
    s.enter("no-such.csv");
    s.code(KeyCode::Enter);
    assert!(
        s.message().contains("no-such.csv: there is no such file"),
        "{}",
        s.message()
    );
    assert_eq!(s.sitting.state.view, View::Walk);
    // A job by mistake for a mapping: unknown fields with their line.
    s.press(KeyCode::Char('i'), KeyModifiers::ALT);
    s.code(KeyCode::Enter);
    s.enter(HALF_DONE);
    assert!(
        s.message()
            .contains("nothing brought in: orchard-cottage.ron, line"),
        "{}",
        s.message()
    );
}

/// Undo of something else while the file is open: it is laid over the job as it is then.
#[test]
fn the_file_is_laid_over_the_job_as_it_is() {
    let mut s = beside(80, 24);
    s.go("C/4/r1r2");
    s.enter("0.224");
    s.press(KeyCode::Char('i'), KeyModifiers::ALT);
    s.code(KeyCode::Enter);
    s.code(KeyCode::Enter);
    let words = |s: &Screen| {
        let rows = &s.sitting.state.bring.preview.as_ref().unwrap().rows;
        rows.iter().find(|r| r.taken.line == 7).unwrap().words()
    };
    assert_eq!(words(&s), "there already");
    s.ctrl('z');
    assert_eq!(words(&s), "new");
}

#[test]
fn the_walk_and_the_paper_tell_the_file() {
    let mut s = opened();
    keep(&mut s);
    s.code(KeyCode::Esc);
    s.go("C/4/r1r2");
    let shown = s.picture();
    assert!(
        shown.contains("from orchard-cottage-readings.csv line 7: 224 mΩ"),
        "{shown}"
    );
}

#[test]
fn the_page_of_reasons_is_about_the_selected_reading() {
    let mut s = opened();
    to_line(&mut s, 6);
    s.code(KeyCode::F(8));
    let shown = s.picture();
    assert!(
        shown.contains("299 MΩ") && shown.contains("of the file, not kept yet"),
        "{shown}"
    );
    s.code(KeyCode::Esc);
    assert_eq!(s.sitting.state.view, View::Bring);
    s.code(KeyCode::F(11));
    assert_eq!(s.sitting.state.view, View::Learn);
    s.code(KeyCode::F(11));
    assert_eq!(s.sitting.state.view, View::Bring);
    // What the job doesn't have has no reasons.
    to_line(&mut s, 13);
    s.code(KeyCode::F(8));
    assert!(
        s.message().contains("nothing is selected here"),
        "{}",
        s.message()
    );
}

#[test]
fn nothing_is_brought_into_a_job_that_is_open_for_reading_only() {
    let mut s = beside(80, 24);
    s.sitting.state.read_only = Some("the folder is read-only".into());
    s.press(KeyCode::Char('i'), KeyModifiers::ALT);
    assert_eq!(
        s.message(),
        "no readings brought in: the folder is read-only"
    );
    assert!(s.sitting.state.choice.is_none());
}

/// What is typed and not kept is never dropped by opening a file.
#[test]
fn what_is_typed_stays() {
    let mut s = beside(80, 24);
    s.go("C/4/r1r2");
    s.text("0.3");
    s.press(KeyCode::Char('i'), KeyModifiers::ALT);
    assert!(s.message().contains("isn't kept"), "{}", s.message());
    assert!(s.sitting.state.choice.is_none());
}
