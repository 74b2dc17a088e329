//! Voltage along cables, PV strings, insulation and the connection.

use anyhow::{Result, bail};

use super::input::Inputs;
use super::result::Results;
use super::tabled;
use crate::calc::{self, CellConditions, ModuleVoltage};
use crate::forms::Forms;

pub(super) fn voltage_change(input: &Inputs, forms: &Forms) -> Result<Results> {
    let mut out = Results::default();
    let per_a_m = match (input.has("mv_a_m"), input.has("line_mm2")) {
        (true, false) => input.number("mv_a_m")?,
        (false, true) => {
            let row = tabled(input, forms, "line_mm2", "mv/flat-twin-earth-70/")?;
            out = out.by(row).why(format!(
                "{} mV/A/m of flat twin and earth at operating temperature",
                row.value.normalize()
            ));
            row.f64()
        }
        _ => bail!("give one of `mv_a_m` and `line_mm2`, such as mv_a_m=11 or line_mm2=4"),
    };
    let v = calc::voltage_change_v(per_a_m, input.number("i_a")?, input.number("length_m")?)?;
    let percent = calc::percent_of(v, input.number("u_v")?)?;
    Ok(out.reckoned("v", v, "V").reckoned("percent", percent, "%"))
}

pub(super) fn trunk_rise(input: &Inputs, forms: &Forms) -> Result<Results> {
    let row = tabled(input, forms, "line_mm2", "conductor/class2/")?;
    let (alpha, reference) = (forms.limit("temp/alpha")?, forms.limit("temp/reference")?);
    let warm = calc::temperature_factor(alpha.f64(), input.number("temp_c")?, reference.f64())?;
    let v = calc::trunk_rise_v(
        input.count("n")?,
        input.number("i_a")?,
        input.number("spacing_m")?,
        row.f64() * warm,
    )?;
    let u0 = forms.limit("supply/u0")?;
    let target = forms.limit("rise/target")?;
    Ok(Results::default()
        .reckoned("v", v, "V")
        .reckoned("percent", calc::percent_of(v, u0.f64())?, "%")
        .why(format!(
            "trunk only: sub-main and branch come on top; of {} V, working target {} % in all",
            u0.value.normalize(),
            target.value.normalize()
        ))
        .by(row)
        .by(alpha)
        .by(target))
}

/// Standard test conditions by the limit files.
fn reference(forms: &Forms) -> Result<CellConditions> {
    Ok(CellConditions {
        irradiance_w_m2: forms.limit("pv/reference-irradiance")?.f64(),
        temp_c: forms.limit("pv/reference-temp")?.f64(),
    })
}

fn conditions(input: &Inputs) -> Result<CellConditions> {
    Ok(CellConditions {
        irradiance_w_m2: input.number("irradiance_w_m2")?,
        temp_c: input.number("temp_c")?,
    })
}

pub(super) fn pv_voc(input: &Inputs, forms: &Forms) -> Result<Results> {
    let module = ModuleVoltage {
        voc_v: input.number("voc_v")?,
        beta_pct_k: input.number("beta_pct_k")?,
        cells: input.count("cells")?,
        ideality: input.number("ideality")?,
    };
    let at = conditions(input)?;
    let v = calc::expected_voc_v(&module, input.count("modules")?, at, reference(forms)?)?;
    let judged = forms.limit("pv/irradiance-judged")?;
    let mut why = "temperature and low light taken together".to_string();
    if at.irradiance_w_m2 < judged.f64() {
        why.push_str(&format!(
            "; below {} W/m² only indicative",
            judged.value.normalize()
        ));
    }
    Ok(Results::default().reckoned("v", v, "V").why(why).by(judged))
}

pub(super) fn pv_isc(input: &Inputs, forms: &Forms) -> Result<Results> {
    let a = calc::expected_isc_a(
        input.number("isc_a")?,
        input.number("alpha_pct_k")?,
        conditions(input)?,
        reference(forms)?,
    )?;
    Ok(Results::default()
        .reckoned("a", a, "A")
        .why("indicative: light changes while it is measured"))
}

pub(super) fn pv_insulation(input: &Inputs, forms: &Forms) -> Result<Results> {
    let factor = forms.limit("pv/system-factor")?;
    let edge = |n: u8| forms.limit(&format!("pv-ir/{n}/below")).map(|l| l.f64());
    let system = calc::system_voltage_v(
        input.number("voc_v")?,
        input.count("modules")?,
        factor.f64(),
    )?;
    let band = calc::pv_insulation_band(system, edge(1)?, edge(2)?, edge(3)?)?.key();
    let test = forms.limit(&format!("pv-ir/{band}/test"))?;
    let least = forms.limit(&format!("pv-ir/{band}/min"))?;
    Ok(Results::default()
        .reckoned("system_v", system, "V")
        .exact("test_v", test.value, "V")
        .exact("min_mohm", least.value, "MΩ")
        .why(format!(
            "chosen by {} × Voc of the string, not by Voc",
            factor.value.normalize()
        ))
        .by(test)
        .by(least))
}

pub(super) fn insulation(input: &Inputs, forms: &Forms) -> Result<Results> {
    let low = forms.limit("ir/extra-low-voltage-edge")?;
    let high = forms.limit("ir/low-voltage-edge")?;
    let band = calc::insulation_band(input.number("nominal_v")?, low.f64(), high.f64())?.key();
    let test = forms.limit(&format!("ir/{band}/test"))?;
    let least = forms.limit(&format!("ir/{band}/min"))?;
    let mut out =
        Results::default()
            .exact("test_v", test.value, "V")
            .exact("min_mohm", least.value, "MΩ");
    if band == calc::InsulationBand::ExtraLowVoltage.key() {
        out = out.why("for SELV and PELV; FELV is tested like the circuit it belongs to");
    }
    Ok(out.by(test).by(least))
}

pub(super) fn parallel(input: &Inputs, _: &Forms) -> Result<Results> {
    let mohm = calc::parallel(&input.list("r_mohm")?)?;
    Ok(Results::default()
        .reckoned("mohm", mohm, "MΩ")
        .why("1 / Σ 1/R"))
}

pub(super) fn connection(input: &Inputs, forms: &Forms) -> Result<Results> {
    let edge = forms.limit("grid/g98-up-to")?;
    let total = calc::connection_total_a(&input.list("amps")?)?;
    let procedure = calc::connection_procedure(total, edge.f64())?;
    let notify = forms.limit("grid/notify")?;
    let why = match procedure {
        calc::Procedure::G98 => format!(
            "up to {} A on a phase: connect, then tell the network operator within {} days",
            edge.value.normalize(),
            notify.value.normalize()
        ),
        calc::Procedure::G99 => format!(
            "above {} A on a phase: apply to the network operator first",
            edge.value.normalize()
        ),
    };
    Ok(Results::default()
        .reckoned("total_a", total, "A")
        .word("procedure", procedure.name())
        .why(why)
        .by(edge))
}
