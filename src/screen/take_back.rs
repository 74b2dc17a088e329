//! Taking a false entry back, whenever it was made: it stays legible in the record, and nothing stands in its place.

use crate::job::{Change, Place};

use super::choice::{Choice, Topic};
use super::keeping::{Effect, holds};
use super::state::State;

/// Asks whether what stands at the place at hand is a false entry.
pub(super) fn ask(state: &mut State) {
    if holds(state) {
        return;
    }
    let Some(place) = state.focus() else {
        state.complain("no reading is selected here that could be taken back");
        return;
    };
    if let Err(why) = state.job.may_take_back(&place, &state.who) {
        state.complain(format!("not taken back: {why}"));
        return;
    }
    let stands = state.job.entry(&place).map(|e| e.now.typed.clone());
    let question = format!(
        "take back {} at {place}, as a false entry?",
        stands.unwrap_or_default()
    );
    let lines = vec![
        (
            "no".to_string(),
            "no, it stays; what was measured is taken again instead".to_string(),
        ),
        (
            "yes".to_string(),
            "yes, it was never read here; the paper lists it as taken back".to_string(),
        ),
    ];
    state.choice = Some(Choice::new(Topic::TakeBack, question, lines, 0, false));
}

/// What was answered.
pub(super) fn chosen(state: &mut State, taken: &str) -> Option<Effect> {
    state.choice = None;
    let place = state.focus()?;
    if taken != "yes" {
        state.say("nothing taken back");
        return None;
    }
    let change = Change::take_back(place, &state.who, state.now);
    Some(Effect::Keep(change))
}

/// It is on the disk.
pub(super) fn taken_back(state: &mut State, place: &Place) {
    state.field.clear();
    state.say(format!(
        "taken back, on disk: nothing stands at {place} now; the record keeps what stood there"
    ));
}
