//! What a key does to the state. File work is returned as an [`Effect`]; the loop alone does it.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use rust_decimal::Decimal;

use crate::checks::{Judge, Verdict};
use crate::job::{Change, Group, Place};

use super::choice::Topic;
use super::choosing::{act_on_choice, open_instruments, open_people, open_reasons};
use super::keys::{Action, look_up, places};
use super::state::{State, View};

/// Work outside the state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Effect {
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

/// Handles a key press.
pub fn key(state: &mut State, event: &KeyEvent) -> Option<Effect> {
    if !state.fits() {
        // Nobody may enter what nobody can see.
        let now = places(View::Help, false, None);
        return (look_up(event, &now) == Some(Action::Leave)).then_some(Effect::Leave);
    }
    let now = places(state.view, state.choice.is_some(), state.empty_answer());
    let action = look_up(event, &now);
    if action != Some(Action::Leave) {
        state.warned = false;
    }
    if let Some(action) = action {
        return act(state, action);
    }
    if let KeyCode::Char(c) = event.code
        && !event
            .modifiers
            .intersects(KeyModifiers::CONTROL | KeyModifiers::ALT)
    {
        return type_char(state, c);
    }
    None
}

/// Handles pasted text: it is typed, and never keeps anything by itself.
pub fn paste(state: &mut State, text: &str) {
    if !state.fits() {
        return;
    }
    if let Some(choice) = &mut state.choice {
        choice.paste(text);
    } else if state.focus().is_some() {
        state.field.paste(text);
    }
}

fn type_char(state: &mut State, c: char) -> Option<Effect> {
    if let Some(choice) = &mut state.choice {
        choice.type_char(c);
    } else if state.focus().is_some() {
        state.field.insert(c);
    } else if state.view == View::Sheet {
        state.complain("this row has no such test: move to a cell that isn't blank");
    }
    None
}

/// Whether something is typed that isn't kept; says so. Nothing typed is ever dropped by moving away.
fn holds(state: &mut State) -> bool {
    let typed = !state.field.is_empty();
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
    if (own_words || !state.field.is_empty()) && !state.warned {
        state.warned = true;
        state.complain(
            "what is typed isn't kept: Enter keeps it; the same key again leaves without it",
        );
        return None;
    }
    Some(Effect::Leave)
}

/// Does what a key, or a line of the help, says.
pub fn act(state: &mut State, action: Action) -> Option<Effect> {
    if state.choice.is_some() {
        return act_on_choice(state, action);
    }
    match action {
        Action::Take => return take(state),
        Action::Previous => step(state, -1),
        Action::Next => step(state, 1),
        Action::PageUp => page(state, -1),
        Action::PageDown => page(state, 1),
        Action::Left if state.view == View::Sheet && state.field.is_empty() => {
            state.sheet.step(&state.job, 0, -1);
        }
        Action::Right if state.view == View::Sheet && state.field.is_empty() => {
            state.sheet.step(&state.job, 0, 1);
        }
        Action::Left
        | Action::Right
        | Action::Home
        | Action::End
        | Action::Backspace
        | Action::Delete => {
            edit(state, action);
        }
        Action::SectionBefore => turn(state, false),
        Action::SectionAfter => turn(state, true),
        Action::NextOpen => {
            if !holds(state) {
                let from = state.at + 1;
                state.go_to_next_open(from);
            }
        }
        Action::OverRange => offer_over_range(state),
        Action::Limitation => open_reasons(state, Topic::Limitation),
        Action::NotApplicable => open_reasons(state, Topic::NotApplicable),
        Action::Undo if !holds(state) => return Some(Effect::Undo),
        Action::Redo if !holds(state) => return Some(Effect::Redo),
        Action::Undo | Action::Redo => {}
        Action::ShowWalk => show(state, View::Walk),
        Action::ShowSheet => show(state, View::Sheet),
        Action::ShowLeft => show(state, View::Left),
        Action::Draft => return Some(Effect::Draft),
        Action::Who => open_people(state),
        Action::Instrument => open_instruments(state),
        Action::Help => {
            if state.view != View::Help {
                state.before_help = state.view;
                state.help_answer = state.empty_answer();
                state.help_line = 0;
                state.view = View::Help;
            }
        }
        Action::Back => back(state),
        Action::Leave => return leave(state),
    }
    None
}

/// Edits what is typed, where there is a field on the screen.
fn edit(state: &mut State, action: Action) {
    if state.focus().is_none() {
        return;
    }
    let field = &mut state.field;
    match action {
        Action::Left => field.left(),
        Action::Right => field.right(),
        Action::Home => field.home(),
        Action::End => field.end(),
        Action::Backspace => field.backspace(),
        Action::Delete => field.delete(),
        _ => {}
    }
}

fn take(state: &mut State) -> Option<Effect> {
    match state.view {
        View::Walk | View::Sheet => take_reading(state),
        View::Left => {
            let place = state.left().get(state.left_line).map(|f| f.place.clone())?;
            go_to(state, &place);
            None
        }
        View::Help => {
            let lines = super::view::help_lines(state.before_help, state.help_answer);
            let action = lines.get(state.help_line).map(|k| k.action)?;
            state.view = state.before_help;
            if action == Action::Help {
                None
            } else {
                act(state, action)
            }
        }
    }
}

fn take_reading(state: &mut State) -> Option<Effect> {
    let place = state.focus()?;
    if state.field.is_empty() {
        if state.view == View::Sheet {
            state.sheet.step(&state.job, 1, 0);
        } else if state.verdicts.of(&place) == Verdict::Open {
            state.complain("nothing typed yet: type the reading, or l if it can't be taken, n if it does not apply");
        } else {
            let from = state.at + 1;
            state.go_to_next_open(from);
        }
        return None;
    }
    let typed = state.field.text().to_string();
    keep(state, &place, &typed)
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
            ", F3 enters freely"
        };
        state.complain(format!(
            "not kept: this step waits for {first}; Ctrl-O on the walk goes to what can be taken now{free}"
        ));
        return None;
    }
    let reading = state.reading(place, typed);
    if let Err(e) = state.job.would_keep(place, &reading) {
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
pub fn kept(state: &mut State, change: &Change) {
    let (Change::Keep { place, .. } | Change::Put { place, .. }) = change;
    let place = place.clone();
    if let Err(e) = state.job.apply(change) {
        state.complain(format!(
            "on disk, but the screen is behind: {e}; leave and open the job again"
        ));
        return;
    }
    state.judge();
    state.field.clear();
    state.choice = None;
    let Some(finding) = state.finding(&place).cloned() else {
        return;
    };
    let verdict = finding.verdict;
    state.say(format!(
        "kept on disk: {place} {}  {} {verdict}",
        finding.value_text(),
        verdict.mark()
    ));
    match state.view {
        View::Sheet => state.sheet.step(&state.job, 1, 0),
        _ if matches!(verdict, Verdict::Outside | Verdict::Query) => {
            let text = format!(
                "{}; leads still on? type it again, or Enter goes on",
                state.message.text
            );
            state.message.text = text;
        }
        _ => {
            let from = state.at + 1;
            state.go_to_next_open(from);
        }
    }
}

/// A change was taken back or made again, and is on the disk: shows its place.
pub fn turned_back(state: &mut State, job: crate::job::Job, place: &Place, redone: bool) {
    state.job = job;
    state.judge();
    state.field.clear();
    if let Some(at) = state.plan.position(place) {
        state.at = at;
        state.scroll = 0;
    }
    state.sheet.go_to(&state.job, place);
    let now = state
        .job
        .entry(place)
        .map_or("nothing".to_string(), |e| e.now.typed.clone());
    let what = if redone { "made again" } else { "taken back" };
    state.say(format!("{what}, on disk: {place} is now {now}"));
}

fn step(state: &mut State, by: isize) {
    match state.view {
        View::Walk => {
            if holds(state) {
                return;
            }
            let last = state.plan.steps().len().saturating_sub(1);
            state.at = state.at.saturating_add_signed(by).min(last);
            state.scroll = 0;
        }
        View::Sheet => {
            if holds(state) {
                return;
            }
            state.sheet.step(&state.job, by, 0);
        }
        View::Left => {
            let last = state.left().len().saturating_sub(1);
            state.left_line = state.left_line.saturating_add_signed(by).min(last);
        }
        View::Help => {
            let last = super::view::help_lines(state.before_help, state.help_answer)
                .len()
                .saturating_sub(1);
            state.help_line = state.help_line.saturating_add_signed(by).min(last);
        }
    }
}

fn page(state: &mut State, by: isize) {
    match state.view {
        // How far there is to scroll is known only when drawing; the view stops at the end of the text.
        View::Walk => state.scroll = state.scroll.saturating_add_signed(by * 3).min(30),
        _ => step(state, by * 10),
    }
}

fn turn(state: &mut State, forward: bool) {
    if !holds(state) {
        state.sheet.turn(&state.job, forward);
    }
}

fn show(state: &mut State, view: View) {
    if state.view == View::Help {
        state.view = state.before_help;
    }
    if state.view == view || holds(state) {
        return;
    }
    let chosen = match state.view {
        View::Left => state.left().get(state.left_line).map(|f| f.place.clone()),
        _ => state.focus(),
    };
    match (view, chosen) {
        (View::Sheet, Some(place)) => state.sheet.go_to(&state.job, &place),
        (View::Walk, Some(place)) if state.view == View::Sheet => {
            if let Some(at) = state.plan.position(&place) {
                state.at = at;
                state.scroll = 0;
            }
        }
        (View::Left, _) => state.left_line = 0,
        _ => {}
    }
    state.view = view;
}

fn go_to(state: &mut State, place: &Place) {
    match state.plan.position(place) {
        Some(at) => {
            state.at = at;
            state.scroll = 0;
            state.view = View::Walk;
        }
        // What the program works out itself has no step: its nearest reading is where to look.
        None => {
            let text = state
                .finding(place)
                .map(|f| f.why.clone())
                .unwrap_or_default();
            state.say(format!("worked out from the record: {text}"));
        }
    }
}

fn back(state: &mut State) {
    if state.view == View::Help {
        state.view = state.before_help;
        return;
    }
    if !state.field.is_empty() {
        state.field.clear();
        state.say("dropped what was typed; nothing that was kept is changed");
        return;
    }
    match state.view {
        View::Walk => {
            state.say("everything kept is on disk; F10 or Ctrl-Q leaves, F1 shows the keys")
        }
        _ => show(state, View::Walk),
    }
}

/// Offers the end of the scale: the one the forms name, or the limit where that is higher (an S type trips later).
fn offer_over_range(state: &mut State) {
    let Some(place) = state.focus() else { return };
    let Some(seat) = state.job.seat(&place) else {
        return;
    };
    let words = state.forms.walk().step(seat.owner.kind(), place.test);
    let Some(end) = words.and_then(|w| w.over.as_ref()) else {
        state.field.insert('>');
        return;
    };
    let rule = Judge::new(&state.job, &state.forms).rule(&seat, place.test);
    let highest = rule.ok().and_then(|r| r.bound.highest());
    let end = match (highest, end.parse::<Decimal>()) {
        (Some(limit), Ok(scale)) if limit > scale => limit.to_string(),
        _ => end.clone(),
    };
    state.field.offer(&format!(">{end}"));
}
