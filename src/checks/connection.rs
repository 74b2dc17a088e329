//! What all units of the job can feed into the network, and the connection procedure that asks for.

use rust_decimal::Decimal;

use super::f64_of;
use crate::calc::{Procedure, connection_procedure};
use crate::forms::Forms;
use crate::job::{Inverter, InverterKind, Job, Layout, Lines, Phases};

/// Sum of all generation and storage of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Connection {
    /// Rated current by line, A.
    pub sums: Vec<(Lines, Decimal)>,
    /// Procedure by the largest of them.
    pub procedure: Procedure,
}

/// The sum per phase, with what was on the premises before; `None` without units, or where a figure can't be reckoned with.
pub fn connection(job: &Job, forms: &Forms) -> Option<Connection> {
    if job.inverters.is_empty() && job.grid.existing.is_empty() {
        return None;
    }
    let lines: &[Lines] = match job.supply.phases {
        Phases::Single => &[Lines::L1],
        Phases::Three => &[Lines::L1, Lines::L2, Lines::L3],
    };
    let mut sums: Vec<(Lines, Decimal)> = lines.iter().map(|l| (*l, Decimal::ZERO)).collect();
    // On one line everything counts, whatever line its record names.
    let single = sums.len() == 1;
    for inverter in &job.inverters {
        for (on, units) in units_by_line(job, inverter) {
            let amps = inverter.rated_a.checked_mul(Decimal::from(units))?;
            for (_, sum) in sums
                .iter_mut()
                .filter(|(line, _)| single || on == Lines::All || on == *line)
            {
                *sum = sum.checked_add(amps)?;
            }
        }
    }
    for unit in &job.grid.existing {
        for (_, sum) in sums
            .iter_mut()
            .filter(|(line, _)| single || unit.lines == Lines::All || unit.lines == *line)
        {
            *sum = sum.checked_add(unit.rated_a)?;
        }
    }
    let most = sums.iter().map(|(_, sum)| *sum).max()?;
    let edge = forms.limit("grid/g98-up-to").ok()?;
    let procedure = connection_procedure(f64_of(most), edge.f64()).ok()?;
    Some(Connection { sums, procedure })
}

/// How many units of an inverter are on which line: micro-inverters by their branches, others once.
pub fn units_by_line(job: &Job, inverter: &Inverter) -> Vec<(Lines, usize)> {
    let line = |path: &str| {
        if inverter.phases == Phases::Three {
            return Lines::All;
        }
        job.circuit(path).map_or(Lines::L1, |(_, c)| c.lines)
    };
    if inverter.kind != InverterKind::Micro {
        return vec![(line(&inverter.circuit), 1)];
    }
    job.arrays
        .iter()
        .filter(|a| a.inverter == inverter.id)
        .filter_map(|a| match &a.layout {
            Layout::Branches(branches) => Some(branches),
            Layout::Strings(_) => None,
        })
        .flatten()
        .map(|b| (line(&b.circuit), b.units.len()))
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::job::text::parse;

    /// Two units that are each below 16 A can together need G99 (ENA and network operators' pages).
    #[test]
    fn units_are_added_up_before_the_threshold_is_looked_at() {
        let mut job: Job = parse(
            "sample",
            include_str!("../../sample-jobs/orchard-cottage.ron"),
        )
        .unwrap();
        let forms = Forms::embedded().unwrap();
        job.inverters.retain(|i| i.kind != InverterKind::Micro);
        job.inverters.truncate(1);
        job.inverters[0].rated_a = Decimal::from(10);
        assert_eq!(connection(&job, &forms).unwrap().procedure, Procedure::G98);
        let second = Inverter {
            id: "second".into(),
            ..job.inverters[0].clone()
        };
        job.inverters.push(second);
        let both = connection(&job, &forms).unwrap();
        assert_eq!(both.sums, [(Lines::L1, Decimal::from(20))]);
        assert_eq!(both.procedure, Procedure::G99);
        job.inverters[1].rated_a = Decimal::from(6);
        assert_eq!(
            connection(&job, &forms).unwrap().procedure,
            Procedure::G98,
            "16 A is not above 16 A"
        );
    }
}
