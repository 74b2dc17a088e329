//! `verify`: whether a PDF belongs to a job.

use std::path::PathBuf;

use anyhow::{Result, anyhow, bail};
use clap::Args;

use super::{Context, Reply};
use crate::paper::{self, Identity, Parts};
use crate::store;

/// Most parts and places that are named with what changed at them.
const NAMED: usize = 40;

/// Arguments of `verify`.
#[derive(Debug, Args)]
pub(super) struct VerifyArgs {
    /// Job file
    job: PathBuf,
    /// The PDF
    pdf: PathBuf,
}

/// Compares what the PDF says of itself with the job, then the PDF itself with one drafted anew from the same content at the
/// same time. Exit code 0 where both agree, 1 where they don't.
///
/// # Errors
/// A job or form file that can't be used, or a file that this program did not draft.
pub(super) fn run(args: &VerifyArgs, context: &Context) -> Result<Reply> {
    let forms = context.forms()?;
    let opened = store::read_job(&args.job)?;
    if let Some(lost) = opened.lost {
        bail!("{lost}");
    }
    let job = opened.job;
    let bytes = store::read_pdf(&args.pdf)?;
    let identity =
        paper::identity(&bytes).map_err(|why| anyhow!("{}: {why}", args.pdf.display()))?;
    let parts =
        Parts::of_names(&identity.parts).map_err(|why| anyhow!("{}: {why}", args.pdf.display()))?;
    let name = match identity.issue {
        Some(n) => format!("issue {n}"),
        None => "a draft, not issued,".to_string(),
    };
    let part = match parts.is_whole() {
        true => String::new(),
        false => format!(", only a part of the pack ({})", parts.names()),
    };
    let mut lines = vec![format!(
        "{}: {name} made {}, content {}{part}",
        args.pdf.display(),
        identity.created.format("%-d %b %Y %H:%M"),
        identity.content
    )];
    let now = job.content_digest().map_err(|e| anyhow!(e))?;
    let code = if identity.content != now {
        lines.push(format!("the job as it is now has content {now}"));
        lines.extend(elsewhere(&job, &identity));
        1
    } else {
        let again = paper::draft_parts(&job, &forms, identity.created, &parts)?;
        if again.bytes == bytes {
            lines.push(
                "they belong together: the file is what this job gives, byte for byte".into(),
            );
            0
        } else {
            lines.push(
                "the content is that of the job, but the file isn't what this job gives: another version of the program or of the limit files drafted it, the issue was recorded later, or the file was altered afterwards".into(),
            );
            1
        }
    };
    let question = opened.found.iter().find(|f| f.holds_up_papers());
    let code = match question {
        Some(found) => {
            lines.push(format!(
                "the job's record is in question, so that says little: {}",
                found.what
            ));
            1
        }
        None => code,
    };
    Ok(Reply {
        data: format!("{}\n", lines.join("\n")),
        messages: opened.notes,
        code,
    })
}

/// Where the content of the PDF is known from, and what changed since.
fn elsewhere(job: &crate::job::Job, identity: &Identity) -> Vec<String> {
    // Two issues may have the same content, where another version of the forms or of the program came between.
    let mut alike = job.issues.iter().filter(|i| i.content == identity.content);
    let of_number = alike.clone().find(|i| Some(i.number) == identity.issue);
    let Some(issue) = of_number.or_else(|| alike.next_back()) else {
        return vec![
            "they don't belong together: no issue of this job has the content of the file".into(),
        ];
    };
    let mut lines = vec![format!(
        "the file is of issue {} of {}; the job has changed since:",
        issue.number,
        issue.at.format("%-d %b %Y %H:%M")
    )];
    let changes = job.changed_since(issue);
    let more = changes.len().saturating_sub(NAMED);
    lines.extend(changes.iter().take(NAMED).map(|c| format!("  {c}")));
    if more > 0 {
        lines.push(format!("  and {more} more"));
    }
    lines
}
