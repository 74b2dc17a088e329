//! Filling pages with strips.

use std::collections::BTreeMap;

use crate::paper::measure::width;
use crate::paper::page::{Area, Mark, OutlineEntry, Page};

use super::block::Align;
use super::strip::{Head, Ink, Strip, shifted, shifted_area};

/// The part of a page that content may use, in mm from the top-left of the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub(super) page_width: f64,
    pub(super) page_height: f64,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

/// Most of a page, as a share of its height, that is moved over to keep a row or a chart company: so much of the page before may stay
/// empty on top of what it would without.
pub(super) const MOST_MOVED: f64 = 0.4;

/// Rounding in sums of heights must not push a row to the next page.
const HAIR: f64 = 1e-6;

/// The pages so far.
#[derive(Debug, Default)]
pub(super) struct Press {
    pub(super) pages: Vec<Page>,
    pub(super) outline: Vec<OutlineEntry>,
    /// Where anchors are: page index and mm from the top.
    anchors: BTreeMap<String, (usize, f64)>,
    /// Links to set once all anchors are known: page index, area, anchor.
    links: Vec<(usize, Area, String)>,
    /// Texts that give way to the number of a page once it is known.
    numbers: Vec<Number>,
    /// Upright rules of the last strip on this page, by the index of their mark.
    upright: Vec<usize>,
    /// Where the next strip goes, in mm from the top of the page.
    y: f64,
    at_top: bool,
    /// What has to be said below, should this page end here.
    foot: Option<usize>,
}

/// A text that gives way to the number of the page that an anchor is on.
#[derive(Debug)]
struct Number {
    page: usize,
    /// Index of the text among the marks of its page.
    mark: usize,
    anchor: String,
    align: Align,
}

/// What holds strips together, from the strongest wish to none.
#[derive(Clone, Copy)]
enum Hold {
    Tight,
    Kin,
    Glue,
    Nothing,
}

impl Press {
    /// Sets the strips, starting on a new page. Reads every strip a fixed number of times.
    pub(super) fn run(&mut self, frame: &Frame, strips: Vec<Strip>, heads: &[Head]) {
        self.turn_page(frame);
        self.set(frame, strips, heads, Hold::Tight);
    }

    fn set(&mut self, frame: &Frame, strips: Vec<Strip>, heads: &[Head], hold: Hold) {
        let mut group = Vec::new();
        for strip in strips {
            let goes_on = match hold {
                Hold::Tight => strip.tight || strip.kin || strip.glue,
                Hold::Kin => strip.kin || strip.glue,
                Hold::Glue => strip.glue,
                Hold::Nothing => false,
            };
            group.push(strip);
            if !goes_on {
                self.set_group(frame, std::mem::take(&mut group), heads, hold);
            }
        }
        self.set_group(frame, group, heads, hold);
    }

    fn set_group(&mut self, frame: &Frame, group: Vec<Strip>, heads: &[Head], hold: Hold) {
        let Some(first) = group.first() else { return };
        let all: f64 = group.iter().map(|strip| strip.gap + strip.height).sum();
        let head = first.head.and_then(|at| heads.get(at));
        let free = frame.top + frame.height - self.y + HAIR;
        // Where its table goes on after it, there has to be room to say so.
        let foot = group.last().and_then(|last| last.foot);
        let below = foot
            .and_then(|at| heads.get(at))
            .map_or(0.0, |foot| foot.height);
        let needed = below + if self.at_top { all - first.gap } else { all };
        if needed <= free || group.iter().any(|strip| strip.breaks_page) && group.len() == 1 {
            for strip in group {
                self.place(frame, strip);
            }
            self.foot = foot;
            return;
        }
        let on_new_page = below + all - first.gap + head.map_or(0.0, |head| head.height);
        let fits = on_new_page <= frame.height + HAIR;
        let end = match hold {
            Hold::Kin => longest_end(&group, heads, below, frame.height),
            Hold::Tight | Hold::Glue | Hold::Nothing => None,
        };
        let holds = match hold {
            Hold::Tight => fits && group.iter().any(|strip| strip.tight),
            Hold::Kin => end == Some(0),
            Hold::Glue => fits,
            Hold::Nothing => true,
        };
        if holds {
            if !self.at_top {
                let foot = self.foot.and_then(|at| heads.get(at));
                for strip in foot.map(|foot| foot.strips.clone()).unwrap_or_default() {
                    self.place(frame, strip);
                }
                self.turn_page(frame);
                for strip in head.map(|head| head.strips.clone()).unwrap_or_default() {
                    self.place(frame, strip);
                }
            }
            for strip in group {
                self.place(frame, strip);
            }
            self.foot = foot;
            return;
        }
        if let (Hold::Kin, Some(end)) = (hold, end) {
            let mut before = group;
            let group = before.split_off(end);
            self.set(frame, before, heads, Hold::Glue);
            self.set_group(frame, group, heads, Hold::Kin);
            return;
        }
        let weaker = match hold {
            Hold::Tight => Hold::Kin,
            Hold::Kin => Hold::Glue,
            Hold::Glue | Hold::Nothing => Hold::Nothing,
        };
        self.set(frame, group, heads, weaker);
    }

    fn place(&mut self, frame: &Frame, strip: Strip) {
        if strip.breaks_page {
            if !self.at_top {
                self.turn_page(frame);
            }
            return;
        }
        if !self.at_top {
            self.y += strip.gap;
        }
        let page = self.pages.len().saturating_sub(1);
        if let Some((level, title)) = strip.outline {
            self.outline.push(OutlineEntry {
                title,
                level,
                page,
                y: self.y,
            });
        }
        if let Some(anchor) = strip.anchor {
            self.anchors.entry(anchor).or_insert((page, self.y));
        }
        let above = std::mem::take(&mut self.upright);
        for ink in strip.inks {
            match ink {
                Ink::Mark(mark) => {
                    let mark = shifted(mark, frame.left, self.y);
                    if let Some(page) = self.pages.last_mut() {
                        draw(page, mark, &above, &mut self.upright);
                    }
                }
                Ink::PageOf {
                    mark,
                    anchor,
                    align,
                } => {
                    let mark = shifted(mark, frame.left, self.y);
                    if let Some(on) = self.pages.last_mut() {
                        self.numbers.push(Number {
                            page,
                            mark: on.marks.len(),
                            anchor,
                            align,
                        });
                        on.marks.push(mark);
                    }
                }
                Ink::LinkTo { area, anchor } => {
                    self.links
                        .push((page, shifted_area(area, frame.left, self.y), anchor));
                }
            }
        }
        self.y += strip.height;
        if strip.height > 0.0 {
            self.at_top = false;
        }
    }

    fn turn_page(&mut self, frame: &Frame) {
        self.pages.push(Page {
            width: frame.page_width,
            height: frame.page_height,
            marks: Vec::new(),
        });
        self.upright.clear();
        self.foot = None;
        self.y = frame.top;
        self.at_top = true;
    }

    /// Sets the links and numbers of pages whose anchor is known, and returns the anchors that are not.
    pub(super) fn tie_links(&mut self) -> Vec<String> {
        for number in std::mem::take(&mut self.numbers) {
            let on = self.pages.get_mut(number.page);
            let mark = on.and_then(|p| p.marks.get_mut(number.mark));
            if let (
                Some(&(page, _)),
                Some(Mark::Text {
                    text,
                    x,
                    size,
                    weight,
                    ..
                }),
            ) = (self.anchors.get(&number.anchor), mark)
            {
                let known = (page + 1).to_string();
                // What it stood for until now was as wide as something else.
                let part = match number.align {
                    Align::Left => 0.0,
                    Align::Centre => 0.5,
                    Align::Right => 1.0,
                };
                *x += part * (width(text, *size, *weight) - width(&known, *size, *weight));
                *text = known;
            }
        }
        let mut loose = Vec::new();
        for (at, area, anchor) in std::mem::take(&mut self.links) {
            match (self.anchors.get(&anchor), self.pages.get_mut(at)) {
                (Some(&(page, y)), Some(from)) => from.marks.push(Mark::Link { area, page, y }),
                _ => loose.push(anchor),
            }
        }
        loose
    }
}

/// Where the longest end of a group begins that goes on a new page with its last piece, without moving much else over. A piece is what
/// glue holds; `below` is the room in mm that is needed under it.
fn longest_end(group: &[Strip], heads: &[Head], below: f64, page: f64) -> Option<usize> {
    let mut height = below;
    let mut last_piece = None;
    let mut begins = None;
    for (at, strip) in group.iter().enumerate().rev() {
        height += strip.gap + strip.height;
        let before = at.checked_sub(1).and_then(|before| group.get(before));
        if before.is_some_and(|before| before.glue) {
            continue;
        }
        let last = *last_piece.get_or_insert(height);
        let head = strip.head.and_then(|at| heads.get(at));
        let on_page = height - strip.gap + head.map_or(0.0, |head| head.height);
        if on_page > page + HAIR || height - last > page * MOST_MOVED + HAIR {
            break;
        }
        begins = Some(at);
    }
    begins
}

/// Draws a mark on a page. A rule that goes on where one of the strip above ends makes that one longer: a schedule has a rule
/// between any two columns in every row, which otherwise would be half of what its file says.
fn draw(page: &mut Page, mark: Mark, above: &[usize], upright: &mut Vec<usize>) {
    if let Mark::Line { from, to, pen } = &mark
        && same(from.0, to.0)
    {
        let before = above.get(upright.len()).copied();
        if let Some(at) = before
            && let Some(Mark::Line {
                from: start,
                to: end,
                pen: before,
            }) = page.marks.get_mut(at)
            && same(start.0, from.0)
            && same(end.1, from.1)
            && before == pen
        {
            end.1 = to.1;
            upright.push(at);
            return;
        }
        upright.push(page.marks.len());
    }
    page.marks.push(mark);
}

/// Whether two lengths come from the same sum.
fn same(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits()
}
