//! Jumping to the next place with a verdict.

use crate::checks::Verdict;
use crate::job::Place;

use super::keeping::holds;
use super::state::{State, View};
use super::vouch;

/// Goes to the next place with a verdict, round and round: on the walk, on the sheet, or on the list of what is left. What is
/// worked out from the record has no step: the list of what is left shows it.
pub(super) fn to_next(state: &mut State, verdict: Verdict) {
    if holds(state) {
        return;
    }
    match state.view {
        View::Left => along_the_list(state, verdict),
        View::Sheet => along_the_sheet(state, verdict),
        _ if verdict == Verdict::Open => {
            let led = state.view == View::Walk && vouch::to_what_holds_up(state, false);
            if !led {
                let from = state.at + 1;
                state.go_to_next_open(from);
            }
        }
        _ => along_the_walk(state, verdict),
    }
}

fn along_the_list(state: &mut State, verdict: Verdict) {
    let left = state.left();
    let n = left.len();
    let next = (state.left_line + 1..n)
        .chain(0..n.min(state.left_line + 1))
        .find(|i| left.get(*i).is_some_and(|f| f.verdict == verdict));
    match next {
        Some(line) => state.left_line = line,
        None => state.say(format!("nothing here is {verdict}")),
    }
}

/// Goes to the next line to countersign on the list of what is left, round and round: they are at the end of what blocks, behind all
/// that is open.
pub(super) fn to_countersign(state: &mut State) {
    let left = state.left();
    let n = left.len();
    let next = (state.left_line + 1..n)
        .chain(0..n.min(state.left_line + 1))
        .find(|i| left.get(*i).is_some_and(|f| f.waits_for_countersign));
    match next {
        Some(line) => state.left_line = line,
        None => state.say("nothing here is to countersign"),
    }
}

/// The next step with a verdict after a place, in the order of the walk.
fn next_step(state: &State, from: usize, verdict: Verdict) -> Option<Place> {
    let steps = state.plan.steps();
    let after = steps.iter().skip(from);
    let mut round = after.chain(steps.iter().take(from));
    round
        .find(|s| {
            state
                .finding(&s.place)
                .is_some_and(|f| f.verdict == verdict)
        })
        .map(|s| s.place.clone())
}

fn along_the_walk(state: &mut State, verdict: Verdict) {
    match next_step(state, state.at + 1, verdict) {
        Some(place) => {
            state.walk_to(&place);
            state.view = View::Walk;
        }
        None => on_the_list(state, verdict),
    }
}

fn along_the_sheet(state: &mut State, verdict: Verdict) {
    let here = state.focus().and_then(|p| state.plan.position(&p));
    match next_step(state, here.map_or(state.at, |at| at + 1), verdict) {
        Some(place) => state.sheet.go_to(&state.job, &place),
        None => on_the_list(state, verdict),
    }
}

/// Where no step has the verdict, something that is worked out may.
fn on_the_list(state: &mut State, verdict: Verdict) {
    let line = state.left().iter().position(|f| f.verdict == verdict);
    match line {
        Some(line) => {
            state.view = View::Left;
            state.left_line = line;
            state.say(format!(
                "no reading is {verdict}; this one is worked out from the record"
            ));
        }
        None => state.say(format!("nothing is {verdict}")),
    }
}
