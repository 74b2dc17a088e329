//! Files of readings that instruments wrote, and mappings that say what is in them. They are only ever read.

use std::io::ErrorKind;
use std::path::Path;

use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::kind::is_mapping;
use super::load::utf8;
use super::write::create;

/// What lies beside a job.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Downloads {
    /// Names of `.csv` files.
    pub files: Vec<String>,
    /// Names of `.ron` files that are mappings by their look.
    pub mappings: Vec<String>,
}

/// Longest mapping, in bytes.
const LONGEST_MAPPING: u64 = 1024 * 1024;

/// The files of a folder that readings may be brought in from, sorted by name.
///
/// # Errors
/// [`StoreError::Disk`] where the folder can't be listed.
pub fn list_downloads(dir: &Path) -> Result<Downloads, StoreError> {
    let disk = RealDisk;
    let mut out = Downloads::default();
    for path in disk.files(dir).map_err(|e| StoreError::disk(dir, &e))? {
        let Some(name) = path.file_name() else {
            continue;
        };
        let name = name.to_string_lossy().into_owned();
        let is = |end: &str| {
            path.extension()
                .is_some_and(|e| e.eq_ignore_ascii_case(end))
        };
        if is("csv") {
            out.files.push(name);
        } else if is("ron")
            && disk
                .read(&path, LONGEST_MAPPING)
                .is_ok_and(|b| std::str::from_utf8(&b).is_ok_and(is_mapping))
        {
            out.mappings.push(name);
        }
    }
    Ok(out)
}

/// Reads a file of readings of at most `longest` bytes, whatever is in it.
///
/// # Errors
/// [`StoreError::Disk`].
pub fn read_download(path: &Path, longest: u64) -> Result<Vec<u8>, StoreError> {
    read_at_most(path, longest, "take a part of it")
}

fn read_at_most(path: &Path, longest: u64, remedy: &str) -> Result<Vec<u8>, StoreError> {
    RealDisk.read(path, longest).map_err(|e| match e.kind() {
        ErrorKind::FileTooLarge => StoreError::Disk {
            file: path.display().to_string(),
            what: format!("longer than {} MB", longest >> 20),
            remedy: remedy.to_string(),
        },
        _ => StoreError::disk(path, &e),
    })
}

/// Reads the text of a mapping.
///
/// # Errors
/// [`StoreError::Disk`], or [`StoreError::Unusable`] where it is no text.
pub fn read_mapping(path: &Path) -> Result<String, StoreError> {
    let remedy = "this is no mapping: `wanderlead bring --write-mapping FILE` writes one";
    let bytes = read_at_most(path, LONGEST_MAPPING, remedy)?;
    Ok(utf8(&path.display().to_string(), &bytes)?.to_string())
}

/// Writes a mapping to a new file.
///
/// # Errors
/// [`StoreError::Exists`] where there is a file of that name, or [`StoreError::Disk`].
pub fn write_mapping(path: &Path, text: &str) -> Result<(), StoreError> {
    create(&RealDisk, path, text.as_bytes()).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => StoreError::Exists {
            file: path.display().to_string(),
        },
        _ => StoreError::disk(path, &e),
    })
}
