//! Boards as a tree, with what is asked of every circuit of a large job prepared once: what protects it from ahead, what
//! feeds back behind it, and what lies between it and the origin.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::sync::Arc;

use rust_decimal::Decimal;

use super::{Judge, continuity};
use crate::job::{
    Board, Circuit, CircuitKind, Inverter, InverterKind, Job, Layout, Owner, Rcd, RcdType, Seat,
};

/// The boards of a job as they hang on each other.
#[derive(Debug)]
pub(super) struct Tree<'a> {
    job: &'a Job,
    laid: Arc<Laid>,
}

/// Laid out from a job in time in proportion to its size. Holds positions, and nothing that was read, so that it lasts until
/// the record itself is edited.
#[derive(Debug)]
pub(super) struct Laid {
    /// Index of each board by id.
    index: HashMap<String, usize>,
    /// One for each board, in the order of the file.
    nodes: Vec<Node>,
    /// Boards with every one behind what feeds it.
    order: Vec<usize>,
    /// Rated residual current of the least sensitive RCD of the job, mA.
    largest_idn: Option<Decimal>,
    /// What feeds a circuit, by its path: how many units, and the current of each.
    fed: HashMap<String, Vec<(usize, Decimal)>>,
    /// Paths of circuits with an inverter that isn't a micro-inverter.
    others_on: HashSet<String>,
    /// Positions of the inverters by id.
    inverters: HashMap<String, usize>,
}

#[derive(Debug, Default)]
struct Node {
    /// Board and circuit that feed it, where they exist.
    feeding: Option<(usize, usize)>,
    /// On a loop of boards that feed each other.
    looped: bool,
    /// RCDs ahead of all its circuits.
    ahead: Ahead<RcdAt>,
    /// Positions of its circuits by id.
    circuits: HashMap<String, usize>,
    /// Circuits that feed a board with sources.
    returning: HashSet<usize>,
}

/// Where an RCD is: ahead of a board, or of one of its circuits.
type RcdAt = (usize, Option<usize>);

/// What is asked of a chain of RCDs, the nearest first.
#[derive(Debug, Clone, Copy)]
struct Ahead<R> {
    /// The nearest.
    nearest: Option<R>,
    /// The nearest that gives additional protection and isn't type AC.
    serving: Option<R>,
    /// The same of type AC.
    serving_ac: Option<R>,
}

impl<R> Default for Ahead<R> {
    fn default() -> Self {
        Ahead {
            nearest: None,
            serving: None,
            serving_ac: None,
        }
    }
}

impl<R: Copy> Ahead<R> {
    /// The same with one that is nearer.
    fn behind(self, rcd: Option<(&Rcd, R)>, additional_ma: Option<Decimal>) -> Ahead<R> {
        let Some((rcd, at)) = rcd else {
            return self;
        };
        let serves = additional_ma.is_some_and(|most| rcd.idn_ma <= most) && !rcd.selective;
        let is_ac = rcd.kind == RcdType::AC;
        Ahead {
            nearest: Some(at),
            serving: Some(at).filter(|_| serves && !is_ac).or(self.serving),
            serving_ac: Some(at).filter(|_| serves && is_ac).or(self.serving_ac),
        }
    }
}

impl Laid {
    /// Of a whole job; `additional_ma` is the most that an RCD for additional protection may have.
    pub(super) fn of(job: &Job, additional_ma: Option<Decimal>) -> Laid {
        let index: HashMap<String, usize> = job
            .boards
            .iter()
            .enumerate()
            .map(|(i, b)| (b.id.clone(), i))
            .collect();
        let mut nodes: Vec<Node> = job
            .boards
            .iter()
            .map(|b| Node {
                circuits: b
                    .circuits
                    .iter()
                    .enumerate()
                    .map(|(i, c)| (c.id.clone(), i))
                    .collect(),
                ..Node::default()
            })
            .collect();
        for (i, board) in job.boards.iter().enumerate() {
            let feeding = board.fed_from.split_once('/').and_then(|(b, c)| {
                let b = *index.get(b)?;
                Some((b, *nodes.get(b)?.circuits.get(c)?))
            });
            if let Some(node) = nodes.get_mut(i) {
                node.feeding = feeding;
            }
        }
        let mut tree = Laid {
            order: Vec::with_capacity(nodes.len()),
            index,
            nodes,
            largest_idn: largest_idn(job),
            fed: HashMap::new(),
            others_on: HashSet::new(),
            inverters: HashMap::new(),
        };
        tree.put_in_order();
        tree.look_ahead(job, additional_ma);
        tree.look_behind(job);
        tree.sum_inverters(job);
        tree
    }

    /// Feeding boards first. A loop, which a sound file doesn't have, is cut anywhere.
    fn put_in_order(&mut self) {
        #[derive(Clone, Copy, PartialEq)]
        enum Seen {
            No,
            Now,
            Done,
        }
        let mut seen = vec![Seen::No; self.nodes.len()];
        for start in 0..self.nodes.len() {
            let mut path = Vec::new();
            let mut at = Some(start);
            while let Some(i) = at {
                match seen.get(i).copied().unwrap_or(Seen::Done) {
                    Seen::Done => break,
                    Seen::Now => {
                        if let Some(node) = self.nodes.get_mut(i) {
                            node.looped = true;
                        }
                        break;
                    }
                    Seen::No => {}
                }
                if let Some(s) = seen.get_mut(i) {
                    *s = Seen::Now;
                }
                path.push(i);
                at = self.nodes.get(i).and_then(|n| n.feeding).map(|(b, _)| b);
            }
            for i in path.into_iter().rev() {
                if let Some(s) = seen.get_mut(i) {
                    *s = Seen::Done;
                }
                self.order.push(i);
            }
        }
    }

    fn look_ahead(&mut self, job: &Job, additional_ma: Option<Decimal>) {
        for i in self.order.clone() {
            let Some(board) = job.boards.get(i) else {
                continue;
            };
            let above = self.feeding(i).map_or(Ahead::default(), |(b, c)| {
                let feeds = job.boards.get(b).and_then(|b| b.circuits.get(c));
                // In island mode no RCD ahead of the inverter is in the way of a fault beyond its backup output.
                if feeds.is_some_and(|c| c.kind == CircuitKind::Source) {
                    return Ahead::default();
                }
                let above = self.nodes.get(b).map(|n| n.ahead).unwrap_or_default();
                let rcd = feeds.and_then(|c| c.rcd.as_ref());
                above.behind(rcd.map(|r| (r, (b, Some(c)))), additional_ma)
            });
            if let Some(node) = self.nodes.get_mut(i) {
                node.ahead =
                    above.behind(board.rcd.as_ref().map(|r| (r, (i, None))), additional_ma);
            }
        }
    }

    fn look_behind(&mut self, job: &Job) {
        for i in self.order.iter().rev().copied().collect::<Vec<_>>() {
            let Some((board, node)) = job.boards.get(i).zip(self.nodes.get(i)) else {
                continue;
            };
            let own = board.circuits.iter().any(|c| c.kind == CircuitKind::Source);
            let sources = own || !node.returning.is_empty();
            let Some((b, c)) = node.feeding.filter(|_| sources) else {
                continue;
            };
            let through = job.boards.get(b).and_then(|b| b.circuits.get(c));
            if through.is_some_and(|c| c.kind == CircuitKind::Distribution)
                && let Some(feeding) = self.nodes.get_mut(b)
            {
                feeding.returning.insert(c);
            }
        }
    }

    fn sum_inverters(&mut self, job: &Job) {
        let mut arrays: HashMap<&str, Vec<&Layout>> = HashMap::new();
        for a in &job.arrays {
            arrays.entry(&a.inverter).or_default().push(&a.layout);
        }
        for (i, inverter) in job.inverters.iter().enumerate() {
            self.inverters.entry(inverter.id.clone()).or_insert(i);
            let mut units: BTreeMap<&str, usize> = BTreeMap::new();
            if inverter.kind == InverterKind::Micro {
                for layout in arrays.get(inverter.id.as_str()).into_iter().flatten() {
                    if let Layout::Branches(branches) = layout {
                        for b in branches {
                            *units.entry(&b.circuit).or_default() += b.units.len();
                        }
                    }
                }
            } else {
                self.others_on.insert(inverter.circuit.clone());
                units.insert(&inverter.circuit, 1);
            }
            for (path, n) in units.into_iter().filter(|(_, n)| *n > 0) {
                self.fed
                    .entry(path.to_string())
                    .or_default()
                    .push((n, inverter.rated_a));
            }
        }
    }

    fn feeding(&self, i: usize) -> Option<(usize, usize)> {
        self.nodes.get(i).filter(|n| !n.looped)?.feeding
    }
}

impl<'a> Tree<'a> {
    /// Of a job, as it was laid out.
    pub(super) fn of(job: &'a Job, laid: Arc<Laid>) -> Tree<'a> {
        Tree { job, laid }
    }

    /// Rated residual current of the least sensitive RCD of the job, mA.
    pub(super) fn largest_idn(&self) -> Option<Decimal> {
        self.laid.largest_idn
    }

    fn node(&self, board: &Board) -> Option<&Node> {
        self.laid.nodes.get(self.index(board)?)
    }

    fn rcd(&self, (board, circuit): RcdAt) -> Option<&'a Rcd> {
        let board = self.job.boards.get(board)?;
        match circuit {
            Some(c) => board.circuits.get(c)?.rcd.as_ref(),
            None => board.rcd.as_ref(),
        }
    }

    /// Position of a circuit on its board.
    pub(super) fn position(&self, board: &Board, circuit: &Circuit) -> Option<usize> {
        self.node(board)?.circuits.get(circuit.id.as_str()).copied()
    }

    /// Whether power can come back through a circuit: a source is on it, or on a board that it feeds.
    pub(super) fn power_may_return(&self, board: &Board, circuit: &Circuit) -> bool {
        match circuit.kind {
            CircuitKind::Source => true,
            CircuitKind::Distribution => self.node(board).is_some_and(|node| {
                let at = node.circuits.get(circuit.id.as_str());
                at.is_some_and(|i| node.returning.contains(i))
            }),
            _ => false,
        }
    }

    /// The nearest RCD that is ahead of all circuits of a board.
    pub(super) fn rcd_ahead(&self, board: &Board) -> Option<&'a Rcd> {
        self.rcd(self.node(board)?.ahead.nearest?)
    }

    /// The RCD that protects a circuit: its own, the board's, or the nearest one upstream.
    pub(super) fn protecting_rcd<'c>(&self, board: &Board, circuit: &'c Circuit) -> Option<&'c Rcd>
    where
        'a: 'c,
    {
        circuit.rcd.as_ref().or_else(|| self.rcd_ahead(board))
    }

    /// Circuits that the RCD of a board or circuit is the nearest to, with their boards.
    pub(super) fn protected_by(&self, owner: Owner<'_>) -> Vec<(&'a Board, &'a Circuit)> {
        let at: Option<RcdAt> = match owner {
            Owner::Board(board) => self.index(board).map(|b| (b, None)),
            Owner::Circuit(board, circuit) => {
                let position = self.position(board, circuit);
                position.and_then(|c| Some((self.index(board)?, Some(c))))
            }
            _ => None,
        };
        let boards = self.job.boards.iter().zip(&self.laid.nodes).enumerate();
        let circuits = boards.flat_map(|(b, (board, node))| {
            let all = board.circuits.iter().enumerate();
            all.map(move |(c, circuit)| {
                let own = circuit.rcd.is_some().then_some((b, Some(c)));
                (board, circuit, own.or(node.ahead.nearest))
            })
        });
        circuits
            .filter(|(_, _, nearest)| nearest.is_some() && *nearest == at)
            .map(|(board, circuit, _)| (board, circuit))
            .collect()
    }

    /// The RCD that gives a circuit additional protection: the nearest that isn't type AC, else the nearest of type AC.
    pub(super) fn additional_rcd<'c>(
        &self,
        board: &Board,
        circuit: &'c Circuit,
        most_ma: Decimal,
    ) -> Option<&'c Rcd>
    where
        'a: 'c,
    {
        let ahead = self.node(board).map(|n| n.ahead).unwrap_or_default();
        let rcd = |at: Option<RcdAt>| at.and_then(|at| self.rcd(at));
        let ahead: Ahead<&'c Rcd> = Ahead {
            nearest: rcd(ahead.nearest),
            serving: rcd(ahead.serving),
            serving_ac: rcd(ahead.serving_ac),
        };
        let all = ahead.behind(circuit.rcd.as_ref().map(|r| (r, r)), Some(most_ma));
        all.serving.or(all.serving_ac)
    }

    /// What feeds the circuit of that path: how many units, and the current of each, A.
    pub(super) fn feeds(&self, path: &str) -> &[(usize, Decimal)] {
        self.laid.fed.get(path).map_or(&[], Vec::as_slice)
    }

    /// Whether an inverter that isn't a micro-inverter is on the circuit of that path.
    pub(super) fn has_other_inverter(&self, path: &str) -> bool {
        self.laid.others_on.contains(path)
    }

    /// The inverter with that id.
    pub(super) fn inverter(&self, id: &str) -> Option<&'a Inverter> {
        self.job.inverters.get(*self.laid.inverters.get(id)?)
    }

    /// R1+R2 of everything between each board and the origin by length, Ω; `None` where a length is missing.
    pub(super) fn sub_mains(&self, judge: &Judge<'a>) -> Vec<Option<Decimal>> {
        let mut out: Vec<Option<Decimal>> = vec![None; self.laid.nodes.len()];
        for i in &self.laid.order {
            let Some(board) = judge.job.boards.get(*i) else {
                continue;
            };
            let ohm = if board.fed_from.is_empty() {
                Some(Decimal::ZERO)
            } else {
                self.laid.feeding(*i).and_then(|(b, c)| {
                    let above = (*out.get(b)?)?;
                    let feeding = judge.job.boards.get(b)?;
                    let circuit = feeding.circuits.get(c)?;
                    let (expected, _) = continuity::by_length(judge, &seat(feeding, circuit))?;
                    above.checked_add(expected)
                })
            };
            if let Some(slot) = out.get_mut(*i) {
                *slot = ohm;
            }
        }
        out
    }

    /// Index of a board, for what is kept by board.
    pub(super) fn index(&self, board: &Board) -> Option<usize> {
        self.laid.index.get(board.id.as_str()).copied()
    }
}

/// The seat of a circuit.
pub(super) fn seat<'a>(board: &'a Board, circuit: &'a Circuit) -> Seat<'a> {
    Seat {
        top: &board.id,
        part: Some(circuit.id.as_str().into()),
        owner: Owner::Circuit(board, circuit),
        readings: &circuit.readings,
    }
}

fn largest_idn(job: &Job) -> Option<Decimal> {
    let boards = job.boards.iter();
    boards
        .flat_map(|b| {
            b.rcd
                .iter()
                .chain(b.circuits.iter().filter_map(|c| c.rcd.as_ref()))
        })
        .map(|rcd| rcd.idn_ma)
        .max()
}
