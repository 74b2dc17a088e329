//! `draft`: the PDF pack of a job.

use std::path::{Path, PathBuf};

use anyhow::{Context as _, Result, anyhow, bail};
use chrono::{DateTime, FixedOffset};
use clap::Args;

use super::patience::patiently;
use super::{Context, Reply, now};
use crate::forms::Forms;
use crate::job::{Change, Role};
use crate::paper::{self, Drafted, PackPart, Parts};
use crate::store::{self, Found, Session};

/// Arguments of `draft`.
#[derive(Debug, Args)]
pub(super) struct DraftArgs {
    /// Job file
    job: PathBuf,
    /// The PDF to write; a draft of this job that is there is replaced, and nothing else
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// Only this part of the pack: certificate, diagram, boards, array, storage, grid, labels, handover, record or (only by itself, every entry) history; may be given
    /// several times
    #[arg(long = "part", value_name = "NAME", value_parser = PackPart::of_name, conflicts_with = "issue")]
    parts: Vec<PackPart>,
    /// Issue it: number it and record in the job that it was handed out; refused while it is a draft
    #[arg(long)]
    issue: bool,
    /// Id of who issues it; else the first qualified person
    #[arg(long, value_name = "ID", requires = "issue")]
    by: Option<String>,
}

/// Drafts and writes the PDF, or the parts that are asked for; with `--issue` it is numbered, and the job remembers it.
///
/// # Errors
/// A job or form file that can't be used, a record that isn't whole, a PDF that can't be written, a part the job has nothing for, or an issue of what is still
/// a draft or has been issued already.
pub(super) fn run(args: &DraftArgs, context: &Context) -> Result<Reply> {
    if args
        .out
        .extension()
        .is_none_or(|e| !e.eq_ignore_ascii_case("pdf"))
    {
        bail!(
            "{}: give --out a name that ends in .pdf",
            args.out.display()
        );
    }
    let parts = Parts::some(args.parts.iter().copied());
    let now = now();
    let (drafted, reference, mut messages) = if args.issue {
        let forms = context.forms()?;
        // Before anything is touched: what has to be decided is not issued over.
        let opened = store::read_job(&args.job)?;
        if let Some(why) = undecided(&opened.found, &args.job) {
            bail!("not issued: {why}");
        }
        let reference = opened.job.reference.clone();
        // And not where the paper couldn't be written then.
        store::may_write_out(&args.out, &args.job, &|old| {
            paper::may_replace(old, &reference)
        })
        .context("not issued")?;
        let mut session = Session::open(&args.job)?;
        if let Some(why) = session.read_only() {
            bail!("not issued: {why}");
        }
        let drafted = issue(&mut session, args.by.as_deref(), &forms, now)?;
        let mut notes = session.notes().to_vec();
        if let Err(error) = session.close() {
            notes.push(error.to_string());
        }
        (drafted, reference, notes)
    } else {
        // Side by side: each takes about as long as the other.
        let (forms, opened) = std::thread::scope(|scope| {
            let job = scope.spawn(|| store::read_job(&args.job));
            (context.forms(), job.join())
        });
        let forms = forms?;
        let opened = opened.unwrap_or_else(|panic| std::panic::resume_unwind(panic))?;
        if let Some(lost) = opened.lost {
            // A certificate without readings that were kept would look complete.
            bail!("{lost}");
        }
        if let Some(why) = undecided(&opened.found, &args.job) {
            bail!("no PDF: {why}");
        }
        let drafted = patiently("drafting the PDF", || {
            paper::draft_parts(&opened.job, &forms, now, &parts)
        })?;
        (drafted, opened.job.reference, opened.notes)
    };
    store::write_out(
        &args.out,
        &drafted.bytes,
        &args.job,
        &|old| match old == drafted.bytes {
            true => Ok(()),
            false => paper::may_replace(old, &reference),
        },
    )
    .with_context(|| match drafted.issue {
        Some(n) if args.issue => format!(
            "issue {n} is recorded in the job, but its PDF isn't written; `wanderlead draft` writes it under another name"
        ),
        _ => "no PDF".to_string(),
    })?;
    messages.push(drafted.describe(&args.out));
    Ok(Reply {
        messages,
        ..Reply::default()
    })
}

/// What was found on opening that somebody has to decide about before a paper is made of it.
fn undecided(found: &[Found], job: &Path) -> Option<String> {
    let found = found.iter().find(|f| f.holds_up_papers())?;
    Some(format!(
        "{}. Open the job with `wanderlead {}` and decide about it first",
        found.in_a_sentence(),
        job.display()
    ))
}

fn issue(
    session: &mut Session,
    by: Option<&str>,
    forms: &Forms,
    now: DateTime<FixedOffset>,
) -> Result<Drafted> {
    let job = session.job();
    let by = match by {
        Some(id) => id.to_string(),
        None => job
            .people
            .iter()
            .find(|p| p.role == Role::Qualified)
            .map(|p| p.id.clone())
            .ok_or_else(|| {
                anyhow!("say who issues it, with --by: nobody qualified is on the job")
            })?,
    };
    let (issue, drafted) = paper::issue(job, forms, &by, now)?;
    session.keep(&Change::Issue(Box::new(issue)), now)?;
    Ok(drafted)
}
