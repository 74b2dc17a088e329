//! A limit with its source.

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::job::Unit;
use crate::job::text::TextError;

use super::own::line_of_id;

/// How well a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Mark {
    /// Seen on a published page that is named.
    Published,
    /// Follows from a formula that is given.
    Derived,
    /// Recalled from the named standard, not seen: to be checked by somebody who holds it.
    Memory,
    /// What the trade does; no source.
    CommonPractice,
}

impl Mark {
    /// Words for the screen, the paper and `--json`.
    pub fn name(self) -> &'static str {
        match self {
            Mark::Published => "published",
            Mark::Derived => "derived",
            Mark::Memory => "memory",
            Mark::CommonPractice => "common practice",
        }
    }
}

impl Mark {
    /// What the mark means, for those who don't know the word.
    pub fn in_words(self) -> &'static str {
        match self {
            Mark::Published => "published: seen on the page named",
            Mark::Derived => "derived from the formula named",
            Mark::Memory => "memory: recalled, not seen",
            Mark::CommonPractice => "common practice, no source",
        }
    }
}

impl fmt::Display for Mark {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// The page, table or formula, in words.
    #[serde(rename(serialize = "source"))]
    pub text: String,
    /// Edition of the standard that the value belongs to.
    pub edition: String,
    /// How well it is known.
    #[serde(serialize_with = "in_words")]
    pub mark: Mark,
    /// Whether a person compared it with the edition in force.
    pub checked_against_current: bool,
}

impl Source {
    /// The text without the remarks behind its first semicolon, where room is scarce.
    pub fn short(&self) -> &str {
        short(&self.text)
    }
}

/// A source's text without the remarks behind its first semicolon.
pub fn short(text: &str) -> &str {
    text.split_once("; ").map_or(text, |(first, _)| first)
}

/// One limit, factor or table value. Serialized flat: id, value, unit, source, edition, mark, checked_against_current.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Limit {
    /// Its id, such as `zs/circuit-breaker/B/32`.
    pub id: String,
    /// Value in `unit`.
    #[serde(serialize_with = "in_words")]
    pub value: Decimal,
    /// Unit.
    #[serde(serialize_with = "in_words")]
    pub unit: Unit,
    /// Where it comes from.
    #[serde(flatten)]
    pub source: Source,
}

fn in_words<T: fmt::Display, S: serde::Serializer>(value: &T, s: S) -> Result<S::Ok, S::Error> {
    s.collect_str(value)
}

impl Limit {
    /// Value with its unit in words where it has no symbol, such as `0.8 (factor)`.
    pub fn shown(&self) -> String {
        match self.unit {
            Unit::Factor => format!("{} (factor)", self.value),
            Unit::Count => format!("{} (count)", self.value),
            unit => unit.with(self.value),
        }
    }

    /// The value for reckoning.
    pub fn f64(&self) -> f64 {
        use rust_decimal::prelude::ToPrimitive;
        // Every decimal of the accepted length has a finite f64.
        self.value.to_f64().unwrap_or(f64::INFINITY)
    }
}

/// A file of limits as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LimitFile {
    pub(super) title: String,
    sources: BTreeMap<String, Source>,
    limits: Vec<Row>,
}

/// Factors that only ever lower what they multiply: the formulas take none above 1, and one above it would make a limit laxer than
/// its table.
const LOWERING: [&str; 7] = [
    "zs/site-factor",
    "zs/cmin",
    "capacity/in-to-iz",
    "capacity/bs3036-factor",
    "branch/load-advice",
    "supply/line-factor",
    "bond/other/factor",
];
/// Factors that only ever raise it.
const RAISING: [&str; 8] = [
    "supply/cmax",
    "temp/operating/60c",
    "temp/operating/70c",
    "temp/operating/90c",
    "pv/isc-max-factor",
    "pv/voc-max-factor",
    "pv/fuse-min-factor",
    "pv/system-factor",
];

/// What is wrong with a factor on the other side of 1, and what to do.
fn impossible_factor(id: &str, value: Decimal) -> Option<(String, &'static str)> {
    if LOWERING.contains(&id) && value > Decimal::ONE {
        return Some((
            format!("{value} is above 1, and this factor lowers what it multiplies"),
            "write a factor from 0.01 to 1, such as \"0.8\"",
        ));
    }
    if RAISING.contains(&id) && value < Decimal::ONE {
        return Some((
            format!("{value} is below 1, and this factor raises what it multiplies"),
            "write a factor of 1 or more, such as \"1.2\"",
        ));
    }
    None
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    id: String,
    value: String,
    unit: Unit,
    source: String,
}

impl LimitFile {
    /// The limits, with every reference resolved.
    pub(super) fn limits(&self, file: &str, text: &str) -> Result<Vec<Limit>, TextError> {
        let mut out: Vec<Limit> = Vec::with_capacity(self.limits.len());
        let mut seen = std::collections::BTreeSet::new();
        for (index, row) in self.limits.iter().enumerate() {
            let fault = |what: String, remedy: &str| {
                let (line, column) = line_of_id(text, &row.id);
                TextError {
                    file: file.to_string(),
                    line,
                    column,
                    field: format!("limits[{index}] {}", row.id),
                    what,
                    remedy: remedy.to_string(),
                }
            };
            let source = self.sources.get(&row.source).ok_or_else(|| {
                let known: Vec<&str> = self.sources.keys().map(String::as_str).collect();
                fault(
                    format!("no source is called `{}`", row.source),
                    &format!("use one of: {}", known.join(", ")),
                )
            })?;
            let value = Decimal::from_str(&row.value).map_err(|_| {
                fault(
                    format!("`{}` is not a number", row.value),
                    "write digits with a decimal point between quotes, such as \"1.37\"",
                )
            })?;
            if row.unit == Unit::Percent && value >= Decimal::ONE_HUNDRED {
                return Err(fault(
                    format!("{value} % is out of range"),
                    "a tolerance or share is below 100 %",
                ));
            }
            if row.unit == Unit::Count && !value.is_integer() {
                return Err(fault(
                    format!("{value} is no count"),
                    "write a whole number",
                ));
            }
            // Nought and frost are temperatures like others.
            let (low, remedy) = match row.unit {
                Unit::Celsius => (
                    Decimal::from(-100),
                    "a temperature is -100 or more and at most 1000000",
                ),
                _ => (
                    Decimal::new(1, 28),
                    "a limit is above 0 and at most 1000000",
                ),
            };
            if value < low || value > Decimal::from(1_000_000) {
                return Err(fault(format!("{value} is out of range"), remedy));
            }
            if let Some((what, remedy)) = impossible_factor(&row.id, value) {
                return Err(fault(what, remedy));
            }
            if !seen.insert(row.id.as_str()) {
                return Err(fault("this limit is given twice".into(), "keep one"));
            }
            out.push(Limit {
                id: row.id.clone(),
                value,
                unit: row.unit,
                source: source.clone(),
            });
        }
        Ok(out)
    }
}
