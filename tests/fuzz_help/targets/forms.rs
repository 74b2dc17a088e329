//! Form files: limits, order of work, labels, wording, learn pages, own entries. The first line of an input is the file's name.
//! Forms that load judge two samples.

use std::sync::OnceLock;

use wanderlead::checks::judge_all;
use wanderlead::forms::Forms;
use wanderlead::guide::Plan;
use wanderlead::job::Job;
use wanderlead::job::text::parse;

use super::{files_of, first_line};
use crate::fuzz_help::check;
use crate::fuzz_help::mutate::Mutator;
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::chance::Chance;
use crate::store_help::visit::JOB;

pub const TARGET: Target = Target {
    name: "form_files",
    corpus,
    mutate,
    run,
    short: 60,
    each: 1,
};

fn corpus() -> Vec<Vec<u8>> {
    let mut out = Vec::new();
    for (name, bytes) in files_of("forms") {
        let bytes = if name.starts_with("own-") {
            examples(&bytes)
        } else {
            bytes
        };
        out.push([name.as_bytes(), b"\n", &bytes].concat());
    }
    out
}

/// The examples of own entries stand behind slashes.
fn examples(bytes: &[u8]) -> Vec<u8> {
    let text = String::from_utf8(bytes.to_vec()).unwrap();
    let lines: Vec<String> = text
        .lines()
        .map(|line| match line.trim_start().strip_prefix("// (") {
            Some(rest) => format!("  ({rest}"),
            None => line.to_string(),
        })
        .collect();
    lines.join("\n").into_bytes()
}

fn mutate(mutator: &Mutator, chance: &mut Chance) -> Vec<u8> {
    let (name, text) = first_line(mutator.base(chance));
    [name, b"\n", &mutator.spoil(text, chance)].concat()
}

fn jobs() -> &'static [Job] {
    static JOBS: OnceLock<Vec<Job>> = OnceLock::new();
    JOBS.get_or_init(|| {
        let samples = files_of("sample-jobs");
        let faulty = samples.iter().find(|(n, _)| n == "mill-yard.ron").unwrap();
        [JOB, std::str::from_utf8(&faulty.1).unwrap()]
            .map(|text| parse("a.ron", text).unwrap())
            .into()
    })
}

fn run(input: &[u8]) -> Result<Came, String> {
    let (name, text) = first_line(input);
    // A file that isn't UTF-8 is refused before it comes here, as a job file is.
    let (Ok(name), Ok(text)) = (std::str::from_utf8(name), std::str::from_utf8(text)) else {
        return Ok(Came::Refused);
    };
    match Forms::from_texts(&[(name.to_string(), text.to_string())]) {
        Err(e) if e.line == 0 => {
            // What is missing has no line.
            check::readable(&e.to_string())?;
            if e.what.contains("missing") || e.what.contains("no form file") {
                return Ok(Came::Refused);
            }
            Err(format!("an error names no line: {e}"))
        }
        // What the steps need and the pages don't have is said at the pages, which are sound ones here.
        Err(e) if e.file == "learn.ron" && name == "steps.ron" => {
            check::readable(&e.to_string())?;
            Ok(Came::Refused)
        }
        Err(e) => {
            check::located(&e, name, text)?;
            Ok(Came::Refused)
        }
        Ok(forms) => {
            // The large one takes as long as reading the forms.
            let some = if text.len() % 8 == 0 { 2 } else { 1 };
            for job in &jobs()[..some] {
                let findings = judge_all(job, &forms);
                let plan = Plan::new(job, &forms);
                if findings.is_empty() || plan.steps().len() > 10_000 {
                    return Err("forms that load judge nothing".into());
                }
            }
            Ok(Came::Taken)
        }
    }
}
