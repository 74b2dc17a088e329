//! Every calculation with its keys: the one table that parsing, help and errors come from.

use anyhow::Result;

use super::input::Inputs;
use super::result::Results;
use super::{circuit, generation};
use crate::forms::Forms;

/// Whether a key has to be given.
#[derive(Debug, Clone, Copy)]
pub(super) enum Need {
    /// It has to.
    Required,
    /// This counts where it isn't.
    Default(&'static str),
    /// It may be left out.
    Optional,
}

/// One key.
#[derive(Debug)]
pub(super) struct Key {
    /// Name, with the unit in it.
    pub(super) name: &'static str,
    /// What it is.
    pub(super) about: &'static str,
    /// Whether it has to be given.
    pub(super) need: Need,
    /// A value.
    sample: &'static str,
    /// Several values with commas between them.
    pub(super) list: bool,
}

impl Key {
    /// Key and a value that would be taken.
    pub(super) fn example(&self) -> String {
        format!("{}={}", self.name, self.sample)
    }
}

/// One calculation.
pub(super) struct Calc {
    /// Its name.
    pub(super) name: &'static str,
    /// What it works out.
    pub(super) about: &'static str,
    /// Its keys, in order.
    pub(super) keys: &'static [Key],
    /// Works it out.
    pub(super) run: fn(&Inputs, &Forms) -> Result<Results>,
}

impl Calc {
    /// The key of that name.
    pub(super) fn key(&self, name: &str) -> Option<&'static Key> {
        self.keys.iter().find(|k| k.name == name)
    }

    /// All keys, those that may be left out in brackets.
    pub(super) fn usage(&self) -> String {
        let words: Vec<String> = self
            .keys
            .iter()
            .map(|k| match k.need {
                Need::Required => k.example(),
                Need::Default(value) => format!("[{}={value}]", k.name),
                Need::Optional => format!("[{}]", k.example()),
            })
            .collect();
        words.join(" ")
    }
}

const fn need(name: &'static str, about: &'static str, sample: &'static str) -> Key {
    Key {
        name,
        about,
        need: Need::Required,
        sample,
        list: false,
    }
}

const fn or(name: &'static str, about: &'static str, value: &'static str) -> Key {
    Key {
        name,
        about,
        need: Need::Default(value),
        sample: value,
        list: false,
    }
}

const fn may(name: &'static str, about: &'static str, sample: &'static str) -> Key {
    Key {
        name,
        about,
        need: Need::Optional,
        sample,
        list: false,
    }
}

const fn many(name: &'static str, about: &'static str, sample: &'static str) -> Key {
    Key {
        name,
        about,
        need: Need::Required,
        sample,
        list: true,
    }
}

/// Every calculation, in the order of help.
pub(super) const ALL: &[Calc] = &[
    Calc {
        name: "zs-limit",
        about: "highest Zs for a protective device, by the table and as read cold on site",
        keys: &[
            need("device", "the standard of the device", "bs-en-60898"),
            may(
                "curve",
                "the tripping curve B, C or D of a circuit-breaker or RCBO",
                "B",
            ),
            need("rating_a", "the rated current in A", "32"),
            or("time_s", "the disconnection time in s, for fuses", "0.4"),
        ],
        run: circuit::zs_limit,
    },
    Calc {
        name: "rcd-zs",
        about: "highest Zs or RA where an RCD is the fault protection",
        keys: &[need("idn_ma", "the rated residual current in mA", "30")],
        run: circuit::rcd_zs,
    },
    Calc {
        name: "rcd-time",
        about: "operating time of an RCD",
        keys: &[
            need("kind", "general, or s for time-delayed", "general"),
            need(
                "multiple",
                "how many times the rated residual current: 0.5, 1 or 5",
                "1",
            ),
        ],
        run: circuit::rcd_time,
    },
    Calc {
        name: "r1r2",
        about: "R1+R2 to be expected of a copper cable",
        keys: &[
            need("line_mm2", "the area of the line conductor in mm²", "2.5"),
            need(
                "cpc_mm2",
                "the area of the protective conductor in mm²",
                "1.5",
            ),
            need("length_m", "the length in m", "22"),
            or(
                "temp_c",
                "the temperature of the conductors during the test in °C",
                "20",
            ),
        ],
        run: circuit::r1r2,
    },
    Calc {
        name: "ring",
        about: "readings to be expected at the sockets of a ring final circuit",
        keys: &[
            need(
                "r1_ohm",
                "the line end to end in Ω; >999 where it is open",
                "0.52",
            ),
            need(
                "rn_ohm",
                "the neutral end to end in Ω; >999 where it is open",
                "0.52",
            ),
            need(
                "r2_ohm",
                "the cpc end to end in Ω; >999 where it is open",
                "0.86",
            ),
        ],
        run: circuit::ring,
    },
    Calc {
        name: "zs",
        about: "Zs from what is outside and the circuit",
        keys: &[
            need("ze_ohm", "Ze or Zdb in Ω", "0.35"),
            need("r1r2_ohm", "R1+R2 in Ω", "0.43"),
        ],
        run: circuit::zs,
    },
    Calc {
        name: "fault-current",
        about: "prospective fault current from an impedance",
        keys: &[
            need("z_ohm", "the loop impedance in Ω", "0.3"),
            or("u_v", "the voltage in V", "230"),
        ],
        run: circuit::fault_current,
    },
    Calc {
        name: "cpc-min",
        about: "least area of a protective conductor",
        keys: &[
            need("i_a", "the fault current in A", "353"),
            need("t_s", "the time the device really takes in s", "0.1"),
            need(
                "k",
                "k of the conductor, 115 for copper in a 70 °C cable",
                "115",
            ),
        ],
        run: circuit::cpc_min,
    },
    Calc {
        name: "voltage-change",
        about: "drop or rise along a single-phase cable",
        keys: &[
            may(
                "mv_a_m",
                "the tabulated drop in mV/A/m; or give line_mm2",
                "11",
            ),
            may(
                "line_mm2",
                "the area in mm² of flat twin and earth; or give mv_a_m",
                "4",
            ),
            need("i_a", "the current in A", "16"),
            need("length_m", "the length in m", "20"),
            or("u_v", "the voltage in V", "230"),
        ],
        run: generation::voltage_change,
    },
    Calc {
        name: "trunk-rise",
        about: "rise along a trunk with inverters spread evenly",
        keys: &[
            need("n", "the number of inverters", "7"),
            need("i_a", "the current of one in A", "1.6"),
            need("spacing_m", "the distance between two in m", "1.8"),
            need("line_mm2", "the area of the trunk in mm²", "2.5"),
            or("temp_c", "the temperature of the conductors in °C", "70"),
        ],
        run: generation::trunk_rise,
    },
    Calc {
        name: "pv-voc",
        about: "open-circuit voltage to be expected of a string, with the low-light term",
        keys: &[
            need("voc_v", "Voc of a module on the data sheet in V", "38.6"),
            need("modules", "the modules in series", "10"),
            need(
                "beta_pct_k",
                "the temperature coefficient of Voc in % per K",
                "-0.26",
            ),
            need("temp_c", "the temperature of the cells in °C", "45"),
            or("irradiance_w_m2", "the irradiance in W/m²", "1000"),
            or("cells", "the cells of a module in series", "60"),
            or("ideality", "the ideality of the diode", "1.0"),
        ],
        run: generation::pv_voc,
    },
    Calc {
        name: "pv-isc",
        about: "short-circuit current to be expected of a string",
        keys: &[
            need("isc_a", "Isc of a module on the data sheet in A", "13.9"),
            need(
                "alpha_pct_k",
                "the temperature coefficient of Isc in % per K",
                "0.045",
            ),
            need("temp_c", "the temperature of the cells in °C", "45"),
            need("irradiance_w_m2", "the irradiance in W/m²", "800"),
        ],
        run: generation::pv_isc,
    },
    Calc {
        name: "pv-insulation",
        about: "insulation test of a string, by its Voc and the factor of the forms",
        keys: &[
            need("voc_v", "Voc of a module on the data sheet in V", "38.6"),
            need("modules", "the modules in series", "10"),
        ],
        run: generation::pv_insulation,
    },
    Calc {
        name: "insulation",
        about: "insulation test of an a.c. circuit",
        keys: &[need("nominal_v", "the nominal voltage in V", "230")],
        run: generation::insulation,
    },
    Calc {
        name: "parallel",
        about: "insulation resistance of circuits measured together",
        keys: &[many("r_mohm", "the resistances in MΩ", "200,50,20")],
        run: generation::parallel,
    },
    Calc {
        name: "connection",
        about: "connection procedure by the sum on one phase",
        keys: &[many(
            "amps",
            "the currents in A of all generation and storage on the premises, on one phase",
            "5.4,5.4",
        )],
        run: generation::connection,
    },
];
