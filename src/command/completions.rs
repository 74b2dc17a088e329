//! `completions`: what a shell needs to complete commands and options.

use anyhow::Result;
use clap::{Args, CommandFactory};
use clap_complete::Shell;

use super::{Cli, Reply};

/// Arguments of `completions`.
#[derive(Debug, Args)]
pub(super) struct CompletionsArgs {
    /// The shell
    shell: Shell,
}

/// Prints the script.
///
/// # Errors
/// Never; the answer is a `Result` like that of every command.
pub(super) fn run(args: &CompletionsArgs) -> Result<Reply> {
    let mut out = Vec::new();
    clap_complete::generate(args.shell, &mut Cli::command(), "wanderlead", &mut out);
    Ok(Reply::of(String::from_utf8_lossy(&out).into_owned()))
}
