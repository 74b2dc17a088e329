//! What was typed, and what it means. Kept as typed; never a bare float.

use std::fmt;
use std::str::FromStr;

use rust_decimal::Decimal;

use super::test::Answer;
use super::validate::words::{is_unseen, says_something};

/// Meaning of a reading as typed. "Not yet taken" is the absence of a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Value {
    /// A number in the unit of the test.
    Number(Decimal),
    /// Above the instrument's range, such as `>999`; on a continuity test an open circuit, on an RCD "no trip".
    OverRange(Decimal),
    /// Below the instrument's range, such as `<0.01`.
    UnderRange(Decimal),
    /// Looked at or tried, and found in order.
    Pass,
    /// Looked at or tried, and found wanting.
    Fail,
    /// Several numbers, each in the unit of the test; how many there should be is for the check to say.
    List(Vec<Decimal>),
    /// A word or a name.
    Text(String),
    /// Could not be taken, with the reason.
    Limitation(String),
    /// Does not apply here, with the reason.
    NotApplicable(String),
}

/// Prefix of a limitation as typed and stored.
pub const LIMITATION: &str = "lim:";
/// Prefix of a not-applicable as typed and stored.
pub const NOT_APPLICABLE: &str = "n/a:";

/// Longest entry that is accepted, in characters.
pub const LONGEST: usize = 400;

/// Whether what was typed is a limitation or a not-applicable, with a reason behind it or not.
pub(super) fn is_reason(typed: &str) -> bool {
    let mut prefixes = [LIMITATION, NOT_APPLICABLE].into_iter();
    prefixes.any(|prefix| after_prefix(typed, prefix).is_some())
}

impl Value {
    /// Reads what a person typed for a test that is answered in the way of `answer`.
    ///
    /// Numbers take a decimal point or comma; `>` and `<` mean over and under range;
    /// `lim: reason` and `n/a: reason` are accepted everywhere; `pass`/`yes`/`y` and `fail`/`no` where the
    /// test is a yes or no.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what to type instead.
    pub fn parse(answer: Answer, typed: &str) -> Result<Value, String> {
        let text = typed.trim();
        if text.is_empty() {
            return Err("nothing typed: type the reading, `lim: reason` or `n/a: reason`".into());
        }
        if text.chars().count() > LONGEST {
            return Err(format!("too long: at most {LONGEST} characters"));
        }
        // Before the ends are cut off: the reading is kept as it was typed, with them.
        if let Some(bad) = typed.chars().find(|c| c.is_control()) {
            return Err(format!(
                "control character {bad:?} in the entry: type it again without it"
            ));
        }
        if let Some(bad) = typed.chars().find(|c| is_unseen(*c)) {
            return Err(format!(
                "a character that can't be seen (U+{:04X}) in the entry: type it again instead of pasting it",
                u32::from(bad)
            ));
        }
        if let Some(reason) = after_prefix(text, LIMITATION) {
            return reason_or(reason, LIMITATION).map(Value::Limitation);
        }
        if let Some(reason) = after_prefix(text, NOT_APPLICABLE) {
            return reason_or(reason, NOT_APPLICABLE).map(Value::NotApplicable);
        }
        match answer {
            Answer::PassFail => pass_or_fail(text),
            Answer::Text if !says_something(text) => Err(format!(
                "`{text}` has no letter or digit: type a word or a name, or `{NOT_APPLICABLE} reason`"
            )),
            Answer::Text => Ok(Value::Text(text.to_string())),
            Answer::Count => {
                let n = number(text)?;
                if n.fract().is_zero() && !n.is_sign_negative() {
                    Ok(Value::Number(n))
                } else {
                    Err(format!(
                        "`{text}` is not a count: type a whole number, such as 8"
                    ))
                }
            }
            Answer::List => list(text, false),
            Answer::SignedList => list(text, true),
            Answer::Number | Answer::SignedNumber => {
                if let Some(rest) = text.strip_prefix('>') {
                    return positive(rest, text).map(Value::OverRange);
                }
                if let Some(rest) = text.strip_prefix('<') {
                    return positive(rest, text).map(Value::UnderRange);
                }
                if is_past_scale(text) {
                    return Err(past_scale(text, None));
                }
                let n = number(text)?;
                if n.is_sign_negative() && !n.is_zero() && answer == Answer::Number {
                    return Err(format!(
                        "`{text}` is below zero: this reading can't be; check the leads and type it again"
                    ));
                }
                Ok(Value::Number(n))
            }
        }
    }

    /// The number, where there is one in range.
    pub fn number(&self) -> Option<Decimal> {
        match self {
            Value::Number(n) => Some(*n),
            _ => None,
        }
    }

    /// The numbers, where there are several.
    pub fn numbers(&self) -> Option<&[Decimal]> {
        match self {
            Value::List(numbers) => Some(numbers),
            _ => None,
        }
    }

    /// Whether a person excused the test with a reason.
    pub fn is_excused(&self) -> bool {
        matches!(self, Value::Limitation(_) | Value::NotApplicable(_))
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Number(n) => write!(f, "{n}"),
            Value::OverRange(n) => write!(f, ">{n}"),
            Value::UnderRange(n) => write!(f, "<{n}"),
            Value::Pass => f.write_str("pass"),
            Value::Fail => f.write_str("fail"),
            Value::List(numbers) => {
                let words: Vec<String> = numbers.iter().map(Decimal::to_string).collect();
                f.write_str(&words.join(" "))
            }
            Value::Text(t) => f.write_str(t),
            Value::Limitation(r) => write!(f, "{LIMITATION} {r}"),
            Value::NotApplicable(r) => write!(f, "{NOT_APPLICABLE} {r}"),
        }
    }
}

/// Whether it is what an instrument shows past the end of its scale, typed off its display: letters for "overload" or "over
/// range", or dashes.
pub fn is_past_scale(typed: &str) -> bool {
    let plain: String = typed
        .to_lowercase()
        .chars()
        .filter(|c| !matches!(c, '.' | ',' | '/') && !c.is_whitespace())
        .collect();
    matches!(plain.as_str(), "ol" | "0l" | "or" | "ofl" | "over")
        || (plain.chars().count() > 1 && plain.chars().all(|c| c == '-'))
}

/// Says how it is entered. `end`: the end of the scale, where it is known.
pub fn past_scale(typed: &str, end: Option<&str>) -> String {
    format!(
        "`{}` is what a display shows past the end of its scale: type > with that end, such as >{}",
        typed.trim(),
        end.unwrap_or("999")
    )
}

fn after_prefix<'a>(text: &'a str, prefix: &str) -> Option<&'a str> {
    let head = text.get(..prefix.len())?;
    head.eq_ignore_ascii_case(prefix)
        .then(|| text.get(prefix.len()..).unwrap_or("").trim())
}

fn reason_or(reason: &str, prefix: &str) -> Result<String, String> {
    if !says_something(reason) {
        Err(format!(
            "`{prefix}` needs a reason in words after it, such as `{prefix} no access to the roof`"
        ))
    } else {
        Ok(reason.to_string())
    }
}

fn pass_or_fail(text: &str) -> Result<Value, String> {
    match text.to_lowercase().as_str() {
        "pass" | "p" | "yes" | "y" | "ok" => Ok(Value::Pass),
        "fail" | "f" | "no" => Ok(Value::Fail),
        _ => Err(format!(
            "`{text}` is not an answer here: type y (yes, in order) or f (fail)"
        )),
    }
}

/// Numbers with spaces or semicolons between them; a comma is a decimal comma, as everywhere.
fn list(text: &str, signed: bool) -> Result<Value, String> {
    let mut out = Vec::new();
    for part in text
        .split(|c: char| c.is_whitespace() || c == ';')
        .filter(|p| !p.is_empty())
    {
        // A number alone with a comma behind it, as in a list that is written in words.
        if part.ends_with(',') {
            return Err(format!(
                "`{part}` ends in a comma: put spaces or `;` between the numbers, such as 410 405,5 398"
            ));
        }
        let n = number(part)?;
        if n.is_sign_negative() && !n.is_zero() && !signed {
            return Err(format!(
                "`{part}` is below zero: this reading can't be; type it again"
            ));
        }
        out.push(n);
    }
    if out.is_empty() {
        return Err(format!(
            "`{text}` has no number: type numbers with spaces between, such as 410 405 398"
        ));
    }
    Ok(Value::List(out))
}

fn positive(rest: &str, whole: &str) -> Result<Decimal, String> {
    let rest = rest.trim();
    if rest.is_empty() {
        return Err(format!(
            "`{whole}` needs the end of the instrument's scale after it, such as {whole}999"
        ));
    }
    let n = number(rest)?;
    if n.is_sign_negative() {
        return Err(format!(
            "`{whole}` is below zero: type the end of the instrument's scale, such as >999"
        ));
    }
    Ok(n)
}

/// A plain decimal number with at most nine digits before and six after the point or comma.
fn number(text: &str) -> Result<Decimal, String> {
    let alike = |c: &char| "oOlLI|".contains(*c);
    let digits_but_for_that = text
        .chars()
        .all(|c| alike(&c) || c.is_ascii_digit() || matches!(c, '.' | ','));
    let what = || match text.chars().find(alike).filter(|_| digits_but_for_that) {
        Some(c) => {
            let digit = if "oO".contains(c) { "0" } else { "1" };
            format!("`{text}` is not a number: where `{c}` is meant for a digit, type {digit}")
        }
        None => format!(
            "`{text}` is not a number: type digits with one decimal point or comma, such as 0.82"
        ),
    };
    // Displays and other programs write a longer minus than keyboards have.
    let body = text
        .strip_prefix(['-', '\u{2212}', '\u{2013}'])
        .unwrap_or(text);
    let plain = body.replacen(',', ".", 1);
    let (whole, fraction) = plain.split_once('.').unwrap_or((plain.as_str(), ""));
    let digits = |s: &str| s.chars().all(|c| c.is_ascii_digit());
    if (whole.is_empty() && fraction.is_empty()) || !digits(whole) || !digits(fraction) {
        return Err(what());
    }
    if whole.len() > 9 || fraction.len() > 6 {
        return Err(format!(
            "`{text}` has too many digits: at most nine before and six after the decimal point"
        ));
    }
    let sign = if body.len() == text.len() { "" } else { "-" };
    let whole = if whole.is_empty() { "0" } else { whole };
    let joined = if fraction.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{fraction}")
    };
    Decimal::from_str(&joined).map_err(|_| what())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn n(text: &str) -> Value {
        Value::Number(Decimal::from_str(text).unwrap())
    }

    #[test]
    fn numbers_take_point_or_comma_and_keep_their_digits() {
        for (typed, want) in [
            ("0.82", "0.82"),
            ("0,82", "0.82"),
            (".5", "0.5"),
            ("12", "12"),
            ("0.10", "0.10"),
        ] {
            assert_eq!(Value::parse(Answer::Number, typed), Ok(n(want)), "{typed}");
        }
        assert_eq!(Value::parse(Answer::SignedNumber, "-4,5"), Ok(n("-4.5")));
    }

    #[test]
    fn several_numbers_with_spaces_or_semicolons() {
        let want = |texts: &[&str]| {
            Ok(Value::List(
                texts.iter().map(|t| t.parse().unwrap()).collect(),
            ))
        };
        for (typed, numbers) in [
            ("410 405.5 398", &["410", "405.5", "398"][..]),
            ("410;405,5; 398", &["410", "405.5", "398"]),
            ("  184.0   2,5 ", &["184.0", "2.5"]),
            ("12", &["12"]),
        ] {
            assert_eq!(Value::parse(Answer::List, typed), want(numbers), "{typed}");
        }
        assert_eq!(
            Value::parse(Answer::SignedList, "-3120 3600 480"),
            want(&["-3120", "3600", "480"])
        );
        for minus in ['\u{2212}', '\u{2013}'] {
            let typed = format!("{minus}3120 3600,5");
            assert_eq!(
                Value::parse(Answer::SignedList, &typed),
                want(&["-3120", "3600.5"])
            );
            assert!(Value::parse(Answer::List, &typed).is_err());
        }
        for bad in [";", "1 two", "1, 2", "-1 2", ">999 1", "1.2.3 4", "pass"] {
            assert!(Value::parse(Answer::List, bad).is_err(), "{bad}");
        }
        assert!(
            Value::parse(Answer::List, "n/a: none")
                .unwrap()
                .is_excused()
        );
    }

    #[test]
    fn four_kinds_of_no_number_stay_apart() {
        let over = Value::parse(Answer::Number, ">999").unwrap();
        let lim = Value::parse(Answer::Number, "LIM: no access").unwrap();
        let na = Value::parse(Answer::Number, "n/a: no neutral").unwrap();
        assert_eq!(over, Value::OverRange(Decimal::from(999)));
        assert_eq!(lim, Value::Limitation("no access".into()));
        assert_eq!(na, Value::NotApplicable("no neutral".into()));
        assert!(Value::parse(Answer::Number, "  ").is_err());
        assert!(over.number().is_none() && lim.number().is_none() && na.number().is_none());
    }

    #[test]
    fn nonsense_is_refused_with_a_remedy() {
        for bad in [
            "NaN",
            "inf",
            "1e3",
            "1.2.3",
            "1,2,3",
            "--1",
            "0x10",
            "ten",
            ">",
            "> -1",
            "-",
            "1234567890",
            "0.1234567",
            "lim:",
            "n/a: ",
            "-1",
        ] {
            let err = Value::parse(Answer::Number, bad).unwrap_err();
            assert!(
                ["type", "such as", "at most"]
                    .iter()
                    .any(|w| err.contains(w)),
                "{bad}: {err}"
            );
        }
        assert!(Value::parse(Answer::Count, "7.5").is_err());
        assert!(Value::parse(Answer::PassFail, "0.5").is_err());
        assert!(Value::parse(Answer::Text, "a\u{7}b").is_err());
    }

    #[test]
    fn letters_that_look_like_digits_are_no_digits() {
        for (typed, digit) in [
            ("o.03", "type 0"),
            ("O.5", "type 0"),
            ("l.22", "type 1"),
            ("1O", "type 0"),
            ("l5", "type 1"),
        ] {
            let err = Value::parse(Answer::Number, typed).unwrap_err();
            assert!(err.ends_with(digit), "{typed}: {err}");
        }
        // As displays show it: common practice of makers.
        for typed in [
            "OL", "ol", "O.L", "0L", "0.L", "o/l", " OL ", "OR", "---", "-.--",
        ] {
            let err = Value::parse(Answer::Number, typed).unwrap_err();
            assert!(err.contains("type > with that end"), "{typed}: {err}");
        }
        for typed in ["-", "0", "1", "10", "0.1", "0.01"] {
            assert!(!is_past_scale(typed), "{typed}");
        }
    }

    #[test]
    fn what_cannot_be_seen_is_no_part_of_a_reading() {
        for bad in [
            '\u{200b}', '\u{200d}', '\u{200e}', '\u{200f}', '\u{202a}', '\u{202e}', '\u{2060}',
            '\u{2066}', '\u{2069}', '\u{feff}', '\u{1b}', '\n', '\0',
        ] {
            for (answer, typed) in [
                (Answer::Number, format!("0.82{bad}")),
                (Answer::Number, format!("{bad}lim: roof wet")),
                (Answer::Number, format!("n/a: no {bad}neutral")),
                (Answer::Text, format!("J.{bad} Example")),
            ] {
                let error = Value::parse(answer, &typed).unwrap_err();
                assert!(error.contains("type it again"), "{typed:?}: {error}");
                assert!(!error.contains(bad), "{error:?}");
            }
        }
    }

    #[test]
    fn a_reason_and_a_text_say_something() {
        for (answer, typed) in [
            (Answer::Number, "lim: -"),
            (Answer::PassFail, "n/a: ..."),
            (Answer::Text, "-"),
            (Answer::Text, "??"),
        ] {
            let error = Value::parse(answer, typed).unwrap_err();
            assert!(error.contains("reason"), "{typed}: {error}");
        }
        assert!(Value::parse(Answer::Text, "É").is_ok());
        assert!(Value::parse(Answer::Number, "lim: 2").is_ok());
    }

    #[test]
    fn what_is_shown_can_be_typed_again() {
        for (answer, typed) in [
            (Answer::Number, "0.820"),
            (Answer::Number, ">999"),
            (Answer::Number, "<0.01"),
            (Answer::PassFail, "pass"),
            (Answer::PassFail, "fail"),
            (Answer::Text, "J. Example"),
            (Answer::SignedList, "-12.50 3 0"),
            (Answer::Number, "lim: roof wet"),
        ] {
            let value = Value::parse(answer, typed).unwrap();
            assert_eq!(Value::parse(answer, &value.to_string()).unwrap(), value);
        }
    }
}
