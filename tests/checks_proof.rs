//! What leaves the work unproved though every place is answered: reasons in place of the proof, confirmations older than what they
//! confirm, serial numbers that stand twice, days that contradict each other.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use wanderlead::checks::{Judge, judge_all};
use wanderlead::job::{Change, Job, Layout, Place, Test};

/// From memory: the link of an island, loss of mains and putting back are what people are hurt by afterwards; common practice
/// that nobody leaves before they are done.
#[test]
fn no_reason_stands_for_what_hurts_afterwards() {
    for (file, place) in [
        ("orchard-cottage.ron", "E/ne-island"),
        ("harbour-row.ron", "grid/loss-of-mains"),
        ("harbour-row.ron", "close/restored"),
    ] {
        let job = bare(file);
        let address: Place = place.parse().unwrap();
        for reason in ["lim: not done", "n/a: there was no time"] {
            let entered = reading(&job, address.test, reason, "12:00");
            let refused = job.would_keep(&address, &entered).unwrap_err().to_string();
            assert!(refused.contains("no reason takes its place"), "{refused}");
            // A file or journal of a former version has one: it is read, and the work is open.
            let had = typed(&job, place, reason);
            assert_eq!(had.verdict, Open, "{}", had.why);
            assert!(had.why.contains(reason.split_once(' ').unwrap().1));
            if reason.starts_with("lim") {
                let mut replayed = job.clone();
                let keep = Change::Keep {
                    place: address.clone(),
                    reading: entered,
                };
                replayed.apply(&keep).unwrap();
                assert_eq!(replayed.problems(), [], "{place}");
                assert_eq!(at(&replayed, place).verdict, Open);
            }
        }
        assert_eq!(typed(&job, place, "pass").verdict, Within, "{place}");
    }
}

/// Every answer that fails, of each kind, with what is typed at a place where that is good. Common practice: a fault that was
/// found is mended or stays a fault; saying that the test couldn't be done doesn't mend it.
#[test]
fn a_reason_over_a_failed_reading_excuses_nothing() {
    let mut job = tt();
    no_rcds(&mut job);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    for (place, failed, good) in [
        ("bond/gas", ">99", "0.05"),
        ("supply/ra", "9000", "85"),
        ("M/3/r1r2", ">99", "0.40"),
        ("M/3/ir-le", "0.02", "200"),
        ("M/3/ir-ll", "0.00", "200"),
        ("M/3/rcd-time", ">300", "21"),
        ("M/3/rcd-button", "fail", "pass"),
        ("M/5/zs", "86", "1.1"),
        ("P/S1/ir-pos", "0.1", "200"),
    ] {
        let place = match place {
            "bond/gas" => &format!("bond/{}/continuity", job.bonds[0].id),
            place => place,
        };
        let alone = typed(&job, place, failed);
        assert_eq!(alone.verdict, Outside, "{place} {failed}: {}", alone.why);
        for reason in ["lim: no access", "n/a: not in the extent"] {
            let mut over = job.clone();
            put(&mut over, &[(place, failed), (place, reason)]);
            let found = at(&over, place);
            assert_eq!(found.verdict, Outside, "{place} {reason}: {}", found.why);
            assert_eq!(found.failed, Some(alone.value_text()), "{place}");
            assert!(
                found.why.starts_with(&alone.value_text()),
                "{place}: {}",
                found.why
            );
            assert!(found.why.contains("no access") || found.why.contains("not in the extent"));
            assert!(found.limit == alone.limit && found.source == alone.source);
            // A second reason hides it no better, and it is said before the reason is kept.
            put(&mut over, &[(place, "lim: still no access")]);
            assert_eq!(at(&over, place).verdict, Outside, "{place}");
            let mut before = job.clone();
            put(&mut before, &[(place, failed)]);
            let address: Place = place.parse().unwrap();
            let entered = reading(&before, address.test, reason, "12:00");
            let judge = Judge::new(&before, forms());
            let seat = before.seat(&address).unwrap();
            let seen = judge.preview(&seat, address.test, &entered);
            assert_eq!(seen.verdict, Outside, "{place}: {}", seen.why);
            // A good reading mends it, also where a reason follows that; without a failed one a reason stands as ever.
            put(&mut over, &[(place, good)]);
            assert_ne!(at(&over, place).verdict, Outside, "{place}");
            put(&mut over, &[(place, reason)]);
            assert_ne!(at(&over, place).verdict, Outside, "{place}");
            assert_ne!(typed(&job, place, reason).verdict, Outside, "{place}");
        }
    }
}

/// As above: a question about a reading isn't answered by saying that it couldn't be taken.
#[test]
fn a_reason_over_a_queried_reading_answers_nothing() {
    let mut job = tt();
    no_rcds(&mut job);
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    put(&mut job, &[("supply/ra", "85"), ("M/3/r1r2", "0.40")]);
    let bond = format!("bond/{}/continuity", job.bonds[0].id);
    for (place, queried, good) in [
        (bond.as_str(), "0.1", "0.04"),
        ("supply/ra", "0.9", "85"),
        ("supply/ze", "0.86", "86"),
        ("M/3/r1r2", "0.9", "0.40"),
        ("M/3/ir-le", "1.5", "200"),
        ("P/S1/ir-pos", "1.5", "200"),
    ] {
        let alone = typed(&job, place, queried);
        assert_eq!(alone.verdict, Query, "{place} {queried}: {}", alone.why);
        for reason in ["lim: no access", "n/a: not in the extent"] {
            let mut over = job.clone();
            put(&mut over, &[(place, queried), (place, reason)]);
            let found = at(&over, place);
            assert_eq!(found.verdict, Query, "{place} {reason}: {}", found.why);
            assert_eq!(found.failed, Some(alone.value_text()), "{place}");
            assert_eq!(found.value.as_deref(), Some(reason));
            let value = alone.value_text();
            assert!(found.why.starts_with(&value), "{place}: {}", found.why);
            assert!(found.why.contains(&alone.why), "{place}: {}", found.why);
            assert!(found.why.contains("no access") || found.why.contains("not in the extent"));
            assert!(alone.basis.iter().all(|row| found.basis.contains(row)));
            put(&mut over, &[(place, "lim: still no access")]);
            assert_eq!(at(&over, place).verdict, Query, "{place}");
            let mut before = job.clone();
            put(&mut before, &[(place, queried)]);
            let address: Place = place.parse().unwrap();
            let entered = reading(&before, address.test, reason, "12:00");
            let judge = Judge::new(&before, forms());
            let seat = before.seat(&address).unwrap();
            assert_eq!(judge.preview(&seat, address.test, &entered).verdict, Query);
            // A good reading answers it, also where a reason follows that; one that is outside stays so.
            put(&mut over, &[(place, good), (place, reason)]);
            assert_eq!(at(&over, place).failed, None, "{place}");
        }
    }
    // What the reason leaves unproved is said too, and what its parts show to be outside isn't softened by the question.
    put(&mut job, &[("M/5/r1r2", "lim: no access")]);
    put(&mut job, &[("M/5/zs", "1.0"), ("M/5/zs", "lim: no access")]);
    let found = at(&job, "M/5/zs");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.starts_with("1.0 Ω was read"), "{}", found.why);
    assert!(found.why.contains("isn't shown"), "{}", found.why);
    put(&mut job, &[("M/zdb", "86"), ("M/5/r1r2", "0.2")]);
    let found = at(&job, "M/5/zs");
    assert_eq!(found.verdict, Outside, "{}", found.why);
}

/// Where a reading of the equipment is queried and a reason is asked for instead, the reason stands.
#[test]
fn a_reason_that_a_query_asks_for() {
    let mut job = tn();
    circuit(&mut job, "M/3").equipment_connected = true;
    put(&mut job, &[("M/3/ir-le", "200"), ("M/3/ir-ll", "1.5")]);
    let found = at(&job, "M/3/ir-ll");
    assert_eq!(found.verdict, Query);
    assert!(found.why.contains("enter n/a"), "{}", found.why);
    put(&mut job, &[("M/3/ir-ll", "n/a: joined for the test")]);
    assert_eq!(at(&job, "M/3/ir-ll").verdict, Excused);
}

/// What failed is judged by today's rule: where the record was wrong and is put right, the reason counts.
#[test]
fn what_failed_is_judged_by_the_record_as_it_is() {
    let mut job = tn();
    circuit(&mut job, "M/3").device = Some(device("C32"));
    put(
        &mut job,
        &[
            ("M/3/r1r2", "0.40"),
            ("M/3/zs", "0.90"),
            ("M/3/zs", "lim: no access"),
        ],
    );
    assert_eq!(at(&job, "M/3/zs").verdict, Outside);
    circuit(&mut job, "M/3").device = Some(device("B32"));
    assert_eq!(at(&job, "M/3/zs").verdict, Excused);
}

/// From memory of BS 7671, 643.6: polarity is verified before the work is energised. A former version took a reason.
#[test]
fn polarity_takes_no_reason() {
    let job = bare("orchard-cottage.ron");
    for place in ["supply/polarity", "C/polarity", "C/4/polarity"] {
        let address: Place = place.parse().unwrap();
        let owner = job.seat(&address).map(|_| place);
        assert!(owner.is_some(), "{place}");
        for reason in ["lim: no access", "n/a: not in the extent"] {
            let entered = reading(&job, address.test, reason, "12:00");
            let refused = job.would_keep(&address, &entered).unwrap_err().to_string();
            assert!(refused.contains("no reason takes its place"), "{refused}");
            assert_eq!(typed(&job, place, reason).verdict, Open, "{place}");
        }
    }
}

/// From memory of BS 7671, 643.2 and 643.7: fault protection by disconnection is verified by the continuity of the protective
/// conductor and by the loop; something of it has to be measured.
#[test]
fn fault_protection_that_nothing_shows() {
    let mut job = tt();
    let excuses = [
        ("M/3/r1r2", "lim: not done"),
        ("M/3/zs", "lim: not done"),
        ("M/3/rcd-time", "lim: not done"),
    ];
    put(&mut job, &excuses);
    let zs = at(&job, "M/3/zs");
    assert_eq!(zs.verdict, Query, "{}", zs.why);
    assert!(
        zs.why.contains("fault protection isn't shown"),
        "{}",
        zs.why
    );
    for (place, value) in [("M/3/r1r2", "0.47"), ("M/3/rcd-time", "21.4")] {
        let mut shown = job.clone();
        circuit(&mut shown, "M/3").rcd = Some(rcd("30"));
        put(&mut shown, &[(place, value)]);
        assert_eq!(at(&shown, "M/3/zs").verdict, Excused, "{place}");
    }
}

/// From memory of BS 7671, 643.7.1 and 643.8: where an RCD gives fault protection, that it operates is verified. Neither its time nor
/// its button tried is no proof of that.
#[test]
fn an_rcd_that_protects_and_was_never_tried() {
    let untried = |job: &mut Job, owner: &str| {
        let (time, button) = (format!("{owner}/rcd-time"), format!("{owner}/rcd-button"));
        put(job, &[(&time, "lim: supply failed")]);
        assert_eq!(at(job, &time).verdict, Excused, "the button is open");
        put(job, &[(&button, "lim: no access")]);
        at(job, &time)
    };
    let mut job = tt();
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    for owner in ["M/3", "M"] {
        if owner == "M" && job.boards[0].rcd.is_none() {
            job.boards[0].rcd = Some(rcd("100"));
        }
        let mut job = job.clone();
        let found = untried(&mut job, owner);
        assert_eq!(found.verdict, Query, "{owner}: {}", found.why);
        for part in ["neither", "supply failed", "no access", "on TT"] {
            assert!(found.why.contains(part), "{}", found.why);
        }
        let time = format!("{owner}/rcd-time");
        // One of them is a proof.
        for (test, good) in [("rcd-button", "pass"), ("rcd-5x", "20"), ("rcd-time", "25")] {
            let mut tried = job.clone();
            put(&mut tried, &[(&format!("{owner}/{test}"), good)]);
            assert_ne!(at(&tried, &time).verdict, Query, "{owner}/{test}");
        }
    }
    // In TN only where the overcurrent device doesn't carry it: 1.09 Ω for B32.
    let mut job = tn();
    put(&mut job, &[("supply/ze", "0.20"), ("M/zdb", "0.20")]);
    circuit(&mut job, "M/3").device = Some(device("B32"));
    for (owner, r1r2, zs, want) in [
        ("M/3", "0.40", "0.60", Excused),
        ("M/3", "1.2", "1.4", Query),
        ("M/3", "1.2", "lim: no access", Query),
        ("M/3", "0.40", "lim: no access", Excused),
        ("M", "0.40", "0.60", Excused),
        ("M", "1.2", "1.4", Query),
    ] {
        let mut job = job.clone();
        match owner {
            "M" => job.boards[0].rcd = Some(rcd("30")),
            _ => circuit(&mut job, owner).rcd = Some(rcd("30")),
        }
        put(&mut job, &[("M/3/r1r2", r1r2), ("M/3/zs", zs)]);
        let found = untried(&mut job, owner);
        assert_eq!(found.verdict, want, "{owner} {zs}: {}", found.why);
        assert_eq!(found.why.contains("M/3"), want == Query, "{}", found.why);
        // An RCD nearer to the circuit is the one that carries it.
        if owner == "M" {
            circuit(&mut job, "M/3").rcd = Some(rcd("30"));
            assert_eq!(at(&job, "M/rcd-time").verdict, Excused);
        }
    }
    // No table lists a fuse of 7 A.
    circuit(&mut job, "M/3").device = Some(device("88-3 7"));
    circuit(&mut job, "M/3").rcd = Some(rcd("30"));
    let found = untried(&mut job, "M/3");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.contains("is unknown"), "{}", found.why);
    // On a backup output the inverter brings too little current for the overcurrent device.
    let mut job = bare("orchard-cottage.ron");
    assert_eq!(untried(&mut job.clone(), "C/2").verdict, Excused);
    job.boards[1].fed_from = "R/3".into();
    let found = untried(&mut job, "C/2");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert!(found.why.contains("island mode"), "{}", found.why);
}

/// From memory of BS 7671, 643.3: insulation resistance is measured before the work is energised.
#[test]
fn insulation_that_nothing_shows() {
    let mut job = tn();
    put(
        &mut job,
        &[
            ("M/3/ir-ll", "lim: not done"),
            ("M/3/ir-le", "lim: not done"),
        ],
    );
    let found = at(&job, "M/3/ir-le");
    assert_eq!(found.verdict, Query, "{}", found.why);
    assert_eq!(at(&job, "M/3/ir-ll").verdict, Excused);
    // Nothing says that the circuit was on the board when that was read.
    put(&mut job, &[("M/ir-le", "200")]);
    assert_eq!(at(&job, "M/3/ir-le").verdict, Query);
    let mut shown = job.clone();
    put(&mut shown, &[("M/3/ir-ll", "200")]);
    assert_eq!(at(&shown, "M/3/ir-le").verdict, Excused);
    // What was there before and isn't altered is no new work.
    circuit(&mut job, "M/3").existing = true;
    assert_eq!(at(&job, "M/3/ir-le").verdict, Excused);
}

/// Common practice: whoever isolates again puts back again.
#[test]
fn isolated_again_after_it_was_put_back() {
    let mut job = full("harbour-row.ron");
    for place in ["close/restored", "safe/connected"] {
        assert_eq!(at(&job, place).verdict, Within, "{place}");
    }
    put_at(&mut job, "safe/inverters-off", "pass", "16:00");
    let off = &mut job.safe.get(Test::InvertersOff).unwrap().clone();
    let day = job.close.get(Test::Restored).unwrap().now.at;
    off.now.at = day + chrono::Duration::hours(1);
    job.safe.put(Test::InvertersOff, Some(off.clone()));
    for place in ["close/restored", "safe/connected"] {
        let found = at(&job, place);
        assert_eq!(found.verdict, Query, "{place}: {}", found.why);
        assert!(
            found
                .why
                .contains("before the inverters were isolated again"),
            "{}",
            found.why
        );
        let place: Place = place.parse().unwrap();
        let mut entry = job.entry(&place).unwrap().clone();
        entry.now.at = off.now.at + chrono::Duration::minutes(5);
        readings(&mut job, &place.owner()).put(place.test, Some(entry));
        assert_eq!(at(&job, &place.to_string()).verdict, Within);
    }
}

fn of(job: &Job, test: Test) -> Vec<(String, String)> {
    let all = judge_all(job, forms()).into_iter();
    all.filter(|f| f.place.test == test)
        .map(|f| {
            assert_eq!(f.verdict, Query);
            (f.place.to_string(), f.why)
        })
        .collect()
}

/// By what a serial number is: no two things have the same.
#[test]
fn serial_numbers_twice_or_missing() {
    let job = full("harbour-row.ron");
    assert_eq!(of(&job, Test::SerialNumbers), []);
    let with = |change: &dyn Fn(&mut Vec<String>, &mut Vec<String>)| {
        let mut job = job.clone();
        let Layout::Strings(strings) = &mut job.arrays[0].layout else {
            panic!("strings");
        };
        let (first, second) = strings.split_at_mut(1);
        change(&mut first[0].modules, &mut second[0].modules);
        of(&job, Test::SerialNumbers)
    };
    let within = with(&|one, _| one[3] = " em26-40213 ".into());
    assert_eq!(within.len(), 1, "{within:?}");
    assert_eq!(within[0].0, "P/S1/serial-numbers");
    assert!(
        within[0]
            .1
            .contains("module 3 of P/S1 and module 4 of P/S1"),
        "{within:?}"
    );
    assert_eq!(within[0].1.matches("EM26-40213").count(), 1, "said once");
    let across = with(&|one, two| two[9] = one[0].clone());
    let places: Vec<&str> = across.iter().map(|(p, _)| p.as_str()).collect();
    assert_eq!(places, ["P/S1/serial-numbers", "P/S2/serial-numbers"]);
    for (_, why) in &across {
        assert!(
            why.contains("module 1 of P/S1") && why.contains("module 10 of P/S2"),
            "{why}"
        );
    }
    let missing = with(&|_, two| two[4] = " ".into());
    assert!(
        missing[0].1.contains("to fill in: module 5 of P/S2"),
        "{missing:?}"
    );
    // An inverter and a battery.
    let mut job = full("orchard-cottage.ron");
    let serial = "SAME-1".to_string();
    job.storage[0].serial = serial.clone();
    job.inverters[0].serial = serial;
    let both = of(&job, Test::SerialNumbers);
    assert_eq!(both.len(), 2, "{both:?}");
    assert!(
        both.iter()
            .all(|(_, why)| why.contains("inverter ") && why.contains("storage "))
    );
}

/// By the calendar.
#[test]
fn days_that_contradict_each_other() {
    let job = full("harbour-row.ron");
    let day = |text: &str| Some(text.parse().unwrap());
    let said = |change: &dyn Fn(&mut Job)| {
        let mut job = job.clone();
        change(&mut job);
        let found = of(&job, Test::Dates);
        assert!(found.len() <= 1);
        found.into_iter().next().map(|(_, why)| why)
    };
    assert_eq!(said(&|_| {}), None);
    let last = job
        .sign
        .get(Test::SignInspection)
        .unwrap()
        .now
        .at
        .date_naive();
    assert_eq!(last.to_string(), "2026-06-18");
    for (change, words) in [
        (
            &(|j: &mut Job| j.next_inspection = day("2025-06-18")) as &dyn Fn(&mut Job),
            "next inspection by 2025-06-18",
        ),
        (
            &|j: &mut Job| j.next_inspection = day("2026-06-18"),
            "next inspection by 2026-06-18",
        ),
        (
            &|j: &mut Job| j.started = day("2026-06-19").unwrap(),
            "the work began on 2026-06-19, and ",
        ),
        (
            &|j: &mut Job| j.grid.commissioned = day("2026-06-19"),
            "commissioned on 2026-06-19, after the last reading",
        ),
        (
            &|j: &mut Job| j.grid.commissioned = day("2025-06-18"),
            "commissioned on 2025-06-18, before the work began",
        ),
    ] {
        let why = said(change).unwrap_or_else(|| panic!("{words}"));
        assert!(why.contains(words), "{why}");
    }
    // Common practice: the certificate says when the next inspection is due. Not before the work runs, when nobody waits for it.
    let mut without = job.clone();
    without.next_inspection = None;
    let found = at(&without, "close/dates");
    assert_eq!(found.verdict, Open, "{}", found.why);
    assert!(
        found.why.contains("next inspection is due"),
        "{}",
        found.why
    );
    assert!(!wanderlead::guide::is_complete(&judge_all(
        &without,
        forms()
    )));
    without.safe.put(Test::Connected, None);
    assert_eq!(of(&without, Test::Dates), []);
    // Nothing was read yet: only the record speaks.
    let mut empty = bare("harbour-row.ron");
    empty.safe = wanderlead::job::Readings::default();
    empty.grid.commissioned = day("2030-01-01");
    assert_eq!(of(&empty, Test::Dates), []);
}
