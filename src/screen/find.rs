//! Finding by typing: every place, every part of the record and every key, narrowed by the words typed.

use std::collections::HashSet;

use crate::guide::{Step, wording};
use crate::job::{Place, Spot};

use super::field::Field;
use super::find_index::Index;
use super::keeping::holds;
use super::keys::{Action, KEYS, Key, When};
use super::record::describe_at;
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

/// A line of the list that isn't put into words yet: only those that are in the window ever are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seen {
    /// A step of the walk, by its index.
    Step(usize),
    /// A finding without a step, by its index.
    Finding(usize),
    /// A part of the record, by its index among the parts.
    Part(usize),
    /// A key.
    Key(&'static Key),
}

/// The lines that have every word typed, at most [`MOST`] of them: places in the order of the walk, then what is worked out,
/// the record, the keys. Words are looked for in what lines share, and no further than the list is long.
pub fn seen(state: &State) -> Vec<Seen> {
    seen_in(state, &state.find_index, state.find.words.text())
}

/// Whether the lines as they are taken apart are those of a fresh look. For tests.
pub(super) fn is_up_to_date(state: &State) -> bool {
    ["", "1", "zs", "label r", "record"].iter().all(|typed| {
        let afresh = seen_in(state, &Index::default(), typed);
        seen_in(state, &state.find_index, typed) == afresh
    })
}

fn seen_in(state: &State, index: &Index, typed: &str) -> Vec<Seen> {
    let typed = typed.to_lowercase();
    let words: Vec<&str> = typed.split_whitespace().collect();
    let in_keys = || {
        let found = keys(state).filter(|key| {
            let text = lower(&key_hit(key));
            words.iter().all(|w| text.contains(w))
        });
        found.map(Seen::Key)
    };
    let steps = index.steps.borrow_mut().of_steps(state, &words, MOST);
    let mut out: Vec<Seen> = steps.into_iter().map(Seen::Step).collect();
    // What comes later is only looked at where what comes before doesn't fill the list.
    if out.len() < MOST {
        let mut lines = index.findings.borrow_mut();
        let findings = lines.of_findings(state, &words, MOST - out.len());
        out.extend(findings.into_iter().map(Seen::Finding));
    }
    if out.len() < MOST {
        let mut parts = index.parts.borrow_mut();
        let parts = parts.found(state, &words, MOST - out.len());
        out.extend(parts.into_iter().map(Seen::Part));
    }
    if out.len() < MOST {
        out.extend(in_keys().take(MOST - out.len()));
    }
    out
}

/// A line in words; `None` where what it was found in is gone.
pub fn hit(state: &State, seen: Seen) -> Option<Hit> {
    match seen {
        Seen::Step(at) => {
            let step = state.plan.steps().get(at)?;
            Some(place(state, &step.place, name_of(state, step), &step.title))
        }
        Seen::Finding(at) => {
            let at = &state.findings.get(at)?.place;
            Some(place(state, at, at.test.heading(), &owner_of(state, at)))
        }
        Seen::Part(at) => {
            let spot = state.find_index.parts.borrow().spot(state, at)?;
            part(state, spot)
        }
        Seen::Key(key) => Some(key_hit(key)),
    }
}

/// What a line shows, in small letters.
pub(super) fn lower(hit: &Hit) -> String {
    format!("{} {}", hit.name, hit.says).to_lowercase()
}

/// What a step is called.
pub(super) fn name_of<'a>(state: &'a State, step: &Step) -> &'a str {
    wording(&state.forms, step).map_or(step.place.test.heading(), |(_, words)| words.name.as_str())
}

/// The owner of what is worked out.
pub(super) fn owner_of(state: &State, place: &Place) -> String {
    let seat = state.job.seat(place);
    seat.map_or(String::new(), |s| s.title())
}

fn place(state: &State, place: &Place, name: &str, owner: &str) -> Hit {
    let verdict = state.verdicts.of(place);
    Hit {
        goal: Goal::Place(place.clone()),
        name: place.to_string(),
        says: format!("{} {verdict}  {name} · {owner}", verdict.mark()),
    }
}

pub(super) fn part(state: &State, spot: Spot) -> Option<Hit> {
    let (_, words) = describe_at(&state.job, &spot)?;
    Some(Hit {
        name: spot.to_string(),
        says: format!("record: {words}"),
        goal: Goal::Part(spot),
    })
}

fn key_hit(key: &Key) -> Hit {
    Hit {
        goal: Goal::Key(key.action),
        name: key.shown.to_string(),
        says: format!("key: {}", key.says),
    }
}

/// Keys that count on the view the list was opened on, and everywhere; not those that edit what is typed.
fn keys(state: &State) -> impl Iterator<Item = &'static Key> {
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
    let last = seen(state).len().saturating_sub(1);
    state.find.line = state.find.line.saturating_add_signed(by).min(last);
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::forms::Forms;
    use crate::job::text::parse;
    use crate::screen::look::Look;
    use crate::screen::record::{Row, describe, rows};
    use std::rc::Rc;

    fn parts(state: &State) -> impl Iterator<Item = Hit> {
        rows(&state.job).into_iter().filter_map(|row| {
            let Row::Part(spot) = row else { return None };
            let (copy, _) = state.job.part(&spot)?;
            let (_, words) = describe(&copy, &spot);
            Some(Hit {
                name: spot.to_string(),
                says: format!("record: {words}"),
                goal: Goal::Part(spot),
            })
        })
    }

    /// Every line there is.
    fn every(state: &State) -> impl Iterator<Item = Hit> {
        let steps = state.plan.steps().iter();
        let findings = state.findings.iter();
        let place_of = |step: &Step| place(state, &step.place, name_of(state, step), &step.title);
        let worked_out = |at: &Place| place(state, at, at.test.heading(), &owner_of(state, at));
        steps
            .map(place_of)
            .chain(
                findings
                    .filter(|f| state.plan.position(&f.place).is_none())
                    .map(move |f| worked_out(&f.place)),
            )
            .chain(parts(state))
            .chain(keys(state).map(key_hit))
    }

    /// What is found is what every line would say, were each put into words.
    #[test]
    fn what_is_found_is_what_the_lines_say() {
        let samples = [
            include_str!("../../sample-jobs/mill-yard.ron"),
            include_str!("../../sample-jobs/harbour-row.ron"),
        ];
        let at = chrono::DateTime::parse_from_rfc3339("2026-06-19T09:00:00+01:00").unwrap();
        let mut found = 0;
        for sample in samples {
            let job = parse("a sample", sample).unwrap();
            let forms = Rc::new(Forms::embedded().unwrap());
            let mut state = State::new(job, forms, at, Look::FULL);
            let lines: Vec<(Hit, String)> = every(&state).map(|h| (h.clone(), lower(&h))).collect();
            let mut typed: Vec<String> = [
                "",
                "/",
                "//",
                "·",
                "z",
                "zs",
                "/z",
                "s/",
                "!",
                ".",
                "=",
                "-",
                "?",
                "~",
                "open",
                "OUTSIDE",
                "o/",
                "within r",
                "key",
                "record",
                "record: m",
                "zs open",
                "1/ir",
                "m/1/zs m",
                "no such",
                "£",
                "a e",
                "1 2 3",
                "/ / open",
                "label:",
                "f2",
                "Ω",
                "…",
                "ab·",
                "excused n",
            ]
            .map(str::to_string)
            .to_vec();
            // Pieces of what is there, across whatever stands between.
            for (_, text) in lines.iter().step_by(7) {
                let chars: Vec<char> = text.chars().collect();
                for n in [3, 5, 8, 13] {
                    let from = chars.len() * n / 17;
                    typed.push(chars.iter().skip(from).take(n).collect());
                }
            }
            for words in typed {
                state.find.words.clear();
                assert_eq!(state.find.words.paste(&words), Ok(()));
                let small = words.to_lowercase();
                let want: Vec<&Hit> = lines
                    .iter()
                    .filter(|(_, text)| small.split_whitespace().all(|w| text.contains(w)))
                    .map(|(hit, _)| hit)
                    .take(MOST)
                    .collect();
                let have = seen(&state).into_iter().filter_map(|s| hit(&state, s));
                let have: Vec<Hit> = have.collect();
                assert_eq!(have.iter().collect::<Vec<_>>(), want, "{words:?}");
                found += have.len();
            }
        }
        assert!(found > 1_000, "{found}");
    }
}
