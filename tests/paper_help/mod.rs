//! What the tests of finished papers share: the boxes poppler sees, and records that are hard to lay out.

#![allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic
)]

pub mod boxes;
pub mod hard;
