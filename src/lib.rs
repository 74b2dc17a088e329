//! Records electrical tests on site, judges each reading and drafts the certificate.

pub mod job;
pub mod store;
