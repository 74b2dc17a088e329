//! What a qualified person answers for on the screen: countersigning, and going around what a step waits for.

use crate::checks::{Finding, Verdict};
use crate::job::enter::reason_in_words;
use crate::job::{Around, Change, Group, Place};

use super::choice::{Choice, Topic};
use super::keeping::{Effect, Refusal, keep};
use super::state::{State, View};

/// Going around: the reason given, and what waits for one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Detour {
    given: Option<Given>,
    pending: Option<Pending>,
}

/// A reason that was given.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Given {
    reason: String,
    /// Id of who gave it: it is nobody else's.
    by: String,
    /// The step of the walk it is for; `None` on the sheet, where it counts until the sheet is left.
    place: Option<Place>,
}

/// What was typed before its turn, to be kept once there is a reason.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Pending {
    place: Place,
    typed: String,
    /// The list that was open, so that own words in it aren't lost.
    before: Option<Choice>,
}

impl State {
    /// Whether who is entering is qualified.
    pub fn is_qualified(&self) -> bool {
        self.job.is_qualified(&self.who)
    }

    /// The readings whose countersign the step `at` waits for, in words; `first` is the first of them.
    pub(super) fn countersigns_before(&self, at: usize, first: &Place) -> String {
        const NAMED: usize = 3;
        let held = self.held_up_by(at);
        let steps = held.iter().filter_map(|i| self.plan.steps().get(*i));
        let waiting: Vec<&Finding> = steps
            .filter_map(|s| self.finding(&s.place))
            .filter(|f| f.waits_for_countersign)
            .collect();
        let others = waiting.iter().map(|f| &f.place).filter(|p| *p != first);
        let mut named: Vec<String> = std::iter::once(first)
            .chain(others)
            .map(Place::to_string)
            .collect();
        // Of many the first alone: F4 lists them.
        if named.len() > NAMED {
            named.truncate(1);
        }
        let words = self.countersign_words(waiting.into_iter());
        format!("{}: {words}", named.join(", "))
    }

    /// The first step that holds up the step `at` and that who is entering can see to now.
    fn first_to_see_to(&self, at: usize) -> Option<usize> {
        let steps = self.plan.steps();
        let can = |i: &usize| {
            let Some(place) = steps.get(*i).map(|s| &s.place) else {
                return false;
            };
            match self.verdicts.of(place) {
                Verdict::Open => return self.obstacle(*i).is_none(),
                Verdict::Outside => return false,
                _ => {}
            }
            self.job.would_countersign(place, &self.who).is_ok()
        };
        let first = self.obstacle(at).and_then(|p| self.plan.position(&p));
        first
            .into_iter()
            .chain(self.held_up_by(at))
            .filter(|i| *i != at)
            .find(can)
    }

    /// How many readings wait for a countersign, and whose they are, in words.
    fn countersign_words<'a>(&'a self, waiting: impl Iterator<Item = &'a Finding>) -> String {
        let mut names: Vec<&str> = Vec::new();
        let mut count = 0;
        for f in waiting {
            count += 1;
            let id = f.by.as_deref().unwrap_or_default();
            let name = self.job.person(id).map_or(id, |p| p.name.as_str());
            if !names.contains(&name) {
                names.push(name);
            }
        }
        let (readings, wait) = if count == 1 {
            ("reading", "waits")
        } else {
            ("readings", "wait")
        };
        let them = if count == 1 { "it" } else { "them" };
        let help = if self.is_qualified() {
            format!("Ctrl-O goes to {them}, c countersigns, F4 lists all")
        } else {
            "F6 changes who enters, F4 lists all".to_string()
        };
        format!(
            "{count} {readings} by {} {wait} for a countersign: {help}",
            names.join(", ")
        )
    }
}

/// Countersigns the place at hand.
pub(super) fn countersign(state: &mut State) -> Option<Effect> {
    let place = match state.view {
        View::Left => state.left_at(state.left_line).map(|f| f.place.clone()),
        _ => state.focus(),
    };
    let Some(place) = place else {
        state.complain("no reading here to countersign");
        return None;
    };
    if let Some(why) = &state.read_only {
        let why = format!("not countersigned: {why}");
        state.complain(why);
        return None;
    }
    let (by, at) = (state.who.clone(), state.now);
    let change = state.job.would_countersign(&place, &by).map(|reading| {
        let (typed, taken) = (reading.typed.clone(), reading.at);
        Change::Countersign {
            place,
            by,
            at,
            typed,
            taken,
        }
    });
    match change {
        Ok(change) => Some(Effect::Keep(change)),
        // Where nothing was taken yet: what holds it up is what is meant.
        Err(_) if state.view == View::Walk && to_what_holds_up(state, true) => None,
        Err(e) => {
            let who = if state.is_qualified() { "" } else { " (F6)" };
            state.complain(format!("not countersigned: {e}{who}"));
            None
        }
    }
}

/// Moves the walk from a step that waits to the first of what holds it up, `countersigns`: to the first that waits for a
/// countersign. Returns whether there is one that who is entering can see to.
pub(super) fn to_what_holds_up(state: &mut State, countersigns: bool) -> bool {
    let Some(here) = state.step().map(|s| s.place.clone()) else {
        return false;
    };
    let Some(at) = state.first_to_see_to(state.at) else {
        return false;
    };
    let Some(there) = state.plan.steps().get(at).map(|s| s.place.clone()) else {
        return false;
    };
    let signs = !state.verdicts.of(&there).blocks();
    if countersigns && !signs {
        return false;
    }
    state.walk_to(&there);
    let what = if signs { ": c countersigns" } else { "" };
    state.say(format!("{here} waits for this one{what}"));
    state.led = signs.then_some((here, there));
    true
}

/// Where the walk goes from a reading that was just countersigned: to the next that holds up the step that led here, and back
/// to that step; after a confirmation on in order, which it may have opened; else to the next to countersign.
fn after_countersign(state: &mut State, place: &Place) {
    let led = state.led.take().filter(|(_, there)| there == place);
    if let Some((from, _)) = led
        && state.walk_to(&from)
    {
        let text = state.message.clone();
        if to_what_holds_up(state, true) {
            state.message = text;
        }
        return;
    }
    let from = state.at + 1;
    let next = state.next_to_countersign(from).filter(|at| {
        let step = state.plan.steps().get(*at);
        let here = place.top == Group::Safe.key();
        !here && step.is_some_and(|s| state.job.would_countersign(&s.place, &state.who).is_ok())
    });
    match next.and_then(|at| state.plan.steps().get(at).map(|s| s.place.clone())) {
        Some(next) => {
            state.walk_to(&next);
        }
        None => state.go_to_next_open(from),
    }
}

/// A countersign is on the disk: says so and goes on to what comes next.
pub(super) fn countersigned(state: &mut State, place: &Place, by: &str) {
    let name = state.job.person(by).map_or(by, |p| p.name.as_str());
    let left = match state.tally.waiting {
        0 => "none is left to countersign".to_string(),
        n => format!("{n} left to countersign"),
    };
    let text = format!("countersigned on disk: {place} by {name}; {left}");
    state.say(text);
    match state.view {
        View::Sheet => state.sheet.step(&state.job, 1, 0),
        View::Left => {
            let last = state.left_count().saturating_sub(1);
            state.left_line = state.left_line.min(last);
        }
        _ => after_countersign(state, place),
    }
}

/// Asks why the place at hand is taken before its turn.
pub(super) fn ask(state: &mut State) {
    let Some(place) = state.focus() else {
        state.complain("no step to go around anything for: go to one on the walk or the sheet");
        return;
    };
    match way(state, &place) {
        Ok(first) => open(state, &place, &first),
        Err(why) => state.complain(why),
    }
}

fn open(state: &mut State, place: &Place, first: &Place) {
    let reasons = &state.forms.reasons().around;
    let lines = reasons.iter().map(|r| (r.clone(), r.clone())).collect();
    let question = if state.verdicts.is_stale(first) {
        format!("put {place} right, with nothing measured now: why?")
    } else if state.view == View::Sheet {
        format!("entered out of order, {place} before {first}: why?")
    } else {
        format!("{place} before {first} is in order: why?")
    };
    state.choice = Some(Choice::new(Topic::Around, question, lines, 0, true));
}

/// What a place waits for, where who is entering may go around it; else why not.
fn way(state: &State, place: &Place) -> Result<Place, String> {
    let Some(i) = state.plan.position(place) else {
        return Err("this place has no step".into());
    };
    let Some(first) = state.obstacle(i) else {
        return Err("nothing is in the way here: it needs no reason".into());
    };
    let waits = state.waiting_words(i, &first);
    match state.way_around(i) {
        Err(no) => Err(format!("this step waits for {waits}; {no}")),
        Ok(_) if !state.is_qualified() => Err(format!(
            "this step waits for {waits}; only a qualified person goes around it, with a reason (F6)"
        )),
        Ok(first) => Ok(first),
    }
}

/// The reason for taking a place before its turn; `None` where it is its turn.
pub(super) fn due(state: &State, place: &Place) -> Result<Option<Around>, Refusal> {
    let waits = |i| state.obstacle(i);
    if state.plan.position(place).and_then(waits).is_none() {
        return Ok(None);
    }
    let first = way(state, place).map_err(Refusal::Never)?;
    match reason_for(state, place) {
        Some(reason) => Ok(Some(Around {
            reason,
            waited_for: first,
            by: state.who.clone(),
            at: state.now,
        })),
        None => Err(Refusal::NotYet(first)),
    }
}

/// A reading came before its turn: the sheet asks for the reason, the walk says which key does.
pub(super) fn hold(state: &mut State, place: &Place, typed: &str, first: &Place) {
    if state.view == View::Sheet {
        let before = state.choice.take();
        open(state, place, first);
        state.detour.pending = Some(Pending {
            place: place.clone(),
            typed: typed.to_string(),
            before,
        });
    } else {
        let at = state.plan.position(place).unwrap_or(state.at);
        let waits = state.waiting_words(at, first);
        let around = match state.verdicts.is_stale(first) {
            // It says so itself.
            true => "",
            false => "; Ctrl-U goes around it, with a reason",
        };
        state.complain(format!("not kept: this step waits for {waits}{around}"));
    }
}

/// The reason that counts for a place now.
fn reason_for(state: &State, place: &Place) -> Option<String> {
    let given = state.detour.given.as_ref()?;
    let counts = match &given.place {
        Some(step) => state.view == View::Walk && step == place,
        None => state.view == View::Sheet,
    };
    (counts && given.by == state.who).then(|| given.reason.clone())
}

/// The reason given for the place at hand, for showing it beside what it goes around.
pub(in crate::screen) fn going_around(state: &State) -> Option<String> {
    reason_for(state, &state.focus()?)
}

/// A reason was chosen: keeps what waited for it, or what is typed.
pub(super) fn chosen(state: &mut State, reason: &str) -> Option<Effect> {
    if let Err(why) = reason_in_words(reason) {
        state.complain(why);
        return None;
    }
    let place = state.focus()?;
    state.choice = None;
    state.detour.given = Some(Given {
        reason: reason.to_string(),
        by: state.who.clone(),
        place: (state.view == View::Walk).then(|| place.clone()),
    });
    if let Some(pending) = state.detour.pending.take() {
        state.choice = pending.before;
        return keep(state, &pending.place, &pending.typed);
    }
    if !state.field.is_empty() {
        let typed = state.field.text().to_string();
        return keep(state, &place, &typed);
    }
    state.say("out of order, with this reason: type the reading, Enter keeps the two together");
    None
}

/// The list of reasons was left: what was typed before it is there again.
pub(super) fn given_up(state: &mut State) {
    let pending = state.detour.pending.take();
    state.choice = pending.and_then(|p| p.before);
}

/// Forgets a reason that no longer counts: the sheet was left, the walk went on, or somebody else enters.
pub(super) fn forget(state: &mut State) {
    let Some(given) = &state.detour.given else {
        return;
    };
    // The help and the page of reasons lie on top of the view they were opened from.
    let on_top = matches!(
        state.view,
        View::Help | View::Why | View::Learn | View::Found | View::History | View::Find
    );
    let stays = match &given.place {
        Some(step) => state.view == View::Walk && state.focus().as_ref() == Some(step),
        None => state.view == View::Sheet,
    };
    if given.by != state.who || !(stays || on_top) {
        state.detour.given = None;
    }
}
