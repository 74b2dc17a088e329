//! Figures that a part began with and that nobody has compared with what is on site.

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::{Owner, Seat, Test};

/// Open while the figures of a part are those of a starter or a copy; nothing once they have been compared.
pub(super) fn of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let (to_compare, what) = match seat.owner {
        Owner::Supply(x) => (
            x.to_compare,
            "earthing, phases, cut-out, tails and earthing conductor",
        ),
        Owner::Bond(x) => (x.to_compare, "what it bonds, and its size"),
        Owner::Board(x) => (
            x.to_compare,
            "main switch, ratings, RCD and surge protection",
        ),
        Owner::Circuit(_, x) => (x.to_compare, "device, RCD, cable and what it supplies"),
        Owner::Array(x) => (
            x.to_compare,
            "data sheet of the module, slope and direction",
        ),
        Owner::Branch(_, x) => (x.to_compare, "number of units, circuit and trunk"),
        Owner::PvString(_, x) => (x.to_compare, "number of modules, input and fuse"),
        Owner::Inverter(x) => (
            x.to_compare,
            "its kind, phases, rated current and d.c. input by label and data sheet",
        ),
        Owner::Storage(x) => (
            x.to_compare,
            "modules, capacity, voltages, backup output and where it stands",
        ),
        _ => return None,
    };
    to_compare.then(|| {
        let outcome = Outcome::plain(Verdict::Open, format!(
                "figures of a starting point or a copy: compare {what} with what is on site, put right what differs, then say \
                 in the record that it is as on site"
            ));
        let rule = Rule::free("figures of a starting point say nothing about this installation");
        judge.derived(seat, Test::Compared, "not yet".into(), &rule, outcome)
    })
}
