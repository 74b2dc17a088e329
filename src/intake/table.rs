//! The rows of a file, strictly: text in UTF-8, quotes that are closed, and every line where it stands.

use csv::{ReaderBuilder, StringRecord, Trim};

use super::mapping::Mapping;
use super::units::brief;
use crate::job::text::TextError;

/// Longest file, in bytes.
pub const LONGEST_FILE: u64 = 16 * 1024 * 1024;
/// Most rows.
const MOST_ROWS: usize = 100_000;

/// The cells of a file.
#[derive(Debug)]
pub(super) struct Table {
    /// Headings; the numbers of the columns where there are none.
    pub(super) headings: Vec<String>,
    /// Rows with their lines.
    pub(super) rows: Vec<(u64, StringRecord)>,
}

impl Table {
    /// The column of a heading, where there is one.
    pub(super) fn column(&self, heading: &str) -> Option<usize> {
        self.headings.iter().position(|h| h == heading)
    }
}

/// Reads a file by a mapping.
///
/// # Errors
/// What makes the whole of it unusable: too long, no text, an open quote, a column that is missing or there twice. What is wrong in
/// one row or cell is no error here.
pub(super) fn read(file: &str, bytes: &[u8], mapping: &Mapping) -> Result<Table, TextError> {
    let error = |line: u64, what: String, remedy: &str| TextError {
        file: file.to_string(),
        line: usize::try_from(line).unwrap_or(usize::MAX),
        column: 1,
        field: String::new(),
        what,
        remedy: remedy.to_string(),
    };
    if bytes.len() as u64 > LONGEST_FILE {
        return Err(error(
            0,
            format!("longer than {} MB", LONGEST_FILE >> 20),
            "take a part of it",
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let good = bytes.get(..e.valid_up_to()).unwrap_or_default();
        let line = Lines::of(good).at(good.len());
        error(
            line,
            "not UTF-8 text".into(),
            "save it as UTF-8 (\"CSV UTF-8\"), or choose that where the instrument is read out",
        )
    })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (text, above) = without_first(text, mapping.skip);
    let separator = mapping.separator.bytes().next().unwrap_or(b',');
    if let Err((line, what)) = quotes_close(text, char::from(separator)) {
        return Err(error(
            above + line,
            what,
            "look for a quote that is missing, or for the wrong separator in the mapping",
        ));
    }
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .trim(Trim::All)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    let mut lines = Lines::of(text.as_bytes());
    for record in reader.records() {
        let record =
            record.map_err(|e| error(0, e.to_string(), "write it anew from the instrument"))?;
        let byte = record.position().map_or(0, csv::Position::byte);
        let line = lines.at(usize::try_from(byte).unwrap_or(usize::MAX)) + above;
        // Lines of blanks and separators alone are no rows.
        if record.iter().all(str::is_empty) {
            continue;
        }
        if rows.len() > MOST_ROWS {
            return Err(error(
                line,
                format!("more than {MOST_ROWS} rows"),
                "take a part of the file",
            ));
        }
        rows.push((line, record));
    }
    if rows.is_empty() {
        return Err(error(
            0,
            "no row is in it".into(),
            "look whether `skip` of the mapping passes over too much",
        ));
    }
    let first = rows.first().map_or(0, |(line, _)| *line);
    let headings: Vec<String> = match (mapping.headings, rows.first()) {
        (true, Some((_, head))) => head.iter().map(str::to_string).collect(),
        (_, head) => (1..=head.map_or(0, |(_, r)| r.len()))
            .map(|n| n.to_string())
            .collect(),
    };
    if mapping.headings {
        rows.remove(0);
    }
    let table = Table { headings, rows };
    for (column, field) in mapping.columns() {
        let found = table.headings.iter().filter(|h| *h == column).count();
        if found != 1 {
            let named: Vec<String> = table
                .headings
                .iter()
                .take(40)
                .map(|h| format!("`{}`", brief(h)))
                .collect();
            let what = match found {
                0 => format!(
                    "no column `{column}`, which the mapping names under `{field}`; there are: {}",
                    named.join(", ")
                ),
                n => format!(
                    "{n} columns are called `{column}`, which the mapping names under `{field}`"
                ),
            };
            return Err(error(
                first,
                what,
                "put the mapping right: headings as they stand in the file, or their line by `skip`",
            ));
        }
    }
    Ok(table)
}

/// Counts lines by bytes, as editors do: each ends with LF, CR LF or a CR alone.
struct Lines<'a> {
    bytes: &'a [u8],
    /// Counted up to here.
    to: usize,
    /// Ends of lines before that.
    ends: u64,
}

impl<'a> Lines<'a> {
    fn of(bytes: &'a [u8]) -> Self {
        Lines {
            bytes,
            to: 0,
            ends: 0,
        }
    }

    /// The line, from 1, of the row that begins at or behind that byte: ends of lines right before it are passed over. Asked in order.
    fn at(&mut self, byte: usize) -> u64 {
        let byte_of = |i: usize| self.bytes.get(i).copied();
        let mut start = byte.max(self.to);
        while matches!(byte_of(start), Some(b'\r' | b'\n')) {
            start += 1;
        }
        let ends = (self.to..start).filter(|i| match byte_of(*i) {
            Some(b'\n') => true,
            Some(b'\r') => byte_of(i + 1) != Some(b'\n'),
            _ => false,
        });
        self.ends += ends.count() as u64;
        self.to = start;
        self.ends + 1
    }
}

/// How many bytes the first end of a line and what is before it have; `None` where there is none.
fn end_of_line(text: &str) -> Option<usize> {
    let at = text.find(['\r', '\n'])?;
    let two = text.get(at..).is_some_and(|rest| rest.starts_with("\r\n"));
    Some(at + if two { 2 } else { 1 })
}

/// The text behind its first `n` lines, and how many lines were there.
fn without_first(text: &str, n: usize) -> (&str, u64) {
    let mut rest = text;
    let mut gone = 0;
    while gone < n as u64 {
        let after = end_of_line(rest).and_then(|end| rest.get(end..));
        let Some(after) = after else {
            return ("", gone);
        };
        rest = after;
        gone += 1;
    }
    (rest, gone)
}

/// Whether every quote that opens a cell closes it: else the rest of the file would be one cell.
fn quotes_close(text: &str, separator: char) -> Result<(), (u64, String)> {
    let mut line = 1;
    let mut opened = None;
    let mut start = true;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        if opened.is_some() {
            if c == '"' && chars.peek() == Some(&'"') {
                chars.next();
            } else if c == '"' {
                opened = None;
                let next = chars.peek().copied();
                if next.is_some_and(|c| c != separator && !matches!(c, '\r' | '\n')) {
                    return Err((
                        line,
                        "text stands behind the closing quote of a cell".into(),
                    ));
                }
            }
        } else if c == '"' && start {
            opened = Some(line);
        }
        start = opened.is_none() && (c == separator || matches!(c, '\r' | '\n'));
        let is_end = c == '\n' || (c == '\r' && chars.peek() != Some(&'\n'));
        line += u64::from(is_end);
    }
    match opened {
        Some(line) => Err((line, "a quote is opened here and never closed".into())),
        None => Ok(()),
    }
}
