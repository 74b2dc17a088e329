//! The table of keys.

use ratatui::crossterm::event::{KeyCode, KeyModifiers};

use super::{Action, Key, When};

const NONE: KeyModifiers = KeyModifiers::NONE;
const CTRL: KeyModifiers = KeyModifiers::CONTROL;

macro_rules! key {
    ($when:ident, [$($code:expr, $mods:expr);+], $shown:literal, $action:ident, $short:literal, $says:literal) => {
        Key { when: When::$when, presses: &[$(($code, $mods)),+], shown: $shown, action: Action::$action, short: $short, says: $says }
    };
}

use KeyCode::{Char, Down, Enter, Esc, F, PageDown, PageUp, Tab, Up};

/// Every key of the program.
pub const KEYS: &[Key] = &[
    key!(
        Walk,
        [Enter, NONE],
        "Enter",
        Take,
        "keep, go on",
        "Keep what is typed and go to the next open step; with nothing typed, go on from a step that is taken"
    ),
    key!(Walk, [Down, NONE; Tab, NONE], "Down Tab", Next, "next", "Go to the next step without entering anything"),
    key!(Walk, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "back", "Go back a step; Shift-Tab does the same"),
    key!(
        Walk,
        [Char('o'), CTRL],
        "Ctrl-O",
        NextOpen,
        "",
        "Jump to the next step that is open, for a qualified person also to the next one to countersign"
    ),
    key!(
        Walk,
        [Char('u'), CTRL],
        "Ctrl-U",
        Around,
        "",
        "Go around what the step waits for, with a reason that is recorded and printed; never around what safety hangs on"
    ),
    key!(
        Walk,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "",
        "Scroll the text of the step down"
    ),
    key!(
        Walk,
        [PageUp, NONE],
        "PgUp",
        PageUp,
        "",
        "Scroll the text of the step up"
    ),
    key!(
        EmptyNumber,
        [Char('>'), NONE],
        ">",
        OverRange,
        "past scale",
        "Past the end of the instrument's scale; digits after it replace the offered end"
    ),
    key!(
        EmptyReading,
        [Char('l'), NONE],
        "l",
        Limitation,
        "can't take",
        "Can't be taken: choose or type the reason (Ctrl-L where letters are text)"
    ),
    key!(
        EmptyReading,
        [Char('n'), NONE],
        "n",
        NotApplicable,
        "n/a",
        "Does not apply here: choose or type the reason (Ctrl-N where letters are text)"
    ),
    key!(
        EmptyReading,
        [Char('c'), NONE],
        "c",
        Countersign,
        "",
        "Countersign what an apprentice entered here (where letters are text: on the list of what is left, F4)"
    ),
    key!(
        EmptyReading,
        [Char('x'), CTRL],
        "Ctrl-X",
        TakeBack,
        "",
        "Take a false entry back, whenever it was made; asks first, for a qualified person, and it stays in the record"
    ),
    key!(
        EmptyReading,
        [Char('?'), NONE],
        "?",
        Help,
        "help",
        "This list; Enter on a line does what it says"
    ),
    key!(
        EmptyReading,
        [Char('#'), NONE],
        "#",
        ShowMap,
        "",
        "Map of the array at hand: its modules in order, with their serial numbers and powers"
    ),
    key!(
        EmptyReading,
        [Char('"'), NONE],
        "\"",
        Repeat,
        "as above",
        "Offer the reading of the same test above this one; Enter keeps it here too"
    ),
    key!(
        EmptyReading,
        [Char('h'), NONE],
        "h",
        ShowHistory,
        "",
        "The history: who changed what, when, from what to what; Tab there shows what was found when the job was opened"
    ),
    key!(
        EmptyReading,
        [Char('!'), NONE],
        "!",
        NextOutside,
        "",
        "Jump to the next place that is outside"
    ),
    key!(
        EmptyReading,
        [Char('d'), NONE],
        "d",
        NextQuery,
        "",
        "Jump to the next place that is in doubt (queried)"
    ),
    key!(
        EmptyReading,
        [Char('m'), NONE],
        "m",
        NextOpen,
        "",
        "Jump to the next place that is open: where the reading is missing"
    ),
    key!(
        EmptyReading,
        [Char('/'), NONE],
        "/",
        Find,
        "find",
        "Find a place, a part of the record or a key by typing"
    ),
    key!(
        EmptyReading,
        [Char('i'), NONE],
        "i",
        Bring,
        "",
        "Bring in readings from a file that an instrument wrote; shown before any is kept (Alt-I everywhere)"
    ),
    key!(
        EmptyCell,
        [Char(' '), NONE],
        "Space",
        Mark,
        "mark",
        "Mark the row, or take its mark off: the next reading is kept in all marked rows"
    ),
    key!(
        EmptyCell,
        [Char('*'), NONE],
        "*",
        MarkOpen,
        "mark open",
        "Mark every row where this test is open"
    ),
    key!(
        Sheet,
        [Enter, NONE],
        "Enter",
        Take,
        "keep, down",
        "Keep what is typed and go down a row"
    ),
    key!(Sheet, [Down, NONE], "Down", Next, "", "Row below"),
    key!(Sheet, [Up, NONE], "Up", Previous, "", "Row above"),
    key!(
        Sheet,
        [KeyCode::Left, NONE],
        "Left",
        Left,
        "column",
        "Column to the left; in a typed value, a character left"
    ),
    key!(
        Sheet,
        [KeyCode::Right, NONE],
        "Right",
        Right,
        "column",
        "Column to the right; in a typed value, a character right"
    ),
    key!(Sheet, [Tab, NONE; PageDown, NONE], "Tab", SectionAfter, "next board", "Next board or array; PgDn does the same"),
    key!(Sheet, [KeyCode::BackTab, KeyModifiers::SHIFT; PageUp, NONE], "Shift-Tab", SectionBefore, "", "Board or array before; PgUp does the same"),
    key!(
        Sheet,
        [Char('u'), CTRL],
        "Ctrl-U",
        Around,
        "",
        "Give the reason for entering out of order; it counts until the sheet is left"
    ),
    key!(
        Left,
        [Enter, NONE],
        "Enter",
        Take,
        "go there",
        "Go to the selected place on the walk"
    ),
    key!(Left, [Down, NONE; Tab, NONE], "Down", Next, "", "Line below; Tab does the same"),
    key!(Left, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Line above; Shift-Tab does the same"),
    key!(
        Left,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(Left, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(
        Left,
        [Char('c'), NONE],
        "c",
        Countersign,
        "countersign",
        "Countersign the selected reading of an apprentice"
    ),
    key!(
        Left,
        [Char('!'), NONE],
        "!",
        NextOutside,
        "",
        "The next line that is outside"
    ),
    key!(
        Left,
        [Char('d'), NONE],
        "d",
        NextQuery,
        "",
        "The next line that is in doubt (queried)"
    ),
    key!(
        Left,
        [Char('m'), NONE],
        "m",
        NextOpen,
        "",
        "The next line that is open: where something is missing"
    ),
    key!(
        Left,
        [Char('o'), CTRL],
        "Ctrl-O",
        NextToSign,
        "",
        "The next line to countersign"
    ),
    key!(
        Left,
        [Char('/'), NONE],
        "/",
        Find,
        "find",
        "Find a place, a part of the record or a key by typing"
    ),
    key!(
        Left,
        [Char('h'), NONE],
        "h",
        ShowHistory,
        "",
        "The history: who changed what, when, from what to what; Tab there shows what was found when the job was opened"
    ),
    key!(Left, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Find,
        [Enter, NONE],
        "Enter",
        Take,
        "go there",
        "Go to the selected place or part, or do what the selected key does"
    ),
    key!(Find, [Down, NONE; Tab, NONE], "Down", Next, "down", "Line below; Tab does the same"),
    key!(Find, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "up", "Line above; Shift-Tab does the same"),
    key!(Find, [PageDown, NONE], "PgDn", PageDown, "", "A page down"),
    key!(Find, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(
        Find,
        [Esc, NONE],
        "Esc",
        Back,
        "back",
        "Back to where it was opened"
    ),
    key!(
        Record,
        [Enter, NONE],
        "Enter",
        Take,
        "open",
        "Open the form of the part, or add to the list"
    ),
    key!(Record, [Down, NONE; Tab, NONE], "Down", Next, "", "Line below; Tab does the same"),
    key!(Record, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Line above; Shift-Tab does the same"),
    key!(
        Record,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "",
        "A page down"
    ),
    key!(Record, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(Record, [KeyCode::Insert, NONE; Char('+'), NONE; Char('a'), CTRL], "+ Ins", Add, "add", "Add a part from a list of starting points (or Ctrl-A)"),
    key!(
        Record,
        [Char('k'), CTRL],
        "Ctrl-K",
        Copy,
        "copy",
        "Copy the part, without readings and serial numbers, under a new id"
    ),
    key!(Record, [Char('<'), NONE; Up, CTRL], "<", MoveUp, "up", "Move the part up in its list (or Ctrl-Up)"),
    key!(Record, [Char('>'), NONE; Down, CTRL], ">", MoveDown, "down", "Move the part down in its list (or Ctrl-Down)"),
    key!(
        Record,
        [Char('='), NONE],
        "=",
        AsOnSite,
        "as on site",
        "Say that the figures of the part were compared with what is on site and agree"
    ),
    key!(
        Record,
        [Char('o'), CTRL],
        "Ctrl-O",
        NextOpen,
        "",
        "Jump to the next part that has something to compare or to fill in"
    ),
    key!(
        Record,
        [Char('x'), CTRL],
        "Ctrl-X",
        Remove,
        "remove",
        "Take the part out of the record; asks first"
    ),
    key!(
        Record,
        [Char('i'), NONE],
        "i",
        Bring,
        "",
        "Bring in readings from a file that an instrument wrote; shown before any is kept"
    ),
    key!(
        Record,
        [Char('#'), NONE],
        "#",
        ShowMap,
        "",
        "Map of the array of this line"
    ),
    key!(
        Record,
        [Char('h'), NONE],
        "h",
        ShowHistory,
        "",
        "The history: who changed what, when, from what to what; Tab there shows what was found when the job was opened"
    ),
    key!(
        Record,
        [Char('/'), NONE],
        "/",
        Find,
        "",
        "Find a place, a part of the record or a key by typing"
    ),
    key!(Record, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Map,
        [Enter, NONE],
        "Enter",
        Take,
        "correct",
        "Open the selected module in the record, to correct its serial number"
    ),
    key!(Map, [Down, NONE], "Down", Next, "", "Row below"),
    key!(Map, [Up, NONE], "Up", Previous, "", "Row above"),
    key!(
        Map,
        [KeyCode::Left, NONE],
        "Left",
        Left,
        "module",
        "Module before, in the order of the cable"
    ),
    key!(
        Map,
        [KeyCode::Right, NONE],
        "Right",
        Right,
        "module",
        "Module after, in the order of the cable"
    ),
    key!(
        Map,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "",
        "Some rows down"
    ),
    key!(Map, [PageUp, NONE], "PgUp", PageUp, "", "Some rows up"),
    key!(
        Map,
        [Tab, NONE],
        "Tab",
        SectionAfter,
        "next array",
        "Map of the next array"
    ),
    key!(
        Map,
        [KeyCode::BackTab, KeyModifiers::SHIFT],
        "Shift-Tab",
        SectionBefore,
        "",
        "Map of the array before"
    ),
    key!(Map, [Char('#'), NONE; Esc, NONE], "# Esc", Back, "back", "Back to where it was opened"),
    key!(Map, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Form,
        [Enter, NONE],
        "Enter",
        Take,
        "keep, choose",
        "Keep what is typed; with nothing typed, choose from the list of the field or edit what is there"
    ),
    key!(Form, [Down, NONE; Tab, NONE], "Down", Next, "next", "Field below; Tab does the same"),
    key!(Form, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Field above; Shift-Tab does the same"),
    key!(Form, [PageDown, NONE], "PgDn", PageDown, "", "A page down"),
    key!(Form, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(
        Form,
        [Esc, NONE],
        "Esc",
        Back,
        "the parts",
        "Drop what is typed; with nothing typed, back to the parts"
    ),
    key!(
        Form,
        [KeyCode::Delete, NONE],
        "Delete",
        Delete,
        "empty",
        "With nothing typed, empty the field (Enter keeps that); in a typed value, delete the character at the cursor"
    ),
    key!(
        Form,
        [Enter, KeyModifiers::ALT],
        "Alt-Enter",
        LineEnd,
        "",
        "A line end in a text of several lines; typing \u{b6} does the same"
    ),
    key!(
        Form,
        [Char('a'), CTRL],
        "Ctrl-A",
        Add,
        "add",
        "Add a part from a list of starting points"
    ),
    key!(
        Form,
        [Char('k'), CTRL],
        "Ctrl-K",
        Copy,
        "copy",
        "Copy this part, without readings and serial numbers, under a new id"
    ),
    key!(
        Form,
        [Char('x'), CTRL],
        "Ctrl-X",
        Remove,
        "",
        "Take the selected serial number, or other line of a list, out; asks first"
    ),
    key!(
        Bring,
        [Enter, NONE],
        "Enter",
        Take,
        "keep marked",
        "Keep every marked reading, all of them as one change with one undo; says how many and in whose name, and asks for Enter again"
    ),
    key!(
        Bring,
        [Char(' '), NONE],
        "Space",
        Mark,
        "mark",
        "Mark the reading, or take its mark off; a marked one strikes out what stands at its place"
    ),
    key!(
        Bring,
        [Char('*'), NONE],
        "*",
        MarkOpen,
        "all or none",
        "Mark every reading that nothing speaks against; where all of them are, take all marks off"
    ),
    key!(Bring, [Down, NONE; Tab, NONE], "Down", Next, "", "Reading below; Tab does the same"),
    key!(Bring, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Reading above; Shift-Tab does the same"),
    key!(
        Bring,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(Bring, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(
        Bring,
        [Esc, NONE],
        "Esc",
        Back,
        "keep none",
        "Leave the file; what isn't kept yet stays in it"
    ),
    key!(Bring, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Why,
        [Enter, NONE],
        "Enter",
        Take,
        "back",
        "Back to where it was opened"
    ),
    key!(Why, [Down, NONE; Tab, NONE], "Down", Next, "", "Line below; Tab does the same"),
    key!(Why, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Line above; Shift-Tab does the same"),
    key!(
        Why,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(Why, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(Why, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Found,
        [Enter, NONE],
        "Enter",
        Take,
        "decide",
        "Decide what to do about what was found, where that has to be decided; else back to work"
    ),
    key!(Found, [Tab, NONE; Char('h'), NONE], "Tab h", ShowHistory, "history", "The history: who changed what, when, from what to what"),
    key!(Found, [Down, NONE], "Down", Next, "", "Line below"),
    key!(Found, [Up, NONE], "Up", Previous, "", "Line above"),
    key!(
        Found,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(Found, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(Found, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        History,
        [Enter, NONE],
        "Enter",
        Take,
        "back",
        "Back to where it was opened"
    ),
    key!(
        History,
        [Tab, NONE],
        "Tab",
        ShowFound,
        "found",
        "What was found when this job was opened: brought back, in doubt, copied, to decide"
    ),
    key!(History, [Down, NONE], "Down", Next, "", "Line below"),
    key!(History, [Up, NONE], "Up", Previous, "", "Line above"),
    key!(
        History,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(History, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(History, [Char('?'), NONE], "?", Help, "help", "This list"),
    key!(
        Help,
        [Enter, NONE],
        "Enter",
        Take,
        "do it",
        "Do what the selected line says"
    ),
    key!(Help, [Down, NONE; Tab, NONE], "Down", Next, "", "Line below; Tab does the same"),
    key!(Help, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "", "Line above; Shift-Tab does the same"),
    key!(
        Help,
        [PageDown, NONE],
        "PgDn",
        PageDown,
        "page",
        "A page down"
    ),
    key!(Help, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(
        Choice,
        [Enter, NONE],
        "Enter",
        Take,
        "take it",
        "Take the selected line, or what is typed"
    ),
    key!(Choice, [Down, NONE; Tab, NONE], "Down", Next, "down", "Line below; Tab does the same; the number of a line selects it"),
    key!(Choice, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "up", "Line above; Shift-Tab does the same"),
    key!(Choice, [Esc, NONE], "Esc", Back, "back", "Choose nothing"),
    key!(
        Choice,
        [KeyCode::Backspace, NONE],
        "Backspace",
        Backspace,
        "",
        "Delete the character before the cursor"
    ),
    key!(Choice, [Char('c'), CTRL; Char('q'), CTRL; F(10), NONE], "F10", Leave, "", "Leave; everything kept is on disk (or Ctrl-Q, Ctrl-C)"),
    key!(
        Begin,
        [Enter, NONE],
        "Enter",
        Take,
        "open",
        "Open the selected job, or make one from the selected starter"
    ),
    key!(Begin, [Down, NONE; Tab, NONE], "Down", Next, "down", "Line below; Tab does the same"),
    key!(Begin, [Up, NONE; KeyCode::BackTab, KeyModifiers::SHIFT], "Up", Previous, "up", "Line above; Shift-Tab does the same"),
    key!(Begin, [PageDown, NONE], "PgDn", PageDown, "", "A page down"),
    key!(Begin, [PageUp, NONE], "PgUp", PageUp, "", "A page up"),
    key!(Begin, [F(1), NONE; Char('?'), NONE], "F1 ?", Help, "help", "What this list is for"),
    key!(Begin, [Esc, NONE; F(10), NONE; Char('q'), CTRL; Char('c'), CTRL], "Esc F10", Leave, "leave", "Leave the program (or Ctrl-Q, Ctrl-C)"),
    key!(Always, [F(2), NONE; Char('w'), CTRL], "F2", ShowWalk, "walk", "The walk: step by step (or Ctrl-W)"),
    key!(Always, [F(3), NONE; Char('s'), CTRL], "F3", ShowSheet, "sheet", "The sheet: every circuit, array and confirmation, to enter by circuit (or Ctrl-S)"),
    key!(Always, [F(4), NONE; Char('t'), CTRL], "F4", ShowLeft, "left to do", "What is still outside, open, queried or close, before leaving (or Ctrl-T)"),
    key!(Always, [F(8), NONE; Char('g'), CTRL], "F8", Why, "why", "How the limit here was made, and every entry and source it goes by (or Ctrl-G)"),
    key!(
        Always,
        [Char('f'), CTRL],
        "Ctrl-F",
        Find,
        "",
        "Find a place, a part of the record or a key by typing"
    ),
    key!(
        Always,
        [Char('i'), KeyModifiers::ALT],
        "Alt-I",
        Bring,
        "",
        "Bring in readings from a file that an instrument wrote; shown before any is kept"
    ),
    key!(Always, [F(12), NONE; Char('v'), CTRL], "F12", TurnOrder, "", "The walk test by test or place by place, turn about (or Ctrl-V)"),
    key!(Always, [F(10), NONE; Char('q'), CTRL; Char('c'), CTRL], "F10", Leave, "leave", "Leave; everything kept is on disk (or Ctrl-Q, Ctrl-C)"),
    key!(Always, [F(9), NONE; Char('d'), CTRL], "F9", ShowRecord, "record", "The record: people, supply, boards, circuits, arrays and the rest, to edit (or Ctrl-D)"),
    key!(Always, [F(11), NONE; Char('b'), CTRL], "F11", Learn, "learn", "What this test is for, what good looks like, what goes wrong, what can hurt (or Ctrl-B)"),
    key!(Always, [F(5), NONE; Char('p'), CTRL], "F5", Draft, "PDF", "Draft the PDF beside the job file (or Ctrl-P)"),
    key!(Always, [F(6), NONE; Char('e'), CTRL], "F6", Who, "who", "Choose who is entering (or Ctrl-E)"),
    key!(Always, [F(7), NONE; Char('r'), CTRL], "F7", Instrument, "instrument", "Choose the instrument for this kind of reading (or Ctrl-R)"),
    key!(
        Always,
        [Char('l'), CTRL],
        "Ctrl-L",
        Limitation,
        "",
        "Can't be taken: choose or type the reason"
    ),
    key!(
        Always,
        [Char('n'), CTRL],
        "Ctrl-N",
        NotApplicable,
        "",
        "Does not apply here: choose or type the reason"
    ),
    key!(
        Always,
        [Char('z'), CTRL],
        "Ctrl-Z",
        Undo,
        "undo",
        "Take back the last change; it stays in the journal"
    ),
    key!(
        Always,
        [Char('y'), CTRL],
        "Ctrl-Y",
        Redo,
        "",
        "Make it again"
    ),
    key!(
        Always,
        [KeyCode::Left, NONE],
        "Left",
        Left,
        "",
        "In a typed value, a character left"
    ),
    key!(
        Always,
        [KeyCode::Right, NONE],
        "Right",
        Right,
        "",
        "In a typed value, a character right"
    ),
    key!(
        Always,
        [KeyCode::Backspace, NONE],
        "Backspace",
        Backspace,
        "",
        "Delete the character before the cursor"
    ),
    key!(
        Always,
        [KeyCode::Delete, NONE],
        "Delete",
        Delete,
        "",
        "Delete the character at the cursor"
    ),
    key!(
        Always,
        [KeyCode::Home, NONE],
        "Home",
        Home,
        "",
        "In a typed value, to its start"
    ),
    key!(
        Always,
        [KeyCode::End, NONE],
        "End",
        End,
        "",
        "In a typed value, to its end"
    ),
    key!(
        Always,
        [F(1), NONE],
        "F1",
        Help,
        "keys",
        "This list, also where letters are text"
    ),
    key!(
        Always,
        [Esc, NONE],
        "Esc",
        Back,
        "",
        "Drop what is typed; from another view, back to the walk"
    ),
];
