//! `keep`: records one reading, by the same rules and into the same journal as the screen.

use std::path::PathBuf;

use anyhow::{Result, anyhow};
use chrono::Timelike;
use clap::Args;

use super::check::finding_text;
use super::{Context, Reply};
use crate::checks::{Judge, Verdict};
use crate::job::{Change, Function, Job, Place, Reading, Role, Test};
use crate::store::Session;

/// Arguments of `keep`.
#[derive(Debug, Args)]
pub(super) struct KeepArgs {
    /// Job file
    job: PathBuf,
    /// Where it belongs, such as R/3/zs
    place: String,
    /// The reading as on the instrument: 0.82, >999, pass, `lim: reason` or `n/a: reason`
    #[arg(allow_negative_numbers = true)]
    value: String,
    /// Id of who enters it; else the first qualified person of the job
    #[arg(long, value_name = "ID")]
    by: Option<String>,
    /// Id of the instrument; else the first of the job that measures it
    #[arg(long, value_name = "INSTRUMENT")]
    with: Option<String>,
}

/// Keeps it and prints the verdict. Exit code 1 where the reading is outside its limit.
///
/// # Errors
/// A job that can't be used or is open elsewhere, a place or value that can't be, or a reading that could not be put on
/// the disk.
pub(super) fn run(args: &KeepArgs, context: &Context) -> Result<Reply> {
    let place: Place = args.place.parse().map_err(|e: String| anyhow!(e))?;
    // Before anything is written: a reading is not kept only to fail afterwards.
    let forms = context.forms()?;
    let mut session = Session::open(&args.job)?;
    let mut messages = session.notes().to_vec();
    let by = match &args.by {
        Some(id) => id.clone(),
        None => enterer(session.job())?,
    };
    let instrument = args
        .with
        .clone()
        .or_else(|| instrument(session.job(), place.test));
    // Nobody reads an instrument to the nanosecond, and the job file is read by people.
    let now = chrono::Local::now().fixed_offset();
    let at = now.with_nanosecond(0).unwrap_or(now);
    let reading = Reading {
        typed: args.value.trim().to_string(),
        unit: place.test.unit(),
        by: by.clone(),
        at,
        instrument: instrument.clone(),
    };
    let change = Change::Keep {
        place: place.clone(),
        reading,
    };
    session.keep(&change, at)?;

    let mut data = String::new();
    let mut code = 0;
    if let Some(finding) = Judge::new(session.job(), &forms).place(&place) {
        data = finding_text(&finding);
        code = u8::from(finding.verdict == Verdict::Outside);
    }
    let with = instrument.map_or_else(String::new, |id| format!(" with {id}"));
    let line = format!("kept as change {} by {by}{with}\n", session.job().kept);
    data.push_str(&line);
    // The reading is on the disk either way; the next opening brings it into the job file.
    if let Err(error) = session.close() {
        messages.push(error.to_string());
    }
    Ok(Reply {
        data,
        messages,
        code,
    })
}

/// The first qualified person.
fn enterer(job: &Job) -> Result<String> {
    job.people
        .iter()
        .find(|p| p.role == Role::Qualified)
        .map(|p| p.id.clone())
        .ok_or_else(|| {
            let known: Vec<&str> = job.people.iter().map(|p| p.id.as_str()).collect();
            anyhow!(
                "nobody on the job is qualified: say who enters it, with --by; known: {}",
                known.join(", ")
            )
        })
}

/// The first instrument that measures it.
fn instrument(job: &Job, test: Test) -> Option<String> {
    let function = Function::of(test)?;
    job.instruments
        .iter()
        .find(|i| i.functions.contains(&function))
        .map(|i| i.id.clone())
}
