//! The likely cause behind a query or a fault: each from readings that the mistake itself would give.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::Job;

fn at_20() -> Job {
    let mut job = tn();
    job.ambient_c = None;
    job
}

/// `place` typed as given is judged so, and its cause is named.
fn named(job: &Job, place: &str, text: &str, verdict: wanderlead::checks::Verdict, said: &str) {
    let finding = typed(job, place, text);
    assert_eq!(finding.verdict, verdict, "{place} {text}: {}", finding.why);
    assert!(
        finding.why.contains(said),
        "{place} {text}: {}",
        finding.why
    );
}

/// 24 m of 2.5/1.5 mm² are 0.468 Ω (IEC 60228: 7.41 + 12.1 mΩ/m).
#[test]
fn a_slipped_point() {
    let job = at_20();
    named(
        &job,
        "M/3/r1r2",
        "0.047",
        Query,
        "reads like 0.47 with the point one place off",
    );
    named(
        &job,
        "M/3/r1r2",
        "47",
        Outside,
        "reads like 0.47 with the point two places off",
    );
    named(
        &job,
        "M/3/r1r2",
        "4.6",
        Outside,
        "reads like 0.46 with the point one place off",
    );
    // 25 % from what a slip would give, just inside and just past it: 4.68 × 0.75 = 3.51, × 1.25 = 5.85 Ω.
    named(&job, "M/3/r1r2", "3.52", Outside, "reads like 0.352 ");
    for text in ["3.50", "5.86"] {
        let why = typed(&job, "M/3/r1r2", text).why;
        assert!(!why.contains("reads like"), "{text}: {why}");
    }
    // Zdb 0.20 + R1+R2 0.47 Ω.
    let mut job = at_20();
    put(
        &mut job,
        &[
            ("supply/ze", "0.19"),
            ("M/zdb", "0.20"),
            ("M/3/r1r2", "0.47"),
        ],
    );
    named(&job, "M/3/zs", "6.7", Outside, "reads like 0.67 ");
    named(&job, "M/zdb", "1.9", Outside, "reads like 0.19 ");
    // 230 V / 0.19 Ω is 1.21 kA.
    named(&job, "supply/pfc-le", "0.121", Query, "reads like 1.21 ");
    named(
        &job,
        "supply/pfc-le",
        "1210",
        Outside,
        "reads like 1210 A typed as kA",
    );
    let mut job = tt();
    put(&mut job, &[("supply/ra", "38.6")]);
    named(&job, "supply/ze", "3.86", Query, "reads like 38.6 ");
}

/// Circuit 5 is 34 m of 1.5/1 mm², 1.027 Ω; circuit 6 29 m, 0.876 Ω.
#[test]
fn another_circuit() {
    let job = at_20();
    named(
        &job,
        "M/3/r1r2",
        "1.03",
        Query,
        "fits circuit 5 lights, ground floor (1.03 Ω expected)",
    );
    // What fits two is likelier neither: 0.95 Ω lies within 6 % of none, so nothing is said.
    assert!(!typed(&job, "M/3/r1r2", "0.95").why.contains("fits circuit"));
    let mut job = at_20();
    circuit(&mut job, "M/6").cable.as_mut().unwrap().length_m = Some(d("34"));
    assert!(
        !typed(&job, "M/3/r1r2", "1.03").why.contains("fits circuit"),
        "5 and 6 both fit"
    );
    // A copy of circuit 3 reads what circuit 3 reads. It is queried for another reason: 0.8 × 0.55 Ω of a C40.
    let mut job = at_20();
    let mut copy = circuit(&mut job, "M/3").clone();
    copy.id = "33".into();
    copy.device = Some(device("C40"));
    job.boards[0].circuits.push(copy);
    let found = typed(&job, "M/33/r1r2", "0.47");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(!found.why.contains("fits circuit"), "{}", found.why);
    named(&job, "M/33/r1r2", "1.03", Query, "fits circuit 5 lights");
}

/// IEC 60228: 1.5/1 mm² has 30.2 mΩ/m; 24 m of it are 0.725 Ω instead of 0.468.
#[test]
fn another_cable() {
    let job = at_20();
    named(&job, "M/3/r1r2", "0.72", Query, "fits 1.5/1 mm²");
    named(&job, "M/3/r1r2", "0.25", Query, "fits 6/2.5 mm²");
    // 4/1.5 is 0.401 Ω, in the window: nothing to say about it.
    assert_eq!(typed(&job, "M/3/r1r2", "0.40").verdict, Within);
}

/// An open ring read over one leg has r1 + r2 and not a quarter of it.
#[test]
fn one_leg_of_a_ring() {
    let mut job = at_20();
    put(
        &mut job,
        &[("M/2/r1", "0.46"), ("M/2/rn", "0.47"), ("M/2/r2", "0.75")],
    );
    named(&job, "M/2/r1r2", "1.21", Query, "reads like one leg");
    // One cross join missing: 0.93 / 2, the same at every point.
    named(
        &job,
        "M/2/ring-ln",
        "0.465",
        Query,
        "reads like a single path",
    );
    named(&job, "M/2/ring-ln", "0.93", Query, "reads like one leg");
    assert_eq!(typed(&job, "M/2/r1r2", "0.30").verdict, Within);
}

/// S1 of the clean sample: 364.5 V and 11.38 A at 818 W/m² and 44.6 °C.
#[test]
fn strings() {
    let mut job = tt();
    put(
        &mut job,
        &[("P/S1/irradiance", "818"), ("P/S1/cell-temp", "44.6")],
    );
    named(
        &job,
        "P/S1/voc",
        "328.1",
        Outside,
        "reads like 9 modules instead of 10",
    );
    named(
        &job,
        "P/S1/voc",
        "36.45",
        Outside,
        "reads like 364.5 with the point one place off",
    );
    named(
        &job,
        "P/S1/voc",
        "72.9",
        Outside,
        "reads like 2 modules instead of 10",
    );
    named(
        &job,
        "P/S1/voc",
        "3645",
        Outside,
        "reads like 364.5 with the point",
    );
    named(&job, "P/S1/voc", "-364.5", Query, "+ and - are swapped");
    named(
        &job,
        "P/S1/dc-polarity",
        "fail",
        Outside,
        "+ and - are swapped",
    );
    // Low current alone says little; with the right voltage it is light that is missing.
    assert!(
        !typed(&job, "P/S1/isc", "9.1")
            .why
            .contains("shade, soiling, or a sensor")
    );
    put(&mut job, &[("P/S1/voc", "364.5")]);
    named(
        &job,
        "P/S1/isc",
        "9.1",
        Query,
        "shade, soiling, or a sensor",
    );
    put(&mut job, &[("P/S1/voc", "328.1")]);
    assert!(
        !typed(&job, "P/S1/isc", "9.1")
            .why
            .contains("shade, soiling, or a sensor")
    );
}

/// A cause never makes a verdict milder: all that is outside by the limit stays outside.
#[test]
fn a_cause_excuses_nothing() {
    let mut job = at_20();
    put(&mut job, &[("M/zdb", "0.20"), ("M/3/r1r2", "0.47")]);
    for text in ["2.3", "6.7", "67", "0.99999e"] {
        let want = if text.ends_with('e') { Query } else { Outside };
        assert_eq!(typed(&job, "M/3/zs", text).verdict, want, "{text}");
    }
}
