//! Reading the form files, half of them on a thread of its own: it is most of what a start takes.

use std::thread;

use crate::job::text::{Sort, TextError, parse_as};

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

/// Whether a default file has limits.
pub(super) fn is_limits(name: &str) -> bool {
    ![STEPS, LABELS, HANDOVER, REASONS, LEARN].contains(&name)
}

/// Every default file, or the one in its place, in the order they are listed. `own`: the text of a person's own file.
///
/// # Errors
/// What can't be read. Own files come first: the shipped ones needn't be read to say it.
pub(super) fn all<'a>(own: &dyn Fn(&str) -> Option<&'a str>) -> Result<Vec<Read>, TextError> {
    let checked_by_steps = own(STEPS).is_some();
    let mut given: Vec<Option<Read>> = Vec::with_capacity(DEFAULTS.len());
    for (name, _) in DEFAULTS {
        given.push(own(name).map(|text| one(name, text, false)).transpose()?);
    }
    let shipped = DEFAULTS.iter().zip(&given).filter(|(_, g)| g.is_none());
    let (limits, words): (Vec<_>, Vec<_>) = shipped
        .map(|((name, text), _)| {
            let later = match *name {
                LEARN => !checked_by_steps,
                HANDOVER => true,
                _ => false,
            };
            (*name, *text, later)
        })
        .partition(|(name, ..)| is_limits(name));
    let read = |files: &[(&str, &str, bool)]| -> Result<Vec<Read>, TextError> {
        let one = |(name, text, later): &(&str, &str, bool)| one(name, text, *later);
        files.iter().map(one).collect()
    };
    // The limits are about as long as the order of work. Whoever gets no thread reads one after the other.
    let (limits, beside) = thread::scope(|scope| {
        let beside = thread::Builder::new().spawn_scoped(scope, || read(&words));
        let limits = read(&limits);
        let words = beside.ok().and_then(|thread| thread.join().ok());
        (limits, words)
    });
    // In the list, all limits come before all words.
    let mut rest = limits?.into_iter();
    let mut words = beside.unwrap_or_else(|| read(&words))?.into_iter();
    let each = given.into_iter();
    Ok(each
        .filter_map(|given| given.or_else(|| rest.next()).or_else(|| words.next()))
        .collect())
}

fn one(name: &str, text: &str, later: bool) -> Result<Read, TextError> {
    if later {
        return Ok(Read::Later);
    }
    Ok(match name {
        STEPS => Read::Walk(parse_as(Sort::Form, name, text)?),
        LABELS => Read::Labels(parse_as(Sort::Form, name, text)?),
        HANDOVER => Read::Handover(parse_as(Sort::Form, name, text)?),
        REASONS => Read::Reasons(parse_as(Sort::Form, name, text)?),
        LEARN => Read::Learn(parse_as(Sort::Form, name, text)?),
        _ => Read::Limits(parse_as(Sort::Form, name, text)?),
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
