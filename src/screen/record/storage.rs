//! Fields of storage.

use super::array::inverters;
use super::compared::COMPARED;
use super::entry::{Entry, Kind, field};

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Storage.id,
        "id",
        "",
        "short, such as E: 1 to 12 letters, digits, - or ."
    ),
    field!(Storage.make, "make", "", "maker and model"),
    field!(Storage.serial, "serial number", "", "as on its label"),
    field!(Storage.location, "location", "", "where it stands"),
    field!(
        Storage.place,
        "place",
        "",
        "kind of place it stands in; none where it wasn't noted"
    ),
    field!(
        Storage.inverter,
        "inverter",
        "",
        "the inverter it is on",
        Kind::Pick(inverters)
    ),
    field!(Storage.modules, "modules", "", "number of battery modules"),
    field!(
        Storage.usable_kwh,
        "usable per module",
        "kWh",
        "usable capacity of one module"
    ),
    field!(
        Storage.dc_max_v,
        "d.c. highest",
        "V",
        "at its d.c. isolator, from the data sheet"
    ),
    field!(
        Storage.dc_min_v,
        "d.c. lowest",
        "V",
        "at its d.c. isolator, not above the highest"
    ),
    field!(
        Storage.backup,
        "backup output",
        "",
        "yes where an output runs without the grid"
    ),
    field!(
        Storage.opening_m,
        "to an opening",
        "m",
        "distance to the nearest door, window, vent; empty where not measured"
    ),
    field!(
        Storage.flammables_m,
        "to flammables",
        "m",
        "distance to the nearest stored flammables; empty where not measured"
    ),
    field!(
        Storage.detector,
        "alarm interlinked",
        "",
        "yes where an alarm beside it is interlinked with those of the house; none where not looked at"
    ),
];
