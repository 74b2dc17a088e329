//! Least size of a protective conductor.

use super::error::CalcError;
use super::input;

/// Least area of a protective conductor, mm²: I √t / k, with the time the device really takes and not the longest one
/// allowed.
///
/// Under 0.1 s the heat is not told by the time alone; use [`cpc_min_from_energy_mm2`] with the maker's figure.
///
/// # Errors
/// `i_a` (0 to 1 000 000), `t_s` (0.001 to 5) or `k` (1 to 1000) out of range.
///
/// Source: adiabatic equation, BS 7671 regulation 543.1.3, recalled; k from NICEIC Pocket Guide 14.
pub fn cpc_min_mm2(i_a: f64, t_s: f64, k: f64) -> Result<f64, CalcError> {
    let root = input::ADIABATIC_S.take("t_s", t_s)?.sqrt();
    Ok(input::AMP.take("i_a", i_a)? * root / input::K_FACTOR.take("k", k)?)
}

/// Least area of a protective conductor, mm², from the let-through energy of the device: √(I²t) / k.
///
/// # Errors
/// `i2t_a2s` (1 to 10¹²) or `k` (1 to 1000) out of range.
///
/// Source: as [`cpc_min_mm2`].
pub fn cpc_min_from_energy_mm2(i2t_a2s: f64, k: f64) -> Result<f64, CalcError> {
    Ok(input::ENERGY_A2S.take("i2t_a2s", i2t_a2s)?.sqrt() / input::K_FACTOR.take("k", k)?)
}

/// Area of a protective conductor by that of its line, mm², without reckoning: as large up to `equal_up_to_mm2`, then
/// that much up to `half_above_mm2`, then half. The next size that is made is for the caller to choose.
///
/// # Errors
/// An area not from 0.1 to 10 000, or `equal_up_to_mm2` not below `half_above_mm2`.
///
/// Source: BS 7671 Table 54.7 as reproduced by the-regs.co.uk.
pub fn cpc_by_line_size_mm2(
    line_mm2: f64,
    equal_up_to_mm2: f64,
    half_above_mm2: f64,
) -> Result<f64, CalcError> {
    let line = input::MM2.take("line_mm2", line_mm2)?;
    let equal = input::MM2.take("equal_up_to_mm2", equal_up_to_mm2)?;
    let half = input::MM2.take("half_above_mm2", half_above_mm2)?;
    input::in_order(("equal_up_to_mm2", equal), ("half_above_mm2", half))?;
    Ok(if line > half {
        line / 2.0
    } else {
        line.min(equal)
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{cpc_by_line_size_mm2, cpc_min_from_energy_mm2, cpc_min_mm2};

    #[test]
    fn size_by_the_line() {
        // Published: the-regs.co.uk, Table 54.7: S, 16 mm2, S/2.
        for (line, cpc) in [
            (1.5, 1.5),
            (16.0, 16.0),
            (25.0, 16.0),
            (35.0, 16.0),
            (50.0, 25.0),
        ] {
            let got = cpc_by_line_size_mm2(line, 16.0, 35.0).unwrap();
            assert!((got - cpc).abs() < 1e-12, "{line}: {got}");
        }
        let error = cpc_by_line_size_mm2(10.0, 35.0, 16.0).unwrap_err();
        assert_eq!(
            error.to_string(),
            "`equal_up_to_mm2` is 35 and `half_above_mm2` is 16; `half_above_mm2` must be the larger"
        );
    }

    #[test]
    fn energy_of_a_steady_current_gives_the_same_area() {
        // Derived: I²t of 353 A for 0.1 s is 12460.9 A²s.
        let steady = cpc_min_mm2(353.0, 0.1, 115.0).unwrap();
        assert!((cpc_min_from_energy_mm2(12_460.9, 115.0).unwrap() - steady).abs() < 1e-9);
        assert_eq!(cpc_min_mm2(353.0, 5.01, 115.0).unwrap_err().key(), "t_s");
    }
}
