//! Ib ≤ In ≤ Iz: the device against the current-carrying capacity of its cable, and the load against the device.

use std::sync::Arc;

use rust_decimal::{Decimal, RoundingStrategy};

use super::rule::{Outcome, compare};
use super::{Bound, Finding, Judge, Rule, Verdict};
use crate::forms::{Limit, MissingLimit};
use crate::job::{
    Board, Cable, CableForm, Circuit, CircuitKind, Device, DeviceStandard, Lines, Phases, Seat,
    Test, Unit, Value,
};

/// The finding of a circuit that has a device and a cable.
pub(super) fn of_circuit(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let (device, cable) = (circuit.device.as_ref()?, circuit.cable.as_ref()?);
    let path = board.path(circuit);
    let load = load(judge, &path, circuit, device);
    let three = circuit.lines == Lines::All && board.phases == Phases::Three;
    let (value, rule, mut outcome) = match iz(judge, cable, three) {
        Ok(iz) => against(judge, circuit, device, cable, &iz).unwrap_or_else(|missing| {
            let why = format!("can't be judged: {missing}");
            (device.rating_a, Rule::free(why.clone()), query(why))
        }),
        Err(why) => {
            let why = format!("can't be judged: {why}");
            (device.rating_a, Rule::free(why.clone()), query(why))
        }
    };
    let in_a = device.rating_a.normalize();
    let is_load_missing = matches!(load, Load::Unknown(_)) && outcome.verdict == Verdict::Within;
    match &load {
        Load::Amps(ib, how) if *ib > device.rating_a && outcome.verdict != Verdict::Outside => {
            outcome = Outcome::plain(
                Verdict::Outside,
                format!("Ib {ib} A, {how}, is above In {in_a} A"),
            );
        }
        Load::Amps(ib, how) => {
            outcome.why = format!("{}; Ib {ib} A, {how}", outcome.why);
        }
        Load::Unknown(why) if outcome.verdict == Verdict::Within => {
            outcome.verdict = Verdict::Query;
            outcome.why = format!(
                "{why}: that Ib is at most In {in_a} A can't be judged; {}",
                rule.how
            );
        }
        Load::Unknown(_) => {}
    }
    let is_unrecorded = cable.method.trim().is_empty() || is_load_missing;
    if outcome.verdict == Verdict::Query && is_unrecorded && is_left_alone(circuit) {
        outcome.verdict = Verdict::Excused;
        outcome.why = format!("existing, not altered, so not judged: {}", outcome.why);
    }
    let value = value.normalize().to_string();
    Some(judge.derived(seat, Test::Capacity, value, &rule, outcome))
}

/// A load that was there before. What feeds in, or lies between boards, carries new current whoever laid it.
pub(super) fn is_left_alone(circuit: &Circuit) -> bool {
    circuit.existing
        && matches!(
            circuit.kind,
            CircuitKind::Sockets | CircuitKind::Lighting | CircuitKind::Fixed
        )
}

fn query(why: String) -> Outcome {
    Outcome::plain(Verdict::Query, why)
}

/// The design current Ib.
enum Load {
    /// What it is, A, and where it comes from.
    Amps(Decimal, String),
    /// What isn't recorded.
    Unknown(String),
}

/// Ib of a circuit: what is recorded, or what sources feed through it where that is more.
fn load(judge: &Judge<'_>, path: &str, circuit: &Circuit, device: &Device) -> Load {
    let recorded = circuit.design_a.map(|a| a.normalize());
    let as_recorded = |a| Load::Amps(a, "as recorded".into());
    match circuit.kind {
        CircuitKind::Spare => Load::Amps(Decimal::ZERO, "nothing is connected".into()),
        CircuitKind::Source | CircuitKind::Distribution => {
            let Some(fed) = judge.network.fed(path) else {
                return Load::Unknown("the boards feed each other in a circle".into());
            };
            let sources = fed.most().normalize();
            match (recorded, &fed.unknown) {
                _ if sources > device.rating_a.max(recorded.unwrap_or_default()) => {
                    Load::Amps(sources, "the sum of what feeds through it".into())
                }
                (_, Some(nothing)) => Load::Unknown(format!("what feeds {nothing} isn't recorded")),
                (Some(ib), None) if ib >= sources => as_recorded(ib),
                (None, None) if circuit.kind == CircuitKind::Distribution => {
                    Load::Unknown("Ib isn't recorded".into())
                }
                _ => Load::Amps(sources, "the sum of what feeds through it".into()),
            }
        }
        CircuitKind::Sockets | CircuitKind::Lighting => recorded.map_or_else(
            || {
                let in_a = device.rating_a.normalize();
                Load::Amps(in_a, "not recorded: the most the device lets flow".into())
            },
            as_recorded,
        ),
        CircuitKind::Fixed => {
            recorded.map_or_else(|| Load::Unknown("Ib isn't recorded".into()), as_recorded)
        }
    }
}

/// Capacity of a cable as it lies.
struct Iz {
    amps: Decimal,
    how: String,
    row: Arc<Limit>,
    /// The same at what most terminals and accessories bear, with its entry, where the conductors may be hotter.
    at_70: Option<(Decimal, Arc<Limit>)>,
}

/// Iz, or what is missing to know it.
fn iz(judge: &Judge<'_>, cable: &Cable, three: bool) -> Result<Iz, String> {
    let form = cable.form;
    if form == CableForm::Flexible {
        return Err(
            "no table holds the capacity of flexible cable: the maker's figure counts".into(),
        );
    }
    let (key, loaded) = if three {
        ("3p", "three")
    } else {
        ("1p", "two")
    };
    let method = method(&cable.method);
    let prefix = format!("iz/{}/{method}/{key}/", form.key());
    let mm2 = cable.line_mm2.normalize();
    if let Ok(row) = judge.forms.limit(&format!("{prefix}{mm2}"))
        && !method.is_empty()
    {
        let factor = cable.rating_factor.unwrap_or(Decimal::ONE);
        let times = match cable.rating_factor {
            Some(factor) => format!(" × {}", factor.normalize()),
            None => ", no rating factor recorded".into(),
        };
        return Ok(Iz {
            amps: row.value.saturating_mul(factor).normalize(),
            how: format!(
                "{} A for {}, {mm2} mm², method {method}{times}",
                row.value.normalize(),
                form.name()
            ),
            row: row.clone(),
            at_70: judge
                .forms
                .limit(&format!("iz-70/{}/{method}/{key}/{mm2}", form.key()))
                .ok()
                .map(|row| (row.value.saturating_mul(factor), row.clone())),
        });
    }
    let of = format!("{} with {loaded} loaded conductors", form.name());
    let sizes: Vec<String> = judge
        .forms
        .sizes(&prefix)
        .iter()
        .map(Decimal::to_string)
        .collect();
    if !sizes.is_empty() && !method.is_empty() {
        return Err(format!(
            "no capacity of {mm2} mm² is listed for {of}, method {method}; listed: {}",
            sizes.join(", ")
        ));
    }
    let under = format!("iz/{}/", form.key());
    let mut methods: Vec<&str> = judge
        .forms
        .limits_under(&under)
        .filter_map(|l| {
            let mut parts = l.id.strip_prefix(under.as_str())?.split('/');
            let method = parts.next()?;
            (parts.next()? == key).then_some(method)
        })
        .collect();
    methods.dedup();
    let listed = match methods.as_slice() {
        [] => "none is listed".to_string(),
        some => format!("listed: {}", some.join(", ")),
    };
    Err(if method.is_empty() {
        format!(
            "the reference method isn't recorded (method of the cable; or existing: true for a load that was there before and isn't altered); for {of} {listed}"
        )
    } else {
        format!("no capacity is listed for {of} by method {method}; {listed}")
    })
}

/// A reference method as the tables name it: `c` and `Method C` are `C`, `100#` is `100`.
fn method(typed: &str) -> String {
    let upper = typed.trim().to_uppercase();
    let bare = upper.strip_prefix("METHOD").unwrap_or(&upper);
    bare.trim_matches(|c: char| c.is_whitespace() || c == '#')
        .to_string()
}

type Judged = (Decimal, Rule, Outcome);

/// In against Iz, by the rule that the device and a ring have.
fn against(
    judge: &Judge<'_>,
    circuit: &Circuit,
    device: &Device,
    cable: &Cable,
    iz: &Iz,
) -> Result<Judged, MissingLimit> {
    let limit = |id: &str| judge.forms.limit(&format!("capacity/{id}"));
    let (low, high) = (limit("ring-device-low")?, limit("ring-device-high")?);
    let rating = device.rating_a;
    if circuit.ring && (rating == low.value || rating == high.value) {
        let least = limit("ring-iz")?;
        let smallest = limit("ring-mm2")?;
        let mut rule = Rule::of(
            Bound::AtLeast(least.value),
            format!(
                "ring behind {} A: Iz of its cable, {}; the least size is {} mm²",
                rating.normalize(),
                iz.how,
                smallest.value.normalize()
            ),
            least,
        )
        .with(&iz.row)
        .with(smallest);
        let mut outcome = compare(&rule, &Value::Number(iz.amps), Unit::Amp, None);
        if cable.line_mm2 < smallest.value {
            outcome.verdict = Verdict::Outside;
            outcome.why = format!(
                "a ring of {} mm²; the least size is {} mm²",
                cable.line_mm2.normalize(),
                smallest.value.normalize()
            );
        }
        rule = rule.with(low).with(high);
        return Ok((iz.amps, rule, outcome));
    }
    let share = match device.standard {
        DeviceStandard::Bs3036 => limit("bs3036-factor")?,
        _ => limit("in-to-iz")?,
    };
    let most = iz
        .amps
        .saturating_mul(share.value)
        .round_dp_with_strategy(2, RoundingStrategy::ToZero)
        .normalize();
    let times = if share.value == Decimal::ONE {
        String::new()
    } else {
        format!("{} × Iz, ", share.value.normalize())
    };
    let mut rule = Rule::of(
        Bound::AtMost(most),
        format!("In of {} ≤ {times}Iz {}", device.describe(), iz.how),
        &iz.row,
    )
    .with(share);
    // The rule for rings names two ratings; a smaller device is no worse, but nothing says so.
    if circuit.ring && rating < low.value {
        rule = rule.for_guidance();
    }
    let mut outcome = compare(&rule, &Value::Number(rating), Unit::Amp, None);
    if let Some((amps, row)) = &iz.at_70 {
        let most = amps.saturating_mul(share.value).normalize();
        if rating > most && outcome.verdict == Verdict::Within {
            outcome.verdict = Verdict::Query;
            outcome.why = format!(
                "{} A is within Iz at 90 °C, but above the {most} A at 70 °C, which is all that most terminals and accessories bear: look at theirs [{}]; {}",
                rating.normalize(),
                row.source.mark,
                rule.how
            );
        }
        rule = rule.with(row);
    }
    Ok((rating, rule, outcome))
}
