//! Which insulation test a voltage asks for. The voltages and least values themselves are in the limit files, under the
//! key of the band.

use super::error::CalcError;
use super::input;

/// Band of an a.c. circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InsulationBand {
    /// SELV or PELV, up to and including the edge of extra-low voltage.
    ExtraLowVoltage,
    /// Up to and including 500 V, and FELV whatever its voltage.
    UpTo500,
    /// Above 500 V.
    Above500,
}

impl InsulationBand {
    /// Its name in the limit files, as in `ir/up-to-500/test`.
    pub fn key(self) -> &'static str {
        match self {
            InsulationBand::ExtraLowVoltage => "extra-low-voltage",
            InsulationBand::UpTo500 => "up-to-500",
            InsulationBand::Above500 => "above-500",
        }
    }
}

/// Band of a circuit by its nominal voltage, both edges included in the lower band.
///
/// Voltage alone can't tell SELV and PELV from FELV; a caller that knows it is FELV takes
/// [`InsulationBand::UpTo500`] without asking.
///
/// # Errors
/// A voltage not from 0.1 to 100 000, or `extra_low_edge_v` not below `low_voltage_edge_v`.
///
/// Source: BS 7671 Table 64, recalled.
pub fn insulation_band(
    nominal_v: f64,
    extra_low_edge_v: f64,
    low_voltage_edge_v: f64,
) -> Result<InsulationBand, CalcError> {
    let nominal = input::VOLT.take("nominal_v", nominal_v)?;
    let extra_low = input::VOLT.take("extra_low_edge_v", extra_low_edge_v)?;
    let low = input::VOLT.take("low_voltage_edge_v", low_voltage_edge_v)?;
    input::in_order(("extra_low_edge_v", extra_low), ("low_voltage_edge_v", low))?;
    Ok(if nominal <= extra_low {
        InsulationBand::ExtraLowVoltage
    } else if nominal <= low {
        InsulationBand::UpTo500
    } else {
        InsulationBand::Above500
    })
}

/// Band of a PV string.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PvInsulationBand {
    /// Below the first edge (120 V).
    One,
    /// From the first edge to the second (500 V), both included.
    Two,
    /// Above the second edge to the third (1000 V), that one included.
    Three,
    /// Above the third edge.
    Four,
}

impl PvInsulationBand {
    /// Its name in the limit files, as in `pv-ir/2/test`.
    pub fn key(self) -> &'static str {
        match self {
            PvInsulationBand::One => "1",
            PvInsulationBand::Two => "2",
            PvInsulationBand::Three => "3",
            PvInsulationBand::Four => "4",
        }
    }
}

/// Band of a string by its [`system_voltage_v`](super::system_voltage_v). The first edge belongs to the band above it,
/// the second and the third to the band below.
///
/// # Errors
/// A voltage not from 0.1 to 100 000, or edges that don't rise.
///
/// Source: table of IEC 62446-1 6.7, recalled.
pub fn pv_insulation_band(
    system_v: f64,
    edge_1_v: f64,
    edge_2_v: f64,
    edge_3_v: f64,
) -> Result<PvInsulationBand, CalcError> {
    let system = input::to_millionth(input::VOLT.take("system_v", system_v)?);
    let first = input::VOLT.take("edge_1_v", edge_1_v)?;
    let second = input::VOLT.take("edge_2_v", edge_2_v)?;
    let third = input::VOLT.take("edge_3_v", edge_3_v)?;
    input::in_order(("edge_1_v", first), ("edge_2_v", second))?;
    input::in_order(("edge_2_v", second), ("edge_3_v", third))?;
    Ok(if system < first {
        PvInsulationBand::One
    } else if system <= second {
        PvInsulationBand::Two
    } else if system <= third {
        PvInsulationBand::Three
    } else {
        PvInsulationBand::Four
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{insulation_band, pv_insulation_band};

    #[test]
    fn circuits_just_under_at_and_over_each_edge() {
        // Memory: BS 7671 Table 64 and the definition of extra-low voltage.
        let rows = [
            (12.0, "extra-low-voltage"),
            (50.0, "extra-low-voltage"),
            (50.1, "up-to-500"),
            (230.0, "up-to-500"),
            (500.0, "up-to-500"),
            (500.1, "above-500"),
        ];
        for (volts, band) in rows {
            assert_eq!(
                insulation_band(volts, 50.0, 500.0).unwrap().key(),
                band,
                "{volts}"
            );
        }
        assert_eq!(
            insulation_band(230.0, 500.0, 50.0).unwrap_err().key(),
            "low_voltage_edge_v"
        );
        assert_eq!(
            insulation_band(0.0, 50.0, 500.0).unwrap_err().key(),
            "nominal_v"
        );
    }

    #[test]
    fn strings_just_under_at_and_over_each_edge() {
        // Memory: IEC 62446-1 6.7: < 120, 120 to 500, > 500 to 1000, > 1000.
        let rows = [
            (119.99, "1"),
            // A binary fraction off the edge is the edge.
            (120.0 - 2e-14, "2"),
            (500.0 + 6e-14, "2"),
            (120.0, "2"),
            (499.99, "2"),
            (500.0, "2"),
            (500.01, "3"),
            (1000.0, "3"),
            (1000.01, "4"),
        ];
        for (volts, band) in rows {
            assert_eq!(
                pv_insulation_band(volts, 120.0, 500.0, 1000.0)
                    .unwrap()
                    .key(),
                band,
                "{volts}"
            );
        }
        assert_eq!(
            pv_insulation_band(400.0, 120.0, 1000.0, 500.0)
                .unwrap_err()
                .key(),
            "edge_3_v"
        );
        assert_eq!(
            pv_insulation_band(400.0, 500.0, 120.0, 1000.0)
                .unwrap_err()
                .key(),
            "edge_2_v"
        );
    }
}
