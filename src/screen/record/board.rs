//! Fields of a board.

use crate::job::{CircuitKind, Job, Rcd, RcdType};

use super::compared::COMPARED;
use super::entry::{Choices, Entry, Kind, NONE, choices_or_none, field, gate, member};
use super::unknown::unknown_rcd;

/// Circuits that may feed a board, and the origin.
fn feeds(job: &Job) -> Choices {
    let mut out = vec![(String::new(), "the origin of the supply".to_string())];
    out.extend(super::paths(job, CircuitKind::Distribution));
    let backup = super::paths(job, CircuitKind::Source).into_iter();
    out.extend(backup.filter_map(|(path, shown)| {
        let s = job.backup_on(&path)?;
        Some((path, format!("{shown}: backup output of {}", s.id)))
    }));
    out
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    COMPARED,
    field!(
        Board.id,
        "id",
        "",
        "short, such as R: 1 to 12 letters, digits, - or .; what names it follows"
    ),
    field!(Board.name, "name", "", "such as renewables board"),
    field!(Board.location, "location", "", "where it is"),
    field!(
        Board.fed_from,
        "fed from",
        "",
        "circuit that feeds it: of kind distribution, or of the inverter whose backup output does; empty for the origin",
        Kind::Pick(feeds)
    ),
    field!(Board.phases, "phases", "", "of the board"),
    field!(
        Board.main_switch,
        "main switch",
        "",
        "standard, poles, rating"
    ),
    field!(
        Board.main_a,
        "main switch rating",
        "A",
        "empty where it isn't known"
    ),
    field!(
        Board.main_poles,
        "main switch poles",
        "",
        "poles that it opens, 1 to 4; empty where unknown"
    ),
    field!(
        Board.board_a,
        "board rating InA",
        "A",
        "of the whole assembly, as its maker states it; busbars carry supply and sources"
    ),
    gate!(
        Board.rcd.kind,
        unknown_rcd,
        "RCD type",
        "",
        "of an RCD ahead of all circuits; none takes it out with all its fields",
        Kind::Pick(choices_or_none::<RcdType>),
        NONE
    ),
    member!(Board.rcd.standard: Rcd, "RCD standard", "", "as printed on it, such as BS EN 61008", "its type"),
    member!(Board.rcd.idn_ma: Rcd, "RCD IΔn", "mA", "rated residual operating current", "its type"),
    member!(Board.rcd.rating_a: Rcd, "RCD rating", "A", "rated current; empty where it isn't known", "its type"),
    member!(Board.rcd.selective: Rcd, "RCD delayed (S)", "", "yes for a time-delayed one", "its type"),
    member!(
        Board.rcd.declaration: Rcd, "RCD declaration", "",
        "document that shows that another type than B will do; empty where there is none", "its type"
    ),
    field!(
        Board.spd,
        "SPD",
        "",
        "type of the surge protective device; empty where there is none"
    ),
    field!(
        Board.no_spd,
        "no SPD because",
        "",
        "why there is none; empty where there is one"
    ),
    field!(
        Board.spd_lead_m,
        "SPD leads",
        "m",
        "line to device and device to earth added up, 0.01 to 100; empty where not measured"
    ),
    field!(
        Board.conditional_ka,
        "conditional rating",
        "kA",
        "of the whole board behind the cut-out, where its maker states one"
    ),
];
