//! Continuity of bonding and protective conductors, and R1+R2 against the length of the cable.

use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, Ruled, f64_of, rounded};
use crate::calc;
use crate::forms::MissingLimit;
use crate::job::{Bond, Cable, CableForm, Cpc, Owner, Seat, Test, Value};

/// A bonding conductor, or the earth continuity of an array's frame.
///
/// Guidance: with a known length from the length, without one the usual value. Far above either it is outside.
pub(super) fn conductor(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let usual = judge.forms.limit("bond/continuity")?;
    let rule = |how: &str| -> Ruled {
        let far = judge.forms.limit("bond/far")?;
        Ok(Rule::of(Bound::AtMost(usual.value), how, usual)
            .for_guidance()
            .outside_past(Bound::AtMost(far.value))
            .with(far))
    };
    let Owner::Bond(bond) = seat.owner else {
        return rule("guide value for the frame; a longer path may read more: say why");
    };
    let Some((length, ohm)) = expected_bond(judge, bond) else {
        return rule("guide value for a bonding conductor; look for a poor clamp or joint");
    };
    let tolerance = judge.forms.limit("expect/r1r2-tolerance")?;
    let contacts = judge.forms.limit("expect/bond-contacts")?;
    let floor = judge.forms.limit("expect/bond-floor")?;
    let factor = judge.forms.limit("bond/far-factor")?;
    let share = Decimal::ONE + tolerance.value / Decimal::ONE_HUNDRED;
    // A length makes a short bond no laxer than it is without one.
    let most = (ohm * share + contacts.value).max(usual.value).round_dp(2);
    let far = (ohm * share + floor.value).round_dp(2) * factor.value;
    let shown = ohm.round_dp(3);
    Ok(Rule::of(
        Bound::AtMost(most),
        format!(
            "{shown} Ω from the length + {} % + {} Ω, at least {} Ω, guidance; more: look for a poor clamp or joint",
            tolerance.value.normalize(),
            contacts.value.normalize(),
            usual.value.normalize()
        ),
        usual,
    )
    .for_guidance()
    .outside_past(Bound::AtMost(far.round_dp(2)))
    .with(contacts)
    .with(floor)
    .with(tolerance)
    .with(factor)
    .with_all(&super::made_with::bond(judge, bond))
    .expecting(Some(format!(
        "{shown} Ω from {} m of {} mm²",
        length.normalize(),
        bond.mm2.normalize()
    )))
    .near(Some(ohm)))
}

/// Length of a bond and what it should read, Ω; `None` without a length, or for a size that no table lists.
fn expected_bond(judge: &Judge<'_>, bond: &Bond) -> Option<(Decimal, Decimal)> {
    let length = bond.length_m?;
    let id = format!("conductor/class2/{}", bond.mm2.normalize());
    let per_m = judge.forms.limit(&id).ok()?.f64();
    let at = Ambient::of(judge, "temp/alpha").ok()?;
    let ohm = conductor_ohm(per_m, f64_of(length), at)?;
    rounded(ohm, 6).map(|ohm| (length, ohm))
}

/// R1+R2 of a circuit. It has no limit of its own: it is compared with the length, and Zs is limited.
pub(super) fn r1r2(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let rule = Rule::free("no limit of its own: Zs has one; a break reads over range");
    let Some(expected) = expected_r1r2(judge, seat) else {
        let unmeasured = matches!(seat.owner, Owner::Circuit(_, c)
            if c.cable.as_ref().is_some_and(|cable| cable.length_m.is_none()));
        let words = "the length is not recorded: no expectation";
        return Ok(rule.expecting(unmeasured.then(|| words.into())));
    };
    let (low, high) = window(judge, expected)?;
    let sound = from_length(judge, seat).unwrap_or(expected);
    Ok(rule
        .outside_past(far(judge, sound)?)
        .with_all(&super::made_with::r1r2(judge, seat))
        .expecting(rounded(expected, 2).map(|r| {
            format!("{r} Ω from length, size and temperature (queried below {low} or above {high})")
        }))
        .near(rounded(expected, 4)))
}

/// R1+R2 that is far from what the cable should have is queried; so is nothing at all, and a range that ends above it.
pub(super) fn against_length(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let query = |why: String| Some(Doubt::query(why).by_all(&judge.entries(&EXPECTED)));
    let Some(expected) = expected_r1r2(judge, seat) else {
        return match value {
            Value::Number(n) if n.is_zero() => {
                Some(Doubt::query("zero can't be: leads, range or typing"))
            }
            Value::UnderRange(end) => Some(Doubt::query(format!(
                "<{end} Ω doesn't show what it is: use a finer range"
            ))),
            _ => None,
        };
    };
    let (low, high) = window(judge, expected).ok()?;
    let near = rounded(expected, 2)?;
    match value {
        Value::Number(n) if *n > high => query(format!(
            "{n} Ω, but the cable should give about {near} Ω: loose joint, leads not nulled, longer run or smaller cable than recorded, or a wrong decimal place"
        )),
        Value::Number(n) if *n < low => query(too_low(judge, seat, *n, &n.to_string(), near)),
        // All that is known of it: it is no more than that.
        Value::UnderRange(end) if *end < low => {
            query(too_low(judge, seat, *end, &format!("<{end}"), near))
        }
        Value::UnderRange(end) if !low.is_zero() || *end > high => query(format!(
            "<{end} Ω doesn't show whether it is the {near} Ω that the cable should give: use a finer range"
        )),
        _ => None,
    }
}

/// What is wrong with less than the cable can have. No parallel path bypasses the line conductor.
fn too_low(judge: &Judge<'_>, seat: &Seat<'_>, n: Decimal, shown: &str, near: Decimal) -> String {
    let line = match seat.owner {
        Owner::Circuit(_, circuit) => circuit.cable.as_ref().and_then(|cable| {
            let quarter = if circuit.ring { 0.25 } else { 1.0 };
            Some(line_ohm(judge, cable)? * quarter)
        }),
        _ => None,
    };
    let alone = line.filter(|line| n.is_zero() || f64_of(n) < *line);
    match alone.and_then(|line| rounded(line, 3)) {
        Some(line) => format!(
            "{shown} Ω is less than the line conductor alone, about {line} Ω of the {near} Ω that the cable should give: leads touching, measured at the board, nulled with more than the leads, or a wrong decimal place"
        ),
        None => format!(
            "{shown} Ω, but the cable should give about {near} Ω: parallel path, wrong circuit, shorter run than recorded, or a wrong decimal place"
        ),
    }
}

/// Entries that say how far a reading may lie from its expectation.
pub(super) const EXPECTED: [&str; 4] = [
    "expect/r1r2-tolerance",
    "expect/r1r2-floor",
    "expect/r1r2-accuracy",
    "expect/resolution",
];

/// Past this a dead reading is no matter of length or joints.
pub(super) fn far(judge: &Judge<'_>, expected: f64) -> Result<Bound, MissingLimit> {
    let factor = judge.forms.limit("expect/far-factor")?.f64();
    let floor = judge.forms.limit("expect/far-floor")?.f64();
    Ok(rounded(expected * factor + floor, 2).map_or(Bound::Free, Bound::AtMost))
}

/// R1+R2 from the length alone, with the highest that its tolerance allows, Ω.
pub(super) fn by_length(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<(Decimal, Decimal)> {
    let expected = from_length(judge, seat)?;
    let (_, high) = window(judge, expected).ok()?;
    Some((rounded(expected, 4)?, high))
}

/// Lowest and highest reading that agrees with an expectation, Ω.
pub(super) fn window(judge: &Judge<'_>, expected: f64) -> Result<(Decimal, Decimal), MissingLimit> {
    let band = calc::Band {
        tolerance_pct: judge.forms.limit("expect/r1r2-tolerance")?.f64(),
        floor_ohm: judge.forms.limit("expect/r1r2-floor")?.f64(),
        accuracy_ohm: judge.forms.limit("expect/r1r2-accuracy")?.f64(),
        resolution_ohm: judge.forms.limit("expect/resolution")?.f64(),
    };
    let (low, high) = calc::expected_band_ohm(expected, band).unwrap_or((0.0, f64::MAX));
    Ok((
        rounded(low, 2).unwrap_or_default(),
        rounded(high, 2).unwrap_or(Decimal::MAX),
    ))
}

/// What R1+R2 should read: from r1 and r2 of the ring where they were taken, else from the cable. `None` without a length,
/// or for a size that no table lists.
fn expected_r1r2(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<f64> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    if circuit.ring {
        let end = |t| seat.readings.value(t).and_then(|v| v.number()).map(f64_of);
        if let (Some(r1), Some(r2)) = (end(Test::R1), end(Test::R2)) {
            return Some((r1 + r2) / 4.0);
        }
    }
    from_length(judge, seat)
}

/// What R1+R2 should read by the cable, whatever was measured.
pub(super) fn from_length(judge: &Judge<'_>, seat: &Seat<'_>) -> Option<f64> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    let cable = circuit.cable.as_ref()?;
    let quarter = if circuit.ring { 0.25 } else { 1.0 };
    Some((line_ohm(judge, cable)? + cpc_ohm(judge, cable)?) * quarter)
}

/// Protective conductor from end to end at the temperature of the test, Ω.
pub(super) fn cpc_ohm(judge: &Judge<'_>, cable: &Cable) -> Option<f64> {
    let length = f64_of(cable.length_m?);
    let (id, alpha) = match cable.cpc {
        Cpc::Copper(mm2) => (
            format!("conductor/{}/{}", class(cable.form), mm2.normalize()),
            "temp/alpha",
        ),
        Cpc::Armour(cores) => (
            format!("armour/{cores}/{}", cable.line_mm2.normalize()),
            "temp/alpha-steel",
        ),
    };
    let per_m = judge.forms.limit(&id).ok()?.f64();
    conductor_ohm(per_m, length, Ambient::of(judge, alpha).ok()?)
}

/// Line conductor from end to end at the temperature of the test, Ω; `None` without a length, or for a size that no table
/// lists.
pub(super) fn line_ohm(judge: &Judge<'_>, cable: &Cable) -> Option<f64> {
    let id = format!(
        "conductor/{}/{}",
        class(cable.form),
        cable.line_mm2.normalize()
    );
    let per_m = judge.forms.limit(&id).ok()?.f64();
    let at = Ambient::of(judge, "temp/alpha").ok()?;
    conductor_ohm(per_m, f64_of(cable.length_m?), at)
}

/// Share of the line conductor in R1+R2 by the sizes; `None` for a size that no table lists.
pub(super) fn line_share(judge: &Judge<'_>, cable: &Cable) -> Option<f64> {
    let metre = Cable {
        length_m: Some(Decimal::ONE),
        ..cable.clone()
    };
    let line = line_ohm(judge, &metre)?;
    Some(line / (line + cpc_ohm(judge, &metre)?))
}

/// Class of the conductors of a cable, as the resistances are listed.
pub(super) fn class(form: CableForm) -> &'static str {
    match form {
        CableForm::Flexible => "class5",
        _ => "class2",
    }
}

/// Temperature of the test, and how the metal follows it.
#[derive(Debug, Clone, Copy)]
struct Ambient {
    temp_c: f64,
    alpha_per_k: f64,
    reference_c: f64,
}

impl Ambient {
    fn of(judge: &Judge<'_>, alpha: &str) -> Result<Self, MissingLimit> {
        let reference_c = judge.forms.limit("temp/reference")?.f64();
        Ok(Ambient {
            temp_c: judge.job.ambient_c.map_or(reference_c, f64_of),
            alpha_per_k: judge.forms.limit(alpha)?.f64(),
            reference_c,
        })
    }
}

fn conductor_ohm(mohm_per_m: f64, length_m: f64, at: Ambient) -> Option<f64> {
    let cold = calc::conductor_ohm(mohm_per_m, length_m).ok()?;
    calc::ohm_at_temperature(cold, at.alpha_per_k, at.temp_c, at.reference_c).ok()
}
