//! Readings in an order that the work can't have had: dead tests before the circuits were proved dead or after they were made
//! live again, live tests before anything was energised or before the dead tests of the same circuit.

use chrono::{DateTime, FixedOffset};

use super::{Doubt, Judge, running};
use crate::job::{Group, Job, Need, Owner, Place, Reading, Seat, Test, Value};

/// When the confirmations that testing hangs on were given, those replaced since included.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Order {
    /// Every answer to "proved dead", by time: whether it was a pass.
    proved: Vec<(DateTime<FixedOffset>, bool)>,
    /// Every time it was confirmed that the installation may be made live, by time.
    energised: Vec<DateTime<FixedOffset>>,
    /// When that was confirmed as it stands now; the last time, where it stands no more. What was struck out since may be of a
    /// clock that was wrong.
    live: Option<DateTime<FixedOffset>>,
    /// When it was locked off or tested for being dead, as that stands now.
    isolated: Option<(DateTime<FixedOffset>, Test)>,
}

impl Order {
    /// Of a whole job.
    pub(super) fn of(job: &Job) -> Order {
        let answers = |test: Test| {
            let entry = job.safe.get(test);
            let all = entry
                .into_iter()
                .flat_map(|e| e.struck.iter().chain([&e.now]));
            all.map(move |r| (r.at, r.value(test) == Ok(Value::Pass)))
        };
        let mut proved: Vec<_> = answers(Test::ProvedDead).collect();
        proved.sort();
        let mut energised: Vec<_> = answers(Test::Energise)
            .filter(|(_, pass)| *pass)
            .map(|(at, _)| at)
            .collect();
        energised.sort();
        let stands = |test: Test| job.safe.get(test).map(|e| e.now.at);
        let isolated = [Test::LockedOff, Test::ProvedDead]
            .into_iter()
            .filter_map(|test| Some((stands(test)?, test)))
            .max_by_key(|(at, _)| *at);
        let live = match job.safe.value(Test::Energise) {
            Some(Value::Pass) => stands(Test::Energise),
            _ => energised.last().copied(),
        };
        Order {
            proved,
            energised,
            live,
            isolated,
        }
    }

    /// Whether it was confirmed after a time that the installation may be made live. At the same second counts as after: proving it
    /// dead once more costs less than the other way round.
    pub(super) fn live_since(&self, at: DateTime<FixedOffset>) -> bool {
        self.live.is_some_and(|live| live >= at)
    }

    /// What was isolated or tested for being dead after a time, and when.
    fn dead_since(&self, at: DateTime<FixedOffset>) -> Option<(Place, DateTime<FixedOffset>)> {
        let (isolated, test) = self.isolated?;
        (isolated > at).then(|| (safe(test), isolated))
    }

    /// Whether it was made live between two times.
    fn made_live(&self, after: DateTime<FixedOffset>, before: DateTime<FixedOffset>) -> bool {
        let mut live = self.energised.iter();
        live.any(|at| *at > after && *at < before)
    }

    /// A reading that was taken before what has to come first.
    pub(super) fn too_early(
        &self,
        seat: &Seat<'_>,
        test: Test,
        reading: &Reading,
    ) -> Option<Doubt> {
        if is_dead_test(seat, test) {
            let known = self.proved.partition_point(|(at, _)| *at <= reading.at);
            let last = known.checked_sub(1).and_then(|i| self.proved.get(i));
            return match last {
                Some((proved, true))
                    if !is_on_array(seat) && self.made_live(*proved, reading.at) =>
                {
                    Some(Doubt::query(format!(
                        "a dead test, taken after {} was confirmed, and {} was not confirmed again in between: prove it dead, then take it again",
                        safe(Test::Energise),
                        safe(Test::ProvedDead)
                    )))
                }
                Some((_, true)) => None,
                Some((_, false)) => Some(Doubt::query(format!(
                    "taken when {} said that it was not dead: prove it dead, then take it again",
                    safe(Test::ProvedDead)
                ))),
                None => Some(Doubt::query(format!(
                    "a dead test, taken before {} was confirmed: prove it dead, then take it again",
                    safe(Test::ProvedDead)
                ))),
            };
        }
        if !is_live_test(seat, test) {
            return None;
        }
        if self.energised.first().is_none_or(|at| reading.at < *at) {
            return Some(Doubt::query(format!(
                "a live test, taken before {} was confirmed: nothing says that it could be made live",
                safe(Test::Energise)
            )));
        }
        let late = first_taken_after(seat, reading.at)?;
        Some(Doubt::query(format!(
            "a live test, taken before {late} of the same circuit: dead tests first, what is energised untested can kill"
        )))
    }
}

/// The proof that it is dead doesn't stand where the installation was made live since and a test that needs it is still to be
/// taken. One that is taken again waits for it as well, which is a matter of its step.
pub(super) fn to_be_proved_again(judge: &Judge<'_>, reading: &Reading) -> Option<Doubt> {
    if !judge.order().live_since(reading.at) {
        return None;
    }
    let open = first_open(judge.job, must_be_dead)?;
    Some(Doubt::open(format!(
        "made live since ({}), and {open} is still to be taken: isolate, lock off, prove it dead and confirm it again",
        safe(Test::Energise)
    )))
}

/// That it may be made live, that the inverters may run and that everything was put back holds until it is isolated again.
pub(super) fn to_be_confirmed_after(
    judge: &Judge<'_>,
    test: Test,
    reading: &Reading,
) -> Option<Doubt> {
    let (dead, at) = judge.order().dead_since(reading.at)?;
    let look = match test {
        Test::Energise => "links out, conductors back in their terminals, covers on",
        _ => "look again",
    };
    Some(Doubt::open(format!(
        "answered before it was isolated again ({dead} at {}): {look}, then confirm it anew",
        at.format("%Y-%m-%d %H:%M")
    )))
}

/// The first required test of a kind that nobody took yet.
pub(super) fn first_open(job: &Job, is: impl Fn(&Seat<'_>, Test) -> bool) -> Option<Place> {
    job.seats().iter().find_map(|seat| {
        job.wanted(seat.owner)
            .into_iter()
            .filter(|(test, need)| *need == Need::Required && is(seat, *test))
            .find(|(test, _)| seat.readings.get(*test).is_none())
            .map(|(test, _)| seat.place(test))
    })
}

/// The confirmation that has to be newer than what has made it void, where a test is taken, now or again: that it is dead, or that
/// the inverters are isolated.
pub fn needs_fresh(job: &Job, seat: &Seat<'_>, test: Test) -> Option<Test> {
    if must_be_dead(seat, test) {
        return Some(Test::ProvedDead);
    }
    must_be_stopped(job, seat, test).then_some(Test::InvertersOff)
}

/// Whether a test is only taken on an installation that is proved dead: on conductors that somebody touches, or with an earth
/// taken off. The strings and branches of an array are isolated by themselves.
fn must_be_dead(seat: &Seat<'_>, test: Test) -> bool {
    (is_dead_test(seat, test) && !is_on_array(seat)) || matches!(test, Test::Ra | Test::Ze)
}

/// Whether a test is only taken while the inverters are isolated: with a string or branch parted, or where one that runs would spoil
/// it.
fn must_be_stopped(job: &Job, seat: &Seat<'_>, test: Test) -> bool {
    let parted =
        is_dead_test(seat, test) || matches!(test, Test::DcPolarity | Test::Voc | Test::Isc);
    (is_on_array(seat) && parted) || running::needs_isolation(job, seat, test)
}

/// A dead test of the same circuit whose first reading, struck out or not, is later. One that is still to be taken is open
/// by itself.
fn first_taken_after(seat: &Seat<'_>, at: DateTime<FixedOffset>) -> Option<Place> {
    if !matches!(seat.owner, Owner::Circuit(..)) {
        return None;
    }
    let first = |test: &Test| {
        let entry = seat.readings.get(*test)?;
        entry.struck.iter().chain([&entry.now]).map(|r| r.at).min()
    };
    [Test::R1r2, Test::Polarity, Test::IrLe]
        .into_iter()
        .find(|test| first(test).is_some_and(|taken| taken > at))
        .map(|test| seat.place(test))
}

fn safe(test: Test) -> Place {
    Place::of(Group::Safe.key(), test)
}

/// The strings and branches of an array are isolated by themselves, whatever the main switch does.
fn is_on_array(seat: &Seat<'_>) -> bool {
    matches!(seat.owner, Owner::PvString(..) | Owner::Branch(..))
}

/// Taken on conductors that somebody touches: they have to be dead.
fn is_dead_test(seat: &Seat<'_>, test: Test) -> bool {
    match test {
        Test::Continuity
        | Test::R1
        | Test::Rn
        | Test::R2
        | Test::RingLn
        | Test::R1r2
        | Test::IrLl
        | Test::IrLe
        | Test::IrPos
        | Test::IrNeg
        | Test::IrJoined => true,
        Test::Polarity => matches!(seat.owner, Owner::Circuit(..)),
        _ => false,
    }
}

/// Taken with the board live. The supply is tested before, with the main switch off.
fn is_live_test(seat: &Seat<'_>, test: Test) -> bool {
    matches!(seat.owner, Owner::Board(_) | Owner::Circuit(..))
        && matches!(
            test,
            Test::Zdb
                | Test::Zs
                | Test::Pfc
                | Test::Sequence
                | Test::RcdTime
                | Test::RcdHalf
                | Test::RcdFive
                | Test::RcdButton
                | Test::AfddButton
        )
}
