//! Several readings with few keys: marked rows of the sheet, the reading above again, a pasted list.

use std::collections::BTreeSet;

use crate::checks::Verdict;
use crate::job::{Change, Place, Reading};

use super::choice::{Choice, Topic};
use super::field::lines_of;
use super::keeping::{Effect, Refusal, holds, reading_to_keep};
use super::state::{State, View};
use super::vouch;

/// Most readings that are kept together: more than any board has, and a journal line stays one that can be read.
const MOST: usize = 100;

/// Most places that a message names.
const NAMED: usize = 12;

/// Marks the row under the cursor for the next reading, or takes the mark off, and goes down.
pub(super) fn mark(state: &mut State) {
    let row = state.sheet.row;
    if !state.sheet.marked.remove(&row) {
        state.sheet.marked.insert(row);
    }
    state.sheet.step(&state.job, 1, 0);
    say_marked(state, 0);
}

/// Marks every row where the test of this column is open.
pub(super) fn mark_open(state: &mut State) {
    let Some(test) = state.focus().map(|p| p.test) else {
        return;
    };
    let rows = rows_with(state, test);
    let all: Vec<(usize, Place)> = rows
        .into_iter()
        .filter(|(_, place)| {
            state.job.entry(place).is_none() && state.verdicts.of(place) == Verdict::Open
        })
        .collect();
    // One that waits would hold up the others: polarity of a board is a live test, that of its circuits a dead one.
    let ready: BTreeSet<usize> = all
        .iter()
        .filter(|(_, place)| vouch::due(state, place).is_ok())
        .map(|(row, _)| *row)
        .collect();
    let left_out = if ready.is_empty() {
        0
    } else {
        all.len() - ready.len()
    };
    let open = if ready.is_empty() {
        all.into_iter().map(|(row, _)| row).collect()
    } else {
        ready
    };
    if open.is_empty() {
        state.say(format!("no row here has {test} open"));
        return;
    }
    if let Some(first) = open.first().filter(|_| !open.contains(&state.sheet.row)) {
        state.sheet.row = *first;
    }
    state.sheet.marked = open;
    say_marked(state, left_out);
}

fn say_marked(state: &mut State, left_out: usize) {
    let not_yet = match left_out {
        0 => String::new(),
        n => format!("; {n} more can't be taken yet"),
    };
    match state.sheet.marked.len() {
        0 => state.say("no row is marked"),
        n => state.say(format!(
            "{n} row{} marked: the next reading is kept in each that has none yet; Esc takes the marks off{not_yet}",
            if n == 1 { "" } else { "s" }
        )),
    }
}

/// Rows of the section on the sheet that have a test and are of the kind the cursor is at, with the place.
fn rows_with(state: &State, test: crate::job::Test) -> Vec<(usize, Place)> {
    let Some(section) = state.sheet.here(&state.job) else {
        return Vec::new();
    };
    // The same test is another thing at the board itself than at its circuits.
    let kind = section.rows.get(state.sheet.row).map(|s| s.owner.kind());
    let wants = |seat: &crate::job::Seat<'_>| {
        let wanted = state.job.wanted(seat.owner);
        Some(seat.owner.kind()) == kind && wanted.iter().any(|(t, _)| *t == test)
    };
    section
        .rows
        .iter()
        .enumerate()
        .filter(|(_, seat)| wants(seat))
        .map(|(row, seat)| (row, seat.place(test)))
        .collect()
}

/// Keeps one reading in every marked row that has none yet; `None` where no row is marked, so that it is kept where the
/// cursor stands.
pub(super) fn keep_marked(state: &mut State, place: &Place, typed: &str) -> Option<Option<Effect>> {
    if state.view != View::Sheet || state.sheet.marked.is_empty() {
        return None;
    }
    if !state.sheet.marked.contains(&state.sheet.row) {
        state.complain(
            "not kept: the cursor isn't in a marked row; go to one, or Esc takes the marks off",
        );
        return Some(None);
    }
    let places: Vec<(Place, String)> = rows_with(state, place.test)
        .into_iter()
        .filter(|(row, p)| state.sheet.marked.contains(row) && state.job.entry(p).is_none())
        .map(|(_, p)| (p, typed.to_string()))
        .collect();
    if places.len() > MOST {
        state.complain(format!("not kept: more than {MOST} readings at once"));
        return Some(None);
    }
    if places.is_empty() {
        state.complain(
            "not kept: each marked row has a reading already; correct it by itself, without marks",
        );
        return Some(None);
    }
    Some(together(state, &places))
}

/// Asks for several readings to be put on the disk as one, where every one of them may be taken now.
fn together(state: &mut State, readings: &[(Place, String)]) -> Option<Effect> {
    let mut changes = Vec::with_capacity(readings.len());
    for (place, typed) in readings {
        match reading_to_keep(state, place, typed) {
            Ok(reading) => changes.push(Change::Keep {
                place: place.clone(),
                reading,
            }),
            Err(Refusal::Never(why)) => {
                state.complain(format!("none kept: {place}: {why}"));
                return None;
            }
            Err(Refusal::NotYet(first)) => {
                vouch::hold(state, place, typed, &first);
                return None;
            }
        }
    }
    Some(Effect::Keep(Change::Together(changes)))
}

/// Several readings are on the disk and in the job: says where, and names those that need a look.
pub(super) fn kept(state: &mut State, change: &Change) {
    let keeps = change.keeps();
    let Some((first, reading)) = keeps.first() else {
        return;
    };
    let same = keeps.iter().all(|(_, r)| r.typed == reading.typed);
    let named: Vec<String> = keeps
        .iter()
        .take(NAMED)
        .map(|(p, r)| match same {
            true => p.to_string(),
            false => format!("{p} {}", r.typed),
        })
        .collect();
    let more = match keeps.len() - named.len() {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let typed = if same {
        format!(" {}", reading.typed)
    } else {
        String::new()
    };
    let look: Vec<String> = keeps
        .iter()
        .map(|(p, _)| (p, state.verdicts.of(p)))
        .filter(|(_, v)| !matches!(v, Verdict::Within | Verdict::Excused))
        .map(|(p, v)| format!("{} {v} {p}", v.mark()))
        .collect();
    let verdicts = match look.len() {
        0 => {
            let v = state.verdicts.of(first);
            format!("{} {v}", v.mark())
        }
        _ => look.join(", "),
    };
    let waits = |(p, _): &(&Place, &Reading)| state.verdicts.waits_for_countersign(p);
    let countersign = if keeps.iter().any(waits) {
        ", to countersign"
    } else {
        ""
    };
    let text = format!(
        "kept on disk, {} readings: {}{more}{typed}  {verdicts}{countersign}",
        keeps.len(),
        named.join(", ")
    );
    state.say(text);
    let last = state.sheet.marked.last().copied();
    state.sheet.marked.clear();
    if let Some(last) = last {
        state.sheet.row = last;
        state.sheet.step(&state.job, 1, 0);
    }
}

/// Offers the reading of the same test at the place before, as it was typed: Enter keeps it here too.
pub(super) fn repeat(state: &mut State) {
    let Some(place) = state.focus() else { return };
    let before = match state.view {
        View::Sheet => rows_with(state, place.test)
            .into_iter()
            .filter(|(row, _)| *row < state.sheet.row)
            .rev()
            .find_map(|(_, p)| typed_at(state, &p)),
        _ => {
            let steps = state.plan.steps();
            let kind = state.step().map(|s| s.kind);
            steps
                .iter()
                .take(state.at)
                .rev()
                .filter(|s| Some(s.kind) == kind && s.place.test == place.test)
                .find_map(|s| typed_at(state, &s.place))
        }
    };
    match before {
        Some((from, typed)) => {
            state.field.propose(&typed);
            state.say(format!(
                "as at {from}: Enter keeps it here too, typing replaces it"
            ));
        }
        None => state.complain(format!("no {} above this one to repeat", place.test)),
    }
}

fn typed_at(state: &State, place: &Place) -> Option<(Place, String)> {
    let entry = state.job.entry(place)?;
    Some((place.clone(), entry.now.typed.clone()))
}

/// Whether pasted text is a list for the sheet rather than one reading.
pub(super) fn is_list(text: &str) -> bool {
    let text = text.trim_end();
    text.contains('\t') || lines_of(text).len() > 1
}

/// Lays a pasted list over the rows from the cursor down, and tabs over the columns to the right, and asks before any of it is
/// kept. An empty line or cell leaves a place out.
pub(super) fn paste(state: &mut State, text: &str) {
    if holds(state) {
        return;
    }
    if state.sheet.is_list(&state.job) {
        state.complain(
            "each of these is looked at by itself: lists are pasted on boards and arrays",
        );
        return;
    }
    match lay_out(state, text) {
        Ok(readings) => ask(state, readings),
        Err(why) => state.complain(format!("nothing pasted: {why}")),
    }
}

fn lay_out(state: &State, text: &str) -> Result<Vec<(Place, String)>, String> {
    let section = state
        .sheet
        .here(&state.job)
        .ok_or("there is no sheet to paste into")?;
    let tests: Vec<crate::job::Test> = section
        .columns
        .iter()
        .skip(state.sheet.column)
        .filter_map(|c| c.test())
        .collect();
    let first = *tests
        .first()
        .ok_or("this column is of the record: go to a column of readings")?;
    let mut rows = section.rows.iter().skip(state.sheet.row);
    let mut out = Vec::new();
    for (n, line) in lines_of(text.trim_end()).into_iter().enumerate() {
        let cells: Vec<&str> = line.split('\t').map(str::trim).collect();
        if cells.len() > tests.len() {
            return Err(format!(
                "line {} has {} values, and there are {} columns from here on",
                n + 1,
                cells.len(),
                tests.len()
            ));
        }
        // A list of one column passes over rows that have no such test; in a table each line is a row.
        let seat = rows
            .by_ref()
            .find(|seat| {
                let wanted = state.job.wanted(seat.owner);
                cells.len() > 1 || wanted.iter().any(|(t, _)| *t == first)
            })
            .ok_or_else(|| format!("line {} has no row left to go into", n + 1))?;
        let wanted = state.job.wanted(seat.owner);
        for (cell, test) in cells.iter().zip(&tests) {
            if cell.is_empty() {
                continue;
            }
            let place = seat.place(*test);
            if !wanted.iter().any(|(t, _)| t == test) {
                return Err(format!("line {}: there is no {place}", n + 1));
            }
            out.push((place, (*cell).to_string()));
        }
        if out.len() > MOST {
            return Err(format!("more than {MOST} values at once"));
        }
    }
    if out.is_empty() {
        return Err("there is no value in it".into());
    }
    Ok(out)
}

fn ask(state: &mut State, readings: Vec<(Place, String)>) {
    let mut shown = Vec::with_capacity(readings.len());
    let (mut struck, mut outside, mut queried) = (0, 0, 0);
    let judge = state.checks();
    let mut refused = None;
    for (place, typed) in &readings {
        let reading = match reading_to_keep(state, place, typed) {
            Ok(reading) => reading,
            Err(Refusal::Never(why)) => {
                refused = Some(format!("nothing pasted: `{typed}` at {place}: {why}"));
                break;
            }
            Err(Refusal::NotYet(first)) => {
                refused = Some(format!(
                    "nothing pasted: {place} waits for {first}; Ctrl-U takes the reason for going around it, then paste again"
                ));
                break;
            }
        };
        let old = state.job.entry(place).map_or(String::new(), |e| {
            struck += 1;
            format!(", strikes out {}", e.now.typed)
        });
        let verdict = state.job.seat(place).map_or(Verdict::Open, |seat| {
            judge.preview(&seat, place.test, &reading).verdict
        });
        match verdict {
            Verdict::Outside => outside += 1,
            Verdict::Query => queried += 1,
            _ => {}
        }
        let unit = place.test.unit();
        shown.push((
            String::new(),
            format!(
                "{place}  {}  {} {verdict}{old}",
                unit.with_typed(typed),
                verdict.mark()
            ),
        ));
    }
    drop(judge);
    if let Some(refused) = refused {
        state.complain(refused);
        return;
    }
    let n = readings.len();
    let mut lines = vec![
        ("no".to_string(), "no, keep none of them".to_string()),
        (
            "yes".to_string(),
            // A long list hides its end: what needs a look is said here as well.
            [
                (outside, "outside"),
                (queried, "queried"),
                (struck, "strike out what stands there"),
            ]
            .iter()
            .filter(|(count, _)| *count > 0)
            .fold(format!("yes, keep these {n}"), |text, (count, words)| {
                format!("{text}; {count} {words}")
            }),
        ),
    ];
    lines.extend(shown);
    state.sheet.pasted = readings;
    state.say("look at each before you keep them");
    let question = format!("{n} readings from the paste: keep them?");
    state.choice = Some(Choice::new(Topic::Paste, question, lines, 0, false));
}

/// A line of the question about a pasted list was taken.
pub(super) fn answered(state: &mut State, taken: &str) -> Option<Effect> {
    let readings = std::mem::take(&mut state.sheet.pasted);
    if taken == "yes" {
        state.choice = None;
        return together(state, &readings);
    }
    if taken == "no" {
        state.choice = None;
        state.say("nothing of the paste was kept");
        return None;
    }
    state.sheet.pasted = readings;
    None
}
