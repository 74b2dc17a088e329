//! Edits of a job: a reading, or any field by its path.

use chrono::{DateTime, Duration, FixedOffset};
use serde::Deserialize;
use serde_json::Value;
use wanderlead::job::{Change, Entry, Job, Place, Reading};

use super::notation;

/// One edit; the format is explained at the top of `tests/gallery/bases.ron`.
#[derive(Debug, Clone, Deserialize)]
pub(crate) enum Edit {
    Read(String, String),
    ReadAt(String, String, String),
    ReadWith(String, String, String),
    ReadAll {
        from: String,
        by: String,
        list: Vec<(String, String)>,
    },
    Untake(String),
    Set(String, String),
    Add(String, String),
    Drop(String),
}

/// Why an edit can't be made.
#[derive(Debug)]
pub(crate) enum Stop {
    /// The edit itself is wrong: no such place or path.
    Wrong(String),
    /// The program doesn't take it.
    Refused(String),
}

impl Edit {
    pub(crate) fn make(&self, job: &mut Job) -> Result<(), Stop> {
        match self {
            Edit::Read(place, typed) => take(job, place, typed, |_| {}),
            Edit::ReadAt(place, typed, at) => {
                let at = time(at)?;
                take(job, place, typed, |r| r.at = at)
            }
            Edit::ReadWith(place, typed, tool) => take(job, place, typed, |r| {
                r.instrument = (!tool.is_empty()).then(|| tool.clone());
            }),
            Edit::ReadAll { from, by, list } => {
                let mut at = time(from)?;
                for (place, typed) in list {
                    take(job, place, typed, |r| {
                        r.at = at;
                        r.by.clone_from(by);
                    })?;
                    at += Duration::minutes(1);
                }
                Ok(())
            }
            Edit::Untake(place) => {
                let place = parsed(place)?;
                if job.entry(&place).is_none() {
                    return Err(Stop::Wrong(format!("nothing is recorded at {place}")));
                }
                put(job, place, None)
            }
            Edit::Set(path, text) => field(job, path, Some(text), false),
            Edit::Add(path, text) => field(job, path, Some(text), true),
            Edit::Drop(path) => field(job, path, None, false),
        }
    }
}

fn time(text: &str) -> Result<DateTime<FixedOffset>, Stop> {
    DateTime::parse_from_rfc3339(text).map_err(|e| Stop::Wrong(format!("`{text}`: {e}")))
}

fn parsed(place: &str) -> Result<Place, Stop> {
    place.parse().map_err(Stop::Wrong)
}

fn put(job: &mut Job, place: Place, entry: Option<Entry>) -> Result<(), Stop> {
    let by = job.people[0].id.clone();
    job.apply(&Change::Put {
        place,
        entry,
        by,
        at: None,
    })
    .map(drop)
    .map_err(|e| Stop::Refused(e.to_string()))
}

/// In place of what stands there, with its time, person and instrument; a new one with the usual ones, when the supply was
/// isolated from the inverters, or else on the first day.
fn take(
    job: &mut Job,
    place: &str,
    typed: &str,
    change: impl Fn(&mut Reading),
) -> Result<(), Stop> {
    let place = parsed(place)?;
    if job.seat(&place).is_none() {
        return Err(Stop::Wrong(format!("there is no {}", place.owner())));
    }
    let mut now = match job.entry(&place) {
        Some(entry) => entry.now.clone(),
        None => Reading {
            typed: String::new(),
            unit: place.test.unit(),
            by: job.usual_person().map_or(String::new(), |p| p.id.clone()),
            at: job
                .safe
                .iter()
                .map(|(_, e)| e.now.at)
                .max()
                .unwrap_or_else(|| job.started.and_hms_opt(12, 0, 0).unwrap().and_utc().into()),
            instrument: None,
            countersigned: None,
            around: None,
            brought: None,
        },
    };
    // A reading typed again is countersigned again.
    now.countersigned = None;
    typed.clone_into(&mut now.typed);
    if now.instrument.is_none() && !typed.contains(':') {
        now.instrument = job.usual_instrument(place.test).map(|i| i.id.clone());
    }
    change(&mut now);
    // A confirmation given again stays in the record beside the first; a reading at another time is the same one, only then.
    let struck = match job.entry(&place) {
        Some(before) if place.top == "safe" && before.now.at != now.at => {
            [&before.struck[..], std::slice::from_ref(&before.now)].concat()
        }
        _ => Vec::new(),
    };
    put(job, place, Some(Entry { now, struck }))
}

fn field(job: &mut Job, path: &str, text: Option<&str>, add: bool) -> Result<(), Stop> {
    let wrong = |e: String| Stop::Wrong(format!("`{path}`: {e}"));
    let tree = serde_json::to_value(&*job).map_err(|e| wrong(e.to_string()))?;
    // A number may be meant as a text, such as the id of a circuit.
    let meant = match text {
        None => vec![None],
        Some(text) => vec![
            Some(notation::read(text).map_err(wrong)?),
            Some(Value::String(text.to_string())),
        ],
    };
    let mut first = None;
    for value in meant {
        let mut tree = tree.clone();
        change(&mut tree, path, value, add).map_err(wrong)?;
        match serde_json::from_value(tree) {
            Ok(changed) => {
                *job = changed;
                return Ok(());
            }
            Err(e) => first = first.or(Some(e.to_string())),
        }
    }
    Err(Stop::Refused(format!(
        "`{path}`: {}",
        first.unwrap_or_default()
    )))
}

/// Puts a value at a path, appends it to the list there, or takes what is there away.
fn change(tree: &mut Value, path: &str, value: Option<Value>, add: bool) -> Result<(), String> {
    let steps = steps(path)?;
    let (last, before) = steps.split_last().ok_or("no path")?;
    let mut at = tree;
    for step in before {
        at = child(at, step)?;
    }
    match value {
        Some(value) if add => {
            if let (Value::Object(fields), Step::Field(name)) = (&mut *at, last) {
                fields
                    .entry(name.as_str())
                    .or_insert_with(|| Value::Array(Vec::new()));
            }
            let list = child(at, last)?.as_array_mut().ok_or("no list")?;
            list.push(value);
        }
        Some(value) => match (&mut *at, last) {
            (Value::Object(fields), Step::Field(name)) => {
                fields.insert(name.clone(), value);
            }
            _ => *child(at, last)? = value,
        },
        None => match (&mut *at, last) {
            (Value::Object(fields), Step::Field(name)) => {
                fields.remove(name).ok_or_else(|| format!("no `{name}`"))?;
            }
            (Value::Array(list), Step::Item(id)) => {
                let i = index(list, id)?;
                list.remove(i);
            }
            _ => return Err("can't be taken away".into()),
        },
    }
    Ok(())
}

enum Step {
    Field(String),
    Item(String),
}

fn steps(path: &str) -> Result<Vec<Step>, String> {
    let mut out = Vec::new();
    for part in path.split('.') {
        let (name, items) = part.split_once('[').unwrap_or((part, ""));
        out.push(Step::Field(name.to_string()));
        for item in items.split('[').filter(|i| !i.is_empty()) {
            let id = item.strip_suffix(']').ok_or("`]` is missing")?;
            out.push(Step::Item(id.to_string()));
        }
    }
    Ok(out)
}

fn child<'a>(at: &'a mut Value, step: &Step) -> Result<&'a mut Value, String> {
    match (at, step) {
        (Value::Object(fields), Step::Field(name)) => {
            fields.get_mut(name).ok_or_else(|| format!("no `{name}`"))
        }
        (Value::Array(list), Step::Item(id)) => {
            let i = index(list, id)?;
            Ok(&mut list[i])
        }
        (_, Step::Field(name)) => Err(format!("`{name}` has nothing above it")),
        (_, Step::Item(id)) => Err(format!("[{id}] of something that is no list")),
    }
}

/// By `id` where the items have one, else by number from 0.
fn index(list: &[Value], id: &str) -> Result<usize, String> {
    list.iter()
        .position(|v| v["id"] == id)
        .or_else(|| {
            id.parse::<usize>()
                .ok()
                .filter(|i| *i < list.len() && list[*i]["id"].is_null())
        })
        .ok_or_else(|| format!("no [{id}]"))
}
