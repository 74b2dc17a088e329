//! What the tables of checks share: jobs without readings, and one reading put into them.

#![allow(
    dead_code,
    unused_imports,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

use std::sync::OnceLock;

use chrono::DateTime;
use rust_decimal::Decimal;
use wanderlead::checks::{Finding, Judge, Verdict};
use wanderlead::forms::Forms;
use wanderlead::job::text::parse;
use wanderlead::job::{
    Circuit, Curve, Device, DeviceStandard, Direction, Earthing, Function, Job, Layout, Place, Rcd,
    RcdType, Reading, Readings, Test,
};

pub use wanderlead::checks::Verdict::{Close, Excused, Open, Outside, Query, Within};

pub fn forms() -> &'static Forms {
    static FORMS: OnceLock<Forms> = OnceLock::new();
    FORMS.get_or_init(|| Forms::embedded().unwrap())
}

pub fn d(text: &str) -> Decimal {
    text.parse().unwrap()
}

/// A sample without its readings but proved dead and energised at the right times, with instruments that read exactly.
pub fn bare(name: &str) -> Job {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-jobs")
        .join(name);
    let mut job: Job = parse(name, &std::fs::read_to_string(path).unwrap()).unwrap();
    let owners: Vec<String> = job
        .seats()
        .iter()
        .map(|s| s.place(Test::Polarity).owner())
        .collect();
    for owner in owners {
        *readings(&mut job, &owner) = Readings::default();
    }
    job.labels.clear();
    for tool in &mut job.instruments {
        for function in tool.functions.clone() {
            tool.uncertainty_pct.insert(function, Decimal::ZERO);
        }
    }
    put_at(&mut job, "safe/proved-dead", "pass", "06:00");
    put_at(&mut job, "safe/energise", "pass", "06:30");
    // Dead again, so that dead tests may be put at any hour.
    put_at(&mut job, "safe/proved-dead", "pass", "06:31");
    job
}

/// String inverter on a TT supply, every circuit with an RCD.
pub fn tt() -> Job {
    bare("harbour-row.ron")
}

/// The same on TN-C-S, without any RCD.
pub fn tn() -> Job {
    let mut job = tt();
    job.supply.earthing = Earthing::TnCS;
    no_rcds(&mut job);
    job
}

pub fn no_rcds(job: &mut Job) {
    for board in &mut job.boards {
        board.rcd = None;
        for circuit in &mut board.circuits {
            circuit.rcd = None;
        }
    }
}

pub fn rcd(idn: &str) -> Rcd {
    Rcd {
        standard: "BS EN 61008".into(),
        kind: RcdType::A,
        idn_ma: d(idn),
        rating_a: None,
        selective: false,
        declaration: String::new(),
    }
}

/// `B32`, `88-3 32`, `88-2 32` or `3036 45`.
pub fn device(short: &str) -> Device {
    use DeviceStandard::{Bs88_2, Bs88_3, Bs3036, BsEn60898};
    let (standard, curve, rating) = match short.split_once(' ') {
        Some(("88-2", a)) => (Bs88_2, None, a),
        Some(("88-3", a)) => (Bs88_3, None, a),
        Some((_, a)) => (Bs3036, None, a),
        None => {
            let curve = match &short[..1] {
                "B" => Curve::B,
                "C" => Curve::C,
                _ => Curve::D,
            };
            (BsEn60898, Some(curve), &short[1..])
        }
    };
    Device {
        standard,
        curve,
        rating_a: d(rating),
        breaking_ka: d("6"),
        poles: 2,
        direction: Direction::Bidirectional,
    }
}

pub fn circuit<'a>(job: &'a mut Job, path: &str) -> &'a mut Circuit {
    let (board, id) = path.split_once('/').unwrap();
    let board = job.boards.iter_mut().find(|b| b.id == board).unwrap();
    board.circuits.iter_mut().find(|c| c.id == id).unwrap()
}

/// The readings of an owner, such as `supply`, `M`, `M/3`, `bond/oil` or `P/S1`.
pub fn readings<'a>(job: &'a mut Job, owner: &str) -> &'a mut Readings {
    match owner {
        "supply" => return &mut job.supply.readings,
        "safe" => return &mut job.safe,
        "inspect" => return &mut job.inspect,
        "grid" => return &mut job.grid.readings,
        "close" => return &mut job.close,
        "sign" => return &mut job.sign,
        _ => {}
    }
    let Some((top, part)) = owner.split_once('/') else {
        if let Some(board) = job.boards.iter_mut().find(|b| b.id == owner) {
            return &mut board.readings;
        }
        let storage = job.storage.iter_mut().find(|s| s.id == owner).unwrap();
        return &mut storage.readings;
    };
    if top == "label" {
        return job.labels.entry(part.to_string()).or_default();
    }
    if top == "bond" {
        let bond = job.bonds.iter_mut().find(|b| b.id == part).unwrap();
        return &mut bond.readings;
    }
    if let Some(board) = job.boards.iter_mut().find(|b| b.id == top) {
        let circuit = board.circuits.iter_mut().find(|c| c.id == part).unwrap();
        return &mut circuit.readings;
    }
    let array = job.arrays.iter_mut().find(|a| a.id == top).unwrap();
    match &mut array.layout {
        Layout::Branches(list) => &mut list.iter_mut().find(|b| b.id == part).unwrap().readings,
        Layout::Strings(list) => &mut list.iter_mut().find(|s| s.id == part).unwrap().readings,
    }
}

/// A reading as it would be entered, with the first instrument that takes it.
pub fn reading(job: &Job, test: Test, typed: &str, hour: &str) -> Reading {
    let day = job
        .instruments
        .iter()
        .map(|i| i.calibrated)
        .max()
        .unwrap()
        .succ_opt()
        .unwrap();
    let instrument = Function::of(test).and_then(|function| {
        let tool = job
            .instruments
            .iter()
            .find(|i| i.functions.contains(&function));
        tool.map(|i| i.id.clone())
    });
    Reading {
        typed: typed.into(),
        unit: test.unit(),
        by: "mk".into(),
        at: DateTime::parse_from_rfc3339(&format!("{day}T{hour}:00+01:00")).unwrap(),
        instrument,
        countersigned: None,
        around: None,
        brought: None,
    }
}

/// Puts readings, each `place` and what is typed; all at noon.
pub fn put(job: &mut Job, all: &[(&str, &str)]) {
    for (place, typed) in all {
        put_at(job, place, typed, "12:00");
    }
}

pub fn put_at(job: &mut Job, place: &str, typed: &str, hour: &str) {
    let place: Place = place.parse().unwrap();
    let entry = reading(job, place.test, typed, hour);
    readings(job, &place.owner()).keep(place.test, entry);
}

/// The finding of a place as the job stands.
pub fn at(job: &Job, place: &str) -> Finding {
    let place: Place = place.parse().unwrap();
    Judge::new(job, forms())
        .place(&place)
        .unwrap_or_else(|| panic!("{place}: no finding"))
}

/// The finding of a place if that were typed there.
pub fn typed(job: &Job, place: &str, typed: &str) -> Finding {
    let mut job = job.clone();
    put(&mut job, &[(place, typed)]);
    at(&job, place)
}

/// Each reading typed alone at a place, with its verdict.
pub fn table(job: &Job, place: &str, rows: &[(&str, Verdict)]) {
    for (text, want) in rows {
        let got = typed(job, place, text);
        assert_eq!(got.verdict, *want, "{place} {text}: {}", got.why);
    }
}

/// The limit of a place as it is shown, without a unit.
pub fn limit(job: &Job, place: &str) -> String {
    at(job, place).limit.unwrap_or_default()
}

/// A sample as it is.
pub fn full(name: &str) -> Job {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-jobs")
        .join(name);
    parse(name, &std::fs::read_to_string(path).unwrap()).unwrap()
}
