//! What a reading has to satisfy, known before it is taken, and the plain comparison with it.

use std::sync::Arc;

use rust_decimal::Decimal;

use crate::forms::{Limit, Source};
use crate::job::{Unit, Value};

use super::finding::Verdict;

/// Bound on a reading, in the unit of its test.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bound {
    /// Recorded, not limited.
    Free,
    /// In order.
    Yes,
    /// At most.
    AtMost(Decimal),
    /// At least.
    AtLeast(Decimal),
    /// From, to.
    Between(Decimal, Decimal),
    /// Exactly (counts).
    Exactly(Decimal),
    /// Said in words; the check of the test compares it itself.
    Words(String),
}

impl Bound {
    /// The most that is allowed, where there is a most.
    pub fn highest(&self) -> Option<Decimal> {
        match self {
            Bound::AtMost(x) | Bound::Between(_, x) | Bound::Exactly(x) => Some(*x),
            Bound::Free | Bound::Yes | Bound::AtLeast(_) | Bound::Words(_) => None,
        }
    }

    /// With its sign and unit; what is said in words has its own units.
    pub fn shown(&self, unit: Unit) -> Option<String> {
        match self {
            Bound::Words(words) => Some(words.clone()),
            other => other.text().map(|text| unit.with(text)),
        }
    }

    /// With its sign, such as `≤ 1.09`; `None` where nothing is limited.
    pub fn text(&self) -> Option<String> {
        Some(match self {
            Bound::Free => return None,
            Bound::Yes => "must pass".into(),
            Bound::AtMost(x) => format!("≤ {x}"),
            Bound::AtLeast(x) => format!("≥ {x}"),
            Bound::Between(a, b) => format!("{a} to {b}"),
            Bound::Exactly(x) => format!("= {x}"),
            Bound::Words(w) => w.clone(),
        })
    }
}

/// A value from the files, or worked out from some of theirs.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Figure {
    /// The value.
    pub(super) value: Decimal,
    /// What is shown as its source.
    pub(super) source: Source,
    /// The entries it is made with.
    pub(super) basis: Vec<Arc<Limit>>,
}

impl From<&Arc<Limit>> for Figure {
    fn from(limit: &Arc<Limit>) -> Figure {
        Figure {
            value: limit.value,
            source: limit.source.clone(),
            basis: vec![limit.clone()],
        }
    }
}

/// What the person should see before connecting the leads.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// The bound.
    pub bound: Bound,
    /// How the bound was made, with the numbers put in.
    pub how: String,
    /// Where it comes from; `None` where there is no limit, or it is this job's own record.
    pub source: Option<Source>,
    /// Every entry of the limit files that the bound was made with, the one it hangs on first.
    pub basis: Vec<Arc<Limit>>,
    /// Verdict past the bound: `Outside`, or `Query` where the bound is guidance and not a limit.
    pub past: Verdict,
    /// A second bound, past which a reading is outside even where the first is guidance.
    pub far: Bound,
    /// The best verdict a reading can get, with the reason, where its bound can't show that it is in order.
    pub at_best: Option<(Verdict, String)>,
    /// What the reading should be near, with how that was worked out.
    pub expected: Option<String>,
    /// The same as a number in the unit of the test, where one number says it.
    pub expected_value: Option<Decimal>,
    /// Test voltage of an insulation test, V d.c.
    pub test_v: Option<Decimal>,
}

impl Rule {
    /// A reading that is recorded without a limit.
    pub(super) fn free(how: impl Into<String>) -> Rule {
        Rule {
            bound: Bound::Free,
            how: how.into(),
            source: None,
            basis: Vec::new(),
            past: Verdict::Outside,
            far: Bound::Free,
            at_best: None,
            expected: None,
            expected_value: None,
            test_v: None,
        }
    }

    /// A limit from the files.
    pub(super) fn of(bound: Bound, how: impl Into<String>, limit: &Arc<Limit>) -> Rule {
        Rule::by(bound, how, Figure::from(limit))
    }

    /// The same, with another entry that the bound was made with.
    pub(super) fn with(mut self, limit: &Arc<Limit>) -> Rule {
        if !self.basis.contains(limit) {
            self.basis.push(limit.clone());
        }
        self
    }

    /// The same, with all that another bound was made with.
    pub(super) fn with_all(self, limits: &[Arc<Limit>]) -> Rule {
        limits.iter().fold(self, Rule::with)
    }

    /// A bound that is worked out, with what it is worked out from.
    pub(super) fn by(bound: Bound, how: impl Into<String>, figure: Figure) -> Rule {
        Rule {
            bound,
            source: Some(figure.source),
            basis: figure.basis,
            ..Rule::free(how)
        }
    }

    /// The same, outside past a second bound.
    pub(super) fn outside_past(mut self, far: Bound) -> Rule {
        self.far = far;
        self
    }

    /// The same, with a reading that meets it no better than `verdict`.
    pub(super) fn no_better_than(mut self, verdict: Verdict, why: impl Into<String>) -> Rule {
        self.at_best = Some((verdict, why.into()));
        self
    }

    /// The same, with what is expected.
    pub(super) fn expecting(mut self, expected: Option<String>) -> Rule {
        self.expected = expected;
        self
    }

    /// The same, with the number that is expected.
    pub(super) fn near(mut self, value: Option<Decimal>) -> Rule {
        self.expected_value = value;
        self
    }

    /// The same, at a test voltage.
    pub(super) fn at(mut self, volts: &Arc<Limit>) -> Rule {
        self.test_v = Some(volts.value);
        self.with(volts)
    }

    /// The same bound as guidance: past it the reading is queried.
    pub(super) fn for_guidance(mut self) -> Rule {
        self.past = Verdict::Query;
        self
    }
}

/// Outcome of comparing a reading with a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Outcome {
    /// The verdict.
    pub verdict: Verdict,
    /// Distance to the bound, below zero when past it.
    pub margin: Option<Decimal>,
    /// Why.
    pub why: String,
}

impl Outcome {
    /// A verdict without a distance to a bound.
    pub(super) fn plain(verdict: Verdict, why: impl Into<String>) -> Outcome {
        Outcome {
            verdict,
            margin: None,
            why: why.into(),
        }
    }
}

/// Compares a reading with its rule. `uncertainty_pct` is the instrument's, in percent of the reading.
pub(super) fn compare(
    rule: &Rule,
    value: &Value,
    unit: Unit,
    uncertainty_pct: Option<Decimal>,
) -> Outcome {
    let mut outcome = by_bound(rule, value, unit, uncertainty_pct);
    if is_far(&rule.far, value) && outcome.verdict != Verdict::Outside {
        outcome.verdict = Verdict::Outside;
        let limit = rule.far.text().unwrap_or_default();
        outcome.why = if rule.bound == Bound::Free {
            let expected = rule.expected.as_deref().unwrap_or("nothing like it");
            format!(
                "{} is far past {}: expected is {expected}",
                unit.with(value),
                unit.with(limit)
            )
        } else {
            format!("far past {}: {}", unit.with(limit), outcome.why)
        };
    } else if let Some((best, why)) = &rule.at_best
        && matches!(outcome.verdict, Verdict::Within | Verdict::Close)
    {
        outcome.verdict = *best;
        outcome.why = format!("{}: {why}", unit.with(value));
    }
    outcome
}

/// Whether a reading is past the second bound of its rule.
fn is_far(far: &Bound, value: &Value) -> bool {
    match (far, value) {
        (Bound::AtMost(x), Value::Number(n)) => n > x,
        (Bound::AtMost(x), Value::OverRange(end)) => end >= x,
        (Bound::AtLeast(x), Value::Number(n)) => n < x,
        (Bound::AtLeast(x), Value::UnderRange(end)) => end <= x,
        _ => false,
    }
}

fn by_bound(rule: &Rule, value: &Value, unit: Unit, uncertainty_pct: Option<Decimal>) -> Outcome {
    let outcome = |verdict, margin, why: String| Outcome {
        verdict,
        margin,
        why,
    };
    match value {
        Value::Limitation(reason) => {
            outcome(Verdict::Excused, None, format!("limitation: {reason}"))
        }
        Value::NotApplicable(reason) => {
            outcome(Verdict::Excused, None, format!("not applicable: {reason}"))
        }
        Value::Pass => outcome(Verdict::Within, None, "in order".into()),
        Value::Fail => outcome(Verdict::Outside, None, "found wanting".into()),
        Value::Text(_) => outcome(Verdict::Within, None, "recorded".into()),
        Value::List(_) => no_rule(),
        Value::Number(n) => number(rule, *n, unit, uncertainty_pct),
        Value::OverRange(end) => over_range(rule, *end, unit),
        Value::UnderRange(end) => under_range(rule, *end, unit),
    }
}

/// A number where only "in order" or not was asked: a test that has no rule of its own must not pass by that.
fn no_rule() -> Outcome {
    Outcome::plain(
        Verdict::Query,
        "can't be judged: there is no rule for a number here",
    )
}

fn number(rule: &Rule, n: Decimal, unit: Unit, uncertainty_pct: Option<Decimal>) -> Outcome {
    let (margin, is_past) = match &rule.bound {
        Bound::Yes | Bound::Words(_) => return no_rule(),
        Bound::Free => {
            return Outcome::plain(Verdict::Within, format!("recorded; {}", rule.how));
        }
        Bound::AtMost(x) => (x - n, n > *x),
        Bound::AtLeast(x) => (n - x, n < *x),
        Bound::Between(a, b) => ((n - a).min(b - n), n < *a || n > *b),
        Bound::Exactly(x) => (-(n - x).abs(), n != *x),
    };
    let margin = margin.normalize();
    let limit = rule.bound.text().unwrap_or_default();
    if is_past {
        return Outcome {
            verdict: rule.past,
            margin: Some(margin),
            why: format!(
                "{} misses {} by {}: {}",
                unit.with(n),
                unit.with(limit),
                unit.with(-margin),
                rule.how
            ),
        };
    }
    let exact = matches!(rule.bound, Bound::Exactly(_));
    let spread = uncertainty_pct.filter(|_| !exact).map(|pct| {
        (n.abs() * pct / Decimal::ONE_HUNDRED)
            .round_dp(4)
            .normalize()
    });
    match (spread, uncertainty_pct) {
        (Some(spread), Some(pct)) if spread > margin => Outcome {
            verdict: Verdict::Close,
            margin: Some(margin),
            why: format!(
                "{} meets {} by {} only, less than the instrument's ±{} % (±{}): neither in nor out for certain; {}",
                unit.with(n),
                unit.with(limit),
                unit.with(margin),
                pct.normalize(),
                unit.with(spread),
                rule.how
            ),
        },
        _ => Outcome {
            verdict: Verdict::Within,
            margin: Some(margin),
            why: if exact {
                format!("{} as it should be: {}", unit.with(n), rule.how)
            } else {
                format!(
                    "{} meets {} with {} to spare: {}",
                    unit.with(n),
                    unit.with(limit),
                    unit.with(margin),
                    rule.how
                )
            },
        },
    }
}

fn over_range(rule: &Rule, end: Decimal, unit: Unit) -> Outcome {
    let shown = unit.with(format!(">{end}"));
    let (verdict, why) = match &rule.bound {
        Bound::Yes | Bound::Words(_) => return no_rule(),
        Bound::Free => (
            Verdict::Within,
            format!("recorded as {shown}; {}", rule.how),
        ),
        Bound::AtLeast(x) if end >= *x => (
            Verdict::Within,
            format!(
                "{shown} is past the scale and above {}: {}",
                unit.with(x),
                rule.how
            ),
        ),
        Bound::AtLeast(x) => (
            Verdict::Query,
            format!(
                "the scale ended at {} and the limit is {}: use a higher range",
                unit.with(end),
                unit.with(x)
            ),
        ),
        Bound::AtMost(x) | Bound::Between(_, x) | Bound::Exactly(x) if end >= *x => (
            rule.past,
            format!(
                "{shown} is past the scale and above {}: {}",
                unit.with(x),
                rule.how
            ),
        ),
        Bound::AtMost(x) | Bound::Between(_, x) | Bound::Exactly(x) => (
            Verdict::Query,
            format!(
                "the scale ended at {}, below the limit {}: use a higher range",
                unit.with(end),
                unit.with(x)
            ),
        ),
    };
    Outcome::plain(verdict, why)
}

fn under_range(rule: &Rule, end: Decimal, unit: Unit) -> Outcome {
    let shown = unit.with(format!("<{end}"));
    let (verdict, why) = match &rule.bound {
        Bound::Yes | Bound::Words(_) => return no_rule(),
        Bound::Free => (
            Verdict::Within,
            format!("recorded as {shown}; {}", rule.how),
        ),
        Bound::AtMost(x) if end <= *x => (
            Verdict::Within,
            format!(
                "{shown} is below the scale and below {}: {}",
                unit.with(x),
                rule.how
            ),
        ),
        Bound::AtMost(x) => (
            Verdict::Query,
            format!(
                "{shown} doesn't show whether it is below {}: use a finer range",
                unit.with(x)
            ),
        ),
        Bound::AtLeast(x) | Bound::Between(x, _) | Bound::Exactly(x) if end <= *x => (
            rule.past,
            format!(
                "{shown} is below the scale and below {}: {}",
                unit.with(x),
                rule.how
            ),
        ),
        Bound::AtLeast(x) | Bound::Between(x, _) | Bound::Exactly(x) => (
            Verdict::Query,
            format!(
                "{shown} doesn't show whether it reaches {}: use another range",
                unit.with(x)
            ),
        ),
    };
    Outcome::plain(verdict, why)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use std::str::FromStr;

    fn d(s: &str) -> Decimal {
        Decimal::from_str(s).unwrap()
    }

    fn rule(bound: Bound) -> Rule {
        Rule {
            bound,
            ..Rule::free("test")
        }
    }

    /// Just under, equal, just over, over and under range, against each kind of bound.
    #[test]
    fn boundaries() {
        use Value::{Number, OverRange, UnderRange};
        use Verdict::{Outside, Query, Within};
        let most = rule(Bound::AtMost(d("1.09")));
        let least = rule(Bound::AtLeast(d("1.0")));
        let between = rule(Bound::Between(d("130"), d("500")));
        let exactly = rule(Bound::Exactly(d("8")));
        let table = [
            (&most, Number(d("1.08")), Within),
            (&most, Number(d("1.09")), Within),
            (&most, Number(d("1.10")), Outside),
            (&most, OverRange(d("99")), Outside),
            (&most, OverRange(d("0.5")), Query),
            (&most, UnderRange(d("0.01")), Within),
            (&most, UnderRange(d("2")), Query),
            (&least, Number(d("0.99")), Outside),
            (&least, Number(d("1.00")), Within),
            (&least, Number(d("1.01")), Within),
            (&least, OverRange(d("999")), Within),
            (&least, OverRange(d("0.5")), Query),
            (&least, UnderRange(d("0.1")), Outside),
            (&least, UnderRange(d("20")), Query),
            (&between, Number(d("129")), Outside),
            (&between, Number(d("130")), Within),
            (&between, Number(d("500")), Within),
            (&between, Number(d("501")), Outside),
            (&between, OverRange(d("500")), Outside),
            (&exactly, Number(d("8")), Within),
            (&exactly, Number(d("7")), Outside),
        ];
        for (rule, value, want) in table {
            let got = compare(rule, &value, Unit::Unitless, None);
            assert_eq!(
                got.verdict, want,
                "{value} against {:?}: {}",
                rule.bound, got.why
            );
        }
    }

    #[test]
    fn past_the_limit_is_outside_even_within_the_uncertainty() {
        let most = rule(Bound::AtMost(d("1.00")));
        let pct = Some(d("5"));
        let at = |v: &str| compare(&most, &Value::Number(d(v)), Unit::Ohm, pct).verdict;
        assert_eq!(at("0.95"), Verdict::Within); // 0.9975 at most
        assert_eq!(at("0.96"), Verdict::Close); // 1.008 at most
        assert_eq!(at("1.01"), Verdict::Outside);
    }

    #[test]
    fn a_reason_excuses_and_is_never_a_number() {
        let least = rule(Bound::AtLeast(d("1")));
        let got = compare(
            &least,
            &Value::Limitation("no access".into()),
            Unit::Megohm,
            None,
        );
        assert_eq!((got.verdict, got.margin), (Verdict::Excused, None));
        assert!(got.why.contains("no access"));
    }
}
