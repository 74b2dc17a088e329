//! What the record shows and says once an edit is on the disk.

use crate::job::{Edit, Part, Spot};
use crate::screen::state::{State, View};

use super::act::{open, part, select, step, stop_typing};
use super::form::{Field, rows_of};

/// What the last edit set aside, in words.
fn set_aside(state: &State) -> String {
    let Some(last) = state.job.edits.last() else {
        return String::new();
    };
    let first = last.set_aside.first().map(|(p, _)| p.to_string());
    match (last.set_aside.len(), first) {
        (1, Some(place)) => format!("; the reading {place} is set aside"),
        (n, Some(place)) => format!("; {n} readings are set aside, such as {place}"),
        _ => String::new(),
    }
}

/// The address of the part that an edit leaves behind.
fn left_by(state: &State, edit: &Edit) -> Option<Spot> {
    let spot = edit.now.as_ref()?.spot_like(&edit.spot)?;
    Some(match spot {
        Spot::Observation(at) => {
            let last = state.job.observations.len().saturating_sub(1);
            Spot::Observation(edit.to.unwrap_or(at).min(last))
        }
        spot => spot,
    })
}

/// Puts the cursor where the next text of a list is typed, or past a list that was given as a whole. Returns whether it was
/// a list.
fn to_end_of_list(state: &mut State) -> bool {
    let Some((path, whole)) = state.record.list.take() else {
        return false;
    };
    let rows = part(state).map_or_else(Vec::new, |(_, p)| rows_of(&p));
    let more = rows
        .iter()
        .position(|f| matches!(f, Field::More(e) if e.path == path));
    if let Some(at) = more {
        let last = rows.len().saturating_sub(1);
        state.record.field = (at + usize::from(whole)).min(last);
    }
    more.is_some()
}

/// An edit is on the disk: says so, and goes on.
pub(in crate::screen) fn kept(state: &mut State, edit: &Edit) {
    stop_typing(state);
    state.choice = None;
    let said = format!("kept on disk: {}{}", state.record.said, set_aside(state));
    let renamed = rename_who(state, edit);
    match left_by(state, edit) {
        Some(spot) if state.record.adding => {
            open(state, spot);
            // Its id is proposed already, and whether it is as on site comes last.
            let id = part(state).and_then(|(_, p)| {
                let rows = rows_of(&p);
                rows.iter().position(|f| f.entry().path == "id.")
            });
            state.record.field = id.map_or(0, |at| at + 1);
        }
        Some(spot) => {
            let moved = edit.to.is_some();
            select(state, &spot);
            if state.view == View::Form {
                state.record.spot = Some(spot);
                if !moved && !to_end_of_list(state) {
                    step(state, 1);
                }
            }
        }
        None => {
            state.view = View::Record;
            select(state, &edit.spot);
        }
    }
    state.record.adding = false;
    state.say(format!("{said}{renamed}"));
}

/// Whoever is entering stays so under a new id; somebody else enters where they were removed.
fn rename_who(state: &mut State, edit: &Edit) -> String {
    if let (Spot::Person(old), Some(Part::Person(now))) = (&edit.spot, &edit.now)
        && *old == edit.by
    {
        state.who.clone_from(&now.id);
    }
    match state.job.person(&state.who) {
        Some(p) if edit.now.is_none() && edit.by != p.id => {
            format!("; now entering: {}", p.called())
        }
        _ => String::new(),
    }
}

/// An edit was taken back or made again, and is on the disk: shows where.
pub(in crate::screen) fn turned(state: &mut State, edit: &Edit, what: &str) {
    stop_typing(state);
    rename_who(state, edit);
    let how = state
        .job
        .edits
        .last()
        .map_or(String::new(), |e| e.how.join(", "));
    let how: String = how.chars().take(200).collect();
    match left_by(state, edit) {
        Some(spot) if matches!(state.view, View::Record | View::Form) => {
            select(state, &spot);
            let same = state.record.spot.as_ref() == Some(&edit.spot);
            if state.view == View::Form && same {
                state.record.spot = Some(spot);
            } else if state.view == View::Form {
                state.view = View::Record;
            }
        }
        Some(spot) => select(state, &spot),
        None => {
            if state.view == View::Form {
                state.view = View::Record;
            }
            select(state, &edit.spot);
        }
    }
    if state.view == View::Form {
        step(state, 0);
    }
    state.say(format!(
        "{what}, on disk: {} {how}{}",
        edit.spot,
        set_aside(state)
    ));
}
