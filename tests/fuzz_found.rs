//! What the fuzzer found (`tests/fuzz.rs`), each as the smallest input that shows it, and nests and numbers beyond all bounds in
//! every kind of file.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use common::{CLEAN, read, root};
use wanderlead::forms::Forms;
use wanderlead::job::text::{TextError, parse};
use wanderlead::store::{Session, Settings, read_job};

fn forms_with(name: &str, text: &str) -> TextError {
    Forms::from_texts(&[(name.into(), text.into())]).unwrap_err()
}

fn form(name: &str) -> String {
    read(&root().join("forms").join(name))
}

#[test]
fn what_a_form_file_says_never_reaches_the_terminal_as_it_is() {
    // Of an escape in the file comes the sign that steers a terminal.
    let text = form("rcd.ron").replacen("value: \"", "value: \"\\u{1b}[2J", 1);
    let said = forms_with("rcd.ron", &text).to_string();
    assert!(said.contains("`\\u{1b}[2J"), "{said}");
    assert!(!said.contains('\u{1b}'), "{said:?}");
    let text = form("insulation.ron").replacen("source: \"", "source: \"\\r\\n", 1);
    let said = forms_with("insulation.ron", &text).to_string();
    assert!(said.contains("no source is called `\\u{d}\\u{a}"), "{said}");
    assert_eq!(said.lines().count(), 1);
}

#[test]
fn a_limit_in_another_unit_is_named_with_its_line() {
    let text = form("rcd.ron");
    let line = text.lines().position(|l| l.contains("unit: Millisecond"));
    let line = line.unwrap() + 1;
    let wrong = text.replacen("unit: Millisecond", "unit: Ohm", 1);
    let error = forms_with("rcd.ron", &wrong);
    assert_eq!(
        (error.file.as_str(), error.line),
        ("rcd.ron", line),
        "{error}"
    );
    assert!(error.what.contains("is in Ohm"), "{error}");
    assert!(!error.remedy.is_empty());
}

#[test]
fn a_reason_without_a_word_is_named_with_its_line() {
    let text = form("reasons.ron");
    let wrong = text.replacen("fits: {", "fits: {\n\"\": [Board],", 1);
    assert_ne!(wrong, text);
    let line = wrong.lines().position(|l| l.contains("fits: {")).unwrap() + 1;
    let error = forms_with("reasons.ron", &wrong);
    assert!(
        error.what.contains("names a reason that no list has"),
        "{error}"
    );
    assert_eq!(
        (error.field.as_str(), error.line),
        ("fits", line),
        "{error}"
    );
}

/// Brackets of every sort, closed and not, in the place of a value of every kind of file.
#[test]
fn very_deep_nests_are_refused_as_such() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ron");
    let sample = read(&root().join("sample-jobs").join(CLEAN));
    for (open, close) in [
        ("(", ")"),
        ("[", "]"),
        ("{\"a\":", "}"),
        ("Some(", ")"),
        ("(a:", ")"),
        ("Together([", "])"),
    ] {
        for n in [200, 20_000] {
            for close in [close, ""] {
                let nest = format!("{}1{}", open.repeat(n), close.repeat(n));
                // A field that the program knows, and one that it doesn't.
                for of_job in ["schema:", "boards:", "nothing: 1, schema:"] {
                    let key = of_job.split_whitespace().next().unwrap();
                    let text = if of_job.starts_with("nothing") {
                        sample.replacen("schema:", &format!("nothing: {nest}, schema:"), 1)
                    } else {
                        sample.replacen(key, &format!("{key} {nest},"), 1)
                    };
                    std::fs::write(&path, text).unwrap();
                    let error = read_job(&path).unwrap_err().to_string();
                    assert!(error.contains(", line "), "{open} {of_job}: {error}");
                    assert!(error.len() < 3000, "{}", error.len());
                }
                // Reading forms takes longer: the deepest only.
                if n == 200 || close.is_empty() {
                    continue;
                }
                let text = form("steps.ron").replacen(
                    "  cautions: [",
                    &format!("  cautions: {nest}, ["),
                    1,
                );
                assert!(forms_with("steps.ron", &text).line > 0);
                let text =
                    form("rcd.ron").replacen("    limits: [", &format!("    limits: {nest}, ["), 1);
                assert!(forms_with("rcd.ron", &text).line > 0);
                let error = parse::<Settings>("s.ron", &format!("(colours: {nest})"));
                assert!(error.unwrap_err().line > 0);
            }
        }
    }
    // The reader's own bound, which doesn't depend on the stack.
    let nest = format!("({})", "nothing: (".repeat(500));
    let error = parse::<Settings>("s.ron", &nest).unwrap_err().to_string();
    assert!(error.contains("s.ron, line 1"), "{error}");
}

#[test]
fn numbers_beyond_all_bounds_are_refused_with_their_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ron");
    let sample = read(&root().join("sample-jobs").join(CLEAN));
    let long = "9".repeat(100_000);
    for number in [
        "4294967296",
        "18446744073709551616",
        "340282366920938463463374607431768211456",
        "1e999",
        "-1e-999",
        "NaN",
        "inf",
        "0xffffffffffffffffff",
        long.as_str(),
    ] {
        for (key, value) in [
            ("schema", number.to_string()),
            ("rating_a", format!("\"{number}\"")),
        ] {
            let at = sample.find(&format!("{key}:")).unwrap();
            let end = at + sample[at..].find([',', ')']).unwrap();
            let text = format!("{}{key}: {value}{}", &sample[..at], &sample[end..]);
            std::fs::write(&path, &text).unwrap();
            let error = read_job(&path).unwrap_err().to_string();
            let line = text[..at].matches('\n').count() + 1;
            assert!(
                error.contains(&format!(", line {line},")),
                "{key} {number:.40}: {error:.300}"
            );
            assert!(error.len() < 3000, "{}", error.len());
        }
        let text = form("rcd.ron");
        let at = text.find("value: \"").unwrap();
        let end = at + 8 + text[at + 8..].find('"').unwrap();
        let text = format!("{}value: \"{number}{}", &text[..at], &text[end..]);
        let error = forms_with("rcd.ron", &text);
        assert!(
            error.line > 0 && error.to_string().len() < 3000,
            "{error:.300}"
        );
    }
}

#[test]
fn a_journal_with_a_nest_in_a_sound_chain_is_kept_and_said() {
    use wanderlead::job::digest::digest;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ron");
    std::fs::copy(root().join("sample-jobs").join(CLEAN), &path).unwrap();
    let job = read_job(&path).unwrap().job;
    for n in [40, 200, 200_000] {
        let payload = format!(
            "(at:\"2026-09-01T10:00:00+01:00\",job:\"{}\",change:{}{})",
            job.reference,
            "Together([".repeat(n),
            "])".repeat(n)
        );
        let chain = digest(&[b"", b"\n", b"1", b"\n", payload.as_bytes()]);
        let text = format!("wanderlead journal 1 after 0 -\n1 {chain} {payload}\n");
        let journal = path.with_extension("ron.journal");
        std::fs::write(&journal, &text).unwrap();
        let session = Session::open(&path).unwrap();
        if n > 100 {
            let why = session.read_only().unwrap();
            assert!(why.contains("line 2 can't be understood"), "{why:.300}");
            drop(session);
            assert_eq!(read(&journal), text);
        }
    }
}

#[test]
fn an_argument_never_reaches_the_terminal_as_it_is() {
    for words in [
        vec!["calc", "zs\u{1b}[2J"],
        vec!["calc", "insulation", "\u{7f}"],
        vec!["check", "no\u{7}such.ron"],
    ] {
        let out = common::program().args(&words).output().unwrap();
        let said = String::from_utf8(out.stderr).unwrap();
        assert_eq!(out.status.code(), Some(2));
        assert!(said.contains("\\u{"), "{said:?}");
        assert!(
            !said.chars().any(|c| c.is_control() && c != '\n'),
            "{said:?}"
        );
    }
}

#[test]
fn a_limit_in_two_files_is_named_in_the_users() {
    let capacity = form("capacity.ron");
    let id = capacity.split("id: \"").nth(1).unwrap();
    let id = id.split('"').next().unwrap();
    // In a file that is read before the shipped one with the same limit, and in one that is read after it.
    for name in ["devices.ron", "cross.ron"] {
        let text = form(name);
        let row = capacity.lines().find(|l| l.contains(id)).unwrap();
        let source = text.split("source: \"").nth(1).unwrap();
        let source = source.split('"').next().unwrap();
        let start = row.rfind("source: \"").unwrap();
        let row = format!("{}source: \"{source}\"),\n", &row[..start]);
        let at = text.find("limits: [").unwrap() + "limits: [".len();
        let text = format!("{}\n{row}{}", &text[..at], &text[at..]);
        let error = forms_with(name, &text);
        assert_eq!(
            (error.file.as_str(), error.what.as_str()),
            (name, "this limit is given in two files"),
            "{error}"
        );
        assert!(error.line > 0 && error.field == id, "{error}");
    }
}

/// Journals in a sound chain, as this program wouldn't write them.
#[test]
fn a_change_that_would_spoil_the_job_is_not_brought_back() {
    use wanderlead::job::digest::digest;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.ron");
    let job = read(&root().join("tests/store_fixture.ron"));
    std::fs::write(&path, &job).unwrap();
    let at = "2026-09-01T10:00:00+01:00";
    let record = |reference: &str, unit: &str| {
        format!(
            "(at:\"{at}\",job:\"{reference}\",change:Keep(place:\"R/1/r1r2\",reading:(typed:\"0.4\",unit:{unit},by:\"JE\",at:\"{at}\")))"
        )
    };
    let long = format!("{}\\u{{1b}}", "W".repeat(5000));
    for (second, says) in [
        (
            record("T-1", "Megohm"),
            "change 2 can't be brought back: R/1/r1r2: the unit is Megohm",
        ),
        (record(&long, "Ohm"), "it belongs to job WWW"),
    ] {
        let mut text = "wanderlead journal 1 after 0 -\n".to_string();
        let mut before = String::new();
        for (n, payload) in [record("T-1", "Ohm"), second].iter().enumerate() {
            let seq = (n + 1).to_string();
            before = digest(&[
                before.as_bytes(),
                b"\n",
                seq.as_bytes(),
                b"\n",
                payload.as_bytes(),
            ]);
            text.push_str(&format!("{seq} {before} {payload}\n"));
        }
        let journal = path.with_extension("ron.journal");
        std::fs::write(&journal, &text).unwrap();
        let session = Session::open(&path).unwrap();
        let why = session.read_only().unwrap().to_string();
        assert!(why.contains(says), "{why:.300}");
        assert!(
            why.chars().count() < 2000 && !why.contains('\u{1b}'),
            "{why:.300}"
        );
        // The first one is there, and both files are as they were.
        assert!(session.job().entry(&"R/1/r1r2".parse().unwrap()).is_some());
        assert_eq!(session.job().kept, 1);
        drop(session);
        assert_eq!((read(&journal), read(&path)), (text, job.clone()));
    }
}

/// A name as long as a file was compared with every known one, letter by letter: minutes.
#[test]
fn a_name_of_megabytes_is_refused_at_once() {
    let name = format!("R/1/{}", "z".repeat(30_000_000));
    let error = name.parse::<wanderlead::job::Place>().unwrap_err();
    assert!(error.contains("zzz"));
    let near = "R/1/zx".parse::<wanderlead::job::Place>().unwrap_err();
    assert!(near.contains("`zs`"), "{near}");
}

/// What `calc` refuses is quoted, but not whole: it may be as long as a file.
#[test]
fn a_very_long_argument_is_cut_where_it_is_quoted() {
    let long = format!("{}\u{1b}[2J", "9\u{202e}".repeat(10_000));
    for words in [
        vec!["calc".to_string(), long.clone()],
        vec!["calc".into(), "insulation".into(), long.clone()],
        vec!["calc".into(), "insulation".into(), format!("{long}=1")],
        vec![
            "calc".into(),
            "zs".into(),
            "ze_ohm=0.35".into(),
            format!("r1r2_ohm={long}"),
        ],
        vec![
            "calc".into(),
            "zs-limit".into(),
            format!("device={long}"),
            "rating_a=32".into(),
        ],
        vec![
            "calc".into(),
            "zs-limit".into(),
            "device=bs-en-60898".into(),
            "curve=B".into(),
            format!("rating_a={long}"),
        ],
    ] {
        let out = common::program().args(&words).output().unwrap();
        let said = String::from_utf8(out.stderr).unwrap();
        assert_eq!(out.status.code(), Some(2), "{said:.200}");
        assert!(said.contains("`9\\u{202e}9"), "{said:.200}");
        assert!(said.chars().count() < 2500, "{}", said.len());
        let steers = |c: char| c == '\u{202e}' || (c.is_control() && c != '\n');
        assert!(!said.contains(steers), "{said:.200}");
    }
}

/// A unit behind a value in its cell is quoted where it is none: briefly, and without what steers a terminal.
#[test]
fn a_unit_of_a_file_of_readings_never_reaches_the_terminal_as_it_is() {
    let job = read_job(&root().join("sample-jobs").join(CLEAN))
        .unwrap()
        .job;
    let mapping = r#"(decimal: Point, place: One("place"), units_in_cells: true,
        readings: Columns({"Zs": (test: "zs", unit: "Ω")}))"#;
    for (unit, says) in [
        ("\u{7f}Ω".to_string(), "`\\u{7f}Ω`"),
        ("Wm ".repeat(2000), "Wm W…`"),
    ] {
        let csv = format!("place,Zs\nR/1,0.4{unit}\n");
        let from = wanderlead::intake::read(("m.ron", mapping), ("a.csv", csv.as_bytes()), &job);
        let why = from.unwrap().taken[0].typed.clone().unwrap_err();
        assert!(
            why.contains("no unit is called") && why.contains(says),
            "{why:.200}"
        );
        assert!(!why.contains('\u{7f}') && why.len() < 300, "{why:.200}");
    }
}

#[test]
fn an_entry_whose_name_is_written_with_an_escape_is_found_at_its_line() {
    let text = form("handover.ron").replacen("key: \"", "key: \"a\\n", 1);
    let line = text.lines().position(|l| l.contains("\"a\\n")).unwrap() + 1;
    let error = forms_with("handover.ron", &text);
    assert_eq!(error.line, line, "{error}");
}

/// An entry without an id, and a text of the handover that is like none of them.
#[test]
fn an_entry_without_a_name_is_found_at_its_line() {
    let text = form("own-limits.ron");
    let (head, body) = text.split_once("\n(\n").unwrap();
    let text = format!("{head}\n(\n{}", body.replace("// ", ""));
    let (before, rest) = text.split_once("(id: \"").unwrap();
    let (_, after) = rest.split_once('"').unwrap();
    let line = before.lines().count();
    let error = forms_with("own-limits.ron", &format!("{before}(id: \"\"{after}"));
    assert_eq!(error.line, line, "{error}");
    assert!(error.remedy.contains("`wanderlead forms list`"), "{error}");

    let text = form("handover.ron").replacen("key: \"", "key: \"Xyzzy-plugh-frotz ", 1);
    let error = forms_with("handover.ron", &text);
    assert!(
        error.line > 0 && error.remedy.starts_with("remove it, or use one of: "),
        "{error}"
    );
}
