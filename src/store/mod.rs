//! The only room that touches files: job files with their journal, form folders, settings, and what is written out.
//!
//! Invariants:
//! - A change counts as kept only after its journal line was written **and** synced. Whatever fails before that leaves
//!   the job in memory as it was and is reported as not kept.
//! - Nothing is thrown away: a torn last line and a journal that doesn't fit are copied to a file beside it first.
//! - A job file is replaced whole or not at all.
//! - No clock: times are passed in.

mod disk;
mod downloads;
mod error;
mod folder;
mod forms;
mod found;
mod journal;
mod kind;
mod load;
mod newer;
mod session;
mod settings;
mod spot;
mod starters;
mod write;

pub use disk::{Disk, NewFile, RealDisk, Tape, Whereabouts};
pub use downloads::{Downloads, list_downloads, read_download, read_mapping, write_mapping};
pub use error::StoreError;
pub use folder::{
    JobEntry, job_files, left_behind, list_jobs, may_write_out, read_pdf, refuge, write_out,
};
pub use forms::{copy_forms, load_forms};
pub use found::{Found, Listed};
pub use load::{Opened, read_job};
pub use session::Session;
pub use settings::{Colours, Glyphs, Settings, read_settings, settings_path, write_settings};
pub use starters::{Starter, start, starters};

/// Longest job file, journal or form file that is read, in bytes.
pub const LONGEST_FILE: u64 = 64 * 1024 * 1024;
