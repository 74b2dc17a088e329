//! What has to hold for every refusal and for every job that was taken.

use std::sync::OnceLock;

use chrono::{DateTime, FixedOffset};
use wanderlead::checks::judge_all;
use wanderlead::forms::Forms;
use wanderlead::guide::Plan;
use wanderlead::job::Job;
use wanderlead::job::text::TextError;
use wanderlead::store::StoreError;

pub fn forms() -> &'static Forms {
    static FORMS: OnceLock<Forms> = OnceLock::new();
    FORMS.get_or_init(|| Forms::embedded().unwrap())
}

pub fn now() -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339("2026-12-01T15:00:00+00:00").unwrap()
}

/// An error names the file, a line that it has, what is wrong and what to do, in a length that can be read and without what
/// steers a terminal.
pub fn located(error: &TextError, file: &str, text: &str) -> Result<(), String> {
    let lines = text.matches('\n').count() + 1;
    if error.file != file {
        return Err(format!("an error names another file: {error:?}"));
    }
    if error.line == 0 {
        return Err(format!("an error names no line: {error:?}"));
    }
    if error.line > lines || error.column == 0 {
        return Err(format!(
            "an error names line {} of {lines}: {error:?}",
            error.line
        ));
    }
    if error.what.is_empty() {
        return Err(format!("an error says nothing: {error:?}"));
    }
    readable(&error.to_string())
}

pub fn readable(said: &str) -> Result<(), String> {
    if let Some(bad) = said.chars().find(|c| c.is_control() && *c != '\n') {
        return Err(format!(
            "a message has a control character {bad:?}: {said:?}"
        ));
    }
    let longest = said.lines().map(|l| l.chars().count()).max().unwrap_or(0);
    if longest > 3500 || said.trim().is_empty() {
        return Err(format!("a message of {longest} characters: {:.300}", said));
    }
    Ok(())
}

/// Every problem of a file.
pub fn refused(error: &StoreError, file: &str, bytes: &[u8]) -> Result<(), String> {
    let text = String::from_utf8_lossy(bytes);
    match error {
        StoreError::Unusable(list) => {
            if list.is_empty() {
                return Err("refused for no reason".into());
            }
            list.iter().try_for_each(|e| located(e, file, &text))?;
        }
        other => readable(&other.to_string())?,
    }
    readable(&error.to_string())
}

/// What the program does with a job: judge it and plan the walk. Every message is fit for a line.
pub fn used(job: &Job) -> Result<(), String> {
    if let Some(problem) = job.problems().first() {
        return Err(format!("a job with a problem is open: {problem:?}"));
    }
    for finding in judge_all(job, forms()) {
        readable(&finding.why)?;
    }
    std::hint::black_box(Plan::new(job, forms()).steps().len());
    Ok(())
}
