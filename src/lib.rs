//! Records electrical tests on site, judges each reading and drafts the certificate.

pub mod calc;
pub mod job;
