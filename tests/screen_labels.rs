//! Labels in walk and sheet, the map of an array, and the tables of meters and settings: what is shown, and what keys do.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod common;

use common::{CLEAN, FAULTY, HALF_DONE, Screen};
use ratatui::crossterm::event::KeyCode;
use wanderlead::checks::Verdict;
use wanderlead::job::array::Unit;
use wanderlead::job::{Change, Layout, Part, Spot};
use wanderlead::screen::View;

#[test]
fn labels_are_a_section_of_the_sheet_and_quickly_answered() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("label/dual-origin/fitted");
    screen.code(KeyCode::F(3));
    insta::assert_snapshot!("labels_80x24", screen.picture());
    screen.code(KeyCode::Down);
    // Three keys for each that is there, and the next row is selected.
    for label in ["earth-mark", "electrode", "diagram"] {
        assert_eq!(screen.place(), format!("label/{label}/fitted"));
        screen.enter("y");
    }
    screen.enter("f");
    let verdict = |s: &Screen, l: &str| s.verdict(&format!("label/{l}/fitted"));
    assert_eq!(verdict(&screen, "diagram"), Verdict::Within);
    assert_eq!(verdict(&screen, "settings"), Verdict::Outside);
    // What is wrong stays selected; the next keys go on.
    while screen.place() != "label/dual-meter/fitted" {
        screen.code(KeyCode::Down);
    }
    screen.text("n");
    screen.enter("meter and cut-out are one");
    assert_eq!(verdict(&screen, "dual-meter"), Verdict::Excused);
    assert_eq!(
        screen.on_disk("label/dual-meter/fitted").as_deref(),
        Some("n/a: meter and cut-out are one")
    );
}

#[test]
fn the_walk_says_what_stands_on_a_label_and_where_it_goes() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("label/backup:E/fitted");
    insta::assert_snapshot!("label_step_80x24", screen.picture());
}

/// 40 modules on one branch, with powers of which two are low.
fn many(screen: &mut Screen) {
    let job = &mut screen.sitting.state.job;
    let Layout::Branches(list) = &mut job.arrays[0].layout else {
        panic!("no branches")
    };
    list[0].units = (1..=40)
        .map(|n| Unit {
            module: format!("EM26-73{n:03}"),
            inverter: format!("MB35-90{n:03}"),
        })
        .collect();
    screen.sitting.state.judge();
}

#[test]
fn the_map_shows_every_module_in_order_and_scrolls() {
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(HALF_DONE, columns, lines);
        many(&mut screen);
        screen.go("P/B1/serials");
        screen.code(KeyCode::F(3));
        screen.text("#");
        assert_eq!(screen.sitting.state.view, View::Map);
        insta::assert_snapshot!(format!("map_{columns}x{lines}"), screen.picture());
        // Every module comes into view, with its mark, on the way from the first to the last.
        let count = 40 + 6;
        for n in 1..=40 {
            let shown = screen.picture();
            assert!(shown.contains(&format!("-> {n} <-")), "{shown}");
            assert!(shown.contains(&format!("| EM26-73{n:03}")), "{shown}");
            assert!(shown.contains(&format!("| MB35-90{n:03}")), "{shown}");
            screen.code(KeyCode::Right);
        }
        for _ in 0..count {
            screen.code(KeyCode::Right);
        }
        let last = screen.sitting.state.map.cell;
        assert!(screen.picture().contains("B2 module"), "{last}");
        // By rows down to the end and up again: the same first column.
        for _ in 0..60 {
            screen.code(KeyCode::PageUp);
        }
        let across = if columns == 80 { 4 } else { 6 };
        assert!(screen.sitting.state.map.cell < across);
        // Down and up stay in the column, over rows of the same branch.
        screen.sitting.state.map.cell = 2;
        for (key, cell) in [
            (KeyCode::Down, 2 + across),
            (KeyCode::Down, 2 + 2 * across),
            (KeyCode::Up, 2 + across),
            (KeyCode::Up, 2),
            (KeyCode::Up, 2),
        ] {
            screen.code(key);
            assert_eq!(screen.sitting.state.map.cell, cell, "{key:?}");
        }
        for _ in 0..60 {
            screen.code(KeyCode::PageDown);
        }
        let end = screen.sitting.state.map.cell;
        assert!(
            end > last.saturating_sub(across) && end <= last,
            "{end} {last}"
        );
        // Back where it was opened.
        screen.code(KeyCode::Esc);
        assert_eq!(screen.sitting.state.view, View::Sheet);
    }
}

#[test]
fn powers_stand_beside_the_modules_with_their_mark() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let units = {
        let Layout::Branches(list) = &screen.sitting.state.job.arrays[0].layout else {
            panic!("no branches")
        };
        list[0].units.len()
    };
    screen.go("P/B1/balance");
    // One of them far under the rest: named by the balance check, and marked here alone.
    let watts: Vec<String> = (0..units)
        .map(|i| {
            if i == 1 {
                "190".into()
            } else {
                (352 + i).to_string()
            }
        })
        .collect();
    read(&mut screen, &watts.join(" "));
    screen.text("#");
    screen.code(KeyCode::Right);
    let shown = screen.picture();
    assert!(shown.contains("| 190 W ?"), "{shown}");
    assert_eq!(shown.matches(" W =").count(), units - 1, "{shown}");
    insta::assert_snapshot!("map_powers_80x24", shown);
    // Shown with signs where there is no colour, and no letter is an order.
    for c in "xyzqd".chars() {
        screen.text(&c.to_string());
    }
    assert_eq!(screen.sitting.state.view, View::Map);
}

/// Powers of the branch at hand, as if everything before were in order.
fn read(screen: &mut Screen, watts: &str) {
    let state = &mut screen.sitting.state;
    let place = state.focus().unwrap();
    let reading = state.reading(&place, watts);
    state.job.apply(&Change::Keep { place, reading }).unwrap();
    state.judge();
}

#[test]
fn too_little_light_marks_each_module_as_a_query() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    let Layout::Branches(list) = &screen.sitting.state.job.arrays[0].layout else {
        panic!("no branches")
    };
    let units = list[0].units.len();
    screen.go("P/B1/balance");
    read(&mut screen, &vec!["9"; units].join(" "));
    screen.text("#");
    let shown = screen.picture();
    assert!(
        !shown.contains(" W =") && shown.contains("9 W ?"),
        "{shown}"
    );
}

#[test]
fn enter_on_the_map_goes_to_the_serial_number_in_the_record() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.go("P/S2/serials");
    screen.text("#");
    // The second string begins where the first ends.
    assert_eq!(screen.sitting.state.map.cell, 10);
    screen.code(KeyCode::Right);
    screen.code(KeyCode::Right);
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, View::Form);
    screen.enter("NEW-0001");
    let spot = Spot::Line("P".into(), "S2".into());
    let Some((Part::PvString(string), _)) = screen.job_on_disk().part(&spot) else {
        panic!("no string")
    };
    assert_eq!(string.modules[2], "NEW-0001");
    // From the record: the map of the line, or of its array.
    screen.code(KeyCode::Esc);
    screen.text("#");
    assert_eq!(
        (screen.sitting.state.view, screen.sitting.state.map.cell),
        (View::Map, 10)
    );
    screen.text("#");
    assert_eq!(screen.sitting.state.view, View::Record);
}

#[test]
fn the_map_is_refused_where_there_is_no_array_and_while_something_is_typed() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    screen.go("M/1/zs");
    screen.text("#");
    assert_eq!(screen.sitting.state.view, View::Walk);
    assert!(
        screen.message().contains("go to a string"),
        "{}",
        screen.message()
    );
    screen.go("P/S1/voc");
    screen.text("4#");
    assert_eq!(
        (screen.sitting.state.view, screen.sitting.state.field.text()),
        (View::Walk, "4#")
    );
}

#[test]
fn meters_and_settings_have_a_table() {
    // Battery reads 3000 while it charges: turned round. 3450 + 1120 + 3000 = 7570 against a load of 1570: 6000 W apart.
    let mut screen = Screen::open(FAULTY, 80, 40);
    screen.go("grid/ct-charging");
    screen.code(KeyCode::F(3));
    let shown = screen.picture();
    let row = shown
        .lines()
        .find(|l| l.starts_with(" > charging"))
        .expect(&shown);
    let cells: Vec<&str> = row.split_whitespace().collect();
    assert_eq!(
        &cells[..8],
        [
            ">", "charging", "3450", "1120", "3000", "1570", "7570", "6000"
        ],
        "{row}"
    );
    assert!(row.ends_with("! outside"), "{row}");
    // 2240 of the grid against 2210: 30 W apart. -5820 + 7640 = 1820 against 1790: 30 W.
    for (name, sum) in [
        ("PV off", "2240      30"),
        ("PV above load", "1820      30"),
    ] {
        let row = shown.lines().rfind(|l| l.contains(name)).expect(&shown);
        assert!(row.contains(sum) && row.ends_with("= within"), "{row}");
    }
    insta::assert_snapshot!("meters_80x40", shown);
    screen.go("grid/set-ov1");
    for (columns, lines) in [(80, 24), (120, 40)] {
        let mut screen = Screen::open(FAULTY, columns, lines);
        screen.go("grid/set-ov1");
        let mut shown = screen.picture();
        for _ in 0..6 {
            screen.code(KeyCode::PageDown);
            shown.push_str(&screen.picture());
        }
        // The planted one, and what the profile asks for.
        let row = shown.lines().find(|l| l.contains("> OV1")).expect(&shown);
        assert!(
            row.contains("264.0") && row.contains("262.2") && row.contains("! outside"),
            "{row}"
        );
        let others = ["UV", "OV2", "UF1", "UF2", "OF", "RoCoF"];
        for other in others {
            let row = shown
                .lines()
                .find(|l| l.trim_start().starts_with(other))
                .expect(&shown);
            assert!(row.contains("= within"), "{row}");
        }
    }
}

#[test]
fn what_is_typed_stands_in_the_table_before_it_is_kept() {
    let mut screen = Screen::open(FAULTY, 120, 40);
    screen.go("grid/ct-charging");
    screen.text("3450 1120 -3000 1570");
    let shown = screen.picture();
    let row = shown
        .lines()
        .find(|l| l.contains("> charging"))
        .expect(&shown);
    assert!(row.contains("= within *") && row.contains("-3000"), "{row}");
    insta::assert_snapshot!("meters_120x40", shown);
}
