//! Job files of a folder, and files written out for others.

use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use serde::Deserialize;

use super::LONGEST_FILE;
use super::disk::{Disk, RealDisk, SAVING, SAVING_END};
use super::error::StoreError;
use super::kind::is_no_job;
use super::load::{is_job_name, journal_of, parse_any, utf8};
use super::write::replace;
use crate::job::text::parse;
use crate::job::validate::words::shown;

/// A job file in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JobEntry {
    /// Where it is.
    pub path: PathBuf,
    /// Its reference; empty where it can't be read.
    pub reference: String,
    /// Its title; empty where it can't be read.
    pub title: String,
    /// Why its first fields can't be read; `None` where they can. Opening it may find more.
    pub trouble: Option<String>,
}

/// What a list shows. Unknown fields are left for the opening to judge.
#[derive(Deserialize)]
struct Head {
    #[serde(rename = "schema")]
    _schema: u32,
    reference: String,
    title: String,
}

/// The job files of a folder, sorted by name. A `.ron` file is left out only where it is known to be another kind of file of this
/// program and has no journal: anything else may be a damaged job.
///
/// # Errors
/// [`StoreError::Disk`] where the folder can't be listed.
pub fn list_jobs(dir: &Path) -> Result<Vec<JobEntry>, StoreError> {
    let disk = RealDisk;
    let mut out = Vec::new();
    for path in ron_files(dir)? {
        let mut entry = JobEntry {
            reference: String::new(),
            title: String::new(),
            trouble: None,
            path,
        };
        let raw = entry.path.display().to_string();
        // A name with a line end is one name.
        let name = shown(&raw);
        match disk.read(&entry.path, LONGEST_FILE) {
            Err(e) => {
                let why = StoreError::disk(&entry.path, &e).to_string();
                entry.trouble = Some(why.replace(&raw, &name));
            }
            Ok(bytes) if is_something_else(&disk, &entry.path, &bytes) => continue,
            Ok(bytes) => match utf8(&name, &bytes) {
                Err(e) => entry.trouble = Some(e.to_string()),
                Ok(text) => match parse::<Head>(&name, text) {
                    Ok(head) => {
                        entry.reference = head.reference;
                        entry.title = head.title;
                    }
                    // Read as a whole it says more: a name that is misspelt, and not only that one is missing.
                    Err(e) => {
                        let whole = parse_any(&name, &bytes).err().map(|e| e.to_string());
                        let why = whole.unwrap_or_else(|| e.to_string());
                        entry.trouble = why.lines().next().map(str::to_string);
                    }
                },
            },
        }
        out.push(entry);
    }
    Ok(out)
}

/// Names of the job files of a folder, as [`list_jobs`] lists them, without taking any of them apart.
///
/// # Errors
/// [`StoreError::Disk`] where the folder can't be listed.
pub fn job_files(dir: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let disk = RealDisk;
    let mut out = ron_files(dir)?;
    out.retain(|path| {
        let bytes = disk.read(path, LONGEST_FILE);
        !bytes.is_ok_and(|bytes| is_something_else(&disk, path, &bytes))
    });
    Ok(out)
}

fn ron_files(dir: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let mut files = RealDisk.files(dir).map_err(|e| StoreError::disk(dir, &e))?;
    files.retain(|path| is_job_name(path));
    // `./` in front of every name says nothing.
    let plain = |path: PathBuf| match path.strip_prefix(".") {
        Ok(name) => name.to_path_buf(),
        Err(_) => path,
    };
    Ok(files.into_iter().map(plain).collect())
}

/// How old a file of a saving has to be to be called left behind. Saving takes seconds; a clock may be an hour off.
const LEFT_BEHIND: Duration = Duration::from_secs(24 * 60 * 60);

/// The files that savings left in a folder when they were cut off by a kill or power cut, a day ago at least. What was kept is in
/// the job files and journals.
pub fn left_behind(dir: &Path, now: SystemTime) -> Vec<PathBuf> {
    let disk = RealDisk;
    let is_ours = |path: &Path| {
        let name = path.file_name().and_then(|n| n.to_str());
        let made_up = name
            .and_then(|n| n.strip_prefix(SAVING)?.strip_suffix(SAVING_END))
            .unwrap_or_default();
        made_up.len() == 6 && made_up.bytes().all(|b| b.is_ascii_alphanumeric())
    };
    let is_old = |path: &Path| {
        let age = disk
            .modified(path)
            .ok()
            .and_then(|at| now.duration_since(at).ok());
        age.is_some_and(|age| age > LEFT_BEHIND)
    };
    // A folder that can't be listed is said elsewhere.
    let mut files = disk.files(dir).unwrap_or_default();
    files.retain(|path| is_ours(path) && is_old(path));
    files
}

/// Whether a file is no job, such as a form file. What has a journal was one.
fn is_something_else(disk: &dyn Disk, path: &Path, bytes: &[u8]) -> bool {
    let known = |text: &str| !text.contains("schema") && is_no_job(text);
    std::str::from_utf8(bytes).is_ok_and(known) && disk.resolve(&journal_of(path)).is_err()
}

/// Reads a PDF of at most 64 MB.
///
/// # Errors
/// [`StoreError::Disk`], also where it is no PDF.
pub fn read_pdf(path: &Path) -> Result<Vec<u8>, StoreError> {
    let bytes = RealDisk
        .read(path, LONGEST_FILE)
        .map_err(|e| StoreError::disk(path, &e))?;
    if !bytes.starts_with(PDF) {
        return Err(StoreError::Disk {
            file: path.display().to_string(),
            what: "it is no PDF".into(),
            remedy: "give the PDF that was drafted".into(),
        });
    }
    Ok(bytes)
}

/// Folders where something may be put that can't be put where it belongs: the one this was started in, the person's own, and that for
/// passing files.
pub fn refuge() -> Vec<PathBuf> {
    let home = etcetera::home_dir().ok();
    let here = std::env::current_dir().ok();
    here.into_iter()
        .chain(home)
        .chain([std::env::temp_dir()])
        .collect()
}

/// Writes the PDF of `job`: whole or not at all, where [`may_write_out`] lets it.
///
/// # Errors
/// As there, and where it can't be written.
pub fn write_out(
    path: &Path,
    bytes: &[u8],
    job: &Path,
    may_replace: &dyn Fn(&[u8]) -> Result<(), String>,
) -> Result<(), StoreError> {
    may_write_out(path, job, may_replace)?;
    replace(&RealDisk, path, bytes).map_err(|e| StoreError::disk(path, &e))
}

/// Whether the PDF of `job` may be written there, and its folder takes a file. One that is there is replaced where `may_replace` says of its bytes that it may
/// be, or why not; never a job file, a journal or any other file that is no PDF.
///
/// # Errors
/// [`StoreError::Taken`] where it may not be replaced; [`StoreError::Disk`], also for every name that leads to something which
/// isn't a PDF.
pub fn may_write_out(
    path: &Path,
    job: &Path,
    may_replace: &dyn Fn(&[u8]) -> Result<(), String>,
) -> Result<(), StoreError> {
    let refused = |what: &str| StoreError::Disk {
        file: path.display().to_string(),
        what: what.into(),
        remedy: "give a name that ends in .pdf and isn't taken".into(),
    };
    let failed = |e: io::Error| StoreError::disk(path, &e);
    let disk = RealDisk;
    // The slip `--out JOB.ron` would otherwise cost the record.
    if is_of_a_job(path) {
        return Err(refused("this is the name of a job file or journal"));
    }
    if disk
        .link_target(path)
        .map_err(failed)?
        .is_some_and(|to| is_of_a_job(&to))
    {
        return Err(refused("this is a link to a job file or journal"));
    }
    match disk.resolve(path) {
        Ok(real) => {
            if let Ok(job) = disk.resolve(job)
                && (real == job || real == journal_of(&job))
            {
                return Err(refused("this is the job itself, or its journal"));
            }
            // By the last of several links.
            if is_of_a_job(&real) {
                return Err(refused("this is a link to a job file or journal"));
            }
            if !disk.starts_with(&real, PDF).map_err(failed)? {
                return Err(refused("there is a file of that name, and it isn't a PDF"));
            }
            let old = disk.read(&real, LONGEST_FILE).map_err(failed)?;
            may_replace(&old).map_err(|why| StoreError::Taken {
                file: path.display().to_string(),
                why,
            })?;
        }
        Err(e) if e.kind() == ErrorKind::NotFound => {}
        Err(e) => return Err(failed(e)),
    }
    // One that is never placed is gone again.
    disk.stage(path).map(drop).map_err(failed)
}

/// What every PDF begins with.
const PDF: &[u8] = b"%PDF-";

fn is_of_a_job(path: &Path) -> bool {
    path.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("ron") || e.eq_ignore_ascii_case("journal"))
}
