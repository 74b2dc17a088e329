//! Groups of which only the first field is known. The rest is nothing that could be fitted, so that a check objects until it is
//! read from a label or a data sheet.

use rust_decimal::Decimal;

use crate::job::{
    Cable, CableForm, Cpc, DcInput, Device, DeviceStandard, Direction, Rcd, RcdType, Trunk,
};

/// Nothing a breaker, an RCD, a cable or an input could be: entered until the label or data sheet is read.
pub(super) fn nearly_nothing() -> Decimal {
    Decimal::new(1, 1)
}

/// More than any part of a domestic job has.
pub(super) fn far_too_much() -> Decimal {
    Decimal::from(999)
}

/// A device of which only the standard is known.
pub(super) fn unknown_device() -> Device {
    Device {
        standard: DeviceStandard::BsEn60898,
        curve: None,
        rating_a: far_too_much(),
        breaking_ka: nearly_nothing(),
        poles: 1,
        direction: Direction::Unknown,
    }
}

/// An RCD of which only the type is known.
pub(super) fn unknown_rcd() -> Rcd {
    Rcd {
        standard: String::new(),
        kind: RcdType::AC,
        idn_ma: far_too_much(),
        rating_a: None,
        selective: false,
        declaration: String::new(),
    }
}

/// A cable of which only the form is known.
pub(super) fn unknown_cable() -> Cable {
    Cable {
        form: CableForm::FlatTwinEarth70,
        line_mm2: nearly_nothing(),
        cpc: Cpc::Copper(nearly_nothing()),
        length_m: None,
        method: String::new(),
        rating_factor: None,
    }
}

/// A d.c. input of which only the highest voltage is known.
pub(super) fn unknown_input() -> DcInput {
    DcInput {
        max_v: nearly_nothing(),
        start_v: None,
        mppt_min_v: nearly_nothing(),
        mppt_max_v: nearly_nothing(),
        max_a: nearly_nothing(),
    }
}

/// A trunk cable of which only the size is known.
pub(super) fn unknown_trunk() -> Trunk {
    Trunk {
        line_mm2: nearly_nothing(),
        spacing_m: far_too_much(),
    }
}
