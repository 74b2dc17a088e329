//! What strings and modules put on a d.c. input: highest voltage and current, and the fuses of strings in parallel.

use std::collections::HashMap;

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Finding, Judge, Rule, Verdict, f64_of, rounded};
use crate::calc::{self, CalcError};
use crate::forms::MissingLimit;
use crate::job::{Array, DcInput, Job, Layout, PvString, Seat, Test};

/// Strings by inverter and input, added up once for the whole job.
#[derive(Debug, Default)]
pub(super) struct Inputs {
    /// By inverter, then by input; an empty input is not recorded.
    groups: HashMap<String, HashMap<String, Group>>,
    /// By inverter.
    all: HashMap<String, Group>,
}

/// Strings that may be in parallel.
#[derive(Debug, Clone, Copy, Default)]
struct Group {
    count: usize,
    /// The largest short-circuit current among them, A.
    isc: Decimal,
    /// Lowest and highest open-circuit voltage of a whole string among them, V.
    voc: Option<(Decimal, Decimal)>,
}

impl Group {
    fn add(&mut self, isc: Decimal, voc: Decimal) {
        self.count += 1;
        self.isc = self.isc.max(isc);
        let (low, high) = self.voc.unwrap_or((voc, voc));
        self.voc = Some((low.min(voc), high.max(voc)));
    }
}

/// How many strings share an input, this one among them.
#[derive(Debug, Clone, Copy)]
struct Parallel {
    /// By the record.
    known: usize,
    /// If those without a recorded input are on the same one.
    at_worst: usize,
    /// The largest short-circuit current among them, A.
    isc: Decimal,
    /// Lowest and highest open-circuit voltage of a whole string among those that share it by the record, V.
    voc: Option<(Decimal, Decimal)>,
}

impl Inputs {
    /// Of a whole job; nothing that was read.
    pub(super) fn of(job: &Job) -> Inputs {
        let mut out = Inputs::default();
        for array in &job.arrays {
            let Layout::Strings(strings) = &array.layout else {
                continue;
            };
            let isc = array.module.isc_a;
            for string in strings {
                let inverter = array.inverter.as_str();
                let input = string.input.trim().to_string();
                let modules = Decimal::from(string.modules.len());
                let voc = array.module.voc_v.checked_mul(modules);
                let voc = voc.unwrap_or(Decimal::MAX);
                let groups = out.groups.entry(inverter.to_string()).or_default();
                groups.entry(input).or_default().add(isc, voc);
                let all = out.all.entry(inverter.to_string()).or_default();
                all.add(isc, voc);
            }
        }
        out
    }

    fn beside(&self, array: &Array, string: &PvString) -> Parallel {
        let inverter = array.inverter.as_str();
        let all = self.all.get(inverter).copied().unwrap_or_default();
        let named = string.input.trim();
        if named.is_empty() {
            return Parallel {
                known: 1,
                at_worst: all.count.max(1),
                isc: all.isc,
                voc: None,
            };
        }
        let of = |input| {
            let group = self.groups.get(inverter).and_then(|g| g.get(input));
            group.copied().unwrap_or_default()
        };
        let (mine, unknown) = (of(named), of(""));
        Parallel {
            known: mine.count.max(1),
            at_worst: (mine.count + unknown.count).max(1),
            isc: mine.isc.max(unknown.isc),
            voc: mine.voc,
        }
    }
}

/// Why a figure can't be reckoned.
enum Gap {
    Missing(MissingLimit),
    Calc(CalcError),
}

impl From<MissingLimit> for Gap {
    fn from(missing: MissingLimit) -> Gap {
        Gap::Missing(missing)
    }
}

impl From<CalcError> for Gap {
    fn from(error: CalcError) -> Gap {
        Gap::Calc(error)
    }
}

impl std::fmt::Display for Gap {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Gap::Missing(missing) => missing.fmt(f),
            Gap::Calc(error) => error.fmt(f),
        }
    }
}

/// A string at its inverter's input.
pub(super) fn of_string(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    array: &Array,
    string: &PvString,
) -> Option<Finding> {
    let parallel = judge.laid.inputs.beside(array, string);
    window(judge, seat, array, string.modules.len(), parallel)
}

/// Each module of a branch at its micro-inverter.
pub(super) fn of_branch(judge: &Judge<'_>, seat: &Seat<'_>, array: &Array) -> Option<Finding> {
    let alone = Parallel {
        known: 1,
        at_worst: 1,
        isc: array.module.isc_a,
        voc: None,
    };
    window(judge, seat, array, 1, alone)
}

fn window(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    array: &Array,
    modules: usize,
    parallel: Parallel,
) -> Option<Finding> {
    let inverter = judge.tree.inverter(&array.inverter)?;
    let (rule, volts, outcome) =
        match reckoned(judge, array, modules, parallel, inverter.dc.as_ref()) {
            Ok(all) => all,
            Err(gap) => (
                Rule::free("highest voltage and current against the inverter's input"),
                String::from("–"),
                Outcome::plain(Verdict::Query, format!("can't be judged: {gap}")),
            ),
        };
    Some(judge.derived(seat, Test::DcWindow, volts, &rule, outcome))
}

fn reckoned(
    judge: &Judge<'_>,
    array: &Array,
    modules: usize,
    parallel: Parallel,
    dc: Option<&DcInput>,
) -> Result<(Rule, String, Outcome), Gap> {
    let (m, forms) = (&array.module, judge.forms);
    let lowest = forms.limit("pv/lowest-cell")?;
    let highest = forms.limit("pv/highest-cell")?;
    let reference = forms.limit("pv/reference-temp")?;
    let current = forms.limit("pv/isc-max-factor")?;
    let unknown = forms.limit("pv/voc-max-factor")?;
    let n = u32::try_from(modules).unwrap_or(u32::MAX);
    let cold = array.lowest_c.unwrap_or(lowest.value);
    let voc = f64_of(m.voc_v);
    let beta = m.beta_pct_k.map(f64_of);
    let mut basis = vec![current.clone(), highest.clone(), reference.clone()];
    if array.lowest_c.is_none() {
        basis.push(lowest.clone());
    }
    let (highest_v, how) = match (beta, m.beta_pct_k) {
        (Some(b), Some(shown)) => (
            calc::voc_max_v(voc, n, b, f64_of(cold), reference.f64())?,
            format!(
                "{modules} × {} V × (1 + {} %/K × ({} - {} K))",
                m.voc_v.normalize(),
                shown.normalize(),
                cold.normalize(),
                reference.value.normalize()
            ),
        ),
        _ => {
            basis.push(unknown.clone());
            (
                calc::voc_max_by_factor_v(voc, n, unknown.f64())?,
                format!(
                    "{modules} × {} V × {}, no coefficient recorded",
                    m.voc_v.normalize(),
                    unknown.value.normalize()
                ),
            )
        }
    };
    let highest_v = rounded(highest_v, 6).unwrap_or(Decimal::MAX);
    let volts = highest_v.round_dp(1).normalize().to_string();
    let isc_max =
        rounded(calc::isc_max_a(f64_of(parallel.isc), current.f64())?, 6).unwrap_or(Decimal::MAX);
    let amps = |strings: usize| {
        isc_max
            .checked_mul(Decimal::from(strings))
            .unwrap_or(Decimal::MAX)
            .round_dp(6)
            .normalize()
    };
    let how = format!(
        "Voc,max = {how} = {volts} V; Isc,max = {} × {} × {} A = {} A",
        parallel.known,
        current.value.normalize(),
        parallel.isc.normalize(),
        amps(parallel.known)
    );
    let Some(dc) = dc else {
        let rule = Rule::free(how).with_all(&basis);
        let why = "no d.c. input is recorded with the inverter: put `dc` with max_v, start_v, mppt_min_v, mppt_max_v and max_a (the short-circuit current it stands) from its data sheet";
        return Ok((rule, volts, Outcome::plain(Verdict::Query, why)));
    };
    let mut rule = Rule::of(Bound::AtMost(dc.max_v), how, current);
    rule.basis = basis;
    let outcome = |verdict, why: String| Outcome {
        verdict,
        margin: Some((dc.max_v - highest_v).round_dp(1).normalize()),
        why,
    };
    if highest_v > dc.max_v {
        let why = format!(
            "Voc,max {volts} V at {} °C is above the {} V that the input stands: a cold bright morning destroys it",
            cold.normalize(),
            dc.max_v.normalize()
        );
        return Ok((rule, volts, outcome(Verdict::Outside, why)));
    }
    // Above the current that it limits itself to it would only lose yield; this is what it stands in a fault.
    if amps(parallel.known) > dc.max_a {
        let why = format!(
            "Isc,max {} A of {} in parallel is above the {} A that the input stands, and a fault inside would have to be broken",
            amps(parallel.known),
            strings(parallel.known),
            dc.max_a.normalize()
        );
        return Ok((rule, volts, outcome(Verdict::Outside, why)));
    }
    if let Some((low, high)) = parallel.voc
        && high > low
    {
        let apart = forms.limit("pv/parallel-voc")?;
        rule = rule.with(apart);
        let least = high * (Decimal::ONE - apart.value / Decimal::ONE_HUNDRED);
        if low < least {
            let why = format!(
                "strings of {} V and {} V share this input: more than {} % apart, so the longer one feeds back into the shorter; give each its own input, or the same number of modules",
                low.normalize(),
                high.normalize(),
                apart.value.normalize()
            );
            return Ok((rule, volts, outcome(Verdict::Outside, why)));
        }
    }
    let mut doubts: Vec<String> = Vec::new();
    if amps(parallel.at_worst) > dc.max_a {
        doubts.push(format!(
            "which strings share an input isn't recorded; {} on one would make Isc,max {} A against {} A: record `input` of each string",
            strings(parallel.at_worst),
            amps(parallel.at_worst),
            dc.max_a.normalize()
        ));
    }
    doubts.extend(by_range(
        array,
        n,
        beta,
        f64_of(cold),
        highest.f64(),
        reference.f64(),
        dc,
    )?);
    if !doubts.is_empty() {
        return Ok((rule, volts, outcome(Verdict::Query, doubts.join("; "))));
    }
    let why = format!(
        "Voc,max {volts} V at {} °C meets {} V, Isc,max {} A meets {} A, and it works in its range from {} to {} V",
        cold.normalize(),
        dc.max_v.normalize(),
        amps(parallel.known),
        dc.max_a.normalize(),
        dc.mppt_min_v.normalize(),
        dc.mppt_max_v.normalize()
    );
    Ok((rule, volts, outcome(Verdict::Within, why)))
}

/// Whether it starts on a hot day and finds its maximum power on hot and cold ones.
fn by_range(
    array: &Array,
    n: u32,
    beta: Option<f64>,
    cold: f64,
    hot: f64,
    reference: f64,
    dc: &DcInput,
) -> Result<Vec<String>, CalcError> {
    let m = &array.module;
    let mut doubts = Vec::new();
    let Some(beta) = beta else {
        doubts.push(
            "without a temperature coefficient its range on hot days can't be judged: record `beta_pct_k` of the module".to_string(),
        );
        return Ok(doubts);
    };
    let shown = |v: f64| rounded(v, 1).unwrap_or_default().normalize();
    let voc_hot = calc::voc_max_v(f64_of(m.voc_v), n, beta, hot, reference)?;
    if let Some(start) = dc.start_v
        && voc_hot < f64_of(start)
    {
        doubts.push(format!(
            "Voc {} V at {hot} °C is below the {} V it starts at: it may stay off on hot days",
            shown(voc_hot),
            start.normalize()
        ));
    }
    let Some(vmp) = m.vmp_v else {
        doubts.push(if voc_hot < f64_of(dc.mppt_min_v) {
            format!(
                "even Voc {} V at {hot} °C is below its range from {} V",
                shown(voc_hot),
                dc.mppt_min_v.normalize()
            )
        } else {
            "whether it works in its range can't be judged: record `vmp_v` of the module".into()
        });
        return Ok(doubts);
    };
    let at = |temp| calc::vmp_at_v(f64_of(vmp), f64_of(m.voc_v), n, beta, temp, reference);
    let (low, high) = (at(hot)?, at(cold)?);
    if low < f64_of(dc.mppt_min_v) {
        doubts.push(format!(
            "Vmp {} V at {hot} °C is below its range from {} V: it loses yield or stops when it is hot",
            shown(low),
            dc.mppt_min_v.normalize()
        ));
    }
    if high > f64_of(dc.mppt_max_v) {
        doubts.push(format!(
            "Vmp {} V at {cold} °C is above its range to {} V: it loses yield when it is cold",
            shown(high),
            dc.mppt_max_v.normalize()
        ));
    }
    Ok(doubts)
}

/// Fuse of a string that others could feed into; nothing to say of one that is alone and has none.
pub(super) fn fuse(
    judge: &Judge<'_>,
    seat: &Seat<'_>,
    array: &Array,
    string: &PvString,
) -> Option<Finding> {
    let parallel = judge.laid.inputs.beside(array, string);
    if parallel.at_worst < 2 && string.fuse_a.is_none() {
        return None;
    }
    let (rule, outcome) = match fused(judge, array, string, parallel) {
        Ok(both) => both,
        Err(gap) => (
            Rule::free("fuse of a string in parallel with others"),
            Outcome::plain(Verdict::Query, format!("can't be judged: {gap}")),
        ),
    };
    let value = string
        .fuse_a
        .map_or_else(|| "none".to_string(), |a| a.normalize().to_string());
    Some(judge.derived(seat, Test::StringFuse, value, &rule, outcome))
}

fn fused(
    judge: &Judge<'_>,
    array: &Array,
    string: &PvString,
    parallel: Parallel,
) -> Result<(Rule, Outcome), Gap> {
    let current = judge.forms.limit("pv/isc-max-factor")?;
    let least = judge.forms.limit("pv/fuse-min-factor")?;
    let isc_max = calc::isc_max_a(f64_of(parallel.isc), current.f64())?;
    let shown = |a: f64| rounded(a, 2).unwrap_or_default().normalize();
    let others = |strings: usize| shown(isc_max * (strings as f64 - 1.0));
    let most = array.module.max_fuse_a;
    let how = format!(
        "others feed {} A into it: ({} - 1) × {} × {} A; the module may have a fuse of {}",
        others(parallel.known),
        parallel.known,
        current.value.normalize(),
        parallel.isc.normalize(),
        most.map_or_else(
            || "an unknown rating".into(),
            |a| format!("{} A", a.normalize())
        )
    );
    if let Some(fitted) = string.fuse_a {
        let own = calc::isc_max_a(f64_of(array.module.isc_a), current.f64())?;
        // Without the module's figure only the lower end can be judged.
        let highest = most.unwrap_or(Decimal::from(100_000));
        let bounds = calc::string_fuse_bounds_a(own, least.f64(), f64_of(highest))?;
        let low = rounded(bounds.min_a, 4).unwrap_or(Decimal::MAX).normalize();
        let bound = match most {
            Some(most) => Bound::Between(low, most),
            None => Bound::AtLeast(low),
        };
        let rule = Rule::of(bound, how, least).with(current);
        let fitted_a = fitted.normalize();
        let outcome = if !bounds.allow(f64_of(fitted)) {
            Outcome::plain(
                Verdict::Outside,
                format!(
                    "a fuse of {fitted_a} A: it is to be at least {low} A so that it holds in bright sun, and at most what the module may have"
                ),
            )
        } else if most.is_none() {
            Outcome::plain(
                Verdict::Query,
                format!(
                    "a fuse of {fitted_a} A holds in bright sun; whether it protects the modules can't be judged: record `max_fuse_a` of the module"
                ),
            )
        } else {
            Outcome::plain(
                Verdict::Within,
                format!("a fuse of {fitted_a} A holds in bright sun and protects the modules"),
            )
        };
        return Ok((rule, outcome));
    }
    let rule = Rule::of(Bound::Free, how, current);
    let Some(most) = most else {
        let outcome = if parallel.at_worst >= 3 {
            Outcome::plain(
                Verdict::Query,
                format!(
                    "no fuse, and {} may be in parallel: record `max_fuse_a` of the module",
                    strings(parallel.at_worst)
                ),
            )
        } else {
            Outcome::plain(
                Verdict::Within,
                "one other string feeds no more into it than the module itself gives".to_string(),
            )
        };
        return Ok((rule, outcome));
    };
    let mut rule = rule;
    rule.bound = Bound::Words(format!("needed above {} A", most.normalize()));
    let needed = |strings: usize| {
        let strings = u32::try_from(strings).unwrap_or(u32::MAX);
        calc::string_fuse_needed(strings, isc_max, f64_of(most))
    };
    let outcome = if needed(parallel.known)? {
        Outcome::plain(
            Verdict::Outside,
            format!(
                "no fuse: {} A from the others is more than the {} A that the modules may have in series",
                others(parallel.known),
                most.normalize()
            ),
        )
    } else if needed(parallel.at_worst)? {
        Outcome::plain(
            Verdict::Query,
            format!(
                "which strings share an input isn't recorded; {} on one would feed {} A into it: record `input` of each string",
                strings(parallel.at_worst),
                others(parallel.at_worst)
            ),
        )
    } else {
        Outcome::plain(
            Verdict::Within,
            format!(
                "no fuse is needed: {} A from the others is not more than {} A",
                others(parallel.at_worst),
                most.normalize()
            ),
        )
    };
    Ok((rule, outcome))
}

fn strings(n: usize) -> String {
    match n {
        1 => "1 string".into(),
        n => format!("{n} strings"),
    }
}
