//! Continuity of bonding and protective conductors, and R1+R2 against the length of the cable.

use rust_decimal::Decimal;

use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::{Forms, MissingLimit};
use crate::job::{Cable, CableForm, Cpc, Owner, Seat, Test, Value};

/// A bonding conductor, or the earth continuity of an array's frame.
pub(super) fn conductor(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let limit = judge.forms.limit("bond/continuity")?;
    let most = Bound::AtMost(limit.value);
    match seat.owner {
        Owner::Bond(bond) => {
            let expected = match bond.length_m {
                Some(length) => {
                    let per_m = judge
                        .forms
                        .limit(&format!("conductor/class2/{}", bond.mm2.normalize()))?;
                    conductor_ohm(
                        per_m.f64(),
                        f64_of(length),
                        Ambient::of(judge, "temp/alpha")?,
                    )
                }
                None => None,
            };
            let text = expected.and_then(|r| rounded(r, 3)).map(|r| {
                format!(
                    "{r} Ω from {} m of {} mm²",
                    bond.length_m.unwrap_or_default().normalize(),
                    bond.mm2.normalize()
                )
            });
            Ok(Rule::of(
                most,
                "guide value for a bonding conductor; look for a poor clamp or joint",
                limit,
            )
            .expecting(text))
        }
        _ => Ok(Rule::of(
            most,
            "guide value for the frame; a longer path may read more: say why",
            limit,
        )
        .for_guidance()),
    }
}

/// R1+R2 of a circuit. It has no limit of its own: it is compared with the length, and Zs is limited.
pub(super) fn r1r2(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let expected = expected_r1r2(judge, seat)?;
    let mut rule = Rule::free("no limit of its own: Zs has one; a break reads over range");
    match expected {
        Some(e) => {
            let (low, high) = window(judge, e)?;
            rule.expected = rounded(e, 2).map(|r| {
                format!(
                    "{r} Ω from length, size and temperature (queried below {low} or above {high})"
                )
            });
        }
        None => rule.expected = Some("the length is not recorded: no expectation".into()),
    }
    Ok(rule)
}

/// An open R1+R2 is outside; one that is far from what the cable should have is queried.
pub(super) fn against_length(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    value: &Value,
) -> Option<(Verdict, String)> {
    let number = match value {
        Value::OverRange(end) => {
            return Some((
                Verdict::Outside,
                format!(
                    "over range (>{end} Ω): line or cpc is open, or the link at the board is missing"
                ),
            ));
        }
        Value::Number(n) => *n,
        _ => return None,
    };
    let expected = expected_r1r2(judge, seat).ok()??;
    let (low, high) = window(judge, expected).ok()?;
    let near = rounded(expected, 2)?;
    let query = |why: String| Some((Verdict::Query, why));
    if number > high {
        query(format!(
            "{number} Ω, but the cable should give about {near} Ω: loose joint, leads not nulled, longer run or smaller cable than recorded, or a wrong decimal place"
        ))
    } else if number < low {
        query(format!(
            "{number} Ω, but the cable should give about {near} Ω: parallel path, wrong circuit, shorter run than recorded, or a wrong decimal place"
        ))
    } else {
        None
    }
}

fn window(judge: &Judge<'_>, expected: f64) -> Result<(Decimal, Decimal), MissingLimit> {
    let tolerance = judge.forms.limit("expect/r1r2-tolerance")?.f64();
    let floor = judge.forms.limit("expect/r1r2-floor")?.f64();
    let (low, high) =
        calc::expected_band_ohm(expected, tolerance, floor).unwrap_or((0.0, f64::MAX));
    Ok((
        rounded(low, 2).unwrap_or_default(),
        rounded(high, 2).unwrap_or(Decimal::MAX),
    ))
}

/// What R1+R2 should read: from r1 and r2 of the ring where they were taken, else from the cable.
fn expected_r1r2(judge: &Judge<'_>, seat: &Seat<'_>) -> Result<Option<f64>, MissingLimit> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return Ok(None);
    };
    if circuit.ring {
        let end = |t| seat.readings.value(t).and_then(|v| v.number()).map(f64_of);
        if let (Some(r1), Some(r2)) = (end(Test::R1), end(Test::R2)) {
            return Ok(Some((r1 + r2) / 4.0));
        }
    }
    let Some(cable) = &circuit.cable else {
        return Ok(None);
    };
    let Some(length) = cable.length_m else {
        return Ok(None);
    };
    let copper = Ambient::of(judge, "temp/alpha")?;
    let length = f64_of(length);
    let line = conductor_ohm(line_mohm_per_m(judge.forms, cable)?, length, copper);
    let cpc = match cable.cpc {
        Cpc::Copper(mm2) => {
            let per_m = judge.forms.limit(&format!(
                "conductor/{}/{}",
                class(cable.form),
                mm2.normalize()
            ))?;
            conductor_ohm(per_m.f64(), length, copper)
        }
        Cpc::Armour(cores) => {
            let per_m = judge
                .forms
                .limit(&format!("armour/{cores}/{}", cable.line_mm2.normalize()))?;
            conductor_ohm(per_m.f64(), length, Ambient::of(judge, "temp/alpha-steel")?)
        }
    };
    let quarter = if circuit.ring { 0.25 } else { 1.0 };
    Ok(line.zip(cpc).map(|(l, c)| (l + c) * quarter))
}

/// Line conductor from end to end at the temperature of the test, Ω; `None` without a length.
pub(super) fn line_ohm(judge: &Judge<'_>, cable: &Cable) -> Result<Option<f64>, MissingLimit> {
    let Some(length) = cable.length_m else {
        return Ok(None);
    };
    let per_m = line_mohm_per_m(judge.forms, cable)?;
    Ok(conductor_ohm(
        per_m,
        f64_of(length),
        Ambient::of(judge, "temp/alpha")?,
    ))
}

/// Resistance of the line conductor per metre at 20 °C.
fn line_mohm_per_m(forms: &Forms, cable: &Cable) -> Result<f64, MissingLimit> {
    Ok(forms
        .limit(&format!(
            "conductor/{}/{}",
            class(cable.form),
            cable.line_mm2.normalize()
        ))?
        .f64())
}

fn class(form: CableForm) -> &'static str {
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
