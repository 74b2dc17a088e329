//! Days in the record against each other and against the readings. There is no clock: the last reading is the latest day known.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::rule::Outcome;
use super::{Finding, Judge, Rule, Verdict};
use crate::job::{Group, Job, Place, Readings, Seat, Test, Value};

/// First and last time at which something was read, struck out or not, and where.
#[derive(Debug, Default, Clone, PartialEq)]
pub(super) struct Days {
    first: Option<(DateTime<FixedOffset>, Place)>,
    last: Option<(DateTime<FixedOffset>, Place)>,
}

impl Days {
    /// Of everything whose places begin with that name, such as a board and its circuits.
    pub(super) fn of(job: &Job, top: &str) -> Days {
        let mut days = Days::default();
        for seat in job.seats_of(top) {
            days.take(seat.readings, |test| seat.place(test));
        }
        days
    }

    /// Of everything that is on no board.
    pub(super) fn of_the_rest(job: &Job) -> Days {
        let groups = [
            Group::Safe,
            Group::Inspect,
            Group::Supply,
            Group::Grid,
            Group::Close,
            Group::Sign,
            Group::Bond,
        ];
        let arrays = job.arrays.iter().map(|a| a.id.as_str());
        let storage = job.storage.iter().map(|s| s.id.as_str());
        let tops = groups.iter().map(|g| g.key()).chain(arrays).chain(storage);
        let each = tops.map(|top| Days::of(job, top));
        let mut days = each.fold(Days::default(), |all, of| all.with(&of));
        // Which labels are needed is a long question in a large job; those that were read are known.
        for (name, readings) in &job.labels {
            days.take(readings, |test| Place::part(Group::Label.key(), name, test));
        }
        days
    }

    /// Both together.
    #[must_use]
    pub(super) fn with(mut self, other: &Days) -> Days {
        if let Some((at, place)) = &other.first {
            self.earlier(*at, || place.clone());
        }
        if let Some((at, place)) = &other.last {
            self.later(*at, || place.clone());
        }
        self
    }

    fn take(&mut self, readings: &Readings, place: impl Fn(Test) -> Place) {
        for (test, entry) in readings.iter() {
            for reading in entry.struck.iter().chain([&entry.now]) {
                self.earlier(reading.at, || place(test));
                self.later(reading.at, || place(test));
            }
        }
    }

    fn earlier(&mut self, at: DateTime<FixedOffset>, place: impl FnOnce() -> Place) {
        if self.first.as_ref().is_none_or(|(known, _)| at < *known) {
            self.first = Some((at, place()));
        }
    }

    fn later(&mut self, at: DateTime<FixedOffset>, place: impl FnOnce() -> Place) {
        if self.last.as_ref().is_none_or(|(known, _)| at > *known) {
            self.last = Some((at, place()));
        }
    }
}

/// Whether the last confirmation before the work is put to use stands: that its sources were connected, or that it was energised.
fn runs(job: &Job) -> bool {
    let last = match job.has_sources() {
        true => Test::Connected,
        false => Test::Energise,
    };
    job.safe.value(last) == Some(Value::Pass)
}

/// Queried where days contradict each other, open where the next inspection is missing at the end; nothing to say else.
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
    let mut why: Vec<String> = Vec::new();
    if !said.is_empty() {
        why.push(format!("{}: put the wrong day right", said.join("; ")));
    }
    // Whoever signs recommends it; it is asked for once the work runs, and holds nothing up before that.
    let is_missing = job.next_inspection.is_none() && runs(job);
    if is_missing {
        why.push("no day is recorded before which the next inspection is due: certificate, label and handover all say it; put it into the record of the visit (F9)".into());
    }
    let (verdict, value) = match (is_missing, value) {
        (true, _) => (Verdict::Open, "no next inspection".to_string()),
        (false, Some(day)) => (Verdict::Query, day.to_string()),
        (false, None) => return None,
    };
    let rule = Rule::free(
        "the work begins, is read, is commissioned and is inspected again, in that order",
    );
    let outcome = Outcome::plain(verdict, why.join("; "));
    Some(judge.derived(seat, Test::Dates, value, &rule, outcome))
}
