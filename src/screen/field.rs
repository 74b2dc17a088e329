//! A one-line text field with a cursor.

use unicode_width::UnicodeWidthChar;

use crate::job::value::LONGEST;

/// Text being typed. The cursor stands before the character with that index.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Field {
    text: String,
    cursor: usize,
    /// A whole value was offered: the next character replaces everything after this many characters.
    offered: Option<usize>,
    /// Longest text, in characters, where it isn't that of a reading.
    longest: Option<usize>,
}

impl Field {
    /// The text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether nothing is typed.
    pub fn is_empty(&self) -> bool {
        self.text.is_empty()
    }

    /// Columns between the start of the text and the cursor.
    pub fn cursor_column(&self) -> usize {
        let before = self.text.chars().take(self.cursor);
        before.map(|c| c.width().unwrap_or(0)).sum()
    }

    /// Empties it.
    pub fn clear(&mut self) {
        *self = Field::default();
    }

    /// Offers a whole value, such as `>999`: Enter takes it, digits replace what follows the first character.
    pub fn offer(&mut self, text: &str) {
        self.text = text.to_string();
        self.cursor = text.chars().count();
        self.offered = Some(1);
    }

    /// Offers a whole value that typing replaces.
    pub fn propose(&mut self, text: &str) {
        self.offer(text);
        self.offered = Some(0);
    }

    /// Begins with a text that may be as long as `longest`; the cursor stands behind it.
    pub fn load(&mut self, text: &str, longest: usize) {
        *self = Field {
            text: text.chars().filter(|c| !c.is_control()).collect(),
            longest: Some(longest),
            ..Field::default()
        };
        self.end();
    }

    /// Types one character; control characters and what is over the longest entry are dropped.
    pub fn insert(&mut self, c: char) {
        if let Some(stays) = self.offered.take() {
            self.text = self.text.chars().take(stays).collect();
            self.cursor = self.text.chars().count();
        }
        if c.is_control() || self.text.chars().count() >= self.longest.unwrap_or(LONGEST) {
            return;
        }
        let at = self.byte(self.cursor);
        self.text.insert(at, c);
        self.cursor += 1;
    }

    /// Types a pasted text of one line, blank lines around it aside; a tab or other control character in it is a blank, so that
    /// two numbers never become one.
    ///
    /// # Errors
    /// How many lines it has, where they are several: nothing is typed.
    pub fn paste(&mut self, text: &str) -> Result<(), usize> {
        let lines: Vec<&str> = lines_of(text)
            .into_iter()
            .map(|line| line.trim_matches(char::is_control))
            .filter(|line| !line.trim().is_empty())
            .collect();
        if lines.len() > 1 {
            return Err(lines.len());
        }
        for c in lines.into_iter().flat_map(str::chars).take(LONGEST) {
            self.insert(if c.is_control() { ' ' } else { c });
        }
        Ok(())
    }

    /// Deletes the character before the cursor.
    pub fn backspace(&mut self) {
        self.offered = None;
        if self.cursor > 0 {
            self.cursor -= 1;
            self.delete();
        }
    }

    /// Deletes the character at the cursor.
    pub fn delete(&mut self) {
        self.offered = None;
        let at = self.byte(self.cursor);
        if at < self.text.len() {
            self.text.remove(at);
        }
    }

    /// Moves the cursor one character left.
    pub fn left(&mut self) {
        self.offered = None;
        self.cursor = self.cursor.saturating_sub(1);
    }

    /// Moves the cursor one character right.
    pub fn right(&mut self) {
        self.offered = None;
        self.cursor = (self.cursor + 1).min(self.text.chars().count());
    }

    /// Moves the cursor to the start.
    pub fn home(&mut self) {
        self.offered = None;
        self.cursor = 0;
    }

    /// Moves the cursor behind the last character.
    pub fn end(&mut self) {
        self.offered = None;
        self.cursor = self.text.chars().count();
    }

    /// Types all of a pasted text, with `between` for each line end or tab.
    pub fn paste_lines(&mut self, text: &str, between: &str) {
        let text = lines_of(text.trim_end())
            .join(between)
            .replace('\t', between);
        for c in text.chars().take(self.longest.unwrap_or(LONGEST)) {
            self.insert(c);
        }
    }

    fn byte(&self, index: usize) -> usize {
        self.text
            .char_indices()
            .nth(index)
            .map_or(self.text.len(), |(i, _)| i)
    }
}

/// The lines of a pasted text. Many terminals send a carriage return for each line end, and other programs have further signs.
pub(super) fn lines_of(text: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(at) = rest.find(['\n', '\r', '\u{85}', '\u{2028}', '\u{2029}']) {
        let (line, end) = rest.split_at(at);
        out.push(line);
        let mut after = end.chars();
        let first = after.next();
        rest = after.as_str();
        if first == Some('\r') {
            rest = rest.strip_prefix('\n').unwrap_or(rest);
        }
    }
    if !rest.is_empty() {
        out.push(rest);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edits_by_character_not_by_byte() {
        let mut f = Field::default();
        assert_eq!(f.paste("aΩé\n"), Ok(()));
        assert_eq!(f.text(), "aΩé");
        f.left();
        f.backspace();
        assert_eq!(f.text(), "aé");
        f.insert('\u{7}');
        f.insert('b');
        assert_eq!((f.text(), f.cursor_column()), ("abé", 2));
        f.delete();
        f.delete();
        assert_eq!(f.text(), "ab");
    }

    #[test]
    fn an_offer_is_taken_or_replaced() {
        let mut f = Field::default();
        f.offer(">999");
        assert_eq!(f.text(), ">999");
        f.insert('2');
        f.insert('0');
        assert_eq!(f.text(), ">20");
    }

    #[test]
    fn never_longer_than_an_entry_may_be() {
        let mut f = Field::default();
        assert_eq!(f.paste(&"x".repeat(10_000)), Ok(()));
        assert_eq!(f.text().chars().count(), LONGEST);
    }

    /// Line ends as they are sent by terminals (CR), kept by files (LF, CR LF) and defined by Unicode (UAX 14: NEL, LS, PS).
    #[test]
    fn two_lines_are_never_one_value() {
        for end in [
            "\n", "\r", "\r\n", "\u{85}", "\u{2028}", "\u{2029}", "\r\r", "\n\n",
        ] {
            let mut f = Field::default();
            assert_eq!(f.paste(&format!("0.4{end}12")), Err(2), "{end:?}");
            assert!(f.is_empty(), "{end:?}");
            assert_eq!(f.paste(&format!("{end}0.4{end}")), Ok(()), "{end:?}");
            assert_eq!(f.text(), "0.4", "{end:?}");
        }
        for between in ['\t', '\u{b}', '\0', '\u{1b}'] {
            let mut f = Field::default();
            assert_eq!(f.paste(&format!("0.4{between}12")), Ok(()));
            assert_eq!(f.text(), "0.4 12", "{between:?}");
        }
        assert_eq!(lines_of("a\r\n\nb\r\rc\r"), ["a", "", "b", "", "c"]);
    }
}
