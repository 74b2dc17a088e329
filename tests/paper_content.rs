//! The certificate as the tools of the trade see it, over the sample jobs and one built to be hard.

#![allow(clippy::expect_used, clippy::panic)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

use chrono::{DateTime, FixedOffset};
use wanderlead::checks::{Verdict, judge_all};
use wanderlead::forms::Forms;
use wanderlead::job::{Job, Layout, Observation, Test, Value, text};
use wanderlead::paper::{Drafted, draft};

const NOTICE: &str = "Draft, not signed";

fn created() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").expect("a time")
}

fn forms() -> Forms {
    Forms::embedded().expect("the defaults")
}

/// Every sample job, by file name.
fn samples() -> Vec<(String, Job)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-jobs");
    let mut out: Vec<(String, Job)> = std::fs::read_dir(folder)
        .expect("the sample jobs")
        .map(|e| e.expect("an entry").path())
        .filter(|p| p.extension().is_some_and(|e| e == "ron"))
        // A mapping of readings is no job.
        .filter(|p| std::fs::read_to_string(p).is_ok_and(|t| t.contains("schema:")))
        .map(|p| {
            let name = p
                .file_stem()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            let text = std::fs::read_to_string(&p).expect("a text");
            let job = text::parse(&name, &text).unwrap_or_else(|e| panic!("{name}: {e}"));
            (name, job)
        })
        .collect();
    out.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(out.len() >= 3, "{} sample jobs", out.len());
    out
}

fn sample(name: &str) -> Job {
    let all = samples();
    let found = all.into_iter().find(|(n, _)| n == name);
    found.unwrap_or_else(|| panic!("no sample {name}")).1
}

/// 60 circuits, 5,000 characters of remarks, names in other alphabets, one with signs that no font here has.
fn extreme() -> Job {
    let mut job = sample("harbour-row");
    job.client.name = "Þórunn Ægisdóttir-Žižková & Αθηνά Παπαδοπούλου".into();
    job.title = "Büro Łódź".into();
    job.address = format!(
        "{}ZZ9 9ZZ",
        "Outbuilding at the far end of the yard, ".repeat(12)
    );
    job.extent = "Everything from the meter on, and the feed of the pump house. ".repeat(40);
    job.observations.push(Observation {
        text: "W".repeat(300),
        by: "mk".into(),
        departure: true,
        photos: vec!["P-17.jpg".into(), "P-18.jpg".into()],
    });
    for person in &mut job.people {
        if person.id == "jt" {
            person.name = "漢 Tamsett".into();
        }
    }
    let board = job.boards.first_mut().expect("a board");
    let pattern = board.circuits.clone();
    for n in board.circuits.len()..60 {
        let mut circuit = pattern.get(1 + n % 6).expect("a circuit").clone();
        circuit.id = format!("{}", n + 1);
        circuit.name =
            format!("sockets and fixed equipment of workshop {n}, both sides of the door");
        board.circuits.push(circuit);
    }
    let remarked = board.circuits.get_mut(40).expect("a circuit");
    remarked.remarks = "Soft starter: leave it connected, test at 250 V only. "
        .repeat(100)
        .chars()
        .take(5_000)
        .collect();
    job
}

fn drafted(job: &Job) -> Drafted {
    draft(job, &forms(), created()).expect("a PDF")
}

fn every_paper() -> Vec<(String, Job, Drafted)> {
    let mut jobs = samples();
    jobs.push(("extreme".into(), extreme()));
    jobs.into_iter()
        .map(|(name, job)| {
            let paper = drafted(&job);
            (name, job, paper)
        })
        .collect()
}

fn run(tool: &str, before: &[&str], bytes: &[u8], after: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, bytes).expect("a file");
    let output = Command::new(tool)
        .args(before)
        .arg(&path)
        .args(after)
        .output()
        .expect(tool);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let complaints = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{tool}: {said}{complaints}");
    assert_eq!(complaints, "", "{tool} complains");
    said
}

/// The text of each page, in the order it was set.
fn pages(paper: &Drafted) -> Vec<String> {
    let text = run("pdftotext", &["-raw"], &paper.bytes, &["-"]);
    let mut pages: Vec<String> = text.split('\u{c}').map(flat).collect();
    assert_eq!(pages.pop().as_deref(), Some(""), "ends with a page end");
    assert_eq!(pages.len(), paper.pages);
    pages
}

/// Text without line breaks, so that it is found however it was wrapped.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_files_are_sound_and_carry_their_fonts() {
    for (name, _, paper) in every_paper() {
        let said = run("qpdf", &["--check"], &paper.bytes, &[]);
        assert!(
            said.contains("No syntax or stream encoding errors found"),
            "{name}: {said}"
        );
        let said = run("pdffonts", &[], &paper.bytes, &[]);
        let fonts: Vec<&str> = said.lines().skip(2).collect();
        assert_eq!(fonts.len(), 2, "{name}: {said}");
        for font in fonts {
            // Embedded, cut down, with a map to Unicode.
            let yes = font.split_whitespace().filter(|w| *w == "yes").count();
            assert_eq!(yes, 3, "{name}: {font}");
        }
    }
}

#[test]
fn every_reading_stands_beside_its_limit_and_verdict() {
    for (name, job, paper) in every_paper() {
        let text = format!(" {}", pages(&paper).join(" "));
        // The same three may come often: each has to be there as often as it was judged.
        let mut wanted: BTreeMap<Vec<String>, usize> = BTreeMap::new();
        let mut judged = 0;
        for f in judge_all(&job, &forms()) {
            let Some(typed) = &f.value else { continue };
            judged += 1;
            let value = Value::parse(f.place.test.answer(), typed);
            if let Ok(Value::Limitation(why) | Value::NotApplicable(why)) = value {
                assert!(text.contains(&flat(&why)), "{name}: {} {why}", f.place);
                continue;
            }
            let verdict = match (&f.limit, f.verdict) {
                (None, Verdict::Within)
                    if !["safe", "inspect", "label", "close", "sign"]
                        .contains(&f.place.top.as_str()) =>
                {
                    "= recorded".to_string()
                }
                (_, verdict) => format!("{} {}", verdict.mark(), verdict.word()),
            };
            // What is worked out has its margin in the sentence that says why.
            let verdict = match &f.margin {
                Some(margin)
                    if !f.worded
                        && !f.place.test.is_derived()
                        && !f.limit.as_ref().is_some_and(|l| l.starts_with('=')) =>
                {
                    format!("{verdict} {}", margin.trim_start_matches('-'))
                }
                _ => verdict,
            };
            let limit = match f.limit {
                Some(_) => f.limit_text(),
                None => "no limit".into(),
            };
            // A confirmation stands in a list: its answer and verdict follow what was confirmed.
            let forms =
                if ["safe", "inspect", "label", "close", "sign"].contains(&f.place.top.as_str()) {
                    vec![format!(" {typed} {verdict}")]
                } else {
                    let mut forms = vec![
                        format!(" {typed} {limit} {verdict}"),
                        format!(" {} {limit} {verdict}", f.value_text()),
                    ];
                    forms.dedup();
                    forms
                };
            let forms = forms
                .iter()
                .map(|t| format!(" {}", flat(t)))
                .collect::<Vec<_>>();
            *wanted.entry(forms).or_default() += 1;
        }
        assert!(judged > 30, "{name}: {judged} readings");
        for (forms, n) in wanted {
            let found: usize = forms.iter().map(|t| text.matches(t.as_str()).count()).sum();
            assert!(found >= n, "{name}: {forms:?} found {found} of {n} times");
        }
    }
}

#[test]
fn struck_readings_stay_legible_with_who_and_when() {
    let job = sample("orchard-cottage");
    let text = pages(&drafted(&job)).join(" ");
    let mut struck = 0;
    for seat in job.seats() {
        for (test, entry) in seat.readings.iter() {
            for old in &entry.struck {
                struck += 1;
                let who = job.person(&old.by).expect("a person");
                let line = format!(
                    "{} {} {} {} ({}) {}",
                    flat(&seat.title()),
                    test.heading(),
                    old.unit.with(&old.typed),
                    who.name,
                    who.role.name(),
                    old.at.format("%-d %b %Y %H:%M")
                );
                assert!(text.contains(&line), "{line}\nnot in\n{text}");
            }
        }
    }
    assert!(struck > 0, "the sample has a correction");
}

/// What was read stands in the cell before the reason that was kept over it, whether it was outside or queried.
#[test]
fn a_reason_over_a_doubtful_reading_is_printed_behind_it() {
    for (read, verdict) in [("0.02", "! outside"), ("1.5", "? query")] {
        let mut job = sample("harbour-row");
        let readings = &mut job.boards[0].circuits[0].readings;
        let mut reading = readings.get(Test::IrLe).expect("a reading").now.clone();
        for typed in [read, "lim: no access"] {
            reading.typed = typed.into();
            readings.keep(Test::IrLe, reading.clone());
        }
        let text = pages(&drafted(&job)).join(" ");
        let cell = format!("{read} MΩ; lim [");
        let (_, behind) = text.split_once(&cell).unwrap_or_else(|| panic!("{text}"));
        let until = behind.chars().take(40).collect::<String>();
        assert!(until.contains(verdict), "{until}");
    }
}

/// Common practice: on TT what lies before the first RCD is insulated, or an RCD is put upstream.
#[test]
fn a_board_on_tt_says_what_it_takes_without_an_rcd_ahead() {
    let mut job = sample("harbour-row");
    let words = "On TT no RCD is ahead of all circuits of this board: what is before the first RCD takes an insulated enclosure";
    let board = &mut job.boards[0];
    assert!(board.rcd.take().is_some(), "the sample has one");
    let text = pages(&drafted(&job)).join(" ");
    assert_eq!(text.matches(words).count(), 1, "{text}");
    let text = pages(&drafted(&sample("harbour-row"))).join(" ");
    assert!(!text.contains(words));
}

#[test]
fn changes_of_the_record_are_printed_with_what_they_set_aside() {
    use wanderlead::job::{Edited, Test};
    let none = "None: no reading was struck out or taken back, and no part of the record was changed later.";
    let mut job = sample("harbour-row");
    assert!(pages(&drafted(&job)).join(" ").contains(none));
    let (_, circuit) = job.circuit("M/4").expect("a circuit");
    let mut entry = circuit.readings.get(Test::Zs).expect("a reading").clone();
    let mut old = entry.now.clone();
    old.typed = "41.27".into();
    entry.struck.push(old);
    entry.now.typed = "43.91".into();
    let place = wanderlead::job::Place::part("M", "9", Test::Zs);
    let edited = |by: &str, what: &str, how: &[&str], aside| Edited {
        by: by.into(),
        at: DateTime::parse_from_rfc3339("2026-06-18T13:07:00+01:00").expect("a time"),
        what: what.into(),
        how: how.iter().map(|h| (*h).to_string()).collect(),
        set_aside: aside,
    };
    job.edits = vec![
        edited(
            "mk",
            "circuit M/3",
            &["device.rating_a: 20 -> 16", "name: sockets -> cooker"],
            Vec::new(),
        ),
        edited("jt", "circuit M/9", &["removed"], vec![(place, entry)]),
    ];
    let text = pages(&drafted(&job)).join(" ");
    assert!(!text.contains(none));
    for wanted in [
        "No reading was struck out or taken back.",
        "Morwen Kettleby (qualified) 18 Jun 2026 13:07 circuit M/3 device rating 20 -> 16 A name sockets -> cooker –",
        "Jory Tamsett (apprentice) 18 Jun 2026 13:07 circuit M/9 removed M/9/zs: 43.91 Ω Jory Tamsett (apprentice), 18 Jun 2026",
        "struck out before: 41.27 Ω, Jory Tamsett (apprentice), 18 Jun 2026",
    ] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
}

#[test]
fn every_page_carries_reference_and_number_and_drafts_say_so() {
    for (name, job, paper) in every_paper() {
        let pages = pages(&paper);
        for (at, page) in pages.iter().enumerate() {
            assert!(page.contains(&job.reference), "{name} page {}", at + 1);
            let number = format!("Page {} of {}", at + 1, pages.len());
            assert!(page.contains(&number), "{name}: no {number}");
            assert_eq!(page.contains(NOTICE), paper.is_draft, "{name} {number}");
            assert_eq!(page.contains("DRAFT"), paper.is_draft, "{name} {number}");
        }
    }
    let drafts: Vec<(String, bool)> = samples()
        .into_iter()
        .map(|(name, job)| (name, drafted(&job).is_draft))
        .collect();
    let expected = [
        ("harbour-row", false),
        ("mill-yard", true),
        ("orchard-cottage", true),
    ];
    for (name, is_draft) in expected {
        assert!(
            drafts.contains(&(name.into(), is_draft)),
            "{name}: {drafts:?}"
        );
    }
}

#[test]
fn a_signature_that_is_queried_leaves_a_draft() {
    let mut job = sample("harbour-row");
    let test = Test::SignInspection;
    let mut entry = job.sign.get(test).expect("signed").clone();
    entry.now.typed = "Somebody Else".into();
    job.sign.put(test, Some(entry));
    let paper = drafted(&job);
    assert!(paper.is_draft);
    let text = pages(&paper).join(" ");
    assert!(text.contains("Inspection and testing – queried: signed as `Somebody Else`"));
    job.sign.put(test, None);
    let text = pages(&drafted(&job)).join(" ");
    assert!(text.contains(
        "Draft, not signed: no certificate until it is complete and all three have signed"
    ));
}

#[test]
fn all_three_signatures_count_and_none_is_claimed() {
    use wanderlead::job::Test;
    let clean = sample("harbour-row");
    let text = pages(&drafted(&clean)).join(" ");
    for wanted in [
        "Complete: names entered, to be signed by hand",
        "1 test is excused with a reason: see Findings and limitations.",
        "n/a - excused not applicable: disconnection protects everywhere",
    ] {
        assert!(text.contains(wanted), "{wanted}");
    }
    for test in [Test::SignDesign, Test::SignConstruction] {
        let mut job = clean.clone();
        let mut entry = job.sign.get(test).expect("signed").clone();
        entry.now.typed = "n/a: somebody else did that".into();
        job.sign.put(test, Some(entry));
        let paper = drafted(&job);
        assert!(paper.is_draft, "{test}");
        let first = pages(&paper).first().expect("a page").clone();
        let wanted = format!("Signatures not in order: {test} (excused).");
        assert!(first.contains(&wanted), "{first}");
    }
    for (name, _, paper) in every_paper() {
        let text = pages(&paper).join(" ").to_lowercase();
        assert!(!text.contains("complete and signed"), "{name}");
    }
}

#[test]
fn queries_are_named_on_the_first_page_and_leave_a_certificate() {
    use wanderlead::job::Test;
    let mut job = sample("harbour-row");
    let circuit = job
        .boards
        .first_mut()
        .and_then(|b| b.circuits.get_mut(3))
        .expect("a circuit");
    let mut entry = circuit.readings.get(Test::R1r2).expect("a reading").clone();
    entry.now.typed = "1.30".into();
    circuit.readings.put(Test::R1r2, Some(entry));
    let paper = drafted(&job);
    assert!(!paper.is_draft);
    let first = pages(&paper).first().expect("a page").clone();
    let wanted = "1 result is queried, and it has to be settled, or accepted by those who sign.";
    assert!(first.contains(wanted), "{first}");
    assert!(
        first.contains("? query consumer unit · 4 cooker R1+R2: "),
        "{first}"
    );
    let mill = pages(&drafted(&sample("mill-yard")));
    let first = mill.first().expect("a page");
    assert!(
        first.contains("queried, and each has to be settled"),
        "{first}"
    );
    assert!(
        first.contains("? query main board · 4 compressor Zs: "),
        "{first}"
    );
}

#[test]
fn a_job_without_bonds_asks_why() {
    let mut job = sample("harbour-row");
    job.bonds.clear();
    let text = pages(&drafted(&job)).join(" ");
    assert!(text.contains("No bonding conductor is recorded: state why under observations."));
}

#[test]
fn the_head_of_the_results_is_repeated_and_no_circuit_is_lost() {
    let job = extreme();
    let paper = drafted(&job);
    let text = pages(&paper);
    let results: Vec<&String> = text
        .iter()
        .filter(|p| p.contains("Schedule of") && p.contains("≤ 300 ms = within"))
        .collect();
    assert!((4..=7).contains(&results.len()), "{} pages", results.len());
    for page in &results {
        for head in ["Ring final circuit Ω", "live-live", "at IΔn", "Entered by"] {
            assert!(page.contains(head), "{head} in {page}");
        }
    }
    let all = results
        .iter()
        .map(|p| p.as_str())
        .collect::<Vec<_>>()
        .join(" ");
    for n in 8..60 {
        let row = format!(
            "{} sockets and fixed equipment of workshop {n}, both",
            n + 1
        );
        assert!(all.contains(&row), "{row}");
    }
}

#[test]
fn long_texts_are_whole_and_strange_signs_are_reported() {
    let job = extreme();
    let paper = drafted(&job);
    assert!(paper.unprintable.contains(&'漢'), "{:?}", paper.unprintable);
    let text = pages(&paper).join(" ");
    for wanted in [
        "Þórunn Ægisdóttir-Žižková & Αθηνά Παπαδοπούλου",
        "\u{FFFD} Tamsett (apprentice)",
    ] {
        assert!(text.contains(wanted), "{wanted}");
    }
    let remark = "leave it connected, test at 250 V only.";
    let found = text.matches(remark).count();
    assert!((85..=95).contains(&found), "{found} of the repeated remark");
    // The first page has the beginning of it only.
    let after: Vec<String> = pages(&paper).into_iter().skip(1).collect();
    let extent = after
        .join(" ")
        .matches("the feed of the pump house.")
        .count();
    assert_eq!(extent, 40);
    assert!(text.replace(' ', "").contains(&"W".repeat(300)));
}

#[test]
fn nothing_stands_outside_the_margins() {
    for (name, _, paper) in every_paper() {
        let said = run("pdftotext", &["-bbox"], &paper.bytes, &["-"]);
        let (mut wide, mut high, mut words) = (0.0, 0.0, 0);
        for line in said.lines() {
            let number = |key: &str| -> f64 {
                let key = format!("{key}=\"");
                let from = line.find(&key).expect(&key) + key.len();
                let rest = line.get(from..).expect("more");
                let end = rest.split('"').next().expect("a number");
                end.parse().expect("a number")
            };
            if line.trim_start().starts_with("<page ") {
                (wide, high) = (number("width"), number("height"));
            } else if line.trim_start().starts_with("<word ") && !line.contains(">DRAFT<") {
                words += 1;
                // 12 mm at the sides, 8 mm above and below, in points.
                let sides = number("xMin") > 34.0 && number("xMax") < wide - 34.0;
                let ends = number("yMin") > 22.0 && number("yMax") < high - 22.0;
                assert!(sides && ends, "{name}: {line} on {wide} × {high}");
            }
        }
        assert!(words > 500, "{name}: {words} words");
    }
}

#[test]
fn units_strings_instruments_and_sources_are_all_listed() {
    for (name, job, paper) in every_paper() {
        let text = pages(&paper).join(" ");
        for array in &job.arrays {
            let serials: Vec<&String> = match &array.layout {
                Layout::Strings(s) => s.iter().flat_map(|s| &s.modules).collect(),
                Layout::Branches(b) => b
                    .iter()
                    .flat_map(|b| &b.units)
                    .flat_map(|u| [&u.module, &u.inverter])
                    .collect(),
            };
            assert!(!serials.is_empty(), "{name}");
            for serial in serials {
                assert!(text.contains(serial.as_str()), "{name}: {serial}");
            }
        }
        for i in &job.instruments {
            assert!(text.contains(&i.serial), "{name}: {}", i.serial);
        }
        for f in judge_all(&job, &forms()) {
            assert!(text.contains(&flat(&f.source)), "{name}: {}", f.source);
            if matches!(f.verdict, Verdict::Outside | Verdict::Query) {
                assert!(text.contains(&flat(&f.why)), "{name}: {}", f.why);
            }
        }
        assert!(text.contains("memory: recalled, not seen"), "{name}");
        assert!(
            text.contains("NOT compared with the edition in force"),
            "{name}"
        );
    }
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    let job = extreme();
    assert!(
        drafted(&job).bytes == drafted(&job).bytes,
        "two runs differ"
    );
    let later = created() + chrono::TimeDelta::days(1);
    let other = draft(&job, &forms(), later).expect("a PDF");
    assert!(drafted(&job).bytes != other.bytes, "the date is printed");
}

/// Writes the papers for a person to look at:
/// `PAPER_FOLDER=/some/folder cargo test --test paper_content -- --ignored --nocapture`
#[test]
#[ignore = "writes files to look at"]
fn papers_to_look_at() {
    let folder = PathBuf::from(std::env::var("PAPER_FOLDER").expect("PAPER_FOLDER names a folder"));
    for (name, _, paper) in every_paper() {
        println!("{name}: {} pages, {} bytes", paper.pages, paper.bytes.len());
        assert!(paper.pages > 3, "{name}");
        std::fs::write(folder.join(format!("{name}.pdf")), paper.bytes).expect("a file");
    }
}

#[test]
fn every_source_used_and_every_change_of_the_user_is_listed() {
    for (name, job, paper) in every_paper() {
        let text = pages(&paper).join(" ");
        let findings = judge_all(&job, &forms());
        let used: BTreeMap<&str, _> = findings
            .iter()
            .flat_map(|f| &f.basis)
            .map(|l| (l.id.as_str(), l))
            .collect();
        for limit in used.values() {
            let source = flat(&limit.source.text);
            assert!(text.contains(&source), "{name} {}: {source}", limit.id);
        }
        let sentence = format!("Readings here were judged by {} entries", used.len());
        assert!(text.contains(&sentence), "{name}: {sentence}");
        assert!(!text.contains("Limits changed or added"), "{name}");
    }
    let own = "(title: \"Own\", sources: {\"s\": (text: \"office order 4\", edition: \"order of 2026\", \
               mark: CommonPractice, checked_against_current: true)}, limits: [\
               (id: \"zs/circuit-breaker/C/16\", value: \"1.30\", unit: Ohm, source: \"s\"),\
               (id: \"zs/circuit-breaker/B/70\", value: \"0.62\", unit: Ohm, source: \"s\")])";
    let own = Forms::from_texts(&[("own-limits.ron".into(), own.into())]).expect("own forms");
    let job = sample("mill-yard");
    let text = pages(&draft(&job, &own, created()).expect("a PDF")).join(" ");
    for want in [
        "Changed or added by the user: 2 entries, 1 of them used here",
        "zs/circuit-breaker/B/70 added 0.62 Ω office order 4 order of 2026 yes no",
        "zs/circuit-breaker/C/16 1.37 Ω 1.30 Ω office order 4 order of 2026 yes yes",
        "order of 2026 (1)",
        // Seven stages with an edge and a time each.
        "EREC G99 Issue 1; amendment in force to be checked 14 ",
        // One of them was compared, and only that one says so.
        "office order 4 (compared) order of 2026 1 ",
        "±5 % (mft, its own figure)",
    ] {
        assert!(text.contains(want), "{want}\n{text}");
    }
}
