//! Readings from files. The first line of an input says how many bytes of the rest are the mapping; what follows is the file. What
//! comes of it is put before a half-done job, all that may be marked is marked, and the job takes what was marked.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use wanderlead::checks::judge_all;
use wanderlead::guide::{Plan, Verdicts};
use wanderlead::intake::{EXAMPLE, On, Preview, read};
use wanderlead::job::text::parse;
use wanderlead::job::{Change, Job, Role};

use super::{first_line, root};
use crate::fuzz_help::check;
use crate::fuzz_help::mutate::Mutator;
use crate::fuzz_help::runner::{Came, Target};
use crate::store_help::chance::Chance;

/// Mostly the file is spoilt.
pub const FILES: Target = Target {
    name: "files_of_readings",
    corpus,
    mutate: |mutator, chance| {
        let both = chance.below(8) == 0;
        spoil(mutator, chance, both, true)
    },
    run,
    short: 200,
    each: 1,
};

/// Mostly the mapping is.
pub const MAPPINGS: Target = Target {
    name: "mappings",
    corpus,
    mutate: |mutator, chance| {
        let both = chance.below(8) == 0;
        spoil(mutator, chance, true, both)
    },
    run,
    short: 200,
    each: 1,
};

/// Columns for tests instead of rows, a decimal comma, tabs, no headings.
const OTHERS: [(&str, &str); 3] = [
    (
        r#"(decimal: Point, place: One("place"), names: {"heater": "C/4"}, readings: Columns({
  "R1+R2": (test: "r1r2", unit: "mΩ", over: {"OL": "2000"}, under: {"LO": "10"}),
  "IR": (test: "ir-le", unit: "MΩ"), "pol": (test: "polarity"), "Zs": (test: "zs", unit: "Ω"),
}), above: ">", below: "<", not_taken: ["---"], pass: ["ok"], fail: ["x"])"#,
        "place,R1+R2,IR,pol,Zs\nR/1,160,758,ok,0.380\nheater,OL,>999,x,\nC/3,LO,<0.05,---,---\n",
    ),
    (
        r#"(separator: ";", decimal: Comma, place: One("place"), units_in_cells: true, readings: Columns({
  "Zs": (test: "zs", unit: "Ω"), "R1+R2": (test: "r1r2", unit: "Ω")}))"#,
        "place;Zs;R1+R2\r\n\"R/1\";0,38 Ω;0,16\r\nC/4;\"0,51\";2,0 kΩ\r\n",
    ),
    (
        r#"(separator: "\t", headings: false, decimal: Point, place: Two("1", "2"), readings: Columns({
  "3": (test: "zs", unit: "Ω")}))"#,
        "\u{feff}R\t1\t0.38\nC\t4\t0.5\n",
    ),
];

fn corpus() -> Vec<Vec<u8>> {
    let file = root().join("sample-jobs/orchard-cottage-readings.csv");
    let csv = std::fs::read_to_string(file).unwrap();
    let mut out = vec![joined(EXAMPLE.as_bytes(), csv.as_bytes())];
    out.extend(OTHERS.map(|(mapping, csv)| joined(mapping.as_bytes(), csv.as_bytes())));
    out
}

fn joined(mapping: &[u8], file: &[u8]) -> Vec<u8> {
    let length = format!("{}\n", mapping.len());
    [length.as_bytes(), mapping, file].concat()
}

fn taken_apart(input: &[u8]) -> Option<(&[u8], &[u8])> {
    let (head, rest) = first_line(input);
    let length = std::str::from_utf8(head).ok()?.parse().ok()?;
    rest.split_at_checked(length)
}

fn spoil(mutator: &Mutator, chance: &mut Chance, mapping: bool, file: bool) -> Vec<u8> {
    let (sound_mapping, sound_file) = taken_apart(mutator.base(chance)).unwrap();
    let spoilt = |bytes: &[u8], yes: bool, chance: &mut Chance| match yes {
        true => mutator.spoil(bytes, chance),
        false => bytes.to_vec(),
    };
    let mapping = spoilt(sound_mapping, mapping, chance);
    joined(&mapping, &spoilt(sound_file, file, chance))
}

fn job() -> &'static (Job, Plan, Verdicts) {
    static JOB: OnceLock<(Job, Plan, Verdicts)> = OnceLock::new();
    JOB.get_or_init(|| {
        let text = std::fs::read_to_string(root().join("sample-jobs/orchard-cottage.ron"));
        let job: Job = parse("a.ron", &text.unwrap()).unwrap();
        let plan = Plan::new(&job, check::forms());
        let verdicts = Verdicts::new(&judge_all(&job, check::forms()));
        (job, plan, verdicts)
    })
}

fn run(input: &[u8]) -> Result<Came, String> {
    let Some((mapping, file)) = taken_apart(input) else {
        return Ok(Came::Refused);
    };
    // A mapping that isn't UTF-8 is refused before it comes here.
    let Ok(mapping) = std::str::from_utf8(mapping) else {
        return Ok(Came::Refused);
    };
    let (job, plan, verdicts) = job();
    let read = match read(("map.ron", mapping), ("dir/a.csv", file), job) {
        Err(e) => {
            if e.file == "map.ron" && e.line > 0 {
                check::located(&e, "map.ron", mapping)?;
            } else if e.file != "map.ron" && e.file != "dir/a.csv" {
                return Err(format!("an error names another file: {e:?}"));
            }
            if e.what.is_empty() {
                return Err(format!("an error says nothing: {e:?}"));
            }
            check::readable(&e.to_string())?;
            return Ok(Came::Refused);
        }
        Ok(read) => read,
    };
    let lines = file.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() as u64 + 1;
    for taken in &read.taken {
        if taken.line == 0 || taken.line > lines {
            return Err(format!("a reading of line {} of {lines}", taken.line));
        }
        if let Err(why) = &taken.typed {
            check::readable(why)?;
        }
    }
    let by = job.people.iter().find(|p| p.role == Role::Qualified);
    let tools = BTreeMap::new();
    let on = On {
        job,
        forms: check::forms(),
        plan,
        verdicts,
        by: &by.unwrap().id,
        at: check::now(),
        tools: &tools,
    };
    let some = !read.taken.is_empty();
    let mut preview = Preview::new(read, &on);
    for row in &preview.rows {
        if row.marked && !row.is_plain() {
            return Err(format!("marked by itself: {row:?}"));
        }
        check::readable(&format!("{}: {}", row.where_to(), row.words()))?;
    }
    for heading in &preview.unused {
        // An empty heading is one too.
        check::readable(&format!("unused {heading}"))?;
    }
    check::readable(&preview.counts())?;
    taken(job, preview.change().as_ref())?;
    // Somebody marks what may be marked, a few rows at most: each weighs all of them.
    for row in 0..preview.rows.len().min(12) {
        if !preview.rows[row].marked && preview.rows[row].may_be_marked() {
            preview.turn(row, &on)?;
        }
    }
    taken(job, preview.change().as_ref())?;
    Ok(if some { Came::Taken } else { Came::Refused })
}

/// The job takes what is marked and has no problem afterwards.
fn taken(job: &Job, change: Option<&Change>) -> Result<(), String> {
    let Some(change) = change else { return Ok(()) };
    let mut job = job.clone();
    job.apply(change)
        .map_err(|e| format!("what was marked can't be kept: {e}"))?;
    match job.problems().first() {
        Some(problem) => Err(format!("what was marked spoils the job: {problem:?}")),
        None => Ok(()),
    }
}
