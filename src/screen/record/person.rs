//! Fields of a person.

use super::entry::{Entry, field};

/// In the order of the form.
pub(super) static ENTRIES: &[Entry] = &[
    field!(
        Person.id,
        "id",
        "",
        "short, such as initials: 1 to 12 letters, digits, - or .; stays once readings name it"
    ),
    field!(Person.name, "name", "", "in full, as it is signed"),
    field!(
        Person.role,
        "role",
        "",
        "a qualified person decides, confirms and signs"
    ),
    field!(Person.firm, "firm", "", "its name, as it should be printed"),
    field!(
        Person.address,
        "firm's address",
        "",
        "postal address, on one line; it stands with the signature"
    ),
    field!(
        Person.registration,
        "registration",
        "",
        "scheme and number; empty where there is none or it stands with the firm"
    ),
    field!(
        Person.phone,
        "phone",
        "",
        "number that the customer may call; it stands in what they keep"
    ),
];
