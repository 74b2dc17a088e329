//! The parts a record consists of, each of which can be added, edited, moved and removed as a whole.

use std::fmt;

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::array::{Array, Branch, Inverter, Layout, PvString, Storage};
use super::board::{Board, Circuit};
use super::group::Group;
use super::people::{Instrument, Person};
use super::place::Place;
use super::reading::Readings;
use super::supply::{Bond, Grid, Supply};
use super::{Client, Job, Observation, Premises, Work};

/// Address of a part.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Spot {
    /// What the visit is: reference, client, address, extent.
    Visit,
    /// Supply at the origin.
    Supply,
    /// Connection to the network.
    Grid,
    /// A person, by id.
    Person(String),
    /// An instrument, by id.
    Instrument(String),
    /// A bonding conductor, by id.
    Bond(String),
    /// A board, by id.
    Board(String),
    /// A circuit, by the ids of its board and its own.
    Circuit(String, String),
    /// An array, by id.
    Array(String),
    /// A string or branch, by the ids of its array and its own.
    Line(String, String),
    /// An inverter, by id.
    Inverter(String),
    /// Storage, by id.
    Storage(String),
    /// An observation, by its position.
    Observation(usize),
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Spot::Visit => f.write_str("visit"),
            Spot::Supply => f.write_str("supply"),
            Spot::Grid => f.write_str("grid"),
            Spot::Person(id) => write!(f, "person {id}"),
            Spot::Instrument(id) => write!(f, "instrument {id}"),
            Spot::Bond(id) => write!(f, "bond {id}"),
            Spot::Board(id) => write!(f, "board {id}"),
            Spot::Circuit(board, id) => write!(f, "circuit {board}/{id}"),
            Spot::Array(id) => write!(f, "array {id}"),
            Spot::Line(array, id) => write!(f, "string or branch {array}/{id}"),
            Spot::Inverter(id) => write!(f, "inverter {id}"),
            Spot::Storage(id) => write!(f, "storage {id}"),
            Spot::Observation(i) => write!(f, "observation {}", i + 1),
        }
    }
}

/// What the visit is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Visit {
    /// Reference on every page.
    pub reference: String,
    /// Short title for lists.
    pub title: String,
    /// Who it is for.
    pub client: Client,
    /// Address of the installation.
    pub address: String,
    /// New, addition or alteration.
    pub work: Work,
    /// What the building is used for.
    #[serde(default)]
    pub premises: Premises,
    /// What was worked on, and what wasn't.
    pub extent: String,
    /// First day of the work.
    pub started: NaiveDate,
    /// Day before which the next inspection is due.
    #[serde(default)]
    pub next_inspection: Option<NaiveDate>,
    /// Remarks on the existing installation.
    #[serde(default)]
    pub existing: String,
    /// Ambient temperature during the dead tests, °C.
    #[serde(default)]
    pub ambient_c: Option<Decimal>,
    /// Exceptions from a rule that the standard permits, each with the risk assessment that it hangs on.
    #[serde(default)]
    pub exceptions: String,
    /// How the customer watches the system: name of the display, app or meter.
    #[serde(default)]
    pub monitoring: String,
    /// Documents that the customer is given: data sheets, manuals, warranties, declarations.
    #[serde(default)]
    pub documents: Vec<String>,
}

/// A part with everything in it, its readings too.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Part {
    /// See [`Spot::Visit`].
    Visit(Box<Visit>),
    /// See [`Spot::Supply`].
    Supply(Box<Supply>),
    /// See [`Spot::Grid`].
    Grid(Box<Grid>),
    /// See [`Spot::Person`].
    Person(Box<Person>),
    /// See [`Spot::Instrument`].
    Instrument(Box<Instrument>),
    /// See [`Spot::Bond`].
    Bond(Box<Bond>),
    /// See [`Spot::Board`].
    Board(Box<Board>),
    /// See [`Spot::Circuit`].
    Circuit(Box<Circuit>),
    /// See [`Spot::Array`].
    Array(Box<Array>),
    /// A branch; see [`Spot::Line`].
    Branch(Box<Branch>),
    /// A string; see [`Spot::Line`].
    PvString(Box<PvString>),
    /// See [`Spot::Inverter`].
    Inverter(Box<Inverter>),
    /// See [`Spot::Storage`].
    Storage(Box<Storage>),
    /// See [`Spot::Observation`].
    Observation(Box<Observation>),
}

impl Part {
    /// Readings of this part and of those in it.
    pub fn readings_in(&self) -> usize {
        let count = |r: &Readings| r.iter().count();
        match self {
            Part::Visit(_)
            | Part::Person(_)
            | Part::Instrument(_)
            | Part::Inverter(_)
            | Part::Observation(_) => 0,
            Part::Supply(x) => count(&x.readings),
            Part::Grid(x) => count(&x.readings),
            Part::Bond(x) => count(&x.readings),
            Part::Board(x) => {
                let own = x.circuits.iter().map(|c| count(&c.readings));
                count(&x.readings) + own.sum::<usize>()
            }
            Part::Circuit(x) => count(&x.readings),
            Part::Array(x) => match &x.layout {
                Layout::Branches(list) => list.iter().map(|b| count(&b.readings)).sum(),
                Layout::Strings(list) => list.iter().map(|s| count(&s.readings)).sum(),
            },
            Part::Branch(x) => count(&x.readings),
            Part::PvString(x) => count(&x.readings),
            Part::Storage(x) => count(&x.readings),
        }
    }

    /// Whether its figures still have to be compared with what is on site; `None` for a part that has no such figures.
    pub fn to_compare(&self) -> Option<bool> {
        match self {
            Part::Supply(x) => Some(x.to_compare),
            Part::Bond(x) => Some(x.to_compare),
            Part::Board(x) => Some(x.to_compare),
            Part::Circuit(x) => Some(x.to_compare),
            Part::Array(x) => Some(x.to_compare),
            Part::Branch(x) => Some(x.to_compare),
            Part::PvString(x) => Some(x.to_compare),
            Part::Inverter(x) => Some(x.to_compare),
            Part::Storage(x) => Some(x.to_compare),
            Part::Visit(_)
            | Part::Grid(_)
            | Part::Person(_)
            | Part::Instrument(_)
            | Part::Observation(_) => None,
        }
    }

    /// Says so; nothing where there are no such figures.
    pub fn set_to_compare(&mut self, yes: bool) {
        match self {
            Part::Supply(x) => x.to_compare = yes,
            Part::Bond(x) => x.to_compare = yes,
            Part::Board(x) => x.to_compare = yes,
            Part::Circuit(x) => x.to_compare = yes,
            Part::Array(x) => x.to_compare = yes,
            Part::Branch(x) => x.to_compare = yes,
            Part::PvString(x) => x.to_compare = yes,
            Part::Inverter(x) => x.to_compare = yes,
            Part::Storage(x) => x.to_compare = yes,
            Part::Visit(_)
            | Part::Grid(_)
            | Part::Person(_)
            | Part::Instrument(_)
            | Part::Observation(_) => {}
        }
    }

    /// The same without any readings, as for a copy.
    #[must_use]
    pub fn without_readings(mut self) -> Part {
        match &mut self {
            Part::Supply(x) => x.readings = Readings::default(),
            Part::Grid(x) => x.readings = Readings::default(),
            Part::Bond(x) => x.readings = Readings::default(),
            Part::Board(x) => {
                x.readings = Readings::default();
                for c in &mut x.circuits {
                    c.readings = Readings::default();
                }
            }
            Part::Circuit(x) => x.readings = Readings::default(),
            Part::Array(x) => match &mut x.layout {
                Layout::Branches(list) => {
                    list.iter_mut()
                        .for_each(|b| b.readings = Readings::default());
                }
                Layout::Strings(list) => {
                    list.iter_mut()
                        .for_each(|s| s.readings = Readings::default());
                }
            },
            Part::Branch(x) => x.readings = Readings::default(),
            Part::PvString(x) => x.readings = Readings::default(),
            Part::Storage(x) => x.readings = Readings::default(),
            Part::Visit(_)
            | Part::Person(_)
            | Part::Instrument(_)
            | Part::Inverter(_)
            | Part::Observation(_) => {}
        }
        self
    }

    /// The address this part has by its own id, next to or in place of the one at `spot`; `None` where it doesn't fit there.
    pub fn spot_like(&self, spot: &Spot) -> Option<Spot> {
        Some(match (self, spot) {
            (Part::Visit(_), Spot::Visit) => Spot::Visit,
            (Part::Supply(_), Spot::Supply) => Spot::Supply,
            (Part::Grid(_), Spot::Grid) => Spot::Grid,
            (Part::Person(x), Spot::Person(_)) => Spot::Person(x.id.clone()),
            (Part::Instrument(x), Spot::Instrument(_)) => Spot::Instrument(x.id.clone()),
            (Part::Bond(x), Spot::Bond(_)) => Spot::Bond(x.id.clone()),
            (Part::Board(x), Spot::Board(_)) => Spot::Board(x.id.clone()),
            (Part::Circuit(x), Spot::Circuit(b, _)) => Spot::Circuit(b.clone(), x.id.clone()),
            (Part::Array(x), Spot::Array(_)) => Spot::Array(x.id.clone()),
            (Part::Branch(x), Spot::Line(a, _)) => Spot::Line(a.clone(), x.id.clone()),
            (Part::PvString(x), Spot::Line(a, _)) => Spot::Line(a.clone(), x.id.clone()),
            (Part::Inverter(x), Spot::Inverter(_)) => Spot::Inverter(x.id.clone()),
            (Part::Storage(x), Spot::Storage(_)) => Spot::Storage(x.id.clone()),
            (Part::Observation(_), Spot::Observation(i)) => Spot::Observation(*i),
            _ => return None,
        })
    }

    /// Takes over from the part as it was what an edit of its own fields doesn't touch.
    pub(super) fn carry_over(&mut self, old: &Part) {
        match (self, old) {
            (Part::Supply(x), Part::Supply(o)) => x.readings = o.readings.clone(),
            (Part::Grid(x), Part::Grid(o)) => x.readings = o.readings.clone(),
            (Part::Bond(x), Part::Bond(o)) => x.readings = o.readings.clone(),
            (Part::Board(x), Part::Board(o)) => {
                x.readings = o.readings.clone();
                x.circuits = o.circuits.clone();
            }
            (Part::Circuit(x), Part::Circuit(o)) => x.readings = o.readings.clone(),
            (Part::Array(x), Part::Array(o)) => x.layout = o.layout.clone(),
            (Part::Branch(x), Part::Branch(o)) => x.readings = o.readings.clone(),
            (Part::PvString(x), Part::PvString(o)) => x.readings = o.readings.clone(),
            (Part::Storage(x), Part::Storage(o)) => x.readings = o.readings.clone(),
            _ => {}
        }
    }
}

impl Job {
    /// The part at an address, and its position in its list.
    pub fn part(&self, spot: &Spot) -> Option<(Part, usize)> {
        fn find<T: Clone>(
            list: &[T],
            is: impl Fn(&T) -> bool,
            part: impl Fn(Box<T>) -> Part,
        ) -> Option<(Part, usize)> {
            let i = list.iter().position(is)?;
            list.get(i).map(|x| (part(Box::new(x.clone())), i))
        }
        match spot {
            Spot::Visit => Some((Part::Visit(Box::new(self.visit())), 0)),
            Spot::Supply => Some((Part::Supply(Box::new(self.supply.clone())), 0)),
            Spot::Grid => Some((Part::Grid(Box::new(self.grid.clone())), 0)),
            Spot::Person(id) => find(&self.people, |x| x.id == *id, Part::Person),
            Spot::Instrument(id) => find(&self.instruments, |x| x.id == *id, Part::Instrument),
            Spot::Bond(id) => find(&self.bonds, |x| x.id == *id, Part::Bond),
            Spot::Board(id) => find(&self.boards, |x| x.id == *id, Part::Board),
            Spot::Circuit(board, id) => {
                find(&self.board(board)?.circuits, |x| x.id == *id, Part::Circuit)
            }
            Spot::Array(id) => find(&self.arrays, |x| x.id == *id, Part::Array),
            Spot::Line(array, id) => match &self.arrays.iter().find(|a| a.id == *array)?.layout {
                Layout::Branches(list) => find(list, |x| x.id == *id, Part::Branch),
                Layout::Strings(list) => find(list, |x| x.id == *id, Part::PvString),
            },
            Spot::Inverter(id) => find(&self.inverters, |x| x.id == *id, Part::Inverter),
            Spot::Storage(id) => find(&self.storage, |x| x.id == *id, Part::Storage),
            Spot::Observation(i) => {
                let o = self.observations.get(*i)?;
                Some((Part::Observation(Box::new(o.clone())), *i))
            }
        }
    }

    /// The part that a reading, or what is worked out at a place, belongs to.
    pub fn spot_of(&self, place: &Place) -> Spot {
        let top = place.top.clone();
        if top == Group::Label.key() {
            let label = place.part.as_deref().and_then(|name| self.label(name));
            return label.map_or(Spot::Visit, |l| l.spot());
        }
        let groups = [
            (Group::Supply, Spot::Supply),
            (Group::Grid, Spot::Grid),
            (
                Group::Bond,
                Spot::Bond(place.part.clone().unwrap_or_default()),
            ),
            (
                Group::Inverter,
                Spot::Inverter(place.part.clone().unwrap_or_default()),
            ),
        ];
        if let Some((_, spot)) = groups.into_iter().find(|(g, _)| g.key() == top) {
            return spot;
        }
        let whole = |top: String| {
            if self.board(&top).is_some() {
                Spot::Board(top)
            } else if self.arrays.iter().any(|a| a.id == top) {
                Spot::Array(top)
            } else if self.storage.iter().any(|s| s.id == top) {
                Spot::Storage(top)
            } else {
                Spot::Visit
            }
        };
        match (whole(top.clone()), &place.part) {
            (Spot::Board(_), Some(part)) => Spot::Circuit(top, part.clone()),
            (Spot::Array(_), Some(part)) => Spot::Line(top, part.clone()),
            (whole, _) => whole,
        }
    }

    fn visit(&self) -> Visit {
        Visit {
            reference: self.reference.clone(),
            title: self.title.clone(),
            client: self.client.clone(),
            address: self.address.clone(),
            work: self.work,
            premises: self.premises,
            extent: self.extent.clone(),
            started: self.started,
            next_inspection: self.next_inspection,
            existing: self.existing.clone(),
            ambient_c: self.ambient_c,
            exceptions: self.exceptions.clone(),
            monitoring: self.monitoring.clone(),
            documents: self.documents.clone(),
        }
    }

    pub(super) fn set_visit(&mut self, v: Visit) {
        self.reference = v.reference;
        self.title = v.title;
        self.client = v.client;
        self.address = v.address;
        self.work = v.work;
        self.premises = v.premises;
        self.extent = v.extent;
        self.started = v.started;
        self.next_inspection = v.next_inspection;
        self.existing = v.existing;
        self.ambient_c = v.ambient_c;
        self.exceptions = v.exceptions;
        self.monitoring = v.monitoring;
        self.documents = v.documents;
    }
}
