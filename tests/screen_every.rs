//! Every view and every list of choices, in both sizes: what it looks like, that it says so where the window is too small, that
//! it is the same without colour, that nothing is cut without a sign or drawn over something else, and that it names a way out.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::HashSet;

use common::{CLEAN, FAULTY, HALF_DONE, Screen, later, picture};
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::buffer::Buffer;
use ratatui::crossterm::event::{Event, KeyCode};
use ratatui::style::Color;
use wanderlead::screen::begin::Begin;
use wanderlead::screen::choice::Topic;
use wanderlead::screen::look::{Look, Palette};
use wanderlead::screen::record::rows_of;
use wanderlead::screen::{View, view};

/// A screen to look at: the name of its snapshot, the sample, and the keys that open it.
struct Scene {
    name: &'static str,
    sample: &'static str,
    open: fn(&mut Screen),
}

fn scene(name: &'static str, sample: &'static str, open: fn(&mut Screen)) -> Scene {
    Scene { name, sample, open }
}

const TOPICS: [Topic; 14] = [
    Topic::Limitation,
    Topic::NotApplicable,
    Topic::Around,
    Topic::Who,
    Topic::Instrument,
    Topic::Field,
    Topic::Start,
    Topic::Issue,
    Topic::Paste,
    Topic::Download,
    Topic::Mapping,
    Topic::Remove,
    Topic::Found,
    Topic::TakeBack,
];

/// No wildcard: a new view doesn't compile until it is here; its line in `View::ALL` is counted below.
fn of_view(view: View) -> Scene {
    match view {
        View::Walk => scene("screen__opens", HALF_DONE, |_| {}),
        View::Sheet => scene("screen__sheet", HALF_DONE, |s| {
            s.go("C/4/r1r2");
            s.code(KeyCode::F(3));
        }),
        View::Left => scene("screen__left", FAULTY, |s| {
            s.code(KeyCode::F(4));
        }),
        View::Record => scene("screen_record__record", CLEAN, record),
        View::Form => scene("screen_record__form", CLEAN, |s| {
            form(s, "device rating");
            s.text("16");
        }),
        View::Find => scene("screen_entry__find", HALF_DONE, |s| s.text("/water insul")),
        View::Map => scene("screen_every__map", HALF_DONE, |s| {
            s.go("P/B1/serials");
            s.text("#");
        }),
        View::Bring => scene("screen_every__bring", HALF_DONE, |s| {
            bring(s, 2);
            s.text(" ");
        }),
        View::Why => scene("screen__why", FAULTY, |s| {
            s.go("M/9/zs");
            s.code(KeyCode::F(8));
        }),
        View::Learn => scene("screen_learn__learn", FAULTY, |s| {
            s.go("M/9/zs");
            s.code(KeyCode::F(11));
        }),
        View::Found => scene("screen_every__found", HALF_DONE, found),
        View::History => scene("screen_every__history", HALF_DONE, |s| {
            found(s);
            s.code(KeyCode::Enter);
            s.text("2");
            s.code(KeyCode::Enter);
            s.go("C/4/ir-le");
            s.enter("412");
            s.ctrl('z');
            s.text("h");
        }),
        View::Help => scene("screen__help", HALF_DONE, |s| {
            s.go("C/4/r1r2");
            s.code(KeyCode::F(1));
        }),
    }
}

/// Nor has this one.
fn of_topic(topic: Topic) -> Scene {
    match topic {
        Topic::Limitation => scene("screen__reasons", HALF_DONE, |s| {
            s.by_qualified();
            s.go("C/4/ir-le");
            s.text(">");
            s.code(KeyCode::Enter);
            s.go("C/4/r1r2");
            s.text("l");
        }),
        Topic::NotApplicable => scene("screen_every__not_applicable", HALF_DONE, |s| {
            s.go("C/4/r1r2");
            s.text("n");
        }),
        Topic::Around => scene("screen_every__around", HALF_DONE, |s| {
            s.by_qualified();
            s.go("supply/ze");
            s.text("0.21");
            s.ctrl('u');
        }),
        Topic::Who => scene("screen_every__who", HALF_DONE, |s| {
            s.code(KeyCode::F(6));
        }),
        Topic::Instrument => scene("screen_every__instrument", HALF_DONE, |s| {
            s.go("C/4/r1r2");
            s.code(KeyCode::F(7));
        }),
        Topic::Field => scene("screen_every__field", CLEAN, |s| {
            form(s, "method");
            s.code(KeyCode::Enter);
        }),
        Topic::Start => scene("screen_every__start", CLEAN, |s| {
            record(s);
            s.text("+");
        }),
        Topic::Issue => scene("screen_every__issue", CLEAN, |s| {
            s.code(KeyCode::F(5));
        }),
        Topic::Paste => scene("screen_every__paste", HALF_DONE, |s| {
            s.go("C/4/r1r2");
            s.code(KeyCode::F(3));
            let table = Event::Paste("0.19\t>999\t0.4\n".into());
            s.sitting.event(&table, later());
        }),
        Topic::Download => scene("screen_every__download", HALF_DONE, |s| bring(s, 0)),
        Topic::Mapping => scene("screen_every__mapping", HALF_DONE, |s| bring(s, 1)),
        Topic::Found => scene("screen_every__decide", HALF_DONE, |s| {
            found(s);
            s.code(KeyCode::Enter);
        }),
        Topic::Remove => scene("screen_every__remove", CLEAN, |s| {
            record(s);
            s.ctrl('x');
        }),
        Topic::TakeBack => scene("screen_every__take_back", CLEAN, |s| {
            s.by_qualified();
            s.go("inspect/enclosures");
            s.ctrl('x');
        }),
    }
}

/// With the sample file of readings beside the job, Enter pressed so many times.
fn bring(s: &mut Screen, times: usize) {
    common::put_readings(s);
    s.by_qualified();
    s.go("C/4/r1r2");
    s.text("i");
    for _ in 0..times {
        s.code(KeyCode::Enter);
    }
}

/// Opened after the program had ended while it wrote: two changes to bring back, and the beginning of a third.
fn found(s: &mut Screen) {
    s.by_qualified();
    s.go("C/4/r1r2");
    s.enter("0.31");
    s.enter("0.34");
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(HALF_DONE);
    std::fs::copy(&s.path, &path).unwrap();
    let journal = |path: &std::path::Path| format!("{}.journal", path.display());
    let mut lines = common::read(std::path::Path::new(&journal(&s.path)));
    lines.push_str("3 0123 (at:\"2026-11-20T16:00:00+00:00\",job:\"OC-2026-118\",change:Keep(place:\"C/4/ir-ll\",rea");
    std::fs::write(journal(&path), lines).unwrap();
    let (columns, rows) = s.sitting.state.size;
    let colour = s.sitting.state.colour == Palette::Any;
    *s = Screen::at(folder, path, columns, rows, colour);
}

fn record(s: &mut Screen) {
    s.go("M/3/zs");
    s.code(KeyCode::F(9));
}

fn form(s: &mut Screen, heading: &str) {
    record(s);
    s.code(KeyCode::Enter);
    let state = &s.sitting.state;
    let spot = state.record.spot.clone().unwrap();
    let (part, _) = state.job.part(&spot).unwrap();
    let to = rows_of(&part).iter().position(|f| f.heading() == heading);
    for _ in state.record.field..to.unwrap() {
        s.code(KeyCode::Down);
    }
}

fn opened(scene: &Scene, columns: u16, lines: u16, palette: Palette) -> Screen {
    let look = Look {
        palette,
        ascii: false,
    };
    let mut screen = Screen::dressed(scene.sample, columns, lines, look);
    (scene.open)(&mut screen);
    screen
}

/// Every scene; each is what it says it is.
fn scenes() -> Vec<Scene> {
    let mut out = Vec::new();
    for wanted in View::ALL {
        let scene = of_view(wanted);
        let screen = opened(&scene, 80, 24, Palette::Any);
        assert_eq!(screen.sitting.state.view, wanted);
        assert!(screen.sitting.state.choice.is_none(), "{wanted:?}");
        out.push(scene);
    }
    for wanted in TOPICS {
        let scene = of_topic(wanted);
        let screen = opened(&scene, 80, 24, Palette::Any);
        let open = screen.sitting.state.choice.as_ref().map(|c| c.topic);
        assert_eq!(open, Some(wanted), "{}", screen.message());
        out.push(scene);
    }
    let names: HashSet<&str> = out.iter().map(|s| s.name).collect();
    assert_eq!(names.len(), View::ALL.len() + TOPICS.len());
    out
}

/// The lists above have every variant that the source has: a match can't count them.
#[test]
fn every_view_and_every_topic_is_listed() {
    for (file, name, listed) in [
        ("src/screen/state.rs", "enum View", View::ALL.len()),
        ("src/screen/choice.rs", "enum Topic", TOPICS.len()),
    ] {
        let source = common::read(&common::root().join(file));
        let body = source.split(name).nth(1).unwrap();
        let body = body.split("\n}").next().unwrap();
        let variants = body.lines().filter(|l| {
            let l = l.trim();
            l.ends_with(',') && !l.starts_with("//")
        });
        assert_eq!(variants.count(), listed, "{name}");
    }
}

#[test]
fn pictures_of_every_screen() {
    let mut settings = insta::Settings::clone_current();
    // Names with the file they belong to: some pictures are those of other tests, on the same keys.
    settings.set_prepend_module_to_snapshot(false);
    settings.bind(|| {
        for scene in scenes() {
            for (columns, lines) in [(80, 24), (120, 40)] {
                let mut screen = opened(&scene, columns, lines, Palette::Any);
                let name = format!("{}_{columns}x{lines}", scene.name);
                insta::assert_snapshot!(name, screen.picture());
            }
        }
        let folder = common::root().join("sample-jobs");
        let mut begin = Begin::new(&folder).unwrap();
        begin.folder = "sample-jobs".into();
        for (columns, lines) in [(80, 24), (120, 40)] {
            let mut terminal = Terminal::new(TestBackend::new(columns, lines)).unwrap();
            terminal.draw(|f| view::draw_begin(f, &begin)).unwrap();
            let name = format!("screen_every__begin_{columns}x{lines}");
            insta::assert_snapshot!(name, picture(terminal.backend().buffer()));
        }
    });
}

fn drawn(screen: &Screen, columns: u16, lines: u16) -> Buffer {
    let mut terminal = Terminal::new(TestBackend::new(columns, lines)).unwrap();
    let state = &screen.sitting.state;
    terminal.draw(|f| view::draw(f, state)).unwrap();
    terminal.backend().buffer().clone()
}

#[test]
fn in_a_window_too_small_each_says_so_and_nothing_else() {
    for scene in scenes() {
        let screen = opened(&scene, 80, 24, Palette::Any);
        for (columns, lines) in [(79, 24), (80, 23), (40, 10)] {
            let shown = picture(&drawn(&screen, columns, lines));
            let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
            let wanted = format!(
                "This window is {columns} by {lines}; wanderlead needs 80 by 24. Make it larger. \
                 Every reading kept is on disk. F10 leaves."
            );
            assert_eq!(flat, wanted, "{}", scene.name);
        }
    }
}

#[test]
fn without_colour_each_is_the_same_text() {
    for scene in scenes() {
        let mut plain = opened(&scene, 80, 24, Palette::Off);
        let mut coloured = opened(&scene, 80, 24, Palette::Any);
        let cells = plain.buffer();
        let none = |c: &ratatui::buffer::Cell| c.fg == Color::Reset && c.bg == Color::Reset;
        assert!(cells.content.iter().all(none), "{}", scene.name);
        assert_eq!(plain.picture(), coloured.picture(), "{}", scene.name);
    }
}

/// The words of a picture, without the frames.
fn words(shown: &str) -> impl Iterator<Item = &str> {
    let frame = |c: char| c.is_whitespace() || ('\u{2500}'..'\u{2580}').contains(&c);
    let drawn = |w: &&str| w.chars().any(|c| !"+-|<>".contains(c));
    shown.split(frame).filter(drawn)
}

/// Whatever stands in a narrow window stands in a very large one: a word or number that was cut, or half drawn over, doesn't.
#[test]
fn nothing_is_cut_without_a_sign_and_nothing_is_drawn_over() {
    let mut compared = 0;
    for scene in scenes() {
        let mut large = opened(&scene, 400, 200, Palette::Any);
        let whole = large.picture();
        let whole: HashSet<&str> = words(&whole).collect();
        for (columns, lines) in [(80, 24), (120, 40)] {
            let mut screen = opened(&scene, columns, lines, Palette::Any);
            let shown = screen.picture();
            let says_so = |l: &str| {
                let signs = ["-- ", "more lines: ", " more below", " more above"];
                signs.iter().any(|s| l.contains(s))
            };
            for line in shown.lines().filter(|l| !says_so(l)) {
                for word in words(line).filter(|w| !w.ends_with('…') && !w.contains('[')) {
                    compared += 1;
                    assert!(
                        whole.contains(word),
                        "{} at {columns}: {word:?} in\n{line}\n{shown}",
                        scene.name
                    );
                }
            }
        }
    }
    assert!(compared > 5_000, "{compared}");
}

#[test]
fn each_names_a_way_out() {
    for scene in scenes() {
        for (columns, lines) in [(80, 24), (120, 40)] {
            let mut screen = opened(&scene, columns, lines, Palette::Any);
            let choosing = screen.sitting.state.choice.is_some();
            let shown = screen.picture();
            let all: Vec<&str> = shown.lines().collect();
            let footer = all[all.len() - 2..].join(" ");
            let way = if choosing { "Esc back" } else { "F10 leave" };
            assert!(footer.contains(way), "{}: {footer}", scene.name);
        }
    }
}
