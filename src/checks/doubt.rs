//! What a second look at a reading finds.

use std::sync::Arc;

use super::Verdict;
use crate::forms::Limit;

/// Something that speaks against a reading, with the entries of the limit files it goes by.
#[derive(Debug)]
pub(super) struct Doubt {
    /// The verdict in place of the first one.
    pub(super) verdict: Verdict,
    /// What it is, with the numbers put in.
    pub(super) why: String,
    /// Entries that were used.
    pub(super) basis: Vec<Arc<Limit>>,
}

impl Doubt {
    /// Plausible, but contradicts something else.
    pub(super) fn query(why: impl Into<String>) -> Doubt {
        Doubt::of(Verdict::Query, why)
    }

    /// A fault.
    pub(super) fn outside(why: impl Into<String>) -> Doubt {
        Doubt::of(Verdict::Outside, why)
    }

    /// To be done again.
    pub(super) fn open(why: impl Into<String>) -> Doubt {
        Doubt::of(Verdict::Open, why)
    }

    fn of(verdict: Verdict, why: impl Into<String>) -> Doubt {
        Doubt {
            verdict,
            why: why.into(),
            basis: Vec::new(),
        }
    }

    /// The same, by an entry of the limit files.
    pub(super) fn by(mut self, limit: &Arc<Limit>) -> Doubt {
        self.basis.push(limit.clone());
        self
    }

    /// The same, by several.
    pub(super) fn by_all(mut self, limits: &[Arc<Limit>]) -> Doubt {
        self.basis.extend_from_slice(limits);
        self
    }
}
