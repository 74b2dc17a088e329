//! Keys, pastes and resizes. Two bytes are one event; the first two bytes say which job, and what is drawn.

use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::crossterm::event::{Event, KeyCode, KeyEvent, KeyModifiers};
use wanderlead::job::Job;
use wanderlead::screen::keys::KEYS;
use wanderlead::screen::look::{Look, Palette};
use wanderlead::screen::sitting::Sitting;
use wanderlead::screen::view;
use wanderlead::store::Session;

use super::jobs;
use crate::fuzz_help::check;
use crate::fuzz_help::mutate::{Mutator, ODD};
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::chance::Chance;
use crate::store_help::memory::Memory;
use crate::store_help::visit::file;
use crate::store_help::world::World;

pub const TARGET: Target = Target {
    name: "key_streams",
    corpus: || vec![Vec::new()],
    mutate,
    run,
    short: 60,
    each: 20,
};

fn mutate(_: &Mutator, chance: &mut Chance) -> Vec<u8> {
    let most = if chance.below(50) == 0 { 600 } else { 40 };
    let events = 1 + chance.below(most);
    let mut out = Vec::with_capacity(2 + events * 2);
    // Mostly the small jobs.
    out.push(if chance.below(12) == 0 { 255 } else { 0 } ^ u8::try_from(chance.below(4)).unwrap());
    out.push(u8::try_from(chance.below(256)).unwrap());
    for _ in 0..events {
        let kind = match chance.below(100) {
            0..=44 => 0,
            45..=69 => 1,
            70..=86 => 2,
            87..=92 => 3,
            93..=95 => 4,
            96 => 5,
            97 => 6,
            _ => 7,
        };
        out.push(kind);
        out.push(u8::try_from(chance.below(256)).unwrap());
    }
    out
}

const TYPED: &[char] = &[
    '0',
    '1',
    '2',
    '3',
    '.',
    ',',
    '5',
    '9',
    'y',
    'f',
    'l',
    'n',
    '>',
    '<',
    'a',
    'Ω',
    '/',
    '"',
    '*',
    ' ',
    '!',
    'q',
    'd',
    'm',
    'o',
    '¶',
    '-',
    '?',
    'R',
    ':',
    '\u{301}',
    '漢',
    '\u{202e}',
    '\u{1f468}',
    '\u{0}',
    '\u{1b}',
    '\u{feff}',
];

const SIZES: &[(u16, u16)] = &[
    (80, 24),
    (120, 40),
    (79, 24),
    (80, 23),
    (1, 1),
    (200, 60),
    (0, 0),
    (80, 1),
    (10, 100),
    (300, 90),
    (81, 25),
];

fn pasted(n: u8) -> String {
    let n = usize::from(n);
    match n % 12 {
        0 => "0.42".into(),
        1 => "1\n2\n3".into(),
        2 => "y\ty\ny\ty".into(),
        3 => "\u{0}\u{7}\r\n\t".into(),
        4 => "0.5\r0.6\r".into(),
        5 => "lim: no access\n0.3".into(),
        6 => "0.35\n".repeat(n * 8),
        7 => ODD.concat(),
        8 => "漢".repeat(n * 4),
        9 => "W".repeat(n * 200),
        10 => "\t".repeat(n),
        _ => ODD[n % ODD.len()].repeat(1 + n / 40),
    }
}

fn event(kind: u8, n: u8) -> Event {
    let key = |code, mods| Event::Key(KeyEvent::new(code, mods));
    let at = usize::from(n);
    match kind % 8 {
        0 => {
            let presses = KEYS[at % KEYS.len()].presses;
            let (code, mods) = presses[at / KEYS.len() % presses.len()];
            key(code, mods)
        }
        1 => key(KeyCode::Char(TYPED[at % TYPED.len()]), KeyModifiers::NONE),
        2 => key(KeyCode::Enter, KeyModifiers::NONE),
        3 => Event::Paste(pasted(n)),
        4 => {
            let (columns, lines) = SIZES[at % SIZES.len()];
            Event::Resize(columns, lines)
        }
        5 => key(
            [
                KeyCode::Null,
                KeyCode::CapsLock,
                KeyCode::F(24),
                KeyCode::Insert,
                KeyCode::Char('x'),
            ][at % 5],
            [
                KeyModifiers::ALT,
                KeyModifiers::CONTROL | KeyModifiers::ALT,
                KeyModifiers::SUPER,
                KeyModifiers::SHIFT,
            ][at % 4],
        ),
        6 => {
            let odd = ODD[at % ODD.len()].chars().next().unwrap();
            key(KeyCode::Char(odd), KeyModifiers::NONE)
        }
        _ => key(
            [
                KeyCode::Up,
                KeyCode::Down,
                KeyCode::PageDown,
                KeyCode::Backspace,
                KeyCode::Esc,
                KeyCode::Tab,
            ][at % 6],
            KeyModifiers::NONE,
        ),
    }
}

/// Which job: mostly the small ones.
fn job(n: u8) -> Vec<u8> {
    use std::sync::OnceLock;
    static JOBS: OnceLock<Vec<Vec<u8>>> = OnceLock::new();
    let jobs = JOBS.get_or_init(jobs::corpus);
    let small = [0, 1, 5, 6];
    let n = usize::from(n);
    if n < 128 {
        jobs[small[n % small.len()]].clone()
    } else {
        jobs[n % jobs.len()].clone()
    }
}

fn run(input: &[u8]) -> Result<Came, String> {
    let [which, how, rest @ ..] = input else {
        return Ok(Came::Refused);
    };
    let memory = Memory::new(World::with(&file(), &job(*which)));
    let session = Session::open_on(Box::new(memory.clone()), &file()).map_err(|e| e.to_string())?;
    let look = Look {
        palette: if how & 1 == 0 {
            Palette::Any
        } else {
            Palette::Off
        },
        ascii: how & 2 != 0,
    };
    let mut sitting = Sitting::new(session, check::forms().clone(), check::now(), look);
    let mut size = (80, 24);
    sitting.state.size = size;
    let mut terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
    let mut came = Came::Refused;
    for (i, pair) in rest.chunks_exact(2).enumerate() {
        let event = event(pair[0], pair[1]);
        sitting.state.said.shown();
        if sitting.event(&event, check::now()) {
            break;
        }
        // A PDF takes long: now and then.
        if how % 64 == 7 {
            sitting.work();
        }
        if let Event::Resize(columns, lines) = event {
            size = (columns, lines);
            terminal = Terminal::new(TestBackend::new(size.0, size.1)).unwrap();
        }
        let message = &sitting.state.message;
        if !message.error && message.text.starts_with("kept on disk") {
            came = Came::Taken;
        }
        if i % 4 == usize::from(how % 4) {
            let state = &sitting.state;
            terminal.draw(|f| view::draw(f, state)).unwrap();
        }
    }
    let state = &sitting.state;
    terminal.draw(|f| view::draw(f, state)).unwrap();
    let shown = plain(state.job.clone());
    sitting
        .close()
        .map_err(|e| format!("it can't be saved: {e:#}"))?;
    let again = Session::open_on(Box::new(memory), &file())
        .map_err(|e| format!("it can't be opened again: {e}"))?;
    if plain(again.job().clone()) != shown {
        return Err("the screen shows what the disk has not".into());
    }
    Ok(came)
}

/// Without the count of changes, which the screen doesn't have.
fn plain(job: Job) -> Job {
    Job {
        kept: 0,
        kept_digest: String::new(),
        ..job
    }
}
