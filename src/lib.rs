//! Records electrical tests on site, judges each reading and drafts the certificate.

// Out of bounds is a panic; tests may.
#![cfg_attr(not(test), warn(clippy::indexing_slicing, clippy::string_slice))]

pub mod calc;
pub mod checks;
pub mod command;
pub mod forms;
pub mod guide;
pub mod intake;
pub mod job;
pub mod paper;
pub mod screen;
pub mod store;
