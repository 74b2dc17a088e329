//! Notes under a table: text that is too long for a cell, numbered.

use crate::paper::flow::{Block, Styled};
use crate::paper::page::Grey;

/// The notes of one table. The same text gets the same number.
#[derive(Debug, Default)]
pub(super) struct Notes {
    texts: Vec<String>,
}

impl Notes {
    /// The sign that leads to the note, such as `[2]`.
    pub(super) fn sign(&mut self, text: impl Into<String>) -> String {
        let text = text.into();
        let at = self
            .texts
            .iter()
            .position(|t| *t == text)
            .unwrap_or_else(|| {
                self.texts.push(text);
                self.texts.len() - 1
            });
        format!("[{}]", at + 1)
    }

    /// The notes, to be set under the table.
    pub(super) fn blocks(self) -> Vec<Block> {
        self.texts
            .iter()
            .enumerate()
            .map(|(at, text)| {
                Block::Paragraph(Styled::new(format!("[{}] {text}", at + 1)).size(6.8))
            })
            .collect()
    }
}

/// What the marks under the readings mean.
pub(super) fn key() -> Block {
    Block::Paragraph(
        Styled::new(
            "Under a reading: its limit, the verdict, and how far it is from the limit. = within  ~ close: nearer to the limit than the instrument is certain  \
             ? query: contradicts another entry, or can't be judged  ! outside  . open: not yet taken  - excused  \
             – nothing to record  (a) apprentice  (q) qualified  + countersigned by  + ? to be countersigned",
        )
        .size(6.2)
        .grey(Grey::LABEL),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_note_keeps_its_number() {
        let mut notes = Notes::default();
        let signs = ["roof wet", "no neutral", "roof wet"].map(|t| notes.sign(t));
        assert_eq!(signs, ["[1]", "[2]", "[1]"]);
        assert_eq!(notes.blocks().len(), 2);
    }
}
