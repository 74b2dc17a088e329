//! Days in the record against each other and against the readings. There is no clock: the last reading is the latest day known.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::{Job, Place, Seat, Test};

/// First and last time at which something was read, struck out or not, and where.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Days {
    first: Option<(DateTime<FixedOffset>, Place)>,
    last: Option<(DateTime<FixedOffset>, Place)>,
}

impl Days {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Days {
        let seats = job.seats();
        type At<'s, 'j> = (DateTime<FixedOffset>, &'s Seat<'j>, Test);
        let (mut first, mut last): (Option<At<'_, '_>>, Option<At<'_, '_>>) = (None, None);
        for seat in &seats {
            for (test, entry) in seat.readings.iter() {
                for at in entry.struck.iter().chain([&entry.now]).map(|r| r.at) {
                    if first.is_none_or(|(known, ..)| at < known) {
                        first = Some((at, seat, test));
                    }
                    if last.is_none_or(|(known, ..)| at > known) {
                        last = Some((at, seat, test));
                    }
                }
            }
        }
        let place = |(at, seat, test): At<'_, '_>| (at, seat.place(test));
        Days {
            first: first.map(place),
            last: last.map(place),
        }
    }
}

/// Queried where days contradict each other; nothing to say else.
pub(super) fn of(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<Finding> {
    let (job, days) = (judge.job, judge.days());
    let day = |known: &Option<(DateTime<FixedOffset>, Place)>| {
        known
            .as_ref()
            .map(|(at, place)| (at.date_naive(), place.clone()))
    };
    let (first, last) = (day(&days.first), day(&days.last));
    let mut said: Vec<String> = Vec::new();
    let mut value: Option<NaiveDate> = None;
    let mut say = |day: NaiveDate, what: String| {
        value.get_or_insert(day);
        said.push(what);
    };
    let began = job.started;
    if let Some((first, place)) = &first
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
        if let Some((last, place)) = &last
            && commissioned > *last
        {
            say(
                commissioned,
                format!(
                    "commissioned on {commissioned}, after the last reading ({place}, {last}): still to come, or the day is wrong"
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
        } else if let Some((last, place)) = &last
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
