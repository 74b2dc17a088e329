//! Fields of strings and branches, with their serial numbers.

use crate::job::array::Unit;
use crate::job::{CircuitKind, Job, Part, Trunk};

use super::compared::COMPARED;
use super::entry::{Choices, Entry, Kind, field, gate, member};
use super::unknown::unknown_trunk;

/// Circuits that a source may be on.
pub(super) fn sources(job: &Job) -> Choices {
    super::paths(job, CircuitKind::Source)
}

/// A list of texts as one.
pub(super) fn joined(items: &[String]) -> String {
    items.join("; ")
}

/// A pasted or typed list: lines or semicolons. Nothing between two semicolons is one that has no text yet, and keeps the
/// others in their places; a line without anything, and what comes behind the last text, is nothing.
pub(super) fn split(text: &str) -> Vec<String> {
    let lines = text.split(['\n', '¶', '\t']);
    let mut out: Vec<String> = lines
        .filter(|line| !line.trim().is_empty())
        .flat_map(|line| line.split(';'))
        .map(|t| t.trim().to_string())
        .collect();
    while out.last().is_some_and(String::is_empty) {
        out.pop();
    }
    out
}

macro_rules! list {
    ($path:literal, $heading:literal, $one:literal, $hint:literal, $items:expr, $put:expr) => {
        Entry {
            path: $path,
            heading: $heading,
            unit: "",
            hint: $hint,
            kind: Kind::List {
                one: $one,
                items: $items,
                put: $put,
            },
            get: |p| $crate::screen::record::line::joined(&$items(p)),
            set: |p, text| {
                let items = $crate::screen::record::line::split(text);
                if items.is_empty() && $items(p).iter().all(String::is_empty) {
                    return Ok(());
                }
                $put(p, items)
            },
        }
    };
}
pub(super) use list;

fn modules(p: &Part) -> Vec<String> {
    match p {
        Part::PvString(x) => x.modules.clone(),
        Part::Branch(x) => x.units.iter().map(|u| u.module.clone()).collect(),
        _ => Vec::new(),
    }
}

fn inverters(p: &Part) -> Vec<String> {
    match p {
        Part::Branch(x) => x.units.iter().map(|u| u.inverter.clone()).collect(),
        _ => Vec::new(),
    }
}

fn put_modules(p: &mut Part, items: Vec<String>) -> Result<(), String> {
    match p {
        Part::PvString(x) => x.modules = items,
        Part::Branch(x) => put_units(&mut x.units, items, |u| &mut u.module, |u| &u.inverter),
        _ => {}
    }
    Ok(())
}

fn put_inverters(p: &mut Part, items: Vec<String>) -> Result<(), String> {
    if let Part::Branch(x) = p {
        put_units(&mut x.units, items, |u| &mut u.inverter, |u| &u.module);
    }
    Ok(())
}

/// Sets one serial number of each unit; a unit is there as long as it has the other.
fn put_units(
    units: &mut Vec<Unit>,
    items: Vec<String>,
    this: fn(&mut Unit) -> &mut String,
    other: fn(&Unit) -> &String,
) {
    let count = items.len().max(units.len());
    let mut items = items.into_iter();
    units.resize_with(count, || Unit {
        module: String::new(),
        inverter: String::new(),
    });
    let given = items.len();
    for unit in units.iter_mut() {
        *this(unit) = items.next().unwrap_or_default();
    }
    let mut at = 0;
    units.retain(|u| {
        at += 1;
        at <= given || !other(u).is_empty()
    });
}

/// In the order of the form.
pub(super) static STRING: &[Entry] = &[
    COMPARED,
    field!(
        PvString.id,
        "id",
        "",
        "short, such as S1: 1 to 12 letters, digits, - or ."
    ),
    field!(PvString.name, "name", "", "such as upper row"),
    field!(
        PvString.input,
        "input",
        "",
        "of the inverter, such as 1; strings with the same one are in parallel"
    ),
    field!(
        PvString.insulation,
        "insulation test",
        "",
        "how it is measured; readings of the other way are set aside"
    ),
    field!(
        PvString.fuse_a,
        "string fuse",
        "A",
        "empty where it has none"
    ),
    list!(
        "modules.",
        "modules",
        "module",
        "serial numbers from positive to negative: paste or type all, with lines or ; between, or one by one below",
        modules,
        put_modules
    ),
];

/// In the order of the form.
pub(super) static BRANCH: &[Entry] = &[
    COMPARED,
    field!(
        Branch.id,
        "id",
        "",
        "short, such as B1: 1 to 12 letters, digits, - or ."
    ),
    field!(Branch.name, "name", "", "such as upper row"),
    field!(
        Branch.circuit,
        "circuit",
        "",
        "the circuit of kind source it is on",
        Kind::Pick(sources)
    ),
    gate!(
        Branch.trunk.line_mm2,
        unknown_trunk,
        "trunk line",
        "mm²",
        "line conductor of the trunk cable; emptying it takes the trunk out",
        Kind::Number,
        ""
    ),
    member!(
        Branch.trunk.spacing_m: Trunk, "trunk spacing", "m",
        "from one inverter to the next, and from the feed to the first", "the line conductor of the trunk"
    ),
    list!(
        "units.module.",
        "modules",
        "module",
        "serial numbers in order along the trunk: paste or type all, with lines or ; between, or one by one below",
        modules,
        put_modules
    ),
    list!(
        "units.inverter.",
        "micro-inverters",
        "inverter",
        "serial numbers in the same order: paste or type all, with lines or ; between, or one by one below",
        inverters,
        put_inverters
    ),
];
