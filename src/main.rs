//! Parses arguments, prints what the command answers, and sets the exit code.

use std::io::{ErrorKind, Write};
use std::process::ExitCode;

use clap::Parser;
use wanderlead::command::{Cli, run};

/// Exit code of input that can't be used.
const UNUSABLE: u8 = 2;

fn main() -> ExitCode {
    let reply = match run(&Cli::parse()) {
        Ok(reply) => reply,
        Err(error) => {
            // With its causes, outermost first.
            say(&format!("{error:#}"));
            return ExitCode::from(UNUSABLE);
        }
    };
    for message in &reply.messages {
        say(message);
    }
    let mut out = std::io::stdout().lock();
    match out
        .write_all(reply.data.as_bytes())
        .and_then(|()| out.flush())
    {
        Ok(()) => ExitCode::from(reply.code),
        // Whoever reads has seen enough, as with `| head`.
        Err(e) if e.kind() == ErrorKind::BrokenPipe => ExitCode::from(reply.code),
        Err(e) => {
            say(&format!(
                "standard output: {e}: the command did what it was asked for, and only its answer is lost"
            ));
            ExitCode::from(UNUSABLE)
        }
    }
}

/// A message nobody can receive is no reason to fail.
fn say(message: &str) {
    let _ = writeln!(std::io::stderr(), "{message}");
}
