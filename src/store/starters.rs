//! Starters: complete jobs without readings, to be filled in.

use std::io::ErrorKind;
use std::path::Path;

use super::disk::RealDisk;
use super::error::StoreError;
use super::load::parse_job;
use super::write::create;

/// How the reference stands in a starter.
const PLACEHOLDER: &str = "reference: \"job number\"";

/// A job to begin with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Starter {
    /// Name on the command line.
    pub name: &'static str,
    /// Text of the file.
    pub text: &'static str,
}

impl Starter {
    /// What it is for: the first line of the file.
    pub fn about(&self) -> &'static str {
        let first = self.text.lines().next().unwrap_or_default();
        let first = first.trim_start_matches('/').trim();
        first.strip_prefix("Starter: ").unwrap_or(first)
    }
}

/// Every starter.
pub fn starters() -> &'static [Starter] {
    &[
        Starter {
            name: "micro",
            text: include_str!("../../forms/starters/micro.ron"),
        },
        Starter {
            name: "string",
            text: include_str!("../../forms/starters/string.ron"),
        },
        Starter {
            name: "hybrid",
            text: include_str!("../../forms/starters/hybrid.ron"),
        },
        Starter {
            name: "battery",
            text: include_str!("../../forms/starters/battery.ron"),
        },
        Starter {
            name: "tt",
            text: include_str!("../../forms/starters/tt.ron"),
        },
        Starter {
            name: "three-phase",
            text: include_str!("../../forms/starters/three-phase.ron"),
        },
    ]
}

/// Makes a new job file from the starter of that name, with its comments.
///
/// # Errors
/// [`StoreError::Unknown`] with the names there are, [`StoreError::Exists`], or [`StoreError::Disk`].
pub fn start(path: &Path, name: &str) -> Result<(), StoreError> {
    let Some(starter) = starters().iter().find(|s| s.name == name) else {
        return Err(StoreError::Unknown {
            what: "starter",
            name: name.to_string(),
            known: starters().iter().map(|s| s.name.to_string()).collect(),
        });
    };
    if path.extension().is_none_or(|e| e != "ron") {
        return Err(StoreError::Disk {
            file: path.display().to_string(),
            what: "this isn't the name of a job file".into(),
            remedy: "give a name that ends in .ron".into(),
        });
    }
    let text = named(starter.text, path);
    // Never begin with a file that could not be opened afterwards.
    parse_job(&path.display().to_string(), text.as_bytes())?;
    create(&RealDisk, path, text.as_bytes()).map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => StoreError::Exists {
            file: path.display().to_string(),
        },
        _ => StoreError::disk(path, &e),
    })
}

/// The text of a starter with the name of its file as the reference, until somebody gives another. A name that can't stand in
/// a job file as it is stays out.
fn named(text: &str, path: &Path) -> String {
    let name = path
        .file_stem()
        .map(|n| n.to_string_lossy().into_owned())
        .filter(|n| n.chars().all(|c| c.is_alphanumeric() || "-_. ".contains(c)))
        .filter(|n| n.chars().any(char::is_alphanumeric) && n.chars().count() <= 60);
    match name {
        Some(name) => text.replacen(PLACEHOLDER, &format!("reference: \"{name}\""), 1),
        None => text.to_string(),
    }
}
