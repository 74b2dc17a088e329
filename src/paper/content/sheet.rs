//! What every part of the paper draws on: the job, its findings, and how a judged reading is set.

use std::collections::{BTreeMap, BTreeSet};

use crate::checks::{Balance, Finding, Judge, Rule, Verdict};
use crate::forms::Forms;
use crate::job::{
    Array, Board, Branch, Group, Job, Place, Reading, Readings, Role, Seat, Test, Value,
};
use crate::paper::flow::{Block, Cell, Field, Styled};
use crate::paper::page::Grey;

use super::notes::Notes;
use super::results;
use super::words::{self, DASH};

/// Size of the limit and the verdict under a reading, in points.
pub(super) const SMALL: f64 = 6.0;
/// Background of a reading that is outside its limit.
pub(super) const ALARM: f64 = 0.82;

/// A job with its findings, ready to be written down.
pub(super) struct Sheet<'a> {
    pub(super) job: &'a Job,
    pub(super) forms: &'a Forms,
    pub(super) findings: Vec<Finding>,
    judge: Judge<'a>,
    index: BTreeMap<Place, usize>,
    titles: BTreeMap<String, String>,
    /// The heading that shows a place, by the first name of its address.
    anchors: BTreeMap<String, String>,
    /// Parts, by what they are parts of, of which anything is to be seen to or to know of.
    listed: BTreeMap<String, BTreeSet<String>>,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(job: &'a Job, forms: &'a Forms) -> Self {
        let judge = Judge::new(job, forms);
        let findings = judge.all();
        let index = findings
            .iter()
            .enumerate()
            .map(|(at, f)| (f.place.clone(), at))
            .collect();
        let titles = job
            .seats()
            .iter()
            .chain(&job.bare_seats())
            .map(|s| (s.place(Test::Zs).owner(), s.title()))
            .collect();
        let mut listed: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for f in &findings {
            if let Some(part) = &f.place.part
                && (f.verdict != Verdict::Within || f.waits_for_countersign)
            {
                let of = listed.entry(f.place.top.clone()).or_default();
                of.insert(part.clone());
            }
        }
        Sheet {
            job,
            forms,
            listed,
            findings,
            judge,
            index,
            titles,
            anchors: anchors(job),
        }
    }

    /// The heading that shows a place in its schedule or record.
    pub(super) fn anchor(&self, place: &Place) -> Option<&str> {
        self.anchors.get(&place.top).map(String::as_str)
    }

    /// The row of a circuit that shows a place, where anything of the circuit is to be seen to; else the heading.
    pub(super) fn spot(&self, place: &Place) -> Option<String> {
        let heading = self.anchor(place)?;
        let is_board = heading.starts_with("board-");
        Some(match &place.part {
            Some(circuit) if is_board && self.is_listed(&place.top, circuit) => {
                spot(&place.top, circuit, results::shows(place.test))
            }
            _ => heading.to_string(),
        })
    }

    /// The name of a circuit's row in the schedule of results or of circuits, where anything leads to it.
    pub(super) fn row_of(&self, board: &str, circuit: &str, of_results: bool) -> Option<String> {
        self.is_listed(board, circuit)
            .then(|| spot(board, circuit, of_results))
    }

    fn is_listed(&self, top: &str, part: &str) -> bool {
        self.listed.get(top).is_some_and(|of| of.contains(part))
    }

    /// The finding of a place; `None` where nothing is wanted there, or an optional test was left out.
    pub(super) fn finding(&self, place: &Place) -> Option<&Finding> {
        self.findings.get(*self.index.get(place)?)
    }

    /// The findings of one verdict, in the order of the job.
    pub(super) fn of(&self, verdict: Verdict) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |f| f.verdict == verdict)
    }

    /// On TT: what a board takes that no RCD is ahead of, in words.
    pub(super) fn before_rcds(&self, board: &Board) -> Option<String> {
        self.judge.before_rcds(board)
    }

    /// What a place is judged by.
    pub(super) fn rule(&self, seat: &Seat<'_>, test: Test) -> Option<Rule> {
        self.judge.rule(seat, test).ok()
    }

    /// The modules of a branch against the median of their plane.
    pub(super) fn balance(&self, array: &Array, branch: &Branch) -> Option<Balance> {
        self.judge.balance(array, branch)
    }

    /// The owner of a place in words.
    pub(super) fn owner(&self, place: &Place) -> String {
        self.titles
            .get(&place.owner())
            // What has no name yet has its id alone.
            .map_or_else(|| place.owner(), |title| title.trim_end().to_string())
    }

    /// A person by name and role, such as `A. Tester (qualified)`; the id where the job doesn't know them.
    pub(super) fn person(&self, id: &str) -> String {
        match self.job.person(id) {
            Some(p) if !p.name.trim().is_empty() => format!("{} ({})", p.name, p.role.name()),
            _ => id.to_string(),
        }
    }

    /// A judged reading in a cell: reading, limit, verdict.
    pub(super) fn cell(&self, place: &Place, notes: &mut Notes) -> Cell {
        let Some(finding) = self.finding(place) else {
            return nothing();
        };
        let cell: Cell = lines(finding, false, notes).into();
        if finding.verdict == Verdict::Outside {
            cell.shaded(Grey::new(ALARM))
        } else {
            cell
        }
    }

    /// Reading, limit and verdict in three cells beside each other, for tables with one test in each row.
    pub(super) fn across(&self, place: &Place, notes: &mut Notes) -> Vec<Cell> {
        let Some(finding) = self.finding(place) else {
            return vec![nothing(), nothing(), nothing()];
        };
        let bold = !matches!(finding.verdict, Verdict::Within | Verdict::Excused);
        let shade = (finding.verdict == Verdict::Outside).then(|| Grey::new(ALARM));
        let limit = match &finding.limit {
            Some(_) => words::held(&finding.limit_text()),
            None => "no limit".into(),
        };
        let (reading, word) = match &finding.value {
            None => (DASH.to_string(), verdict(Verdict::Open)),
            Some(typed) => (reading(finding, typed, false, notes), with_margin(finding)),
        };
        let word = Styled::new(word);
        let lines = [
            Styled::new(reading).bold(),
            Styled::new(limit),
            if bold { word.bold() } else { word },
        ];
        let shaded = |line| Cell {
            shade,
            ..Cell::from(line)
        };
        lines.into_iter().map(shaded).collect()
    }

    /// The same for entries of the record that are judged: what is recorded, limit, verdict.
    pub(super) fn record(&self, place: &Place, record: &str) -> Cell {
        let Some(finding) = self.finding(place) else {
            return record.into();
        };
        let limit = match &finding.limit {
            Some(_) => small(words::held(&finding.limit_text())),
            None => small("no limit"),
        };
        let word = small(judged(finding));
        let cell = |word| Cell::from(vec![Styled::new(record).bold(), limit, word]);
        match finding.verdict {
            Verdict::Within => cell(word),
            Verdict::Outside => cell(word.bold()).shaded(Grey::new(ALARM)),
            _ => cell(word.bold()),
        }
    }

    /// Limit and verdict of what is worked out of a record, in one small line; bold unless it is within.
    pub(super) fn judged(&self, place: &Place) -> Option<Styled> {
        let finding = self.finding(place)?;
        let judged = small(format!(
            "{} {}",
            words::held(&finding.limit_text()),
            verdict(finding.verdict)
        ));
        Some(if finding.verdict == Verdict::Within {
            judged
        } else {
            judged.bold()
        })
    }

    /// A judged reading in a box, with the heading of its test as label.
    pub(super) fn field(&self, place: &Place, notes: &mut Notes) -> Option<Field> {
        let finding = self.finding(place)?;
        Some(Field {
            label: place.test.heading().to_string(),
            value: lines(finding, true, notes),
            span: 1,
            shade: (finding.verdict == Verdict::Outside).then(|| Grey::new(ALARM)),
        })
    }

    /// Who entered some readings: initials with the first letter of the role, one below the other.
    pub(super) fn entered_by(&self, readings: &Readings) -> String {
        let signs: BTreeSet<String> = readings.iter().map(|(_, e)| self.signed(&e.now)).collect();
        let signs: Vec<String> = signs.into_iter().collect();
        words::or_dash(&signs.join("\n"))
    }

    /// Who entered a reading and who countersigned it, such as `jt (a) + mk`; `+ ?` where nobody did yet.
    pub(super) fn signed(&self, reading: &Reading) -> String {
        let by = self.sign(&reading.by);
        match &reading.countersigned {
            Some(sign) => format!("{by} + {}", sign.by),
            None if self.job.waits_for_countersign(reading) => format!("{by} + ?"),
            None => by,
        }
    }

    /// A person by initials with the first letter of the role, such as `at (q)`.
    pub(super) fn sign(&self, id: &str) -> String {
        match self.job.person(id).map(|p| p.role) {
            Some(Role::Qualified) => format!("{id} (q)"),
            Some(Role::Apprentice) => format!("{id} (a)"),
            None => id.to_string(),
        }
    }

    /// The same with names in full, for all of several owners.
    pub(super) fn people_of<'r>(&self, all: impl IntoIterator<Item = &'r Readings>) -> String {
        let (mut ids, mut signers, mut waiting) = (BTreeSet::new(), BTreeSet::new(), 0);
        for (_, entry) in all.into_iter().flat_map(Readings::iter) {
            ids.insert(entry.now.by.as_str());
            signers.extend(entry.now.countersigned.as_ref().map(|c| c.by.as_str()));
            waiting += usize::from(self.job.waits_for_countersign(&entry.now));
        }
        let named = |ids: BTreeSet<&str>| {
            let each: Vec<String> = ids
                .iter()
                .map(|id| format!("{id}: {}", self.person(id)))
                .collect();
            each.join("; ")
        };
        let mut words = named(ids);
        if !signers.is_empty() {
            words = format!("{words}; countersigned by {}", named(signers));
        }
        if waiting > 0 {
            words = format!("{words}; {waiting} still to be countersigned");
        }
        words::or_dash(&words)
    }

    /// The instruments some readings were taken with, by maker and serial number.
    pub(super) fn instruments_of<'r>(&self, all: impl IntoIterator<Item = &'r Readings>) -> String {
        let ids: BTreeSet<&str> = all
            .into_iter()
            .flat_map(|r| r.iter().filter_map(|(_, e)| e.now.instrument.as_deref()))
            .collect();
        let names: Vec<String> = ids
            .iter()
            .map(|id| match self.job.instrument(id) {
                Some(i) => format!("{}, serial {}", i.make, i.serial),
                None => (*id).to_string(),
            })
            .collect();
        words::or_dash(&names.join("; "))
    }

    /// Who entered some readings, with what and when, in one small paragraph.
    pub(super) fn provenance(&self, all: &[&Readings]) -> Block {
        let instruments = match self.instruments_of(all.iter().copied()).as_str() {
            DASH => String::new(),
            names => format!("   Instruments: {names}."),
        };
        let words = if all.iter().all(|r| r.is_empty()) {
            "No reading was entered here yet.".to_string()
        } else {
            format!(
                "Entered by {}, on {}.{instruments}",
                self.people_of(all.iter().copied()),
                self.days_of(all.iter().copied())
            )
        };
        Block::Paragraph(Styled::new(words).size(7.0))
    }

    /// First and last day on which some readings were entered.
    pub(super) fn days_of<'r>(&self, all: impl IntoIterator<Item = &'r Readings>) -> String {
        let days: BTreeSet<_> = all
            .into_iter()
            .flat_map(|r| r.iter().map(|(_, e)| e.now.at.date_naive()))
            .collect();
        match (days.first(), days.last()) {
            (Some(first), Some(last)) => words::days(*first, *last),
            _ => DASH.into(),
        }
    }
}

/// Where in the pack the places of a job are shown.
fn anchors(job: &Job) -> BTreeMap<String, String> {
    let group = |g: Group, anchor: &str| (g.key().to_string(), anchor.to_string());
    let mut out: BTreeMap<String, String> = [
        group(Group::Supply, "supply"),
        group(Group::Bond, "bonding"),
        group(Group::Inverter, "sources"),
        group(Group::Label, "labels"),
        group(Group::Safe, "record"),
        group(Group::Inspect, "record"),
        group(Group::Close, "record"),
        group(Group::Sign, "declarations"),
    ]
    .into();
    if job.has_sources() {
        out.extend([group(Group::Grid, "grid")]);
    }
    let named = |kind: &str, id: &str| (id.to_string(), format!("{kind}-{id}"));
    out.extend(job.boards.iter().map(|b| named("board", &b.id)));
    out.extend(job.arrays.iter().map(|a| named("array", &a.id)));
    out.extend(job.storage.iter().map(|s| named("storage", &s.id)));
    out
}

fn spot(board: &str, circuit: &str, of_results: bool) -> String {
    let what = if of_results { "results" } else { "circuit" };
    format!("{what}-{board}/{circuit}")
}

/// A cell where nothing is to be recorded.
pub(super) fn nothing() -> Cell {
    Styled::new(DASH).grey(Grey::LABEL).into()
}

/// Boxes of readings in rows of the same length, so that no lone box is stretched over a row.
pub(super) fn readings(fields: Vec<Field>) -> Option<Block> {
    let columns = match fields.len() {
        0 => return None,
        n @ 1..=6 => n,
        n => n.div_ceil(n.div_ceil(6)),
    };
    Some(Block::Grid { columns, fields })
}

/// A line in the size of limits.
pub(super) fn small(text: impl Into<String>) -> Styled {
    Styled::new(text).size(SMALL)
}

/// Verdict as mark and word, such as `! outside`, held together where a line ends.
pub(super) fn verdict(verdict: Verdict) -> String {
    format!("{}\u{a0}{}", verdict.mark(), verdict.word())
}

/// What a reading is called at the head of its column, with its unit.
pub(super) fn label(test: Test) -> String {
    match test.unit().symbol() {
        "" => test.heading().to_string(),
        symbol => format!("{} {symbol}", test.heading()),
    }
}

/// The verdict on a reading; where nothing limits it, that it is recorded, for "within" would claim more.
fn judged(finding: &Finding) -> String {
    match (&finding.limit, finding.verdict) {
        (None, Verdict::Within) => format!("{}\u{a0}recorded", Verdict::Within.mark()),
        (_, other) => verdict(other),
    }
}

/// The same with how far the reading is from its limit, such as `= within 0.63`.
fn with_margin(finding: &Finding) -> String {
    // From a number that has to be met there is no distance.
    let is_equal = finding.limit.as_ref().is_some_and(|l| l.starts_with('='));
    match &finding.margin {
        Some(margin) if !finding.worded && !is_equal && finding.verdict != Verdict::Excused => {
            format!("{} {}", judged(finding), margin.trim_start_matches('-'))
        }
        _ => judged(finding),
    }
}

/// A reading as it was typed; the reason of one that was excused goes to the notes, and what had failed stands before it.
fn reading(finding: &Finding, typed: &str, units: bool, notes: &mut Notes) -> String {
    let taken = taken(finding, typed, units, notes);
    match &finding.failed {
        Some(failed) => format!("{}; {taken}", words::held(failed)),
        None => taken,
    }
}

fn taken(finding: &Finding, typed: &str, units: bool, notes: &mut Notes) -> String {
    match Value::parse(finding.place.test.answer(), typed) {
        Ok(Value::Limitation(why)) => format!("lim {}", notes.sign(format!("Limitation: {why}"))),
        Ok(Value::NotApplicable(why)) => {
            format!("n/a {}", notes.sign(format!("Not applicable: {why}")))
        }
        _ if units => finding.value_text(),
        _ => typed.to_string(),
    }
}

/// Reading, limit and verdict below each other. `units` adds the unit to the reading.
pub(super) fn lines(finding: &Finding, units: bool, notes: &mut Notes) -> Vec<Styled> {
    let limit = match &finding.limit {
        Some(_) => small(words::held(&finding.limit_text())),
        None => small("no limit"),
    };
    let Some(typed) = &finding.value else {
        return vec![Styled::new(verdict(Verdict::Open)).bold(), limit];
    };
    let reading = reading(finding, typed, units, notes);
    let word = small(with_margin(finding));
    let word = if matches!(finding.verdict, Verdict::Within | Verdict::Excused) {
        word
    } else {
        word.bold()
    };
    vec![Styled::new(reading).bold(), limit, word]
}
