//! Where a battery stands, against the rules for fire: by the record, beside what the person saw.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Finding, Judge, Rule, Verdict};
use crate::forms::{Limit, MissingLimit};
use crate::job::{Seat, Storage, StoragePlace, Test};

/// What an entry `siting/place/...` says.
const FORBIDDEN: Decimal = Decimal::ONE;
const WITHOUT_ALARM: Decimal = Decimal::from_parts(3, 0, 0, false, 0);

/// Place, distances and alarm.
pub(super) fn rules(judge: &Judge<'_>, seat: &Seat<'_>, storage: &Storage) -> Finding {
    let value = storage
        .place
        .map_or_else(|| "not recorded".to_string(), |p| p.name().to_string());
    let (rule, outcome) = match looked_at(judge, storage) {
        Ok(both) => both,
        Err(missing) => (
            Rule::free("place of the storage"),
            Outcome::plain(Verdict::Query, format!("can't be judged: {missing}")),
        ),
    };
    judge.derived(seat, Test::SitingRules, value, &rule, outcome)
}

fn looked_at(judge: &Judge<'_>, s: &Storage) -> Result<(Rule, Outcome), MissingLimit> {
    let opening = judge.forms.limit("siting/opening")?;
    let flammables = judge.forms.limit("siting/flammables")?;
    let mut basis: Vec<Arc<Limit>> = Vec::new();
    let mut faults: Vec<String> = Vec::new();
    let mut gaps: Vec<&str> = Vec::new();
    match s.place {
        None => gaps.push("`place`, the kind of place it stands in"),
        Some(place) => {
            let class = judge
                .forms
                .limit(&format!("siting/place/{}", place.key()))?;
            basis.push(class.clone());
            if class.value <= FORBIDDEN {
                faults.push(format!("no battery in this place: {}", place.name()));
            } else if class.value < WITHOUT_ALARM {
                match s.detector {
                    None => gaps.push(
                        "`detector`, whether an alarm beside it is interlinked with the house",
                    ),
                    Some(false) => {
                        faults.push("no interlinked alarm beside it, which warns the house".into());
                    }
                    Some(true) => {}
                }
            }
        }
    }
    if matches!(s.place, None | Some(StoragePlace::Outdoors)) {
        basis.push(opening.clone());
        match s.opening_m {
            None => gaps.push("`opening_m`, the distance to doors, windows and vents"),
            Some(m) if m < opening.value && s.place.is_some() => {
                faults.push(near(m, opening, "an opening"))
            }
            Some(_) => {}
        }
    }
    basis.push(flammables.clone());
    match s.flammables_m {
        None => gaps.push("`flammables_m`, the distance to stored flammables"),
        Some(m) if m < flammables.value => faults.push(near(m, flammables, "stored flammables")),
        Some(_) => {}
    }
    let (verdict, why) = if !faults.is_empty() {
        (Verdict::Outside, faults.join("; "))
    } else if s.place.is_none() {
        // Where it stands is known to whoever looks at it: nothing is connected to a battery of which nobody said.
        (
            Verdict::Open,
            format!("record with the storage: {}", gaps.join("; ")),
        )
    } else if !gaps.is_empty() {
        (
            Verdict::Query,
            format!(
                "can't be judged, record with the storage: {}",
                gaps.join("; ")
            ),
        )
    } else {
        (
            Verdict::Within,
            "place, distances and alarm as the rules ask".to_string(),
        )
    };
    let how = format!(
        "no forbidden place; {} m from openings outdoors, {} m from stored flammables; an interlinked alarm indoors",
        opening.value.normalize(),
        flammables.value.normalize()
    );
    let first = basis.first().cloned().unwrap_or_else(|| flammables.clone());
    let mut rule = Rule::of(Bound::Words("by the siting rules".into()), how, &first);
    rule.basis = basis;
    Ok((rule, Outcome::plain(verdict, why)))
}

fn near(metres: Decimal, limit: &Limit, what: &str) -> String {
    format!(
        "{} m to {what}, less than {} m",
        metres.normalize(),
        limit.value.normalize()
    )
}
