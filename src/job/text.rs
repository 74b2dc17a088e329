//! Reading RON strictly, with errors that name file, line, column, field and remedy.

use std::fmt;

use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

use self::remedy::advise;
use self::source::{Source, written};
use super::validate::words::shown;

mod remedy;
mod source;

/// What is wrong in a text file, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextError {
    /// Name of the file as the person gave it.
    pub file: String,
    /// Line, from 1; 0 where no line can be named.
    pub line: usize,
    /// Column, from 1.
    pub column: usize,
    /// Path of the field, such as `boards[0].circuits[2].device`; may be empty.
    pub field: String,
    /// What is wrong.
    pub what: String,
    /// What to do about it.
    pub remedy: String,
}

impl fmt::Display for TextError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if self.line > 0 {
            write!(f, ", line {}, column {}", self.line, self.column)?;
        }
        // All of it may quote the file: whoever makes an error need not think of it.
        if !self.field.is_empty() && self.field != "." {
            write!(f, ", field {}", sound(&self.field))?;
        }
        write!(f, ": {}", sound(&self.what))?;
        if self.remedy.is_empty() {
            Ok(())
        } else {
            write!(f, "; {}", sound(&self.remedy))
        }
    }
}

impl std::error::Error for TextError {}

/// The RON dialect of this program: plain values where an option is present.
pub fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// What kind of file a text is of, for remedies: each is compared with something else, and had anew from somewhere else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// A job.
    Job,
    /// A mapping of readings.
    Mapping,
    /// A form file.
    Form,
    /// Settings.
    Settings,
}

/// Reads `text`, which is of a job, as a `T`.
///
/// # Errors
/// The first thing that can't be read, with its place and a remedy.
pub fn parse<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, TextError> {
    parse_as(Sort::Job, file, text)
}

/// Reads `text`, which is of that kind of file, as a `T`.
///
/// # Errors
/// The first thing that can't be read, with its place and a remedy.
pub fn parse_as<T: DeserializeOwned>(sort: Sort, file: &str, text: &str) -> Result<T, TextError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let error = |spanned: ron::error::SpannedError, field: String| {
        let (line, column) = (spanned.span.start.line, spanned.span.start.col);
        // Where it stopped within a field, the last part isn't known.
        let field = field.trim_end_matches('?').trim_end_matches('.');
        let advice = advise(&spanned.code, &Source::new(text, line, column), field, sort);
        TextError {
            file: file.to_string(),
            line,
            column,
            // All of it may quote the file.
            field: sound(field),
            what: sound(&advice.what),
            remedy: sound(&advice.remedy),
        }
    };
    let options = options();
    // Noting the path of each field takes most of the time, and is only wanted for what can't be read.
    if let Ok(mut reader) = ron::Deserializer::from_str_with_options(text, &options)
        && let Ok(value) = T::deserialize(&mut reader)
        && reader.end().is_ok()
    {
        return Ok(value);
    }
    let mut reader = ron::Deserializer::from_str_with_options(text, &options)
        .map_err(|e| error(e, String::new()))?;
    let value = serde_path_to_error::deserialize(&mut reader).map_err(|e| {
        let field = e.path().to_string();
        error(reader.span_error(e.into_inner()), field)
    })?;
    reader
        .end()
        .map_err(|e| error(reader.span_error(e), String::new()))?;
    Ok(value)
}

/// The path of the first field that a `T` doesn't have, where that is what keeps `text` from being read.
pub fn unknown_field<T: DeserializeOwned>(text: &str) -> Option<String> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let options = options();
    let mut reader = ron::Deserializer::from_str_with_options(text, &options).ok()?;
    let error = serde_path_to_error::deserialize::<_, T>(&mut reader).err()?;
    let path = error.path().to_string();
    match reader.span_error(error.into_inner()).code {
        ron::Error::NoSuchStructField { found, .. } => {
            // Where the path stops at what the field is in, its name comes after.
            let around = path.trim_end_matches('?').trim_end_matches('.');
            Some(match around.rsplit(['.', ']']).next() {
                Some(last) if last == found => around.to_string(),
                _ if around.is_empty() => found,
                _ => format!("{around}.{found}"),
            })
        }
        _ => None,
    }
}

/// Line and column (from 1) of the first place where `near` stands in `text`, between quotes if possible.
pub fn locate(text: &str, near: &str) -> (usize, usize) {
    if near.is_empty() {
        return (0, 0);
    }
    let Some(at) = text
        .find(&format!("\"{near}\""))
        .or_else(|| text.find(near))
        // With escapes or raw, or with other blanks behind the name of its field.
        .or_else(|| {
            let parts = near.split_once(": \"");
            let parts = parts.and_then(|(field, v)| Some((field, v.strip_suffix('"')?)));
            let (field, value) = parts.unwrap_or(("", near));
            written(text, field, value)
        })
    else {
        return (0, 0);
    };
    line_and_column(text, at)
}

/// Line and column, from 1, of what stands at that byte.
pub(crate) fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or("");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

/// The first few, and how many more there are.
pub(crate) fn bounded<T: AsRef<str>>(all: &[T], most: usize) -> String {
    let shown: Vec<&str> = all.iter().take(most).map(AsRef::as_ref).collect();
    match all.len().saturating_sub(most) {
        0 => shown.join(", "),
        n => format!("{}, and {n} more", shown.join(", ")),
    }
}

/// Fit for a line on the terminal.
pub(crate) fn sound(text: &str) -> String {
    const LONGEST: usize = 1_000;
    let text = shown(text);
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
        None => text,
    }
}

/// The names that are most like `name`, in backticks, for a question such as "did you mean …?"; empty where none is.
pub fn nearest(name: &str, known: &[&str]) -> String {
    let reach = (name.chars().count() / 3).clamp(1, 3);
    let length = name.chars().count();
    let ranked: Vec<(usize, &str)> = known
        .iter()
        // As many have to be put in or left out at least; a name may be as long as a file.
        .filter(|k| k.chars().count().abs_diff(length) <= reach)
        .map(|k| (distance(&name.to_lowercase(), &k.to_lowercase()), *k))
        .filter(|(d, _)| *d <= reach)
        .collect();
    let Some(least) = ranked.iter().map(|(d, _)| *d).min() else {
        return String::new();
    };
    let best: Vec<String> = ranked
        .iter()
        .filter(|(d, _)| *d == least)
        .take(3)
        .map(|(_, k)| format!("`{k}`"))
        .collect();
    best.join(" or ")
}

/// How many characters have to be put in, left out or exchanged to make one of the other.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for ((y, pair), left) in b.iter().zip(row.windows(2)).zip(i + 1..) {
            let (diagonal, above) = match pair {
                [d, a] => (*d, *a),
                _ => (left, left),
            };
            let last = next.last().copied().unwrap_or(left);
            next.push(
                (diagonal + usize::from(x != *y))
                    .min(above + 1)
                    .min(last + 1),
            );
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use serde::Deserialize;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Inner {
        rating: u32,
    }

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    #[allow(dead_code)]
    struct Outer {
        list: Vec<Inner>,
    }

    #[test]
    fn errors_name_line_column_field_and_remedy() {
        let text = "(\n  list: [\n    (rating: 6),\n    (ratin: 10),\n  ],\n)\n";
        let e = parse::<Outer>("a.ron", text).unwrap_err();
        assert_eq!((e.line, e.field.as_str()), (4, "list[1].ratin"), "{e}");
        assert!(e.to_string().starts_with("a.ron, line 4, column"), "{e}");
        assert!(e.to_string().contains("correct the spelling"), "{e}");
    }

    #[test]
    fn a_byte_order_mark_is_no_error() {
        assert!(parse::<Outer>("a.ron", "\u{feff}(list: [(rating: 6)])").is_ok());
    }

    #[test]
    fn a_missing_bracket_says_to_look_a_line_up() {
        let e = parse::<Outer>("a.ron", "(\n  list: [\n (rating: 6),\n  \n)\n").unwrap_err();
        assert!(e.line >= 4, "{e:?}");
        assert!(
            e.remedy.contains("line before") || e.remedy.contains("one before"),
            "{e}"
        );
    }

    #[test]
    fn deep_nesting_is_refused() {
        let deep = format!("(list: {}", "[".repeat(100_000));
        assert!(parse::<Outer>("a.ron", &deep).is_err());
    }

    #[test]
    fn the_nearest_name_is_found() {
        let known = ["zs", "zdb", "ze", "ir-le", "ir-ll", "polarity"];
        assert_eq!(nearest("polarty", &known), "`polarity`");
        assert_eq!(nearest("ZS", &known), "`zs`");
        assert_eq!(nearest("ir-l", &known), "`ir-le` or `ir-ll`");
        assert_eq!(nearest("insulation", &known), "");
        assert_eq!(
            [
                distance("kitten", "sitting"),
                distance("", "abc"),
                distance("abc", "")
            ],
            [3, 3, 3]
        );
    }

    #[test]
    fn locate_finds_the_quoted_text_first() {
        assert_eq!(locate("a\nbb \"R\" R", "R"), (2, 4));
        assert_eq!(locate("abc", "z"), (0, 0));
        for text in [
            "// A\n(id: \"\\x41\")",
            "(c: '\"',\nid: \"\\u{41}\")",
            "(bar: \"r\",\nid: r#\"A\"#)",
            "(text: \"A\",\nid:\"A\")",
        ] {
            assert_eq!(locate(text, "id: \"A\"").0, 2, "{text}");
        }
    }
}
