//! Change of voltage along cables: drop towards a load, rise towards an inverter. Sub-main, branch and trunk add up.

use super::error::CalcError;
use super::input;

/// Change of voltage, V, by the tabulated millivolts: mV/A/m × I × L. For a three-phase table, between lines.
///
/// # Errors
/// `mv_a_m` (0.001 to 10 000), `i_a` (0 to 1 000 000) or `length_m` (0 to 100 000) out of range.
///
/// Source: BS 7671 Appendix 4, recalled.
pub fn voltage_change_v(mv_a_m: f64, i_a: f64, length_m: f64) -> Result<f64, CalcError> {
    let per_a_m = input::MV_PER_A_M.take("mv_a_m", mv_a_m)? / 1000.0;
    Ok(per_a_m * input::AMP.take("i_a", i_a)? * input::LENGTH_M.take("length_m", length_m)?)
}

/// Of one line to neutral, from the tabulated millivolts between lines, where the currents balance: divided by √3, which is
/// twice the `line_factor`.
///
/// # Errors
/// `mv_a_m` (0.001 to 10 000) or `line_factor` (0.01 to 1; half the square root of three) out of range.
///
/// Source: three-phase voltages.
pub fn per_line(mv_a_m: f64, line_factor: f64) -> Result<f64, CalcError> {
    let half = input::REDUCTION.take("line_factor", line_factor)?;
    Ok(input::MV_PER_A_M.take("mv_a_m", mv_a_m)? / (2.0 * half))
}

/// Change of voltage of a single-phase circuit, V, by the resistance of one conductor at its temperature: 2 r I L.
///
/// # Errors
/// `mohm_per_m` (0.001 to 10 000), `i_a` (0 to 1 000 000) or `length_m` (0 to 100 000) out of range.
///
/// Source: Ohm's law over both conductors; small cables, reactance left out.
pub fn voltage_change_by_resistance_v(
    mohm_per_m: f64,
    i_a: f64,
    length_m: f64,
) -> Result<f64, CalcError> {
    let both = 2.0 * input::MOHM_PER_M.take("mohm_per_m", mohm_per_m)? / 1000.0;
    Ok(both * input::AMP.take("i_a", i_a)? * input::LENGTH_M.take("length_m", length_m)?)
}

/// Rise at the far end of a trunk, V, with `n` inverters spaced evenly, the first one `spacing_m` from the feed:
/// I d n (n + 1) / 2 × 2 r. The piece next to the feed carries all of them, the last piece one.
///
/// # Errors
/// `n` (1 to 1000), `i_a` of one inverter (0 to 1 000 000), `spacing_m` (0 to 100 000) or `mohm_per_m` of one conductor
/// at its temperature (0.001 to 10 000) out of range.
///
/// Source: sum of the pieces.
pub fn trunk_rise_v(n: u32, i_a: f64, spacing_m: f64, mohm_per_m: f64) -> Result<f64, CalcError> {
    let n = input::COUNT.take_count("n", n)?;
    let spacing = input::LENGTH_M.take("spacing_m", spacing_m)?;
    Ok(voltage_change_by_resistance_v(mohm_per_m, i_a, spacing)? * n * (n + 1.0) / 2.0)
}

/// `v` in percent of `u_v`.
///
/// # Errors
/// `v` (0 to 100 000) or `u_v` (0.1 to 100 000) out of range.
///
/// Source: definition.
pub fn percent_of(v: f64, u_v: f64) -> Result<f64, CalcError> {
    Ok(input::VOLT_OR_ZERO.take("v", v)? / input::VOLT.take("u_v", u_v)? * 100.0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{trunk_rise_v, voltage_change_by_resistance_v};

    #[test]
    fn trunk_is_the_sum_of_its_pieces() {
        // Derived: each piece taken alone, with the current of all inverters beyond it.
        let pieces: f64 = (1..=7)
            .map(|beyond| {
                voltage_change_by_resistance_v(8.892, 1.6 * f64::from(beyond), 1.8).unwrap()
            })
            .sum();
        assert!((trunk_rise_v(7, 1.6, 1.8, 8.892).unwrap() - pieces).abs() < 1e-12);
        assert_eq!(trunk_rise_v(0, 1.6, 1.8, 8.892).unwrap_err().key(), "n");
    }
}
