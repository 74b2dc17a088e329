//! The paper: how a certificate is laid out on pages and written as a PDF.
//!
//! [`content`] says what a job's paper holds. Below it are three steps, each usable without the next: [`flow`] turns blocks (headings,
//! tables, grids) into [`page`]s of marks in millimetres, with [`measure`] telling
//! it how wide text is; [`pdf`] turns pages into bytes. Only `pdf` knows the PDF
//! libraries, so a layout can be tested without reading a PDF back.
//!
//! The same document always gives the same bytes: no clock, no random number and
//! no process-wide counter is read here.

pub mod content;
pub mod flow;
pub mod measure;
pub mod page;
pub mod pdf;

pub use content::{Drafted, PackPart, Parts, draft, draft_parts, issue, issued};
pub use pdf::{Identity, identity, may_replace};

/// Why no PDF could be written.
#[derive(Debug)]
#[non_exhaustive]
pub enum PaperError {
    /// The document has no page; a PDF needs at least one.
    NoPages,
    /// The job can't be written down or issued. Says why.
    Job {
        /// What was wrong.
        detail: String,
    },
    /// An embedded font could not be read. Names the font.
    Font(&'static str),
    /// The PDF could not be put together. Says at which step, and what was wrong.
    Pdf {
        /// What was being written, such as "document information".
        step: &'static str,
        /// What the PDF library or the check said.
        detail: String,
    },
}

impl std::fmt::Display for PaperError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoPages => f.write_str("the document has no pages, so there is nothing to print"),
            Self::Job { detail } => f.write_str(detail),
            Self::Font(name) => write!(f, "the built-in font {name} can't be read"),
            Self::Pdf { step, detail } => write!(f, "the PDF can't be written ({step}): {detail}"),
        }
    }
}

impl std::error::Error for PaperError {}
