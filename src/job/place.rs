//! Where a reading belongs: `R/3/zs` is test `zs` of circuit `3` of board `R`.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::group::Group;
use super::label::is_label_name;
use super::test::Test;

/// An owner (one or two names) and a test.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Place {
    /// Board, array, storage or one of the job's own groups (`supply`, `safe`, …).
    pub top: String,
    /// Circuit, string, branch or bond within it; the name of a label, such as `dual-board:R`.
    pub part: Option<String>,
    /// The test.
    pub test: Test,
}

impl Place {
    /// A test of the job itself, a board or a storage unit.
    pub fn of(top: &str, test: Test) -> Self {
        Place {
            top: top.to_string(),
            part: None,
            test,
        }
    }

    /// A test of a circuit, string, branch or bond.
    pub fn part(top: &str, part: &str, test: Test) -> Self {
        Place {
            top: top.to_string(),
            part: Some(part.to_string()),
            test,
        }
    }

    /// The same owner, another test.
    pub fn with(&self, test: Test) -> Self {
        Place {
            test,
            ..self.clone()
        }
    }

    /// The owner without the test, such as `R/3`.
    pub fn owner(&self) -> String {
        match &self.part {
            Some(part) => format!("{}/{part}", self.top),
            None => self.top.clone(),
        }
    }
}

/// Whether `id` may name a board, circuit, array or other part: 1 to 12 letters, digits, `-` or `.`.
pub fn is_id(id: &str) -> bool {
    (1..=12).contains(&id.chars().count())
        && id
            .chars()
            .all(|c| c.is_alphanumeric() || c == '-' || c == '.')
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}/{}", self.owner(), self.test)
    }
}

impl FromStr for Place {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let parts: Vec<&str> = text.split('/').collect();
        let (top, part, test) = match parts.as_slice() {
            [top, test] => (*top, None, *test),
            [top, part, test] => (*top, Some(*part), *test),
            _ => {
                return Err(format!(
                    "`{text}` is not a place: write BOARD/CIRCUIT/TEST or supply/TEST, such as R/3/zs"
                ));
            }
        };
        // A label is named by its kind and what it is fixed to.
        let may_be = |id: &str| is_id(id) || (top == Group::Label.key() && is_label_name(id));
        for id in [Some(top), part].into_iter().flatten() {
            if !may_be(id) {
                return Err(format!(
                    "`{id}` in `{text}` is not an id: 1 to 12 letters, digits, - or ."
                ));
            }
        }
        Ok(Place {
            top: top.into(),
            part: part.map(str::to_string),
            test: test.parse()?,
        })
    }
}

impl TryFrom<String> for Place {
    type Error = String;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<Place> for String {
    fn from(place: Place) -> String {
        place.to_string()
    }
}
