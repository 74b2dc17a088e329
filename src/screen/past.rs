//! Two pages about what was before: what opening the job found, and the history of everything that was done.

use crate::job::Break;
use crate::store::{Found, Session};

use super::choice::{Choice, Topic};
use super::keeping::{Effect, holds, plan_again};
use super::state::{State, View};
use super::update::uncover;

/// What opening found, and how far somebody has looked.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Past {
    /// What was found.
    pub found: Vec<Found>,
    /// Somebody has to decide before anything is written.
    pub waits: bool,
    /// Where the chain of the history is broken.
    pub broken: Option<Break>,
    /// Lines of the page that are scrolled away.
    pub line: usize,
    /// Selected line of the history: 0 is the newest.
    pub deed: usize,
    /// The view to go back to.
    pub from: Option<View>,
}

/// Takes over what a session says of itself.
pub(super) fn take_in(state: &mut State, session: &Session) {
    state.read_only = session.read_only().map(str::to_string);
    state.lost = session.lost().map(str::to_string);
    state.past.found = session.found().to_vec();
    state.past.waits = session.waits();
    state.past.broken = state.job.history.broken();
}

/// Opens one of the two pages.
pub(super) fn open(state: &mut State, view: View) {
    if state.view == view {
        state.say("this is where you are already; F1 shows the keys");
        return;
    }
    let turning = matches!(state.view, View::Found | View::History);
    if !turning {
        if holds(state) {
            return;
        }
        uncover(state);
        state.past.from = Some(state.view);
    }
    state.past.line = 0;
    state.past.deed = 0;
    state.view = view;
}

/// Goes back to where they were opened.
pub(super) fn close(state: &mut State) {
    state.view = state.past.from.take().unwrap_or(View::Walk);
}

/// Enter: asks what to do where that has to be decided, else goes on working.
pub(super) fn take(state: &mut State) {
    if state.view == View::Found && state.past.waits {
        ask(state);
    } else {
        close(state);
    }
}

fn ask(state: &mut State) {
    let going_on = match &state.lost {
        Some(_) => {
            "go on without what can't be brought back: the journal is copied beside first, and the history notes it"
        }
        None => "go on: what is in doubt is copied beside first, and the history notes it",
    };
    let lines = vec![
        (
            "look".to_string(),
            "only look: nothing is written, and this can be decided later".to_string(),
        ),
        ("on".to_string(), going_on.to_string()),
    ];
    let question = "what shall be done about what was found?".to_string();
    state.choice = Some(Choice::new(Topic::Found, question, lines, 0, false));
}

/// What was decided.
pub(super) fn chosen(state: &mut State, taken: &str) -> Option<Effect> {
    state.choice = None;
    if taken == "on" {
        return Some(Effect::GoOn);
    }
    close(state);
    state.say("only looking: nothing is written; h and then Tab lead back to the decision");
    None
}

/// The job was opened for writing after all.
pub(super) fn gone_on(state: &mut State, session: &Session) {
    state.job = session.job().clone();
    take_in(state, session);
    plan_again(state);
    let copies: Vec<&str> = state
        .past
        .found
        .iter()
        .flat_map(|f| f.copies.iter().map(String::as_str))
        .collect();
    let copies = match copies.is_empty() {
        true => String::new(),
        false => format!("; copied to {}", copies.join(", ")),
    };
    match state.read_only.clone() {
        None => state.say(format!(
            "open for writing, and noted in the history{copies}"
        )),
        Some(why) => state.complain(format!("still open for reading only: {why}")),
    }
}

/// Moves the selection of the history, or scrolls the page.
pub(super) fn step(state: &mut State, by: isize) {
    if state.view == View::History {
        let last = state.job.history.len().saturating_sub(1);
        state.past.deed = state.past.deed.saturating_add_signed(by).min(last);
        return;
    }
    let room = super::view::page_room(state);
    let last = super::view::found_length(state).saturating_sub(room);
    state.past.line = state.past.line.saturating_add_signed(by).min(last);
}
