//! Strips: slices of content as wide as the page that are never cut.
//!
//! Every block becomes a list of strips, and the pages are filled with strips. That
//! makes page breaks one question, asked in one place.

use crate::paper::page::{Area, Mark};

use super::block::Align;

/// A mark, or a link whose page isn't known yet.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Ink {
    Mark(Mark),
    LinkTo {
        area: Area,
        anchor: String,
    },
    /// A text that gives way to the number of a page.
    PageOf {
        mark: Mark,
        anchor: String,
        align: Align,
    },
}

/// A slice of content. Lengths are mm; marks count from its top-left corner.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Strip {
    /// Room above, left out at the top of a page.
    pub(super) gap: f64,
    pub(super) height: f64,
    pub(super) inks: Vec<Ink>,
    /// Stays on the page of the next strip, if both fit a page.
    pub(super) glue: bool,
    /// The same, but gives way before that, and where it would move more than [`MOST_MOVED`](super::press::MOST_MOVED) of a page over.
    pub(super) kin: bool,
    /// The same, but the first to give way when a page can't hold it all.
    pub(super) tight: bool,
    /// Which running head has to stand above it when it starts a page.
    pub(super) head: Option<usize>,
    /// Which strips say below it that its table goes on, when a page ends with it. They are among the running heads.
    pub(super) foot: Option<usize>,
    /// Level and words for the outline.
    pub(super) outline: Option<(u8, String)>,
    /// Name that links can lead to.
    pub(super) anchor: Option<String>,
    /// Starts a new page, and shows nothing itself.
    pub(super) breaks_page: bool,
}

impl Strip {
    pub(super) fn mark(&mut self, mark: Mark) {
        self.inks.push(Ink::Mark(mark));
    }
}

/// Strips repeated where their table goes on, and their height together in mm.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Head {
    pub(super) strips: Vec<Strip>,
    pub(super) height: f64,
}

impl Head {
    pub(super) fn new(strips: Vec<Strip>) -> Self {
        let height = strips.iter().map(|strip| strip.gap + strip.height).sum();
        Self { strips, height }
    }
}

/// The mark moved right and down, in mm.
pub(super) fn shifted(mark: Mark, dx: f64, dy: f64) -> Mark {
    match mark {
        Mark::Text {
            x,
            y,
            size,
            weight,
            grey,
            turn,
            text,
        } => Mark::Text {
            x: x + dx,
            y: y + dy,
            size,
            weight,
            grey,
            turn,
            text,
        },
        Mark::Line { from, to, pen } => Mark::Line {
            from: (from.0 + dx, from.1 + dy),
            to: (to.0 + dx, to.1 + dy),
            pen,
        },
        Mark::Rect { area, fill, edge } => Mark::Rect {
            area: shifted_area(area, dx, dy),
            fill,
            edge,
        },
        Mark::Link { area, page, y } => Mark::Link {
            area: shifted_area(area, dx, dy),
            page,
            y,
        },
    }
}

/// The area moved right and down, in mm.
pub(super) fn shifted_area(area: Area, dx: f64, dy: f64) -> Area {
    Area {
        x: area.x + dx,
        y: area.y + dy,
        ..area
    }
}
