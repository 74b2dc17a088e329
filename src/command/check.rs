//! `check`: judges every reading of a job.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::PathBuf;

use anyhow::Result;
use clap::Args;
use serde::Serialize;

use super::{Context, Reply, edition};
use crate::checks::{Finding, Verdict, counts, judge_all};
use crate::store;

/// Arguments of `check`.
#[derive(Debug, Args)]
pub(super) struct CheckArgs {
    /// Job file
    job: PathBuf,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

/// The JSON object. Fields are only ever added within schema 1.
#[derive(Serialize)]
struct Report<'a> {
    schema: u32,
    job: About<'a>,
    counts: BTreeMap<Verdict, usize>,
    /// Outside, open, query and close.
    findings: Vec<&'a Finding>,
    /// Everything, in the order of the job.
    judged: &'a [Finding],
    notes: &'a [String],
    /// What the journal holds and could not be brought back.
    lost: Option<&'a str>,
}

#[derive(Serialize)]
struct About<'a> {
    file: String,
    reference: &'a str,
    title: &'a str,
}

/// Judges and prints. Exit code 1 where anything is outside or open, or where the record isn't whole.
///
/// # Errors
/// A job or form file that can't be used.
pub(super) fn run(args: &CheckArgs, context: &Context) -> Result<Reply> {
    let opened = store::read_job(&args.job)?;
    let forms = context.forms()?;
    let judged = judge_all(&opened.job, &forms);
    let tally = counts(&judged);
    let mut findings: Vec<&Finding> = judged
        .iter()
        .filter(|f| !matches!(f.verdict, Verdict::Within | Verdict::Excused))
        .collect();
    // Stable: within a verdict the order of the job stays.
    findings.sort_by_key(|f| f.verdict);
    let blocked = findings.iter().any(|f| f.verdict.blocks());
    let data = if args.json {
        let report = Report {
            schema: 1,
            job: About {
                file: args.job.display().to_string(),
                reference: &opened.job.reference,
                title: &opened.job.title,
            },
            counts: tally,
            findings,
            judged: &judged,
            notes: &opened.notes,
            lost: opened.lost.as_deref(),
        };
        format!("{}\n", serde_json::to_string_pretty(&report)?)
    } else {
        let mut out = format!("{}  {}\n", opened.job.reference, opened.job.title);
        let words: Vec<String> = tally
            .iter()
            .map(|(v, n)| format!("{} {v} {n}", v.mark()))
            .collect();
        out.push_str(&words.join("   "));
        out.push('\n');
        for finding in findings {
            out.push('\n');
            out.push_str(&finding_text(finding));
        }
        out
    };
    let mut messages = opened.notes;
    let whole = opened.lost.is_none();
    messages.extend(opened.lost);
    Ok(Reply {
        data,
        messages,
        code: u8::from(blocked || !whole),
    })
}

/// A finding in lines for a person.
pub(super) fn finding_text(f: &Finding) -> String {
    // Writing to a String can't fail.
    let mut out = String::new();
    let _ = write!(
        out,
        "{} {}  {}  {}  {}",
        f.verdict.mark(),
        f.verdict,
        f.place,
        f.place.test.heading(),
        f.value_text()
    );
    if f.limit.is_some() {
        let _ = write!(out, "  limit {}", f.limit_text());
    }
    if let Some(margin) = &f.margin {
        let _ = write!(out, "  margin {}", f.unit.with(margin));
    }
    out.push('\n');
    if !f.why.is_empty() {
        let _ = writeln!(out, "    {}", f.why);
    }
    if !f.source.is_empty() || f.mark.is_some() {
        let _ = writeln!(out, "    {}{}", f.source_text(), edition(&f.edition));
    }
    out
}
