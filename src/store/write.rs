//! The order of steps in which a file is written so that it is whole, or isn't there. Kept above [`Disk`], so that a
//! test sees every step.

use std::io::{self, ErrorKind};
use std::path::Path;

use super::disk::{Disk, NewFile};

/// A new file with these bytes, synced; never touches one that exists.
///
/// # Errors
/// [`ErrorKind::AlreadyExists`]; or whatever failed, and then no file is left.
pub(super) fn create(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    let file = disk.fresh(path)?;
    if let Err(error) = fill(file, bytes) {
        // Half a file would stand in the way of the next attempt. If this fails too, the first error says more.
        let _ = disk.remove(path);
        return Err(error);
    }
    disk.sync_folder(path)
}

/// Puts these bytes in the place of a file (or makes it), whole or not at all, synced; its mode stays.
///
/// # Errors
/// Whatever failed. Only if the very last step, syncing the folder, failed, the new file is already in place.
pub(super) fn replace(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> io::Result<()> {
    // A link stays a link: what it points to is replaced.
    let target = match disk.resolve(path) {
        Ok(real) => real,
        Err(e) if e.kind() == ErrorKind::NotFound => path.to_path_buf(),
        Err(e) => return Err(e),
    };
    fill(disk.stage(&target)?, bytes)?;
    disk.sync_folder(&target)
}

/// A name may only lead to bytes that are on the disk, so the sync comes before it is given.
fn fill(mut file: Box<dyn NewFile>, bytes: &[u8]) -> io::Result<()> {
    file.write(bytes)?;
    file.sync()?;
    file.place()
}
