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
    field!(
        Person.firm,
        "firm",
        "",
        "firm and registration, as they should be printed"
    ),
    field!(
        Person.phone,
        "phone",
        "",
        "number that the customer may call; it stands in what they keep"
    ),
];
