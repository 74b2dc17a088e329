//! The command line: one file per subcommand. Data goes to standard output, messages to standard error.
//!
//! Exit codes: 0 done, 1 findings (which, the command says), 2 input that can't be used: nothing was done.

mod bring;
mod calc;
mod cells;
mod check;
mod completions;
mod draft;
mod export;
mod forms;
mod gather;
mod history;
mod keep;
mod learn;
mod man;
mod open;
mod patience;
mod settings;
mod show;
mod start;
mod verify;

use std::path::{Path, PathBuf};

use anyhow::Result;
use clap::{Parser, Subcommand};

use self::settings::variable;
use crate::forms::Forms;
use crate::job::validate::words::{is_unseen, shown};
use crate::screen::run::now;
use crate::store::{self, Found, Session, Settings};

/// Environment variable with the folder of a person's own form files.
const FORMS_VARIABLE: &str = "WANDERLEAD_FORMS";

/// Walks you through the tests of an installation, keeps and judges every reading, and drafts the certificate.
///
/// It drafts; a competent person tests, decides and signs.
#[derive(Debug, Parser)]
#[command(
    name = "wanderlead",
    version,
    after_help = "Exit codes: 0 done; 1 findings: something outside, for check and gather also open or to be countersigned, for these and for history and verify also a record in question; 2 input that can't be used. show, export and draft tell of findings in what they write, and not by the code."
)]
pub struct Cli {
    /// Job file to open; without one, the jobs in this folder are listed
    #[arg(value_name = "JOB")]
    job: Option<PathBuf>,
    /// Folder with your own form files [also: WANDERLEAD_FORMS]
    #[arg(long, global = true, value_name = "DIR")]
    forms: Option<PathBuf>,
    /// Another settings file [also: WANDERLEAD_CONFIG]
    #[arg(long, global = true, value_name = "FILE")]
    config: Option<PathBuf>,
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Makes a new job file from a starter
    Start(start::StartArgs),
    /// Judges every reading of a job
    Check(check::CheckArgs),
    /// Drafts the PDF pack
    Draft(draft::DraftArgs),
    /// Prints the schedule as CSV or JSON
    Export(export::ExportArgs),
    /// Lists the jobs of a folder with how far each is
    Gather(gather::GatherArgs),
    /// Lists who changed what and when, and tells whether that list is whole
    History(history::HistoryArgs),
    /// Tells whether a PDF belongs to a job
    Verify(verify::VerifyArgs),
    /// Records one reading
    Keep(keep::KeepArgs),
    /// Brings in readings from a file that an instrument wrote
    Bring(bring::BringArgs),
    /// Works out one formula
    Calc(calc::CalcArgs),
    /// Shows, validates or copies the form files
    Forms(forms::FormsArgs),
    /// Says what a test is for, what good looks like and what usually goes wrong
    Learn(learn::LearnArgs),
    /// Prints the whole job as plain lines, for reading aloud and for printing
    Show(show::ShowArgs),
    /// Shows which settings count and where they come from
    Settings(settings::SettingsArgs),
    /// Prints what a shell needs to complete commands and options
    Completions(completions::CompletionsArgs),
    /// Prints a manual page
    Man(man::ManArgs),
}

/// What a command answers.
#[derive(Debug, Default, Clone, PartialEq, Eq)]
pub struct Reply {
    /// For standard output.
    pub data: String,
    /// For standard error, one line or more each.
    pub messages: Vec<String>,
    /// Exit code.
    pub code: u8,
}

impl Reply {
    /// Data and exit code 0.
    fn of(data: String) -> Reply {
        Reply {
            data,
            ..Reply::default()
        }
    }
}

/// Opens a job to keep something in it. What was found on opening and somebody has to decide about is decided here only where
/// that is asked for, in the name of `by`.
///
/// # Errors
/// A job that can't be used or is open elsewhere; what was found and isn't decided, with the ways to do that; nobody who may.
fn open_to_keep(job: &Path, decided_by: Option<&str>) -> Result<Session> {
    let mut session = Session::open(job)?;
    if !session.waits() {
        return Ok(session);
    }
    if let Some(by) = decided_by {
        session.go_on(by, now())?;
        return Ok(session);
    }
    let found = session.found().iter().filter(|f| f.decide);
    let found: Vec<&str> = found.map(Found::in_a_sentence).collect();
    anyhow::bail!(
        "nothing kept. Found on opening: {}. Somebody decides about that first: on the screen (`wanderlead {}`), or here with --go-on and --by: what is in doubt is copied beside, and the history notes it",
        found.join("; "),
        job.display()
    )
}

/// What every subcommand may ask for.
#[derive(Debug)]
struct Context {
    /// Folder of own form files, as an option.
    forms: Option<PathBuf>,
    /// Settings file, as an option.
    config: Option<PathBuf>,
}

impl Context {
    /// The settings that count.
    fn settings(&self) -> Result<Settings> {
        Ok(settings::read(self.config.as_ref())?.settings)
    }

    /// The folder of own form files and what names it: the option, else the variable, else the settings.
    fn forms_folder(&self, settings: &Settings) -> (Option<PathBuf>, &'static str) {
        match (&self.forms, variable(FORMS_VARIABLE), &settings.forms) {
            (Some(folder), ..) => (Some(folder.clone()), "--forms"),
            (None, Some(folder), _) => (Some(folder), FORMS_VARIABLE),
            (None, None, Some(folder)) => (Some(folder.clone()), "settings file"),
            (None, None, None) => (None, "default"),
        }
    }

    /// The forms that count: the embedded ones, with those of the person's folder in their place.
    fn forms(&self) -> Result<Forms> {
        let (folder, _) = self.forms_folder(&self.settings()?);
        Ok(store::load_forms(folder.as_deref())?)
    }
}

/// Does what the command line asks for.
///
/// # Errors
/// Input that can't be used, with file, place and remedy: exit code 2.
pub fn run(cli: &Cli) -> Result<Reply> {
    outlive_long_files();
    // What is said may quote an argument, a file or its name.
    let mut reply = answer(cli).map_err(|e| anyhow::anyhow!(fit(&format!("{e:#}"))))?;
    for message in &mut reply.messages {
        *message = fit(message);
    }
    if reply.data.chars().any(steers) {
        reply.data = harmless(&reply.data);
    }
    Ok(reply)
}

/// Where the system lets no file grow, writing fails and is said, as on a full disk; the signal that comes with it would end the
/// program before.
fn outlive_long_files() {
    #[cfg(unix)]
    {
        let seen = std::sync::Arc::default();
        // Without it the program works all the same, wherever files may grow.
        let _ = signal_hook::flag::register(signal_hook::consts::SIGXFSZ, seen);
    }
}

/// A message without what steers a terminal.
fn fit(message: &str) -> String {
    let lines: Vec<String> = message.split('\n').map(shown).collect();
    lines.join("\n")
}

/// Whether a character has no place in what is printed. Whoever names a file within a line sees to its line ends.
fn steers(c: char) -> bool {
    !matches!(c, '\n' | '\t') && (c.is_control() || is_unseen(c))
}

/// Data without what steers a terminal, such as in the name of a file: written as its number, and in JSON, where that keeps the
/// name, as an escape.
fn harmless(data: &str) -> String {
    let json = data.starts_with('{');
    let mut out = String::with_capacity(data.len());
    for c in data.chars() {
        if !steers(c) {
            out.push(c);
        } else if json {
            let mut units = [0; 2];
            for unit in c.encode_utf16(&mut units) {
                out.push_str(&format!("\\u{unit:04x}"));
            }
        } else {
            out.extend(c.escape_unicode());
        }
    }
    out
}

fn answer(cli: &Cli) -> Result<Reply> {
    let context = Context {
        forms: cli.forms.clone(),
        config: cli.config.clone(),
    };
    let Some(command) = &cli.command else {
        return open::run(cli.job.as_deref(), &context);
    };
    if let Some(job) = &cli.job {
        anyhow::bail!(
            "`{}` stands before the command; write the command first, such as `wanderlead check {}`",
            job.display(),
            job.display()
        );
    }
    match command {
        Command::Start(args) => start::run(args),
        Command::Check(args) => check::run(args, &context),
        Command::Draft(args) => draft::run(args, &context),
        Command::Export(args) => export::run(args, &context),
        Command::Gather(args) => gather::run(args, &context),
        Command::History(args) => history::run(args),
        Command::Verify(args) => verify::run(args, &context),
        Command::Keep(args) => keep::run(args, &context),
        Command::Bring(args) => bring::run(args, &context),
        Command::Calc(args) => calc::run(args, &context),
        Command::Forms(args) => forms::run(args, &context),
        Command::Learn(args) => learn::run(args, &context),
        Command::Show(args) => show::run(args, &context),
        Command::Settings(args) => settings::run(args, &context),
        Command::Completions(args) => completions::run(args),
        Command::Man(args) => man::run(args),
    }
}

/// Columns that texts are wrapped to.
const WIDTH: usize = 80;

/// Lines of at most [`WIDTH`] columns, the first with `head`, the others indented like it.
fn wrapped(head: &str, text: &str) -> String {
    let rest = " ".repeat(textwrap::core::display_width(head));
    let options = textwrap::Options::new(WIDTH)
        .initial_indent(head)
        .subsequent_indent(&rest);
    format!("{}\n", textwrap::fill(text, options))
}

/// An edition after a source; nothing where the source has none.
fn edition(edition: &str) -> String {
    if edition.is_empty() || edition == "none" {
        String::new()
    } else {
        format!(", {edition}")
    }
}
