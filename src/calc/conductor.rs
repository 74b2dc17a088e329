//! Resistance of conductors from their length.

use super::error::CalcError;
use super::input;

/// Resistance of one conductor, Ω, at the temperature that `mohm_per_m` belongs to.
///
/// # Errors
/// `mohm_per_m` (0.001 to 10 000) or `length_m` (0 to 100 000) out of range.
///
/// Source: resistances of IEC 60228 × length.
pub fn conductor_ohm(mohm_per_m: f64, length_m: f64) -> Result<f64, CalcError> {
    let per_m = input::MOHM_PER_M.take("mohm_per_m", mohm_per_m)?;
    Ok(per_m * input::LENGTH_M.take("length_m", length_m)? / 1000.0)
}

/// R1+R2 of a circuit, Ω: line and protective conductor in series over the same length.
///
/// # Errors
/// `line_mohm_per_m`, `cpc_mohm_per_m` (0.001 to 10 000) or `length_m` (0 to 100 000) out of range.
///
/// Source: resistances of IEC 60228 × length; Locke, Guide to the Wiring Regulations, appendix 4.
pub fn r1r2_ohm(
    line_mohm_per_m: f64,
    cpc_mohm_per_m: f64,
    length_m: f64,
) -> Result<f64, CalcError> {
    let line = input::MOHM_PER_M.take("line_mohm_per_m", line_mohm_per_m)?;
    let cpc = input::MOHM_PER_M.take("cpc_mohm_per_m", cpc_mohm_per_m)?;
    Ok((line + cpc) * input::LENGTH_M.take("length_m", length_m)? / 1000.0)
}

/// Length of a conductor from its resistance, m; of a ring, once round from r1. Both must belong to the same temperature.
///
/// # Errors
/// `ohm` (0 to 1 000 000) or `mohm_per_m` (0.001 to 10 000) out of range.
///
/// Source: [`conductor_ohm`] turned round.
pub fn conductor_length_m(ohm: f64, mohm_per_m: f64) -> Result<f64, CalcError> {
    let milliohm = input::OHM.take("ohm", ohm)? * 1000.0;
    Ok(milliohm / input::MOHM_PER_M.take("mohm_per_m", mohm_per_m)?)
}

/// How far a reading may lie from what the length of its conductor gives.
#[derive(Debug, Clone, Copy)]
pub struct Band {
    /// Share of the expectation to either side, %.
    pub tolerance_pct: f64,
    /// At least so much above it, Ω: contacts and leads only ever add.
    pub floor_ohm: f64,
    /// At least so much below it, Ω: what the instrument's last digits are off.
    pub accuracy_ohm: f64,
    /// Smallest resistance that the instrument shows, Ω.
    pub resolution_ohm: f64,
}

/// Lowest and highest reading, Ω, that agrees with an expectation. What should show at all is not shown as nothing: from
/// half of the resolution up, the lowest is the resolution.
///
/// # Errors
/// `expected_ohm` or an end of the band (0 to 1 000 000), or `tolerance_pct` (0 to 100), out of range.
///
/// Source: common practice; lengths are paced and joints add up, and nothing takes away but the instrument.
pub fn expected_band_ohm(expected_ohm: f64, band: Band) -> Result<(f64, f64), CalcError> {
    let expected = input::OHM.take("expected_ohm", expected_ohm)?;
    let share = expected * input::PERCENT.take("tolerance_pct", band.tolerance_pct)? / 100.0;
    let above = share.max(input::OHM.take("floor_ohm", band.floor_ohm)?);
    let below = share.max(input::OHM.take("accuracy_ohm", band.accuracy_ohm)?);
    let resolution = input::OHM.take("resolution_ohm", band.resolution_ohm)?;
    let least = if expected >= resolution / 2.0 {
        resolution
    } else {
        0.0
    };
    Ok(((expected - below).max(least), expected + above))
}
