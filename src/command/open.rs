//! No subcommand: opens the screen on a job, or lists the jobs in the folder.

use std::io::IsTerminal;
use std::path::Path;

use anyhow::{Result, bail};

use super::{Context, Reply};
use crate::{screen, store};

/// Opens the screen on a job; without one lists the jobs in the folder and says how to begin another.
///
/// # Errors
/// Where a job is named and there is no terminal, or it can't be opened, or the folder can't be listed.
pub(super) fn run(job: Option<&Path>, context: &Context) -> Result<Reply> {
    let Some(job) = job else {
        return list();
    };
    if !(std::io::stdin().is_terminal() && std::io::stdout().is_terminal()) {
        bail!(
            "{}: opening a job needs a terminal; without one use `wanderlead check {}` or `wanderlead keep`",
            job.display(),
            job.display()
        );
    }
    screen::run::run(job, context.forms()?)?;
    Ok(Reply::default())
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
    reply.messages.push(if jobs.is_empty() {
        "no job in this folder; make one with `wanderlead start FILE.ron --like NAME`".into()
    } else {
        "open one with `wanderlead JOB`, make one with `wanderlead start FILE.ron --like NAME`"
            .into()
    });
    Ok(reply)
}
