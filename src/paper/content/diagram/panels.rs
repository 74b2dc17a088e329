//! What stands at each board and at the origin.

use crate::job::{
    Cable, Circuit, CircuitKind, Cpc, Device, DeviceStandard, Earthing, Lines, Phases, Place, Rcd,
    Test,
};
use crate::paper::content::canvas::Fitter;
use crate::paper::content::sheet::Sheet;
use crate::paper::content::words::{self, counted};
use crate::paper::page::Weight;

use super::parts::{
    AT_CABLE, AT_DEVICE, AT_LOADS, Bonded, Devices, End, Feeder, HEAD, INSIDE, OUTSIDE, Panel,
    Panels, Top, Way,
};
use super::symbols::Opens;
use super::tree::{Fed, Node, Tree};

/// Puts the record into words, and notes what it lacks.
pub(super) struct Maker<'s, 'a> {
    pub(super) sheet: &'s Sheet<'a>,
    pub(super) fit: Fitter,
    pub(super) missing: Vec<String>,
}

/// The origin first, then the boards from there outwards.
pub(super) fn panels(sheet: &Sheet<'_>) -> Panels {
    let mut m = Maker {
        sheet,
        fit: Fitter::default(),
        missing: Vec::new(),
    };
    let tree = Tree::of(sheet.job);
    let mut all = vec![m.origin(&tree)];
    all.extend(
        tree.boards
            .iter()
            .map(|node| m.board(&tree, node))
            .collect::<Vec<_>>(),
    );
    m.missing.extend(
        tree.loose
            .iter()
            .map(|what| format!("where {what} is connected")),
    );
    let known = sheet.job.grid.existing.iter();
    m.missing.extend(known.map(|e| {
        format!(
            "where what was there before is connected ({})",
            e.what.trim()
        )
    }));
    Panels {
        all,
        missing: m.missing,
        cut: m.fit.cut,
    }
}

impl<'a> Maker<'_, 'a> {
    fn origin(&mut self, tree: &Tree<'a>) -> Panel {
        let job = self.sheet.job;
        let s = &job.supply;
        let roots: Vec<usize> = tree
            .boards
            .iter()
            .enumerate()
            .filter(|(_, n)| n.fed == Fed::Origin)
            .map(|(at, _)| at)
            .collect();
        let number = job.grid.meter_number.trim();
        let mut meter = vec!["meter".to_string()];
        if number.is_empty() {
            self.missing.push("supply number".into());
        } else {
            meter.push("supply number".into());
            meter.extend(self.fit.lines(number, 24.0, 3));
        }
        let tails = match s.tails_mm2 {
            Some(mm2) => vec![format!("tails {} mm²", mm2.normalize())],
            None => {
                self.missing.push("size of the tails".into());
                Vec::new()
            }
        };
        let split = if roots.len() > 1 {
            self.fit
                .lines(&format!("tails split to {} boards", roots.len()), INSIDE, 2)
        } else {
            Vec::new()
        };
        let means = match s.earthing {
            Earthing::TnS => "distributor's earth, separate from neutral (TN-S)".to_string(),
            Earthing::TnCS => "distributor's earth, combined with neutral (TN-C-S)".to_string(),
            Earthing::Tt => "installation's own earth electrode (TT)".to_string(),
        };
        let mut means = self.fit.lines(&means, OUTSIDE - 2.0, 3);
        let electrode = s.electrode.trim();
        if electrode.is_empty() {
            if s.earthing == Earthing::Tt {
                self.missing.push("earth electrode".into());
            }
        } else {
            means.extend(
                self.fit
                    .lines(&format!("electrode: {electrode}"), OUTSIDE - 2.0, 6),
            );
        }
        if let Some(ohm) = self.value(&Place::of("supply", Test::Ra)) {
            means.push(format!("RA {ohm}"));
        }
        let bonds: Vec<Bonded> = job
            .bonds
            .iter()
            .map(|b| {
                let kind = if b.supplementary {
                    "supplementary bond: "
                } else {
                    ""
                };
                let long = b
                    .length_m
                    .map_or(String::new(), |m| format!(", {} m", m.normalize()));
                let words = format!("{kind}{}, {} mm²{long}", b.to.trim(), b.mm2.normalize());
                Bonded {
                    main: !b.supplementary,
                    lines: self.fit.lines(&words, AT_LOADS - 6.0, 2),
                }
            })
            .collect();
        let operator = match job.grid.operator.trim() {
            "" => String::new(),
            name => format!("; network operator {name}"),
        };
        let about = format!(
            "{}, {}, {} V to earth, {} Hz{operator}; main switch: {}",
            s.earthing.name(),
            s.phases.name(),
            s.u0_v.normalize(),
            s.frequency_hz.normalize(),
            words::or_dash(&s.main_switch)
        );
        // The lowest row goes to the first board, so that no line crosses another.
        let left = roots
            .iter()
            .rev()
            .map(|at| {
                let board = tree.boards.get(*at).map(|n| n.board);
                let name = board.map_or(String::new(), |b| format!("to {} {}", b.id, b.name));
                Feeder {
                    devices: Devices::default(),
                    name: self.fit.lines(&name, OUTSIDE, 1),
                    cable: Vec::new(),
                    three: board.is_some_and(|b| b.phases == Phases::Three),
                    to: vec![at + 1],
                }
            })
            .collect();
        let transformer = [Test::CtIdle, Test::CtSurplus, Test::CtCharging]
            .into_iter()
            .any(|t| self.value(&Place::of("grid", t)).is_some());
        Panel {
            bold: vec!["Supply and origin".into()],
            head: self.fit.lines(&about, HEAD, 3),
            again: vec!["Supply and origin, continued".into()],
            schedule: None,
            called: "the origin".into(),
            top: Top::Origin {
                three: s.phases == Phases::Three,
                fuse: vec![
                    "cut-out".into(),
                    s.fuse_standard.name().into(),
                    format!("{} A", s.fuse_a.normalize()),
                ],
                meter,
                transformer,
                tails,
                split,
                earthing: vec![
                    "earthing conductor".into(),
                    format!("{} mm² copper", s.earthing_mm2.normalize()),
                ],
                means,
                electrode: s.earthing == Earthing::Tt,
            },
            left,
            right: Vec::new(),
            bonds,
        }
    }

    fn board(&mut self, tree: &Tree<'a>, node: &Node<'a>) -> Panel {
        let b = node.board;
        let job = self.sheet.job;
        let place = match b.location.trim() {
            "" => String::new(),
            place => format!(", {place}"),
        };
        let title = format!("{}  {}{place}, {}", b.id, b.name.trim(), b.phases.name());
        let mut about = Vec::new();
        if let Some(s) = job.backup_of(b) {
            about.push(format!(
                "stays live without the grid, by the backup output of {}",
                s.id
            ));
        }
        about.push(format!("main switch: {}", words::or_dash(&b.main_switch)));
        about.extend(
            b.board_a
                .map(|a| format!("assembly rated {} A", a.normalize())),
        );
        about.extend(
            b.conditional_ka
                .map(|ka| format!("{} kA conditional", ka.normalize())),
        );
        match (b.spd.trim(), b.no_spd.trim()) {
            ("", "") => {}
            ("", _) => about.push("no surge protective device".into()),
            (spd, _) => about.push(format!("SPD: {spd}")),
        }
        let (from, feeding) = match node.fed {
            Fed::Origin => ("from the origin".to_string(), Some(0)),
            Fed::Way(at, way) => {
                let from = tree.boards.get(at).map(|n| n.board);
                let id = from
                    .and_then(|b| b.circuits.get(way))
                    .map_or("", |c| c.id.as_str());
                let from = from.map_or("", |b| b.id.as_str());
                (format!("from board {from}, way {id}"), Some(at + 1))
            }
            Fed::Backup(at, way) => {
                let from = tree.boards.get(at).map(|n| n.board);
                let path = from.and_then(|b| Some(b.path(b.circuits.get(way)?)));
                let path = path.unwrap_or_default();
                let of = job.backup_on(&path).map_or("", |s| s.id.as_str());
                (
                    format!("from the backup output of {of}, whose inverter is on {path}"),
                    Some(at + 1),
                )
            }
            Fed::Unknown(path) => (format!("from {path}, which is not recorded"), None),
        };
        let rating = match (b.main_a, b.main_poles) {
            (None, None) => String::new(),
            (a, poles) => [
                a.map(|a| format!("{} A", a.normalize())),
                poles.map(|p| counted(p.into(), "pole")),
            ]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", "),
        };
        let mut below = self.fit.lines(&rating, INSIDE, 2);
        if let Some(rcd) = &b.rcd {
            below.extend(self.fit.lines(&residual(rcd), INSIDE, 2));
        }
        let mut right = Vec::new();
        if !b.spd.trim().is_empty() {
            right.push(Way {
                devices: Devices::default(),
                cable: Vec::new(),
                name: Vec::new(),
                three: false,
                end: End::Surge,
            });
        }
        right.extend(self.ways(tree, node));
        let left = node
            .feeds
            .iter()
            .rev()
            .filter_map(|(way, to)| {
                let c = b.circuits.get(*way)?;
                Some(Feeder {
                    devices: self.devices(b.phases, c, &b.id, INSIDE),
                    name: self.fit.lines(&c.name, OUTSIDE, 2),
                    cable: self.cable(c, &b.id, OUTSIDE),
                    three: c.lines == Lines::All && b.phases == Phases::Three,
                    to: to.iter().map(|at| at + 1).collect(),
                })
            })
            .collect();
        let bold = |fit: &mut Fitter, text: &str| fit.set(text, HEAD, 2, Weight::Bold);
        Panel {
            bold: bold(&mut self.fit, &title),
            head: self.fit.lines(&about.join("; "), HEAD, 3),
            again: bold(
                &mut self.fit,
                &format!("{}  {}, continued", b.id, b.name.trim()),
            ),
            schedule: Some(format!("board-{}", b.id)),
            called: format!("board {}", b.id),
            top: Top::Board {
                three: b.phases == Phases::Three,
                from: self.fit.lines(&from, OUTSIDE, 2),
                feeding,
                residual: b.rcd.is_some(),
                below,
            },
            left,
            right,
            bonds: Vec::new(),
        }
    }

    /// Loads in one line, then what feeds in, then sub-mains that no board was recorded on.
    fn ways(&mut self, tree: &Tree<'a>, node: &Node<'a>) -> Vec<Way> {
        let b = node.board;
        let mut loads: Vec<(usize, &Circuit)> = Vec::new();
        let mut spare = 0;
        let mut out = Vec::new();
        for (at, c) in b.circuits.iter().enumerate() {
            let sources = tree.sources.get(b.path(c).as_str());
            let feeds = node.feeds.contains_key(&at);
            let end = match (sources, c.kind) {
                (Some(sources), _) => End::Sources(self.units(sources)),
                (None, _) if feeds => continue,
                (None, CircuitKind::Source) => {
                    self.missing
                        .push(format!("what feeds into circuit {}/{}", b.id, c.id));
                    End::Words(self.fit.lines(
                        &format!("{}: source that is not recorded", c.name.trim()),
                        AT_LOADS,
                        2,
                    ))
                }
                (None, CircuitKind::Distribution) => End::Words(self.fit.lines(
                    &format!("{}: the board beyond is not in this record", c.name.trim()),
                    AT_LOADS,
                    2,
                )),
                (None, CircuitKind::Spare) => {
                    spare += 1;
                    continue;
                }
                (None, _) => {
                    loads.push((at, c));
                    continue;
                }
            };
            let named = matches!(end, End::Sources(_));
            out.push(Way {
                devices: if feeds {
                    Devices {
                        above: vec![format!("{}  as on the left", c.id)],
                        ..Devices::default()
                    }
                } else {
                    self.devices(b.phases, c, &b.id, AT_DEVICE)
                },
                cable: self.cable(c, &b.id, AT_CABLE),
                name: if named {
                    self.fit.lines(&c.name, AT_CABLE, 3)
                } else {
                    Vec::new()
                },
                three: c.lines == Lines::All && b.phases == Phases::Three,
                end,
            });
        }
        if !loads.is_empty() || spare > 0 {
            out.insert(0, self.loads(&loads, spare));
        }
        out
    }

    fn loads(&mut self, loads: &[(usize, &Circuit)], spare: usize) -> Way {
        let mut said = vec![match loads {
            [] => "no loads".to_string(),
            [(_, one)] => format!("1 load: {} {}", one.id, one.name.trim())
                .trim_end()
                .to_string(),
            _ => format!("{}: circuits {}", counted(loads.len(), "load"), runs(loads)),
        }];
        let mut devices: Vec<&Device> = loads
            .iter()
            .filter_map(|(_, c)| c.device.as_ref())
            .collect();
        devices.sort_by_key(|d| (d.rating_a, d.curve));
        match (devices.first(), devices.last()) {
            (Some(least), Some(most)) if rated(least) != rated(most) => {
                said.push(format!("{} to {}", rated(least), rated(most)));
            }
            (Some(one), _) => said.push(rated(one)),
            _ => {}
        }
        let own = loads.iter().filter(|(_, c)| c.rcd.is_some()).count();
        if own > 0 {
            said.push(format!("{own} with an RCD of their own"));
        }
        if spare > 0 {
            said.push(counted(spare, "spare way"));
        }
        let number = match loads.len() {
            0 | 1 => Vec::new(),
            n => vec![format!("× {n}")],
        };
        Way {
            devices: Devices {
                opens: devices.first().map(|d| opens(d)),
                residual: false,
                above: number,
                below: Vec::new(),
            },
            cable: Vec::new(),
            name: Vec::new(),
            three: false,
            end: End::Words(self.fit.lines(&said.join("; "), AT_LOADS, 4)),
        }
    }

    fn devices(&mut self, phases: Phases, c: &Circuit, board: &str, mm: f64) -> Devices {
        let Some(d) = &c.device else {
            self.missing
                .push(format!("device of circuit {board}/{}", c.id));
            return Devices {
                above: self.fit.lines(&c.id, mm, 1),
                ..Devices::default()
            };
        };
        let kind = if d.standard == DeviceStandard::BsEn61009 {
            " RCBO"
        } else {
            ""
        };
        let mut below = vec![counted(d.poles.into(), "pole")];
        if phases == Phases::Three && c.lines != Lines::All {
            below = vec![format!(
                "{}, {}",
                counted(d.poles.into(), "pole"),
                c.lines.name()
            )];
        }
        below.extend(
            c.rcd
                .iter()
                .flat_map(|rcd| self.fit.lines(&residual(rcd), mm, 2)),
        );
        Devices {
            opens: Some(opens(d)),
            residual: c.rcd.is_some(),
            above: self
                .fit
                .lines(&format!("{}  {}{kind}", c.id, rated(d)), mm, 2),
            below,
        }
    }

    fn cable(&mut self, c: &Circuit, board: &str, mm: f64) -> Vec<String> {
        let Some(cable) = &c.cable else {
            self.missing
                .push(format!("cable of circuit {board}/{}", c.id));
            return Vec::new();
        };
        if cable.length_m.is_none() {
            self.missing
                .push(format!("length of circuit {board}/{}", c.id));
        }
        let mut lines = self.fit.lines(&size(cable), mm, 2);
        let form = cable.form.name().split(',').next().unwrap_or_default();
        lines.extend(self.fit.lines(form, mm, 1));
        lines
    }

    /// What was read at a place, unless it was excused.
    pub(super) fn value(&self, place: &Place) -> Option<String> {
        let f = self.sheet.finding(place)?;
        f.value.as_ref()?;
        if f.verdict == crate::checks::Verdict::Excused {
            return None;
        }
        Some(f.value_text())
    }
}

fn opens(d: &Device) -> Opens {
    if d.standard.has_curve() {
        Opens::Breaker
    } else {
        Opens::Fuse
    }
}

/// Curve and rating, such as `B16`, or standard and rating of a fuse.
fn rated(d: &Device) -> String {
    match d.curve {
        Some(curve) => format!("{}{}", curve.letter(), d.rating_a.normalize()),
        None => format!("{} {} A", d.standard.name(), d.rating_a.normalize()),
    }
}

fn residual(rcd: &Rcd) -> String {
    format!("RCD {}", words::rcd(rcd))
}

/// Areas and length of a cable.
fn size(cable: &Cable) -> String {
    let line = cable.line_mm2.normalize();
    let size = match &cable.cpc {
        Cpc::Copper(mm2) => format!("{line}/{} mm²", mm2.normalize()),
        Cpc::Armour(_) => format!("{line} mm², armour as cpc"),
    };
    match cable.length_m {
        Some(m) => format!("{size}, {} m", m.normalize()),
        None => size,
    }
}

/// Numbers of circuits, those that follow each other on the board drawn together.
fn runs(loads: &[(usize, &Circuit)]) -> String {
    let mut runs: Vec<(&str, &str, usize)> = Vec::new();
    for (at, c) in loads {
        match runs.last_mut() {
            Some((_, last, end)) if *end + 1 == *at => (*last, *end) = (&c.id, *at),
            _ => runs.push((&c.id, &c.id, *at)),
        }
    }
    let words: Vec<String> = runs
        .iter()
        .map(|(first, last, _)| match first == last {
            true => (*first).to_string(),
            false => format!("{first} to {last}"),
        })
        .collect();
    words.join(", ")
}
