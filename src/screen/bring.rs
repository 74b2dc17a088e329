//! Readings from a file on the screen: which file, by which mapping, what becomes of each, and keeping those that are marked.

use crate::checks::{Finding, Judge, Verdict};
use crate::intake::{MOST_AT_ONCE, On, Preview, Read, Row};
use crate::job::{Change, Place};
use crate::store::Downloads;

use super::choice::{Choice, Topic};
use super::keeping::{Effect, holds};
use super::state::{State, View};
use super::update::uncover;

/// Most places that a message names.
const NAMED: usize = 12;

/// The file that is looked at.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Bring {
    /// Its readings on the job; `None` while none is open.
    pub preview: Option<Preview>,
    /// Name of the mapping that it is read by.
    pub mapping: String,
    /// Selected row.
    pub row: usize,
    /// The view to go back to.
    pub from: Option<View>,
    /// What lies beside the job.
    found: Downloads,
    /// The file that was chosen.
    file: String,
    /// The question whether to keep what is marked, and the marks that it was about; until another key than Enter.
    asked: Option<(String, Vec<bool>)>,
}

/// Asks for what lies beside the job.
pub(super) fn begin(state: &mut State) -> Option<Effect> {
    if state.view == View::Bring {
        state.say("a file is open already: Enter keeps what is marked, Esc leaves it");
        return None;
    }
    if let Some(why) = &state.read_only {
        let why = format!("no readings brought in: {why}");
        state.complain(why);
        return None;
    }
    if holds(state) {
        return None;
    }
    uncover(state);
    Some(Effect::Look)
}

/// Asks which file.
pub(super) fn offer(state: &mut State, found: Downloads) {
    state.say(if found.files.is_empty() {
        "no .csv file lies beside the job: type the path of one"
    } else {
        "nothing is kept before you have seen it"
    });
    let lines = named(&found.files);
    state.bring.found = found;
    let question = "readings from which file?".to_string();
    state.choice = Some(Choice::new(Topic::Download, question, lines, 0, true));
}

fn named(names: &[String]) -> Vec<(String, String)> {
    names.iter().map(|n| (n.clone(), n.clone())).collect()
}

/// A file was chosen: asks by which mapping it is read. Or a mapping: asks for both to be read.
pub(super) fn chosen(state: &mut State, topic: Topic, taken: &str) -> Option<Effect> {
    state.choice = None;
    if topic == Topic::Mapping {
        return Some(Effect::Read {
            file: state.bring.file.clone(),
            mapping: taken.to_string(),
        });
    }
    state.bring.file = taken.to_string();
    let mappings = &state.bring.found.mappings;
    let stem = taken.rsplit_once('.').map_or(taken, |(stem, _)| stem);
    let at = mappings
        .iter()
        .position(|m| m.strip_suffix(".ron") == Some(stem));
    let lines = named(mappings);
    if lines.is_empty() {
        state.say("no mapping lies beside the job: type the path of one, or make one with wanderlead bring --write-mapping");
    }
    let question = format!("{taken}: read by which mapping?");
    state.choice = Some(Choice::new(
        Topic::Mapping,
        question,
        lines,
        at.unwrap_or(0),
        true,
    ));
    None
}

/// File and mapping are read: shows what becomes of each reading.
pub(super) fn opened(state: &mut State, read: Read, mapping: &str) {
    let preview = Preview::new(read, &on(state));
    let counts = preview.counts();
    state.bring.from = Some(state.view);
    state.bring.preview = Some(preview);
    state.bring.mapping = mapping.to_string();
    state.bring.row = 0;
    state.bring.asked = None;
    state.view = View::Bring;
    state.say(counts);
}

fn on(state: &State) -> On<'_> {
    On {
        job: &state.job,
        forms: &state.forms,
        plan: &state.plan,
        verdicts: &state.verdicts,
        by: &state.who,
        at: state.now,
        tools: &state.instruments,
    }
}

/// The job, or who is entering, is another than before: lays the file over it again.
pub(super) fn refresh(state: &mut State) {
    if let Some(preview) = state.bring.preview.take() {
        state.bring.preview = Some(preview.again(&on(state)));
    }
}

fn selected(state: &State) -> Option<&Row> {
    state.bring.preview.as_ref()?.rows.get(state.bring.row)
}

/// The place of the selected row, where the job has it.
pub(super) fn place(state: &State) -> Option<Place> {
    let place = selected(state)?.taken.place.clone()?;
    state.job.seat(&place).is_some().then_some(place)
}

/// What the finding of the selected row would be, on the job as it is.
pub(super) fn finding(state: &State, place: &Place) -> Option<Finding> {
    let row = selected(state)?;
    let reading = row.reading.as_ref()?;
    let seat = state.job.seat(place)?;
    let same = row.taken.place.as_ref() == Some(place);
    same.then(|| Judge::new(&state.job, &state.forms).preview(&seat, place.test, reading))
}

/// Moves the selection.
pub(super) fn step(state: &mut State, by: isize) {
    let rows = state.bring.preview.as_ref().map_or(0, |p| p.rows.len());
    let row = state.bring.row.saturating_add_signed(by);
    state.bring.row = row.min(rows.saturating_sub(1));
}

/// Marks the selected row, or takes its mark off, and goes down.
pub(super) fn mark(state: &mut State) {
    let Some(mut preview) = state.bring.preview.take() else {
        return;
    };
    let turned = preview.turn(state.bring.row, &on(state));
    let counts = preview.counts();
    state.bring.preview = Some(preview);
    match turned {
        Ok(()) => {
            state.say(counts);
            step(state, 1);
        }
        Err(why) => state.complain(format!("not marked: {why}")),
    }
}

/// Marks everything that nothing speaks against, or takes all marks off.
pub(super) fn mark_all(state: &mut State) {
    let Some(mut preview) = state.bring.preview.take() else {
        return;
    };
    preview.turn_all(&on(state));
    let counts = preview.counts();
    state.bring.preview = Some(preview);
    state.say(counts);
}

/// Keeps everything that is marked, as one change: the second time in a row, when it was read how many there are and who answers
/// for them.
pub(super) fn keep(state: &mut State) -> Option<Effect> {
    let asked = state.bring.asked.take();
    let seen = marks(state.bring.preview.as_ref()?);
    refresh(state);
    let preview = state.bring.preview.as_ref()?;
    let now = marks(preview);
    if now != seen {
        state.complain("not kept: something has changed since; look again, then Enter");
        return None;
    }
    let count = preview.marked();
    if count > MOST_AT_ONCE {
        state.complain(format!(
            "not kept: more than {MOST_AT_ONCE} readings at once; take marks off"
        ));
        return None;
    }
    let Some(change) = preview.change() else {
        state.complain("nothing is marked: Space marks a row, Esc leaves the file");
        return None;
    };
    let question = question(state, count);
    let question = (question, now);
    // Enter that was typed ahead answers what nobody has read.
    let read = state.said.was_shown() && state.message.text == question.0;
    if read && asked.as_ref() == Some(&question) {
        return Some(Effect::Keep(change));
    }
    state.say(question.0.as_str());
    state.bring.asked = Some(question);
    None
}

fn marks(preview: &Preview) -> Vec<bool> {
    preview.rows.iter().map(|r| r.marked).collect()
}

/// How many would be kept, from which file, and in whose name.
fn question(state: &State, count: usize) -> String {
    let preview = state.bring.preview.as_ref();
    let file = preview.map_or(String::new(), Preview::file_in_short);
    let person = state.job.person(&state.who);
    let who = person.map_or(state.who.clone(), |p| {
        format!("{} ({})", p.called(), p.role.name())
    });
    let readings = if count == 1 { "reading" } else { "readings" };
    format!(
        "Enter again keeps {count} {readings} from {file} in the name of {who}, who answers for them; any other key keeps none"
    )
}

/// Another key was pressed: Enter has to ask again, and the question is no longer on the screen.
pub(super) fn forget(state: &mut State) {
    if let Some((question, _)) = state.bring.asked.take()
        && state.message.text == question
        && let Some(preview) = &state.bring.preview
    {
        let counts = preview.counts();
        state.say(counts);
    }
}

/// The readings are on the disk: says so, and leaves the file where nothing of it is left to decide.
pub(super) fn kept(state: &mut State, change: &Change) {
    let keeps = change.keeps();
    let look: Vec<String> = keeps
        .iter()
        .map(|(place, _)| (place, state.verdicts.of(place)))
        .filter(|(_, v)| !matches!(v, Verdict::Within))
        .map(|(place, v)| format!("{} {v} {place}", v.mark()))
        .collect();
    let more = match look.len().saturating_sub(NAMED) {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let named: Vec<&str> = look.iter().take(NAMED).map(String::as_str).collect();
    let verdicts = if named.is_empty() {
        "= all within".to_string()
    } else {
        format!("{}{more}", named.join(", "))
    };
    let countersign = keeps
        .iter()
        .any(|(p, _)| state.verdicts.waits_for_countersign(p));
    let countersign = if countersign { "; to countersign" } else { "" };
    let count = keeps.len();
    let values: Vec<String> = keeps
        .iter()
        .take(NAMED)
        .map(|(place, reading)| format!("{place} {}", reading.typed))
        .collect();
    let rest = match count - values.len() {
        0 => String::new(),
        n => format!(" and {n} more"),
    };
    let values = format!("{}{rest}", values.join(", "));
    let file = state
        .bring
        .preview
        .as_ref()
        .map_or(String::new(), Preview::file_in_short);
    refresh(state);
    let rest = state.bring.preview.as_ref();
    let rest = rest.is_some_and(|p| p.rows.iter().any(|r| r.may_be_marked()));
    if !rest {
        close(state);
    }
    state.say(format!(
        "kept on disk, {count} readings from {file}: {values}  {verdicts}{countersign}"
    ));
}

/// Leaves the file; nothing of it is kept but what was kept before.
pub(super) fn close(state: &mut State) {
    state.view = state.bring.from.take().unwrap_or(View::Walk);
    state.bring = Bring::default();
}
