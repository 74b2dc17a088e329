//! Serial numbers that stand twice in the record, or nowhere: a label that was scanned twice, a module that was passed over.

use std::collections::{BTreeMap, BTreeSet};

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::text::bounded;
use crate::job::{Array, Branch, Inverter, Job, Layout, Owner, PvString, Seat, Storage, Test};

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
            add(of_inverter(inverter));
        }
        for storage in &job.storage {
            add(of_storage(storage));
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

fn of_inverter(inverter: &Inverter) -> Vec<(String, &str)> {
    vec![(format!("inverter {}", inverter.id), &inverter.serial)]
}

fn of_storage(storage: &Storage) -> Vec<(String, &str)> {
    vec![(format!("storage {}", storage.id), &storage.serial)]
}

/// Queried where a number of this part stands somewhere else too, or a module of it has none; nothing to say else.
pub(super) fn of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let own: Vec<(String, &str)> = match seat.owner {
        Owner::Branch(array, branch) => of_branch(array, branch),
        Owner::PvString(array, string) => of_string(array, string),
        Owner::Inverter(inverter) => of_inverter(inverter),
        Owner::Storage(storage) => of_storage(storage),
        _ => return None,
    };
    let known = &judge.laid.serials;
    let mut twice: Vec<String> = Vec::new();
    let mut missing: Vec<&str> = Vec::new();
    // Within a part it is said once.
    let mut seen: BTreeSet<Option<String>> = BTreeSet::new();
    for (place, serial) in &own {
        let others = known.others(place, serial);
        if seen.insert(key(serial)) && !others.is_empty() {
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
            bounded(&twice, NAMED)
        ));
    }
    if !missing.is_empty() {
        said.push(format!(
            "serial number to fill in: {}",
            bounded(&missing, NAMED)
        ));
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
