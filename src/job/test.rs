//! The tests a reading can belong to, with key, heading, unit and kind of answer.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::unit::Unit;

/// How a test is answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// A number, zero or above, or over or under range.
    Number,
    /// A number that may be below zero.
    SignedNumber,
    /// A whole number of things.
    Count,
    /// In order, or not.
    PassFail,
    /// A word or a name.
    Text,
    /// Several numbers, zero or above; how many is for the check to say.
    List,
    /// Several numbers that may be below zero.
    SignedList,
}

impl Answer {
    /// Whether it is several numbers.
    pub fn is_list(self) -> bool {
        matches!(self, Answer::List | Answer::SignedList)
    }
}

macro_rules! tests {
    ($( $(#[$doc:meta])* $name:ident = $key:literal, $heading:literal, $unit:ident, $answer:ident; )*) => {
        /// One test, check or confirmation. A [`Place`](super::place::Place) is an owner and one of these.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub enum Test { $( $(#[$doc])* $name, )* }

        impl Test {
            /// Every test.
            pub const ALL: &'static [Test] = &[ $( Test::$name, )* ];

            /// The key in job files, places and form files.
            pub fn key(self) -> &'static str {
                match self { $( Test::$name => $key, )* }
            }

            /// Short heading for columns and lists.
            pub fn heading(self) -> &'static str {
                match self { $( Test::$name => $heading, )* }
            }

            /// Unit of the reading.
            pub fn unit(self) -> Unit {
                match self { $( Test::$name => Unit::$unit, )* }
            }

            /// How it is answered.
            pub fn answer(self) -> Answer {
                match self { $( Test::$name => Answer::$answer, )* }
            }
        }
    };
}

tests! {
    /// All sources of supply identified.
    Sources = "sources", "Sources found", Unitless, PassFail;
    /// Switched off in order, locked off, notice posted.
    LockedOff = "locked-off", "Locked off", Unitless, PassFail;
    /// Proved dead with a proved indicator.
    ProvedDead = "proved-dead", "Proved dead", Unitless, PassFail;
    /// Dead tests done, covers on, everybody warned: may be made live.
    Energise = "energise", "Ready to energise", Unitless, PassFail;
    /// Inverters and storage isolated for loop, fault current and RCD tests.
    InvertersOff = "inverters-off", "Inverters isolated", Unitless, PassFail;
    /// Strings, battery and branches reconnected after their tests, a.c. still open, before the first run.
    Connected = "connected", "Reconnected", Unitless, PassFail;
    /// Inspected: intake and the distributor's equipment.
    Intake = "intake", "Intake", Unitless, PassFail;
    /// Inspected: parallel and alternative sources and how they are isolated.
    OtherSources = "other-sources", "Other sources", Unitless, PassFail;
    /// Inspected: earthing and bonding.
    Earthing = "earthing", "Earth and bonds", Unitless, PassFail;
    /// Inspected: protection against contact with live parts.
    LiveParts = "live-parts", "Live parts", Unitless, PassFail;
    /// Inspected: protection by other means than disconnection, where it is used.
    OtherMeans = "other-means", "Other protection", Unitless, PassFail;
    /// Inspected: additional protection by RCD where it is required.
    Additional = "additional", "Additional RCD", Unitless, PassFail;
    /// Inspected: boards and enclosures.
    Enclosures = "enclosures", "Enclosures", Unitless, PassFail;
    /// Inspected: cables and their routes.
    Cables = "cables", "Cables, routes", Unitless, PassFail;
    /// Inspected: isolation and switching.
    Switching = "switching", "Switching", Unitless, PassFail;
    /// Inspected: current-using equipment and accessories.
    Accessories = "accessories", "Accessories", Unitless, PassFail;
    /// Inspected: rooms with a bath or shower.
    BathShower = "bath-shower", "Bath or shower", Unitless, PassFail;
    /// Inspected: other special locations.
    SpecialPlaces = "special-places", "Special places", Unitless, PassFail;
    /// Inspected: fire precautions for PV and battery.
    Fire = "fire", "Fire precautions", Unitless, PassFail;
    /// Marking of devices looked at: power may flow both ways where it will.
    FlowDirection = "flow-direction", "Device direction", Unitless, PassFail;
    /// Conductors, terminals and switches marked; the notices have a list of their own, see [`Fitted`](Test::Fitted).
    Labels = "labels", "Identification", Unitless, PassFail;
    /// Serial numbers compared with the record.
    Serials = "serials", "Serials", Unitless, PassFail;
    /// Connectors of the modules made off and mated, same type and maker.
    Connectors = "connectors", "Connectors", Unitless, PassFail;
    /// Position of the storage against the fire rules.
    Siting = "siting", "Siting", Unitless, PassFail;
    /// Continuity of a protective or bonding conductor.
    Continuity = "continuity", "Continuity", Ohm, Number;
    /// Ring final circuit, line end to end.
    R1 = "r1", "r1", Ohm, Number;
    /// Ring final circuit, neutral end to end.
    Rn = "rn", "rn", Ohm, Number;
    /// Ring final circuit, cpc end to end.
    R2 = "r2", "r2", Ohm, Number;
    /// Ring final circuit, line and neutral cross-connected: the highest reading at its points.
    RingLn = "ring-ln", "ring L-N", Ohm, Number;
    /// Line and cpc in series, at the furthest point.
    R1r2 = "r1r2", "R1+R2", Ohm, Number;
    /// Insulation resistance between live conductors.
    IrLl = "ir-ll", "IR L-L", Megohm, Number;
    /// Insulation resistance between live conductors and earth.
    IrLe = "ir-le", "IR L-E", Megohm, Number;
    /// Polarity.
    Polarity = "polarity", "Polarity", Unitless, PassFail;
    /// Resistance of an earth electrode: the installation's, or that of a backup output.
    Ra = "ra", "RA", Ohm, Number;
    /// External earth fault loop impedance.
    Ze = "ze", "Ze", Ohm, Number;
    /// Earth fault loop impedance at a board.
    Zdb = "zdb", "Zdb", Ohm, Number;
    /// Earth fault loop impedance of a circuit, at its furthest point.
    Zs = "zs", "Zs", Ohm, Number;
    /// Prospective short-circuit current, line to neutral.
    PfcLn = "pfc-ln", "Ipf L-N", KiloAmp, Number;
    /// Prospective earth fault current, line to earth.
    PfcLe = "pfc-le", "Ipf L-E", KiloAmp, Number;
    /// Prospective short-circuit current between lines.
    PfcLl = "pfc-ll", "Ipf L-L", KiloAmp, Number;
    /// Largest prospective fault current at a board.
    Pfc = "pfc", "Ipf", KiloAmp, Number;
    /// Phase sequence.
    Sequence = "sequence", "Sequence", Unitless, PassFail;
    /// RCD operating time at its rated residual current.
    RcdTime = "rcd-time", "RCD IΔn", Millisecond, Number;
    /// RCD at half its rated residual current: must not trip.
    RcdHalf = "rcd-half", "RCD ½", Millisecond, Number;
    /// RCD operating time at five times its rated residual current.
    RcdFive = "rcd-5x", "RCD 5×", Millisecond, Number;
    /// Test button of the RCD.
    RcdButton = "rcd-button", "RCD button", Unitless, PassFail;
    /// Test button of the arc fault detection device.
    AfddButton = "afdd-button", "AFDD btn", Unitless, PassFail;
    /// Status indicator of the surge protective device.
    Spd = "spd", "SPD", Unitless, PassFail;
    /// Switches, controls and interlocks operate.
    Functional = "functional", "Functional", Unitless, PassFail;
    /// Micro-inverters that answer on the branch.
    Count = "count", "Count", Count, Count;
    /// Polarity of the d.c. conductors.
    DcPolarity = "dc-polarity", "DC pol.", Unitless, PassFail;
    /// Irradiance in the plane of the array while Voc and Isc are measured.
    Irradiance = "irradiance", "Irradiance", WattPerM2, Number;
    /// Temperature of the cells while Voc and Isc are measured.
    CellTemp = "cell-temp", "Cell temp", Celsius, SignedNumber;
    /// Open-circuit voltage of a string.
    Voc = "voc", "Voc", Volt, Number;
    /// Short-circuit current of a string.
    Isc = "isc", "Isc", Amp, Number;
    /// PV insulation resistance, positive to earth.
    IrPos = "ir-pos", "IR + to E", Megohm, Number;
    /// PV insulation resistance, negative to earth.
    IrNeg = "ir-neg", "IR - to E", Megohm, Number;
    /// PV insulation resistance, both poles joined, to earth.
    IrJoined = "ir-joined", "IR ± to E", Megohm, Number;
    /// Voltage of the storage at its d.c. isolator before it closes.
    DcVoltage = "dc-voltage", "DC volts", Volt, Number;
    /// Storage modules fitted.
    Modules = "modules", "Modules", Count, Count;
    /// Neutral-earth link open while on the grid.
    NeGrid = "ne-grid", "N-E on grid", Unitless, PassFail;
    /// Neutral-earth link closed in island mode.
    NeIsland = "ne-island", "N-E island", Unitless, PassFail;
    /// Grid profile that the inverters are to have, as accepted, before they have power.
    Profile = "profile", "Profile", Unitless, Text;
    /// Under voltage as read back: volts and seconds.
    SetUv = "set-uv", "UV set", Unitless, List;
    /// Over voltage, stage 1, as read back: volts and seconds.
    SetOv1 = "set-ov1", "OV1 set", Unitless, List;
    /// Over voltage, stage 2, as read back: volts and seconds.
    SetOv2 = "set-ov2", "OV2 set", Unitless, List;
    /// Under frequency, stage 1, as read back: hertz and seconds.
    SetUf1 = "set-uf1", "UF1 set", Unitless, List;
    /// Under frequency, stage 2, as read back: hertz and seconds.
    SetUf2 = "set-uf2", "UF2 set", Unitless, List;
    /// Over frequency as read back: hertz and seconds.
    SetOf = "set-of", "OF set", Unitless, List;
    /// Rate of change of frequency as read back: hertz per second and seconds.
    SetRocof = "set-rocof", "RoCoF set", Unitless, List;
    /// Power of each module of a branch, in order along the trunk.
    Balance = "balance", "Modules", Watt, List;
    /// Power of grid, PV, battery and load with PV off and load on: import, generating, discharging and load above zero.
    CtIdle = "ct-idle", "CT, PV off", Watt, SignedList;
    /// The same with PV above load.
    CtSurplus = "ct-surplus", "CT, surplus", Watt, SignedList;
    /// The same with the battery charging.
    CtCharging = "ct-charging", "CT, charging", Watt, SignedList;
    /// Highest export while its limit was tried, per phase.
    ExportPeak = "export-peak", "Export peak", Amp, Number;
    /// Time until export falls back with the meter's communication cut.
    FailSafe = "fail-safe", "Fail-safe", Second, Number;
    /// Loss-of-mains trip tried.
    LossOfMains = "loss-of-mains", "Mains loss", Unitless, PassFail;
    /// Time until the inverters reconnect.
    Reconnect = "reconnect", "Reconnect", Second, Number;
    /// A label or notice fitted where it belongs, legible and lasting.
    Fitted = "fitted", "Fitted", Unitless, PassFail;
    /// Covers, torque, leads out, everything put back.
    Restored = "restored", "Restored", Unitless, PassFail;
    /// Handover talk held, papers explained.
    Handover = "handover", "Handover", Unitless, PassFail;
    /// Signature for design.
    SignDesign = "design", "Design", Unitless, Text;
    /// Signature for construction.
    SignConstruction = "construction", "Construction", Unitless, Text;
    /// Signature for inspection and testing.
    SignInspection = "inspection", "Inspection", Unitless, Text;
    /// Worked out, not entered: breaking capacity of the device against the fault current.
    BreakingCapacity = "breaking-capacity", "kA rating", KiloAmp, Number;
    /// Worked out, not entered: current of a micro-inverter branch against its device.
    BranchLoad = "branch-load", "Branch load", Amp, Number;
    /// Worked out, not entered: a device fed from both sides must be bidirectional.
    BothWays = "both-ways", "Both ways", Unitless, PassFail;
    /// Worked out, not entered: poles that open on a source circuit.
    PolesOpen = "poles-open", "Poles", Count, Count;
    /// Worked out, not entered: type of an RCD that an inverter is behind.
    RcdType = "rcd-type", "RCD type", Unitless, PassFail;
    /// Worked out, not entered: additional protection of socket-outlets by an RCD.
    AdditionalProtection = "additional-protection", "Socket RCD", Unitless, PassFail;
    /// Worked out, not entered: the device against the current-carrying capacity of its cable.
    Capacity = "capacity", "Capacity", Amp, Number;
    /// Worked out, not entered: change of voltage from the origin to the far end.
    Voltage = "voltage", "Volt change", Percent, Number;
    /// Worked out, not entered: size of the protective conductor of a circuit.
    Cpc = "cpc", "cpc size", Mm2, Number;
    /// Worked out, not entered: size of a bonding conductor.
    BondSize = "bond-size", "Bond size", Mm2, Number;
    /// Worked out, not entered: size of the earthing conductor.
    EarthingSize = "earthing-size", "Earthing size", Mm2, Number;
    /// Worked out, not entered: rating and poles of the main switch of a board.
    MainSwitch = "main-switch", "Main switch", Amp, Number;
    /// Worked out, not entered: surge protection at the origin.
    Surge = "surge", "Surge prot.", Unitless, PassFail;
    /// Worked out, not entered: length of the leads of a surge protective device.
    SpdLeads = "spd-leads", "SPD leads", Metre, Number;
    /// Worked out, not entered: arc fault detection where the premises ask for it.
    Afdd = "afdd", "AFDD", Unitless, PassFail;
    /// Worked out, not entered: an RCD ahead of others lets them trip first.
    RcdSelectivity = "rcd-selectivity", "RCD order", Unitless, PassFail;
    /// Worked out, not entered: highest voltage and current of a string or module against its inverter's input.
    DcWindow = "dc-window", "DC window", Volt, Number;
    /// Worked out, not entered: fuse of a string in parallel with others.
    StringFuse = "string-fuse", "String fuse", Amp, Number;
    /// Worked out, not entered: place of the storage against the fire rules.
    SitingRules = "siting-rules", "Siting rules", Unitless, Text;
    /// Worked out, not entered: sum of all generation and storage, and what the network operator has to agree to.
    Connection = "connection", "Connection", Amp, Number;
    /// Worked out, not entered: day by which the network operator is told.
    Notification = "notification", "Tell operator", Unitless, Text;
    /// Worked out, not entered: figures of a part that nobody has compared with what is on site.
    Compared = "compared", "As on site", Unitless, Text;
    /// Worked out, not entered: serial numbers that stand twice or nowhere.
    SerialNumbers = "serial-numbers", "Serial nos", Unitless, Text;
    /// Worked out, not entered: days of the record that contradict each other or the readings.
    Dates = "dates", "Dates", Unitless, Text;
}

impl Test {
    /// Whether the program works it out from other entries, so that nobody can type it.
    pub fn is_derived(self) -> bool {
        matches!(
            self,
            Test::BreakingCapacity
                | Test::BranchLoad
                | Test::BothWays
                | Test::PolesOpen
                | Test::RcdType
                | Test::AdditionalProtection
                | Test::Capacity
                | Test::Voltage
                | Test::Cpc
                | Test::BondSize
                | Test::EarthingSize
                | Test::MainSwitch
                | Test::Surge
                | Test::SpdLeads
                | Test::Afdd
                | Test::RcdSelectivity
                | Test::DcWindow
                | Test::StringFuse
                | Test::SitingRules
                | Test::Connection
                | Test::Notification
                | Test::Compared
                | Test::SerialNumbers
                | Test::Dates
        )
    }

    /// Whether it is a signature.
    pub fn is_signature(self) -> bool {
        matches!(
            self,
            Test::SignDesign | Test::SignConstruction | Test::SignInspection
        )
    }

    /// Whether there is no place that wants it and where it could not apply: it can be a limitation, with a reason, but
    /// not "not applicable".
    pub fn always_applies(self) -> bool {
        matches!(
            self,
            Test::R1
                | Test::Rn
                | Test::R2
                | Test::RingLn
                | Test::R1r2
                | Test::IrLe
                | Test::Polarity
                | Test::Ra
                | Test::Ze
                | Test::Zdb
                | Test::Zs
                | Test::PfcLn
                | Test::PfcLe
                | Test::Pfc
                | Test::RcdTime
                | Test::FlowDirection
                | Test::Restored
        )
    }

    /// Whether an instrument takes the reading.
    pub fn needs_instrument(self) -> bool {
        matches!(self.answer(), Answer::Number | Answer::SignedNumber)
            && !matches!(self, Test::Reconnect | Test::FailSafe)
    }

    /// Whether it is a stage of the interface protection as read back.
    pub fn is_setting(self) -> bool {
        matches!(
            self,
            Test::SetUv
                | Test::SetOv1
                | Test::SetOv2
                | Test::SetUf1
                | Test::SetUf2
                | Test::SetOf
                | Test::SetRocof
        )
    }

    /// Whether it is a state that meters and current transformers are read in.
    pub fn is_transformer_state(self) -> bool {
        matches!(self, Test::CtIdle | Test::CtSurplus | Test::CtCharging)
    }
}

impl fmt::Display for Test {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.key())
    }
}

impl FromStr for Test {
    type Err = String;

    fn from_str(key: &str) -> Result<Self, Self::Err> {
        Test::ALL
            .iter()
            .copied()
            .find(|t| t.key() == key)
            .ok_or_else(|| {
                let known: Vec<&str> = Test::ALL
                    .iter()
                    .filter(|t| !t.is_derived())
                    .map(|t| t.key())
                    .collect();
                match super::text::nearest(key, &known) {
                    near if near.is_empty() => {
                        format!("no test is called `{key}`; known: {}", known.join(", "))
                    }
                    near => format!("no test is called `{key}`; did you mean {near}?"),
                }
            })
    }
}

impl TryFrom<String> for Test {
    type Error = String;

    fn try_from(key: String) -> Result<Self, Self::Error> {
        key.parse()
    }
}

impl From<Test> for String {
    fn from(test: Test) -> String {
        test.key().to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn keys_are_unique_and_read_back() {
        let keys: BTreeSet<&str> = Test::ALL.iter().map(|t| t.key()).collect();
        assert_eq!(keys.len(), Test::ALL.len());
        for test in Test::ALL {
            assert_eq!(test.key().parse::<Test>(), Ok(*test));
        }
        for (typed, said) in [
            ("zss", "did you mean `zs`"),
            ("xylophone", "known: sources"),
        ] {
            assert!(
                typed.parse::<Test>().is_err_and(|e| e.contains(said)),
                "{typed}"
            );
        }
    }
}
