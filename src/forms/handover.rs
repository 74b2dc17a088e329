//! Wording of what the customer keeps.

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::job::text::{TextError, locate, nearest};

/// Name of the file.
pub(super) const HANDOVER: &str = "handover.ron";

/// The texts as they are shipped.
pub(super) const SHIPPED: &str = include_str!("../../forms/handover.ron");

/// Most characters of one text, before the facts are put in.
const LONGEST: usize = 300;

macro_rules! says {
    ($( $name:ident = $key:literal, [$($fact:literal),*]; )*) => {
        /// One text of the handover; which of them are printed follows from the job.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[allow(missing_docs)]
        pub enum Say { $( $name, )* }

        impl Say {
            /// Every text.
            pub const ALL: &'static [Say] = &[ $( Say::$name, )* ];

            /// Key in the file.
            pub fn key(self) -> &'static str {
                match self { $( Say::$name => $key, )* }
            }

            /// The facts of the job that it has to have, each in braces.
            pub fn facts(self) -> &'static [&'static str] {
                match self { $( Say::$name => &[$($fact),*], )* }
            }
        }
    };
}

says! {
    About = "about", [];
    Draft = "draft", [];
    Fire = "fire", [];
    FirePv = "fire-pv", ["arrays"];
    FireBattery = "fire-battery", ["place", "battery"];
    FireBefore = "fire-before", ["what"];
    Shock = "shock", [];
    ShockBackup = "shock-backup", ["switches"];
    Odd = "odd", [];
    OffAbout = "off-about", [];
    OffLoads = "off-loads", [];
    OffAc = "off-ac", ["what", "isolator"];
    OffAcBoard = "off-ac-board", ["what", "circuit", "board", "place"];
    OffAcUnknown = "off-ac-unknown", ["what"];
    OffBefore = "off-before", ["what"];
    OffDc = "off-dc", ["what", "isolator"];
    OffDcUnknown = "off-dc-unknown", ["what"];
    OffBattery = "off-battery", ["battery", "place"];
    OffBatteryBackup = "off-battery-backup", ["battery", "place", "feeds"];
    OffBatterySwitch = "off-battery-switch", ["battery", "place", "switch"];
    OffBackup = "off-backup", ["board", "place", "switch"];
    OffBackupFeeds = "off-backup-feeds", ["battery", "feeds"];
    OffBoard = "off-board", ["board", "place", "switch"];
    OffOrigin = "off-origin", ["switch"];
    OnAbout = "on-about", [];
    OnLoads = "on-loads", [];
    OnAc = "on-ac", ["what", "isolator"];
    OnAcBoard = "on-ac-board", ["what", "circuit", "board", "place"];
    OnAcUnknown = "on-ac-unknown", ["what"];
    OnBefore = "on-before", ["what"];
    OnDc = "on-dc", ["what", "isolator"];
    OnDcUnknown = "on-dc-unknown", ["what"];
    OnBattery = "on-battery", ["battery", "place"];
    OnBatterySwitch = "on-battery-switch", ["battery", "place", "switch"];
    OnBackup = "on-backup", ["board", "place", "switch"];
    OnBackupFeeds = "on-backup-feeds", ["battery", "feeds"];
    OnBoard = "on-board", ["board", "place", "switch"];
    OnOrigin = "on-origin", ["switch"];
    IsAc = "is-ac", ["what"];
    IsDc = "is-dc", ["what"];
    IsCircuit = "is-circuit", ["what"];
    IsBattery = "is-battery", [];
    IsBackup = "is-backup", ["board"];
    IsBoard = "is-board", ["board"];
    IsOrigin = "is-origin", [];
    LiveStreet = "live-street", [];
    LiveStrings = "live-strings", ["array", "what"];
    LiveMicro = "live-micro", ["array"];
    LiveBattery = "live-battery", ["battery"];
    LiveBackup = "live-backup", ["what", "feeds"];
    LiveBefore = "live-before", ["what"];
    Backup = "backup", ["battery", "feeds"];
    NoBackup = "no-backup", [];
    LookTest = "look-test", ["where"];
    LookApp = "look-app", ["app"];
    LookPanels = "look-panels", [];
    CareRoof = "care-roof", [];
    CareDrill = "care-drill", [];
    CareCovers = "care-covers", [];
    CareAir = "care-air", [];
    CareBattery = "care-battery", [];
    CareWorks = "care-works", [];
    CareChange = "care-change", [];
    Next = "next", ["day"];
    NextUnknown = "next-unknown", [];
    Papers = "papers", ["papers"];
}

/// Every text of the handover.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Handover(BTreeMap<Say, String>);

impl Handover {
    /// A text with the facts put in. A fact that isn't given stands as a line to write on.
    pub fn say(&self, say: Say, facts: &[(&str, &str)]) -> String {
        let text = self.0.get(&say).map_or("", String::as_str);
        let mut out = String::with_capacity(text.len());
        for piece in Piece::all(text) {
            match piece {
                Piece::Words(words) => out.push_str(words),
                Piece::Fact(name) => {
                    let fact = facts
                        .iter()
                        .find(|(n, _)| *n == name)
                        .map(|(_, f)| f.trim());
                    out.push_str(fact.filter(|f| !f.is_empty()).unwrap_or("____"));
                }
            }
        }
        out
    }
}

/// A text taken apart.
enum Piece<'a> {
    Words(&'a str),
    Fact(&'a str),
}

impl Piece<'_> {
    fn all(text: &str) -> Vec<Piece<'_>> {
        let mut out = Vec::new();
        let mut rest = text;
        while let Some((before, after)) = rest.split_once('{') {
            out.push(Piece::Words(before));
            let (name, more) = after.split_once('}').unwrap_or((after, ""));
            out.push(Piece::Fact(name));
            rest = more;
        }
        out.push(Piece::Words(rest));
        out
    }
}

/// The file as written.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct HandoverFile {
    pub(super) title: String,
    says: Vec<Row>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    key: String,
    text: String,
}

impl HandoverFile {
    /// The texts, each once and complete.
    ///
    /// # Errors
    /// The first text that is unknown, twice, unreadable, or lacks a fact or has another; else the first that is missing.
    pub(super) fn texts(&self, file: &str, text: &str) -> Result<Handover, TextError> {
        let fault = |key: &str, what: String, remedy: String| {
            let (line, column) = locate(text, &format!("key: \"{key}\""));
            TextError {
                file: file.to_string(),
                line,
                column,
                field: key.to_string(),
                what,
                remedy,
            }
        };
        let mut out = BTreeMap::new();
        for row in &self.says {
            let Some(say) = Say::ALL.iter().copied().find(|s| s.key() == row.key) else {
                let known: Vec<&str> = Say::ALL.iter().map(|s| s.key()).collect();
                return Err(fault(
                    &row.key,
                    format!("no text of the handover is called `{}`", row.key),
                    match nearest(&row.key, &known) {
                        near if near.is_empty() => {
                            format!("remove it, or use one of: {}", known.join(", "))
                        }
                        near => format!("remove it, or use {near}"),
                    },
                ));
            };
            let length = row.text.chars().count();
            if row.text.trim().is_empty()
                || length > LONGEST
                || row.text.chars().any(char::is_control)
            {
                return Err(fault(
                    &row.key,
                    format!("this text of {length} characters can't be printed"),
                    format!("say something, on one line and in {LONGEST} characters"),
                ));
            }
            let mut found: Vec<&str> = Piece::all(&row.text)
                .iter()
                .filter_map(|p| match p {
                    Piece::Fact(name) => Some(*name),
                    Piece::Words(_) => None,
                })
                .collect();
            let mut wanted = say.facts().to_vec();
            found.sort_unstable();
            wanted.sort_unstable();
            if found != wanted || row.text.matches('}').count() != found.len() {
                let named: Vec<String> = say.facts().iter().map(|f| format!("{{{f}}}")).collect();
                let remedy = match named.is_empty() {
                    true => "write it without braces".to_string(),
                    false => format!(
                        "write {} once each, and no other braces",
                        named.join(" and ")
                    ),
                };
                return Err(fault(
                    &row.key,
                    "this text doesn't have the facts of the job that it has to have".into(),
                    remedy,
                ));
            }
            if out.insert(say, row.text.clone()).is_some() {
                return Err(fault(
                    &row.key,
                    "this text is given twice".into(),
                    "keep one".into(),
                ));
            }
        }
        match Say::ALL.iter().find(|s| !out.contains_key(s)) {
            None => Ok(Handover(out)),
            Some(lacks) => Err(fault(
                lacks.key(),
                "this text is missing".into(),
                "copy it from the default file: the customer would not be told".into(),
            )),
        }
    }
}
