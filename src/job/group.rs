//! First names of addresses that are the job's own.

/// Groups of the job itself; their keys can't name a board or array.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Group {
    /// Safe isolation and energising.
    Safe,
    /// Inspection.
    Inspect,
    /// Origin of the supply.
    Supply,
    /// Bonding conductors.
    Bond,
    /// Inverters: nothing is read there, and what is worked out of their figures needs an address.
    Inverter,
    /// Grid connection.
    Grid,
    /// Labels and notices.
    Label,
    /// Closing the visit.
    Close,
    /// Signatures.
    Sign,
}

impl Group {
    /// Every group.
    pub const ALL: [Group; 9] = [
        Group::Safe,
        Group::Inspect,
        Group::Supply,
        Group::Bond,
        Group::Inverter,
        Group::Grid,
        Group::Label,
        Group::Close,
        Group::Sign,
    ];

    /// Key in places.
    pub fn key(self) -> &'static str {
        match self {
            Group::Safe => "safe",
            Group::Inspect => "inspect",
            Group::Supply => "supply",
            Group::Bond => "bond",
            Group::Inverter => "inverter",
            Group::Grid => "grid",
            Group::Label => "label",
            Group::Close => "close",
            Group::Sign => "sign",
        }
    }
}
