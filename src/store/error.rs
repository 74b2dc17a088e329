//! What can go wrong with files, in words a person on site can act on.

use std::fmt;
use std::io::{self, ErrorKind};
use std::path::Path;

use crate::job::ChangeError;
use crate::job::text::TextError;

/// Most problems of one file that are shown: more only push the first ones off the screen.
const MOST_SHOWN: usize = 20;

/// Why a file operation wasn't done. Every kind means exit code 2 on the command line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreError {
    /// The content of a file can't be used: everything that is wrong with it, at least one entry. The first 20 are shown.
    Unusable(Vec<TextError>),
    /// The file system refused.
    Disk {
        /// File or folder as the person gave it.
        file: String,
        /// What is wrong.
        what: String,
        /// What to do about it.
        remedy: String,
    },
    /// Another program has the job open for writing.
    Locked {
        /// The job file.
        file: String,
    },
    /// The job was opened read-only.
    ReadOnly {
        /// The job file.
        file: String,
        /// Why, with the remedy.
        why: String,
    },
    /// A file that would have been overwritten.
    Exists {
        /// The file.
        file: String,
    },
    /// A PDF that may not be replaced.
    Taken {
        /// The file.
        file: String,
        /// Why.
        why: String,
    },
    /// The change can't be made to this job; nothing was written.
    Refused(ChangeError),
    /// The change is **not** kept: its journal line is not certain to be on the disk. The job is as before.
    NotKept {
        /// The journal.
        file: String,
        /// What failed.
        what: String,
        /// What to do about it.
        remedy: String,
    },
    /// The job file could not be written. The remedy says where everything that was kept is.
    NotSaved {
        /// The job file.
        file: String,
        /// What failed.
        what: String,
        /// What to do about it.
        remedy: String,
    },
    /// A name that isn't known.
    Unknown {
        /// What kind of name, such as `starter`.
        what: &'static str,
        /// The name given.
        name: String,
        /// Names that are known.
        known: Vec<String>,
    },
}

impl StoreError {
    /// The file system's refusal while doing something with `file`, in plain words.
    pub(super) fn disk(file: &Path, error: &io::Error) -> StoreError {
        let (what, remedy) = explain(error);
        StoreError::Disk {
            file: file.display().to_string(),
            what,
            remedy: remedy.into(),
        }
    }

    /// One thing that is wrong with the content of a file.
    pub(super) fn text(error: TextError) -> StoreError {
        StoreError::Unusable(vec![error])
    }
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            StoreError::Unusable(list) => {
                for (i, one) in list.iter().take(MOST_SHOWN).enumerate() {
                    if i > 0 {
                        f.write_str("\n")?;
                    }
                    write!(f, "{one}")?;
                }
                match list.len().saturating_sub(MOST_SHOWN) {
                    0 => Ok(()),
                    more => write!(f, "\nand {more} more"),
                }
            }
            StoreError::Disk { file, what, remedy } => write!(f, "{file}: {what}; {remedy}"),
            StoreError::Locked { file } => write!(
                f,
                "{file}: another program has this job open for writing; close it there first (check and draft work meanwhile)"
            ),
            StoreError::ReadOnly { file, why } => {
                write!(f, "{file}: open for reading only, nothing was kept: {why}")
            }
            StoreError::Exists { file } => {
                write!(
                    f,
                    "{file}: is already there and was left as it is; give another name"
                )
            }
            StoreError::Taken { file, why } => write!(f, "{file}: {why}; give another name"),
            StoreError::Refused(why) => write!(f, "{why}"),
            StoreError::NotKept { file, what, remedy } => write!(
                f,
                "{file}: the reading is NOT kept: {what}; {remedy}, then enter it again; write it on paper meanwhile"
            ),
            StoreError::NotSaved { file, what, remedy } => {
                write!(f, "{file}: not saved: {what}; {remedy}")
            }
            StoreError::Unknown { what, name, known } => {
                write!(
                    f,
                    "no {what} is called `{name}`; known: {}",
                    known.join(", ")
                )
            }
        }
    }
}

impl std::error::Error for StoreError {}

impl From<ChangeError> for StoreError {
    fn from(error: ChangeError) -> Self {
        StoreError::Refused(error)
    }
}

/// What is wrong and what to do, by kind of error.
pub(super) fn explain(error: &io::Error) -> (String, &'static str) {
    let (what, remedy) = match error.kind() {
        // Our own errors carry a text. Those of other kinds that do come from a library, and name its temporary file.
        ErrorKind::Other if error.get_ref().is_some() => {
            return (error.to_string(), "look at the folder and try again");
        }
        ErrorKind::NotFound => (
            "there is no such file or folder",
            "check the name and the folder",
        ),
        ErrorKind::IsADirectory => (
            "this is a folder, not a file",
            "give the name of a file in it",
        ),
        ErrorKind::NotADirectory => ("this is a file, not a folder", "give the name of a folder"),
        ErrorKind::InvalidInput => (
            "this is not a regular file",
            "give the name of a file on a disk",
        ),
        // Ours, on reading, carries a text; the system's, on writing, doesn't.
        ErrorKind::FileTooLarge if error.get_ref().is_none() => (
            "a file may not grow to that length here",
            "raise the limit for the length of files, or work on another disk",
        ),
        ErrorKind::FileTooLarge => (
            "the file is larger than 64 MB",
            "this is not a file of this program",
        ),
        ErrorKind::PermissionDenied => (
            "you may not read or write here",
            "change its permissions, or copy it to a folder of yours",
        ),
        ErrorKind::ReadOnlyFilesystem => (
            "the disk can only be read",
            "copy the job to a disk that can be written",
        ),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            ("the disk is full", "make room and try again")
        }
        ErrorKind::InvalidFilename => (
            "the name is too long, or has a character that may not be in one here",
            "give a shorter, plain name",
        ),
        ErrorKind::AlreadyExists => ("is already there", "give another name"),
        _ => return (error.to_string(), "put the disk right and try again"),
    };
    (what.to_string(), remedy)
}

/// Whether there is no room left.
pub(super) fn is_full(error: &io::Error) -> bool {
    matches!(
        error.kind(),
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded
    )
}

/// Whether nothing can be written there, as on a disk or in a folder that may only be read, or where files may not grow.
pub(super) fn is_barred(error: &io::Error) -> bool {
    match error.kind() {
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => true,
        // Ours, on reading what is too long, carries a text.
        ErrorKind::FileTooLarge => error.get_ref().is_none(),
        _ => false,
    }
}
