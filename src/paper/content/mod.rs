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
mod first;
mod grid;
mod handover;
mod history;
mod inspection;
mod labels;
mod notes;
mod parts;
mod pressing;
mod record;
mod results;
mod sheet;
mod signed;
mod sources;
mod storage;
mod supply;
mod switches;
mod tally;
mod uncertainty;
mod words;

use std::collections::BTreeSet;
use std::path::Path;

use chrono::{DateTime, FixedOffset};

use crate::checks::Verdict;
use crate::forms::Forms;
use crate::guide::{is_complete, is_signed};
use crate::job::{Array, Change, Group, Issue, Job, Place, Test};
use crate::paper::flow::{Block, Draft, Flow, Orientation, PaperInfo};
use crate::paper::page::DocumentInfo;
use crate::paper::{PaperError, pdf};

pub use parts::{PackPart, Parts};

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
    /// Anchors that a link names and no heading has. Of the whole pack there are none; of a part, those of the other parts.
    pub loose_links: Vec<String>,
    /// Whether every page says that it is a draft.
    pub is_draft: bool,
    /// Number of the issue, where it is one.
    pub issue: Option<u32>,
    /// Which parts of the pack it has.
    pub parts: Parts,
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
        let parts = match self.parts.is_whole() {
            true => String::new(),
            false => format!("part of the pack ({}), ", self.parts.names()),
        };
        let pages = match self.pages {
            1 => "1 page".to_string(),
            n => format!("{n} pages"),
        };
        format!("{}: {pages}, {parts}{kind}{missing}", out.display())
    }
}

/// Draws up the certificate of a job with its schedules and reports: the whole pack.
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
    draft_parts(job, forms, created, &Parts::whole())
}

/// The same for some parts of the pack, each as it is in the whole.
///
/// # Errors
/// As for [`draft`], and [`PaperError::Job`] where the job has nothing for one of the parts.
pub fn draft_parts(
    job: &Job,
    forms: &Forms,
    created: DateTime<FixedOffset>,
    parts: &Parts,
) -> Result<Drafted, PaperError> {
    let refused = |detail| PaperError::Job { detail };
    parts.check(job).map_err(refused)?;
    let sheet = Sheet::new(job, forms);
    let state = State::of(&sheet);
    let issued = Issued::of(job, forms).map_err(refused)?;
    let info = info(&sheet, state, &issued, created, parts);
    let mut all = Vec::new();
    for part in PackPart::ALL.into_iter().chain([PackPart::History]) {
        if !parts.has(part) || !part.is_in(job) {
            continue;
        }
        all.extend(sections(&sheet, part, state, &issued, &info));
    }
    let mut flow = Flow::new(info);
    for (orientation, title, blocks) in all {
        flow = flow.section(orientation, title, blocks);
    }
    let laid = flow.lay_out();
    Ok(Drafted {
        bytes: pdf::write(&laid.document)?,
        pages: laid.document.pages.len(),
        unprintable: laid.unprintable,
        loose_links: laid.loose_links,
        is_draft: state != State::Complete,
        issue: issued.number(),
        parts: parts.clone(),
    })
}

/// Pages of one orientation under one title.
type Section = (Orientation, String, Vec<Block>);

fn sections(
    sheet: &Sheet<'_>,
    part: PackPart,
    state: State,
    issued: &Issued<'_>,
    info: &PaperInfo,
) -> Vec<Section> {
    use Orientation::{Landscape, Portrait};
    let job = sheet.job;
    let one = |orientation, title: &str, blocks| vec![(orientation, title.to_string(), blocks)];
    match part {
        PackPart::Certificate => {
            let mut certificate = certificate::blocks(sheet);
            certificate.extend(findings::blocks(sheet));
            vec![
                (
                    Portrait,
                    first::TITLE.into(),
                    first::blocks(sheet, state, issued, info),
                ),
                (
                    Portrait,
                    "Certificate with findings and limitations".into(),
                    certificate,
                ),
            ]
        }
        PackPart::Diagram => one(Landscape, "Single-line diagram", diagram::blocks(sheet)),
        PackPart::Boards => {
            let of = |board| {
                let mut blocks = circuits::blocks(sheet, board);
                let mut tested = results::blocks(sheet, board);
                tested.extend(charts::zs(sheet, board));
                blocks.push(Block::Together(tested));
                let title = format!("Schedule of {} ({})", board.name, board.id);
                (Landscape, title, blocks)
            };
            job.boards.iter().map(of).collect()
        }
        PackPart::Array => {
            let of = |array: &Array| {
                let title = words::called("array", &array.name, &array.id);
                (
                    Landscape,
                    format!("Report of {title}"),
                    array::blocks(sheet, array),
                )
            };
            job.arrays.iter().map(of).collect()
        }
        PackPart::Storage => {
            let each = job.storage.iter().flat_map(|s| storage::blocks(sheet, s));
            one(Portrait, "Storage", each.collect())
        }
        PackPart::Grid => one(Portrait, "Grid connection", grid::blocks(sheet)),
        PackPart::Labels => one(Portrait, "Label schedule", labels::blocks(sheet)),
        PackPart::Handover => one(Portrait, handover::TITLE, handover::blocks(sheet, state)),
        PackPart::Record => {
            let mut record = record::blocks(sheet, issued.number());
            record.extend(sources::blocks(sheet));
            one(Portrait, "Record", record)
        }
        PackPart::History => one(
            Portrait,
            "History",
            history::in_full(sheet, issued.number()),
        ),
    }
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
    if let Some(issued) = issued(job, forms).map_err(refused)? {
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
        return Err(refused(format!(
            "{} is still a draft: nothing may be outside, open or unsigned; F4 on the screen and `wanderlead check` say what is \
             left, then issue it",
            job.reference
        )));
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
    let content = job.content_digest()?;
    Ok(job.issue_of(&content, forms.digest(), PROGRAM))
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
        let this = job.issue_of(&content, forms.digest(), PROGRAM);
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
        let inspection = sheet
            .finding(&Place::of(Group::Sign.key(), Test::SignInspection))
            .map(|f| f.verdict);
        let stand = is_signed(&sheet.findings);
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
    parts: &Parts,
) -> PaperInfo {
    let job = sheet.job;
    let which = issued
        .number()
        .map_or(String::new(), |n| format!("Issue {n}. "));
    let part = match parts.is_whole() {
        true => String::new(),
        false => format!("Part of the pack: {}. ", parts.names().replace(',', ", ")),
    };
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
            parts: parts.names(),
        },
        reference: job.reference.clone(),
        issuer: words::short_address(&job.address),
        footer: format!(
            "{which}{part}Content {}. Drafted by {program} on {}. The program drafts; a competent person tests, decides and signs.",
            issued.short(),
            words::minute(created)
        ),
        draft: state.notice().map(|notice| Draft {
            word: "DRAFT".into(),
            notice: notice.into(),
        }),
    }
}
