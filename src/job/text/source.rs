//! What stands around the place where reading stopped.

/// A text and the place in it where reading stopped.
pub(super) struct Source<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Source<'a> {
    /// `line` and `column` count from 1, the column in characters.
    pub(super) fn new(text: &'a str, line: usize, column: usize) -> Self {
        let start = match line.saturating_sub(1) {
            0 => 0,
            n => text
                .match_indices('\n')
                .nth(n - 1)
                .map_or(text.len(), |(i, _)| i + 1),
        };
        let rest = text.get(start..).unwrap_or_default();
        let within = rest
            .char_indices()
            .nth(column.saturating_sub(1))
            .map_or(rest.len(), |(i, _)| i);
        Source {
            text,
            at: start + within,
        }
    }

    fn before(&self) -> &'a str {
        self.text.get(..self.at).unwrap_or_default()
    }

    /// What follows the place.
    pub(super) fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or_default()
    }

    /// The value of a field, as it is written; empty where it can't be found. The reader stops before it, in it or
    /// behind it, so the name is looked for backwards from the end of the line.
    pub(super) fn value_of(&self, field: &str) -> &'a str {
        let key = field.rsplit('.').next().unwrap_or_default();
        if key.is_empty() || !key.chars().all(|c| c.is_alphanumeric() || c == '_') {
            return "";
        }
        let end = self.at + self.rest().find('\n').unwrap_or(self.rest().len());
        let upto = self.text.get(..end).unwrap_or_default();
        let is_name = |c: char| c.is_alphanumeric() || c == '_';
        upto.rmatch_indices(key)
            .filter(|(i, _)| *i <= self.at)
            .filter(|(i, _)| !upto.get(..*i).unwrap_or_default().ends_with(is_name))
            .find_map(|(i, _)| {
                let after = self.text.get(i + key.len()..)?.trim_start();
                Some(token(after.strip_prefix(':')?.trim_start()))
            })
            .unwrap_or_default()
    }

    /// The digits on both sides of a comma at the place, or just before it.
    pub(super) fn number_with_comma(&self) -> Option<(&'a str, &'a str)> {
        let (before, rest) = match self.rest().strip_prefix(',') {
            Some(rest) => (self.before(), rest),
            None => (self.before().strip_suffix(',')?, self.rest()),
        };
        let start = before
            .rfind(|c: char| !c.is_ascii_digit())
            .map_or(0, |i| i + 1);
        let whole = before.get(start..)?;
        // `B1,2` is no number.
        let named = before
            .get(..start)?
            .ends_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | '"' | '.'));
        let end = rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len());
        let fraction = rest.get(..end)?;
        (!whole.is_empty() && !fraction.is_empty() && !named).then_some((whole, fraction))
    }

    /// Whether there is nothing in the text.
    pub(super) fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }

    /// Whether the place is a name in front of an opening bracket.
    pub(super) fn is_called(&self, name: &str) -> bool {
        let here = self.rest().trim_start();
        here.strip_prefix(name)
            .is_some_and(|after| after.trim_start().starts_with('('))
    }

    /// Whether the place comes right after a digit.
    pub(super) fn after_digit(&self) -> bool {
        self.before().ends_with(|c: char| c.is_ascii_digit())
    }

    /// The line in which a text begins that runs on over its line up to the place, so that its closing quote is probably
    /// missing, and whether there is a wrong quote in that line. At the end of the file it is the first such text.
    pub(super) fn unclosed_string(&self, at_end: bool) -> Option<(usize, bool)> {
        let strings = strings(self.text);
        let found = if at_end {
            strings.iter().find(|s| {
                !s.closed
                    || self
                        .text
                        .get(s.start..s.end)
                        .is_some_and(|t| t.contains('\n'))
            })?
        } else {
            // The next text's opening quote was taken for the closing one, so what follows it is read as if outside.
            strings.iter().find(|s| {
                s.closed
                    && s.end == self.at
                    && self
                        .text
                        .get(s.start..s.end)
                        .is_some_and(|t| t.contains('\n'))
            })?
        };
        let body = self.text.get(found.start..found.end)?;
        let first = body.lines().next().unwrap_or_default();
        let line = self.text.get(..found.start)?.matches('\n').count() + 1;
        Some((line, first.contains(['”', '“', '„', '‟', '’'])))
    }
}

/// What is between the quotes of a token, if it has them.
pub(super) fn quoted(token: &str) -> Option<&str> {
    token.strip_prefix('"')?.strip_suffix('"')
}

/// The value that `rest` starts with, without what follows it.
fn token(rest: &str) -> &str {
    let end = if rest.starts_with('"') {
        string_end(rest).0
    } else {
        rest.find([',', ')', ']', '}', '\n']).unwrap_or(rest.len())
    };
    rest.get(..end).unwrap_or_default().trim_end()
}

/// A text between quotes, with them.
struct Quoted {
    start: usize,
    end: usize,
    closed: bool,
}

/// Every text between quotes, as the reader sees them.
fn strings(text: &str) -> Vec<Quoted> {
    let mut out = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..)
        && let Some(c) = rest.chars().next()
    {
        if rest.starts_with("//") {
            at += rest.find('\n').unwrap_or(rest.len());
        } else if rest.starts_with("/*") {
            at += rest.find("*/").map_or(rest.len(), |i| i + 2);
        } else if let Some(length) = mark_length(rest) {
            at += length;
        } else if c == '"' || (is_raw(rest) && !goes_on(text, at)) {
            let (length, closed) = match c {
                '"' => string_end(rest),
                _ => raw_end(rest),
            };
            out.push(Quoted {
                start: at,
                end: at + length,
                closed,
            });
            at += length;
        } else {
            at += c.len_utf8();
        }
    }
    out
}

/// Where a text stands that reads as `value`, however it is written: as that field if there is one.
pub(super) fn written(text: &str, field: &str, value: &str) -> Option<usize> {
    let each = strings(text).into_iter().filter(|s| s.closed);
    let reads_so = each.filter(|s| {
        let written = text.get(s.start..s.end).unwrap_or_default();
        match written.starts_with('r') || written.contains('\\') {
            true => ron::from_str::<String>(written).is_ok_and(|read| read == value),
            false => written.trim_matches('"') == value,
        }
    });
    let found: Vec<usize> = reads_so.map(|s| s.start).collect();
    let of_field = |at: &&usize| {
        let before = text.get(..**at).unwrap_or_default().trim_end();
        let name = before.strip_suffix(':').map(str::trim_end);
        name.is_some_and(|n| !field.is_empty() && n.ends_with(field))
    };
    found.iter().find(of_field).or(found.first()).copied()
}

/// Whether a raw text begins here: `r"`, `r#"`.
fn is_raw(rest: &str) -> bool {
    let after = rest.strip_prefix('r').map(|r| r.trim_start_matches('#'));
    after.is_some_and(|r| r.starts_with('"'))
}

/// Whether what stands there is the end of a longer name.
fn goes_on(text: &str, at: usize) -> bool {
    let before = text.get(..at).unwrap_or_default();
    before.ends_with(|c: char| c.is_alphanumeric() || c == '_')
}

/// Length of the raw text that `rest` starts with, and whether it ends.
fn raw_end(rest: &str) -> (usize, bool) {
    let hashes = rest.chars().skip(1).take_while(|c| *c == '#').count();
    let end = format!("\"{}", "#".repeat(hashes));
    let body = hashes + 2;
    match rest.get(body..).and_then(|r| r.find(&end)) {
        Some(at) => (body + at + end.len(), true),
        None => (rest.len(), false),
    }
}

/// Length of a single sign between marks, such as `'"'`, that `rest` starts with.
fn mark_length(rest: &str) -> Option<usize> {
    let inner = rest.strip_prefix('\'')?;
    let sign = inner.chars().next().filter(|c| *c != '\\')?;
    let after = inner.get(sign.len_utf8()..)?;
    after.starts_with('\'').then_some(2 + sign.len_utf8())
}

/// Length of the text between quotes that `rest` starts with, and whether it ends.
fn string_end(rest: &str) -> (usize, bool) {
    let mut escaped = false;
    for (i, c) in rest.char_indices().skip(1) {
        match c {
            '"' if !escaped => return (i + 1, true),
            _ => escaped = c == '\\' && !escaped,
        }
    }
    (rest.len(), false)
}
