//! What the papers have to say of the record stands on them: the data elements of the certificate, the array report, the storage
//! record and the record for the network operator. Which elements those papers have is common knowledge of the trade; their
//! standards were not opened.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod common;

use chrono::DateTime;
use common::sample;
use wanderlead::forms::Forms;
use wanderlead::job::Job;
use wanderlead::paper::{PackPart, Parts, draft_parts};

/// The text of one part of the pack by poppler, in one line.
fn part(job: &Job, part: PackPart) -> String {
    let at = DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
    let forms = Forms::embedded().unwrap();
    let drafted = draft_parts(job, &forms, at, &Parts::some([part])).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("paper.pdf");
    std::fs::write(&path, drafted.bytes).unwrap();
    let said = std::process::Command::new("pdftotext")
        .arg("-raw")
        .arg(&path)
        .arg("-")
        .output()
        .expect("poppler-utils");
    let text = String::from_utf8(said.stdout).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A field emptied, the part of the pack it stands on, and what stands there while it is recorded.
type Case = (PackPart, &'static str, fn(&mut Job));

#[test]
fn what_a_page_is_for_is_on_it_or_said_to_be_missing() {
    let cases: [Case; 16] = [
        (PackPart::Grid, "01632 960311", |j| j.client.contact.clear()),
        (PackPart::Grid, "Commissioned 18 June 2026", |j| {
            j.grid.commissioned = None
        }),
        (PackPart::Grid, "00 0000 0000 031", |j| {
            j.grid.meter_number.clear()
        }),
        (PackPart::Grid, "Imaginary Networks South", |j| {
            j.grid.operator.clear()
        }),
        (PackPart::Grid, "PP6S/ZZ/0417", |j| {
            j.inverters[0].type_test.clear()
        }),
        (PackPart::Grid, "4.11", |j| j.inverters[0].firmware.clear()),
        (PackPart::Grid, "boat store, north wall", |j| {
            j.inverters[0].location.clear()
        }),
        (PackPart::Array, "rails on tile hooks", |j| {
            j.arrays[0].mounting.clear()
        }),
        (PackPart::Array, "PV cable 4 mm²", |j| {
            j.arrays[0].cable.clear()
        }),
        (PackPart::Array, "rails by 6 mm² copper", |j| {
            j.arrays[0].frame_bond.clear()
        }),
        (PackPart::Array, "Sample Surge SS-PV2", |j| {
            j.arrays[0].dc_spd.clear()
        }),
        (PackPart::Storage, "63 A, 2-pole, on the cabinet", |j| {
            j.storage[0].isolator.clear()
        }),
        (PackPart::Storage, "58 %", |j| {
            j.storage[0].charge_pct = None
        }),
        (PackPart::Storage, "lithium iron phosphate", |j| {
            j.storage[0].chemistry.clear()
        }),
        (PackPart::Storage, "3.2", |j| j.storage[0].firmware.clear()),
        (PackPart::Storage, "ES5-31077", |j| {
            j.storage[0].serial.clear()
        }),
    ];
    for (page, said, take_out) in cases {
        let name = match page {
            PackPart::Storage => "mill-yard.ron",
            _ => "harbour-row.ron",
        };
        let job = sample(name);
        let with = part(&job, page);
        assert!(with.contains(said), "{said}: {with}");
        let mut without = job;
        take_out(&mut without);
        let text = part(&without, page);
        let missing = |t: &str| t.matches("not recorded").count();
        assert_eq!(missing(&text), missing(&with) + 1, "{said}: {text}");
        assert!(!text.contains(said), "{said}: {text}");
    }
}

#[test]
fn certificate_record_and_handover_carry_the_rest() {
    let mut job = sample("harbour-row.ron");
    job.exceptions = "Socket in the cellar without RCD: risk assessment RA-7.".into();
    let certificate = part(&job, PackPart::Certificate);
    for said in [
        "risk assessment RA-7",
        "Imaginary Scheme 00417",
        "4 Foundry Lane, Little Thornmarsh, ZZ1 7ZZ",
    ] {
        assert!(certificate.contains(said), "{said}");
    }
    let grid = part(&job, PackPart::Grid);
    for said in [
        "INS-26-A-03377",
        "sunlight (PV)",
        "Declaration of the installer",
        "Morwen Kettleby",
    ] {
        assert!(grid.contains(said), "{said}");
    }
    assert!(
        part(&job, PackPart::Record)
            .contains("warranties of modules, inverter and mounting system")
    );
    let handover = part(&job, PackPart::Handover);
    for said in [
        "number: 01632 960105",
        "the app Pretend Power Home",
        "warranties of modules",
    ] {
        assert!(handover.contains(said), "{said}");
    }
}
