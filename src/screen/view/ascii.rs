//! Drawing in ASCII: texts are put into words before they are laid out, and what is left in the frame after that.

use std::borrow::Cow;
use std::cell::Cell as Flag;

use ratatui::buffer::{Buffer, Cell};
use unicode_width::UnicodeWidthStr;

use crate::screen::ascii::{in_place, plain, stands_for};

thread_local! {
    /// Whether the frame being drawn is in ASCII. Set for the length of one drawing only, so that not every line of every
    /// view has to hand it on.
    static ON: Flag<bool> = const { Flag::new(false) };
}

/// As long as it lives, what is laid out is in ASCII, or isn't.
pub(super) struct Drawing {
    before: bool,
}

/// Begins to lay out.
pub(super) fn drawing(ascii: bool) -> Drawing {
    Drawing {
        before: ON.replace(ascii),
    }
}

impl Drop for Drawing {
    fn drop(&mut self) {
        ON.set(self.before);
    }
}

/// A text as it is shown. It may get longer, so this comes before anything is measured.
pub(super) fn shown(text: &str) -> Cow<'_, str> {
    if ON.get() {
        plain(text)
    } else {
        without_variants(text)
    }
}

/// What is being typed as it is shown, column by column.
pub(super) fn typed(text: &str) -> Cow<'_, str> {
    if ON.get() {
        in_place(text)
    } else {
        without_variants(text)
    }
}

/// Without the sign that asks for a character as a coloured picture: terminals differ in how wide they draw that, and the rest
/// of the row would be pushed.
fn without_variants(text: &str) -> Cow<'_, str> {
    const AS_A_PICTURE: char = '\u{fe0f}';
    if text.contains(AS_A_PICTURE) {
        text.replace(AS_A_PICTURE, "").into()
    } else {
        text.into()
    }
}

/// Whether it is on.
pub(super) fn on() -> bool {
    ON.get()
}

/// Puts everything in the frame that isn't ASCII into words. Columns and right edges stay where there are two blanks, or a
/// rule, to take from; returns how many characters found no room.
pub(super) fn finish(buffer: &mut Buffer) -> usize {
    let area = buffer.area;
    let mut lost = 0;
    for y in area.top()..area.bottom() {
        let row: Vec<Cell> = (area.left()..area.right())
            .filter_map(|x| buffer.cell((x, y)).cloned())
            .collect();
        if row.iter().all(|c| c.symbol().is_ascii()) {
            continue;
        }
        let mut out = in_words(&row);
        lost += out
            .split_off(row.len().min(out.len()))
            .iter()
            .filter(|c| c.symbol() != " ")
            .count();
        for (x, cell) in (area.left()..area.right()).zip(out) {
            if let Some(place) = buffer.cell_mut((x, y)) {
                *place = cell;
            }
        }
    }
    lost
}

fn in_words(row: &[Cell]) -> Vec<Cell> {
    let mut out: Vec<Cell> = Vec::with_capacity(row.len());
    // Columns that the words took more than their signs.
    let mut longer = 0_usize;
    for (i, cell) in row.iter().enumerate() {
        let after = row.get(i + 1).map_or(" ", Cell::symbol);
        let spare = matches!(cell.symbol(), " " | "─") && cell.symbol() == after;
        if spare && longer > 0 {
            longer -= 1;
            continue;
        }
        if cell.symbol().is_ascii() {
            out.push(cell.clone());
            continue;
        }
        let before = out.last().and_then(|c| c.symbol().chars().next());
        let word = cell.symbol().chars().next().map_or("", |c| {
            if c.is_ascii() {
                ""
            } else {
                stands_for(c, before)
            }
        });
        let word = if word.is_empty() { "?" } else { word };
        for c in word.chars() {
            let mut of_word = cell.clone();
            of_word.set_char(c);
            out.push(of_word);
        }
        longer += word.len().saturating_sub(cell.symbol().width());
    }
    out
}

#[cfg(test)]
#[allow(clippy::indexing_slicing)]
mod tests {
    use super::*;

    fn finished(lines: &[&str]) -> (Vec<String>, usize) {
        let mut buffer = Buffer::with_lines(lines.to_vec());
        let lost = finish(&mut buffer);
        let area = buffer.area;
        let rows = (0..area.height)
            .map(|y| (0..area.width).map(|x| buffer[(x, y)].symbol()).collect())
            .collect();
        (rows, lost)
    }

    /// Terminals draw it one column or two wide; without the sign all draw one.
    #[test]
    fn a_picture_is_as_wide_as_its_character() {
        for heart in [
            shown("Jo \u{2764}\u{fe0f} Ex"),
            typed("Jo \u{2764}\u{fe0f} Ex"),
        ] {
            assert_eq!(heart, "Jo \u{2764} Ex");
            assert_eq!(heart.width(), 7);
        }
    }

    #[test]
    fn words_take_from_the_blanks_and_edges_stay() {
        let (rows, lost) = finished(&["┌ 1 Ω ────┐", "│≥ 1   end│", "0.2 Ω     │", "0.38 MΩ  =x"]);
        assert_eq!(rows[0], "+ 1 ohm --+");
        assert_eq!(rows[1], "|>= 1  end|");
        assert_eq!(rows[2], "0.2 ohm   |");
        // Only one of two blanks can go, so the end is lost and counted.
        assert_eq!((rows[3].as_str(), lost), ("0.38 Mohm =", 1));
    }
}
