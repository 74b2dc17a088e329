//! Resistance of conductors at another temperature. A table's value at 20 °C times the factor is what a reading at `T`
//! should show; a reading divided by it is its value at 20 °C. The two are easily confused.

use super::error::CalcError;
use super::input;

/// Factor from the reference temperature to `temp_c`: 1 + α (T − reference). Below 1 when it is colder.
///
/// # Errors
/// `alpha_per_k` (0 to 0.0045), `temp_c` or `reference_c` (-60 to 150) out of range.
///
/// Source: linear law; α 0.004 per K for copper as in the correction table of IEC 60228.
pub fn temperature_factor(
    alpha_per_k: f64,
    temp_c: f64,
    reference_c: f64,
) -> Result<f64, CalcError> {
    let alpha = input::ALPHA_PER_K.take("alpha_per_k", alpha_per_k)?;
    let warmer =
        input::CELSIUS.take("temp_c", temp_c)? - input::CELSIUS.take("reference_c", reference_c)?;
    Ok(1.0 + alpha * warmer)
}

/// Resistance to be expected at `temp_c`, Ω, from the one at the reference temperature: multiplied by the factor.
///
/// # Errors
/// `ohm` (0 to 1 000 000) or an argument of [`temperature_factor`] out of range.
///
/// Source: [`temperature_factor`].
pub fn ohm_at_temperature(
    ohm: f64,
    alpha_per_k: f64,
    temp_c: f64,
    reference_c: f64,
) -> Result<f64, CalcError> {
    Ok(input::OHM.take("ohm", ohm)? * temperature_factor(alpha_per_k, temp_c, reference_c)?)
}

/// Resistance at the reference temperature, Ω, of a conductor that was read at `temp_c`: divided by the factor.
///
/// # Errors
/// As [`ohm_at_temperature`].
///
/// Source: [`temperature_factor`] turned round.
pub fn ohm_at_reference(
    ohm: f64,
    alpha_per_k: f64,
    temp_c: f64,
    reference_c: f64,
) -> Result<f64, CalcError> {
    Ok(input::OHM.take("ohm", ohm)? / temperature_factor(alpha_per_k, temp_c, reference_c)?)
}

/// Resistance at operating temperature, Ω, from the one at 20 °C. Never together with the factor for cold readings.
///
/// # Errors
/// `ohm_20c` (0 to 1 000 000) or `operating_factor` (0.01 to 100; 1.20 for 70 °C, 1.28 for 90 °C) out of range.
///
/// Source: IET On-Site Guide Table I3, recalled; 1 + 0.004 (T − 20).
pub fn ohm_at_operating(ohm_20c: f64, operating_factor: f64) -> Result<f64, CalcError> {
    let factor = input::FACTOR.take("operating_factor", operating_factor)?;
    Ok(input::OHM.take("ohm_20c", ohm_20c)? * factor)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::temperature_factor;

    #[test]
    fn factor_stays_above_zero_over_the_whole_range() {
        // Derived: 1 - 0.0045 x 210 = 0.055, so nothing is ever divided by zero.
        let least = temperature_factor(0.0045, -60.0, 150.0).unwrap();
        assert!((least - 0.055).abs() < 1e-12, "{least}");
        let error = temperature_factor(0.005, -60.0, 150.0).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`alpha_per_k` is 0.005; it can be from 0 to 0.0045, such as alpha_per_k=0.004"
        );
    }
}
