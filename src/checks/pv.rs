//! PV strings: open-circuit voltage, short-circuit current and insulation.

use std::collections::HashMap;
use std::sync::Arc;

use rust_decimal::{Decimal, RoundingStrategy};

use super::rule::compare;
use super::{Bound, Doubt, Judge, Rule, Ruled, Verdict, f64_of, pv_insulation, rounded};
use crate::calc;
use crate::calc::{CellConditions, ModuleVoltage};
use crate::forms::{Limit, MissingLimit};
use crate::job::{Array, Layout, Owner, PvString, Readings, Seat, Test, Value};

/// Irradiance: recorded; below a floor the string readings are indicative only.
pub(super) fn irradiance(judge: &Judge<'_>) -> Ruled {
    let floor = judge.forms.limit("pv/irradiance-judged")?;
    Ok(Rule::free(format!(
        "in the plane of the array; below {} W/m² Voc and Isc are indicative only",
        floor.value.normalize()
    ))
    .with(floor))
}

/// Irradiance that daylight on a roof doesn't give.
pub(super) fn irradiance_slip(judge: &Judge<'_>, value: &Value) -> Option<Doubt> {
    let low = judge.forms.limit("pv/irradiance-low").ok()?;
    let high = judge.forms.limit("pv/irradiance-high").ok()?;
    let plausible = value
        .number()
        .is_some_and(|n| n >= low.value && n <= high.value);
    (!plausible && !value.is_excused()).then(|| {
        Doubt::query(format!(
                "{value} W/m² is not between {} and {}: a typing slip, or a covered sensor? Voc and Isc can't be judged with it [{}]",
                low.value.normalize(),
                high.value.normalize(),
                low.source.mark
            )).by(low).by(high)
    })
}

/// Voc of a string against its expectation at this irradiance and cell temperature, low-light term included. Without an
/// expectation, or in low light, it is queried, and outside where it is far too low at any light.
pub(super) fn voc(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::PvString(array, string) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let limit = judge.forms.limit("pv/voc-tolerance")?;
    let share = judge.forms.limit("pv/dead-share")?.value / Decimal::ONE_HUNDRED;
    let n = string.modules.len();
    let far = Bound::AtLeast((array.module.voc_v * Decimal::from(n) * share).normalize());
    let weather = weather(judge, seat.readings)?;
    let Some((expected, weather)) =
        weather.and_then(|w| Some((expected_voc(array, string, w)?, w)))
    else {
        let rule = match array.module.beta_pct_k {
            None => no_coefficient(),
            Some(_) => unjudged("Voc"),
        };
        return Ok(rule.outside_past(far).with_all(&judge.entries(&DEAD)));
    };
    let rule = around(
        expected,
        limit,
        &format!("{n} modules at {weather}, with the low-light term"),
        1,
    );
    Ok(indicative(judge, weather, rule)?
        .outside_past(far)
        .with_all(&judge.entries(&[&MODEL[..], &["pv/ideality"], &DEAD].concat()))
        .expecting(rounded(expected, 1).map(|v| {
            let each = rounded(expected / n as f64, 1).unwrap_or_default();
            format!("{v} V: {n} modules of {each} V at this light and temperature")
        }))
        .near(rounded(expected, 3)))
}

/// Isc of a string against its expectation; guidance, because irradiance moves while one measures. Far below it is outside.
pub(super) fn isc(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::PvString(array, _) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let limit = judge.forms.limit("pv/isc-tolerance")?;
    let share = judge.forms.limit("pv/dead-share")?.f64() / 100.0;
    let weather = weather(judge, seat.readings)?;
    let Some((expected, weather)) = weather.and_then(|w| Some((expected_isc(array, w)?, w))) else {
        return Ok(unjudged("Isc"));
    };
    let rule = around(
        expected,
        limit,
        &format!("the data sheet's current, at {weather}; indicative"),
        2,
    );
    let far = rounded(expected * share, 2).map_or(Bound::Free, Bound::AtLeast);
    Ok(rule
        .for_guidance()
        .outside_past(far)
        .with_all(&judge.entries(&[&MODEL[..], &DEAD].concat()))
        .expecting(rounded(expected, 2).map(|a| format!("{a} A at this light")))
        .near(rounded(expected, 4)))
}

/// Entries that an expectation is made with, and those of the share under which a string is dead.
const MODEL: [&str; 2] = ["pv/reference-irradiance", "pv/reference-temp"];
const DEAD: [&str; 1] = ["pv/dead-share"];
/// The module's record lacks what temperature does to its voltage.
fn no_coefficient() -> Rule {
    let why = "no temperature coefficient of Voc is recorded: put `beta_pct_k` of the module from its data sheet";
    Rule::free(why).no_better_than(Verdict::Query, format!("can't be judged: {why}"))
}

/// A reading of a string that nothing can be expected of.
fn unjudged(what: &str) -> Rule {
    Rule::free(format!(
        "irradiance and cell temperature first: without them {what} can't be judged"
    ))
    .no_better_than(
        Verdict::Query,
        format!(
            "can't be judged: irradiance and cell temperature are not taken, excused, or out of range, so no {what} can be expected"
        ),
    )
}

/// Insulation of a string: test voltage and limit by the string's Voc times the factor of the forms.
pub(super) fn insulation(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Ruled {
    let Owner::PvString(array, string) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let factor = judge.forms.limit("pv/system-factor")?;
    let system = factor.value * array.module.voc_v * Decimal::from(string.modules.len());
    let edge = |n: u8| {
        judge
            .forms
            .limit(&format!("pv-ir/{n}/below"))
            .map(|l| l.f64())
    };
    let band = calc::pv_insulation_band(f64_of(system), edge(1)?, edge(2)?, edge(3)?)
        .map_err(|_| MissingLimit("pv-ir".into()))?
        .key();
    let volts = judge.forms.limit(&format!("pv-ir/{band}/test"))?;
    let least = judge.forms.limit(&format!("pv-ir/{band}/min"))?;
    let method = match test {
        Test::IrPos => "positive to earth",
        Test::IrNeg => "negative to earth",
        _ => "both poles joined, to earth; not comparable with each pole alone",
    };
    Ok(Rule::of(
        Bound::AtLeast(least.value),
        format!(
            "{method}, at {} V: {} × {} modules × {} V = {} V",
            volts.value.normalize(),
            factor.value.normalize(),
            string.modules.len(),
            array.module.voc_v.normalize(),
            system.normalize()
        ),
        least,
    )
    .at(volts)
    .with(factor)
    .with_all(&judge.entries(&["pv-ir/1/below", "pv-ir/2/below", "pv-ir/3/below"]))
    .expecting(pv_insulation::expected(
        judge,
        array,
        string,
        test,
        seat.readings,
    )))
}

/// Strings of each array by what they read as a share of their own expectation, the lowest first. A string that is faulty by
/// its own reading is left out: nothing is to be learnt from it about another.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Shares(HashMap<String, [Vec<(f64, String)>; 2]>);

/// What is compared from string to string.
const SHARED: [Test; 2] = [Test::Voc, Test::Isc];

impl Shares {
    /// Of a whole job.
    pub(super) fn of(judge: &Judge<'_>) -> Shares {
        let mut out = HashMap::new();
        for array in &judge.job.arrays {
            let Layout::Strings(strings) = &array.layout else {
                continue;
            };
            let both = SHARED.map(|test| {
                let mut shares: Vec<(f64, String)> = strings
                    .iter()
                    .filter_map(|s| {
                        let reading = s.readings.value(test)?.number()?;
                        if is_outside(judge, array, s, test) {
                            return None;
                        }
                        let share = share(judge, array, s, &s.readings, test, reading)?;
                        Some((share, s.id.clone()))
                    })
                    .collect();
                shares.sort_by(|a, b| a.0.total_cmp(&b.0));
                shares
            });
            out.insert(array.id.clone(), both);
        }
        Shares(out)
    }

    /// The string of an array that is furthest from a share, other than one of that id.
    fn furthest(&self, array: &str, test: Test, mine: f64, but: &str) -> Option<(f64, &str)> {
        let at = SHARED.iter().position(|t| *t == test)?;
        let all = self.0.get(array)?.get(at)?;
        let lowest = all.iter().find(|(_, id)| *id != but)?;
        let highest = all.iter().rfind(|(_, id)| *id != but)?;
        let apart = |share: f64| (mine - share).abs() * 100.0;
        let low = (apart(lowest.0), lowest.1.as_str());
        let high = (apart(highest.0), highest.1.as_str());
        Some(if low.0 >= high.0 { low } else { high })
    }
}

/// String against string of the same array, each as a share of its own expectation.
pub(super) fn against_other_strings(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<Doubt> {
    let Owner::PvString(array, string) = seat.owner else {
        return None;
    };
    let mine = share(judge, array, string, seat.readings, test, value.number()?)?;
    let shares = judge.shares();
    let (apart, other) = shares.furthest(&array.id, test, mine, &string.id)?;
    let id = if test == Test::Voc {
        "pv/string-voc"
    } else {
        "pv/string-isc"
    };
    let tolerance = judge.forms.limit(id).ok()?;
    let differs = format!(
        "{} is {} % from {other}/{test} when both are compared with their expectation",
        seat.place(test),
        rounded(apart, 1).unwrap_or_default(),
    );
    if apart > tolerance.f64() {
        return Some(Doubt::query(format!(
            "{differs} (guide {} %): shade, a bypassed module, or the light moved between the readings",
            tolerance.value.normalize()
        )).by(tolerance));
    }
    if test != Test::Voc {
        return None;
    }
    let advice = judge.forms.limit("pv/string-voc-advice").ok()?;
    (apart > advice.f64()).then(|| {
        Doubt::query(format!(
            "{differs} (advice {} % [{}]): one shorted bypass diode in the lower of the two looks like this",
            advice.value.normalize(),
            advice.source.mark
        )).by(advice)
    })
}

/// Whether a string is faulty by its own reading.
fn is_outside(judge: &Judge<'_>, array: &Array, string: &PvString, test: Test) -> bool {
    let seat = Seat {
        top: &array.id,
        part: Some(string.id.as_str().into()),
        owner: Owner::PvString(array, string),
        readings: &string.readings,
    };
    let value = string.readings.value(test);
    value
        .zip(judge.rule(&seat, test).ok())
        .is_some_and(|(value, rule)| {
            compare(&rule, &value, test.unit(), None).verdict == Verdict::Outside
        })
}

/// Whether a reading of a string was taken in too little light for its tolerance to mean much.
pub(super) fn is_indicative(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> bool {
    let light = seat.readings.value(Test::Irradiance);
    matches!(test, Test::Voc | Test::Isc)
        && light
            .and_then(|v| v.number())
            .zip(judge.forms.limit("pv/irradiance-judged").ok())
            .is_some_and(|(g, floor)| g < floor.value)
}

/// A likely cause for a Voc outside its window.
pub(super) fn likely_cause(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<String> {
    let Owner::PvString(array, string) = seat.owner else {
        return None;
    };
    let weather = weather(judge, seat.readings).ok()??;
    let n = string.modules.len();
    let each = expected_voc(array, string, weather)? / n as f64;
    let like = f64_of(value.number()?) / each;
    let whole = like.round();
    ((like - whole).abs() < 0.2 && whole >= 1.0 && (whole - n as f64).abs() >= 0.5).then(|| {
        format!("reads like {whole} modules instead of {n}: a module or connector is missing, or the modules are another type")
    })
}

fn share(
    judge: &Judge<'_>,
    array: &Array,
    string: &PvString,
    readings: &Readings,
    test: Test,
    reading: Decimal,
) -> Option<f64> {
    let weather = weather(judge, readings).ok()??;
    let expected = match test {
        Test::Voc => expected_voc(array, string, weather)?,
        _ => expected_isc(array, weather)?,
    };
    Some(f64_of(reading) / expected)
}

/// Irradiance and cell temperature at a string, and those of the data sheet.
#[derive(Debug, Clone, Copy)]
struct Weather {
    at: CellConditions,
    reference: CellConditions,
    ideality: f64,
}

impl std::fmt::Display for Weather {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "{} W/m² and {} °C",
            self.at.irradiance_w_m2, self.at.temp_c
        )
    }
}

fn expected_voc(array: &Array, string: &PvString, weather: Weather) -> Option<f64> {
    let module = ModuleVoltage {
        voc_v: f64_of(array.module.voc_v),
        beta_pct_k: f64_of(array.module.beta_pct_k?),
        cells: u32::from(array.module.cells),
        ideality: weather.ideality,
    };
    let modules = u32::try_from(string.modules.len()).ok()?;
    calc::expected_voc_v(&module, modules, weather.at, weather.reference).ok()
}

fn expected_isc(array: &Array, weather: Weather) -> Option<f64> {
    let m = &array.module;
    calc::expected_isc_a(
        f64_of(m.isc_a),
        f64_of(m.alpha_pct_k),
        weather.at,
        weather.reference,
    )
    .ok()
}

/// What was measured at the string, with the reference conditions; `None` until both were taken, or where the irradiance
/// can't be.
fn weather(judge: &Judge<'_>, readings: &Readings) -> Result<Option<Weather>, MissingLimit> {
    let number = |t| readings.value(t).and_then(|v| v.number()).map(f64_of);
    let reference = CellConditions {
        irradiance_w_m2: judge.forms.limit("pv/reference-irradiance")?.f64(),
        temp_c: judge.forms.limit("pv/reference-temp")?.f64(),
    };
    let ideality = judge.forms.limit("pv/ideality")?.f64();
    let low = judge.forms.limit("pv/irradiance-low")?.f64();
    let high = judge.forms.limit("pv/irradiance-high")?.f64();
    Ok(number(Test::Irradiance)
        .filter(|g| (low..=high).contains(g))
        .zip(number(Test::CellTemp))
        .map(|(irradiance_w_m2, temp_c)| Weather {
            at: CellConditions {
                irradiance_w_m2,
                temp_c,
            },
            reference,
            ideality,
        }))
}

fn indicative(judge: &Judge<'_>, weather: Weather, rule: Rule) -> Ruled {
    let floor = judge.forms.limit("pv/irradiance-judged")?;
    let rule = rule.with(floor);
    if weather.at.irradiance_w_m2 >= floor.f64() {
        return Ok(rule);
    }
    let mut rule = rule.for_guidance();
    rule.how = format!(
        "{}; indicative only below {} W/m²",
        rule.how,
        floor.value.normalize()
    );
    Ok(rule)
}

/// A window that is never wider than its tolerance: its ends are rounded inwards to `dp` places.
fn around(expected: f64, limit: &Arc<Limit>, how: &str, dp: u32) -> Rule {
    use RoundingStrategy::{AwayFromZero, ToZero};
    let share = limit.f64() / 100.0;
    // Without the dust of binary fractions.
    let end = |x: f64, inwards| Some(rounded(x, 6)?.round_dp_with_strategy(dp, inwards));
    let low = end(expected * (1.0 - share), AwayFromZero).unwrap_or_default();
    let high = end(expected * (1.0 + share), ToZero).unwrap_or(Decimal::MAX);
    Rule::of(
        Bound::Between(low, high),
        format!("±{} % of {how}", limit.value.normalize()),
        limit,
    )
}
