//! Earth: electrode, Ze and Zdb.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::zs::{self, Sum};
use super::{Bound, Doubt, Figure, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::{Forms, Limit, Mark, MissingLimit, Source};
use crate::job::{Board, Earthing, Owner, Seat, Test, Value};

/// Earth electrode: RA times IΔn of the least sensitive RCD up to the touch voltage.
pub(super) fn electrode(judge: &Judge<'_>) -> Ruled {
    let Some(idn) = judge.tree.largest_idn() else {
        return Ok(without_rcd(judge));
    };
    let limit = rcd_limit(judge.forms, idn)?;
    let touch = judge.forms.limit("rcd/touch-voltage")?;
    Ok(Rule::by(
        Bound::AtMost(limit.value),
        format!(
            "RA × IΔn ≤ {} V with {} mA",
            touch.value.normalize(),
            idn.normalize()
        ),
        limit,
    )
    .with(touch))
}

/// Electrode of the supply, or of a backup output: that one by advice, as the RCDs behind it may not all be recorded.
pub(super) fn electrode_of(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    if !matches!(seat.owner, Owner::Storage(_)) {
        return electrode(judge);
    }
    let stable = judge.forms.limit("rcd/ra-stable")?;
    let rule = Rule::of(
        Bound::AtMost(stable.value),
        "advice for an electrode that stays stable; it alone is the earth of the backup output in island mode",
        stable,
    )
    .for_guidance();
    let Some(idn) = judge.tree.largest_idn() else {
        return Ok(rule);
    };
    let limit = rcd_limit(judge.forms, idn)?;
    Ok(rule
        .outside_past(Bound::AtMost(limit.value.max(stable.value)))
        .with_all(&limit.basis))
}

/// Without any RCD the electrode has to be good enough for every overcurrent device.
fn without_rcd(judge: &Judge<'_>) -> Rule {
    judge.without_rcd().clone()
}

pub(super) fn work_without_rcd(judge: &Judge<'_>) -> Rule {
    let unknown = || {
        Rule::free("TT, and no RCD is recorded").no_better_than(
            Verdict::Outside,
            "TT, no RCD is recorded, and an overcurrent limit is unknown: nothing shows that a fault is switched off",
        )
    };
    let mut lowest: Option<(Decimal, Rule)> = None;
    for circuit in judge.job.boards.iter().flat_map(|b| &b.circuits) {
        let Some(device) = &circuit.device else {
            continue;
        };
        let Ok(rule) = zs::overcurrent(judge, circuit, device) else {
            return unknown();
        };
        if let Bound::AtMost(limit) = rule.bound
            && lowest.as_ref().is_none_or(|(least, _)| limit < *least)
        {
            lowest = Some((limit, rule));
        }
    }
    lowest.map_or_else(unknown, |(_, mut rule)| {
        rule.how = format!("TT, and no RCD is recorded: {}", rule.how);
        rule
    })
}

/// External impedance: on TT like the electrode; else what distributors usually declare, as guidance.
pub(super) fn external(judge: &Judge<'_>) -> Ruled {
    let id = match judge.job.supply.earthing {
        Earthing::Tt => {
            let ra = judge.job.supply.readings.value(Test::Ra);
            let ra = ra.and_then(|v| v.number());
            let words = ra.map(|ra| format!("about RA {ra} Ω or somewhat more"));
            return Ok(electrode(judge)?.expecting(words).near(ra));
        }
        Earthing::TnS => "ze/tn-s",
        Earthing::TnCS => "ze/tn-c-s",
    };
    let limit = judge.forms.limit(id)?;
    let factor = judge.forms.limit("ze/far-factor")?;
    let far = limit.value * factor.value;
    Ok(Rule::of(
        Bound::AtMost(limit.value),
        format!(
            "usually declared for {}; more is a question for the distributor",
            judge.job.supply.earthing.name()
        ),
        limit,
    )
    .for_guidance()
    .outside_past(Bound::AtMost(far))
    .with(factor))
}

/// Zdb: recorded, on TT like the electrode; expected near Ze (plus the sub-main).
pub(super) fn board(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let (expected, near) = match seat.owner {
        Owner::Board(board) => expected_at(judge, board),
        _ => (None, None),
    };
    let rule = if judge.job.supply.earthing == Earthing::Tt {
        let mut rule = electrode(judge)?;
        if let Some(ahead) = without_rcd_ahead(judge, seat) {
            rule.how = format!("{}; {}", rule.how, in_words(ahead));
            rule = rule.with(ahead);
        }
        rule
    } else {
        Rule::free("no limit of its own: part of every Zs of the board")
    };
    Ok(rule.expecting(expected).near(near))
}

const NONE_AHEAD: &str = "no RCD is ahead of all circuits of this board";

/// What follows from that.
fn in_words(ahead: &Limit) -> String {
    format!(
        "{NONE_AHEAD}: what is before the first RCD takes an insulated enclosure and insulated, protected tails, or an RCD upstream [{}]",
        ahead.source.mark
    )
}

/// On TT: what a board takes that no RCD is ahead of, in words.
pub(super) fn before_rcds(judge: &Judge<'_>, board: &Board) -> Option<String> {
    Some(in_words(no_rcd_ahead(judge, board)?))
}

/// The same behind the verdict on a Zdb that doesn't say it yet.
pub(super) fn with_before_rcds(judge: &Judge<'_>, seat: &Seat<'_>, why: &str) -> Option<String> {
    let ahead = without_rcd_ahead(judge, seat)?;
    (!why.contains(NONE_AHEAD)).then(|| format!("{why}; {}", in_words(ahead)))
}

/// On TT: a board that no RCD is ahead of.
fn without_rcd_ahead<'a>(judge: &Judge<'a>, seat: &Seat<'_>) -> Option<&'a Arc<Limit>> {
    match seat.owner {
        Owner::Board(board) => no_rcd_ahead(judge, board),
        _ => None,
    }
}

fn no_rcd_ahead<'a>(judge: &Judge<'a>, board: &Board) -> Option<&'a Arc<Limit>> {
    let on_tt = judge.job.supply.earthing == Earthing::Tt;
    if !on_tt || board.circuits.is_empty() || judge.tree.rcd_ahead(board).is_some() {
        return None;
    }
    judge.forms.limit("rcd/tt-ahead").ok()
}

/// On TT: a board within its limit by RCDs that sit behind its busbar, which switch off no fault before them. The inspection of
/// protection by other means answers for it, and no reason in place of the reading does.
pub(super) fn before_its_rcds(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let ahead = without_rcd_ahead(judge, seat)?;
    if judge.job.inspect.value(Test::OtherMeans) == Some(Value::Pass) {
        return None;
    }
    let read = match value {
        Value::Number(n) => format!("{n} Ω is no more than the limit, but "),
        reason if reason.is_excused() => format!("there is no Zdb ({reason}), and "),
        _ => return None,
    };
    Some(Doubt::query(format!(
        "{read}{}: no RCD switches off a fault there. A qualified person looks, and passes inspect/other-means where it is so",
        in_words(ahead)
    )).by(ahead))
}

/// What Zdb should be near: Ze at the origin; behind a sub-main what is upstream of it, by readings, else by length.
fn expected_at(judge: &Judge<'_>, board: &Board) -> (Option<String>, Option<Decimal>) {
    let Some(ze) = ze(judge) else {
        return (None, None);
    };
    if is_at_origin(board) {
        return (Some(format!("about Ze {ze} Ω plus the tails")), Some(ze));
    }
    if let Some(sum) = upstream(judge, board) {
        let words = format!("about {} Ω: {}", sum.ohm.round_dp(2), sum.how);
        return (Some(words), Some(sum.ohm));
    }
    let by_length = judge.sub_mains(board);
    match by_length.and_then(|ohm| Some((ohm, ze.checked_add(ohm)?))) {
        Some((ohm, sum)) => {
            let words = format!(
                "about {} Ω: Ze {ze} Ω + sub-mains {} Ω from the length",
                sum.round_dp(2),
                ohm.round_dp(2)
            );
            (Some(words), Some(sum))
        }
        None => (Some(format!("more than Ze {ze} Ω, by the sub-main")), None),
    }
}

/// RA that is far below the Ze of a TT supply, which is little more than that electrode.
pub(super) fn electrode_below_loop(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    value: &Value,
) -> Option<Doubt> {
    if judge.job.supply.earthing != Earthing::Tt || !matches!(seat.owner, Owner::Supply(_)) {
        return None;
    }
    let n = value.number()?;
    let ze = ze(judge)?;
    let factor = judge.forms.limit("cross/ze-above-ra").ok()?;
    let added = judge.forms.limit("cross/ze-above-ra-added").ok()?;
    let most = n.checked_mul(factor.value)?.checked_add(added.value)?;
    (ze > most).then(|| {
        Doubt::query(format!(
            "{n} Ω, but Ze, which is this electrode and what the distributor's side adds, is {ze} Ω, more than {} times as much and {} Ω: a wrong decimal place in one of the two, the electrode was read with another earth connected, or the earthing conductor has a bad connection",
            factor.value.normalize(),
            added.value.normalize()
        )).by(factor).by(added)
    })
}

/// Ze of a TT supply that is far below the electrode it goes through.
pub(super) fn below_electrode(judge: &Judge<'_>, value: &Value) -> Option<Doubt> {
    if judge.job.supply.earthing != Earthing::Tt {
        return None;
    }
    let n = value.number()?;
    let ra = judge.job.supply.readings.value(Test::Ra)?.number()?;
    let share = judge.forms.limit("cross/ze-below-ra").ok()?;
    let least = ra
        .checked_mul(share.value)?
        .checked_div(Decimal::ONE_HUNDRED)?;
    (n < least).then(|| {
        Doubt::query(format!(
            "{n} Ω is less than {} % of RA {ra} Ω, which this loop goes through: bonding or another earth was still connected, so it reads that path: take it off and read again, or RA is mistyped",
            share.value.normalize()
        )).by(share)
    })
}

/// On TT an earth of the installation that is lower than an electrode hardly ever is: what reads so may be gone tomorrow.
pub(super) fn low_on_tt(judge: &Judge<'_>, value: &Value) -> Option<Doubt> {
    if judge.job.supply.earthing != Earthing::Tt {
        return None;
    }
    let n = value.number()?;
    let low = judge.forms.limit("cross/tt-low").ok()?;
    (n < low.value).then(|| {
        Doubt::query(format!(
            "{n} Ω is below {} Ω [{}]: on TT an earth this low comes over somebody's metal pipe or a neutral, or the supply isn't TT: disconnect what else is connected and look again",
            low.value.normalize(),
            low.source.mark
        )).by(low)
    })
}

/// On TT the earth of the installation in words, where a loop reads far below it: of RA and Ze, which go through the same
/// electrode, the larger.
pub(super) fn far_below_earth<'a>(
    judge: &Judge<'a>,
    n: Decimal,
) -> Option<(String, &'a Arc<Limit>)> {
    let read = |test: Test| judge.job.supply.readings.value(test)?.number();
    let (ra, ze) = (read(Test::Ra), read(Test::Ze));
    let both = [("RA", ra), ("Ze", ze)].into_iter();
    let earth = both.filter_map(|(name, ohm)| Some((name, ohm?)));
    is_far_below(judge, n, earth.max_by_key(|(_, ohm)| *ohm)?)
}

fn is_far_below<'a>(
    judge: &Judge<'a>,
    n: Decimal,
    (name, ohm): (&str, Decimal),
) -> Option<(String, &'a Arc<Limit>)> {
    if judge.job.supply.earthing != Earthing::Tt {
        return None;
    }
    let share = judge.forms.limit("cross/loop-below-earth").ok()?;
    let least = ohm
        .checked_mul(share.value)?
        .checked_div(Decimal::ONE_HUNDRED)?;
    (n < least).then(|| (format!("{name} {ohm} Ω"), share))
}

/// A second look at Zdb: not well above what is upstream of it, nor, at the origin, above what is usually declared.
pub(super) fn against_upstream(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::Board(board) = seat.owner else {
        return None;
    };
    let n = value.number()?;
    if let Some(fault) = far_above_supply(judge, board, n) {
        return Some(fault);
    }
    // Where Ze and RA contradict each other, that is queried there.
    let earth = match ze(judge) {
        Some(ze) => Some(("Ze", ze)),
        None => judge
            .job
            .supply
            .readings
            .value(Test::Ra)
            .and_then(|v| Some(("RA", v.number()?))),
    };
    if let Some((earth, share)) = earth.and_then(|earth| is_far_below(judge, n, earth)) {
        return Some(Doubt::query(format!(
            "{n} Ω is less than {} % of {earth}: the loop closes over another earth, such as somebody's pipe, which may be gone tomorrow, or the decimal point slipped: disconnect it and look again",
            share.value.normalize()
        )).by(share));
    }
    if earth.is_none()
        && let Some(low) = low_on_tt(judge, value)
    {
        return Some(low);
    }
    if let Some(upstream) = upstream(judge, board) {
        return (n > upstream.most).then(|| {
            Doubt::query(format!(
                    "{n} Ω is well above {} Ω, which is {}: loose tails or earth, or a wrong decimal place",
                    upstream.ohm, upstream.how
                )).by_all(&judge.entries(&upstream.ids))
        });
    }
    let declared = external(judge).ok()?;
    if let Bound::AtMost(far) = declared.far
        && let Some(most) = far.checked_add(far_added(judge, Decimal::ZERO)?)
        && is_at_origin(board)
        && n > most
    {
        return Some(Doubt::outside(format!(
            "{n} Ω is far above {far} Ω, past which an external impedance is a fault: open or loose earth"
        )).by_all(&declared.basis).by_all(&judge.entries(&FAR)));
    }
    match declared.bound {
        Bound::AtMost(x) if board.fed_from.is_empty() && n > x => Some(
            Doubt::query(format!("{n} Ω is above {x} Ω, {}", declared.how)).by_all(&declared.basis),
        ),
        _ => None,
    }
}

/// Zdb that no tails and no sub-main explain.
fn far_above_supply(judge: &Judge<'_>, board: &Board, n: Decimal) -> Option<Doubt> {
    let ze = ze(judge)?;
    let sub_mains = judge.sub_mains(board)?;
    // On TT the electrode is most of it, and what it reads scatters in proportion.
    let from = if judge.job.supply.earthing == Earthing::Tt {
        let with = ze.checked_add(sub_mains)?;
        Sum::of(judge.forms, with, String::new())?.most
    } else {
        ze
    };
    let most = from.checked_add(far_added(judge, sub_mains)?)?.round_dp(2);
    (n > most).then(|| {
        Doubt::outside(format!(
                "{n} Ω is above {most} Ω, far more than Ze {ze} Ω and sub-mains of {} Ω give: open or loose earth, or loose tails",
                sub_mains.round_dp(2)
            )).by_all(&judge.entries(&FAR))
    })
}

/// Entries that say how much a conductor adds at the very most.
pub(super) const FAR: [&str; 2] = ["expect/far-factor", "expect/far-floor"];

/// What a conductor of that resistance adds at the very most, Ω.
pub(super) fn far_added(judge: &Judge<'_>, ohm: Decimal) -> Option<Decimal> {
    let factor = judge.forms.limit("expect/far-factor").ok()?.value;
    let floor = judge.forms.limit("expect/far-floor").ok()?.value;
    ohm.checked_mul(factor)?.checked_add(floor)
}

/// An impedance at a board that nothing speaks against: Zdb where it fits what is upstream, else Ze and the sub-mains by
/// length where Ze is no fault itself.
pub(super) fn sound_at(judge: &Judge<'_>, board: &Board) -> Option<(&'static str, Decimal)> {
    let zdb = board.readings.value(Test::Zdb).and_then(|v| v.number());
    if let Some(zdb) = zdb
        && fits_upstream(judge, board, zdb)
    {
        return Some(("Zdb", zdb));
    }
    let ze = ze(judge).filter(|ze| !is_far(judge, *ze))?;
    Some(("Ze", ze.checked_add(judge.sub_mains(board)?)?))
}

fn fits_upstream(judge: &Judge<'_>, board: &Board, zdb: Decimal) -> bool {
    if far_above_supply(judge, board, zdb).is_some() || is_far(judge, zdb) && is_at_origin(board) {
        return false;
    }
    // Behind a sub-main of unknown length nothing shows that it is sound.
    judge.sub_mains(board).is_some()
        && match upstream(judge, board) {
            Some(sum) => zdb <= sum.most,
            None => is_at_origin(board),
        }
}

fn is_at_origin(board: &Board) -> bool {
    board.fed_from.is_empty()
}

/// Past what could be a distributor's figure.
pub(super) fn is_far(judge: &Judge<'_>, ohm: Decimal) -> bool {
    let far = external(judge).map(|rule| rule.far);
    !matches!(far, Ok(Bound::AtMost(x)) if ohm <= x)
}

/// Ze for a board at the origin; for another, Zdb of the board that feeds it plus R1+R2 of the sub-main.
fn upstream(judge: &Judge<'_>, board: &Board) -> Option<Sum> {
    if board.fed_from.is_empty() {
        let ze = ze(judge)?;
        return Sum::of(judge.forms, ze, format!("Ze {ze} Ω"));
    }
    let (feeding, sub_main) = judge.circuit(&board.fed_from)?;
    let zdb = feeding.readings.value(Test::Zdb)?.number()?;
    let r1r2 = sub_main.readings.value(Test::R1r2)?.number()?;
    let how = format!("Zdb {zdb} Ω of {} + R1+R2 {r1r2} Ω", feeding.id);
    Sum::of(judge.forms, zdb.checked_add(r1r2)?, how)
}

/// Advice on an electrode that is in, but higher than it stays stable for certain.
pub(super) fn stability(judge: &Judge<'_>, test: Test, value: &Value) -> Option<String> {
    let earth = matches!(test, Test::Ra | Test::Ze | Test::Zdb | Test::Zs);
    if !earth || judge.job.supply.earthing != Earthing::Tt {
        return None;
    }
    let stable = judge.forms.limit("rcd/ra-stable").ok()?;
    (value.number()? > stable.value).then(|| {
        format!(
            "above {} Ω an electrode may not stay stable (advice) [{}]",
            stable.value.normalize(),
            stable.source.mark
        )
    })
}

/// Highest Zs or RA for an RCD of that IΔn: from the table, else from the formula, with what it comes from.
pub(super) fn rcd_limit(forms: &Forms, idn_ma: Decimal) -> Result<Figure, MissingLimit> {
    let id = format!("rcd/ra/{}", idn_ma.normalize());
    if let Ok(row) = forms.limit(&id) {
        return Ok(Figure::from(row));
    }
    let touch = forms.limit("rcd/touch-voltage")?;
    let ohm = calc::rcd_zs_max_ohm(touch.f64(), f64_of(idn_ma))
        .ok()
        .and_then(|z| rounded(z.floor(), 0));
    let source = Source {
        text: format!(
            "{} V / IΔn, rounded down; the voltage: {}",
            touch.value.normalize(),
            touch.source.text
        ),
        mark: Mark::Derived,
        ..touch.source.clone()
    };
    ohm.map(|value| Figure {
        value,
        source,
        basis: vec![touch.clone()],
    })
    .ok_or(MissingLimit(id))
}

fn ze(judge: &Judge<'_>) -> Option<Decimal> {
    judge.job.supply.readings.value(Test::Ze)?.number()
}
