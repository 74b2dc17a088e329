//! Keeping: what may be asked of the disk, and what the state does once it is done.

use crate::checks::Verdict;
use crate::guide::Plan;
use crate::job::{Change, Function, Job, Place, Reading};

use super::bring;
use super::record;
use super::several;
use super::state::{State, View};
use super::take_back;
use super::vouch;

/// Work outside the state.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(clippy::large_enum_variant)] // one at a time, made and used at once
pub(super) enum Effect {
    /// Put a change on the disk, then make it.
    Keep(Change),
    /// Take back the last change.
    Undo,
    /// Make it again.
    Redo,
    /// Draft the PDF beside the job file.
    Draft,
    /// Look for files of readings beside the job.
    Look,
    /// Read one, by a mapping.
    Read {
        /// The file, as it was chosen or typed.
        file: String,
        /// The mapping.
        mapping: String,
    },
    /// Open for writing after all, as somebody decided.
    GoOn,
    /// Issue the paper: record it in the job, and write it beside the job file.
    Issue,
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

/// Asks for a reading to be put on the disk, where it may be taken now; with marked rows on the sheet, in each of them.
pub(super) fn keep(state: &mut State, place: &Place, typed: &str) -> Option<Effect> {
    if let Some(asked) = several::keep_marked(state, place, typed) {
        return asked;
    }
    match reading_to_keep(state, place, typed) {
        Ok(reading) => Some(Effect::Keep(Change::Keep {
            place: place.clone(),
            reading,
        })),
        Err(Refusal::Never(why)) => {
            state.complain(format!("not kept: {why}"));
            None
        }
        Err(Refusal::NotYet(first)) => {
            vouch::hold(state, place, typed, &first);
            None
        }
    }
}

/// Why a reading isn't kept now.
pub(super) enum Refusal {
    /// It may not be, and no reason helps.
    Never(String),
    /// It waits for this place; a qualified person may go around that, with a reason.
    NotYet(Place),
}

/// The reading that would be kept at a place now, with the reason for going around what it waits for.
pub(super) fn reading_to_keep(
    state: &State,
    place: &Place,
    typed: &str,
) -> Result<Reading, Refusal> {
    if let Some(why) = &state.read_only {
        return Err(Refusal::Never(why.clone()));
    }
    let mut reading = state.reading(place, typed);
    // Before anybody is asked for a reason: what can't be kept at all needs none.
    state.would_keep(place, &reading).map_err(Refusal::Never)?;
    reading.around = vouch::due(state, place)?;
    Ok(reading)
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
        record::done::kept(state, edit);
        return;
    }
    state.judge_after(change);
    if let Change::Countersign { place, by, .. } = change {
        vouch::countersigned(state, place, by);
        return;
    }
    if let Change::Put { place, .. } = change {
        take_back::taken_back(state, place);
        return;
    }
    state.field.clear();
    state.choice = None;
    if state.view == View::Bring {
        bring::kept(state, change);
        return;
    }
    if let Change::Together(_) = change {
        several::kept(state, change);
        return;
    }
    let Some(place) = change.places().first().copied().cloned() else {
        return;
    };
    let Some(finding) = state.finding(&place).cloned() else {
        return;
    };
    let verdict = finding.verdict;
    let mut text = format!(
        "kept on disk: {place} {}  {} {verdict}",
        finding.value_text(),
        verdict.mark()
    );
    if finding.waits_for_countersign {
        text.push_str(", to countersign");
    }
    match state.view {
        View::Sheet => {
            state.say(text);
            state.sheet.step(&state.job, 1, 0);
        }
        _ if matches!(verdict, Verdict::Outside | Verdict::Query) => {
            // What is looked at, tried or written has no leads.
            let leads = match Function::of(place.test) {
                Some(_) => "leads still on? ",
                None => "",
            };
            state.say(format!("{text}; {leads}type it again, or Enter goes on"));
        }
        _ => {
            let from = state.at + 1;
            let held = state.obstacle(from).is_some_and(|first| first == place);
            if held && finding.waits_for_countersign {
                state.go_to_next_open(from);
                text.push_str(&format!(
                    "; what comes next waits until a qualified person has countersigned it (F6 changes who enters). {}",
                    meanwhile(state)
                ));
                state.say(text);
                return;
            }
            state.say(text);
            state.go_to_next_open(from);
        }
    }
}

/// What may be done until then.
fn meanwhile(state: &State) -> String {
    match state.step() {
        Some(step) if state.view == View::Walk => format!("Until then: {}", step.place),
        _ => "Nothing can be taken until then".into(),
    }
}

/// Circuits, boards, people or instruments may have come or gone: everything that names them is made again, and the walk and
/// the sheet stay where they were as far as that is still there.
pub(super) fn plan_again(state: &mut State) {
    let walk = state.step().map(|s| s.place.clone());
    state.plan = Plan::in_order(&state.job, &state.forms, state.order);
    state.judge();
    let last = state.plan.steps().len().saturating_sub(1);
    let at = walk.and_then(|place| state.plan.position(&place));
    state.at = at.unwrap_or_else(|| state.at.min(last));
    state.sheet.stay(&state.job);
    state.left_line = state.left_line.min(state.left_count().saturating_sub(1));
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
        record::done::turned(state, edit, what);
        return;
    }
    state.judge_after(change);
    state.field.clear();
    state.sheet.marked.clear();
    let places = change.places();
    let Some(place) = places.first().copied() else {
        return;
    };
    state.walk_to(place);
    state.sheet.go_to(&state.job, place);
    bring::refresh(state);
    if places.len() > 1 {
        // Of a file there may be thousands.
        const NAMED: usize = 100;
        let named: Vec<String> = places.iter().take(NAMED).map(|p| p.to_string()).collect();
        let more = match places.len() - named.len() {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        state.say(format!(
            "{what}, on disk, {} readings: {}{more}",
            places.len(),
            named.join(", ")
        ));
        return;
    }
    let now = state
        .job
        .entry(place)
        .map_or("nothing".to_string(), |e| e.now.typed.clone());
    let waits = match state.verdicts.waits_for_countersign(place) {
        true => ", to countersign",
        false => "",
    };
    state.say(format!("{what}, on disk: {place} is now {now}{waits}"));
}
