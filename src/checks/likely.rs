//! What most likely went wrong, said behind a query or a fault. It never changes a verdict.

use rust_decimal::Decimal;

use super::{Judge, Rule, continuity, f64_of, pv, rounded, tree};
use crate::job::{Board, Cable, CableForm, Cpc, Owner, Seat, Test, Unit, Value};

/// The likely cause of a reading that is not what was expected; `None` where nothing usual fits.
pub(super) fn cause(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    value: &Value,
    rule: &Rule,
) -> Option<String> {
    if (test, value) == (Test::DcPolarity, &Value::Fail) {
        return Some("+ and - are swapped: leave it unplugged until that is put right".into());
    }
    let n = value.number().filter(|n| !n.is_zero())?;
    let expected = rule
        .expected_value
        .map(f64_of)
        .filter(|e| *e > 0.0 && e.is_finite())?;
    if test == Test::Isc {
        return slipped(judge, n, expected, test).or_else(|| shaded(judge, seat, n, expected));
    }
    if test == Test::Voc {
        let missing = || pv::likely_cause(judge, seat, value);
        return slipped(judge, n, expected, test).or_else(missing);
    }
    slipped(judge, n, expected, test)
        .or_else(|| one_leg(judge, seat, test, f64_of(n), expected))
        .or_else(|| other_circuit(judge, seat, test, n))
        .or_else(|| other_cable(judge, seat, test, f64_of(n), expected))
}

/// What a reading that can't be read says by itself: a d.c. voltage below zero.
pub(super) fn unreadable(test: Test, typed: &str) -> Option<&'static str> {
    let below = typed.trim_start().starts_with('-');
    (below && matches!(test, Test::Voc | Test::DcVoltage))
        .then_some("+ and - are swapped, at the leads or in the string: find out which")
}

/// A factor of the limit files in percent, as a share.
fn share(judge: &Judge<'_>, id: &str) -> f64 {
    judge.forms.limit(id).map_or(0.0, |l| l.f64() / 100.0)
}

fn is_near(read: f64, expected: f64, share: f64) -> bool {
    (read / expected - 1.0).abs() <= share + 1e-9
}

/// The decimal point one or two places off, or amperes typed for kA.
pub(super) fn slipped(judge: &Judge<'_>, n: Decimal, expected: f64, test: Test) -> Option<String> {
    let near = share(judge, "likely/slip");
    let read = f64_of(n);
    for (factor, shift, places) in [
        (10.0, -1, "one place"),
        (0.1, 1, "one place"),
        (100.0, -2, "two places"),
        (0.01, 2, "two places"),
    ] {
        if is_near(read * factor, expected, near) {
            let meant = shifted(n, shift)?;
            return Some(format!("reads like {meant} with the point {places} off"));
        }
    }
    if test.unit() == Unit::KiloAmp && is_near(read / 1000.0, expected, near) {
        return Some(format!("reads like {n} A typed as kA"));
    }
    None
}

/// A number with its point moved: to the left for `places` above zero.
fn shifted(n: Decimal, places: i32) -> Option<Decimal> {
    let ten = Decimal::TEN;
    let mut out = n;
    for _ in 0..places.unsigned_abs() {
        out = if places > 0 {
            out.checked_div(ten)?
        } else {
            out.checked_mul(ten)?
        };
    }
    Some(out.normalize())
}

/// A ring that isn't joined as it should be: four times the expectation is one leg from end to end. Line and neutral alike,
/// one cross join that is missing, or one conductor that is broken, leaves a single path of twice the expectation, the same
/// at every point (x r + (1 - x) r = r against r / 2).
fn one_leg(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    read: f64,
    expected: f64,
) -> Option<String> {
    let is_ring = matches!(seat.owner, Owner::Circuit(_, c) if c.ring);
    let fit = share(judge, "likely/fit");
    match test {
        Test::R1r2 | Test::RingLn if is_ring && is_near(read, expected * 4.0, fit) => {
            Some("reads like one leg from end to end: an end of the ring is open or joined to its own leg".into())
        }
        Test::RingLn if is_ring && is_near(read, expected * 2.0, fit) => Some(
            "reads like a single path: one cross join is missing, or a conductor of the ring is broken".into(),
        ),
        _ => None,
    }
}

/// Circuits of a board by what R1+R2 should read, Ω, the lowest first.
#[derive(Debug, Default, PartialEq)]
pub(super) struct ByExpectation(Vec<(f64, String, String)>);

impl ByExpectation {
    /// Of a board.
    pub(super) fn of(judge: &Judge<'_>, board: &Board) -> ByExpectation {
        let circuits = board.circuits.iter();
        let mut all: Vec<(f64, String, String)> = circuits
            .filter_map(|c| {
                let ohm = continuity::from_length(judge, &tree::seat(board, c))?;
                Some((ohm, c.id.clone(), c.name.clone()))
            })
            .collect();
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
        ByExpectation(all)
    }
}

/// The one other circuit of the board whose expectation the reading fits.
fn other_circuit(judge: &Judge<'_>, seat: &Seat<'_>, test: Test, n: Decimal) -> Option<String> {
    let Owner::Circuit(board, circuit) = seat.owner else {
        return None;
    };
    if test != Test::R1r2 {
        return None;
    }
    let fit = share(judge, "likely/fit");
    let read = f64_of(n);
    let all = &judge.by_expectation(board)?.0;
    // A circuit like this one tells nothing: what fits it would fit here.
    let own = continuity::from_length(judge, seat);
    let is_like = |ohm: f64| own.is_some_and(|own| is_near(ohm, own, fit));
    let from = all.partition_point(|(ohm, ..)| *ohm < read / (1.0 + fit) - 1e-9);
    let mut fitting = all
        .iter()
        .skip(from)
        .take_while(|(ohm, ..)| is_near(read, *ohm, fit))
        .filter(|(ohm, id, _)| *id != circuit.id && !is_like(*ohm));
    let (ohm, id, name) = fitting.next()?;
    // Where several fit, none is likelier than the others.
    if fitting.next().is_some() {
        return None;
    }
    Some(format!(
        "fits circuit {id} {name} ({} Ω expected): wrong circuit?",
        rounded(*ohm, 2)?
    ))
}

/// Another usual pair of line and protective conductor whose resistance the reading fits best.
fn other_cable(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    test: Test,
    read: f64,
    expected: f64,
) -> Option<String> {
    let Owner::Circuit(_, circuit) = seat.owner else {
        return None;
    };
    let cable = circuit.cable.as_ref()?;
    if cable.form != CableForm::FlatTwinEarth70 || !matches!(test, Test::R1r2 | Test::R1) {
        return None;
    }
    let fit = share(judge, "likely/fit");
    let of = |cable: &Cable| {
        let line = continuity::line_ohm(judge, cable)?;
        let both = Some(line + continuity::cpc_ohm(judge, cable)?);
        both.filter(|_| test == Test::R1r2).or(Some(line))
    };
    let own = of(&one_metre(cable))?;
    let prefix = "cable/pair/";
    let best = judge
        .forms
        .limits_under(prefix)
        .filter_map(|pair| {
            let line: Decimal = pair.id.strip_prefix(prefix)?.parse().ok()?;
            let other = Cable {
                line_mm2: line,
                cpc: Cpc::Copper(pair.value),
                ..one_metre(cable)
            };
            let would_read = expected * of(&other)? / own;
            let off = (read / would_read - 1.0).abs();
            let is_own = line == cable.line_mm2 && cable.cpc == Cpc::Copper(pair.value);
            (off <= fit && !is_own).then_some((off, line, pair.value))
        })
        .min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(format!(
        "fits {}/{} mm² of that length: smaller or larger cable than recorded?",
        best.1.normalize(),
        best.2.normalize()
    ))
}

fn one_metre(cable: &Cable) -> Cable {
    Cable {
        length_m: Some(Decimal::ONE),
        ..cable.clone()
    }
}

/// A string with too little current at the right voltage.
fn shaded(judge: &Judge<'_>, seat: &Seat<'_>, n: Decimal, expected: f64) -> Option<String> {
    let voc = seat.readings.value(Test::Voc)?.number()?;
    let sound = judge.rule(seat, Test::Voc).ok()?.expected_value?;
    let near = share(judge, "pv/voc-tolerance");
    (f64_of(n) < expected && is_near(f64_of(voc), f64_of(sound), near)).then(|| {
        "Voc fits, so no module is missing: shade, soiling, or a sensor out of the plane".into()
    })
}
