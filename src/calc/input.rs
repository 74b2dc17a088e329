//! What numbers a formula takes: one row per quantity. The ranges refuse slips of the finger and keep every result
//! finite; they are not limits of a test.

use super::error::CalcError;

/// Range of a kind of input, both ends included.
#[derive(Debug, Clone, Copy)]
pub(super) struct Input {
    low: f64,
    high: f64,
    example: f64,
}

const fn input(low: f64, high: f64, example: f64) -> Input {
    Input { low, high, example }
}

/// Resistance or impedance that is part of a sum, Ω: may be zero.
pub(super) const OHM: Input = input(0.0, 1e6, 0.35);
/// Resistance or impedance that is divided by, Ω.
pub(super) const OHM_DIVISOR: Input = input(1e-4, 1e6, 0.35);
/// Insulation resistance or any other in a parallel sum, in the unit of the caller.
pub(super) const PARALLEL: Input = input(0.0, 1e9, 200.0);
/// Resistance of a conductor, mΩ/m.
pub(super) const MOHM_PER_M: Input = input(1e-3, 1e4, 7.41);
/// Tabulated voltage drop, mV/A/m.
pub(super) const MV_PER_A_M: Input = input(1e-3, 1e4, 11.0);
/// Length, m.
pub(super) const LENGTH_M: Input = input(0.0, 1e5, 22.0);
/// Current that may be zero, A.
pub(super) const AMP: Input = input(0.0, 1e6, 16.0);
/// Rating or current that can't be zero, A.
pub(super) const RATING_A: Input = input(0.1, 1e5, 32.0);
/// Prospective fault current, kA.
pub(super) const KILOAMP: Input = input(0.0, 1e4, 1.2);
/// Rated residual current, mA.
pub(super) const IDN_MA: Input = input(0.1, 1e5, 30.0);
/// Voltage of a supply or a circuit, V.
pub(super) const VOLT: Input = input(0.1, 1e5, 230.0);
/// Voltage that may be zero, such as a drop, V.
pub(super) const VOLT_OR_ZERO: Input = input(0.0, 1e5, 2.3);
/// Factor that multiplies, without unit.
pub(super) const FACTOR: Input = input(0.01, 100.0, 1.2);
/// Factor that makes less, without unit.
pub(super) const REDUCTION: Input = input(0.01, 1.0, 0.8);
/// Percentage that widens an expectation.
pub(super) const PERCENT: Input = input(0.0, 100.0, 30.0);
/// Temperature of a conductor, a cell or the air, °C.
pub(super) const CELSIUS: Input = input(-60.0, 150.0, 20.0);
/// Temperature coefficient of resistance, per K: small enough for a factor above zero from -60 to 150 °C.
pub(super) const ALPHA_PER_K: Input = input(0.0, 0.0045, 0.004);
/// Temperature coefficient of a module, % per K.
pub(super) const COEFFICIENT_PCT_K: Input = input(-0.45, 0.45, -0.26);
/// Irradiance, W/m²: under 20 the diode model says nothing of use.
pub(super) const IRRADIANCE: Input = input(20.0, 2000.0, 800.0);
/// Time, s: up to 5, as the adiabatic equation holds.
pub(super) const ADIABATIC_S: Input = input(1e-3, 5.0, 0.1);
/// Let-through energy, A²s.
pub(super) const ENERGY_A2S: Input = input(1.0, 1e12, 40_000.0);
/// k of a conductor, A·s½/mm².
pub(super) const K_FACTOR: Input = input(1.0, 1000.0, 115.0);
/// Cross-sectional area, mm².
pub(super) const MM2: Input = input(0.1, 10_000.0, 16.0);
/// Insulation resistance times area of a module, MΩ·m².
pub(super) const MOHM_M2: Input = input(0.1, 10_000.0, 40.0);
/// Area of a module, m².
pub(super) const MODULE_M2: Input = input(0.1, 10_000.0, 1.95);
/// Power with its sign, W.
pub(super) const WATT: Input = input(-1e9, 1e9, 3600.0);
/// Power that is no more than a tolerance, W.
pub(super) const FLOOR_W: Input = input(0.0, 1e9, 50.0);
/// Power that is divided by, W.
pub(super) const MEDIAN_W: Input = input(1e-3, 1e9, 400.0);
/// Ideality of a diode.
pub(super) const IDEALITY: Input = input(0.5, 3.0, 1.0);
/// Things in series or parallel.
pub(super) const COUNT: Input = input(1.0, 1000.0, 10.0);

impl Input {
    /// `value` if it lies in the range.
    ///
    /// # Errors
    /// [`CalcError::OutOfRange`] with the name `key`, also for what is not a finite number.
    pub(super) fn take(self, key: &'static str, value: f64) -> Result<f64, CalcError> {
        // Comparisons with NaN are false, so it is refused as well.
        if value >= self.low && value <= self.high {
            return Ok(value);
        }
        Err(CalcError::OutOfRange {
            key,
            value,
            low: self.low,
            high: self.high,
            example: self.example,
        })
    }

    /// `count` as a number if it lies in the range.
    pub(super) fn take_count(self, key: &'static str, count: u32) -> Result<f64, CalcError> {
        self.take(key, f64::from(count))
    }
}

/// Takes away what binary fractions add, so that a sum of typed decimals meets a typed limit exactly.
pub(super) fn to_millionth(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

/// Refuses `upper` that is not above `lower`.
pub(super) fn in_order(
    (lower, lower_value): (&'static str, f64),
    (upper, upper_value): (&'static str, f64),
) -> Result<(), CalcError> {
    if lower_value < upper_value {
        return Ok(());
    }
    Err(CalcError::Order {
        lower,
        lower_value,
        upper,
        upper_value,
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{LENGTH_M, to_millionth};

    #[test]
    fn both_ends_are_taken_and_all_beyond_refused() {
        for good in [0.0, -0.0, 22.0, 1e5] {
            assert!(LENGTH_M.take("length_m", good).is_ok(), "{good}");
        }
        for bad in [
            -0.001,
            100_000.1,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
        ] {
            let error = LENGTH_M.take("length_m", bad).unwrap_err();
            assert_eq!(error.key(), "length_m", "{bad}");
        }
    }

    #[test]
    fn binary_dust_is_taken_off() {
        let sum: f64 = [5.1, 5.3, 5.6].iter().sum();
        assert!((to_millionth(sum) - 16.0).abs() == 0.0, "{sum}");
        assert!((to_millionth(0.1 + 0.2) - 0.3).abs() == 0.0);
    }
}
