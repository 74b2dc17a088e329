//! Where a field stands in a job file. The reader gives places only to what it can't read; what it can read and is
//! wrong all the same (`boards[0].circuits[2].device`, `R/3/zs`) is looked up here.

use std::collections::HashMap;

use crate::job::{Group, Job, Layout, Place};

/// The place of every field of a text. Made once for all its problems: going through a large job takes a while.
pub(super) struct Spots<'a> {
    text: &'a str,
    fields: HashMap<String, usize>,
    /// Where each line starts.
    lines: Vec<usize>,
}

impl<'a> Spots<'a> {
    /// The places of `text`, which was read before.
    pub(super) fn of(text: &'a str) -> Self {
        let mut places = HashMap::new();
        for (path, at) in fields(text) {
            places.entry(path).or_insert(at);
        }
        let ends = text.match_indices('\n').map(|(i, _)| i + 1);
        Spots {
            text,
            fields: places,
            lines: std::iter::once(0).chain(ends).collect(),
        }
    }

    /// Line and column (from 1) of the field with that path or place, or of the nearest thing around it.
    pub(super) fn find(&self, job: &Job, field: &str) -> (usize, usize) {
        let path = match field.parse::<Place>() {
            Ok(place) => path_of(job, &place).unwrap_or_default(),
            Err(_) => field.to_string(),
        };
        let mut wanted = path.as_str();
        loop {
            if let Some(at) = self.fields.get(wanted) {
                return self.line_and_column(*at);
            }
            let Some(end) = wanted.rfind(['.', '[']) else {
                return (0, 0);
            };
            wanted = wanted.get(..end).unwrap_or_default();
        }
    }

    fn line_and_column(&self, at: usize) -> (usize, usize) {
        let line = self.lines.partition_point(|start| *start <= at);
        let start = self.lines.get(line.saturating_sub(1)).copied().unwrap_or(0);
        let before = self.text.get(start..at).unwrap_or_default();
        (line, before.chars().count() + 1)
    }
}

/// The path of a place's entry.
fn path_of(job: &Job, place: &Place) -> Option<String> {
    let top = place.top.as_str();
    let owner = match place.part.as_deref() {
        None => match top {
            "supply" | "grid" => format!("{top}.readings"),
            _ if Group::ALL.iter().any(|g| g.key() == top) => top.to_string(),
            _ => match job.boards.iter().position(|b| b.id == top) {
                Some(i) => format!("boards[{i}].readings"),
                None => {
                    let i = job.storage.iter().position(|s| s.id == top)?;
                    format!("storage[{i}].readings")
                }
            },
        },
        Some(part) if top == Group::Bond.key() => {
            let i = job.bonds.iter().position(|b| b.id == part)?;
            format!("bonds[{i}].readings")
        }
        Some(part) if top == Group::Label.key() => format!("labels.{part}"),
        Some(part) => match job.boards.iter().position(|b| b.id == top) {
            Some(i) => {
                let circuits = &job.boards.get(i)?.circuits;
                let j = circuits.iter().position(|c| c.id == part)?;
                format!("boards[{i}].circuits[{j}].readings")
            }
            None => {
                let i = job.arrays.iter().position(|a| a.id == top)?;
                let j = match &job.arrays.get(i)?.layout {
                    Layout::Branches(list) => list.iter().position(|b| b.id == part)?,
                    Layout::Strings(list) => list.iter().position(|s| s.id == part)?,
                };
                format!("arrays[{i}].layout[{j}].readings")
            }
        },
    };
    Some(format!("{owner}.{}", place.test.key()))
}

/// An open bracket.
enum Frame {
    /// `(` or `{`: the path ends in the key that was read last.
    Keys(Option<String>),
    /// `[`: the path ends in the number of the element.
    List(usize),
}

fn path(stack: &[Frame]) -> String {
    let mut out = String::new();
    for frame in stack {
        match frame {
            Frame::Keys(Some(key)) => {
                if !out.is_empty() {
                    out.push('.');
                }
                out.push_str(key);
            }
            // A variant around its content, such as `Branches([…])`.
            Frame::Keys(None) => {}
            Frame::List(n) => out.push_str(&format!("[{n}]")),
        }
    }
    out
}

/// Where a field that starts at `at` ends, with the comma after it.
pub(super) fn field_ends(text: &str, at: usize) -> usize {
    let mut depth = 0_usize;
    let mut at = at;
    while let Some(rest) = text.get(at..)
        && let Some(c) = rest.chars().next()
    {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' if depth == 0 => return at,
            ')' | ']' | '}' => depth -= 1,
            ',' if depth == 0 => return at + 1,
            _ if rest.starts_with("//") => {
                at += rest.find('\n').unwrap_or(rest.len());
                continue;
            }
            _ if rest.starts_with("/*") => {
                at += rest.find("*/").map_or(rest.len(), |i| i + 2);
                continue;
            }
            _ => {
                at += word(rest);
                continue;
            }
        }
        at += 1;
    }
    text.len()
}

/// The path and position of every field and list element, in order. The text was read before, so its brackets match.
pub(super) fn fields(text: &str) -> Vec<(String, usize)> {
    let mut out = Vec::new();
    let mut stack: Vec<Frame> = Vec::new();
    let mut at = 0;
    // The start of a list element is only known from what comes next.
    let mut element_starts = false;
    while let Some(rest) = text.get(at..)
        && let Some(c) = rest.chars().next()
    {
        if c.is_whitespace() || c == '\u{feff}' {
            at += c.len_utf8();
            continue;
        }
        if rest.starts_with("//") {
            at += rest.find('\n').unwrap_or(rest.len());
            continue;
        }
        if rest.starts_with("/*") {
            at += rest.find("*/").map_or(rest.len(), |i| i + 2);
            continue;
        }
        if element_starts && c != ']' {
            out.push((path(&stack), at));
        }
        element_starts = false;
        match c {
            '(' | '{' => stack.push(Frame::Keys(None)),
            '[' => {
                stack.push(Frame::List(0));
                element_starts = true;
            }
            ')' | '}' | ']' => {
                stack.pop();
            }
            ',' => {
                if let Some(Frame::List(n)) = stack.last_mut() {
                    *n += 1;
                    element_starts = true;
                }
            }
            _ => {
                let length = word(rest);
                let token = rest.get(..length).unwrap_or_default();
                let next = rest.get(length..).unwrap_or_default().trim_start();
                if next.starts_with(':')
                    && let Some(Frame::Keys(key)) = stack.last_mut()
                {
                    *key = Some(token.trim_matches('"').to_string());
                    out.push((path(&stack), at));
                }
                at += length;
                continue;
            }
        }
        at += c.len_utf8();
    }
    out
}

/// Length of the text between quotes, name or number, or single sign, that `rest` starts with; never 0.
fn word(rest: &str) -> usize {
    let raw = rest
        .strip_prefix('r')
        .map_or(0, |r| r.chars().take_while(|c| *c == '#').count());
    if raw > 0 || rest.starts_with("r\"") {
        let close = format!("\"{}", "#".repeat(raw));
        let body = raw + 2;
        return rest
            .get(body..)
            .and_then(|r| r.find(&close))
            .map_or(rest.len(), |i| body + i + close.len());
    }
    if rest.starts_with('"') {
        let mut escaped = false;
        for (i, c) in rest.char_indices().skip(1) {
            match c {
                '"' if !escaped => return i + 1,
                _ => escaped = c == '\\' && !escaped,
            }
        }
        return rest.len();
    }
    let named = rest
        .find(|c: char| !c.is_alphanumeric() && !matches!(c, '_' | '-' | '+' | '.'))
        .unwrap_or(rest.len());
    if named > 0 {
        named
    } else {
        rest.chars().next().map_or(1, char::len_utf8)
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn paths_go_through_comments_variants_maps_and_strings() {
        let text = "// c: (\n(\n  a: \"x: ( \\\" [\", /* b: 1 */\n  list: [\n    (id: \"1\"), (id: \"2\", of: Kind(\"c\")),\n  ],\n  layout: Branches([(n: 1.5), (map: {\"zs\": (now: 1)})]),\n  raw: r#\"a\" b: \"#,\n  end: -3,\n)";
        let spots = Spots::of(text);
        let found = &spots.fields;
        let at = |path: &str| spots.line_and_column(*found.get(path).unwrap());
        assert_eq!(at("list[0]"), (5, 5));
        assert_eq!(at("list[1].id"), (5, 17));
        assert_eq!(at("layout[1].map.zs.now"), (7, 45));
        assert_eq!(at("end"), (9, 3));
        assert!(!found.keys().any(|p| p == "b" || p == "c"), "{found:?}");
    }
}
