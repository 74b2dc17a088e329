//! Loop, fault current and RCD readings are worth nothing while an inverter runs.

use chrono::{DateTime, FixedOffset, NaiveDate};

use super::order::first_open;
use super::{Doubt, Judge};
use crate::job::{Earthing, Function, Group, Job, Owner, Place, Reading, Seat, Test, Value};

/// When inverters were seen to run, and when they were confirmed to be isolated.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Running {
    /// Readings that can only be taken while inverters run, and the confirmation that they may; by time.
    ran: Vec<(DateTime<FixedOffset>, Place)>,
    /// Confirmations that they are isolated, also those replaced since.
    isolated: Vec<DateTime<FixedOffset>>,
    /// First day on which they were seen to run in parallel with the grid, and where.
    parallel: Option<(NaiveDate, Place)>,
}

impl Running {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Running {
        let mut out = Running::default();
        for seat in job.seats() {
            for (test, entry) in seat.readings.among(SHOW_RUNNING) {
                let seen = |reading: &Reading| {
                    reading.value(test).is_ok_and(|v| match v {
                        Value::Number(n) => !n.is_zero(),
                        other => !other.is_excused(),
                    })
                };
                if seen(&entry.now) {
                    out.ran.push((entry.now.at, seat.place(test)));
                }
                // A reading that was corrected since was taken all the same.
                let first = entry.struck.iter().chain([&entry.now]).filter(|r| seen(r));
                let day = first.map(|r| r.at.date_naive()).min();
                if let Some(day) = day.filter(|_| shows_parallel(test))
                    && out.parallel.as_ref().is_none_or(|(first, _)| day < *first)
                {
                    out.parallel = Some((day, seat.place(test)));
                }
            }
        }
        out.ran.sort_by_key(|(at, _)| *at);
        if let Some(entry) = job.safe.get(Test::InvertersOff) {
            out.isolated = entry
                .struck
                .iter()
                .chain([&entry.now])
                .filter(|r| r.value(Test::InvertersOff) == Ok(Value::Pass))
                .map(|r| r.at)
                .collect();
        }
        out
    }

    /// The latest sign of running before `at` that no confirmation came after.
    fn before(&self, at: DateTime<FixedOffset>) -> Option<&Place> {
        let earlier = self.ran.partition_point(|(ran, _)| *ran < at);
        let (ran_at, place) = self.ran.get(earlier.checked_sub(1)?)?;
        let isolated = self.isolated.iter().any(|off| off > ran_at && *off <= at);
        (!isolated).then_some(place)
    }

    /// First day on which they were seen to run in parallel with the grid, and where.
    pub(super) fn first_parallel(&self) -> Option<&(NaiveDate, Place)> {
        self.parallel.as_ref()
    }

    /// Whether they were confirmed to be isolated only after `at`. Where they never were, that confirmation is open itself.
    fn confirmed_later(&self, at: DateTime<FixedOffset>) -> bool {
        self.isolated.iter().min().is_some_and(|off| *off > at)
    }

    /// The latest confirmation that they are isolated after `at`.
    fn isolated_after(&self, at: DateTime<FixedOffset>) -> Option<DateTime<FixedOffset>> {
        self.isolated.iter().copied().filter(|off| *off > at).max()
    }

    /// The latest sign of running after `at`.
    pub(super) fn after(&self, at: DateTime<FixedOffset>) -> Option<&Place> {
        let last = self.ran.last();
        last.filter(|(ran, _)| *ran > at).map(|(_, place)| place)
    }
}

/// A reading that an inverter could have spoilt.
pub(super) fn spoilt(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    reading: &Reading,
) -> Option<Doubt> {
    if !needs_isolation(judge.job, seat, test) || !by_loop(judge.job, test, reading) {
        return None;
    }
    // The supply is tested with the main switch off, which isolates them.
    let behind_main_switch = matches!(seat.owner, Owner::Board(_) | Owner::Circuit(..));
    if behind_main_switch && judge.job.has_sources() && judge.running().confirmed_later(reading.at)
    {
        return Some(Doubt::query(format!(
            "taken before {} was confirmed: nothing says that no inverter ran; take it again",
            isolated()
        )));
    }
    let ran = judge.running().before(reading.at)?;
    Some(Doubt::query(format!(
        "taken after {ran}, when the inverters ran, and {} was not confirmed again in between: isolate them, confirm, and take it again",
        isolated()
    )))
}

/// The confirmation itself doesn't stand while inverters ran since and a reading that needs it is still to be taken.
pub(super) fn to_be_confirmed_again(
    judge: &Judge<'_>,
    test: Test,
    reading: &Reading,
) -> Option<Doubt> {
    if test != Test::InvertersOff {
        return None;
    }
    let ran = judge.running().after(reading.at)?;
    let open = first_open(judge.job, |seat, test| {
        needs_isolation(judge.job, seat, test)
    })?;
    Some(Doubt::open(format!(
        "the inverters ran since ({ran}) and {open} is still to be taken: isolate and confirm again"
    )))
}

/// What was put back, or reconnected, before the inverters were isolated again: that isn't shown any more.
pub(super) fn isolated_since(judge: &Judge<'_>, reading: &Reading) -> Option<Doubt> {
    let off = judge.running().isolated_after(reading.at)?;
    Some(Doubt::query(format!(
        "answered before the inverters were isolated again ({} at {}): look again and confirm it anew",
        isolated(),
        off.format("%Y-%m-%d %H:%M")
    )))
}

fn isolated() -> Place {
    Place::of(Group::Safe.key(), Test::InvertersOff)
}

/// In the order of [`Test`].
const SHOW_RUNNING: &[Test] = &[
    Test::Connected,
    Test::Count,
    Test::NeGrid,
    Test::NeIsland,
    Test::Balance,
    Test::CtIdle,
    Test::CtSurplus,
    Test::CtCharging,
    Test::ExportPeak,
    Test::FailSafe,
    Test::LossOfMains,
    Test::Reconnect,
];

/// With a.c. closed and the grid there; read backs, the battery alone and meters with PV off are no running in parallel.
fn shows_parallel(test: Test) -> bool {
    SHOW_RUNNING.contains(&test) && !matches!(test, Test::Connected | Test::CtIdle | Test::NeIsland)
}

/// The resistance of an electrode is only a reading of the loop where the instrument reads loops.
fn by_loop(job: &Job, test: Test, reading: &Reading) -> bool {
    let tool = reading
        .instrument
        .as_deref()
        .and_then(|id| job.instrument(id));
    test != Test::Ra || tool.is_none_or(|t| t.functions.contains(&Function::Loop))
}

/// A backup output is tested while its inverter runs, without the grid.
pub(super) fn needs_isolation(job: &Job, seat: &Seat<'_>, test: Test) -> bool {
    !matches!(seat.owner, Owner::Storage(_)) && is_spoilt_by_running(job, test)
}

fn is_spoilt_by_running(job: &Job, test: Test) -> bool {
    if test == Test::Ra {
        return job.supply.earthing == Earthing::Tt;
    }
    matches!(
        test,
        Test::Ze
            | Test::Zdb
            | Test::Zs
            | Test::PfcLn
            | Test::PfcLe
            | Test::PfcLl
            | Test::Pfc
            | Test::RcdTime
            | Test::RcdHalf
            | Test::RcdFive
    )
}
