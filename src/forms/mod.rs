//! The editable limits, order of work and wording, each limit with unit, edition, source and mark.
//!
//! The defaults are embedded from the folder `forms/`; a person's own folder can replace them file by file, or entry by
//! entry.

mod handover;
mod labels;
mod learn;
mod limit;
mod own;
mod read;
mod steps;

pub use handover::{Handover, Say};
pub use labels::{LabelText, Labels};
pub use learn::{LONGEST_NAME, LONGEST_PART, Learn, Page};
pub use limit::{Limit, Mark, Source, short};
pub use own::{EXAMPLES, OwnLimit};
pub use steps::{Reasons, Round, Stage, StepText, Walk};

use std::collections::BTreeMap;
use std::sync::{Arc, OnceLock};

use rust_decimal::Decimal;

use crate::job::digest::digest;
use crate::job::text::{Sort, TextError, nearest, parse, parse_as};
use handover::{HANDOVER, HandoverFile};
use learn::LEARN;
use limit::LimitFile;
use read::Read;

/// Name and text of every default file, in the order they are listed.
pub const DEFAULTS: [(&str, &str); 15] = [
    ("devices.ron", include_str!("../../forms/devices.ron")),
    ("conductors.ron", include_str!("../../forms/conductors.ron")),
    ("capacity.ron", include_str!("../../forms/capacity.ron")),
    ("insulation.ron", include_str!("../../forms/insulation.ron")),
    ("rcd.ron", include_str!("../../forms/rcd.ron")),
    ("pv.ron", include_str!("../../forms/pv.ron")),
    ("storage.ron", include_str!("../../forms/storage.ron")),
    ("supply.ron", include_str!("../../forms/supply.ron")),
    ("protection.ron", include_str!("../../forms/protection.ron")),
    ("cross.ron", include_str!("../../forms/cross.ron")),
    ("steps.ron", include_str!("../../forms/steps.ron")),
    ("labels.ron", include_str!("../../forms/labels.ron")),
    (HANDOVER, handover::SHIPPED),
    ("reasons.ron", include_str!("../../forms/reasons.ron")),
    (LEARN, learn::SHIPPED),
];

/// One loaded file, for lists.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileInfo {
    /// File name.
    pub name: String,
    /// Title inside it.
    pub title: String,
    /// Whether a person's folder replaced the default.
    pub replaced: bool,
    /// Ids of its limits; empty for wording.
    pub ids: Vec<String>,
}

/// Every limit and all wording that a job is judged and guided by.
#[derive(Debug, Clone)]
pub struct Forms {
    limits: BTreeMap<String, Arc<Limit>>,
    walk: Walk,
    reasons: Reasons,
    /// The shipped pages are read when the first is looked at: no reading is judged by them.
    learn: OnceLock<Learn>,
    labels: Labels,
    /// As shipped it is read when the first is printed.
    handover: OnceLock<Handover>,
    files: Vec<FileInfo>,
    own: Vec<OwnLimit>,
    /// A person's own files, name and text.
    own_texts: Vec<(String, String)>,
    /// Worked out when it is asked for: only paper has it.
    digest: OnceLock<String>,
}

/// A limit that the files should have and don't.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingLimit(pub String);

impl std::fmt::Display for MissingLimit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "the limit files have no entry `{}`: add it, or remove the file that replaced the default",
            self.0
        )
    }
}

impl std::error::Error for MissingLimit {}

impl Forms {
    /// The defaults.
    ///
    /// # Errors
    /// None as shipped: a test loads them.
    pub fn embedded() -> Result<Forms, TextError> {
        Forms::from_texts(&[])
    }

    /// The defaults, with the given files (name and text) in place of those of the same name, and the entries of
    /// `own-limits.ron` and `own-steps.ron` in place of both.
    ///
    /// # Errors
    /// The first thing that is wrong in a file, with its place and a remedy; also a file whose name is unknown.
    pub fn from_texts(own: &[(String, String)]) -> Result<Forms, TextError> {
        let known = DEFAULTS.iter().chain(&EXAMPLES).map(|(n, _)| *n);
        for (name, _) in own {
            if !known.clone().any(|d| d == name) {
                let known: Vec<&str> = known.collect();
                return Err(TextError {
                    file: name.clone(),
                    line: 0,
                    column: 0,
                    field: String::new(),
                    what: "no form file has this name".into(),
                    remedy: format!("use one of: {}", known.join(", ")),
                });
            }
        }
        let text_of = |name: &str| {
            let mut named = own.iter().filter(|(n, _)| n == name);
            named.next().map(|(_, text)| text.as_str())
        };
        let mut limits: BTreeMap<String, Limit> = BTreeMap::new();
        let mut walk = Walk::default();
        let mut reasons = Reasons::default();
        let learn = OnceLock::new();
        let mut labels = Labels::default();
        let mut handover = OnceLock::new();
        let mut files = Vec::new();
        let mut changes = Vec::new();
        let files_read = read::all(&text_of)?;
        let none = BTreeMap::new();
        let shipped = if own.is_empty() { &none } else { shipped()? };
        for ((name, default), file) in DEFAULTS.into_iter().zip(files_read) {
            let replacement = text_of(name);
            let text = replacement.unwrap_or(default);
            let mut info = FileInfo {
                name: name.to_string(),
                title: String::new(),
                replaced: replacement.is_some(),
                ids: Vec::new(),
            };
            match file {
                Read::Walk(read) => {
                    walk = read;
                    walk.check(name, text)?;
                    info.title.clone_from(&walk.title);
                }
                Read::Labels(file) => {
                    labels = file.labels(name, text)?;
                    info.title = file.title;
                }
                Read::Handover(file) => {
                    handover = OnceLock::from(file.texts(name, text)?);
                    info.title = file.title;
                }
                Read::Reasons(read) => {
                    reasons = read;
                    if let Some(lost) = reasons.misnamed() {
                        let what = "`fits` names a reason that no list has".to_string();
                        // A reason without a word can't be looked for; the field can.
                        let near = if lost.is_empty() { "fits" } else { lost };
                        return Err(TextError {
                            remedy: "write it as in the list, or take the line out".into(),
                            ..place_of(name, text, near, what)
                        });
                    }
                    info.title.clone_from(&reasons.title);
                }
                Read::Later => info.title = learn::title_of(text).to_string(),
                Read::Learn(pages) => {
                    // The order of work stands above it in the list, so it is known by now.
                    pages.check(name, text, &walk)?;
                    info.title.clone_from(&pages.title);
                    let _ = learn.set(pages);
                }
                Read::Limits(file) => {
                    info.title.clone_from(&file.title);
                    let all = file.limits(name, text)?;
                    let rows = all.iter().filter(|l| shipped.contains_key(&l.id));
                    let now: BTreeMap<String, Limit> = match info.replaced {
                        true => rows.map(|l| (l.id.clone(), l.clone())).collect(),
                        false => BTreeMap::new(),
                    };
                    for limit in all {
                        let id = limit.id.clone();
                        let fault = |(what, remedy): (String, String)| TextError {
                            remedy,
                            ..place_of(name, text, &id, what)
                        };
                        if info.replaced && !shipped.contains_key(&id) {
                            own::fits_a_table(&limit, shipped, &now).map_err(fault)?;
                        }
                        info.ids.push(id.clone());
                        if limits.insert(id.clone(), limit).is_some() {
                            let what = "this limit is given in two files".to_string();
                            // The user's is the one to be put right.
                            let (name, text) = changes
                                .iter()
                                .find(|(of, _)| !info.replaced && *of == id)
                                .map_or((name, text), |(_, file)| {
                                    (*file, text_of(file).unwrap_or_default())
                                });
                            return Err(TextError {
                                remedy: "keep it in one".into(),
                                ..place_of(name, text, &id, what)
                            });
                        }
                    }
                    if info.replaced {
                        changes.extend(info.ids.iter().map(|id| (id.clone(), name)));
                    }
                }
            }
            files.push(info);
        }
        complete(&limits, shipped, &changes, &text_of)?;
        if let Some(text) = text_of(own::LIMITS) {
            let ids = put_own(&mut limits, shipped, text)?;
            changes.extend(ids.into_iter().map(|id| (id, own::LIMITS)));
        }
        if let Some(text) = text_of(own::STEPS) {
            own::reword(&mut walk, own::STEPS, text)?;
        }
        if let Some((id, lacks)) = own::half_a_profile(limits.keys(), shipped) {
            let from = changes.iter().rev().find(|(of, _)| *of == id);
            let (file, text) = from.map_or(("", ""), |(_, f)| (*f, text_of(f).unwrap_or("")));
            let what = "a profile needs every stage, with its edge and its time".to_string();
            return Err(TextError {
                remedy: format!("add `{lacks}`"),
                ..place_of(file, text, &id, what)
            });
        }
        let own_texts = own.to_vec();
        let own = note_changes(&mut limits, shipped, &changes);
        Ok(Forms {
            limits: limits
                .into_iter()
                .map(|(id, l)| (id, Arc::new(l)))
                .collect(),
            walk,
            reasons,
            learn,
            labels,
            handover,
            files,
            own,
            own_texts,
            digest: OnceLock::new(),
        })
    }

    /// The limit with that id.
    ///
    /// # Errors
    /// [`MissingLimit`] where no file has it.
    pub fn limit(&self, id: &str) -> Result<&Arc<Limit>, MissingLimit> {
        self.limits
            .get(id)
            .ok_or_else(|| MissingLimit(id.to_string()))
    }

    /// How many limits, factors and table values nobody compared with the edition in force, and how many there are.
    pub fn unchecked(&self) -> (usize, usize) {
        let unchecked = self
            .limits
            .values()
            .filter(|l| !l.source.checked_against_current);
        (unchecked.count(), self.limits.len())
    }

    /// Every limit whose id starts with `prefix`, in order of id.
    pub fn limits_under<'a>(&'a self, prefix: &'a str) -> impl Iterator<Item = &'a Limit> {
        self.limits
            .range(prefix.to_string()..)
            .map(|(_, l)| l.as_ref())
            .take_while(move |l| l.id.starts_with(prefix))
    }

    /// Order of work and wording of the steps.
    pub fn walk(&self) -> &Walk {
        &self.walk
    }

    /// Reasons offered for limitations and not-applicable.
    pub fn reasons(&self) -> &Reasons {
        &self.reasons
    }

    /// Digest of all form files together: the same texts give the same.
    pub fn digest(&self) -> &str {
        self.digest.get_or_init(|| digest_of(&self.own_texts))
    }

    /// Learn pages.
    pub fn learn(&self) -> &Learn {
        // A test reads the shipped file and checks it.
        let shipped = || parse(LEARN, learn::SHIPPED).unwrap_or_default();
        self.learn.get_or_init(shipped)
    }

    /// Wording of labels and notices.
    pub fn labels(&self) -> &Labels {
        &self.labels
    }

    /// Wording of what the customer keeps.
    pub fn handover(&self) -> &Handover {
        // As with the learn pages.
        self.handover.get_or_init(|| {
            parse::<HandoverFile>(HANDOVER, handover::SHIPPED)
                .and_then(|file| file.texts(HANDOVER, handover::SHIPPED))
                .unwrap_or_default()
        })
    }

    /// Limits whose value isn't the shipped one, in order of id.
    pub fn own(&self) -> &[OwnLimit] {
        &self.own
    }

    /// Every limit, in order of id.
    pub fn limits(&self) -> impl Iterator<Item = &Arc<Limit>> {
        self.limits.values()
    }

    /// Up to three ids that are most like one that isn't there, in backticks; empty where none is.
    pub fn nearest(&self, id: &str) -> String {
        let ids: Vec<&str> = self.limits.keys().map(String::as_str).collect();
        nearest(id, &ids)
    }

    /// The files these forms came from.
    pub fn files(&self) -> &[FileInfo] {
        &self.files
    }

    /// Ids under `prefix` with the rest of the id read as a number: the sizes or ratings of a table.
    pub fn sizes(&self, prefix: &str) -> Vec<Decimal> {
        let mut out: Vec<Decimal> = self
            .limits_under(prefix)
            .filter_map(|l| l.id.strip_prefix(prefix)?.parse().ok())
            .collect();
        out.sort();
        out
    }
}

/// Refuses a folder that lost an entry which the defaults have: a check would silently not be made.
///
/// `from`: ids of the user's files; `text_of`: their texts.
fn complete<'a>(
    limits: &BTreeMap<String, Limit>,
    shipped: &BTreeMap<String, Limit>,
    from: &[(String, &str)],
    text_of: &dyn Fn(&str) -> Option<&'a str>,
) -> Result<(), TextError> {
    for (id, entry) in shipped {
        let Some(own) = limits.get(id) else {
            // What isn't there has no line.
            return Err(TextError {
                file: file_of(id).to_string(),
                line: 0,
                column: 0,
                field: id.clone(),
                what: "this limit is missing".into(),
                remedy: "copy it from the default file: its check could not be made".into(),
            });
        };
        own::unit_is(own, entry.unit).map_err(|(what, remedy)| {
            let given = from.iter().rev().find(|(of, _)| of == id);
            let file = given.map_or(file_of(id), |(_, file)| file);
            TextError {
                remedy,
                ..place_of(file, text_of(file).unwrap_or_default(), id, what)
            }
        })?;
    }
    Ok(())
}

/// Puts the entries of the file of own limits in place of what is there; returns their ids.
fn put_own(
    limits: &mut BTreeMap<String, Limit>,
    shipped: &BTreeMap<String, Limit>,
    text: &str,
) -> Result<Vec<String>, TextError> {
    let name = own::LIMITS;
    let file: LimitFile = parse_as(Sort::Form, name, text)?;
    let mut ids = Vec::new();
    let fault = |id: &str, (what, remedy): own::Fault| TextError {
        remedy,
        ..place_of(name, text, id, what)
    };
    let (known, new): (Vec<Limit>, Vec<Limit>) = file
        .limits(name, text)?
        .into_iter()
        .partition(|l| shipped.contains_key(&l.id));
    for limit in known {
        if let Some(entry) = shipped.get(&limit.id) {
            own::may_replace(&limit, entry).map_err(|f| fault(&limit.id, f))?;
        }
        ids.push(limit.id.clone());
        limits.insert(limit.id.clone(), limit);
    }
    // New rows beside the others as they count now.
    let now = match new.is_empty() {
        true => BTreeMap::new(),
        false => limits.clone(),
    };
    for limit in new {
        own::fits_a_table(&limit, shipped, &now).map_err(|f| fault(&limit.id, f))?;
        ids.push(limit.id.clone());
        limits.insert(limit.id.clone(), limit);
    }
    Ok(ids)
}

fn place_of(file: &str, text: &str, id: &str, what: String) -> TextError {
    let (line, column) = own::line_of_id(text, id);
    TextError {
        file: file.to_string(),
        line,
        column,
        field: id.to_string(),
        what,
        remedy: String::new(),
    }
}

/// The default file that has an entry.
fn file_of(id: &str) -> &'static str {
    let quoted = format!("\"{id}\"");
    let mut files = DEFAULTS.iter();
    files
        .find(|(_, text)| text.contains(&quoted))
        .map_or("", |(name, _)| *name)
}

/// Digest of the shipped files and a person's own.
fn digest_of(own: &[(String, String)]) -> String {
    let shipped = DEFAULTS.iter().map(|(name, text)| (*name, *text));
    let own = own
        .iter()
        .map(|(name, text)| (name.as_str(), text.as_str()));
    // Lengths keep one file's end apart from the next one's beginning.
    let files: Vec<String> = shipped
        .chain(own)
        .map(|(name, text)| format!("{name} {}\n{text}", text.len()))
        .collect();
    digest(&files.iter().map(|f| f.as_bytes()).collect::<Vec<_>>())
}

/// Limits of the defaults.
fn shipped() -> Result<&'static BTreeMap<String, Limit>, TextError> {
    static SHIPPED: OnceLock<BTreeMap<String, Limit>> = OnceLock::new();
    if let Some(shipped) = SHIPPED.get() {
        return Ok(shipped);
    }
    let mut out = BTreeMap::new();
    for (name, text) in DEFAULTS {
        if !read::is_limits(name) {
            continue;
        }
        let default: LimitFile = parse_as(Sort::Form, name, text)?;
        out.extend(
            default
                .limits(name, text)?
                .into_iter()
                .map(|l| (l.id.clone(), l)),
        );
    }
    Ok(SHIPPED.get_or_init(|| out))
}

/// Says of every limit whose value isn't the shipped one that the user changed or added it, wherever its source is shown.
/// `from`: ids of the user's files, the one that counts last.
fn note_changes(
    limits: &mut BTreeMap<String, Limit>,
    shipped: &BTreeMap<String, Limit>,
    from: &[(String, &str)],
) -> Vec<OwnLimit> {
    let from: BTreeMap<&str, &str> = from.iter().map(|(id, f)| (id.as_str(), *f)).collect();
    let mut out = Vec::new();
    for (id, file) in from {
        let Some(own) = limits.get_mut(id) else {
            continue;
        };
        let before = shipped.get(id).map(|entry| entry.value);
        let note = match before {
            Some(value) if value == own.value => continue,
            Some(value) => format!("changed by the user, shipped {}", own.unit.with(value)),
            None => "added by the user".to_string(),
        };
        own.source.text = format!("{note}; {}", own.source.text);
        out.push(OwnLimit {
            id: id.to_string(),
            shipped: before,
            file: file.to_string(),
        });
    }
    out
}
