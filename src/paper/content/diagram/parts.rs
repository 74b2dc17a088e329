//! The parts of the drawing in words that fit their room, and the height they take.

use crate::paper::content::canvas::{PITCH, TEXT, count};
use crate::paper::measure::width;
use crate::paper::page::Weight;

use super::symbols::Opens;

/// Width of the words in each part of the drawing, in mm.
pub(super) const OUTSIDE: f64 = 31.0;
pub(super) const INSIDE: f64 = 25.0;
pub(super) const AT_DEVICE: f64 = 31.0;
pub(super) const AT_CABLE: f64 = 29.0;
pub(super) const IN_BOX: f64 = 38.5;
pub(super) const AT_ITEM: f64 = 35.0;
pub(super) const AT_LOADS: f64 = 105.0;
pub(super) const HEAD: f64 = 247.0;

/// A switching device with its words.
#[derive(Debug, Default)]
pub(super) struct Devices {
    pub(super) opens: Option<Opens>,
    pub(super) residual: bool,
    pub(super) above: Vec<String>,
    pub(super) below: Vec<String>,
}

/// What a way leads to.
#[derive(Debug)]
pub(super) enum End {
    Surge,
    /// Loads, or something that the record doesn't name.
    Words(Vec<String>),
    Sources(Vec<Unit>),
}

/// A way to the right of a busbar.
#[derive(Debug)]
pub(super) struct Way {
    pub(super) devices: Devices,
    pub(super) cable: Vec<String>,
    pub(super) name: Vec<String>,
    pub(super) three: bool,
    pub(super) end: End,
}

/// An inverter, or a branch of them.
#[derive(Debug)]
pub(super) struct Unit {
    pub(super) isolator: bool,
    /// The first in bold.
    pub(super) lines: Vec<String>,
    /// How many of the lines are bold.
    pub(super) bold: usize,
    /// It turns direct into alternating current; else it only stands for more of them.
    pub(super) converts: bool,
    pub(super) dc_isolator: bool,
    pub(super) items: Vec<Item>,
}

/// Kind of what is behind an inverter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ItemKind {
    Modules,
    Battery { switch: bool },
    Backup { link: bool },
    More,
}

/// What is behind an inverter.
#[derive(Debug)]
pub(super) struct Item {
    pub(super) kind: ItemKind,
    /// Input of the inverter that it is on; empty where it isn't recorded.
    pub(super) input: String,
    pub(super) lines: Vec<String>,
}

impl Item {
    pub(super) fn height(&self) -> f64 {
        let words = PITCH * count(self.lines.len()) + 1.8;
        match self.kind {
            ItemKind::Backup { link: true } => words.max(13.0),
            _ => words.max(6.5),
        }
    }

    /// From its top to its conductor.
    pub(super) fn middle(&self) -> f64 {
        match self.kind {
            ItemKind::Backup { link: true } => 3.2,
            _ => self.height() / 2.0,
        }
    }
}

impl Unit {
    pub(super) fn height(&self) -> f64 {
        let items: f64 = self.items.iter().map(Item::height).sum();
        (PITCH * count(self.lines.len()) + 2.6).max(8.0).max(items)
    }
}

/// Room between the boxes of one way, in mm.
pub(super) const APART: f64 = 1.6;
/// From the top of a box to the conductor that comes to it, in mm.
pub(super) const BOX_TOP: f64 = 4.0;

impl Way {
    /// Room above its conductor for the words on it, and for what it leads to, in mm.
    fn above(&self) -> (f64, f64) {
        let words = self.devices.above.len().max(self.cable.len());
        let words = (PITCH * count(words) + 1.8).max(2.2);
        match &self.end {
            End::Sources(_) => (words, BOX_TOP + APART),
            End::Surge => (words, 0.0),
            End::Words(lines) => (words, PITCH * count(lines.len()) / 2.0 + 0.6),
        }
    }

    /// The same below it.
    fn below(&self) -> (f64, f64) {
        let words = self.devices.below.len().max(self.name.len());
        let words = (PITCH * count(words) + 1.8).max(2.2);
        match &self.end {
            End::Sources(units) => {
                let boxes: f64 = units.iter().map(|u| u.height() + APART).sum();
                (words, boxes - BOX_TOP - APART)
            }
            End::Surge => (4.0, 0.0),
            End::Words(lines) => (words, PITCH * count(lines.len()) / 2.0 + 0.6),
        }
    }
}

/// Puts ways below one another, each as near to the one above it as words and boxes allow.
#[derive(Debug, Default)]
pub(super) struct Stack {
    words: f64,
    boxes: f64,
}

impl Stack {
    /// Where the conductor of the next way lies, in mm from the top.
    pub(super) fn next(&mut self, way: &Way) -> f64 {
        let (words, boxes) = way.above();
        let y = (self.words + words).max(self.boxes + boxes);
        let (words, boxes) = way.below();
        self.words = y + words;
        self.boxes = y + boxes;
        y
    }

    /// Height of all of them so far, in mm.
    pub(super) fn height(&self) -> f64 {
        self.words.max(self.boxes)
    }
}

/// A way to the left of a busbar, to other boards.
#[derive(Debug)]
pub(super) struct Feeder {
    pub(super) devices: Devices,
    pub(super) name: Vec<String>,
    pub(super) cable: Vec<String>,
    pub(super) three: bool,
    /// Panels of the boards that it feeds.
    pub(super) to: Vec<usize>,
}

impl Feeder {
    pub(super) fn above(&self) -> f64 {
        PITCH * count(self.devices.above.len().max(self.name.len())) + 1.8
    }

    /// With a line for each board that may be on another sheet.
    pub(super) fn below(&self) -> f64 {
        let outside = self.cable.len() + self.to.len();
        PITCH * count(self.devices.below.len().max(outside)) + 1.8
    }
}

/// A row at the main earthing terminal.
#[derive(Debug)]
pub(super) struct Bonded {
    pub(super) main: bool,
    pub(super) lines: Vec<String>,
}

impl Bonded {
    pub(super) fn height(&self) -> f64 {
        PITCH * count(self.lines.len()) + 2.2
    }
}

/// What comes in at the top of a panel.
#[derive(Debug)]
pub(super) enum Top {
    Origin {
        three: bool,
        fuse: Vec<String>,
        meter: Vec<String>,
        transformer: bool,
        tails: Vec<String>,
        split: Vec<String>,
        earthing: Vec<String>,
        means: Vec<String>,
        electrode: bool,
    },
    Board {
        three: bool,
        from: Vec<String>,
        /// Panel that feeds it.
        feeding: Option<usize>,
        residual: bool,
        below: Vec<String>,
    },
}

impl Top {
    /// Room above the conductor that comes in, and below it, in mm.
    pub(super) fn room(&self) -> (f64, f64) {
        match self {
            Top::Origin { fuse, meter, .. } => {
                let words = fuse.len().max(meter.len()).max(2);
                (5.0, 4.2 + PITCH * count(words))
            }
            Top::Board { from, below, .. } => (
                PITCH * count(from.len()) + 1.8,
                // A line for the sheet that it comes from.
                PITCH * count(below.len().max(1)) + 1.8,
            ),
        }
    }
}

/// A board, or the origin.
#[derive(Debug)]
pub(super) struct Panel {
    pub(super) bold: Vec<String>,
    pub(super) head: Vec<String>,
    pub(super) again: Vec<String>,
    /// Anchor of its schedule.
    pub(super) schedule: Option<String>,
    /// What others call it.
    pub(super) called: String,
    pub(super) top: Top,
    pub(super) left: Vec<Feeder>,
    pub(super) right: Vec<Way>,
    pub(super) bonds: Vec<Bonded>,
}

impl Panel {
    /// How far to the right the words under the head start, where they fit beside it, in mm.
    pub(super) fn head_beside(&self) -> Option<f64> {
        let ([bold], [line]) = (&self.bold[..], &self.head[..]) else {
            return None;
        };
        let from = width(bold, TEXT, Weight::Bold) + 3.0;
        (from + width(line, TEXT, Weight::Regular) <= HEAD).then_some(from)
    }
}

/// Everything that is drawn, with what the record lacks.
#[derive(Debug)]
pub(super) struct Panels {
    pub(super) all: Vec<Panel>,
    pub(super) missing: Vec<String>,
    pub(super) cut: bool,
}
