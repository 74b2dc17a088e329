//! Serial numbers that stand twice in the record, or nowhere: a label that was scanned twice, a module that was passed over.

use std::collections::BTreeMap;

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::{Array, Branch, Job, Layout, Owner, PvString, Seat, Test};

/// Most serial numbers that are named one by one.
const NAMED: usize = 3;

/// Where each serial number of a job stands. Nothing that was read goes into it.
#[derive(Debug, Default)]
pub(super) struct Serials(BTreeMap<String, Vec<String>>);

impl Serials {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Serials {
        let mut out = Serials::default();
        let mut add = |list: Vec<(String, &str)>| {
            for (place, serial) in list {
                if let Some(key) = key(serial) {
                    out.0.entry(key).or_default().push(place);
                }
            }
        };
        for array in &job.arrays {
            match &array.layout {
                Layout::Branches(list) => list.iter().for_each(|b| add(of_branch(array, b))),
                Layout::Strings(list) => list.iter().for_each(|s| add(of_string(array, s))),
            }
        }
        for inverter in &job.inverters {
            add(vec![(
                format!("inverter {}", inverter.id),
                inverter.serial.as_str(),
            )]);
        }
        for storage in &job.storage {
            add(vec![(
                format!("storage {}", storage.id),
                storage.serial.as_str(),
            )]);
        }
        out
    }

    /// Where the same number stands beside `place`.
    fn others(&self, place: &str, serial: &str) -> Vec<&str> {
        let all = key(serial).and_then(|key| self.0.get(&key));
        let others = all.into_iter().flatten().map(String::as_str);
        others.filter(|other| *other != place).collect()
    }
}

/// A number as scanners and fingers agree on it; nothing where it says nothing.
fn key(serial: &str) -> Option<String> {
    let plain: String = serial.split_whitespace().collect();
    let says = plain.chars().any(char::is_alphanumeric);
    says.then(|| plain.to_uppercase())
}

fn of_branch<'a>(array: &Array, branch: &'a Branch) -> Vec<(String, &'a str)> {
    let at = |what: &str, n: usize| format!("{what} {} of {}/{}", n + 1, array.id, branch.id);
    let units = branch.units.iter().enumerate();
    let both = units.flat_map(|(n, u)| {
        [
            (at("module", n), u.module.as_str()),
            (at("micro-inverter", n), u.inverter.as_str()),
        ]
    });
    both.collect()
}

fn of_string<'a>(array: &Array, string: &'a PvString) -> Vec<(String, &'a str)> {
    let modules = string.modules.iter().enumerate();
    let at = |n: usize| format!("module {} of {}/{}", n + 1, array.id, string.id);
    modules.map(|(n, m)| (at(n), m.as_str())).collect()
}

/// Queried where a number of this part stands somewhere else too, or a module of it has none; nothing to say else.
pub(super) fn of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let own: Vec<(String, &str)> = match seat.owner {
        Owner::Branch(array, branch) => of_branch(array, branch),
        Owner::PvString(array, string) => of_string(array, string),
        Owner::Inverter(i) => vec![(format!("inverter {}", i.id), i.serial.as_str())],
        Owner::Storage(s) => vec![(format!("storage {}", s.id), s.serial.as_str())],
        _ => return None,
    };
    let known = &judge.laid.serials;
    let mut twice: Vec<String> = Vec::new();
    let mut missing: Vec<&str> = Vec::new();
    for (place, serial) in &own {
        let others = known.others(place, serial);
        // Within a part it is said once.
        let said = own.iter().take_while(|(p, _)| p != place);
        let said = said
            .filter_map(|(_, s)| key(s))
            .any(|s| Some(s) == key(serial));
        if !others.is_empty() && !said {
            let shown: String = serial.split_whitespace().collect();
            twice.push(format!("{shown} is {place} and {}", others.join(" and ")));
        }
        let listed = matches!(seat.owner, Owner::Branch(..) | Owner::PvString(..));
        if listed && serial.trim().is_empty() {
            missing.push(place);
        }
    }
    let mut said: Vec<String> = Vec::new();
    if !twice.is_empty() {
        said.push(format!(
            "the same serial number twice: {}; scanned twice, or one left out? Compare it with the label, the count decides what the string should read",
            first_of(&twice)
        ));
    }
    if !missing.is_empty() {
        said.push(format!("serial number to fill in: {}", first_of(&missing)));
    }
    if said.is_empty() {
        return None;
    }
    let rule = Rule::free("every module, inverter and battery has a serial number of its own");
    let value = match twice.len() {
        0 => format!("{} missing", missing.len()),
        n => format!("{n} twice"),
    };
    let outcome = Outcome::plain(Verdict::Query, said.join("; "));
    Some(judge.derived(seat, Test::SerialNumbers, value, &rule, outcome))
}

/// The first few, and how many more there are.
fn first_of<T: AsRef<str>>(all: &[T]) -> String {
    let shown: Vec<&str> = all.iter().take(NAMED).map(AsRef::as_ref).collect();
    match all.len().saturating_sub(NAMED) {
        0 => shown.join(", "),
        n => format!("{}, and {n} more", shown.join(", ")),
    }
}
