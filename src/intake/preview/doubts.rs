//! What somebody has to look at before a reading of a file is kept: the place twice in the file, or a time that contradicts.

use std::collections::HashMap;

use super::{On, Row, Standing};
use crate::checks::Judge;
use crate::job::{Place, Reading};

/// Finds places that the file has twice. The same value again needs nobody; another value somebody has to choose. What can never
/// be kept is shown and takes no place.
pub(super) fn twice(rows: &mut [Row]) {
    let mut first: HashMap<Place, usize> = HashMap::new();
    let mut differs: Vec<(usize, usize)> = Vec::new();
    let mut same: Vec<(usize, usize)> = Vec::new();
    let value = |row: &Row| {
        let place = row.taken.place.as_ref()?;
        row.reading.as_ref()?.value(place.test).ok()
    };
    for (i, row) in rows.iter().enumerate() {
        let can = row.reading.is_some() && !matches!(row.standing, Standing::Never(_));
        let Some(place) = row.taken.place.as_ref().filter(|_| can) else {
            continue;
        };
        let Some(&before) = first.get(place) else {
            first.insert(place.clone(), i);
            continue;
        };
        if rows.get(before).and_then(value) == value(row) {
            same.push((before, i));
        } else {
            differs.push((before, i));
        }
    }
    let line = |i: usize| rows.get(i).map_or(0, |r| r.taken.line);
    let found: Vec<(usize, u64)> = differs
        .iter()
        .flat_map(|(a, b)| [(*a, line(*b)), (*b, line(*a))])
        .collect();
    let repeated: Vec<(usize, u64)> = same.iter().map(|(a, b)| (*b, line(*a))).collect();
    for (i, other) in found {
        if let Some(row) = rows.get_mut(i) {
            row.standing = match std::mem::replace(&mut row.standing, Standing::New) {
                Standing::New => Standing::Twice(other, None),
                Standing::Conflict(now) => Standing::Twice(other, Some(now)),
                as_it_was => as_it_was,
            };
        }
    }
    for (i, other) in repeated {
        if let Some(row) = rows.get_mut(i)
            && row.may_be_marked()
        {
            row.standing = Standing::Repeated(other);
        }
    }
}

/// What the time that the instrument wrote contradicts. Readings are judged by the time of bringing them in; where they would be
/// judged otherwise by the instrument's, somebody has to look: its clock is wrong, or the order of the work was.
pub(super) fn doubts(rows: &mut [Row], on: &On<'_>) {
    if rows.iter().all(|r| r.taken.noted.is_none()) {
        return;
    }
    let judge = Judge::new(on.job, on.forms);
    for row in rows.iter_mut().filter(|r| r.may_be_marked()) {
        let (Some(noted), Some(place), Some(reading)) =
            (row.taken.noted, &row.taken.place, &row.reading)
        else {
            continue;
        };
        if noted > on.at {
            row.doubt = Some("its time is still to come: the instrument's clock is wrong".into());
            continue;
        }
        if noted.date_naive() < on.job.started {
            row.doubt = Some(format!(
                "taken on {} by its clock, before this job began",
                noted.date_naive()
            ));
            continue;
        }
        let Some(seat) = on.job.seat(place) else {
            continue;
        };
        let by_its_clock = Reading {
            at: noted,
            ..reading.clone()
        };
        // A stronger verdict would hide it.
        let by_now = judge.by_time(&seat, place.test, reading);
        let of_time = judge.by_time(&seat, place.test, &by_its_clock);
        if let Some(why) = of_time.into_iter().find(|why| !by_now.contains(why)) {
            row.doubt = Some(format!("by its clock: {why}"));
            continue;
        }
        let now = judge.preview(&seat, place.test, reading);
        let then = judge.preview(&seat, place.test, &by_its_clock);
        if (now.verdict, &now.why) != (then.verdict, &then.why) {
            row.doubt = Some(format!("by its clock: {}", then.why));
        }
    }
}
