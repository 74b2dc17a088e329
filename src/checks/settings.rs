//! The settings of the interface protection as read back, against the profile that was named.

use std::collections::BTreeSet;
use std::sync::Arc;

use rust_decimal::Decimal;

use super::rule::Outcome;
use super::{Bound, Doubt, Judge, Rule, Ruled, Verdict, connection};
use crate::calc::Procedure;
use crate::forms::{Forms, Limit, MissingLimit};
use crate::job::{Job, Test, Value};

/// One stage of the interface protection, with the limits it has to be set to.
#[derive(Debug)]
pub struct ProtectionStage<'f> {
    /// The reading it is read back in.
    pub test: Test,
    /// Short name, such as `OV1`.
    pub short: &'static str,
    /// Name in words.
    pub name: &'static str,
    /// Voltage, frequency or rate that it trips at.
    pub edge: &'f Arc<Limit>,
    /// How long it waits.
    pub time: &'f Arc<Limit>,
}

/// Reading, short name, name, and the end of the ids.
const STAGES: [(Test, &str, &str, &str, &str); 7] = [
    (Test::SetUv, "UV", "under voltage", "uv", "volts"),
    (Test::SetOv1, "OV1", "over voltage, stage 1", "ov1", "volts"),
    (Test::SetOv2, "OV2", "over voltage, stage 2", "ov2", "volts"),
    (
        Test::SetUf1,
        "UF1",
        "under frequency, stage 1",
        "uf1",
        "hertz",
    ),
    (
        Test::SetUf2,
        "UF2",
        "under frequency, stage 2",
        "uf2",
        "hertz",
    ),
    (Test::SetOf, "OF", "over frequency", "of", "hertz"),
    (
        Test::SetRocof,
        "RoCoF",
        "loss of mains, rate of change of frequency",
        "rocof",
        "rate",
    ),
];

/// Profiles that the files have settings of, such as `g98` and `g99`.
pub fn profiles(forms: &Forms) -> Vec<String> {
    let found: BTreeSet<String> = forms
        .limits_under("grid/")
        .filter_map(|l| {
            let (profile, rest) = l.id.strip_prefix("grid/")?.split_once('/')?;
            let known = STAGES.iter().any(|(.., id, what)| {
                rest == format!("{id}/{what}") || rest == format!("{id}/time")
            });
            known.then(|| profile.to_string())
        })
        .collect();
    found.into_iter().collect()
}

/// The profile that the reading `profile` names.
///
/// # Errors
/// Why there is none, with those that the files have.
pub fn chosen_profile(job: &Job, forms: &Forms) -> Result<String, String> {
    let known = profiles(forms);
    let list = known.join(", ");
    match job.grid.readings.value(Test::Profile) {
        Some(Value::Text(text)) => {
            named_in(&text, &known).map_err(|why| format!("{why}; the files have: {list}"))
        }
        _ => Err(format!("no profile is named yet; the files have: {list}")),
    }
}

/// The first overvoltage trip of the profile named, or of the profile with the lowest one as long as none is.
///
/// # Errors
/// [`MissingLimit`] where the forms have no such setting.
pub(super) fn overvoltage_trip<'a>(judge: &Judge<'a>) -> Result<&'a Arc<Limit>, MissingLimit> {
    let trip = |profile: &str| judge.forms.limit(&format!("grid/{profile}/ov1/volts"));
    match chosen_profile(judge.job, judge.forms) {
        Ok(profile) => trip(&profile),
        Err(_) => profiles(judge.forms)
            .iter()
            .filter_map(|profile| trip(profile).ok())
            .min_by_key(|limit| limit.value)
            .ok_or_else(|| MissingLimit("grid/g98/ov1/volts".into())),
    }
}

/// Words that name a variant with other settings, where the profile's own name doesn't have them.
const OTHER_REGION: [&str; 5] = ["ni", "nie", "northern", "ireland", "roi"];

fn words_of(text: &str) -> Vec<String> {
    text.split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect()
}

/// The one profile whose name stands in a text, as words of their own; a longer name counts before one that it contains.
fn named_in(text: &str, known: &[String]) -> Result<String, String> {
    let said = words_of(text);
    let has = |all: &[String], name: &str| {
        let name = words_of(name);
        !name.is_empty() && all.windows(name.len()).any(|some| some == name)
    };
    let found: Vec<&String> = known.iter().filter(|k| has(&said, k)).collect();
    let longest: Vec<&String> = found
        .iter()
        .copied()
        .filter(|k| {
            !found
                .iter()
                .any(|other| other != k && has(&words_of(other), k))
        })
        .collect();
    match longest.as_slice() {
        [one] => {
            let own = words_of(one);
            let other = said
                .iter()
                .find(|w| OTHER_REGION.contains(&w.as_str()) && !own.contains(w));
            match other {
                Some(_) => Err(format!(
                    "`{text}` is a variant of {} with settings of its own",
                    one.to_uppercase()
                )),
                None => Ok((*one).clone()),
            }
        }
        [] => Err(format!("`{text}` names no profile of the files")),
        _ => Err(format!("`{text}` names more than one profile")),
    }
}

/// A profile that no settings can be compared with: nothing runs on it. Or one that isn't for the sum of what is on the premises.
pub(super) fn unfit_profile(judge: &Judge<'_>, value: &Value) -> Option<Doubt> {
    let Value::Text(text) = value else {
        return None;
    };
    let known = profiles(judge.forms);
    match named_in(text, &known) {
        Ok(profile) => against_sum(judge, &profile),
        Err(why) => Some(Doubt::open(format!(
            "{why}: the settings can't be judged; the files have: {}; another one is added in own-limits.ron",
            known.join(", ")
        ))),
    }
}

/// A profile of the one procedure where the sum asks for the other. What the operator accepted may be more than had to be.
fn against_sum(judge: &Judge<'_>, profile: &str) -> Option<Doubt> {
    let all = connection(judge.job, judge.forms)?;
    let edge = judge.forms.limit("grid/g98-up-to").ok()?;
    let (other, asked, side) = match all.procedure {
        Procedure::G98 => ("g99", "G98", "not above"),
        Procedure::G99 => ("g98", "G99", "above"),
    };
    let accepted = all.procedure == Procedure::G98 && judge.job.grid.accepted.is_some();
    if accepted || !words_of(profile).iter().any(|word| word == other) {
        return None;
    }
    let most = all.sums.iter().map(|(_, sum)| *sum).max()?;
    Some(
        Doubt::query(format!(
            "profile {}, and {} A per phase is {side} {} A, which asks for {asked}: is it what the operator accepted?",
            profile.to_uppercase(),
            most.normalize(),
            edge.value.normalize()
        ))
        .by(edge),
    )
}

/// Every stage of the interface protection of a profile, in the order they are read back.
///
/// # Errors
/// [`MissingLimit`] where the forms lack one.
pub fn protection_stages<'f>(
    forms: &'f Forms,
    profile: &str,
) -> Result<Vec<ProtectionStage<'f>>, MissingLimit> {
    STAGES
        .into_iter()
        .map(|(test, short, name, id, what)| {
            Ok(ProtectionStage {
                test,
                short,
                name,
                edge: forms.limit(&format!("grid/{profile}/{id}/{what}"))?,
                time: forms.limit(&format!("grid/{profile}/{id}/time"))?,
            })
        })
        .collect()
}

fn with_unit(l: &Limit) -> String {
    l.unit.with(l.value)
}

/// What one stage has to be set to.
pub(super) fn rule(judge: &Judge<'_>, test: Test) -> Ruled {
    let profile = match chosen_profile(judge.job, judge.forms) {
        Ok(profile) => profile,
        Err(why) => return Ok(Rule::free(format!("can't be judged: {why}"))),
    };
    let stages = protection_stages(judge.forms, &profile)?;
    let Some(stage) = stages.into_iter().find(|s| s.test == test) else {
        return Ok(Rule::free("recorded"));
    };
    let text = format!("{} {}", with_unit(stage.edge), with_unit(stage.time));
    Ok(Rule::of(
        Bound::Words(format!("= {text}")),
        format!(
            "{} by profile {}: {}, then seconds, on every inverter",
            stage.name,
            profile.to_uppercase(),
            stage.edge.unit
        ),
        stage.edge,
    )
    .with(stage.time)
    .expecting(Some(text)))
}

/// Whether it is set to that.
pub(super) fn verdict(judge: &Judge<'_>, test: Test, numbers: &[Decimal]) -> Outcome {
    let outcome = |verdict, why: String| Outcome::plain(verdict, why);
    let [edge, time] = numbers else {
        // Nothing closes on a setting that wasn't read in full.
        return outcome(
            Verdict::Open,
            format!(
                "{}{} of 2 numbers: two are read back, the edge and the seconds, such as 262.2 1.0",
                super::incomplete(numbers.len(), 2),
                numbers.len()
            ),
        );
    };
    let profile = match chosen_profile(judge.job, judge.forms) {
        Ok(profile) => profile,
        // Nothing runs on settings that nothing was compared with.
        Err(why) => return outcome(Verdict::Open, format!("can't be judged: {why}")),
    };
    let stages = match protection_stages(judge.forms, &profile) {
        Ok(stages) => stages,
        Err(missing) => return outcome(Verdict::Open, format!("can't be judged: {missing}")),
    };
    let Some(stage) = stages.into_iter().find(|s| s.test == test) else {
        return outcome(Verdict::Open, "can't be judged: no such stage".into());
    };
    let profile = profile.to_uppercase();
    let wanted = format!("{} {}", with_unit(stage.edge), with_unit(stage.time));
    if *edge == stage.edge.value && *time == stage.time.value {
        return outcome(Verdict::Within, format!("{wanted} as {profile} asks"));
    }
    let read = format!(
        "{} {}",
        stage.edge.unit.with(edge),
        stage.time.unit.with(time)
    );
    outcome(
        Verdict::Outside,
        format!(
            "{} is set to {read}, {profile} asks for {wanted}: lock it open, ask maker and operator",
            stage.short
        ),
    )
}
