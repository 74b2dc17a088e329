//! Fields of the supply.

use super::compared::COMPARED;
use super::entry::{Entry, field};

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Supply.earthing,
        "earthing",
        "",
        "TN-S separate throughout, TN-C-S combined in the distributor's part, TT own electrode"
    ),
    field!(Supply.phases, "phases", "", "of the supply"),
    field!(
        Supply.u0_v,
        "U0",
        "V",
        "nominal voltage to earth, usually 230"
    ),
    field!(Supply.frequency_hz, "frequency", "Hz", "usually 50"),
    field!(
        Supply.fuse_standard,
        "cut-out standard",
        "",
        "of the distributor's fuse"
    ),
    field!(
        Supply.fuse_a,
        "cut-out rating",
        "A",
        "as on the cut-out; ask the distributor where it can't be read"
    ),
    field!(
        Supply.fuse_ka,
        "cut-out breaking",
        "kA",
        "rated breaking capacity of the fuse"
    ),
    field!(
        Supply.main_switch,
        "main switch",
        "",
        "where it is, standard, poles, current and voltage; IΔn and delay where it is an RCD"
    ),
    field!(Supply.earthing_mm2, "earthing conductor", "mm²", "copper"),
    field!(
        Supply.tails_mm2,
        "tails",
        "mm²",
        "between meter and main switch, copper; they decide bonding and earthing; empty where unknown"
    ),
    field!(
        Supply.max_demand_a,
        "maximum demand",
        "A",
        "empty where it wasn't assessed"
    ),
    field!(
        Supply.electrode,
        "earth electrode",
        "",
        "kind and place; empty where the distributor provides the earth"
    ),
];
