//! The two embedded fonts and a table of their advances.

use std::sync::OnceLock;

use ttf_parser::Face;
use ttf_parser::cmap::Subtable;

use super::REPLACEMENT;
use crate::paper::page::Weight;

const REGULAR: &[u8] = include_bytes!("../fonts/condensed-regular.ttf");
const BOLD: &[u8] = include_bytes!("../fonts/condensed-bold.ttf");

/// The font file of a weight.
pub(in crate::paper) fn bytes(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => REGULAR,
        Weight::Bold => BOLD,
    }
}

/// The name of the font of a weight, as PDFs and messages give it.
pub(in crate::paper) fn name(weight: Weight) -> &'static str {
    match weight {
        Weight::Regular => "DejaVuSansCondensed",
        Weight::Bold => "DejaVuSansCondensed-Bold",
    }
}

/// What is known of a character that a font has.
#[derive(Debug, Clone, Copy)]
pub(super) struct Glyph {
    /// Number of its glyph.
    pub(super) id: u16,
    /// How far it moves the pen, in thousandths of an em.
    pub(super) advance: u16,
}

/// How far a character moves the pen, in thousandths of an em, if the font of that
/// weight has it.
pub(super) fn advance(c: char, weight: Weight) -> Option<u16> {
    glyph(c, weight).map(|glyph| glyph.advance)
}

/// The glyph of a character, if the font of that weight has it.
pub(super) fn glyph(c: char, weight: Weight) -> Option<Glyph> {
    static TABLES: [OnceLock<Known>; 2] = [OnceLock::new(), OnceLock::new()];
    let [regular, bold] = &TABLES;
    let table = match weight {
        Weight::Regular => regular,
        Weight::Bold => bold,
    };
    let known = table.get_or_init(|| read(bytes(weight)));
    if c == REPLACEMENT {
        return known.replacement;
    }
    *known.low.get(usize::try_from(u32::from(c)).ok()?)?
}

/// What a font has.
#[derive(Debug, Default)]
struct Known {
    /// By code point, up to the last sign.
    low: Vec<Option<Glyph>>,
    /// The replacement sign, which stands far beyond the others.
    replacement: Option<Glyph>,
}

/// Reads all glyphs into a table indexed by code point: wrapping a schedule looks up
/// every character several times, and the font's own map is a search.
///
/// A font that can't be read gives an empty table; writing the PDF then fails with a
/// message, and a test makes sure that the shipped fonts can be read.
fn read(font: &[u8]) -> Known {
    let mut known = Known::default();
    let Ok(face) = Face::parse(font, 0) else {
        return known;
    };
    let em = u32::from(face.units_per_em()).max(1);
    let Some(map) = face.tables().cmap else {
        return known;
    };
    // Its own list: to ask for each of all characters takes longer than many a page.
    for subtable in map.subtables.into_iter().filter(Subtable::is_unicode) {
        subtable.codepoints(|code| {
            let Some(id) = subtable.glyph_index(code) else {
                return;
            };
            let advance = u32::from(face.glyph_hor_advance(id).unwrap_or(0)) * 1000 / em;
            let glyph = Glyph {
                id: id.0,
                advance: u16::try_from(advance).unwrap_or(u16::MAX),
            };
            if code == u32::from(REPLACEMENT) {
                known.replacement = Some(glyph);
            } else if let Ok(index) = usize::try_from(code)
                && index < END
            {
                if known.low.len() <= index {
                    known.low.resize(index + 1, None);
                }
                if let Some(place @ None) = known.low.get_mut(index) {
                    *place = Some(glyph);
                }
            }
        });
    }
    known
}

/// Every other sign of the fonts is below this.
const END: usize = 0x2800;

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use super::*;

    #[test]
    fn both_fonts_cover_the_same_characters() {
        let covered = |weight| -> Vec<u32> {
            (0..0xFFFF)
                .filter(|code| char::from_u32(*code).is_some_and(|c| advance(c, weight).is_some()))
                .collect()
        };
        let regular = covered(Weight::Regular);
        assert!(regular.len() > 700, "{} characters", regular.len());
        assert_eq!(regular, covered(Weight::Bold));
    }

    #[test]
    fn the_table_leaves_out_no_character_of_the_font() {
        let face = Face::parse(REGULAR, 0).expect("the shipped font can be read");
        let mut count = 0;
        for subtable in face.tables().cmap.expect("a character map").subtables {
            subtable.codepoints(|code| {
                let c = char::from_u32(code).expect("a character");
                assert!(
                    advance(c, Weight::Regular).is_some(),
                    "{c:?} is in the font but not in the table"
                );
                count += 1;
            });
        }
        assert!(count > 700, "{count} characters");
    }
}
