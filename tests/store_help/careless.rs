//! Bad habits that a store could have, put on by wrapping the disk. Each has to be caught.

use std::io;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use wanderlead::store::{Disk, NewFile, Tape, Whereabouts};

use super::memory::Memory;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Habit {
    /// Bytes are never synced.
    NoSync,
    /// Folders are never synced.
    NoFolderSync,
    /// A failed write passes for a good one.
    SwallowsErrors,
    /// A failed sync passes for a good one.
    SwallowsSyncErrors,
    /// The journal isn't locked.
    NoLock,
    /// The job file is written over instead of being replaced.
    WritesOver,
    /// Digests are made again on reading, instead of being compared.
    TrustsDigests,
    /// The journal is believed to be where it was.
    NeverLooks,
    /// Kept is said before anything is written.
    SaysKeptFirst,
    /// No bad habit, and none of those below: the folder is slow, as on a network or a worn card.
    Slow,
}

/// How long a sync takes in a slow folder.
pub const SLOW: std::time::Duration = std::time::Duration::from_millis(4);

pub const HABITS: &[Habit] = &[
    Habit::NoSync,
    Habit::NoFolderSync,
    Habit::SwallowsErrors,
    Habit::SwallowsSyncErrors,
    Habit::NoLock,
    Habit::WritesOver,
    Habit::TrustsDigests,
    Habit::NeverLooks,
    Habit::SaysKeptFirst,
];

/// A disk used with a bad habit.
pub struct Careless(pub Memory, pub Habit);

struct CarelessTape(Box<dyn Tape>, Habit);
struct CarelessFile(Box<dyn NewFile>, Habit);

/// Makes every digest of a journal fit what its lines say.
fn trusting(bytes: &[u8]) -> Vec<u8> {
    let mut out: Vec<Vec<u8>> = Vec::new();
    let mut before = String::new();
    let whole = bytes.iter().filter(|b| **b == b'\n').count();
    for (i, line) in bytes.split(|b| *b == b'\n').enumerate() {
        let text = String::from_utf8_lossy(line).into_owned();
        let mut parts = text.splitn(3, ' ');
        let (seq, payload) = (parts.next().unwrap_or(""), parts.nth(1));
        match payload {
            Some(payload) if i > 0 && i < whole => {
                let hash = Sha256::digest(format!("{before}\n{seq}\n{payload}"));
                before = hash.iter().take(16).map(|b| format!("{b:02x}")).collect();
                out.push(format!("{seq} {before} {payload}").into_bytes());
            }
            _ => out.push(line.to_vec()),
        }
    }
    out.join(&b'\n')
}

fn swallowed(habit: Habit, which: Habit, done: io::Result<()>) -> io::Result<()> {
    if habit == which { Ok(()) } else { done }
}

impl Disk for Careless {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        self.0.resolve(path)
    }
    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        let bytes = self.0.read(path, limit)?;
        let trusts = self.1 == Habit::TrustsDigests;
        if trusts && path.extension().is_some_and(|e| e == "journal") {
            return Ok(trusting(&bytes));
        }
        Ok(bytes)
    }
    fn is_protected(&self, path: &Path) -> io::Result<bool> {
        self.0.is_protected(path)
    }
    fn fresh(&self, path: &Path) -> io::Result<Box<dyn NewFile>> {
        Ok(Box::new(CarelessFile(self.0.fresh(path)?, self.1)))
    }
    fn stage(&self, target: &Path) -> io::Result<Box<dyn NewFile>> {
        if self.1 == Habit::WritesOver {
            return self.0.over(target);
        }
        Ok(Box::new(CarelessFile(self.0.stage(target)?, self.1)))
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        self.0.remove(path)
    }
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        if self.1 == Habit::NoFolderSync {
            return Ok(());
        }
        self.0.sync_folder(path)
    }
    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        let tape = if self.1 == Habit::NoLock {
            self.0.unlocked_tape(path)?
        } else {
            self.0.tape(path)?
        };
        Ok(Box::new(CarelessTape(tape, self.1)))
    }
    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        self.0.files(dir)
    }
    fn make_folder(&self, dir: &Path) -> io::Result<()> {
        self.0.make_folder(dir)
    }
}

impl Tape for CarelessTape {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        let bytes = self.0.read(limit)?;
        Ok(if self.1 == Habit::TrustsDigests {
            trusting(&bytes)
        } else {
            bytes
        })
    }
    fn whereabouts(&self) -> io::Result<Whereabouts> {
        if self.1 == Habit::NeverLooks {
            return Ok(Whereabouts::Here);
        }
        self.0.whereabouts()
    }
    fn length(&self) -> io::Result<u64> {
        self.0.length()
    }
    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        swallowed(self.1, Habit::SwallowsErrors, self.0.write(at, bytes))
    }
    fn sync(&mut self) -> io::Result<()> {
        if self.1 == Habit::NoSync {
            return Ok(());
        }
        if self.1 == Habit::Slow {
            std::thread::sleep(SLOW);
        }
        swallowed(self.1, Habit::SwallowsSyncErrors, self.0.sync())
    }
    fn cut(&mut self, length: u64) -> io::Result<()> {
        self.0.cut(length)
    }
}

impl NewFile for CarelessFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        swallowed(self.1, Habit::SwallowsErrors, self.0.write(bytes))
    }
    fn sync(&mut self) -> io::Result<()> {
        if self.1 == Habit::NoSync {
            return Ok(());
        }
        swallowed(self.1, Habit::SwallowsSyncErrors, self.0.sync())
    }
    fn place(self: Box<Self>) -> io::Result<()> {
        self.0.place()
    }
}
