//! Days in the record against each other and against the readings. There is no clock: the last reading is the latest day known.

use chrono::NaiveDate;

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::{Job, Place, Seat, Test};

/// First and last day on which something was read, struck out or not, and where.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Days {
    first: Option<(NaiveDate, Place)>,
    last: Option<(NaiveDate, Place)>,
}

impl Days {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Days {
        let mut out = Days::default();
        for seat in job.seats() {
            for (test, entry) in seat.readings.iter() {
                let days = entry.struck.iter().chain([&entry.now]);
                let days = days.map(|r| r.at.date_naive());
                for day in days {
                    if out.first.as_ref().is_none_or(|(first, _)| day < *first) {
                        out.first = Some((day, seat.place(test)));
                    }
                    if out.last.as_ref().is_none_or(|(last, _)| day > *last) {
                        out.last = Some((day, seat.place(test)));
                    }
                }
            }
        }
        out
    }
}

/// Queried where days contradict each other; nothing to say else.
pub(super) fn of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let (job, days) = (judge.job, judge.days());
    let mut said: Vec<String> = Vec::new();
    let mut value: Option<NaiveDate> = None;
    let mut say = |day: NaiveDate, what: String| {
        value.get_or_insert(day);
        said.push(what);
    };
    let began = job.started;
    if let Some((first, place)) = &days.first
        && began > *first
    {
        say(
            began,
            format!("the work began on {began}, and {place} was read on {first}"),
        );
    }
    if let Some(commissioned) = job.grid.commissioned {
        if commissioned < began {
            say(
                commissioned,
                format!("commissioned on {commissioned}, before the work began on {began}"),
            );
        }
        if let Some((last, place)) = &days.last
            && commissioned > *last
        {
            say(
                commissioned,
                format!(
                    "commissioned on {commissioned}, after the last reading ({place}, {last}): still to come, or a reading of that day is missing"
                ),
            );
        }
    }
    if let Some(next) = job.next_inspection {
        if next <= began {
            say(
                next,
                format!("next inspection by {next}, which isn't after the work began on {began}"),
            );
        } else if let Some((last, place)) = &days.last
            && next <= *last
        {
            say(
                next,
                format!("next inspection by {next}, and {place} was read on {last}"),
            );
        }
    }
    let value = value?.to_string();
    let rule = Rule::free(
        "the work begins, is read, is commissioned and is inspected again, in that order",
    );
    let why = format!("{}: put the wrong day right", said.join("; "));
    let outcome = Outcome::plain(Verdict::Query, why);
    Some(judge.derived(seat, Test::Dates, value, &rule, outcome))
}
