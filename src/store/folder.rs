//! Job files of a folder, and files written out for others.

use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::load::utf8;
use crate::job::text::parse;

/// A job file in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobEntry {
    /// Where it is.
    pub path: PathBuf,
    /// Its reference; empty where it can't be read.
    pub reference: String,
    /// Its title; empty where it can't be read.
    pub title: String,
    /// Why its first fields can't be read; `None` where they can. Opening it may find more.
    pub trouble: Option<String>,
}

/// What a list shows. Unknown fields are left for the opening to judge.
#[derive(Deserialize)]
struct Head {
    #[serde(rename = "schema")]
    _schema: u32,
    reference: String,
    title: String,
}

/// The job files of a folder, sorted by name. A `.ron` file that doesn't mention a schema is no job and isn't listed.
///
/// # Errors
/// [`StoreError::Disk`] where the folder can't be listed.
pub fn list_jobs(dir: &Path) -> Result<Vec<JobEntry>, StoreError> {
    let disk = RealDisk;
    let files = disk.files(dir).map_err(|e| StoreError::disk(dir, &e))?;
    let mut out = Vec::new();
    for path in files {
        if path.extension().is_none_or(|e| e != "ron") {
            continue;
        }
        let mut entry = JobEntry {
            reference: String::new(),
            title: String::new(),
            trouble: None,
            path,
        };
        let name = entry.path.display().to_string();
        match disk.read(&entry.path, LONGEST_FILE) {
            Err(e) => entry.trouble = Some(StoreError::disk(&entry.path, &e).to_string()),
            Ok(bytes) => match utf8(&name, &bytes) {
                Err(e) => entry.trouble = Some(e.to_string()),
                Ok(text) if !text.contains("schema") => continue,
                Ok(text) => match parse::<Head>(&name, text) {
                    Ok(head) => {
                        entry.reference = head.reference;
                        entry.title = head.title;
                    }
                    Err(e) => entry.trouble = Some(e.to_string()),
                },
            },
        }
        out.push(entry);
    }
    Ok(out)
}

/// Writes a file for others, such as a PDF: whole or not at all. One that is there is replaced, but never a job file
/// or journal.
///
/// # Errors
/// [`StoreError::Exists`] for the name of a job file or journal, else [`StoreError::Disk`].
pub fn write_out(path: &Path, bytes: &[u8]) -> Result<(), StoreError> {
    // The slip `--out JOB.ron` would otherwise cost the record.
    let of_a_job = path
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("ron") || e.eq_ignore_ascii_case("journal"));
    if of_a_job {
        return Err(StoreError::Disk {
            file: path.display().to_string(),
            what: "this is the name of a job file or journal".into(),
            remedy: "give a name that ends in .pdf".into(),
        });
    }
    RealDisk
        .replace(path, bytes)
        .map_err(|e| StoreError::disk(path, &e))
}
