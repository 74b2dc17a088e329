//! `forms`: the limits and wording that a job is judged and guided by.

use std::fmt::Write as _;
use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, Subcommand};

use super::{Context, Reply};
use crate::forms::{Forms, Source};
use crate::store;

/// Arguments of `forms`.
#[derive(Debug, Args)]
pub(super) struct FormsArgs {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Shows every form file with its editions and sources
    List,
    /// Validates a folder of form files
    Test {
        /// The folder
        dir: PathBuf,
    },
    /// Copies the default form files out for editing
    Copy {
        /// A folder without any of them; made where it isn't there
        dir: PathBuf,
    },
}

/// Lists, tests or copies.
///
/// # Errors
/// Form files that can't be used, each with place and remedy; files that would be overwritten.
pub(super) fn run(args: &FormsArgs, context: &Context) -> Result<Reply> {
    match &args.what {
        What::List => Ok(Reply::of(list(&context.forms()?))),
        What::Test { dir } => {
            let forms = store::load_forms(Some(dir))?;
            let own = forms.files().iter().filter(|f| f.replaced).count();
            let mut messages = Vec::new();
            if own == 0 {
                messages.push(format!(
                    "{}: has no form file; the defaults count",
                    dir.display()
                ));
            }
            Ok(Reply {
                data: format!(
                    "in order: {own} of {} files from {}, the others as shipped\n",
                    forms.files().len(),
                    dir.display()
                ),
                messages,
                code: 0,
            })
        }
        What::Copy { dir } => {
            let made = store::copy_forms(dir)?;
            let mut data = String::new();
            for path in made {
                data.push_str(&format!("{}\n", path.display()));
            }
            Ok(Reply {
                data,
                messages: vec![format!(
                    "edit them, run `wanderlead forms test {0}`, then use them with `--forms {0}`",
                    dir.display()
                )],
                code: 0,
            })
        }
    }
}

fn list(forms: &Forms) -> String {
    // Writing to a String can't fail.
    let mut out = String::new();
    for file in forms.files() {
        let origin = if file.replaced { "yours" } else { "as shipped" };
        let _ = write!(out, "{}  {} ({origin})", file.name, file.title);
        if file.ids.is_empty() {
            out.push('\n');
            continue;
        }
        let _ = writeln!(out, ", {} limits", file.ids.len());
        let mut seen: Vec<(&Source, usize)> = Vec::new();
        for source in file
            .ids
            .iter()
            .filter_map(|id| forms.limit(id).ok())
            .map(|l| &l.source)
        {
            match seen.iter_mut().find(|(s, _)| *s == source) {
                Some((_, n)) => *n += 1,
                None => seen.push((source, 1)),
            }
        }
        for (source, n) in seen {
            let compared = if source.checked_against_current {
                "compared with the edition in force"
            } else {
                "not compared with the edition in force"
            };
            let _ = writeln!(
                out,
                "    {n:>3} [{}] {}; {}; {compared}",
                source.mark, source.edition, source.text
            );
        }
    }
    out
}
