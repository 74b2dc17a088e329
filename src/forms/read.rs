//! Reading the form files, half of them on a thread of its own: it is most of what a start takes.

use std::thread;

use crate::job::text::{TextError, parse};

use super::DEFAULTS;
use super::handover::{HANDOVER, HandoverFile};
use super::labels::LabelFile;
use super::learn::{LEARN, Learn};
use super::limit::LimitFile;
use super::steps::{Reasons, Walk};

const STEPS: &str = "steps.ron";
const LABELS: &str = "labels.ron";
const REASONS: &str = "reasons.ron";

/// A file as it is written.
pub(super) enum Read {
    Limits(LimitFile),
    Walk(Walk),
    Labels(LabelFile),
    Handover(HandoverFile),
    Reasons(Reasons),
    Learn(Learn),
    /// Shipped, and read when it is looked at.
    Later,
}

type Outcome = Result<Read, TextError>;

/// Whether a default file has limits.
pub(super) fn is_limits(name: &str) -> bool {
    ![STEPS, LABELS, HANDOVER, REASONS, LEARN].contains(&name)
}

/// Every default file, or the one in its place, in the order they are listed. `own`: the text of a person's own file.
pub(super) fn all<'a>(own: &dyn Fn(&str) -> Option<&'a str>) -> Vec<Outcome> {
    let checked_by_steps = own(STEPS).is_some();
    let (limits, words): (Vec<_>, Vec<_>) = DEFAULTS
        .iter()
        .map(|(name, default)| {
            let own = own(name);
            let later = match *name {
                LEARN => own.is_none() && !checked_by_steps,
                HANDOVER => own.is_none(),
                _ => false,
            };
            (*name, own.unwrap_or(default), later)
        })
        .partition(|(name, ..)| is_limits(name));
    let read = |files: &[(&str, &str, bool)]| -> Vec<Outcome> {
        let one = |(name, text, later): &(&str, &str, bool)| one(name, text, *later);
        files.iter().map(one).collect()
    };
    // The limits are about as long as the order of work. Whoever gets no thread reads one after the other.
    let (mut out, more) = thread::scope(|scope| {
        let beside = thread::Builder::new().spawn_scoped(scope, || read(&words));
        let limits = read(&limits);
        let words = beside.ok().and_then(|thread| thread.join().ok());
        (limits, words)
    });
    // In the list, all limits come before all words.
    out.extend(more.unwrap_or_else(|| read(&words)));
    out
}

fn one(name: &str, text: &str, later: bool) -> Outcome {
    if later {
        return Ok(Read::Later);
    }
    Ok(match name {
        STEPS => Read::Walk(parse(name, text)?),
        LABELS => Read::Labels(parse(name, text)?),
        HANDOVER => Read::Handover(parse(name, text)?),
        REASONS => Read::Reasons(parse(name, text)?),
        LEARN => Read::Learn(parse(name, text)?),
        _ => Read::Limits(parse(name, text)?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is read in two halves is put together as one list.
    #[test]
    fn limits_are_listed_before_words() {
        assert!(
            DEFAULTS
                .iter()
                .is_sorted_by_key(|(name, _)| !is_limits(name))
        );
    }

    /// Nobody sees a fault of these before they are looked at.
    #[test]
    fn what_is_read_later_can_be_read() {
        for (name, text) in DEFAULTS {
            assert!(one(name, text, false).is_ok(), "{name}");
        }
    }
}
