//! When a row was taken.

use std::fmt::Write;

use chrono::format::{Item, StrftimeItems};
use chrono::{DateTime, FixedOffset, NaiveDateTime};
use serde::Deserialize;

use super::{Fault, fault};
use crate::intake::units::brief;

/// When a row was taken.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Time {
    /// One column, or several that are read with a blank between: date, then time.
    pub columns: Vec<String>,
    /// Format, such as `%d/%m/%Y %H:%M`.
    pub format: String,
    /// Zone of the instrument's clock, such as `+00:00`. Nothing is worked out from the day of the year.
    pub zone: String,
}

impl Time {
    /// Whether such a time can be read at all.
    pub(super) fn check(&self) -> Result<(), Fault> {
        if self.columns.is_empty() {
            return fault(
                "time.columns",
                "",
                "no column has the time",
                "name one, or leave `time` out",
            );
        }
        if StrftimeItems::new(&self.format).any(|item| matches!(item, Item::Error)) {
            return fault(
                "time.format",
                &self.format,
                "not a format of date and time",
                "write it such as \"%d/%m/%Y %H:%M\"",
            );
        }
        // Whatever the format lacks, no cell will ever have.
        let sample = NaiveDateTime::default();
        let mut written = String::new();
        // What has no zone can't write one; a format that asks for it fails here.
        let whole = write!(written, "{}", sample.format(&self.format)).is_ok()
            && NaiveDateTime::parse_from_str(&written, &self.format).is_ok();
        if !whole {
            return fault(
                "time.format",
                &self.format,
                "a format without the whole date and the time",
                "give day, month, year, hour and minute, such as \"%d/%m/%Y %H:%M\"",
            );
        }
        if self.zone().is_none() {
            return fault(
                "time.zone",
                &self.zone,
                "not a zone",
                "write the offset of the instrument's clock, such as \"+00:00\", or \"+01:00\" for summer time",
            );
        }
        Ok(())
    }

    fn zone(&self) -> Option<FixedOffset> {
        self.zone.parse().ok()
    }

    /// The time that stands in a row.
    ///
    /// # Errors
    /// It isn't in that format.
    pub(in crate::intake) fn read(&self, text: &str) -> Result<DateTime<FixedOffset>, String> {
        let naive = NaiveDateTime::parse_from_str(text, &self.format).ok();
        naive
            .zip(self.zone())
            .and_then(|(naive, zone)| naive.and_local_timezone(zone).single())
            .ok_or_else(|| {
                format!(
                    "`{}` isn't a time in the format {}",
                    brief(text),
                    brief(&self.format)
                )
            })
    }
}
