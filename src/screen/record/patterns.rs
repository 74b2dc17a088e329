//! Usual circuits to start from.

use rust_decimal::Decimal;

use crate::job::{
    Cable, CableForm, Circuit, CircuitKind, Cpc, Curve, Device, DeviceStandard, Direction, Lines,
    Rcd, RcdType, Readings,
};

use super::unknown::{unknown_cable, unknown_rcd};

/// A usual circuit.
pub(super) struct Pattern {
    pub(super) key: &'static str,
    pub(super) name: &'static str,
    kind: CircuitKind,
    ring: bool,
    /// Standard, curve, rating in A and poles.
    device: (DeviceStandard, Option<Curve>, u16, u8),
    /// Form, line and protective conductor in tenths of a mm²; armour counts where the latter is nought.
    cable: (CableForm, u16, u16),
    /// Has an RCD of 30 mA.
    rcd: bool,
}

const RCBO: DeviceStandard = DeviceStandard::BsEn61009;
const FLAT: CableForm = CableForm::FlatTwinEarth70;
const ARMOURED: CableForm = CableForm::Armoured90;

pub(super) const CIRCUITS: [Pattern; 7] = [
    Pattern {
        key: "ring",
        name: "sockets, ring",
        kind: CircuitKind::Sockets,
        ring: true,
        device: (RCBO, Some(Curve::B), 32, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "radial",
        name: "sockets, radial",
        kind: CircuitKind::Sockets,
        ring: false,
        device: (RCBO, Some(Curve::B), 20, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "lighting",
        name: "lights",
        kind: CircuitKind::Lighting,
        ring: false,
        device: (RCBO, Some(Curve::B), 6, 1),
        cable: (FLAT, 15, 10),
        rcd: true,
    },
    Pattern {
        key: "fixed",
        name: "fixed equipment",
        kind: CircuitKind::Fixed,
        ring: false,
        device: (RCBO, Some(Curve::B), 16, 1),
        cable: (FLAT, 25, 15),
        rcd: true,
    },
    Pattern {
        key: "source",
        name: "inverter (source)",
        kind: CircuitKind::Source,
        ring: false,
        device: (DeviceStandard::BsEn60898, Some(Curve::B), 20, 2),
        cable: (ARMOURED, 60, 60),
        rcd: false,
    },
    Pattern {
        key: "sub-main",
        name: "sub-main to a board",
        kind: CircuitKind::Distribution,
        ring: false,
        device: (DeviceStandard::Bs88_2, None, 63, 1),
        cable: (ARMOURED, 160, 0),
        rcd: false,
    },
    Pattern {
        key: "spare",
        name: "spare",
        kind: CircuitKind::Spare,
        ring: false,
        device: (RCBO, None, 0, 0),
        cable: (FLAT, 0, 0),
        rcd: false,
    },
];

impl Pattern {
    pub(super) fn circuit(&self, id: String, three: bool) -> Circuit {
        let used = self.kind != CircuitKind::Spare;
        let (standard, curve, rating, poles) = self.device;
        let (form, line, cpc) = self.cable;
        let tenths = |n: u16| Decimal::new(i64::from(n), 1).normalize();
        Circuit {
            id,
            name: self.name.into(),
            kind: self.kind,
            lines: Lines::L1,
            ring: self.ring,
            points: 0,
            device: used.then(|| Device {
                standard,
                curve,
                rating_a: Decimal::from(rating),
                breaking_ka: Decimal::from(6),
                poles,
                direction: Direction::Unknown,
            }),
            rcd: self.rcd.then(|| Rcd {
                standard: "BS EN 61009".into(),
                kind: RcdType::A,
                idn_ma: Decimal::from(30),
                ..unknown_rcd()
            }),
            afdd: false,
            cable: used.then(|| Cable {
                form,
                line_mm2: tenths(line),
                cpc: match cpc {
                    0 => Cpc::Armour(if three { 4 } else { 3 }),
                    n => Cpc::Copper(tenths(n)),
                },
                ..unknown_cable()
            }),
            let_through_a2s: None,
            design_a: None,
            extra_low_voltage: false,
            equipment_connected: false,
            existing: false,
            no_neutral: false,
            remarks: String::new(),
            // A spare way has no figures.
            to_compare: used,
            readings: Readings::default(),
        }
    }
}
