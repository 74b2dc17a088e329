//! Ring final circuits: what the cross-connected readings should be, and what the end-to-end readings tell.
//! The length of cable round the ring is [`conductor_length_m`](super::conductor_length_m) of r1.

use super::error::CalcError;
use super::input;

/// Reading at each socket-outlet, line to neutral, with line and neutral cross-connected, Ω: (r1 + rn) / 4.
///
/// # Errors
/// `r1_ohm` or `rn_ohm` not from 0 to 1 000 000. An open ring has no number and is for the caller to find.
///
/// Source: Basic Electrical Installation Work, page 365.
pub fn ring_ln_ohm(r1_ohm: f64, rn_ohm: f64) -> Result<f64, CalcError> {
    Ok((input::OHM.take("r1_ohm", r1_ohm)? + input::OHM.take("rn_ohm", rn_ohm)?) / 4.0)
}

/// R1+R2 of the ring, Ω, read with line and protective conductor cross-connected: (r1 + r2) / 4.
///
/// # Errors
/// `r1_ohm` or `r2_ohm` not from 0 to 1 000 000.
///
/// Source: Basic Electrical Installation Work, page 365.
pub fn ring_r1r2_ohm(r1_ohm: f64, r2_ohm: f64) -> Result<f64, CalcError> {
    Ok((input::OHM.take("r1_ohm", r1_ohm)? + input::OHM.take("r2_ohm", r2_ohm)?) / 4.0)
}

/// How far line and neutral lie apart, Ω; they should be nearly equal. Without the dust of binary fractions, so that
/// 0.52 and 0.57 are 0.05 apart and not more.
///
/// # Errors
/// `r1_ohm` or `rn_ohm` not from 0 to 1 000 000.
///
/// Source: Basic Electrical Installation Work, page 365.
pub fn ring_difference_ohm(r1_ohm: f64, rn_ohm: f64) -> Result<f64, CalcError> {
    let apart = input::OHM.take("r1_ohm", r1_ohm)? - input::OHM.take("rn_ohm", rn_ohm)?;
    Ok(input::to_millionth(apart.abs()))
}

/// r2 / r1: above 1 where the protective conductor is thinner than the line.
///
/// # Errors
/// `r1_ohm` (0.0001 to 1 000 000) or `r2_ohm` (0 to 1 000 000) out of range.
///
/// Source: Basic Electrical Installation Work, page 365.
pub fn ring_cpc_ratio(r1_ohm: f64, r2_ohm: f64) -> Result<f64, CalcError> {
    Ok(input::OHM.take("r2_ohm", r2_ohm)? / input::OHM_DIVISOR.take("r1_ohm", r1_ohm)?)
}

/// r2 to be expected, Ω: r1 × the ratio of the two conductors.
///
/// # Errors
/// `r1_ohm` (0 to 1 000 000) or `ratio` (0.01 to 100; 1.67 for 2.5/1.5 mm²) out of range.
///
/// Source: ratio of the areas; 1.63 by the resistances of IEC 60228.
pub fn ring_cpc_expected_ohm(r1_ohm: f64, ratio: f64) -> Result<f64, CalcError> {
    Ok(input::OHM.take("r1_ohm", r1_ohm)? * input::FACTOR.take("ratio", ratio)?)
}
