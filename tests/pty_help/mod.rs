//! The real program in a pty.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};

use crate::common::no_settings;

/// The program in a pty, and what its screen shows.
pub struct Terminal {
    pub parser: Arc<Mutex<vt100::Parser>>,
    /// Every byte it wrote.
    pub written: Arc<Mutex<Vec<u8>>>,
    pub child: Box<dyn Child + Send + Sync>,
    keys: Option<Box<dyn Write + Send>>,
    master: Option<Box<dyn MasterPty + Send>>,
    /// The program's side of the pty, to ask for its modes; closed with the window.
    line: Option<std::path::PathBuf>,
    /// Nothing is read any more.
    closing: Arc<AtomicBool>,
    /// Everything the program wrote was read, up to its end.
    drained: Arc<AtomicBool>,
}

fn size(columns: u16, lines: u16) -> PtySize {
    PtySize {
        rows: lines,
        cols: columns,
        pixel_width: 0,
        pixel_height: 0,
    }
}

/// The program with settings that set nothing, in a locale of UTF-8.
pub fn program() -> CommandBuilder {
    let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_wanderlead"));
    command.env("TERM", "xterm-256color");
    command.env("LC_ALL", "C.UTF-8");
    command.env("WANDERLEAD_CONFIG", no_settings());
    command.env_remove("WANDERLEAD_FORMS");
    command.env_remove("NO_COLOR");
    command
}

impl Terminal {
    pub fn open(job: &Path) -> Terminal {
        let mut command = program();
        command.arg(job);
        Terminal::of(command)
    }

    pub fn of(command: CommandBuilder) -> Terminal {
        let pty = native_pty_system().openpty(size(80, 24)).unwrap();
        let child = pty.slave.spawn_command(command).unwrap();
        drop(pty.slave);
        let line = pty.master.tty_name();
        let (lines, columns) = (NonZero::new(24).unwrap(), NonZero::new(80).unwrap());
        let parser = Arc::new(Mutex::new(vt100::Parser::new(lines, columns, 0)));
        let written = Arc::new(Mutex::new(Vec::new()));
        let mut reader = pty.master.try_clone_reader().unwrap();
        let (seen, bytes) = (Arc::clone(&parser), Arc::clone(&written));
        let closing = Arc::new(AtomicBool::new(false));
        let closed = Arc::clone(&closing);
        let drained = Arc::new(AtomicBool::new(false));
        let done = Arc::clone(&drained);
        std::thread::spawn(move || {
            let mut buffer = [0_u8; 4096];
            while let Ok(n) = reader.read(&mut buffer) {
                if n == 0 || closed.load(Ordering::SeqCst) {
                    break;
                }
                seen.lock().unwrap().process(&buffer[..n]);
                bytes.lock().unwrap().extend_from_slice(&buffer[..n]);
            }
            done.store(true, Ordering::SeqCst);
        });
        let keys = pty.master.take_writer().unwrap();
        Terminal {
            parser,
            written,
            child,
            keys: Some(keys),
            master: Some(pty.master),
            line,
            closing,
            drained,
        }
    }

    pub fn picture(&self) -> String {
        let shown = self.parser.lock().unwrap().screen().contents();
        // A blank that was drawn and one that wasn't look the same.
        let lines: Vec<&str> = shown.lines().map(str::trim_end).collect();
        lines.join("\n")
    }

    /// The picture once nothing more is drawn.
    pub fn settled(&self) -> String {
        let (mut last, mut since) = (self.picture(), Instant::now());
        while since.elapsed() < Duration::from_millis(300) {
            std::thread::sleep(Duration::from_millis(10));
            let now = self.picture();
            if now != last {
                (last, since) = (now, Instant::now());
            }
        }
        last
    }

    /// The last picture of a program that has ended: all that it wrote was read.
    pub fn last(&self) -> String {
        self.until("the end of what it wrote", |t| {
            t.drained.load(Ordering::SeqCst)
        });
        self.picture()
    }

    /// Waits until this is true of it.
    pub fn until(&self, what: &str, mut is: impl FnMut(&Terminal) -> bool) {
        let start = Instant::now();
        while !is(self) {
            assert!(
                start.elapsed() < Duration::from_secs(30),
                "{what} doesn't come:\n{}",
                self.picture()
            );
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    pub fn wait_for(&self, what: &str) -> String {
        let mut shown = String::new();
        self.until(what, |t| {
            shown = t.picture();
            // A long message is wrapped: its line ends don't count.
            let flat = shown.split_whitespace().collect::<Vec<_>>().join(" ");
            shown.contains(what) || flat.contains(what)
        });
        shown
    }

    pub fn send(&mut self, keys: &str) {
        self.send_bytes(keys.as_bytes());
    }

    pub fn send_bytes(&mut self, bytes: &[u8]) {
        let out = self.keys.as_mut().unwrap();
        out.write_all(bytes).unwrap();
        out.flush().unwrap();
    }

    pub fn signal(&self, name: &str) {
        let id = self.child.process_id().unwrap().to_string();
        let status = std::process::Command::new("kill")
            .args([&format!("-{name}"), &id])
            .status()
            .unwrap();
        assert!(status.success(), "kill -{name}");
    }

    /// The modes of the line, as `stty` of the system names them, each between blanks.
    pub fn modes(&self) -> String {
        format!(
            " {} ",
            self.stty("-a")
                .split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
        )
    }

    /// Sets them as a shell does.
    pub fn modes_of_a_shell(&self) {
        self.stty("sane");
    }

    fn stty(&self, what: &str) -> String {
        let line = std::fs::File::open(self.line.as_ref().unwrap()).unwrap();
        let out = std::process::Command::new("stty")
            .arg(what)
            .stdin(line)
            .output()
            .unwrap();
        assert!(out.status.success(), "{out:?}");
        String::from_utf8(out.stdout).unwrap()
    }

    pub fn resize(&self, columns: u16, lines: u16) {
        // The window first: the program must not draw for a size that it hasn't yet.
        let mut parser = self.parser.lock().unwrap();
        parser
            .screen_mut()
            .set_size(NonZero::new(lines).unwrap(), NonZero::new(columns).unwrap());
        self.master
            .as_ref()
            .unwrap()
            .resize(size(columns, lines))
            .unwrap();
    }

    /// Closes the window: the program's terminal is gone.
    pub fn close_window(&mut self) {
        self.closing.store(true, Ordering::SeqCst);
        // What the program draws for it wakes the reader, which has the window open too.
        self.send("1");
        self.keys = None;
        self.master = None;
    }

    /// Waits for its end; returns the exit code.
    pub fn end(&mut self) -> u32 {
        let start = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status.exit_code();
            }
            assert!(start.elapsed() < Duration::from_secs(30), "still running");
            std::thread::sleep(Duration::from_millis(5));
        }
    }
}
