//! The one table of keys: dispatch, footer, help and README all come from it.

mod table;

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

pub use table::KEYS;

use super::state::View;
use crate::job::Answer;

/// What a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Action {
    /// Keep what is typed and move on; on a list, take the selected line.
    Take,
    /// Step, line or row before.
    Previous,
    /// Step, line or row after.
    Next,
    /// A page up.
    PageUp,
    /// A page down.
    PageDown,
    /// Column to the left, or cursor left.
    Left,
    /// Column to the right, or cursor right.
    Right,
    /// Board or array before.
    SectionBefore,
    /// Board or array after.
    SectionAfter,
    /// Cursor to the start of what is typed.
    Home,
    /// Cursor behind what is typed.
    End,
    /// The next open step.
    NextOpen,
    /// Delete the character before the cursor.
    Backspace,
    /// Delete the character at the cursor.
    Delete,
    /// Offer "past the scale".
    OverRange,
    /// Choose why it can't be done.
    Limitation,
    /// Choose why it does not apply.
    NotApplicable,
    /// Take back the last change.
    Undo,
    /// Make it again.
    Redo,
    /// Offer the reading above again.
    Repeat,
    /// Mark the row, or take its mark off.
    Mark,
    /// Mark every row where this test is open.
    MarkOpen,
    /// Bring in readings from a file.
    Bring,
    /// Jump to the next to countersign.
    NextToSign,
    /// Jump to the next that is outside.
    NextOutside,
    /// Jump to the next that is queried.
    NextQuery,
    /// The other way through the stages.
    TurnOrder,
    /// Find a place, a part or a key.
    Find,
    /// The guided walk.
    ShowWalk,
    /// The sheet of all places.
    ShowSheet,
    /// What is left before leaving.
    ShowLeft,
    /// The parts of the record.
    ShowRecord,
    /// The map of an array.
    ShowMap,
    /// Add a part to the record.
    Add,
    /// Copy a part.
    Copy,
    /// Take a part out of the record, after a question.
    Remove,
    /// Put a part one place up in its list.
    MoveUp,
    /// Put a part one place down in its list.
    MoveDown,
    /// The figures of a part are as on site.
    AsOnSite,
    /// A line end in a text of several lines.
    LineEnd,
    /// Draft the PDF.
    Draft,
    /// Choose who is entering.
    Who,
    /// Choose the instrument.
    Instrument,
    /// Countersign the reading at hand.
    Countersign,
    /// Go around what the step waits for, with a reason.
    Around,
    /// Take a false entry back.
    TakeBack,
    /// What the verdict at hand goes by.
    Why,
    /// What the test at hand is for.
    Learn,
    /// What opening the job found.
    ShowFound,
    /// Everything that was done.
    ShowHistory,
    /// Keys and cautions.
    Help,
    /// Back out of what is on top.
    Back,
    /// Leave the program.
    Leave,
}

impl Action {
    /// Whether it only moves in what is typed, or in a list that is on the screen.
    pub fn edits_text(self) -> bool {
        matches!(
            self,
            Action::Take
                | Action::Previous
                | Action::Next
                | Action::PageUp
                | Action::PageDown
                | Action::Left
                | Action::Right
                | Action::Home
                | Action::End
                | Action::Backspace
                | Action::Delete
                | Action::Back
        )
    }
}

/// Where a key counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum When {
    /// On every view.
    Always,
    /// On the walk.
    Walk,
    /// On the sheet.
    Sheet,
    /// Where a number is typed, and nothing is typed yet.
    EmptyNumber,
    /// Where a number or a yes or no is typed, and nothing is typed yet.
    EmptyReading,
    /// In a cell of the sheet that takes a number or a yes or no, and nothing is typed yet.
    EmptyCell,
    /// On the list of what is left.
    Left,
    /// On the parts of the record.
    Record,
    /// In the form of a part.
    Form,
    /// Where one finds by typing.
    Find,
    /// On the map of an array.
    Map,
    /// On the readings of a file.
    Bring,
    /// On the page that says why, and on the learn page.
    Why,
    /// On the page of what opening found.
    Found,
    /// On the history.
    History,
    /// On the help.
    Help,
    /// In a list of choices.
    Choice,
    /// In the list of jobs.
    Begin,
}

/// One line of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    /// Where it counts.
    pub when: When,
    /// The keys, any of which does it.
    pub presses: &'static [(KeyCode, KeyModifiers)],
    /// How they are written.
    pub shown: &'static str,
    /// What it does.
    pub action: Action,
    /// A word or two for the footer; empty to leave it out there.
    pub short: &'static str,
    /// A sentence for the help.
    pub says: &'static str,
}

/// What a key press means, given the places where keys count now, the most particular first.
pub fn look_up(event: &KeyEvent, now: &[When]) -> Option<Action> {
    // Terminals differ in whether Shift comes with a typed character or with BackTab.
    let mut mods = event.modifiers - KeyModifiers::SHIFT;
    if event.code == KeyCode::BackTab {
        mods = KeyModifiers::SHIFT;
    }
    let press = (event.code, mods);
    now.iter().find_map(|when| {
        KEYS.iter()
            .find(|k| k.when == *when && k.presses.contains(&press))
            .map(|k| k.action)
    })
}

/// Where keys count on a view, the most particular first. `empty`: how the focused test is answered, where nothing is
/// typed yet.
pub fn places(view: View, choosing: bool, empty: Option<Answer>) -> Vec<When> {
    if choosing {
        return vec![When::Choice];
    }
    let mut out = vec![match view {
        View::Walk => When::Walk,
        View::Sheet => When::Sheet,
        View::Left => When::Left,
        View::Record => When::Record,
        View::Form => When::Form,
        View::Find => When::Find,
        View::Map => When::Map,
        View::Bring => When::Bring,
        View::Why | View::Learn => When::Why,
        View::Found => When::Found,
        View::History => When::History,
        View::Help => When::Help,
    }];
    if view == View::Sheet && !matches!(empty, None | Some(Answer::Text)) {
        out.push(When::EmptyCell);
    }
    match empty {
        None | Some(Answer::Text) => {}
        Some(Answer::PassFail | Answer::Count | Answer::List | Answer::SignedList) => {
            out.push(When::EmptyReading)
        }
        Some(Answer::Number | Answer::SignedNumber) => {
            out.extend([When::EmptyNumber, When::EmptyReading]);
        }
    }
    out.push(When::Always);
    out
}

#[cfg(test)]
mod tests;
