//! The head of a table: words over groups of columns, and a header for each column.

use crate::paper::measure::{cap_height, width, wrap};
use crate::paper::page::{Area, Grey, MM_PER_POINT, Mark, Pen, Weight};

use super::block::{Align, Styled};
use super::compose::{FIRM, PLAIN, count};
use super::rows::{Boxed, Line, Looks, RowLooks, lines, strips};
use super::strip::{Ink, Strip, shifted};
use super::table::{Column, Table};
use super::table_rows::{Slot, pad_x};

/// Turned headers shorter than this, in mm, stay on one line.
const SHORT: f64 = 18.0;
/// No head is higher than this, in mm, however long the words.
const TALLEST: f64 = 90.0;
/// Turned headers are broken into no more lines than this, or they get hard to read.
const MOST_TURNED: f64 = 2.0;

/// The strips of the head. Empty if no column has a header.
pub(super) fn compose(table: &Table, slots: &[Slot], height: f64) -> Vec<Strip> {
    let size = table.size * 0.92;
    let mut all = Vec::new();
    if table.columns.iter().any(|column| column.group.is_some()) {
        all.extend(groups(table, slots, size, height));
    }
    if table.columns.iter().any(|column| !column.header.is_empty()) {
        all.push(headers(table, slots, size, all.is_empty()));
    }
    if let Some(first) = all.first_mut() {
        let (left, right) = edges(slots);
        first.mark(Mark::Line {
            from: (left, 0.0),
            to: (right, 0.0),
            pen: FIRM,
        });
    }
    all
}

fn edges(slots: &[Slot]) -> (f64, f64) {
    let left = slots.first().map_or(0.0, |slot| slot.x);
    (left, slots.last().map_or(left, |slot| slot.x + slot.width))
}

/// Words over neighbouring columns that share them, each with a rule below.
fn groups(table: &Table, slots: &[Slot], size: f64, height: f64) -> Vec<Strip> {
    let mut runs: Vec<(Option<&str>, f64, f64)> = Vec::new();
    for (column, slot) in table.columns.iter().zip(slots) {
        let words = column.group.as_deref();
        match runs.last_mut() {
            Some(run) if run.0 == words => run.2 += slot.width,
            _ => runs.push((words, slot.x, slot.width)),
        }
    }
    let pad = pad_x(table.size);
    let looks = Looks {
        size,
        weight: Weight::Bold,
        grey: Grey::BLACK,
        align: Align::Centre,
    };
    let boxes: Vec<Boxed> = runs
        .iter()
        .map(|(words, x, width)| {
            let text: Vec<Styled> = words.iter().map(|words| Styled::new(*words)).collect();
            Boxed {
                x: *x,
                width: *width,
                lines: lines(&text, width - 2.0 * pad, looks),
                ..Boxed::default()
            }
        })
        .collect();
    let row = RowLooks {
        pad_x: pad,
        pad_y: 0.5,
        fill: Some(Grey::SHADE),
        at_foot: true,
        ..RowLooks::default()
    };
    let mut strips = strips(&boxes, row, height);
    if let Some(last) = strips.last_mut() {
        // Just inside, or the shade of the headers below would cover it.
        let (y, pen) = (
            last.height - 0.2,
            Pen {
                thickness: 0.4,
                grey: Grey::LABEL,
            },
        );
        for (words, x, width) in runs {
            if words.is_some() {
                last.mark(Mark::Line {
                    from: (x + pad, y),
                    to: (x + width - pad, y),
                    pen,
                });
            }
        }
    }
    strips
}

/// One header for each column, upright or turned, in one strip.
fn headers(table: &Table, slots: &[Slot], size: f64, alone: bool) -> Strip {
    let pad = pad_x(table.size);
    let upright = |column: &Column, slot: &Slot| {
        let words: &[Styled] = if column.turned {
            &[]
        } else {
            &[Styled::new(column.header.as_str())]
        };
        let looks = Looks {
            size,
            weight: Weight::Bold,
            align: column.align,
            ..PLAIN
        };
        Boxed {
            x: slot.x,
            width: slot.width,
            lines: lines(words, slot.width - 2.0 * pad, looks),
            ..Boxed::default()
        }
    };
    let boxes: Vec<Boxed> = table
        .columns
        .iter()
        .zip(slots)
        .map(|(c, s)| upright(c, s))
        .collect();
    let turned: Vec<(Slot, Align, Vec<String>)> = table
        .columns
        .iter()
        .zip(slots)
        .filter(|(column, _)| column.turned)
        .map(|(column, slot)| {
            (
                *slot,
                column.align,
                turned_lines(&column.header, slot.width, size),
            )
        })
        .collect();
    let longest = turned
        .iter()
        .flat_map(|(_, _, words)| {
            words
                .iter()
                .map(|line| width(line.trim_end(), size, Weight::Bold))
        })
        .fold(0.0, f64::max);
    let pad_y = if alone { 1.0 } else { 0.7 };
    let text: f64 = boxes
        .iter()
        .map(|b| b.lines.iter().map(Line::height).sum())
        .fold(0.0, f64::max);
    let height = text.max(longest) + 2.0 * pad_y;
    // The row is set as high as its upright headers need, then moved to the foot.
    let looks = RowLooks {
        pad_x: pad,
        pad_y,
        at_foot: true,
        ..RowLooks::default()
    };
    let mut strip = Strip {
        height,
        ..Strip::default()
    };
    let (left, right) = edges(slots);
    let area = Area {
        x: left,
        y: 0.0,
        width: right - left,
        height,
    };
    strip.mark(Mark::Rect {
        area,
        fill: Some(Grey::SHADE),
        edge: None,
    });
    for row in strips(&boxes, looks, f64::INFINITY) {
        let down = height - row.height;
        for ink in row.inks {
            if let Ink::Mark(mark) = ink {
                strip.mark(shifted(mark, 0.0, down));
            }
        }
    }
    for (slot, align, words) in turned {
        let block = leading(size) * count(words.len());
        // Over the values of the column, whichever edge they keep to.
        let x = match align {
            Align::Left => slot.x + pad,
            Align::Centre => slot.x + (slot.width - block) / 2.0,
            Align::Right => slot.x + slot.width - pad - block,
        };
        draw_turned(&mut strip, x, &words, size, height - pad_y);
    }
    strip.mark(Mark::Line {
        from: (left, height),
        to: (right, height),
        pen: Pen {
            thickness: 0.6,
            ..FIRM
        },
    });
    strip
}

/// The header broken into lines that stand side by side in the column, as short as they
/// can be without breaking a word.
fn turned_lines(header: &str, column: f64, size: f64) -> Vec<String> {
    let most = (column / leading(size)).floor().clamp(1.0, MOST_TURNED);
    let whole = width(header, size, Weight::Bold);
    let longest_word = header
        .split_whitespace()
        .map(|word| width(word, size, Weight::Bold))
        .fold(SHORT, f64::max);
    let mut high = longest_word;
    loop {
        let words = wrap(header, high, size, Weight::Bold);
        if count(words.len()) <= most || high >= whole.min(TALLEST) {
            return words;
        }
        high += 1.0;
    }
}

/// Distance between turned lines, in mm.
fn leading(size: f64) -> f64 {
    size * 1.15 * MM_PER_POINT
}

/// Draws lines side by side from `left`, reading upwards from `foot`, in mm.
fn draw_turned(strip: &mut Strip, left: f64, words: &[String], size: f64, foot: f64) {
    let mut x = left + (leading(size) + cap_height(size)) / 2.0;
    for line in words {
        strip.mark(Mark::Text {
            x,
            y: foot,
            size,
            weight: Weight::Bold,
            grey: Grey::BLACK,
            turn: 90.0,
            text: line.trim_end().to_owned(),
        });
        x += leading(size);
    }
}

#[cfg(test)]
mod tests {
    use super::turned_lines;

    #[test]
    fn turned_headers_are_short_and_break_no_word() {
        assert_eq!(turned_lines("Rating A", 13.0, 6.5), ["Rating A"]);
        let two = turned_lines("Insulation, live to live MΩ", 13.0, 6.5);
        assert_eq!(two, ["Insulation, live ", "to live MΩ"]);
        let narrow = turned_lines("Insulation, live to live MΩ", 4.0, 6.5);
        assert_eq!(narrow, ["Insulation, live to live MΩ"]);
        assert_eq!(
            turned_lines("Insulationresistance", 13.0, 6.5),
            ["Insulationresistance"]
        );
    }

    #[test]
    fn strange_sizes_still_end() {
        for size in [0.0, -1.0, f64::INFINITY, f64::NAN] {
            assert_eq!(
                turned_lines("Loop impedance", 10.0, size).concat(),
                "Loop impedance"
            );
        }
    }
}
