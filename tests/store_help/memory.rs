//! A disk in memory that forgets and fails as a real one does, and notes every operation.

use std::collections::BTreeSet;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use wanderlead::store::{Disk, NewFile, Tape, Whereabouts};

use super::world::{Bytes, Name, World};

fn folder(path: &Path) -> &Path {
    path.parent().unwrap()
}

/// A fault on purpose.
#[derive(Clone, Copy, Debug)]
pub struct Fault {
    /// Number of the operation.
    pub at: usize,
    pub kind: ErrorKind,
    /// Bytes that still get through before a write fails: half of them, or none.
    pub short: bool,
    /// Every operation that changes the disk fails from then on.
    pub stays: bool,
    /// A sync that fails forgets what it was to write: programs still see it, no later sync writes it.
    pub forgets: bool,
}

/// The disk as it was at one moment, and what had been promised by then.
#[derive(Clone)]
pub struct Image {
    pub world: World,
    pub mark: usize,
    pub label: String,
}

type Between = Box<dyn FnOnce() + Send>;

#[derive(Default)]
pub struct Machine {
    pub world: World,
    locked: BTreeSet<usize>,
    /// Every operation, by name and file.
    pub trace: Vec<String>,
    pub fault: Option<Fault>,
    /// How far the visit is: kept in every image.
    pub mark: usize,
    /// The disk before, in the middle of and after every operation, where it is wanted.
    pub images: Option<Vec<Image>>,
    /// What another program does just before the operation of that number.
    pub between: Option<(usize, Between)>,
}

/// The disk, as one or several programs have it.
#[derive(Clone, Default)]
pub struct Memory(pub Arc<Mutex<Machine>>);

/// How much of an operation is done.
enum Done {
    All,
    Half(ErrorKind),
}

impl Memory {
    pub fn new(world: World) -> Memory {
        let memory = Memory::default();
        memory.0.lock().unwrap().world = world;
        memory
    }

    /// Counts an operation; fails in its place where that is wanted.
    fn enter(&self, name: &str, path: &Path, writes: bool) -> io::Result<Done> {
        let mut m = self.0.lock().unwrap();
        let n = m.trace.len();
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        m.trace.push(format!("{name} {file}"));
        if m.between.as_ref().is_some_and(|(at, _)| *at == n) {
            let (_, what) = m.between.take().unwrap();
            drop(m);
            what();
            m = self.0.lock().unwrap();
        }
        self.image(&mut m, "before");
        let Some(fault) = m.fault else {
            return Ok(Done::All);
        };
        if fault.at != n && !(fault.stays && writes && n > fault.at) {
            return Ok(Done::All);
        }
        if fault.short && writes {
            return Ok(Done::Half(fault.kind));
        }
        Err(fault.kind.into())
    }

    fn image(&self, m: &mut Machine, when: &str) {
        if m.images.is_none() {
            return;
        }
        let image = Image {
            world: m.world.clone(),
            mark: m.mark,
            label: format!("{when} {}: {}", m.trace.len(), m.trace.last().unwrap()),
        };
        m.images.as_mut().unwrap().push(image);
    }

    fn after(&self) {
        let mut m = self.0.lock().unwrap();
        self.image(&mut m, "after");
    }

    /// Something to a file or folder that is done whole or not at all.
    fn whole<T>(
        &self,
        name: &str,
        path: &Path,
        what: impl FnOnce(&mut Machine) -> io::Result<T>,
    ) -> io::Result<T> {
        if let Done::Half(kind) = self.enter(name, path, true)? {
            return Err(kind.into());
        }
        let done = what(&mut self.0.lock().unwrap())?;
        self.after();
        Ok(done)
    }

    fn look<T>(
        &self,
        name: &str,
        path: &Path,
        what: impl FnOnce(&mut Machine) -> io::Result<T>,
    ) -> io::Result<T> {
        self.enter(name, path, false)?;
        what(&mut self.0.lock().unwrap())
    }

    fn write(&self, node: usize, path: &Path, at: usize, bytes: &[u8]) -> io::Result<()> {
        let done = self.enter("write", path, true)?;
        let half = Bytes::Write(at, bytes[..bytes.len() / 2].to_vec());
        {
            let mut m = self.0.lock().unwrap();
            if let Done::Half(kind) = done {
                m.world.edit(node, half);
                return Err(kind.into());
            }
            if m.images.is_some() {
                let whole = m.world.clone();
                m.world.edit(node, half);
                self.image(&mut m, "in the middle of");
                m.world = whole;
            }
            m.world.edit(node, Bytes::Write(at, bytes.to_vec()));
        }
        self.after();
        Ok(())
    }

    fn sync_node(&self, node: usize, path: &Path) -> io::Result<()> {
        let done = self.whole("sync", path, |m| {
            m.world.sync(node);
            Ok(())
        });
        let mut m = self.0.lock().unwrap();
        if done.is_err() && m.fault.is_some_and(|f| f.forgets) {
            m.world.nodes[node].waiting.clear();
        }
        done
    }

    /// A journal without a lock, as a careless store would open it.
    pub fn unlocked_tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        self.open_tape(path, false)
    }

    /// A file that is written in the place of another at once, as a careless store would.
    pub fn over(&self, path: &Path) -> io::Result<Box<dyn NewFile>> {
        let node = self.whole("empty", path, |m| {
            let node = *m.world.names.get(path).ok_or(ErrorKind::NotFound)?;
            m.world.edit(node, Bytes::Cut(0));
            Ok(node)
        })?;
        Ok(Box::new(File {
            disk: self.clone(),
            node,
            path: path.to_path_buf(),
            target: None,
            at: 0,
        }))
    }

    fn open_tape(&self, path: &Path, lock: bool) -> io::Result<Box<dyn Tape>> {
        let node = self.whole("open", path, |m| {
            let node = match m.world.names.get(path) {
                Some(node) => *node,
                None => {
                    let node = m.world.node();
                    m.world.name(Name::Give(path.to_path_buf(), node));
                    node
                }
            };
            if lock && !m.locked.insert(node) {
                return Err(ErrorKind::WouldBlock.into());
            }
            Ok(node)
        })?;
        Ok(Box::new(Journal {
            disk: self.clone(),
            node,
            path: path.to_path_buf(),
            lock,
        }))
    }
}

fn limited(bytes: &[u8], limit: u64) -> io::Result<Vec<u8>> {
    assert!(bytes.len() as u64 <= limit);
    Ok(bytes.to_vec())
}

impl Disk for Memory {
    fn resolve(&self, path: &Path) -> io::Result<PathBuf> {
        self.look("resolve", path, |m| match m.world.names.get(path) {
            Some(_) => Ok(path.to_path_buf()),
            None => Err(ErrorKind::NotFound.into()),
        })
    }

    fn read(&self, path: &Path, limit: u64) -> io::Result<Vec<u8>> {
        self.look("read", path, |m| {
            limited(m.world.read(path).ok_or(ErrorKind::NotFound)?, limit)
        })
    }

    fn is_protected(&self, path: &Path) -> io::Result<bool> {
        self.look("look at", path, |_| Ok(false))
    }

    fn fresh(&self, path: &Path) -> io::Result<Box<dyn NewFile>> {
        let node = self.whole("make", path, |m| {
            if m.world.names.contains_key(path) {
                return Err(ErrorKind::AlreadyExists.into());
            }
            let node = m.world.node();
            m.world.name(Name::Give(path.to_path_buf(), node));
            Ok(node)
        })?;
        Ok(Box::new(File {
            disk: self.clone(),
            node,
            path: path.to_path_buf(),
            target: None,
            at: 0,
        }))
    }

    fn stage(&self, target: &Path) -> io::Result<Box<dyn NewFile>> {
        let (node, path) = self.whole("make for", target, |m| {
            m.world.passing += 1;
            let path = folder(target).join(format!(".saving-{}.tmp", m.world.passing));
            let node = m.world.node();
            m.world.name(Name::Give(path.clone(), node));
            Ok((node, path))
        })?;
        Ok(Box::new(File {
            disk: self.clone(),
            node,
            path,
            target: Some(target.to_path_buf()),
            at: 0,
        }))
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        self.whole("remove", path, |m| {
            if !m.world.names.contains_key(path) {
                return Err(ErrorKind::NotFound.into());
            }
            m.world.name(Name::Take(path.to_path_buf()));
            Ok(())
        })
    }

    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.whole("sync folder of", path, |m| {
            m.world.safe_names = m.world.names.clone();
            m.world.waiting.clear();
            Ok(())
        })
    }

    fn tape(&self, path: &Path) -> io::Result<Box<dyn Tape>> {
        self.open_tape(path, true)
    }

    fn files(&self, dir: &Path) -> io::Result<Vec<PathBuf>> {
        self.look("list", dir, |m| Ok(m.world.names.keys().cloned().collect()))
    }

    fn make_folder(&self, dir: &Path) -> io::Result<()> {
        self.whole("make folder", dir, |_| Ok(()))
    }
}

struct Journal {
    disk: Memory,
    node: usize,
    path: PathBuf,
    lock: bool,
}

impl Drop for Journal {
    fn drop(&mut self) {
        if self.lock {
            self.disk.0.lock().unwrap().locked.remove(&self.node);
        }
    }
}

impl Tape for Journal {
    fn read(&mut self, limit: u64) -> io::Result<Vec<u8>> {
        let node = self.node;
        self.disk.look("read", &self.path, |m| {
            limited(&m.world.nodes[node].live, limit)
        })
    }

    fn whereabouts(&self) -> io::Result<Whereabouts> {
        self.disk.look("find", &self.path, |m| {
            Ok(match m.world.names.get(&self.path) {
                None => Whereabouts::Gone,
                Some(node) if *node == self.node => Whereabouts::Here,
                Some(_) => Whereabouts::Replaced,
            })
        })
    }

    fn length(&self) -> io::Result<u64> {
        let node = self.node;
        self.disk.look("measure", &self.path, |m| {
            Ok(m.world.nodes[node].live.len() as u64)
        })
    }

    fn write(&mut self, at: u64, bytes: &[u8]) -> io::Result<()> {
        let at = usize::try_from(at).unwrap();
        self.disk.write(self.node, &self.path, at, bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.disk.sync_node(self.node, &self.path)
    }

    fn cut(&mut self, length: u64) -> io::Result<()> {
        let node = self.node;
        self.disk.whole("cut", &self.path, |m| {
            let length = usize::try_from(length).unwrap();
            m.world.edit(node, Bytes::Cut(length));
            Ok(())
        })
    }
}

struct File {
    disk: Memory,
    node: usize,
    path: PathBuf,
    /// The name it gets in the end, where that is another.
    target: Option<PathBuf>,
    at: usize,
}

impl Drop for File {
    fn drop(&mut self) {
        if self.target.is_some() {
            let mut m = self.disk.0.lock().unwrap();
            m.world.name(Name::Take(self.path.clone()));
        }
    }
}

impl NewFile for File {
    fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.disk.write(self.node, &self.path, self.at, bytes)?;
        self.at += bytes.len();
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        self.disk.sync_node(self.node, &self.path)
    }

    fn place(mut self: Box<Self>) -> io::Result<()> {
        let Some(target) = self.target.clone() else {
            return Ok(());
        };
        let (from, node) = (self.path.clone(), self.node);
        self.disk.whole("place", &target.clone(), |m| {
            m.world.name(Name::Move(from, target, node));
            Ok(())
        })?;
        self.target = None;
        Ok(())
    }
}
