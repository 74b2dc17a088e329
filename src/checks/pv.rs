//! PV strings: open-circuit voltage, short-circuit current and insulation.

use rust_decimal::Decimal;

use super::{Bound, Judge, Rule, Ruled, Verdict, f64_of, rounded};
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
    )))
}

/// Voc of a string against its expectation at this irradiance and cell temperature, low-light term included.
pub(super) fn voc(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::PvString(array, string) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let limit = judge.forms.limit("pv/voc-tolerance")?;
    let Some(weather) = weather(judge, seat.readings)? else {
        return Ok(Rule::free(
            "irradiance and cell temperature first: without them Voc can't be judged",
        ));
    };
    let Some(expected) = expected_voc(array, string, weather) else {
        return Ok(Rule::free(
            "no expectation at this irradiance and temperature",
        ));
    };
    let n = string.modules.len();
    let rule = around(
        expected,
        limit,
        &format!("{n} modules at {weather}, with the low-light term"),
    );
    Ok(
        indicative(judge, weather, rule)?.expecting(rounded(expected, 1).map(|v| {
            let each = rounded(expected / n as f64, 1).unwrap_or_default();
            format!("{v} V: {n} modules of {each} V at this light and temperature")
        })),
    )
}

/// Isc of a string against its expectation; guidance, because irradiance moves while one measures.
pub(super) fn isc(judge: &Judge<'_>, seat: &Seat<'_>) -> Ruled {
    let Owner::PvString(array, _) = seat.owner else {
        return Ok(Rule::free("recorded"));
    };
    let limit = judge.forms.limit("pv/isc-tolerance")?;
    let Some(weather) = weather(judge, seat.readings)? else {
        return Ok(Rule::free(
            "irradiance and cell temperature first: without them Isc can't be judged",
        ));
    };
    let Some(expected) = expected_isc(array, weather) else {
        return Ok(Rule::free(
            "no expectation at this irradiance and temperature",
        ));
    };
    let rule = around(
        expected,
        limit,
        &format!("the data sheet's current, at {weather}; indicative"),
    );
    Ok(rule
        .for_guidance()
        .expecting(rounded(expected, 2).map(|a| format!("{a} A at this light"))))
}

/// Insulation of a string: test voltage and limit by 1.25 times the string's Voc.
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
            .map(Limit::f64)
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
    .at(volts))
}

/// String against string of the same array, each as a share of its own expectation.
pub(super) fn against_other_strings(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
) -> Option<(Verdict, String)> {
    let Owner::PvString(array, string) = seat.owner else {
        return None;
    };
    let Layout::Strings(strings) = &array.layout else {
        return None;
    };
    let mine = share(judge, array, string, seat.readings, test, value.number()?)?;
    let id = if test == Test::Voc {
        "pv/string-voc"
    } else {
        "pv/string-isc"
    };
    let tolerance = judge.forms.limit(id).ok()?;
    strings.iter().filter(|s| s.id != string.id).find_map(|other| {
        let reading = other.readings.value(test)?.number()?;
        let theirs = share(judge, array, other, &other.readings, test, reading)?;
        let apart = (mine - theirs).abs() * 100.0;
        (apart > tolerance.f64()).then(|| {
            (
                Verdict::Query,
                format!(
                    "{} is {} % from {}/{} when both are compared with their expectation (guide {} %): shade, a bypassed module, or the light moved between the readings",
                    seat.place(test),
                    rounded(apart, 1).unwrap_or_default(),
                    other.id,
                    test,
                    tolerance.value.normalize()
                ),
            )
        })
    })
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
        beta_pct_k: f64_of(array.module.beta_pct_k),
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

/// What was measured at the string, with the reference conditions; `None` until both were taken.
fn weather(judge: &Judge<'_>, readings: &Readings) -> Result<Option<Weather>, MissingLimit> {
    let number = |t| readings.value(t).and_then(|v| v.number()).map(f64_of);
    let reference = CellConditions {
        irradiance_w_m2: judge.forms.limit("pv/reference-irradiance")?.f64(),
        temp_c: judge.forms.limit("pv/reference-temp")?.f64(),
    };
    let ideality = judge.forms.limit("pv/ideality")?.f64();
    Ok(number(Test::Irradiance)
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

fn around(expected: f64, limit: &Limit, how: &str) -> Rule {
    let share = limit.f64() / 100.0;
    let low = rounded(expected * (1.0 - share), 1).unwrap_or_default();
    let high = rounded(expected * (1.0 + share), 1).unwrap_or(Decimal::MAX);
    Rule::of(
        Bound::Between(low, high),
        format!("±{} % of {how}", limit.value.normalize()),
        limit,
    )
}
