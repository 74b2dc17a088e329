//! Readings that aren't as the history has them: somebody changed the file, not the program.

use std::collections::{BTreeMap, BTreeSet};

use super::Job;
use super::group::Group;
use super::history::{Deed, Done, as_it_stands, on_one_line};
use super::place::Place;
use super::reading::Entry;

/// A reading that isn't as the history has it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unlike {
    /// Where.
    pub place: Place,
    /// What stands there; `None` where nothing does.
    pub stands: Option<String>,
    /// What was kept there last; `None` where nothing ever was, or it was taken back.
    pub kept: Option<String>,
}

impl Unlike {
    /// `B/2/zs: 0.62 stands there, the history has 0.72`.
    pub fn words(&self) -> String {
        format!(
            "{}: {} stands there, the history has {}",
            self.place,
            brief(&self.stands),
            brief(&self.kept)
        )
    }

    /// `0.62, and the history has 0.72`.
    pub fn values(&self) -> String {
        format!(
            "{}, and the history has {}",
            brief(&self.stands),
            brief(&self.kept)
        )
    }
}

impl Job {
    /// Every reading that isn't as the first `deeds` of the history have it, as far as they tell: what was there before the
    /// history began, or came and went with an edit of the record, they don't.
    pub fn unlike_history(&self, deeds: usize) -> Vec<Unlike> {
        // As kept, put back or countersigned; empty where it was taken back.
        let mut last: BTreeMap<Place, &str> = BTreeMap::new();
        // Of what every reading there is has to be in it.
        let mut whole: BTreeSet<Of> = match self.history.is_empty() {
            true => BTreeSet::new(),
            false => [Of::Group, Of::Part, Of::Label].into(),
        };
        let mut decided: BTreeSet<Place> = BTreeSet::new();
        for deed in self.history.iter().take(deeds) {
            match deed.done {
                Done::Kept | Done::PutBack | Done::Countersigned => {
                    if let Ok(place) = deed.what.parse() {
                        last.insert(place, &deed.new);
                    }
                }
                // Somebody decided what is to stand at a place.
                Done::Settled => {
                    if let Ok(place) = deed.what.parse::<Place>() {
                        last.remove(&place);
                        decided.insert(place);
                    }
                }
                Done::Edited => {
                    let moves = moves_readings(deed);
                    let stays = |of: Of| of == Of::Group || (of == Of::Part && !moves);
                    last.retain(|place, _| stays(Of::whose(place)));
                    whole.retain(|of| stays(*of));
                }
                Done::Begun => whole.clear(),
                Done::Issued => {}
            }
        }
        let mut out = Vec::new();
        // With what they were of, or because nothing of the kind is read there any more.
        let aside = self.edits.iter().flat_map(|e| &e.set_aside);
        let aside: BTreeSet<&Place> = aside.map(|(place, _)| place).collect();
        for (place, new) in &last {
            let stands = self.entry(place).map(|e| e.now.typed.clone());
            let same = match self.entry(place) {
                Some(entry) => is_of(new, entry),
                None => new.is_empty() || aside.contains(place),
            };
            if !same {
                let kept = (!new.is_empty()).then(|| (*new).to_string());
                out.push(Unlike {
                    place: place.clone(),
                    stands,
                    kept,
                });
            }
        }
        // A long way in a large job, for which most histories have no use.
        if whole.is_empty() {
            return out;
        }
        for seat in self.seats() {
            for (test, entry) in seat.readings.iter() {
                let place = seat.place(test);
                let known = last.contains_key(&place) || decided.contains(&place);
                if !known && whole.contains(&Of::whose(&place)) {
                    out.push(Unlike {
                        place,
                        stands: Some(entry.now.typed.clone()),
                        kept: None,
                    });
                }
            }
        }
        out
    }
}

/// On one line, fit for a terminal and not long: it is whatever somebody wrote into the file.
fn brief(text: &Option<String>) -> String {
    const LONGEST: usize = 80;
    let Some(text) = text else {
        return "nothing".to_string();
    };
    let text = on_one_line(text);
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

/// What a reading is of, as far as an edit of the record may move it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Of {
    /// Of the whole installation: supply, inspection and the like. It stays where it is.
    Group,
    /// Of a part of the record. It moves with it.
    Part,
    /// Of a label, which comes and goes with what it is on.
    Label,
}

impl Of {
    fn whose(place: &Place) -> Of {
        match Group::ALL.into_iter().find(|g| g.key() == place.top) {
            Some(Group::Label) => Of::Label,
            Some(Group::Bond) | None => Of::Part,
            Some(_) => Of::Group,
        }
    }
}

/// Whether an edit may have put readings elsewhere, or others in their place.
fn moves_readings(edit: &Deed) -> bool {
    let how = edit.new.as_str();
    let telling = ["id: ", "readings", "circuits", "layout"];
    let touches = |field: &str| telling.iter().any(|name| field.starts_with(name));
    // A long text is cut: it may say anything.
    how.split("; ").any(touches)
        || how == "added"
        || how == "removed"
        || how.contains("… (the whole has digest ")
}

/// Whether a deed's text is of a reading as typed, countersigned or not. A long text is cut as a whole.
fn is_of(new: &str, entry: &Entry) -> bool {
    let typed = on_one_line(&entry.now.typed);
    if new == on_one_line(&as_it_stands(entry)) {
        return true;
    }
    new.strip_prefix(typed.as_str())
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(", countersigned by "))
}
