//! Fields that somebody has to fill in before the papers say who, what and where.

use crate::job::{Earthing, InverterKind, Part, UNSAID_YEAR};

use super::entry::{Entry, Kind, NONE};
use super::unknown::{far_too_much, nearly_nothing};

/// Names of the fields of a part that must not stay empty.
fn wanted(part: &Part) -> &'static [&'static str] {
    match part {
        Part::Visit(_) => &[
            "reference.",
            "title.",
            "client.name.",
            "client.address.",
            "address.",
            "extent.",
            "started.",
        ],
        Part::Supply(x) if x.earthing == Earthing::Tt => &["main_switch.", "electrode."],
        Part::Supply(_) => &["main_switch."],
        Part::Grid(_) => &["operator.", "meter_number."],
        Part::Person(_) => &["name.", "firm."],
        Part::Instrument(_) => &["kind.", "make.", "serial.", "calibrated.", "due."],
        Part::Bond(_) => &["to.", "mm2."],
        Part::Board(_) => &[
            "name.",
            "location.",
            "main_switch.",
            "main_a.",
            "main_poles.",
        ],
        Part::Circuit(_) => &["name."],
        Part::Array(_) => &[
            "name.",
            "module.make.",
            "module.power_w.",
            "module.voc_v.",
            "module.isc_a.",
        ],
        Part::Branch(_) => &["name.", "units.module.", "units.inverter."],
        Part::PvString(_) => &["name.", "modules."],
        Part::Inverter(x) if x.kind == InverterKind::Micro => &["make.", "type_test.", "rated_a."],
        Part::Inverter(x) if x.kind == InverterKind::Storage => {
            &["make.", "serial.", "firmware.", "type_test.", "rated_a."]
        }
        Part::Inverter(_) => &[
            "make.",
            "serial.",
            "firmware.",
            "type_test.",
            "rated_a.",
            "dc_isolator.",
        ],
        Part::Storage(_) => &[
            "make.",
            "serial.",
            "location.",
            "isolator.",
            "firmware.",
            "charge_pct.",
            "place.",
            "usable_kwh.",
            "dc_max_v.",
        ],
        Part::Observation(_) => &["text."],
    }
}

/// What a starting point has where only a label or a data sheet gives the figure.
fn stands_for_nothing(path: &str, text: &str) -> bool {
    match path {
        "mm2." => text == nearly_nothing().to_string(),
        "rated_a." => text == far_too_much().to_string(),
        "usable_kwh." => text == "1" || text == far_too_much().to_string(),
        "dc_max_v." => text == "1" || text == nearly_nothing().to_string(),
        "module.power_w." | "module.voc_v." | "module.isc_a." => text == "1",
        _ => false,
    }
}

/// Whether it is a figure of a d.c. input that came along with another one that was entered.
fn came_along(entry: &Entry, part: &Part) -> bool {
    matches!(part, Part::Inverter(x) if x.dc.is_some())
        && entry.path.starts_with("dc.")
        && (entry.get)(part).trim() == nearly_nothing().to_string()
}

/// Figures that nobody has read off anything yet, because they came along with another one: they can't be as on site.
pub(super) fn made_up(part: &Part) -> Vec<&'static str> {
    super::entries(part)
        .iter()
        .filter(|entry| came_along(entry, part))
        .map(|entry| entry.heading)
        .collect()
}

/// Whether a field still has to be filled in.
pub fn is_empty(entry: &Entry, part: &Part) -> bool {
    if came_along(entry, part) {
        return true;
    }
    if !wanted(part).contains(&entry.path) {
        return false;
    }
    if let Kind::List { items, .. } = entry.kind {
        let items = items(part);
        return items.is_empty() || items.iter().any(|text| text.trim().is_empty());
    }
    let text = (entry.get)(part);
    let text = text.trim();
    text.is_empty()
        || text == NONE
        || stands_for_nothing(entry.path, text)
        || (matches!(entry.kind, Kind::Date) && text.starts_with(&format!("{UNSAID_YEAR}-")))
}

/// What the fields are called that still have to be filled in.
pub fn empty_of(part: &Part) -> Vec<&'static str> {
    super::entries(part)
        .iter()
        .filter(|entry| is_empty(entry, part))
        .map(|entry| entry.heading)
        .collect()
}
