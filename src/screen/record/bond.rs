//! Fields of a bonding conductor.

use super::compared::COMPARED;
use super::entry::{Entry, field};

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Bond.id,
        "id",
        "",
        "short, such as water: 1 to 12 letters, digits, - or ."
    ),
    field!(Bond.to, "to", "", "what it bonds"),
    field!(Bond.mm2, "size", "mm²", "copper"),
    field!(Bond.length_m, "length", "m", "empty where it isn't known"),
    field!(
        Bond.supplementary,
        "supplementary",
        "",
        "yes for supplementary bonding, no for main bonding"
    ),
    field!(
        Bond.mechanically_protected,
        "protected",
        "",
        "yes where it is protected against mechanical damage all along, such as by conduit"
    ),
];
