//! How far past the overcurrent limit an RCD may carry the fault protection of a circuit, and when a loop is simply bad.

use rust_decimal::Decimal;

use super::impedance::{self, rcd_limit};
use super::zs::{Sum, at_board, disconnection_time, is_behind_rcd, overcurrent, past};
use super::{Bound, Doubt, Judge, continuity};
use crate::calc;
use crate::job::{Board, Circuit, Device, Owner, Rcd, Seat, Test};

/// In TN past the overcurrent limit, or with a device that has none: a query only where the length explains it, or, where
/// nothing can be compared with a length, up to a multiple of the limit. Measured readings alone excuse nothing: a bad earth is
/// in all of them. `None` leaves the verdict as it is.
pub(super) fn in_tn(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    (board, circuit): (&Board, &Circuit),
    rcd: &Rcd,
    n: Decimal,
    measured: Option<&Sum>,
) -> Option<Doubt> {
    let device = circuit.device.as_ref()?;
    let limit = overcurrent_limit(judge, circuit, device);
    let most = most_carried(judge, circuit, device);
    let explained = explained(judge, seat, board);
    let by_length = explained
        .as_ref()
        .filter(|sum| limit.is_none_or(|limit| sum.ohm > limit));
    let is_capped = match (&explained, limit, seat.readings.value(Test::R1r2)) {
        // The sum of what was measured has to be past the limit too.
        (_, Some(limit), Some(v)) if v.number().is_some() => {
            explained.is_none() && measured.is_some_and(|sum| sum.ohm > limit)
        }
        // A known length decides, also where R1+R2 is excused.
        _ => explained.is_none(),
    };
    let carried = rcd_limit(judge.forms, rcd.idn_ma).ok()?;
    let is_carried = n <= carried.value
        && (by_length.is_some_and(|sum| n <= sum.most)
            || (is_capped && most.as_ref().is_some_and(|(most, _)| n <= *most)));
    if is_carried {
        return limit.map(|_| {
            Doubt::query(format!(
                "{n} Ω is past the overcurrent limit; only the {} RCD carries fault protection (≤ {} Ω, {} [{}]): look for a loose joint before accepting that",
                rcd.describe(),
                carried.value,
                carried.source.text,
                carried.source.mark
            ))
            .by_all(&carried.basis)
            .by_all(&judge.entries(&["zs/rcd-carries-factor"]))
        });
    }
    let why = match (&explained, most) {
        (Some(sum), _) => format!(
            "the length explains about {} Ω ({})",
            sum.ohm.round_dp(2),
            sum.how
        ),
        (None, _) if !is_capped => measured.map_or_else(
            || "no sound impedance at the board is recorded that would explain it".into(),
            |sum| format!("its parts give {} Ω ({})", sum.ohm.round_dp(2), sum.how),
        ),
        (None, Some((most, how))) => {
            format!("no length explains it, and it is not within {most} Ω, {how}")
        }
        (None, None) => "nothing is known that explains it".into(),
    };
    Some(Doubt::outside(format!(
        "{n} Ω {}, and {why}: a bad earth or cpc, a loose joint or the wrong circuit; an RCD doesn't make up for that",
        past(limit)
    )).by_all(&judge.entries(&["zs/rcd-carries-factor"])))
}

/// On TT: a circuit that adds far more to the impedance at its board than its conductors do.
pub(super) fn far_on_tt(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    n: Decimal,
) -> Option<Doubt> {
    let (name, upstream) = at_board(judge, board)?;
    let r1r2 = continuity::by_length(judge, seat)
        .map(|(ohm, _)| ohm)
        .or_else(|| seat.readings.value(Test::R1r2)?.number())?;
    let how = format!("{name} {upstream} Ω + R1+R2 {} Ω", r1r2.round_dp(2));
    let rcd = is_behind_rcd(judge, seat);
    let sum = Sum::behind(judge.forms, upstream.checked_add(r1r2)?, how, rcd)?;
    let most = sum.most.checked_add(impedance::far_added(judge, r1r2)?)?;
    // The fault may lie with what it is compared with.
    let or_else = match impedance::far_below_earth(judge, upstream) {
        Some((earth, _)) => format!(
            ", or {name} closes over another earth than {earth} and is to be read again first"
        ),
        None => String::new(),
    };
    (n > most).then(|| {
        Doubt::outside(format!(
                "{n} Ω is far above {} Ω, which is {}: open or bad cpc, or a loose joint; an RCD doesn't make up for that{or_else}",
                sum.ohm.round_dp(2),
                sum.how
            )).by_all(&judge.entries(&sum.ids)).by_all(&judge.entries(&impedance::FAR))
    })
}

/// R1+R2 of a circuit without a length that is alone more than an RCD may carry.
pub(super) fn far_without_length(judge: &Judge<'_>, seat: &Seat<'_>, n: Decimal) -> Option<Doubt> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    if continuity::by_length(judge, seat).is_some() {
        return None;
    }
    let (most, how) = most_carried(judge, circuit, circuit.device.as_ref()?)?;
    (n > most).then(|| {
        Doubt::outside(format!(
                "{n} Ω is alone above {most} Ω, {how}, and no length explains it: loose joint, damaged or open cpc, or another circuit"
            )).by_all(&judge.entries(&["zs/rcd-carries-factor"]))
    })
}

fn overcurrent_limit(judge: &Judge<'_>, circuit: &Circuit, device: &Device) -> Option<Decimal> {
    match overcurrent(judge, circuit, device).ok()?.bound {
        Bound::AtMost(x) => Some(x),
        _ => None,
    }
}

/// The most that is accepted on no more than an RCD: a multiple of the overcurrent limit. A fuse that no table lists goes by
/// the next smaller one that is listed, whose limit is higher than its own would be.
fn most_carried(
    judge: &Judge<'_>,
    circuit: &Circuit,
    device: &Device,
) -> Option<(Decimal, String)> {
    let factor = judge.forms.limit("zs/rcd-carries-factor").ok()?;
    let (limit, of) = match overcurrent_limit(judge, circuit, device) {
        Some(limit) => (limit, device.describe()),
        None => smaller_fuse(judge, circuit, device)?,
    };
    let most = limit.checked_mul(factor.value)?.normalize();
    let how = format!(
        "{} × the limit of {of} [{}]",
        factor.value.normalize(),
        factor.source.mark
    );
    Some((most, how))
}

/// Limit of the largest listed fuse that is no larger, or of the smallest that is listed.
fn smaller_fuse(
    judge: &Judge<'_>,
    circuit: &Circuit,
    device: &Device,
) -> Option<(Decimal, String)> {
    let time = disconnection_time(judge, circuit, device).ok()?.value;
    let prefix = format!("zs/{}/{}s/", device.standard.key(), time.normalize());
    let mut listed: Vec<(Decimal, Decimal)> = judge
        .forms
        .limits_under(&prefix)
        .filter_map(|l| Some((l.id.strip_prefix(&prefix)?.parse().ok()?, l.value)))
        .collect();
    listed.sort();
    let (rating, highest) = listed
        .iter()
        .rfind(|(rating, _)| *rating <= device.rating_a)
        .or_else(|| listed.first())?;
    let site = judge.forms.limit("zs/site-factor").ok()?;
    let limit = calc::site_limit_ohm(*highest, site.value).ok()?;
    Some((
        limit,
        format!("the {rating} A fuse, the nearest that is listed"),
    ))
}

/// What the length of a circuit and a sound impedance at its board give, with what may be read at most.
pub(super) fn explained(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<Sum> {
    let (name, upstream) = impedance::sound_at(judge, board)?;
    let (expected, high) = continuity::by_length(judge, seat)?;
    let how = format!(
        "{name} {upstream} Ω + R1+R2 {} Ω from the length",
        expected.round_dp(2)
    );
    let rcd = is_behind_rcd(judge, seat);
    let ohm = upstream.checked_add(expected)?;
    let with_tolerance = Sum::behind(judge.forms, upstream.checked_add(high)?, String::new(), rcd)?;
    Some(Sum {
        ohm,
        how,
        ..with_tolerance
    })
}
