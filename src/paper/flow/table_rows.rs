//! Tables to strips.

use crate::paper::page::{Grey, Pen, Weight};

use super::block::{Align, Styled};
use super::compose::{FINE, FIRM, PLAIN};
use super::rows::{Boxed, Looks, RowLooks, lines, strips};
use super::strip::{Head, Strip};
use super::table::{Cell, Column, ColumnWidth, Row, Table};
use super::table_head;

/// Narrowest column in mm that a share can shrink to.
const NARROWEST: f64 = 6.0;

/// Rows that stay together at the start and at the end of a table, so that none is left alone on a page.
const COMPANY: usize = 3;

/// Where a column is, in mm from the left edge of the content.
#[derive(Debug, Clone, Copy)]
pub(super) struct Slot {
    pub(super) x: f64,
    pub(super) width: f64,
}

/// The strips of a table and the heads it repeats on later pages, to be kept from
/// index `heads_from` on. `width` and `height` are those of a page of content, in mm.
pub(super) fn compose(
    table: &Table,
    width: f64,
    height: f64,
    heads_from: usize,
) -> (Vec<Strip>, Vec<Head>) {
    let slots = slots(&table.columns, width);
    let mut all = table_head::compose(table, &slots, height);
    let head = Head::new(all.clone());
    let mut setting = Setting {
        table,
        slots: &slots,
        height,
        headed: head.height,
    };
    for strip in &mut all {
        strip.glue = true;
    }
    // A head that fills most of the page would leave no room for what it heads.
    let repeats = head.height <= height * 0.5;
    let mut heads = vec![head.clone()];
    let mut current = repeats.then_some(heads_from);
    let foot = (!table.goes_on.is_empty()).then(|| {
        heads.push(Head::new(setting.foot()));
        heads_from + heads.len() - 1
    });
    // Where the rows of cells end that are in one piece.
    let mut ends = Vec::new();
    let last = table.rows.len().saturating_sub(1);
    for (at, row) in table.rows.iter().enumerate() {
        let mut strips = match row {
            Row::Cells {
                cells,
                shade,
                anchor,
            } => {
                let mut strips = setting.row(cells, *shade, at == last);
                if let (Some(first), Some(anchor)) = (strips.first_mut(), anchor) {
                    first.anchor = Some(anchor.clone());
                }
                strips
            }
            Row::Section(title) => {
                let mut goes_on = head.strips.clone();
                goes_on.extend(setting.section(title, " (continued)"));
                let goes_on = Head::new(goes_on);
                let fits = goes_on.height <= height * 0.5;
                setting.headed = goes_on.height;
                let mut strips = setting.section(title, "");
                for strip in &mut strips {
                    strip.glue = at != last;
                    strip.head = repeats.then_some(heads_from);
                }
                current = repeats.then_some(heads_from + if fits { heads.len() } else { 0 });
                heads.push(goes_on);
                all.extend(strips);
                continue;
            }
        };
        let is_whole = strips.len() == 1;
        for strip in &mut strips {
            strip.head = current;
            strip.foot = foot.filter(|_| at != last);
        }
        all.extend(strips);
        ends.push(is_whole.then_some(all.len() - 1));
    }
    let rows = ends.len();
    for (at, end) in ends.into_iter().enumerate() {
        let in_company = at + 1 < COMPANY || at + COMPANY >= rows;
        if let (true, Some(strip)) = (
            in_company && at + 1 < rows,
            end.and_then(|e| all.get_mut(e)),
        ) {
            strip.kin = true;
        }
    }
    if let (Some(strip), true) = (all.last_mut(), table.rows.is_empty()) {
        strip.glue = false;
    }
    (all, heads)
}

struct Setting<'a> {
    table: &'a Table,
    slots: &'a [Slot],
    /// Height of a page of content in mm.
    height: f64,
    /// Height in mm that the repeated head takes above the rows.
    headed: f64,
}

impl Setting<'_> {
    fn row(&self, cells: &[Cell], shade: Option<Grey>, last: bool) -> Vec<Strip> {
        let looks = RowLooks {
            pad_x: pad_x(self.table.size),
            pad_y: self.table.size * 0.09,
            fill: shade,
            bottom: Some(if last {
                Pen {
                    thickness: 0.6,
                    ..FIRM
                }
            } else {
                FINE
            }),
            sides: self.table.ruled.then_some(FINE),
            ..RowLooks::default()
        };
        let mut boxes: Vec<Boxed> = Vec::new();
        let mut at = 0;
        for cell in cells {
            let Some(slot) = self.slots.get(at) else {
                self.append(&mut boxes, cell, looks.pad_x);
                continue;
            };
            let span = cell.span.max(1).min(self.slots.len() - at);
            let width = self
                .slots
                .iter()
                .skip(at)
                .take(span)
                .map(|slot| slot.width)
                .sum();
            let align = self
                .table
                .columns
                .get(at)
                .map_or(Align::Left, |column| column.align);
            let looks = Looks {
                size: self.table.size,
                align,
                ..PLAIN
            };
            let text = lines(&cell.lines, width - 2.0 * pad_x(self.table.size), looks);
            boxes.push(Boxed {
                x: slot.x,
                width,
                lines: text,
                fill: cell.shade,
            });
            at += span;
        }
        boxes.extend(self.slots.iter().skip(at).map(|s| Boxed {
            x: s.x,
            width: s.width,
            lines: Vec::new(),
            ..Boxed::default()
        }));
        strips(&boxes, looks, self.room())
    }

    /// Adds a cell there is no column for to the last box.
    fn append(&self, boxes: &mut [Boxed], cell: &Cell, pad: f64) {
        if let Some(last) = boxes.last_mut() {
            let looks = Looks {
                size: self.table.size,
                ..PLAIN
            };
            last.lines
                .extend(lines(&cell.lines, last.width - 2.0 * pad, looks));
        }
    }

    fn section(&self, title: &Styled, ending: &str) -> Vec<Strip> {
        let looks = RowLooks {
            pad_x: pad_x(self.table.size),
            pad_y: self.table.size * 0.1,
            fill: Some(Grey::SHADE),
            bottom: Some(FINE),
            ..RowLooks::default()
        };
        let title = Styled {
            text: format!("{}{ending}", title.text),
            ..title.clone()
        };
        let x = self.slots.first().map_or(0.0, |slot| slot.x);
        let width: f64 = self.slots.iter().map(|slot| slot.width).sum();
        let bold = Looks {
            size: self.table.size,
            weight: Weight::Bold,
            ..PLAIN
        };
        let text = lines(&[title], width - 2.0 * looks.pad_x, bold);
        strips(
            &[Boxed {
                x,
                width,
                lines: text,
                ..Boxed::default()
            }],
            looks,
            self.room(),
        )
    }

    /// What stands below the last row of a page where more follow.
    fn foot(&self) -> Vec<Strip> {
        let looks = RowLooks {
            pad_x: pad_x(self.table.size),
            pad_y: self.table.size * 0.1,
            ..RowLooks::default()
        };
        let bold = Looks {
            size: self.table.size,
            weight: Weight::Bold,
            ..PLAIN
        };
        let width: f64 = self.slots.iter().map(|slot| slot.width).sum();
        let words = Styled::new(self.table.goes_on.as_str()).align(Align::Right);
        let boxes = [Boxed {
            x: 0.0,
            width,
            lines: lines(&[words], width - 2.0 * looks.pad_x, bold),
            ..Boxed::default()
        }];
        strips(&boxes, looks, self.room())
    }

    /// Height in mm that a row may have before it is cut into lines: what a page has
    /// under the repeated head, or half a page where the head takes more than that.
    fn room(&self) -> f64 {
        (self.height - self.headed).max(self.height * 0.5)
    }
}

/// Room left and right of the text of a cell, in mm, for text of a size in points.
pub(super) fn pad_x(size: f64) -> f64 {
    size * 0.16
}

/// Where the columns go. Shares divide what fixed columns leave; if that is too little,
/// every column gives way in proportion. A table without columns has one.
fn slots(columns: &[Column], width: f64) -> Vec<Slot> {
    let mm = |column: &Column| match column.width {
        ColumnWidth::Mm(mm) if mm.is_finite() => mm.max(1.0),
        ColumnWidth::Mm(_) => NARROWEST,
        ColumnWidth::Share(_) => 0.0,
    };
    let share = |column: &Column| match column.width {
        ColumnWidth::Share(share) if share.is_finite() => share.max(0.01),
        ColumnWidth::Share(_) => 1.0,
        ColumnWidth::Mm(_) => 0.0,
    };
    let free = width - columns.iter().map(mm).sum::<f64>();
    let shares: f64 = columns.iter().map(share).sum();
    let asked: Vec<f64> = columns
        .iter()
        .map(|column| match column.width {
            ColumnWidth::Mm(_) => mm(column),
            ColumnWidth::Share(_) => (free * share(column) / shares).max(NARROWEST),
        })
        .collect();
    let all: f64 = asked.iter().sum();
    let scale = if all > width { width / all } else { 1.0 };
    let mut x = 0.0;
    let mut slots = Vec::new();
    for asked in asked {
        slots.push(Slot {
            x,
            width: asked * scale,
        });
        x += asked * scale;
    }
    if slots.is_empty() {
        slots.push(Slot { x: 0.0, width });
    }
    slots
}

#[cfg(test)]
mod tests {
    use super::*;

    fn widths(columns: &[Column], width: f64) -> Vec<f64> {
        slots(columns, width)
            .iter()
            .map(|slot| (slot.width * 100.0).round() / 100.0)
            .collect()
    }

    #[test]
    fn shares_divide_what_fixed_columns_leave() {
        let columns = [
            Column::mm("a", 20.0),
            Column::share("b", 1.0),
            Column::share("c", 3.0),
        ];
        assert_eq!(widths(&columns, 100.0), [20.0, 20.0, 60.0]);
    }

    #[test]
    fn too_many_columns_shrink_to_the_page() {
        let columns: Vec<Column> = (0..40).map(|_| Column::mm("a", 10.0)).collect();
        assert!((widths(&columns, 100.0).iter().sum::<f64>() - 100.0).abs() < 0.1);
    }

    #[test]
    fn strange_widths_still_give_columns() {
        let columns = [
            Column::mm("a", f64::NAN),
            Column::share("b", -1.0),
            Column::mm("c", -4.0),
        ];
        for slot in slots(&columns, 100.0) {
            assert!(slot.width.is_finite() && slot.width > 0.0, "{slot:?}");
        }
        assert_eq!(slots(&[], 50.0).len(), 1);
    }
}
