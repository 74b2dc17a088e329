//! Words and figures as the paper writes them.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use rust_decimal::Decimal;

use crate::job::{
    Circuit, CircuitKind, Cpc, Device, Direction, Inverter, Phases, Rcd, RcdType, UNSAID_YEAR,
};

/// Stands where nothing is recorded, so that an empty box isn't taken for an oversight of the printer.
pub(super) const DASH: &str = "–";

/// Stands where something is missing that the page is for.
pub(super) const MISSING: &str = "not recorded";

/// Longest address that the foot of a page repeats, in characters.
const SHORT: usize = 48;

/// The text, or a dash where there is none.
pub(super) fn or_dash(text: &str) -> String {
    match text.trim() {
        "" => DASH.into(),
        text => text.into(),
    }
}

/// The text, or that it isn't recorded: for what the reader of this page asks for.
pub(super) fn or_missing(text: &str) -> String {
    match text.trim() {
        "" => MISSING.into(),
        text => text.into(),
    }
}

/// Titles of labels by their kinds, each with how many there are of it: where each belongs stands in the label schedule.
pub(super) fn label_kinds(titles: &[String]) -> Vec<String> {
    let mut kinds: Vec<(&str, usize)> = Vec::new();
    for title in titles {
        let kind = title.strip_prefix("label: ").unwrap_or(title);
        let kind = kind.split(" · ").next().unwrap_or(kind);
        match kinds.iter_mut().find(|(k, _)| *k == kind) {
            Some((_, n)) => *n += 1,
            None => kinds.push((kind, 1)),
        }
    }
    let counted = |(kind, n): (&str, usize)| match n {
        1 => kind.to_string(),
        n => format!("{kind} ({n})"),
    };
    kinds.into_iter().map(counted).collect()
}

/// A day, such as `18 June 2026`.
pub(super) fn day(date: NaiveDate) -> String {
    date.format("%-d %B %Y").to_string()
}

/// Whether anybody has said a day of the record.
pub(super) fn is_said(date: NaiveDate) -> bool {
    date.year() != UNSAID_YEAR
}

/// A name with the id behind it, or what it is where it has no name yet.
pub(super) fn titled(what: &str, name: &str, id: &str) -> String {
    match name.trim() {
        "" => format!("{what} {id}"),
        name => format!("{name} ({id})"),
    }
}

/// The same with what it is before it, where the name doesn't say so itself.
pub(super) fn called(what: &str, name: &str, id: &str) -> String {
    let titled = titled(what, name, id);
    match titled.to_lowercase().starts_with(&what.to_lowercase()) {
        true => titled,
        false => format!("{what} {titled}"),
    }
}

/// A day without its full month, such as `18 Jun 2026`.
pub(super) fn short_day(date: NaiveDate) -> String {
    date.format("%-d %b %Y").to_string()
}

/// From one day to another, with what they share said once.
pub(super) fn days(first: NaiveDate, last: NaiveDate) -> String {
    if first == last {
        return day(first);
    }
    let start = if (first.year(), first.month()) == (last.year(), last.month()) {
        first.day().to_string()
    } else if first.year() == last.year() {
        first.format("%-d %B").to_string()
    } else {
        day(first)
    };
    format!("{start} to {}", day(last))
}

/// The text with figure and unit held together where a line ends.
pub(super) fn held(text: &str) -> String {
    match text.rsplit_once(' ') {
        Some((figure, unit)) if figure.ends_with(|c: char| c.is_ascii_digit()) => {
            format!("{figure}\u{a0}{unit}")
        }
        _ => text.to_string(),
    }
}

/// A minute of a day, such as `18 Jun 2026 09:31`, in the time of the place where it was entered.
pub(super) fn minute(at: DateTime<FixedOffset>) -> String {
    at.format("%-d %b %Y %H:%M").to_string()
}

/// A figure without idle zeros and with its unit, or a dash.
pub(super) fn with_unit(value: Option<Decimal>, unit: &str) -> String {
    value.map_or_else(|| DASH.into(), |v| format!("{} {unit}", v.normalize()))
}

/// A figure without idle zeros, or a dash.
pub(super) fn plain(value: Option<Decimal>) -> String {
    value.map_or_else(|| DASH.into(), |v| v.normalize().to_string())
}

/// An address for the foot of a page: its first parts, as many as fit.
pub(super) fn short_address(address: &str) -> String {
    let mut short = String::new();
    for part in address.split([',', '\n']).map(str::trim) {
        if part.is_empty() {
            continue;
        }
        let joined = if short.is_empty() {
            part.to_string()
        } else {
            format!("{short}, {part}")
        };
        if joined.chars().count() > SHORT {
            break;
        }
        short = joined;
    }
    if short.is_empty() && !address.trim().is_empty() {
        let cut: String = address.trim().chars().take(SHORT).collect();
        short = format!("{}…", cut.trim_end());
    }
    short
}

/// One thing or several of it, such as `1 module` or `2 modules`.
pub(super) fn counted(n: usize, one: &str) -> String {
    match n {
        1 => format!("1 {one}"),
        _ => format!("{n} {one}s"),
    }
}

/// A list in a sentence, such as `a, b and c`.
pub(super) fn listed(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

/// Cross-sectional area of the protective conductor, or what serves as one.
pub(super) fn cpc(cpc: &Cpc) -> String {
    match cpc {
        Cpc::Copper(mm2) => mm2.normalize().to_string(),
        Cpc::Armour(cores) => format!("armour, {cores}-core"),
    }
}

/// What a circuit supplies and on which lines of a three-phase board, such as `socket-outlets, ring, L2`.
pub(super) fn kind(circuit: &Circuit, board: Phases) -> String {
    let mut words = vec![circuit.kind.name().to_string()];
    let more = [
        (circuit.ring, "ring"),
        (circuit.extra_low_voltage, "extra-low voltage"),
        (circuit.no_neutral, "no neutral"),
        (circuit.equipment_connected, "equipment stays on"),
        (circuit.existing, "existing"),
    ];
    words.extend(
        more.iter()
            .filter(|(is, _)| *is)
            .map(|(_, w)| (*w).to_string()),
    );
    if board == Phases::Three {
        words.push(circuit.lines.name().to_string());
    }
    words.join(", ")
}

/// Isolators of an inverter, as far as they are recorded, to follow other words.
pub(super) fn isolators(inverter: &Inverter) -> String {
    let mut words = String::new();
    for (what, text) in [
        ("a.c. isolator", &inverter.ac_isolator),
        ("d.c. isolator", &inverter.dc_isolator),
    ] {
        if !text.trim().is_empty() {
            words.push_str(&format!("; {what}: {}", text.trim()));
        }
    }
    words
}

/// How a device may be fed.
pub(super) fn direction(device: &Device, kind: CircuitKind) -> &'static str {
    match device.direction {
        Direction::Bidirectional => "bidirectional",
        Direction::Unidirectional => "unidirectional",
        Direction::Unknown if kind == CircuitKind::Source => "not established",
        Direction::Unknown => DASH,
    }
}

/// Type, residual current and delay of an RCD on one line.
pub(super) fn rcd(rcd: &Rcd) -> String {
    let letters = match rcd.kind {
        RcdType::AC => "AC",
        RcdType::A => "A",
        RcdType::F => "F",
        RcdType::B => "B",
    };
    let delay = if rcd.selective { ", S" } else { "" };
    format!("{} mA, type {letters}{delay}", rcd.idn_ma.normalize())
}

/// Standard and rated current of an RCD.
pub(super) fn rcd_standard(rcd: &Rcd) -> String {
    match rcd.rating_a {
        Some(amps) => format!("{}, {} A", or_dash(&rcd.standard), amps.normalize()),
        None => or_dash(&rcd.standard),
    }
}

/// The first sixteen digits of a digest, in fours, as people compare them.
pub(super) fn in_fours(digest: &str) -> String {
    let digits: Vec<char> = digest.chars().take(16).collect();
    let fours: Vec<String> = digits.chunks(4).map(|c| c.iter().collect()).collect();
    fours.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_address_is_shortened_part_by_part() {
        assert_eq!(
            short_address("3 Harbour Row, Port Sallow, ZZ4 4ZZ"),
            "3 Harbour Row, Port Sallow, ZZ4 4ZZ"
        );
        let long = format!("Mill Yard, {}", "x".repeat(80));
        assert_eq!(short_address(&long), "Mill Yard");
        assert_eq!(
            short_address(&"y".repeat(90)),
            format!("{}…", "y".repeat(48))
        );
        assert_eq!(short_address(" "), "");
    }

    #[test]
    fn what_a_name_says_is_not_said_twice() {
        let titles = [
            ("south roof", "Array south roof (P)"),
            ("array P", "array P (P)"),
            (" ", "Array P"),
        ];
        for (name, title) in titles {
            assert_eq!(called("Array", name, "P"), title);
        }
    }

    #[test]
    fn days_say_what_they_share_once() {
        let day = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap_or_default();
        assert_eq!(days(day(2026, 6, 8), day(2026, 6, 8)), "8 June 2026");
        assert_eq!(days(day(2026, 6, 8), day(2026, 6, 9)), "8 to 9 June 2026");
        assert_eq!(
            days(day(2026, 6, 30), day(2026, 7, 1)),
            "30 June to 1 July 2026"
        );
        assert_eq!(
            days(day(2026, 12, 31), day(2027, 1, 1)),
            "31 December 2026 to 1 January 2027"
        );
    }

    #[test]
    fn figure_and_unit_are_held_together() {
        assert_eq!(held("0.39 to 0.49 Ω"), "0.39 to 0.49\u{a0}Ω");
        assert_eq!(held("in order"), "in order");
    }

    #[test]
    fn lists_read_as_a_sentence() {
        let items = ["a", "b", "c"].map(String::from);
        assert_eq!(listed(&items), "a, b and c");
        assert_eq!(listed(&items[..1]), "a");
        assert_eq!(counted(1, "module"), "1 module");
        assert_eq!(counted(0, "module"), "0 modules");
    }
}
