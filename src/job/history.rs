//! The history: who changed what, when, from what to what. It is only ever added to, by [`Job::apply`], and each deed's digest
//! covers the one before it, so that a deed that was altered, removed or moved is found. It finds damage and careless edits; it
//! is no signature.

use std::fmt;
use std::sync::Arc;

use chrono::{DateTime, FixedOffset};
use serde::de::{SeqAccess, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Job;
use super::change::Change;
use super::digest::digest;
use super::issue::Issue;
use super::place::Place;
use super::reading::Entry;
use super::validate::words;

/// Longest text of a deed, in characters; a longer one is cut, and says which digest the whole has.
const LONGEST: usize = 400;

/// What was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Done {
    /// The history began on a job that had readings already.
    Begun,
    /// A reading was kept.
    Kept,
    /// An entry was put back as it was: undo or redo.
    PutBack,
    /// A reading was countersigned.
    Countersigned,
    /// The record itself was edited.
    Edited,
    /// The paper was issued.
    Issued,
    /// Something that was found on opening was settled.
    Settled,
}

impl Done {
    /// Words for the screen and the paper.
    pub fn name(self) -> &'static str {
        match self {
            Done::Begun => "history begun",
            Done::Kept => "kept",
            Done::PutBack => "put back",
            Done::Countersigned => "countersigned",
            Done::Edited => "edited",
            Done::Issued => "issued",
            Done::Settled => "settled",
        }
    }
}

/// One line of the history.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deed {
    /// When.
    pub at: DateTime<FixedOffset>,
    /// Id of who did it.
    pub by: String,
    /// What was done.
    pub done: Done,
    /// The place or the part.
    pub what: String,
    /// What stood there before; empty where nothing did.
    pub old: String,
    /// What stands there now; empty where nothing does.
    pub new: String,
    /// Digest of all this and of the digest before it.
    pub digest: String,
}

/// How a deed is written in a file: on one line.
type Line = (
    DateTime<FixedOffset>,
    String,
    Done,
    String,
    String,
    String,
    String,
);

impl Deed {
    fn digest_after(&self, before: &str) -> String {
        let done = format!("{:?}", self.done);
        let at = self.at.to_rfc3339();
        let mut parts: Vec<&[u8]> = Vec::new();
        // No text holds a line end, so that none can pass for two.
        for part in [
            before, &at, &self.by, &done, &self.what, &self.old, &self.new,
        ] {
            parts.extend([part.as_bytes(), b"\n"]);
        }
        digest(&parts)
    }

    /// `0.42 -> 0.44`, with words for nothing.
    pub fn change(&self) -> String {
        let or = |text: &str| match text {
            "" => "nothing".to_string(),
            text => text.to_string(),
        };
        match (self.old.as_str(), self.new.as_str()) {
            ("", "") => String::new(),
            ("", new) if !matches!(self.done, Done::Kept | Done::PutBack) => new.to_string(),
            (old, new) => format!("{} -> {}", or(old), or(new)),
        }
    }
}

/// Where the chain is broken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Break {
    /// Number of the deed, from 1, that doesn't follow on the one before it; one more than there are where the end is missing.
    pub at: usize,
    /// What that means, in words.
    pub why: String,
}

/// Everything that was done to a job, oldest first.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct History {
    // Shared: a job is copied now and then, and this is the part of it that only grows.
    deeds: Vec<Arc<Deed>>,
    /// Digest of the last deed, apart from it, so that an end that was cut off is missed.
    head: String,
}

impl History {
    /// Whether nothing is in it.
    pub fn is_empty(&self) -> bool {
        self.deeds.is_empty() && self.head.is_empty()
    }

    /// How many deeds there are.
    pub fn len(&self) -> usize {
        self.deeds.len()
    }

    /// The deeds, oldest first.
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = &Deed> + ExactSizeIterator {
        self.deeds.iter().map(Arc::as_ref)
    }

    /// Digest of the last deed; empty where there is none.
    pub fn head(&self) -> &str {
        &self.head
    }

    /// The first place where the chain is broken; `None` where it is whole.
    pub fn broken(&self) -> Option<Break> {
        let mut before = "";
        for (i, deed) in self.deeds.iter().enumerate() {
            if deed.digest != deed.digest_after(before) {
                return Some(Break {
                    at: i + 1,
                    why: format!(
                        "entry {} of the history ({}, {}) doesn't follow on the one before it: one of the two was altered, or some \
                         between them were removed",
                        i + 1,
                        deed.what,
                        deed.at.format("%-d %b %Y %H:%M")
                    ),
                });
            }
            before = &deed.digest;
        }
        (before != self.head).then(|| Break {
            at: self.deeds.len() + 1,
            why: format!(
                "the history doesn't end with entry {}: what came after it was removed",
                self.deeds.len()
            ),
        })
    }

    /// Whether an issue is in it as it is in the list: its content, who issued it and when.
    pub(super) fn has_issue(&self, issue: &Issue) -> bool {
        let what = issue_in_words(issue);
        self.iter().any(|deed| {
            deed.done == Done::Issued
                && (&deed.what, &deed.new) == (&what.0, &what.1)
                && deed.by == on_one_line(&issue.by)
                && deed.at == issue.at
        })
    }

    /// Numbers of the issues, with when they were issued, oldest first.
    pub(super) fn issued(&self) -> impl Iterator<Item = (u32, DateTime<FixedOffset>)> {
        self.iter()
            .filter(|deed| deed.done == Done::Issued)
            .filter_map(|deed| Some((deed.what.strip_prefix("issue ")?.parse().ok()?, deed.at)))
    }

    pub(super) fn add(&mut self, mut deed: Deed) {
        for text in [&mut deed.by, &mut deed.what, &mut deed.old, &mut deed.new] {
            *text = on_one_line(text);
        }
        deed.digest = deed.digest_after(&self.head);
        self.head.clone_from(&deed.digest);
        self.deeds.push(Arc::new(deed));
    }

    /// Back to its first `length` deeds, which ended with `head`: what was done since isn't done.
    pub(super) fn back_to(&mut self, length: usize, head: String) {
        self.deeds.truncate(length);
        self.head = head;
    }
}

/// A text without line ends or what can't be seen, and not longer than the longest.
pub(super) fn on_one_line(text: &str) -> String {
    let flat = words::shown(&text.replace(['\n', '\r'], " / "));
    match flat.char_indices().nth(LONGEST) {
        None => flat,
        Some((end, _)) => format!(
            "{}… (the whole has digest {})",
            flat.get(..end).unwrap_or_default(),
            digest(&[text.as_bytes()])
        ),
    }
}

impl Serialize for History {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        /// [`Line`], borrowed.
        type Written<'a> = (
            &'a DateTime<FixedOffset>,
            &'a str,
            Done,
            &'a str,
            &'a str,
            &'a str,
            &'a str,
        );
        #[derive(Serialize)]
        struct Whole<'a> {
            head: &'a str,
            deeds: Vec<Written<'a>>,
        }
        let deeds = self.iter();
        let deeds = deeds
            .map(|d| -> Written<'_> { (&d.at, &d.by, d.done, &d.what, &d.old, &d.new, &d.digest) })
            .collect();
        Whole {
            head: &self.head,
            deeds,
        }
        .serialize(serializer)
    }
}

impl<'de> Deserialize<'de> for History {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        #[serde(deny_unknown_fields, rename = "History")]
        struct Written {
            head: String,
            deeds: Deeds,
        }
        struct Deeds(Vec<Arc<Deed>>);
        impl<'de> Deserialize<'de> for Deeds {
            fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                struct Each;
                impl<'de> Visitor<'de> for Each {
                    type Value = Deeds;

                    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                        f.write_str("a list of deeds")
                    }

                    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Deeds, A::Error> {
                        let mut out = Vec::new();
                        while let Some(line) = seq.next_element::<Line>()? {
                            let (at, by, done, what, old, new, digest) = line;
                            out.push(Arc::new(Deed {
                                at,
                                by,
                                done,
                                what,
                                old,
                                new,
                                digest,
                            }));
                        }
                        Ok(Deeds(out))
                    }
                }
                deserializer.deserialize_seq(Each)
            }
        }
        let written = Written::deserialize(deserializer)?;
        Ok(History {
            deeds: written.deeds.0,
            head: written.head,
        })
    }
}

impl Job {
    /// What stands at the places of a change, for [`note`](Self::note): asked before it is made.
    pub(super) fn standing(&self, change: &Change) -> Vec<String> {
        let places = change.places();
        places.into_iter().map(|p| self.stands(p)).collect()
    }

    fn stands(&self, place: &Place) -> String {
        self.entry(place).map(as_it_stands).unwrap_or_default()
    }

    /// Adds a change that was made to the history. What only turns a change round that failed isn't in it.
    pub(super) fn note(&mut self, change: &Change, mut before: Vec<String>, readings: usize) {
        if let Some((by, at)) = change.by_and_at()
            && self.history.is_empty()
            && readings > 0
        {
            self.history.add(Deed {
                at,
                by: by.to_string(),
                done: Done::Begun,
                what: "record".into(),
                old: String::new(),
                new: format!("{readings} readings were recorded before this history"),
                digest: String::new(),
            });
        }
        before.reverse();
        self.note_each(change, &mut before);
    }

    fn note_each(&mut self, change: &Change, before: &mut Vec<String>) {
        let (done, what, old, new) = match change {
            Change::Together(changes) => {
                for change in changes {
                    self.note_each(change, before);
                }
                return;
            }
            Change::Keep { place, reading } => (
                Done::Kept,
                place.to_string(),
                before.pop(),
                reading.typed.clone(),
            ),
            Change::Put { place, .. } => (
                Done::PutBack,
                place.to_string(),
                before.pop(),
                self.stands(place),
            ),
            Change::Countersign { place, typed, .. } => {
                before.pop();
                (Done::Countersigned, place.to_string(), None, typed.clone())
            }
            Change::Edit(edit) => {
                let how = self.edits.last().map(|e| e.how.join("; "));
                (
                    Done::Edited,
                    edit.spot.to_string(),
                    None,
                    how.unwrap_or_default(),
                )
            }
            Change::Issue(issue) => {
                let (what, new) = issue_in_words(issue);
                (Done::Issued, what, None, new)
            }
            Change::Settled { what, how, .. } => (Done::Settled, what.clone(), None, how.clone()),
        };
        let Some((by, at)) = change.by_and_at() else {
            return;
        };
        self.history.add(Deed {
            at,
            by: by.to_string(),
            done,
            what,
            old: old.unwrap_or_default(),
            new,
            digest: String::new(),
        });
    }
}

/// Which issue, and of what.
fn issue_in_words(issue: &Issue) -> (String, String) {
    (
        format!("issue {}", issue.number),
        format!("content {}", issue.content),
    )
}

/// What stands, with its countersign.
pub(super) fn as_it_stands(entry: &Entry) -> String {
    match &entry.now.countersigned {
        Some(sign) => format!("{}, countersigned by {}", entry.now.typed, sign.by),
        None => entry.now.typed.clone(),
    }
}
