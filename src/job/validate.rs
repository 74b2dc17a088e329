//! Whether a job read from a file makes sense: names, references, signs of numbers, readable readings.

use std::collections::{BTreeMap, BTreeSet};

use rust_decimal::Decimal;

use super::array::Layout;
use super::board::{Circuit, CircuitKind, Lines};
use super::device::Cpc;
use super::group::Group;
use super::place::is_id;
use super::reading::Reading;
use super::supply::Phases;
use super::{ChangeError, Job, Place, SCHEMA};
use words::shown;

mod generation;
mod protection;
mod vouched;
pub(crate) mod words;

/// Something in a job file that can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Path of the field, such as `boards[0].circuits[2].device`.
    pub field: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
    /// Text to look for in the file, so that line and column can be named.
    pub near: String,
}

struct Finder {
    problems: Vec<Problem>,
}

/// More changes than that no file counts: the next ones have to have numbers, too.
const MOST_CHANGES: u64 = 1 << 53;

impl Finder {
    fn add(
        &mut self,
        field: impl Into<String>,
        near: &str,
        what: impl Into<String>,
        remedy: impl Into<String>,
    ) {
        self.problems.push(Problem {
            field: field.into(),
            // What was read is quoted in here.
            what: shown(&what.into()),
            remedy: remedy.into(),
            near: near.to_string(),
        });
    }

    fn id(&mut self, field: &str, id: &str, seen: &mut BTreeSet<String>) {
        if !is_id(id) {
            self.add(
                field,
                id,
                format!("`{id}` can't be an id"),
                "use 1 to 12 letters, digits, - or .",
            );
        }
        if !seen.insert(id.to_string()) {
            self.add(
                field,
                id,
                format!("the id `{id}` is used twice"),
                "give each its own id",
            );
        }
    }

    /// A size or rating; nothing to say where it isn't given.
    fn positive(&mut self, field: String, near: &str, value: impl Into<Option<Decimal>>) {
        self.within(
            field,
            near,
            value,
            Decimal::new(1, 4),
            Decimal::from(1_000_000),
        );
    }

    /// Bounds that only refuse nonsense, so that nothing reckoned from the value can overflow.
    fn within(
        &mut self,
        field: String,
        near: &str,
        value: impl Into<Option<Decimal>>,
        low: Decimal,
        high: Decimal,
    ) {
        if let Some(value) = value.into()
            && (value < low || value > high)
        {
            self.add(
                field,
                near,
                format!("{value} is out of range"),
                format!("give a number from {low} to {high}"),
            );
        }
    }
}

impl Job {
    /// Everything that makes the job unusable; empty for a sound job.
    pub fn problems(&self) -> Vec<Problem> {
        let mut f = Finder {
            problems: Vec::new(),
        };
        if self.schema != SCHEMA {
            f.add(
                "schema",
                "schema",
                format!("version {} is unknown", self.schema),
                format!("this program reads version {SCHEMA}"),
            );
        }
        if self.kept > MOST_CHANGES {
            f.add(
                "kept",
                "kept",
                format!("{} changes are more than anybody ever makes", self.kept),
                "restore the file from a copy: the program counts the changes itself",
            );
        }
        if !words::says_something(&self.reference) {
            f.add(
                "reference",
                "reference",
                "the reference has no letter or digit",
                "give the job a reference: it is on every page",
            );
        }
        // An issue that was taken out of the file leaves a gap that the history knows; its number is not given again.
        let numbers: BTreeSet<u32> = self.issues.iter().map(|i| i.number).collect();
        let rises = self
            .issues
            .iter()
            .map(|i| i.number)
            .eq(numbers.iter().copied());
        let issued: BTreeSet<u32> = self.history.issued().map(|(number, _)| number).collect();
        let known = |n: u32| numbers.contains(&n) || issued.contains(&n);
        let gap = numbers.last().is_some_and(|last| !(1..*last).all(known));
        if !rises || gap || numbers.contains(&0) {
            f.add(
                "issues",
                "number",
                "the issues of the paper aren't numbered from 1 without a gap",
                "put the list back as it was: it says what was handed out",
            );
        }
        self.text_problems(&mut f);
        self.people_problems(&mut f);
        let mut tops: BTreeSet<String> = Group::ALL.iter().map(|g| g.key().to_string()).collect();
        self.supply_problems(&mut f);
        self.board_problems(&mut f, &mut tops);
        self.protection_problems(&mut f);
        self.array_problems(&mut f, &mut tops);
        self.reading_problems(&mut f);
        self.vouch_problems(&mut f);
        f.problems
    }

    fn people_problems(&self, f: &mut Finder) {
        let mut seen = BTreeSet::new();
        for (i, p) in self.people.iter().enumerate() {
            f.id(&format!("people[{i}].id"), &p.id, &mut seen);
        }
        if self.people.is_empty() {
            f.add(
                "people",
                "people",
                "nobody is on the job",
                "add at least one person with role Qualified",
            );
        }
        let mut seen = BTreeSet::new();
        for (i, t) in self.instruments.iter().enumerate() {
            f.id(&format!("instruments[{i}].id"), &t.id, &mut seen);
            for (function, pct) in &t.uncertainty_pct {
                if pct.is_sign_negative() || *pct > Decimal::from(100) {
                    f.add(
                        format!("instruments[{i}].uncertainty_pct.{}", function.key()),
                        &t.id,
                        format!("{pct} % is out of range"),
                        "give 0 to 100",
                    );
                }
            }
        }
    }

    fn supply_problems(&self, f: &mut Finder) {
        f.positive("supply.u0_v".into(), "u0_v", self.supply.u0_v);
        f.positive(
            "supply.frequency_hz".into(),
            "frequency_hz",
            self.supply.frequency_hz,
        );
        f.positive("supply.fuse_a".into(), "fuse_a", self.supply.fuse_a);
        f.positive(
            "supply.max_demand_a".into(),
            "max_demand_a",
            self.supply.max_demand_a,
        );
        f.positive(
            "grid.export_limit_a".into(),
            "export_limit_a",
            self.grid.export_limit_a,
        );
        generation::existing(f, &self.grid);
        f.within(
            "ambient_c".into(),
            "ambient_c",
            self.ambient_c,
            Decimal::from(-40),
            Decimal::from(60),
        );
        f.positive("supply.fuse_ka".into(), "fuse_ka", self.supply.fuse_ka);
        f.positive(
            "supply.earthing_mm2".into(),
            "earthing_mm2",
            self.supply.earthing_mm2,
        );
        let mut seen = BTreeSet::new();
        for (i, b) in self.bonds.iter().enumerate() {
            f.id(&format!("bonds[{i}].id"), &b.id, &mut seen);
            f.positive(format!("bonds[{i}].mm2"), &b.id, b.mm2);
            f.positive(format!("bonds[{i}].length_m"), &b.id, b.length_m);
        }
    }

    fn board_problems(&self, f: &mut Finder, tops: &mut BTreeSet<String>) {
        for (i, b) in self.boards.iter().enumerate() {
            let at = format!("boards[{i}]");
            f.id(&format!("{at}.id"), &b.id, tops);
            if !b.fed_from.is_empty() {
                match self.circuit(&b.fed_from) {
                    None => f.add(format!("{at}.fed_from"), &b.fed_from, format!("there is no circuit `{}`", b.fed_from), "write BOARD/CIRCUIT of a circuit in this job, or leave it empty for the origin"),
                    Some((_, c)) if c.kind == CircuitKind::Source && self.backup_on(&b.fed_from).is_none() => f.add(format!("{at}.fed_from"), &b.fed_from, format!("circuit `{}` is of a source that has no backup output", b.fed_from), "set `backup: true` at the storage whose inverter is on it, or give the circuit of kind Distribution that feeds the board"),
                    Some((_, c)) if !matches!(c.kind, CircuitKind::Distribution | CircuitKind::Source) => f.add(format!("{at}.fed_from"), &b.fed_from, format!("circuit `{}` feeds a board but isn't kind Distribution", b.fed_from), "set its kind to Distribution"),
                    Some(_) => {}
                }
            }
            if self.feed_chain_loops(&b.id) {
                f.add(
                    format!("{at}.fed_from"),
                    &b.fed_from,
                    "the boards feed each other in a circle",
                    "give each board the circuit that really feeds it",
                );
            }
            f.positive(format!("{at}.conditional_ka"), &b.id, b.conditional_ka);
            if let Some(rcd) = &b.rcd {
                f.positive(format!("{at}.rcd.idn_ma"), &b.id, rcd.idn_ma);
                f.positive(format!("{at}.rcd.rating_a"), &b.id, rcd.rating_a);
            }
            let mut seen = BTreeSet::new();
            for (j, c) in b.circuits.iter().enumerate() {
                let at = format!("{at}.circuits[{j}]");
                f.id(&format!("{at}.id"), &c.id, &mut seen);
                if b.phases == Phases::Single && c.lines == Lines::All {
                    f.add(
                        format!("{at}.lines"),
                        &c.id,
                        "three lines on a single-phase board",
                        "set lines to L1, or phases of the board to Three",
                    );
                }
                circuit_problems(f, &at, c);
            }
        }
    }

    /// Whether following `fed_from` upstream from a board ever comes back to it.
    fn feed_chain_loops(&self, start: &str) -> bool {
        let mut id = start;
        for _ in 0..=self.boards.len() {
            let Some(board) = self.board(id) else {
                return false;
            };
            let Some((up, _)) = board.fed_from.split_once('/') else {
                return false;
            };
            if up == start {
                return true;
            }
            id = up;
        }
        true
    }

    fn array_problems(&self, f: &mut Finder, tops: &mut BTreeSet<String>) {
        let source = |f: &mut Finder, field: String, path: &str| match self.circuit(path) {
            None => f.add(
                field,
                path,
                format!("there is no circuit `{path}`"),
                "write BOARD/CIRCUIT of a circuit in this job",
            ),
            Some((_, c)) if c.kind != CircuitKind::Source => f.add(
                field,
                path,
                format!("circuit `{path}` is fed by an inverter but isn't kind Source"),
                "set its kind to Source",
            ),
            Some(_) => {}
        };
        let mut inverters = BTreeSet::new();
        for (i, v) in self.inverters.iter().enumerate() {
            let at = format!("inverters[{i}]");
            f.id(&format!("{at}.id"), &v.id, &mut inverters);
            f.positive(format!("{at}.rated_a"), &v.id, v.rated_a);
            if let Some(dc) = &v.dc {
                generation::dc_input(f, &format!("{at}.dc"), &v.id, dc);
            }
            if v.kind != super::InverterKind::Micro {
                source(f, format!("{at}.circuit"), &v.circuit);
            }
        }
        for (i, a) in self.arrays.iter().enumerate() {
            let at = format!("arrays[{i}]");
            f.id(&format!("{at}.id"), &a.id, tops);
            match (self.inverter(&a.inverter), &a.layout) {
                (None, _) => f.add(
                    format!("{at}.inverter"),
                    &a.inverter,
                    format!("there is no inverter `{}`", a.inverter),
                    "give the id of one in `inverters`",
                ),
                (Some(v), layout) => {
                    let micro = v.kind == super::InverterKind::Micro;
                    if micro != matches!(layout, Layout::Branches(_)) {
                        f.add(
                            format!("{at}.layout"),
                            &a.id,
                            "layout and kind of inverter don't match",
                            "Branches go with kind Micro, Strings with String or Hybrid",
                        );
                    }
                }
            }
            f.positive(format!("{at}.module.voc_v"), &a.id, a.module.voc_v);
            f.positive(format!("{at}.module.isc_a"), &a.id, a.module.isc_a);
            f.positive(format!("{at}.module.power_w"), &a.id, a.module.power_w);
            f.positive(
                format!("{at}.module.max_fuse_a"),
                &a.id,
                a.module.max_fuse_a,
            );
            f.positive(format!("{at}.module.vmp_v"), &a.id, a.module.vmp_v);
            f.positive(format!("{at}.module.area_m2"), &a.id, a.module.area_m2);
            f.within(
                format!("{at}.lowest_c"),
                &a.id,
                a.lowest_c,
                Decimal::from(-60),
                Decimal::from(25),
            );
            let slight = Decimal::new(45, 2);
            f.within(
                format!("{at}.module.beta_pct_k"),
                &a.id,
                a.module.beta_pct_k,
                -slight,
                -Decimal::new(1, 2),
            );
            f.within(
                format!("{at}.module.alpha_pct_k"),
                &a.id,
                a.module.alpha_pct_k,
                -slight,
                slight,
            );
            f.within(
                format!("{at}.slope_deg"),
                &a.id,
                a.slope_deg,
                Decimal::ZERO,
                Decimal::from(90),
            );
            f.within(
                format!("{at}.azimuth_deg"),
                &a.id,
                a.azimuth_deg,
                Decimal::ZERO,
                Decimal::from(360),
            );
            if a.module.cells == 0 {
                f.add(
                    format!("{at}.module.cells"),
                    &a.id,
                    "no cells",
                    "give the number of cells in series, such as 54",
                );
            }
            let mut seen = BTreeSet::new();
            match &a.layout {
                Layout::Branches(list) => {
                    for (j, b) in list.iter().enumerate() {
                        let at = format!("{at}.layout[{j}]");
                        f.id(&format!("{at}.id"), &b.id, &mut seen);
                        source(f, format!("{at}.circuit"), &b.circuit);
                        if let Some(t) = &b.trunk {
                            f.positive(format!("{at}.trunk.line_mm2"), &b.id, t.line_mm2);
                            f.positive(format!("{at}.trunk.spacing_m"), &b.id, t.spacing_m);
                        }
                        if b.units.is_empty() {
                            f.add(
                                format!("{at}.units"),
                                &b.id,
                                "the branch has no units",
                                "list its modules and inverters",
                            );
                        }
                    }
                }
                Layout::Strings(list) => {
                    for (j, s) in list.iter().enumerate() {
                        let at = format!("{at}.layout[{j}]");
                        f.id(&format!("{at}.id"), &s.id, &mut seen);
                        f.positive(format!("{at}.fuse_a"), &s.id, s.fuse_a);
                        if s.modules.is_empty() {
                            f.add(
                                format!("{at}.modules"),
                                &s.id,
                                "the string has no modules",
                                "list their serial numbers",
                            );
                        }
                    }
                }
            }
        }
        for (i, s) in self.storage.iter().enumerate() {
            let at = format!("storage[{i}]");
            f.id(&format!("{at}.id"), &s.id, tops);
            if self.inverter(&s.inverter).is_none() {
                f.add(
                    format!("{at}.inverter"),
                    &s.inverter,
                    format!("there is no inverter `{}`", s.inverter),
                    "give the id of one in `inverters`",
                );
            }
            f.positive(format!("{at}.dc_max_v"), &s.id, s.dc_max_v);
            f.positive(format!("{at}.usable_kwh"), &s.id, s.usable_kwh);
            generation::distances(f, &at, s);
            generation::charge(f, &at, s);
            f.within(
                format!("{at}.dc_min_v"),
                &s.id,
                s.dc_min_v,
                Decimal::ZERO,
                Decimal::from(1_000_000),
            );
            if s.dc_min_v > s.dc_max_v {
                f.add(
                    format!("{at}.dc_min_v"),
                    &s.id,
                    "the lowest voltage is above the highest",
                    "swap them",
                );
            }
        }
    }

    fn reading_problems(&self, f: &mut Finder) {
        // One name that is missing can concern hundreds of readings: it is said once, with the first of them.
        let mut missing: BTreeMap<(&'static str, String), (Place, usize)> = BTreeMap::new();
        for seat in self.seats() {
            for (test, entry) in seat.readings.iter() {
                let place = seat.place(test);
                for reading in entry.struck.iter().chain([&entry.now]) {
                    match self.accepts(&seat, &place, reading) {
                        Ok(_) if reading.unit != test.unit() => f.add(
                            place.to_string(),
                            &reading.typed,
                            format!(
                                "the unit is {:?}, and `{test}` is recorded in {:?}",
                                reading.unit,
                                test.unit()
                            ),
                            format!(
                                "write `unit: {:?}` and the value in that unit, or remove the reading and enter it in the program",
                                test.unit()
                            ),
                        ),
                        Ok(_) => {}
                        Err(ChangeError::Unknown { what, id, .. }) => {
                            missing
                                .entry((what, id))
                                .or_insert_with(|| (place.clone(), 0))
                                .1 += 1;
                        }
                        Err(ChangeError::NotAllowed(_)) if self.is_twice(&reading.by) => {}
                        Err(e) => self.refused_reading(f, &place, reading, e),
                    }
                }
            }
        }
        generation::labels(f, self);
        for ((what, id), (place, count)) in missing {
            self.missing_name(f, what, &id, &place, count);
        }
    }

    /// Whether several people have that id, which is a problem of its own.
    fn is_twice(&self, id: &str) -> bool {
        self.people.iter().filter(|p| p.id == id).count() > 1
    }

    /// The place is the field, so the message doesn't name it again.
    fn refused_reading(&self, f: &mut Finder, place: &Place, reading: &Reading, why: ChangeError) {
        let what = match why {
            ChangeError::Unreadable { why, .. } => why,
            ChangeError::NotHere { known, .. } if known.is_empty() => {
                "nothing is recorded here".into()
            }
            ChangeError::NotHere { known, .. } => {
                format!("this isn't recorded here; what is: {}", known.join(", "))
            }
            other => other.to_string(),
        };
        f.add(
            place.to_string(),
            &reading.typed,
            what,
            "correct the reading in the file, or remove it and take it again",
        );
    }

    /// A person or instrument that readings name and the job doesn't have.
    fn missing_name(&self, f: &mut Finder, what: &str, id: &str, place: &Place, count: usize) {
        let known: Vec<&str> = if what == "person" {
            self.people.iter().map(|p| p.id.as_str()).collect()
        } else {
            self.instruments.iter().map(|t| t.id.as_str()).collect()
        };
        let (list, key) = match what {
            "person" => ("people", "by"),
            _ => ("instruments", "instrument"),
        };
        if known.is_empty() && list == "people" {
            // That nobody is on the job was said already.
            return;
        }
        let known = if known.is_empty() {
            "the job has none".to_string()
        } else {
            format!("known: {}", known.join(", "))
        };
        let named = match count {
            1 => "1 reading names it".to_string(),
            n => format!("{n} readings name it"),
        };
        f.add(
            place.to_string(),
            id,
            format!("no {what} `{id}` on this job ({named}; {known})"),
            format!("add it to `{list}`, or correct `{key}`"),
        );
    }
}

fn circuit_problems(f: &mut Finder, at: &str, c: &Circuit) {
    if c.kind == CircuitKind::Spare {
        return;
    }
    match &c.device {
        None => f.add(
            format!("{at}.device"),
            &c.name,
            "the circuit has no protective device",
            "give its device, or set kind to Spare",
        ),
        Some(d) => {
            f.positive(format!("{at}.device.rating_a"), &c.name, d.rating_a);
            f.positive(format!("{at}.device.breaking_ka"), &c.name, d.breaking_ka);
            if d.standard.has_curve() != d.curve.is_some() {
                f.add(
                    format!("{at}.device.curve"),
                    &c.name,
                    "curve and standard don't match",
                    "BS EN 60898 and 61009 need curve B, C or D; a fuse has none",
                );
            }
            if !(1..=4).contains(&d.poles) {
                f.add(
                    format!("{at}.device.poles"),
                    &c.name,
                    format!("{} poles", d.poles),
                    "give 1 to 4",
                );
            }
        }
    }
    f.positive(format!("{at}.design_a"), &c.name, c.design_a);
    match &c.cable {
        None => f.add(
            format!("{at}.cable"),
            &c.name,
            "the circuit has no cable",
            "give its cable, or set kind to Spare",
        ),
        Some(cable) => {
            f.positive(format!("{at}.cable.line_mm2"), &c.name, cable.line_mm2);
            f.positive(format!("{at}.cable.length_m"), &c.name, cable.length_m);
            // More than 1 is a cold place; more than that is a slip of the finger.
            f.within(
                format!("{at}.cable.rating_factor"),
                &c.name,
                cable.rating_factor,
                Decimal::new(1, 4),
                Decimal::new(15, 1),
            );
            if let Cpc::Copper(mm2) = cable.cpc {
                f.positive(format!("{at}.cable.cpc"), &c.name, mm2);
            }
        }
    }
    if let Some(rcd) = &c.rcd {
        f.positive(format!("{at}.rcd.idn_ma"), &c.name, rcd.idn_ma);
        f.positive(format!("{at}.rcd.rating_a"), &c.name, rcd.rating_a);
    }
}
