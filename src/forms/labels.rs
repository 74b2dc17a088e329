//! Wording of labels and notices.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::limit::Source;
use super::steps::LONGEST;
use crate::job::LabelKind;
use crate::job::label::{At, When};
use crate::job::text::{TextError, locate};

/// Wording of one kind of label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LabelText {
    /// What it has to say.
    pub says: String,
    /// Where exactly it is fixed, and what else to look for.
    pub fix: String,
    /// Why it is required.
    pub source: Source,
}

/// Wording of every kind of label.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Labels(BTreeMap<LabelKind, LabelText>);

impl Labels {
    /// The wording of a kind: each has one.
    pub fn get(&self, kind: LabelKind) -> Option<&LabelText> {
        self.0.get(&kind)
    }
}

/// The file as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct LabelFile {
    pub(super) title: String,
    sources: BTreeMap<String, Source>,
    labels: Vec<Row>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    label: String,
    at: At,
    when: When,
    says: String,
    fix: String,
    source: String,
}

impl LabelFile {
    /// The labels, each once and complete.
    ///
    /// # Errors
    /// The first entry that is unknown, twice, without a source or unreadable on the screen; else the first that lacks.
    pub(super) fn labels(&self, file: &str, text: &str) -> Result<Labels, TextError> {
        let fault = |key: &str, field: String, what: String, remedy: String| {
            // A source may have the same key.
            let (line, column) = locate(text, &format!("label: \"{key}\""));
            TextError {
                file: file.to_string(),
                line,
                column,
                field,
                what,
                remedy,
            }
        };
        let mut out = BTreeMap::new();
        for (i, row) in self.labels.iter().enumerate() {
            let field = |name: &str| format!("labels[{i}].{name} {}", row.label);
            let Some(kind) = LabelKind::of_key(&row.label) else {
                let known: Vec<&str> = LabelKind::ALL.iter().map(|k| k.key()).collect();
                return Err(fault(
                    &row.label,
                    field("label"),
                    format!("no label is called `{}`", row.label),
                    format!("use one of: {}", known.join(", ")),
                ));
            };
            if (row.at, row.when) != (kind.at(), kind.when()) {
                return Err(fault(
                    &row.label,
                    field("at"),
                    "where a label goes follows from the job, and can't be changed here".into(),
                    format!("write at: {:?}, when: {:?}", kind.at(), kind.when()),
                ));
            }
            for (name, words) in [("says", &row.says), ("fix", &row.fix)] {
                let length = words.chars().count();
                if words.trim().is_empty()
                    || length > LONGEST
                    || words.chars().any(char::is_control)
                {
                    return Err(fault(
                        &row.label,
                        field(name),
                        format!("this text of {length} characters can't be shown"),
                        format!("say something, on one line and in {LONGEST} characters"),
                    ));
                }
            }
            let Some(source) = self.sources.get(&row.source) else {
                let known: Vec<&str> = self.sources.keys().map(String::as_str).collect();
                return Err(fault(
                    &row.label,
                    field("source"),
                    format!("no source is called `{}`", row.source),
                    format!("use one of: {}", known.join(", ")),
                ));
            };
            let words = LabelText {
                says: row.says.clone(),
                fix: row.fix.clone(),
                source: source.clone(),
            };
            if out.insert(kind, words).is_some() {
                return Err(fault(
                    &row.label,
                    field("label"),
                    "this label is given twice".into(),
                    "keep one".into(),
                ));
            }
        }
        match LabelKind::ALL.iter().find(|k| !out.contains_key(k)) {
            None => Ok(Labels(out)),
            Some(lacks) => Err(fault(
                lacks.key(),
                lacks.key().into(),
                "this label is missing".into(),
                "copy it from the default file: the list of labels would be silent about it".into(),
            )),
        }
    }
}
