//! `start`: a new job file from a starter.

use std::path::PathBuf;

use anyhow::Result;
use clap::Args;

use super::Reply;
use crate::store;

/// Arguments of `start`.
#[derive(Debug, Args)]
#[command(after_help = help())]
pub(super) struct StartArgs {
    /// The new job file, such as elm-row.ron; never overwrites
    file: PathBuf,
    /// Starter; see the list below
    #[arg(long, value_name = "NAME")]
    like: String,
}

/// Makes the file.
///
/// # Errors
/// An unknown starter with those that are known, or a file that is there or can't be made.
pub(super) fn run(args: &StartArgs) -> Result<Reply> {
    store::start(&args.file, &args.like)?;
    Ok(Reply {
        messages: vec![format!(
            "made {0}: `wanderlead {0}` opens it at what has to be filled in; compare the starter's figures with what is \
             on site before energising",
            args.file.display()
        )],
        ..Reply::default()
    })
}

fn help() -> String {
    let mut out = String::from("Starters:\n");
    for starter in store::starters() {
        out.push_str(&format!("  {}: {}\n", starter.name, starter.about()));
    }
    out
}
