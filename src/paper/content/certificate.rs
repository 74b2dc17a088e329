//! The first pages: what was done for whom, by whom, how it stands, and who signs.

use crate::checks::{Verdict, counts};
use crate::guide::is_complete;
use crate::job::{Entry, Group, Issue, Job, Observation, Place, Test, Value};
use crate::paper::flow::{Block, Column, Field, Row, Signature, Styled, Table};

use super::sheet::{Sheet, verdict};
use super::words::{self, DASH, or_dash};
use super::{Issued, State, sources, supply};

/// How many queried results the box on the first page names.
const NAMED: usize = 12;

/// Comments up to this many characters stand in a box.
const SHORT: usize = 300;

/// What is signed for, in the order of the work.
pub(super) const SIGNED: [(Test, &str); 3] = [
    (Test::SignDesign, "Design"),
    (Test::SignConstruction, "Construction"),
    (Test::SignInspection, "Inspection and testing"),
];

/// The firm that answers for the paper: that of whoever signed for testing, else of the first qualified person.
pub(super) fn firm(job: &Job) -> String {
    let signed = job
        .sign
        .get(Test::SignInspection)
        .and_then(|e| job.person(&e.now.by));
    signed
        .or_else(|| {
            job.people
                .iter()
                .find(|p| p.role == crate::job::Role::Qualified)
        })
        .map(|p| p.firm.clone())
        .unwrap_or_default()
}

/// The certificate.
pub(super) fn blocks(sheet: &Sheet<'_>, state: State, issued: &Issued<'_>) -> Vec<Block> {
    let mut blocks = vec![
        Block::heading(1, "Electrical installation certificate"),
        Block::paragraph(parts(sheet.job)),
        standing(sheet, state),
        tally(sheet),
    ];
    blocks.extend(issues(sheet, issued));
    blocks.extend(installation(sheet));
    blocks.extend(supply::blocks(sheet));
    blocks.extend(remarks(sheet));
    blocks.extend(sources::editions(sheet));
    blocks.extend(declarations(sheet));
    blocks
}

/// Most changes since the issue before that the first page names.
const CHANGES: usize = 24;

/// Which issue this is, what it replaces and what changed since then.
fn issues(sheet: &Sheet<'_>, issued: &Issued<'_>) -> Vec<Block> {
    let named = |issue: &Issue| {
        format!(
            "issue {} of {} by {} (content {})",
            issue.number,
            words::minute(issue.at),
            sheet.person(&issue.by),
            words::in_fours(&issue.content)
        )
    };
    let mut lines = Vec::new();
    if let Some(this) = issued.this {
        lines.push(format!("This is {}.", named(this)));
    }
    if let Some(before) = issued.before {
        let verb = if issued.this.is_some() {
            "It replaces"
        } else {
            "Not issued. Once issued it replaces"
        };
        lines.push(format!("{verb} {}.", named(before)));
        let changes = sheet.job.changed_since(before);
        let shown = changes.iter().take(CHANGES).cloned().collect::<Vec<_>>();
        let more = match changes.len() - shown.len() {
            0 => String::new(),
            n => format!("; and {n} more, see the history"),
        };
        lines.push(format!("Changed since: {}{more}.", shown.join("; ")));
    }
    if lines.is_empty() {
        return Vec::new();
    }
    vec![Block::Callout {
        title: "Issue".into(),
        lines: lines.into_iter().map(Styled::new).collect(),
    }]
}

/// In one box: may it be relied on, and if not, why.
fn standing(sheet: &Sheet<'_>, state: State) -> Block {
    let count = |v| sheet.of(v).count();
    let (outside, open) = (count(Verdict::Outside), count(Verdict::Open));
    let waiting = sheet.findings.iter().filter(|f| f.waits_for_countersign);
    let waiting = match waiting.count() {
        0 => String::new(),
        n => format!(", {n} to be countersigned by a qualified person"),
    };
    let left = format!("{outside} outside, {open} open{waiting}: see Findings and limitations.");
    let in_order = "Nothing is outside its limit and nothing is open.";
    let (title, text) = match state {
        State::Complete => (
            "Complete: names entered, to be signed by hand",
            format!(
                "{in_order} A name is entered for design, for construction and for inspection; each signs under Declarations."
            ),
        ),
        State::SignedTooEarly if is_complete(&sheet.findings) => (
            "Draft: not every signature is in order",
            format!("{in_order} This is no certificate."),
        ),
        State::SignedTooEarly => (
            "Draft: a name entered for testing, but not in order",
            format!(
                "A name was entered for inspection and testing, yet {left} This is no certificate."
            ),
        ),
        State::Unsigned if is_complete(&sheet.findings) => (
            "Draft: complete, not signed",
            format!("{in_order} A competent person has to judge the results and sign."),
        ),
        State::Unsigned => ("Draft: not complete, not signed", left),
    };
    let lines = [
        Some(Styled::new(text)),
        unsigned(sheet, state),
        queried(sheet),
        excused(sheet),
        Some(Styled::new(sources::compared(sheet))),
    ];
    Block::Callout {
        title: title.into(),
        lines: lines.into_iter().flatten().collect(),
    }
}

/// The signatures that are not in order, where a name was entered for testing.
fn unsigned(sheet: &Sheet<'_>, state: State) -> Option<Styled> {
    let not_in_order: Vec<String> = SIGNED
        .iter()
        .filter_map(|(test, words)| {
            let finding = sheet.finding(&Place::of(Group::Sign.key(), *test))?;
            let is_wrong = finding.verdict != Verdict::Within;
            is_wrong.then(|| format!("{} ({})", words.to_lowercase(), finding.verdict))
        })
        .collect();
    (state == State::SignedTooEarly && !not_in_order.is_empty()).then(|| {
        Styled::new(format!(
            "Signatures not in order: {}.",
            words::listed(&not_in_order)
        ))
        .bold()
    })
}

/// How many places are queried, and which.
fn queried(sheet: &Sheet<'_>) -> Option<Styled> {
    let all: Vec<String> = sheet
        .of(Verdict::Query)
        .map(|f| format!("{} of {}", f.place.test.heading(), sheet.owner(&f.place)))
        .collect();
    let mut names = all
        .iter()
        .take(NAMED)
        .cloned()
        .collect::<Vec<_>>()
        .join("; ");
    if all.len() > NAMED {
        names = format!("{names}; and {} more", all.len() - NAMED);
    }
    let (count, is) = match all.len() {
        0 => return None,
        1 => ("1 result is".to_string(), "it"),
        n => (format!("{n} results are"), "each"),
    };
    Some(
        Styled::new(format!(
            "{count} queried, and {is} has to be settled, or accepted by those who sign: {names}."
        ))
        .bold(),
    )
}

/// How many tests are excused.
fn excused(sheet: &Sheet<'_>) -> Option<Styled> {
    let count = match sheet.of(Verdict::Excused).count() {
        0 => return None,
        1 => "1 test is".to_string(),
        n => format!("{n} tests are"),
    };
    Some(Styled::new(format!(
        "{count} excused with a reason: see Findings and limitations."
    )))
}

/// How many readings have which verdict.
fn tally(sheet: &Sheet<'_>) -> Block {
    let counts = counts(&sheet.findings);
    let order = [
        Verdict::Within,
        Verdict::Close,
        Verdict::Query,
        Verdict::Outside,
        Verdict::Excused,
        Verdict::Open,
    ];
    let fields = order
        .into_iter()
        .map(|v| {
            let n = counts.get(&v).copied().unwrap_or_default();
            Field::new(verdict(v), Styled::new(n.to_string()).bold())
        })
        .collect();
    Block::Grid { columns: 6, fields }
}

fn installation(sheet: &Sheet<'_>) -> Vec<Block> {
    let job = sheet.job;
    let next = job
        .next_inspection
        .map_or_else(|| DASH.into(), words::short_day);
    let mut blocks = vec![
        Block::heading(2, "Installation"),
        Block::Grid {
            columns: 12,
            fields: vec![
                Field::new("Client", or_dash(&job.client.name)).wide(4),
                Field::new("Address of the client", or_dash(&job.client.address)).wide(8),
                Field::new(
                    "Work",
                    format!("{}; {}", job.work.name(), job.premises.name()),
                )
                .wide(5),
                Field::new("Address of the installation", or_dash(&job.address)).wide(7),
                Field::new("Reference", or_dash(&job.reference)).wide(2),
                Field::new("Job", or_dash(&job.title)).wide(4),
                Field::new("Work on site began", words::short_day(job.started)).wide(2),
                Field::new(
                    "Readings entered",
                    sheet.days_of(job.seats().iter().map(|s| s.readings)),
                )
                .wide(2),
                Field::new("Next inspection due", Styled::new(next).bold()).wide(2),
                Field::new(
                    "Extent of the work that this paper covers",
                    or_dash(&job.extent),
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
                or_dash(&p.firm),
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
                Column::share("Firm or registration", 1.7),
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
    let (comments, existing) = (job.existing.trim(), "Comments on the existing installation");
    let mut after = Vec::new();
    match comments {
        "" => boxes.push(Field::new(existing, "None recorded.")),
        short if short.chars().count() <= SHORT => {
            let span = 3 - boxes.len().min(2);
            boxes.push(Field::new(existing, short).wide(span));
        }
        // A long text may go on over a page, which a box shouldn't.
        long => after = vec![Block::heading(2, existing), Block::paragraph(long)],
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
            columns: 3,
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

/// What else belongs to this paper, in a sentence.
fn parts(job: &Job) -> String {
    let named = |name: &str, id: &str| format!("{name} ({id})");
    let mut parts = vec!["findings and limitations".to_string()];
    let boards: Vec<String> = job.boards.iter().map(|b| named(&b.name, &b.id)).collect();
    if !boards.is_empty() {
        parts.push(format!(
            "circuits and test results of {}",
            words::listed(&boards)
        ));
    }
    let arrays: Vec<String> = job.arrays.iter().map(|a| named(&a.name, &a.id)).collect();
    if !arrays.is_empty() {
        parts.push(format!("array report of {}", words::listed(&arrays)));
    }
    let storage: Vec<String> = job.storage.iter().map(|s| named(&s.make, &s.id)).collect();
    if !storage.is_empty() {
        parts.push(format!("storage record of {}", words::listed(&storage)));
    }
    if job.has_sources() {
        parts.push("grid connection record".into());
    }
    parts.push(
        "record of inspections, confirmations, corrections, changes, instruments and sources of limits"
            .into(),
    );
    format!("With {}.", parts.join("; "))
}

fn declarations(sheet: &Sheet<'_>) -> Vec<Block> {
    let people = SIGNED
        .iter()
        .map(|(test, words)| signature(sheet, *test, words))
        .collect();
    vec![Block::Together(vec![
        Block::heading(2, "Declarations"),
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
                position: sheet
                    .job
                    .person(&now.by)
                    .map(|p| p.firm.clone())
                    .unwrap_or_default(),
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
