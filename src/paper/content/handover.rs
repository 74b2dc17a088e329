//! What the customer keeps, in plain words: what was fitted, how to switch it off, what stays live, care and whom to call.

use crate::forms::Say;
use crate::job::{Circuit, Job, Layout};
use crate::paper::flow::{Block, Cell, Column, Row, Styled, Table};

use super::State;
use super::certificate;
use super::sheet::Sheet;
use super::switches::{Switch, fed, has_strings, named, plain, switches};
use super::words;

/// Title of the pages.
pub(super) const TITLE: &str = "Handover";

/// Size of the text, in points: it is read at home.
const SIZE: f64 = 9.0;
/// Most circuits of one board that are named for their test button.
const NAMED: usize = 12;
/// A line to write on.
const LINE: &str = "____";

/// The pages.
pub(super) fn blocks(sheet: &Sheet<'_>, state: State) -> Vec<Block> {
    let job = sheet.job;
    let say = |say, facts: &[(&str, &str)]| sheet.forms.handover().say(say, facts);
    let mut blocks = vec![
        Block::anchored(1, "For the customer: your installation", "handover"),
        text(say(Say::About, &[])),
    ];
    if state != State::Complete {
        blocks.push(Block::callout("Not finished", say(Say::Draft, &[])));
    }
    blocks.push(emergency(sheet));
    blocks.extend(fitted(job));
    let switches = switches(job);
    let off: Vec<String> = switches
        .iter()
        .map(|s| s.off(sheet.forms.handover()))
        .collect();
    let on: Vec<String> = switches
        .iter()
        .rev()
        .map(|s| s.on(sheet.forms.handover()))
        .collect();
    blocks.extend(steps(
        "Switching off, in this order",
        say(Say::OffAbout, &[]),
        off,
    ));
    blocks.extend(steps(
        "Switching on again, in this order",
        say(Say::OnAbout, &[]),
        on,
    ));
    blocks.push(list(
        "What stays live whatever is switched off",
        live(sheet),
    ));
    blocks.extend(what_they_do(sheet, &switches));
    blocks.push(list("In a power cut", backup(sheet)));
    blocks.push(list("What to look at", looks(sheet)));
    blocks.push(list("Care and cautions", care(sheet)));
    blocks.push(calls(sheet));
    blocks
}

fn text(words: String) -> Block {
    Block::Paragraph(Styled::new(words).size(SIZE))
}

/// Lines under a heading, kept together.
fn list(title: &str, lines: Vec<String>) -> Block {
    let mut blocks = vec![Block::heading(2, title)];
    blocks.extend(lines.into_iter().map(text));
    Block::Together(blocks)
}

fn steps(title: &str, about: String, steps: Vec<String>) -> Vec<Block> {
    let rows = steps
        .into_iter()
        .enumerate()
        .map(|(n, step)| Row::cells([Styled::new((n + 1).to_string()).bold(), Styled::new(step)]));
    vec![
        Block::heading(2, title),
        Block::WithNext(vec![text(about)]),
        Block::Table(
            Table::new(
                vec![Column::mm("Step", 12.0), Column::share("What to do", 1.0)],
                rows.collect(),
            )
            .size(SIZE)
            // Nobody is to take the end of the page for the last switch.
            .goes_on("More steps on the next page: this is not the last one."),
        ),
    ]
}

fn emergency(sheet: &Sheet<'_>) -> Block {
    let job = sheet.job;
    let say = |say, facts: &[(&str, &str)]| sheet.forms.handover().say(say, facts);
    let mut lines = vec![say(Say::Fire, &[])];
    let arrays: Vec<String> = job.arrays.iter().map(|a| a.name.clone()).collect();
    if !arrays.is_empty() {
        lines.push(say(Say::FirePv, &[("arrays", &words::listed(&arrays))]));
    }
    for s in &job.storage {
        let battery = match s.chemistry.trim() {
            "" => s.make.clone(),
            cells => format!("{}, {cells}", s.make),
        };
        let facts = [("place", s.location.as_str()), ("battery", &battery)];
        lines.push(say(Say::FireBattery, &facts));
    }
    let before = &job.grid.existing;
    if !before.is_empty() {
        let before: Vec<String> = before.iter().map(|e| or_line(&e.what)).collect();
        lines.push(say(Say::FireBefore, &[("what", &before.join("; "))]));
    }
    lines.push(match job.storage.iter().any(|s| s.backup) {
        true => {
            let switches = words::listed(&against_backup(job));
            say(Say::ShockBackup, &[("switches", &switches)])
        }
        false => say(Say::Shock, &[]),
    });
    lines.push(say(Say::Odd, &[]));
    Block::Callout {
        title: "In an emergency".into(),
        lines: lines
            .into_iter()
            .map(|l| Styled::new(l).size(SIZE))
            .collect(),
    }
}

/// What has to be off before nothing is live any more, where a backup output takes over from the street.
fn against_backup(job: &Job) -> Vec<String> {
    let mut all = vec!["the main switch".to_string()];
    for s in job.storage.iter().filter(|s| s.backup) {
        let boards = job.boards_on_backup(s);
        all.extend(boards.map(|b| format!("the {}", named(&b.name, &b.id))));
        let fed_by_light = job
            .inverter(&s.inverter)
            .filter(|i| has_strings(job, i))
            .map(|i| format!("the {} on both its sides", plain(i.kind)));
        all.extend(fed_by_light);
        all.push("the battery".into());
    }
    let mut seen = std::collections::BTreeSet::new();
    all.retain(|a| seen.insert(a.clone()));
    all
}

/// Boards, arrays, inverters and batteries of the record.
fn fitted(job: &Job) -> Vec<Block> {
    let mut rows: Vec<[String; 3]> = Vec::new();
    for b in &job.boards {
        let used = |c: &&Circuit| c.device.is_some();
        let circuits = b.circuits.iter().filter(used).count();
        rows.push([
            named(&b.name, "board"),
            or_line(&b.location),
            words::counted(circuits, "circuit"),
        ]);
    }
    for a in &job.arrays {
        let modules = match &a.layout {
            Layout::Strings(strings) => strings.iter().map(|s| s.modules.len()).sum(),
            Layout::Branches(branches) => branches.iter().map(|b| b.units.len()).sum::<usize>(),
        };
        rows.push([
            "solar panels".into(),
            named(&a.name, "array"),
            format!(
                "{} {}, {} W each",
                words::counted(modules, "panel"),
                or_line(&a.module.make),
                a.module.power_w.normalize()
            ),
        ]);
    }
    for i in &job.inverters {
        let place = match i.kind {
            crate::job::InverterKind::Micro => "behind the panels, one for each".to_string(),
            _ if !i.location.trim().is_empty() => i.location.clone(),
            _ if i.circuit.is_empty() => LINE.into(),
            _ => job.circuit(&i.circuit).map_or_else(
                || LINE.to_string(),
                |(b, c)| format!("fed from the {}, {} {}", b.name, c.id, c.name),
            ),
        };
        rows.push([plain(i.kind).into(), place, or_line(&i.make)]);
    }
    for s in &job.storage {
        let all = s
            .usable_kwh
            .checked_mul(rust_decimal::Decimal::from(s.modules));
        let all = all.map_or_else(String::new, |k| format!(", {} kWh to use", k.normalize()));
        rows.push([
            "battery".into(),
            or_line(&s.location),
            format!("{}{all}", or_line(&s.make)),
        ]);
    }
    vec![
        Block::heading(2, "What was fitted or worked on"),
        Block::Table(
            Table::new(
                vec![
                    Column::share("What", 1.0),
                    Column::share("Where", 1.5),
                    Column::share("Which", 1.2),
                ],
                rows.into_iter().map(Row::cells).collect(),
            )
            .size(SIZE),
        ),
    ]
}

fn or_line(text: &str) -> String {
    match text.trim() {
        "" => LINE.into(),
        text => text.into(),
    }
}

fn what_they_do(sheet: &Sheet<'_>, switches: &[Switch<'_>]) -> Vec<Block> {
    let rows: Vec<Row> = switches
        .iter()
        .filter_map(|s| s.does(sheet.forms.handover()))
        .map(Row::cells)
        .collect();
    vec![
        Block::heading(2, "Which switch does what"),
        Block::Table(
            Table::new(
                vec![
                    Column::share("Switch", 1.0),
                    Column::share("Where, and what it looks like", 1.0),
                    Column::share("What it does", 1.7),
                ],
                rows,
            )
            .size(SIZE),
        ),
    ]
}

fn live(sheet: &Sheet<'_>) -> Vec<String> {
    let job = sheet.job;
    let say = |say, facts: &[(&str, &str)]| sheet.forms.handover().say(say, facts);
    let mut lines = vec![say(Say::LiveStreet, &[])];
    for a in &job.arrays {
        lines.push(match a.layout {
            Layout::Branches(_) => say(Say::LiveMicro, &[("array", &a.name)]),
            Layout::Strings(_) => {
                let what = job
                    .inverter(&a.inverter)
                    .map_or("inverter", |i| plain(i.kind));
                say(Say::LiveStrings, &[("array", &a.name), ("what", what)])
            }
        });
    }
    for s in &job.storage {
        lines.push(say(Say::LiveBattery, &[("battery", &s.make)]));
        if s.backup {
            let what = job
                .inverter(&s.inverter)
                .map_or("battery", |i| plain(i.kind));
            let feeds = fed(job, s);
            lines.push(say(Say::LiveBackup, &[("what", what), ("feeds", &feeds)]));
        }
    }
    for e in &job.grid.existing {
        lines.push(say(Say::LiveBefore, &[("what", &e.what)]));
    }
    lines
}

fn backup(sheet: &Sheet<'_>) -> Vec<String> {
    let say = |say, facts: &[(&str, &str)]| sheet.forms.handover().say(say, facts);
    let with: Vec<String> = sheet
        .job
        .storage
        .iter()
        .filter(|s| s.backup)
        .map(|s| {
            let facts = [
                ("battery", format!("battery {}", s.make)),
                ("feeds", fed(sheet.job, s)),
            ];
            say(
                Say::Backup,
                &facts.each_ref().map(|(k, v)| (*k, v.as_str())),
            )
        })
        .collect();
    match with.is_empty() {
        true if sheet.job.has_sources() => vec![say(Say::NoBackup, &[])],
        true => vec!["Nothing was fitted that goes on then.".into()],
        false => with,
    }
}

/// What the customer can look at without opening anything.
fn looks(sheet: &Sheet<'_>) -> Vec<String> {
    let job = sheet.job;
    let say = |say, facts: &[(&str, &str)]| sheet.forms.handover().say(say, facts);
    let mut buttons = Vec::new();
    for b in &job.boards {
        if b.rcd.is_some() {
            buttons.push(format!(
                "in the {}, the one for all circuits",
                named(&b.name, &b.id)
            ));
        }
        let with: Vec<String> = b
            .circuits
            .iter()
            .filter(|c| c.rcd.is_some())
            .map(|c| format!("{} {}", c.id, c.name))
            .collect();
        if !with.is_empty() {
            let shown = with.iter().take(NAMED).cloned().collect::<Vec<_>>();
            let more = match with.len() - shown.len() {
                0 => String::new(),
                n => format!(" and {n} more"),
            };
            // Names of circuits have commas of their own.
            buttons.push(format!(
                "in the {}: {}{more}",
                named(&b.name, &b.id),
                shown.join("; ")
            ));
        }
    }
    let mut lines = Vec::new();
    if !buttons.is_empty() {
        lines.push(say(Say::LookTest, &[("where", &buttons.join("; "))]));
    }
    if job.has_sources() {
        lines.push(say(Say::LookApp, &[("app", &job.monitoring)]));
    }
    if !job.arrays.is_empty() {
        lines.push(say(Say::LookPanels, &[]));
    }
    lines
}

fn care(sheet: &Sheet<'_>) -> Vec<String> {
    let job = sheet.job;
    let all = [
        (!job.arrays.is_empty(), Say::CareRoof),
        (true, Say::CareDrill),
        (true, Say::CareCovers),
        (true, Say::CareAir),
        (!job.storage.is_empty(), Say::CareBattery),
        (job.has_sources(), Say::CareWorks),
        (job.has_sources(), Say::CareChange),
    ];
    all.into_iter()
        .filter(|(is, _)| *is)
        .map(|(_, say)| sheet.forms.handover().say(say, &[]))
        .collect()
}

/// The next inspection, and whom to call.
fn calls(sheet: &Sheet<'_>) -> Block {
    let job = sheet.job;
    let next = match job.next_inspection {
        Some(day) => {
            let day = words::day(day);
            sheet.forms.handover().say(Say::Next, &[("day", &day)])
        }
        None => sheet.forms.handover().say(Say::NextUnknown, &[]),
    };
    let mut papers = vec![format!(
        "The papers of this job: {}.",
        or_line(&job.reference)
    )];
    if !job.documents.is_empty() {
        let all = job.documents.join("; ");
        papers.push(sheet.forms.handover().say(Say::Papers, &[("papers", &all)]));
    }
    let who = certificate::answering(job);
    let firm = who.map_or_else(String::new, |p| match (p.firm.trim(), p.name.trim()) {
        ("", name) => name.to_string(),
        (firm, "") => firm.to_string(),
        (firm, name) => format!("{firm}; {name}"),
    });
    let row = |what: &str, whom: Vec<Styled>, phone: &str| {
        Row::cells::<Cell>([
            what.into(),
            whom.into(),
            Styled::new(or_line(phone)).bold().into(),
        ])
    };
    let meter = format!(
        "supply number of your meter: {}",
        or_line(&job.grid.meter_number)
    );
    let rows = vec![
        row(
            "Anything about this installation",
            vec![Styled::new(format!("the firm: {}", or_line(&firm)))],
            who.map_or("", |p| p.phone.as_str()),
        ),
        row(
            "A power cut, or damage before the meter",
            vec![
                Styled::new(format!(
                    "the network operator: {}",
                    or_line(&job.grid.operator)
                )),
                Styled::new(meter),
            ],
            &job.grid.operator_phone,
        ),
    ];
    let mut blocks = vec![
        Block::heading(2, "Next inspection, and whom to call"),
        text(next),
        Block::Table(
            Table::new(
                vec![
                    Column::share("For", 1.0),
                    Column::share("Whom to call", 1.6),
                    Column::mm("Number", 34.0),
                ],
                rows,
            )
            .size(SIZE),
        ),
    ];
    blocks.extend(papers.into_iter().map(text));
    Block::Together(blocks)
}
