//! What the papers have to say of the record stands on them: the data elements of the certificate, the array report, the storage
//! record and the record for the network operator. Which elements those papers have is common knowledge of the trade; their
//! standards were not opened.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing
)]

mod common;

use chrono::DateTime;
use common::{root, sample};
use wanderlead::forms::Forms;
use wanderlead::job::{Circuit, Job};
use wanderlead::paper::{Drafted, PackPart, Parts, draft, draft_parts};
use wanderlead::store::read_job;

/// The text of one part of the pack by poppler, each page in one line.
fn pages(job: &Job, part: PackPart) -> Vec<String> {
    let at = DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
    let forms = Forms::embedded().unwrap();
    let drafted = draft_parts(job, &forms, at, &Parts::some([part])).unwrap();
    pages_of(drafted)
}

/// The text of a paper by poppler, each page in one line.
fn pages_of(drafted: Drafted) -> Vec<String> {
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
    let flat = |page: &str| page.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut pages: Vec<String> = text.split('\u{c}').map(flat).collect();
    pages.pop();
    pages
}

/// The text of one part of the pack, in one line.
fn part(job: &Job, of: PackPart) -> String {
    pages(job, of).join(" ")
}

/// A starter as it is shipped.
fn starter(name: &str) -> Job {
    read_job(&root().join(format!("forms/starters/{name}.ron")))
        .unwrap()
        .job
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
        "01632 960105",
        "the app Pretend Power Home",
        "warranties of modules",
    ] {
        assert!(handover.contains(said), "{said}");
    }
}

/// Unfilled starters say of nothing that it is so.
#[test]
fn what_nobody_has_said_yet_is_not_printed_as_a_fact() {
    let hybrid = starter("hybrid");
    let certificate = part(&hybrid, PackPart::Certificate);
    for said in [
        "Client not recorded",
        "Work on site began",
        "Extent of the work that this paper covers not recorded",
        "storage E",
    ] {
        assert!(certificate.contains(said), "{said}: {certificate}");
    }
    let record = part(&hybrid, PackPart::Record);
    for text in [&certificate, &record] {
        assert!(!text.contains("2000 "), "{text}");
    }
    let storage = part(&hybrid, PackPart::Storage);
    assert!(storage.contains("Storage E"), "{storage}");
    assert!(
        storage.contains("hybrid inverter: –, serial –"),
        "{storage}"
    );
    // No profile is named: there are limits, only not known yet, and each stage has its name.
    let grid = part(&hybrid, PackPart::Grid);
    assert!(
        grid.contains("under voltage – not known yet . open"),
        "{grid}"
    );
    assert_eq!(grid.matches("not known yet").count(), 7, "{grid}");
    assert!(!grid.contains("UV set"), "{grid}");
    let set = part(&sample("harbour-row.ron"), PackPart::Grid);
    assert!(
        set.contains("under voltage 184.0 2.5 = 184.0 V 2.5 s"),
        "{set}"
    );
    assert!(!set.contains("not known yet"), "{set}");
}

/// Common practice: the customer is told in words of the house, and no list can be read in two ways.
#[test]
fn the_handover_can_be_read_in_one_way_only() {
    let orchard = part(&sample("orchard-cottage.ron"), PackPart::Handover);
    for said in [
        "of each of these: in the consumer unit: 1 sockets, ground floor; 2 sockets, kitchen; 3 lights; 4 water heater. It has",
        "panels here (south roof), which make electricity as long as there is light. They and the cables at them stay live then",
        "In a power cut",
        "Anything about this installation the firm: Make-Believe Electrical",
    ] {
        assert!(orchard.contains(said), "{said}: {orchard}");
    }
    for said in [
        "the street has no electricity",
        "taken for dead",
        "take it for dead",
    ] {
        assert!(!orchard.contains(said), "{said}");
    }
    // What works again after a while is said once, and not of a switch beyond which another is still off.
    assert_eq!(orchard.matches("some minutes").count(), 1, "{orchard}");
}

/// Who turns off the last switch of a page is told that there are more: nothing is taken for dead halfway.
#[test]
fn steps_that_go_on_say_so_at_the_foot_of_the_page() {
    let mut broken = 0;
    let mut jobs = vec![
        sample("harbour-row.ron"),
        sample("mill-yard.ron"),
        sample("orchard-cottage.ron"),
    ];
    jobs.extend(["hybrid", "battery", "micro", "string", "tt", "three-phase"].map(starter));
    for job in jobs {
        let pages = pages(&job, PackPart::Handover);
        let words = "More steps on the next page: this is not the last one.";
        for (at, page) in pages.iter().enumerate() {
            let goes_on = pages
                .get(at + 1)
                .is_some_and(|next| begins_with_steps(next));
            assert_eq!(page.contains(words), goes_on, "{}: {page}", job.reference);
            broken += usize::from(goes_on);
            if goes_on {
                assert!(page.contains("Step What to do 1 ") || begins_with_steps(page));
            }
        }
    }
    assert!(broken > 0);
}

/// Whether a page begins with steps after the first.
fn begins_with_steps(page: &str) -> bool {
    let Some((above, steps)) = page.split_once("Step What to do ") else {
        return false;
    };
    !above.contains("in this order") && !steps.starts_with("1 ")
}

/// A chart is read beside the figures that it is drawn from.
#[test]
fn no_chart_is_alone_on_a_page() {
    let beside = [
        (
            PackPart::Boards,
            "Zs of each circuit as part of its limit",
            "Polarity",
        ),
        (
            PackPart::Array,
            "Strings against what is expected",
            "Voltage and current of the input",
        ),
        (
            PackPart::Array,
            "Power of each module against the median",
            "Entered by",
        ),
    ];
    let mut seen = 0;
    for name in ["harbour-row.ron", "mill-yard.ron"] {
        for (of, chart, figures) in beside {
            for page in pages(&sample(name), of) {
                if let Some((above, _)) = page.split_once(chart) {
                    assert!(above.contains(figures), "{name}: {page}");
                    seen += 1;
                }
            }
        }
    }
    // The same board with more and more circuits: the page ends elsewhere each time.
    let mut job = sample("mill-yard.ron");
    job.arrays.clear();
    job.inverters.clear();
    job.storage.clear();
    job.boards.truncate(1);
    let circuits = job.boards[0].circuits.clone();
    for n in 8..32 {
        let more = circuits.iter().take(11).cycle().take(n).enumerate();
        job.boards[0].circuits = more
            .map(|(at, c)| Circuit {
                id: (at + 1).to_string(),
                ..c.clone()
            })
            .collect();
        for page in pages(&job, PackPart::Boards) {
            if let Some((above, _)) = page.split_once(beside[0].1) {
                assert!(above.contains(beside[0].2), "{n} circuits: {page}");
                seen += 1;
            }
        }
    }
    assert!(seen > 24, "{seen}");
}

/// The first page names the page that a finding stands on, and not the one on which its board begins.
#[test]
fn what_is_to_be_seen_to_is_on_the_page_that_the_summary_names() {
    let job = sample("mill-yard.ron");
    let forms = Forms::embedded().unwrap();
    let at = DateTime::parse_from_rfc3339("2026-11-21T08:15:00+00:00").unwrap();
    let pages = pages_of(draft(&job, &forms, at).unwrap());
    let mut seen = std::collections::BTreeSet::new();
    for (listed, there) in [
        (
            "Ipf: 7.2 kA, limit ≤ 5.19 kA",
            "Ipf 7.2 kA ≤ 5.19 kA ! outside",
        ),
        ("kA rating: 6 kA, limit ≥ 8.32 kA", "6 ≥ 8.32 kA ! outside"),
        ("Poles: 1, limit ≥ 2", "1 ≥ 2 ! outside"),
        (
            "r2: over range (>99 Ω): the ring is open",
            ">99 no limit ! outside",
        ),
        ("RCD IΔn: 312 ms, limit ≤ 300 ms", "312 ≤ 300 ms ! outside"),
        ("Zs: 1.21 Ω, limit ≤ 1.09 Ω", "1.21 ≤ 1.09 Ω ! outside"),
        ("IR - to E: 0.62 MΩ, limit ≥ 1 MΩ", "0.62 ≥ 1 MΩ ! outside"),
    ] {
        let after = pages[0].split_once(listed).expect(listed).1;
        let number = after.split_whitespace().next().unwrap();
        let page = &pages[number.parse::<usize>().unwrap() - 1];
        assert!(page.contains(there), "{listed}, page {number}: {page}");
        seen.insert(number.to_string());
    }
    // The board takes several pages, or this would tell nothing.
    assert!(seen.len() > 3, "{seen:?}");
}
