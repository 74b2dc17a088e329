//! Earth: electrode, Ze, Zdb and Zs against the overcurrent and the RCD limit.

use rust_decimal::Decimal;

use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::{Forms, Limit, MissingLimit};
use crate::job::{Board, Circuit, CircuitKind, Device, Earthing, Owner, Rcd, Seat, Test, Value};

/// Earth electrode: RA times IΔn of the least sensitive RCD up to the touch voltage.
pub(super) fn electrode(judge: &Judge<'_>) -> Ruled {
    let Some(idn) = largest_idn(judge) else {
        return Ok(
            Rule::free("no RCD is recorded that the electrode could be judged by").for_guidance(),
        );
    };
    let (limit, source) = rcd_limit(judge.forms, idn)?;
    let stable = judge.forms.limit("rcd/ra-stable")?;
    Ok(Rule::of(
        Bound::AtMost(limit),
        format!(
            "RA × IΔn ≤ {} V with {} mA; above {} Ω it may not stay stable (advice)",
            touch(judge.forms)?.value.normalize(),
            idn.normalize(),
            stable.value.normalize()
        ),
        source,
    ))
}

/// External impedance: on TT like the electrode; else what distributors usually declare, as guidance.
pub(super) fn external(judge: &Judge<'_>) -> Ruled {
    let id = match judge.job.supply.earthing {
        Earthing::Tt => return electrode(judge),
        Earthing::TnS => "ze/tn-s",
        Earthing::TnCS => "ze/tn-c-s",
    };
    let limit = judge.forms.limit(id)?;
    Ok(Rule::of(
        Bound::AtMost(limit.value),
        format!(
            "usually declared for {}; more is a question for the distributor",
            judge.job.supply.earthing.name()
        ),
        limit,
    )
    .for_guidance())
}

/// Zdb: recorded; expected near Ze (plus the sub-main).
pub(super) fn board(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let ze = judge
        .job
        .supply
        .readings
        .value(Test::Ze)
        .and_then(|v| v.number());
    let origin = matches!(seat.owner, Owner::Board(b) if b.fed_from.is_empty());
    let expected = ze.map(|ze| {
        if origin {
            format!("about Ze {ze} Ω plus the tails")
        } else {
            format!("more than Ze {ze} Ω, by the sub-main")
        }
    });
    Ok(Rule::free("no limit of its own: part of every Zs of the board").expecting(expected))
}

/// Zs of a circuit.
pub(super) fn circuit(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let Some(device) = &circuit.device else {
        return Ok(Rule::free("no protective device is recorded"));
    };
    let expected = expected_zs(judge, seat, board).and_then(|(z, how)| {
        Some(format!(
            "up to {} Ω: {how}; parallel paths make it lower",
            rounded(z, 2)?
        ))
    });
    let rcd = circuit.rcd.as_ref().or(board.rcd.as_ref());
    if judge.job.supply.earthing == Earthing::Tt
        && let Some(rcd) = rcd
    {
        return Ok(by_rcd(judge.forms, rcd)?.expecting(expected));
    }
    match overcurrent(judge, circuit, device) {
        Ok(rule) => Ok(rule.expecting(expected)),
        // A rating that no table lists: the RCD can carry it, nothing else can.
        Err(missing) => match rcd {
            Some(rcd) => Ok(by_rcd(judge.forms, rcd)?.expecting(expected)),
            None => Err(missing),
        },
    }
}

fn by_rcd(forms: &Forms, rcd: &Rcd) -> Ruled {
    let (limit, source) = rcd_limit(forms, rcd.idn_ma)?;
    let stable = forms.limit("rcd/ra-stable")?;
    Ok(Rule::of(
        Bound::AtMost(limit),
        format!(
            "the {} RCD carries fault protection: {} V / IΔn, without the 0.8; an electrode above {} Ω may not stay stable (advice)",
            rcd.describe(),
            touch(forms)?.value.normalize(),
            stable.value.normalize()
        ),
        source,
    ))
}

fn overcurrent(judge: &Judge<'_>, circuit: &Circuit, device: &Device) -> Ruled {
    let time = disconnection_time(judge, circuit, device)?;
    let table = table_limit(judge.forms, device, time.value)?;
    let factor = judge.forms.limit("zs/site-factor")?;
    let site = calc::site_limit_ohm(table.value, factor.value)
        .map_err(|_| MissingLimit(table.id.clone()))?;
    Ok(Rule::of(
        Bound::AtMost(site),
        format!(
            "{} × {} Ω for {} in {} s, rounded down: the conductors were cold",
            factor.value.normalize(),
            table.value,
            device.describe(),
            time.value.normalize()
        ),
        table,
    ))
}

/// The tabulated Zs of a device for a disconnection time.
///
/// # Errors
/// [`MissingLimit`] where no table lists the rating for that time.
pub(super) fn table_limit<'a>(
    forms: &'a Forms,
    device: &Device,
    time_s: Decimal,
) -> Result<&'a Limit, MissingLimit> {
    let rating = device.rating_a.normalize();
    match device.curve {
        // The instantaneous trip is the same up to 5 s, and quicker than 0.2 s.
        Some(curve) => forms.limit(&format!("zs/circuit-breaker/{}/{rating}", curve.letter())),
        None => forms.limit(&format!(
            "zs/{}/{}s/{rating}",
            device.standard.key(),
            time_s.normalize()
        )),
    }
}

/// The longest time the device may take, by what it supplies and the earthing.
pub(super) fn disconnection_time<'a>(
    judge: &Judge<'a>,
    circuit: &Circuit,
    device: &Device,
) -> Result<&'a Limit, MissingLimit> {
    let earthing = if judge.job.supply.earthing == Earthing::Tt {
        "tt"
    } else {
        "tn"
    };
    let up_to = match circuit.kind {
        CircuitKind::Distribution => None,
        CircuitKind::Sockets => Some(judge.forms.limit("time/final-up-to/sockets")?),
        _ => Some(judge.forms.limit("time/final-up-to/fixed")?),
    };
    let kind = match up_to {
        Some(edge) if device.rating_a <= edge.value => "final",
        _ => "distribution",
    };
    judge.forms.limit(&format!("time/{earthing}/{kind}"))
}

/// A second look: the RCD may carry what the overcurrent device can't, and Zs should not be above its parts.
pub(super) fn against_sum(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    value: &Value,
) -> Option<(Verdict, String)> {
    let Owner::Circuit(board, _) = seat.owner else {
        return None;
    };
    let n = value.number()?;
    let (expected, how) = expected_zs(judge, seat, board)?;
    let spread = judge.forms.limit("expect/zs-tolerance").ok()?.f64() / 100.0;
    let floor = judge.forms.limit("expect/zs-floor").ok()?.f64();
    let most = rounded(expected * (1.0 + spread) + floor, 2)?;
    let near = rounded(expected, 2)?;
    (n > most).then(|| {
        (
            Verdict::Query,
            format!("{n} Ω is well above {near} Ω, which is {how}: loose joint, wrong circuit, wrong decimal place, or R1+R2 not taken at the furthest point"),
        )
    })
}

/// In TN a reading past the overcurrent limit may still be carried by an RCD: then it is a query that says so.
pub(super) fn carried_by_rcd(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    value: &Value,
) -> Option<(Verdict, String)> {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return None;
    };
    let rcd = circuit.rcd.as_ref().or(board.rcd.as_ref())?;
    let n = value.number()?;
    let (limit, source) = rcd_limit(judge.forms, rcd.idn_ma).ok()?;
    (judge.job.supply.earthing != Earthing::Tt && n <= limit).then(|| {
        (
            Verdict::Query,
            format!(
                "{n} Ω is past the overcurrent limit; only the {} RCD carries fault protection (≤ {limit} Ω, {} [{}]): look for a loose joint before accepting that",
                rcd.describe(),
                source.source.text,
                source.source.mark
            ),
        )
    })
}

/// What Zs should not exceed: impedance at the board plus R1+R2, with the words for it.
fn expected_zs(judge: &Judge<'_>, seat: &Seat<'_>, board: &Board) -> Option<(f64, String)> {
    let r1r2 = seat.readings.value(Test::R1r2)?.number()?;
    let zdb = board.readings.value(Test::Zdb).and_then(|v| v.number());
    let (name, upstream) = match zdb {
        Some(z) => ("Zdb", z),
        None if board.fed_from.is_empty() => {
            ("Ze", judge.job.supply.readings.value(Test::Ze)?.number()?)
        }
        None => return None,
    };
    let z = calc::zs_ohm(f64_of(upstream), f64_of(r1r2)).ok()?;
    Some((z, format!("{name} {upstream} Ω + R1+R2 {r1r2} Ω")))
}

/// Highest Zs or RA for an RCD of that IΔn: from the table, else from the formula.
pub(super) fn rcd_limit(forms: &Forms, idn_ma: Decimal) -> Result<(Decimal, &Limit), MissingLimit> {
    if let Ok(row) = forms.limit(&format!("rcd/ra/{}", idn_ma.normalize())) {
        return Ok((row.value, row));
    }
    let touch = touch(forms)?;
    let ohm = calc::rcd_zs_max_ohm(touch.f64(), f64_of(idn_ma))
        .ok()
        .and_then(|z| rounded(z.floor(), 0));
    ohm.map(|z| (z, touch))
        .ok_or_else(|| MissingLimit(format!("rcd/ra/{}", idn_ma.normalize())))
}

fn touch(forms: &Forms) -> Result<&Limit, MissingLimit> {
    forms.limit("rcd/touch-voltage")
}

/// Rated residual current of the least sensitive RCD of the job, mA.
fn largest_idn(judge: &Judge<'_>) -> Option<Decimal> {
    let boards = judge.job.boards.iter();
    boards
        .flat_map(|b| {
            b.rcd
                .iter()
                .chain(b.circuits.iter().filter_map(|c| c.rcd.as_ref()))
        })
        .map(|rcd| rcd.idn_ma)
        .max()
}
