//! What a file says of itself that ties it to a job: when it was made, from which content, which issue it is and which parts it has.

use chrono::{DateTime, FixedOffset, NaiveDateTime, TimeZone};
use lopdf::{Dictionary, Object};

use crate::paper::page::DocumentInfo;

/// Entry with the digest of the content. Readers show entries that they don't know, or pass over them.
const CONTENT: &str = "WanderleadContent";
/// Entry with the number of the issue.
const ISSUE: &str = "WanderleadIssue";

/// Entry with the parts that the file has, where it isn't the whole.
const PARTS: &str = "WanderleadParts";

/// What ties a file to a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// When it was made.
    pub created: DateTime<FixedOffset>,
    /// Digest of the job's content.
    pub content: String,
    /// Number of the issue; `None` for a draft.
    pub issue: Option<u32>,
    /// Reference of the job; empty where the file doesn't say.
    pub job: String,
    /// Which parts of the whole it has, separated by commas; empty for all of it.
    pub parts: String,
}

/// Reads what a PDF says of itself.
///
/// # Errors
/// What is wrong with the file, or that it isn't one that this program drafted.
pub fn identity(bytes: &[u8]) -> Result<Identity, String> {
    let file =
        lopdf::Document::load_mem(bytes).map_err(|e| format!("it can't be read as a PDF: {e}"))?;
    let info = file
        .trailer
        .get(b"Info")
        .and_then(Object::as_reference)
        .and_then(|id| file.get_dictionary(id))
        .map_err(|_| "it says nothing of itself: it wasn't drafted by this program".to_string())?;
    let text = |key: &str| {
        let found = info.get(key.as_bytes()).and_then(Object::as_str).ok();
        found.map(|b| String::from_utf8_lossy(b).into_owned())
    };
    let content = text(CONTENT)
        .ok_or("it has no digest of its content: it wasn't drafted by this program")?;
    let created = text("CreationDate")
        .and_then(|d| read_date(&d))
        .ok_or("its date of creation can't be read")?;
    let issue = match text(ISSUE) {
        Some(number) => Some(
            number
                .parse()
                .map_err(|_| format!("`{number}` is no number of an issue"))?,
        ),
        None => None,
    };
    Ok(Identity {
        created,
        content,
        issue,
        job: text_string(info, "Keywords").unwrap_or_default(),
        parts: text(PARTS).unwrap_or_default(),
    })
}

/// A text that may have any characters.
fn text_string(info: &Dictionary, key: &str) -> Option<String> {
    let text = info.get(key.as_bytes()).ok()?;
    lopdf::decode_text_string(text).ok()
}

/// Whether a PDF that is there may be replaced by a paper of a job with that reference: only a draft of this program, of the same
/// job.
///
/// # Errors
/// Why not.
pub fn may_replace(old: &[u8], reference: &str) -> Result<(), String> {
    let old = identity(old)
        .map_err(|_| "there is a PDF of that name that this program didn't draft".to_string())?;
    if let Some(issue) = old.issue {
        return Err(format!(
            "issue {issue} of a paper has that name, and what was handed out is never written over"
        ));
    }
    if !old.job.is_empty() && old.job != reference {
        return Err(format!(
            "the draft of another job ({}) has that name",
            old.job
        ));
    }
    Ok(())
}

/// A time as a PDF writes it, such as `D:20260307140509+01'00'`.
pub(super) fn date(at: DateTime<FixedOffset>) -> String {
    let zone = at.format("%:z").to_string().replace(':', "'");
    format!("{}{zone}'", at.format("D:%Y%m%d%H%M%S"))
}

fn read_date(text: &str) -> Option<DateTime<FixedOffset>> {
    let (digits, zone) = text.strip_prefix("D:")?.split_at_checked(14)?;
    let local = NaiveDateTime::parse_from_str(digits, "%Y%m%d%H%M%S").ok()?;
    let zone: String = zone.trim_end_matches('\'').replace('\'', ":");
    let zone: FixedOffset = zone.parse().ok()?;
    zone.from_local_datetime(&local).single()
}

/// Adds the entries.
pub(super) fn write(entries: &mut Dictionary, info: &DocumentInfo) {
    if !info.content.is_empty() {
        entries.set(CONTENT, Object::string_literal(info.content.as_str()));
    }
    if !info.parts.is_empty() {
        entries.set(PARTS, Object::string_literal(info.parts.as_str()));
    }
    if let Some(issue) = info.issue {
        entries.set(ISSUE, Object::string_literal(issue.to_string()));
    }
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn a_date_comes_back_with_its_zone() {
        for text in [
            "2026-03-07T14:05:09+01:00",
            "2026-12-31T23:59:59-05:30",
            "2026-07-01T00:00:00+00:00",
        ] {
            let at = DateTime::parse_from_rfc3339(text).unwrap();
            let back = read_date(&date(at)).unwrap();
            assert_eq!((back, back.offset()), (at, at.offset()));
        }
        assert_eq!(read_date("D:2026"), None);
        assert_eq!(read_date("yesterday"), None);
    }
}
