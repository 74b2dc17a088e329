//! What finding looks through: the lines of the list taken apart into what many of them share, each of which a word is looked
//! for in once.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;

use crate::checks::Verdict;
use crate::job::owner::Kind;
use crate::job::{Place, Spot, Test};

use super::find::{lower, name_of, owner_of, part};
use super::record::Row;
use super::state::State;

/// Made as far as words are looked for; dropped when findings or steps stand elsewhere, or the record was edited. Verdicts and
/// readings aren't in it.
#[derive(Debug, Default)]
pub(super) struct Index {
    /// Steps of the walk.
    pub(super) steps: RefCell<Lines>,
    /// What is worked out.
    pub(super) findings: RefCell<Lines>,
    /// Parts of the record.
    pub(super) parts: RefCell<Parts>,
}

/// Lines that are taken apart at once while nobody types: less than anybody waiting for a key would notice.
const AT_ONCE: usize = 100;

impl Index {
    /// Takes a few more lines apart; whether there may be still more.
    pub(super) fn prepare(&self, state: &State) -> bool {
        self.steps.borrow_mut().prepare_steps(state)
            || self.findings.borrow_mut().prepare_findings(state)
            || self.parts.borrow_mut().prepare(state)
    }
}

/// Parts of the record, as many as somebody has looked at yet.
#[derive(Debug, Default)]
pub(super) struct Parts {
    /// All of them, where anybody has looked.
    spots: OnceCell<Vec<Spot>>,
    /// What the lines of the first of them show, in small letters.
    lines: Vec<String>,
}

impl Parts {
    fn spots(&self, state: &State) -> &[Spot] {
        self.spots.get_or_init(|| {
            let of_part = |row| match row {
                Row::Part(spot) => Some(spot),
                Row::Head(_) => None,
            };
            let rows = state.record_rows().iter().cloned();
            rows.filter_map(of_part).collect()
        })
    }

    /// The part at an index.
    pub(super) fn spot(&self, state: &State, at: usize) -> Option<Spot> {
        self.spots(state).get(at).cloned()
    }

    /// Indices of the parts whose line has every word, at most `most`.
    pub(super) fn found(&mut self, state: &State, words: &[&str], most: usize) -> Vec<usize> {
        let mut out = Vec::new();
        let mut next = 0;
        while out.len() < most {
            let Some(line) = self.lines.get(next) else {
                if !self.more(state) {
                    break;
                }
                continue;
            };
            out.extend(words.iter().all(|word| line.contains(word)).then_some(next));
            next += 1;
        }
        out
    }

    /// Takes the next line apart; whether there was one.
    fn more(&mut self, state: &State) -> bool {
        let at = self.lines.len();
        let Some(spot) = self.spots(state).get(at) else {
            return false;
        };
        let line = part(state, spot.clone()).map(|hit| lower(&hit));
        self.lines.push(line.unwrap_or_default());
        true
    }

    fn prepare(&mut self, state: &State) -> bool {
        (0..AT_ONCE).all(|_| self.more(state))
    }
}

/// Lines of places, as many as somebody has looked at yet.
#[derive(Debug, Default)]
pub(super) struct Lines {
    /// What lines share, in small letters, each once.
    texts: Vec<String>,
    lines: Vec<Line>,
    /// How many of the steps or findings are taken apart.
    looked: usize,
    known: HashMap<String, usize>,
    tests: HashMap<Test, usize>,
    /// The wording of a step is that of its stage, kind and test.
    names: HashMap<(usize, Kind, Test), usize>,
    /// Address and words of the owner of the line before: mostly the next one's too.
    last: Option<(String, Option<String>, usize)>,
    last_title: Option<(String, usize)>,
}

/// A line, as indices.
#[derive(Debug, Clone, Copy)]
struct Line {
    /// Of the step or finding.
    at: usize,
    /// Of the owner's address among the texts.
    owner: usize,
    /// Of the test's key.
    test: usize,
    /// Of what the test is called and of the owner in words.
    words: [usize; 2],
}

/// Takes one step or finding apart; `None` where there is none.
type Take = fn(&mut Lines, &State, usize) -> Option<()>;

/// A word, and where it stands.
struct Sought<'a> {
    word: &'a str,
    /// For each text whether it has it, where that was looked at.
    has: Vec<Option<bool>>,
    /// Verdicts whose word or mark has it.
    verdicts: Vec<Verdict>,
    /// In every line.
    everywhere: bool,
}

impl<'a> Sought<'a> {
    fn new(word: &'a str) -> Self {
        let of_verdict = |v: &Verdict| v.word().contains(word) || v.mark().to_string() == word;
        Sought {
            word,
            has: Vec::new(),
            verdicts: Verdict::ALL.into_iter().filter(of_verdict).collect(),
            // Between the name and the owner.
            everywhere: word == "·",
        }
    }

    fn is_in(&mut self, texts: &[String], at: usize) -> bool {
        if self.has.len() < texts.len() {
            self.has.resize(texts.len(), None);
        }
        let (Some(has), Some(text)) = (self.has.get_mut(at), texts.get(at)) else {
            return false;
        };
        *has.get_or_insert_with(|| text.contains(self.word))
    }
}

impl Lines {
    /// Steps of the walk that have every word, none of which has a blank, as indices, at most `most`.
    pub(super) fn of_steps(&mut self, state: &State, words: &[&str], most: usize) -> Vec<usize> {
        let steps = state.plan.steps();
        let place = |at: usize| steps.get(at).map(|step| &step.place);
        self.found(words, most, state, place, Lines::step)
    }

    /// What is worked out that has every word, as indices of findings, at most `most`.
    pub(super) fn of_findings(&mut self, state: &State, words: &[&str], most: usize) -> Vec<usize> {
        let findings = &state.findings;
        let place = |at: usize| findings.get(at).map(|finding| &finding.place);
        self.found(words, most, state, place, Lines::finding)
    }

    fn prepare_steps(&mut self, state: &State) -> bool {
        (0..AT_ONCE).all(|_| self.more(state, Lines::step))
    }

    fn prepare_findings(&mut self, state: &State) -> bool {
        (0..AT_ONCE).all(|_| self.more(state, Lines::finding))
    }

    /// Takes the next step or finding apart; whether there was one.
    fn more(&mut self, state: &State, take: Take) -> bool {
        let there = take(self, state, self.looked).is_some();
        self.looked += usize::from(there);
        there
    }

    fn step(&mut self, state: &State, at: usize) -> Option<()> {
        let step = state.plan.steps().get(at)?;
        let of = (step.stage, step.kind, step.place.test);
        let name = match self.names.get(&of) {
            Some(name) => *name,
            None => {
                let name = self.text(name_of(state, step));
                self.names.insert(of, name);
                name
            }
        };
        self.line(at, &step.place, name, &step.title);
        Some(())
    }

    /// What has a step is found with the steps.
    fn finding(&mut self, state: &State, at: usize) -> Option<()> {
        let place = &state.findings.get(at)?.place;
        if state.plan.position(place).is_none() {
            let name = self.text(place.test.heading());
            self.line(at, place, name, &owner_of(state, place));
        }
        Some(())
    }

    /// Looks through the lines, and takes more of them apart as long as there are too few.
    fn found<'p>(
        &mut self,
        words: &[&str],
        most: usize,
        state: &State,
        place: impl Fn(usize) -> Option<&'p Place>,
        take: Take,
    ) -> Vec<usize> {
        let mut sought: Vec<Sought<'_>> = words.iter().map(|word| Sought::new(word)).collect();
        let verdict = |line: &Line| place(line.at).map(|p| state.verdicts.of(p));
        let mut out = Vec::new();
        let mut next = 0;
        while out.len() < most {
            let Some(line) = self.lines.get(next).copied() else {
                if !self.more(state, take) {
                    break;
                }
                continue;
            };
            next += 1;
            // Blanks keep apart what a line says, so a word is in one of its pieces.
            if sought.iter_mut().all(|s| self.fits(&line, s, &verdict)) {
                out.push(line.at);
            }
        }
        out
    }

    fn fits(
        &self,
        line: &Line,
        sought: &mut Sought<'_>,
        verdict: &impl Fn(&Line) -> Option<Verdict>,
    ) -> bool {
        let [name, owner] = line.words;
        let pieces = [line.owner, line.test, name, owner];
        sought.everywhere
            || pieces
                .into_iter()
                .any(|piece| sought.is_in(&self.texts, piece))
            || self.spans(line, sought.word)
            || (!sought.verdicts.is_empty()
                && verdict(line).is_some_and(|v| sought.verdicts.contains(&v)))
    }

    /// Whether a word goes over the stroke between the owner's address and the test.
    fn spans(&self, line: &Line, word: &str) -> bool {
        let text = |i: usize| self.texts.get(i).map_or("", String::as_str);
        word.match_indices('/').any(|(i, stroke)| {
            let (before, after) = (word.get(..i), word.get(i + stroke.len()..));
            before.is_some_and(|b| text(line.owner).ends_with(b))
                && after.is_some_and(|a| text(line.test).starts_with(a))
        })
    }

    fn text(&mut self, text: &str) -> usize {
        let small = text.to_lowercase();
        if let Some(at) = self.known.get(&small) {
            return *at;
        }
        let at = self.texts.len();
        self.texts.push(small.clone());
        self.known.insert(small, at);
        at
    }

    fn line(&mut self, at: usize, place: &Place, name: usize, title: &str) {
        let owner = match &self.last {
            Some((top, part, owner)) if *top == place.top && *part == place.part => *owner,
            _ => {
                let owner = self.text(&place.owner());
                self.last = Some((place.top.clone(), place.part.clone(), owner));
                owner
            }
        };
        let of_title = match &self.last_title {
            Some((last, known)) if last == title => *known,
            _ => {
                let known = self.text(title);
                self.last_title = Some((title.to_string(), known));
                known
            }
        };
        let test = match self.tests.get(&place.test) {
            Some(known) => *known,
            None => {
                let known = self.text(place.test.key());
                self.tests.insert(place.test, known);
                known
            }
        };
        self.lines.push(Line {
            at,
            owner,
            test,
            words: [name, of_title],
        });
    }
}
