//! Main switch, surge protection, arc fault detection, order and type of RCDs, and the fault current behind a sub-main.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use chrono::DateTime;
use wanderlead::checks::{Finding, Judge, Verdict, judge_all};
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::job::text::parse;
use wanderlead::job::{
    Board, Circuit, CircuitKind, Direction, Earthing, Job, Lines, Phases, Premises, Rcd, RcdType,
};

fn found(job: &Job, place: &str) -> Option<Finding> {
    Judge::new(job, forms()).place(&place.parse().unwrap())
}

fn verdict(job: &Job, place: &str) -> Option<Verdict> {
    found(job, place).map(|f| f.verdict)
}

/// A board that the last circuit of the first one feeds.
fn with_sub_board(mut job: Job) -> Job {
    let mut sub = job.boards[0].clone();
    sub.id = "S".into();
    sub.fed_from = "M/7".into();
    sub.rcd = None;
    sub.spd = String::new();
    sub.spd_lead_m = None;
    sub.circuits.retain(|c| c.kind == CircuitKind::Lighting);
    job.boards.push(sub);
    circuit(&mut job, "M/7").kind = CircuitKind::Distribution;
    job
}

/// From memory of 462.1.201 and 461.2: both poles in single-phase; every line in three-phase TN; the neutral too on TT.
#[test]
fn poles_of_the_main_switch() {
    use Earthing::{TnCS, TnS, Tt};
    for (phases, earthing, sources, poles, want) in [
        (Phases::Single, TnCS, false, 1, Outside),
        (Phases::Single, TnCS, false, 2, Within),
        (Phases::Single, Tt, true, 2, Within),
        (Phases::Three, TnS, false, 2, Outside),
        (Phases::Three, TnS, false, 3, Within),
        (Phases::Three, TnS, true, 3, Query),
        (Phases::Three, TnS, true, 4, Within),
        (Phases::Three, Tt, false, 3, Outside),
        (Phases::Three, Tt, false, 4, Within),
    ] {
        let mut job = tn();
        job.supply.earthing = earthing;
        if !sources {
            job.boards[0].circuits.remove(0);
        }
        job.boards[0].phases = phases;
        job.boards[0].main_poles = Some(poles);
        let got = at(&job, "M/main-switch");
        assert_eq!(
            got.verdict, want,
            "{phases:?} {earthing:?} {poles}: {}",
            got.why
        );
    }
}

/// From memory of 536.4.202: no less than the device ahead, the cut-out of 80 A or the B16 that feeds a board.
#[test]
fn rating_of_the_main_switch() {
    let mut job = with_sub_board(tn());
    job.boards[0].circuits.remove(0);
    for (board, index, rows) in [
        ("M", 0, [("79", Outside), ("80", Within), ("100", Within)]),
        ("S", 1, [("15", Outside), ("16", Within), ("100", Within)]),
    ] {
        for (amps, want) in rows {
            job.boards[index].main_a = Some(d(amps));
            assert_eq!(
                verdict(&job, &format!("{board}/main-switch")),
                Some(want),
                "{board} {amps}"
            );
        }
    }
    // The board itself carries what is ahead of it, also without sources.
    for (rated, want) in [("15.9", Query), ("16", Within)] {
        job.boards[1].board_a = Some(d(rated));
        assert_eq!(verdict(&job, "S/main-switch"), Some(want), "{rated}");
    }
    for (amps, poles) in [(None, Some(2)), (Some(d("100")), None), (None, None)] {
        job.boards[0].main_a = amps;
        job.boards[0].main_poles = poles;
        let got = at(&job, "M/main-switch");
        assert_eq!(got.verdict, Query);
        assert!(got.why.contains("main_a, main_poles"), "{}", got.why);
    }
}

/// From memory of 551.7.2: device ahead and sources together, 80 A + 26.1 A = 106.1 A, on the rating of the board.
#[test]
fn sources_add_to_what_a_board_carries() {
    let mut job = tn();
    for (board_a, want) in [
        (None, Query),
        (Some("106"), Query),
        (Some("106.1"), Within),
        (Some("125"), Within),
    ] {
        job.boards[0].board_a = board_a.map(d);
        let got = at(&job, "M/main-switch");
        assert_eq!(got.verdict, want, "{board_a:?}: {}", got.why);
        assert!(got.why.contains("106.1 A"), "{}", got.why);
    }
    // A source behind a sub-main is a source of the board ahead as well; on the line that feeds it.
    let mut job = with_sub_board(tn());
    let source = job.boards[0].circuits.remove(0);
    job.inverters[0].circuit = "S/1".into();
    job.boards[1].circuits.insert(0, source);
    for board in &mut job.boards {
        board.board_a = Some(d("106"));
    }
    assert_eq!(verdict(&job, "M/main-switch"), Some(Query));
    assert_eq!(
        verdict(&job, "S/main-switch"),
        Some(Within),
        "16 A + 26.1 A"
    );
    job.boards[0].phases = Phases::Three;
    job.boards[0].main_poles = Some(4);
    circuit(&mut job, "M/7").lines = Lines::L2;
    assert_eq!(verdict(&job, "M/main-switch"), Some(Query));
    let other = Circuit {
        id: "20".into(),
        kind: CircuitKind::Source,
        lines: Lines::L1,
        design_a: Some(d("20")),
        ..circuit(&mut job, "M/7").clone()
    };
    job.boards[0].circuits.push(other);
    assert!(at(&job, "M/main-switch").why.contains("26.1 A of sources"));
}

/// From memory of 443.4.1: at the origin there is a device or a reason. 534.4.8: its leads up to 0.5 m, never over 1 m.
#[test]
fn surge_protection() {
    let mut job = with_sub_board(tn());
    assert_eq!(verdict(&job, "M/surge"), Some(Within));
    assert_eq!(verdict(&job, "S/surge"), None, "not at the origin");
    job.boards[0].spd = String::new();
    job.boards[0].spd_lead_m = None;
    assert_eq!(verdict(&job, "M/surge"), Some(Query));
    job.boards[0].no_spd = "owner's declaration of 3 May".into();
    let got = at(&job, "M/surge");
    assert_eq!(got.verdict, Excused);
    assert!(got.why.contains("declaration of 3 May"), "{}", got.why);
    assert_eq!(verdict(&job, "M/spd-leads"), None);

    let mut job = tn();
    for (metres, want) in [
        ("0.4", Within),
        ("0.5", Within),
        ("0.51", Query),
        ("1", Query),
        ("1.01", Outside),
    ] {
        job.boards[0].spd_lead_m = Some(d(metres));
        assert_eq!(verdict(&job, "M/spd-leads"), Some(want), "{metres}");
    }
    job.boards[0].spd_lead_m = None;
    assert_eq!(verdict(&job, "M/spd-leads"), None);
}

/// From memory of 421.1.7: in four kinds of premises, on single-phase circuits with socket-outlets up to 32 A.
#[test]
fn arc_fault_detection() {
    let asked = [
        Premises::HigherRiskResidential,
        Premises::Hmo,
        Premises::StudentAccommodation,
        Premises::CareHome,
    ];
    let mut job = tn();
    for premises in asked {
        job.premises = premises;
        assert_eq!(verdict(&job, "M/3/afdd"), Some(Outside), "{premises:?}");
        assert_eq!(verdict(&job, "M/4/afdd"), None, "a cooker");
        assert_eq!(verdict(&job, "M/5/afdd"), None, "lights");
    }
    for (short, want) in [("B32", Some(Outside)), ("B40", None)] {
        circuit(&mut job, "M/3").device = Some(device(short));
        assert_eq!(verdict(&job, "M/3/afdd"), want, "{short}");
    }
    circuit(&mut job, "M/3").device = Some(device("B32"));
    circuit(&mut job, "M/3").afdd = true;
    assert_eq!(verdict(&job, "M/3/afdd"), Some(Within));
    circuit(&mut job, "M/3").afdd = false;
    job.boards[0].phases = Phases::Three;
    circuit(&mut job, "M/3").lines = Lines::All;
    assert_eq!(verdict(&job, "M/3/afdd"), None, "three-phase");
    circuit(&mut job, "M/3").lines = Lines::L2;
    assert_eq!(verdict(&job, "M/3/afdd"), Some(Outside));
    for premises in [Premises::Dwelling, Premises::Other] {
        job.premises = premises;
        assert_eq!(verdict(&job, "M/3/afdd"), None, "{premises:?}");
    }
}

fn made(idn: &str, selective: bool) -> Rcd {
    Rcd {
        selective,
        ..rcd(idn)
    }
}

/// From memory of 536.4.1.4: time-delayed and at least three times as much as the one behind it.
#[test]
fn an_rcd_ahead_of_others_trips_last() {
    for (ahead, selective, behind, behind_selective, want) in [
        ("90", true, "30", false, Within),
        ("89", true, "30", false, Query),
        ("100", true, "30", false, Within),
        ("100", false, "30", false, Query),
        ("300", true, "100", false, Within),
        ("100", true, "100", false, Query),
        ("300", true, "100", true, Query),
        ("30", false, "30", false, Query),
    ] {
        let mut job = tn();
        job.boards[0].rcd = Some(made(ahead, selective));
        assert_eq!(verdict(&job, "M/rcd-selectivity"), None, "none behind it");
        circuit(&mut job, "M/3").rcd = Some(made(behind, behind_selective));
        let got = at(&job, "M/rcd-selectivity");
        assert_eq!(got.verdict, want, "{ahead} ahead of {behind}: {}", got.why);
        assert_eq!(verdict(&job, "M/3/rcd-selectivity"), None, "it is the last");
        assert!(!got.basis.is_empty());
    }
}

/// The RCD of a circuit that feeds a board, and of a board ahead of a board: the next one behind it, and no other, is looked at.
#[test]
fn rcds_in_line_over_several_boards() {
    let mut job = with_sub_board(tn());
    circuit(&mut job, "M/7").rcd = Some(made("100", false));
    assert_eq!(verdict(&job, "M/7/rcd-selectivity"), None);
    job.boards[1].circuits[0].rcd = Some(rcd("30"));
    assert_eq!(verdict(&job, "M/7/rcd-selectivity"), Some(Query));
    circuit(&mut job, "M/7").rcd = Some(made("100", true));
    assert_eq!(verdict(&job, "M/7/rcd-selectivity"), Some(Within));
    // Behind the board's RCD of 300 mA the next is that of 100 mA, which is time-delayed too.
    job.boards[0].rcd = Some(made("300", true));
    assert_eq!(verdict(&job, "M/rcd-selectivity"), Some(Query));
    circuit(&mut job, "M/7").rcd = None;
    assert_eq!(verdict(&job, "M/rcd-selectivity"), Some(Within));
    job.boards[1].rcd = Some(rcd("300"));
    assert_eq!(verdict(&job, "M/rcd-selectivity"), Some(Query));
}

/// Published: regulation 531.3.3 as quoted in IET Wiring Matters, July 2022: type AC only for fixed equipment known to have no
/// d.c.
#[test]
fn type_ac_only_where_no_dc_is_known() {
    let ac = |declaration: &str| Rcd {
        kind: RcdType::AC,
        declaration: declaration.into(),
        ..rcd("30")
    };
    let mut job = tn();
    for (path, declaration, want) in [
        ("M/5", "", Some(Query)),
        ("M/5", "no d.c. in these lights", Some(Query)),
        ("M/7", "", Some(Query)),
        ("M/7", "heating element alone, maker's sheet", Some(Within)),
        // Said once, where the additional protection of sockets is judged.
        ("M/3", "", None),
    ] {
        let mut job = job.clone();
        circuit(&mut job, path).rcd = Some(ac(declaration));
        let place = format!("{path}/rcd-type");
        assert_eq!(verdict(&job, &place), want, "{path} `{declaration}`");
    }
    circuit(&mut job, "M/3").rcd = Some(ac(""));
    assert_eq!(verdict(&job, "M/3/additional-protection"), Some(Query));
    circuit(&mut job, "M/5").rcd = Some(rcd("30"));
    assert_eq!(verdict(&job, "M/5/rcd-type"), None, "type A");
    // Ahead of a whole board: named are those that nothing else names.
    let mut job = tn();
    job.boards[0].circuits.remove(0);
    job.boards[0].rcd = Some(ac(""));
    let got = at(&job, "M/rcd-type");
    assert_eq!(got.verdict, Query);
    assert!(
        got.why.contains("5 lights") && !got.why.contains("sockets"),
        "{}",
        got.why
    );
}

/// Derived from a network calculation (pandapower): 1150 A at the origin (0.2 Ω) and a sub-main of 0.0461 Ω give 934.9 A. Here 2 ×
/// 7.41 mΩ/m × 3.111 m = 0.0461 Ω.
#[test]
fn fault_current_behind_a_sub_main() {
    let mut job = with_sub_board(tn());
    job.ambient_c = None;
    let cable = circuit(&mut job, "M/7").cable.as_mut().unwrap();
    cable.line_mm2 = d("2.5");
    cable.length_m = Some(d("3.111"));
    assert_eq!(at(&job, "S/pfc").expected, "");
    put(&mut job, &[("supply/pfc-ln", "1.150")]);
    let expected = at(&job, "S/pfc").expected;
    assert!(expected.starts_with("about 0.93 kA"), "{expected}");
    assert!(
        at(&job, "M/pfc").expected.starts_with("up to the 1.150 kA"),
        "at the origin"
    );
    circuit(&mut job, "M/7").cable.as_mut().unwrap().length_m = None;
    assert_eq!(at(&job, "S/pfc").expected, "");
    // Between lines: 398.4 V / 1600 A = 0.249 Ω and 0.0461 Ω: 1.35 kA.
    circuit(&mut job, "M/7").cable.as_mut().unwrap().length_m = Some(d("3.111"));
    job.boards[1].phases = Phases::Three;
    put(&mut job, &[("supply/pfc-ll", "1.6")]);
    let expected = at(&job, "S/pfc").expected;
    assert!(expected.starts_with("about 1.35 kA"), "{expected}");
}

/// A switch-fuse is a board with one way. The renewables board behind one is found in order, walked in order and drafted.
#[test]
fn a_switch_fuse_is_a_board_with_one_way() {
    let mut job = full("orchard-cottage.ron");
    let way = r#"(id: "1", name: "renewables board", kind: Distribution, points: 1,
        device: (standard: Bs88_3, rating_a: "63", breaking_ka: "33", poles: 1),
        cable: (form: Singles70, line_mm2: "16", cpc: Copper("16"), length_m: "1", method: "B"), design_a: "40")"#;
    let way: Circuit = parse("way", way).unwrap();
    assert_eq!(way.device.as_ref().unwrap().direction, Direction::Unknown);
    let fuse = Board {
        id: "F".into(),
        name: "switch-fuse".into(),
        circuits: vec![way],
        spd: String::new(),
        spd_lead_m: None,
        readings: wanderlead::job::Readings::default(),
        ..job.boards[0].clone()
    };
    job.boards[0].fed_from = "F/1".into();
    job.boards.insert(0, fuse);
    assert_eq!(job.problems(), []);

    let findings = judge_all(&job, forms());
    let against: Vec<String> = findings
        .iter()
        .filter(|f| matches!(f.verdict, Outside | Query))
        .map(|f| format!("{}: {}", f.place, f.why))
        .collect();
    assert_eq!(against, Vec::<String>::new());
    for place in [
        "F/main-switch",
        "F/surge",
        "F/1/both-ways",
        "F/1/poles-open",
        "F/1/cpc",
        "R/main-switch",
    ] {
        assert_eq!(verdict(&job, place), Some(Within), "{place}");
    }
    // 63 A ahead of the renewables board, not the cut-out.
    assert_eq!(at(&job, "R/main-switch").limit.as_deref(), Some("≥ 63"));
    let mut one_pole = job.clone();
    one_pole.boards[0].main_poles = Some(1);
    assert_eq!(verdict(&one_pole, "F/1/poles-open"), Some(Outside));

    let plan = Plan::new(&job, forms());
    let now = Verdicts::new(&findings);
    for place in ["F/zdb", "F/1/zs", "F/1/r1r2"] {
        assert!(plan.position(&place.parse().unwrap()).is_some(), "{place}");
    }
    assert!(plan.next_open(0, &now).is_some());
    let at = DateTime::parse_from_rfc3339("2026-11-20T09:00:00+00:00").unwrap();
    let paper = wanderlead::paper::draft(&job, forms(), at).expect("a PDF");
    assert!(paper.pages > 10, "{}", paper.pages);
}

/// Sizes and ratings that can't be are refused where the job is read.
#[test]
fn nonsense_is_refused() {
    let refused = |change: &dyn Fn(&mut Job)| {
        let mut job = tn();
        change(&mut job);
        let fields: Vec<String> = job.problems().into_iter().map(|p| p.field).collect();
        fields.join(" ")
    };
    assert_eq!(refused(&|_| ()), "");
    assert_eq!(
        refused(&|j| j.supply.tails_mm2 = Some(d("0"))),
        "supply.tails_mm2"
    );
    assert_eq!(
        refused(&|j| j.boards[0].main_a = Some(d("-1"))),
        "boards[0].main_a"
    );
    assert_eq!(
        refused(&|j| j.boards[0].board_a = Some(d("0"))),
        "boards[0].board_a"
    );
    for poles in [0, 5] {
        assert_eq!(
            refused(&|j| j.boards[0].main_poles = Some(poles)),
            "boards[0].main_poles"
        );
    }
    assert_eq!(
        refused(&|j| j.boards[0].spd = String::new()),
        "boards[0].spd_lead_m"
    );
    let energy = |j: &mut Job| j.boards[0].circuits[2].let_through_a2s = Some(d("0"));
    assert_eq!(refused(&energy), "boards[0].circuits[2].let_through_a2s");
}
