//! What a check says about a place.

use std::fmt;
use std::sync::Arc;

use rust_decimal::Decimal;
use serde::{Serialize, Serializer};

use crate::forms::{Limit, Mark, Source, short};
use crate::job::value::LIMITATION;
use crate::job::{Job, Place, Reading, Unit, Value};

use super::Doubt;
use super::rule::{Bound, Rule};

/// The verdict on one reading. Always shown as a word and a mark, never by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// Past its limit.
    Outside,
    /// Not yet taken.
    Open,
    /// Plausible, but contradicts something else.
    Query,
    /// In, but nearer to the limit than the instrument's uncertainty.
    Close,
    /// Limitation or not applicable, with a reason.
    Excused,
    /// In.
    Within,
}

impl Verdict {
    /// Every verdict, the most pressing first.
    pub const ALL: [Verdict; 6] = [
        Verdict::Outside,
        Verdict::Open,
        Verdict::Query,
        Verdict::Close,
        Verdict::Excused,
        Verdict::Within,
    ];

    /// The word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Outside => "outside",
            Verdict::Open => "open",
            Verdict::Query => "query",
            Verdict::Close => "close",
            Verdict::Excused => "excused",
            Verdict::Within => "within",
        }
    }

    /// The mark that goes with the word, in ASCII so that every terminal and font has it.
    pub fn mark(self) -> char {
        match self {
            Verdict::Outside => '!',
            Verdict::Open => '.',
            Verdict::Query => '?',
            Verdict::Close => '~',
            Verdict::Excused => '-',
            Verdict::Within => '=',
        }
    }

    /// Whether the certificate can't be complete with it.
    pub fn blocks(self) -> bool {
        matches!(self, Verdict::Outside | Verdict::Open)
    }
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// A judged place: the reading beside its limit, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Where.
    #[serde(serialize_with = "as_text")]
    pub place: Place,
    /// Key of the test.
    pub test: &'static str,
    /// As typed; `None` where nothing was taken.
    pub value: Option<String>,
    /// What was read at the place and is outside or queried, where a reason was kept over it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub failed: Option<String>,
    /// Unit of value, limit and margin.
    #[serde(serialize_with = "as_text")]
    pub unit: Unit,
    /// The verdict.
    pub verdict: Verdict,
    /// The limit with its sign, such as `≤ 1.09`; `None` where there is none.
    pub limit: Option<String>,
    /// Whether the limit is said in words, with its units.
    #[serde(skip)]
    pub worded: bool,
    /// Distance to the limit, below zero when past it.
    pub margin: Option<String>,
    /// Why, with the numbers put in.
    pub why: String,
    /// Where the limit comes from; empty where there is no limit.
    pub source: String,
    /// How well the source is known.
    #[serde(serialize_with = "mark_as_text")]
    pub mark: Option<Mark>,
    /// Edition the limit belongs to.
    pub edition: String,
    /// Whether somebody compared the limit with the edition in force.
    pub checked_against_current: Option<bool>,
    /// How the limit was made, with the numbers put in.
    pub formula: String,
    /// What the reading was expected to be near, with how that was worked out; empty where nothing is expected.
    pub expected: String,
    /// Operating uncertainty that the reading was judged with; `None` where none counts.
    pub uncertainty: Option<Uncertainty>,
    /// Id of who entered the reading; `None` where nothing was entered.
    pub by: Option<String>,
    /// Id of the qualified person who countersigned it; `None` where nobody did.
    pub countersigned_by: Option<String>,
    /// Whether an apprentice entered it and nobody countersigned it yet: open work, whatever the verdict.
    pub waits_for_countersign: bool,
    /// Of the proof that it is dead: whether the installation was made live after it; of the confirmation that the inverters are
    /// isolated: whether they ran after it. The verdict stands for what was read before; what has to be dead, or without them, waits
    /// for another one.
    #[serde(skip)]
    pub stale: bool,
    /// Every entry of the limit files that limit and verdict go by, the one the limit hangs on first.
    #[serde(serialize_with = "rows")]
    pub basis: Vec<Arc<Limit>>,
}

/// Operating uncertainty of the instrument of a reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Uncertainty {
    /// In percent of the reading.
    #[serde(serialize_with = "as_text")]
    pub percent: Decimal,
    /// Whose figure it is: `instrument mft`, or the id of an entry of the limit files.
    pub from: String,
}

impl Uncertainty {
    /// Whose figure it is, in words.
    pub fn whose(&self) -> String {
        match self.from.strip_prefix("instrument ") {
            Some(id) => format!("the figure of instrument {id}"),
            None => format!(
                "the limit files' figure ({}): the instrument has none of its own on record",
                self.from
            ),
        }
    }
}

impl Finding {
    /// Whether the test could not be done, for a reason that is recorded.
    pub fn is_limitation(&self) -> bool {
        self.value
            .as_ref()
            .is_some_and(|v| v.trim_start().starts_with(LIMITATION))
    }

    /// Nothing taken yet and nothing known of a limit.
    pub(super) fn open(place: Place) -> Finding {
        let test = place.test;
        Finding {
            place,
            test: test.key(),
            value: None,
            failed: None,
            unit: test.unit(),
            verdict: Verdict::Open,
            limit: None,
            worded: false,
            margin: None,
            why: String::new(),
            source: String::new(),
            mark: None,
            edition: String::new(),
            checked_against_current: None,
            formula: String::new(),
            expected: String::new(),
            uncertainty: None,
            by: None,
            countersigned_by: None,
            waits_for_countersign: false,
            stale: false,
            basis: Vec::new(),
        }
    }

    /// Whether the certificate can't be complete with it: outside, open, or waiting for a countersign.
    pub fn holds_up(&self) -> bool {
        self.verdict.blocks() || self.waits_for_countersign
    }

    /// Notes who entered the reading, who countersigned it, and that it was taken out of order.
    pub(super) fn entered(&mut self, job: &Job, reading: &Reading) {
        self.by = Some(reading.by.clone());
        self.countersigned_by = reading.countersigned.as_ref().map(|c| c.by.clone());
        self.waits_for_countersign = job.waits_for_countersign(reading);
        if let Some(around) = &reading.around {
            self.why = format!(
                "{}; taken before {} was in order: {}",
                self.why, around.waited_for, around.reason
            );
        }
    }

    /// Sets limit and source from the rule that a place is judged by.
    pub(super) fn judged_by(&mut self, rule: &Rule) {
        self.limit = rule.bound.text();
        self.worded = matches!(rule.bound, Bound::Words(_));
        self.formula.clone_from(&rule.how);
        self.expected = rule.expected.clone().unwrap_or_default();
        self.basis.clone_from(&rule.basis);
        if let Some(source) = &rule.source {
            self.cite(source);
        }
    }

    /// Puts the outcome of a second look in place of the verdict.
    pub(super) fn doubted(&mut self, doubt: Doubt) {
        self.verdict = doubt.verdict;
        self.why = doubt.why;
        self.goes_by(doubt.basis);
    }

    /// Puts what failed, or was queried, in place of the reason that was kept over it; what the reason leaves unproved stands behind
    /// a query.
    pub(super) fn failed_before(
        &mut self,
        failed: &Finding,
        reason: &Value,
        untaken: Option<Doubt>,
    ) {
        let read = failed.value_text();
        let why = &failed.why;
        let why = match failed.verdict {
            Verdict::Query => format!(
                "{read} was read here and is queried; no reason ({reason}) answers that, only a reading here that isn't, or {read} taken back as a false entry by a qualified person. What was read: {why}"
            ),
            _ => format!(
                "{read} was read here and is outside; no reason ({reason}) takes that away, only a good reading here, or {read} taken back as a false entry by a qualified person. What was read: {why}"
            ),
        };
        *self = Finding {
            value: self.value.take(),
            margin: None,
            why,
            failed: Some(read),
            ..failed.clone()
        };
        if self.verdict == Verdict::Query
            && let Some(doubt) = untaken
        {
            self.why = format!("{}; {}", self.why, doubt.why);
            self.goes_by(doubt.basis);
        }
    }

    /// Adds entries that the verdict goes by; the first is its source where the limit has none.
    pub(super) fn goes_by(&mut self, basis: Vec<Arc<Limit>>) {
        for limit in basis {
            if self.mark.is_none() && self.source.is_empty() {
                self.cite(&limit.source);
            }
            if !self.basis.contains(&limit) {
                self.basis.push(limit);
            }
        }
    }

    /// Sets what comes from the source of a limit.
    fn cite(&mut self, source: &Source) {
        self.source.clone_from(&source.text);
        self.mark = Some(source.mark);
        self.edition.clone_from(&source.edition);
        self.checked_against_current = Some(source.checked_against_current);
    }

    /// The limit with its unit, or a dash.
    pub fn limit_text(&self) -> String {
        match &self.limit {
            None => "–".to_string(),
            Some(words) if self.worded => words.clone(),
            Some(limit) => self.unit.with(limit),
        }
    }

    /// The value with its unit where it is a number, or a dash.
    pub fn value_text(&self) -> String {
        match &self.value {
            None => "–".into(),
            Some(v) if v.chars().any(|c| c.is_ascii_digit()) && !v.contains(':') => {
                self.unit.with(v)
            }
            Some(v) => v.clone(),
        }
    }

    /// Source and mark in one line, such as `BS 7671 Table 41.3 [memory]`.
    pub fn source_text(&self) -> String {
        self.mark
            .map_or_else(|| self.source.clone(), |mark| cited(&self.source, mark))
    }

    /// As [`source_text`](Self::source_text), without the remarks behind the first semicolon of the source.
    pub fn source_short(&self) -> String {
        let first = short(&self.source);
        self.mark
            .map_or_else(|| first.to_string(), |mark| cited(first, mark))
    }
}

fn cited(source: &str, mark: Mark) -> String {
    if source.is_empty() {
        format!("[{mark}]")
    } else {
        format!("{source} [{mark}]")
    }
}

fn as_text<T: fmt::Display, S: Serializer>(value: &T, s: S) -> Result<S::Ok, S::Error> {
    s.collect_str(value)
}

fn rows<S: Serializer>(rows: &[Arc<Limit>], s: S) -> Result<S::Ok, S::Error> {
    s.collect_seq(rows.iter().map(Arc::as_ref))
}

#[allow(clippy::ref_option)] // the shape serde asks for
fn mark_as_text<S: Serializer>(mark: &Option<Mark>, s: S) -> Result<S::Ok, S::Error> {
    match mark {
        Some(mark) => s.collect_str(mark),
        None => s.serialize_none(),
    }
}
