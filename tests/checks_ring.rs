//! Ring final circuits, end to end.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::Cpc;

fn ring() -> wanderlead::job::Job {
    let mut job = tn();
    job.ambient_c = Some(d("20"));
    job
}

/// Common practice: five times and 1 Ω (3.30 Ω) is outside.
/// Published: IEC 60228; 62 m of 2.5 mm² is 0.459 Ω. Common practice: ±30 %, at least 0.10 Ω.
#[test]
fn r1_against_the_length() {
    let job = ring();
    table(
        &job,
        "M/2/r1",
        &[
            ("0.31", Query),
            ("0.32", Within),
            ("0.46", Within),
            ("0.60", Within),
            ("0.61", Query),
            ("3.30", Query),
            ("3.31", Outside),
            ("80", Outside),
            (">99", Outside),
            (">0.3", Outside),
            ("0", Query),
            ("<0.01", Query),
            ("lim: furniture", Excused),
        ],
    );
    let mut unlisted = job.clone();
    circuit(&mut unlisted, "M/2")
        .cable
        .as_mut()
        .unwrap()
        .line_mm2 = d("2.6");
    table(&unlisted, "M/2/r1", &[("0.46", Within), (">99", Outside)]);
}

/// Published: Basic Electrical Installation Work, page 365: within 0.05 Ω of r1.
#[test]
fn rn_against_r1() {
    let mut job = ring();
    put(&mut job, &[("M/2/r1", "0.46")]);
    assert_eq!(limit(&job, "M/2/rn"), "0.41 to 0.51");
    table(
        &job,
        "M/2/rn",
        &[
            ("0.40", Outside),
            ("0.41", Within),
            ("0.46", Within),
            ("0.51", Within),
            ("0.52", Outside),
            (">99", Outside),
            (">0.45", Outside),
            ("<0.41", Outside),
            ("<0.5", Query),
            ("0", Outside),
            ("n/a: no neutral", Excused),
        ],
    );
}

/// Common practice: five times the length (0.750 Ω) and 1 Ω is outside, also beside a bad r1.
/// Published: IEC 60228; r2 is 12.1 / 7.41 = 1.633 times r1 for 2.5/1.5 mm², here 0.751 Ω ±30 %, at least 0.10 Ω.
#[test]
fn r2_against_r1() {
    let mut job = ring();
    put(&mut job, &[("M/2/r1", "0.46")]);
    table(
        &job,
        "M/2/r2",
        &[
            ("0.52", Query),
            ("0.53", Within),
            ("0.75", Within),
            ("0.98", Within),
            ("0.99", Query),
            ("4.75", Query),
            ("4.76", Outside),
            ("80", Outside),
            (">99", Outside),
            ("0", Query),
        ],
    );
    put(&mut job, &[("M/2/r1", "80")]);
    table(&job, "M/2/r2", &[("130", Outside)]);
    put(&mut job, &[("M/2/r1", "0.46")]);
    circuit(&mut job, "M/2").cable.as_mut().unwrap().length_m = None;
    table(&job, "M/2/r2", &[("4.76", Query), ("4.77", Outside)]);
    circuit(&mut job, "M/2").cable.as_mut().unwrap().length_m = Some(d("62"));
    circuit(&mut job, "M/2").cable.as_mut().unwrap().cpc = Cpc::Copper(d("1.3"));
    table(&job, "M/2/r2", &[("0.75", Within), (">99", Outside)]);
}

/// Without r1 the others show nothing, except that they are open.
#[test]
fn rn_and_r2_without_r1() {
    let mut job = ring();
    for missing in ["", "lim: furniture", "n/a: no ring", ">99"] {
        if !missing.is_empty() {
            put(&mut job, &[("M/2/r1", missing)]);
        }
        for place in ["M/2/rn", "M/2/r2"] {
            table(
                &job,
                place,
                &[("0.46", Query), ("50", Outside), (">99", Outside)],
            );
            assert!(typed(&job, place, "0.46").why.contains("r1 is missing"));
            assert_eq!(at(&job, place).verdict, Open);
        }
    }
}

/// Published: Basic Electrical Installation Work, page 365: (r1 + rn) / 4 at every point, here 0.23 Ω. Common practice: 30 %,
/// and above it at least 0.10 Ω (contacts only add); five times half the length (0.230 Ω) and 1 Ω is outside, also beside a bad r1 and rn.
#[test]
fn line_to_neutral_cross_joined() {
    let mut job = ring();
    table(
        &job,
        "M/2/ring-ln",
        &[("0.23", Query), (">99", Outside), ("0", Query)],
    );
    put(&mut job, &[("M/2/r1", "0.46")]);
    table(&job, "M/2/ring-ln", &[("0.23", Query), (">99", Outside)]);
    let alone = typed(&job, "M/2/ring-ln", "0.23");
    assert!(alone.why.contains("r1 or rn is missing"), "{}", alone.why);
    put(&mut job, &[("M/2/rn", "0.46")]);
    table(
        &job,
        "M/2/ring-ln",
        &[
            ("0.13", Query),
            ("0.15", Query),
            ("0.16", Within),
            ("0.23", Within),
            ("0.33", Within),
            ("0.34", Query),
            ("0.92", Query),
            ("2.15", Query),
            ("2.16", Outside),
            ("80", Outside),
            ("0", Query),
            ("<0.5", Query),
            (">99", Outside),
            (">0.2", Outside),
            ("n/a: no neutral", Excused),
        ],
    );
    put(&mut job, &[("M/2/r1", "80"), ("M/2/rn", "80")]);
    table(&job, "M/2/ring-ln", &[("40", Outside)]);
}
