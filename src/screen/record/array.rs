//! Fields of an array and its module.

use crate::job::Job;

use super::compared::COMPARED;
use super::entry::{Choices, Entry, Kind, field};

/// Inverters of the job.
pub(super) fn inverters(job: &Job) -> Choices {
    job.inverters
        .iter()
        .map(|i| {
            (
                i.id.clone(),
                format!("{}  {}, {}", i.id, i.kind.name(), i.make),
            )
        })
        .collect()
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Array.id,
        "id",
        "",
        "short, such as P: 1 to 12 letters, digits, - or ."
    ),
    field!(Array.name, "name", "", "such as south roof"),
    field!(Array.slope_deg, "slope", "°", "from horizontal, 0 to 90"),
    field!(
        Array.azimuth_deg,
        "azimuth",
        "°",
        "direction it faces, degrees from north, 0 to 360"
    ),
    field!(
        Array.inverter,
        "inverter",
        "",
        "its inverter, or its kind of micro-inverter; strings and branches stay as they are",
        Kind::Pick(inverters)
    ),
    field!(Array.module.make, "module", "", "maker and model"),
    field!(
        Array.module.power_w,
        "module power",
        "W",
        "at standard test conditions, from the data sheet"
    ),
    field!(
        Array.module.voc_v,
        "module Voc",
        "V",
        "open-circuit voltage, from the data sheet"
    ),
    field!(
        Array.module.isc_a,
        "module Isc",
        "A",
        "short-circuit current, from the data sheet"
    ),
    field!(
        Array.module.beta_pct_k,
        "Voc per K",
        "%/K",
        "temperature coefficient, -0.45 to -0.01; empty takes a factor of the limit files"
    ),
    field!(
        Array.module.alpha_pct_k,
        "Isc per K",
        "%/K",
        "temperature coefficient, -0.45 to 0.45"
    ),
    field!(
        Array.module.cells,
        "module cells",
        "",
        "in series, such as 54"
    ),
    field!(
        Array.module.max_fuse_a,
        "highest fuse",
        "A",
        "series fuse that the maker allows; empty where unknown"
    ),
    field!(
        Array.module.vmp_v,
        "module Vmp",
        "V",
        "voltage at maximum power; empty where unknown"
    ),
    field!(
        Array.module.area_m2,
        "module area",
        "m²",
        "empty where unknown"
    ),
    field!(
        Array.lowest_c,
        "lowest temperature",
        "°C",
        "of the cells by day, -60 to 25; empty takes that of the limit files"
    ),
    field!(
        Array.mounting,
        "mounting",
        "",
        "how the modules are held: mounting system"
    ),
    field!(
        Array.cable,
        "string cable",
        "",
        "type and size of the d.c. cables; empty for branches, which have their trunk"
    ),
    field!(
        Array.frame_bond,
        "frames bonded",
        "",
        "how frames and rails are bonded, or why not"
    ),
    field!(
        Array.dc_spd,
        "d.c. SPD",
        "",
        "surge protection on the d.c. side: type and place, or why there is none"
    ),
];
