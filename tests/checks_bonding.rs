//! Sizes of bonding and earthing conductors.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::job::{DeviceStandard, Earthing, Job};

fn on(earthing: Earthing, tails: Option<&str>) -> Job {
    let mut job = tn();
    job.supply.earthing = earthing;
    job.supply.tails_mm2 = tails.map(d);
    job
}

/// Published: Locke, A Guide to the Wiring Regulations, Table E4.6: 10 mm² for a neutral up to 35, then 16 to 50, 25 to 95, 35
/// to 150, 50 above.
#[test]
fn main_bonding_with_pme_by_the_neutral() {
    for (tails, just_under, least) in [
        ("16", "9.9", "10"),
        ("35", "9.9", "10"),
        ("36", "10", "16"),
        ("50", "15", "16"),
        ("70", "16", "25"),
        ("95", "24", "25"),
        ("150", "34", "35"),
        ("151", "35", "50"),
    ] {
        let mut job = on(Earthing::TnCS, Some(tails));
        for (mm2, want) in [(just_under, Outside), (least, Within), ("70", Within)] {
            job.bonds[0].mm2 = d(mm2);
            let found = at(&job, "bond/oil/bond-size");
            assert_eq!(found.verdict, want, "{mm2} for {tails}: {}", found.why);
            assert_eq!(found.limit, Some(format!("≥ {least}")));
        }
    }
    let found = at(&on(Earthing::TnCS, None), "bond/oil/bond-size");
    assert_eq!(found.verdict, Query);
    assert!(found.why.contains("tails_mm2"), "{}", found.why);
}

/// Published: NICEIC Pocket Guide 13: half the earthing conductor, at least 6 and no more than 25 mm².
#[test]
fn main_bonding_elsewhere_by_the_earthing_conductor() {
    for earthing in [Earthing::TnS, Earthing::Tt] {
        for (conductor, just_under, least) in [
            ("4", "5.9", "6"),
            ("12", "5.9", "6"),
            ("16", "6", "8"),
            ("35", "16", "17.5"),
            ("50", "24", "25"),
            ("95", "24", "25"),
        ] {
            let mut job = on(earthing, None);
            job.supply.earthing_mm2 = d(conductor);
            for (mm2, want) in [(just_under, Outside), (least, Within)] {
                job.bonds[0].mm2 = d(mm2);
                let found = at(&job, "bond/oil/bond-size");
                assert_eq!(found.verdict, want, "{mm2} for {conductor}: {}", found.why);
            }
        }
    }
}

/// From memory of BS 7671 regulation 544.2: 4 mm², with mechanical protection 2.5 mm².
#[test]
fn supplementary_bonding() {
    let mut job = on(Earthing::TnCS, None);
    job.bonds[0].supplementary = true;
    for (protected, mm2, want) in [
        (false, "3.9", Outside),
        (false, "4", Within),
        (false, "6", Within),
        (true, "1.5", Outside),
        (true, "2.4", Outside),
        (true, "2.5", Within),
    ] {
        job.bonds[0].mechanically_protected = protected;
        job.bonds[0].mm2 = d(mm2);
        assert_eq!(
            at(&job, "bond/oil/bond-size").verdict,
            want,
            "{protected} {mm2}"
        );
    }
}

/// Published: Table 54.7 as reproduced by the-regs.co.uk: as large as the tails to 16 mm², 16 mm² to 35 mm², then half. Less is
/// for a calculation to show. From memory: with PME never below the main bonding, 10 mm² for 25 mm² of neutral.
#[test]
fn the_earthing_conductor_by_the_tails() {
    for (earthing, tails, mm2, want) in [
        (Earthing::TnS, "10", "10", Within),
        (Earthing::TnS, "25", "16", Within),
        (Earthing::TnS, "25", "15.9", Query),
        (Earthing::TnS, "50", "24", Query),
        (Earthing::TnS, "50", "25", Within),
        (Earthing::TnCS, "25", "16", Within),
        (Earthing::TnCS, "25", "10", Query),
        (Earthing::TnCS, "25", "9.9", Outside),
        // Tails of 6 mm² need 10 mm² of bonding with PME, and so of earthing conductor.
        (Earthing::TnCS, "6", "6", Outside),
        (Earthing::TnCS, "6", "10", Within),
    ] {
        let mut job = on(earthing, Some(tails));
        job.supply.earthing_mm2 = d(mm2);
        let found = at(&job, "supply/earthing-size");
        assert_eq!(found.verdict, want, "{mm2} for {tails}: {}", found.why);
    }
    for earthing in [Earthing::TnS, Earthing::TnCS] {
        let found = at(&on(earthing, None), "supply/earthing-size");
        assert_eq!(found.verdict, Query);
        assert!(found.why.contains("tails_mm2"), "{}", found.why);
    }
}

/// Derived: a BS 88-3 cut-out of 80 A has 0.51 Ω in 5 s, so 428 A and, with k 143, 6.70 mm².
#[test]
fn a_small_earthing_conductor_by_calculation() {
    let mut job = on(Earthing::TnS, Some("25"));
    job.supply.fuse_standard = DeviceStandard::Bs88_3;
    job.supply.fuse_a = d("80");
    put(&mut job, &[("supply/ze", "0.40")]);
    for (mm2, want) in [("6.6", Outside), ("6.71", Query), ("10", Query)] {
        job.supply.earthing_mm2 = d(mm2);
        let found = at(&job, "supply/earthing-size");
        assert_eq!(found.verdict, want, "{mm2}: {}", found.why);
        assert!(found.why.contains("6.7 mm²"), "{}", found.why);
    }
}

/// From memory of Table 54.1 and regulation 543.1.1: 16 mm² in soil, protected against corrosion; 2.5 mm² at the very least.
#[test]
fn the_earthing_conductor_to_an_electrode() {
    for (mm2, want) in [
        ("2.4", Outside),
        ("2.5", Query),
        ("15.9", Query),
        ("16", Within),
        ("25", Within),
    ] {
        let mut job = on(Earthing::Tt, None);
        job.supply.earthing_mm2 = d(mm2);
        assert_eq!(at(&job, "supply/earthing-size").verdict, want, "{mm2}");
    }
}
