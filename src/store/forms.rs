//! Folders of form files.

use std::path::{Path, PathBuf};

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::load::utf8;
use super::write::create;
use crate::forms::{DEFAULTS, EXAMPLES, Forms};
use crate::job::text::TextError;

/// The forms that count: the embedded ones, with the `.ron` files of `dir` in place of those of the same name, and the
/// entries of `own-limits.ron` and `own-steps.ron` in it in place of both.
///
/// # Errors
/// [`StoreError::Disk`] where the folder or a file can't be read, [`StoreError::Unusable`] with the first fault of each
/// file; a `.ron` file with an unknown name is one.
pub fn load_forms(dir: Option<&Path>) -> Result<Forms, StoreError> {
    let Some(dir) = dir else {
        return Forms::embedded().map_err(StoreError::text);
    };
    let disk = RealDisk;
    let mut own = Vec::new();
    for path in disk.files(dir).map_err(|e| StoreError::disk(dir, &e))? {
        if path.extension().is_none_or(|e| e != "ron") {
            continue;
        }
        let shown = path.display().to_string();
        let bytes = disk
            .read(&path, LONGEST_FILE)
            .map_err(|e| StoreError::disk(&path, &e))?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        own.push((name.into_owned(), utf8(&shown, &bytes)?.to_string()));
    }
    // The forms know names only; a person with several folders needs the folder as well.
    let in_folder = |e: TextError| TextError {
        file: dir.join(&e.file).display().to_string(),
        ..e
    };
    Forms::from_texts(&own).map_err(|together| {
        let alone: Vec<TextError> = own
            .iter()
            .filter_map(|file| Forms::from_texts(std::slice::from_ref(file)).err())
            .map(in_folder)
            .collect();
        if alone.is_empty() {
            StoreError::text(in_folder(together))
        } else {
            StoreError::Unusable(alone)
        }
    })
}

/// Copies form files into `dir`, which is made where it isn't there, and returns their paths: those of `names`, or without
/// any the defaults, and the examples of own entries.
///
/// # Errors
/// [`StoreError::Unknown`] for a name that no file has, [`StoreError::Exists`] where one of them is there already (then
/// nothing is written), or [`StoreError::Disk`].
pub fn copy_forms(dir: &Path, names: &[String]) -> Result<Vec<PathBuf>, StoreError> {
    let all = || DEFAULTS.iter().chain(&EXAMPLES);
    if let Some(name) = names.iter().find(|name| !all().any(|(n, _)| n == name)) {
        return Err(StoreError::Unknown {
            what: "form file",
            name: name.clone(),
            known: all().map(|(n, _)| (*n).to_string()).collect(),
        });
    }
    let disk = RealDisk;
    disk.make_folder(dir)
        .map_err(|e| StoreError::disk(dir, &e))?;
    let there = disk.files(dir).map_err(|e| StoreError::disk(dir, &e))?;
    let wanted: Vec<(PathBuf, &str)> = all()
        .filter(|(name, _)| names.is_empty() || names.iter().any(|n| n == name))
        .map(|(name, text)| (dir.join(name), *text))
        .collect();
    if let Some((path, _)) = wanted.iter().find(|(p, _)| there.contains(p)) {
        return Err(StoreError::Exists {
            file: path.display().to_string(),
        });
    }
    for (path, text) in &wanted {
        create(&disk, path, text.as_bytes()).map_err(|e| StoreError::disk(path, &e))?;
    }
    Ok(wanted.into_iter().map(|(path, _)| path).collect())
}
