//! Records electrical tests on site, judges each reading and drafts the certificate.

pub mod calc;
pub mod checks;
pub mod command;
pub mod forms;
pub mod guide;
pub mod job;
pub mod paper;
pub mod screen;
pub mod store;
