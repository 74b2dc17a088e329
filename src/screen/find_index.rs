//! What finding looks through: the lines of the list taken apart into what many of them share, each of which a word is looked
//! for in once.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;

use crate::checks::Verdict;
use crate::job::owner::Kind;
use crate::job::{Place, Spot, Test};

use super::find::{Goal, Hit, lower, name_of, owner_of};
use super::state::State;

/// Made as far as words are looked for; dropped when findings or steps stand elsewhere, or the record was edited. Verdicts and
/// readings aren't in it.
#[derive(Debug, Default)]
pub(super) struct Index {
    /// Steps of the walk.
    pub(super) steps: RefCell<Lines>,
    /// What is worked out.
    pub(super) findings: RefCell<Lines>,
    /// Parts of the record, with what their lines show in small letters.
    pub(super) parts: OnceCell<Vec<(Spot, String)>>,
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
        self.found(words, most, state, place, |lines, at| {
            let step = steps.get(at)?;
            let of = (step.stage, step.kind, step.place.test);
            let name = match lines.names.get(&of) {
                Some(name) => *name,
                None => {
                    let name = lines.text(name_of(state, step));
                    lines.names.insert(of, name);
                    name
                }
            };
            lines.line(at, &step.place, name, &step.title);
            Some(())
        })
    }

    /// What is worked out that has every word, as indices of findings, at most `most`.
    pub(super) fn of_findings(&mut self, state: &State, words: &[&str], most: usize) -> Vec<usize> {
        let findings = &state.findings;
        let place = |at: usize| findings.get(at).map(|finding| &finding.place);
        self.found(words, most, state, place, |lines, at| {
            let place = &findings.get(at)?.place;
            if state.plan.position(place).is_none() {
                let name = lines.text(place.test.heading());
                lines.line(at, place, name, &owner_of(state, place));
            }
            Some(())
        })
    }

    /// Looks through the lines, and takes more of them apart as long as there are too few: `more` does one, and says where there
    /// is none.
    fn found<'p>(
        &mut self,
        words: &[&str],
        most: usize,
        state: &State,
        place: impl Fn(usize) -> Option<&'p Place>,
        mut more: impl FnMut(&mut Lines, usize) -> Option<()>,
    ) -> Vec<usize> {
        let mut sought: Vec<Sought<'_>> = words.iter().map(|word| Sought::new(word)).collect();
        let verdict = |line: &Line| place(line.at).map(|p| state.verdicts.of(p));
        let mut out = Vec::new();
        let mut next = 0;
        while out.len() < most {
            let Some(line) = self.lines.get(next).copied() else {
                if more(self, self.looked).is_none() {
                    break;
                }
                self.looked += 1;
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

/// What the lines of the record show, in small letters.
pub(super) fn lines_of_parts(parts: impl Iterator<Item = Hit>) -> Vec<(Spot, String)> {
    parts
        .filter_map(|hit| match &hit.goal {
            Goal::Part(spot) => Some((spot.clone(), lower(&hit))),
            Goal::Place(_) | Goal::Key(_) => None,
        })
        .collect()
}
