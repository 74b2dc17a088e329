//! Issues of the paper: what was handed out, when, by whom, and what changed after it.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use super::change::ChangeError;
use super::changed::Record;
use super::digest::digest;
use super::place::Place;
use super::text::options;
use super::{History, Job, Readings, Role};

/// An issue of the paper. It is never taken back: somebody may hold the sheet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Issue {
    /// 1 for the first.
    pub number: u32,
    /// When it was issued.
    pub at: DateTime<FixedOffset>,
    /// Id of who issued it.
    pub by: String,
    /// Digest of the job's content then; see [`Job::content_digest`].
    pub content: String,
    /// Digest of the form files that it was judged and worded by.
    pub forms: String,
    /// Version of the program that drafted it.
    pub program: String,
    /// What stood at each place then, as typed.
    pub readings: BTreeMap<Place, String>,
    /// How many edits of the record had been made.
    pub edits: usize,
    /// Fields of the parts of the record that the issues before this one don't have as they stood then; none at all for a part
    /// that was gone. Issues of a former version of the program have none.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub record: Record,
}

impl Job {
    /// Digest of everything recorded: the first 32 hexadecimal digits of SHA-256 over the job as it is saved, without the count
    /// of journal lines, the list of issues, the history and the version of the file. The same content gives the same digest wherever the file lies.
    ///
    /// # Errors
    /// The job can't be written down, with the reason.
    pub fn content_digest(&self) -> Result<String, String> {
        digest_of(self.clone())
    }

    /// Digest of everything that a signature covers: as [`content_digest`](Self::content_digest), without the signatures.
    ///
    /// # Errors
    /// As there.
    pub fn work_digest(&self) -> Result<String, String> {
        digest_of(Job {
            sign: Readings::default(),
            signed: BTreeMap::new(),
            ..self.clone()
        })
    }

    /// The issue that is of a content, judged and worded by these forms and drafted by this program, if one is: another would
    /// be another paper.
    pub fn issue_of(&self, content: &str, forms: &str, program: &str) -> Option<&Issue> {
        let same = |i: &&Issue| i.content == content && i.forms == forms && i.program == program;
        self.issues.iter().rev().find(same)
    }

    /// The next issue, of the content as it is now.
    ///
    /// # Errors
    /// As for [`content_digest`](Self::content_digest).
    pub fn next_issue(
        &self,
        by: &str,
        at: DateTime<FixedOffset>,
        forms: &str,
        program: &str,
    ) -> Result<Issue, String> {
        Ok(Issue {
            forms: forms.to_string(),
            program: program.to_string(),
            number: self.next_number(),
            at,
            by: by.to_string(),
            content: self.content_digest()?,
            readings: self.typed(),
            edits: self.edits.len(),
            record: self.record_to_keep(),
        })
    }

    /// The number that no sheet has yet: one that is gone from the list was handed out all the same, as the history knows.
    fn next_number(&self) -> u32 {
        let listed = self.issues.iter().map(|i| i.number);
        let done = self.history.issued().map(|(number, _)| number);
        listed.chain(done).max().unwrap_or(0).saturating_add(1)
    }

    /// Issues of the history that are gone from the list, oldest first, with when they were issued.
    pub fn issues_gone(&self) -> Vec<(u32, DateTime<FixedOffset>)> {
        let gone = |number: u32| !self.issues.iter().any(|i| i.number == number);
        let issued = self.history.issued();
        issued.filter(|(number, _)| gone(*number)).collect()
    }

    /// Issues that the history should know and doesn't, oldest first, with when they say they were issued. An issue from before
    /// there was a history keeps nothing of the record as it stood.
    pub fn issues_unknown(&self) -> Vec<(u32, DateTime<FixedOffset>)> {
        let known = |number: u32| self.history.issued().any(|(n, _)| n == number);
        let newer = self.issues.iter().filter(|i| !i.record.is_empty());
        let unknown = newer.filter(|i| !known(i.number));
        unknown.map(|i| (i.number, i.at)).collect()
    }

    /// Issues that the history knows, and that aren't in the list as it has them, with when they say they were issued.
    pub fn issues_unlike(&self) -> Vec<(u32, DateTime<FixedOffset>)> {
        let known = |number: u32| self.history.issued().any(|(n, _)| n == number);
        let all = self.issues.iter();
        let unlike = all.filter(|i| known(i.number) && !self.history.has_issue(i));
        unlike.map(|i| (i.number, i.at)).collect()
    }

    pub(super) fn typed(&self) -> BTreeMap<Place, String> {
        let seats = self.seats();
        let each = seats.iter().flat_map(|seat| {
            let readings = seat.readings.iter();
            readings.map(|(test, entry)| (seat.place(test), entry.now.typed.clone()))
        });
        each.collect()
    }

    /// Records an issue.
    pub(super) fn issue(&mut self, issue: &Issue) -> Result<(), ChangeError> {
        let person = self.person(&issue.by).ok_or_else(|| ChangeError::Unknown {
            what: "person",
            id: issue.by.clone(),
            known: self.people.iter().map(|p| p.id.clone()).collect(),
        })?;
        if person.role != Role::Qualified {
            return Err(ChangeError::NotAllowed(format!(
                "{} is recorded as {}: a qualified person issues the paper",
                person.name,
                person.role.name()
            )));
        }
        let next = self.next_number();
        if issue.number != next {
            return Err(ChangeError::NotAllowed(format!(
                "issue {} doesn't follow: the next is {next}",
                issue.number
            )));
        }
        self.issues.push(issue.clone());
        Ok(())
    }
}

/// Digests are of the content, whatever version of the file it is written in: signatures and issues stay valid when a file is
/// brought to a newer version. This is the version that digests began with.
const DIGESTED_AS: u32 = 1;

fn digest_of(job: Job) -> Result<String, String> {
    let content = Job {
        schema: DIGESTED_AS,
        history: History::default(),
        kept: 0,
        kept_digest: String::new(),
        issues: Vec::new(),
        ..job
    };
    let text = options().to_string(&content).map_err(|e| e.to_string())?;
    Ok(digest(&[text.as_bytes()]))
}
