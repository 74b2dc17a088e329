//! Taking the terminal and giving it back: after leaving, after a fault of the program, and while it is stopped.

use std::cell::RefCell;
use std::io::{self, Write};
use std::rc::Rc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, Once, PoisonError};

use anyhow::{Context, Result};
use ratatui::Frame;
use ratatui::crossterm::cursor::Show;
use ratatui::crossterm::event::{DisableBracketedPaste, EnableBracketedPaste};
use ratatui::crossterm::terminal::{
    BeginSynchronizedUpdate, Clear, ClearType, EndSynchronizedUpdate, EnterAlternateScreen,
    LeaveAlternateScreen, disable_raw_mode, enable_raw_mode,
};
use ratatui::crossterm::{execute, queue};
use ratatui::prelude::{CrosstermBackend, Terminal};

/// Whether the terminal is taken, so that a fault before or after has nothing to give back.
static TAKEN: AtomicBool = AtomicBool::new(false);
/// What to say where the program fails.
static NOTICE: Mutex<String> = Mutex::new(String::new());
static HOOK: Once = Once::new();

/// The terminal while the program has it. Whatever ends it, the terminal is given back.
pub struct Stage {
    terminal: Terminal<CrosstermBackend<Held>>,
    held: Held,
}

/// What is drawn, until the whole frame is there: it goes out in one piece, so that nobody sees half of it.
#[derive(Debug, Clone, Default)]
struct Held(Rc<RefCell<Vec<u8>>>);

impl Write for Held {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.borrow_mut().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    /// A frame flushes several times over: nothing goes out before [`send`](Held::send).
    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Held {
    fn send(&self, out: &mut impl Write) -> io::Result<()> {
        let held = std::mem::take(&mut *self.0.borrow_mut());
        out.write_all(&held)?;
        out.flush()
    }
}

impl Stage {
    /// Takes the terminal. `notice` is said below the report of a fault of the program.
    ///
    /// # Errors
    /// It can't be set up; it is given back.
    pub fn set_up(notice: &str) -> Result<Stage> {
        *NOTICE.lock().unwrap_or_else(PoisonError::into_inner) = notice.to_string();
        HOOK.call_once(hook);
        take(&mut io::stdout())
            .and_then(|()| Stage::new())
            .inspect_err(|_| give_back(&mut io::stdout()))
            .context("the terminal can't be set up for the screen")
    }

    /// Takes it again after the program was stopped and goes on: others have used it meanwhile.
    ///
    /// # Errors
    /// It can't be set up.
    pub fn again(&mut self) -> Result<()> {
        // Raw mode is only set where it counts as not set.
        let _ = disable_raw_mode();
        let fresh = take(&mut io::stdout())
            .and_then(|()| execute!(io::stdout(), Clear(ClearType::All)))
            // It knows nothing of what is on the screen, so everything is drawn.
            .and_then(|()| Stage::new())
            .context("the terminal can't be set up again")?;
        std::mem::forget(std::mem::replace(self, fresh));
        Ok(())
    }

    fn new() -> io::Result<Stage> {
        let held = Held::default();
        let terminal = Terminal::new(CrosstermBackend::new(held.clone()))?;
        Ok(Stage { terminal, held })
    }

    /// Columns and lines of the window.
    ///
    /// # Errors
    /// They can't be read.
    pub fn size(&self) -> Result<(u16, u16)> {
        let size = self
            .terminal
            .size()
            .context("the size of the terminal can't be read")?;
        Ok((size.width, size.height))
    }

    /// Draws a frame. Terminals that know the marks around it (mode 2026) show it only when it is complete.
    ///
    /// # Errors
    /// It can't be drawn.
    pub fn draw(&mut self, draw: impl FnOnce(&mut Frame<'_>)) -> Result<()> {
        let mut held = self.held.clone();
        queue!(held, BeginSynchronizedUpdate)
            .and_then(|()| self.terminal.draw(draw).map(|_| ()))
            .and_then(|()| queue!(held, EndSynchronizedUpdate))
            .and_then(|()| held.send(&mut io::stdout()))
            .context("the terminal can't be drawn on")
    }

    /// Gives it back. A terminal that is gone is no failure: there is nobody to tell.
    pub fn leave(self) {
        give_back(&mut io::stdout());
        // Dropping it would report a cursor that can't be shown on a terminal that is gone, and fail at that.
        std::mem::forget(self);
    }
}

fn take(out: &mut impl Write) -> io::Result<()> {
    TAKEN.store(true, Ordering::SeqCst);
    enable_raw_mode()?;
    execute!(out, EnterAlternateScreen)?;
    // Without it a paste arrives as single keys, and a line end in it would count as Enter. Not every terminal can.
    let _ = execute!(out, EnableBracketedPaste);
    Ok(())
}

/// Each step for itself: where one fails the next may still do.
pub(super) fn give_back(out: &mut impl Write) {
    if TAKEN.swap(false, Ordering::SeqCst) {
        let _ = disable_raw_mode();
        undo_modes(out);
    }
}

fn undo_modes(out: &mut impl Write) {
    let _ = execute!(out, DisableBracketedPaste);
    let _ = execute!(out, LeaveAlternateScreen);
    let _ = execute!(out, Show);
}

/// On a fault of the program: gives the terminal back first, so that the report can be read, and says where the record is.
fn hook() {
    let report = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |fault| {
        let taken = TAKEN.load(Ordering::SeqCst);
        give_back(&mut io::stdout());
        report(fault);
        if taken {
            let notice = NOTICE.lock().unwrap_or_else(PoisonError::into_inner);
            // Nobody there to read it is no reason for another fault.
            let _ = writeln!(io::stderr(), "{notice}");
        }
    }));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_switched_on_is_switched_off_and_the_cursor_is_shown() {
        let mut written = Vec::new();
        undo_modes(&mut written);
        let written = String::from_utf8_lossy(&written).into_owned();
        // As in ECMA-48 and the control sequences of xterm: 2004 bracketed paste, 1049 alternate screen, 25 cursor.
        assert_eq!(written, "\u{1b}[?2004l\u{1b}[?1049l\u{1b}[?25h");
    }

    /// A writer that is gone.
    struct Gone;

    impl Write for Gone {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Err(io::ErrorKind::BrokenPipe.into())
        }
    }

    #[test]
    fn a_terminal_that_is_gone_is_no_fault() {
        undo_modes(&mut Gone);
    }
}
