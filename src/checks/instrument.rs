//! Whether the instrument of a reading could take it.

use super::{Doubt, Judge};
use crate::job::{Function, Reading, Test};

/// What is wrong with the instrument a reading was taken with.
pub(super) fn unfit(judge: &Judge<'_>, test: Test, reading: &Reading) -> Option<Doubt> {
    if !test.needs_instrument() {
        return None;
    }
    let function = Function::of(test)?;
    let query = |why: String| Some(Doubt::query(why));
    let Some(id) = reading.instrument.as_deref() else {
        return query("no instrument is named: say what it was read with".into());
    };
    let Some(tool) = judge.job.instrument(id) else {
        return query(format!("no instrument `{id}` is on this job"));
    };
    if !tool.functions.contains(&function) {
        return query(format!(
            "{id} ({}) doesn't measure {}: name the instrument that did",
            tool.kind,
            function.key()
        ));
    }
    let day = reading.at.date_naive();
    if day < tool.calibrated || day > tool.due {
        return query(format!(
            "{id} ({}) was out of calibration on {day}: its calibration counts from {} to {}",
            tool.kind, tool.calibrated, tool.due
        ));
    }
    if function == Function::Continuity && !tool.leads_nulled {
        return query(format!(
            "the leads of {id} ({}) are not nulled: the reading holds their resistance",
            tool.kind
        ));
    }
    None
}
