//! What is fuzzed: one file each.

pub mod calc;
pub mod forms;
pub mod intake;
pub mod jobs;
pub mod journals;
pub mod keys;
pub mod settings;
pub mod typed;

use std::fs;
use std::path::PathBuf;

pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every `.ron` file of a folder of the project, with its name.
pub fn files_of(folder: &str) -> Vec<(String, Vec<u8>)> {
    let mut paths: Vec<PathBuf> = fs::read_dir(root().join(folder))
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter(|p| p.extension().is_some_and(|x| x == "ron"))
        .collect();
    paths.sort();
    paths
        .iter()
        .map(|p| {
            let name = p.file_name().unwrap().to_string_lossy().into_owned();
            (name, fs::read(p).unwrap())
        })
        .collect()
}

/// Where one input is two things: its first line, and the rest.
pub fn first_line(input: &[u8]) -> (&[u8], &[u8]) {
    match input.iter().position(|b| *b == b'\n') {
        Some(end) => (&input[..end], &input[end + 1..]),
        None => (input, &[]),
    }
}
