//! Tables as data: columns, rows, cells.

use crate::paper::page::Grey;

use super::block::{Align, Styled};

/// How wide a column is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ColumnWidth {
    /// Exactly this many mm, unless the page is too narrow for all columns together.
    Mm(f64),
    /// A part of what the fixed columns leave, in proportion to the other shares.
    Share(f64),
}

/// One column of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// The words at its head.
    pub header: String,
    /// How wide it is.
    pub width: ColumnWidth,
    /// Which edge its cells keep to.
    pub align: Align,
    /// Words over this column and its neighbours with the same words.
    pub group: Option<String>,
    /// Whether the header is turned to read upwards, which suits narrow columns.
    pub turned: bool,
}

impl Column {
    /// A column of a fixed width in mm.
    pub fn mm(header: impl Into<String>, width: f64) -> Self {
        Self::new(header, ColumnWidth::Mm(width))
    }

    /// A column that takes a share of the free width.
    pub fn share(header: impl Into<String>, share: f64) -> Self {
        Self::new(header, ColumnWidth::Share(share))
    }

    fn new(header: impl Into<String>, width: ColumnWidth) -> Self {
        Self {
            header: header.into(),
            width,
            align: Align::Left,
            group: None,
            turned: false,
        }
    }

    /// The same, with cells kept to an edge.
    pub fn align(self, align: Align) -> Self {
        Self { align, ..self }
    }

    /// The same, under words shared with its neighbours.
    pub fn group(self, words: impl Into<String>) -> Self {
        Self {
            group: Some(words.into()),
            ..self
        }
    }

    /// The same, with its header turned to read upwards.
    pub fn turned(self) -> Self {
        Self {
            turned: true,
            ..self
        }
    }
}

/// One cell: pieces of text below each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The text; wrapped to the width of the cell and never cut.
    pub lines: Vec<Styled>,
    /// How many columns it takes, at least 1.
    pub span: usize,
    /// Background of this cell alone; `None` is that of its row.
    pub shade: Option<Grey>,
}

impl Cell {
    /// The same, several columns wide.
    pub fn wide(self, span: usize) -> Self {
        Self { span, ..self }
    }

    /// The same with a background of its own, so that it stands out in its row.
    pub fn shaded(self, grey: Grey) -> Self {
        Self {
            shade: Some(grey),
            ..self
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        Styled::new(text).into()
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        Styled::new(text).into()
    }
}

impl From<Styled> for Cell {
    fn from(line: Styled) -> Self {
        vec![line].into()
    }
}

impl From<Vec<Styled>> for Cell {
    fn from(lines: Vec<Styled>) -> Self {
        Self {
            lines,
            span: 1,
            shade: None,
        }
    }
}

/// One row of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Row {
    /// A row of cells from left to right. Missing cells stay empty; the text of cells
    /// beyond the last column is added to the last cell rather than lost.
    Cells {
        /// The cells.
        cells: Vec<Cell>,
        /// Background; `None` is paper.
        shade: Option<Grey>,
        /// Name that links can lead to.
        anchor: Option<String>,
    },
    /// A shaded row over the full width that names the rows below it. It is never the
    /// last row of a page and is repeated, marked as continued, where they go on.
    Section(Styled),
}

impl Row {
    /// A row on paper.
    pub fn cells<C: Into<Cell>>(cells: impl IntoIterator<Item = C>) -> Self {
        Self::Cells {
            cells: cells.into_iter().map(Into::into).collect(),
            shade: None,
            anchor: None,
        }
    }

    /// The same, with a name that links can lead to. Changes nothing for a section row.
    pub fn anchored(self, name: impl Into<String>) -> Self {
        match self {
            Self::Cells { cells, shade, .. } => Self::Cells {
                cells,
                shade,
                anchor: Some(name.into()),
            },
            section @ Self::Section(_) => section,
        }
    }

    /// The same with a background. Changes nothing for a section row, which has one.
    pub fn shaded(self, grey: Grey) -> Self {
        match self {
            Self::Cells { cells, anchor, .. } => Self::Cells {
                cells,
                shade: Some(grey),
                anchor,
            },
            section @ Self::Section(_) => section,
        }
    }

    /// A row that names the rows below it.
    pub fn section(text: impl Into<Styled>) -> Self {
        Self::Section(text.into())
    }
}

/// A table. Its header is repeated on every page it reaches; a row stays in one piece
/// unless it is taller than a page. The first three rows stay with the header and the last three with each other, where that
/// doesn't move a good part of a page.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// The columns from left to right.
    pub columns: Vec<Column>,
    /// The rows from top to bottom.
    pub rows: Vec<Row>,
    /// Size of the text in points.
    pub size: f64,
    /// Whether fine rules part the columns.
    pub ruled: bool,
    /// Words below the last row of a page where more rows follow on the next; empty for none.
    pub goes_on: String,
}

impl Table {
    /// A table with text of 7.5 points and no rules between columns.
    pub fn new(columns: Vec<Column>, rows: Vec<Row>) -> Self {
        Self {
            columns,
            rows,
            size: 7.5,
            ruled: false,
            goes_on: String::new(),
        }
    }

    /// The same with text of another size in points.
    pub fn size(self, points: f64) -> Self {
        Self {
            size: points,
            ..self
        }
    }

    /// The same with words below the last row of a page where more rows follow on the next.
    pub fn goes_on(self, words: impl Into<String>) -> Self {
        Self {
            goes_on: words.into(),
            ..self
        }
    }

    /// The same with fine rules between columns.
    pub fn ruled(self) -> Self {
        Self {
            ruled: true,
            ..self
        }
    }
}
