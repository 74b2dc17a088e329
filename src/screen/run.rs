//! The loop: events in, frames out, and the only file work of this room.

use std::io;
use std::path::Path;
use std::rc::Rc;
use std::time::Duration;

use anyhow::{Context, Result};
use chrono::{DateTime, FixedOffset, Local, SubsecRound};
use ratatui::DefaultTerminal;
use ratatui::crossterm::event::{
    self, DisableBracketedPaste, EnableBracketedPaste, Event, KeyEventKind,
};
use ratatui::crossterm::execute;

use crate::forms::Forms;
use crate::paper;
use crate::store::{self, Session};

use super::state::State;
use super::update::{self, Effect};
use super::view;

/// Opens a job on the screen and stays until the person leaves. Every kept reading is on disk before it is shown so.
///
/// # Errors
/// The job can't be opened, or the terminal fails; the terminal is restored first.
pub fn run(path: &Path, forms: Forms) -> Result<()> {
    let session = Session::open(path)?;
    let mut terminal =
        ratatui::try_init().context("the terminal can't be set up for the screen")?;
    // Without it a paste arrives as single keys, and a line end in it would count as Enter.
    let pasting = execute!(io::stdout(), EnableBracketedPaste).is_ok();
    let outcome = event_loop(&mut terminal, session, forms);
    if pasting {
        // The terminal is given back in any case; a failure here has nothing left to harm.
        let _ = execute!(io::stdout(), DisableBracketedPaste);
    }
    ratatui::restore();
    outcome
}

/// Whether colour may be used: not where `NO_COLOR` is set to anything.
pub fn colour_allowed() -> bool {
    std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

fn now() -> DateTime<FixedOffset> {
    // Whole seconds: the record is read by people.
    Local::now().fixed_offset().trunc_subsecs(0)
}

fn event_loop(terminal: &mut DefaultTerminal, mut session: Session, forms: Forms) -> Result<()> {
    let file = session.path().display().to_string();
    let mut state = State::new(
        session.job().clone(),
        &file,
        Rc::new(forms),
        now(),
        colour_allowed(),
    );
    state.read_only = session.read_only().map(str::to_string);
    if let Some(why) = &state.read_only {
        let text = format!("open for reading only: {why}");
        state.complain(text);
    } else if !session.notes().is_empty() {
        let text = session.notes().join("; ");
        state.say(text);
    }
    loop {
        terminal
            .draw(|frame| view::draw(frame, &state))
            .context("the terminal can't be drawn on")?;
        // Everything that has arrived is handled before the next frame, so that typing ahead stays quick.
        let mut event = event::read().context("the terminal can't be read")?;
        loop {
            state.now = now();
            if let Some(effect) = handle(&mut state, &event)
                && do_effect(&mut state, &mut session, &effect)
            {
                return session.close().context(
                    "the readings are in the journal, but the job file could not be saved",
                );
            }
            if !event::poll(Duration::ZERO).unwrap_or(false) {
                break;
            }
            event = event::read().context("the terminal can't be read")?;
        }
    }
}

fn handle(state: &mut State, event: &Event) -> Option<Effect> {
    match event {
        // Windows sends a release for every press; only presses and repeats count.
        Event::Key(key) if key.kind != KeyEventKind::Release => update::key(state, key),
        Event::Paste(text) => {
            update::paste(state, text);
            None
        }
        _ => None,
    }
}

/// Does the file work of an effect and tells the state how it went. Returns whether to leave.
fn do_effect(state: &mut State, session: &mut Session, effect: &Effect) -> bool {
    match effect {
        Effect::Keep(change) => match session.keep(change, state.now) {
            Ok(()) => update::kept(state, change),
            Err(e) => state.complain(format!("NOT kept: {e}")),
        },
        Effect::Undo | Effect::Redo => {
            let redone = *effect == Effect::Redo;
            let who = state.who.clone();
            let done = if redone {
                session.redo(&who, state.now)
            } else {
                session.undo(&who, state.now)
            };
            match done {
                Ok(Some(place)) => {
                    update::turned_back(state, session.job().clone(), &place, redone)
                }
                Ok(None) => state.say(if redone {
                    "nothing to make again"
                } else {
                    "nothing to take back in this sitting"
                }),
                Err(e) => state.complain(format!("NOT done: {e}")),
            }
        }
        Effect::Draft => match draft(state, session.path()) {
            Ok(text) => state.say(text),
            Err(e) => state.complain(format!("no PDF: {e:#}")),
        },
        Effect::Leave => return true,
    }
    false
}

/// Drafts the PDF beside the job file.
fn draft(state: &State, job: &Path) -> Result<String> {
    let out = job.with_extension("pdf");
    let drafted = paper::draft(&state.job, &state.forms, state.now)?;
    store::write_out(&out, &drafted.bytes, job)?;
    let kind = if drafted.is_draft {
        "a draft, not signed"
    } else {
        "complete and signed"
    };
    let missing: String = drafted.unprintable.iter().collect();
    let missing = if missing.is_empty() {
        String::new()
    } else {
        format!("; not in the font: {missing}")
    };
    Ok(format!(
        "PDF of {} pages written to {} ({kind}){missing}",
        drafted.pages,
        out.display()
    ))
}
