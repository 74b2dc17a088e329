//! Boxes of text side by side: rows of tables and grids, cautions, paragraphs.

use crate::paper::measure::{cap_height, width, wrap};
use crate::paper::page::{Area, Grey, MM_PER_POINT, Mark, Pen, Weight};

use super::block::{Align, Styled};
use super::strip::{Ink, Strip};

/// A line that fits its box.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Line {
    pub(super) text: String,
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) grey: Grey,
    pub(super) align: Align,
    pub(super) link: Option<String>,
    /// Whether the number of the page that the link leads to is printed instead of the text.
    pub(super) numbered: bool,
}

impl Line {
    /// Height of the line with the room to the next, in mm.
    pub(super) fn height(&self) -> f64 {
        self.size * 1.26 * MM_PER_POINT
    }

    /// The marks of this line in a box from `x` to `x + room`, its top at `y`.
    fn draw(&self, strip: &mut Strip, x: f64, y: f64, room: f64) {
        let text = self.text.trim_end();
        if text.is_empty() {
            return;
        }
        // Measuring takes time, and most texts stand left and lead nowhere.
        let wide = match (self.align, &self.link) {
            (Align::Left, None) => 0.0,
            _ => width(text, self.size, self.weight),
        };
        let x = match self.align {
            Align::Left => x,
            Align::Centre => x + (room - wide) / 2.0,
            Align::Right => x + room - wide,
        };
        let mark = Mark::Text {
            x,
            // Capitals stand in the middle of the line.
            y: y + (self.height() + cap_height(self.size)) / 2.0,
            size: self.size,
            weight: self.weight,
            grey: self.grey,
            turn: 0.0,
            text: text.to_owned(),
        };
        match &self.link {
            Some(anchor) if self.numbered => strip.inks.push(Ink::PageOf {
                mark,
                anchor: anchor.clone(),
                align: self.align,
            }),
            _ => strip.mark(mark),
        }
        if let Some(anchor) = &self.link {
            let area = Area {
                x,
                y,
                width: wide,
                height: self.height(),
            };
            strip.inks.push(Ink::LinkTo {
                area,
                anchor: anchor.clone(),
            });
        }
    }
}

/// Looks for text that doesn't say otherwise.
#[derive(Debug, Clone, Copy)]
pub(super) struct Looks {
    pub(super) size: f64,
    pub(super) weight: Weight,
    pub(super) grey: Grey,
    pub(super) align: Align,
}

/// Wraps pieces of text to a width in mm.
pub(super) fn lines(pieces: &[Styled], room: f64, looks: Looks) -> Vec<Line> {
    let mut lines = Vec::new();
    for piece in pieces {
        let size = piece.size.unwrap_or(looks.size);
        let weight = piece.weight.unwrap_or(looks.weight);
        for text in wrap(&piece.text, room, size, weight) {
            lines.push(Line {
                text,
                size,
                weight,
                grey: piece.grey.unwrap_or(looks.grey),
                align: piece.align.unwrap_or(looks.align),
                link: piece.link.clone(),
                numbered: piece.numbered,
            });
        }
    }
    lines
}

/// One box of a row. Lengths in mm.
#[derive(Debug, Clone, Default)]
pub(super) struct Boxed {
    pub(super) x: f64,
    pub(super) width: f64,
    pub(super) lines: Vec<Line>,
    /// Background of this box alone, over that of the row.
    pub(super) fill: Option<Grey>,
}

/// What a row looks like around its text. Lengths in mm.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct RowLooks {
    /// Room left and right of the text in each box.
    pub(super) pad_x: f64,
    /// Room above and below the text.
    pub(super) pad_y: f64,
    pub(super) fill: Option<Grey>,
    pub(super) top: Option<Pen>,
    pub(super) bottom: Option<Pen>,
    /// Rules at the left and right edge of each box.
    pub(super) sides: Option<Pen>,
    /// Width of a black bar down the left edge.
    pub(super) bar: f64,
    /// Text stands at the foot of its box rather than at its head.
    pub(super) at_foot: bool,
}

/// The row as strips: one, or one for each line of text if it is higher than `limit`.
pub(super) fn strips(boxes: &[Boxed], looks: RowLooks, limit: f64) -> Vec<Strip> {
    let text = boxes
        .iter()
        .map(|b| b.lines.iter().map(Line::height).sum())
        .fold(0.0, f64::max);
    let whole = text + 2.0 * looks.pad_y;
    let most = boxes.iter().map(|b| b.lines.len()).max().unwrap_or(0);
    if whole <= limit || most < 2 {
        let cut: Vec<&[Line]> = boxes.iter().map(|b| b.lines.as_slice()).collect();
        return vec![strip(boxes, &cut, looks, (true, true))];
    }
    (0..most)
        .map(|at| {
            let cut: Vec<&[Line]> = boxes
                .iter()
                .map(|b| b.lines.get(at..=at).unwrap_or_default())
                .collect();
            strip(boxes, &cut, looks, (at == 0, at + 1 == most))
        })
        .collect()
}

/// One strip with the lines `cut` out of each box; `ends` says whether the row starts
/// and whether it ends here.
fn strip(boxes: &[Boxed], cut: &[&[Line]], looks: RowLooks, ends: (bool, bool)) -> Strip {
    let above = if ends.0 { looks.pad_y } else { 0.0 };
    let below = if ends.1 { looks.pad_y } else { 0.0 };
    let tall = |lines: &[Line]| -> f64 { lines.iter().map(Line::height).sum() };
    let text = cut.iter().map(|lines| tall(lines)).fold(0.0, f64::max);
    let mut strip = Strip {
        height: above + text + below,
        ..Strip::default()
    };
    let left = boxes.iter().map(|b| b.x).fold(f64::INFINITY, f64::min);
    let right = boxes
        .iter()
        .map(|b| b.x + b.width)
        .fold(f64::NEG_INFINITY, f64::max);
    if !(left.is_finite() && right.is_finite()) {
        return strip;
    }
    let (x, height) = (left, strip.height);
    if let Some(grey) = looks.fill {
        let area = Area {
            x,
            y: 0.0,
            width: right - left,
            height,
        };
        strip.mark(Mark::Rect {
            area,
            fill: Some(grey),
            edge: None,
        });
    }
    for boxed in boxes {
        if let Some(grey) = boxed.fill {
            let area = Area {
                x: boxed.x,
                y: 0.0,
                width: boxed.width,
                height,
            };
            strip.mark(Mark::Rect {
                area,
                fill: Some(grey),
                edge: None,
            });
        }
    }
    if looks.bar > 0.0 {
        let area = Area {
            x,
            y: 0.0,
            width: looks.bar,
            height,
        };
        strip.mark(Mark::Rect {
            area,
            fill: Some(Grey::BLACK),
            edge: None,
        });
    }
    if let Some(pen) = looks.sides {
        let mut edges: Vec<f64> = boxes.iter().flat_map(|b| [b.x, b.x + b.width]).collect();
        edges.sort_by(f64::total_cmp);
        edges.dedup_by(|a, b| (*a - *b).abs() < 1e-3);
        for x in edges {
            strip.mark(Mark::Line {
                from: (x, 0.0),
                to: (x, height),
                pen,
            });
        }
    }
    for (pen, y, drawn) in [(looks.top, 0.0, ends.0), (looks.bottom, height, ends.1)] {
        if let (Some(pen), true) = (pen, drawn) {
            strip.mark(Mark::Line {
                from: (left, y),
                to: (right, y),
                pen,
            });
        }
    }
    for (boxed, lines) in boxes.iter().zip(cut) {
        let mut y = above
            + if looks.at_foot {
                text - tall(lines)
            } else {
                0.0
            };
        for line in *lines {
            line.draw(
                &mut strip,
                boxed.x + looks.pad_x,
                y,
                boxed.width - 2.0 * looks.pad_x,
            );
            y += line.height();
        }
    }
    strip
}
