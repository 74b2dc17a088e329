//! Earth fault loop impedance and its limits.

use rust_decimal::{Decimal, RoundingStrategy};

use super::error::CalcError;
use super::input;

/// Current Ia that makes a circuit-breaker trip at once, A: `multiple` of its rating.
///
/// # Errors
/// `multiple` (0.01 to 100; 5, 10, 20 for Types B, C, D) or `rating_a` (0.1 to 100 000) out of range.
///
/// Source: BS EN 60898, upper end of the instantaneous trip.
pub fn operating_current_a(multiple: f64, rating_a: f64) -> Result<f64, CalcError> {
    Ok(input::FACTOR.take("multiple", multiple)? * input::RATING_A.take("rating_a", rating_a)?)
}

/// Highest Zs at operating temperature, Ω, so that Ia flows at the lowest voltage: Cmin × U0 / Ia.
///
/// # Errors
/// `u0_v` (0.1 to 100 000), `cmin` (0.01 to 1) or `ia_a` (0.1 to 100 000) out of range.
///
/// Source: BS 7671 regulation 411.4.4.
pub fn zs_max_ohm(u0_v: f64, cmin: f64, ia_a: f64) -> Result<f64, CalcError> {
    let volts = input::VOLT.take("u0_v", u0_v)? * input::REDUCTION.take("cmin", cmin)?;
    Ok(volts / input::RATING_A.take("ia_a", ia_a)?)
}

/// Limit for a Zs that is read with conductors cold, Ω: the table's value × `site_factor`, rounded **down** to 0.01.
///
/// In decimals, because a product such as 0.8 × 1.75 must be 1.40 and not a little less. Not for the limit of an RCD,
/// and never together with a factor for operating temperature. A table value so small that nothing is left gives 0.
///
/// # Errors
/// `table_ohm` not from 0 to 1 000 000, or `site_factor` not from 0.01 to 1.
///
/// Source: NICEIC Connections, Spring 2015, page 61 (0.91 Ω gives 0.72 Ω).
pub fn site_limit_ohm(table_ohm: Decimal, site_factor: Decimal) -> Result<Decimal, CalcError> {
    let table = decimal_in(
        "table_ohm",
        table_ohm,
        Decimal::ZERO,
        Decimal::from(1_000_000),
        1.37,
    )?;
    let factor = decimal_in(
        "site_factor",
        site_factor,
        Decimal::new(1, 2),
        Decimal::ONE,
        0.8,
    )?;
    // Six places each keep the product exact, and dropping digits only makes it smaller.
    let down =
        |value: Decimal, places| value.round_dp_with_strategy(places, RoundingStrategy::ToZero);
    Ok(down(down(table, 6) * down(factor, 6), 2))
}

/// Loop impedance at the end of a circuit, Ω: what is outside plus line and protective conductor.
///
/// Simple sum: a reading may be lower, as parallel paths through bonded metal help.
///
/// # Errors
/// `ze_ohm` or `r1r2_ohm` not from 0 to 1 000 000.
///
/// Source: Zs = Ze + (R1 + R2), BS 7671 Appendix 14, recalled.
pub fn zs_ohm(ze_ohm: f64, r1r2_ohm: f64) -> Result<f64, CalcError> {
    Ok(input::OHM.take("ze_ohm", ze_ohm)? + input::OHM.take("r1r2_ohm", r1r2_ohm)?)
}

fn decimal_in(
    key: &'static str,
    value: Decimal,
    low: Decimal,
    high: Decimal,
    example: f64,
) -> Result<Decimal, CalcError> {
    use rust_decimal::prelude::ToPrimitive;
    if value >= low && value <= high {
        return Ok(value);
    }
    let number = |d: Decimal| d.to_f64().unwrap_or(f64::NAN);
    Err(CalcError::OutOfRange {
        key,
        value: number(value),
        low: number(low),
        high: number(high),
        example,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::site_limit_ohm;
    use rust_decimal::Decimal;

    #[test]
    fn site_limit_is_exact_and_rounded_down() {
        // Derived: 0.8 x BS 7671 Table 41.3 (recalled), rounded down.
        let rows = [
            ("1.37", "1.09"),
            ("4.37", "3.49"),
            ("1.75", "1.40"),
            ("2.19", "1.75"),
            ("0.01", "0.00"),
        ];
        for (table, site) in rows {
            let got = site_limit_ohm(table.parse().unwrap(), "0.8".parse().unwrap()).unwrap();
            assert_eq!(got, site.parse::<Decimal>().unwrap(), "{table}");
        }
    }

    #[test]
    fn site_limit_refuses_a_factor_that_raises_and_a_table_below_zero() {
        let error = site_limit_ohm(Decimal::ONE, Decimal::new(101, 2)).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`site_factor` is 1.01; it can be from 0.01 to 1, such as site_factor=0.8"
        );
        assert_eq!(
            site_limit_ohm(Decimal::NEGATIVE_ONE, Decimal::ONE)
                .unwrap_err()
                .key(),
            "table_ohm"
        );
        assert_eq!(
            site_limit_ohm(Decimal::MAX, Decimal::ONE)
                .unwrap_err()
                .key(),
            "table_ohm"
        );
    }
}
