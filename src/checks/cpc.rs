//! Size of the protective conductor of a circuit: by the line conductor, else by the energy the device lets through.

use std::sync::Arc;

use rust_decimal::{Decimal, RoundingStrategy};

use super::fuse::Fuse;
use super::rule::{Outcome, compare};
use super::zs::disconnection_time;
use super::{Bound, Finding, Judge, Rule, Ruled, Verdict, f64_of, rounded};
use crate::calc;
use crate::forms::{Limit, MissingLimit};
use crate::job::{Board, Cable, CableForm, Circuit, CircuitKind, Cpc, Curve, Device};
use crate::job::{Earthing, Seat, Test, Unit, Value};

/// A protective conductor with all that is known of it.
pub(super) struct Conductor {
    /// Cross-sectional area, mm².
    pub(super) mm2: Decimal,
    /// Its k.
    pub(super) k: Arc<Limit>,
    /// For steel armour: where the area comes from, and k of the line conductor.
    pub(super) armour: Option<[Arc<Limit>; 2]>,
}

/// What came out: the rule, whether it is only a question where it isn't met, and what to add then.
struct Judged {
    rule: Rule,
    doubt: Option<(Verdict, String)>,
}

impl Judged {
    fn by(rule: Rule) -> Option<Judged> {
        Some(Judged { rule, doubt: None })
    }

    fn but(rule: Rule, verdict: Verdict, why: String) -> Option<Judged> {
        Some(Judged {
            rule,
            doubt: Some((verdict, why)),
        })
    }
}

/// The protective conductor of a circuit; `None` where there is none to judge, or where a reading that is still open decides.
pub(super) fn size(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    let (device, cable) = (circuit.device.as_ref()?, circuit.cable.as_ref()?);
    if circuit.kind == CircuitKind::Spare || circuit.extra_low_voltage {
        return None;
    }
    let query = |value: String, why: String| {
        let outcome = Outcome::plain(Verdict::Query, format!("can't be judged: {why}"));
        let rule = Rule::free("size of the protective conductor");
        judge.derived(seat, Test::Cpc, value, &rule, outcome)
    };
    let conductor = match conductor(judge, cable) {
        Ok(conductor) => conductor,
        Err(missing) => {
            return Some(query(
                "not listed".into(),
                format!("its area isn't known: {missing}"),
            ));
        }
    };
    let value = conductor.mm2.normalize().to_string();
    let judged = match decide(judge, seat, (board, circuit), (device, cable), &conductor) {
        Ok(judged) => judged?,
        Err(missing) => return Some(query(value, missing.to_string())),
    };
    let mut outcome = compare(&judged.rule, &Value::Number(conductor.mm2), Unit::Mm2, None);
    if let Some((verdict, why)) = judged.doubt {
        outcome.verdict = verdict;
        outcome.why = why;
    }
    Some(judge.derived(seat, Test::Cpc, value, &judged.rule, outcome))
}

fn conductor(judge: &Judge<'_>, cable: &Cable) -> Result<Conductor, MissingLimit> {
    let limit = |id: &str| judge.forms.limit(id).cloned();
    match cable.cpc {
        Cpc::Copper(mm2) => {
            let k = match cable.form {
                CableForm::FlatTwinEarth70 | CableForm::Singles70 => "k/copper-70-in-cable",
                CableForm::Armoured90 => "k/copper-90-in-cable",
                // What it is insulated with isn't recorded: the lowest k there is.
                CableForm::Flexible => "k/copper-90-thermoplastic-in-cable",
            };
            Ok(Conductor {
                mm2,
                k: limit(k)?,
                armour: None,
            })
        }
        Cpc::Armour(cores) => {
            let area = limit(&format!(
                "armour-area/{cores}/{}",
                cable.line_mm2.normalize()
            ))?;
            Ok(Conductor {
                mm2: area.value,
                k: limit("k/armour-90")?,
                armour: Some([area, limit("k/copper-90-in-cable")?]),
            })
        }
    }
}

fn decide(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    (board, circuit): (&Board, &Circuit),
    (device, cable): (&Device, &Cable),
    conductor: &Conductor,
) -> Result<Option<Judged>, MissingLimit> {
    let is_met = |rule: &Rule| matches!(rule.bound, Bound::AtLeast(x) if conductor.mm2 >= x);
    let by_table = by_line(judge, cable, conductor)?;
    if is_met(&by_table) {
        return Ok(Judged::by(by_table));
    }
    if let Some(energy) = circuit.let_through_a2s {
        return Ok(Judged::by(by_energy(energy, conductor)?));
    }
    let fault = EarthFault::at(judge, board);
    let listed = match (device.curve, &fault) {
        (Some(curve), EarthFault::Amps(a, how)) => {
            listed(judge, curve, device, Some((*a, how.as_str())))
        }
        (Some(curve), _) => listed(judge, curve, device, None),
        (None, _) => None,
    };
    let on_tt = judge.job.supply.earthing == Earthing::Tt;
    match (&listed, &fault) {
        // The table holds where the device trips at once, as far as the reading at the far end, or else the board, shows.
        (Some(rule), EarthFault::Amps(amps, _)) if is_met(rule) => {
            let zs = seat.readings.value(Test::Zs).and_then(|v| v.number());
            let loop_ohm = zs.or_else(|| rounded(f64_of(judge.job.supply.u0_v) / amps, 4));
            let instant = judge.forms.limit("cpc/breaker-time")?;
            // On TT the electrode limits the current to what the conductor bears: that nothing opens is a matter of Zs.
            let far = match loop_ohm.filter(|_| !on_tt) {
                Some(ohm) => far_end(judge, (board, circuit, device), ohm, instant, conductor)?,
                None => None,
            };
            // Where only an RCD opens there, its time is longer than what the table is made for.
            let by_rcd = |far: &Rule| far.basis.iter().any(|l| l.id.starts_with("rcd/"));
            if far.is_none_or(|far| far.is_some_and(|far| is_met(&far) || !by_rcd(&far))) {
                return Ok(Judged::by(rule.clone()));
            }
        }
        // Too small by the table whatever the fault current will be.
        (Some(rule), EarthFault::NotTaken) if !on_tt && !is_met(rule) => {
            let why = format!(
                "{} mm², and {}; less only where the adiabatic equation shows it, once the fault current is read",
                conductor.mm2.normalize(),
                rule.how
            );
            return Ok(Judged::but(rule.clone(), Verdict::Query, why));
        }
        _ => {}
    }
    if device.curve.is_none() && !on_tt {
        return by_fuse(judge, seat, circuit, device, conductor).map(Some);
    }
    let (amps, how) = match fault {
        EarthFault::Amps(amps, how) => (amps, how),
        EarthFault::NotTaken => return Ok(None),
        EarthFault::Unknown => {
            let why = format!(
                "{} mm² is below {}, and no earth fault current is known at this board that shows whether less will do",
                conductor.mm2.normalize(),
                by_table.how
            );
            return Ok(Judged::but(by_table, Verdict::Query, why));
        }
    };
    // On TT the current is small, and the RCD opens.
    if on_tt && let Some(rcd) = judge.tree.protecting_rcd(board, circuit) {
        let kind = if rcd.selective { "s" } else { "general" };
        let time = judge.forms.limit(&format!("rcd/{kind}/1x/max"))?;
        let seconds = time.f64() / 1000.0;
        let at = format!("{how}, until the {} RCD opens", rcd.describe());
        return Ok(Judged::by(adiabatic(
            (amps, &at),
            seconds,
            time,
            conductor,
        )?));
    }
    if device.curve.is_none() {
        return by_fuse(judge, seat, circuit, device, conductor).map(Some);
    }
    by_breaker(
        judge,
        seat,
        (board, circuit, device),
        (amps, &how),
        listed,
        conductor,
    )
    .map(Some)
}

/// By the line conductor, without reckoning; steel armour by its k.
fn by_line(judge: &Judge<'_>, cable: &Cable, conductor: &Conductor) -> Ruled {
    let equal = judge.forms.limit("cpc/equal-up-to")?;
    let half = judge.forms.limit("cpc/half-above")?;
    let line = cable.line_mm2.normalize();
    let missing = || MissingLimit(format!("cpc for a line of {line} mm²"));
    let copper =
        calc::cpc_by_line_size_mm2(f64_of(line), equal.f64(), half.f64()).map_err(|_| missing())?;
    let Some([area, line_k]) = &conductor.armour else {
        let least = up(copper).ok_or_else(missing)?;
        let how = format!(
            "{} mm² for a line of {line} mm², without reckoning",
            least.normalize()
        );
        return Ok(Rule::of(Bound::AtLeast(least), how, equal).with(half));
    };
    let least = up(copper * line_k.f64() / conductor.k.f64()).ok_or_else(missing)?;
    let how = format!(
        "{copper} mm² of copper × {} / {} for steel armour, for a line of {line} mm²; the armour has {} mm²",
        line_k.value.normalize(),
        conductor.k.value.normalize(),
        area.value.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(least), how, equal)
        .with(half)
        .with(area)
        .with(line_k)
        .with(&conductor.k))
}

/// Least size behind circuit-breakers that limit the energy, by rating and fault current; without a current, the least there
/// is for the rating.
fn listed(
    judge: &Judge<'_>,
    curve: Curve,
    device: &Device,
    fault: Option<(f64, &str)>,
) -> Option<Rule> {
    let prefix = format!("cpc/energy/{}/", curve.letter());
    let mut rows: Vec<(Decimal, Decimal, &Limit)> = judge
        .forms
        .limits_under(&prefix)
        .filter_map(|l| {
            let (rating, ka) = l.id.strip_prefix(&prefix)?.split_once('/')?;
            Some((rating.parse().ok()?, ka.parse().ok()?, l))
        })
        .filter(|(rating, ka, _)| {
            *rating >= device.rating_a && fault.is_none_or(|(a, _)| a <= f64_of(*ka) * 1000.0)
        })
        .collect();
    rows.sort_by_key(|(rating, ka, _)| (*rating, *ka));
    let (_, ka, row) = rows.first()?;
    let row = judge.forms.limit(&row.id).ok()?;
    let at = match fault {
        Some((a, how)) => format!(
            "{} A of earth fault current at most here ({how})",
            a.round()
        ),
        None => "whatever the earth fault current".into(),
    };
    Some(Rule::of(
        Bound::AtLeast(row.value),
        format!(
            "{} mm² behind {} that limits the energy (class 3), up to {} kA: {at}",
            row.value.normalize(),
            device.describe(),
            ka.normalize()
        ),
        row,
    ))
}

/// √(I²t) / k with the maker's energy.
fn by_energy(energy: Decimal, conductor: &Conductor) -> Ruled {
    let k = &conductor.k;
    let least = calc::cpc_min_from_energy_mm2(f64_of(energy), k.f64())
        .ok()
        .and_then(up)
        .ok_or_else(|| MissingLimit("let-through energy in range".into()))?;
    let how = format!(
        "√{} A²s / k {}: let-through energy as recorded from the maker",
        energy.normalize(),
        k.value.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(least), how, k))
}

/// I √t / k; the time is an entry, given in seconds.
pub(super) fn adiabatic(
    (amps, how): (f64, &str),
    seconds: f64,
    time: &Arc<Limit>,
    c: &Conductor,
) -> Ruled {
    let least = calc::cpc_min_mm2(amps, seconds, c.k.f64())
        .ok()
        .and_then(up)
        .ok_or_else(|| MissingLimit(format!("fault current in range ({amps} A)")))?;
    let shown = rounded(amps, 1).unwrap_or_default().normalize();
    let how = format!(
        "{shown} A × √{seconds} s / k {}: {how}",
        c.k.value.normalize()
    );
    Ok(Rule::of(Bound::AtLeast(least), how, &c.k).with(time))
}

/// A circuit-breaker opens within its instantaneous time where the current reaches it, not in the longest time that is allowed.
fn by_breaker(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    (board, circuit, device): (&Board, &Circuit, &Device),
    (amps, how): (f64, &str),
    listed: Option<Rule>,
    conductor: &Conductor,
) -> Result<Judged, MissingLimit> {
    let met = |rule: &Rule| matches!(rule.bound, Bound::AtLeast(x) if conductor.mm2 >= x);
    let verdict = |rule, verdict, why| Judged {
        rule,
        doubt: Some((verdict, why)),
    };
    let instant = judge.forms.limit("cpc/breaker-time")?;
    let near = adiabatic((amps, how), instant.f64(), instant, conductor)?;
    let zs = seat.readings.value(Test::Zs).and_then(|v| v.number());
    // Without a reading at the far end the board itself shows whether the trip is reached at all.
    let loop_ohm = zs.or_else(|| rounded(f64_of(judge.job.supply.u0_v) / amps, 4));
    let far = match loop_ohm {
        Some(ohm) => far_end(judge, (board, circuit, device), ohm, instant, conductor)?,
        None => None,
    };
    let is_far_slow = matches!(far, Some(None));
    let far = far.filter(|_| zs.is_some());
    if let Some(Some(rule)) = far
        && !met(&rule)
    {
        // Neither at the near end nor at the far end is it large enough.
        let rule = if met(&near) {
            rule
        } else {
            listed.unwrap_or(rule)
        };
        return Ok(Judged { rule, doubt: None });
    }
    if is_far_slow {
        let why = format!(
            "can't be judged: at the far end the current doesn't reach the instantaneous trip of {}, and no RCD opens",
            device.describe()
        );
        return Ok(verdict(near, Verdict::Query, why));
    }
    if met(&near) {
        return Ok(Judged {
            rule: near,
            doubt: None,
        });
    }
    if let Some(rule) = listed {
        let how = rule.how.clone();
        let why = format!(
            "{} mm², and {how}; smaller only where the maker's let-through energy shows it, up to {}",
            conductor.mm2.normalize(),
            energy_stood(conductor)
        );
        return Ok(verdict(rule, Verdict::Outside, why));
    }
    let why = format!(
        "{} mm² is not shown to stand a fault at the board, {} A: compare the maker's let-through energy of {} with {}, and record it as let_through_a2s",
        conductor.mm2.normalize(),
        amps.round(),
        device.describe(),
        energy_stood(conductor)
    );
    Ok(verdict(near, Verdict::Query, why))
}

/// k² S², the energy that a conductor stands.
fn energy_stood(c: &Conductor) -> String {
    let energy =
        c.k.value
            .checked_mul(c.mm2)
            .and_then(|root| root.checked_mul(root));
    energy.map_or_else(
        || "k²S²".to_string(),
        |e| format!("k²S² = {} A²s", e.trunc().normalize()),
    )
}

/// What the fault at the far end of a circuit asks for; `Some(None)` where the instantaneous trip isn't reached and there is
/// no RCD.
fn far_end(
    judge: &Judge<'_>,
    (board, circuit, device): (&Board, &Circuit, &Device),
    zs: Decimal,
    instant: &Arc<Limit>,
    conductor: &Conductor,
) -> Result<Option<Option<Rule>>, MissingLimit> {
    let Some(amps) = fault_a(judge, zs) else {
        return Ok(None);
    };
    let Some(curve) = device.curve else {
        return Ok(None);
    };
    let multiple = judge
        .forms
        .limit(&format!("zs/multiple/{}", curve.letter()))?;
    let how = format!("{} V / {zs} Ω of loop", judge.job.supply.u0_v.normalize());
    if amps >= multiple.f64() * f64_of(device.rating_a) {
        let rule = adiabatic((amps, &how), instant.f64(), instant, conductor)?;
        return Ok(Some(Some(rule)));
    }
    let Some(rcd) = judge.tree.protecting_rcd(board, circuit) else {
        return Ok(Some(None));
    };
    let kind = if rcd.selective { "s" } else { "general" };
    let time = judge.forms.limit(&format!("rcd/{kind}/1x/max"))?;
    let how = format!("{how}, until the {} RCD opens", rcd.describe());
    let rule = adiabatic((amps, &how), time.f64() / 1000.0, time, conductor)?;
    Ok(Some(Some(rule)))
}

/// The energy that a fuse lets through falls with the current: at the limit of its Zs table it is the most.
fn by_fuse(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    circuit: &Circuit,
    device: &Device,
    conductor: &Conductor,
) -> Result<Judged, MissingLimit> {
    let allowed = disconnection_time(judge, circuit, device)?;
    let zs = seat.readings.value(Test::Zs);
    let fuse = Fuse {
        standard: device.standard,
        rating_a: device.rating_a,
    };
    let read = zs.as_ref().and_then(Value::number);
    let Some((rule, has_reserve)) = fuse.worst(judge, read, allowed, conductor)? else {
        let rule = fuse.at_limit(judge, allowed, conductor)?.map_or_else(
            || Rule::free("size of the protective conductor"),
            |(r, _)| r,
        );
        let why = format!(
            "can't be judged: Zs is past every limit of the {} fuse, so nothing bounds its time",
            device.describe()
        );
        return Ok(Judged {
            rule,
            doubt: Some((Verdict::Query, why)),
        });
    };
    let is_met = matches!(rule.bound, Bound::AtLeast(x) if conductor.mm2 >= x);
    let doubt = match (is_met, read) {
        (true, None) if zs.is_some() => {
            Some("Zs has no number, so nothing shows that the fuse is as quick as that")
        }
        (false, None) => Some("the fuse may be quicker than that: Zs will tell"),
        (false, Some(_)) if has_reserve => Some("the fuse is quicker than that at this Zs"),
        _ => None,
    };
    let doubt = doubt.map(|so| {
        let why = format!(
            "{} mm²; {}; {so}: compare its let-through energy with {}, and record it as let_through_a2s",
            conductor.mm2.normalize(),
            rule.how,
            energy_stood(conductor)
        );
        (Verdict::Query, why)
    });
    Ok(Judged { rule, doubt })
}

/// Earth fault current at a board, A.
enum EarthFault {
    /// Known, with how.
    Amps(f64, String),
    /// The readings that give it are still to be taken.
    NotTaken,
    /// They were taken, and none is a number.
    Unknown,
}

impl EarthFault {
    /// By Zdb, else by the fault current read at the board or at the origin, which is higher.
    fn at(judge: &Judge<'_>, board: &Board) -> EarthFault {
        let supply = &judge.job.supply;
        let volts = supply.u0_v.normalize();
        let origin = &supply.readings;
        let at_board = &board.readings;
        let number = |v: Option<Value>| v.and_then(|v| v.number());
        let by_ohm = |ohm: Option<Decimal>, name: &str| {
            let ohm = ohm?;
            let amps = fault_a(judge, ohm)?;
            Some((amps, format!("{volts} V / {name} {ohm} Ω")))
        };
        let by_ka = |ka: Option<Decimal>, name: &str| {
            let ka = ka.filter(|ka| !ka.is_zero())?;
            Some((f64_of(ka) * 1000.0, format!("{name} {ka} kA")))
        };
        let known = by_ohm(number(at_board.value(Test::Zdb)), "Zdb")
            .or_else(|| by_ka(number(at_board.value(Test::Pfc)), "Ipf of the board"))
            .or_else(|| by_ohm(number(origin.value(Test::Ze)), "Ze"))
            .or_else(|| by_ka(number(origin.value(Test::PfcLe)), "Ipf L-E at the origin"));
        match known {
            Some((amps, how)) => EarthFault::Amps(amps, how),
            None if at_board.get(Test::Zdb).is_none()
                || at_board.get(Test::Pfc).is_none()
                || origin.get(Test::Ze).is_none() =>
            {
                EarthFault::NotTaken
            }
            None => EarthFault::Unknown,
        }
    }
}

fn fault_a(judge: &Judge<'_>, ohm: Decimal) -> Option<f64> {
    let ka = calc::fault_current_ka(f64_of(judge.job.supply.u0_v), f64_of(ohm)).ok()?;
    Some(ka * 1000.0)
}

/// Rounded up to what is shown: never below what is asked for.
fn up(mm2: f64) -> Option<Decimal> {
    let exact = rounded(mm2, 6)?;
    Some(
        exact
            .round_dp_with_strategy(2, RoundingStrategy::AwayFromZero)
            .normalize(),
    )
}
