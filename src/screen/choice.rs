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
    /// Whether a reading is a false entry.
    TakeBack,
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
    /// What was typed to find a line, where no own words are allowed.
    pub typed: String,
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
            typed: String::new(),
        }
    }
}

impl Choice {
    /// What Enter would take: own words where any are typed, else the selected line; nothing where what was typed is on no line.
    pub fn taken(&self) -> Option<String> {
        match &self.own {
            Some(field) if !field.is_empty() => Some(field.text().trim().to_string()),
            None if self.is_lost() => None,
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
        self.typed.clear();
        self.moved = true;
    }

    /// Whether what was typed is on no line.
    pub fn is_lost(&self) -> bool {
        !self.typed.is_empty() && self.found().is_none()
    }

    /// Whether what Enter would take was typed in words, or gone to line by line.
    pub fn is_deliberate(&self) -> bool {
        let words = self.own.as_ref().is_some_and(|field| !field.is_empty());
        words || (self.moved && self.number.is_none())
    }

    /// Types a character. The number of a line selects it, and Enter takes it; a number that other characters follow was
    /// the beginning of own words, or of words to find a line by where own words aren't allowed.
    pub fn type_char(&mut self, c: char) {
        let Some(field) = &mut self.own else {
            self.find(c);
            return;
        };
        let line = c.to_digit(10).and_then(|d| (d as usize).checked_sub(1));
        if field.is_empty()
            && self.number.is_none()
            && let Some(n) = line.filter(|n| *n < self.lines.len())
        {
            self.selected = n;
            self.number = Some(c);
            return;
        }
        for c in self.number.take().into_iter().chain([c]) {
            field.insert(c);
        }
    }

    /// Finds a line by what is typed. The same letter again goes to the next line that begins with it.
    fn find(&mut self, c: char) {
        let again = self.typed.chars().all(|t| t == c) && c.is_alphabetic();
        if c == ' ' && self.typed.is_empty() {
            return;
        }
        self.typed.push(c);
        if again && self.typed.chars().count() > 1 && self.found().is_none() {
            self.typed.pop();
            let n = self.lines.len();
            let next = (self.selected + 1..n).chain(0..n);
            let next = next.into_iter().find(|i| self.begins(*i, &self.typed));
            self.selected = next.unwrap_or(self.selected);
            return;
        }
        self.go_to_found();
    }

    fn go_to_found(&mut self) {
        self.number = None;
        if let Some(found) = self.found() {
            self.selected = found;
            self.number = self.typed.chars().next().filter(char::is_ascii_digit);
        }
    }

    /// The line that what is typed stands for: a single digit the line of that number, letters and longer numbers the line whose first
    /// word they are, else the first that begins with them, else the first that has them in it.
    fn found(&self) -> Option<usize> {
        let mut digits = self.typed.chars();
        if let (Some(c), None) = (digits.next(), digits.next())
            && let Some(d) = c.to_digit(10)
        {
            return (d as usize)
                .checked_sub(1)
                .filter(|n| *n < self.lines.len());
        }
        let mut all = 0..self.lines.len();
        let is = |i: &usize| {
            self.lines.get(*i).is_some_and(|(_, shown)| {
                let first = shown.split_whitespace().next();
                first.is_some_and(|first| plain(first) == plain(&self.typed))
            })
        };
        let whole = all.clone().find(is);
        let begins = whole.or_else(|| all.clone().find(|i| self.begins(*i, &self.typed)));
        // A single letter is in nearly every line.
        let word = self.typed.chars().count() > 1;
        begins.or_else(|| all.find(|i| word && self.has(*i, &self.typed)))
    }

    fn has(&self, line: usize, word: &str) -> bool {
        self.lines
            .get(line)
            .is_some_and(|(_, shown)| plain(shown).contains(&plain(word)))
    }

    fn begins(&self, line: usize, with: &str) -> bool {
        self.lines
            .get(line)
            .is_some_and(|(_, shown)| plain(shown).starts_with(&plain(with)))
    }

    /// Pastes into own words, where they are allowed.
    ///
    /// # Errors
    /// How many lines there are, where they are several.
    pub fn paste(&mut self, text: &str) -> Result<(), usize> {
        let Some(field) = &mut self.own else {
            for c in text.chars().filter(|c| !c.is_control()).take(LONGEST) {
                self.type_char(c);
            }
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
        if self.typed.pop().is_some() {
            self.go_to_found();
        }
        if let Some(field) = &mut self.own {
            field.backspace();
        }
    }
}

/// Most that is pasted to find a line by.
const LONGEST: usize = 60;

/// As it is compared: without spaces and capitals, which nobody types the same.
fn plain(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_whitespace())
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    fn devices() -> Choice {
        let lines = [
            "none",
            "BS EN 60898",
            "BS EN 61009",
            "BS 88-2",
            "BS 88-3",
            "BS 3036",
        ];
        let lines = lines.iter().map(|l| (l.to_string(), l.to_string()));
        Choice::new(Topic::Field, "device".into(), lines.collect(), 0, false)
    }

    fn typed(text: &str) -> Choice {
        let mut choice = devices();
        text.chars().for_each(|c| choice.type_char(c));
        choice
    }

    /// The digits of a number are no numbers of lines: what is printed on a device finds the device.
    #[test]
    fn a_number_finds_the_line_that_has_it_and_never_another() {
        for (text, line) in [
            ("60898", Some("BS EN 60898")),
            ("61009", Some("BS EN 61009")),
            ("88-3", Some("BS 88-3")),
            ("3036", Some("BS 3036")),
            ("bsen61", Some("BS EN 61009")),
            ("BS 3", Some("BS 3036")),
            ("6", Some("BS 3036")),
            ("none", Some("none")),
            ("60899", None),
            ("62423", None),
            ("9", None),
            ("x", None),
            ("2x", None),
        ] {
            assert_eq!(typed(text).taken().as_deref(), line, "{text}");
        }
    }

    #[test]
    fn what_was_typed_can_be_taken_back_or_left_for_the_arrows() {
        let mut choice = typed("60899");
        choice.backspace();
        assert_eq!(choice.taken().as_deref(), Some("BS EN 60898"));
        let mut choice = typed("60899");
        choice.step(1);
        assert!(choice.taken().is_some() && choice.typed.is_empty());
        assert_eq!(typed("b").selected, 1);
        assert_eq!(typed("bb").selected, 2);
        assert_eq!(typed("bbb").selected, 3);
    }
}
