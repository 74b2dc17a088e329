//! How the network operator is told, by the sum of what is connected.

use super::error::CalcError;
use super::input;

/// Current of all generation and storage on the premises, A, on one phase: what is new **and** what was there before.
///
/// # Errors
/// An empty list, or a current not from 0 to 1 000 000.
///
/// Source: Energy Networks Association, connecting generation: the sum per phase counts.
pub fn connection_total_a(amps: &[f64]) -> Result<f64, CalcError> {
    if amps.is_empty() {
        return Err(CalcError::Empty {
            key: "amps",
            example: "5.4,5.4",
        });
    }
    let mut total = 0.0;
    for &unit in amps {
        total += input::AMP.take("amps", unit)?;
    }
    Ok(input::to_millionth(total))
}

/// What the sum asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Procedure {
    /// EREC G98: connect, then tell the operator.
    G98,
    /// EREC G99: apply, and connect only when the operator agreed.
    G99,
}

impl Procedure {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Procedure::G98 => "G98",
            Procedure::G99 => "G99",
        }
    }
}

/// Procedure for a sum per phase: up to and including `g98_up_to_a` G98, above it G99.
///
/// # Errors
/// `total_a` (0 to 1 000 000) or `g98_up_to_a` (0.1 to 100 000; 16) out of range.
///
/// Source: Energy Networks Association and network operators' pages.
pub fn connection_procedure(total_a: f64, g98_up_to_a: f64) -> Result<Procedure, CalcError> {
    let total = input::to_millionth(input::AMP.take("total_a", total_a)?);
    let edge = input::RATING_A.take("g98_up_to_a", g98_up_to_a)?;
    Ok(if total <= edge {
        Procedure::G98
    } else {
        Procedure::G99
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{connection_procedure, connection_total_a};

    #[test]
    fn the_sum_counts_and_not_each_unit() {
        // Published: ENA pages: up to 16 A per phase for the premises G98, above G99.
        let rows: [(&[f64], &str); 4] = [
            (&[15.9], "G98"),
            (&[5.1, 5.3, 5.6], "G98"),
            (&[5.1, 5.3, 5.61], "G99"),
            (&[13.0, 13.0], "G99"),
        ];
        for (amps, procedure) in rows {
            let total = connection_total_a(amps).unwrap();
            assert_eq!(
                connection_procedure(total, 16.0).unwrap().name(),
                procedure,
                "{amps:?}"
            );
        }
        // Derived: 0.1 + 0.2 is 0.3, and not the binary fraction above it.
        assert!((connection_total_a(&[0.1, 0.2]).unwrap() - 0.3).abs() == 0.0);
        assert_eq!(connection_total_a(&[]).unwrap_err().key(), "amps");
        assert_eq!(connection_total_a(&[5.0, -5.0]).unwrap_err().key(), "amps");
    }
}
