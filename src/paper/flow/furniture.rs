//! What every page carries around its content: header, footer, draft mark.

use crate::paper::measure::{cap_height, width};
use crate::paper::page::{Grey, MM_PER_POINT, Mark, Page, Pen, Weight};

use super::block::{Align, Styled};
use super::compose::{FIRM, PLAIN};
use super::press::Frame;
use super::rows::{Boxed, Line, Looks, RowLooks, lines, strips};
use super::strip::{Ink, Strip, shifted};
use super::{Orientation, PaperInfo};

/// Room left free at the sides of the paper, in mm: enough for printers and for a
/// punch on the left.
pub(super) const SIDE: f64 = 16.0;
/// Room left free above the header and below the footer, in mm.
const EDGE: f64 = 10.0;
/// Room between content and header or footer, in mm.
const APART: f64 = 3.5;

/// Header and footer for pages of one orientation.
pub(super) struct Furniture<'a> {
    info: &'a PaperInfo,
    header: Vec<Strip>,
    pub(super) frame: Frame,
}

impl<'a> Furniture<'a> {
    pub(super) fn new(info: &'a PaperInfo, section: &str, orientation: Orientation) -> Self {
        let (page_width, page_height) = orientation.paper();
        let width = page_width - 2.0 * SIDE;
        let header = header(info, section, width);
        let tall: f64 = header.iter().map(|strip| strip.height).sum();
        let top = EDGE + tall + APART;
        let footer: f64 = footer(info, 0, 0, width)
            .iter()
            .map(|strip| strip.height)
            .sum();
        let height = (page_height - top - EDGE - footer - APART).max(40.0);
        let frame = Frame {
            page_width,
            page_height,
            left: SIDE,
            top,
            width,
            height,
        };
        Self {
            info,
            header,
            frame,
        }
    }

    /// Puts header, footer and draft mark on a page; `number` counts from 1.
    pub(super) fn furnish(&self, page: &mut Page, number: usize, of: usize) {
        let mut marks = Vec::with_capacity(page.marks.len() + 16);
        // The draft mark comes first, so that it lies behind everything.
        if let Some(draft) = &self.info.draft {
            marks.extend(ghost(&draft.word, page.width, page.height));
        }
        lay(&self.header, SIDE, EDGE, &mut marks);
        // Shades next, or the shade of one row would cover the rule above it.
        let (shades, content): (Vec<Mark>, Vec<Mark>) = page
            .marks
            .drain(..)
            .partition(|mark| matches!(mark, Mark::Rect { .. }));
        marks.extend(shades);
        marks.extend(content);
        let footer = footer(self.info, number, of, self.frame.width);
        let tall: f64 = footer.iter().map(|strip| strip.height).sum();
        lay(&footer, SIDE, page.height - EDGE - tall, &mut marks);
        page.marks = marks;
    }
}

fn lay(strips: &[Strip], x: f64, mut y: f64, marks: &mut Vec<Mark>) {
    for strip in strips {
        for ink in &strip.inks {
            if let Ink::Mark(mark) = ink {
                marks.push(shifted(mark.clone(), x, y));
            }
        }
        y += strip.height;
    }
}

/// Title and section on the left, reference on the right, and the draft notice below.
fn header(info: &PaperInfo, section: &str, width: f64) -> Vec<Strip> {
    let looks = Looks { size: 7.5, ..PLAIN };
    let (left, right) = (width * 0.64, width * 0.34);
    let mut title = vec![Styled::new(info.document.title.as_str()).bold()];
    if !section.is_empty() {
        title.push(Styled::new(section).grey(Grey::LABEL));
    }
    let reference = [
        Styled::new(info.reference.as_str()).bold(),
        Styled::new(info.issuer.as_str()).grey(Grey::LABEL),
    ];
    let boxes = [
        Boxed {
            x: 0.0,
            width: left,
            lines: lines(&title, left, looks),
            ..Boxed::default()
        },
        Boxed {
            x: width - right,
            width: right,
            lines: drop_empty(lines(
                &reference,
                right,
                Looks {
                    align: Align::Right,
                    ..looks
                },
            )),
            ..Boxed::default()
        },
    ];
    let mut all = strips(
        &boxes,
        RowLooks {
            pad_y: 0.8,
            bottom: Some(FIRM),
            ..RowLooks::default()
        },
        f64::INFINITY,
    );
    if let Some(draft) = info.draft.as_ref().filter(|draft| !draft.notice.is_empty()) {
        let bold = Looks {
            weight: Weight::Bold,
            align: Align::Centre,
            ..looks
        };
        let boxes = [Boxed {
            x: 0.0,
            width,
            lines: lines(&[Styled::new(draft.notice.as_str())], width, bold),
            ..Boxed::default()
        }];
        all.extend(strips(
            &boxes,
            RowLooks {
                pad_y: 0.7,
                bottom: Some(FIRM),
                ..RowLooks::default()
            },
            f64::INFINITY,
        ));
    }
    all
}

fn drop_empty(lines: Vec<Line>) -> Vec<Line> {
    lines
        .into_iter()
        .filter(|line| !line.text.is_empty())
        .collect()
}

fn footer(info: &PaperInfo, number: usize, of: usize, width: f64) -> Vec<Strip> {
    let looks = Looks {
        size: 6.5,
        grey: Grey::LABEL,
        ..PLAIN
    };
    let (left, right) = (width * 0.78, width * 0.2);
    let page = [Styled::new(format!("Page {number} of {of}"))
        .bold()
        .grey(Grey::BLACK)];
    let boxes = [
        Boxed {
            x: 0.0,
            width: left,
            lines: lines(&[Styled::new(info.footer.as_str())], left, looks),
            ..Boxed::default()
        },
        Boxed {
            x: width - right,
            width: right,
            lines: lines(
                &page,
                right,
                Looks {
                    align: Align::Right,
                    ..looks
                },
            ),
            ..Boxed::default()
        },
    ];
    let top = Pen {
        thickness: 0.4,
        grey: Grey::LABEL,
    };
    strips(
        &boxes,
        RowLooks {
            pad_y: 0.8,
            top: Some(top),
            ..RowLooks::default()
        },
        f64::INFINITY,
    )
}

/// A large pale word from corner to corner.
fn ghost(word: &str, page_width: f64, page_height: f64) -> Option<Mark> {
    let weight = Weight::Bold;
    let unit = width(word, 1.0, weight);
    if unit <= 0.0 {
        return None;
    }
    let diagonal = page_width.hypot(page_height);
    // As long as two thirds of the diagonal, but no larger than can be read through.
    let size = (diagonal * 0.66 / unit).min(40.0 / MM_PER_POINT);
    let angle = page_height.atan2(page_width);
    let (half, up) = (unit * size / 2.0, cap_height(size) / 2.0);
    Some(Mark::Text {
        x: page_width / 2.0 - half * angle.cos() + up * angle.sin(),
        y: page_height / 2.0 + half * angle.sin() + up * angle.cos(),
        size,
        weight,
        grey: Grey::GHOST,
        turn: angle.to_degrees(),
        text: word.to_owned(),
    })
}
