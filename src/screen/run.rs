//! The loop: terminal events and signals in, frames out.

use std::io;
use std::rc::Rc;
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset, Local, SubsecRound};
use ratatui::crossterm::event::{self, Event};

use crate::forms::Forms;
use crate::store::Session;

use super::look::Look;
use super::sitting::Sitting;
use super::terminal::Stage;
use super::view;

/// What the loop waits for.
#[derive(Debug)]
pub enum Heard {
    /// From the terminal.
    Event(Event),
    /// The terminal can't be read any more.
    Deaf(io::Error),
    /// The system asks the program to end.
    End,
    /// The system asks the program to stop for a while.
    Stop,
    /// It goes on after a stop.
    On,
}

/// What the loop does next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Next {
    Draw,
    Again,
    Stop,
    Leave,
}

/// A job ready for the screen; `greeting` is said first, where it isn't empty. Judging a large job takes a while, so this comes
/// before the terminal is taken.
pub fn prepare(
    session: Session,
    forms: impl Into<Rc<Forms>>,
    look: Look,
    greeting: &str,
) -> Sitting {
    let mut sitting = Sitting::new(session, forms, now(), look);
    if !greeting.is_empty() {
        sitting.state.say(greeting);
    }
    sitting
}

/// Puts a job on the screen and stays until the person leaves or the system ends the program. Every kept reading is on
/// disk before it is shown so.
///
/// # Errors
/// The terminal fails, or the job file can't be saved; the terminal is restored first.
pub fn run(mut sitting: Sitting, heard: &Receiver<Heard>) -> Result<()> {
    let mut stage = Stage::set_up(&sitting.notice())?;
    let outcome = event_loop(&mut stage, &mut sitting, heard);
    stage.leave();
    // Saved also where the loop failed: the journal has it all, the job file should have it too.
    outcome.and(sitting.close())
}

/// The clock, in whole seconds: the record is read by people.
pub(crate) fn now() -> DateTime<FixedOffset> {
    Local::now().fixed_offset().trunc_subsecs(0)
}

fn event_loop(stage: &mut Stage, sitting: &mut Sitting, heard: &Receiver<Heard>) -> Result<()> {
    sitting.state.size = stage.size()?;
    loop {
        stage.draw(|frame| view::draw(frame, &sitting.state))?;
        sitting.state.said.shown();
        if sitting.waits_to_work() {
            // What takes long was announced in this frame; keys typed meanwhile wait their turn.
            sitting.work();
            continue;
        }
        match handle_all(heard, sitting)? {
            Next::Draw => {}
            Next::Again => stage.again()?,
            Next::Stop => {
                stop();
                stage.again()?;
            }
            Next::Leave => return Ok(()),
        }
    }
}

/// Waits for something, then handles everything that has arrived before the next frame, so that typing ahead stays
/// quick; but what takes long is announced in a frame first.
fn handle_all(heard: &Receiver<Heard>, sitting: &mut Sitting) -> Result<Next> {
    let Some(mut next) = wait(heard, sitting) else {
        return Ok(Next::Leave);
    };
    loop {
        match next {
            Heard::Event(event) if sitting.event(&event, now()) => return Ok(Next::Leave),
            Heard::Event(_) if sitting.waits_to_work() => return Ok(Next::Draw),
            Heard::Event(_) => {}
            Heard::End => return Ok(Next::Leave),
            Heard::Stop => return Ok(Next::Stop),
            Heard::On => return Ok(Next::Again),
            Heard::Deaf(e) => return Err(e).context("the terminal can't be read"),
        }
        match heard.try_recv() {
            Ok(event) => next = event,
            Err(_) => return Ok(Next::Draw),
        }
    }
}

/// Waits for something; `None` where nobody is left to be heard. What somebody may ask for next is made ready meanwhile, a little
/// at a time, and when that is done the program sleeps.
fn wait(heard: &Receiver<Heard>, sitting: &Sitting) -> Option<Heard> {
    loop {
        match heard.try_recv() {
            Ok(next) => return Some(next),
            Err(TryRecvError::Disconnected) => return None,
            Err(TryRecvError::Empty) if sitting.prepare() => {}
            Err(TryRecvError::Empty) => return heard.recv().ok(),
        }
    }
}

/// Gives the terminal back and stops, as the system asked; returns when the program goes on.
pub(super) fn stop() {
    super::terminal::give_back(&mut io::stdout());
    #[cfg(unix)]
    {
        // Where it can't be stopped it just goes on.
        let _ = signal_hook::low_level::emulate_default_handler(signal_hook::consts::SIGTSTP);
    }
}

/// Listens to the terminal and to signals, each on a thread of its own: a hang-up must end the program even while it waits
/// for a key. Once in a program: two would take keys from each other.
///
/// # Errors
/// Signals can't be listened to.
pub fn listen() -> Result<Receiver<Heard>> {
    let (sender, heard) = channel();
    #[cfg(unix)]
    {
        use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGTERM, SIGTSTP};
        let mut signals =
            signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGTERM, SIGTSTP, SIGCONT])
                .context("signals can't be listened to")?;
        let sender = sender.clone();
        std::thread::spawn(move || {
            for signal in &mut signals {
                let heard = match signal {
                    SIGTSTP => Heard::Stop,
                    SIGCONT => Heard::On,
                    _ => Heard::End,
                };
                // Nobody listening any more means that the program is ending already.
                if sender.send(heard).is_err() {
                    return;
                }
            }
        });
    }
    std::thread::spawn(move || {
        let last = LastWord(sender);
        read_terminal(&last.0);
    });
    Ok(heard)
}

/// Says that nobody reads the terminal any more, also where the reading failed by a fault of the program: else the screen would
/// stay without taking a key.
struct LastWord(Sender<Heard>);

impl Drop for LastWord {
    fn drop(&mut self) {
        let _ = self
            .0
            .send(Heard::Deaf(io::Error::other("reading it has ended")));
    }
}

fn read_terminal(sender: &Sender<Heard>) {
    loop {
        let (heard, last) = match event::read() {
            Ok(event) => (Heard::Event(event), false),
            Err(e) => (Heard::Deaf(e), true),
        };
        if sender.send(heard).is_err() || last {
            return;
        }
    }
}
