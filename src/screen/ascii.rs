//! Words and signs in ASCII, for terminals that have no others.

use std::borrow::Cow;

use unicode_width::UnicodeWidthChar;

/// What stands for a sign or a letter; `?` where nothing does.
fn word(c: char) -> &'static str {
    match c {
        'Ω' | '\u{2126}' => "ohm",
        'µ' | 'μ' => "u",
        '°' => "deg",
        '²' | '₂' => "2",
        '³' => "3",
        '¹' | '₁' => "1",
        '₀' => "0",
        '½' => "1/2",
        '≤' => "<=",
        '≥' => ">=",
        '≈' => "about ",
        '±' => "+/-",
        '×' => "x",
        '÷' => "/",
        '√' => "sqrt",
        'Δ' | '△' => "delta",
        'Σ' => "sum",
        'α' => "alpha",
        'β' => "beta",
        'γ' => "gamma",
        'θ' => "theta",
        '→' => "->",
        '←' => "<-",
        '↑' => "up",
        '↓' => "down",
        '…' => "...",
        '·' | '│' | '┃' | '║' => "|",
        '–' | '—' | '−' | '‐' | '‑' | '─' | '━' => "-",
        '═' => "=",
        '┌' | '┐' | '└' | '┘' | '├' | '┤' | '┬' | '┴' | '┼' => "+",
        '“' | '”' | '„' | '‟' | '«' | '»' => "\"",
        '‘' | '’' | '‚' => "'",
        '¶' => "\\",
        '•' | '●' | '■' | '◆' | '▲' => "*",
        '○' | '□' | '☐' => "o",
        '✓' | '☑' => "y",
        '✗' => "x",
        '£' => "GBP",
        '€' => "EUR",
        '\u{a0}' | '\u{2009}' | '\u{202f}' => " ",
        'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' | 'Ā' => "A",
        'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ā' | 'ą' => "a",
        'Æ' => "AE",
        'æ' => "ae",
        'Ç' | 'Ć' | 'Č' => "C",
        'ç' | 'ć' | 'č' => "c",
        'È' | 'É' | 'Ê' | 'Ë' | 'Ē' => "E",
        'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ę' => "e",
        'Ì' | 'Í' | 'Î' | 'Ï' => "I",
        'ì' | 'í' | 'î' | 'ï' => "i",
        'Ł' => "L",
        'ł' => "l",
        'Ñ' | 'Ń' => "N",
        'ñ' | 'ń' => "n",
        'Ò' | 'Ó' | 'Ô' | 'Õ' | 'Ö' | 'Ø' => "O",
        'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' => "o",
        'Œ' => "OE",
        'œ' => "oe",
        'Ś' | 'Š' => "S",
        'ś' | 'š' => "s",
        'ß' => "ss",
        'Ù' | 'Ú' | 'Û' | 'Ü' => "U",
        'ù' | 'ú' | 'û' | 'ü' => "u",
        'Ŵ' => "W",
        'ŵ' => "w",
        'Ý' | 'Ŷ' | 'Ÿ' => "Y",
        'ý' | 'ŷ' | 'ÿ' => "y",
        'Ź' | 'Ż' | 'Ž' => "Z",
        'ź' | 'ż' | 'ž' => "z",
        _ => "?",
    }
}

/// What stands for `c` behind `before`: the Δ of a residual current is written small.
pub(super) fn stands_for(c: char, before: Option<char>) -> &'static str {
    match (c, before) {
        ('Δ', Some('I')) => "d",
        _ => word(c),
    }
}

/// The text in ASCII. It may get longer; what stands for a sign is never left out.
pub fn plain(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if c.is_ascii() {
            out.push(c);
        } else if c.width() != Some(0) {
            let word = stands_for(c, out.chars().next_back());
            out.push_str(word);
        }
    }
    Cow::Owned(out)
}

/// The text in ASCII, each character in the columns it had: what is being typed, where the cursor has to fit.
pub fn in_place(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let columns = c.width().unwrap_or(0);
        match (c.is_ascii(), word(c)) {
            (true, _) => out.push(c),
            (false, word) if word.len() == columns => out.push_str(word),
            (false, _) => out.extend(std::iter::repeat_n('?', columns)),
        }
    }
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_become_words_and_other_scripts_question_marks() {
        for (text, want) in [
            ("≤ 1.09 Ω", "<= 1.09 ohm"),
            ("≥ 1 MΩ", ">= 1 Mohm"),
            ("30 mA IΔn ½", "30 mA Idn 1/2"),
            ("2.5/1.5 mm²", "2.5/1.5 mm2"),
            ("20 °C ± 5 %", "20 degC +/- 5 %"),
            ("Siân Müller 漢", "Sian Muller ?"),
            ("e\u{301}", "e"),
        ] {
            assert_eq!(plain(text), want);
            assert!(plain(text).is_ascii());
        }
    }

    #[test]
    fn typed_text_keeps_its_columns() {
        use unicode_width::UnicodeWidthStr;
        for (text, want) in [("0.8 Ω", "0.8 ?"), ("é漢x", "e??x"), ("12", "12")] {
            assert_eq!(in_place(text), want);
            assert_eq!(in_place(text).width(), text.width());
        }
    }
}
