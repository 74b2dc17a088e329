//! Units of readings and limits. Formatting of units lives here and nowhere else.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::value::is_reason;

/// The unit of a reading or of a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Unit {
    /// Ohm, for continuity, loop impedance and earth electrodes.
    Ohm,
    /// Megohm, for insulation resistance.
    Megohm,
    /// Volt, a.c. or d.c. as the test says.
    Volt,
    /// Ampere.
    Amp,
    /// Milliampere, for residual currents.
    MilliAmp,
    /// Kiloampere, for prospective fault current and breaking capacity.
    KiloAmp,
    /// Millisecond.
    Millisecond,
    /// Second.
    Second,
    /// Degree Celsius.
    Celsius,
    /// Watt per square metre, irradiance in the plane of the array.
    WattPerM2,
    /// Watt.
    Watt,
    /// Kilowatt-hour.
    KilowattHour,
    /// Hertz.
    Hertz,
    /// Hertz per second, rate of change of frequency.
    HertzPerSecond,
    /// Square millimetre, cross-sectional area of a conductor.
    Mm2,
    /// Metre.
    Metre,
    /// Milliohm per metre, resistance of a conductor.
    MilliohmPerMetre,
    /// Millivolt per ampere and metre, tabulated voltage drop.
    MillivoltPerAmpMetre,
    /// Percent.
    Percent,
    /// Per kelvin, a temperature coefficient as a fraction.
    PerKelvin,
    /// A bare number that multiplies another value.
    Factor,
    /// A count of things.
    Count,
    /// Days.
    Day,
    /// Years.
    Year,
    /// No unit: a yes or no, or a text.
    Unitless,
}

impl Unit {
    /// The symbol printed after a value; empty for [`Unit::Unitless`], [`Unit::Count`] and [`Unit::Factor`].
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Ohm => "Ω",
            Unit::Megohm => "MΩ",
            Unit::Volt => "V",
            Unit::Amp => "A",
            Unit::MilliAmp => "mA",
            Unit::KiloAmp => "kA",
            Unit::Millisecond => "ms",
            Unit::Second => "s",
            Unit::Celsius => "°C",
            Unit::WattPerM2 => "W/m²",
            Unit::Watt => "W",
            Unit::KilowattHour => "kWh",
            Unit::Hertz => "Hz",
            Unit::HertzPerSecond => "Hz/s",
            Unit::Mm2 => "mm²",
            Unit::Metre => "m",
            Unit::MilliohmPerMetre => "mΩ/m",
            Unit::MillivoltPerAmpMetre => "mV/A/m",
            Unit::Percent => "%",
            Unit::PerKelvin => "/K",
            Unit::Day => "days",
            Unit::Year => "years",
            Unit::Factor | Unit::Count | Unit::Unitless => "",
        }
    }

    /// `value` followed by the symbol, with a space where there is a symbol.
    pub fn with(self, value: impl fmt::Display) -> String {
        match self.symbol() {
            "" => value.to_string(),
            symbol => format!("{value} {symbol}"),
        }
    }

    /// What was typed for a reading, with the symbol where it is a figure: a reason has no unit.
    pub fn with_typed(self, typed: &str) -> String {
        let typed = typed.trim();
        match is_reason(typed) {
            true => typed.to_string(),
            false => self.with(typed),
        }
    }
}

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol())
    }
}
