//! The pack: its first page, what the customer keeps, and its parts drafted and verified by themselves.

#![allow(clippy::expect_used, clippy::panic, clippy::unwrap_used)]

mod common;

use std::path::{Path, PathBuf};
use std::process::Command;

use chrono::{DateTime, FixedOffset};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::{DEFAULTS, Forms};
use wanderlead::job::{Existing, Job, text};
use wanderlead::paper::{PackPart, Parts, draft, draft_parts};

fn created() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap()
}

fn forms() -> Forms {
    Forms::embedded().unwrap()
}

fn files(folder: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut out: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|e| e == "ron"))
        // A mapping of readings is no job.
        .filter(|p| std::fs::read_to_string(p).is_ok_and(|t| t.contains("schema:")))
        .collect();
    out.sort();
    out
}

/// The samples and the starters.
fn jobs() -> Vec<(String, Job)> {
    let all = files("sample-jobs")
        .into_iter()
        .chain(files("forms/starters"));
    let jobs: Vec<(String, Job)> = all
        .map(|p| {
            let name = p.file_stem().unwrap().to_string_lossy().into_owned();
            let job = text::parse(&name, &std::fs::read_to_string(&p).unwrap());
            let job = job.unwrap_or_else(|e| panic!("{name}: {e}"));
            (name, job)
        })
        .collect();
    assert!(jobs.len() >= 9);
    jobs
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn pages(bytes: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, bytes).unwrap();
    let said = Command::new("pdftotext")
        .arg("-raw")
        .arg(&path)
        .arg("-")
        .output()
        .unwrap();
    let said = String::from_utf8(said.stdout).unwrap();
    let mut pages: Vec<String> = said.split('\u{c}').map(flat).collect();
    pages.pop();
    pages
}

fn part(job: &Job, part: PackPart) -> Vec<String> {
    let drafted = draft_parts(job, &forms(), created(), &Parts::some([part])).unwrap();
    pages(&drafted.bytes)
}

/// Sum of every `and N more`.
fn and_more(page: &str) -> usize {
    let mut words = page.split(' ').peekable();
    let mut sum = 0;
    while let Some(word) = words.next() {
        if word != "and" && word != "limitations." {
            continue;
        }
        if let Some(n) = words.peek().and_then(|w| w.parse::<usize>().ok()) {
            words.next();
            if words.peek().is_some_and(|w| w.starts_with("more")) {
                sum += n;
            }
        }
    }
    sum
}

#[test]
fn the_first_page_names_or_counts_everything_that_is_to_be_seen_to() {
    for (name, job) in jobs() {
        let whole = draft(&job, &forms(), created()).unwrap();
        assert!(
            whole.loose_links.is_empty(),
            "{name}: {:?}",
            whole.loose_links
        );
        let pages = pages(&whole.bytes);
        let first = &pages[0];
        assert!(first.contains("Summary for whoever"), "{name}: {first}");
        assert!(
            !pages[1].contains("Summary for whoever")
                && pages[1].contains("Electrical installation certificate")
        );
        let titles: std::collections::BTreeMap<String, String> = job
            .seats()
            .iter()
            .chain(&job.bare_seats())
            .map(|s| (s.place(wanderlead::job::Test::Zs).owner(), s.title()))
            .collect();
        let findings = judge_all(&job, &forms());
        let pressing: Vec<_> = findings
            .iter()
            .filter(|f| matches!(f.verdict, Verdict::Outside | Verdict::Open | Verdict::Query))
            .collect();
        let missing = pressing.iter().filter(|f| {
            let title = &titles[&f.place.owner()];
            // After the first of a board or array its name isn't repeated.
            let short = title.split_once(" · ").map_or(title.as_str(), |(_, t)| t);
            !(first.contains(&flat(short)) && first.contains(f.place.test.heading()))
        });
        let (missing, more) = (missing.count(), and_more(first));
        assert!(
            missing <= more,
            "{name}: {missing} neither named nor among {more}: {first}"
        );
        for v in [Verdict::Outside, Verdict::Query, Verdict::Open] {
            let n = pressing.iter().filter(|f| f.verdict == v).count();
            assert!(n == 0 || first.contains(&n.to_string()), "{name}: {n} {v}");
        }
    }
}

#[test]
fn page_numbers_of_the_first_page_are_those_of_the_headings() {
    for (name, job) in jobs().into_iter().take(3) {
        let pages = pages(&draft(&job, &forms(), created()).unwrap().bytes);
        for (row, heading) in [
            (
                "Handover, for the customer",
                "For the customer: your installation",
            ),
            (
                "Label schedule",
                "Labels and notices that this installation needs",
            ),
        ] {
            let at = pages.iter().position(|p| p.contains(heading)).unwrap() + 1;
            let after = pages[0].split_once(row).unwrap().1;
            let words: Vec<&str> = after.split(' ').filter(|w| !w.is_empty()).take(9).collect();
            assert!(
                words.contains(&at.to_string().as_str()),
                "{name} {row} {at}: {words:?}"
            );
        }
    }
}

#[test]
fn the_handover_names_every_switch_in_order_and_speaks_plainly() {
    for (name, job) in jobs() {
        let all = part(&job, PackPart::Handover).join(" ");
        // What a customer sees: neither standards nor poles.
        let told = |switch: &str| {
            let parts = switch.split(',').map(str::trim);
            let mut parts = parts.filter(|p| !p.starts_with("BS ") && !p.ends_with("-pole"));
            parts.all(|p| all.contains(&flat(p)))
        };
        for i in &job.inverters {
            for isolator in [&i.ac_isolator, &i.dc_isolator] {
                assert!(told(isolator), "{name}: {isolator}");
            }
        }
        for s in &job.storage {
            assert!(told(&s.isolator), "{name}: {}", s.isolator);
        }
        for b in &job.boards {
            assert!(
                all.contains(&flat(&b.name)) && told(&b.main_switch),
                "{name}: {}",
                b.id
            );
        }
        let order = |text: &str, wanted: &[&str]| {
            let found: Vec<usize> = wanted.iter().filter_map(|w| text.find(w)).collect();
            assert!(found.len() >= 2, "{name}: {text}");
            assert!(found.is_sorted(), "{name}: {wanted:?} at {found:?}: {text}");
        };
        let (_, off) = all.split_once("Switching off, in this order").unwrap();
        let (off, on) = off.split_once("Switching on again, in this order").unwrap();
        let (on, _) = on.split_once("Which switch does what").unwrap();
        let steps = [
            "Turn off what is running",
            "Turn off the a.c. isolator",
            "Only now turn off the d.c.",
            "Turn off the battery (",
            "Turn off the main switch",
        ];
        // A board on a backup output comes before its inverter: `tests/islands.rs`.
        let off = off.replace("Turn off the main switch of the backup board", "");
        order(&off, &steps);
        order(
            on,
            &[
                "Turn on the main switch",
                "Turn on the battery (",
                "Turn on the d.c. isolator",
                "Turn on the a.c. isolator",
                "Turn on again what you need",
            ],
        );
        for word in [
            "Zs", "Ze", "Zdb", "Ω", "IΔn", "R1+R2", "Voc", "Isc", "cpc", "RCD", "kA", "ADS", "PME",
            "limit ", "Isolate ", "BS EN", "-pole",
        ] {
            assert!(!all.contains(word), "{name}: {word} in {all}");
        }
    }
}

#[test]
fn a_battery_is_named_and_a_job_without_one_says_nothing_of_it() {
    for (name, job) in jobs() {
        let all = part(&job, PackPart::Handover).join(" ");
        let told = all.contains("Tell the fire brigade: there is a battery");
        assert_eq!(told, !job.storage.is_empty(), "{name}");
        assert_eq!(
            all.contains("has a backup output"),
            job.storage.iter().any(|s| s.backup),
            "{name}"
        );
        match job.next_inspection {
            Some(day) => assert!(all.contains(&day.format("%-d %B %Y").to_string()), "{name}"),
            None => assert!(
                all.contains("inspected next has not been written down: ____"),
                "{name}"
            ),
        }
    }
}

/// Common practice: nobody is told that a place is dead while a source that was there before may still feed it.
#[test]
fn what_was_there_before_is_told_switched_off_and_taken_for_live() {
    for (name, mut job) in jobs() {
        let told = "Tell the fire brigade: this was here before";
        job.grid.existing.clear();
        assert!(!part(&job, PackPart::Handover).join(" ").contains(told));
        job.grid.existing_none = false;
        job.grid.existing = ["old PV on the barn", "diesel generator"]
            .map(|what| Existing {
                what: what.into(),
                lines: Default::default(),
                rated_a: "3".parse().unwrap(),
            })
            .to_vec();
        let all = part(&job, PackPart::Handover).join(" ");
        let fire = all.split_once(told).expect(&name).1;
        let fire = fire.split_once("electric shock").unwrap().0;
        assert!(
            fire.contains("old PV on the barn; diesel generator"),
            "{name}: {fire}"
        );
        let (_, off) = all.split_once("Switching off, in this order").unwrap();
        let (off, on) = off.split_once("Switching on again, in this order").unwrap();
        // A board on a backup output comes before.
        let off = off.replace("switch of the backup board", "");
        let (on, live) = on
            .split_once("What stays live whatever is switched off")
            .unwrap();
        let (live, _) = live.split_once("Which switch does what").unwrap();
        for what in ["old PV on the barn", "diesel generator"] {
            let step = format!(
                "Turn off what was here before: {what}. Where its switch is has not been written down: ____"
            );
            let at = off.find(&step).unwrap_or_else(|| panic!("{name}: {off}"));
            let board = off.find("Turn off the main switch of the").unwrap();
            assert!(at < board, "{name}: {off}");
            assert!(
                on.contains(&format!("Turn on what was here before ({what})")),
                "{name}: {on}"
            );
            assert!(
                live.contains(&format!("What was here before: {what}.")),
                "{name}: {live}"
            );
        }
    }
}

#[test]
fn each_part_is_drafted_alone_and_says_that_it_is_a_part() {
    for (name, job) in jobs().into_iter().take(3) {
        let whole = draft(&job, &forms(), created()).unwrap();
        for p in PackPart::ALL {
            let one = draft_parts(&job, &forms(), created(), &Parts::some([p]));
            if !p.is_in(&job) {
                assert!(one.is_err(), "{name} {}", p.name());
                continue;
            }
            let one = one.unwrap();
            assert!((1..whole.pages).contains(&one.pages), "{name} {}", p.name());
            assert_eq!(one.is_draft, whole.is_draft);
            for page in pages(&one.bytes) {
                assert!(
                    page.contains(&format!("Part of the pack: {}.", p.name())),
                    "{page}"
                );
                assert!(page.contains(&job.reference));
                assert_eq!(page.contains("DRAFT"), whole.is_draft);
            }
        }
        assert_eq!(
            draft_parts(&job, &forms(), created(), &Parts::some(PackPart::ALL)).unwrap(),
            whole
        );
    }
}

#[test]
fn the_program_drafts_and_verifies_parts() {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-jobs/harbour-row.ron");
    let run = |args: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_wanderlead"))
            .env("WANDERLEAD_CONFIG", common::no_settings())
            .args(args)
            .current_dir(folder.path())
            .output()
            .unwrap();
        let said = [out.stdout, out.stderr].concat();
        (String::from_utf8(said).unwrap(), out.status.code().unwrap())
    };
    std::fs::copy(&sample, folder.path().join("job.ron")).unwrap();
    let (said, code) = run(&[
        "draft", "job.ron", "--out", "a.pdf", "--part", "grid", "--part", "boards",
    ]);
    assert!(
        code == 0 && said.contains("part of the pack (boards,grid)"),
        "{said}"
    );
    let (said, code) = run(&["verify", "job.ron", "a.pdf"]);
    assert!(
        code == 0 && said.contains("only a part of the pack (boards,grid)"),
        "{said}"
    );
    let (said, code) = run(&["draft", "job.ron", "--out", "b.pdf", "--part", "garden"]);
    assert!(
        code == 2 && said.contains("certificate, diagram, boards"),
        "{said}"
    );
    let (said, code) = run(&["draft", "job.ron", "--out", "b.pdf", "--part", "storage"]);
    assert!(
        code == 2 && said.contains("nothing for the part `storage`"),
        "{said}"
    );
    let (said, code) = run(&[
        "draft", "job.ron", "--out", "b.pdf", "--part", "grid", "--issue",
    ]);
    assert_eq!(code, 2, "{said}");
    assert!(!folder.path().join("b.pdf").exists());
    // One byte of it altered is found out.
    let mut bytes = std::fs::read(folder.path().join("a.pdf")).unwrap();
    let at = bytes.len() / 2;
    bytes[at] ^= 1;
    std::fs::write(folder.path().join("c.pdf"), &bytes).unwrap();
    assert_ne!(run(&["verify", "job.ron", "c.pdf"]).1, 0);
}

#[test]
fn wording_that_would_leave_a_switch_unnamed_is_refused() {
    let (_, shipped) = DEFAULTS.iter().find(|(n, _)| *n == "handover.ron").unwrap();
    let with = |from: &str, to: &str| {
        assert!(shipped.contains(from), "{from}");
        let text = shipped.replacen(from, to, 1);
        Forms::from_texts(&[("handover.ron".into(), text)])
    };
    assert!(with("Keep this near the meter", "Keep it in the meter box").is_ok());
    for (from, to, why) in [
        (
            "Turn off the a.c. isolator of the {what}: {isolator}.",
            "Turn off the {what}.",
            "facts",
        ),
        ("Rain does most of it", "Rain does {most} of it", "facts"),
        ("(key: \"shock\"", "(key: \"shok\"", "is called `shok`"),
        ("(key: \"odd\"", "(key: \"shock\"", "twice"),
    ] {
        let error = with(from, to).unwrap_err();
        assert!(error.what.contains(why), "{}", error.what);
        assert!(error.line > 0 && error.file == "handover.ron");
    }
}
