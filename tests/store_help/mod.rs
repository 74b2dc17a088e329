//! A disk in memory, a visit by script, and the campaigns of faults that go over both.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod campaign;
pub mod careless;
pub mod chance;
pub mod memory;
pub mod visit;
pub mod world;
