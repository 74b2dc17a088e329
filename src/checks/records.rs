//! Readings that are compared with the job's own record: storage, reconnection, signatures.

use std::sync::Arc;

use rust_decimal::Decimal;

use super::{Bound, Doubt, Judge, Rule, Ruled};
use crate::forms::{Forms, Limit, MissingLimit};
use crate::job::{Owner, Reading, Role, Seat, Value};

/// Voltage at the d.c. isolator against the maker's window as recorded.
pub(super) fn storage_voltage(seat: &Seat<'_>) -> Rule {
    let Owner::Storage(s) = seat.owner else {
        return Rule::free("recorded");
    };
    let mut rule = Rule::free(
        "the maker's window as recorded with the storage; before the d.c. isolator closes",
    );
    rule.bound = Bound::Between(s.dc_min_v, s.dc_max_v);
    rule
}

/// Modules fitted against the record.
pub(super) fn storage_modules(seat: &Seat<'_>) -> Rule {
    let Owner::Storage(s) = seat.owner else {
        return Rule::free("recorded");
    };
    let usable = s.usable_kwh * Decimal::from(s.modules);
    let mut rule = Rule::free(format!(
        "{} modules of {} kWh usable are recorded, {} kWh together",
        s.modules,
        s.usable_kwh.normalize(),
        usable.normalize()
    ));
    rule.bound = Bound::Exactly(Decimal::from(s.modules));
    rule.expected = Some(s.modules.to_string());
    rule
}

/// One stage of the interface protection, with the limits it has to be set to.
#[derive(Debug)]
pub struct ProtectionStage<'f> {
    /// Short name, such as `OV1`.
    pub short: &'static str,
    /// Name in words.
    pub name: &'static str,
    /// Voltage, frequency or rate that it trips at.
    pub edge: &'f Arc<Limit>,
    /// How long it waits.
    pub time: &'f Arc<Limit>,
}

/// Every stage of the interface protection, in the order they are read back.
///
/// # Errors
/// [`MissingLimit`] where the forms lack one.
pub fn protection_stages(forms: &Forms) -> Result<Vec<ProtectionStage<'_>>, MissingLimit> {
    const STAGES: [(&str, &str, &str, &str); 7] = [
        ("UV", "under voltage", "uv", "volts"),
        ("OV1", "over voltage, stage 1", "ov1", "volts"),
        ("OV2", "over voltage, stage 2", "ov2", "volts"),
        ("UF1", "under frequency, stage 1", "uf1", "hertz"),
        ("UF2", "under frequency, stage 2", "uf2", "hertz"),
        ("OF", "over frequency", "of", "hertz"),
        (
            "RoCoF",
            "loss of mains, rate of change of frequency",
            "rocof",
            "rate",
        ),
    ];
    STAGES
        .into_iter()
        .map(|(short, name, id, what)| {
            Ok(ProtectionStage {
                short,
                name,
                edge: forms.limit(&format!("grid/{id}/{what}"))?,
                time: forms.limit(&format!("grid/{id}/time"))?,
            })
        })
        .collect()
}

/// What the interface protection has to be set to, to compare with what is read back.
pub(super) fn settings(judge: &Judge<'_>) -> Ruled {
    let stages = protection_stages(judge.forms)?;
    let how = "every stage read back and the same";
    let rule = match stages.first() {
        Some(first) => Rule::of(Bound::Yes, how, first.edge),
        None => Rule {
            bound: Bound::Yes,
            ..Rule::free(how)
        },
    };
    let with_unit = |l: &Limit| l.unit.with(l.value);
    let words: Vec<String> = stages
        .iter()
        .map(|s| format!("{} {} {}", s.short, with_unit(s.edge), with_unit(s.time)))
        .collect();
    let rule = stages.iter().fold(rule, |r, s| r.with(s.edge).with(s.time));
    Ok(rule.expecting(Some(words.join(" · "))))
}

/// Shortest time before the inverters may reconnect.
pub(super) fn reconnect(judge: &Judge<'_>) -> Ruled {
    let least = judge.forms.limit("grid/reconnect-min")?;
    Ok(Rule::of(
        Bound::AtLeast(least.value),
        "shortest time between the return of the mains and reconnection",
        least,
    ))
}

/// A signature has to be a qualified person's own name, and later than the last reading.
pub(super) fn signature(judge: &Judge<'_>, value: &Value, reading: &Reading) -> Option<Doubt> {
    let Value::Text(name) = value else {
        return None;
    };
    let signer = judge.job.person(&reading.by)?;
    if !signer.name.eq_ignore_ascii_case(name.trim()) || signer.role != Role::Qualified {
        return Some(Doubt::query(format!(
            "signed as `{name}`, entered by {} ({})",
            signer.name,
            signer.role.name()
        )));
    }
    judge
        .last_work
        .filter(|last| *last > reading.at)
        .map(|last| {
            Doubt::query(format!(
                "a reading was entered at {}, after this signature: sign again",
                last.format("%Y-%m-%d %H:%M")
            ))
        })
}
