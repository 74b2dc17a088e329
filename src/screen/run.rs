//! The loop: terminal events and signals in, frames out.

use std::io;
use std::sync::mpsc::{Receiver, Sender, channel};

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset, Local, SubsecRound};
use ratatui::DefaultTerminal;
use ratatui::crossterm::event::{self, DisableBracketedPaste, EnableBracketedPaste, Event};
use ratatui::crossterm::execute;

use crate::forms::Forms;
use crate::store::Session;

use super::sitting::Sitting;
use super::view;

/// What the loop waits for.
enum Heard {
    /// From the terminal.
    Event(Event),
    /// The terminal can't be read any more.
    Deaf(io::Error),
    /// The system asks the program to end.
    End,
}

/// Puts an open job on the screen and stays until the person leaves or the system ends the program. Every kept reading
/// is on disk before it is shown so. `greeting` is said first, where it isn't empty.
///
/// # Errors
/// The terminal fails, or the job file can't be saved; the terminal is restored first.
pub fn run(session: Session, forms: Forms, greeting: &str) -> Result<()> {
    let mut terminal =
        ratatui::try_init().context("the terminal can't be set up for the screen")?;
    // Without it a paste arrives as single keys, and a line end in it would count as Enter.
    let pasting = execute!(io::stdout(), EnableBracketedPaste).is_ok();
    let mut sitting = Sitting::new(session, forms, now(), colour_allowed());
    if !greeting.is_empty() {
        sitting.state.say(greeting);
    }
    let outcome = event_loop(&mut terminal, &mut sitting);
    if pasting {
        // The terminal is given back in any case; a failure here has nothing left to harm.
        let _ = execute!(io::stdout(), DisableBracketedPaste);
    }
    ratatui::restore();
    // Saved also where the loop failed: the journal has it all, the job file should have it too.
    outcome.and(sitting.close())
}

/// Whether colour may be used: not where `NO_COLOR` is set to anything.
fn colour_allowed() -> bool {
    std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

fn now() -> DateTime<FixedOffset> {
    // Whole seconds: the record is read by people.
    Local::now().fixed_offset().trunc_subsecs(0)
}

fn event_loop(terminal: &mut DefaultTerminal, sitting: &mut Sitting) -> Result<()> {
    let size = terminal
        .size()
        .context("the size of the terminal can't be read")?;
    sitting.state.size = (size.width, size.height);
    let (sender, heard) = channel();
    listen(sender)?;
    loop {
        terminal
            .draw(|frame| view::draw(frame, &sitting.state))
            .context("the terminal can't be drawn on")?;
        if !handle_all(&heard, sitting)? {
            return Ok(());
        }
    }
}

/// Waits for something, then handles everything that has arrived before the next frame, so that typing ahead stays
/// quick. Returns whether to go on.
fn handle_all(heard: &Receiver<Heard>, sitting: &mut Sitting) -> Result<bool> {
    let Ok(mut next) = heard.recv() else {
        return Ok(false);
    };
    loop {
        match next {
            Heard::Event(event) if sitting.event(&event, now()) => return Ok(false),
            Heard::Event(_) => {}
            Heard::End => return Ok(false),
            Heard::Deaf(e) => return Err(e).context("the terminal can't be read"),
        }
        match heard.try_recv() {
            Ok(event) => next = event,
            Err(_) => return Ok(true),
        }
    }
}

/// Listens to the terminal and to the signals that end a program, each on a thread of its own: a hang-up must end the
/// program even while it waits for a key.
fn listen(sender: Sender<Heard>) -> Result<()> {
    #[cfg(unix)]
    {
        use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
        let mut signals = signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGTERM])
            .context("signals can't be listened to")?;
        let sender = sender.clone();
        std::thread::spawn(move || {
            if signals.forever().next().is_some() {
                // Nobody listening any more means that the program is ending already.
                let _ = sender.send(Heard::End);
            }
        });
    }
    std::thread::spawn(move || {
        loop {
            let (heard, last) = match event::read() {
                Ok(event) => (Heard::Event(event), false),
                Err(e) => (Heard::Deaf(e), true),
            };
            if sender.send(heard).is_err() || last {
                return;
            }
        }
    });
    Ok(())
}
