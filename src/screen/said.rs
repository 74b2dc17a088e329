//! What was said: the last messages, and errors that nobody can have read yet.

use std::collections::VecDeque;

use chrono::{DateTime, FixedOffset};

use super::state::Message;

/// Most messages that are remembered.
const MOST: usize = 50;

/// What was said, and whether the last error can have been read.
#[derive(Debug, Default)]
pub struct Said {
    /// The last messages, the newest first, each with its time.
    past: VecDeque<(DateTime<FixedOffset>, Message)>,
    /// An error is on the message line, and no key was pressed since it was shown.
    unread: bool,
    /// The message line was drawn since something was said last.
    drawn: bool,
    /// The message line holds only until the next key.
    passing: bool,
    /// How often something was said.
    count: u64,
}

impl Said {
    /// The last messages, the newest first.
    pub fn past(&self) -> impl ExactSizeIterator<Item = &(DateTime<FixedOffset>, Message)> {
        self.past.iter()
    }

    /// The screen was drawn: what it says can be read from now on.
    pub fn shown(&mut self) {
        self.drawn = true;
    }

    /// Whether what the message line says can have been read.
    pub(super) fn was_shown(&self) -> bool {
        self.drawn
    }

    /// A key was pressed. Keys that were typed ahead, before an error was shown, answer something else.
    pub(super) fn key(&mut self) {
        if self.drawn {
            self.unread = false;
        }
    }

    /// What was said last holds only until the next key.
    pub(super) fn pass(&mut self) {
        self.passing = true;
    }

    /// Whether what was said last holds only until a key. It is so no longer.
    pub(super) fn take_passing(&mut self) -> bool {
        std::mem::take(&mut self.passing)
    }

    /// How often something was said.
    pub(super) fn count(&self) -> u64 {
        self.count
    }

    /// Remembers a message, and returns what the message line says now: an error that nobody can have read stays, with
    /// further errors below it.
    pub(super) fn say(
        &mut self,
        old: &Message,
        new: Message,
        now: DateTime<FixedOffset>,
    ) -> Message {
        self.past.push_front((now, new.clone()));
        self.past.truncate(MOST);
        self.passing = false;
        self.count = self.count.wrapping_add(1);
        let line = match (self.unread, new.error) {
            (false, _) => new.clone(),
            (true, false) => return old.clone(),
            (true, true) if old.text.contains(&new.text) => old.clone(),
            (true, true) => Message {
                text: format!("{}\n{}", old.text, new.text),
                error: true,
            },
        };
        self.unread = line.error;
        self.drawn = false;
        line
    }
}
