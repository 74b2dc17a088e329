//! A job file of a newer version: read as far as this program knows it, for looking at only.

use super::spot::{field_ends, fields};
use crate::job::Job;
use crate::job::text::{TextError, parse, unknown_field};

/// Most kinds of unknown fields that are left out: a file with more is another kind of file.
const MOST: usize = 60;

/// Reads a job without the fields that this program doesn't know, and names them.
///
/// # Errors
/// The first thing that can't be read even so.
pub(super) fn read(name: &str, text: &str) -> Result<(Job, Vec<String>), TextError> {
    let mut text = text.to_string();
    let mut left_out = Vec::new();
    loop {
        let error = match parse::<Job>(name, &text) {
            Ok(job) => return Ok((job, left_out)),
            Err(error) => error,
        };
        let Some(unknown) = unknown_field::<Job>(&text) else {
            return Err(error);
        };
        let kind = kind_of(&unknown);
        let shorter = without(&text, &kind);
        if left_out.len() >= MOST || shorter.len() == text.len() {
            return Err(error);
        }
        text = shorter;
        left_out.push(kind);
    }
}

/// A path without the numbers of list elements and the names of variants: that of all fields like it.
fn kind_of(path: &str) -> String {
    let mut out = String::new();
    for part in path.split('.') {
        let (name, indexed) = match part.split_once('[') {
            Some((name, _)) => (name, true),
            None => (part, false),
        };
        // A variant around its content, such as `Branches`.
        let variant = name.starts_with(char::is_uppercase);
        if !variant && !out.is_empty() && !name.is_empty() {
            out.push('.');
        }
        if !variant {
            out.push_str(name);
        }
        if indexed {
            out.push_str("[]");
        }
    }
    out
}

fn without(text: &str, kind: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut from = 0;
    for (path, at) in fields(text) {
        if at < from || kind_of(&path) != kind {
            continue;
        }
        out.push_str(text.get(from..at).unwrap_or_default());
        from = field_ends(text, at);
    }
    out.push_str(text.get(from..).unwrap_or_default());
    out
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn every_field_of_a_kind_goes_whatever_it_holds() {
        let text = "(a: 1, list: [(b: \"x, (\", c: [(1), {\"k\": (2)}], d: 3), (c: r#\"),\"#)], layout: K([(c: 4)]))";
        assert_eq!(
            without(text, "list[].c"),
            "(a: 1, list: [(b: \"x, (\",  d: 3), ()], layout: K([(c: 4)]))"
        );
        assert_eq!(kind_of("layout.K[0].c"), "layout[].c");
        assert_eq!(kind_of("layout[3].c"), "layout[].c");
    }
}
