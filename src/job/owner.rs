//! Who owns readings, and which tests its record consists of.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde::Deserialize;

use super::Job;
use super::array::{Array, Branch, InsulationMethod, Inverter, Layout, PvString, Storage};
use super::board::{Board, Circuit, CircuitKind};
use super::group::Group;
use super::label::Label;
use super::place::Place;
use super::reading::{Entry, NO_READINGS, Readings};
use super::supply::{Bond, Earthing, Grid, Phases, Supply};
use super::test::Test;

/// Whether the record is complete without a test.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// Open until taken or excused.
    Required,
    /// May be recorded.
    Optional,
}

/// Kind of owner, as the order of work names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
pub enum Kind {
    /// [`Owner::Safe`].
    Safe,
    /// [`Owner::Inspect`].
    Inspect,
    /// [`Owner::Supply`].
    Supply,
    /// [`Owner::Bond`].
    Bond,
    /// [`Owner::Board`].
    Board,
    /// [`Owner::Circuit`].
    Circuit,
    /// [`Owner::Branch`].
    Branch,
    /// [`Owner::PvString`].
    PvString,
    /// [`Owner::Storage`].
    Storage,
    /// [`Owner::Array`].
    Array,
    /// [`Owner::Inverter`].
    Inverter,
    /// [`Owner::Grid`].
    Grid,
    /// [`Owner::Label`].
    Label,
    /// [`Owner::Close`].
    Close,
    /// [`Owner::Sign`].
    Sign,
}

/// The thing a reading belongs to.
#[derive(Debug, Clone, Copy)]
pub enum Owner<'a> {
    /// Confirmations of the job.
    Safe,
    /// Inspection of the job.
    Inspect,
    /// Supply at the origin.
    Supply(&'a Supply),
    /// A bonding conductor.
    Bond(&'a Bond),
    /// A board.
    Board(&'a Board),
    /// A circuit of a board.
    Circuit(&'a Board, &'a Circuit),
    /// A micro-inverter branch.
    Branch(&'a Array, &'a Branch),
    /// A string.
    PvString(&'a Array, &'a PvString),
    /// A storage unit.
    Storage(&'a Storage),
    /// An array as a whole; nothing is read there.
    Array(&'a Array),
    /// An inverter; nothing is read there.
    Inverter(&'a Inverter),
    /// Grid connection.
    Grid(&'a Grid),
    /// A label or notice.
    Label(Label<'a>),
    /// Closing.
    Close,
    /// Signatures.
    Sign,
}

impl Owner<'_> {
    /// Its kind.
    pub fn kind(self) -> Kind {
        match self {
            Owner::Safe => Kind::Safe,
            Owner::Inspect => Kind::Inspect,
            Owner::Supply(_) => Kind::Supply,
            Owner::Bond(_) => Kind::Bond,
            Owner::Board(_) => Kind::Board,
            Owner::Circuit(..) => Kind::Circuit,
            Owner::Branch(..) => Kind::Branch,
            Owner::PvString(..) => Kind::PvString,
            Owner::Storage(_) => Kind::Storage,
            Owner::Array(_) => Kind::Array,
            Owner::Inverter(_) => Kind::Inverter,
            Owner::Grid(_) => Kind::Grid,
            Owner::Label(_) => Kind::Label,
            Owner::Close => Kind::Close,
            Owner::Sign => Kind::Sign,
        }
    }
}

/// An owner with its address and readings.
#[derive(Debug, Clone)]
pub struct Seat<'a> {
    /// First name of the address.
    pub top: &'a str,
    /// Second name, where there is one.
    pub part: Option<Cow<'a, str>>,
    /// What it is.
    pub owner: Owner<'a>,
    /// What was read there.
    pub readings: &'a Readings,
}

impl<'a> Seat<'a> {
    fn new(top: &'a str, part: Option<&'a str>, owner: Owner<'a>, readings: &'a Readings) -> Self {
        Seat {
            top,
            part: part.map(Cow::Borrowed),
            owner,
            readings,
        }
    }

    /// Whether nothing is ever read there.
    pub fn is_bare(&self) -> bool {
        matches!(self.owner, Owner::Array(_) | Owner::Inverter(_))
    }

    fn label(label: Label<'a>, labels: &'a BTreeMap<String, Readings>) -> Self {
        let name = label.name();
        Seat {
            top: Group::Label.key(),
            owner: Owner::Label(label),
            readings: labels.get(&name).unwrap_or(Readings::NONE),
            part: Some(Cow::Owned(name)),
        }
    }

    /// The place of one of its tests.
    pub fn place(&self, test: Test) -> Place {
        Place {
            top: self.top.to_string(),
            part: self.part.as_deref().map(str::to_string),
            test,
        }
    }

    /// Words for a list, such as `renewables board · 3 battery`.
    pub fn title(&self) -> String {
        match self.owner {
            Owner::Safe => "safe isolation".into(),
            Owner::Inspect => "inspection".into(),
            Owner::Supply(_) => "origin of the supply".into(),
            Owner::Bond(b) => format!("bond to {}", b.to),
            Owner::Board(b) => b.name.clone(),
            Owner::Circuit(b, c) => format!("{} · {} {}", b.name, c.id, c.name),
            Owner::Branch(a, b) => format!("{} · {} {}", a.name, b.id, b.name),
            Owner::PvString(a, s) => format!("{} · {} {}", a.name, s.id, s.name),
            Owner::Storage(s) => format!("storage {}", s.make),
            Owner::Array(a) => a.name.clone(),
            Owner::Inverter(i) => format!("inverter {} {}", i.id, i.make),
            Owner::Grid(_) => "grid connection".into(),
            Owner::Label(l) => format!("label: {} · {}", l.kind.words(), l.target.words()),
            Owner::Close => "before leaving".into(),
            Owner::Sign => "signatures".into(),
        }
    }
}

/// A board and its circuits.
fn board_seats<'a>(b: &'a Board, out: &mut Vec<Seat<'a>>) {
    out.push(Seat::new(&b.id, None, Owner::Board(b), &b.readings));
    for c in &b.circuits {
        let owner = Owner::Circuit(b, c);
        out.push(Seat::new(&b.id, Some(&c.id), owner, &c.readings));
    }
}

/// The branches or strings of an array.
fn of_array<'a>(a: &'a Array, out: &mut Vec<Seat<'a>>) {
    match &a.layout {
        Layout::Branches(branches) => {
            for b in branches {
                let owner = Owner::Branch(a, b);
                out.push(Seat::new(&a.id, Some(&b.id), owner, &b.readings));
            }
        }
        Layout::Strings(strings) => {
            for s in strings {
                let owner = Owner::PvString(a, s);
                out.push(Seat::new(&a.id, Some(&s.id), owner, &s.readings));
            }
        }
    }
}

fn bond_seat(b: &Bond) -> Seat<'_> {
    Seat::new(Group::Bond.key(), Some(&b.id), Owner::Bond(b), &b.readings)
}

fn storage_seat(s: &Storage) -> Seat<'_> {
    Seat::new(&s.id, None, Owner::Storage(s), &s.readings)
}

fn array_seat(a: &Array) -> Seat<'_> {
    Seat::new(&a.id, None, Owner::Array(a), &NO_READINGS)
}

fn inverter_seat(i: &Inverter) -> Seat<'_> {
    Seat::new(
        Group::Inverter.key(),
        Some(&i.id),
        Owner::Inverter(i),
        &NO_READINGS,
    )
}

impl Job {
    /// Every owner of readings, in the order of the file.
    pub fn seats(&self) -> Vec<Seat<'_>> {
        let group = |g: Group| self.group_seat(g.key());
        let mut out: Vec<Seat<'_>> = [Group::Safe, Group::Inspect, Group::Supply]
            .into_iter()
            .filter_map(group)
            .collect();
        out.extend(self.bonds.iter().map(bond_seat));
        self.boards.iter().for_each(|b| board_seats(b, &mut out));
        self.arrays.iter().for_each(|a| of_array(a, &mut out));
        out.extend(self.storage.iter().map(storage_seat));
        for label in self.labels_needed() {
            out.push(Seat::label(label, &self.labels));
        }
        out.extend(
            [Group::Grid, Group::Close, Group::Sign]
                .into_iter()
                .filter_map(group),
        );
        out
    }

    /// Owners of readings with that first name, in the order of the file. Quick also in a large job, but for labels.
    pub fn seats_of(&self, top: &str) -> Vec<Seat<'_>> {
        let mut out = Vec::new();
        if let Some(b) = self.boards.iter().find(|b| b.id == top) {
            board_seats(b, &mut out);
        } else if let Some(a) = self.arrays.iter().find(|a| a.id == top) {
            of_array(a, &mut out);
        } else {
            // As in `seats`, where the boards and arrays come between.
            let groups = |groups: [Group; 3]| {
                let of_that_name = groups.into_iter().filter(|g| g.key() == top);
                of_that_name.filter_map(|g| self.group_seat(g.key()))
            };
            out.extend(groups([Group::Safe, Group::Inspect, Group::Supply]));
            if top == Group::Bond.key() {
                out.extend(self.bonds.iter().map(bond_seat));
            }
            let storage = self.storage.iter().filter(|s| s.id == top);
            out.extend(storage.map(storage_seat));
            if top == Group::Label.key() {
                let labels = self.labels_needed().into_iter();
                out.extend(labels.map(|label| Seat::label(label, &self.labels)));
            }
            out.extend(groups([Group::Grid, Group::Close, Group::Sign]));
        }
        out
    }

    /// Parts that have figures and take no readings: arrays and inverters.
    pub fn bare_seats(&self) -> Vec<Seat<'_>> {
        let arrays = self.arrays.iter().map(array_seat);
        arrays
            .chain(self.inverters.iter().map(inverter_seat))
            .collect()
    }

    /// The owner a place belongs to. Quick also in a large job: only the place's own board or array is looked through.
    pub fn seat(&self, place: &Place) -> Option<Seat<'_>> {
        let top = place.top.as_str();
        let Some(part) = place.part.as_deref() else {
            return self.group_seat(top).or_else(|| {
                if let Some(b) = self.boards.iter().find(|b| b.id == top) {
                    return Some(Seat::new(&b.id, None, Owner::Board(b), &b.readings));
                }
                if let Some(a) = self.arrays.iter().find(|a| a.id == top) {
                    return Some(array_seat(a));
                }
                let s = self.storage.iter().find(|s| s.id == top)?;
                Some(storage_seat(s))
            });
        };
        if top == Group::Inverter.key() {
            return self.inverter(part).map(inverter_seat);
        }
        if top == Group::Bond.key() {
            return self.bonds.iter().find(|b| b.id == part).map(bond_seat);
        }
        if top == Group::Label.key() {
            return Some(Seat::label(self.label(part)?, &self.labels));
        }
        if let Some(b) = self.boards.iter().find(|b| b.id == top) {
            let c = b.circuits.iter().find(|c| c.id == part)?;
            return Some(Seat::new(
                &b.id,
                Some(&c.id),
                Owner::Circuit(b, c),
                &c.readings,
            ));
        }
        let a = self.arrays.iter().find(|a| a.id == top)?;
        match &a.layout {
            Layout::Branches(list) => {
                let b = list.iter().find(|b| b.id == part)?;
                Some(Seat::new(
                    &a.id,
                    Some(&b.id),
                    Owner::Branch(a, b),
                    &b.readings,
                ))
            }
            Layout::Strings(list) => {
                let s = list.iter().find(|s| s.id == part)?;
                Some(Seat::new(
                    &a.id,
                    Some(&s.id),
                    Owner::PvString(a, s),
                    &s.readings,
                ))
            }
        }
    }

    /// One of the job's own groups that has no parts.
    fn group_seat(&self, key: &str) -> Option<Seat<'_>> {
        let (key, owner, readings) = match key {
            "safe" => (Group::Safe, Owner::Safe, &self.safe),
            "inspect" => (Group::Inspect, Owner::Inspect, &self.inspect),
            "supply" => (
                Group::Supply,
                Owner::Supply(&self.supply),
                &self.supply.readings,
            ),
            "grid" => (Group::Grid, Owner::Grid(&self.grid), &self.grid.readings),
            "close" => (Group::Close, Owner::Close, &self.close),
            "sign" => (Group::Sign, Owner::Sign, &self.sign),
            _ => return None,
        };
        Some(Seat::new(key.key(), None, owner, readings))
    }

    /// The entry at a place.
    pub fn entry(&self, place: &Place) -> Option<&Entry> {
        self.seat(place).and_then(|s| s.readings.get(place.test))
    }

    /// The readings a place belongs to, for writing.
    pub(crate) fn readings_mut(&mut self, place: &Place) -> Option<&mut Readings> {
        let top = place.top.as_str();
        let Some(part) = place.part.as_deref() else {
            return match top {
                "safe" => Some(&mut self.safe),
                "inspect" => Some(&mut self.inspect),
                "supply" => Some(&mut self.supply.readings),
                "grid" => Some(&mut self.grid.readings),
                "close" => Some(&mut self.close),
                "sign" => Some(&mut self.sign),
                _ => {
                    if let Some(b) = self.boards.iter_mut().find(|b| b.id == top) {
                        return Some(&mut b.readings);
                    }
                    self.storage
                        .iter_mut()
                        .find(|s| s.id == top)
                        .map(|s| &mut s.readings)
                }
            };
        };
        if top == Group::Bond.key() {
            return self
                .bonds
                .iter_mut()
                .find(|b| b.id == part)
                .map(|b| &mut b.readings);
        }
        if top == Group::Label.key() {
            self.label(part)?;
            return Some(self.labels.entry(part.to_string()).or_default());
        }
        if let Some(b) = self.boards.iter_mut().find(|b| b.id == top) {
            return b
                .circuits
                .iter_mut()
                .find(|c| c.id == part)
                .map(|c| &mut c.readings);
        }
        match &mut self.arrays.iter_mut().find(|a| a.id == top)?.layout {
            Layout::Branches(list) => list
                .iter_mut()
                .find(|b| b.id == part)
                .map(|b| &mut b.readings),
            Layout::Strings(list) => list
                .iter_mut()
                .find(|s| s.id == part)
                .map(|s| &mut s.readings),
        }
    }

    /// The tests the record of `owner` consists of.
    pub fn wanted(&self, owner: Owner<'_>) -> Vec<(Test, Need)> {
        use Need::{Optional, Required};
        let mut out: Vec<(Test, Need)> = Vec::new();
        let mut add = |test: Test, when: bool| {
            if when {
                out.push((test, Required));
            }
        };
        let sources = self.has_sources();
        match owner {
            Owner::Safe => {
                add(Test::Sources, true);
                add(Test::LockedOff, true);
                add(Test::ProvedDead, true);
                add(Test::Energise, true);
                add(Test::InvertersOff, sources);
                add(Test::Connected, sources);
            }
            Owner::Inspect => {
                add(Test::Intake, true);
                add(Test::OtherSources, true);
                add(Test::Earthing, true);
                add(Test::LiveParts, true);
                add(Test::OtherMeans, true);
                add(Test::Additional, true);
                add(Test::Enclosures, true);
                add(Test::Cables, true);
                add(Test::Switching, true);
                add(Test::Accessories, true);
                add(Test::BathShower, true);
                add(Test::SpecialPlaces, true);
                add(Test::Fire, sources);
                add(Test::FlowDirection, sources);
                add(Test::Labels, true);
            }
            Owner::Supply(s) => {
                let three = s.phases == Phases::Three;
                add(Test::Ra, s.earthing == Earthing::Tt);
                add(Test::Polarity, true);
                add(Test::Ze, true);
                add(Test::PfcLn, true);
                add(Test::PfcLe, true);
                add(Test::PfcLl, three);
                add(Test::Sequence, three);
            }
            Owner::Array(_) | Owner::Inverter(_) => {}
            Owner::Bond(_) => add(Test::Continuity, true),
            Owner::Board(b) => {
                add(Test::Polarity, true);
                add(Test::Zdb, true);
                add(Test::Pfc, true);
                add(Test::Sequence, b.phases == Phases::Three);
                add(Test::RcdTime, b.rcd.is_some());
                add(Test::RcdButton, b.rcd.is_some());
                add(Test::Spd, !b.spd.is_empty());
                add(Test::Functional, true);
                if b.rcd.is_some() {
                    out.push((Test::RcdHalf, Optional));
                    out.push((Test::RcdFive, Optional));
                }
                out.push((Test::IrLe, Optional));
            }
            Owner::Circuit(_, c) if c.kind == CircuitKind::Spare => {}
            Owner::Circuit(_, c) => {
                add(Test::R1, c.ring);
                add(Test::Rn, c.ring && !c.no_neutral);
                add(Test::R2, c.ring);
                add(Test::RingLn, c.ring && !c.no_neutral);
                add(Test::R1r2, true);
                add(Test::Polarity, true);
                add(Test::IrLl, !c.equipment_connected);
                add(Test::IrLe, true);
                add(Test::Zs, !c.extra_low_voltage);
                add(Test::RcdTime, c.rcd.is_some());
                add(Test::RcdButton, c.rcd.is_some());
                add(Test::AfddButton, c.afdd);
                if c.rcd.is_some() {
                    out.push((Test::RcdHalf, Optional));
                    out.push((Test::RcdFive, Optional));
                }
                if c.equipment_connected {
                    out.push((Test::IrLl, Optional));
                }
                out.push((Test::Functional, Optional));
            }
            Owner::Branch(..) => {
                add(Test::Serials, true);
                add(Test::Connectors, true);
                add(Test::Count, true);
                out.push((Test::Balance, Optional));
            }
            Owner::PvString(_, s) => {
                let each = s.insulation == InsulationMethod::EachPole;
                add(Test::Serials, true);
                add(Test::Connectors, true);
                add(Test::Continuity, true);
                add(Test::DcPolarity, true);
                add(Test::CellTemp, true);
                add(Test::Irradiance, true);
                add(Test::Voc, true);
                add(Test::Isc, true);
                add(Test::IrPos, each);
                add(Test::IrNeg, each);
                add(Test::IrJoined, !each);
            }
            Owner::Storage(s) => {
                add(Test::Siting, true);
                add(Test::Modules, true);
                add(Test::DcPolarity, true);
                add(Test::DcVoltage, true);
                add(Test::Ra, s.backup);
                add(Test::NeGrid, s.backup);
                add(Test::NeIsland, s.backup);
                add(Test::Polarity, s.backup);
                add(Test::RcdTime, s.backup);
            }
            Owner::Grid(g) => {
                let limited = sources && g.export_limit_a.is_some();
                let metered = limited || !self.storage.is_empty();
                add(Test::Profile, sources);
                for stage in Test::ALL.iter().filter(|t| t.is_setting()) {
                    add(*stage, sources);
                }
                add(Test::CtIdle, metered);
                add(Test::CtSurplus, metered && !self.arrays.is_empty());
                add(Test::CtCharging, !self.storage.is_empty());
                add(Test::ExportPeak, limited);
                add(Test::FailSafe, limited);
                add(Test::LossOfMains, sources);
                add(Test::Reconnect, sources);
            }
            Owner::Label(_) => add(Test::Fitted, true),
            Owner::Close => {
                add(Test::Restored, true);
                add(Test::Handover, true);
            }
            Owner::Sign => {
                add(Test::SignDesign, true);
                add(Test::SignConstruction, true);
                add(Test::SignInspection, true);
            }
        }
        out
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::job::text::parse;

    /// The quick way and the list of all owners agree, also for writing.
    #[test]
    fn every_seat_is_found_by_its_place() {
        for text in [
            include_str!("../../sample-jobs/orchard-cottage.ron"),
            include_str!("../../sample-jobs/mill-yard.ron"),
        ] {
            let mut job: Job = parse("sample", text).unwrap();
            let places: Vec<(Place, String)> = job
                .seats()
                .iter()
                .map(|s| (s.place(Test::Polarity), s.title()))
                .collect();
            for (place, title) in places {
                let found = job.seat(&place).unwrap();
                assert_eq!(
                    (found.title(), found.place(Test::Polarity)),
                    (title, place.clone())
                );
                assert!(job.readings_mut(&place).is_some(), "{place}");
            }
            for wrong in ["R/99/zs", "Z/zs", "bond/zs", "supply/1/ze", "X/Y/voc"] {
                assert!(job.seat(&wrong.parse().unwrap()).is_none(), "{wrong}");
            }
        }
    }

    #[test]
    fn the_seats_of_a_name_are_those_of_all_that_have_it() {
        for sample in [
            include_str!("../../sample-jobs/mill-yard.ron"),
            include_str!("../../sample-jobs/harbour-row.ron"),
        ] {
            let job: Job = parse("a sample", sample).unwrap();
            let names = |seats: &[Seat<'_>]| {
                let name = |s: &Seat<'_>| (s.top.to_string(), s.part.clone().map(Cow::into_owned));
                seats.iter().map(name).collect::<Vec<_>>()
            };
            let all = job.seats();
            let tops: std::collections::BTreeSet<&str> = all.iter().map(|s| s.top).collect();
            assert!(tops.len() > 8, "{tops:?}");
            for top in tops {
                let mut want = all.clone();
                want.retain(|s| s.top == top);
                assert_eq!(names(&job.seats_of(top)), names(&want), "{top}");
            }
            assert!(job.seats_of("no such").is_empty());
        }
    }
}
