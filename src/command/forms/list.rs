//! `forms list`: what there is, by file and source, and how much of it nobody has checked.

use std::fmt::Write as _;
use std::sync::Arc;

use anyhow::Result;
use serde::Serialize;

use crate::command::{edition, wrapped};
use crate::forms::{FileInfo, Forms, Limit, Mark, Source};

/// Entries of a file, or of one that a person wrote, that share a source.
#[derive(Serialize)]
struct Group<'a> {
    #[serde(flatten)]
    source: &'a Source,
    entries: usize,
    tables: Vec<String>,
}

#[derive(Serialize)]
struct File<'a> {
    name: &'a str,
    title: &'a str,
    own: bool,
    entries: usize,
    unchecked: usize,
    sources: Vec<Group<'a>>,
}

#[derive(Serialize)]
struct Tally {
    mark: String,
    entries: usize,
    unchecked: usize,
}

/// The JSON object. Fields are only ever added within schema 1.
#[derive(Serialize)]
struct Report<'a> {
    schema: u32,
    files: Vec<File<'a>>,
    marks: Vec<Tally>,
    entries: usize,
    unchecked: usize,
    changed: Vec<Changed<'a>>,
}

#[derive(Serialize)]
struct Changed<'a> {
    id: &'a str,
    shipped: Option<String>,
    file: &'a str,
}

fn report(forms: &Forms) -> Report<'_> {
    let mut files: Vec<File<'_>> = forms.files().iter().map(|info| file(forms, info)).collect();
    let listed = |id: &str| forms.files().iter().any(|f| f.ids.iter().any(|i| i == id));
    let added: Vec<&Arc<Limit>> = forms.limits().filter(|l| !listed(&l.id)).collect();
    if !added.is_empty() {
        files.push(grouped("own-limits.ron", "Added entries", true, &added));
    }
    let marks = [
        Mark::Published,
        Mark::Derived,
        Mark::Memory,
        Mark::CommonPractice,
    ]
    .into_iter()
    .map(|mark| {
        let of = || forms.limits().filter(move |l| l.source.mark == mark);
        Tally {
            mark: mark.to_string(),
            entries: of().count(),
            unchecked: of().filter(|l| !l.source.checked_against_current).count(),
        }
    })
    .collect();
    let (unchecked, entries) = forms.unchecked();
    Report {
        schema: 1,
        files,
        marks,
        entries,
        unchecked,
        changed: forms
            .own()
            .iter()
            .map(|own| Changed {
                id: &own.id,
                shipped: own.shipped.map(|v| v.to_string()),
                file: &own.file,
            })
            .collect(),
    }
}

fn file<'a>(forms: &'a Forms, info: &'a FileInfo) -> File<'a> {
    let limits: Vec<&Arc<Limit>> = info
        .ids
        .iter()
        .filter_map(|id| forms.limit(id).ok())
        .collect();
    grouped(&info.name, &info.title, info.replaced, &limits)
}

fn grouped<'a>(name: &'a str, title: &'a str, own: bool, limits: &[&'a Arc<Limit>]) -> File<'a> {
    let mut sources: Vec<Group<'a>> = Vec::new();
    for limit in limits {
        let table = table_of(&limit.id);
        match sources.iter_mut().find(|g| *g.source == limit.source) {
            Some(group) => {
                group.entries += 1;
                if !group.tables.contains(&table) {
                    group.tables.push(table);
                }
            }
            None => sources.push(Group {
                source: &limit.source,
                entries: 1,
                tables: vec![table],
            }),
        }
    }
    File {
        name,
        title,
        own,
        entries: limits.len(),
        unchecked: limits
            .iter()
            .filter(|l| !l.source.checked_against_current)
            .count(),
        sources,
    }
}

/// The table that an entry is a row of, such as `zs/circuit-breaker/B/…`; its own id where it stands alone.
fn table_of(id: &str) -> String {
    match id.rsplit_once('/') {
        Some((table, last)) if last.parse::<f64>().is_ok() => format!("{table}/…"),
        _ => id.to_string(),
    }
}

/// As one JSON object.
pub(super) fn json(forms: &Forms) -> Result<String> {
    Ok(format!(
        "{}\n",
        serde_json::to_string_pretty(&report(forms))?
    ))
}

/// For a person, at 80 columns.
pub(super) fn text(forms: &Forms) -> String {
    // Writing to a String can't fail.
    let mut out = String::new();
    let report = report(forms);
    for file in &report.files {
        let origin = if file.own { "yours" } else { "as shipped" };
        let held = match file.entries {
            0 => "wording".to_string(),
            n => format!("{n} entries, {} not checked", file.unchecked),
        };
        let head = format!("{}  {} ({origin}): {held}", file.name, file.title);
        out.push_str(&wrapped("", &head));
        for group in &file.sources {
            let source = group.source;
            let checked = if source.checked_against_current {
                "checked"
            } else {
                "not checked"
            };
            let text = source.short();
            out.push_str(&wrapped(
                &format!("{:>5}  ", group.entries),
                &format!(
                    "[{}] {checked}: {text}{}",
                    source.mark,
                    edition(&source.edition)
                ),
            ));
        }
    }
    let _ = writeln!(out, "\n{:<16} {:>7}  not checked", "mark", "entries");
    for tally in &report.marks {
        let _ = writeln!(
            out,
            "{:<16} {:>7}  {:>11}",
            tally.mark, tally.entries, tally.unchecked
        );
    }
    let _ = writeln!(
        out,
        "{:<16} {:>7}  {:>11}\nchecked: compared with the edition in force by a person who holds it",
        "all", report.entries, report.unchecked
    );
    if !report.changed.is_empty() {
        let _ = writeln!(
            out,
            "changed or added by you: {}, see `forms test DIR`",
            report.changed.len()
        );
    }
    out
}
