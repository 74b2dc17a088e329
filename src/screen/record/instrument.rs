//! Fields of an instrument.

use crate::job::{Function, Part};

use super::entry::{Entry, Kind, Typed, choices_yes_no, field};

macro_rules! measures {
    ($function:ident, $heading:literal) => {
        Entry {
            path: "functions.",
            heading: concat!("measures ", $heading),
            unit: "",
            hint: "yes or no; readings of that kind can only be taken with it where it does",
            kind: Kind::Pick(choices_yes_no),
            get: |p| match p {
                Part::Instrument(x) => x.functions.contains(&Function::$function).shown(),
                _ => String::new(),
            },
            set: |p, text| {
                if let Part::Instrument(x) = p {
                    let yes = bool::read(text)?;
                    let has = x.functions.contains(&Function::$function);
                    if has && !yes {
                        x.functions.retain(|f| *f != Function::$function);
                    } else if yes && !has {
                        x.functions.push(Function::$function);
                    }
                }
                Ok(())
            },
        }
    };
}

macro_rules! certainty {
    ($function:ident, $heading:literal) => {
        Entry {
            path: "uncertainty_pct.",
            heading: concat!("± ", $heading),
            unit: "%",
            hint: "operating uncertainty in percent of the reading, 0 to 100; empty takes that of the limit files",
            kind: Kind::Number,
            get: |p| match p {
                Part::Instrument(x) => x
                    .uncertainty_pct
                    .get(&Function::$function)
                    .map_or_else(String::new, Typed::shown),
                _ => String::new(),
            },
            set: |p, text| {
                if let Part::Instrument(x) = p {
                    match Typed::read(text)? {
                        Some(pct) => x.uncertainty_pct.insert(Function::$function, pct),
                        None => x.uncertainty_pct.remove(&Function::$function),
                    };
                }
                Ok(())
            },
        }
    };
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    field!(
        Instrument.id,
        "id",
        "",
        "short: 1 to 12 letters, digits, - or .; stays once readings name it"
    ),
    field!(Instrument.kind, "kind", "", "such as multifunction tester"),
    field!(Instrument.make, "make", "", "maker and model"),
    field!(Instrument.serial, "serial number", "", "as on its label"),
    field!(
        Instrument.calibrated,
        "calibrated",
        "",
        "day of the last calibration, YYYY-MM-DD"
    ),
    field!(
        Instrument.due,
        "due",
        "",
        "day until which that calibration counts, YYYY-MM-DD"
    ),
    field!(
        Instrument.leads_nulled,
        "leads nulled",
        "",
        "yes where the resistance of the test leads is nulled or subtracted"
    ),
    measures!(Continuity, "low resistance"),
    measures!(Insulation, "insulation, a.c. side"),
    measures!(Loop, "loop impedance"),
    measures!(FaultCurrent, "fault current"),
    measures!(Rcd, "RCD times"),
    measures!(Electrode, "electrodes"),
    measures!(DcVoltage, "direct voltage"),
    measures!(DcCurrent, "direct current"),
    measures!(AcCurrent, "alternating current"),
    measures!(PvInsulation, "insulation of arrays"),
    measures!(Irradiance, "irradiance"),
    measures!(Temperature, "temperature"),
    certainty!(Continuity, "low resistance"),
    certainty!(Insulation, "insulation, a.c. side"),
    certainty!(Loop, "loop impedance"),
    certainty!(FaultCurrent, "fault current"),
    certainty!(Rcd, "RCD times"),
    certainty!(Electrode, "electrodes"),
    certainty!(DcVoltage, "direct voltage"),
    certainty!(DcCurrent, "direct current"),
    certainty!(AcCurrent, "alternating current"),
    certainty!(PvInsulation, "insulation of arrays"),
    certainty!(Irradiance, "irradiance"),
    certainty!(Temperature, "temperature"),
];
