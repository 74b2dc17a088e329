//! A list of choices on top of a view: reasons, people, instruments.

use super::field::Field;

/// What is chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Topic {
    /// Why a reading can't be taken.
    Limitation,
    /// Why a test does not apply.
    NotApplicable,
    /// Why a reading is taken before its turn.
    Around,
    /// Who is entering.
    Who,
    /// Which instrument.
    Instrument,
    /// What a field of the record shall be.
    Field,
    /// Which part to add to the record.
    Start,
    /// Whether to issue the paper or only to draft it.
    Issue,
    /// Whether to keep a pasted list.
    Paste,
    /// Which file to bring readings in from.
    Download,
    /// By which mapping it is read.
    Mapping,
    /// Whether to take a part, or a line of it, out of the record.
    Remove,
    /// What to do about what was found on opening.
    Found,
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
    /// The number of a line that was just typed: perhaps the beginning of own words.
    pub number: Option<char>,
    /// The selection was moved line by line.
    pub moved: bool,
}

impl Choice {
    /// An open list, with the line `selected`.
    pub fn new(
        topic: Topic,
        question: String,
        lines: Vec<(String, String)>,
        selected: usize,
        own_words: bool,
    ) -> Choice {
        let own = own_words.then(Field::default);
        Choice {
            topic,
            question,
            lines,
            selected,
            own,
            number: None,
            moved: false,
        }
    }
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
        self.number = None;
        self.moved = true;
    }

    /// Whether what Enter would take was typed in words, or gone to line by line.
    pub fn is_deliberate(&self) -> bool {
        let words = self.own.as_ref().is_some_and(|field| !field.is_empty());
        words || (self.moved && self.number.is_none())
    }

    /// Types a character. The number of a line selects it, and Enter takes it; a number that other characters follow was
    /// the beginning of own words.
    pub fn type_char(&mut self, c: char) {
        let nothing_typed = self.own.as_ref().is_none_or(Field::is_empty);
        let line = c.to_digit(10).and_then(|d| (d as usize).checked_sub(1));
        if nothing_typed
            && (self.number.is_none() || self.own.is_none())
            && let Some(n) = line.filter(|n| *n < self.lines.len())
        {
            self.selected = n;
            self.number = Some(c);
            return;
        }
        if self.own.is_none() {
            self.jump(c);
        }
        if let Some(field) = &mut self.own {
            for c in self.number.take().into_iter().chain([c]) {
                field.insert(c);
            }
        }
    }

    /// Selects the next line that begins with a letter.
    fn jump(&mut self, c: char) {
        let begins = |i: &usize| {
            let first = self
                .lines
                .get(*i)
                .and_then(|(_, shown)| shown.chars().next());
            first.is_some_and(|f| f.to_lowercase().eq(c.to_lowercase()))
        };
        let n = self.lines.len();
        if let Some(i) = (self.selected + 1..n).chain(0..n).find(begins) {
            self.selected = i;
        }
    }

    /// Pastes into own words, where they are allowed.
    ///
    /// # Errors
    /// How many lines there are, where they are several.
    pub fn paste(&mut self, text: &str) -> Result<(), usize> {
        let Some(field) = &mut self.own else {
            return Ok(());
        };
        if let Some(c) = self.number.take() {
            field.insert(c);
        }
        field.paste(text)
    }

    /// Deletes the last of what was typed.
    pub fn backspace(&mut self) {
        self.number = None;
        if let Some(field) = &mut self.own {
            field.backspace();
        }
    }
}
