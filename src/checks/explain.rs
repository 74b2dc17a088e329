//! Everything behind a finding, in words: for the screen and the command line.

use super::{Finding, Verdict};
use crate::forms::Source;

/// A label of at most nine characters, and what belongs beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// Label; empty for a line that goes on with the one above it.
    pub label: &'static str,
    /// Text.
    pub text: String,
}

/// What a finding says and goes by: reading, verdict and limit first, then how the limit was made, then every entry of the
/// limit files.
pub fn explain(finding: &Finding) -> Vec<Told> {
    let mut out = Vec::new();
    let mut tell = |label, text: String| {
        if !text.is_empty() {
            out.push(Told { label, text });
        }
    };
    let taken = match (&finding.value, finding.place.test.is_derived()) {
        (None, true) => "nothing to work it out from yet".to_string(),
        (None, false) => "not yet taken".to_string(),
        (Some(_), true) => format!("{} (worked out from the record)", finding.value_text()),
        (Some(_), false) => finding.value_text(),
    };
    tell("reading", taken);
    tell(
        "verdict",
        format!("{} {}", finding.verdict.mark(), finding.verdict),
    );
    let limit = match &finding.limit {
        None => "none".to_string(),
        Some(_) => finding.limit_text(),
    };
    tell("limit", limit);
    tell("made by", finding.formula.clone());
    tell("expected", finding.expected.clone());
    if let Some(margin) = &finding.margin {
        tell("margin", finding.unit.with(margin));
    }
    if let Some(u) = &finding.uncertainty {
        tell(
            "certainty",
            format!("±{} % of the reading, {}", u.percent.normalize(), u.whose()),
        );
    }
    // Of an open reading `why` only says the formula again.
    if finding.verdict != Verdict::Open || !finding.why.starts_with("not yet taken") {
        tell("because", without_formula(finding).to_string());
    }
    // A label hangs on a clause, and on no figure.
    if let Some(mark) = finding.mark.filter(|_| finding.basis.is_empty()) {
        let source = Source {
            text: finding.source.clone(),
            edition: finding.edition.clone(),
            mark,
            checked_against_current: finding.checked_against_current.unwrap_or_default(),
        };
        tell("goes by", origin(&source));
    } else if finding.basis.is_empty() {
        let own = if finding.limit.is_some() && finding.unit.symbol().is_empty() {
            "no entry of the limit files: answered by looking, trying or counting"
        } else if finding.limit.is_some() {
            "no entry of the limit files: the limit is this job's own record"
        } else {
            "no entry of the limit files"
        };
        tell("goes by", own.into());
    }
    for (i, limit) in finding.basis.iter().enumerate() {
        tell(
            if i == 0 { "goes by" } else { "and by" },
            format!("{}  {}", limit.id, limit.shown()),
        );
        let above = i.checked_sub(1).and_then(|i| finding.basis.get(i));
        tell(
            "",
            match above {
                Some(above) if above.source == limit.source => "the same source".into(),
                _ => origin(&limit.source),
            },
        );
    }
    out
}

/// Why, without the formula that stands above it already.
fn without_formula(finding: &Finding) -> &str {
    let head = finding.why.strip_suffix(finding.formula.as_str());
    head.and_then(|h| h.strip_suffix(": ").or_else(|| h.strip_suffix("; ")))
        .filter(|_| !finding.formula.is_empty())
        .unwrap_or(&finding.why)
}

/// Source, edition, mark, and whether somebody compared it.
fn origin(source: &Source) -> String {
    let edition = match source.edition.as_str() {
        "" | "none" => "belongs to no edition",
        edition => edition,
    };
    let compared = if source.checked_against_current {
        "compared with the edition in force"
    } else {
        "not compared with the edition in force"
    };
    format!(
        "{}. {edition}. {}; {compared}",
        source.text.trim_end_matches('.'),
        upper(source.mark.in_words())
    )
}

fn upper(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}
