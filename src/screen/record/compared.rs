//! Whether the figures of a part were compared with what is on site: a line of its form, and what its row says.

use super::entry::{Entry, Kind, Typed, choices_yes_no};

/// The first line of every form whose figures may be those of a starting point.
pub(super) const COMPARED: Entry = Entry {
    path: "to_compare.",
    heading: "as on site",
    unit: "",
    hint: "yes once everything below was compared with what is on site; starters, added parts and copies begin with no",
    kind: Kind::Pick(choices_yes_no),
    get: |p| p.to_compare().map_or_else(String::new, |t| (!t).shown()),
    set: |p, text| {
        p.set_to_compare(!bool::read(text)?);
        Ok(())
    },
};
