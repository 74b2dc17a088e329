//! Loop impedance, RCDs, continuity and fault current.

use anyhow::{Result, bail};
use rust_decimal::Decimal;

use super::input::Inputs;
use super::result::Results;
use super::tabled;
use crate::calc;
use crate::forms::Forms;
use crate::job::DeviceStandard;

pub(super) fn zs_limit(input: &Inputs, forms: &Forms) -> Result<Results> {
    let keys = DeviceStandard::ALL.map(DeviceStandard::key);
    let device = input.word("device", &keys)?;
    let has_curve = DeviceStandard::from_key(device).is_some_and(DeviceStandard::has_curve);
    let prefix = if has_curve {
        if !input.has("curve") {
            bail!("`curve` is missing: a {device} has the curve B, C or D, such as curve=B");
        }
        let curve = input.word("curve", &["b", "c", "d"])?.to_uppercase();
        // Trips at once at that current, so the time makes no difference up to 5 s.
        let time = input.decimal("time_s")?;
        if time < Decimal::new(1, 1) || time > Decimal::from(5) {
            bail!("`time_s` is {time}; it can be from 0.1 to 5, such as time_s=0.4");
        }
        format!("zs/circuit-breaker/{curve}/")
    } else {
        if input.has("curve") {
            bail!("`curve` does not go with {device}: a fuse has none; leave it out");
        }
        let time = tabled_time(input, forms, device)?;
        format!("zs/{device}/{}s/", time.normalize())
    };
    let table = tabled(input, forms, "rating_a", &prefix)?;
    let factor = forms.limit("zs/site-factor")?;
    let site = calc::site_limit_ohm(table.value, factor.value)?;
    Ok(Results::default()
        .exact("table_ohm", table.value, "Ω")
        .exact("site_ohm", site, "Ω")
        .why(format!(
            "site_ohm is {} of the table's value, rounded down, for conductors that are cold",
            factor.value.normalize()
        ))
        .by(table)
        .by(factor))
}

/// A time that there is a table of the fuse for.
fn tabled_time(input: &Inputs, forms: &Forms, device: &str) -> Result<Decimal> {
    let prefix = format!("zs/{device}/");
    let mut known: Vec<Decimal> = forms
        .limits_under(&prefix)
        .filter_map(|l| {
            let (time, _) = l.id.strip_prefix(&prefix)?.split_once("s/")?;
            time.parse().ok()
        })
        .collect();
    known.sort();
    known.dedup();
    let time = input.decimal("time_s")?;
    if known.contains(&time) {
        return Ok(time);
    }
    let list: Vec<String> = known.iter().map(|t| t.normalize().to_string()).collect();
    bail!(
        "`time_s` is {time}; there are tables of {device} for {}, such as time_s={}",
        list.join(" and "),
        list.first().map_or("0.4", String::as_str)
    )
}

pub(super) fn rcd_zs(input: &Inputs, forms: &Forms) -> Result<Results> {
    let touch = forms.limit("rcd/touch-voltage")?;
    // Also where a table has it: so that a value that can't be is refused with its range.
    let reckoned = calc::rcd_zs_max_ohm(touch.f64(), input.number("idn_ma")?)?;
    let idn = input.decimal("idn_ma")?.normalize();
    let why = format!(
        "{} V / IΔn; the factor for cold readings doesn't apply",
        touch.value.normalize()
    );
    let out = match forms.limit(&format!("rcd/ra/{idn}")) {
        Ok(row) => Results::default().exact("max_ohm", row.value, "Ω").by(row),
        Err(_) => Results::default()
            .reckoned("max_ohm", reckoned.floor(), "Ω")
            .by(touch),
    };
    Ok(out.why(why))
}

pub(super) fn rcd_time(input: &Inputs, forms: &Forms) -> Result<Results> {
    let kind = input.word("kind", &["general", "s"])?;
    let multiple = match input.decimal("multiple")?.normalize().to_string().as_str() {
        "0.5" => {
            let hold = forms.limit("rcd/half/hold")?;
            return Ok(Results::default()
                .none("max_ms")
                .exact("min_ms", hold.value, "ms")
                .why("at half its rated residual current it must not trip within that time")
                .by(hold));
        }
        "1" => "1x",
        "5" => "5x",
        other => bail!("`multiple` is {other}; it can be 0.5, 1 or 5, such as multiple=1"),
    };
    let most = forms.limit(&format!("rcd/{kind}/{multiple}/max"))?;
    let mut out = Results::default().exact("max_ms", most.value, "ms");
    out = if kind == "s" {
        let least = forms.limit(&format!("rcd/s/{multiple}/min"))?;
        out.exact("min_ms", least.value, "ms").by(most).by(least)
    } else {
        out.none("min_ms").by(most)
    };
    Ok(out.why("one a.c. test whatever the type; the longer of 0° and 180° counts"))
}

pub(super) fn r1r2(input: &Inputs, forms: &Forms) -> Result<Results> {
    let line = tabled(input, forms, "line_mm2", "conductor/class2/")?;
    let cpc = tabled(input, forms, "cpc_mm2", "conductor/class2/")?;
    let (alpha, reference) = (forms.limit("temp/alpha")?, forms.limit("temp/reference")?);
    let operating = forms.limit("temp/operating/70c")?;
    let at_reference = calc::r1r2_ohm(line.f64(), cpc.f64(), input.number("length_m")?)?;
    let now = calc::ohm_at_temperature(
        at_reference,
        alpha.f64(),
        input.number("temp_c")?,
        reference.f64(),
    )?;
    Ok(Results::default()
        .reckoned("ohm", now, "Ω")
        .reckoned(
            "ohm_operating",
            calc::ohm_at_operating(at_reference, operating.f64())?,
            "Ω",
        )
        .why(format!(
            "({} + {}) mΩ/m at {} °C; operating at 70 °C",
            line.value.normalize(),
            cpc.value.normalize(),
            reference.value.normalize()
        ))
        .by(line)
        .by(alpha)
        .by(operating))
}

pub(super) fn ring(input: &Inputs, forms: &Forms) -> Result<Results> {
    let names = ["r1_ohm", "rn_ohm", "r2_ohm"];
    let open: Vec<&str> = names
        .into_iter()
        .filter(|n| input.text(n).starts_with('>'))
        .collect();
    if !open.is_empty() {
        let none = Results::default().none("ln_ohm").none("r1r2_ohm");
        return Ok(none
            .word("verdict", "outside")
            .why(format!("{} over range: the ring is open", open.join(", "))));
    }
    let [r1, rn, r2] = [
        input.number("r1_ohm")?,
        input.number("rn_ohm")?,
        input.number("r2_ohm")?,
    ];
    let difference = forms.limit("ring/difference")?;
    let ratio = forms.limit("ring/ratio-2.5-1.5")?;
    let tolerance = forms.limit("expect/r1r2-tolerance")?.f64() / 100.0;
    let floor = forms.limit("expect/r1r2-floor")?.f64();
    let apart = calc::ring_difference_ohm(r1, rn)?;
    let (ln, r1r2) = (calc::ring_ln_ohm(r1, rn)?, calc::ring_r1r2_ohm(r1, r2)?);
    let expected = calc::ring_cpc_expected_ohm(r1, ratio.f64())?;
    let (verdict, why) = if apart > difference.f64() {
        let why = format!(
            "r1 and rn are {apart:.2} Ω apart: more than {} Ω",
            difference.value
        );
        ("outside", why)
    } else if (r2 - expected).abs() > expected * tolerance + floor {
        let why = format!(
            "r2 should be near {expected:.2} Ω in a 2.5/1.5 mm² cable: another cable, or look into it"
        );
        ("query", why)
    } else {
        let why = format!(
            "r1 and rn are within {} Ω, r2 near {expected:.2} Ω for a 2.5/1.5 mm² cable",
            difference.value
        );
        ("within", why)
    };
    Ok(Results::default()
        .reckoned("ln_ohm", ln, "Ω")
        .reckoned("r1r2_ohm", r1r2, "Ω")
        .word("verdict", verdict)
        .why(why)
        .by(difference)
        .by(ratio))
}

pub(super) fn zs(input: &Inputs, _: &Forms) -> Result<Results> {
    let ohm = calc::zs_ohm(input.number("ze_ohm")?, input.number("r1r2_ohm")?)?;
    Ok(Results::default()
        .reckoned("ohm", ohm, "Ω")
        .why("Ze + (R1+R2); parallel paths make a reading lower"))
}

pub(super) fn fault_current(input: &Inputs, _: &Forms) -> Result<Results> {
    let ka = calc::fault_current_ka(input.number("u_v")?, input.number("z_ohm")?)?;
    Ok(Results::default().reckoned("ka", ka, "kA").why("U / Z"))
}

pub(super) fn cpc_min(input: &Inputs, _: &Forms) -> Result<Results> {
    let mm2 = calc::cpc_min_mm2(
        input.number("i_a")?,
        input.number("t_s")?,
        input.number("k")?,
    )?;
    Ok(Results::default()
        .reckoned("mm2", mm2, "mm²")
        .why("I √t / k, with the time the device really takes; below 0.1 s use the maker's let-through energy"))
}
