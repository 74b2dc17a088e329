//! Continuity of bonds and frames, and R1+R2 against the length.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::{CableForm, Cpc};

/// Published: IEC 60228, 10 mm² 1.83 mΩ/m. Common practice: 30 % and 0.02 Ω above it is queried, but 0.05 Ω never; three times that
/// with 0.05 Ω is outside. 8 m at 20 °C: 0.01464 × 1.3 + 0.02 = 0.039, so 0.05 Ω; three times 0.069, shown as 0.07 Ω, is 0.21 Ω.
/// 25 m: 0.04575 × 1.3 + 0.02 = 0.079 Ω.
#[test]
fn bond_with_a_length() {
    let mut job = tn();
    job.ambient_c = Some(d("20"));
    let place = "bond/oil/continuity";
    assert_eq!(limit(&job, place), "≤ 0.05");
    let mut long = job.clone();
    long.bonds[0].length_m = Some(d("25"));
    assert_eq!(limit(&long, place), "≤ 0.08");
    table(
        &job,
        place,
        &[
            ("0.05", Within),
            ("0.06", Query),
            ("0.07", Query),
            ("0.21", Query),
            ("0.22", Outside),
            (">0.01", Outside),
            (">99", Outside),
            ("<0.01", Within),
            ("lim: behind panelling", Excused),
        ],
    );
    assert_eq!(at(&job, place).verdict, Open);
    // 12 m of 10 mm² at 18 °C, as planted in mill-yard.
    job.ambient_c = Some(d("18"));
    job.bonds[0].length_m = Some(d("12"));
    table(&job, place, &[("0.31", Outside)]);
}

/// Common practice: 0.05 Ω is guidance without a length, and 0.5 Ω is no bond.
#[test]
fn bond_or_frame_without_a_length() {
    let mut job = tn();
    job.bonds[0].length_m = None;
    for place in ["bond/oil/continuity", "P/S1/continuity"] {
        assert_eq!(limit(&job, place), "≤ 0.05");
        table(
            &job,
            place,
            &[
                ("0.05", Within),
                ("0.06", Query),
                ("0.5", Query),
                ("0.51", Outside),
                (">99", Outside),
            ],
        );
    }
    // A size that no table lists has no expectation, and is judged like one without a length.
    job.bonds[0].length_m = Some(d("8"));
    job.bonds[0].mm2 = d("14");
    table(
        &job,
        "bond/oil/continuity",
        &[("0.05", Within), ("0.06", Query), (">99", Outside)],
    );
}

/// Common practice: five times the expectation and 1 Ω (3.34 Ω) is outside.
/// Published: IEC 60228. 24 m of 2.5/1.5 mm² at 20 °C is 24 × 19.51 mΩ = 0.468 Ω, ±30 %: 0.33 to 0.61 Ω.
#[test]
fn r1r2_against_the_length() {
    let mut job = tn();
    job.ambient_c = Some(d("20"));
    let place = "M/3/r1r2";
    assert_eq!(limit(&job, place), "");
    table(
        &job,
        place,
        &[
            ("0.32", Query),
            ("0.33", Within),
            ("0.47", Within),
            ("0.61", Within),
            ("0.62", Query),
            ("3.34", Query),
            ("3.35", Outside),
            ("4.7", Outside),
            ("150", Outside),
            ("0.047", Query),
            (">99", Outside),
            (">0.2", Outside),
            ("<0.01", Query),
            ("<0.5", Query),
            ("0", Query),
            ("lim: no access", Excused),
        ],
    );
    let far = typed(&job, place, "150").why;
    assert!(
        far.starts_with("150 Ω is far past ≤ 3.34 Ω: expected is 0.47 Ω from length"),
        "{far}"
    );
    // No length: compared with what Zs may be (B20, 1.75 Ω; common practice: outside past twice that), and an open is an open.
    let cable = circuit(&mut job, "M/3").cable.as_mut().unwrap();
    cable.length_m = None;
    table(
        &job,
        place,
        &[
            ("1.75", Within),
            ("1.76", Query),
            ("3.50", Query),
            ("3.51", Outside),
            ("500", Outside),
            ("0", Query),
            (">99", Outside),
        ],
    );
    // A size or armour that no table lists is no reason to miss an open conductor.
    let cable = circuit(&mut job, "M/3").cable.as_mut().unwrap();
    cable.length_m = Some(d("24"));
    cable.cpc = Cpc::Copper(d("1.3"));
    table(&job, place, &[("0.47", Within), (">99", Outside)]);
    let cable = circuit(&mut job, "M/3").cable.as_mut().unwrap();
    cable.form = CableForm::Armoured90;
    cable.cpc = Cpc::Armour(9);
    table(&job, place, &[("0.47", Within), (">99", Outside)]);
}

/// Published: Basic Electrical Installation Work, page 365: R1+R2 of a ring is (r1 + r2) / 4, here (0.46 + 0.74) / 4 = 0.30.
#[test]
fn r1r2_of_a_ring_is_a_quarter() {
    let mut job = tn();
    job.ambient_c = Some(d("20"));
    let place = "M/2/r1r2";
    // From 62 m: 62 × 19.51 mΩ / 4 = 0.302 Ω; 30 % below it, 0.10 Ω above.
    let rows = [
        ("0.20", Query),
        ("0.21", Within),
        ("0.40", Within),
        ("0.42", Query),
        ("1.2", Query),
    ];
    table(&job, place, &rows);
    // Five times and 1 Ω: 2.51 Ω, by the length also where r1 and r2 are as bad.
    let far = [("2.51", Query), ("2.52", Outside)];
    table(&job, place, &far);
    let mut bad = job.clone();
    put(&mut bad, &[("M/2/r1", "80"), ("M/2/r2", "80")]);
    table(&bad, place, &far);
    put(&mut job, &[("M/2/r1", "0.46"), ("M/2/r2", "0.74")]);
    table(
        &job,
        place,
        &[
            ("0.20", Query),
            ("0.21", Within),
            ("0.40", Within),
            ("0.41", Query),
            ("1.2", Query),
        ],
    );
}

/// Published: IEC 60228, 10 mm² 1.83 mΩ/m, 6 mm² 3.08, 2.5 mm² 7.41. Contacts and leads only add: below the expectation it is 30 %,
/// at least 0.02 Ω (common practice), and never nothing where a tester that resolves 0.01 Ω (BS EN 61557-4, from memory) shows it.
#[test]
fn a_short_cable_does_not_read_nothing() {
    let mut job = tn();
    job.ambient_c = Some(d("20"));
    // 12 m of 10/10 mm²: 12 × 3.66 mΩ = 0.044 Ω, of which the line is 0.022 Ω.
    table(
        &job,
        "M/1/r1r2",
        &[
            ("0", Query),
            ("0.00", Query),
            ("0.01", Query),
            ("0.02", Within),
            ("0.04", Within),
            ("0.14", Within),
            ("0.15", Query),
            ("<0.01", Query),
            ("<0.5", Query),
        ],
    );
    let why = typed(&job, "M/1/r1r2", "0.00").why;
    assert!(
        why.contains("less than the line conductor alone, about 0.022 Ω"),
        "{why}"
    );
    // 11 m of 6/2.5 mm²: 11 × 10.49 mΩ = 0.115 Ω, of which the line is 0.034 Ω.
    table(
        &job,
        "M/4/r1r2",
        &[
            ("0.02", Query),
            ("0.07", Query),
            ("0.08", Within),
            ("0.12", Within),
            ("<0.10", Query),
            ("<0.5", Query),
        ],
    );
    // 3 m of 10/10 mm²: 0.011 Ω shows as 0.01; 1 m is less than half of the last digit.
    let length = |job: &mut wanderlead::job::Job, m: &str| {
        let cable = circuit(job, "M/1").cable.as_mut().unwrap();
        cable.length_m = Some(d(m));
    };
    length(&mut job, "3");
    table(&job, "M/1/r1r2", &[("0.00", Query), ("0.01", Within)]);
    length(&mut job, "1");
    table(
        &job,
        "M/1/r1r2",
        &[("0.00", Within), ("<0.01", Within), ("<0.5", Query)],
    );
    // Without a length a range that ends somewhere shows nothing.
    circuit(&mut job, "M/1").cable.as_mut().unwrap().length_m = None;
    table(&job, "M/1/r1r2", &[("0.00", Query), ("<0.5", Query)]);
}
