//! The record on the screen: the parts of a job in order, and the fields of each as tables of data.

pub(super) mod act;
mod array;
mod board;
mod bond;
mod circuit;
mod compared;
mod copy;
pub(super) mod done;
mod empty;
mod entry;
mod form;
mod grid;
mod instrument;
mod inverter;
mod line;
mod observation;
mod patterns;
mod person;
mod starts;
mod storage;
mod supply;
mod unknown;
mod visit;

pub use empty::{empty_of, is_empty};
pub use entry::{Choices, Entry, Kind};
pub use form::{Field, describe_change, rows_of};

use crate::job::{Array, Board, Circuit, CircuitKind, Job, Layout, Part, Spot};

/// Where the record's cursors stand.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Record {
    /// Selected row of the parts.
    pub row: usize,
    /// The part whose form is open.
    pub spot: Option<Spot>,
    /// Selected row of the form.
    pub field: usize,
    /// Whether what stands in the field of typing belongs to the form, also where it is empty.
    pub typing: bool,
    /// What is said once the edit that was asked for is on the disk.
    pub said: String,
    /// Whether that edit adds a part: its form is opened then.
    pub adding: bool,
    /// The list that was typed or pasted into, by the name of its field, and whether as a whole.
    pub list: Option<(&'static str, bool)>,
}

/// A list of parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum List {
    /// People.
    People,
    /// Instruments.
    Instruments,
    /// Bonding conductors.
    Bonds,
    /// Boards.
    Boards,
    /// Circuits of the board with that id.
    Circuits(String),
    /// Arrays.
    Arrays,
    /// Strings or branches of the array with that id.
    Lines(String),
    /// Inverters.
    Inverters,
    /// Storage.
    Storage,
    /// Observations.
    Observations,
}

impl List {
    /// The list that a part belongs to; none for what there is one of.
    pub fn of(spot: &Spot) -> Option<List> {
        Some(match spot {
            Spot::Visit | Spot::Supply | Spot::Grid => return None,
            Spot::Person(_) => List::People,
            Spot::Instrument(_) => List::Instruments,
            Spot::Bond(_) => List::Bonds,
            Spot::Board(_) => List::Boards,
            Spot::Circuit(board, _) => List::Circuits(board.clone()),
            Spot::Array(_) => List::Arrays,
            Spot::Line(array, _) => List::Lines(array.clone()),
            Spot::Inverter(_) => List::Inverters,
            Spot::Storage(_) => List::Storage,
            Spot::Observation(_) => List::Observations,
        })
    }

    /// What it is called.
    pub fn name(&self) -> &'static str {
        match self {
            List::People => "people",
            List::Instruments => "instruments",
            List::Bonds => "bonding",
            List::Boards => "boards and circuits",
            List::Circuits(_) => "circuits",
            List::Arrays => "arrays",
            List::Lines(_) => "strings or branches",
            List::Inverters => "inverters",
            List::Storage => "storage",
            List::Observations => "observations",
        }
    }

    /// How many parts are in it.
    pub fn len(&self, job: &Job) -> usize {
        match self {
            List::People => job.people.len(),
            List::Instruments => job.instruments.len(),
            List::Bonds => job.bonds.len(),
            List::Boards => job.boards.len(),
            List::Circuits(board) => job.board(board).map_or(0, |b| b.circuits.len()),
            List::Arrays => job.arrays.len(),
            List::Lines(array) => {
                let array = job.arrays.iter().find(|a| a.id == *array);
                array.map_or(0, |a| match &a.layout {
                    Layout::Branches(list) => list.len(),
                    Layout::Strings(list) => list.len(),
                })
            }
            List::Inverters => job.inverters.len(),
            List::Storage => job.storage.len(),
            List::Observations => job.observations.len(),
        }
    }
}

/// A row of the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Row {
    /// A part.
    Part(Spot),
    /// The head of a list, where something can be added also while it is empty.
    Head(List),
}

/// Every row, in order.
pub fn rows(job: &Job) -> Vec<Row> {
    let mut out = vec![Row::Part(Spot::Visit), Row::Head(List::People)];
    let mut part = |spot: Spot| out.push(Row::Part(spot));
    job.people
        .iter()
        .for_each(|x| part(Spot::Person(x.id.clone())));
    out.push(Row::Head(List::Instruments));
    for x in &job.instruments {
        out.push(Row::Part(Spot::Instrument(x.id.clone())));
    }
    out.push(Row::Part(Spot::Supply));
    out.push(Row::Head(List::Bonds));
    for x in &job.bonds {
        out.push(Row::Part(Spot::Bond(x.id.clone())));
    }
    out.push(Row::Head(List::Boards));
    for b in &job.boards {
        out.push(Row::Part(Spot::Board(b.id.clone())));
        for c in &b.circuits {
            out.push(Row::Part(Spot::Circuit(b.id.clone(), c.id.clone())));
        }
    }
    out.push(Row::Head(List::Arrays));
    for a in &job.arrays {
        out.push(Row::Part(Spot::Array(a.id.clone())));
        let ids: Vec<&String> = match &a.layout {
            Layout::Branches(list) => list.iter().map(|x| &x.id).collect(),
            Layout::Strings(list) => list.iter().map(|x| &x.id).collect(),
        };
        for id in ids {
            out.push(Row::Part(Spot::Line(a.id.clone(), id.clone())));
        }
    }
    out.push(Row::Head(List::Inverters));
    for x in &job.inverters {
        out.push(Row::Part(Spot::Inverter(x.id.clone())));
    }
    out.push(Row::Head(List::Storage));
    for x in &job.storage {
        out.push(Row::Part(Spot::Storage(x.id.clone())));
    }
    out.push(Row::Part(Spot::Grid));
    out.push(Row::Head(List::Observations));
    for i in 0..job.observations.len() {
        out.push(Row::Part(Spot::Observation(i)));
    }
    out
}

/// What a part is called on its row: its id and, in a few words, what it is.
pub fn describe(part: &Part, spot: &Spot) -> (String, String) {
    match part {
        Part::Visit(x) => ("visit".into(), words(&[&x.reference, &x.title, &x.address])),
        Part::Supply(x) => {
            let fuse = format!("{} A {}", x.fuse_a.normalize(), x.fuse_standard.name());
            (
                "supply".into(),
                words(&[x.earthing.name(), x.phases.name(), &fuse]),
            )
        }
        Part::Grid(x) => (
            "grid".into(),
            words(&["connection to the network", &x.operator]),
        ),
        Part::Person(x) => (x.id.clone(), words(&[&x.name, x.role.name(), &x.firm])),
        Part::Instrument(x) => (
            x.id.clone(),
            words(&[&x.kind, &x.make, &format!("due {}", x.due)]),
        ),
        Part::Bond(x) => (
            x.id.clone(),
            words(&[&x.to, &format!("{} mm²", x.mm2.normalize())]),
        ),
        Part::Board(x) => describe_board(x),
        Part::Circuit(x) => describe_circuit(x),
        Part::Array(x) => describe_array(x),
        Part::Branch(x) => (
            x.id.clone(),
            words(&[
                &x.name,
                &format!(
                    "{} on {}",
                    number(x.units.len(), "unit", "units"),
                    x.circuit
                ),
            ]),
        ),
        Part::PvString(x) => (
            x.id.clone(),
            words(&[&x.name, &number(x.modules.len(), "module", "modules")]),
        ),
        Part::Inverter(x) => (
            x.id.clone(),
            words(&[
                x.kind.name(),
                &x.make,
                &format!("{} A", x.rated_a.normalize()),
                &x.circuit,
            ]),
        ),
        Part::Storage(x) => (
            x.id.clone(),
            words(&[
                &x.make,
                &number(x.modules, "module", "modules"),
                &x.location,
            ]),
        ),
        Part::Observation(x) => {
            let number = match spot {
                Spot::Observation(i) => (i + 1).to_string(),
                _ => String::new(),
            };
            let kind = if x.departure { "departure" } else { "" };
            (number, words(&[kind, &x.text.replace('\n', " ")]))
        }
    }
}

/// What the part at an address is called, as [`describe`] has it; a board isn't copied with all its circuits for that.
pub fn describe_at(job: &Job, spot: &Spot) -> Option<(String, String)> {
    match spot {
        Spot::Board(id) => job.board(id).map(describe_board),
        Spot::Circuit(board, id) => {
            let mut circuits = job.board(board)?.circuits.iter();
            circuits.find(|c| c.id == *id).map(describe_circuit)
        }
        Spot::Array(id) => {
            let mut arrays = job.arrays.iter();
            arrays.find(|a| a.id == *id).map(describe_array)
        }
        _ => job.part(spot).map(|(part, _)| describe(&part, spot)),
    }
}

fn describe_board(x: &Board) -> (String, String) {
    let circuits = number(x.circuits.len(), "circuit", "circuits");
    (x.id.clone(), words(&[&x.name, &circuits, &x.location]))
}

fn describe_circuit(x: &Circuit) -> (String, String) {
    (x.id.clone(), words(&[&x.name, &circuit_words(x)]))
}

fn describe_array(x: &Array) -> (String, String) {
    let lines = match &x.layout {
        Layout::Branches(list) => number(list.len(), "branch", "branches"),
        Layout::Strings(list) => number(list.len(), "string", "strings"),
    };
    (x.id.clone(), words(&[&x.name, &lines, &x.module.make]))
}

/// What is said of a part, one after the other.
fn words(parts: &[&str]) -> String {
    let said: Vec<&str> = parts.iter().copied().filter(|p| !p.is_empty()).collect();
    said.join(" · ")
}

/// A number of things in words.
fn number(n: impl Into<usize>, one: &str, several: &str) -> String {
    match n.into() {
        1 => format!("1 {one}"),
        n => format!("{n} {several}"),
    }
}

fn circuit_words(c: &Circuit) -> String {
    let Some(device) = &c.device else {
        return c.kind.name().to_string();
    };
    let cable = c.cable.as_ref().map_or(String::new(), |x| {
        format!(", {} mm²", x.line_mm2.normalize())
    });
    format!("{}{cable}", device.describe())
}

/// The fields of a kind of part, in the order of the form.
pub fn entries(part: &Part) -> &'static [Entry] {
    match part {
        Part::Visit(_) => visit::ENTRIES,
        Part::Supply(_) => supply::ENTRIES,
        Part::Grid(_) => grid::ENTRIES,
        Part::Person(_) => person::ENTRIES,
        Part::Instrument(_) => instrument::ENTRIES,
        Part::Bond(_) => bond::ENTRIES,
        Part::Board(_) => board::ENTRIES,
        Part::Circuit(_) => circuit::ENTRIES,
        Part::Array(_) => array::ENTRIES,
        Part::Branch(_) => line::BRANCH,
        Part::PvString(_) => line::STRING,
        Part::Inverter(_) => inverter::ENTRIES,
        Part::Storage(_) => storage::ENTRIES,
        Part::Observation(_) => observation::ENTRIES,
    }
}

/// The fields of a circuit that fit into a column of the sheet.
pub fn circuit_columns() -> impl Iterator<Item = &'static Entry> {
    let beside = ["id.", "name.", "remarks."];
    circuit::ENTRIES
        .iter()
        .filter(move |e| !beside.contains(&e.path))
}

/// Circuits of a kind, as `BOARD/CIRCUIT`.
fn paths(job: &Job, kind: CircuitKind) -> Choices {
    job.boards
        .iter()
        .flat_map(|b| b.circuits.iter().map(move |c| (b, c)))
        .filter(|(_, c)| c.kind == kind)
        .map(|(b, c)| {
            let path = b.path(c);
            let shown = format!("{path}  {}, {}", c.name, b.name);
            (path, shown)
        })
        .collect()
}
