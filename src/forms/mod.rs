//! The editable limits, order of work and wording, each limit with unit, edition, source and mark.
//!
//! The defaults are embedded from the folder `forms/`; a person's own folder can replace them file by file.

mod limit;
mod steps;

pub use limit::{Limit, Mark, Source, short};
pub use steps::{Reasons, Round, Stage, StepText, Walk};

use std::collections::BTreeMap;
use std::sync::Arc;

use rust_decimal::Decimal;

use crate::job::text::{TextError, locate, parse};
use limit::LimitFile;

/// Name and text of every default file, in the order they are listed.
pub const DEFAULTS: [(&str, &str); 9] = [
    ("devices.ron", include_str!("../../forms/devices.ron")),
    ("conductors.ron", include_str!("../../forms/conductors.ron")),
    ("insulation.ron", include_str!("../../forms/insulation.ron")),
    ("rcd.ron", include_str!("../../forms/rcd.ron")),
    ("pv.ron", include_str!("../../forms/pv.ron")),
    ("storage.ron", include_str!("../../forms/storage.ron")),
    ("supply.ron", include_str!("../../forms/supply.ron")),
    ("steps.ron", include_str!("../../forms/steps.ron")),
    ("reasons.ron", include_str!("../../forms/reasons.ron")),
];

/// One loaded file, for lists.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileInfo {
    /// File name.
    pub name: String,
    /// Title inside it.
    pub title: String,
    /// Whether a person's folder replaced the default.
    pub replaced: bool,
    /// Ids of its limits; empty for wording.
    pub ids: Vec<String>,
}

/// Every limit and all wording that a job is judged and guided by.
#[derive(Debug, Clone)]
pub struct Forms {
    limits: BTreeMap<String, Arc<Limit>>,
    walk: Walk,
    reasons: Reasons,
    files: Vec<FileInfo>,
}

/// A limit that the files should have and don't.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingLimit(pub String);

impl std::fmt::Display for MissingLimit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "the limit files have no entry `{}`: add it, or remove the file that replaced the default",
            self.0
        )
    }
}

impl std::error::Error for MissingLimit {}

impl Forms {
    /// The defaults.
    ///
    /// # Errors
    /// None as shipped: a test loads them.
    pub fn embedded() -> Result<Forms, TextError> {
        Forms::from_texts(&[])
    }

    /// The defaults, with the given files (name and text) in place of those of the same name.
    ///
    /// # Errors
    /// The first thing that is wrong in a file, with its place and a remedy; also a file whose name is unknown.
    pub fn from_texts(own: &[(String, String)]) -> Result<Forms, TextError> {
        for (name, _) in own {
            if !DEFAULTS.iter().any(|(d, _)| d == name) {
                let known: Vec<&str> = DEFAULTS.iter().map(|(n, _)| *n).collect();
                return Err(TextError {
                    file: name.clone(),
                    line: 0,
                    column: 0,
                    field: String::new(),
                    what: "no form file has this name".into(),
                    remedy: format!("use one of: {}", known.join(", ")),
                });
            }
        }
        let mut limits: BTreeMap<String, Limit> = BTreeMap::new();
        let mut walk = Walk::default();
        let mut reasons = Reasons::default();
        let mut files = Vec::new();
        for (name, default) in DEFAULTS {
            let replacement = own.iter().find(|(n, _)| n == name);
            let text = replacement.map_or(default, |(_, t)| t.as_str());
            let mut info = FileInfo {
                name: name.to_string(),
                title: String::new(),
                replaced: replacement.is_some(),
                ids: Vec::new(),
            };
            match name {
                "steps.ron" => {
                    walk = parse(name, text)?;
                    walk.check(name, text)?;
                    info.title.clone_from(&walk.title);
                }
                "reasons.ron" => {
                    reasons = parse(name, text)?;
                    info.title.clone_from(&reasons.title);
                }
                _ => {
                    let file: LimitFile = parse(name, text)?;
                    info.title.clone_from(&file.title);
                    for limit in file.limits(name, text)? {
                        info.ids.push(limit.id.clone());
                        if let Some(other) = limits.insert(limit.id.clone(), limit) {
                            let (line, column) = locate(text, &other.id);
                            return Err(TextError {
                                file: name.to_string(),
                                line,
                                column,
                                field: other.id,
                                what: "this limit is given in two files".into(),
                                remedy: "keep it in one".into(),
                            });
                        }
                    }
                }
            }
            files.push(info);
        }
        if !own.is_empty() {
            note_changes(&mut limits)?;
        }
        let forms = Forms {
            limits: limits
                .into_iter()
                .map(|(id, l)| (id, Arc::new(l)))
                .collect(),
            walk,
            reasons,
            files,
        };
        if !own.is_empty() {
            forms.complete()?;
        }
        Ok(forms)
    }

    /// The limit with that id.
    ///
    /// # Errors
    /// [`MissingLimit`] where no file has it.
    pub fn limit(&self, id: &str) -> Result<&Arc<Limit>, MissingLimit> {
        self.limits
            .get(id)
            .ok_or_else(|| MissingLimit(id.to_string()))
    }

    /// How many limits, factors and table values nobody compared with the edition in force, and how many there are.
    pub fn unchecked(&self) -> (usize, usize) {
        let unchecked = self
            .limits
            .values()
            .filter(|l| !l.source.checked_against_current);
        (unchecked.count(), self.limits.len())
    }

    /// Every limit whose id starts with `prefix`, in order of id.
    pub fn limits_under<'a>(&'a self, prefix: &'a str) -> impl Iterator<Item = &'a Limit> {
        self.limits
            .range(prefix.to_string()..)
            .map(|(_, l)| l.as_ref())
            .take_while(move |l| l.id.starts_with(prefix))
    }

    /// Order of work and wording of the steps.
    pub fn walk(&self) -> &Walk {
        &self.walk
    }

    /// Reasons offered for limitations and not-applicable.
    pub fn reasons(&self) -> &Reasons {
        &self.reasons
    }

    /// The files these forms came from.
    pub fn files(&self) -> &[FileInfo] {
        &self.files
    }

    /// Ids under `prefix` with the rest of the id read as a number: the sizes or ratings of a table.
    pub fn sizes(&self, prefix: &str) -> Vec<Decimal> {
        let mut out: Vec<Decimal> = self
            .limits_under(prefix)
            .filter_map(|l| l.id.strip_prefix(prefix)?.parse().ok())
            .collect();
        out.sort();
        out
    }

    /// Refuses a folder that lost an entry which the defaults have: a check would silently not be made.
    fn complete(&self) -> Result<(), TextError> {
        for (name, entry) in shipped()? {
            let fault = match self.limits.get(&entry.id) {
                None => Some((
                    "this limit is missing".to_string(),
                    "copy it from the default file: its check could not be made",
                )),
                Some(own) if own.unit != entry.unit => Some((
                    format!(
                        "this limit is in {:?} and the program reckons in {:?}",
                        own.unit, entry.unit
                    ),
                    "convert the value",
                )),
                Some(_) => None,
            };
            if let Some((what, remedy)) = fault {
                return Err(TextError {
                    file: name.to_string(),
                    line: 0,
                    column: 0,
                    field: entry.id,
                    what,
                    remedy: remedy.into(),
                });
            }
        }
        Ok(())
    }
}

/// Limits of the defaults, with the file each is in.
fn shipped() -> Result<Vec<(&'static str, Limit)>, TextError> {
    let mut out = Vec::new();
    for (name, text) in DEFAULTS {
        if name == "steps.ron" || name == "reasons.ron" {
            continue;
        }
        let default: LimitFile = parse(name, text)?;
        out.extend(default.limits(name, text)?.into_iter().map(|l| (name, l)));
    }
    Ok(out)
}

/// Says of every limit whose value isn't the shipped one that somebody changed it, wherever its source is shown.
fn note_changes(limits: &mut BTreeMap<String, Limit>) -> Result<(), TextError> {
    for (_, default) in shipped()? {
        if let Some(own) = limits
            .get_mut(&default.id)
            .filter(|own| own.value != default.value)
        {
            let before = default.unit.with(default.value);
            own.source.text = format!("changed by the user, shipped {before}; {}", own.source.text);
        }
    }
    Ok(())
}
