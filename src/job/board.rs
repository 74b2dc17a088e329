//! Boards and their circuits.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::device::{Cable, Device, Rcd};
use super::reading::Readings;
use super::supply::Phases;

/// What a circuit supplies, which decides its disconnection time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CircuitKind {
    /// Socket-outlets.
    Sockets,
    /// Lighting.
    Lighting,
    /// Fixed equipment.
    Fixed,
    /// Another board.
    Distribution,
    /// An inverter, micro-inverter branch or storage unit: power may come back.
    Source,
    /// Nothing: a spare way.
    Spare,
}

impl CircuitKind {
    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            CircuitKind::Sockets => "socket-outlets",
            CircuitKind::Lighting => "lighting",
            CircuitKind::Fixed => "fixed equipment",
            CircuitKind::Distribution => "distribution",
            CircuitKind::Source => "source",
            CircuitKind::Spare => "spare",
        }
    }
}

/// Lines of a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Lines {
    /// L1 (the only line of a single-phase board).
    #[default]
    L1,
    /// L2.
    L2,
    /// L3.
    L3,
    /// All three.
    All,
}

impl Lines {
    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Lines::L1 => "L1",
            Lines::L2 => "L2",
            Lines::L3 => "L3",
            Lines::All => "L1 L2 L3",
        }
    }
}

/// One circuit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Circuit {
    /// Number as on the board.
    pub id: String,
    /// What it is, as on the circuit chart.
    pub name: String,
    /// What it supplies.
    pub kind: CircuitKind,
    /// Lines it uses.
    #[serde(default)]
    pub lines: Lines,
    /// Ring final circuit.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub ring: bool,
    /// Number of points served.
    #[serde(default)]
    pub points: u16,
    /// Overcurrent protective device; none on a spare way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<Device>,
    /// Residual current protection of this circuit.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rcd: Option<Rcd>,
    /// Arc fault detection device fitted.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub afdd: bool,
    /// Cable; none on a spare way.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cable: Option<Cable>,
    /// Energy that the device lets through in the worst earth fault of the circuit, A²s, as its maker states it: of a
    /// circuit-breaker that at the board, of a fuse that at the far end.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub let_through_a2s: Option<Decimal>,
    /// Design current Ib, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub design_a: Option<Decimal>,
    /// Separated extra-low voltage (SELV or PELV).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub extra_low_voltage: bool,
    /// Equipment or an SPD that can't be disconnected stays on for the insulation test.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub equipment_connected: bool,
    /// The branch has no neutral conductor.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub no_neutral: bool,
    /// In place before and not altered: what nobody recorded of its cable is not asked for again. Counts for loads only.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub existing: bool,
    /// Remarks, such as equipment that a test could harm.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub remarks: String,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

/// A distribution board or consumer unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Short id, such as `R`.
    pub id: String,
    /// Name, such as `renewables board`.
    pub name: String,
    /// Where it is.
    pub location: String,
    /// Circuit that feeds it, as `BOARD/CIRCUIT`; empty where it is fed from the origin.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub fed_from: String,
    /// One or three phases.
    pub phases: Phases,
    /// Main switch, as typed.
    pub main_switch: String,
    /// Rated current of the main switch, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub main_a: Option<Decimal>,
    /// Poles that the main switch opens.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub main_poles: Option<u8>,
    /// Rated current of the whole assembly (InA), A, as its maker states it; busbars carry what comes from the supply and what
    /// comes from sources.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub board_a: Option<Decimal>,
    /// RCD ahead of all its circuits.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rcd: Option<Rcd>,
    /// Surge protective device: type, as typed; empty where there is none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub spd: String,
    /// Why there is no surge protective device; empty where there is one.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub no_spd: String,
    /// Leads of the surge protective device, line to device and device to earth added up, m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spd_lead_m: Option<Decimal>,
    /// Rated conditional short-circuit current of the whole board behind the distributor's cut-out, kA, where its maker
    /// states one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub conditional_ka: Option<Decimal>,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
    /// Circuits.
    pub circuits: Vec<Circuit>,
    /// Readings at the board.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

impl Board {
    /// The name of one of its circuits in a job: `BOARD/CIRCUIT`.
    pub fn path(&self, circuit: &Circuit) -> String {
        format!("{}/{}", self.id, circuit.id)
    }
}
