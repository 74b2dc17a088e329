//! How wide text is, and what the fonts can print.
//!
//! A width is the sum of the characters' advances, because that is how the PDF sets
//! text: one glyph for each character, no kerning. Advances are kept in whole
//! thousandths of an em, cut the way the PDF's own width table is cut, so that what is
//! measured here is where the reader's pen ends up.

mod fonts;
mod wrap;

use std::collections::BTreeSet;

use crate::paper::page::{MM_PER_POINT, Weight};

pub(super) use fonts::{bytes, name};
pub use wrap::wrap;

/// Printed in place of a character the fonts don't have.
///
/// A sign of its own, not a question mark: a question mark may be what was typed.
pub const REPLACEMENT: char = '\u{FFFD}';

/// Width of the text in mm at a size in points. Line breaks and signs without width
/// count nothing.
pub fn width(text: &str, size: f64, weight: Weight) -> f64 {
    let advance: u32 = text.chars().map(|c| advance(c, weight)).sum();
    f64::from(advance) / 1000.0 * size * MM_PER_POINT
}

/// Height of a capital letter in mm at a size in points.
pub fn cap_height(size: f64) -> f64 {
    0.729 * size * MM_PER_POINT
}

/// Whether both weights of the font have this character, or it needs no glyph.
pub fn can_print(c: char) -> bool {
    is_unseen(c)
        || [Weight::Regular, Weight::Bold]
            .iter()
            .all(|w| fonts::advance(plain(c), *w).is_some())
}

/// The text as it can be printed, and the characters that had to be replaced.
///
/// A character the font lacks becomes [`REPLACEMENT`] and is reported, so that nothing
/// silently turns into an empty box. Signs without width are left out, spaces of every
/// kind become the common one, and an ohm sign the letter omega, so that searching the PDF
/// finds what is read there.
pub fn printable(text: &str, weight: Weight) -> (String, BTreeSet<char>) {
    let mut missing = BTreeSet::new();
    let printed = text
        .chars()
        .filter(|c| !is_unseen(*c))
        .map(|c| {
            if fonts::advance(plain(c), weight).is_some() {
                plain(c)
            } else {
                missing.insert(c);
                REPLACEMENT
            }
        })
        .collect();
    (printed, missing)
}

/// Whether [`printable`] would leave a text alone.
pub(super) fn prints_as_it_is(text: &str, weight: Weight) -> bool {
    let mut signs = text.chars();
    signs.all(|c| !is_unseen(c) && plain(c) == c && fonts::advance(c, weight).is_some())
}

/// The glyphs that print a text, each with the character it stands for; as [`printable`] has it.
pub(super) fn glyphs(text: &str, weight: Weight) -> impl Iterator<Item = (u16, char)> {
    let printed = text.chars().filter(|c| !is_unseen(*c)).map(plain);
    printed.map(move |c| match fonts::glyph(c, weight) {
        Some(glyph) => (glyph.id, c),
        None => {
            let sign = fonts::glyph(REPLACEMENT, weight);
            (sign.map_or(0, |glyph| glyph.id), REPLACEMENT)
        }
    })
}

/// Advance of one character in thousandths of an em, as it will be printed.
fn advance(c: char, weight: Weight) -> u32 {
    if is_unseen(c) {
        return 0;
    }
    fonts::advance(plain(c), weight)
        .or_else(|| fonts::advance(REPLACEMENT, weight))
        .map_or(0, u32::from)
}

/// The sign a character prints as: spaces of every kind as the common one, and the ohm,
/// micro, increment and angstrom signs as the letter that looks the same, so that
/// searching for "230 V" or "0.35 Ω" finds it whichever was typed. Where a line may break
/// was decided before.
fn plain(c: char) -> char {
    match c {
        '\u{2126}' => 'Ω',
        '\u{3BC}' => '\u{B5}',
        '\u{2206}' => 'Δ',
        '\u{212B}' => 'Å',
        '\t' => ' ',
        _ if c.is_whitespace() && !c.is_control() => ' ',
        _ => c,
    }
}

/// Signs that only guide shaping or line breaking and never show: soft hyphen, zero-width
/// space and joiners, byte order mark, variation selectors, and the line breaks themselves.
fn is_unseen(c: char) -> bool {
    matches!(c, '\n' | '\r' | '\u{AD}' | '\u{200B}'..='\u{200D}' | '\u{2060}' | '\u{FEFF}' | '\u{FE00}'..='\u{FE0F}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_print_every_sign_a_schedule_needs() {
        let needed = "AZaz09 ΩΔ°≤≥√±×÷µ→←↑↓✓✗☐☑■□▲△●○◆⚠⚡–—‘’“”…²³₀₁₂€£½éŵŷ�";
        let lacking: String = needed.chars().filter(|c| !can_print(*c)).collect();
        assert_eq!(lacking, "");
    }

    #[test]
    fn a_missing_character_is_replaced_and_reported() {
        let (printed, missing) = printable("earth ⏚ 漢", Weight::Regular);
        assert_eq!(printed, "earth \u{FFFD} \u{FFFD}");
        assert_eq!(missing, BTreeSet::from(['⏚', '漢']));
        assert!(!can_print('⏚'));
    }

    #[test]
    fn look_alikes_become_the_common_sign_and_unseen_signs_go() {
        let (printed, missing) = printable("5\u{A0}\u{2126}\u{FE0F}\t\u{AD}", Weight::Bold);
        assert_eq!(printed, "5 \u{3A9} ");
        assert!(missing.is_empty());
    }

    #[test]
    fn what_prints_as_it_is_is_left_alone() {
        for text in [
            "",
            "Zs 0.35 Ω",
            "Measured",
            "a b",
            "5\u{A0}Ω",
            "5 \u{2126}",
            "⏚",
            "a\u{AD}b",
            "a\tb",
            "µ",
            "\u{3BC}",
        ] {
            let (printed, missing) = printable(text, Weight::Regular);
            let alone = printed == text && missing.is_empty();
            assert_eq!(prints_as_it_is(text, Weight::Regular), alone, "{text:?}");
        }
    }

    #[test]
    fn widths_follow_size_and_weight() {
        let small = width("Measured 0.35 Ω", 8.0, Weight::Regular);
        let large = width("Measured 0.35 Ω", 16.0, Weight::Regular);
        assert!((large - 2.0 * small).abs() < 1e-9);
        assert!(width("Measured", 8.0, Weight::Bold) > width("Measured", 8.0, Weight::Regular));
        // One em of this font at 10 pt is 3.53 mm and "0" is a bit over half an em.
        let zero = width("0", 10.0, Weight::Regular);
        assert!((1.9..2.2).contains(&zero), "{zero}");
        assert!(width("\u{200B}\r\n", 10.0, Weight::Regular).abs() < 1e-9);
    }
}
