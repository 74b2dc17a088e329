//! Finding by typing: every place, every part of the record and every key, narrowed by the words typed.

use std::collections::HashSet;

use crate::guide::wording;
use crate::job::{Place, Spot};

use super::field::Field;
use super::keeping::holds;
use super::keys::{Action, KEYS, When};
use super::record::{Row, describe, rows};
use super::state::{State, View};
use super::update::uncover;

/// Most lines that are listed; whoever has more types another word.
const MOST: usize = 500;

/// What was typed, and where the list was opened.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Find {
    /// Words, each of which a line has to have.
    pub words: Field,
    /// Selected line.
    pub line: usize,
    /// The view to go back to.
    pub from: Option<View>,
}

/// What a line leads to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Goal {
    /// A place of a reading or of a finding.
    Place(Place),
    /// A part of the record.
    Part(Spot),
    /// What a key does.
    Key(Action),
}

/// A line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hit {
    /// What it leads to.
    pub goal: Goal,
    /// Place, part or key.
    pub name: String,
    /// What it is, in words.
    pub says: String,
}

/// The lines that have every word typed, at most [`MOST`] of them: places in the order of the walk, then what is worked out,
/// the record, the keys.
pub fn hits(state: &State) -> Vec<Hit> {
    let typed = state.find.words.text().to_lowercase();
    let words: Vec<&str> = typed.split_whitespace().collect();
    let fits = |hit: &Hit| {
        let text = format!("{} {}", hit.name, hit.says).to_lowercase();
        words.iter().all(|w| text.contains(w))
    };
    places(state)
        .chain(parts(state))
        .chain(keys(state))
        .filter(fits)
        .take(MOST)
        .collect()
}

fn places(state: &State) -> impl Iterator<Item = Hit> {
    let steps = state.plan.steps().iter().map(|step| {
        let name = wording(&state.forms, step)
            .map_or(step.place.test.heading(), |(_, words)| words.name.as_str());
        place(state, &step.place, name, &step.title)
    });
    let worked_out = state
        .findings
        .iter()
        .filter(|f| state.plan.position(&f.place).is_none())
        .map(|f| {
            let owner = state
                .job
                .seat(&f.place)
                .map_or(String::new(), |s| s.title());
            place(state, &f.place, f.place.test.heading(), &owner)
        });
    steps.chain(worked_out)
}

fn place(state: &State, place: &Place, name: &str, owner: &str) -> Hit {
    let verdict = state.verdicts.of(place);
    Hit {
        goal: Goal::Place(place.clone()),
        name: place.to_string(),
        says: format!("{} {verdict}  {name} · {owner}", verdict.mark()),
    }
}

fn parts(state: &State) -> impl Iterator<Item = Hit> {
    rows(&state.job).into_iter().filter_map(|row| {
        let Row::Part(spot) = row else { return None };
        let (part, _) = state.job.part(&spot)?;
        let (_, words) = describe(&part, &spot);
        Some(Hit {
            name: spot.to_string(),
            says: format!("record: {words}"),
            goal: Goal::Part(spot),
        })
    })
}

/// Keys that count on the view the list was opened on, and everywhere; not those that edit what is typed.
fn keys(state: &State) -> impl Iterator<Item = Hit> {
    let here = match state.find.from {
        Some(View::Sheet) => When::Sheet,
        Some(View::Left) => When::Left,
        Some(View::Record) => When::Record,
        // These two lead to each other.
        Some(View::History) => When::History,
        _ => When::Walk,
    };
    let mut seen = HashSet::new();
    let reading = matches!(state.find.from, Some(View::Walk | View::Sheet));
    KEYS.iter()
        .filter(move |k| {
            k.when == When::Always
                || k.when == here
                || (reading && matches!(k.when, When::EmptyReading | When::EmptyNumber))
        })
        .filter(|k| !k.action.edits_text() && k.action != Action::Find)
        .filter(move |k| seen.insert(k.action))
        .map(|k| Hit {
            goal: Goal::Key(k.action),
            name: k.shown.to_string(),
            says: format!("key: {}", k.says),
        })
}

/// Opens the list.
pub(super) fn open(state: &mut State) {
    if state.view == View::Find {
        state.say("type words to narrow the list; Esc goes back");
        return;
    }
    if holds(state) {
        return;
    }
    uncover(state);
    state.find = Find {
        from: Some(state.view),
        ..Find::default()
    };
    state.view = View::Find;
}

/// Closes it; the view is the one it was opened on.
pub(super) fn close(state: &mut State) {
    state.view = state.find.from.take().unwrap_or(View::Walk);
    state.find.words.clear();
}

/// Moves the selection.
pub(super) fn step(state: &mut State, by: isize) {
    let last = hits(state).len().saturating_sub(1);
    state.find.line = state.find.line.saturating_add_signed(by).min(last);
}
