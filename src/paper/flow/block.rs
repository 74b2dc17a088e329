//! What a page is made of, before it is known where anything goes.

use crate::paper::page::{Area, Grey, Mark, Weight};

use super::table::Table;

/// Which edge lines of text keep to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Align {
    /// To the left edge.
    #[default]
    Left,
    /// To the middle.
    Centre,
    /// To the right edge.
    Right,
}

/// A piece of text with its looks. It may hold line breaks and is wrapped to fit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Styled {
    /// What it says.
    pub text: String,
    /// Size in points; `None` takes the size of whatever it stands in.
    pub size: Option<f64>,
    /// Regular or bold; `None` takes the weight of whatever it stands in.
    pub weight: Option<Weight>,
    /// Shade; `None` is black.
    pub grey: Option<Grey>,
    /// Edge to keep to; `None` takes that of the column or page.
    pub align: Option<Align>,
    /// Anchor of the heading a click leads to.
    pub link: Option<String>,
    /// Prints the number of the page that the link leads to instead of the text, where that heading is on a page.
    pub numbered: bool,
}

impl Styled {
    /// Text with the looks of whatever it stands in.
    pub fn new(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            ..Self::default()
        }
    }

    /// The same in bold.
    pub fn bold(self) -> Self {
        Self {
            weight: Some(Weight::Bold),
            ..self
        }
    }

    /// The same in a size in points.
    pub fn size(self, points: f64) -> Self {
        Self {
            size: Some(points),
            ..self
        }
    }

    /// The same in a shade of grey.
    pub fn grey(self, grey: Grey) -> Self {
        Self {
            grey: Some(grey),
            ..self
        }
    }

    /// The same, kept to an edge.
    pub fn align(self, align: Align) -> Self {
        Self {
            align: Some(align),
            ..self
        }
    }

    /// The number of the page with this anchor, which a click leads to; the text where no heading has it.
    pub fn page_of(self, anchor: impl Into<String>) -> Self {
        Self {
            numbered: true,
            ..self.link(anchor)
        }
    }

    /// The same, leading to the heading with this anchor when clicked.
    pub fn link(self, anchor: impl Into<String>) -> Self {
        Self {
            link: Some(anchor.into()),
            ..self
        }
    }
}

impl From<&str> for Styled {
    fn from(text: &str) -> Self {
        Self::new(text)
    }
}

impl From<String> for Styled {
    fn from(text: String) -> Self {
        Self::new(text)
    }
}

/// A heading. It stays on the page of what follows it and goes to the outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// 1 for a part of the document, 2 for a chapter, 3 and more for smaller ones.
    pub level: u8,
    /// The words.
    pub text: String,
    /// Name that links can lead to.
    pub anchor: Option<String>,
}

/// One box of a [`Block::Grid`]: a small label over a value.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// What the value is.
    pub label: String,
    /// The value, one entry for each line or more.
    pub value: Vec<Styled>,
    /// How many columns the box takes, at least 1.
    pub span: usize,
    /// Background; `None` is paper.
    pub shade: Option<Grey>,
}

impl Field {
    /// A box one column wide.
    pub fn new(label: impl Into<String>, value: impl Into<Styled>) -> Self {
        Self {
            label: label.into(),
            value: vec![value.into()],
            span: 1,
            shade: None,
        }
    }

    /// The same, several columns wide.
    pub fn wide(self, span: usize) -> Self {
        Self { span, ..self }
    }
}

/// Somebody who signs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Signature {
    /// What they sign for, such as "Inspected and tested by"; may be empty.
    pub role: String,
    /// Their name, or empty for a line to write it on.
    pub name: String,
    /// Their position and company, or empty for a line.
    pub position: String,
    /// The date, or empty for a line.
    pub date: String,
}

/// A drawing as wide as the content. It is never cut: what is taller than a page has to be drawn in parts.
///
/// Rectangles come to lie below lines and text, whatever their order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// Height in mm.
    pub height: f64,
    /// What is drawn, in mm from the top-left corner of the drawing.
    pub marks: Vec<Mark>,
    /// Places to click, with the anchor of the heading they lead to.
    pub links: Vec<(Area, String)>,
}

/// A piece of content; blocks are set one below the other.
#[derive(Debug, Clone, PartialEq)]
pub enum Block {
    /// A heading.
    Heading(Heading),
    /// Running text. Never leaves a single line alone on a page.
    Paragraph(Styled),
    /// Boxes with a label and a value each, in this many columns.
    Grid {
        /// Number of columns, at least 1.
        columns: usize,
        /// The boxes, row by row.
        fields: Vec<Field>,
    },
    /// A table.
    Table(Table),
    /// A caution: text beside a thick bar, with a title in bold.
    Callout {
        /// The title; may be empty.
        title: String,
        /// The text.
        lines: Vec<Styled>,
    },
    /// A drawing.
    Drawing(Drawing),
    /// Lines to sign on.
    Signatures(Vec<Signature>),
    /// Room, in mm. Left out at the top of a page.
    Space(f64),
    /// What follows starts on a new page.
    PageBreak,
    /// Blocks that stay on one page, if one page can hold them.
    Together(Vec<Block>),
    /// Blocks that stay on the page of what follows them, as a heading does.
    WithNext(Vec<Block>),
    /// Blocks that stay together and with the end of what stands before them, such as the notes and the chart of a table: its last
    /// rows come over with them, unless that would move a good part of a page.
    WithLast(Vec<Block>),
}

impl Block {
    /// A heading that no link leads to.
    pub fn heading(level: u8, text: impl Into<String>) -> Self {
        Self::Heading(Heading {
            level,
            text: text.into(),
            anchor: None,
        })
    }

    /// A heading that links can lead to.
    pub fn anchored(level: u8, text: impl Into<String>, anchor: impl Into<String>) -> Self {
        Self::Heading(Heading {
            level,
            text: text.into(),
            anchor: Some(anchor.into()),
        })
    }

    /// Running text.
    pub fn paragraph(text: impl Into<Styled>) -> Self {
        Self::Paragraph(text.into())
    }

    /// A caution.
    pub fn callout(title: impl Into<String>, text: impl Into<Styled>) -> Self {
        Self::Callout {
            title: title.into(),
            lines: vec![text.into()],
        }
    }
}
