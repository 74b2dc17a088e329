//! What the program is built of: every dependency has a licence that lets the program be given away, comes from the
//! registry, and was looked at by somebody: `tests/data/dependencies.csv` says when its version and the newest one were
//! released, and whether it is kept up. DEVELOPERS.md says how to look, and why advisories aren't looked up.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// Licences without a duty to publish the source of what they are built into (SPDX names).
const FREE: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-1-Clause",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Whether an SPDX expression can be met with the licences above: one side of an OR is enough, both of an AND are needed.
fn is_free(expression: &str) -> bool {
    let expression = expression.trim();
    // `/` is how old packages write OR.
    let expression = expression.replace('/', " OR ");
    let inner = |part: &str| part.trim().trim_matches(['(', ')']).trim().to_string();
    if let Some((a, b)) = split_outside(&expression, " AND ") {
        return is_free(&a) && is_free(&b);
    }
    if let Some((a, b)) = split_outside(&expression, " OR ") {
        return is_free(&a) || is_free(&b);
    }
    let name = inner(&expression);
    if name.contains(" AND ") || name.contains(" OR ") {
        return is_free(&name);
    }
    FREE.contains(&name.as_str())
}

/// Cuts at the first `word` that stands outside all brackets.
fn split_outside(text: &str, word: &str) -> Option<(String, String)> {
    let mut depth = 0;
    for (at, c) in text.char_indices() {
        match c {
            '(' => depth += 1,
            ')' => depth -= 1,
            ' ' if depth == 0 && text[at..].starts_with(word) => {
                return Some((text[..at].to_string(), text[at + word.len()..].to_string()));
            }
            _ => {}
        }
    }
    None
}

#[test]
fn expressions_are_read_as_spdx_means_them() {
    for (expression, free) in [
        ("MIT", true),
        ("MIT OR GPL-3.0", true),
        ("MIT AND GPL-3.0", false),
        ("(MIT OR GPL-3.0) AND Unicode-3.0", true),
        ("(MIT OR Apache-2.0) AND GPL-3.0", false),
        ("MIT/Apache-2.0", true),
        ("Apache-2.0 WITH LLVM-exception", true),
        ("MPL-2.0", false),
        ("", false),
    ] {
        assert_eq!(is_free(expression), free, "{expression}");
    }
}

/// What cargo says of this platform's packages: nothing is fetched for others.
fn metadata() -> Value {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let version = Command::new(rustc).arg("-vV").output().unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version
        .lines()
        .find_map(|l| l.strip_prefix("host: "))
        .unwrap();
    let out = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline"])
        .args(["--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    serde_json::from_slice(&out.stdout).unwrap()
}

#[test]
fn every_dependency_is_free_and_from_the_registry() {
    let metadata = metadata();
    let packages = metadata["packages"].as_array().unwrap();
    assert!(packages.len() > 50);
    let mut wrong = BTreeSet::new();
    for package in packages {
        let name = package["name"].as_str().unwrap();
        if name == "wanderlead" {
            continue;
        }
        let licence = package["license"].as_str().unwrap_or_default();
        if !is_free(licence) {
            wrong.insert(format!("{name}: licence `{licence}`"));
        }
        let source = package["source"].as_str().unwrap_or_default();
        if !source.starts_with("registry+") {
            wrong.insert(format!("{name}: not from the registry"));
        }
    }
    assert_eq!(wrong, BTreeSet::new());
}

type Row = BTreeMap<String, String>;

/// The rows of a list, by name of the package.
fn rows(file: &str) -> BTreeMap<String, Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(file);
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows = reader.deserialize::<Row>().map(Result::unwrap);
    rows.map(|row| (row["name"].clone(), row)).collect()
}

fn is_day(text: &str) -> bool {
    chrono::NaiveDate::parse_from_str(text, "%Y-%m-%d").is_ok()
}

/// Name and version of every package of the lock file.
fn locked() -> BTreeSet<(String, String)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.lock");
    let text = std::fs::read_to_string(path).unwrap();
    let value = |line: Option<&str>, key: &str| {
        let value = line?
            .strip_prefix(key)?
            .strip_prefix(" = \"")?
            .strip_suffix('"')?;
        Some(value.to_string())
    };
    text.split("[[package]]")
        .filter_map(|package| {
            let mut lines = package.trim().lines();
            Some((
                value(lines.next(), "name")?,
                value(lines.next(), "version")?,
            ))
        })
        .collect()
}

#[test]
fn somebody_looked_at_every_dependency() {
    let metadata = metadata();
    let packages = metadata["packages"].as_array().unwrap();
    let own = packages.iter().find(|p| p["name"] == "wanderlead").unwrap();
    let direct = own["dependencies"].as_array().unwrap().iter();
    let direct: BTreeSet<String> = direct
        .map(|d| d["name"].as_str().unwrap().to_string())
        .collect();
    assert!(direct.len() > 20);
    let listed = rows("dependencies.csv");
    let names: BTreeSet<String> = listed.keys().cloned().collect();
    assert_eq!(
        direct, names,
        "tests/data/dependencies.csv lists what Cargo.toml names, no more and no less: look at the new one first"
    );
    let locked = locked();
    assert!(locked.len() > 100);
    let of_those = rows("dependencies-of-dependencies.csv");
    for (name, row) in listed.iter().chain(&of_those) {
        let version = &row["locked"];
        assert!(
            locked.contains(&(name.clone(), version.clone())),
            "{name} is listed with {version}, which isn't in Cargo.lock any more: look at what is"
        );
        assert!(
            is_day(&row["released"]) && is_day(&row["checked"]),
            "{name}"
        );
        match row["kept_up"].as_str() {
            "yes" => {}
            "doubt" => assert!(row["note"].len() > 20, "{name}: what is the doubt?"),
            other => panic!("{name}: kept_up is `{other}`"),
        }
        let newest = row.get("newest").unwrap_or(version);
        assert!(
            newest == version || row["note"].len() > 20,
            "{name}: why is it held at {version}, when there is {newest}?"
        );
    }
}
