//! PV strings: irradiance, Voc, Isc and insulation.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::Judge;
use wanderlead::forms::Forms;
use wanderlead::job::{Job, Layout, Place};

fn weather(job: &mut Job, irradiance: &str, cell: &str) {
    for string in ["S1", "S2"] {
        put(
            job,
            &[
                (&format!("P/{string}/irradiance"), irradiance),
                (&format!("P/{string}/cell-temp"), cell),
            ],
        );
    }
}

fn modules(job: &mut Job, n: usize) {
    if let Layout::Strings(strings) = &mut job.arrays[0].layout {
        strings[0].modules = (0..n).map(|i| format!("M{i}")).collect();
    }
}

/// Common practice: outside 20 to 2000 W/m² it is a slip of typing.
#[test]
fn irradiance() {
    table(
        &tn(),
        "P/S1/irradiance",
        &[
            ("0", Query),
            ("19", Query),
            ("20", Within),
            ("818", Within),
            ("2000", Within),
            ("2001", Query),
            ("8180", Query),
            (">1500", Query),
            ("<100", Query),
            ("lim: sensor broken", Excused),
        ],
    );
}

/// Memory: IEC 62446-1 6.4.2, 5 %. At the data sheet's conditions 10 × 38.6 V is expected: 366.7 to 405.3 V.
#[test]
fn voc_with_an_expectation() {
    let mut job = tn();
    weather(&mut job, "1000", "25");
    assert_eq!(limit(&job, "P/S1/voc"), "366.7 to 405.3");
    table(
        &job,
        "P/S1/voc",
        &[
            ("0", Outside),
            ("366.6", Outside),
            ("366.7", Within),
            ("405.3", Within),
            ("405.4", Outside),
            (">1000", Outside),
            (">400", Query),
            ("<200", Outside),
            ("lim: roof wet", Excused),
        ],
    );
    assert!(
        typed(&job, "P/S1/voc", "347.4")
            .why
            .contains("reads like 9 modules instead of 10")
    );
    assert_eq!(at(&job, "P/S1/voc").verdict, Open);
}

/// Memory: IEC 62446-1 7.2; below 400 W/m² Voc is indicative. 373.3 V at 399 W/m², derived by the single-diode model.
#[test]
fn voc_in_low_light_is_indicative() {
    let mut job = tn();
    let rows = |low| {
        [
            ("373", Within),
            ("300", low),
            ("193", low),
            ("192.9", Outside),
            ("0", Outside),
        ]
    };
    weather(&mut job, "400", "25");
    table(&job, "P/S1/voc", &rows(Outside));
    weather(&mut job, "399", "25");
    table(&job, "P/S1/voc", &rows(Query));
}

/// Without an expectation nothing is within. Common practice: below half of 386 V the string is dead.
#[test]
fn voc_and_isc_without_an_expectation() {
    for (irradiance, cell) in [
        ("", ""),
        ("818", ""),
        ("", "44"),
        ("lim: sensor broken", "44"),
        ("818", "n/a: no sensor"),
        (">1500", "44"),
        ("0", "44"),
        ("19", "44"),
        ("2001", "44"),
        ("8180", "44"),
        ("818", "446"),
    ] {
        let mut job = tn();
        for (place, text) in [("P/S1/irradiance", irradiance), ("P/S1/cell-temp", cell)] {
            if !text.is_empty() {
                put(&mut job, &[(place, text)]);
            }
        }
        table(
            &job,
            "P/S1/voc",
            &[
                ("386", Query),
                ("5000", Query),
                ("193", Query),
                ("192.9", Outside),
                ("0", Outside),
                (">1000", Query),
                ("<50", Outside),
                ("lim: roof wet", Excused),
            ],
        );
        table(
            &job,
            "P/S1/isc",
            &[
                ("13.9", Query),
                ("0.01", Query),
                ("0", Outside),
                ("0.00", Outside),
                ("lim: roof wet", Excused),
            ],
        );
        assert_eq!(
            (at(&job, "P/S1/voc").verdict, at(&job, "P/S1/isc").verdict),
            (Open, Open)
        );
    }
}

/// The range of the files counts, also where it is narrower than what the formula takes.
#[test]
fn the_range_of_irradiance_is_that_of_the_files() {
    let mut job = tn();
    weather(&mut job, "1600", "25");
    put(&mut job, &[("P/S1/voc", "390")]);
    let place: Place = "P/S1/voc".parse().unwrap();
    assert_eq!(at(&job, "P/S1/voc").verdict, Within);
    let own = include_str!("../forms/pv.ron").replace("value: \"2000\"", "value: \"1500\"");
    let forms = Forms::from_texts(&[("pv.ron".into(), own)]).unwrap();
    let judge = Judge::new(&job, &forms);
    assert_eq!(judge.place(&place).unwrap().verdict, Query);
}

/// Common practice: 10 % of 13.9 A is guidance, below half (6.95 A) the string is dead.
#[test]
fn isc_with_an_expectation() {
    let mut job = tn();
    weather(&mut job, "1000", "25");
    assert_eq!(limit(&job, "P/S1/isc"), "12.51 to 15.29");
    table(
        &job,
        "P/S1/isc",
        &[
            ("12.51", Within),
            ("12.5", Query),
            ("15.29", Within),
            ("15.3", Query),
            ("6.95", Query),
            ("6.94", Outside),
            ("0", Outside),
            ("<1", Outside),
            (">20", Query),
        ],
    );
}

/// Memory: IEC 62446-1, strings within 5 %. Common practice: 2 % of Voc, as a shorted bypass diode takes 3.3 %.
#[test]
fn string_against_string() {
    let mut job = tn();
    weather(&mut job, "1000", "25");
    put(&mut job, &[("P/S2/voc", "386"), ("P/S2/isc", "13.9")]);
    table(
        &job,
        "P/S1/voc",
        &[
            ("378.4", Within),
            ("377.5", Query),
            ("393.6", Within),
            ("394", Query),
        ],
    );
    assert!(
        typed(&job, "P/S1/voc", "373.3")
            .why
            .contains("shorted bypass diode")
    );
    table(
        &job,
        "P/S1/isc",
        &[("13.3", Within), ("13.1", Query), ("14.7", Query)],
    );
    put(&mut job, &[("P/S2/voc", "392")]);
    let far = typed(&job, "P/S1/voc", "370");
    assert_eq!(far.verdict, Query);
    assert!(far.why.contains("guide 5 %"), "{}", far.why);
    // Each kind has its own limit: 3 % for Voc here, 4 % apart.
    let own = include_str!("../forms/pv.ron").replace(
        "\"pv/string-voc\", value: \"5\"",
        "\"pv/string-voc\", value: \"3\"",
    );
    let forms = Forms::from_texts(&[("pv.ron".into(), own)]).unwrap();
    put(&mut job, &[("P/S2/voc", "386"), ("P/S1/voc", "370.6")]);
    let place: Place = "P/S1/voc".parse().unwrap();
    let why = Judge::new(&job, &forms).place(&place).unwrap().why;
    assert!(why.contains("guide 3 %"), "{why}");
}

/// Memory: IEC 62446-1 6.7, by 1.25 × Voc(STC): 10 × 38.6 V is 482.5 V, 11 are 530.75 V.
#[test]
fn insulation_by_the_voltage_of_the_string() {
    let mut job = tn();
    // Without their area nothing is expected of the modules beyond the limit.
    job.arrays[0].module.area_m2 = None;
    for (n, volts, least, under) in [
        (2, "250", "0.5", "0.49"),
        (3, "500", "1", "0.99"),
        (10, "500", "1", "0.99"),
        (11, "1000", "1", "0.99"),
        (20, "1000", "1", "0.99"),
        (21, "1500", "1", "0.99"),
    ] {
        modules(&mut job, n);
        for test in ["ir-pos", "ir-neg"] {
            let place: Place = format!("P/S1/{test}").parse().unwrap();
            let seat = job.seat(&place).unwrap();
            let rule = Judge::new(&job, forms()).rule(&seat, place.test).unwrap();
            assert_eq!(rule.test_v, Some(d(volts)), "{n} modules");
            assert_eq!(
                rule.bound.text().unwrap(),
                format!("≥ {least}"),
                "{n} modules"
            );
            table(
                &job,
                &place.to_string(),
                &[
                    (least, Within),
                    (under, Outside),
                    (">999", Within),
                    ("<0.1", Outside),
                    (">0.2", Query),
                    ("lim: wet", Excused),
                ],
            );
        }
    }
}

/// Voc falls as cells warm: a coefficient that isn't below zero is a slip of typing.
#[test]
fn coefficient_of_voc_is_below_zero() {
    for (beta, sound) in [
        ("-0.25", true),
        ("-0.01", true),
        ("0", false),
        ("0.25", false),
        ("-0.46", false),
    ] {
        let mut job = tn();
        job.arrays[0].module.beta_pct_k = Some(d(beta));
        assert_eq!(job.problems().is_empty(), sound, "{beta}");
    }
}

/// A dead or short string says nothing about the one beside it.
#[test]
fn a_faulty_string_does_not_mark_the_healthy_one() {
    let mut job = tn();
    weather(&mut job, "1000", "25");
    for (voc, isc) in [("347.4", "6.9"), ("0", "0"), ("366.6", "0.1")] {
        put(&mut job, &[("P/S2/voc", voc), ("P/S2/isc", isc)]);
        table(&job, "P/S1/voc", &[("386", Within)]);
        table(&job, "P/S1/isc", &[("13.9", Within)]);
        assert_eq!(at(&job, "P/S2/voc").verdict, Outside);
        assert_eq!(at(&job, "P/S2/isc").verdict, Outside);
    }
    // Inside its own window it does.
    put(&mut job, &[("P/S2/voc", "367"), ("P/S2/isc", "12.6")]);
    table(&job, "P/S1/voc", &[("386", Query)]);
    table(&job, "P/S1/isc", &[("13.9", Query)]);
}

/// Below 400 W/m² the window is indicative, and so is nearness to it.
#[test]
fn nothing_is_close_in_low_light() {
    for (irradiance, voc, isc) in [("400", Close, Close), ("399", Within, Within)] {
        let mut job = tn();
        for function in [
            wanderlead::job::Function::DcVoltage,
            wanderlead::job::Function::DcCurrent,
        ] {
            for tool in &mut job.instruments {
                tool.uncertainty_pct.insert(function, d("20"));
            }
        }
        weather(&mut job, irradiance, "25");
        table(&job, "P/S1/voc", &[("373", voc)]);
        table(&job, "P/S1/isc", &[("5.55", isc)]);
    }
}
