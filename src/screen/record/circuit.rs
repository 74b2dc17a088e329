//! Fields of a circuit.

use rust_decimal::Decimal;

use crate::job::{Cable, CableForm, Cpc, Curve, Device, DeviceStandard, Job, Part, Rcd, RcdType};

use super::compared::COMPARED;
use super::entry::{Choices, Entry, Kind, NONE, Typed, choices_or_none, field, gate, member};
use super::unknown::{unknown_cable, unknown_device, unknown_rcd};

/// Reference methods that the tables of capacities are made for; own words otherwise.
fn methods(_: &Job) -> Choices {
    [
        ("A", "A: in conduit in an insulated wall"),
        ("B", "B: in conduit or trunking on a wall"),
        ("C", "C: clipped direct"),
        ("D", "D: in the ground"),
        ("E", "E: in free air or on tray"),
        ("100", "100: above a ceiling, insulation up to 100 mm"),
        ("101", "101: above a ceiling, thicker insulation"),
        ("102", "102: in an insulated stud wall, touching the wall"),
        (
            "103",
            "103: in an insulated stud wall, not touching the wall",
        ),
    ]
    .map(|(a, b)| (a.to_string(), b.to_string()))
    .to_vec()
}

/// The standard decides whether there is a curve: one that has to be read yet is taken to be the one that is judged hardest.
const STANDARD: Entry = Entry {
    path: "device.standard.",
    heading: "device",
    unit: "",
    hint: "its standard; none takes the device out. With one that has a curve, D counts until you choose",
    kind: Kind::Pick(choices_or_none::<DeviceStandard>),
    get: |p| match p {
        Part::Circuit(x) => x
            .device
            .as_ref()
            .map_or_else(|| NONE.to_string(), |d| d.standard.shown()),
        _ => String::new(),
    },
    set: |p, text| {
        let Part::Circuit(x) = p else { return Ok(()) };
        if ["", NONE].contains(&text.trim()) {
            x.device = None;
            return Ok(());
        }
        let standard = DeviceStandard::read(text)?;
        let device = x.device.get_or_insert_with(unknown_device);
        device.standard = standard;
        device.curve = match device.curve {
            _ if !standard.has_curve() => None,
            None => Some(Curve::D),
            curve => curve,
        };
        Ok(())
    },
};

const CPC: Entry = Entry {
    path: "cable.cpc.",
    heading: "cpc",
    unit: "mm²",
    hint: "copper by its size, such as 1.5; for steel armour `armour` and the number of cores, such as armour 3",
    kind: Kind::Text,
    get: |p| match p {
        Part::Circuit(x) => x.cable.as_ref().map_or_else(String::new, |c| match c.cpc {
            Cpc::Copper(mm2) => mm2.shown(),
            Cpc::Armour(cores) => format!("armour {cores}"),
        }),
        _ => String::new(),
    },
    set: |p, text| {
        let Part::Circuit(x) = p else { return Ok(()) };
        let text = text.trim();
        let Some(cable) = &mut x.cable else {
            return match text {
                "" => Ok(()),
                _ => Err("there is none yet: choose the form of the cable first".into()),
            };
        };
        let armour = text.to_lowercase();
        cable.cpc = match armour.strip_prefix("armour") {
            Some(cores) => Cpc::Armour(
                u8::read(cores)
                    .ok()
                    .filter(|n| (2..=7).contains(n))
                    .ok_or("give the cores of the armoured cable, 2 to 7, such as armour 3")?,
            ),
            None => Cpc::Copper(
                Decimal::read(text)
                    .map_err(|e| format!("{e}; for steel armour type armour 3 (its cores)"))?,
            ),
        };
        Ok(())
    },
};

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Circuit.id,
        "id",
        "",
        "number as on the board: 1 to 12 letters, digits, - or .; what names it follows"
    ),
    field!(
        Circuit.name,
        "name",
        "",
        "what it is, as on the circuit chart"
    ),
    field!(
        Circuit.kind,
        "kind",
        "",
        "decides the disconnection time; source where power may come back"
    ),
    field!(Circuit.lines, "lines", "", "L1 on a single-phase board"),
    field!(Circuit.ring, "ring", "", "yes for a ring final circuit"),
    field!(Circuit.points, "points", "", "number of points served"),
    STANDARD,
    member!(Circuit.device.curve: Device, "device curve", "", "B, C or D of a circuit-breaker or RCBO; a fuse has none", "the device"),
    member!(Circuit.device.rating_a: Device, "device rating", "A", "rated current In", "the device"),
    member!(Circuit.device.breaking_ka: Device, "device breaking", "kA", "rated breaking capacity, as printed on it", "the device"),
    member!(Circuit.device.poles: Device, "device poles", "", "poles that open, 1 to 4", "the device"),
    member!(
        Circuit.device.direction: Device, "device direction", "",
        "from its marks: in/out, line/load or an arrow mean one way only", "the device"
    ),
    gate!(
        Circuit.rcd.kind,
        unknown_rcd,
        "RCD type",
        "",
        "of an RCBO, or of an RCD for this circuit; none takes it out with all its fields",
        Kind::Pick(choices_or_none::<RcdType>),
        NONE
    ),
    member!(Circuit.rcd.standard: Rcd, "RCD standard", "", "as printed on it, such as BS EN 61009", "its type"),
    member!(Circuit.rcd.idn_ma: Rcd, "RCD IΔn", "mA", "rated residual operating current", "its type"),
    member!(Circuit.rcd.rating_a: Rcd, "RCD rating", "A", "where it is a device of its own; else empty", "its type"),
    member!(Circuit.rcd.selective: Rcd, "RCD delayed (S)", "", "yes for a time-delayed one", "its type"),
    member!(
        Circuit.rcd.declaration: Rcd, "RCD declaration", "",
        "document that shows that another type than B will do; for type AC, how it is known that there is no d.c.", "its type"
    ),
    field!(
        Circuit.afdd,
        "AFDD",
        "",
        "yes where an arc fault detection device is fitted"
    ),
    gate!(
        Circuit.cable.form,
        unknown_cable,
        "cable",
        "",
        "how it is made; none takes the cable out with all its fields",
        Kind::Pick(choices_or_none::<CableForm>),
        NONE
    ),
    member!(Circuit.cable.line_mm2: Cable, "line conductor", "mm²", "cross-sectional area", "the form of the cable"),
    CPC,
    member!(
        Circuit.cable.length_m: Cable, "length", "m",
        "of the run, for a ring once round; empty where unknown, its change of voltage can't be judged then",
        "the form of the cable"
    ),
    member!(
        Circuit.cable.method: Cable, "method", "", "reference method of installation, as designed; or own words",
        "the form of the cable", Kind::Suggest(methods)
    ),
    member!(
        Circuit.cable.rating_factor: Cable, "rating factor", "",
        "product of Ca, Cg, Ci as designed, above 0 and at most 1.5; empty counts as 1", "the form of the cable"
    ),
    field!(
        Circuit.design_a,
        "design current Ib",
        "A",
        "empty where it isn't known"
    ),
    field!(
        Circuit.let_through_a2s,
        "let-through energy",
        "A²s",
        "in the worst earth fault, as the maker of the device states it; empty where unknown"
    ),
    field!(
        Circuit.extra_low_voltage,
        "SELV or PELV",
        "",
        "yes for separated extra-low voltage"
    ),
    field!(
        Circuit.equipment_connected,
        "equipment stays on",
        "",
        "yes where equipment or an SPD stays connected for the insulation test"
    ),
    field!(
        Circuit.no_neutral,
        "no neutral",
        "",
        "yes where the branch has no neutral conductor"
    ),
    field!(
        Circuit.existing,
        "was there before",
        "",
        "yes for a load that isn't altered: what nobody recorded of its cable is excused then"
    ),
    field!(
        Circuit.remarks,
        "remarks",
        "",
        "such as equipment that a test could harm",
        Kind::Prose
    ),
];
