//! Inputs of inverters, distances of storage, what was there before, and labels of it all.

use rust_decimal::Decimal;

use super::super::array::{DcInput, Storage};
use super::super::supply::Grid;
use super::{Finder, Job};

/// What a d.c. input takes.
pub(super) fn dc_input(f: &mut Finder, at: &str, near: &str, dc: &DcInput) {
    for (field, value) in [
        ("max_v", Some(dc.max_v)),
        ("start_v", dc.start_v),
        ("mppt_min_v", Some(dc.mppt_min_v)),
        ("mppt_max_v", Some(dc.mppt_max_v)),
        ("max_a", Some(dc.max_a)),
    ] {
        f.positive(format!("{at}.{field}"), near, value);
    }
    if dc.mppt_min_v > dc.mppt_max_v || dc.mppt_max_v > dc.max_v {
        f.add(
            at,
            near,
            "the voltages are out of order",
            "give lowest MPPT (mppt_min_v), highest MPPT (mppt_max_v) and highest d.c. voltage (max_v), each above the one before; on the screen the highest first",
        );
    }
}

/// State of charge of a battery.
pub(super) fn charge(f: &mut Finder, at: &str, s: &Storage) {
    f.within(
        format!("{at}.charge_pct"),
        &s.id,
        s.charge_pct,
        Decimal::ZERO,
        Decimal::ONE_HUNDRED,
    );
}

/// Distances of a battery; nought is an answer.
pub(super) fn distances(f: &mut Finder, at: &str, s: &Storage) {
    for (field, metres) in [("opening_m", s.opening_m), ("flammables_m", s.flammables_m)] {
        f.within(
            format!("{at}.{field}"),
            &s.id,
            metres,
            Decimal::ZERO,
            Decimal::from(10_000),
        );
    }
}

/// Units that were on the premises before.
pub(super) fn existing(f: &mut Finder, grid: &Grid) {
    if grid.existing_none && !grid.existing.is_empty() {
        f.add(
            "grid.existing_none",
            "existing_none",
            "the record says that nothing was there before, and lists what was",
            "one of the two goes: `none was there before` (existing_none), or the list of existing generation",
        );
    }
    for (i, e) in grid.existing.iter().enumerate() {
        f.name(format!("grid.existing[{i}].what"), &e.what);
        f.positive(format!("grid.existing[{i}].rated_a"), &e.what, e.rated_a);
    }
}

/// Readings of labels that the job doesn't need: a slip in their name.
pub(super) fn labels(f: &mut Finder, job: &Job) {
    for name in job.labels.keys().filter(|n| job.label(n).is_none()) {
        f.add(
            format!("labels.{name}"),
            name,
            format!("this job needs no label `{name}`"),
            "take it out, or correct its name: kind and id, such as dual-board:R",
        );
    }
}
