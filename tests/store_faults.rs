//! A campaign of faults against the store: kills, failures, power cuts, two programs, the clock, damaged files. What was called
//! kept is there afterwards, or what is missing is said and the damaged file kept.
//!
//! The short run takes a part of the cases; `WANDERLEAD_LONG=1 cargo test --test store_faults -- --nocapture` takes all.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod store_help;

use store_help::campaign::{self, Outcome, every};
use store_help::careless::{HABITS, Habit, SLOW};
use store_help::memory::Memory;
use store_help::visit::{Manner, file, keep, world};
use wanderlead::store::Session;

fn holds(name: &str, campaign: impl FnOnce() -> Outcome) {
    let start = std::time::Instant::now();
    match campaign() {
        Ok(cases) => println!("{name}: {cases} cases, {:.1?}", start.elapsed()),
        Err(case) => panic!("{name}: {case}"),
    }
}

#[test]
fn a_kill_at_any_moment_costs_nothing_that_was_called_kept() {
    holds("kills", || campaign::kills(Manner::default()));
}

#[test]
fn a_failure_of_any_operation_is_reported_and_costs_nothing_that_was_called_kept() {
    holds("failures", || {
        campaign::failures(Manner::default(), every(7))
    });
}

#[test]
fn a_power_cut_at_any_moment_costs_nothing_that_was_called_kept() {
    holds("power cuts", || campaign::power_cuts(Manner::default()));
}

#[test]
fn an_opening_that_puts_things_in_order_may_itself_be_cut_off() {
    holds("mending", || {
        campaign::mending(Manner::default(), every(12))
    });
}

#[test]
fn two_programs_at_one_job_cost_each_other_nothing() {
    holds("two programs", || campaign::two_programs(Manner::default()));
}

#[test]
fn a_clock_set_back_costs_nothing() {
    holds("clock", || campaign::clock_set_back(Manner::default()));
}

#[test]
fn a_damaged_file_is_never_taken_for_whole() {
    holds("damage", || campaign::damages(Manner::default(), every(23)));
}

#[test]
fn in_a_slow_folder_kept_is_said_later_and_never_too_early() {
    let slow = campaign::with(Habit::Slow);
    let memory = Memory::new(world());
    let mut session = Session::open_on(slow.disk(&memory), &file()).unwrap();
    let now = chrono::DateTime::parse_from_rfc3339("2026-09-01T10:00:00+01:00").unwrap();
    let start = std::time::Instant::now();
    session
        .keep(&keep("R/zdb", "0.31", "JE", now), now)
        .unwrap();
    assert!(start.elapsed() >= SLOW, "kept before it was synced");
    drop(session);
    holds("slow folder, kills", || campaign::kills(slow));
}

#[test]
fn every_bad_habit_is_caught() {
    assert!(campaign::judge_says_no());
    for habit in HABITS {
        let start = std::time::Instant::now();
        match campaign::all(campaign::with(*habit)) {
            Ok(cases) => panic!("{habit:?} passes all {cases} cases"),
            Err(case) => println!("{habit:?} is caught, {:.1?}: {case}", start.elapsed()),
        }
    }
}
