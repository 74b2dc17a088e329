//! Programs in a pty, timed by the bytes they write; and the bare table that the screen is compared with.

use std::io::{Read, Write};
use std::num::NonZero;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use ratatui::crossterm::event::{self, Event, KeyCode};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, EndSynchronizedUpdate, EnterAlternateScreen, LeaveAlternateScreen,
    disable_raw_mode, enable_raw_mode,
};
use ratatui::crossterm::{execute, queue};
use ratatui::layout::Constraint;
use ratatui::prelude::{CrosstermBackend, Terminal};
use ratatui::widgets::{Row, Table, TableState};

/// What stands at the end of each frame: the program and the bare table mark it for the terminal.
pub const END: &str = "\u{1b}[?2026l";
/// Where no mark is written: drawing is over when nothing came for so long.
const QUIET: Duration = Duration::from_millis(30);
const PATIENCE: Duration = Duration::from_secs(120);

/// A program in a pty of 80 by 24.
pub struct Driven {
    child: Box<dyn Child + Send + Sync>,
    keys: Box<dyn Write + Send>,
    drawn: Receiver<(Instant, Vec<u8>)>,
    /// The last bytes, in which a mark may have begun.
    tail: Vec<u8>,
    parser: vt100::Parser,
    _master: Box<dyn MasterPty + Send>,
}

impl Driven {
    pub fn start(command: &[String]) -> Driven {
        let mut builder = CommandBuilder::new(&command[0]);
        builder.args(&command[1..]);
        builder.env("TERM", "xterm-256color");
        builder.env("LC_ALL", "C.UTF-8");
        builder.env_remove("WANDERLEAD_FORMS");
        builder.env_remove("NO_COLOR");
        let size = PtySize {
            rows: 24,
            cols: 80,
            pixel_width: 0,
            pixel_height: 0,
        };
        let pty = native_pty_system().openpty(size).unwrap();
        let mut reader = pty.master.try_clone_reader().unwrap();
        let keys = pty.master.take_writer().unwrap();
        let (sender, drawn) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0_u8; 1 << 16];
            while let Ok(n) = reader.read(&mut buffer) {
                let at = Instant::now();
                if n == 0 || sender.send((at, buffer[..n].to_vec())).is_err() {
                    break;
                }
            }
        });
        let child = pty.slave.spawn_command(builder).unwrap();
        let (lines, columns) = (NonZero::new(24).unwrap(), NonZero::new(80).unwrap());
        Driven {
            child,
            keys,
            drawn,
            tail: Vec::new(),
            parser: vt100::Parser::new(lines, columns, 0),
            _master: pty.master,
        }
    }

    fn take(&mut self, bytes: &[u8]) -> bool {
        self.parser.process(bytes);
        self.tail.extend_from_slice(bytes);
        let complete = self.tail.windows(END.len()).any(|w| w == END.as_bytes());
        let keep = self.tail.len().saturating_sub(END.len() - 1);
        self.tail.drain(..keep);
        complete
    }

    /// When the next frame was complete.
    pub fn frame(&mut self) -> Instant {
        loop {
            let Ok((at, bytes)) = self.drawn.recv_timeout(PATIENCE) else {
                panic!("no frame:\n{}", self.picture());
            };
            if self.take(&bytes) {
                return at;
            }
        }
    }

    /// When the last byte came before nothing more did.
    pub fn quiet(&mut self) -> Instant {
        let (mut last, bytes) = self.drawn.recv_timeout(PATIENCE).unwrap();
        self.take(&bytes);
        while let Ok((at, bytes)) = self.drawn.recv_timeout(QUIET) {
            self.take(&bytes);
            last = at;
        }
        last
    }

    /// Takes in what is still being drawn.
    pub fn settle(&mut self) {
        loop {
            match self.drawn.recv_timeout(Duration::from_millis(300)) {
                Ok((_, bytes)) => {
                    self.take(&bytes);
                }
                Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => return,
            }
        }
    }

    /// Presses a key while the program waits for one; returns how long its frame took.
    pub fn press(&mut self, key: &str) -> Duration {
        std::thread::sleep(Duration::from_millis(2));
        let start = Instant::now();
        self.keys.write_all(key.as_bytes()).unwrap();
        self.keys.flush().unwrap();
        self.frame() - start
    }

    pub fn picture(&self) -> String {
        self.parser.screen().contents()
    }

    fn status(&self, name: &str) -> u64 {
        let id = self.child.process_id().unwrap();
        let text = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap();
        let line = text.lines().find(|l| l.starts_with(name)).unwrap();
        let number = line.split_whitespace().nth(1).unwrap();
        number.parse().unwrap()
    }

    /// The most memory it had so far.
    pub fn memory_mb(&self) -> f64 {
        let kb = u32::try_from(self.status("VmHWM")).unwrap();
        f64::from(kb) / 1024.0
    }

    /// Ticks of CPU time of the whole program, and how often its threads were woken or put aside.
    fn used(&self) -> (u64, u64) {
        let id = self.child.process_id().unwrap();
        let stat = std::fs::read_to_string(format!("/proc/{id}/stat")).unwrap();
        // Behind the name in brackets: utime is the 14th field of all, stime the 15th (proc(5)).
        let fields: Vec<&str> = stat
            .rsplit(')')
            .next()
            .unwrap()
            .split_whitespace()
            .collect();
        let ticks = [11, 12].map(|i: usize| fields[i].parse::<u64>().unwrap());
        let mut switches = 0;
        for task in std::fs::read_dir(format!("/proc/{id}/task")).unwrap() {
            let status = std::fs::read_to_string(task.unwrap().path().join("status")).unwrap();
            let lines = status.lines().filter(|l| l.contains("ctxt_switches"));
            switches += lines
                .map(|l| l.split_whitespace().nth(1).unwrap().parse::<u64>().unwrap())
                .sum::<u64>();
        }
        (ticks.iter().sum(), switches)
    }

    /// What it uses while nobody presses a key.
    pub fn idle(&mut self, time: Duration) -> (u64, u64) {
        self.settle();
        let before = self.used();
        std::thread::sleep(time);
        let after = self.used();
        (after.0 - before.0, after.1 - before.1)
    }

    pub fn end(mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// As little as a table on the screen can be: 200 rows of 20 columns, a selected line, a key that moves it.
pub fn bare_table() {
    enable_raw_mode().unwrap();
    let mut out = std::io::stdout();
    execute!(out, EnterAlternateScreen).unwrap();
    let mut terminal = Terminal::new(CrosstermBackend::new(std::io::stdout())).unwrap();
    let cells: Vec<Vec<String>> = (0..200)
        .map(|row| {
            (0..20)
                .map(|column| format!("{}", row * column % 97))
                .collect()
        })
        .collect();
    let mut state = TableState::default().with_selected(0);
    loop {
        queue!(terminal.backend_mut(), BeginSynchronizedUpdate).unwrap();
        terminal
            .draw(|frame| {
                let rows = cells
                    .iter()
                    .map(|row| Row::new(row.iter().map(String::as_str)));
                let table = Table::new(rows, [Constraint::Length(3); 20]).highlight_symbol("> ");
                frame.render_stateful_widget(table, frame.area(), &mut state);
            })
            .unwrap();
        execute!(terminal.backend_mut(), EndSynchronizedUpdate).unwrap();
        match event::read().unwrap() {
            Event::Key(key) if key.code == KeyCode::Down => state.select_next(),
            Event::Key(key) if key.code == KeyCode::Up => state.select_previous(),
            Event::Key(key) if key.code == KeyCode::Esc => break,
            _ => {}
        }
    }
    execute!(out, LeaveAlternateScreen).unwrap();
    disable_raw_mode().unwrap();
}
