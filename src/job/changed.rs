//! What changed between an issue of the paper and the job as it is, in words: fields of the record, readings, remarks.
//!
//! An issue keeps the record in short: the fields of each part by their names in the file, and only those parts that the issues
//! before it don't have so. Of readings it has what was typed; whether anything else of them is different a digest tells.

use std::collections::BTreeMap;

use serde_json::Value;

use super::digest::digest;
use super::edit::Edited;
use super::issue::Issue;
use super::part::Spot;
use super::text::bounded;
use super::{Group, Job, Layout, Place};

/// Fields by their names, of parts by theirs.
pub(super) type Record = BTreeMap<String, BTreeMap<String, String>>;

/// Most fields or readings of one part that are named.
const NAMED: usize = 5;
/// Most characters of one value that are shown.
const SHOWN: usize = 60;
/// The field that stands for all of a reading but what was typed.
const DETAILS: &str = "details of its readings";

impl Job {
    /// Every part of the record with its fields, as an issue keeps it.
    fn record(&self) -> Record {
        let mut out = Record::new();
        for spot in self.spots() {
            let Some((part, _)) = self.part(&spot) else {
                continue;
            };
            let value = serde_json::to_value(part.without_readings()).unwrap_or_default();
            let mut fields = BTreeMap::new();
            // The outermost name is that of the kind of part.
            for inner in value.as_object().into_iter().flat_map(|o| o.values()) {
                flatten("", inner, &mut fields);
            }
            out.insert(spot.to_string(), fields);
        }
        for seat in self.seats() {
            if seat.readings.is_empty() {
                continue;
            }
            let all = serde_json::to_string(seat.readings).unwrap_or_default();
            let name = format!("readings of {}", seat_name(seat.top, seat.part.as_deref()));
            let details = (DETAILS.to_string(), short(&all));
            out.insert(name, BTreeMap::from([details]));
        }
        let back = self.taken_back.len();
        if back > 0 {
            let count = ("count".to_string(), back.to_string());
            out.insert("readings taken back".into(), BTreeMap::from([count]));
        }
        out
    }

    /// Address of every part.
    fn spots(&self) -> Vec<Spot> {
        let mut out = vec![Spot::Visit, Spot::Supply, Spot::Grid];
        out.extend(self.people.iter().map(|x| Spot::Person(x.id.clone())));
        let instruments = self.instruments.iter();
        out.extend(instruments.map(|x| Spot::Instrument(x.id.clone())));
        out.extend(self.bonds.iter().map(|x| Spot::Bond(x.id.clone())));
        for b in &self.boards {
            out.push(Spot::Board(b.id.clone()));
            let circuits = b.circuits.iter();
            out.extend(circuits.map(|c| Spot::Circuit(b.id.clone(), c.id.clone())));
        }
        for a in &self.arrays {
            out.push(Spot::Array(a.id.clone()));
            let line = |id: &String| Spot::Line(a.id.clone(), id.clone());
            match &a.layout {
                Layout::Branches(list) => out.extend(list.iter().map(|x| line(&x.id))),
                Layout::Strings(list) => out.extend(list.iter().map(|x| line(&x.id))),
            }
        }
        out.extend(self.inverters.iter().map(|x| Spot::Inverter(x.id.clone())));
        out.extend(self.storage.iter().map(|x| Spot::Storage(x.id.clone())));
        out.extend((0..self.observations.len()).map(Spot::Observation));
        out
    }

    /// The record as it stood at an issue; `None` where neither that issue nor one before it kept it.
    fn record_at(&self, issue: &Issue) -> Option<Record> {
        let mut out = Record::new();
        let mut kept = false;
        for before in self.issues.iter().filter(|i| i.number <= issue.number) {
            kept |= !before.record.is_empty();
            out.extend(before.record.clone());
        }
        out.retain(|_, fields| !fields.is_empty());
        kept.then_some(out)
    }

    /// What the next issue has to keep, so that with those before it the whole record is there.
    pub(super) fn record_to_keep(&self) -> Record {
        let now = self.record();
        let last = self.issues.last();
        let Some(before) = last.and_then(|last| self.record_at(last)) else {
            return now;
        };
        let gone = before.keys().filter(|name| !now.contains_key(*name));
        let mut out: Record = gone.map(|name| (name.clone(), BTreeMap::new())).collect();
        let new = now.into_iter().filter(|(n, f)| before.get(n) != Some(f));
        out.extend(new);
        out
    }

    /// What is different from an issue, a line for each part: the record first, then readings. Empty where nothing is.
    pub fn changed_since(&self, issue: &Issue) -> Vec<String> {
        let before = self.record_at(issue);
        let now = self.record();
        let mut out = match &before {
            Some(before) => parts(before, &now),
            None => Vec::new(),
        };
        let (lines, told) = self.readings_since(issue);
        out.extend(lines);
        match &before {
            Some(before) => out.extend(details(before, &now, &told)),
            None => {
                let edits = self.edits.iter().skip(issue.edits);
                out.extend(edits.map(|e| format!("{}: {}", e.what, bounded(&e.in_words(), NAMED))));
            }
        }
        if self.content_digest().as_ref() != Ok(&issue.content) {
            if before.is_none() {
                out.push(
                    "what else changed in the record can't be told: a former version of the program made that issue".into(),
                );
            } else if out.is_empty() {
                out.push("something that neither the record nor the readings show, such as the history of edits".into());
            }
        }
        out
    }

    /// Readings that were typed differently, a line for each place they belong to; and the names of those places.
    fn readings_since(&self, issue: &Issue) -> (Vec<String>, Vec<String>) {
        let now = self.typed();
        let mut by_seat: BTreeMap<String, Vec<String>> = BTreeMap::new();
        let mut note = |place: &Place, before: Option<&String>, typed: Option<&String>| {
            if before == typed {
                return;
            }
            let nothing = || "nothing".to_string();
            let line = format!(
                "{} {} -> {}",
                place.test.heading(),
                before.map_or_else(nothing, |t| cut(t)),
                typed.map_or_else(nothing, |t| place.test.unit().with_typed(&cut(t)))
            );
            by_seat.entry(place.owner()).or_default().push(line);
        };
        for (place, typed) in &now {
            note(place, issue.readings.get(place), Some(typed));
        }
        for (place, before) in &issue.readings {
            if !now.contains_key(place) {
                note(place, Some(before), None);
            }
        }
        let names = by_seat.keys().map(|seat| format!("readings of {seat}"));
        let names = names.collect();
        let lines = by_seat
            .iter()
            .map(|(seat, all)| format!("{seat}: {}", bounded(all, NAMED)));
        (lines.collect(), names)
    }
}

impl Edited {
    /// What was changed, in words: `device rating 16 -> 20 A`. What isn't a field of its own stays as it was noted.
    pub fn in_words(&self) -> Vec<String> {
        self.how.iter().flat_map(|how| noted_words(how)).collect()
    }
}

/// A change as an edit notes it, `device.rating_a: 16 -> 20`, in words; one for each field where it is of several.
fn noted_words(how: &str) -> Vec<String> {
    let Some((path, (old, new))) = how
        .split_once(": ")
        .and_then(|(path, values)| Some((path, values.split_once(" -> ")?)))
    else {
        return vec![how.to_string()];
    };
    let of = |text: &str| {
        let mut out = BTreeMap::new();
        match serde_json::from_str::<Value>(text) {
            Ok(value @ (Value::Object(_) | Value::Array(_) | Value::Bool(_))) => {
                flatten(path, &value, &mut out);
            }
            _ if text != "nothing" => {
                out.insert(path.to_string(), text.to_string());
            }
            _ => {}
        }
        out
    };
    let words = fields(&of(old), &of(new));
    // Nothing that is told apart: as it stands.
    match words.is_empty() {
        true => vec![how.to_string()],
        false => words,
    }
}

/// Where readings belong, such as `R/3` or `supply`.
fn seat_name(top: &str, part: Option<&str>) -> String {
    match part {
        Some(part) => format!("{top}/{part}"),
        None => top.to_string(),
    }
}

/// Fields one under the other; nothing for what is empty, as for what the file leaves out.
fn flatten(at: &str, value: &Value, out: &mut BTreeMap<String, String>) {
    let inner = |key: &str| match at {
        "" => key.to_string(),
        at => format!("{at}.{key}"),
    };
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                // Parts of their own.
                if at.is_empty() && matches!(key.as_str(), "readings" | "circuits" | "layout") {
                    continue;
                }
                flatten(&inner(key), value, out);
            }
        }
        Value::Array(items) => {
            for (n, value) in items.iter().enumerate() {
                flatten(&inner(&(n + 1).to_string()), value, out);
            }
        }
        Value::Null | Value::Bool(false) => {}
        Value::String(text) if text.is_empty() => {}
        Value::String(text) => {
            out.insert(at.to_string(), text.clone());
        }
        Value::Bool(true) => {
            out.insert(at.to_string(), "yes".into());
        }
        other => {
            out.insert(at.to_string(), other.to_string());
        }
    }
}

/// Parts that came, went or are different, but for the readings of which only a digest is kept.
fn parts(before: &Record, now: &Record) -> Vec<String> {
    let empty = BTreeMap::new();
    let mut names: Vec<&String> = before.keys().chain(now.keys()).collect();
    names.sort();
    names.dedup();
    let mut out = Vec::new();
    for name in names {
        let (old, new) = (before.get(name), now.get(name));
        if old == new || name.starts_with("readings of ") {
            continue;
        }
        match (old, new) {
            (None, Some(new)) => out.push(format!("{name} added{}", called(new))),
            (Some(old), None) => out.push(format!("{name} removed{}", called(old))),
            (old, new) => {
                let changes = fields(old.unwrap_or(&empty), new.unwrap_or(&empty));
                out.push(format!("{name}: {}", bounded(&changes, NAMED)));
            }
        }
    }
    out
}

/// What a part that came or went is called.
fn called(fields: &BTreeMap<String, String>) -> String {
    let name = ["name", "make", "to", "text"]
        .iter()
        .find_map(|f| fields.get(*f));
    name.map_or_else(String::new, |n| format!(" ({})", cut(n)))
}

fn fields(old: &BTreeMap<String, String>, new: &BTreeMap<String, String>) -> Vec<String> {
    let mut names: Vec<&String> = old.keys().chain(new.keys()).collect();
    names.sort();
    names.dedup();
    names
        .into_iter()
        .filter(|f| old.get(*f) != new.get(*f))
        .map(|f| {
            let (words, unit) = field_words(f);
            let yes = |v: Option<&String>| v.is_some_and(|v| v == "yes");
            let is_yes = yes(old.get(f)) || yes(new.get(f));
            let of = |v: Option<&String>| match v {
                None if is_yes => "no".to_string(),
                None => "nothing".to_string(),
                Some(v) => cut(value_words(v)),
            };
            let unit = if new.contains_key(f) { unit } else { "" };
            format!("{words} {} -> {}{unit}", of(old.get(f)), of(new.get(f)))
        })
        .collect()
}

/// Readings with the same figures, of which something else is different.
fn details(before: &Record, now: &Record, told: &[String]) -> Vec<String> {
    let mut out = Vec::new();
    let sign = format!("readings of {}", Group::Sign.key());
    for (name, fields) in now {
        let Some(seat) = name.strip_prefix("readings of ") else {
            continue;
        };
        if before.get(name).is_none_or(|old| old == fields) || told.contains(name) {
            continue;
        }
        if *name == sign {
            out.push("signatures: names entered anew".to_string());
        } else {
            out.push(format!(
                "{seat}: the same figures, but not the same person, time, instrument, countersign or earlier readings"
            ));
        }
    }
    out
}

fn cut(text: &str) -> String {
    let text: Vec<&str> = text.split_whitespace().collect();
    let text = text.join(" ");
    match text.char_indices().nth(SHOWN) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default().trim_end()),
        None => text,
    }
}

/// The name of a field in words, and its unit after a blank.
fn field_words(path: &str) -> (String, &'static str) {
    const UNITS: [(&str, &str); 17] = [
        ("_a2s", " A²s"),
        ("_pct_k", " %/K"),
        ("_pct", " %"),
        ("_mm2", " mm²"),
        ("_m2", " m²"),
        ("_kwh", " kWh"),
        ("_deg", "°"),
        ("_ka", " kA"),
        ("_ma", " mA"),
        ("_hz", " Hz"),
        ("_a", " A"),
        ("_v", " V"),
        ("_w", " W"),
        ("_m", " m"),
        ("_c", " °C"),
        ("cpc.Copper", " mm²"),
        ("cpc.Armour", " cores"),
    ];
    const NAMES: [(&str, &str); 9] = [
        ("mm2", "size"),
        ("idn", "IΔn"),
        ("u0", "U0"),
        ("voc", "Voc"),
        ("isc", "Isc"),
        ("vmp", "Vmp"),
        ("spd", "SPD"),
        ("rcd", "RCD"),
        ("Copper", "copper"),
    ];
    if path == "mm2" {
        return ("size".into(), " mm²");
    }
    let unit = UNITS.iter().find(|(end, _)| path.ends_with(end));
    let (name, unit) = match unit {
        Some((end, unit)) if end.starts_with('_') => {
            (path.strip_suffix(end).unwrap_or(path), *unit)
        }
        Some((_, unit)) => (path, *unit),
        None => (path, ""),
    };
    let words: Vec<String> = name
        .split(['.', '_'])
        .map(|word| {
            let known = NAMES.iter().find(|(n, _)| *n == word);
            known.map_or_else(|| word.to_string(), |(_, words)| (*words).to_string())
        })
        .collect();
    (words.join(" "), unit)
}

/// A value that stands for a standard or an arrangement, as it is written.
fn value_words(value: &str) -> &str {
    match value {
        "BsEn60898" => "BS EN 60898",
        "BsEn61009" => "BS EN 61009",
        "Bs88_2" => "BS 88-2",
        "Bs88_3" => "BS 88-3",
        "Bs3036" => "BS 3036",
        "TnS" => "TN-S",
        "TnCS" => "TN-C-S",
        "Tt" => "TT",
        "FlatTwinEarth70" => "flat twin and earth, 70 °C",
        "Singles70" => "singles, 70 °C",
        "Armoured90" => "steel-wire armoured, 90 °C",
        other => other,
    }
}

fn short(text: &str) -> String {
    digest(&[text.as_bytes()]).chars().take(8).collect()
}

#[cfg(test)]
mod tests {
    use super::{field_words, noted_words};

    #[test]
    fn fields_are_named_in_words_with_their_units() {
        for (path, words, unit) in [
            ("device.rating_a", "device rating", " A"),
            ("cable.line_mm2", "cable line", " mm²"),
            ("cable.cpc.Copper", "cable cpc copper", " mm²"),
            ("rcd.idn_ma", "RCD IΔn", " mA"),
            ("module.beta_pct_k", "module beta", " %/K"),
            ("units.3.module", "units 3 module", ""),
            ("charge_pct", "charge", " %"),
            ("mm2", "size", " mm²"),
            ("earthing_mm2", "earthing", " mm²"),
            ("make", "make", ""),
        ] {
            assert_eq!(field_words(path), (words.to_string(), unit), "{path}");
        }
    }
    #[test]
    fn what_an_edit_noted_is_told_in_words() {
        for (how, words) in [
            (
                "device.rating_a: 16 -> 20",
                &["device rating 16 -> 20 A"][..],
            ),
            ("to_compare: true -> false", &["to compare yes -> no"]),
            ("make: nothing -> Ellerby", &["make nothing -> Ellerby"]),
            (
                "dc: nothing -> {\"max_v\":\"600\",\"isc_a\":\"15\"}",
                &["dc Isc nothing -> 15 A", "dc max nothing -> 600 V"],
            ),
            (
                "serials: [\"A1\"] -> [\"A1\",\"A2\"]",
                &["serials 2 nothing -> A2"],
            ),
            ("note: a: b -> c -> d", &["note a: b -> c -> d"]),
            ("added", &["added"]),
        ] {
            assert_eq!(noted_words(how), words, "{how}");
        }
    }
}
