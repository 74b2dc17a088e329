//! What to do about a text that can't be read: the reader knows what it expected, but not what a person is likely to
//! have meant.

use chrono::{NaiveDate, NaiveDateTime};
use ron::Error;

use super::source::{Source, quoted};
use super::{Sort, nearest};

/// A sentence for what is wrong, and one for what to do.
pub(super) struct Advice {
    pub(super) what: String,
    pub(super) remedy: String,
}

/// Signs that word processors put in the place of `"`, and the apostrophe, which isn't one here.
const WRONG_QUOTES: &[char] = &['“', '”', '„', '‟', '«', '»', '‘', '’', '‚', '\''];

const LOOK_AROUND: &str = "look at this line and the one before it for a missing comma, bracket or quote; numbers take a decimal point, not a comma";

impl Sort {
    /// How to have such a file where there is none.
    fn anew(self) -> &'static str {
        match self {
            Sort::Job => "begin with a starter",
            Sort::Mapping => {
                "begin with one that explains itself: `wanderlead bring --write-mapping FILE`"
            }
            Sort::Form => "take the shipped one: `wanderlead forms copy DIR`",
            Sort::Settings => "remove it: `wanderlead settings --write` makes one",
        }
    }

    /// A file of the kind that is in order.
    fn like(self) -> &'static str {
        match self {
            Sort::Job => "a starter",
            Sort::Mapping => "the mapping that `wanderlead bring --write-mapping FILE` writes",
            Sort::Form => "the shipped file, which `wanderlead forms copy DIR` writes",
            Sort::Settings => "the file that `wanderlead settings --write` makes",
        }
    }
}

/// What to say about `code`, which came up in `source` at `field`.
pub(super) fn advise(code: &Error, source: &Source<'_>, field: &str, sort: Sort) -> Advice {
    let what = code.to_string();
    let token = source.value_of(field);
    if source.is_blank() {
        return Advice {
            what: "the file is empty".into(),
            remedy: format!("restore it from a copy, or {}", sort.anew()),
        };
    }
    if let Some(advice) = of_the_writing(code, source, &what, token) {
        return advice;
    }
    let (what, remedy) = match code {
        Error::NoSuchStructField {
            expected, found, ..
        } => match nearest(found, expected).as_str() {
            "" => (
                what,
                "correct the spelling or remove the field; if it belongs to what is around it, a closing bracket is missing above".into(),
            ),
            near => (
                what,
                format!("correct the spelling (perhaps {near}) or remove the field"),
            ),
        },
        Error::NoSuchEnumVariant {
            expected, found, ..
        } => match nearest(found, expected).as_str() {
            "" => (what, "use one of the words that are expected".into()),
            near => (what, format!("use one of the words that are expected, perhaps {near}")),
        },
        Error::MissingStructField { .. } => (what, "add the field".into()),
        Error::DuplicateStructField { .. } => (
            what,
            "keep one of the two; if they belong to different parts, a closing bracket is missing above".into(),
        ),
        Error::ExpectedDifferentStructName { found, .. } if source.is_called(found) => (
            what,
            format!("remove `{found}` before the bracket"),
        ),
        Error::ExpectedDifferentStructName { found, .. } => (
            what,
            format!("write an opening bracket `(` before `{found}`, and a closing one after the last field"),
        ),
        Error::IntegerOutOfBounds => whole_number(token, field, what),
        Error::ExpectedInteger => (
            what,
            match quoted(token) {
                Some(inside) => format!("write the whole number without quotes: {inside}"),
                None => "write a whole number, such as 1".into(),
            },
        ),
        Error::ExpectedBoolean => (what, true_or_false(token)),
        Error::ExpectedString => (what, between_quotes(token)),
        Error::InvalidValueForType { expected, .. } if expected.contains("Decimal") => {
            decimal(token, what)
        }
        Error::ExpectedIdentifier | Error::InvalidIdentifier(_)
            if quoted(token).is_some() =>
        {
            (
                what,
                format!(
                    "write the word without quotes: {}",
                    quoted(token).unwrap_or_default()
                ),
            )
        }
        Error::ExpectedIdentifier => (
            what,
            "look above for a bracket that is missing or too many".into(),
        ),
        Error::ExpectedMapColon => (
            what,
            "write a colon between the name and its value, as in `points: 1`".into(),
        ),
        Error::TrailingCharacters => (
            what,
            "remove what stands after the last bracket; if it belongs to the file, a closing bracket above is one too many".into(),
        ),
        Error::InvalidEscape(_) => (
            what,
            "write `\\\\` where a backslash is meant".into(),
        ),
        Error::UnclosedBlockComment => (what, "end the comment with `*/`".into()),
        Error::ExceededRecursionLimit => (
            what,
            "brackets are nested far too deep: this is not a file of this program".into(),
        ),
        Error::Message(text) => message(text, token, field, sort),
        _ => (what, LOOK_AROUND.into()),
    };
    Advice { what, remedy }
}

/// Slips that the reader takes for something else: a decimal comma, the wrong quotes, a quote left out.
fn of_the_writing(code: &Error, source: &Source<'_>, what: &str, token: &str) -> Option<Advice> {
    let advice = |what: String, remedy: String| Some(Advice { what, remedy });
    let here = source.rest().trim_start();
    if let Some(word) = [token, here]
        .into_iter()
        .find(|w| w.starts_with(WRONG_QUOTES))
    {
        let inside: String = word
            .trim_start_matches(WRONG_QUOTES)
            .chars()
            .take_while(|c| !WRONG_QUOTES.contains(c) && *c != '\n')
            .collect();
        return advice(
            "these are not the quotes of this file".into(),
            format!("use straight double quotes: \"{inside}\""),
        );
    }
    if matches!(code, Error::Message(_)) {
        return None;
    }
    if let Some((whole, fraction)) = source.number_with_comma() {
        return advice(
            format!("`{whole},{fraction}` is not a number"),
            no_comma(whole, fraction),
        );
    }
    if let Some((line, wrong)) = source.unclosed_string(matches!(code, Error::ExpectedStringEnd)) {
        let sort = if wrong { " straight" } else { "" };
        return advice(
            what.to_string(),
            format!("the{sort} closing quote of the text that begins in line {line} is missing"),
        );
    }
    if matches!(code, Error::ExpectedComma) && here.starts_with('.') && source.after_digit() {
        return advice(
            "a number with a decimal point doesn't fit here".into(),
            "write a whole number".into(),
        );
    }
    if here.is_empty() {
        return advice(
            what.to_string(),
            "the file ends too early: a closing bracket is missing here or above".into(),
        );
    }
    None
}

fn no_comma(whole: &str, fraction: &str) -> String {
    // Three digits may be meant as thousands: nobody shall be told a number a thousand times too small.
    if fraction.len() == 3 && whole != "0" {
        format!(
            "write {whole}.{fraction} or {whole}{fraction}, whichever is meant, without a comma"
        )
    } else {
        format!("write a decimal point, not a comma: {whole}.{fraction}")
    }
}

fn whole_number(token: &str, field: &str, what: String) -> (String, String) {
    let what = if token.is_empty() {
        what
    } else {
        format!("`{token}` is out of range")
    };
    let remedy = if token.starts_with('-') {
        "write a whole number that isn't below zero".into()
    } else if field.ends_with("poles") {
        "write a whole number from 1 to 4".into()
    } else {
        "write a smaller whole number; no count here goes beyond 65535".into()
    };
    (what, remedy)
}

fn true_or_false(token: &str) -> String {
    let word = quoted(token).unwrap_or(token).trim().to_lowercase();
    match word.as_str() {
        "yes" | "y" | "true" | "on" | "1" => {
            "write true, in small letters and without quotes".into()
        }
        "no" | "n" | "false" | "off" | "0" => {
            "write false, in small letters and without quotes".into()
        }
        _ => "write true or false".into(),
    }
}

fn between_quotes(token: &str) -> String {
    if token.is_empty() || token.starts_with(['(', '[', '{']) {
        "write a text between straight double quotes".into()
    } else {
        let inside = token.trim_matches('"');
        format!("put it between straight double quotes: \"{inside}\"")
    }
}

fn decimal(token: &str, what: String) -> (String, String) {
    let Some(text) = quoted(token) else {
        return (what, "write a number, such as 0.82".into());
    };
    let what = format!("`{text}` is not a number");
    let text = text.trim();
    let is_digits = |s: &str| !s.is_empty() && s.chars().all(|c| c.is_ascii_digit());
    if let Some((whole, fraction)) = text.split_once(',')
        && is_digits(whole.trim_start_matches('-'))
        && is_digits(fraction)
    {
        return (what, no_comma(whole, fraction));
    }
    let number: String = text
        .chars()
        .take_while(|c| c.is_ascii_digit() || matches!(c, '.' | '-'))
        .collect();
    let remedy = if number.chars().any(|c| c.is_ascii_digit()) {
        format!("write the number alone, without a unit: \"{number}\"")
    } else {
        "write a number, such as \"0.82\"".into()
    };
    (what, remedy)
}

/// Errors of what a value means: our own, which carry their remedy, and those of dates.
fn message(text: &str, token: &str, field: &str, sort: Sort) -> (String, String) {
    if let Some((what, near)) = text.split_once("; did you mean ") {
        return (what.to_string(), format!("did you mean {near}"));
    }
    if let Some((what, known)) = text.split_once("; known: ") {
        // More names than can be taken in are of no help.
        return if known.split(", ").count() > 12 {
            let look = match sort {
                Sort::Job => {
                    "look up its name in a starter, or remove it and enter the reading in the program"
                }
                _ => "look up its name with `wanderlead learn`, which lists them",
            };
            (what.to_string(), look.into())
        } else {
            (text.to_string(), "use one of these names".into())
        };
    }
    const OF_DATES: &[&str] = &[
        "input contains invalid characters",
        "input is out of range",
        "premature end of input",
        "trailing input",
        "no possible date and time matching input",
        "input is not enough for unique date and time",
    ];
    if OF_DATES.contains(&text) {
        return date(token, field, text);
    }
    if text.contains(": keep one") || text.contains(": remove it") || text.contains(": write ") {
        return (text.to_string(), String::new());
    }
    (
        text.to_string(),
        format!("compare it with the same field in {}", sort.like()),
    )
}

fn date(token: &str, field: &str, message: &str) -> (String, String) {
    let typed = quoted(token).unwrap_or(token).trim();
    let is_time = field.ends_with(".at") || field == "at";
    let what = |sort: &str| {
        if typed.is_empty() {
            message.to_string()
        } else {
            format!("`{typed}` is not {sort} as it is written here")
        }
    };
    if message == "input is out of range" {
        return (
            format!("`{typed}`: there is no such day or time"),
            "correct the day, the month or the time".into(),
        );
    }
    if is_time {
        let found = [
            "%Y-%m-%d %H:%M",
            "%Y-%m-%d %H:%M:%S",
            "%Y-%m-%dT%H:%M",
            "%Y-%m-%dT%H:%M:%S",
        ]
        .iter()
        .find_map(|f| NaiveDateTime::parse_from_str(typed, f).ok());
        let remedy = match found {
            Some(at) => format!(
                "write {}+00:00, with the offset from UTC that held there",
                at.format("%Y-%m-%dT%H:%M:%S")
            ),
            None => "write it as 2026-11-20T09:51:00+00:00".into(),
        };
        return (what("a time"), remedy);
    }
    let found = ["%d/%m/%Y", "%d.%m.%Y", "%d-%m-%Y", "%Y/%m/%d", "%Y.%m.%d"]
        .iter()
        .find_map(|f| NaiveDate::parse_from_str(typed, f).ok())
        // `13/01/27` would be the year 27.
        .filter(|d| d.format("%Y").to_string().starts_with("20"));
    let remedy = match found {
        Some(day) => format!("write year, month and day: {}", day.format("%Y-%m-%d")),
        None => "write year, month and day, such as 2027-01-13".into(),
    };
    (what("a day"), remedy)
}
