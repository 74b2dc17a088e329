//! How boards hang together and what sources feed into each circuit, prepared once for a job of any size.

use std::collections::HashMap;
use std::sync::Arc;

use rust_decimal::Decimal;

use crate::job::{
    Board, Branch, Circuit, CircuitKind, Inverter, InverterKind, Job, Layout, Lines, Phases,
};

/// Sub-mains in a row that are added up part by part. No installation has as many; a longer row would make the reason of every
/// circuit as long as the row.
pub(super) const DEEPEST: usize = 16;

/// Lines one by one.
pub(super) const EACH: [Lines; 3] = [Lines::L1, Lines::L2, Lines::L3];

/// Current of everything that feeds into a circuit, itself or from boards beyond it, A.
#[derive(Debug, Clone, Default)]
pub(super) struct Fed {
    /// Of three-phase inverters: on each line alike, so nothing in the neutral.
    three: Decimal,
    /// Of single-phase inverters, on each line.
    single: [Decimal; 3],
    /// A source circuit of which nothing is known, neither an inverter nor a design current.
    pub(super) unknown: Option<String>,
    /// Rated current of the devices of such circuits: they can't feed in more for long, A.
    unknown_a: Decimal,
}

impl Fed {
    /// Of single-phase and of three-phase inverters on a line; the others may stand still.
    pub(super) fn on(&self, line: Lines) -> (Decimal, Decimal) {
        let [l1, l2, l3] = self.single;
        let single = match line {
            Lines::L1 => l1,
            Lines::L2 => l2,
            Lines::L3 => l3,
            Lines::All => l1.max(l2).max(l3),
        };
        (single, self.three)
    }

    /// On the line with the most.
    pub(super) fn most(&self) -> Decimal {
        let (single, three) = self.on(Lines::All);
        single.saturating_add(three)
    }

    /// The most that sources can bring on one line, those of which nothing is known by their devices.
    pub(super) fn at_most(&self) -> Decimal {
        self.most().saturating_add(self.unknown_a)
    }

    /// Adds single-phase current on one line; on each where it isn't known on which.
    fn add_single(&mut self, amps: Decimal, to: Lines) {
        for (line, sum) in EACH.into_iter().zip(&mut self.single) {
            if to == line || to == Lines::All {
                *sum = sum.saturating_add(amps);
            }
        }
    }

    fn add_source(&mut self, amps: Decimal, phases: Phases, lines: Lines) {
        if phases == Phases::Three && lines == Lines::All {
            self.three = self.three.saturating_add(amps);
        } else {
            self.add_single(amps, lines);
        }
    }

    /// Adds all that feeds into a part of this.
    fn add(&mut self, part: &Fed) {
        self.three = self.three.saturating_add(part.three);
        for (line, amps) in EACH.into_iter().zip(part.single) {
            self.add_single(amps, line);
        }
        self.take_unknown(part);
    }

    fn take_unknown(&mut self, part: &Fed) {
        self.unknown = self.unknown.take().or_else(|| part.unknown.clone());
        self.unknown_a = self.unknown_a.saturating_add(part.unknown_a);
    }

    /// Adds what a board feeds into the circuit ahead of it.
    fn add_board(&mut self, board: &Fed, phases: Phases, ahead: Lines) {
        if phases == Phases::Three && ahead == Lines::All {
            self.add(board);
            return;
        }
        // One conductor carries all of it.
        let [l1, l2, l3] = board.single;
        let all = [l1, l2, l3]
            .iter()
            .fold(board.three, |sum, amps| sum.saturating_add(*amps));
        self.add_single(all, ahead);
        self.take_unknown(board);
    }
}

/// A branch with the inverter at each of its modules.
pub(super) type OnTrunk<'a> = (String, &'a Branch, &'a Inverter);

/// What [`super::Judge`] knows of the whole.
#[derive(Debug)]
pub(super) struct Network<'a> {
    job: &'a Job,
    laid: Arc<Laid>,
}

/// Laid out once until the record itself is edited: positions, and nothing that was read.
#[derive(Debug, Default)]
pub(super) struct Laid {
    fed: HashMap<String, Fed>,
    /// The same for a whole board, by its id.
    boards: HashMap<String, Fed>,
    /// Array, branch and inverter on a circuit.
    branches: HashMap<String, Vec<(usize, usize, usize)>>,
    /// Boards by the circuit that feeds them.
    beyond: HashMap<String, Vec<usize>>,
}

impl Laid {
    /// Lays it out. `circuits` are all circuits of the job by their path.
    pub(super) fn of<'j>(
        job: &'j Job,
        circuits: &HashMap<String, (&'j Board, &'j Circuit)>,
    ) -> Laid {
        let mut out = Laid::default();
        let mut direct: HashMap<&str, Fed> = HashMap::new();
        let mut source = |path: &'j str, amps: Decimal, phases: Phases| {
            let lines = circuits.get(path).map_or(Lines::All, |(_, c)| c.lines);
            let fed = direct.entry(path).or_default();
            fed.add_source(amps, phases, lines);
        };
        let mut inverters: HashMap<&str, (usize, &Inverter)> = HashMap::new();
        for (i, inverter) in job.inverters.iter().enumerate() {
            inverters.entry(&inverter.id).or_insert((i, inverter));
            if inverter.kind != InverterKind::Micro {
                source(&inverter.circuit, inverter.rated_a, inverter.phases);
            }
        }
        for (a, array) in job.arrays.iter().enumerate() {
            let (Layout::Branches(branches), Some((i, inverter))) =
                (&array.layout, inverters.get(array.inverter.as_str()))
            else {
                continue;
            };
            for (b, branch) in branches.iter().enumerate() {
                let units = Decimal::from(branch.units.len());
                let amps = inverter.rated_a.saturating_mul(units);
                source(&branch.circuit, amps, inverter.phases);
                let on = out.branches.entry(branch.circuit.clone()).or_default();
                on.push((a, b, *i));
            }
        }
        for (i, board) in job.boards.iter().enumerate() {
            let beyond = out.beyond.entry(board.fed_from.clone()).or_default();
            beyond.push(i);
        }
        // From the origin outwards, then summed on the way back. Boards in a circle are never reached, and two of one name
        // don't go round for ever.
        let mut order: Vec<&Board> = job
            .boards
            .iter()
            .filter(|b| !circuits.contains_key(&b.fed_from))
            .collect();
        let mut at = 0;
        while let Some(board) = order.get(at).copied()
            && at < job.boards.len()
        {
            at += 1;
            for circuit in &board.circuits {
                let path = board.path(circuit);
                order.extend(out.beyond(job, &path));
            }
        }
        for board in order.iter().rev() {
            let mut total = Fed::default();
            for circuit in &board.circuits {
                let path = board.path(circuit);
                let mut fed = match direct.get(path.as_str()) {
                    Some(fed) => fed.clone(),
                    None => unlisted(circuit, &path),
                };
                for next in out.beyond(job, &path) {
                    if let Some(theirs) = out.boards.get(next.id.as_str()) {
                        fed.add_board(theirs, next.phases, circuit.lines);
                    }
                }
                total.add(&fed);
                out.fed.insert(path, fed);
            }
            out.boards.insert(board.id.clone(), total);
        }
        out
    }

    /// Boards that a circuit feeds.
    fn beyond<'j>(&self, job: &'j Job, path: &str) -> impl Iterator<Item = &'j Board> {
        let beyond = self.beyond.get(path).map_or(&[][..], Vec::as_slice);
        beyond.iter().filter_map(|i| job.boards.get(*i))
    }
}

impl<'a> Network<'a> {
    /// Of a job, as it was laid out.
    pub(super) fn of(job: &'a Job, laid: Arc<Laid>) -> Network<'a> {
        Network { job, laid }
    }

    /// What feeds into a circuit; `None` where it isn't known how the circuit hangs on the origin.
    pub(super) fn fed(&self, path: &str) -> Option<&Fed> {
        self.laid.fed.get(path)
    }

    /// What feeds into a board, itself or from boards beyond it; `None` where it isn't known how it hangs on the origin.
    pub(super) fn through_board(&self, board: &Board) -> Option<&Fed> {
        self.laid.boards.get(board.id.as_str())
    }

    /// Branches of micro-inverters on a circuit, each with its name.
    pub(super) fn branches(&self, path: &str) -> Vec<OnTrunk<'a>> {
        let all = self.laid.branches.get(path).into_iter().flatten();
        let job = self.job;
        all.filter_map(|(a, b, i)| {
            let array = job.arrays.get(*a)?;
            let Layout::Branches(branches) = &array.layout else {
                return None;
            };
            let branch = branches.get(*b)?;
            let name = format!("{}/{}", array.id, branch.id);
            Some((name, branch, job.inverters.get(*i)?))
        })
        .collect()
    }

    /// Boards that a circuit feeds.
    pub(super) fn boards_beyond(&self, path: &str) -> Vec<&'a Board> {
        self.laid.beyond(self.job, path).collect()
    }
}

/// A source circuit without a listed inverter feeds in its design current.
fn unlisted(circuit: &Circuit, path: &str) -> Fed {
    let mut fed = Fed::default();
    if circuit.kind == CircuitKind::Source {
        match circuit.design_a {
            Some(amps) if circuit.lines == Lines::All => fed.three = amps,
            Some(amps) => fed.add_single(amps, circuit.lines),
            None => {
                fed.unknown = Some(path.to_string());
                let rated = circuit.device.as_ref().map(|d| d.rating_a);
                fed.unknown_a = rated.unwrap_or_default();
            }
        }
    }
    fed
}
