//! Own limits and own wording, entry by entry: what counts, what is refused, and that nobody can miss the change.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod checks_help;

use checks_help::{d, device, tn};
use wanderlead::checks::{Judge, Verdict, profiles};
use wanderlead::forms::{DEFAULTS, EXAMPLES, Forms};
use wanderlead::job::owner::Kind;
use wanderlead::job::text::TextError;
use wanderlead::job::{Place, Test};

fn file(name: &str, text: &str) -> (String, String) {
    (name.to_string(), text.to_string())
}

/// A file of own limits with these rows, such as `zs/site-factor 0.75 Factor`.
fn own(rows: &[&str]) -> (String, String) {
    let rows: String = rows
        .iter()
        .map(|row| {
            let parts: Vec<&str> = row.split(' ').collect();
            format!(
                "  (id: \"{}\", value: \"{}\", unit: {}, source: \"mine\"),\n",
                parts[0], parts[1], parts[2]
            )
        })
        .collect();
    let text = format!(
        "(\n title: \"Own\",\n sources: {{ \"mine\": (text: \"office order 4\", edition: \"none\", mark: CommonPractice, checked_against_current: false) }},\n limits: [\n{rows} ],\n)\n"
    );
    file("own-limits.ron", &text)
}

fn refused(rows: &[&str]) -> TextError {
    Forms::from_texts(&[own(rows)]).unwrap_err()
}

fn shipped_file(name: &str) -> String {
    let found = DEFAULTS.iter().find(|(n, _)| *n == name);
    found.unwrap().1.to_string()
}

#[test]
fn one_entry_counts_and_the_rest_stays() {
    let forms = Forms::from_texts(&[own(&["zs/circuit-breaker/B/32 1.20 Ohm"])]).unwrap();
    let shipped = Forms::embedded().unwrap();
    let changed = forms.limit("zs/circuit-breaker/B/32").unwrap();
    assert_eq!(changed.value, d("1.20"));
    assert_eq!(
        changed.source.text,
        "changed by the user, shipped 1.37 Ω; office order 4"
    );
    let same = |id: &str| forms.limit(id).unwrap() == shipped.limit(id).unwrap();
    assert!(same("zs/circuit-breaker/B/40") && same("zs/site-factor"));
    assert_eq!(forms.unchecked(), shipped.unchecked());
    let listed: Vec<_> = forms
        .own()
        .iter()
        .map(|o| (o.id.as_str(), o.shipped))
        .collect();
    assert_eq!(listed, [("zs/circuit-breaker/B/32", Some(d("1.37")))]);
}

#[test]
fn an_added_rating_is_used_by_its_check_and_says_so() {
    // By the formula of the tables: 0.95 x 230 V / (5 x 70 A) is 0.624 ohm; 0.8 of it, rounded down, is 0.49.
    let forms = Forms::from_texts(&[own(&["zs/circuit-breaker/B/70 0.62 Ohm"])]).unwrap();
    let mut job = tn();
    checks_help::circuit(&mut job, "M/1").device = Some(device("B70"));
    let place: Place = "M/1/zs".parse().unwrap();
    let at = |forms: &Forms| Judge::new(&job, forms).place(&place).unwrap();
    let found = at(&forms);
    assert_eq!(found.limit.as_deref(), Some("≤ 0.49"));
    assert_eq!(found.source, "added by the user; office order 4");
    assert_eq!(found.basis[0].id, "zs/circuit-breaker/B/70");
    // Without it the formula stands in, and nothing claims a table.
    let formula = at(checks_help::forms());
    assert!(formula.formula.contains("no table lists it"), "{formula:?}");
}

#[test]
fn a_fuse_gets_a_table_for_another_disconnection_time() {
    let id = "zs/bs88-3/0.2s/32";
    let forms = Forms::from_texts(&[own(&[&format!("{id} 0.80 Ohm")])]).unwrap();
    assert_eq!(forms.limit(id).unwrap().value, d("0.80"));
    let odd = refused(&["zs/bs88-3/0.3s/32 0.80 Ohm"]);
    assert_eq!(
        (odd.what.as_str(), odd.remedy.as_str()),
        (
            "`0.3s` is no disconnection time",
            "use one of: 5s, 0.4s, 1s, 0.2s"
        )
    );
}

#[test]
fn entries_that_nothing_reads_are_refused_with_the_nearest() {
    for (row, what, remedy) in [
        (
            "zs/circuit-braker/B/32 1.20 Ohm",
            "nothing reads an entry of this id",
            "did you mean `zs/circuit-breaker/B/32`?",
        ),
        (
            "rcd/half/hod 2000 Millisecond",
            "nothing reads an entry of this id",
            "did you mean `rcd/half/hold`?",
        ),
        (
            "pv-ir/5/min 1 Megohm",
            "nothing reads an entry of this id",
            "did you mean `pv-ir/1/min` or `pv-ir/2/min` or `pv-ir/3/min`?",
        ),
        (
            "zs/circuit-breaker/B/70.0 0.62 Ohm",
            "nothing reads `70.0` in an id",
            "write it as `70`",
        ),
        (
            "lighting/level 500 Factor",
            "nothing reads an entry of this id",
            "look the id up: `wanderlead forms look lighting`",
        ),
    ] {
        let error = refused(&["zs/site-factor 0.75 Factor", row]);
        assert_eq!((error.what.as_str(), error.remedy.as_str()), (what, remedy));
        assert_eq!((error.line, error.column), (6, 8), "{error}");
        assert_eq!(error.field, row.split(' ').next().unwrap());
        assert_eq!(error.file, "own-limits.ron");
    }
}

#[test]
fn wrong_units_and_values_are_refused() {
    for (row, want) in [
        (
            "zs/circuit-breaker/B/32 1370 Millisecond",
            "this limit is in Millisecond and the program reckons in Ohm; convert the value",
        ),
        (
            "zs/circuit-breaker/B/70 0.62 Megohm",
            "this limit is in Megohm and the program reckons in Ohm",
        ),
        (
            "zs/circuit-breaker/B/32 13.7 Ohm",
            "slip of the decimal point: the shipped value is 1.37 Ω",
        ),
        (
            "zs/circuit-breaker/B/32 0.137 Ohm",
            "slip of the decimal point",
        ),
        (
            "zs/circuit-breaker/B/32 13.69 Ohm",
            "slip of the decimal point",
        ),
        (
            "zs/circuit-breaker/B/16 27.2 Ohm",
            "slip of the decimal point",
        ),
        (
            "rcd/general/1x/max 2900 Millisecond",
            "slip of the decimal point",
        ),
        // 0.95 x 230 V / (5 x 70 A) is 0.62 ohm; its neighbours are B63 and B80.
        ("zs/circuit-breaker/B/70 6.2 Ohm", "doesn't fit its table"),
        ("zs/circuit-breaker/B/70 0.70 Ohm", "doesn't fit its table"),
        (
            "zs/circuit-breaker/B/70 6.9 Ohm",
            "6.9 Ω doesn't fit its table: it should lie between `zs/circuit-breaker/B/63`, 0.69 Ω and `zs/circuit-breaker/B/80`, 0.55 Ω; look for a slip of the decimal point",
        ),
        ("zs/circuit-breaker/B/32 0 Ohm", "0 is out of range"),
        ("zs/circuit-breaker/B/32 -1 Ohm", "-1 is out of range"),
        ("pv/voc-tolerance 100 Percent", "100 % is out of range"),
        ("source/both-ways 1.5 Count", "1.5 is no count"),
    ] {
        let error = refused(&[row]).to_string();
        assert!(error.contains(want), "{error}");
        assert!(
            error.starts_with("own-limits.ron, line 5, column "),
            "{error}"
        );
    }
    // Just short of three times is a person's own business.
    assert!(Forms::from_texts(&[own(&["zs/circuit-breaker/B/32 4.10 Ohm"])]).is_ok());
    assert!(Forms::from_texts(&[own(&["zs/circuit-breaker/B/32 4.11 Ohm"])]).is_err());
    let twice = refused(&["zs/site-factor 0.75 Factor", "zs/site-factor 0.7 Factor"]);
    assert!(twice.to_string().contains("given twice"), "{twice}");
}

/// By the formulas of the tables (derived): 0.95 x 230 V / (5 In) for Type B, 50 V / IΔn. What people have reason to change passes:
/// a table with Cmin 0.90, the limits of a whole table x 0.8, another factor for cold conductors.
#[test]
fn new_rows_go_on_as_their_table_does_and_usual_changes_pass() {
    for row in [
        "zs/circuit-breaker/B/70 0.62 Ohm",
        "zs/circuit-breaker/B/45 0.97 Ohm",
        // 0.95 x 230 / (5 x 2) and / (5 x 160): beyond either end.
        "zs/circuit-breaker/B/2 21.85 Ohm",
        "zs/circuit-breaker/B/160 0.27 Ohm",
        "rcd/ra/6 8333 Ohm",
        "zs/bs88-3/0.2s/32 0.80 Ohm",
        "zs/circuit-breaker/B/32 1.29 Ohm",
        "zs/circuit-breaker/B/32 1.09 Ohm",
        "zs/site-factor 1 Factor",
        "zs/cmin 0.9 Factor",
        "supply/cmax 1.1 Factor",
    ] {
        let forms = Forms::from_texts(&[own(&[row])]);
        assert!(forms.is_ok(), "{row}: {}", forms.unwrap_err());
    }
    // Beside rows that are one's own too: B63 and B80 x 0.8, and 0.8 x 0.62 between them.
    let lower = [
        "zs/circuit-breaker/B/70 0.50 Ohm",
        "zs/circuit-breaker/B/63 0.55 Ohm",
        "zs/circuit-breaker/B/80 0.44 Ohm",
    ];
    assert!(Forms::from_texts(&[own(&lower)]).is_ok());
    assert!(Forms::from_texts(&[own(&lower[..1])]).is_err());
    for (row, want) in [
        ("zs/circuit-breaker/B/2 2.185 Ohm", "in line with"),
        ("zs/circuit-breaker/B/2 14 Ohm", "in line with"),
        ("zs/circuit-breaker/B/160 2.7 Ohm", "in line with"),
        ("rcd/ra/6 833 Ohm", "in line with"),
        ("zs/bs88-3/0.2s/32 8.0 Ohm", "slip of the decimal point"),
    ] {
        let error = refused(&[row]).to_string();
        assert!(error.contains(want), "{error}");
    }
}

/// By what they are for: a cold reading is held to less than the table, a fault current is reckoned with more than the nominal voltage.
#[test]
fn factors_on_the_wrong_side_of_one_are_refused() {
    for (row, want) in [
        (
            "zs/site-factor 1.2 Factor",
            "1.2 is above 1, and this factor lowers",
        ),
        ("zs/cmin 1.05 Factor", "1.05 is above 1"),
        (
            "supply/cmax 0.95 Factor",
            "0.95 is below 1, and this factor raises",
        ),
        ("temp/operating/70c 0.8 Factor", "0.8 is below 1"),
    ] {
        let error = refused(&[row]).to_string();
        assert!(error.contains(want), "{error}");
    }
}

#[test]
fn an_entry_counts_before_a_whole_file_of_the_same_folder() {
    let devices = shipped_file("devices.ron")
        .replace("B/32\", value: \"1.37\"", "B/32\", value: \"1.30\"")
        .replace("B/40\", value: \"1.09\"", "B/40\", value: \"1.00\"");
    let forms = Forms::from_texts(&[
        file("devices.ron", &devices),
        own(&["zs/circuit-breaker/B/32 1.20 Ohm"]),
    ])
    .unwrap();
    let value = |id: &str| forms.limit(id).unwrap().value;
    assert_eq!(value("zs/circuit-breaker/B/32"), d("1.20"));
    assert_eq!(value("zs/circuit-breaker/B/40"), d("1.00"));
    let own: Vec<_> = forms
        .own()
        .iter()
        .map(|o| (o.id.as_str(), o.file.as_str()))
        .collect();
    assert_eq!(
        own,
        [
            ("zs/circuit-breaker/B/32", "own-limits.ron"),
            ("zs/circuit-breaker/B/40", "devices.ron"),
        ]
    );
    assert!(
        forms
            .limit("zs/circuit-breaker/B/40")
            .unwrap()
            .source
            .text
            .starts_with("changed by the user, shipped 1.09 Ω; BS 7671 Table 41.3"),
    );
}

#[test]
fn a_whole_file_is_held_to_the_same_ids() {
    let extra = shipped_file("rcd.ron").replace(
        "(id: \"rcd/half/hold\"",
        "(id: \"rcd/quarter/hold\", value: \"2000\", unit: Millisecond, source: \"half\"),\n(id: \"rcd/half/hold\"",
    );
    let error = Forms::from_texts(&[file("rcd.ron", &extra)]).unwrap_err();
    assert_eq!(error.what, "nothing reads an entry of this id");
    let wider = shipped_file("rcd.ron").replace(
        "(id: \"rcd/ra/30\"",
        "(id: \"rcd/ra/6\", value: \"8333\", unit: Ohm, source: \"ra-manual\"),\n(id: \"rcd/ra/30\"",
    );
    let forms = Forms::from_texts(&[file("rcd.ron", &wider)]).unwrap();
    let added = &forms.limit("rcd/ra/6").unwrap().source.text;
    assert!(added.starts_with("added by the user; 50 V"), "{added}");
}

#[test]
fn the_examples_change_nothing_until_their_slashes_are_taken_off() {
    let shipped = Forms::embedded().unwrap();
    let all: Vec<_> = EXAMPLES.iter().map(|(n, t)| file(n, t)).collect();
    let forms = Forms::from_texts(&all).unwrap();
    assert!(forms.own().is_empty());
    assert_eq!(forms.walk(), shipped.walk());
    for (name, text) in EXAMPLES {
        let uncovered = text.replace("        // ", "        ");
        assert_ne!(uncovered, text);
        let forms = Forms::from_texts(&[file(name, &uncovered)]);
        let forms = forms.unwrap_or_else(|e| panic!("{e}\n{uncovered}"));
        assert!(
            !forms.own().is_empty() || forms.walk() != shipped.walk(),
            "{name}"
        );
    }
    // Every unit that a shipped limit has is named at the top.
    let head = EXAMPLES[0].1;
    for limit in shipped.limits() {
        assert!(
            head.contains(&format!("{:?}", limit.unit)),
            "{:?}",
            limit.unit
        );
    }
}

#[test]
fn one_step_is_worded_anew_and_the_same_test_elsewhere_stays() {
    let steps = |body: &str| {
        file(
            "own-steps.ron",
            &format!("(title: \"Own\", steps: [\n{body}\n])"),
        )
    };
    let shipped = Forms::embedded().unwrap();
    let forms = Forms::from_texts(&[steps(
        "(at: Circuit, test: \"polarity\", why: \"Because the office says so.\"),",
    )])
    .unwrap();
    let at = |f: &Forms, kind| f.walk().step(kind, Test::Polarity).unwrap().clone();
    let (new, old) = (at(&forms, Kind::Circuit), at(&shipped, Kind::Circuit));
    assert_eq!(new.why, "Because the office says so.");
    assert_eq!((new.connect, new.needs), (old.connect, old.needs));
    assert_eq!(at(&forms, Kind::Board), at(&shipped, Kind::Board));

    for (body, want) in [
        (
            "(at: Circuit, test: \"voc\", why: \"x\"),",
            "field steps[0].test: no step `voc` is taken at Circuit; use one of: ",
        ),
        (
            "(at: Circuit, test: \"zs\", caution: \"\"),",
            "field steps[0].caution: this text is empty",
        ),
        (
            "(at: Circuit, test: \"zs\", over: \"far\"),",
            "`far` is not the end of a scale",
        ),
        ("(at: Circuit, test: \"zs\", needs: []),", "needs"),
        (
            "(at: Circuit, test: \"zs\"),\n(at: Circuit, test: \"zs\"),",
            "line 3, column 15, field steps[1]: `zs` is given twice",
        ),
    ] {
        let error = Forms::from_texts(&[steps(body)]).unwrap_err().to_string();
        assert!(error.contains(want), "{error}");
    }
    let long = format!("(at: Circuit, test: \"zs\", why: \"{}\"),", "x".repeat(221));
    let error = Forms::from_texts(&[steps(&long)]).unwrap_err().to_string();
    assert!(
        error.contains("of 221 characters can't be shown"),
        "{error}"
    );
}

/// Another network's settings are entered as a profile of one's own, whole or not at all; invented figures.
#[test]
fn a_profile_of_ones_own_is_judged_by() {
    let rows = [
        ("uv/volts", "195.5", "Volt"),
        ("uv/time", "3.0", "Second"),
        ("ov1/volts", "253.0", "Volt"),
        ("ov1/time", "0.5", "Second"),
        ("ov2/volts", "264.5", "Volt"),
        ("ov2/time", "0.5", "Second"),
        ("uf1/hertz", "48.0", "Hertz"),
        ("uf1/time", "0.5", "Second"),
        ("uf2/hertz", "47.5", "Hertz"),
        ("uf2/time", "0.5", "Second"),
        ("of/hertz", "52.0", "Hertz"),
        ("of/time", "1.0", "Second"),
        ("rocof/rate", "1.0", "HertzPerSecond"),
        ("rocof/time", "0.5", "Second"),
    ];
    let all: Vec<String> = rows
        .iter()
        .map(|(id, value, unit)| format!("grid/g98-ni/{id} {value} {unit}"))
        .collect();
    let all: Vec<&str> = all.iter().map(String::as_str).collect();
    let forms = Forms::from_texts(&[own(&all)]).unwrap();
    assert_eq!(profiles(&forms), ["g98", "g98-ni", "g99"]);
    let mut job = tn();
    checks_help::put(
        &mut job,
        &[
            ("grid/profile", "EREC G98/NI"),
            ("grid/set-ov1", "253 0.5"),
            ("grid/set-uf1", "47.5 20"),
        ],
    );
    let verdict = |place: &str| {
        let place: Place = place.parse().unwrap();
        Judge::new(&job, &forms).place(&place).unwrap().verdict
    };
    assert_eq!(verdict("grid/set-ov1"), Verdict::Within);
    assert_eq!(verdict("grid/set-uf1"), Verdict::Outside);
    // One stage short.
    let error = refused(&all[..13]);
    assert!(error.remedy.contains("grid/g98-ni/rocof/time"), "{error}");
    // What nothing reads, or in another unit, or a slip.
    for row in [
        "grid/g98-ni 16 Amp",
        "grid/G98-NI/uv/volts 195.5 Volt",
        "grid/g98-ni/uv/amps 195.5 Volt",
        "grid/g98-ni/uv/volts 195.5 Second",
        "grid/g98-ni/uv/volts 1955 Volt",
    ] {
        assert_eq!(
            refused(&[row]).field,
            row.split(' ').next().unwrap(),
            "{row}"
        );
    }
}

/// A reference method that no table has is added by its name.
#[test]
fn a_reference_method_of_ones_own_is_used() {
    let rows = ["iz/flat-twin-earth-70/E/1p/6 47 Amp"];
    let forms = Forms::from_texts(&[own(&rows)]).unwrap();
    assert_eq!(
        forms.limit("iz/flat-twin-earth-70/E/1p/6").unwrap().value,
        d("47")
    );
    for row in [
        "iz/flat-twin-earth-70/e/1p/6 47 Amp",
        "iz/other/E/1p/6 47 Amp",
    ] {
        assert!(Forms::from_texts(&[own(&[row])]).is_err(), "{row}");
    }
}

/// A line of `fits` that no reason is written like would be no line at all.
#[test]
fn fits_names_only_reasons_that_there_are() {
    let shipped = shipped_file("reasons.ron");
    let forms = Forms::embedded().unwrap();
    let fits = |reason: &str, kind| forms.reasons().fits_at(reason, kind);
    let roof = "no safe access to the roof on the day";
    assert!(fits(roof, Kind::PvString) && !fits(roof, Kind::Circuit));
    assert!(fits("room locked, nobody with a key", Kind::Circuit));
    let bad = shipped.replacen(&format!("\"{roof}\": ["), "\"no way up\": [", 1);
    assert_ne!(bad, shipped);
    let error = Forms::from_texts(&[file("reasons.ron", &bad)]).unwrap_err();
    assert_eq!(error.file, "reasons.ron");
    assert!(error.what.contains("that no list has"), "{}", error.what);
    assert_eq!(error.field, "no way up");
    // Files of before have no such lines.
    let (head, _) = shipped.split_once("  fits:").unwrap();
    let old = format!("{head})\n");
    assert!(Forms::from_texts(&[file("reasons.ron", &old)]).is_ok());
}
