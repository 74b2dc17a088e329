//! Fields of the grid connection.

use rust_decimal::Decimal;

use crate::job::{Existing, Lines, Part};

use super::entry::{Entry, Kind, Typed, Words, field};
use super::line::list;

/// As it is typed: `16 A L1 old array`.
fn existing(p: &Part) -> Vec<String> {
    let Part::Grid(x) = p else { return Vec::new() };
    let line = |lines: Lines| match lines {
        Lines::All => "L123",
        one => one.word(),
    };
    x.existing
        .iter()
        .map(|e| format!("{} A {} {}", e.rated_a, line(e.lines), e.what))
        .collect()
}

fn put_existing(p: &mut Part, items: Vec<String>) -> Result<(), String> {
    if let Part::Grid(x) = p {
        x.existing = items
            .iter()
            .filter(|t| !t.is_empty())
            .map(|t| read_existing(t))
            .collect::<Result<_, _>>()?;
    }
    Ok(())
}

fn read_existing(text: &str) -> Result<Existing, String> {
    let wrong = || {
        format!(
            "`{text}` isn't understood: type current, line and what it is, such as 16 A L1 old array; L123 for all three lines"
        )
    };
    let (amps, rest) = text.trim().split_once(' ').ok_or_else(wrong)?;
    let (amps, rest) = match amps.strip_suffix(['A', 'a']) {
        Some(number) => (number, rest.trim()),
        None => {
            let rest = rest.trim();
            let without = rest.strip_prefix("A ").or_else(|| rest.strip_prefix("a "));
            (amps, without.unwrap_or(rest).trim())
        }
    };
    let (line, what) = rest.split_once(' ').ok_or_else(wrong)?;
    let lines = match line.to_uppercase().as_str() {
        "L1" => Lines::L1,
        "L2" => Lines::L2,
        "L3" => Lines::L3,
        "L123" => Lines::All,
        _ => return Err(wrong()),
    };
    Ok(Existing {
        what: what.trim().to_string(),
        lines,
        rated_a: Decimal::read(amps).map_err(|_| wrong())?,
    })
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    field!(Grid.operator, "network operator", "", "whose network it is"),
    field!(
        Grid.operator_phone,
        "operator's phone",
        "",
        "number that the customer calls when there is no electricity"
    ),
    field!(
        Grid.meter_number,
        "supply number",
        "",
        "of the meter (MPAN)"
    ),
    field!(
        Grid.application,
        "application",
        "",
        "reference of the application to the operator; empty where none was needed"
    ),
    field!(
        Grid.export_limit_a,
        "export limit",
        "A",
        "agreed, per phase; empty where none was agreed"
    ),
    field!(
        Grid.accepted,
        "accepted",
        "",
        "day on which the operator accepted the application, YYYY-MM-DD; empty for none"
    ),
    field!(Grid.acceptance, "acceptance", "", "its reference"),
    field!(
        Grid.commissioned,
        "commissioned",
        "",
        "day on which it first ran on the network, YYYY-MM-DD; empty for not yet"
    ),
    field!(
        Grid.notified,
        "notified",
        "",
        "day on which the operator was told that it runs, YYYY-MM-DD; empty for not yet"
    ),
    list!(
        "existing.",
        "existing generation",
        "existing",
        "generation and storage that was there before and stays: current per phase, line, what; 16 A L1 old array",
        existing,
        put_existing
    ),
    field!(
        Grid.existing_none,
        "none was there before",
        "",
        "yes where it was looked for, also with the customer, and there was none"
    ),
];
