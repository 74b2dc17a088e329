//! `man`: the manual page of the program or of one command.

use anyhow::{Result, bail};
use clap::{Args, CommandFactory};
use clap_mangen::Man;

use super::{Cli, Reply};

/// Arguments of `man`.
#[derive(Debug, Args)]
pub(super) struct ManArgs {
    /// A command, for a page of its own
    #[arg(value_name = "COMMAND")]
    about: Option<String>,
}

/// Prints the page.
///
/// # Errors
/// A command that isn't known, or a page that can't be made.
pub(super) fn run(args: &ManArgs) -> Result<Reply> {
    let mut whole = Cli::command();
    // Gives every command its full name and the options that count everywhere.
    whole.build();
    let page = match &args.about {
        None => whole,
        Some(name) => match whole.find_subcommand(name) {
            Some(found) => {
                let title = format!("wanderlead-{name}");
                found.clone().display_name(title)
            }
            None => {
                let known: Vec<&str> = whole
                    .get_subcommands()
                    .map(clap::Command::get_name)
                    .collect();
                bail!("no command is called `{name}`; known: {}", known.join(", "))
            }
        },
    };
    let mut out = Vec::new();
    Man::new(page).render(&mut out)?;
    Ok(Reply::of(String::from_utf8_lossy(&out).into_owned()))
}
