//! Insulation resistance of a.c. circuits: test voltage, limit and second looks.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::Judge;
use wanderlead::job::{Job, Phases, Place};

/// Test voltage and limit of a place.
fn band(job: &Job, place: &str) -> (String, String) {
    let place: Place = place.parse().unwrap();
    let seat = job.seat(&place).unwrap();
    let rule = Judge::new(job, forms()).rule(&seat, place.test).unwrap();
    (rule.test_v.unwrap().to_string(), rule.bound.text().unwrap())
}

fn pair(volts: &str, least: &str) -> (String, String) {
    (volts.into(), format!("≥ {least}"))
}

/// Published: EW, May 2023, page 25, and NICEIC Connections, Spring 2018, page 47. Memory: BS 7671 Table 64 above 500 V.
#[test]
fn test_voltage_and_limit_by_what_the_circuit_is() {
    let mut job = tn();
    assert_eq!(band(&job, "M/3/ir-le"), pair("500", "1"));
    assert_eq!(band(&job, "M/3/ir-ll"), pair("500", "1"));
    circuit(&mut job, "M/3").equipment_connected = true;
    assert_eq!(band(&job, "M/3/ir-le"), pair("250", "1"));
    circuit(&mut job, "M/3").extra_low_voltage = true;
    assert_eq!(band(&job, "M/3/ir-le"), pair("250", "0.5"));
    circuit(&mut job, "M/3").equipment_connected = false;
    assert_eq!(band(&job, "M/3/ir-le"), pair("250", "0.5"));
    assert_eq!(band(&job, "M/3/ir-ll"), pair("250", "0.5"));
    // 230 V to earth is 398 V between lines; 400 V to earth is 693 V.
    let mut job = tn();
    job.supply.phases = Phases::Three;
    assert_eq!(band(&job, "M/3/ir-le"), pair("500", "1"));
    job.supply.u0_v = d("400");
    assert_eq!(band(&job, "M/3/ir-le"), pair("1000", "1"));
    job.supply.phases = Phases::Single;
    assert_eq!(band(&job, "M/3/ir-le"), pair("500", "1"));
    job.supply.u0_v = d("500");
    assert_eq!(band(&job, "M/3/ir-le"), pair("500", "1"));
    job.supply.u0_v = d("501");
    assert_eq!(band(&job, "M/3/ir-le"), pair("1000", "1"));
}

/// As above; common practice: under 2 MΩ is looked into.
#[test]
fn readings_at_500_v() {
    let mut job = tn();
    let rows = [
        ("0", Outside),
        ("0.99", Outside),
        ("1.00", Query),
        ("1.99", Query),
        ("2.00", Within),
        (">999", Within),
        (">1", Within),
        (">0.5", Query),
        ("<0.01", Outside),
        ("<1", Outside),
        ("<20", Query),
        ("lim: no access", Excused),
        ("n/a: spare", Excused),
        ("1o", Query),
    ];
    table(&job, "M/3/ir-le", &rows);
    table(&job, "M/3/ir-ll", &rows);
    assert_eq!(at(&job, "M/3/ir-le").verdict, Open);
    circuit(&mut job, "M/3").equipment_connected = true;
    // Nothing is read between the conductors: a reason here leaves nothing that shows the insulation of new work.
    let rows = rows.map(|(text, verdict)| match verdict {
        Excused => (text, Query),
        verdict => (text, verdict),
    });
    table(&job, "M/3/ir-le", &rows);
    circuit(&mut job, "M/3").extra_low_voltage = true;
    circuit(&mut job, "M/3").equipment_connected = false;
    table(
        &job,
        "M/3/ir-le",
        &[
            ("0.49", Outside),
            ("0.50", Within),
            ("1.00", Within),
            ("<0.5", Outside),
        ],
    );
}

/// With equipment connected, a reading between the conductors is one of the equipment, whatever it says.
#[test]
fn between_conductors_with_equipment_connected() {
    let mut job = tn();
    circuit(&mut job, "M/3").equipment_connected = true;
    table(
        &job,
        "M/3/ir-ll",
        &[
            ("0.06", Query),
            ("50", Query),
            (">999", Query),
            ("<0.01", Query),
            ("lim: dimmer", Excused),
        ],
    );
}

/// A test of the whole board reaches the equipment of each circuit. Published: EW, May 2023, page 25.
#[test]
fn a_board_with_a_circuit_whose_equipment_stays_connected() {
    let mut job = tn();
    let how = |job: &Job| {
        let place: Place = "M/ir-le".parse().unwrap();
        let seat = job.seat(&place).unwrap();
        Judge::new(job, forms())
            .rule(&seat, place.test)
            .unwrap()
            .how
    };
    assert_eq!(band(&job, "M/ir-le"), pair("500", "1"));
    assert!(how(&job).contains("everything disconnected"));
    circuit(&mut job, "M/3").equipment_connected = true;
    assert_eq!(band(&job, "M/ir-le"), pair("250", "1"));
    let words = how(&job);
    assert!(
        words.contains("live conductors joined") && words.contains("on circuit 3 "),
        "{words}"
    );
    circuit(&mut job, "M/3").extra_low_voltage = true;
    assert_eq!(band(&job, "M/ir-le"), pair("500", "1"));
}
