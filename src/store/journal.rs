//! The journal: a header, then one line per kept change. Each line's digest covers the digest before it, so a line
//! that was altered, lost or torn is found.
//!
//! ```text
//! wanderlead journal 1 after 0 -
//! 1 6b0f…32 hex digits… (at:"…",job:"…",change:Keep(…))
//! ```

use chrono::{DateTime, FixedOffset};
use serde::{Deserialize, Serialize};

use crate::job::digest::digest;
use crate::job::text::{options, parse};
use crate::job::{Change, Job};

const TITLE: &str = "wanderlead journal 1 after ";

/// What one line holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Record {
    /// When it was kept.
    pub(super) at: DateTime<FixedOffset>,
    /// Reference of the job, so that lines are never replayed into another one.
    pub(super) job: String,
    /// What was changed.
    pub(super) change: Change,
}

/// A point of the chain: number and digest of a line; 0 and nothing before the first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Link {
    pub(super) seq: u64,
    pub(super) digest: String,
}

impl Link {
    /// The last line that the job contains.
    pub(super) fn of(job: &Job) -> Link {
        Link {
            seq: job.kept,
            digest: job.kept_digest.clone(),
        }
    }
}

fn chain(before: &str, seq: u64, payload: &str) -> String {
    // The separators keep `1` + `23` apart from `12` + `3`.
    let number = seq.to_string();
    digest(&[
        before.as_bytes(),
        b"\n",
        number.as_bytes(),
        b"\n",
        payload.as_bytes(),
    ])
}

/// The first line of a journal that goes on after `link`.
pub(super) fn header(link: &Link) -> String {
    let digest = if link.digest.is_empty() {
        "-"
    } else {
        &link.digest
    };
    format!("{TITLE}{} {digest}\n", link.seq)
}

/// The line after `before`, and its link.
pub(super) fn line(before: &Link, record: &Record) -> Result<(String, Link), String> {
    let payload = options().to_string(record).map_err(|e| e.to_string())?;
    if payload.contains(['\n', '\r']) {
        return Err("the record doesn't fit on one line".into());
    }
    let next = before.seq.checked_add(1);
    let seq = next.ok_or("the job file counts more changes than can be counted")?;
    let digest = chain(&before.digest, seq, &payload);
    Ok((format!("{seq} {digest} {payload}\n"), Link { seq, digest }))
}

/// What writing may do with a journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Fit {
    /// There is nothing in it: a header has to be written.
    Empty,
    /// New lines go after the last good one.
    Continues,
    /// It holds nothing that the job lacks, but doesn't lead up to the job either: a new one has to be started.
    Behind,
    /// It holds something that can't be brought into the job: nothing may be written.
    Broken(String),
}

/// What a journal holds, seen from a job.
#[derive(Debug)]
pub(super) struct Survey {
    /// What writing may do.
    pub(super) fit: Fit,
    /// Changes that the job lacks, in order, with their links.
    pub(super) records: Vec<(Link, Record)>,
    /// Where the line of each of them ends.
    pub(super) ends: Vec<u64>,
    /// Where the job stands in it: behind the line that the job contains last; `None` where that isn't in it.
    pub(super) anchor: Option<u64>,
    /// What a journal that is [`Fit::Behind`] holds, as far as it can be read; unverified.
    pub(super) behind: Vec<Record>,
    /// Bytes up to the end of the last good line.
    pub(super) good: u64,
    /// What is wrong with the torn last line, where there is one; it starts at `good`.
    pub(super) torn: Option<String>,
    /// What else should be said.
    pub(super) notes: Vec<String>,
}

/// One line, taken apart but not verified.
struct Raw<'a> {
    seq: u64,
    digest: &'a str,
    payload: &'a str,
}

fn raw(bytes: &[u8]) -> Option<Raw<'_>> {
    let text = std::str::from_utf8(bytes).ok()?;
    let (seq, rest) = text.split_once(' ')?;
    let (digest, payload) = rest.split_once(' ')?;
    Some(Raw {
        seq: seq.parse().ok()?,
        digest,
        payload,
    })
}

/// The link of a line, if it follows `before`.
fn verified(bytes: &[u8], before: &Link) -> Option<(Link, String)> {
    let raw = raw(bytes)?;
    let fits = raw.seq == before.seq.checked_add(1)?
        && raw.digest == chain(&before.digest, raw.seq, raw.payload);
    fits.then(|| {
        let link = Link {
            seq: raw.seq,
            digest: raw.digest.to_string(),
        };
        (link, raw.payload.to_string())
    })
}

fn read_header(bytes: &[u8]) -> Option<Link> {
    let text = std::str::from_utf8(bytes).ok()?;
    let (seq, digest) = text.strip_prefix(TITLE)?.split_once(' ')?;
    let digest = if digest == "-" { "" } else { digest };
    Some(Link {
        seq: seq.parse().ok()?,
        digest: digest.to_string(),
    })
}

/// Looks through the bytes of a journal for what `job` lacks. Touches neither.
pub(super) fn survey(bytes: &[u8], job: &Link) -> Survey {
    let mut out = Survey {
        fit: Fit::Empty,
        records: Vec::new(),
        ends: Vec::new(),
        anchor: None,
        behind: Vec::new(),
        good: 0,
        torn: None,
        notes: Vec::new(),
    };
    let Some(end) = bytes.iter().rposition(|b| *b == b'\n') else {
        if !bytes.is_empty() {
            out.torn = Some("its first line is incomplete".into());
        }
        return out;
    };
    let (whole, tail) = bytes.split_at(end);
    let tail = tail.get(1..).unwrap_or_default();
    let lines: Vec<&[u8]> = whole.split(|b| *b == b'\n').collect();
    let Some((first, lines)) = lines.split_first() else {
        return out;
    };
    let Some(start) = read_header(first) else {
        out.fit = Fit::Broken(
            "its first line is not one that this program writes: it may come from a newer version, or be another file"
                .into(),
        );
        return out;
    };

    // Where the job stands in this journal.
    let from = if start == *job {
        Some(0)
    } else {
        lines
            .iter()
            .position(|l| raw(l).is_some_and(|r| r.seq == job.seq && r.digest == job.digest))
            .map(|i| i + 1)
    };
    let Some(from) = from else {
        out.fit = no_anchor(&start, lines, job);
        if out.fit == Fit::Behind {
            out.behind = lines
                .iter()
                .filter_map(|l| parse::<Record>("journal", raw(l)?.payload).ok())
                .collect();
        }
        return out;
    };

    // What the job already contains need not be sound, but damage should be known.
    let mut link = start;
    let mut good = first.len() as u64 + 1;
    let mut damaged = None;
    for (i, line) in lines.iter().take(from).enumerate() {
        good += line.len() as u64 + 1;
        match verified(line, &link) {
            Some((next, _)) => link = next,
            None => {
                damaged.get_or_insert(i + 2);
                if let Some(r) = raw(line) {
                    link = Link {
                        seq: r.seq,
                        digest: r.digest.to_string(),
                    };
                }
            }
        }
    }
    if let Some(line) = damaged {
        out.notes.push(format!(
            "line {line} of the journal is damaged; the job file already contains what it held, so nothing is lost"
        ));
    }

    link = job.clone();
    out.fit = Fit::Continues;
    out.anchor = Some(good);
    for (i, line) in lines.iter().enumerate().skip(from) {
        let number = i + 2;
        let Some((next, payload)) = verified(line, &link) else {
            if i + 1 == lines.len() && tail.is_empty() {
                out.torn = Some(format!("its last line ({number}) is damaged"));
            } else {
                out.fit = Fit::Broken(format!(
                    "line {number} is damaged; {} after it can't be brought back by the program",
                    count(lines.len() - i - 1 + usize::from(!tail.is_empty()), "line")
                ));
            }
            break;
        };
        match parse::<Record>("journal", &payload) {
            Ok(record) => {
                out.records.push((next.clone(), record));
                out.ends.push(good + line.len() as u64 + 1);
            }
            Err(e) => {
                out.fit = Fit::Broken(format!("line {number} can't be understood: {}", e.what));
                break;
            }
        }
        link = next;
        good += line.len() as u64 + 1;
    }
    if !tail.is_empty() && out.fit == Fit::Continues {
        out.torn = Some(format!("its last line ({}) is incomplete", lines.len() + 2));
    }
    out.good = good;
    out
}

/// A journal in which the job's last line isn't to be found.
fn no_anchor(start: &Link, lines: &[&[u8]], job: &Link) -> Fit {
    let newest = lines
        .iter()
        .filter_map(|l| raw(l).map(|r| r.seq))
        .max()
        .unwrap_or(start.seq);
    if newest <= job.seq {
        return Fit::Behind;
    }
    Fit::Broken(format!(
        "it goes up to line {newest} but doesn't contain line {} as the job file knows it: one of the two comes from elsewhere",
        job.seq
    ))
}

/// `1 line`, `2 lines`.
pub(super) fn count(n: usize, what: &str) -> String {
    if n == 1 {
        format!("1 {what}")
    } else {
        format!("{n} {what}s")
    }
}
