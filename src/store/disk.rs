//! The handful of file operations that the store is made of. Everything else goes through [`Disk`] and [`Tape`], so
//! that a test can put a disk in their place that fails on purpose.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

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
    /// file, [`ErrorKind::FileTooLarge`] with a text above the limit.
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>>;

    /// Whether the file is marked as not to be written, or may not be by whoever runs this: putting another in its place would get
    /// round that.
    ///
    /// # Errors
    /// Where it can't be looked at.
    fn is_protected(&self, path: &Path) -> io::Result<bool>;

    /// A new, empty file of that name; never one that exists.
    ///
    /// # Errors
    /// [`ErrorKind::AlreadyExists`] among others.
    fn fresh(&self, path: &Path) -> io::Result<Box<dyn NewFile>>;

    /// A new, empty file in the folder of `target` under a passing name, with the mode of `target`. It takes the place
    /// of `target` in [`NewFile::place`]; dropped before that, it is gone.
    ///
    /// # Errors
    /// [`ErrorKind::IsADirectory`] or [`ErrorKind::InvalidInput`] where `target` is no regular file, among others.
    fn stage(&self, target: &Path) -> io::Result<Box<dyn NewFile>>;

    /// Takes a file away.
    ///
    /// # Errors
    /// Where it can't be.
    fn remove(&self, path: &Path) -> io::Result<()>;

    /// Returns when a new or renamed entry of the folder of `path` is on the disk.
    ///
    /// # Errors
    /// Where that isn't certain.
    fn sync_folder(&self, path: &Path) -> io::Result<()>;

    /// Opens (or makes) a journal and locks it against other writers.
    ///
    /// # Errors
    /// [`ErrorKind::WouldBlock`] where another program holds it.
    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>>;

    /// The regular files of a folder, and the links that lead to nothing, sorted by name.
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

    /// Whether its name still leads to it. Bytes written to a file that was moved or removed are not in the record,
    /// however well they are synced.
    ///
    /// # Errors
    /// Where that can't be looked at.
    fn whereabouts(&self) -> io::Result<Whereabouts>;

    /// How many bytes it has.
    ///
    /// # Errors
    /// Where that can't be looked at.
    fn length(&self) -> io::Result<u64>;

    /// Writes `bytes` at position `at`; not yet synced.
    ///
    /// # Errors
    /// Where not all could be written.
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

/// Where an open journal is, seen from its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Whereabouts {
    /// The name leads to it.
    Here,
    /// There is nothing of that name.
    Gone,
    /// The name leads to another file.
    Replaced,
}

/// A file being written. What order these are called in is decided in `store/write.rs`.
pub trait NewFile: Send {
    /// Writes all bytes; not yet synced.
    ///
    /// # Errors
    /// Where not all could be written.
    fn write(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Returns when what was written is on the disk.
    ///
    /// # Errors
    /// Where that isn't certain.
    fn sync(&mut self) -> io::Result<()>;

    /// Gives it its name, in the place of a file that has it; nothing to do where it has it already.
    ///
    /// # Errors
    /// Whatever failed; the file that had the name is then as it was.
    fn place(self: Box<Self>) -> io::Result<()>;
}

/// How the passing name of a file that is being saved begins; six letters and digits follow.
pub(super) const SAVING: &str = ".saving-";
/// How it ends.
pub(super) const SAVING_END: &str = ".tmp";

/// The file system.
#[derive(Debug, Clone, Copy, Default)]
pub struct RealDisk;

impl RealDisk {
    /// What a link leads to by itself; `None` where it is no link, or isn't there.
    ///
    /// # Errors
    /// Where that can't be looked at.
    pub(super) fn link_target(&self, path: &Path) -> io::Result<Option<PathBuf>> {
        match fs::symlink_metadata(path) {
            Ok(meta) if meta.is_symlink() => fs::read_link(path).map(Some),
            Ok(_) => Ok(None),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
            Err(e) => Err(e),
        }
    }

    /// When a file was last written.
    ///
    /// # Errors
    /// Where the system doesn't say.
    pub(super) fn modified(&self, path: &Path) -> io::Result<SystemTime> {
        fs::symlink_metadata(path)?.modified()
    }

    /// Whether a regular file starts with these bytes.
    ///
    /// # Errors
    /// [`ErrorKind::IsADirectory`] or [`ErrorKind::InvalidInput`] for anything else, or where it can't be read.
    pub(super) fn starts_with(&self, path: &Path, start: &[u8]) -> io::Result<bool> {
        let mut found = Vec::new();
        open_regular(path)?
            .take(start.len() as u64)
            .read_to_end(&mut found)?;
        Ok(found == start)
    }
}

impl Disk for RealDisk {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        fs::canonicalize(path)
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        read_limited(&mut open_regular(path)?, limit)
    }

    fn is_protected(&self, path: &Path) -> io::Result<bool> {
        if fs::metadata(path)?.permissions().readonly() {
            return Ok(true);
        }
        match OpenOptions::new().append(true).open(path) {
            Err(e) if e.kind() == ErrorKind::PermissionDenied => Ok(true),
            // Whatever else hinders it is said when it is written.
            _ => Ok(false),
        }
    }

    fn fresh(&self, path: &Path) -> io::Result<Box<dyn NewFile>> {
        let file = OpenOptions::new().write(true).create_new(true).open(path)?;
        Ok(Box::new(RealFresh { file }))
    }

    fn stage(&self, target: &Path) -> io::Result<Box<dyn NewFile>> {
        let mode = match fs::metadata(target) {
            Ok(meta) if meta.is_dir() => return Err(ErrorKind::IsADirectory.into()),
            Ok(meta) if !meta.is_file() => return Err(ErrorKind::InvalidInput.into()),
            Ok(meta) => Some(meta.permissions()),
            Err(_) => None,
        };
        let mut builder = tempfile::Builder::new();
        builder.prefix(SAVING).suffix(SAVING_END);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // A new file gets what the person's mask allows, not the private mode of a temporary file.
            builder.permissions(fs::Permissions::from_mode(0o666));
        }
        let temp = builder.tempfile_in(folder_of(target))?;
        if let Some(mode) = mode {
            temp.as_file().set_permissions(mode)?;
        }
        Ok(Box::new(RealStaged {
            temp,
            target: target.to_path_buf(),
        }))
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        #[cfg(unix)]
        match sync_path(folder_of(path)) {
            // Some network file systems can't sync a folder; there is then nothing more to be done.
            Err(e) if matches!(e.kind(), ErrorKind::Unsupported | ErrorKind::InvalidInput) => {}
            other => return other,
        }
        #[cfg(not(unix))]
        let _ = path;
        Ok(())
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
        Ok(Box::new(RealTape {
            file,
            path: path.to_path_buf(),
        }))
    }

    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        let mut out = Vec::new();
        for entry in fs::read_dir(dir)? {
            let path = entry?.path();
            // A link that leads nowhere stands for a file that somebody misses: reading it says so.
            if path.is_file() || (path.is_symlink() && fs::metadata(&path).is_err()) {
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

struct RealFresh {
    file: File,
}

impl NewFile for RealFresh {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        flush(&self.file)
    }

    fn place(self: Box<Self>) -> io::Result<()> {
        Ok(())
    }
}

struct RealStaged {
    temp: tempfile::NamedTempFile,
    target: PathBuf,
}

impl NewFile for RealStaged {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.temp.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        flush(self.temp.as_file())
    }

    fn place(self: Box<Self>) -> io::Result<()> {
        persist(self.temp, &self.target)
    }
}

struct RealTape {
    file: File,
    path: PathBuf,
}

impl Tape for RealTape {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        self.file.seek(SeekFrom::Start(0))?;
        read_limited(&mut self.file, limit)
    }

    fn whereabouts(&self) -> io::Result<Whereabouts> {
        let named = match fs::metadata(&self.path) {
            Ok(meta) => meta,
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Whereabouts::Gone),
            Err(e) => return Err(e),
        };
        #[cfg(unix)]
        {
            use std::os::unix::fs::MetadataExt;
            let open = self.file.metadata()?;
            if (open.dev(), open.ino()) != (named.dev(), named.ino()) {
                return Ok(Whereabouts::Replaced);
            }
        }
        // Elsewhere a file has no number that can be asked for; that the name is there has to do.
        #[cfg(not(unix))]
        let _ = named;
        Ok(Whereabouts::Here)
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.file.metadata()?.len())
    }

    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        self.file.seek(SeekFrom::Start(at))?;
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        flush(&self.file)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.file.set_len(length)
    }
}

/// The one place where bytes are forced to the disk.
fn flush(file: &File) -> io::Result<()> {
    file.sync_all()
}

/// Forces what has that name to the disk.
#[cfg(unix)]
fn sync_path(path: &Path) -> io::Result<()> {
    flush(&File::open(path)?)
}

/// Longer than asked for. With a text, so that it isn't taken for the system's refusal to let a file grow, which has the
/// same kind.
fn too_long() -> io::Error {
    io::Error::new(ErrorKind::FileTooLarge, "longer than 64 MB")
}

fn open_regular(path: &Path) -> io::Result<File> {
    let meta = fs::metadata(path)?;
    if meta.is_dir() {
        return Err(ErrorKind::IsADirectory.into());
    }
    // A pipe or device could block for ever.
    if !meta.is_file() {
        return Err(ErrorKind::InvalidInput.into());
    }
    File::open(path)
}

fn read_limited(file: &mut File, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    // The length could grow while we read, so the limit holds for the reading and not for a length asked before.
    file.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit {
        return Err(too_long());
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

#[cfg(test)]
mod tests;
