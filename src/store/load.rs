//! Reading a job: strictly, with every problem located, and with what only the journal holds.

use std::ffi::OsString;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::journal::{Fit, Link, Record, Survey, count, survey};
use super::spot::Spots;
use crate::job::digest::digest;
use crate::job::text::{TextError, locate, options, parse, sound};
use crate::job::{Change, Job, Reading, SCHEMA};

const TITLE: &str = "// wanderlead job: everything recorded on one visit. The journal beside it holds what was kept since.\n";

/// A job opened for reading only.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The job, with everything that could be brought back from its journal.
    pub job: Job,
    /// What was found on opening and should be said.
    pub notes: Vec<String>,
    /// What could **not** be brought back from the journal, with the remedy. The job is then not the whole record.
    pub lost: Option<String>,
}

/// Reads a job without locking it, for looking at and drafting.
///
/// # Errors
/// [`StoreError::Disk`] where the file can't be read, [`StoreError::Unusable`] with everything that is wrong in it.
/// A damaged journal is no error: it is in `notes` and `lost`.
pub fn read_job(path: &Path) -> Result<Opened, StoreError> {
    read_job_on(&RealDisk, path)
}

/// [`read_job`] on any disk.
pub(super) fn read_job_on(disk: &dyn Disk, path: &Path) -> Result<Opened, StoreError> {
    let name = path.display().to_string();
    let real = disk.resolve(path).map_err(|e| StoreError::disk(path, &e))?;
    let bytes = disk
        .read(&real, LONGEST_FILE)
        .map_err(|e| StoreError::disk(path, &e))?;
    // What may be overwritten is decided by the end of the name, so a job under any other isn't safe.
    if !is_job_name(path) || !is_job_name(&real) {
        return Err(StoreError::Disk {
            file: name,
            what: "this isn't the name of a job file".into(),
            remedy: "give the name of a file that ends in .ron, or copy this one to such a name"
                .into(),
        });
    }
    let job = parse_job(&name, &bytes)?;
    let journal = match disk.read(&journal_of(&real), LONGEST_FILE) {
        Ok(journal) => journal,
        Err(e) if e.kind() == ErrorKind::NotFound => Vec::new(),
        Err(e) => return Err(StoreError::disk(&journal_of(path), &e)),
    };
    let found = survey(&journal, &Link::of(&job));
    let mut opened = replay(job, &found, &journal_of(path).display().to_string());
    if is_altered(&bytes) {
        opened.notes.push(altered(&name));
    }
    if let Some(torn) = &found.torn {
        opened.notes.push(format!(
            "{}: {torn}; {TORN}, and stays where it is until the job is opened for writing",
            journal_of(path).display()
        ));
    }
    Ok(opened)
}

/// Brings what the survey found into the job. A change that doesn't fit ends it: the rest is reported as lost.
pub(super) fn replay(job: Job, found: &Survey, journal: &str) -> Opened {
    let opened = replay_each(job.clone(), found, journal, false);
    // Only a journal that this program didn't write makes a job that couldn't be opened again once it is saved.
    if opened.job.kept == job.kept || opened.job.problems().is_empty() {
        return opened;
    }
    replay_each(job, found, journal, true)
}

/// Makes a change. `careful`: refuses also one that leaves a job which couldn't be opened.
fn make(job: &mut Job, change: &Change, careful: bool) -> Result<(), String> {
    if !careful {
        return job.apply(change).map(drop).map_err(|e| e.to_string());
    }
    let mut next = job.clone();
    next.apply(change).map_err(|e| e.to_string())?;
    if let Some(problem) = next.problems().first() {
        return Err(format!("{}: {}", problem.field, problem.what));
    }
    *job = next;
    Ok(())
}

fn replay_each(mut job: Job, found: &Survey, journal: &str, careful: bool) -> Opened {
    let mut notes: Vec<String> = found
        .notes
        .iter()
        .map(|n| format!("{journal}: {n}"))
        .collect();
    let mut lost = None;
    let mut brought_back = 0;
    for (link, record) in &found.records {
        let fault = if record.job == job.reference {
            make(&mut job, &record.change, careful).err()
        } else {
            Some(format!(
                "it belongs to job {} and not to {}",
                record.job, job.reference
            ))
        };
        if let Some(fault) = fault {
            let rest = found.records.len() - brought_back;
            lost = Some(format!(
                "{journal}: change {} can't be brought back: {}; {} waiting there",
                link.seq,
                // It may quote the journal.
                sound(&fault),
                count(rest, "change")
            ));
            break;
        }
        job.kept = link.seq;
        job.kept_digest.clone_from(&link.digest);
        brought_back += 1;
    }
    if brought_back > 0 {
        notes.push(format!(
            "{} brought back from the journal",
            count(brought_back, "change")
        ));
    }
    match &found.fit {
        Fit::Broken(why) => {
            lost.get_or_insert(format!("{journal}: {why}"));
        }
        Fit::Behind => {
            notes.push(format!(
                "{journal}: doesn't lead up to this job file; the job file is whole in itself"
            ));
            let lacking = lacking(&job, &found.behind);
            if lacking > 0 {
                let which = if lacking == 1 {
                    "1 reading in it is".to_string()
                } else {
                    format!("{lacking} readings in it are")
                };
                notes.push(format!(
                    "{journal}: {which} not in the job: taken back meanwhile, or kept by another program. Compare the two"
                ));
            }
        }
        Fit::Empty if job.kept > 0 && found.torn.is_none() => notes.push(format!(
            "{journal}: isn't there or is empty; the job file is whole in itself, but what was kept after it was last saved, \
             if anything, isn't there"
        )),
        Fit::Empty | Fit::Continues => {}
    }
    let lost = lost.map(|l| {
        format!("{l}. Nothing was thrown away: copy both files before anything else, then put the job file right or move the journal away")
    });
    Opened { job, notes, lost }
}

/// What is said of a last line that can't be read: a cut or damage afterwards looks the same as a line never finished.
pub(super) const TORN: &str =
    "what it held isn't in the job (if it was called kept, enter it again)";

/// Readings of a journal that aren't in the job, neither standing nor struck out.
fn lacking(job: &Job, records: &[Record]) -> usize {
    records
        .iter()
        .filter(|record| record.job == job.reference)
        .flat_map(|record| record.change.keeps())
        .filter(|(place, reading)| {
            let same = |r: &Reading| r.typed == reading.typed && r.at == reading.at;
            !job.entry(place)
                .is_some_and(|entry| same(&entry.now) || entry.struck.iter().any(same))
        })
        .count()
}

/// What the last line of a saved job file starts with; the digest of everything before follows.
const CHECK: &str = "// check ";

/// Whether a file isn't as it was saved. A file without the last line wasn't saved by this program: nothing is known of it.
pub(super) fn is_altered(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let Some((before, check)) = text.rsplit_once(&format!("\n{CHECK}")) else {
        return false;
    };
    check.trim() != check_of(&format!("{before}\n"))
}

fn check_of(text: &str) -> String {
    // A copy by mail or an editor may turn line ends.
    digest(&[text.replace('\r', "").as_bytes()])
}

/// What is said of a job file that isn't as it was saved.
pub(super) fn altered(name: &str) -> String {
    format!(
        "{name}: was changed since it was saved, by hand or by damage to the disk: look through it. It is copied beside \
         before it is saved again"
    )
}

pub(super) fn is_job_name(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("ron"))
}

/// The journal of a job file.
pub(super) fn journal_of(path: &Path) -> PathBuf {
    let mut name = OsString::from(path);
    name.push(".journal");
    PathBuf::from(name)
}

/// Only what decides whether the rest can be read.
#[derive(Deserialize)]
struct Head {
    schema: u32,
}

/// The text of a file, with a located error where it isn't UTF-8.
pub(super) fn utf8<'a>(name: &str, bytes: &'a [u8]) -> Result<&'a str, StoreError> {
    std::str::from_utf8(bytes).map_err(|e| {
        let before = bytes.get(..e.valid_up_to()).unwrap_or_default();
        let line = before.iter().filter(|b| **b == b'\n').count() + 1;
        let start = before
            .iter()
            .rposition(|b| *b == b'\n')
            .map_or(0, |i| i + 1);
        let column = before
            .get(start..)
            .map_or(1, |l| String::from_utf8_lossy(l).chars().count() + 1);
        StoreError::text(TextError {
            file: name.to_string(),
            line,
            column,
            field: String::new(),
            what: "this is not UTF-8 text".into(),
            remedy: "save the file as UTF-8, or restore it from a copy".into(),
        })
    })
}

/// Reads and validates a job.
pub(super) fn parse_job(name: &str, bytes: &[u8]) -> Result<Job, StoreError> {
    let text = utf8(name, bytes)?;
    // A newer file has fields that this program doesn't know: say so, instead of complaining about the first of them.
    if let Ok(head) = parse::<Head>(name, text)
        && head.schema > SCHEMA
    {
        let (line, column) = locate(text, "schema");
        return Err(StoreError::text(TextError {
            file: name.to_string(),
            line,
            column,
            field: "schema".into(),
            what: format!("version {} is newer than this program", head.schema),
            remedy: format!("this program reads version {SCHEMA}: use a newer one"),
        }));
    }
    let job: Job = parse(name, text).map_err(StoreError::text)?;
    let problems = job.problems();
    if problems.is_empty() {
        return Ok(job);
    }
    let spots = Spots::of(text);
    let problems: Vec<TextError> = problems
        .into_iter()
        .map(|p| {
            // The text itself may stand in many places, so the path decides.
            let (line, column) = match spots.find(&job, &p.field) {
                (0, 0) => locate(text, &p.near),
                found => found,
            };
            TextError {
                file: name.to_string(),
                line,
                column,
                field: p.field,
                what: p.what,
                remedy: p.remedy,
            }
        })
        .collect();
    Err(StoreError::Unusable(problems))
}

/// The job as it is saved.
pub(super) fn job_text(job: &Job) -> Result<String, String> {
    let pretty = ron::ser::PrettyConfig::new().new_line("\n").indentor("  ");
    let body = options()
        .to_string_pretty(job, pretty)
        .map_err(|e| e.to_string())?;
    let text = format!("{TITLE}{body}\n");
    let check = check_of(&text);
    Ok(format!("{text}{CHECK}{check}\n"))
}
