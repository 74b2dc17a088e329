//! Starting points of new parts. What a person has to read from a data sheet or a label starts with a figure that a check
//! objects to, and each part is marked as not yet compared with what is on site.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use crate::job::array::Unit;
use crate::job::{
    Array, Board, Bond, Branch, CircuitKind, Function, Instrument, InsulationMethod, Inverter,
    InverterKind, Job, Layout, Module, Observation, Part, Person, Phases, PvString, Readings, Role,
    Spot, Storage, UNSAID_YEAR,
};

use super::copy::next_id;
use super::entry::Choices;
use super::patterns::CIRCUITS;
use super::unknown::{far_too_much, nearly_nothing};
use super::{List, Row};

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
                address: String::new(),
                registration: String::new(),
                phone: String::new(),
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
                to_compare: true,
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
    let (calibrated, due) = long_past();
    Instrument {
        id,
        kind: kind.into(),
        make: String::new(),
        serial: String::new(),
        calibrated,
        due,
        functions,
        leads_nulled: false,
        uncertainty_pct: std::collections::BTreeMap::new(),
    }
}

/// Days of a calibration that nobody has read yet: its check objects until the real ones are in.
pub(super) fn long_past() -> (NaiveDate, NaiveDate) {
    let day = |month, day| NaiveDate::from_ymd_opt(UNSAID_YEAR, month, day).unwrap_or_default();
    (day(1, 1), day(12, 31))
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
        to_compare: true,
        circuits: Vec::new(),
        readings: Readings::default(),
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
        // It has no figures yet.
        to_compare: false,
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
        to_compare: false,
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
        mounting: String::new(),
        cable: String::new(),
        frame_bond: String::new(),
        dc_spd: String::new(),
        to_compare: true,
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
        location: String::new(),
        firmware: String::new(),
        type_test: String::new(),
        circuit: match kind {
            InverterKind::Micro => String::new(),
            _ => source(job)?,
        },
        rated_a: far_too_much(),
        phases: Phases::Single,
        max_per_branch: None,
        ac_isolator: String::new(),
        dc_isolator: String::new(),
        dc: None,
        to_compare: true,
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
        chemistry: String::new(),
        firmware: String::new(),
        type_test: String::new(),
        charge_pct: None,
        isolator: String::new(),
        inverter: inverter.id.clone(),
        modules: 1,
        usable_kwh: far_too_much(),
        dc_min_v: Decimal::ZERO,
        dc_max_v: nearly_nothing(),
        backup: false,
        backup_feeds: String::new(),
        place: None,
        opening_m: None,
        flammables_m: None,
        detector: None,
        to_compare: true,
        readings: Readings::default(),
    })
}
