//! Learn pages: why a test is done, what good looks like, what usually goes wrong, and what can hurt.

use std::collections::BTreeSet;

use serde::Deserialize;

use super::steps::Walk;
use crate::job::Test;
use crate::job::owner::Kind;
use crate::job::text::{TextError, locate};

/// Longest part of a page, in characters: five or six lines of the smallest window.
pub const LONGEST_PART: usize = 420;

/// Longest name of a page, in characters: the list of all pages fits 80 columns.
pub const LONGEST_NAME: usize = 37;

/// Name of the file.
pub(super) const LEARN: &str = "learn.ron";

/// The pages as they are shipped.
pub(super) const SHIPPED: &str = include_str!("../../forms/learn.ron");

/// The title of a file, without reading all of it; empty where none stands at its beginning.
pub(super) fn title_of(text: &str) -> &str {
    let line = text.lines().find(|l| l.trim_start().starts_with("title:"));
    line.and_then(|l| l.split('"').nth(1)).unwrap_or_default()
}

/// Every page.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Learn {
    /// Title of the file.
    pub title: String,
    /// How far the pages can be trusted: shown below each.
    pub origin: String,
    /// Pages, in any order.
    pub pages: Vec<Page>,
}

/// The page of one test, for every kind of place or for some.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Page {
    /// The test, or the finding that is worked out.
    pub test: Test,
    /// Kinds of place it is for; empty for every kind that has no page of its own.
    #[serde(default)]
    pub at: Vec<Kind>,
    /// What the page is called.
    pub name: String,
    /// Why it is done.
    pub why: String,
    /// What good looks like, and how the number comes about.
    pub good: String,
    /// What usually goes wrong.
    pub wrong: String,
    /// What can hurt.
    pub hurts: String,
}

impl Page {
    /// Heading and text of its parts, in order.
    pub fn parts(&self) -> [(&'static str, &str); 4] {
        [
            ("What it is for", &self.why),
            ("What good looks like", &self.good),
            ("What usually goes wrong", &self.wrong),
            ("What can hurt", &self.hurts),
        ]
    }
}

impl Learn {
    /// The page of a test at a kind of place: that kind's own, else the one for all kinds.
    pub fn page(&self, kind: Kind, test: Test) -> Option<&Page> {
        let of_test = || self.of(test);
        of_test()
            .find(|p| p.at.contains(&kind))
            .or_else(|| of_test().find(|p| p.at.is_empty()))
    }

    /// Every page of a test, in the order of the file.
    pub fn of(&self, test: Test) -> impl Iterator<Item = &Page> {
        self.pages.iter().filter(move |p| p.test == test)
    }

    /// Refuses pages that are empty, too long or there twice, and a step or worked-out finding without one.
    pub(super) fn check(&self, file: &str, text: &str, walk: &Walk) -> Result<(), TextError> {
        let fault = |near: &str, field: String, what: String, remedy: String| {
            let (line, column) = locate(text, near);
            TextError {
                file: file.to_string(),
                line,
                column,
                field,
                what,
                remedy,
            }
        };
        let mut seen = BTreeSet::new();
        for (i, page) in self.pages.iter().enumerate() {
            let of = |part: &str| format!("pages[{i}].{part}");
            for (part, said, most) in [
                ("name", &page.name, LONGEST_NAME),
                ("why", &page.why, LONGEST_PART),
                ("good", &page.good, LONGEST_PART),
                ("wrong", &page.wrong, LONGEST_PART),
                ("hurts", &page.hurts, LONGEST_PART),
            ] {
                let (what, remedy) = match said.chars().count() {
                    _ if said.trim().is_empty() => (
                        format!("`{part}` of the page of `{}` is empty", page.test),
                        "write it, or copy it from the default file".to_string(),
                    ),
                    n if n > most => (
                        format!("`{part}` of the page of `{}` has {n} characters", page.test),
                        format!("shorten it to {most}"),
                    ),
                    _ => continue,
                };
                let near = if said.trim().is_empty() {
                    page.test.key()
                } else {
                    said
                };
                return Err(fault(near, of(part), what, remedy));
            }
            let kinds = page.at.iter().copied().map(Some);
            let kinds: Vec<Option<Kind>> = match page.at.is_empty() {
                true => vec![None],
                false => kinds.collect(),
            };
            for kind in kinds {
                if !seen.insert((page.test, kind)) {
                    let at = kind.map_or("without `at`".into(), |k| format!("for {k:?}"));
                    let what = format!("`{}` has two pages {at}", page.test);
                    return Err(fault(&page.why, of("test"), what, "keep one".into()));
                }
            }
        }
        let lacks = |test: Test, what: String, remedy: String| {
            Err(fault("pages", test.key().to_string(), what, remedy))
        };
        for (kind, test) in walk.taken() {
            if self.page(kind, test).is_none() {
                return lacks(
                    test,
                    format!("the step `{test}` at {kind:?} has no page"),
                    format!("add one with `at: [{kind:?}]`, or copy it from the default file"),
                );
            }
        }
        for test in Test::ALL.iter().copied().filter(|t| t.is_derived()) {
            if !self.of(test).any(|p| p.at.is_empty()) {
                return lacks(
                    test,
                    format!("`{test}`, which the program works out, has no page without `at`"),
                    "add one, or copy it from the default file".into(),
                );
            }
        }
        Ok(())
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::forms::Forms;
    use crate::job::text::parse;

    #[test]
    fn the_shipped_pages_can_be_read_and_fit_the_shipped_steps() {
        // They are read late, so nothing else would say so at the start.
        let forms = Forms::embedded().unwrap();
        let pages: Learn = parse(LEARN, SHIPPED).unwrap();
        pages.check(LEARN, SHIPPED, forms.walk()).unwrap();
        assert_eq!(title_of(SHIPPED), pages.title);
        assert_eq!(*forms.learn(), pages);
    }
}
