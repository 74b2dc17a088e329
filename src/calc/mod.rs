//! Pure formulas: numbers in, numbers out. No limit lives here; every factor that an edition of a standard could
//! change is an argument.
//!
//! Numbers that are not finite, or that can't occur, are refused with a [`CalcError`]; a result is always finite.
//! The ranges only refuse nonsense. Whether a value is good enough is for the checks to say.

pub mod adiabatic;
pub mod balance;
pub mod branch;
pub mod conductor;
pub mod connection;
pub mod error;
pub mod fault;
mod input;
pub mod insulation;
pub mod parallel;
pub mod pv_design;
pub mod pv_expected;
pub mod rcd;
pub mod ring;
pub mod temperature;
pub mod transformers;
pub mod voltage;
pub mod zs;

pub use adiabatic::{cpc_by_line_size_mm2, cpc_min_from_energy_mm2, cpc_min_mm2};
pub use balance::{is_low_percent, median};
pub use branch::{branch_current_a, branch_load_advised_a};
pub use conductor::{Band, conductor_length_m, conductor_ohm, expected_band_ohm, r1r2_ohm};
pub use connection::{Procedure, connection_procedure, connection_total_a};
pub use error::CalcError;
pub use fault::{
    design_fault_current_ka, fault_current_ka, line_line_ka, three_phase_from_line_line_ka,
    three_phase_from_line_neutral_ka,
};
pub use insulation::{InsulationBand, PvInsulationBand, insulation_band, pv_insulation_band};
pub use parallel::parallel;
pub use pv_design::{
    FuseBounds, isc_max_a, module_insulation_mohm, string_fuse_bounds_a, string_fuse_needed,
    system_voltage_v, vmp_at_v, voc_max_by_factor_v, voc_max_v,
};
pub use pv_expected::{CellConditions, ModuleVoltage, expected_isc_a, expected_voc_v};
pub use rcd::{rcd_zs_max_ohm, touch_voltage_v};
pub use ring::{
    ring_cpc_expected_ohm, ring_cpc_ratio, ring_difference_ohm, ring_ln_ohm, ring_r1r2_ohm,
};
pub use temperature::{ohm_at_operating, ohm_at_reference, ohm_at_temperature, temperature_factor};
pub use transformers::{
    Change, Fault, Meter, Powers, State, Tolerance, allowed_w, explanations, state_fault,
};
pub use voltage::{
    per_line, percent_of, trunk_rise_v, voltage_change_by_resistance_v, voltage_change_v,
};
pub use zs::{operating_current_a, site_limit_ohm, zs_max_ohm, zs_ohm};
