//! Arguments of `calc`, a line each, as the program gets them.

use clap::Parser;
use wanderlead::command::{Cli, run as answer};

use super::root;
use crate::fuzz_help::check;
use crate::fuzz_help::runner::{Came, Target};

pub const TARGET: Target = Target {
    name: "calc_arguments",
    corpus,
    mutate: |mutator, chance| mutator.lines(chance),
    run,
    short: 150,
    each: 1,
};

/// Every calculation with the values of its help, with and without those that may be left out.
fn corpus() -> Vec<Vec<u8>> {
    let help = Cli::try_parse_from(["wanderlead", "calc", "--help"]).unwrap_err();
    let help = help.to_string();
    let (_, list) = help.split_once("left out):").unwrap();
    // Name and what it is, then its keys, further in.
    let mut all: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in list.lines().filter(|l| !l.trim().is_empty()) {
        match (line.starts_with("      "), line.trim().split_once(':')) {
            (true, _) => all.last_mut().unwrap().1.extend(line.split_whitespace()),
            (false, Some((name, _))) => all.push((name, Vec::new())),
            (false, None) => {}
        }
    }
    let mut out = Vec::new();
    for (name, keys) in all {
        let whole: Vec<&str> = keys.iter().map(|w| w.trim_matches(['[', ']'])).collect();
        let few = keys.into_iter().filter(|w| !w.starts_with('['));
        let few: Vec<&str> = few.collect();
        out.push(format!("{name}\n{}", whole.join("\n")).into_bytes());
        out.push(format!("{name}\n{}", few.join("\n")).into_bytes());
        out.push(format!("{name}\n{}\n--json", whole.join("\n")).into_bytes());
    }
    assert!(out.len() > 40, "{help}");
    out
}

fn run(input: &[u8]) -> Result<Came, String> {
    let text = String::from_utf8_lossy(input);
    let settings = root().join("tests/data/settings.ron");
    let mut words = vec!["wanderlead".to_string(), "--config".into()];
    words.push(settings.display().to_string());
    words.push("calc".into());
    words.extend(text.split('\n').map(String::from));
    if words
        .iter()
        .any(|w| w == "--forms" || w == "--config=" || w.contains('\0'))
    {
        // No argument can hold a NUL, and other files are another matter.
        return Ok(Came::Refused);
    }
    let cli = match Cli::try_parse_from(words) {
        Ok(cli) => cli,
        Err(e) => {
            if e.to_string().is_empty() {
                return Err("refused without a word".into());
            }
            return Ok(Came::Refused);
        }
    };
    match answer(&cli) {
        Err(e) => {
            check::readable(&format!("{e:#}"))?;
            Ok(Came::Refused)
        }
        Ok(reply) => {
            check::readable(&reply.data)?;
            for bad in ["NaN", "inf", "null"] {
                if reply
                    .data
                    .split(|c: char| !c.is_alphanumeric())
                    .any(|w| w == bad)
                    && !(bad == "null" && text.contains("--json"))
                {
                    return Err(format!("a result is {bad}: {}", reply.data));
                }
            }
            Ok(Came::Taken)
        }
    }
}
