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
    /// Temperature coefficient of Voc, % per K (below zero); where the data sheet has none, a factor of the forms counts.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub beta_pct_k: Option<Decimal>,
    /// Temperature coefficient of Isc, % per K.
    pub alpha_pct_k: Decimal,
    /// Cells in series.
    pub cells: u16,
    /// Highest series fuse the maker allows, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_fuse_a: Option<Decimal>,
    /// Voltage at maximum power, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub vmp_v: Option<Decimal>,
    /// Area, m².
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub area_m2: Option<Decimal>,
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
    /// Its figures come from a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
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
    /// Input of the inverter, such as `1`; strings with the same one are in parallel. Empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub input: String,
    /// Rated current of its fuse, A; none where it has no fuse.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fuse_a: Option<Decimal>,
    /// Its figures come from a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
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
    /// Lowest temperature of the cells by day, °C; the forms' where it isn't recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lowest_c: Option<Decimal>,
    /// How the modules are held: mounting system, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub mounting: String,
    /// Cables of its strings: type and size, as typed; a branch has its trunk.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub cable: String,
    /// How frames and rails are bonded, or why they aren't.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub frame_bond: String,
    /// Surge protection on the d.c. side: type and place, or why there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub dc_spd: String,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
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

/// What one d.c. input of an inverter takes, by its data sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DcInput {
    /// Highest voltage it stands, V.
    pub max_v: Decimal,
    /// Voltage it starts at, V.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start_v: Option<Decimal>,
    /// Lowest voltage at which it finds the maximum power, V.
    pub mppt_min_v: Decimal,
    /// Highest voltage at which it finds the maximum power, V.
    pub mppt_max_v: Decimal,
    /// Highest short-circuit current of an array that it stands, A: not the current that it limits itself to in use.
    pub max_a: Decimal,
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
    /// Where it is; micro-inverters are at their modules.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub location: String,
    /// Version of its software when it was commissioned.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub firmware: String,
    /// Reference under which the network operator finds its type test.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub type_test: String,
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
    /// Isolator on its a.c. side: rating, poles and place, as typed; empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub ac_isolator: String,
    /// Isolator between it and its strings: rating, poles and place, as typed; empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub dc_isolator: String,
    /// What each d.c. input takes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub dc: Option<DcInput>,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
}

/// Kind of place a battery stands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum StoragePlace {
    /// In the open.
    Outdoors,
    /// Garage.
    Garage,
    /// Utility room.
    Utility,
    /// Plant or switch room.
    PlantRoom,
    /// Another room.
    OtherIndoors,
    /// Bedroom.
    Bedroom,
    /// Stair, landing, hall or other way out.
    EscapeRoute,
    /// Cupboard that opens off a bedroom.
    CupboardOffBedroom,
    /// Loft, roof space or void.
    LoftOrVoid,
}

impl StoragePlace {
    /// Every place.
    pub const ALL: [StoragePlace; 9] = [
        StoragePlace::Outdoors,
        StoragePlace::Garage,
        StoragePlace::Utility,
        StoragePlace::PlantRoom,
        StoragePlace::OtherIndoors,
        StoragePlace::Bedroom,
        StoragePlace::EscapeRoute,
        StoragePlace::CupboardOffBedroom,
        StoragePlace::LoftOrVoid,
    ];

    /// Key in the limit files, such as `loft-or-void`.
    pub fn key(self) -> &'static str {
        match self {
            StoragePlace::Outdoors => "outdoors",
            StoragePlace::Garage => "garage",
            StoragePlace::Utility => "utility",
            StoragePlace::PlantRoom => "plant-room",
            StoragePlace::OtherIndoors => "other-indoors",
            StoragePlace::Bedroom => "bedroom",
            StoragePlace::EscapeRoute => "escape-route",
            StoragePlace::CupboardOffBedroom => "cupboard-off-bedroom",
            StoragePlace::LoftOrVoid => "loft-or-void",
        }
    }

    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            StoragePlace::Outdoors => "outdoors",
            StoragePlace::Garage => "garage",
            StoragePlace::Utility => "utility room",
            StoragePlace::PlantRoom => "plant room",
            StoragePlace::OtherIndoors => "another room",
            StoragePlace::Bedroom => "bedroom",
            StoragePlace::EscapeRoute => "escape route",
            StoragePlace::CupboardOffBedroom => "cupboard off a bedroom",
            StoragePlace::LoftOrVoid => "loft or void",
        }
    }
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
    /// Kind of its cells, such as lithium iron phosphate: the fire brigade asks.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub chemistry: String,
    /// Version of its software when it was commissioned.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub firmware: String,
    /// Reference under which the network operator finds its type test, where it has one besides its inverter's.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub type_test: String,
    /// State of charge when it was left, %.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub charge_pct: Option<Decimal>,
    /// Its own switch or isolator: rating, poles and place, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub isolator: String,
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
    /// What that output feeds, as the customer would say it; nothing is said of it without one. A board that it feeds has the
    /// circuit of the inverter in `fed_from`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub backup_feeds: String,
    /// Kind of place it stands in.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub place: Option<StoragePlace>,
    /// Distance to the nearest door, window, vent or other opening, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub opening_m: Option<Decimal>,
    /// Distance to the nearest stored flammables, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub flammables_m: Option<Decimal>,
    /// Whether an alarm beside it is interlinked with those of the house.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detector: Option<bool>,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}
