//! The schedule as CSV and JSON, read back by libraries of the registry.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use std::collections::BTreeMap;

use common::{CLEAN, FAULTY, HALF_DONE, read, root, sample};

fn export(sample: &str, rows: &str, as_: &str) -> String {
    let job = root().join("sample-jobs").join(sample);
    let out = common::program()
        .args(["export", job.to_str().unwrap(), "--rows", rows, "--as", as_])
        .output()
        .unwrap();
    assert!(out.status.success(), "{out:?}");
    String::from_utf8(out.stdout).unwrap()
}

fn table(text: &str) -> (Vec<String>, Vec<BTreeMap<String, String>>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headings: Vec<String> = reader.headers().unwrap().iter().map(String::from).collect();
    let rows = reader
        .records()
        .map(|r| {
            let r = r.unwrap();
            headings
                .iter()
                .cloned()
                .zip(r.iter().map(String::from))
                .collect()
        })
        .collect();
    (headings, rows)
}

#[test]
fn every_circuit_has_a_row_with_its_record_and_its_readings() {
    for name in [CLEAN, FAULTY, HALF_DONE] {
        let job = sample(name);
        let (headings, rows) = table(&export(name, "circuits", "csv"));
        let circuits: Vec<_> = job
            .boards
            .iter()
            .flat_map(|b| b.circuits.iter().map(move |c| (b, c)))
            .collect();
        assert_eq!(rows.len(), circuits.len());
        for ((board, circuit), row) in circuits.iter().zip(&rows) {
            assert_eq!((&row["board"], &row["circuit"]), (&board.id, &circuit.id));
            assert_eq!(row["name"], circuit.name);
            if let Some(device) = &circuit.device {
                assert_eq!(
                    row["device.rating_a"],
                    device.rating_a.normalize().to_string()
                );
            }
            for (test, entry) in circuit.readings.iter() {
                assert_eq!(
                    row[test.key()],
                    entry.now.typed,
                    "{name} {}/{test}",
                    circuit.id
                );
            }
        }
        let mut once = headings.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), headings.len(), "two columns of one name");
    }
    // The planted faults of the sample: 9/zs is 1.21 against 1.09.
    let (_, rows) = table(&export(FAULTY, "circuits", "csv"));
    let row = rows
        .iter()
        .find(|r| r["board"] == "M" && r["circuit"] == "9")
        .unwrap();
    assert_eq!(
        (
            row["zs"].as_str(),
            row["zs_limit"].as_str(),
            row["zs_verdict"].as_str()
        ),
        ("1.21", "≤ 1.09", "outside")
    );
}

#[test]
fn every_finding_has_a_row() {
    let (headings, rows) = table(&export(FAULTY, "readings", "csv"));
    let findings = wanderlead::checks::judge_all(
        &sample(FAULTY),
        &wanderlead::forms::Forms::embedded().unwrap(),
    );
    assert_eq!(rows.len(), findings.len());
    for (finding, row) in findings.iter().zip(&rows) {
        assert_eq!(row["place"], finding.place.to_string());
        assert_eq!(row["verdict"], finding.verdict.to_string());
        assert_eq!(row["why"], finding.why);
        assert_eq!(
            row["by"].is_empty(),
            finding.value.is_none() || finding.place.test.is_derived()
        );
    }
    // Each column is explained in the README.
    let readme = read(&root().join("README.md"));
    for heading in headings {
        assert!(readme.contains(&format!("`{heading}`")), "{heading}");
    }
}

#[test]
fn json_has_the_same_cells_and_null_where_there_is_nothing() {
    for rows in ["circuits", "readings"] {
        let (headings, table) = table(&export(CLEAN, rows, "csv"));
        let json: serde_json::Value = serde_json::from_str(&export(CLEAN, rows, "json")).unwrap();
        assert_eq!(json["schema"], 1);
        let list = json["rows"].as_array().unwrap();
        assert_eq!(list.len(), table.len());
        for (a, b) in list.iter().zip(&table) {
            for heading in &headings {
                match b[heading].as_str() {
                    "" => assert!(a[heading].is_null()),
                    text => assert_eq!(a[heading], text),
                }
            }
        }
    }
}

/// Every field of every part has its row, named as in the job file; what the file has is in the table.
#[test]
fn every_field_of_the_record_has_a_row() {
    let (headings, rows) = table(&export("orchard-cottage.ron", "record", "csv"));
    assert_eq!(
        headings,
        ["part", "words", "field", "heading", "value", "unit"]
    );
    for (part, field, value) in [
        ("storage E", "firmware", ""),
        ("storage E", "chemistry", "lithium iron phosphate"),
        ("storage E", "backup_feeds", "a kitchen socket"),
        ("inverter bat", "type_test", "PP4B/ZZ/0102"),
        ("grid", "application", "INS-26-A-09014"),
        ("person mk", "registration", "Imaginary Scheme 00417"),
        (
            "array P",
            "mounting",
            "rails on slate hooks, Sample Rails SR-2",
        ),
        ("circuit R/3", "device.rating_a", "25"),
        ("visit", "monitoring", ""),
    ] {
        let found: Vec<_> = rows
            .iter()
            .filter(|r| r["part"] == part && r["field"] == field)
            .collect();
        assert_eq!(found.len(), 1, "{part} {field}");
        assert_eq!(found[0]["value"], value, "{part} {field}");
    }
    // Several rows of a form may belong to one field, such as what an instrument measures.
    let places: std::collections::BTreeSet<_> = rows
        .iter()
        .map(|r| (&r["part"], &r["field"], &r["heading"]))
        .collect();
    assert_eq!(places.len(), rows.len());
}
