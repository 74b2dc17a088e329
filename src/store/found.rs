//! What opening found, taken apart for a page: what it was, what was brought back, what is in doubt, where copies are, and what
//! to do. The sentences for a command line are `notes` and `lost`.

use std::path::Path;

use chrono::{DateTime, FixedOffset};

use super::journal::{Record, count};
use crate::job::{Change, Job, Reading, Unlike};

/// One thing that was found.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Found {
    /// What, in a sentence.
    pub what: String,
    /// The readings and other changes that it is about.
    pub changes: Vec<Listed>,
    /// What is in doubt; empty where nothing is.
    pub doubt: String,
    /// Copies that were made.
    pub copies: Vec<String>,
    /// What to do.
    pub todo: String,
    /// Whether somebody has to decide before anything is written.
    pub decide: bool,
    about: About,
}

/// Which copy belongs to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum About {
    Torn,
    Behind,
    Lost,
    Altered,
    Unlike,
    NoHistory,
    BrokenChain,
    Unlisted,
    #[default]
    Other,
}

/// A change in a list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Place or part.
    pub what: String,
    /// Value as typed, or words for what was done.
    pub value: String,
    /// Id of who.
    pub by: String,
    /// When.
    pub at: DateTime<FixedOffset>,
}

/// The changes of a line, one by one.
fn listed(change: &Change, out: &mut Vec<Listed>) {
    let value = match change {
        Change::Together(changes) => {
            changes.iter().for_each(|c| listed(c, out));
            return;
        }
        Change::Keep { reading, .. } => reading.typed.clone(),
        Change::Put { entry: None, .. } => "taken back".into(),
        Change::Put {
            entry: Some(entry), ..
        } => format!("put back: {}", entry.now.typed),
        Change::Countersign { typed, .. } => format!("countersigned: {typed}"),
        Change::Edit(edit) if edit.now.is_none() => "removed from the record".into(),
        Change::Edit(_) => "record edited".into(),
        Change::Issue(_) => "issued".into(),
        Change::Settled { how, .. } => how.clone(),
    };
    if let Some((by, at)) = change.by_and_at() {
        out.push(Listed {
            what: change.what(),
            value,
            by: by.to_string(),
            at,
        });
    }
}

impl Found {
    pub(super) fn is_torn(&self) -> bool {
        self.about == About::Torn
    }

    pub(super) fn is_behind(&self) -> bool {
        self.about == About::Behind
    }

    pub(super) fn is_lost(&self) -> bool {
        self.about == About::Lost
    }

    pub(super) fn is_changed_by_hand(&self) -> bool {
        matches!(self.about, About::Altered | About::NoHistory)
    }

    /// Whether it puts what was recorded in question, so that a qualified person decides.
    pub(super) fn is_for_qualified(&self) -> bool {
        matches!(
            self.about,
            About::Lost | About::Altered | About::Unlike | About::NoHistory | About::Unlisted
        )
    }

    /// Whether the record can't be relied upon as it stands: in doubt for a qualified person, with readings somewhere that it may
    /// lack, or with a break in its history.
    pub(super) fn questions_the_record(&self) -> bool {
        self.is_for_qualified()
            || self.is_torn()
            || (self.is_behind() && !self.changes.is_empty())
            || self.about == About::BrokenChain
    }

    /// What was found, to go on from within a sentence.
    pub fn in_a_sentence(&self) -> &str {
        self.what.trim_end_matches([':', '.'])
    }

    /// Whether nothing is drafted before somebody decided about it: a paper would look whole. A break in the history can't be
    /// decided about, and is printed.
    pub fn holds_up_papers(&self) -> bool {
        self.decide && self.questions_the_record()
    }

    pub(super) fn brought_back(records: &[&Record]) -> Found {
        let mut changes = Vec::new();
        records.iter().for_each(|r| listed(&r.change, &mut changes));
        Found {
            what: format!(
                "{} in the journal that the job file hadn't yet: the program or the computer ended before it was saved. Brought back:",
                count(records.len(), "change")
            ),
            changes,
            todo: "nothing: all of it is kept. The last one may not have been called kept on the screen any more; look at it".into(),
            ..Found::default()
        }
    }

    pub(super) fn torn(journal: &str, why: &str, rest: &[u8], aside: Option<&str>) -> Found {
        let legible = legible(rest);
        Found {
            what: brief(&format!("{journal}: {why}{legible}"), journal),
            doubt: "what that line held isn't in the job. If it was called kept on the screen, it is missing now".into(),
            copies: aside.map(str::to_string).into_iter().collect(),
            todo: "look at the reading that was taken last; where it isn't in the job, enter it again".into(),
            about: About::Torn,
            decide: true,
            ..Found::default()
        }
    }

    pub(super) fn behind(journal: &str, lacking: &[(String, &Reading)]) -> Found {
        let changes = lacking.iter().map(|(place, r)| Listed {
            what: place.clone(),
            value: r.typed.clone(),
            by: r.by.clone(),
            at: r.at,
        });
        Found {
            what: format!(
                "{}: the journal ends before this job file, and doesn't lead up to it: an older copy of the journal, or a \
                 journal that another program began. The job file is whole in itself.{}",
                brief(journal, journal),
                if lacking.is_empty() {
                    ""
                } else {
                    " In the journal and not in the job:"
                }
            ),
            changes: changes.collect(),
            doubt: if lacking.is_empty() {
                String::new()
            } else {
                "whether these were taken back meanwhile, or kept by another program".into()
            },
            todo: if lacking.is_empty() {
                "nothing, if this is the right job file: the journal is copied beside, and a new one begun".into()
            } else {
                "compare them with the job, and enter again what is missing; the journal is copied beside, and a new one begun".into()
            },
            about: About::Behind,
            decide: true,
            ..Found::default()
        }
    }

    pub(super) fn no_journal(journal: &str) -> Found {
        Found {
            what: format!(
                "{}: the journal isn't there or is empty, though this job was saved before",
                brief(journal, journal)
            ),
            doubt: "what was kept after the job file was last saved, if anything".into(),
            todo: "if the journal was left elsewhere, leave, put it beside the job file and open the job again".into(),
            ..Found::default()
        }
    }

    pub(super) fn damage_behind_us(what: &str, journal: &str) -> Found {
        Found {
            what: brief(what, journal),
            todo: "nothing now; a disk that damages one line may damage others: copy the job to another disk".into(),
            ..Found::default()
        }
    }

    pub(super) fn altered(file: &str) -> Found {
        let file = brief(file, file);
        Found {
            what: format!("{file}: the job file isn't as this program saved it: somebody changed it by hand, or the disk damaged it"),
            doubt: "every figure in it, and who is on the job with which role, until somebody has looked through it".into(),
            todo: "look through the record and the readings. The file as it is now is copied beside before it is saved again, and the \
                   history notes that it was changed outside of the program".into(),
            decide: true,
            about: About::Altered,
            ..Found::default()
        }
    }

    pub(super) fn lost(why: &str, journal: &str) -> Found {
        Found {
            what: brief(why, journal),
            doubt: "what the journal holds from there on isn't in the job, and the record is not whole: nothing is kept or drafted".into(),
            todo: "copy the job file and the journal to another disk first. Then put the right one of the two back, or go on without \
                   what can't be brought back: the journal is copied beside, and the history notes it".into(),
            about: About::Lost,
            decide: true,
            ..Found::default()
        }
    }

    pub(super) fn older(file: &str, version: u32, now: u32) -> Found {
        let file = brief(file, file);
        Found {
            what: format!("{file}: the job file is of version {version}; this program writes version {now}"),
            todo: "nothing: the file as it is now is copied beside before it is saved as the newer version. Signatures and issues stay valid".into(),
            ..Found::default()
        }
    }

    pub(super) fn newer(what: &str, file: &str) -> Found {
        Found {
            what: brief(what, file),
            doubt: "what this program doesn't know isn't shown, and what it shows may mean something else in the newer version".into(),
            todo: "open it with the newer program; this one only shows it".into(),
            ..Found::default()
        }
    }

    /// An issue that the history knows is gone from the list. `what` is also how the history says it once somebody went on.
    pub(super) fn unlisted(number: u32, at: DateTime<FixedOffset>) -> Found {
        Found {
            what: format!(
                "issue {number} of {} is in the history and not among the issues: it was taken out of the job file",
                at.format("%-d %b %Y %H:%M")
            ),
            doubt: "what that paper said: it can't be verified against this job any more, and somebody may hold it".into(),
            todo: "compare with an earlier copy of the job file, and put that one back where it has the issue. Its number is not given again".into(),
            decide: true,
            about: About::Unlisted,
            ..Found::default()
        }
    }

    /// An issue that should be in the history isn't.
    pub(super) fn unknown_issue(number: u32, at: DateTime<FixedOffset>) -> Found {
        Found {
            what: format!(
                "issue {number} of {} is among the issues and not in the history: the history was taken out of the job file, or the \
                 issue put in",
                at.format("%-d %b %Y %H:%M")
            ),
            doubt: "whether this program ever issued that paper, and from which readings".into(),
            todo: "compare with an earlier copy of the job file, and with the paper itself: `wanderlead verify` tells whether they \
                   belong together"
                .into(),
            decide: true,
            about: About::Unlisted,
            ..Found::default()
        }
    }

    /// An issue isn't as the history has it.
    pub(super) fn unlike_issue(number: u32, at: DateTime<FixedOffset>) -> Found {
        Found {
            what: format!(
                "issue {number} of {} isn't as the history has it: its content, its time or who issued it was changed in the job file",
                at.format("%-d %b %Y %H:%M")
            ),
            doubt: "which paper that issue is: somebody may hold another sheet with its number".into(),
            todo: "compare with an earlier copy of the job file, and put that one back where it has the issue as it was".into(),
            decide: true,
            about: About::Unlisted,
            ..Found::default()
        }
    }

    /// What is said where the history was taken out.
    pub(super) const NO_HISTORY: &str =
        "the job file has no history, though changes were saved in it: the history was taken out";

    /// The history was taken out of the job file.
    pub(super) fn no_history(kept: u64) -> Found {
        Found {
            what: format!("{} ({})", Found::NO_HISTORY, count(usize::try_from(kept).unwrap_or(usize::MAX), "change")),
            doubt: "who changed what and when, and whether every reading is as it was taken".into(),
            todo: "compare with an earlier copy of the job file, and put that one back where it has the history. Else look through the \
                   readings; the new history notes that the old one was gone"
                .into(),
            decide: true,
            about: About::NoHistory,
            ..Found::default()
        }
    }

    /// Readings that aren't as the history has them.
    pub(super) fn unlike(job: &Job, unlike: &[Unlike]) -> Found {
        let changes = unlike.iter().filter_map(|u| {
            let entry = job.entry(&u.place).map(|e| &e.now);
            // Where nothing stands there is nobody to name but who decides.
            let (by, at) = match entry {
                Some(now) => (now.by.clone(), now.at),
                None => (String::new(), job.history.iter().next_back()?.at),
            };
            Some(Listed {
                what: u.place.to_string(),
                value: format!("{};", u.values()),
                by,
                at,
            })
        });
        Found {
            what: Found::unlike_words(unlike.len()),
            changes: changes.collect(),
            doubt: "these readings: the name and the time beside them are the file's, and need not be of whoever wrote the value".into(),
            todo: "compare with an earlier copy of the job file, or take them again. Whoever goes on takes them as they stand, and \
                   the history notes each"
                .into(),
            decide: true,
            about: About::Unlike,
            ..Found::default()
        }
    }

    /// How many of them there are.
    pub(super) fn unlike_words(n: usize) -> String {
        format!(
            "{} as the history has {}: the file was changed outside of the program",
            match n {
                1 => "1 reading isn't".to_string(),
                n => format!("{n} readings aren't"),
            },
            if n == 1 { "it" } else { "them" }
        )
    }

    pub(super) fn is_unlike(&self) -> bool {
        self.about == About::Unlike
    }

    /// The history's chain is broken.
    pub(super) fn broken_chain(why: &str) -> Found {
        Found {
            what: format!("the chain of the history is broken: {why}"),
            doubt: "who changed what and when, around that entry; the readings themselves are read as they stand".into(),
            todo: "compare with an earlier copy of the job file. The break stays in the history, and is printed on the paper".into(),
            about: About::BrokenChain,
            ..Found::default()
        }
    }
}

/// A text with the name of a file in the place of its path: all of it is beside the job file.
fn brief(text: &str, path: &str) -> String {
    let name = Path::new(path).file_name().map(|n| n.to_string_lossy());
    match name {
        Some(name) => text.replace(path, &name),
        None => text.to_string(),
    }
}

/// What can be read of a line that is damaged or ends early, for somebody who has to enter it again.
fn legible(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    let field = |name: &str| {
        let rest = text.split_once(&format!("{name}:\""))?.1;
        let (value, _) = rest.split_once('"')?;
        let fit = value.chars().count() <= 80
            && !value.chars().any(|c| c.is_control() || c == '\u{fffd}');
        fit.then(|| value.to_string())
    };
    match (field("place"), field("typed")) {
        (Some(place), Some(typed)) => format!(". It seems to be {place} {typed}"),
        (Some(place), None) => format!(". It seems to be about {place}"),
        _ => String::new(),
    }
}
