//! Arrays: the inverter's input, fuses of strings in parallel, insulation of sound modules, modules against their median.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::{Array, DcInput, Job, Layout, PvString};

/// Ten modules of 38.6 V with -0.26 %/K, as in the worked examples.
fn ten() -> Job {
    let mut job = tn();
    job.arrays[0].module.beta_pct_k = Some(d("-0.26"));
    *dc(&mut job) = Some(DcInput {
        max_v: d("600"),
        start_v: Some(d("120")),
        mppt_min_v: d("90"),
        mppt_max_v: d("560"),
        max_a: d("20"),
    });
    job
}

fn dc(job: &mut Job) -> &mut Option<DcInput> {
    &mut job.inverters[0].dc
}

fn input(job: &mut Job) -> &mut DcInput {
    job.inverters[0].dc.as_mut().unwrap()
}

fn array(job: &mut Job) -> &mut Array {
    &mut job.arrays[0]
}

fn strings(job: &mut Job) -> &mut Vec<PvString> {
    match &mut job.arrays[0].layout {
        Layout::Strings(list) => list,
        Layout::Branches(_) => panic!("no strings"),
    }
}

/// Derived: 10 × 38.6 V × (1 - 0.26 % × (Tmin - 25 K)) is 421.1 V at -10 °C and 426.1 V at -15 °C.
#[test]
fn the_coldest_voltage_meets_what_the_input_stands() {
    for (lowest, volts, most, want) in [
        (None, "421.1", "421.2", Within),
        (None, "421.1", "421.1", Outside),
        (None, "421.1", "421", Outside),
        (Some("-15"), "426.1", "426.2", Within),
        (Some("-15"), "426.1", "426", Outside),
    ] {
        let mut job = ten();
        array(&mut job).lowest_c = lowest.map(d);
        input(&mut job).max_v = d(most);
        input(&mut job).mppt_max_v = d("400");
        let found = at(&job, "P/S1/dc-window");
        assert_eq!(found.value.as_deref(), Some(volts), "{lowest:?}");
        assert_eq!(found.verdict, want, "{lowest:?} {most}: {}", found.why);
        let ids: Vec<&str> = found.basis.iter().map(|l| l.id.as_str()).collect();
        assert_eq!(ids.contains(&"pv/lowest-cell"), lowest.is_none(), "{ids:?}");
    }
}

/// Derived: 10 × 38.6 V × 1.2 = 463.2 V where the data sheet has no coefficient; then nothing is said of a hot day either.
#[test]
fn without_a_coefficient_a_factor_counts() {
    for (most, want) in [("463.2", Query), ("463.1", Outside)] {
        let mut job = ten();
        array(&mut job).module.beta_pct_k = None;
        input(&mut job).max_v = d(most);
        input(&mut job).mppt_max_v = d("400");
        let found = at(&job, "P/S1/dc-window");
        assert_eq!(found.value.as_deref(), Some("463.2"));
        assert_eq!(found.verdict, want, "{}", found.why);
    }
}

/// Derived: 1.25 × 13.9 A = 17.375 A for one string, 34.75 A for two on the same input.
#[test]
fn the_highest_current_of_strings_on_one_input() {
    for (inputs, most, want) in [
        (["1", "2"], "17.375", Within),
        (["1", "2"], "17.37", Outside),
        (["1", "1"], "34.75", Within),
        (["1", "1"], "34.74", Outside),
        // One that isn't recorded may be on the same input.
        (["1", ""], "34.74", Query),
        (["", ""], "34.74", Query),
        (["", ""], "34.75", Within),
        (["", ""], "17.37", Outside),
    ] {
        let mut job = ten();
        for (string, name) in strings(&mut job).iter_mut().zip(inputs) {
            string.input = name.into();
        }
        input(&mut job).max_a = d(most);
        let found = at(&job, "P/S1/dc-window");
        assert_eq!(found.verdict, want, "{inputs:?} {most}: {}", found.why);
    }
}

/// Derived: Voc 386 - 0.10036 × 10 × 45 = 340.8 V and Vmp 322 - 45.2 = 276.8 V at 70 °C; Vmp 322 + 35.1 = 357.1 V at
/// -10 °C.
#[test]
fn the_range_it_works_in_on_hot_and_cold_days() {
    for (start, low, high, vmp, want) in [
        ("340", "276", "358", Some("32.2"), Within),
        ("341", "276", "358", Some("32.2"), Query),
        ("340", "277", "358", Some("32.2"), Query),
        ("340", "276", "357", Some("32.2"), Query),
        ("340", "276", "358", None, Query),
    ] {
        let mut job = ten();
        array(&mut job).module.vmp_v = vmp.map(d);
        let dc = input(&mut job);
        dc.start_v = Some(d(start));
        dc.mppt_min_v = d(low);
        dc.mppt_max_v = d(high);
        let found = at(&job, "P/S1/dc-window");
        assert_eq!(found.verdict, want, "{start} {low} {high}: {}", found.why);
    }
}

#[test]
fn an_input_that_is_not_recorded_is_asked_for() {
    let mut job = ten();
    *dc(&mut job) = None;
    let found = at(&job, "P/S1/dc-window");
    assert_eq!(found.verdict, Query);
    assert!(found.why.contains("data sheet"), "{}", found.why);
    // A micro-inverter has one module at each input.
    let mut micro = bare("orchard-cottage.ron");
    let found = at(&micro, "P/B1/dc-window");
    assert_eq!(found.verdict, Within, "{}", found.why);
    // 38.6 V × (1 + 0.25 % × 35) = 41.98 V
    micro.inverters[0].dc.as_mut().unwrap().max_v = d("41.9");
    micro.inverters[0].dc.as_mut().unwrap().mppt_max_v = d("40");
    assert_eq!(at(&micro, "P/B1/dc-window").verdict, Outside);
}

/// So many strings on input 1, of which `unknown` have no input recorded.
fn parallel(n: usize, unknown: usize, isc: &str) -> Job {
    let mut job = ten();
    array(&mut job).module.isc_a = d(isc);
    let pattern = strings(&mut job)[0].clone();
    let all = (0..n)
        .map(|i| PvString {
            id: format!("S{}", i + 1),
            input: if i + unknown >= n { "" } else { "1" }.into(),
            ..pattern.clone()
        })
        .collect();
    *strings(&mut job) = all;
    job
}

/// Derived: (Np - 1) × 1.25 × 10 A = 12.5 A for each other string, against a 25 A fuse: equal at three, above at four.
#[test]
fn fuses_from_the_string_that_is_one_too_many() {
    for (n, unknown, most, want) in [
        (2, 0, Some("25"), Within),
        (3, 0, Some("25"), Within),
        (4, 0, Some("25"), Outside),
        (4, 1, Some("25"), Query),
        (4, 4, Some("25"), Query),
        (3, 3, Some("25"), Within),
        (2, 0, None, Within),
        (3, 0, None, Query),
    ] {
        let mut job = parallel(n, unknown, "10");
        array(&mut job).module.max_fuse_a = most.map(d);
        let found = at(&job, "P/S1/string-fuse");
        assert_eq!(found.verdict, want, "{n} {unknown} {most:?}: {}", found.why);
    }
    // Nothing to say of a string that is alone and has none.
    let job = parallel(1, 0, "10");
    let seats = wanderlead::checks::judge_all(&job, forms());
    assert!(!seats.iter().any(|f| f.test == "string-fuse"));
}

/// Derived: 1.1 × 1.25 × 13.9 A = 19.1125 A at least, and not above what the module may have.
#[test]
fn a_fuse_that_is_fitted_lies_between_its_bounds() {
    for (fuse, most, want) in [
        ("16", Some("25"), Outside),
        ("19.11", Some("25"), Outside),
        ("19.1125", Some("25"), Within),
        ("20", Some("25"), Within),
        ("25", Some("25"), Within),
        ("26", Some("25"), Outside),
        ("20", None, Query),
        ("16", None, Outside),
    ] {
        let mut job = parallel(4, 0, "13.9");
        array(&mut job).module.max_fuse_a = most.map(d);
        strings(&mut job)[0].fuse_a = Some(d(fuse));
        let found = at(&job, "P/S1/string-fuse");
        assert_eq!(found.verdict, want, "{fuse} {most:?}: {}", found.why);
        assert_eq!(found.value.as_deref(), Some(fuse));
    }
}

/// Memory: IEC 61215-2 MQT 03, 40 MΩ·m²; derived: ten modules of 2 m² have 2 MΩ.
#[test]
fn sound_modules_insulate_better_than_the_limit() {
    let mut job = ten();
    array(&mut job).module.area_m2 = Some(d("2"));
    for place in ["P/S1/ir-pos", "P/S1/ir-neg"] {
        table(
            &job,
            place,
            &[
                ("0.99", Outside),
                ("1", Query),
                ("1.99", Query),
                ("2", Within),
                (">999", Within),
            ],
        );
    }
    let low = typed(&job, "P/S1/ir-pos", "1.5");
    assert!(low.why.contains("junction box"), "{}", low.why);
    array(&mut job).module.area_m2 = None;
    table(&job, "P/S1/ir-pos", &[("1", Within)]);
    // With the poles joined the limit is the method's own, and so is what is expected.
    array(&mut job).module.area_m2 = Some(d("2"));
    strings(&mut job)[0].insulation = wanderlead::job::InsulationMethod::PolesJoined;
    table(
        &job,
        "P/S1/ir-joined",
        &[("0.99", Outside), ("1.5", Query), ("2.4", Within)],
    );
}

/// Derived: 4 and 6 MΩ in parallel are 2.4 MΩ. Each is judged by itself, not what they would come to.
#[test]
fn two_poles_are_not_one_joined_reading() {
    let mut job = ten();
    array(&mut job).module.area_m2 = Some(d("1"));
    put(&mut job, &[("P/S1/ir-pos", "4"), ("P/S1/ir-neg", "6")]);
    for place in ["P/S1/ir-pos", "P/S1/ir-neg"] {
        let found = at(&job, place);
        assert_eq!(found.verdict, Within, "{}", found.why);
        assert!(found.expected.contains("2.4 MΩ"), "{}", found.expected);
    }
}

/// Eight and seven micro-inverters on one plane.
fn plane() -> Job {
    bare("orchard-cottage.ron")
}

fn watts(n: usize, each: &str, other: &[(usize, &str)]) -> String {
    (1..=n)
        .map(|i| {
            other
                .iter()
                .find(|(at, _)| *at == i)
                .map_or(each, |(_, w)| w)
        })
        .collect::<Vec<_>>()
        .join(" ")
}

/// Common practice: a fifth under the median is clearly low.
#[test]
fn a_low_module_is_named_by_its_place_and_numbers() {
    let job = plane();
    for (typed_watts, want) in [
        (watts(8, "300", &[]), Within),
        (watts(8, "300", &[(3, "240")]), Within),
        (watts(8, "300", &[(3, "239.9")]), Query),
        (watts(8, "300", &[(3, "0")]), Query),
        (watts(8, "300", &[(3, "420")]), Within),
        (watts(7, "300", &[]), Query),
        (watts(9, "300", &[]), Query),
        ("lim: too little sun".into(), Excused),
        ("about 300".into(), Query),
    ] {
        let found = typed(&job, "P/B1/balance", &typed_watts);
        assert_eq!(found.verdict, want, "{typed_watts}: {}", found.why);
    }
    let found = typed(
        &job,
        "P/B1/balance",
        &watts(8, "300", &[(3, "12"), (8, "200")]),
    );
    let Layout::Branches(list) = &job.arrays[0].layout else {
        panic!("no branches");
    };
    for i in [2, 7] {
        let unit = &list[0].units[i];
        for word in [&format!("module {}", i + 1), &unit.module, &unit.inverter] {
            assert!(found.why.contains(word.as_str()), "{word}: {}", found.why);
        }
    }
    assert!(!found.why.contains("module 4 "), "{}", found.why);
}

/// The median is that of the plane, not of the branch, and never of two planes.
#[test]
fn branches_of_one_plane_are_compared_and_planes_are_not() {
    let mut job = plane();
    // A whole branch that is low has a median of its own; beside the other it is found.
    put(&mut job, &[("P/B2/balance", &watts(7, "200", &[]))]);
    assert_eq!(at(&job, "P/B2/balance").verdict, Within);
    put(&mut job, &[("P/B1/balance", &watts(8, "300", &[]))]);
    assert_eq!(at(&job, "P/B1/balance").verdict, Within);
    let low = at(&job, "P/B2/balance");
    assert_eq!(low.verdict, Query, "{}", low.why);
    assert!(low.why.contains("median 300 W of 15"), "{}", low.why);
    // The same branch as a plane of its own.
    let Layout::Branches(list) = &mut job.arrays[0].layout else {
        panic!("no branches");
    };
    let second = list.pop().unwrap();
    let mut other = job.arrays[0].clone();
    other.id = "W".into();
    other.layout = Layout::Branches(vec![second]);
    job.arrays.push(other);
    assert_eq!(at(&job, "W/B2/balance").verdict, Within);
}

/// Common practice: under a fifth of 425 W, which is 85 W, modules can't be told apart.
#[test]
fn too_little_light_is_indicative_only() {
    let job = plane();
    for (each, said) in [("85", false), ("84.9", true)] {
        let found = typed(&job, "P/B1/balance", &watts(8, each, &[(2, "20")]));
        assert_eq!(found.verdict, Query);
        assert_eq!(found.why.contains("indicative"), said, "{}", found.why);
        assert_eq!(found.why.contains("module 2"), !said, "{}", found.why);
    }
    assert_eq!(
        typed(&job, "P/B1/balance", &watts(8, "84.9", &[])).verdict,
        Query
    );
    assert_eq!(
        typed(&job, "P/B1/balance", &watts(8, "85", &[])).verdict,
        Within
    );
}

/// A voltage can't be expected without the coefficient: said so, never passed; half of it is dead at any light.
#[test]
fn without_a_coefficient_no_voltage_is_expected() {
    let mut job = ten();
    array(&mut job).module.beta_pct_k = None;
    put(
        &mut job,
        &[("P/S1/cell-temp", "25"), ("P/S1/irradiance", "1000")],
    );
    let found = typed(&job, "P/S1/voc", "386");
    assert_eq!(found.verdict, Query);
    assert!(found.why.contains("beta_pct_k"), "{}", found.why);
    assert_eq!(typed(&job, "P/S1/voc", "190").verdict, Outside);
}

/// Before it is kept, a branch is compared with what is kept at the others, and with itself.
#[test]
fn the_verdict_is_there_before_the_powers_are_kept() {
    let mut job = plane();
    put(&mut job, &[("P/B2/balance", &watts(7, "300", &[]))]);
    let place: wanderlead::job::Place = "P/B1/balance".parse().unwrap();
    let preview = |job: &Job, watts: &str| {
        let entry = reading(job, place.test, watts, "13:00");
        let seat = job.seat(&place).unwrap();
        let found = wanderlead::checks::Judge::new(job, forms()).preview(&seat, place.test, &entry);
        (found.verdict, found.why)
    };
    let (verdict, why) = preview(&job, &watts(8, "290", &[(5, "100")]));
    assert_eq!(verdict, Query);
    assert!(why.contains("module 5") && why.contains(" of 15"), "{why}");
    // What it replaces doesn't count as well.
    put(
        &mut job,
        &[("P/B1/balance", &watts(8, "290", &[(5, "100")]))],
    );
    let (verdict, why) = preview(&job, &watts(8, "290", &[]));
    assert_eq!(verdict, Within, "{why}");
    assert!(why.contains("15 modules"), "{why}");
}

/// Memory: IEC 62548: strings in parallel within 5 % of one another. Of 20 modules 19 are 5 % less, 18 are 10 %.
#[test]
fn strings_on_one_input_are_matched() {
    let of = |first: usize, second: usize, inputs: [&str; 2]| {
        let mut job = parallel(2, 0, "9");
        input(&mut job).max_v = d("1100");
        input(&mut job).mppt_max_v = d("1000");
        input(&mut job).max_a = d("100");
        let all = strings(&mut job);
        all.truncate(2);
        for (string, (n, input)) in all.iter_mut().zip([first, second].into_iter().zip(inputs)) {
            string.input = input.into();
            string.modules = (0..n).map(|i| format!("X{i}")).collect();
        }
        let id = strings(&mut job)[0].id.clone();
        at(&job, &format!("P/{id}/dc-window"))
    };
    for (first, second, inputs, mismatched) in [
        (20, 20, ["1", "1"], false),
        (20, 19, ["1", "1"], false),
        (20, 18, ["1", "1"], true),
        (10, 8, ["1", "1"], true),
        (10, 8, ["1", "2"], false),
        (10, 8, ["", ""], false),
    ] {
        let found = of(first, second, inputs);
        let said = found.why.contains("share this input");
        assert_eq!(
            said, mismatched,
            "{first} {second} {inputs:?}: {}",
            found.why
        );
        assert!(!said || found.verdict == Outside);
    }
}
