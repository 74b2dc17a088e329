//! `learn`: what a test is for, what good looks like, what goes wrong, what can hurt.

use anyhow::{Result, bail};
use clap::Args;

use super::{Context, Reply};
use crate::forms::{Learn, Page};
use crate::job::Test;
use crate::job::text::nearest;

/// Columns that a page is wrapped to.
const WIDTH: usize = 76;

#[derive(Debug, Args)]
pub(super) struct LearnArgs {
    /// Key of the test, such as zs; without one, every test is listed
    #[arg(value_name = "TEST")]
    test: Option<String>,
}

/// Prints the pages of a test, or the list of tests.
///
/// # Errors
/// No page is of that test; the message names those there are.
pub(super) fn run(args: &LearnArgs, context: &Context) -> Result<Reply> {
    let forms = context.forms()?;
    let learn = forms.learn();
    let Some(key) = &args.test else {
        return Ok(Reply::of(list(learn)));
    };
    let test = Test::ALL.iter().copied().find(|t| t.key() == key);
    let pages: Vec<&Page> = test.map_or_else(Vec::new, |t| learn.of(t).collect());
    if pages.is_empty() {
        let known: Vec<&str> = listed(learn).map(|t| t.key()).collect();
        let near = nearest(key, &known);
        let meant = if near.is_empty() {
            String::new()
        } else {
            format!("did you mean {near}? ")
        };
        bail!(
            "no learn page is about `{key}`; {meant}known: {}",
            known.join(", ")
        );
    }
    let mut out = String::new();
    for page in pages {
        if !out.is_empty() {
            out.push_str("\n\n");
        }
        out.push_str(&shown(page));
    }
    out.push('\n');
    out.push_str(&filled(&format!(
        "{} The limit of a place, and how it is made: `wanderlead check JOB --why PLACE`.",
        learn.origin
    )));
    Ok(Reply::of(out))
}

/// Tests that have a page, in the order of the work.
fn listed(learn: &Learn) -> impl Iterator<Item = Test> {
    let all = Test::ALL.iter().copied();
    all.filter(|t| learn.of(*t).next().is_some())
}

/// One line for each page: key, heading, name.
fn list(learn: &Learn) -> String {
    let wide = |of: fn(Test) -> &'static str| {
        let widths = listed(learn).map(|t| textwrap::core::display_width(of(t)));
        widths.max().unwrap_or(0)
    };
    let (keys, headings) = (wide(Test::key), wide(Test::heading));
    let mut out = String::new();
    for test in listed(learn) {
        for page in learn.of(test) {
            let (key, heading) = (test.key(), test.heading());
            let gap = headings.saturating_sub(textwrap::core::display_width(heading));
            out.push_str(&format!(
                "{key:keys$}  {heading}{}  {}\n",
                " ".repeat(gap),
                page.name
            ));
        }
    }
    out
}

/// A page as text.
fn shown(page: &Page) -> String {
    let kinds: Vec<String> = page.at.iter().map(|k| format!("{k:?}")).collect();
    let at = match kinds.as_slice() {
        [] => String::new(),
        kinds => format!(", at {}", kinds.join(" and ")),
    };
    let mut out = filled(&format!("{} ({}{at})", page.name, page.test));
    for (heading, said) in page.parts() {
        out.push_str(&format!("\n{heading}\n"));
        out.push_str(&filled(said));
    }
    out
}

fn filled(text: &str) -> String {
    format!("{}\n", textwrap::fill(text, WIDTH))
}
