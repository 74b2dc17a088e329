//! Modules of one plane compared with one another.

use super::error::CalcError;
use super::input;

/// Median of some powers, W: the middle one in order of size, or half-way between the two in the middle.
///
/// # Errors
/// An empty list, or a power not from -1e9 to 1e9.
pub fn median(watts: &[f64]) -> Result<f64, CalcError> {
    let mut sorted = Vec::with_capacity(watts.len());
    for &w in watts {
        sorted.push(input::WATT.take("watts", w)?);
    }
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    let upper = sorted.get(half).copied();
    let lower = match sorted.len() % 2 {
        0 => half.checked_sub(1).and_then(|i| sorted.get(i)).copied(),
        _ => upper,
    };
    match (lower, upper) {
        (Some(a), Some(b)) => Ok(input::to_millionth((a + b) / 2.0)),
        _ => Err(CalcError::Empty {
            key: "watts",
            example: "410,405,398",
        }),
    }
}

/// How far below the median a module is, in percent of the median; `None` where it is not lower by more than
/// `allowed_pct`.
///
/// # Errors
/// `watts` (-1e9 to 1e9) or `allowed_pct` (0 to 100) out of range, or a median that is not above zero.
pub fn is_low_percent(
    watts: f64,
    median_w: f64,
    allowed_pct: f64,
) -> Result<Option<f64>, CalcError> {
    let watts = input::WATT.take("watts", watts)?;
    let allowed = input::PERCENT.take("allowed_pct", allowed_pct)?;
    let median = input::MEDIAN_W.take("median_w", median_w)?;
    let below = input::to_millionth((median - watts) * 100.0 / median);
    Ok((below > allowed).then_some(below))
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{is_low_percent, median};

    #[test]
    fn the_middle_one_whatever_the_order() {
        // Derived: by hand.
        for (watts, middle) in [
            (&[5.0][..], 5.0),
            (&[400.0, 100.0], 250.0),
            (&[390.0, 410.0, 12.0], 390.0),
            (&[4.0, 1.0, 3.0, 2.0], 2.5),
        ] {
            assert!((median(watts).unwrap() - middle).abs() < 1e-9, "{watts:?}");
        }
        assert_eq!(median(&[]).unwrap_err().key(), "watts");
        assert_eq!(median(&[f64::NAN]).unwrap_err().key(), "watts");
    }

    #[test]
    fn just_as_low_as_allowed_is_not_low() {
        // Derived: 320 of 400 is 20 % below, 319 is 20.25 %.
        assert_eq!(is_low_percent(320.0, 400.0, 20.0).unwrap(), None);
        assert_eq!(is_low_percent(319.0, 400.0, 20.0).unwrap(), Some(20.25));
        assert_eq!(
            is_low_percent(0.0, 0.0, 20.0).unwrap_err().key(),
            "median_w"
        );
    }
}
