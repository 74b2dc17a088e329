//! The parts of the pack that can be drafted by themselves.

use std::collections::BTreeSet;

use crate::job::Job;

/// A part of the pack, in the order of the pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum PackPart {
    /// Summary, certificate, findings and limitations.
    Certificate,
    /// Single-line diagram.
    Diagram,
    /// Schedules of circuits and test results.
    Boards,
    /// Reports of the arrays.
    Array,
    /// Records of the storage.
    Storage,
    /// Record of the connection to the network.
    Grid,
    /// Schedule of labels.
    Labels,
    /// What the customer keeps.
    Handover,
    /// Inspections, confirmations, corrections, instruments, sources of limits.
    Record,
    /// The history in full; only where it is asked for.
    History,
}

impl PackPart {
    /// Every part of the whole pack, in its order; the history in full isn't one.
    pub const ALL: [PackPart; 9] = [
        PackPart::Certificate,
        PackPart::Diagram,
        PackPart::Boards,
        PackPart::Array,
        PackPart::Storage,
        PackPart::Grid,
        PackPart::Labels,
        PackPart::Handover,
        PackPart::Record,
    ];

    /// Name on the command line and in the file.
    pub fn name(self) -> &'static str {
        match self {
            PackPart::Certificate => "certificate",
            PackPart::Diagram => "diagram",
            PackPart::Boards => "boards",
            PackPart::Array => "array",
            PackPart::Storage => "storage",
            PackPart::Grid => "grid",
            PackPart::Labels => "labels",
            PackPart::Handover => "handover",
            PackPart::Record => "record",
            PackPart::History => "history",
        }
    }

    /// The part of that name.
    ///
    /// # Errors
    /// That there is none, with those there are.
    pub fn of_name(name: &str) -> Result<PackPart, String> {
        let all = || PackPart::ALL.into_iter().chain([PackPart::History]);
        all().find(|p| p.name() == name).ok_or_else(|| {
            let known: Vec<&str> = all().map(PackPart::name).collect();
            format!(
                "no part of the pack is called `{name}`: use {}",
                known.join(", ")
            )
        })
    }

    /// Whether a job has anything that this part is about.
    pub fn is_in(self, job: &Job) -> bool {
        match self {
            PackPart::Boards => !job.boards.is_empty(),
            PackPart::Array => !job.arrays.is_empty(),
            PackPart::Storage => !job.storage.is_empty(),
            PackPart::Grid => job.has_sources(),
            PackPart::History => !job.history.is_empty(),
            PackPart::Certificate
            | PackPart::Diagram
            | PackPart::Labels
            | PackPart::Handover
            | PackPart::Record => true,
        }
    }
}

/// Which parts are drafted: all of them, or some.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Parts(BTreeSet<PackPart>);

impl Parts {
    /// The whole pack.
    pub fn whole() -> Parts {
        Parts::default()
    }

    /// Some parts, or the whole pack where none or all of them are named.
    pub fn some(parts: impl IntoIterator<Item = PackPart>) -> Parts {
        let some: BTreeSet<PackPart> = parts.into_iter().collect();
        if some.len() == PackPart::ALL.len() && !some.contains(&PackPart::History) {
            Parts::whole()
        } else {
            Parts(some)
        }
    }

    /// Parts by their names, separated by commas; an empty text is the whole pack.
    ///
    /// # Errors
    /// A name that is unknown.
    pub fn of_names(names: &str) -> Result<Parts, String> {
        let named = names.split(',').map(str::trim).filter(|n| !n.is_empty());
        let parts: Result<Vec<PackPart>, String> = named.map(PackPart::of_name).collect();
        Ok(Parts::some(parts?))
    }

    /// Whether it is the whole pack.
    pub fn is_whole(&self) -> bool {
        self.0.is_empty()
    }

    /// Whether a part is drafted.
    pub(super) fn has(&self, part: PackPart) -> bool {
        (self.is_whole() && part != PackPart::History) || self.0.contains(&part)
    }

    /// The names of the parts, separated by commas; empty for the whole pack.
    pub fn names(&self) -> String {
        let names: Vec<&str> = self.0.iter().map(|p| p.name()).collect();
        names.join(",")
    }

    /// That there is nothing in the job for one of the parts.
    pub(super) fn check(&self, job: &Job) -> Result<(), String> {
        match self.0.iter().find(|p| !p.is_in(job)) {
            None => Ok(()),
            Some(part) => Err(format!(
                "this job has nothing for the part `{}`",
                part.name()
            )),
        }
    }
}
