//! `check`: judges every reading of a job.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::PathBuf;

use anyhow::{Result, anyhow};
use clap::Args;
use serde::Serialize;

use super::{Context, Reply, edition, wrapped};
use crate::checks::{Finding, Judge, Verdict, counts, explain, judge_all};
use crate::forms::Forms;
use crate::guide::is_complete;
use crate::job::text::nearest;
use crate::job::{Job, Place, Seat};
use crate::store;

/// Arguments of `check`.
#[derive(Debug, Args)]
pub(super) struct CheckArgs {
    /// Job file
    job: PathBuf,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
    /// Say how the limit of one place was made and what it goes by, such as R/3/zs; also before it is taken
    #[arg(long, value_name = "PLACE")]
    why: Option<String>,
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
    /// Readings of apprentices that nobody countersigned yet.
    waits_for_countersign: usize,
    /// What the journal holds and could not be brought back.
    lost: Option<&'a str>,
    /// Whether the record can't be relied upon as it stands: not whole, changed outside of the program, or with a history that
    /// is gone or broken. The notes say which.
    in_question: bool,
}

#[derive(Serialize)]
struct About<'a> {
    file: String,
    reference: &'a str,
    title: &'a str,
}

/// Judges and prints. Exit code 1 where anything is outside, open or to be countersigned, or where the record is in question.
///
/// # Errors
/// A job or form file that can't be used.
pub(super) fn run(args: &CheckArgs, context: &Context) -> Result<Reply> {
    let opened = store::read_job(&args.job)?;
    let forms = context.forms()?;
    if let Some(place) = &args.why {
        return why(&opened, &forms, place, args.json);
    }
    let judged = judge_all(&opened.job, &forms);
    let tally = counts(&judged);
    let mut findings: Vec<&Finding> = judged
        .iter()
        .filter(|f| !matches!(f.verdict, Verdict::Within | Verdict::Excused))
        .collect();
    // Stable: within a verdict the order of the job stays.
    findings.sort_by_key(|f| f.verdict);
    let blocked = !is_complete(&judged);
    let waiting = judged.iter().filter(|f| f.waits_for_countersign).count();
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
            waits_for_countersign: waiting,
            lost: opened.lost.as_deref(),
            in_question: opened.is_in_question(),
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
        if waiting > 0 {
            let _ = writeln!(
                out,
                "to countersign: {}",
                waiting_text(&opened.job, &judged)
            );
        }
        for finding in findings {
            out.push('\n');
            out.push_str(&finding_text(finding));
        }
        out
    };
    let questioned = opened.is_in_question();
    let mut messages = opened.notes;
    messages.extend(opened.lost);
    Ok(Reply {
        data,
        messages,
        code: u8::from(blocked || questioned),
    })
}

/// The JSON object of one place. Fields are only ever added within schema 1.
#[derive(Serialize)]
struct Reasons<'a> {
    schema: u32,
    finding: &'a Finding,
}

/// Everything behind the finding of one place. Exit code 1 where it is outside or open, or where the record is in question.
fn why(opened: &store::Opened, forms: &Forms, place: &str, json: bool) -> Result<Reply> {
    let place: Place = place.parse().map_err(|e: String| anyhow!(e))?;
    let job = &opened.job;
    let takes = |seat: &Seat<'_>| {
        let wanted = job.wanted(seat.owner);
        place.test.is_derived() || wanted.iter().any(|(test, _)| *test == place.test)
    };
    let finding = job
        .seat(&place)
        .filter(takes)
        .and_then(|_| Judge::new(job, forms).place(&place))
        .ok_or_else(|| no_such_place(job, &place))?;
    let data = if json {
        let report = Reasons {
            schema: 1,
            finding: &finding,
        };
        format!("{}\n", serde_json::to_string_pretty(&report)?)
    } else {
        let owner = job.seat(&place).map_or(String::new(), |s| s.title());
        let mut out = format!("{place}  {} · {owner}\n", place.test.heading());
        for told in explain(&finding) {
            out.push_str(&wrapped(&format!("{:<10}", told.label), &told.text));
        }
        out
    };
    let mut messages = opened.notes.clone();
    messages.extend(opened.lost.clone());
    Ok(Reply {
        data,
        messages,
        code: u8::from(finding.holds_up() || opened.is_in_question()),
    })
}

/// Says which places are near one that the job doesn't have.
fn no_such_place(job: &Job, place: &Place) -> anyhow::Error {
    if let Some(seat) = job
        .seat(place)
        .filter(|s| !s.is_bare() || place.test.is_derived())
    {
        if place.test.is_derived() {
            return anyhow!("{place}: the record has nothing to work this out from");
        }
        let tests = job.wanted(seat.owner);
        let tests: Vec<&str> = tests.iter().map(|(test, _)| test.key()).collect();
        return anyhow!(
            "`{}` is not taken at {}; there are: {}",
            place.test,
            place.owner(),
            tests.join(", ")
        );
    }
    let owners: Vec<String> = job
        .seats()
        .iter()
        .map(|s| s.place(place.test).owner())
        .collect();
    let owners: Vec<&str> = owners.iter().map(String::as_str).collect();
    let near = nearest(&place.owner(), &owners);
    let remedy = if near.is_empty() {
        "`check --json` lists every place".to_string()
    } else {
        format!("did you mean {near}?")
    };
    anyhow!("the job has no `{}`; {remedy}", place.owner())
}

/// How many readings wait for a countersign, by who entered them.
fn waiting_text(job: &Job, judged: &[Finding]) -> String {
    let mut by: BTreeMap<&str, usize> = BTreeMap::new();
    let waiting = judged.iter().filter(|f| f.waits_for_countersign);
    for id in waiting.filter_map(|f| f.by.as_deref()) {
        *by.entry(id).or_default() += 1;
    }
    let each: Vec<String> = by
        .into_iter()
        .map(|(id, n)| match job.person(id) {
            Some(p) => format!("{n} by {} ({})", p.name, p.role.name()),
            None => format!("{n} by {id}"),
        })
        .collect();
    each.join(", ")
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
    if f.waits_for_countersign {
        out.push_str("  to countersign");
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
