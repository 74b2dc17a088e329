//! Reading a job: strictly, with every problem located, and with what only the journal holds.

use std::ffi::OsString;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use serde::Deserialize;

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk};
use super::error::StoreError;
use super::found::Found;
use super::journal::{Fit, Link, Record, Survey, count, survey};
use super::spot::Spots;
use crate::job::digest::digest;
use crate::job::text::{TextError, locate, options, parse, sound};
use crate::job::validate::words::shown;
use crate::job::{Change, Done, Job, Reading, SCHEMA, Unlike};

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
    /// The same, taken apart for a page.
    pub found: Vec<Found>,
}

/// Reads a job without locking it, for looking at and drafting.
///
/// # Errors
/// [`StoreError::Disk`] where the file can't be read, [`StoreError::Unusable`] with everything that is wrong in it.
/// A damaged journal is no error: it is in `notes` and `lost`.
pub fn read_job(path: &Path) -> Result<Opened, StoreError> {
    let (job, seen) = see(&RealDisk, path)?;
    Ok(bring_back(job, &seen, path))
}

/// What was seen of a job beside the job itself, before its journal is replayed.
pub(super) struct Seen {
    /// The job file.
    pub(super) bytes: Vec<u8>,
    /// Version of the file.
    pub(super) version: u32,
    /// Fields of a newer version that were left out.
    pub(super) unknown: Vec<String>,
    journal: Vec<u8>,
}

/// Reads a job file and its journal, without locking it.
pub(super) fn see(disk: &dyn Disk, path: &Path) -> Result<(Job, Seen), StoreError> {
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
    let parsed = parse_any(&name, &bytes)?;
    let journal = match disk.read(&journal_of(&real), LONGEST_FILE) {
        Ok(journal) => journal,
        Err(e) if e.kind() == ErrorKind::NotFound => Vec::new(),
        Err(e) => return Err(StoreError::disk(&journal_of(path), &e)),
    };
    let seen = Seen {
        bytes,
        version: parsed.version,
        unknown: parsed.unknown,
        journal,
    };
    Ok((parsed.job, seen))
}

/// The job with what only its journal has, as far as looking goes.
pub(super) fn bring_back(job: Job, seen: &Seen, path: &Path) -> Opened {
    let name = path.display().to_string();
    let found = survey(&seen.journal, &Link::of(&job));
    let shown_journal = journal_of(path).display().to_string();
    let no_history = lacks_history(&job, seen.version);
    let altered_file = is_altered(&seen.bytes, &job);
    let mut opened = replay(job, &found, &shown_journal);
    if altered_file {
        opened.notes.push(altered(&name));
        opened.found.push(Found::altered(&name));
    }
    if let Some(torn) = &found.torn {
        opened.notes.push(format!(
            "{shown_journal}: {torn}; {TORN}, and stays where it is until the job is opened for writing"
        ));
        let rest = rest_of(&seen.journal, found.good);
        opened
            .found
            .push(Found::torn(&shown_journal, torn, rest, None));
    }
    opened.look_at_history(no_history);
    opened.look_at_issues();
    opened.look_at_version(&name, seen.version, &seen.unknown);
    opened
}

/// Whether a job file, before its journal is replayed, has no history though changes were saved in it: it was taken out. Files
/// of version 1 had none.
pub(super) fn lacks_history(job: &Job, version: u32) -> bool {
    version > 1 && job.kept > 0 && job.history.is_empty()
}

impl Opened {
    /// Whether what was recorded can't be relied upon as it stands, whatever the readings are: changed outside of the program,
    /// with a broken history, or not whole.
    pub fn is_in_question(&self) -> bool {
        self.in_question().is_some()
    }

    /// Why it can't, where it can't: the first reason.
    pub fn in_question(&self) -> Option<&str> {
        let mut found = self.found.iter().filter(|f| f.questions_the_record());
        self.lost.as_deref().or_else(|| Some(&found.next()?.what))
    }

    /// Says what is wrong with the history: gone from the file, unlike the readings, or with a broken chain.
    pub(super) fn look_at_history(&mut self, gone: bool) {
        if gone {
            self.notes.push(Found::NO_HISTORY.to_string());
            self.found.push(Found::no_history(self.job.kept));
        }
        let unlike = self.job.unlike_history(usize::MAX);
        if !unlike.is_empty() {
            let each: Vec<String> = unlike.iter().map(Unlike::words).collect();
            self.notes.push(format!(
                "{}. {}",
                Found::unlike_words(unlike.len()),
                each.join("; ")
            ));
            self.found.push(Found::unlike(&self.job, &unlike));
        }
        if let Some(broken) = self.job.history.broken() {
            self.notes.push(format!(
                "the chain of the history is broken: {}",
                broken.why
            ));
            self.found.push(Found::broken_chain(&broken.why));
        }
    }

    /// Says which issues are gone that the history knows, which it doesn't know though it should, and which it has otherwise,
    /// unless somebody decided to go on.
    pub(super) fn look_at_issues(&mut self) {
        let gone = self.job.issues_gone();
        let gone = gone.iter().map(|&(n, at)| Found::unlisted(n, at));
        let unknown = self.job.issues_unknown();
        let unknown = unknown.iter().map(|&(n, at)| Found::unknown_issue(n, at));
        let unlike = self.job.issues_unlike();
        let unlike = unlike.iter().map(|&(n, at)| Found::unlike_issue(n, at));
        let history = &self.job.history;
        let settled = |what: &str| {
            let mut settled = history.iter().filter(|deed| deed.done == Done::Settled);
            settled.any(|deed| deed.new.starts_with(what))
        };
        let found = gone
            .chain(unknown)
            .chain(unlike)
            .filter(|found| !settled(&found.what));
        for found in found.collect::<Vec<_>>() {
            self.notes.push(found.what.clone());
            self.found.push(found);
        }
    }

    /// A newer version is only looked at: what the program doesn't know may change the meaning of what it knows.
    pub(super) fn look_at_version(&mut self, name: &str, version: u32, unknown: &[String]) {
        if version <= SCHEMA {
            return;
        }
        let not_shown = if unknown.is_empty() {
            String::new()
        } else {
            let list: Vec<String> = unknown.iter().map(|u| shown(u)).collect();
            format!(
                " Not shown, because this program doesn't know it: {}.",
                list.join(", ")
            )
        };
        let newer = format!(
            "{name}: version {version} is newer than this program, which writes version {SCHEMA}: the job is open for reading only, \
             and nothing is kept, signed, issued or drafted from it.{not_shown} Use the newer program"
        );
        self.found.insert(0, Found::newer(&newer, name));
        self.lost = Some(match self.lost.take() {
            Some(lost) => format!("{newer}. {lost}"),
            None => newer,
        });
    }
}

/// What stands in a journal behind its last good line.
pub(super) fn rest_of(journal: &[u8], good: u64) -> &[u8] {
    let at = usize::try_from(good).ok();
    at.and_then(|at| journal.get(at..)).unwrap_or_default()
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
    let mut listed: Vec<Found> = notes
        .iter()
        .map(|n| Found::damage_behind_us(n, journal))
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
        let records = found.records.iter().take(brought_back);
        let records: Vec<&Record> = records.map(|(_, record)| record).collect();
        listed.push(Found::brought_back(&records));
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
            listed.push(Found::behind(journal, &lacking));
            if !lacking.is_empty() {
                let which = match lacking.len() {
                    1 => "1 reading in it is".to_string(),
                    n => format!("{n} readings in it are"),
                };
                notes.push(format!(
                    "{journal}: {which} not in the job: taken back meanwhile, or kept by another program. Compare the two"
                ));
            }
        }
        Fit::Empty if job.kept > 0 && found.torn.is_none() => {
            listed.push(Found::no_journal(journal));
            notes.push(format!(
                "{journal}: isn't there or is empty; the job file is whole in itself, but what was kept after it was last saved, \
                 if anything, isn't there"
            ));
        }
        Fit::Empty | Fit::Continues => {}
    }
    if let Some(lost) = &lost {
        listed.push(Found::lost(lost, journal));
    }
    let lost = lost.map(|l| {
        format!("{l}. Nothing was thrown away: copy both files before anything else, then put the job file right or move the journal away")
    });
    Opened {
        job,
        notes,
        lost,
        found: listed,
    }
}

/// What is said of a last line that can't be read: a cut or damage afterwards looks the same as a line never finished.
pub(super) const TORN: &str =
    "what it held isn't in the job (if it was called kept, enter it again)";

/// Readings of a journal that aren't in the job, neither standing nor struck out.
fn lacking<'a>(job: &Job, records: &'a [Record]) -> Vec<(String, &'a Reading)> {
    records
        .iter()
        .filter(|record| record.job == job.reference)
        .flat_map(|record| record.change.keeps())
        .filter(|(place, reading)| {
            let same = |r: &Reading| r.typed == reading.typed && r.at == reading.at;
            !job.entry(place)
                .is_some_and(|entry| same(&entry.now) || entry.struck.iter().any(same))
        })
        .map(|(place, reading)| (place.to_string(), reading))
        .collect()
}

/// What the last line of a saved job file starts with; the digest of everything before follows.
const CHECK: &str = "// check ";

/// Whether the file of a job isn't as it was saved. One without the last line wasn't saved by this program: nothing is known of
/// it, unless it has what only this program writes, and never without that line: a history, or a count of changes.
pub(super) fn is_altered(bytes: &[u8], job: &Job) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let Some((before, check)) = text.rsplit_once(&format!("\n{CHECK}")) else {
        return job.kept > 0 || !job.history.is_empty();
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

/// A job as it was read, of whatever version.
pub(super) struct Parsed {
    /// As a job of this program's version.
    pub(super) job: Job,
    /// Version of the file.
    pub(super) version: u32,
    /// Fields of a newer version that were left out.
    pub(super) unknown: Vec<String>,
}

/// Reads and validates a job of this version or an older one.
pub(super) fn parse_job(name: &str, bytes: &[u8]) -> Result<Job, StoreError> {
    let parsed = parse_any(name, bytes)?;
    if parsed.version > SCHEMA {
        return Err(newer(name, utf8(name, bytes)?, parsed.version, ""));
    }
    Ok(parsed.job)
}

fn newer(name: &str, text: &str, version: u32, why: &str) -> StoreError {
    let (line, column) = locate(text, "schema");
    StoreError::text(TextError {
        file: name.to_string(),
        line,
        column,
        field: "schema".into(),
        what: format!("version {version} is newer than this program{why}"),
        remedy: format!("this program reads version {SCHEMA}: use a newer one"),
    })
}

/// Reads and validates a job. One of a newer version is read as far as this program knows its fields.
pub(super) fn parse_any(name: &str, bytes: &[u8]) -> Result<Parsed, StoreError> {
    let text = utf8(name, bytes)?;
    let read: Result<Job, TextError> = parse(name, text);
    // A large job isn't read twice to know its version.
    let version = match &read {
        Ok(job) => Some(job.schema),
        Err(_) => parse::<Head>(name, text).ok().map(|head| head.schema),
    };
    if let Some(version) = version.filter(|v| *v > SCHEMA) {
        // Whatever can't be read in it is no mistake of whoever wrote it.
        let failed = |e: StoreError| {
            newer(
                name,
                text,
                version,
                &format!(", and can't be shown by it ({e})"),
            )
        };
        let (mut job, unknown) =
            super::newer::read(name, text).map_err(|e| failed(StoreError::text(e)))?;
        job.schema = SCHEMA;
        validated(name, text, &job).map_err(failed)?;
        return Ok(Parsed {
            job,
            version,
            unknown,
        });
    }
    let mut job = read.map_err(StoreError::text)?;
    let version = job.schema;
    migrate(&mut job);
    validated(name, text, &job)?;
    Ok(Parsed {
        job,
        version,
        unknown: Vec::new(),
    })
}

/// Brings a job of an older version to this one, version by version. Digests of its content stay as they are.
fn migrate(job: &mut Job) {
    if job.schema == 1 {
        // Version 2 has a history, which begins with the first change.
        job.schema = 2;
    }
}

fn validated(name: &str, text: &str, job: &Job) -> Result<(), StoreError> {
    let problems = job.problems();
    if problems.is_empty() {
        return Ok(());
    }
    let spots = Spots::of(text);
    let problems: Vec<TextError> = problems
        .into_iter()
        .map(|p| {
            // The text itself may stand in many places, so the path decides.
            let (line, column) = match spots.find(job, &p.field) {
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
