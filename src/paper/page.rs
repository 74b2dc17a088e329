//! Pages as plain data: what stands where, before any file format is chosen.
//!
//! Lengths are millimetres from the top-left corner of the page, x to the right
//! and y down. Text sizes and line thicknesses are points, as printers count them.

use chrono::{DateTime, FixedOffset};

/// Millimetres in one point (1/72 inch).
pub const MM_PER_POINT: f64 = 25.4 / 72.0;

/// Thickness of a stroke of the pen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub enum Weight {
    /// Running text.
    #[default]
    Regular,
    /// Headings and whatever has to stand out.
    Bold,
}

/// A shade between black (0) and white (1). There is no colour: a certificate has to
/// survive a black-and-white copier.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Grey(f64);

impl Grey {
    /// Full black: values and headings.
    pub const BLACK: Self = Self(0.0);
    /// Dark enough to be read on a copy: labels and notes.
    pub const LABEL: Self = Self(0.34);
    /// Fine rules between rows.
    pub const RULE: Self = Self(0.68);
    /// Background of headers and section rows.
    pub const SHADE: Self = Self(0.92);
    /// Large words behind the text, such as a draft mark.
    pub const GHOST: Self = Self(0.91);
    /// Paper.
    pub const WHITE: Self = Self(1.0);

    /// A shade from 0 (black) to 1 (white); anything outside is moved to the nearest
    /// end, and a value that is no number counts as black, so that it stays visible.
    pub fn new(shade: f64) -> Self {
        if shade.is_nan() {
            Self::BLACK
        } else {
            Self(shade.clamp(0.0, 1.0))
        }
    }

    /// The shade, 0 for black to 1 for white.
    pub fn shade(self) -> f64 {
        self.0
    }
}

/// A rectangle in millimetres from the top-left corner of the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Left edge, in mm.
    pub x: f64,
    /// Top edge, in mm.
    pub y: f64,
    /// Width, in mm.
    pub width: f64,
    /// Height, in mm.
    pub height: f64,
}

/// A pen: how thick and how dark a line is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Thickness in points.
    pub thickness: f64,
    /// Shade of the line.
    pub grey: Grey,
}

/// One thing on a page. Later marks lie on top of earlier ones.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// A single line of text.
    Text {
        /// Where the text starts, in mm.
        x: f64,
        /// The line the letters stand on, in mm from the top.
        y: f64,
        /// Size in points.
        size: f64,
        /// Regular or bold.
        weight: Weight,
        /// Shade of the letters.
        grey: Grey,
        /// Degrees the text is turned anticlockwise around its starting point.
        turn: f64,
        /// What it says; line breaks have no meaning here.
        text: String,
    },
    /// A straight line.
    Line {
        /// Start (x, y) in mm.
        from: (f64, f64),
        /// End (x, y) in mm.
        to: (f64, f64),
        /// The pen to draw with.
        pen: Pen,
    },
    /// A rectangle, filled, outlined or both.
    Rect {
        /// Where it is.
        area: Area,
        /// Shade of the inside; `None` leaves it transparent.
        fill: Option<Grey>,
        /// Pen of the outline; `None` draws no outline.
        edge: Option<Pen>,
    },
    /// A place to click that leads to another page. Draws nothing.
    Link {
        /// Where to click.
        area: Area,
        /// Index of the page it leads to, from 0.
        page: usize,
        /// How far down on that page, in mm.
        y: f64,
    },
}

/// One page.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Width in mm.
    pub width: f64,
    /// Height in mm.
    pub height: f64,
    /// What is on it, in drawing order.
    pub marks: Vec<Mark>,
}

/// One line of the outline a reader shows beside the pages.
#[derive(Debug, Clone, PartialEq)]
pub struct OutlineEntry {
    /// The words shown.
    pub title: String,
    /// Depth, from 1. An entry belongs to the nearest earlier one with a lower level.
    pub level: u8,
    /// Index of the page it leads to, from 0.
    pub page: usize,
    /// How far down on that page, in mm.
    pub y: f64,
}

/// What the file says about itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DocumentInfo {
    /// Title, shown in the reader's window.
    pub title: String,
    /// Who drew it up.
    pub author: String,
    /// What it is about.
    pub subject: String,
    /// Words to find it by.
    pub keywords: Vec<String>,
    /// The program that made it, with its version.
    pub creator: String,
    /// When it was made. `None` writes no date.
    pub created: Option<DateTime<FixedOffset>>,
    /// Digest of the content it was made from; empty writes none.
    pub content: String,
    /// Number of the issue; `None` for a draft.
    pub issue: Option<u32>,
    /// Which parts of the whole it has, separated by commas; empty for all of it.
    pub parts: String,
}

/// Everything a PDF is written from.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Document {
    /// What the file says about itself.
    pub info: DocumentInfo,
    /// The pages in reading order.
    pub pages: Vec<Page>,
    /// The outline in reading order.
    pub outline: Vec<OutlineEntry>,
}

#[cfg(test)]
mod tests {
    use super::Grey;

    #[test]
    fn a_shade_outside_the_range_is_moved_to_the_nearest_end() {
        let shades = [
            (-0.1, 0.0),
            (0.0, 0.0),
            (0.5, 0.5),
            (1.0, 1.0),
            (1.1, 1.0),
            (f64::NAN, 0.0),
        ];
        for (asked, given) in shades {
            assert!((Grey::new(asked).shade() - given).abs() < 1e-12, "{asked}");
        }
    }
}
