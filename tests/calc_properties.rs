//! Whatever is put in, a formula answers with a finite number or an error, and goes the way it must.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use rust_decimal::Decimal;
use wanderlead::calc::*;

/// Any float, and often one that could be meant.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>(),
        any::<f64>().prop_map(|x| x % 1000.0),
        0.0..2000.0,
        -60.0..60.0,
        0.0..1.0,
        prop::sample::select(vec![
            0.0,
            -0.0,
            f64::MIN_POSITIVE,
            5e-324,
            f64::MAX,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY
        ]),
    ]
}

type Answers = Vec<(&'static str, Result<f64, CalcError>)>;

/// Every public formula, fed from five numbers and two counts.
fn all(x: [f64; 5], n: u32, m: u32, list: &[f64]) -> Answers {
    let [a, b, c, d, e] = x;
    let at = CellConditions {
        irradiance_w_m2: a,
        temp_c: b,
    };
    let reference = CellConditions {
        irradiance_w_m2: c,
        temp_c: d,
    };
    let stc = CellConditions {
        irradiance_w_m2: 1000.0,
        temp_c: 25.0,
    };
    let module = ModuleVoltage {
        voc_v: e,
        beta_pct_k: -0.26,
        cells: n,
        ideality: 1.0,
    };
    let any_module = ModuleVoltage {
        voc_v: 38.6,
        beta_pct_k: d,
        cells: 54,
        ideality: e,
    };
    let how_far = Band {
        tolerance_pct: b,
        floor_ohm: c,
        accuracy_ohm: d,
        resolution_ohm: e,
    };
    let band = expected_band_ohm(a, how_far);
    let bounds = string_fuse_bounds_a(a, b, c);
    let powers = Powers {
        grid: a,
        pv: Some(b),
        battery: Some(c),
        load: d,
    };
    let tolerance = Tolerance {
        percent: 10.0,
        floor_w: e,
    };
    let states = [(State::Idle, powers), (State::Surplus, powers)];
    vec![
        ("per_line", per_line(a, b)),
        ("median", median(list)),
        (
            "is_low_percent",
            is_low_percent(a, b, c).map(|low| low.unwrap_or_default()),
        ),
        ("vmp_at_v", vmp_at_v(32.2, a, n, -0.25, b, 25.0)),
        ("vmp_at_v of any", vmp_at_v(a, b, n, c, d, e)),
        ("module_insulation_mohm", module_insulation_mohm(a, b, n)),
        ("allowed_w", allowed_w(&powers, tolerance)),
        (
            "state_fault",
            state_fault(State::Charging, &powers, tolerance)
                .map(|fault| f64::from(u8::from(fault.is_some()))),
        ),
        (
            "explanations",
            explanations(&states, tolerance).map(|found| found.len() as f64),
        ),
        ("operating_current_a", operating_current_a(a, b)),
        ("zs_max_ohm", zs_max_ohm(a, b, c)),
        ("zs_ohm", zs_ohm(a, b)),
        ("rcd_zs_max_ohm", rcd_zs_max_ohm(a, b)),
        ("touch_voltage_v", touch_voltage_v(a, b)),
        ("conductor_ohm", conductor_ohm(a, b)),
        ("r1r2_ohm", r1r2_ohm(a, b, c)),
        ("conductor_length_m", conductor_length_m(a, b)),
        ("expected_band_ohm low", band.clone().map(|b| b.0)),
        ("expected_band_ohm high", band.map(|b| b.1)),
        ("temperature_factor", temperature_factor(a, b, c)),
        (
            "temperature_factor of copper",
            temperature_factor(0.004, b, c),
        ),
        ("ohm_at_temperature", ohm_at_temperature(a, 0.004, b, c)),
        ("ohm_at_reference", ohm_at_reference(a, 0.0045, b, c)),
        ("ohm_at_operating", ohm_at_operating(a, b)),
        ("ring_ln_ohm", ring_ln_ohm(a, b)),
        ("ring_r1r2_ohm", ring_r1r2_ohm(a, b)),
        ("ring_difference_ohm", ring_difference_ohm(a, b)),
        ("ring_cpc_ratio", ring_cpc_ratio(a, b)),
        ("ring_cpc_expected_ohm", ring_cpc_expected_ohm(a, b)),
        ("fault_current_ka", fault_current_ka(a, b)),
        ("design_fault_current_ka", design_fault_current_ka(a, b, c)),
        (
            "three_phase_from_line_line_ka",
            three_phase_from_line_line_ka(a, b),
        ),
        (
            "three_phase_from_line_neutral_ka",
            three_phase_from_line_neutral_ka(a),
        ),
        ("line_line_ka", line_line_ka(a, b)),
        ("parallel", parallel(list)),
        ("cpc_min_mm2", cpc_min_mm2(a, b, c)),
        ("cpc_min_from_energy_mm2", cpc_min_from_energy_mm2(a, b)),
        ("cpc_by_line_size_mm2", cpc_by_line_size_mm2(a, b, c)),
        ("voltage_change_v", voltage_change_v(a, b, c)),
        (
            "voltage_change_by_resistance_v",
            voltage_change_by_resistance_v(a, b, c),
        ),
        ("trunk_rise_v", trunk_rise_v(n, a, b, c)),
        ("percent_of", percent_of(a, b)),
        ("voc_max_v", voc_max_v(a, n, b, c, d)),
        ("voc_max_v of silicon", voc_max_v(a, n, -0.26, c, d)),
        ("voc_max_by_factor_v", voc_max_by_factor_v(a, n, b)),
        ("system_voltage_v", system_voltage_v(a, n, b)),
        ("isc_max_a", isc_max_a(a, b)),
        (
            "string_fuse_needed",
            string_fuse_needed(n, a, b).map(f64::from),
        ),
        ("string_fuse_bounds_a low", bounds.clone().map(|b| b.min_a)),
        ("string_fuse_bounds_a high", bounds.map(|b| b.max_a)),
        (
            "insulation_band",
            insulation_band(a, b, c).map(|band| band.key().len() as f64),
        ),
        (
            "pv_insulation_band",
            pv_insulation_band(a, b, c, d).map(|band| band.key().len() as f64),
        ),
        ("connection_total_a", connection_total_a(list)),
        (
            "connection_procedure",
            connection_procedure(a, b).map(|p| p.name().len() as f64),
        ),
        ("branch_current_a", branch_current_a(n, a)),
        ("branch_load_advised_a", branch_load_advised_a(a, b)),
        ("expected_voc_v", expected_voc_v(&module, m, at, stc)),
        (
            "expected_voc_v of any",
            expected_voc_v(&any_module, m, at, reference),
        ),
        ("expected_isc_a", expected_isc_a(e, 0.045, at, stc)),
        (
            "expected_isc_a of any",
            expected_isc_a(13.9, e, at, reference),
        ),
    ]
}

fn decimal(units: i64, scale: u32) -> Decimal {
    Decimal::new(units, scale)
}

/// Every order of the transformers times every set of them turned round: n! × 2^n.
#[test]
fn transformers_can_be_put_on_in_so_many_ways() {
    let meters = [Meter::Grid, Meter::Pv, Meter::Battery];
    assert_eq!(transformers::ways(&meters).len(), 6 * 8);
    assert_eq!(transformers::ways(&meters[..2]).len(), 2 * 4);
}

/// How often each formula gave a value, over numbers that could be meant.
#[test]
fn every_formula_can_answer() {
    // Derived: each row is chosen to be good for some of them; the property below would hold for a formula that always
    // refuses, and this one finds it.
    let inputs = [
        [1.0, 0.5, 2.0, 25.0, 3.0],
        [200.0, 20.0, 25.0, 30.0, 38.6],
        [0.004, 30.0, 20.0, 25.0, 40.0],
        [300.0, 0.1, 115.0, 20.0, 1.0],
        [2.5, 16.0, 35.0, 20.0, 1.0],
        [100.0, 120.0, 500.0, 1000.0, 40.0],
        [38.6, -0.26, -10.0, 25.0, 1.0],
        [800.0, 45.0, 1000.0, 25.0, 0.045],
        [800.0, 45.0, 1000.0, -0.26, 1.0],
        [12_000.0, 115.0, 1.0, 1.0, 1.0],
        [0.4, 0.25, 1.0, 1.0, 1.0],
        [38.6, 300.0, 10.0, 1.0, 25.0],
        [32.2, 38.6, -0.25, 60.0, 25.0],
    ];
    let mut answered = std::collections::BTreeSet::new();
    let mut names = std::collections::BTreeSet::new();
    for x in inputs {
        for (name, answer) in all(x, 4, 10, &x[..2]) {
            names.insert(name);
            if answer.is_ok() {
                answered.insert(name);
            }
        }
    }
    assert_eq!(answered, names);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_finite_number_or_an_error_that_says_what_is_allowed(
        x in [number(), number(), number(), number(), number()],
        n in prop_oneof![any::<u32>(), 0_u32..1200],
        m in prop_oneof![any::<u32>(), 0_u32..1200],
        list in prop::collection::vec(number(), 0..6),
    ) {
        for (name, answer) in all(x, n, m, &list) {
            match answer {
                // Powers have a sign, and so has the one in the middle.
                Ok(value) => prop_assert!(value.is_finite() && (value >= 0.0 || name == "median"), "{name}{x:?}: {value}"),
                Err(error) => prop_assert!(error.to_string().contains(&format!("`{}`", error.key())), "{name}: {error}"),
            }
        }
    }

    #[test]
    fn what_is_not_finite_is_refused(a in number(), bad in prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY])) {
        for (name, answer) in all([bad; 5], 4, 10, &[a, bad]) {
            prop_assert!(answer.is_err(), "{name}: {answer:?}");
        }
    }

    #[test]
    fn site_limit_is_never_above_its_share_and_less_than_a_hundredth_below(
        table in 0_i64..2_000_000, scale in 0_u32..5, factor in 1_i64..=100,
    ) {
        let (table, factor) = (decimal(table, scale), decimal(factor, 2));
        if table <= decimal(1_000_000, 0) {
            let site = site_limit_ohm(table, factor).unwrap();
            prop_assert!(site <= table * factor, "{site} of {table}");
            prop_assert!(table * factor - site < decimal(1, 2), "{site} of {table}");
            prop_assert_eq!(site, site.trunc_with_scale(2));
        }
    }

    #[test]
    fn site_limit_takes_any_decimal(table in any::<i64>(), table_scale in 0_u32..=28, factor in any::<i64>(), factor_scale in 0_u32..=28) {
        if let Ok(site) = site_limit_ohm(decimal(table, table_scale), decimal(factor, factor_scale)) {
            prop_assert!(site >= Decimal::ZERO && site <= decimal(table, table_scale));
        }
    }

    #[test]
    fn longer_is_never_less(shorter in 0.0..5000.0_f64, more in 0.001..5000.0_f64, per_m in 0.1..20.0_f64, amps in 0.1..100.0_f64, n in 1_u32..30) {
        let longer = shorter + more;
        prop_assert!(conductor_ohm(per_m, shorter).unwrap() < conductor_ohm(per_m, longer).unwrap());
        prop_assert!(r1r2_ohm(per_m, per_m, shorter).unwrap() < r1r2_ohm(per_m, per_m, longer).unwrap());
        prop_assert!(voltage_change_v(per_m, amps, shorter).unwrap() < voltage_change_v(per_m, amps, longer).unwrap());
        prop_assert!(trunk_rise_v(n, amps, shorter, per_m).unwrap() < trunk_rise_v(n, amps, longer, per_m).unwrap());
        prop_assert!(trunk_rise_v(n, amps, more, per_m).unwrap() < trunk_rise_v(n + 1, amps, more, per_m).unwrap());
        let back = conductor_length_m(conductor_ohm(per_m, longer).unwrap(), per_m).unwrap();
        prop_assert!((back / longer - 1.0).abs() < 1e-9);
    }

    #[test]
    fn directions_of_the_array(irradiance in 20.0..1999.0_f64, temp in -20.0..90.0_f64, modules in 1_u32..30) {
        let module = ModuleVoltage { voc_v: 38.6, beta_pct_k: -0.26, cells: 54, ideality: 1.0 };
        let stc = CellConditions { irradiance_w_m2: 1000.0, temp_c: 25.0 };
        let voc = |irradiance_w_m2, temp_c| expected_voc_v(&module, modules, CellConditions { irradiance_w_m2, temp_c }, stc).unwrap();
        prop_assert!(voc(irradiance, temp) < voc(irradiance + 1.0, temp));
        prop_assert!(voc(irradiance, temp) > voc(irradiance, temp + 1.0));
        let isc = |irradiance_w_m2, temp_c| expected_isc_a(13.9, 0.045, CellConditions { irradiance_w_m2, temp_c }, stc).unwrap();
        prop_assert!(isc(irradiance, temp) < isc(irradiance + 1.0, temp));
        prop_assert!(isc(irradiance, temp) < isc(irradiance, temp + 1.0));
    }

    #[test]
    fn in_parallel_is_less_than_the_least(list in prop::collection::vec(0.01..1000.0_f64, 2..8)) {
        let least = list.iter().copied().fold(f64::INFINITY, f64::min);
        let all = parallel(&list).unwrap();
        prop_assert!(all < least && all >= least / list.len() as f64 * 0.999_999);
    }
}
