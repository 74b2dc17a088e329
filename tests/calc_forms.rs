//! The limit files: complete, honest about their sources, and in agreement with the formulas and sums they come from.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "data/limits.rs"]
mod limits;

use std::collections::{BTreeMap, BTreeSet};

use limits::{Limits, Mark, NAMES, file, text};
use rust_decimal::Decimal;
use wanderlead::calc::*;
use wanderlead::job::{CableForm, DeviceStandard, Function, Unit};

#[test]
fn ids_are_unique_and_every_source_is_used() {
    let mut ids = BTreeSet::new();
    for name in NAMES {
        let file = file(name);
        assert!(!file.title.is_empty(), "{name}");
        assert!(
            text(name).starts_with("// "),
            "{name}.ron doesn't say how it is edited"
        );
        let mut used = BTreeSet::new();
        for limit in file.limits {
            let value: Decimal = limit
                .value
                .parse()
                .unwrap_or_else(|e| panic!("{}: {e}", limit.id));
            // Frost is a limit too.
            let cold = limit.unit == Unit::Celsius && value > Decimal::from(-60);
            assert!(value > Decimal::ZERO || cold, "{}", limit.id);
            assert!(ids.insert(limit.id.clone()), "{} twice", limit.id);
            assert!(
                file.sources.contains_key(&limit.source),
                "{}: no source {}",
                limit.id,
                limit.source
            );
            used.insert(limit.source);
        }
        // RON keeps the last of two equal keys without a word, so they are counted in the text.
        let written = text(name).matches(", checked_against_current: ").count();
        assert_eq!(
            written,
            file.sources.len(),
            "{name}: a source is written twice"
        );
        assert_eq!(
            used,
            file.sources.into_keys().collect(),
            "{name}: a source is not used"
        );
    }
}

#[test]
fn sources_say_how_they_are_known() {
    for name in NAMES {
        for (key, source) in file(name).sources {
            let text = &source.text;
            assert!(
                !source.checked_against_current,
                "{name} {key}: nobody has compared it yet"
            );
            assert!(!source.edition.is_empty(), "{name} {key}");
            match source.mark {
                Mark::Memory => assert!(text.contains("recalled"), "{name} {key}: {text}"),
                Mark::CommonPractice => {
                    assert!(text.starts_with("Common practice"), "{name} {key}: {text}")
                }
                Mark::Published | Mark::Derived => {
                    assert!(!text.starts_with("Common practice"), "{name} {key}: {text}")
                }
            }
        }
    }
}

#[test]
fn circuit_breaker_tables_follow_the_formula() {
    // Derived: Cmin x U0 / Ia, regulation 411.4.4, with Ia 5, 10, 20 In; tables round to 0.01.
    let limits = Limits::load();
    let (u0, cmin) = (limits.number("supply/u0"), limits.number("zs/cmin"));
    for curve in ["B", "C", "D"] {
        let multiple = limits.number(&format!("zs/multiple/{curve}"));
        let prefix = format!("zs/circuit-breaker/{curve}/");
        let rows = limits.below(&prefix);
        assert_eq!(rows.len(), 13, "{curve}");
        for (rating, table) in rows {
            let ia = operating_current_a(multiple, rating.parse().unwrap()).unwrap();
            let exact = zs_max_ohm(u0, cmin, ia).unwrap();
            assert!(
                (table - exact).abs() <= 0.005 + 1e-9,
                "{curve}{rating}: {table}, formula {exact}"
            );
        }
    }
}

#[test]
fn fuse_tables_imply_their_operating_currents() {
    // Derived: Ia = 0.95 x 230 V / Zs of BS 7671 Tables 41.2 and 41.4 (recalled), reckoned apart from the files.
    let tables: [(&str, &[(&str, f64)]); 6] = [
        (
            "bs88-2/0.4s",
            &[
                ("2", 6.6),
                ("4", 14.0),
                ("6", 28.0),
                ("10", 47.0),
                ("16", 89.9),
                ("20", 130.1),
                ("25", 169.4),
                ("32", 220.7),
            ],
        ),
        (
            "bs88-2/5s",
            &[
                ("2", 5.0),
                ("4", 10.4),
                ("6", 18.2),
                ("10", 32.1),
                ("16", 54.6),
                ("20", 78.0),
                ("25", 99.3),
                ("32", 128.5),
                ("40", 168.1),
                ("50", 220.7),
                ("63", 280.1),
                ("80", 397.3),
                ("100", 520.2),
                ("125", 682.8),
                ("160", 809.3),
                ("200", 1213.9),
            ],
        ),
        (
            "bs88-3/0.4s",
            &[("5", 22.0), ("16", 95.0), ("20", 113.2), ("32", 240.1)],
        ),
        (
            "bs88-3/5s",
            &[
                ("5", 15.0),
                ("16", 56.0),
                ("20", 68.3),
                ("32", 136.6),
                ("45", 218.5),
                ("63", 321.3),
                ("80", 428.4),
                ("100", 575.0),
            ],
        ),
        (
            "bs3036/0.4s",
            &[("5", 24.0), ("15", 89.9), ("20", 130.1), ("30", 210.1)],
        ),
        (
            "bs3036/5s",
            &[
                ("5", 13.0),
                ("15", 43.0),
                ("20", 60.0),
                ("30", 87.1),
                ("45", 144.7),
                ("60", 204.2),
                ("100", 428.4),
            ],
        ),
    ];
    let limits = Limits::load();
    for (table, rows) in tables {
        assert_eq!(
            limits.below(&format!("zs/{table}/")).len(),
            rows.len(),
            "{table}"
        );
        for (rating, ia) in rows {
            let zs = limits.number(&format!("zs/{table}/{rating}"));
            let implied = limits.number("zs/cmin") * limits.number("supply/u0") / zs;
            assert!(
                (implied - ia).abs() <= 0.051,
                "{table}/{rating}: {zs} Ω implies {implied} A, not {ia} A"
            );
        }
    }
    // A slower fuse table must not ask for a lower impedance, and the published point stands.
    for (id, zs) in limits.below("zs/bs88-3/0.4s/") {
        assert!(zs <= limits.number(&format!("zs/bs88-3/5s/{id}")), "{id}");
    }
    // Published: NICEIC Connections, Spring 2015, page 61.
    assert_eq!(limits.decimal("zs/bs88-3/0.4s/32"), "0.91".parse().unwrap());
}

#[test]
fn pairs_of_conductors_add_up_to_the_published_sums() {
    // Published: Locke, Guide to the Wiring Regulations, appendix 4, Tables 4.2 and 4.3.
    let published = [
        ("1.5", "1", 30.2),
        ("2.5", "1.5", 19.51),
        ("4", "1.5", 16.71),
        ("6", "2.5", 10.49),
        ("10", "4", 6.44),
        ("16", "6", 4.23),
        ("2.5", "2.5", 14.82),
        ("4", "4", 9.22),
        ("6", "6", 6.16),
        ("10", "10", 3.66),
        ("16", "16", 2.3),
    ];
    // Derived: sums of IEC 60228.
    let derived = [
        ("1", "1", 36.2),
        ("4", "2.5", 12.02),
        ("6", "4", 7.69),
        ("10", "6", 4.91),
        ("16", "10", 2.98),
        ("25", "10", 2.557),
        ("25", "16", 1.877),
        ("35", "16", 1.674),
    ];
    let limits = Limits::load();
    let of = |mm2| limits.number(&format!("conductor/class2/{mm2}"));
    for (line, cpc, sum) in published.into_iter().chain(derived) {
        let got = r1r2_ohm(of(line), of(cpc), 1000.0).unwrap();
        assert!(
            (got - sum).abs() < 1e-9,
            "{line}/{cpc}: {got}, published {sum} mΩ/m"
        );
    }
}

#[test]
fn temperature_factors_follow_the_coefficient() {
    let limits = Limits::load();
    let factor = |t| {
        temperature_factor(
            limits.number("temp/alpha"),
            t,
            limits.number("temp/reference"),
        )
        .unwrap()
    };
    // Derived: 1 + 0.004 (T - 20); 1.20 and 1.28 recalled from IET On-Site Guide Table I3.
    for (name, t) in [("60c", 60.0), ("70c", 70.0), ("90c", 90.0)] {
        assert!(
            (limits.number(&format!("temp/operating/{name}")) - factor(t)).abs() < 1e-9,
            "{name}"
        );
    }
    // Published: k_t of IEC 60228 on uecables.com, which leads from T back to 20 °C.
    for (t, k) in [
        (5.0, 1.064),
        (10.0, 1.042),
        (15.0, 1.02),
        (25.0, 0.98),
        (30.0, 0.962),
        (70.0, 0.833),
        (90.0, 0.781),
    ] {
        let back = ohm_at_reference(
            1.0,
            limits.number("temp/alpha"),
            t,
            limits.number("temp/reference"),
        )
        .unwrap();
        assert!((back - k).abs() < 0.0006, "{t} °C: {back}, published {k}");
    }
}

#[test]
fn voltage_drop_tables_agree_with_resistance() {
    // Derived: 2 x resistance of IEC 60228 at operating temperature; between lines √3 instead of 2. Tables round, and
    // from 25 mm² up hold a little reactance; flexible cores are laid longer.
    let limits = Limits::load();
    let rows = [
        ("flat-twin-earth-70", "class2", "70c", 2.0, 2.5, 7),
        ("singles-70", "class2", "70c", 2.0, 2.5, 7),
        ("armoured-90", "class2", "90c", 2.0, 2.5, 8),
        ("armoured-90-3ph", "class2", "90c", 3.0_f64.sqrt(), 3.0, 8),
        ("flexible", "class5", "60c", 2.0, 5.0, 3),
    ];
    for (cable, class, temp, conductors, tolerance_pct, sizes) in rows {
        let prefix = format!("mv/{cable}/");
        let table = limits.below(&prefix);
        assert_eq!(table.len(), sizes, "{cable}");
        for (mm2, mv) in table {
            let r = limits.number(&format!("conductor/{class}/{mm2}"))
                * limits.number(&format!("temp/operating/{temp}"));
            let off = (mv / (conductors * r) - 1.0) * 100.0;
            assert!(
                off.abs() < tolerance_pct,
                "{cable} {mm2} mm²: {mv} mV/A/m is {off:.1} % off"
            );
        }
    }
}

#[test]
fn resistance_falls_with_size_and_cores() {
    // Derived: more metal, less resistance; finds two values that changed places.
    let limits = Limits::load();
    let sorted = |prefix: &str| {
        let mut rows: Vec<(f64, f64)> = limits
            .below(prefix)
            .into_iter()
            .map(|(mm2, r)| (mm2.parse().unwrap(), r))
            .collect();
        rows.sort_by(|a, b| a.0.total_cmp(&b.0));
        rows
    };
    let series = [
        "conductor/class2/",
        "conductor/class5/",
        "conductor/class5-tinned/",
        "armour/2/",
        "armour/3/",
        "armour/4/",
        "armour/5/",
    ];
    for (prefix, count) in series.into_iter().zip([12, 8, 8, 8, 8, 8, 4]) {
        let rows = sorted(prefix);
        assert_eq!(rows.len(), count, "{prefix}");
        for pair in rows.windows(2) {
            assert!(pair[1].1 < pair[0].1, "{prefix}: {pair:?}");
        }
    }
    for cores in 3..=5 {
        for (mm2, r) in limits.below(&format!("armour/{cores}/")) {
            assert!(
                r < limits.number(&format!("armour/{}/{mm2}", cores - 1)),
                "armour/{cores}/{mm2}"
            );
        }
    }
    for (mm2, r) in limits.below("conductor/class5/") {
        assert!(
            r > limits.number(&format!("conductor/class2/{mm2}")),
            "class 5, {mm2}"
        );
        assert!(
            r < limits.number(&format!("conductor/class5-tinned/{mm2}")),
            "tinned, {mm2}"
        );
    }
}

#[test]
fn values_that_follow_from_others() {
    let limits = Limits::load();
    // Derived: 50 V / IΔn, rounded to the ohm.
    let ra = limits.below("rcd/ra/");
    assert_eq!(ra.len(), 6);
    for (idn, ohm) in ra {
        let exact =
            rcd_zs_max_ohm(limits.number("rcd/touch-voltage"), idn.parse().unwrap()).unwrap();
        assert!(
            (ohm - exact).abs() <= 0.5,
            "{idn} mA: {ohm}, formula {exact}"
        );
    }
    // Derived: 230 V x 0.80, 1.14, 1.19 (EREC G98 Table 2, recalled).
    let u0 = limits.number("supply/u0");
    for (stage, part) in [("uv", 0.80), ("ov1", 1.14), ("ov2", 1.19)] {
        assert!(
            (limits.number(&format!("grid/g98/{stage}/volts")) - u0 * part).abs() < 0.01,
            "{stage}"
        );
    }
    // Published: Basic Electrical Installation Work, page 313: 6.9 V and 11.5 V.
    for (kind, volts) in [("lighting", 6.9), ("other", 11.5)] {
        let percent = percent_of(volts, u0).unwrap();
        assert!(
            (limits.number(&format!("drop/{kind}")) - percent).abs() < 1e-9,
            "{kind}"
        );
    }
    // Derived: half the square root of three; ratio of the areas.
    assert!((limits.number("supply/line-factor") - 3.0_f64.sqrt() / 2.0).abs() < 0.0005);
    assert!((limits.number("ring/ratio-2.5-1.5") - 2.5 / 1.5).abs() < 0.005);
}

#[test]
fn every_key_of_a_job_has_its_limits() {
    let limits = Limits::load();
    let functions = [
        Function::Continuity,
        Function::Insulation,
        Function::Loop,
        Function::FaultCurrent,
        Function::Rcd,
        Function::Electrode,
        Function::DcVoltage,
        Function::DcCurrent,
        Function::AcCurrent,
        Function::PvInsulation,
        Function::Irradiance,
        Function::Temperature,
    ];
    for function in functions {
        assert_eq!(
            limits.unit(&format!("uncertainty/{}", function.key())),
            Unit::Percent
        );
    }
    assert_eq!(limits.below("uncertainty/").len(), functions.len());
    for standard in DeviceStandard::ALL {
        for time in ["0.4s", "5s"] {
            let rows = limits
                .below(&format!("zs/{}/{time}/", standard.key()))
                .len();
            assert_eq!(rows > 0, !standard.has_curve(), "{}", standard.name());
        }
    }
    for form in [
        CableForm::FlatTwinEarth70,
        CableForm::Singles70,
        CableForm::Armoured90,
        CableForm::Flexible,
    ] {
        assert_eq!(
            limits.unit(&format!("mv/{}/2.5", form.key())),
            Unit::MillivoltPerAmpMetre
        );
    }
    let bands = [
        insulation_band(12.0, 50.0, 500.0),
        insulation_band(230.0, 50.0, 500.0),
        insulation_band(690.0, 50.0, 500.0),
    ];
    for band in bands {
        assert_eq!(
            limits.unit(&format!("ir/{}/test", band.unwrap().key())),
            Unit::Volt
        );
    }
    for system_v in [100.0, 400.0, 700.0, 1200.0] {
        let band = pv_insulation_band(
            system_v,
            limits.number("pv-ir/1/below"),
            limits.number("pv-ir/2/below"),
            limits.number("pv-ir/3/below"),
        );
        assert_eq!(
            limits.unit(&format!("pv-ir/{}/min", band.unwrap().key())),
            Unit::Megohm
        );
    }
}

#[test]
fn values_stand_as_their_sources_have_them() {
    let niceic =
        "published: NICEIC article on RCD operating times, Table 1, and building.co.uk 1004419";
    let beiw = "published: Basic Electrical Installation Work, page 370";
    let ew = "published: EW, May 2023, page 25";
    let connections = "published: NICEIC Connections, Spring 2018, page 47";
    let table_64 = "memory: BS 7671 Table 64 and 643.3";
    let iec = "memory: IEC 62446-1 6.7";
    let times = "memory: BS 7671 411.3.2";
    let pas = "PAS 63100 as quoted by gb-sol and MCS pages";
    let ena = "published: Energy Networks Association pages";
    let g98 = "memory: EREC G98 Table 2 and 10.3.4";
    let pocket = "published: NICEIC Pocket Guide 14";
    let s712 = "memory: BS 7671 section 712";
    let rows = [
        ("rcd/general/1x/max", "300", niceic),
        ("rcd/s/1x/min", "130", niceic),
        ("rcd/s/1x/max", "500", niceic),
        ("rcd/general/5x/max", "40", niceic),
        ("rcd/s/5x/min", "50", niceic),
        ("rcd/s/5x/max", "150", niceic),
        ("rcd/half/hold", "2000", beiw),
        ("ir/up-to-500/test", "500", ew),
        ("ir/up-to-500/min", "1", ew),
        ("ir/equipment-connected/test", "250", ew),
        ("ir/equipment-connected/min", "1", table_64),
        ("ir/above-500/test", "1000", table_64),
        ("ir/above-500/min", "1", table_64),
        ("ir/extra-low-voltage/test", "250", connections),
        ("ir/extra-low-voltage/min", "0.5", connections),
        ("pv-ir/1/test", "250", iec),
        ("pv-ir/2/test", "500", iec),
        ("pv-ir/3/test", "1000", iec),
        ("pv-ir/4/test", "1500", iec),
        ("pv-ir/1/min", "0.5", iec),
        ("pv-ir/2/min", "1", iec),
        ("pv-ir/3/min", "1", iec),
        ("pv-ir/4/min", "1", iec),
        ("pv-ir/1/below", "120", iec),
        ("pv-ir/2/below", "500", iec),
        ("pv-ir/3/below", "1000", iec),
        ("pv/system-factor", "1.25", iec),
        ("pv/isc-max-factor", "1.25", s712),
        ("pv/voc-max-factor", "1.2", s712),
        ("time/tn/final", "0.4", times),
        ("time/tn/distribution", "5", times),
        ("time/tt/final", "0.2", times),
        ("time/tt/distribution", "1", times),
        ("grid/g98-up-to", "16", ena),
        ("grid/notify", "28", ena),
        ("grid/reconnect-min", "20", g98),
        ("grid/g98/uv/time", "2.5", g98),
        ("grid/g98/ov1/time", "1.0", g98),
        ("grid/g98/ov2/time", "0.5", g98),
        ("grid/g98/uf1/hertz", "47.5", g98),
        ("grid/g98/uf1/time", "20", g98),
        ("grid/g98/uf2/hertz", "47.0", g98),
        ("grid/g98/uf2/time", "0.5", g98),
        ("grid/g98/of/hertz", "52.0", g98),
        ("grid/g98/of/time", "0.5", g98),
        ("grid/g98/rocof/rate", "1.0", g98),
        ("grid/g98/rocof/time", "0.5", g98),
        ("grid/g99/uv/time", "2.5", g98),
        ("grid/g99/ov1/time", "1.0", g98),
        ("grid/g99/ov2/time", "0.5", g98),
        ("grid/g99/uf1/hertz", "47.5", g98),
        ("grid/g99/uf1/time", "20", g98),
        ("grid/g99/uf2/hertz", "47.0", g98),
        ("grid/g99/uf2/time", "0.5", g98),
        ("grid/g99/of/hertz", "52.0", g98),
        ("grid/g99/of/time", "0.5", g98),
        ("grid/g99/rocof/rate", "1.0", g98),
        ("grid/g99/rocof/time", "0.5", g98),
        ("siting/opening", "1", pas),
        ("siting/flammables", "2", pas),
        ("grid/fail-safe", "5", "EREC G100, from memory"),
        (
            "pv/module-insulation",
            "40",
            "IEC 61215-2 MQT 03, from memory",
        ),
        ("k/copper-70-in-cable", "115", pocket),
        ("k/copper-90-in-cable", "143", pocket),
        ("k/copper-70-separate", "143", pocket),
        ("k/copper-90-separate", "176", pocket),
        ("k/armour-70", "51", pocket),
        ("k/armour-90", "46", pocket),
    ];
    let limits = Limits::load();
    let wrong: BTreeMap<_, _> = rows
        .into_iter()
        .filter(|(id, value, _)| limits.decimal(id) != value.parse().unwrap())
        .map(|(id, value, source)| (id, (limits.decimal(id), value, source)))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}
