//! Keeping: what may be asked of the disk, and what the state does once it is done.

use crate::checks::Verdict;
use crate::guide::Plan;
use crate::job::{Change, Group, Job, Place};

use super::record;
use super::state::{State, View};

/// Work outside the state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Effect {
    /// Put a change on the disk, then make it.
    Keep(Change),
    /// Take back the last change.
    Undo,
    /// Make it again.
    Redo,
    /// Draft the PDF beside the job file.
    Draft,
    /// Leave.
    Leave,
}

/// Whether something is typed that isn't kept; says so. Nothing typed is ever dropped by moving away.
pub(super) fn holds(state: &mut State) -> bool {
    let typed = !state.field.is_empty() || record::act::types(state);
    if typed {
        state.complain("what is typed isn't kept: Enter keeps it, Esc drops it");
    }
    typed
}

/// Leaves, but not the first time while something typed isn't kept.
pub(super) fn leave(state: &mut State) -> Option<Effect> {
    let own_words = state
        .choice
        .as_ref()
        .and_then(|c| c.own.as_ref())
        .is_some_and(|f| !f.is_empty());
    if (own_words || !state.field.is_empty() || record::act::types(state)) && !state.warned {
        state.warned = true;
        state.complain(
            "what is typed isn't kept: Enter keeps it; the same key again leaves without it",
        );
        return None;
    }
    Some(Effect::Leave)
}

/// Asks for a reading to be put on the disk, where it may be taken now.
pub(super) fn keep(state: &mut State, place: &Place, typed: &str) -> Option<Effect> {
    if let Some(why) = &state.read_only {
        let why = format!("not kept: {why}");
        state.complain(why);
        return None;
    }
    let position = state.plan.position(place);
    let waits = position.and_then(|i| state.plan.waits_for(i, &state.verdicts));
    // The sheet is for entering freely, but not for saying that something is safe before it is.
    if let Some(first) = waits
        && (state.view == View::Walk || place.top == Group::Safe.key())
    {
        let free = if place.top == Group::Safe.key() {
            ""
        } else {
            "; F3 enters freely"
        };
        let waits = state.waiting_words(&first);
        state.complain(format!("not kept: this step waits for {waits}{free}"));
        return None;
    }
    let reading = state.reading(place, typed);
    if let Err(e) = state.would_keep(place, &reading) {
        state.complain(format!("not kept: {e}"));
        return None;
    }
    Some(Effect::Keep(Change::Keep {
        place: place.clone(),
        reading,
    }))
}

/// A change is on the disk: makes it in the state, says so, and moves on.
///
/// Past a limit or queried the walk stays, so that the leads stay on: typing again corrects it, Enter goes on.
pub(super) fn kept(state: &mut State, change: &Change) {
    if let Err(e) = state.job.apply(change) {
        state.complain(format!(
            "on disk, but the screen is behind: {e}; leave and open the job again"
        ));
        return;
    }
    if let Change::Edit(edit) = change {
        plan_again(state);
        record::act::kept(state, edit);
        return;
    }
    state.judge();
    state.field.clear();
    state.choice = None;
    let Some(place) = change.place().cloned() else {
        return;
    };
    let Some(finding) = state.finding(&place).cloned() else {
        return;
    };
    let verdict = finding.verdict;
    let text = format!(
        "kept on disk: {place} {}  {} {verdict}",
        finding.value_text(),
        verdict.mark()
    );
    match state.view {
        View::Sheet => {
            state.say(text);
            state.sheet.step(&state.job, 1, 0);
        }
        _ if matches!(verdict, Verdict::Outside | Verdict::Query) => {
            state.say(format!(
                "{text}; leads still on? type it again, or Enter goes on"
            ));
        }
        _ => {
            state.say(text);
            let from = state.at + 1;
            state.go_to_next_open(from);
        }
    }
}

/// Circuits, boards, people or instruments may have come or gone: everything that names them is made again, and the walk and
/// the sheet stay where they were as far as that is still there.
fn plan_again(state: &mut State) {
    let walk = state.step().map(|s| s.place.clone());
    state.plan = Plan::new(&state.job, &state.forms);
    state.judge();
    let last = state.plan.steps().len().saturating_sub(1);
    let at = walk.and_then(|place| state.plan.position(&place));
    state.at = at.unwrap_or_else(|| state.at.min(last));
    state.sheet.stay(&state.job);
    state.left_line = state.left_line.min(state.left().len().saturating_sub(1));
    let job = &state.job;
    state
        .instruments
        .retain(|_, id| job.instrument(id).is_some());
    if state.job.person(&state.who).is_none() {
        let who = state.job.usual_person().or(state.job.people.first());
        state.who = who.map(|p| p.id.clone()).unwrap_or_default();
    }
}

/// A change was taken back or made again, and is on the disk: shows its place.
pub(super) fn turned_back(state: &mut State, job: Job, change: &Change, redone: bool) {
    state.job = job;
    let what = if redone { "made again" } else { "taken back" };
    if let Change::Edit(edit) = change {
        plan_again(state);
        record::act::turned(state, edit, what);
        return;
    }
    state.judge();
    state.field.clear();
    let Some(place) = change.place() else {
        return;
    };
    state.walk_to(place);
    state.sheet.go_to(&state.job, place);
    let now = state
        .job
        .entry(place)
        .map_or("nothing".to_string(), |e| e.now.typed.clone());
    state.say(format!("{what}, on disk: {place} is now {now}"));
}
