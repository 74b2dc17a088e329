//! `forms test`: whether a folder can be used, and what it changes.

use std::fmt::Write as _;
use std::path::Path;

use anyhow::Result;

use crate::command::Reply;
use crate::forms::{Forms, Limit, OwnLimit};
use crate::store;

/// Validates a folder; prints each changed or added entry with the shipped and the new value.
///
/// # Errors
/// Everything that is wrong in its files.
pub(super) fn test(dir: &Path) -> Result<Reply> {
    let forms = store::load_forms(Some(dir))?;
    let shipped = store::load_forms(None)?;
    let whole = forms.files().iter().filter(|f| f.replaced).count();
    // Writing to a String can't fail.
    let mut data = String::new();
    let _ = writeln!(
        data,
        "in order: {whole} of {} files from {}, the others as shipped",
        forms.files().len(),
        dir.display()
    );
    for own in forms.own() {
        if let Ok(limit) = forms.limit(&own.id) {
            let _ = writeln!(data, "{}", changed(own, limit));
        }
    }
    for (kind, test) in forms.walk().reworded() {
        let _ = writeln!(data, "reworded  {kind:?} {test}");
    }
    let (resourced, checked) = sources(&forms, &shipped);
    if resourced > 0 {
        let _ = writeln!(
            data,
            "same value, another source: {resourced} entries, {checked} of them now compared with the edition in force"
        );
    }
    let mut messages = Vec::new();
    let as_shipped = forms.own().is_empty() && resourced == 0;
    let same_words = forms.walk() == shipped.walk()
        && forms.reasons() == shipped.reasons()
        && forms.learn() == shipped.learn();
    if as_shipped && same_words {
        messages.push(format!(
            "{}: changes nothing; the defaults count",
            dir.display()
        ));
    }
    Ok(Reply {
        data,
        messages,
        code: 0,
    })
}

fn changed(own: &OwnLimit, limit: &Limit) -> String {
    let (id, now, file) = (&own.id, limit.shown(), &own.file);
    match own.shipped {
        Some(before) => format!(
            "changed   {id}  shipped {}, now {now} ({file})",
            limit.unit.with(before)
        ),
        None => format!("added     {id}  {now} ({file})"),
    }
}

/// How many entries have the shipped value and another source, and how many of them count as checked now.
fn sources(forms: &Forms, shipped: &Forms) -> (usize, usize) {
    let other = || {
        forms.limits().filter(|own| {
            let before = shipped.limit(&own.id);
            before.is_ok_and(|b| b.value == own.value && b.source != own.source)
        })
    };
    let checked = other().filter(|l| l.source.checked_against_current);
    (other().count(), checked.count())
}
