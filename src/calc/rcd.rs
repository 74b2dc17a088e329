//! Fault protection by a residual current device.

use super::error::CalcError;
use super::input;

/// Highest RA or Zs where an RCD is the fault protection, Ω: touch voltage / IΔn. The factor for cold readings is not
/// applied to it.
///
/// Not rounded. Tables round to the ohm (1666.7 as 1667).
///
/// # Errors
/// `touch_voltage_v` (0.1 to 100 000; 50 in the limit files) or `idn_ma` (0.1 to 100 000) out of range.
///
/// Source: RA × IΔn ≤ 50 V, BS 7671 regulation 411.5.3, recalled; table in an instrument manual.
pub fn rcd_zs_max_ohm(touch_voltage_v: f64, idn_ma: f64) -> Result<f64, CalcError> {
    let volts = input::VOLT.take("touch_voltage_v", touch_voltage_v)?;
    Ok(volts * 1000.0 / input::IDN_MA.take("idn_ma", idn_ma)?)
}

/// Touch voltage while the rated residual current flows to earth, V: RA × IΔn.
///
/// # Errors
/// `ra_ohm` (0 to 1 000 000) or `idn_ma` (0.1 to 100 000) out of range.
///
/// Source: as [`rcd_zs_max_ohm`].
pub fn touch_voltage_v(ra_ohm: f64, idn_ma: f64) -> Result<f64, CalcError> {
    Ok(input::OHM.take("ra_ohm", ra_ohm)? * input::IDN_MA.take("idn_ma", idn_ma)? / 1000.0)
}
