//! Bad input: files, arguments and keys that somebody's disk, editor, instrument or cat could produce. None of them may panic,
//! hang, overflow the stack or take more than 100 MB; what loads and is saved loads again the same; what is refused says where
//! and what to do. CI takes a few seconds; `WANDERLEAD_FUZZ=1000000` is the long run (see DEVELOPERS.md).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod fuzz_help;
mod store_help;

use fuzz_help::runner::campaign;
use fuzz_help::targets;

#[test]
fn job_files() {
    campaign(&targets::jobs::TARGET);
}

#[test]
fn journals() {
    campaign(&targets::journals::TARGET);
}

#[test]
fn form_files() {
    campaign(&targets::forms::TARGET);
}

#[test]
fn settings_files() {
    campaign(&targets::settings::TARGET);
}

#[test]
fn calc_arguments() {
    campaign(&targets::calc::TARGET);
}

#[test]
fn typed_readings() {
    campaign(&targets::typed::TARGET);
}

#[test]
fn key_streams() {
    campaign(&targets::keys::TARGET);
}

#[test]
fn files_of_readings() {
    campaign(&targets::intake::FILES);
}

#[test]
fn mappings() {
    campaign(&targets::intake::MAPPINGS);
}
