//! The entries that an expectation from the length of a conductor is made with.

use std::sync::Arc;

use super::impedance::FAR;
use super::{Judge, continuity};
use crate::forms::Limit;
use crate::job::{Bond, Cable, Cpc, Owner, Seat, Test};

/// What the resistance of a bonding conductor is worked out with.
pub(super) fn bond(judge: &Judge<'_>, bond: &Bond) -> Vec<Arc<Limit>> {
    let id = format!("conductor/class2/{}", bond.mm2.normalize());
    judge.entries(&[&id, "temp/alpha", "temp/reference"])
}

/// What an end-to-end reading of a ring is compared with; r2 also by the ratio of the sizes.
pub(super) fn ring(judge: &Judge<'_>, seat: &Seat<'_>, test: Test) -> Vec<Arc<Limit>> {
    let mut out = Vec::new();
    if let Some(cable) = cable(seat) {
        out.extend(line(judge, cable));
        if test == Test::R2 {
            out.extend(cpc(judge, cable));
        }
    }
    out.extend(judge.entries(&FAR));
    out
}

/// What R1+R2 is compared with: the cable, and how far a reading may lie from it.
pub(super) fn r1r2(judge: &Judge<'_>, seat: &Seat<'_>) -> Vec<Arc<Limit>> {
    let mut out = Vec::new();
    if let Some(cable) = cable(seat).filter(|c| c.length_m.is_some()) {
        out.extend(line(judge, cable));
        out.extend(cpc(judge, cable));
    }
    out.extend(judge.entries(&continuity::EXPECTED));
    out.extend(judge.entries(&FAR));
    out
}

fn cable<'a>(seat: &Seat<'a>) -> Option<&'a Cable> {
    match seat.owner {
        Owner::Circuit(_, circuit) => circuit.cable.as_ref(),
        _ => None,
    }
}

fn line(judge: &Judge<'_>, cable: &Cable) -> Vec<Arc<Limit>> {
    let class = continuity::class(cable.form);
    let id = format!("conductor/{class}/{}", cable.line_mm2.normalize());
    judge.entries(&[&id, "temp/alpha", "temp/reference"])
}

fn cpc(judge: &Judge<'_>, cable: &Cable) -> Vec<Arc<Limit>> {
    let class = continuity::class(cable.form);
    match cable.cpc {
        Cpc::Copper(mm2) => judge.entries(&[&format!("conductor/{class}/{}", mm2.normalize())]),
        Cpc::Armour(cores) => judge.entries(&[
            &format!("armour/{cores}/{}", cable.line_mm2.normalize()),
            "temp/alpha-steel",
        ]),
    }
}
