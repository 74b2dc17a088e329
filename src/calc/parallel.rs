//! Resistances in parallel.

use super::error::CalcError;
use super::input;

/// Resistance of all of `resistances` in parallel, in their unit: what a board reads as a whole, or both poles of a
/// string joined. One of zero makes zero.
///
/// # Errors
/// An empty list, or a resistance not from 0 to 1 000 000 000. Readings over range have no number: leave them out.
///
/// Source: 1 / Σ (1/R).
pub fn parallel(resistances: &[f64]) -> Result<f64, CalcError> {
    if resistances.is_empty() {
        return Err(CalcError::Empty {
            key: "r_mohm",
            example: "200,50,20",
        });
    }
    let mut conductance = 0.0;
    for &resistance in resistances {
        // 1/0 is infinite, and 1 over that is zero again.
        conductance += 1.0 / input::PARALLEL.take("r_mohm", resistance)?.abs();
    }
    Ok(1.0 / conductance)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::parallel;

    #[test]
    fn a_short_makes_zero_and_one_alone_stays() {
        assert!(parallel(&[200.0, 0.0]).unwrap().abs() == 0.0);
        assert!(parallel(&[-0.0]).unwrap().abs() == 0.0);
        assert!((parallel(&[4.0]).unwrap() - 4.0).abs() < 1e-12);
    }

    #[test]
    fn nothing_and_nonsense_are_refused() {
        assert_eq!(
            parallel(&[]).unwrap_err().to_string(),
            "`r_mohm` has no value; give one or more, such as r_mohm=200,50,20"
        );
        assert!(parallel(&[1.0, f64::NAN]).is_err());
        assert!(parallel(&[1.0, -1.0]).is_err());
    }
}
