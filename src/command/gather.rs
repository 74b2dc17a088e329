//! `gather`: one line for each job of a folder, for a firm's office.

use std::num::NonZero;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::SystemTime;

use anyhow::{Result, bail};
use clap::{Args, ValueEnum};

use super::cells::Table;
use super::{Context, Reply};
use crate::checks::{Verdict, counts, judge_all};
use crate::forms::Forms;
use crate::guide::{is_complete, is_signed};
use crate::job::Job;
use crate::job::validate::words::shown;
use crate::{paper, store};

/// How the list is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum As {
    /// A line of words for each job
    Text,
    /// Comma-separated values with a line of headings, UTF-8
    Csv,
    /// An object with `schema` and `rows`
    Json,
}

/// Arguments of `gather`.
#[derive(Debug, Args)]
#[command(
    after_help = "A .ron file that isn't known to be something else is taken for a job, and its line says why it can't be used. \
                  Exit codes: 0 every job is complete and none in question, 1 one isn't, or can't be used, 2 no folder, or no \
                  job in it."
)]
pub(super) struct GatherArgs {
    /// Folder with job files; its folders are not looked into
    folder: PathBuf,
    /// How the list is written
    #[arg(long = "as", value_enum, default_value = "text")]
    as_: As,
}

/// A column each, in this order; the last says why a file can't be used.
const COLUMNS: [&str; 12] = [
    "file",
    "reference",
    "title",
    "address",
    "state",
    "outside",
    "open",
    "to_countersign",
    "query",
    "last_entry",
    "next_inspection",
    "trouble",
];

/// Lists the jobs. Exit code 0 where every one is complete, 1 where one isn't or can't be used.
///
/// # Errors
/// A form file that can't be used, a folder that can't be listed, or one without a job: a mistyped name must not read as if
/// everything were complete.
pub(super) fn run(args: &GatherArgs, context: &Context) -> Result<Reply> {
    let forms = context.forms()?;
    if !args.folder.is_dir() {
        bail!(
            "{}: this is no folder; give the name of the folder that the job files are in",
            args.folder.display()
        );
    }
    let paths = store::job_files(&args.folder)?;
    if paths.is_empty() {
        bail!(
            "{}: no job file in it; check the name: job files end in .ron, and folders within it aren't looked into",
            args.folder.display()
        );
    }
    let mut lines = read_all(&paths, &forms);
    let all_complete = lines.iter().all(|l| l.complete);
    let data = match args.as_ {
        As::Text => text(&lines),
        // A row each, also for whoever looks at it line by line; the JSON has names as they are.
        As::Csv => {
            for line in &mut lines {
                let [file, ..] = &mut line.cells;
                *file = shown(file);
            }
            table(lines).csv()?
        }
        As::Json => table(lines).json()?,
    };
    Ok(Reply {
        data,
        messages: left_behind(&args.folder).into_iter().collect(),
        code: u8::from(!all_complete),
    })
}

/// What is said of files that cut-off savings left behind: they hold a customer's data, and hidden names.
fn left_behind(folder: &Path) -> Option<String> {
    let files = store::left_behind(folder, SystemTime::now());
    let first = files.first()?.file_name()?.display().to_string();
    let which = match files.len() {
        1 => format!("{first} is left of a saving that was cut off"),
        n => format!("{n} files such as {first} are left of savings that were cut off"),
    };
    Some(format!(
        "{}: {which}; what was kept is in the jobs and their journals: remove what is left once no job is open",
        folder.display()
    ))
}

/// What is known of one file.
struct Line {
    cells: [String; 12],
    complete: bool,
}

/// Reads and judges every job, on as many threads as the machine has; the lines come in the order of the files.
fn read_all(paths: &[PathBuf], forms: &Forms) -> Vec<Line> {
    let threads = thread::available_parallelism().map_or(1, NonZero::get);
    let share = paths.len().div_ceil(threads).max(1);
    thread::scope(|scope| {
        let workers: Vec<_> = paths
            .chunks(share)
            .map(|paths| {
                (
                    paths,
                    scope.spawn(move || paths.iter().map(|p| safe(p, forms)).collect::<Vec<_>>()),
                )
            })
            .collect();
        let each = workers.into_iter().flat_map(|(paths, worker)| {
            let fault = |_| paths.iter().map(|p| trouble(p, FAULT.into())).collect();
            worker.join().unwrap_or_else(fault)
        });
        each.collect()
    })
}

const FAULT: &str =
    "the program failed on this file, by a fault of its own; keep the file as it is";

/// The line of a file, also where the program fails on it: the others are listed all the same.
fn safe(path: &Path, forms: &Forms) -> Line {
    catch_unwind(|| line(path, forms)).unwrap_or_else(|_| trouble(path, FAULT.into()))
}

fn line(path: &Path, forms: &Forms) -> Line {
    let opened = match store::read_job(path) {
        Ok(opened) => opened,
        Err(e) => return trouble(path, e.to_string()),
    };
    let question = opened.in_question().map(|why| by_name(path, why));
    let job = opened.job;
    let findings = judge_all(&job, forms);
    let counts = counts(&findings);
    let of = |v: Verdict| counts.get(&v).copied().unwrap_or(0).to_string();
    let waiting = findings.iter().filter(|f| f.waits_for_countersign).count();
    let finished = is_complete(&findings) && is_signed(&findings);
    let state = match (&opened.lost, finished, paper::issued(&job, forms)) {
        (Some(_), ..) => "record not whole".to_string(),
        (None, true, Ok(Some(issue))) => format!("issue {}", issue.number),
        (None, true, _) => "complete, not issued".into(),
        (None, false, _) if last_entry(&job).is_none() => "not begun".into(),
        (None, false, _) => "in work".into(),
    };
    Line {
        complete: finished && question.is_none(),
        cells: [
            name(path),
            job.reference.clone(),
            job.title.clone(),
            job.address.replace('\n', ", "),
            state,
            of(Verdict::Outside),
            of(Verdict::Open),
            waiting.to_string(),
            of(Verdict::Query),
            last_entry(&job).unwrap_or_default(),
            job.next_inspection.map_or(String::new(), |d| d.to_string()),
            question.unwrap_or_default(),
        ],
    }
}

/// The day of the newest reading.
fn last_entry(job: &Job) -> Option<String> {
    let seats = job.seats();
    let each = seats.iter().flat_map(|s| s.readings.iter());
    let newest = each.map(|(_, entry)| entry.now.at).max()?;
    Some(newest.format("%Y-%m-%d").to_string())
}

fn name(path: &Path) -> String {
    path.file_name().map_or_else(
        || path.display().to_string(),
        |n| n.to_string_lossy().into(),
    )
}

/// What is wrong with a file, with its name as in the first column in the place of its path, and fit for a line.
fn by_name(path: &Path, why: &str) -> String {
    let why = why.replace(&path.display().to_string(), &shown(&name(path)));
    // One line each: the first of several problems is enough to send somebody to the file.
    shown(why.lines().next().unwrap_or_default())
}

fn trouble(path: &Path, why: String) -> Line {
    let mut cells: [String; 12] = Default::default();
    let [file, .., last] = &mut cells;
    *file = name(path);
    *last = by_name(path, &why);
    Line {
        cells,
        complete: false,
    }
}

fn table(lines: Vec<Line>) -> Table {
    Table {
        headings: COLUMNS.map(String::from).to_vec(),
        rows: lines.into_iter().map(|l| l.cells.to_vec()).collect(),
    }
}

fn text(lines: &[Line]) -> String {
    let each = lines.iter().map(|line| {
        let [
            file,
            reference,
            _,
            _,
            state,
            outside,
            open,
            sign,
            query,
            _,
            next,
            trouble,
        ] = &line.cells;
        let file = shown(file);
        if state.is_empty() {
            return format!("{file}: can't be used: {trouble}\n");
        }
        let next = match next.as_str() {
            "" => "not set",
            day => day,
        };
        let doubt = match trouble.as_str() {
            "" => String::new(),
            why => format!("; in question: {why}"),
        };
        format!(
            "{file}: {reference}, {state}; {outside} outside, {open} open, {sign} to countersign, {query} query; next inspection \
             {next}{doubt}\n"
        )
    });
    each.collect()
}
