//! A person's own entries: one limit or the wording of one step in place of the shipped one, without a copy of its file.

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};
use std::str::FromStr;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;

use super::limit::Limit;
use super::steps::{LONGEST, StepText, Walk};
use crate::job::owner::Kind;
use crate::job::text::{Sort, TextError, line_and_column, locate, nearest, parse_as};
use crate::job::{Test, Unit};

/// The file of own limits.
pub(super) const LIMITS: &str = "own-limits.ron";
/// The file of own wording.
pub(super) const STEPS: &str = "own-steps.ron";

/// Examples of both, without any entry that counts.
pub const EXAMPLES: [(&str, &str); 2] = [
    (LIMITS, include_str!("../../forms/own-limits.ron")),
    (STEPS, include_str!("../../forms/own-steps.ron")),
];

/// From this many times the shipped value on, and from the same part of it down, an own one is a slip of the decimal point: the
/// square root of ten, rounded down. Past that a value is nearer to one with its point moved than to the shipped one. What people
/// have reason to change moves it less: Cmin, the factor for cold conductors, an older edition.
const SLIP: i64 = 3;
/// How far a new row beyond the end of a table may lie from where its last two rows point.
const BEYOND: f64 = 1.5;

/// A limit that isn't as shipped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OwnLimit {
    /// Its id.
    pub id: String,
    /// The shipped value, in the unit of the limit; `None` for one that was added.
    pub shipped: Option<Decimal>,
    /// The file it stands in.
    pub file: String,
}

/// What is wrong with an entry, and what to do about it.
pub(super) type Fault = (String, String);

/// Whether anything would ever read an entry that isn't shipped: it has to be another size, rating or time of a table. `now` has the
/// rows of the tables as they count beside it.
pub(super) fn fits_a_table(
    own: &Limit,
    shipped: &BTreeMap<String, Limit>,
    now: &BTreeMap<String, Limit>,
) -> Result<(), Fault> {
    if let Some(like) = like_by_name(&own.id, shipped) {
        unit_is(own, like.unit)?;
        // Times of profiles lie far apart: half a second and twenty are both usual.
        return match own.unit {
            Unit::Second => Ok(()),
            _ => no_slip(own, like),
        };
    }
    let shape = shape(&own.id);
    let mut table = shipped.values().filter(|l| self::shape(&l.id) == shape);
    let grows = shape.ends_with("/#");
    let Some(first) = table.next().filter(|_| grows) else {
        let ids: Vec<&str> = shipped.keys().map(String::as_str).collect();
        let near = nearest(&own.id, &ids);
        let remedy = if own.id.is_empty() {
            "give the id of a shipped limit: `wanderlead forms list` shows them".to_string()
        } else if near.is_empty() {
            format!(
                "look the id up: `wanderlead forms look {}`",
                own.id.split('/').next().unwrap_or_default()
            )
        } else {
            format!("did you mean {near}?")
        };
        return Err(("nothing reads an entry of this id".into(), remedy));
    };
    for part in own.id.split('/') {
        let number = number(part).map(|(n, unit)| format!("{}{unit}", n.normalize()));
        if let Some(plain) = number.filter(|plain| plain != part) {
            return Err((
                format!("nothing reads `{part}` in an id"),
                format!("write it as `{plain}`"),
            ));
        }
    }
    let times: Vec<String> = shipped
        .values()
        .filter(|l| l.unit == Unit::Second && l.id.starts_with("time/"))
        .map(|l| format!("{}s", l.value.normalize()))
        .collect();
    if let Some(odd) = own.id.split('/').find(|part| {
        number(part).is_some_and(|(_, unit)| unit == "s") && !times.iter().any(|t| t == part)
    }) {
        return Err((
            format!("`{odd}` is no disconnection time"),
            format!("use one of: {}", times.join(", ")),
        ));
    }
    unit_is(own, first.unit)?;
    beside_its_neighbours(own, now)
}

/// Whether a new row lies between the rows of its table before and after it, which all rise or all fall; beyond the ends, where the
/// last two rows point, and as far on as they go. A table of its own is compared with the same row of one like it.
fn beside_its_neighbours(own: &Limit, now: &BTreeMap<String, Limit>) -> Result<(), Fault> {
    let size = |part: &str| number(part).map(|(n, _)| n);
    let (prefix, last) = own.id.rsplit_once('/').unwrap_or(("", ""));
    let Some(at) = size(last) else { return Ok(()) };
    let mut table: Vec<(Decimal, &Limit)> = now
        .values()
        .filter_map(|l| {
            let (theirs, size_of) = l.id.rsplit_once('/')?;
            Some((size(size_of)?, l)).filter(|_| theirs == prefix && l.id != own.id)
        })
        .collect();
    table.sort_by_key(|(size, _)| *size);
    let row = |i: usize| table.get(i).copied();
    let next = table.partition_point(|(size, _)| *size < at);
    let (below, above) = (next.checked_sub(1).and_then(row), row(next));
    match (below, above) {
        (Some((_, a)), Some((_, b))) => {
            let (low, high) = (a.value.min(b.value), a.value.max(b.value));
            match (low..=high).contains(&own.value) {
                true => Ok(()),
                false => Err(out_of_line(
                    own,
                    &format!("between {} and {}", shown(a), shown(b)),
                )),
            }
        }
        (Some(end), None) => beyond(own, at, end, next.checked_sub(2).and_then(row)),
        (None, Some(end)) => beyond(own, at, end, row(1)),
        (None, None) => {
            let shape = shape(&own.id);
            let mut alike = now.values().filter(|l| {
                let same = l.id.rsplit_once('/').and_then(|(_, s)| size(s)) == Some(at);
                same && l.id != own.id && self::shape(&l.id) == shape
            });
            match alike.next() {
                Some(near) => no_slip(own, near),
                None => Ok(()),
            }
        }
    }
}

/// A row beyond the end of its table, by the power that its last two rows follow.
fn beyond(
    own: &Limit,
    at: Decimal,
    end: (Decimal, &Limit),
    inner: Option<(Decimal, &Limit)>,
) -> Result<(), Fault> {
    let Some(inner) = inner else {
        return no_slip(own, end.1);
    };
    let of = |d: Decimal| d.to_f64().unwrap_or(f64::NAN);
    let (end_value, inner_value) = (of(end.1.value), of(inner.1.value));
    let power = (end_value / inner_value).ln() / (of(end.0) / of(inner.0)).ln();
    let expected = end_value * (of(at) / of(end.0)).powf(power);
    let off = of(own.value) / expected;
    let goes_on = match end.1.value.cmp(&inner.1.value) {
        Ordering::Less => own.value <= end.1.value,
        Ordering::Greater => own.value >= end.1.value,
        Ordering::Equal => true,
    };
    if goes_on && off.is_finite() && (1.0 / BEYOND..=BEYOND).contains(&off) {
        return Ok(());
    }
    Err(out_of_line(
        own,
        &format!("in line with {} and {}", shown(inner.1), shown(end.1)),
    ))
}

fn shown(limit: &Limit) -> String {
    format!("`{}`, {}", limit.id, limit.unit.with(limit.value))
}

fn out_of_line(own: &Limit, wanted: &str) -> Fault {
    (
        format!(
            "{} doesn't fit its table: it should lie {wanted}",
            own.unit.with(own.value)
        ),
        "look for a slip of the decimal point or another row; correct it".into(),
    )
}

/// Tables that grow by a name: where ids start, and which part of an id is the name.
const BY_NAME: [(&str, usize); 3] = [("grid", 1), ("iz", 2), ("iz-70", 2)];

/// The shipped entry that is the same but for its name, such as `grid/g98/uv/volts` for a profile of one's own. A name is
/// small letters, digits and `-` for a profile, capitals for a reference method: as it is looked up.
fn like_by_name<'s>(id: &str, shipped: &'s BTreeMap<String, Limit>) -> Option<&'s Limit> {
    let parts: Vec<&str> = id.split('/').collect();
    let (_, named) = BY_NAME
        .iter()
        .find(|(first, _)| parts.first() == Some(first))?;
    let name = parts.get(*named)?;
    let plain = match *named {
        1 => |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-',
        _ => |c: char| c.is_ascii_uppercase() || c.is_ascii_digit(),
    };
    let is_name = name.chars().all(plain) && name.chars().any(|c| c.is_ascii_alphanumeric());
    shipped.values().filter(|_| is_name).find(|l| {
        let theirs: Vec<&str> = l.id.split('/').collect();
        let same = |(i, (a, b)): (usize, (&&str, &&str))| i == *named || a == b;
        parts.len() > named + 1
            && theirs.len() == parts.len()
            && theirs.iter().zip(&parts).enumerate().all(same)
    })
}

/// The first entry that a profile of one's own lacks: half a profile would judge nothing.
pub(super) fn half_a_profile<'l>(
    ids: impl Iterator<Item = &'l String> + Clone,
    shipped: &BTreeMap<String, Limit>,
) -> Option<(String, String)> {
    let split = |id: &'l str| id.strip_prefix("grid/")?.split_once('/');
    let all: BTreeSet<&str> = ids.clone().map(String::as_str).collect();
    let rest: BTreeSet<&str> = shipped
        .keys()
        .filter_map(|id| id.strip_prefix("grid/")?.split_once('/'))
        .map(|(_, rest)| rest)
        .collect();
    ids.filter_map(|id| Some((id, split(id)?.0)))
        .find_map(|(id, profile)| {
            let lacks = rest
                .iter()
                .map(|rest| format!("grid/{profile}/{rest}"))
                .find(|wanted| !all.contains(wanted.as_str()))?;
            Some((id.clone(), lacks))
        })
}

/// Whether an entry may stand in place of the shipped one.
pub(super) fn may_replace(own: &Limit, shipped: &Limit) -> Result<(), Fault> {
    unit_is(own, shipped.unit)?;
    no_slip(own, shipped)
}

/// Whether an entry has the unit that the program reckons in.
pub(super) fn unit_is(own: &Limit, unit: Unit) -> Result<(), Fault> {
    if own.unit == unit {
        return Ok(());
    }
    Err((
        format!(
            "this limit is in {:?} and the program reckons in {unit:?}",
            own.unit
        ),
        "convert the value".into(),
    ))
}

fn no_slip(own: &Limit, near: &Limit) -> Result<(), Fault> {
    let times = Decimal::from(SLIP);
    let much = |a: Decimal, b: Decimal| b.checked_mul(times).is_some_and(|b| a >= b);
    if !much(own.value, near.value) && !much(near.value, own.value) {
        return Ok(());
    }
    let whose = if own.id == near.id {
        "the shipped value is".to_string()
    } else {
        format!("`{}` is", near.id)
    };
    Err((
        format!(
            "{} looks like a slip of the decimal point: {whose} {}",
            own.unit.with(own.value),
            near.unit.with(near.value)
        ),
        "correct it; a value that far away has to stand in a copy of the whole file".into(),
    ))
}

/// An id with every number in it as `#`, so that the rows of a table have the same.
fn shape(id: &str) -> String {
    let parts: Vec<String> = id
        .split('/')
        .map(|part| number(part).map_or_else(|| part.to_string(), |(_, unit)| format!("#{unit}")))
        .collect();
    parts.join("/")
}

/// A size or rating, or a time such as `0.4s`.
fn number(part: &str) -> Option<(Decimal, &'static str)> {
    let (digits, unit) = match part.strip_suffix('s') {
        Some(digits) => (digits, "s"),
        None => (part, ""),
    };
    let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    let n = Decimal::from_str(digits).ok().filter(|_| plain)?;
    Some((n, unit))
}

/// A file of own wording as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct StepFile {
    #[serde(rename = "title")]
    _title: String,
    steps: Vec<OwnStep>,
}

/// Wording of one step at one kind of place; what is left out stays as it was.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OwnStep {
    at: Kind,
    test: Test,
    #[serde(default)]
    name: Option<String>,
    #[serde(default)]
    connect: Option<String>,
    #[serde(default)]
    setting: Option<String>,
    #[serde(default)]
    caution: Option<String>,
    #[serde(default)]
    put_back: Option<String>,
    #[serde(default)]
    why: Option<String>,
    #[serde(default)]
    over: Option<String>,
    #[serde(default)]
    ask: Option<String>,
}

/// Puts own wording into the order of work.
///
/// # Errors
/// The first step that isn't there, is given twice, or has a text that can't be shown.
pub(super) fn reword(walk: &mut Walk, file: &str, text: &str) -> Result<(), TextError> {
    let own: StepFile = parse_as(Sort::Form, file, text)?;
    let mut new: BTreeMap<(Kind, Test), StepText> = BTreeMap::new();
    for (index, step) in own.steps.into_iter().enumerate() {
        let (at, test) = (step.at, step.test);
        let fault = |field: &str, what: String, remedy: String| {
            let (line, column) = line_of_step(text, index);
            let dot = if field.is_empty() { "" } else { "." };
            TextError {
                file: file.to_string(),
                line,
                column,
                field: format!("steps[{index}]{dot}{field}"),
                what,
                remedy,
            }
        };
        let Some(shipped) = walk.step(at, test) else {
            let there: Vec<String> = walk.tests_of(at).map(|t| format!("`{t}`")).collect();
            return Err(fault(
                "test",
                format!("no step `{test}` is taken at {at:?}"),
                format!("use one of: {}", there.join(", ")),
            ));
        };
        let mut worded = shipped.clone();
        for (name, own, place) in [
            ("name", step.name, &mut worded.name),
            ("connect", step.connect, &mut worded.connect),
            ("setting", step.setting, &mut worded.setting),
            ("caution", step.caution, &mut worded.caution),
            ("put_back", step.put_back, &mut worded.put_back),
            ("why", step.why, &mut worded.why),
            ("ask", step.ask, &mut worded.ask),
        ] {
            let Some(own) = own else { continue };
            let length = own.chars().count();
            if own.trim().is_empty() {
                return Err(fault(
                    name,
                    "this text is empty".into(),
                    "leave the field out to keep the shipped text".into(),
                ));
            }
            if length > LONGEST || own.chars().any(char::is_control) {
                return Err(fault(
                    name,
                    format!("this text of {length} characters can't be shown"),
                    format!("keep it on one line, and to {LONGEST} characters"),
                ));
            }
            *place = own;
        }
        if let Some(over) = step.over {
            if let Some((what, remedy)) = super::steps::no_end_of_scale(&over) {
                return Err(fault("over", what, remedy.into()));
            }
            worded.over = Some(over);
        }
        if new.insert((at, test), worded).is_some() {
            return Err(fault(
                "",
                format!("`{test}` is given twice for {at:?}"),
                "keep one".into(),
            ));
        }
    }
    walk.own = new;
    Ok(())
}

/// Where the step of that index is written: at its `test:`, of which each has one.
fn line_of_step(text: &str, index: usize) -> (usize, usize) {
    let text = uncommented(text);
    let at = text.match_indices("test:").nth(index).map(|(at, _)| at);
    at.map_or((0, 0), |at| line_and_column(&text, at))
}

/// Where an id is written, outside comments: the examples in those have ids too.
pub(super) fn line_of_id(text: &str, id: &str) -> (usize, usize) {
    let text = uncommented(text);
    if !id.is_empty() {
        return locate(&text, id);
    }
    // Nothing can't be looked for; where an id should be, it can.
    let mut written = text.match_indices("id").filter_map(|(at, _)| {
        let behind = text.get(at + 2..)?.trim_start().strip_prefix(':')?;
        behind.trim_start().strip_prefix("\"\"").map(|_| at)
    });
    written
        .next()
        .map_or((0, 0), |at| line_and_column(&text, at))
}

/// The text with its line comments blanked, so that lines and columns stay.
fn uncommented(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let (mut quoted, mut comment, mut before) = (false, false, ' ');
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if c == '\n' {
            comment = false;
        } else if !comment && c == '"' && before != '\\' {
            quoted = !quoted;
        } else if !quoted && c == '/' && chars.peek() == Some(&'/') {
            comment = true;
        }
        out.push(if comment { ' ' } else { c });
        before = c;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_a_table_have_the_same_shape() {
        for (id, want) in [
            ("zs/circuit-breaker/B/32", "zs/circuit-breaker/B/#"),
            ("zs/bs88-3/0.4s/32", "zs/bs88-3/#s/#"),
            ("rcd/s/5x/max", "rcd/s/5x/max"),
            ("armour/4/1.5", "armour/#/#"),
            ("ring/ratio-2.5-1.5", "ring/ratio-2.5-1.5"),
        ] {
            assert_eq!(shape(id), want);
        }
    }

    #[test]
    fn an_id_in_a_comment_is_not_where_it_is_written() {
        let text = "// \"a/1\"\n(x: \"// no\", id: \"a/1\")\n";
        assert_eq!(line_of_id(text, "a/1"), (2, 18));
    }
}
