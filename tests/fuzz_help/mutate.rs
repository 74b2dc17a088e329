//! What is done to sound input: by somebody who knows RON, by an editor, and by a disk.

use std::collections::{BTreeMap, BTreeSet};

use super::tokens::{Kind, Piece, pieces, span};
use crate::store_help::chance::Chance;

/// What stands in the place of a value.
const VALUES: &[&str] = &[
    "0",
    "-0",
    "-1",
    "1",
    "65535",
    "65536",
    "4294967295",
    "4294967296",
    "18446744073709551615",
    "18446744073709551616",
    "-9223372036854775808",
    "340282366920938463463374607431768211456",
    "79228162514264337593543950335",
    "79228162514264337593543950336",
    "1e308",
    "1e309",
    "-1e400",
    "1e-400",
    "0.00000000000000000000000000001",
    "NaN",
    "inf",
    "-inf",
    "+NaN",
    "0x7fffffff",
    "0b1",
    "0o7",
    "1_000",
    "1,5",
    "1.",
    ".5",
    "1e",
    "--1",
    "'a'",
    "b\"x\"",
    "r#\"x\"#",
    "r\"",
    "\"",
    "''",
    "()",
    "[]",
    "{}",
    "(())",
    "Some(1)",
    "Some(None)",
    "None",
    "Some(())",
    "true",
    "false",
    "\"\"",
    "\" \"",
    "\"\\u{0}\"",
    "\"\\u{110000}\"",
    "\"\\u{d800}\"",
    "\"\\x41\"",
    "\"\\q\"",
    "\"\\\"",
    "\"\\u{202e}\"",
    "\"a\nb\"",
    "\"a\\nb\"",
    "\"a\\rb\"",
    "\"\\t\"",
    "\"0.42\"",
    "\">999\"",
    "\"<0.01\"",
    "\">\"",
    "\"y\"",
    "\"lim: x\"",
    "\"n/a: x\"",
    "\"lim:\"",
    "\"1e5\"",
    "\"-0\"",
    "\"0,5\"",
    "\"99999999999999999999999999999\"",
    "\"0.0000000000000000000000000000000001\"",
    "\"1 2 3\"",
    "\"\u{661}\"",
    "\"０.５\"",
    "\"2026-02-30\"",
    "\"9999-12-31\"",
    "\"-0001-01-01\"",
    "\"+262142-12-31\"",
    "\"+262142-12-31T23:59:59+00:00\"",
    "\"-262143-01-01T00:00:00+00:00\"",
    "\"2026-01-01T00:00:00+23:59\"",
    "\"2026-06-30T23:59:60+01:00\"",
    "\"2026-01-01T00:00:00-00:00\"",
    "\"0000-01-01T00:00:00+00:00\"",
    "\"/\"",
    "\"..\"",
    "\"R/1/zs\"",
    "\"R\"",
    "\"R/1\"",
    "\"supply\"",
    "\"grid\"",
    "\"label\"",
    "\"safe\"",
    "#![enable(unwrap_newtypes)]",
    "/*",
    "*/",
    "//",
];

/// Characters that fonts, terminals and editors stumble over.
pub const ODD: &[&str] = &[
    "\u{0}",
    "\u{7}",
    "\u{8}",
    "\u{1b}[2J",
    "\u{7f}",
    "\u{85}",
    "\u{a0}",
    "\u{ad}",
    "\u{300}",
    "\u{301}\u{302}\u{303}",
    "\u{5d0}",
    "\u{600}",
    "\u{200b}",
    "\u{200d}",
    "\u{2028}",
    "\u{2029}",
    "\u{202e}",
    "\u{2066}",
    "\u{3000}",
    "\u{feff}",
    "\u{fffd}",
    "\u{ffff}",
    "\u{1f468}\u{200d}\u{1f469}\u{200d}\u{1f467}",
    "\u{1f1ec}\u{1f1e7}",
    "\u{10ffff}",
    "漢字",
    "ﷺ",
    "Ω",
    "²",
    "e\u{301}",
    "\t",
    "\r",
    "\n",
    "\r\n",
    "\\",
    "\"",
    "'",
    "`",
    "“",
    "”",
    "|",
    "%",
    "{}",
    "<",
    ">",
    ",",
];

/// Sound input, in the shapes in which it is spoilt.
pub struct Mutator {
    corpus: Vec<Vec<u8>>,
    /// Every text, word and number that occurs, once.
    words: Vec<(Kind, String)>,
    /// Every value that occurs behind a key, brackets and all, once.
    behind: BTreeMap<String, Vec<String>>,
}

impl Mutator {
    pub fn new(corpus: Vec<Vec<u8>>) -> Mutator {
        let mut words = BTreeMap::new();
        let mut behind: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for text in corpus.iter().filter_map(|b| std::str::from_utf8(b).ok()) {
            let all = pieces(text);
            for (i, piece) in all.iter().enumerate() {
                if piece.is_value() && piece.text.len() < 60 {
                    words.insert(piece.text.to_string(), piece.kind);
                }
                if piece.is(":") && i > 0 && all[i - 1].is_value() {
                    let value: String = all[i + 1..span(&all, i + 1).min(i + 60)]
                        .iter()
                        .map(|p| p.text.as_ref())
                        .collect();
                    let value = value.trim().trim_end_matches(',');
                    let known = behind.entry(all[i - 1].text.to_string()).or_default();
                    if known.len() < 200 {
                        known.insert(value.to_string());
                    }
                }
            }
        }
        Mutator {
            corpus,
            words: words.into_iter().map(|(t, k)| (k, t)).collect(),
            behind: behind
                .into_iter()
                .map(|(key, values)| (key, values.into_iter().collect()))
                .collect(),
        }
    }

    /// Sound input; short ones more often.
    pub fn base(&self, chance: &mut Chance) -> &[u8] {
        let mut pick = || &self.corpus[chance.below(self.corpus.len())];
        let (a, b, c) = (pick(), pick(), pick());
        if chance.below(8) == 0 {
            return a;
        }
        [a, b, c].into_iter().min_by_key(|x| x.len()).unwrap()
    }

    /// How many changes: mostly one or two.
    pub fn few(chance: &mut Chance) -> usize {
        let mut n = 1;
        while n < 12 && chance.below(5) < 2 {
            n += 1;
        }
        n
    }

    /// RON, changed in its pieces and sometimes in its bytes.
    pub fn ron(&self, chance: &mut Chance) -> Vec<u8> {
        let base = self.base(chance);
        self.spoil(base, chance)
    }

    pub fn spoil(&self, base: &[u8], chance: &mut Chance) -> Vec<u8> {
        let text = String::from_utf8_lossy(base);
        let mut now = pieces(&text);
        for _ in 0..Mutator::few(chance) {
            self.change(&mut now, chance);
        }
        let mut out = String::with_capacity(text.len() + 64);
        for piece in &now {
            out.push_str(&piece.text);
        }
        let mut bytes = out.into_bytes();
        if chance.below(6) == 0 {
            Mutator::bytes(&mut bytes, chance);
        }
        bytes
    }

    fn word(&self, kind: Kind, chance: &mut Chance) -> Piece<'static> {
        for _ in 0..20 {
            let (k, text) = &self.words[chance.below(self.words.len())];
            if *k == kind {
                return Piece::new(kind, text.clone());
            }
        }
        Piece::new(kind, "0")
    }

    /// One change of pieces.
    fn change(&self, now: &mut Vec<Piece<'_>>, chance: &mut Chance) {
        if now.is_empty() {
            now.push(Piece::new(Kind::Sign, "("));
        }
        let anywhere = chance.below(now.len());
        // Nearly everything of interest is done to a value.
        let value = (0..now.len().min(400))
            .map(|i| (anywhere + i) % now.len())
            .find(|i| now[*i].is_value());
        let Some(at) = value else {
            let odd = ODD[chance.below(ODD.len())];
            now.insert(anywhere, Piece::new(Kind::Sign, odd));
            return;
        };
        let kind = now[at].kind;
        // What stands elsewhere behind the same key is likely to be taken.
        if now.get(at + 1).is_some_and(|p| p.is(":")) && chance.below(3) > 0 {
            if let Some(values) = self.behind.get(now[at].text.as_ref()) {
                let value = values[chance.below(values.len())].clone();
                let end = span(now, at + 2);
                let end = end - usize::from(end > at + 2 && now[end - 1].is(","));
                now.splice(at + 2..end, [Piece::new(Kind::Text, format!(" {value}"))]);
            }
            return;
        }
        match chance.below(20) {
            0..=3 => now[at] = self.word(kind, chance),
            4..=5 => now[at] = Piece::new(Kind::Text, VALUES[chance.below(VALUES.len())]),
            6..=7 if kind == Kind::Number => now[at] = digits(&now[at].text, chance),
            6..=8 => now[at] = letters(&now[at].text, chance),
            9 => {
                now.remove(anywhere);
            }
            10 => {
                let other = chance.below(now.len());
                now.swap(anywhere, other);
            }
            11 => {
                let same = now[anywhere].clone();
                now.insert(anywhere, same);
            }
            // A whole field or element is given twice, elsewhere, or not at all.
            12 | 13 => {
                let end = span(now, at);
                let field: Vec<_> = now[at..end.min(at + 4000)].to_vec();
                now.splice(at..at, field);
            }
            14 => {
                let end = span(now, at);
                now.drain(at..end);
            }
            15 => {
                let end = span(now, at);
                let field: Vec<_> = now.drain(at..end).collect();
                let to = chance.below(now.len() + 1);
                now.splice(to..to, field);
            }
            16 => {
                let other = (0..now.len()).map(|i| (at + 1 + i) % now.len());
                if let Some(i) = other.into_iter().find(|i| now[*i].is("([{)]}")) {
                    if chance.below(2) == 0 {
                        now.remove(i);
                    } else {
                        let sign = ["(", "[", "{", ")", "]", "}"][chance.below(6)];
                        now[i] = Piece::new(Kind::Sign, sign);
                    }
                }
            }
            17 => {
                let sign = [",", ":", ";", ".", "/*", "*/", "//", "\"", "#", "\\"];
                now.insert(anywhere, Piece::new(Kind::Sign, sign[chance.below(10)]));
            }
            18 => now[at] = deep(&now[at].text, chance),
            _ => {
                let a = (at, span(now, at));
                let other = chance.below(now.len());
                let b: Vec<_> = now[other..span(now, other).min(other + 4000)].to_vec();
                now.splice(a.0..a.1, b);
            }
        }
    }

    /// What an editor, a transfer or a disk does.
    pub fn bytes(bytes: &mut Vec<u8>, chance: &mut Chance) {
        let at = chance.below(bytes.len() + 1);
        match chance.below(12) {
            0 if at < bytes.len() => bytes[at] ^= 1 << chance.below(8),
            1 => {
                let bad: &[&[u8]] = &[
                    b"\xff",
                    b"\xc3",
                    b"\xed\xa0\x80",
                    b"\xf4\x90\x80\x80",
                    b"\0",
                    b"\x80",
                    b"\xc0\x80",
                ];
                bytes.splice(at..at, bad[chance.below(bad.len())].iter().copied());
            }
            2 => bytes.truncate(at),
            3 => {
                bytes.splice(0..0, *b"\xef\xbb\xbf");
            }
            4 => {
                let end: &[u8] = [
                    b"\r\n".as_slice(),
                    b"\r",
                    b"\n\n",
                    b"\x0b",
                    "\u{2028}".as_bytes(),
                ][chance.below(5)];
                let mut out = Vec::with_capacity(bytes.len() + 64);
                for b in bytes.iter() {
                    match b {
                        b'\n' => out.extend_from_slice(end),
                        b => out.push(*b),
                    }
                }
                *bytes = out;
            }
            5 => bytes.retain(|b| *b != b'\n'),
            6 => {
                let n = [100, 10_000, 100_000][chance.below(3)];
                let fill = [b' ', b'0', b'(', b'"', b'\n', b'a', 0][chance.below(7)];
                bytes.splice(at..at, std::iter::repeat_n(fill, n));
            }
            7 => {
                let end = (at + chance.below(2000)).min(bytes.len());
                let some = bytes[at..end].to_vec();
                bytes.splice(at..at, some);
            }
            8 => {
                let end = (at + chance.below(2000)).min(bytes.len());
                bytes[at..end].fill(0);
            }
            9 => {
                let end = (at + chance.below(200)).min(bytes.len());
                bytes.drain(at..end);
            }
            10 => {
                let utf16 = String::from_utf8_lossy(bytes).into_owned();
                *bytes = utf16.encode_utf16().flat_map(u16::to_le_bytes).collect();
            }
            _ => {
                let odd = ODD[chance.below(ODD.len())];
                bytes.splice(at..at, odd.bytes());
            }
        }
    }

    /// Lines of words: one is changed, left out, given twice or exchanged.
    pub fn lines(&self, chance: &mut Chance) -> Vec<u8> {
        let text = String::from_utf8_lossy(self.base(chance)).into_owned();
        let mut lines: Vec<String> = text.lines().map(String::from).collect();
        for _ in 0..Mutator::few(chance) {
            let at = chance.below(lines.len().max(1));
            match chance.below(7) {
                0 if !lines.is_empty() => {
                    lines.remove(at);
                }
                1 if !lines.is_empty() => lines.push(lines[at].clone()),
                2 => {
                    let other = String::from_utf8_lossy(self.base(chance)).into_owned();
                    let other: Vec<&str> = other.lines().collect();
                    if !other.is_empty() {
                        lines.push(other[chance.below(other.len())].to_string());
                    }
                }
                _ if !lines.is_empty() => {
                    let mut now: Vec<Piece<'static>> = pieces(&lines[at])
                        .iter()
                        .map(|p| Piece::new(p.kind, p.text.as_ref()))
                        .collect();
                    self.change(&mut now, chance);
                    // A deep nest isn't of interest here, and can't be typed.
                    lines[at] = now.iter().map(|p| p.text.as_ref()).collect();
                    if lines[at].len() > 100_000 {
                        lines[at].truncate(0);
                    }
                }
                _ => {}
            }
        }
        lines.join("\n").into_bytes()
    }
}

fn digits(text: &str, chance: &mut Chance) -> Piece<'static> {
    let out = match chance.below(7) {
        0 => format!("{text}{}", "9".repeat(1 + chance.below(40))),
        1 => format!("-{text}"),
        2 => format!("{text}.{}", chance.below(1000)),
        3 => format!("{text}e{}", chance.below(500)),
        4 => chance.below(100_000).to_string(),
        5 => format!("0.{}1", "0".repeat(chance.below(40))),
        _ => "9".repeat(1 + chance.below(3000)),
    };
    Piece::new(Kind::Number, out)
}

/// A text or word with one place changed.
fn letters(text: &str, chance: &mut Chance) -> Piece<'static> {
    let mut chars: Vec<char> = text.chars().collect();
    // Between the quotes.
    let inner = chars.len().saturating_sub(2);
    let at = if text.starts_with('"') {
        1 + chance.below(inner.max(1))
    } else {
        chance.below(chars.len().max(1))
    };
    let at = at.min(chars.len());
    match chance.below(6) {
        0 => {
            let n = [10, 100, 500, 5000][chance.below(4)];
            chars.splice(at..at, "Wm ".chars().cycle().take(n));
        }
        1 if at < chars.len() => {
            chars.remove(at);
        }
        2 if at < chars.len() && chars[at].is_ascii_digit() => {
            chars[at] = char::from(b'0' + u8::try_from(chance.below(10)).unwrap());
        }
        3 if at < chars.len() => {
            let c = chars[at];
            chars.insert(at, c);
        }
        4 => {
            let sign = "0123456789.,-<>/: ayn"
                .chars()
                .nth(chance.below(21))
                .unwrap();
            chars.insert(at, sign);
        }
        _ => {
            let odd = ODD[chance.below(ODD.len())];
            chars.splice(at..at, odd.chars());
        }
    }
    Piece::new(Kind::Text, chars.into_iter().collect::<String>())
}

/// A value within very many brackets, closed or not.
fn deep(text: &str, chance: &mut Chance) -> Piece<'static> {
    let n = [3, 60, 127, 130, 500, 20_000][chance.below(6)];
    let (open, close) = [
        ("(", ")"),
        ("[", "]"),
        ("{\"a\":", "}"),
        ("Some(", ")"),
        ("(a:", ")"),
        ("Branches([", "])"),
        ("{", "}"),
        ("/*", "*/"),
        ("Together([", "])"),
    ][chance.below(9)];
    let close = if chance.below(3) == 0 { "" } else { close };
    Piece::new(
        Kind::Text,
        format!("{}{text}{}", open.repeat(n), close.repeat(n)),
    )
}
