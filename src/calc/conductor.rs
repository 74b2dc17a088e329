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

/// Lowest and highest reading, Ω, that agrees with an expectation: `tolerance_pct` of it to either side, but never less
/// than `floor_ohm`, and never below zero.
///
/// # Errors
/// `expected_ohm`, `floor_ohm` (0 to 1 000 000) or `tolerance_pct` (0 to 100) out of range.
///
/// Source: common practice; lengths are paced and joints add up.
pub fn expected_band_ohm(
    expected_ohm: f64,
    tolerance_pct: f64,
    floor_ohm: f64,
) -> Result<(f64, f64), CalcError> {
    let expected = input::OHM.take("expected_ohm", expected_ohm)?;
    let share = expected * input::PERCENT.take("tolerance_pct", tolerance_pct)? / 100.0;
    let away = share.max(input::OHM.take("floor_ohm", floor_ohm)?);
    Ok(((expected - away).max(0.0), expected + away))
}
