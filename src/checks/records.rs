//! Readings that are compared with the job's own record: storage, reconnection, signatures.

use rust_decimal::Decimal;

use super::{Bound, Judge, Rule, Ruled, Verdict};
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

/// What the interface protection has to be set to, to compare with what is read back.
pub(super) fn settings(judge: &Judge<'_>) -> Ruled {
    const STAGES: [(&str, &str, &str); 7] = [
        ("UV", "uv", "volts"),
        ("OV1", "ov1", "volts"),
        ("OV2", "ov2", "volts"),
        ("UF1", "uf1", "hertz"),
        ("UF2", "uf2", "hertz"),
        ("OF", "of", "hertz"),
        ("RoCoF", "rocof", "rate"),
    ];
    let mut stages = Vec::with_capacity(STAGES.len());
    for (name, id, what) in STAGES {
        let edge = judge.forms.limit(&format!("grid/{id}/{what}"))?;
        let time = judge.forms.limit(&format!("grid/{id}/time"))?;
        stages.push(format!(
            "{name} {} {}",
            edge.unit.with(edge.value),
            time.unit.with(time.value)
        ));
    }
    let source = judge.forms.limit("grid/uv/volts")?;
    Ok(
        Rule::of(Bound::Yes, "every stage read back and the same", source)
            .expecting(Some(stages.join(" · "))),
    )
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
pub(super) fn signature(
    judge: &Judge<'_>,
    value: &Value,
    reading: &Reading,
) -> Option<(Verdict, String)> {
    let Value::Text(name) = value else {
        return None;
    };
    let signer = judge.job.person(&reading.by)?;
    if !signer.name.eq_ignore_ascii_case(name.trim()) || signer.role != Role::Qualified {
        return Some((
            Verdict::Query,
            format!(
                "signed as `{name}`, entered by {} ({})",
                signer.name,
                signer.role.name()
            ),
        ));
    }
    judge
        .last_work
        .filter(|last| *last > reading.at)
        .map(|last| {
            (
                Verdict::Query,
                format!(
                    "a reading was entered at {}, after this signature: sign again",
                    last.format("%Y-%m-%d %H:%M")
                ),
            )
        })
}
