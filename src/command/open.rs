//! No subcommand: opens the screen, or lists the jobs in the folder where there is no terminal.

use std::io::IsTerminal;
use std::path::Path;

use anyhow::{Result, bail};

use super::{Context, Reply};
use crate::store;

/// Opens the screen on a job, or on the list of jobs.
///
/// # Errors
/// Where a job is named and there is no terminal, or the folder can't be listed.
pub(super) fn run(job: Option<&Path>, context: &Context) -> Result<Reply> {
    if std::io::stdin().is_terminal() && std::io::stdout().is_terminal() {
        return on_terminal(job, context);
    }
    match job {
        Some(job) => bail!(
            "{}: opening a job needs a terminal; without one use `wanderlead check {}` or `wanderlead keep`",
            job.display(),
            job.display()
        ),
        None => list(),
    }
}

/// The one place where the screen is entered.
fn on_terminal(_job: Option<&Path>, _context: &Context) -> Result<Reply> {
    bail!("this build has no screen; use check, keep, draft, calc and forms")
}

fn list() -> Result<Reply> {
    let jobs = store::list_jobs(Path::new("."))?;
    let mut reply = Reply::default();
    for job in &jobs {
        // `./` in front of every name says nothing.
        let path = job.path.strip_prefix(".").unwrap_or(&job.path).display();
        match &job.trouble {
            None => reply
                .data
                .push_str(&format!("{path}  {}  {}\n", job.reference, job.title)),
            Some(trouble) => reply.messages.push(trouble.clone()),
        }
    }
    if jobs.is_empty() {
        reply.messages.push(
            "no job in this folder; make one with `wanderlead start FILE.ron --like NAME`".into(),
        );
    }
    Ok(reply)
}
