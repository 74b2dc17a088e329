//! The formulas against two models that this project did not write: pvlib (De Soto's single-diode model) and pandapower (load
//! flow, and short circuits by IEC 60909), over a recorded table of points.
//!
//! `tests/reference/make_points.py` made the table; its versions are pinned in its header and recorded in the table.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "data/limits.rs"]
#[allow(dead_code)]
mod limits;

use std::path::PathBuf;

use limits::Limits;
use serde_json::Value;
use sha2::{Digest, Sha256};
use wanderlead::calc::*;

fn file(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/reference")
        .join(name);
    std::fs::read_to_string(path).unwrap()
}

fn recorded() -> Value {
    serde_json::from_str(&file("points.json")).unwrap()
}

fn list(of: &Value) -> Vec<Value> {
    let list = of.as_array().unwrap().clone();
    assert!(!list.is_empty());
    list
}

fn n(of: &Value) -> f64 {
    of.as_f64().unwrap()
}

/// How far `got` is from `reference`, in percent of it.
fn off_pct(got: f64, reference: f64) -> f64 {
    (got / reference - 1.0) * 100.0
}

fn limit(id: &str) -> f64 {
    Limits::load().number(id)
}

#[test]
fn the_table_is_what_this_state_of_the_script_made() {
    let script = file("make_points.py");
    let header = &recorded()["header"];
    let digest: String = Sha256::digest(script.as_bytes())
        .iter()
        .map(|b| format!("{b:02x}"))
        .collect();
    assert_eq!(
        header["script_sha256"], *digest,
        "make_points.py was changed after it wrote points.json: run it again"
    );
    for (name, version) in header["versions"].as_object().unwrap() {
        let pinned = format!("\"{name}=={}\"", version.as_str().unwrap());
        assert!(name == "python" || script.contains(&pinned), "{pinned}");
    }
}

/// An invented module, as its data sheet says.
struct Sheet {
    voltage: ModuleVoltage,
    isc_a: f64,
    alpha_pct_k: f64,
}

fn sheet(pv: &Value, name: &Value) -> Sheet {
    let sheets = list(&pv["sheets"]);
    let s = sheets.iter().find(|s| s["module"] == *name).unwrap();
    Sheet {
        voltage: ModuleVoltage {
            voc_v: n(&s["v_oc"]),
            beta_pct_k: n(&s["beta"]),
            cells: u32::try_from(s["cells"].as_u64().unwrap()).unwrap(),
            ideality: limit("pv/ideality"),
        },
        isc_a: n(&s["i_sc"]),
        alpha_pct_k: n(&s["alpha"]),
    }
}

fn stc() -> CellConditions {
    CellConditions {
        irradiance_w_m2: limit("pv/reference-irradiance"),
        temp_c: limit("pv/reference-temp"),
    }
}

fn at(point: &Value) -> CellConditions {
    CellConditions {
        irradiance_w_m2: n(&point["irradiance_w_m2"]),
        temp_c: n(&point["cell_c"]),
    }
}

/// A tenth of the tolerance that a string is judged with. Measured: 0.19 % at most, as the fits of the two modules have another
/// ideality (0.97) than the forms, and Voc isn't quite straight in temperature.
const VOC_PCT: f64 = 0.5;

#[test]
fn voc_with_the_low_light_term_from_200_to_1000_w_m2() {
    let pv = &recorded()["table"]["pv"];
    let (mut seen, mut worst) = (0, 0.0_f64);
    for point in list(&pv["points"]) {
        let module = sheet(pv, &point["module"]).voltage;
        let off = off_pct(
            expected_voc_v(&module, 1, at(&point), stc()).unwrap(),
            n(&point["voc_v"]),
        );
        assert!(off.abs() <= VOC_PCT, "{off:.2} % off at {point}");
        worst = worst.max(off.abs());
        seen += 1;
    }
    println!("Voc: {seen} points, {worst:.3} % off at most");
    assert!(seen >= 126, "{seen}");
}

/// The same reckoned by temperature alone is past the tolerance: the comparison above can fail. By De Soto's model it is 4.9 to
/// 8.8 % too high at 200 W/m² (the most at 70 °C) and over 1 % at 700, which is why a naive expectation blames sound strings.
#[test]
fn voc_by_temperature_alone_is_too_high_in_low_light() {
    let pv = &recorded()["table"]["pv"];
    let bright = |point: &Value| CellConditions {
        irradiance_w_m2: 1000.0,
        ..at(point)
    };
    let mut at_200 = Vec::new();
    for point in list(&pv["points"]) {
        let module = sheet(pv, &point["module"]).voltage;
        let naive = expected_voc_v(&module, 1, bright(&point), stc()).unwrap();
        let off = off_pct(naive, n(&point["voc_v"]));
        match n(&point["irradiance_w_m2"]) {
            g if g < 250.0 => at_200.push(off),
            g if g > 650.0 && g < 750.0 => {
                assert!(off > VOC_PCT * 2.0, "{off:.2} % at {point}");
            }
            _ => {}
        }
    }
    let least = at_200.iter().copied().fold(f64::INFINITY, f64::min);
    let most = at_200.iter().copied().fold(0.0, f64::max);
    println!("without the term at 200 W/m²: {least:.1} to {most:.1} % too high");
    assert!(least > 4.5 && most < 9.0, "{least} to {most}");
}

/// Isc is nearly straight in both: a hundredth of the tolerance that it is judged with. Measured: 0.05 % at most.
#[test]
fn isc_with_irradiance_and_temperature() {
    let pv = &recorded()["table"]["pv"];
    let mut without = 0.0_f64;
    let mut worst = 0.0_f64;
    for point in list(&pv["points"]) {
        let s = sheet(pv, &point["module"]);
        let reference = n(&point["isc_a"]);
        let got = |alpha| {
            off_pct(
                expected_isc_a(s.isc_a, alpha, at(&point), stc()).unwrap(),
                reference,
            )
        };
        let off = got(s.alpha_pct_k);
        assert!(off.abs() <= 0.1, "{off:.2} % off at {point}");
        worst = worst.max(off.abs());
        without = without.max(got(0.0).abs());
    }
    println!("Isc: {worst:.3} % off at most, {without:.2} % without the coefficient");
    assert!(without > 1.0, "without the coefficient: {without}");
}

/// Highest voltage on a cold morning: the straight line of the data sheet is on the safe side of De Soto's model, or less than half a
/// percent below it. The factor for modules without a coefficient is above both.
#[test]
fn voc_on_the_coldest_day() {
    let pv = &recorded()["table"]["pv"];
    for point in list(&pv["cold"]) {
        let module = sheet(pv, &point["module"]).voltage;
        let reference = 12.0 * n(&point["voc_v"]);
        let cold = n(&point["cell_c"]);
        let most = voc_max_v(module.voc_v, 12, module.beta_pct_k, cold, stc().temp_c).unwrap();
        let off = off_pct(most, reference);
        assert!((-0.5..=1.0).contains(&off), "{off:.2} % off at {point}");
        let wrong_way = voc_max_v(module.voc_v, 12, -module.beta_pct_k, cold, 25.0).unwrap();
        assert!(off_pct(wrong_way, reference) < -10.0, "{point}");
        let by_factor = voc_max_by_factor_v(module.voc_v, 12, limit("pv/voc-max-factor")).unwrap();
        assert!(by_factor > reference, "{point}");
    }
}

/// A leg of a path: resistance of line and return, Ω.
struct Leg {
    line: f64,
    back: f64,
}

fn legs(fault: &Value, point: &Value) -> Vec<Leg> {
    let paths = list(&fault["paths"]);
    let path = paths.iter().find(|p| p["path"] == point["path"]).unwrap();
    let count = usize::try_from(point["legs"].as_u64().unwrap()).unwrap();
    let all = path["legs"].as_array().unwrap();
    all[..count]
        .iter()
        .map(|leg| Leg {
            line: conductor_ohm(n(&leg[1]), n(&leg[3])).unwrap(),
            back: conductor_ohm(n(&leg[2]), n(&leg[3])).unwrap(),
        })
        .collect()
}

fn magnitude(of: &Value) -> f64 {
    n(&of[0]).hypot(n(&of[1]))
}

/// Ze + R1+R2 of every leg, as magnitudes, as it is done on site.
fn loop_ohm(fault: &Value, point: &Value) -> f64 {
    let source = (n(&fault["source_line_ohm"][0]) + n(&fault["source_return_ohm"][0]))
        .hypot(n(&fault["source_line_ohm"][1]) + n(&fault["source_return_ohm"][1]));
    legs(fault, point)
        .iter()
        .fold(source, |ze, leg| zs_ohm(ze, leg.line + leg.back).unwrap())
}

/// Magnitudes are added where impedances should be: the loop comes out up to 1.5 % too large, never too small. That is the safe
/// side for Zs. Leaving out the return conductor is far past that.
#[test]
fn loop_impedance_at_every_board_and_end() {
    let fault = &recorded()["table"]["fault"];
    for point in list(&fault["points"]) {
        let reference = n(&point["loop_ohm"]);
        let off = off_pct(loop_ohm(fault, &point), reference);
        assert!((-1e-4..=1.5).contains(&off), "{off:.3} % off at {point}");
        let legs = legs(fault, &point);
        if !legs.is_empty() {
            let lines_only: f64 = legs.iter().map(|l| l.line).sum();
            let wrong = loop_ohm(fault, &point) - legs.iter().map(|l| l.line + l.back).sum::<f64>();
            assert!(off_pct(wrong + lines_only, reference) < -5.0, "{point}");
        }
    }
}

/// Fault current by C × U0 / Z, with Cmin 0.95 and Cmax 1.05 and 1.10: IEC 60909 by pandapower. The tolerance is that of the loop.
#[test]
fn prospective_fault_current_by_voltage_factor() {
    let fault = &recorded()["table"]["fault"];
    let u0 = n(&fault["u0_v"]);
    let mut factors = Vec::new();
    for point in list(&fault["points"]) {
        let c = n(&point["voltage_factor"]);
        let reference = n(&point["line_to_return_ka"]);
        let exact = design_fault_current_ka(c, u0, n(&point["loop_ohm"])).unwrap();
        assert!(off_pct(exact, reference).abs() < 0.001, "{point}");
        let off = off_pct(
            design_fault_current_ka(c, u0, loop_ohm(fault, &point)).unwrap(),
            reference,
        );
        assert!((-1.5..=1e-4).contains(&off), "{off:.3} % off at {point}");
        // What an instrument shows has no factor, and is not the maximum of the design.
        let measured = fault_current_ka(u0, n(&point["loop_ohm"])).unwrap();
        assert!((off_pct(reference, measured) - (c - 1.0) * 100.0).abs() < 0.01);
        if !factors.contains(&c) {
            factors.push(c);
        }
    }
    let (cmin, cmax) = (limit("zs/cmin"), limit("supply/cmax"));
    assert!(
        factors.contains(&cmin) && factors.contains(&cmax),
        "{factors:?}"
    );
}

/// The highest Zs of a device is where the least fault current is what opens it at once: 5 In for B, 10 In for C,
/// 20 In for D (memory: BS EN 60898).
#[test]
fn zs_limit_is_where_the_least_current_just_opens_the_device() {
    let fault = &recorded()["table"]["fault"];
    let u0 = n(&fault["u0_v"]);
    let cmin = limit("zs/cmin");
    let (mut opens, mut fails) = (0, 0);
    for point in list(&fault["points"]) {
        if n(&point["voltage_factor"]) > cmin {
            continue;
        }
        let amps = n(&point["line_to_return_ka"]) * 1000.0;
        for (curve, rating, opens_at) in [
            ("B", 6.0, 30.0),
            ("B", 32.0, 160.0),
            ("C", 20.0, 200.0),
            ("C", 32.0, 320.0),
            ("C", 63.0, 630.0),
            ("D", 20.0, 400.0),
        ] {
            let ia = operating_current_a(limit(&format!("zs/multiple/{curve}")), rating).unwrap();
            let most = zs_max_ohm(u0, cmin, ia).unwrap();
            let is_in = n(&point["loop_ohm"]) <= most;
            assert_eq!(is_in, amps >= opens_at, "{curve}{rating} at {point}");
            if is_in {
                opens += 1;
            } else {
                fails += 1;
            }
        }
    }
    assert!(opens > 5 && fails > 5, "{opens} and {fails}");
}

/// A fault of all three lines from the reading between two of them (√3/2 between them), and why twice L-N is not it: the neutral of
/// these paths has more impedance than the line.
#[test]
fn three_phase_fault_from_the_reading_between_lines() {
    let fault = &recorded()["table"]["fault"];
    let u0 = n(&fault["u0_v"]);
    let factor = limit("supply/line-factor");
    let source_line = magnitude(&fault["source_line_ohm"]);
    for point in list(&fault["points"]) {
        let reference = n(&point["three_phase_ka"]);
        let between = n(&point["line_line_ka"]);
        let off = off_pct(
            three_phase_from_line_line_ka(between, factor).unwrap(),
            reference,
        );
        assert!(off.abs() < 0.01, "{off} % at {point}");
        assert!(off_pct(line_line_ka(reference, factor).unwrap(), between).abs() < 0.01);
        let c = n(&point["voltage_factor"]);
        let line: f64 = source_line + legs(fault, &point).iter().map(|l| l.line).sum::<f64>();
        let off = off_pct(design_fault_current_ka(c, u0, line).unwrap(), reference);
        assert!((-3.0..=1e-4).contains(&off), "{off:.3} % off at {point}");
        let doubled = three_phase_from_line_neutral_ka(n(&point["line_to_return_ka"])).unwrap();
        assert!(off_pct(doubled, reference) < -5.0, "{point}");
    }
}

/// Rise at the far inverter: sub-main, branch and trunk added up. The load flow has constant power, so its current is a little
/// less than P / U0 and a little more than P / (U0 + rise): the reference lies between the two, give or take what the reactance
/// does (under half a percent).
#[test]
fn voltage_rise_at_the_far_inverter() {
    let rise = &recorded()["table"]["rise"];
    let u0 = n(&rise["u0_v"]);
    for point in list(&rise["points"]) {
        let count = u32::try_from(point["inverters"].as_u64().unwrap()).unwrap();
        let reference = n(&point["rise_v"]);
        let cable = |name: &str, amps: f64| {
            voltage_change_by_resistance_v(n(&point[name][0]), amps, n(&point[name][1])).unwrap()
        };
        let parts = |volts: f64| {
            let each = n(&point["watt"]) / volts;
            let all = branch_current_a(count, each).unwrap();
            let trunk = trunk_rise_v(count, each, n(&point["trunk"][1]), n(&point["trunk"][0]));
            [cable("sub_main", all), cable("branch", all), trunk.unwrap()]
        };
        let low: f64 = parts(u0 + reference).iter().sum();
        let high: f64 = parts(u0).iter().sum();
        assert!(
            low * 0.995 <= reference && reference <= high * 1.005,
            "{low:.3} to {high:.3} V, {point}"
        );
        for (part, name) in
            parts(u0)
                .iter()
                .zip(["sub_main_rise_v", "branch_rise_v", "trunk_rise_v"])
        {
            let off = off_pct(*part, n(&point[name]));
            assert!(
                (-0.5..=5.0).contains(&off),
                "{name}: {off:.2} % off at {point}"
            );
            // One cable alone is not the rise.
            assert!(part / reference < 0.9, "{name} at {point}");
        }
        // All inverters at the far end of the trunk would be too much, all at its start too little.
        if count > 1 {
            let all = f64::from(count) * n(&point["watt"]) / u0;
            let whole = f64::from(count) * n(&point["trunk"][1]);
            let lumped = voltage_change_by_resistance_v(n(&point["trunk"][0]), all, whole).unwrap();
            assert!(lumped > n(&point["trunk_rise_v"]) * 1.5, "{point}");
        }
    }
}
