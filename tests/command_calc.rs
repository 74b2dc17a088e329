//! `calc` from the command line, against published or derived examples.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use assert_cmd::Command;
use serde_json::{Value, json};

/// Sets nothing, so that the settings of whoever runs this don't count.
const SETTINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/settings.ron");

fn calc(words: &str) -> Command {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", SETTINGS)
        .arg("calc");
    command.args(words.split(' '));
    command
}

fn object(words: &str) -> Value {
    let output = calc(words).arg("--json").output().unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{words}: {said}");
    assert!(said.is_empty(), "{words}: {said}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn refused(words: &str) -> String {
    let output = calc(words).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{words}");
    assert!(output.stdout.is_empty(), "{words}");
    String::from_utf8(output.stderr)
        .unwrap()
        .trim_end()
        .to_string()
}

/// Words, name of the result, what it should be, how near.
type Row = (&'static str, &'static str, f64, f64);

fn check(rows: &[Row]) {
    for (words, name, want, near) in rows {
        let object = object(words);
        let got = object[*name].as_f64();
        assert!(
            got.is_some_and(|g| (g - want).abs() <= *near),
            "{words}: {name} is {got:?}, not {want}"
        );
        assert_eq!(object["schema"], 1);
        assert_eq!(object["calc"], words.split(' ').next().unwrap());
    }
}

#[test]
fn loop_impedance_and_fault_current() {
    check(&[
        // Published: NICEIC Connections, Spring 2015, page 61: 0.91 Ω gives 0.72 Ω.
        ("zs-limit device=bs88-3 rating_a=32", "table_ohm", 0.91, 0.0),
        ("zs-limit device=bs88-3 rating_a=32", "site_ohm", 0.72, 0.0),
        // Derived: 0.95 × 230 / (5 × 32) = 1.37; 0.8 × 1.37 rounded down.
        (
            "zs-limit device=bs-en-60898 curve=B rating_a=32",
            "table_ohm",
            1.37,
            0.0,
        ),
        (
            "zs-limit device=bs-en-60898 curve=b rating_a=32.0 time_s=5",
            "site_ohm",
            1.09,
            0.0,
        ),
        (
            "zs-limit device=bs-en-61009 curve=C rating_a=16",
            "table_ohm",
            1.37,
            0.0,
        ),
        // Published: diydoctor.org.uk forum t2402.
        ("zs ze_ohm=0.6 r1r2_ohm=0.36", "ohm", 0.96, 1e-9),
        // Published: theiet.org forum thread 50212, quoting GN3 appendix 5.
        ("fault-current z_ohm=0.3", "ka", 0.77, 0.005),
        // Derived: 400 / 0.5 / 1000.
        ("fault-current z_ohm=0,5 u_v=400", "ka", 0.8, 1e-9),
        // Derived: 353 √0.1 / 115 and 1150 √0.4 / 143.
        ("cpc-min i_a=353 t_s=0.1 k=115", "mm2", 0.97, 0.005),
        ("cpc-min i_a=1150 t_s=0.4 k=143", "mm2", 5.09, 0.005),
    ]);
}

#[test]
fn residual_current_devices() {
    check(&[
        // Published: an instrument manual, table of RA at 50 V.
        ("rcd-zs idn_ma=10", "max_ohm", 5000.0, 0.0),
        ("rcd-zs idn_ma=30", "max_ohm", 1667.0, 0.0),
        ("rcd-zs idn_ma=300", "max_ohm", 167.0, 0.0),
        // Derived: 50 V / 0.07 A = 714.28, rounded down where no table has it.
        ("rcd-zs idn_ma=70", "max_ohm", 714.0, 0.0),
        // Published: IET Wiring Matters, July 2022.
        ("rcd-time kind=general multiple=1", "max_ms", 300.0, 0.0),
        ("rcd-time kind=general multiple=5", "max_ms", 40.0, 0.0),
        ("rcd-time kind=s multiple=1", "max_ms", 500.0, 0.0),
        ("rcd-time kind=S multiple=1.0", "min_ms", 130.0, 0.0),
        ("rcd-time kind=general multiple=0.5", "min_ms", 2000.0, 0.0),
    ]);
    assert_eq!(
        object("rcd-time kind=general multiple=1")["min_ms"],
        Value::Null
    );
    assert_eq!(
        object("rcd-time kind=general multiple=0.5")["max_ms"],
        Value::Null
    );
}

#[test]
fn continuity() {
    check(&[
        // Published: electriciansforums.net, 2394 notes, page 23.
        (
            "r1r2 line_mm2=2.5 cpc_mm2=1.5 length_m=22",
            "ohm",
            0.429,
            0.0005,
        ),
        // Published: Locke, Guide to the Wiring Regulations, appendix 4, Table 4.3.
        (
            "r1r2 line_mm2=1.5 cpc_mm2=1.0 length_m=50",
            "ohm",
            1.51,
            0.006,
        ),
        (
            "r1r2 line_mm2=4 cpc_mm2=1.5 length_m=50",
            "ohm",
            0.84,
            0.006,
        ),
        ("r1r2 line_mm2=10 cpc_mm2=4 length_m=50", "ohm", 0.32, 0.006),
        // Published: diydoctor.org.uk forum t2402: 30.2 mΩ/m × 10 m × 1.2.
        (
            "r1r2 line_mm2=1.5 cpc_mm2=1 length_m=10",
            "ohm_operating",
            0.36,
            0.005,
        ),
        // Derived: 16.71 mΩ/m × 18 m × (1 + 0.004 (10 - 20)); operating doesn't depend on the day.
        (
            "r1r2 line_mm2=4 cpc_mm2=1.5 length_m=18 temp_c=10",
            "ohm",
            0.289,
            0.001,
        ),
        (
            "r1r2 line_mm2=4 cpc_mm2=1.5 length_m=18 temp_c=10",
            "ohm_operating",
            0.361,
            0.001,
        ),
        // Basic Electrical Installation Work, page 365: (r1 + rn) / 4 and (r1 + r2) / 4.
        (
            "ring r1_ohm=0.52 rn_ohm=0.52 r2_ohm=0.86",
            "ln_ohm",
            0.26,
            0.0005,
        ),
        (
            "ring r1_ohm=0.52 rn_ohm=0.52 r2_ohm=0.86",
            "r1r2_ohm",
            0.345,
            0.0005,
        ),
    ]);
    for (words, verdict) in [
        ("ring r1_ohm=0.52 rn_ohm=0.57 r2_ohm=0.86", "within"),
        ("ring r1_ohm=0.52 rn_ohm=0.58 r2_ohm=0.86", "outside"),
        ("ring r1_ohm=0.52 rn_ohm=0.52 r2_ohm=2.60", "query"),
        ("ring r1_ohm=0.52 rn_ohm=>999 r2_ohm=0.86", "outside"),
    ] {
        assert_eq!(object(words)["verdict"], verdict, "{words}");
    }
}

#[test]
fn voltage() {
    check(&[
        // Derived: 11 mV/A/m × 16 A × 20 m.
        (
            "voltage-change mv_a_m=11 i_a=16 length_m=20",
            "v",
            3.52,
            1e-9,
        ),
        (
            "voltage-change mv_a_m=11 i_a=16 length_m=20",
            "percent",
            1.53,
            0.005,
        ),
        (
            "voltage-change line_mm2=4 i_a=16 length_m=20",
            "v",
            3.52,
            1e-9,
        ),
        // Derived: 2.9 mV/A/m (16 mm² armoured) × 32 A × 20 m.
        (
            "voltage-change mv_a_m=2.9 i_a=32 length_m=20 u_v=400",
            "v",
            1.856,
            1e-9,
        ),
        (
            "voltage-change mv_a_m=2.9 i_a=32 length_m=20 u_v=400",
            "percent",
            0.464,
            1e-9,
        ),
        // Derived: 2 × 7.41 mΩ/m × 1.2 × 1.6 A × 1.8 m × 7 × 8 / 2.
        (
            "trunk-rise n=7 i_a=1.6 spacing_m=1.8 line_mm2=2.5",
            "v",
            1.4341,
            0.0001,
        ),
        (
            "trunk-rise n=7 i_a=1.6 spacing_m=1.8 line_mm2=2.5",
            "percent",
            0.6235,
            0.0001,
        ),
        (
            "trunk-rise n=7 i_a=1.6 spacing_m=1.8 line_mm2=2.5 temp_c=20",
            "v",
            1.1951,
            0.0001,
        ),
    ]);
}

#[test]
fn arrays_insulation_and_connection() {
    check(&[
        // Derived with pvlib, single-diode model, an invented module of 38.6 V, 13.9 A, 54 cells.
        (
            "pv-voc voc_v=38.6 modules=1 beta_pct_k=-0.26 temp_c=45 irradiance_w_m2=800 cells=54",
            "v",
            36.262,
            0.001,
        ),
        (
            "pv-voc voc_v=38.6 modules=1 beta_pct_k=-0.26 temp_c=10 irradiance_w_m2=500 cells=54",
            "v",
            39.192,
            0.001,
        ),
        (
            "pv-voc voc_v=38.6 modules=10 beta_pct_k=-0.26 temp_c=25",
            "v",
            386.0,
            1e-6,
        ),
        (
            "pv-isc isc_a=13.9 alpha_pct_k=0.045 temp_c=45 irradiance_w_m2=800",
            "a",
            11.221,
            0.005,
        ),
        // Derived: 1.25 × 10 × 38.6 V is the 500 V test, eleven modules the 1000 V test.
        (
            "pv-insulation voc_v=38.6 modules=10",
            "system_v",
            482.5,
            1e-9,
        ),
        ("pv-insulation voc_v=38.6 modules=10", "test_v", 500.0, 0.0),
        (
            "pv-insulation voc_v=38.6 modules=11",
            "system_v",
            530.75,
            1e-9,
        ),
        ("pv-insulation voc_v=38.6 modules=11", "test_v", 1000.0, 0.0),
        ("pv-insulation voc_v=38.6 modules=2", "min_mohm", 0.5, 0.0),
        // BS 7671 Table 64, recalled: both edges.
        ("insulation nominal_v=50", "test_v", 250.0, 0.0),
        ("insulation nominal_v=50", "min_mohm", 0.5, 0.0),
        ("insulation nominal_v=50.1", "test_v", 500.0, 0.0),
        ("insulation nominal_v=500.1", "test_v", 1000.0, 0.0),
        // Derived: 1 / (1/200 + 1/50 + 1/20).
        ("parallel r_mohm=200,50,20", "mohm", 13.33, 0.005),
        // Published: Energy Networks Association: the sum per phase counts.
        ("connection amps=13,13", "total_a", 26.0, 1e-9),
    ]);
    assert_eq!(object("connection amps=13,13")["procedure"], "G99");
    assert_eq!(object("connection amps=5.1,5.3,5.6")["procedure"], "G98");
    assert_eq!(object("connection amps=16.01")["procedure"], "G99");
}

#[test]
fn the_object_holds_the_input_and_the_source() {
    let object = object("zs-limit device=bs88-3 rating_a=32");
    assert_eq!(
        object["input"],
        json!({"device": "bs88-3", "rating_a": 32, "time_s": 0.4})
    );
    assert_eq!(object["sources"][0]["limit"], "zs/bs88-3/0.4s/32");
    assert!(!object["sources"][0]["source"].as_str().unwrap().is_empty());
    assert!(["published", "memory"].contains(&object["sources"][0]["mark"].as_str().unwrap()));
}

#[test]
fn lines_for_a_person_name_unit_and_mark() {
    let output = calc("fault-current z_ohm=0.3").output().unwrap();
    assert_eq!(
        String::from_utf8(output.stdout).unwrap(),
        "ka   0.7667 kA\nwhy  U / Z\n"
    );
    let output = calc("rcd-time kind=general multiple=1").output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(
        text.starts_with("max_ms  300 ms\nmin_ms  none\nwhy     one a.c. test"),
        "{text}"
    );
    assert!(
        text.contains("[published]") || text.contains("[memory]"),
        "{text}"
    );
}

#[test]
fn what_is_refused_says_what_would_be_taken() {
    for (words, want) in [
        (
            "zs-limits",
            "no calculation is called `zs-limits`; known: zs-limit, rcd-zs, rcd-time, r1r2, ring, zs, fault-current, \
             cpc-min, voltage-change, trunk-rise, pv-voc, pv-isc, pv-insulation, insulation, parallel, connection",
        ),
        (
            "zs ze_ohm=0.35 r1r2=0.4",
            "`zs` has no key `r1r2`; it takes ze_ohm=0.35 r1r2_ohm=0.43",
        ),
        (
            "zs 0.35 0.4",
            "`0.35` is not key=value; `zs` takes ze_ohm=0.35 r1r2_ohm=0.43",
        ),
        (
            "zs ze_ohm=0.35",
            "`r1r2_ohm` is missing: R1+R2 in Ω, such as r1r2_ohm=0.43",
        ),
        (
            "zs ze_ohm=1 ze_ohm=2 r1r2_ohm=1",
            "`ze_ohm` is given twice; give it once",
        ),
        (
            "zs ze_ohm= r1r2_ohm=1",
            "`ze_ohm` has no value; it is Ze or Zdb in Ω, such as ze_ohm=0.35",
        ),
        (
            "zs ze_ohm=-1 r1r2_ohm=0.4",
            "`ze_ohm` is -1; it can be from 0 to 1000000, such as ze_ohm=0.35",
        ),
        (
            "zs ze_ohm=1e3 r1r2_ohm=0.4",
            "`ze_ohm` is `1e3`, which is not a number; it can be from 0 to 1000000, such as ze_ohm=0.35",
        ),
        (
            "fault-current z_ohm=0",
            "`z_ohm` is 0; it can be from 0.0001 to 1000000, such as z_ohm=0.35",
        ),
        (
            "zs-limit device=bs-en-60898 rating_a=32",
            "`curve` is missing: a bs-en-60898 has the curve B, C or D, such as curve=B",
        ),
        (
            "zs-limit device=bs-en-60898 curve=B rating_a=32 time_s=6",
            "`time_s` is 6; it can be from 0.1 to 5, such as time_s=0.4",
        ),
        (
            "zs-limit device=bs88-3 curve=B rating_a=32",
            "`curve` does not go with bs88-3: a fuse has none; leave it out",
        ),
        (
            "zs-limit device=fuse rating_a=32",
            "`device` is `fuse`; it can be bs-en-60898, bs-en-61009, bs88-2, bs88-3, bs3036, such as device=bs-en-60898",
        ),
        (
            "zs-limit device=bs88-2 rating_a=7",
            "`rating_a` is 7; the table has 2, 4, 6, 10, 16, 20, 25, 32, such as rating_a=2",
        ),
        (
            "zs-limit device=bs88-2 rating_a=6 time_s=0.2",
            "`time_s` is 0.2; there are tables of bs88-2 for 0.4 and 5, such as time_s=0.4",
        ),
        (
            "rcd-time kind=general multiple=2",
            "`multiple` is 2; it can be 0.5, 1 or 5, such as multiple=1",
        ),
        (
            "pv-insulation voc_v=38.6 modules=2.5",
            "`modules` is 2.5; it can be a whole number from 1 to 1000, such as modules=10",
        ),
        (
            "pv-insulation voc_v=38.6 modules=1001",
            "`modules` is 1001; it can be from 1 to 1000, such as modules=10",
        ),
        (
            "parallel r_mohm=200,,20",
            "`r_mohm` is ``, which is not a number; it can be from 0 to 1000000000, such as r_mohm=200",
        ),
        (
            "voltage-change i_a=16 length_m=20",
            "give one of `mv_a_m` and `line_mm2`, such as mv_a_m=11 or line_mm2=4",
        ),
        (
            "trunk-rise n=7 i_a=1.6 spacing_m=1.8 line_mm2=3",
            "`line_mm2` is 3; the table has 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, such as line_mm2=1",
        ),
    ] {
        assert_eq!(refused(words), want, "{words}");
    }
}
