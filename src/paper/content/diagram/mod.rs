//! The single-line diagram: what feeds what, as far as it is recorded.

mod draw;
mod panels;
mod parts;
mod sheets;
mod symbols;
#[cfg(test)]
pub(super) mod tests;
mod tree;
mod units;

use crate::paper::flow::{Block, Styled};

use super::canvas::Canvas;
use super::sheet::Sheet;
use draw::{Drawer, anchor};

/// The sheets of the diagram, each on a page, then what the record lacks.
pub(super) fn blocks(sheet: &Sheet<'_>) -> Vec<Block> {
    let made = panels::panels(sheet);
    let sheets = sheets::sheets(&made.all);
    let of = sheets.all.len();
    let mut blocks = Vec::new();
    for at in 0..of {
        let title = match (at, of) {
            (_, 1) => "Single-line diagram".to_string(),
            (n, of) => format!("Single-line diagram, sheet {} of {of}", n + 1),
        };
        if at > 0 {
            blocks.push(Block::PageBreak);
        }
        blocks.push(Block::anchored(
            if at == 0 { 1 } else { 2 },
            title,
            anchor(at),
        ));
        let mut drawer = Drawer {
            panels: &made.all,
            sheets: &sheets,
            canvas: Canvas::default(),
        };
        drawer.sheet(at);
        let height = sheets
            .all
            .get(at)
            .and_then(|parts| parts.last())
            .map_or(0.0, |p| p.bottom);
        blocks.push(drawer.canvas.into_block(height));
    }
    let mut said = vec![
        "Symbols: × on a contact is a circuit-breaker, a bar on it a switch or isolator, a ring on it an RCD; three strokes are \
         three lines; broken lines go around what is in one board."
            .to_string(),
    ];
    if made.cut {
        said.push("What ends in … stands in full in the schedules and reports.".into());
    }
    if !made.missing.is_empty() {
        said.push(format!(
            "Not recorded, and so not drawn: {}.",
            made.missing.join("; ")
        ));
    }
    blocks.push(Block::Paragraph(Styled::new(said.join(" ")).size(6.5)));
    blocks
}
