//! Which `.ron` files of a folder are known to be no jobs. Any other may be a damaged job, and is listed as one.

use serde::Deserialize;
use serde::de::IgnoredAny;

use super::settings::{self, Settings};
use crate::job::text::parse;

/// The fields by which form files are told from each other and from jobs, whatever they hold.
#[derive(Deserialize)]
struct Outline {
    // Limits, or labels.
    #[serde(default)]
    sources: Option<IgnoredAny>,
    #[serde(default)]
    limits: Option<IgnoredAny>,
    #[serde(default)]
    labels: Option<IgnoredAny>,
    // The order of work, and a person's own wording of its steps.
    #[serde(default)]
    stages: Option<IgnoredAny>,
    #[serde(default)]
    steps: Option<IgnoredAny>,
    // Handover.
    #[serde(default)]
    says: Option<IgnoredAny>,
    // Learn pages.
    #[serde(default)]
    pages: Option<IgnoredAny>,
    // Reasons.
    #[serde(default)]
    not_applicable: Option<IgnoredAny>,
    // Of jobs alone.
    #[serde(default)]
    reference: Option<IgnoredAny>,
    #[serde(default)]
    people: Option<IgnoredAny>,
    #[serde(default)]
    supply: Option<IgnoredAny>,
    #[serde(default)]
    boards: Option<IgnoredAny>,
}

/// How the lists and groups of a job begin, which no mapping has.
const OF_A_JOB: [&str; 4] = ["schema", "people: [", "boards: [", "supply: ("];

/// Whether a text is a mapping of readings by its look, also where it can't be read yet: no job mentions a decimal sign.
pub(super) fn is_mapping(text: &str) -> bool {
    text.contains("decimal:")
        && text.contains("readings:")
        && !OF_A_JOB.iter().any(|begins| text.contains(begins))
}

/// Whether a text is a mapping of readings, a form file or a settings file.
pub(super) fn is_no_job(text: &str) -> bool {
    is_mapping(text) || is_form(text) || is_settings(text)
}

fn is_form(text: &str) -> bool {
    let Ok(file) = parse::<Outline>("", text) else {
        return false;
    };
    let of_a_job = [file.reference, file.people, file.supply, file.boards];
    let of_a_form = [
        file.sources.and(file.limits.or(file.labels)),
        file.stages,
        file.steps,
        file.says,
        file.pages,
        file.not_applicable,
    ];
    of_a_form.iter().any(Option::is_some) && of_a_job.iter().all(Option::is_none)
}

fn is_settings(text: &str) -> bool {
    // Without any setting it may be what is left of a job.
    parse::<Settings>("", text)
        .is_ok_and(|read| read != Settings::default() || text.starts_with(settings::TITLE))
}
