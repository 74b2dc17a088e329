//! A list of choices on top of a view: reasons, people, instruments.

use super::field::Field;

/// What is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    /// Why a reading can't be taken.
    Limitation,
    /// Why a test does not apply.
    NotApplicable,
    /// Who is entering.
    Who,
    /// Which instrument.
    Instrument,
}

/// An open list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// What is chosen.
    pub topic: Topic,
    /// What is asked.
    pub question: String,
    /// Lines: what a choice yields, and what is shown.
    pub lines: Vec<(String, String)>,
    /// Selected line.
    pub selected: usize,
    /// Own words, where they are allowed.
    pub own: Option<Field>,
}

impl Choice {
    /// What Enter would take: own words where any are typed, else the selected line.
    pub fn taken(&self) -> Option<String> {
        match &self.own {
            Some(field) if !field.is_empty() => Some(field.text().trim().to_string()),
            _ => self
                .lines
                .get(self.selected)
                .map(|(value, _)| value.clone()),
        }
    }

    /// Moves the selection.
    pub fn step(&mut self, by: isize) {
        let last = self.lines.len().saturating_sub(1);
        self.selected = self.selected.saturating_add_signed(by).min(last);
    }

    /// Takes a typed character: the number of a line selects and takes it, other characters are own words.
    /// Returns whether a line was taken.
    pub fn type_char(&mut self, c: char) -> bool {
        let own_is_empty = self.own.as_ref().is_none_or(Field::is_empty);
        if own_is_empty
            && let Some(n) = c.to_digit(10).and_then(|d| (d as usize).checked_sub(1))
            && n < self.lines.len()
        {
            self.selected = n;
            return true;
        }
        if let Some(field) = &mut self.own {
            field.insert(c);
        }
        false
    }
}
