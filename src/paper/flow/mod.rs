//! Laying content out on pages.
//!
//! A [`Flow`] takes sections of [`Block`]s, each on portrait or landscape A4, and gives
//! a [`Document`] of pages with header, footer, outline and links. Every block becomes
//! strips that are never cut, and pages are filled strip by strip, so the time grows
//! with the number of rows and no more.

mod block;
mod compose;
mod furniture;
mod press;
mod rows;
mod strip;
mod table;
mod table_head;
mod table_rows;

use std::collections::BTreeSet;

use crate::paper::measure::{printable, prints_as_it_is};
use crate::paper::page::{Document, DocumentInfo, Mark};

pub use block::{Align, Block, Drawing, Field, Heading, Signature, Styled};
pub use table::{Cell, Column, ColumnWidth, Row, Table};

use compose::Composer;
use furniture::Furniture;
use press::Press;

/// Which way up the A4 paper is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Orientation {
    /// 210 mm wide and 297 mm high.
    #[default]
    Portrait,
    /// 297 mm wide and 210 mm high.
    Landscape,
}

impl Orientation {
    /// Width and height of the paper in mm.
    pub fn paper(self) -> (f64, f64) {
        match self {
            Self::Portrait => (210.0, 297.0),
            Self::Landscape => (297.0, 210.0),
        }
    }

    /// Width of the content in mm.
    pub fn content_width(self) -> f64 {
        self.paper().0 - 2.0 * furniture::SIDE
    }
}

/// How pages say that they are a draft.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Draft {
    /// A word printed large and pale across every page.
    pub word: String,
    /// A sentence in the header of every page; may be empty.
    pub notice: String,
}

/// What every page of the paper carries.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PaperInfo {
    /// What the file says about itself; its title stands in the header.
    pub document: DocumentInfo,
    /// Reference of the job or certificate, on the right of the header.
    pub reference: String,
    /// Who issues the paper, below the reference; may be empty.
    pub issuer: String,
    /// A note on the left of the footer; may be empty.
    pub footer: String,
    /// Set while the paper is a draft.
    pub draft: Option<Draft>,
}

/// The pages, and what the writer of the content should hear about.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LaidOut {
    /// The pages with outline and links, ready to be written.
    pub document: Document,
    /// Characters the fonts don't have, printed as
    /// [`REPLACEMENT`](crate::paper::measure::REPLACEMENT).
    pub unprintable: BTreeSet<char>,
    /// Anchors that text links to but no heading has; their text leads nowhere.
    pub loose_links: Vec<String>,
}

struct Section {
    orientation: Orientation,
    title: String,
    blocks: Vec<Block>,
}

/// Content on its way to pages.
pub struct Flow {
    info: PaperInfo,
    sections: Vec<Section>,
}

impl Flow {
    /// An empty paper.
    pub fn new(info: PaperInfo) -> Self {
        Self {
            info,
            sections: Vec::new(),
        }
    }

    /// Adds a section that starts on a new page. The title stands in the header of its
    /// pages, below that of the document, and may be empty.
    pub fn section(
        mut self,
        orientation: Orientation,
        title: impl Into<String>,
        blocks: Vec<Block>,
    ) -> Self {
        self.sections.push(Section {
            orientation,
            title: title.into(),
            blocks,
        });
        self
    }

    /// Sets everything on pages. A section without blocks gives an empty page; a paper
    /// without sections gives none.
    pub fn lay_out(self) -> LaidOut {
        let Flow { info, sections } = self;
        let mut press = Press::default();
        let mut furnished: Vec<(Furniture<'_>, usize)> = Vec::new();
        // Blocks go as soon as they are on pages: a large job has one form of them in memory, and not two.
        for section in sections {
            let furniture = Furniture::new(&info, &section.title, section.orientation);
            let frame = furniture.frame;
            let mut composer = Composer::new(frame.width, frame.height);
            composer.blocks(&section.blocks);
            drop(section.blocks);
            let before = press.pages.len();
            press.run(&frame, composer.strips, &composer.heads);
            furnished.push((furniture, press.pages.len() - before));
        }
        let loose_links = press.tie_links();
        let of = press.pages.len();
        let whose = furnished
            .iter()
            .flat_map(|(f, pages)| std::iter::repeat_n(f, *pages));
        let mut unprintable = BTreeSet::new();
        for (at, (page, furniture)) in press.pages.iter_mut().zip(whose).enumerate() {
            furniture.furnish(page, at + 1, of);
            for mark in &mut page.marks {
                if let Mark::Text { text, weight, .. } = mark
                    && !prints_as_it_is(text, *weight)
                {
                    let (printed, missing) = printable(text, *weight);
                    *text = printed;
                    unprintable.extend(missing);
                }
            }
        }
        let document = Document {
            info: info.document.clone(),
            pages: press.pages,
            outline: press.outline,
        };
        LaidOut {
            document,
            unprintable,
            loose_links,
        }
    }
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests;
