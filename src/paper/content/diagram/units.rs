//! Inverters and what hangs on them, in words.

use rust_decimal::Decimal;

use crate::job::{Inverter, InverterKind, Job, Place, Storage, Test};
use crate::paper::content::storage::feeds;
use crate::paper::content::words::counted;
use crate::paper::page::Weight;

use super::panels::Maker;
use super::parts::{APART, AT_ITEM, IN_BOX, Item, ItemKind, Unit};
use super::tree::{Behind, Source};

/// Most strings drawn at one inverter, and the tallest that what is on one circuit may get, in mm; the rest is counted.
const MOST_ITEMS: usize = 12;
const TALLEST_WAY: f64 = 96.0;

impl<'a> Maker<'_, 'a> {
    fn job(&self) -> &'a Job {
        self.sheet.job
    }

    pub(super) fn units(&mut self, sources: &[Source<'a>]) -> Vec<Unit> {
        let mut out: Vec<Unit> = Vec::new();
        let mut tall = 0.0;
        for (at, source) in sources.iter().enumerate() {
            let unit =
                match source {
                    Source::Inverter(v, behind) => self.inverter(v, behind),
                    Source::Branch(array, branch, kind) => {
                        let modules = branch.units.len();
                        let mut lines = self.fit.set(
                            &format!("{}/{} {}", array.id, branch.id, branch.name.trim()),
                            IN_BOX,
                            2,
                            Weight::Bold,
                        );
                        let bold = lines.len();
                        let mut about = vec![match kind {
                            Some(v) => match v.make.trim() {
                                "" => counted(modules, "micro-inverter"),
                                make => format!("{}, {make}", counted(modules, "micro-inverter")),
                            },
                            None => counted(modules, "micro-inverter"),
                        }];
                        about.extend(kind.map(|v| {
                            format!("{} A each, {}", v.rated_a.normalize(), v.phases.name())
                        }));
                        about.extend(branch.trunk.as_ref().map(|trunk| {
                            format!(
                                "trunk {} mm², {} m apart",
                                trunk.line_mm2.normalize(),
                                trunk.spacing_m.normalize()
                            )
                        }));
                        lines.extend(self.fit.lines(&about.join("; "), IN_BOX, 4));
                        if let Some(v) = kind {
                            lines.extend(self.isolator("a.c. isolator", &v.ac_isolator, &v.id));
                        }
                        let each = format!(
                            "{}, one at each, {} W",
                            counted(modules, "module"),
                            array.module.power_w.normalize()
                        );
                        Unit {
                            isolator: kind.is_some_and(|v| !v.ac_isolator.trim().is_empty()),
                            lines,
                            bold,
                            converts: true,
                            dc_isolator: false,
                            items: vec![Item {
                                kind: ItemKind::Modules,
                                input: String::new(),
                                lines: self.fit.lines(&each, AT_ITEM, 2),
                            }],
                        }
                    }
                };
            if !out.is_empty() && tall + unit.height() > TALLEST_WAY {
                let more = sources.len() - at;
                out.push(Unit {
                    isolator: false,
                    lines: self.fit.lines(
                        &format!(
                            "and {more} more on this circuit, as in the reports of the arrays"
                        ),
                        IN_BOX,
                        3,
                    ),
                    bold: 0,
                    converts: false,
                    dc_isolator: false,
                    items: Vec::new(),
                });
                break;
            }
            tall += unit.height() + APART;
            out.push(unit);
        }
        out
    }

    fn isolator(&mut self, what: &str, text: &str, of: &str) -> Vec<String> {
        match text.trim() {
            "" => {
                let words = format!("{what} of {of}");
                if !self.missing.contains(&words) {
                    self.missing.push(words);
                }
                Vec::new()
            }
            text => self.fit.lines(&format!("{what}: {text}"), IN_BOX, 4),
        }
    }

    fn inverter(&mut self, v: &'a Inverter, behind: &[Behind<'a>]) -> Unit {
        let has_strings = behind.iter().any(|b| matches!(b, Behind::Modules(..)));
        let mut lines = self.fit.set(
            &format!("{} {}", v.id, v.kind.name()),
            IN_BOX,
            2,
            Weight::Bold,
        );
        let bold = lines.len();
        let rated = format!("{} A, {}", v.rated_a.normalize(), v.phases.name());
        let about = [v.make.trim(), &rated, v.location.trim()];
        let about: Vec<&str> = about.into_iter().filter(|t| !t.is_empty()).collect();
        let about = about.join("; ");
        lines.extend(self.fit.lines(&about, IN_BOX, 3));
        lines.extend(self.isolator("a.c. isolator", &v.ac_isolator, &v.id));
        let pv = has_strings || matches!(v.kind, InverterKind::String | InverterKind::Hybrid);
        if pv {
            lines.extend(self.isolator("d.c. isolator", &v.dc_isolator, &v.id));
        }
        let mut items = Vec::new();
        let strings = behind
            .iter()
            .filter(|b| matches!(b, Behind::Modules(..)))
            .count();
        let mut drawn = 0;
        let mut left_out = 0;
        for b in by_input(behind) {
            match b {
                Behind::Modules(array, s) if drawn < MOST_ITEMS || strings == MOST_ITEMS + 1 => {
                    drawn += 1;
                    let mut said = self.fit.lines(
                        &format!("{}/{} {}", array.id, s.id, s.name.trim()),
                        AT_ITEM,
                        2,
                    );
                    let mut more = vec![format!(
                        "{}, {} W",
                        counted(s.modules.len(), "module"),
                        array.module.power_w.normalize()
                    )];
                    if !s.input.trim().is_empty() {
                        more.push(format!("input {}", s.input.trim()));
                    }
                    more.extend(s.fuse_a.map(|a| format!("fuse {} A", a.normalize())));
                    said.extend(self.fit.lines(&more.join(", "), AT_ITEM, 2));
                    items.push(Item {
                        kind: ItemKind::Modules,
                        input: s.input.trim().to_string(),
                        lines: said,
                    });
                }
                Behind::Modules(_, s) => left_out += s.modules.len(),
                Behind::Battery(_) => {}
            }
        }
        if left_out > 0 {
            let more = format!(
                "and {} with {} as in the array report",
                counted(strings - drawn, "more string"),
                counted(left_out, "module")
            );
            items.push(Item {
                kind: ItemKind::More,
                input: String::new(),
                lines: self.fit.lines(&more, AT_ITEM, 2),
            });
        }
        for b in behind {
            if let Behind::Battery(s) = b {
                items.extend(self.battery(s));
            }
        }
        Unit {
            isolator: !v.ac_isolator.trim().is_empty(),
            lines,
            bold,
            converts: true,
            dc_isolator: pv && !v.dc_isolator.trim().is_empty(),
            items,
        }
    }

    fn battery(&mut self, s: &'a Storage) -> Vec<Item> {
        let mut lines = self
            .fit
            .lines(&format!("{} {}", s.id, s.make.trim()), AT_ITEM, 2);
        let all = s.usable_kwh.saturating_mul(Decimal::from(s.modules));
        lines.extend(self.fit.lines(
            &format!(
                "{}, {} kWh usable",
                counted(s.modules.into(), "module"),
                all.normalize()
            ),
            AT_ITEM,
            2,
        ));
        lines.extend(self.fit.lines(
            &format!(
                "{} to {} V d.c.",
                s.dc_min_v.normalize(),
                s.dc_max_v.normalize()
            ),
            AT_ITEM,
            2,
        ));
        match s.isolator.trim() {
            "" => self.missing.push(format!("switch of storage {}", s.id)),
            own => lines.extend(self.fit.lines(&format!("switch: {own}"), AT_ITEM, 3)),
        }
        let mut out = vec![Item {
            kind: ItemKind::Battery {
                switch: !s.isolator.trim().is_empty(),
            },
            input: String::new(),
            lines,
        }];
        if s.backup {
            let read = |m: &Self, test| m.value(&Place::of(&s.id, test));
            let mut lines = vec!["backup output".to_string()];
            let (grid, island) = (read(self, Test::NeGrid), read(self, Test::NeIsland));
            let link = grid.is_some() || island.is_some();
            if link {
                for (state, read) in [("open on grid", grid), ("closed islanded", island)] {
                    let words = match read {
                        Some(read) => format!("N-E link {state}: {read}"),
                        None => format!("N-E link {state}: not yet taken"),
                    };
                    lines.extend(self.fit.lines(&words, AT_ITEM, 2));
                }
            } else {
                self.missing.push(format!(
                    "link of neutral and earth of the backup output of {}",
                    s.id
                ));
            }
            match read(self, Test::Ra) {
                Some(ohm) => lines.push(format!("electrode RA {ohm}")),
                None => self
                    .missing
                    .push(format!("electrode of the backup output of {}", s.id)),
            }
            match feeds(self.job(), s).as_str() {
                "" => self
                    .missing
                    .push(format!("what the backup output of {} feeds", s.id)),
                words => lines.extend(self.fit.lines(&format!("feeds {words}"), AT_ITEM, 3)),
            }
            out.push(Item {
                kind: ItemKind::Backup { link },
                input: String::new(),
                lines,
            });
        }
        out
    }
}

/// Strings of one input beside each other, in the order in which inputs are first named.
fn by_input<'b, 'a>(behind: &'b [Behind<'a>]) -> Vec<&'b Behind<'a>> {
    let mut inputs: Vec<&str> = Vec::new();
    let mut out: Vec<(usize, &Behind<'a>)> = Vec::new();
    for b in behind {
        let input = match b {
            Behind::Modules(_, s) => s.input.trim(),
            Behind::Battery(_) => "",
        };
        let known = inputs.iter().position(|i| !input.is_empty() && *i == input);
        let at = known.unwrap_or(inputs.len());
        if known.is_none() {
            inputs.push(input);
        }
        out.push((at, b));
    }
    out.sort_by_key(|(at, _)| *at);
    out.into_iter().map(|(_, b)| b).collect()
}
