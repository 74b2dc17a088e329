//! What a calculation answers, as lines and as JSON.

use std::fmt::Write as _;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Serialize, Serializer};
use serde_json::{Value, json};

use super::input::Inputs;
use super::table::Calc;
use crate::command::edition;
use crate::forms::Limit;

/// One answer.
enum Answer {
    Number(Decimal),
    Word(String),
    None,
}

/// All answers of a calculation, with what they rest on.
#[derive(Default)]
pub(super) struct Results {
    answers: Vec<(&'static str, Answer, &'static str)>,
    why: Option<String>,
    sources: Vec<Limit>,
}

impl Results {
    /// A number of a formula, with its unit. Six decimals: more than any instrument shows.
    pub(super) fn reckoned(mut self, name: &'static str, value: f64, unit: &'static str) -> Self {
        let answer = Decimal::from_f64_retain(value)
            .map_or(Answer::None, |d| Answer::Number(d.round_dp(6).normalize()));
        self.answers.push((name, answer, unit));
        self
    }

    /// A number of a table, digits as they stand there.
    pub(super) fn exact(mut self, name: &'static str, value: Decimal, unit: &'static str) -> Self {
        self.answers.push((name, Answer::Number(value), unit));
        self
    }

    /// A word.
    pub(super) fn word(mut self, name: &'static str, value: &str) -> Self {
        self.answers
            .push((name, Answer::Word(value.to_string()), ""));
        self
    }

    /// No such value here.
    pub(super) fn none(mut self, name: &'static str) -> Self {
        self.answers.push((name, Answer::None, ""));
        self
    }

    /// A sentence about it.
    pub(super) fn why(mut self, why: impl Into<String>) -> Self {
        self.why = Some(why.into());
        self
    }

    /// A value of the limit files that it rests on.
    pub(super) fn by(mut self, limit: &Limit) -> Self {
        if !self.sources.iter().any(|l| l.source == limit.source) {
            self.sources.push(limit.clone());
        }
        self
    }

    /// Lines for a person.
    pub(super) fn text(&self) -> String {
        let mut out = String::new();
        let mut names: Vec<&str> = self.answers.iter().map(|a| a.0).collect();
        names.extend(self.why.as_ref().map(|_| "why"));
        names.extend(self.sources.first().map(|_| "source"));
        let width = names.iter().map(|n| n.len()).max().unwrap_or(0);
        for (name, answer, unit) in &self.answers {
            let shown = match answer {
                // A formula's dust below a thousandth says nothing on site.
                Answer::Number(n) if n.abs() >= Decimal::ONE => n.round_dp(3).to_string(),
                Answer::Number(n) => n.round_dp(4).to_string(),
                Answer::Word(w) => w.clone(),
                Answer::None => "none".into(),
            };
            let space = if unit.is_empty() { "" } else { " " };
            // Writing to a String can't fail.
            let _ = writeln!(out, "{name:width$}  {shown}{space}{unit}");
        }
        if let Some(why) = &self.why {
            let _ = writeln!(out, "{:width$}  {why}", "why");
        }
        for limit in &self.sources {
            let s = &limit.source;
            let _ = writeln!(
                out,
                "{:width$}  {} [{}]{}",
                "source",
                s.text,
                s.mark,
                edition(&s.edition)
            );
        }
        out
    }

    /// One object: the input, each answer under its own name, and the sources.
    pub(super) fn json(&self, calc: &Calc, inputs: &Inputs) -> Ordered {
        let mut out = Ordered::default();
        out.add("schema", json!(1));
        out.add("calc", json!(calc.name));
        out.0.push(("input", Node::Inner(inputs.json())));
        for (name, answer, _) in &self.answers {
            let value = match answer {
                Answer::Number(n) => json_number(*n),
                Answer::Word(w) => json!(w),
                Answer::None => Value::Null,
            };
            out.add(name, value);
        }
        if let Some(why) = &self.why {
            out.add("why", json!(why));
        }
        let sources = self.sources.iter().map(|l| {
            json!({
                "limit": l.id,
                "source": l.source.text,
                "edition": l.source.edition,
                "mark": l.source.mark.name(),
                "checked_against_current": l.source.checked_against_current,
            })
        });
        out.add("sources", sources.collect());
        out
    }
}

/// A JSON number, without a fraction where there is none.
pub(super) fn json_number(number: Decimal) -> Value {
    match number.to_i64() {
        Some(whole) if number.fract().is_zero() => json!(whole),
        _ => json!(number.to_f64()),
    }
}

/// A JSON object whose fields stay in the order they were added.
#[derive(Default)]
pub(super) struct Ordered(Vec<(&'static str, Node)>);

enum Node {
    Plain(Value),
    Inner(Ordered),
}

impl Ordered {
    /// Adds a field.
    pub(super) fn add(&mut self, name: &'static str, value: Value) {
        self.0.push((name, Node::Plain(value)));
    }
}

impl Serialize for Ordered {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(name, node)| (name, node)))
    }
}

impl Serialize for Node {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Node::Plain(value) => value.serialize(serializer),
            Node::Inner(object) => object.serialize(serializer),
        }
    }
}
