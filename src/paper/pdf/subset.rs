//! A font with the outlines of the glyphs that a file uses, and no others.
//!
//! Glyphs keep their numbers, so that pages, widths and the map to Unicode stay as they are: only what the unused ones look like
//! is left out, which is most of a font and of a short file.

/// Tables with the outlines, and with the place of each outline.
const OUTLINES: [u8; 4] = *b"glyf";
const PLACES: [u8; 4] = *b"loca";
const HEAD: [u8; 4] = *b"head";

/// In `head`: where the sum over the file is balanced, and how wide the entries of `loca` are.
const BALANCE: usize = 8;
const WIDE_PLACES: usize = 50;

/// What a sum over a whole font file has to be.
const BALANCED: u32 = 0xB1B0_AFBA;

/// Bytes before the list of tables, and of each entry in it.
const DIRECTORY: usize = 12;
const ENTRY: usize = 16;

/// Bits of a component: its offsets are words, it is scaled (in one of three ways), another follows.
const WORDS: u16 = 0x1;
const SCALED: u16 = 0x8;
const SCALED_BOTH: u16 = 0x40;
const TURNED: u16 = 0x80;
const MORE: u16 = 0x20;

/// The font with the outlines of glyph 0, of the glyphs that are used, and of those that they are put together from. `None` if it
/// isn't built as a TrueType font is.
pub(super) fn subset(font: &[u8], used: impl Iterator<Item = usize>) -> Option<Vec<u8>> {
    let tables = tables(font)?;
    let table = |tag| {
        tables
            .iter()
            .find(|(t, _)| *t == tag)
            .map(|(_, data)| *data)
    };
    let outlines = table(OUTLINES)?;
    let wide = short(table(HEAD)?, WIDE_PLACES)? != 0;
    let places = places(table(PLACES)?, wide)?;
    let outline = |glyph: usize| outlines.get(*places.get(glyph)?..*places.get(glyph + 1)?);

    let mut kept = vec![false; places.len().checked_sub(1)?];
    let mut asked: Vec<usize> = std::iter::once(0).chain(used).collect();
    while let Some(glyph) = asked.pop() {
        let known = kept.get_mut(glyph)?;
        if !std::mem::replace(known, true) {
            components(outline(glyph)?, &mut asked)?;
        }
    }

    let mut new_outlines = Vec::new();
    let mut new_places = Vec::new();
    for (glyph, kept) in kept.iter().enumerate() {
        put_place(&mut new_places, new_outlines.len(), wide)?;
        if *kept {
            new_outlines.extend_from_slice(outline(glyph)?);
            // Places are counted in twos; fours suit all readers.
            new_outlines.resize(new_outlines.len().next_multiple_of(4), 0);
        }
    }
    put_place(&mut new_places, new_outlines.len(), wide)?;

    let replaced: Vec<([u8; 4], &[u8])> = tables
        .iter()
        .map(|(tag, data)| match *tag {
            OUTLINES => (*tag, new_outlines.as_slice()),
            PLACES => (*tag, new_places.as_slice()),
            _ => (*tag, *data),
        })
        .collect();
    file(font.get(..DIRECTORY)?, &replaced)
}

/// Name and bytes of each table, in the order of the file's list.
fn tables(font: &[u8]) -> Option<Vec<([u8; 4], &[u8])>> {
    let count = usize::from(short(font, 4)?);
    (0..count)
        .map(|at| {
            let entry = font.get(DIRECTORY + at * ENTRY..)?;
            let tag = entry.first_chunk::<4>()?;
            let (from, length) = (long(entry, 8)?, long(entry, 12)?);
            Some((*tag, font.get(from..from.checked_add(length)?)?))
        })
        .collect()
}

/// Where each outline begins, and where the last one ends.
fn places(table: &[u8], wide: bool) -> Option<Vec<usize>> {
    if wide {
        (0..table.len() / 4).map(|at| long(table, at * 4)).collect()
    } else {
        let each = (0..table.len() / 2).map(|at| short(table, at * 2));
        each.map(|half| Some(usize::from(half?) * 2)).collect()
    }
}

fn put_place(table: &mut Vec<u8>, place: usize, wide: bool) -> Option<()> {
    if wide {
        table.extend(u32::try_from(place).ok()?.to_be_bytes());
    } else {
        table.extend(u16::try_from(place / 2).ok()?.to_be_bytes());
    }
    Some(())
}

/// Adds the glyphs that an outline is put together from.
fn components(outline: &[u8], to: &mut Vec<usize>) -> Option<()> {
    // A count of contours below zero means that it has none of its own.
    if outline.is_empty() || short(outline, 0)? < 0x8000 {
        return Some(());
    }
    let mut at = 10;
    loop {
        let flags = short(outline, at)?;
        to.push(usize::from(short(outline, at + 2)?));
        at += if flags & WORDS != 0 { 8 } else { 6 };
        at += match flags & (SCALED | SCALED_BOTH | TURNED) {
            0 => 0,
            SCALED => 2,
            SCALED_BOTH => 4,
            _ => 8,
        };
        if flags & MORE == 0 {
            return Some(());
        }
    }
}

/// A font file of these tables, with the sums that belong to it.
fn file(start: &[u8], tables: &[([u8; 4], &[u8])]) -> Option<Vec<u8>> {
    let mut out = start.to_vec();
    out.resize(DIRECTORY + tables.len() * ENTRY, 0);
    let mut head = None;
    for (at, (tag, data)) in tables.iter().enumerate() {
        let from = out.len();
        out.extend_from_slice(data);
        out.resize(out.len().next_multiple_of(4), 0);
        if *tag == HEAD {
            let balance = from + BALANCE;
            out.get_mut(balance..balance + 4)?.fill(0);
            head = Some(balance);
        }
        let sum = sum(out.get(from..)?);
        let entry = DIRECTORY + at * ENTRY;
        let numbers = [
            sum,
            u32::try_from(from).ok()?,
            u32::try_from(data.len()).ok()?,
        ];
        out.get_mut(entry..entry + 4)?.copy_from_slice(tag);
        for (nth, number) in numbers.into_iter().enumerate() {
            let place = entry + 4 + nth * 4;
            out.get_mut(place..place + 4)?
                .copy_from_slice(&number.to_be_bytes());
        }
    }
    let (balance, rest) = (head?, BALANCED.wrapping_sub(sum(&out)));
    out.get_mut(balance..balance + 4)?
        .copy_from_slice(&rest.to_be_bytes());
    Some(out)
}

/// Sum of all words of four bytes.
fn sum(data: &[u8]) -> u32 {
    let (words, _rest) = data.as_chunks::<4>();
    words.iter().fold(0, |sum: u32, word| {
        sum.wrapping_add(u32::from_be_bytes(*word))
    })
}

fn short(data: &[u8], at: usize) -> Option<u16> {
    let bytes = data.get(at..)?.first_chunk()?;
    Some(u16::from_be_bytes(*bytes))
}

fn long(data: &[u8], at: usize) -> Option<usize> {
    let bytes = data.get(at..)?.first_chunk()?;
    usize::try_from(u32::from_be_bytes(*bytes)).ok()
}

#[cfg(test)]
#[allow(clippy::expect_used)]
mod tests {
    use std::fmt::Write;

    use ttf_parser::{Face, GlyphId, OutlineBuilder};

    use super::*;
    use crate::paper::measure::{bytes, glyphs};
    use crate::paper::page::Weight;

    /// An outline in words, to compare.
    #[derive(Default)]
    struct Drawn(String);

    impl OutlineBuilder for Drawn {
        fn move_to(&mut self, x: f32, y: f32) {
            let _ = write!(self.0, "m{x},{y}");
        }
        fn line_to(&mut self, x: f32, y: f32) {
            let _ = write!(self.0, "l{x},{y}");
        }
        fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
            let _ = write!(self.0, "q{x1},{y1},{x},{y}");
        }
        fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
            let _ = write!(self.0, "c{x1},{y1},{x2},{y2},{x},{y}");
        }
        fn close(&mut self) {
            self.0.push('z');
        }
    }

    fn drawn(face: &Face<'_>, glyph: u16) -> String {
        let mut drawn = Drawn::default();
        face.outline_glyph(GlyphId(glyph), &mut drawn);
        drawn.0
    }

    #[test]
    fn what_is_used_looks_the_same_and_the_rest_is_gone() {
        // With letters that are put together from others.
        let text = "Zs 0.35 Ω ≤ é ŵ ½ ✓ \u{1EA5}";
        for weight in [Weight::Regular, Weight::Bold] {
            let used: Vec<u16> = glyphs(text, weight).map(|(glyph, _)| glyph).collect();
            let whole = bytes(weight);
            let cut = subset(whole, used.iter().copied().map(usize::from)).expect("a font");
            assert!(cut.len() < whole.len() / 2, "{} bytes", cut.len());
            let (before, after) = (
                Face::parse(whole, 0).expect("a font"),
                Face::parse(&cut, 0).expect("a font"),
            );
            assert_eq!(before.number_of_glyphs(), after.number_of_glyphs());
            for glyph in used.iter().copied().chain([0]) {
                assert_eq!(drawn(&before, glyph), drawn(&after, glyph), "{glyph}");
            }
            let full = (0..after.number_of_glyphs()).filter(|g| !drawn(&after, *g).is_empty());
            assert!(full.count() < 40);
            assert_eq!(before.glyph_index('W'), after.glyph_index('W'));
            assert_eq!(sum(&cut), BALANCED);
        }
    }

    #[test]
    fn a_letter_with_its_accent_takes_along_both() {
        let face = Face::parse(bytes(Weight::Regular), 0).expect("a font");
        let letter = face.glyph_index('\u{1EA5}').expect("in the font").0;
        let cut = subset(bytes(Weight::Regular), [usize::from(letter)].into_iter());
        let cut = cut.expect("a font");
        let after = Face::parse(&cut, 0).expect("a font");
        assert!(!drawn(&face, letter).is_empty());
        assert_eq!(drawn(&face, letter), drawn(&after, letter));
    }

    #[test]
    fn all_of_it_draws_all_of_it() {
        let whole = bytes(Weight::Bold);
        let before = Face::parse(whole, 0).expect("a font");
        let all = 0..usize::from(before.number_of_glyphs());
        let cut = subset(whole, all).expect("a font");
        let after = Face::parse(&cut, 0).expect("a font");
        for glyph in 0..before.number_of_glyphs() {
            assert_eq!(drawn(&before, glyph), drawn(&after, glyph), "{glyph}");
        }
    }

    #[test]
    fn what_is_no_font_or_is_cut_off_gives_none() {
        let whole = bytes(Weight::Regular);
        assert_eq!(subset(b"", [1].into_iter()), None);
        assert_eq!(subset(b"no font at all", [1].into_iter()), None);
        assert_eq!(subset(whole, [60_000].into_iter()), None);
        for length in (0..whole.len()).step_by(997) {
            let _ = subset(&whole[..length], [36].into_iter());
        }
    }
}
