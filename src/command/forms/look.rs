//! `forms look`: entries by id.

use anyhow::{Result, bail};
use serde::Serialize;

use super::{compared, wrapped};
use crate::command::edition;
use crate::forms::{Forms, Limit};

#[derive(Serialize)]
struct Report<'a> {
    schema: u32,
    entries: Vec<&'a Limit>,
}

/// The entry of that id, else every entry whose id begins like it.
///
/// # Errors
/// No entry has such an id.
pub(super) fn entries(forms: &Forms, id: &str, json: bool) -> Result<String> {
    let entries: Vec<&Limit> = match forms.limit(id) {
        Ok(one) => vec![one],
        Err(_) => forms.limits_under(id).collect(),
    };
    if entries.is_empty() {
        let near = forms.nearest(id);
        let remedy = if near.is_empty() {
            "`wanderlead forms list` shows the tables".to_string()
        } else {
            format!("did you mean {near}?")
        };
        bail!("no entry's id is `{id}` or begins like it; {remedy}");
    }
    if json {
        let report = Report { schema: 1, entries };
        return Ok(format!("{}\n", serde_json::to_string_pretty(&report)?));
    }
    let mut out = String::new();
    for limit in entries {
        out.push_str(&format!("{}  {}\n", limit.id, limit.shown()));
        let source = &limit.source;
        out.push_str(&wrapped(
            "    ",
            &format!(
                "{} [{}]{}; {}",
                source.text,
                source.mark,
                edition(&source.edition),
                compared(source.checked_against_current)
            ),
        ));
    }
    Ok(out)
}
