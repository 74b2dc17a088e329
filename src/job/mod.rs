//! What is recorded: the job, its parts and its readings. Pure data; knows no file, clock or screen.

pub mod array;
pub mod board;
pub mod brought;
pub mod change;
mod changed;
pub mod device;
pub mod digest;
pub mod edit;
pub mod enter;
pub mod group;
pub mod history;
pub mod issue;
pub mod label;
pub mod owner;
pub mod part;
pub mod people;
pub mod place;
pub mod reading;
pub mod restore;
pub mod supply;
pub mod test;
pub mod text;
pub mod unit;
mod unlike;
pub mod validate;
pub mod value;
pub mod vouch;
pub mod watch;

pub use array::{
    Array, Branch, DcInput, InsulationMethod, Inverter, InverterKind, Layout, Module, PvString,
    Storage, StoragePlace, Trunk,
};
pub use board::{Board, Circuit, CircuitKind, Lines};
pub use brought::Brought;
pub use change::{Change, ChangeError};
pub use device::{Cable, CableForm, Cpc, Curve, Device, DeviceStandard, Direction, Rcd, RcdType};
pub use edit::{Edit, Edited};
pub use group::Group;
pub use history::{Break, Deed, Done, History};
pub use issue::Issue;
pub use label::{Label, LabelKind};
pub use owner::{Need, Owner, Seat};
pub use part::{Part, Spot, Visit};
pub use people::{Function, Instrument, Person, Role};
pub use place::Place;
pub use reading::{Entry, Reading, Readings, TakenBack};
pub use restore::Restore;
pub use supply::{Bond, Earthing, Existing, Grid, Phases, Supply};
pub use test::{Answer, Test};
pub use unit::Unit;
pub use unlike::Unlike;
pub use validate::Problem;
pub use value::Value;
pub use vouch::{Around, Countersign};

use std::collections::BTreeMap;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// Version of the job file that this program writes.
pub const SCHEMA: u32 = 2;

/// Days of this year stand in starting points for those that nobody has said yet: no job and no calibration is that old.
pub const UNSAID_YEAR: i32 = 2000;

/// Who the work is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Client {
    /// Name.
    pub name: String,
    /// Postal address.
    pub address: String,
    /// Telephone or e-mail, for the network operator.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub contact: String,
}

/// Whether the work is new.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Work {
    /// A new installation.
    New,
    /// An addition to an installation.
    Addition,
    /// An alteration of an installation.
    Alteration,
}

impl Work {
    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            Work::New => "new installation",
            Work::Addition => "addition to an existing installation",
            Work::Alteration => "alteration of an existing installation",
        }
    }
}

/// What the building is used for: some uses ask for arc fault detection.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Premises {
    /// A dwelling.
    #[default]
    Dwelling,
    /// A tall residential building of higher risk.
    HigherRiskResidential,
    /// A house in multiple occupation.
    Hmo,
    /// Purpose-built student accommodation.
    StudentAccommodation,
    /// A care home.
    CareHome,
    /// Anything else.
    Other,
}

impl Premises {
    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            Premises::Dwelling => "dwelling",
            Premises::HigherRiskResidential => "higher-risk residential building",
            Premises::Hmo => "house in multiple occupation",
            Premises::StudentAccommodation => "student accommodation",
            Premises::CareHome => "care home",
            Premises::Other => "other premises",
        }
    }

    /// Whether it is the usual case, which isn't written down.
    fn is_usual(&self) -> bool {
        *self == Premises::default()
    }
}

/// Something seen that the reader of the certificate should know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Observation {
    /// What was seen.
    pub text: String,
    /// Who saw it.
    pub by: String,
    /// Departure from the standard, intended and justified in the text.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub departure: bool,
    /// Names of the files of photos that show it; the files stay where they are.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<String>,
}

/// Everything recorded about one visit. Saved as RON.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    /// Version of the file; see [`SCHEMA`].
    pub schema: u32,
    /// Number of the last journal line that this file contains.
    #[serde(default)]
    pub kept: u64,
    /// Digest of that journal line; empty before the first.
    #[serde(default)]
    pub kept_digest: String,
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
    #[serde(default, skip_serializing_if = "Premises::is_usual")]
    pub premises: Premises,
    /// What was worked on, and what wasn't.
    pub extent: String,
    /// First day of the work.
    pub started: NaiveDate,
    /// Day before which the next inspection is due.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub next_inspection: Option<NaiveDate>,
    /// Remarks on the existing installation.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub existing: String,
    /// Ambient temperature during the dead tests, °C; 20 where it wasn't noted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ambient_c: Option<rust_decimal::Decimal>,
    /// Exceptions from a rule that the standard permits, each with the risk assessment that it hangs on.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub exceptions: String,
    /// How the customer watches the system: name of the display, app or meter.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub monitoring: String,
    /// Documents that the customer is given: data sheets, manuals, warranties, declarations.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub documents: Vec<String>,
    /// People.
    pub people: Vec<Person>,
    /// Instruments.
    pub instruments: Vec<Instrument>,
    /// Supply at the origin.
    pub supply: Supply,
    /// Bonding conductors.
    #[serde(default)]
    pub bonds: Vec<Bond>,
    /// Boards worked on.
    pub boards: Vec<Board>,
    /// PV arrays.
    #[serde(default)]
    pub arrays: Vec<Array>,
    /// Inverters.
    #[serde(default)]
    pub inverters: Vec<Inverter>,
    /// Storage.
    #[serde(default)]
    pub storage: Vec<Storage>,
    /// Connection to the network.
    #[serde(default)]
    pub grid: Grid,
    /// Safe isolation and energising.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub safe: Readings,
    /// Inspection.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub inspect: Readings,
    /// Labels and notices, by their names.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub labels: BTreeMap<String, Readings>,
    /// Closing the visit.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub close: Readings,
    /// Signatures: the name of the person, typed, and when.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub sign: Readings,
    /// Digest of all work that each signature covers, by key of the signature; see [`Job::work_digest`].
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub signed: BTreeMap<String, String>,
    /// Observations and departures.
    #[serde(default)]
    pub observations: Vec<Observation>,
    /// What was edited in the record itself, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub edits: Vec<Edited>,
    /// Readings that were taken back, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub taken_back: Vec<TakenBack>,
    /// Issues of the paper, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub issues: Vec<Issue>,
    /// Everything that was done, oldest first. Version 2 of the file; no digest of content or work covers it.
    #[serde(default, skip_serializing_if = "History::is_empty")]
    pub history: History,
}

impl Job {
    /// The person with that id.
    pub fn person(&self, id: &str) -> Option<&Person> {
        self.people.iter().find(|p| p.id == id)
    }

    /// The instrument with that id.
    pub fn instrument(&self, id: &str) -> Option<&Instrument> {
        self.instruments.iter().find(|i| i.id == id)
    }

    /// Who is taken to be entering unless somebody says otherwise: whoever entered last, else the first qualified person.
    pub fn usual_person(&self) -> Option<&Person> {
        let last = self
            .seats()
            .iter()
            .flat_map(|s| s.readings.iter())
            .map(|(_, entry)| &entry.now)
            .max_by_key(|r| r.at)
            .and_then(|r| self.person(&r.by));
        last.or_else(|| self.people.iter().find(|p| p.role == Role::Qualified))
    }

    /// The instrument a reading is taken to be taken with: the first that measures it.
    pub fn usual_instrument(&self, test: Test) -> Option<&Instrument> {
        let function = Function::of(test)?;
        self.instruments
            .iter()
            .find(|i| i.functions.contains(&function))
    }

    /// The inverter with that id.
    pub fn inverter(&self, id: &str) -> Option<&Inverter> {
        self.inverters.iter().find(|i| i.id == id)
    }

    /// The board with that id.
    pub fn board(&self, id: &str) -> Option<&Board> {
        self.boards.iter().find(|b| b.id == id)
    }

    /// The board and circuit named `BOARD/CIRCUIT`.
    pub fn circuit(&self, path: &str) -> Option<(&Board, &Circuit)> {
        let (board, circuit) = path.split_once('/')?;
        let board = self.board(board)?;
        let circuit = board.circuits.iter().find(|c| c.id == circuit)?;
        Some((board, circuit))
    }

    /// The storage whose backup output is behind a circuit: that of its inverter.
    pub fn backup_on(&self, path: &str) -> Option<&Storage> {
        let inverter = |s: &&Storage| {
            self.inverter(&s.inverter)
                .is_some_and(|i| i.kind != InverterKind::Micro && i.circuit == path)
        };
        self.storage.iter().filter(|s| s.backup).find(inverter)
    }

    /// The storage whose backup output a board is fed by, itself or through the boards ahead of it.
    pub fn backup_of(&self, board: &Board) -> Option<&Storage> {
        let mut at = board;
        for _ in 0..=self.boards.len() {
            let (ahead, circuit) = self.circuit(&at.fed_from)?;
            if circuit.kind == CircuitKind::Source {
                return self.backup_on(&at.fed_from);
            }
            at = ahead;
        }
        None
    }

    /// Boards whose feed comes straight from the backup output of a storage.
    pub fn boards_on_backup<'a>(&'a self, storage: &'a Storage) -> impl Iterator<Item = &'a Board> {
        self.boards.iter().filter(|b| {
            self.circuit(&b.fed_from)
                .is_some_and(|(_, c)| c.kind == CircuitKind::Source)
                && self
                    .backup_on(&b.fed_from)
                    .is_some_and(|s| s.id == storage.id)
        })
    }

    /// Whether [`mark_readings`](Self::mark_readings) marked them.
    pub(crate) fn has_marks(&self) -> bool {
        self.safe.mark() != 0
    }

    /// Marks the readings of each owner, so that [`watch`] can tell whose were looked at. Those of labels come and go with what
    /// is read there, and keep the mark that all unmarked ones have.
    pub(crate) fn mark_readings(&mut self) {
        let mut next = 0;
        let mut mark = |readings: &mut Readings| {
            next += 1;
            readings.set_mark(next);
        };
        for group in [&mut self.safe, &mut self.inspect, &mut self.close] {
            mark(group);
        }
        mark(&mut self.sign);
        mark(&mut self.supply.readings);
        mark(&mut self.grid.readings);
        self.bonds.iter_mut().for_each(|b| mark(&mut b.readings));
        for board in &mut self.boards {
            mark(&mut board.readings);
            let circuits = board.circuits.iter_mut();
            circuits.for_each(|c| mark(&mut c.readings));
        }
        for array in &mut self.arrays {
            match &mut array.layout {
                Layout::Branches(list) => list.iter_mut().for_each(|b| mark(&mut b.readings)),
                Layout::Strings(list) => list.iter_mut().for_each(|s| mark(&mut s.readings)),
            }
        }
        self.storage.iter_mut().for_each(|s| mark(&mut s.readings));
    }

    /// Whether anything on the premises can feed back: an inverter or storage.
    pub fn has_sources(&self) -> bool {
        !self.inverters.is_empty() || !self.storage.is_empty()
    }
}
