//! What is drawn on a page, as a PDF says it.
//!
//! Written here and not by the page library, which says the state again for every stroke and each letter as four digits: a
//! schedule then takes twice the room and the time, of which most goes into compressing it.
//!
//! Lengths are counted in whole thousandths of a point, so that steps from one place to the next add up exactly.

use std::io::Write;

use crate::paper::measure::{glyphs, printable};
use crate::paper::page::{Area, Grey, MM_PER_POINT, Mark, Page, Weight};

use super::font_name;
use super::pack::shared;

/// Which character each glyph of a font stands for, as far as pages use it; by number of the glyph.
#[derive(Debug, Default)]
pub(super) struct Used {
    regular: Vec<Option<char>>,
    bold: Vec<Option<char>>,
}

impl Used {
    fn of(&self, weight: Weight) -> &[Option<char>] {
        match weight {
            Weight::Regular => &self.regular,
            Weight::Bold => &self.bold,
        }
    }

    /// Every character that is used of a weight, each glyph once, in the order of the glyphs.
    pub(super) fn text(&self, weight: Weight) -> String {
        self.of(weight).iter().flatten().collect()
    }

    /// The numbers of the glyphs that are used of a weight.
    pub(super) fn glyphs(&self, weight: Weight) -> impl Iterator<Item = usize> {
        let used = self.of(weight).iter().enumerate();
        used.filter_map(|(glyph, c)| c.map(|_| glyph))
    }

    /// Notes what another page uses as well.
    fn add(&mut self, other: &Used) {
        for weight in [Weight::Regular, Weight::Bold] {
            for (glyph, c) in other.of(weight).iter().enumerate() {
                if let Some(c) = c {
                    self.note(weight, glyph, *c);
                }
            }
        }
    }

    fn note(&mut self, weight: Weight, at: usize, c: char) {
        let used = match weight {
            Weight::Regular => &mut self.regular,
            Weight::Bold => &mut self.bold,
        };
        if used.len() <= at {
            used.resize(at + 1, None);
        }
        if let Some(known @ None) = used.get_mut(at) {
            *known = Some(c);
        }
    }
}

/// What is drawn on a page, as it stands in the file.
#[derive(Debug)]
pub(super) struct Drawn {
    pub(super) content: Vec<u8>,
    /// Whether it is compressed.
    pub(super) packed: bool,
}

/// What is drawn on each page, and what that uses of the fonts. Writing and compressing is most of the time a paper takes, so that
/// each processor takes its share.
pub(super) fn drawn(pages: &[Page]) -> (Vec<Drawn>, Used) {
    let each = shared(pages.iter().collect(), |packer, page| {
        let mut used = Used::default();
        let content = content(page, &mut used);
        let drawn = match packer.packed(&content) {
            Some(content) => Drawn {
                content,
                packed: true,
            },
            None => Drawn {
                content,
                packed: false,
            },
        };
        (drawn, used)
    });
    let mut used = Used::default();
    let mut all = Vec::with_capacity(each.len());
    for (drawn, of_page) in each {
        used.add(&of_page);
        all.push(drawn);
    }
    (all, used)
}

/// What is drawn on a page.
fn content(page: &Page, used: &mut Used) -> Vec<u8> {
    let mut pen = Pencil {
        out: Vec::with_capacity(page.marks.len() * 40),
        used,
        height: page.height,
        inside: Inside::Nothing,
        at: (0, 0),
        font: None,
        fill: None,
        stroke: None,
    };
    for mark in &page.marks {
        pen.mark(mark);
    }
    pen.end();
    pen.out
}

/// What has been begun.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inside {
    Nothing,
    /// Texts, between `BT` and `ET`.
    Text,
    /// Lines of one pen, which `S` draws together.
    Path,
}

/// Writes marks. Colours and fonts that stay the same are said once, and texts that follow each other share a text section.
struct Pencil<'a> {
    out: Vec<u8>,
    used: &'a mut Used,
    /// Height of the page in mm: PDF counts upwards from the foot.
    height: f64,
    inside: Inside,
    /// Where the last text of this section began, in thousandths of a point.
    at: (i64, i64),
    font: Option<(Weight, i64)>,
    fill: Option<i64>,
    /// Thickness and shade of strokes.
    stroke: Option<(i64, i64)>,
}

impl Pencil<'_> {
    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Text {
                x,
                y,
                size,
                weight,
                grey,
                turn,
                text,
            } => {
                let place = (points(*x), points(self.height - y));
                self.text(place, (*weight, *size), *grey, *turn, text);
            }
            Mark::Line { from, to, pen } => {
                self.edge(pen.thickness, pen.grey);
                self.inside = Inside::Path;
                for ((x, y), operator) in [(from, "m"), (to, "l")] {
                    let y = points(self.height - y);
                    self.say(&[points(*x), y], operator);
                }
            }
            Mark::Rect { area, fill, edge } => {
                if let Some(grey) = fill {
                    self.end();
                    self.fill(*grey);
                    self.rectangle(area, "f");
                }
                if let Some(pen) = edge {
                    self.end();
                    self.edge(pen.thickness, pen.grey);
                    self.rectangle(area, "S");
                }
            }
            // Links are no drawing; they are added to the finished pages.
            Mark::Link { .. } => {}
        }
    }

    fn text(
        &mut self,
        (x, y): (i64, i64),
        (weight, size): (Weight, f64),
        grey: Grey,
        turn: f64,
        text: &str,
    ) {
        if glyphs(text, weight).next().is_none() {
            return;
        }
        let turned = turn.rem_euclid(360.0) > 1e-9;
        if turned || self.inside != Inside::Text {
            self.end();
            self.out.extend_from_slice(b"BT\n");
            self.inside = Inside::Text;
            self.at = (0, 0);
        }
        self.fill(grey);
        let font = (weight, thousandths(size));
        if self.font != Some(font) {
            self.font = Some(font);
            self.out.push(b'/');
            self.out.extend_from_slice(font_name(weight).as_bytes());
            self.out.push(b' ');
            self.say(&[font.1], "Tf");
        }
        if turned {
            // Turned letters are read one by one, or a word a line, unless spelt out.
            let mut spelt = Vec::new();
            lopdf::encode_utf16_be(&printable(text, weight).0, &mut spelt);
            self.out.extend_from_slice(b"/Span<</ActualText<");
            for byte in spelt {
                // Writing to memory can't fail.
                let _ = write!(self.out, "{byte:02X}");
            }
            self.out.extend_from_slice(b">>>BDC\n");
            let (sin, cos) = turn.to_radians().sin_cos();
            let [sin, cos] = [sin, cos].map(thousandths);
            self.say(&[cos, sin, -sin, cos, x, y], "Tm");
        } else {
            self.say(&[x - self.at.0, y - self.at.1], "Td");
            self.at = (x, y);
        }
        self.out.push(b'(');
        for (glyph, c) in glyphs(text, weight) {
            self.used.note(weight, usize::from(glyph), c);
            for byte in glyph.to_be_bytes() {
                match byte {
                    b'(' | b')' | b'\\' => self.out.extend_from_slice(&[b'\\', byte]),
                    // A bare carriage return would be read as a line feed.
                    b'\r' => self.out.extend_from_slice(b"\\r"),
                    _ => self.out.push(byte),
                }
            }
        }
        self.out.extend_from_slice(b")Tj\n");
        if turned {
            self.out.extend_from_slice(b"EMC\n");
            self.end();
        }
    }

    /// Ends what was begun.
    fn end(&mut self) {
        match self.inside {
            Inside::Nothing => {}
            Inside::Text => self.out.extend_from_slice(b"ET\n"),
            Inside::Path => self.out.extend_from_slice(b"S\n"),
        }
        self.inside = Inside::Nothing;
    }

    fn fill(&mut self, grey: Grey) {
        let shade = thousandths(grey.shade());
        if self.fill != Some(shade) {
            self.fill = Some(shade);
            self.say(&[shade], "g");
        }
    }

    /// Ends what isn't drawn with this pen, and takes it up.
    fn edge(&mut self, thickness: f64, grey: Grey) {
        let stroke = (thousandths(thickness), thousandths(grey.shade()));
        if self.inside == Inside::Path && self.stroke == Some(stroke) {
            return;
        }
        self.end();
        if self.stroke != Some(stroke) {
            self.stroke = Some(stroke);
            self.say(&[stroke.1], "G");
            self.say(&[stroke.0], "w");
        }
    }

    fn rectangle(&mut self, area: &Area, paint: &str) {
        let foot = points(self.height - area.y - area.height);
        let lengths = [
            points(area.x),
            foot,
            points(area.width),
            points(area.height),
        ];
        self.say(&lengths, "re");
        self.say(&[], paint);
    }

    /// An operator with its numbers before it.
    fn say(&mut self, numbers: &[i64], operator: &str) {
        for number in numbers {
            number_to(&mut self.out, *number);
        }
        self.out.extend_from_slice(operator.as_bytes());
        self.out.push(b'\n');
    }
}

/// Writes thousandths as a decimal number without idle digits, and a space after it.
///
/// A page has tens of thousands of numbers: the general way of writing them is most of its time.
fn number_to(out: &mut Vec<u8>, number: i64) {
    if number < 0 {
        out.push(b'-');
    }
    let (mut whole, mut part) = (number.unsigned_abs() / 1000, number.unsigned_abs() % 1000);
    // Twenty digits hold every number.
    let mut digits = [b'0'; 20];
    let mut from = digits.len();
    for place in digits.iter_mut().rev() {
        *place = digit(whole % 10);
        from -= 1;
        whole /= 10;
        if whole == 0 {
            break;
        }
    }
    out.extend_from_slice(digits.get(from..).unwrap_or_default());
    if part != 0 {
        out.push(b'.');
        while part != 0 {
            out.push(digit(part / 100));
            part = part % 100 * 10;
        }
    }
    out.push(b' ');
}

/// The last digit of a number.
fn digit(number: u64) -> u8 {
    b'0' + (number % 10) as u8
}

/// A length in mm as thousandths of a point.
fn points(mm: f64) -> i64 {
    thousandths(mm / MM_PER_POINT)
}

/// A number in whole thousandths; what is no number is none.
#[expect(clippy::cast_possible_truncation, reason = "page lengths are small")]
fn thousandths(number: f64) -> i64 {
    (number * 1000.0).round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::paper::page::Pen;

    fn drawn(marks: Vec<Mark>) -> String {
        let page = Page {
            width: 210.0,
            height: 25.4,
            marks,
        };
        String::from_utf8_lossy(&content(&page, &mut Used::default())).into_owned()
    }

    #[test]
    fn lines_of_one_pen_are_drawn_together_and_the_pen_is_named_once() {
        let line = |y: f64, grey| Mark::Line {
            from: (0.0, y),
            to: (12.7, y),
            pen: Pen {
                thickness: 0.4,
                grey,
            },
        };
        let marks = vec![
            line(0.0, Grey::BLACK),
            line(25.4, Grey::BLACK),
            line(12.7, Grey::RULE),
        ];
        assert_eq!(
            drawn(marks),
            "0 G\n0.4 w\n0 72 m\n36 72 l\n0 0 m\n36 0 l\nS\n0.68 G\n0.4 w\n0 36 m\n36 36 l\nS\n"
        );
    }

    #[test]
    fn numbers_have_no_idle_digits() {
        let mut out = String::new();
        for (x, text) in [
            (0.05, "0.05"),
            (-1.5, "-1.5"),
            (7.001, "7.001"),
            (-0.0001, "0"),
        ] {
            let mark = Mark::Line {
                from: (x * MM_PER_POINT, 25.4),
                to: (0.0, 25.4),
                pen: Pen {
                    thickness: 1.0,
                    grey: Grey::BLACK,
                },
            };
            out = drawn(vec![mark]);
            assert!(out.contains(&format!("\n{text} 0 m\n")), "{text} in {out}");
        }
        assert!(out.ends_with("S\n"));
    }

    #[test]
    fn texts_step_from_one_to_the_next() {
        let text = |x: f64, text: &str| Mark::Text {
            x,
            y: 12.7,
            size: 8.0,
            weight: Weight::Regular,
            grey: Grey::BLACK,
            turn: 0.0,
            text: text.into(),
        };
        let out = drawn(vec![
            text(25.4, "a"),
            text(12.7, "b"),
            text(0.0, "\u{200B}"),
        ]);
        assert!(
            out.starts_with("BT\n0 g\n/WLREGU 8 Tf\n72 36 Td\n("),
            "{out}"
        );
        assert!(out.contains(")Tj\n-36 0 Td\n("), "{out}");
        assert_eq!(out.matches("Tj").count(), 2, "{out}");
        assert!(out.ends_with(")Tj\nET\n"), "{out}");
    }
}
