//! Labels and notices: which a job needs, and where each goes.
//!
//! What there is to label follows from the record alone, never from the forms: a label that was entered as fitted can't lose
//! its place because somebody reads the job with other form files. The forms say what stands on each, and why.

use serde::Deserialize;

use super::Job;
use super::array::{Array, Branch, Inverter, InverterKind, Layout, Storage};
use super::board::Board;
use super::part::Spot;
use super::supply::{Bond, Earthing};

/// What a kind of label is fixed to: one for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum At {
    /// The origin of the supply.
    Origin,
    /// The meter.
    Meter,
    /// Each bonding conductor, at its clamp.
    Bond,
    /// Each board.
    Board,
    /// Each point where a source is isolated: an inverter that has a circuit of its own, or a micro-inverter branch.
    Isolation,
    /// Each inverter that is no micro-inverter.
    Inverter,
    /// Each array.
    Array,
    /// Each storage unit.
    Storage,
}

/// When a kind of label is needed. Only ever because something is there, so that more equipment never takes one away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum When {
    /// In every job.
    Always,
    /// Where an inverter or storage is on the premises.
    Sources,
    /// Where there is an array, or one was there before.
    Pv,
    /// Where there is storage.
    Storage,
    /// Where there is an earth electrode: the installation's, or that of a backup output.
    Electrode,
    /// On a board with an RCD, its own or one of its circuits'.
    Rcd,
    /// At an inverter that strings lead to.
    DcFromArray,
    /// At an array of strings.
    Strings,
    /// At storage with a backup output.
    Backup,
}

macro_rules! labels {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $words:literal, $at:ident, $when:ident; )*) => {
        /// A kind of label. Its key has at most 12 characters, its words 30: they stand in narrow columns.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum LabelKind { $( $(#[$doc])* $name, )* }

        impl LabelKind {
            /// Every kind, in the order in which they are fitted at one spot.
            pub const ALL: &'static [LabelKind] = &[ $( LabelKind::$name, )* ];

            /// The key in places and form files.
            pub fn key(self) -> &'static str {
                match self { $( LabelKind::$name => $key, )* }
            }

            /// What it is, in a few words.
            pub fn words(self) -> &'static str {
                match self { $( LabelKind::$name => $words, )* }
            }

            /// What it is fixed to.
            pub fn at(self) -> At {
                match self { $( LabelKind::$name => At::$at, )* }
            }

            /// When it is needed.
            pub fn when(self) -> When {
                match self { $( LabelKind::$name => When::$when, )* }
            }
        }
    };
}

labels! {
    /// More than one supply, at the origin.
    DualOrigin = "dual-origin", "two supplies, at the origin", Origin, Sources;
    /// The earthing connection must not be taken off.
    EarthMark = "earth-mark", "earthing connection", Origin, Always;
    /// The connection to an electrode must not be taken off.
    Electrode = "electrode", "earth electrode connection", Origin, Electrode;
    /// Single-line diagram.
    Diagram = "diagram", "single-line diagram", Origin, Sources;
    /// Settings of the interface protection, and whom to call.
    Settings = "settings", "protection settings", Origin, Sources;
    /// How to shut it all down.
    Shutdown = "shutdown", "order of shutting down", Origin, Sources;
    /// An array is on this building.
    PvSign = "pv-sign", "array on the roof", Origin, Pv;
    /// Storage is in this building, and where.
    StoreSign = "store-sign", "battery on the premises", Origin, Storage;
    /// More than one supply, at the meter.
    DualMeter = "dual-meter", "two supplies, at the meter", Meter, Sources;
    /// The bonding connection must not be taken off.
    BondMark = "bond-mark", "bonding connection", Bond, Always;
    /// More than one supply, at a board.
    DualBoard = "dual-board", "two supplies, at the board", Board, Sources;
    /// Circuit chart.
    Chart = "chart", "circuit chart", Board, Always;
    /// Press the test button.
    RcdNotice = "rcd-notice", "RCD test notice", Board, Rcd;
    /// Next inspection.
    NextTest = "next-test", "next inspection", Board, Always;
    /// More than one supply, at a point of isolation.
    DualPoint = "dual-point", "two supplies, at the isolator", Isolation, Sources;
    /// What the a.c. isolator isolates.
    AcIsolator = "ac-isolator", "a.c. isolator", Isolation, Sources;
    /// Isolate a.c. and d.c.
    BothSides = "both-sides", "isolate a.c. and d.c.", Inverter, Always;
    /// What the d.c. isolator of the array isolates.
    DcIsolator = "dc-isolator", "d.c. isolator of the array", Inverter, DcFromArray;
    /// Marks along the d.c. cables.
    DcRoute = "dc-route", "marks along the d.c. cables", Array, Strings;
    /// Live parts in boxes of the array.
    DcBox = "dc-box", "d.c. boxes stay live", Array, Strings;
    /// A battery stands here.
    Battery = "battery", "battery sign", Storage, Always;
    /// What the isolator of the battery isolates.
    BatteryOff = "battery-off", "isolator of the battery", Storage, Always;
    /// This output stays live without the grid.
    Backup = "backup", "backup output", Storage, Backup;
}

impl LabelKind {
    /// The kind with that key.
    pub fn of_key(key: &str) -> Option<LabelKind> {
        LabelKind::ALL.iter().copied().find(|k| k.key() == key)
    }
}

/// The thing a label is fixed to.
#[derive(Debug, Clone, Copy)]
pub enum Target<'a> {
    /// The origin of the supply.
    Origin,
    /// The meter.
    Meter,
    /// A bonding conductor.
    Bond(&'a Bond),
    /// A board.
    Board(&'a Board),
    /// An inverter that is no micro-inverter.
    Inverter(&'a Inverter),
    /// A micro-inverter branch.
    Branch(&'a Array, &'a Branch),
    /// An array.
    Array(&'a Array),
    /// A storage unit.
    Storage(&'a Storage),
}

impl Target<'_> {
    /// Its ids; none where there is one only.
    fn ids(&self) -> Vec<&str> {
        match self {
            Target::Origin | Target::Meter => Vec::new(),
            Target::Bond(x) => vec![&x.id],
            Target::Board(x) => vec![&x.id],
            Target::Inverter(x) => vec![&x.id],
            Target::Branch(a, x) => vec![&a.id, &x.id],
            Target::Array(x) => vec![&x.id],
            Target::Storage(x) => vec![&x.id],
        }
    }

    /// Where it is, in words.
    pub fn words(&self) -> String {
        match self {
            Target::Origin => "origin of the supply".into(),
            Target::Meter => "meter".into(),
            Target::Bond(x) => format!("bond to {}", x.to),
            Target::Board(x) => x.name.clone(),
            Target::Inverter(x) => format!("{} {}", x.kind.name(), x.id),
            Target::Branch(a, x) => format!("{} · {} {}", a.name, x.id, x.name),
            Target::Array(x) => x.name.clone(),
            Target::Storage(x) => format!("storage {}", x.make),
        }
    }

    /// Short, for a narrow column.
    pub fn short(&self) -> String {
        match self {
            Target::Origin => "origin".into(),
            Target::Meter => "meter".into(),
            _ => self.ids().join("/"),
        }
    }

    fn spot(&self) -> Spot {
        match self {
            Target::Origin | Target::Meter => Spot::Supply,
            Target::Bond(x) => Spot::Bond(x.id.clone()),
            Target::Board(x) => Spot::Board(x.id.clone()),
            Target::Inverter(x) => Spot::Inverter(x.id.clone()),
            Target::Branch(a, x) => Spot::Line(a.id.clone(), x.id.clone()),
            Target::Array(x) => Spot::Array(x.id.clone()),
            Target::Storage(x) => Spot::Storage(x.id.clone()),
        }
    }
}

/// One label that a job needs.
#[derive(Debug, Clone, Copy)]
pub struct Label<'a> {
    /// Its kind.
    pub kind: LabelKind,
    /// What it is fixed to.
    pub target: Target<'a>,
}

impl Label<'_> {
    /// Its name in places, such as `dual-board:R`: the key of its kind and the ids of what it is fixed to.
    pub fn name(&self) -> String {
        let ids = self.target.ids();
        let parts: Vec<&str> = std::iter::once(self.kind.key()).chain(ids).collect();
        parts.join(":")
    }

    /// The part of the record that it belongs to.
    pub(super) fn spot(&self) -> Spot {
        self.target.spot()
    }
}

/// Whether `name` may be that of a label: a key and up to two ids.
pub(super) fn is_label_name(name: &str) -> bool {
    let parts: Vec<&str> = name.split(':').collect();
    (1..=3).contains(&parts.len()) && parts.iter().all(|p| super::place::is_id(p))
}

/// The name of a label after the part it is fixed to got another id; `None` where that doesn't concern it.
pub(super) fn renamed(name: &str, old: &Spot, new: &Spot) -> Option<String> {
    let mut parts: Vec<&str> = name.split(':').collect();
    let kind = LabelKind::of_key(parts.first()?)?;
    let (at, from, to): (usize, &str, &str) = match (old, new, kind.at()) {
        (Spot::Bond(a), Spot::Bond(b), At::Bond)
        | (Spot::Board(a), Spot::Board(b), At::Board)
        | (Spot::Inverter(a), Spot::Inverter(b), At::Inverter)
        | (Spot::Storage(a), Spot::Storage(b), At::Storage)
        | (Spot::Array(a), Spot::Array(b), At::Array) => (1, a, b),
        (Spot::Inverter(a), Spot::Inverter(b), At::Isolation) if parts.len() == 2 => (1, a, b),
        (Spot::Array(a), Spot::Array(b), At::Isolation) if parts.len() == 3 => (1, a, b),
        (Spot::Line(array, a), Spot::Line(_, b), At::Isolation)
            if parts.get(1).is_some_and(|p| p == array) =>
        {
            (2, a, b)
        }
        _ => return None,
    };
    let part = parts.get_mut(at).filter(|p| **p == from)?;
    *part = to;
    Some(parts.join(":"))
}

/// Whether the words for what was there before name solar panels. What they don't name isn't known.
fn names_pv(what: &str) -> bool {
    let what = what.to_lowercase();
    what.split(|c: char| !c.is_alphanumeric()).any(|word| {
        matches!(
            word,
            "pv" | "solar" | "photovoltaic" | "array" | "arrays" | "panel" | "panels" | "modules"
        )
    })
}

impl Job {
    /// Every label the job needs: spot by spot, as one goes round with them.
    pub fn labels_needed(&self) -> Vec<Label<'_>> {
        let mut out = Vec::new();
        for (target, at) in self.label_targets() {
            for kind in LabelKind::ALL.iter().copied() {
                if at.contains(&kind.at()) && self.needs_label(kind, target) {
                    out.push(Label { kind, target });
                }
            }
        }
        out
    }

    /// The label of that name, where the job needs it.
    pub fn label(&self, name: &str) -> Option<Label<'_>> {
        let mut parts = name.split(':');
        let kind = LabelKind::of_key(parts.next()?)?;
        let ids: Vec<&str> = parts.collect();
        let array = |id: &str| self.arrays.iter().find(|a| a.id == id);
        let inverter = |id: &str| {
            let found = self.inverter(id)?;
            (found.kind != InverterKind::Micro).then_some(Target::Inverter(found))
        };
        let target = match (kind.at(), ids.as_slice()) {
            (At::Origin, []) => Target::Origin,
            (At::Meter, []) => Target::Meter,
            (At::Bond, [id]) => Target::Bond(self.bonds.iter().find(|b| b.id == *id)?),
            (At::Board, [id]) => Target::Board(self.board(id)?),
            (At::Isolation | At::Inverter, [id]) => inverter(id)?,
            (At::Isolation, [of, id]) => {
                let array = array(of)?;
                let Layout::Branches(list) = &array.layout else {
                    return None;
                };
                Target::Branch(array, list.iter().find(|b| b.id == *id)?)
            }
            (At::Array, [id]) => Target::Array(array(id)?),
            (At::Storage, [id]) => Target::Storage(self.storage.iter().find(|s| s.id == *id)?),
            _ => return None,
        };
        self.needs_label(kind, target)
            .then_some(Label { kind, target })
    }

    /// Everything that may carry a label, with the kinds of spot that it is.
    fn label_targets(&self) -> Vec<(Target<'_>, &'static [At])> {
        let mut out: Vec<(Target<'_>, &'static [At])> = vec![
            (Target::Origin, &[At::Origin]),
            (Target::Meter, &[At::Meter]),
        ];
        let bonds = self.bonds.iter().map(Target::Bond);
        out.extend(bonds.map(|t| (t, &[At::Bond][..])));
        let boards = self.boards.iter().map(Target::Board);
        out.extend(boards.map(|t| (t, &[At::Board][..])));
        let inverters = self
            .inverters
            .iter()
            .filter(|i| i.kind != InverterKind::Micro);
        out.extend(inverters.map(|i| (Target::Inverter(i), &[At::Isolation, At::Inverter][..])));
        for a in &self.arrays {
            out.push((Target::Array(a), &[At::Array]));
            if let Layout::Branches(list) = &a.layout {
                out.extend(
                    list.iter()
                        .map(|b| (Target::Branch(a, b), &[At::Isolation][..])),
                );
            }
        }
        let storage = self.storage.iter().map(Target::Storage);
        out.extend(storage.map(|t| (t, &[At::Storage][..])));
        out
    }

    fn needs_label(&self, kind: LabelKind, target: Target<'_>) -> bool {
        match (kind.when(), target) {
            (When::Always, _) => true,
            (When::Sources, _) => self.has_sources(),
            (When::Pv, _) => {
                !self.arrays.is_empty() || self.grid.existing.iter().any(|e| names_pv(&e.what))
            }
            (When::Storage, _) => !self.storage.is_empty(),
            (When::Electrode, _) => {
                self.supply.earthing == Earthing::Tt || self.storage.iter().any(|s| s.backup)
            }
            (When::Rcd, Target::Board(b)) => {
                b.rcd.is_some() || b.circuits.iter().any(|c| c.rcd.is_some())
            }
            (When::DcFromArray, Target::Inverter(i)) => {
                matches!(i.kind, InverterKind::String | InverterKind::Hybrid)
            }
            (When::Strings, Target::Array(a)) => matches!(a.layout, Layout::Strings(_)),
            (When::Backup, Target::Storage(s)) => s.backup,
            _ => false,
        }
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn keys_fit_into_places_and_differ() {
        let keys: BTreeSet<&str> = LabelKind::ALL.iter().map(|k| k.key()).collect();
        assert_eq!(keys.len(), LabelKind::ALL.len());
        for kind in LabelKind::ALL {
            assert_eq!(LabelKind::of_key(kind.key()), Some(*kind));
            assert!(super::super::place::is_id(kind.key()), "{}", kind.key());
            assert!(kind.words().chars().count() <= 30, "{}", kind.words());
        }
    }

    #[test]
    fn a_label_follows_the_id_of_what_it_is_fixed_to_and_no_other() {
        let board = |id: &str| Spot::Board(id.into());
        let line = |a: &str, id: &str| Spot::Line(a.into(), id.into());
        for (name, old, new, want) in [
            ("dual-board:R", board("R"), board("S"), Some("dual-board:S")),
            ("dual-board:R", board("Q"), board("S"), None),
            ("bond-mark:R", board("R"), board("S"), None),
            (
                "dual-point:P:B1",
                line("P", "B1"),
                line("P", "B2"),
                Some("dual-point:P:B2"),
            ),
            ("dual-point:Q:B1", line("P", "B1"), line("P", "B2"), None),
            (
                "dual-point:P:B1",
                Spot::Array("P".into()),
                Spot::Array("Z".into()),
                Some("dual-point:Z:B1"),
            ),
            // An array may have the id of an inverter.
            (
                "dual-point:P",
                Spot::Array("P".into()),
                Spot::Array("Z".into()),
                None,
            ),
            ("dual-origin", board("R"), board("S"), None),
        ] {
            assert_eq!(renamed(name, &old, &new).as_deref(), want, "{name}");
        }
    }
}
