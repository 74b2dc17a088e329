//! People and instruments of a job.

use std::collections::BTreeMap;
use std::fmt;

use chrono::NaiveDate;
use rust_decimal::Decimal;
use serde::de::{MapAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize};

use super::test::Test;

/// What a person may do on this job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Role {
    /// Competent to test, decide and sign.
    Qualified,
    /// Learns and enters readings; does not sign.
    Apprentice,
}

impl Role {
    /// Word for the screen and the paper.
    pub fn name(self) -> &'static str {
        match self {
            Role::Qualified => "qualified",
            Role::Apprentice => "apprentice",
        }
    }
}

/// Somebody who enters readings or signs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Person {
    /// Short id, such as initials.
    pub id: String,
    /// Full name as it is signed.
    pub name: String,
    /// What they may do.
    pub role: Role,
    /// Firm or registration, as it should be printed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub firm: String,
    /// Postal address of the firm; empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub address: String,
    /// Registration of the firm with a scheme, and its number, where it isn't in `firm`.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub registration: String,
    /// Telephone number that the customer may call; empty where it isn't recorded.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub phone: String,
}

impl Person {
    /// The name; the id while nobody has given the name.
    pub fn called(&self) -> &str {
        if self.name.trim().is_empty() {
            &self.id
        } else {
            &self.name
        }
    }
}

/// What an instrument can measure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Function {
    /// Low resistance.
    Continuity,
    /// Insulation resistance of the a.c. side.
    Insulation,
    /// Earth fault loop impedance.
    Loop,
    /// Prospective fault current.
    FaultCurrent,
    /// RCD operating time.
    Rcd,
    /// Earth electrode resistance.
    Electrode,
    /// Direct voltage.
    DcVoltage,
    /// Direct current.
    DcCurrent,
    /// Alternating current, by a clamp.
    AcCurrent,
    /// Insulation resistance of a PV array.
    PvInsulation,
    /// Irradiance.
    Irradiance,
    /// Temperature.
    Temperature,
}

impl Function {
    /// Key in the limit files, such as `fault-current`.
    pub fn key(self) -> &'static str {
        match self {
            Function::Continuity => "continuity",
            Function::Insulation => "insulation",
            Function::Loop => "loop",
            Function::FaultCurrent => "fault-current",
            Function::Rcd => "rcd",
            Function::Electrode => "electrode",
            Function::DcVoltage => "dc-voltage",
            Function::DcCurrent => "dc-current",
            Function::AcCurrent => "ac-current",
            Function::PvInsulation => "pv-insulation",
            Function::Irradiance => "irradiance",
            Function::Temperature => "temperature",
        }
    }

    /// The function that takes a reading of `test`, if an instrument does.
    pub fn of(test: Test) -> Option<Function> {
        Some(match test {
            Test::Continuity | Test::R1 | Test::Rn | Test::R2 | Test::RingLn | Test::R1r2 => {
                Function::Continuity
            }
            Test::IrLl | Test::IrLe => Function::Insulation,
            Test::Ze | Test::Zdb | Test::Zs => Function::Loop,
            Test::PfcLn | Test::PfcLe | Test::PfcLl | Test::Pfc => Function::FaultCurrent,
            Test::RcdTime | Test::RcdHalf | Test::RcdFive => Function::Rcd,
            Test::Ra => Function::Electrode,
            Test::Voc | Test::DcVoltage => Function::DcVoltage,
            Test::Isc => Function::DcCurrent,
            Test::ExportPeak => Function::AcCurrent,
            Test::IrPos | Test::IrNeg | Test::IrJoined => Function::PvInsulation,
            Test::Irradiance => Function::Irradiance,
            Test::CellTemp => Function::Temperature,
            _ => return None,
        })
    }
}

/// A test instrument.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Instrument {
    /// Short id.
    pub id: String,
    /// Kind, such as `multifunction tester`.
    pub kind: String,
    /// Maker and model as typed.
    pub make: String,
    /// Serial number.
    pub serial: String,
    /// Day of the last calibration.
    pub calibrated: NaiveDate,
    /// Day until which that calibration counts.
    pub due: NaiveDate,
    /// What it measures.
    pub functions: Vec<Function>,
    /// Whether the resistance of the test leads is nulled or subtracted.
    pub leads_nulled: bool,
    /// Operating uncertainty in percent of the reading, by function; where it is missing the limit files' value counts.
    #[serde(
        default,
        skip_serializing_if = "BTreeMap::is_empty",
        deserialize_with = "each_once"
    )]
    pub uncertainty_pct: BTreeMap<Function, Decimal>,
}

/// Refuses a function that is given twice, which a plain map would silently take last.
fn each_once<'de, D: Deserializer<'de>>(
    deserializer: D,
) -> Result<BTreeMap<Function, Decimal>, D::Error> {
    struct Strict;
    impl<'de> Visitor<'de> for Strict {
        type Value = BTreeMap<Function, Decimal>;

        fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
            f.write_str("a map from function to percent, such as {Loop: \"5\"}")
        }

        fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
            let mut out = BTreeMap::new();
            while let Some(function) = map.next_key::<Function>()? {
                if out.insert(function, map.next_value()?).is_some() {
                    return Err(serde::de::Error::custom(format!(
                        "function `{function:?}` is given twice: keep one"
                    )));
                }
            }
            Ok(out)
        }
    }
    deserializer.deserialize_map(Strict)
}
