//! Which panel goes on which sheet, and which lines join panels of one sheet.

use std::collections::HashMap;
use std::ops::Range;

use crate::paper::content::canvas::{PITCH, TALLEST, count};

use super::parts::{Panel, Stack, Top, Way};

/// Room between panels, in mm.
const GAP: f64 = 3.0;
/// Room around what stands in an enclosure, in mm.
pub(super) const PAD: f64 = 1.4;
/// A panel isn't begun in less room than this, in mm.
const LEAST: f64 = 55.0;
/// Most lines that run down beside the panels.
const MOST_LANES: usize = 5;
/// Where the innermost of them runs, and how far they are apart, in mm.
const INNERMOST: f64 = 13.0;
const LANE: f64 = 3.0;

/// A panel, or as much of it as a sheet holds.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) panel: usize,
    /// Top of its head on the sheet, in mm.
    pub(super) y: f64,
    pub(super) head: f64,
    /// Bottom of it all.
    pub(super) bottom: f64,
    pub(super) first: bool,
    pub(super) last: bool,
    pub(super) left: Range<usize>,
    pub(super) right: Range<usize>,
    pub(super) bonds: Range<usize>,
}

impl Part {
    /// Top of what stands below the head.
    pub(super) fn body(&self) -> f64 {
        self.y + self.head + PAD
    }
}

/// A line from a feeder to a board on the same sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lane {
    pub(super) x: f64,
}

/// Everything in its place.
#[derive(Debug, Default)]
pub(super) struct Sheets {
    pub(super) all: Vec<Vec<Part>>,
    /// The sheet that each panel begins on.
    pub(super) of: Vec<usize>,
    /// Lines by the feeding panel, its feeder and the fed panel.
    pub(super) lanes: HashMap<(usize, usize, usize), Lane>,
    /// The same by the fed panel.
    pub(super) into: HashMap<usize, Lane>,
}

fn head(panel: &Panel, first: bool) -> f64 {
    let lines = if first {
        let lines = panel.bold.len() + panel.head.len();
        lines - usize::from(panel.head_beside().is_some())
    } else {
        panel.again.len()
    };
    PITCH * count(lines) + 0.8
}

/// Height of the conductor that comes in, with its words; a rest of a panel has none.
pub(super) fn top(panel: &Panel, first: bool) -> f64 {
    if !first {
        return 2.0;
    }
    let (above, below) = panel.top.room();
    above + below
}

/// Height that the earthing takes beside the rows of bonds.
fn earthing(panel: &Panel) -> f64 {
    match &panel.top {
        Top::Origin {
            earthing, means, ..
        } => PITCH * count(earthing.len() + means.len()) + 14.0,
        Top::Board { .. } => 0.0,
    }
}

fn taken(heights: impl Iterator<Item = f64>, from: usize, room: f64) -> (usize, f64) {
    let mut used = 0.0;
    let mut at = from;
    for h in heights.skip(from) {
        // One at least, or it would never end.
        if used + h > room && at > from {
            break;
        }
        used += h;
        at += 1;
        if used > room {
            break;
        }
    }
    (at, used)
}

/// How many ways from one on fit a room, at least one, and their height.
fn stacked(ways: &[Way], from: usize, room: f64) -> (usize, f64) {
    let mut stack = Stack::default();
    let mut used = 0.0;
    let mut at = from;
    for way in ways.iter().skip(from) {
        stack.next(way);
        if stack.height() > room && at > from {
            break;
        }
        used = stack.height();
        at += 1;
    }
    (at, used)
}

/// Puts the panels on sheets, one after the other.
pub(super) fn sheets(panels: &[Panel]) -> Sheets {
    let mut out = Sheets {
        all: vec![Vec::new()],
        of: vec![0; panels.len()],
        ..Sheets::default()
    };
    let mut y = 0.0;
    for (p, panel) in panels.iter().enumerate() {
        let (mut left, mut right, mut bonds) = (0, 0, 0);
        let mut first = true;
        loop {
            let head = head(panel, first);
            let top = top(panel, first);
            let around = head + 2.0 * PAD;
            let lefts = || panel.left.iter().map(|f| f.above() + f.below());
            let bonded = || panel.bonds.iter().map(|b| b.height());
            let bond_top = if first { 8.0 } else { 2.0 };
            let rest = (top + lefts().skip(left).sum::<f64>())
                .max(stacked(&panel.right, right, f64::INFINITY).1)
                .max(bond_top + bonded().skip(bonds).sum::<f64>())
                .max(if first { earthing(panel) } else { 0.0 });
            let fits = |from: f64| from + around + rest <= TALLEST;
            let next_row = stacked(&panel.right, right, 0.0)
                .1
                .max(top + lefts().nth(left).unwrap_or(0.0));
            let turn =
                y > 0.0 && !fits(y) && (fits(0.0) || TALLEST - y < LEAST.max(around + next_row));
            if turn {
                out.all.push(Vec::new());
                y = 0.0;
            }
            let room = TALLEST - y - around;
            let (to_left, tall_left) = taken(lefts(), left, room - top);
            let (to_right, tall_right) = stacked(&panel.right, right, room);
            let (to_bonds, tall_bonds) = taken(bonded(), bonds, room - bond_top);
            let tall = (top + tall_left)
                .max(tall_right)
                .max(bond_top + tall_bonds)
                .max(if first { earthing(panel) } else { 0.0 });
            let last = to_left == panel.left.len()
                && to_right == panel.right.len()
                && to_bonds == panel.bonds.len();
            let sheet = out.all.len() - 1;
            if first && let Some(of) = out.of.get_mut(p) {
                *of = sheet;
            }
            let bottom = y + around + tall;
            if let Some(on) = out.all.last_mut() {
                on.push(Part {
                    panel: p,
                    y,
                    head,
                    bottom,
                    first,
                    last,
                    left: left..to_left,
                    right: right..to_right,
                    bonds: bonds..to_bonds,
                });
            }
            (left, right, bonds) = (to_left, to_right, to_bonds);
            first = false;
            y = bottom + GAP;
            if last {
                break;
            }
            out.all.push(Vec::new());
            y = 0.0;
        }
    }
    for sheet in 0..out.all.len() {
        join(panels, &mut out, sheet);
    }
    out
}

/// Where the conductors of the feeders of a part lie: the feeder and its height on the sheet.
pub(super) fn feeders(panel: &Panel, part: &Part) -> Vec<(usize, f64)> {
    let mut y = part.body() + top(panel, part.first);
    let mut out = Vec::new();
    for at in part.left.clone() {
        let Some(f) = panel.left.get(at) else { break };
        y += f.above();
        out.push((at, y));
        y += f.below();
    }
    out
}

/// Height on the sheet at which a panel is fed.
pub(super) fn incoming(panel: &Panel, part: &Part) -> f64 {
    part.body() + panel.top.room().0
}

struct Join {
    from: (usize, usize, usize),
    start: f64,
    end: f64,
    depth: usize,
}

fn join(panels: &[Panel], out: &mut Sheets, sheet: usize) {
    let Some(parts) = out.all.get(sheet) else {
        return;
    };
    let mut fed: HashMap<usize, f64> = HashMap::new();
    for part in parts.iter().filter(|p| p.first) {
        if let Some(panel) = panels.get(part.panel) {
            fed.insert(part.panel, incoming(panel, part));
        }
    }
    let mut joins = Vec::new();
    for part in parts {
        let Some(panel) = panels.get(part.panel) else {
            continue;
        };
        for (at, start) in feeders(panel, part) {
            for to in panel.left.get(at).map_or(&[][..], |f| &f.to[..]) {
                if let Some(end) = fed.get(to).copied().filter(|end| *end > start) {
                    joins.push(Join {
                        from: (part.panel, at, *to),
                        start,
                        end,
                        depth: 0,
                    });
                }
            }
        }
    }
    joins.sort_by(|a, b| (a.end - a.start).total_cmp(&(b.end - b.start)));
    let mut done: Vec<Join> = Vec::new();
    for mut join in joins {
        // Further out than everything it goes around.
        let inside = done
            .iter()
            .filter(|d| d.start < join.end && d.end > join.start);
        join.depth = inside.map(|d| d.depth + 1).max().unwrap_or(0);
        if join.depth < MOST_LANES {
            let lane = Lane {
                x: INNERMOST - LANE * count(join.depth),
            };
            out.lanes.insert(join.from, lane);
            out.into.insert(join.from.2, lane);
            done.push(join);
        }
    }
}
