//! What the insulation of a string of sound modules reads, beside its limit.

use super::{Doubt, Judge, f64_of, rounded};
use crate::calc;
use crate::forms::MissingLimit;
use crate::job::{Array, Owner, PvString, Readings, Seat, Test, Value};

/// Least insulation of so many sound modules, MΩ; `None` where their area isn't recorded.
fn sound(judge: &Judge<'_>, array: &Array, string: &PvString) -> Result<Option<f64>, MissingLimit> {
    let product = judge.forms.limit("pv/module-insulation")?;
    Ok(array.module.area_m2.and_then(|area| {
        let n = u32::try_from(string.modules.len()).ok()?;
        calc::module_insulation_mohm(product.f64(), f64_of(area), n).ok()
    }))
}

/// What is to be expected, and what two readings of a pole each come to with the poles joined.
pub(super) fn expected(
    judge: &Judge<'_>,
    array: &Array,
    string: &PvString,
    test: Test,
    readings: &Readings,
) -> Option<String> {
    let shown = |mohm: f64| rounded(mohm, 2).unwrap_or_default().normalize();
    let mut words = Vec::new();
    match sound(judge, array, string).ok()? {
        Some(least) => words.push(format!(
            "{} MΩ or more of {} sound modules",
            shown(least),
            string.modules.len()
        )),
        None => words.push("not known: record `area_m2` of the module".into()),
    }
    let pole = |t| readings.value(t).and_then(|v| v.number()).map(f64_of);
    if test != Test::IrJoined
        && let (Some(plus), Some(minus)) = (pole(Test::IrPos), pole(Test::IrNeg))
        && let Ok(joined) = calc::parallel(&[plus, minus])
    {
        words.push(format!(
            "with the poles joined these two would read {} MΩ",
            shown(joined)
        ));
    }
    Some(words.join("; "))
}

/// A reading that meets its limit and is lower than sound modules read. A pole alone never reads less than both joined, so
/// the same figure serves for both ways of measuring.
pub(super) fn low(judge: &Judge<'_>, seat: &Seat<'_>, value: &Value) -> Option<Doubt> {
    let Owner::PvString(array, string) = seat.owner else {
        return None;
    };
    let least = sound(judge, array, string).ok()??;
    let product = judge.forms.limit("pv/module-insulation").ok()?;
    let read = value.number()?;
    (f64_of(read) < least).then(|| {
        Doubt::query(format!(
            "{read} MΩ meets its limit and is less than the {} MΩ that {} sound modules have ({} MΩ·m² / {} / {} m² [{}]): damp connector, damaged cable, water in a junction box",
            rounded(least, 2).unwrap_or_default().normalize(),
            string.modules.len(),
            product.value.normalize(),
            string.modules.len(),
            array.module.area_m2.unwrap_or_default().normalize(),
            product.source.mark
        ))
        .by(product)
    })
}
