//! Readings that are compared with the job's own record: storage, reconnection, signatures.

use chrono::{DateTime, FixedOffset};
use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, Ruled, notice, source_circuit};
use crate::job::{Group, Job, Owner, Place, Reading, Role, Seat, Spot, Test, Value, watch};

/// Voltage at the d.c. isolator against the maker's window as recorded.
pub(super) fn storage_voltage(seat: &Seat<'_>) -> Rule {
    let Owner::Storage(s) = seat.owner else {
        return Rule::free("recorded");
    };
    let mut rule = Rule::free(
        "the maker's window as recorded with the storage; before the d.c. isolator closes",
    );
    rule.bound = Bound::Between(s.dc_min_v, s.dc_max_v);
    rule
}

/// Modules fitted against the record.
pub(super) fn storage_modules(seat: &Seat<'_>) -> Rule {
    let Owner::Storage(s) = seat.owner else {
        return Rule::free("recorded");
    };
    let usable = s.usable_kwh * Decimal::from(s.modules);
    let mut rule = Rule::free(format!(
        "{} modules of {} kWh usable are recorded, {} kWh together",
        s.modules,
        s.usable_kwh.normalize(),
        usable.normalize()
    ));
    rule.bound = Bound::Exactly(Decimal::from(s.modules));
    rule.expected = Some(s.modules.to_string());
    rule
}

/// A label, with what it has to say. Its source is that of its wording, which is no limit.
pub(super) fn label(judge: &Judge<'_>, seat: &Seat<'_>) -> Rule {
    let Owner::Label(label) = seat.owner else {
        return Rule::free("recorded");
    };
    let words = judge.forms.labels().get(label.kind);
    let mut rule = Rule::free(words.map_or_else(
        || "fitted, legible and lasting".to_string(),
        |w| format!("fitted, legible and lasting; it says: {}", w.says),
    ));
    rule.bound = Bound::Yes;
    rule.source = words.map(|w| w.source.clone());
    rule
}

/// Highest export while the limit was tried, against the limit agreed.
pub(super) fn export_peak(judge: &Judge<'_>) -> Rule {
    match judge.job.grid.export_limit_a {
        None => Rule::free("no export limit is recorded"),
        Some(limit) => {
            let mut rule = Rule::free(
                "export limit agreed, per phase; the highest of the phases while PV or battery could give more",
            );
            rule.bound = Bound::AtMost(limit);
            rule
        }
    }
}

/// Time until export falls back when the meter isn't heard any more.
pub(super) fn fail_safe(judge: &Judge<'_>) -> Ruled {
    let most = judge.forms.limit("grid/fail-safe")?;
    Ok(Rule::of(
        Bound::AtMost(most.value),
        "from the meter's communication being cut until export is at its limit or below",
        most,
    ))
}

/// Shortest time before the inverters may reconnect.
pub(super) fn reconnect(judge: &Judge<'_>) -> Ruled {
    let least = judge.forms.limit("grid/reconnect-min")?;
    Ok(Rule::of(
        Bound::AtLeast(least.value),
        "shortest time between the return of the mains and reconnection",
        least,
    ))
}

/// Inverters don't go on running while the operator has to accept them first, also where that is found late.
pub(super) fn not_accepted(judge: &Judge<'_>) -> Option<Doubt> {
    let grid = Place::of(Group::Grid.key(), Test::Profile);
    let found = notice::connection_of(judge, &judge.job.seat(&grid)?)?;
    (found.verdict.blocks() && judge.job.grid.accepted.is_none()).then(|| {
        Doubt::open(format!(
            "{} is {}: {}; isolate the inverters, and confirm this anew once it is in order",
            found.place, found.verdict, found.why
        ))
    })
}

/// Marks were read on a device that another has taken the place of since.
pub(super) fn other_device(judge: &Judge<'_>, reading: &Reading) -> Option<Doubt> {
    let boards = judge.job.boards.iter();
    let circuits = boards.flat_map(|b| b.circuits.iter().map(move |c| (b, c)));
    let changed = judge.job.edits.iter().filter(|e| {
        let other =
            |how: &String| how.starts_with("device.standard:") || how.starts_with("device:");
        e.at > reading.at && e.how.iter().any(other)
    });
    let changed: Vec<_> = changed.collect();
    if changed.is_empty() {
        return None;
    }
    circuits
        .filter_map(|(board, circuit)| {
            let spot = Spot::Circuit(board.id.clone(), circuit.id.clone());
            let name = spot.to_string();
            let edit = changed.iter().find(|e| e.what == name)?;
            let path = board.path(circuit);
            let place = Place::part(&board.id, &circuit.id, Test::BothWays);
            let seat = judge.job.seat(&place)?;
            source_circuit::both_ways(judge, &seat, board, circuit)?;
            Some(Doubt::open(format!(
                "the device of {path} was changed after this, at {}: look at the marks of the one that is there, then confirm it anew",
                edit.at.format("%Y-%m-%d %H:%M")
            )))
        })
        .next()
}

/// A signature has to be a qualified person's own name, and later than the last reading.
pub(super) fn signature(
    judge: &Judge<'_>,
    test: Test,
    value: &Value,
    reading: &Reading,
) -> Option<Doubt> {
    let Value::Text(name) = value else {
        return None;
    };
    let signer = judge.job.person(&reading.by)?;
    if !signer.name.eq_ignore_ascii_case(name.trim()) || signer.role != Role::Qualified {
        return Some(Doubt::query(format!(
            "signed as `{name}`, entered by {} ({})",
            signer.name,
            signer.role.name()
        )));
    }
    // What was signed, edited or taken back is no reading.
    watch::everything();
    let covers = judge.job.signed.get(test.key());
    let stands = judge.job.sign.get(test).is_some_and(|e| e.now == *reading);
    if stands && covers.is_some_and(|covers| *covers != judge.work()) {
        return Some(Doubt::query(
            "something was entered, countersigned, taken back or edited after this signature: sign again",
        ));
    }
    judge
        .last_work()
        .filter(|(last, _)| *last > reading.at)
        .map(|(last, what)| {
            Doubt::query(format!(
                "{what} at {}, after this signature: sign again",
                last.format("%Y-%m-%d %H:%M")
            ))
        })
}

/// When something other than a signature was done last, and what.
pub(super) fn last_work(job: &Job) -> Option<(DateTime<FixedOffset>, &'static str)> {
    let seats = job.seats();
    let readings = seats
        .iter()
        .flat_map(|s| s.readings.iter())
        .filter(|(test, _)| !test.is_signature())
        .flat_map(|(_, entry)| {
            let signed = entry.now.countersigned.as_ref();
            let signed = signed.map(|c| (c.at, "a reading was countersigned"));
            [Some((entry.now.at, "a reading was entered")), signed]
        })
        .flatten();
    let edits = job.edits.iter().map(|e| (e.at, "the record was edited"));
    let back = job.taken_back.iter();
    let back = back.filter(|t| !t.place.test.is_signature());
    let back = back.map(|t| (t.at, "a reading was taken back"));
    readings.chain(edits).chain(back).max_by_key(|(at, _)| *at)
}
