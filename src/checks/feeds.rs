//! Which boards a circuit feeds, and what all sources behind a board can bring it: prepared once for a whole job.

use std::collections::HashMap;

use rust_decimal::Decimal;

use crate::job::{Board, Circuit, CircuitKind, InverterKind, Job, Layout, Lines, Phases};

/// Rated current of sources by line, A.
type ByLine = [Decimal; 3];

/// The tree of boards.
#[derive(Debug)]
pub(super) struct Feeds<'a> {
    /// Boards by the path of the circuit that feeds them.
    below: HashMap<&'a str, Vec<&'a Board>>,
    /// Rated current of everything that feeds back through a board, by its id.
    sources: HashMap<&'a str, ByLine>,
}

impl<'a> Feeds<'a> {
    pub(super) fn of(job: &'a Job, circuits: &HashMap<String, (&'a Board, &'a Circuit)>) -> Self {
        let mut below: HashMap<&str, Vec<&Board>> = HashMap::new();
        for board in job.boards.iter().filter(|b| !b.fed_from.is_empty()) {
            below.entry(&board.fed_from).or_default().push(board);
        }
        let rated = rated(job);
        let mut sources: HashMap<&str, ByLine> = HashMap::new();
        for board in &job.boards {
            for circuit in board
                .circuits
                .iter()
                .filter(|c| c.kind == CircuitKind::Source)
            {
                let path = format!("{}/{}", board.id, circuit.id);
                let amps = rated.get(&path).copied().or(circuit.design_a);
                let device = || circuit.device.as_ref().map(|d| d.rating_a);
                let amps = amps.or_else(device).unwrap_or_default();
                // From its own board up to the origin.
                let (mut at, mut lines) = (board, circuit.lines);
                for _ in 0..=job.boards.len() {
                    if at.phases == Phases::Single {
                        lines = Lines::L1;
                    }
                    add(sources.entry(&at.id).or_default(), lines, amps);
                    let Some((feeding, sub_main)) = circuits.get(&at.fed_from) else {
                        break;
                    };
                    if at.phases == Phases::Single {
                        lines = sub_main.lines;
                    }
                    at = feeding;
                }
            }
        }
        Feeds { below, sources }
    }

    /// Boards that a circuit feeds.
    pub(super) fn boards(&self, board: &Board, circuit: &Circuit) -> &[&'a Board] {
        let path = format!("{}/{}", board.id, circuit.id);
        self.below.get(path.as_str()).map_or(&[], Vec::as_slice)
    }

    /// What sources bring to the most loaded line of a board, A; zero without any.
    pub(super) fn sources_a(&self, board: &Board) -> Decimal {
        let sums = self.sources.get(board.id.as_str());
        sums.and_then(|lines| lines.iter().max().copied())
            .unwrap_or_default()
    }
}

fn add(sums: &mut ByLine, on: Lines, amps: Decimal) {
    let lines = [Lines::L1, Lines::L2, Lines::L3];
    for (sum, line) in sums.iter_mut().zip(lines) {
        if on == Lines::All || on == line {
            *sum = sum.saturating_add(amps);
        }
    }
}

/// Rated current of the inverters by the path of the circuit they are on.
fn rated(job: &Job) -> HashMap<String, Decimal> {
    let mut out: HashMap<String, Decimal> = HashMap::new();
    let mut on = |path: &str, amps: Decimal| {
        let sum = out.entry(path.to_string()).or_default();
        *sum = sum.saturating_add(amps);
    };
    for inverter in job
        .inverters
        .iter()
        .filter(|i| i.kind != InverterKind::Micro)
    {
        on(&inverter.circuit, inverter.rated_a);
    }
    for array in &job.arrays {
        if let (Layout::Branches(branches), Some(inverter)) =
            (&array.layout, job.inverter(&array.inverter))
        {
            for branch in branches {
                let units = Decimal::from(branch.units.len());
                on(&branch.circuit, inverter.rated_a.saturating_mul(units));
            }
        }
    }
    out
}
