//! What would become of each reading of a file on a job, and the one change that keeps those that are marked.

use std::collections::BTreeMap;

use chrono::{DateTime, FixedOffset};

use self::doubts::{doubts, twice};
use super::Read;
use super::rows::Taken;
use super::units::both_ends;
use crate::checks::{Judge, Verdict};
use crate::forms::Forms;
use crate::guide::{Plan, Verdicts};
use crate::job::vouch::safety_hangs_on;
use crate::job::{Brought, Change, Function, Job, Place, Reading};

mod doubts;

/// Most readings that are kept at once: a line of the journal stays one that can be written and read at once.
pub const MOST_AT_ONCE: usize = 10_000;

/// The job that readings come to, and who brings them in.
#[derive(Debug, Clone, Copy)]
pub struct On<'a> {
    /// The job as kept.
    pub job: &'a Job,
    /// Limits and order of work.
    pub forms: &'a Forms,
    /// The order of work of that job.
    pub plan: &'a Plan,
    /// Its verdicts.
    pub verdicts: &'a Verdicts,
    /// Id of who brings them in, and answers for them.
    pub by: &'a str,
    /// The time of that. It is the time of the readings too: everything that is judged by the order of the work goes by the clock
    /// of this program, as where they are typed.
    pub at: DateTime<FixedOffset>,
    /// Instruments chosen by function, for readings that don't name theirs.
    pub tools: &'a BTreeMap<Function, String>,
}

/// What becomes of a reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// Nothing stands at its place.
    New,
    /// The same stands there.
    Same,
    /// Another stands there, which it would strike out.
    Conflict(String),
    /// The file has another value for the place, in that line; with what stands there already, if anything.
    Twice(u64, Option<String>),
    /// The file has the same value for the place in that line.
    Repeated(u64),
    /// It isn't its turn: the place waits for that one.
    Waits(Place),
    /// It can't be kept: why.
    Never(String),
}

/// A reading of the file on the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// What the file says.
    pub taken: Taken,
    /// The reading that would be kept; `None` where none can be made of it.
    pub reading: Option<Reading>,
    /// What becomes of it.
    pub standing: Standing,
    /// What its own time contradicts, where the instrument wrote one.
    pub doubt: Option<String>,
    /// Whether it is to be kept.
    pub marked: bool,
    /// The verdict that it would have with everything that is marked, and why; `None` where it can't be kept.
    pub verdict: Option<(Verdict, String)>,
}

impl Row {
    /// Whether somebody may mark it.
    pub fn may_be_marked(&self) -> bool {
        self.reading.is_some()
            && matches!(
                self.standing,
                Standing::New | Standing::Conflict(_) | Standing::Twice(..)
            )
    }

    /// Whether it is kept without anybody saying so: nothing speaks against it.
    pub fn is_plain(&self) -> bool {
        self.standing == Standing::New && self.doubt.is_none() && self.reading.is_some()
    }

    /// The place, or what the file calls it.
    pub fn where_to(&self) -> String {
        match &self.taken.place {
            Some(place) => place.to_string(),
            None => self.taken.called.clone(),
        }
    }

    /// What becomes of it, in words.
    pub fn words(&self) -> String {
        let doubt = self.doubt.as_ref();
        let doubt = doubt.map_or(String::new(), |d| format!("; {d}"));
        let words = match &self.standing {
            Standing::New => "new".to_string(),
            Standing::Same => "there already".to_string(),
            Standing::Conflict(now) => format!("strikes out {now}"),
            Standing::Twice(line, None) => format!("another value in line {line}"),
            Standing::Twice(line, Some(now)) => {
                format!("another value in line {line}; strikes out {now}")
            }
            Standing::Repeated(line) => format!("the same in line {line}"),
            Standing::Waits(first) => format!("waits for {first}"),
            Standing::Never(why) => why.clone(),
        };
        format!("{words}{doubt}")
    }
}

/// The readings of a file on a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Preview {
    /// Name of the file.
    pub file: String,
    /// Headings that the mapping doesn't name: nothing of them is brought in.
    pub unused: Vec<String>,
    /// Whether who brings them in is no qualified person, so that they wait for a countersign once they are kept.
    pub to_countersign: bool,
    /// The readings, in the order of the file.
    pub rows: Vec<Row>,
}

impl Preview {
    /// Lays what a file says over a job. What nothing speaks against is marked.
    pub fn new(read: Read, on: &On<'_>) -> Preview {
        let mut preview = Preview::unweighed(read, on);
        preview.weigh(on);
        preview
    }

    /// As [`new`](Self::new), without a verdict yet: for who marks rows before [`weigh`](Self::weigh), which takes most of the
    /// time.
    pub fn unweighed(read: Read, on: &On<'_>) -> Preview {
        let places = read.taken.iter().filter_map(|t| t.place.as_ref());
        let mut waits = on.plan.each_waits_for(places, on.verdicts).into_iter();
        let mut rows: Vec<Row> = Vec::with_capacity(read.taken.len());
        for taken in read.taken {
            let first = taken.place.as_ref().and_then(|_| waits.next().flatten());
            rows.push(row(taken, first, &read.file, on));
        }
        twice(&mut rows);
        doubts(&mut rows, on);
        for row in &mut rows {
            row.marked = row.is_plain();
        }
        Preview {
            file: read.file,
            unused: read.unused,
            to_countersign: !on.job.is_qualified(on.by),
            rows,
        }
    }

    /// The same file on the job as it is now, with the marks that can stay. A mark that was given to a conflict is taken off where
    /// something else stands there now.
    #[must_use]
    pub fn again(&self, on: &On<'_>) -> Preview {
        let read = Read {
            file: self.file.clone(),
            unused: self.unused.clone(),
            taken: self.rows.iter().map(|r| r.taken.clone()).collect(),
        };
        let mut next = Preview::unweighed(read, on);
        for (row, before) in next.rows.iter_mut().zip(&self.rows) {
            let same = row.standing == before.standing && row.doubt == before.doubt;
            row.marked = row.may_be_marked() && if same { before.marked } else { row.is_plain() };
        }
        next.weigh(on);
        next
    }

    /// Judges every reading beside what is marked, cross-checks included.
    pub fn weigh(&mut self, on: &On<'_>) {
        let mut job = on.job.clone();
        if let Some(change) = self.change() {
            // What doesn't go together is judged by what stands, and is refused as a whole where it is kept.
            if job.apply(&change).is_err() {
                job = on.job.clone();
            }
        }
        let judge = Judge::new(&job, on.forms);
        for row in &mut self.rows {
            // What can't be kept would have none.
            if matches!(row.standing, Standing::Never(_)) {
                row.verdict = None;
                continue;
            }
            let finding = row.taken.place.as_ref().zip(row.reading.as_ref());
            let finding = finding.and_then(|(place, reading)| {
                let seat = job.seat(place)?;
                Some(judge.preview(&seat, place.test, reading))
            });
            row.verdict = finding.map(|f| (f.verdict, f.why));
        }
    }

    /// Marks a row, or takes its mark off. A mark takes that of another row of the same place off.
    ///
    /// # Errors
    /// Why it can't be marked.
    pub fn turn(&mut self, row: usize, on: &On<'_>) -> Result<(), String> {
        let chosen = self.rows.get(row).ok_or("there is no such row")?;
        if !chosen.may_be_marked() {
            return Err(format!("{}: {}", chosen.where_to(), chosen.words()));
        }
        let (marked, place) = (!chosen.marked, chosen.taken.place.clone());
        for (i, other) in self.rows.iter_mut().enumerate() {
            if i == row {
                other.marked = marked;
            } else if marked && other.taken.place == place {
                other.marked = false;
            }
        }
        self.weigh(on);
        Ok(())
    }

    /// Marks every row that nothing speaks against; where all of them are marked, takes every mark off.
    pub fn turn_all(&mut self, on: &On<'_>) {
        let mark = self.rows.iter().any(|r| r.is_plain() && !r.marked);
        for row in &mut self.rows {
            row.marked = if mark {
                row.marked || row.is_plain()
            } else {
                false
            };
        }
        self.weigh(on);
    }

    /// The name of the file for a line of a screen.
    pub fn file_in_short(&self) -> String {
        both_ends(&self.file, 40)
    }

    /// How many rows are marked.
    pub fn marked(&self) -> usize {
        self.rows.iter().filter(|r| r.marked).count()
    }

    /// Everything that is marked, as one change; `None` where nothing is.
    pub fn change(&self) -> Option<Change> {
        let marked = self.rows.iter().filter(|r| r.marked);
        let changes: Vec<Change> = marked
            .filter_map(|r| {
                Some(Change::Keep {
                    place: r.taken.place.clone()?,
                    reading: r.reading.clone()?,
                })
            })
            .collect();
        (!changes.is_empty()).then_some(Change::Together(changes))
    }

    /// Whether the mapping names no time: with one, what can be read has its time.
    fn has_no_times(&self) -> bool {
        let timeless = |r: &Row| r.taken.typed.is_ok() && r.taken.noted.is_none();
        self.rows.iter().any(timeless)
    }

    /// How many rows there are, in words: to be kept, there already, in conflict, and what can't be kept.
    pub fn counts(&self) -> String {
        let count = |of: &dyn Fn(&Row) -> bool| self.rows.iter().filter(|r| of(r)).count();
        let parts = [
            (count(&|r| r.marked), "marked"),
            (
                count(&|r| matches!(r.standing, Standing::Same | Standing::Repeated(_))),
                "there already",
            ),
            (
                count(&|r| matches!(r.standing, Standing::Conflict(_) | Standing::Twice(..))),
                "in conflict",
            ),
            (
                count(&|r| r.doubt.is_some() && r.may_be_marked()),
                "in doubt",
            ),
            (
                count(&|r| matches!(r.standing, Standing::Waits(_))),
                "waiting",
            ),
            (
                count(&|r| matches!(r.standing, Standing::Never(_))),
                "can't be kept",
            ),
        ];
        let parts: Vec<String> = parts
            .iter()
            .filter(|(n, word)| *n > 0 || *word == "marked")
            .map(|(n, word)| format!("{n} {word}"))
            .collect();
        let countersign = match self.to_countersign {
            true => "; what is kept waits for a countersign",
            false => "",
        };
        let times = match self.has_no_times() {
            true => "; the file has no times: nothing tells when these were taken",
            false => "",
        };
        format!(
            "{} in the file: {}{times}{countersign}",
            self.rows.len(),
            parts.join(", ")
        )
    }
}

/// A reading of the file by itself.
fn row(taken: Taken, waits: Option<Place>, file: &str, on: &On<'_>) -> Row {
    let mut row = Row {
        reading: None,
        standing: Standing::New,
        doubt: None,
        marked: false,
        verdict: None,
        taken,
    };
    let (place, typed) = match (&row.taken.place, &row.taken.typed) {
        (Some(place), Ok(typed)) => (place.clone(), typed.clone()),
        (_, Err(why)) => {
            row.standing = Standing::Never(why.clone());
            return row;
        }
        (None, Ok(_)) => {
            row.standing = Standing::Never("nothing says where it belongs".into());
            return row;
        }
    };
    let test = place.test;
    let usual = || {
        let chosen = Function::of(test).and_then(|f| on.tools.get(&f).cloned());
        chosen.or_else(|| on.job.usual_instrument(test).map(|i| i.id.clone()))
    };
    let reading = Reading {
        typed,
        unit: test.unit(),
        by: on.by.to_string(),
        at: on.at,
        instrument: row.taken.instrument.clone().or_else(usual),
        countersigned: None,
        around: None,
        brought: Some(Brought {
            file: file.to_string(),
            line: row.taken.line,
            cell: row.taken.cell.clone(),
            noted: row.taken.noted,
            result: row.taken.result.clone(),
        }),
    };
    row.standing = standing(&place, &reading, waits, on);
    row.reading = Some(reading);
    row
}

fn standing(place: &Place, reading: &Reading, waits: Option<Place>, on: &On<'_>) -> Standing {
    if safety_hangs_on(place) || !super::comes_from_an_instrument(place.test) {
        return Standing::Never(
            "safety hangs on this one: somebody enters it on the screen".into(),
        );
    }
    // What can't be kept at all is no conflict, and what stands there isn't struck out by it.
    let value = match on.job.may_enter(place, reading) {
        Ok(value) => value,
        Err(why) => return Standing::Never(why.to_string()),
    };
    if let Some(entry) = on.job.entry(place)
        && entry.now.value(place.test).as_ref() == Ok(&value)
    {
        return Standing::Same;
    }
    if let Some(first) = waits {
        return Standing::Waits(first);
    }
    match on.job.entry(place) {
        Some(entry) => Standing::Conflict(place.test.unit().with_typed(&entry.now.typed)),
        None => Standing::New,
    }
}
