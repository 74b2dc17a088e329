//! Change of voltage from the origin to the far end: drop towards a load, rise towards an inverter. Every part that the
//! current goes through adds up: sub-mains, the circuit, and the trunk of micro-inverters.

use std::sync::Arc;

use rust_decimal::{Decimal, RoundingStrategy};

use super::network::{DEEPEST, EACH, OnTrunk};
use super::rule::{Outcome, compare};
use super::{
    Bound, Finding, Judge, Rule, Verdict, capacity, continuity, f64_of, rounded, settings,
};
use crate::calc;
use crate::forms::{Limit, MissingLimit};
use crate::job::{
    Board, Cable, CableForm, Circuit, CircuitKind, Lines, Phases, Seat, Test, Unit, Value,
};

/// The finding of a circuit with a cable. A sub-main is a part of the circuits beyond it.
pub(super) fn of_circuit(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    board: &Board,
    circuit: &Circuit,
) -> Option<Finding> {
    circuit.cable.as_ref()?;
    let path = board.path(circuit);
    let worked_out = match circuit.kind {
        CircuitKind::Spare => return None,
        CircuitKind::Distribution if !judge.network.boards_beyond(&path).is_empty() => return None,
        CircuitKind::Distribution => Err("the board that it feeds isn't recorded".to_string()),
        // In percent of another voltage, which isn't recorded; the figures are those of the public supply.
        _ if circuit.extra_low_voltage => return None,
        CircuitKind::Source => rise(judge, &path, board, circuit),
        // While R1+R2, which tells the length, is still to be taken, that is what is open.
        _ if is_still_to_come(circuit) => return None,
        _ => drop(judge, &path, board, circuit),
    };
    let (value, rule, outcome) = worked_out.unwrap_or_else(|why| {
        let (verdict, why) = if capacity::is_left_alone(circuit) {
            (
                Verdict::Excused,
                format!("existing, not altered, so not judged: {why}"),
            )
        } else {
            (Verdict::Query, format!("can't be judged: {why}"))
        };
        let outcome = Outcome::plain(verdict, why.clone());
        ("not known".into(), Rule::free(why), outcome)
    });
    Some(judge.derived(seat, Test::Voltage, value, &rule, outcome))
}

fn is_still_to_come(circuit: &Circuit) -> bool {
    let length = circuit.cable.as_ref().and_then(|c| c.length_m);
    let read = |t| circuit.readings.get(t).is_some();
    length.is_none() && !read(Test::R1r2) && !(circuit.ring && read(Test::R1))
}

/// Current in a part, A: in two conductors, and on each line of three alike.
#[derive(Debug, Clone, Copy, Default)]
struct Flow {
    two: f64,
    three: f64,
}

/// One part of the way.
struct Part {
    name: String,
    volts: f64,
    /// With the numbers put in.
    how: String,
    basis: Vec<Arc<Limit>>,
}

/// Value, rule and outcome; or what is missing to know them.
type Judged = Result<(String, Rule, Outcome), String>;

/// Drop towards a load. The figures are guidance: past them the equipment may still have the voltage it needs.
fn drop(judge: &Judge<'_>, path: &str, board: &Board, circuit: &Circuit) -> Judged {
    let id = match circuit.kind {
        CircuitKind::Lighting => "drop/lighting",
        _ => "drop/other",
    };
    let most = limit(judge, id)?;
    let mut parts = Vec::new();
    for (at, feeding) in upstream(judge, path, board)? {
        parts.push(loaded(judge, &format!("sub-main {at}"), &at, feeding)?);
    }
    parts.push(loaded(judge, "circuit", path, circuit)?);
    let rule = Rule::of(Bound::AtMost(most.value), "drop to the load", most).for_guidance();
    let (value, rule, mut outcome) = judged(judge, rule, &parts)?;
    // The device lets more flow than most loads take, and never all of it at the far end.
    if circuit.design_a.is_none() && outcome.verdict == Verdict::Query {
        if capacity::is_left_alone(circuit) {
            outcome.verdict = Verdict::Excused;
        }
        outcome.why = format!(
            "{}; with all of In at the far end, as Ib isn't recorded (design_a)",
            outcome.why
        );
    }
    Ok((value, rule, outcome))
}

/// A part that carries its load.
fn loaded(judge: &Judge<'_>, name: &str, path: &str, circuit: &Circuit) -> Result<Part, String> {
    let (amps, taken) = match (circuit.design_a, &circuit.device) {
        (Some(ib), _) => (ib, ""),
        // Ib isn't recorded: more than In doesn't flow for long.
        (None, Some(device)) => (device.rating_a, "In "),
        (None, None) => return Err(format!("Ib of {path} isn't recorded")),
    };
    let amps = f64_of(amps);
    let flow = if circuit.lines == Lines::All {
        Flow {
            two: 0.0,
            three: amps,
        }
    } else {
        Flow {
            two: amps,
            three: 0.0,
        }
    };
    let (length, from) = length_m(judge, path, circuit)?;
    // Half of the current goes half way round on either side.
    let (length, ring) = if circuit.ring {
        (length / 4.0, " (a quarter of the ring)")
    } else {
        (length, "")
    };
    let mut part = along(judge, name, circuit, length, flow)?;
    part.how = format!("{taken}{}{ring}{from}", part.how);
    Ok(part)
}

/// Length of a load's cable: as recorded, else from what was measured.
fn length_m(
    judge: &Judge<'_>,
    path: &str,
    circuit: &Circuit,
) -> Result<(f64, &'static str), String> {
    let cable = cable_of(path, circuit)?;
    if let Some(length) = cable.length_m {
        return Ok((f64_of(length), ""));
    }
    let read = |t| circuit.readings.value(t).and_then(|v| v.number());
    let metre = Cable {
        length_m: Some(Decimal::ONE),
        ..cable.clone()
    };
    let measured = || {
        let line = continuity::line_ohm(judge, &metre)?;
        let (ohm, per_m, from) = match read(Test::R1).filter(|_| circuit.ring) {
            Some(r1) => (r1, line, ", length from r1"),
            None => {
                let both = line + continuity::cpc_ohm(judge, &metre)?;
                let quarter = if circuit.ring { 0.25 } else { 1.0 };
                (read(Test::R1r2)?, both * quarter, ", length from R1+R2")
            }
        };
        let length = calc::conductor_length_m(f64_of(ohm), per_m * 1000.0).ok()?;
        Some((length, from))
    };
    measured().ok_or_else(|| format!("length of {path} isn't recorded, and no reading tells it"))
}

/// Rise towards an inverter, on the line where it is most, with everything that feeds in along the way.
fn rise(judge: &Judge<'_>, path: &str, board: &Board, circuit: &Circuit) -> Judged {
    let target = limit(judge, "rise/target")?;
    let trip = settings::overvoltage_trip(judge).map_err(|e| e.to_string())?;
    let highest = limit(judge, "supply/highest")?;
    let trunk = longest_trunk(judge, &judge.network.branches(path))?;
    let upstream = upstream(judge, path, board)?;
    let lines: &[Lines] = match circuit.lines {
        Lines::All => &EACH,
        Lines::L1 => &[Lines::L1],
        Lines::L2 => &[Lines::L2],
        Lines::L3 => &[Lines::L3],
    };
    let mut worst: Option<(f64, Vec<Part>)> = None;
    for line in lines {
        let mut line = *line;
        let mut parts = vec![fed(judge, "circuit", path, circuit, line)?];
        for (at, feeding) in upstream.iter().rev() {
            if feeding.lines != Lines::All {
                line = feeding.lines;
            }
            parts.push(fed(judge, &format!("sub-main {at}"), at, feeding, line)?);
        }
        parts.reverse();
        let sum = total(&parts);
        if worst.as_ref().is_none_or(|(most, _)| sum > *most) {
            worst = Some((sum, parts));
        }
    }
    let (_, mut parts) = worst.ok_or("the circuit has no line")?;
    parts.extend(trunk);
    let u0 = judge.job.supply.u0_v;
    let room = (trip.value - highest.value)
        .checked_mul(Decimal::ONE_HUNDRED)
        .and_then(|v| v.checked_div(u0))
        .ok_or("the voltage of the supply is out of range")?
        .round_dp_with_strategy(2, RoundingStrategy::ToZero);
    let rule = Rule::of(
        Bound::AtMost(target.value),
        "rise towards the inverter",
        target,
    )
    .for_guidance()
    .outside_past(Bound::AtMost(room))
    .with(trip)
    .with(highest);
    let sum = total(&parts);
    let (value, rule, mut outcome) = judged(judge, rule, &parts)?;
    if outcome.verdict == Verdict::Outside {
        outcome.why = format!(
            "the supply may have {} V, {} V more is above the {} V at which the inverter trips: {}",
            highest.value.normalize(),
            volts(sum, 2),
            trip.value.normalize(),
            rule.how
        );
    }
    Ok((value, rule, outcome))
}

/// A part that carries all the sources beyond it.
fn fed(
    judge: &Judge<'_>,
    name: &str,
    path: &str,
    circuit: &Circuit,
    line: Lines,
) -> Result<Part, String> {
    let sources = judge
        .network
        .fed(path)
        .ok_or("the boards feed each other in a circle")?;
    if let Some(nothing) = &sources.unknown {
        return Err(format!("what feeds {nothing} isn't recorded"));
    }
    let (two, three) = sources.on(line);
    let flow = Flow {
        two: f64_of(two),
        three: f64_of(three),
    };
    let length = cable_of(path, circuit)?
        .length_m
        .ok_or_else(|| format!("length of {path} isn't recorded"))?;
    along(judge, name, circuit, f64_of(length), flow)
}

/// The trunk with the most rise of those on a circuit; none where no micro-inverter is on it.
fn longest_trunk(judge: &Judge<'_>, branches: &[OnTrunk<'_>]) -> Result<Option<Part>, String> {
    let mut most: Option<Part> = None;
    for (name, branch, inverter) in branches {
        let trunk = branch
            .trunk
            .as_ref()
            .ok_or_else(|| format!("trunk of {name} isn't recorded"))?;
        let three = inverter.phases == Phases::Three;
        let row = PerAmpMetre::of(judge, CableForm::Flexible, trunk.line_mm2, three)?;
        let units = u32::try_from(branch.units.len()).unwrap_or(u32::MAX);
        let volts = calc::trunk_rise_v(
            units,
            f64_of(inverter.rated_a),
            f64_of(trunk.spacing_m),
            row.mv / 2.0,
        )
        .map_err(|e| e.to_string())?;
        let part = Part {
            name: format!("trunk of {name}"),
            volts,
            how: format!(
                "{} A × {} m × {units} × {} / 2 × {}",
                inverter.rated_a.normalize(),
                trunk.spacing_m.normalize(),
                units.saturating_add(1),
                row.how
            ),
            basis: row.basis,
        };
        if most.as_ref().is_none_or(|m| part.volts > m.volts) {
            most = Some(part);
        }
    }
    Ok(most)
}

/// Circuits between the origin and a board, the first one first.
fn upstream<'c, 'a: 'c>(
    judge: &Judge<'a>,
    path: &str,
    board: &'c Board,
) -> Result<Vec<(String, &'c Circuit)>, String> {
    if judge.network.fed(path).is_none() {
        return Err("the boards feed each other in a circle".into());
    }
    let mut out = Vec::new();
    let mut at = board;
    while !at.fed_from.is_empty() {
        if out.len() == DEEPEST {
            return Err(format!(
                "more than {DEEPEST} boards feed one another up to {path}"
            ));
        }
        let (above, circuit) = judge
            .circuit(&at.fed_from)
            .ok_or_else(|| format!("what feeds board {} isn't recorded", at.id))?;
        out.push((at.fed_from.clone(), circuit));
        at = above;
    }
    out.reverse();
    Ok(out)
}

fn cable_of<'c>(path: &str, circuit: &'c Circuit) -> Result<&'c Cable, String> {
    circuit
        .cable
        .as_ref()
        .ok_or_else(|| format!("cable of {path} isn't recorded"))
}

/// Change of voltage along a cable, to neutral.
fn along(
    judge: &Judge<'_>,
    name: &str,
    circuit: &Circuit,
    length: f64,
    flow: Flow,
) -> Result<Part, String> {
    let cable = cable_of(name, circuit)?;
    let mut part = Part {
        name: name.to_string(),
        volts: 0.0,
        how: String::new(),
        basis: Vec::new(),
    };
    let mut words = Vec::new();
    for (amps, three) in [(flow.two, false), (flow.three, true)] {
        if amps <= 0.0 {
            continue;
        }
        let row = PerAmpMetre::of(judge, cable.form, cable.line_mm2, three)?;
        part.volts += calc::voltage_change_v(row.mv, amps, length).map_err(|e| e.to_string())?;
        words.push(format!(
            "{} A × {} m × {}",
            shown(amps),
            shown(length),
            row.how
        ));
        part.basis.extend(row.basis);
    }
    part.how = if words.is_empty() {
        "nothing flows".into()
    } else {
        words.join(" + ")
    };
    Ok(part)
}

/// Change of voltage per ampere and metre, mV: of both conductors of a single-phase circuit, or of one line of three to
/// neutral where the currents balance.
struct PerAmpMetre {
    mv: f64,
    how: String,
    basis: Vec<Arc<Limit>>,
}

impl PerAmpMetre {
    fn of(
        judge: &Judge<'_>,
        form: CableForm,
        mm2: Decimal,
        three: bool,
    ) -> Result<PerAmpMetre, String> {
        let mm2 = mm2.normalize();
        let row = |table: &str| {
            judge
                .forms
                .limit(&format!("mv/{}{table}/{mm2}", form.key()))
        };
        let made = |mv: f64, words: &str, basis: Vec<Arc<Limit>>| PerAmpMetre {
            mv,
            how: format!("{} mV/A/m{words}", shown(mv)),
            basis,
        };
        if three && let Ok(row) = row("-3ph") {
            let factor = limit(judge, "supply/line-factor")?;
            let mv = calc::per_line(row.f64(), factor.f64()).map_err(|e| e.to_string())?;
            let words = format!(
                " per balanced line ({} between lines)",
                row.value.normalize()
            );
            return Ok(made(mv, &words, vec![row.clone(), factor.clone()]));
        }
        let (both, words, basis) = match row("") {
            Ok(row) => (row.f64(), "", vec![row.clone()]),
            Err(MissingLimit(_)) => {
                let (both, basis) = derived(judge, form, mm2)?;
                (both, " derived from the resistance", basis)
            }
        };
        // Balanced lines leave the neutral without current: one conductor of the two.
        let (mv, per_line) = if three {
            (both / 2.0, " per balanced line")
        } else {
            (both, "")
        };
        Ok(made(mv, &format!("{per_line}{words}"), basis))
    }
}

/// mV/A/m of both conductors by their resistance at operating temperature, for a size that no table lists.
fn derived(
    judge: &Judge<'_>,
    form: CableForm,
    mm2: Decimal,
) -> Result<(f64, Vec<Arc<Limit>>), String> {
    let warm = match form {
        CableForm::FlatTwinEarth70 | CableForm::Singles70 => "temp/operating/70c",
        CableForm::Armoured90 => "temp/operating/90c",
        CableForm::Flexible => "temp/operating/60c",
    };
    let id = format!("conductor/{}/{mm2}", continuity::class(form));
    let row = judge.forms.limit(&id).map_err(|_| {
        format!(
            "neither a voltage drop nor a resistance is listed for {mm2} mm² {}",
            form.name()
        )
    })?;
    let warm = limit(judge, warm)?;
    let mv = calc::ohm_at_operating(row.f64(), warm.f64())
        .map(|mohm_per_m| 2.0 * mohm_per_m)
        .map_err(|e| e.to_string())?;
    Ok((mv, vec![row.clone(), warm.clone()]))
}

fn limit<'j>(judge: &Judge<'j>, id: &str) -> Result<&'j Arc<Limit>, String> {
    judge.forms.limit(id).map_err(|e| e.to_string())
}

fn total(parts: &[Part]) -> f64 {
    parts.iter().map(|p| p.volts).sum()
}

/// The sum of the parts in percent of the supply, against the rule.
fn judged(judge: &Judge<'_>, mut rule: Rule, parts: &[Part]) -> Judged {
    let u0 = judge.job.supply.u0_v;
    let sum = total(parts);
    let percent = calc::percent_of(sum, f64_of(u0)).map_err(|e| e.to_string())?;
    // Up to the next hundredth, without the dust of binary fractions.
    let percent = rounded(percent, 6)
        .ok_or("the sum is out of range")?
        .round_dp_with_strategy(2, RoundingStrategy::AwayFromZero);
    let dp = places(sum, u0, percent, rule.bound.highest());
    let volts = |x: f64| volts(x, dp);
    let words: Vec<String> = parts
        .iter()
        .map(|p| format!("{} {} V", p.name, volts(p.volts)))
        .collect();
    let sum = match words.len() {
        1 => format!("{} = {percent} % of {} V", words.join(""), u0.normalize()),
        _ => format!(
            "{} = {} V = {percent} % of {} V",
            words.join(" + "),
            volts(sum),
            u0.normalize()
        ),
    };
    rule.how = format!("{}: {sum}", rule.how);
    let outcome = compare(&rule, &Value::Number(percent), Unit::Percent, None);
    let how: Vec<String> = parts
        .iter()
        .map(|p| format!("{}: {}", p.name, p.how))
        .collect();
    rule.how = format!("{sum}; {}", how.join("; "));
    for part in parts {
        for row in &part.basis {
            if !rule.basis.contains(row) {
                rule.basis.push(row.clone());
            }
        }
    }
    Ok((percent.to_string(), rule, outcome))
}

/// Decimals of volts: two, and as many more as it takes not to say that a limit is met that isn't.
fn places(sum: f64, u0: Decimal, percent: Decimal, limit: Option<Decimal>) -> u32 {
    let is_past = |dp: u32| {
        let shown = rounded(sum, dp)?.checked_mul(Decimal::ONE_HUNDRED)?;
        Some(shown.checked_div(u0)? > limit?)
    };
    let wanted = limit.map(|limit| percent > limit);
    (2..6).find(|dp| is_past(*dp) == wanted).unwrap_or(2)
}

/// Volts, with so many decimals.
fn volts(x: f64, dp: u32) -> String {
    let places = dp as usize;
    rounded(x, dp).map_or_else(|| "?".to_string(), |d| format!("{d:.places$}"))
}

/// Two decimals at most, which is all that paced lengths and tabulated values are worth.
fn shown(x: f64) -> String {
    rounded(x, 2).map_or_else(|| "?".to_string(), |d| d.normalize().to_string())
}
