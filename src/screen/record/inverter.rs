//! Fields of an inverter.

use crate::job::{DcInput, Job};

use super::compared::COMPARED;
use super::entry::{Choices, Entry, Kind, field, gate, member};
use super::unknown::unknown_input;

fn circuits(job: &Job) -> Choices {
    let mut out = vec![(
        String::new(),
        "none: micro-inverters have theirs in the branch".to_string(),
    )];
    out.extend(super::line::sources(job));
    out
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Inverter.id,
        "id",
        "",
        "short, such as inv1: 1 to 12 letters, digits, - or .; what names it follows"
    ),
    field!(
        Inverter.kind,
        "kind",
        "",
        "micro-inverters go with branches, string and hybrid with strings"
    ),
    field!(Inverter.make, "make", "", "maker and model"),
    field!(
        Inverter.serial,
        "serial number",
        "",
        "micro-inverters have theirs in the branch"
    ),
    field!(
        Inverter.location,
        "location",
        "",
        "where it is; empty for micro-inverters, which are at their modules"
    ),
    field!(
        Inverter.firmware,
        "firmware",
        "",
        "version of its software as commissioned, read from display or app"
    ),
    field!(
        Inverter.type_test,
        "type test",
        "",
        "reference under which the network operator finds its type test"
    ),
    field!(
        Inverter.circuit,
        "circuit",
        "",
        "the circuit of kind source it is on",
        Kind::Pick(circuits)
    ),
    field!(
        Inverter.rated_a,
        "rated current",
        "A",
        "output per phase of one unit, from the data sheet"
    ),
    field!(Inverter.phases, "phases", "", "of the inverter"),
    field!(
        Inverter.max_per_branch,
        "most per branch",
        "",
        "units that the maker allows on one branch; empty for other kinds"
    ),
    field!(
        Inverter.ac_isolator,
        "a.c. isolator",
        "",
        "rating, poles and place, such as 20 A, 2-pole, beside the inverter"
    ),
    field!(
        Inverter.dc_isolator,
        "d.c. isolator",
        "",
        "of the strings: rating, poles and place, or where it is built in"
    ),
    gate!(
        Inverter.dc.max_v,
        unknown_input,
        "d.c. highest",
        "V",
        "voltage that a d.c. input stands, from the data sheet; emptying it takes the d.c. input out",
        Kind::Number,
        ""
    ),
    member!(Inverter.dc.start_v: DcInput, "d.c. start", "V", "voltage it starts at; empty where unknown", "the highest d.c. voltage"),
    member!(
        Inverter.dc.mppt_max_v: DcInput, "MPPT highest", "V",
        "highest voltage at which it finds the maximum power; enter it before the lowest", "the highest d.c. voltage"
    ),
    member!(
        Inverter.dc.mppt_min_v: DcInput, "MPPT lowest", "V",
        "lowest voltage at which it finds the maximum power", "the highest d.c. voltage"
    ),
    member!(
        Inverter.dc.max_a: DcInput, "d.c. Isc it stands", "A",
        "highest short-circuit current of an array, not what it limits itself to in use", "the highest d.c. voltage"
    ),
];
