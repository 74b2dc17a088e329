//! Zs of a circuit: which device carries fault protection, and whether the reading fits its parts.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::impedance::{self, rcd_limit};
use super::rule::compare;
use super::{Bound, Doubt, Figure, Judge, Rule, Ruled, Verdict};
use super::{continuity, f64_of, likely, rounded, zs_carried};
use crate::calc;
use crate::forms::{Forms, Limit, Mark, MissingLimit, Source};
use crate::job::{Board, Circuit, CircuitKind, Curve, Device, Earthing, Job};
use crate::job::{Owner, Rcd, Seat, Test, Value};

/// Zs of a circuit.
///
/// In TN the overcurrent device decides; on TT the RCD, and only where there is none the overcurrent device.
pub(super) fn rule(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let Some(device) = &circuit.device else {
        return Ok(
            Rule::free("no protective device is recorded").no_better_than(
                Verdict::Query,
                "no protective device is recorded that it could be judged by",
            ),
        );
    };
    let on_tt = judge.job.supply.earthing == Earthing::Tt;
    let rcd = judge.tree.protecting_rcd(board, circuit);
    let rule = match (on_tt, rcd, overcurrent(judge, circuit, device)) {
        (true, Some(rcd), _) => by_rcd(judge.forms, rcd)?,
        (true, None, Ok(mut rule)) => {
            rule.how = format!("TT, and no RCD protects this circuit: {}", rule.how);
            rule
        }
        (true, None, Err(_)) => Rule::free("TT, and no RCD protects this circuit").no_better_than(
            Verdict::Outside,
            format!(
                "TT, no RCD protects this circuit, and the overcurrent limit of {} is unknown",
                device.describe()
            ),
        ),
        (false, _, Ok(rule)) => rule,
        // A rating that no table lists: the RCD can carry it, but that is for a person to accept.
        (false, Some(rcd), Err(_)) => by_rcd(judge.forms, rcd)?.no_better_than(
            Verdict::Query,
            format!(
                "overcurrent limit of {} unknown; only the {} RCD carries fault protection",
                device.describe(),
                rcd.describe()
            ),
        ),
        (false, None, Err(missing)) => return Err(missing),
    };
    // Before R1+R2 is read, from the length.
    let expected = sum(judge, seat, board).or_else(|| zs_carried::explained(judge, seat, board));
    let mut rule = rule;
    if let Some(storage) = on_backup(judge, board) {
        rule.how = match rcd {
            Some(rcd) => format!(
                "{}; in island mode on the backup output of {storage} the {} RCD alone",
                rule.how,
                rcd.describe()
            ),
            None => format!("{}; on the grid only", rule.how),
        };
    }
    let near = expected.as_ref().map(|sum| sum.ohm);
    let words = expected.map(|sum| {
        format!(
            "up to {} Ω: {}; parallel paths make it lower",
            sum.ohm.round_dp(2),
            sum.how
        )
    });
    Ok(rule.expecting(words).near(near))
}

fn by_rcd(forms: &Forms, rcd: &Rcd) -> Ruled {
    let limit = rcd_limit(forms, rcd.idn_ma)?;
    let touch = forms.limit("rcd/touch-voltage")?;
    Ok(Rule::by(
        Bound::AtMost(limit.value),
        format!(
            "the {} RCD carries fault protection: {} V / IΔn, without the {}",
            rcd.describe(),
            touch.value.normalize(),
            forms.limit("zs/site-factor")?.value.normalize()
        ),
        limit,
    )
    .with(touch))
}

/// The limit of the overcurrent device for a cold reading.
///
/// # Errors
/// [`MissingLimit`] for a fuse that no table lists for its disconnection time.
pub(super) fn overcurrent(judge: &Judge<'_>, circuit: &Circuit, device: &Device) -> Ruled {
    let time = disconnection_time(judge, circuit, device)?;
    let highest = highest_zs(judge, device, time.value)?;
    let factor = judge.forms.limit("zs/site-factor")?;
    let site = calc::site_limit_ohm(highest.value, factor.value)
        .map_err(|_| MissingLimit(format!("zs of {}", device.describe())))?;
    let formula = if highest.source.mark == Mark::Derived {
        " (Cmin × U0 / Ia: no table lists it)"
    } else {
        ""
    };
    Ok(Rule::by(
        Bound::AtMost(site),
        format!(
            "{} × {} Ω for {} in {} s{formula}, rounded down: the conductors were cold",
            factor.value.normalize(),
            highest.value.round_dp(3),
            device.describe(),
            time.value.normalize()
        ),
        highest,
    )
    .with(factor)
    .with(time)
    .with_all(
        &final_up_to(judge.forms, circuit)?
            .cloned()
            .into_iter()
            .collect::<Vec<_>>(),
    ))
}

/// The highest Zs of a device at operating temperature: from the table, and for a circuit-breaker that it doesn't list
/// from the formula the table is made with.
fn highest_zs(judge: &Judge<'_>, device: &Device, time_s: Decimal) -> Result<Figure, MissingLimit> {
    let rating = device.rating_a.normalize();
    let Some(curve) = device.curve else {
        let id = format!(
            "zs/{}/{}s/{rating}",
            device.standard.key(),
            time_s.normalize()
        );
        return judge.forms.limit(&id).map(Figure::from);
    };
    // The instantaneous trip is the same up to 5 s, and quicker than 0.2 s.
    let id = format!("zs/circuit-breaker/{}/{rating}", curve.letter());
    match judge.forms.limit(&id) {
        Ok(row) => Ok(Figure::from(row)),
        Err(missing) => derived_zs(judge, device, curve)?.ok_or(missing),
    }
}

/// Cmin × U0 / (multiple × In), at the nominal voltage or the job's where that is lower.
fn derived_zs(
    judge: &Judge<'_>,
    device: &Device,
    curve: Curve,
) -> Result<Option<Figure>, MissingLimit> {
    let cmin = judge.forms.limit("zs/cmin")?;
    let nominal = judge.forms.limit("supply/u0")?;
    let multiple = judge
        .forms
        .limit(&format!("zs/multiple/{}", curve.letter()))?;
    let volts = nominal.value.min(judge.job.supply.u0_v);
    let ohm = calc::operating_current_a(multiple.f64(), f64_of(device.rating_a))
        .and_then(|ia| calc::zs_max_ohm(f64_of(volts), cmin.f64(), ia))
        .ok()
        .and_then(|z| rounded(z, 6));
    let source = Source {
        mark: Mark::Derived,
        ..cmin.source.clone()
    };
    Ok(ohm.map(|value| Figure {
        value,
        source,
        basis: vec![cmin.clone(), nominal.clone(), multiple.clone()],
    }))
}

/// The longest time the device may take, by what it supplies and the earthing.
pub(super) fn disconnection_time<'a>(
    judge: &Judge<'a>,
    circuit: &Circuit,
    device: &Device,
) -> Result<&'a Arc<Limit>, MissingLimit> {
    longest_time(judge.job, judge.forms, circuit, device)
}

/// The same for who has no judge: the paper names it for each circuit.
///
/// # Errors
/// [`MissingLimit`] where the limit files lack the time or what decides which counts.
pub fn longest_time<'a>(
    job: &Job,
    forms: &'a Forms,
    circuit: &Circuit,
    device: &Device,
) -> Result<&'a Arc<Limit>, MissingLimit> {
    let earthing = if job.supply.earthing == Earthing::Tt {
        "tt"
    } else {
        "tn"
    };
    let kind = match final_up_to(forms, circuit)? {
        Some(edge) if device.rating_a <= edge.value => "final",
        _ => "distribution",
    };
    forms.limit(&format!("time/{earthing}/{kind}"))
}

/// The rating up to which a circuit of that kind counts as a final circuit.
fn final_up_to<'a>(
    forms: &'a Forms,
    circuit: &Circuit,
) -> Result<Option<&'a Arc<Limit>>, MissingLimit> {
    Ok(match circuit.kind {
        CircuitKind::Distribution => None,
        CircuitKind::Sockets => Some(forms.limit("time/final-up-to/sockets")?),
        _ => Some(forms.limit("time/final-up-to/fixed")?),
    })
}

/// A second look at a Zs that was compared with its rule: against its parts, and in TN for what the RCD carries.
///
/// `None` leaves the verdict as it is.
pub(super) fn second_look(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return None;
    };
    let n = value.number()?;
    let sum = sum(judge, seat, board);
    let below = || below_line(judge, seat, circuit, n, sum.as_ref());
    let above = sum.as_ref().filter(|sum| n > sum.most);
    let bound = |rule: Rule| match rule.bound {
        Bound::AtMost(x) => Some(x),
        _ => None,
    };
    if judge.job.supply.earthing == Earthing::Tt {
        let limit = rule(judge, seat).ok().and_then(bound)?;
        if n > limit {
            return None;
        }
        return zs_carried::far_on_tt(judge, seat, board, n)
            .or_else(|| above.map(|sum| queried(judge, n, sum)))
            .or_else(|| over_another_earth(judge, board, circuit, n))
            .or_else(below)
            .or_else(|| slipped_on_tt(judge, n, sum.as_ref()))
            .or_else(|| over_unmeasured_earth(judge, board, circuit, n))
            .or_else(|| unprotected_islanded(judge, board, circuit));
    }
    let limit = overcurrent(judge, circuit, circuit.device.as_ref()?)
        .ok()
        .and_then(bound);
    if limit.is_some_and(|limit| n <= limit) {
        return above
            .map(|sum| queried(judge, n, sum))
            .or_else(below)
            .or_else(|| unprotected_islanded(judge, board, circuit));
    }
    let fails = past(limit);
    let r1r2 = seat.readings.value(Test::R1r2);
    if let Some(Value::OverRange(_)) = r1r2 {
        return Some(Doubt::outside(format!("{n} Ω {fails}, and R1+R2 is open")));
    }
    if let Some(sum) = above {
        return Some(Doubt::outside(format!(
            "{n} Ω {fails} and is far above {} Ω, which is {}: open or bad cpc, or a loose joint; an RCD doesn't make up for that",
            sum.ohm, sum.how
        )).by_all(&judge.entries(&sum.ids)));
    }
    let rcd = judge.tree.protecting_rcd(board, circuit)?;
    zs_carried::in_tn(judge, seat, (board, circuit), rcd, n, sum.as_ref())
}

/// What there is to say of a loop that doesn't meet the limit of its overcurrent device, which may be unknown.
pub(super) fn past(limit: Option<Decimal>) -> String {
    match limit {
        Some(limit) => format!("is past the overcurrent limit of {limit} Ω"),
        None => "is not shown to meet the overcurrent limit".into(),
    }
}

/// A Zs that a reason stands for: by its parts, where they were measured, else by whether anything shows its protection.
pub(super) fn excused(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    by_its_parts(judge, seat, value).or_else(|| nothing_shows_protection(seat, value))
}

/// Impedance at the board plus R1+R2, judged as the Zs that wasn't read: past the limit it is outside as that would be, and less
/// than certain is a question.
fn by_its_parts(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Circuit(board, _) = seat.owner else {
        return None;
    };
    let (name, upstream) = at_board(judge, board)?;
    let r1r2 = seat.readings.value(Test::R1r2).and_then(|v| v.number());
    let sum = upstream.checked_add(r1r2.unwrap_or_default())?;
    let parts = match r1r2 {
        Some(r1r2) => format!("{name} {upstream} Ω + R1+R2 {r1r2} Ω"),
        None => format!("{name} alone"),
    };
    let (readings, test) = match name {
        "Zdb" => (&board.readings, Test::Zdb),
        _ => (&judge.job.supply.readings, Test::Ze),
    };
    let uncertainty = judge.uncertainty(test, &readings.get(test)?.now);
    let rule = rule(judge, seat).ok()?;
    let stand_in = Value::Number(sum);
    let percent = uncertainty.as_ref().map(|u| u.percent);
    let outcome = compare(&rule, &stand_in, Test::Zs.unit(), percent);
    let found = second_look(judge, seat, &stand_in).unwrap_or_else(|| {
        let by = uncertainty.map(|u| judge.entries(&[&u.from]));
        Doubt {
            verdict: outcome.verdict,
            why: outcome.why,
            basis: by.unwrap_or_default(),
        }
    });
    let verdict = match found.verdict {
        Verdict::Within | Verdict::Excused => return None,
        Verdict::Outside => Verdict::Outside,
        Verdict::Open | Verdict::Query | Verdict::Close => Verdict::Query,
    };
    Some(Doubt {
        verdict,
        why: format!(
            "there is no Zs ({value}), and {parts} gives {sum} Ω: {}",
            found.why
        ),
        basis: found.basis,
    })
}

/// A Zs that a reason stands for, where nothing else of the circuit was measured that shows its fault protection: neither
/// R1+R2 nor the time of its own RCD, which trips through its protective conductor.
fn nothing_shows_protection(seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    // What is still to be taken is open by itself.
    let still_open = |test| seat.readings.get(test).is_none();
    let own_rcd = circuit.rcd.is_some();
    if still_open(Test::R1r2)
        || (own_rcd && still_open(Test::RcdTime))
        || seat.readings.is_measured(Test::R1r2)
        || (own_rcd && seat.readings.is_measured(Test::RcdTime))
    {
        return None;
    }
    let also = match own_rcd {
        true => "neither R1+R2 nor the time of its RCD was measured",
        false => "R1+R2 wasn't measured",
    };
    Some(Doubt::query(format!(
        "fault protection isn't shown: there is no Zs ({value}), and {also}"
    )))
}

/// In TN: that nothing but its RCD carries the fault protection of a circuit, and why, in words. By its loop, where that
/// isn't read by its parts.
pub(super) fn rests_on_rcd(judge: &Judge<'_>, board: &Board, circuit: &Circuit) -> Option<String> {
    if circuit.kind == CircuitKind::Spare || circuit.extra_low_voltage {
        return None;
    }
    let name = board.path(circuit);
    if let Some(storage) = on_backup(judge, board) {
        return Some(format!(
            "the fault protection of {name} rests on it in island mode on the backup output of {storage}"
        ));
    }
    let device = circuit.device.as_ref()?;
    let limit = overcurrent(judge, circuit, device).map(|rule| rule.bound);
    let Ok(Bound::AtMost(limit)) = limit else {
        return Some(format!(
            "the fault protection of {name} rests on it: the overcurrent limit of {} is unknown",
            device.describe()
        ));
    };
    let read = |test: Test| circuit.readings.value(test).and_then(|v| v.number());
    let (what, ohm) = match read(Test::Zs) {
        Some(zs) => ("Zs", zs),
        None => {
            let (_, upstream) = at_board(judge, board)?;
            let r1r2 = read(Test::R1r2).unwrap_or_default();
            ("the sum of its parts", upstream.checked_add(r1r2)?)
        }
    };
    (ohm > limit).then(|| {
        format!(
            "the fault protection of {name} rests on it: {what}, {ohm} Ω, is past the overcurrent limit of {limit} Ω"
        )
    })
}

/// The storage whose backup output feeds a board, itself or through others, by its id.
fn on_backup<'a>(judge: &Judge<'a>, board: &Board) -> Option<&'a str> {
    let job = judge.job;
    if !job.storage.iter().any(|s| s.backup) {
        return None;
    }
    let mut path = board.fed_from.as_str();
    for _ in 0..job.boards.len() {
        let (ahead, circuit) = judge.circuit(path)?;
        if circuit.kind == CircuitKind::Source {
            return job.backup_on(path).map(|s| s.id.as_str());
        }
        path = ahead.fed_from.as_str();
    }
    None
}

/// A circuit that a backup output feeds, with no RCD beyond that output: a loop that suits its overcurrent device on the grid
/// says nothing of island mode, where the inverter brings too little current for it.
fn unprotected_islanded(judge: &Judge<'_>, board: &Board, circuit: &Circuit) -> Option<Doubt> {
    let storage = on_backup(judge, board)?;
    if judge.tree.protecting_rcd(board, circuit).is_some() {
        return None;
    }
    Some(Doubt::query(format!(
        "good on the grid; in island mode the inverter of the backup output of {storage} limits the fault current, the overcurrent device may not open in time, and no RCD beyond that output is recorded for this circuit"
    )))
}

/// R1+R2 that is alone more than Zs may be: seen while the circuit is still dead. Without a length to compare it with, it is
/// outside from where no RCD may carry it.
pub(super) fn used_up_by_r1r2(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let n = value.number()?;
    if let Some(fault) = zs_carried::far_without_length(judge, seat, n) {
        return Some(fault);
    }
    let rule = rule(judge, seat).ok()?;
    match rule.bound {
        Bound::AtMost(limit) if n > limit => Some(Doubt::query(format!(
            "{n} Ω is alone above the {limit} Ω that Zs may be ({}): loose joint, damaged cpc, or the wrong device for this length",
            rule.how
        )).by_all(&rule.basis)),
        _ => None,
    }
}

/// A loop that reads less than the line conductor of its circuit alone, which no parallel path to earth bypasses. Behind an RCD,
/// where loop testers scatter, only where a slipped point explains it.
fn below_line(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    circuit: &Circuit,
    n: Decimal,
    sum: Option<&Sum>,
) -> Option<Doubt> {
    let limit = judge.forms.limit("cross/line-alone").ok()?;
    let share = continuity::line_share(judge, circuit.cable.as_ref()?)?;
    let r1r2 = f64_of(seat.readings.value(Test::R1r2)?.number()?);
    // A length that is recorded too long, or a slip in R1+R2 itself, is not held against this reading.
    let r1r2 = continuity::from_length(judge, seat).map_or(r1r2, |by_length| by_length.min(r1r2));
    let line = share * r1r2;
    let digit = 0.5 * 10_f64.powi(-i32::try_from(n.scale()).ok()?);
    if f64_of(n) >= line * limit.f64() / 100.0 - digit {
        return None;
    }
    if is_behind_rcd(judge, seat) {
        likely::slipped(judge, n, f64_of(sum?.ohm), Test::Zs)?;
    }
    Some(Doubt::query(format!(
        "{n} Ω is less than the line conductor alone, about {} Ω, which no parallel path bypasses: a wrong decimal place, or not read at the furthest point",
        rounded(line, 2)?
    )).by(limit))
}

/// On TT without an RCD: a loop far below the earth of the installation closes over somebody's pipe, and the overcurrent device
/// opens only as long as that pipe is there.
fn over_another_earth(
    judge: &Judge<'_>,
    board: &Board,
    circuit: &Circuit,
    n: Decimal,
) -> Option<Doubt> {
    if judge.tree.protecting_rcd(board, circuit).is_some() {
        return None;
    }
    let (earth, share) = impedance::far_below_earth(judge, n)?;
    Some(Doubt::query(format!(
        "{n} Ω is less than {} % of {earth}, and no RCD protects this circuit: the loop closes over another earth, such as somebody's pipe, and nothing opens on a fault when that is gone: disconnect it and read again; fault protection may not rest on it",
        share.value.normalize()
    )).by(share))
}

/// On TT without an RCD: a loop within its limit where nobody measured the electrode. What other earth it closes over, and
/// for how long, nothing shows.
fn over_unmeasured_earth(
    judge: &Judge<'_>,
    board: &Board,
    circuit: &Circuit,
    n: Decimal,
) -> Option<Doubt> {
    let supply = &judge.job.supply.readings;
    if judge.tree.protecting_rcd(board, circuit).is_some() || supply.is_measured(Test::Ra) {
        return None;
    }
    let ra = match supply.value(Test::Ra) {
        Some(reason) => format!("RA: {reason}"),
        None => "RA isn't taken".into(),
    };
    Some(Doubt::query(format!(
        "{n} Ω is no more than the limit, but no RCD protects this circuit, and it rests on an earth that nobody measured ({ra}): measure the electrode with every other earth off, or put an RCD ahead of this circuit"
    )))
}

/// On TT a pipe may be a better earth than the electrode, and a loop that reads low behind an RCD is no fault. One that reads as its parts
/// do with the point moved is read again all the same.
fn slipped_on_tt(judge: &Judge<'_>, n: Decimal, sum: Option<&Sum>) -> Option<Doubt> {
    let sum = sum.filter(|sum| n < sum.ohm)?;
    likely::slipped(judge, n, f64_of(sum.ohm), Test::Zs)?;
    let doubt = Doubt::query(format!(
        "{n} Ω is far below {} Ω, which is {}: look again, or say what other earth it has",
        sum.ohm.round_dp(2),
        sum.how
    ));
    Some(doubt.by_all(&judge.entries(&["likely/slip"])))
}

fn queried(judge: &Judge<'_>, n: Decimal, sum: &Sum) -> Doubt {
    Doubt::query(format!(
        "{n} Ω is well above {} Ω, which is {}: loose joint, wrong circuit, wrong decimal place, or R1+R2 not taken at the furthest point",
        sum.ohm.round_dp(2),
        sum.how
    )).by_all(&judge.entries(&sum.ids))
}

/// What a loop impedance should not exceed.
#[derive(Debug)]
pub(super) struct Sum {
    /// Impedance at the board plus R1+R2, Ω.
    pub(super) ohm: Decimal,
    /// The same with what readings may lie above it, Ω.
    pub(super) most: Decimal,
    /// Words for it.
    pub(super) how: String,
    /// Entries of the limit files that say how far readings may lie above it.
    pub(super) ids: [&'static str; 2],
}

impl Sum {
    /// With the tolerance of the limit files.
    pub(super) fn of(forms: &Forms, ohm: Decimal, how: String) -> Option<Sum> {
        Sum::with_floor(forms, ohm, how, "expect/zs-floor")
    }

    /// The same for a loop that may be read behind an RCD.
    pub(super) fn behind(forms: &Forms, ohm: Decimal, how: String, rcd: bool) -> Option<Sum> {
        if !rcd {
            return Sum::of(forms, ohm, how);
        }
        let how = format!("{how} (behind an RCD: no-trip range scatters)");
        Sum::with_floor(forms, ohm, how, "expect/zs-no-trip-floor")
    }

    fn with_floor(forms: &Forms, ohm: Decimal, how: String, floor: &'static str) -> Option<Sum> {
        let ids = ["expect/zs-tolerance", floor];
        let share = forms.limit("expect/zs-tolerance").ok()?.value / Decimal::ONE_HUNDRED;
        let floor = forms.limit(floor).ok()?.value;
        let most = ohm
            .checked_mul(Decimal::ONE.checked_add(share)?)?
            .checked_add(floor)?;
        Some(Sum {
            ohm,
            most,
            how,
            ids,
        })
    }
}

/// Impedance at the board, or at the origin where that isn't taken, plus R1+R2.
fn sum(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<Sum> {
    let r1r2 = seat.readings.value(Test::R1r2)?.number()?;
    let (name, upstream) = at_board(judge, board)?;
    let how = format!("{name} {upstream} Ω + R1+R2 {r1r2} Ω");
    let ohm = upstream.checked_add(r1r2)?;
    Sum::behind(judge.forms, ohm, how, is_behind_rcd(judge, seat))
}

/// Whether the loop of a circuit is read through an RCD.
pub(super) fn is_behind_rcd(judge: &Judge<'_>, seat: &Seat<'_>) -> bool {
    matches!(seat.owner, Owner::Circuit(board, circuit)
        if judge.tree.protecting_rcd(board, circuit).is_some())
}

/// Zdb, or Ze of a board at the origin where Zdb isn't taken.
pub(super) fn at_board(judge: &Judge<'_>, board: &Board) -> Option<(&'static str, Decimal)> {
    match board.readings.value(Test::Zdb).and_then(|v| v.number()) {
        Some(z) => Some(("Zdb", z)),
        None if board.fed_from.is_empty() => {
            Some(("Ze", judge.job.supply.readings.value(Test::Ze)?.number()?))
        }
        None => None,
    }
}
