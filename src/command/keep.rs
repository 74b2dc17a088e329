//! `keep`: records one reading, by the same rules and into the same journal as the screen.

use std::path::PathBuf;

use anyhow::{Result, anyhow, bail};
use chrono::{DateTime, FixedOffset};
use clap::Args;

use super::check::finding_text;
use super::{Context, Reply, now, open_to_keep};
use crate::checks::{Judge, Verdict, judge_all};
use crate::forms::Forms;
use crate::guide::{Plan, Verdicts};
use crate::job::enter::reason_in_words;
use crate::job::{Around, Change, Job, Place, Reading};

/// Arguments of `keep`.
#[derive(Debug, Args)]
pub(super) struct KeepArgs {
    /// Job file
    job: PathBuf,
    /// Where it belongs, such as R/3/zs
    place: String,
    /// The reading as on the instrument: 0.82, >999, pass, `lim: reason` or `n/a: reason`
    #[arg(allow_negative_numbers = true, required_unless_present = "take_back")]
    value: Option<String>,
    /// Takes back what stands there, as a false entry: it was never read here. For a qualified person
    #[arg(long, conflicts_with_all = ["value", "around", "with"], requires = "by")]
    take_back: bool,
    /// Id of who enters it; else whoever entered last, or the first qualified person
    #[arg(long, value_name = "ID")]
    by: Option<String>,
    /// Id of the instrument; else the first of the job that measures it
    #[arg(long, value_name = "INSTRUMENT")]
    with: Option<String>,
    /// Why it is taken before its turn; recorded and printed, and only for what a qualified person may go around
    #[arg(long, value_name = "REASON")]
    around: Option<String>,
    /// Decides to go on with what was found on opening: it is copied beside and noted in the history, in the name of --by
    #[arg(long, requires = "by")]
    go_on: bool,
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
    let decided_by = args.by.as_deref().filter(|_| args.go_on);
    let mut session = open_to_keep(&args.job, decided_by)?;
    let mut messages = session.notes().to_vec();
    let by = match &args.by {
        Some(id) => id.clone(),
        None => session
            .job()
            .usual_person()
            .map(|p| p.id.clone())
            .ok_or_else(|| {
                anyhow!("say who enters it, with --by: nobody qualified is on the job")
            })?,
    };
    let at = now();
    let (change, instrument) = match &args.value {
        None => {
            session.job().may_take_back(&place, &by)?;
            (Change::take_back(place.clone(), &by, at), None)
        }
        Some(value) => {
            let instrument = args.with.clone().or_else(|| {
                let usual = session.job().usual_instrument(place.test);
                usual.map(|i| i.id.clone())
            });
            let mut reading = Reading {
                typed: value.trim().to_string(),
                unit: place.test.unit(),
                by: by.clone(),
                at,
                instrument: instrument.clone(),
                countersigned: None,
                around: None,
                brought: None,
            };
            let job = session.job();
            job.may_enter(&place, &reading)?;
            reading.around = around(job, &forms, &place, args.around.as_deref(), &by, at)?;
            let change = Change::Keep {
                place: place.clone(),
                reading,
            };
            (change, instrument)
        }
    };
    session.keep(&change, at)?;

    let mut data = String::new();
    let mut code = 0;
    if let Some(finding) = Judge::new(session.job(), &forms).place(&place) {
        data = finding_text(&finding);
        code = u8::from(finding.verdict == Verdict::Outside);
    }
    let with = instrument.map_or_else(String::new, |id| format!(" with {id}"));
    let done = if args.take_back { "taken back" } else { "kept" };
    let line = format!("{done} as change {} by {by}{with}\n", session.job().kept);
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

/// The order of work holds here as on the screen: before its turn a reading needs a reason, where there may be one.
fn around(
    job: &Job,
    forms: &Forms,
    place: &Place,
    reason: Option<&str>,
    by: &str,
    at: DateTime<FixedOffset>,
) -> Result<Option<Around>> {
    let plan = Plan::new(job, forms);
    let verdicts = Verdicts::new(&judge_all(job, forms));
    let Some(i) = plan.position(place) else {
        // Keeping it says what is wrong with the place.
        return Ok(None);
    };
    let Some(first) = plan.waits_for(i, &verdicts) else {
        if reason.is_some() {
            bail!("not kept: {place} waits for nothing: leave --around out");
        }
        return Ok(None);
    };
    let still = match verdicts.again_words(&first) {
        Some(again) => format!(" again: {again}"),
        None if verdicts.of(&first).blocks() => String::new(),
        None => " to be countersigned".to_string(),
    };
    if let Err(no) = plan.way_around(i, &verdicts) {
        bail!("not kept: {place} waits for {first}{still}; {no}");
    }
    match reason {
        None => bail!(
            "not kept: {place} waits for {first}{still}; a qualified person goes around it with --around REASON"
        ),
        Some(reason) if reason_in_words(reason).is_err() => {
            bail!("not kept: `--around {reason}` is no reason: say why, in words")
        }
        Some(reason) => Ok(Some(Around {
            reason: reason.trim().to_string(),
            waited_for: first,
            by: by.to_string(),
            at,
        })),
    }
}
