//! What a disk in memory holds: bytes are safe once their file was synced, names once their folder was.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use super::chance::Chance;

/// A change of a file's bytes.
#[derive(Clone, Debug)]
pub(super) enum Bytes {
    Write(usize, Vec<u8>),
    Cut(usize),
}

/// A change of a folder.
#[derive(Clone, Debug)]
pub(super) enum Name {
    Give(PathBuf, usize),
    Take(PathBuf),
    /// In one: the file loses its passing name and gets this one.
    Move(PathBuf, PathBuf, usize),
}

#[derive(Clone, Default)]
pub(super) struct Node {
    pub(super) live: Vec<u8>,
    safe: Vec<u8>,
    pub(super) waiting: Vec<Bytes>,
}

/// What the disk holds: as programs see it, and as it would be after a power cut.
#[derive(Clone, Default)]
pub struct World {
    pub(super) nodes: Vec<Node>,
    pub(super) names: BTreeMap<PathBuf, usize>,
    pub(super) safe_names: BTreeMap<PathBuf, usize>,
    pub(super) waiting: Vec<Name>,
    pub(super) passing: usize,
}

/// What becomes of one unsynced change in a power cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    Kept,
    Dropped,
    /// Half of the bytes.
    Torn,
}

fn change(bytes: &mut Vec<u8>, what: &Bytes) {
    match what {
        Bytes::Write(at, new) => {
            let end = at + new.len();
            if bytes.len() < end {
                bytes.resize(end, 0);
            }
            bytes[*at..end].copy_from_slice(new);
        }
        Bytes::Cut(length) => bytes.resize(*length, 0),
    }
}

fn rename(names: &mut BTreeMap<PathBuf, usize>, what: &Name) {
    match what {
        Name::Give(path, node) => {
            names.insert(path.clone(), *node);
        }
        Name::Take(path) => {
            names.remove(path);
        }
        Name::Move(from, to, node) => {
            names.remove(from);
            names.insert(to.clone(), *node);
        }
    }
}

impl World {
    /// With one file, long since on the disk.
    pub fn with(path: &Path, bytes: &[u8]) -> World {
        let mut world = World::default();
        world.put(path, bytes);
        world
    }

    /// A file put there by something else, safely.
    pub fn put(&mut self, path: &Path, bytes: &[u8]) {
        self.nodes.push(Node {
            live: bytes.to_vec(),
            safe: bytes.to_vec(),
            waiting: Vec::new(),
        });
        let node = self.nodes.len() - 1;
        self.names.insert(path.to_path_buf(), node);
        self.safe_names.insert(path.to_path_buf(), node);
    }

    /// Removes a name, safely.
    pub fn take(&mut self, path: &Path) {
        self.names.remove(path);
        self.safe_names.remove(path);
    }

    pub fn read(&self, path: &Path) -> Option<&[u8]> {
        self.names.get(path).map(|n| self.nodes[*n].live.as_slice())
    }

    /// All files that have a name, with their bytes.
    pub fn files(&self) -> impl Iterator<Item = (&PathBuf, &[u8])> {
        self.names
            .iter()
            .map(|(p, n)| (p, self.nodes[*n].live.as_slice()))
    }

    /// Files whose unsynced changes matter.
    fn reachable(&self) -> BTreeSet<usize> {
        self.names
            .values()
            .chain(self.safe_names.values())
            .copied()
            .collect()
    }

    /// The fates of everything unsynced: all combinations where they are few, else the two extremes and some by chance.
    pub fn fates(&self, most: usize, chance: &mut Chance) -> Vec<Vec<Fate>> {
        const OF_BYTES: &[Fate] = &[Fate::Kept, Fate::Dropped, Fate::Torn];
        let kinds: Vec<&[Fate]> = self
            .reachable()
            .iter()
            .flat_map(|n| &self.nodes[*n].waiting)
            .map(|_| OF_BYTES)
            .chain(self.waiting.iter().map(|_| &OF_BYTES[..2]))
            .collect();
        let all = kinds
            .iter()
            .try_fold(1_usize, |n, k| n.checked_mul(k.len()))
            .filter(|n| *n <= most);
        match all {
            Some(all) => (0..all)
                .map(|mut i| {
                    kinds
                        .iter()
                        .map(|k| {
                            let fate = k[i % k.len()];
                            i /= k.len();
                            fate
                        })
                        .collect()
                })
                .collect(),
            None => {
                let mut out = vec![
                    vec![Fate::Kept; kinds.len()],
                    vec![Fate::Dropped; kinds.len()],
                ];
                while out.len() < most {
                    out.push(kinds.iter().map(|k| k[chance.below(k.len())]).collect());
                }
                out
            }
        }
    }

    /// What is there after the power was cut.
    pub fn after_power_cut(&self, fates: &[Fate]) -> World {
        let mut next = fates.iter();
        let mut world = World::default();
        let reachable = self.reachable();
        for (i, node) in self.nodes.iter().enumerate() {
            let mut bytes = node.safe.clone();
            if reachable.contains(&i) {
                for what in &node.waiting {
                    match (next.next().unwrap(), what) {
                        (Fate::Kept, what) => change(&mut bytes, what),
                        (Fate::Torn, Bytes::Write(at, new)) => {
                            let half = new[..new.len() / 2].to_vec();
                            change(&mut bytes, &Bytes::Write(*at, half));
                        }
                        (Fate::Dropped | Fate::Torn, _) => {}
                    }
                }
            }
            world.nodes.push(Node {
                live: bytes.clone(),
                safe: bytes,
                waiting: Vec::new(),
            });
        }
        world.names = self.safe_names.clone();
        for name in &self.waiting {
            if next.next().unwrap() == &Fate::Kept {
                rename(&mut world.names, name);
            }
        }
        world.safe_names = world.names.clone();
        world
    }

    pub(super) fn sync(&mut self, node: usize) {
        let node = &mut self.nodes[node];
        // Only what waits: what a failed sync forgot stays forgotten.
        for what in std::mem::take(&mut node.waiting) {
            change(&mut node.safe, &what);
        }
    }

    pub(super) fn edit(&mut self, node: usize, what: Bytes) {
        change(&mut self.nodes[node].live, &what);
        self.nodes[node].waiting.push(what);
    }

    pub(super) fn name(&mut self, what: Name) {
        rename(&mut self.names, &what);
        self.waiting.push(what);
    }

    pub(super) fn node(&mut self) -> usize {
        self.nodes.push(Node::default());
        self.nodes.len() - 1
    }
}
