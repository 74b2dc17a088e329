//! Why a formula can't be worked out.

use std::fmt;

/// Input that a formula refuses. The keys are the names of the arguments, with their unit.
#[derive(Debug, Clone, PartialEq)]
pub enum CalcError {
    /// A number is outside its range, or is no number at all.
    OutOfRange {
        /// Name of the argument.
        key: &'static str,
        /// What was given.
        value: f64,
        /// Lowest value that is taken.
        low: f64,
        /// Highest value that is taken.
        high: f64,
        /// A value that would be taken.
        example: f64,
    },
    /// A list of values is empty.
    Empty {
        /// Name of the argument.
        key: &'static str,
        /// A list that would be taken.
        example: &'static str,
    },
    /// Two arguments that must be in order are not: `lower` must be less than `upper`.
    Order {
        /// Name of the argument that must be less.
        lower: &'static str,
        /// Its value.
        lower_value: f64,
        /// Name of the argument that must be more.
        upper: &'static str,
        /// Its value.
        upper_value: f64,
    },
    /// Each value could be, but not together.
    Contradiction {
        /// Name of the argument that is most likely at fault.
        key: &'static str,
        /// What it would lead to.
        why: &'static str,
    },
}

impl CalcError {
    /// Name of the argument that is at fault.
    pub fn key(&self) -> &'static str {
        match self {
            CalcError::OutOfRange { key, .. }
            | CalcError::Empty { key, .. }
            | CalcError::Contradiction { key, .. } => key,
            CalcError::Order { upper, .. } => upper,
        }
    }
}

impl fmt::Display for CalcError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            CalcError::OutOfRange {
                key,
                value,
                low,
                high,
                example,
            } => write!(
                f,
                "`{key}` is {value}; it can be from {low} to {high}, such as {key}={example}"
            ),
            CalcError::Empty { key, example } => {
                write!(
                    f,
                    "`{key}` has no value; give one or more, such as {key}={example}"
                )
            }
            CalcError::Order {
                lower,
                lower_value,
                upper,
                upper_value,
            } => write!(
                f,
                "`{lower}` is {lower_value} and `{upper}` is {upper_value}; `{upper}` must be the larger"
            ),
            CalcError::Contradiction { key, why } => {
                write!(f, "`{key}` does not go with the other values: {why}")
            }
        }
    }
}

impl std::error::Error for CalcError {}

#[cfg(test)]
mod tests {
    use super::CalcError;

    #[test]
    fn every_message_names_the_key_what_is_allowed_and_an_example() {
        let range = CalcError::OutOfRange {
            key: "length_m",
            value: f64::NAN,
            low: 0.0,
            high: 10_000.0,
            example: 22.0,
        };
        assert_eq!(
            range.to_string(),
            "`length_m` is NaN; it can be from 0 to 10000, such as length_m=22"
        );
        let empty = CalcError::Empty {
            key: "amps",
            example: "5.4,5.4",
        };
        assert_eq!(
            empty.to_string(),
            "`amps` has no value; give one or more, such as amps=5.4,5.4"
        );
        let order = CalcError::Order {
            lower: "a_v",
            lower_value: 5.0,
            upper: "b_v",
            upper_value: 3.5,
        };
        assert_eq!(
            order.to_string(),
            "`a_v` is 5 and `b_v` is 3.5; `b_v` must be the larger"
        );
        assert_eq!(
            [range.key(), empty.key(), order.key()],
            ["length_m", "amps", "b_v"]
        );
    }
}
