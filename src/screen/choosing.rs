//! Lists of choices: what opens them, and what taking a line does.

use crate::guide::{is_complete, is_signed};
use crate::job::value::{LIMITATION, NOT_APPLICABLE};
use crate::job::{Answer, Function, Place};
use crate::paper;

use super::bring;
use super::choice::{Choice, Topic};
use super::keeping::{Effect, keep, leave};
use super::keys::Action;
use super::past;
use super::several;
use super::state::State;
use super::take_back;
use super::vouch;

/// Asks why a reading can't be taken, or why a test does not apply.
pub(super) fn open_reasons(state: &mut State, topic: Topic) {
    let Some(place) = state.focus() else {
        state.complain("no place to enter it at: go to one on the walk or the sheet first");
        return;
    };
    let reasons = state.forms.reasons();
    let (list, question) = match topic {
        Topic::Limitation => (
            &reasons.limitation,
            format!("no reading will be taken at {place}, because"),
        ),
        _ => (
            &reasons.not_applicable,
            format!("no reading at {place}: it does not apply, because"),
        ),
    };
    let kind = state.job.seat(&place).map(|seat| seat.owner.kind());
    let lines: Vec<(String, String)> = list
        .iter()
        .filter(|r| kind.is_none_or(|kind| reasons.fits_at(r, kind)))
        .map(|r| (r.clone(), r.clone()))
        .collect();
    // What was given as the reason last is the likeliest again.
    let last = state.reasons.get(&topic);
    let at = last.and_then(|r| lines.iter().position(|(line, _)| line == r));
    state.choice = Some(Choice::new(topic, question, lines, at.unwrap_or(0), true));
}

/// Drafts the PDF; asks first whether to issue it, where the record is complete and this content wasn't issued yet.
pub(super) fn draft(state: &mut State) -> Option<Effect> {
    let ready = is_complete(&state.findings)
        && is_signed(&state.findings)
        && state.read_only.is_none()
        && matches!(paper::issued(&state.job, &state.forms), Ok(None));
    if !ready {
        return Some(Effect::Draft);
    }
    let number = state.job.issues.len() + 1;
    let lines = vec![
        (
            "draft".to_string(),
            "only draft it, to look at; nothing is recorded".to_string(),
        ),
        (
            "issue".to_string(),
            format!("issue {number}: numbered, and recorded in the job that it was handed out"),
        ),
    ];
    let question = "the record is complete: issue the paper?".to_string();
    state.choice = Some(Choice::new(Topic::Issue, question, lines, 0, false));
    None
}

/// Asks who is entering.
pub(super) fn open_people(state: &mut State) {
    let lines: Vec<(String, String)> = state
        .job
        .people
        .iter()
        .map(|p| (p.id.clone(), format!("{} ({})", p.called(), p.role.name())))
        .collect();
    let selected = lines
        .iter()
        .position(|(id, _)| *id == state.who)
        .unwrap_or(0);
    let question = "who is entering?".to_string();
    state.choice = Some(Choice::new(Topic::Who, question, lines, selected, false));
}

/// Asks which instrument takes this kind of reading.
pub(super) fn open_instruments(state: &mut State) {
    if state.focus().is_none() {
        state.complain("no reading to choose it for: go to one on the walk or the sheet first");
        return;
    }
    let Some(function) = state.focus().and_then(|p| Function::of(p.test)) else {
        state.say("no instrument takes this one: it is looked at, tried or counted");
        return;
    };
    let lines: Vec<(String, String)> = state
        .job
        .instruments
        .iter()
        .filter(|i| i.functions.contains(&function))
        .map(|i| {
            (
                i.id.clone(),
                format!(
                    "{}: {}, calibration due {}, {} no. {}",
                    i.id, i.kind, i.due, i.make, i.serial
                ),
            )
        })
        .collect();
    if lines.is_empty() {
        state.complain(format!(
            "no instrument of this job measures {}: F9 opens the record, add one or say there that it does",
            function.key()
        ));
        return;
    }
    let selected = state
        .instruments
        .get(&function)
        .and_then(|id| lines.iter().position(|(l, _)| l == id))
        .unwrap_or(0);
    let question = format!("which instrument for {}?", function.key());
    state.choice = Some(Choice::new(
        Topic::Instrument,
        question,
        lines,
        selected,
        false,
    ));
}

/// What a key does while a list is open.
pub(super) fn act_on_choice(state: &mut State, action: Action) -> Option<Effect> {
    let choice = state.choice.as_mut()?;
    match action {
        Action::Take => return take_choice(state),
        Action::Previous => choice.step(-1),
        Action::Next => choice.step(1),
        Action::Backspace => choice.backspace(),
        Action::Back if choice.topic == Topic::Around => vouch::given_up(state),
        Action::Back => state.choice = None,
        Action::Leave => return leave(state),
        _ => {}
    }
    None
}

/// Whether somebody who took the line that was offered, or one by its number, has read that no reading will be taken; asks
/// where they haven't. A letter typed for a 1 opens the list, and the digits after it choose from it.
fn is_sure(state: &mut State, place: &Place, reason: &str) -> bool {
    let question = format!(
        "no reading will be taken at {place}: {reason}. Enter again keeps that; for a reading Esc, then its digits"
    );
    // Enter that was typed ahead answers what nobody has read.
    if state.said.was_shown() && state.message.text == question {
        return true;
    }
    state.say_for_now(question);
    false
}

/// Takes what is chosen. The list of reasons closes only when the reading is on the disk, so that own words aren't lost
/// where they are refused.
fn take_choice(state: &mut State) -> Option<Effect> {
    let choice = state.choice.clone()?;
    let Some(taken) = choice.taken() else {
        state.complain(match choice.typed.as_str() {
            "" => "there is nothing to choose from: type it".to_string(),
            typed => format!("no line of the list has `{typed}`: Backspace, or the arrow keys"),
        });
        return None;
    };
    match choice.topic {
        Topic::Limitation | Topic::NotApplicable => {
            let place = state.focus()?;
            let prefix = if choice.topic == Topic::Limitation {
                LIMITATION
            } else {
                NOT_APPLICABLE
            };
            let typed = format!("{prefix} {taken}");
            // What is refused anyway needs no question.
            let would = state.would_keep(&place, &state.reading(&place, &typed));
            // Where no number is wanted, nobody types one by mistake.
            let numbered = choice.number.is_some() && place.test.answer() == Answer::PassFail;
            let deliberate = numbered || choice.is_deliberate();
            if would.is_ok() && !deliberate && !is_sure(state, &place, &taken) {
                return None;
            }
            state.reasons.insert(choice.topic, taken);
            return keep(state, &place, &typed);
        }
        Topic::Issue => {
            state.choice = None;
            return Some(if taken == "issue" {
                Effect::Issue
            } else {
                Effect::Draft
            });
        }
        Topic::Download | Topic::Mapping => return bring::chosen(state, choice.topic, &taken),
        Topic::Paste => return several::answered(state, &taken),
        Topic::Field | Topic::Start | Topic::Remove => {
            return super::record::act::chosen(state, choice.topic, &taken);
        }
        Topic::Around => return vouch::chosen(state, &taken),
        Topic::Found => return past::chosen(state, &taken),
        Topic::TakeBack => return take_back::chosen(state, &taken),
        Topic::Who => {
            state.who = taken;
            let name = state
                .job
                .person(&state.who)
                .map(|p| format!("{} ({})", p.called(), p.role.name()));
            bring::refresh(state);
            state.say(format!("now entering: {}", name.unwrap_or_default()));
        }
        Topic::Instrument => {
            if let Some(function) = state.focus().and_then(|p| Function::of(p.test)) {
                state.say(format!("{} from now on with {taken}", function.key()));
                state.instruments.insert(function, taken);
            }
        }
    }
    state.choice = None;
    None
}
