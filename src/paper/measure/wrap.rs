//! Breaking text into lines.

use std::borrow::Cow;

use crate::paper::page::{MM_PER_POINT, Weight};

use super::advance;

/// Breaks text into lines that fit a width in mm, at a size in points.
///
/// Lines end after a space where possible, then after a hyphen, slash, comma or the
/// like, and inside a word as a last resort. Nothing is dropped: the lines put together
/// are the text without its line breaks, because the space a line ends with stays on it
/// (and is allowed to stick out, since it shows nothing). Explicit line breaks are kept,
/// so an empty line gives an empty string. A width smaller than one character gives one
/// character a line.
pub fn wrap(text: &str, width: f64, size: f64, weight: Weight) -> Vec<String> {
    let em = size * MM_PER_POINT;
    // A hair of tolerance: a text measured with `width` must fit exactly that width.
    let limit = if em > 0.0 {
        width / em * 1000.0 + 1e-6
    } else {
        f64::MAX
    };
    if fits_one_line(text, limit, weight) {
        return vec![text.to_owned()];
    }
    let mut breaker = Breaker {
        limit,
        weight,
        lines: Vec::new(),
        line: String::new(),
        used: 0,
    };
    let text = if text.contains('\r') {
        Cow::Owned(text.replace("\r\n", "\n"))
    } else {
        Cow::Borrowed(text)
    };
    for paragraph in text.split('\n') {
        breaker.paragraph(paragraph);
    }
    breaker.lines
}

/// Whether a text is one line as it is, as most texts of a table are.
fn fits_one_line(text: &str, limit: f64, weight: Weight) -> bool {
    let mut used: u32 = 0;
    for c in text.chars() {
        if matches!(c, '\n' | '\r') {
            return false;
        }
        used = used.saturating_add(advance(c, weight));
    }
    f64::from(used) <= limit
}

struct Breaker {
    /// Room on a line, in thousandths of an em.
    limit: f64,
    weight: Weight,
    lines: Vec<String>,
    line: String,
    /// Width of `line`, its trailing spaces included.
    used: u32,
}

impl Breaker {
    fn paragraph(&mut self, text: &str) {
        let mut word = String::new();
        let mut in_spaces = false;
        for c in text.chars() {
            if breaks(c) {
                if !in_spaces {
                    self.word(std::mem::take(&mut word));
                }
                in_spaces = true;
                self.line.push(c);
                self.used = self.used.saturating_add(advance(c, self.weight));
            } else {
                in_spaces = false;
                word.push(c);
            }
        }
        self.word(word);
        self.end_line();
    }

    fn word(&mut self, word: String) {
        let wide: u32 = word.chars().map(|c| advance(c, self.weight)).sum();
        if !self.line.is_empty() && !self.fits(self.used, wide) {
            self.end_line();
        }
        if self.fits(self.used, wide) {
            self.used = self.used.saturating_add(wide);
            self.line.push_str(&word);
        } else {
            self.long_word(&word);
        }
    }

    /// Fills lines with a word that fits none, starting on an empty line.
    fn long_word(&mut self, word: &str) {
        // Bytes of the line, and its width, up to the last hyphen or slash.
        let mut soft = None;
        for c in word.chars() {
            let wide = advance(c, self.weight);
            // Twice at most: what stood after the hyphen may be too long with this one.
            while !self.line.is_empty() && !self.fits(self.used, wide) {
                let (at, before) = soft.take().unwrap_or((self.line.len(), self.used));
                let rest = self.line.split_off(at);
                let left_over = self.used.saturating_sub(before);
                self.end_line();
                self.line = rest;
                self.used = left_over;
            }
            self.line.push(c);
            self.used = self.used.saturating_add(wide);
            if matches!(
                c,
                '-' | '/' | '–' | '_' | ',' | ';' | ':' | '.' | '\u{200B}'
            ) {
                soft = Some((self.line.len(), self.used));
            }
        }
    }

    fn fits(&self, used: u32, more: u32) -> bool {
        f64::from(used.saturating_add(more)) <= self.limit
    }

    fn end_line(&mut self) {
        self.lines.push(std::mem::take(&mut self.line));
        self.used = 0;
    }
}

/// A space a line may end at; no-break spaces are none.
fn breaks(c: char) -> bool {
    c.is_whitespace() && !matches!(c, '\u{A0}' | '\u{202F}' | '\u{2007}')
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::paper::measure::width;

    fn lines(text: &str, mm: f64) -> Vec<String> {
        wrap(text, mm, 10.0, Weight::Regular)
    }

    #[test]
    fn lines_end_after_spaces_and_at_line_breaks() {
        assert_eq!(
            lines("main switch open\r\n\nok", 20.0),
            ["main switch ", "open", "", "ok"]
        );
        assert_eq!(lines("", 20.0), [""]);
    }

    #[test]
    fn a_long_word_breaks_after_a_hyphen_or_slash_before_it_breaks_anywhere() {
        assert_eq!(lines("PV-2024/0007-A", 14.0), ["PV-", "2024/", "0007-A"]);
        let broken = lines("WWWWWWWW", 8.0);
        assert_eq!(broken.concat(), "WWWWWWWW");
        assert!(broken.len() > 2, "{broken:?}");
    }

    #[test]
    fn a_no_break_space_holds_number_and_unit_together() {
        assert_eq!(lines("reads 230\u{A0}V", 17.0), ["reads ", "230\u{A0}V"]);
    }

    #[test]
    fn a_text_fits_its_own_width() {
        let text = "Insulation resistance at 500 V";
        assert_eq!(lines(text, width(text, 10.0, Weight::Regular)).len(), 1);
    }

    #[test]
    fn no_width_at_all_still_ends() {
        assert_eq!(lines("ab", 0.0), ["a", "b"]);
        assert_eq!(lines("ab", -5.0), ["a", "b"]);
        assert_eq!(lines("ab", f64::NAN), ["a", "b"]);
    }

    proptest! {
        #[test]
        fn no_character_is_lost_and_no_line_sticks_out(
            text in "[a-zA-Z0-9 Ω°≤\u{A0}⏚/\\-\n]{0,200}", mm in 5.0..60.0f64, bold: bool
        ) {
            let weight = if bold { Weight::Bold } else { Weight::Regular };
            let lines = wrap(&text, mm, 9.0, weight);
            prop_assert_eq!(lines.concat(), text.replace('\n', ""));
            for line in &lines {
                let wide = width(line.trim_end_matches(breaks), 9.0, weight);
                prop_assert!(wide <= mm + 1e-6, "{:?} is {} mm wide, {} allowed", line, wide, mm);
            }
        }

        #[test]
        fn any_text_at_all_comes_back_whole(text in any::<String>(), mm in 0.0..40.0f64) {
            let lines = wrap(&text, mm, 8.0, Weight::Regular);
            prop_assert_eq!(lines.concat(), text.replace("\r\n", "").replace('\n', ""));
        }
    }
}
