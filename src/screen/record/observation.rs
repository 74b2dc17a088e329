//! Fields of an observation.

use crate::job::{Job, Part};

use super::entry::{Choices, Entry, Kind, field};
use super::line::list;

fn people(job: &Job) -> Choices {
    job.people
        .iter()
        .map(|p| (p.id.clone(), format!("{}  {}", p.id, p.name)))
        .collect()
}

fn photos(p: &Part) -> Vec<String> {
    match p {
        Part::Observation(x) => x.photos.clone(),
        _ => Vec::new(),
    }
}

fn put_photos(p: &mut Part, items: Vec<String>) -> Result<(), String> {
    if let Part::Observation(x) = p {
        x.photos = items;
    }
    Ok(())
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    field!(Observation.text, "what", "", "what was seen", Kind::Prose),
    field!(
        Observation.departure,
        "departure",
        "",
        "yes for a departure from the standard that is intended and justified in the text"
    ),
    field!(
        Observation.by,
        "seen by",
        "",
        "who saw it",
        Kind::Suggest(people)
    ),
    list!(
        "photos.",
        "photos",
        "photo",
        "names of the files, printed with the observation; the files stay where they are",
        photos,
        put_photos
    ),
];
