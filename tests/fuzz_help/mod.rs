//! A fuzzer of our own: a seed makes the cases, children run them, and the smallest that fails is written down.
//!
//! A new target is a file in `targets/` with a [`Target`](runner::Target) (name, corpus, way to mutate, what to do with a
//! case), and three lines in `tests/fuzz.rs`.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod check;
pub mod child;
pub mod mutate;
pub mod runner;
pub mod shrink;
pub mod targets;
pub mod tokens;
