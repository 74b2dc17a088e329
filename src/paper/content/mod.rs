//! What the paper says: a job and its findings as one PDF.
//!
//! One file per part. Every part takes the [`Sheet`] and gives blocks; this file puts them in order and says
//! whether the paper is still a draft.

mod array;
mod array_map;
mod canvas;
mod certificate;
mod charts;
mod circuits;
mod diagram;
mod findings;
mod grid;
mod history;
mod inspection;
mod labels;
mod notes;
mod record;
mod results;
mod sheet;
mod signed;
mod sources;
mod storage;
mod supply;
mod uncertainty;
mod words;

use std::collections::BTreeSet;
use std::path::Path;

use chrono::{DateTime, FixedOffset};

use crate::checks::Verdict;
use crate::forms::Forms;
use crate::guide::is_complete;
use crate::job::{Change, Group, Issue, Job, Place};
use crate::paper::flow::{Block, Draft, Flow, Orientation, PaperInfo};
use crate::paper::page::DocumentInfo;
use crate::paper::{PaperError, pdf};

use sheet::Sheet;

/// A finished PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Drafted {
    /// The file.
    pub bytes: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// Characters of the job that the fonts don't have; they are printed as a replacement sign.
    pub unprintable: BTreeSet<char>,
    /// Whether every page says that it is a draft.
    pub is_draft: bool,
    /// Number of the issue, where it is one.
    pub issue: Option<u32>,
}

impl Drafted {
    /// What was written to `out`, in a sentence.
    pub fn describe(&self, out: &Path) -> String {
        let kind = match (self.is_draft, self.issue) {
            (true, _) => "a draft, not signed".to_string(),
            (false, None) => "complete, names entered, not issued".to_string(),
            (false, Some(n)) => format!("issue {n}, names entered"),
        };
        let missing: String = self.unprintable.iter().collect();
        let missing = if missing.is_empty() {
            String::new()
        } else {
            format!("; not in the font, printed as a replacement sign: {missing}")
        };
        format!("{}: {} pages, {kind}{missing}", out.display(), self.pages)
    }
}

/// Draws up the certificate of a job with its schedules and reports.
///
/// Every page is marked as a draft until nothing is outside or open and the three signatures are in order, for design,
/// construction and inspection. The same job, forms and time give the same bytes.
///
/// # Errors
/// [`PaperError`] where the PDF can't be put together.
pub fn draft(
    job: &Job,
    forms: &Forms,
    created: DateTime<FixedOffset>,
) -> Result<Drafted, PaperError> {
    let sheet = Sheet::new(job, forms);
    let state = State::of(&sheet);
    let issued = Issued::of(job, forms).map_err(|detail| PaperError::Job { detail })?;
    let mut certificate = certificate::blocks(&sheet, state, &issued);
    certificate.extend(findings::blocks(&sheet));
    let mut flow = Flow::new(info(&sheet, state, &issued, created)).section(
        Orientation::Portrait,
        "Certificate with findings and limitations",
        certificate,
    );
    flow = flow.section(
        Orientation::Landscape,
        "Single-line diagram",
        diagram::blocks(&sheet),
    );
    for board in &job.boards {
        let mut blocks = circuits::blocks(&sheet, board);
        blocks.extend(results::blocks(&sheet, board));
        blocks.extend(charts::zs(&sheet, board));
        let title = format!("Schedule of {} ({})", board.name, board.id);
        flow = flow.section(Orientation::Landscape, title, blocks);
    }
    for array in &job.arrays {
        let title = format!("Report of array {} ({})", array.name, array.id);
        flow = flow.section(Orientation::Landscape, title, array::blocks(&sheet, array));
    }
    let mut plant: Vec<Block> = Vec::new();
    for storage in &job.storage {
        plant.extend(storage::blocks(&sheet, storage));
    }
    if job.has_sources() {
        plant.extend(grid::blocks(&sheet));
    }
    if !plant.is_empty() {
        let title = if job.storage.is_empty() {
            "Grid connection"
        } else {
            "Storage and grid connection"
        };
        flow = flow.section(Orientation::Portrait, title, plant);
    }
    flow = flow.section(
        Orientation::Portrait,
        "Label schedule",
        labels::blocks(&sheet),
    );
    let mut record = record::blocks(&sheet);
    record.extend(sources::blocks(&sheet));
    let laid = flow
        .section(Orientation::Portrait, "Record", record)
        .lay_out();
    Ok(Drafted {
        bytes: pdf::write(&laid.document)?,
        pages: laid.document.pages.len(),
        unprintable: laid.unprintable,
        is_draft: state != State::Complete,
        issue: issued.number(),
    })
}

/// Issues the paper of a job: the issue to record in it, and the PDF as it is once that is recorded.
///
/// # Errors
/// [`PaperError::Job`] where the paper is still a draft, where this content has been issued already, and where `by` may not
/// issue; as for [`draft`] otherwise.
pub fn issue(
    job: &Job,
    forms: &Forms,
    by: &str,
    at: DateTime<FixedOffset>,
) -> Result<(Issue, Drafted), PaperError> {
    let refused = |detail: String| PaperError::Job { detail };
    if let Some(issued) = job.issued(forms.digest(), PROGRAM).map_err(refused)? {
        return Err(refused(format!(
            "this content is issue {} already: draft it again without issuing it",
            issued.number
        )));
    }
    let issue = job
        .next_issue(by, at, forms.digest(), PROGRAM)
        .map_err(refused)?;
    let mut issued = job.clone();
    issued
        .apply(&Change::Issue(Box::new(issue.clone())))
        .map_err(|e| refused(e.to_string()))?;
    let drafted = draft(&issued, forms, at)?;
    if drafted.is_draft {
        return Err(refused(
            "it is still a draft: nothing may be outside, open or unsigned".into(),
        ));
    }
    Ok((issue, drafted))
}

/// Version of the program: another may draft another paper of the same content.
const PROGRAM: &str = env!("CARGO_PKG_VERSION");

/// The issue that the paper of a job would be now: of the same content, forms and program.
///
/// # Errors
/// The content can't be digested.
pub fn issued<'a>(job: &'a Job, forms: &Forms) -> Result<Option<&'a Issue>, String> {
    job.issued(forms.digest(), PROGRAM)
}

/// The content that the paper is made from, and the issue that it is.
struct Issued<'a> {
    /// Digest of the content.
    content: String,
    /// The issue that has it.
    this: Option<&'a Issue>,
    /// The issue before it, or the last one where the content has not been issued.
    before: Option<&'a Issue>,
}

impl<'a> Issued<'a> {
    fn of(job: &'a Job, forms: &Forms) -> Result<Issued<'a>, String> {
        let content = job.content_digest()?;
        let this = issued(job, forms)?;
        let before = match this {
            Some(this) => job.issues.iter().rev().find(|i| i.number < this.number),
            None => job.issues.last(),
        };
        Ok(Issued {
            content,
            this,
            before,
        })
    }

    fn number(&self) -> Option<u32> {
        self.this.map(|i| i.number)
    }

    /// The digest as people compare it: its first sixteen digits in fours.
    fn short(&self) -> String {
        words::in_fours(&self.content)
    }
}

/// How far the paper is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    /// No name was entered for inspection and testing.
    Unsigned,
    /// One was, but something is outside or open, or not all three signatures are in order.
    SignedTooEarly,
    /// Nothing is outside or open, and the three names are in order.
    Complete,
}

impl State {
    fn of(sheet: &Sheet<'_>) -> State {
        let [design, construction, inspection] = certificate::SIGNED.map(|(test, _)| {
            sheet
                .finding(&Place::of(Group::Sign.key(), test))
                .map(|f| f.verdict)
        });
        let stand = [design, construction, inspection]
            .iter()
            .all(|v| *v == Some(Verdict::Within));
        match inspection {
            _ if stand && is_complete(&sheet.findings) => State::Complete,
            Some(Verdict::Within | Verdict::Query) => State::SignedTooEarly,
            _ => State::Unsigned,
        }
    }

    /// What the head of every page says; `None` once it is a certificate.
    fn notice(self) -> Option<&'static str> {
        match self {
            State::Unsigned => Some(
                "Draft, not signed: no certificate until it is complete and all three have signed",
            ),
            State::SignedTooEarly => Some(
                "Draft, not signed off: a name was entered for testing, but the record is not in order",
            ),
            State::Complete => None,
        }
    }
}

fn info(
    sheet: &Sheet<'_>,
    state: State,
    issued: &Issued<'_>,
    created: DateTime<FixedOffset>,
) -> PaperInfo {
    let job = sheet.job;
    let which = issued
        .number()
        .map_or(String::new(), |n| format!("Issue {n}. "));
    let program = concat!("wanderlead ", env!("CARGO_PKG_VERSION"));
    PaperInfo {
        document: DocumentInfo {
            title: "Electrical installation certificate".into(),
            author: certificate::firm(job),
            subject: format!("{} – {}", job.reference, job.title),
            keywords: vec![job.reference.clone()],
            creator: program.into(),
            created: Some(created),
            content: issued.content.clone(),
            issue: issued.number(),
        },
        reference: job.reference.clone(),
        issuer: words::short_address(&job.address),
        footer: format!(
            "{which}Content {}. Drafted by {program} on {}. The program drafts; a competent person tests, decides and signs.",
            issued.short(),
            words::minute(created)
        ),
        draft: state.notice().map(|notice| Draft {
            word: "DRAFT".into(),
            notice: notice.into(),
        }),
    }
}
