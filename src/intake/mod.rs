//! Readings from a file that an instrument wrote: by a mapping that says what its columns are, shown before any of them is kept.
//!
//! Pure: the bytes are read by `store`, the change that comes out is kept by it. No reading gets by what holds for typed ones:
//! the job has to take it, and it must be its turn.

mod mapping;
mod preview;
mod rows;
mod table;
mod units;

pub use mapping::{
    EXAMPLE, Layout, Mapping, Once, Reads, Time, Tool, Where, comes_from_an_instrument,
};
pub use preview::{MOST_AT_ONCE, On, Preview, Row, Standing};
pub use rows::Taken;
pub use table::LONGEST_FILE;
pub use units::Sign;

/// Most readings of a file.
const MOST_READINGS: usize = 100_000;

use crate::job::Job;
use crate::job::text::TextError;

/// What a file says, by a mapping: every cell that is a reading, in the order of the file, and the headings that the mapping
/// doesn't name. `file` and the name of the mapping are for messages only.
///
/// This is where anything at all may be thrown in: any text as a mapping, any bytes as a file. It never panics, and what it gives
/// back goes into [`Preview::new`].
///
/// # Errors
/// What makes the mapping or the whole file unusable, with its place and a remedy. What is wrong in one cell is in its
/// [`Taken::typed`].
pub fn read(mapping: (&str, &str), file: (&str, &[u8]), job: &Job) -> Result<Read, TextError> {
    let mapping = Mapping::read(mapping.0, mapping.1)?;
    let table = table::read(file.0, file.1, &mapping)?;
    let named: Vec<&str> = mapping.columns().iter().map(|(c, _)| *c).collect();
    let unused = table
        .headings
        .iter()
        .filter(|h| !named.contains(&h.as_str()));
    let taken = rows::taken(&table, &mapping, job);
    if taken.len() > MOST_READINGS {
        return Err(TextError {
            file: file.0.to_string(),
            line: 0,
            column: 0,
            field: String::new(),
            what: format!("more than {MOST_READINGS} readings"),
            remedy: "take a part of the file".into(),
        });
    }
    let name = file.0.rsplit(['/', '\\']).next().unwrap_or(file.0);
    Ok(Read {
        file: units::whole(name),
        taken,
        unused: if mapping.headings {
            unused.map(|h| units::brief(h)).collect()
        } else {
            Vec::new()
        },
    })
}

/// What a file says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Read {
    /// Name of the file, without its folder.
    pub file: String,
    /// Its readings.
    pub taken: Vec<Taken>,
    /// Headings that the mapping doesn't name.
    pub unused: Vec<String>,
}
