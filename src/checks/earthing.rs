//! Sizes of the earthing conductor and of bonding conductors.

use rust_decimal::Decimal;

use super::fuse::Fuse;
use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::MissingLimit;
use crate::job::{Bond, Earthing, Seat, Supply, Test, Unit, Value};

/// Size of a main or supplementary bonding conductor.
pub(super) fn bond(judge: &Judge<'_>, seat: &Seat<'_>, bond: &Bond) -> Finding {
    let rule = if bond.supplementary {
        supplementary(judge, bond)
    } else {
        main(judge)
    };
    finding(judge, seat, Test::BondSize, bond.mm2, rule)
}

/// Size of the earthing conductor.
pub(super) fn conductor(judge: &Judge<'_>, seat: &Seat<'_>, supply: &Supply) -> Finding {
    let mut finding = finding(
        judge,
        seat,
        Test::EarthingSize,
        supply.earthing_mm2,
        earthing(judge, supply),
    );
    if finding.verdict == Verdict::Query
        && supply.tails_mm2.is_some()
        && let Some(rule) = by_fuse(judge, supply)
        && let Bound::AtLeast(least) = rule.bound
    {
        if supply.earthing_mm2 < least {
            finding.verdict = Verdict::Outside;
        }
        finding.why = format!("{}; by calculation {least} mm²: {}", finding.why, rule.how);
        finding.goes_by(rule.basis);
    }
    finding
}

fn finding(judge: &Judge<'_>, seat: &Seat<'_>, test: Test, mm2: Decimal, rule: Ruled) -> Finding {
    let value = mm2.normalize();
    match rule {
        Ok(rule) => {
            let outcome = compare(&rule, &Value::Number(value), Unit::Mm2, None);
            judge.derived(seat, test, value.to_string(), &rule, outcome)
        }
        Err(missing) => {
            let outcome = Outcome::plain(Verdict::Query, format!("can't be judged: {missing}"));
            judge.derived(seat, test, value.to_string(), &Rule::free(""), outcome)
        }
    }
}

const TAILS: &str =
    "the size of the tails isn't recorded (tails_mm2 of the supply), and it decides";

/// Main bonding: with PME by the neutral of the supply, else by the earthing conductor.
fn main(judge: &Judge<'_>) -> Ruled {
    let supply = &judge.job.supply;
    if supply.earthing == Earthing::TnCS {
        let Some(tails) = supply.tails_mm2 else {
            return Ok(
                Rule::free("main bonding with PME goes by the neutral of the supply")
                    .no_better_than(Verdict::Query, TAILS),
            );
        };
        return with_pme(judge, tails);
    }
    let factor = judge.forms.limit("bond/other/factor")?;
    let low = judge.forms.limit("bond/other/min")?;
    let high = judge.forms.limit("bond/other/max")?;
    let half = supply.earthing_mm2 * factor.value;
    let least = half.max(low.value).min(high.value).normalize();
    let how = format!(
        "{} of the earthing conductor of {} mm², from {} to {} mm²",
        factor.value.normalize(),
        supply.earthing_mm2.normalize(),
        low.value.normalize(),
        high.value.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(least), how, factor)
        .with(low)
        .with(high))
}

fn with_pme(judge: &Judge<'_>, neutral: Decimal) -> Ruled {
    let edge = judge
        .forms
        .sizes("bond/pme/")
        .into_iter()
        .find(|edge| neutral <= *edge);
    let id = edge.map_or_else(
        || "bond/pme/over".to_string(),
        |edge| format!("bond/pme/{edge}"),
    );
    let limit = judge.forms.limit(&id)?;
    let how = format!(
        "main bonding with PME for a supply neutral of {} mm²; the distributor may ask for more",
        neutral.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(limit.value), how, limit))
}

fn supplementary(judge: &Judge<'_>, bond: &Bond) -> Ruled {
    let (id, how) = if bond.mechanically_protected {
        (
            "bond/supplementary/protected",
            "supplementary bonding, protected against mechanical damage",
        )
    } else {
        (
            "bond/supplementary/unprotected",
            "supplementary bonding, not recorded as mechanically_protected",
        )
    };
    let limit = judge.forms.limit(id)?;
    let how = format!("{how}; also not below the smaller cpc of the parts it joins");
    Ok(Rule::of(Bound::AtLeast(limit.value), how, limit))
}

/// In TN by the tails, and with PME at least the main bonding; on TT by where it lies.
fn earthing(judge: &Judge<'_>, supply: &Supply) -> Ruled {
    if supply.earthing == Earthing::Tt {
        return to_electrode(judge);
    }
    let Some(tails) = supply.tails_mm2 else {
        return Ok(Rule::free("the earthing conductor goes by the tails")
            .no_better_than(Verdict::Query, TAILS));
    };
    let equal = judge.forms.limit("cpc/equal-up-to")?;
    let half = judge.forms.limit("cpc/half-above")?;
    let missing = || MissingLimit(format!("earthing conductor for tails of {tails} mm²"));
    let least = calc::cpc_by_line_size_mm2(f64_of(tails), equal.f64(), half.f64())
        .ok()
        .and_then(|mm2| rounded(mm2, 2))
        .ok_or_else(missing)?;
    let how = format!(
        "for tails of {} mm², without reckoning; less only by calculation",
        tails.normalize()
    );
    let by_tails = Rule::of(Bound::AtLeast(least.normalize()), how, equal)
        .with(half)
        .for_guidance();
    if supply.earthing != Earthing::TnCS {
        return Ok(by_tails);
    }
    let pme = judge.forms.limit("earthing/pme")?;
    let bonding = with_pme(judge, tails)?;
    let Bound::AtLeast(bond) = bonding.bound else {
        return Ok(by_tails);
    };
    if bond >= least {
        let how = format!("at least the main bonding, {bond} mm² with PME");
        return Ok(Rule::of(Bound::AtLeast(bond), how, pme).with_all(&bonding.basis));
    }
    Ok(by_tails
        .outside_past(Bound::AtLeast(bond))
        .with(pme)
        .with_all(&bonding.basis))
}

/// On TT the fault current is small: what the conductor meets in the soil decides.
fn to_electrode(judge: &Judge<'_>) -> Ruled {
    let bare = judge.forms.limit("earthing/tt/bare-in-soil")?;
    let soil = judge.forms.limit("earthing/tt/in-soil")?;
    let least = judge.forms.limit("earthing/tt/protected")?;
    let how = format!(
        "to an electrode, in soil and protected against corrosion (bare in soil {} mm²; less only above ground)",
        bare.value.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(soil.value), how, soil)
        .with(bare)
        .with(least)
        .for_guidance()
        .outside_past(Bound::AtLeast(least.value)))
}

/// Behind the cut-out fuse by the energy that it lets through; `None` where nothing shows it.
fn by_fuse(judge: &Judge<'_>, supply: &Supply) -> Option<Rule> {
    if supply.earthing == Earthing::Tt {
        return None;
    }
    let ze = supply.readings.value(Test::Ze)?.number()?;
    let fuse = Fuse {
        standard: supply.fuse_standard,
        rating_a: supply.fuse_a,
    };
    fuse.earthing(judge, supply.earthing_mm2, ze).ok()?
}
