//! Draws the parts of a sheet.

use crate::paper::content::canvas::{Canvas, PITCH, TEXT, count};
use crate::paper::measure::width;
use crate::paper::page::{Area, Weight};

use super::parts::{
    APART, BOX_TOP, Bonded, Devices, End, Feeder, Item, ItemKind, Panel, Stack, Top, Unit, Way,
};
use super::sheets::{Lane, PAD, Part, Sheets, feeders, incoming, top};
use super::symbols::{self, DEVICE, Opens};

/// Where things stand from left to right, in mm.
const LEFT: f64 = 17.0;
/// Where a conductor ends that goes on on another sheet.
const FLAG: f64 = 14.4;
const ENCLOSURE: f64 = 50.0;
const INCOMING: f64 = 56.0;
/// Where the words at devices left of the busbar start.
const INSIDE_WORDS: f64 = 56.0;
const BUS: f64 = 82.0;
const RIGHT_DEVICE: f64 = 88.0;
const ENCLOSURE_END: f64 = 118.0;
const CABLE: f64 = 120.0;
const JOIN: f64 = 151.5;
const BOX: f64 = 161.0;
const BOX_END: f64 = 208.5;
const DC_DEVICE: f64 = 209.5;
const DC_JOIN: f64 = 217.0;
const ITEM: f64 = 220.0;
const ITEM_WORDS: f64 = 229.0;
const TERMINAL: f64 = 150.0;

/// Everything a sheet shows.
pub(super) struct Drawer<'p> {
    pub(super) panels: &'p [Panel],
    pub(super) sheets: &'p Sheets,
    pub(super) canvas: Canvas,
}

/// The anchor of a sheet, from 0.
pub(super) fn anchor(sheet: usize) -> String {
    format!("diagram-{}", sheet + 1)
}

impl Drawer<'_> {
    /// The parts of a sheet, from 0.
    pub(super) fn sheet(&mut self, sheet: usize) {
        for part in self.sheets.all.get(sheet).into_iter().flatten() {
            if let Some(panel) = self.panels.get(part.panel) {
                self.part(panel, part, sheet);
            }
        }
    }

    fn part(&mut self, panel: &Panel, part: &Part, sheet: usize) {
        self.head(panel, part);
        let (mut from, mut to) = (f64::MAX, 0.0_f64);
        let mut reach = |y: f64| {
            from = from.min(y);
            to = to.max(y);
        };
        if part.first {
            let y = incoming(panel, part);
            reach(y);
            match &panel.top {
                Top::Origin { .. } => self.origin(panel, y),
                Top::Board { .. } => self.incomer(panel, part.panel, y, sheet),
            }
        } else {
            reach(part.body() + top(panel, false) / 2.0);
        }
        for (at, y) in feeders(panel, part) {
            reach(y);
            if let Some(f) = panel.left.get(at) {
                self.feeder(f, (part.panel, at), y, sheet);
            }
        }
        let mut stack = Stack::default();
        for way in part.right.clone().filter_map(|at| panel.right.get(at)) {
            let y = part.body() + stack.next(way);
            reach(y);
            self.way(way, y);
        }
        let is_board = matches!(panel.top, Top::Board { .. });
        if is_board {
            self.canvas
                .enclosure(ENCLOSURE, part.body() - PAD, ENCLOSURE_END, part.bottom);
        }
        if to > from {
            self.canvas.bar((BUS, from), (BUS, to));
        }
        if !part.last && to < part.bottom - 1.0 {
            self.canvas.dashes((BUS, to), (BUS, part.bottom));
        }
        if !is_board {
            self.earthing(panel, part);
        }
    }

    fn head(&mut self, panel: &Panel, part: &Part) {
        let mut y = part.y + 2.2;
        let bold = if part.first {
            &panel.bold
        } else {
            &panel.again
        };
        for line in bold {
            self.canvas.bold(LEFT, y, line.as_str());
            if let Some(anchor) = &panel.schedule {
                let area = Area {
                    x: LEFT,
                    y: y - 2.0,
                    width: width(line, TEXT, Weight::Bold),
                    height: PITCH,
                };
                self.canvas.link(area, anchor.clone());
            }
            y += PITCH;
        }
        if part.first {
            match panel.head_beside() {
                Some(right) => self.canvas.lines(LEFT + right, y - PITCH, &panel.head),
                None => self.canvas.lines(LEFT, y, &panel.head),
            }
        }
    }

    fn origin(&mut self, panel: &Panel, y: f64) {
        let Top::Origin {
            three,
            fuse,
            meter,
            transformer,
            tails,
            split,
            ..
        } = &panel.top
        else {
            return;
        };
        let c = &mut self.canvas;
        c.arrow((9.0, y), false);
        c.wire((1.0, y), (18.0, y));
        if *three {
            symbols::three_lines(c, 12.0, y);
        }
        symbols::device(c, Opens::Fuse, 18.0, y);
        c.lines(15.0, y + 4.6, fuse);
        c.wire((24.0, y), (38.0, y));
        c.frame(Area {
            x: 38.0,
            y: y - 2.6,
            width: 10.0,
            height: 5.2,
        });
        c.text_at(43.0, y + 0.8, "kWh");
        c.lines(34.0, y + 5.6, meter);
        if *transformer {
            c.wire((48.0, y), (59.0, y));
            symbols::transformer(c, 61.0, y);
            c.wire((63.0, y), (BUS, y));
            let words = [
                "current transformer".to_string(),
                "of the energy meter".into(),
            ];
            c.lines(60.0, y + 4.6, &words);
        } else {
            c.wire((48.0, y), (BUS, y));
        }
        c.above(65.0, y, tails);
        if !split.is_empty() {
            c.lines(BUS + 3.0, y + 0.8, split);
        }
    }

    fn earthing(&mut self, panel: &Panel, part: &Part) {
        let Top::Origin {
            earthing,
            means,
            electrode,
            ..
        } = &panel.top
        else {
            return;
        };
        let c = &mut self.canvas;
        let mut y = part.body() + 2.0;
        let start = y;
        let mut end = y;
        if part.first {
            c.bold(TERMINAL + 2.5, y + 0.8, "main earthing terminal");
            let at = y + PITCH * count(earthing.len()) + 1.6;
            c.above(CABLE, at, earthing);
            let x = CABLE + 4.0;
            c.wire((TERMINAL, at), (x, at));
            c.wire((x, at), (x, at + 2.0));
            symbols::earth(c, x, at + 2.0);
            if *electrode {
                c.wire((x, at + 3.4), (x, at + 5.0));
            }
            c.lines(CABLE, at + 7.4, means);
            end = at;
            y += 6.0;
        }
        for b in part.bonds.clone().filter_map(|at| panel.bonds.get(at)) {
            let Bonded { main, lines } = b;
            let at = y + b.height() / 2.0;
            if *main {
                c.wire((TERMINAL, at), (158.0, at));
                c.arrow((158.0, at), false);
                end = end.max(at);
            }
            let first = at - PITCH * count(lines.len().saturating_sub(1)) / 2.0 + 0.8;
            c.lines(161.0, first, lines);
            y += b.height();
        }
        if end > start {
            c.bar((TERMINAL, start), (TERMINAL, end));
        }
    }

    fn incomer(&mut self, panel: &Panel, at: usize, y: f64, sheet: usize) {
        let Top::Board {
            three,
            from,
            feeding,
            residual,
            below,
        } = &panel.top
        else {
            return;
        };
        let c = &mut self.canvas;
        c.above(LEFT, y, from);
        match self.sheets.into.get(&at) {
            Some(Lane { x }) => {
                c.wire((*x, y), (INCOMING, y));
            }
            None => {
                c.wire((FLAG - 0.4, y), (INCOMING, y));
                c.arrow((LEFT - 0.4, y), false);
                if let Some(from) = feeding {
                    let there = self.sheets.of.get(*from).copied().unwrap_or(0);
                    if there == sheet {
                        c.text(LEFT, y + 2.75, "on this sheet");
                    } else {
                        refer(c, y + 2.75, &format!("on sheet {}", there + 1), there);
                    }
                }
            }
        }
        if *three {
            symbols::three_lines(c, 52.5, y);
        }
        symbols::device(c, Opens::Switch, INCOMING, y);
        let mut x = INCOMING + DEVICE;
        if *residual {
            c.wire((x, y), (68.0, y));
            symbols::device(c, Opens::Residual, 68.0, y);
            x = 74.0;
        }
        c.wire((x, y), (BUS, y));
        c.below(INSIDE_WORDS, y, below);
    }

    fn feeder(&mut self, f: &Feeder, at: (usize, usize), y: f64, sheet: usize) {
        let c = &mut self.canvas;
        let mut x = BUS;
        if let Some(opens) = f.devices.opens {
            c.wire((BUS - 4.0, y), (x, y));
            symbols::device(c, opens, BUS - 4.0 - DEVICE, y);
            x = BUS - 4.0 - DEVICE;
            if f.devices.residual {
                symbols::device(c, Opens::Residual, x - DEVICE - 2.0, y);
                c.wire((x - 2.0, y), (x, y));
                x -= DEVICE + 2.0;
            }
        }
        if f.three {
            symbols::three_lines(c, 51.8, y);
        }
        c.above(INSIDE_WORDS, y, &f.devices.above);
        c.below(INSIDE_WORDS, y, &f.devices.below);
        c.above(LEFT, y, &f.name);
        c.below(LEFT, y, &f.cable);
        let mut end = FLAG;
        let mut flagged = false;
        let mut down = y + 2.75 + PITCH * count(f.cable.len());
        for to in &f.to {
            match self.sheets.lanes.get(&(at.0, at.1, *to)) {
                Some(lane) => {
                    let far = self.panels.get(*to).zip(
                        self.sheets
                            .all
                            .get(sheet)
                            .and_then(|parts| parts.iter().find(|p| p.panel == *to && p.first)),
                    );
                    if let Some((panel, part)) = far {
                        c.wire((lane.x, y), (lane.x, incoming(panel, part)));
                        if f.to.len() > 1 {
                            c.joint((lane.x, y));
                        }
                    }
                    end = end.min(lane.x);
                }
                None => {
                    flagged = true;
                    let there = self.sheets.of.get(*to).copied().unwrap_or(0);
                    let name = self.panels.get(*to).map_or("", |p| p.called.as_str());
                    refer(c, down, &format!("to {name}, sheet {}", there + 1), there);
                    down += PITCH;
                }
            }
        }
        c.wire((end, y), (x, y));
        if flagged && end >= FLAG {
            c.arrow((FLAG, y), true);
        }
    }

    fn way(&mut self, way: &Way, y: f64) {
        let c = &mut self.canvas;
        if matches!(way.end, End::Surge) {
            c.wire((BUS, y), (RIGHT_DEVICE, y));
            symbols::surge(c, RIGHT_DEVICE, y);
            c.text(RIGHT_DEVICE + 12.0, y + 0.8, "SPD");
            return;
        }
        let mut x = BUS;
        let Devices {
            opens,
            residual,
            above,
            below,
        } = &way.devices;
        if let Some(opens) = opens {
            c.wire((x, y), (RIGHT_DEVICE, y));
            symbols::device(c, *opens, RIGHT_DEVICE, y);
            x = RIGHT_DEVICE + DEVICE;
            if *residual {
                c.wire((x, y), (x + 2.0, y));
                symbols::device(c, Opens::Residual, x + 2.0, y);
                x += DEVICE + 2.0;
            }
        }
        c.above(BUS + 3.0, y, above);
        c.below(BUS + 3.0, y, below);
        if way.three {
            symbols::three_lines(c, ENCLOSURE_END - 3.0, y);
        }
        c.above(CABLE, y, &way.cable);
        c.below(CABLE, y, &way.name);
        match &way.end {
            End::Surge => {}
            End::Words(lines) => {
                // Where no cable is drawn, the words stand nearer.
                let tip = JOIN;
                c.wire((x, y), (tip, y));
                c.arrow((tip, y), false);
                let first = y - PITCH * count(lines.len().saturating_sub(1)) / 2.0 + 0.8;
                c.lines(tip + 3.0, first, lines);
            }
            End::Sources(units) => {
                c.wire((x, y), (JOIN, y));
                let mut down = y - BOX_TOP;
                let mut last = y;
                for unit in units {
                    last = down + BOX_TOP;
                    self.unit(unit, down);
                    down += unit.height() + APART;
                }
                if units.len() > 1 {
                    self.canvas.wire((JOIN, y), (JOIN, last));
                    self.canvas.joint((JOIN, y));
                }
            }
        }
    }

    fn unit(&mut self, unit: &Unit, from: f64) {
        let c = &mut self.canvas;
        let y = from + BOX_TOP;
        if unit.isolator {
            c.wire((JOIN, y), (154.5, y));
            symbols::device(c, Opens::Switch, 154.5, y);
            c.wire((154.5 + DEVICE, y), (BOX, y));
        } else {
            c.wire((JOIN, y), (BOX, y));
        }
        c.frame(Area {
            x: BOX,
            y: from,
            width: BOX_END - BOX,
            height: unit.height(),
        });
        let mut down = from + 3.0;
        for (at, line) in unit.lines.iter().enumerate() {
            if at < unit.bold {
                c.bold(BOX + 1.4, down, line.as_str());
            } else {
                c.text(BOX + 1.4, down, line.as_str());
            }
            down += PITCH;
        }
        if unit.converts {
            symbols::converter(c, BOX_END - 6.6, from + 1.0);
        }
        let mut top = from;
        // Where each input of the inverter leaves it, with where the last string joined to it comes in.
        let mut inputs: Vec<(&str, f64, f64)> = Vec::new();
        for item in &unit.items {
            let y = top + item.middle();
            item_at(c, item, y);
            match item.kind {
                ItemKind::Modules | ItemKind::More => {
                    c.wire((DC_JOIN, y), (ITEM, y));
                    match inputs.last_mut() {
                        // Strings of one input are in parallel; those of unknown ones are not drawn so.
                        Some((input, _, last)) if !input.is_empty() && *input == item.input => {
                            *last = y;
                        }
                        _ => inputs.push((&item.input, y, y)),
                    }
                }
                ItemKind::Battery { switch: true } => {
                    c.wire((BOX_END, y), (DC_DEVICE, y));
                    symbols::device(c, Opens::Switch, DC_DEVICE, y);
                    c.wire((DC_DEVICE + DEVICE, y), (ITEM, y));
                }
                ItemKind::Battery { switch: false } => c.wire((BOX_END, y), (ITEM, y)),
                ItemKind::Backup { .. } => c.wire((BOX_END, y), (ITEM, y)),
            }
            top += item.height();
        }
        for (_, y, last) in &inputs {
            if unit.dc_isolator {
                c.wire((BOX_END, *y), (DC_DEVICE, *y));
                symbols::device(c, Opens::Switch, DC_DEVICE, *y);
                c.wire((DC_DEVICE + DEVICE, *y), (DC_JOIN, *y));
            } else {
                c.wire((BOX_END, *y), (DC_JOIN, *y));
            }
            if last > y {
                c.wire((DC_JOIN, *y), (DC_JOIN, *last));
            }
        }
        // One isolator opens them all.
        if let (true, Some((_, from, _)), Some((_, to, _))) =
            (unit.dc_isolator, inputs.first(), inputs.last())
        {
            c.dashes((DC_DEVICE + 3.0, *from - 0.4), (DC_DEVICE + 3.0, *to - 0.4));
        }
    }
}

fn item_at(c: &mut Canvas, item: &Item, y: f64) {
    match item.kind {
        ItemKind::Modules => symbols::modules(c, ITEM, y),
        ItemKind::Battery { .. } => symbols::battery(c, ITEM, y),
        ItemKind::More => c.arrow((ITEM, y), false),
        ItemKind::Backup { link } => {
            c.wire((ITEM, y), (ITEM + 7.0, y));
            c.arrow((ITEM + 7.0, y), false);
            if link {
                symbols::link_to_earth(c, ITEM + 2.5, y);
            }
        }
    }
    let first = match item.kind {
        ItemKind::Backup { link: true } => y + 0.6,
        _ => y - PITCH * count(item.lines.len().saturating_sub(1)) / 2.0 + 0.8,
    };
    c.lines(ITEM_WORDS, first, &item.lines);
}

/// Words that lead to another sheet.
fn refer(c: &mut Canvas, y: f64, words: &str, sheet: usize) {
    c.text(LEFT, y, words);
    let area = Area {
        x: LEFT,
        y: y - 2.0,
        width: width(words, TEXT, Weight::Regular),
        height: PITCH,
    };
    c.link(area, anchor(sheet));
}
