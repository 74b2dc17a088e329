//! Protective devices, residual current devices and cables of a circuit.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

/// The standard a protective device is made to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum DeviceStandard {
    /// Circuit-breaker, BS EN 60898.
    BsEn60898,
    /// RCBO, BS EN 61009: overcurrent and residual current in one device.
    BsEn61009,
    /// Industrial cartridge fuse gG, BS 88-2.
    Bs88_2,
    /// Household cartridge fuse system C, BS 88-3.
    Bs88_3,
    /// Semi-enclosed (rewirable) fuse, BS 3036.
    Bs3036,
}

impl DeviceStandard {
    /// Every standard, in the order lists are shown.
    pub const ALL: [DeviceStandard; 5] = [
        DeviceStandard::BsEn60898,
        DeviceStandard::BsEn61009,
        DeviceStandard::Bs88_2,
        DeviceStandard::Bs88_3,
        DeviceStandard::Bs3036,
    ];

    /// The name as printed on the device and on the certificate.
    pub fn name(self) -> &'static str {
        match self {
            DeviceStandard::BsEn60898 => "BS EN 60898",
            DeviceStandard::BsEn61009 => "BS EN 61009",
            DeviceStandard::Bs88_2 => "BS 88-2",
            DeviceStandard::Bs88_3 => "BS 88-3",
            DeviceStandard::Bs3036 => "BS 3036",
        }
    }

    /// The key used in the limit files and on the command line, such as `bs-en-60898`.
    pub fn key(self) -> &'static str {
        match self {
            DeviceStandard::BsEn60898 => "bs-en-60898",
            DeviceStandard::BsEn61009 => "bs-en-61009",
            DeviceStandard::Bs88_2 => "bs88-2",
            DeviceStandard::Bs88_3 => "bs88-3",
            DeviceStandard::Bs3036 => "bs3036",
        }
    }

    /// The standard with that [`key`](Self::key), if there is one.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|s| s.key() == key)
    }

    /// Whether the device has a B, C or D tripping curve.
    pub fn has_curve(self) -> bool {
        matches!(self, DeviceStandard::BsEn60898 | DeviceStandard::BsEn61009)
    }
}

/// Tripping curve of a circuit-breaker or RCBO.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Curve {
    /// Instantaneous trip by 5 times the rated current.
    B,
    /// Instantaneous trip by 10 times the rated current.
    C,
    /// Instantaneous trip by 20 times the rated current.
    D,
}

impl Curve {
    /// The letter.
    pub fn letter(self) -> &'static str {
        match self {
            Curve::B => "B",
            Curve::C => "C",
            Curve::D => "D",
        }
    }
}

/// Which way power may flow through a device. Established from its marking before energising.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Direction {
    /// Not looked at yet.
    #[default]
    Unknown,
    /// No in/out, line/load or arrow marks, or the maker declares it bidirectional.
    Bidirectional,
    /// Marked in/out, line/load or with an arrow.
    Unidirectional,
}

/// Overcurrent protective device of a circuit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Device {
    /// Standard the device is made to.
    pub standard: DeviceStandard,
    /// Tripping curve; only for circuit-breakers and RCBOs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub curve: Option<Curve>,
    /// Rated current In, A.
    pub rating_a: Decimal,
    /// Rated breaking capacity, kA.
    pub breaking_ka: Decimal,
    /// Number of poles that open.
    pub poles: u8,
    /// Which way power may flow through it.
    #[serde(default)]
    pub direction: Direction,
}

impl Device {
    /// Short description for lists, such as `B16 BS EN 60898`.
    pub fn describe(&self) -> String {
        let curve = self.curve.map_or("", Curve::letter);
        let amp = if curve.is_empty() { " A" } else { "" };
        format!(
            "{curve}{}{amp} {}",
            self.rating_a.normalize(),
            self.standard.name()
        )
    }
}

/// Sensitivity of an RCD to the shape of the residual current.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[allow(clippy::upper_case_acronyms)]
pub enum RcdType {
    /// Sinusoidal only.
    AC,
    /// And pulsating d.c.
    A,
    /// And composite frequencies.
    F,
    /// And smooth d.c.
    B,
}

impl RcdType {
    /// The letters.
    pub fn letters(self) -> &'static str {
        match self {
            RcdType::AC => "AC",
            RcdType::A => "A",
            RcdType::F => "F",
            RcdType::B => "B",
        }
    }
}

/// Residual current device: an RCBO's own, or one ahead of the circuit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rcd {
    /// Standard, as printed on it, such as `BS EN 61009`.
    pub standard: String,
    /// Type AC, A, F or B.
    pub kind: RcdType,
    /// Rated residual operating current IΔn, mA.
    pub idn_ma: Decimal,
    /// Rated current, A, where it is a device of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_a: Option<Decimal>,
    /// Time-delayed (S type).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub selective: bool,
    /// What shows that a type other than B will do: the document in which the inverter's maker declares that type B is not
    /// needed or that the inverter separates; for type AC, how it is known that the load has no d.c. Empty where there is
    /// none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub declaration: String,
}

impl Rcd {
    /// Short description, such as `30 mA type A` or `100 mA type A S`.
    pub fn describe(&self) -> String {
        let s = if self.selective { " S" } else { "" };
        format!(
            "{} mA type {}{s}",
            self.idn_ma.normalize(),
            self.kind.letters()
        )
    }
}

/// How a cable is made, which decides its voltage drop and temperature factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum CableForm {
    /// Flat twin and earth, 70 °C thermoplastic.
    FlatTwinEarth70,
    /// Single-core 70 °C thermoplastic in conduit or trunking.
    Singles70,
    /// Steel-wire armoured, 90 °C thermosetting, copper.
    Armoured90,
    /// Flexible cord or trunk cable.
    Flexible,
}

impl CableForm {
    /// Words for the schedule.
    pub fn name(self) -> &'static str {
        match self {
            CableForm::FlatTwinEarth70 => "flat twin and earth, 70 °C",
            CableForm::Singles70 => "singles, 70 °C",
            CableForm::Armoured90 => "steel-wire armoured, 90 °C",
            CableForm::Flexible => "flexible",
        }
    }

    /// Key used in the limit files, such as `flat-twin-earth-70`.
    pub fn key(self) -> &'static str {
        match self {
            CableForm::FlatTwinEarth70 => "flat-twin-earth-70",
            CableForm::Singles70 => "singles-70",
            CableForm::Armoured90 => "armoured-90",
            CableForm::Flexible => "flexible",
        }
    }
}

/// The circuit protective conductor of a cable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cpc {
    /// A copper conductor of that cross-sectional area, mm².
    Copper(Decimal),
    /// The steel armour of a cable with that many cores.
    Armour(u8),
}

/// Cable of a circuit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cable {
    /// How it is made.
    pub form: CableForm,
    /// Cross-sectional area of the line conductor, mm².
    pub line_mm2: Decimal,
    /// Circuit protective conductor.
    pub cpc: Cpc,
    /// Length of the run, m, as far as known; for a ring, once round.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_m: Option<Decimal>,
    /// Reference method of installation, as designed (such as `C`).
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub method: String,
    /// Product of the rating factors Ca, Cg, Ci ... as designed, above 0 and at most 1.5; 1 where it is left out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rating_factor: Option<Decimal>,
}
