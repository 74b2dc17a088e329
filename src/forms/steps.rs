//! Order of work and wording of every step, and the reasons offered for what could not be done.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::job::owner::Kind;
use crate::job::text::{TextError, locate};
use crate::job::{Answer, Test};

/// Longest text of a step, in characters: more would push the limit off the screen.
pub(super) const LONGEST: usize = 220;

/// The whole order of work.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Walk {
    /// Title of the file.
    pub title: String,
    /// Cautions for the first screen and the paper.
    pub cautions: Vec<String>,
    /// Stages, in order.
    pub stages: Vec<Stage>,
    /// A person's own wording of single steps.
    #[serde(skip)]
    pub(super) own: BTreeMap<(Kind, Test), StepText>,
}

/// One stage, such as the dead tests.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stage {
    /// Short id.
    pub id: String,
    /// Name on the screen.
    pub name: String,
    /// Conductors are live: a general caution is shown where a step has none of its own.
    pub live: bool,
    /// Its steps need no isolation and wait for no other stage, wherever it stands in the order.
    #[serde(default)]
    pub anytime: bool,
    /// Ids of the stages that must have nothing open or outside before a step of this one.
    #[serde(default)]
    pub after: Vec<String>,
    /// Rounds, in order.
    pub rounds: Vec<Round>,
}

/// A way through some owners, doing the same steps at each.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// Which kinds of owner it visits, in the order of the job.
    pub visits: Vec<Kind>,
    /// What is done at each, in order.
    pub steps: Vec<StepText>,
}

/// Wording of one step.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepText {
    /// The test.
    pub test: Test,
    /// What it is called on the screen.
    pub name: String,
    /// What to isolate or disconnect and where the leads go.
    pub connect: String,
    /// What the instrument is set to; empty where none is used.
    #[serde(default)]
    pub setting: String,
    /// What can hurt; empty where nothing special can.
    #[serde(default)]
    pub caution: String,
    /// What to put back afterwards.
    #[serde(default)]
    pub put_back: String,
    /// Why it is done.
    pub why: String,
    /// Taken straight after the step above it at the same place, in every order of work.
    #[serde(default)]
    pub follows: bool,
    /// Tests of the same place that must be in order before this one.
    #[serde(default)]
    pub needs: Vec<Test>,
    /// End of the instrument's scale, offered for "over range" by one key.
    #[serde(default)]
    pub over: Option<String>,
    /// What the field asks for, such as `name as signed`.
    #[serde(default)]
    pub ask: String,
}

/// Reasons offered.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reasons {
    /// Title of the file.
    pub title: String,
    /// Why a test could not be done.
    pub limitation: Vec<String>,
    /// Why a test does not apply.
    pub not_applicable: Vec<String>,
    /// Why a reading is taken before its turn.
    #[serde(default)]
    pub around: Vec<String>,
    /// The kinds of place that a reason fits, where it doesn't fit all.
    #[serde(default)]
    pub fits: BTreeMap<String, Vec<Kind>>,
}

impl Reasons {
    /// Whether a reason may be one at a kind of place.
    pub fn fits_at(&self, reason: &str, kind: Kind) -> bool {
        let kinds = self.fits.get(reason);
        kinds.is_none_or(|kinds| kinds.contains(&kind))
    }

    /// A reason that `fits` names and no list has.
    pub(super) fn misnamed(&self) -> Option<&str> {
        let lists = || self.limitation.iter().chain(&self.not_applicable);
        let mut named = self.fits.keys();
        named
            .find(|name| !lists().any(|reason| reason == *name))
            .map(String::as_str)
    }
}

impl Round {
    /// Its steps in runs of those that are taken together at one place.
    pub fn runs(&self) -> impl Iterator<Item = &[StepText]> {
        self.steps.chunk_by(|_, next| next.follows)
    }
}

impl Walk {
    /// The wording of a test at a kind of owner.
    pub fn step(&self, kind: Kind, test: Test) -> Option<&StepText> {
        if let Some(own) = self.own.get(&(kind, test)) {
            return Some(own);
        }
        self.stages
            .iter()
            .flat_map(|s| &s.rounds)
            .filter(|r| r.visits.contains(&kind))
            .flat_map(|r| &r.steps)
            .find(|s| s.test == test)
    }

    /// Tests that are taken at a kind of owner, in order.
    pub fn tests_of(&self, kind: Kind) -> impl Iterator<Item = Test> {
        self.stages
            .iter()
            .flat_map(|s| &s.rounds)
            .filter(move |r| r.visits.contains(&kind))
            .flat_map(|r| r.steps.iter().map(|s| s.test))
    }

    /// Every test with the kind of owner it is taken at, in order.
    pub fn taken(&self) -> impl Iterator<Item = (Kind, Test)> {
        let rounds = self.stages.iter().flat_map(|s| &s.rounds);
        rounds.flat_map(|r| {
            let kinds = r.visits.iter().copied();
            kinds.flat_map(|kind| r.steps.iter().map(move |s| (kind, s.test)))
        })
    }

    /// Steps with a person's own wording, by kind of owner and test.
    pub fn reworded(&self) -> impl Iterator<Item = (Kind, Test)> {
        self.own.keys().copied()
    }

    /// Refuses an order that gives a step twice or offers an over-range that can't be typed.
    pub(super) fn check(&self, file: &str, text: &str) -> Result<(), TextError> {
        let fault = |near: &str, what: String, remedy: &str| {
            let (line, column) = locate(text, near);
            TextError {
                file: file.to_string(),
                line,
                column,
                field: near.to_string(),
                what,
                remedy: remedy.to_string(),
            }
        };
        for (i, stage) in self.stages.iter().enumerate() {
            for id in &stage.after {
                if !self.stages.iter().take(i).any(|s| s.id == *id) {
                    return Err(fault(
                        id,
                        format!(
                            "stage `{}` comes after `{id}`, which is no stage before it",
                            stage.id
                        ),
                        "name stages that stand above it",
                    ));
                }
            }
        }
        let mut seen = std::collections::BTreeSet::new();
        for round in self.stages.iter().flat_map(|s| &s.rounds) {
            for step in &round.steps {
                if step.test.is_derived() {
                    return Err(fault(
                        step.test.key(),
                        "the program works this out itself".into(),
                        "remove the step",
                    ));
                }
                for kind in &round.visits {
                    if !seen.insert((*kind, step.test)) {
                        return Err(fault(
                            &step.name,
                            format!("`{}` comes twice for {kind:?}", step.test),
                            "keep one",
                        ));
                    }
                }
                if let Some(over) = &step.over
                    && let Some((what, remedy)) = no_end_of_scale(over)
                {
                    return Err(fault(over, what, remedy));
                }
            }
        }
        Ok(())
    }
}

/// What is wrong with the end of a scale, and what to do about it.
pub(super) fn no_end_of_scale(over: &str) -> Option<(String, &'static str)> {
    let wrong = crate::job::Value::parse(Answer::Number, &format!(">{over}")).is_err();
    wrong.then(|| {
        (
            format!("`{over}` is not the end of a scale"),
            "write a number, such as \"999\"",
        )
    })
}
