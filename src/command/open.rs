//! No subcommand: opens the screen, or lists the jobs in the folder where there is no terminal.

use std::io::IsTerminal;
use std::path::Path;
use std::rc::Rc;

use anyhow::{Result, bail};

use super::patience::patiently;
use super::{Context, Reply};
use crate::job::validate::words::shown;
use crate::screen::{self, look::Look};
use crate::store::{self, Session, StoreError};

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

/// Opens the screen on a job, or first on the list of jobs.
fn on_terminal(job: Option<&Path>, context: &Context) -> Result<Reply> {
    // Before the terminal is taken: a form file that can't be used is better read on a plain screen.
    let look = Look::here(&context.settings()?);
    let forms = Rc::new(context.forms()?);
    let ready = |path: &Path, greeting: &str| {
        patiently(&format!("reading {}", path.display()), || {
            let mut session = Session::open(path)?;
            session.take_refuge_in(store::refuge());
            Ok::<_, StoreError>(screen::run::prepare(session, forms.clone(), look, greeting))
        })
    };
    if let Some(path) = job {
        let sitting = ready(path, "")?;
        screen::run::run(sitting, &screen::run::listen()?)?;
        return Ok(Reply::default());
    }
    let heard = screen::run::listen()?;
    let mut trouble = String::new();
    while let Some(chosen) = screen::begin::choose(Path::new("."), &trouble, look, &heard)? {
        match ready(&chosen.path, &chosen.greeting) {
            Ok(sitting) => {
                screen::run::run(sitting, &heard)?;
                break;
            }
            // Back to the list: one job that can't be opened shuts nobody out of the others.
            Err(e) => trouble = e.to_string(),
        }
    }
    Ok(Reply::default())
}

fn list() -> Result<Reply> {
    let jobs = store::list_jobs(Path::new("."))?;
    let mut reply = Reply::default();
    for job in &jobs {
        // A name may hold what drives a terminal or ends a line, as a text of a job that isn't validated here.
        let line = format!("{}  {}  {}", job.path.display(), job.reference, job.title);
        match &job.trouble {
            None => reply.data.push_str(&format!("{}\n", shown(&line))),
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
