//! What a verdict goes by: every limit names the entries it is made with, and can be made again from them.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp
)]

mod checks_help;

use std::collections::BTreeSet;
use std::path::Path;
use std::process::{Command, Output};

use assert_cmd::cargo::CommandCargoExt;
use checks_help::{forms, full};
use wanderlead::checks::{Finding, Verdict, judge_all};
use wanderlead::job::{Job, Layout, Owner, Test};

/// Sets nothing, so that the settings of whoever runs this don't count.
const SETTINGS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/settings.ron");

const SAMPLES: [&str; 3] = ["orchard-cottage.ron", "harbour-row.ron", "mill-yard.ron"];

fn judged() -> Vec<(&'static str, Job, Vec<Finding>)> {
    SAMPLES
        .into_iter()
        .map(|name| {
            let job = full(name);
            let findings = judge_all(&job, forms());
            (name, job, findings)
        })
        .collect()
}

/// The value of an entry that a finding goes by.
fn entry(f: &Finding, id: &str) -> f64 {
    let found = f.basis.iter().find(|l| l.id == id);
    found
        .unwrap_or_else(|| panic!("{}: no {id}", f.place))
        .f64()
}

/// The value of the first entry whose id begins so.
fn under(f: &Finding, prefix: &str) -> f64 {
    let found = f.basis.iter().find(|l| l.id.starts_with(prefix));
    found
        .unwrap_or_else(|| panic!("{}: no {prefix}", f.place))
        .f64()
}

fn bound(f: &Finding) -> f64 {
    let limit = f.limit.as_ref().unwrap();
    limit.split(' ').next_back().unwrap().parse().unwrap()
}

/// Limits that are the job's own record: nothing in the files could be their source.
const OWN_RECORD: [Test; 8] = [
    Test::PfcLn,
    Test::PfcLe,
    Test::Pfc,
    Test::BreakingCapacity,
    Test::Count,
    Test::DcVoltage,
    Test::ExportPeak,
    Test::Modules,
];

#[test]
fn every_limit_says_how_it_was_made_and_with_what() {
    let mut own = BTreeSet::new();
    for (name, _, findings) in judged() {
        for f in findings {
            let looked_at = f.limit.as_deref() == Some("must pass") && !f.place.test.is_derived();
            if f.limit.is_none() || looked_at {
                continue;
            }
            assert!(!f.formula.is_empty(), "{name} {}", f.place);
            let entries = f.basis.iter().filter(|l| !l.id.starts_with("uncertainty/"));
            if entries.count() == 0 {
                own.insert(f.place.test);
                assert!(
                    f.mark.is_none(),
                    "{name} {}: a source without an entry",
                    f.place
                );
            }
            // Nothing twice.
            let ids: BTreeSet<&str> = f.basis.iter().map(|l| l.id.as_str()).collect();
            assert_eq!(ids.len(), f.basis.len(), "{name} {}", f.place);
            // A source that is shown is that of an entry, or stands for a formula of some.
            if let Some(mark) = f.mark
                && mark != wanderlead::forms::Mark::Derived
            {
                assert!(
                    f.basis.iter().any(|l| l.source.text == f.source),
                    "{name} {}: {}",
                    f.place,
                    f.source
                );
            }
        }
    }
    let known: BTreeSet<Test> = OWN_RECORD.into_iter().collect();
    assert!(
        own.is_subset(&known),
        "{:?}",
        own.difference(&known).collect::<Vec<_>>()
    );
}

/// NICEIC Connections, Spring 2015, page 61: a cold reading is judged by 0.8 of the table, rounded down (0.91 gives 0.72).
#[test]
fn zs_limits_are_made_again_from_their_entries() {
    let mut made = 0;
    for (name, _, findings) in judged() {
        for f in findings.iter().filter(|f| f.place.test == Test::Zs) {
            if !f
                .basis
                .iter()
                .any(|l| l.id.starts_with("zs/") && l.id != "zs/site-factor")
            {
                continue;
            }
            let site = under(f, "zs/") * entry(f, "zs/site-factor");
            let down = ((site + 1e-9) * 100.0).floor() / 100.0;
            assert!((down - bound(f)).abs() < 1e-9, "{name} {}: {down}", f.place);
            assert!(under(f, "time/") > 0.0);
            made += 1;
        }
    }
    assert!(made > 10, "{made}");
}

/// BS 7671 411.5.3 (from memory): RA times the rated residual current is at most 50 V.
#[test]
fn an_electrode_limit_is_made_again_from_its_entries() {
    let (_, job, findings) = judged().remove(1);
    let f = findings.iter().find(|f| f.place.test == Test::Ra).unwrap();
    let rcds = job.boards.iter().flat_map(|b| {
        b.rcd
            .iter()
            .chain(b.circuits.iter().filter_map(|c| c.rcd.as_ref()))
    });
    let idn_a: f64 = rcds
        .map(|r| r.idn_ma.to_string().parse::<f64>().unwrap() / 1000.0)
        .fold(0.0, f64::max);
    assert_eq!((entry(f, "rcd/touch-voltage") / idn_a).round(), bound(f));
    assert_eq!(under(f, "rcd/ra/"), bound(f));
}

/// IEC 62446-1 6.7.3 (from memory): the band is chosen by 1.25 times Voc of the string. 10 x 38.6 V is 482.5 V, tested at 500 V;
/// 11 are 530.75 V, at 1000 V.
#[test]
fn the_test_voltage_of_a_string_is_chosen_again_from_its_entries() {
    let mut made = 0;
    for (name, job, findings) in judged() {
        for f in findings
            .iter()
            .filter(|f| matches!(f.place.test, Test::IrPos | Test::IrJoined))
        {
            let Owner::PvString(array, string) = job.seat(&f.place).unwrap().owner else {
                panic!("{}", f.place)
            };
            let voc: f64 = array.module.voc_v.to_string().parse().unwrap();
            let volts = entry(f, "pv/system-factor") * voc * string.modules.len() as f64;
            let band = if volts < entry(f, "pv-ir/1/below") {
                1
            } else if volts <= entry(f, "pv-ir/2/below") {
                2
            } else if volts <= entry(f, "pv-ir/3/below") {
                3
            } else {
                4
            };
            assert_eq!(
                entry(f, &format!("pv-ir/{band}/min")),
                bound(f),
                "{name} {}",
                f.place
            );
            let test = entry(f, &format!("pv-ir/{band}/test"));
            assert!(f.formula.contains(&format!("at {test} V")), "{}", f.formula);
            made += 1;
        }
    }
    assert!(made > 1, "{made}");
}

/// Resistance of copper at 20 degrees C by IEC 60228, times the length, times 1 + 0.004 (T - 20); then the guidance on top.
#[test]
fn the_limit_of_a_bond_is_made_again_from_its_entries() {
    let mut made = 0;
    for (name, job, findings) in judged() {
        let ambient = job
            .ambient_c
            .map_or(20.0, |c| c.to_string().parse::<f64>().unwrap());
        for f in findings.iter().filter(|f| f.place.test == Test::Continuity) {
            let Some(seat) = job.seat(&f.place) else {
                continue;
            };
            let Owner::Bond(bond) = seat.owner else {
                continue;
            };
            let Some(length) = bond.length_m else {
                continue;
            };
            let length: f64 = length.to_string().parse().unwrap();
            let cold = under(f, "conductor/class2/") / 1000.0 * length;
            let warm =
                cold * (1.0 + entry(f, "temp/alpha") * (ambient - entry(f, "temp/reference")));
            let most = warm * (1.0 + entry(f, "expect/r1r2-tolerance") / 100.0)
                + entry(f, "expect/bond-contacts");
            let most = most.max(entry(f, "bond/continuity"));
            assert!(
                (most - bound(f)).abs() <= 0.0051,
                "{name} {}: {most}",
                f.place
            );
            made += 1;
        }
    }
    assert!(made > 1, "{made}");
}

/// The window of a string is its expectation with 5 % on either side (IEC 62446-1, from memory).
#[test]
fn the_window_of_a_string_is_made_again_from_its_entries() {
    let mut made = 0;
    for (name, job, findings) in judged() {
        assert!(
            job.arrays
                .iter()
                .all(|a| !matches!(&a.layout, Layout::Strings(s) if s.is_empty()))
        );
        for f in findings
            .iter()
            .filter(|f| f.place.test == Test::Voc && f.limit.is_some())
        {
            let near: f64 = f.expected.split(' ').next().unwrap().parse().unwrap();
            let share = entry(f, "pv/voc-tolerance") / 100.0;
            let (low, high) = f.limit.as_ref().unwrap().split_once(" to ").unwrap();
            let low: f64 = low.parse().unwrap();
            let high: f64 = high.parse().unwrap();
            assert!(
                (near * (1.0 - share) - low).abs() < 0.11,
                "{name} {}",
                f.place
            );
            assert!(
                (near * (1.0 + share) - high).abs() < 0.11,
                "{name} {}",
                f.place
            );
            for id in [
                "pv/reference-irradiance",
                "pv/reference-temp",
                "pv/ideality",
                "pv/dead-share",
            ] {
                entry(f, id);
            }
            made += 1;
        }
    }
    assert!(made > 1, "{made}");
}

#[test]
fn a_limit_that_a_second_entry_chose_has_both() {
    let all: Vec<Finding> = judged().into_iter().flat_map(|(_, _, f)| f).collect();
    for (test, with, also) in [
        (Test::IrLe, "ir/up-to-500/min", "ir/low-voltage-edge"),
        (Test::Zs, "zs/circuit-breaker/", "time/final-up-to/"),
        (
            Test::AdditionalProtection,
            "rcd/additional/idn",
            "rcd/additional/sockets-up-to",
        ),
        (Test::SetUv, "grid/g99/uv/volts", "grid/g99/uv/time"),
    ] {
        let of_test = || all.iter().filter(|f| f.place.test == test);
        let found = of_test().filter(|f| f.basis.first().is_some_and(|l| l.id.starts_with(with)));
        let mut count = 0;
        for f in found {
            let distribution = f.basis.iter().any(|l| l.id.ends_with("/distribution"));
            assert!(
                distribution || f.basis.iter().any(|l| l.id.starts_with(also)),
                "{}",
                f.place
            );
            count += 1;
        }
        assert!(count > 0, "{test}");
    }
}

/// The limit files' figure counts where the instrument has none: then its entry is among those the verdict goes by.
#[test]
fn an_uncertainty_of_the_files_is_an_entry_like_any_other() {
    let mut job = full("mill-yard.ron");
    for tool in &mut job.instruments {
        tool.uncertainty_pct.clear();
    }
    let findings = judge_all(&job, forms());
    let used: Vec<&Finding> = findings
        .iter()
        .filter(|f| f.uncertainty.is_some())
        .collect();
    assert!(used.len() > 20);
    for f in used {
        let u = f.uncertainty.as_ref().unwrap();
        assert!(
            f.basis
                .iter()
                .any(|l| l.id == u.from && l.value == u.percent),
            "{}",
            f.place
        );
    }
    assert!(findings.iter().any(|f| f.verdict == Verdict::Close));
}

fn run(args: &[&str]) -> Output {
    let mut command = Command::cargo_bin("wanderlead").unwrap();
    command
        .env_remove("WANDERLEAD_FORMS")
        .env("WANDERLEAD_CONFIG", SETTINGS)
        .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-jobs"))
        .args(args);
    command.output().unwrap()
}

#[test]
fn the_command_says_why_also_before_a_reading_is_taken() {
    let output = run(&["check", "mill-yard.ron", "--why", "M/9/zs"]);
    let text = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(1));
    for line in [
        "limit     ≤ 1.09 Ω",
        "margin    -0.12 Ω",
        "certainty ±5 % of the reading, the figure of instrument mft",
        "goes by   zs/circuit-breaker/C/16  1.37 Ω",
        "and by    zs/site-factor  0.8 (factor)",
    ] {
        assert!(text.lines().any(|l| l == line), "{line}\n{text}");
    }
    assert!(text.lines().all(|l| l.chars().count() <= 80), "{text}");
    let open = run(&["check", "orchard-cottage.ron", "--why", "C/4/ir-le"]);
    let text = String::from_utf8(open.stdout).unwrap();
    assert!(
        text.contains("reading   not yet taken")
            && text.contains("goes by   ir/up-to-500/min  1 MΩ"),
        "{text}"
    );
    let json = run(&["check", "mill-yard.ron", "--why", "M/9/zs", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let finding = &json["finding"];
    assert_eq!(finding["basis"][1]["id"], "zs/site-factor");
    assert_eq!(finding["basis"][1]["value"], "0.8");
    assert_eq!(finding["uncertainty"]["from"], "instrument mft");
    assert!(
        finding["formula"]
            .as_str()
            .unwrap()
            .starts_with("0.8 × 1.37 Ω")
    );
    assert!(
        finding["expected"]
            .as_str()
            .unwrap()
            .contains("R1+R2 1.05 Ω")
    );

    for (place, want) in [
        ("X/9/zs", "the job has no `X/9`"),
        ("M/9/voc", "`voc` is not taken at M/9; there are: "),
        ("M/9/zz", "zz"),
    ] {
        let output = run(&["check", "mill-yard.ron", "--why", place]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{place}");
        assert!(said.contains(want), "{said}");
    }
}
