//! How the screen looks: without colour, in ASCII, where the cursor stands, and how long a message stays.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, later, picture};
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use ratatui::style::{Color, Modifier};
use wanderlead::screen::look::{Look, Palette};

const SAMPLES: [&str; 3] = [CLEAN, HALF_DONE, FAULTY];

fn ascii() -> Look {
    Look {
        palette: Palette::Any,
        ascii: true,
    }
}

/// Goes through the views of a job, with something typed, lists of choices, forms, and calls `look` on each.
fn tour(screen: &mut Screen, mut look: impl FnMut(&str, &mut Screen)) {
    look("opens", screen);
    let steps = screen.sitting.state.plan.steps().len();
    for at in (0..steps).step_by(3) {
        screen.sitting.state.at = at;
        look(&format!("step {at}"), screen);
        if at % 4 == 0 {
            screen.text("0.4");
            look(&format!("step {at}, typed"), screen);
            screen.code(KeyCode::Esc);
        }
    }
    screen.sitting.state.at = 0;
    screen.ctrl('l');
    look("reasons", screen);
    screen.text("own Ω words é");
    look("own words", screen);
    screen.code(KeyCode::Esc);
    for key in [6, 7] {
        screen.code(KeyCode::F(key));
        look("people, instruments", screen);
        screen.code(KeyCode::Esc);
    }
    screen.code(KeyCode::F(3));
    for _ in 0..8 {
        look("sheet", screen);
        for _ in 0..4 {
            screen.code(KeyCode::Right);
            screen.code(KeyCode::Down);
            look("sheet", screen);
        }
        screen.code(KeyCode::Tab);
    }
    screen.code(KeyCode::F(4));
    for _ in 0..6 {
        look("left", screen);
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::F(8));
    look("why", screen);
    screen.code(KeyCode::PageDown);
    look("why", screen);
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(9));
    for _ in 0..30 {
        look("record", screen);
        screen.code(KeyCode::Enter);
        if screen.sitting.state.choice.is_none() {
            for _ in 0..3 {
                look("form", screen);
                screen.code(KeyCode::PageDown);
            }
        }
        look("form or choice", screen);
        for _ in 0..3 {
            if screen.sitting.state.view != wanderlead::screen::View::Record {
                screen.code(KeyCode::Esc);
            }
        }
        if screen.sitting.state.choice.is_some() {
            screen.code(KeyCode::Esc);
        }
        screen.code(KeyCode::Down);
    }
    screen.code(KeyCode::F(1));
    for _ in 0..12 {
        look("help", screen);
        screen.code(KeyCode::PageDown);
    }
    screen.code(KeyCode::Esc);
}

fn stripped(mut buffer: Buffer) -> Buffer {
    for cell in &mut buffer.content {
        cell.fg = Color::Reset;
        cell.bg = Color::Reset;
    }
    buffer
}

/// The same screens, colours taken away: nothing but colour differs between the palettes.
#[test]
fn without_colour_everything_else_is_the_same() {
    let mut pages: Vec<Vec<Buffer>> = Vec::new();
    let mut coloured = 0;
    for palette in [Palette::Off, Palette::Any, Palette::Dark, Palette::Light] {
        let look = Look {
            palette,
            ascii: false,
        };
        let mut screen = Screen::dressed(FAULTY, 80, 24, look);
        let mut seen = Vec::new();
        let mut used: Vec<Color> = Vec::new();
        tour(&mut screen, |_, s| {
            let buffer = s.buffer();
            for cell in buffer.content.iter().filter(|c| c.fg != Color::Reset) {
                if !used.contains(&cell.fg) {
                    used.push(cell.fg);
                }
            }
            let has = buffer.content.iter().any(|c| c.fg != Color::Reset);
            assert!(!has || palette != Palette::Off);
            // Fixed black or white can't be read on a ground of the same.
            assert!(buffer.content.iter().all(|c| c.bg == Color::Reset
                && !matches!(
                    c.fg,
                    Color::Black | Color::White | Color::Gray | Color::DarkGray
                )));
            coloured += usize::from(has);
            seen.push(stripped(buffer));
        });
        pages.push(seen);
        let bright = [Color::LightRed, Color::LightYellow, Color::LightGreen];
        let right = match palette {
            Palette::Off => used.is_empty(),
            Palette::Dark => used.iter().all(|c| bright.contains(c)) && used.len() == 3,
            Palette::Any | Palette::Light => {
                used.iter().all(|c| !bright.contains(c)) && used.len() == 3
            }
        };
        assert!(right, "{palette:?}: {used:?}");
    }
    assert!(coloured > 100, "{coloured}");
    assert!(pages.windows(2).all(|w| w[0] == w[1]));
}

/// What is selected, wrong or judged can be told from the characters: reversed text always has a sign beside it.
#[test]
fn nothing_is_told_by_style_alone() {
    let mut told_apart = 0;
    for name in SAMPLES {
        let mut screen = Screen::with(name, 80, 24, false);
        tour(&mut screen, |what, s| {
            let buffer = s.buffer();
            let area = buffer.area;
            let line =
                |y: u16| -> String { (0..area.width).map(|x| buffer[(x, y)].symbol()).collect() };
            let reversed = |y: u16| {
                (0..area.width).any(|x| buffer[(x, y)].modifier.contains(Modifier::REVERSED))
            };
            // Row 0 is the header of every view. The rest of a selected text of several lines hangs below its first.
            for y in (1..area.height).filter(|y| reversed(*y)) {
                let first = (1..=y).rev().take_while(|y| reversed(*y)).last().unwrap();
                let told = line(first).contains(['>', '[', '!']);
                assert!(told, "{name}, {what}: {}", line(y));
                told_apart += 1;
            }
        });
    }
    assert!(told_apart > 100, "{told_apart}");
}

/// Moving through a list moves a character, not only a style.
#[test]
fn a_selection_is_a_character() {
    let mut screen = Screen::with(FAULTY, 80, 24, false);
    for (key, sign) in [(3, "["), (4, " > "), (9, " > "), (1, " > ")] {
        let key = KeyCode::F(key);
        screen.code(key);
        // The list may scroll instead, so what the sign stands beside counts.
        let pointers = |screen: &mut Screen| -> Vec<String> {
            let shown = screen.picture();
            let pointed = |l: &&str| l.starts_with(sign) || sign == "[" && l.contains(sign);
            shown.lines().filter(pointed).map(str::to_string).collect()
        };
        let before = pointers(&mut screen);
        screen.code(KeyCode::Down);
        assert_ne!(pointers(&mut screen), before, "{key:?}");
        assert!(!before.is_empty(), "{key:?}");
    }
}

#[test]
fn in_ascii_every_screen_is_ascii_and_as_wide() {
    for name in SAMPLES {
        for (columns, lines) in [(80, 24), (120, 40)] {
            let mut screen = Screen::dressed(name, columns, lines, ascii());
            let mut seen = String::new();
            tour(&mut screen, |what, s| {
                let shown = s.picture();
                let foreign: String = shown.chars().filter(|c| !c.is_ascii()).collect();
                assert!(foreign.is_empty(), "{name}, {what}: {foreign}\n{shown}");
                seen.push_str(&shown);
            });
            for words in ["ohm", "<= ", ">= ", "mm2", "----", "degC"] {
                assert!(seen.contains(words), "{name}: {words}");
            }
        }
    }
}

/// What the limit is has to be whole in words as well: nothing is cut that wasn't before.
#[test]
fn in_ascii_the_same_is_said() {
    fn words(text: &str) -> Vec<String> {
        let plain = wanderlead::screen::ascii::plain(text);
        let plain = plain.replace(['-', '|'], " ");
        plain.split_whitespace().map(str::to_string).collect()
    }
    for name in SAMPLES {
        let mut signs = Screen::open(name, 120, 60);
        let mut plain = Screen::dressed(name, 120, 60, ascii());
        let steps = signs.sitting.state.plan.steps().len();
        for at in 0..steps {
            for screen in [&mut signs, &mut plain] {
                screen.sitting.state.at = at;
            }
            // The lines of the list beside it wrap at other places; what the step says is compared.
            let of = |screen: &mut Screen| -> Vec<String> {
                let shown = screen.picture();
                let rule = format!(" {} ", screen.place());
                // From the rule with the place down to the reading; titles above may be cut at another letter.
                let text: String = shown
                    .lines()
                    .take(57)
                    .map(|l| l.chars().take(83).collect::<String>() + "\n")
                    .skip_while(|l| !l.contains(&rule))
                    // The hint beside the field is cut where the window ends.
                    .filter(|l| !l.contains("reading   ["))
                    .collect();
                assert!(!text.is_empty());
                words(&text)
            };
            assert_eq!(of(&mut plain), of(&mut signs), "{name}, step {at}");
        }
    }
}

#[test]
fn the_screens_in_ascii() {
    let mut screen = Screen::dressed(HALF_DONE, 80, 24, ascii());
    screen.go("C/4/ir-le");
    screen.text("0.4");
    insta::assert_snapshot!("ascii_walk_80x24", screen.picture());
    screen.code(KeyCode::Esc);
    screen.ctrl('l');
    insta::assert_snapshot!("ascii_choice_80x24", screen.picture());
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(3));
    insta::assert_snapshot!("ascii_sheet_80x24", screen.picture());
}

/// A name in another script is shown as question marks and stays as it is in the file.
#[test]
fn what_cannot_be_shown_is_kept_all_the_same() {
    let mut screen = Screen::dressed(HALF_DONE, 80, 24, ascii());
    screen.by_qualified();
    screen.go("C/4/r1r2");
    screen.ctrl('l');
    screen.text("Ω 漢字 é");
    let shown = screen.picture();
    assert!(shown.contains("own words: ? ???? e"), "{shown}");
    screen.code(KeyCode::Enter);
    assert_eq!(screen.on_disk("C/4/r1r2").as_deref(), Some("lim: Ω 漢字 é"));
    assert!(screen.picture().is_ascii());
}

/// The hardware cursor: on the field being typed in, on the selected line of a list.
#[test]
fn the_cursor_stands_where_typing_goes() {
    let behind = |screen: &mut Screen, words: &str| {
        let (x, y) = screen
            .cursor()
            .unwrap_or_else(|| panic!("no cursor for {words}"));
        let shown = screen.picture();
        let line = shown.lines().nth(y.into()).unwrap_or("");
        let before: String = line.chars().take(x.into()).collect();
        assert!(
            before.ends_with(words),
            "`{words}` isn't before {x},{y}\n{shown}"
        );
    };
    let on = |screen: &mut Screen, sign: char| {
        let (x, y) = screen.cursor().expect("a cursor");
        let shown = screen.picture();
        let line = shown.lines().nth(y.into()).unwrap();
        assert_eq!(line.chars().nth(x.into()), Some(sign), "{shown}");
    };
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/ir-le");
    behind(&mut screen, "reading   [");
    screen.text("0.4");
    behind(&mut screen, "reading   [0.4");
    screen.code(KeyCode::Left);
    behind(&mut screen, "reading   [0.");
    screen.code(KeyCode::Esc);
    screen.ctrl('l');
    behind(&mut screen, "own words: ");
    screen.text("wet");
    behind(&mut screen, "own words: wet");
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(6));
    on(&mut screen, '>');
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(3));
    screen.text("1");
    behind(&mut screen, "reading   [1");
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(4));
    screen.code(KeyCode::Down);
    on(&mut screen, '>');
    screen.code(KeyCode::F(9));
    on(&mut screen, '>');
    screen.code(KeyCode::Enter);
    on(&mut screen, '>');
    // Below what is chosen is what is typed.
    screen.code(KeyCode::Down);
    screen.text("ab");
    behind(&mut screen, "[ab");
    screen.code(KeyCode::Esc);
    screen.code(KeyCode::F(1));
    screen.code(KeyCode::Down);
    on(&mut screen, '>');
}

fn key(code: KeyCode) -> Event {
    Event::Key(KeyEvent::new(code, KeyModifiers::NONE))
}

/// Keys typed ahead are handled before the next frame: an error among them is still there in that frame, and goes only after
/// a key that was pressed when it could be read.
#[test]
fn an_error_stays_until_it_can_have_been_read() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.go("C/4/ir-le");
    screen.picture();
    screen.sitting.state.said.shown();
    // Typed ahead, without a frame between: a refused entry, dropped, then one that is kept.
    for code in [
        KeyCode::Char('x'),
        KeyCode::Enter,
        KeyCode::Esc,
        KeyCode::Char('9'),
        KeyCode::Enter,
    ] {
        screen.sitting.event(&key(code), later());
    }
    assert_eq!(screen.on_disk("C/4/ir-le").as_deref(), Some("9"));
    assert!(
        screen.message().starts_with("not kept: "),
        "{}",
        screen.message()
    );
    assert!(screen.sitting.state.message.error);
    let shown = screen.picture();
    assert!(shown.contains("\n! not kept: "), "{shown}");
    // A window that changes its size is no key.
    screen.sitting.state.said.shown();
    screen.sitting.event(&Event::Resize(100, 30), later());
    screen.sitting.state.say("routine");
    assert!(screen.message().starts_with("not kept: "));
    screen.sitting.event(&Event::Resize(80, 24), later());
    // Now it was there to be read, and the next key lets the next message in.
    screen.code(KeyCode::Esc);
    assert!(
        screen.message().starts_with("everything kept is on disk"),
        "{}",
        screen.message()
    );
    // Everything is on the page of keys, the newest first.
    screen.code(KeyCode::F(1));
    for _ in 0..30 {
        screen.code(KeyCode::PageDown);
    }
    let shown = screen.picture();
    let said = shown.find("Said before, the newest first").expect(&shown);
    let at = |words: &str| {
        said + shown[said..]
            .find(words)
            .unwrap_or_else(|| panic!("{words}\n{shown}"))
    };
    assert!(
        at("everything kept") < at("kept on disk: C/4/ir-le"),
        "{shown}"
    );
    assert!(at("kept on disk: C/4/ir-le") < at("! not kept"), "{shown}");
    // Enter on a message does nothing.
    screen.code(KeyCode::Enter);
    assert_eq!(screen.sitting.state.view, wanderlead::screen::View::Help);
}

#[test]
fn two_errors_typed_ahead_are_both_there() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.sitting.state.complain("first");
    screen.sitting.state.complain("second");
    let shown = screen.picture();
    assert!(shown.contains("\n! first\n  second\n"), "{shown}");
}

#[test]
fn a_long_message_says_where_the_rest_is() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    screen.sitting.state.complain("word ".repeat(300) + "end");
    let shown = screen.picture();
    assert!(
        shown.contains("-- more: F1, at the end of the list --"),
        "{shown}"
    );
    screen.code(KeyCode::F(1));
    for _ in 0..30 {
        screen.code(KeyCode::PageDown);
    }
    assert!(
        screen.picture().contains("word end"),
        "{}",
        screen.picture()
    );
}

#[test]
fn at_most_fifty_messages_are_remembered() {
    let mut screen = Screen::open(HALF_DONE, 80, 24);
    for i in 0..120 {
        screen.sitting.state.say(format!("message {i}"));
    }
    let past: Vec<&str> = screen
        .sitting
        .state
        .said
        .past()
        .map(|(_, m)| m.text.as_str())
        .collect();
    assert_eq!(
        (past.len(), past[0], past[49]),
        (50, "message 119", "message 70")
    );
}

/// The PDF is announced in a frame before the work begins, and keys pressed meanwhile come afterwards.
#[test]
fn what_takes_long_is_announced_first() {
    let mut screen = Screen::open(CLEAN, 80, 24);
    assert!(!screen.sitting.event(&key(KeyCode::F(5)), later()));
    // A complete record: only draft it.
    assert!(!screen.sitting.event(&key(KeyCode::Enter), later()));
    assert!(screen.picture().contains("drafting the PDF"));
    assert!(screen.sitting.waits_to_work());
    let pdf = screen.path.with_extension("pdf");
    assert!(!pdf.exists());
    screen.sitting.work();
    assert!(pdf.exists() && !screen.sitting.waits_to_work());
    assert!(screen.message().contains("pages"), "{}", screen.message());
    let again = picture(&screen.buffer());
    assert!(!again.contains("drafting the PDF"));
}

#[test]
fn the_list_of_jobs_in_ascii_with_the_cursor_where_it_belongs() {
    use ratatui::Terminal;
    use ratatui::backend::TestBackend;
    use wanderlead::screen::begin::Begin;
    let dir = tempfile::tempdir().unwrap();
    let text = common::read(&common::root().join("sample-jobs").join(CLEAN));
    std::fs::write(dir.path().join("tŷ.ron"), text).unwrap();
    let mut begin = Begin::new(dir.path()).unwrap();
    begin.ascii = true;
    begin.message = "Ω ".repeat(2000);
    let mut terminal = Terminal::new(TestBackend::new(80, 24)).unwrap();
    let mut draw = |begin: &Begin| {
        terminal
            .draw(|f| wanderlead::screen::view::draw_begin(f, begin))
            .unwrap();
        let shown = picture(terminal.backend().buffer());
        (shown, terminal.backend().cursor_position())
    };
    let (shown, at) = draw(&begin);
    assert!(shown.is_ascii() && shown.contains("> ty.ron"), "{shown}");
    assert!(shown.contains("-- more: "), "{shown}");
    let line = shown.lines().nth(at.y.into()).unwrap();
    assert!(at.x == 0 && line.starts_with("> ty.ron"), "{line}");
    for code in [
        KeyCode::Down,
        KeyCode::Enter,
        KeyCode::Char('Ω'),
        KeyCode::Char('a'),
    ] {
        begin.key(&KeyEvent::new(code, KeyModifiers::NONE));
    }
    let (shown, at) = draw(&begin);
    let line = shown.lines().nth(at.y.into()).unwrap();
    assert_eq!((line, at.x), ("file name: ?a", 13), "{shown}");
}
