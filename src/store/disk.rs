//! The handful of file operations that the store is made of. Everything else goes through [`Disk`] and [`Tape`], so
//! that a test can put a disk in their place that fails on purpose.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

/// File operations.
pub trait Disk: Send {
    /// The real path of an existing file, with links followed: two names of one job must share one journal.
    ///
    /// # Errors
    /// Where there is no such file.
    fn resolve(&self, path: &Path) -> io::Result<PathBuf>;

    /// All bytes of a regular file of at most `limit` bytes.
    ///
    /// # Errors
    /// [`ErrorKind::IsADirectory`] for a folder, [`ErrorKind::InvalidInput`] for anything else that isn't a regular
    /// file, [`ErrorKind::FileTooLarge`] above the limit.
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>>;

    /// Whether the file is marked as not to be written.
    ///
    /// # Errors
    /// Where it can't be looked at.
    fn is_protected(&self, path: &Path) -> io::Result<bool>;

    /// A new file with these bytes, synced; never touches one that exists.
    ///
    /// # Errors
    /// [`ErrorKind::AlreadyExists`]; or whatever failed, and then no file is left.
    fn create(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Puts these bytes in the place of a file (or makes it), whole or not at all, synced; its mode stays.
    ///
    /// # Errors
    /// Whatever failed. Only if the very last step, syncing the folder, failed, the new file is already in place.
    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()>;

    /// Opens (or makes) a journal and locks it against other writers.
    ///
    /// # Errors
    /// [`ErrorKind::WouldBlock`] where another program holds it.
    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>>;

    /// The regular files of a folder, sorted by name.
    ///
    /// # Errors
    /// Where it can't be listed.
    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>>;

    /// Makes a folder, and those above it, where it isn't there yet.
    ///
    /// # Errors
    /// Where it can't be made.
    fn make_folder(&self, dir: &Path) -> io::Result<()>;
}

/// An open, locked journal. Dropping it frees the lock.
pub trait Tape: Send {
    /// All its bytes, at most `limit`.
    ///
    /// # Errors
    /// Where they can't be read or are more.
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>>;

    /// Writes `bytes` at position `at` with one write; not yet synced.
    ///
    /// # Errors
    /// Where not all could be written, or the file was removed meanwhile.
    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()>;

    /// Returns when what was written is on the disk.
    ///
    /// # Errors
    /// Where that isn't certain.
    fn sync(&mut self) -> io::Result<()>;

    /// Shortens it to `length` bytes; not yet synced.
    ///
    /// # Errors
    /// Where that failed.
    fn cut(&mut self, length: u64) -> io::Result<()>;
}

/// The file system.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl Disk for RealDisk {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        fs::canonicalize(path)
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        let meta = fs::metadata(path)?;
        if meta.is_dir() {
            return Err(ErrorKind::IsADirectory.into());
        }
        // A pipe or device could block for ever.
        if !meta.is_file() {
            return Err(ErrorKind::InvalidInput.into());
        }
        read_limited(&mut File::open(path)?, limit)
    }

    fn is_protected(&self, path: &Path) -> io::Result<bool> {
        Ok(fs::metadata(path)?.permissions().readonly())
    }

    fn create(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
        let written = file.write_all(bytes).and_then(|()| file.sync_all());
        if let Err(error) = written {
            drop(file);
            // Half a file would stand in the way of the next attempt. If this fails too, the first error says more.
            let _ = fs::remove_file(path);
            return Err(error);
        }
        sync_folder(path)
    }

    fn replace(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        // A link stays a link: what it points to is replaced.
        let target = match fs::canonicalize(path) {
            Ok(real) => real,
            Err(e) if e.kind() == ErrorKind::NotFound => path.to_path_buf(),
            Err(e) => return Err(e),
        };
        let mode = match fs::metadata(&target) {
            Ok(meta) if meta.is_dir() => return Err(ErrorKind::IsADirectory.into()),
            Ok(meta) if !meta.is_file() => return Err(ErrorKind::InvalidInput.into()),
            Ok(meta) => Some(meta.permissions()),
            Err(_) => None,
        };
        let mut builder = tempfile::Builder::new();
        builder.prefix(".saving-").suffix(".tmp");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // A new file gets what the person's mask allows, not the private mode of a temporary file.
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let mut temp = builder.tempfile_in(folder_of(&target))?;
        temp.write_all(bytes)?;
        if let Some(mode) = mode {
            temp.as_file().set_permissions(mode)?;
        }
        temp.as_file().sync_all()?;
        persist(temp, &target)?;
        sync_folder(&target)
    }

    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        let file = OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => return Err(ErrorKind::WouldBlock.into()),
            Err(TryLockError::Error(e)) => return Err(e),
        }
        // Also for one that was there: whoever made it may have ended before this.
        sync_folder(path)?;
        Ok(Box::new(RealTape { file }))
    }

    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        let mut out = Vec::new();
        for entry in fs::read_dir(dir)? {
            let path = entry?.path();
            if path.is_file() {
                out.push(path);
            }
        }
        out.sort();
        Ok(out)
    }

    fn make_folder(&self, dir: &Path) -> io::Result<()> {
        fs::create_dir_all(dir)
    }
}

struct RealTape {
    file: File,
}

impl Tape for RealTape {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        self.file.seek(SeekFrom::Start(0))?;
        read_limited(&mut self.file, limit)
    }

    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            // Bytes written to a removed file are gone when it is closed, however well they are synced.
            if self.file.metadata()?.nlink() == 0 {
                return Err(io::Error::other(
                    "the journal was removed while it was open",
                ));
            }
        }
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)
    }
}

fn read_limited(file: &mut File, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    // The length could grow while we read, so the limit holds for the reading and not for a length asked before.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(ErrorKind::FileTooLarge.into());
    }
    Ok(bytes)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(dir) if !dir.as_os_str().is_empty() => dir,
        _ => Path::new("."),
    }
}

#[cfg(not(windows))]
fn persist(temp: tempfile::NamedTempFile, target: &Path) -> io::Result<()> {
    temp.persist(target).map(drop).map_err(|e| e.error)
}

/// A scanner or preview may hold the target for a moment.
#[cfg(windows)]
fn persist(mut temp: tempfile::NamedTempFile, target: &Path) -> io::Result<()> {
    for _ in 0..20 {
        match temp.persist(target) {
            Ok(_) => return Ok(()),
            Err(e) if e.error.kind() == ErrorKind::PermissionDenied => temp = e.file,
            Err(e) => return Err(e.error),
        }
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    temp.persist(target).map(drop).map_err(|e| e.error)
}

/// Makes a new or renamed entry of the folder last.
fn sync_folder(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    match File::open(folder_of(path))?.sync_all() {
        // Some network file systems can't sync a folder; there is then nothing more to be done.
        Err(e) if matches!(e.kind(), ErrorKind::Unsupported | ErrorKind::InvalidInput) => {}
        other => return other,
    }
    #[cfg(not(unix))]
    let _ = path;
    Ok(())
}
