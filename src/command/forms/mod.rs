//! `forms`: the limits and wording that a job is judged and guided by.

mod changes;
mod list;
mod look;

use std::path::PathBuf;

use anyhow::Result;
use clap::{Args, Subcommand};

use super::{Context, Reply, wrapped};
use crate::store;

/// Arguments of `forms`.
#[derive(Debug, Args)]
pub(super) struct FormsArgs {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Shows every form file with its tables, editions, marks and what nobody has checked
    List {
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Shows entries with value, unit, source and mark
    Look {
        /// An id, or the beginning of some, such as `zs/circuit-breaker/B`
        id: String,
        /// Print one JSON object
        #[arg(long)]
        json: bool,
    },
    /// Validates a folder of form files and says what it changes
    Test {
        /// The folder
        dir: PathBuf,
    },
    /// Copies form files out for editing
    Copy {
        /// A folder without any of them; made where it isn't there
        dir: PathBuf,
        /// Only these, such as `own-limits.ron`
        files: Vec<String>,
    },
}

/// Lists, looks up, tests or copies.
///
/// # Errors
/// Form files that can't be used, each with place and remedy; an id that isn't there; files that would be overwritten.
pub(super) fn run(args: &FormsArgs, context: &Context) -> Result<Reply> {
    match &args.what {
        What::List { json: true } => Ok(Reply::of(list::json(&context.forms()?)?)),
        What::List { json: false } => Ok(Reply::of(list::text(&context.forms()?))),
        What::Look { id, json } => Ok(Reply::of(look::entries(&context.forms()?, id, *json)?)),
        What::Test { dir } => changes::test(dir),
        What::Copy { dir, files } => {
            let made = store::copy_forms(dir, files)?;
            let mut data = String::new();
            for path in made {
                data.push_str(&format!("{}\n", path.display()));
            }
            Ok(Reply {
                data,
                messages: vec![format!(
                    "edit them, run `wanderlead forms test {0}`, then use them with `--forms {0}`; a file that you don't \
                     edit is better deleted: without it the shipped one counts, also after an update",
                    dir.display()
                )],
                code: 0,
            })
        }
    }
}

/// Whether a person compared a value with the edition in force, in words.
fn compared(checked: bool) -> &'static str {
    if checked {
        "compared with the edition in force"
    } else {
        "not compared with the edition in force"
    }
}
