//! What the texts of a job may hold. They are shown on a terminal and printed on a certificate: a character that moves
//! the cursor, turns the direction of writing round or can't be seen could make one say something else than was recorded.

use super::super::Job;
use super::super::array::Layout;
use super::super::board::Board;
use super::super::device::Rcd;
use super::Finder;

/// Longest name, title, id or serial number, in characters.
const NAME: usize = 120;
/// Longest address or description on one line, in characters.
const LINE: usize = 300;
/// Longest text of several lines, in characters.
const PROSE: usize = 5_000;

/// Longest text of an entry of the history, in characters: what it cuts a text to, and what it says of the rest.
const DEED: usize = 500;

/// Whether a character has no picture of its own or changes the order of those around it. Control characters are not
/// among them; see [`char::is_control`].
pub(crate) fn is_unseen(c: char) -> bool {
    matches!(
        c,
        '\u{ad}'
            | '\u{61c}'
            | '\u{180e}'
            | '\u{200b}'..='\u{200f}'
            | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{feff}'
            | '\u{fff9}'..='\u{fffb}'
            | '\u{e0000}'..='\u{e007f}'
    )
}

/// Whether a text says anything: one letter or digit at least.
pub(crate) fn says_something(text: &str) -> bool {
    text.chars().any(char::is_alphanumeric)
}

/// Whether a text has words: two letters at least. A number alone is no reason.
pub(crate) fn has_words(text: &str) -> bool {
    text.chars().filter(|c| c.is_alphabetic()).nth(1).is_some()
}

/// A text for a message: what could do something to the terminal, or can't be seen, is written as its number.
pub(crate) fn shown(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() || is_unseen(c) {
            out.extend(c.escape_unicode());
        } else {
            out.push(c);
        }
    }
    out
}

impl Finder {
    /// A name, title or number.
    pub(super) fn name(&mut self, field: impl Into<String>, text: &str) {
        self.words(field.into(), text, NAME, false);
    }

    /// An address or description.
    fn line(&mut self, field: impl Into<String>, text: &str) {
        self.words(field.into(), text, LINE, false);
    }

    /// A text that may have several lines.
    fn prose(&mut self, field: impl Into<String>, text: &str) {
        self.words(field.into(), text, PROSE, true);
    }

    /// A text that the program wrote itself, of any length.
    fn seen(&mut self, field: String, text: &str) {
        if text.chars().any(is_unseen) {
            self.words(field, text, usize::MAX, true);
        }
    }

    fn words(&mut self, field: String, text: &str, longest: usize, lines: bool) {
        let bad = |c: &char| is_unseen(*c) || (c.is_control() && !(lines && *c == '\n'));
        if let Some((i, c)) = text.chars().enumerate().find(|(_, c)| bad(c)) {
            let number = format!("U+{:04X}", u32::from(c));
            let (what, remedy) = match c {
                '\n' | '\r' if lines => (
                    format!("a carriage return ({number})"),
                    "save the file with plain line feeds as line ends".to_string(),
                ),
                '\n' | '\r' => (
                    "a line end in a text of one line".to_string(),
                    "write it on one line, and look for a closing quote that is missing".into(),
                ),
                '\t' => (
                    format!("a tab ({number})"),
                    "write a space in its place".into(),
                ),
                c if c.is_control() => (
                    format!("a control character ({number})"),
                    "delete the text and type it again".into(),
                ),
                _ => (
                    format!("a character that can't be seen ({number})"),
                    "delete the text and type it again, instead of pasting it".into(),
                ),
            };
            self.add(
                field,
                text,
                format!("{what}, as character {}", i + 1),
                remedy,
            );
            return;
        }
        let length = text.chars().count();
        if length > longest {
            self.add(
                field,
                text,
                format!("the text has {length} characters"),
                format!("shorten it to at most {longest}"),
            );
        }
    }
}

impl Job {
    /// Looks at every text but the readings, which are read one by one.
    pub(super) fn text_problems(&self, f: &mut Finder) {
        f.name("kept_digest", &self.kept_digest);
        f.name("reference", &self.reference);
        f.name("title", &self.title);
        f.name("client.name", &self.client.name);
        f.line("client.address", &self.client.address);
        f.name("client.contact", &self.client.contact);
        f.line("address", &self.address);
        f.prose("extent", &self.extent);
        f.prose("existing", &self.existing);
        f.prose("exceptions", &self.exceptions);
        f.line("monitoring", &self.monitoring);
        for (i, document) in self.documents.iter().enumerate() {
            f.line(format!("documents[{i}]"), document);
        }
        for (i, p) in self.people.iter().enumerate() {
            f.name(format!("people[{i}].name"), &p.name);
            f.name(format!("people[{i}].firm"), &p.firm);
            f.name(format!("people[{i}].phone"), &p.phone);
            f.line(format!("people[{i}].address"), &p.address);
            f.name(format!("people[{i}].registration"), &p.registration);
        }
        for (i, t) in self.instruments.iter().enumerate() {
            f.name(format!("instruments[{i}].kind"), &t.kind);
            f.name(format!("instruments[{i}].make"), &t.make);
            f.name(format!("instruments[{i}].serial"), &t.serial);
        }
        f.line("supply.main_switch", &self.supply.main_switch);
        f.line("supply.electrode", &self.supply.electrode);
        f.name("grid.operator", &self.grid.operator);
        f.name("grid.meter_number", &self.grid.meter_number);
        f.name("grid.acceptance", &self.grid.acceptance);
        f.name("grid.application", &self.grid.application);
        f.name("grid.operator_phone", &self.grid.operator_phone);
        for (i, b) in self.bonds.iter().enumerate() {
            f.name(format!("bonds[{i}].to"), &b.to);
        }
        for (i, b) in self.boards.iter().enumerate() {
            board_texts(f, &format!("boards[{i}]"), b);
        }
        self.source_texts(f);
        self.history_texts(f);
        for (i, o) in self.observations.iter().enumerate() {
            f.prose(format!("observations[{i}].text"), &o.text);
            f.name(format!("observations[{i}].by"), &o.by);
            for (k, photo) in o.photos.iter().enumerate() {
                f.line(format!("observations[{i}].photos[{k}]"), photo);
            }
        }
    }

    fn history_texts(&self, f: &mut Finder) {
        let is_bad = |text: &str| {
            text.chars().count() > DEED || text.chars().any(|c| c.is_control() || is_unseen(c))
        };
        for (i, deed) in self.history.iter().enumerate() {
            for (part, text) in [&deed.by, &deed.what, &deed.old, &deed.new, &deed.digest]
                .into_iter()
                .enumerate()
            {
                if is_bad(text) {
                    f.words(format!("history.deeds[{i}].{part}"), text, DEED, false);
                }
            }
        }
        f.name("history.head", self.history.head());
        for (i, edit) in self.edits.iter().enumerate() {
            for text in edit.how.iter().chain([&edit.by, &edit.what]) {
                f.seen(format!("edits[{i}]"), text);
            }
        }
        for (i, back) in self.taken_back.iter().enumerate() {
            let reading = &back.reading;
            let signed = reading.countersigned.as_ref().map(|c| &c.by);
            let texts = [Some(&reading.typed), Some(&reading.by), Some(&back.by)];
            let more = [signed, reading.instrument.as_ref()];
            for text in texts.into_iter().chain(more).flatten() {
                f.seen(format!("taken_back[{i}]"), text);
            }
        }
        for seat in self.seats() {
            for (test, entry) in seat.readings.iter() {
                for reading in &entry.struck {
                    f.seen(seat.place(test).to_string(), &reading.typed);
                }
            }
        }
    }

    fn source_texts(&self, f: &mut Finder) {
        for (i, v) in self.inverters.iter().enumerate() {
            f.name(format!("inverters[{i}].make"), &v.make);
            f.name(format!("inverters[{i}].serial"), &v.serial);
            f.name(format!("inverters[{i}].circuit"), &v.circuit);
            f.line(format!("inverters[{i}].location"), &v.location);
            f.name(format!("inverters[{i}].firmware"), &v.firmware);
            f.name(format!("inverters[{i}].type_test"), &v.type_test);
            f.line(format!("inverters[{i}].ac_isolator"), &v.ac_isolator);
            f.line(format!("inverters[{i}].dc_isolator"), &v.dc_isolator);
        }
        for (i, a) in self.arrays.iter().enumerate() {
            let at = format!("arrays[{i}]");
            f.name(format!("{at}.name"), &a.name);
            f.name(format!("{at}.module.make"), &a.module.make);
            f.line(format!("{at}.mounting"), &a.mounting);
            f.line(format!("{at}.cable"), &a.cable);
            f.line(format!("{at}.frame_bond"), &a.frame_bond);
            f.line(format!("{at}.dc_spd"), &a.dc_spd);
            match &a.layout {
                Layout::Branches(list) => {
                    for (j, b) in list.iter().enumerate() {
                        let at = format!("{at}.layout[{j}]");
                        f.name(format!("{at}.name"), &b.name);
                        for (k, u) in b.units.iter().enumerate() {
                            f.name(format!("{at}.units[{k}].module"), &u.module);
                            f.name(format!("{at}.units[{k}].inverter"), &u.inverter);
                        }
                    }
                }
                Layout::Strings(list) => {
                    for (j, s) in list.iter().enumerate() {
                        let at = format!("{at}.layout[{j}]");
                        f.name(format!("{at}.name"), &s.name);
                        f.name(format!("{at}.input"), &s.input);
                        for (k, m) in s.modules.iter().enumerate() {
                            f.name(format!("{at}.modules[{k}]"), m);
                        }
                    }
                }
            }
        }
        for (i, s) in self.storage.iter().enumerate() {
            let at = format!("storage[{i}]");
            f.name(format!("{at}.make"), &s.make);
            f.name(format!("{at}.serial"), &s.serial);
            f.line(format!("{at}.location"), &s.location);
            f.name(format!("{at}.chemistry"), &s.chemistry);
            f.name(format!("{at}.firmware"), &s.firmware);
            f.name(format!("{at}.type_test"), &s.type_test);
            f.line(format!("{at}.isolator"), &s.isolator);
            f.line(format!("{at}.backup_feeds"), &s.backup_feeds);
        }
    }
}

fn board_texts(f: &mut Finder, at: &str, b: &Board) {
    let rcd = |f: &mut Finder, at: &str, rcd: &Option<Rcd>| {
        if let Some(rcd) = rcd {
            f.name(format!("{at}.rcd.standard"), &rcd.standard);
            f.line(format!("{at}.rcd.declaration"), &rcd.declaration);
        }
    };
    f.name(format!("{at}.name"), &b.name);
    f.line(format!("{at}.location"), &b.location);
    f.line(format!("{at}.main_switch"), &b.main_switch);
    f.line(format!("{at}.spd"), &b.spd);
    f.line(format!("{at}.no_spd"), &b.no_spd);
    rcd(f, at, &b.rcd);
    for (j, c) in b.circuits.iter().enumerate() {
        let at = format!("{at}.circuits[{j}]");
        f.name(format!("{at}.name"), &c.name);
        f.prose(format!("{at}.remarks"), &c.remarks);
        rcd(f, &at, &c.rcd);
        if let Some(cable) = &c.cable {
            f.name(format!("{at}.cable.method"), &cable.method);
        }
    }
}
