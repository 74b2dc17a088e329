//! Prospective fault current.

use super::error::CalcError;
use super::input;

/// Prospective fault current, kA: U / Z, of what was measured.
///
/// # Errors
/// `u_v` (0.1 to 100 000) or `z_ohm` (0.0001 to 1 000 000) out of range.
///
/// Source: Ohm's law; IET forums, quoting the model form of Guidance Note 3 (0.3 Ω gives 0.77 kA).
pub fn fault_current_ka(u_v: f64, z_ohm: f64) -> Result<f64, CalcError> {
    Ok(input::VOLT.take("u_v", u_v)? / input::OHM_DIVISOR.take("z_ohm", z_ohm)? / 1000.0)
}

/// Fault current of the design, kA, at the highest or lowest voltage: C × U / Z. Not to be mixed with a measured one.
///
/// # Errors
/// `voltage_factor` (0.01 to 100; Cmax 1.10, Cmin 0.95) or an argument of [`fault_current_ka`] out of range.
///
/// Source: BS EN 60909-0, recalled.
pub fn design_fault_current_ka(
    voltage_factor: f64,
    u_v: f64,
    z_ohm: f64,
) -> Result<f64, CalcError> {
    Ok(input::FACTOR.take("voltage_factor", voltage_factor)? * fault_current_ka(u_v, z_ohm)?)
}

/// Three-phase fault current, kA, from the one between two lines.
///
/// # Errors
/// `ll_ka` (0 to 10 000) or `line_factor` (0.01 to 1; 0.866, half the square root of three) out of range.
///
/// Source: symmetrical fault, the line-to-line current is √3/2 of the three-phase one.
pub fn three_phase_from_line_line_ka(ll_ka: f64, line_factor: f64) -> Result<f64, CalcError> {
    Ok(input::KILOAMP.take("ll_ka", ll_ka)? / input::REDUCTION.take("line_factor", line_factor)?)
}

/// Fault current between two lines, kA, from the three-phase one.
///
/// # Errors
/// `three_phase_ka` (0 to 10 000) or `line_factor` (0.01 to 1) out of range.
///
/// Source: as [`three_phase_from_line_line_ka`].
pub fn line_line_ka(three_phase_ka: f64, line_factor: f64) -> Result<f64, CalcError> {
    let factor = input::REDUCTION.take("line_factor", line_factor)?;
    Ok(input::KILOAMP.take("three_phase_ka", three_phase_ka)? * factor)
}

/// Three-phase fault current, kA, as twice the one from line to neutral. True **only** where the neutral has the
/// impedance of the line. With a neutral of more impedance than the line it comes out too low, which is not the safe
/// side for breaking capacity: measure between lines and use [`three_phase_from_line_line_ka`].
///
/// # Errors
/// `ln_ka` not from 0 to 10 000.
///
/// Source: the loop is Zl + Zn = 2 Zl, the three-phase fault sees Zl alone.
pub fn three_phase_from_line_neutral_ka(ln_ka: f64) -> Result<f64, CalcError> {
    Ok(2.0 * input::KILOAMP.take("ln_ka", ln_ka)?)
}
