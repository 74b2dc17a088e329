//! What hangs on what: boards from the origin outwards, and inverters with their modules and batteries on their circuits.

use std::collections::{BTreeMap, HashMap};

use crate::job::{
    Array, Board, Branch, CircuitKind, Inverter, InverterKind, Job, Layout, PvString, Storage,
};

/// What a board is fed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fed<'a> {
    /// The origin.
    Origin,
    /// A circuit, by its position, of an earlier board in [`Tree::boards`].
    Way(usize, usize),
    /// The backup output of what is on a circuit, by its position as above.
    Backup(usize, usize),
    /// Something that the record doesn't have, or itself.
    Unknown(&'a str),
}

/// A board in its place.
#[derive(Debug)]
pub(super) struct Node<'a> {
    pub(super) board: &'a Board,
    pub(super) fed: Fed<'a>,
    /// Positions of its circuits that feed boards, with those boards in [`Tree::boards`].
    pub(super) feeds: BTreeMap<usize, Vec<usize>>,
}

/// What hangs on the d.c. side of an inverter.
#[derive(Debug)]
pub(super) enum Behind<'a> {
    Modules(&'a Array, &'a PvString),
    Battery(&'a Storage),
}

/// What feeds into a circuit.
#[derive(Debug)]
pub(super) enum Source<'a> {
    Inverter(&'a Inverter, Vec<Behind<'a>>),
    Branch(&'a Array, &'a Branch, Option<&'a Inverter>),
}

/// A whole job.
#[derive(Debug, Default)]
pub(super) struct Tree<'a> {
    /// Every board, each after the one that feeds it and followed by those that it feeds.
    pub(super) boards: Vec<Node<'a>>,
    /// What is on each circuit, by its path.
    pub(super) sources: HashMap<&'a str, Vec<Source<'a>>>,
    /// What the record doesn't say where to put.
    pub(super) loose: Vec<String>,
}

impl<'a> Tree<'a> {
    /// Of a job, in time in proportion to its size.
    pub(super) fn of(job: &'a Job) -> Tree<'a> {
        let mut tree = Tree::default();
        tree.hang_boards(job);
        tree.hang_sources(job);
        tree
    }

    fn hang_boards(&mut self, job: &'a Job) {
        let mut ways: HashMap<(&str, &str), (usize, usize)> = HashMap::new();
        for (b, board) in job.boards.iter().enumerate() {
            for (c, circuit) in board.circuits.iter().enumerate() {
                ways.entry((&board.id, &circuit.id)).or_insert((b, c));
            }
        }
        let feeding = |board: &'a Board| -> Option<(usize, usize)> {
            ways.get(&board.fed_from.split_once('/')?).copied()
        };
        let mut beyond: HashMap<usize, Vec<(usize, usize)>> = HashMap::new();
        let mut first = Vec::new();
        for (b, board) in job.boards.iter().enumerate() {
            match feeding(board) {
                Some((from, way)) => beyond.entry(from).or_default().push((way, b)),
                None => first.push(b),
            }
        }
        for on in beyond.values_mut() {
            on.sort_unstable();
        }
        let mut placed = vec![false; job.boards.len()];
        // Boards that feed each other in a circle are reached from none: they start on their own.
        for start in first.into_iter().chain(0..job.boards.len()) {
            let mut next: Vec<(usize, Option<(usize, usize)>)> = vec![(start, None)];
            while let Some((b, from)) = next.pop() {
                let Some(board) = job.boards.get(b) else {
                    continue;
                };
                let Some(seen) = placed.get_mut(b).filter(|seen| !**seen) else {
                    continue;
                };
                *seen = true;
                let at = self.boards.len();
                let source = from.is_some_and(|(node, way)| {
                    let node = self.boards.get(node);
                    let way = node.and_then(|n| n.board.circuits.get(way));
                    way.is_some_and(|c| c.kind == CircuitKind::Source)
                });
                // What a backup output feeds doesn't hang on the busbar that the inverter is on.
                if let Some((node, way)) = from.filter(|_| !source)
                    && let Some(node) = self.boards.get_mut(node)
                {
                    node.feeds.entry(way).or_default().push(at);
                }
                self.boards.push(Node {
                    board,
                    fed: match from {
                        Some((node, way)) if source => Fed::Backup(node, way),
                        Some((node, way)) => Fed::Way(node, way),
                        None if board.fed_from.is_empty() => Fed::Origin,
                        None => Fed::Unknown(&board.fed_from),
                    },
                    feeds: BTreeMap::new(),
                });
                let on = beyond.get(&b).map_or(&[][..], Vec::as_slice);
                next.extend(on.iter().rev().map(|(way, b)| (*b, Some((at, *way)))));
            }
        }
    }

    fn hang_sources(&mut self, job: &'a Job) {
        let paths: HashMap<String, ()> = job
            .boards
            .iter()
            .flat_map(|b| b.circuits.iter().map(move |c| (b, c)))
            .map(|(b, c)| (b.path(c), ()))
            .collect();
        let mut inverters: HashMap<&str, &Inverter> = HashMap::new();
        for v in &job.inverters {
            inverters.entry(&v.id).or_insert(v);
        }
        let mut behind: HashMap<&str, Vec<Behind<'a>>> = HashMap::new();
        let mut hang = |id: &'a str, what: Behind<'a>, loose: &mut Vec<String>| {
            let drawn = inverters
                .get(id)
                .is_some_and(|v| v.kind != InverterKind::Micro);
            if drawn {
                behind.entry(id).or_default().push(what);
            } else {
                loose.push(match what {
                    Behind::Modules(a, s) => format!("string {}/{}", a.id, s.id),
                    Behind::Battery(s) => format!("storage {}", s.id),
                });
            }
        };
        for array in &job.arrays {
            match &array.layout {
                Layout::Strings(strings) => {
                    for s in strings {
                        hang(&array.inverter, Behind::Modules(array, s), &mut self.loose);
                    }
                }
                Layout::Branches(branches) => {
                    for b in branches {
                        if paths.contains_key(&b.circuit) {
                            let kind = inverters.get(array.inverter.as_str()).copied();
                            let on = self.sources.entry(&b.circuit).or_default();
                            on.push(Source::Branch(array, b, kind));
                        } else {
                            self.loose.push(format!("branch {}/{}", array.id, b.id));
                        }
                    }
                }
            }
        }
        for s in &job.storage {
            hang(&s.inverter, Behind::Battery(s), &mut self.loose);
        }
        for v in job
            .inverters
            .iter()
            .filter(|v| v.kind != InverterKind::Micro)
        {
            if paths.contains_key(&v.circuit) {
                let on = self.sources.entry(&v.circuit).or_default();
                on.push(Source::Inverter(
                    v,
                    behind.remove(v.id.as_str()).unwrap_or_default(),
                ));
            } else {
                self.loose.push(format!("inverter {}", v.id));
            }
        }
    }
}
