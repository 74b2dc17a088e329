//! Starting points of new parts, copies, and the ids they get. What a person has to read from a data sheet or a label starts
//! with a figure that a check objects to; a circuit says in its remarks that nobody has compared it yet.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use crate::job::array::Unit;
use crate::job::{
    Array, Board, Bond, Branch, Cable, CableForm, Circuit, CircuitKind, Cpc, Curve, DcInput,
    Device, DeviceStandard, Direction, Function, Group, Instrument, InsulationMethod, Inverter,
    InverterKind, Job, Layout, Lines, Module, Observation, Part, Person, Phases, PvString, Rcd,
    RcdType, Readings, Role, Spot, Storage, Trunk,
};

use super::entry::Choices;
use super::{List, Row};

/// What the remarks of a new circuit say.
const NOT_COMPARED: &str =
    "Starting point: device, RCD and cable not yet compared with what is fitted.";

/// Nothing a breaker, an RCD, a cable or an input could be: entered until the label or data sheet is read.
fn nearly_nothing() -> Decimal {
    Decimal::new(1, 1)
}

/// More than any part of a domestic job has.
fn far_too_much() -> Decimal {
    Decimal::from(999)
}

/// A device of which only the standard is known.
pub(super) fn unknown_device() -> Device {
    Device {
        standard: DeviceStandard::BsEn60898,
        curve: None,
        rating_a: far_too_much(),
        breaking_ka: nearly_nothing(),
        poles: 1,
        direction: Direction::Unknown,
    }
}

/// An RCD of which only the type is known.
pub(super) fn unknown_rcd() -> Rcd {
    Rcd {
        standard: String::new(),
        kind: RcdType::AC,
        idn_ma: far_too_much(),
        rating_a: None,
        selective: false,
        declaration: String::new(),
    }
}

/// A cable of which only the form is known.
pub(super) fn unknown_cable() -> Cable {
    Cable {
        form: CableForm::FlatTwinEarth70,
        line_mm2: nearly_nothing(),
        cpc: Cpc::Copper(nearly_nothing()),
        length_m: None,
        method: String::new(),
        rating_factor: None,
    }
}

/// A d.c. input of which only the highest voltage is known.
pub(super) fn unknown_input() -> DcInput {
    DcInput {
        max_v: nearly_nothing(),
        start_v: None,
        mppt_min_v: nearly_nothing(),
        mppt_max_v: nearly_nothing(),
        max_a: nearly_nothing(),
    }
}

/// A trunk cable of which only the size is known.
pub(super) fn unknown_trunk() -> Trunk {
    Trunk {
        line_mm2: nearly_nothing(),
        spacing_m: far_too_much(),
    }
}

/// Starting points of a list: key, and what is shown.
fn starts_of(list: &List) -> Vec<(&'static str, String)> {
    let named = |pairs: &[(&'static str, &str)]| -> Vec<(&'static str, String)> {
        pairs.iter().map(|(k, s)| (*k, (*s).to_string())).collect()
    };
    match list {
        List::People => named(&[
            ("qualified", "person, qualified"),
            ("apprentice", "person, apprentice"),
        ]),
        List::Instruments => named(&[
            ("mft", "instrument: multifunction tester"),
            ("pvt", "instrument: PV tester"),
            ("clamp", "instrument: clamp for alternating current"),
        ]),
        List::Bonds => named(&[
            ("main", "bond: main"),
            ("supplementary", "bond: supplementary"),
        ]),
        List::Boards => named(&[("board", "board, empty")]),
        List::Circuits(board) => CIRCUITS
            .iter()
            .map(|c| (c.key, format!("circuit of {board}: {}", c.name)))
            .collect(),
        List::Arrays => named(&[
            ("strings", "array with strings"),
            ("branches", "array with branches"),
        ]),
        List::Lines(array) => vec![("line", format!("string or branch of {array}"))],
        List::Inverters => named(&[
            ("string", "inverter: string"),
            ("hybrid", "inverter: hybrid"),
            ("storage", "inverter: for storage"),
            ("micro", "inverter: kind of micro-inverter"),
        ]),
        List::Storage => named(&[("battery", "storage")]),
        List::Observations => named(&[
            ("observation", "observation"),
            ("departure", "departure from the standard"),
        ]),
    }
}

/// Lists that something may be added to from a row, the nearest first.
fn lists_from(job: &Job, row: &Row) -> Vec<List> {
    let mut out = match row {
        Row::Head(list) => vec![list.clone()],
        Row::Part(Spot::Board(id)) => vec![List::Circuits(id.clone()), List::Boards],
        Row::Part(Spot::Array(id)) => vec![List::Lines(id.clone()), List::Arrays],
        Row::Part(spot) => List::of(spot).into_iter().collect(),
    };
    let board = job.boards.first().map(|b| List::Circuits(b.id.clone()));
    let array = job.arrays.first().map(|a| List::Lines(a.id.clone()));
    let all = [
        Some(List::People),
        Some(List::Instruments),
        Some(List::Bonds),
        Some(List::Boards),
        board,
    ]
    .into_iter()
    .chain([
        Some(List::Inverters),
        Some(List::Arrays),
        array,
        Some(List::Storage),
        Some(List::Observations),
    ])
    .flatten();
    for list in all {
        let same_kind = |l: &List| std::mem::discriminant(l) == std::mem::discriminant(&list);
        if !out.iter().any(same_kind) {
            out.push(list);
        }
    }
    out
}

/// What may be added from a row, as lines of a list of choices.
pub(super) fn starts(job: &Job, row: &Row) -> Choices {
    lists_from(job, row)
        .iter()
        .enumerate()
        .flat_map(|(i, list)| {
            starts_of(list)
                .into_iter()
                .map(move |(key, shown)| (format!("{i}:{key}"), shown))
        })
        .collect()
}

/// The part that a line of that list stands for, with its address.
///
/// # Errors
/// What has to be there first.
pub(super) fn make(job: &Job, row: &Row, taken: &str, who: &str) -> Result<(Spot, Part), String> {
    let gone = || "this can't be added here".to_string();
    let (number, key) = taken.split_once(':').ok_or_else(gone)?;
    let number: usize = number.parse().map_err(|_| gone())?;
    let lists = lists_from(job, row);
    let list = lists.get(number).ok_or_else(gone)?;
    let id = |like: &str| next_id(job, list, like);
    Ok(match list {
        List::People => {
            let id = id("p1");
            let role = if key == "apprentice" {
                Role::Apprentice
            } else {
                Role::Qualified
            };
            let part = Person {
                id: id.clone(),
                name: String::new(),
                role,
                firm: String::new(),
            };
            (Spot::Person(id), Part::Person(Box::new(part)))
        }
        List::Instruments => {
            let id = id(key);
            (
                Spot::Instrument(id.clone()),
                Part::Instrument(Box::new(instrument(id, key))),
            )
        }
        List::Bonds => {
            let id = id("bond1");
            let part = Bond {
                id: id.clone(),
                to: String::new(),
                mm2: nearly_nothing(),
                length_m: None,
                supplementary: key == "supplementary",
                mechanically_protected: false,
                readings: Readings::default(),
            };
            (Spot::Bond(id), Part::Bond(Box::new(part)))
        }
        List::Boards => {
            let id = id("B1");
            (
                Spot::Board(id.clone()),
                Part::Board(Box::new(board(job, id))),
            )
        }
        List::Circuits(b) => {
            let last = job.board(b).and_then(|b| b.circuits.last());
            let id = last.map_or("1".to_string(), |c| id(&c.id));
            let pattern = CIRCUITS.iter().find(|c| c.key == key).ok_or_else(gone)?;
            let three = job.board(b).is_some_and(|b| b.phases == Phases::Three);
            (
                Spot::Circuit(b.clone(), id.clone()),
                Part::Circuit(Box::new(pattern.circuit(id, three))),
            )
        }
        List::Arrays => {
            let id = id("P1");
            let part = array(job, id.clone(), key == "branches")?;
            (Spot::Array(id), Part::Array(Box::new(part)))
        }
        List::Lines(a) => {
            let array = job.arrays.iter().find(|x| x.id == *a).ok_or_else(gone)?;
            match &array.layout {
                Layout::Strings(list) => {
                    let id = list.last().map_or("S1".to_string(), |s| id(&s.id));
                    (
                        Spot::Line(a.clone(), id.clone()),
                        Part::PvString(Box::new(string(id))),
                    )
                }
                Layout::Branches(list) => {
                    let id = list.last().map_or("B1".to_string(), |s| id(&s.id));
                    (
                        Spot::Line(a.clone(), id.clone()),
                        Part::Branch(Box::new(branch(job, id)?)),
                    )
                }
            }
        }
        List::Inverters => {
            let id = id("inv1");
            let part = inverter(job, id.clone(), key)?;
            (Spot::Inverter(id), Part::Inverter(Box::new(part)))
        }
        List::Storage => {
            let id = id("E1");
            let part = storage(job, id.clone())?;
            (Spot::Storage(id), Part::Storage(Box::new(part)))
        }
        List::Observations => {
            let part = Observation {
                text: String::new(),
                by: who.to_string(),
                departure: key == "departure",
                photos: Vec::new(),
            };
            (
                Spot::Observation(job.observations.len()),
                Part::Observation(Box::new(part)),
            )
        }
    })
}

fn instrument(id: String, key: &str) -> Instrument {
    use Function::{
        AcCurrent, Continuity, DcCurrent, DcVoltage, FaultCurrent, Insulation, Irradiance, Loop,
        PvInsulation, Rcd, Temperature,
    };
    let (kind, functions) = match key {
        "pvt" => (
            "PV tester",
            vec![DcVoltage, DcCurrent, PvInsulation, Irradiance, Temperature],
        ),
        "clamp" => ("clamp for alternating current", vec![AcCurrent]),
        _ => (
            "multifunction tester",
            vec![Continuity, Insulation, Loop, FaultCurrent, Rcd],
        ),
    };
    // Long past: the check of the calibration objects until the real days are in.
    let day = |month, day| NaiveDate::from_ymd_opt(2000, month, day).unwrap_or_default();
    Instrument {
        id,
        kind: kind.into(),
        make: String::new(),
        serial: String::new(),
        calibrated: day(1, 1),
        due: day(12, 31),
        functions,
        leads_nulled: false,
        uncertainty_pct: std::collections::BTreeMap::new(),
    }
}

fn board(job: &Job, id: String) -> Board {
    Board {
        id,
        name: "new board".into(),
        location: String::new(),
        fed_from: String::new(),
        phases: job.supply.phases,
        main_switch: String::new(),
        main_a: None,
        main_poles: None,
        board_a: None,
        rcd: None,
        spd: String::new(),
        no_spd: String::new(),
        spd_lead_m: None,
        conditional_ka: None,
        circuits: Vec::new(),
        readings: Readings::default(),
    }
}

/// A usual circuit.
struct Pattern {
    key: &'static str,
    name: &'static str,
    kind: CircuitKind,
    ring: bool,
    /// Standard, curve, rating in A and poles.
    device: (DeviceStandard, Option<Curve>, u16, u8),
    /// Form, line and protective conductor in tenths of a mm²; armour counts where the latter is nought.
    cable: (CableForm, u16, u16),
    /// Has an RCD of 30 mA.
    rcd: bool,
}

const RCBO: DeviceStandard = DeviceStandard::BsEn61009;
const FLAT: CableForm = CableForm::FlatTwinEarth70;
const ARMOURED: CableForm = CableForm::Armoured90;

const CIRCUITS: [Pattern; 7] = [
    Pattern {
        key: "ring",
        name: "sockets, ring",
        kind: CircuitKind::Sockets,
        ring: true,
        device: (RCBO, Some(Curve::B), 32, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "radial",
        name: "sockets, radial",
        kind: CircuitKind::Sockets,
        ring: false,
        device: (RCBO, Some(Curve::B), 20, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "lighting",
        name: "lights",
        kind: CircuitKind::Lighting,
        ring: false,
        device: (RCBO, Some(Curve::B), 6, 1),
        cable: (FLAT, 15, 10),
        rcd: true,
    },
    Pattern {
        key: "fixed",
        name: "fixed equipment",
        kind: CircuitKind::Fixed,
        ring: false,
        device: (RCBO, Some(Curve::B), 16, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "source",
        name: "inverter (source)",
        kind: CircuitKind::Source,
        ring: false,
        device: (DeviceStandard::BsEn60898, Some(Curve::B), 20, 2),
        cable: (ARMOURED, 60, 60),
        rcd: false,
    },
    Pattern {
        key: "sub-main",
        name: "sub-main to a board",
        kind: CircuitKind::Distribution,
        ring: false,
        device: (DeviceStandard::Bs88_2, None, 63, 1),
        cable: (ARMOURED, 160, 0),
        rcd: false,
    },
    Pattern {
        key: "spare",
        name: "spare",
        kind: CircuitKind::Spare,
        ring: false,
        device: (RCBO, None, 0, 0),
        cable: (FLAT, 0, 0),
        rcd: false,
    },
];

impl Pattern {
    fn circuit(&self, id: String, three: bool) -> Circuit {
        let used = self.kind != CircuitKind::Spare;
        let (standard, curve, rating, poles) = self.device;
        let (form, line, cpc) = self.cable;
        let tenths = |n: u16| Decimal::new(i64::from(n), 1).normalize();
        Circuit {
            id,
            name: self.name.into(),
            kind: self.kind,
            lines: Lines::L1,
            ring: self.ring,
            points: 0,
            device: used.then(|| Device {
                standard,
                curve,
                rating_a: Decimal::from(rating),
                breaking_ka: Decimal::from(6),
                poles,
                direction: Direction::Unknown,
            }),
            rcd: self.rcd.then(|| Rcd {
                standard: "BS EN 61009".into(),
                kind: RcdType::A,
                idn_ma: Decimal::from(30),
                ..unknown_rcd()
            }),
            afdd: false,
            cable: used.then(|| Cable {
                form,
                line_mm2: tenths(line),
                cpc: match cpc {
                    0 => Cpc::Armour(if three { 4 } else { 3 }),
                    n => Cpc::Copper(tenths(n)),
                },
                ..unknown_cable()
            }),
            let_through_a2s: None,
            design_a: None,
            extra_low_voltage: false,
            equipment_connected: false,
            no_neutral: false,
            remarks: if used {
                NOT_COMPARED.into()
            } else {
                String::new()
            },
            readings: Readings::default(),
        }
    }
}

fn string(id: String) -> PvString {
    PvString {
        name: format!("string {id}"),
        id,
        modules: vec![String::new()],
        insulation: InsulationMethod::EachPole,
        input: String::new(),
        fuse_a: None,
        readings: Readings::default(),
    }
}

fn branch(job: &Job, id: String) -> Result<Branch, String> {
    Ok(Branch {
        name: format!("branch {id}"),
        id,
        circuit: source(job)?,
        units: vec![Unit {
            module: String::new(),
            inverter: String::new(),
        }],
        trunk: None,
        readings: Readings::default(),
    })
}

/// A circuit for a source that nothing is on yet, else any.
fn source(job: &Job) -> Result<String, String> {
    let all = super::paths(job, CircuitKind::Source);
    let on = |path: &str| {
        job.inverters.iter().any(|i| i.circuit == path)
            || job.arrays.iter().any(|a| match &a.layout {
                Layout::Branches(list) => list.iter().any(|b| b.circuit == path),
                Layout::Strings(_) => false,
            })
    };
    all.iter()
        .find(|(path, _)| !on(path))
        .or(all.first())
        .map(|(path, _)| path.clone())
        .ok_or_else(|| "it needs a circuit: add one for a source to a board first".to_string())
}

fn array(job: &Job, id: String, branches: bool) -> Result<Array, String> {
    let fits = |k: InverterKind| match k {
        InverterKind::Micro => branches,
        InverterKind::String | InverterKind::Hybrid => !branches,
        InverterKind::Storage => false,
    };
    let inverter = job.inverters.iter().find(|i| fits(i.kind));
    let inverter = inverter.ok_or(if branches {
        "it needs a kind of micro-inverter: add that under inverters first"
    } else {
        "it needs a string or hybrid inverter: add that under inverters first"
    })?;
    Ok(Array {
        name: format!("array {id}"),
        id,
        slope_deg: Decimal::from(35),
        azimuth_deg: Decimal::from(180),
        module: Module {
            make: String::new(),
            power_w: Decimal::ONE,
            voc_v: Decimal::ONE,
            isc_a: Decimal::ONE,
            beta_pct_k: None,
            alpha_pct_k: Decimal::new(5, 2),
            cells: 54,
            max_fuse_a: None,
            vmp_v: None,
            area_m2: None,
        },
        inverter: inverter.id.clone(),
        lowest_c: None,
        layout: if branches {
            Layout::Branches(vec![branch(job, "B1".into())?])
        } else {
            Layout::Strings(vec![string("S1".into())])
        },
    })
}

fn inverter(job: &Job, id: String, key: &str) -> Result<Inverter, String> {
    let kind = match key {
        "micro" => InverterKind::Micro,
        "hybrid" => InverterKind::Hybrid,
        "storage" => InverterKind::Storage,
        _ => InverterKind::String,
    };
    Ok(Inverter {
        id,
        kind,
        make: String::new(),
        serial: String::new(),
        circuit: match kind {
            InverterKind::Micro => String::new(),
            _ => source(job)?,
        },
        rated_a: far_too_much(),
        phases: Phases::Single,
        max_per_branch: None,
        dc: None,
    })
}

fn storage(job: &Job, id: String) -> Result<Storage, String> {
    let inverter = job
        .inverters
        .iter()
        .find(|i| matches!(i.kind, InverterKind::Hybrid | InverterKind::Storage))
        .ok_or("it needs a hybrid or storage inverter: add that under inverters first")?;
    Ok(Storage {
        id,
        make: String::new(),
        serial: String::new(),
        location: String::new(),
        inverter: inverter.id.clone(),
        modules: 1,
        usable_kwh: far_too_much(),
        dc_min_v: Decimal::ZERO,
        dc_max_v: nearly_nothing(),
        backup: false,
        place: None,
        opening_m: None,
        flammables_m: None,
        detector: None,
        readings: Readings::default(),
    })
}

/// A copy of a part beside it: without readings and serial numbers, with an id of its own.
pub(super) fn copy_of(job: &Job, spot: &Spot) -> Option<(Spot, Part)> {
    let list = List::of(spot)?;
    let (part, _) = job.part(spot)?;
    let mut part = part.without_readings();
    let id = |like: &str| next_id(job, &list, like);
    match &mut part {
        Part::Person(x) => x.id = id(&x.id),
        Part::Instrument(x) => {
            x.id = id(&x.id);
            x.serial.clear();
        }
        Part::Bond(x) => x.id = id(&x.id),
        Part::Board(x) => x.id = id(&x.id),
        Part::Circuit(x) => x.id = id(&x.id),
        Part::Array(x) => {
            x.id = id(&x.id);
            match &mut x.layout {
                Layout::Strings(list) => list.iter_mut().for_each(blank_string),
                Layout::Branches(list) => list.iter_mut().for_each(blank_branch),
            }
        }
        Part::PvString(x) => {
            x.id = id(&x.id);
            blank_string(x);
        }
        Part::Branch(x) => {
            x.id = id(&x.id);
            blank_branch(x);
        }
        Part::Inverter(x) => {
            x.id = id(&x.id);
            x.serial.clear();
        }
        Part::Storage(x) => {
            x.id = id(&x.id);
            x.serial.clear();
        }
        // One that isn't there yet; it is put behind the other.
        Part::Observation(_) => return Some((Spot::Observation(job.observations.len()), part)),
        Part::Visit(_) | Part::Supply(_) | Part::Grid(_) => return None,
    }
    let spot = part.spot_like(spot)?;
    Some((spot, part))
}

fn blank_string(s: &mut PvString) {
    s.modules.iter_mut().for_each(String::clear);
}

fn blank_branch(b: &mut Branch) {
    for unit in &mut b.units {
        unit.module.clear();
        unit.inverter.clear();
    }
}

/// Whether an id is taken among those that have to differ from it.
fn taken(job: &Job, list: &List, id: &str) -> bool {
    match list {
        List::People => job.person(id).is_some(),
        List::Instruments => job.instrument(id).is_some(),
        List::Bonds => job.bonds.iter().any(|b| b.id == id),
        List::Inverters => job.inverter(id).is_some(),
        List::Circuits(board) => job.part(&Spot::Circuit(board.clone(), id.into())).is_some(),
        List::Lines(array) => job.part(&Spot::Line(array.clone(), id.into())).is_some(),
        List::Boards | List::Arrays | List::Storage => {
            Group::ALL.iter().any(|g| g.key() == id)
                || job.board(id).is_some()
                || job.arrays.iter().any(|a| a.id == id)
                || job.storage.iter().any(|s| s.id == id)
        }
        List::Observations => false,
    }
}

/// An id like another: the same where it is free, else with the next number that is.
pub(super) fn next_id(job: &Job, list: &List, like: &str) -> String {
    if !taken(job, list, like) {
        return like.to_string();
    }
    let letters = like.trim_end_matches(|c: char| c.is_ascii_digit());
    let digits: String = like.chars().skip(letters.chars().count()).collect();
    let first: u64 = digits.parse().unwrap_or(1);
    // An id has 12 characters at most.
    let letters: String = letters.chars().take(6).collect();
    (first.saturating_add(1)..)
        .take(1_000_000)
        .map(|n| format!("{letters}{}", n % 1_000_000))
        .find(|id| !taken(job, list, id))
        .unwrap_or_else(|| like.to_string())
}
