//! Copies of parts, which have to be compared with what is on site again, and the ids of new ones.

use crate::job::{Branch, Circuit, CircuitKind, Group, Job, Layout, Part, PvString, Spot};

use super::List;
use super::starts::long_past;

/// A copy of a part beside it: without readings and serial numbers, with an id of its own.
pub(super) fn copy_of(job: &Job, spot: &Spot) -> Option<(Spot, Part)> {
    let list = List::of(spot)?;
    let (part, _) = job.part(spot)?;
    let mut part = part.without_readings();
    let id = |like: &str| next_id(job, &list, like);
    match &mut part {
        Part::Person(x) => {
            x.id = id(&x.id);
            x.name.clear();
        }
        Part::Instrument(x) => {
            x.id = id(&x.id);
            x.serial.clear();
            // Each has its own calibration.
            (x.calibrated, x.due) = long_past();
            x.uncertainty_pct.clear();
        }
        Part::Bond(x) => x.id = id(&x.id),
        Part::Board(x) => x.id = id(&x.id),
        Part::Circuit(x) => x.id = id(&x.id),
        Part::Array(x) => {
            x.id = id(&x.id);
            match &mut x.layout {
                Layout::Strings(list) => list.iter_mut().for_each(blank_string),
                Layout::Branches(list) => list.iter_mut().for_each(blank_branch),
            }
        }
        Part::PvString(x) => {
            x.id = id(&x.id);
            blank_string(x);
        }
        Part::Branch(x) => {
            x.id = id(&x.id);
            blank_branch(x);
        }
        Part::Inverter(x) => {
            x.id = id(&x.id);
            x.serial.clear();
        }
        Part::Storage(x) => {
            x.id = id(&x.id);
            x.serial.clear();
        }
        // One that isn't there yet; it is put behind the other.
        Part::Observation(_) => return Some((Spot::Observation(job.observations.len()), part)),
        Part::Visit(_) | Part::Supply(_) | Part::Grid(_) => return None,
    }
    part.set_to_compare(true);
    match &mut part {
        Part::Board(x) => x.circuits.iter_mut().for_each(compare_again),
        Part::Circuit(x) => compare_again(x),
        _ => {}
    }
    let spot = part.spot_like(spot)?;
    Some((spot, part))
}

/// What is fitted may differ from what was copied; a spare way has no figures.
fn compare_again(c: &mut Circuit) {
    c.to_compare = c.kind != CircuitKind::Spare;
}

fn blank_string(s: &mut PvString) {
    s.modules.iter_mut().for_each(String::clear);
    s.to_compare = true;
}

fn blank_branch(b: &mut Branch) {
    for unit in &mut b.units {
        unit.module.clear();
        unit.inverter.clear();
    }
    b.to_compare = true;
}

/// Whether an id is taken among those that have to differ from it.
fn taken(job: &Job, list: &List, id: &str) -> bool {
    match list {
        List::People => job.person(id).is_some(),
        List::Instruments => job.instrument(id).is_some(),
        List::Bonds => job.bonds.iter().any(|b| b.id == id),
        List::Inverters => job.inverter(id).is_some(),
        List::Circuits(board) => job.part(&Spot::Circuit(board.clone(), id.into())).is_some(),
        List::Lines(array) => job.part(&Spot::Line(array.clone(), id.into())).is_some(),
        List::Boards | List::Arrays | List::Storage => {
            Group::ALL.iter().any(|g| g.key() == id)
                || job.board(id).is_some()
                || job.arrays.iter().any(|a| a.id == id)
                || job.storage.iter().any(|s| s.id == id)
        }
        List::Observations => false,
    }
}

/// An id like another: the same where it is free, else with the next number that is.
pub(super) fn next_id(job: &Job, list: &List, like: &str) -> String {
    if !taken(job, list, like) {
        return like.to_string();
    }
    let letters = like.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits: String = like.chars().skip(letters.chars().count()).collect();
    let first: u64 = digits.parse().unwrap_or(1);
    // An id has 12 characters at most.
    let letters: String = letters.chars().take(6).collect();
    (first.saturating_add(1)..)
        .take(1_000_000)
        .map(|n| format!("{letters}{}", n % 1_000_000))
        .find(|id| !taken(job, list, id))
        .unwrap_or_else(|| like.to_string())
}
