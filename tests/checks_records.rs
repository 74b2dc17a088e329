//! The record itself: signatures, storage, reconnection, and the instruments that readings name.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::*;
use chrono::Duration;
use wanderlead::job::{Function, Job, Test};

/// A name is within only if it is the qualified person's own, and later than every reading.
#[test]
fn signatures() {
    let signed = |name: &str, by: &str, hour: &str| {
        let mut job = tn();
        put_at(&mut job, "M/3/zs", "0.5", "12:00");
        let mut entry = reading(&job, Test::SignInspection, name, hour);
        entry.by = by.into();
        job.sign.keep(Test::SignInspection, entry);
        at(&job, "sign/inspection").verdict
    };
    assert_eq!(signed("Morwen Kettleby", "mk", "13:00"), Within);
    assert_eq!(signed("morwen kettleby ", "mk", "12:00"), Within);
    assert_eq!(
        signed("Jory Tamsett", "jt", "13:00"),
        Query,
        "an apprentice"
    );
    assert_eq!(
        signed("Jory Tamsett", "mk", "13:00"),
        Query,
        "another's name"
    );
    assert_eq!(
        signed("Morwen Kettleby", "jt", "13:00"),
        Query,
        "entered by another"
    );
    assert_eq!(
        signed("Morwen Kettleby", "mk", "11:59"),
        Query,
        "a reading came later"
    );
    assert_eq!(at(&tn(), "sign/inspection").verdict, Open);
}

/// Own record of the job: the maker's window and the number of modules.
#[test]
fn storage() {
    let job = bare("orchard-cottage.ron");
    assert_eq!(limit(&job, "E/dc-voltage"), "180 to 230");
    table(
        &job,
        "E/dc-voltage",
        &[
            ("179.9", Outside),
            ("180", Within),
            ("230", Within),
            ("230.1", Outside),
            ("0", Outside),
            (">500", Outside),
            ("lim: sealed", Excused),
        ],
    );
    table(
        &job,
        "E/modules",
        &[("1", Outside), ("2", Within), ("3", Outside)],
    );
}

/// Memory: EREC G98 10.3.4.
#[test]
fn reconnection() {
    table(
        &tn(),
        "grid/reconnect",
        &[
            ("19", Outside),
            ("20", Within),
            ("64", Within),
            ("lim: no time", Excused),
        ],
    );
}

/// Looked at or tried: in order, or not, or not read at all.
#[test]
fn answers() {
    table(
        &tn(),
        "M/3/polarity",
        &[
            ("pass", Within),
            ("y", Within),
            ("fail", Outside),
            ("maybe", Query),
            ("lim: no access", Open),
        ],
    );
    assert_eq!(at(&tn(), "M/3/polarity").verdict, Open);
}

/// One reading of each function, with what spoils its instrument.
fn spoilt(spoil: impl Fn(&mut Job, &mut wanderlead::job::Reading)) -> Vec<(Test, String)> {
    let mut out = Vec::new();
    for (owner, test, text) in [
        ("M/3", Test::R1r2, "0.47"),
        ("bond/oil", Test::Continuity, "0.02"),
        ("M/3", Test::IrLe, ">999"),
        ("M/3", Test::Zs, "0.5"),
        ("supply", Test::Ze, "0.2"),
        ("M", Test::Pfc, "1.1"),
        ("P/S1", Test::IrPos, "50"),
        ("P/S1", Test::Irradiance, "818"),
        ("P/S1", Test::CellTemp, "44"),
        ("grid", Test::Reconnect, "64"),
        ("M/3", Test::Polarity, "pass"),
    ] {
        let mut job = tn();
        let mut entry = reading(&job, test, text, "12:00");
        spoil(&mut job, &mut entry);
        readings(&mut job, owner).keep(test, entry);
        let finding = at(&job, &format!("{owner}/{test}"));
        match finding.verdict {
            Within => {}
            Query => out.push((test, finding.why)),
            other => panic!("{owner}/{test}: {other}: {}", finding.why),
        }
    }
    out
}

#[test]
fn an_instrument_that_could_not_have_read_it() {
    assert_eq!(spoilt(|_, _| {}), []);
    for (said, found) in [
        ("no instrument is named", spoilt(|_, r| r.instrument = None)),
        (
            "no instrument `old` is on this job",
            spoilt(|_, r| {
                r.instrument = r.instrument.as_ref().map(|_| "old".into());
            }),
        ),
        (
            "doesn't measure",
            spoilt(|job, _| {
                for tool in &mut job.instruments {
                    tool.functions = vec![Function::Electrode];
                }
            }),
        ),
        (
            "out of calibration",
            spoilt(|job, r| {
                for tool in &mut job.instruments {
                    tool.due = r.at.date_naive() - Duration::days(1);
                }
            }),
        ),
        (
            "out of calibration",
            spoilt(|job, r| {
                for tool in &mut job.instruments {
                    tool.calibrated = r.at.date_naive() + Duration::days(1);
                }
            }),
        ),
    ] {
        assert_eq!(found.len(), 9, "{said}: {found:?}");
        assert!(
            found.iter().all(|(_, why)| why.contains(said)),
            "{said}: {found:?}"
        );
    }
    // The first and the last day of a calibration count.
    assert_eq!(
        spoilt(|job, r| {
            for tool in &mut job.instruments {
                tool.calibrated = r.at.date_naive();
                tool.due = r.at.date_naive();
            }
        }),
        []
    );
}

#[test]
fn leads_are_nulled_for_continuity() {
    let found = spoilt(|job, _| {
        for tool in &mut job.instruments {
            tool.leads_nulled = false;
        }
    });
    let tests: Vec<Test> = found.iter().map(|(t, _)| *t).collect();
    assert_eq!(tests, [Test::R1r2, Test::Continuity]);
}

/// A reason needs no instrument, and a fault is a fault whatever read it.
#[test]
fn reasons_and_faults_come_first() {
    for (text, verdict) in [
        ("lim: no access", Excused),
        ("1.75", Within),
        ("1.76", Outside),
    ] {
        let mut job = tn();
        let mut entry = reading(&job, Test::Zs, text, "12:00");
        if verdict != Within {
            entry.instrument = None;
        }
        readings(&mut job, "M/3").keep(Test::Zs, entry);
        assert_eq!(at(&job, "M/3/zs").verdict, verdict);
    }
}

/// Unicode Standard Annex 9: U+202E turns what follows it round, so that a text can say something else on paper than on the
/// screen. Put into each text of a record by hand, it is refused, or the reading it is in is no answer.
#[test]
fn no_text_of_a_record_turns_the_direction_of_writing() {
    fn texts(value: &serde_json::Value, at: &str, out: &mut Vec<String>) {
        match value {
            serde_json::Value::Object(all) => all
                .iter()
                .for_each(|(key, v)| texts(v, &format!("{at}/{}", key.replace('/', "~1")), out)),
            serde_json::Value::Array(all) => all
                .iter()
                .enumerate()
                .for_each(|(i, v)| texts(v, &format!("{at}/{i}"), out)),
            serde_json::Value::String(_) => out.push(at.to_string()),
            _ => {}
        }
    }
    let mut looked = 0;
    let mut silent = Vec::new();
    for file in ["harbour-row.ron", "orchard-cottage.ron", "mill-yard.ron"] {
        let mut job = full(file);
        job.boards[0].rcd = Some(rcd("30"));
        job.boards[0].rcd.as_mut().unwrap().declaration = "by its maker, May 2026".into();
        let at = job
            .started
            .and_hms_opt(9, 0, 0)
            .unwrap()
            .and_utc()
            .fixed_offset();
        job.edits.push(wanderlead::job::Edited {
            by: job.people[0].id.clone(),
            at,
            what: "board".into(),
            how: vec!["name: a -> b".into()],
            set_aside: Vec::new(),
        });
        let (place, taken) = {
            let seat = job.seat(&"supply/ze".parse().unwrap()).unwrap();
            (seat.place(Test::Ze), seat.readings.get(Test::Ze).cloned())
        };
        if let Some(mut entry) = taken {
            job.taken_back.push(wanderlead::job::TakenBack {
                place,
                reading: entry.now.clone(),
                by: entry.now.by.clone(),
                at,
            });
            entry.struck.push(entry.now.clone());
            job.supply.readings.put(Test::Ze, Some(entry));
        }
        assert_eq!(job.problems(), [], "{file}");
        let value = serde_json::to_value(job).unwrap();
        let mut all = Vec::new();
        texts(&value, "", &mut all);
        for at in all {
            let mut spoilt = value.clone();
            let text = spoilt.pointer_mut(&at).unwrap();
            *text = format!("{}\u{202e}x", text.as_str().unwrap()).into();
            // What isn't free text (a day, a number, a kind) can't be read at all.
            let Ok(job) = serde_json::from_value::<Job>(spoilt) else {
                continue;
            };
            looked += 1;
            if job.problems().is_empty() && !at.ends_with("/now/typed") {
                silent.push(format!("{file}{at}"));
            }
            // Readings are read one by one, all in the same way.
            if at.ends_with("/now/typed") && looked % 40 == 0 {
                let doubted = wanderlead::checks::judge_all(&job, forms())
                    .into_iter()
                    .any(|f| f.value.is_some_and(|v| v.contains('\u{202e}')) && f.verdict == Query);
                assert!(doubted, "{file}{at}");
            }
        }
    }
    assert!(looked > 500, "{looked}");
    assert_eq!(silent, [] as [String; 0]);
}
