//! `draft`: the PDF pack of a job.

use std::path::PathBuf;

use anyhow::{Result, bail};
use chrono::Local;
use clap::Args;

use super::patience::patiently;
use super::{Context, Reply};
use crate::{paper, store};

/// Arguments of `draft`.
#[derive(Debug, Args)]
pub(super) struct DraftArgs {
    /// Job file
    job: PathBuf,
    /// The PDF to write; one that is there is replaced
    #[arg(long, value_name = "FILE.pdf")]
    out: PathBuf,
}

/// Drafts and writes the PDF.
///
/// # Errors
/// A job or form file that can't be used, a record that isn't whole, or a PDF that can't be written.
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
    let opened = store::read_job(&args.job)?;
    if let Some(lost) = opened.lost {
        // A certificate without readings that were kept would look complete.
        bail!("{lost}");
    }
    let forms = context.forms()?;
    let drafted = patiently("drafting the PDF", || {
        paper::draft(&opened.job, &forms, Local::now().fixed_offset())
    })?;
    store::write_out(&args.out, &drafted.bytes, &args.job)?;
    let mut messages = opened.notes;
    messages.push(drafted.describe(&args.out));
    Ok(Reply {
        messages,
        ..Reply::default()
    })
}
