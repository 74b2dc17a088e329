//! Supply, bonding and grid connection.

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::board::Lines;
use super::device::DeviceStandard;
use super::reading::Readings;

/// Earthing arrangement of the supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Earthing {
    /// Separate neutral and earth throughout.
    TnS,
    /// Combined in the distributor's part (PME).
    TnCS,
    /// Installation's own earth electrode.
    Tt,
}

impl Earthing {
    /// As it is written.
    pub fn name(self) -> &'static str {
        match self {
            Earthing::TnS => "TN-S",
            Earthing::TnCS => "TN-C-S",
            Earthing::Tt => "TT",
        }
    }
}

/// Phases of a supply, board or unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Phases {
    /// Line and neutral.
    Single,
    /// Three lines (and neutral).
    Three,
}

impl Phases {
    /// Words for the paper.
    pub fn name(self) -> &'static str {
        match self {
            Phases::Single => "single-phase",
            Phases::Three => "three-phase",
        }
    }
}

/// The distributor's supply at the origin.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Supply {
    /// Earthing arrangement.
    pub earthing: Earthing,
    /// One or three phases.
    pub phases: Phases,
    /// Nominal voltage to earth U0, V.
    pub u0_v: Decimal,
    /// Frequency, Hz.
    pub frequency_hz: Decimal,
    /// Standard of the distributor's cut-out fuse.
    pub fuse_standard: DeviceStandard,
    /// Its rated current, A.
    pub fuse_a: Decimal,
    /// Its rated breaking capacity, kA.
    pub fuse_ka: Decimal,
    /// Main switch: location, standard, poles, rating, as typed.
    pub main_switch: String,
    /// Earthing conductor, mm² copper.
    pub earthing_mm2: Decimal,
    /// Tails between meter and main switch: line and neutral, mm² copper; they decide the size of bonding and earthing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tails_mm2: Option<Decimal>,
    /// Maximum demand, A.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub max_demand_a: Option<Decimal>,
    /// Earth electrode: kind and location; empty where the distributor provides the earth.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub electrode: String,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
    /// Readings at the origin.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

/// A main or supplementary bonding conductor.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bond {
    /// Short id, such as `water`.
    pub id: String,
    /// What it bonds.
    pub to: String,
    /// Cross-sectional area, mm² copper.
    pub mm2: Decimal,
    /// Length, m, as far as known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<Decimal>,
    /// Supplementary bonding, not main bonding.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub supplementary: bool,
    /// Protected against mechanical damage all along, such as by conduit; matters for supplementary bonding.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub mechanically_protected: bool,
    /// Its figures come from a starter, a starting point or a copy, and nobody has compared them with what is on site yet.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub to_compare: bool,
    /// Readings.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}

/// Generation or storage that was on the premises before.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Existing {
    /// What it is.
    pub what: String,
    /// Line it is on; all three for a three-phase unit.
    #[serde(default)]
    pub lines: Lines,
    /// Rated current per phase, A, of all of it.
    pub rated_a: Decimal,
}

/// Connection of the generation to the network.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Grid {
    /// Network operator.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub operator: String,
    /// Number that the customer calls when there is no electricity; empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub operator_phone: String,
    /// Supply number of the meter.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub meter_number: String,
    /// Export limit agreed, A per phase.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub export_limit_a: Option<Decimal>,
    /// Generation and storage that was on the premises before and stays.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub existing: Vec<Existing>,
    /// Looked for on the premises and with the customer, and there was none before: an empty list alone doesn't say so.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub existing_none: bool,
    /// Reference of the application to the network operator.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub application: String,
    /// Day on which the network operator accepted the application.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub accepted: Option<NaiveDate>,
    /// Reference of the acceptance.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub acceptance: String,
    /// Day on which it was commissioned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub commissioned: Option<NaiveDate>,
    /// Day on which the network operator was told that it runs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub notified: Option<NaiveDate>,
    /// Readings and confirmations.
    #[serde(default, skip_serializing_if = "Readings::is_empty")]
    pub readings: Readings,
}
