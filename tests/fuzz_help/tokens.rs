//! Text in pieces, near enough to RON: comments and blanks, texts between quotes, words and numbers, single signs.

use std::borrow::Cow;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Blank,
    Text,
    Word,
    Number,
    Sign,
}

#[derive(Clone, Debug)]
pub struct Piece<'a> {
    pub kind: Kind,
    pub text: Cow<'a, str>,
}

impl Piece<'_> {
    pub fn new(kind: Kind, text: impl Into<String>) -> Piece<'static> {
        Piece {
            kind,
            text: Cow::Owned(text.into()),
        }
    }

    pub fn is(&self, signs: &str) -> bool {
        self.kind == Kind::Sign && self.text.len() == 1 && signs.contains(self.text.as_ref())
    }

    pub fn is_value(&self) -> bool {
        matches!(self.kind, Kind::Text | Kind::Word | Kind::Number)
    }
}

fn length(rest: &str) -> (Kind, usize) {
    let first = rest.chars().next().unwrap();
    let end_of = |kind, end: Option<usize>| (kind, end.unwrap_or(rest.len()));
    let word = |c: char| c.is_alphanumeric() || matches!(c, '_' | '.' | '-' | '+');
    if rest.starts_with("//") {
        return end_of(Kind::Blank, rest.find('\n'));
    }
    if first.is_whitespace() {
        return end_of(Kind::Blank, rest.find(|c: char| !c.is_whitespace()));
    }
    if first == '"' {
        let mut escaped = false;
        for (i, c) in rest.char_indices().skip(1) {
            if c == '"' && !escaped {
                return (Kind::Text, i + 1);
            }
            escaped = c == '\\' && !escaped;
        }
        return (Kind::Text, rest.len());
    }
    if word(first) {
        let kind = if first.is_alphabetic() || first == '_' {
            Kind::Word
        } else {
            Kind::Number
        };
        return end_of(kind, rest.find(|c| !word(c)));
    }
    (Kind::Sign, first.len_utf8())
}

pub fn pieces(text: &str) -> Vec<Piece<'_>> {
    let mut out = Vec::new();
    let mut at = 0;
    while at < text.len() {
        let (kind, n) = length(&text[at..]);
        out.push(Piece {
            kind,
            text: Cow::Borrowed(&text[at..at + n]),
        });
        at += n;
    }
    out
}

/// From the piece at `at` to the end of the value or field that begins there: over brackets, up to its comma.
pub fn span(pieces: &[Piece<'_>], at: usize) -> usize {
    let mut depth = 0_usize;
    for (i, piece) in pieces.iter().enumerate().skip(at) {
        if piece.is("([{") {
            depth += 1;
        } else if piece.is(")]}") {
            if depth == 0 {
                return i;
            }
            depth -= 1;
        } else if piece.is(",") && depth == 0 {
            return i + 1;
        }
    }
    pieces.len()
}
