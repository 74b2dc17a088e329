//! Load of a branch of micro-inverters on its protective device.

use super::error::CalcError;
use super::input;

/// Current of a branch, A: `count` inverters of `each_a`.
///
/// # Errors
/// `count` (1 to 1000) or `each_a` (0 to 1 000 000) out of range.
///
/// Source: sum.
pub fn branch_current_a(count: u32, each_a: f64) -> Result<f64, CalcError> {
    let each = input::AMP.take("each_a", each_a)?;
    Ok(input::to_millionth(
        input::COUNT.take_count("count", count)? * each,
    ))
}

/// Current up to which a device is advised to be loaded for hours, A: In × `factor`. Advice, not a limit.
///
/// # Errors
/// `rating_a` (0.1 to 100 000) or `factor` (0.01 to 1; 0.8) out of range.
///
/// Source: common practice.
pub fn branch_load_advised_a(rating_a: f64, factor: f64) -> Result<f64, CalcError> {
    let share = input::REDUCTION.take("factor", factor)?;
    Ok(input::to_millionth(
        input::RATING_A.take("rating_a", rating_a)? * share,
    ))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{branch_current_a, branch_load_advised_a};

    #[test]
    fn eight_inverters_just_meet_the_advice() {
        // Derived: 8 x 1.6 A = 12.8 A = 0.8 x 16 A, exactly.
        let advised = branch_load_advised_a(16.0, 0.8).unwrap();
        assert!(branch_current_a(8, 1.6).unwrap() <= advised);
        assert!(branch_current_a(9, 1.6).unwrap() > advised);
        // Derived: 3 x 0.1 is 0.3, and 0.3 of 9 is 2.7, without the dust of binary fractions.
        assert!((branch_current_a(3, 0.1).unwrap() - 0.3).abs() == 0.0);
        assert!((branch_load_advised_a(9.0, 0.3).unwrap() - 2.7).abs() == 0.0);
        assert_eq!(
            branch_load_advised_a(16.0, 1.1).unwrap_err().key(),
            "factor"
        );
        assert_eq!(branch_current_a(0, 1.6).unwrap_err().key(), "count");
    }
}
