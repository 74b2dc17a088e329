//! What keys do on the record and in a form.

use crate::job::{Change, Device, Direction, Edit, Part, Place, Spot, Test};
use crate::screen::choice::{Choice, Topic};
use crate::screen::field::lines_of;
use crate::screen::keeping::{Effect, holds};
use crate::screen::keys::Action;
use crate::screen::state::{State, View};
use crate::screen::update::uncover;

use super::copy::copy_of;
use super::empty::made_up;
use super::entry::{Entry, Kind};
use super::form::{Field, describe_change, rows_of};
use super::starts::{make, starts};
use super::{List, Row, empty_of, is_empty};

/// Longest text that a field of the record takes, in characters: a list of serial numbers, or prose.
const LONGEST: usize = 5_000;

/// Whether something typed in a form isn't kept, also where it is that a field shall be empty.
pub(in crate::screen) fn types(state: &State) -> bool {
    state.record.typing
}

pub(super) fn stop_typing(state: &mut State) {
    state.field.clear();
    state.record.typing = false;
}

/// The part whose form is open.
pub(in crate::screen) fn part(state: &State) -> Option<(Spot, Part)> {
    let spot = state.record.spot.clone()?;
    let (part, _) = state.job.part(&spot)?;
    Some((spot, part))
}

/// The selected row of the form.
pub(in crate::screen) fn field(state: &State) -> Option<(Spot, Part, Field)> {
    let (spot, part) = part(state)?;
    let field = rows_of(&part).get(state.record.field).copied()?;
    Some((spot, part, field))
}

fn row(state: &State) -> Option<Row> {
    state.record_rows().get(state.record.row).cloned()
}

/// Selects a part on the record, without changing the view.
pub(super) fn select(state: &mut State, spot: &Spot) {
    let found = state
        .record_rows()
        .iter()
        .position(|r| *r == Row::Part(spot.clone()));
    if let Some(at) = found {
        state.record.row = at;
    }
    let last = state.record_rows().len().saturating_sub(1);
    state.record.row = state.record.row.min(last);
}

/// Opens the form of a part, or the record where it isn't there.
pub(in crate::screen) fn open(state: &mut State, spot: Spot) {
    select(state, &spot);
    state.view = View::Record;
    if let Some((part, _)) = state.job.part(&spot) {
        state.view = View::Form;
        // Where something has to be filled in, the cursor stands there.
        let rows = rows_of(&part);
        let first = rows.iter().position(|f| is_empty(f.entry(), &part));
        state.record.field = first.unwrap_or(0);
        state.record.spot = Some(spot);
    }
}

/// Opens the part that what is worked out at a place belongs to, at the field that it misses where that is known.
pub(in crate::screen) fn open_for(state: &mut State, place: &Place) {
    open(state, state.job.spot_of(place));
    if place.test == Test::Dates && state.job.next_inspection.is_none() {
        let rows = part(state).map_or_else(Vec::new, |(_, p)| rows_of(&p));
        let at = rows
            .iter()
            .position(|r| r.entry().path.starts_with("next_inspection"));
        state.record.field = at.unwrap_or(state.record.field);
    }
}

/// Opens the form of a part at one of its fields.
pub(in crate::screen) fn open_at(state: &mut State, spot: Spot, entry: &Entry) {
    open(state, spot);
    let rows = part(state).map_or_else(Vec::new, |(_, p)| rows_of(&p));
    let at = rows.iter().position(|r| r.entry().path == entry.path);
    state.record.field = at.unwrap_or(0);
}

/// Opens a new job at the form of its visit.
pub(in crate::screen) fn describe_first(state: &mut State) {
    open(state, Spot::Visit);
    state.say("a new job: describe it first. Enter keeps a field on disk, Esc goes to all parts, F2 to the walk");
}

/// Shows the record: at the part that what is at hand belongs to, and in its form where something waits for it.
pub(in crate::screen) fn show(state: &mut State) {
    let was = state.view;
    uncover(state);
    if holds(state) {
        return;
    }
    if was == View::Record {
        state.say_for_now("this is where you are already; F1 shows the keys");
        return;
    }
    let place = match state.view {
        View::Left => state.left().get(state.left_line).map(|f| f.place.clone()),
        _ => state.focus(),
    };
    // What the step waits for and no reading changes.
    let waits = (state.view == View::Walk)
        .then(|| state.obstacle(state.at))
        .flatten()
        .filter(|p| state.plan.position(p).is_none());
    if let Some(place) = waits {
        let why = state
            .finding(&place)
            .map_or(String::new(), |f| f.why.clone());
        open_for(state, &place);
        state.say(format!("{place}: {why}"));
        return;
    }
    if let Some(place) = place {
        let spot = state.job.spot_of(&place);
        select(state, &spot);
    }
    state.view = View::Record;
}

/// Moves the selection.
pub(in crate::screen) fn step(state: &mut State, by: isize) {
    let length = match state.view {
        View::Form => part(state).map_or(0, |(_, p)| rows_of(&p).len()),
        _ => state.record_rows().len(),
    };
    let at = if state.view == View::Form {
        &mut state.record.field
    } else {
        &mut state.record.row
    };
    *at = at.saturating_add_signed(by).min(length.saturating_sub(1));
}

/// Whether the record may be edited now; says so where it may not.
fn may_edit(state: &mut State) -> bool {
    let why = state.read_only.clone().or_else(|| state.lost.clone());
    if let Some(why) = why {
        state.complain(format!("not kept: {why}"));
        return false;
    }
    true
}

/// Begins to type in the selected field, with what is there where that is to be edited.
fn begin(state: &mut State, with_value: bool) -> bool {
    let Some((_, part, field)) = field(state) else {
        return false;
    };
    if !may_edit(state) {
        return false;
    }
    let text = if with_value {
        field.value(&part)
    } else {
        String::new()
    };
    state.field.load(&text, LONGEST);
    state.record.typing = true;
    true
}

/// A key that edits typed text: with nothing typed, what is there is edited. Returns whether there is something to edit.
pub(in crate::screen) fn begin_editing(state: &mut State, action: Action) -> bool {
    if state.record.typing {
        return true;
    }
    let Some((_, _, row)) = field(state) else {
        return false;
    };
    if matches!(row.entry().kind, Kind::Pick(_)) {
        if action == Action::Right {
            open_choices(state, row.entry().kind);
        }
        return false;
    }
    // Delete empties it; Enter then keeps that.
    let empties = action == Action::Delete;
    if begin(state, !empties) && empties {
        state.say("emptied: Enter keeps that, Esc leaves it as it was");
    }
    state.record.typing && !empties
}

/// Types a character into the selected field; on a list of choices, opens it.
pub(in crate::screen) fn type_char(state: &mut State, c: char) {
    let Some((_, _, row)) = field(state) else {
        return;
    };
    if !state.record.typing {
        if let Kind::Pick(_) = row.entry().kind {
            if open_choices(state, row.entry().kind)
                && c != ' '
                && let Some(choice) = &mut state.choice
            {
                choice.type_char(c);
            }
            return;
        }
        if !begin(state, false) {
            return;
        }
    }
    state.field.insert(c);
}

/// Pastes into the selected field: a list takes all its lines, prose its line ends.
///
/// # Errors
/// How many lines there are, where they are several and one fits.
pub(in crate::screen) fn paste(state: &mut State, text: &str) -> Result<(), usize> {
    let Some((_, _, row)) = field(state) else {
        return Ok(());
    };
    let kind = row.entry().kind;
    if let Kind::Pick(_) = kind {
        state.complain("this is chosen from a list: Enter opens it");
        return Ok(());
    }
    let was_typing = state.record.typing;
    if !was_typing && !begin(state, false) {
        return Ok(());
    }
    match (kind, row) {
        (Kind::List { .. }, Field::Whole(_) | Field::More(_)) => {
            // A line without anything stands for nothing.
            let lines: Vec<&str> = lines_of(text)
                .into_iter()
                .filter(|l| !l.trim().is_empty())
                .collect();
            state.field.paste_lines(&lines.join("\n"), "; ");
            let taken = lines.iter().flat_map(|l| l.split(['\t', ';']));
            let taken = taken.filter(|t| !t.trim().is_empty()).count();
            state.say(format!("{taken} pasted: Enter keeps them, Esc drops them"));
            Ok(())
        }
        (Kind::Prose, _) => {
            state.field.paste_lines(text, "¶");
            Ok(())
        }
        _ => {
            let pasted = state.field.paste(text);
            state.record.typing = was_typing || pasted.is_ok();
            pasted
        }
    }
}

/// A line end in prose.
pub(in crate::screen) fn line_end(state: &mut State) {
    match field(state) {
        Some((_, _, row)) if matches!(row.entry().kind, Kind::Prose) => {
            if state.record.typing || begin(state, true) {
                state.field.insert('¶');
            }
        }
        _ => state.complain("this text has one line only"),
    }
}

/// Opens the choices of a field. Returns whether there are any.
fn open_choices(state: &mut State, kind: Kind) -> bool {
    let (Kind::Pick(choices) | Kind::Suggest(choices)) = kind else {
        return false;
    };
    let Some((spot, part, row)) = field(state) else {
        return false;
    };
    if !may_edit(state) {
        return false;
    }
    let lines = choices(&state.job);
    if lines.is_empty() {
        state.complain(format!("nothing to choose from yet: {}", row.entry().hint));
        return false;
    }
    let now = row.value(&part);
    let selected = lines.iter().position(|(v, _)| *v == now).unwrap_or(0);
    let question = format!("{spot}: {}", row.entry().heading);
    let own = matches!(kind, Kind::Suggest(_));
    state.choice = Some(Choice::new(Topic::Field, question, lines, selected, own));
    true
}

/// Enter.
pub(in crate::screen) fn take(state: &mut State) -> Option<Effect> {
    if state.view == View::Record {
        match row(state)? {
            Row::Part(spot) => open(state, spot),
            Row::Head(_) => open_starts(state),
        }
        return None;
    }
    let (_, _, field) = field(state)?;
    if state.record.typing {
        let typed = state.field.text().to_string();
        return set(state, &typed);
    }
    match (field.entry().kind, field) {
        (kind @ (Kind::Pick(_) | Kind::Suggest(_)), _) => {
            open_choices(state, kind);
        }
        (_, Field::More(_)) => state.say("type one and press Enter, or paste several"),
        (Kind::List { .. }, Field::Whole(_)) => {
            state.say("paste or type the whole list, with lines or ; between; single ones below");
        }
        _ => {
            begin(state, true);
        }
    }
    None
}

/// Sets the selected field and asks for the edit to be put on the disk.
fn set(state: &mut State, typed: &str) -> Option<Effect> {
    let (spot, before, field) = field(state)?;
    let mut now = before.clone();
    if let Err(why) = field.set(&mut now, typed) {
        state.complain(format!("not kept: {}: {why}", field.entry().heading));
        return None;
    }
    if made_up(&before).is_empty() && !made_up(&now).is_empty() {
        // Nobody has seen these on site.
        now.set_to_compare(true);
    }
    if now == before {
        stop_typing(state);
        state.say("nothing changed");
        step(state, 1);
        return None;
    }
    let said = describe_change(&before, &now).join(", ");
    let again = other_device(state, &before, &mut now);
    let order = match field.entry().kind {
        Kind::Date if typed.contains(['.', '/']) => ", read as day, month, year",
        _ => "",
    };
    state.record.said = format!("{spot} {said}{order}{again}");
    let effect = ask(state, spot, Some(now), false, None);
    state.record.list = match (field.entry().kind, field) {
        (Kind::List { .. }, Field::Whole(e)) => Some((e.path, true)),
        (_, Field::More(e)) => Some((e.path, false)),
        _ => None,
    };
    effect
}

/// What was confirmed of a device doesn't pass to another: once the marks of the devices were looked at or power was put on, the
/// circuit is to be compared again, and a device of another standard has no direction yet. Returns what to say.
fn other_device(state: &State, before: &Part, now: &mut Part) -> &'static str {
    let (Part::Circuit(was), Part::Circuit(is)) = (before, now) else {
        return "";
    };
    let job = &state.job;
    let confirmed =
        job.inspect.get(Test::FlowDirection).is_some() || job.safe.get(Test::Energise).is_some();
    if !confirmed || was.device.is_none() && was.rcd.is_none() {
        return "";
    }
    let without_direction = |device: &Option<Device>| {
        let mut device = device.clone()?;
        device.direction = Direction::Unknown;
        Some(device)
    };
    if without_direction(&was.device) == without_direction(&is.device) && was.rcd == is.rcd {
        return "";
    }
    let standard = |device: &Option<Device>| device.as_ref().map(|d| d.standard);
    if standard(&was.device) != standard(&is.device)
        && let Some(device) = &mut is.device
    {
        device.direction = Direction::Unknown;
        is.to_compare = true;
        return "; its direction is open: look at the marks, and compare the circuit again with what is on site";
    }
    is.to_compare = true;
    "; compare the circuit again with what is on site"
}

/// Asks for an edit to be put on the disk.
fn ask(
    state: &mut State,
    spot: Spot,
    now: Option<Part>,
    adding: bool,
    to: Option<usize>,
) -> Option<Effect> {
    if !may_edit(state) {
        return None;
    }
    state.record.adding = adding;
    state.record.list = None;
    Some(Effect::Keep(Change::Edit(Box::new(Edit {
        spot,
        now,
        whole: adding,
        back: Vec::new(),
        to,
        by: state.who.clone(),
        at: state.now,
    }))))
}

/// Opens the list of starting points.
pub(in crate::screen) fn open_starts(state: &mut State) {
    if holds(state) || !may_edit(state) {
        return;
    }
    let Some(row) = row(state) else { return };
    let lines = starts(&state.job, &row);
    let question = "add what? it starts with figures to compare with what is on site".to_string();
    state.choice = Some(Choice::new(Topic::Start, question, lines, 0, false));
}

/// Copies the part at hand.
pub(in crate::screen) fn copy(state: &mut State) -> Option<Effect> {
    let spot = at_hand(state)?;
    let Some((new, part)) = copy_of(&state.job, &spot) else {
        state.complain(format!("there is one {spot} only"));
        return None;
    };
    let at = state.job.part(&spot).map(|(_, at)| at + 1);
    state.record.said = format!("{new}, a copy of {spot} without readings: give it its own data");
    ask(state, new, Some(part), true, at)
}

/// The part that copying, moving and removing would touch, with nothing typed.
fn at_hand(state: &mut State) -> Option<Spot> {
    if holds(state) {
        return None;
    }
    let spot = match state.view {
        View::Form => state.record.spot.clone(),
        View::Record => match row(state) {
            Some(Row::Part(spot)) => Some(spot),
            _ => None,
        },
        _ => None,
    };
    if spot.is_none() {
        state.complain("this is the head of a list: go to a part of it first");
    }
    spot
}

/// Moves the part at hand in its list.
pub(in crate::screen) fn shift(state: &mut State, by: isize) -> Option<Effect> {
    let spot = at_hand(state)?;
    let (part, at) = state.job.part(&spot)?;
    let Some(list) = List::of(&spot) else {
        state.complain(format!("there is one {spot} only"));
        return None;
    };
    let to = at
        .checked_add_signed(by)
        .filter(|to| *to < list.len(&state.job));
    let Some(to) = to else {
        state.say("that is the end of its list");
        return None;
    };
    state.record.said = format!("{spot} moved to place {} of its list", to + 1);
    ask(state, spot, Some(part), false, Some(to))
}

/// Says that the figures of the part at hand are as on site.
pub(in crate::screen) fn as_on_site(state: &mut State) -> Option<Effect> {
    let spot = at_hand(state)?;
    let (mut part, _) = state.job.part(&spot)?;
    match part.to_compare() {
        None => {
            state.complain(format!("{spot} has no figures to compare"));
            None
        }
        Some(_) if !made_up(&part).is_empty() => {
            state.complain(format!(
                "{spot} isn't as on site yet, still to fill in: {}",
                made_up(&part).join(", ")
            ));
            None
        }
        Some(false) => {
            state.say(format!("{spot} is as on site already"));
            None
        }
        Some(true) => {
            part.set_to_compare(false);
            let left = match empty_of(&part) {
                left if left.is_empty() => String::new(),
                left => format!("; still to fill in: {}", left.join(", ")),
            };
            state.record.said = format!("{spot} is as on site{left}");
            ask(state, spot, Some(part), false, None)
        }
    }
}

/// Selects the next part that has something to compare or to fill in.
pub(in crate::screen) fn next_to_do(state: &mut State) {
    let all = state.record_rows();
    let count = all.len();
    let to_do = |row: &Row| match row {
        Row::Part(spot) => state.job.part(spot).is_some_and(|(part, _)| {
            part.to_compare().unwrap_or(false) || !empty_of(&part).is_empty()
        }),
        Row::Head(_) => false,
    };
    let from = state.record.row + 1;
    let next = (from..from + count)
        .map(|at| at % count.max(1))
        .find(|at| all.get(*at).is_some_and(to_do));
    match next {
        Some(at) => state.record.row = at,
        None => state.say("nothing is left to compare or to fill in"),
    }
}

/// Asks whether to take out the part, or the line of the form, at hand.
pub(in crate::screen) fn ask_remove(state: &mut State) {
    let Some(spot) = at_hand(state) else { return };
    if !may_edit(state) {
        return;
    }
    let question = if state.view == View::Form {
        let Some((_, part, row)) = field(state) else {
            return;
        };
        if !matches!(row, Field::Item(..)) {
            state.complain("that isn't a line of a list; Esc goes to the parts, where a whole part can be removed");
            return;
        }
        let with = if matches!(part, Part::Branch(_)) {
            ", module and inverter together"
        } else {
            ""
        };
        format!("take out {}{with}?", row.heading().trim())
    } else {
        if List::of(&spot).is_none() {
            state.complain(format!("there is one {spot} only: it stays"));
            return;
        }
        let Some((part, _)) = state.job.part(&spot) else {
            return;
        };
        let readings = match part.readings_in() {
            0 => "it has no readings".to_string(),
            1 => "1 reading would be set aside".to_string(),
            n => format!("{n} readings would be set aside"),
        };
        format!("remove {spot}? {readings}")
    };
    let lines = vec![
        ("no".to_string(), "no, it stays".to_string()),
        ("yes".to_string(), "yes; Ctrl-Z brings it back".to_string()),
    ];
    state.choice = Some(Choice::new(Topic::Remove, question, lines, 0, false));
}

/// A line of one of the record's lists was taken.
pub(in crate::screen) fn chosen(state: &mut State, topic: Topic, taken: &str) -> Option<Effect> {
    match topic {
        Topic::Field => {
            let effect = set(state, taken);
            // The list closes once the edit is on the disk, so that own words that are refused aren't lost.
            if effect.is_none() && !state.message.error {
                state.choice = None;
            }
            effect
        }
        Topic::Start => {
            state.choice = None;
            let row = row(state)?;
            let made = make(&state.job, &row, taken, &state.who);
            let (spot, part) = match made {
                Ok(made) => made,
                Err(why) => {
                    state.complain(format!("not added: {why}"));
                    return None;
                }
            };
            // Behind the selected part, where that is in the same list.
            let to = match &row {
                Row::Part(here) if List::of(here) == List::of(&spot) => {
                    state.job.part(here).map(|(_, at)| at + 1)
                }
                _ => None,
            };
            let compare = match part.to_compare() {
                Some(true) => ": compare what it starts with with what is on site",
                _ => "",
            };
            state.record.said = format!("{spot} added{compare}");
            ask(state, spot, Some(part), true, to)
        }
        Topic::Remove => {
            state.choice = None;
            if taken != "yes" {
                state.say("nothing was removed");
                return None;
            }
            if state.view == View::Form {
                let (spot, before, field) = field(state)?;
                let mut now = before.clone();
                if let Err(why) = field.take_out(&mut now) {
                    state.complain(format!("not kept: {why}"));
                    return None;
                }
                let said = describe_change(&before, &now).join(", ");
                state.record.said = format!("{spot} {said}");
                return ask(state, spot, Some(now), false, None);
            }
            let spot = at_hand(state)?;
            state.record.said = format!("{spot} removed");
            ask(state, spot, None, false, None)
        }
        _ => None,
    }
}
