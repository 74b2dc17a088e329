//! The rows of a form: a field each, and a row for each text of a list.

use crate::job::Part;

use super::entries;
use super::entry::{Entry, Kind};

/// A row of a form.
#[derive(Debug, Clone, Copy)]
pub enum Field {
    /// A field.
    Whole(&'static Entry),
    /// One text of a list.
    Item(&'static Entry, usize),
    /// Where one more is typed.
    More(&'static Entry),
}

impl Field {
    /// The field it belongs to.
    pub fn entry(&self) -> &'static Entry {
        match self {
            Field::Whole(e) | Field::Item(e, _) | Field::More(e) => e,
        }
    }

    /// What the row is called.
    pub fn heading(&self) -> String {
        match (self, self.entry().kind) {
            (Field::Item(_, i), Kind::List { one, .. }) => format!("  {one} {}", i + 1),
            (Field::More(_), Kind::List { one, .. }) => format!("  one more {one}"),
            _ => self.entry().heading.to_string(),
        }
    }

    /// What it is, as it is typed; a line end is `¶`.
    pub fn value(&self, part: &Part) -> String {
        match (self, self.entry().kind) {
            (Field::Item(_, i), Kind::List { items, .. }) => {
                items(part).get(*i).cloned().unwrap_or_default()
            }
            (Field::More(_), _) => String::new(),
            _ => (self.entry().get)(part).replace('\n', "¶"),
        }
    }

    /// What it is, as it is shown while nothing is typed.
    pub fn shown(&self, part: &Part) -> String {
        match (self, self.entry().kind) {
            (Field::Whole(_), Kind::List { items, .. }) => {
                let items = items(part);
                let blank = items.iter().filter(|t| t.is_empty()).count();
                match (items.len(), blank) {
                    (0, _) => "none".into(),
                    (n, 0) => n.to_string(),
                    (n, blank) => format!("{n}, of which {blank} have no text yet"),
                }
            }
            _ => self.value(part),
        }
    }

    /// Sets it.
    ///
    /// # Errors
    /// What is wrong with what was typed, and what is allowed.
    pub fn set(&self, part: &mut Part, typed: &str) -> Result<(), String> {
        let typed = typed.trim();
        match (self, self.entry().kind) {
            (Field::Item(_, at), Kind::List { items, put, .. }) => {
                let mut now = items(part);
                if let Some(item) = now.get_mut(*at) {
                    *item = typed.to_string();
                }
                put(part, now)
            }
            (Field::More(_), Kind::List { items, put, .. }) => {
                let mut now = items(part);
                // What has no text yet is filled first.
                for text in super::line::split(typed) {
                    match now.iter_mut().find(|t| t.is_empty()) {
                        Some(blank) => *blank = text,
                        None => now.push(text),
                    }
                }
                put(part, now)
            }
            (_, Kind::Number | Kind::Whole) => {
                (self.entry().set)(part, without_unit(typed, self.entry().unit))
            }
            _ => (self.entry().set)(part, &typed.replace('¶', "\n")),
        }
    }

    /// Takes a text out of its list; nothing for any other row.
    ///
    /// # Errors
    /// As for [`set`](Self::set).
    pub fn take_out(&self, part: &mut Part) -> Result<(), String> {
        if let (Field::Item(_, at), Part::Branch(x)) = (self, &mut *part) {
            // A module goes with its inverter.
            if *at < x.units.len() {
                x.units.remove(*at);
            }
            return Ok(());
        }
        if let (Field::Item(_, at), Kind::List { items, put, .. }) = (self, self.entry().kind) {
            let mut now = items(part);
            if *at < now.len() {
                now.remove(*at);
            }
            return put(part, now);
        }
        Ok(())
    }
}

/// A number without the unit of its field behind it; another unit stays, and is refused.
fn without_unit<'a>(typed: &'a str, unit: &str) -> &'a str {
    if unit.is_empty() {
        return typed;
    }
    let plain = unit.replace('²', "2").replace('Ω', "ohm");
    let number = typed
        .strip_suffix(unit)
        .or_else(|| typed.strip_suffix(plain.as_str()));
    match number.map(str::trim_end) {
        Some(number) if number.ends_with(|c: char| c.is_ascii_digit()) => number,
        _ => typed,
    }
}

/// Every row of the form of a part, in order.
pub fn rows_of(part: &Part) -> Vec<Field> {
    let mut out = Vec::new();
    for entry in entries(part) {
        out.push(Field::Whole(entry));
        if let Kind::List { items, .. } = entry.kind {
            out.extend((0..items(part).len()).map(|i| Field::Item(entry, i)));
            out.push(Field::More(entry));
        }
    }
    out
}

/// What differs between two states of a part, field by field, as the form calls them.
pub fn describe_change(before: &Part, now: &Part) -> Vec<String> {
    entries(now)
        .iter()
        .filter_map(|entry| {
            let (old, new) = ((entry.get)(before), (entry.get)(now));
            if let Kind::List { one, items, .. } = entry.kind {
                let (old, new) = (items(before), items(now));
                if old.len() != new.len() {
                    return Some(format!("{} {} -> {}", entry.heading, old.len(), new.len()));
                }
                let changed: Vec<usize> = (0..new.len())
                    .filter(|i| old.get(*i) != new.get(*i))
                    .collect();
                return match changed.as_slice() {
                    [] => None,
                    [at] => Some(format!(
                        "{one} {} {} -> {}",
                        at + 1,
                        brief(old.get(*at).map_or("", String::as_str)),
                        brief(new.get(*at).map_or("", String::as_str))
                    )),
                    many => Some(format!("{} of {} {}", many.len(), new.len(), entry.heading)),
                };
            }
            (old != new).then(|| format!("{} {} -> {}", entry.heading, brief(&old), brief(&new)))
        })
        .collect()
}

fn brief(text: &str) -> String {
    const LONGEST: usize = 40;
    let text = text.replace('\n', " ");
    match text.chars().count() {
        0 => "nothing".into(),
        n if n > LONGEST => format!("{}…", text.chars().take(LONGEST).collect::<String>()),
        _ => text,
    }
}
