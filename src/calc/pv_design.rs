//! Highest values of a string, for the choice of inverter, fuses and insulation test.

use super::error::CalcError;
use super::input;

/// Highest open-circuit voltage of a string, V, on the coldest day: n Voc (1 + β (Tmin − Tref)).
///
/// # Errors
/// `voc_v` (0.1 to 100 000), `modules` (1 to 1000), `beta_pct_k` (-0.45 to 0.45), `tmin_c` or `reference_c` (-60 to
/// 150) out of range.
///
/// Source: BS 7671 section 712, recalled.
pub fn voc_max_v(
    voc_v: f64,
    modules: u32,
    beta_pct_k: f64,
    tmin_c: f64,
    reference_c: f64,
) -> Result<f64, CalcError> {
    let beta = input::COEFFICIENT_PCT_K.take("beta_pct_k", beta_pct_k)? / 100.0;
    let colder =
        input::CELSIUS.take("tmin_c", tmin_c)? - input::CELSIUS.take("reference_c", reference_c)?;
    Ok(string_v(voc_v, modules)? * (1.0 + beta * colder))
}

/// Highest open-circuit voltage of a string, V, where the coefficient is not known: n Voc × `factor`.
///
/// # Errors
/// `voc_v` (0.1 to 100 000), `modules` (1 to 1000) or `factor` (0.01 to 100; 1.2) out of range.
///
/// Source: BS 7671 section 712, recalled.
pub fn voc_max_by_factor_v(voc_v: f64, modules: u32, factor: f64) -> Result<f64, CalcError> {
    Ok(string_v(voc_v, modules)? * input::FACTOR.take("factor", factor)?)
}

/// Voltage at maximum power of a string at another temperature of the cells, V: n (Vmp + β Voc (T − Tref)). A volt per
/// kelvin at maximum power is about that of the open circuit.
///
/// # Errors
/// `vmp_v` or `voc_v` (0.1 to 100 000), `modules` (1 to 1000), `beta_pct_k` (-0.45 to 0.45), `temp_c` or `reference_c`
/// (-60 to 150) out of range.
///
/// Source: single-diode model, to a few percent.
pub fn vmp_at_v(
    vmp_v: f64,
    voc_v: f64,
    modules: u32,
    beta_pct_k: f64,
    temp_c: f64,
    reference_c: f64,
) -> Result<f64, CalcError> {
    let at_reference =
        input::VOLT.take("vmp_v", vmp_v)? * input::COUNT.take_count("modules", modules)?;
    let warmer =
        voc_max_v(voc_v, modules, beta_pct_k, temp_c, reference_c)? - string_v(voc_v, modules)?;
    // Far from the reference the line goes below zero; a string does not.
    Ok((at_reference + warmer).max(0.0))
}

/// Insulation that a string of sound modules has at least, MΩ: `product_mohm_m2` / (n × area).
///
/// # Errors
/// `product_mohm_m2` or `area_m2` (0.1 to 10 000), or `modules` (1 to 1000) out of range.
///
/// Source: IEC 61215-2 MQT 03, recalled: 40 MΩ·m².
pub fn module_insulation_mohm(
    product_mohm_m2: f64,
    area_m2: f64,
    modules: u32,
) -> Result<f64, CalcError> {
    let product = input::MOHM_M2.take("product_mohm_m2", product_mohm_m2)?;
    let area = input::MODULE_M2.take("area_m2", area_m2)?;
    Ok(product / (area * input::COUNT.take_count("modules", modules)?))
}

/// Voltage that the insulation test is chosen by, V: n Voc × `factor`, and **not** Voc alone. Choose with
/// [`pv_insulation_band`](super::pv_insulation_band).
///
/// # Errors
/// `voc_v` (0.1 to 100 000), `modules` (1 to 1000) or `factor` (0.01 to 100; 1.25) out of range.
///
/// Source: IEC 62446-1 6.7, recalled.
pub fn system_voltage_v(voc_v: f64, modules: u32, factor: f64) -> Result<f64, CalcError> {
    Ok(input::to_millionth(voc_max_by_factor_v(
        voc_v, modules, factor,
    )?))
}

/// Highest short-circuit current of a string, A: Isc × `factor`.
///
/// # Errors
/// `isc_a` (0 to 1 000 000) or `factor` (0.01 to 100; 1.25) out of range.
///
/// Source: BS 7671 section 712, recalled.
pub fn isc_max_a(isc_a: f64, factor: f64) -> Result<f64, CalcError> {
    Ok(input::AMP.take("isc_a", isc_a)? * input::FACTOR.take("factor", factor)?)
}

/// Whether strings in parallel need fuses: what the others can feed into one that is shorted, (Np − 1) × Isc,max, is
/// more than its modules may carry.
///
/// # Errors
/// `strings` (1 to 1000), `isc_max_a` (0 to 1 000 000) or `max_fuse_a` (0.1 to 100 000) out of range.
///
/// Source: BS 7671 712.433, recalled.
pub fn string_fuse_needed(
    strings: u32,
    isc_max_a: f64,
    max_fuse_a: f64,
) -> Result<bool, CalcError> {
    let others = input::COUNT.take_count("strings", strings)? - 1.0;
    let fed_back = others * input::AMP.take("isc_max_a", isc_max_a)?;
    Ok(input::to_millionth(fed_back) > input::RATING_A.take("max_fuse_a", max_fuse_a)?)
}

/// Between what ratings a string fuse may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FuseBounds {
    /// Least rating, A.
    pub min_a: f64,
    /// Highest rating, A.
    pub max_a: f64,
}

impl FuseBounds {
    /// Whether `rating_a` lies between them, ends included.
    pub fn allow(&self, rating_a: f64) -> bool {
        rating_a >= self.min_a && rating_a <= self.max_a
    }
}

/// Bounds of a string fuse, A: from `factor` × Isc,max to the highest series fuse of the module. Where the first is the
/// larger, no fuse fits.
///
/// # Errors
/// `isc_max_a` (0 to 1 000 000), `factor` (0.01 to 100; 1.1) or `max_fuse_a` (0.1 to 100 000) out of range.
///
/// Source: HD 60364-7-712, 712.433, recalled.
pub fn string_fuse_bounds_a(
    isc_max_a: f64,
    factor: f64,
    max_fuse_a: f64,
) -> Result<FuseBounds, CalcError> {
    let least = input::AMP.take("isc_max_a", isc_max_a)? * input::FACTOR.take("factor", factor)?;
    Ok(FuseBounds {
        min_a: input::to_millionth(least),
        max_a: input::RATING_A.take("max_fuse_a", max_fuse_a)?,
    })
}

fn string_v(voc_v: f64, modules: u32) -> Result<f64, CalcError> {
    Ok(input::VOLT.take("voc_v", voc_v)? * input::COUNT.take_count("modules", modules)?)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{FuseBounds, string_fuse_bounds_a, string_fuse_needed};

    #[test]
    fn fuses_from_the_string_that_is_one_too_many() {
        // Derived: (Np - 1) x 12.5 A against a 25 A fuse: equal at three strings, above at four.
        for (strings, needed) in [(1, false), (2, false), (3, false), (4, true)] {
            assert_eq!(
                string_fuse_needed(strings, 12.5, 25.0).unwrap(),
                needed,
                "{strings}"
            );
        }
        assert_eq!(
            string_fuse_needed(0, 12.5, 25.0).unwrap_err().key(),
            "strings"
        );
    }

    #[test]
    fn bounds_are_taken_with_their_ends() {
        // Derived: 1.1 x 1.25 x 13.9 A = 19.1125 A, with a 25 A module: 20 and 25 A serve.
        let bounds = string_fuse_bounds_a(17.375, 1.1, 25.0).unwrap();
        assert_eq!(
            bounds,
            FuseBounds {
                min_a: 19.1125,
                max_a: 25.0
            }
        );
        for (rating, fits) in [
            (16.0, false),
            (19.1125, true),
            (20.0, true),
            (25.0, true),
            (32.0, false),
        ] {
            assert_eq!(bounds.allow(rating), fits, "{rating}");
        }
        let none = string_fuse_bounds_a(17.375, 1.1, 15.0).unwrap();
        assert!(!none.allow(15.0) && !none.allow(20.0));
    }
}
