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
        Storage.isolator,
        "its own switch",
        "",
        "rating, poles and place, such as 125 A, 2-pole, on its left side; the customer turns it off"
    ),
    field!(
        Storage.chemistry,
        "cells",
        "",
        "kind of its cells, such as lithium iron phosphate; the fire brigade asks"
    ),
    field!(
        Storage.firmware,
        "firmware",
        "",
        "version of its software as commissioned, read from display or app"
    ),
    field!(
        Storage.type_test,
        "type test",
        "",
        "reference under which the network operator finds it; empty where its inverter's covers it"
    ),
    field!(
        Storage.charge_pct,
        "state of charge",
        "%",
        "when it was left, 0 to 100; empty where not noted"
    ),
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
        Storage.backup_feeds,
        "backup feeds",
        "",
        "as the customer would say it: the fridge and the lights; of a board give the inverter's circuit as fed from"
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
