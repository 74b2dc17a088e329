//! Whatever is typed or recorded: a worse reading never gets a better verdict, what is written reads back the same, and nothing
//! panics.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;
mod gallery_help;

use std::sync::OnceLock;

use checks_help::*;
use gallery_help::Gallery;
use proptest::prelude::*;
use rust_decimal::Decimal;
use serde_json::Value as Json;
use wanderlead::checks::{Bound, Judge, Verdict, judge_all};
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::{Answer, CircuitKind, Earthing, Entry, Job, Place, Test, Unit, Value};

fn jobs() -> &'static [Job] {
    static JOBS: OnceLock<Vec<Job>> = OnceLock::new();
    JOBS.get_or_init(|| {
        let gallery = Gallery::load();
        gallery.all_bases().map(|(_, job)| job.clone()).collect()
    })
}

/// Worse is more.
fn rank(verdict: Verdict) -> u8 {
    match verdict {
        Within => 0,
        Close => 1,
        Query => 2,
        Outside => 3,
        Open | Excused => panic!("a number is {verdict}"),
    }
}

/// Tests whose reading is worse the higher it is, but for zero, which is no reading at all.
const WORSE_HIGHER: [Test; 7] = [
    Test::Continuity,
    Test::Ra,
    Test::Ze,
    Test::Zdb,
    Test::Zs,
    Test::RcdTime,
    Test::RcdFive,
];

/// Tests whose reading is worse the lower it is.
const WORSE_LOWER: [Test; 7] = [
    Test::IrLl,
    Test::IrLe,
    Test::IrPos,
    Test::IrNeg,
    Test::IrJoined,
    Test::RcdHalf,
    Test::Reconnect,
];

/// Fault currents may be doubted for being low; past its limit a higher one never gets better.
const WORSE_PAST: [Test; 4] = [Test::PfcLn, Test::PfcLe, Test::PfcLl, Test::Pfc];

/// Readings of every size, often near a limit.
fn reading_values() -> impl Strategy<Value = Vec<Decimal>> {
    let one = prop_oneof![
        (1_i64..400, 2_u32..4).prop_map(|(n, s)| Decimal::new(n, s)),
        (1_i64..4000, 1_u32..3).prop_map(|(n, s)| Decimal::new(n, s)),
        (1_i64..3000, 0_u32..1).prop_map(|(n, s)| Decimal::new(n, s)),
        (1_i64..999_999_999, 0_u32..7).prop_map(|(n, s)| Decimal::new(n, s)),
    ];
    prop::collection::vec(one, 6..14).prop_map(|mut all| {
        all.sort();
        all
    })
}

/// Verdicts of rising readings at a place of a job.
fn verdicts(job: &Job, place: &Place, values: &[Decimal]) -> Vec<(Decimal, Verdict, String)> {
    let judge = Judge::new(job, forms());
    let seat = job.seat(place).unwrap();
    values
        .iter()
        .map(|n| {
            let typed = reading(job, place.test, &n.to_string(), "12:00");
            let f = judge.preview(&seat, place.test, &typed);
            (*n, f.verdict, f.why)
        })
        .collect()
}

/// Whether a reading was queried for being lower than it can be: an RCD that opens at once, a loop under the resistance of the line
/// conductor alone, or far under the electrode that it goes through, or a tenth or a hundredth of its parts on TT, or an electrode far
/// under its loop, or an earth on TT that is too good for an electrode. A higher one is then the better one.
fn is_too_low(test: Test, (_, verdict, why): &(Decimal, Verdict, String)) -> bool {
    let doubted = [
        "which no parallel path bypasses",
        "which this loop goes through",
        "say what other earth it has",
        "the loop closes over another earth",
        "on TT an earth this low",
        "which is this electrode and what the distributor's side adds",
        "no RCD opens within",
    ];
    let may_be = [
        Test::Zs,
        Test::Ze,
        Test::Zdb,
        Test::Ra,
        Test::RcdTime,
        Test::RcdFive,
    ];
    may_be.contains(&test) && *verdict == Query && doubted.iter().any(|words| why.contains(words))
}

/// Finds a pair of which the worse reading has the better verdict.
fn unfair(test: Test, rising: &[(Decimal, Verdict, String)]) -> Option<String> {
    rising.windows(2).find_map(|pair| {
        let [low, high] = pair else { return None };
        let wrong = match test {
            t if WORSE_LOWER.contains(&t) => rank(low.1) < rank(high.1),
            t if WORSE_PAST.contains(&t) => low.1 == Outside && high.1 != Outside,
            t if is_too_low(t, low) => false,
            _ => rank(low.1) > rank(high.1),
        };
        wrong.then(|| {
            format!(
                "{test}: {} is {} ({}), but {} is {} ({})",
                low.0, low.1, low.2, high.0, high.1, high.2
            )
        })
    })
}

/// Whether readings of that place have one worse direction. A time-delayed RCD has a window.
fn has_direction(judge: &Judge<'_>, job: &Job, place: &Place) -> bool {
    let known = [&WORSE_HIGHER[..], &WORSE_LOWER[..], &WORSE_PAST[..]]
        .iter()
        .any(|list| list.contains(&place.test));
    let seat = job.seat(place).unwrap();
    known
        && !matches!(
            judge.rule(&seat, place.test).map(|r| r.bound),
            Ok(Bound::Between(..))
        )
}

fn places(job: &Job) -> Vec<Place> {
    job.seats()
        .iter()
        .flat_map(|s| {
            let wanted = job.wanted(s.owner).into_iter();
            wanted.map(|(t, _)| s.place(t)).collect::<Vec<_>>()
        })
        .collect()
}

/// What a person types, and what a file that was edited by hand might hold.
fn typed_text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        "[-+]?[0-9]{0,12}[.,]?[0-9]{0,8}",
        "[<>] ?[0-9]{0,10}[.,]?[0-9]{0,7}",
        "(lim|n/a|LIM|N/A): ?[a-zé ]{0,12}",
        prop::sample::select(vec![
            "",
            " ",
            "0",
            "0.000000",
            "-0",
            "0.000001",
            "999999999",
            "999999999.999999",
            "-999999999.999999",
            ">999999999.999999",
            "<0",
            ">0",
            "<0.000001",
            "NaN",
            "inf",
            "-inf",
            "1e308",
            "1e-320",
            "pass",
            "fail",
            "y",
            "no",
            "\u{202e}0.5",
            "½",
            "٣",
            "１",
            "0,,5",
            "lim:",
            "n/a:",
        ])
        .prop_map(String::from),
    ]
}

/// Decimals that a record can hold, the ends of their ranges among them.
fn record_number() -> impl Strategy<Value = String> {
    prop_oneof![
        prop::sample::select(vec![
            "0",
            "0.0001",
            "0.00011",
            "1000000",
            "999999.9999",
            "-0.45",
            "0.45",
            "-0.01",
            "-40",
            "60",
            "90",
            "100",
            "360",
            "79228162514264337593543950335",
            "-79228162514264337593543950335",
            "0.0000000000000000000000000001",
        ])
        .prop_map(String::from),
        (1_i64..1_000_000_000, 0_u32..10).prop_map(|(n, s)| Decimal::new(n, s).to_string()),
    ]
}

/// Every text of a record that is a number, and every whole number, by its place in the tree.
fn numbers<'a>(at: &'a mut Json, out: &mut Vec<&'a mut Json>) {
    match at {
        Json::Object(fields) => {
            for (key, value) in fields {
                if !matches!(
                    key.as_str(),
                    "readings" | "safe" | "inspect" | "close" | "sign" | "id" | "schema" | "kept"
                ) {
                    numbers(value, out);
                }
            }
        }
        Json::Array(list) => list.iter_mut().for_each(|v| numbers(v, out)),
        Json::String(text) if text.parse::<Decimal>().is_ok() => out.push(at),
        Json::Number(_) => out.push(at),
        _ => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_worse_reading_never_gets_a_better_verdict(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), values in reading_values()) {
        let job = which.get(jobs());
        let judge = Judge::new(job, forms());
        let places: Vec<Place> = places(job).into_iter().filter(|p| has_direction(&judge, job, p)).collect();
        let place = at.get(&places);
        let found = unfair(place.test, &verdicts(job, place, &values));
        prop_assert!(found.is_none(), "{}: {}", place, found.unwrap_or_default());
    }

    /// Zs with every kind of supply, device, RCD, cable and neighbouring reading.
    #[test]
    fn a_higher_loop_never_gets_a_better_verdict(
        earthing in prop::sample::select(vec![Earthing::TnS, Earthing::TnCS, Earthing::Tt]),
        short in prop::sample::select(vec!["B6", "B32", "C16", "C63", "D20", "B45", "88-3 32", "88-3 63", "88-2 20", "3036 30", "3036 45"]),
        kind in prop::sample::select(vec![CircuitKind::Sockets, CircuitKind::Fixed, CircuitKind::Distribution, CircuitKind::Source]),
        idn in prop::sample::select(vec!["", "10", "30", "100", "300", "0.01"]),
        length in prop::option::of(1_i64..200),
        ze in prop::option::of(1_i64..300),
        zdb in prop::option::of(1_i64..300),
        r1r2 in prop::option::of(1_i64..300),
        scale in 0_u32..3,
        values in reading_values(),
    ) {
        let mut job = tn();
        job.supply.earthing = earthing;
        let c = circuit(&mut job, "M/3");
        c.device = Some(device(short));
        c.kind = kind;
        c.rcd = (!idn.is_empty()).then(|| rcd(idn));
        c.cable.as_mut().unwrap().length_m = length.map(Decimal::from);
        for (place, value) in [("supply/ze", ze), ("M/zdb", zdb), ("M/3/r1r2", r1r2)] {
            if let Some(n) = value {
                put(&mut job, &[(place, &Decimal::new(n, scale).to_string())]);
            }
        }
        for place in ["M/3/zs", "M/zdb", "supply/ze"] {
            let place: Place = place.parse().unwrap();
            let found = unfair(place.test, &verdicts(&job, &place, &values));
            prop_assert!(found.is_none(), "{}: {}", place, found.unwrap_or_default());
        }
    }

    /// Past a limit that is no guidance nothing is within, close or excused; the only softening is an RCD that carries a Zs.
    #[test]
    fn past_a_limit_is_never_in(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), values in reading_values()) {
        let job = which.get(jobs());
        let place = at.get(&places(job)).clone();
        if !matches!(place.test.answer(), Answer::Number) {
            return Ok(());
        }
        let judge = Judge::new(job, forms());
        let seat = job.seat(&place).unwrap();
        let Ok(rule) = judge.rule(&seat, place.test) else { return Ok(()) };
        for (n, verdict, why) in verdicts(job, &place, &values) {
            let past = match rule.bound {
                Bound::AtMost(x) => n > x,
                Bound::AtLeast(x) => n < x,
                Bound::Between(a, b) => n < a || n > b,
                _ => false,
            };
            prop_assert!(!past || rank(verdict) >= 2, "{}: {} is {}: {}", place, n, verdict, why);
        }
    }

    /// Whatever stands in a record, judging it and laying out its steps ends, with an answer for every place.
    #[test]
    fn any_text_at_any_place_is_judged_without_a_panic(
        which in any::<prop::sample::Index>(),
        put in prop::collection::vec((any::<prop::sample::Index>(), typed_text()), 1..40),
    ) {
        let mut job = which.get(jobs()).clone();
        let places = places(&job);
        for (at, typed) in put {
            let place = at.get(&places);
            let now = reading(&job, place.test, &typed, "12:00");
            readings(&mut job, &place.owner()).put(place.test, Some(Entry { now, struck: Vec::new() }));
        }
        let findings = judge_all(&job, forms());
        let plan = Plan::new(&job, forms());
        let verdicts = Verdicts::new(&findings);
        for i in 0..plan.steps().len() {
            plan.waits_for(i, &verdicts);
        }
        plan.next_open(0, &verdicts);
        for f in &findings {
            prop_assert!(!f.why.is_empty(), "{} says nothing", f.place);
            let unreadable = f.value.as_deref().is_some_and(|v| Value::parse(f.place.test.answer(), v).is_err());
            if unreadable && !f.place.test.is_derived() {
                prop_assert!(matches!(f.verdict, Query | Open | Outside), "{}: {:?} is {}", f.place, f.value, f.verdict);
            }
        }
        job.problems();
    }

    /// Whatever a record holds that the program takes, judging ends; what it doesn't take is said and not judged.
    #[test]
    fn any_number_in_any_field_is_judged_without_a_panic(
        which in any::<prop::sample::Index>(),
        put in prop::collection::vec((any::<prop::sample::Index>(), record_number()), 1..3),
    ) {
        let mut tree = serde_json::to_value(which.get(jobs())).unwrap();
        let mut fields = Vec::new();
        numbers(&mut tree, &mut fields);
        prop_assert!(fields.len() > 60);
        for (at, text) in put {
            let i = at.index(fields.len());
            *fields[i] = Json::String(text);
        }
        if let Ok(job) = serde_json::from_value::<Job>(tree)
            && job.problems().is_empty()
        {
            let findings = judge_all(&job, forms());
            Plan::new(&job, forms()).next_open(0, &Verdicts::new(&findings));
            wanderlead::checks::connection(&job, forms());
        }
    }

    #[test]
    fn what_is_typed_reads_back_as_it_is_shown(typed in typed_text(), which in any::<prop::sample::Index>()) {
        let answer = *which.get(&[Answer::Number, Answer::SignedNumber, Answer::Count, Answer::PassFail, Answer::Text]);
        if let Ok(value) = Value::parse(answer, &typed) {
            prop_assert_eq!(Value::parse(answer, &value.to_string()), Ok(value.clone()), "{:?}", typed);
            if let Some(n) = value.number() {
                prop_assert!(answer == Answer::SignedNumber || n >= Decimal::ZERO, "{:?}", typed);
            }
        }
    }

    #[test]
    fn a_reading_and_its_place_come_back_from_a_file(which in any::<prop::sample::Index>(), at in any::<prop::sample::Index>(), typed in typed_text()) {
        let job = which.get(jobs());
        let place = at.get(&places(job)).clone();
        prop_assert_eq!(place.to_string().parse::<Place>(), Ok(place.clone()));
        let one = reading(job, place.test, &typed, "12:00");
        let text = ron::to_string(&one).unwrap();
        prop_assert_eq!(ron::from_str(&text), Ok(one.clone()), "{}", &text);
        let text = serde_json::to_string(&one).unwrap();
        prop_assert_eq!(serde_json::from_str::<wanderlead::job::Reading>(&text).unwrap(), one, "{}", text);
    }
}

/// Every unit: its name in a file reads back, its symbol is told apart from every other, and goes behind a value.
#[test]
fn units_read_back_and_are_told_apart() {
    let all = [
        Unit::Ohm,
        Unit::Megohm,
        Unit::Volt,
        Unit::Amp,
        Unit::MilliAmp,
        Unit::KiloAmp,
        Unit::Millisecond,
        Unit::Second,
        Unit::Celsius,
        Unit::WattPerM2,
        Unit::Watt,
        Unit::KilowattHour,
        Unit::Hertz,
        Unit::HertzPerSecond,
        Unit::Mm2,
        Unit::Metre,
        Unit::MilliohmPerMetre,
        Unit::MillivoltPerAmpMetre,
        Unit::Percent,
        Unit::PerKelvin,
        Unit::Day,
        Unit::Year,
        Unit::Factor,
        Unit::Count,
        Unit::Unitless,
    ];
    let mut symbols = std::collections::BTreeSet::new();
    for unit in all {
        let text = ron::to_string(&unit).unwrap();
        assert_eq!(ron::from_str::<Unit>(&text), Ok(unit), "{text}");
        let bare = matches!(unit, Unit::Factor | Unit::Count | Unit::Unitless);
        assert_eq!(unit.symbol().is_empty(), bare, "{unit:?}");
        assert!(bare || symbols.insert(unit.symbol()), "{unit:?}");
        let shown = unit.with("0.50");
        assert_eq!(
            shown.trim_end_matches(unit.symbol()).trim_end(),
            "0.50",
            "{unit:?}"
        );
    }
    for test in Test::ALL {
        assert!(
            all.contains(&test.unit()),
            "{test}: its unit is missing above"
        );
    }
}

/// Every formula that gives a number is among those that tests/calc_properties.rs feeds with any number at all.
#[test]
fn every_formula_is_fed_with_anything() {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
    let fed = std::fs::read_to_string(root.join("tests/calc_properties.rs")).unwrap();
    let mut found = 0;
    for entry in std::fs::read_dir(root.join("src/calc")).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        for piece in text.split("\npub fn ").skip(1) {
            let name = piece.split('(').next().unwrap().to_string();
            found += 1;
            assert!(
                fed.contains(&format!("{name}(")),
                "`{name}` is missing in the list of tests/calc_properties.rs"
            );
        }
    }
    assert!(found > 35, "{found}");
}
