//! Jobs with a fault put in, and sound jobs of other kinds: read from `tests/gallery/*.ron`, without code for each.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub(crate) mod edit;
pub(crate) mod notation;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use edit::{Edit, Stop};
use serde::Deserialize;
use wanderlead::checks::{Finding, Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::job::text::{locate, parse};
use wanderlead::job::{Job, Place};

/// A job to start from that is no sample itself.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Base {
    pub on: String,
    pub edits: Vec<Edit>,
}

/// A fault, and the one place that must name it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fault {
    pub name: String,
    pub on: String,
    pub edits: Vec<Edit>,
    #[serde(default)]
    pub at: String,
    #[serde(default)]
    pub verdict: Vec<Word>,
    #[serde(default)]
    pub says: Vec<String>,
    #[serde(default)]
    pub also: Vec<String>,
    #[serde(default)]
    pub refused: String,
}

/// A job of another kind in which nothing is wrong.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sound {
    pub name: String,
    pub on: String,
    pub edits: Vec<Edit>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum Word {
    Outside,
    Open,
    Query,
    Close,
}

impl Word {
    pub fn is(self, verdict: Verdict) -> bool {
        verdict
            == match self {
                Word::Outside => Verdict::Outside,
                Word::Open => Verdict::Open,
                Word::Query => Verdict::Query,
                Word::Close => Verdict::Close,
            }
    }
}

#[derive(Debug, Default, Deserialize)]
#[serde(default, deny_unknown_fields)]
struct File {
    bases: BTreeMap<String, Base>,
    faults: Vec<Fault>,
    sound: Vec<Sound>,
}

/// All files of the gallery.
pub struct Gallery {
    bases: BTreeMap<String, Base>,
    /// Each with where it stands.
    pub faults: Vec<(String, Fault)>,
    /// Each with where it stands.
    pub sound: Vec<(String, Sound)>,
    made: BTreeMap<String, Job>,
    forms: Forms,
}

/// What came of a job after its edits.
pub enum Made {
    Job(Box<Job>),
    Refused(String),
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn text(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

impl Gallery {
    pub fn load() -> Gallery {
        let mut out = Gallery {
            bases: BTreeMap::new(),
            faults: Vec::new(),
            sound: Vec::new(),
            made: BTreeMap::new(),
            forms: Forms::embedded().unwrap(),
        };
        let mut paths: Vec<PathBuf> = std::fs::read_dir(root().join("tests/gallery"))
            .unwrap()
            .map(|e| e.unwrap().path())
            .filter(|p| p.extension().is_some_and(|x| x == "ron"))
            .collect();
        paths.sort();
        for path in paths {
            let name = format!(
                "tests/gallery/{}",
                path.file_name().unwrap().to_string_lossy()
            );
            let all = text(&path);
            let file: File = parse(&name, &all).unwrap_or_else(|e| panic!("{e}"));
            let line = |entry: &str| format!("{name}, line {}: {entry}", locate(&all, entry).0);
            out.bases.extend(file.bases);
            out.faults
                .extend(file.faults.into_iter().map(|f| (line(&f.name), f)));
            out.sound
                .extend(file.sound.into_iter().map(|s| (line(&s.name), s)));
        }
        let names: Vec<String> = out.bases.keys().cloned().collect();
        for name in names {
            let job = out.base(&name);
            out.made.insert(name, job);
        }
        for sample in ["harbour-row", "mill-yard", "orchard-cottage"] {
            let job = out.base(sample);
            out.made.insert(sample.into(), job);
        }
        out
    }

    /// A base by its name, or a sample.
    fn base(&self, name: &str) -> Job {
        let Some(base) = self.bases.get(name) else {
            let path = root().join("sample-jobs").join(format!("{name}.ron"));
            return parse(name, &text(&path)).unwrap_or_else(|e| panic!("{e}"));
        };
        let mut job = self.base(&base.on);
        for edit in &base.edits {
            edit.make(&mut job)
                .unwrap_or_else(|e| panic!("base {name}: {edit:?}: {e:?}"));
        }
        assert_eq!(job.problems(), [], "base {name}");
        job
    }

    /// The job that an entry starts from.
    pub fn from(&self, on: &str) -> Option<&Job> {
        self.made.get(on)
    }

    /// The names of all jobs to start from, with the jobs.
    pub fn all_bases(&self) -> impl Iterator<Item = (&str, &Job)> {
        self.made.iter().map(|(n, j)| (n.as_str(), j))
    }

    /// The job of an entry after its edits; an error where the entry itself is wrong.
    pub fn make(&self, on: &str, edits: &[Edit]) -> Result<Made, String> {
        let mut job = self
            .from(on)
            .cloned()
            .ok_or_else(|| format!("no job is called `{on}`"))?;
        for edit in edits {
            match edit.make(&mut job) {
                Ok(()) => {}
                Err(Stop::Wrong(why)) => return Err(why),
                Err(Stop::Refused(why)) => return Ok(Made::Refused(why)),
            }
        }
        let problems = job.problems();
        Ok(match problems.first() {
            None => Made::Job(Box::new(job)),
            Some(p) => Made::Refused(format!("{}: {}", p.field, p.what)),
        })
    }

    /// What is outside, open, queried or close in a job.
    pub fn flagged(&self, job: &Job) -> BTreeMap<Place, Finding> {
        judge_all(job, &self.forms)
            .into_iter()
            .filter(|f| !matches!(f.verdict, Verdict::Within | Verdict::Excused))
            .map(|f| (f.place.clone(), f))
            .collect()
    }

    /// What is flagged in a job and wasn't, or not like that, in the one it was made from.
    pub fn new_in(&self, on: &str, job: &Job) -> BTreeMap<Place, Finding> {
        let before = self.flagged(self.from(on).unwrap());
        let mut after = self.flagged(job);
        after.retain(|place, f| before.get(place).is_none_or(|b| b.verdict != f.verdict));
        after
    }
}

/// Whether a place is meant by `pattern`, in which `*` stands for any part of an address.
pub fn is_meant(pattern: &str, place: &Place) -> bool {
    let place = place.to_string();
    let (meant, is): (Vec<&str>, Vec<&str>) =
        (pattern.split('/').collect(), place.split('/').collect());
    meant.len() == is.len() && meant.iter().zip(&is).all(|(m, i)| *m == "*" || m == i)
}
