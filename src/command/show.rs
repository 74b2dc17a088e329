//! `show`: the whole job as plain lines, one fact each, for reading aloud and for printing.

use std::collections::HashMap;
use std::path::PathBuf;

use anyhow::{Result, anyhow};
use clap::Args;

use super::{Context, Reply};
use crate::checks::{Finding, Verdict, judge_all};
use crate::forms::Forms;
use crate::guide::{Plan, wording};
use crate::job::text::nearest;
use crate::job::{Job, Place, Seat, Spot};
use crate::screen::ascii::plain;
use crate::screen::record::{Field, Row, describe, rows, rows_of};
use crate::store::{self, Glyphs};

/// Columns that lines are wrapped to.
const WIDTH: usize = 76;

/// Arguments of `show`.
#[derive(Debug, Args)]
pub(super) struct ShowArgs {
    /// Job file
    job: PathBuf,
    /// Only what belongs to this place, such as R/3 or supply
    part: Option<String>,
    /// Words in place of signs, such as ohm
    #[arg(long)]
    ascii: bool,
}

/// Prints it. Exit code 1 where the record isn't whole.
///
/// # Errors
/// A job, form or settings file that can't be used, or a part that the job doesn't have.
pub(super) fn run(args: &ShowArgs, context: &Context) -> Result<Reply> {
    let ascii = args.ascii || context.settings()?.glyphs == Some(Glyphs::Ascii);
    let opened = store::read_job(&args.job)?;
    let forms = context.forms()?;
    let text = text(&opened.job, &forms, args.part.as_deref())?;
    let data = if ascii {
        wrapped(&plain(&text))
    } else {
        wrapped(&text)
    };
    let mut messages = opened.notes;
    let code = u8::from(opened.lost.is_some());
    messages.extend(opened.lost);
    Ok(Reply {
        data,
        messages,
        code,
    })
}

/// Every line wrapped, without indents.
fn wrapped(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + text.len() / WIDTH);
    // A place such as R/3/ir-le stays whole.
    let options =
        textwrap::Options::new(WIDTH).word_splitter(textwrap::WordSplitter::NoHyphenation);
    for line in text.lines() {
        for part in textwrap::wrap(line, &options) {
            out.push_str(&part);
            out.push('\n');
        }
    }
    out
}

/// Lines under numbered headings.
#[derive(Default)]
struct Lines {
    text: String,
    chapter: usize,
    section: usize,
}

impl Lines {
    fn chapter(&mut self, title: &str) {
        self.chapter += 1;
        self.section = 0;
        self.head(&format!("{}. {title}", self.chapter));
    }

    fn section(&mut self, title: &str) {
        self.section += 1;
        self.head(&format!("{}.{}. {title}", self.chapter, self.section));
    }

    fn head(&mut self, title: &str) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
        self.line(&spoken(title));
        self.text.push('\n');
    }

    fn line(&mut self, fact: &str) {
        // A line end within a text would look like the next fact.
        let words: Vec<&str> = fact.split_whitespace().collect();
        self.text.push_str(&words.join(" "));
        self.text.push('\n');
    }
}

/// Without signs that are not read aloud well.
fn spoken(text: &str) -> String {
    text.replace(" · ", ", ").replace('¶', "; ")
}

fn text(job: &Job, forms: &Forms, part: Option<&str>) -> Result<String> {
    let findings = judge_all(job, forms);
    let shown: Vec<&Finding> = findings
        .iter()
        .filter(|f| belongs(&f.place.to_string(), part))
        .collect();
    let parts: Vec<Spot> = rows(job)
        .into_iter()
        .filter_map(|row| match row {
            Row::Part(spot) if belongs(&path(&spot), part) => Some(spot),
            _ => None,
        })
        .collect();
    if let Some(part) = part
        && shown.is_empty()
        && parts.is_empty()
    {
        return Err(no_such_part(job, part));
    }
    let telling = Telling {
        titles: job.seats().iter().map(|s| (owner(s), s.title())).collect(),
        plan: Plan::new(job, forms),
        job,
        forms,
    };
    let mut lines = Lines::default();
    lines.chapter(&format!("Job {}", job.reference));
    lines.line(&spoken(&job.title));
    if let Some(part) = part {
        lines.line(&format!("Only {part}."));
    }
    for verdict in Verdict::ALL {
        let n = shown.iter().filter(|f| f.verdict == verdict).count();
        lines.line(&format!("{}: {n}", capital(verdict.word())));
    }
    telling.attention(&shown, &mut lines);
    telling.in_order(&shown, &mut lines);
    telling.worked_out(&shown, &mut lines);
    lines.chapter("The record");
    for spot in &parts {
        record(job, spot, &mut lines);
    }
    Ok(lines.text)
}

/// What every line of a finding needs.
struct Telling<'a> {
    job: &'a Job,
    forms: &'a Forms,
    plan: Plan,
    /// Owners in words, by address.
    titles: HashMap<String, String>,
}

/// Within, or excused with a reason: nobody has to do anything.
fn settled(f: &Finding) -> bool {
    matches!(f.verdict, Verdict::Within | Verdict::Excused)
}

impl Telling<'_> {
    /// What is outside, open, queried or close, the most pressing first, each in the order of the walk.
    fn attention(&self, shown: &[&Finding], lines: &mut Lines) {
        lines.chapter("To see to");
        let mut left: Vec<&Finding> = shown.iter().copied().filter(|f| !settled(f)).collect();
        left.sort_by_key(|f| (f.verdict, self.position(f)));
        if left.is_empty() {
            lines.line("Nothing is outside, open, queried or close.");
        }
        for group in left.chunk_by(|a, b| a.verdict == b.verdict) {
            if let Some(first) = group.first() {
                lines.section(&capital(first.verdict.word()));
            }
            for f in group {
                self.finding(f, true, lines);
                if !f.why.is_empty() {
                    lines.line(&format!("Because: {}", spoken(&f.why)));
                }
            }
        }
    }

    /// What is within or excused, in the order of the walk, a heading for each stage and owner.
    fn in_order(&self, shown: &[&Finding], lines: &mut Lines) {
        let mut taken: Vec<(usize, &Finding)> = shown
            .iter()
            .filter(|f| settled(f))
            .filter_map(|f| Some((self.plan.position(&f.place)?, *f)))
            .collect();
        taken.sort_by_key(|(at, _)| *at);
        let mut stage = "";
        let mut before: Option<&Place> = None;
        for (at, f) in taken {
            let step = self.plan.steps().get(at);
            let name = step
                .and_then(|s| wording(self.forms, s))
                .map_or("Other readings", |(stage, _)| stage.name.as_str());
            let new_stage = name != stage;
            if new_stage {
                lines.chapter(name);
                stage = name;
            }
            let same = before.is_some_and(|b| b.top == f.place.top && b.part == f.place.part);
            if new_stage || !same {
                lines.section(&self.title(&f.place));
            }
            before = Some(&f.place);
            self.finding(f, false, lines);
        }
    }

    /// What is within and was worked out from the record.
    fn worked_out(&self, shown: &[&Finding], lines: &mut Lines) {
        let settled: Vec<&&Finding> = shown
            .iter()
            .filter(|f| settled(f) && self.plan.position(&f.place).is_none())
            .collect();
        if settled.is_empty() {
            return;
        }
        lines.chapter("Worked out from the record");
        for group in settled.chunk_by(|a, b| a.place.owner() == b.place.owner()) {
            if let Some(first) = group.first() {
                lines.section(&self.title(&first.place));
            }
            for f in group {
                self.finding(f, false, lines);
            }
        }
    }

    fn position(&self, f: &Finding) -> usize {
        self.plan.position(&f.place).unwrap_or(usize::MAX)
    }

    /// The owner of a place with its address.
    fn title(&self, place: &Place) -> String {
        let owner = place.owner();
        let words = self.titles.get(&owner).map_or("", String::as_str);
        format!("{owner}: {words}")
    }

    /// Verdict, place, reading and limit on one line, then what was struck out. `owner`: with the owner in words, where no
    /// heading has it.
    fn finding(&self, f: &Finding, owner: bool, lines: &mut Lines) {
        let value = match (&f.value, f.place.test.is_derived()) {
            (Some(_), _) => f.value_text(),
            (None, true) => "nothing to work it out from".into(),
            (None, false) => "not yet taken".into(),
        };
        let limit = match &f.limit {
            // That a thing in order has to be in order needs no words.
            Some(limit) if settled(f) && limit == "must pass" => String::new(),
            Some(_) => format!("; limit {}", bound(&f.limit_text())),
            None => "; no limit".into(),
        };
        let whose = match self.titles.get(&f.place.owner()) {
            Some(words) if owner => format!(", {words}"),
            _ => String::new(),
        };
        lines.line(&spoken(&format!(
            "{}: {}, {}{whose}: {value}{limit}.",
            capital(f.verdict.word()),
            f.place,
            f.place.test.heading(),
        )));
        let Some(entry) = self.job.entry(&f.place) else {
            return;
        };
        if let Some(brought) = &entry.now.brought {
            lines.line(&spoken(&format!("Brought in {}.", brought.words())));
        }
        for old in &entry.struck {
            lines.line(&format!(
                "Struck out: {}, by {}, {}.",
                f.unit.with_typed(&old.typed),
                self.person(&old.by),
                old.at.format("%-d %b %Y %H:%M")
            ));
        }
    }

    fn person(&self, id: &str) -> String {
        let person = self.job.person(id);
        person.map_or_else(|| id.to_string(), |p| p.name.clone())
    }
}

/// The fields of a part, a line each; what is empty is left out.
fn record(job: &Job, spot: &Spot, lines: &mut Lines) {
    let Some((part, _)) = job.part(spot) else {
        return;
    };
    let (_, words) = describe(&part, spot);
    lines.section(&format!("{}: {words}", capital(&spot.to_string())));
    for field in rows_of(&part) {
        let value = match field {
            Field::Item(..) => field.value(&part),
            Field::Whole(_) => field.shown(&part),
            Field::More(_) => continue,
        };
        if !value.is_empty() {
            let unit = field.entry().unit;
            let heading = capital(field.heading().trim());
            lines.line(&spoken(&format!("{heading}: {value} {unit}")));
        }
    }
}

/// A bound in words: the signs aren't read aloud by every voice.
fn bound(limit: &str) -> String {
    for (sign, words) in [("≤ ", "at most "), ("≥ ", "at least "), ("= ", "exactly ")] {
        if let Some(rest) = limit.strip_prefix(sign) {
            return format!("{words}{rest}");
        }
    }
    limit.to_string()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn owner(seat: &Seat<'_>) -> String {
    match &seat.part {
        Some(part) => format!("{}/{part}", seat.top),
        None => seat.top.to_string(),
    }
}

/// The address of a part as that of its readings.
fn path(spot: &Spot) -> String {
    match spot {
        Spot::Visit => "visit".into(),
        Spot::Supply => "supply".into(),
        Spot::Grid => "grid".into(),
        Spot::Person(id) => format!("people/{id}"),
        Spot::Instrument(id) => format!("instruments/{id}"),
        Spot::Bond(id) => format!("bond/{id}"),
        Spot::Board(id) | Spot::Array(id) | Spot::Storage(id) => id.clone(),
        Spot::Circuit(board, id) => format!("{board}/{id}"),
        Spot::Line(array, id) => format!("{array}/{id}"),
        Spot::Inverter(id) => format!("inverters/{id}"),
        Spot::Observation(i) => format!("observations/{}", i + 1),
    }
}

/// Whether a place is the part, or in it.
fn belongs(place: &str, part: Option<&str>) -> bool {
    let Some(part) = part else {
        return true;
    };
    place
        .strip_prefix(part)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// Says which parts are near one that the job doesn't have.
fn no_such_part(job: &Job, part: &str) -> anyhow::Error {
    let mut owners: Vec<String> = job.seats().iter().map(owner).collect();
    owners.extend(rows(job).iter().filter_map(|row| match row {
        Row::Part(spot) => Some(path(spot)),
        Row::Head(_) => None,
    }));
    owners.sort();
    owners.dedup();
    let owners: Vec<&str> = owners.iter().map(String::as_str).collect();
    let near = nearest(part, &owners);
    let remedy = if near.is_empty() {
        "without a part `show` lists everything".to_string()
    } else {
        format!("did you mean {near}?")
    };
    anyhow!("the job has no `{part}`; {remedy}")
}
