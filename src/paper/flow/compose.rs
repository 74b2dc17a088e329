//! Blocks to strips.

use crate::paper::page::{Grey, Mark, Pen, Weight};

use super::block::{Align, Block, Field, Heading, Signature, Styled};
use super::rows::{Boxed, Line, Looks, RowLooks, lines, strips};
use super::strip::{Head, Ink, Strip};
use super::table_rows;

/// Size of running text in points.
const TEXT: f64 = 8.5;
/// Size of labels over values in points.
const LABEL: f64 = 6.5;
/// Room between blocks in mm.
const GAP: f64 = 2.6;

/// Pen of fine rules.
pub(super) const FINE: Pen = Pen {
    thickness: 0.4,
    grey: Grey::RULE,
};
/// Pen of rules that close something off.
pub(super) const FIRM: Pen = Pen {
    thickness: 0.8,
    grey: Grey::BLACK,
};

pub(super) const PLAIN: Looks = Looks {
    size: TEXT,
    weight: Weight::Regular,
    grey: Grey::BLACK,
    align: Align::Left,
};

/// The strips of a section, and the heads its tables repeat.
#[derive(Debug, Default)]
pub(super) struct Composer {
    /// Width of the content in mm.
    pub(super) width: f64,
    /// Height of a whole page of content in mm.
    pub(super) height: f64,
    pub(super) strips: Vec<Strip>,
    pub(super) heads: Vec<Head>,
}

impl Composer {
    /// A composer for content of this width, on pages of this height, in mm.
    pub(super) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            ..Self::default()
        }
    }

    pub(super) fn blocks(&mut self, blocks: &[Block]) {
        for block in blocks {
            self.block(block);
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Heading(heading) => self.heading(heading),
            Block::Paragraph(text) => self.paragraph(text),
            Block::Grid { columns, fields } => self.grid((*columns).max(1), fields),
            Block::Table(table) => {
                let (strips, heads) =
                    table_rows::compose(table, self.width, self.height, self.heads.len());
                self.heads.extend(heads);
                self.push(strips, GAP);
            }
            Block::Callout { title, lines } => self.callout(title, lines),
            Block::Drawing(drawing) => {
                let marks = drawing.marks.iter().cloned().map(Ink::Mark);
                let links = drawing.links.iter().map(|(area, anchor)| Ink::LinkTo {
                    area: *area,
                    anchor: anchor.clone(),
                });
                let strip = Strip {
                    height: drawing.height,
                    inks: marks.chain(links).collect(),
                    ..Strip::default()
                };
                self.push(vec![strip], GAP);
            }
            Block::Signatures(people) => {
                for person in people {
                    self.signature(person);
                }
            }
            Block::Space(mm) => {
                // A heading keeps its hold on what comes after the space.
                let glue = self.strips.last().is_some_and(|last| last.glue);
                self.strips.push(Strip {
                    gap: mm.max(0.0),
                    glue,
                    ..Strip::default()
                });
            }
            Block::PageBreak => {
                self.strips.push(Strip {
                    breaks_page: true,
                    ..Strip::default()
                });
            }
            Block::Together(blocks) => {
                let from = self.strips.len();
                self.blocks(blocks);
                for strip in self.all_but_the_last(from) {
                    strip.tight = true;
                }
            }
            Block::WithNext(blocks) => {
                let from = self.strips.len();
                self.blocks(blocks);
                for strip in self.strips.iter_mut().skip(from) {
                    strip.glue = true;
                }
            }
            Block::WithLast(blocks) => {
                let from = self.strips.len().saturating_sub(1);
                self.blocks(blocks);
                for strip in self.all_but_the_last(from) {
                    strip.kin = !strip.breaks_page;
                }
            }
        }
    }

    /// The strips from an index on, less the last of all.
    fn all_but_the_last(&mut self, from: usize) -> &mut [Strip] {
        let end = self.strips.len().saturating_sub(1);
        self.strips.get_mut(from..end).unwrap_or_default()
    }

    /// Adds the strips of a block with room above the first.
    fn push(&mut self, strips: Vec<Strip>, gap: f64) {
        for (at, mut strip) in strips.into_iter().enumerate() {
            if at == 0 {
                strip.gap = gap;
            }
            self.strips.push(strip);
        }
    }

    fn heading(&mut self, heading: &Heading) {
        let (size, gap) = match heading.level {
            0 | 1 => (15.0, 7.0),
            2 => (10.5, 5.0),
            _ => (8.5, 3.4),
        };
        let bottom = (heading.level < 2).then_some(FIRM);
        let looks = RowLooks {
            bottom,
            pad_y: 0.4,
            ..RowLooks::default()
        };
        let text = lines(
            &[Styled::new(heading.text.as_str())],
            self.width,
            Looks {
                size,
                weight: Weight::Bold,
                ..PLAIN
            },
        );
        let boxes = [Boxed {
            x: 0.0,
            width: self.width,
            lines: text,
            ..Boxed::default()
        }];
        let mut strips = strips(&boxes, looks, self.height / 2.0);
        for strip in &mut strips {
            strip.glue = true;
        }
        if let Some(first) = strips.first_mut() {
            first.outline = Some((heading.level.max(1), heading.text.clone()));
            first.anchor.clone_from(&heading.anchor);
        }
        self.push(strips, gap);
    }

    fn paragraph(&mut self, text: &Styled) {
        let lines = lines(std::slice::from_ref(text), self.width, PLAIN);
        let count = lines.len();
        let strips = lines.into_iter().enumerate().flat_map(|(at, line)| {
            let boxes = [Boxed {
                x: 0.0,
                width: self.width,
                lines: vec![line],
                ..Boxed::default()
            }];
            let mut strips = strips(&boxes, RowLooks::default(), self.height);
            for strip in &mut strips {
                // Neither the first nor the last line is left alone on a page.
                strip.glue = at + 1 < count && (at == 0 || at + 2 == count);
            }
            strips
        });
        let strips = strips.collect();
        self.push(strips, GAP * 0.7);
    }

    fn grid(&mut self, columns: usize, fields: &[Field]) {
        let mut rows: Vec<Vec<(&Field, usize)>> = Vec::new();
        let mut taken = columns;
        for field in fields {
            let span = field.span.clamp(1, columns);
            if taken + span > columns {
                rows.push(Vec::new());
                taken = 0;
            }
            taken += span;
            if let Some(row) = rows.last_mut() {
                row.push((field, span));
            }
        }
        let mut all = Vec::new();
        let count = rows.len();
        for (at, row) in rows.into_iter().enumerate() {
            all.extend(self.grid_row(columns, &row, at + 1 == count));
        }
        self.push(all, GAP);
    }

    /// One row of boxes. The last box of a row that isn't full reaches to the edge.
    fn grid_row(&self, columns: usize, row: &[(&Field, usize)], last: bool) -> Vec<Strip> {
        let looks = RowLooks {
            pad_x: 1.6,
            pad_y: 1.0,
            top: Some(FINE),
            sides: Some(FINE),
            bottom: last.then_some(FINE),
            ..RowLooks::default()
        };
        let step = self.width / count(columns);
        let mut at = 0;
        let mut boxes = Vec::new();
        for (nth, (field, span)) in row.iter().enumerate() {
            let span = if nth + 1 == row.len() {
                columns.saturating_sub(at)
            } else {
                *span
            };
            let (x, width) = (step * count(at), step * count(span));
            let room = width - 2.0 * looks.pad_x;
            let mut text: Vec<Line> = lines(
                &[Styled::new(field.label.as_str())],
                room,
                Looks {
                    size: LABEL,
                    grey: Grey::LABEL,
                    ..PLAIN
                },
            );
            text.extend(lines(&field.value, room, Looks { size: 9.0, ..PLAIN }));
            boxes.push(Boxed {
                x,
                width,
                lines: text,
                fill: field.shade,
            });
            at += span;
        }
        strips(&boxes, looks, self.height)
    }

    fn callout(&mut self, title: &str, text: &[Styled]) {
        let bar = 1.3;
        let looks = RowLooks {
            pad_x: 3.6,
            pad_y: 1.6,
            fill: Some(Grey::new(0.95)),
            bar,
            ..RowLooks::default()
        };
        let room = self.width - 2.0 * looks.pad_x;
        let mut all = Vec::new();
        if !title.is_empty() {
            all.extend(lines(
                &[Styled::new(title)],
                room,
                Looks {
                    weight: Weight::Bold,
                    ..PLAIN
                },
            ));
        }
        all.extend(lines(text, room, PLAIN));
        let boxes = [Boxed {
            x: 0.0,
            width: self.width,
            lines: all,
            ..Boxed::default()
        }];
        let strips = strips(&boxes, looks, self.height);
        self.push(strips, GAP);
    }

    /// Role in bold over four lines to sign on, each with its label below.
    fn signature(&mut self, person: &Signature) {
        let parts = [
            ("Name", person.name.as_str(), 0.21),
            ("Position and company", person.position.as_str(), 0.39),
            ("Signature", "", 0.27),
            ("Date", person.date.as_str(), 0.13),
        ];
        let (gutter, room) = (4.0, self.width);
        let mut x = 0.0;
        let mut boxes = Vec::new();
        let mut labels = Vec::new();
        for (label, value, part) in parts {
            // The gutter of the last one lies outside the page.
            let width = (room + gutter) * part - gutter;
            boxes.push(Boxed {
                x,
                width,
                lines: lines(&[Styled::new(value)], width, Looks { size: 9.0, ..PLAIN }),
                ..Boxed::default()
            });
            let small = Looks {
                size: LABEL,
                grey: Grey::LABEL,
                ..PLAIN
            };
            labels.push(Boxed {
                x,
                width,
                lines: lines(&[Styled::new(label)], width, small),
                ..Boxed::default()
            });
            x += width + gutter;
        }
        let role = [Boxed {
            x: 0.0,
            width: room,
            lines: lines(
                &[Styled::new(person.role.as_str())],
                room,
                Looks {
                    weight: Weight::Bold,
                    ..PLAIN
                },
            ),
            ..Boxed::default()
        }];
        let mut all = match person.role.is_empty() {
            true => Vec::new(),
            false => strips(&role, RowLooks::default(), self.height),
        };
        // Room to sign above the line, even when nothing is printed there.
        let mut values = strips(
            &boxes,
            RowLooks {
                pad_y: 0.6,
                at_foot: true,
                ..RowLooks::default()
            },
            self.height,
        );
        if let [first] = values.as_slice() {
            let spare = (9.0 - first.height).max(2.0);
            all.push(Strip {
                height: spare,
                ..Strip::default()
            });
        }
        if let Some(last) = values.last_mut() {
            let y = last.height;
            for b in &boxes {
                let pen = Pen {
                    thickness: 0.6,
                    grey: Grey::BLACK,
                };
                last.mark(Mark::Line {
                    from: (b.x, y),
                    to: (b.x + b.width, y),
                    pen,
                });
            }
        }
        all.extend(values);
        all.extend(strips(
            &labels,
            RowLooks {
                pad_y: 0.4,
                ..RowLooks::default()
            },
            self.height,
        ));
        if let Some((_last, held)) = all.split_last_mut() {
            for strip in held {
                strip.glue = true;
            }
        }
        self.push(all, GAP * 1.6);
    }
}

/// A small count as a length factor.
pub(super) fn count(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap_or(u32::MAX))
}
