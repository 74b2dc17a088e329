//! Editing the record itself: a part is added, changed, moved, renamed or removed as a whole, and every edit has its inverse.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::array::Layout;
use super::change::ChangeError;
use super::group::Group;
use super::label::renamed;
use super::part::{Part, Spot};
use super::place::Place;
use super::reading::{Entry, Reading};
use super::{Job, Role};

/// A change of a part.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edit {
    /// Which; where it isn't there yet, it is added under that address.
    pub spot: Spot,
    /// The part as it shall be; `None` removes it. Another id renames it, with everything that names it.
    #[serde(default)]
    pub now: Option<Part>,
    /// Whether `now` counts with its readings and with what it consists of (circuits, strings). Else those stay as they
    /// are where the part is there already.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub whole: bool,
    /// Readings of other parts to put back: those that an edit set aside, when it is undone.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub back: Vec<(Place, Entry)>,
    /// Position in its list, where it shall be put or moved to; the end, or where it is, without one.
    #[serde(default)]
    pub to: Option<usize>,
    /// Who edits.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// An edit as the history has it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edited {
    /// Who.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Which part.
    pub what: String,
    /// Each field that changed, as `name: old -> new`; `added`, `removed` or `moved`.
    pub how: Vec<String>,
    /// Readings that no longer have a place: nothing is thrown away.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub set_aside: Vec<(Place, Entry)>,
}

/// Puts an item into a list, in place of the one at `index` or at a new position; returns the old one.
fn put<T>(list: &mut Vec<T>, index: Option<usize>, now: Option<T>, to: Option<usize>) -> Option<T> {
    let old = index.filter(|i| *i < list.len()).map(|i| list.remove(i));
    if let Some(item) = now {
        let at = to.or(index).unwrap_or(list.len()).min(list.len());
        list.insert(at, item);
    }
    old
}

impl Job {
    /// Makes an edit and returns its inverse.
    ///
    /// # Errors
    /// What is wrong with it, or with the job as it would be; the job is then unchanged.
    pub(super) fn edit(&mut self, edit: &Edit) -> Result<Edit, ChangeError> {
        if self.person(&edit.by).is_none() {
            return Err(ChangeError::Unknown {
                what: "person",
                id: edit.by.clone(),
                known: self.people.iter().map(|p| p.id.clone()).collect(),
            });
        }
        self.may_edit(edit)?;
        let mut next = self.clone();
        let inverse = next.edit_freely(edit)?;
        if let Some(problem) = next.problems().into_iter().next() {
            return Err(ChangeError::Unsound {
                spot: edit.spot.clone(),
                what: problem.what,
                remedy: problem.remedy,
            });
        }
        *self = next;
        Ok(inverse)
    }

    /// An apprentice says of no figures that they are as on site, makes nobody qualified and touches nobody who is, as long as somebody on the job is.
    fn may_edit(&self, edit: &Edit) -> Result<(), ChangeError> {
        if let Some(now) = &edit.now
            && now.to_compare() == Some(false)
            && !edit.whole
            && !self.is_qualified(&edit.by)
            && self
                .part(&edit.spot)
                .is_some_and(|(before, _)| before.to_compare() == Some(true))
        {
            return Err(ChangeError::NotAllowed(
                "a qualified person says that figures are as on site; change who is entering first"
                    .into(),
            ));
        }
        let Spot::Person(id) = &edit.spot else {
            return Ok(());
        };
        let becomes = matches!(&edit.now, Some(Part::Person(p)) if p.role == Role::Qualified);
        let led = self.people.iter().any(|p| p.role == Role::Qualified);
        if led && !self.is_qualified(&edit.by) && (becomes || self.is_qualified(id)) {
            return Err(ChangeError::NotAllowed(
                "a qualified person says who is qualified; change who is entering first".into(),
            ));
        }
        Ok(())
    }

    fn edit_freely(&mut self, edit: &Edit) -> Result<Edit, ChangeError> {
        let spot = &edit.spot;
        let unfit = || ChangeError::NoPart(spot.clone());
        let before = self.part(spot);
        let mut now = edit.now.clone();
        let new_spot = match &now {
            Some(part) => part.spot_like(spot).ok_or_else(unfit)?,
            None => spot.clone(),
        };
        if let (false, Some(now), Some((old, _))) = (edit.whole, &mut now, &before) {
            now.carry_over(old);
        }
        let fixed = matches!(spot, Spot::Visit | Spot::Supply | Spot::Grid);
        if now.is_none() && (fixed || before.is_none()) {
            return Err(unfit());
        }
        let index = before.as_ref().map(|(_, i)| *i);
        let how = history(before.as_ref().map(|(p, _)| p), now.as_ref());
        let removed = now.is_none();
        let mut set_aside = if removed {
            self.readings_at(spot)
        } else {
            Vec::new()
        };
        self.put_part(spot, index, now, edit.to).ok_or_else(unfit)?;
        if new_spot != *spot && before.is_some() {
            self.rename(spot, &new_spot)?;
        }
        // Observations have no id: the inverse of a removal adds, and so names a position that is not there.
        let new_spot = match new_spot {
            Spot::Observation(_) if removed => Spot::Observation(self.observations.len()),
            Spot::Observation(at) => {
                let last = self.observations.len().saturating_sub(1);
                Spot::Observation(edit.to.unwrap_or(at).min(last))
            }
            spot => spot,
        };
        for (place, entry) in &edit.back {
            if let Some(readings) = self.readings_mut(place) {
                readings.put(place.test, Some(entry.clone()));
            }
        }
        let others = self.take_out_unwanted();
        set_aside.extend_from_slice(&others);
        self.edits.push(Edited {
            by: edit.by.clone(),
            at: edit.at,
            what: spot.to_string(),
            how,
            set_aside,
        });
        Ok(Edit {
            spot: new_spot,
            to: index,
            now: before.map(|(p, _)| p),
            whole: true,
            back: others,
            by: edit.by.clone(),
            at: edit.at,
        })
    }

    /// Readings of a part and of those in it.
    fn readings_at(&self, spot: &Spot) -> Vec<(Place, Entry)> {
        let (top, part) = match spot {
            Spot::Bond(id) => (Group::Bond.key(), Some(id.as_str())),
            Spot::Board(id) | Spot::Array(id) | Spot::Storage(id) => (id.as_str(), None),
            Spot::Circuit(top, part) | Spot::Line(top, part) => (top.as_str(), Some(part.as_str())),
            _ => return Vec::new(),
        };
        self.seats()
            .iter()
            .filter(|s| s.top == top && part.is_none_or(|p| s.part.as_deref() == Some(p)))
            .flat_map(|s| s.readings.iter().map(|(t, e)| (s.place(t), e.clone())))
            .collect()
    }

    /// Takes out the readings of tests that their owner no longer has.
    fn take_out_unwanted(&mut self) -> Vec<(Place, Entry)> {
        let mut out = Vec::new();
        for seat in self.seats() {
            let wanted = self.wanted(seat.owner);
            for (test, entry) in seat.readings.iter() {
                if !wanted.iter().any(|(t, _)| *t == test) {
                    out.push((seat.place(test), entry.clone()));
                }
            }
        }
        for (place, _) in &out {
            if let Some(readings) = self.readings_mut(place) {
                readings.put(place.test, None);
            }
        }
        // Labels of what is no longer there.
        let gone: Vec<String> = self
            .labels
            .keys()
            .filter(|name| self.label(name).is_none())
            .cloned()
            .collect();
        for name in gone {
            let readings = self.labels.remove(&name).unwrap_or_default();
            let place = |test| Place::part(Group::Label.key(), &name, test);
            out.extend(readings.iter().map(|(t, e)| (place(t), e.clone())));
        }
        self.labels.retain(|_, readings| !readings.is_empty());
        out
    }

    /// Puts a part at an address; `None` where the address leads nowhere.
    fn put_part(
        &mut self,
        spot: &Spot,
        index: Option<usize>,
        now: Option<Part>,
        to: Option<usize>,
    ) -> Option<()> {
        macro_rules! list {
            ($list:expr, $kind:path) => {{
                let item = match now {
                    Some($kind(x)) => Some(*x),
                    None => None,
                    _ => return None,
                };
                put($list, index, item, to);
            }};
        }
        match spot {
            Spot::Visit => match now {
                Some(Part::Visit(v)) => self.set_visit(*v),
                _ => return None,
            },
            Spot::Supply => match now {
                Some(Part::Supply(s)) => self.supply = *s,
                _ => return None,
            },
            Spot::Grid => match now {
                Some(Part::Grid(g)) => self.grid = *g,
                _ => return None,
            },
            Spot::Person(_) => list!(&mut self.people, Part::Person),
            Spot::Instrument(_) => list!(&mut self.instruments, Part::Instrument),
            Spot::Bond(_) => list!(&mut self.bonds, Part::Bond),
            Spot::Board(_) => list!(&mut self.boards, Part::Board),
            Spot::Circuit(board, _) => {
                let board = self.boards.iter_mut().find(|b| b.id == *board)?;
                list!(&mut board.circuits, Part::Circuit);
            }
            Spot::Array(_) => list!(&mut self.arrays, Part::Array),
            Spot::Line(array, _) => {
                let array = self.arrays.iter_mut().find(|a| a.id == *array)?;
                match &mut array.layout {
                    Layout::Branches(list) => list!(list, Part::Branch),
                    Layout::Strings(list) => list!(list, Part::PvString),
                }
            }
            Spot::Inverter(_) => list!(&mut self.inverters, Part::Inverter),
            Spot::Storage(_) => list!(&mut self.storage, Part::Storage),
            Spot::Observation(_) => list!(&mut self.observations, Part::Observation),
        }
        Some(())
    }

    /// Makes everything that named the old address name the new one.
    fn rename(&mut self, old: &Spot, new: &Spot) -> Result<(), ChangeError> {
        let path = |text: &mut String, from: &str, to: &str| {
            if text == from {
                *text = to.to_string();
            }
        };
        match (old, new) {
            (Spot::Person(id), Spot::Person(_)) | (Spot::Instrument(id), Spot::Instrument(_))
                if self.names_in_readings(id) =>
            {
                return Err(ChangeError::NotAllowed(format!(
                    "readings name `{id}`: its id stays; edit the other fields, or add another"
                )));
            }
            (Spot::Board(from), Spot::Board(to)) => {
                let (from, to) = (format!("{from}/"), format!("{to}/"));
                self.each_path(|p| {
                    if let Some(rest) = p.strip_prefix(&from) {
                        *p = format!("{to}{rest}");
                    }
                });
            }
            (Spot::Circuit(board, from), Spot::Circuit(_, to)) => {
                let (from, to) = (format!("{board}/{from}"), format!("{board}/{to}"));
                self.each_path(|p| path(p, &from, &to));
            }
            (Spot::Inverter(from), Spot::Inverter(to)) => {
                for a in &mut self.arrays {
                    path(&mut a.inverter, from, to);
                }
                for s in &mut self.storage {
                    path(&mut s.inverter, from, to);
                }
            }
            _ => {}
        }
        let names: Vec<String> = self.labels.keys().cloned().collect();
        for name in names {
            if let Some(to) = renamed(&name, old, new)
                && let Some(readings) = self.labels.remove(&name)
            {
                self.labels.insert(to, readings);
            }
        }
        Ok(())
    }

    /// Everything that is `BOARD/CIRCUIT`.
    fn each_path(&mut self, mut change: impl FnMut(&mut String)) {
        for b in &mut self.boards {
            change(&mut b.fed_from);
        }
        for i in &mut self.inverters {
            change(&mut i.circuit);
        }
        for a in &mut self.arrays {
            if let Layout::Branches(list) = &mut a.layout {
                list.iter_mut().for_each(|b| change(&mut b.circuit));
            }
        }
    }

    /// Whether a person or an instrument is named by what was done: they stay on the job, and keep their id.
    fn names_in_readings(&self, id: &str) -> bool {
        let done = self.edits.iter().any(|e| e.by == id)
            || self.issues.iter().any(|i| i.by == id)
            || self.taken_back.iter().any(|t| t.by == id);
        let aside = self.edits.iter().flat_map(|e| &e.set_aside);
        let aside = aside.flat_map(|(_, e)| e.struck.iter().chain([&e.now]));
        let mut aside = aside.chain(self.taken_back.iter().map(|t| &t.reading));
        done || aside.any(|r| named(r, id)) || self.names_in_standing(id)
    }

    fn names_in_standing(&self, id: &str) -> bool {
        self.seats()
            .iter()
            .flat_map(|s| s.readings.iter())
            .flat_map(|(_, e)| e.struck.iter().chain([&e.now]))
            .any(|r| named(r, id))
    }
}

/// Whether a reading names a person or an instrument.
fn named(r: &Reading, id: &str) -> bool {
    r.by == id
        || r.instrument.as_deref() == Some(id)
        || r.countersigned.as_ref().is_some_and(|c| c.by == id)
        || r.around.as_ref().is_some_and(|a| a.by == id)
}

/// What changed between two states of a part, field by field.
fn history(before: Option<&Part>, now: Option<&Part>) -> Vec<String> {
    match (before, now) {
        (None, None) => Vec::new(),
        (None, Some(_)) => vec!["added".into()],
        (Some(_), None) => vec!["removed".into()],
        (Some(before), Some(now)) => {
            let value = |p: &Part| serde_json::to_value(p).unwrap_or_default();
            let mut out = Vec::new();
            differences("", &value(before), &value(now), &mut out);
            if out.is_empty() {
                out.push("moved".into());
            }
            out
        }
    }
}

fn differences(at: &str, old: &serde_json::Value, new: &serde_json::Value, out: &mut Vec<String>) {
    use serde_json::Value::{Null, Object};
    if old == new {
        return;
    }
    match (old, new) {
        (Object(a), Object(b)) => {
            let mut keys: Vec<&String> = a.keys().chain(b.keys()).collect();
            keys.sort();
            keys.dedup();
            for key in keys {
                // The outermost name is that of the kind of part.
                let inner = match at {
                    "" if key.starts_with(char::is_uppercase) => String::new(),
                    "" => key.clone(),
                    at => format!("{at}.{key}"),
                };
                let (a, b) = (a.get(key), b.get(key));
                differences(&inner, a.unwrap_or(&Null), b.unwrap_or(&Null), out);
            }
        }
        _ => {
            let yes_or_no = old.is_boolean() || new.is_boolean();
            let shown = |v: &serde_json::Value| match v {
                // One that is skipped in the file is a no.
                Null if yes_or_no => "false".to_string(),
                Null => "nothing".to_string(),
                serde_json::Value::String(s) if s.is_empty() => "nothing".into(),
                serde_json::Value::String(s) => s.clone(),
                other => other.to_string(),
            };
            out.push(format!("{at}: {} -> {}", shown(old), shown(new)));
        }
    }
}
