//! What a key does to the state. File work is returned as an [`Effect`]; the sitting alone does it.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use crate::checks::Verdict;
use crate::job::Place;

use super::bring;
use super::choice::Topic;
use super::choosing::{act_on_choice, draft, open_instruments, open_people, open_reasons};
use super::field::Field;
use super::find::{self, Goal};
use super::jump;
use super::keeping::{Effect, holds, keep, leave};
use super::keys::{Action, look_up, places};
use super::learn;
use super::map;
use super::past;
use super::record;
use super::several;
use super::state::{Message, State, View};
use super::take_back;
use super::vouch;

/// Handles a key press.
pub(super) fn key(state: &mut State, event: &KeyEvent) -> Option<Effect> {
    let (passing, said) = (state.said.take_passing(), state.said.count());
    let effect = pressed(state, event);
    if passing && said == state.said.count() {
        state.message = Message {
            text: String::new(),
            error: false,
        };
    }
    vouch::forget(state);
    effect
}

fn pressed(state: &mut State, event: &KeyEvent) -> Option<Effect> {
    if !state.fits() {
        bring::forget(state);
        // Nobody may enter what nobody can see.
        let now = places(View::Help, false, None);
        return (look_up(event, &now) == Some(Action::Leave)).then_some(Effect::Leave);
    }
    let action = look_up(event, &state.places());
    if action != Some(Action::Leave) {
        state.warned = false;
    }
    if action != Some(Action::Take) {
        bring::forget(state);
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
pub(super) fn paste(state: &mut State, text: &str) {
    bring::forget(state);
    if !state.fits() {
        return;
    }
    let pasted = if let Some(choice) = &mut state.choice {
        choice.paste(text)
    } else if state.view == View::Form {
        record::act::paste(state, text)
    } else if state.view == View::Find {
        state.find.line = 0;
        state.find.words.paste(text)
    } else if state.view == View::Sheet && several::is_list(text) {
        several::paste(state, text);
        Ok(())
    } else if state.focus().is_some() {
        state.field.paste(text)
    } else {
        Ok(())
    };
    if let Err(lines) = pasted {
        let where_to = match state.view {
            View::Walk if state.choice.is_none() => "; a list goes onto the sheet (F3)",
            _ => "",
        };
        state.complain(format!(
            "nothing pasted: it has {lines} lines, and one fits here{where_to}"
        ));
    }
}

fn type_char(state: &mut State, c: char) -> Option<Effect> {
    if let Some(choice) = &mut state.choice {
        choice.type_char(c);
    } else if state.view == View::Form {
        record::act::type_char(state, c);
    } else if state.view == View::Find {
        state.find.words.insert(c);
        state.find.line = 0;
    } else if state.focus().is_some() {
        state.field.insert(c);
    } else if state.view == View::Sheet {
        state.complain("this row has no such test: move to a cell that isn't blank");
    }
    None
}

/// Does what a key, or a line of the help, says.
pub(super) fn act(state: &mut State, action: Action) -> Option<Effect> {
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
        Action::Home | Action::End if state.view == View::Sheet && state.field.is_empty() => {
            state.sheet.edge(&state.job, action == Action::End);
        }
        Action::Left if state.view == View::Map => map::step(state, 0, -1),
        Action::Right if state.view == View::Map => map::step(state, 0, 1),
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
        Action::NextOpen if state.view == View::Record => record::act::next_to_do(state),
        Action::NextOpen => jump::to_next(state, Verdict::Open),
        Action::NextToSign => jump::to_countersign(state),
        Action::NextOutside => jump::to_next(state, Verdict::Outside),
        Action::NextQuery => jump::to_next(state, Verdict::Query),
        Action::Repeat => several::repeat(state),
        Action::Bring => return bring::begin(state),
        Action::Mark if state.view == View::Bring => bring::mark(state),
        Action::MarkOpen if state.view == View::Bring => bring::mark_all(state),
        Action::Mark => several::mark(state),
        Action::MarkOpen => several::mark_open(state),
        Action::TurnOrder if !holds(state) => state.turn_order(),
        Action::TurnOrder => {}
        Action::Find => find::open(state),
        Action::OverRange => offer_over_range(state),
        Action::Limitation => open_reasons(state, Topic::Limitation),
        Action::NotApplicable => open_reasons(state, Topic::NotApplicable),
        Action::Undo if !holds(state) => return Some(Effect::Undo),
        Action::Redo if !holds(state) => return Some(Effect::Redo),
        Action::Undo | Action::Redo => {}
        Action::ShowWalk => show(state, View::Walk),
        Action::ShowSheet => show(state, View::Sheet),
        Action::ShowLeft => show(state, View::Left),
        Action::ShowRecord => record::act::show(state),
        Action::ShowMap => map::show(state),
        Action::Add => record::act::open_starts(state),
        Action::Copy => return record::act::copy(state),
        Action::AsOnSite => return record::act::as_on_site(state),
        Action::Remove => record::act::ask_remove(state),
        Action::MoveUp => return record::act::shift(state, -1),
        Action::MoveDown => return record::act::shift(state, 1),
        Action::LineEnd => record::act::line_end(state),
        Action::Draft => return draft(state),
        Action::Who => open_people(state),
        Action::Instrument => open_instruments(state),
        Action::Countersign => return vouch::countersign(state),
        Action::Around => vouch::ask(state),
        Action::TakeBack => take_back::ask(state),
        Action::Why => open_reasons_page(state),
        Action::Learn => learn::open(state),
        Action::ShowFound => past::open(state, View::Found),
        Action::ShowHistory => past::open(state, View::History),
        Action::Help => {
            if state.view != View::Help {
                state.before_help = state.view;
                state.help_answer = state.empty_answer();
                state.help_line = 0;
                state.view = View::Help;
            } else {
                state.say_for_now("these are the keys; Esc goes back");
            }
        }
        Action::Back => back(state),
        Action::Leave => return leave(state),
    }
    None
}

/// Edits what is typed, where there is a field on the screen.
fn edit(state: &mut State, action: Action) {
    if state.view == View::Find {
        state.find.line = 0;
        edit_field(&mut state.find.words, action);
        return;
    }
    if state.view == View::Form && !record::act::begin_editing(state, action) {
        return;
    }
    if state.view != View::Form && state.focus().is_none() {
        return;
    }
    edit_field(&mut state.field, action);
}

fn edit_field(field: &mut Field, action: Action) {
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
            match state.left_at(state.left_line).map(|f| f.place.clone()) {
                Some(place) => go_to(state, &place),
                None => state.say("nothing is left to go to; F5 drafts the PDF"),
            }
            None
        }
        View::Record | View::Form => record::act::take(state),
        View::Map => {
            map::take(state);
            None
        }
        View::Bring => bring::keep(state),
        View::Why | View::Learn => {
            close_top(state);
            None
        }
        View::Found | View::History => {
            past::take(state);
            None
        }
        View::Find => take_found(state),
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

/// Goes where the selected line leads, or does what its key does.
fn take_found(state: &mut State) -> Option<Effect> {
    let line = find::seen(state).into_iter().nth(state.find.line);
    let Some(hit) = line.and_then(|line| find::hit(state, line)) else {
        state.complain("nothing has all these words: type others, or Esc goes back");
        return None;
    };
    let from = state.find.from;
    uncover(state);
    match hit.goal {
        Goal::Place(place)
            if from == Some(View::Sheet) && state.plan.position(&place).is_some() =>
        {
            state.sheet.go_to(&state.job, &place);
        }
        Goal::Place(place) => go_to(state, &place),
        Goal::Part(spot) => record::act::open(state, spot),
        Goal::Key(action) => return act(state, action),
    }
    None
}

fn take_reading(state: &mut State) -> Option<Effect> {
    if let (View::Sheet, Some((spot, entry))) = (state.view, state.sheet.detail(&state.job)) {
        record::act::open_at(state, spot, entry);
        state.say("a field of the record: change it here; F3 goes back to the sheet");
        return None;
    }
    if state.view == View::Sheet && state.focus().is_none() {
        state.sheet.step(&state.job, 1, 0);
        return None;
    }
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

fn step(state: &mut State, by: isize) {
    if matches!(state.view, View::Walk | View::Sheet | View::Form) && holds(state) {
        return;
    }
    match state.view {
        View::Walk => {
            let last = state.plan.steps().len().saturating_sub(1);
            state.at = state.at.saturating_add_signed(by).min(last);
            state.scroll = 0;
        }
        View::Sheet => state.sheet.step(&state.job, by, 0),
        View::Left => {
            let last = state.left_count().saturating_sub(1);
            state.left_line = state.left_line.saturating_add_signed(by).min(last);
        }
        View::Record | View::Form => record::act::step(state, by),
        View::Map => map::step(state, by, 0),
        View::Bring => bring::step(state, by),
        View::Why => {
            let last = super::view::why_length(state).saturating_sub(super::view::page_room(state));
            state.why_line = state.why_line.saturating_add_signed(by).min(last);
        }
        View::Find => find::step(state, by),
        View::Found | View::History => past::step(state, by),
        View::Learn => {
            let room = super::view::page_room(state);
            let last = super::view::learn_length(state).saturating_sub(room);
            state.learn.line = state.learn.line.saturating_add_signed(by).min(last);
        }
        View::Help => {
            let last = super::view::help_length(state).saturating_sub(1);
            state.help_line = state.help_line.saturating_add_signed(by).min(last);
        }
    }
}

fn page(state: &mut State, by: isize) {
    match state.view {
        // How far there is to scroll is known only when drawing; the view stops at the end of the text.
        View::Walk => state.scroll = state.scroll.saturating_add_signed(by * 3).min(30),
        View::Map => map::step(state, by * 3, 0),
        _ => step(state, by * 10),
    }
}

fn turn(state: &mut State, forward: bool) {
    if state.view == View::Map {
        map::turn(state, forward);
    } else if !holds(state) {
        state.sheet.turn(&state.job, forward);
    }
}

/// Opens the page of reasons for the place at hand.
fn open_reasons_page(state: &mut State) {
    // The two pages about a place lead to each other, and never in a circle.
    if state.view == View::Why {
        close_top(state);
        return;
    }
    if state.view == View::Learn
        && let Some((_, View::Why)) = state.learn.of
    {
        learn::close(state);
        return;
    }
    let place = match state.view {
        View::Learn => state.learn.of.as_ref().map(|(place, _)| place.clone()),
        View::Left => state.left_at(state.left_line).map(|f| f.place.clone()),
        View::Bring => bring::place(state),
        _ => state.focus(),
    };
    match place {
        Some(place) => {
            state.why = Some((place, state.view));
            state.why_line = 0;
            state.view = View::Why;
        }
        None => state.complain("nothing is selected here that could be explained"),
    }
}

/// Closes what lies on top of a view: help, finding, reasons or learn page.
pub(super) fn close_top(state: &mut State) {
    match state.view {
        View::Help => state.view = state.before_help,
        View::Find => find::close(state),
        View::Bring => bring::close(state),
        View::Why => {
            state.view = state.why.take().map_or(View::Walk, |(_, from)| from);
        }
        View::Learn => learn::close(state),
        View::Found | View::History => past::close(state),
        _ => {}
    }
}

/// Closes all that lies over a view; reasons and learn page lead to each other.
pub(super) fn uncover(state: &mut State) {
    for _ in 0..4 {
        close_top(state);
    }
}

fn show(state: &mut State, view: View) {
    let was = state.view;
    uncover(state);
    if state.view == view {
        if was == view {
            state.say_for_now("this is where you are already; F1 shows the keys");
        }
        return;
    }
    if holds(state) {
        return;
    }
    let chosen = match state.view {
        View::Left => state.left_at(state.left_line).map(|f| f.place.clone()),
        _ => state.focus(),
    };
    match (view, chosen) {
        (View::Sheet, Some(place)) => state.sheet.go_to(&state.job, &place),
        (View::Walk, Some(place)) if state.view == View::Sheet => {
            state.walk_to(&place);
        }
        (View::Left, _) => state.left_line = 0,
        _ => {}
    }
    state.view = view;
}

fn go_to(state: &mut State, place: &Place) {
    if state.walk_to(place) {
        state.view = View::Walk;
        return;
    }
    // What the program works out itself has no step: say what it rests on.
    let why = state.finding(place).map_or("", |f| f.why.as_str());
    let text = format!("worked out from the record, which is put right here: {why}");
    record::act::open_for(state, place);
    state.say(text);
}

fn back(state: &mut State) {
    match state.view {
        View::Help | View::Why | View::Find | View::Learn | View::Found | View::History => {
            close_top(state);
            return;
        }
        View::Bring => {
            close_top(state);
            state.say("left the file: nothing more of it was kept");
            return;
        }
        _ => {}
    }
    if !state.field.is_empty() || record::act::types(state) {
        state.field.clear();
        state.record.typing = false;
        state.say("dropped what was typed; nothing that was kept is changed");
        return;
    }
    if state.view == View::Sheet && !state.sheet.marked.is_empty() {
        state.sheet.marked.clear();
        state.say("the marks are off");
        return;
    }
    match state.view {
        View::Map => map::close(state),
        View::Walk => {
            state.say("everything kept is on disk; F10 or Ctrl-Q leaves, F1 shows the keys")
        }
        View::Form => state.view = View::Record,
        _ => show(state, View::Walk),
    }
}

/// Offers the end of the scale.
fn offer_over_range(state: &mut State) {
    let Some(place) = state.focus() else { return };
    if state.job.seat(&place).is_none() {
        return;
    }
    match state.scale_end(&place) {
        Some(end) => state.field.offer(&format!(">{end}")),
        None => state.field.insert('>'),
    }
}
