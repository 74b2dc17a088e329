//! Where a reading came from that nobody typed: a file that an instrument wrote.

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::validate::words::is_unseen;
use super::value::LONGEST;

/// The line of a file that a reading was brought in from. Whoever brought it in answers for it as for a typed one.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Brought {
    /// Name of the file, without its folder.
    pub file: String,
    /// Line in it, from 1.
    pub line: u64,
    /// What stands there, with the unit it was read in, such as `820 mΩ`.
    pub cell: String,
    /// When the instrument says that it was taken, in the zone that the mapping states. No order of work is judged by it:
    /// nobody set that clock for this job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub noted: Option<DateTime<FixedOffset>>,
    /// The number that the file gives the result.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub result: Option<String>,
}

impl Brought {
    /// Where from, in words.
    pub fn words(&self) -> String {
        let result = self.result.as_ref();
        let result = result.map_or(String::new(), |id| format!(", result {id}"));
        let noted = self.noted.map_or(String::new(), |at| {
            format!(", by its clock {}", at.format("%-d %b %Y %H:%M"))
        });
        format!(
            "from {} line {}: {}{noted}{result}",
            self.file, self.line, self.cell
        )
    }

    /// Whether it can be shown and printed.
    ///
    /// # Errors
    /// What is wrong with it, in words.
    pub fn stands(&self) -> Result<(), String> {
        for text in [Some(&self.file), Some(&self.cell), self.result.as_ref()]
            .into_iter()
            .flatten()
        {
            if text.chars().count() > LONGEST {
                return Err(format!(
                    "where it was brought in from is too long: at most {LONGEST} characters"
                ));
            }
            if let Some(c) = text.chars().find(|c| c.is_control() || is_unseen(*c)) {
                return Err(format!(
                    "a character that can't be printed (U+{:04X}) in where it was brought in from",
                    u32::from(c)
                ));
            }
        }
        Ok(())
    }
}
