//! Reading RON strictly, with errors that name file, line, column, field and remedy.

use std::fmt;

use ron::extensions::Extensions;
use serde::de::DeserializeOwned;

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
        if !self.field.is_empty() && self.field != "." {
            write!(f, ", field {}", self.field)?;
        }
        write!(f, ": {}", self.what)?;
        if self.remedy.is_empty() {
            Ok(())
        } else {
            write!(f, "; {}", self.remedy)
        }
    }
}

impl std::error::Error for TextError {}

/// The RON dialect of this program: plain values where an option is present.
pub fn options() -> ron::Options {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME)
}

/// Reads `text` as a `T`.
///
/// # Errors
/// The first thing that can't be read, with its place and a remedy.
pub fn parse<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, TextError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let error = |spanned: ron::error::SpannedError, field: String| {
        let what = spanned.code.to_string();
        TextError {
            file: file.to_string(),
            line: spanned.span.start.line,
            column: spanned.span.start.col,
            field,
            remedy: remedy(&what).to_string(),
            what,
        }
    };
    let options = options();
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

/// Line and column (from 1) of the first place where `near` stands in `text`, between quotes if possible.
pub fn locate(text: &str, near: &str) -> (usize, usize) {
    if near.is_empty() {
        return (0, 0);
    }
    let Some(at) = text
        .find(&format!("\"{near}\""))
        .or_else(|| text.find(near))
    else {
        return (0, 0);
    };
    let before = text.get(..at).unwrap_or("");
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    (line, column)
}

fn remedy(what: &str) -> &'static str {
    let what = what.to_lowercase();
    if what.contains("unexpected field")
        || what.contains("unknown field")
        || what.contains("unexpected fields")
    {
        "correct the spelling or remove the field"
    } else if what.contains("missing") && what.contains("field")
        || what.contains("unexpected missing")
    {
        "add the field"
    } else if what.contains("unexpected variant")
        || what.contains("unknown variant")
        || what.contains("unexpected enum variant")
    {
        "use one of the words that are expected"
    } else if what.contains("comma")
        || what.contains("closing")
        || what.contains("opening")
        || what.contains("expected end")
        || what.contains("eof")
        || what.contains("end of")
    {
        "look at this line and the one before it for a missing comma, bracket or quote; numbers take a decimal point, not a comma"
    } else if what.contains("exceeded recursion") || what.contains("recursion") {
        "brackets are nested far too deep: this is not a file of this program"
    } else {
        "correct this value"
    }
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
    fn locate_finds_the_quoted_text_first() {
        assert_eq!(locate("a\nbb \"R\" R", "R"), (2, 4));
        assert_eq!(locate("abc", "z"), (0, 0));
    }
}
