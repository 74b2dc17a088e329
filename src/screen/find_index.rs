//! What finding looks through: the lines of the list taken apart into what many of them share, each of which a word is looked
//! for in once.

use std::cell::OnceCell;
use std::collections::HashMap;

use crate::checks::Verdict;
use crate::job::{Place, Spot, Test};

use super::find::{Goal, Hit, lower, name_of, owner_of};
use super::state::State;

/// Made when the first word is looked for; dropped when the list is opened, and with whatever is kept or edited.
#[derive(Debug, Default)]
pub(super) struct Index {
    /// Steps of the walk.
    pub(super) steps: OnceCell<Lines>,
    /// What is worked out.
    pub(super) findings: OnceCell<Lines>,
    /// Parts of the record, with what their lines show in small letters.
    pub(super) parts: OnceCell<Vec<(Spot, String)>>,
}

/// Lines of places.
#[derive(Debug, Default)]
pub(super) struct Lines {
    /// What lines share, in small letters, each once.
    texts: Vec<String>,
    lines: Vec<Line>,
}

/// A line, as indices.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    /// Of the step or finding.
    pub(super) at: usize,
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
    /// For each text, whether it has it.
    has: Vec<bool>,
    /// Verdicts whose word or mark has it.
    verdicts: Vec<Verdict>,
    /// In every line.
    everywhere: bool,
}

impl Lines {
    /// The lines that have every word, none of which has a blank; blanks keep apart what a line says, so a word is in one of its pieces.
    pub(super) fn with<'a>(
        &'a self,
        words: &[&'a str],
        verdict: impl Fn(&Line) -> Option<Verdict> + 'a,
    ) -> impl Iterator<Item = &'a Line> + 'a {
        let sought: Vec<Sought<'a>> = words.iter().map(|word| self.seek(word)).collect();
        self.lines
            .iter()
            .filter(move |line| sought.iter().all(|s| self.fits(line, s, &verdict)))
    }

    fn seek<'a>(&self, word: &'a str) -> Sought<'a> {
        let of_verdict = |v: &Verdict| v.word().contains(word) || v.mark().to_string() == word;
        Sought {
            word,
            has: self.texts.iter().map(|t| t.contains(word)).collect(),
            verdicts: Verdict::ALL.into_iter().filter(of_verdict).collect(),
            // Between the name and the owner.
            everywhere: word == "·",
        }
    }

    fn fits(
        &self,
        line: &Line,
        sought: &Sought<'_>,
        verdict: &impl Fn(&Line) -> Option<Verdict>,
    ) -> bool {
        let has = |text: usize| sought.has.get(text).copied().unwrap_or(false);
        let [name, owner] = line.words;
        sought.everywhere
            || has(line.owner)
            || has(line.test)
            || has(name)
            || has(owner)
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
}

/// Puts lines together.
#[derive(Default)]
struct Maker {
    lines: Lines,
    known: HashMap<String, usize>,
    tests: HashMap<Test, usize>,
    /// Address and words of the owner of the line before: mostly the next one's too.
    last: Option<(String, Option<String>, usize)>,
    last_title: Option<(String, usize)>,
}

impl Maker {
    fn text(&mut self, text: &str) -> usize {
        let small = text.to_lowercase();
        if let Some(at) = self.known.get(&small) {
            return *at;
        }
        let at = self.lines.texts.len();
        self.lines.texts.push(small.clone());
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
        self.lines.lines.push(Line {
            at,
            owner,
            test,
            words: [name, of_title],
        });
    }
}

/// The lines of the steps, in the order of the walk.
pub(super) fn lines_of_steps(state: &State) -> Lines {
    let mut maker = Maker::default();
    // The wording is that of the stage, the kind and the test.
    let mut names = HashMap::new();
    for (at, step) in state.plan.steps().iter().enumerate() {
        let name = *names
            .entry((step.stage, step.kind, step.place.test))
            .or_insert_with(|| maker.text(name_of(state, step)));
        maker.line(at, &step.place, name, &step.title);
    }
    maker.lines
}

/// The lines of what is worked out, in the order of the file.
pub(super) fn lines_of_findings(state: &State) -> Lines {
    let mut maker = Maker::default();
    for (at, finding) in state.findings.iter().enumerate() {
        let place = &finding.place;
        if state.plan.position(place).is_none() {
            let name = maker.text(place.test.heading());
            maker.line(at, place, name, &owner_of(state, place));
        }
    }
    maker.lines
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
