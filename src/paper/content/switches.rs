//! The switches of a job in the order in which a customer turns them off.

use std::collections::BTreeMap;

use crate::forms::{Handover, Say};
use crate::job::{Board, Circuit, Existing, Inverter, InverterKind, Job, Layout, Storage};

/// Something to turn off.
pub(super) enum Switch<'a> {
    /// What is running.
    Loads,
    /// An isolator between an inverter and the house.
    Ac(&'a Inverter),
    /// The switch of an inverter's circuit at its board.
    AcBoard(&'a Inverter, &'a Board, &'a Circuit),
    /// An inverter of which no switch is recorded.
    AcUnknown(&'a Inverter),
    /// Generation or storage that was there before; the record has no switch of it.
    Before(&'a Existing),
    /// An isolator between an inverter and its strings.
    Dc(&'a Inverter),
    /// An inverter with strings of which no isolator between them is recorded.
    DcUnknown(&'a Inverter),
    /// A battery.
    Battery(&'a Storage),
    /// A battery with a backup output, of which no switch is recorded; what that output feeds.
    BatteryUnknown(&'a Storage, String),
    /// What a backup output feeds without a board, which no switch of its own cuts off.
    BackupFeeds(&'a Storage),
    /// The main switch of a board that a backup output feeds.
    Backup(&'a Board),
    /// The main switch of a board.
    Board(&'a Board),
    /// The main switch at the origin.
    Origin(&'a str),
}

/// Loads, what is on a backup output (it would go over to the battery), a.c. side of the inverters, what was there before, d.c. side, battery, then boards from the last one back to the origin: so nothing is
/// parted that carries current, and nothing feeds a board that is taken for dead.
pub(super) fn switches(job: &Job) -> Vec<Switch<'_>> {
    let mut out = vec![Switch::Loads];
    let mut boards: Vec<(usize, &Board)> = depths(job);
    boards.sort_by_key(|(depth, _)| std::cmp::Reverse(*depth));
    let (backed, mut boards): (Vec<_>, Vec<_>) = boards
        .into_iter()
        .partition(|(_, b)| job.backup_of(b).is_some());
    out.extend(backed.into_iter().map(|(_, b)| Switch::Backup(b)));
    // Where neither words nor a board say what it feeds, there is a line to write it on.
    let loose = job.storage.iter().filter(|s| {
        let named = !s.backup_feeds.trim().is_empty();
        s.backup && (named || job.boards_on_backup(s).next().is_none())
    });
    out.extend(loose.map(Switch::BackupFeeds));
    let (storage, pv): (Vec<&Inverter>, Vec<&Inverter>) = job
        .inverters
        .iter()
        .partition(|i| i.kind == InverterKind::Storage);
    for i in pv.iter().chain(&storage).copied() {
        let before = out.len();
        if !i.ac_isolator.trim().is_empty() {
            out.push(Switch::Ac(i));
        }
        let circuits = circuits(job, i);
        out.extend(circuits.into_iter().map(|(b, c)| Switch::AcBoard(i, b, c)));
        if out.len() == before {
            out.push(Switch::AcUnknown(i));
        }
    }
    out.extend(job.grid.existing.iter().map(Switch::Before));
    let dc = pv.iter().chain(&storage).copied();
    out.extend(dc.filter_map(|i| {
        let is_recorded = !i.dc_isolator.trim().is_empty();
        match is_recorded {
            true => Some(Switch::Dc(i)),
            false => has_strings(job, i).then_some(Switch::DcUnknown(i)),
        }
    }));
    out.extend(
        job.storage
            .iter()
            .map(|s| match s.backup && s.isolator.trim().is_empty() {
                true => Switch::BatteryUnknown(s, fed(job, s)),
                false => Switch::Battery(s),
            }),
    );
    // The main switch of the whole place may be in a board: it is named once, as the last.
    let origin = job.supply.main_switch.trim();
    let is_origin = |b: &Board| b.fed_from.is_empty() && holds(origin, &b.name);
    boards.sort_by_key(|(depth, b)| (std::cmp::Reverse(*depth), is_origin(b)));
    out.extend(boards.into_iter().map(|(_, b)| Switch::Board(b)));
    if !origin.is_empty() && !job.boards.iter().any(is_origin) {
        out.push(Switch::Origin(origin));
    }
    out
}

/// Whether strings of panels end at it, so that light alone makes it live.
pub(super) fn has_strings(job: &Job, inverter: &Inverter) -> bool {
    let mut own = job.arrays.iter().filter(|a| a.inverter == inverter.id);
    own.any(|a| matches!(a.layout, Layout::Strings(_)))
}

/// What a backup output feeds, as a customer would say it; empty where nothing is recorded.
pub(super) fn fed(job: &Job, storage: &Storage) -> String {
    let mut feeds = vec![storage.backup_feeds.trim().to_string()];
    let boards = job.boards_on_backup(storage);
    feeds.extend(boards.map(|b| format!("everything on the {}", named(&b.name, &b.id))));
    feeds.retain(|f| !f.is_empty());
    super::words::listed(&feeds)
}

fn holds(text: &str, name: &str) -> bool {
    let name = name.trim().to_lowercase();
    !name.is_empty() && text.to_lowercase().contains(&format!("in the {name}"))
}

/// Circuits that an inverter, or each branch of micro-inverters of its kind, is on.
fn circuits<'a>(job: &'a Job, inverter: &Inverter) -> Vec<(&'a Board, &'a Circuit)> {
    let branches = job
        .arrays
        .iter()
        .filter(|a| a.inverter == inverter.id)
        .flat_map(|a| match &a.layout {
            Layout::Branches(branches) => branches.as_slice(),
            Layout::Strings(_) => &[],
        })
        .map(|b| b.circuit.as_str());
    std::iter::once(inverter.circuit.as_str())
        .chain(branches)
        .filter_map(|path| job.circuit(path))
        .collect()
}

/// Every board with how many others lie between it and the origin.
fn depths(job: &Job) -> Vec<(usize, &Board)> {
    let above: BTreeMap<&str, &str> = job
        .boards
        .iter()
        .filter_map(|b| Some((b.id.as_str(), b.fed_from.split_once('/')?.0)))
        .collect();
    let depth = |board: &Board| {
        let (mut at, mut depth) = (board.id.as_str(), 0);
        // Boards that feed each other are refused elsewhere; here they must not turn for ever.
        while let Some(next) = above.get(at).filter(|_| depth < 20) {
            (at, depth) = (next, depth + 1);
        }
        depth
    };
    job.boards.iter().map(|b| (depth(b), b)).collect()
}

/// What it is called, with what it is where the name doesn't say so.
pub(super) fn named(name: &str, what: &str) -> String {
    match name.trim() {
        "" => what.to_string(),
        name => name.to_string(),
    }
}

/// Kind of an inverter as a customer would say it.
pub(super) fn plain(kind: InverterKind) -> &'static str {
    match kind {
        InverterKind::Micro => "micro-inverters on the panels",
        InverterKind::String => "solar inverter",
        InverterKind::Hybrid => "inverter for solar and battery",
        InverterKind::Storage => "battery inverter",
    }
}

/// What is written on a switch and where it is, without its poles and the standard it is made to.
fn seen(switch: &str) -> String {
    let parts = switch.split(',').map(str::trim);
    let seen = parts.filter(|p| !p.starts_with("BS ") && !p.ends_with("-pole"));
    seen.collect::<Vec<_>>().join(", ")
}

fn what(inverter: &Inverter) -> String {
    let plain = plain(inverter.kind);
    match inverter.make.trim() {
        "" => plain.to_string(),
        make => format!("{plain} ({make})"),
    }
}

fn circuit(c: &Circuit) -> String {
    format!("{} {}", c.id, c.name)
}

impl Switch<'_> {
    /// How it is turned off.
    pub(super) fn off(&self, words: &Handover) -> String {
        self.said(
            words,
            [
                Say::OffLoads,
                Say::OffAc,
                Say::OffAcBoard,
                Say::OffAcUnknown,
                Say::OffBefore,
                Say::OffDc,
                Say::OffDcUnknown,
                Say::OffBattery,
                Say::OffBatteryBackup,
                Say::OffBatterySwitch,
                Say::OffBackup,
                Say::OffBackupFeeds,
                Say::OffBoard,
                Say::OffOrigin,
            ],
        )
    }

    /// How it is turned on again.
    pub(super) fn on(&self, words: &Handover) -> String {
        self.said(
            words,
            [
                Say::OnLoads,
                Say::OnAc,
                Say::OnAcBoard,
                Say::OnAcUnknown,
                Say::OnBefore,
                Say::OnDc,
                Say::OnDcUnknown,
                Say::OnBattery,
                Say::OnBattery,
                Say::OnBatterySwitch,
                Say::OnBackup,
                Say::OnBackupFeeds,
                Say::OnBoard,
                Say::OnOrigin,
            ],
        )
    }

    fn said(&self, words: &Handover, of: [Say; 14]) -> String {
        let [
            loads,
            ac,
            ac_board,
            ac_unknown,
            before,
            dc,
            dc_unknown,
            battery,
            battery_backup,
            battery_switch,
            backup,
            backup_feeds,
            board,
            origin,
        ] = of;
        match self {
            Switch::Loads => words.say(loads, &[]),
            Switch::Before(e) => words.say(before, &[("what", &e.what)]),
            Switch::Ac(i) => words.say(
                ac,
                &[("what", &what(i)), ("isolator", &seen(&i.ac_isolator))],
            ),
            Switch::AcBoard(i, b, c) => words.say(
                ac_board,
                &[
                    ("what", &what(i)),
                    ("circuit", &circuit(c)),
                    ("board", &named(&b.name, &b.id)),
                    ("place", &b.location),
                ],
            ),
            Switch::AcUnknown(i) => words.say(ac_unknown, &[("what", &what(i))]),
            Switch::Dc(i) => words.say(
                dc,
                &[("what", &what(i)), ("isolator", &seen(&i.dc_isolator))],
            ),
            Switch::DcUnknown(i) => words.say(dc_unknown, &[("what", &what(i))]),
            Switch::BatteryUnknown(s, feeds) => words.say(
                battery_backup,
                &[
                    ("battery", &s.make),
                    ("place", &s.location),
                    ("feeds", feeds),
                ],
            ),
            Switch::BackupFeeds(s) => words.say(
                backup_feeds,
                &[("battery", &s.make), ("feeds", &s.backup_feeds)],
            ),
            Switch::Battery(s) if s.isolator.trim().is_empty() => {
                words.say(battery, &[("battery", &s.make), ("place", &s.location)])
            }
            Switch::Battery(s) => words.say(
                battery_switch,
                &[
                    ("battery", &s.make),
                    ("place", &s.location),
                    ("switch", &seen(&s.isolator)),
                ],
            ),
            Switch::Board(b) | Switch::Backup(b) => words.say(
                match self {
                    Switch::Backup(_) => backup,
                    _ => board,
                },
                &[
                    ("board", &named(&b.name, &b.id)),
                    ("place", &b.location),
                    ("switch", &seen(&b.main_switch)),
                ],
            ),
            Switch::Origin(switch) => words.say(origin, &[("switch", &seen(switch))]),
        }
    }

    /// Name, place and what it does; `None` for what is no switch of the installation.
    pub(super) fn does(&self, words: &Handover) -> Option<[String; 3]> {
        let line = |text: &str| match text.trim() {
            "" => "____".to_string(),
            text => text.to_string(),
        };
        Some(match self {
            Switch::Loads
            | Switch::AcUnknown(_)
            | Switch::Before(_)
            | Switch::DcUnknown(_)
            | Switch::BatteryUnknown(..)
            | Switch::BackupFeeds(_) => return None,
            Switch::Battery(s) if s.isolator.trim().is_empty() => return None,
            Switch::Battery(s) => [
                format!("switch of the battery ({})", line(&s.make)),
                format!("{}: {}", line(&s.location), line(&seen(&s.isolator))),
                words.say(Say::IsBattery, &[]),
            ],
            Switch::Backup(b) => [
                format!("main switch of the {}", named(&b.name, &b.id)),
                format!("{}: {}", line(&b.location), line(&seen(&b.main_switch))),
                words.say(Say::IsBackup, &[("board", &named(&b.name, &b.id))]),
            ],
            Switch::Ac(i) => [
                format!("a.c. isolator of the {}", what(i)),
                line(&seen(&i.ac_isolator)),
                words.say(Say::IsAc, &[("what", &what(i))]),
            ],
            Switch::AcBoard(i, b, c) => [
                format!("{} in the {}", circuit(c), named(&b.name, &b.id)),
                line(&b.location),
                words.say(Say::IsCircuit, &[("what", &what(i))]),
            ],
            Switch::Dc(i) => [
                format!("d.c. isolator of the {}", what(i)),
                line(&seen(&i.dc_isolator)),
                words.say(Say::IsDc, &[("what", &what(i))]),
            ],
            Switch::Board(b) => [
                format!("main switch of the {}", named(&b.name, &b.id)),
                format!("{}: {}", line(&b.location), line(&seen(&b.main_switch))),
                words.say(Say::IsBoard, &[("board", &named(&b.name, &b.id))]),
            ],
            Switch::Origin(switch) => [
                "main switch of the whole place".into(),
                line(&seen(switch)),
                words.say(Say::IsOrigin, &[]),
            ],
        })
    }
}
