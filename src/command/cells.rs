//! A table of words for other programs: CSV and JSON.

use anyhow::{Result, anyhow};
use serde_json::{Map, Value as Json, json};

/// Headings, and rows of cells, empty where there is nothing.
pub(super) struct Table {
    /// A name for each column.
    pub(super) headings: Vec<String>,
    /// As many cells as headings each.
    pub(super) rows: Vec<Vec<String>>,
}

impl Table {
    /// Comma-separated values with a line of headings.
    ///
    /// # Errors
    /// It can't be written down.
    pub(super) fn csv(&self) -> Result<String> {
        let mut out = csv::Writer::from_writer(Vec::new());
        out.write_record(&self.headings)?;
        for row in &self.rows {
            out.write_record(row)?;
        }
        let bytes = out.into_inner().map_err(|e| anyhow!("{e}"))?;
        Ok(String::from_utf8(bytes)?)
    }

    /// An object with `schema` and `rows`; null where a cell is empty.
    ///
    /// # Errors
    /// It can't be written down.
    pub(super) fn json(&self) -> Result<String> {
        let rows: Vec<Json> = self
            .rows
            .iter()
            .map(|row| {
                let cells = self.headings.iter().zip(row).map(|(heading, cell)| {
                    let cell = match cell.as_str() {
                        "" => Json::Null,
                        text => Json::from(text),
                    };
                    (heading.clone(), cell)
                });
                Json::Object(cells.collect::<Map<_, _>>())
            })
            .collect();
        let all = json!({ "schema": 1, "rows": rows });
        Ok(format!("{}\n", serde_json::to_string_pretty(&all)?))
    }
}
