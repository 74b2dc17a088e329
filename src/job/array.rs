//! PV arrays, inverters and storage.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::reading::Readings;
use super::supply::Phases;

/// Data sheet of a PV module, at standard test conditions.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Module {
    /// Maker and model as typed.
    pub make: String,
    /// Rated power, W.
    pub power_w: Decimal,
    /// Open-circuit voltage, V.
    pub voc_v: Decimal,
    /// Short-circuit current, A.
    pub isc_a: Decimal,
    /// Temperature coefficient of Voc, % per K (below zero).
    pub beta_pct_k: Decimal,
    /// Temperature coefficient of Isc, % per K.
    pub alpha_pct_k: Decimal,
    /// Cells in series.
    pub cells: u16,
    /// Highest series fuse the maker allows, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_fuse_a: Option<Decimal>,
}

/// One module of a micro-inverter branch, with its inverter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Unit {
    /// Serial number of the module.
    pub module: String,
    /// Serial number of its micro-inverter.
    pub inverter: String,
}

/// Trunk cable of a branch, with the inverters spread along it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trunk {
    /// Cross-sectional area of its line conductor, mm², flexible copper.
    pub line_mm2: Decimal,
    /// From one inverter to the next, and from the feed to the first, m.
    pub spacing_m: Decimal,
}

/// A branch of micro-inverters on one a.c. circuit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Branch {
    /// Short id, such as `B1`.
    pub id: String,
    /// Name, such as `south roof, upper row`.
    pub name: String,
    /// Circuit it is on, as `BOARD/CIRCUIT`.
    pub circuit: String,
    /// Modules with their inverters, in order along the trunk.
    pub units: Vec<Unit>,
    /// The trunk cable, as far as known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trunk: Option<Trunk>,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

/// How the insulation of a string is measured; the two are not comparable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum InsulationMethod {
    /// Positive to earth, then negative to earth.
    #[default]
    EachPole,
    /// Both poles joined, to earth.
    PolesJoined,
}

/// A string of modules in series.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PvString {
    /// Short id, such as `S1`.
    pub id: String,
    /// Name.
    pub name: String,
    /// Serial numbers of the modules, from positive to negative.
    pub modules: Vec<String>,
    /// How its insulation is measured.
    #[serde(default)]
    pub insulation: InsulationMethod,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

/// How the modules of an array are wired.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Layout {
    /// An inverter at each module, on a.c. branches.
    Branches(Vec<Branch>),
    /// Strings to a string inverter.
    Strings(Vec<PvString>),
}

/// A PV array: modules of one kind in one plane.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Array {
    /// Short id, such as `P`.
    pub id: String,
    /// Name, such as `south roof`.
    pub name: String,
    /// Slope from horizontal, degrees.
    pub slope_deg: Decimal,
    /// Direction it faces, degrees from north.
    pub azimuth_deg: Decimal,
    /// The module.
    pub module: Module,
    /// Id of its inverter (or kind of micro-inverter).
    pub inverter: String,
    /// Strings or branches.
    pub layout: Layout,
}

/// Kind of an inverter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum InverterKind {
    /// One at each module.
    Micro,
    /// For strings.
    String,
    /// For strings and storage.
    Hybrid,
    /// For storage only.
    Storage,
}

impl InverterKind {
    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            InverterKind::Micro => "micro-inverter",
            InverterKind::String => "string inverter",
            InverterKind::Hybrid => "hybrid inverter",
            InverterKind::Storage => "storage inverter",
        }
    }
}

/// An inverter, or a kind of micro-inverter.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Inverter {
    /// Short id.
    pub id: String,
    /// Kind.
    pub kind: InverterKind,
    /// Maker and model as typed.
    pub make: String,
    /// Serial number; micro-inverters have theirs in the branch.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub serial: String,
    /// Circuit it is on, as `BOARD/CIRCUIT`; micro-inverters have theirs in the branch.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub circuit: String,
    /// Rated output current per phase, A, of one unit.
    pub rated_a: Decimal,
    /// One or three phases.
    pub phases: Phases,
    /// Most units the maker allows on one branch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_per_branch: Option<u16>,
}

/// A battery.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Storage {
    /// Short id, such as `E`.
    pub id: String,
    /// Maker and model as typed.
    pub make: String,
    /// Serial number.
    pub serial: String,
    /// Where it stands.
    pub location: String,
    /// Id of its inverter.
    pub inverter: String,
    /// Modules it is made of.
    pub modules: u16,
    /// Usable capacity of one module, kWh.
    pub usable_kwh: Decimal,
    /// Lowest voltage at its d.c. isolator, V.
    pub dc_min_v: Decimal,
    /// Highest voltage at its d.c. isolator, V.
    pub dc_max_v: Decimal,
    /// Has a backup output that runs without the grid.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub backup: bool,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}
