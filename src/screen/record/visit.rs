//! Fields of the visit.

use crate::job::{Job, Part};

use super::entry::{Choices, Entry, Kind, field};
use super::line::list;

fn documents(p: &Part) -> Vec<String> {
    match p {
        Part::Visit(x) => x.documents.clone(),
        _ => Vec::new(),
    }
}

fn put_documents(p: &mut Part, items: Vec<String>) -> Result<(), String> {
    if let Part::Visit(x) = p {
        x.documents = items.into_iter().filter(|t| !t.is_empty()).collect();
    }
    Ok(())
}

/// The installation is mostly where the client lives.
fn same_as_client(job: &Job) -> Choices {
    let address = job.client.address.clone();
    match address.as_str() {
        "" => Vec::new(),
        _ => vec![(address.clone(), format!("as the client's: {address}"))],
    }
}

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    field!(
        Visit.reference,
        "reference",
        "",
        "your number of the job; it is on every page"
    ),
    field!(Visit.title, "title", "", "short, for lists"),
    field!(Visit.client.name, "client", "", "who the work is for"),
    field!(
        Visit.client.contact,
        "client's contact",
        "",
        "telephone or e-mail; the network operator asks"
    ),
    field!(
        Visit.client.address,
        "client's address",
        "",
        "postal address, on one line"
    ),
    field!(
        Visit.address,
        "address",
        "",
        "where the installation is, on one line",
        Kind::Suggest(same_as_client)
    ),
    field!(Visit.work, "work", "", "new, or added to what is there"),
    field!(
        Visit.premises,
        "premises",
        "",
        "what the building is used for; decides whether sockets need arc fault detection"
    ),
    field!(
        Visit.extent,
        "extent",
        "",
        "what was worked on and what was not",
        Kind::Prose
    ),
    field!(
        Visit.started,
        "started",
        "",
        "first day of the work, YYYY-MM-DD"
    ),
    field!(
        Visit.next_inspection,
        "next inspection",
        "",
        "day before which it is due, YYYY-MM-DD; wanted before anybody signs"
    ),
    field!(
        Visit.ambient_c,
        "ambient temperature",
        "°C",
        "during the dead tests, -40 to 60; empty where it wasn't noted, 20 then counts"
    ),
    field!(
        Visit.existing,
        "existing",
        "",
        "remarks on the installation that was there before",
        Kind::Prose
    ),
    field!(
        Visit.exceptions,
        "exceptions",
        "",
        "permitted exceptions, such as sockets without RCD, each with its risk assessment; empty for none",
        Kind::Prose
    ),
    field!(
        Visit.monitoring,
        "monitoring",
        "",
        "display, app or meter by which the customer watches the system; it stands in what they keep"
    ),
    list!(
        "documents.",
        "documents",
        "document",
        "given to the customer: data sheets, manuals, warranties, declarations",
        documents,
        put_documents
    ),
];
