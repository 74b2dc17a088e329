//! The certificate: what was done for whom, by whom, and who signs.

use crate::checks::Verdict;
use crate::job::{Entry, Group, Job, Observation, Person, Place, Test, Value};
use crate::paper::flow::{Block, Column, Field, Row, Signature, Styled, Table};

use super::sheet::Sheet;
use super::words::{self, or_dash, or_missing};
use super::{sources, supply};

/// Comments up to this many characters stand in a box.
const SHORT: usize = 300;

/// What is signed for, in the order of the work.
pub(super) const SIGNED: [(Test, &str); 3] = [
    (Test::SignDesign, "Design"),
    (Test::SignConstruction, "Construction"),
    (Test::SignInspection, "Inspection and testing"),
];

/// Who answers for the paper: whoever signed for testing, else the first qualified person.
pub(super) fn answering(job: &Job) -> Option<&Person> {
    let signed = job
        .sign
        .get(Test::SignInspection)
        .and_then(|e| job.person(&e.now.by));
    signed.or_else(|| {
        job.people
            .iter()
            .find(|p| p.role == crate::job::Role::Qualified)
    })
}

/// The firm of whoever answers for the paper.
pub(super) fn firm(job: &Job) -> String {
    answering(job).map(|p| p.firm.clone()).unwrap_or_default()
}

/// Firm and address of a person, as they stand with a signature.
pub(super) fn company(person: Option<&Person>) -> String {
    person.map_or_else(String::new, |p| joined(&[&p.firm, &p.address]))
}

fn joined(known: &[&str]) -> String {
    let known = known.iter().map(|t| t.trim()).filter(|t| !t.is_empty());
    known.collect::<Vec<_>>().join(", ")
}

/// The certificate.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let mut blocks = vec![
        Block::anchored(1, "Electrical installation certificate", "certificate"),
        Block::paragraph(
            "It counts only together with the schedules, reports and records that the first page lists.",
        ),
    ];
    blocks.extend(installation(sheet));
    blocks.extend(supply::blocks(sheet));
    blocks.extend(remarks(sheet));
    blocks.extend(sources::editions(sheet));
    blocks.extend(declarations(sheet));
    blocks
}

fn installation(sheet: &Sheet<'_>) -> Vec<Block> {
    let job = sheet.job;
    let next = job
        .next_inspection
        .map_or_else(|| words::MISSING.into(), words::short_day);
    let mut blocks = vec![
        Block::heading(2, "Installation"),
        Block::Grid {
            columns: 12,
            fields: vec![
                Field::new("Client", or_missing(&job.client.name)).wide(4),
                Field::new("Address of the client", or_missing(&job.client.address)).wide(8),
                Field::new(
                    "Work",
                    format!("{}; {}", job.work.name(), job.premises.name()),
                )
                .wide(5),
                Field::new("Address of the installation", or_missing(&job.address)).wide(7),
                Field::new("Reference", or_dash(&job.reference)).wide(2),
                Field::new("Job", or_dash(&job.title)).wide(4),
                Field::new(
                    "Work on site began",
                    match words::is_said(job.started) {
                        true => words::short_day(job.started),
                        false => words::MISSING.into(),
                    },
                )
                .wide(2),
                Field::new(
                    "Readings entered",
                    sheet.days_of(job.seats().iter().map(|s| s.readings)),
                )
                .wide(2),
                Field::new("Next inspection due", Styled::new(next).bold()).wide(2),
                Field::new(
                    "Extent of the work that this paper covers",
                    or_missing(&job.extent),
                )
                .wide(12),
            ],
        },
    ];
    let rows: Vec<Row> = job
        .people
        .iter()
        .map(|p| {
            let signs: Vec<String> = SIGNED
                .iter()
                .filter(|(test, _)| job.sign.get(*test).is_some_and(|e| e.now.by == p.id))
                // "inspection and testing" would need a line of its own.
                .map(|(_, words)| words.to_lowercase().replace(" and testing", ""))
                .collect();
            Row::cells([
                p.id.clone(),
                or_dash(&p.name),
                p.role.name().to_string(),
                or_dash(&joined(&[&p.firm, &p.registration, &p.address])),
                or_dash(&words::listed(&signs)),
            ])
        })
        .collect();
    blocks.push(Block::Together(vec![
        Block::heading(2, "People"),
        Block::Table(Table::new(
            vec![
                Column::mm("Sign", 12.0),
                Column::share("Name", 1.0),
                Column::mm("Role", 18.0),
                Column::share("Firm, registration, address", 1.7),
                Column::mm("Name entered for", 53.0),
            ],
            rows,
        )),
    ]));
    blocks
}

/// Departures, observations and comments; what there is none of takes one box.
fn remarks(sheet: &Sheet<'_>) -> Vec<Block> {
    let job = sheet.job;
    let mut rows = Vec::new();
    let mut boxes = Vec::new();
    for (departure, title) in [
        (true, "Departures from the standard"),
        (false, "Observations"),
    ] {
        let mut these = job
            .observations
            .iter()
            .filter(|o| o.departure == departure)
            .peekable();
        if these.peek().is_none() {
            boxes.push(Field::new(title, "None recorded."));
            continue;
        }
        rows.push(Row::section(title));
        rows.extend(
            these.enumerate().map(|(n, o)| {
                Row::cells([(n + 1).to_string(), with_photos(o), sheet.person(&o.by)])
            }),
        );
    }
    let mut after = Vec::new();
    for (title, text) in [
        (
            "Permitted exceptions, with their risk assessment",
            &job.exceptions,
        ),
        ("Comments on the existing installation", &job.existing),
    ] {
        match text.trim() {
            "" => boxes.push(Field::new(title, "None recorded.")),
            short if short.chars().count() <= SHORT => boxes.push(Field::new(title, short)),
            // A long text may go on over a page, which a box shouldn't.
            long => after.extend([Block::heading(2, title), Block::paragraph(long)]),
        }
    }
    let mut blocks = vec![Block::heading(2, "Departures, observations and comments")];
    if !rows.is_empty() {
        blocks.push(Block::Table(Table::new(
            vec![
                Column::mm("No.", 10.0),
                Column::share("What", 1.0),
                Column::mm("Recorded by", 44.0),
            ],
            rows,
        )));
    }
    if !boxes.is_empty() {
        blocks.push(Block::Grid {
            columns: boxes.len(),
            fields: boxes,
        });
    }
    blocks.extend(after);
    blocks
}

/// What was seen, with the photos that show it.
fn with_photos(o: &Observation) -> String {
    let text = or_dash(&o.text);
    match o.photos.as_slice() {
        [] => text,
        [photo] => format!("{text} (photo: {photo})"),
        photos => format!("{text} (photos: {})", words::listed(photos)),
    }
}

fn declarations(sheet: &Sheet<'_>) -> Vec<Block> {
    let people = SIGNED
        .iter()
        .map(|(test, words)| signature(sheet, *test, words))
        .collect();
    vec![Block::Together(vec![
        Block::anchored(2, "Declarations", "declarations"),
        Block::callout(
            "Read before signing",
            "The program drafts this paper. It does not test, judge or certify: a competent person does, and answers for it by \
             signing. A printed name is what was entered, not a signature.",
        ),
        Block::paragraph(
            "I answer for the part of the work named above my name. I did it, or had it done under my eye, with the care it needs. \
             As far as I know it meets the standard in the edition named in this paper; where it does not, this paper says so.",
        ),
        Block::Signatures(people),
    ])]
}

fn signature(sheet: &Sheet<'_>, test: Test, words: &str) -> Signature {
    let place = Place::of(Group::Sign.key(), test);
    let queried = sheet
        .finding(&place)
        .filter(|f| f.verdict == Verdict::Query)
        .map(|f| format!(" – queried: {}", f.why))
        .unwrap_or_default();
    match sheet.job.sign.get(test) {
        None => Signature {
            role: words.into(),
            ..Signature::default()
        },
        Some(Entry { now, .. }) => match now.value(test) {
            Ok(value) if value.is_excused() => Signature {
                role: format!("{words} – {}", excuse(&value)),
                ..Signature::default()
            },
            _ => Signature {
                role: format!("{words}{queried}"),
                name: now.typed.trim().to_string(),
                position: company(sheet.job.person(&now.by)),
                date: words::short_day(now.at.date_naive()),
            },
        },
    }
}

fn excuse(value: &Value) -> String {
    match value {
        Value::Limitation(why) => format!("limitation: {why}"),
        Value::NotApplicable(why) => format!("not applicable: {why}"),
        other => other.to_string(),
    }
}
