//! Ib ≤ In ≤ Iz of every circuit.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use rust_decimal::prelude::ToPrimitive;
use wanderlead::checks::Verdict;
use wanderlead::job::CableForm::{self, Armoured90, FlatTwinEarth70, Flexible, Singles70};
use wanderlead::job::{
    Board, Circuit, CircuitKind, Cpc, Inverter, InverterKind, Job, Layout, Lines, Phases,
};

const AT: &str = "M/4/capacity";

/// A cooker on its own circuit, everything of its cable as given.
fn cooker(form: CableForm, mm2: &str, method: &str, lines: Lines) -> Job {
    let mut job = tn();
    job.boards[0].phases = Phases::Three;
    let cooker = circuit(&mut job, "M/4");
    cooker.lines = lines;
    cooker.design_a = Some(d("1"));
    let cable = cooker.cable.as_mut().unwrap();
    (cable.form, cable.line_mm2, cable.method) = (form, d(mm2), method.into());
    job
}

fn rated(job: &Job, amps: &str) -> (Verdict, String) {
    let mut job = job.clone();
    let cooker = circuit(&mut job, "M/4");
    cooker.device.as_mut().unwrap().rating_a = d(amps);
    let finding = at(&job, AT);
    (finding.verdict, finding.why)
}

type Row = (CableForm, &'static str, Lines, &'static str);

/// From memory: BS 7671 Tables 4D5, 4D1A and 4E4A. Sizes 1 to 16 mm² for flat twin and earth, to 35 mm² for singles, 1.5 to
/// 35 mm² for armoured.
const TABLES: [Row; 16] = [
    (FlatTwinEarth70, "A", Lines::L1, "11.5 14.5 20 26 32 44 57"),
    (FlatTwinEarth70, "C", Lines::L1, "16 20 27 37 47 64 85"),
    (FlatTwinEarth70, "100", Lines::L1, "13 16 21 27 34 45 57"),
    (FlatTwinEarth70, "101", Lines::L1, "10.5 13 17 22 27 36 46"),
    (FlatTwinEarth70, "102", Lines::L1, "13 16 21 27 35 47 63"),
    (
        FlatTwinEarth70,
        "103",
        Lines::L1,
        "8 10 13.5 17.5 23.5 32 42.5",
    ),
    (
        Singles70,
        "B",
        Lines::L1,
        "13.5 17.5 24 32 41 57 76 101 125",
    ),
    (Singles70, "B", Lines::All, "12 15.5 21 28 36 50 68 89 110"),
    (Singles70, "C", Lines::L1, "15.5 20 27 37 47 65 87 114 141"),
    (Singles70, "C", Lines::All, "14 18 25 33 43 59 79 104 129"),
    (Armoured90, "C", Lines::L1, "27 36 49 62 85 110 146 180"),
    (Armoured90, "C", Lines::All, "23 31 42 53 73 94 124 154"),
    (Armoured90, "D", Lines::L1, "25 33 43 53 71 91 116 139"),
    (Armoured90, "D", Lines::All, "21 28 36 44 58 75 96 115"),
    (Armoured90, "E", Lines::L1, "29 39 52 66 90 115 152 188"),
    (Armoured90, "E", Lines::All, "25 33 44 56 78 99 131 162"),
];

fn sizes(form: CableForm) -> &'static [&'static str] {
    let all = &["1", "1.5", "2.5", "4", "6", "10", "16", "25", "35"];
    match form {
        FlatTwinEarth70 => &all[..7],
        Armoured90 => &all[1..],
        _ => all,
    }
}

#[test]
fn each_method_just_under_equal_and_just_over() {
    for (form, method, lines, row) in TABLES {
        let values: Vec<&str> = row.split(' ').collect();
        assert_eq!(values.len(), sizes(form).len(), "{row}");
        for (mm2, iz) in sizes(form).iter().zip(values) {
            let job = cooker(form, mm2, method, lines);
            let hundredth = d("0.01");
            // At 90 °C the terminals are asked about.
            let full = if form == Armoured90 { Query } else { Within };
            for (amps, want) in [
                (d(iz) - hundredth, full),
                (d(iz), full),
                (d(iz) + hundredth, Outside),
            ] {
                let (verdict, why) = rated(&job, &amps.to_string());
                assert_eq!(verdict, want, "{mm2} mm² by {method}, {amps} A: {why}");
            }
            let finding = at(&job, AT);
            assert_eq!(finding.limit, Some(format!("≤ {iz}")));
            assert!(finding.source_text().contains("[memory]"));
        }
    }
}

/// Physics: heat per metre I²/S goes out through a surface that grows as √S, so I grows as S^0.75 at most; tables stay near
/// 0.6, in the ground somewhat lower. A wrong digit in a row steps out of that. Three loaded cores are warmer than two, and insulation keeps heat in.
#[test]
fn tables_agree_with_one_another() {
    let file = |form: CableForm, method: &str, key: &str| -> Vec<f64> {
        sizes(form)
            .iter()
            .map(|mm2| {
                let id = format!("iz/{}/{method}/{key}/{mm2}", form.key());
                forms().limit(&id).unwrap().f64()
            })
            .collect()
    };
    let key = |lines| if lines == Lines::All { "3p" } else { "1p" };
    for (form, method, lines, _) in TABLES {
        let row = file(form, method, key(lines));
        for (pair, mm2) in row.windows(2).zip(sizes(form).windows(2)) {
            let by = |i: usize| d(mm2[i]).to_f64().unwrap();
            let exponent = (pair[1] / pair[0]).ln() / (by(1) / by(0)).ln();
            assert!(
                (0.47..=0.76).contains(&exponent),
                "{} {method} {mm2:?}: {exponent}",
                form.key()
            );
        }
        if lines == Lines::All {
            let two = file(form, method, "1p");
            assert!(row.iter().zip(&two).all(|(three, two)| three < two));
        }
    }
    let ordered = [
        (FlatTwinEarth70, vec!["C", "102", "100", "101", "103"]),
        (FlatTwinEarth70, vec!["C", "A", "103"]),
        (Armoured90, vec!["E", "C", "D"]),
    ];
    for (form, methods) in ordered {
        for pair in methods.windows(2) {
            let (cool, warm) = (file(form, pair[0], "1p"), file(form, pair[1], "1p"));
            assert!(cool.iter().zip(&warm).all(|(c, w)| c >= w), "{pair:?}");
        }
    }
    let listed = forms().limits_under("iz/").count();
    let here: usize = TABLES.iter().map(|(form, ..)| sizes(*form).len()).sum();
    assert_eq!(listed, here, "a table that no test looks at");
}

/// From memory: BS 7671 Table 4D4A. Physics: √(40 K / 60 K × 1.28 / 1.20) = 0.84 of the capacity at 90 °C is left in air of
/// 30 °C, √(50 K / 70 K × 1.28 / 1.20) = 0.87 in soil of 20 °C; thermosetting insulation is thinner and lets out more heat.
#[test]
fn terminals_that_bear_70_degrees_are_asked_about() {
    let tables = [
        ("C", Lines::L1, "21 28 38 49 67 89 118 145"),
        ("C", Lines::All, "18 25 33 42 58 77 102 125"),
        ("D", Lines::L1, "22 29 37 46 60 78 99 119"),
        ("D", Lines::All, "18 24 30 38 50 64 82 98"),
        ("E", Lines::L1, "22 31 41 53 72 97 128 157"),
        ("E", Lines::All, "19 26 35 45 62 83 110 135"),
    ];
    for (method, lines, row) in tables {
        for (mm2, at_70) in sizes(Armoured90).iter().zip(row.split(' ')) {
            let mut job = cooker(Armoured90, mm2, method, lines);
            assert_eq!(rated(&job, at_70).0, Within, "{mm2} {method}");
            let (verdict, why) = rated(&job, &format!("{at_70}.01"));
            assert_eq!(verdict, Query, "{mm2} {method}");
            assert!(
                why.contains(&format!("above the {at_70} A at 70 °C")),
                "{why}"
            );
            let at_90 = limit(&job, AT).replace("≤ ", "");
            let ratio = (d(at_70) / d(&at_90)).to_f64().unwrap();
            let usual = if method == "D" {
                0.82..0.89
            } else {
                0.74..0.86
            };
            assert!(usual.contains(&ratio), "{mm2} {method} {lines:?}: {ratio}");
            // The rating factor is on both.
            let cable = circuit(&mut job, "M/4").cable.as_mut().unwrap();
            cable.rating_factor = Some(d("0.9"));
            assert_eq!(rated(&job, at_70).0, Query, "{mm2} {method}");
        }
    }
    let listed = forms().limits_under("iz-70/").count();
    assert_eq!(listed, 6 * sizes(Armoured90).len());
}

/// Derived: 47 A × 0.8 = 37.6 A; 27 A × 0.79 = 21.33 A. The factor is the product as designed, 1 where it is left out.
#[test]
fn rating_factor() {
    for (mm2, factor, iz, over) in [
        ("6", Some("0.8"), "37.6", "37.61"),
        ("2.5", Some("0.79"), "21.33", "21.34"),
        ("6", Some("1.04"), "48.88", "48.89"),
        ("6", None, "47", "47.01"),
    ] {
        let mut job = cooker(FlatTwinEarth70, mm2, "C", Lines::L1);
        let cable = circuit(&mut job, "M/4").cable.as_mut().unwrap();
        cable.rating_factor = factor.map(d);
        assert_eq!(rated(&job, iz).0, Within);
        assert_eq!(rated(&job, over).0, Outside, "{factor:?}");
        assert_eq!(
            at(&job, AT).formula.contains("no rating factor recorded"),
            factor.is_none()
        );
    }
    for (factor, problems) in [("0", 1), ("-0.5", 1), ("0.01", 0), ("1.5", 0), ("1.51", 1)] {
        let mut job = tn();
        let cable = circuit(&mut job, "M/4").cable.as_mut().unwrap();
        cable.rating_factor = Some(d(factor));
        let found = job.problems();
        assert_eq!(found.len(), problems, "{factor}");
        assert!(found.iter().all(|p| p.field.ends_with("rating_factor")));
    }
}

/// From memory: regulation 433.1.202. Derived: 0.725 × 27 A = 19.575 A, 0.725 × 47 A = 34.075 A.
#[test]
fn rewirable_fuses_need_more_cable() {
    for (mm2, device_in, want) in [
        ("2.5", "3036 15", Within),
        ("2.5", "3036 20", Outside),
        ("2.5", "88-3 20", Within),
        ("2.5", "B20", Within),
        ("6", "3036 34.07", Within),
        ("6", "3036 34.08", Outside),
    ] {
        let mut job = cooker(FlatTwinEarth70, mm2, "C", Lines::L1);
        circuit(&mut job, "M/4").device = Some(device(device_in));
        let finding = at(&job, AT);
        assert_eq!(finding.verdict, want, "{device_in}: {}", finding.why);
    }
}

/// From memory: regulation 433.1.204: 30 A or 32 A, at least 20 A and 2.5 mm². 1.5 mm² by method C carries 20 A and is not
/// enough all the same.
#[test]
fn rings() {
    for (rating, mm2, method, factor, want) in [
        ("B32", "2.5", "C", None, Within),
        ("B32", "2.5", "A", None, Within),
        ("B32", "2.5", "A", Some("0.99"), Outside),
        ("B32", "2.5", "A", Some("1.01"), Within),
        ("B32", "2.5", "101", None, Outside),
        ("3036 30", "2.5", "A", None, Within),
        ("B32", "1.5", "C", None, Outside),
        ("B32", "4", "C", None, Within),
        ("B40", "2.5", "C", None, Outside),
        ("B20", "2.5", "A", None, Within),
        ("B20", "2.5", "101", None, Query),
        ("B32", "2.5", "", None, Query),
    ] {
        let mut job = tn();
        let ring = circuit(&mut job, "M/2");
        ring.device = Some(device(rating));
        let cable = ring.cable.as_mut().unwrap();
        (cable.line_mm2, cable.method) = (d(mm2), method.into());
        cable.rating_factor = factor.map(d);
        let finding = at(&job, "M/2/capacity");
        assert_eq!(
            finding.verdict, want,
            "{rating} {mm2} {method} {factor:?}: {}",
            finding.why
        );
    }
}

/// What no table holds is never in order.
#[test]
fn what_is_not_listed_is_queried_by_name() {
    for (form, mm2, method, lines, said) in [
        (Flexible, "2.5", "C", Lines::L1, "flexible cable"),
        (FlatTwinEarth70, "6", "", Lines::L1, "method isn't recorded"),
        (
            FlatTwinEarth70,
            "6",
            "  ",
            Lines::L1,
            "listed: 100, 101, 102, 103, A, C",
        ),
        (
            FlatTwinEarth70,
            "6",
            "B",
            Lines::L1,
            "method B; listed: 100, 101, 102, 103, A, C",
        ),
        (
            FlatTwinEarth70,
            "6",
            "C",
            Lines::All,
            "three loaded conductors by method C; none is listed",
        ),
        (
            FlatTwinEarth70,
            "5",
            "C",
            Lines::L1,
            "no capacity of 5 mm² is listed",
        ),
        (
            FlatTwinEarth70,
            "25",
            "C",
            Lines::L1,
            "listed: 1, 1.5, 2.5, 4, 6, 10, 16",
        ),
        (Singles70, "6", "E", Lines::L1, "method E; listed: B, C"),
        (
            Armoured90,
            "1",
            "E",
            Lines::L1,
            "no capacity of 1 mm² is listed",
        ),
    ] {
        let job = cooker(form, mm2, method, lines);
        let (verdict, why) = rated(&job, "6");
        assert_eq!(verdict, Query, "{mm2} {method}: {why}");
        assert!(
            why.starts_with("can't be judged: ") && why.contains(said),
            "{why}"
        );
        // A load above the device is known all the same.
        let mut job = job;
        circuit(&mut job, "M/4").design_a = Some(d("33"));
        assert_eq!(at(&job, AT).verdict, Outside);
    }
    for typed in ["c", " C ", "Method C", "method c"] {
        let job = cooker(FlatTwinEarth70, "6.0", typed, Lines::L1);
        assert_eq!(limit(&job, AT), "≤ 47", "{typed}");
    }
    assert_eq!(
        limit(&cooker(FlatTwinEarth70, "6", "100#", Lines::L1), AT),
        "≤ 34"
    );
}

/// Ib just under, equal, just over In 32 A, and missing.
#[test]
fn design_current_against_the_device() {
    for (kind, ib, want) in [
        (CircuitKind::Fixed, Some("31.99"), Within),
        (CircuitKind::Fixed, Some("32"), Within),
        (CircuitKind::Fixed, Some("32.01"), Outside),
        (CircuitKind::Fixed, None, Query),
        (CircuitKind::Distribution, None, Query),
        (CircuitKind::Source, None, Query),
        // What is plugged in is not known; the device limits it.
        (CircuitKind::Sockets, None, Within),
        (CircuitKind::Lighting, None, Within),
        (CircuitKind::Sockets, Some("32.01"), Outside),
    ] {
        let mut job = tn();
        let cooker = circuit(&mut job, "M/4");
        (cooker.kind, cooker.design_a) = (kind, ib.map(d));
        let finding = at(&job, AT);
        assert_eq!(finding.verdict, want, "{kind:?} {ib:?}: {}", finding.why);
        // In above Iz is outside whatever is known of Ib: 6 mm² by 103 carries 23.5 A.
        let cable = circuit(&mut job, "M/4").cable.as_mut().unwrap();
        cable.method = "103".into();
        assert_eq!(at(&job, AT).verdict, Outside, "{kind:?} {ib:?}");
    }
}

/// Eight units of 2.00 A are 16 A, those of 2.01 A are 16.08 A; what is recorded as Ib counts where it is more.
#[test]
fn a_source_circuit_carries_what_feeds_it() {
    for (each, recorded, ib, want) in [
        ("1.52", Some("12.2"), "12.2", Within),
        ("1.52", Some("5"), "12.16", Within),
        ("1.52", None, "12.16", Within),
        ("2.00", None, "16", Within),
        ("2.01", None, "16.08", Outside),
        ("2.01", Some("12"), "16.08", Outside),
        ("1.52", Some("16.01"), "16.01", Outside),
    ] {
        let mut job = bare("orchard-cottage.ron");
        job.inverters[0].rated_a = d(each);
        circuit(&mut job, "R/1").design_a = recorded.map(d);
        let finding = at(&job, "R/1/capacity");
        assert_eq!(
            finding.verdict, want,
            "{each} {recorded:?}: {}",
            finding.why
        );
        assert!(
            finding.why.contains(&format!("Ib {ib} A")),
            "{}",
            finding.why
        );
    }
}

/// The renewables board behind a sub-main of the consumer unit: 8 + 7 units of 1.52 A and 16 A of the battery, 38.8 A.
fn behind_a_sub_main(rating: &str, ib: Option<&str>) -> Job {
    let mut job = bare("orchard-cottage.ron");
    let mut feed: Circuit = circuit(&mut job, "C/4").clone();
    feed.id = "9".into();
    feed.kind = CircuitKind::Distribution;
    feed.device = Some(device(rating));
    feed.design_a = ib.map(d);
    let cable = feed.cable.as_mut().unwrap();
    (cable.form, cable.line_mm2, cable.cpc) = (Armoured90, d("16"), Cpc::Copper(d("16")));
    let board = |job: &mut Job, id: &str| -> usize {
        job.boards.iter().position(|b: &Board| b.id == id).unwrap()
    };
    let (r, c) = (board(&mut job, "R"), board(&mut job, "C"));
    job.boards[c].circuits.push(feed);
    job.boards[r].fed_from = "C/9".into();
    assert_eq!(job.problems(), []);
    job
}

#[test]
fn a_sub_main_carries_the_sources_beyond_it() {
    for (rating, ib, said, want) in [
        ("B40", Some("10"), "Ib 38.8 A, the sum", Within),
        ("B40", Some("39"), "Ib 39 A, as recorded", Within),
        ("B32", Some("10"), "Ib 38.8 A, the sum", Outside),
        ("B32", None, "Ib 38.8 A, the sum", Outside),
        ("B40", None, "Ib isn't recorded", Query),
        ("C125", Some("10"), "125 A misses ≤ 110 A", Outside),
    ] {
        let job = behind_a_sub_main(rating, ib);
        let finding = at(&job, "C/9/capacity");
        assert_eq!(finding.verdict, want, "{rating} {ib:?}: {}", finding.why);
        assert!(finding.why.contains(said), "{}", finding.why);
    }
    // A source circuit of which nothing is known leaves the sum unknown.
    let mut job = behind_a_sub_main("B40", Some("10"));
    job.inverters.truncate(1);
    circuit(&mut job, "R/3").design_a = None;
    let finding = at(&job, "C/9/capacity");
    assert_eq!(finding.verdict, Query, "{}", finding.why);
    assert!(finding.why.contains("what feeds R/3 isn't recorded"));
    // Without its branches nothing is known of R/1 but its design current.
    let mut job = behind_a_sub_main("B40", Some("10"));
    if let Layout::Branches(list) = &mut job.arrays[0].layout {
        list.clear();
    }
    assert!(
        at(&job, "C/9/capacity").why.contains("Ib 38.9 A"),
        "12.2 + 10.7 + 16"
    );
}

/// Sources on one line of a three-phase sub-main add up; those on other lines don't. A three-phase one is on each.
#[test]
fn lines_are_summed_apart() {
    let mut job = bare("mill-yard.ron");
    let inverter = |at: &str, amps: &str, phases| Inverter {
        id: format!("at{}", at.replace('/', "")),
        kind: InverterKind::String,
        make: "Pretend Power PP-5S".into(),
        circuit: at.into(),
        rated_a: d(amps),
        phases,
        ..bare("mill-yard.ron").inverters[0].clone()
    };
    for (id, lines) in [
        ("1", Lines::L1),
        ("2", Lines::L2),
        ("3", Lines::L2),
        ("4", Lines::All),
    ] {
        let c = circuit(&mut job, &format!("B/{id}"));
        (c.kind, c.lines) = (CircuitKind::Source, lines);
    }
    job.inverters.push(inverter("B/1", "23", Phases::Single));
    job.inverters.push(inverter("B/2", "12", Phases::Single));
    job.inverters.push(inverter("B/3", "18.5", Phases::Single));
    let ib = |job: &Job| at(job, "M/2/capacity").why;
    circuit(&mut job, "M/2").design_a = Some(d("1"));
    circuit(&mut job, "B/4").design_a = Some(d("0.5"));
    assert!(
        ib(&job).contains("Ib 31 A"),
        "0.5 + 12 + 18.5: {}",
        ib(&job)
    );
    job.inverters.push(inverter("B/4", "19.5", Phases::Three));
    assert!(ib(&job).contains("Ib 50 A"), "{}", ib(&job));
    assert_eq!(at(&job, "M/2/capacity").verdict, Within, "C50");
    job.inverters.last_mut().unwrap().rated_a = d("19.6");
    assert_eq!(at(&job, "M/2/capacity").verdict, Outside);
    // A single-phase inverter on a three-phase circuit: nobody recorded on which line, so it counts on each.
    job.inverters.last_mut().unwrap().phases = Phases::Single;
    assert!(ib(&job).contains("Ib 50.1 A"), "{}", ib(&job));
    // The board as a single-phase one on L3: one conductor carries all.
    job.boards[1].phases = Phases::Single;
    circuit(&mut job, "B/4").lines = Lines::L1;
    circuit(&mut job, "M/2").lines = Lines::L3;
    assert!(
        ib(&job).contains("Ib 73.1 A"),
        "23 + 12 + 18.5 + 19.6: {}",
        ib(&job)
    );
}

/// Names that a job file can't have don't keep the check from ending.
#[test]
fn boards_in_a_circle_are_queried() {
    let mut job = behind_a_sub_main("B40", Some("10"));
    circuit(&mut job, "R/4").kind = CircuitKind::Distribution;
    let c = job.boards.iter().position(|b| b.id == "C").unwrap();
    job.boards[c].fed_from = "R/4".into();
    assert_eq!(at(&job, "C/9/capacity").verdict, Query);
    assert_eq!(at(&job, "R/1/voltage").verdict, Query);
    let mut twice = behind_a_sub_main("B40", Some("10"));
    let r = twice.boards.iter().position(|b| b.id == "R").unwrap();
    let mut second = twice.boards[r].clone();
    second.fed_from = "R/4".into();
    twice.boards.push(second);
    at(&twice, "R/1/voltage");
}

/// Common practice: nobody traces how old cables lie. A load marked as existing is excused for what isn't recorded, and still
/// outside for what is; a way for a source is asked about whoever laid it.
#[test]
fn what_was_there_before_is_excused_for_what_nobody_recorded() {
    for (existing, method, amps, want) in [
        (false, "", "32", Query),
        (true, "", "32", Excused),
        (true, "C", "32", Within),
        (true, "103", "32", Outside),
        (true, "", "0.5", Outside),
    ] {
        let mut job = cooker(FlatTwinEarth70, "6", method, Lines::L1);
        circuit(&mut job, "M/4").existing = existing;
        let (verdict, why) = rated(&job, amps);
        assert_eq!(verdict, want, "{existing} {method} {amps}: {why}");
        let is_asked = method.is_empty() && want != Outside;
        assert_eq!(why.contains("existing: true"), is_asked, "{why}");
        let cooker = circuit(&mut job, "M/4");
        cooker.kind = CircuitKind::Source;
        if method.is_empty() && amps == "32" {
            assert_eq!(rated(&job, amps).0, Query, "a source");
        }
    }
}
