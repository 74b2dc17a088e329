//! `history`: who changed what and when, and whether the chain of it is whole.

use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, ValueEnum};

use super::Reply;
use super::cells::Table;
use crate::job::{Deed, Job};
use crate::store::{self, Opened};

/// How the list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum As {
    /// A line of words for each entry
    Text,
    /// Comma-separated values with a line of headings, UTF-8
    Csv,
    /// An object with `schema` and `rows`
    Json,
}

/// Arguments of `history`.
#[derive(Debug, Args)]
pub(super) struct HistoryArgs {
    /// Job file
    job: PathBuf,
    /// How the list is written
    #[arg(long = "as", value_enum, default_value = "text")]
    as_: As,
}

/// Lists every entry, the oldest first. Exit code 0 where the chain is whole, 1 where it is broken or gone, or where the record is in question otherwise.
///
/// # Errors
/// A job file that can't be used.
pub(super) fn run(args: &HistoryArgs) -> Result<Reply> {
    let opened = store::read_job(&args.job)?;
    let job = &opened.job;
    let data = match args.as_ {
        As::Text => text(&opened),
        As::Csv => table(job).csv()?,
        As::Json => table(job).json()?,
    };
    let code = u8::from(opened.is_in_question());
    // A break is among the notes.
    let mut messages = opened.notes;
    messages.extend(opened.lost);
    Ok(Reply {
        data,
        messages,
        code,
    })
}

fn text(opened: &Opened) -> String {
    let job = &opened.job;
    let mut out = format!("{}  {}\n", job.reference, job.title);
    for (i, deed) in job.history.iter().enumerate() {
        out.push_str(&format!("{}. {}\n", i + 1, sentence(job, deed)));
    }
    out.push_str(&match (job.history.broken(), job.history.len()) {
        (Some(broken), _) => format!("CHAIN BROKEN: {}\n", broken.why),
        (None, 0) if opened.is_in_question() => {
            let why = opened.in_question().unwrap_or_default();
            format!("no history, and the record is in question: {why}\n")
        }
        (None, 0) => "no history yet\n".to_string(),
        (None, n) => format!(
            "{n} {}, chain whole, last digest {}\n",
            if n == 1 { "entry" } else { "entries" },
            job.history.head()
        ),
    });
    out
}

fn sentence(job: &Job, deed: &Deed) -> String {
    let who = job
        .person(&deed.by)
        .map_or(deed.by.as_str(), |p| p.called());
    let change = match deed.change().as_str() {
        "" => String::new(),
        change => format!(": {change}"),
    };
    format!(
        "{} {who} {} {}{change}",
        deed.at.format("%Y-%m-%d %H:%M:%S"),
        deed.done.name(),
        deed.what
    )
}

fn table(job: &Job) -> Table {
    let headings = ["number", "at", "by", "done", "what", "old", "new", "digest"];
    let row = |(i, d): (usize, &Deed)| {
        vec![
            (i + 1).to_string(),
            d.at.to_rfc3339(),
            d.by.clone(),
            d.done.name().to_string(),
            d.what.clone(),
            d.old.clone(),
            d.new.clone(),
            d.digest.clone(),
        ]
    };
    Table {
        headings: headings.map(str::to_string).to_vec(),
        rows: job.history.iter().enumerate().map(row).collect(),
    }
}
