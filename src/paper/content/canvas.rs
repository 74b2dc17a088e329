//! What the drawings are made with: lines, boxes and short texts in millimetres from the top-left corner.

use crate::paper::flow::{Block, Drawing};
use crate::paper::measure::{width, wrap};
use crate::paper::page::{Area, Grey, Mark, Pen, Weight};

/// Size of the text in drawings, in points.
pub(super) const TEXT: f64 = 6.2;
/// From one line of such text to the next, in mm.
pub(super) const PITCH: f64 = 2.75;
/// Tallest drawing that a landscape page holds below a heading, in mm.
pub(super) const TALLEST: f64 = 150.0;
/// Width of the content of a landscape page, in mm.
pub(super) const WIDE: f64 = 265.0;

/// Thin lines: outlines and what explains.
const THIN: Pen = Pen {
    thickness: 0.45,
    grey: Grey::BLACK,
};
/// Conductors.
const WIRE: Pen = Pen {
    thickness: 0.8,
    grey: Grey::BLACK,
};
/// Busbars and terminals.
const BAR: Pen = Pen {
    thickness: 2.2,
    grey: Grey::BLACK,
};
/// Enclosures.
const FAINT: Pen = Pen {
    thickness: 0.5,
    grey: Grey::LABEL,
};

/// A drawing in the making.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    drawing: Drawing,
}

impl Canvas {
    /// The finished drawing, that many mm high.
    pub(super) fn into_block(mut self, height: f64) -> Block {
        self.drawing.height = height;
        Block::Drawing(self.drawing)
    }

    fn stroke(&mut self, from: (f64, f64), to: (f64, f64), pen: Pen) {
        self.drawing.marks.push(Mark::Line { from, to, pen });
    }

    /// A thin line.
    pub(super) fn line(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.stroke(from, to, THIN);
    }

    /// A conductor.
    pub(super) fn wire(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.stroke(from, to, WIRE);
    }

    /// A busbar.
    pub(super) fn bar(&mut self, from: (f64, f64), to: (f64, f64)) {
        self.stroke(from, to, BAR);
    }

    /// A broken line, along one axis.
    pub(super) fn dashes(&mut self, from: (f64, f64), to: (f64, f64)) {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let long = dx.hypot(dy);
        if long <= 0.0 {
            return;
        }
        let (ux, uy) = (dx / long, dy / long);
        let mut at = 0.0;
        while at < long {
            let end = (at + 1.6_f64).min(long);
            self.stroke(
                (from.0 + ux * at, from.1 + uy * at),
                (from.0 + ux * end, from.1 + uy * end),
                FAINT,
            );
            at += 2.6;
        }
    }

    /// An enclosure: a box of broken lines.
    pub(super) fn enclosure(&mut self, x: f64, y: f64, right: f64, bottom: f64) {
        self.dashes((x, y), (right, y));
        self.dashes((x, bottom), (right, bottom));
        self.dashes((x, y), (x, bottom));
        self.dashes((right, y), (right, bottom));
    }

    /// An outlined box.
    pub(super) fn frame(&mut self, area: Area) {
        self.drawing.marks.push(Mark::Rect {
            area,
            fill: None,
            edge: Some(THIN),
        });
    }

    /// A filled box, outlined where asked.
    pub(super) fn fill(&mut self, area: Area, grey: Grey, outlined: bool) {
        self.drawing.marks.push(Mark::Rect {
            area,
            fill: Some(grey),
            edge: outlined.then_some(THIN),
        });
    }

    /// A circle of short lines.
    pub(super) fn ring(&mut self, centre: (f64, f64), radius: f64) {
        let point = |n: u8| {
            let turn = f64::from(n) * std::f64::consts::TAU / 16.0;
            (
                centre.0 + radius * turn.cos(),
                centre.1 + radius * turn.sin(),
            )
        };
        for n in 0..16 {
            self.line(point(n), point(n + 1));
        }
    }

    /// A point where conductors are joined.
    pub(super) fn joint(&mut self, at: (f64, f64)) {
        let area = Area {
            x: at.0 - 0.6,
            y: at.1 - 0.6,
            width: 1.2,
            height: 1.2,
        };
        self.fill(area, Grey::BLACK, false);
    }

    /// An arrowhead with its point at `tip`, to the right, or to the left where asked.
    pub(super) fn arrow(&mut self, tip: (f64, f64), to_left: bool) {
        let back = if to_left { 2.0 } else { -2.0 };
        for side in [-1.0, 1.0] {
            self.wire(tip, (tip.0 + back, tip.1 + side));
        }
    }

    /// Text in the usual size that starts at `x` and stands on `y`.
    pub(super) fn text(&mut self, x: f64, y: f64, text: impl Into<String>) {
        self.write(x, y, text, TEXT, Weight::Regular);
    }

    /// The same in bold.
    pub(super) fn bold(&mut self, x: f64, y: f64, text: impl Into<String>) {
        self.write(x, y, text, TEXT, Weight::Bold);
    }

    /// Text in a size and weight.
    pub(super) fn write(
        &mut self,
        x: f64,
        y: f64,
        text: impl Into<String>,
        size: f64,
        weight: Weight,
    ) {
        let text = text.into();
        if text.trim().is_empty() {
            return;
        }
        self.drawing.marks.push(Mark::Text {
            x,
            y,
            size,
            weight,
            grey: Grey::BLACK,
            turn: 0.0,
            text,
        });
    }

    /// Text in the usual size that ends at `x`.
    pub(super) fn text_to(&mut self, x: f64, y: f64, text: &str) {
        self.text(x - width(text, TEXT, Weight::Regular), y, text);
    }

    /// Text in the usual size around `x`.
    pub(super) fn text_at(&mut self, x: f64, y: f64, text: &str) {
        self.text(x - width(text, TEXT, Weight::Regular) / 2.0, y, text);
    }

    /// Lines of text below one another; the first stands on `y`.
    pub(super) fn lines(&mut self, x: f64, y: f64, lines: &[String]) {
        let mut at = y;
        for line in lines {
            self.text(x, at, line.as_str());
            at += PITCH;
        }
    }

    /// Lines of text above a conductor at `y`, the last nearest to it.
    pub(super) fn above(&mut self, x: f64, y: f64, lines: &[String]) {
        let up = PITCH * count(lines.len().saturating_sub(1));
        self.lines(x, y - 1.7 - up, lines);
    }

    /// Lines of text below a conductor at `y`.
    pub(super) fn below(&mut self, x: f64, y: f64, lines: &[String]) {
        self.lines(x, y + 2.75, lines);
    }

    /// A place to click.
    pub(super) fn link(&mut self, area: Area, anchor: impl Into<String>) {
        self.drawing.links.push((area, anchor.into()));
    }
}

/// A number of things as a length factor.
pub(super) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}

/// Fits texts into their room, and remembers whether something had to be cut.
#[derive(Debug, Default)]
pub(super) struct Fitter {
    /// Whether a text was cut; the drawing then says where it stands in full.
    pub(super) cut: bool,
}

impl Fitter {
    /// The text in at most that many lines; what doesn't fit ends in `…`.
    pub(super) fn lines(&mut self, text: &str, mm: f64, most: usize) -> Vec<String> {
        self.set(text, mm, most, Weight::Regular)
    }

    /// The same for a weight.
    pub(super) fn set(&mut self, text: &str, mm: f64, most: usize, weight: Weight) -> Vec<String> {
        let text = text.trim().replace(['\n', '\r', '\t'], " ");
        if text.is_empty() || most == 0 {
            return Vec::new();
        }
        let mut lines: Vec<String> = wrap(&text, mm, TEXT, weight)
            .into_iter()
            .map(|l| l.trim_end().to_string())
            .collect();
        if lines.len() > most {
            lines.truncate(most);
            self.cut = true;
            if let Some(last) = lines.last_mut() {
                while width(&format!("{last}…"), TEXT, weight) > mm && last.pop().is_some() {}
                last.truncate(last.trim_end().len());
                last.push('…');
            }
        }
        lines
    }
}

/// Texts of a drawing that touch another text, a line or the edge of a box, that leave the drawing, or are too small.
#[cfg(test)]
pub(super) fn overlaps(drawing: &Drawing) -> Vec<String> {
    use crate::paper::measure::cap_height;
    use crate::paper::page::MM_PER_POINT;
    struct Boxed<'t> {
        left: f64,
        top: f64,
        right: f64,
        bottom: f64,
        text: &'t str,
    }
    let mut out = Vec::new();
    let mut texts: Vec<Boxed<'_>> = Vec::new();
    let mut lines: Vec<[f64; 4]> = Vec::new();
    for mark in &drawing.marks {
        match mark {
            Mark::Text {
                x,
                y,
                size,
                weight,
                text,
                ..
            } => {
                if *size < 6.0 {
                    out.push(format!("{text:?} is set in {size} pt"));
                }
                texts.push(Boxed {
                    left: *x,
                    top: y - cap_height(*size),
                    right: x + width(text, *size, *weight),
                    // As far as a g goes below the line.
                    bottom: y + 0.24 * size * MM_PER_POINT,
                    text,
                });
            }
            Mark::Line { from, to, .. } => lines.push([from.0, from.1, to.0, to.1]),
            Mark::Rect { area: a, edge, .. } if edge.is_some() => {
                let (r, b) = (a.x + a.width, a.y + a.height);
                lines.extend([
                    [a.x, a.y, r, a.y],
                    [a.x, b, r, b],
                    [a.x, a.y, a.x, b],
                    [r, a.y, r, b],
                ]);
            }
            Mark::Rect { .. } | Mark::Link { .. } => {}
        }
    }
    texts.sort_by(|a, b| a.top.total_cmp(&b.top));
    for (n, t) in texts.iter().enumerate() {
        if t.left < 0.0 || t.right > WIDE || t.top < 0.0 || t.bottom > drawing.height + 0.6 {
            out.push(format!("{:?} leaves the drawing", t.text));
        }
        for other in texts.iter().skip(n + 1) {
            if other.top >= t.bottom {
                break;
            }
            if other.left < t.right && t.left < other.right {
                out.push(format!("{:?} touches {:?}", t.text, other.text));
            }
        }
        for [x1, y1, x2, y2] in &lines {
            // In steps of a tenth of a millimetre: some lines are slanting.
            let long = (x2 - x1).hypot(y2 - y1);
            let steps = (long / 0.1).ceil().max(1.0);
            let mut at = 0.0;
            while at <= steps {
                let (x, y) = (x1 + (x2 - x1) * at / steps, y1 + (y2 - y1) * at / steps);
                if x > t.left && x < t.right && y > t.top && y < t.bottom {
                    out.push(format!("{:?} touches a line at {x:.1}, {y:.1}", t.text));
                    break;
                }
                at += 1.0;
            }
        }
    }
    for [x1, y1, x2, y2] in lines {
        let inside = |x: f64, y: f64| {
            (-0.01..=WIDE + 0.01).contains(&x) && (-0.01..=drawing.height + 0.01).contains(&y)
        };
        if !inside(x1, y1) || !inside(x2, y2) {
            out.push(format!(
                "a line leaves the drawing at {x1:.1}, {y1:.1} to {x2:.1}, {y2:.1}"
            ));
        }
    }
    out.sort();
    out.dedup();
    out
}
