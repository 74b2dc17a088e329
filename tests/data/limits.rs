//! Reads the limit files as plainly as can be, so that their content is tested apart from the program's own loader.

use std::collections::BTreeMap;
use std::path::Path;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;
use wanderlead::job::Unit;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub(crate) enum Mark {
    Published,
    Derived,
    Memory,
    CommonPractice,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Source {
    pub(crate) text: String,
    pub(crate) edition: String,
    pub(crate) mark: Mark,
    pub(crate) checked_against_current: bool,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Limit {
    pub(crate) id: String,
    pub(crate) value: String,
    pub(crate) unit: Unit,
    pub(crate) source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct File {
    pub(crate) title: String,
    pub(crate) sources: BTreeMap<String, Source>,
    pub(crate) limits: Vec<Limit>,
}

pub(crate) const NAMES: [&str; 10] = [
    "devices",
    "conductors",
    "capacity",
    "insulation",
    "rcd",
    "pv",
    "storage",
    "supply",
    "protection",
    "cross",
];

pub(crate) fn text(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("forms")
        .join(format!("{name}.ron"));
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

pub(crate) fn file(name: &str) -> File {
    ron::from_str(&text(name)).unwrap_or_else(|e| panic!("{name}.ron: {e}"))
}

/// Every limit of all files by its id.
pub(crate) struct Limits(BTreeMap<String, (Decimal, Unit)>);

impl Limits {
    pub(crate) fn load() -> Limits {
        let rows = NAMES.iter().flat_map(|name| file(name).limits);
        Limits(
            rows.map(|l| (l.id, (l.value.parse().unwrap(), l.unit)))
                .collect(),
        )
    }

    pub(crate) fn decimal(&self, id: &str) -> Decimal {
        self.0
            .get(id)
            .unwrap_or_else(|| panic!("no limit `{id}`"))
            .0
    }

    pub(crate) fn number(&self, id: &str) -> f64 {
        self.decimal(id).to_f64().unwrap()
    }

    pub(crate) fn unit(&self, id: &str) -> Unit {
        self.decimal(id);
        self.0[id].1
    }

    /// Rest of the id after `prefix`, and the value, of every limit below it.
    pub(crate) fn below<'a>(&'a self, prefix: &'a str) -> Vec<(&'a str, f64)> {
        self.0
            .iter()
            .filter_map(|(id, (value, _))| {
                Some((id.strip_prefix(prefix)?, value.to_f64().unwrap()))
            })
            .collect()
    }
}
